//! Which test or repair comes next: expected minutes to a proven repair.
//!
//! The room knows no circuit. `problem` states what is uncertain and what each action costs and shows,
//! `prepared` is the same problem laid out for counting, as `step`s with all likelihoods in one `table`, `focus` the
//! part of it that matters in one state, a `node`; `goal` says whether that is the end, and what ending there costs. `score` and `table` hold the one-step rules, `base` the policy made of
//! them, `look` the look-ahead over it, `exact` the optimum where it can be computed, `optimum` asks for it alone,
//! `bound` what no plan can beat. `search` spends a `budget` on one choice and `decide` makes it, an `action`; `revised`
//! is a problem in which a hypothesis has come to show something else. `tree` is the whole policy for print, `walk` what a policy really costs. `bit_set` and `words` are what they count with.

pub mod action;
pub mod base;
pub mod bit_set;
pub mod bound;
pub mod budget;
pub mod decide;
pub mod exact;
pub mod focus;
pub mod goal;
pub mod look;
pub mod node;
pub mod optimum;
pub mod prepared;
pub mod problem;
pub mod revised;
pub mod score;
pub mod search;
pub mod step;
pub mod table;
pub mod tree;
pub mod walk;
pub mod words;

pub use action::{Action, Plan, Ranked, Report};
pub use budget::{Budget, Ended, Method, Progress};
pub use decide::{plan, plan_by};
pub use optimum::optimum;
pub use prepared::Prepared;
pub use problem::{Fix, Goal, Problem, ProblemError, State, Test};
pub use tree::policy_tree;
