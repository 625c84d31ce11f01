//! How a budget of nodes is spent on one choice.

use std::collections::HashMap;

use super::action::Ranked;
use super::base::{Rule, SLOWER, Scored, best_rate, estimate, scored};
use super::bit_set::BitSet;
use super::budget::{Budget, Ended, Method, Progress};
use super::exact::{Exact, OutOfNodes};
use super::focus::shortlist;
use super::look::{Look, Pass, Valued, candidates, successors};
use super::node::Node;
use super::prepared::Prepared;

/// Share of the nodes that an exact search may use before the look-ahead takes the rest.
const EXACT_SHARE: f64 = 0.5;

/// With more likelihoods than this no exact search is tried: it never ends within a usual budget.
pub const EXACT_ENTRIES: usize = 4_000;

/// With tests that err and more steps than this neither.
const EXACT_NOISY_STEPS: usize = 12;

/// Likelihoods, with errors among them, of a problem that is searched on a shortlist of tests.
const BIG_ENTRIES: usize = 6_000;

/// Likelihoods of a problem of which not even the shortlist is drawn from all tests.
const HUGE_ENTRIES: usize = 500_000;

/// Tests it is drawn from then.
const SPREAD: usize = 250;

/// So many of them may be alike: need the same mode and tell the same bits, to one part of [`BITS_GRAIN`].
const ALIKE: usize = 3;

/// See [`ALIKE`].
const BITS_GRAIN: f64 = 100.0;

/// Best tests here that go on the shortlist.
const LISTED_HERE: usize = 40;

/// Best tests here after whose outcomes more tests are looked for.
const SURVEYED: usize = 6;

/// Best tests there that go on the shortlist.
const LISTED_THERE: usize = 12;

/// Probability of an outcome from which on it is worth looking behind it.
const LIKELY: f64 = 0.1;

/// Probability of the hypotheses left out then.
const NEGLECTED: f64 = 0.002;

/// Values closer than this share are the same to a look-ahead that ends in estimates: those err by more.
const ESTIMATE_GRAIN: f64 = 0.01;

/// First steps by each rule that are looked at.
const WIDTH: usize = 12;

/// The passes where no test errs: every branch to its end, then more and more free steps.
const SURE_PASSES: [Pass; 6] = [
    pass(24, 0.0, 0),
    pass(24, 0.0, 1),
    pass(24, 0.0, 2),
    pass(24, 0.0, 3),
    pass(24, 0.0, 4),
    pass(24, 0.0, 5),
];

/// The passes where tests err and branches never end: fewer first steps, looked at more closely.
const NOISY_PASSES: [Pass; 15] = [
    pass(1, 0.05, 0),
    pass(24, 0.3, 0),
    pass(12, 0.1, 0),
    pass(8, 0.03, 0),
    pass(6, 0.1, 1),
    pass(6, 0.01, 0),
    pass(5, 0.03, 1),
    pass(5, 0.003, 0),
    pass(4, 0.01, 1),
    pass(4, 0.03, 2),
    pass(4, 0.003, 1),
    pass(4, 0.01, 2),
    pass(4, 0.0, 1),
    pass(4, 0.0, 2),
    pass(4, 0.0, 3),
];

const fn pass(width: usize, least_probability: f64, depth: u32) -> Pass {
    Pass { width, least_probability, depth }
}

/// Whether a problem is searched on a shortlist of tests.
pub fn is_big(prepared: &Prepared) -> bool {
    prepared.table.entries() > BIG_ENTRIES && !prepared.table.is_sure()
}

/// One choice being made.
#[derive(Debug)]
pub struct Search<'a> {
    prepared: &'a Prepared,
    node: &'a Node,
    budget: &'a Budget,
    progress: &'a Progress,
    nodes: u64,
    stopped: bool,
}

/// First steps with what they lead to, best first, and how sure that is.
type Values = (Vec<Ranked>, Ended);

impl<'a> Search<'a> {
    /// A choice to be made in `node`, a node of the focused problem `prepared`.
    pub fn new(
        prepared: &'a Prepared,
        node: &'a Node,
        budget: &'a Budget,
        progress: &'a Progress,
    ) -> Self {
        Self { prepared, node, budget, progress, nodes: 0, stopped: false }
    }

