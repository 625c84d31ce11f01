//! The base policy: information per added minute, with fixes on the same scale as tests.

use super::bound::known_minutes;
use super::goal::{class_shares, finished, stop_minutes};
use super::node::{NOTHING, Node};
use super::prepared::Prepared;
use super::problem::Goal;
use super::score::{entropy_bits, hypothesis_bits};
use super::step::Step;

/// Prices below this count as this, so that a free step has a finite score.
const FREE_MINUTES: f64 = 1e-9;

/// A way so many times longer than the other hardly counts in [`estimate`].
const FAR: f64 = 20.0;

/// A search takes so many times what the best rate at its start promises: the best tests come first.
pub const SLOWER: f64 = 1.2;

/// What a step is worth by a one-step rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Rule {
    /// Information about the class.
    Information,
    /// Edges between classes, less noise; sees pairs of tests that tell something only together.
    Edges,
}

/// A step that can be taken, and what one rule gives for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scored {
    /// Position among the steps.
    pub step: usize,
    /// Gain per minute; infinite for a fix that is sure to cure.
    pub score: f64,
    /// Minutes it adds here.
    pub added_minutes: f64,
}

/// The steps that can still be taken here and may change something, best first; ties in their order.
///
/// A test's score is its gain per added minute. A fix is a test too, with the outcomes cured and not
/// cured, but its minutes are lost only when it does not cure: its gain counts per minute lost. Where no
/// step has a gain by itself, bits about the hypothesis or the chance to cure take its place.
pub fn scored(prepared: &Prepared, node: &Node, rule: Rule) -> Vec<Scored> {
    let gains = match rule {
        Rule::Information => prepared.table.class_bits(&node.belief, &prepared.classes),
        Rule::Edges => prepared.table.edges_cut(&node.belief, &prepared.classes),
    };
    let usable = usable(prepared, node, &gains);
    let mut list = with_gain(prepared, node, &usable, |index| gains[index]);
    if list.iter().all(|scored| scored.score <= NOTHING) {
        list = with_gain(prepared, node, &usable, |index| {
            let step = &prepared.steps[index];
            if step.ending.is_some() {
                node.ends(step)
            } else {
                hypothesis_bits(&node.belief, &step.rows)
            }
        });
    }
    list.sort_by(|a, b| rank(b.score).total_cmp(&rank(a.score)).then(a.step.cmp(&b.step)));
    list
}

/// A score rounded, so that what is equal but for the order of sums is a tie.
fn rank(score: f64) -> f64 {
    (score * 1e9).round()
}

/// Unused steps that can show more than one outcome, or end the job.
fn usable(prepared: &Prepared, node: &Node, gains: &[f64]) -> Vec<usize> {
    let does = |index: usize| {
        let step = &prepared.steps[index];
        if step.ending.is_some() {
            node.ends(step) > NOTHING
        } else {
            gains[index] > NOTHING || node.splits(step)
        }
    };
    let unused = (0..prepared.steps.len()).filter(|&index| !node.used.contains(index));
    let usable: Vec<usize> = unused.filter(|&index| does(index)).collect();
    let may_end = |&index: &usize| prepared.steps[index].ending.is_some();
    if matches!(prepared.goal, Goal::Repair { .. }) && !usable.iter().any(may_end) {
        // Nothing can end the job any more, so nothing is worth knowing.
        return Vec::new();
    }
    usable
}

fn with_gain(
    prepared: &Prepared,
    node: &Node,
    usable: &[usize],
    gain: impl Fn(usize) -> f64,
) -> Vec<Scored> {
    let score = |index: usize| {
        let step = &prepared.steps[index];
        let added_minutes = prepared.added_minutes(node, step);
        let ends = node.ends(step);
        let lost = (added_minutes * (1.0 - ends)).max(FREE_MINUTES);
        let score = if ends > 1.0 - NOTHING { f64::INFINITY } else { gain(index) / lost };
        Scored { step: index, score, added_minutes }
    };
    usable.iter().map(|&index| score(index)).collect()
}

/// Expected minutes when fixes are tried in order of probability per minute until it no longer pays.
///
/// An upper bound on what the best plan needs, for the goal [`Goal::Repair`]; descending probability per
/// minute is exact for independent perfect fixes (Kadane & Simon 1977). Where it is not below `limit`, it
/// may be too large or too small, but not below `limit`: nobody wants to know.
pub fn fix_sequence_minutes(prepared: &Prepared, node: &Node, limit: f64) -> f64 {
    let stop = stop_minutes(prepared, node);
    let stopped = |reached: f64| stop.map_or(f64::INFINITY, |price| price * reached);
    let mut tried = Tried::new(prepared, node);
    let mut spent = 0.0;
    let mut best = stopped(1.0);
    while let Some(fix) = tried.best_fix() {
        spent += tried.reached * fix.minutes;
        tried.fail(prepared, fix);
        if tried.reached <= NOTHING {
            return best.min(spent);
        }
        best = best.min(spent + stopped(tried.reached));
        if spent >= limit {
            return best.min(spent);
        }
    }
    if stop.is_none() { spent } else { best }
}

