//! What a case and a reading cost, beside solving the changed network anew.
//!
//! `cargo bench --bench solver`, with `-- mixed` for one kind only. The network is a machine's: a battery, a fuse box, and circuits of a
//! fuse, a switch, a connector pin, a load and a ground each, joined by wires. Times are the best of
//! several rounds; ratios travel better between machines than they do.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a measurement has a clock, a printer and no one to report errors to"
)]

use std::hint::black_box;
use std::time::Instant;

use halfsplit::electric::{
    Branch, BranchId, Change, GROUND, Law, Network, NodeId, Relay, RelayId, Solver,
};

/// What the loads of a harness are.
#[derive(Clone, Copy, PartialEq)]
enum Loads {
    Resistors,
    Lamps,
    /// A lamp in each third circuit, and one circuit switched by a relay in another.
    Mixed,
}

fn harness(circuits: u32, loads: Loads) -> Network {
    let mut network = Network { nodes: 3, branches: Vec::new(), relays: Vec::new() };
    let add = |network: &mut Network, from: u32, to: u32, law: Law| {
        network.branches.push(Branch { from: NodeId(from), to: NodeId(to), law });
    };
    let wire = |ohms: f64| Law::Resistor { ohms };
    add(&mut network, 1, 0, Law::Source { volts: 12.6, ohms: 0.012 });
    add(&mut network, 1, 2, wire(0.003));
    for circuit in 0..circuits {
        let first = network.nodes;
        network.nodes += 5;
        add(&mut network, 2, first, Law::Fuse { ohms: 0.005, rated_amps: 20.0 });
        add(&mut network, first, first + 1, wire(0.02));
        let switch = if loads == Loads::Mixed && circuit == 1 {
            network.relays.push(Relay {
                windings: vec![(BranchId(2 + 3), 1.0)],
                pull_in_amps: 0.08,
                drop_out_amps: 0.03,
                stuck: None,
            });
            Law::Contact { ohms: 0.01, relay: RelayId(0), rests_closed: false }
        } else {
            wire(0.01)
        };
        add(&mut network, first + 1, first + 2, switch);
        let lamp = loads == Loads::Lamps || loads == Loads::Mixed && circuit % 3 == 2;
        let load = if lamp { Law::Lamp { volts: 12.0, watts: 21.0 } } else { wire(80.0) };
        add(&mut network, first + 2, first + 3, load);
        add(&mut network, first + 3, first + 4, wire(0.01));
        add(&mut network, first + 4, 0, wire(0.002));
    }
    network
}

/// Every branch open and at ten ohms, every node shorted to ground through ten ohms.
fn faults(network: &Network) -> Vec<[Change; 1]> {
    let mut faults = Vec::new();
    for branch in (0..network.branches.len() as u32).map(BranchId) {
        faults.push([Change::Law { branch, law: Law::Open }]);
        faults.push([Change::Law { branch, law: Law::Resistor { ohms: 10.0 } }]);
    }
    for node in (1..network.nodes).map(NodeId) {
        let law = Law::Resistor { ohms: 10.0 };
        faults.push([Change::Across { from: node, to: GROUND, law }]);
    }
    faults
}

fn changed(network: &Network, fault: &[Change; 1]) -> Network {
    let mut network = network.clone();
    match &fault[0] {
        Change::Law { branch, law } => network.branches[branch.0 as usize].law = *law,
        Change::Across { from, to, law } => {
            network.branches.push(Branch { from: *from, to: *to, law: *law });
        }
        _ => {}
    }
    network
}

/// Nanoseconds of all doings together, each the best of several rounds: short pieces, so that a busy
/// machine which takes the processor away spoils few of them.
fn nanoseconds<T>(rounds: u32, pieces: &[T], mut doing: impl FnMut(&T)) -> f64 {
    let mut best = vec![f64::INFINITY; pieces.len()];
    for _ in 0..rounds {
        for (best, piece) in best.iter_mut().zip(pieces) {
            let start = Instant::now();
            doing(piece);
            *best = best.min(start.elapsed().as_secs_f64() * 1e9);
        }
    }
    best.iter().sum()
}

