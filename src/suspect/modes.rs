//! Fault modes of each kind of part, with their weights.
//!
//! A part's weight says how often such parts fail on ordinary machines beside each other (common
//! practice, no source: handbook rates are for hours in service of new parts, and put a bulb at a
//! thousand times a connector). The split over its modes follows the failure-mode distribution of
//! MIL-HDBK-338B where it has the kind; what that table lumps together (`poor contact`) is spread
//! over decades of resistance.

mod control_box;
mod joints;
mod loads;
mod supply;

use crate::circuit::catalogue::faults;
use crate::circuit::{Circuit, Element, Kind, Link, LinkId, PartId, TerminalId};

use super::damage::Damage;
use super::fix::Fix;

/// One fault mode of one part.
#[derive(Debug, Clone, PartialEq)]
pub struct Mode {
    /// Last half of the suspect's id: `open`, `high-100`, `coil-open`.
    pub id: String,
    /// For a person.
    pub words: String,
    /// Relative weight among all parts.
    pub weight: f64,
    /// What it changes.
    pub damage: Vec<Damage>,
    /// Steps of one continuous severity within the part share a number.
    pub ladder: Option<u32>,
    /// Share of the tries in which it is there; 1 but for intermittent ones.
    pub shows: f64,
    /// What mends it, when that is not the repair of the part.
    pub fix: Option<Fix>,
}

/// Ohms added by a bad joint in a light circuit, a decade each. (These and the next two: common practice, no
/// source; what they mean for the volts is reckoned.)
const LIGHT_DECADES: [f64; 4] = [1.0, 10.0, 100.0, 1000.0];
/// The same, coarser, for the many wires: a strand left, a green joint.
const WIRE_DECADES: [f64; 2] = [10.0, 1000.0];
/// Ohms added by a bad joint where heavy current runs.
const HEAVY_DECADES: [f64; 3] = [0.03, 0.3, 3.0];
/// A chafed wire on the frame, in ohms (common practice, no source).
const CHAFED_OHMS: f64 = 0.05;
/// What is left of a part that is shorted, in ohms (common practice, no source).
const SHORTED_OHMS: f64 = 0.05;
/// Such a part.
const SHORTED: Element = Element::Resistance { ohms: SHORTED_OHMS };

/// Share of the tries in which an intermittent joint is open when nobody moves it: most of them, or
/// nobody would complain (common practice, no source).
const INTERMITTENT_SHARE: f64 = 0.6;
/// Weight of an intermittent joint beside a part's 1: connectors have poor contact or intermittent .23
/// (MIL-HDBK-338B), of which the steady kind has by far the larger share in a job whose complaint lasts
/// (common practice, no source). Looks are reckoned as independent, though two looks in one minute often
/// meet the same state: a larger weight would explain every contradiction away.
const INTERMITTENT: f64 = 0.006;
/// Turns left of a winding whose insulation has burnt through (common practice, no source).
const TURNS_LEFT: f64 = 0.1;

/// The fault modes of `part`.
pub fn of_part(circuit: &Circuit, part: PartId) -> Vec<Mode> {
    let owner = &circuit.parts[part.index()];
    let mut list = List { circuit, part, modes: Vec::new() };
    match owner.kind {
        Kind::Battery => list.battery(),
        Kind::ChargingSource => list.charging_source(),
        Kind::Fuse => list.fuse(),
        Kind::FusibleLink => list.fusible_link(),
        Kind::Breaker => list.breaker(),
        Kind::Switch { .. } => list.switch(),
        Kind::Relay => list.relay(),
        Kind::Solenoid => list.solenoid(),
        Kind::StarterMotor => list.motor(true),
        Kind::Motor => list.motor(false),
        Kind::Lamp => list.lamp(),
        Kind::Led => list.led(),
        Kind::Horn => list.horn(),
        Kind::Heater => list.plain_load("element burnt through"),
        Kind::Load => list.plain_load("open inside"),
        Kind::IgnitionCoil => list.ignition_coil(),
        Kind::Flasher { .. } => list.flasher(),
        Kind::Gauge { .. } => list.gauge(),
        Kind::Sender { .. } => list.sender(),
        Kind::Resistor => list.resistor(),
        Kind::Diode | Kind::Zener => list.diode(),
        Kind::ControlBox => list.control_box(),
        Kind::Splice => {}
        Kind::Strap => list.strap(),
        Kind::GroundPoint => list.joint(1.2, "rusty or loose"),
        Kind::Pin { connector } => list.pin(connector),
        Kind::Wire { heavy, .. } => list.wire(heavy),
    }
    list.modes
}

