//! The machine that is played: one of its kind, with something wrong, which answers what is done to it.

use std::sync::Arc;

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::draw::{drawn, normal};
use crate::circuit::{Circuit, Element, LinkId, PartId};
use crate::electric::BranchId;
use crate::job::event::Answer;
use crate::job::study::complaint::sights;
use crate::setup::Setup;
use crate::suspect::damage::Damage;
use crate::suspect::fix::Fix;
use crate::suspect::{FixId, Lineup, Nature, Suspect, SuspectId};
use crate::tester::expectations::{Bench, BenchError, shows};
use crate::tester::scale::{OVERLOAD_LEVEL, Scale, Shown};
use crate::tester::{Test, Tester};

/// What a person types into a job for a meter that shows no number on ohms.
pub const OPEN_LINE_OHMS: f64 = 99e6;
/// A hidden step of a severity lies so many decades to either side of what its name says, at most.
const DECADES: f64 = 0.15;
/// A relay that chatters makes what it feeds jump by this share of what can be seen.
const JUMPS: f64 = 0.1;

/// What was seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// As an answer of a job.
    pub answer: Answer,
    /// For a person: `lights brightly`, `12.14 V, the last digit moving`.
    pub words: String,
    /// The level before anybody read it; for checks against other ways to reckon it.
    pub level: f64,
}

/// A work that was tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Its number.
    pub work: usize,
    /// What was looked at, and what it showed.
    pub looks: Vec<(Test, Seen)>,
    /// It is all as it should be.
    pub works: bool,
}

/// One fault of the machine.
#[derive(Debug, Clone, PartialEq)]
struct Wrong {
    part: Option<PartId>,
    fix: FixId,
    damage: Vec<Damage>,
    shows: f64,
}

/// The machine: its parts as drawn, its faults, the fuses that have gone.
#[derive(Debug)]
pub struct Machine {
    circuit: Arc<Circuit>,
    bench: Bench,
    wrong: Vec<Wrong>,
    misses: f64,
    dice: Pcg64Mcg,
}

/// What a machine is made of.
#[derive(Debug, Clone, Copy)]
pub struct Plan<'a> {
    /// The circuit as its file has it.
    pub circuit: &'a Circuit,
    /// All suspects of it.
    pub lineup: &'a Lineup,
    /// Those that are hidden.
    pub hidden: &'a [SuspectId],
    /// The same seed makes the same machine.
    pub seed: u64,
    /// Share of looks in which the probe makes no contact.
    pub misses: f64,
    /// Number of the play on this machine, 0 the first: what chance has a hand in is seen otherwise in each.
    pub play: u64,
}

impl Machine {
    /// A machine within its tolerances, in which all that should work was tried before.
    ///
    /// # Errors
    /// Where it has no operating point.
    pub fn new(plan: Plan<'_>) -> Result<Machine, BenchError> {
        let mut dice = Pcg64Mcg::seed_from_u64(plan.seed ^ 0x6d61_6368);
        let circuit = drawn(plan.circuit, &mut dice);
        let mut machine = Machine::of(plan, circuit, dice)?;
        for wrong in &mut machine.wrong {
            let decades = DECADES * (2.0 * machine.dice.random::<f64>() - 1.0);
            for damage in &mut wrong.damage {
                if let Damage::Series(_, ohms) = damage {
                    *ohms *= 10f64.powf(decades);
                }
            }
        }
        machine.stand(true, &[])?;
        machine.deal(plan);
        Ok(machine)
    }

    /// A machine with every part as its file has it, the fault as its name says.
    ///
    /// # Errors
    /// Where it has no operating point.
    pub fn nominal(plan: Plan<'_>) -> Result<Machine, BenchError> {
        let dice = Pcg64Mcg::seed_from_u64(plan.seed);
        let mut machine = Machine::of(plan, plan.circuit.clone(), dice)?;
        machine.deal(plan);
        Ok(machine)
    }

    /// The machine is made; from here on each play has dice of its own.
    fn deal(&mut self, plan: Plan<'_>) {
        if plan.play > 0 {
            self.dice = Pcg64Mcg::seed_from_u64(plan.seed ^ 0x706c_6179 ^ (plan.play << 32));
        }
    }

