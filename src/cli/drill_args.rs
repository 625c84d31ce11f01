//! What can be typed behind `drill` and `class`.

use clap::builder::PossibleValue;
use clap::{Args as ClapArgs, ValueEnum};

use super::common_args::{Color, OneCircuit, Out};
use crate::drill::kind::FaultKind;

/// `drill`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
The trainer's choice stays off the learner's screen and command line in a file (--fault-file) or in the
environment (HALFSPLIT_DRILL_FAULT). Ids of suspects: `halfsplit expect CIRCUIT --json`.

Levels: 1 follow the tool, say what you expect; 2 choose between three tests; 3 free work; 4 a probe does not
always make contact; 5 faults that come and go, and two at once.

Examples:
  halfsplit drill start-button --level 1 --seed 7   the same fault for everybody who types 7
  halfsplit drill horn-relay --ask open             name the parts still open after each look
  halfsplit drill horn-relay --sheet 6 --format html --out sheet.html")]
#[expect(clippy::struct_excessive_bools, reason = "switches of a command line, each on its own")]
pub struct Drill {
    /// Circuit file or built-in circuit.
    #[arg(default_value = "start-button")]
    pub circuit: String,
    /// What all commands on a circuit take.
    #[command(flatten)]
    pub common: OneCircuit,
    /// The same seed hides the same fault in the same machine (one by chance if not given).
    #[arg(long)]
    pub seed: Option<u64>,
    /// Level of the course, 1 to 5.
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u8).range(1..=5))]
    pub level: u8,
    /// Only faults of this kind.
    #[arg(long, value_enum)]
    pub kind: Option<FaultKind>,
    /// Hide this suspect, or several with commas between: the trainer's choice.
    #[arg(long, value_name = "SUSPECT", conflicts_with = "kind")]
    pub fault: Option<String>,
    /// The same from the first line of a file.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["fault", "kind"])]
    pub fault_file: Option<std::path::PathBuf>,
    /// Before each look, ask what will be seen.
    #[arg(long)]
    pub predict: bool,
    /// Ask this after each look.
    #[arg(long, value_enum)]
    pub ask: Option<Ask>,
    /// Who practises; the score goes into a file of this name.
    #[arg(long, value_name = "NAME")]
    pub learner: Option<String>,
    /// Folder of the score files (one in the data folder if not given).
    #[arg(long, value_name = "DIR")]
    pub record: Option<std::path::PathBuf>,
    /// Keep no score.
    #[arg(long, conflicts_with = "record")]
    pub no_record: bool,
    /// Line by line, without screen control: for pipes and screen readers.
    #[arg(long)]
    pub plain: bool,
    /// Draw with ASCII characters only.
    #[arg(long)]
    pub ascii: bool,
    /// Colours on the screen.
    #[arg(long, value_enum, default_value_t = Color::Auto)]
    pub color: Color,
    /// Print so many questions instead, with their answers.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u64).range(1..=100))]
    pub sheet: Option<u64>,
    /// Of a sheet: print only this.
    #[arg(long, value_enum, requires = "sheet")]
    pub only: Option<SheetPart>,
    /// Of a sheet: its format.
    #[arg(long, value_enum, default_value_t = SheetFormat::Markdown, requires = "sheet")]
    pub format: SheetFormat,
    /// Where a sheet goes.
    #[command(flatten)]
    pub out: Out,
}

impl ValueEnum for FaultKind {
    fn value_variants<'a>() -> &'a [FaultKind] {
        &FaultKind::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.id()).help(self.words()))
    }
}

/// What a learner can be asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Ask {
    /// The parts still open to suspicion.
    Open,
}

/// Parts of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SheetPart {
    /// For the learners.
    Questions,
    /// For the trainer.
    Answers,
}

/// Formats of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SheetFormat {
    /// For a wiki or a mail.
    Markdown,
    /// Pages of A4 paper.
    Html,
}

/// `class`.
#[derive(Debug, ClapArgs)]
pub struct Class {
    /// Score files, or folders of them (the one in the data folder if none is given).
    pub scores: Vec<std::path::PathBuf>,
    /// What to print.
    #[arg(long, value_enum, default_value_t = ClassFormat::Text)]
    pub format: ClassFormat,
    /// Print JSON; the same as `--format json`.
    #[arg(long, conflicts_with = "format")]
    pub json: bool,
    /// Where the record goes.
    #[command(flatten)]
    pub out: Out,
}

/// Formats of a class record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ClassFormat {
    /// For a terminal.
    Text,
    /// A row a learner.
    Csv,
    /// A row a drill.
    CsvDrills,
    /// One page with small plots.
    Html,
    /// All of it, for programs.
    Json,
}
