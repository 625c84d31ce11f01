//! The drawing as positions on a grid of tracks and rows; paper and terminal paint the same one.

use super::chains::{Net, reduce};
use super::label::{self, Line};
use super::order::{Bar as PuzzleBar, Puzzle};
use super::rows::{self, Sized};
use super::shape::{self, Shape};
use super::things::{Bar, Gap, Item, Join, Rail, Track};
use super::tracks::{Tracks, arrange};
use crate::circuit::{Circuit, Kind, PartId};

/// Orders of the tracks that are looked for with the rows of the order before.
const AGAIN: usize = 2;
/// With more tracks than these one order is all there is time for.
const FEW_TRACKS: usize = 60;

/// How many rows things take.
#[derive(Debug, Clone, Copy)]
pub struct Measure {
    /// A wire.
    pub wire: usize,
    /// The pins of a connector, a splice.
    pub pin: usize,
    /// Everything else.
    pub symbol: usize,
}

/// A whole drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// From left to right.
    pub tracks: Vec<Track>,
    /// Rows, the two rails included.
    pub rows: usize,
    /// Symbols and wires.
    pub items: Vec<Item>,
    /// Upright lines that belong to no wire: from a battery to its rail, from a lamp to its own metal.
    pub gaps: Vec<Gap>,
    /// Horizontal lines, the rails first.
    pub bars: Vec<Bar>,
    /// Parts that nothing is wired to.
    pub loose: Vec<PartId>,
    /// Bars that pass through tracks they do not belong to.
    pub crossings: usize,
}

impl Layout {
    /// Lays a circuit out.
    pub fn of(circuit: &Circuit, measure: Measure) -> Layout {
        let mut net = reduce(circuit);
        let Tracks { order, tracks } = arrange(circuit, &mut net);
        let chains: Vec<Vec<Sized>> = sized(circuit, &net, measure, &tracks);
        let flat = rows::levels(&net, &order, &chains, &rows::Wishes::none(&net));
        let in_order = |levels: &[usize]| {
            let columns = puzzle(circuit, &net, &tracks, levels).solve();
            let ordered: Vec<Vec<usize>> =
                columns.iter().map(|track| tracks[*track].clone()).collect();
            let placed = rows::place(&net, &order, &chains, &ordered);
            (ordered, placed)
        };
        let mut best = in_order(&flat);
        // Of two bars in one row each seems to cross what hangs on the other, until one of them stands lower.
        for _ in 0..if tracks.len() > FEW_TRACKS { 0 } else { AGAIN } {
            let next = in_order(&best.1.levels);
            if next.1.crossings() >= best.1.crossings() {
                break;
            }
            best = next;
        }
        let (ordered, placed) = best;
        Builder { circuit, net: &net, chains: &chains, tracks: &ordered, placed: &placed }.build()
    }
}

/// The steps of each chain with their symbols, labels and rows.
fn sized(circuit: &Circuit, net: &Net, measure: Measure, tracks: &[Vec<usize>]) -> Vec<Vec<Sized>> {
    let mut sized: Vec<Vec<Sized>> = net
        .chains
        .iter()
        .map(|chain| chain.steps.iter().map(|step| one(circuit, step, measure)).collect())
        .collect();
    for (node, terminal) in net.nodes.iter().enumerate() {
        let owner = circuit.terminal(*terminal).part;
        let Some(part) = owner.filter(|part| circuit.part(*part).kind == Kind::Splice) else {
            continue;
        };
        let step = super::chains::Step { part, links: Vec::new(), ends: [*terminal; 2] };
        let dot = one(circuit, &step, measure);
        let ends_there = |at: &usize| net.chains[*at].nodes[1] == node;
        let begins_there = |at: &usize| net.chains[*at].nodes[0] == node;
        // Beside the line that goes on below it, if there is one.
        let through = tracks.iter().flat_map(|track| &track[..track.len() - 1]).copied();
        let into =
            through.clone().find(ends_there).or_else(|| (0..net.chains.len()).find(ends_there));
        if let Some(chain) = into {
            sized[chain].push(dot);
        } else if let Some(chain) = (0..net.chains.len()).find(begins_there) {
            sized[chain].insert(0, dot);
        }
    }
    sized
}

