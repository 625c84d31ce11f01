//! What was solved on one bench and serves the next: the same circuit with other pairs of its suspects.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::super::Test;
use super::super::scale::Shown;
use crate::circuit::PartId;
use crate::electric::{BranchId, Solver};
use crate::setup::Setup;
use crate::setup::wiring::Wiring;
use crate::suspect::pairs::Pair;
use crate::suspect::{Lineup, Nature, SuspectId};

/// So many setups are kept ready at least, and so many nodes in all: enough for all of a small circuit, few
/// enough of a harness of thousands, each of which takes megabytes.
const MOST_READY: (usize, usize) = (8, 3_000);
/// Things shown that are kept, of some 24 bytes each: of a circuit that is played again and again, and of one
/// with more than [`LARGE`] single suspects.
const MOST_SHOWN: (usize, usize) = (6_000_000, 1_500_000);
/// See [`MOST_SHOWN`].
const LARGE: usize = 500;
/// What a row takes beside what is shown, counted in things shown.
const ROW: usize = 3;
/// Of a line-up with more suspects only single tests are kept, those that were read: it is made once, and then
/// the likeliest of its pairs are asked for again.
const MOST_SUSPECTS: usize = 2_000;
/// Suspects whose past is kept.
const MOST_PASTS: usize = 10_000;

/// A setup made ready to be solved under any suspect.
#[derive(Debug)]
pub(super) struct Ready {
    pub wiring: Wiring,
    pub solver: Solver,
}

/// What a suspect shows of some tests, in their order.
pub(super) type Row = Arc<[Shown]>;

/// The tests of a row, and whether lamps were taken to be all alike.
pub(super) type Asked = (Vec<String>, bool);

/// What trying the circuit has left: the fuses that have blown, in that order, and the parts whose contacts are
/// pulled at rest.
pub(super) type Past = (Vec<BranchId>, Vec<PartId>);

/// Shared by the benches of one circuit whose line-ups begin with the same suspects.
#[derive(Debug, Default)]
pub(super) struct Kept {
    /// The setups met first, made ready: they are asked for again and again.
    ready: Mutex<HashMap<Setup, Arc<Ready>>>,
    past: Mutex<HashMap<Pair, Past>>,
    shelf: Mutex<Shelf>,
}

#[derive(Debug, Default)]
struct Shelf {
    rows: HashMap<Asked, HashMap<Pair, Row>>,
    size: usize,
}

/// A suspect by what it is made of, whatever line-up it stands in.
fn who(lineup: &Lineup, at: usize) -> Pair {
    let alone = |at: usize| (SuspectId(at as u32), SuspectId(at as u32));
    match lineup.suspects[at].nature {
        Nature::Pair(one, other) => (one, other),
        // It has no network of its own and stands as the sound circuit.
        Nature::Outside => alone(0),
        _ => alone(at),
    }
}

/// What a thread that panicked with the lock has left behind is whole.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

pub(super) fn asked(tests: &[Test], sketch: bool) -> Asked {
    (tests.iter().map(|test| test.id.clone()).collect(), sketch)
}

impl Kept {
    pub(super) fn ready(&self, setup: &Setup) -> Option<Arc<Ready>> {
        lock(&self.ready).get(setup).map(Arc::clone)
    }

    pub(super) fn keep_ready(&self, setup: &Setup, ready: &Arc<Ready>) {
        let nodes = ready.wiring.network.nodes as usize;
        let mut kept = lock(&self.ready);
        if kept.len() < MOST_READY.0.max(MOST_READY.1 / nodes.max(1)) {
            kept.insert(setup.clone(), Arc::clone(ready));
        }
    }

    /// What is known of the past under each suspect.
    pub(super) fn pasts(&self, lineup: &Lineup) -> Vec<Option<Past>> {
        let past = lock(&self.past);
        (0..lineup.suspects.len()).map(|at| past.get(&who(lineup, at)).cloned()).collect()
    }

    pub(super) fn keep_pasts(&self, lineup: &Lineup, pasts: impl Iterator<Item = Past>) {
        if lineup.suspects.len() <= MOST_PASTS {
            let whos = (0..lineup.suspects.len()).map(|at| who(lineup, at));
            lock(&self.past).extend(whos.zip(pasts));
        }
    }

    /// What is known of what each suspect shows.
    pub(super) fn rows(&self, asked: &Asked, lineup: &Lineup) -> Vec<Option<Row>> {
        let shelf = lock(&self.shelf);
        let Some(rows) = shelf.rows.get(asked) else { return vec![None; lineup.suspects.len()] };
        (0..lineup.suspects.len()).map(|at| rows.get(&who(lineup, at)).cloned()).collect()
    }

    /// Keeps what the suspects show that were solved, as far as there is room.
    pub(super) fn keep_rows(
        &self,
        asked: Asked,
        lineup: &Lineup,
        rows: &[Row],
        solved: impl Fn(usize) -> bool,
    ) {
        let tests = asked.0.len();
        if lineup.suspects.len() > MOST_SUSPECTS && tests > 1 {
            return;
        }
        let singles = lineup.suspects.iter().filter(|suspect| suspect.pair().is_none()).count();
        let most = if singles > LARGE { MOST_SHOWN.1 } else { MOST_SHOWN.0 };
        let mut shelf = lock(&self.shelf);
        let Shelf { rows: shelves, size } = &mut *shelf;
        let shelf = shelves.entry(asked).or_default();
        for (at, row) in rows.iter().enumerate().filter(|(at, _)| solved(*at)) {
            if *size + tests + ROW > most {
                return;
            }
            if shelf.insert(who(lineup, at), Arc::clone(row)).is_none() {
                *size += tests + ROW;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::super::Bench;
    use crate::circuit::{builtin, read};
    use crate::suspect::Lineup;
    use crate::tester::Instrument;
    use crate::tester::enumerate::tests;
    use crate::tester::scope::Scope;

    /// What was kept is what would be solved anew: other pairs of the same suspects, the same readings.
    #[test]
    fn a_bench_beside_another_shows_what_one_alone_does() {
        let text = builtin::text("horn-relay").unwrap();
        let circuit = Arc::new(read::read_text("horn-relay", text).0.unwrap());
        let singles = Arc::new(Lineup::of(&circuit));
        let weights: Vec<f64> = singles.suspects.iter().map(|one| one.weight).collect();
        let pairs: Vec<_> = singles.pairs().step_by(97).collect();
        let base = Bench::new(&circuit, Arc::clone(&singles)).unwrap();
        let all = tests(&circuit, &Scope::whole(), &[Instrument::Lamp, Instrument::Meter]);
        let some: Vec<_> = all.into_iter().step_by(7).collect();
        let first = pairs.len() / 2;
        for chosen in [&pairs[..first], &pairs[first / 2..], &pairs[..first]] {
            let lineup = Arc::new(singles.paired(chosen, &weights));
            let alone = Bench::new(&circuit, Arc::clone(&lineup)).unwrap();
            let beside = base.beside(Arc::clone(&lineup), &circuit.works).unwrap();
            let live: Vec<bool> = (0..lineup.suspects.len()).map(|at| at % 5 != 3).collect();
            assert_eq!(beside.sketch(&some, &live).unwrap(), alone.sketch(&some, &live).unwrap());
            assert_eq!(beside.columns(&some).unwrap(), alone.columns(&some).unwrap());
        }
    }
}