/// What the file says of this fault of this part: how often it is met beside what is usual of the kind.
/// Of several words that name it the longest counts.
pub fn own_weight(circuit: &Circuit, part: PartId, mode: &str) -> f64 {
    let owner = &circuit.parts[part.index()];
    let fault = faults::plain(mode, owner.kind == Kind::ControlBox);
    let said = owner.faults.iter().filter(|(word, _)| faults::names(word, &fault));
    said.max_by_key(|(word, _)| word.len()).map_or(1.0, |(_, weight)| *weight)
}

struct List<'a> {
    circuit: &'a Circuit,
    part: PartId,
    modes: Vec<Mode>,
}

impl List<'_> {
    fn links(&self) -> &[LinkId] {
        &self.circuit.parts[self.part.index()].links
    }

    fn push(&mut self, id: &str, words: &str, weight: f64, damage: Vec<Damage>) {
        let (id, words) = (id.to_owned(), words.to_owned());
        self.modes.push(Mode { id, words, weight, damage, ladder: None, shows: 1.0, fix: None });
    }

    /// The link makes no contact in a share of the tries.
    fn intermittent(&mut self, weight: f64, link: LinkId) {
        self.push("intermittent", "makes contact now and then", weight, vec![Damage::Open(link)]);
        if let Some(mode) = self.modes.last_mut() {
            mode.shows = INTERMITTENT_SHARE;
        }
    }

    /// Decades of resistance in series with `link`, sharing `weight` between them.
    fn high(&mut self, prefix: &str, words: &str, weight: f64, link: LinkId, decades: &[f64]) {
        let ladder = Some(self.modes.len() as u32);
        for &ohms in decades {
            self.modes.push(Mode {
                id: format!("{prefix}high-{}", plain_ohms(ohms)),
                words: format!("{words}, about {} ohm", plain_ohms(ohms)),
                weight: weight / decades.len() as f64,
                damage: vec![Damage::Series(link, ohms)],
                ladder,
                shows: 1.0,
                fix: None,
            });
        }
    }

    fn battery(&mut self) {
        let link = self.links()[0];
        let Element::Emf { volts, ohms } = self.circuit.graph[link].element else { return };
        // What was measured at rest is what it has, whatever is wrong with it.
        let measured = self.circuit.battery_measured;
        let emf = |share: f64, times: f64| {
            let share = if measured { 1.0 } else { share };
            vec![Damage::Instead(link, Element::Emf { volts: volts * share, ohms: ohms * times })]
        };
        // Lead-acid battery: degraded .70, short .20, intermittent .10 (MIL-HDBK-338B as quoted in a
        // reliability guide). A shorted cell takes a sixth of the volts; the other figures are common
        // practice, no source.
        self.push("low", "half discharged", 1.0, emf(0.95, 3.0));
        self.push("flat", "flat: volts collapse under load", 0.9, emf(0.90, 40.0));
        self.push("cell", "a dead cell", 0.6, emf(5.0 / 6.0, 6.0));
        self.push("dead", "broken inside, no current", 0.1, vec![Damage::Open(link)]);
        // Fresh from the charger it reads full, and has nothing behind it (common practice, no source).
        self.push("surface", "looks full at rest, nothing behind it", 0.2, emf(1.02, 40.0));
    }

    fn fuse(&mut self) {
        let link = self.links()[0];
        // Premature opening is .08 of a fuse's failures (MIL-HDBK-338B); that it fails to open (.49) or opens
        // late (.43) is not felt until something else is wrong. Beside other parts: common practice, no source.
        self.push("blown", "blown, no short behind it", 0.8, vec![Damage::Open(link)]);
        self.high("", "dirty holder", 0.3, link, &LIGHT_DECADES[1..3]);
    }

    /// Toggle or push-button: open .65, sticking .19, short .16 (MIL-HDBK-338B). `open` is shared
    /// between no contact at all and contact through dirt.
    fn switch(&mut self) {
        let is_contact =
            |link: &LinkId| matches!(self.circuit.graph[*link].element, Element::Contact { .. });
        let links: Vec<LinkId> = self.links().iter().copied().filter(is_contact).collect();
        let share = 1.0 / links.len().max(1) as f64;
        let heavy = self.circuit.carries_heavy(self.part);
        let (words, decades) = if heavy {
            ("contacts burnt", &HEAVY_DECADES[..])
        } else {
            ("contacts dirty", &LIGHT_DECADES[..])
        };
        for (at, &link) in links.iter().enumerate() {
            let prefix = if links.len() == 1 { String::new() } else { format!("{}-", at + 1) };
            let open = format!("{prefix}open");
            self.push(&open, "makes no contact", 0.35 * share, vec![Damage::Open(link)]);
            self.high(&prefix, words, 0.49 * share, link, decades);
            let stuck = format!("{prefix}stuck-on");
            self.push(&stuck, "stuck on", 0.16 * share, vec![Damage::Welded(link)]);
        }
        self.body(0.15);
        if let [link] = links[..] {
            self.intermittent(INTERMITTENT, link);
        }
    }

    /// Relay: fails to trip .55 (here coil broken, armature stuck, contacts burnt or burnt away), spurious
    /// trip .26 (welded), short .19 (turns of its coil), by MIL-HDBK-338B.
    fn relay(&mut self) {
        self.coil(0.15, 0.19);
        self.push("jammed", "armature does not move", 0.10, vec![Damage::Jammed(self.part, false)]);
        self.contacts(0.15, 0.26);
        // Diode: short .49 (MIL-HDBK-338B); it draws all the fuse lets through.
        if let Some(link) = self.role("suppression diode") {
            let damage = vec![Damage::Instead(link, SHORTED)];
            self.push("diode-shorted", "diode across its coil shorted", 0.05, damage);
        }
    }

    /// Common practice, no source: the handbook's solenoid (short .52, slow movement .43, open .05, from
    /// memory) has no heavy contacts, which on a starter burn before anything else fails.
    fn solenoid(&mut self) {
        self.coil(0.2, 0.1);
        self.push("jammed", "plunger does not move", 0.2, vec![Damage::Jammed(self.part, false)]);
        self.push("sluggish", "plunger pulls weakly", 0.1, vec![Damage::Sluggish(self.part, 1.7)]);
        self.contacts(0.35, 0.1);
        self.body(0.15);
    }

    fn coil(&mut self, broken: f64, turns: f64) {
        for link in self.links().to_vec() {
            let Link { role, element, .. } = &self.circuit.graph[link];
            let Element::Coil { ohms, pull_in_volts, drop_out_volts } = *element else { continue };
            let helps = *role == "pull-in winding";
            let (id, words) = if helps { ("pull", "pull-in winding") } else { ("coil", "winding") };
            let open = vec![Damage::Open(link)];
            self.push(&format!("{id}-open"), &format!("{words} broken"), broken, open);
            // With fewer turns the same pull takes more amperes;
            // where two windings pull together this asks a little too much of the sound one.
            let left = Element::Coil { ohms: ohms * TURNS_LEFT, pull_in_volts, drop_out_volts };
            let shorted =
                vec![Damage::Instead(link, left), Damage::Sluggish(self.part, 1.0 / TURNS_LEFT)];
            let words = format!("most turns of its {words} shorted");
            self.push(&format!("{id}-turns"), &words, turns, shorted);
        }
    }

    fn contacts(&mut self, open: f64, welded: f64) {
        let decades = self.decades();
        let links: Vec<LinkId> = self.links().to_vec();
        let is_contact =
            |link: &LinkId| matches!(self.circuit.graph[*link].element, Element::Contact { .. });
        let contacts: Vec<LinkId> = links.into_iter().filter(is_contact).collect();
        for (at, &link) in contacts.iter().enumerate() {
            let tail = if at == 0 { String::new() } else { format!("-{}", at + 1) };
            let share = 1.0 / contacts.len() as f64;
            let id = format!("contact{tail}-open");
            self.push(&id, "contacts burnt away", open * share, vec![Damage::Open(link)]);
            let prefix = format!("contact{tail}-");
            self.high(&prefix, "contacts burnt", open * share, link, decades);
            let id = format!("contact{tail}-welded");
            self.push(&id, "contacts welded", welded * share, vec![Damage::Welded(link)]);
        }
    }

    /// The joint between a part's body and the frame, where it has one.
    fn body(&mut self, weight: f64) {
        let Some(link) = self.role("body joint") else { return };
        let decades = self.decades();
        let before = self.modes.len();
        self.high("body-", "poor ground at its mounting", weight, link, decades);
        let fix = Fix::of_mounting(self.circuit, self.part);
        for mode in &mut self.modes[before..] {
            mode.fix = Some(fix.clone());
        }
    }

    fn role(&self, role: &str) -> Option<LinkId> {
        self.links().iter().find(|link| self.circuit.graph[**link].role == role).copied()
    }

    /// Connector or connection: open .61, poor contact or intermittent .23, short .16 (MIL-HDBK-338B). On
    /// machines out in the weather joints corrode long before they part, so the first two change places here
    /// (common practice, no source).
    fn joint(&mut self, weight: f64, words: &str) {
        let link = self.links()[0];
        let decades = self.decades();
        self.push("open", "no contact", 0.4 * weight, vec![Damage::Open(link)]);
        self.high("", words, 0.6 * weight, link, decades);
        self.intermittent(INTERMITTENT * weight, link);
    }

    /// Cable: short .45, excessive wear .36, open .19 (MIL-HDBK-338B, from memory); in wiring opens are
    /// commoner than shorts (T. R. Kuphaldt, Lessons In Electric Circuits, volume V, chapter 8), so what is
    /// open or worn has the larger share here. A wire's weight beside a part's 1, and a heavy cable's: common
    /// practice, no source.
    fn wire(&mut self, heavy: bool) {
        let link = self.links()[0];
        if heavy {
            self.push("open", "broken or off", 0.2, vec![Damage::Open(link)]);
            self.high("", "bad joint at an end", 0.6, link, &HEAVY_DECADES);
            return;
        }
        self.push("open", "broken", 0.2, vec![Damage::Open(link)]);
        self.high("", "few strands left or a green joint", 0.15, link, &WIRE_DECADES);
        if let Some((from, to)) = self.circuit.graph.edge_endpoints(link)
            && ![from, to].contains(&self.circuit.chassis)
            && !self.on_battery(from)
            && !self.on_battery(to)
        {
            let damage = vec![Damage::Grounded(to, CHAFED_OHMS)];
            self.push("short", "chafed through to the frame", 0.1, damage);
        }
        self.neighbour();
    }

    /// A wire straight from the battery's post: on the frame it would burn through at once and be open.
    fn on_battery(&self, at: TerminalId) -> bool {
        let owner = self.circuit.graph[at].part;
        owner.is_some_and(|part| self.circuit.parts[part.index()].kind == Kind::Battery)
    }

    fn decades(&self) -> &'static [f64] {
        if self.circuit.carries_heavy(self.part) { &HEAVY_DECADES } else { &LIGHT_DECADES }
    }
}

/// `0.03`, `10`, `1k`: no blanks, nothing a shell would touch.
fn plain_ohms(ohms: f64) -> String {
    if ohms >= 1000.0 { format!("{}k", ohms / 1000.0) } else { format!("{ohms}") }
}
