//! The yardstick: what the best of all plans would need.

use super::exact::Exact;
use super::focus::focus;
use super::prepared::Prepared;
use super::problem::State;
use super::search::EXACT_ENTRIES;

/// The least expected minutes of any plan from `state`, if it is found within so many nodes.
///
/// `None` says only that it was not found: the problem is too big, or its tests err too much.
pub fn optimum(prepared: &Prepared, state: &State, nodes: u64) -> Option<f64> {
    let focus = focus(prepared, &prepared.node(state));
    if focus.prepared.table.entries() > EXACT_ENTRIES {
        return None;
    }
    Exact::new(&focus.prepared, nodes).minutes(&focus.node).ok()
}
