//! The current paths as rows for a screen.

use crate::circuit::{Circuit, Kind, PartId, TerminalId};
use crate::electric::{GROUND, Solver};
use crate::setup::Setup;
use crate::setup::wiring::{Wiring, positive_post};
use crate::suspect::SuspectId;

use crate::job::standing::{Charge, Held, Path, PathRow};
use crate::job::study::Study;
use crate::job::study::paths::ways;

/// Volts above which a point counts as live, as a share of the system's.
const LIVE: f64 = 0.1;
/// Ohms to the frame above which nothing holds a point: as much as moves a meter of 10 megohm by a hundredth.
const AFLOAT_OHMS: f64 = 1.0e5;

/// The paths of the complaint's work, with the suspicion on each part, the probe points of a step (and whether
/// its lamp is clipped to the supply) and what is on each in `setup` when all is sound.
pub fn paths(
    study: &Study,
    belief: &[f64],
    (points, clipped): (&[TerminalId], bool),
    setup: &Setup,
) -> Vec<Path> {
    let circuit = study.circuit();
    let suspicion = by_part(study, belief);
    let ways = ways(circuit, &study.check_setup());
    let behind = ways.iter().flat_map(|way| way.links.iter().map(|(_, behind)| *behind));
    let drawn: Vec<TerminalId> = behind.chain(positive_post(circuit)).collect();
    let on = charges(circuit, setup, &drawn);
    ways.into_iter()
        .map(|way| {
            let mut before = positive_post(circuit);
            // The clip is shown on the path that is probed, not on all that begin at the post.
            let probed = way.links.iter().any(|(_, behind)| points.contains(behind));
            let mut clip = clipped && probed;
            let rows = way
                .links
                .iter()
                .map(|&(link, behind)| {
                    let part = circuit.graph[link].part;
                    let (charge, volts) = before.map_or((Charge::Afloat, 0.0), &on);
                    let row = PathRow {
                        part,
                        name: short_name(circuit, part),
                        place: place_name(circuit, part),
                        thin: is_thin(&circuit.parts[part.index()].kind),
                        suspicion: suspicion[part.index()],
                        before: match before {
                            Some(at) if points.contains(&at) => Held::Probe,
                            _ if std::mem::take(&mut clip) => Held::Clip,
                            _ => Held::Nothing,
                        },
                        probe_behind: points.contains(&behind),
                        charge,
                        volts,
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

/// What is on these terminals of the sound circuit.
fn charges(
    circuit: &Circuit,
    setup: &Setup,
    drawn: &[TerminalId],
) -> impl Fn(TerminalId) -> (Charge, f64) + use<> {
    let mut known = vec![(Charge::Afloat, 0.0); circuit.graph.node_count()];
    let wiring = Wiring::new(circuit, setup);
    if let Ok(solver) = Solver::new(&wiring.network)
        && let Ok(case) = solver.case(&[])
    {
        let least = LIVE * circuit.system_volts;
        for &terminal in drawn {
            let (volts, ohms) = case.thevenin(wiring.node(terminal), GROUND);
            known[terminal.index()] = match (ohms > AFLOAT_OHMS, volts > least) {
                (true, _) => (Charge::Afloat, volts),
                (false, true) => (Charge::Live, volts),
                (false, false) => (Charge::Ground, volts),
            };
        }
    }
    move |terminal| known[terminal.index()]
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
