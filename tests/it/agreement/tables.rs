//! Laws of lamps, meters, fuses, diodes and batteries beside published tables, and how failures are shared.

use std::sync::Arc;

use halfsplit::circuit::catalogue::supply::rested_volts;
use halfsplit::circuit::{Element, read};
use halfsplit::electric::{Law, Solver};
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::Lineup;
use halfsplit::tester::observe::OLD_OHMS_PER_VOLT;
use halfsplit::tester::scale::Scale;

use super::{Row, Worst, by_name, pairs, value};
use crate::physics::{MIDDLE, amps_at, amps_behind, divider};

macro_rules! data {
    ($file:literal) => {
        include_str!(concat!("../../data/physics/", $file, ".yaml"))
    };
}

const LESSONS: &str = "Lessons In Electric Circuits (T. R. Kuphaldt)";
const OPENSTAX: &str = "OpenStax College Physics";

pub fn rows() -> Vec<Row> {
    let mut rows = lamps();
    rows.extend(meters());
    rows.extend(fuses());
    rows.extend(diodes());
    rows.extend(batteries());
    rows.push(priors());
    rows
}

fn lamps() -> Vec<Row> {
    let text = data!("lamps");
    let mut exponents = Row::off(
        "Standard Handbook for Electrical Engineers",
        "lamps: exponents of amperes and watts",
    );
    let lamp = Law::Lamp { volts: 12.0, watts: 21.0 };
    for (low, high) in [(10.0, 12.0), (11.0, 14.0), (12.0, 15.0)] {
        let exponent = (amps_at(high, &lamp) / amps_at(low, &lamp)).ln() / f64::ln(high / low);
        exponents.add(exponent, value(text, "exp-current").as_f64().unwrap());
        exponents.add(exponent + 1.0, value(text, "exp-power").as_f64().unwrap());
    }
    let mut light = Row::alike(
        "Standard Handbook for Electrical Engineers",
        "lamps: light at the edges of dark and lit",
    );
    let exponent = value(text, "exp-light")[0].as_f64().unwrap();
    let edges = Scale::Glow.edges();
    light.so(edges[0].powf(exponent) < 0.01);
    light.so((edges[1].powf(exponent) - 0.3).abs() < 0.01);
    let mut headlight = Row::off(OPENSTAX, "a headlight, hot and cold: amperes, ohms");
    let figure = by_name(&value(text, "headlight-hot-cold"));
    let lamp = Law::Lamp { volts: 12.0, watts: figure["hot_W"] };
    headlight.add(amps_at(12.0, &lamp), figure["hot_A"]);
    headlight.add(12.0 / amps_at(12.0, &lamp), figure["hot_ohm"]);
    headlight.add(1e-3 / amps_at(1e-3, &lamp), figure["cold_ohm"]);
    let mut sheet = Row::used("UN Regulation 37 (draft of 2012)", "PY21/5W: watts at 13.5 V");
    bulb(&mut sheet, "r37-py21-5w");
    let mut sheets = Row::used("UN Regulation 37 (from memory)", "13 bulbs: watts at test volts");
    for id in [
        "p21w", "py21w", "p21-5w", "r5w", "r10w", "t4w", "c5w", "w5w", "w3w", "h1", "h4", "h7",
        "h11",
    ] {
        bulb(&mut sheets, &format!("r37-{id}"));
    }
    // More than allowed, as the smallest are rated at 13.5 V and not at 12: by no more than lamps differ.
    let tolerance = value(text, "lamp-amp-tolerance")["amps_pct"].as_f64().unwrap() / 100.0;
    let Worst::Used(most) = sheets.worst else { panic!("it is a limit") };
    assert!(most < 1.0 + tolerance, "{most}");
    vec![exponents, light, headlight, sheet, sheets]
}

