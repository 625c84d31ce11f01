//! The screen of `find`: pictures at each size, and what keys do to the model.

mod canned;
mod intake;
mod looks;
mod sheets;

use std::fmt::Write as _;

use canned::Canned;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use halfsplit::job::event::{Answer, Event, SkipReason};
use halfsplit::job::standing::Standing;
use halfsplit::tui::bench::Bench;
use halfsplit::tui::message::{Ask, Effect, Message};
use halfsplit::tui::model::{Model, Sheet};
use halfsplit::tui::theme::Theme;
use halfsplit::tui::update::{begin, update};
use halfsplit::tui::{Leave, LeaveCause, Look, ScreenOptions};
use halfsplit::tui::{planner, view};
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

/// A screen with its bench: what the terminal loop does, without threads and without a terminal.
struct Screen {
    model: Model,
    bench: Canned,
    /// Questions the planner has not answered yet.
    waiting: Vec<(u64, Ask)>,
    millis: u64,
}

impl Screen {
    fn new(standings: Vec<Standing>, size: (u16, u16)) -> Self {
        let bench = Canned::new(standings);
        let model = Model::new(bench.title(), bench.kept_at(), size);
        let mut screen = Self { model, bench, waiting: Vec::new(), millis: 0 };
        let effects = begin(&mut screen.model);
        screen.perform(effects);
        screen.answer();
        screen
    }

    fn perform(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            if let Effect::Ask { generation, ask } = effect {
                self.waiting.push((generation, ask));
            }
        }
    }

    /// Lets the planner answer all it was asked.
    fn answer(&mut self) {
        for (generation, ask) in std::mem::take(&mut self.waiting) {
            let mut answers = Vec::new();
            planner::answer(&mut self.bench, ask, &mut |told| answers.push(told), &|| true);
            for told in answers {
                let effects = update(&mut self.model, Message::Told { generation, told });
                self.perform(effects);
            }
        }
    }

    /// Presses a key, the planner not answering yet.
    fn press(&mut self, code: KeyCode) {
        self.millis += 2_000;
        self.press_after(code, 0);
    }

    fn press_after(&mut self, code: KeyCode, millis: u64) {
        self.millis += millis;
        let key = KeyEvent::new(code, KeyModifiers::NONE);
        let effects = update(&mut self.model, Message::Key(key, self.millis));
        self.perform(effects);
    }

    /// Types characters, each answered.
    fn types(&mut self, text: &str) {
        for c in text.chars() {
            self.press(KeyCode::Char(c));
            self.answer();
        }
    }

    fn enter(&mut self) {
        self.press(KeyCode::Enter);
        self.answer();
    }

    fn notice(&self) -> &str {
        self.model.notice.as_ref().map_or("", |notice| notice.words.as_str())
    }

    fn picture(&self, options: ScreenOptions) -> Buffer {
        let area = Rect::new(0, 0, self.model.size.0, self.model.size.1);
        let mut buffer = Buffer::empty(area);
        view::draw(&self.model, &Theme::new(options), area, &mut buffer);
        buffer
    }

    /// The picture as text, without styles.
    fn text(&self) -> String {
        rows(&self.picture(COLOR)).join("\n")
    }
}

const COLOR: ScreenOptions =
    ScreenOptions { color: true, ascii: false, look: Look::Usual, mouse: false };
const NO_COLOR: ScreenOptions = ScreenOptions { color: false, ..COLOR };
const ASCII: ScreenOptions = ScreenOptions { ascii: true, ..NO_COLOR };
const SUN: ScreenOptions = ScreenOptions { look: Look::Sun, ..COLOR };

fn rows(buffer: &Buffer) -> Vec<String> {
    let width = usize::from(buffer.area.width.max(1));
    buffer
        .content
        .chunks(width)
        .map(|cells| cells.iter().map(Cell::symbol).collect::<String>())
        .map(|row| row.trim_end().to_owned())
        .collect()
}

/// The picture as text, each row in bars, then a line for each run of styled cells.
fn dump(buffer: &Buffer) -> String {
    let mut text = String::new();
    for row in rows(buffer) {
        let _ = writeln!(text, "|{row}");
    }
    text.push_str("styles:\n");
    for (y, cells) in buffer.content.chunks(usize::from(buffer.area.width.max(1))).enumerate() {
        let mut x = 0;
        while x < cells.len() {
            let style = cells[x].style();
            let length = cells[x..].iter().take_while(|cell| cell.style() == style).count();
            if let Some(words) = style_words(style) {
                let run: String = cells[x..x + length].iter().map(Cell::symbol).collect();
                let _ = writeln!(text, "{y:>3},{x:<3} {words:<16} {}", run.trim_end());
            }
            x += length;
        }
    }
    text
}

