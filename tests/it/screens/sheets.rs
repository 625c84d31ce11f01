//! What lies over the step or stands beside it: looking back, the circuit alone, machine and bench, the mouse.

use crossterm::event::{KeyCode, KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
use halfsplit::job::event::{Answer, Event};
use halfsplit::tui::message::{Effect, Message};
use halfsplit::tui::model::{Pane, Sheet};
use halfsplit::tui::update::update;
use ratatui::style::Color;

use super::{ASCII, NO_COLOR, SUN, Screen, canned, rows, snapshot, words_only};

/// Every size the pictures are held at.
const SIZES: [(u16, u16); 3] = [(80, 24), (100, 30), (60, 20)];

#[test]
fn sheets_at_every_size() {
    for (key, name) in [('h', "back"), ('v', "whole"), ('m', "machine")] {
        for (columns, lines) in SIZES {
            let mut screen = Screen::new(vec![canned::fixing()], (columns, lines));
            screen.types(&key.to_string());
            words_only(&format!("sheet_{name}_{columns}x{lines}"), &screen);
        }
        let mut screen = Screen::new(vec![canned::fixing()], (80, 24));
        screen.types(&key.to_string());
        assert!(rows(&screen.picture(ASCII)).iter().all(|row| row.is_ascii()), "{name}");
        snapshot(&format!("sheet_{name}_no_color"), &screen, NO_COLOR);
    }
}

#[test]
fn steps_at_a_hundred_columns() {
    for (name, standing) in [
        ("volts", canned::measuring()),
        ("ranges", canned::in_ranges()),
        ("fix", canned::fixing()),
        ("cured", canned::cured()),
        ("stuck", canned::stuck()),
    ] {
        words_only(&format!("{name}_100x30"), &Screen::new(vec![standing], (100, 30)));
    }
}

#[test]
fn one_looks_back_from_step_to_step() {
    let mut screen = Screen::new(vec![canned::fixing()], (80, 24));
    screen.types("h");
    assert!(screen.text().contains("step 3 of 3"));
    screen.press(KeyCode::Left);
    screen.answer();
    assert!(screen.text().contains("step 2 of 3"));
    for _ in 0..5 {
        screen.press(KeyCode::Left);
        screen.answer();
    }
    assert!(screen.text().contains("step 1 of 3"));
    assert_eq!(screen.notice(), "This is the first step.");
    screen.press(KeyCode::Esc);
    assert!(matches!(screen.model.sheet, Sheet::None));
    assert!(screen.bench.events.is_empty(), "looking back changes nothing");
}

#[test]
fn the_circuit_alone_shows_more_or_less() {
    let mut screen = Screen::new(vec![canned::testing()], (80, 24));
    screen.types("v");
    assert!(screen.text().contains("12.4 V") && screen.text().contains("right handlebar"));
    screen.types("--");
    assert!(!screen.text().contains("RD/YE"), "wires without suspicion are left out");
    assert!(screen.text().contains("start button"));
    screen.types("v");
    assert!(screen.text().contains("PRESS"));
}

#[test]
fn what_is_told_of_the_machine_is_recorded() {
    let mut screen = Screen::new(vec![canned::testing(), canned::fixing()], (80, 24));
    screen.types("mmeter");
    screen.enter();
    let told = Event::Equipped { tester: "meter".to_owned(), at_hand: false };
    assert_eq!(screen.bench.events, [told]);
    assert_eq!(screen.notice(), "Kept: digital meter: not at hand. u takes it back.");
}

#[test]
fn what_was_taken_back_counts_again() {
    let mut screen = Screen::new(vec![canned::testing(), canned::fixing()], (80, 24));
    screen.types("du");
    assert!(screen.text().contains("Lamp from C2"));
    screen.types("r");
    assert!(screen.text().contains("PROVE"));
    assert_eq!(screen.notice(), "Counts again.");
    screen.types("r");
    assert_eq!(screen.notice(), "Nothing was taken back that could count again.");
}

#[test]
fn the_card_is_written_at_the_end() {
    let mut screen = Screen::new(vec![canned::cured()], (80, 24));
    screen.types("c");
    assert_eq!(screen.notice(), "The job card is in ~/jobs/marlock-3.html");
    assert!(screen.bench.events.is_empty());
}

#[test]
fn a_number_nobody_would_show_is_asked_about_once() {
    let mut screen = Screen::new(vec![canned::measuring(), canned::fixing()], (80, 24));
    screen.types("5");
    screen.enter();
    assert!(screen.bench.events.is_empty());
    assert_eq!(
        screen.notice(),
        "5 V? Hardly anything suspected would show that. Entered again it is kept."
    );
    screen.enter();
    let reading = Event::Reading { test: "volts.battery".to_owned(), answer: Answer::Number(5.0) };
    assert_eq!(screen.bench.events, [reading]);
}

#[test]
fn a_number_a_thousand_times_off_is_asked_about_by_its_likely_meaning() {
    let mut screen = Screen::new(vec![canned::measuring(), canned::fixing()], (80, 24));
    screen.types("12m");
    screen.enter();
    assert!(screen.notice().contains("Or is it 12 V?"), "{}", screen.notice());
    screen.press(KeyCode::Backspace);
    screen.enter();
    assert_eq!(screen.bench.events.len(), 1, "mended, it is kept without a question");
}

fn mouse(screen: &mut Screen, kind: MouseEventKind, column: u16, row: u16) -> Vec<Effect> {
    let event = MouseEvent { kind, column, row, modifiers: KeyModifiers::NONE };
    update(&mut screen.model, Message::Mouse(event))
}

#[test]
fn a_click_fronts_a_pane_and_the_wheel_scrolls_it() {
    let mut screen = Screen::new(vec![canned::testing()], (80, 16));
    mouse(&mut screen, MouseEventKind::ScrollDown, 70, 8);
    assert!(screen.model.scroll[Pane::Circuit.index()].is_some_and(|top| top > 0));
    mouse(&mut screen, MouseEventKind::Down(MouseButton::Left), 70, 8);
    assert_eq!(screen.model.pane, Pane::Circuit);
    assert!(screen.bench.events.is_empty(), "the mouse enters nothing");
}

#[test]
fn in_the_sun_all_is_black_on_white() {
    let screen = Screen::new(vec![canned::testing()], (80, 24));
    for cell in &screen.picture(SUN).content {
        assert_eq!((cell.fg, cell.bg), (Color::Black, Color::White));
    }
}
