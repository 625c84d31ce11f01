//! Standings of a job on `circuits/start-button.yaml`, written by hand: the starter stays silent.
//!
//! The words and shares are made up to be like those of a real job; nothing here is reckoned.

use halfsplit::circuit::{PartId, TerminalId};
use halfsplit::job::event::Event;
use halfsplit::job::shown::past::Past;
use halfsplit::job::standing::{
    Charge, Ending, FixStep, FoundLine, Held, NumberEntry, OutcomeLine, Path, PathRow, Standing,
    Step, SuspectLine, TestStep,
};
use halfsplit::tui::bench::{Bench, Fact, OtherTest};

fn texts(lines: &[&str]) -> Vec<String> {
    lines.iter().map(|line| (*line).to_owned()).collect()
}

fn outcome(key: char, id: &str, words: &str, probability: f64, meaning: &str) -> OutcomeLine {
    OutcomeLine {
        key,
        id: id.to_owned(),
        words: words.to_owned(),
        probability,
        meaning: meaning.to_owned(),
    }
}

fn suspect(id: &str, [part, fault, fix]: [&str; 3], probability: f64) -> SuspectLine {
    SuspectLine {
        id: id.to_owned(),
        part: part.to_owned(),
        fault: fault.to_owned(),
        fix: fix.to_owned(),
        probability,
    }
}

fn found(number: usize, what: &str, seen: &str) -> FoundLine {
    FoundLine { number, what: what.to_owned(), brief: what.to_owned(), seen: seen.to_owned() }
}

/// The two paths; the probe touches behind the row of this name on the first one.
fn paths(suspicion: &[(&str, f64)], touched: &str) -> Vec<Path> {
    let share = |name: &str| {
        suspicion.iter().find(|(part, _)| *part == name).map_or(0.0, |(_, share)| *share)
    };
    let row =
        |(part, (name, place, thin, energised)): (usize, &(&str, &str, bool, bool))| PathRow {
            part: PartId(part as u32),
            name: (*name).to_owned(),
            place: (*place).to_owned(),
            thin: *thin,
            suspicion: share(name),
            before: Held::Nothing,
            probe_behind: *name == touched,
            charge: if *energised { Charge::Live } else { Charge::Afloat },
            volts: if *energised { 12.4 } else { 0.0 },
        };
    let control = [
        ("RD", "under seat", true, true),
        ("main fuse", "under seat", false, true),
        ("RD/YE", "under seat", true, true),
        ("key switch", "headlamp shell", false, true),
        ("BN", "under seat", true, true),
        ("solenoid coil", "under seat", false, true),
        ("BU/WH to C2", "under seat", true, true),
        ("C2", "headlamp shell", true, true),
        ("BU/WH to button", "right handlebar", true, true),
        ("start button", "right handlebar", false, true),
        ("BK", "headlamp shell", true, false),
        ("bar ground", "headlamp shell", true, false),
    ];
    let main = [
        ("battery cable", "under seat", true, true),
        ("solenoid contact", "under seat", false, true),
        ("starter cable", "engine front", true, false),
        ("starter", "engine front", false, false),
        ("engine ground", "engine front", true, false),
        ("ground strap", "under seat", true, false),
    ];
    vec![
        Path { name: "control".to_owned(), rows: control.iter().enumerate().map(row).collect() },
        Path { name: "main current".to_owned(), rows: main.iter().enumerate().map(row).collect() },
    ]
}

fn suspects() -> Vec<SuspectLine> {
    vec![
        suspect(
            "start-button.dirty",
            ["start button", "contacts dirty, about 100 ohm", "clean the start button"],
            0.43,
        ),
        suspect(
            "bar-ground.open",
            ["bar ground", "loose or corroded, no contact", "clean and tighten the bar ground"],
            0.21,
        ),
        suspect("C2.open", ["C2", "pin pushed back, no contact", "reseat the pin of C2"], 0.11),
        suspect(
            "key-switch.open",
            ["key switch", "worn out, no contact", "replace the key switch"],
            0.08,
        ),
        suspect("solenoid.coil-open", ["solenoid", "coil broken", "replace the solenoid"], 0.07),
        suspect("main-fuse.open", ["main fuse", "blown", "replace the main fuse"], 0.06),
        suspect("outside", ["outside this drawing", "something not drawn", ""], 0.04),
    ]
}

