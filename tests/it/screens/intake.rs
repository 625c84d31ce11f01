//! The questions before the first step, on the screen and line by line.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use halfsplit::tui::bench::Bench;
use halfsplit::tui::intake::page::Row;
use halfsplit::tui::intake::screen::{Outcome, Screen};
use halfsplit::tui::intake::{Desk, Intake, Turn, plain};
use halfsplit::tui::message::Message;
use halfsplit::tui::theme::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::sync::{Arc, Mutex};

use super::canned::{self, Canned};
use super::{ASCII, COLOR, NO_COLOR, dump, hold, rows};

/// A desk that writes down what it is told.
struct Clerk {
    told: Arc<Mutex<Vec<String>>>,
    unfinished: bool,
    about: &'static str,
}

impl Clerk {
    fn note(&self, words: String) {
        self.told.lock().unwrap().push(words);
    }
}

impl Desk for Clerk {
    fn unfinished(&mut self) -> Vec<String> {
        let job = "start-button, begun 2026-03-01 09:12, 3 entries".to_owned();
        self.unfinished.then_some(job).into_iter().collect()
    }

    fn circuits(&mut self) -> Vec<Row> {
        let row = |text: &str, detail: &str, search: &str| Row {
            text: text.to_owned(),
            detail: detail.to_owned(),
            search: search.to_owned(),
            on: None,
        };
        vec![
            row("Start circuit, button to ground", "Marlock 360 twin: cranks", "solenoid"),
            row("Horn with relay", "Bramwick 400 trail: sounds", "horn relay"),
        ]
    }

    fn about(&mut self) -> String {
        self.about.to_owned()
    }

    fn choose(&mut self, circuit: usize) {
        self.note(format!("circuit {circuit}"));
    }

    fn complaints(&mut self) -> Vec<Row> {
        vec![Row::new("`cranks` fails"), Row::new("`stays still` fails")]
    }

    fn complain(&mut self, complaint: usize) {
        self.note(format!("complaint {complaint}"));
    }

    fn testers(&mut self) -> Vec<(String, bool)> {
        vec![("test lamp".to_owned(), true), ("digital meter".to_owned(), false)]
    }

    fn equip(&mut self, at_hand: &[bool]) {
        self.note(format!("kit {at_hand:?}"));
    }

    fn symptom(&mut self, number: usize) -> Option<(String, Vec<String>)> {
        let options = ["nothing is heard", "one click", "chatters"].map(str::to_owned);
        (number == 0).then(|| ("The solenoid, with key on:".to_owned(), options.to_vec()))
    }

    fn seen(&mut self, question: usize, option: usize) {
        self.note(format!("seen {question} {option}"));
    }

    fn battery(&mut self) -> Option<f64> {
        Some(12.6)
    }

    fn measured(&mut self, typed: &str) -> Result<(), String> {
        if typed == "120" {
            return Err("120 V? A battery of this system has 4.8 to 13.8 V at rest".to_owned());
        }
        self.note(format!("battery {typed}"));
        Ok(())
    }

    fn parts(&mut self) -> Vec<Row> {
        vec![Row::new("main fuse"), Row::new("start button")]
    }

    fn replaced(&mut self, parts: &[bool]) {
        self.note(format!("replaced {parts:?}"));
    }

    fn begin(&mut self, unfinished: Option<usize>) -> Result<Box<dyn Bench>, String> {
        self.note(format!("begin {unfinished:?}"));
        Ok(Box::new(Canned::new(vec![canned::testing()])))
    }
}

struct Questions {
    screen: Screen,
    told: Arc<Mutex<Vec<String>>>,
    begun: bool,
}

fn clerk(unfinished: bool) -> (Box<Clerk>, Arc<Mutex<Vec<String>>>) {
    let told = Arc::default();
    let about = "Marlock 360 twin, Start circuit";
    (Box::new(Clerk { told: Arc::clone(&told), unfinished, about }), told)
}

impl Questions {
    fn new(unfinished: bool, size: (u16, u16)) -> Questions {
        let (desk, told) = clerk(unfinished);
        let (intake, _) = Intake::new(desk).unwrap();
        Questions { screen: Screen::new(intake, size), told, begun: false }
    }

