//! `tree`: the whole fault tree of a circuit.

use super::config::tell_warnings;
use super::exit::{CliError, End, tell};
use super::report_args::{Paper, Tree};
use super::{load, screen, settings, watch, write};
use crate::plan::Budget;
use crate::report::page::PaperSize;
use crate::report::tree::Limits;
use crate::report::tree::grow::{Growth, grow};
use crate::report::tree::{FaultTree, html, json, markdown, svg, text};
use crate::tui::walk::run as walk_tree;

use super::report_args::TreeFormat;

/// Ways less likely than this are cut where nothing is said, in per cent.
const CUT_PERCENT: f64 = 0.5;
/// Letters lower than this are no use on paper, in millimetres (common practice, no source).
const LEGIBLE_MM: f64 = 1.7;
/// Shares tried below which ways are cut, for a drawing that can be read.
const LEGIBLE_CUTS: [f64; 6] = [0.01, 0.02, 0.03, 0.05, 0.08, 0.12];

/// Runs `tree`.
pub fn run(tree: &Tree) -> Result<End, CliError> {
    let asked = tree.cut_below.unwrap_or(CUT_PERCENT);
    if !(0.0..=100.0).contains(&asked) {
        return Err(CliError::usage("--cut-below takes a share in per cent, 0 to 100"));
    }
    if tree.walk && !screen::is_there() {
        return Err(CliError::usage(
            "this is no terminal for a screen; print the tree without --walk",
        ));
    }
    write::may(tree.out.out.as_deref(), tree.out.force)?;
    let study = load::study(&tree.circuit, &tree.common)?;
    let limits = Limits { budget: Budget { nodes: tree.nodes }, cut_below: asked / 100.0 };
    let growth = Growth::default();
    let grown = watch::over(&growth, || {
        let whole = grow(&study, &limits, &growth);
        legible(tree, whole, |cut_below| grow(&study, &Limits { cut_below, ..limits }, &growth))
    })?;
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

/// A drawing for paper with ways cut until its letters can be read, unless it was said how many to cut.
fn legible(tree: &Tree, whole: FaultTree, cut: impl Fn(f64) -> FaultTree) -> FaultTree {
    let Some(sheet) = tree.paper.map(paper).filter(|_| tree.format == TreeFormat::Svg) else {
        return whole;
    };
    let mut grown = whole;
    for share in LEGIBLE_CUTS {
        if svg::letters_mm(&grown, sheet) >= LEGIBLE_MM || !grown.complete {
            break;
        }
        if tree.cut_below.is_some() {
            tell(&format!(
                "letters of {:.1} mm on this paper; a higher --cut-below makes them larger",
                svg::letters_mm(&grown, sheet)
            ));
            break;
        }
        grown = cut(share);
    }
    if grown.cut_below * 100.0 > CUT_PERCENT && tree.cut_below.is_none() {
        tell(&format!(
            "ways under {:.0} % are cut, so that it can be read on this paper; --cut-below takes more, and --format \
             html has room for all",
            grown.cut_below * 100.0
        ));
    }
    grown
}

fn walk(tree: &Tree, grown: &FaultTree) -> Result<(), CliError> {
    let settings = settings::load();
    tell_warnings(&settings);
    let options = screen::options(tree.color, tree.ascii, None, &settings);
    walk_tree(grown, options).map(|_| ()).map_err(CliError::failed)
}

fn paper(paper: Paper) -> PaperSize {
    match paper {
        Paper::A4 => PaperSize::A4,
        Paper::A3 => PaperSize::A3,
    }
}

fn printed(tree: &Tree, grown: &FaultTree) -> String {
    let format = if tree.json { TreeFormat::Json } else { tree.format };
    match format {
        TreeFormat::Text => text::write(grown, tree.ascii),
        TreeFormat::Markdown => markdown::write(grown),
        TreeFormat::Html => html::write(grown, tree.paper.map_or(PaperSize::A4, paper)),
        TreeFormat::Svg => svg::write(grown, tree.paper.map(paper)),
        TreeFormat::Json => json::write(grown),
    }
}
