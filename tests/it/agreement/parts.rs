//! Relays, starter solenoids, terminals, and the drops a sound start circuit may have.

use std::sync::Arc;

use halfsplit::circuit::{Circuit, Element, builtin, read};
use halfsplit::electric::Solver;
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::Lineup;
use halfsplit::suspect::damage::changes;

use super::{Row, by_name, value};

const RELAYS: &str = include_str!("../../data/physics/relays.yaml");
const DROPS: &str = include_str!("../../data/physics/drops.yaml");
const MAKER: &str = "component maker data, relays";

pub fn rows() -> Vec<Row> {
    let mut rows = relays();
    rows.extend(solenoids());
    rows.push(terminals());
    rows.extend(start_circuits());
    rows
}

/// Volts at terminals, amperes in links, what is pulled.
struct Solved {
    circuit: Arc<Circuit>,
    volts: Vec<f64>,
    amps: Vec<f64>,
    pulled: Vec<bool>,
}

impl Solved {
    /// A circuit in a setup under a suspect.
    fn of(circuit: &Arc<Circuit>, setup: &str, suspect: &str) -> Solved {
        let setup = Setup::from_id(circuit, setup).unwrap();
        let wiring = Wiring::new(circuit, &setup);
        let solver = Solver::new(&wiring.network).unwrap();
        let lineup = Lineup::of(circuit);
        let damage = &lineup.suspects[lineup.find(suspect).unwrap().index()].damage;
        let case = solver.case(&changes(circuit, &setup, &wiring, damage)).unwrap();
        Solved {
            circuit: Arc::clone(circuit),
            volts: circuit.terminal_ids().map(|at| case.node_volts(wiring.node(at))).collect(),
            amps: circuit.link_ids().map(|at| case.branch_amps(wiring.branch(at))).collect(),
            pulled: circuit
                .part_ids()
                .map(|part| wiring.relay(part).is_some_and(|relay| case.pulled(relay)))
                .collect(),
        }
    }

    fn volts(&self, from: &str, to: &str) -> f64 {
        let at = |id: &str| self.volts[self.circuit.find_terminal(id).unwrap().index()];
        at(from) - at(to)
    }

    /// Amperes of a part's links with this role.
    fn amps(&self, part: &str, role: &str) -> f64 {
        let links = self.circuit.links_of(self.circuit.part_by_id(part).unwrap()).iter();
        links
            .filter(|link| self.circuit.link(**link).role == role)
            .map(|link| self.amps[link.index()])
            .sum()
    }

    fn is_pulled(&self, part: &str) -> bool {
        self.pulled[self.circuit.part_by_id(part).unwrap().index()]
    }
}

fn circuit(name: &str, text: &str) -> Arc<Circuit> {
    let (circuit, problems) = read::read_text(name, text);
    Arc::new(circuit.unwrap_or_else(|| panic!("{problems:?}")))
}

/// A relay on a battery of so many volts, straight across its coil.
fn on_battery(volts: f64, system_volts: f64, relay: &str) -> Solved {
    let text = format!(
        "format: 1\nname: x\nsystem: {system_volts} V\nplaces: {{ bench: 0 min }}\nparts:\n  battery: {{ \
         kind: battery, at: bench, volts: {volts} V, ohms: 0.1 mohm }}\n  relay: {{ kind: relay, at: bench, \
         {relay} }}\n  lamp: {{ kind: lamp, at: bench }}\nwires:\n  - {{ from: battery.+, to: relay.86 }}\n  \
         - {{ from: relay.85, to: battery.- }}\n  - {{ from: battery.+, to: relay.30 }}\n  - {{ from: \
         relay.87, to: lamp.+ }}\n  - {{ from: lamp.-, to: battery.- }}\nworks:\n  lights: {{ see: lamp lit \
         }}\n"
    );
    Solved::of(&circuit("relay", &text), "rest", "sound")
}

/// System volts, operate volts, release volts, coil ohms of each published relay.
fn published_relays() -> Vec<[f64; 4]> {
    let mut list = Vec::new();
    let first = by_name(&value(RELAYS, "relay-te-b-001"));
    list.push([12.0, first["operate_V"], first["release_V"], first["ohm"]]);
    let three = |list: &serde_json::Value, system_volts: f64| {
        let at = |index: usize| list[index].as_f64().unwrap();
        [system_volts, at(0), at(1), at(2)]
    };
    let second = value(RELAYS, "relay-te-b-002");
    list.push(three(&second["12V_002"], 12.0));
    list.push(three(&second["24V_004"], 24.0));
    list.push(three(&value(RELAYS, "relay-oen-40"), 12.0));
    for id in ["relay-oen-78", "relay-oen-76"] {
        for (system, figures) in value(RELAYS, id).as_object().unwrap() {
            list.push(three(figures, system.parse().unwrap()));
        }
    }
    list
}

