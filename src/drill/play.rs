//! The drill: the learner's hands on the played machine, the clock, and the log of it.

use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;

use super::DrillError;
use super::fault::{Setting, hide, level};
use super::log::{Entry, What, capital};
use super::machine::{Machine, Plan};
use super::safety::Danger;
use crate::circuit::PlaceId;
use crate::job::course::Course;
use crate::job::study::Study;
use crate::job::words;
use crate::suspect::SuspectId;
use crate::tester::expectations::BenchError;

mod hands;
pub mod looks;
mod repairs;

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
        Drill::once_more(study, setting, hidden, 0)
    }

    /// Play number `play` on the very machine of a drill, 0 being its own: only what chance has a hand in is
    /// seen otherwise.
    ///
    /// # Errors
    /// Where the circuit cannot be reckoned.
    pub fn once_more(
        study: &'a Study,
        setting: Setting,
        hidden: Vec<SuspectId>,
        play: u64,
    ) -> Result<Drill<'a>, DrillError> {
        let machine = machine(study, setting, &hidden, play)?;
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
fn machine(
    study: &Study,
    setting: Setting,
    hidden: &[SuspectId],
    play: u64,
) -> Result<Machine, BenchError> {
    let misses = f64::from(level(setting.level).misses_percent) / 100.0;
    let (circuit, lineup) = (study.circuit(), study.lineup());
    let plan = |seed, play| Plan { circuit, lineup, hidden, seed, misses, play };
    let steady = hidden.iter().all(|id| study.lineup().suspects[id.index()].shows >= 1.0);
    for draw in 0..DRAWS {
        // Looked at with another machine of the same draw, so that no look is used up.
        let seed = setting.seed.wrapping_mul(DRAWS).wrapping_add(draw);
        let works = Machine::new(plan(seed, 0))?.try_all(study.complaint)?;
        if !steady || works.first().is_some_and(|tried| !tried.works) {
            return Machine::new(plan(seed, play));
        }
    }
    Machine::nominal(plan(setting.seed, play))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{builtin, read};
    use crate::tester::Instrument;

    #[test]
    fn every_play_is_on_the_same_machine_with_luck_of_its_own() {
        let circuit = read::read_text("start-button", builtin::text("start-button").unwrap_or(""));
        let circuit = std::sync::Arc::new(circuit.0.unwrap());
        let study = Study::new(&circuit, &[Instrument::Lamp, Instrument::Meter], 0).unwrap();
        let hidden = study.lineup().find("start-button.open").unwrap();
        let setting = Setting { seed: 3, level: 4, kind: None };
        let play = |play| Drill::once_more(&study, setting, vec![hidden], play).unwrap();
        let parts = |drill: &Drill<'_>| {
            let links = drill.machine.circuit().graph.edge_weights();
            links.map(|link| format!("{:?}", link.element)).collect::<Vec<_>>()
        };
        let at = study.circuit().find_terminal("main-fuse.out").unwrap();
        let volts = |mut drill: Drill<'_>| {
            let target = crate::tester::Target::Point(at);
            drill.look(crate::tester::Tester::Volts, target).unwrap();
            drill.log.pop().unwrap().seen
        };
        let first = parts(&play(0));
        assert!((1..4).all(|number| parts(&play(number)) == first));
        let seen: std::collections::BTreeSet<String> =
            (0..4).map(|number| volts(play(number))).collect();
        assert!(seen.len() > 1, "all plays read {seen:?}");
        assert_eq!(volts(play(2)), volts(play(2)));
    }
}