fn style_words(style: Style) -> Option<String> {
    let mut words = Vec::new();
    if let Some(color) = style.fg.filter(|color| *color != ratatui::style::Color::Reset) {
        words.push(color.to_string().to_lowercase());
    }
    if style.add_modifier.contains(Modifier::BOLD) {
        words.push("bold".to_owned());
    }
    if style.add_modifier.contains(Modifier::REVERSED) {
        words.push("reverse".to_owned());
    }
    (!words.is_empty()).then(|| words.join(" "))
}

fn snapshot(name: &str, screen: &Screen, options: ScreenOptions) {
    insta::assert_snapshot!(name, dump(&screen.picture(options)));
}

fn words_only(name: &str, screen: &Screen) {
    hold(name, &screen.text());
}

fn hold(name: &str, text: &str) {
    insta::assert_snapshot!(name, text);
}

#[test]
fn a_test_step_at_every_size() {
    for (columns, lines) in [(80, 24), (100, 30), (140, 45), (60, 20), (39, 11)] {
        let screen = Screen::new(vec![canned::testing()], (columns, lines));
        words_only(&format!("test_{columns}x{lines}"), &screen);
    }
}

#[test]
fn a_test_step_with_styles() {
    let screen = Screen::new(vec![canned::testing()], (80, 24));
    snapshot("test_color", &screen, COLOR);
    snapshot("test_no_color", &screen, NO_COLOR);
    snapshot("test_ascii", &screen, ASCII);
}

#[test]
fn the_other_steps() {
    for (name, standing) in [
        ("volts", canned::measuring()),
        ("ranges", canned::in_ranges()),
        ("fix", canned::fixing()),
        ("cured", canned::cured()),
        ("stuck", canned::stuck()),
    ] {
        words_only(&format!("{name}_80x24"), &Screen::new(vec![standing.clone()], (80, 24)));
        words_only(&format!("{name}_60x20"), &Screen::new(vec![standing], (60, 20)));
    }
}

#[test]
fn the_sheets() {
    for (key, name) in [
        ('s', "skip"),
        ('t', "tests"),
        ('w', "why"),
        ('n', "note"),
        ('?', "help"),
        ('q', "leaving"),
    ] {
        let mut screen = Screen::new(vec![canned::testing()], (80, 24));
        screen.types(&key.to_string());
        words_only(&format!("sheet_{name}_80x24"), &screen);
        screen.model.size = (60, 20);
        words_only(&format!("sheet_{name}_60x20"), &screen);
    }
}

#[test]
fn one_column_shows_a_pane_at_a_time() {
    let mut screen = Screen::new(vec![canned::testing()], (60, 20));
    for name in ["suspects", "circuit", "found"] {
        screen.press(KeyCode::Tab);
        words_only(&format!("pane_{name}_60x20"), &screen);
    }
}

#[test]
fn two_columns_front_a_pane_in_the_place_of_the_step() {
    let mut screen = Screen::new(vec![canned::fixing(), canned::cured()], (80, 24));
    screen.press(KeyCode::Tab);
    words_only("pane_suspects_80x24", &screen);
    screen.press(KeyCode::BackTab);
    screen.press(KeyCode::BackTab);
    words_only("pane_found_80x24", &screen);
    screen.press(KeyCode::Esc);
    assert!(screen.text().contains("PROVE"), "the step is back");
    screen.press(KeyCode::Tab);
    screen.types("c");
    assert!(screen.bench.events.is_empty(), "nothing is entered while its step is out of sight");
    assert!(screen.text().contains("PROVE"));
    screen.types("c");
    assert!(screen.text().contains("CURED"));
}

#[test]
fn an_answer_to_a_step_out_of_sight_is_asked_about() {
    let mut screen = Screen::new(vec![canned::testing(), canned::fixing()], (60, 20));
    screen.press(KeyCode::Tab);
    screen.types("d");
    assert!(screen.bench.events.is_empty());
    assert_eq!(screen.notice(), "`d`? Enter takes it as: lamp stays dark. Esc drops it.");
    screen.enter();
    assert_eq!(screen.bench.events.len(), 1);
}

