//! What a shop's finished jobs have taught about a circuit: plain numbers, as a job keeps them.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::circuit::Circuit;
use crate::suspect::Lineup;
use crate::tester::slips::{FAMILIES, Slips};

/// What differs from the catalogue, by ids; empty where nothing was learnt.
///
/// A job file carries it in its header, so that it replays to the same beliefs in another shop. Numbers that
/// cannot be (not finite, not above zero) count as not there.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Learned {
    /// By suspect id, how many times likelier than the catalogue has it.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub times_likelier: BTreeMap<String, f64>,
    /// By place id, minutes to open and close it.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub place_minutes: BTreeMap<String, f64>,
    /// By fix id, minutes of the repair itself.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub fix_minutes: BTreeMap<String, f64>,
    /// By scale family, the share of readings that are simply wrong.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub slips: BTreeMap<String, f64>,
}

/// What a file may say of a share or a number of minutes; beyond, it counts as not there.
fn sane(number: Option<&f64>, most: f64) -> Option<f64> {
    number.copied().filter(|number| *number > 0.0 && *number <= most)
}

/// Nothing is a thousand times likelier than the catalogue says after any number of jobs.
const MOST_TIMES: f64 = 1000.0;
/// No place or repair takes longer than a working week.
const MOST_MINUTES: f64 = 2400.0;
/// A tester that is wrong in half the readings tells nothing.
const MOST_SLIP: f64 = 0.5;

impl Learned {
    /// Nothing was learnt.
    pub fn is_empty(&self) -> bool {
        *self == Learned::default()
    }

    /// How many times likelier a suspect is than the catalogue has it; 1 where nothing is known.
    pub fn times_likelier(&self, suspect: &str) -> f64 {
        sane(self.times_likelier.get(suspect), MOST_TIMES).unwrap_or(1.0)
    }

    /// Share of wrong readings on scales of this family.
    pub fn slip(&self, family: &str) -> Option<f64> {
        sane(self.slips.get(family), MOST_SLIP)
    }

    /// The shares of wrong readings that were learnt.
    pub fn all_slips(&self) -> Slips {
        let known = FAMILIES.iter().filter_map(|family| Some((*family, self.slip(family)?)));
        Slips(known.collect())
    }

    /// The circuit with its places as long as they take here; `None` where they take what its file says.
    pub fn timed(&self, circuit: &Circuit) -> Option<Circuit> {
        if self.place_minutes.is_empty() {
            return None;
        }
        let mut circuit = circuit.clone();
        for place in &mut circuit.places {
            if let Some(minutes) = sane(self.place_minutes.get(&place.id), MOST_MINUTES) {
                place.open_minutes = minutes;
            }
        }
        Some(circuit)
    }

    /// The suspects with their weights as they are here, and the repairs as long as they take.
    pub fn weigh(&self, lineup: &mut Lineup) {
        for suspect in &mut lineup.suspects {
            suspect.weight *= self.times_likelier(&suspect.id);
        }
        for fix in &mut lineup.fixes {
            if let Some(minutes) = sane(self.fix_minutes.get(&fix.id), MOST_MINUTES) {
                fix.minutes = minutes;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_that_cannot_be_count_as_not_there() {
        let slips = BTreeMap::from([("lamp".to_owned(), f64::NAN), ("led".to_owned(), 0.9)]);
        let times = BTreeMap::from([("a".to_owned(), -1.0), ("b".to_owned(), 3.0)]);
        let learned = Learned { slips, times_likelier: times, ..Learned::default() };
        assert_eq!((learned.slip("lamp"), learned.slip("led")), (None, None));
        assert_eq!((learned.times_likelier("a"), learned.times_likelier("b")), (1.0, 3.0));
    }
}
