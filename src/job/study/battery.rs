//! The battery's volts at rest, once somebody has measured them: the one thing about a sound machine that a
//! person can simply find out, and that nearly all readings depend on.

use crate::circuit::{Circuit, Kind};
use crate::job::event::{Answer, Event};
use crate::setup::Setup;
use crate::setup::wiring::{negative_post, positive_post};
use crate::tester::make::make;
use crate::tester::{Target, Test, Tester, name};

/// Least and most volts, as shares of the system's, that a battery can have at rest.
const POSSIBLE: (f64, f64) = (0.4, 1.15);

/// The same for a reading to be taken for the battery's own volts: below, the way to the frame may be bad.
const PLAUSIBLE: (f64, f64) = (0.8, 1.1);

/// Least and most volts of this circuit's battery at rest.
pub fn possible_volts(circuit: &Circuit) -> (f64, f64) {
    (POSSIBLE.0 * circuit.system_volts, POSSIBLE.1 * circuit.system_volts)
}

/// The test that measures it: a meter across its posts, nothing switched on. `None` without a battery.
pub fn test(circuit: &Circuit) -> Option<Test> {
    circuit.parts.iter().find(|part| part.kind == Kind::Battery)?;
    let posts = Target::Pair(positive_post(circuit)?, negative_post(circuit)?);
    make(circuit, Tester::Drop, posts, &Setup::rest(circuit)).ok()
}

/// The volts that the latest of these events gives the battery.
pub fn measured(circuit: &Circuit, events: &[&Event]) -> Option<f64> {
    events.iter().rev().find_map(|event| of_event(circuit, event))
}

/// The volts that an event gives the battery at rest, if it does.
pub fn of_event(circuit: &Circuit, event: &Event) -> Option<f64> {
    match event {
        Event::Battery { volts } => Some(*volts),
        Event::Reading { test, answer: Answer::Number(volts) } => {
            let share = volts / circuit.system_volts;
            let plausible = (PLAUSIBLE.0..=PLAUSIBLE.1).contains(&share);
            (plausible && measures(circuit, test)).then_some(*volts)
        }
        _ => None,
    }
}

/// Whether a test reads the battery's own volts.
fn measures(circuit: &Circuit, id: &str) -> bool {
    // Most ids are told by their first word, which is cheaper than to read them.
    let may = [Tester::Volts, Tester::Drop].iter().any(|tester| id.starts_with(tester.id()));
    let Some(test) = may.then(|| name::parse(circuit, id).ok()).flatten() else { return false };
    let (plus, minus) = (positive_post(circuit), negative_post(circuit));
    let at_posts = match test.target {
        Target::Point(at) => Some(at) == plus,
        Target::Pair(a, b) => Some(a) == plus && Some(b) == minus,
        _ => false,
    };
    at_posts
        && matches!(test.tester, Tester::Volts | Tester::Drop)
        && test.setup == Setup::rest(circuit)
        && circuit.parts.iter().any(|part| part.kind == Kind::Battery)
}