fn one(circuit: &Circuit, step: &super::chains::Step, measure: Measure) -> Sized {
    let shape = shape::of(circuit, step);
    let label = label::lines(circuit, step, shape);
    let rows = match shape {
        Shape::Wire => measure.wire.max(label.len()),
        Shape::Pin | Shape::Dot | Shape::Ground => measure.pin.max(label.len()),
        Shape::Body => 1,
        _ => measure.symbol.max(label.len()),
    };
    Sized { step: step.clone(), shape, label, rows }
}

/// What the search for an order is given.
fn puzzle(circuit: &Circuit, net: &Net, tracks: &[Vec<usize>], flat: &[usize]) -> Puzzle {
    let mut track_of = vec![0; net.chains.len()];
    for (at, track) in tracks.iter().enumerate() {
        for chain in track {
            track_of[*chain] = at;
        }
    }
    let inner = (0..net.nodes.len()).filter(|node| *node != net.top && *node != net.bottom);
    let bars = inner.map(|node| {
        let ends_here = |chain: &usize| net.chains[*chain].nodes.contains(&node);
        let mut joins: Vec<usize> =
            (0..net.chains.len()).filter(ends_here).map(|chain| track_of[chain]).collect();
        joins.sort_unstable();
        joins.dedup();
        let passes = |chain: &usize| {
            let [upper, lower] = net.chains[*chain].nodes.map(|node| flat[node]);
            upper <= flat[node] && flat[node] <= lower
        };
        let blocks = tracks.iter().map(|track| track.iter().any(passes)).collect();
        PuzzleBar { joins, blocks }
    });
    let battery = circuit.battery_id();
    let has = |chain: &usize| net.chains[*chain].steps.iter().any(|step| step.part == battery);
    let first = tracks.iter().position(|track| track.iter().any(has)).unwrap_or(0);
    Puzzle { bars: bars.collect(), friends: friends(net, tracks), first, tracks: tracks.len() }
}

/// Tracks that hold pieces of one part.
fn friends(net: &Net, tracks: &[Vec<usize>]) -> Vec<(usize, usize, f64)> {
    let mut met: Vec<(PartId, usize)> = Vec::new();
    for (at, track) in tracks.iter().enumerate() {
        for step in track.iter().flat_map(|chain| &net.chains[*chain].steps) {
            if !step.links.is_empty() && !met.contains(&(step.part, at)) {
                met.push((step.part, at));
            }
        }
    }
    met.sort_unstable();
    let pairs = met.windows(2).filter(|pair| pair[0].0 == pair[1].0);
    pairs.map(|pair| (pair[0].1, pair[1].1, 0.7)).collect()
}

/// Makes the layout of what has been placed.
struct Builder<'a> {
    circuit: &'a Circuit,
    net: &'a Net,
    chains: &'a [Vec<Sized>],
    tracks: &'a [Vec<usize>],
    placed: &'a rows::Placed,
}

