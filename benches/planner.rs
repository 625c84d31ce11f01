//! How near the planner comes to the optimum, and what a step costs: `cargo bench --bench planner`.
//!
//! Prints ratios and counts. Expected costs are walked through all outcomes, with the planner asked
//! again at every step. Words behind `--` choose parts: `cargo bench --bench planner -- optimum jobs step
//! budget`, the last of which plays the built-in circuits with more and more states a step.
#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench is its own shell and looks at the clock"
)]

use std::sync::Arc;
use std::time::Instant;

use halfsplit::circuit::{builtin, read};
use halfsplit::job::course::Course;
use halfsplit::job::course::proposal::Proposal;
use halfsplit::job::study::Study;
use halfsplit::plan::exact::Exact;
use halfsplit::plan::focus::focus;
use halfsplit::plan::tree::{Branch, Limits, policy_tree};
use halfsplit::plan::walk::Walk;
use halfsplit::plan::{Action, Budget, Method, Prepared, Problem, Progress, plan_by};
use halfsplit::tester::Instrument;
use halfsplit::trial::desk::Desk;
use halfsplit::trial::rival::Way;
use halfsplit::trial::series;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

#[path = "../examples/cases/random.rs"]
mod random;

const METHODS: [Method; 4] = [Method::Greedy, Method::Rollout, Method::LookAhead, Method::Best];

/// Random jobs, and plays of each.
const JOBS: u64 = 32;

/// Plays of each job, with other faults and readings.
const PLAYS: u64 = 6;

/// States a step that the built-in circuits are played with; the last is the measure of the others.
const BUDGETS: [u64; 4] = [0, 10, 100, 1_000];

fn main() {
    let words: Vec<String> =
        std::env::args().skip(1).filter(|word| !word.starts_with('-')).collect();
    let wanted = |part: &str| words.is_empty() || words.iter().any(|word| word == part);
    if wanted("optimum") {
        compare("500 plain problems, 8 to 12 hypotheses", 500, random::plain);
        compare("200 with places, setups, classes, 12 x 10", 200, random::placed);
    }
    if wanted("jobs") {
        play_jobs();
    }
    if wanted("step") {
        time_a_step();
    }
    if wanted("budget") {
        builtin::names().into_iter().for_each(spend_on);
    }
}

/// Plays a built-in circuit with each budget: what a step costs, and what more of it buys.
fn spend_on(name: &str) {
    let text = builtin::text(name).expect("a built-in circuit");
    let circuit = read::read_text(name, text).0.expect("a sound circuit");
    let kit = [Instrument::Lamp, Instrument::Meter];
    let study = Arc::new(Study::new(&Arc::new(circuit), &kit, 0).expect("a study"));
    study.get_ready();
    let spent: Vec<Spent> = BUDGETS.iter().map(|&nodes| spend(&study, nodes)).collect();
    let last = &spent[spent.len() - 1];
    println!("{name}: {} suspects, budgets beside that of {} states", last.cases, last.allowed);
    for one in &spent {
        println!(
            "  {:5} states: first step {:4} examined, {:8.1} ms ({:6.3} x); trial {:6.2} min ({:6.3} x), worst {:6.1}, {:5.2} tests",
            one.allowed,
            one.nodes,
            one.milliseconds,
            one.milliseconds / last.milliseconds,
            one.mean_minutes,
            one.mean_minutes / last.mean_minutes,
            one.worst_minutes,
            one.mean_tests
        );
    }
}

struct Spent {
    allowed: u64,
    nodes: u64,
    milliseconds: f64,
    cases: usize,
    mean_minutes: f64,
    worst_minutes: f64,
    mean_tests: f64,
}

fn spend(study: &Arc<Study>, allowed: u64) -> Spent {
    let (budget, progress) = (Budget { nodes: allowed }, Progress::default());
    let before = Instant::now();
    let first = Proposal::new(&Course::new(study), &budget, &progress);
    let milliseconds = before.elapsed().as_secs_f64() * 1e3;
    let played = series(&Desk::new(study, budget), Way::Planned, &progress);
    Spent {
        allowed,
        nodes: first.plan.report.nodes,
        milliseconds,
        cases: played.outcomes.len(),
        mean_minutes: played.mean(|play| play.minutes),
        worst_minutes: played.worst(|play| play.minutes),
        mean_tests: played.mean(|play| play.tests as f64),
    }
}

/// Plays random jobs to their ends, the same luck for every budget.
fn play_jobs() {
    let size =
        random::Size { hypotheses: 60, tests: 120, outcomes: 3, modes: 12, places: 6, fixes: 20 };
    println!("{JOBS} jobs, {PLAYS} plays each: {size:?}");
    let ways = [
        (Method::Greedy, 0),
        (Method::Best, 0),
        (Method::Best, 100),
        (Method::Best, 400),
        (Method::Best, 2_000),
    ];
    for (method, nodes) in ways {
        let played: Vec<Played> = (0..JOBS)
            .into_par_iter()
            .map(|seed| {
                let problem = random::job(seed, &size);
                let prepared = Prepared::new(&problem).expect("a sound problem");
                let play = |luck| play(&problem, &prepared, method, Budget { nodes }, luck);
                (0..PLAYS).map(play).fold(Played::default(), |sum, one| sum.plus(&one))
            })
            .collect();
        let all = played.iter().fold(Played::default(), Played::plus);
        let runs = (JOBS * PLAYS) as f64;
        println!(
            "  {:8} {nodes:5} nodes: {:6.2} min, {:5.2} tests, {:5.2} wrong fixes, {:4.1} % handed on; told {:6.2} min",
            format!("{method:?}"),
            all.minutes / runs,
            all.tests / runs,
            all.wrong_fixes / runs,
            100.0 * all.handed_on / runs,
            all.told / runs
        );
    }
}

