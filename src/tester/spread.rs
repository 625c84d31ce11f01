//! How far readings spread between sound machines of one kind, quickly.
//!
//! [`Tolerances`] would give the deviation of every reading under every suspect, for a hundred times what
//! the reading itself costs. So it is asked once for each pair of points, on the sound circuit, and what it
//! says is carried over to the suspects by a rule that is exact wherever a suspect leaves the volts as they
//! are, and wherever it is a known resistance before a load. Both ways, and two thousand machines drawn by
//! chance, are compared in `tests/it/tolerance.rs`.

use super::tolerance::{
    COIL_OHMS, COPPER_PER_KELVIN, Deviation, LOAD_OHMS, MOTOR, Tolerances, WARMTH_KELVIN,
};
use super::{Target, Test, Tester};
use crate::circuit::{Circuit, LinkId};
use crate::electric::{BranchId, Case, GROUND, Law, NodeId};
use crate::setup::wiring::{Wiring, positive_post};

/// Deviation of the load behind a joint that a suspect has made bad, as a share: about a winding's, warmth
/// included, where it is no motor.
const LOAD: f64 = COIL_OHMS + 0.5 * WARMTH_KELVIN * COPPER_PER_KELVIN;
/// A pair with less than this share of the battery's volts says nothing of what it owes to them.
const LEAST_SHARE: f64 = 0.02;

/// Volts that no tester tells from none.
const LEAST_VOLTS: f64 = 1e-4;

/// How far the readings of one setup spread.
#[derive(Debug, Clone)]
pub struct Spreads {
    battery_volts: f64,
    battery_share: f64,
    /// By the larger node of a pair; each list by the smaller one.
    pairs: Vec<Vec<(NodeId, Sound)>>,
    /// Share of the amperes in links.
    amps: Vec<(LinkId, f64)>,
}

/// A pair of points in the sound circuit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Sound {
    volts: f64,
    /// One deviation of the volts from the battery, as a share of them.
    battery_share: f64,
    /// One deviation of the volts from all else.
    parts_volts: f64,
    /// One deviation of the load that takes the current here, as a share.
    load: f64,
    /// One deviation of the ohms, as a share of them; none where nobody measures ohms.
    ohms_share: f64,
    ohms: f64,
}

impl Spreads {
    /// What `tests`, all of one setup, read in the sound circuit `sound` and how far that spreads.
    pub fn new<'a>(
        tolerances: &Tolerances,
        circuit: &Circuit,
        (wiring, sound): (&Wiring, &Case<'_>),
        tests: impl IntoIterator<Item = &'a Test>,
    ) -> Spreads {
        let mut spreads = Spreads {
            battery_volts: tolerances.battery_volts(),
            battery_share: tolerances.battery_share(),
            pairs: vec![Vec::new(); wiring.network.nodes as usize],
            amps: Vec::new(),
        };
        let motors = at_motors(wiring, sound);
        let (as_volts, as_ohms) = (tolerances.felt(wiring, sound), tolerances.felt_as_ohms(wiring));
        for test in tests {
            let ohms = test.tester == Tester::Ohms;
            let tolerances = if ohms { &as_ohms } else { &as_volts };
            let learn = Learn { tolerances, wiring, sound, motors: &motors, ohms };
            match test.tester {
                Tester::Clamp => spreads.learn_amps(circuit, &learn, test.target),
                Tester::Wiggle | Tester::Hear => {}
                _ => {
                    for (a, b) in pairs(circuit, wiring, test) {
                        spreads.learn(&learn, a, b);
                    }
                }
            }
        }
        spreads
    }

    fn learn(&mut self, learn: &Learn<'_, '_>, a: NodeId, b: NodeId) {
        let (row, other) = (a.max(b), a.min(b));
        let Some(row) = self.pairs.get_mut(row.0 as usize) else { return };
        if a != b && !row.iter().any(|(node, _)| *node == other) {
            row.push((other, learn.pair(a, b)));
        }
    }

    fn learn_amps(&mut self, circuit: &Circuit, learn: &Learn<'_, '_>, target: Target) {
        let Target::Part(part) = target else { return };
        let Some(&link) = circuit.part(part).links.first() else { return };
        if !self.amps.iter().any(|(known, _)| *known == link) {
            self.amps.push((link, learn.amps(circuit, link)));
        }
    }

    fn sound(&self, a: NodeId, b: NodeId) -> Option<&Sound> {
        let row = self.pairs.get(a.max(b).0 as usize)?;
        let other = a.min(b);
        row.iter().find(|(node, _)| *node == other).map(|(_, sound)| sound)
    }

    /// One standard deviation of the volts between two nodes that read `volts` under some suspect, in
    /// volts.
    pub fn volts(&self, a: NodeId, b: NodeId, volts: f64) -> f64 {
        let sound = self.sound(a, b);
        let battery = sound.map_or(self.battery_share, |sound| sound.battery_share);
        // Not `hypot`, which takes as long as all the rest: volts are neither huge nor tiny.
        let (battery, parts) = (battery * volts, self.parts_volts(sound, volts.abs()));
        (battery * battery + parts * parts).sqrt()
    }

