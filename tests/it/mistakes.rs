//! Plausible mistakes, made in circuits that are right: each message points at the right place.
//!
//! A mistake replaces some text of a built-in circuit. The first problem has to stand in the line of the
//! mistake, or in the one said beside it, and to name the mistaken word.

use halfsplit::circuit::{builtin, protect, read};
use halfsplit::problem::{Picture, Problem, Severity, Source, picture};

/// One mistake.
#[derive(Clone, Copy)]
struct Mistake {
    /// The circuit.
    base: &'static str,
    /// What is replaced, where it first stands.
    right: &'static str,
    /// By what.
    wrong: &'static str,
    /// What the message, its help or one of its notes has to name.
    names: &'static str,
    /// Text in the line of the message, where that is not the line of the mistake.
    told_at: Option<&'static str>,
}

const fn of(
    base: &'static str,
    right: &'static str,
    wrong: &'static str,
    names: &'static str,
) -> Mistake {
    Mistake { base, right, wrong, names, told_at: None }
}

const fn told_at(mistake: Mistake, line: &'static str) -> Mistake {
    Mistake { told_at: Some(line), ..mistake }
}

const BUTTON: &str = "start-button";
const INTERLOCK: &str = "start-interlock";
const HORN: &str = "horn-relay";
const TRAILER: &str = "trailer-lamps";

const MISTAKES: &[Mistake] = &[
    // Words and units.
    of(BUTTON, "kind: solenoid", "kind: solonoid", "solonoid"),
    of(BUTTON, "kind: starter motor, ", "", "kind"),
    of(BUTTON, "kind: fuse, rating: 20 A", "kind: fuse, coil: 20 ohm", "coil"),
    of(BUTTON, "size: 2.5 mm2", "size: 2.5", "2.5"),
    of(BUTTON, "rating: 20 A", "rating: 20 V", "`V`"),
    of(BUTTON, "rating: 20 A", "rating: -20 A", "-20 A"),
    of(BUTTON, "rating: 20 A", "rating: 2O A", "`O A`"),
    of(BUTTON, "ohms: 12 mohm", "ohms: 12 ohm", "12 ohm"),
    of(BUTTON, "coil: 3.6 ohm", "coil: 3,6 ohm", "3,6"),
    of(BUTTON, "length: 1.3 m }", "length: 1,3 m }", "1,3 m"),
    of(BUTTON, "headlamp shell: 4 min", "headlamp shell: 4 mn", "`mn`"),
    of(BUTTON, "trouble: 6", "trouble: often", "often"),
    of(BUTTON, "system: 12 V", "system: 120 V", "60 V"),
    of(BUTTON, "system: 12 V", "system: twelve", "twelve"),
    // How YAML is written.
    of(BUTTON, "  battery: {", "\tbattery: {", "tab"),
    of(BUTTON, "  starter: { kind", "   starter: { kind", "same column"),
    told_at(
        of(BUTTON, "at: engine front }\n  bar", "at: engine front\n  bar", "line 42"),
        "  bar ground: {",
    ),
    of(BUTTON, "kind: ground point, at: headlamp", "kind: ground point at: headlamp", "comma"),
    of(BUTTON, "  - { from: key switch.out", "  { from: key switch.out", "- "),
    of(BUTTON, "{ kind: starter motor", "{ kind:starter motor", "kind:starter motor"),
    of(BUTTON, "note: Open to the rain", "note: \"Open to the rain", "quote"),
    of(BUTTON, "  - No neutral or clutch switch - it", "  - No clutch switch: it", "needs quotes"),
    of(
        BUTTON,
        "at: engine front }",
        "at: engine front, note: Bare, in the rain. }",
        "needs quotes",
    ),
    of(BUTTON, "colour: BN, size", "colour: , size", "colour"),
    of(BUTTON, "\nwires:", "\nwire:", "wire"),
    of(BUTTON, "colour: BN", "color: BN", "color"),
    of(BUTTON, "format: 1\n", "", "format"),
    of(BUTTON, "format: 1", "format: 2", "2"),
    // Names.
    of(BUTTON, "to: solenoid.coil in", "to: solenoid.coil inn", "coil inn"),
    of(BUTTON, "to: starter.+", "to: starter motor.+", "starter motor"),
    of(BUTTON, "at: engine front, open_up", "at: engine fron, open_up", "engine fron"),
    of(BUTTON, "control: starter button", "control: start button", "start button"),
    of(BUTTON, "closed: pressed", "closed: presed", "presed"),
    of(BUTTON, "rest: off", "rest: of", "of"),
    of(BUTTON, "springs_back: released", "springs_back: release", "release"),
    of(BUTTON, "[off, on]", "[on]", "on"),
    of(BUTTON, "C2.loom side", "C2.loom sid", "loom sid"),
    of(BUTTON, "type: bullet", "type: bulet", "bulet"),
    of(BUTTON, "halves: [loom side, bar side]", "halves: [loom side]", "halves"),
    told_at(
        of(BUTTON, "  engine ground: {", "  bar ground: {", "bar ground"),
        "at: headlamp shell }\n\nconnectors",
    ),
    of(BUTTON, "  main fuse: {", "  main.fuse: {", "main.fuse"),
    of(BUTTON, "colour: BN", "colour: brown", "brown"),
    of(BUTTON, "to: main fuse.in, ", "", "to"),
    of(BUTTON, "from: battery.+, to: main fuse.in", "from: battery.+, to: battery.+", "both ends"),
    of(BUTTON, "see: starter turns", "see: engine turns", "engine"),
    of(BUTTON, "see: starter turns", "see: starter rotates", "rotates"),
    of(BUTTON, "when: { key: on", "when: { key: run", "run"),
    of(BUTTON, "when: { key: on", "when: { kay: on", "kay"),
    told_at(
        of(
            BUTTON,
            "  - { name: ground strap, from: battery.-",
            "  - { name: ground strap, from: starter.body",
            "-",
        ),
        "  battery: {",
    ),
    told_at(of(BUTTON, "to: solenoid.coil in", "to: solenoid.coil out", "coil in"), "  solenoid:"),
    of(
        BUTTON,
        "\n  - { from: main fuse.out",
        "\n  - { from: battery.+, to: main fuse.in, colour: RD, size: 2.5 mm2 }\n  - { from: main fuse.out",
        "main fuse",
    ),
    of(INTERLOCK, "ground: body", "ground: chassis", "chassis"),
    of(INTERLOCK, "C1.run loom side", "C1.rum loom side", "rum loom side"),
    of(INTERLOCK, "blocking diode.anode", "blocking diode.+", "+"),
    of(HORN, "horn relay.87", "horn relay.88", "88"),
    of(HORN, "across_coil: diode", "across_coil: diod", "diod"),
    of(TRAILER, "joins: { left:", "joins: { lft:", "lft"),
    of(TRAILER, "[[feed, L]]", "[[feed, LL]]", "LL"),
];

