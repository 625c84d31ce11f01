//! The fault tree walked on the screen: what it shows, what keys do, and the program itself.

use std::path::Path;
use std::sync::Arc;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use halfsplit::plan::Budget;
use halfsplit::report::page::PaperSize;
use halfsplit::report::tree::Limits;
use halfsplit::report::tree::grow::{Growth, grow};
use halfsplit::report::tree::{FaultTree, html, svg};
use halfsplit::tui::ScreenOptions;
use halfsplit::tui::page::Page;
use halfsplit::tui::theme::Theme;
use halfsplit::tui::walk::Screen;
use halfsplit::tui::walk::model::Walk;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::drill::{LAMP, study};
use crate::terminal::pty::{Pty, folder};

fn tree() -> FaultTree {
    let study = Arc::new(study(LAMP));
    grow(&study, &Limits { budget: Budget { nodes: 20 }, cut_below: 0.01 }, &Growth::default())
}

fn screen(tree: &FaultTree) -> Screen<'_> {
    Screen::new(Walk::new(tree), Theme::new(ScreenOptions::default()))
}

fn shown(screen: &Screen<'_>, size: (u16, u16)) -> String {
    let area = Rect::new(0, 0, size.0, size.1);
    let mut buffer = Buffer::empty(area);
    screen.draw(area, &mut buffer);
    let row = |y: u16| (0..size.0).map(|x| buffer[(x, y)].symbol()).collect::<String>();
    (0..size.1).map(row).collect::<Vec<_>>().join("\n")
}

fn press(screen: &mut Screen<'_>, code: KeyCode) -> bool {
    screen.key(KeyEvent::new(code, KeyModifiers::NONE))
}

#[test]
fn branches_are_taken_and_left_and_suspects_close() {
    let tree = tree();
    let mut screen = screen(&tree);
    let open = |screen: &Screen<'_>| {
        screen.walk.suspects().iter().filter(|(_, share)| *share >= 0.01).count()
    };
    let first = shown(&screen, (100, 30));
    assert!(first.contains("SUSPECTS") && first.contains("Step 1"), "{first}");
    let before = open(&screen);
    let total: f64 = screen.walk.suspects().iter().map(|(_, share)| share).sum();
    assert!((0.9..=1.0 + 1e-6).contains(&total), "{total}");
    press(&mut screen, KeyCode::Down);
    let marked = screen.walk.marked();
    assert_eq!(marked, 1);
    press(&mut screen, KeyCode::Enter);
    assert_eq!(screen.walk.depth(), 1);
    assert!(open(&screen) < before, "a branch closes some");
    let second = shown(&screen, (100, 30));
    assert!(second.contains("Seen: ") && second.contains("· closed"), "{second}");
    press(&mut screen, KeyCode::Left);
    assert_eq!(
        (screen.walk.depth(), screen.walk.marked()),
        (0, 1),
        "the branch that was taken is marked"
    );
    for _ in 0..40 {
        press(&mut screen, KeyCode::Right);
    }
    let end = screen.walk.node().unwrap();
    assert!(end.outcomes.is_empty(), "{}", end.title);
    press(&mut screen, KeyCode::Home);
    assert_eq!(screen.walk.depth(), 0);
    assert!(press(&mut screen, KeyCode::Char('q')));
}

#[test]
fn a_digit_takes_a_branch_that_is_there() {
    let tree = tree();
    let mut screen = screen(&tree);
    while screen.walk.outcomes().len() >= 9 {
        press(&mut screen, KeyCode::Right);
    }
    let (branches, depth) = (screen.walk.outcomes().len(), screen.walk.depth());
    assert!(branches > 0);
    press(&mut screen, KeyCode::Char('9'));
    assert_eq!((screen.walk.depth(), screen.walk.marked()), (depth, 0), "there is no ninth");
    press(&mut screen, KeyCode::Char(char::from_digit(branches as u32, 10).unwrap()));
    assert_eq!(screen.walk.depth(), depth + 1);
}

#[test]
fn what_a_long_step_says_to_take_care_of_can_be_got_back() {
    let mut tree = tree();
    tree.nodes[0].cautions = (1..=6).map(|number| format!("caution number {number}")).collect();
    let mut screen = screen(&tree);
    let size = (60, 18);
    for downs in [0, 9] {
        for _ in 0..downs {
            press(&mut screen, KeyCode::Down);
        }
        let text = shown(&screen, size);
        let marked = format!("► {} ", screen.walk.marked() + 1);
        assert!(text.contains(&marked), "what is marked is in sight: {text}");
        assert!(!text.contains("caution number 1") && text.contains('↑'), "{text}");
    }
    for _ in 0..9 {
        press(&mut screen, KeyCode::PageUp);
    }
    let again = shown(&screen, size);
    assert!(again.contains("caution number 1") && !again.contains('↑'), "{again}");
    // One page down moves it, however often it was asked for more than there is above.
    press(&mut screen, KeyCode::PageDown);
    assert!(shown(&screen, size).contains('↑'));
    press(&mut screen, KeyCode::Up);
    let marked = format!("► {} ", screen.walk.marked() + 1);
    assert!(shown(&screen, size).contains(&marked), "it is in sight again");
}

#[test]
fn without_a_terminal_no_tree_is_grown_for_it() {
    // The circuit is looked at only where there is a screen to walk on.
    let words = ["tree", "no-such-circuit", "--walk"];
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    let output = command.args(words).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(told.contains("no terminal for a screen"), "{told}");
}