#[test]
fn a_window_too_small_takes_no_answers_but_lets_go() {
    let mut screen = Screen::new(vec![canned::testing(), canned::fixing()], (39, 24));
    screen.types("dn?");
    screen.enter();
    assert!(screen.bench.events.is_empty() && screen.model.leave.is_none());
    screen.types("q");
    assert!(screen.model.leave.is_some());
}

#[test]
fn without_color_there_is_reverse_video_and_nothing_else() {
    for standing in [canned::testing(), canned::measuring(), canned::fixing(), canned::cured()] {
        let screen = Screen::new(vec![standing], (100, 30));
        for cell in &screen.picture(NO_COLOR).content {
            let style = cell.style();
            let extra = style.add_modifier.difference(Modifier::REVERSED);
            assert!(extra.is_empty() && style.fg == Some(ratatui::style::Color::Reset), "{cell:?}");
        }
    }
}

#[test]
fn ascii_draws_nothing_else() {
    let mut screen = Screen::new(vec![canned::fixing()], (100, 30));
    for key in ['w', 'w', '?'] {
        assert!(rows(&screen.picture(ASCII)).iter().all(|row| row.is_ascii()));
        screen.types(&key.to_string());
    }
}

#[test]
fn every_size_draws() {
    let standings = [canned::testing(), canned::measuring(), canned::fixing(), canned::stuck()];
    for (standing, keys) in standings.into_iter().zip(["t", "1", "s", "?"]) {
        let mut screen = Screen::new(vec![standing], (80, 24));
        for keys in ["", keys] {
            screen.types(keys);
            for columns in 0..90 {
                for lines in 0..30 {
                    update(&mut screen.model, Message::Resized(columns, lines));
                    screen.picture(COLOR);
                }
            }
        }
    }
}

#[test]
fn a_picture_may_be_smaller_than_its_place() {
    let screen = Screen::new(vec![canned::testing()], (80, 24));
    let mut buffer = Buffer::empty(Rect::new(0, 0, 50, 15));
    view::draw(&screen.model, &Theme::new(COLOR), Rect::new(0, 0, 80, 24), &mut buffer);
}

#[test]
fn one_key_records_what_was_seen() {
    let mut screen =
        Screen::new(vec![canned::testing(), canned::fixing(), canned::cured()], (80, 24));
    screen.types("D");
    let reading = Event::Reading {
        test: "lamp.C2-loom-side.key-on".to_owned(),
        answer: Answer::Named("dark".to_owned()),
    };
    assert_eq!(screen.bench.events, [reading]);
    assert_eq!(screen.notice(), "Kept: lamp stays dark. u takes it back.");
    screen.types("c");
    assert_eq!(
        screen.bench.events[1],
        Event::Tried { fix: "clean-start-button".to_owned(), cured: true }
    );
    assert!(screen.text().contains("CURED"));
    screen.types("u");
    assert!(screen.text().contains("not cured"), "the repair is in front again");
}

#[test]
fn arrows_and_enter_record_too() {
    let mut screen = Screen::new(vec![canned::testing(), canned::fixing()], (80, 24));
    screen.enter();
    assert!(screen.bench.events.is_empty(), "nothing was marked");
    screen.press(KeyCode::Down);
    screen.press(KeyCode::Down);
    screen.enter();
    assert_eq!(
        screen.bench.events,
        [Event::Reading {
            test: "lamp.C2-loom-side.key-on".to_owned(),
            answer: Answer::Named("dim".to_owned()),
        }]
    );
}

#[test]
fn a_number_is_typed_bare_or_with_its_unit() {
    for (typed, value) in [("12.4", 12.4), ("12,4 V", 12.4), ("180m", 0.18)] {
        let mut screen = Screen::new(vec![canned::measuring(), canned::fixing()], (80, 24));
        screen.types(typed);
        screen.enter();
        assert_eq!(
            screen.bench.events,
            [Event::Reading { test: "volts.battery".to_owned(), answer: Answer::Number(value) }]
        );
    }
}

#[test]
fn a_number_that_cannot_be_is_questioned() {
    let mut screen = Screen::new(vec![canned::measuring(), canned::fixing()], (80, 24));
    screen.types("118");
    screen.enter();
    screen.enter();
    assert!(screen.bench.events.is_empty());
    assert_eq!(
        screen.notice(),
        "118 V? Here it can only be 0 to 15 V. Backspace mends it, Esc drops it."
    );
    words_only("questioned_80x24", &screen);
    screen.press(KeyCode::Backspace);
    screen.types(".8");
    screen.enter();
    assert_eq!(screen.bench.events.len(), 1);
    assert!(matches!(
        &screen.bench.events[0],
        Event::Reading { answer: Answer::Number(value), .. } if (value - 11.8).abs() < 1e-9
    ));
}

