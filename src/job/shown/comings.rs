//! What works at times, or works now: said with the test that shows it best.

use std::sync::Arc;

use crate::circuit::ConnectorId;
use crate::job::course::Course;
use crate::job::state::Job;
use crate::job::study::choice::class_bits;
use crate::job::study::complaint::sights;
use crate::job::words;
use crate::setup::Setup;
use crate::suspect::{Nature, Suspect};
use crate::tester::expectations::Column;
use crate::tester::make::make;
use crate::tester::{Instrument, Target, Tester};

/// It is said aloud when nothing being wrong now, or a fault that comes and goes, has more than this share.
const SPEAK_UP: f64 = 0.3;
/// A connector with less suspicion than this need not be moved about.
const LEAST_SHARE: f64 = 0.005;

/// Says that the fault may have gone or may come and go, and what shows it best.
pub fn said(job: &Job, course: &Course<'_>, belief: &[f64]) -> Option<String> {
    let suspects = &job.study().lineup().suspects;
    let share = |of: &dyn Fn(usize) -> bool| -> f64 {
        (0..belief.len()).filter(|&at| of(at)).map(|at| belief[at]).sum()
    };
    let gone = share(&|at| suspects[at].nature == Nature::Sound);
    let comes_and_goes = |at: usize| suspects[at].shows < 1.0;
    let coming = share(&comes_and_goes);
    if gone.max(coming) < SPEAK_UP {
        return None;
    }
    let (what, percent) = if coming > gone {
        ("The fault may come and go", coming * 100.0)
    } else {
        ("Nothing may be wrong now", gone * 100.0)
    };
    let classes: Vec<usize> = (0..belief.len())
        .map(
            |at| if coming > gone { usize::from(comes_and_goes(at)) } else { usize::from(at == 0) },
        )
        .collect();
    let best = best(job, course, belief, &classes)?;
    let title = words::title_in_setup(job.study().circuit(), &best.test);
    let minutes = words::show(course.test_minutes(&best.test));
    Some(format!("{what} ({percent:.0} %). What shows it best: {title} ({minutes} min)."))
}

/// The look that tells most about the two classes for its minutes: of what should work, as for the complaint,
/// and of each connector moved about meanwhile.
fn best(job: &Job, course: &Course<'_>, belief: &[f64], classes: &[usize]) -> Option<Arc<Column>> {
    let study = job.study();
    let circuit = study.circuit();
    let setup: Setup = study.check_setup();
    let lineup = study.lineup();
    let suspected = |at: ConnectorId| {
        let pins = &circuit.connector(at).pins;
        let bad = |suspect: &Suspect| suspect.part.is_some_and(|part| pins.contains(&part));
        let on_it = lineup.suspects.iter().zip(belief).filter(|(suspect, _)| bad(suspect));
        on_it.map(|(_, share)| share).sum::<f64>() > LEAST_SHARE
    };
    let connectors = (0..circuit.connectors.len() as u32).map(ConnectorId);
    let wiggled = connectors
        .filter(|at| suspected(*at))
        .filter_map(|at| make(circuit, Tester::Wiggle, Target::Connector(at), &setup).ok());
    let seen = sights(circuit, study.work()).into_iter().map(|(test, _)| test);
    let tests = seen.chain(wiggled);
    let worth = |column: &Column| {
        class_bits(&column.likelihood, classes, 2, belief)
            / course.test_minutes(&column.test).max(0.05)
    };
    let at_hand = |one: Instrument| {
        one == Instrument::Senses || study.kit().contains(&one) && !course.missing.contains(&one)
    };
    let open = tests
        .filter(|test| !course.unreachable.iter().any(|at| test.places.contains(at)))
        .filter(|test| test.instruments().all(at_hand));
    let columns: Vec<Arc<Column>> = open.filter_map(|test| study.column(&test).ok()).collect();
    let best = columns.into_iter().map(|column| (worth(&column), column));
    let best = best.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|(worth, _)| *worth > 0.0);
    best.map(|(_, column)| column)
}
