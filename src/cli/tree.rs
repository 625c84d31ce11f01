//! `tree`: the whole fault tree of a circuit.

use std::io::IsTerminal;

use super::args::{Color, Paper, Tree};
use super::exit::{CliError, End};
use super::{load, watch, write};
use crate::plan::Budget;
use crate::report::page::Sheet;
use crate::report::tree::grow::{Growth, Limits, grow};
use crate::report::tree::{FaultTree, html, json, markdown, svg, text};
use crate::tui::ScreenOptions;
use crate::tui::walk::run as walk_tree;

use super::args::TreeFormat;

/// Runs `tree`.
pub fn run(tree: &Tree) -> Result<End, CliError> {
    if !(0.0..=100.0).contains(&tree.cut_below) {
        return Err(CliError::usage("--cut-below takes a share in per cent, 0 to 100"));
    }
    if tree.walk && !is_screen() {
        return Err(CliError::usage(
            "this is no terminal for a screen; print the tree without --walk",
        ));
    }
    write::may(tree.out.out.as_deref(), tree.out.force)?;
    let study = load::study(&tree.circuit, &tree.common)?;
    let limits = Limits { budget: Budget { nodes: tree.nodes }, cut_below: tree.cut_below / 100.0 };
    let growth = Growth::default();
    let grown = watch::over(&growth, || grow(&study, &limits, &growth))?;
    if tree.walk {
        walk(tree, &grown)?;
    } else {
        write::out(tree.out.out.as_deref(), tree.out.force, &printed(tree, &grown))?;
    }
    if grown.complete {
        return Ok(End::Fine);
    }
    eprintln!(
        "halfsplit: stopped; ways with {:.1} % of the probability are cut",
        grown.figures.cut_probability * 100.0
    );
    Ok(End::Finding)
}

fn walk(tree: &Tree, grown: &FaultTree) -> Result<(), CliError> {
    let options =
        ScreenOptions { color: colored(tree.color), ascii: tree.ascii, ..ScreenOptions::default() };
    walk_tree(grown, options).map(|_| ()).map_err(CliError::failed)
}

/// Whether there is a terminal that a screen can be drawn on.
pub fn is_screen() -> bool {
    let dumb = std::env::var("TERM").is_ok_and(|term| term == "dumb");
    std::io::stdout().is_terminal() && std::io::stdin().is_terminal() && !dumb
}

/// Whether colours are wanted.
pub fn colored(color: Color) -> bool {
    match color {
        Color::Auto => std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty()),
        Color::Always => true,
        Color::Never => false,
    }
}

fn paper(paper: Paper) -> Sheet {
    match paper {
        Paper::A4 => Sheet::A4,
        Paper::A3 => Sheet::A3,
    }
}

fn printed(tree: &Tree, grown: &FaultTree) -> String {
    let format = if tree.json { TreeFormat::Json } else { tree.format };
    match format {
        TreeFormat::Text => text::write(grown, tree.ascii),
        TreeFormat::Markdown => markdown::write(grown),
        TreeFormat::Html => html::write(grown, tree.paper.map_or(Sheet::A4, paper)),
        TreeFormat::Svg => svg::write(grown, tree.paper.map(paper)),
        TreeFormat::Json => json::write(grown),
    }
}
