//! The questions line by line: for pipes and screen readers.

use std::io::{self, BufRead, Write};

use super::page::{Manner, Page};
use super::{Intake, Reply, Turn};
use crate::tui::bench::Bench;
use crate::tui::plain::read_line;
use crate::tui::words::clean;

/// Rows read out at once.
const READ_OUT: usize = 20;

/// Asks until the job begins; `None` when the person left.
///
/// # Errors
/// Where reading or writing fails.
pub fn ask(
    intake: &mut Intake,
    mut turn: Turn,
    input: &mut dyn BufRead,
    output: &mut dyn Write,
) -> io::Result<Option<Box<dyn Bench>>> {
    let mut search = String::new();
    loop {
        match turn {
            Turn::Begins(bench) => return Ok(Some(bench)),
            Turn::Wrong(words) => writeln!(output, "{words}.")?,
            Turn::Asks => {}
        }
        show(&intake.page, &search, output)?;
        output.flush()?;
        let Some(line) = read_line(input)? else {
            writeln!(output, "The input has ended before the job began.")?;
            return Ok(None);
        };
        let line = clean(&line);
        let typed = line.trim();
        if matches!(typed, "quit" | "q") {
            return Ok(None);
        }
        match reply(&intake.page, &search, typed) {
            Ok(reply) => {
                if !matches!(reply, Reply::Ticked(_)) {
                    search.clear();
                }
                turn = intake.answer(&reply);
            }
            Err(words) if intake.page.matching(words).is_empty() => {
                search.clear();
                turn = Turn::Wrong(format!("Nothing here has the words `{words}`"));
            }
            Err(words) => {
                words.clone_into(&mut search);
                turn = Turn::Asks;
            }
        }
    }
}

/// What a line means; a search when it is none of the answers.
fn reply<'a>(page: &Page, search: &str, typed: &'a str) -> Result<Reply, &'a str> {
    let found = page.matching(search);
    let row = typed.parse::<usize>().ok().and_then(|number| found.get(number.wrapping_sub(1)));
    match (typed, page.manner, row) {
        ("", Manner::Pick, _) => Ok(Reply::Skipped),
        ("", ..) => Ok(Reply::Taken(String::new())),
        ("back", ..) => Ok(Reply::Back),
        ("go", ..) => Ok(Reply::Straight),
        (_, Manner::Number, _) => Ok(Reply::Taken(typed.to_owned())),
        (_, Manner::Pick, Some(row)) => Ok(Reply::Picked(*row)),
        (_, Manner::Tick, Some(row)) => Ok(Reply::Ticked(*row)),
        _ => Err(typed),
    }
}

fn show(page: &Page, search: &str, output: &mut dyn Write) -> io::Result<()> {
    writeln!(output)?;
    if !page.about.is_empty() {
        writeln!(output, "{}", page.about)?;
    }
    writeln!(output, "Question: {}", page.title)?;
    let found = page.matching(search);
    for (position, at) in found.iter().take(READ_OUT).enumerate() {
        let row = &page.rows[*at];
        let tick = match row.on {
            Some(true) => "yes: ",
            Some(false) => "no: ",
            None => "",
        };
        write!(output, "{}. {tick}{}", position + 1, row.text)?;
        if row.detail.is_empty() {
            writeln!(output)?;
        } else {
            writeln!(output, "; {}", row.detail)?;
        }
    }
    if found.len() > READ_OUT {
        writeln!(output, "{} more; words narrow the list.", found.len() - READ_OUT)?;
    }
    let how = match page.manner {
        Manner::Pick => "its number picks",
        Manner::Tick => "a number changes it",
        Manner::Number => "a number like 12.6",
    };
    let skipped = match page.skipped {
        "" => String::new(),
        words => format!("; an empty line: {words}"),
    };
    writeln!(output, "({how}{skipped}; back, go for the first step, quit)")
}
