//! All that the screen knows; panes read it, `update` changes it.

use tui_input::Input;

use crate::job::shown::past::Past;
use crate::job::standing::{OutcomeLine, Standing, Step, TestStep};

use super::Leave;
use super::bench::{Fact, OtherTest};
use super::keys::Scene;

/// Beside a number that can be typed, more outcomes than this are ranges: a line each, the unlikely
/// ones left to the help.
pub const FEW_OUTCOMES: usize = 4;

/// The state of the screen.
///
/// It holds no terminal, no clock and no job: a [`Standing`] is what the planner thread told last,
/// and stays in front while the next one is being worked out (`working`).
#[derive(Debug, Clone)]
pub struct Model {
    /// The circuit's name.
    pub circuit: String,
    /// The machine.
    pub machine: String,
    /// Where the job is kept, in words; `None` when it is kept nowhere.
    pub kept_at: Option<String>,
    /// Columns and rows of the terminal.
    pub size: (u16, u16),
    /// How the job stands; `None` until the planner has told once.
    pub standing: Option<Standing>,
    /// The step of a test the person chose; it stands before the proposed one.
    pub chosen: Option<TestStep>,
    /// The pane in front: the only one in one column, the one that scrolls in two.
    pub pane: Pane,
    /// What lies over the step.
    pub sheet: Sheet,
    /// A number being typed, as typed.
    pub entry: Option<String>,
    /// A number that was asked about once, as typed: entered again, it is kept.
    pub questioned: Option<String>,
    /// The outcome the arrows stand on.
    pub marked: Option<usize>,
    /// The line above the keys.
    pub notice: Option<Notice>,
    /// What is being kept, in words; said when it is journalled.
    pub keeping: Option<String>,
    /// Something that was not kept; it stays until something is kept again.
    pub alarm: Option<String>,
    /// The planner is at work on the next step.
    pub working: bool,
    /// Keys meant for a step, pressed while the planner was at work; none of them is used unasked.
    pub held: String,
    /// The key that answered last, and when it was pressed last, in milliseconds.
    pub last_answer: Option<(char, u64)>,
    /// First line shown of step, suspects and found, by [`Pane::index`]; the circuit follows the
    /// step while its entry is `None`.
    pub scroll: [Option<u16>; 4],
    /// Number of the latest question to the planner.
    pub generation: u64,
    /// Set when the loop shall end.
    pub leave: Option<Leave>,
}

/// The parts of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pane {
    /// What to do now, and what can be seen.
    Step,
    /// Who is suspected.
    Suspects,
    /// The circuit by its paths.
    Circuit,
    /// What was found so far.
    Found,
}

impl Pane {
    /// All panes, in the order of Tab.
    pub const ALL: [Self; 4] = [Self::Step, Self::Suspects, Self::Circuit, Self::Found];

    /// Its place in [`Model::scroll`].
    pub fn index(self) -> usize {
        self as usize
    }

    /// Its name on the screen.
    pub fn name(self) -> &'static str {
        match self {
            Self::Step => "Step",
            Self::Suspects => "Suspects",
            Self::Circuit => "Circuit",
            Self::Found => "Found",
        }
    }
}

/// What lies over the step.
#[derive(Debug, Clone)]
pub enum Sheet {
    /// Nothing.
    None,
    /// Why is the step passed over?
    Skip {
        /// The reason the arrows stand on.
        marked: usize,
    },
    /// The other tests.
    Others {
        /// What is searched for.
        search: Input,
        /// All of them; `None` until the planner has told.
        list: Option<Vec<OtherTest>>,
        /// The one the arrows stand on, among those that match.
        marked: usize,
    },
    /// Why this step, and what speaks for and against a suspect.
    Why {
        /// The suspect the arrows stand on.
        marked: usize,
        /// What speaks for and against it; `None` until the planner has told.
        lines: Option<Vec<String>>,
    },
    /// What can be told of the machine and the bench.
    Machine {
        /// What is searched for.
        search: Input,
        /// All of it; `None` until the planner has told.
        list: Option<Vec<Fact>>,
        /// The one the arrows stand on, among those that match.
        marked: usize,
    },
    /// A step that was done.
    Back {
        /// Its number in what was found, from 1.
        number: usize,
        /// The step; `None` until the planner has told.
        past: Option<Box<Past>>,
        /// First line shown.
        top: u16,
    },
    /// The circuit alone, on the whole window.
    Whole {
        /// How much of it: 0 devices, 1 wires and joints too, 2 places and volts too.
        detail: u8,
        /// First line shown; follows the step while `None`.
        top: Option<u16>,
    },
    /// A note.
    Note(Input),
    /// The keys of a scene.
    Help {
        /// Whose keys.
        of: Scene,
        /// First line shown.
        top: u16,
        /// What lay there before.
        under: Box<Sheet>,
    },
    /// Whether to leave; it is asked in the notice line.
    Leaving,
}

/// The line above the keys.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// Its words.
    pub words: String,
    /// It asks for something or warns; otherwise it only tells.
    pub asks: bool,
}

