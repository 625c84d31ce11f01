//! The volts that a sound circuit loses on the way to its loads and back.

use super::Study;
use super::kept::Drop;
use super::paths::ways;
use crate::circuit::TerminalId;
use crate::setup::wiring::{negative_post, positive_post};
use crate::tester::limits::sound_numbers;
use crate::tester::make::make;
use crate::tester::{Target, Tester};

/// Paths whose two sides are measured.
const PATHS: usize = 2;

impl Study {
    /// What a sound circuit loses on the paths of the complaint's work, reckoned when first asked for.
    pub fn drops(&self) -> &[Drop] {
        self.drops.get_or_init(|| reckon(self))
    }
}

fn reckon(study: &Study) -> Vec<Drop> {
    let circuit = study.circuit();
    let setup = study.check_setup();
    let (Some(plus), Some(minus)) = (positive_post(circuit), negative_post(circuit)) else {
        return Vec::new();
    };
    let mut pairs = Vec::new();
    let all = ways(circuit, &setup);
    for way in all.iter().rev().take(PATHS) {
        let at = way.links.iter().position(|(link, _)| circuit.link(*link).part == way.load);
        let Some(at) = at else { continue };
        let before = if at == 0 { plus } else { way.links[at - 1].1 };
        pairs.extend([(plus, before), (way.links[at].1, minus)]);
    }
    pairs.dedup();
    let drop = |(a, b)| {
        let test = make(circuit, Tester::Drop, Target::Pair(a, b), &setup).ok()?;
        let column = study.column(&test).ok()?;
        let (_, most) = sound_numbers(&column)?;
        let name = |at: TerminalId| circuit.graph[at].name.clone();
        Some(Drop { column, from: name(a), to: name(b), most })
    };
    pairs.into_iter().filter_map(drop).collect()
}
