//! What there is to show: plain words and shares, ready for a screen, a line printer or a card.

use crate::circuit::{PartId, TerminalId};

/// How a job stands after its last event.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// What to do now.
    pub step: Step,
    /// The suspects, likeliest first, those under one share in a thousand left out.
    pub suspects: Vec<SuspectLine>,
    /// What was found so far, oldest first.
    pub found: Vec<FoundLine>,
    /// The circuit by its current paths, supply first.
    pub paths: Vec<Path>,
    /// How the machine stands now, in words: `key on, button released, C2 parted`.
    pub setup: String,
    /// Minutes reckoned for what was done so far.
    pub minutes_spent: f64,
    /// Minutes expected from here to a proven repair.
    pub minutes_left: f64,
    /// Something does not fit: what, and what to do about it.
    pub surprise: Option<String>,
}

/// What to do now.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Take a reading.
    Test(TestStep),
    /// Do a repair and check it.
    Fix(FixStep),
    /// The repair is proven.
    Cured(Ending),
    /// No test and no fix is left that would pay.
    Stuck(Ending),
}

/// A reading to take.
#[derive(Debug, Clone, PartialEq)]
pub struct TestStep {
    /// The test's id.
    pub id: String,
    /// In one line: `Lamp, clipped to ground, on the solenoid's motor stud`.
    pub title: String,
    /// Read before anything else.
    pub cautions: Vec<String>,
    /// What to change from the present setup, one line each, in a safe order; then where to clip and touch.
    pub doing: Vec<String>,
    /// What to look at or listen to.
    pub watch: String,
    /// What a sound machine reads: `Sound: 11.6 to 12.4 V.`
    pub sound: Option<String>,
    /// What books allow: `Published: at most 0.24 V (FAA AC 43.13-1B par. 11-66).`
    pub published: Option<String>,
    /// What can be seen, most useful order for a person (lit, dim, dark).
    pub outcomes: Vec<OutcomeLine>,
    /// A number may be typed.
    pub number: Option<NumberEntry>,
    /// Minutes this step adds.
    pub minutes: f64,
    /// Why this one, one line each.
    pub why: Vec<String>,
    /// The points it touches.
    pub points: Vec<TerminalId>,
}

/// One thing that can be seen.
#[derive(Debug, Clone, PartialEq)]
pub struct OutcomeLine {
    /// One key: unique within the step, never one of the screen's own keys (see `RESERVED_KEYS`).
    pub key: char,
    /// Its id: `lit`.
    pub id: String,
    /// In words: `lamp lights brightly`.
    pub words: String,
    /// How likely it is now, 0 to 1.
    pub probability: f64,
    /// What it would mean: `points to the button side (C2, start button, bar ground)`.
    pub meaning: String,
}

/// Keys which outcomes may not use, because screens do.
pub const RESERVED_KEYS: &str = "?qunwstjkhrvm";

/// A number that may be typed.
#[derive(Debug, Clone, PartialEq)]
pub struct NumberEntry {
    /// `V`, `ohm` or `A`.
    pub unit: &'static str,
    /// Below this it cannot be.
    pub least: f64,
    /// Above this it cannot be.
    pub most: f64,
    /// Numbers that the suspects, as they stand now, could show: least and most of each stretch. A number
    /// outside all of them is asked about before it is kept. Empty: nothing is asked.
    pub likely: Vec<(f64, f64)>,
    /// The sign says nothing here: the leads may be on the other way round.
    pub either_sign: bool,
    /// Nominal volts of the machine, for who says `full` or `nothing`.
    pub system_volts: f64,
}

impl NumberEntry {
    /// Hardly any suspect would show this number.
    pub fn is_odd(&self, number: f64) -> bool {
        let number = if self.either_sign { number.abs() } else { number };
        let within = |(least, most): &(f64, f64)| (*least..=*most).contains(&number);
        !self.likely.is_empty() && !self.likely.iter().any(within)
    }

    /// The same for a number that lies somewhere between two.
    pub fn is_odd_between(&self, least: Option<f64>, most: Option<f64>) -> bool {
        let (mut low, mut high) =
            (least.unwrap_or(f64::NEG_INFINITY), most.unwrap_or(f64::INFINITY));
        if self.either_sign && high <= 0.0 {
            (low, high) = (-high, -low);
        } else if self.either_sign && low < 0.0 {
            low = 0.0;
        }
        let meets = |(from, to): &(f64, f64)| low <= *to && high >= *from;
        !self.likely.is_empty() && !self.likely.iter().any(meets)
    }
}