    /// The problem.
    pub fn prepared(&self) -> &'a Prepared {
        self.prepared
    }

    /// Where in it.
    pub fn node(&self) -> &'a Node {
        self.node
    }

    /// Nodes examined so far.
    pub fn nodes(&self) -> u64 {
        self.nodes
    }

    /// Values of first steps by `method`.
    pub fn run(&mut self, method: Method) -> Values {
        match method {
            Method::Greedy => self.greedy(),
            Method::Rollout => self.look(0),
            Method::LookAhead => self.look(u32::MAX),
            Method::Best => self.best(),
        }
    }

    fn greedy(&mut self) -> Values {
        let mut look =
            Look::new(self.prepared, &[Rule::Information], self.budget.nodes, self.progress);
        let value = look.follow_first(self.node, Rule::Information);
        self.nodes += look.nodes();
        let value = value.map(|valued| ranked(self.prepared, valued));
        (value.into_iter().collect(), Ended::Budget)
    }

    fn best(&mut self) -> Values {
        let table = &self.prepared.table;
        let noisy = !table.is_sure() && self.prepared.steps.len() > EXACT_NOISY_STEPS;
        if table.entries() > EXACT_ENTRIES || noisy {
            return self.look(u32::MAX);
        }
        let allowed = (self.budget.nodes as f64 * EXACT_SHARE) as u64;
        let mut exact = Exact::new(self.prepared, allowed);
        let found = exact.best(self.node);
        self.nodes += exact.nodes();
        match found {
            Ok((step, minutes)) => (self.around_exact(step, minutes), Ended::Exact),
            Err(OutOfNodes) => self.look(u32::MAX),
        }
    }

    /// The exact first step, and the runners-up as one pass of look-ahead sees them.
    fn around_exact(&mut self, step: Option<usize>, minutes: f64) -> Vec<Ranked> {
        let (mut others, _) = self.look(0);
        for other in &mut others {
            other.expected_minutes = other.expected_minutes.max(minutes);
        }
        let Some(step) = step else { return others };
        let action = self.prepared.steps[step].source.action();
        others.retain(|other| other.action != action);
        let all = scored(self.prepared, self.node, Rule::Information);
        let first = all.into_iter().find(|scored| scored.step == step);
        let first = first.map(|scored| Valued { scored, expected_minutes: minutes });
        others.splice(0..0, first.map(|valued| ranked(self.prepared, valued)));
        others
    }

    /// Passes with up to `depth` free steps, as far as the nodes go.
    fn look(&mut self, depth: u32) -> Values {
        let (first, rate) = candidates(self.prepared, self.node, WIDTH);
        let mut ranking = Ranking::new(self.prepared, self.node, &first, rate);
        let passes: &[Pass] =
            if self.prepared.table.is_sure() { &SURE_PASSES } else { &NOISY_PASSES };
        let passes = passes.iter().filter(|pass| pass.depth <= depth);
        if self.budget.nodes <= self.nodes {
            // One step ahead is all that was asked for.
        } else if self.prepared.table.entries() > HUGE_ENTRIES {
            let tests = self.spread(&first);
            let some = shortlist(self.prepared, self.node, &tests, 0.0);
            self.look_on_shortlist(&mut ranking, &some.prepared, &some.node, passes);
            ranking.prefer_what_tells();
        } else if is_big(self.prepared) {
            self.look_on_shortlist(&mut ranking, self.prepared, self.node, passes);
            ranking.prefer_what_tells();
        } else {
            self.passes(&mut ranking, self.prepared, self.node, passes);
        }
        (ranking.list, if self.stopped { Ended::Stopped } else { Ended::Budget })
    }

    /// The best tests here, few of those that tell about as much in the same mode.
    fn spread(&self, first: &[Scored]) -> BitSet {
        let mut alike: HashMap<(usize, u64), usize> = HashMap::new();
        let mut is_new = |scored: &&Scored| {
            let step = &self.prepared.steps[scored.step];
            let bits = (scored.score * scored.added_minutes * BITS_GRAIN).round();
            let count = alike.entry((step.enter_mode, bits as u64)).or_default();
            *count += 1;
            *count <= ALIKE
        };
        let here = scored(self.prepared, self.node, Rule::Information);
        let best = here.iter().filter(|scored| is_new(scored)).take(SPREAD);
        best.chain(first).map(|scored| scored.step).collect()
    }

    fn look_on_shortlist<'p>(
        &mut self,
        ranking: &mut Ranking,
        prepared: &Prepared,
        node: &Node,
        passes: impl Iterator<Item = &'p Pass>,
    ) {
        ranking.move_to(prepared, node);
        let short =
            shortlist(prepared, node, &self.survey(prepared, node, &ranking.steps), NEGLECTED);
        ranking.move_to(&short.prepared, &short.node);
        self.passes(ranking, &short.prepared, &short.node, passes);
    }

    /// Tests that are among the best here, or after likely outcomes of the best.
    fn survey(&mut self, prepared: &Prepared, node: &Node, first: &[Scored]) -> BitSet {
        let here = scored(prepared, node, Rule::Information);
        let mut tests: BitSet = here.iter().take(LISTED_HERE).map(|scored| scored.step).collect();
        tests.union_with(&first.iter().map(|scored| scored.step).collect());
        for scored_here in here.iter().take(SURVEYED) {
            let next = successors(prepared, node, scored_here.step);
            for (_, next) in next.filter(|(probability, _)| *probability > LIKELY) {
                if self.stopped || self.nodes >= self.budget.nodes {
                    return tests;
                }
                self.nodes += 1;
                self.stopped |= !self.progress.step();
                let there = scored(prepared, &next, Rule::Information);
                tests.union_with(
                    &there.iter().take(LISTED_THERE).map(|scored| scored.step).collect(),
                );
            }
        }
        tests
    }

    fn passes<'p>(
        &mut self,
        ranking: &mut Ranking,
        prepared: &Prepared,
        node: &Node,
        passes: impl Iterator<Item = &'p Pass>,
    ) {
        let both = &[Rule::Information, Rule::Edges];
        let rules: &[Rule] = if prepared.table.is_sure() { both } else { &[Rule::Information] };
        let left = self.budget.nodes.saturating_sub(self.nodes);
        let mut look = Look::new(prepared, rules, left, self.progress);
        for &pass in passes {
            let Some(values) = look.values(node, &ranking.steps, ranking.rate, pass) else { break };
            ranking.take(&values);
        }
        self.nodes += look.nodes();
        self.stopped |= look.stopped();
    }
}

