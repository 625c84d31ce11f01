//! The whole policy of a circuit as a fault tree.
//!
//! `grow` asks the planner at every turn of the tree, as `find` does (`bud` is a turn that waits), and `reckon` adds up what it costs;
//! `steps` joins what is the same, so that it is printed once. The other files are a format each.

mod bud;
pub mod grow;
pub mod html;
pub mod json;
pub mod markdown;
mod reckon;
pub mod steps;
pub mod svg;
pub mod text;

use crate::job::shown::reasons;
use crate::plan::Budget;

/// How far a tree is to be grown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// For the choice of each step.
    pub budget: Budget,
    /// Ways less likely than this are cut, unless one repair is as good as certain there.
    pub cut_below: f64,
}

/// A circuit's whole policy, from the complaint to the proven repair.
///
/// All texts are sanitised. The tree is true to what `find` would propose when every outcome is entered
/// by its name; what is less likely than `cut_below` is not followed further.
#[derive(Debug, Clone, PartialEq)]
pub struct FaultTree {
    /// What it is a tree of.
    pub subject: Subject,
    /// The figures of the whole.
    pub figures: Figures,
    /// Ways less likely than this were cut.
    pub cut_below: f64,
    /// Nobody stopped it before it was grown.
    pub complete: bool,
    /// The nodes; the first is the root, and every node comes before what follows it.
    pub nodes: Vec<Node>,
}

/// What a tree is of.
#[derive(Debug, Clone, PartialEq)]
pub struct Subject {
    /// The circuit's name.
    pub circuit: String,
    /// The machine's.
    pub machine: String,
    /// What should work and does not.
    pub complaint: String,
    /// Testers at hand.
    pub kit: Vec<String>,
    /// The circuit file's notes.
    pub notes: Vec<String>,
    /// The volts that may be lost while a repair is proven.
    pub limits: Option<String>,
}

/// What a tree costs, and what it is measured against.
///
/// Each suspect counts with its probability given the complaint, each outcome with the likelihood by which
/// the suspect shows it, slips of the reader included. Repairs count as done well: a right one cures.
/// Handing the job on counts as [`crate::job::study::agenda::HAND_ON_MINUTES`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Minutes to the proven repair, on average; ways that were cut count with the planner's estimate of
    /// the rest.
    pub expected_minutes: f64,
    /// Readings, on average. A cut way counts with the bits it lacks over the mean bits of the tree's readings.
    pub expected_tests: f64,
    /// No plan can need fewer minutes on average.
    pub bound_minutes: f64,
    /// Minutes of the dearest way in the tree, whatever it ends in.
    pub worst_minutes: f64,
    /// Minutes of the dearest way that ends in a proven repair.
    pub worst_cured_minutes: f64,
    /// The least expected minutes of any plan, where that can be computed.
    pub optimum_minutes: Option<f64>,
    /// Probability of the ways that end in a proven repair.
    pub cured_probability: f64,
    /// Probability of the ways on which the job is handed on.
    pub hand_on_probability: f64,
    /// Probability of the ways that were cut.
    pub cut_probability: f64,
}

/// One step, or an end.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// What sort of node.
    pub kind: Kind,
    /// The test's or fix's id; of an end `cured`, `hand-on` or `cut`.
    pub id: String,
    /// In one line.
    pub title: String,
    /// Minutes it adds here. Of a cut way: the estimate of all that is left.
    pub minutes: f64,
    /// Probability to get here.
    pub reached: f64,
    /// Minutes expected from here on, its own included.
    pub expected_minutes: f64,
    /// Readings expected from here on, its own included.
    pub expected_tests: f64,
    /// Read before anything else.
    pub cautions: Vec<String>,
    /// What to do, a line each, in a safe order.
    pub doing: Vec<String>,
    /// What can be seen, and where it leads.
    pub outcomes: Vec<Outcome>,
}

/// What a node is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A reading to take.
    Test,
    /// A repair to do and to prove.
    Fix,
    /// The repair is proven.
    Cured,
    /// Nothing is left that would pay.
    HandOn,
    /// Too rare to be followed, or not followed when it was stopped.
    Cut,
}

impl Kind {
    /// `test`, `fix` or `end`.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Test => "test",
            Kind::Fix => "fix",
            Kind::Cured | Kind::HandOn | Kind::Cut => "end",
        }
    }
}

/// One thing that can be seen, and what then.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Its id: `lit`; of a fix `cured` or `not-cured`.
    pub id: String,
    /// In words.
    pub words: String,
    /// Probability that it is seen, at this node.
    pub probability: f64,
    /// The parts it leaves under suspicion, likeliest first; the shares sum to 1 at most.
    pub leaves: Vec<Leaning>,
    /// Position of what follows.
    pub next: usize,
}

/// A part and the share of the suspicion on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Leaning {
    /// The part's name.
    pub part: String,
    /// 0 to 1.
    pub share: f64,
}

/// Parts named where suspicion is told.
const NAMED: usize = 3;
/// Parts with a smaller share are not named.
const LEAST_NAMED: f64 = 0.03;

/// What an outcome means: the parts that stay under suspicion, `start button 62 %, C2 20 %`.
pub fn meaning(leaves: &[Leaning]) -> String {
    let named = leaves.iter().take(NAMED).enumerate();
    let named = named.filter(|(at, one)| *at == 0 || one.share >= LEAST_NAMED);
    let named = named.map(|(_, one)| format!("{} {:.0} %", one.part, one.share * 100.0));
    named.collect::<Vec<_>>().join(", ")
}

/// What an outcome takes off suspicion, of what it was `before`: `rules out main fuse (7 %)`.
pub fn ruled_out(before: &[Leaning], leaves: &[Leaning]) -> Option<String> {
    let before = before.iter().map(|one| (one.part.clone(), one.share, 0.0));
    let after = leaves.iter().map(|one| (one.part.clone(), 0.0, one.share));
    reasons::ruled_out(before.chain(after))
}

/// The suspicion before a look: that after each of its outcomes, by its probability.
pub fn mixed<'a>(outcomes: impl IntoIterator<Item = (f64, &'a [Leaning])>) -> Vec<Leaning> {
    let mut parts: Vec<Leaning> = Vec::new();
    for (probability, leaves) in outcomes {
        for leaning in leaves {
            let share = probability * leaning.share;
            match parts.iter_mut().find(|one| one.part == leaning.part) {
                Some(one) => one.share += share,
                None => parts.push(Leaning { part: leaning.part.clone(), share }),
            }
        }
    }
    parts.sort_by(|a, b| b.share.total_cmp(&a.share));
    parts
}
