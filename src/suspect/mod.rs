//! The ways a circuit can be bad, how likely each is, what it changes, and what mends it.
//!
//! `modes` lists the fault modes of each kind of part with their weights, `damage` turns a fault into
//! changes of a network, `fix` knows the repairs, `pairs` puts two faults together, `severity` cuts a step of
//! ohms into grades. [`Lineup`] is all of it for one circuit.

pub mod damage;
pub mod fix;
pub mod modes;
pub mod pairs;
pub mod severity;

use crate::circuit::{Circuit, PartId};
use damage::Damage;
use fix::Fix;

/// Position of a suspect in [`Lineup::suspects`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SuspectId(pub u32);

/// Position of a fix in [`Lineup::fixes`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FixId(pub u32);

impl SuspectId {
    /// The same number as a position in the list.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

impl FixId {
    /// The same number as a position in the list.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// One way the circuit can be.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Short name without blanks, stable for the file: `start-button.high-100`.
    pub id: String,
    /// The bad part; `None` for the sound circuit and for faults outside the drawing.
    pub part: Option<PartId>,
    /// What is wrong, for a person: `contacts dirty, about 100 ohm`.
    pub fault: String,
    /// Relative weight before anything is known; at least zero, not normalised.
    pub weight: f64,
    /// What mends it.
    pub fix: FixId,
    /// What it changes in the network; empty for the sound circuit.
    pub damage: Vec<Damage>,
    /// Steps of one continuous severity share a number and stand beside each other in the list.
    pub ladder: Option<u32>,
    /// What kind of hypothesis this is.
    pub nature: Nature,
    /// Share of the tries in which it is there: 1, less for an intermittent one.
    pub shows: f64,
}

/// What kind of hypothesis a suspect is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nature {
    /// Nothing is wrong now.
    Sound,
    /// One fault of one part.
    Fault,
    /// Two such faults at once, both from the same line-up.
    Pair(SuspectId, SuspectId),
    /// Something the drawing does not show: any reading is as likely as any other.
    Outside,
}

/// All suspects and fixes of one circuit; suspect 0 is the sound circuit, the last is `outside`.
#[derive(Debug, Clone)]
pub struct Lineup {
    /// Every way the circuit can be.
    pub suspects: Vec<Suspect>,
    /// Every repair.
    pub fixes: Vec<Fix>,
}

/// Weight of 'nothing wrong now' beside a usual part's 1 (common practice, no source).
const SOUND_WEIGHT: f64 = 0.5;
/// Weight of 'outside this drawing', as a share of all others (common practice, no source: 1 to 5 per cent).
const OUTSIDE_SHARE: f64 = 0.02;

/// The suspect that stands for all that is not in the list; `fix` is the number of its fix.
fn outside(suspects: &[Suspect], fix: usize) -> Suspect {
    let total: f64 = suspects.iter().map(|suspect| suspect.weight).sum();
    Suspect {
        id: "outside".to_owned(),
        part: None,
        fault: "something outside this drawing".to_owned(),
        weight: total * OUTSIDE_SHARE,
        fix: FixId(fix as u32),
        damage: Vec::new(),
        ladder: None,
        nature: Nature::Outside,
        shows: 1.0,
    }
}

/// The number of a fix, which several modes may share.
fn numbered(fixes: &mut Vec<Fix>, fix: Fix) -> FixId {
    let at = fixes.iter().position(|known| known.id == fix.id).unwrap_or_else(|| {
        fixes.push(fix);
        fixes.len() - 1
    });
    FixId(at as u32)
}

/// Above the number of modes of any one part, so that the ladders of two parts never meet.
const MOST_MODES: u32 = 4096;

impl Lineup {
    /// The suspects of `circuit` by the catalogue's fault modes and the file's `trouble`.
    pub fn of(circuit: &Circuit) -> Lineup {
        let mut fixes = vec![Fix::nothing()];
        let mut suspects = vec![Suspect {
            id: "sound".to_owned(),
            part: None,
            fault: "nothing wrong now".to_owned(),
            weight: SOUND_WEIGHT,
            fix: FixId(0),
            damage: Vec::new(),
            ladder: None,
            nature: Nature::Sound,
            shows: 1.0,
        }];
        for at in 0..circuit.parts.len() {
            let part = PartId(at as u32);
            let modes = modes::of_part(circuit, part);
            if modes.is_empty() {
                continue;
            }
            let fix = FixId(fixes.len() as u32);
            fixes.push(Fix::of_part(circuit, part));
            let trouble = circuit.parts[at].trouble;
            for mode in modes {
                let fix = mode.fix.map_or(fix, |own| numbered(&mut fixes, own));
                suspects.push(Suspect {
                    id: format!("{}.{}", circuit.parts[at].id, mode.id),
                    part: Some(part),
                    fault: mode.words,
                    weight: mode.weight * trouble * modes::own_weight(circuit, part, &mode.id),
                    fix,
                    damage: mode.damage,
                    ladder: mode.ladder.map(|ladder| at as u32 * MOST_MODES + ladder),
                    nature: Nature::Fault,
                    shows: mode.shows,
                });
            }
        }
        suspects.push(outside(&suspects, fixes.len()));
        fixes.push(Fix::beyond());
        Lineup { suspects, fixes }
    }

    /// Those suspects for which `keep` is true, beside the sound circuit and `outside`, and their fixes.
    #[must_use]
    pub fn only(&self, keep: &[bool]) -> Lineup {
        let kept = |(at, one): &(usize, &Suspect)| match one.nature {
            Nature::Sound => true,
            Nature::Fault => keep.get(*at).is_some_and(|keep| *keep),
            Nature::Pair(..) | Nature::Outside => false,
        };
        let kept = self.suspects.iter().enumerate().filter(kept);
        let mut suspects: Vec<Suspect> = kept.map(|(_, suspect)| suspect.clone()).collect();
        let mut used = vec![None; self.fixes.len()];
        let mut fixes = Vec::new();
        for suspect in &mut suspects {
            let old = suspect.fix.index();
            suspect.fix = *used[old].get_or_insert_with(|| {
                fixes.push(self.fixes[old].clone());
                FixId(fixes.len() as u32 - 1)
            });
        }
        suspects.push(outside(&suspects, fixes.len()));
        fixes.push(Fix::beyond());
        Lineup { suspects, fixes }
    }

    /// The suspect called `id`.
    pub fn find(&self, id: &str) -> Option<SuspectId> {
        self.suspects.iter().position(|suspect| suspect.id == id).map(|at| SuspectId(at as u32))
    }

    /// The fix called `id`.
    pub fn find_fix(&self, id: &str) -> Option<FixId> {
        self.fixes.iter().position(|fix| fix.id == id).map(|at| FixId(at as u32))
    }
}
