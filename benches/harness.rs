//! How time and memory grow with the size of a harness: 100, 1,000 and 10,000 parts.
//!
//! `cargo bench --bench harness`, with `-- 2000` for sizes of one's own. For each size, in a process of its own so
//! that its peak of memory is its own, the mean over some harnesses: the time to read the file, to make a network of
//! one setup, to make its solver, to solve every single suspect and read [`POINTS`] points under each. Then how each
//! grows from size to size, and from the first to the last, as the power of the number of parts: 1 is in proportion.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a measurement has a clock, a printer and no one to report errors to"
)]

#[path = "../examples/harness/generate.rs"]
mod generate;

use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use halfsplit::circuit::{Circuit, Kind, read};
use halfsplit::electric::{NodeId, Solver};
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::Lineup;
use halfsplit::suspect::damage::changes;

/// Harnesses of each size, by the seeds from one on.
const HARNESSES: u64 = 6;
/// Points read under each suspect, evenly spread over the nodes.
const POINTS: usize = 20;
/// What a child process is told, before its size.
const CHILD: &str = "--child";
/// What is measured, in the order a child prints it, and how it is shown.
const MEASURES: [(&str, &str); 9] = [
    ("parts", ""),
    ("suspects", ""),
    ("readings", ""),
    ("read", "ms"),
    ("wiring", "ms"),
    ("solver", "ms"),
    ("all suspects", "ms"),
    ("a reading", "ns"),
    ("peak memory", "MB"),
];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let Some(at) = arguments.iter().position(|one| one == CHILD) {
        return measure(arguments[at + 1].parse().unwrap());
    }
    let own: Vec<usize> = arguments.iter().filter_map(|one| one.parse().ok()).collect();
    let sizes = if own.is_empty() { vec![100, 1000, 10_000] } else { own };
    let columns: Vec<Vec<f64>> = sizes.iter().map(|&size| in_a_child(size)).collect();
    for (row, (name, unit)) in MEASURES.iter().enumerate() {
        print!("{name:>14}");
        for column in &columns {
            print!(" {:>12.3} {unit:<2}", column[row]);
        }
        let power =
            |one: &[f64], other: &[f64]| (other[row] / one[row]).ln() / (other[0] / one[0]).ln();
        for pair in columns.windows(2) {
            print!("  power {:.2}", power(&pair[0], &pair[1]));
        }
        if let [first, _, .., last] = &columns[..] {
            print!("  in all {:.2}", power(first, last));
        }
        println!();
    }
}

fn in_a_child(size: usize) -> Vec<f64> {
    let program = std::env::current_exe().unwrap();
    let output = Command::new(program).args([CHILD, &size.to_string()]).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    let numbers: Vec<f64> = text.split_whitespace().map(|one| one.parse().unwrap()).collect();
    assert_eq!(numbers.len(), MEASURES.len());
    numbers
}

/// Milliseconds of a doing, the best of a few rounds.
fn milliseconds<T>(rounds: u32, mut doing: impl FnMut() -> T) -> (T, f64) {
    let mut best = f64::INFINITY;
    let mut made = None;
    for _ in 0..rounds {
        let start = Instant::now();
        made = Some(black_box(doing()));
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
    }
    (made.unwrap(), best)
}

/// What a child measures: the mean over some harnesses, as of one size they differ by up to eight times.
fn measure(size: usize) {
    let mut sums = [0.0; MEASURES.len()];
    for seed in 1..=HARNESSES {
        let one = of_one(&generate::harness(size, 8, seed), size);
        sums.iter_mut().zip(one).for_each(|(sum, one)| *sum += one / HARNESSES as f64);
    }
    sums[MEASURES.len() - 2] = 1e6 * sums[MEASURES.len() - 3] / sums[2];
    sums[MEASURES.len() - 1] = peak_megabytes();
    let numbers: Vec<String> = sums.iter().map(f64::to_string).collect();
    println!("{}", numbers.join(" "));
}

/// The same of one harness, as far as it is its own.
fn of_one(text: &str, size: usize) -> [f64; 7] {
    let read = || {
        read::read_text("harness", text).0.expect("a file of no more than the 1 MiB that is read")
    };
    let (circuit, read_ms) = milliseconds(3, read);
    let lineup = Lineup::of(&circuit);
    let setup = setup(&circuit);
    let (wiring, wiring_ms) = milliseconds(5, || Wiring::new(&circuit, &setup));
    let (_, solver_ms) = milliseconds(3, || Solver::new(&wiring.network).unwrap());
    let faults: Vec<_> = lineup
        .suspects
        .iter()
        .map(|suspect| changes(&circuit, &setup, &wiring, &suspect.damage))
        .collect();
    let nodes = wiring.network.nodes as usize;
    let points: Vec<NodeId> =
        (0..POINTS).map(|at| NodeId((1 + at * (nodes - 1) / POINTS) as u32)).collect();
    let all = || {
        let solver = Solver::new(&wiring.network).unwrap();
        let mut sum = 0.0;
        for fault in &faults {
            let case = solver.case(fault).unwrap();
            sum += points.iter().map(|&point| case.node_volts(point)).sum::<f64>();
        }
        sum
    };
    let (_, all_ms) = milliseconds(if size > 3000 { 1 } else { 3 }, all);
    let readings = faults.len() * points.len();
    let counts = [circuit.parts.len(), faults.len(), readings].map(|count| count as f64);
    [counts[0], counts[1], counts[2], read_ms, wiring_ms, solver_ms, all_ms]
}

/// The setup of the first thing that lights a lamp.
fn setup(circuit: &Circuit) -> Setup {
    let lights = |see: &halfsplit::circuit::Sight| circuit.part(see.part).kind == Kind::Lamp;
    let work = circuit.works.iter().find(|work| work.see.iter().any(lights));
    Setup::for_work(circuit, work.unwrap_or(&circuit.works[0]))
}

/// The most memory this process has held, by the kernel's count; none where it keeps none.
fn peak_megabytes() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kilobytes = line.and_then(|line| line.split_whitespace().next()?.parse::<f64>().ok());
    kilobytes.map_or(f64::NAN, |kilobytes| kilobytes / 1e3)
}