/// Watts of each filament at test volts beside the most its sheet allows.
fn bulb(row: &mut Row, id: &str) {
    let sheet = value(data!("lamps"), id);
    let list = |key: &str| match &sheet[key] {
        serde_json::Value::Array(list) => list.iter().map(|one| one.as_f64().unwrap()).collect(),
        one => vec![one.as_f64().unwrap()],
    };
    let (volts, rated_volts) = (list("test_V")[0], list("rated_V")[0]);
    for (watts, most) in list("rated_W").into_iter().zip(list("max_W")) {
        row.add(volts * amps_at(volts, &Law::Lamp { volts: rated_volts, watts }), most);
    }
}

fn meters() -> Vec<Row> {
    let text = data!("meters");
    let mut lessons = Row::off(LESSONS, "meters in the circuit they measure");
    let meter_ohms = value(text, "dmm-10meg").as_f64().unwrap();
    let weak = divider(24.0, 250e6, Law::Resistor { ohms: 250e6 });
    let case = weak.case(&[]).unwrap();
    let meter = Law::Resistor { ohms: meter_ohms };
    let read = case.with_load(MIDDLE, halfsplit::electric::GROUND, &meter).unwrap().volts;
    lessons.add(read, value(text, "loading-250meg")["read"].as_f64().unwrap());
    for (key, ohms) in [("branch3", 3.0), ("branch1p5", 1.5)] {
        let amps = amps_behind(2.0, ohms, &Law::Resistor { ohms: 0.5 });
        lessons.add(amps, value(text, "ammeter-0p5")[key][1].as_f64().unwrap());
    }
    for (ohms, share) in by_name(&value(text, "ohmmeter-scale")) {
        let law = Law::Resistor { ohms: ohms.parse().unwrap() };
        lessons.add(amps_behind(9.0, 9000.0, &law) / 1e-3, share);
    }
    let mut openstax = Row::off(OPENSTAX, "meters in the circuit they measure");
    let cell = by_name(&value(text, "cell-voltmeter"));
    let amps = amps_behind(1.585, 0.1, &Law::Resistor { ohms: 1000.0 });
    openstax.add(amps, cell["A"]);
    openstax.add(1000.0 * amps, cell["V"]);
    let ratio = amps_behind(10.0, 10.0, &Law::Resistor { ohms: 0.02 });
    openstax.add(ratio, value(text, "ammeter-0p02")["ratio"].as_f64().unwrap());
    openstax.add(10.0 * OLD_OHMS_PER_VOLT, value(text, "galvo-10v").as_f64().unwrap());
    vec![lessons, openstax]
}

fn fuses() -> Vec<Row> {
    let text = data!("fuses");
    let opens = |times: f64| {
        let law = Law::Fuse { ohms: 0.01, rated_amps: 10.0 };
        let solver = divider(12.0, 12.0 / (10.0 * times) - 0.01, law);
        !solver.case(&[]).unwrap().blown().is_empty()
    };
    let mut points =
        Row::alike("ISO 8820-3, as quoted in relay maker data", "fuses: loads at which they open");
    for (times, _) in pairs(&value(text, "overload-points-used")) {
        points.so(opens(1.001 * times));
    }
    let mut table =
        Row::alike("ISO 8820-3 (from memory)", "fuses: loads they bear and at which they open");
    for point in value(text, "iso8820-full-table").as_array().unwrap() {
        let times = point[0].as_f64().unwrap() / 100.0;
        // Without a longest time it has to bear the load; open at 135 % is the last it may bear for minutes.
        table.so(opens(1.001 * times) == point[1][1].is_number());
    }
    let mut drop = Row::off(
        "component maker data, blade fuses (from memory)",
        "5 to 30 A: volts lost at the rating",
    );
    for (rated_amps, millivolts) in pairs(&value(text, "blade-rated-drop")) {
        // The smallest are wound of finer wire; the default says so.
        if rated_amps >= 5.0 {
            let fuse = format!("{{ kind: fuse, rating: {rated_amps} A, at: bench }}");
            let Element::Fuse { ohms, .. } = element_of(&fuse, "part") else { panic!("no fuse") };
            drop.add(1000.0 * ohms * rated_amps, millivolts);
        }
    }
    vec![points, table, drop]
}

