//! How near the planner comes to the optimum, and what a step costs: `cargo bench --bench planner`.
//!
//! Prints ratios and counts. Expected costs are walked through all outcomes, with the planner asked
//! again at every step.
#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench is its own shell and looks at the clock"
)]

use std::time::Instant;

use halfsplit::plan::exact::Exact;
use halfsplit::plan::focus::focus;
use halfsplit::plan::walk::Walk;
use halfsplit::plan::{Budget, Method, Prepared, Problem, Progress, plan_by};
use rayon::prelude::*;

#[path = "../examples/cases/random.rs"]
mod random;

const METHODS: [Method; 4] = [Method::Greedy, Method::Rollout, Method::LookAhead, Method::Best];

fn main() {
    // compare("500 plain problems, 8 to 12 hypotheses", 500, random::plain);
    // compare("200 with places, setups, classes, 12 x 10", 200, random::placed);
    time_a_step();
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
    let focused = focus(&prepared, &prepared.node(&problem.start(0)), 0.0);
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
}
