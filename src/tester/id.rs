//! Test ids, as written.

use super::{Target, Tester};
use crate::circuit::{Circuit, TerminalId};
use crate::setup::Setup;

/// The id of a test.
pub fn id(circuit: &Circuit, tester: Tester, target: Target, setup: &Setup) -> String {
    let terminal = |at: TerminalId| circuit.graph[at].id.clone();
    let target = match target {
        Target::Point(at) => terminal(at),
        Target::Pair(a, b) => format!("{}~{}", terminal(a), terminal(b)),
        Target::Part(part) => circuit.parts[part.index()].id.clone(),
        Target::Connector(at) => circuit.connectors[at.index()].id.clone(),
    };
    format!("{}/{target}/{}", tester.id(), setup.id(circuit))
}
