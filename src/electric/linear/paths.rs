//! Single entries of the inverse of a large sparse matrix.
//!
//! A unit on the right of one equation spreads, in the forward half of a solution, along one path of the
//! elimination tree only; and the backward half of one unknown asks for those on its own path only. In a
//! network that is nearly a tree such paths have some ten steps, whatever its size, up to the last few hundred
//! steps that all paths share: what those do to each other is a small dense matrix, of which columns are kept.
//! So an entry costs some tens of products, where a column would cost as many as there are unknowns, and be as
//! many numbers to keep. (The elimination tree: J. W. H. Liu 1990, from memory.)

use std::cell::Ref;
use std::collections::HashMap;
use std::hash::BuildHasherDefault;
use std::sync::OnceLock;

use super::sparse_lu::Factors;
use super::spreading::Spreading;

/// Paths with fewer entries on the mean are short enough.
const SHORT: u64 = 16;

/// No more steps than these are kept as a dense matrix.
const MOST_TOP: usize = 512;

/// No step.
const NONE: u32 = u32::MAX;

/// Factors, by steps, with the tree of their elimination.
#[derive(Debug)]
pub(in crate::electric) struct Paths {
    step_of_equation: Vec<u32>,
    step_of_unknown: Vec<u32>,
    /// The next step on the way to the root.
    parent: Vec<u32>,
    /// Steps to the top.
    depth: Vec<u32>,
    /// Where the top begins: the steps all others lead to.
    cut: u32,
    /// What a unit at each step of the top does to all of them, once it was asked for.
    top: Box<[OnceLock<Box<[f64]>>]>,
    pivots: Vec<f64>,
    /// What a step takes from later equations, by their steps.
    lower: Lists,
    /// What a step's unknown takes from later ones.
    upper: Lists,
}

/// A list of steps and values for each step.
#[derive(Debug)]
struct Lists {
    starts: Vec<u32>,
    entries: Vec<(u32, f64)>,
}

impl Lists {
    /// From triples of a step, the step it has in its list, and the value; in the order they come.
    fn new(size: usize, triples: impl Iterator<Item = (u32, u32, f64)> + Clone) -> Lists {
        let mut starts = vec![0; size + 1];
        for (step, ..) in triples.clone() {
            starts[step as usize + 1] += 1;
        }
        for step in 0..size {
            starts[step + 1] += starts[step];
        }
        let mut next = starts.clone();
        let mut entries = vec![(0, 0.0); starts[size] as usize];
        for (step, other, value) in triples {
            entries[next[step as usize] as usize] = (other, value);
            next[step as usize] += 1;
        }
        Lists { starts, entries }
    }

    fn of(&self, step: u32) -> &[(u32, f64)] {
        let step = step as usize;
        &self.entries[self.starts[step] as usize..self.starts[step + 1] as usize]
    }
}

impl Paths {
    pub fn new(factors: &Factors) -> Paths {
        let size = factors.size();
        let mut step_of_equation = vec![0; size];
        let mut step_of_unknown = vec![0; size];
        for step in 0..size {
            let (equation, unknown) = factors.pair(step);
            step_of_equation[equation] = step as u32;
            step_of_unknown[unknown] = step as u32;
        }
        let steps = || 0..size as u32;
        let lower = steps().flat_map(|step| {
            let later = factors.lower(step as usize).iter();
            later.map(|&(equation, factor)| (step, equation, factor)).collect::<Vec<_>>()
        });
        let lower: Vec<(u32, u32, f64)> = lower
            .map(|(step, equation, factor)| (step, step_of_equation[equation], factor))
            .collect();
        let mut upper = Vec::with_capacity(lower.len());
        for step in steps() {
            let earlier = factors.upper(step as usize).iter();
            upper.extend(earlier.map(|&(earlier, value)| (earlier as u32, step, value)));
        }
        let parent = tree(size, lower.iter().chain(&upper).map(|&(early, late, _)| (early, late)));
        let upper = Lists::new(size, upper.iter().copied());
        let cut = cut(&parent, &upper);
        let mut depth = vec![0; size];
        for step in (0..cut as usize).rev() {
            if parent[step] < cut {
                depth[step] = depth[parent[step] as usize] + 1;
            }
        }
        Paths {
            cut,
            top: (cut as usize..size).map(|_| OnceLock::new()).collect(),
            step_of_equation,
            step_of_unknown,
            parent,
            depth,
            pivots: (0..size).map(|step| factors.pivot(step)).collect(),
            lower: Lists::new(size, lower.iter().copied()),
            upper,
        }
    }

