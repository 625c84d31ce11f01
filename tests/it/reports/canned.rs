//! A small fault tree made by hand, so that what formats print does not hang on the planner.

use halfsplit::report::tree::{FaultTree, Figures, Kind, Leaning, Node, Outcome, Subject};

/// A lamp that stays dark: one look, two repairs that share what follows, an end and a cut.
pub fn tree() -> FaultTree {
    FaultTree {
        subject: Subject {
            circuit: "Work lamp".to_owned(),
            machine: "Bench trainer".to_owned(),
            complaint: "lights".to_owned(),
            kit: vec!["digital meter".to_owned()],
            notes: vec!["The switch has a lamp of its own.".to_owned()],
            limits: Some("battery, + to work lamp, +: at most 0.14 V.".to_owned()),
        },
        figures: Figures {
            expected_minutes: 26.4,
            expected_tests: 1.3,
            bound_minutes: 9.5,
            worst_minutes: 244.5,
            worst_cured_minutes: 4.5,
            optimum_minutes: Some(26.0),
            cured_probability: 0.63,
            hand_on_probability: 0.07,
            cut_probability: 0.3,
        },
        cut_below: 0.25,
        complete: true,
        nodes: nodes(),
    }
}

fn nodes() -> Vec<Node> {
    let root = (Kind::Test, "volts/lamp.plus/on", "Volts to ground: lamp, +", 1.5, 1.0);
    let first = (Kind::Fix, "replace-lamp", "Fit a new lamp and clean its holder", 3.0, 0.6);
    let again = (Kind::Fix, "replace-lamp", "Fit a new lamp and clean its holder", 3.0, 0.1);
    let end =
        (Kind::HandOn, "hand-on", "Not found with what is at hand: hand the job on", 240.0, 0.06);
    let cut = (Kind::Cut, "cut", "Not followed further here", 20.0, 0.0);
    let cured = (Kind::Cured, "cured", "Proven: it works again", 0.0, 0.54);
    vec![
        node(
            root,
            vec![
                outcome("under-1V", "under 1 V", 0.1, &[("switch", 0.8), ("wire", 0.19)], 5),
                outcome("1-to-9V", "1 to 9 V", 0.2, &[("ground", 0.7), ("lamp", 0.3)], 6),
                outcome("9-to-11V", "9 to 11 V", 0.1, &[("lamp", 0.9)], 2),
                outcome("over-11V", "over 11 V", 0.6, &[("lamp", 0.95), ("ground", 0.02)], 1),
            ],
        ),
        node(
            first,
            vec![
                outcome("cured", "it works", 0.9, &[], 7),
                outcome("not-cured", "still fails", 0.1, &[("beyond the drawing", 1.0)], 3),
            ],
        ),
        node(
            again,
            vec![
                outcome("cured", "it works", 0.9, &[], 8),
                outcome("not-cured", "still fails", 0.1, &[("beyond the drawing", 1.0)], 4),
            ],
        ),
        node(end, vec![]),
        node(end, vec![]),
        node(cut, vec![]),
        node(cut, vec![]),
        node(cured, vec![]),
        node(cured, vec![]),
    ]
}

fn node(said: (Kind, &str, &str, f64, f64), outcomes: Vec<Outcome>) -> Node {
    let (kind, id, title, minutes, reached) = said;
    let lines = |list: &[&str]| list.iter().map(|line| (*line).to_owned()).collect::<Vec<_>>();
    let (cautions, doing) = match kind {
        Kind::Test => (vec![], lines(&["Set the toggle: on.", "Read the volts."])),
        Kind::Fix => {
            (lines(&["The lamp is hot."]), lines(&["Fit a new lamp.", "Proven when it lights."]))
        }
        Kind::Cured => (vec![], lines(&["Set the toggle: off."])),
        _ => (vec![], vec![]),
    };
    Node {
        kind,
        id: id.to_owned(),
        title: title.to_owned(),
        minutes,
        reached,
        expected_minutes: minutes,
        expected_tests: 0.0,
        cautions,
        doing,
        outcomes,
    }
}

fn outcome(
    id: &str,
    words: &str,
    probability: f64,
    leaves: &[(&str, f64)],
    next: usize,
) -> Outcome {
    let leaning = |&(part, share): &(&str, f64)| Leaning { part: part.to_owned(), share };
    Outcome {
        id: id.to_owned(),
        words: words.to_owned(),
        probability,
        leaves: leaves.iter().map(leaning).collect(),
        next,
    }
}
