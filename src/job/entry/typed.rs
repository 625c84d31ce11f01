//! An answer as a person types it: `lit`, `bright`, `dim or lit`, `11.8 V`, `about 10`, `9-11`, `over 5`.
//!
//! One reader for every door: the screen, the line printer and `--reading`.

use super::number::{self, NumberError};
use crate::job::event::Answer;
use crate::job::standing::TestStep;
use crate::tester::expectations::Column;

/// What a step asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked<'a> {
    /// What is asked of a number; `None` where none is.
    pub number: Option<Bounds>,
    /// Ids of the outcomes, those of the least level first.
    pub ids: Vec<&'a str>,
}

/// Why a typed answer says nothing here.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TypedError {
    /// It is no number, where one is asked for.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// A number that cannot be.
    #[error("{shown} cannot be read here: {least} to {most} can")]
    Range {
        /// As a meter would show it.
        shown: String,
        /// Least.
        least: String,
        /// Most.
        most: String,
    },
    /// It is none of the outcomes.
    #[error("`{typed}` is no outcome of this test; there are {known}")]
    Outcome {
        /// As typed.
        typed: String,
        /// The outcomes.
        known: String,
    },
}

/// How far off `about` may be, as a share of the number (common practice, no source).
const ABOUT: f64 = 0.1;
/// `Nearly` this, and `just over`: so much less or more, as a share (common practice, no source).
const NEARLY: f64 = 0.15;
/// Volts as shares of the system's that count as those of the battery, and as nothing (common practice, no
/// source).
const FULL: (f64, f64) = (0.92, 1.1);
const NOTHING: f64 = 0.01;
/// The same across a fuse, in volts: what is left there of the usual amperes is no more than noise.
const NOTHING_ACROSS_A_FUSE: f64 = 0.001;
/// Ohms that count as an open line, and as joined (common practice, no source).
const OPEN_OHMS: f64 = 1.0e6;
const JOINED_OHMS: f64 = 1.0;

/// Words for outcomes beside their ids.
const WORDS: [(&str, &[&str]); 8] = [
    ("lit", &["bright", "brightly", "on", "full", "lights", "lights up", "yes"]),
    ("dim", &["faint", "weak", "glows", "glowing", "half", "dull", "a little"]),
    ("dark", &["off", "out", "no", "nothing", "none", "no light"]),
    ("slow", &["slowly", "weak", "labours", "drags"]),
    ("silence", &["nothing", "no", "none", "silent", "no click"]),
    ("click", &["clicks", "one click", "yes"]),
    ("chatter", &["chatters", "rattles", "buzzes"]),
    ("comes-and-goes", &["flickers", "changes", "moves", "yes"]),
];

/// Words before a number that make it vague.
const ABOUT_WORDS: [&str; 9] =
    ["approximately", "approx", "roughly", "around", "about", "circa", "some", "ca", "~"];
const NEARLY_WORDS: [&str; 4] = ["just under", "nearly", "almost", "not quite"];
const BARELY_WORDS: [&str; 2] = ["just over", "barely over"];
const OVER_WORDS: [&str; 7] = ["more than", "at least", "above", "over", ">=", ">", "from"];
const UNDER_WORDS: [&str; 8] =
    ["less than", "at most", "no more than", "below", "under", "up to", "<=", "<"];

