//! What the learner is asked: which of the tool's steps, what will be seen, which parts are still open.

use std::io;
use std::sync::Arc;

use super::{End, Talk, Waiting};
use crate::circuit::PartId;
use crate::drill::log::What;
use crate::drill::open_set::OpenSet;
use crate::drill::par::mend_and_prove;
use crate::drill::tutor::{self, Advice};
use crate::drill::weigh::leaning;
use crate::job::{shown::cautions, words};
use crate::report::plain::filled;
use crate::tester::Test;
use crate::tester::expectations::Column;
use crate::tui::drill::order::{self, Order};
use crate::tui::drill::pick::{self, Pick};

impl Talk<'_, '_> {
    pub(super) fn advise(&mut self) -> io::Result<()> {
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

    pub(super) fn which_step(&mut self, words: &[String], steps: Vec<Advice>) -> io::Result<()> {
        self.say(if steps.len() == 1 {
            "The tool would:"
        } else {
            "One of these (or an order of your own):"
        })?;
        for (at, line) in words.iter().enumerate() {
            let head = format!("  {}  ", at + 1);
            write!(self.output, "{}", filled(line, self.width, &head, "     "))?;
        }
        self.waiting = Waiting::Advice(steps);
        Ok(())
    }

    /// The tool's step, cautions first.
    pub(super) fn propose(&mut self, test: &Test) -> io::Result<()> {
        let study = self.drill.study;
        let course = &self.drill.course;
        let cautions = cautions::cautions(study, course, test, &course.belief());
        let mut doing = words::way_to(course, &test.setup, &test.places);
        doing.extend(words::touch(study.circuit(), test, None));
        doing.push(words::watch(study.circuit(), test));
        let title = words::title_in_setup(study.circuit(), test);
        for caution in cautions {
            self.say(&format!("CARE: {caution}"))?;
        }
        self.say(&format!("The tool's next step: {title}."))?;
        self.say_all(&doing.iter().map(|line| format!("- {line}")).collect::<Vec<_>>())
    }

    pub(super) fn ask_foretold(&mut self, test: Box<Test>) -> io::Result<()> {
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

    pub(super) fn foretold(
        &mut self,
        test: Box<Test>,
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
        // Where the open parts are asked for next, they are not told before.
        if !self.asking.open {
            let left = leaning(self.drill.study, &self.drill.course.belief());
            self.say(&format!("Now suspicion lies on: {left}."))?;
        }
        self.after(looks)?;
        Ok(None)
    }

    pub(super) fn follow(&mut self, step: Advice) -> io::Result<Option<End>> {
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
                        self.say("Everything does what it should. `done` ends the drill.")?;
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

    pub(super) fn open_set(&mut self, line: &str) -> io::Result<Option<End>> {
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
        let order = order::read(self.drill, line);
        if matches!(order, Order::Hint | Order::Help | Order::State | Order::Found | Order::Circuit)
        {
            let end = self.order(line)?;
            self.waiting = Waiting::Open;
            return Ok(end);
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
        let told = self.told_of(&set);
        self.drill.named(set);
        self.say(&told)?;
        self.advise()?;
        Ok(None)
    }

    /// What was forgotten, and what was too many.
    fn told_of(&self, set: &OpenSet) -> String {
        let circuit = self.drill.study.circuit();
        let name = |list: &[(PartId, f64)]| {
            let name = |(part, share): &(PartId, f64)| {
                format!("{} ({:.0} %)", circuit.part(*part).name, share * 100.0)
            };
            list.iter().map(name).collect::<Vec<_>>().join(", ")
        };
        match (set.omitted.is_empty(), set.extra.is_empty()) {
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
        }
    }
}