/// The element of a part's only link; `part` stands between a battery and a lamp.
fn element_of(part: &str, of: &str) -> Element {
    let text = format!(
        "format: 1\nname: x\nsystem: 12 V\nplaces: {{ bench: 0 min }}\nparts:\n  battery: {{ kind: \
         battery, at: bench }}\n  part: {part}\n  lamp: {{ kind: lamp, at: bench }}\nwires:\n  - {{ from: \
         battery.+, to: part.in }}\n  - {{ from: part.out, to: lamp.+ }}\n  - {{ from: lamp.-, to: \
         battery.- }}\nworks:\n  lights: {{ see: lamp lit }}\n"
    );
    let circuit = read::read_text("x", &text).0.unwrap();
    let link = circuit.links_of(circuit.part_by_id(of).unwrap())[0];
    circuit.link(link).element.clone()
}

fn diodes() -> Vec<Row> {
    let text = data!("diodes");
    let mut forward =
        Row::off(LESSONS, "diodes, silicon, germanium, Schottky: amperes at their volts");
    let single = |id: &str| value(text, id).as_f64().unwrap();
    let schottky = value(text, "schottky");
    let schottky = [0, 1].map(|at| schottky[at].as_f64().unwrap());
    for forward_volts in [single("silicon"), single("germanium"), schottky[0], schottky[1]] {
        let diode = Law::Diode { forward_volts, at_amps: 1.0, zener_volts: None };
        forward.add(amps_behind(forward_volts + 10.0, 10.0, &diode), 1.0);
    }
    let mut slope = Row::off(LESSONS, "diodes: volts for a factor e of amperes, germanium");
    let diode = Law::Diode { forward_volts: single("germanium"), at_amps: 1.0, zener_volts: None };
    let volts = |amps: f64| {
        let found = amps_behind(10.0, 10.0 / amps, &diode);
        10.0 - found * 10.0 / amps
    };
    slope.add((volts(1e-2) - volts(1e-3)) / 10f64.ln(), single("thermal-voltage"));
    let mut resistors = Row::off(LESSONS, "light-emitting diodes: watts in their resistors");
    let led = Law::Diode { forward_volts: 1.6, at_amps: 0.02, zener_volts: None };
    for (id, volts) in [("led-resistor-6v", 6.0), ("led-resistor-24v", 24.0)] {
        let figure = by_name(&value(text, id));
        let amps = amps_behind(volts, figure["ohm"], &led);
        resistors.add(amps * amps * figure["ohm"], figure["W"]);
    }
    vec![forward, slope, resistors]
}

#[derive(serde::Deserialize)]
struct Army {
    volts_by_percent: Vec<(f64, f64)>,
}

fn batteries() -> Vec<Row> {
    let text = data!("battery-tables");
    let army: Army = serde_yaml::from_str(data!("batteries")).unwrap();
    let table = |source, pairs: Vec<(f64, f64)>| {
        let mut row = Row::off(source, "lead-acid battery: volts at rest by charge");
        for (volts, percent) in pairs {
            row.add(rested_volts(percent), volts);
        }
        row
    };
    let mut ohms = Row::alike("common practice", "a good 12 V battery: 3 to 10 milliohm");
    let range = value(text, "internal-ohms-practice");
    let within =
        |ohms: f64| (range[0].as_f64().unwrap()..=range[1].as_f64().unwrap()).contains(&ohms);
    let Element::Emf { ohms: default, .. } = element_of("{ kind: fuse, at: bench }", "battery")
    else {
        panic!("no battery")
    };
    ohms.so(within(default));
    let mut example = Row::off(OPENSTAX, "a good 12 V battery: ohms");
    example.add(default, value(text, "internal-ohms-example")["r_int"].as_f64().unwrap());
    let mut charging =
        Row::alike("US Army TM 5-3805-254-20-1", "volts at the battery with the engine turning");
    let range = value(text, "charging-13-15p5");
    for engine in
        ["engine.idle", "engine.fast", "engine.fast+head-switch.on", "engine.idle+head-switch.on"]
    {
        let volts = charged_volts(engine);
        charging.so((range[0].as_f64().unwrap()..=range[1].as_f64().unwrap()).contains(&volts));
    }
    vec![
        table("US Army TM 5-3805-262-20", army.volts_by_percent),
        table("trade magazine answer", pairs(&value(text, "ocv-rv"))),
        table("Battery Council International (from memory)", pairs(&value(text, "ocv-bci"))),
        ohms,
        example,
        charging,
    ]
}