    fn press(&mut self, code: KeyCode) {
        self.screen.seen();
        self.press_early(code);
    }

    /// Presses a key before the question in front was painted.
    fn press_early(&mut self, code: KeyCode) {
        let key = KeyEvent::new(code, KeyModifiers::NONE);
        let outcome = self.screen.update(&Message::Key(key, 0));
        self.begun |= matches!(outcome, Outcome::Begins(_));
    }

    fn types(&mut self, text: &str) {
        text.chars().for_each(|c| self.press(KeyCode::Char(c)));
    }

    fn text(&self, size: (u16, u16)) -> String {
        let area = Rect::new(0, 0, size.0, size.1);
        let mut buffer = Buffer::empty(area);
        self.screen.draw(&Theme::new(COLOR), area, &mut buffer);
        rows(&buffer).join("\n")
    }

    fn told(&self) -> Vec<String> {
        self.told.lock().unwrap().clone()
    }
}

#[test]
fn every_question_at_every_size() {
    for size in [(80, 24), (100, 30), (60, 20), (39, 11)] {
        let mut questions = Questions::new(true, (80, 24));
        for name in ["resume", "circuit", "complaint", "kit", "seen", "battery", "replaced"] {
            let (columns, lines) = size;
            hold(&format!("intake_{name}_{columns}x{lines}"), &questions.text(size));
            // Passed over where that can be; a circuit there must be.
            questions.press(if name == "circuit" { KeyCode::Enter } else { KeyCode::Tab });
        }
        assert!(questions.begun);
        // What passing over means is told as it was written on the page.
        assert_eq!(
            questions.told(),
            [
                "circuit 0",
                "complaint 0",
                "kit [true, false]",
                "battery ",
                "replaced []",
                "begin None"
            ]
        );
    }
}

#[test]
fn in_a_narrow_window_what_the_questions_are_about_is_told_to_its_end() {
    let (mut desk, told) = clerk(false);
    desk.about = "Marlock 360 twin, Start circuit, button to ground";
    let (intake, _) = Intake::new(desk).unwrap();
    let mut questions = Questions { screen: Screen::new(intake, (40, 12)), told, begun: false };
    questions.press(KeyCode::Enter);
    let text = questions.text((40, 12));
    assert!(text.contains("Marlock 360 twin") && text.contains("to ground"), "{text}");
}

#[test]
fn every_question_in_every_look() {
    let mut questions = Questions::new(true, (80, 24));
    for name in ["resume", "circuit", "complaint", "kit", "seen", "battery", "replaced"] {
        let picture = |options| {
            let area = Rect::new(0, 0, 80, 24);
            let mut buffer = Buffer::empty(area);
            questions.screen.draw(&Theme::new(options), area, &mut buffer);
            buffer
        };
        hold(&format!("intake_{name}_no_color"), &dump(&picture(NO_COLOR)));
        let ascii = rows(&picture(ASCII)).join("\n");
        assert!(ascii.is_ascii(), "{ascii}");
        hold(&format!("intake_{name}_ascii"), &ascii);
        questions.press(if name == "circuit" { KeyCode::Enter } else { KeyCode::Tab });
    }
}

#[test]
fn all_of_it_is_told_to_the_desk() {
    let mut questions = Questions::new(false, (80, 24));
    questions.types("horn rel");
    questions.press(KeyCode::Enter);
    questions.types("2");
    questions.types("2");
    questions.press(KeyCode::Enter);
    questions.types("3");
    questions.types("120");
    questions.press(KeyCode::Enter);
    assert!(questions.text((80, 24)).contains("4.8 to 13.8 V"), "it is questioned");
    (0..3).for_each(|_| questions.press(KeyCode::Backspace));
    questions.types("12.5");
    questions.press(KeyCode::Enter);
    questions.types("fuse ");
    questions.press(KeyCode::Enter);
    assert!(questions.begun);
    assert_eq!(
        questions.told(),
        [
            "circuit 1",
            "complaint 1",
            "kit [true, true]",
            "seen 0 2",
            "battery 12.5",
            "replaced [true, false]",
            "begin None"
        ]
    );
}