impl Builder<'_> {
    fn build(&self) -> Layout {
        let mut items = Vec::new();
        let mut gaps = Vec::new();
        for (track, chains) in self.tracks.iter().enumerate() {
            for chain in chains {
                let before = items.len();
                self.items(track, *chain, &mut items);
                self.gaps(*chain, &items[before..], &mut gaps);
            }
        }
        cross_references(&mut items);
        let tracks = (0..self.tracks.len()).map(|track| room(track, &items)).collect();
        Layout {
            tracks,
            rows: self.placed.levels[self.net.bottom] + 1,
            bars: (0..self.net.nodes.len()).map(|node| self.bar(node)).collect(),
            items,
            gaps,
            loose: self.net.loose.clone(),
            crossings: self.placed.crossings(),
        }
    }

    fn items(&self, track: usize, chain: usize, items: &mut Vec<Item>) {
        let [upper, lower] = self.net.chains[chain].nodes.map(|node| self.placed.levels[node]);
        let steps = &self.chains[chain];
        let starts = &self.placed.rows[chain];
        for (at, step) in steps.iter().enumerate() {
            let is_wire = |at: usize| steps.get(at).is_some_and(|step| step.shape == Shape::Wire);
            let (mut from, mut to) = (starts[at], starts[at] + step.rows);
            if step.shape == Shape::Wire {
                // A wire fills the gaps beside it; between two wires the upper one does.
                let above = if at == 0 { upper + 1 } else { starts[at - 1] + steps[at - 1].rows };
                from = if at > 0 && is_wire(at - 1) { from } else { above };
                to = starts.get(at + 1).copied().unwrap_or(lower);
            }
            let ends = step.step.ends;
            items.push(Item {
                part: step.step.part,
                shape: step.shape,
                colour_of: match step.shape {
                    Shape::Wire => Some(step.step.part),
                    // A splice's label stands beside the wire it ends or begins.
                    Shape::Dot => [at.wrapping_sub(1), at + 1]
                        .into_iter()
                        .find(|at| is_wire(*at))
                        .map(|at| steps[at].step.part),
                    _ => None,
                },
                flipped: step.shape.is_polar() && self.is_turned(&step.step),
                track,
                row: from,
                rows: to - from,
                label_row: starts[at] + (step.rows - step.label.len().min(step.rows)) / 2,
                label: step.label.clone(),
                terminals: ends
                    .map(|end| label::terminal(self.circuit, &step.step, end, step.shape)),
                meets: [at == 0, at + 1 == steps.len()],
            });
        }
    }

    /// What the items of a chain leave open between its two bars.
    fn gaps(&self, chain: usize, items: &[Item], gaps: &mut Vec<Gap>) {
        let [upper, lower] = self.net.chains[chain].nodes.map(|node| self.placed.levels[node]);
        let mut row = upper + 1;
        for item in items {
            if item.row > row {
                gaps.push(Gap {
                    track: item.track,
                    row,
                    rows: item.row - row,
                    meets: [item.meets[0], false],
                });
            }
            row = item.row + item.rows;
        }
        if let Some(last) = items.last().filter(|_| lower > row) {
            gaps.push(Gap { track: last.track, row, rows: lower - row, meets: [false, true] });
        }
    }

    fn is_turned(&self, step: &super::chains::Step) -> bool {
        let own = |terminal| {
            self.circuit.part(step.part).terminals.iter().position(|one| *one == terminal)
        };
        own(step.ends[0]).unwrap_or(usize::MAX) > own(step.ends[1]).unwrap_or(usize::MAX)
    }

    fn bar(&self, node: usize) -> Bar {
        let mut joins: Vec<Join> = Vec::new();
        for (track, chains) in self.tracks.iter().enumerate() {
            let mut from = [None, None];
            for chain in chains {
                let steps = &self.net.chains[*chain].steps;
                let [begins, ends] = self.net.chains[*chain].nodes.map(|at| at == node);
                if ends {
                    from[0] = steps.last().map(|step| step.part);
                }
                if begins {
                    from[1] = steps.first().map(|step| step.part);
                }
            }
            if from != [None, None] {
                joins.push(Join { track, from });
            }
        }
        let rail = match node {
            node if node == self.net.top => Rail::Supply,
            node if node == self.net.bottom => Rail::Ground,
            _ => Rail::Node,
        };
        Bar { rail, row: self.placed.levels[node], joins }
    }
}

/// Pieces of one part in several tracks say where the others are.
fn cross_references(items: &mut [Item]) {
    let pieces: Vec<(PartId, usize)> = items
        .iter()
        .filter(|item| !matches!(item.shape, Shape::Wire | Shape::Body | Shape::Dot))
        .map(|item| (item.part, item.track))
        .collect();
    for item in items.iter_mut() {
        if matches!(item.shape, Shape::Wire | Shape::Body | Shape::Dot) {
            continue;
        }
        let mut elsewhere: Vec<usize> = pieces
            .iter()
            .filter(|(part, track)| *part == item.part && *track != item.track)
            .map(|(_, track)| track + 1)
            .collect();
        elsewhere.dedup();
        if !elsewhere.is_empty() {
            let numbers: Vec<String> = elsewhere.iter().map(ToString::to_string).collect();
            let words = label::short(&format!("see {}", numbers.join(", ")), label::LETTERS);
            // In the place's stead where there is no room for another line.
            if item.label.len() >= item.rows {
                item.label.pop();
            }
            item.label.push(Line { words, soft: true });
            item.label_row = item.row + (item.rows - item.label.len().min(item.rows)) / 2;
        }
    }
}

/// The room a track needs beside its line.
fn room(track: usize, items: &[Item]) -> Track {
    use unicode_width::UnicodeWidthStr;
    let own = || items.iter().filter(move |item| item.track == track);
    let left = own()
        .flat_map(|item| item.terminals.iter().map(|name| (item.shape, name.width())))
        .map(|(shape, letters)| letters + if letters > 0 { shape.wings() } else { 0 })
        .max();
    let right = own().flat_map(|item| &item.label).map(|line| line.words.width()).max();
    Track { left: left.unwrap_or(0), right: right.unwrap_or(0) }
}