#[test]
fn a_wrong_key_is_told_the_right_ones() {
    let mut screen = Screen::new(vec![canned::testing()], (80, 24));
    screen.types("z");
    assert_eq!(
        screen.notice(),
        "`z` does nothing here. Keys: l lit, i dim, d dark, s skip, u undo, ? all keys"
    );
    assert!(screen.bench.events.is_empty());
}

#[test]
fn keys_typed_while_working_are_offered_not_used() {
    let mut screen =
        Screen::new(vec![canned::testing(), canned::testing(), canned::fixing()], (80, 24));
    screen.press(KeyCode::Char('l'));
    assert!(screen.text().contains("working"), "the old step stays and says so");
    assert!(screen.text().contains("Lamp from C2"));
    screen.press(KeyCode::Char('d'));
    screen.answer();
    assert_eq!(screen.bench.events.len(), 1, "the early key was not taken for the new step");
    assert_eq!(
        screen.notice(),
        "`d` came before this step did. Enter takes it as: lamp stays dark. Esc drops it."
    );
    screen.enter();
    assert_eq!(screen.bench.events.len(), 2);
}

#[test]
fn an_early_number_waits_for_enter() {
    let mut screen =
        Screen::new(vec![canned::testing(), canned::measuring(), canned::fixing()], (80, 24));
    screen.press(KeyCode::Char('l'));
    screen.press(KeyCode::Char('1'));
    screen.press(KeyCode::Char('2'));
    screen.answer();
    assert_eq!(screen.bench.events.len(), 1);
    screen.types(".6");
    screen.enter();
    assert_eq!(
        screen.bench.events[1],
        Event::Reading { test: "volts.battery".to_owned(), answer: Answer::Number(12.6) }
    );
}

#[test]
fn a_key_that_bounces_answers_once() {
    let mut screen =
        Screen::new(vec![canned::testing(), canned::testing(), canned::fixing()], (80, 24));
    screen.press(KeyCode::Char('l'));
    screen.answer();
    for _ in 0..5 {
        screen.press_after(KeyCode::Char('l'), 500);
        screen.answer();
    }
    assert_eq!(screen.bench.events.len(), 1, "a key held down is one answer");
    screen.press(KeyCode::Char('l'));
    screen.answer();
    assert_eq!(screen.bench.events.len(), 2, "pressed again later it is another");
}

#[test]
fn undo_while_working_takes_back_what_is_being_kept() {
    let mut screen = Screen::new(vec![canned::testing(), canned::fixing()], (80, 24));
    screen.press(KeyCode::Char('d'));
    screen.press(KeyCode::Char('u'));
    screen.answer();
    assert!(screen.text().contains("Lamp from C2"));
    assert!(!screen.model.working);
}

#[test]
fn skipping_asks_for_the_reason() {
    for (key, because) in
        [('1', SkipReason::CannotReach), ('2', SkipReason::NoTester), ('3', SkipReason::NotThis)]
    {
        let mut screen = Screen::new(vec![canned::testing(), canned::fixing()], (80, 24));
        screen.types("s");
        screen.types(&key.to_string());
        let test = "lamp.C2-loom-side.key-on".to_owned();
        assert_eq!(screen.bench.events, [Event::Skipped { test, because }]);
    }
    let mut screen = Screen::new(vec![canned::fixing(), canned::testing()], (80, 24));
    screen.types("s1");
    assert_eq!(screen.bench.events, [Event::FixSkipped { fix: "clean-start-button".to_owned() }]);
}

#[test]
fn another_test_is_found_by_typing() {
    let mut screen = Screen::new(vec![canned::testing(), canned::fixing()], (80, 24));
    screen.types("tbattery meter");
    words_only("tests_searched_80x24", &screen);
    screen.enter();
    assert_eq!(screen.bench.events, [Event::Chose { test: "volts.battery".to_owned() }]);
    assert!(screen.text().contains("Meter across the battery"));
    screen.types("f");
    assert_eq!(
        screen.bench.events[1],
        Event::Reading {
            test: "volts.battery".to_owned(),
            answer: Answer::Named("full".to_owned()),
        }
    );
}