    /// What a value on the right of one equation becomes on its way through the forward half; what reaches
    /// the top is added to `top`.
    fn spread(&self, equation: usize, value: f64, top: &mut Vec<(u32, f64)>) -> Spread {
        let mut steps = Vec::new();
        let first = self.step_of_equation[equation];
        let mut at = first;
        while at < self.cut {
            steps.push(at);
            at = self.parent[at as usize];
        }
        if steps.is_empty() {
            add(top, first - self.cut, value);
        }
        steps.reverse();
        let mut values = vec![0.0; steps.len()];
        if let Some(last) = values.last_mut() {
            *last = value;
        }
        for depth in (0..steps.len()).rev() {
            let value = values[depth];
            if value == 0.0 {
                continue;
            }
            for &(later, factor) in self.lower.of(steps[depth]) {
                match later.checked_sub(self.cut) {
                    Some(index) => add(top, index, -factor * value),
                    None => values[self.depth[later as usize] as usize] -= factor * value,
                }
            }
        }
        Spread { steps, values }
    }

    fn top_column(&self, index: u32) -> &[f64] {
        self.top[index as usize].get_or_init(|| self.solve_top(index as usize))
    }

    fn solve_top(&self, index: usize) -> Box<[f64]> {
        let mut values = vec![0.0; self.top.len()];
        values[index] = 1.0;
        let step = |index: usize| self.cut + index as u32;
        for index in index..values.len() {
            let value = values[index];
            if value != 0.0 {
                for &(later, factor) in self.lower.of(step(index)) {
                    values[(later - self.cut) as usize] -= factor * value;
                }
            }
        }
        for index in (0..values.len()).rev() {
            let later = self.upper.of(step(index)).iter();
            let taken: f64 =
                later.map(|&(later, above)| above * values[(later - self.cut) as usize]).sum();
            values[index] = (values[index] - taken) / self.pivots[step(index) as usize];
        }
        values.into_boxed_slice()
    }
}

/// Adds to the value of a step in a short list.
fn add(list: &mut Vec<(u32, f64)>, step: u32, value: f64) {
    match list.iter_mut().find(|one| one.0 == step) {
        Some(one) => one.1 += value,
        None => list.push((step, value)),
    }
}

/// Where the top has to begin for paths below it to be short.
fn cut(parent: &[u32], upper: &Lists) -> u32 {
    let size = parent.len();
    let mut top = (size / 64).max(1);
    loop {
        let cut = size.saturating_sub(top.min(MOST_TOP));
        let mut entries = vec![0_u64; cut];
        for step in (0..cut).rev() {
            let above = entries.get(parent[step] as usize).copied().unwrap_or(0);
            entries[step] = above + upper.of(step as u32).len() as u64;
        }
        let sum: u64 = entries.iter().sum();
        if sum <= SHORT * cut as u64 || top >= MOST_TOP {
            return cut as u32;
        }
        top *= 2;
    }
}

/// The elimination tree of a pattern of pairs of an earlier and a later step, in any order.
fn tree(size: usize, pairs: impl Iterator<Item = (u32, u32)>) -> Vec<u32> {
    let mut pairs: Vec<(u32, u32)> = pairs.map(|(early, late)| (late, early)).collect();
    pairs.sort_unstable();
    let mut parent = vec![NONE; size];
    let mut ancestor = vec![NONE; size];
    for (late, early) in pairs {
        let mut at = early;
        while at != late {
            let next = std::mem::replace(&mut ancestor[at as usize], late);
            if next == NONE {
                parent[at as usize] = late;
                break;
            }
            at = next;
        }
    }
    parent
}

/// Values on a path, from the top down.
#[derive(Debug, Clone)]
struct Spread {
    steps: Vec<u32>,
    values: Vec<f64>,
}

/// A solution of which single unknowns are asked for.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Walk<'paths> {
    paths: &'paths Paths,
    spreads: Vec<Spread>,
    /// The spreads of many together, by their steps.
    together: Option<HashMap<u32, f64, BuildHasherDefault<Spreading>>>,
    /// Steps of the top, counted from its first, with their shares in the solution, and what they do to all of it.
    top: Vec<(u32, f64, &'paths [f64])>,
    /// The top as a whole, where that is worth it.
    whole_top: Vec<f64>,
    /// The path of the unknown asked for last, with what was found on it.
    steps: Vec<u32>,
    values: Vec<f64>,
    climb: Vec<u32>,
}

impl<'paths> Walk<'paths> {
    /// For these values on the right of these equations.
    pub fn new(paths: &'paths Paths, right: &[(usize, f64)]) -> Self {
        let mut top = Vec::with_capacity(8);
        let spread = |&(equation, value): &(usize, f64)| paths.spread(equation, value, &mut top);
        let spreads = right.iter().map(spread).collect();
        let column = |&(index, value): &(u32, f64)| (index, value, paths.top_column(index));
        let top = top.iter().filter(|one| one.1 != 0.0).map(column).collect();
        Walk {
            paths,
            spreads,
            together: None,
            top,
            whole_top: Vec::new(),
            steps: Vec::with_capacity(16),
            values: Vec::with_capacity(16),
            climb: Vec::with_capacity(16),
        }
    }