fn standing(step: Step) -> Standing {
    let suspicion = [
        ("start button", 0.43),
        ("bar ground", 0.21),
        ("C2", 0.11),
        ("key switch", 0.08),
        ("solenoid coil", 0.07),
        ("main fuse", 0.06),
    ];
    Standing {
        step,
        suspects: suspects(),
        found: vec![found(1, "ears, key on, button held", "silence")],
        paths: paths(&suspicion, "BU/WH to C2"),
        setup: "key on, starter button released".to_owned(),
        minutes_spent: 1.2,
        minutes_left: 14.0,
        surprise: None,
    }
}

/// A lamp test with a caution and three outcomes.
pub fn lamp_step() -> TestStep {
    TestStep {
        id: "lamp.C2-loom-side.key-on".to_owned(),
        title: "Lamp from C2, loom side, to the frame".to_owned(),
        cautions: texts(&[
            "Gear in neutral, wheels chocked: the engine may turn when the button is held.",
        ]),
        doing: texts(&[
            "Open the headlamp shell.",
            "Turn the key on; leave the button alone.",
            "Clip the test lamp to bare metal of the frame.",
            "Touch its tip to the BU/WH bullet of C2, loom side.",
        ]),
        watch: "Look at the lamp.".to_owned(),
        sound: None,
        published: None,
        outcomes: vec![
            outcome(
                'l',
                "lit",
                "lamp lights",
                0.74,
                "the feed and the coil are whole; look at the button side",
            ),
            outcome('i', "dim", "lamp glows dimly", 0.05, "a bad contact on the feed side"),
            outcome(
                'd',
                "dark",
                "lamp stays dark",
                0.21,
                "no feed: main fuse, key switch, coil or their wires",
            ),
        ],
        number: None,
        minutes: 4.5,
        why: texts(&[
            "It parts the suspicion 74 to 26, and C2 is on the way to both halves.",
            "A test at the button would cost less but tell only of the button.",
        ]),
        points: vec![TerminalId::new(9)],
    }
}

/// A meter test: two named ranges and a number.
pub fn volts_step() -> TestStep {
    TestStep {
        id: "volts.battery".to_owned(),
        title: "Meter across the battery".to_owned(),
        cautions: Vec::new(),
        doing: texts(&[
            "Lift the seat.",
            "Set the meter to volts, direct current.",
            "Black tip on the battery's minus post, red tip on its plus post.",
        ]),
        watch: "Read the meter.".to_owned(),
        sound: Some("Sound: 12 to 12.6 V.".to_owned()),
        published: None,
        outcomes: vec![
            outcome('f', "full", "12.2 V or more", 0.9, "the battery is not the cause"),
            outcome('e', "low", "below 12.2 V", 0.1, "charge the battery before anything else"),
        ],
        number: Some(NumberEntry {
            unit: "V",
            least: 0.0,
            most: 15.0,
            likely: vec![(0.1, 0.25), (10.5, 12.9)],
            either_sign: false,
            system_volts: 12.0,
        }),
        minutes: 2.0,
        why: texts(&["It is quick, and a flat battery would explain everything."]),
        points: vec![TerminalId::new(1)],
    }
}

/// A meter test with many ranges, most of them unlikely.
pub fn ranges_step() -> TestStep {
    let range = |key, words: &str, probability, meaning: &str| {
        outcome(key, &words.replace(' ', "-"), words, probability, meaning)
    };
    TestStep {
        id: "volts.C2-loom-side".to_owned(),
        title: "Volts to ground: C2, loom side".to_owned(),
        outcomes: vec![
            range('a', "under 0.05 V", 0.24, "main fuse 21 %, key switch 13 %, battery 9 %"),
            range('b', "0.05 to 0.3 V", 0.07, "battery 38 %, engine ground 17 %"),
            range('c', "0.3 to 1.2 V", 0.004, "battery 45 %, beyond the drawing 14 %"),
            range('d', "1.2 to 5 V", 0.002, "battery 59 %"),
            range('e', "5 to 9 V", 0.006, "key switch 40 %"),
            range('f', "9 to 11 V", 0.05, "bad contact in the feed"),
            range('i', "11 to 12 V", 0.6, "start button 40 %, C2 30 %, bar ground 20 %"),
            range('l', "over 12 V", 0.028, "coil shorted"),
        ],
        watch: "Read the volts. Then let go of the starter button.".to_owned(),
        sound: Some("Sound: 0.1 to 0.25 V.".to_owned()),
        published: Some("Published: at most 0.3 V (common practice, from memory).".to_owned()),
        cautions: lamp_step().cautions,
        doing: lamp_step().doing,
        ..volts_step()
    }
}

