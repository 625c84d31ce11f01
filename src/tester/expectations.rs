//! The table of expected readings: every test under every suspect, from the solver.

use std::sync::{Arc, OnceLock};

use rayon::prelude::*;

use super::lamps::Lamps;
use super::observe::observe;
use super::scale::Shown;
use super::scene::Scene;
use super::slips::Slips;
use super::spread::Spreads;
use super::tolerance::Tolerances;
use super::{Test, likelihood};
use crate::circuit::{Circuit, Element, PartId, Work};
use crate::electric::{BranchId, Change, GROUND, Law, SolveError, Solver};
use crate::setup::Setup;
use crate::setup::wiring::{Wiring, positive_post};
use crate::suspect::damage::{changes, left};
use crate::suspect::{Lineup, Nature, Suspect};

mod blown;
mod column;
mod graded;
mod kept;
mod widened;

pub use column::{Column, Seen, shows};
use column::{mix, useful_edges};
pub use graded::Graded;
use kept::{Kept, Ready, Row};

/// A circuit, its suspects, and what the past has left: everything a reading depends on but the
/// setup and the test.
///
/// The complaint was there before the job began, so what should work has been tried: a fuse that
/// blows in any such setup is blown in every setup after it.
#[derive(Debug)]
pub struct Bench {
    /// The circuit.
    pub circuit: Arc<Circuit>,
    /// Its suspects.
    pub lineup: Arc<Lineup>,
    /// How far its sound parts differ.
    pub tolerances: Tolerances,
    /// How often readings are wrong.
    pub slips: Slips,
    /// How often each suspect is the cause of what is looked into, where it is there; 1 where that is not known.
    pub causes: Vec<f64>,
    blown: Vec<Vec<BranchId>>,
    pulled_at_rest: Vec<Vec<PartId>>,
    /// What was solved and may be asked for again.
    kept: Arc<Kept>,
    /// Other benches of the circuit may ask for what this one solves.
    shares: bool,
    /// The same circuit with each grade of each severity as a suspect.
    grades: Arc<OnceLock<graded::Bench>>,
}

/// `[outcome][suspect]`; sums to 1 over outcomes.
pub type Likelihood = Vec<Vec<f64>>;

/// What a plan needs of a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Sketch {
    /// Edges kept between outcomes.
    pub edges: Vec<f64>,
    /// How likely each outcome is under each suspect.
    pub likelihood: Likelihood,
}

/// What a column is made of beside its words.
struct Ranges {
    slip: f64,
    edges: Vec<f64>,
    likelihood: Likelihood,
}

/// Why a circuit cannot be reckoned.
#[derive(Debug, thiserror::Error)]
#[error("no operating point with {setup} under `{suspect}`: {cause}")]
pub struct BenchError {
    setup: String,
    suspect: String,
    cause: SolveError,
}

impl Bench {
    /// Works out what trying all that should work has left behind under each suspect.
    ///
    /// # Errors
    /// Where a setup has no operating point under some suspect.
    pub fn new(circuit: &Arc<Circuit>, lineup: Arc<Lineup>) -> Result<Bench, BenchError> {
        Bench::after(circuit, lineup, &circuit.works)
    }

    /// The same after only these works were tried.
    ///
    /// # Errors
    /// As [`Bench::new`].
    pub fn after(
        circuit: &Arc<Circuit>,
        lineup: Arc<Lineup>,
        works: &[Work],
    ) -> Result<Bench, BenchError> {
        let mut bench = Bench::untried(circuit, lineup);
        bench.try_out(works)?;
        Ok(bench)
    }

    /// The same circuit with another line-up, which begins with the same suspects and adds pairs of them. What
    /// was solved for one such bench serves the next.
    ///
    /// # Errors
    /// As [`Bench::new`].
    pub fn beside(&self, lineup: Arc<Lineup>, works: &[Work]) -> Result<Bench, BenchError> {
        let mut bench = Bench::untried(&self.circuit, lineup);
        (bench.kept, bench.shares) = (Arc::clone(&self.kept), true);
        bench.grades = Arc::clone(&self.grades);
        bench.try_out(works)?;
        Ok(bench)
    }

