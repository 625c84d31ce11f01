//! The planner thread: it owns the bench, so that reckoning never holds the screen up.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;
use std::time::Duration;

use crate::job::event::Event;

use super::bench::Bench;
use super::message::{Ask, Message, Told};
use super::words;

/// How long leaving waits for what is still to be journalled.
const PATIENCE: Duration = Duration::from_secs(5);

/// The loop's end of the planner thread.
pub struct Planner {
    asks: Sender<(u64, Ask)>,
    stop: Arc<AtomicBool>,
    ended: Receiver<()>,
}

impl Planner {
    /// Starts the thread; its answers come as messages.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(bench: Box<dyn Bench>, messages: Sender<Message>) -> std::io::Result<Self> {
        let (asks, receiver) = mpsc::channel();
        let (ended_sender, ended) = mpsc::channel();
        let stop = Arc::new(AtomicBool::new(false));
        let desk = Desk { asks: receiver, waiting: RefCell::default(), stop: Arc::clone(&stop) };
        thread::Builder::new().name("planner".to_owned()).spawn(move || {
            let _ended = ended_sender;
            let alarm = LostAlarm(messages.clone());
            work(bench, &desk, &messages);
            drop(alarm);
        })?;
        Ok(Self { asks, stop, ended })
    }

    /// Hands a question over. When the thread is gone, its own message says so.
    pub fn ask(&self, generation: u64, ask: Ask) {
        let _gone = self.asks.send((generation, ask));
    }

    /// Ends the thread after it has journalled everything it was given; nothing is reckoned any more.
    pub fn finish(self) {
        self.stop.store(true, Ordering::Relaxed);
        drop(self.asks);
        // Ends by the sender being dropped with the thread, or by time.
        let _ended = self.ended.recv_timeout(PATIENCE);
    }
}

/// Tells the loop when the thread ends by a panic.
struct LostAlarm(Sender<Message>);

impl Drop for LostAlarm {
    fn drop(&mut self) {
        if thread::panicking() {
            let _gone = self.0.send(Message::PlannerLost);
        }
    }
}

/// What is to be done, in order.
struct Desk {
    asks: Receiver<(u64, Ask)>,
    waiting: RefCell<VecDeque<(u64, Ask)>>,
    stop: Arc<AtomicBool>,
}

impl Desk {
    fn next(&self) -> Option<(u64, Ask)> {
        let waiting = self.waiting.borrow_mut().pop_front();
        waiting.or_else(|| self.asks.recv().ok())
    }

    /// False when a standing would be dropped anyway: we are leaving, or the next event waits.
    fn wants_standing(&self) -> bool {
        let mut waiting = self.waiting.borrow_mut();
        waiting.extend(self.asks.try_iter());
        let replaced = waiting.iter().any(|(_, ask)| {
            matches!(ask, Ask::Standing | Ask::Record(_) | Ask::Undo | Ask::Redo | Ask::Choose(_))
        });
        !replaced && !self.stop.load(Ordering::Relaxed)
    }
}

fn work(mut bench: Box<dyn Bench>, desk: &Desk, messages: &Sender<Message>) {
    while let Some((generation, ask)) = desk.next() {
        let mut tell = |told| {
            let _gone = messages.send(Message::Told { generation, told });
        };
        answer(bench.as_mut(), ask, &mut tell, &|| desk.wants_standing());
    }
}

/// Does what was asked and tells the answers, in order, their texts fit for a terminal; a standing is
/// reckoned only while it is wanted.
pub fn answer(
    bench: &mut dyn Bench,
    ask: Ask,
    tell: &mut dyn FnMut(Told),
    wanted: &dyn Fn() -> bool,
) {
    let mut chosen = None;
    match ask {
        Ask::Standing => {}
        Ask::Record(event) => tell(record(bench, event, Told::Recorded)),
        Ask::Undo => tell(bench.undo().map_or_else(|words| failed(&words), Told::Undone)),
        Ask::Redo => tell(bench.redo().map_or_else(|words| failed(&words), Told::Redone)),
        Ask::Choose(test) => match bench.step_for(&test) {
            None => tell(Told::NoSuchTest(words::clean(&test))),
            Some(mut step) => {
                words::clean_test(&mut step);
                chosen = Some(Box::new(step));
                tell(record(bench, Event::Chose { test }, Told::Recorded));
            }
        },
        Ask::Note(text) => return tell(record(bench, Event::Note { text }, Told::Noted)),
        Ask::Facts => return tell(Told::Facts(words::clean_facts(bench.facts()))),
        Ask::Back(number) => {
            let past = bench.look_back(number).map(|past| Box::new(words::clean_past(past)));
            return past.into_iter().for_each(|past| tell(Told::Past(past)));
        }
        Ask::Card => {
            let told = bench.card().map(|path| Told::Carded(words::clean(&path)));
            return tell(told.unwrap_or_else(|words| failed(&words)));
        }
        Ask::Others => return tell(Told::Others(words::clean_others(bench.others()))),
        Ask::Explain(suspect) => {
            let lines = bench.explain(&suspect).iter().map(|line| words::clean(line)).collect();
            return tell(Told::Explained { suspect, lines });
        }
    }
    if wanted() {
        tell(Told::Stood(Box::new(words::clean_standing(bench.standing())), chosen));
    }
}

fn record(bench: &mut dyn Bench, event: Event, kept: Told) -> Told {
    bench.record(event).map_or_else(|words| failed(&words), |()| kept)
}

fn failed(words: &str) -> Told {
    Told::Failed(words::clean(words))
}
