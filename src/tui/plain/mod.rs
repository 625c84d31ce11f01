//! The same job line by line: for pipes, for screen readers, for terminals that can do nothing.
//!
//! What is written is text and line ends and nothing else. A line in is an outcome's key or id, a
//! number, or one of the words in [`WORDS`]. The end of the input is a way of leaving.

mod beside;
mod parse;
mod print;

use std::io::{self, BufRead, Write};

use crate::job::event::Event;
use crate::job::standing::{Standing, TestStep};

use super::bench::{Bench, Fact, OtherTest};
use super::model::{StepRef, matching, step_in_front};
use super::{Leave, LeaveCause, TuiError, words};

use parse::Line;

/// Longest line that is read; the rest of a longer one is left out.
const LINE_BYTES: usize = 4096;
/// Tests listed at once.
const LISTED: usize = 20;

/// The words that can be typed beside answers, with what they do.
pub const WORDS: [(&str, &str); 16] = [
    ("undo", "take the last entry back"),
    ("redo", "what was taken back counts again"),
    ("back NUMBER", "look back at that step, as `found` lists them"),
    (
        "machine WORDS",
        "places out of reach, testers missing, parts replaced; `change NUMBER` changes one",
    ),
    ("change NUMBER", "change what `machine` has listed"),
    ("card", "write the job card beside the job file"),
    ("skip reach", "this place cannot be reached"),
    ("skip tester", "there is no such tester"),
    ("skip this", "just not this one"),
    ("why", "why this step; `why SUSPECT` says what speaks for and against it"),
    ("suspects", "all suspects with their shares"),
    ("circuit", "the circuit by its paths, with the suspicion on it"),
    ("found", "what was found so far"),
    ("tests WORDS", "other tests with these words in them; `take NUMBER` does one of them"),
    ("note WORDS", "write words into the job"),
    ("quit", "leave"),
];

/// Runs a job line by line until the person leaves or the input ends.
///
/// # Errors
/// When reading or writing fails; a reader that went away is no failure.
pub fn run(
    bench: &mut dyn Bench,
    input: &mut dyn BufRead,
    output: &mut dyn Write,
) -> Result<Leave, TuiError> {
    let mut talk = Talk {
        bench,
        output,
        standing: None,
        chosen: None,
        listed: Vec::new(),
        facts: Vec::new(),
        questioned: None,
    };
    if let Some(words) = talk.bench.trouble() {
        let told = writeln!(talk.output, "Careful: {}", words::clean(&words));
        told.map_err(TuiError::Lines)?;
    }
    let cause = match talk.hold(input) {
        Ok(cause) => cause,
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => LeaveCause::InputEnded,
        Err(error) => return Err(TuiError::Lines(error)),
    };
    let cured = matches!(talk.step(), Some(StepRef::Cured(_)));
    Ok(Leave { cause, cured })
}

/// What happens after a line.
#[derive(PartialEq)]
enum Turn {
    /// The job has changed: show the step anew.
    Changed,
    /// Only words were wanted.
    Same,
    /// Leave.
    Leave,
}

struct Talk<'a> {
    bench: &'a mut dyn Bench,
    output: &'a mut dyn Write,
    standing: Option<Standing>,
    /// The step of a test the person chose.
    chosen: Option<TestStep>,
    /// The tests listed last, for `take`.
    listed: Vec<OtherTest>,
    /// What `machine` has listed last, for `change`.
    facts: Vec<Fact>,
    /// A number that was asked about, as typed.
    questioned: Option<String>,
}