pub fn in_ranges() -> Standing {
    standing(Step::Test(ranges_step()))
}

pub fn testing() -> Standing {
    standing(Step::Test(lamp_step()))
}

pub fn measuring() -> Standing {
    let mut standing = standing(Step::Test(volts_step()));
    standing.paths = paths(&[("start button", 0.43)], "RD");
    standing.surprise = Some(
        "Reading 1 and reading 2 hardly go together. Reading 1 is the likelier slip: take it again."
            .to_owned(),
    );
    standing
}

pub fn fixing() -> Standing {
    let mut standing = standing(Step::Fix(FixStep {
        id: "clean-start-button".to_owned(),
        title: "Clean the start button's contacts".to_owned(),
        probability: 0.91,
        cautions: texts(&["Key off before the button is opened: its feed is live."]),
        parts: texts(&["contact cleaner", "should it stay bad: start button for 3.4 A, 12 V"]),
        doing: texts(&[
            "Turn the key off.",
            "Take the two screws out of the button housing and lift the cap off.",
            "Brush the copper contacts bright, wipe them dry, a trace of contact grease.",
            "Put the cap back.",
        ]),
        proof: texts(&[
            "Neutral, key on, hold the button: the starter turns.",
            "Volt drop across the button while it is held: below 0.2 V.",
        ]),
        minutes: 12.0,
        why: texts(&["It holds 91 % of the suspicion, and no test is cheaper than the repair."]),
        part: PartId(4),
    }));
    standing.found.push(found(2, "lamp C2 loom side to frame, key on", "lamp lights"));
    standing.found.push(found(3, "lamp across the button, key on, button held", "lamp lights"));
    "key on, starter button held, headlamp shell open".clone_into(&mut standing.setup);
    standing.suspects.truncate(2);
    standing.suspects[0].probability = 0.91;
    standing.suspects[1].probability = 0.06;
    standing.paths = paths(&[("start button", 0.91), ("bar ground", 0.06)], "");
    standing.minutes_spent = 9.0;
    standing.minutes_left = 13.0;
    standing
}

pub fn cured() -> Standing {
    let mut standing = fixing();
    standing.step = Step::Cured(Ending {
        title: "Start button: contacts dirty. Cleaned; the starter turns.".to_owned(),
        lines: texts(&[
            "The lamp at C2 lit: feed and coil are whole.",
            "The lamp across the button lit while it was held: the button did not close.",
            "After the repair the starter turned.",
        ]),
        put_back: texts(&["Key off.", "Close the headlamp shell.", "Seat down."]),
    });
    standing.found.push(found(4, "clean the start button", "cured"));
    standing.minutes_left = 0.0;
    standing
}

pub fn stuck() -> Standing {
    let mut standing = fixing();
    standing.step = Step::Stuck(Ending {
        title: "No test and no repair is left that would pay.".to_owned(),
        lines: texts(&[
            "Feed, coil and C2 are whole.",
            "A meter would be needed to tell the bar ground from the button.",
        ]),
        put_back: texts(&["Key off."]),
    });
    standing.minutes_left = 0.0;
    standing
}

