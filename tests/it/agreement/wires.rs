//! Copper by size, length and heat.

use halfsplit::circuit::catalogue::wiring::copper_ohms;
use halfsplit::quantity::{self, Unit};
use serde::Deserialize;

use super::{Row, by_name, pairs, value};
use crate::physics::{amps_behind, divider};
use halfsplit::electric::{BranchId, Law};

const WIRES: &str = include_str!("../../data/physics/wires.yaml");
const DROPS: &str = include_str!("../../data/physics/drops.yaml");
const IEC: &str = include_str!("../../data/wire/iec60228.yaml");

/// A circular mil is pi/4 of a thousandth of an inch squared.
const CMIL_MM2: f64 = 5.067_074_79e-4;
const FEET_1000: f64 = 304.8;

pub fn rows() -> Vec<Row> {
    let mut rows = gauges();
    rows.extend(limits());
    rows.extend(heat());
    rows.extend(drops());
    rows
}

fn area(gauge: &str) -> f64 {
    quantity::parse(&format!("{gauge} AWG"), Unit::Area).unwrap()
}

fn gauges() -> Vec<Row> {
    let mut hyper = Row::off("HyperPhysics, wire gauge table", "AWG 4/0 to 24: ohms");
    for size in value(WIRES, "awg-solid-20c").as_array().unwrap() {
        let ohms = copper_ohms(FEET_1000, area(size["awg"].as_str().unwrap()), 20.0);
        hyper.add(ohms, size["ohm_per_1000ft"].as_f64().unwrap());
    }
    let mut cirris = Row::off("Cirris wire resistance table", "AWG 12 to 24: ohms");
    for (gauge, ohms) in by_name(&value(WIRES, "awg-cross-check-12-24")) {
        cirris.add(copper_ohms(FEET_1000, area(&gauge), 20.0), ohms);
    }
    let mut metric = Row::off("wire gauge table at 1728.org", "AWG 10 to 24: ohms");
    for (gauge, ohms) in by_name(&value(WIRES, "awg-km-cross-check")) {
        metric.add(copper_ohms(1000.0, area(&gauge), 20.0), ohms);
    }
    let mut mils =
        Row::off("Lessons In Electric Circuits (T. R. Kuphaldt)", "AWG 4/0 to 24: circular mils");
    for (gauge, circular_mils) in by_name(&value(WIRES, "awg-cmil-kuphaldt")) {
        mils.add(area(&gauge) / CMIL_MM2, circular_mils);
    }
    let mut steps = Row::off(
        "Lessons In Electric Circuits (T. R. Kuphaldt)",
        "three gauges are a factor of two",
    );
    let twice = value(WIRES, "awg-three-steps-double").as_f64().unwrap();
    for gauge in 4..=21 {
        steps.add(area(&gauge.to_string()) / area(&(gauge + 3).to_string()), twice);
    }
    vec![hyper, cirris, metric, mils, steps]
}

#[derive(Deserialize)]
struct Sizes {
    sizes: Vec<Size>,
}

#[derive(Deserialize)]
struct Size {
    mm2: f64,
    ohms_per_km: f64,
}

/// Highest ohms that a conductor of a nominal size may have: bare solid copper has to lie below.
fn limits() -> Vec<Row> {
    let mut flexible = Row::used("IEC 60228", "classes 5 and 6, plain: highest ohms by mm2");
    for Size { mm2, ohms_per_km } in serde_yaml::from_str::<Sizes>(IEC).unwrap().sizes {
        flexible.add(copper_ohms(1000.0, mm2, 20.0), ohms_per_km);
    }
    let by_size = |source, what, id: &str| {
        let mut row = Row::used(source, what);
        for (mm2, ohms) in pairs(&value(WIRES, id)) {
            row.add(copper_ohms(1000.0, mm2, 20.0), ohms);
        }
        row
    };
    let tinned = by_size(
        "IEC 60228",
        "classes 5 and 6, tinned: highest ohms by mm2",
        "iec60228-class5-tinned",
    );
    let solid = by_size(
        "IEC 60228",
        "classes 1 and 2, plain: highest ohms by mm2",
        "iec60228-class2-plain",
    );
    let cars = by_size(
        "ISO 6722 (from memory)",
        "cable of vehicles: highest ohms by mm2",
        "iso6722-resistance",
    );
    let mut aircraft =
        Row::used("FAA Advisory Circular 43.13-1B", "tinned aircraft wire: highest ohms");
    for size in value(WIRES, "ac4313-t11-9-tinned").as_array().unwrap() {
        let area_mm2 = size["cmil"].as_f64().unwrap() * CMIL_MM2;
        aircraft
            .add(copper_ohms(FEET_1000, area_mm2, 20.0), size["ohm_per_1000ft"].as_f64().unwrap());
    }
    vec![flexible, tinned, solid, cars, aircraft]
}

