//! Which way is down, and which chains stand one below the other in one track.
//!
//! Each node gets a height: the volts it would have if its parts were resistors between the rails, loads
//! large ones. Volts of such a net have no local peaks, so that following a chain down always leads on down
//! to the ground rail; that is an order without dead ends, whatever the graph looks like.

use std::collections::VecDeque;

use super::chains::Net;
use super::shape;
use crate::circuit::{Circuit, Kind};

/// Sweeps over the net at most; heights have to be told apart, not known exactly.
const MOST_SWEEPS: usize = 2000;
/// Volts fall over what the circuit is for, not over wires and contacts: a load counts as so many of these.
const LOAD: f64 = 10.0;
/// Nodes whose heights differ by less may change places for a diode between them.
const LIKE: f64 = 0.3;
/// Heights nearer than this are the same.
const SAME: f64 = 1e-6;

/// The net with its chains all turned downwards, and its tracks.
#[derive(Debug)]
pub struct Tracks {
    /// Nodes from the top down.
    pub order: Vec<usize>,
    /// Chains one below the other.
    pub tracks: Vec<Vec<usize>>,
}

/// Turns all chains downwards and joins them into tracks.
pub fn arrange(circuit: &Circuit, net: &mut Net) -> Tracks {
    let order = downwards(circuit, net);
    let mut place = vec![0; net.nodes.len()];
    for (at, node) in order.iter().enumerate() {
        place[*node] = at;
    }
    for chain in &mut net.chains {
        if place[chain.nodes[0]] > place[chain.nodes[1]] {
            chain.turn();
        }
    }
    let tracks = join(net, &order);
    Tracks { order, tracks }
}

/// All nodes, the supply rail first, the ground rail last, by falling height; but the anode of a diode
/// between two of about the same height comes before its cathode.
fn downwards(circuit: &Circuit, net: &Net) -> Vec<usize> {
    let heights = heights(circuit, net);
    let mut order = by_height(net, &heights);
    for [anode, cathode] in diodes(circuit, net) {
        let place = |node: usize| order.iter().position(|one| *one == node);
        let (Some(above), Some(below)) = (place(anode), place(cathode)) else { continue };
        let inner = ![anode, cathode].iter().any(|node| [net.top, net.bottom].contains(node));
        if inner && above > below && (heights[anode] - heights[cathode]).abs() < LIKE {
            let node = order.remove(below);
            order.insert(above, node);
        }
    }
    order
}

/// By chain with a diode in it: the node at the diode's anode, and that at its cathode.
fn diodes(circuit: &Circuit, net: &Net) -> Vec<[usize; 2]> {
    let mut found = Vec::new();
    for chain in &net.chains {
        let diode = chain.steps.iter().find(|step| circuit.part(step.part).kind == Kind::Diode);
        let Some((step, link)) = diode.and_then(|step| Some((step, step.links.first()?))) else {
            continue;
        };
        let [first, second] = chain.nodes;
        let forward = circuit.ends(*link).0 == step.ends[0];
        found.push(if forward { [first, second] } else { [second, first] });
    }
    found
}

fn by_height(net: &Net, heights: &[f64]) -> Vec<usize> {
    let steps = steps_from_top(net);
    let mut order: Vec<usize> = (0..net.nodes.len()).collect();
    let rail = |node: usize| match node {
        node if node == net.top => 0,
        node if node == net.bottom => 2,
        _ => 1,
    };
    order.sort_by(|a, b| {
        let height = |node: usize| -(heights[node] / SAME).round();
        rail(*a)
            .cmp(&rail(*b))
            .then(height(*a).total_cmp(&height(*b)))
            .then(steps[*a].cmp(&steps[*b]))
            .then(a.cmp(b))
    });
    order
}

fn heights(circuit: &Circuit, net: &Net) -> Vec<f64> {
    let mut at: Vec<Vec<(usize, f64)>> = vec![Vec::new(); net.nodes.len()];
    for chain in &net.chains {
        let hard = chain
            .steps
            .iter()
            .map(|step| if shape::of(circuit, step).is_load() { LOAD } else { 1.0 });
        let ease = 1.0 / hard.sum::<f64>().max(1.0);
        let [first, second] = chain.nodes;
        at[first].push((second, ease));
        at[second].push((first, ease));
    }
    let mut heights = vec![0.5; net.nodes.len()];
    heights[net.top] = 1.0;
    heights[net.bottom] = 0.0;
    for _ in 0..MOST_SWEEPS {
        let mut moved = 0.0_f64;
        for node in 0..heights.len() {
            if node == net.top || node == net.bottom || at[node].is_empty() {
                continue;
            }
            let total: f64 = at[node].iter().map(|(_, ease)| ease).sum();
            let sum: f64 = at[node].iter().map(|(other, ease)| ease * heights[*other]).sum();
            moved = moved.max((sum / total - heights[node]).abs());
            heights[node] = sum / total;
        }
        if moved < SAME / 10.0 {
            break;
        }
    }
    heights
}

fn steps_from_top(net: &Net) -> Vec<usize> {
    let mut steps = vec![usize::MAX; net.nodes.len()];
    steps[net.top] = 0;
    let mut next = VecDeque::from([net.top]);
    while let Some(at) = next.pop_front() {
        for chain in net.chains.iter().filter(|chain| chain.nodes.contains(&at)) {
            let other = chain.nodes[usize::from(chain.nodes[0] == at)];
            if steps[other] == usize::MAX {
                steps[other] = steps[at] + 1;
                next.push_back(other);
            }
        }
    }
    steps
}

/// At each node the longest way down to it goes on in the longest way down from it.
fn join(net: &Net, order: &[usize]) -> Vec<Vec<usize>> {
    let into = |node: usize| chains_where(net, 1, node);
    let out_of = |node: usize| chains_where(net, 0, node);
    let mut above = vec![0; net.nodes.len()];
    let mut below = vec![0; net.nodes.len()];
    for node in order {
        let longest =
            into(*node).map(|at| above[net.chains[at].nodes[0]] + net.chains[at].steps.len());
        above[*node] = longest.max().unwrap_or(0);
    }
    for node in order.iter().rev() {
        let longest =
            out_of(*node).map(|at| below[net.chains[at].nodes[1]] + net.chains[at].steps.len());
        below[*node] = longest.max().unwrap_or(0);
    }
    let mut follows: Vec<Option<usize>> = vec![None; net.chains.len()];
    let mut begins = vec![true; net.chains.len()];
    for node in order.iter().filter(|node| **node != net.top && **node != net.bottom) {
        let mut ins: Vec<usize> = into(*node).collect();
        let mut outs: Vec<usize> = out_of(*node).collect();
        ins.sort_by_key(|at| {
            usize::MAX - above[net.chains[*at].nodes[0]] - net.chains[*at].steps.len()
        });
        outs.sort_by_key(|at| {
            usize::MAX - below[net.chains[*at].nodes[1]] - net.chains[*at].steps.len()
        });
        for (upper, lower) in ins.into_iter().zip(outs) {
            follows[upper] = Some(lower);
            begins[lower] = false;
        }
    }
    let walk = |first: usize| std::iter::successors(Some(first), |at| follows[*at]).collect();
    (0..net.chains.len()).filter(|at| begins[*at]).map(walk).collect()
}

fn chains_where(net: &Net, end: usize, node: usize) -> impl Iterator<Item = usize> + '_ {
    let chains = net.chains.iter().enumerate();
    chains.filter(move |(_, chain)| chain.nodes[end] == node).map(|(at, _)| at)
}
