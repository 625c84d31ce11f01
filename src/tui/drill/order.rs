//! What a typed line asks for.

use super::pick::{self, Pick};
use crate::circuit::{Circuit, Kind, PartId, PlaceId, TerminalId};
use crate::drill::play::Drill;
use crate::setup::bridge;
use crate::setup::moves::Act;
use crate::tester::shows::sense_for;
use crate::tester::{Target, Tester};

/// A line, understood.
#[derive(Debug, Clone, PartialEq)]
pub enum Order {
    /// A hand on the machine.
    Act(Act),
    /// Let go and switch off.
    Off,
    /// Open a place.
    Open(PlaceId),
    /// A look.
    Look(Tester, Target),
    /// Try what fails, for so many seconds.
    Try(f64),
    /// All is clear.
    Clear,
    /// The starter rests.
    Rest,
    /// Name the bad part.
    Name(PartId),
    /// Mend this (its number in the line-up).
    Mend(usize),
    /// Try everything.
    Prove,
    /// The drill is over.
    Done,
    /// So it is, unsolved.
    GiveUp,
    /// Help by the tool.
    Hint,
    /// What can be typed.
    Help,
    /// What can be done now, numbered.
    Menu,
    /// How the machine stands.
    State,
    /// What was seen so far.
    Found,
    /// The circuit by its paths.
    Circuit,
    /// Points, parts and controls with these words in their names.
    Search(String),
    /// One of several: each in words, with the line to type for it.
    Which(String, Vec<(String, String)>),
    /// Not understood, and what would be.
    Wrong(String),
}