fn charged_volts(setup: &str) -> f64 {
    let text = std::fs::read_to_string("tests/data/kinds/charging-source.yaml").unwrap();
    let circuit = read::read_text("charging-source", &text).0.unwrap();
    let setup = Setup::from_id(&circuit, setup).unwrap();
    let wiring = Wiring::new(&circuit, &setup);
    let solver = Solver::new(&wiring.network).unwrap();
    let case = solver.case(&[]).unwrap();
    let volts = |terminal| case.node_volts(wiring.node(terminal));
    volts(circuit.positive()) - volts(circuit.negative())
}

/// Shares of modes within a part, as the prior weights have them, beside the handbook's.
fn priors() -> Row {
    let text = data!("priors");
    let mut row = Row::off(
        "MIL-HDBK-338B (motors from memory)",
        "shares of fault modes in ten kinds of part",
    );
    let circuit =
        Arc::new(read::read_text("x", include_str!("../../data/every-kind.yaml")).0.unwrap());
    let lineup = Lineup::of(&circuit);
    // Weight of all modes of a part whose names begin so; what is a matter of its mounting is apart.
    let weight = |part: &str, modes: &[&str]| -> f64 {
        let begins = |id: &str| modes.iter().any(|mode| id.starts_with(&format!("{part}.{mode}")));
        lineup.suspects.iter().filter(|one| begins(&one.id)).map(|one| one.weight).sum()
    };
    let mut share =
        |part: &str, modes: &[&str], others: &[&str], published: (&str, &[&str], &[&str])| {
            let (id, mode, rest) = published;
            let figures = by_name(&value(text, id));
            let sum = |names: &[&str]| names.iter().map(|one| figures[*one]).sum::<f64>();
            let of = sum(mode) / (sum(mode) + sum(rest));
            row.add(weight(part, modes) / (weight(part, modes) + weight(part, others)), of);
        };
    let trips =
        ["coil-open", "jammed", "contact-open", "contact-high", "contact-2-open", "contact-2-high"];
    let welded = ["contact-welded", "contact-2-welded"];
    let all = ("fmd-relay", &["fails_to_trip"][..], &["spurious_trip", "short"][..]);
    share("relay", &trips, &[&welded[..], &["coil-turns"]].concat(), all);
    let all = ("fmd-relay", &["spurious_trip"][..], &["fails_to_trip", "short"][..]);
    share("relay", &welded, &[&trips[..], &["coil-turns"]].concat(), all);
    let all = ("fmd-switch-toggle", &["open", "sticking"][..], &["short"][..]);
    share("heat-switch", &["open", "high"], &["stuck-on"], all);
    let all = ("fmd-battery-lead-acid", &["degraded"][..], &["short"][..]);
    share("battery", &["low", "flat", "surface"], &["cell"], all);
    share("lamp", &["open"], &["high"], ("fmd-lamp", &["no_illumination"], &["reduced"]));
    share("diode", &["open"], &["shorted"], ("fmd-diode-general", &["open"], &["short"]));
    share("ignition", &["open"], &["turns"], ("fmd-coil", &["open"], &["short"]));
    let all = ("fmd-resistor-film", &["open"][..], &["change", "short"][..]);
    share("ballast", &["open"], &["risen", "shorted"], all);
    let all = ("fmd-resistor-film", &["change"][..], &["open", "short"][..]);
    share("ballast", &["risen"], &["open", "shorted"], all);
    share("heater", &["open"], &["shorted"], ("fmd-resistor-ww", &["open"], &["short"]));
    share("led", &["open"], &["shorted"], ("fmd-led", &["open"], &["short"]));
    let all = ("fmd-motor", &["bearing"][..], &["winding", "stops", "fails_to_start"][..]);
    share("fan", &["jammed"], &["open", "turns", "high"], all);
    row
}
