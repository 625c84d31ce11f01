//! A whole circuit file of a size.

mod draft;
mod functions;
mod machine;

use functions::Function;
use machine::Machine;

/// The fewest parts for which there is room: battery, two fuse boxes, and something behind them.
pub const LEAST_PARTS: usize = 100;
/// From this many parts on there is an engine with a starter.
const STARTER_FROM: usize = 300;
/// Functions tried that need more parts than are left, before small lamps fill up.
const MOST_MISFITS: u32 = 20;

/// The text of a circuit file with `parts` parts (up to three less, where no lamp fits in any more; at
/// least [`LEAST_PARTS`]) and, as far as there are functions, `works` works. The same numbers give the
/// same text.
///
/// Parts are what the program counts as such: those of the section `parts`, splices and ground points
/// included, each pin of a connector, and each wire.
pub fn harness(parts: usize, works: usize, seed: u64) -> String {
    let parts = parts.max(LEAST_PARTS);
    let mut machine = Machine::new(parts, seed);
    let mut functions: Vec<Function> = Vec::new();
    if parts >= STARTER_FROM {
        functions.push(functions::starter(&mut machine));
    }
    let mut misfits = 0;
    while misfits < MOST_MISFITS {
        let mut tried = machine.clone();
        let function = functions::add(&mut tried);
        if tried.draft.count() <= parts {
            machine = tried;
            functions.push(function);
        } else {
            misfits += 1;
            // Other dice next time.
            machine.dice = tried.dice;
        }
    }
    fill(&mut machine, parts);
    for (index, function) in functions.iter().take(works).enumerate() {
        let Function { control, position, keyed, see } = function;
        let key = if *keyed { "key: on, " } else { "" };
        let when = format!("{key}{control}: {position}");
        machine.draft.work(&format!("w{}", index + 1), &when, see);
    }
    machine.draft.text(&format!("Harness of {parts} parts by seed {seed}"))
}

/// Small lamps for what is left, a few on a fuse.
fn fill(machine: &mut Machine, parts: usize) {
    let mut feed: Option<(String, usize)> = None;
    loop {
        let left = parts - machine.draft.count();
        match (&mut feed, left) {
            (_, 0 | 1) => return,
            (Some((from, room)), _) if *room > 0 => {
                *room -= 1;
                let from = from.clone();
                functions::pilot(machine, &from, if left % 2 == 1 { 3 } else { 2 });
            }
            // A fuse, its wire and a lamp on it.
            (_, 4..) => feed = Some((machine.keyed_fuse(1.5).from, 6)),
            // No fuse is worth it any more: one further lamp on the last.
            (Some((_, room)), _) => *room = 1,
            (None, _) => return,
        }
    }
}
