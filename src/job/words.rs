//! Instructions and titles in plain words.

use crate::circuit::{Circuit, Kind, PartId, PlaceId, TerminalId};
use crate::setup::Setup;
use crate::setup::moves::{Act, moves};
use crate::setup::wiring::positive_post;
use crate::tester::expectations::Column;
use crate::tester::scale::Scale;
use crate::tester::{Target, Test, Tester, limits};

use super::course::Course;

/// A test in one line: `Test lamp to ground: solenoid, coil in`.
pub fn title(circuit: &Circuit, test: &Test) -> String {
    if test.scale == Scale::Drain {
        return format!("Ammeter in the ground cable of: {}", target_words(circuit, test.target));
    }
    format!("{}: {}", tester_words(test.tester), target_words(circuit, test.target))
}

/// The same of a test that is not done, as it was wanted: `Ohms: solenoid, coil in and solenoid, coil out`.
pub fn attempt(circuit: &Circuit, tester: Tester, target: Target) -> String {
    let tester = if tester == Tester::Ohms { "Ohms" } else { tester_words(tester) };
    format!("{tester}: {}", target_words(circuit, target))
}

/// The same with the setup it is done in.
pub fn title_in_setup(circuit: &Circuit, test: &Test) -> String {
    let setup = test.setup.words(circuit);
    let title = title(circuit, test);
    if setup.is_empty() { title } else { format!("{title}; {setup}") }
}

/// The same in few words, where there is one line for it: `Lamp to plus: horn, -`.
pub fn brief(circuit: &Circuit, test: &Test) -> String {
    let tester = match test.tester {
        Tester::LampGround => "Lamp to ground",
        Tester::LampPlus => "Lamp to plus",
        Tester::LampAcross => "Lamp across",
        Tester::LedGround => "LED to ground",
        Tester::LedPlus => "LED to plus",
        Tester::Volts | Tester::OldVolts => "Volts",
        Tester::Drop | Tester::OldDrop => "Lost",
        Tester::Millivolts => "Lost over fuse",
        Tester::Clamp => "Clamp",
        Tester::Bulb => "Bulb for",
        Tester::Amps => "Amps",
        Tester::Ohms | Tester::Wiggle | Tester::Watch | Tester::Hear => {
            return target_words(circuit, test.target);
        }
    };
    format!("{tester}: {}", target_words(circuit, test.target))
}

/// What is held, in two or three words.
pub fn tester_words(tester: Tester) -> &'static str {
    match tester {
        Tester::LampGround => "Test lamp to ground",
        Tester::LampPlus => "Test lamp to battery plus",
        Tester::LampAcross => "Test lamp across",
        Tester::LedGround => "LED lamp to ground",
        Tester::LedPlus => "LED lamp to battery plus",
        Tester::Volts => "Volts to ground",
        Tester::Drop => "Volts lost across",
        Tester::Millivolts => "Millivolts across the fuse",
        Tester::Ohms => "Ohms, circuit dead",
        Tester::OldVolts => "Volts to ground, old meter",
        Tester::OldDrop => "Volts lost across, old meter",
        Tester::Clamp => "Clamp meter around",
        Tester::Bulb => "Bulb in place of",
        Tester::Amps => "Ammeter in place of",
        Tester::Wiggle => "Move about",
        Tester::Watch => "Watch",
        Tester::Hear => "Listen to",
    }
}

fn target_words(circuit: &Circuit, target: Target) -> String {
    match target {
        Target::Point(at) => circuit.graph[at].name.clone(),
        Target::Pair(a, b) => format!("{} and {}", circuit.graph[a].name, circuit.graph[b].name),
        Target::Part(part) => circuit.parts[part.index()].name.clone(),
        Target::Connector(at) => format!("connector {}", circuit.connectors[at.index()].name),
    }
}

