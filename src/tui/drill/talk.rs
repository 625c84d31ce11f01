//! The conversation of a drill.

use std::io::{self, BufRead, Write};
use std::sync::Arc;

use super::help::ORDERS;
use super::lists::{self, Choice};
use super::order::{self, Order};
use crate::drill::fault::level;
use crate::drill::log::What;
use crate::drill::play::{Drill, Told};
use crate::drill::tutor::{self, Advice};
use crate::job::{shown::cautions, words};
use crate::problem::sanitise;
use crate::report::plain::filled;
use crate::suspect::FixId;
use crate::tester::expectations::{BenchError, Column};
use crate::tester::{Instrument, Test};
use crate::tui::plain::read_line;

mod asks;

/// Lines of a conversation without a screen are filled up to here.
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
    Foretell(Box<Test>, Arc<Column>),
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
    let mut talk = Talk::new(drill, asking, output, WIDTH);
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

/// A conversation: lines in, words out.
pub struct Talk<'t, 'a> {
    /// The drill.
    pub drill: &'t mut Drill<'a>,
    asking: Asking,
    output: &'t mut dyn Write,
    waiting: Waiting,
    width: usize,
}

impl<'t, 'a> Talk<'t, 'a> {
    /// A conversation whose lines are filled up to `width`.
    pub fn new(
        drill: &'t mut Drill<'a>,
        asking: Asking,
        output: &'t mut dyn Write,
        width: usize,
    ) -> Talk<'t, 'a> {
        Talk { drill, asking, output, waiting: Waiting::Order, width }
    }

    /// What the next line is: a number of a choice, names, an order.
    pub fn wants(&self) -> &'static str {
        match self.waiting {
            Waiting::Which(_) | Waiting::Advice(_) | Waiting::Foretell(..) => "number",
            Waiting::Open => "open parts",
            Waiting::Order | Waiting::End(_) => "",
        }
    }

    fn say(&mut self, words: &str) -> io::Result<()> {
        write!(self.output, "{}", filled(words, self.width, "  ", "    "))
    }

    fn say_all(&mut self, lines: &[String]) -> io::Result<()> {
        lines.iter().try_for_each(|line| self.say(line))
    }

    /// What stands at the beginning.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn opening(&mut self) -> io::Result<()> {
        let study = self.drill.study;
        let circuit = study.circuit();
        let level = level(self.drill.setting.level);
        let title = format!("DRILL  {}, {}", circuit.machine, circuit.name);
        write!(self.output, "{}", filled(&title, self.width, "", "  "))?;
        self.say(&format!(
            "Level {}: {}. Seed {}.",
            level.number, level.words, self.drill.setting.seed
        ))?;
        let complaint = lists::complaint(self.drill);
        self.say(&format!("Complaint: {complaint}"))?;
        self.say(&format!("At hand: {}.", at_hand(study.kit())))?;
        if self.drill.may_crank() {
            for line in cautions::turning_cautions(circuit, &[]) {
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
        let asked = self.wants();
        if setup.len() <= PROMPT {
            write!(self.output, "[{minutes} min; {setup}] {asked}> ")?;
        } else {
            write!(self.output, "[{minutes} min] {asked}> ")?;
        }
        self.output.flush()
    }

    /// Takes a line; tells how it ended, if it has.
    ///
    /// # Errors
    /// When something cannot be written.
    pub fn take(&mut self, line: &str) -> io::Result<Option<End>> {
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
            write!(self.output, "{}", filled(&line, self.width, "  ", "      "))?;
        }
        self.waiting = Waiting::Which(choices);
        Ok(())
    }

    fn help(&mut self) -> io::Result<()> {
        for (order, meaning) in ORDERS {
            let head = format!("  {order:<28} ");
            write!(self.output, "{}", filled(meaning, self.width, &head, &" ".repeat(head.len())))?;
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
                self.say("The repair is not proven: `prove`. To end all the same: `done` again.")?;
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
                    Ok(test) => return self.ask_foretold(Box::new(test)),
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
}

/// What is at hand, in words.
fn at_hand(kit: &[Instrument]) -> String {
    let senses = Instrument::Senses;
    let all = kit.iter().filter(|one| **one != senses).chain([&senses]);
    all.map(|one| one.words()).collect::<Vec<_>>().join(", ")
}
