//! What a solution of the table of expected readings costs, beside a general-purpose circuit simulator and
//! beside refactoring the sparse matrix for each fault.
//!
//! `cargo bench --bench readings`, with `-- --quick` to leave the simulator out. The table is that of the built-in
//! interlock circuit: every setup, every suspect, the volts of every node. Solutions are told apart by whether a
//! lamp, a diode, a motor, a relay or a fuse moves in them ([`Case::is_straight`]). The simulator (`ngspice`, left
//! out when not installed) solves the same operating points, each given the relays' final state, in one process; what
//! counts is the time it says its analysis took, without reading netlists or writing results, at the best of some
//! turns, as of ours. Refactoring keeps pattern and pivots of the sparse matrix, begins at the network's own
//! operating point, and is told the final state of relays and fuses too; it solves the faults that change branches
//! and add none, with all node volts.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a measurement has a clock, a printer and no one to report errors to"
)]

#[path = "../tests/it/spice/netlist.rs"]
#[expect(dead_code, reason = "the tests have more of it")]
mod netlist;

use std::collections::BTreeSet;
use std::fmt::Write;
use std::hint::black_box;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use halfsplit::circuit::{Circuit, Element, LinkId, builtin, read};
use halfsplit::electric::{Case, Change, NodeId, Solver, Steadiness};
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::Lineup;
use halfsplit::suspect::damage::changes;
use halfsplit::tester::enumerate::setups;
use halfsplit::tester::scope::Scope;

use netlist::{Mover, Scene, netlist};

/// The circuit whose table it is.
const CIRCUIT: &str = "start-interlock";
/// One operating point in so many is given to the simulator.
const ONE_IN: usize = 29;
/// So often it solves each in a turn, so that its clock of milliseconds tells enough.
const REPEATS: usize = 40;
/// The simulator and we are measured by turns, of which the best counts for each of us: the clock of a shared
/// machine may go at half its pace for seconds.
const TURNS: usize = 4;
/// Told so, it leaves the simulator out.
const QUICK: &str = "--quick";
/// Rounds, of which the best counts.
const ROUNDS: usize = 7;

/// One setup with what is needed to solve it under each suspect.
struct Page {
    setup: Setup,
    wiring: Wiring,
    solver: Solver,
    faults: Vec<Vec<Change>>,
}

/// Nanoseconds a solution, for the straight ones and the others.
#[derive(Clone, Copy)]
struct Kinds {
    straight: f64,
    moving: f64,
}

fn main() {
    let circuit = read::read_text(CIRCUIT, builtin::text(CIRCUIT).unwrap()).0.unwrap();
    let lineup = Lineup::of(&circuit);
    // What jumpers and pulled fuses do is not in the simulator's netlists.
    let plain = |setup: &Setup| setup.bridged.is_empty() && setup.out.is_empty();
    let setups: Vec<Setup> = setups(&circuit, &Scope::whole()).into_iter().filter(plain).collect();
    let pages: Vec<Page> = setups.iter().map(|setup| page(&circuit, &lineup, setup)).collect();
    let nodes: Vec<NodeId> = (1..pages[0].wiring.network.nodes).map(NodeId).collect();
    let groups: Vec<Group<'_>> = pages.iter().map(group).collect();
    tell(&pages, &groups, nodes.len());
    let is_quick = std::env::args().any(|argument| argument == QUICK);
    let mut simulator = (!is_quick).then(|| Simulator::new(&circuit, &lineup, &pages));
    let mut ours = Ours { solved: Kinds::NONE, read: Kinds::NONE };
    for _ in 0..TURNS {
        ours.measure(&pages, &groups, &nodes);
        if simulator.as_mut().is_some_and(|simulator| simulator.measure().is_none()) {
            println!("the circuit simulator is not installed: apt-get install ngspice");
            simulator = None;
        }
    }
    let refactored = refactored(&pages);
    let theirs = simulator.map(|simulator| simulator.kinds());
    for (name, of) in [
        ("straight", (|kinds: &Kinds| kinds.straight) as fn(&Kinds) -> f64),
        ("moving", |kinds: &Kinds| kinds.moving),
    ] {
        println!("{name} solutions");
        println!("  solved                 {:>10.1} ns", of(&ours.solved));
        println!("  with all {} node volts {:>9.1} ns", nodes.len(), of(&ours.read));
        let times = of(&refactored) / of(&ours.read);
        println!("  refactored             {:>10.1} ns, {times:.0} times as long", of(&refactored));
        if let Some(theirs) = &theirs {
            let (solved, read) = (of(theirs) / of(&ours.solved), of(theirs) / of(&ours.read));
            println!("  circuit simulator      {:>10.1} us", of(theirs) / 1e3);
            println!("    times as long        {solved:>10.0}, {read:.0} with all node volts");
        }
    }
}