/// What to do to the machine to get from where the course stands to `setup`, one line each.
pub fn way_to(course: &Course<'_>, setup: &Setup, places: &[PlaceId]) -> Vec<String> {
    let circuit = course.study.circuit();
    way(course, (&course.setup, setup), places, |act| act_words(circuit, act))
}

fn way(
    course: &Course<'_>,
    (from, to): (&Setup, &Setup),
    places: &[PlaceId],
    words: impl Fn(&Act) -> String,
) -> Vec<String> {
    let circuit = course.study.circuit();
    let opening = places
        .iter()
        .filter(|place| !course.opened[place.index()])
        .map(|place| &circuit.places[place.index()])
        .filter(|place| place.open_minutes > 0.0)
        .map(|place| format!("Get to: {} ({} min).", place.name, show(place.open_minutes)));
    let acts: Vec<Act> = moves(circuit, from, to).into_iter().map(|step| step.act).collect();
    // Nobody opens a place while something is held or switched on that shall be off for the work.
    let at_rest =
        |act: &&Act| matches!(act, Act::Control(at, to) if *to == circuit.controls[*at].rest);
    let (before, after) = acts.split_at(acts.iter().take_while(at_rest).count());
    before.iter().map(&words).chain(opening).chain(after.iter().map(&words)).collect()
}

/// The same for somebody who has let go of what springs back, as every look and every proof ends with.
pub fn way_on(course: &Course<'_>, setup: &Setup, places: &[PlaceId]) -> Vec<String> {
    let circuit = course.study.circuit();
    let words = |act: &Act| match *act {
        Act::Control(at, to)
            if circuit.controls[at].springs_back && course.setup.positions[at] == to =>
        {
            let control = &circuit.controls[at];
            format!("Have the {} held again: {}.", control.name, control.positions[to])
        }
        _ => act_words(circuit, act),
    };
    way(course, (&course.stands(), setup), places, words)
}

/// What to do, as an order: `Part connector C2.`
pub fn act_words(circuit: &Circuit, act: &Act) -> String {
    let part_name = |part: PartId| &circuit.parts[part.index()].name;
    match *act {
        Act::Control(at, position) => {
            let control = &circuit.controls[at];
            let to = &control.positions[position];
            if control.by_machine {
                return format!("Bring it about that {} is: {to}.", control.name);
            }
            match (control.springs_back, position == control.rest) {
                (true, true) => format!("Let go of the {}.", control.name),
                (true, false) => format!("Have the {} held: {to}.", control.name),
                (false, _) => format!("Set the {}: {to}.", control.name),
            }
        }
        Act::Part(at) => format!("Part connector {}.", circuit.connectors[at.index()].name),
        Act::Join(at) => format!("Join connector {} again.", circuit.connectors[at.index()].name),
        Act::Lift(part) => {
            format!("Lift the {} off its stud and cover its end.", part_name(part))
        }
        Act::Bolt(part) => format!("Bolt the {} on again.", part_name(part)),
        Act::TakeOut(part) => format!("Take the {} out of its holder.", part_name(part)),
        Act::PutIn(part) => format!("Put the {} back into its holder.", part_name(part)),
        Act::Bridge(part) => format!("Bridge the {} with the fused jumper.", part_name(part)),
        Act::Unbridge(part) => format!("Take the jumper off the {}.", part_name(part)),
        Act::Swap(part) => {
            format!("Put a known good one in the place of the {}.", part_name(part))
        }
        Act::SwapBack(part) => format!("Put the old {} back.", part_name(part)),
        Act::GroundOff => "Battery ground cable off first, and tuck it away.".to_owned(),
        Act::GroundOn => "Battery ground cable on again, last of all.".to_owned(),
    }
}

