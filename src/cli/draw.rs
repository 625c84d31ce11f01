//! `draw`: the wiring drawing.

use std::io::IsTerminal;

use super::exit::{CliError, End};
use super::report_args::{Draw, DrawFormat};
use super::{load, write};
use crate::circuit::names::nearest;
use crate::circuit::{Circuit, PartId};
use crate::report::draw::{Marks, svg, text};
use crate::suspect::Lineup;

/// Columns when there is no terminal.
const WIDTH: u16 = 100;

/// Runs `draw`.
pub fn run(draw: &Draw) -> Result<End, CliError> {
    write::may(draw.out.out.as_deref(), draw.out.force)?;
    let circuit = load::circuit(&draw.circuit)?;
    let parts: Result<Vec<PartId>, CliError> =
        draw.faults.iter().map(|fault| part(&circuit, fault)).collect();
    let marks = Marks { parts: parts? };
    let printed = match draw.format {
        DrawFormat::Svg => svg::write(&circuit, &marks),
        DrawFormat::Text => {
            let width = usize::from(draw.width.unwrap_or_else(columns));
            text::write(&circuit, &marks, text::Look { width, ascii: draw.ascii })
        }
    };
    write::out(draw.out.out.as_deref(), draw.out.force, &printed)?;
    Ok(End::Fine)
}

fn columns() -> u16 {
    let terminal = std::io::stdout().is_terminal();
    let size = terminal.then(crossterm::terminal::size).and_then(Result::ok);
    size.map_or(WIDTH, |(columns, _)| columns)
}

/// The part a suspect is about, or the part of this name.
fn part(circuit: &Circuit, fault: &str) -> Result<PartId, CliError> {
    let lineup = Lineup::of(circuit);
    let suspect = lineup.find(fault).and_then(|id| lineup.suspects[id.index()].part);
    suspect.or_else(|| circuit.part_by_id(fault)).ok_or_else(|| {
        let suspects = lineup.suspects.iter().filter(|one| one.part.is_some());
        let known: Vec<&str> = suspects
            .map(|one| one.id.as_str())
            .chain(circuit.parts.iter().map(|part| part.id.as_str()))
            .collect();
        let hint = nearest(fault, known.iter().copied()).map_or_else(
            || "`halfsplit expect CIRCUIT --json` lists the suspects".to_owned(),
            |near| format!("did you mean `{near}`?"),
        );
        CliError::usage(format!("`{fault}` is no suspect and no part of this circuit; {hint}"))
    })
}
