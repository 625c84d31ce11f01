//! What a sound machine of this kind reads, and the limits published for such a reading.
//!
//! The first is reckoned from the circuit and its tolerances; the second is what books allow, for whatever
//! machine. They are shown beside each other: a reading within a book's limit may still be off for this
//! circuit. Every limit has its words in `tests/data/tolerance/limits.yaml`, and a test holds both together.

use super::expectations::Column;
use super::scale::{OVERLOAD_LEVEL, Scale};
use super::{Target, Tester};
use crate::circuit::{Circuit, Element, Kind, LinkId, TerminalId};
use crate::setup::Setup;
use crate::setup::wiring::{negative_post, positive_post};

/// Deviations on either side that hold 95 readings of a hundred.
const DEVIATIONS: f64 = 1.96;
/// Less is no current worth a limit.
const LEAST_VOLTS: f64 = 1e-3;
/// More than this share of the system's volts is no loss but a gap, as over an open switch.
const GAP_SHARE: f64 = 0.25;

/// A published limit, as its source has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Its name in the data file.
    pub id: &'static str,
    /// How much.
    pub amount: Amount,
    /// What it is said of.
    pub about: &'static str,
    /// Who says so.
    pub source: &'static str,
}

/// How much is allowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// At most so many volts lost, in any system.
    Volts(f64),
    /// At most this share of the system's volts lost.
    Share(f64),
    /// At most so many volts lost per ampere.
    VoltsPerAmp(f64),
    /// At least so many volts of a 12 V system, others in proportion.
    AtLeast(f64),
}

/// From the battery's plus post to a starter's switch.
pub const POSITIVE_CABLE: Rule = Rule {
    id: "tm-fork-positive-0p4",
    amount: Amount::Volts(0.4),
    about: "from the battery's plus post to the starter's switch, cranking",
    source: "US Army TM 10-3930-671-24",
};
/// Any piece of a start circuit.
pub const START_PIECE: Rule = Rule {
    id: "tm-fork-0p2-per-100a",
    amount: Amount::VoltsPerAmp(0.2 / 100.0),
    about: "0.2 V per 100 A in a start circuit",
    source: "US Army TM 10-3930-671-24",
};
/// A negative post to the frame, with current enough for a starter.
pub const POST_TO_FRAME: Rule = Rule {
    id: "tm-5ton-frame-0p1",
    amount: Amount::Volts(0.1),
    about: "from the battery's minus post to the frame, cranking",
    source: "US Army TM 9-2320-211-20, a 24 V truck",
};
/// The same in a system of fewer volts, and so more amperes.
pub const GROUND_SIDE: Rule = Rule {
    id: "practice-start-ground-side",
    amount: Amount::Volts(0.3),
    about: "the whole ground side, cranking",
    source: "common practice, from memory",
};
/// Contacts of a relay.
pub const RELAY_CONTACT: Rule = Rule {
    id: "relay-te-b-contacts",
    amount: Amount::VoltsPerAmp(0.2 / 10.0),
    about: "0.2 V at 10 A over a relay's contacts",
    source: "a relay maker's data",
};
/// From a source to where it is shared out.
pub const MAIN_FEED: Rule = Rule {
    id: "ac4313-main-2pct",
    amount: Amount::Share(0.02),
    about: "from the battery to where it is shared out",
    source: "FAA AC 43.13-1B par. 11-66",
};
/// All conductors of a light circuit.
pub const ALL_CONDUCTORS: Rule = Rule {
    id: "abyc-3-10",
    amount: Amount::Share(0.03),
    about: "all conductors of a circuit that has to work",
    source: "ABYC E-11",
};
/// The ground of a light circuit.
pub const LIGHT_GROUND: Rule = Rule {
    id: "practice-lighting-ground",
    amount: Amount::Volts(0.1),
    about: "the ground of a light circuit",
    source: "common practice, from memory",
};
/// A battery while it cranks.
pub const CRANKING: Rule = Rule {
    id: "crank-9p6",
    amount: Amount::AtLeast(9.6),
    about: "a battery while it cranks",
    source: "US Army TM 10-3930-671-24",
};

/// All of them.
pub const RULES: [Rule; 9] = [
    POSITIVE_CABLE,
    START_PIECE,
    POST_TO_FRAME,
    GROUND_SIDE,
    RELAY_CONTACT,
    MAIN_FEED,
    ALL_CONDUCTORS,
    LIGHT_GROUND,
    CRANKING,
];

/// A published limit, for one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Published {
    /// What it rests on.
    pub rule: Rule,
    /// In volts, for this circuit.
    pub volts: f64,
}

impl Published {
    /// At least `volts`; otherwise at most.
    pub fn is_floor(&self) -> bool {
        matches!(self.rule.amount, Amount::AtLeast(_))
    }

    /// `at most 0.24 V (FAA AC 43.13-1B par. 11-66)`.
    pub fn words(&self) -> String {
        let bound = if self.is_floor() { "at least" } else { "at most" };
        format!("{bound} {} V ({})", short(self.volts), self.rule.source)
    }
}

/// Between which numbers 95 readings of a hundred lie when all is sound, in the test's unit; `None` where
/// a person sees no number, or a meter shows none.
pub fn sound_numbers(column: &Column) -> Option<(f64, f64)> {
    let shown = column.shown.first()?;
    let scale = column.test.scale;
    column.test.tester.unit()?;
    if scale == Scale::Ohms && shown.level >= OVERLOAD_LEVEL {
        return None;
    }
    let reach = DEVIATIONS * shown.spread.hypot(scale.blur(shown.level));
    Some((scale.number_shown(shown.level - reach), scale.number_shown(shown.level + reach)))
}

