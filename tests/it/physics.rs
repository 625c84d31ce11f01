//! Laws of lamps, diodes, meters and fuses against published values, from `tests/data/physics`.

use halfsplit::electric::{
    Branch, BranchId, Change, GROUND, Law, Network, NodeId, Solver, Steadiness,
};
use serde::Deserialize;
use serde_json::Value;

pub const TOP: NodeId = NodeId(1);
pub const MIDDLE: NodeId = NodeId(2);

/// One published figure.
#[derive(Debug, Deserialize)]
pub struct Published {
    pub id: String,
    pub value: Value,
    source: String,
    status: String,
}

/// The figure of that name; `keys` lead into it.
#[track_caller]
pub fn published(text: &str, id: &str, keys: &[&str]) -> Vec<f64> {
    let all: Vec<Published> = serde_yaml::from_str(text).unwrap();
    let found =
        all.iter().find(|published| published.id == id).unwrap_or_else(|| panic!("no `{id}`"));
    assert!(!found.source.is_empty() && !found.status.is_empty(), "`{id}` names no source");
    let value = keys.iter().fold(&found.value, |value, key| &value[*key]);
    match value {
        Value::Array(list) => list.iter().map(|entry| entry.as_f64().unwrap()).collect(),
        one => vec![one.as_f64().unwrap_or_else(|| panic!("`{id}` {keys:?} is {one}"))],
    }
}

macro_rules! data {
    ($file:literal) => {
        include_str!(concat!("../data/physics/", $file))
    };
}

#[track_caller]
fn check(found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs(),
        "found {found}, published {expected}"
    );
}

/// A source over `law` alone: amperes it takes.
pub fn amps_at(volts: f64, law: &Law) -> f64 {
    amps_behind(volts, 0.0, law)
}

/// A source with ohms in series, and what `law` takes from it.
pub fn amps_behind(volts: f64, ohms: f64, law: &Law) -> f64 {
    let branches = vec![
        Branch { from: TOP, to: GROUND, law: Law::Source { volts, ohms } },
        Branch { from: TOP, to: GROUND, law: *law },
    ];
    let solver = Solver::new(&Network { nodes: 2, branches, relays: vec![] }).unwrap();
    solver.case(&[]).unwrap().branch_amps(BranchId(1))
}

/// Two resistors on a source; the tester goes across the lower one.
pub fn divider(volts: f64, upper_ohms: f64, lower: Law) -> Solver {
    let branches = vec![
        Branch { from: TOP, to: GROUND, law: Law::Source { volts, ohms: 0.0 } },
        Branch { from: TOP, to: MIDDLE, law: Law::Resistor { ohms: upper_ohms } },
        Branch { from: MIDDLE, to: GROUND, law: lower },
    ];
    Solver::new(&Network { nodes: 3, branches, relays: vec![] }).unwrap()
}

#[test]
fn a_lamp_follows_the_published_exponents() {
    let lamp = Law::Lamp { volts: 12.0, watts: 21.0 };
    let steps = (14.0_f64 / 11.0).ln();
    let amps_exponent = (amps_at(14.0, &lamp) / amps_at(11.0, &lamp)).ln() / steps;
    check(amps_exponent, published(data!("lamps.yaml"), "exp-current", &[])[0], 0.01);
    // The two published exponents are rounded apart: 0.55 makes 1.55 of power.
    check(amps_exponent + 1.0, published(data!("lamps.yaml"), "exp-power", &[])[0], 0.04);
}

#[test]
fn a_headlight_is_as_cold_and_as_hot_as_published() {
    let figure = |key| published(data!("lamps.yaml"), "headlight-hot-cold", &[key])[0];
    let lamp = Law::Lamp { volts: 12.0, watts: figure("hot_W") };
    check(amps_at(12.0, &lamp), figure("hot_A"), 1e-4);
    check(12.0 / amps_at(12.0, &lamp), figure("hot_ohm"), 1e-4);
    check(1e-3 / amps_at(1e-3, &lamp), figure("cold_ohm"), 1e-2);
    let taught = published(data!("lamps.yaml"), "ratio-practice", &[]);
    assert!((taught[0]..taught[1]).contains(&(figure("hot_ohm") / 0.35)));
}

#[test]
fn a_two_filament_bulb_stays_below_its_sheet_at_test_volts() {
    let figure = |key| published(data!("lamps.yaml"), "r37-py21-5w", &[key]);
    let volts = figure("test_V")[0];
    for (watts, most) in figure("rated_W").into_iter().zip(figure("max_W")) {
        let taken = volts * amps_at(volts, &Law::Lamp { volts: figure("rated_V")[0], watts });
        assert!(taken > watts && taken <= most, "{watts} W bulb takes {taken} W, at most {most} W");
    }
}