    /// Works out what trying these works leaves behind.
    fn try_out(&mut self, works: &[Work]) -> Result<(), BenchError> {
        let known = if self.shares { self.kept.pasts(&self.lineup) } else { Vec::new() };
        let of = |at: usize| known.get(at).and_then(Option::as_ref);
        self.blown = self.tried(works, &|at| of(at).map(|past| past.0.clone()))?;
        let (rest, circuit) = (Setup::rest(&self.circuit), &self.circuit);
        let pulled = self.each_case(
            &rest,
            &[],
            None,
            |at| of(at).map(|past| past.1.clone()),
            |scene| Ok(pulled(circuit, scene)),
        )?;
        self.pulled_at_rest = pulled;
        if self.shares {
            let pasts = self.blown.iter().cloned().zip(self.pulled_at_rest.iter().cloned());
            self.kept.keep_pasts(&self.lineup, pasts);
        }
        Ok(())
    }

    /// The circuit before anything in it was tried.
    pub fn untried(circuit: &Arc<Circuit>, lineup: Arc<Lineup>) -> Bench {
        let count = lineup.suspects.len();
        Bench {
            tolerances: Tolerances::new(circuit),
            slips: Slips::default(),
            circuit: Arc::clone(circuit),
            lineup,
            causes: vec![1.0; count],
            blown: vec![Vec::new(); count],
            pulled_at_rest: vec![Vec::new(); count],
            kept: Arc::default(),
            shares: false,
            grades: Arc::default(),
        }
    }

    /// The setup made ready.
    fn ready(&self, setup: &Setup) -> Result<Arc<Ready>, BenchError> {
        if let Some(ready) = self.kept.ready(setup) {
            return Ok(ready);
        }
        let wiring = Wiring::new(&self.circuit, setup);
        let solver = Solver::new(&wiring.network);
        let solver = solver.map_err(|cause| self.error(setup, "sound", cause))?;
        let ready = Arc::new(Ready { wiring, solver });
        self.kept.keep_ready(setup, &ready);
        Ok(ready)
    }

    /// The fuses that go under each suspect when `works` are tried, one after the other.
    fn tried(
        &self,
        works: &[Work],
        known: &(dyn Fn(usize) -> Option<Vec<BranchId>> + Sync),
    ) -> Result<Vec<Vec<BranchId>>, BenchError> {
        let made_ready = |work: &Work| {
            let setup = Setup::for_work(&self.circuit, work);
            let ready = self.ready(&setup)?;
            Ok((setup, ready))
        };
        let works: Result<Vec<_>, BenchError> = works.par_iter().map(made_ready).collect();
        let works = works?;
        let under = |(at, suspect): (usize, &Suspect)| {
            if let Some(blown) = known(at) {
                return Ok(blown);
            }
            let mut blown: Vec<BranchId> = Vec::new();
            for (setup, ready) in &works {
                let mut list = changes(&self.circuit, setup, &ready.wiring, &suspect.damage);
                list.extend(blown.iter().map(|&branch| Change::Law { branch, law: Law::Open }));
                let case = ready.solver.case(&list);
                let case = case.map_err(|cause| self.error(setup, &suspect.id, cause))?;
                blown.extend_from_slice(case.blown());
            }
            Ok(blown)
        };
        self.lineup.suspects.par_iter().enumerate().map(under).collect()
    }

    fn error(&self, setup: &Setup, suspect: &str, cause: SolveError) -> BenchError {
        BenchError { setup: setup.words(&self.circuit), suspect: suspect.to_owned(), cause }
    }

