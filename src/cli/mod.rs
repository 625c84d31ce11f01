//! The command line: what was typed, what is printed, how it ends.
//!
//! `args` is what can be typed, `exit` how the program ends, `load` finds circuits and jobs,
//! `watch` stands by during long work, `write` puts reports into files; the other files are a subcommand each.
#![expect(
    clippy::print_stderr,
    clippy::disallowed_methods,
    reason = "this room prints, reads files and asks the environment for the others"
)]

pub mod answer;
pub mod args;
pub mod card;
pub mod check;
pub mod draw;
pub mod exit;
pub mod expect;
pub mod find;
pub mod load;
pub mod new;
pub mod next;
pub mod schema;
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
    })
}
