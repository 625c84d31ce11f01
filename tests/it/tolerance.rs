//! How far readings spread between sound machines: the quick rule beside the exact sensitivities, and both
//! beside machines drawn by chance.

use std::sync::Arc;

use halfsplit::circuit::{Circuit, builtin, read};
use halfsplit::electric::sensitivity::Parameter;
use halfsplit::electric::{Case, Law, NodeId, Solver, Steadiness};
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::damage::changes;
use halfsplit::suspect::{Lineup, Suspect};
use halfsplit::tester::enumerate::tests;
use halfsplit::tester::spread::Spreads;
use halfsplit::tester::tolerance::Tolerances;
use halfsplit::tester::{Instrument, Target, Test, Tester};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

fn circuit(name: &str) -> Arc<Circuit> {
    Arc::new(read::read_text(name, builtin::text(name).unwrap()).0.unwrap())
}

/// A setup of a circuit with what is needed to ask for spreads in it.
struct Stand {
    circuit: Arc<Circuit>,
    tolerances: Tolerances,
    setup: Setup,
    wiring: Wiring,
    pairs: Vec<(NodeId, NodeId)>,
    tests: Vec<Test>,
}

impl Stand {
    /// Where the first work of a built-in circuit should come about, and what a meter on volts touches.
    fn of(name: &str) -> Stand {
        let circuit = circuit(name);
        let setup = Setup::for_work(&circuit, &circuit.works[0]);
        let wiring = Wiring::new(&circuit, &setup);
        let mut all = tests(&circuit, &[Instrument::Meter]);
        all.retain(|test| {
            test.setup == setup && matches!(test.tester, Tester::Volts | Tester::Drop)
        });
        let pair = |test: &Test| match test.target {
            Target::Point(at) => (wiring.node(at), NodeId(0)),
            Target::Pair(a, b) => (wiring.node(a), wiring.node(b)),
            _ => panic!("{} touches nothing", test.id),
        };
        let pairs = all.iter().map(pair).collect();
        let tolerances = Tolerances::new(&circuit);
        Stand { circuit, tolerances, setup, wiring, pairs, tests: all }
    }

    fn spreads(&self, sound: &Case) -> Spreads {
        Spreads::new(&self.tolerances, &self.circuit, (&self.wiring, sound), &self.tests)
    }

    fn exact(&self, case: &Case, (a, b): (NodeId, NodeId)) -> f64 {
        let sensitivity = case.sensitivity(a, b).unwrap();
        self.tolerances.of_volts(&self.wiring, &sensitivity).whole()
    }
}

/// As a meter sees it: its own error beside the spread.
fn blurred(spread: f64, volts: f64) -> f64 {
    spread.hypot(0.005 * volts.abs() + 0.01)
}

#[test]
fn the_quick_rule_is_the_exact_deviation_for_nearly_all_readings() {
    for name in builtin::names() {
        let stand = Stand::of(name);
        let solver = Solver::new(&stand.wiring.network).unwrap();
        let spreads = stand.spreads(&solver.case(&[]).unwrap());
        let mut ratios = Vec::new();
        for suspect in &Lineup::of(&stand.circuit).suspects {
            let list = changes(&stand.circuit, &stand.setup, &stand.wiring, &suspect.damage);
            let case = solver.case(&list).unwrap();
            if *case.steadiness() != Steadiness::Steady {
                continue;
            }
            for &(a, b) in &stand.pairs {
                let volts = case.node_volts(a) - case.node_volts(b);
                let exact = blurred(stand.exact(&case, (a, b)), volts);
                ratios.push(blurred(spreads.volts(a, b, volts), volts) / exact);
            }
        }
        ratios.sort_by(f64::total_cmp);
        let share = |part: f64| ratios[(part * (ratios.len() - 1) as f64) as usize];
        let [least, low, middle, high, most] = [0.01, 0.05, 0.5, 0.95, 0.99].map(share);
        println!(
            "{name}: {} readings, quick over exact: 1 % {least:.2}, 5 % {low:.2}, half {middle:.3}, \
             95 % {high:.2}, 99 % {most:.2}",
            ratios.len()
        );
        assert!((0.99..1.01).contains(&middle), "{name}: {middle}");
        assert!(low > 0.85 && high < 1.15, "{name}: {low} to {high}");
        assert!(least > 0.5 && most < 1.6, "{name}: {least} to {most}");
    }
}