impl Model {
    /// A screen that knows nothing of its job yet.
    pub fn new(title: (String, String), kept_at: Option<String>, size: (u16, u16)) -> Self {
        Self {
            circuit: title.0,
            machine: title.1,
            kept_at,
            size,
            standing: None,
            chosen: None,
            pane: Pane::Step,
            sheet: Sheet::None,
            entry: None,
            questioned: None,
            marked: None,
            notice: None,
            keeping: None,
            alarm: None,
            working: true,
            held: String::new(),
            last_answer: None,
            scroll: [None; 4],
            generation: 0,
            leave: None,
        }
    }

    /// What is in front of the person, as far as keys care.
    pub fn scene(&self) -> Scene {
        match self.sheet {
            Sheet::Skip { .. } => Scene::Skip,
            Sheet::Others { .. } => Scene::Others,
            Sheet::Why { .. } => Scene::Why,
            Sheet::Machine { .. } => Scene::Machine,
            Sheet::Back { .. } => Scene::Back,
            Sheet::Whole { .. } => Scene::Whole,
            Sheet::Note(_) => Scene::Note,
            Sheet::Help { .. } => Scene::Help,
            Sheet::Leaving => Scene::Leaving,
            Sheet::None if self.entry.is_some() => Scene::Number,
            Sheet::None => self.base_scene(),
        }
    }

    /// The scene below all sheets.
    pub fn base_scene(&self) -> Scene {
        match self.step() {
            None => Scene::Waiting,
            Some(StepRef::Test(_)) => Scene::Test,
            Some(StepRef::Fix(_)) => Scene::Fix,
            Some(StepRef::Cured(_) | StepRef::Stuck(_)) => Scene::Ended,
        }
    }

    /// The step in front: the chosen test, or what the standing proposes.
    pub fn step(&self) -> Option<StepRef<'_>> {
        step_in_front(self.standing.as_ref(), self.chosen.as_ref())
    }

    /// The test in front, when the step is one.
    pub fn test(&self) -> Option<&TestStep> {
        match self.step() {
            Some(StepRef::Test(step)) => Some(step),
            _ => None,
        }
    }

    /// The outcome of the step in front that this key takes.
    pub fn outcome_by_key(&self, key: char) -> Option<(usize, &OutcomeLine)> {
        let outcomes = &self.test()?.outcomes;
        let exact = outcomes.iter().position(|outcome| outcome.key == key);
        let small = || {
            let key = super::keys::lower(key);
            outcomes.iter().position(|outcome| super::keys::lower(outcome.key) == key)
        };
        let position = exact.or_else(small)?;
        Some((position, &outcomes[position]))
    }

    /// True when the repair is proven.
    pub fn cured(&self) -> bool {
        matches!(self.step(), Some(StepRef::Cured(_)))
    }

    /// Says something in the notice line.
    pub fn tell(&mut self, words: impl Into<String>) {
        self.notice = Some(Notice { words: words.into(), asks: false });
    }

    /// Asks or warns in the notice line.
    pub fn ask(&mut self, words: impl Into<String>) {
        self.notice = Some(Notice { words: words.into(), asks: true });
    }
}

/// The step in front, borrowed.
#[derive(Debug, Clone, Copy)]
pub enum StepRef<'a> {
    /// A reading to take.
    Test(&'a TestStep),
    /// A repair to do.
    Fix(&'a crate::job::standing::FixStep),
    /// The repair is proven.
    Cured(&'a crate::job::standing::Ending),
    /// Nothing is left that would pay.
    Stuck(&'a crate::job::standing::Ending),
}

/// The test the person chose, or else what the standing proposes.
pub fn step_in_front<'a>(
    standing: Option<&'a Standing>,
    chosen: Option<&'a TestStep>,
) -> Option<StepRef<'a>> {
    if let Some(step) = chosen {
        return Some(StepRef::Test(step));
    }
    standing.map(|standing| match &standing.step {
        Step::Test(step) => StepRef::Test(step),
        Step::Fix(step) => StepRef::Fix(step),
        Step::Cured(ending) => StepRef::Cured(ending),
        Step::Stuck(ending) => StepRef::Stuck(ending),
    })
}

/// The facts of a list which contain every word searched for.
pub fn matching_facts<'a>(list: &'a [Fact], search: &str) -> Vec<&'a Fact> {
    let words: Vec<String> = search.split_whitespace().map(str::to_lowercase).collect();
    let has = |fact: &&Fact| {
        let text = fact.now.to_lowercase();
        words.iter().all(|word| text.contains(word))
    };
    list.iter().filter(has).collect()
}

/// The tests of a list which contain every word searched for, with their place in the list.
pub fn matching<'a>(list: &'a [OtherTest], search: &str) -> Vec<&'a OtherTest> {
    let words: Vec<String> = search.split_whitespace().map(str::to_lowercase).collect();
    list.iter()
        .filter(|test| {
            let text = format!("{} {} {}", test.title, test.place, test.id).to_lowercase();
            words.iter().all(|word| text.contains(word))
        })
        .collect()
}
