//! Two faults at once: named, mended one after the other, and proven.

use std::path::Path;
use std::sync::Arc;

use halfsplit::circuit::read;
use halfsplit::history::record::Record;
use halfsplit::job::course::pairs;
use halfsplit::job::event::{Answer, Event};
use halfsplit::job::standing::Step;
use halfsplit::job::state::Job;
use halfsplit::job::study::Study;
use halfsplit::job::study::learned::Learned;
use halfsplit::plan::{Budget, Progress};
use halfsplit::suspect::SuspectId;
use halfsplit::tester::Instrument;
use halfsplit::trial::desk::Desk;
use halfsplit::trial::double::doubles;
use halfsplit::trial::noise::{Noise, noisy};

use crate::terminal::pty::{Pty, folder};

const LAMP: &str = "tests/data/screens/lamp.yaml";

fn study(path: &str) -> Arc<Study> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    let text = std::fs::read_to_string(path).unwrap();
    let circuit = Arc::new(read::read_text("circuit", &text).0.unwrap());
    Arc::new(Study::new(&circuit, &[Instrument::Lamp, Instrument::Meter], 0).unwrap())
}

fn budget() -> Budget {
    Budget { nodes: 50 }
}

/// Plays a job with two faults by the steps proposed; gives the job and how it went.
fn play(study: &Arc<Study>, one: &str, other: &str) -> Job {
    let all = study.lineup().pairs().collect();
    let truth = pairs::study(study, all, false).unwrap();
    let mut now = truth.lineup().find(&format!("{one}+{other}")).unwrap();
    let mut job = Job::new(Arc::clone(study));
    for _ in 0..30 {
        let event = match job.standing(&budget(), &Progress::default()).step {
            Step::Test(step) => {
                let column = job.column(&step.id).unwrap();
                let shown = truth.column(&column.test).unwrap();
                let answer = if step.number.is_some() {
                    Answer::Number(column.test.scale.number_shown(shown.shown[now.index()].level))
                } else {
                    Answer::Named(shown.outcomes[shown.likeliest(now.index())].id.clone())
                };
                Event::Reading { test: step.id, answer }
            }
            Step::Fix(step) => {
                let fix = job.fix(&step.id).unwrap().index();
                let cured = mend(&truth, &mut now, fix);
                Event::Tried { fix: step.id, cured }
            }
            Step::Cured(_) => return job,
            Step::Stuck(ending) => panic!("{one} and {other}: {}", ending.title),
        };
        job.record(event).unwrap();
    }
    panic!("{one} and {other}: no end");
}

/// Mends what a fix mends of what is wrong now; true when all is well then.
fn mend(truth: &Study, now: &mut SuspectId, fix: usize) -> bool {
    let lineup = truth.lineup();
    if !lineup.mends(fix, *now) {
        return false;
    }
    let Some((one, other)) = lineup.suspects[now.index()].pair() else { return true };
    *now = if lineup.mends(fix, one) { other } else { one };
    truth.fails_check(*now) < 0.5
}

#[test]
fn the_second_fault_is_found_after_the_first_repair_failed_its_proof() {
    let study = study(LAMP);
    let job = play(&study, "work-lamp.open", "ground-strap.open");
    let tried: Vec<&Event> =
        job.events().iter().filter(|event| matches!(event, Event::Tried { .. })).collect();
    assert_eq!(tried.len(), 2, "{tried:?}");
    let course = job.folded().course;
    assert_eq!(course.fixes.iter().filter(|(_, cured)| *cured).count(), 1);
}

#[test]
fn two_faults_are_named_when_one_does_not_fit() {
    let study = study(LAMP);
    let job = play(&study, "work-lamp.open", "ground-strap.open");
    // Before the last repair both are named, one of them mended by then.
    let events = &job.events()[..job.events().len() - 1];
    let job = Job::with_events(study, events).unwrap();
    let surprise = job.standing(&budget(), &Progress::default()).surprise.unwrap();
    assert!(surprise.starts_with("No one fault fits; two do: "), "{surprise}");
    assert!(surprise.contains("(mended)"), "{surprise}");
    assert!(surprise.contains("ground strap") && surprise.contains("work lamp"), "{surprise}");
}

#[test]
fn events_taken_at_once_come_to_the_same_as_one_by_one() {
    let study = study(LAMP);
    let job = play(&study, "toggle-switch.open", "ground-strap.open");
    let again = Job::with_events(study, job.events()).unwrap();
    assert_eq!(job.folded().course.belief(), again.folded().course.belief());
}

