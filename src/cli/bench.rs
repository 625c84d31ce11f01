//! A job with its journal, as the screen needs it.

use std::path::Path;

use super::ahead::Ahead;
use super::keeper::Shared;
use super::{load, write};
use crate::circuit::Kind;
use crate::job::event::Event;
use crate::job::journal::Kept;
use crate::job::shown::past::{Past, look_back};
use crate::job::shown::present::by_worth;
use crate::job::shown::reasons::for_and_against;
use crate::job::standing::{Standing, TestStep};
use crate::job::state::Job;
use crate::job::words;
use crate::plan::{Budget, Progress};
use crate::report::card::{html, sum_up};
use crate::tester::Instrument;
use crate::tui::bench::{Bench, Fact, OtherTest};

/// Tests listed beside the proposed one: all that a search should find.
const OTHERS: usize = 5000;

/// A job with its journal.
pub struct RealBench {
    /// The job.
    pub job: Job,
    /// What keeps it.
    pub keeper: Shared,
    ahead: Ahead,
}

impl RealBench {
    /// A job, and what keeps it.
    pub fn new(job: Job, keeper: Shared) -> RealBench {
        RealBench { job, keeper, ahead: Ahead::default() }
    }

    fn places(&self) -> Vec<Fact> {
        let folded = self.job.folded();
        let places = self.job.study().circuit().places.iter().enumerate();
        let fact = |(at, place): (usize, &crate::circuit::Place)| {
            let holds = !folded.course.unreachable.iter().any(|one| one.index() == at);
            let words = |can| if can { "can be reached" } else { "cannot be reached" };
            Fact {
                now: format!("{}: {}", place.name, words(holds)),
                holds,
                then: words(!holds).to_owned(),
                event: Event::Reach { place: place.id.clone(), can: !holds },
            }
        };
        places.map(fact).collect()
    }

    fn testers(&self) -> Vec<Fact> {
        let folded = self.job.folded();
        let kit = Instrument::KIT.into_iter().filter(|one| self.job.study().kit().contains(one));
        let fact = |one: Instrument| {
            let holds = !folded.course.missing.contains(&one);
            let words = |at_hand| if at_hand { "at hand" } else { "not at hand" };
            Fact {
                now: format!("{}: {}", one.words(), words(holds)),
                holds,
                then: words(!holds).to_owned(),
                event: Event::Equipped { tester: one.id().to_owned(), at_hand: !holds },
            }
        };
        kit.map(fact).collect()
    }

    fn parts(&self) -> Vec<Fact> {
        let circuit = self.job.study().circuit();
        let counting = self.job.counting();
        let replaced = |id: &str| {
            counting.iter().any(|event| matches!(event, Event::Replaced { part } if part == id))
        };
        let parts = circuit.parts.iter().filter(|part| is_device(&part.kind));
        parts
            .filter(|part| !replaced(&part.id))
            .map(|part| Fact {
                now: format!("{}: not replaced lately", part.name),
                holds: false,
                then: "replaced lately".to_owned(),
                event: Event::Replaced { part: part.id.clone() },
            })
            .collect()
    }
}

/// Something that people replace as a whole.
pub fn is_device(kind: &Kind) -> bool {
    !matches!(kind, Kind::Wire { .. } | Kind::Pin { .. } | Kind::Splice | Kind::GroundPoint)
}

impl Bench for RealBench {
    fn standing(&mut self) -> Standing {
        let budget = Budget { nodes: load::STEP_NODES };
        let foreseen = self.ahead.take(&self.job);
        let standing = foreseen.unwrap_or_else(|| self.job.standing(&budget, &Progress::default()));
        // While the person does this step, what may follow it is made ready.
        self.ahead.begin(&self.job, &standing, budget);
        standing
    }

    fn record(&mut self, event: Event) -> Result<(), String> {
        self.job.record(event.clone()).map_err(|error| error.to_string())?;
        self.keeper.with(|keeper| keeper.keep(&event)).unwrap_or(Ok(()))
    }

    fn undo(&mut self) -> Result<bool, String> {
        if !self.job.can_undo() {
            return Ok(false);
        }
        self.record(Event::Undone).map(|()| true)
    }

    fn redo(&mut self) -> Result<bool, String> {
        if !self.job.can_redo() {
            return Ok(false);
        }
        self.record(Event::Redone).map(|()| true)
    }

    fn look_back(&mut self, number: usize) -> Option<Past> {
        look_back(&self.job, number)
    }

    fn facts(&mut self) -> Vec<Fact> {
        [self.places(), self.testers(), self.parts()].concat()
    }

    fn card(&mut self) -> Result<String, String> {
        let written = self.keeper.with(|keeper| {
            let events = keeper.events().to_vec();
            let times = vec![None; events.len()];
            let kept = Kept { header: keeper.header().clone(), events, times, torn: false };
            let path = keeper.path().with_extension("html");
            let card = html::write(&sum_up(&self.job, &kept));
            write::out(Some(Path::new(&path)), false, &card).map_err(|error| error.to_string())?;
            Ok(path.display().to_string())
        });
        written.unwrap_or_else(|| Err("this job is kept nowhere".to_owned()))
    }

    fn others(&mut self) -> Vec<OtherTest> {
        let folded = self.job.folded();
        let circuit = self.job.study().circuit();
        by_worth(&self.job, &folded.course, &folded.course.belief())
            .into_iter()
            .take(OTHERS)
            .map(|(column, worth)| {
                let places: Vec<&str> = column
                    .test
                    .places
                    .iter()
                    .map(|place| circuit.places[place.index()].name.as_str())
                    .collect();
                OtherTest {
                    id: column.test.id.clone(),
                    title: words::title_in_setup(circuit, &column.test),
                    place: places.join(", "),
                    minutes: folded.course.test_minutes(&column.test),
                    worth,
                }
            })
            .collect()
    }

    fn step_for(&mut self, test: &str) -> Option<TestStep> {
        self.job.know(test).ok()?;
        let folded = self.job.folded();
        let belief = folded.course.belief();
        let column = self.job.column(test)?;
        Some(self.job.test_step(&folded.course, &belief, &column, None))
    }

    fn explain(&mut self, suspect: &str) -> Vec<String> {
        for_and_against(&self.job, suspect)
    }

    fn title(&self) -> (String, String) {
        let circuit = self.job.study().circuit();
        (circuit.name.clone(), circuit.machine.clone())
    }

    fn kept_at(&self) -> Option<String> {
        self.keeper.with(|keeper| keeper.kept_at().map(|path| path.display().to_string())).flatten()
    }

    fn trouble(&self) -> Option<String> {
        self.keeper.with(|keeper| keeper.trouble()).flatten()
    }
}
