//! Grows the tree: the planner is asked at every turn, likeliest turns first.

use std::collections::BinaryHeap;
use std::sync::atomic::{AtomicU64, Ordering};

use rayon::prelude::*;

use super::bud::{Bud, Waiting};
use super::reckon::{bits, reckon};
use super::{FaultTree, Figures, Kind, Limits, Node, Outcome, Subject};
use crate::job::course::Course;
use crate::job::course::proposal::{self, Next, Proposal};
use crate::job::shown::ending;
use crate::job::shown::proof;
use crate::job::state::Job;
use crate::job::study::Study;
use crate::job::study::agenda::HAND_ON_MINUTES;
use crate::job::words;
use crate::plan::{Budget, Progress, optimum};
use crate::problem::sanitise;
use crate::report::plain::clean;
use crate::tester::Instrument;
use crate::tester::expectations::{Column, Seen};

/// Steps planned side by side; a fixed number, so that the tree does not depend on the machine's cores.
const ABREAST: usize = 8;
/// States that the search for the exact optimum may examine.
const OPTIMUM_NODES: u64 = 200_000;
/// Cut ways are ended so many at a time: those that wait take room.
const CUT_AT_ONCE: usize = 512;
/// Shares are counted in so many parts of one.
const PARTS: f64 = 1e9;

/// Watches over a growing tree from another thread.
#[derive(Debug, Default)]
pub struct Growth {
    /// Watches over the planner; its `stop` ends the growing, and the tree is given as it is.
    pub plan: Progress,
    /// Steps planned so far.
    pub steps: AtomicU64,
    /// Probability of the ways followed to their end, in billionths.
    settled: AtomicU64,
}

impl Growth {
    /// Share of the ways, by probability, that are followed to their end.
    pub fn settled(&self) -> f64 {
        self.settled.load(Ordering::Relaxed) as f64 / PARTS
    }

    fn settle(&self, probability: f64) {
        self.settled.fetch_add((probability * PARTS) as u64, Ordering::Relaxed);
    }

    fn stopped(&self) -> bool {
        self.plan.stop.load(Ordering::Relaxed)
    }
}

/// The whole policy of a circuit that was reckoned through.
///
/// The same study and limits give the same tree on any machine, unless it is stopped.
pub fn grow(study: &std::sync::Arc<Study>, limits: &Limits, growth: &Growth) -> FaultTree {
    let job = Job::new(std::sync::Arc::clone(study));
    let start = Bud {
        place: None,
        course: Course::new(study),
        weights: study.prior.clone(),
        reached: 1.0,
        length: 0,
    };
    let first = Proposal::new(&start.course, &Budget { nodes: 0 }, &Progress::default());
    let whole = study.whole_agenda();
    let mut grower = Grower { job: &job, limits, growth, nodes: Vec::new(), lacks: Vec::new() };
    let complete = grower.all(start);
    let (nodes, figures) = reckon(grower.nodes, &grower.lacks);
    let state = proposal::state(whole, &Course::new(study));
    FaultTree {
        subject: subject(study),
        figures: Figures {
            bound_minutes: first.plan.bound_minutes,
            optimum_minutes: complete
                .then(|| optimum(&whole.prepared, &state, OPTIMUM_NODES))
                .flatten(),
            ..figures
        },
        cut_below: limits.cut_below,
        complete,
        nodes,
    }
}

fn subject(study: &Study) -> Subject {
    let circuit = study.circuit();
    let mut kit: Vec<Instrument> = study.kit().to_vec();
    kit.sort_unstable();
    kit.dedup();
    Subject {
        circuit: sanitise(&circuit.name),
        machine: sanitise(&circuit.machine),
        complaint: sanitise(&study.work().name),
        kit: kit.into_iter().map(|one| one.words().to_owned()).collect(),
        notes: clean(circuit.notes.clone()),
        limits: proof::limits(study, &Course::new(study)).map(|limits| sanitise(&limits)),
    }
}

/// What a bud became: its node, and the buds of its outcomes.
type Grown<'a> = (Node, Vec<Bud<'a>>);

