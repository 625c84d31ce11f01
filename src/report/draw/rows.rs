//! In which rows things stand.
//!
//! Nodes go as high as the chains above them let them; a chain longer than its parts lets its wires be long.
//! Where a bar passes a track it does not belong to, only a wire may be, and no label.

use std::collections::BTreeSet;

use super::chains::{Net, Step};
use super::label::Line;
use super::shape::Shape;

/// Rounds in which bars push parts out of their way, and these push bars.
const MOST_ROUNDS: usize = 60;

/// A step with what it looks like.
#[derive(Debug, Clone)]
pub struct Sized {
    /// The step.
    pub step: Step,
    /// Its symbol.
    pub shape: Shape,
    /// Its label.
    pub label: Vec<Line>,
    /// Rows it needs.
    pub rows: usize,
}

/// Where everything stands.
#[derive(Debug, Clone)]
pub struct Placed {
    /// By node: its bar's row.
    pub levels: Vec<usize>,
    /// By chain: the first row of each of its steps.
    pub rows: Vec<Vec<usize>>,
    /// By chain: rows in which a bar passes through it.
    pub passes: Vec<Vec<usize>>,
}

impl Placed {
    /// Bars that pass through chains they do not belong to.
    pub fn crossings(&self) -> usize {
        self.passes.iter().map(Vec::len).sum()
    }
}

/// What keeps things from standing as high as they could.
#[derive(Debug, Clone)]
pub struct Wishes {
    /// By chain: rows in which bars pass.
    passes: Vec<Vec<usize>>,
    /// By node: the highest row it may have.
    least: Vec<usize>,
}

impl Wishes {
    /// Nothing in the way.
    pub fn none(net: &Net) -> Wishes {
        Wishes { passes: vec![Vec::new(); net.chains.len()], least: vec![0; net.nodes.len()] }
    }
}

/// The row of each node.
pub fn levels(net: &Net, order: &[usize], chains: &[Vec<Sized>], wishes: &Wishes) -> Vec<usize> {
    let mut into: Vec<Vec<usize>> = vec![Vec::new(); net.nodes.len()];
    let mut out: Vec<Vec<usize>> = vec![Vec::new(); net.nodes.len()];
    for (at, chain) in net.chains.iter().enumerate() {
        out[chain.nodes[0]].push(at);
        into[chain.nodes[1]].push(at);
    }
    let mut levels = vec![0; net.nodes.len()];
    let inner = || order.iter().copied().filter(|node| *node != net.top);
    for node in inner() {
        let from = |at: &usize| levels[net.chains[*at].nodes[0]] + 1;
        let ends = into[node].iter().map(|at| fill(&chains[*at], from(at), &wishes.passes[*at]).1);
        levels[node] = ends.max().unwrap_or(0).max(wishes.least[node]).max(1);
    }
    // Nodes that nothing comes down to hang just above what they lead to.
    for node in inner().collect::<Vec<_>>().into_iter().rev().filter(|node| into[*node].is_empty())
    {
        let room = out[node].iter().map(|at| {
            let tall: usize = chains[*at].iter().map(|step| step.rows).sum();
            levels[net.chains[*at].nodes[1]].saturating_sub(tall + 1)
        });
        levels[node] = room.min().unwrap_or(0).max(levels[node]);
    }
    let others = levels.iter().enumerate().filter(|(node, _)| *node != net.bottom);
    let lowest = others.map(|(_, level)| *level).max().unwrap_or(0);
    levels[net.bottom] = levels[net.bottom].max(lowest + 1);
    levels
}

/// First rows of the steps from `top` down, clear of `passes`, and the first row behind them.
fn fill(steps: &[Sized], top: usize, passes: &[usize]) -> (Vec<usize>, usize) {
    let mut row = top;
    let mut rows = Vec::with_capacity(steps.len());
    for step in steps {
        row = clear_below(row, step.rows, passes);
        rows.push(row);
        row += step.rows;
    }
    (rows, row)
}

fn clear_below(mut row: usize, rows: usize, passes: &[usize]) -> usize {
    while let Some(hit) = passes.iter().filter(|at| (row..row + rows).contains(at)).max() {
        row = hit + 1;
    }
    row
}