impl Talk<'_> {
    fn hold(&mut self, input: &mut dyn BufRead) -> io::Result<LeaveCause> {
        let (circuit, machine) = self.bench.title();
        writeln!(self.output, "{}, {}", words::clean(&machine), words::clean(&circuit))?;
        writeln!(
            self.output,
            "Answer each step with a key, a word or a number; ? lists the words."
        )?;
        let mut turn = Turn::Changed;
        loop {
            if turn == Turn::Changed {
                self.standing = Some(words::clean_standing(self.bench.standing()));
                self.show()?;
            }
            writeln!(self.output, "Your answer:")?;
            self.output.flush()?;
            let Some(line) = read_line(input)? else {
                self.say_end()?;
                return Ok(LeaveCause::InputEnded);
            };
            turn = self.take(&words::clean(&line))?;
            if turn == Turn::Leave {
                return Ok(LeaveCause::Asked);
            }
        }
    }

    fn say_end(&mut self) -> io::Result<()> {
        match self.bench.kept_at() {
            Some(_) => writeln!(self.output, "The input has ended; nothing is lost."),
            None => writeln!(self.output, "The input has ended; this job is kept nowhere."),
        }
    }

    fn step(&self) -> Option<StepRef<'_>> {
        step_in_front(self.standing.as_ref(), self.chosen.as_ref())
    }

    fn show(&mut self) -> io::Result<()> {
        let Some(step) = step_in_front(self.standing.as_ref(), self.chosen.as_ref()) else {
            return Ok(());
        };
        if let Some(standing) = &self.standing {
            print::head(self.output, standing)?;
        }
        print::step(self.output, step)
    }

    fn take(&mut self, line: &str) -> io::Result<Turn> {
        let parsed = match self.step() {
            Some(step) => parse::line(line, step),
            None => return Ok(Turn::Same),
        };
        match parsed {
            Line::Quit => return Ok(Turn::Leave),
            Line::Event(event, words) => return self.record(event, &words),
            Line::Odd(event, words) => {
                if self.questioned.take().as_deref() == Some(line) {
                    return self.record(event, "Kept.");
                }
                self.questioned = Some(line.to_owned());
                writeln!(self.output, "{words}")?;
            }
            Line::Undo => return self.undo(),
            Line::Redo | Line::Back(_) | Line::Machine(_) | Line::Change(_) | Line::Card => {
                return self.beside(parsed);
            }
            Line::Note(text) => {
                let kept = self.bench.record(Event::Note { text });
                self.say(kept.map(|()| "Note kept."))?;
            }
            Line::Why(None) => self.why()?,
            Line::Why(Some(suspect)) => self.explain(&suspect)?,
            Line::Tests(search) => self.tests(&search)?,
            Line::Take(which) => return self.choose(&which),
            Line::Help => print::help(self.output, self.standing.as_ref())?,
            Line::Suspects | Line::Circuit | Line::Found => {
                if let Some(standing) = &self.standing {
                    match parsed {
                        Line::Suspects => print::suspects(self.output, standing)?,
                        Line::Circuit => print::circuit(self.output, standing)?,
                        _ => print::found(self.output, standing)?,
                    }
                }
            }
            Line::Empty => {}
            Line::Wrong(words) => writeln!(self.output, "{words}")?,
        }
        Ok(Turn::Same)
    }

    fn say(&mut self, told: Result<&str, String>) -> io::Result<()> {
        match told {
            Ok(words) => writeln!(self.output, "{words}"),
            Err(words) => writeln!(self.output, "Careful: {}", words::clean(&words)),
        }
    }

    fn record(&mut self, event: Event, kept: &str) -> io::Result<Turn> {
        let told = self.bench.record(event);
        if told.is_ok() {
            self.chosen = None;
        }
        self.say(told.map(|()| kept))?;
        Ok(Turn::Changed)
    }

    fn undo(&mut self) -> io::Result<Turn> {
        let told = self.bench.undo();
        self.chosen = None;
        let words = |undone| if undone { "Taken back." } else { "Nothing is left to take back." };
        self.say(told.map(words))?;
        Ok(Turn::Changed)
    }

    fn why(&mut self) -> io::Result<()> {
        let reasons = match step_in_front(self.standing.as_ref(), self.chosen.as_ref()) {
            Some(StepRef::Test(step)) => step.why.as_slice(),
            Some(StepRef::Fix(step)) => step.why.as_slice(),
            _ => &[],
        };
        for reason in reasons {
            writeln!(self.output, "Why: {reason}")?;
        }
        if reasons.is_empty() {
            writeln!(self.output, "There is no step to give reasons for.")?;
        }
        Ok(())
    }

    /// A suspect by its id, by its place in the list, or by the beginning of its part's name.
    fn explain(&mut self, wanted: &str) -> io::Result<()> {
        let suspects = self.standing.as_ref().map_or(&[][..], |standing| &standing.suspects);
        let small = wanted.to_lowercase();
        let by_number = small.parse::<usize>().ok().and_then(|n| suspects.get(n.wrapping_sub(1)));
        let suspect = by_number
            .or_else(|| suspects.iter().find(|line| line.id.to_lowercase() == small))
            .or_else(|| suspects.iter().find(|line| line.part.to_lowercase().starts_with(&small)));
        let Some(suspect) = suspect else {
            return writeln!(
                self.output,
                "No suspect is called `{wanted}`; `suspects` lists them."
            );
        };
        writeln!(self.output, "{}: {}", suspect.part, suspect.fault)?;
        let id = suspect.id.clone();
        for line in self.bench.explain(&id) {
            writeln!(self.output, "- {}", words::clean(&line))?;
        }
        Ok(())
    }

    fn tests(&mut self, search: &str) -> io::Result<()> {
        let all = words::clean_others(self.bench.others());
        let found = matching(&all, search);
        print::tests(self.output, &found, LISTED)?;
        self.listed = found.into_iter().cloned().collect();
        Ok(())
    }

    /// A test by its place in the last list, or by its id.
    fn choose(&mut self, which: &str) -> io::Result<Turn> {
        let listed = which.parse::<usize>().ok().and_then(|n| self.listed.get(n.wrapping_sub(1)));
        let test = listed.map_or_else(|| which.to_owned(), |test| test.id.clone());
        let Some(mut step) = self.bench.step_for(&test) else {
            writeln!(self.output, "No test is called `{which}`; `tests` lists them.")?;
            return Ok(Turn::Same);
        };
        words::clean_test(&mut step);
        let kept = format!("Your choice: {}", step.title);
        let told = self.bench.record(Event::Chose { test });
        self.chosen = Some(step);
        self.say(told.map(|()| kept.as_str()))?;
        Ok(Turn::Changed)
    }
}

/// The next line without its end; `None` at the end of the input.
pub fn read_line(input: &mut dyn BufRead) -> io::Result<Option<String>> {
    let mut bytes = Vec::new();
    let mut any = false;
    loop {
        let chunk = match input.fill_buf() {
            Ok(chunk) => chunk,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        if chunk.is_empty() {
            break;
        }
        any = true;
        let end = chunk.iter().position(|byte| *byte == b'\n');
        let used = end.map_or(chunk.len(), |end| end + 1);
        let room = LINE_BYTES.saturating_sub(bytes.len());
        bytes.extend_from_slice(&chunk[..end.unwrap_or(used).min(room)]);
        input.consume(used);
        if end.is_some() {
            break;
        }
    }
    Ok(any.then(|| String::from_utf8_lossy(&bytes).into_owned()))
}
