//! A problem laid out for counting.

use std::ops::Range;

use super::action::Action;
use super::bit_set::BitSet;
use super::node::Node;
use super::problem::{Fix, Goal, Problem, ProblemError, State, Test, with_parents};
use super::step::{Source, Step};
use super::table::Table;
use super::words::WordMap;

/// A problem laid out for counting; made once, used for every state of a job.
///
/// Hypotheses which no test and no fix tells apart and which share a class are one *group*; groups are
/// sorted by class, so that the sum over a class is the sum over a range.
#[derive(Debug, Clone)]
pub struct Prepared {
    pub(super) steps: Vec<Step>,
    pub(super) table: Table,
    /// Positions of the steps that may end the job.
    pub(super) endings: Vec<usize>,
    /// Ranges of groups, one for each class.
    pub(super) classes: Vec<Range<usize>>,
    /// The group of each hypothesis.
    pub(super) group_of: Vec<usize>,
    pub(super) goal: Goal,
    /// Batches by position in the problem, for those who name the step.
    pub(super) batches: Vec<Vec<usize>>,
    switch_minutes: Vec<Vec<f64>>,
    place_minutes: Vec<f64>,
}

impl Prepared {
    /// Lays out `problem`; fails where [`Problem::check`] does.
    pub fn new(problem: &Problem) -> Result<Self, ProblemError> {
        problem.check()?;
        let (group_of, members) = groups(problem);
        let mut prepared = Self {
            steps: Vec::new(),
            table: Table::default(),
            endings: Vec::new(),
            classes: class_ranges(problem, &members),
            group_of,
            goal: problem.goal,
            batches: problem.batches.clone(),
            switch_minutes: problem.switch_minutes.clone(),
            place_minutes: problem.place_minutes.clone(),
        };
        let parents = &problem.place_parent;
        for (index, test) in problem.tests.iter().enumerate() {
            prepared.steps.push(test_step(index, test, &members, parents));
        }
        for index in 0..problem.fixes.len() {
            let step = fix_step(problem, Source::Fix(index), &[index], &members);
            prepared.steps.push(step);
        }
        for (index, batch) in problem.batches.iter().enumerate() {
            if !batch.is_empty() {
                let step = fix_step(problem, Source::Batch(index), batch, &members);
                prepared.steps.push(step);
            }
        }
        prepared.link_shared_fixes(problem);
        prepared.endings = endings(&prepared.steps);
        prepared.table = Table::new(&prepared.steps, members.len());
        Ok(prepared)
    }

    /// The same problem with other steps and groups.
    pub(super) fn with_steps(&self, steps: Vec<Step>, classes: Vec<Range<usize>>) -> Self {
        Self {
            endings: endings(&steps),
            table: Table::new(&steps, classes.last().map_or(0, |class| class.end)),
            steps,
            classes,
            group_of: Vec::new(),
            goal: self.goal,
            batches: Vec::new(),
            switch_minutes: self.switch_minutes.clone(),
            place_minutes: self.place_minutes.clone(),
        }
    }

    /// How many chances its table holds.
    pub fn entries(&self) -> usize {
        self.table.entries()
    }

    /// The search node of a state of the job.
    pub fn node(&self, state: &State) -> Node {
        let count = self.classes.last().map_or(0, |range| range.end);
        let mut belief = vec![0.0; count];
        for (hypothesis, &group) in self.group_of.iter().enumerate() {
            belief[group] += state.belief.get(hypothesis).copied().unwrap_or(0.0);
        }
        let sum: f64 = belief.iter().sum();
        if sum > 0.0 {
            for share in &mut belief {
                *share /= sum;
            }
        }
        let mut used = BitSet::with_room(self.steps.len());
        for (index, step) in self.steps.iter().enumerate() {
            let refused = match step.source {
                Source::Test(test) => state.used_tests.contains(test),
                Source::Fix(fix) => state.used_fixes.contains(fix),
                Source::Batch(batch) => {
                    self.batches[batch].iter().any(|&fix| state.used_fixes.contains(fix))
                }
            };
            if refused {
                used.insert(index);
            }
        }
        Node { belief, mode: state.mode as usize, opened: state.opened.clone(), used }
    }

    /// The position of the step of an action; `None` for ending the job.
    pub(super) fn step_of(&self, action: Action) -> Option<usize> {
        self.steps.iter().position(|step| action == step.source.action())
    }

    /// Minutes that `step` adds from `node`: switches, places not yet open, and its own.
    pub fn added_minutes(&self, node: &Node, step: &Step) -> f64 {
        let switch = self.switch_minutes[node.mode][step.enter_mode];
        switch + self.opening_minutes(&node.opened, &step.places) + step.minutes
    }

    /// Minutes to open those of `places` that are not open yet.
    pub(super) fn opening_minutes(&self, opened: &BitSet, places: &BitSet) -> f64 {
        let closed = places.iter().filter(|&place| !opened.contains(place));
        closed.map(|place| self.place_minutes[place]).sum()
    }

