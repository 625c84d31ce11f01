//! The real program in a real terminal.

mod broken;
mod moments;
pub mod pty;

use std::path::Path;

use pty::{Pty, folder};

/// A small circuit, so that nobody waits for the reckoning.
fn lamp() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/screens/lamp.yaml");
    path.display().to_string()
}

/// A job on the screen, its first step shown.
fn find(home: &Path, window: (u16, u16), more: &[&str]) -> Pty {
    let circuit = lamp();
    let args = [&["find", circuit.as_str(), "--straight", "--job", "lamp.job"], more].concat();
    let pty = Pty::start(&args, window, home);
    pty.wait_for("PRESS");
    pty
}

#[test]
fn help_needs_no_screen() {
    let pty = Pty::start(&["--help"], (80, 24), &folder("help"));
    let (status, shown) = pty.wait_for_end();
    assert!(status.success());
    assert!(shown.contains("find"), "{shown}");
}

#[test]
fn a_job_survives_resizing_and_is_left_with_q() {
    let home = folder("resize");
    let mut pty = find(&home, (80, 24), &[]);
    pty.resize((60, 20));
    pty.wait_for("[Step]");
    pty.resize((30, 9));
    pty.wait_for("needs 40 columns");
    pty.resize((120, 40));
    pty.wait_for("supply");
    pty.keys("?");
    pty.wait_for("Keys here");
    pty.keys("q");
    pty.wait_without("Keys here");
    pty.keys("q");
    pty.wait_for("Leave?");
    pty.keys("q");
    let (status, shown) = pty.wait_for_end();
    assert!(status.success(), "{status:?}");
    assert!(shown.contains("lamp.job"), "it says where the job is kept: {shown}");
}

#[test]
fn keys_after_a_resize_arrive_one_by_one() {
    let home = folder("keys");
    let mut pty = find(&home, (80, 24), &[]);
    pty.keys("n");
    pty.wait_for("A note into the job");
    let mut typed = String::new();
    for (position, key) in "abcdefghijklmnopqrstuvwxyz".chars().enumerate() {
        pty.resize((if position % 2 == 0 { 90 } else { 80 }, 24));
        pty.keys(&key.to_string());
        typed.push(key);
        pty.wait_for(&format!("NOTE  {typed}"));
    }
    pty.keys("\r");
    pty.wait_for("Note kept.");
}

#[test]
fn a_reading_is_kept_undone_and_kept_after_a_kill() {
    let home = folder("kill");
    let mut pty = find(&home, (80, 24), &[]);
    pty.keys("0.02\r");
    pty.wait_for("FOUND 1 ");
    pty.keys("u");
    pty.wait_for("FOUND nothing yet");
    pty.keys("12.5\r");
    pty.wait_for("FOUND 1 ");
    pty.wait_without("working");
    pty.signal("KILL");
    drop(pty);
    let pty = Pty::start(&["find", "--resume", "lamp.job"], (80, 24), &home);
    pty.wait_for("FOUND 1 ");
    pty.wait_for("12.5 V");
}

#[test]
fn ctrl_z_gives_the_terminal_back_and_fg_takes_it_again() {
    let home = folder("stop");
    let mut pty = find(&home, (80, 24), &[]);
    for (by_key, window) in [(true, (100, 30)), (false, (80, 24))] {
        if by_key {
            pty.keys("\x1a");
        } else {
            pty.signal("TSTP");
        }
        pty.wait_until_stopped();
        pty.wait_until_given_back();
        pty.resize(window);
        pty.signal("CONT");
        pty.wait_for("PRESS");
        pty.keys("?");
        pty.wait_for("Keys here");
        pty.keys("?");
        pty.wait_without("Keys here");
    }
}

#[test]
fn ctrl_c_and_signals_leave_a_sane_terminal() {
    for leave in ["\x03", "TERM", "HUP", "INT"] {
        let home = folder("leave");
        let mut pty = find(&home, (80, 24), &[]);
        pty.keys("n");
        pty.wait_for("A note into the job");
        if leave.len() == 1 {
            pty.keys(leave);
        } else {
            pty.signal(leave);
        }
        let (_, shown) = pty.wait_for_end();
        assert!(shown.contains("lamp.job"), "after {leave:?}: {shown}");
    }
}

#[test]
fn without_color_and_in_ascii_it_says_the_same() {
    let home = folder("ascii");
    let pty = find(&home, (80, 24), &["--ascii", "--color", "never"]);
    let shown = pty.shown();
    assert!(shown.is_ascii(), "{shown}");
    assert!(shown.contains("=+= supply"), "{shown}");
}
