//! What an invented vehicle does: lamps, motors, heaters and horns with their switches and relays.

use rand::RngExt;

use super::machine::{Feed, Machine};

/// Something the vehicle does, for the section `works`.
#[derive(Debug, Clone)]
pub struct Function {
    /// Its control.
    pub control: String,
    /// The position in which it works.
    pub position: &'static str,
    /// The key has to be on.
    pub keyed: bool,
    /// What is seen then.
    pub see: Vec<String>,
}

/// A kind of load: what stands behind `kind:`, its amperes at 12 V, its letter, what is seen of it.
type LoadKind = (&'static str, f64, &'static str, &'static str);

/// Lamps by their watts.
const LAMPS: [LoadKind; 4] = [
    ("lamp, watts: 5 W", 0.42, "E", "lit"),
    ("lamp, watts: 10 W", 0.83, "E", "lit"),
    ("lamp, watts: 21 W", 1.75, "E", "lit"),
    ("lamp, watts: 55 W", 4.6, "E", "lit"),
];

/// Loads that are switched by a relay.
const HEAVY: [LoadKind; 6] = [
    ("motor, stall: 0.5 ohm, running: 8 A", 8.0, "M", "turns"),
    ("motor, stall: 0.3 ohm, running: 15 A", 15.0, "M", "turns"),
    ("heater, watts: 120 W", 10.0, "R", "warms"),
    ("heater, watts: 200 W", 17.0, "R", "warms"),
    ("horn", 3.0, "P", "sounds"),
    ("load, watts: 60 W", 5.0, "Y", "works"),
];

/// Loads that are switched directly.
const LIGHT: [LoadKind; 4] = [
    ("motor", 3.0, "M", "turns"),
    ("motor, stall: 2 ohm, running: 2 A", 2.0, "M", "turns"),
    ("heater, watts: 40 W", 3.3, "R", "warms"),
    ("load, watts: 15 W", 1.3, "Y", "works"),
];

/// Adds any function.
pub fn add(machine: &mut Machine) -> Function {
    machine.functions += 1;
    let control = format!("c{}", machine.functions);
    match machine.dice.random_range(0..10) {
        0..4 => lamps(machine, control),
        4..7 => relayed(machine, control),
        7..9 => direct(machine, control),
        _ => turns(machine, control),
    }
}

/// The engine's starter.
pub fn starter(machine: &mut Machine) -> Function {
    machine.functions += 1;
    let control = format!("c{}", machine.functions);
    machine.draft.control(&control, "off, on");
    let starter = machine.starter(&control);
    Function { control, position: "on", keyed: true, see: vec![format!("{starter} turns")] }
}

/// Two to four lamps of a kind on one switch, in one section or two, often with a telltale beside it.
fn lamps(machine: &mut Machine, control: String) -> Function {
    machine.draft.control(&control, "off, on");
    let kind = LAMPS[machine.dice.random_range(0..LAMPS.len())];
    let count: u32 = machine.dice.random_range(2..=4);
    let feed = machine.feed(kind.1 * f64::from(count));
    let colour = machine.colour();
    let joint = switched(machine, &feed, &control, &colour);
    if machine.dice.random_ratio(1, 3) {
        telltale(machine, &joint, &colour);
    }
    let sections = [machine.some_section(), machine.some_section()];
    let mut see = Vec::new();
    for (side, section) in sections.into_iter().enumerate() {
        let lamps = if side == 0 { count.div_ceil(2) } else { count / 2 };
        let mut at = machine.lead(&joint, section, &colour, feed.area_mm2);
        if lamps > 1 {
            let place = machine.place(section);
            let split = machine.draft.part("J", "splice", &place);
            let lead = machine.short(&colour, feed.area_mm2);
            machine.draft.wire(&at, &split, &lead);
            at = split;
        }
        for _ in 0..lamps {
            let lamp = load(machine, kind, (&at, section), (&colour, feed.area_mm2));
            see.push(format!("{lamp} lit"));
        }
    }
    Function { control, position: "on", keyed: feed.keyed, see }
}

/// A switch behind a feed; gives the splice behind it.
fn switched(machine: &mut Machine, feed: &Feed, control: &str, colour: &str) -> String {
    let switch =
        machine.draft.part("S", &format!("switch, control: {control}, closed: on"), "dash");
    let joint = machine.draft.part("J", "splice", "dash");
    let lead = machine.short(colour, feed.area_mm2);
    machine.draft.wire(&feed.from, &format!("{switch}.in"), &lead);
    let lead = machine.short(colour, feed.area_mm2);
    machine.draft.wire(&format!("{switch}.out"), &joint, &lead);
    joint
}

/// A light-emitting diode that shows that something is on.
fn telltale(machine: &mut Machine, joint: &str, colour: &str) {
    load(machine, ("led", 0.02, "H", "lit"), (joint, 0), (colour, 0.5));
}

/// A load between a terminal of its section and the section's ground, or its own mounting.
fn load(
    machine: &mut Machine,
    kind: LoadKind,
    (from, section): (&str, usize),
    (colour, area_mm2): (&str, f64),
) -> String {
    let place = machine.place(section);
    let mounted = machine.dice.random_ratio(1, 5);
    let keys = if mounted { format!("{}, ground: body", kind.0) } else { kind.0.to_owned() };
    let load = machine.draft.part(kind.2, &keys, &place);
    let lead = machine.short(colour, area_mm2);
    machine.draft.wire(from, &format!("{load}.+"), &lead);
    if !mounted {
        let ground = machine.ground(section);
        let lead = machine.short("BK", area_mm2);
        machine.draft.wire(&format!("{load}.-"), &ground, &lead);
    }
    load
}

/// A heavy load on a relay; the switch feeds its coil, or grounds it.
fn relayed(machine: &mut Machine, control: String) -> Function {
    machine.draft.control(&control, "off, on");
    let kind = HEAVY[machine.dice.random_range(0..HEAVY.len())];
    let feed = machine.feed(kind.1);
    let colour = machine.colour();
    let place = "dash";
    let split = machine.draft.part("J", "splice", place);
    let lead = machine.short("RD", feed.area_mm2);
    machine.draft.wire(&feed.from, &split, &lead);
    let keys = if machine.dice.random_ratio(1, 3) { "relay, across_coil: diode" } else { "relay" };
    let relay = machine.draft.part("K", keys, place);
    let switch = machine.draft.part("S", &format!("switch, control: {control}, closed: on"), place);
    let coil = machine.colour();
    let ground = machine.ground(0);
    let low_side = machine.dice.random_ratio(1, 2);
    let way = if low_side {
        [split.clone(), format!("{relay}.86"), format!("{relay}.85"), format!("{switch}.in")]
    } else {
        [split.clone(), format!("{switch}.in"), format!("{switch}.out"), format!("{relay}.86")]
    };
    let last = if low_side { format!("{switch}.out") } else { format!("{relay}.85") };
    for pair in way.chunks_exact(2) {
        let lead = machine.short(&coil, 0.5);
        machine.draft.wire(&pair[0], &pair[1], &lead);
    }
    let lead = machine.short("BK", 0.5);
    machine.draft.wire(&last, &ground, &lead);
    let lead = machine.short(&colour, feed.area_mm2);
    machine.draft.wire(&split, &format!("{relay}.30"), &lead);
    let section = machine.some_section();
    let at = machine.lead(&format!("{relay}.87"), section, &colour, feed.area_mm2);
    let load = load(machine, kind, (&at, section), (&colour, feed.area_mm2));
    Function { control, position: "on", keyed: feed.keyed, see: vec![format!("{load} {}", kind.3)] }
}

/// A light load on its switch.
fn direct(machine: &mut Machine, control: String) -> Function {
    machine.draft.control(&control, "off, on");
    let kind = LIGHT[machine.dice.random_range(0..LIGHT.len())];
    let feed = machine.feed(kind.1);
    let colour = machine.colour();
    let joint = switched(machine, &feed, &control, &colour);
    let section = machine.some_section();
    let at = machine.lead(&joint, section, &colour, feed.area_mm2);
    let load = load(machine, kind, (&at, section), (&colour, feed.area_mm2));
    Function { control, position: "on", keyed: feed.keyed, see: vec![format!("{load} {}", kind.3)] }
}

/// A lever that lights the lamps of one side or the other.
fn turns(machine: &mut Machine, control: String) -> Function {
    machine.draft.control(&control, "off, left, right");
    let kind = LAMPS[2];
    let feed = machine.feed(2.0 * kind.1);
    let keys = format!(
        "switch, control: {control}, terminals: [49a, L, R], joins: {{ left: [[49a, L]], right: [[49a, R]] }}"
    );
    let switch = machine.draft.part("S", &keys, "dash");
    let lead = machine.short("GN", feed.area_mm2);
    machine.draft.wire(&feed.from, &format!("{switch}.49a"), &lead);
    let mut see = Vec::new();
    for side in ["L", "R"] {
        let colour = machine.colour();
        let joint = machine.draft.part("J", "splice", "dash");
        let lead = machine.short(&colour, feed.area_mm2);
        machine.draft.wire(&format!("{switch}.{side}"), &joint, &lead);
        for _ in 0..2 {
            let section = machine.some_section();
            let at = machine.lead(&joint, section, &colour, feed.area_mm2);
            let lamp = load(machine, kind, (&at, section), (&colour, feed.area_mm2));
            see.push(format!("{lamp} {}", if side == "L" { "lit" } else { "dark" }));
        }
    }
    Function { control, position: "left", keyed: feed.keyed, see }
}

/// A small lamp that burns with the key on, to bring the number of parts up: three parts, or two when
/// it is grounded through its mounting.
pub fn pilot(machine: &mut Machine, feed: &str, parts: usize) {
    let lead = machine.short("GY", 0.5);
    if parts == 2 {
        let lamp = machine.draft.part("E", "lamp, watts: 2 W, ground: body", "dash");
        machine.draft.wire(feed, &format!("{lamp}.+"), &lead);
    } else {
        // On a splice that is there: no more than the lamp and its two wires.
        let lamp = machine.draft.part("E", "lamp, watts: 2 W", "dash");
        machine.draft.wire(feed, &format!("{lamp}.+"), &lead);
        machine.draft.wire(&format!("{lamp}.-"), "GND1", &lead);
    }
}