fn clear_above(mut row: usize, rows: usize, passes: &[usize]) -> usize {
    while let Some(hit) = passes.iter().filter(|at| (row..row + rows).contains(at)).min() {
        row = hit.saturating_sub(rows);
    }
    row
}

/// Places everything, with the tracks in this order.
pub fn place(net: &Net, order: &[usize], chains: &[Vec<Sized>], tracks: &[Vec<usize>]) -> Placed {
    let spans = spans(net, tracks);
    let mut wishes = Wishes::none(net);
    let mut found = Vec::new();
    for _ in 0..MOST_ROUNDS {
        found = levels(net, order, chains, &wishes);
        let apart = separate(net, order, &spans, &found, &mut wishes.least);
        let now = passing(net, tracks, &spans, &found);
        if !apart && now == wishes.passes {
            break;
        }
        wishes.passes = now;
    }
    let rows = net.chains.iter().enumerate().map(|(at, chain)| {
        let [upper, lower] = chain.nodes.map(|node| found[node]);
        within(&chains[at], upper + 1, lower, &wishes.passes[at])
    });
    Placed { rows: rows.collect(), levels: found, passes: wishes.passes }
}

/// By node: the first and the last track of its bar.
fn spans(net: &Net, tracks: &[Vec<usize>]) -> Vec<(usize, usize)> {
    let mut spans = vec![(usize::MAX, 0); net.nodes.len()];
    for (track, chains) in tracks.iter().enumerate() {
        for node in chains.iter().flat_map(|chain| net.chains[*chain].nodes) {
            spans[node] = (spans[node].0.min(track), spans[node].1.max(track));
        }
    }
    spans
}

/// Bars that would lie on one another are told to lie lower; whether any were.
fn separate(
    net: &Net,
    order: &[usize],
    spans: &[(usize, usize)],
    levels: &[usize],
    least: &mut [usize],
) -> bool {
    let inner: Vec<usize> =
        order.iter().copied().filter(|node| *node != net.top && *node != net.bottom).collect();
    let mut moved = false;
    for (at, upper) in inner.iter().enumerate() {
        for lower in &inner[at + 1..] {
            let meet = spans[*upper].0 <= spans[*lower].1 && spans[*lower].0 <= spans[*upper].1;
            if levels[*upper] == levels[*lower] && meet && least[*lower] <= levels[*upper] {
                least[*lower] = levels[*upper] + 1;
                moved = true;
            }
        }
    }
    moved
}

/// By chain: rows in which bars of other nodes pass.
fn passing(
    net: &Net,
    tracks: &[Vec<usize>],
    spans: &[(usize, usize)],
    levels: &[usize],
) -> Vec<Vec<usize>> {
    let mut passes = vec![BTreeSet::new(); net.chains.len()];
    for (track, chains) in tracks.iter().enumerate() {
        for chain in chains {
            let ends = net.chains[*chain].nodes;
            let [upper, lower] = ends.map(|node| levels[node]);
            for (node, span) in spans.iter().enumerate() {
                // A bar that begins here and goes right would run through labels beside the line.
                let passes_by =
                    span.0 <= track && track < span.1 || span.0 < track && track <= span.1;
                let inner = node != net.top && node != net.bottom && !ends.contains(&node);
                if inner && passes_by && (upper + 1..lower).contains(&levels[node]) {
                    passes[*chain].insert(levels[node]);
                }
            }
        }
    }
    passes.into_iter().map(|rows| rows.into_iter().collect()).collect()
}

/// First rows of the steps between two bars: what comes before the load from the top, the rest from below.
fn within(steps: &[Sized], top: usize, end: usize, passes: &[usize]) -> Vec<usize> {
    let (high, _) = fill(steps, top, passes);
    let mut low = vec![0; steps.len()];
    let mut row = end;
    for (at, step) in steps.iter().enumerate().rev() {
        row = clear_above(row.saturating_sub(step.rows), step.rows, passes);
        low[at] = row;
    }
    // A label at the end of a chain belongs to the bar there.
    let load = steps.iter().position(|step| step.shape.is_load());
    let sinks = steps
        .iter()
        .rposition(|step| matches!(step.shape, Shape::Ground | Shape::Body | Shape::Dot));
    let first_low = load.or(sinks).unwrap_or(steps.len());
    (0..steps.len())
        .map(|at| if at < first_low { high[at] } else { low[at].max(high[at]) })
        .collect()
}
