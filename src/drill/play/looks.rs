//! Looks and measurements.

use super::{CRANKS, Drill, Told};
use crate::circuit::{Circuit, Kind};
use crate::drill::log::{Look, What};
use crate::drill::safety::{self, Danger};
use crate::job::entry::answered::evidence;
use crate::job::study::complaint::sights;
use crate::job::{study::turns, words};
use crate::setup::Setup;
use crate::tester::expectations::BenchError;
use crate::tester::make::make;
use crate::tester::scale::Scale;
use crate::tester::{Instrument, Target, Test, Tester};

impl Drill<'_> {
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
            |refusal| match safety::of_refusal(refusal) {
                Some(danger) => self.stop(danger, &words::attempt(circuit, tester, target)),
                None => Told::no(format!("That cannot be: {}.", refusal.words())),
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
        let evidence = evidence(&column, &seen.answer);
        let title = words::title_in_setup(circuit, test);
        let confirms = self.confirms(test);
        // The course counts minutes of its own; the clock of the drill is the log's.
        let minutes = self.course.minutes;
        if let Some((said, outcome, _)) = evidence {
            self.course.read(&column, &said, outcome);
        }
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
        if seconds > safety::CRANKING_SECONDS
            && turns::may_turn(self.study, &setup, &self.study.prior)
        {
            return Ok(self.stop(Danger::TooLong, &format!("Crank for {seconds:.0} s")));
        }
        let mut told = self.go(&setup)?;
        if !told.is_done() {
            return Ok(told);
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
}

/// What was seen, as a sentence: `The lamp glows dimly.`
pub fn seen_words(circuit: &Circuit, test: &Test, seen: &str) -> String {
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
