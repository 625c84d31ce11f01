//! What is to be planned: suspicion, tests, fixes, what they cost and when the job is done.

use super::action::Action;
use super::bit_set::BitSet;

/// A diagnosis as the planner sees it: numbers only.
///
/// Hypotheses are exclusive: exactly one is true. A test shows one of its outcomes, with a probability
/// that depends on the true hypothesis alone; given the hypothesis, outcomes of different tests are
/// independent. A test or fix may be used once: its error is taken to persist, so that doing the same
/// again would tell nothing new (methods of Jia, Navidi, Nagarajan & Ravi 2019 for persistent noise).
///
/// A fix is followed at once by its check, which shows whether the machine works. A job with the goal
/// [`Goal::Repair`] ends when a check, or a test's `proof` outcome, says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Probability of each hypothesis before anything was seen; used by [`Problem::start`].
    pub priors: Vec<f64>,
    /// The fix class of each hypothesis: hypotheses cured by the same repair share a class.
    pub class_of: Vec<u32>,
    /// What can be tested.
    pub tests: Vec<Test>,
    /// What can be repaired.
    pub fixes: Vec<Fix>,
    /// Sets of fixes (positions in `fixes`) which may be done in this order before one common check, that of the last.
    pub batches: Vec<Vec<usize>>,
    /// Minutes from one mode (row) to another (column); square. A detour should not be shorter than the
    /// way itself: steps that only pass through a mode are not considered.
    pub switch_minutes: Vec<Vec<f64>>,
    /// Minutes to open each place, paid once.
    pub place_minutes: Vec<f64>,
    /// The place, earlier in the list, that has to be open before this one can be; `None` for those
    /// reached at once.
    pub place_parent: Vec<Option<u32>>,
    /// When the job is done.
    pub goal: Goal,
}

/// Something that shows one of several outcomes.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Minutes of the test itself.
    pub minutes: f64,
    /// Mode (how the machine has to stand) it needs and leaves behind.
    pub mode: u32,
    /// Places to be open.
    pub places: Vec<u32>,
    /// Probability of each outcome (first index) under each hypothesis (second index).
    pub likelihood: Vec<Vec<f64>>,
    /// The outcome, if any, that proves the machine repaired.
    pub proof: Option<usize>,
}

/// A repair and the check that proves it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fix {
    /// Minutes of the repair itself.
    pub minutes: f64,
    /// Mode it needs.
    pub mode: u32,
    /// Places to be open.
    pub places: Vec<u32>,
    /// Probability that it cures each hypothesis.
    pub cures: Vec<f64>,
    /// Minutes of the check that follows it.
    pub check_minutes: f64,
    /// Mode the check needs and leaves behind.
    pub check_mode: u32,
}

/// When a job is done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Goal {
    /// A check or a test's proof has shown the machine to work.
    Repair {
        /// Price, in minutes, of handing the job on (it ends there, whatever is wrong); `None` when it cannot be
        /// handed on: then the job also ends, at no price, when nothing is left to try.
        give_up_minutes: Option<f64>,
    },
    /// All hypotheses still possible share a class, or no test is left that could tell them apart.
    Isolate,
    /// Whenever wanted, at a loss when the likeliest class is not the true one.
    StopAnyTime {
        /// The loss, in minutes.
        loss_if_wrong: f64,
    },
}

/// How far a job has come.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Probability of each hypothesis; sums to 1.
    pub belief: Vec<f64>,
    /// The mode the machine stands in.
    pub mode: u32,
    /// Places open already.
    pub opened: BitSet,
    /// Tests not to be proposed any more: done, or refused.
    pub used_tests: BitSet,
    /// Fixes not to be proposed any more: done, or refused.
    pub used_fixes: BitSet,
}

