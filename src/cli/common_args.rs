//! What can be typed after several commands: the circuit, what is at hand, colours, where a report goes.

use std::sync::Arc;

use clap::builder::PossibleValue;
use clap::{Args as ClapArgs, ValueEnum};

use crate::history::ledger::Ledger;
use crate::quantity;
use crate::tester::Instrument;

/// What is common to commands on one circuit.
#[derive(Debug, Clone, Default, ClapArgs)]
pub struct OneCircuit {
    /// Testers at hand, separated by commas (lamp,meter if not given); eyes and ears always are.
    #[arg(long, value_delimiter = ',')]
    pub kit: Option<Vec<Instrument>>,
    /// What does not work: the name of a `works` entry of the circuit (the first one if not given).
    #[arg(long, value_name = "WORK")]
    pub complaint: Option<String>,
    /// Volts of the battery as measured, everything switched off, the meter on its posts: with them all
    /// readings are expected more closely.
    #[arg(long, value_name = "VOLTS", value_parser = volts)]
    pub battery_volts: Option<f64>,
    /// Use what the shop has learnt: a history file, or without a file the shop's own.
    #[arg(long, value_name = "FILE", num_args = 0..=1, default_missing_value = "")]
    pub history: Option<String>,
    /// The shop's own history where it was read before; it is used when none is named.
    #[arg(skip)]
    pub own_history: Option<Arc<Ledger>>,
}

fn volts(typed: &str) -> Result<f64, String> {
    quantity::parse(typed, quantity::Unit::Volts).map_err(|error| error.to_string())
}

impl OneCircuit {
    /// What is at hand.
    pub fn kit(&self) -> &[Instrument] {
        self.kit.as_deref().unwrap_or(&USUAL_KIT)
    }
}

/// What is at hand when nobody says.
pub const USUAL_KIT: [Instrument; 2] = [Instrument::Lamp, Instrument::Meter];

impl ValueEnum for Instrument {
    fn value_variants<'a>() -> &'a [Self] {
        // Testers of one sort beside each other, as help lists them.
        &[
            Self::Lamp,
            Self::Led,
            Self::Meter,
            Self::OldMeter,
            Self::Clamp,
            Self::Bulb,
            Self::Jumper,
            Self::Spares,
        ]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let help = match self {
            Self::Lamp => "Filament test lamp",
            Self::Led => "LED test lamp",
            Self::Meter => "Digital meter",
            Self::OldMeter => "Moving-coil meter of 20 kilohm a volt",
            Self::Clamp => "Clamp meter for direct current",
            Self::Bulb => "A 21 W bulb on two leads, to put in place of a fuse",
            Self::Jumper => "A jumper with a fuse in it",
            Self::Spares => "Known good relays, bulbs and fuses, to try in the place of others",
            // Always at hand, so nobody names them.
            Self::Senses => return None,
        };
        Some(PossibleValue::new(self.id()).help(help))
    }
}

/// Looks of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum LookOf {
    /// The terminal's own colours, light or dark.
    #[default]
    Usual,
    /// Black on white, nothing between: for bright sun.
    Sun,
}

/// Whether to use colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// Unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never: words, blocks and reverse video only.
    Never,
}

/// Where a report goes.
#[derive(Debug, ClapArgs)]
pub struct Out {
    /// Write to this file; one that is there and was not made by halfsplit is left alone.
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<std::path::PathBuf>,
    /// Replace the file whatever it is.
    #[arg(long, requires = "out")]
    pub force: bool,
}
