//! What is written, a fact a line.

use std::io::{self, Write};

use crate::job::shown::past::Past;
use crate::job::standing::{Charge, Ending, FixStep, Held, OutcomeLine, Standing, TestStep};
use crate::tui::bench::{Fact, OtherTest};
use crate::tui::model::StepRef;
use crate::tui::words;

use super::WORDS;

/// Ranges of a number less likely than this are not read out.
const LIKELY: f64 = 0.01;
/// Suspects named beside each step.
const BESIDE: usize = 3;

fn each(output: &mut dyn Write, label: &str, lines: &[String]) -> io::Result<()> {
    for (position, line) in lines.iter().enumerate() {
        writeln!(output, "{label} {}: {line}", position + 1)?;
    }
    Ok(())
}

/// How the machine stands, what does not fit, who is suspected most.
pub(super) fn head(output: &mut dyn Write, standing: &Standing) -> io::Result<()> {
    writeln!(output)?;
    if !standing.setup.is_empty() {
        writeln!(output, "Stands now: {}", standing.setup)?;
    }
    if let Some(surprise) = &standing.surprise {
        writeln!(output, "Doubt: {surprise}")?;
    }
    let likeliest: Vec<String> = standing
        .suspects
        .iter()
        .take(BESIDE)
        .map(|line| format!("{} ({}) {}", line.part, line.fault, words::share(line.probability)))
        .collect();
    if !likeliest.is_empty() {
        writeln!(output, "Maybe: {}", likeliest.join("; "))?;
    }
    Ok(())
}

/// The step, with what can be answered.
pub(super) fn step(output: &mut dyn Write, step: StepRef<'_>) -> io::Result<()> {
    match step {
        StepRef::Test(step) => test(output, step),
        StepRef::Fix(step) => fix(output, step),
        StepRef::Cured(ending) => ended(output, "Cured", ending),
        StepRef::Stuck(ending) => ended(output, "No further", ending),
    }
}

fn test(output: &mut dyn Write, step: &TestStep) -> io::Result<()> {
    writeln!(output, "Test: {}, {}", step.title, words::minutes(step.minutes))?;
    each(output, "Care", &step.cautions)?;
    each(output, "Do", &step.doing)?;
    writeln!(output, "Then: {}", step.watch)?;
    for line in step.sound.iter().chain(&step.published) {
        writeln!(output, "{line}")?;
    }
    if let Some(bounds) = &step.number {
        let quantity = words::quantity(bounds.unit);
        writeln!(output, "Type the {quantity}: {}", words::range(bounds))?;
    }
    let shown = |outcome: &&OutcomeLine| step.number.is_none() || outcome.probability >= LIKELY;
    for outcome in step.outcomes.iter().filter(shown) {
        let share = words::share(outcome.probability);
        write!(output, "{} or {}: {}, {share}", outcome.key, outcome.id, outcome.words)?;
        if outcome.meaning.is_empty() {
            writeln!(output)?;
        } else {
            writeln!(output, "; it would mean: {}", outcome.meaning)?;
        }
    }
    match step.outcomes.len() - step.outcomes.iter().filter(shown).count() {
        0 => Ok(()),
        hidden => writeln!(output, "{hidden} unlikely ranges more; a number finds them"),
    }
}

fn fix(output: &mut dyn Write, step: &FixStep) -> io::Result<()> {
    let share = words::share(step.probability);
    let minutes = words::minutes(step.minutes);
    writeln!(output, "Repair: {}, {minutes}; {share} that this cures it", step.title)?;
    each(output, "Care", &step.cautions)?;
    each(output, "Have at hand", &step.parts)?;
    each(output, "Do", &step.doing)?;
    each(output, "Prove", &step.proof)?;
    writeln!(output, "c or cured: the proof is as it should be")?;
    writeln!(output, "x or not-cured: it is as before")
}

fn ended(output: &mut dyn Write, word: &str, ending: &Ending) -> io::Result<()> {
    writeln!(output, "{word}: {}", ending.title)?;
    for line in &ending.lines {
        writeln!(output, "- {line}")?;
    }
    each(output, "Put back", &ending.put_back)?;
    writeln!(output, "undo takes the last entry back, quit leaves")
}

