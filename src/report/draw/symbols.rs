//! Our own symbols, after those of IEC 60617, around `x` from `top` to `bottom`.

use maud::{Markup, html};

use super::shape::Shape;

/// Strokes of symbols.
const STROKE: &str = "#14202b";

fn path(d: &str) -> Markup {
    html! { path d=(d) fill="none" stroke=(STROKE) stroke-width="1.5" stroke-linejoin="round" stroke-linecap="round" {} }
}

fn solid(d: &str) -> Markup {
    html! { path d=(d) fill=(STROKE) stroke=(STROKE) stroke-width="1" {} }
}

fn letters(x: f64, y: f64, words: &str) -> Markup {
    html! { text x=(px(x)) y=(px(y + 4.0)) text-anchor="middle" font-size="12" font-weight="bold" { (words) } }
}

/// A number as it stands in the drawing.
pub fn px(units: f64) -> String {
    let text = format!("{units:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// A path of which the numbers are written in pairs, each around (`x`, `y`).
fn around(x: f64, y: f64, pieces: &[(&str, f64, f64)]) -> String {
    let mut d = String::new();
    for (command, right, down) in pieces {
        d.push_str(&format!("{command}{} {}", px(x + right), px(y + down)));
    }
    d
}

/// Half the height of a symbol's own body; its leads bridge the rest.
fn half(shape: Shape) -> f64 {
    match shape {
        Shape::Battery | Shape::Ground => 5.0,
        Shape::Open | Shape::Closed | Shape::Breaker | Shape::Flasher => 10.0,
        Shape::Coil | Shape::CoilDiode | Shape::CoilResistor => 8.0,
        Shape::Diode | Shape::Zener | Shape::Led => 6.0,
        Shape::Pin => 4.0,
        Shape::Wire | Shape::Dot | Shape::Body => 0.0,
        _ => 12.0,
    }
}

/// The symbol in its room.
pub fn symbol(shape: Shape, flipped: bool, x: f64, top: f64, bottom: f64) -> Markup {
    let y = f64::midpoint(top, bottom);
    let reach = half(shape);
    let leads = format!(
        "M{0} {1}V{2}M{0} {3}V{4}",
        px(x),
        px(top),
        px(y - reach),
        px(y + reach),
        px(bottom)
    );
    html! {
        (path(&leads))
        @if flipped {
            g transform=(format!("rotate(180 {} {})", px(x), px(y))) { (body(shape, x, y)) }
        } @else {
            (body(shape, x, y))
        }
    }
}

fn body(shape: Shape, x: f64, y: f64) -> Markup {
    match shape {
        Shape::Wire | Shape::Dot | Shape::Body => html! {},
        Shape::Pin => html! {
            (path(&format!("M{} {}a5.5 5.5 0 0 1 11 0", px(x - 5.5), px(y + 2.0))))
            (solid(&format!("M{} {}h3v5h-3z", px(x - 1.5), px(y - 1.0))))
        },
        Shape::Ground => path(&around(
            x,
            y,
            &[
                ("M", -9.0, -4.0),
                ("L", 9.0, -4.0),
                ("M", -6.0, 0.0),
                ("L", 6.0, 0.0),
                ("M", -3.0, 4.0),
                ("L", 3.0, 4.0),
                ("M", 0.0, -5.0),
                ("L", 0.0, 5.0),
            ],
        )),
        Shape::Open | Shape::Closed | Shape::Breaker | Shape::Flasher => contact(shape, x, y),
        Shape::Lamp | Shape::Motor | Shape::Generator | Shape::Gauge | Shape::Horn => {
            round(shape, x, y)
        }
        Shape::Diode | Shape::Zener | Shape::Led => junction(shape, x, y),
        Shape::Battery => html! {
            (path(&around(x, y, &[("M", -12.0, -5.0), ("L", 12.0, -5.0), ("M", -7.0, -1.6), ("L", 7.0, -1.6),
                ("M", -12.0, 1.8), ("L", 12.0, 1.8)])))
            (solid(&format!("M{} {}h12v2.4h-12z", px(x - 6.0), px(y + 3.6))))
        },
        Shape::Winding => {
            path(&format!("M{} {}{}", px(x), px(y - 12.0), "a4 4 0 0 1 0 8".repeat(3)))
        }
        _ => boxed(shape, x, y),
    }
}

fn rectangle(x: f64, y: f64, wide: f64, tall: f64) -> Markup {
    html! {
        rect x=(px(x - wide / 2.0)) y=(px(y - tall / 2.0)) width=(px(wide)) height=(px(tall)) fill="#fff" stroke=(STROKE) stroke-width="1.5" {}
    }
}

fn boxed(shape: Shape, x: f64, y: f64) -> Markup {
    let coil = matches!(shape, Shape::Coil | Shape::CoilDiode | Shape::CoilResistor);
    let (wide, tall) = match shape {
        _ if coil => (24.0, 16.0),
        Shape::Load | Shape::Unit => (26.0, 24.0),
        Shape::Strap => (8.0, 24.0),
        _ => (10.0, 24.0),
    };
    html! {
        (rectangle(x, y, wide, tall))
        @match shape {
            Shape::Fuse => (path(&around(x, y, &[("M", 0.0, -12.0), ("L", 0.0, 12.0)]))),
            Shape::FusibleLink => (path(&around(x, y, &[("M", 0.0, -12.0), ("L", 0.0, -4.0), ("L", 3.0, 0.0), ("L", -3.0, 3.0), ("L", 0.0, 6.0), ("L", 0.0, 12.0)]))),
            Shape::Heater => (path(&around(x, y, &[("M", -5.0, -6.0), ("L", 5.0, -6.0), ("M", -5.0, 0.0), ("L", 5.0, 0.0), ("M", -5.0, 6.0), ("L", 5.0, 6.0)]))),
            Shape::Sender => (path(&around(x, y, &[("M", -11.0, 9.0), ("L", 11.0, -9.0), ("L", 6.5, -8.5), ("M", 11.0, -9.0), ("L", 8.6, -5.0)]))),
            Shape::Strap => (path(&around(x, y, &[("M", -4.0, -12.0), ("L", 4.0, -4.0), ("L", -4.0, 4.0), ("L", 4.0, 12.0)]))),
            Shape::Unit => (letters(x, y, "U")),
            Shape::CoilDiode => {
                (path(&around(x, y, &[("M", 0.0, -13.0), ("L", -17.0, -13.0), ("L", -17.0, 13.0), ("L", 0.0, 13.0), ("M", -21.0, -4.0), ("L", -13.0, -4.0)])))
                (solid(&around(x, y, &[("M", -21.0, 4.0), ("L", -13.0, 4.0), ("L", -17.0, -3.0), ("Z M", -17.0, -3.0)])))
            },
            Shape::CoilResistor => {
                (path(&around(x, y, &[("M", 0.0, -13.0), ("L", -17.0, -13.0), ("L", -17.0, 13.0), ("L", 0.0, 13.0)])))
                (rectangle(x - 17.0, y, 6.0, 14.0))
            },
            _ => {},
        }
    }
}

fn contact(shape: Shape, x: f64, y: f64) -> Markup {
    let blade: &[(&str, f64, f64)] = if shape == Shape::Closed || shape == Shape::Breaker {
        // Rests against the upper contact.
        &[("M", 0.0, 10.0), ("L", 3.0, -10.0), ("M", 0.0, -10.0), ("L", 6.0, -10.0)]
    } else {
        &[("M", 0.0, 10.0), ("L", -9.0, -7.0)]
    };
    html! {
        (path(&around(x, y, blade)))
        @if shape == Shape::Breaker {
            (path(&around(x, y, &[("M", -4.0, -14.0), ("L", 4.0, -7.0), ("M", 4.0, -14.0), ("L", -4.0, -7.0)])))
        }
        @if shape == Shape::Flasher {
            (path(&around(x, y, &[("M", -20.0, 5.0), ("L", -17.0, 5.0), ("L", -17.0, -3.0), ("L", -13.0, -3.0), ("L", -13.0, 5.0), ("L", -9.0, 5.0)])))
        }
        circle cx=(px(x)) cy=(px(y + 10.0)) r="1.8" fill=(STROKE) {}
        circle cx=(px(x)) cy=(px(y - 10.0)) r="1.8" fill=(STROKE) {}
    }
}

fn round(shape: Shape, x: f64, y: f64) -> Markup {
    let horn = shape == Shape::Horn;
    html! {
        @if horn {
            (path(&around(x, y, &[("M", 0.0, -12.0), ("L", 0.0, 12.0)])))
            path d=(format!("{}L{} {}L{} {}Z", around(x, y, &[("M", -8.0, -5.0), ("L", -2.0, -5.0), ("L", 9.0, -11.0)]), px(x + 9.0), px(y + 11.0), px(x - 2.0), px(y + 5.0)) + &around(x, y, &[("M", -8.0, -5.0), ("L", -8.0, 5.0), ("L", -2.0, 5.0)]))
                fill="#fff" stroke=(STROKE) stroke-width="1.5" stroke-linejoin="round" {}
        } @else {
            circle cx=(px(x)) cy=(px(y)) r="12" fill="#fff" stroke=(STROKE) stroke-width="1.5" {}
        }
        @match shape {
            Shape::Lamp => (path(&around(x, y, &[("M", -8.5, -8.5), ("L", 8.5, 8.5), ("M", 8.5, -8.5), ("L", -8.5, 8.5)]))),
            Shape::Motor => (letters(x, y, "M")),
            Shape::Generator => (letters(x, y, "G")),
            Shape::Gauge => (path(&around(x, y, &[("M", 0.0, 7.0), ("L", 5.0, -7.0), ("L", 1.0, -4.0), ("M", 5.0, -7.0), ("L", 6.5, -2.5)]))),
            _ => {},
        }
    }
}

fn junction(shape: Shape, x: f64, y: f64) -> Markup {
    html! {
        (path(&around(x, y, &[("M", 0.0, -6.0), ("L", 0.0, 6.0)])))
        (solid(&around(x, y, &[("M", -8.0, -6.0), ("L", 8.0, -6.0), ("L", 0.0, 6.0), ("Z M", 0.0, 6.0)])))
        @match shape {
            Shape::Zener => (path(&around(x, y, &[("M", -8.0, 9.0), ("L", -8.0, 6.0), ("L", 8.0, 6.0), ("L", 8.0, 3.0)]))),
            _ => (path(&around(x, y, &[("M", -8.0, 6.0), ("L", 8.0, 6.0)]))),
        }
        @if shape == Shape::Led {
            (path(&around(x, y, &[("M", -9.0, 2.0), ("L", -16.0, 7.0), ("L", -13.0, 7.0), ("M", -9.0, -4.0), ("L", -16.0, 1.0), ("L", -13.0, 1.0)])))
        }
    }
}