/// Why a problem cannot be planned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProblemError {
    /// A list has not the length that others ask for (one entry for each hypothesis, mode, place).
    #[error("{what} has {found} entries where {expected} are needed")]
    Length {
        /// Which list.
        what: String,
        /// Its length.
        found: usize,
        /// What it should be.
        expected: usize,
    },
    /// A number that is no probability, no price or no sum of probabilities.
    #[error("{what} is {value}, which is no {kind}")]
    Number {
        /// Which number.
        what: String,
        /// Its value.
        value: f64,
        /// `probability`, `price`, `sum of probabilities`.
        kind: &'static str,
    },
    /// A mode, place or fix that does not exist.
    #[error("{what} names {kind} {index}, but there are only {count}")]
    Missing {
        /// Which entry.
        what: String,
        /// `mode`, `place` or `fix`.
        kind: &'static str,
        /// What it names.
        index: usize,
        /// How many there are.
        count: usize,
    },
}

/// How far sums of probabilities may be off.
const SUM_TOLERANCE: f64 = 1e-6;

impl State {
    /// Takes an action into account that was seen with `likelihood` under each hypothesis: belief, mode,
    /// open places and what is used up. `likelihood` of a failed fix is one less what it cures.
    pub fn advance(&mut self, problem: &Problem, action: Action, likelihood: &[f64]) {
        let weights =
            self.belief.iter().zip(likelihood).map(|(share, likelihood)| share * likelihood);
        let weights: Vec<f64> = weights.collect();
        let sum: f64 = weights.iter().sum();
        if sum > 0.0 {
            self.belief = weights.iter().map(|weight| weight / sum).collect();
        }
        let fixes = match action {
            Action::Test(index) => {
                let test = &problem.tests[index];
                self.used_tests.insert(index);
                self.open(problem, &test.places);
                self.mode = test.mode;
                vec![]
            }
            Action::Fix(index) => vec![index],
            Action::Batch(index) => problem.batches[index].clone(),
            Action::Stop => vec![],
        };
        for index in fixes {
            self.used_fixes.insert(index);
            self.open(problem, &problem.fixes[index].places);
            self.mode = problem.fixes[index].check_mode;
        }
    }

    fn open(&mut self, problem: &Problem, places: &[u32]) {
        self.opened.union_with(&with_parents(places, &problem.place_parent));
    }
}

/// The places and those that stand before them; `parents` as in [`Problem::place_parent`].
pub(super) fn with_parents(places: &[u32], parents: &[Option<u32>]) -> BitSet {
    let mut set = BitSet::default();
    for &place in places {
        let mut next = Some(place);
        while let Some(place) = next {
            set.insert(place as usize);
            next = parents[place as usize];
        }
    }
    set
}

impl Problem {
    /// The state before anything was done, with the machine in `mode`.
    pub fn start(&self, mode: u32) -> State {
        let sum: f64 = self.priors.iter().sum();
        State {
            belief: self.priors.iter().map(|prior| prior / sum).collect(),
            mode,
            opened: BitSet::with_room(self.place_minutes.len()),
            used_tests: BitSet::with_room(self.tests.len()),
            used_fixes: BitSet::with_room(self.fixes.len()),
        }
    }

    /// Whether every list has its length, every number is what it should be and every index exists.
    pub fn check(&self) -> Result<(), ProblemError> {
        self.length("class_of", self.class_of.len())?;
        for (index, &prior) in self.priors.iter().enumerate() {
            number(&format!("prior {index}"), prior, Meaning::Probability)?;
        }
        let sum: f64 = self.priors.iter().sum();
        if !(sum > 0.0 && sum.is_finite()) {
            return Err(not(Meaning::Sum, "the sum of the priors", sum));
        }
        self.check_tests()?;
        self.check_fixes()?;
        self.check_setting()
    }

    fn check_tests(&self) -> Result<(), ProblemError> {
        for (index, test) in self.tests.iter().enumerate() {
            let what = format!("test {index}");
            number(&what, test.minutes, Meaning::Price)?;
            self.reachable(&what, &[test.mode], &test.places)?;
            for row in &test.likelihood {
                self.length(&what, row.len())?;
                for &value in row {
                    number(&what, value, Meaning::Probability)?;
                }
            }
            for hypothesis in 0..self.priors.len() {
                let sum: f64 = test.likelihood.iter().map(|row| row[hypothesis]).sum();
                if (sum - 1.0).abs() > SUM_TOLERANCE {
                    let what = format!("{what} under hypothesis {hypothesis}");
                    return Err(not(Meaning::Sum, &what, sum));
                }
            }
            if let Some(outcome) = test.proof {
                present(&what, "outcome", outcome, test.likelihood.len())?;
            }
        }
        Ok(())
    }