/// A law with one parameter so many times as large.
fn scaled(law: &mut Law, parameter: Parameter, times: f64) {
    match (law, parameter) {
        (
            Law::Resistor { ohms }
            | Law::Contact { ohms, .. }
            | Law::Fuse { ohms, .. }
            | Law::Source { ohms, .. },
            Parameter::Ohms,
        ) => *ohms *= times,
        (Law::Source { volts, .. }, Parameter::Volts) => *volts *= times,
        (Law::Lamp { watts, .. }, Parameter::Watts) => *watts *= times,
        (Law::Diode { forward_volts, .. }, Parameter::ForwardVolts) => *forward_volts *= times,
        (Law::Motor { stall_ohms, .. }, Parameter::StallOhms) => *stall_ohms *= times,
        (Law::Motor { running_amps, .. }, Parameter::RunningAmps) => *running_amps *= times,
        (Law::Open, _) => {}
        (law, parameter) => panic!("{law:?} has no {parameter:?}"),
    }
}

/// A number from a normal distribution, by the sum of twelve even ones.
fn normal(random: &mut Pcg64) -> f64 {
    (0..12).map(|_| random.random::<f64>()).sum::<f64>() - 6.0
}

/// A machine of this kind, drawn by chance.
fn drawn(stand: &Stand, random: &mut Pcg64) -> Wiring {
    let mut wiring = stand.wiring.clone();
    let warmth = normal(random);
    for one in stand.tolerances.list() {
        let times = 1.0 + one.share * normal(random) + one.warmth * warmth;
        let law = &mut wiring.network.branches[one.branch.0 as usize].law;
        scaled(law, one.parameter, times.max(0.05));
    }
    wiring
}

/// Deviations of all pairs under each of some suspects, over machines drawn by chance.
fn by_chance(stand: &Stand, suspects: &[&Suspect], machines: u32) -> Vec<Vec<f64>> {
    let mut random = Pcg64::seed_from_u64(20);
    let mut sums = vec![vec![(0.0, 0.0); stand.pairs.len()]; suspects.len()];
    for _ in 0..machines {
        let wiring = drawn(stand, &mut random);
        let solver = Solver::new(&wiring.network).unwrap();
        for (sums, suspect) in sums.iter_mut().zip(suspects) {
            let list = changes(&stand.circuit, &stand.setup, &wiring, &suspect.damage);
            let case = solver.case(&list).unwrap();
            for (sum, &(a, b)) in sums.iter_mut().zip(&stand.pairs) {
                let volts = case.node_volts(a) - case.node_volts(b);
                *sum = (sum.0 + volts, sum.1 + volts * volts);
            }
        }
    }
    let machines = f64::from(machines);
    let deviation = |&(sum, squares): &(f64, f64)| {
        (squares / machines - (sum / machines).powi(2)).max(0.0).sqrt()
    };
    sums.iter().map(|sums| sums.iter().map(deviation).collect()).collect()
}

/// Two thousand machines beside the exact deviations, for the sound circuit and some suspects.
fn against_chance(name: &str, suspects: &[&str]) {
    let stand = Stand::of(name);
    let lineup = Lineup::of(&stand.circuit);
    let known = |id: &&str| &lineup.suspects[lineup.find(id).unwrap().index()];
    let suspects: Vec<&Suspect> = suspects.iter().map(known).collect();
    let chance = by_chance(&stand, &suspects, 2000);
    let solver = Solver::new(&stand.wiring.network).unwrap();
    let spreads = stand.spreads(&solver.case(&[]).unwrap());
    for (suspect, chance) in suspects.iter().zip(chance) {
        let list = changes(&stand.circuit, &stand.setup, &stand.wiring, &suspect.damage);
        let case = solver.case(&list).unwrap();
        let mut worst = [(1.0_f64, 0); 2];
        for (at, (&(a, b), chance)) in stand.pairs.iter().zip(chance).enumerate() {
            let volts = case.node_volts(a) - case.node_volts(b);
            let chance = blurred(chance, volts);
            let found = [stand.exact(&case, (a, b)), spreads.volts(a, b, volts)];
            for (worst, found) in worst.iter_mut().zip(found) {
                let ratio = blurred(found, volts) / chance;
                if ratio.ln().abs() > worst.0.ln().abs() {
                    *worst = (ratio, at);
                }
            }
        }
        let [(exact, at), (quick, _)] = worst;
        let id = &stand.tests[at].id;
        println!(
            "{name}, {}: exact {exact:.3} of chance at worst ({id}), quick {quick:.2}",
            suspect.id
        );
        assert!((0.85..1.18).contains(&exact), "{}: {exact} at {id}", suspect.id);
        assert!((0.5..2.0).contains(&quick), "{}: {quick}", suspect.id);
    }
}

#[test]
fn machines_drawn_by_chance_spread_as_reckoned() {
    let start = ["sound", "starter.open", "ground-strap.high-0.03", "start-button.high-10"];
    against_chance("start-button", &start);
    against_chance("trailer-lamps", &["sound", "boot-ground.high-10", "tow-bar-ground.open"]);
}
