//! Things that come at any moment: another size, the mouse.

use super::pty::{Pty, folder};
use super::{find, lamp};

#[test]
fn the_window_may_change_at_any_moment() {
    let home = folder("moments");
    let args = ["find", &lamp(), "--job", "lamp.job"];
    // Before anything is on the screen, and in the questions.
    let mut pty = Pty::start(&args, (80, 24), &home);
    pty.resize((70, 22));
    pty.wait_for("What is at hand?");
    pty.resize((30, 9));
    pty.wait_for("needs 40 columns");
    pty.resize((90, 28));
    pty.wait_for("What is at hand?");
    // While the first step is reckoned.
    pty.keys("\x1bOQ");
    for window in [(50, 20), (140, 45), (41, 13), (80, 24)] {
        pty.resize(window);
    }
    pty.wait_for("PRESS");
    // Just behind a key that asks the planner.
    pty.keys("12.5\r");
    pty.resize((44, 14));
    pty.resize((100, 30));
    pty.wait_for("FOUND 1 ");
}

#[test]
fn the_mouse_scrolls_and_fronts_where_it_is_wanted_and_is_let_go() {
    let home = folder("mouse");
    let config = home.join("config/halfsplit");
    std::fs::create_dir_all(&config).unwrap();
    std::fs::write(config.join("settings.yaml"), "mouse: yes\n").unwrap();
    let mut pty = find(&home, (80, 12), &[]);
    pty.wait_for_mouse();
    assert!(!pty.shown().contains('↑'), "{}", pty.shown());
    // The wheel, three lines down over the circuit: SGR mouse reports, columns and lines from 1.
    pty.keys("\x1b[<65;70;6M");
    pty.wait_for("↑");
    pty.keys("\x1b[<64;70;6M");
    pty.wait_without("↑");
    // A click brings the pane to the front: what a key scrolls is the circuit then, not the step.
    pty.keys("\x1b[<0;70;6M\x1b[<0;70;6m");
    pty.keys("\x1b[6~");
    pty.wait_without("supply, work lamp");
    // Given back while the program is stopped, asked for again behind it.
    pty.keys("\x1a");
    pty.wait_until_stopped();
    pty.wait_until_given_back();
    pty.signal("CONT");
    pty.wait_for_mouse();
    pty.keys("qq");
    let (status, shown) = pty.wait_for_end();
    assert!(status.success(), "{shown}");
}

#[test]
fn without_the_setting_the_mouse_is_the_terminals_own() {
    let home = folder("no-mouse");
    let pty = find(&home, (80, 24), &[]);
    assert!(!pty.has_mouse());
}