#[derive(Default)]
struct Played {
    minutes: f64,
    tests: f64,
    wrong_fixes: f64,
    handed_on: f64,
    /// What the first plan expected.
    told: f64,
}

impl Played {
    fn plus(self, other: &Self) -> Self {
        Self {
            minutes: self.minutes + other.minutes,
            tests: self.tests + other.tests,
            wrong_fixes: self.wrong_fixes + other.wrong_fixes,
            handed_on: self.handed_on + other.handed_on,
            told: self.told + other.told,
        }
    }
}

fn play(
    problem: &Problem,
    prepared: &Prepared,
    method: Method,
    budget: Budget,
    luck: u64,
) -> Played {
    let mut state = problem.start(0);
    let mut played = Played::default();
    let truth = draw(luck, 0, &state.belief);
    loop {
        let plan = plan_by(method, prepared, &state, &budget, &Progress::default());
        if played.minutes <= 0.0 {
            played.told = plan.expected_minutes;
        }
        let Some(at) = plan.ranking.iter().find(|ranked| ranked.action == plan.action) else {
            return played;
        };
        played.minutes += at.added_minutes;
        let (outcome, shares) = match plan.action {
            Action::Test(index) => {
                played.tests += 1.0;
                let rows = &problem.tests[index].likelihood;
                let shares: Vec<f64> = rows.iter().map(|row| row[truth]).collect();
                (draw(luck, 1 + index as u64, &shares), rows.clone())
            }
            Action::Fix(index) => {
                let cures = &problem.fixes[index].cures;
                if draw(luck, 10_001 + index as u64, &[cures[truth], 1.0 - cures[truth]]) == 0 {
                    return played;
                }
                played.wrong_fixes += 1.0;
                (0, vec![cures.iter().map(|cure| 1.0 - cure).collect()])
            }
            Action::Batch(_) | Action::Stop => {
                played.minutes += 120.0;
                played.handed_on += 1.0;
                return played;
            }
        };
        state.advance(problem, plan.action, &shares[outcome]);
    }
}

/// Draws from shares by a number that depends on what is drawn only.
fn draw(luck: u64, what: u64, shares: &[f64]) -> usize {
    let mut dice = Pcg64Mcg::seed_from_u64(luck << 32 | what);
    let mut left = dice.random_range(0.0..1.0);
    for (index, share) in shares.iter().enumerate() {
        left -= share;
        if left < 0.0 {
            return index;
        }
    }
    shares.len() - 1
}

fn compare(title: &str, count: u64, make: fn(u64) -> Problem) {
    println!("{title}");
    let optima: Vec<f64> = (0..count).into_par_iter().map(|seed| optimum(&make(seed))).collect();
    for method in METHODS {
        let mut above: Vec<f64> = (0..count)
            .into_par_iter()
            .map(|seed| walked(&make(seed), method) / optima[seed as usize] - 1.0)
            .collect();
        above.sort_by(f64::total_cmp);
        let mean = above.iter().sum::<f64>() / count as f64;
        let exact = above.iter().filter(|&&share| share < 1e-9).count();
        println!(
            "  {:10} mean {:+6.2} %  95th {:+6.2} %  worst {:+6.2} %  optimal in {:5.1} %",
            format!("{method:?}"),
            100.0 * mean,
            100.0 * above[above.len() * 95 / 100],
            100.0 * above[above.len() - 1],
            100.0 * exact as f64 / count as f64
        );
    }
}

fn optimum(problem: &Problem) -> f64 {
    let prepared = Prepared::new(problem).expect("a sound problem");
    let focused = focus(&prepared, &prepared.node(&problem.start(0)));
    Exact::new(&focused.prepared, u64::MAX).minutes(&focused.node).expect("nodes without end")
}

fn walked(problem: &Problem, method: Method) -> f64 {
    let prepared = Prepared::new(problem).expect("a sound problem");
    Walk::new(&prepared, method, Budget::default()).minutes(&prepared.node(&problem.start(0)))
}

fn time_a_step() {
    let size =
        random::Size { hypotheses: 150, tests: 400, outcomes: 4, modes: 30, places: 8, fixes: 40 };
    println!("one step of a job: {size:?}");
    let problem = random::job(1, &size);
    let before = Instant::now();
    let prepared = Prepared::new(&problem).expect("a sound problem");
    println!("  laid out in {:.1} ms", before.elapsed().as_secs_f64() * 1e3);
    let start = problem.start(0);
    for nodes in [0, 100, Budget::default().nodes, 10_000] {
        let before = Instant::now();
        let plan =
            plan_by(Method::Best, &prepared, &start, &Budget { nodes }, &Progress::default());
        println!(
            "  {nodes:6} nodes allowed: {:5} used, {:8.1} ms, {:?}, {:.2} min expected, bound {:.2}",
            plan.report.nodes,
            before.elapsed().as_secs_f64() * 1e3,
            plan.action,
            plan.expected_minutes,
            plan.bound_minutes
        );
    }
    let before = Instant::now();
    let tree = policy_tree(&prepared, &start, &Limits::default(), &Progress::default());
    println!(
        "  whole tree in {:.1} s: {} branches, {:.2} min and {:.2} tests expected, {:.1} % cut",
        before.elapsed().as_secs_f64(),
        branches(&tree.root),
        tree.expected_minutes,
        tree.expected_tests,
        100.0 * tree.cut_probability
    );
}

fn branches(branch: &Branch) -> usize {
    let below = branch.outcomes.iter().filter_map(|outcome| outcome.next.as_deref());
    1 + below.map(branches).sum::<usize>()
}