    /// Solves `setup` under each suspect and takes something from each case.
    ///
    /// The outside suspect has no network of its own and stands as the sound circuit, and so do those that
    /// are not `live`: then what is taken is for a plan, and need not be exact. What is `known` is not solved.
    fn each_case<T: Send + Sync + Clone>(
        &self,
        setup: &Setup,
        tests: &[Test],
        live: Option<&[bool]>,
        known: impl Fn(usize) -> Option<T> + Sync,
        take: impl Fn(&Scene<'_>) -> Result<T, SolveError> + Sync,
    ) -> Result<Vec<T>, BenchError> {
        let ready = self.ready(setup)?;
        let Ready { wiring, solver } = &*ready;
        let error = |suspect: &str, cause| self.error(setup, suspect, cause);
        let sound = solver.case(&[]).map_err(|cause| error("sound", cause))?;
        let spreads = Spreads::new(&self.tolerances, &self.circuit, (wiring, &sound), tests);
        let volts = self.circuit.system_volts;
        let plus = positive_post(&self.circuit).map_or(GROUND, |post| wiring.node(post));
        let taken = |(at, suspect): (usize, &Suspect)| {
            let damage = left(&self.circuit, setup, &suspect.damage);
            let mut list = changes(&self.circuit, setup, wiring, &damage);
            let fresh = |branch: &&BranchId| is_fresh(&self.circuit, setup, **branch);
            let blown = self.blown[at].iter().filter(|branch| !fresh(branch));
            list.extend(blown.map(|&branch| Change::Law { branch, law: Law::Open }));
            let case = solver.case(&list).map_err(|cause| error(&suspect.id, cause))?;
            let scene = Scene {
                circuit: &self.circuit,
                wiring,
                plus,
                case: &case,
                lamps: if live.is_some() { Lamps::alike(volts) } else { Lamps::each(volts) },
                spreads: &spreads,
                damage: &damage,
                pulled_at_rest: &self.pulled_at_rest[at],
            };
            take(&scene).map_err(|cause| error(&suspect.id, cause))
        };
        let suspects = &self.lineup.suspects;
        let Some(first) = suspects.first() else { return Ok(Vec::new()) };
        let sound = taken((0, first))?;
        let is_live = |at: usize| live.is_none_or(|live| live[at]);
        let one = |(at, suspect)| {
            if at == 0 || !is_live(at) {
                return Ok(sound.clone());
            }
            known(at).map_or_else(|| taken((at, suspect)), Ok)
        };
        suspects.par_iter().enumerate().map(one).collect()
    }

    /// The columns of `tests`, in their order; setups are solved in parallel.
    ///
    /// # Errors
    /// Where one of their setups has no operating point under some suspect.
    pub fn columns(&self, tests: &[Test]) -> Result<Vec<Column>, BenchError> {
        self.each(tests, None, |test, shown| self.column(test.clone(), shown))
    }

    /// The column of one test.
    ///
    /// # Errors
    /// As [`Bench::columns`].
    pub fn column_of(&self, test: &Test) -> Result<Column, BenchError> {
        let rows = self.rows(std::slice::from_ref(test), None)?;
        Ok(self.column(test.clone(), rows.iter().map(|row| row[0]).collect()))
    }

    /// What a plan needs of the columns of `tests`, in their order: suspects that are not `live` show what the
    /// sound circuit does.
    ///
    /// # Errors
    /// As [`Bench::columns`].
    pub fn sketch(&self, tests: &[Test], live: &[bool]) -> Result<Vec<Sketch>, BenchError> {
        let sketch = |test: &Test, mut shown: Vec<_>| {
            let Ranges { edges, likelihood, .. } = self.ranges(test, &mut shown);
            Sketch { edges, likelihood }
        };
        self.each(tests, Some(live), sketch)
    }

    /// Makes something of what the suspects show of each of `tests`.
    fn each<T: Send>(
        &self,
        tests: &[Test],
        live: Option<&[bool]>,
        make: impl Fn(&Test, Vec<Shown>) -> T + Sync,
    ) -> Result<Vec<T>, BenchError> {
        let groups: Vec<&[Test]> = tests.chunk_by(|one, next| one.setup == next.setup).collect();
        let of_group = |tests: &&[Test]| -> Result<Vec<T>, BenchError> {
            let by_suspect = self.rows(tests, live)?;
            let shown = |at: usize| by_suspect.iter().map(|row| row[at]).collect();
            Ok(tests.iter().enumerate().map(|(at, test)| make(test, shown(at))).collect())
        };
        let made: Result<Vec<Vec<T>>, BenchError> = groups.par_iter().map(of_group).collect();
        Ok(made?.into_iter().flatten().collect())
    }

    /// What each suspect shows of tests which share a setup.
    fn rows(&self, tests: &[Test], live: Option<&[bool]>) -> Result<Vec<Row>, BenchError> {
        let Some(first) = tests.first() else { return Ok(Vec::new()) };
        let solve = |known: &(dyn Fn(usize) -> Option<Row> + Sync)| {
            self.each_case(&first.setup, tests, live, known, |scene| {
                tests.iter().map(|test| observe(scene, test)).collect()
            })
        };
        if !self.shares {
            return solve(&|_| None);
        }
        let asked = kept::asked(tests, live.is_some());
        let known = self.kept.rows(&asked, &self.lineup);
        let is_live = |at: usize| live.is_none_or(|live| live[at]);
        let rows = match &known[0] {
            Some(sound) if (1..known.len()).all(|at| !is_live(at) || known[at].is_some()) => {
                let all = known.iter().enumerate();
                let row = |(at, row): (usize, &Option<Row>)| match row {
                    Some(row) if is_live(at) => Arc::clone(row),
                    _ => Arc::clone(sound),
                };
                return Ok(all.map(row).collect());
            }
            _ => solve(&|at| known[at].clone())?,
        };
        let solved = |at: usize| (at == 0 || is_live(at)) && known[at].is_none();
        self.kept.keep_rows(asked, &self.lineup, &rows, solved);
        Ok(rows)
    }

    fn column(&self, test: Test, mut shown: Vec<Shown>) -> Column {
        let Ranges { slip, edges, likelihood } = self.ranges(&test, &mut shown);
        let outcomes = test.scale.outcomes(&edges);
        Column { test, slip, shown, edges, outcomes, likelihood }
    }

    /// Brings what is shown together, and tells how likely each range is.
    fn ranges(&self, test: &Test, shown: &mut [Shown]) -> Ranges {
        self.bring_together(test, shown);
        let edges = useful_edges(test, shown);
        let count = edges.len() + 1;
        let slip = self.slips.of(test.scale);
        let mut likelihood = vec![vec![0.0; shown.len()]; count];
        let (mut sound, mut own) = (vec![0.0; count], vec![0.0; count]);
        likelihood::outcomes(test.scale, slip, &edges, &shown[0], &mut sound);
        for (at, one) in shown.iter().enumerate() {
            let suspect = &self.lineup.suspects[at];
            if suspect.nature == Nature::Outside {
                own.fill(1.0 / count as f64);
            } else if *one == shown[0] {
                own.copy_from_slice(&sound);
            } else {
                likelihood::outcomes(test.scale, slip, &edges, one, &mut own);
                mix(&mut own, shows(test, suspect, one), &sound);
            }
            for (row, chance) in likelihood.iter_mut().zip(&own) {
                row[at] = *chance;
            }
        }
        Ranges { slip, edges, likelihood }
    }
}

/// The fuse of this branch has just been swapped for a good one.
fn is_fresh(circuit: &Circuit, setup: &Setup, fuse: BranchId) -> bool {
    let parts = setup.swapped.iter();
    parts.flat_map(|part| circuit.links_of(*part)).any(|link| link.index() == fuse.0 as usize)
}

fn pulled(circuit: &Circuit, scene: &Scene<'_>) -> Vec<PartId> {
    let has_coil = |part: PartId| {
        let links = &circuit.parts[part.index()].links;
        links.iter().any(|&link| matches!(circuit.graph[link].element, Element::Coil { .. }))
    };
    (0..circuit.parts.len())
        .map(|at| PartId(at as u32))
        .filter(|&part| has_coil(part))
        .filter(|&part| scene.wiring.relay(part).is_some_and(|relay| scene.case.pulled(relay)))
        .collect()
}