fn measure(name: &str, circuits: u32, loads: Loads) {
    let network = harness(circuits, loads);
    let faults = faults(&network);
    let ready = nanoseconds(20, &[()], |()| {
        black_box(Solver::new(&network).unwrap());
    });
    let solver = Solver::new(&network).unwrap();
    let count = faults.len() as f64;
    let case = nanoseconds(10, &faults, |fault| {
        black_box(solver.case(fault).unwrap());
    }) / count;
    let anew = nanoseconds(3, &faults, |fault| {
        black_box(Solver::new(&changed(&network, fault)).unwrap());
    }) / count;
    let cases: Vec<_> = faults.iter().map(|fault| solver.case(fault).unwrap()).collect();
    let points: Vec<NodeId> = (1..network.nodes).step_by(5).map(NodeId).collect();
    let readings = count * points.len() as f64;
    let reading = |law: &Law| {
        nanoseconds(8, &cases, |case| {
            for &point in &points {
                black_box(case.with_load(point, GROUND, law).unwrap());
            }
        }) / readings
    };
    let meter = reading(&Law::Resistor { ohms: 10e6 });
    let lamp = reading(&Law::Lamp { volts: 12.0, watts: 3.0 });
    let volts = nanoseconds(8, &cases, |case| {
        for &point in &points {
            black_box(case.node_volts(point));
        }
    }) / readings;
    println!(
        "{name}: {} nodes, {} branches, {} faults",
        network.nodes,
        network.branches.len(),
        faults.len()
    );
    println!("  make ready            {:>9.1} us", ready / 1e3);
    println!(
        "  a case                {:>9.2} us   anew {:.1} us, {:.0} times as long",
        case / 1e3,
        anew / 1e3,
        anew / case
    );
    println!("  a reading, no tester  {volts:>9.1} ns");
    println!("  a reading, meter      {meter:>9.1} ns");
    println!("  a reading, lamp       {lamp:>9.1} ns");
}

/// All single faults of a circuit of a hundred parts in twenty setups, with making ready.
fn whole_circuit(name: &str, loads: Loads) {
    let network = harness(20, loads);
    let faults = faults(&network);
    let parts: Vec<_> = faults.iter().step_by(2).take(network.branches.len()).collect();
    let setups: Vec<u32> = (0..20).collect();
    let all = |faults: &[&[Change; 1]]| {
        nanoseconds(5, &setups, |setup| {
            let mut network = network.clone();
            network.branches[2 + 6 * *setup as usize + 1].law = Law::Open;
            let solver = Solver::new(&network).unwrap();
            for fault in faults {
                black_box(solver.case(*fault).unwrap());
            }
        })
    };
    let each: Vec<_> = faults.iter().collect();
    println!("{name}: 20 setups of {} parts, making ready included", network.branches.len());
    println!("  one fault a part      {:>9.2} ms", all(&parts) / 1e6);
    println!("  {} faults            {:>9.2} ms", faults.len(), all(&each) / 1e6);
}

fn main() {
    let only = std::env::args().skip(1).find(|argument| !argument.starts_with('-'));
    let networks = [
        ("resistors, 100", 20, Loads::Resistors),
        ("resistors, 200", 40, Loads::Resistors),
        ("mixed, 100", 20, Loads::Mixed),
        ("lamps, 100", 20, Loads::Lamps),
    ];
    for (name, circuits, loads) in networks {
        if only.as_ref().is_none_or(|only| name.starts_with(only)) {
            measure(name, circuits, loads);
        }
    }
    if only.is_none() {
        whole_circuit("resistors", Loads::Resistors);
        whole_circuit("mixed", Loads::Mixed);
    }
}