#[test]
fn diodes_drop_what_they_should_and_less_at_a_meters_current() {
    for id in ["silicon", "germanium"] {
        let forward_volts = published(data!("diodes.yaml"), id, &[])[0];
        let diode = Law::Diode { forward_volts, at_amps: 1.0, zener_volts: None };
        check(amps_behind(forward_volts + 10.0, 10.0, &diode), 1.0, 1e-6);
        let meter_amps = amps_behind(2.5, 2500.0, &diode);
        let shown_volts = 2.5 - 2500.0 * meter_amps;
        assert!(
            shown_volts > 0.25 * forward_volts && shown_volts < forward_volts,
            "{id}: {shown_volts} V"
        );
        let reverse_amps = amps_behind(-12.0, 10.0, &diode);
        assert!(reverse_amps < 0.0 && reverse_amps > -1e-4, "{id}: {reverse_amps} A");
    }
}

#[test]
fn a_led_takes_its_current_through_the_published_resistor() {
    let red = published(data!("diodes.yaml"), "led-vf", &["red"]);
    assert!(red[0] < 1.6 && 1.6 < red[1]);
    let led = Law::Diode { forward_volts: 1.6, at_amps: 0.02, zener_volts: None };
    for (id, volts) in [("led-resistor-6v", 6.0), ("led-resistor-24v", 24.0)] {
        let ohms = published(data!("diodes.yaml"), id, &["ohm"])[0];
        let amps = amps_behind(volts, ohms, &led);
        check(amps * amps * ohms, published(data!("diodes.yaml"), id, &["W"])[0], 1e-3);
    }
}

#[test]
fn a_meter_pulls_down_a_very_weak_divider() {
    let ohms = published(data!("meters.yaml"), "dmm-10meg", &[])[0];
    let solver = divider(24.0, 250e6, Law::Resistor { ohms: 250e6 });
    let case = solver.case(&[]).unwrap();
    check(
        case.node_volts(MIDDLE),
        published(data!("meters.yaml"), "loading-250meg", &["true"])[0],
        1e-4,
    );
    let load = case.with_load(MIDDLE, GROUND, &Law::Resistor { ohms }).unwrap();
    check(load.volts, published(data!("meters.yaml"), "loading-250meg", &["read"])[0], 1e-4);
    assert_eq!(load.steadiness, Steadiness::Steady);
}

#[test]
fn an_ammeter_in_a_branch_lowers_what_it_reads() {
    let meter = Law::Resistor { ohms: 0.5 };
    for (key, ohms) in [("branch3", 3.0), ("branch1p5", 1.5)] {
        let figures = published(data!("meters.yaml"), "ammeter-0p5", &[key]);
        let without = divider(2.0, ohms, Law::Resistor { ohms: 0.0 });
        check(without.case(&[]).unwrap().branch_amps(BranchId(1)), figures[0], 3e-4);
        let with = Change::Law { branch: BranchId(2), law: meter };
        check(without.case(&[with]).unwrap().branch_amps(BranchId(1)), figures[1], 3e-4);
    }
    let ratio = published(data!("meters.yaml"), "ammeter-0p02", &["ratio"])[0];
    check(amps_behind(10.0, 10.0, &Law::Resistor { ohms: 0.02 }), ratio, 1e-4);
}

#[test]
fn a_voltmeter_on_a_cell_and_an_ohmmeter_scale() {
    let figure = |key| published(data!("meters.yaml"), "cell-voltmeter", &[key])[0];
    let amps = amps_behind(1.585, 0.1, &Law::Resistor { ohms: 1000.0 });
    check(amps, figure("A"), 4e-3);
    check(amps * 1000.0, figure("V"), 4e-5);
    for ohms in [0.0, 3000.0, 9000.0, 27000.0] {
        let share = published(data!("meters.yaml"), "ohmmeter-scale", &[&format!("{ohms}")])[0];
        check(amps_behind(9.0, 9000.0, &Law::Resistor { ohms }) / 1e-3, share, 1e-6);
    }
}

#[test]
fn a_fuse_holds_its_rating_and_opens_beyond_the_longest_overload() {
    let all: Vec<Published> = serde_yaml::from_str(data!("fuses.yaml")).unwrap();
    let longest = all[0].value[0][0].as_f64().unwrap();
    for point in all[1].value.as_array().unwrap() {
        let (rated_amps, ohms) = (point[0].as_f64().unwrap(), point[1].as_f64().unwrap() * 1e-3);
        for (load, opens) in [(1.0, false), (longest * 0.99, false), (longest * 1.01, true)] {
            let load_ohms = 12.0 / (load * rated_amps) - ohms;
            let solver = divider(12.0, load_ohms, Law::Fuse { ohms, rated_amps });
            let case = solver.case(&[]).unwrap();
            assert_eq!(
                !case.blown().is_empty(),
                opens,
                "{rated_amps} A fuse at {load} of its rating"
            );
            // Blown, it has the whole supply across it and its load none.
            check(
                case.node_volts(MIDDLE),
                if opens { 12.0 } else { load * rated_amps * ohms },
                1e-6,
            );
        }
    }
}
