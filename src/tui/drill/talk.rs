//! The conversation of a drill.

use std::io::{self, BufRead, Write};
use std::sync::Arc;

use super::help::ORDERS;
use super::lists::{self, Choice};
use super::order::{self, Order};
use super::pick::{self, Pick};
use crate::circuit::PartId;
use crate::drill::fault::level;
use crate::drill::judge::leaning;
use crate::drill::log::What;
use crate::drill::open_set::OpenSet;
use crate::drill::par::mend_and_prove;
use crate::drill::play::{Drill, Told};
use crate::drill::tutor::{self, Advice};
use crate::job::words;
use crate::problem::sanitise;
use crate::report::plain::filled;
use crate::suspect::FixId;
use crate::tester::expectations::{BenchError, Column};
use crate::tester::{Instrument, Test};
use crate::tui::plain::read_line;

/// Lines are filled up to here.
const WIDTH: usize = 78;
/// Setups longer than this are not in the prompt.
const PROMPT: usize = 56;

/// What the trainer wants asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Asking {
    /// Before each look, what will be seen.
    pub foretell: bool,
    /// After each look, which parts are still open.
    pub open: bool,
    /// Write each line that was read, as a terminal does.
    pub echo: bool,
}

/// How a conversation ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The learner was done.
    Done,
    /// The learner gave up.
    GaveUp,
    /// The input came to its end.
    InputEnded,
}

/// What the next line answers.
enum Waiting {
    /// Nothing: an order.
    Order,
    /// Which of these.
    Which(Vec<Choice>),
    /// What a look will show.
    Foretell(Test, Arc<Column>),
    /// Which of the tool's steps.
    Advice(Vec<Advice>),
    /// Which parts are open.
    Open,
    /// Whether it is really the end.
    End(End),
}

/// Holds a drill line by line until it is over.
///
/// # Errors
/// When reading or writing fails.
pub fn run(
    drill: &mut Drill<'_>,
    asking: Asking,
    input: &mut dyn BufRead,
    output: &mut dyn Write,
) -> io::Result<End> {
    let mut talk = Talk { drill, asking, output, waiting: Waiting::Order };
    talk.opening()?;
    loop {
        talk.prompt()?;
        let Some(line) = read_line(input)? else { return Ok(End::InputEnded) };
        let line = sanitise(&line);
        if asking.echo {
            writeln!(talk.output, "{line}")?;
        }
        if let Some(end) = talk.take(line.trim())? {
            return Ok(end);
        }
    }
}

struct Talk<'t, 'a> {
    drill: &'t mut Drill<'a>,
    asking: Asking,
    output: &'t mut dyn Write,
    waiting: Waiting,
}

impl Talk<'_, '_> {
    fn say(&mut self, words: &str) -> io::Result<()> {
        write!(self.output, "{}", filled(words, WIDTH, "  ", "    "))
    }

    fn say_all(&mut self, lines: &[String]) -> io::Result<()> {
        lines.iter().try_for_each(|line| self.say(line))
    }

    fn opening(&mut self) -> io::Result<()> {
        let study = self.drill.study;
        let circuit = study.circuit();
        let level = level(self.drill.setting.level);
        let title = format!("DRILL  {}, {}", circuit.machine, circuit.name);
        write!(self.output, "{}", filled(&title, WIDTH, "", "  "))?;
        self.say(&format!(
            "Level {}: {}. Seed {}.",
            level.number, level.words, self.drill.setting.seed
        ))?;
        let complaint = lists::complaint(self.drill);
        self.say(&format!("Complaint: {complaint}"))?;
        self.say(&format!("At hand: {}.", at_hand(study.kit())))?;
        if words::may_turn(study, &study.check_setup(), &study.prior) {
            for line in words::turning_cautions(circuit) {
                self.say(&format!("CARE: {line} Say `clear` before it may."))?;
            }
        }
        for note in &circuit.notes {
            self.say(&format!("Note: {note}"))?;
        }
        self.say(
            "Type orders; part of a name is enough. `?` lists them, Enter offers what can be \
                  done now. Nothing is taken back here, as at the machine.",
        )?;
        if level.number <= 2 {
            self.say("First see the complaint for yourself: `try`.")?;
        }
        Ok(())
    }

