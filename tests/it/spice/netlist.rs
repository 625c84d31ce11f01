//! A circuit, as it stands, in the words of a general-purpose circuit simulator.
//!
//! Written from the circuit's graph and the documented laws alone: nothing here asks `setup::wiring`,
//! `suspect::damage` or `electric` how something behaves, so that a slip there shows as a difference.
//! What conducts is a voltage source of its volts (mostly none) in series with a source of ohms times
//! the current in it: unlike the simulator's own resistor that leaves the least leak beside the
//! thickest cable in the equations.

use std::collections::BTreeSet;
use std::fmt::Write;

use halfsplit::circuit::{Circuit, ClosedWhen, Element, Kind, LinkId, PartId, TerminalId};
use halfsplit::setup::Setup;
use halfsplit::suspect::damage::Damage;

/// Every node leaks so much to ground (documented in `electric`): it gives a floating island its level.
const LEAK_OHMS: f64 = 1e13;
/// Boltzmann's constant times 27 C over the elementary charge, volts: the simulator's own values.
const THERMAL_VOLTS: f64 = 1.380_648_52e-23 * 300.15 / 1.602_176_620_8e-19;
/// Hot ohms over cold ohms and the exponent of the current: `tests/data/physics/lamps.yaml`.
const HOT_OVER_COLD: f64 = 4.80 / 0.350;
const AMPS_EXPONENT: f64 = 0.55;
/// Share of a diode's forward volts over its body, its slope per forward volt with its bounds, and its
/// leak: documented in `electric`, from memory there. They are part of what is to be simulated.
const BODY_SHARE: f64 = 0.1;
const SLOPE_SHARE: f64 = 0.06;
const SLOPE_BOUNDS: (f64, f64) = (0.026, 0.08);
const DIODE_LEAK_OHMS: f64 = 1e9;
/// Share of its running amperes at which a motor breaks loose: documented in `electric`.
const BREAK_LOOSE: f64 = 0.9;
/// A jumper with its leads and fuse: documented in `setup`, from memory there.
const JUMPER_OHMS: f64 = 0.05;
/// Ohms of a sound battery on charge over those while it gives: documented in `setup`, from memory there.
const CHARGE_TIMES: f64 = 20.0;

/// Tight enough to compare a millivolt, no leak of the simulator's own, and large pivots: with its usual
/// ones a floating island with amperes in it is up to 36 mV off the level at which its leaks add up to none.
const OPTIONS: &str =
    ".options reltol=1e-8 vntol=1e-10 abstol=1e-12 gmin=1e-18 pivrel=0.5 itl1=1000 temp=27 tnom=27";

/// What moves contacts: the coils of a part together, one input of a control unit, or the bimetal of a
/// breaker that resets itself (pulled when it is hot).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mover {
    Armature(PartId),
    Input(LinkId),
}

/// A circuit in one setup with one thing wrong, and everything that moves standing still.
#[derive(Clone, Copy)]
pub struct Scene<'a> {
    pub circuit: &'a Circuit,
    pub setup: &'a Setup,
    pub damage: &'a [Damage],
    /// Armatures that are pulled, inputs that are fed.
    pub pulled: &'a BTreeSet<Mover>,
    /// Fuses that have blown.
    pub blown: &'a BTreeSet<LinkId>,
}

/// The netlist, without a title: equal scenes have equal text.
pub fn netlist(scene: Scene<'_>) -> String {
    let mut text = format!("{OPTIONS}\n");
    for link in scene.circuit.link_ids().filter(|&link| scene.conducts(link)) {
        scene.element(&mut text, link);
    }
    for (at, damage) in scene.damage.iter().enumerate() {
        let (one, other, ohms) = match damage {
            Damage::Grounded(terminal, ohms) => (*terminal, scene.circuit.chassis, ohms),
            Damage::Touching(one, other, ohms) => (*one, *other, ohms),
            _ => continue,
        };
        let (one, other) = (scene.node(one), scene.node(other));
        writeln!(text, "vg{at} {one} g{at} 0\nhg{at} g{at} {other} vg{at} {ohms:e}").unwrap();
    }
    for (at, link) in jumpers(scene.circuit, scene.setup) {
        if !scene.blown.contains(&LinkId::new(at)) {
            let (from, to) = scene.circuit.ends(link);
            let ends = [&*scene.node(from), &*scene.node(to)];
            conductor(&mut text, at, ends, 0.0, JUMPER_OHMS);
        }
    }
    for terminal in scene.circuit.terminal_ids().filter(|&at| at != scene.circuit.chassis) {
        let at = terminal.index();
        writeln!(text, "rl{at} {} 0 {LEAK_OHMS:e}", scene.node(terminal)).unwrap();
    }
    text.push_str(".end\n");
    text
}