/// What is left after some fixes have failed.
struct Tried {
    /// Probability of each group and that no fix so far cured it.
    weights: Vec<f64>,
    /// Their sum.
    reached: f64,
    /// Mode and places; its belief is not used.
    node: Node,
    /// The fixes that may still cure, in the order of the steps.
    left: Vec<Fix>,
}

/// A fix that may still cure.
#[derive(Debug, Clone, Copy)]
struct Fix {
    /// Position among the steps.
    step: usize,
    /// Probability that no fix so far cured, and this one does.
    cures: f64,
    /// Minutes it adds here.
    minutes: f64,
}

impl Tried {
    fn new(prepared: &Prepared, node: &Node) -> Tried {
        let (weights, node) = (node.belief.clone(), node.without_belief());
        let unused = prepared.endings.iter().filter(|&&index| !node.used.contains(index));
        let fix = |&index: &usize| {
            let step = &prepared.steps[index];
            let minutes = prepared.added_minutes(&node, step);
            Fix { step: index, cures: cures(step, &weights), minutes }
        };
        let left = unused.map(fix).filter(|fix| fix.cures > NOTHING).collect();
        Tried { weights, reached: 1.0, node, left }
    }

    /// The fix of highest probability to cure per added minute.
    fn best_fix(&self) -> Option<Fix> {
        let mut best: Option<(Fix, f64)> = None;
        for &fix in &self.left {
            let rate = fix.cures / fix.minutes.max(FREE_MINUTES);
            if best.is_none_or(|(_, top)| rate > top) {
                best = Some((fix, rate));
            }
        }
        best.map(|(fix, _)| fix)
    }

    fn fail(&mut self, prepared: &Prepared, fix: Fix) {
        let step = &prepared.steps[fix.step];
        for &(group, ends) in &step.ends {
            self.weights[group] *= 1.0 - ends;
        }
        self.reached -= fix.cures;
        let (mode, opened) = (self.node.mode, self.node.opened.clone());
        self.node.move_on(step);
        let has_moved = mode != self.node.mode || opened != self.node.opened;
        let (weights, node) = (&self.weights, &self.node);
        self.left.retain_mut(|left| {
            let other = &prepared.steps[left.step];
            if shares_group(step, other) {
                left.cures = cures(other, weights);
            }
            if has_moved {
                left.minutes = prepared.added_minutes(node, other);
            }
            left.cures > NOTHING && !node.used.contains(left.step)
        });
    }
}

fn cures(step: &Step, weights: &[f64]) -> f64 {
    step.ends.iter().map(|&(group, ends)| weights[group] * ends).sum()
}

/// Whether two fixes end some group both; the groups of each are in order.
fn shares_group(one: &Step, other: &Step) -> bool {
    let (mut one, mut other) = (&one.ends[..], &other.ends[..]);
    while let ([(first, _), ones @ ..], [(second, _), others @ ..]) = (one, other) {
        match first.cmp(second) {
            std::cmp::Ordering::Equal => return true,
            std::cmp::Ordering::Less => one = ones,
            std::cmp::Ordering::Greater => other = others,
        }
    }
    false
}

/// A quick estimate of the minutes from here to the goal; exact where nothing is left to do.
///
/// For a repair, what comes on top of the right fix lies below both of two ways: to try fixes by
/// probability per minute, and to find the class first at `bits_per_minute`, a rate reached nearby. The
/// harmonic form and [`SLOWER`] were fitted to the true cost of the base policy in random jobs (60
/// suspects, 120 noisy tests), where this errs by 2.5 minutes of 40 without bias.
pub fn estimate(prepared: &Prepared, node: &Node, bits_per_minute: f64, slower: f64) -> f64 {
    let stop = stop_minutes(prepared, node).unwrap_or(f64::INFINITY);
    if finished(prepared, node) {
        return 0.0;
    }
    let bits = entropy_bits(class_shares(prepared, node));
    let search = if bits_per_minute > NOTHING { bits / bits_per_minute } else { f64::INFINITY };
    match prepared.goal {
        Goal::Repair { .. } => {
            let repair = known_minutes(prepared, node);
            let by_search = slower * search;
            let limit = repair + FAR * by_search;
            let by_fixes = (fix_sequence_minutes(prepared, node, limit) - repair).max(0.0);
            let on_top = if by_fixes.is_infinite() || by_search.is_infinite() {
                by_fixes.min(by_search)
            } else {
                by_fixes * by_search / (by_fixes + by_search).max(FREE_MINUTES)
            };
            (repair + on_top).min(stop)
        }
        Goal::Isolate if search.is_finite() => slower * search,
        Goal::Isolate => 0.0,
        Goal::StopAnyTime { .. } => (slower * search).min(stop),
    }
}

/// The best bits per minute of a list of scored steps, fixes left out.
pub fn best_rate(prepared: &Prepared, list: &[Scored]) -> f64 {
    let tests = list.iter().filter(|scored| prepared.steps[scored.step].ending.is_none());
    tests.map(|scored| scored.score).filter(|score| score.is_finite()).fold(0.0, f64::max)
}