#[test]
fn a_pair_shows_what_both_faults_do_together() {
    // Two opens in one line: behind the first, nothing, whatever the second is.
    let study = study(LAMP);
    let all: Vec<_> = study.lineup().pairs().collect();
    let paired = study.paired(&all, false).unwrap();
    let lineup = paired.lineup();
    let (toggle, ground) =
        (lineup.find("toggle-switch.open").unwrap(), lineup.find("frame-ground.open").unwrap());
    let at = lineup.suspects.iter().position(|one| one.pair() == Some((toggle, ground)));
    let at =
        at.or_else(|| lineup.suspects.iter().position(|one| one.pair() == Some((ground, toggle))));
    let at = at.unwrap();
    let mut differs = 0;
    for column in study.columns().unwrap() {
        let both = paired.column(&column.test).unwrap();
        let level = |suspect: usize| both.shown[suspect].level;
        // Singles are as they were.
        assert!((level(toggle.index()) - column.shown[toggle.index()].level).abs() < 1e-9);
        let off = (level(at) - level(toggle.index()))
            .abs()
            .min((level(at) - level(ground.index())).abs());
        differs +=
            usize::from((level(toggle.index()) - level(ground.index())).abs() > 0.1 && off < 0.1);
    }
    assert!(differs > 3, "one of the two tells: {differs}");
}

#[test]
fn drawn_pairs_are_cured() {
    let desk = Desk::new(&study(LAMP), budget());
    let (sum, each) = doubles(&desk, 12, 1, &Progress::default()).unwrap();
    assert_eq!(sum.jobs, 12);
    assert_eq!(each.len(), 12);
    assert!(sum.cured_share > 0.9, "{sum:?}");
    let again = doubles(&desk, 12, 1, &Progress::default()).unwrap();
    assert_eq!(again.1, each, "the same seed, the same jobs");
}

#[test]
fn lies_are_named_and_jobs_cured_all_the_same() {
    let desk = Desk::new(&study(LAMP), budget());
    let noise = Noise { jobs: 200, wrong: 0.1, seed: 3 };
    let sum = noisy(&desk, &noise, &Progress::default());
    assert!(sum.cured_share > 0.95, "{sum:?}");
    assert!(sum.lied_to_share > 0.1 && sum.lied_to_share < 0.6, "{sum:?}");
    assert!(sum.minutes_added > 0.0, "a lie costs time: {sum:?}");
    assert!(sum.lie_named_share > 0.3, "{sum:?}");
    let right = noisy(&desk, &Noise { wrong: 0.0, ..noise }, &Progress::default());
    assert!(right.lied_to_share < 1e-12, "{right:?}");
    assert!(right.minutes_added.abs() < 1e-9, "{right:?}");
}

#[test]
fn two_faults_are_said_on_the_screen() {
    let study = study(LAMP);
    let job = play(&study, "work-lamp.open", "ground-strap.open");
    let home = folder("two-faults");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(LAMP).display().to_string();
    let mut args = vec!["next".to_owned(), path];
    for event in &job.events()[..job.events().len() - 1] {
        let reading = match event {
            Event::Reading { test, answer: Answer::Number(value) } => format!("{test}={value}"),
            Event::Reading { test, answer: Answer::Named(id) } => format!("{test}={id}"),
            Event::Tried { fix, .. } => format!("{fix}=not-cured"),
            other => panic!("{other:?}"),
        };
        args.extend(["--reading".to_owned(), reading]);
    }
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    let pty = Pty::start(&args, (150, 60), &home);
    let (status, shown) = pty.wait_for_end();
    assert!(status.success());
    assert!(shown.contains("No one fault fits; two do"), "{shown}");
}

#[test]
fn a_job_of_two_faults_teaches_both() {
    let job = play(&study(LAMP), "work-lamp.open", "ground-strap.open");
    let record = Record::of(&job, "2026-03-02T08:00:00Z", &[]).unwrap();
    let share = |part: &str| record.found.parts.get(part).copied().unwrap_or(0.0);
    assert!(share("work-lamp") > 0.3 && share("ground-strap") > 0.3, "{:?}", record.found);
    let sum: f64 = record.found.parts.values().sum();
    assert!((sum - 1.0).abs() < 0.01, "{sum}");
}

#[test]
fn what_a_shop_has_learnt_goes_along_with_the_pairs() {
    let plain = study(LAMP);
    let mut learned = Learned::default();
    learned.times_likelier.insert("ground-strap.open".to_owned(), 4.0);
    learned.slips.insert("lamp".to_owned(), 0.11);
    let circuit = &plain.bench.circuit;
    let taught = Study::taught(circuit, plain.kit(), 0, &Arc::new(learned)).unwrap();
    let pair = |study: &Study| {
        let (one, other) = ("work-lamp.open", "ground-strap.open");
        let find = |id: &str| study.lineup().find(id).unwrap();
        let paired = pairs::study(study, vec![(find(one), find(other))], true).unwrap();
        let at = paired.lineup().find(&format!("{one}+{other}")).unwrap().index();
        let alone = paired.weights[find(one).index()];
        (paired.weights[at] / alone, paired)
    };
    let ((before, _), (after, paired)) = (pair(&plain), pair(&taught));
    assert!(after > 1.5 * before, "{after} beside {before}");
    assert!(!paired.learned().is_empty());
    let lamps: Vec<f64> = paired
        .columns()
        .unwrap()
        .iter()
        .filter(|column| column.test.tester.instrument() == Instrument::Lamp)
        .map(|column| column.slip)
        .collect();
    assert!(!lamps.is_empty() && lamps.iter().all(|slip| (slip - 0.11).abs() < 1e-12), "{lamps:?}");
}
