//! What can be seen: the axis of each kind of look, where one outcome passes into the next, and how sharply it is
//! read.

/// What a test shows, before anyone reads it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// On the scale's own axis (see [`Scale`]).
    pub level: f64,
    /// Spread of the level between sound machines of this kind and within one step of a suspect's
    /// severity, one standard deviation, on the same axis.
    pub spread: f64,
    /// It flickers or jumps: a relay chatters.
    pub restless: bool,
}

/// Kinds of thing seen. Each has an axis on which a level is given, and edges between outcomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Scale {
    /// A filament's glow; level = volts across it over rated volts.
    Glow,
    /// An LED; level = log10 of its milliamperes.
    Led,
    /// A motor; level = speed over rated speed.
    Turning,
    /// A starter; level = speed over cranking speed, and it may spin free.
    Cranking,
    /// A horn; level = volts across it over rated volts.
    Sound,
    /// Anything that works when fed; level = volts across it over rated volts.
    Works,
    /// A needle; level = amperes over those at the end of its scale.
    Needle,
    /// A flasher unit; level = amperes over those of the lamps it is made for.
    Beat,
    /// A relay or solenoid; level 0 silent, 1 clicks, 2 chatters.
    Click,
    /// A meter's volts.
    Volts {
        /// Nominal volts of the system, which the named ranges are scaled to.
        system: u8,
    },
    /// An old meter's volts: its needle is read to a fiftieth of its range.
    Pointer {
        /// Nominal volts of the system, which its range is chosen by.
        system: u8,
    },
    /// A few millivolts; level = log10 of millivolts, whatever their sign.
    Millivolts,
    /// A clamp meter's amperes; level = log10 of amperes, whatever their sign.
    Amps,
    /// A meter's amperes at rest; level = log10 of amperes, whatever their sign.
    Drain,
    /// A connector moved about; level 1 when what is watched comes and goes.
    Steadiness,
    /// A meter's ohms; level = log10 of ohms.
    Ohms,
}

/// Edges of named ranges of volts in a 12 V system; other systems in proportion.
const VOLT_EDGES: [f64; 14] =
    [-0.3, 0.05, 0.15, 0.3, 0.6, 1.2, 2.5, 5.0, 8.0, 9.8, 10.8, 11.5, 12.1, 13.2];
/// Edges of named ranges of ohms, as log10.
const OHM_EDGES: [f64; 7] = [-0.7, 0.3, 1.0, 1.7, 2.7, 4.0, 6.0];
/// Edges of named ranges of millivolts across a fuse.
const MILLIVOLT_EDGES: [f64; 8] = [0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0];
/// Edges of named ranges of a clamp meter, in amperes.
const AMP_EDGES: [f64; 8] = [0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0];
/// Edges of what a machine draws at rest, in amperes: up to 50 mA is let pass (common practice, no source).
const DRAIN_EDGES: [f64; 5] = [0.05, 0.2, 0.6, 2.0, 6.0];
/// Least amperes of a drain that a meter tells from nothing, as log10.
pub const LEAST_DRAIN: f64 = -3.0;
/// Least millivolts that a meter tells from nothing, as log10.
pub const LEAST_MILLIVOLTS: f64 = -1.0;
/// Least amperes that a clamp meter tells from nothing, as log10: it drifts by some hundredths.
pub const LEAST_AMPS: f64 = -1.5;
/// Range of an old meter over the system's volts: 15 V for 12 V.
pub const POINTER_RANGE: f64 = 1.25;
/// A meter that shows no number for an open circuit, as log10 of ohms.
pub const OVERLOAD_LEVEL: f64 = 7.3;

impl Scale {
    /// Levels at which one outcome passes into the next, rising.
    ///
    /// Glow: a filament at a quarter of its volts gives under 1 % of its light (exponent 3.4), at
    /// seven tenths about 30 %. The rest: common practice, no source.
    pub fn edges(self) -> Vec<f64> {
        match self {
            Scale::Glow => vec![0.25, 0.7],
            Scale::Led => vec![-0.5, 0.5],
            Scale::Turning => vec![0.05, 0.6],
            Scale::Cranking => vec![0.05, 0.6, 1.5],
            Scale::Sound | Scale::Works => vec![0.3, 0.7],
            // The needle's middle third but for its rest; a lamp out of two leaves half.
            Scale::Needle => vec![0.45, 0.8],
            Scale::Beat => vec![0.1, 0.75],
            Scale::Click => vec![0.5, 1.5],
            Scale::Steadiness => vec![0.5],
            Scale::Millivolts => MILLIVOLT_EDGES.iter().map(|edge| edge.log10()).collect(),
            Scale::Amps => AMP_EDGES.iter().map(|edge| edge.log10()).collect(),
            Scale::Drain => DRAIN_EDGES.iter().map(|edge| edge.log10()).collect(),
            Scale::Volts { system } | Scale::Pointer { system } => {
                VOLT_EDGES.iter().map(|edge| edge * f64::from(system) / 12.0).collect()
            }
            Scale::Ohms => OHM_EDGES.to_vec(),
        }
    }

