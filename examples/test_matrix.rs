//! Runs the planner on test matrices: `cargo run --release --example test_matrix -- FILE [--json]`.
//!
//! For each matrix: what greedy information per minute costs, what the planner costs (both walked
//! through all outcomes, asked again at every step), the optimum, and a bound no plan can beat.
#![expect(
    clippy::print_stdout,
    clippy::print_stderr,
    clippy::disallowed_methods,
    reason = "an example is its own shell"
)]

#[path = "cases/matrix.rs"]
mod matrix;
#[path = "cases/shell.rs"]
mod shell;

use halfsplit::plan::bound::Bound;
use halfsplit::plan::exact::Exact;
use halfsplit::plan::focus::focus;
use halfsplit::plan::walk::Walk;
use halfsplit::plan::{Budget, Method, Prepared};
use serde::Serialize;

/// Nodes for each choice of the planner.
const PLAN_NODES: u64 = 60_000;

/// Nodes for the optimum; none of the published matrices needs so many.
const EXACT_NODES: u64 = 5_000_000;

#[derive(Serialize)]
struct Answer {
    id: String,
    greedy: f64,
    planned: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    optimum: Option<f64>,
    bound: f64,
    /// The planner without its exact search.
    look_ahead: f64,
}

#[derive(Serialize)]
struct Answers {
    matrices: Vec<Answer>,
}

fn main() -> std::process::ExitCode {
    shell::run("test_matrix", |text| {
        let matrices = matrix::read(text)?;
        let matrices = matrices.iter().map(answer).collect::<Result<_, _>>()?;
        Ok((Answers { matrices }, table))
    })
}

fn answer(matrix: &matrix::Matrix) -> Result<Answer, String> {
    let problem = matrix.problem()?;
    let prepared = Prepared::new(&problem).map_err(|error| error.to_string())?;
    let start = prepared.node(&problem.start(0));
    let walk = |method| Walk::new(&prepared, method, Budget { nodes: PLAN_NODES }).minutes(&start);
    let focused = focus(&prepared, &start);
    let mut exact = Exact::new(&focused.prepared, EXACT_NODES);
    Ok(Answer {
        id: matrix.id.clone(),
        greedy: walk(Method::Greedy),
        planned: walk(Method::Best),
        optimum: exact.minutes(&focused.node).ok(),
        bound: Bound::new(&focused.prepared).minutes(&focused.prepared, &focused.node),
        look_ahead: walk(Method::LookAhead),
    })
}

fn table(answers: &Answers) {
    println!(
        "{:42} {:>10} {:>10} {:>10} {:>10} {:>10}",
        "id", "greedy", "look-ahead", "planned", "optimum", "bound"
    );
    for answer in &answers.matrices {
        let optimum = answer.optimum.map_or("-".into(), |optimum| format!("{optimum:.6}"));
        println!(
            "{:42} {:>10.6} {:>10.6} {:>10.6} {optimum:>10} {:>10.6}",
            answer.id, answer.greedy, answer.look_ahead, answer.planned, answer.bound
        );
    }
}