fn heat() -> Vec<Row> {
    let times = |celsius: f64| copper_ohms(1.0, 1.0, celsius) / copper_ohms(1.0, 1.0, 20.0);
    let mut standard =
        Row::off("International Annealed Copper Standard", "ohms by mm2 and metre, coefficient");
    let resistivity = &value(WIRES, "iacs-definition")["resistivity_ohm_mm2_per_m"];
    standard.add(copper_ohms(1.0, 1.0, 20.0), resistivity.as_f64().unwrap());
    let per_kelvin = value(WIRES, "iacs-temp-coefficient").as_f64().unwrap();
    standard.add(times(120.0) - 1.0, 100.0 * per_kelvin);
    let mut iec = Row::off("IEC 60228", "5 to 100 C: what brings ohms back to 20 C");
    for (celsius, factor) in pairs(&value(WIRES, "iec60228-temp-multiplier")) {
        iec.add(1.0 / times(celsius), factor);
    }
    let mut runs =
        Row::off("FAA Advisory Circular 43.13-1B", "-50 to 150 C: length of run by heat");
    for tens in -5..=15 {
        let celsius = 10.0 * f64::from(tens);
        runs.add(1.0 / times(celsius), 254.5 / (234.5 + celsius));
    }
    let mut pure = Row::off(
        "Lessons In Electric Circuits (T. R. Kuphaldt)",
        "pure copper, 3 % below the standard: a wire's ohms, cold and warm",
    );
    pure.add(
        copper_ohms(2.3 * FEET_1000, area("14"), 20.0),
        value(WIRES, "wire-14awg-2300ft").as_f64().unwrap(),
    );
    let warm = value(WIRES, "temp-example-15-ohm");
    let figure = |key: &str| warm[key].as_f64().unwrap();
    pure.add(figure("r20") * times(figure("t")), figure("r"));
    vec![standard, iec, runs, pure]
}

fn drops() -> Vec<Row> {
    // 28 V, 20 A, 50 ft: between No. 10 and No. 8 by the circular's own areas and a limit of 1 V.
    let mut aircraft =
        Row::alike("FAA Advisory Circular 43.13-1B", "size of wire for 20 A over 50 ft");
    let sizes = value(WIRES, "ac4313-t11-9-tinned");
    for size in sizes.as_array().unwrap() {
        let gauge = size["awg"].as_str().unwrap();
        if gauge == "8" || gauge == "10" {
            let area_mm2 = size["cmil"].as_f64().unwrap() * CMIL_MM2;
            let lost_volts = 20.0 * copper_ohms(0.05 * FEET_1000, area_mm2, 20.0);
            aircraft.so((lost_volts <= 1.0) == (gauge == "8"));
        }
    }
    let mut boats = Row::used("ABYC E-11", "ohms of a circular mil and foot");
    let ohms = copper_ohms(0.3048, CMIL_MM2, 20.0);
    boats.add(ohms, value(DROPS, "abyc-cm-formula").as_f64().unwrap());
    let mut pump = Row::alike("ABYC E-11", "size of wire for a bilge pump, 3 %");
    let example = value(DROPS, "abyc-bilge-example");
    let figure = |key: &str| example[key].as_f64().unwrap();
    let allowed_volts = figure("volts") * figure("pct") / 100.0;
    for (circular_mils, is_enough) in [(6530.0, true), (5833.0, false)] {
        let lost_ohms = copper_ohms(0.3048 * figure("feet"), circular_mils * CMIL_MM2, 20.0);
        pump.so((figure("amps") * lost_ohms <= allowed_volts) == is_enough);
    }
    vec![aircraft, boats, pump, faults()]
}

/// What opens and shorts do to a circuit of two loads.
fn faults() -> Row {
    let mut row = Row::alike(
        "DOE Fundamentals Handbook 1011/1-92, FAA-H-8083-30",
        "opens and shorts, in series and beside",
    );
    let ten = Law::Resistor { ohms: 10.0 };
    for (id, lower) in [("doe-open-series", Law::Open), ("doe-short", Law::Resistor { ohms: 0.0 })]
    {
        assert_eq!(value(DROPS, id), "qualitative");
        let solver = divider(12.0, 10.0, lower);
        let case = solver.case(&[]).unwrap();
        let amps = case.branch_amps(BranchId(1));
        let volts = case.node_volts(crate::physics::MIDDLE);
        // Open: no current, and the whole source across the open part. Shorted: the other load limits it.
        match lower {
            Law::Open => row.so(amps.abs() < 1e-9 && (volts - 12.0).abs() < 1e-6),
            _ => row.so((amps - 1.2).abs() < 1e-6 && volts.abs() < 1e-6),
        }
    }
    for id in ["doe-open-parallel", "faa-open-series"] {
        assert_eq!(value(DROPS, id), "qualitative");
    }
    // Of two loads side by side an open one leaves the other alone, a shorted one takes all there is.
    row.so((amps_behind(12.0, 0.0, &ten) - 1.2).abs() < 1e-9);
    row.so(amps_behind(12.0, 0.01, &Law::Resistor { ohms: 0.0 }) > 1000.0);
    row
}
