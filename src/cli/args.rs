//! What can be typed.

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};

use crate::quantity;
use crate::tester::Instrument;

/// Finds the one fault in a machine's electrical circuit, test by test.
#[derive(Debug, Parser)]
#[command(
    name = "halfsplit",
    version,
    after_help = "\
CIRCUIT is a circuit file, or the name of a built-in circuit; `halfsplit check` lists those.

Examples:
  halfsplit find start-button            the diagnosis, step by step on the screen
  halfsplit find start-button --plain    the same, line by line
  halfsplit next horn-relay --json       one step, for scripts
  halfsplit check my-circuit.yaml        what is wrong with a file, and how to mend it
  halfsplit tree horn-relay --format html --out horn.html
                                         the whole fault tree, for paper and phones

Exit code: 0 fine, 1 a finding or a failure, 2 bad usage."
)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The subcommands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Load circuit files and examine them; without a file, list the built-in circuits.
    Check(Check),
    /// Find the fault, step by step.
    Find(Find),
    /// One step: what to do next, given some readings.
    Next(Next),
    /// What each test shows, in the sound circuit and under each suspect.
    Expect(Expect),
    /// Play the planner against every suspect, beside simpler ways of working.
    Trial(Trial),
    /// Print the whole fault tree: every step of the diagnosis and what each outcome leads to.
    Tree(Tree),
    /// Print the job card of a job that `find` has kept.
    Card(Card),
}

/// `check`.
#[derive(Debug, ClapArgs)]
pub struct Check {
    /// Circuit files, or names of built-in circuits.
    pub circuits: Vec<String>,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// What is common to commands on one circuit.
#[derive(Debug, ClapArgs)]
pub struct OneCircuit {
    /// Testers at hand, separated by commas; eyes and ears always are.
    #[arg(long, value_delimiter = ',', default_values_t = [Kit::Lamp, Kit::Meter])]
    pub kit: Vec<Kit>,
    /// What does not work: the name of a `works` entry of the circuit (the first one if not given).
    #[arg(long, value_name = "WORK")]
    pub complaint: Option<String>,
    /// Volts of the battery as measured, everything switched off, the meter on its posts: with them all
    /// readings are expected more closely.
    #[arg(long, value_name = "VOLTS", value_parser = volts)]
    pub battery_volts: Option<f64>,
}

fn pairs(typed: &str) -> Result<usize, String> {
    if typed == "all" {
        return Ok(usize::MAX);
    }
    typed.parse().map_err(|_| "write a number of pairs, or `all`".to_owned())
}

fn volts(typed: &str) -> Result<f64, String> {
    quantity::parse(typed, quantity::Unit::Volts).map_err(|error| error.to_string())
}

impl OneCircuit {
    /// The testers as the core knows them.
    pub fn instruments(&self) -> Vec<Instrument> {
        self.kit
            .iter()
            .map(|kit| match kit {
                Kit::Lamp => Instrument::Lamp,
                Kit::Led => Instrument::Led,
                Kit::Meter => Instrument::Meter,
                Kit::OldMeter => Instrument::OldMeter,
                Kit::Clamp => Instrument::Clamp,
                Kit::Bulb => Instrument::Bulb,
                Kit::Jumper => Instrument::Jumper,
                Kit::Spares => Instrument::Spares,
            })
            .collect()
    }
}

/// Testers that can be at hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kit {
    /// Filament test lamp.
    Lamp,
    /// LED test lamp.
    Led,
    /// Digital multimeter.
    Meter,
    /// Moving-coil meter of 20 kilohm a volt.
    OldMeter,
    /// Clamp meter for direct current.
    Clamp,
    /// A 21 W bulb on two leads, to put in place of a fuse.
    Bulb,
    /// A jumper with a fuse in it.
    Jumper,
    /// Known good relays, bulbs and fuses, to try in the place of others.
    Spares,
}

impl std::fmt::Display for Kit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Kit::Lamp => "lamp",
            Kit::Led => "led",
            Kit::Meter => "meter",
            Kit::OldMeter => "old-meter",
            Kit::Clamp => "clamp",
            Kit::Bulb => "bulb",
            Kit::Jumper => "jumper",
            Kit::Spares => "spares",
        })
    }
}