    /// Batches and fixes use each other up where they share a fix.
    fn link_shared_fixes(&mut self, problem: &Problem) {
        let fixes_of = |source: Source| -> BitSet {
            match source {
                Source::Test(_) => BitSet::default(),
                Source::Fix(fix) => std::iter::once(fix).collect(),
                Source::Batch(batch) => problem.batches[batch].iter().copied().collect(),
            }
        };
        let sets = self.steps.iter().map(|step| fixes_of(step.source));
        let sets: Vec<(usize, BitSet)> =
            sets.enumerate().filter(|(_, set)| !set.is_empty()).collect();
        for (index, step) in self.steps.iter_mut().enumerate() {
            let mine = fixes_of(step.source);
            let shared = sets.iter().filter(|(_, other)| mine.intersects(other));
            step.uses = shared.map(|&(other, _)| other).chain([index]).collect();
        }
    }
}

/// Positions of the steps that may end the job.
fn endings(steps: &[Step]) -> Vec<usize> {
    (0..steps.len()).filter(|&index| steps[index].ending.is_some()).collect()
}

/// Groups the hypotheses: the group of each, and the hypotheses of each group, sorted by class.
fn groups(problem: &Problem) -> (Vec<usize>, Vec<Vec<usize>>) {
    let mut order: Vec<usize> = (0..problem.priors.len()).collect();
    order.sort_by_key(|&hypothesis| problem.class_of[hypothesis]);
    let mut members: Vec<Vec<usize>> = Vec::new();
    let mut columns = columns(problem);
    let mut seen: WordMap<(u32, Vec<u64>), usize> = WordMap::default();
    let mut group_of = vec![0; order.len()];
    for hypothesis in order {
        let key = (problem.class_of[hypothesis], std::mem::take(&mut columns[hypothesis]));
        let group = *seen.entry(key).or_insert_with(|| {
            members.push(Vec::new());
            members.len() - 1
        });
        members[group].push(hypothesis);
        group_of[hypothesis] = group;
    }
    (group_of, members)
}

/// Of each hypothesis everything that tells it from others, as bits.
fn columns(problem: &Problem) -> Vec<Vec<u64>> {
    let tests = problem.tests.iter().flat_map(|test| &test.likelihood);
    let fixes = problem.fixes.iter().map(|fix| &fix.cures);
    let rows = tests.clone().count() + problem.fixes.len();
    let mut columns: Vec<Vec<u64>> =
        problem.priors.iter().map(|_| Vec::with_capacity(rows)).collect();
    // Along the rows: each is read once and in order.
    for row in tests.chain(fixes) {
        for (column, likelihood) in columns.iter_mut().zip(row) {
            column.push(likelihood.to_bits());
        }
    }
    columns
}

fn class_ranges(problem: &Problem, members: &[Vec<usize>]) -> Vec<Range<usize>> {
    let mut ranges: Vec<Range<usize>> = Vec::new();
    let mut previous = None;
    for (group, hypotheses) in members.iter().enumerate() {
        let class = hypotheses.first().map(|&hypothesis| problem.class_of[hypothesis]);
        match ranges.last_mut() {
            Some(range) if class == previous => range.end = group + 1,
            _ => ranges.push(group..group + 1),
        }
        previous = class;
    }
    ranges
}

fn test_step(index: usize, test: &Test, members: &[Vec<usize>], parents: &[Option<u32>]) -> Step {
    Step {
        source: Source::Test(index),
        minutes: test.minutes,
        enter_mode: test.mode as usize,
        leave_mode: test.mode as usize,
        places: with_parents(&test.places, parents),
        rows: test.likelihood.iter().map(|row| pick(row, members)).collect(),
        ending: test.proof,
        ends: vec![],
        uses: BitSet::default(),
    }
    .with_ends()
}

/// The fixes at `list`, one after the other, and the check of the last.
fn fix_step(problem: &Problem, source: Source, list: &[usize], members: &[Vec<usize>]) -> Step {
    let fixes: Vec<&Fix> = list.iter().map(|&index| &problem.fixes[index]).collect();
    let (first, last) = (fixes[0], fixes[fixes.len() - 1]);
    let switches = |from: u32, to: u32| problem.switch_minutes[from as usize][to as usize];
    let between: f64 = fixes.windows(2).map(|pair| switches(pair[0].mode, pair[1].mode)).sum();
    let work: f64 = fixes.iter().map(|fix| fix.minutes).sum();
    let mut left: Vec<f64> = vec![1.0; members.len()];
    let mut open = BitSet::default();
    for fix in &fixes {
        for (left, cure) in left.iter_mut().zip(pick(&fix.cures, members)) {
            *left *= 1.0 - cure;
        }
        open.union_with(&with_parents(&fix.places, &problem.place_parent));
    }
    Step {
        source,
        minutes: work + between + switches(last.mode, last.check_mode) + last.check_minutes,
        enter_mode: first.mode as usize,
        leave_mode: last.check_mode as usize,
        places: open,
        rows: vec![left.iter().map(|left| 1.0 - left).collect(), left],
        ending: Some(0),
        ends: vec![],
        uses: BitSet::default(),
    }
    .with_ends()
}

/// The entries of the first member of each group: all members have the same.
fn pick(row: &[f64], members: &[Vec<usize>]) -> Vec<f64> {
    members.iter().map(|hypotheses| row[hypotheses[0]]).collect()
}