/// A repair to do, with the check that proves it.
#[derive(Debug, Clone, PartialEq)]
pub struct FixStep {
    /// The fix's id.
    pub id: String,
    /// In one line: `Clean the start button's contacts`.
    pub title: String,
    /// How sure it is that this cures, 0 to 1.
    pub probability: f64,
    /// Read before anything else.
    pub cautions: Vec<String>,
    /// What to have at hand, one thing an entry: `fuse of 15 A for the main fuse: never a larger one`.
    pub parts: Vec<String>,
    /// What to do, one line each, in a safe order.
    pub doing: Vec<String>,
    /// How to prove it afterwards, one line each.
    pub proof: Vec<String>,
    /// Minutes for the repair and its check.
    pub minutes: f64,
    /// Why this one now.
    pub why: Vec<String>,
    /// The part it is done to.
    pub part: PartId,
}

/// How a job ended.
#[derive(Debug, Clone, PartialEq)]
pub struct Ending {
    /// In one line: `Start button: dirty contacts. Cleaned; the starter turns.`
    pub title: String,
    /// What it rests on, or what is known and what it would need.
    pub lines: Vec<String>,
    /// What to put back before the machine is handed over, in a safe order.
    pub put_back: Vec<String>,
}

/// One suspect with its share.
#[derive(Debug, Clone, PartialEq)]
pub struct SuspectLine {
    /// Its id.
    pub id: String,
    /// The part's name.
    pub part: String,
    /// Its fault in words: `contacts dirty, about 100 ohm`.
    pub fault: String,
    /// The fix that cures it, in words.
    pub fix: String,
    /// 0 to 1.
    pub probability: f64,
}

/// One thing found.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundLine {
    /// Number of the step, from 1.
    pub number: usize,
    /// What was done: `lamp to ground, solenoid motor stud, key on, button held`.
    pub what: String,
    /// The same where there is one line for it: `Lamp to ground: solenoid, motor`.
    pub brief: String,
    /// What was seen: `dark`, `11.8 V`, `skipped: cannot reach`.
    pub seen: String,
}

/// One current path from the supply to ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// What flows here: `control` or `main current`, or the load's name.
    pub name: String,
    /// From supply to ground.
    pub rows: Vec<PathRow>,
}

/// One part on a path.
#[derive(Debug, Clone, PartialEq)]
pub struct PathRow {
    /// The part.
    pub part: PartId,
    /// Its name, short: `start button`, `BU/WH`.
    pub name: String,
    /// Where it is reached: `headlamp shell`.
    pub place: String,
    /// It is a wire, pin or ground (drawn thin), not a device.
    pub thin: bool,
    /// Share of the suspicion on it, 0 to 1.
    pub suspicion: f64,
    /// What the present step holds to the point before this part (toward the supply).
    pub before: Held,
    /// A probe point of the present step lies behind this part (toward ground).
    pub probe_behind: bool,
    /// What is on its supply side in the step's setup, if the circuit were sound.
    pub charge: Charge,
    /// Volts there; those of a point afloat say nothing.
    pub volts: f64,
}

/// What is held to a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// Nothing.
    Nothing,
    /// The clip of a lamp that is touched to another point.
    Clip,
    /// What is read.
    Probe,
}

/// What a sound conductor has on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charge {
    /// Volts.
    Live,
    /// It is held at the frame's.
    Ground,
    /// Nothing holds it: a meter's reading would wander.
    Afloat,
}

impl Charge {
    /// `live`, `ground`, `afloat`.
    pub fn word(self) -> &'static str {
        match self {
            Charge::Live => "live",
            Charge::Ground => "ground",
            Charge::Afloat => "afloat",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_is_odd_where_no_likely_number_lies_in_it() {
        let mut entry = NumberEntry {
            unit: "V",
            least: -18.0,
            most: 18.0,
            likely: vec![(0.0, 1.0), (10.0, 13.0)],
            either_sign: false,
            system_volts: 12.0,
        };
        assert!(entry.is_odd_between(Some(2.0), Some(9.0)));
        assert!(entry.is_odd_between(None, Some(-0.5)));
        assert!(!entry.is_odd_between(Some(9.0), Some(11.0)));
        assert!(!entry.is_odd_between(Some(9.0), None));
        entry.either_sign = true;
        assert!(!entry.is_odd_between(Some(-11.0), Some(-10.0)));
        assert!(entry.is_odd_between(Some(-9.0), Some(-2.0)));
        assert!(!entry.is_odd_between(Some(-9.0), Some(2.0)));
    }
}
