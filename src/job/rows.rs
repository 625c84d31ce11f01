//! The current paths as rows for a screen.

use crate::circuit::{Circuit, Kind, PartId, TerminalId};
use crate::electric::Solver;
use crate::setup::Setup;
use crate::setup::wiring::{Wiring, positive_post};
use crate::suspect::SuspectId;

use super::paths::ways;
use super::standing::{Path, PathRow};
use super::study::Study;

/// Volts above which a point counts as energised, as a share of the system's.
const ENERGISED: f64 = 0.1;

/// The paths of the complaint's work, with the suspicion on each part, the probe points of a step and
/// what is energised in `setup` when all is sound.
pub fn paths(study: &Study, belief: &[f64], points: &[TerminalId], setup: &Setup) -> Vec<Path> {
    let circuit = study.circuit();
    let suspicion = by_part(study, belief);
    let live = energised(circuit, setup);
    ways(circuit, &study.check_setup())
        .into_iter()
        .map(|way| {
            let mut before = positive_post(circuit);
            let rows = way
                .links
                .iter()
                .map(|&(link, behind)| {
                    let part = circuit.graph[link].part;
                    let row = PathRow {
                        part,
                        name: short_name(circuit, part),
                        place: place_name(circuit, part),
                        thin: is_thin(&circuit.parts[part.index()].kind),
                        suspicion: suspicion[part.index()],
                        probe_before: before.is_some_and(|at| points.contains(&at)),
                        probe_behind: points.contains(&behind),
                        energised: before.is_some_and(|at| live[at.index()]),
                    };
                    before = Some(behind);
                    row
                })
                .collect();
            Path { name: circuit.parts[way.load.index()].name.clone(), rows }
        })
        .collect()
}

fn by_part(study: &Study, belief: &[f64]) -> Vec<f64> {
    let mut shares = vec![0.0; study.circuit().parts.len()];
    for (at, share) in belief.iter().enumerate() {
        for part in study.lineup().parts_of(SuspectId(at as u32)) {
            shares[part.index()] += share;
        }
    }
    shares
}

fn energised(circuit: &Circuit, setup: &Setup) -> Vec<bool> {
    let dark = vec![false; circuit.graph.node_count()];
    let wiring = Wiring::new(circuit, setup);
    let Ok(solver) = Solver::new(&wiring.network) else { return dark };
    let Ok(case) = solver.case(&[]) else { return dark };
    let least = ENERGISED * circuit.system_volts;
    circuit
        .graph
        .node_indices()
        .map(|terminal| case.node_volts(wiring.node(terminal)) > least)
        .collect()
}

fn is_thin(kind: &Kind) -> bool {
    matches!(kind, Kind::Wire { .. } | Kind::Pin { .. } | Kind::GroundPoint | Kind::Splice)
}

fn short_name(circuit: &Circuit, part: PartId) -> String {
    let owner = &circuit.parts[part.index()];
    match &owner.kind {
        Kind::Wire { colour, heavy: false, .. } if !colour.is_empty() => format!("{colour} wire"),
        _ => owner.name.clone(),
    }
}

fn place_name(circuit: &Circuit, part: PartId) -> String {
    circuit.places[circuit.parts[part.index()].place.index()].name.clone()
}