pub fn others() -> Vec<OtherTest> {
    let test = |id: &str, title: &str, place: &str, minutes: f64, worth: f64| OtherTest {
        id: id.to_owned(),
        title: title.to_owned(),
        place: place.to_owned(),
        minutes,
        worth,
    };
    vec![
        test(
            "lamp.C2-loom-side.key-on",
            "Lamp from C2, loom side, to the frame",
            "headlamp shell",
            4.5,
            0.21,
        ),
        test(
            "lamp.solenoid-coil-out",
            "Lamp from the solenoid, coil out, to the frame",
            "under seat",
            1.5,
            0.19,
        ),
        test("volts.battery", "Meter across the battery", "under seat", 2.0, 0.06),
        test(
            "ohms.start-button",
            "Meter in ohms across the start button, held, battery ground cable off",
            "right handlebar",
            6.0,
            0.05,
        ),
        test(
            "lamp.main-fuse-out",
            "Lamp from the main fuse, out, to the frame",
            "under seat",
            1.0,
            0.04,
        ),
    ]
}

/// A step that was done.
pub fn past(number: usize) -> Past {
    Past {
        number,
        what: "Test lamp to ground: C2, loom side; key on".to_owned(),
        seen: "lamp lights".to_owned(),
        doing: texts(&["Get to: headlamp shell (4 min).", "Touch C2, loom side."]),
        chances: vec![
            ("lights brightly".to_owned(), 0.74, true),
            ("glows dimly".to_owned(), 0.05, false),
            ("stays dark".to_owned(), 0.21, false),
        ],
        before: suspects()[..3].to_vec(),
        after: suspects()[..2].to_vec(),
        minutes: 4.5,
    }
}

/// What can be told beside the steps.
pub fn facts() -> Vec<Fact> {
    let fact = |now: &str, then: &str, holds, event| Fact {
        now: now.to_owned(),
        then: then.to_owned(),
        holds,
        event,
    };
    let place = "headlamp-shell".to_owned();
    let tester = "meter".to_owned();
    let part = "main-fuse".to_owned();
    vec![
        fact(
            "headlamp shell: can be reached",
            "cannot be reached",
            true,
            Event::Reach { place, can: false },
        ),
        fact(
            "digital meter: at hand",
            "not at hand",
            true,
            Event::Equipped { tester, at_hand: false },
        ),
        fact("main fuse: not replaced lately", "replaced lately", false, Event::Replaced { part }),
    ]
}

/// A job that goes through a list of standings, one further with each event that counts.
pub struct Canned {
    standings: Vec<Standing>,
    at: usize,
    /// What was recorded.
    pub events: Vec<Event>,
}

impl Canned {
    /// From the first of these standings on.
    pub fn new(standings: Vec<Standing>) -> Self {
        Self { standings, at: 0, events: Vec::new() }
    }
}

impl Bench for Canned {
    fn standing(&mut self) -> Standing {
        self.standings[self.at].clone()
    }

    fn record(&mut self, event: Event) -> Result<(), String> {
        let counts = !matches!(event, Event::Note { .. } | Event::Chose { .. });
        self.events.push(event);
        if counts {
            self.at = (self.at + 1).min(self.standings.len() - 1);
        }
        Ok(())
    }

    fn undo(&mut self) -> Result<bool, String> {
        let undone = self.at > 0;
        self.at = self.at.saturating_sub(1);
        Ok(undone)
    }

    fn redo(&mut self) -> Result<bool, String> {
        let more = self.at + 1 < self.standings.len();
        self.at += usize::from(more);
        Ok(more)
    }

    fn look_back(&mut self, number: usize) -> Option<Past> {
        Some(past(number))
    }

    fn facts(&mut self) -> Vec<Fact> {
        facts()
    }

    fn card(&mut self) -> Result<String, String> {
        Ok("~/jobs/marlock-3.html".to_owned())
    }

    fn others(&mut self) -> Vec<OtherTest> {
        others()
    }

    fn step_for(&mut self, test: &str) -> Option<TestStep> {
        [lamp_step(), volts_step()].into_iter().find(|step| step.id == test)
    }

    fn explain(&mut self, suspect: &str) -> Vec<String> {
        vec![
            format!("for {suspect}: reading 1, silence, is what it would do"),
            "against: such parts last long".to_owned(),
        ]
    }

    fn title(&self) -> (String, String) {
        ("Start circuit, button to ground".to_owned(), "Marlock 360 twin".to_owned())
    }

    fn kept_at(&self) -> Option<String> {
        Some("~/jobs/marlock-3.job".to_owned())
    }
}