/// The island of each terminal, as the lowest of its terminals: what conducts to one another.
pub fn islands(scene: Scene<'_>) -> Vec<usize> {
    let links = scene.circuit.link_ids().filter(|&link| scene.conducts(link));
    let links = links.map(|link| scene.ends(link));
    let damages = scene.damage.iter().filter_map(|damage| match damage {
        Damage::Grounded(terminal, _) => Some((*terminal, scene.circuit.chassis)),
        Damage::Touching(one, other, _) => Some((*one, *other)),
        _ => None,
    });
    let jumpers = jumpers(scene.circuit, scene.setup).into_iter();
    let jumpers = jumpers.filter(|(at, _)| !scene.blown.contains(&LinkId::new(*at)));
    let jumpers = jumpers.map(|(_, link)| scene.circuit.ends(link));
    let joined: Vec<_> = links.chain(damages).chain(jumpers).collect();
    let mut island: Vec<usize> = (0..scene.circuit.terminal_ids().count()).collect();
    loop {
        let before = island.clone();
        for (one, other) in &joined {
            let least = island[one.index()].min(island[other.index()]);
            (island[one.index()], island[other.index()]) = (least, least);
        }
        if island == before {
            return island;
        }
    }
}

/// The jumpers of a setup, numbered after the links, with the links they lie across: a pin's, a switch's
/// only contact, or that of a relay which closes.
pub fn jumpers(circuit: &Circuit, setup: &Setup) -> Vec<(usize, LinkId)> {
    let across = |part: PartId| {
        let mut links = circuit.links_of(part).iter().copied();
        links.find(|&link| match (&circuit.part(part).kind, &circuit.link(link).element) {
            (Kind::Pin { .. }, _) => true,
            (_, Element::Contact { closed_when, .. }) => *closed_when != ClosedWhen::Released,
            _ => false,
        })
    };
    let links = setup.bridged.iter().filter_map(|&part| across(part));
    links.enumerate().map(|(at, link)| (circuit.link_ids().count() + at, link)).collect()
}

/// What is left of a fault when a part of it has been swapped for a good one: the dirt in the holder of a
/// fuse or bulb, and the joint under a part's mounting (documented in `suspect`).
pub fn left_over(circuit: &Circuit, setup: &Setup, damage: &Damage) -> bool {
    let link = match damage {
        Damage::Jammed(part, _) | Damage::Sluggish(part, _) | Damage::Mute(part) => {
            return !setup.swapped.contains(part);
        }
        Damage::Open(link)
        | Damage::Series(link, _)
        | Damage::Instead(link, _)
        | Damage::Welded(link)
        | Damage::Deaf(link, _) => circuit.link(*link),
        Damage::Grounded(..) | Damage::Touching(..) | Damage::Swapped(..) => return true,
    };
    let in_holder = matches!(circuit.part(link.part).kind, Kind::Fuse | Kind::Lamp);
    let dirt = matches!(damage, Damage::Series(..)) && in_holder;
    dirt || link.role == "body joint" || !setup.swapped.contains(&link.part)
}