    fn prompt(&mut self) -> io::Result<()> {
        let setup = self.drill.course.setup.words(self.drill.study.circuit());
        let minutes = words::show(self.drill.minutes());
        let setup = sanitise(&setup);
        let asked = match self.waiting {
            Waiting::Which(_) | Waiting::Advice(_) | Waiting::Foretell(..) => "number",
            Waiting::Open => "open parts",
            _ => "",
        };
        if setup.len() <= PROMPT {
            write!(self.output, "[{minutes} min; {setup}] {asked}> ")?;
        } else {
            write!(self.output, "[{minutes} min] {asked}> ")?;
        }
        self.output.flush()
    }

    fn take(&mut self, line: &str) -> io::Result<Option<End>> {
        let number = line.parse::<usize>().ok().filter(|number| *number > 0);
        match std::mem::replace(&mut self.waiting, Waiting::Order) {
            Waiting::Which(choices) => {
                if let Some(number) = number {
                    let Some((_, line)) = choices.get(number - 1) else {
                        self.say(&format!("There are 1 to {}.", choices.len()))?;
                        self.waiting = Waiting::Which(choices);
                        return Ok(None);
                    };
                    return self.order(&line.clone());
                }
            }
            Waiting::Foretell(test, column) => return self.foretold(test, column, line, number),
            Waiting::Advice(steps) => {
                if let Some(number) = number {
                    let Some(step) = steps.get(number - 1).cloned() else {
                        self.say(&format!("There are 1 to {}.", steps.len()))?;
                        self.waiting = Waiting::Advice(steps);
                        return Ok(None);
                    };
                    return self.follow(step);
                }
                if line.is_empty() {
                    self.waiting = Waiting::Advice(steps);
                    return Ok(None);
                }
                let end = self.order(line)?;
                // What was asked in between does not take the tool's steps away.
                if matches!(self.waiting, Waiting::Order) {
                    self.waiting = Waiting::Advice(steps);
                }
                return Ok(end);
            }
            Waiting::Open => return self.open_set(line),
            Waiting::End(end) => {
                let again = matches!(line, "yes" | "y")
                    || matches!(
                        (end, order::read(self.drill, line)),
                        (End::Done, Order::Done) | (End::GaveUp, Order::GiveUp)
                    );
                if again {
                    return Ok(Some(end));
                }
            }
            Waiting::Order => {}
        }
        self.order(line)
    }

    fn order(&mut self, line: &str) -> io::Result<Option<End>> {
        match order::read(self.drill, line) {
            Order::Which(question, choices) => self.which(&question, choices)?,
            Order::Menu => {
                let choices = lists::menu(self.drill);
                self.which("Now:", choices)?;
            }
            Order::Search(typed) => {
                let found = lists::search(self.drill, &typed);
                if found.is_empty() {
                    self.say(&format!(
                        "`{typed}`? Nothing here is called so; `?` lists the orders."
                    ))?;
                } else {
                    self.which("With that name:", found)?;
                }
            }
            Order::Wrong(words) => self.say(&words)?,
            Order::Help => self.help()?,
            Order::State => self.say_all(&lists::state(self.drill))?,
            Order::Found => self.say_all(&lists::found(self.drill))?,
            Order::Circuit => self.say_all(&lists::circuit(self.drill))?,
            Order::Hint => {
                let words = tutor::hint(self.drill);
                self.say(&words)?;
            }
            Order::Done => return self.done(),
            Order::GiveUp => {
                self.say("Give up? Type it again, or `yes`; anything else goes on.")?;
                self.waiting = Waiting::End(End::GaveUp);
            }
            order => self.deed(order)?,
        }
        Ok(None)
    }

    fn which(&mut self, question: &str, choices: Vec<Choice>) -> io::Result<()> {
        self.say(question)?;
        for line in lists::numbered(&choices) {
            write!(self.output, "{}", filled(&line, WIDTH, "  ", "      "))?;
        }
        self.waiting = Waiting::Which(choices);
        Ok(())
    }

