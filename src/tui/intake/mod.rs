//! What is asked before the first step: which circuit, what fails and how, what is at hand, what was done.
//!
//! [`Intake`] decides which question comes next and asks a [`Desk`] for its rows; the screen (`screen`) and
//! the line-by-line form (`plain`) both only show the page in front and hand a [`Reply`] back. Every
//! question can be passed over with one key.

pub mod page;
pub mod plain;
pub mod screen;

use page::{Manner, Page, Row};

use super::bench::Bench;
use super::words::clean;

/// Who knows the circuits and begins the job.
///
/// Positions are those of the list given last.
pub trait Desk: Send {
    /// Unfinished jobs that could be gone on with, newest first, a line each.
    fn unfinished(&mut self) -> Vec<String>;

    /// Circuits to choose from; empty when one was chosen before.
    fn circuits(&mut self) -> Vec<Row>;

    /// What the questions are about, once it is known: machine and circuit.
    fn about(&mut self) -> String {
        String::new()
    }

    /// Takes a circuit.
    fn choose(&mut self, circuit: usize);

    /// What the circuit should do and may fail to, a line each.
    fn complaints(&mut self) -> Vec<Row>;

    /// Takes a complaint.
    fn complain(&mut self, complaint: usize);

    /// The testers, and whether each is at hand.
    fn testers(&mut self) -> Vec<(String, bool)>;

    /// Takes what is at hand.
    fn equip(&mut self, at_hand: &[bool]);

    /// The question about how it fails with this number, which follows from the answers to those before: what
    /// is asked, and what may have been seen.
    fn symptom(&mut self, number: usize) -> Option<(String, Vec<String>)>;

    /// Takes an answer to the question with this number.
    fn seen(&mut self, question: usize, option: usize);

    /// Whether there is a battery that could have been measured, and its usual volts.
    fn battery(&mut self) -> Option<f64>;

    /// Takes its volts; empty where they were not measured.
    ///
    /// # Errors
    /// In words, when it cannot have them.
    fn measured(&mut self, typed: &str) -> Result<(), String>;

    /// Parts that may have been replaced lately.
    fn parts(&mut self) -> Vec<Row>;

    /// Takes those that were.
    fn replaced(&mut self, parts: &[bool]);

    /// Begins the job, or goes on with an unfinished one.
    ///
    /// # Errors
    /// In words, when it cannot be.
    fn begin(&mut self, unfinished: Option<usize>) -> Result<Box<dyn Bench>, String>;
}

/// An answer to the page in front.
#[derive(Debug, Clone, PartialEq)]
pub enum Reply {
    /// This row.
    Picked(usize),
    /// Tick or untick this row.
    Ticked(usize),
    /// What is ticked or typed is right.
    Taken(String),
    /// Pass it over.
    Skipped,
    /// Pass over all that is left.
    Straight,
    /// The question before.
    Back,
}

/// What comes of an answer.
pub enum Turn {
    /// The page in front is to be answered.
    Asks,
    /// The answer cannot be, in words.
    Wrong(String),
    /// The job begins.
    Begins(Box<dyn Bench>),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Question {
    Resume,
    Circuit,
    Complaint,
    Kit,
    Symptom(usize),
    Battery,
    Replaced,
    Begin,
}

/// Rows from which on a list is searched instead of numbered.
const LONG: usize = 9;

/// The questions, one after the other.
pub struct Intake {
    desk: Box<dyn Desk>,
    at: Question,
    asked: Vec<Question>,
    /// The page in front.
    pub page: Page,
}

impl Intake {
    /// Before the first question.
    ///
    /// # Errors
    /// In words, when there was nothing to ask and the job cannot begin.
    pub fn new(desk: Box<dyn Desk>) -> Result<(Intake, Turn), String> {
        let page = Page {
            about: String::new(),
            title: String::new(),
            skipped: "",
            rows: Vec::new(),
            manner: Manner::Pick,
            long: false,
        };
        let mut intake = Intake { desk, at: Question::Resume, asked: Vec::new(), page };
        match intake.ask_from(Question::Resume) {
            Turn::Wrong(words) => Err(words),
            turn => Ok((intake, turn)),
        }
    }

    /// Takes an answer in.
    pub fn answer(&mut self, reply: &Reply) -> Turn {
        match reply {
            Reply::Back => self.back(),
            Reply::Straight => self.straight(),
            Reply::Ticked(row) => {
                if let Some(on) = self.page.rows.get_mut(*row).and_then(|row| row.on.as_mut()) {
                    *on = !*on;
                }
                Turn::Asks
            }
            Reply::Picked(row) if *row < self.page.rows.len() => self.picked(*row),
            Reply::Picked(_) => Turn::Wrong("there is no such row".to_owned()),
            Reply::Taken(typed) => self.taken(typed),
            Reply::Skipped if self.at == Question::Circuit => {
                Turn::Wrong("without a circuit nothing can be found; pick the nearest".to_owned())
            }
            Reply::Skipped => {
                self.pass_over();
                self.onward()
            }
        }
    }

    fn picked(&mut self, row: usize) -> Turn {
        match self.at {
            Question::Resume if row + 1 < self.page.rows.len() => return self.begin(Some(row)),
            Question::Circuit => self.desk.choose(row),
            Question::Complaint => self.desk.complain(row),
            Question::Symptom(at) => self.desk.seen(at, row),
            _ => {}
        }
        self.onward()
    }

    fn ticked(&self) -> Vec<bool> {
        self.page.rows.iter().map(|row| row.on == Some(true)).collect()
    }

