//! What can be seen: the outcomes of each kind of look, and where one passes into the next.

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
    /// A horn; level = volts across it over rated volts.
    Sound,
    /// A relay or solenoid; level 0 silent, 1 clicks, 2 chatters.
    Click,
    /// A meter's volts.
    Volts {
        /// Nominal volts of the system, which the named ranges are scaled to.
        system: u8,
    },
    /// A meter's ohms; level = log10 of ohms.
    Ohms,
}

/// One thing that can be seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Its id: `lit`, `0.2-to-0.5V`.
    pub id: String,
    /// For a person: `lights brightly`.
    pub words: String,
}

/// Edges of named ranges of volts in a 12 V system; other systems in proportion.
const VOLT_EDGES: [f64; 14] =
    [-0.3, 0.05, 0.15, 0.3, 0.6, 1.2, 2.5, 5.0, 8.0, 9.8, 10.8, 11.5, 12.1, 13.2];
/// Edges of named ranges of ohms, as log10.
const OHM_EDGES: [f64; 7] = [-0.7, 0.3, 1.0, 1.7, 2.7, 4.0, 6.0];
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
            Scale::Sound => vec![0.3, 0.7],
            Scale::Click => vec![0.5, 1.5],
            Scale::Volts { system } => {
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
            Scale::Glow | Scale::Turning | Scale::Sound => {
                0.005 + 0.06 * (level / 0.3).clamp(0.0, 1.0)
            }
            Scale::Led => 0.12,
            Scale::Click => 0.1,
            Scale::Volts { .. } => 0.005 * level.abs() + 0.01,
            Scale::Ohms => 0.03,
        }
    }

    /// How often a reading is simply wrong: the wrong point touched, a probe that made no contact,
    /// a slip of the eye or pen. Human-reliability tables as quoted in the methods give .003 to .01
    /// a look and .02 for the probe's contact (ours).
    pub fn slip(self) -> f64 {
        match self {
            Scale::Turning | Scale::Sound | Scale::Click => 0.01,
            Scale::Glow | Scale::Led | Scale::Volts { .. } | Scale::Ohms => 0.02,
        }
    }

    /// The outcomes between `edges`, in the order of rising level.
    pub fn outcomes(self, edges: &[f64]) -> Vec<Outcome> {
        match self {
            Scale::Glow | Scale::Led => {
                named(&[("dark", "stays dark"), ("dim", "glows dimly"), ("lit", "lights brightly")])
            }
            Scale::Turning => {
                named(&[("still", "does not turn"), ("slow", "turns slowly"), ("turns", "turns")])
            }
            Scale::Sound => {
                named(&[("silent", "is silent"), ("weak", "sounds weak"), ("sounds", "sounds")])
            }
            Scale::Click => named(&[
                ("silence", "nothing is heard"),
                ("click", "one click"),
                ("chatter", "chatters"),
            ]),
            Scale::Volts { .. } => ranges(edges, "V", |edge| format!("{edge:.2}")),
            Scale::Ohms => ranges(edges, "ohm", |edge| plain(10f64.powf(edge))),
        }
    }

    /// A number a person typed, as a level.
    pub fn number_on_axis(self, typed: f64) -> f64 {
        if self == Scale::Ohms { typed.max(0.01).log10().min(OVERLOAD_LEVEL) } else { typed }
    }

    /// A level as the number a person would read.
    pub fn number_shown(self, level: f64) -> f64 {
        if self == Scale::Ohms { 10f64.powf(level) } else { level }
    }

    /// Width of the axis a wrong reading may fall on.
    pub fn width(self) -> f64 {
        match self {
            Scale::Volts { system } => 1.2 * f64::from(system),
            Scale::Ohms => 9.0,
            _ => 2.0,
        }
    }
}

fn named(pairs: &[(&str, &str)]) -> Vec<Outcome> {
    pairs
        .iter()
        .map(|(id, words)| Outcome { id: (*id).to_owned(), words: (*words).to_owned() })
        .collect()
}

fn ranges(edges: &[f64], unit: &str, show: impl Fn(f64) -> String) -> Vec<Outcome> {
    let short = |edge: f64| {
        let text = show(edge);
        if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        } else {
            text
        }
    };
    if edges.is_empty() {
        return named(&[("any", "any number")]);
    }
    let mut list = Vec::with_capacity(edges.len() + 1);
    for at in 0..=edges.len() {
        let (id, words) = if at == 0 {
            let edge = short(edges[0]);
            (format!("under-{edge}{unit}"), format!("under {edge} {unit}"))
        } else if at == edges.len() {
            let edge = short(edges[at - 1]);
            (format!("over-{edge}{unit}"), format!("over {edge} {unit}"))
        } else {
            let (low, high) = (short(edges[at - 1]), short(edges[at]));
            (format!("{low}-to-{high}{unit}"), format!("{low} to {high} {unit}"))
        };
        list.push(Outcome { id, words });
    }
    list
}

fn plain(ohms: f64) -> String {
    if ohms >= 1e6 {
        format!("{:.0}M", ohms / 1e6)
    } else if ohms >= 1e3 {
        format!("{:.0}k", ohms / 1e3)
    } else if ohms >= 1.5 {
        format!("{ohms:.0}")
    } else {
        format!("{ohms:.1}")
    }
}
