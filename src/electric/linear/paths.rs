//! Single entries of the inverse of a large sparse matrix.
//!
//! A unit on the right of one equation spreads, in the forward half of a solution, along one path of the
//! elimination tree only; and the backward half of one unknown asks for those on its own path only. In a
//! network that is nearly a tree such paths have some ten steps, whatever its size, up to the last few hundred
//! steps that all paths share: what those do to each other is a small dense matrix, of which columns are kept.
//! Both halves are kept, for each equation and each unknown that was asked about: an entry is then the product of
//! two short lists as far as their paths are one, where a column would cost a product for each unknown, and be as
//! many numbers to keep. (The elimination tree: J. W. H. Liu 1990, from memory.)

use std::sync::OnceLock;

use smallvec::SmallVec;

use super::sparse_lu::Factors;

pub(in crate::electric) mod together;
pub(in crate::electric) mod walk;

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
    /// The forward half of a unit on the right of each equation, once it was asked for.
    forward: Box<[OnceLock<Half>]>,
    /// The backward half of the unknown of each step below the top, once it was asked for.
    backward: Box<[OnceLock<Half>]>,
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
            forward: (0..size).map(|_| OnceLock::new()).collect(),
            backward: (0..cut).map(|_| OnceLock::new()).collect(),
            step_of_equation,
            step_of_unknown,
            parent,
            depth,
            pivots: (0..size).map(|step| factors.pivot(step)).collect(),
            lower: Lists::new(size, lower.iter().copied()),
            upper,
        }
    }

    /// What becomes of a unit on the right of one equation at the steps of its path.
    fn forward(&self, equation: usize) -> &Half {
        self.forward[equation].get_or_init(|| {
            let first = self.step_of_equation[equation];
            self.climb(first, &self.lower, |_, came| came)
        })
    }

    /// What the unknown of a step below the top takes of what comes to the steps of its path, and of the unknowns
    /// of the top.
    fn backward(&self, step: u32) -> &Half {
        self.backward[step as usize].get_or_init(|| {
            self.climb(step, &self.upper, |at, came| came / self.pivots[at as usize])
        })
    }

    /// Carries a unit from a step up its path. `becomes` tells what becomes at a step of what came there; so much
    /// of each of its list goes on.
    fn climb(&self, first: u32, lists: &Lists, becomes: impl Fn(u32, f64) -> f64) -> Half {
        let mut half = Half::default();
        let mut at = first;
        while at < self.cut {
            half.path.push((at, 0.0));
            at = self.parent[at as usize];
        }
        match half.path.first_mut() {
            Some(begin) => begin.1 = 1.0,
            None => half.top.push((first - self.cut, 1.0)),
        }
        let steps = half.path.len();
        for index in 0..steps {
            let (at, came) = half.path[index];
            if came == 0.0 {
                continue;
            }
            let value = becomes(at, came);
            half.path[index].1 = value;
            for &(later, factor) in lists.of(at) {
                if let Some(of_top) = later.checked_sub(self.cut) {
                    add(&mut half.top, of_top, -factor * value);
                } else {
                    let index = steps - 1 - self.depth[later as usize] as usize;
                    half.path[index].1 -= factor * value;
                }
            }
        }
        half.path.reverse();
        half
    }

    /// An unknown of a solution of which it is told what the unknown of a step of the top is, and what came to the
    /// steps of a path, so much of each.
    fn unknown(
        &self,
        unknown: usize,
        of_top: impl Fn(u32) -> f64,
        of_path: impl Fn(&[(u32, f64)]) -> f64,
    ) -> f64 {
        let step = self.step_of_unknown[unknown];
        if let Some(step) = step.checked_sub(self.cut) {
            return of_top(step);
        }
        let half = self.backward(step);
        half.top.iter().fold(of_path(&half.path), |sum, &(step, share)| sum + share * of_top(step))
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
fn add(list: &mut OfTop, step: u32, value: f64) {
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

/// Values of steps of the top, counted from its first.
type OfTop = SmallVec<[(u32, f64); 4]>;

/// One half of a solution.
#[derive(Debug, Default)]
struct Half {
    /// Steps with values, from the top down.
    path: Vec<(u32, f64)>,
    top: OfTop,
}

#[cfg(test)]
mod tests {
    use super::together::Together;
    use super::walk::Walk;
    use super::*;
    use crate::electric::law::Row;
    use crate::electric::linear::equations::Layout;
    use crate::electric::linear::ordering::order;

    /// A ladder with rungs, some of them nearly shorts.
    fn ladder() -> (Layout, Factors) {
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
        (layout, factors)
    }

    #[track_caller]
    fn check(whole: &[f64], unknown: impl Fn(usize) -> f64) {
        for (index, &whole) in whole.iter().enumerate() {
            let one = unknown(index);
            assert!((one - whole).abs() <= 1e-12 * (1.0 + whole.abs()), "{one} and {whole}");
        }
    }

    #[test]
    fn entries_are_those_of_whole_columns() {
        let (layout, factors) = ladder();
        let paths = Paths::new(&factors);
        for equation in 1..layout.size() {
            let solved = |parts: [Option<(usize, f64)>; 2]| {
                let mut right = vec![0.0; layout.size()];
                parts.iter().flatten().for_each(|&(equation, value)| right[equation] += value);
                factors.solve(right)
            };
            for parts in [[Some((equation, 1.0)), None], [Some((equation, 1.0)), Some((1, -0.5))]] {
                let walk = Walk::new(&paths, parts);
                check(&solved(parts), |unknown| walk.unknown(unknown));
            }
        }
    }

    #[test]
    fn few_and_many_solutions_together_are_their_sum() {
        let (layout, factors) = ladder();
        let paths = Paths::new(&factors);
        for count in [1, 2, 3, 4, 9, layout.size() - 2] {
            let much = |index: usize| 1.5 - 0.25 * index as f64;
            let mut right = vec![0.0; layout.size()];
            let walks = (0..count).map(|index| {
                right[index + 1] += much(index);
                right[index + 2] -= 0.5 * much(index);
                Walk::new(&paths, [Some((index + 1, 1.0)), Some((index + 2, -0.5))])
            });
            let walks: Vec<Walk<'_>> = walks.collect();
            let each = walks.iter().enumerate().map(|(index, walk)| (walk, much(index)));
            let sum = Together::new(&paths, each);
            check(&factors.solve(right), |unknown| sum.unknown(unknown));
        }
    }
}
