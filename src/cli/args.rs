//! What can be typed.

use clap::{Args as ClapArgs, Parser, Subcommand};

use super::common_args::{Color, LookOf, OneCircuit, Out};
use super::drill_args;
use super::report_args::{Card, Draw, Expect, Tree};
use crate::tester::Instrument;

/// Finds the one fault in a machine's electrical circuit, test by test.
#[derive(Debug, Parser)]
#[command(
    name = "halfsplit",
    version,
    after_help = "\
CIRCUIT is a circuit file, or the name of a built-in circuit; `halfsplit check` lists those.

Examples:
  halfsplit find                         asks what does not work, then goes step by step
  halfsplit find start-button            the same with the circuit known
  halfsplit find start-button --plain    line by line, for pipes and screen readers
  halfsplit next horn-relay --json       one step, for scripts
  halfsplit check my-circuit.yaml        what is wrong with a file, and how to mend it
  halfsplit drill horn-relay --level 1   practice on a hidden fault
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
    /// Start a circuit file: a commented one from a few answers, or from a built-in circuit.
    New(New),
    /// Print the JSON Schema of circuit files, by which editors complete and check them.
    Schema(Schema),
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
    /// Print the wiring drawing: current tracks between the supply rail and the ground rail.
    Draw(Draw),
    /// Print the job card of a job that `find` has kept.
    Card(Card),
    /// Practise on a hidden fault, with a review and a score; or print question sheets.
    Drill(drill_args::Drill),
    /// Sum up the score files of a class: who, what kinds of fault are missed, progress.
    Class(drill_args::Class),
    /// Learn from finished jobs: what fails here, how long it takes, which readings go wrong.
    Learn(Learn),
    /// Print the settings and where they are.
    Config(Config),
    /// Print what makes a shell complete commands and options.
    Completions(Completions),
    /// Print the manual page, or write the pages of all commands into a folder.
    Manual(Manual),
}

/// `check`.
#[derive(Debug, ClapArgs)]
pub struct Check {
    /// Circuit files, or names of built-in circuits.
    pub circuits: Vec<String>,
    /// Also name the suspects that no test at hand tells apart, and what would; takes longer.
    #[arg(long)]
    pub apart: bool,
    /// Testers at hand for `--apart`, separated by commas.
    #[arg(long, value_delimiter = ',', default_values = ["lamp", "meter"], requires = "apart")]
    pub kit: Vec<Instrument>,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// `new`: what is not given is asked for on a terminal.
#[derive(Debug, ClapArgs)]
pub struct New {
    /// What the circuit is.
    #[arg(long)]
    pub name: Option<String>,
    /// The machine.
    #[arg(long)]
    pub machine: Option<String>,
    /// Its volts: 6 V, 12 V, 24 V.
    #[arg(long, value_name = "VOLTS", conflicts_with = "like")]
    pub system: Option<String>,
    /// Start from this built-in circuit.
    #[arg(long, value_name = "CIRCUIT")]
    pub like: Option<String>,
    /// Say only what differs on one machine from this circuit, a built-in one or a file beside the new one.
    #[arg(long, value_name = "CIRCUIT", conflicts_with_all = ["like", "system"])]
    pub base: Option<String>,
    /// Write to this file, with its schema beside it; standard output if not given.
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<std::path::PathBuf>,
    /// Replace the file if it is there.
    #[arg(long)]
    pub force: bool,
}

/// `schema`.
#[derive(Debug, ClapArgs)]
pub struct Schema {
    /// Where it goes.
    #[command(flatten)]
    pub out: Out,
}

fn pairs(typed: &str) -> Result<usize, String> {
    if typed == "all" {
        return Ok(usize::MAX);
    }
    typed.parse().map_err(|_| "write a number of pairs, or `all`".to_owned())
}

/// Beyond this, rates of failure have nothing to do with the catalogue's any more.
const MOST_SPREAD: f64 = 5.0;

fn spread(typed: &str) -> Result<f64, String> {
    let spread = typed.parse::<f64>().ok().filter(|spread| (0.0..=MOST_SPREAD).contains(spread));
    spread.ok_or_else(|| format!("a number from 0 to {MOST_SPREAD}"))
}

/// `find`.
#[derive(Debug, Clone, ClapArgs)]
#[expect(clippy::struct_excessive_bools, reason = "each is a flag of its own on the command line")]
pub struct Find {
    /// Circuit file or built-in circuit; without one it is asked for.
    pub circuit: Option<String>,
    /// What all commands on a circuit take.
    #[command(flatten)]
    pub common: OneCircuit,
    /// No questions before the first step.
    #[arg(long)]
    pub straight: bool,
    /// Line by line, without screen control: for pipes and screen readers.
    #[arg(long)]
    pub plain: bool,
    /// Leave the shop's history out; it is used when there is one.
    #[arg(long, conflicts_with = "history")]
    pub no_history: bool,
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
    /// Who has to read the screen (as the settings say if not given).
    #[arg(long, value_enum)]
    pub look: Option<LookOf>,
}

/// `config`.
#[derive(Debug, ClapArgs)]
pub struct Config {
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// `completions`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
Where it goes, for most people:
  bash  halfsplit completions bash > ~/.local/share/bash-completion/completions/halfsplit
  zsh   halfsplit completions zsh > a folder of $fpath, as _halfsplit
  fish  halfsplit completions fish > ~/.config/fish/completions/halfsplit.fish")]
pub struct Completions {
    /// The shell.
    pub shell: clap_complete::Shell,
}

/// `manual`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
Example:
  halfsplit manual --to ~/.local/share/man/man1 && man halfsplit-find")]
pub struct Manual {
    /// Write the pages into this folder, a file a command; standard output has the first page if not given.
    #[arg(long, value_name = "DIR")]
    pub to: Option<std::path::PathBuf>,
    /// Replace files that are there whatever they are.
    #[arg(long, requires = "to")]
    pub force: bool,
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
    /// Seed of those jobs, and of those shops.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Also play so many shops that learn, whose true rates of failure are unlike the catalogue's.
    #[arg(long, value_name = "SHOPS", default_value_t = 0)]
    pub shops: usize,
    /// Jobs that each of these shops learns from.
    #[arg(long, value_name = "JOBS", default_value_t = 500)]
    pub shop_jobs: usize,
    /// How far their rates are from the catalogue's: deviation of the natural logarithm.
    #[arg(long, value_name = "SPREAD", value_parser = spread, default_value = "0.7")]
    pub shop_spread: f64,
    /// Play a printed order of checks beside the planner instead; `tests/data/sequences/README.md` tells
    /// how such a file is written.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["noisy_jobs", "pairs", "shops"])]
    pub sequence: Option<std::path::PathBuf>,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// `learn`.
#[derive(Debug, ClapArgs)]
pub struct Learn {
    /// Job files that `find` has kept; without any, what was learnt before is told.
    pub jobs: Vec<std::path::PathBuf>,
    /// The history file (the shop's own in the data folder if not given).
    #[arg(long, value_name = "FILE")]
    pub history: Option<String>,
    /// Take in another shop's history file; jobs that both have count once.
    #[arg(long, value_name = "FILE")]
    pub merge: Vec<std::path::PathBuf>,
    /// Leave a job out from now on: its id as listed, or `last`.
    #[arg(long, value_name = "JOB")]
    pub forget: Vec<String>,
    /// Tell what would change, and change nothing.
    #[arg(long)]
    pub dry_run: bool,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}