fn relays() -> Vec<Row> {
    let mut operate = Row::alike(MAKER, "relays of 5 to 24 V: pull in at their volts, not below");
    for [system_volts, pull_in, drop_out, ohms] in published_relays() {
        let relay = format!("coil: {ohms} ohm, pull_in: {pull_in} V, drop_out: {drop_out} V");
        operate.so(on_battery(1.01 * pull_in, system_volts, &relay).is_pulled("relay"));
        operate.so(!on_battery(0.98 * pull_in, system_volts, &relay).is_pulled("relay"));
    }
    let mut watts = Row::off(MAKER, "relays: watts of a coil at rated volts");
    let first = by_name(&value(RELAYS, "relay-te-b-001"));
    let second = value(RELAYS, "relay-te-b-002");
    let figure = |key: &str, at: usize| second[key][at].as_f64().unwrap();
    for (volts, ohms, printed) in [
        (12.0, first["ohm"], first["W"]),
        (12.0, figure("12V_002", 2), figure("12V_002", 3)),
        (24.0, figure("24V_004", 2), figure("24V_004", 3)),
    ] {
        let amps = on_battery(volts, volts, &format!("coil: {ohms} ohm")).amps("relay", "coil");
        watts.add(volts * amps, printed);
    }
    let mut usual =
        Row::alike(MAKER, "the usual relay lies among theirs: volts, ohms, contact drop");
    let range = value(RELAYS, "relay-range");
    let within = |key: &str, value: f64| {
        (range[key][0].as_f64().unwrap()..=range[key][1].as_f64().unwrap()).contains(&value)
    };
    let solved = on_battery(12.0, 12.0, "pins: 4");
    let links = solved.circuit.links_of(solved.circuit.part_by_id("relay").unwrap());
    for link in links {
        match solved.circuit.link(*link).element {
            Element::Coil { ohms, pull_in_volts, drop_out_volts } => {
                usual.so(within("coil_ohm", ohms));
                usual.so(within("pickup_V", pull_in_volts));
                usual.so(within("dropout_V", drop_out_volts));
            }
            Element::Contact { ohms, .. } => {
                let typical = value(RELAYS, "relay-te-b-contacts")["NO_mV"][0].as_f64().unwrap();
                usual.so((10.0 * ohms * 1000.0 - typical).abs() < 1e-9);
            }
            _ => {}
        }
    }
    vec![operate, watts, usual]
}

/// Starter solenoids with both windings on, and with the pull-in winding bridged by their own contact.
fn solenoids() -> Vec<Row> {
    let mut row = Row::off(
        "US Army TM 5-2420-230-24-2",
        "starter solenoids, 12 and 24 V: amperes of both windings, of one",
    );
    for (id, volts) in [("solenoid-pi-hi", 10.0), ("solenoid-pi-hi-24v", 20.0)] {
        for figures in value(RELAYS, id).as_object().unwrap().values() {
            let [both, hold] = [0, 1].map(|at| figures[at].as_f64().unwrap());
            let (hold_ohms, pull_ohms) = (volts / hold, volts / (both - hold));
            // A starter that is open keeps the contact from bridging anything but the pull-in winding.
            let text = format!(
                "format: 1\nname: x\nsystem: {} V\nplaces: {{ bench: 0 min }}\nparts:\n  battery: {{ kind: \
                 battery, at: bench, volts: {volts} V, ohms: 0.1 mohm }}\n  solenoid: {{ kind: solenoid, at: \
                 bench, coil: {hold_ohms} ohm, pull_winding: {pull_ohms} ohm, ground: body, pull_in: 5 V, \
                 drop_out: 1 V }}\n  starter: {{ kind: starter motor, at: bench, stall: 1 mohm, running: 2000 \
                 A }}\n  ground: {{ kind: ground point, at: bench, ohms: 0.01 mohm }}\nwires:\n  - {{ from: \
                 battery.+, to: solenoid.coil in, size: 300 mm2, length: 1 cm }}\n  - {{ from: battery.+, to: \
                 solenoid.battery, size: 300 mm2, length: 1 cm }}\n  - {{ from: solenoid.motor, to: starter.+, \
                 size: 300 mm2, length: 1 cm }}\n  - {{ name: ground cable, from: battery.-, to: ground, size: \
                 300 mm2, length: 1 cm }}\nworks:\n  turns: {{ see: starter turns }}\n",
                1.2 * volts
            );
            let circuit = circuit("solenoid", &text);
            let amps = |suspect: &str| {
                let solved = Solved::of(&circuit, "rest", suspect);
                solved.amps("solenoid", "coil") + solved.amps("solenoid", "pull-in winding")
            };
            // Its contact burnt away: both windings stay on. Sound, with the starter's brushes gone: one.
            row.add(amps("solenoid.contact-open"), both);
            row.add(amps("starter.open"), hold);
        }
    }
    vec![row]
}

