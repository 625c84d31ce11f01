//! Runs the planner on repair sequences: `cargo run --release --example repair_cases -- FILE [--json]`.
//!
//! For each case, and each of its variants (prices behind the id), the true expected cost of repair of
//! what the planner does, and what that is: an order of actions, or a policy where questions are asked.
#![expect(
    clippy::print_stdout,
    clippy::print_stderr,
    clippy::disallowed_methods,
    reason = "an example is its own shell"
)]

#[path = "cases/repair.rs"]
mod repair;
#[path = "cases/shell.rs"]
mod shell;

use halfsplit::plan::tree::{Branch, Limits, policy_tree};
use halfsplit::plan::walk::Walk;
use halfsplit::plan::{Action, Budget, Goal, Method, Prepared, Progress};
use serde::Serialize;

/// Nodes for each choice of the planner.
const BUDGET: Budget = Budget { nodes: 50_000 };

#[derive(Serialize)]
struct Answer {
    id: String,
    planned_ecr: f64,
    /// The actions in order, those of one system test side by side with `+`.
    #[serde(skip_serializing_if = "Option::is_none")]
    order: Option<Vec<String>>,
    /// What is done when the order is through without a cure.
    #[serde(skip_serializing_if = "Option::is_none")]
    then: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    policy: Option<Policy>,
    /// The least possible, as the file has it.
    #[serde(skip)]
    known: Option<f64>,
}

/// What to do, and what then.
#[derive(Serialize)]
struct Policy {
    #[serde(rename = "do")]
    action: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    yes: Option<Box<Policy>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    no: Option<Box<Policy>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    not_cured: Option<Box<Policy>>,
}

#[derive(Serialize)]
struct Answers {
    cases: Vec<Answer>,
}

fn main() -> std::process::ExitCode {
    shell::run("repair_cases", |text| {
        let cases = repair::read(text)?.iter().map(answer).collect::<Result<_, _>>()?;
        Ok((Answers { cases }, table))
    })
}

fn answer(case: &repair::Case) -> Result<Answer, String> {
    let prepared = Prepared::new(&case.problem).map_err(|error| error.to_string())?;
    let start = case.problem.start(0);
    let planned_ecr = Walk::new(&prepared, Method::Best, BUDGET).minutes(&prepared.node(&start));
    let tree = policy_tree(
        &prepared,
        &start,
        &Limits { budget: BUDGET, least_probability: 0.0, ..Limits::default() },
        &Progress::default(),
    );
    let steps = order(case, &tree.root);
    let (policy, order) = match steps {
        Some(order) => (None, Some(order)),
        None => (Some(policy(case, &tree.root)), None),
    };
    let service = case.problem.goal != Goal::Repair { give_up_minutes: None };
    let then = (order.is_some() && service).then_some("call service");
    let known = case.optimum_ecr;
    Ok(Answer { id: case.id.clone(), planned_ecr, order, then, policy, known })
}

/// The actions in order when no question is asked.
fn order(case: &repair::Case, root: &Branch) -> Option<Vec<String>> {
    let mut order = Vec::new();
    let mut next = Some(root);
    while let Some(branch) = next {
        match branch.action {
            Action::Stop => break,
            Action::Test(_) => return None,
            Action::Fix(_) | Action::Batch(_) => order.push(name(case, branch.action)),
        }
        next = after(branch, 1);
    }
    Some(order)
}

/// What follows an outcome.
fn after(branch: &Branch, outcome: usize) -> Option<&Branch> {
    let found = branch.outcomes.iter().find(|found| found.outcome == outcome);
    found.and_then(|found| found.next.as_deref())
}

fn policy(case: &repair::Case, branch: &Branch) -> Policy {
    let then = |outcome| after(branch, outcome).map(|next| Box::new(policy(case, next)));
    let action = name(case, branch.action);
    match branch.action {
        Action::Test(_) => Policy { action, yes: then(1), no: then(0), not_cured: None },
        _ => Policy { action, yes: None, no: None, not_cured: then(1) },
    }
}

fn name(case: &repair::Case, action: Action) -> String {
    match action {
        Action::Test(index) => case.questions[index].clone(),
        Action::Fix(index) => case.actions[index].clone(),
        Action::Batch(index) => {
            let names = case.problem.batches[index].iter().map(|&fix| case.actions[fix].as_str());
            names.collect::<Vec<_>>().join("+")
        }
        Action::Stop => "call service".into(),
    }
}

fn table(answers: &Answers) {
    println!("{:45} {:>9} {:>9}  what is done", "id", "planned", "optimum");
    for answer in &answers.cases {
        let steps = match (&answer.order, &answer.policy) {
            (Some(order), _) => order.join(", "),
            (None, Some(policy)) => words(policy),
            (None, None) => String::new(),
        };
        let known = answer.known.map_or("-".into(), |known| format!("{known:.4}"));
        println!("{:45} {:>9.4} {known:>9}  {steps}", answer.id, answer.planned_ecr);
    }
}

fn words(policy: &Policy) -> String {
    let part = |label: &str, next: &Option<Box<Policy>>| {
        next.as_ref().map(|next| format!("{label}({})", words(next))).unwrap_or_default()
    };
    let (yes, no) = (part(" yes ", &policy.yes), part(" no ", &policy.no));
    let then =
        policy.not_cured.as_ref().map(|next| format!(", {}", words(next))).unwrap_or_default();
    format!("{}{yes}{no}{then}", policy.action)
}
