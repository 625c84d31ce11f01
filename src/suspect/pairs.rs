//! Two faults at once: pairs of the suspects of a line-up.

use super::damage::Damage;
use super::{Lineup, Nature, Suspect, SuspectId};
use crate::circuit::{LinkId, PartId};

/// Two suspects that are both true; the one earlier in the line-up first.
pub type Pair = (SuspectId, SuspectId);

/// Share of jobs in which two faults are there at once: on worn machines one meets it now and then (common
/// practice, no source).
pub const TWO_FAULTS: f64 = 0.03;

/// Between the ids of the two.
const AND: &str = "+";

/// The links that a damage changes.
fn links(damage: &Damage) -> Vec<LinkId> {
    match damage {
        Damage::Open(link)
        | Damage::Series(link, _)
        | Damage::Instead(link, _)
        | Damage::Welded(link)
        | Damage::Deaf(link, _) => vec![*link],
        Damage::Swapped(one, other) => vec![*one, *other],
        Damage::Grounded(..)
        | Damage::Jammed(..)
        | Damage::Sluggish(..)
        | Damage::Mute(_)
        | Damage::Touching(..) => Vec::new(),
    }
}

impl Suspect {
    /// The two suspects that this one is made of, if it is a pair.
    pub fn pair(&self) -> Option<Pair> {
        match self.nature {
            Nature::Pair(one, other) => Some((one, other)),
            _ => None,
        }
    }
}

impl Lineup {
    /// Whether two of the suspects make a pair: single faults that are always there, mended apart.
    pub fn may_pair(&self, one: SuspectId, other: SuspectId) -> bool {
        let lasting = |at: SuspectId| {
            let suspect = &self.suspects[at.index()];
            suspect.nature == Nature::Fault && suspect.shows >= 1.0
        };
        let (first, second) = (&self.suspects[one.index()], &self.suspects[other.index()]);
        let touched =
            |suspect: &Suspect| -> Vec<LinkId> { suspect.damage.iter().flat_map(links).collect() };
        one < other
            && lasting(one)
            && lasting(other)
            && first.fix != second.fix
            // What two faults do to one link is not the sum of what each does.
            && !touched(first).iter().any(|link| touched(second).contains(link))
    }

