//! One test under every suspect.

use crate::suspect::{Lineup, Nature, Suspect};
use crate::tester::outcome::Outcome;
use crate::tester::scale::{Scale, Shown};
use crate::tester::{Test, Tester, likelihood};

/// One column of the table: what each suspect would show, and how likely each outcome is.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// The test.
    pub test: Test,
    /// Share of such readings that are simply wrong.
    pub slip: f64,
    /// What each suspect shows, in the line-up's order.
    pub shown: Vec<Shown>,
    /// Edges kept between outcomes.
    pub edges: Vec<f64>,
    /// The outcomes.
    pub outcomes: Vec<Outcome>,
    /// `likelihood[outcome][suspect]`; sums to 1 over outcomes.
    pub likelihood: Vec<Vec<f64>>,
}

/// What was seen of a test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seen {
    /// The outcome at this position.
    Outcome(usize),
    /// A number, in the test's unit.
    Number(f64),
    /// A number between these levels of the scale's axis.
    Between(f64, f64),
}

impl Column {
    /// Probability (of a number: density on the scale's axis) of what was seen, under each suspect.
    pub fn under_all(&self, lineup: &Lineup, seen: Seen) -> Vec<f64> {
        match seen {
            Seen::Outcome(at) => self.likelihood[at].clone(),
            Seen::Number(typed) => self.number(lineup, typed),
            Seen::Between(low, high) => self.between(lineup, (low, high)),
        }
    }

    /// The same where a machine would show `shown`.
    pub fn under(&self, shown: &Shown, seen: Seen) -> f64 {
        let (scale, slip) = (self.test.scale, self.slip);
        match seen {
            Seen::Outcome(at) => {
                likelihood::outcome(scale, slip, self.outcomes.len(), shown, self.levels(at))
            }
            Seen::Number(typed) => {
                likelihood::number(scale, slip, shown, scale.number_on_axis(typed))
            }
            Seen::Between(low, high) => likelihood::between(scale, slip, shown, (low, high)),
        }
    }

    /// The part of it that is due to a wrong reading, the same under each suspect.
    pub fn by_mistake(&self, seen: Seen) -> f64 {
        let scale = self.test.scale;
        self.slip
            * match seen {
                Seen::Outcome(_) => 1.0 / self.outcomes.len() as f64,
                Seen::Number(_) => 1.0 / scale.width(),
                Seen::Between(low, high) => likelihood::share_of_axis(scale, (low, high)),
            }
    }

    /// Likelihood of a number under each suspect, as densities on the scale's axis.
    pub fn number(&self, lineup: &Lineup, typed: f64) -> Vec<f64> {
        let scale = self.test.scale;
        let on_axis = scale.number_on_axis(typed);
        let of = |shown: &Shown| likelihood::number(scale, self.slip, shown, on_axis);
        self.under_each(lineup, of, 1.0 / scale.width())
    }

    /// Probability under each suspect of a number between two levels of the scale's axis.
    pub fn between(&self, lineup: &Lineup, levels: (f64, f64)) -> Vec<f64> {
        let scale = self.test.scale;
        let of = |shown: &Shown| likelihood::between(scale, self.slip, shown, levels);
        self.under_each(lineup, of, likelihood::share_of_axis(scale, levels))
    }

    /// Something read of what each suspect shows; `outside` is the likelihood where anything may be shown.
    fn under_each(&self, lineup: &Lineup, of: impl Fn(&Shown) -> f64, outside: f64) -> Vec<f64> {
        let one = |(shown, suspect): (&Shown, &Suspect)| {
            if suspect.nature == Nature::Outside {
                return outside;
            }
            let share = shows(&self.test, suspect, shown);
            let mut own = [of(shown)];
            if share < 1.0 {
                mix(&mut own, share, &[of(&self.shown[0])]);
            }
            own[0]
        };
        self.shown.iter().zip(&lineup.suspects).map(one).collect()
    }

    /// The levels of the scale's axis between which an outcome lies.
    pub fn levels(&self, outcome: usize) -> (f64, f64) {
        let low = outcome.checked_sub(1).and_then(|below| self.edges.get(below));
        let high = self.edges.get(outcome);
        (low.copied().unwrap_or(f64::NEG_INFINITY), high.copied().unwrap_or(f64::INFINITY))
    }

    /// The outcome a suspect most likely shows.
    pub fn likeliest(&self, suspect: usize) -> usize {
        let mut best = 0;
        for (at, row) in self.likelihood.iter().enumerate() {
            if row[suspect] > self.likelihood[best][suspect] {
                best = at;
            }
        }
        best
    }

    /// The outcome a number falls into.
    pub fn outcome_of(&self, typed: f64) -> usize {
        self.outcome_at(self.test.scale.number_on_axis(typed))
    }

    /// The outcome at a level of the scale's axis.
    pub fn outcome_at(&self, level: f64) -> usize {
        self.edges.iter().take_while(|edge| **edge <= level).count()
    }
}

/// Share of the tries in which a test meets a suspect's fault. A joint that only now and then makes
/// contact nearly always shows when it is moved about, one that is bad for good shows in half the tries
/// (common practice, no source).
pub fn shows(test: &Test, suspect: &Suspect, shown: &Shown) -> f64 {
    match (test.tester, shown.level > 0.5) {
        (Tester::Wiggle, false) => 1.0,
        (Tester::Wiggle, true) if suspect.shows < 1.0 => 0.9,
        (Tester::Wiggle, true) => 0.5,
        _ => suspect.shows,
    }
}

/// Makes of the chances with a fault those with one that is there in a share of the tries only.
pub(super) fn mix(chances: &mut [f64], shows: f64, away: &[f64]) {
    if shows < 1.0 {
        for (chance, without) in chances.iter_mut().zip(away) {
            *chance = shows * *chance + (1.0 - shows) * without;
        }
    }
}

/// Keeps the edges of a meter's ranges that part some suspects; lamps and senses keep all theirs.
///
/// A range in which no suspect would show anything is joined to the one below it.
pub(super) fn useful_edges(test: &Test, shown: &[Shown]) -> Vec<f64> {
    let edges = test.scale.edges();
    // What rests at all is judged by the first edge of a drain, whoever would show more.
    if test.tester.unit().is_none() || test.scale == Scale::Drain {
        return edges;
    }
    let occupied = |at: usize| {
        let low = at.checked_sub(1).map_or(f64::NEG_INFINITY, |below| edges[below]);
        let high = edges.get(at).copied().unwrap_or(f64::INFINITY);
        shown
            .iter()
            .any(|one| one.level + 2.0 * one.spread >= low && one.level - 2.0 * one.spread < high)
    };
    let first = (0..=edges.len()).find(|&at| occupied(at)).unwrap_or(0);
    (first + 1..=edges.len()).filter(|&at| occupied(at)).map(|at| edges[at - 1]).collect()
}