    fn of(plan: Plan<'_>, circuit: Circuit, dice: Pcg64Mcg) -> Result<Machine, BenchError> {
        let circuit = Arc::new(circuit);
        let wrong = |id: &SuspectId| {
            let one = &plan.lineup.suspects[id.index()];
            Wrong { part: one.part, fix: one.fix, damage: one.damage.clone(), shows: one.shows }
        };
        let wrong: Vec<Wrong> = plan.hidden.iter().map(wrong).collect();
        let bench = Bench::after(&circuit, lineup(&wrong), &circuit.works)?;
        Ok(Machine { circuit, bench, wrong, misses: plan.misses, dice })
    }

    /// Reckons the machine anew; when everything `was_tried`, fuses have had their chance to go.
    fn stand(&mut self, was_tried: bool, gone: &[BranchId]) -> Result<(), BenchError> {
        let works = if was_tried { &*self.circuit.works } else { &[] };
        self.bench = Bench::after(&self.circuit, lineup(&self.wrong), works)?;
        self.bench.blow(gone);
        Ok(())
    }

    /// The machine as it is built.
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// Nothing is wrong any more.
    pub fn is_mended(&self) -> bool {
        self.wrong.is_empty()
    }

    /// Brings a setup about; gives the fuses that have gone by it.
    ///
    /// # Errors
    /// Where it has no operating point.
    pub fn bring_about(&mut self, setup: &Setup) -> Result<Vec<PartId>, BenchError> {
        let gone = self.bench.blows(setup, SuspectId(u32::from(!self.wrong.is_empty())))?;
        self.bench.blow(&gone);
        // A jumper's fuse has no link of its own.
        let links = gone.iter().map(|fuse| LinkId::new(fuse.0 as usize));
        let links = links.filter(|link| self.circuit.graph.edge_weight(*link).is_some());
        Ok(links.map(|link| self.circuit.link(link).part).collect())
    }

    /// What a test shows now, as a person reads it.
    ///
    /// # Errors
    /// Where its setup has no operating point.
    pub fn look(&mut self, test: &Test) -> Result<Seen, BenchError> {
        self.bring_about(&test.setup)?;
        let column = self.bench.column_of(test)?;
        let suspect = &self.bench.lineup.suspects[1];
        let there = !self.wrong.is_empty() && {
            let share = shows(test, suspect, &column.shown[1]);
            self.dice.random::<f64>() < share
        };
        let shown = column.shown[usize::from(there)];
        let missed = touches(test.tester) && self.dice.random::<f64>() < self.misses;
        let level = if missed { untouched(test.scale) } else { shown.level };
        let read = self.read(test.scale, &Shown { level, ..shown });
        Ok(seen(test, &column.edges, Shown { level: read, ..shown }, shown.level))
    }

    /// The level as it is read: an eye or a meter is off by a little.
    fn read(&mut self, scale: Scale, shown: &Shown) -> f64 {
        if matches!(scale, Scale::Click | Scale::Steadiness) || is_overload(scale, shown.level) {
            return shown.level;
        }
        let jumps = if shown.restless { JUMPS * scale.width() } else { 0.0 };
        shown.level + scale.blur(shown.level).hypot(jumps) * normal(&mut self.dice)
    }

    /// Does a repair. The right one also renews the fuses that its fault has blown; a new fuse is whole until
    /// something blows it again.
    ///
    /// # Errors
    /// Where the machine has no operating point afterwards.
    pub fn mend(&mut self, fix: FixId, part: Option<PartId>) -> Result<bool, BenchError> {
        let before = self.wrong.len();
        self.wrong.retain(|wrong| wrong.fix != fix);
        let right = self.wrong.len() < before;
        let of_part = |fuse: &BranchId| {
            let link = self.circuit.graph.edge_weight(LinkId::new(fuse.0 as usize));
            link.is_some_and(|link| Some(link.part) == part)
        };
        let gone: Vec<BranchId> = self.bench.blown(SuspectId(1)).to_vec();
        let gone: Vec<BranchId> =
            gone.into_iter().filter(|fuse| !right && !of_part(fuse)).collect();
        self.stand(false, &gone)?;
        Ok(right)
    }

    /// Tries everything that should work: for each work, what was seen and whether it is as it should be.
    ///
    /// # Errors
    /// Where a setup has no operating point.
    pub fn try_all(&mut self, first: usize) -> Result<Vec<Tried>, BenchError> {
        let circuit = Arc::clone(&self.circuit);
        let others = (0..circuit.works.len()).filter(|&at| at != first);
        let mut list = Vec::new();
        for at in std::iter::once(first).chain(others) {
            let mut all = true;
            let mut looks = Vec::new();
            for (test, should) in sights(&circuit, &circuit.works[at]) {
                let seen = self.look(&test)?;
                let edges = test.scale.edges();
                all &= seen.answer == Answer::Named(test.scale.outcomes(&edges)[should].id.clone());
                looks.push((test, seen));
            }
            list.push(Tried { work: at, looks, works: all });
        }
        Ok(list)
    }
}

