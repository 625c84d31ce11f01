//! The drill: the learner's hands on the played machine, the clock, and the log of it.

use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;

use super::DrillError;
use super::fault::{Setting, hide, level};
use super::log::{Entry, Look, Mend, What, capital, done_words};
use super::machine::{Machine, Plan, is_fuse};
use super::safety::{self, Danger};
use crate::circuit::{Kind, PartId, PlaceId};
use crate::job::course::Course;
use crate::job::state::evidence;
use crate::job::study::{Study, sights};
use crate::job::words;
use crate::setup::Setup;
use crate::setup::moves::{Act, moves};
use crate::suspect::{FixId, SuspectId};
use crate::tester::enumerate::make;
use crate::tester::expectations::BenchError;
use crate::tester::scale::Scale;
use crate::tester::{Instrument, Target, Test, Tester};

/// Machines drawn before one is taken as filed, so that the complaint shows.
const DRAWS: u64 = 12;
/// From this share of its speed on, an engine cranks.
const CRANKS: f64 = 0.05;

/// What an order came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Told {
    /// What there is to say, a line each.
    pub lines: Vec<String>,
    /// It was not carried out, because of this.
    pub stopped: Option<Danger>,
    /// It could not be carried out.
    pub refused: bool,
}

impl Told {
    fn line(words: impl Into<String>) -> Told {
        Told { lines: vec![words.into()], ..Told::default() }
    }

    /// Nothing was done.
    pub fn no(words: impl Into<String>) -> Told {
        Told { lines: vec![words.into()], stopped: None, refused: true }
    }

    /// It was carried out.
    pub fn is_done(&self) -> bool {
        self.stopped.is_none() && !self.refused
    }

    fn and(mut self, more: Told) -> Told {
        self.lines.extend(more.lines);
        Told { lines: self.lines, stopped: more.stopped, refused: more.refused }
    }
}

/// One drill.
#[derive(Debug)]
pub struct Drill<'a> {
    /// The circuit as filed, reckoned through: what a good diagnosis knows.
    pub study: &'a Study,
    /// How it was set.
    pub setting: Setting,
    /// What is hidden; not for the screen.
    pub hidden: Vec<SuspectId>,
    machine: Machine,
    /// Belief by what was seen, the machine as it stands, the clock.
    pub course: Course<'a>,
    /// The same when the last look or repair was over.
    decided: Course<'a>,
    /// What was done, oldest first.
    pub log: Vec<Entry<'a>>,
    clear: bool,
    cranked_seconds: f64,
    cranked_at: f64,
    /// Minutes of rest, which do not count.
    pub resting_minutes: f64,
    /// The starter has turned in the last look.
    cranking: bool,
}

impl<'a> Drill<'a> {
    /// A drill whose fault is drawn by `setting`.
    ///
    /// # Errors
    /// Where no such fault gives the complaint, or the circuit cannot be reckoned.
    pub fn new(study: &'a Study, setting: Setting) -> Result<Drill<'a>, DrillError> {
        let mut dice = Pcg64Mcg::seed_from_u64(setting.seed);
        let hidden = hide(study, setting, &mut dice)?;
        Drill::hiding(study, setting, hidden)
    }

    /// A drill on the trainer's choice.
    ///
    /// # Errors
    /// Where the circuit cannot be reckoned.
    pub fn hiding(
        study: &'a Study,
        setting: Setting,
        hidden: Vec<SuspectId>,
    ) -> Result<Drill<'a>, DrillError> {
        let machine = machine(study, setting, &hidden)?;
        let course = Course::new(study);
        Ok(Drill {
            study,
            setting,
            hidden,
            machine,
            decided: course.clone(),
            course,
            log: Vec::new(),
            clear: false,
            cranked_seconds: 0.0,
            cranked_at: f64::NEG_INFINITY,
            resting_minutes: 0.0,
            cranking: false,
        })
    }

    /// Minutes so far.
    pub fn minutes(&self) -> f64 {
        self.course.minutes
    }

    /// Nothing is wrong any more. Not for the screen.
    pub fn is_mended(&self) -> bool {
        self.machine.is_mended()
    }