    fn help(&mut self) -> io::Result<()> {
        for (order, meaning) in ORDERS {
            let head = format!("  {order:<28} ");
            write!(self.output, "{}", filled(meaning, WIDTH, &head, &" ".repeat(head.len())))?;
        }
        Ok(())
    }

    fn done(&mut self) -> io::Result<Option<End>> {
        let last = self.drill.log.iter().rev().find_map(|entry| match entry.what {
            What::Proof { passed } => Some(passed),
            What::Mend(_) => Some(false),
            _ => None,
        });
        match last {
            Some(true) => return Ok(Some(End::Done)),
            Some(false) => {
                self.say("The repair is not proven: `prove`. To end all the same: `done` again.")?
            }
            None => self.say("Nothing was mended yet. To end all the same: `done` again.")?,
        }
        self.waiting = Waiting::End(End::Done);
        Ok(None)
    }

    /// Carries an order out, tells what came of it, and asks what the trainer wants asked.
    fn deed(&mut self, order: Order) -> io::Result<()> {
        let looks = self.drill.course.tests;
        let told = match order {
            Order::Look(tester, target) if self.asking.foretell => {
                match self.drill.aim(tester, target) {
                    Ok(test) => return self.ask_foretold(test),
                    Err(told) => Ok(told),
                }
            }
            Order::Look(tester, target) => self.drill.look(tester, target),
            Order::Act(act) => self.drill.act(&act),
            Order::Off => self.drill.off(),
            Order::Open(place) => Ok(self.drill.open(place)),
            Order::Try(seconds) => self.drill.try_it(seconds),
            Order::Clear => Ok(self.drill.say_clear()),
            Order::Rest => Ok(self.drill.rest()),
            Order::Name(part) => Ok(self.drill.claim(part)),
            Order::Mend(fix) => self.drill.mend(FixId(fix as u32)),
            Order::Prove => self.drill.prove(),
            _ => Ok(Told::no("")),
        };
        self.told(told)?;
        self.after(looks)
    }

    fn told(&mut self, told: Result<Told, BenchError>) -> io::Result<()> {
        match told {
            Ok(told) => self.say_all(&told.lines),
            Err(error) => self.say(&format!("This cannot be reckoned: {error}")),
        }
    }

    /// What comes after something was done: questions, and at the first levels the tool's own steps.
    fn after(&mut self, looks: usize) -> io::Result<()> {
        let looked = self.drill.course.tests > looks;
        if looked && self.asking.open && self.drill.course.tests > 1 {
            self.say("Which parts are still open to suspicion? Names, with commas between.")?;
            self.waiting = Waiting::Open;
            return Ok(());
        }
        let decided = matches!(
            self.drill.log.last().map(|entry| &entry.what),
            Some(What::Mend(_) | What::Proof { .. })
        );
        if looked || decided { self.advise() } else { Ok(()) }
    }

    fn advise(&mut self) -> io::Result<()> {
        let level = self.drill.setting.level;
        let proven = matches!(
            self.drill.log.last().map(|entry| &entry.what),
            Some(What::Proof { passed: true })
        );
        if level > 2 || self.drill.course.tests == 0 || proven {
            return Ok(());
        }
        if level == 1 {
            let step = tutor::advice(self.drill);
            return match step {
                Advice::Test(test) => {
                    self.propose(&test)?;
                    self.ask_foretold(test)
                }
                step => {
                    let words = tutor::advice_words(self.drill, &step);
                    self.which_step(&[words], vec![step])
                }
            };
        }
        let steps = tutor::three(self.drill);
        let words: Vec<String> =
            steps.iter().map(|step| tutor::advice_words(self.drill, step)).collect();
        self.which_step(&words, steps)
    }

    fn which_step(&mut self, words: &[String], steps: Vec<Advice>) -> io::Result<()> {
        self.say(if steps.len() == 1 {
            "The tool would:"
        } else {
            "One of these (or an order of your own):"
        })?;
        for (at, line) in words.iter().enumerate() {
            let head = format!("  {}  ", at + 1);
            write!(self.output, "{}", filled(line, WIDTH, &head, "     "))?;
        }
        self.waiting = Waiting::Advice(steps);
        Ok(())
    }