struct Grower<'a> {
    job: &'a Job,
    limits: &'a Limits,
    growth: &'a Growth,
    nodes: Vec<Node>,
    /// For each node the bits that are lacking there about which fix cures.
    lacks: Vec<f64>,
}

impl<'a> Grower<'a> {
    /// Follows every way; false when it was stopped before.
    fn all(&mut self, start: Bud<'a>) -> bool {
        let mut heap = BinaryHeap::from([Waiting(start, 0)]);
        let mut count = 1;
        let mut cut: Vec<Bud<'a>> = Vec::new();
        while !heap.is_empty() && !self.growth.stopped() {
            let batch: Vec<Bud<'a>> =
                (0..ABREAST).map_while(|_| heap.pop()).map(|waiting| waiting.0).collect();
            for next in self.batch(batch, &mut cut) {
                heap.push(Waiting(next, count));
                count += 1;
            }
            if cut.len() > CUT_AT_ONCE {
                self.cut(&cut);
                cut.clear();
            }
        }
        let complete = heap.is_empty() && !self.growth.stopped();
        cut.extend(heap.into_sorted_vec().into_iter().rev().map(|waiting| waiting.0));
        self.cut(&cut);
        complete
    }

    /// Plans some turns side by side and gives the next ones to be planned; `cut` gets the others.
    fn batch(&mut self, batch: Vec<Bud<'a>>, cut: &mut Vec<Bud<'a>>) -> Vec<Bud<'a>> {
        let (job, limits, growth) = (self.job, self.limits, self.growth);
        let planned: Vec<Option<Grown<'a>>> =
            batch.par_iter().map(|bud| step(job, limits, growth, bud)).collect();
        let mut follow = Vec::new();
        for (bud, grown) in batch.into_iter().zip(planned) {
            let Some((node, next)) = grown else {
                cut.push(bud);
                continue;
            };
            let at = self.add(&bud, node);
            for mut next in next {
                next.place = next.place.map(|(_, outcome)| (at, outcome));
                if next.is_cut(job, limits) { cut.push(next) } else { follow.push(next) }
            }
        }
        follow
    }

    fn add(&mut self, bud: &Bud<'a>, node: Node) -> usize {
        let at = self.nodes.len();
        if let Some((before, outcome)) = bud.place {
            self.nodes[before].outcomes[outcome].next = at;
        }
        self.lacks.push(bits(self.job.study(), &bud.weights));
        self.nodes.push(node);
        at
    }

    /// Ends the ways that are not followed, each with an estimate of what is left.
    fn cut(&mut self, buds: &[Bud<'a>]) {
        let nodes: Vec<Node> = buds.par_iter().map(cut_node).collect();
        for (bud, node) in buds.iter().zip(nodes) {
            self.add(bud, node);
        }
    }
}

/// Plans one turn; `None` when it was stopped meanwhile.
fn step<'a>(job: &'a Job, limits: &Limits, growth: &Growth, bud: &Bud<'a>) -> Option<Grown<'a>> {
    if bud.course.fixes.last().is_some_and(|&(_, cured)| cured) {
        growth.settle(bud.reached);
        return Some((cured_node(bud), Vec::new()));
    }
    let proposal = Proposal::new(&bud.course, &limits.budget, &growth.plan);
    if growth.stopped() {
        return None;
    }
    growth.steps.fetch_add(1, Ordering::Relaxed);
    let (node, next) = match proposal.best() {
        Next::Test(test) => match job.study().column(test) {
            Ok(column) => test_node(job, bud, &column, &proposal),
            Err(_) => (hand_on_node(job, bud), Vec::new()),
        },
        Next::Fix(fix) => fix_node(job, bud, fix, &proposal),
        Next::Stop => (hand_on_node(job, bud), Vec::new()),
    };
    let rare = next.iter().filter(|next| next.is_cut(job, limits));
    let ended = if next.is_empty() { bud.reached } else { 0.0 };
    growth.settle(ended + rare.map(|next| next.reached).sum::<f64>());
    Some((node, next))
}

