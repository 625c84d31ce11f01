//! What the spread of a reading costs: by the quick rule, by the exact sensitivities, and what the quick
//! rule has to learn first.
//!
//! `cargo bench --bench spread`: the start circuit with interlock, where it should crank, all readings of a
//! meter under all suspects. Times are the best of several rounds.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a measurement has a clock, a printer and no one to report errors to"
)]

use std::hint::black_box;
use std::time::Instant;

use halfsplit::circuit::{builtin, read};
use halfsplit::electric::{GROUND, Solver};
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::Lineup;
use halfsplit::suspect::damage::changes;
use halfsplit::tester::enumerate::tests;
use halfsplit::tester::scope::Scope;
use halfsplit::tester::spread::Spreads;
use halfsplit::tester::tolerance::Tolerances;
use halfsplit::tester::{Instrument, Target};

fn nanoseconds(rounds: u32, mut doing: impl FnMut()) -> f64 {
    let once = |_| {
        let start = Instant::now();
        doing();
        start.elapsed().as_secs_f64() * 1e9
    };
    (0..rounds).map(once).fold(f64::INFINITY, f64::min)
}

fn main() {
    let name = "start-interlock";
    let circuit = read::read_text(name, builtin::text(name).unwrap()).0.unwrap();
    let setup = Setup::for_work(&circuit, &circuit.works[0]);
    let wiring = Wiring::new(&circuit, &setup);
    let mut all = tests(&circuit, &Scope::whole(), &[Instrument::Meter, Instrument::Lamp]);
    all.retain(|test| test.setup == setup);
    let pair = |target| match target {
        Target::Point(at) => Some((wiring.node(at), GROUND)),
        Target::Pair(a, b) => Some((wiring.node(a), wiring.node(b))),
        _ => None,
    };
    let pairs: Vec<_> = all.iter().filter_map(|test| pair(test.target)).collect();
    let solver = Solver::new(&wiring.network).unwrap();
    let sound = solver.case(&[]).unwrap();
    let tolerances = Tolerances::new(&circuit);
    let learn = || Spreads::new(&tolerances, &circuit, (&wiring, &sound), &all);
    let spreads = learn();
    let learning = nanoseconds(200, || {
        black_box(learn());
    });
    let lineup = Lineup::of(&circuit);
    let list = |damage: &[_]| changes(&circuit, &setup, &wiring, damage);
    let cases: Vec<_> =
        lineup.suspects.iter().map(|one| solver.case(&list(&one.damage)).unwrap()).collect();
    let readings = (cases.len() * pairs.len()) as f64;
    let each = |doing: &dyn Fn(&halfsplit::electric::Case<'_>, _, _)| {
        let all = || {
            for case in &cases {
                for &(a, b) in &pairs {
                    doing(case, a, b);
                }
            }
        };
        nanoseconds(10, all) / readings
    };
    let volts = each(&|case, a, b| {
        black_box(case.thevenin(a, b));
    });
    let quick = each(&|case, a, b| {
        black_box(spreads.volts(a, b, case.node_volts(a) - case.node_volts(b)));
    });
    let exact = each(&|case, a, b| {
        let sensitivity = case.sensitivity(a, b).unwrap();
        black_box(tolerances.of_volts(&wiring, &sensitivity));
    });
    println!(
        "{name}: {} tests, {} suspects, {} tolerances",
        all.len(),
        cases.len(),
        tolerances.list().len()
    );
    println!(
        "  to learn the sound setup  {:>9.1} us, {:.0} ns a test",
        learning / 1e3,
        learning / all.len() as f64
    );
    println!("  volts and source ohms     {volts:>9.1} ns a reading");
    println!("  spread, quick             {quick:>9.1} ns a reading");
    println!("  spread, exact             {exact:>9.1} ns a reading");
}