    /// The tool's step, cautions first.
    fn propose(&mut self, test: &Test) -> io::Result<()> {
        let study = self.drill.study;
        let course = &self.drill.course;
        let cautions = words::cautions(study, course, test, &course.belief());
        let mut doing = words::way_to(course, &test.setup, &test.places);
        doing.extend(words::touch(study.circuit(), test));
        doing.push(words::watch(study.circuit(), test));
        let title = words::title_in_setup(study.circuit(), test);
        for caution in cautions {
            self.say(&format!("CARE: {caution}"))?;
        }
        self.say(&format!("The tool's next step: {title}."))?;
        self.say_all(&doing.iter().map(|line| format!("- {line}")).collect::<Vec<_>>())
    }

    fn ask_foretold(&mut self, test: Test) -> io::Result<()> {
        let column = match self.drill.study.column(&test) {
            Ok(column) => column,
            Err(error) => return self.say(&format!("This cannot be reckoned: {error}")),
        };
        self.say("What do you expect to see?")?;
        for (at, (_, words, _)) in tutor::outcomes(self.drill, &column).iter().enumerate() {
            self.say(&format!("{}  {words}", at + 1))?;
        }
        self.waiting = Waiting::Foretell(test, column);
        Ok(())
    }

    fn foretold(
        &mut self,
        test: Test,
        column: Arc<Column>,
        line: &str,
        number: Option<usize>,
    ) -> io::Result<Option<End>> {
        let outcomes = tutor::outcomes(self.drill, &column);
        let guess = number.and_then(|number| outcomes.get(number - 1)).cloned();
        let Some((guess, words, _)) = guess else {
            let order = order::read(self.drill, line);
            if number.is_none()
                && !matches!(order, Order::Menu | Order::Search(_) | Order::Wrong(_))
            {
                // Something else was ordered; the question stands when it is no step of its own.
                let end = self.order(line)?;
                if matches!(self.waiting, Waiting::Order) {
                    self.waiting = Waiting::Foretell(test, column);
                }
                return Ok(end);
            }
            self.say(&format!("1 to {}: the number of what you expect to see.", outcomes.len()))?;
            self.waiting = Waiting::Foretell(test, column);
            return Ok(None);
        };
        let looks = self.drill.course.tests;
        let told = self.drill.take(&test);
        let carried_out = self.drill.course.tests > looks;
        self.told(told)?;
        if !carried_out {
            self.say("That look is still to do; the number again when it may be done.")?;
            self.waiting = Waiting::Foretell(test, column);
            return Ok(None);
        }
        let seen = self.drill.log.iter().rev().find_map(|entry| match &entry.what {
            What::Look(look) => Some(tutor::outcome_of(&look.column, &look.answer)),
            _ => None,
        });
        let right = seen == Some(guess);
        let likeliest = tutor::is_likeliest(&outcomes, guess);
        self.drill.foretold(right, likeliest, &words);
        let chance = |at: usize| outcomes.iter().find(|one| one.0 == at).map_or(0.0, |one| one.2);
        let told = match (right, likeliest) {
            (true, true) => "As you said.".to_owned(),
            (true, false) => "As you said, though something else was likelier.".to_owned(),
            (false, true) => "You said otherwise, and it was as good a guess as any.".to_owned(),
            (false, false) => format!(
                "You said `{words}`: by what had been seen that was to be expected in {:.0} % of such machines.",
                chance(guess) * 100.0
            ),
        };
        self.say(&told)?;
        self.say(&format!(
            "Now suspicion lies on: {}.",
            leaning(self.drill.study, &self.drill.course.belief())
        ))?;
        self.after(looks)?;
        Ok(None)
    }