    /// All pairs of the suspects, in their order.
    pub fn pairs(&self) -> impl Iterator<Item = Pair> + '_ {
        let ids = || (0..self.suspects.len() as u32).map(SuspectId);
        let with =
            move |one| ids().skip(one as usize + 1).map(move |other| (SuspectId(one), other));
        let all = (0..self.suspects.len() as u32).flat_map(with);
        all.filter(|&(one, other)| self.may_pair(one, other))
    }

    /// Weight of each pair, as [`Lineup::paired`] gives it: the product of its members' `weights`, so scaled
    /// that all pairs there are have the share [`TWO_FAULTS`] beside all that `weights` holds.
    pub fn pair_weight(&self, weights: &[f64]) -> impl Fn(Pair) -> f64 {
        let mut by_fix = vec![0.0; self.fixes.len()];
        for (suspect, weight) in self.suspects.iter().zip(weights) {
            if suspect.nature == Nature::Fault && suspect.shows >= 1.0 {
                by_fix[suspect.fix.index()] += weight;
            }
        }
        let sum: f64 = by_fix.iter().sum();
        let alike: f64 = by_fix.iter().map(|weight| weight * weight).sum();
        let all = 0.5 * (sum * sum - alike);
        let total: f64 = weights.iter().sum();
        let scale = if all > 0.0 { TWO_FAULTS / (1.0 - TWO_FAULTS) * total / all } else { 0.0 };
        let weights = weights.to_vec();
        move |(one, other)| scale * weights[one.index()] * weights[other.index()]
    }

    /// The same suspects with these pairs of them before `outside`; all others keep their places.
    ///
    /// A pair has the fix of its first member, as nothing cures both; what is left after one of them was
    /// mended is for those who know what was mended.
    #[must_use]
    pub fn paired(&self, pairs: &[Pair], weights: &[f64]) -> Lineup {
        let weight_of = self.pair_weight(weights);
        let mut suspects = self.suspects.clone();
        let outside = suspects.pop();
        suspects.extend(pairs.iter().map(|&pair| self.both(pair, weight_of(pair))));
        suspects.extend(outside);
        Lineup { suspects, fixes: self.fixes.clone() }
    }

    fn both(&self, pair: Pair, weight: f64) -> Suspect {
        let (one, other) = (&self.suspects[pair.0.index()], &self.suspects[pair.1.index()]);
        Suspect {
            id: format!("{}{AND}{}", one.id, other.id),
            part: one.part,
            fault: format!("{}, and another fault", one.fault),
            weight,
            fix: one.fix,
            damage: one.damage.iter().chain(&other.damage).cloned().collect(),
            ladder: None,
            nature: Nature::Pair(pair.0, pair.1),
            shows: 1.0,
        }
    }

    /// The bad parts of a suspect: none, one, or the two of a pair.
    pub fn parts_of(&self, at: SuspectId) -> impl Iterator<Item = PartId> + '_ {
        let (one, other) = self.suspects[at.index()].pair().unwrap_or((at, at));
        let second = (one != other).then_some(other);
        let members = std::iter::once(one).chain(second);
        members.filter_map(|member| self.suspects[member.index()].part)
    }

    /// Probability that each fix is needed, where each suspect has its share of `belief`: the suspicion on all it
    /// cures, alone or as one of two.
    pub fn fix_shares(&self, belief: &[f64]) -> Vec<f64> {
        let mut shares = vec![0.0; self.fixes.len()];
        for (share, suspect) in belief.iter().zip(&self.suspects) {
            shares[suspect.fix.index()] += share;
            if let Some((_, other)) = suspect.pair() {
                shares[self.suspects[other.index()].fix.index()] += share;
            }
        }
        shares
    }

    /// Whether doing a fix changes something under a suspect: it mends it, or one of its two.
    pub fn mends(&self, fix: usize, at: SuspectId) -> bool {
        let mended = |at: SuspectId| self.suspects[at.index()].fix.index() == fix;
        match self.suspects[at.index()].pair() {
            Some((one, other)) => mended(one) || mended(other),
            None => mended(at),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::read;

    fn lineup() -> Lineup {
        let text = include_str!("../../circuits/start-button.yaml");
        Lineup::of(&read::read_text("start-button", text).0.unwrap())
    }

    #[test]
    fn all_pairs_together_have_the_share_of_two_faults() {
        let lineup = lineup();
        let weights: Vec<f64> = lineup.suspects.iter().map(|one| one.weight).collect();
        let pairs: Vec<Pair> = lineup.pairs().collect();
        let paired = lineup.paired(&pairs, &weights);
        let of = |paired: &Lineup, is_pair: bool| -> f64 {
            let some = paired.suspects.iter().filter(|one| one.pair().is_some() == is_pair);
            some.map(|one| one.weight).sum()
        };
        let share = of(&paired, true) / (of(&paired, true) + of(&paired, false));
        assert!((share - TWO_FAULTS).abs() < 1e-12, "{share}");
        // Fewer pairs have the same weight each.
        let one = lineup.paired(&pairs[5..6], &weights);
        let at = one.suspects.len() - 2;
        assert_eq!(one.suspects[at], paired.suspects[lineup.suspects.len() - 1 + 5]);
        assert_eq!(one.suspects.last(), lineup.suspects.last());
    }

    #[test]
    fn a_pair_is_of_two_repairs_and_never_of_what_comes_and_goes() {
        let lineup = lineup();
        for (one, other) in lineup.pairs() {
            let (one, other) = (&lineup.suspects[one.index()], &lineup.suspects[other.index()]);
            assert_ne!(one.fix, other.fix);
            assert!(one.part.is_some() && other.part.is_some());
            assert!(one.shows >= 1.0 && other.shows >= 1.0);
        }
    }
}
