//! Which motors may turn in a setup, and which hand on the machine makes them.

use std::sync::Arc;

use super::Study;
use crate::circuit::{Circuit, Kind, PartId};
use crate::setup::Setup;
use crate::tester::expectations::Column;
use crate::tester::make::make;
use crate::tester::{Target, Test, Tester};

/// A starter turns in this setup when all is sound, or under a suspect that is not negligible.
pub fn may_turn(study: &Study, setup: &Setup, belief: &[f64]) -> bool {
    turning(study, setup, belief, &Kind::StarterMotor).next().is_some()
}

/// Whether going from one setup to another may make an engine turn: when all is sound, or under a suspect that
/// is not negligible, and not before under the same.
pub fn may_start(study: &Study, before: &Setup, next: &Setup, belief: &[f64]) -> bool {
    let circuit = study.circuit();
    let starters = of_kind(circuit, &Kind::StarterMotor);
    let under = |setup| turns_under(study, setup, belief, &starters);
    under(before).into_iter().zip(under(next)).any(|both| match both {
        (Some(before), Some(next)) => next.iter().any(|at| !before.contains(at)),
        (None, Some(next)) => !next.is_empty(),
        // Where it cannot be reckoned, it may.
        (_, None) => true,
    })
}

/// The motors of a kind that turn in this setup when all is sound, or under a suspect that is not negligible.
pub(in crate::job) fn turning(
    study: &Study,
    setup: &Setup,
    belief: &[f64],
    kind: &Kind,
) -> impl Iterator<Item = PartId> {
    let motors = of_kind(study.circuit(), kind);
    let under = turns_under(study, setup, belief, &motors);
    // Where it cannot be reckoned, it may.
    let turns = |under: Option<Vec<usize>>| under.is_none_or(|under| !under.is_empty());
    motors.into_iter().zip(under).filter_map(move |(part, under)| turns(under).then_some(part))
}

fn of_kind(circuit: &Circuit, kind: &Kind) -> Vec<PartId> {
    circuit.part_ids().filter(|part| circuit.part(*part).kind == *kind).collect()
}

/// Under which suspects that are not negligible each of these motors turns, the sound circuit among them; `None`
/// where that cannot be reckoned.
fn turns_under(
    study: &Study,
    setup: &Setup,
    belief: &[f64],
    motors: &[PartId],
) -> Vec<Option<Vec<usize>>> {
    if setup.ground_off || !setup.lifted.is_empty() {
        return vec![Some(Vec::new()); motors.len()];
    }
    let mut whole = setup.clone();
    whole.parted.clear();
    let look = |&part| make(study.circuit(), Tester::Watch, Target::Part(part), &whole).ok();
    let looks: Vec<Option<Test>> = motors.iter().map(look).collect();
    let known: Vec<Test> = looks.iter().flatten().cloned().collect();
    let mut columns = study.columns_of(&known).unwrap_or_default().into_iter();
    let under = |column: Arc<Column>| {
        let under = column.shown.iter().zip(belief).enumerate();
        let under = under
            .filter(|(at, (shown, share))| (*at == 0 || **share > 0.001) && shown.level > 0.05);
        under.map(|(at, _)| at).collect()
    };
    looks.iter().map(|look| look.as_ref().and_then(|_| columns.next()).map(under)).collect()
}