    /// So much of each of some solutions together, made ready to be asked for many unknowns.
    pub fn together<'a>(
        paths: &'paths Paths,
        parts: impl Iterator<Item = (Ref<'a, Self>, f64)>,
    ) -> Self
    where
        'paths: 'a,
    {
        let mut together: HashMap<u32, f64, BuildHasherDefault<Spreading>> = HashMap::default();
        let mut of_top = vec![0.0; paths.top.len()];
        for (part, much) in parts {
            for spread in &part.spreads {
                for (&step, value) in spread.steps.iter().zip(&spread.values) {
                    *together.entry(step).or_insert(0.0) += much * value;
                }
            }
            part.top.iter().for_each(|one| of_top[one.0 as usize] += much * one.1);
        }
        let mut whole_top = vec![0.0; paths.top.len()];
        for (index, share) in of_top.into_iter().enumerate().filter(|one| one.1 != 0.0) {
            let column = paths.top_column(index as u32);
            whole_top.iter_mut().zip(column).for_each(|(sum, value)| *sum += value * share);
        }
        Walk { together: Some(together), whole_top, ..Walk::new(paths, &[]) }
    }

    fn of_top(&self, step: u32) -> f64 {
        let index = (step - self.paths.cut) as usize;
        if let Some(value) = self.whole_top.get(index) {
            return *value;
        }
        self.top.iter().map(|(_, share, column)| column[index] * share).sum()
    }

    /// An unknown of the solution.
    pub fn unknown(&mut self, unknown: usize) -> f64 {
        let paths = self.paths;
        let step = paths.step_of_unknown[unknown];
        if step >= paths.cut {
            return self.of_top(step);
        }
        let mut at = step;
        self.climb.clear();
        while at < paths.cut && self.steps.get(paths.depth[at as usize] as usize) != Some(&at) {
            self.climb.push(at);
            at = paths.parent[at as usize];
        }
        let known = if at < paths.cut { paths.depth[at as usize] as usize + 1 } else { 0 };
        if self.climb.is_empty() {
            // On the path, maybe not at its end: what is below stays.
            return self.values[known - 1];
        }
        self.steps.truncate(known);
        self.values.truncate(known);
        while let Some(step) = self.climb.pop() {
            let value = self.found(step);
            self.steps.push(step);
            self.values.push(value);
        }
        self.values[self.values.len() - 1]
    }

    /// The unknown of the step that comes next on the path.
    fn found(&self, step: u32) -> f64 {
        let (paths, depth) = (self.paths, self.steps.len());
        let of_right = |spread: &Spread| {
            let is_here = spread.steps.get(depth) == Some(&step);
            if is_here { spread.values[depth] } else { 0.0 }
        };
        let mut value: f64 = self.spreads.iter().map(of_right).sum();
        if let Some(together) = &self.together {
            value += together.get(&step).copied().unwrap_or(0.0);
        }
        for &(later, above) in paths.upper.of(step) {
            let other = if later >= paths.cut {
                self.of_top(later)
            } else {
                self.values[paths.depth[later as usize] as usize]
            };
            value -= above * other;
        }
        value / paths.pivots[step as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::electric::law::Row;
    use crate::electric::linear::equations::Layout;
    use crate::electric::linear::ordering::order;

    /// A ladder with rungs, some of them nearly shorts: every entry of its inverse both ways.
    #[test]
    fn entries_are_those_of_whole_columns() {
        let nodes = 14;
        let mut ends = vec![(1, 0)];
        ends.extend((1..nodes - 1).map(|node| (node, node + 1)));
        ends.extend((2..nodes).step_by(3).map(|node| (node, 0)));
        ends.extend((1..nodes - 4).step_by(4).map(|node| (node, node + 4)));
        let layout = Layout { nodes, ends };
        let ohms = |branch: usize| [0.01, 1.0, 250.0, 3e-3][branch % 4];
        let rows: Vec<Row> =
            (0..layout.ends.len()).map(|branch| Row::source(0.0, ohms(branch))).collect();
        let matrix = layout.matrix(&rows);
        let factors = Factors::new(&matrix, &order(&layout, &rows, &matrix)).unwrap();
        let paths = Paths::new(&factors);
        for equation in 1..layout.size() {
            let mut right = vec![0.0; layout.size()];
            right[equation] += 1.0;
            right[1] -= 0.5;
            let whole = factors.solve(right);
            let mut walk = Walk::new(&paths, &[(equation, 1.0), (1, -0.5)]);
            for unknown in (0..layout.size()).rev().step_by(3).chain(0..layout.size()) {
                let (one, other) = (walk.unknown(unknown), whole[unknown]);
                assert!((one - other).abs() <= 1e-12 * (1.0 + other.abs()), "{one} and {other}");
            }
        }
    }
}