impl<'a> Asked<'a> {
    /// What a step on the screen asks for.
    pub fn of_step(step: &'a TestStep) -> Asked<'a> {
        let number = step.number.as_ref().map(|entry| Bounds {
            unit: entry.unit,
            least: entry.least,
            most: entry.most,
            system_volts: entry.system_volts,
            either_sign: entry.either_sign,
        });
        let mut ids: Vec<&str> = step.outcomes.iter().map(|outcome| outcome.id.as_str()).collect();
        // A screen shows the brightest first.
        if number.is_none() {
            ids.reverse();
        }
        Asked { number, ids }
    }

    /// What a test asks for.
    ///
    /// `system_volts` are the machine's nominal ones.
    pub fn of_column(column: &'a Column, system_volts: f64) -> Asked<'a> {
        let (least, most) = number::range(column);
        let either_sign = column.test.scale.is_by_size();
        let bounds = |unit| Bounds { unit, least, most, system_volts, either_sign };
        let number = column.test.tester.unit().map(bounds);
        Asked { number, ids: column.outcomes.iter().map(|outcome| outcome.id.as_str()).collect() }
    }

    /// Reads what was typed.
    ///
    /// # Errors
    /// Words that say what could have been typed.
    pub fn read(&self, typed: &str) -> Result<Answer, TypedError> {
        let typed = typed.trim();
        let small = typed.to_lowercase();
        if let Some(id) = self.ids.iter().find(|id| id.to_lowercase() == small) {
            return Ok(Answer::Named((*id).to_owned()));
        }
        match self.number {
            Some(bounds) => bounds.read(typed),
            None => self.named(&small).ok_or_else(|| TypedError::Outcome {
                typed: typed.to_owned(),
                known: self.ids.join(", "),
            }),
        }
    }

    /// One outcome or several, in words.
    fn named(&self, small: &str) -> Option<Answer> {
        let doubtful = small.strip_suffix('?').or_else(|| small.strip_prefix("maybe "));
        let mut seen = match (doubtful, small.strip_prefix("not "), small) {
            // Somebody who is not sure may have seen what lies beside it.
            (Some(word), ..) => {
                let at = self.outcome(word.trim())?;
                (at.saturating_sub(1)..=(at + 1).min(self.ids.len() - 1)).collect()
            }
            (_, Some(word), _) => {
                let not = self.outcome(word.trim())?;
                (0..self.ids.len()).filter(|at| *at != not).collect()
            }
            (_, _, "some" | "something" | "some light") => (1..self.ids.len()).collect(),
            _ => {
                let words = small.split(" or ").map(|word| self.outcome(word.trim()));
                words.collect::<Option<Vec<usize>>>()?
            }
        };
        seen.sort_unstable();
        seen.dedup();
        let mut ids = seen.into_iter().map(|at| self.ids[at].to_owned());
        match ids.len() {
            0 => None,
            1 => ids.next().map(Answer::Named),
            _ => Some(Answer::AnyOf { any_of: ids.collect() }),
        }
    }

    fn outcome(&self, word: &str) -> Option<usize> {
        let known = WORDS.iter().filter(|(_, words)| words.contains(&word)).map(|(id, _)| *id);
        let mut meant = std::iter::once(word).chain(known);
        meant.find_map(|id| self.ids.iter().position(|own| *own == id))
    }
}

/// The unit of a number, and what can be read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// `V`, `ohm` or `A`.
    pub unit: &'static str,
    /// Least that can be.
    pub least: f64,
    /// Most that can be.
    pub most: f64,
    /// Nominal volts of the machine.
    pub system_volts: f64,
    /// The sign says nothing: of volts only those across a fuse, which are counted in millivolts.
    pub either_sign: bool,
}

impl Bounds {
    fn read(self, typed: &str) -> Result<Answer, TypedError> {
        let exact = number::read(typed, self.unit);
        if let Ok(value) = exact {
            self.check(value)?;
            return Ok(Answer::Number(value));
        }
        let Some((least, most)) = self.vague(&typed.to_lowercase(), typed)? else {
            // What is no vague number either is told as what is wrong with it as a number.
            return exact.map(Answer::Number).map_err(TypedError::Number);
        };
        for end in [least, most].into_iter().flatten() {
            self.check(end)?;
        }
        // What is known of the ends is not said.
        Ok(Answer::Between { least, most })
    }

    fn check(self, value: f64) -> Result<(), TypedError> {
        if (self.least..=self.most).contains(&value) {
            return Ok(());
        }
        let shown = |value: f64| number::shown(value, self.unit);
        let (least, most) = (shown(self.least), shown(self.most));
        Err(TypedError::Range { shown: number::as_typed(value, self.unit), least, most })
    }

