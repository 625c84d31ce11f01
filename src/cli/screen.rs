//! What every command with a screen asks first: is there a terminal, and how is it to look.

use std::io::IsTerminal;

use super::common_args::{Color, LookOf};
use super::settings::Settings;
use crate::tui::{Look, ScreenOptions};

/// Whether there is a terminal that a screen can be drawn on.
pub fn is_there() -> bool {
    let dumb = std::env::var("TERM").is_ok_and(|term| term == "dumb");
    std::io::stdout().is_terminal() && std::io::stdin().is_terminal() && !dumb
}

/// How the screen looks: as typed, else as the settings say.
pub fn options(
    color: Color,
    ascii: bool,
    look: Option<LookOf>,
    settings: &Settings,
) -> ScreenOptions {
    let look = match look.or(settings.look).unwrap_or_default() {
        LookOf::Usual => Look::Usual,
        LookOf::Sun => Look::Sun,
    };
    let ascii = ascii || settings.ascii == Some(true);
    ScreenOptions { color: colored(color), ascii, look, ..ScreenOptions::default() }
}

/// Whether colours are wanted.
fn colored(color: Color) -> bool {
    match color {
        Color::Auto => std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty()),
        Color::Always => true,
        Color::Never => false,
    }
}