    /// Spread of a person's or meter's reading about the level, one standard deviation, on the axis.
    ///
    /// A person's eye: common practice, no source. A meter: half a per cent and two digits.
    pub fn blur(self, level: f64) -> f64 {
        match self {
            // Nothing at all is seen as nothing; what is there is judged to some six hundredths.
            Scale::Glow | Scale::Turning | Scale::Cranking | Scale::Sound | Scale::Works => {
                0.005 + 0.06 * (level / 0.3).clamp(0.0, 1.0)
            }
            Scale::Led => 0.12,
            Scale::Click | Scale::Steadiness => 0.1,
            // A 15 V range for 12 V: 3 % of it as printed on the dial taken for two deviations (from memory).
            Scale::Pointer { system } => 0.015 * POINTER_RANGE * f64::from(system),
            // Two digits of 0.1 mV beside half a per cent; 2 % and 0.05 A (both from memory). On an axis of
            // decades a share of the reading is 0.43 times as much.
            Scale::Millivolts => 0.43 * (0.005 + 0.2 / 10f64.powf(level)),
            Scale::Amps => 0.43 * (0.02 + 0.05 / 10f64.powf(level)),
            // 1 % and a milliampere on its 10 A range, in decades (from memory).
            Scale::Drain => 0.43 * (0.01 + 0.001 / 10f64.powf(level)),
            Scale::Volts { .. } => 0.005 * level.abs() + 0.01,
            Scale::Needle | Scale::Beat | Scale::Ohms => 0.03,
        }
    }

    /// A number a person typed, as a level.
    pub fn number_on_axis(self, typed: f64) -> f64 {
        match self {
            Scale::Ohms => typed.max(0.01).log10().min(OVERLOAD_LEVEL),
            Scale::Millivolts => (1000.0 * typed.abs()).log10().max(LEAST_MILLIVOLTS),
            Scale::Amps => typed.abs().log10().max(LEAST_AMPS),
            Scale::Drain => typed.abs().log10().max(LEAST_DRAIN),
            _ => typed,
        }
    }

    /// Levels between which a number lies that a person gave vaguely.
    ///
    /// Where the axis goes by the size of a number alone, its sign is left out.
    pub fn levels_between(self, least: Option<f64>, most: Option<f64>) -> (f64, f64) {
        let (least, most) = match (self.is_by_size(), least, most) {
            (true, Some(least), Some(most)) if most <= 0.0 => (Some(most), Some(least)),
            (true, Some(least), most) if least <= 0.0 => (None, most),
            (_, least, most) => (least, most),
        };
        let level = |number: f64| self.number_on_axis(number);
        (least.map_or(f64::NEG_INFINITY, level), most.map_or(f64::INFINITY, level))
    }

    /// The sign of a number says nothing: the leads may be on the other way round.
    pub fn is_by_size(self) -> bool {
        matches!(self, Scale::Millivolts | Scale::Amps | Scale::Drain)
    }

    /// A level as the number a person would read.
    pub fn number_shown(self, level: f64) -> f64 {
        match self {
            Scale::Ohms | Scale::Amps | Scale::Drain => 10f64.powf(level),
            Scale::Millivolts => 0.001 * 10f64.powf(level),
            _ => level,
        }
    }

    /// Where the axis begins that a wrong reading may fall on.
    pub fn start(self) -> f64 {
        match self {
            Scale::Volts { system } | Scale::Pointer { system } => -0.1 * f64::from(system),
            Scale::Millivolts => LEAST_MILLIVOLTS,
            Scale::Amps => LEAST_AMPS,
            Scale::Drain => LEAST_DRAIN,
            Scale::Ohms => OVERLOAD_LEVEL - self.width(),
            _ => 0.0,
        }
    }

    /// Width of the axis a wrong reading may fall on.
    pub fn width(self) -> f64 {
        match self {
            Scale::Volts { system } | Scale::Pointer { system } => 1.2 * f64::from(system),
            Scale::Millivolts | Scale::Amps | Scale::Drain => 5.0,
            Scale::Ohms => 9.0,
            _ => 2.0,
        }
    }
}
