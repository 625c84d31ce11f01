//! Test lamps on a case.
//!
//! A lamp that moves what it touches costs an operating point of its own. Points joined by good copper make
//! it glow alike, and most points of a machine are: ends of one wire, halves of one connector. For a plan that
//! is near enough; what is held against a reading is reckoned for its own point, so that it does not depend
//! on what else was reckoned.

use std::cell::RefCell;

use crate::electric::{Case, Law, NodeId, SolveError};

/// Watts of the filament test lamp at the system's volts: `a few watts` (common practice, no source;
/// published draw 0.1 to 0.3 A at 12 V).
pub const LAMP_WATTS: f64 = 3.0;
/// A lamp under this share of its volts is dark whatever else happens.
const DEAD_SHARE: f64 = 0.02;
/// A lamp that pulls its point down by less than this share is taken not to move it.
const STIFF_SHARE: f64 = 0.01;
/// Points at which a lamp at its rated volts would lose less than this share between them glow alike.
const ALIKE_SHARE: f64 = 0.002;

/// How a test lamp glows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Glow {
    /// Volts across it over its rated ones.
    pub level: f64,
    /// Relays chatter while it is there.
    pub restless: bool,
}

/// The lamps of one case.
#[derive(Debug)]
pub struct Lamps {
    rated_volts: f64,
    /// The lamps reckoned so far; none where each is reckoned for itself.
    known: Option<RefCell<Vec<Known>>>,
}

#[derive(Debug, Clone, Copy)]
struct Known {
    ends: [NodeId; 2],
    open_volts: f64,
    source_ohms: f64,
    glow: Glow,
}

impl Lamps {
    /// For lamps made for so many volts, each reckoned for itself.
    pub fn each(rated_volts: f64) -> Lamps {
        Lamps { rated_volts, known: None }
    }

    /// The same, those on points that glow alike reckoned once.
    pub fn alike(rated_volts: f64) -> Lamps {
        Lamps { rated_volts, known: Some(RefCell::default()) }
    }

    /// How a lamp across two nodes of `case` glows; always the same case for the same `Lamps`.
    pub(super) fn across(&self, case: &Case, a: NodeId, b: NodeId) -> Result<Glow, SolveError> {
        let (open_volts, source_ohms) = case.thevenin(a, b);
        if let Some(glow) = self.unmoved(case, open_volts, source_ohms) {
            return Ok(glow);
        }
        let same = |one: &&Known| self.is_alike(case, one, [a, b], open_volts, source_ohms);
        if let Some(glow) = self
            .known
            .as_ref()
            .and_then(|known| known.borrow().iter().find(same).map(|one| one.glow))
        {
            return Ok(glow);
        }
        let law = Law::Lamp { volts: self.rated_volts, watts: LAMP_WATTS };
        let load = case.with_load(a, b, &law)?;
        let glow = Glow {
            level: load.volts.abs() / self.rated_volts,
            restless: load.steadiness.chatters(),
        };
        if let Some(known) = &self.known {
            known.borrow_mut().push(Known { ends: [a, b], open_volts, source_ohms, glow });
        }
        Ok(glow)
    }

    /// A lamp on points so stiff, or so dead, that it moves nothing: the volts between them say it all.
    fn unmoved(&self, case: &Case, open_volts: f64, source_ohms: f64) -> Option<Glow> {
        let lost_volts = source_ohms.abs() * LAMP_WATTS / self.rated_volts;
        let dead = open_volts.abs() < DEAD_SHARE * self.rated_volts;
        let stiff = lost_volts < STIFF_SHARE * open_volts.abs();
        let level = open_volts.abs() / self.rated_volts;
        (dead || stiff).then(|| Glow { level, restless: case.steadiness().chatters() })
    }

    /// Whether both ends are as good as joined to those of a lamp that is known.
    fn is_alike(
        &self,
        case: &Case,
        one: &Known,
        ends: [NodeId; 2],
        open_volts: f64,
        source_ohms: f64,
    ) -> bool {
        let least_volts = ALIKE_SHARE * self.rated_volts;
        let most_ohms = least_volts * self.rated_volts / LAMP_WATTS;
        let joined = |(&one, other): (&NodeId, NodeId)| {
            one == other || {
                let (volts, ohms) = case.thevenin(one, other);
                volts.abs() < least_volts && ohms.abs() < most_ohms
            }
        };
        (one.open_volts - open_volts).abs() < least_volts
            && (one.source_ohms - source_ohms).abs() < 2.0 * most_ohms
            && one.ends.iter().zip(ends).all(joined)
    }
}