    fn follow(&mut self, step: Advice) -> io::Result<Option<End>> {
        let looks = self.drill.course.tests;
        match step {
            Advice::Test(test) if self.asking.foretell => {
                self.propose(&test)?;
                self.ask_foretold(test)?;
                return Ok(None);
            }
            Advice::Test(test) => {
                let told = self.drill.take(&test);
                let stopped = self.drill.course.tests == looks;
                self.told(told)?;
                if stopped {
                    self.say("That step is still to do.")?;
                }
            }
            Advice::Fix(fix) => {
                let before = self.drill.log.len();
                let told = mend_and_prove(self.drill, fix);
                let lines: Vec<String> = self.drill.log[before..]
                    .iter()
                    .map(|entry| {
                        let done = entry.done.trim_end_matches('.');
                        if entry.seen.is_empty() {
                            format!("{done}.")
                        } else {
                            format!("{done}: {}.", entry.seen)
                        }
                    })
                    .collect();
                self.say_all(&lines)?;
                match told {
                    Ok(true) => {
                        self.say("Everything does what it should. `done` ends the drill.")?
                    }
                    Ok(false) => self.say("It is not as it should be: go on looking.")?,
                    Err(error) => self.say(&format!("This cannot be reckoned: {error}"))?,
                }
            }
            Advice::Stop => self.say("Nothing here would pay any more: `give up`, or look on.")?,
        }
        self.after(looks)?;
        Ok(None)
    }

    fn open_set(&mut self, line: &str) -> io::Result<Option<End>> {
        let circuit = self.drill.study.circuit();
        if line.is_empty() || line == "?" {
            let all: Vec<&str> = circuit
                .part_ids()
                .filter(|part| order::suspect(self.drill, *part))
                .map(|part| circuit.part(part).name.as_str())
                .collect();
            self.say(&format!("Something can be wrong with: {}.", all.join("; ")))?;
            self.waiting = Waiting::Open;
            return Ok(None);
        }
        let mut named: Vec<PartId> = Vec::new();
        for typed in line.split([',', ';']).map(str::trim).filter(|typed| !typed.is_empty()) {
            match pick::part(circuit, typed, "part", |part| order::suspect(self.drill, part)) {
                Pick::One(part) => named.push(part),
                Pick::None(words) => {
                    self.say(&format!("{words} All of them again, please; `?` lists the parts."))?;
                    self.waiting = Waiting::Open;
                    return Ok(None);
                }
                Pick::Many(all) => {
                    let names: Vec<&str> = all.iter().map(|(name, _)| name.as_str()).collect();
                    self.say(&format!(
                        "`{typed}` may be {}. All of them again, please.",
                        names.join(" or ")
                    ))?;
                    self.waiting = Waiting::Open;
                    return Ok(None);
                }
            }
        }
        let set = OpenSet::new(self.drill.study, &self.drill.course.belief(), &named);
        let name = |list: &[(PartId, f64)]| {
            let name = |(part, share): &(PartId, f64)| {
                format!("{} ({:.0} %)", circuit.part(*part).name, share * 100.0)
            };
            list.iter().map(name).collect::<Vec<_>>().join(", ")
        };
        let told = match (set.omitted.is_empty(), set.extra.is_empty()) {
            (true, true) => "All of them, and none too many.".to_owned(),
            (true, false) => format!("None forgotten. Ruled out by now: {}.", name(&set.extra)),
            (false, true) => format!("Forgotten: {}.", name(&set.omitted)),
            (false, false) => {
                format!(
                    "Forgotten: {}. Ruled out by now: {}.",
                    name(&set.omitted),
                    name(&set.extra)
                )
            }
        };
        self.drill.named(set);
        self.say(&told)?;
        self.advise()?;
        Ok(None)
    }
}

/// What is at hand, in words.
fn at_hand(kit: &[Instrument]) -> String {
    let words = kit.iter().map(|one| match one {
        Instrument::Lamp => "test lamp",
        Instrument::Led => "LED lamp",
        Instrument::Meter => "meter",
        Instrument::OldMeter => "old meter",
        Instrument::Clamp => "clamp meter",
        Instrument::Bulb => "bulb on two leads",
        Instrument::Jumper => "fused jumper",
        Instrument::Spares => "known good spares",
        Instrument::Senses => "eyes and ears",
    });
    words.chain(["eyes and ears"]).collect::<Vec<_>>().join(", ")
}