/// The first steps in the order of the last pass that looked at them.
struct Ranking {
    list: Vec<Ranked>,
    /// The same, as steps of the problem in use.
    steps: Vec<Scored>,
    rate: f64,
}

impl Ranking {
    /// In the order of their scores, with estimates for values.
    fn new(prepared: &Prepared, node: &Node, first: &[Scored], rate: f64) -> Self {
        let expected_minutes = estimate(prepared, node, rate, SLOWER);
        let value = |&scored: &Scored| ranked(prepared, Valued { scored, expected_minutes });
        Self { list: first.iter().map(value).collect(), steps: first.to_vec(), rate }
    }

    /// Puts the steps of a pass first, in its order; the others keep theirs and are no better.
    fn take(&mut self, values: &[Valued]) {
        let seen = |step: usize| values.iter().any(|valued| valued.scored.step == step);
        let kept: Vec<usize> =
            (0..self.steps.len()).filter(|&at| !seen(self.steps[at].step)).collect();
        let least = values.last().map_or(0.0, |valued| valued.expected_minutes);
        let old = |valued: &Valued| {
            self.steps.iter().position(|scored| scored.step == valued.scored.step)
        };
        let order: Vec<(usize, Option<f64>)> = values
            .iter()
            .filter_map(|valued| old(valued).map(|at| (at, Some(valued.expected_minutes))))
            .chain(kept.into_iter().map(|at| (at, None)))
            .collect();
        let ranked = |&(at, minutes): &(usize, Option<f64>)| {
            let old = self.list[at];
            Ranked { expected_minutes: minutes.unwrap_or(old.expected_minutes.max(least)), ..old }
        };
        let list = order.iter().map(ranked).collect();
        self.steps = order.iter().map(|&(at, _)| self.steps[at]).collect();
        self.list = list;
    }

    /// Of first steps as good as the best, as far as a look-ahead can tell, puts that first which tells most a
    /// minute: a test that tells next to nothing costs next to nothing too, and puts the others off for ever.
    fn prefer_what_tells(&mut self) {
        let Some(best) = self.list.first().map(|one| one.expected_minutes) else { return };
        let as_good = self
            .list
            .iter()
            .take_while(|one| one.expected_minutes <= best * (1.0 + ESTIMATE_GRAIN));
        let first = as_good
            .enumerate()
            .max_by(|(a, one), (b, other)| one.score.total_cmp(&other.score).then(b.cmp(a)));
        if let Some((at, _)) = first {
            self.list[..=at].rotate_right(1);
            self.steps[..=at].rotate_right(1);
            self.list[0].expected_minutes = best;
        }
    }

    /// Finds the steps again in a problem with fewer of them.
    fn move_to(&mut self, prepared: &Prepared, node: &Node) {
        let all = scored(prepared, node, Rule::Information);
        self.rate = best_rate(prepared, &all);
        let again = |ranked: &Ranked| {
            let same =
                |scored: &&Scored| prepared.steps[scored.step].source.action() == ranked.action;
            all.iter().find(same).map(|&scored| (*ranked, scored))
        };
        (self.list, self.steps) = self.list.iter().filter_map(again).unzip();
    }
}

fn ranked(prepared: &Prepared, valued: Valued) -> Ranked {
    Ranked {
        action: prepared.steps[valued.scored.step].source.action(),
        score: valued.scored.score,
        added_minutes: valued.scored.added_minutes,
        expected_minutes: valued.expected_minutes,
    }
}