fn test_node<'a>(
    job: &'a Job,
    bud: &Bud<'a>,
    column: &Column,
    proposal: &Proposal<'_>,
) -> Grown<'a> {
    let belief = bud.course.belief();
    let step = job.test_step(&bud.course, &belief, column, Some(proposal));
    let mut doing = step.doing;
    doing.push(step.watch);
    let mut node = node(Kind::Test, &step.id, &step.title, step.minutes, bud);
    node.cautions = clean(step.cautions);
    node.doing = clean(doing);
    let mut next = Vec::new();
    let foretold = bud.course.foretold(column);
    for (at, (outcome, row)) in column.outcomes.iter().zip(&foretold).enumerate() {
        let mut course = bud.course.clone();
        course.read(column, &[Seen::Outcome(at)], at);
        let Some(after) = bud.then(course, row, next.len()) else { continue };
        node.outcomes.push(Outcome {
            id: outcome.id.clone(),
            words: sanitise(&outcome.words),
            probability: after.reached / bud.reached,
            leaves: after.leaves(job),
            next: 0,
        });
        next.push(after);
    }
    (node, next)
}

fn fix_node<'a>(job: &'a Job, bud: &Bud<'a>, fix: usize, proposal: &Proposal<'_>) -> Grown<'a> {
    let belief = bud.course.belief();
    let step = job.fix_step(&bud.course, &belief, fix, proposal);
    let mut node = node(Kind::Fix, &step.id, &step.title, step.minutes, bud);
    node.cautions = clean(step.cautions);
    node.doing = clean(step.doing.into_iter().chain(step.proof));
    let suspects = &job.study().lineup().suspects;
    // A repair counts as done well, as the planner and the trial have it.
    let cures = |cured: bool| -> Vec<f64> {
        let right = suspects.iter().map(|suspect| (suspect.fix.index() == fix) == cured);
        right.map(|right| f64::from(u8::from(right))).collect()
    };
    let mut next = Vec::new();
    for (cured, id, words) in [(true, "cured", "it works"), (false, "not-cured", "still fails")] {
        let mut course = bud.course.clone();
        course.tried(fix, cured);
        let row = cures(cured);
        let Some(after) = bud.then(course, &row, next.len()) else { continue };
        node.outcomes.push(Outcome {
            id: id.to_owned(),
            words: words.to_owned(),
            probability: after.reached / bud.reached,
            leaves: if cured { Vec::new() } else { after.leaves(job) },
            next: 0,
        });
        next.push(after);
    }
    (node, next)
}

fn cured_node(bud: &Bud<'_>) -> Node {
    let mut node = node(Kind::Cured, "cured", "Proven: it works again", 0.0, bud);
    node.doing = clean(words::put_back(&bud.course));
    node
}

fn hand_on_node(job: &Job, bud: &Bud<'_>) -> Node {
    let ending = ending::stuck(job, &bud.course, &bud.course.belief(), Vec::new());
    let title = "Not found with what is at hand: hand the job on";
    let mut node = node(Kind::HandOn, "hand-on", title, HAND_ON_MINUTES, bud);
    node.doing = clean(ending.lines.into_iter().chain(ending.put_back));
    node
}

/// What is left is estimated by one look at all steps, without look-ahead.
fn cut_node(bud: &Bud<'_>) -> Node {
    if bud.course.fixes.last().is_some_and(|&(_, cured)| cured) {
        return cured_node(bud);
    }
    let proposal = Proposal::new(&bud.course, &Budget { nodes: 0 }, &Progress::default());
    let minutes = proposal.plan.expected_minutes;
    node(Kind::Cut, "cut", "Not followed further here", minutes, bud)
}

fn node(kind: Kind, id: &str, title: &str, minutes: f64, bud: &Bud<'_>) -> Node {
    Node {
        kind,
        id: id.to_owned(),
        title: sanitise(title),
        minutes,
        reached: bud.reached,
        expected_minutes: minutes,
        expected_tests: 0.0,
        cautions: Vec::new(),
        doing: Vec::new(),
        outcomes: Vec::new(),
    }
}
