//! Lines of text: wrapping, fitting, margins, and painting them into a rectangle.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use tui_input::Input;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use crate::tui::theme::Theme;

/// Columns of the margin in which a block's word stands.
pub const MARGIN: usize = 6;

/// Breaks text at blanks so that no line is wider than `width` cells; longer words are cut.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = vec![String::new()];
    for word in unbroken(text) {
        let word = word.as_str();
        let used = lines.last().map_or(0, |line| line.width());
        let blank = usize::from(used > 0);
        if used + blank + word.width() <= width {
            if let Some(line) = lines.last_mut() {
                line.push_str(if used > 0 { " " } else { "" });
                line.push_str(word);
            }
            continue;
        }
        let pieces = cut(word, width);
        if used == 0 {
            lines.pop();
        }
        lines.extend(pieces);
    }
    lines
}

/// The words of a text; a per cent sign stays with its number.
fn unbroken(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match words.last_mut() {
            Some(last) if word.starts_with('%') => *last = format!("{last} {word}"),
            _ => words.push(word.to_owned()),
        }
    }
    words
}

fn cut(word: &str, width: usize) -> Vec<String> {
    let mut pieces = vec![String::new()];
    let mut used = 0;
    for c in word.chars() {
        let cells = c.width().unwrap_or(0);
        if used + cells > width && used > 0 {
            pieces.push(String::new());
            used = 0;
        }
        used += cells;
        if let Some(piece) = pieces.last_mut() {
            piece.push(c);
        }
    }
    pieces
}

/// Text in at most `width` cells; what is left out is marked by an ellipsis.
pub fn fit(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_owned();
    }
    let mut kept = String::new();
    let mut used = 0;
    for c in text.chars() {
        let cells = c.width().unwrap_or(0);
        if used + cells + 1 > width {
            break;
        }
        used += cells;
        kept.push(c);
    }
    if width > 0 {
        kept = kept.trim_end().to_owned();
        kept.push('…');
    }
    kept
}

/// Text filled with blanks to `width` cells, or fitted to it.
pub fn pad(text: &str, width: usize) -> String {
    let mut padded = fit(text, width);
    padded.extend(std::iter::repeat_n(' ', width.saturating_sub(padded.width())));
    padded
}

/// A word in the margin, filled up to it.
pub fn margin(label: &str, style: Style) -> Vec<Span<'static>> {
    let rest = MARGIN.saturating_sub(label.width());
    vec![Span::styled(label.to_owned(), style), Span::raw(" ".repeat(rest))]
}

/// A block of text: its word in the margin of the first line, the text wrapped beside it.
pub fn block(label: (&str, Style), text: &str, style: Style, width: usize) -> Vec<Line<'static>> {
    hanging(label, "", text, (style, width))
}

/// Like [`block`], with a lead (`1 `, `! `) that later lines are indented by.
pub fn hanging(
    label: (&str, Style),
    lead: &str,
    text: &str,
    (style, width): (Style, usize),
) -> Vec<Line<'static>> {
    let indent = lead.width();
    let wrapped = wrap(text, width.saturating_sub(MARGIN + indent));
    let rows = wrapped.into_iter().enumerate().map(|(row, words)| {
        let mut spans = margin(if row == 0 { label.0 } else { "" }, label.1);
        let start = if row == 0 { lead.to_owned() } else { " ".repeat(indent) };
        spans.push(Span::styled(start, style));
        spans.push(Span::styled(words, style));
        Line::from(spans)
    });
    rows.collect()
}

/// Numbered lines; the label stands at the first.
pub fn numbered(
    label: (&str, Style),
    texts: &[String],
    style: Style,
    width: usize,
) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    for (position, text) in texts.iter().enumerate() {
        let label = if position == 0 { label } else { ("", label.1) };
        lines.extend(hanging(label, &format!("{} ", position + 1), text, (style, width)));
    }
    lines
}

/// A key that can be pressed, as a cap.
pub fn cap(key: &str, theme: &Theme) -> Span<'static> {
    Span::styled(format!(" {key} "), theme.key())
}