/// The tester has to make contact with a probe.
fn touches(tester: Tester) -> bool {
    !matches!(tester, Tester::Watch | Tester::Hear | Tester::Wiggle | Tester::Clamp)
}

/// What a probe shows that touches nothing.
fn untouched(scale: Scale) -> f64 {
    match scale {
        Scale::Ohms => OVERLOAD_LEVEL,
        Scale::Led => -3.0,
        Scale::Millivolts => crate::tester::scale::LEAST_MILLIVOLTS,
        Scale::Amps => crate::tester::scale::LEAST_AMPS,
        _ => 0.0,
    }
}

/// The sound machine, what is wrong with it, and the suspect that stands last in every line-up.
fn lineup(wrong: &[Wrong]) -> Arc<Lineup> {
    let suspect = |id: &str, nature, fix| Suspect {
        id: id.to_owned(),
        part: None,
        fault: String::new(),
        weight: 1.0,
        fix: FixId(fix),
        damage: Vec::new(),
        ladder: None,
        nature,
        shows: 1.0,
    };
    let mut hidden = suspect("hidden", Nature::Fault, 1);
    hidden.damage = wrong.iter().flat_map(|one| one.damage.clone()).collect();
    // By its part it is known which connector it sits in.
    hidden.part = wrong.first().and_then(|one| one.part);
    hidden.shows = wrong.iter().map(|one| one.shows).fold(1.0, f64::min);
    let suspects =
        vec![suspect("sound", Nature::Sound, 0), hidden, suspect("outside", Nature::Outside, 2)];
    Arc::new(Lineup { suspects, fixes: vec![Fix::nothing(), Fix::nothing(), Fix::beyond()] })
}

fn seen(test: &Test, edges: &[f64], shown: Shown, level: f64) -> Seen {
    let Some(unit) = test.tester.unit() else {
        let at = edges.iter().take_while(|edge| **edge <= shown.level).count();
        let outcome = test.scale.outcomes(edges).swap_remove(at);
        let flickers =
            if shown.restless && test.scale != Scale::Click { ", flickering" } else { "" };
        let words = format!("{}{flickers}", outcome.words);
        return Seen { answer: Answer::Named(outcome.id), words, level };
    };
    let number = test.scale.number_shown(shown.level);
    let (number, words) =
        on_display(test.scale, number, is_overload(test.scale, shown.level), unit);
    Seen { answer: Answer::Number(number), words, level }
}

/// A meter on ohms shows no number.
fn is_overload(scale: Scale, level: f64) -> bool {
    scale == Scale::Ohms && level >= OVERLOAD_LEVEL
}

/// The number as the meter has it, with the digits that it has, and in words.
fn on_display(scale: Scale, number: f64, overload: bool, unit: &str) -> (f64, String) {
    let rounded = |number: f64, digits: f64| {
        let cut = (number * digits).round() / digits;
        if cut == 0.0 { 0.0 } else { cut }
    };
    match scale {
        _ if overload => (OPEN_LINE_OHMS, "OL, an open line".to_owned()),
        Scale::Volts { .. } => {
            let volts = rounded(number, 100.0);
            (volts, format!("{volts:.2} V, the last digit moving"))
        }
        Scale::Pointer { .. } => {
            let volts = rounded(number, 10.0);
            (volts, format!("the needle stands at about {volts:.1} V"))
        }
        Scale::Millivolts => {
            let millivolts = rounded(1000.0 * number, 10.0);
            (millivolts / 1000.0, format!("{millivolts:.1} mV, the last digit moving"))
        }
        Scale::Amps => {
            let amps = rounded(number, 100.0);
            (amps, format!("{amps:.2} A, the last digit moving"))
        }
        _ if number >= 1000.0 => {
            let kilohms = rounded(number / 1000.0, 100.0);
            (1000.0 * kilohms, format!("{kilohms:.2} kohm"))
        }
        _ => {
            let ohms = rounded(number, 10.0);
            (ohms, format!("{ohms:.1} {unit}"))
        }
    }
}

/// Whether a part burns through to protect others.
pub fn is_fuse(circuit: &Circuit, part: PartId) -> bool {
    let mut links = circuit.links_of(part).iter();
    links.any(|link| matches!(circuit.link(*link).element, Element::Fuse { .. }))
}
