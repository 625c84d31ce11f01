//! The planner thread: it owns the bench, so that reckoning never holds the screen up.

use crate::job::event::Event;

use super::bench::Bench;
use super::message::{Ask, Told};
use super::words;

/// Does what was asked and returns the answers, in order, their texts fit for a terminal.
pub fn answer(bench: &mut dyn Bench, ask: Ask) -> Vec<Told> {
    match ask {
        Ask::Standing => vec![stood(bench)],
        Ask::Record(event) => vec![record(bench, event, Told::Recorded), stood(bench)],
        Ask::Note(text) => vec![record(bench, Event::Note { text }, Told::Noted)],
        Ask::Undo => {
            let told = bench.undo().map_or_else(|words| failed(&words), Told::Undone);
            vec![told, stood(bench)]
        }
        Ask::Others => vec![Told::Others(words::clean_others(bench.others()))],
        Ask::Choose(test) => choose(bench, test),
        Ask::Explain(suspect) => {
            let lines = bench.explain(&suspect).iter().map(|line| words::clean(line)).collect();
            vec![Told::Explained { suspect, lines }]
        }
    }
}

fn record(bench: &mut dyn Bench, event: Event, kept: Told) -> Told {
    bench.record(event).map_or_else(|words| failed(&words), |()| kept)
}

fn failed(words: &str) -> Told {
    Told::Failed(words::clean(words))
}

fn stood(bench: &mut dyn Bench) -> Told {
    Told::Stood(Box::new(words::clean_standing(bench.standing())), None)
}

fn choose(bench: &mut dyn Bench, test: String) -> Vec<Told> {
    let Some(mut step) = bench.step_for(&test) else {
        return vec![Told::NoSuchTest(words::clean(&test)), stood(bench)];
    };
    words::clean_test(&mut step);
    let kept = record(bench, Event::Chose { test }, Told::Recorded);
    let standing = words::clean_standing(bench.standing());
    vec![kept, Told::Stood(Box::new(standing), Some(Box::new(step)))]
}