/// Reads a line.
pub fn read(drill: &Drill<'_>, typed: &str) -> Order {
    let typed = typed.trim();
    let (word, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
    let (word, rest) = (word.to_lowercase(), rest.trim());
    plain(&word, rest)
        .or_else(|| look(drill, &word, rest))
        .or_else(|| hand(drill, &word, rest))
        .unwrap_or_else(|| other(drill, typed))
}

fn plain(word: &str, rest: &str) -> Option<Order> {
    Some(match (word, rest) {
        ("" | "menu" | "m", "") => Order::Menu,
        ("?" | "help" | "h", "") => Order::Help,
        ("try" | "crank", rest) => Order::Try(seconds(rest)),
        ("off" | "release", "") | ("let", "go") | ("switch", "off") => Order::Off,
        ("clear", "") => Order::Clear,
        ("rest", "") => Order::Rest,
        ("hint", "") => Order::Hint,
        ("prove", "") => Order::Prove,
        ("done" | "finish", "") => Order::Done,
        ("quit" | "q" | "exit", "") | ("give", "up") => Order::GiveUp,
        ("state", "") => Order::State,
        ("found", "") => Order::Found,
        ("circuit", "") => Order::Circuit,
        ("find" | "search" | "points" | "parts", rest) => Order::Search(rest.to_owned()),
        _ => return None,
    })
}

/// `10`, `10 s`, `10s`; a short try without a number.
fn seconds(typed: &str) -> f64 {
    let digits: String = typed.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().unwrap_or(3.0)
}

fn look(drill: &Drill<'_>, word: &str, rest: &str) -> Option<Order> {
    use Tester::{LampAcross, LampGround, LampPlus, LedGround, LedPlus};
    let circuit = drill.study.circuit();
    let small = rest.to_lowercase();
    let plus = match small.strip_prefix("plus") {
        Some(after) if after.is_empty() || after.starts_with(' ') => rest.get(4..).map(str::trim),
        _ => None,
    };
    Some(match word {
        "lamp" | "led" => {
            let (ground, to_plus) =
                if word == "lamp" { (LampGround, LampPlus) } else { (LedGround, LedPlus) };
            match (rest.split_once('/'), plus) {
                (Some(both), _) => pair(circuit, LampAcross, "lamp", both),
                (None, Some(rest)) => at_point(circuit, to_plus, &format!("{word} plus"), rest),
                (None, None) => at_point(circuit, ground, word, rest),
            }
        }
        "volts" | "v" => match rest.split_once('/') {
            Some(both) => pair(circuit, Tester::Drop, "drop", both),
            None => at_point(circuit, Tester::Volts, "volts", rest),
        },
        "drop" | "ohms" => {
            let tester = if word == "drop" { Tester::Drop } else { Tester::Ohms };
            let Some(both) = rest.split_once('/') else {
                let example = format!("Two points, with a stroke between: {word} FIRST / SECOND");
                return Some(Order::Wrong(example));
            };
            pair(circuit, tester, word, both)
        }
        _ => return senses(circuit, word, rest),
    })
}

/// Eyes and ears, and what is held to a whole part.
fn senses(circuit: &Circuit, word: &str, rest: &str) -> Option<Order> {
    Some(match word {
        "watch" | "listen" | "hear" | "look" => {
            let is = |part: PartId| sense_for(&circuit.part(part).kind).is_some();
            of_part(word, pick::part(circuit, rest, "part to watch or hear", is), |part| {
                let tester = sense_for(&circuit.part(part).kind).unwrap_or(Tester::Watch);
                Order::Look(tester, Target::Part(part))
            })
        }
        "clamp" => {
            let is = |part: PartId| matches!(circuit.part(part).kind, Kind::Wire { .. });
            of_part(word, pick::part(circuit, rest, "wire", is), |part| {
                Order::Look(Tester::Clamp, Target::Part(part))
            })
        }
        "amps" | "bulb" => {
            let tester = if word == "amps" { Tester::Amps } else { Tester::Bulb };
            let is = |part: PartId| bridge::comes_out(circuit, part);
            of_part(word, pick::part(circuit, rest, "fuse", is), |part| {
                Order::Look(tester, Target::Part(part))
            })
        }
        "mv" | "millivolts" => {
            let is = |part: PartId| bridge::comes_out(circuit, part);
            of_part(word, pick::part(circuit, rest, "fuse", is), |part| {
                match circuit.links_of(part).first().map(|link| circuit.ends(*link)) {
                    Some((a, b)) => Order::Look(Tester::Millivolts, Target::Pair(a, b)),
                    None => Order::Wrong("That fuse has no two ends.".to_owned()),
                }
            })
        }
        "wiggle" | "move" => of_part(word, pick::connector(circuit, rest), |at| {
            Order::Look(Tester::Wiggle, Target::Connector(at))
        }),
        _ => return None,
    })
}

fn at_point(circuit: &Circuit, tester: Tester, word: &str, rest: &str) -> Order {
    let rest = rest.strip_prefix("ground ").unwrap_or(rest);
    of_part(word, pick::point(circuit, rest), |at| Order::Look(tester, Target::Point(at)))
}

fn pair(circuit: &Circuit, tester: Tester, word: &str, (one, other): (&str, &str)) -> Order {
    let (one, other) = (one.trim(), other.trim());
    let point = |typed: &str, line: &dyn Fn(&str) -> String| -> Result<TerminalId, Order> {
        match pick::point(circuit, typed) {
            Pick::One(at) => Ok(at),
            Pick::None(words) => Err(Order::Wrong(words)),
            Pick::Many(all) => Err(Order::Which(
                format!("Which `{typed}`?"),
                all.into_iter().map(|(name, id)| (name, line(&id))).collect(),
            )),
        }
    };
    let first = point(one, &|id| format!("{word} {id} / {other}"));
    let second = first.and_then(|first| {
        point(other, &|id| format!("{word} {one} / {id}")).map(|second| (first, second))
    });
    match second {
        Ok((first, second)) => Order::Look(tester, Target::Pair(first, second)),
        Err(order) => order,
    }
}

fn of_part<T: Copy>(word: &str, picked: Pick<T>, order: impl Fn(T) -> Order) -> Order {
    match picked {
        Pick::One(it) => order(it),
        Pick::None(words) => Order::Wrong(words),
        Pick::Many(all) => Order::Which(
            "Which one?".to_owned(),
            all.into_iter().map(|(name, id)| (name, format!("{word} {id}"))).collect(),
        ),
    }
}

fn hand(drill: &Drill<'_>, word: &str, rest: &str) -> Option<Order> {
    let circuit = drill.study.circuit();
    let heavy = |part: PartId| matches!(circuit.part(part).kind, Kind::Wire { heavy: true, .. });
    let wires = |act: fn(PartId) -> Act| {
        of_part(word, pick::part(circuit, rest, "heavy cable", heavy), |at| Order::Act(act(at)))
    };
    let fuses = |act: fn(PartId) -> Act| {
        let is = |part: PartId| bridge::comes_out(circuit, part);
        of_part(word, pick::part(circuit, rest, "fuse that comes out", is), |at| {
            Order::Act(act(at))
        })
    };
    let any = |act: fn(PartId) -> Act| {
        of_part(word, pick::part(circuit, rest, "part", |_| true), |at| Order::Act(act(at)))
    };
    Some(match word {
        "part" => of_part(word, pick::connector(circuit, rest), |at| Order::Act(Act::Part(at))),
        "join" => of_part(word, pick::connector(circuit, rest), |at| Order::Act(Act::Join(at))),
        "lift" => wires(Act::Lift),
        "bolt" => wires(Act::Bolt),
        "out" => fuses(Act::TakeOut),
        "in" => fuses(Act::PutIn),
        "bridge" => any(Act::Bridge),
        "unbridge" => any(Act::Unbridge),
        "swap" => swap(circuit, rest),
        "ground" => match rest {
            "off" => Order::Act(Act::GroundOff),
            "on" => Order::Act(Act::GroundOn),
            _ => {
                Order::Wrong("`ground off` or `ground on`: the battery's ground cable.".to_owned())
            }
        },
        "open" => of_part(word, pick::place(circuit, rest), Order::Open),
        "name" => of_part(
            word,
            pick::part(circuit, rest, "part", |part| suspect(drill, part)),
            Order::Name,
        ),
        "mend" | "replace" | "clean" | "fix" => mend(drill, rest),
        "press" | "hold" => press(drill, rest),
        _ => return None,
    })
}

fn swap(circuit: &Circuit, rest: &str) -> Order {
    let is = |part: PartId| bridge::swaps(circuit, part);
    let (word, rest, act): (_, _, fn(PartId) -> Act) = match rest.strip_prefix("back ") {
        Some(rest) => ("swap back", rest, Act::SwapBack),
        None => ("swap", rest, Act::Swap),
    };
    of_part(word, pick::part(circuit, rest, "part that plugs in", is), |at| Order::Act(act(at)))
}

/// Something can be wrong with the part.
pub fn suspect(drill: &Drill<'_>, part: PartId) -> bool {
    drill.study.lineup().suspects.iter().any(|one| one.part == Some(part))
}

/// A repair by its part, or by its own id.
fn mend(drill: &Drill<'_>, rest: &str) -> Order {
    let lineup = drill.study.lineup();
    if let Some(fix) = lineup.find_fix(&rest.to_lowercase()) {
        return Order::Mend(fix.index());
    }
    let circuit = drill.study.circuit();
    let is = |part: PartId| lineup.fixes.iter().any(|fix| fix.part == Some(part));
    of_part("mend", pick::part(circuit, rest, "part to mend", is), |part| {
        let fixes = lineup.fixes.iter().enumerate().filter(|(_, fix)| fix.part == Some(part));
        let fixes: Vec<(usize, &crate::suspect::fix::Fix)> = fixes.collect();
        match fixes[..] {
            [(at, _)] => Order::Mend(at),
            _ => Order::Which(
                "Which repair?".to_owned(),
                fixes
                    .iter()
                    .map(|(_, fix)| (fix.title.clone(), format!("mend {}", fix.id)))
                    .collect(),
            ),
        }
    })
}

fn press(drill: &Drill<'_>, rest: &str) -> Order {
    let circuit = drill.study.circuit();
    let small = rest.to_lowercase();
    let held = circuit.controls.iter().enumerate().filter(|(_, control)| {
        control.springs_back && control.name.to_lowercase().contains(&small)
    });
    let held: Vec<(usize, usize)> = held
        .filter_map(|(at, control)| {
            (0..control.positions.len()).find(|to| *to != control.rest).map(|to| (at, to))
        })
        .collect();
    match held[..] {
        [(at, to)] => Order::Act(Act::Control(at, to)),
        [] => Order::Wrong("Nothing here is held by hand under that name.".to_owned()),
        _ => Order::Which(
            "Which one?".to_owned(),
            held.iter()
                .map(|(at, to)| {
                    let control = &circuit.controls[*at];
                    let words = format!("{} {}", control.name, control.positions[*to]);
                    (words.clone(), words)
                })
                .collect(),
        ),
    }
}

/// A control with its position, or part of any name.
fn other(drill: &Drill<'_>, typed: &str) -> Order {
    match pick::position(drill.study.circuit(), &drill.course.setup, typed) {
        Pick::One((at, to)) => Order::Act(Act::Control(at, to)),
        Pick::Many(_) | Pick::None(_) if stands(drill, typed) => {
            Order::Wrong(format!("It stands so already: {}.", typed.trim()))
        }
        Pick::Many(_) | Pick::None(_) => Order::Search(typed.to_owned()),
    }
}

/// A control is told to stand as it does.
fn stands(drill: &Drill<'_>, typed: &str) -> bool {
    let positions = drill.study.circuit().controls.iter().zip(&drill.course.setup.positions);
    let now = positions.map(|(control, at)| format!("{} {}", control.name, control.positions[*at]));
    now.map(|now| now.to_lowercase()).any(|now| now == typed.trim().to_lowercase())
}
