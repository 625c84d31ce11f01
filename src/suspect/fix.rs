//! The repairs: what is done, how long it takes, what it needs.

use crate::circuit::{Circuit, Kind, PartId, PlaceId};

/// A repair that cures every fault of one part.
#[derive(Debug, Clone, PartialEq)]
pub struct Fix {
    /// Short name without blanks: `mend-start-button`.
    pub id: String,
    /// What to do, in one line: `Clean or renew the contacts of the start button`.
    pub title: String,
    /// The part it is done to; `None` for `no-fault` and `beyond-drawing`.
    pub part: Option<PartId>,
    /// Minutes of the repair itself, places and the check after it not counted.
    pub minutes: f64,
    /// Where it is done.
    pub place: Option<PlaceId>,
    /// The battery's ground cable comes off first and goes on last.
    pub ground_off: bool,
    /// What sort of action this is.
    pub work: Work,
}

/// Minutes to clean a part's mounting (common practice, no source).
const MOUNTING_MINUTES: f64 = 10.0;

/// What sort of action a fix is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// Nothing is mended; the check is run again.
    None,
    /// A part is mended or replaced.
    Repair,
    /// The job is handed on: the drawing does not hold the fault.
    HandOn,
}

impl Fix {
    /// For the sound circuit: run the check, it works.
    pub fn nothing() -> Fix {
        Fix {
            id: "no-fault".to_owned(),
            title: "Run the check again: nothing seems wrong now".to_owned(),
            part: None,
            // The same again, the machine as it stands: common practice, no source.
            minutes: 0.5,
            place: None,
            ground_off: false,
            work: Work::None,
        }
    }

    /// For faults outside the drawing.
    pub fn beyond() -> Fix {
        Fix {
            id: "beyond-drawing".to_owned(),
            title: "Look beyond this drawing: compare it with the machine, then the service manual"
                .to_owned(),
            part: None,
            // Common practice, no source.
            minutes: 60.0,
            place: None,
            ground_off: false,
            work: Work::HandOn,
        }
    }

    /// Two wires put back where they belong in a connector, that of `part` and of the next pin.
    pub fn of_swap(circuit: &Circuit, part: PartId, other: PartId) -> Fix {
        let (one, two) = (&circuit.parts[part.index()], &circuit.parts[other.index()]);
        Fix {
            id: format!("uncross-{}-{}", one.id, two.id),
            title: format!("Put the wires of {} and {} back in their places", one.name, two.name),
            part: Some(part),
            // Two terminals unlatched and pushed home: common practice, no source.
            minutes: 8.0 + one.open_up_minutes,
            place: Some(one.place),
            ground_off: needs_ground_off(circuit, part),
            work: Work::Repair,
        }
    }

    /// The repair of a part's ground through its own mounting.
    pub fn of_mounting(circuit: &Circuit, part: PartId) -> Fix {
        let owner = &circuit.parts[part.index()];
        Fix {
            id: format!("clean-{}-mounting", owner.id),
            title: format!(
                "Clean and tighten the mounting of the {}: it is its ground",
                owner.name
            ),
            minutes: MOUNTING_MINUTES,
            ..Fix::of_part(circuit, part)
        }
    }

    /// The repair of `part`.
    pub fn of_part(circuit: &Circuit, part: PartId) -> Fix {
        let owner = &circuit.parts[part.index()];
        let (verb, words, minutes) = usual(&owner.kind);
        // A switch that is called after its contacts has no others.
        let named = owner.name.ends_with("contacts");
        let words =
            if named { words.replace("contacts of the {}", "{}") } else { words.to_owned() };
        Fix {
            id: format!("{verb}-{}", owner.id),
            title: match &owner.fix_note {
                Some(note) => format!("{} ({note})", words.replace("{}", &owner.name)),
                None => words.replace("{}", &owner.name),
            },
            part: Some(part),
            minutes: owner.fix_minutes.unwrap_or(minutes) + owner.open_up_minutes,
            place: Some(owner.place),
            ground_off: needs_ground_off(circuit, part),
            work: Work::Repair,
        }
    }
}

/// Verb for the id, words with `{}` for the part, and usual minutes (common practice, no source).
fn usual(kind: &Kind) -> (&'static str, &'static str, f64) {
    match kind {
        Kind::Battery => ("charge", "Charge and load-test the {}; renew it if it fails", 20.0),
        Kind::ChargingSource => {
            ("overhaul", "Test the {} and its regulator on the bench; renew what fails", 45.0)
        }
        Kind::FusibleLink => ("replace", "Crimp in a new {} of the same size", 10.0),
        Kind::Breaker => ("reset", "Reset the {}; renew it if it opens without cause", 2.0),
        Kind::Fuse => ("replace", "Clean the holder and fit a new {} of the same rating", 1.0),
        Kind::Switch { .. } => ("mend", "Clean or renew the contacts of the {}", 12.0),
        Kind::Relay | Kind::Flasher { .. } => ("replace", "Replace the {}", 3.0),
        Kind::Solenoid | Kind::Heater | Kind::Load | Kind::IgnitionCoil => {
            ("replace", "Replace the {}", 15.0)
        }
        Kind::StarterMotor => ("overhaul", "Take the {} off and overhaul or replace it", 40.0),
        Kind::Motor => ("replace", "Replace the {}", 30.0),
        Kind::Lamp | Kind::Led => ("replace", "Fit a new {} and clean its holder", 3.0),
        Kind::Horn => ("replace", "Replace the {}", 10.0),
        Kind::Gauge { .. } | Kind::Sender { .. } => ("replace", "Replace the {}", 20.0),
        Kind::ControlBox => ("swap", "Try a known-good {}, the last thing to blame", 15.0),
        Kind::Strap => {
            ("clean", "Clean both ends of the {} to bright metal; renew it if frayed", 8.0)
        }
        Kind::Zener | Kind::Resistor | Kind::Diode => ("replace", "Replace the {}", 8.0),
        Kind::Splice => ("mend", "Remake the {}", 10.0),
        Kind::GroundPoint => ("clean", "Clean the {} to bright metal and tighten it", 5.0),
        Kind::Pin { .. } => ("clean", "Clean and tighten the contacts of {}", 4.0),
        Kind::Wire { heavy: true, .. } => {
            ("clean", "Clean and tighten both ends of the {}; renew it if it is broken", 8.0)
        }
        Kind::Wire { heavy: false, .. } => {
            ("mend", "Find the bad spot in the {}, mend it, renew a blown fuse", 15.0)
        }
    }
}

/// Heavy cables, batteries, starters and solenoids are unbolted with the ground cable off only.
fn needs_ground_off(circuit: &Circuit, part: PartId) -> bool {
    match circuit.parts[part.index()].kind {
        Kind::Battery
        | Kind::Solenoid
        | Kind::StarterMotor
        | Kind::ChargingSource
        | Kind::FusibleLink
        | Kind::Strap => true,
        Kind::Wire { heavy, .. } => heavy,
        _ => circuit.carries_heavy(part),
    }
}