#[test]
fn an_unfinished_job_is_one_key_away_and_so_is_the_first_step() {
    let mut questions = Questions::new(true, (80, 24));
    questions.types("1");
    assert_eq!(questions.told(), ["begin Some(0)"]);
    let mut questions = Questions::new(true, (80, 24));
    questions.press(KeyCode::F(2));
    assert!(!questions.begun, "without a circuit nothing begins");
    questions.press(KeyCode::Enter);
    questions.press(KeyCode::F(2));
    assert!(questions.begun);
}

#[test]
fn a_key_pressed_before_its_question_was_shown_answers_nothing() {
    let mut questions = Questions::new(false, (80, 24));
    questions.press(KeyCode::Enter);
    questions.press_early(KeyCode::Enter);
    assert_eq!(questions.told(), ["circuit 0"], "the complaint was not picked unseen");
    questions.press(KeyCode::Enter);
    assert_eq!(questions.told(), ["circuit 0", "complaint 0"]);
}

#[test]
fn one_goes_back_to_the_question_before() {
    let mut questions = Questions::new(false, (80, 24));
    questions.press(KeyCode::Enter);
    questions.types("1");
    questions.press(KeyCode::Esc);
    assert!(questions.text((80, 24)).contains("What fails?"));
    questions.press(KeyCode::Esc);
    questions.press(KeyCode::Esc);
    assert!(questions.text((80, 24)).contains("This is the first question."));
}

#[test]
fn what_is_ticked_counts_when_the_rest_is_passed_over() {
    for key in [KeyCode::Tab, KeyCode::F(2)] {
        let mut questions = Questions::new(false, (80, 24));
        questions.press(KeyCode::Enter);
        questions.types("1");
        // Tick the meter.
        questions.types("2");
        questions.press(key);
        let told = questions.told();
        assert!(told.contains(&"kit [true, true]".to_owned()), "{key:?}: {told:?}");
    }
}

#[test]
fn what_was_answered_and_is_then_passed_over_is_taken_back() {
    let mut questions = Questions::new(false, (80, 24));
    questions.press(KeyCode::Enter);
    questions.types("2");
    questions.press(KeyCode::Esc);
    questions.press(KeyCode::Tab);
    questions.press(KeyCode::Tab);
    questions.types("1");
    questions.types("12.5");
    questions.press(KeyCode::Enter);
    questions.press(KeyCode::Esc);
    // Nothing typed: not measured, whichever key says so.
    questions.press(KeyCode::Enter);
    questions.press(KeyCode::Esc);
    questions.press(KeyCode::Tab);
    questions.press(KeyCode::Tab);
    assert!(questions.begun);
    assert_eq!(
        questions.told(),
        [
            "circuit 0",
            "complaint 1",
            "complaint 0",
            "kit [true, false]",
            "seen 0 0",
            "battery 12.5",
            "battery ",
            "battery ",
            "replaced []",
            "begin None"
        ]
    );
}

#[test]
fn line_by_line_the_same_questions() {
    let (desk, told) = clerk(false);
    let (mut intake, turn) = Intake::new(desk).unwrap();
    let typed = "horn\n1\n2\n2\n\nxyz\n3\n120\n12.5\nfuse\n1\n\n";
    let mut output = Vec::new();
    let bench = plain::ask(&mut intake, turn, &mut typed.as_bytes(), &mut output).unwrap();
    assert!(bench.is_some());
    hold("intake_plain", &String::from_utf8(output).unwrap());
    assert_eq!(
        *told.lock().unwrap(),
        [
            "circuit 1",
            "complaint 1",
            "kit [true, true]",
            "seen 0 2",
            "battery 12.5",
            "replaced [true, false]",
            "begin None"
        ]
    );
}

#[test]
fn line_by_line_the_end_of_the_input_leaves() {
    let (desk, _) = clerk(false);
    let (mut intake, turn) = Intake::new(desk).unwrap();
    assert!(matches!(turn, Turn::Asks));
    let mut output = Vec::new();
    let bench = plain::ask(&mut intake, turn, &mut &b"1\n"[..], &mut output).unwrap();
    assert!(bench.is_none());
}