    fn check_fixes(&self) -> Result<(), ProblemError> {
        for (index, fix) in self.fixes.iter().enumerate() {
            let what = format!("fix {index}");
            number(&what, fix.minutes, Meaning::Price)?;
            number(&what, fix.check_minutes, Meaning::Price)?;
            self.reachable(&what, &[fix.mode, fix.check_mode], &fix.places)?;
            self.length(&what, fix.cures.len())?;
            for &value in &fix.cures {
                number(&what, value, Meaning::Probability)?;
            }
        }
        for (index, batch) in self.batches.iter().enumerate() {
            for &fix in batch {
                present(&format!("batch {index}"), "fix", fix, self.fixes.len())?;
            }
        }
        Ok(())
    }

    fn check_setting(&self) -> Result<(), ProblemError> {
        for row in &self.switch_minutes {
            if row.len() != self.switch_minutes.len() {
                let (found, expected) = (row.len(), self.switch_minutes.len());
                return Err(ProblemError::Length {
                    what: "a row of switch_minutes".into(),
                    found,
                    expected,
                });
            }
            for &value in row {
                number("a switch between modes", value, Meaning::Price)?;
            }
        }
        for &value in &self.place_minutes {
            number("opening a place", value, Meaning::Price)?;
        }
        if self.place_parent.len() != self.place_minutes.len() {
            let (found, expected) = (self.place_parent.len(), self.place_minutes.len());
            return Err(ProblemError::Length { what: "place_parent".into(), found, expected });
        }
        for (index, parent) in self.place_parent.iter().enumerate() {
            if let Some(parent) = parent {
                // Parents come first, so that there is no circle.
                present(&format!("the parent of place {index}"), "place", *parent as usize, index)?;
            }
        }
        match self.goal {
            Goal::Repair { give_up_minutes: Some(value) }
            | Goal::StopAnyTime { loss_if_wrong: value } => {
                number("the price of the goal", value, Meaning::Price)
            }
            Goal::Repair { give_up_minutes: None } | Goal::Isolate => Ok(()),
        }
    }

    fn length(&self, what: &str, found: usize) -> Result<(), ProblemError> {
        let expected = self.priors.len();
        if found == expected {
            return Ok(());
        }
        Err(ProblemError::Length { what: what.into(), found, expected })
    }

    fn reachable(&self, what: &str, modes: &[u32], places: &[u32]) -> Result<(), ProblemError> {
        for &mode in modes {
            present(what, "mode", mode as usize, self.switch_minutes.len())?;
        }
        for &place in places {
            present(what, "place", place as usize, self.place_minutes.len())?;
        }
        Ok(())
    }
}

#[derive(Clone, Copy)]
enum Meaning {
    Probability,
    Price,
    Sum,
}

fn number(what: &str, value: f64, meaning: Meaning) -> Result<(), ProblemError> {
    let fine = match meaning {
        Meaning::Probability => (0.0..=1.0 + SUM_TOLERANCE).contains(&value),
        Meaning::Price | Meaning::Sum => value >= 0.0 && value.is_finite(),
    };
    if fine { Ok(()) } else { Err(not(meaning, what, value)) }
}

fn not(meaning: Meaning, what: &str, value: f64) -> ProblemError {
    let kind = match meaning {
        Meaning::Probability => "probability",
        Meaning::Price => "price",
        Meaning::Sum => "sum of probabilities",
    };
    ProblemError::Number { what: what.into(), value, kind }
}

fn present(what: &str, kind: &'static str, index: usize, count: usize) -> Result<(), ProblemError> {
    if index < count {
        return Ok(());
    }
    Err(ProblemError::Missing { what: what.into(), kind, index, count })
}