/// Where to clip and where to touch; a clip that hangs there since the test `before` stays.
pub fn touch(circuit: &Circuit, test: &Test, before: Option<Tester>) -> Vec<String> {
    let point = |at: TerminalId| point_words(circuit, at);
    match (test.tester, test.target) {
        (tester, Target::Point(at)) => {
            vec![
                clip(circuit, tester, before == Some(tester)),
                match tester {
                    Tester::Volts | Tester::OldVolts => format!("Red lead on {}.", point(at)),
                    _ => format!("Touch {}.", point(at)),
                },
            ]
        }
        (Tester::LampAcross, Target::Pair(a, b)) => {
            vec![format!("Clip the lamp to {}.", point(a)), format!("Touch {}.", point(b))]
        }
        (tester, Target::Pair(a, b)) => {
            let range = match tester {
                Tester::Ohms => "ohms",
                Tester::Millivolts => "DC millivolts",
                _ => "DC volts",
            };
            vec![
                format!("Meter on {range}, red lead on {}.", point(a)),
                format!("Black lead on {}.", point(b)),
            ]
        }
        (Tester::Clamp, Target::Part(part)) => vec![
            "Clamp meter on DC amps; zero it away from any cable.".to_owned(),
            format!("Close it around the {} alone.", circuit.parts[part.index()].name),
        ],
        (Tester::Bulb, Target::Part(part)) => vec![format!(
            "Clip a 21 W bulb across the empty holder of the {}.",
            circuit.parts[part.index()].name
        )],
        (Tester::Amps, _) if test.scale == Scale::Drain => vec![
            "Everything off, doors shut. Ground cable off its post.".to_owned(),
            "Meter on 10 A DC between the post and the cable's end.".to_owned(),
            "Wait until all units sleep.".to_owned(),
        ],
        (Tester::Amps, Target::Part(part)) => vec![format!(
            "Meter on 10 A DC, its leads in the empty holder of the {}.",
            circuit.parts[part.index()].name
        )],
        (_, Target::Connector(at)) => {
            vec![format!("Push, pull and bend {}.", circuit.connectors[at.index()].name)]
        }
        (_, Target::Part(_)) => Vec::new(),
    }
}

/// Where the one end of a tester goes that stays where it is, or is there already.
fn clip(circuit: &Circuit, tester: Tester, stays: bool) -> String {
    let still = if stays { "still " } else { "" };
    let to = match tester {
        Tester::LampPlus | Tester::LedPlus => {
            positive_post(circuit).map_or_else(String::new, |post| point_words(circuit, post))
        }
        _ => ground_words(circuit),
    };
    match tester {
        Tester::Volts => format!("Meter on DC volts, black lead {still}on {to}."),
        Tester::OldVolts => format!("Old meter on DC volts, black lead {still}on {to}."),
        _ if stays => format!("The lamp stays clipped to {to}."),
        _ => format!("Clip the lamp to {to}."),
    }
}

/// Where a tester finds ground: the frame, or where all grounds meet when nothing else is grounded by it.
fn ground_words(circuit: &Circuit) -> String {
    let mut parts = circuit.links_at(circuit.chassis).into_iter();
    let only = parts.next().map(|(link, _)| circuit.part(circuit.link(link).part));
    match only {
        Some(part) if part.kind == Kind::GroundPoint && parts.next().is_none() => {
            format!("the {} ({})", part.name, circuit.place(part.place).name)
        }
        _ => "bare metal of the frame".to_owned(),
    }
}

/// A point with its place and the colours of its wires: `solenoid, coil in (under seat; BN wire)`.
fn point_words(circuit: &Circuit, at: TerminalId) -> String {
    let terminal = &circuit.graph[at];
    let Some(place) = terminal.place else { return ground_words(circuit) };
    let mut colours: Vec<&str> = circuit
        .graph
        .edges(at)
        .filter_map(|edge| match &circuit.parts[edge.weight().part.index()].kind {
            Kind::Wire { colour, .. } if !colour.is_empty() => Some(colour.as_str()),
            _ => None,
        })
        .collect();
    colours.sort_unstable();
    colours.dedup();
    let place = &circuit.places[place.index()].name;
    if colours.is_empty() {
        format!("{} ({place})", terminal.name)
    } else {
        format!("{} ({place}; {} wire)", terminal.name, colours.join(", "))
    }
}

