//! Kinds of fault, as people sort them.

use crate::suspect::Suspect;
use crate::suspect::damage::Damage;

/// What sort of fault it is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum FaultKind {
    /// No current at all.
    Open,
    /// Current, but through more ohms than there should be.
    Resistance,
    /// On the frame, on its neighbour, or within itself.
    Short,
    /// A contact or armature that does not move.
    Stuck,
    /// It does its work badly: a battery, a motor, a coil.
    Weak,
    /// Now and then.
    Intermittent,
    /// Two wires in each other's place.
    Miswired,
}

impl FaultKind {
    /// All of them.
    pub const ALL: [FaultKind; 7] = [
        FaultKind::Open,
        FaultKind::Resistance,
        FaultKind::Short,
        FaultKind::Stuck,
        FaultKind::Weak,
        FaultKind::Intermittent,
        FaultKind::Miswired,
    ];

    /// The kind of a suspect.
    pub fn of(suspect: &Suspect) -> FaultKind {
        if suspect.shows < 1.0 {
            return FaultKind::Intermittent;
        }
        let mut kinds = suspect.damage.iter().map(|damage| match damage {
            Damage::Open(_) => FaultKind::Open,
            Damage::Series(..) => FaultKind::Resistance,
            Damage::Grounded(..) | Damage::Touching(..) => FaultKind::Short,
            Damage::Welded(_) | Damage::Jammed(..) | Damage::Deaf(..) => FaultKind::Stuck,
            Damage::Instead(..) | Damage::Sluggish(..) | Damage::Mute(_) => FaultKind::Weak,
            Damage::Swapped(..) => FaultKind::Miswired,
        });
        // What names the fault comes first in its list.
        kinds.next().unwrap_or(FaultKind::Weak)
    }

    /// Its id, as typed behind `--kind`.
    pub fn id(self) -> &'static str {
        match self {
            FaultKind::Open => "open",
            FaultKind::Resistance => "resistance",
            FaultKind::Short => "short",
            FaultKind::Stuck => "stuck",
            FaultKind::Weak => "weak",
            FaultKind::Intermittent => "intermittent",
            FaultKind::Miswired => "miswired",
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            FaultKind::Open => "open, no contact",
            FaultKind::Resistance => "high resistance",
            FaultKind::Short => "short",
            FaultKind::Stuck => "stuck",
            FaultKind::Weak => "weak or worn inside",
            FaultKind::Intermittent => "now and then",
            FaultKind::Miswired => "miswired",
        }
    }
}