#[test]
fn why_tells_what_speaks_for_and_against() {
    let mut screen = Screen::new(vec![canned::testing()], (80, 24));
    screen.types("w");
    screen.press(KeyCode::Down);
    screen.answer();
    assert!(screen.text().contains("for bar-ground.open: reading 1"));
    screen.press(KeyCode::Esc);
    assert!(matches!(screen.model.sheet, Sheet::None));
}

#[test]
fn a_note_goes_into_the_job_and_leaves_the_step() {
    let mut screen = Screen::new(vec![canned::testing(), canned::fixing()], (80, 24));
    screen.types("nquick? yes");
    screen.enter();
    assert_eq!(screen.bench.events, [Event::Note { text: "quick? yes".to_owned() }]);
    assert!(screen.text().contains("Lamp from C2"));
    assert_eq!(screen.notice(), "Note kept.");
}

#[test]
fn leaving_is_asked_once_and_says_where_the_job_is() {
    let mut screen = Screen::new(vec![canned::testing()], (80, 24));
    screen.types("q");
    assert!(screen.notice().contains("~/jobs/marlock-3.job"));
    assert!(screen.model.leave.is_none());
    screen.types("x");
    assert!(screen.model.leave.is_none());
    screen.types("qq");
    assert!(screen.model.leave.is_some_and(|leave| !leave.cured));
}

#[test]
fn a_proven_repair_is_left_with_one_key() {
    let mut screen = Screen::new(vec![canned::cured()], (80, 24));
    screen.types("q");
    assert!(screen.model.leave.is_some_and(|leave| leave.cured));
}

/// Runs a job line by line over a typed text.
fn plain(standings: Vec<Standing>, typed: &[u8]) -> (String, Canned, Leave) {
    let mut bench = Canned::new(standings);
    let mut output = Vec::new();
    let leave = halfsplit::tui::plain::run(&mut bench, &mut &typed[..], &mut output)
        .expect("memory can be written");
    (String::from_utf8(output).expect("text"), bench, leave)
}

#[test]
fn line_by_line_the_whole_job() {
    let standings = vec![canned::testing(), canned::measuring(), canned::fixing(), canned::cured()];
    let typed =
        "suspects\nLIT\nundo\nl\nwhy\nwhy bar\nnote lamp holder is loose\n11.8 V\nx2\nc\nquit\n";
    let (text, bench, leave) = plain(standings, typed.as_bytes());
    insta::assert_snapshot!("plain_job", text);
    assert_eq!(bench.events.len(), 5);
    assert!(leave.cured && leave.cause == LeaveCause::Asked);
}

#[test]
fn line_by_line_knows_the_other_words() {
    let typed = "?\nskip\ncircuit\nfound\ntests meter\ntake 1\n118\nf\nskip\n";
    let (text, bench, leave) = plain(vec![canned::testing(), canned::fixing()], typed.as_bytes());
    insta::assert_snapshot!("plain_words", text);
    assert_eq!(bench.events[0], Event::Chose { test: "volts.battery".to_owned() });
    assert_eq!(bench.events.len(), 3);
    assert_eq!(leave.cause, LeaveCause::InputEnded);
}

#[test]
fn line_by_line_writes_no_control_codes_and_takes_any_bytes() {
    let mut evil = canned::testing();
    evil.setup = "key\u{1b}[2J on\u{202e}\u{7}".to_owned();
    evil.suspects[0].part = "start\r\nbutton".to_owned();
    let mut typed = vec![0xff, 0x1b, b'[', b'A', b'\n'];
    typed.extend(std::iter::repeat_n(b'x', 100_000));
    typed.extend(b"\nl\n");
    let (text, bench, _) = plain(vec![evil, canned::fixing()], &typed);
    assert!(text.chars().all(|c| c == '\n' || !c.is_control()), "{text:?}");
    assert_eq!(bench.events.len(), 1, "the line behind the long one is taken");
}

#[test]
fn line_by_line_a_reader_that_went_away_is_no_failure() {
    struct Gone;
    impl std::io::Write for Gone {
        fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
            Err(std::io::ErrorKind::BrokenPipe.into())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    let mut bench = Canned::new(vec![canned::testing()]);
    let leave = halfsplit::tui::plain::run(&mut bench, &mut &b"l\n"[..], &mut Gone).unwrap();
    assert_eq!(leave.cause, LeaveCause::InputEnded);
}
