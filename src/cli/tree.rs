//! `tree`: the whole fault tree of a circuit.

use super::args::{Paper, Tree};
use super::config::tell_warnings;
use super::exit::{CliError, End, tell};
use super::{load, screen, settings, watch, write};
use crate::plan::Budget;
use crate::report::page::Sheet;
use crate::report::tree::grow::{Growth, Limits, grow};
use crate::report::tree::{FaultTree, html, json, markdown, svg, text};
use crate::tui::walk::run as walk_tree;

use super::args::TreeFormat;

/// Runs `tree`.
pub fn run(tree: &Tree) -> Result<End, CliError> {
    if !(0.0..=100.0).contains(&tree.cut_below) {
        return Err(CliError::usage("--cut-below takes a share in per cent, 0 to 100"));
    }
    if tree.walk && !screen::is_there() {
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
    let cut = grown.figures.cut_probability * 100.0;
    tell(&format!("stopped; ways with {cut:.1} % of the probability are cut"));
    Ok(End::Finding)
}

fn walk(tree: &Tree, grown: &FaultTree) -> Result<(), CliError> {
    let settings = settings::load();
    tell_warnings(&settings);
    let options = screen::options(tree.color, tree.ascii, None, &settings);
    walk_tree(grown, options).map(|_| ()).map_err(CliError::failed)
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