/// What to look at.
pub fn watch(circuit: &Circuit, test: &Test) -> String {
    let thing = match (test.tester, test.target) {
        (Tester::Watch, Target::Part(part)) if feels_warm(circuit, part) => {
            format!("Feel: the {}.", target_words(circuit, test.target))
        }
        (Tester::Watch, target) => format!("Watch: the {}.", target_words(circuit, target)),
        (Tester::Hear, target) => format!("Listen: the {}.", target_words(circuit, target)),
        (Tester::Wiggle, _) => watched_words(circuit, test),
        (Tester::Amps, _) if test.scale == Scale::Drain => {
            "Read the amps, then put the ground cable on again.".to_owned()
        }
        (Tester::Clamp | Tester::Amps, _) => "Read the amps.".to_owned(),
        (Tester::Millivolts, _) => {
            "Read the volts, as in `12 mV`; full volts if it is blown.".to_owned()
        }
        (Tester::Volts | Tester::Drop | Tester::OldVolts | Tester::OldDrop, _) => {
            "Read the volts.".to_owned()
        }
        (Tester::Ohms, _) => "Read the ohms; type 99M for an open line.".to_owned(),
        _ => "Look at the lamp.".to_owned(),
    };
    let held: Vec<&str> = circuit
        .controls
        .iter()
        .zip(&test.setup.positions)
        .filter(|(control, position)| control.springs_back && **position != control.rest)
        .map(|(control, _)| control.name.as_str())
        .collect();
    if held.is_empty() {
        thing
    } else {
        format!("{thing} Then let go of the {}.", held.join(" and the "))
    }
}

/// What to heed of a fuse that was renewed: one that blows again is the consequence of a short.
pub fn new_fuse(circuit: &Circuit, part: Option<PartId>) -> Option<String> {
    let is_fuse =
        |part: &PartId| matches!(circuit.part(*part).kind, Kind::Fuse | Kind::FusibleLink);
    part.filter(is_fuse)?;
    Some("Not cured if it blows again: then look for the short behind it.".to_owned())
}

/// What a sound machine reads here.
pub fn sound(column: &Column) -> Option<String> {
    limits::sound_words(column).map(|words| format!("Sound: {words}."))
}

/// The limit published for such a reading.
pub fn published(circuit: &Circuit, column: &Column) -> Option<String> {
    let limit = limits::published(circuit, column)?;
    Some(format!("Published: {}.", limit.words()))
}

/// What to watch while a connector is moved about.
fn watched_words(circuit: &Circuit, test: &Test) -> String {
    let work = circuit.works.iter().find(|work| Setup::for_work(circuit, work) == test.setup);
    let sight = work.and_then(|work| work.see.iter().find(|sight| sight.acts));
    let part = sight.map_or("machine", |sight| circuit.part(sight.part).name.as_str());
    format!("Watch the {part} meanwhile: does it change?")
}

fn feels_warm(circuit: &Circuit, part: PartId) -> bool {
    circuit.parts[part.index()].kind == Kind::Heater
}

/// What to put back before the machine is handed over, in a safe order.
pub fn put_back(course: &Course<'_>) -> Vec<String> {
    let circuit = course.study.circuit();
    let rest = Setup::rest(circuit);
    let acts = moves(circuit, &course.stands(), &rest);
    let mut lines: Vec<String> = acts.iter().map(|step| act_words(circuit, &step.act)).collect();
    lines.extend(
        circuit
            .places
            .iter()
            .zip(&course.opened)
            .filter(|(place, open)| **open && place.open_minutes > 0.0)
            .map(|(place, _)| format!("Close up: {}.", place.name)),
    );
    lines
}

/// Minutes as people say them: `4`, `0.5`.
pub fn show(minutes: f64) -> String {
    if minutes >= 9.95 || (minutes - minutes.round()).abs() < 0.05 {
        format!("{minutes:.0}")
    } else {
        format!("{minutes:.1}")
    }
}
