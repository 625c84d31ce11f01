//! The command line: what was typed, what is printed, how it ends.
//!
//! `args` is what can be typed (`common_args` after several commands, `report_args` after those that print a report,
//! `drill_args` for practice), `exit` how the program ends, `load` finds circuits and jobs, `ahead` reckons what
//! may follow a step while the person does it, `settings` what a person has set once, `screen` how that and the
//! terminal make a screen, `keeper` keeps a job on disk or in memory, `bench` and `desk` are a job and the
//! questions before it as the screen needs them, `history` and `scores` keep those files, `watch` stands by during
//! long work, `write` puts reports into files, `sequence` and `shop` are parts of `trial`; the other files are a
//! subcommand each.
#![expect(
    clippy::disallowed_methods,
    reason = "this room reads files and asks the environment for the others"
)]

pub mod ahead;
pub mod answer;
pub mod args;
pub mod bench;
pub mod card;
pub mod check;
pub mod class;
pub mod common_args;
pub mod completions;
pub mod config;
pub mod desk;
pub mod draw;
pub mod drill;
pub mod drill_args;
pub mod exit;
pub mod expect;
mod figures;
pub mod find;
pub mod history;
mod hold;
pub mod job_file;
pub mod keeper;
pub mod learn;
pub mod load;
pub mod manual;
pub mod new;
pub mod next;
pub mod report_args;
pub mod schema;
pub mod scores;
pub mod screen;
pub mod sequence;
pub mod settings;
pub mod shelf;
pub mod shop;
pub mod tree;
pub mod trial;
pub mod watch;
pub mod write;

use std::process::ExitCode;

use clap::Parser;

/// Runs what was typed; the whole program.
pub fn run() -> ExitCode {
    let typed = match args::Args::try_parse() {
        Ok(typed) => typed,
        Err(error) => {
            // clap prints help to stdout and usage errors to stderr; only the latter are bad usage.
            let code = if error.use_stderr() { exit::BAD_USAGE } else { exit::FINE };
            let _ = error.print();
            return ExitCode::from(code);
        }
    };
    exit::end(match typed.command {
        args::Command::Check(check) => check::run(&check),
        args::Command::New(new) => new::run(&new),
        args::Command::Schema(schema) => schema::run(&schema),
        args::Command::Find(find) => find::run(&find),
        args::Command::Next(next) => next::run(&next),
        args::Command::Expect(expect) => expect::run(&expect),
        args::Command::Trial(trial) => trial::run(&trial),
        args::Command::Tree(tree) => tree::run(&tree),
        args::Command::Draw(draw) => draw::run(&draw),
        args::Command::Card(card) => card::run(&card),
        args::Command::Drill(drill) => drill::run(&drill),
        args::Command::Class(class) => class::run(&class),
        args::Command::Learn(learn) => learn::run(&learn),
        args::Command::Config(config) => config::run(&config),
        args::Command::Completions(completions) => completions::run(&completions),
        args::Command::Manual(manual) => manual::run(&manual),
    })
}