#[test]
fn it_draws_in_windows_of_any_size() {
    let tree = tree();
    let mut screen = screen(&tree);
    for deep in 0..3 {
        for wide in (0..100).step_by(3) {
            for high in 0..34 {
                shown(&screen, (wide, high));
            }
        }
        press(&mut screen, KeyCode::Right);
        assert!(screen.walk.depth() <= deep + 1);
    }
}

#[test]
fn in_a_narrow_window_the_heading_still_tells_the_step() {
    let mut tree = tree();
    tree.subject.circuit = "A circuit with a name that is longer than any window".to_owned();
    let shown = shown(&screen(&tree), (40, 12));
    let heading = shown.lines().next().unwrap();
    assert!(heading.contains("A circuit") && heading.contains("fails. Step 1"), "{heading}");
}

#[test]
fn paper_is_a4_or_a3_and_a_drawing_fits_on_it() {
    let tree = tree();
    let page = html::write(&tree, PaperSize::A3);
    assert!(page.contains("size: A3") && !html::write(&tree, PaperSize::A4).contains("size: A3"));
    for (sheet, most) in [(PaperSize::A4, 297.0), (PaperSize::A3, 420.0)] {
        let drawing = svg::write(&tree, Some(sheet));
        let (short, long) = sheet.sides_mm();
        let sizes = [format!("size:{long}mm {short}mm"), format!("size:{short}mm {long}mm")];
        assert!(sizes.iter().any(|size| drawing.contains(size)), "a printer is told its paper");
        let drawing = roxmltree::Document::parse(&drawing).unwrap();
        let side = |name: &str| -> f64 {
            let length = drawing.root_element().attribute(name).unwrap();
            length.strip_suffix("mm").unwrap().parse().unwrap()
        };
        let (long, short) = (side("width").max(side("height")), side("width").min(side("height")));
        assert!(
            long <= most && short <= most / std::f64::consts::SQRT_2 + 1.0,
            "{long} by {short}"
        );
        assert!(long > 0.8 * most || short > 0.6 * most, "it uses the sheet: {long} by {short}");
        let wide: f64 = drawing
            .root_element()
            .attribute("viewBox")
            .unwrap()
            .split(' ')
            .nth(2)
            .unwrap()
            .parse()
            .unwrap();
        for words in drawing.descendants().filter(|node| node.has_tag_name("text")) {
            let start: f64 = words.attribute("x").unwrap().parse().unwrap();
            // Letters of 12 px are about half as wide as high; headings may run on.
            let small = words.attribute("class").is_none_or(|class| class != "h");
            let end = start + 6.2 * words.text().unwrap_or("").chars().count() as f64;
            assert!(!small || end <= wide, "{:?} ends at {end} of {wide}", words.text());
        }
    }
}

#[test]
fn a_drawing_on_paper_has_letters_that_can_be_read() {
    let drawn = |more: &[&str]| {
        let words = ["tree", "start-button", "--nodes", "20", "--format", "svg", "--paper", "a3"];
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_halfsplit"))
            .args(words)
            .args(more)
            .output()
            .unwrap();
        let text = String::from_utf8(output.stdout).unwrap();
        let number = |behind: &str| -> f64 {
            let rest = &text[text.find(behind).unwrap() + behind.len()..];
            rest[..rest.find([' ', 'm', '"']).unwrap()].parse().unwrap()
        };
        let letters = 12.0 * number(" width=\"") / number("viewBox=\"0 0 ");
        (letters, String::from_utf8(output.stderr).unwrap())
    };
    let (letters, told) = drawn(&[]);
    assert!(letters >= 1.7, "{letters} mm");
    assert!(told.contains("are cut, so that it can be read"), "{told}");
    let (letters, told) = drawn(&["--cut-below", "0.5"]);
    assert!(letters < 1.7, "what was asked for is drawn: {letters} mm");
    assert!(told.contains("a higher --cut-below makes them larger"), "{told}");
}

#[test]
fn a_tree_is_walked_in_a_terminal() {
    let home = folder("walk");
    let circuit = Path::new(env!("CARGO_MANIFEST_DIR")).join(LAMP).display().to_string();
    let args = ["tree", circuit.as_str(), "--walk", "--nodes", "20", "--cut-below", "1"];
    let mut pty = Pty::start(&args, (80, 24), &home);
    pty.wait_for("SUSPECTS");
    pty.wait_for("Step 1");
    pty.keys("\r");
    pty.wait_for("Step 2");
    pty.wait_for("Seen: ");
    pty.resize((60, 20));
    pty.wait_for("SUSPECTS");
    pty.resize((30, 9));
    pty.wait_for("needs 40 columns");
    pty.resize((80, 24));
    pty.keys("\x1b[D");
    pty.wait_for("Step 1");
    pty.keys("q");
    let (status, _) = pty.wait_for_end();
    assert!(status.success());
}

#[test]
fn what_the_settings_say_of_the_screen_counts_here_and_in_a_drill() {
    let circuit = Path::new(env!("CARGO_MANIFEST_DIR")).join(LAMP).display().to_string();
    let tree = ["tree", circuit.as_str(), "--walk", "--nodes", "20", "--cut-below", "1"];
    let drill = ["drill", circuit.as_str(), "--fault", "work-lamp.open", "--seed", "4"];
    for (name, words, shows) in
        [("walk-ascii", &tree[..], "SUSPECTS"), ("drill-ascii", &drill[..], "CIRCUIT")]
    {
        let home = folder(name);
        let config = home.join("config/halfsplit");
        std::fs::create_dir_all(&config).unwrap();
        std::fs::write(config.join("settings.yaml"), "ascii: yes\n").unwrap();
        let pty = Pty::start(words, (80, 24), &home);
        pty.wait_for(shows);
        assert!(pty.shown().is_ascii(), "{}", pty.shown());
    }
}
