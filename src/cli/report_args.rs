//! What can be typed after the commands that print a report: `expect`, `tree`, `draw`, `card`.

use clap::{Args as ClapArgs, ValueEnum};

use super::common_args::{Color, OneCircuit, Out};

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
    /// What to print.
    #[arg(long, value_enum, default_value_t = SheetFormat::Text)]
    pub format: SheetFormat,
    /// Print JSON: the readings under each suspect too.
    #[arg(long, conflicts_with = "format")]
    pub json: bool,
    /// Where it goes.
    #[command(flatten)]
    pub out: Out,
}

/// Formats of expected readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SheetFormat {
    /// Lines for a terminal.
    Text,
    /// For a wiki or a mail.
    Markdown,
    /// One page, to be printed on A4 paper and laid beside the machine.
    Html,
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
    /// Walk it on the screen, branch by branch: for a group.
    #[arg(long, conflicts_with_all = ["format", "json", "out"])]
    pub walk: bool,
    /// Paper that pages and drawings are laid out for.
    #[arg(long, value_enum)]
    pub paper: Option<Paper>,
    /// Colours on the screen.
    #[arg(long, value_enum, default_value_t = Color::Auto)]
    pub color: Color,
    /// Ways less likely than this are cut and marked (0.5 if not given, and more for a drawing on paper until its
    /// letters can be read).
    #[arg(long, value_name = "PERCENT")]
    pub cut_below: Option<f64>,
    /// How far to look ahead for each step: states examined at most.
    #[arg(long, default_value_t = super::load::STEP_NODES)]
    pub nodes: u64,
}

/// Sizes of paper (ISO 216).
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Paper {
    /// 297 by 210 mm.
    A4,
    /// 420 by 297 mm.
    A3,
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

/// `draw`.
#[derive(Debug, ClapArgs)]
pub struct Draw {
    /// Circuit file or built-in circuit.
    pub circuit: String,
    /// What to print.
    #[arg(long, value_enum, default_value_t = DrawFormat::Text)]
    pub format: DrawFormat,
    /// Frame what a suspect is about: a suspect of `expect --json`, or a part or wire.
    #[arg(long = "fault", value_name = "SUSPECT")]
    pub faults: Vec<String>,
    /// Draw the text with ASCII characters only.
    #[arg(long)]
    pub ascii: bool,
    /// Columns of the text; those of the terminal if not given, or 100.
    #[arg(long, value_name = "COLUMNS")]
    pub width: Option<u16>,
    /// Where the drawing goes.
    #[command(flatten)]
    pub out: Out,
}

/// Formats of a wiring drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DrawFormat {
    /// Box characters, for a terminal.
    Text,
    /// For paper and pages.
    Svg,
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
