//! Words and figures as the screen and the line printer write them.

use crate::job::entry::{number, typed};
use crate::job::event::Answer;
use crate::job::shown::past::Past;
use crate::job::standing::{Ending, FixStep, NumberEntry, Standing, Step, SuspectLine, TestStep};
use crate::problem;

use super::bench::{Fact, OtherTest};

/// Text from a file, fit for a terminal: the one door through which it comes in.
pub fn clean(text: &str) -> String {
    problem::sanitise(text)
}

fn clean_all(texts: &mut [String]) {
    for text in texts {
        *text = clean(text);
    }
}

/// A standing whose texts are all fit for a terminal.
pub fn clean_standing(mut standing: Standing) -> Standing {
    match &mut standing.step {
        Step::Test(step) => clean_test(step),
        Step::Fix(step) => clean_fix(step),
        Step::Cured(ending) | Step::Stuck(ending) => clean_ending(ending),
    }
    standing.suspects.iter_mut().for_each(clean_suspect);
    for line in &mut standing.found {
        line.what = clean(&line.what);
        line.seen = clean(&line.seen);
    }
    for path in &mut standing.paths {
        path.name = clean(&path.name);
        for row in &mut path.rows {
            row.name = clean(&row.name);
            row.place = clean(&row.place);
        }
    }
    standing.setup = clean(&standing.setup);
    standing.surprise = standing.surprise.map(|text| clean(&text));
    standing
}

fn clean_suspect(line: &mut SuspectLine) {
    for text in [&mut line.part, &mut line.fault, &mut line.fix] {
        *text = clean(text);
    }
}

/// Makes the texts of a test step fit for a terminal.
pub fn clean_test(step: &mut TestStep) {
    step.title = clean(&step.title);
    step.watch = clean(&step.watch);
    step.sound = step.sound.as_deref().map(clean);
    step.published = step.published.as_deref().map(clean);
    clean_all(&mut step.cautions);
    clean_all(&mut step.doing);
    clean_all(&mut step.why);
    for outcome in &mut step.outcomes {
        outcome.words = clean(&outcome.words);
        outcome.meaning = clean(&outcome.meaning);
    }
}

fn clean_fix(step: &mut FixStep) {
    step.title = clean(&step.title);
    clean_all(&mut step.cautions);
    clean_all(&mut step.doing);
    clean_all(&mut step.proof);
    clean_all(&mut step.why);
}

fn clean_ending(ending: &mut Ending) {
    ending.title = clean(&ending.title);
    clean_all(&mut ending.lines);
    clean_all(&mut ending.put_back);
}

/// Other tests whose texts are all fit for a terminal.
pub fn clean_others(mut others: Vec<OtherTest>) -> Vec<OtherTest> {
    for test in &mut others {
        test.title = clean(&test.title);
        test.place = clean(&test.place);
    }
    others
}

/// Facts whose texts are all fit for a terminal.
pub fn clean_facts(mut facts: Vec<Fact>) -> Vec<Fact> {
    for fact in &mut facts {
        fact.now = clean(&fact.now);
        fact.then = clean(&fact.then);
    }
    facts
}

/// A past step whose texts are all fit for a terminal.
pub fn clean_past(mut past: Past) -> Past {
    past.what = clean(&past.what);
    past.seen = clean(&past.seen);
    clean_all(&mut past.doing);
    for (words, _, _) in &mut past.chances {
        *words = clean(words);
    }
    for line in past.before.iter_mut().chain(&mut past.after) {
        clean_suspect(line);
    }
    past
}

/// A share of one in per cent: `43 %`, `<1 %`, `>99 %`.
pub fn share(probability: f64) -> String {
    let per_cent = (probability * 100.0).round();
    if probability <= 0.0 {
        "0 %".to_owned()
    } else if per_cent < 1.0 {
        "<1 %".to_owned()
    } else if per_cent >= 100.0 && probability < 1.0 - 1e-9 {
        ">99 %".to_owned()
    } else {
        format!("{per_cent:.0} %")
    }
}

/// Minutes of a person's work: `6 min`, `under 1 min`, `1 h 20 min`.
pub fn minutes(minutes: f64) -> String {
    if !minutes.is_finite() {
        return "? min".to_owned();
    }
    let whole = minutes.round().max(0.0) as u64;
    match (whole / 60, whole % 60) {
        (0, 0) if minutes > 0.0 => "under 1 min".to_owned(),
        (0, some) => format!("{some} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, some) => format!("{hours} h {some} min"),
    }
}

/// Like [`minutes`], in fewer cells: `<1 min`.
pub fn short_minutes(some: f64) -> String {
    minutes(some).replace("under 1", "<1")
}

/// The range of a number that may be typed: `0 to 15 V`.
pub fn range(entry: &NumberEntry) -> String {
    let most = number::shown(entry.most, entry.unit);
    let least = number::shown(entry.least, entry.unit);
    let bare = least.strip_suffix(entry.unit).map(str::trim_end).unwrap_or_default();
    let same_scale = most.ends_with(&format!(" {}", entry.unit));
    if same_scale && bare.parse::<f64>().is_ok() {
        format!("{bare} to {most}")
    } else {
        format!("{least} to {most}")
    }
}

/// A number that was read, exact or vague, in the scale a meter would show it in.
pub fn answer(answer: &Answer, unit: &str) -> String {
    match answer {
        Answer::Number(value) => number::as_typed(*value, unit),
        Answer::Between { least, most } => typed::said(*least, *most, unit),
        Answer::Named(id) => id.clone(),
        Answer::AnyOf { any_of } => any_of.join(" or "),
    }
}

/// What a number of this unit is called: `volts`, `ohms`, `amperes`.
pub fn quantity(unit: &str) -> &'static str {
    match unit {
        "V" => "volts",
        "A" => "amperes",
        "ohm" => "ohms",
        _ => "number",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_never_round_to_certainty() {
        let shown = [0.0, 0.004, 0.43, 0.996, 1.0].map(share);
        assert_eq!(shown, ["0 %", "<1 %", "43 %", ">99 %", "100 %"]);
    }

    #[test]
    fn minutes_read_like_speech() {
        let shown = [0.0, 0.3, 6.2, 60.0, 80.0].map(minutes);
        assert_eq!(shown, ["0 min", "under 1 min", "6 min", "1 h", "1 h 20 min"]);
    }

    #[test]
    fn a_range_names_its_unit_once_where_it_can() {
        let volts = NumberEntry {
            unit: "V",
            least: 0.0,
            most: 15.0,
            likely: Vec::new(),
            either_sign: false,
            system_volts: 12.0,
        };
        let ohms = NumberEntry { unit: "ohm", most: 1e7, ..volts.clone() };
        assert_eq!(range(&volts), "0 to 15 V");
        assert_eq!(range(&ohms), "0 ohm to 10 Mohm");
    }

    #[test]
    fn escapes_from_a_file_lose_their_power() {
        assert_eq!(clean("a\u{1b}[2Jb\u{202e}c\n"), "a[2Jbc ");
    }
}