    /// Ends of a vague number; `None` where it is not one.
    fn vague(self, small: &str, typed: &str) -> Result<Option<Ends>, TypedError> {
        if let Some(ends) = self.in_words(small).or_else(|| self.range(typed)) {
            return Ok(Some(ends));
        }
        // The letters of a unit's prefix mean something as typed: `m` and `M`.
        let after = |words: &[&str]| {
            let word = words.iter().find(|word| small.starts_with(**word))?;
            typed.get(word.len()..).map(str::trim)
        };
        let one = |text: &str| -> Result<f64, TypedError> {
            let value = number::read(text, self.unit)?;
            self.check(value).map(|()| value)
        };
        if let Some(rest) = after(&NEARLY_WORDS) {
            let value = one(rest)?;
            return Ok(Some(self.ends(value - NEARLY * value.abs(), value)));
        }
        if let Some(rest) = after(&BARELY_WORDS) {
            let value = one(rest)?;
            return Ok(Some(self.ends(value, value + NEARLY * value.abs())));
        }
        if let Some(rest) = after(&OVER_WORDS) {
            return Ok(Some((Some(one(rest)?), None)));
        }
        if let Some(rest) = after(&UNDER_WORDS) {
            return Ok(Some((None, Some(one(rest)?))));
        }
        let marked = typed.strip_suffix('?').or_else(|| typed.strip_suffix("ish"));
        if let Some(rest) = after(&ABOUT_WORDS).or(marked.map(str::trim)) {
            let value = one(rest)?;
            let off = ABOUT * value.abs();
            return Ok(Some(self.ends(value - off, value + off)));
        }
        Ok(None)
    }

    /// `9-11`, `9 to 11 V`, `9..11`, `between 9 and 11`; a unit behind the second goes for both.
    fn range(self, typed: &str) -> Option<Ends> {
        let typed =
            ["between ", "from "].iter().find_map(|word| typed.strip_prefix(word)).unwrap_or(typed);
        let dash = || {
            let dashes = typed.char_indices().skip(1).filter(|(_, c)| matches!(c, '-' | '–'));
            dashes.map(|(at, c)| (&typed[..at], &typed[at + c.len_utf8()..])).next()
        };
        let (low, high) =
            ["..", " to ", " and "].iter().find_map(|mark| typed.split_once(mark)).or_else(dash)?;
        let (low, high) = (low.trim(), high.trim_start_matches('.').trim());
        let unit: &str =
            high.trim_start_matches(|c: char| c.is_ascii_digit() || "+-., ".contains(c));
        let value = |text: &str| number::read(text, self.unit).ok();
        let top = value(high)?;
        let same_unit = value(&format!("{low}{unit}")).filter(|low| *low < top);
        let bottom = same_unit.or_else(|| value(low))?;
        (bottom < top).then(|| self.ends(bottom, top))
    }

    /// A number that is said without digits.
    fn in_words(self, small: &str) -> Option<Ends> {
        let system = self.system_volts;
        let nothing = if self.either_sign { NOTHING_ACROSS_A_FUSE / system } else { NOTHING };
        let (low, high) = match (self.unit, small) {
            ("V", "full" | "full volts" | "battery" | "battery volts") => FULL,
            ("V", "nearly full" | "nearly battery" | "almost full" | "almost battery") => {
                (FULL.0 * (1.0 - NEARLY), FULL.0)
            }
            ("V", "nothing" | "none" | "no volts" | "nearly nothing") => (-nothing, nothing),
            ("ohm", "open" | "infinite" | "no continuity") => {
                return Some((Some(OPEN_OHMS), None));
            }
            // `Nothing` is no word for ohms: a meter that shows nothing has an open line.
            ("ohm", "short") => return Some((None, Some(JOINED_OHMS))),
            _ => return None,
        };
        Some(self.ends(low * system, high * system))
    }

    fn ends(self, low: f64, high: f64) -> Ends {
        (Some(low.max(self.least)), Some(high.min(self.most)))
    }
}

/// Least and most that was read, where they are known.
type Ends = (Option<f64>, Option<f64>);

/// A range of numbers as a person would say it: `9 to 11 V`, `over 5 V`.
pub fn said(least: Option<f64>, most: Option<f64>, unit: &str) -> String {
    let shown = |value: f64| number::shown(value, unit);
    match (least, most) {
        (Some(least), Some(most)) => format!("{} to {}", shown(least), shown(most)),
        (Some(least), None) => format!("over {}", shown(least)),
        (None, Some(most)) => format!("under {}", shown(most)),
        (None, None) => "any number".to_owned(),
    }
}