/// `find`.
#[derive(Debug, ClapArgs)]
pub struct Find {
    /// Circuit file or built-in circuit; not needed with --resume.
    #[arg(required_unless_present = "resume")]
    pub circuit: Option<String>,
    /// What all commands on a circuit take.
    #[command(flatten)]
    pub common: OneCircuit,
    /// Line by line, without screen control: for pipes and screen readers.
    #[arg(long)]
    pub plain: bool,
    /// Keep the job in this file (a new one in the data folder if not given).
    #[arg(long, value_name = "FILE")]
    pub job: Option<std::path::PathBuf>,
    /// Go on with a job: its file, or without a file the newest one.
    #[arg(long, value_name = "FILE", num_args = 0..=1, default_missing_value = "")]
    pub resume: Option<String>,
    /// Draw with ASCII characters only.
    #[arg(long)]
    pub ascii: bool,
    /// Colours on the screen.
    #[arg(long, value_enum, default_value_t = Color::Auto)]
    pub color: Color,
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

/// `next`.
#[derive(Debug, ClapArgs)]
pub struct Next {
    /// Circuit file or built-in circuit.
    pub circuit: String,
    /// What all commands on a circuit take.
    #[command(flatten)]
    pub common: OneCircuit,
    /// A reading: TEST=OUTCOME or TEST=NUMBER; a fix that was tried: FIX=cured or FIX=not-cured.
    #[arg(long = "reading", value_name = "TEST=OUTCOME")]
    pub readings: Vec<String>,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// `expect`.
#[derive(Debug, ClapArgs)]
pub struct Expect {
    /// Every test that can be done, also those that tell nothing new.
    #[arg(long)]
    pub all: bool,
    /// Circuit file or built-in circuit.
    pub circuit: String,
    /// What all commands on a circuit take.
    #[command(flatten)]
    pub common: OneCircuit,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// `trial`.
#[derive(Debug, ClapArgs)]
pub struct Trial {
    /// Circuit file or built-in circuit.
    pub circuit: String,
    /// What all commands on a circuit take.
    #[command(flatten)]
    pub common: OneCircuit,
    /// How far to look ahead for each step: states examined at most.
    #[arg(long, default_value_t = super::load::STEP_NODES)]
    pub nodes: u64,
    /// Also play jobs in which readings are wrong at random.
    #[arg(long, value_name = "JOBS", default_value_t = 0)]
    pub noisy_jobs: usize,
    /// Share of wrong readings in those jobs.
    #[arg(long, value_name = "SHARE", default_value_t = 0.1)]
    pub wrong: f64,
    /// Also play jobs with two faults at once: so many pairs that show the complaint, drawn at random, or
    /// `all` of them.
    #[arg(long, value_name = "PAIRS", value_parser = pairs, default_value = "0")]
    pub pairs: usize,
    /// Seed of those jobs.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// Where a report goes.
#[derive(Debug, ClapArgs)]
pub struct Out {
    /// Write to this file; one that is there and was not made by halfsplit is left alone.
    #[arg(long, value_name = "FILE")]
    pub out: Option<std::path::PathBuf>,
    /// Replace the file whatever it is.
    #[arg(long, requires = "out")]
    pub force: bool,
}

/// `tree`.
#[derive(Debug, ClapArgs)]
pub struct Tree {
    /// Circuit file or built-in circuit.
    pub circuit: String,
    /// What all commands on a circuit take.
    #[command(flatten)]
    pub common: OneCircuit,
    /// What to print.
    #[arg(long, value_enum, default_value_t = TreeFormat::Text)]
    pub format: TreeFormat,
    /// Print JSON; the same as `--format json`.
    #[arg(long, conflicts_with = "format")]
    pub json: bool,
    /// Draw the text with ASCII characters only.
    #[arg(long)]
    pub ascii: bool,
    /// Where the report goes.
    #[command(flatten)]
    pub out: Out,
    /// Ways less likely than this are cut and marked.
    #[arg(long, value_name = "PERCENT", default_value_t = 0.5)]
    pub cut_below: f64,
    /// How far to look ahead for each step: states examined at most.
    #[arg(long, default_value_t = super::load::STEP_NODES)]
    pub nodes: u64,
}

/// Formats of a tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TreeFormat {
    /// A tree of lines, for a terminal.
    Text,
    /// Numbered steps, for a wiki or a mail.
    Markdown,
    /// One page of numbered steps, for A4 paper and phones.
    Html,
    /// A drawing.
    Svg,
    /// All of it, for programs.
    Json,
}

/// `card`.
#[derive(Debug, ClapArgs)]
pub struct Card {
    /// A job file, as `find` has kept it.
    pub job: std::path::PathBuf,
    /// What to print.
    #[arg(long, value_enum, default_value_t = CardFormat::Text)]
    pub format: CardFormat,
    /// Print JSON; the same as `--format json`.
    #[arg(long, conflicts_with = "format")]
    pub json: bool,
    /// Where the report goes.
    #[command(flatten)]
    pub out: Out,
}

/// Formats of a job card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CardFormat {
    /// For a terminal.
    Text,
    /// For a wiki or a mail.
    Markdown,
    /// One page, for A4 paper and phones.
    Html,
    /// All of it, for programs.
    Json,
}