    /// Where the suspect leaves the volts as they were, the sound deviation holds. Pulled down from there
    /// by known ohms they are a share of what they were, and so is their deviation; raised, what is missing
    /// to the battery's volts is. The load that shares them with those ohms adds its own.
    fn parts_volts(&self, sound: Option<&Sound>, volts: f64) -> f64 {
        let (was, parts) = sound.map_or((0.0, 0.0), |sound| (sound.volts, sound.parts_volts));
        let load = sound.map_or(LOAD, |sound| sound.load);
        let most = self.battery_volts.max(was);
        let left = if volts <= was {
            if was > 0.0 { volts / was } else { 1.0 }
        } else {
            ((most - volts) / (most - was)).clamp(0.0, 1.0)
        };
        let moved = load * (volts - was);
        left * (parts * parts + moved * moved).sqrt()
    }

    /// One standard deviation of the ohms between two nodes that are `ohms` under some suspect.
    ///
    /// Ohms that a suspect has added do not differ.
    pub fn ohms(&self, a: NodeId, b: NodeId, ohms: f64) -> f64 {
        match self.sound(a, b) {
            Some(sound) if sound.ohms > 0.0 => sound.ohms_share * ohms.min(sound.ohms),
            _ => LOAD_OHMS * ohms,
        }
    }

    /// One standard deviation of the amperes in a link, as a share of them, whatever the suspect.
    pub fn amps_share(&self, link: LinkId) -> f64 {
        self.amps.iter().find(|(known, _)| *known == link).map_or(LOAD, |(_, share)| *share)
    }

    /// One standard deviation of the battery's volts at rest, as a share of them.
    pub fn battery_share(&self) -> f64 {
        self.battery_share
    }
}

/// What is needed to learn of the sound circuit.
struct Learn<'a, 'solver> {
    tolerances: &'a Tolerances,
    wiring: &'a Wiring,
    sound: &'a Case<'solver>,
    /// Nodes at which a motor takes most of the current.
    motors: &'a [bool],
    /// The pair is read with a meter on ohms.
    ohms: bool,
}

impl Learn<'_, '_> {
    fn pair(&self, a: NodeId, b: NodeId) -> Sound {
        let volts = (self.sound.node_volts(a) - self.sound.node_volts(b)).abs();
        let own = self.tolerances.battery_share();
        let at_motor = |node: NodeId| self.motors.get(node.0 as usize) == Some(&true);
        let load = if at_motor(a) && at_motor(b) { MOTOR } else { LOAD };
        let mut known = Sound { volts, battery_share: own, load, ..Sound::default() };
        // Where there is nothing there is nothing that differs. (It would take a balanced bridge.)
        if !self.ohms && volts < LEAST_VOLTS {
            return known;
        }
        let Some(sensitivity) = self.sound.sensitivity(a, b) else { return known };
        if self.ohms {
            known.ohms = self.sound.thevenin(a, b).1;
            let deviation = self.tolerances.of_ohms(self.wiring, &sensitivity).whole();
            known.ohms_share = if known.ohms > 0.0 { deviation / known.ohms } else { 0.0 };
            return known;
        }
        let Deviation { battery, parts } = self.tolerances.of_volts(self.wiring, &sensitivity);
        known.parts_volts = parts;
        if volts > LEAST_SHARE * self.tolerances.battery_volts() {
            known.battery_share = battery / volts;
        }
        known
    }

    fn amps(&self, circuit: &Circuit, link: LinkId) -> f64 {
        let (from, to) = circuit.ends(link);
        let branch = self.wiring.branch(link);
        let amps = self.sound.branch_amps(branch);
        let sensitivity = self.sound.sensitivity(self.wiring.node(from), self.wiring.node(to));
        let Some(sensitivity) = sensitivity.filter(|_| amps.abs() > 1e-6) else { return LOAD };
        let deviation = self.tolerances.of_amps(self.wiring, &sensitivity, (branch, amps));
        (deviation.whole() / amps.abs()).max(self.tolerances.battery_share())
    }
}

/// The nodes of branches that carry about what the largest motor takes.
fn at_motors(wiring: &Wiring, sound: &Case<'_>) -> Vec<bool> {
    let branches = &wiring.network.branches;
    let amps = |at: usize| sound.branch_amps(BranchId(at as u32)).abs();
    let motors =
        branches.iter().enumerate().filter(|(_, one)| matches!(one.law, Law::Motor { .. }));
    let most_amps = motors.map(|(at, _)| amps(at)).fold(0.0, f64::max);
    let mut nodes = vec![false; wiring.network.nodes as usize];
    for (at, branch) in branches.iter().enumerate() {
        if most_amps > 0.0 && amps(at) > 0.7 * most_amps {
            nodes[branch.from.0 as usize] = true;
            nodes[branch.to.0 as usize] = true;
        }
    }
    nodes
}

/// The nodes whose volts or ohms a test reads.
fn pairs(circuit: &Circuit, wiring: &Wiring, test: &Test) -> Vec<(NodeId, NodeId)> {
    let node = |at| wiring.node(at);
    match test.target {
        Target::Pair(a, b) => vec![(node(a), node(b))],
        Target::Point(at) => match test.tester {
            Tester::LampPlus | Tester::LedPlus => {
                vec![(node(at), positive_post(circuit).map_or(GROUND, node))]
            }
            _ => vec![(node(at), GROUND)],
        },
        Target::Part(part) => {
            let ends = circuit.part(part).links.iter().map(|&link| circuit.ends(link));
            ends.map(|(from, to)| (node(from), node(to))).collect()
        }
        Target::Connector(_) => Vec::new(),
    }
}