impl Scene<'_> {
    fn node(self, terminal: TerminalId) -> String {
        if terminal == self.circuit.chassis {
            return "0".to_owned();
        }
        format!("n{}", terminal.index())
    }

    fn has(self, damage: &Damage) -> bool {
        self.damage.contains(damage)
    }

    /// Whether any current can flow in a link.
    fn conducts(self, link: LinkId) -> bool {
        let owner = self.circuit.link(link).part;
        let parted = match self.circuit.part(owner).kind {
            Kind::Pin { connector } => self.setup.parted.contains(&connector),
            _ => false,
        };
        let off = self.setup.ground_off && self.is_ground_cable(link);
        let out = self.setup.out.contains(&owner);
        if parted
            || off
            || out
            || self.setup.lifted.contains(&owner)
            || self.has(&Damage::Open(link))
        {
            return false;
        }
        match &self.circuit.link(link).element {
            Element::Fuse { .. } => !self.blown.contains(&link),
            Element::Cutout { .. } => !self.pulled.contains(&Mover::Input(link)),
            Element::Contact { closed_when, .. } => {
                self.has(&Damage::Welded(link)) || self.is_closed(owner, closed_when)
            }
            _ => true,
        }
    }

    fn is_closed(self, owner: PartId, closed_when: &ClosedWhen) -> bool {
        match closed_when {
            ClosedWhen::Control { control, positions } => {
                positions.contains(&self.setup.positions[control.index()])
            }
            ClosedWhen::Pulled => self.pulled.contains(&Mover::Armature(owner)),
            ClosedWhen::Released => !self.pulled.contains(&Mover::Armature(owner)),
            ClosedWhen::Sensed { link } => {
                self.pulled.contains(&Mover::Input(self.circuit.links_of(owner)[*link]))
            }
        }
    }

    /// The cable between the battery's negative post and whatever else; of two in series, as their files name
    /// them, that of the lower one.
    fn is_ground_cable(self, link: LinkId) -> bool {
        let is_battery = |part: PartId| self.circuit.part(part).kind == Kind::Battery;
        let (from, to) = self.circuit.ends(link);
        let posts = ["battery.minus", "battery-1.minus", "lower.minus"];
        let on_post = |at: TerminalId| posts.contains(&self.circuit.terminal(at).id.as_str());
        !is_battery(self.circuit.link(link).part) && (on_post(from) || on_post(to))
    }

    /// The terminals a link joins: a swapped pin meets the wire of the other in the second half.
    fn ends(self, link: LinkId) -> (TerminalId, TerminalId) {
        let (from, to) = self.circuit.ends(link);
        let other = self.damage.iter().find_map(|damage| match damage {
            Damage::Swapped(one, other) if *one == link => Some(*other),
            Damage::Swapped(other, one) if *one == link => Some(*other),
            _ => None,
        });
        (from, other.map_or(to, |other| self.circuit.ends(other).1))
    }

    /// What stands behind a battery's volts while current goes into it: beside a generator that turns more
    /// than while it gives; a bad battery takes no more readily than a sound one (documented in `setup`
    /// and `suspect`).
    fn charge_ohms(self, sound: &Element, ohms: f64) -> f64 {
        let turns = self.circuit.link_ids().any(|link| {
            matches!(&self.circuit.link(link).element, Element::Generator { control, steps }
                if steps[self.setup.positions[control.index()]].0 > 0.0)
        });
        match *sound {
            Element::Emf { ohms: sound_ohms, .. } if turns => {
                f64::max(ohms, CHARGE_TIMES * sound_ohms)
            }
            _ => ohms,
        }
    }

    fn element(self, text: &mut String, link: LinkId) {
        let sound = &self.circuit.link(link).element;
        let instead = self.damage.iter().find_map(|damage| match damage {
            Damage::Instead(of, element) if *of == link => Some(element),
            _ => None,
        });
        let more_ohms: f64 = self
            .damage
            .iter()
            .map(|damage| match damage {
                Damage::Series(of, ohms) if *of == link => *ohms,
                _ => 0.0,
            })
            .sum();
        let (from, to) = self.ends(link);
        let at = link.index();
        let (from, to) = (self.node(from), self.node(to));
        match *instead.unwrap_or(sound) {
            Element::Resistance { ohms }
            | Element::Coil { ohms, .. }
            | Element::Contact { ohms, .. }
            | Element::Sense { ohms, .. }
            | Element::Cutout { ohms, .. }
            | Element::Fuse { ohms, .. } => {
                conductor(text, at, [&from, &to], 0.0, ohms + more_ohms);
            }
            Element::Emf { volts, ohms } => {
                let charge_ohms = self.charge_ohms(sound, ohms) + more_ohms;
                battery(text, at, [&from, &to], volts, [ohms + more_ohms, charge_ohms]);
            }
            Element::Variable { control, ref ohms } => {
                let ohms = ohms[self.setup.positions[control.index()]];
                conductor(text, at, [&from, &to], 0.0, ohms + more_ohms);
            }
            Element::Generator { control, ref steps } => {
                let (volts, ohms) = steps[self.setup.positions[control.index()]];
                conductor(text, at, [&from, &to], volts, ohms + more_ohms);
            }
            Element::Lamp { volts, watts } => {
                let inner = behind(text, at, &from, more_ohms);
                lamp(text, at, [&inner, &to], volts, watts);
            }
            Element::Diode { forward_volts, at_amps } => {
                let inner = behind(text, at, &from, more_ohms);
                diode(text, at, [&inner, &to], [forward_volts, at_amps], None);
            }
            Element::Zener { volts, forward_volts, at_amps } => {
                let inner = behind(text, at, &from, more_ohms);
                diode(text, at, [&inner, &to], [forward_volts, at_amps], Some(volts));
            }
            Element::Motor { stall_ohms, running_amps, rated_volts } => {
                let inner = behind(text, at, &from, more_ohms);
                motor(text, at, [&inner, &to], [stall_ohms, running_amps, rated_volts]);
            }
        }
    }
}

/// `volts` and `ohms` between two nodes; the amperes in it can be read as those of source `v<at>`.
fn conductor(text: &mut String, at: usize, [from, to]: [&str; 2], volts: f64, ohms: f64) {
    writeln!(text, "v{at} {from} x{at} {volts:e}\nh{at} x{at} {to} v{at} {ohms:e}").unwrap();
}

