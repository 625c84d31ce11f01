//! Which track stands beside which: as few crossings as can be found, then short bars.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// So few tracks are tried in every order.
const EXHAUSTIVE: usize = 7;
/// Larger drawings are not searched through in full: so many looks at one track and one bar at most.
const WORK: usize = 200_000_000;
/// Starts of the search beside the first one.
const STARTS: u64 = 12;
/// A crossing costs as much as so many columns of bar.
const CROSSING: f64 = 30.0;

/// What the order of tracks is judged by.
#[derive(Debug)]
pub struct Puzzle {
    /// By bar: the tracks it joins, and the tracks it would cross if it passed them.
    pub bars: Vec<Bar>,
    /// Tracks that should stand side by side, coil and contact of one relay, with how much they want to.
    pub friends: Vec<(usize, usize, f64)>,
    /// The track that should be the first, the battery's.
    pub first: usize,
    /// How many tracks there are.
    pub tracks: usize,
}

/// One horizontal line.
#[derive(Debug)]
pub struct Bar {
    /// Tracks it joins.
    pub joins: Vec<usize>,
    /// By track: something of it stands at this height.
    pub blocks: Vec<bool>,
}

impl Puzzle {
    /// Crossings and lengths of an order, as one number; `order[column]` is a track.
    fn cost(&self, order: &[usize]) -> f64 {
        let mut column = vec![0; self.tracks];
        for (at, track) in order.iter().enumerate() {
            column[*track] = at;
        }
        let mut cost = column[self.first] as f64 * 0.6;
        for bar in &self.bars {
            let columns = bar.joins.iter().map(|track| column[*track]);
            let (low, high) =
                columns.fold((usize::MAX, 0), |(low, high), at| (low.min(at), high.max(at)));
            if low >= high {
                continue;
            }
            let passed = order[low + 1..high].iter().filter(|track| bar.blocks[**track]);
            cost += passed.count() as f64 * CROSSING + (high - low) as f64;
        }
        for (one, other, wish) in &self.friends {
            cost += wish * (column[*one].abs_diff(column[*other]) as f64 - 1.0);
        }
        // Of equals the one nearest to the file's own order.
        let near = order.iter().enumerate().map(|(at, track)| at.abs_diff(*track) as f64);
        cost + near.sum::<f64>() * 1e-3
    }

    /// The best order found.
    pub fn solve(&self) -> Vec<usize> {
        let given: Vec<usize> = (0..self.tracks).collect();
        if self.tracks <= EXHAUSTIVE {
            return self.exhaust(given);
        }
        let mut trials = WORK / (self.tracks * (self.bars.len() + 1));
        let mut best = self.improve(given.clone(), &mut trials);
        for seed in 0..STARTS {
            let mut random = Pcg64Mcg::seed_from_u64(seed);
            let mut start = given.clone();
            for at in (1..start.len()).rev() {
                start.swap(at, random.random_range(0..=at));
            }
            let found = self.improve(start, &mut trials);
            if found.0 < best.0 - 1e-9 {
                best = found;
            }
        }
        best.1
    }

    fn exhaust(&self, mut order: Vec<usize>) -> Vec<usize> {
        let mut best = (self.cost(&order), order.clone());
        let mut counters = vec![0; order.len()];
        let mut at = 0;
        // Heap's way through all orders.
        while at < order.len() {
            if counters[at] < at {
                order.swap(if at % 2 == 0 { 0 } else { counters[at] }, at);
                let cost = self.cost(&order);
                if cost < best.0 - 1e-9 {
                    best = (cost, order.clone());
                }
                counters[at] += 1;
                at = 0;
            } else {
                counters[at] = 0;
                at += 1;
            }
        }
        best.1
    }

    /// Moves runs of one to three tracks to wherever they cost less, until none does or the trials are spent.
    fn improve(&self, mut order: Vec<usize>, trials: &mut usize) -> (f64, Vec<usize>) {
        let mut cost = self.cost(&order);
        while let Some((lower, moved)) = self.better(&order, cost, trials) {
            (cost, order) = (lower, moved);
        }
        (cost, order)
    }

    /// The first move found that costs less.
    fn better(&self, order: &[usize], cost: f64, trials: &mut usize) -> Option<(f64, Vec<usize>)> {
        for length in 1..=3.min(order.len() - 1) {
            for from in 0..=order.len() - length {
                let mut rest = order.to_vec();
                let run: Vec<usize> = rest.drain(from..from + length).collect();
                for to in (0..=rest.len()).filter(|to| *to != from) {
                    *trials = trials.checked_sub(1)?;
                    let mut moved = rest.clone();
                    moved.splice(to..to, run.iter().copied());
                    let tried = self.cost(&moved);
                    if tried < cost - 1e-9 {
                        return Some((tried, moved));
                    }
                }
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(joins: &[usize], tracks: usize) -> Bar {
        Bar { joins: joins.to_vec(), blocks: vec![true; tracks] }
    }

    #[test]
    fn few_and_many_tracks_come_to_an_order_without_crossings() {
        for tracks in [6, 9, 14] {
            // A ring of neighbours in a shuffled order: each bar joins two that belong side by side.
            let place = |at: usize| (at * 5) % tracks;
            let bars = (1..tracks).map(|at| bar(&[place(at - 1), place(at)], tracks)).collect();
            let puzzle = Puzzle { bars, friends: Vec::new(), first: place(0), tracks };
            let order = puzzle.solve();
            let mut column = vec![0; tracks];
            for (at, track) in order.iter().enumerate() {
                column[*track] = at;
            }
            let near = (1..tracks).all(|at| column[place(at - 1)].abs_diff(column[place(at)]) == 1);
            // 5 and 14 have no common divisor, nor 5 and 6 or 9: `place` is an order of all tracks.
            assert!(near, "{order:?}");
        }
    }
}
