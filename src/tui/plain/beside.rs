//! What is looked at or told beside the step.

use std::io;

use crate::tui::model::matching_facts;
use crate::tui::words;

use super::parse::Line;
use super::{LISTED, Talk, Turn, print};

impl Talk<'_> {
    /// Does what a line beside the step wants.
    pub(super) fn beside(&mut self, line: Line) -> io::Result<Turn> {
        match line {
            Line::Redo => {
                let told = self.bench.redo();
                self.chosen = None;
                let words = |done| if done { "Counts again." } else { "Nothing was taken back." };
                self.say(told.map(words))?;
                return Ok(Turn::Changed);
            }
            Line::Back(number) => match self.bench.look_back(number).map(words::clean_past) {
                Some(past) => print::past(self.output, &past)?,
                None => writeln!(self.output, "There is no step {number}; `found` lists them.")?,
            },
            Line::Machine(search) => {
                let all = words::clean_facts(self.bench.facts());
                self.facts = matching_facts(&all, &search).into_iter().cloned().collect();
                print::facts(self.output, &self.facts, LISTED)?;
            }
            Line::Change(number) => {
                let fact = self.facts.get(number.wrapping_sub(1)).cloned();
                let Some(fact) = fact else {
                    writeln!(self.output, "`machine` lists what can be changed.")?;
                    return Ok(Turn::Same);
                };
                return self.record(fact.event, &format!("Kept: {}.", fact.then));
            }
            Line::Card => {
                let written = self.bench.card().map(|path| format!("The job card is in {path}"));
                self.say(written.as_deref().map_err(Clone::clone))?;
            }
            _ => {}
        }
        Ok(Turn::Same)
    }
}