/// The text with the mistake in it, and the line in which it has to be told.
fn made(mistake: &Mistake) -> (String, usize) {
    let text = builtin::text(mistake.base).unwrap();
    let at = text.find(mistake.right).unwrap_or_else(|| panic!("no `{}`", mistake.right));
    let wrong = text.replacen(mistake.right, mistake.wrong, 1);
    let blanks = mistake.wrong.len() - mistake.wrong.trim_start_matches('\n').len();
    let place = mistake.told_at.map_or(at + blanks, |line| wrong.find(line).unwrap());
    let line = wrong[..place].matches('\n').count() + 1;
    (wrong, line)
}

/// What `check` tells before it reckons.
fn problems(text: &str) -> Vec<Problem> {
    let (found, mut problems) = read::read_located("mistake.yaml", text);
    if let Some((circuit, origins)) = found {
        protect::fuses(&circuit, &origins, &mut problems);
        protect::doubles(&circuit, &origins, &mut problems);
    }
    problems
}

#[test]
fn fifty_plausible_mistakes_are_told_where_they_are() {
    assert!(MISTAKES.len() >= 50);
    let mut all = String::new();
    let mut wrong = Vec::new();
    for mistake in MISTAKES {
        let (text, line) = made(mistake);
        let found = problems(&text);
        let source = Source { name: "mistake.yaml", text: &text };
        all.push_str(&format!(
            "### {}: {:?} for {:?}\n",
            mistake.base, mistake.wrong, mistake.right
        ));
        for problem in &found {
            all.push_str(&format!("{}\n\n", picture(problem, &[source], Picture::default())));
        }
        let says = |problem: &Problem| {
            let notes =
                problem.notes.iter().map(|(_, label)| label.as_str()).collect::<Vec<_>>().join(" ");
            format!("{} {} {notes}", problem.message, problem.help.as_deref().unwrap_or_default())
        };
        let right =
            found.iter().any(|one| one.span.line == line && says(one).contains(mistake.names));
        let first = found.first().map(|one| (one.span.line, one.severity));
        if !right || found.len() > 3 {
            wrong.push(format!(
                "{:?}: wanted line {line}, {} found, first {first:?}",
                mistake.wrong,
                found.len()
            ));
        }
        assert!(found.iter().all(|one| one.severity == Severity::Error || one.help.is_some()));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    insta::assert_snapshot!("mistakes", all);
}