/// Numbered terminals of the catalogue are those of DIN 72552.
fn terminals() -> Row {
    let mut row =
        Row::alike("DIN 72552, ISO 7588", "numbered terminals of relays, flashers, coils, sources");
    let mut known: Vec<String> =
        value(RELAYS, "relay-pins").as_object().unwrap().keys().cloned().collect();
    for id in ["din72552-a", "din72552-c"] {
        known.extend(value(RELAYS, id).as_object().unwrap().keys().cloned());
    }
    let circuit = circuit("every-kind", include_str!("../../data/every-kind.yaml"));
    for part in ["relay", "flasher", "ignition"] {
        let terminals = &circuit.part(circuit.part_by_id(part).unwrap()).terminals;
        for terminal in terminals {
            let id = &circuit.terminal(*terminal).id;
            let number = id.rsplit_once('.').unwrap().1;
            row.so(known.iter().any(|one| one == number));
        }
    }
    row
}

/// Cranking, both built-in start circuits keep every published limit; a bad joint breaks the one it is in.
fn start_circuits() -> Vec<Row> {
    let forklift = "US Army TM 10-3930-671-24";
    let mut limits =
        Row::used(forklift, "sound start circuits, cranking: drops on the way, least volts");
    let mut taught = Row::used("common practice", "sound start circuits, cranking: taught drops");
    let mut bad = Row::alike(forklift, "start circuits with 0.03 ohm in a cable exceed its limit");
    let figure = |id: &str| value(DROPS, id).as_f64().unwrap();
    let practice = by_name(&value(DROPS, "practice-start-drops"));
    let least = value(DROPS, "crank-9p6")["min_V"].as_f64().unwrap();
    for (name, setup, stud, output) in [
        ("start-button", "key.on+starter-button.pressed", "solenoid.battery", "solenoid.motor"),
        (
            "start-interlock",
            "key.on+start-button.pressed",
            "start-relay.battery",
            "start-relay.motor",
        ),
    ] {
        let circuit = circuit(name, builtin::text(name).unwrap());
        let sound = Solved::of(&circuit, setup, "sound");
        let amps = sound.amps("starter", "winding");
        let positive = sound.volts("battery.plus", stud);
        let ground = sound.volts("starter.body", "battery.minus");
        limits.add(positive, figure("tm-fork-positive-0p4"));
        limits.add(positive / amps, figure("tm-fork-0p2-per-100a") / 100.0);
        limits.add(least, sound.volts("battery.plus", "battery.minus"));
        let contacts = sound.volts(stud, output);
        let lost = positive + sound.volts(output, "starter.plus") + contacts;
        if name == "start-button" {
            // The other one has a diode in the way of its coil, by design.
            let coil = sound.volts("solenoid.coil-in", "solenoid.coil-out");
            let allowed = &value(DROPS, "tm-fork-solenoid-control")["good_V"][1];
            let supply = sound.volts("battery.plus", "battery.minus");
            limits.add(supply - coil, allowed.as_f64().unwrap());
        }
        taught.add(positive, practice["cable"]);
        taught.add(contacts, practice["solenoid_contacts"]);
        taught.add(ground, practice["ground_side"]);
        taught.add(lost, practice["positive_side"]);
        let joint = Solved::of(&circuit, setup, "battery-cable.high-0.03");
        bad.so(joint.volts("battery.plus", stud) > figure("tm-fork-positive-0p4"));
    }
    vec![limits, taught, bad]
}
