//! Why a test is not done.

/// A test is unsafe, or would show nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refusal {
    /// Ohms on a live circuit.
    OhmsLive,
    /// Anything but ohms with the battery's ground cable off.
    Dead,
    /// Both leads on the same point.
    SamePoint,
    /// A lamp across heavy cables or the battery.
    LampAcrossHeavy,
    /// The point is sealed.
    Sealed,
    /// Eyes and ears with something parted or lifted.
    NotWhole,
    /// There is nothing to see or hear on it.
    Nothing,
    /// A jumper across what it does not stand in for.
    Jumper,
    /// A clamp around something else than a wire.
    NoWire,
    /// A meter in the battery's cable with something switched on.
    NotAtRest,
    /// A bulb in place of a fuse that is in.
    BulbFuseIn,
    /// An ammeter in place of a fuse that is in.
    AmpsFuseIn,
    /// More may flow than a meter bears.
    MeterAmps,
    /// Millivolts across something else than a fuse.
    NoFuse,
    /// A connector moved about that is parted.
    Parted,
    /// A connector moved about while nothing works.
    NothingWorks,
}

impl Refusal {
    /// In words, as a clause: `the meter bears 10 A: ...`.
    pub fn words(self) -> &'static str {
        match self {
            Refusal::OhmsLive => {
                "ohms are measured on a dead circuit only: battery ground cable off"
            }
            Refusal::Dead => "with the battery ground cable off there is nothing to see",
            Refusal::SamePoint => "both leads would be on the same point",
            Refusal::LampAcrossHeavy => "no lamp across heavy cables or the battery",
            Refusal::Sealed => "a probe cannot get at that point",
            Refusal::NotWhole => {
                "eyes and ears are for the machine as it stands, nothing parted or lifted"
            }
            Refusal::Nothing => "there is nothing to see or hear on it",
            Refusal::Jumper => {
                "a jumper bridges a switch, relay contact or pin, never a load or a heavy cable"
            }
            Refusal::NoWire => "a clamp goes around a wire",
            Refusal::NotAtRest => "a meter in the battery's cable is for rest only",
            Refusal::BulbFuseIn => {
                "the bulb goes into the holder of a fuse that is out: add FUSE.out to the setup"
            }
            Refusal::AmpsFuseIn => {
                "an ammeter takes the place of a fuse that is out: add FUSE.out to the setup"
            }
            Refusal::MeterAmps => "a meter bears 10 A: use a clamp where the fuse is larger",
            Refusal::NoFuse => "millivolts are read across a fuse, at its two terminals",
            Refusal::Parted => "a parted connector has nothing to move about",
            Refusal::NothingWorks => {
                "a connector is moved about while something works: take a setup in which it should"
            }
        }
    }
}
