//! The review of a drill: what was wrong, what it is worth, step by step what would have been better.

use crate::drill::judge::Step;
use crate::drill::play::Drill;
use crate::drill::score::{self, Score};
use crate::job::words::show;
use crate::report::plain::filled;

/// Lines are filled up to here.
const WIDTH: usize = 78;
/// Under this share of the points for the time, there is something to say of where to look.
const SLOW: f64 = 0.8;

/// Said where two faults were hidden.
const TWO_AT_ONCE: &str = "Two at once: the shares below are those of one fault alone, so a look that seems poor \
                           may have told the one from the other.";

/// Of the parts still open, who names fewer of them rightly is told how to.
const MANY_NAMED: f64 = 0.7;

/// The whole review, as lines for a terminal.
pub fn write(drill: &Drill<'_>, steps: &[Step], score: &Score) -> String {
    let mut text = String::from("REVIEW\n");
    for line in truth(drill) {
        text.push_str(&filled(&line, WIDTH, "  ", "    "));
    }
    if drill.hidden.len() > 1 {
        text.push_str(&filled(TWO_AT_ONCE, WIDTH, "  ", "    "));
    }
    text.push('\n');
    text.push_str(&marks(score));
    text.push('\n');
    for step in steps {
        text.push_str(&one(step));
    }
    text.push('\n');
    for line in lessons(score) {
        text.push_str(&filled(&line, WIDTH, "  - ", "    "));
    }
    text
}

/// What was wrong, and what mends it.
pub fn truth(drill: &Drill<'_>) -> Vec<String> {
    let lineup = drill.study.lineup();
    let circuit = drill.study.circuit();
    drill
        .hidden
        .iter()
        .map(|id| &lineup.suspects[id.index()])
        .map(|one| {
            let part = one.part.map_or("", |part| circuit.part(part).name.as_str());
            let fix = &lineup.fixes[one.fix.index()].title;
            format!("Wrong was: {part}: {}. Mended by: {fix}.", one.fault)
        })
        .collect()
}

/// The points, a heading a line.
pub fn marks(score: &Score) -> String {
    let points = &score.points;
    let yes = |is: bool| if is { "yes" } else { "no" };
    let harm = match (score.dangers.len(), score.vain, score.misread) {
        (0, 0, 0) if score.solved => "yes".to_owned(),
        (0, 0, 0) if score.tests == 0 => "nothing was done".to_owned(),
        (0, 0, 0) => "yes; half of it, as long as it is not mended".to_owned(),
        (dangers, vain, misread) => {
            let one = |count: usize, words: &str| (count > 0).then(|| format!("{count} {words}"));
            let all = [
                one(dangers, "stopped"),
                one(
                    vain,
                    if vain == 1 { "good part in exchange" } else { "good parts in exchange" },
                ),
                one(misread, "misread"),
            ];
            all.into_iter().flatten().collect::<Vec<_>>().join(", ")
        }
    };
    let time = if score.solved && !score.proven {
        format!("{} min; it counts once the repair is proven", show(score.minutes))
    } else if score.solved {
        format!(
            "{} min; the planner, on this machine, {}",
            show(score.minutes),
            show(score.par.minutes)
        )
    } else {
        format!("{} min", show(score.minutes))
    };
    let rows = [
        ("solved", yes(score.solved).to_owned(), points.solved, score::SOLVED),
        (
            "complaint confirmed first",
            yes(score.confirmed).to_owned(),
            points.confirmed,
            score::CONFIRMED,
        ),
        ("repair proven", yes(score.proven).to_owned(), points.proven, score::PROVEN),
        ("no harm done", harm, points.no_harm, score::NO_HARM),
        ("time", time, points.time, score::TIME),
    ];
    let mut text = String::new();
    for (name, words, points, most) in rows {
        let head = format!("  {name:<26} {points:>3.0} of {most:<3.0} ");
        let rest = " ".repeat(head.len());
        text.push_str(&filled(&words, WIDTH, &head, &rest));
    }
    if score.hints > 0 {
        text.push_str(&format!("  {:<26} {:>3.0}\n", "hints", points.hints));
    }
    text.push_str(&format!("  {:<26} {:>3.0} of 100\n", "SCORE", points.all));
    text.push_str(&beside(score));
    text
}

fn beside(score: &Score) -> String {
    let mut lines = vec![format!(
        "{} looks; the planner took {}. From the start it expects {} min over all faults that give this complaint.",
        score.tests,
        score.par.tests,
        show(score.par.expected_minutes)
    )];
    if let Some(share) = score.look_share {
        lines.push(format!(
            "On average your looks brought {:.0} % of what the best look then would have brought for its time.",
            share * 100.0
        ));
    }
    let (right, likeliest, all) = score.foretold;
    if all > 0 {
        lines.push(format!(
            "Foretold: {right} of {all} came so; {likeliest} of {all} were as good a guess as any."
        ));
    }
    if let Some(open) = score.open_sets {
        lines.push(format!("Naming what is still open: {:.0} % right.", open * 100.0));
    }
    lines.iter().map(|line| filled(line, WIDTH, "  ", "  ")).collect()
}

/// One step with what there is to say of it.
pub fn one(step: &Step) -> String {
    let mut head = format!("{}. {}", step.number, step.done.trim_end_matches('.'));
    if !step.seen.is_empty() {
        head.push_str(&format!(": {}", step.seen.trim_end_matches('.')));
    }
    if step.minutes > 0.0 {
        head.push_str(&format!(" ({} min)", show(step.minutes)));
    }
    if !step.mark.words().is_empty() {
        head.push_str(&format!(" [{}]", step.mark.words()));
    }
    let mut text = filled(&head, WIDTH, "  ", "     ");
    for words in &step.words {
        text.push_str(&filled(words, WIDTH, "     ", "     "));
    }
    text
}

/// What to take along, most important first.
pub fn lessons(score: &Score) -> Vec<String> {
    let mut lines = Vec::new();
    if !score.dangers.is_empty() {
        lines.push(
            "Safety first: an order that is stopped here is an injury or a burnt cable out there."
                .to_owned(),
        );
    }
    if !score.solved {
        lines.push("It is not mended. The next one to look at it finds it as you did.".to_owned());
    }
    if score.solved && !score.proven {
        lines.push(
            "A repair that was not tried is a hope: run everything (`prove`) before it goes out."
                .to_owned(),
        );
    }
    if !score.confirmed {
        lines.push(
            "See the complaint for yourself first (`try`): what is told is not always what is so."
                .to_owned(),
        );
    }
    if score.vain > 0 {
        lines.push(
            "Parts are no testers: measure until one of them is likelier than all others together."
                .to_owned(),
        );
    }
    if score.misread > 0 {
        lines.push(
            "Before you name a part, go through what was read: does each of it fit?".to_owned(),
        );
    }
    if score.open_sets.is_some_and(|right| right < MANY_NAMED) {
        lines.push(
            "What is forgotten is not found: go along the path from supply to ground and name each piece, wires too."
                .to_owned(),
        );
    }
    if score.idle > 0 {
        lines.push(format!(
            "{} look{} could tell nothing: ask before each what you will do if it shows the one, and what if the other.",
            score.idle,
            if score.idle == 1 { "" } else { "s" }
        ));
    }
    let slow = score.points.time < SLOW * score::TIME;
    if slow && score.look_share.is_some_and(|share| share < 0.5) {
        lines.push("Look where about half of the suspicion lies on either side, and near to where you stand.".to_owned());
    }
    if lines.is_empty() {
        lines.push("Nothing to add: so it is done.".to_owned());
    }
    lines
}