/// All suspects.
pub(super) fn suspects(output: &mut dyn Write, standing: &Standing) -> io::Result<()> {
    for (position, line) in standing.suspects.iter().enumerate() {
        let share = words::share(line.probability);
        write!(output, "{}. {share} {}: {}", position + 1, line.part, line.fault)?;
        if line.fix.is_empty() {
            writeln!(output, "; id {}", line.id)?;
        } else {
            writeln!(output, "; mend: {}; id {}", line.fix, line.id)?;
        }
    }
    Ok(())
}

/// The paths of the circuit in words.
pub(super) fn circuit(output: &mut dyn Write, standing: &Standing) -> io::Result<()> {
    for path in &standing.paths {
        writeln!(output, "Path {}, from the supply to ground:", path.name)?;
        for (position, row) in path.rows.iter().enumerate() {
            write!(output, "{}. {}", position + 1, row.name)?;
            if !row.place.is_empty() {
                write!(output, ", {}", row.place)?;
            }
            match row.charge {
                Charge::Live => write!(output, ", {:.1} V when sound", row.volts)?,
                other => write!(output, ", {} when sound", other.word())?,
            }
            if row.suspicion >= 0.005 {
                write!(output, ", suspected {}", words::share(row.suspicion))?;
            }
            match row.before {
                Held::Clip => write!(output, ", clip before it")?,
                Held::Probe => write!(output, ", touch before it")?,
                Held::Nothing => {}
            }
            writeln!(output, "{}", if row.probe_behind { ", touch behind it" } else { "" })?;
        }
    }
    Ok(())
}

/// What was found so far.
pub(super) fn found(output: &mut dyn Write, standing: &Standing) -> io::Result<()> {
    for line in &standing.found {
        writeln!(output, "{}. {}: {}", line.number, line.what, line.seen)?;
    }
    if standing.found.is_empty() {
        writeln!(output, "Nothing yet.")?;
    }
    let spent = words::minutes(standing.minutes_spent);
    writeln!(
        output,
        "Minutes so far: {spent}; to go: about {}",
        words::minutes(standing.minutes_left)
    )
}

/// A step that was done, as it was then.
pub(super) fn past(output: &mut dyn Write, past: &Past) -> io::Result<()> {
    writeln!(output, "Step {}: {}", past.number, past.what)?;
    each(output, "Did", &past.doing)?;
    writeln!(output, "Saw: {}, {}", past.seen, words::minutes(past.minutes))?;
    for (what, chance, seen) in &past.chances {
        let mark = if *seen { ", this was seen" } else { "" };
        writeln!(output, "Chance of `{what}`: {}{mark}", words::share(*chance))?;
    }
    for (when, list) in [("Before", &past.before), ("After", &past.after)] {
        for line in list {
            let share = words::share(line.probability);
            writeln!(output, "{when}: {share} {}: {}", line.part, line.fault)?;
        }
    }
    Ok(())
}

/// What can be told of machine and bench, numbered for `change`.
pub(super) fn facts(output: &mut dyn Write, facts: &[Fact], most: usize) -> io::Result<()> {
    for (position, fact) in facts.iter().take(most).enumerate() {
        writeln!(output, "{}. {}", position + 1, fact.now)?;
    }
    match facts.len() {
        0 => writeln!(output, "Nothing has all these words."),
        count if count > most => {
            writeln!(output, "{} more; `machine WORDS` narrows the list.", count - most)
        }
        _ => Ok(()),
    }
}

/// Other tests, numbered for `take`.
pub(super) fn tests(output: &mut dyn Write, tests: &[&OtherTest], most: usize) -> io::Result<()> {
    for (position, test) in tests.iter().take(most).enumerate() {
        let minutes = words::minutes(test.minutes);
        let place = if test.place.is_empty() { "no place to open" } else { &test.place };
        let number = position + 1;
        writeln!(output, "{number}. {}; {place}; {minutes}; id {}", test.title, test.id)?;
    }
    match tests.len() {
        0 => writeln!(output, "No test has all these words."),
        count if count > most => {
            writeln!(output, "{} more; `tests WORDS` narrows the list.", count - most)
        }
        _ => Ok(()),
    }
}

/// What can be typed.
pub(super) fn help(output: &mut dyn Write, standing: Option<&Standing>) -> io::Result<()> {
    if standing.is_some() {
        writeln!(output, "An answer of the step: its key, its id, or a number like 11.8 or 180m")?;
    }
    for (word, meaning) in WORDS {
        writeln!(output, "{word}: {meaning}")?;
    }
    Ok(())
}