    /// How things stood when the last look or repair was over: where the next one was decided on.
    pub fn decided(&self) -> &Course<'a> {
        &self.decided
    }

    fn note(
        &mut self,
        what: What<'a>,
        done: impl Into<String>,
        seen: impl Into<String>,
        minutes: f64,
    ) {
        self.course.minutes += minutes;
        self.log.push(Entry { what, done: done.into(), seen: seen.into(), minutes });
    }

    fn stop(&mut self, danger: Danger, order: &str) -> Told {
        self.note(What::Stopped(danger), order, danger.words(), 0.0);
        Told {
            lines: vec![format!("STOP: {}", danger.words())],
            stopped: Some(danger),
            refused: false,
        }
    }

    /// Gets to places that are not open yet.
    fn reach(&mut self, places: &[PlaceId]) -> Vec<String> {
        let mut lines = Vec::new();
        for &place in places {
            if self.course.opened[place.index()] {
                continue;
            }
            self.course.opened[place.index()] = true;
            let at = self.study.circuit().place(place);
            if at.open_minutes > 0.0 {
                let words =
                    format!("{} open ({} min).", capital(&at.name), words::show(at.open_minutes));
                self.note(What::Act, words.clone(), "", at.open_minutes);
                lines.push(words);
            }
        }
        lines
    }

    /// Opens a place.
    pub fn open(&mut self, place: PlaceId) -> Told {
        let lines = self.reach(&[place]);
        if lines.is_empty() {
            Told::no("It is open already.")
        } else {
            Told { lines, ..Told::default() }
        }
    }

    /// The person says: neutral, chocks, everybody clear.
    pub fn say_clear(&mut self) -> Told {
        self.clear = true;
        let study = self.study;
        Told::line(if words::may_turn(study, &study.check_setup(), &study.prior) {
            "Neutral, chocked, everybody clear: it may crank now."
        } else {
            "Nothing cranks here; to say so does no harm."
        })
    }

    /// The starter rests.
    pub fn rest(&mut self) -> Told {
        self.cranked_seconds = 0.0;
        self.resting_minutes += safety::REST_MINUTES;
        self.note(What::Rest, "The starter rests.", "", safety::REST_MINUTES);
        // Nor do they make the next look dearer.
        self.decided.minutes += safety::REST_MINUTES;
        Told::line("Two minutes of rest. They do not count.")
    }

    /// A hand on the machine.
    ///
    /// # Errors
    /// Where the machine has no operating point then.
    pub fn act(&mut self, act: &Act) -> Result<Told, BenchError> {
        let circuit = self.study.circuit();
        let order = done_words(circuit, act);
        let Some(next) = after(&self.course.setup, act) else {
            return Ok(Told::no("That is so already."));
        };
        if let Some(danger) = safety::of_act(circuit, &self.course.setup, act) {
            return Ok(self.stop(danger, &order));
        }
        let matters = matches!(act, Act::Control(..) | Act::GroundOn);
        if matters && !self.clear && words::may_turn(self.study, &next, &self.study.prior) {
            return Ok(self.stop(Danger::NotClear, &order));
        }
        let needed = |instrument| self.study.kit().contains(&instrument);
        if matches!(act, Act::Bridge(_)) && !needed(Instrument::Jumper) {
            return Ok(Told::no("There is no fused jumper at hand (`--kit jumper`)."));
        }
        if matches!(act, Act::Swap(_)) && !needed(Instrument::Spares) {
            return Ok(Told::no("There are no known good spares at hand (`--kit spares`)."));
        }
        let mut lines = self.reach(&next.places(circuit));
        let minutes = moves(circuit, &self.course.setup, &next)
            .iter()
            .find(|one| one.act == *act)
            .map_or(0.0, |one| one.minutes);
        self.course.setup = next;
        let gone = self.machine.bring_about(&self.course.setup)?;
        let names: Vec<&str> = gone.iter().map(|part| circuit.part(*part).name.as_str()).collect();
        let flash = if names.is_empty() {
            String::new()
        } else {
            format!("A small flash: the {} has blown.", names.join(" and the "))
        };
        self.note(What::Act, order.clone(), flash.clone(), minutes);
        lines.push(order);
        lines.extend((!flash.is_empty()).then_some(flash));
        Ok(Told { lines, ..Told::default() })
    }

    /// Lets go of everything and switches off.
    ///
    /// # Errors
    /// As [`Drill::act`].
    pub fn off(&mut self) -> Result<Told, BenchError> {
        let mut rest = self.course.setup.clone();
        for (position, control) in rest.positions.iter_mut().zip(&self.study.circuit().controls) {
            if !control.by_machine {
                *position = control.rest;
            }
        }
        self.go(&rest)
    }

    /// Brings a setup about in the safe order; stops where an order is stopped.
    ///
    /// # Errors
    /// As [`Drill::act`].
    pub fn go(&mut self, setup: &Setup) -> Result<Told, BenchError> {
        let mut told = Told::default();
        for step in moves(self.study.circuit(), &self.course.setup, setup) {
            let more = self.act(&step.act)?;
            told = told.and(more);
            if !told.is_done() {
                break;
            }
        }
        Ok(told)
    }

    /// The test of this tester on this target, as the machine stands; or what is said instead.
    ///
    /// # Errors
    /// Why not, as told.
    pub fn aim(&mut self, tester: Tester, target: Target) -> Result<Test, Told> {
        let circuit = self.study.circuit();
        let kit = self.study.kit();
        if tester.instrument() != Instrument::Senses && !kit.contains(&tester.instrument()) {
            return Err(Told::no("That tester is not at hand (see --kit)."));
        }
        make(circuit, tester, target, &self.course.setup).map_err(
            |reason| match safety::of_refusal(circuit, tester, &self.course.setup, reason) {
                Some(danger) => self.stop(danger, words::tester_words(tester)),
                None => Told::no(format!("That cannot be: {reason}.")),
            },
        )
    }

    /// Holds a tester to something, looks, listens.
    ///
    /// # Errors
    /// Where the machine has no operating point.
    pub fn look(&mut self, tester: Tester, target: Target) -> Result<Told, BenchError> {
        match self.aim(tester, target) {
            Ok(test) => self.take(&test),
            Err(told) => Ok(told),
        }
    }

    /// Does a test: brings its setup about in the safe order, gets there, looks.
    ///
    /// # Errors
    /// As [`Drill::look`].
    pub fn take(&mut self, test: &Test) -> Result<Told, BenchError> {
        let mut told = self.go(&test.setup)?;
        if !told.is_done() {
            return Ok(told);
        }
        if let Some(danger) = self.crank(&test.setup)? {
            let stop = self.stop(danger, &words::title(self.study.circuit(), test));
            return Ok(told.and(stop));
        }
        told.lines.extend(self.reach(&test.places));
        let circuit = self.study.circuit();
        let seen = self.machine.look(test)?;
        let column = self.study.column(test)?;
        let (reading, _) = evidence(self.study.lineup(), &column, &seen.answer);
        let title = words::title_in_setup(circuit, test);
        let confirms = self.confirms(test);
        // The course counts minutes of its own; the clock of the drill is the log's.
        let minutes = self.course.minutes;
        self.course.read(&column, reading);
        self.course.minutes = minutes;
        let look = Look {
            column,
            answer: seen.answer,
            before: self.decided.clone(),
            minutes: minutes + test.minutes - self.decided.minutes,
            confirms,
        };
        let words = seen_words(circuit, test, &seen.words);
        told.lines.push(words);
        self.note(What::Look(look), title, seen.words, test.minutes);
        self.decided = self.course.clone();
        Ok(told)
    }

    /// The look is one at the complaint itself.
    fn confirms(&self, test: &Test) -> bool {
        sights(self.study.circuit(), self.study.work()).iter().any(|(sight, _)| sight.id == test.id)
    }

    /// Cranking counts: what is against another five seconds of it.
    fn crank(&mut self, setup: &Setup) -> Result<Option<Danger>, BenchError> {
        let circuit = self.study.circuit();
        let starters =
            circuit.part_ids().filter(|part| circuit.part(*part).kind == Kind::StarterMotor);
        let mut turns = false;
        for part in starters {
            if let Ok(test) = make(circuit, Tester::Watch, Target::Part(part), setup) {
                turns |= self.machine.look(&test)?.level > CRANKS;
            }
        }
        self.cranking = turns;
        if !turns {
            return Ok(None);
        }
        if self.course.minutes - self.cranked_at >= safety::REST_MINUTES {
            self.cranked_seconds = 0.0;
        }
        if self.cranked_seconds + safety::CRANKING_SECONDS > safety::MOST_CRANKING_SECONDS {
            return Ok(Some(Danger::NoRest));
        }
        self.cranked_seconds += safety::CRANKING_SECONDS;
        self.cranked_at = self.course.minutes;
        Ok(None)
    }

    /// Tries what fails, for so many seconds, and looks.
    ///
    /// # Errors
    /// As [`Drill::look`].
    pub fn try_it(&mut self, seconds: f64) -> Result<Told, BenchError> {
        let work = self.study.work();
        let mut setup = self.course.setup.clone();
        setup.positions = self.study.check_setup().positions;
        if !setup.is_whole() {
            return Ok(Told::no("First put back what is parted, lifted, out or off."));
        }
        let mut told = self.go(&setup)?;
        if !told.is_done() {
            return Ok(told);
        }
        if seconds > safety::CRANKING_SECONDS
            && words::may_turn(self.study, &setup, &self.study.prior)
        {
            let stop = self.stop(Danger::TooLong, &format!("Crank for {seconds:.0} s"));
            return Ok(told.and(stop));
        }
        for (sight, _) in sights(self.study.circuit(), work) {
            let target = make(self.study.circuit(), sight.tester, sight.target, &setup);
            if let Ok(test) = target {
                let more = self.take(&test)?;
                told = told.and(more);
            }
        }
        Ok(told)
    }

    /// Names a part as the bad one.
    pub fn claim(&mut self, part: PartId) -> Told {
        let belief = self.course.belief();
        let lineup = self.study.lineup();
        let of_part = |at: &usize| lineup.suspects[*at].part == Some(part);
        let share: f64 = (0..belief.len()).filter(of_part).map(|at| belief[at]).sum();
        let right = self.hidden.iter().any(|id| lineup.suspects[id.index()].part == Some(part));
        let against =
            super::judge::against(&self.course, |at| lineup.suspects[at].part == Some(part));
        let name = self.study.circuit().part(part).name.clone();
        self.note(What::Claim { part, right, share, against }, format!("Named: {name}"), "", 0.0);
        Told::line(format!("Noted: you say it is the {name}. Mend it and prove it."))
    }

    /// Mends or renews a part.
    ///
    /// # Errors
    /// Where the machine has no operating point then.
    pub fn mend(&mut self, fix: FixId) -> Result<Told, BenchError> {
        let circuit = self.study.circuit();
        let repair = &self.study.lineup().fixes[fix.index()];
        if safety::is_on(circuit, &self.course.setup) {
            return Ok(self.stop(Danger::SwitchedOn, &repair.title));
        }
        if repair.ground_off && !self.course.setup.ground_off {
            return Ok(self.stop(Danger::RepairLive, &repair.title));
        }
        let mut lines = self.reach(&self.study.fix_places(repair));
        let right = self.machine.mend(fix, repair.part)?;
        let mend = Mend {
            fix: fix.index(),
            right,
            before: self.decided.clone(),
            minutes: self.course.minutes + repair.minutes - self.decided.minutes,
        };
        self.note(What::Mend(mend), repair.title.clone(), "", repair.minutes);
        self.clear = false;
        lines.push(format!("Done: {} ({} min).", repair.title, words::show(repair.minutes)));
        let fuse = repair.part.is_some_and(|part| is_fuse(circuit, part));
        lines.push(if fuse {
            "The new fuse is in. Whether it stays whole, the proof will tell: `prove`.".to_owned()
        } else {
            "Whether that was it, the proof will tell: `prove`.".to_owned()
        });
        if words::may_turn(self.study, &self.study.check_setup(), &self.study.prior) {
            lines.push(
                "Somebody may have come near meanwhile: `clear` before it may crank.".to_owned(),
            );
        }
        Ok(Told { lines, ..Told::default() })
    }

    /// Tries everything that should work, in the safe order.
    ///
    /// # Errors
    /// Where a setup has no operating point.
    pub fn prove(&mut self) -> Result<Told, BenchError> {
        let check = self.study.check_setup();
        let mut told = self.go(&check)?;
        if !told.is_done() {
            return Ok(told);
        }
        let circuit = self.study.circuit();
        let mut passed = true;
        let mut seen = Vec::new();
        for (work, looks, works) in self.machine.try_all(self.study.complaint)? {
            passed &= works;
            for (test, look) in looks {
                let named = seen_words(circuit, &test, &look.words);
                let words = format!(
                    "{}: {}",
                    capital(&circuit.works[work].name),
                    named.trim_end_matches('.')
                );
                seen.push(words);
            }
        }
        let tried = self.log.iter().rev().find_map(|entry| match &entry.what {
            What::Proof { .. } => Some(None),
            What::Mend(mend) => Some(Some(mend.fix)),
            _ => None,
        });
        let minutes = self.study.check_minutes();
        self.note(
            What::Proof { passed },
            "The proof: all that should work",
            seen.join("; "),
            minutes,
        );
        let last = circuit.works.iter().rev().find(|work| work.id != self.study.work().id);
        self.course.setup = last.map_or(check, |work| Setup::for_work(circuit, work));
        if let Some(fix) = tried.flatten().filter(|_| !passed) {
            self.course.fixes.push((fix, false));
        }
        self.decided = self.course.clone();
        told.lines.extend(seen.into_iter().map(|line| format!("{line}.")));
        told.lines.push(if passed {
            "Everything does what it should. `done` ends the drill.".to_owned()
        } else {
            "It is not as it should be: go on looking.".to_owned()
        });
        Ok(told)
    }

    /// Notes a hint.
    pub fn hint_given(&mut self, words: &str) {
        self.note(What::Hint, "Asked for a hint", words, 0.0);
    }

    /// Notes what was foretold of a look.
    pub fn foretold(&mut self, right: bool, likeliest: bool, words: &str) {
        self.note(What::Foretold { right, likeliest }, format!("Foretold: {words}"), "", 0.0);
    }

    /// Notes which parts were named as open.
    pub fn named(&mut self, set: super::open_set::OpenSet) {
        let words = format!(
            "{} right, {} forgotten, {} too many",
            set.hits.len(),
            set.omitted.len(),
            set.extra.len()
        );
        self.note(What::Named(set), "Named what is still open", words, 0.0);
    }

    /// The starter has turned in the last look.
    pub fn is_cranking(&self) -> bool {
        self.cranking
    }
}