/// The fewest outcomes, by their positions, of which one is seen in 95 readings of a hundred when all is
/// sound.
pub fn sound_outcomes(column: &Column) -> Vec<usize> {
    let chance = |outcome: usize| column.likelihood[outcome].first().copied().unwrap_or(0.0);
    let mut order: Vec<usize> = (0..column.outcomes.len()).collect();
    order.sort_by(|&a, &b| chance(b).total_cmp(&chance(a)));
    let mut sum = 0.0;
    let mut likely: Vec<usize> = order
        .into_iter()
        .take_while(|&outcome| {
            let more = sum < 0.95;
            sum += chance(outcome);
            more
        })
        .collect();
    likely.sort_unstable();
    likely
}

/// `11.6 to 12.4 V`; `None` as for the numbers.
pub fn sound_words(column: &Column) -> Option<String> {
    let (low, high) = sound_numbers(column)?;
    let unit = column.test.tester.unit()?;
    Some(match column.test.scale {
        Scale::Millivolts => format!("{} to {} mV", short(1000.0 * low), short(1000.0 * high)),
        _ => format!("{} to {} {unit}", short(low), short(high)),
    })
}

/// Three digits, two decimals at most.
fn short(number: f64) -> String {
    let text = match number.abs() {
        size if size >= 100.0 => format!("{number:.0}"),
        size if size >= 10.0 => format!("{number:.1}"),
        _ => format!("{number:.2}"),
    };
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// The limit published for such a reading, where one is and the sound circuit has the current for it.
pub fn published(circuit: &Circuit, column: &Column) -> Option<Published> {
    let test = &column.test;
    let level = column.shown.first()?.level;
    let (rule, amps) = match (test.tester, test.target) {
        (Tester::Volts | Tester::OldVolts, Target::Point(at)) => {
            (Some(at) == positive_post(circuit) && cranks(circuit, &test.setup))
                .then_some((CRANKING, 0.0))?
        }
        (Tester::Drop | Tester::OldDrop, Target::Pair(a, b))
            if (LEAST_VOLTS..GAP_SHARE * circuit.system_volts).contains(&level.abs()) =>
        {
            of_drop(circuit, (a, b), &test.setup, level)?
        }
        _ => return None,
    };
    let volts = match rule.amount {
        Amount::Volts(volts) => volts,
        Amount::Share(share) => share * circuit.system_volts,
        Amount::VoltsPerAmp(ohms) => ohms * amps,
        Amount::AtLeast(volts) => volts * circuit.system_volts / 12.0,
    };
    Some(Published { rule, volts })
}

/// The rule for a drop between two points, and the amperes between them when all is sound.
fn of_drop(
    circuit: &Circuit,
    (a, b): (TerminalId, TerminalId),
    setup: &Setup,
    level: f64,
) -> Option<(Rule, f64)> {
    let cranks = cranks(circuit, setup);
    if [a, b].contains(&circuit.chassis) && [Some(a), Some(b)].contains(&negative_post(circuit)) {
        return Some(match (cranks, circuit.system_volts > 18.0) {
            (true, true) => (POST_TO_FRAME, 0.0),
            (true, false) => (GROUND_SIDE, 0.0),
            (false, _) => (LIGHT_GROUND, 0.0),
        });
    }
    let (link, _) = circuit.links_at(a).into_iter().find(|(_, other)| *other == b)?;
    let (Element::Resistance { ohms } | Element::Contact { ohms, .. } | Element::Fuse { ohms, .. }) =
        circuit.link(link).element
    else {
        return None;
    };
    let rule = of_link(circuit, link, (a, b), cranks)?;
    Some((rule, if ohms > 0.0 { level.abs() / ohms } else { 0.0 }))
}

fn of_link(
    circuit: &Circuit,
    link: LinkId,
    ends: (TerminalId, TerminalId),
    cranks: bool,
) -> Option<Rule> {
    let owner = circuit.link(link).part;
    let part = circuit.part(owner);
    let at = |post: Option<TerminalId>| post == Some(ends.0) || post == Some(ends.1);
    let heavy = matches!(part.kind, Kind::Wire { heavy: true, .. }) || circuit.carries_heavy(owner);
    let is_contact = matches!(circuit.link(link).element, Element::Contact { .. });
    Some(match part.kind {
        Kind::Wire { .. } if heavy && cranks && at(positive_post(circuit)) => POSITIVE_CABLE,
        Kind::Wire { .. } | Kind::Strap | Kind::GroundPoint | Kind::Pin { .. }
            if heavy && cranks =>
        {
            START_PIECE
        }
        Kind::Solenoid | Kind::Relay if is_contact && heavy && cranks => START_PIECE,
        Kind::Relay if is_contact => RELAY_CONTACT,
        Kind::GroundPoint | Kind::Strap => LIGHT_GROUND,
        _ if circuit.link(link).role == "body joint" => LIGHT_GROUND,
        Kind::Wire { .. } if at(positive_post(circuit)) => MAIN_FEED,
        Kind::Wire { .. } | Kind::Pin { .. } | Kind::Switch { .. } | Kind::Fuse => ALL_CONDUCTORS,
        _ => return None,
    })
}

/// A starter turns in this setup when all is sound.
fn cranks(circuit: &Circuit, setup: &Setup) -> bool {
    circuit.works.iter().any(|work| {
        let starts = |sight: &crate::circuit::Sight| {
            sight.acts && circuit.part(sight.part).kind == Kind::StarterMotor
        };
        work.see.iter().any(starts) && Setup::for_work(circuit, work) == *setup
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        let all = [0.0, -0.001, 0.036, 11.64, 12.0, 123.4, -0.25].map(short);
        assert_eq!(all, ["0", "0", "0.04", "11.6", "12", "123", "-0.25"]);
    }
}
