//! Looks: one table of styles, and the way to bare ASCII.

use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier, Style};

use super::{Look, ScreenOptions};

/// The styles of the screen.
///
/// Every meaning has words, a place or reverse video as well, so that the screen reads the same
/// without colour. Only the sixteen colours of the terminal's own palette are used, and of those the
/// ones that stand out on black and on white; nothing is dimmed, because sun washes dim text out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Theme {
    bar: Style,
    label: Style,
    care: Style,
    marked: Style,
    probe: Style,
    suspected: Style,
    live: Style,
    ascii: bool,
    look: Look,
}

impl Theme {
    /// The theme for these options.
    pub fn new(options: ScreenOptions) -> Self {
        // In the sun a colour is only a weaker black.
        let color = options.color && options.look == Look::Usual;
        let plain = Style::new();
        let reverse = plain.add_modifier(Modifier::REVERSED);
        let bold = |style: Style, hue: Option<Color>| {
            let bolder = options.color || options.look == Look::Sun;
            let style = if bolder { style.add_modifier(Modifier::BOLD) } else { style };
            hue.filter(|_| color).map_or(style, |hue| style.fg(hue))
        };
        Self {
            bar: bold(reverse, None),
            label: bold(plain, None),
            care: bold(reverse, Some(Color::Red)),
            marked: reverse,
            probe: bold(reverse, Some(Color::Magenta)),
            suspected: bold(plain, Some(Color::Red)),
            live: bold(plain, Some(Color::Green)),
            ascii: options.ascii,
            look: options.look,
        }
    }

    /// Running text.
    pub fn plain(&self) -> Style {
        Style::new()
    }

    /// The bar with what to do now.
    pub fn bar(&self) -> Style {
        self.bar
    }

    /// The word in the margin that says what a block is.
    pub fn label(&self) -> Style {
        self.label
    }

    /// A caution's margin word, a doubt, a warning.
    pub fn care(&self) -> Style {
        self.care
    }

    /// A key that can be pressed.
    pub fn key(&self) -> Style {
        self.bar
    }

    /// The row the arrows stand on; the pane in front.
    pub fn marked(&self) -> Style {
        self.marked
    }

    /// Where the probe touches.
    pub fn probe(&self) -> Style {
        self.probe
    }

    /// The meter of a suspicion of this share.
    pub fn suspicion(&self, share: f64) -> Style {
        if share >= 0.1 { self.suspected } else { Style::new() }
    }

    /// A conductor that would have volts on it.
    pub fn live(&self) -> Style {
        self.live
    }

    /// Gives a finished picture the paper of its look, and makes it plain ASCII when the person asked for it.
    pub fn finish(&self, buffer: &mut Buffer) {
        if self.look == Look::Sun {
            buffer.set_style(buffer.area, Style::new().fg(Color::Black).bg(Color::White));
        }
        if !self.ascii {
            return;
        }
        for cell in &mut buffer.content {
            if !cell.symbol().is_ascii() {
                let plain: String = cell.symbol().chars().take(1).map(ascii_cell).collect();
                cell.set_symbol(&plain);
            }
        }
    }
}

/// The nearest ASCII character.
fn ascii_cell(c: char) -> char {
    match c {
        '─' | '━' | '–' | '—' | '−' => '-',
        '═' => '=',
        '│' | '▏' => '|',
        '┃' => 'H',
        '╎' | '┆' | '·' => ':',
        '┬' | '┴' | '├' | '┤' | '╤' | '╧' | '┣' | '┠' | '┼' | '▌' | '▒' => {
            '+'
        }
        '█' | '▓' => '#',
        '░' => '.',
        '●' | '◆' => '@',
        '◄' | '‹' => '<',
        '►' | '›' => '>',
        '↑' => '^',
        '↓' => 'v',
        '…' | '±' => '~',
        'µ' | 'μ' | 'ü' | 'ù' | 'ú' | 'û' => 'u',
        'Ω' | 'ω' => 'R',
        '°' | 'ö' | 'ò' | 'ó' | 'ô' | 'ø' => 'o',
        '×' => 'x',
        '“' | '”' => '"',
        '‘' | '’' => '\'',
        'ä' | 'à' | 'á' | 'â' | 'å' | 'ã' => 'a',
        'é' | 'è' | 'ê' | 'ë' => 'e',
        'Ä' | 'Å' => 'A',
        'Ö' | 'Ø' => 'O',
        'Ü' => 'U',
        'É' => 'E',
        'ß' => 's',
        'ç' => 'c',
        'ñ' => 'n',
        _ => '?',
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ascii_keeps_the_width() {
        let ascii = |c: char| if c.is_ascii() { c } else { ascii_cell(c) };
        let text: String = "┃ 4 Ω – müll ●".chars().map(ascii).collect();
        assert_eq!(text, "H 4 R - mull @");
    }
}
