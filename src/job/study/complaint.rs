//! What a work is seen by, and which suspects would have it fail.

use crate::circuit::{Circuit, Sight, Work};
use crate::setup::Setup;
use crate::suspect::{Lineup, Nature, Suspect};
use crate::tester::expectations::{Bench, BenchError};
use crate::tester::make::make;
use crate::tester::scale::Scale;
use crate::tester::shows::sense_for;
use crate::tester::{Target, Test};

/// A suspect that has the complaint seen more often than the sound circuit does (whose readings err too), by
/// this probability, can give rise to it; others are strangers to it.
const LIVE: f64 = 0.01;

/// Which suspects can give rise to the complaint.
pub(super) fn live(lineup: &Lineup, shows_complaint: &[f64], by_mistake: f64) -> Vec<bool> {
    let each = lineup.suspects.iter().zip(shows_complaint);
    let whatever = |one: &Suspect| matches!(one.nature, Nature::Sound | Nature::Outside);
    each.map(|(one, fails)| whatever(one) || *fails > by_mistake + LIVE).collect()
}

/// Probability under each suspect that `work` is seen to fail, and that it is of the sound circuit.
pub(super) fn fails(bench: &Bench, work: &Work) -> Result<(Vec<f64>, f64), BenchError> {
    let sights = sights(&bench.circuit, work);
    let tests: Vec<Test> = sights.iter().map(|(test, _)| test.clone()).collect();
    let columns = bench.columns(&tests)?;
    let comes_about = |suspect: usize| -> f64 {
        columns
            .iter()
            .zip(&sights)
            .map(|(column, (_, should))| column.likelihood[*should][suspect])
            .product()
    };
    let each = bench.lineup.suspects.iter().enumerate();
    let fails = each.map(|(at, suspect)| match suspect.nature {
        // What was wrong may have gone: the complaint was true when it was made.
        Nature::Sound | Nature::Outside => 1.0,
        Nature::Fault | Nature::Pair(..) => 1.0 - comes_about(at),
    });
    Ok((fails.collect(), 1.0 - comes_about(0)))
}

/// The tests by which a work is seen, and the outcome each should show.
pub fn sights(circuit: &Circuit, work: &Work) -> Vec<(Test, usize)> {
    let setup = Setup::for_work(circuit, work);
    let sight = |sight: &Sight| {
        let tester = sense_for(&circuit.parts[sight.part.index()].kind)?;
        let test = make(circuit, tester, Target::Part(sight.part), &setup).ok()?;
        let should = match (sight.acts, test.scale) {
            (false, _) => 0,
            (true, Scale::Click) => 1,
            (true, _) => 2,
        };
        Some((test, should))
    };
    work.see.iter().filter_map(sight).collect()
}