/// A machine on which the complaint shows: within its tolerances, or as filed.
fn machine(study: &Study, setting: Setting, hidden: &[SuspectId]) -> Result<Machine, BenchError> {
    let misses = f64::from(level(setting.level).misses_percent) / 100.0;
    let plan =
        |seed| Plan { circuit: study.circuit(), lineup: study.lineup(), hidden, seed, misses };
    let steady = hidden.iter().all(|id| study.lineup().suspects[id.index()].shows >= 1.0);
    for draw in 0..DRAWS {
        // Looked at with another machine of the same draw, so that no look is used up.
        let seed = setting.seed.wrapping_mul(DRAWS).wrapping_add(draw);
        let works = Machine::new(plan(seed))?.try_all(study.complaint)?;
        if !steady || works.first().is_some_and(|(_, _, works)| !works) {
            return Machine::new(plan(seed));
        }
    }
    Machine::nominal(plan(setting.seed))
}

/// What was seen, as a sentence: `The lamp glows dimly.`
pub fn seen_words(circuit: &crate::circuit::Circuit, test: &Test, seen: &str) -> String {
    let part = |target: Target| match target {
        Target::Part(part) => circuit.part(part).name.as_str(),
        _ => "machine",
    };
    match (test.tester, test.scale) {
        (Tester::Bulb, _) => format!("The bulb {seen}."),
        (_, Scale::Click) if seen.starts_with("nothing") => {
            format!("Nothing is heard of the {}.", part(test.target))
        }
        (_, Scale::Click) if seen.starts_with("one") => {
            format!("One click is heard from the {}.", part(test.target))
        }
        (Tester::Watch | Tester::Hear, _) => format!("The {} {seen}.", part(test.target)),
        (Tester::Wiggle, _) => format!("What is watched {seen}."),
        (_, Scale::Glow | Scale::Led) => format!("The lamp {seen}."),
        _ => format!("The meter: {seen}."),
    }
}

/// The setup after an act; `None` where it is so already or makes no sense.
fn after(setup: &Setup, act: &Act) -> Option<Setup> {
    let mut next = setup.clone();
    match *act {
        Act::Control(at, position) => *next.positions.get_mut(at)? = position,
        Act::Part(at) => put(&mut next.parted, at),
        Act::Join(at) => next.parted.retain(|one| *one != at),
        Act::Lift(at) => put(&mut next.lifted, at),
        Act::Bolt(at) => next.lifted.retain(|one| *one != at),
        Act::TakeOut(at) => put(&mut next.out, at),
        Act::PutIn(at) => next.out.retain(|one| *one != at),
        Act::Bridge(at) => put(&mut next.bridged, at),
        Act::Unbridge(at) => next.bridged.retain(|one| *one != at),
        Act::Swap(at) => put(&mut next.swapped, at),
        Act::SwapBack(at) => next.swapped.retain(|one| *one != at),
        Act::GroundOff => next.ground_off = true,
        Act::GroundOn => next.ground_off = false,
    }
    (next != *setup).then_some(next)
}

fn put<T: Ord + Copy>(list: &mut Vec<T>, one: T) {
    if !list.contains(&one) {
        list.push(one);
        list.sort_unstable();
    }
}