fn page(circuit: &Circuit, lineup: &Lineup, setup: &Setup) -> Page {
    let wiring = Wiring::new(circuit, setup);
    let solver = Solver::new(&wiring.network).unwrap();
    let of = |damage: &_| changes(circuit, setup, &wiring, damage);
    let faults = lineup.suspects.iter().map(|suspect| of(&suspect.damage)).collect();
    Page { setup: setup.clone(), wiring, solver, faults }
}

impl Kinds {
    const NONE: Kinds = Kinds { straight: f64::INFINITY, moving: f64::INFINITY };
}

/// The faults of a page: those that are solved straight, and the others.
type Group<'page> = [Vec<&'page [Change]>; 2];

fn group(page: &Page) -> Group<'_> {
    let is_straight = |fault: &&[Change]| page.solver.case(fault).unwrap().is_straight();
    let (straight, moving) = page.faults.iter().map(Vec::as_slice).partition(is_straight);
    [straight, moving]
}

fn count(groups: &[Group<'_>], kind: usize) -> usize {
    groups.iter().map(|group| group[kind].len()).sum()
}

fn tell(pages: &[Page], groups: &[Group<'_>], nodes: usize) {
    let (straight, moving) = (count(groups, 0), count(groups, 1));
    println!(
        "{CIRCUIT}: {} setups, {} suspects, {} solutions: {straight} straight, {moving} moving; {nodes} nodes",
        pages.len(),
        pages[0].faults.len(),
        straight + moving,
    );
    let ready = best(pages, |page| {
        black_box(Solver::new(&page.wiring.network).unwrap());
    });
    println!("a setup is made ready in {:.1} us", ready / pages.len() as f64 / 1e3);
}

/// Our own times: to solve alone, and with the volts of every node read.
struct Ours {
    solved: Kinds,
    read: Kinds,
}

impl Ours {
    /// One turn.
    fn measure(&mut self, pages: &[Page], groups: &[Group<'_>], nodes: &[NodeId]) {
        let pages: Vec<_> = pages.iter().zip(groups).collect();
        let time = |kind: usize, read: bool| {
            let total = best(&pages, |(page, group)| {
                for fault in &group[kind] {
                    let case = page.solver.case(fault).unwrap();
                    if read {
                        let sum: f64 = nodes.iter().map(|&node| case.node_volts(node)).sum();
                        black_box(sum);
                    }
                    black_box(case);
                }
            });
            total / count(groups, kind) as f64
        };
        for (kinds, read) in [(&mut self.solved, false), (&mut self.read, true)] {
            kinds.straight = kinds.straight.min(time(0, read));
            kinds.moving = kinds.moving.min(time(1, read));
        }
    }
}

/// Nanoseconds a solution takes by refactoring; those that add a branch are left out.
fn refactored(pages: &[Page]) -> Kinds {
    let adds_none =
        |fault: &&Vec<Change>| fault.iter().all(|change| matches!(change, Change::Law { .. }));
    let mean = |is_straight: bool| {
        let (mut total, mut count) = (0.0, 0.0);
        for page in pages {
            let Some(mut other) = page.solver.refactoring() else { continue };
            let cases = page.faults.iter().filter(adds_none);
            let cases = cases.map(|fault| (fault, page.solver.case(fault).unwrap()));
            let still = |case: &Case<'_>| *case.steadiness() == Steadiness::Steady;
            let cases: Vec<_> =
                cases.filter(|one| one.1.is_straight() == is_straight && still(&one.1)).collect();
            total += best(&[()], |()| {
                for (fault, case) in &cases {
                    black_box(other.node_volts(fault, case));
                }
            });
            count += cases.len() as f64;
        }
        total / count
    };
    Kinds { straight: mean(true), moving: mean(false) }
}

/// Nanoseconds of all doings together, each the best of several rounds.
fn best<T>(pieces: &[T], mut doing: impl FnMut(&T)) -> f64 {
    let mut best = vec![f64::INFINITY; pieces.len()];
    for _ in 0..ROUNDS {
        for (best, piece) in best.iter_mut().zip(pieces) {
            let start = Instant::now();
            doing(piece);
            *best = best.min(start.elapsed().as_secs_f64() * 1e9);
        }
    }
    best.iter().sum()
}

/// The simulator's netlists, those of straight solutions and the others, with the least nanoseconds that each
/// has taken so far.
struct Simulator([Vec<(String, f64)>; 2]);

impl Simulator {
    fn new(circuit: &Circuit, lineup: &Lineup, pages: &[Page]) -> Simulator {
        let mut netlists = [Vec::new(), Vec::new()];
        let places =
            pages.iter().flat_map(|page| (0..lineup.suspects.len()).map(move |at| (page, at)));
        for (page, at) in places.step_by(ONE_IN) {
            let case = page.solver.case(&page.faults[at]).unwrap();
            if *case.steadiness() != Steadiness::Steady {
                continue;
            }
            let text = netlist(Scene {
                circuit,
                setup: &page.setup,
                damage: &lineup.suspects[at].damage,
                pulled: &pulled(circuit, &page.wiring, &case),
                blown: &case.blown().iter().map(|fuse| LinkId::new(fuse.0 as usize)).collect(),
            });
            netlists[usize::from(!case.is_straight())].push((text, f64::INFINITY));
        }
        Simulator(netlists)
    }

    /// One turn; `None` where the simulator is not installed.
    fn measure(&mut self) -> Option<()> {
        for netlists in &mut self.0 {
            let took = run(netlists)?;
            for (one, took) in netlists.iter_mut().zip(took) {
                one.1 = one.1.min(took);
            }
        }
        Some(())
    }

    fn kinds(&self) -> Kinds {
        let mean = |kind: usize| {
            let all = &self.0[kind];
            all.iter().map(|one| one.1).sum::<f64>() / all.len() as f64
        };
        Kinds { straight: mean(0), moving: mean(1) }
    }
}

/// What is pulled and what is fed at the end.
fn pulled(circuit: &Circuit, wiring: &Wiring, case: &Case<'_>) -> BTreeSet<Mover> {
    let armatures = circuit.part_ids().filter_map(|part| {
        let relay = wiring.relay(part)?;
        case.pulled(relay).then_some(Mover::Armature(part))
    });
    let inputs = circuit.link_ids().filter_map(|link| {
        let Element::Sense { .. } = circuit.link(link).element else { return None };
        case.pulled(wiring.sense(link)?).then_some(Mover::Input(link))
    });
    armatures.chain(inputs).collect()
}

/// Solves all of them in one process; nanoseconds of analysis for a solution of each.
fn run(netlists: &[(String, f64)]) -> Option<Vec<f64>> {
    let folder =
        Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let mut script = "* all of them\n.control\n".to_owned();
    for (at, (netlist, _)) in netlists.iter().enumerate() {
        std::fs::write(folder.join(format!("{at}.cir")), format!("* {at}\n{netlist}")).unwrap();
        writeln!(
            script,
            "source {at}.cir\nrepeat {REPEATS}\nop\ndestroy all\nend\nrusage everything\nremcirc"
        )
        .unwrap();
    }
    script.push_str("quit\n.endc\n.end\n");
    std::fs::write(folder.join("all.cir"), script).unwrap();
    let output = Command::new("ngspice")
        .args(["-n", "-b", "all.cir"])
        .current_dir(&folder)
        .stdin(Stdio::null())
        .output();
    std::fs::remove_dir_all(&folder).unwrap();
    let output = output.ok()?;
    let said = String::from_utf8_lossy(&output.stdout);
    let seconds = |line: &str| -> Option<f64> {
        let line = line.strip_prefix("Total analysis time")?;
        line.trim_start_matches(" (seconds)").strip_prefix(" = ")?.trim().parse().ok()
    };
    let took: Vec<f64> =
        said.lines().filter_map(seconds).map(|one| 1e9 * one / REPEATS as f64).collect();
    assert_eq!(took.len(), netlists.len(), "{}", String::from_utf8_lossy(&output.stderr));
    Some(took)
}
