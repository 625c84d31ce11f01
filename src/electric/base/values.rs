//! Solutions of a network, and places of it.

use std::sync::OnceLock;

use super::span::Limits;
use crate::electric::linear::equations::Layout;
use crate::electric::network::NodeId;

/// All unknowns of a solution, the largest of them, and what is watched side by side: of a large network
/// each look at some hundred branches would otherwise be a look at as many places of the memory.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Values {
    pub all: Box<[f64]>,
    pub most_volts: f64,
    pub most_amps: f64,
    pub watched: Box<[f64]>,
    /// Of a column: how much of it leaves its level as it is.
    pub limits: OnceLock<Limits>,
}

/// A quantity of a branch that is often looked at.
#[derive(Debug, Clone, Copy)]
pub(in crate::electric) enum Watched {
    Volts(usize),
    Amps(usize),
}

impl Values {
    pub fn new(all: Vec<f64>, layout: &Layout, watched: &[Watched]) -> Self {
        let nodes = layout.nodes;
        let most =
            |values: &[f64]| values.iter().fold(0.0, |most: f64, value| most.max(value.abs()));
        let (most_volts, most_amps) = (most(&all[..nodes]), most(&all[nodes..]));
        let value = |watched: &Watched| match *watched {
            Watched::Volts(branch) => layout.across(&all, branch),
            Watched::Amps(branch) => all[nodes + branch],
        };
        let watched = watched.iter().map(value).collect();
        let (all, limits) = (all.into_boxed_slice(), OnceLock::new());
        Values { all, most_volts, most_amps, watched, limits }
    }
}

/// Where a port is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::electric) enum Place {
    /// A branch of the network.
    Branch(usize),
    /// A branch added between two nodes.
    Pair(NodeId, NodeId),
}
