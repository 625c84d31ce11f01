//! What is wrong with a circuit that reads well, found by reckoning it through: `check` tells it.
//!
//! `apart` names suspects that no test tells from each other, which takes longer and is asked for.

pub mod apart;

use crate::circuit::catalogue::ampacity::{MOST_LOST, carries_amps};
use crate::circuit::read::draft::Origins;
use crate::circuit::{Circuit, Element, Kind, PartId};
use crate::electric::{Case, SolveError, Solver};
use crate::job::study::complaint::sights;
use crate::problem::Problem;
use crate::quantity::{Unit, show};
use crate::setup::Setup;
use crate::setup::wiring::Wiring;
use crate::suspect::Lineup;
use crate::tester::expectations::{Bench, BenchError};

/// A coil with less than this share of its pull-in amperes is not meant to pull in.
const MEANT: f64 = 0.25;

/// All that the sound circuit's own state tells: wires, relays, works.
pub fn findings(circuit: &Circuit, origins: &Origins) -> Vec<Problem> {
    let mut problems = Vec::new();
    match states(circuit) {
        Ok(states) => {
            wires(circuit, origins, &states, &mut problems);
            relays(circuit, origins, &states, &mut problems);
        }
        Err(error) => problems.extend(unsolved(origins, &error.to_string())),
    }
    match works(circuit, origins) {
        Ok(found) => problems.extend(found),
        Err(error) => problems.extend(unsolved(origins, &error.to_string())),
    }
    problems.dedup_by(|a, b| a.message == b.message);
    problems.sort_by_key(Problem::order);
    problems
}

fn unsolved(origins: &Origins, error: &str) -> Option<Problem> {
    let span = origins.works.first().or(origins.parts.first())?;
    Some(
        Problem::warning("no-solution", span, error)
            .help("is a value far from what such parts have?"),
    )
}

/// The sound circuit in the setup of one work.
struct State {
    /// Amperes by link.
    amps: Vec<f64>,
    /// By part: its armature is pulled in; `None` without one.
    pulled: Vec<Option<bool>>,
    /// By part: amperes of its coil over those it pulls in with.
    drive: Vec<f64>,
}

fn states(circuit: &Circuit) -> Result<Vec<State>, SolveError> {
    circuit
        .works
        .iter()
        .map(|work| {
            let wiring = Wiring::new(circuit, &Setup::for_work(circuit, work));
            let solver = Solver::new(&wiring.network)?;
            let case = solver.case(&[])?;
            Ok(state(circuit, &wiring, &case))
        })
        .collect()
}

fn state(circuit: &Circuit, wiring: &Wiring, case: &Case<'_>) -> State {
    let amps: Vec<f64> =
        circuit.link_ids().map(|link| case.branch_amps(wiring.branch(link)).abs()).collect();
    let pulled = circuit.part_ids().map(|part| wiring.relay(part).map(|relay| case.pulled(relay)));
    let drive = circuit.parts.iter().map(|part| {
        let coils = part.links.iter().filter_map(|link| match circuit.link(*link).element {
            Element::Coil { ohms, pull_in_volts, .. } => {
                Some((amps[link.index()], pull_in_volts / ohms))
            }
            _ => None,
        });
        let (flows, needs) = coils.fold((0.0, 0.0), |sum, coil| (sum.0 + coil.0, sum.1 + coil.1));
        if needs > 0.0 { flows / needs } else { 0.0 }
    });
    let (pulled, drive) = (pulled.collect(), drive.collect());
    State { amps, pulled, drive }
}

/// Wires that carry more than they may, or lose more than they should; those that crank are left out.
fn wires(circuit: &Circuit, origins: &Origins, states: &[State], problems: &mut Vec<Problem>) {
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        let Kind::Wire { area_mm2, heavy: false, .. } = part.kind else { continue };
        let Some(link) = part.links.first() else { continue };
        let Element::Resistance { ohms } = circuit.link(*link).element else { continue };
        let most = states.iter().map(|state| state.amps[link.index()]).fold(0.0, f64::max);
        let carries = carries_amps(area_mm2);
        let lost = most * ohms / circuit.system_volts;
        let span = &origins.parts[id.index()];
        let size = show(area_mm2, Unit::Area);
        if most > carries {
            let message = format!("`{}` ({size}) carries {}", part.name, show(most, Unit::Amps));
            problems.push(Problem::warning("wire-too-thin", span, message).help(format!(
                "a wire of this size may carry {carries:.0} A for good (33 CFR 183.425); is `size` right?"
            )));
        } else if lost > MOST_LOST {
            let message = format!(
                "`{}` ({size}) loses {} of {}",
                part.name,
                show(most * ohms, Unit::Volts),
                show(circuit.system_volts, Unit::Volts)
            );
            problems.push(Problem::warning("wire-too-thin", span, message).help(
                "more than a tenth is lost on this wire alone: are `size` and `length` right?",
            ));
        }
    }
}

/// Relays that are fed but never pull in.
fn relays(circuit: &Circuit, origins: &Origins, states: &[State], problems: &mut Vec<Problem>) {
    for id in circuit.part_ids() {
        let index = id.index();
        let has_armature = states.first().is_some_and(|state| state.pulled[index].is_some());
        let is_relay = matches!(circuit.part(id).kind, Kind::Relay | Kind::Solenoid);
        if !has_armature
            || !is_relay
            || states.iter().any(|state| state.pulled[index] == Some(true))
        {
            continue;
        }
        let drive = states.iter().map(|state| state.drive[index]).fold(0.0, f64::max);
        if drive > MEANT {
            problems.push(weak(circuit, origins, id, drive));
        }
    }
}

fn weak(circuit: &Circuit, origins: &Origins, id: PartId, drive: f64) -> Problem {
    let part = circuit.part(id);
    let message = format!(
        "`{}` cannot pull in: at most it gets {:.0} % of the amperes it takes",
        part.name,
        drive * 100.0
    );
    Problem::warning("relay-too-weak", &origins.parts[id.index()], message)
        .help("compare `coil` and `pull_in` with the parts in series with it")
}

/// Works that the sound circuit does not do.
fn works(circuit: &Circuit, origins: &Origins) -> Result<Vec<Problem>, BenchError> {
    let circuit = std::sync::Arc::new(circuit.clone());
    let sound = std::sync::Arc::new(Lineup::of(&circuit).only(&[]));
    let bench = Bench::new(&circuit, sound)?;
    let mut problems = Vec::new();
    for (work, span) in circuit.works.iter().zip(&origins.works) {
        for (sight, (test, should)) in work.see.iter().zip(sights(&circuit, work)) {
            let column = bench.column_of(&test)?;
            let shows = column.likeliest(0);
            if shows == should {
                continue;
            }
            let seen = &column.outcomes[shows].words;
            let message = format!(
                "`{}` does not come true in the sound circuit: the {} is seen as `{seen}`",
                work.name,
                circuit.part(sight.part).name
            );
            problems.push(Problem::warning("work-not-true", span, message).help(format!(
                "with {}: follow the current, or correct `when` or `see`",
                test.setup.words(&circuit)
            )));
        }
    }
    Ok(problems)
}