/// Two straight lines that meet at no current: ohms while it gives, other ohms while it takes.
fn battery(text: &mut String, at: usize, ends: [&str; 2], volts: f64, [gives, takes]: [f64; 2]) {
    if gives >= takes {
        return conductor(text, at, ends, volts, gives);
    }
    let [from, to] = ends;
    let (amps, more_ohms) = (format!("i(v{at})"), takes - gives);
    writeln!(
        text,
        "v{at} {from} x{at} {volts:e}\nb{at} x{at} {to} v={gives:e}*{amps}+{more_ohms:e}*uramp({amps})"
    )
    .unwrap();
}

/// The node behind some ohms, or the same node when there are none.
fn behind(text: &mut String, at: usize, from: &str, ohms: f64) -> String {
    if ohms == 0.0 {
        return from.to_owned();
    }
    writeln!(text, "vs{at} {from} y{at} 0\nhs{at} y{at} s{at} vs{at} {ohms:e}").unwrap();
    format!("s{at}")
}

/// `I = I_rated * (V / V_rated)^0.55` when hot (Standard Handbook for Electrical Engineers), the cold
/// resistance near zero; between them the fourth root of the sum of fourth powers of both resistances.
///
/// Its volts are those of a node `w<at>` of their own, which takes the lamp's amperes and draws them by
/// the curve: so its conductance does not drown the leaks in the equations of a floating island.
fn lamp(text: &mut String, at: usize, [from, to]: [&str; 2], rated_volts: f64, watts: f64) {
    let rated_ohms = rated_volts * rated_volts / watts;
    let cold_ohms = rated_ohms / HOT_OVER_COLD;
    let exponent = 4.0 * (1.0 - AMPS_EXPONENT);
    writeln!(
        text,
        "v{at} {from} x{at} 0\ne{at} x{at} {to} w{at} 0 1\nf{at} 0 w{at} v{at} 1\n\
         b{at} w{at} 0 i=v(w{at})/pow(pow({cold_ohms:e},4)\
         +pow({rated_ohms:e},4)*pow(abs(v(w{at}))/{rated_volts:e},{exponent:e}),0.25)"
    )
    .unwrap();
}

/// The simulator's own diode through the given point, behind the resistance of its body. One that
/// breaks down passes as many amperes backwards at `zener_volts`, with the same slope.
fn diode(
    text: &mut String,
    at: usize,
    [from, to]: [&str; 2],
    [forward_volts, at_amps]: [f64; 2],
    zener_volts: Option<f64>,
) {
    let slope_volts = (SLOPE_SHARE * forward_volts).clamp(SLOPE_BOUNDS.0, SLOPE_BOUNDS.1);
    let emission = slope_volts / THERMAL_VOLTS;
    let body_ohms = BODY_SHARE * forward_volts / at_amps;
    let junction_volts = forward_volts - body_ohms * at_amps;
    let saturation_amps = at_amps / ((junction_volts / slope_volts).exp() - 1.0);
    conductor(text, at, [from, &format!("j{at}")], 0.0, body_ohms);
    writeln!(
        text,
        "d{at} j{at} {to} m{at}\nrd{at} j{at} {to} {DIODE_LEAK_OHMS:e}\n\
         .model m{at} d(is={saturation_amps:e} n={emission:e})"
    )
    .unwrap();
    if let Some(volts) = zener_volts {
        // Breakdown as a source of its own, as the simulator's leaves the saturation current out of it;
        // straight above `e^10` times the amperes, or its first steps go where no way leads back from.
        let knee_volts = volts - body_ohms * at_amps;
        let folds = format!("((v({to},j{at})-{knee_volts:e})/{slope_volts:e})");
        writeln!(
            text,
            "bz{at} {to} j{at} i={at_amps:e}*exp(min({folds},10))*(1+max({folds}-10,0))"
        )
        .unwrap();
    }
}

/// Two straight lines: stall ohms up to the corner, from there to the rated point.
fn motor(
    text: &mut String,
    at: usize,
    [from, to]: [&str; 2],
    [stall_ohms, running_amps, rated_volts]: [f64; 3],
) {
    let corner_amps = BREAK_LOOSE * running_amps;
    let turning_ohms = (rated_volts - corner_amps * stall_ohms) / (running_amps - corner_amps);
    if turning_ohms <= stall_ohms {
        // Its rated point lies on or below the line it stands on: it never turns.
        return conductor(text, at, [from, to], 0.0, stall_ohms);
    }
    let more_ohms = turning_ohms - stall_ohms;
    let amps = format!("i(v{at})");
    writeln!(
        text,
        "v{at} {from} x{at} 0\nb{at} x{at} {to} v={stall_ohms:e}*{amps}\
         +{more_ohms:e}*(uramp({amps}-{corner_amps:e})-uramp(-{amps}-{corner_amps:e}))"
    )
    .unwrap();
}