/// A bar of `cells` cells, filled by a share of one.
pub fn meter(share: f64, cells: usize) -> String {
    let halves = (share.clamp(0.0, 1.0) * cells as f64 * 2.0).round() as usize;
    // A suspicion that is shown at all shows at least a trace.
    let halves = if share > 0.0 { halves.max(1) } else { 0 };
    let mut bar = "█".repeat(halves / 2);
    bar.push_str(if halves % 2 == 1 { "▌" } else { "" });
    bar.extend(std::iter::repeat_n(' ', cells.saturating_sub(halves.div_ceil(2))));
    bar
}

/// Paints lines from the `top`-th on; when lines are left over, the last row says so.
pub fn paint(lines: &[Line<'static>], top: u16, area: Rect, buffer: &mut Buffer) {
    let area = area.intersection(buffer.area);
    if area.is_empty() {
        return;
    }
    let shown = lines.iter().skip(usize::from(top)).take(usize::from(area.height));
    for (row, line) in (area.y..area.bottom()).zip(shown) {
        buffer.set_style(Rect { y: row, height: 1, ..area }, line.style);
        buffer.set_line(area.x, row, line, area.width);
    }
    let below = lines.len().saturating_sub(usize::from(top) + usize::from(area.height));
    if below > 0 && area.height > 1 {
        corner(&format!(" ↓ {below} more "), area.bottom() - 1, area, buffer);
    }
    if top > 0 && area.height > 2 {
        corner(&format!(" ↑ {top} more "), area.y, area, buffer);
    }
}

fn corner(words: &str, row: u16, area: Rect, buffer: &mut Buffer) {
    let width = u16::try_from(words.width()).unwrap_or(u16::MAX).min(area.width);
    let style = Style::new().add_modifier(ratatui::style::Modifier::REVERSED);
    buffer.set_stringn(area.right() - width, row, words, usize::from(width), style);
}

/// A line one types into, with a block where the next character goes.
pub fn typed(label: &str, input: &Input, theme: &Theme, width: usize) -> Line<'static> {
    let room = width.saturating_sub(MARGIN + 1).max(1);
    let skipped = input.visual_scroll(room);
    let mut used = 0;
    let visible: String = input
        .value()
        .chars()
        .skip_while(|c| {
            let cells = unicode_width::UnicodeWidthChar::width(*c).unwrap_or(0);
            used += cells;
            used <= skipped
        })
        .collect();
    let at = input.visual_cursor().saturating_sub(skipped);
    let before: String = visible.chars().take(at).collect();
    let under: String = visible.chars().skip(at).take(1).collect();
    let after: String = visible.chars().skip(at + 1).collect();
    let under = if under.is_empty() { " ".to_owned() } else { under };
    let mut spans = margin(label, theme.label());
    spans.push(Span::raw(before));
    spans.push(Span::styled(under, theme.marked()));
    spans.push(Span::raw(fit(&after, room.saturating_sub(at))));
    Line::from(spans)
}

/// How far `count` lines can be scrolled in `height` rows.
pub fn reach(count: usize, height: u16) -> u16 {
    u16::try_from(count).unwrap_or(u16::MAX).saturating_sub(height)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, width: usize, expected: &[&str]) {
        assert_eq!(wrap(text, width), expected);
    }

    #[test]
    fn lines_break_at_blanks_and_long_words_are_cut() {
        check("turn the key on", 8, &["turn the", "key on"]);
        check("abcdefgh ij", 3, &["abc", "def", "gh", "ij"]);
        check("ab abcdef", 4, &["ab", "abcd", "ef"]);
        check("C2 9 %, fuse", 5, &["C2", "9 %,", "fuse"]);
        check("", 4, &[""]);
        check("ab", 0, &["a", "b"]);
    }

    #[test]
    fn fitting_marks_what_is_left_out() {
        assert_eq!(fit("start button", 8), "start b…");
        assert_eq!(fit("start", 8), "start");
        assert_eq!(fit("start", 0), "");
        assert_eq!(pad("ab", 4), "ab  ");
    }

    #[test]
    fn a_meter_has_its_width_and_shows_a_trace() {
        assert_eq!(meter(0.5, 4), "██  ");
        assert_eq!(meter(0.01, 4), "▌   ");
        assert_eq!(meter(1.0, 3), "███");
        assert_eq!(meter(0.0, 3), "   ");
    }
}
