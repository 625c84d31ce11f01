//! What suspects show, brought to a test's own scale, a step of a severity standing for all about it.

use super::Bench;
use crate::circuit::ConnectorId;
use crate::suspect::damage::Damage;
use crate::suspect::{Suspect, SuspectId};
use crate::tester::hunt::allowed::watched_part;
use crate::tester::scale::{Scale, Shown};
use crate::tester::{Target, Test};

/// Deviations of what a step shows that reach halfway to what its neighbour does, where its stretch ends.
const STRETCH_DEVIATIONS: f64 = 3.0;

impl Bench {
    /// Brings what is shown to the test's own scale and its steps together.
    pub(super) fn bring_together(&self, test: &Test, shown: &mut [Shown]) {
        if let Target::Connector(at) = test.target {
            self.moved_about(at, test, shown);
        }
        self.widen(shown);
    }

    /// From what is watched to whether it comes and goes while a connector is moved about: it does
    /// where a joint of that connector is bad and the watched thing tells.
    fn moved_about(&self, at: ConnectorId, test: &Test, shown: &mut [Shown]) {
        let pins = &self.circuit.connector(at).pins;
        let scale = watched_part(&self.circuit, &test.setup).map(|(_, scale)| scale);
        let edges = scale.map_or_else(Vec::new, Scale::edges);
        let seen = |one: &Shown| edges.iter().filter(|edge| **edge <= one.level).count();
        let is_loose = |suspect: &Suspect| {
            let joint = |damage: &Damage| matches!(damage, Damage::Open(_) | Damage::Series(..));
            suspect.part.is_some_and(|part| pins.contains(&part))
                && suspect.damage.iter().all(joint)
        };
        let sights: Vec<usize> = shown.iter().map(&seen).collect();
        let suspects = &self.lineup.suspects;
        // Moved, a loose joint makes contact, and what is seen is what is left without it.
        let tells = |at: usize, loose: usize, without: usize| {
            is_loose(&suspects[loose]) && sights[at] != sights[without]
        };
        for (at, suspect) in suspects.iter().enumerate() {
            let moves = match suspect.pair() {
                Some((one, other)) => {
                    let (one, other) = (one.index(), other.index());
                    tells(at, one, other) || tells(at, other, one)
                }
                None => tells(at, at, 0),
            };
            shown[at] = Shown { level: f64::from(u8::from(moves)), spread: 0.0, restless: false };
        }
    }

    /// A step of a continuous severity stands for all between it and its neighbours, so what it
    /// shows spreads over a part of the way to what they show; less towards a step with which hardly anything
    /// would be wrong.
    fn widen(&self, shown: &mut [Shown]) {
        let levels: Vec<f64> = shown.iter().map(|one| one.level).collect();
        for (at, one) in shown.iter_mut().enumerate() {
            let reach = self.reach(at, |next| {
                let part = (self.causes[next] / self.causes[at].max(f64::MIN_POSITIVE)).min(1.0);
                (levels[next] - levels[at]).abs() * part
            });
            if reach > 0.0 {
                one.spread = one.spread.hypot(reach / 2.0 / STRETCH_DEVIATIONS);
            }
        }
        // Of a pair, the severity of the fault tells that alone would show nearly the same.
        for (at, suspect) in self.lineup.suspects.iter().enumerate() {
            let Some((one, other)) = suspect.pair() else { continue };
            let off = |member: SuspectId| (levels[member.index()] - levels[at]).abs();
            let nearer = if off(one) <= off(other) { one } else { other };
            shown[at].spread = shown[at].spread.max(shown[nearer.index()].spread);
        }
    }

    /// How far the steps beside a step of the same severity are `off` it; 0 where there are none.
    pub(super) fn reach(&self, at: usize, off: impl Fn(usize) -> f64) -> f64 {
        let ladder = |at: usize| self.lineup.suspects.get(at).and_then(|one| one.ladder);
        let Some(own) = ladder(at) else { return 0.0 };
        let beside = [at.wrapping_sub(1), at + 1].into_iter();
        let beside = beside.filter(|&next| ladder(next) == Some(own));
        beside.map(off).fold(0.0, f64::max)
    }
}
