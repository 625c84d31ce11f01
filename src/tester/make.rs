//! One test, and why it is refused.

use std::collections::BTreeSet;

use super::hunt::allowed;
use super::id::id;
use super::refusal::Refusal;
use super::shows::scale;
use super::{Target, Test, Tester};
use crate::circuit::{Circuit, Kind, PlaceId, TerminalId};
use crate::setup::Setup;
use crate::setup::wiring::positive_post;

/// The test, or why it is not done.
pub fn make(
    circuit: &Circuit,
    tester: Tester,
    target: Target,
    setup: &Setup,
) -> Result<Test, Refusal> {
    refuse(circuit, tester, target, setup)?;
    let mut places: BTreeSet<PlaceId> = setup.places(circuit).into_iter().collect();
    places.extend(allowed::place(circuit, tester, target));
    let mut minutes = tester.minutes() + allowed::more_minutes(circuit, tester, target);
    for terminal in touched(circuit, tester, target) {
        places.extend(circuit.graph[terminal].place);
        minutes += circuit.graph[terminal].reach_minutes;
    }
    Ok(Test {
        id: id(circuit, tester, target, setup),
        tester,
        target,
        setup: setup.clone(),
        minutes,
        places: places.into_iter().collect(),
        scale: scale(circuit, tester, target).ok_or(Refusal::Nothing)?,
    })
}

/// The terminals a person must get at, the clip included.
fn touched(circuit: &Circuit, tester: Tester, target: Target) -> Vec<TerminalId> {
    let mut list = match target {
        Target::Point(at) => vec![at],
        Target::Pair(a, b) => vec![a, b],
        Target::Part(_) | Target::Connector(_) => vec![],
    };
    if matches!(tester, Tester::LampPlus | Tester::LedPlus) {
        list.extend(positive_post(circuit));
    }
    list
}

fn refuse(circuit: &Circuit, tester: Tester, target: Target, setup: &Setup) -> Result<(), Refusal> {
    if tester == Tester::Ohms && !setup.ground_off {
        return Err(Refusal::OhmsLive);
    }
    if tester != Tester::Ohms && setup.ground_off {
        return Err(Refusal::Dead);
    }
    if let Target::Pair(a, b) = target {
        if a == b {
            return Err(Refusal::SamePoint);
        }
        if tester == Tester::LampAcross && across_heavy(circuit, a, b) {
            return Err(Refusal::LampAcrossHeavy);
        }
    }
    let seals = |at: &TerminalId| !circuit.graph[*at].probe;
    if touched(circuit, tester, target).iter().any(seals) {
        return Err(Refusal::Sealed);
    }
    allowed::refuse(circuit, tester, target, setup)?;
    if matches!(tester, Tester::Watch | Tester::Hear) && !setup.is_whole() {
        return Err(Refusal::NotWhole);
    }
    Ok(())
}

/// Both points belong to the heavy side: battery, starter and what heavy cables join.
fn across_heavy(circuit: &Circuit, a: TerminalId, b: TerminalId) -> bool {
    on_heavy(circuit, a) && on_heavy(circuit, b)
}

fn on_heavy(circuit: &Circuit, at: TerminalId) -> bool {
    circuit.graph.edges(at).any(|edge| {
        let kind = &circuit.parts[edge.weight().part.index()].kind;
        matches!(
            kind,
            Kind::Wire { heavy: true, .. } | Kind::Battery | Kind::StarterMotor | Kind::Strap
        )
    })
}
