//! How bad a fault is: a step of a severity stands for all ohms about its own.

use super::Lineup;
use super::damage::Damage;
use crate::circuit::LinkId;

/// Parts into which the stretch of one step is cut, evenly in decades. Odd, so that the middle one is the step's
/// own ohms; so many that a part is about as narrow as a meter's reading is sure: where volts change fastest
/// with ohms, by 6.9 V a decade of a 12 V system, a part is a third of a volt.
pub const GRADES: usize = 21;

impl Lineup {
    /// What a suspect changes at each grade of its severity, from the least bad; `None` where its severity is
    /// not one of ohms in series, of several steps.
    pub fn graded_damage(&self, at: usize) -> Option<Vec<Damage>> {
        let (link, own) = self.ohms_in_series(at)?;
        let beside = |next: usize| {
            let same = self.suspects.get(next)?.ladder == self.suspects[at].ladder;
            same.then(|| self.ohms_in_series(next)).flatten().map(|(_, ohms)| ohms)
        };
        let below = at.checked_sub(1).and_then(beside).map(|ohms| own / ohms);
        let above = beside(at + 1).map(|ohms| ohms / own);
        let (below, above) = (below.or(above)?, above.or(below)?);
        let middle = (GRADES / 2) as f64;
        let ohms = |grade: usize| {
            let off = grade as f64 - middle;
            let ratio = if off < 0.0 { below } else { above };
            own * ratio.powf(off / GRADES as f64)
        };
        Some((0..GRADES).map(|grade| Damage::Series(link, ohms(grade))).collect())
    }

    /// Where and how many ohms a step of a severity adds.
    fn ohms_in_series(&self, at: usize) -> Option<(LinkId, f64)> {
        let suspect = &self.suspects[at];
        match suspect.damage[..] {
            [Damage::Series(link, ohms)] if suspect.ladder.is_some() => Some((link, ohms)),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::read;

    #[test]
    fn the_grades_of_all_steps_are_evenly_spaced() {
        let text = include_str!("../../circuits/start-button.yaml");
        let lineup = Lineup::of(&read::read_text("start-button", text).0.unwrap());
        let ohms = |id: &str| -> Vec<f64> {
            let damage = lineup.graded_damage(lineup.find(id).unwrap().index()).unwrap();
            damage
                .iter()
                .map(|one| match one {
                    Damage::Series(_, ohms) => *ohms,
                    other => panic!("{other:?}"),
                })
                .collect()
        };
        let all = [ohms("start-button.high-10"), ohms("start-button.high-100")].concat();
        assert_eq!(all.len(), 2 * GRADES);
        assert!((all[GRADES / 2] - 10.0).abs() < 1e-12, "{all:?}");
        for next in all.windows(2) {
            let ratio = 10f64.powf(1.0 / GRADES as f64);
            assert!((next[1] / next[0] - ratio).abs() < 1e-9, "{all:?}");
        }
        assert_eq!(lineup.graded_damage(lineup.find("start-button.open").unwrap().index()), None);
    }
}