    /// Tells the desk what passing over the page in front means, in the words of the page: it may have been
    /// answered otherwise before.
    fn pass_over(&mut self) {
        match self.at {
            Question::Complaint => self.desk.complain(0),
            Question::Kit => {
                let ticked = self.ticked();
                self.desk.equip(&ticked);
            }
            Question::Battery => {
                // That nothing was measured cannot be wrong.
                let _fine = self.desk.measured("");
            }
            Question::Replaced => self.desk.replaced(&[]),
            Question::Resume | Question::Circuit | Question::Symptom(_) | Question::Begin => {}
        }
    }

    fn taken(&mut self, typed: &str) -> Turn {
        let ticked = self.ticked();
        match self.at {
            Question::Kit => self.desk.equip(&ticked),
            Question::Replaced => self.desk.replaced(&ticked),
            Question::Battery => {
                if let Err(words) = self.desk.measured(typed) {
                    return Turn::Wrong(words);
                }
            }
            _ => {}
        }
        self.onward()
    }

    fn onward(&mut self) -> Turn {
        self.asked.push(self.at);
        let next = after(self.at);
        self.ask_from(next)
    }

    fn back(&mut self) -> Turn {
        let Some(before) = self.asked.pop() else {
            return Turn::Wrong("this is the first question".to_owned());
        };
        self.ask_from(before)
    }

    /// Goes on to the first step, if a circuit is known.
    fn straight(&mut self) -> Turn {
        if matches!(self.at, Question::Resume | Question::Circuit) {
            let open = self.at == Question::Circuit || !self.desk.circuits().is_empty();
            if open {
                self.ask_from(Question::Circuit);
                return Turn::Wrong("pick a circuit first".to_owned());
            }
        }
        self.pass_over();
        self.begin(None)
    }

    fn begin(&mut self, unfinished: Option<usize>) -> Turn {
        match self.desk.begin(unfinished) {
            Ok(bench) => Turn::Begins(bench),
            Err(words) => Turn::Wrong(clean(&words)),
        }
    }

    /// Shows the first question from here on that has something to ask.
    fn ask_from(&mut self, first: Question) -> Turn {
        let mut at = first;
        loop {
            if at == Question::Begin {
                return self.begin(None);
            }
            if let Some(page) = self.page_of(at) {
                self.at = at;
                let known = !matches!(at, Question::Resume | Question::Circuit);
                let about = if known { self.desk.about() } else { String::new() };
                self.page = cleaned(Page { about, ..page });
                return Turn::Asks;
            }
            at = after_nothing(at);
        }
    }

    fn page_of(&mut self, at: Question) -> Option<Page> {
        let pick = |title: &str, skipped, rows: Vec<Row>| {
            let long = rows.len() > LONG;
            let (about, title) = (String::new(), title.to_owned());
            let page = Page { about, title, skipped, rows, manner: Manner::Pick, long };
            (!page.rows.is_empty()).then_some(page)
        };
        match at {
            Question::Resume => {
                let jobs = self.desk.unfinished();
                let new = (!jobs.is_empty()).then(|| Row::new("begin a new job"));
                let rows = jobs.into_iter().map(Row::new).chain(new).collect();
                pick("A job was left unfinished. Go on with it?", "begins a new job", rows)
            }
            Question::Circuit => {
                let rows = self.desk.circuits();
                let title = "What does not work? Type what it is, or the machine, or a part";
                pick(title, "", rows).map(|page| Page { long: true, ..page })
            }
            Question::Complaint => {
                let rows = self.desk.complaints();
                let rows = if rows.len() > 1 { rows } else { Vec::new() };
                pick("What fails?", "takes the first", rows)
            }
            Question::Symptom(number) => {
                let (question, options) = self.desk.symptom(number)?;
                let rows = options.into_iter().map(Row::new).collect();
                pick(&question, "nobody looked", rows)
            }
            Question::Kit => {
                let row = |(text, on): (String, bool)| Row { text, on: Some(on), ..Row::default() };
                let rows = self.desk.testers().into_iter().map(row).collect();
                pick("What is at hand?", "as ticked", rows)
                    .map(|page| Page { manner: Manner::Tick, ..page })
            }
            Question::Battery => {
                let volts = self.desk.battery()?;
                Some(Page {
                    about: String::new(),
                    title: format!("Battery volts at rest, if measured (usually {volts:.1})"),
                    skipped: "not measured",
                    rows: Vec::new(),
                    manner: Manner::Number,
                    long: false,
                })
            }
            Question::Replaced => {
                let tick = |row: Row| Row { on: Some(false), ..row };
                let rows = self.desk.parts().into_iter().map(tick).collect();
                pick("Was anything replaced lately?", "nothing was", rows).map(|page| Page {
                    manner: Manner::Tick,
                    long: true,
                    ..page
                })
            }
            Question::Begin => None,
        }
    }
}

/// The question after one that was asked.
fn after(at: Question) -> Question {
    match at {
        Question::Resume => Question::Circuit,
        Question::Circuit => Question::Complaint,
        Question::Complaint => Question::Kit,
        Question::Kit => Question::Symptom(0),
        Question::Symptom(number) => Question::Symptom(number + 1),
        Question::Battery => Question::Replaced,
        Question::Replaced | Question::Begin => Question::Begin,
    }
}

/// The question after one that had nothing to ask.
fn after_nothing(at: Question) -> Question {
    if matches!(at, Question::Symptom(_)) { Question::Battery } else { after(at) }
}

fn cleaned(mut page: Page) -> Page {
    page.about = clean(&page.about);
    page.title = clean(&page.title);
    for row in &mut page.rows {
        row.text = clean(&row.text);
        row.detail = clean(&row.detail);
    }
    page
}
