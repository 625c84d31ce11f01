//! Fault modes of motors, lamps, horns, diodes, heaters, resistors, ignition coils, flashers, gauges and
//! senders.

use super::{HEAVY_DECADES, LIGHT_DECADES, List, SHORTED, SHORTED_OHMS};
use crate::circuit::{Element, LinkId};
use crate::suspect::damage::{Damage, JAMMED_AMPS};

/// Steps of how much of an ignition coil's primary is shorted (common practice, no source).
const SHORTED_PERCENT: [f64; 3] = [20.0, 50.0, 90.0];

/// Weights of such parts beside a part's 1 (common practice, no source): bulbs burn out, heaters and plain loads
/// seldom do, resistors hardly ever.
const LAMP: f64 = 3.0;
const PLAIN_LOAD: f64 = 0.6;
const RESISTOR: f64 = 0.3;

impl List<'_> {
    /// Motor: winding .31 (here open .21 and shorted turns .10), bearing .28 (jammed), stops after start .23
    /// and fails to start .18 (brushes), by MIL-HDBK-338B, from memory; the mounting and a drive that does not
    /// engage are common practice, no source.
    pub(super) fn motor(&mut self, heavy: bool) {
        let Some(link) = self.winding() else { return };
        let Element::Motor { stall_ohms, running_amps: sound_amps, rated_volts } =
            self.circuit.graph[link].element
        else {
            return;
        };
        self.push("open", "brushes or winding open", 0.21, vec![Damage::Open(link)]);
        let decades: &[f64] = if heavy { &HEAVY_DECADES[1..] } else { &LIGHT_DECADES[..3] };
        self.high("", "worn brushes", 0.41, link, decades);
        // Half of its turns shorted: half the ohms, and twice the amperes for the same pull.
        let running_amps = 2.0 * sound_amps;
        let damage = vec![Damage::Instead(
            link,
            Element::Motor { stall_ohms: 0.5 * stall_ohms, running_amps, rated_volts },
        )];
        self.push("turns", "half of its turns shorted", 0.10, damage);
        if heavy {
            // Its pinion slips or does not reach the engine; nothing to turn leaves it two fifths of its
            // amperes (common practice, no source).
            let running_amps = 0.4 * sound_amps;
            let free = Element::Motor { stall_ohms, running_amps, rated_volts };
            let damage = vec![Damage::Instead(link, free)];
            self.push("free", "spins free: its drive does not engage", 0.1, damage);
        }
        let jammed = Element::Motor { stall_ohms, running_amps: JAMMED_AMPS, rated_volts };
        let damage = vec![Damage::Instead(link, jammed)];
        self.push("jammed", "jammed: draws current, does not turn", 0.28, damage);
        self.body(0.15);
    }

    fn winding(&self) -> Option<LinkId> {
        let is_motor =
            |link: &&LinkId| matches!(self.circuit.graph[**link].element, Element::Motor { .. });
        self.links().iter().find(is_motor).copied()
    }

    /// Lamp: no light .67, reduced light .33 (MIL-HDBK-338B).
    pub(super) fn lamp(&mut self) {
        let link = self.links()[0];
        self.push("open", "filament broken", 0.67 * LAMP, vec![Damage::Open(link)]);
        if self.role("body joint").is_some() {
            self.body(0.33 * LAMP);
        } else {
            self.high("", "burnt holder", 0.33 * LAMP, link, &LIGHT_DECADES[1..3]);
        }
    }

    /// No table at hand has horns; common practice, no source.
    pub(super) fn horn(&mut self) {
        let link = self.links()[0];
        self.push("open", "points or winding open", 0.6, vec![Damage::Open(link)]);
        self.push("mute", "draws current, makes no sound", 0.3, vec![Damage::Mute(self.part)]);
        self.body(0.2);
    }

    /// Diode: short .49, open .36, drift .15 (MIL-HDBK-338B); drift is not felt at twelve volts.
    pub(super) fn diode(&mut self) {
        let link = self.links()[0];
        self.push("open", "does not conduct", 0.36, vec![Damage::Open(link)]);
        let damage = vec![Damage::Instead(link, SHORTED)];
        self.push("shorted", "conducts both ways", 0.49, damage);
    }

    /// Open, or shorted inside: a wirewound resistor has open .65, short .09 (MIL-HDBK-338B).
    pub(super) fn plain_load(&mut self, words: &str) {
        let link = self.links()[0];
        self.push("open", words, 0.65 * PLAIN_LOAD, vec![Damage::Open(link)]);
        let damage = vec![Damage::Instead(link, SHORTED)];
        self.push("shorted", "shorted inside", 0.09 * PLAIN_LOAD, damage);
        self.body(0.26 * PLAIN_LOAD);
    }

    /// Coil or winding: open .42, short .42 (MIL-HDBK-338B); drift is not felt.
    ///
    /// The primary loses ohms in proportion to its turns, and takes amperes accordingly. Shorted turns are a
    /// secondary of no ohms: what should go into the spark goes round in them, however few they are.
    pub(super) fn ignition_coil(&mut self) {
        let link = self.links()[0];
        let Element::Resistance { ohms } = self.circuit.graph[link].element else { return };
        self.push("open", "primary winding broken", 0.42, vec![Damage::Open(link)]);
        let ladder = Some(self.modes.len() as u32);
        for percent in SHORTED_PERCENT {
            let left = Element::Resistance { ohms: ohms * (1.0 - percent / 100.0) };
            let damage = vec![Damage::Instead(link, left), Damage::Mute(self.part)];
            let words = format!("about {percent} % of its primary's turns shorted");
            self.push(&format!("turns-{percent}"), &words, 0.14, damage);
            if let Some(mode) = self.modes.last_mut() {
                mode.ladder = ladder;
            }
        }
    }

    /// Optoelectronic emitter: open .70, short .30 (MIL-HDBK-338B).
    pub(super) fn led(&mut self) {
        let (resistor, junction) = (self.links()[0], self.links()[1]);
        self.push("open", "does not conduct", 0.35, vec![Damage::Open(resistor)]);
        let damage = vec![Damage::Instead(junction, SHORTED), Damage::Mute(self.part)];
        self.push("shorted", "its junction shorted", 0.15, damage);
    }

    /// Film resistor: open .59, parameter change .36, short .05 (MIL-HDBK-338B).
    pub(super) fn resistor(&mut self) {
        let link = self.links()[0];
        let Element::Resistance { ohms } = self.circuit.graph[link].element else { return };
        self.push("open", "burnt through", 0.59 * RESISTOR, vec![Damage::Open(link)]);
        // How far it drifts: common practice, no source.
        let risen = vec![Damage::Series(link, ohms)];
        self.push("risen", "risen to twice its ohms", 0.36 * RESISTOR, risen);
        let damage = vec![Damage::Instead(link, SHORTED)];
        self.push("shorted", "shorted", 0.05 * RESISTOR, damage);
    }

    /// Relay: fails to trip .55, spurious .26, short .19 (MIL-HDBK-338B), read as no current, no beat.
    pub(super) fn flasher(&mut self) {
        let Some(&link) = self.links().last() else { return };
        self.push("open", "passes no current", 0.55, vec![Damage::Open(link)]);
        let steady = vec![Damage::Welded(link), Damage::Mute(self.part)];
        self.push("steady", "passes current but does not beat", 0.45, steady);
    }

    /// Meter: faulty indication .51, cannot be adjusted .23, open .14, no indication .12 (MIL-HDBK-338B); all but
    /// the third are a needle that does not follow.
    pub(super) fn gauge(&mut self) {
        let link = self.links()[0];
        self.push("open", "winding open", 0.14, vec![Damage::Open(link)]);
        self.push("stuck", "needle stuck low", 0.86, vec![Damage::Mute(self.part)]);
    }

    /// Variable resistor: open .53, erratic .40 (here stuck at either end), short .07 (MIL-HDBK-338B); its
    /// mounting is common practice, no source.
    pub(super) fn sender(&mut self) {
        let link = self.links()[0];
        self.push("open", "track or wiper open", 0.53, vec![Damage::Open(link)]);
        let Element::Variable { control, ohms } = self.circuit.graph[link].element.clone() else {
            return;
        };
        let least = ohms.iter().copied().fold(f64::INFINITY, f64::min);
        let most = ohms.iter().copied().fold(0.0, f64::max);
        let stuck = |value: f64| {
            let ohms = vec![value; ohms.len()];
            vec![Damage::Instead(link, Element::Variable { control, ohms })]
        };
        self.push("stuck-low", "does not move: stays at its least ohms", 0.2, stuck(least));
        self.push("stuck-high", "does not move: stays at its most ohms", 0.2, stuck(most));
        self.push("shorted", "shorted to its body", 0.07, stuck(SHORTED_OHMS));
        self.body(0.2);
    }
}
