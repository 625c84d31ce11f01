//! Whether a job is at its goal, and what ending it here would cost.

use super::node::{NOTHING, Node};
use super::prepared::Prepared;
use super::problem::Goal;

/// Whether nothing remains to be done to reach the goal.
pub fn finished(prepared: &Prepared, node: &Node) -> bool {
    prepared.goal == Goal::Isolate && one_class(prepared, node)
}

/// Price of ending the job here: of handing it on, or of being wrong.
///
/// `None` where the job may not be ended: a repair that cannot be handed on, or an isolation.
pub fn stop_minutes(prepared: &Prepared, node: &Node) -> Option<f64> {
    match prepared.goal {
        Goal::Repair { give_up_minutes } => give_up_minutes,
        Goal::Isolate => finished(prepared, node).then_some(0.0),
        Goal::StopAnyTime { loss_if_wrong } => {
            let likeliest = class_shares(prepared, node).fold(0.0, f64::max);
            Some(loss_if_wrong * (1.0 - likeliest).max(0.0))
        }
    }
}

fn one_class(prepared: &Prepared, node: &Node) -> bool {
    class_shares(prepared, node).filter(|&share| share > NOTHING).count() <= 1
}

/// The share of each class.
pub fn class_shares<'a>(prepared: &'a Prepared, node: &'a Node) -> impl Iterator<Item = f64> + 'a {
    prepared.classes.iter().map(|class| node.belief[class.clone()].iter().sum())
}
