//! Which motors may turn in a setup, and which hand on the machine makes them.

use super::study::Study;
use crate::circuit::{Kind, PartId};
use crate::setup::Setup;
use crate::tester::enumerate::make;
use crate::tester::{Target, Tester};

/// A starter turns in this setup when all is sound, or under a suspect that is not negligible.
pub fn may_turn(study: &Study, setup: &Setup, belief: &[f64]) -> bool {
    turning(study, setup, belief, &Kind::StarterMotor).next().is_some()
}

/// Whether going from one setup to another may make an engine turn: when all is sound, or under a suspect that
/// is not negligible, and not before under the same.
pub fn may_start(study: &Study, before: &Setup, next: &Setup, belief: &[f64]) -> bool {
    let circuit = study.circuit();
    let mut starters =
        circuit.part_ids().filter(|part| circuit.part(*part).kind == Kind::StarterMotor);
    starters.any(|part| {
        let under = |setup| turns_under(study, setup, belief, part);
        match (under(before), under(next)) {
            (Some(before), Some(next)) => next.iter().any(|at| !before.contains(at)),
            (None, Some(next)) => !next.is_empty(),
            // Where it cannot be reckoned, it may.
            (_, None) => true,
        }
    })
}

/// The motors of a kind that turn in this setup when all is sound, or under a suspect that is not negligible.
pub(super) fn turning<'a>(
    study: &'a Study,
    setup: &'a Setup,
    belief: &'a [f64],
    kind: &'a Kind,
) -> impl Iterator<Item = PartId> + use<'a> {
    let circuit = study.circuit();
    let of_kind = move |part: &PartId| circuit.part(*part).kind == *kind;
    // Where it cannot be reckoned, it may.
    let turns =
        move |part| turns_under(study, setup, belief, part).is_none_or(|under| !under.is_empty());
    circuit.part_ids().filter(of_kind).filter(move |&part| turns(part))
}

/// Under which suspects that are not negligible a motor turns, the sound circuit among them; `None` where that
/// cannot be reckoned.
fn turns_under(study: &Study, setup: &Setup, belief: &[f64], part: PartId) -> Option<Vec<usize>> {
    if setup.ground_off || !setup.lifted.is_empty() {
        return Some(Vec::new());
    }
    let mut whole = setup.clone();
    whole.parted.clear();
    let test = make(study.circuit(), Tester::Watch, Target::Part(part), &whole).ok()?;
    let column = study.column(&test).ok()?;
    let under = column.shown.iter().zip(belief).enumerate();
    let under =
        under.filter(|(at, (shown, share))| (*at == 0 || **share > 0.001) && shown.level > 0.05);
    Some(under.map(|(at, _)| at).collect())
}
