//! The loop: it owns the terminal, turns input and signals into messages, and does what `update`
//! wants done.
#![expect(
    clippy::disallowed_methods,
    reason = "the shell of the screen reads the clock, to tell a bouncing key from an answer"
)]

use std::collections::VecDeque;
use std::io::{self, IsTerminal, Stdout};
use std::panic;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::sync::{Arc, Mutex, MutexGuard, Once, PoisonError, TryLockError};
use std::thread;
use std::time::{Duration, Instant};

use crossterm::event::{
    self, DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture,
    Event,
};
use crossterm::{cursor, execute, terminal};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::layout::Rect;
use signal_hook::consts::signal::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP, SIGWINCH};
use signal_hook::iterator::{Handle, Signals};

use super::bench::Bench;
use super::intake::Intake;
use super::intake::screen::{self, Outcome};
use super::message::{Effect, Message};
use super::model::Model;
use super::planner::Planner;
use super::theme::Theme;
use super::update::{begin, update};
use super::{Leave, LeaveCause, ScreenOptions, TuiError, view, words};

/// True while the terminal is ours, so that a panic knows whether to give it back.
static ON_STAGE: AtomicBool = AtomicBool::new(false);
static HOOK: Once = Once::new();
/// Held while a picture is painted: a panic elsewhere waits for it, or its words would be painted over.
static PAINTING: Mutex<()> = Mutex::new(());
/// So often, and so long each time, a panic waits for a picture; one while painting would wait for ever.
const WAITS: (usize, Duration) = (20, Duration::from_millis(10));

/// Runs a job on the screen until the person leaves; the terminal is given back in every case.
///
/// # Errors
/// When there is no terminal, when it fails, or when the job behind the screen broke.
pub fn run(start: Start, options: ScreenOptions) -> Result<Leave, TuiError> {
    if !io::stdout().is_terminal() {
        return Err(TuiError::NoTerminal);
    }
    let (sender, receiver) = mpsc::channel();
    let signals = watch_signals(sender.clone())?;
    let curtain = Curtain;
    let mut stage = Stage::enter(options)?;
    listen(sender.clone())?;
    let theme = Theme::new(options);
    let bench = match start {
        Start::Job(bench) => bench,
        Start::Asked(intake) => match ask(*intake, &mut stage, &theme, &receiver)? {
            Some(bench) => bench,
            None => return Ok(Leave { cause: LeaveCause::Asked, cured: false }),
        },
    };
    let (circuit, machine) = bench.title();
    let title = (words::clean(&circuit), words::clean(&machine));
    let kept_at = bench.kept_at().map(|path| words::clean(&path));
    let size = terminal::size().map_err(TuiError::Terminal)?;
    let mut model = Model::new(title, kept_at, size);
    model.alarm = bench.trouble().map(|words| words::clean(&words));
    let planner = Planner::start(bench, sender).map_err(TuiError::Thread)?;
    let mut screen = Screen { model, theme, stage, planner };
    let outcome = screen.live(&receiver);
    drop(curtain);
    screen.planner.finish();
    signals.close();
    outcome
}

/// With what the screen begins.
pub enum Start {
    /// A job.
    Job(Box<dyn Bench>),
    /// The questions before one.
    Asked(Box<Intake>),
}

/// Asks what is to be known before the first step; `None` when the person leaves.
fn ask(
    intake: Intake,
    stage: &mut Stage,
    theme: &Theme,
    messages: &Receiver<Message>,
) -> Result<Option<Box<dyn Bench>>, TuiError> {
    let size = terminal::size().map_err(TuiError::Terminal)?;
    let mut questions = screen::Screen::new(intake, size);
    let mut waiting = VecDeque::new();
    loop {
        // What came in before this picture is on the screen was not meant for it.
        let early: Vec<Message> = messages.try_iter().collect();
        stage.paint(|frame| questions.draw(theme, frame.area(), frame.buffer_mut()))?;
        waiting.extend(early);
        if waiting.is_empty() {
            questions.seen();
            let Ok(message) = messages.recv() else { return Ok(None) };
            waiting.push_back(message);
        }
        let Some(message) = waiting.pop_front() else { continue };
        match questions.update(&message) {
            Outcome::Asks => {}
            Outcome::Begins(bench) => return Ok(Some(bench)),
            Outcome::Leaves => return Ok(None),
            Outcome::Repaints => stage.repaint()?,
            Outcome::Suspends => {
                let (columns, rows) = stage.suspend()?;
                questions.update(&Message::Resized(columns, rows));
            }
        }
    }
}

/// Everything the loop works with.
struct Screen {
    model: Model,
    theme: Theme,
    stage: Stage,
    planner: Planner,
}

impl Screen {
    fn live(&mut self, messages: &Receiver<Message>) -> Result<Leave, TuiError> {
        let effects = begin(&mut self.model);
        self.perform(effects)?;
        self.draw()?;
        loop {
            // The input thread ends with the process, so the channel cannot close before.
            let mut next = messages.recv().ok();
            while let Some(message) = next {
                if message == Message::PlannerLost {
                    return Err(TuiError::PlannerLost);
                }
                let effects = update(&mut self.model, message);
                self.perform(effects)?;
                if let Some(leave) = self.model.leave {
                    return Ok(leave);
                }
                next = messages.try_recv().ok();
            }
            self.draw()?;
        }
    }

    fn perform(&mut self, effects: Vec<Effect>) -> Result<(), TuiError> {
        for effect in effects {
            match effect {
                Effect::Ask { generation, ask } => self.planner.ask(generation, ask),
                Effect::Suspend => self.suspend()?,
                Effect::Repaint => self.stage.repaint()?,
                // `model.leave` ends the loop.
                Effect::Leave => {}
            }
        }
        Ok(())
    }

    fn draw(&mut self) -> Result<(), TuiError> {
        let (model, theme) = (&self.model, &self.theme);
        self.stage.paint(|frame| {
            let area = frame.area();
            view::draw(model, theme, area, frame.buffer_mut());
        })
    }

    pub(super) fn suspend(&mut self) -> Result<(), TuiError> {
        let (columns, rows) = self.stage.suspend()?;
        update(&mut self.model, Message::Resized(columns, rows));
        Ok(())
    }
}

/// The terminal while it is ours: raw, on its other screen, without a cursor.
pub(super) struct Stage {
    pub(super) terminal: Terminal<CrosstermBackend<Stdout>>,
    options: ScreenOptions,
}

impl Stage {
    pub(super) fn enter(options: ScreenOptions) -> Result<Self, TuiError> {
        HOOK.call_once(hook_panics);
        terminal::enable_raw_mode().map_err(TuiError::Terminal)?;
        ON_STAGE.store(true, Ordering::SeqCst);
        let entered = execute!(
            io::stdout(),
            terminal::EnterAlternateScreen,
            EnableBracketedPaste,
            cursor::Hide
        )
        .and_then(
            |()| if options.mouse { execute!(io::stdout(), EnableMouseCapture) } else { Ok(()) },
        )
        .and_then(|()| Terminal::new(CrosstermBackend::new(io::stdout())));
        match entered {
            Ok(terminal) => Ok(Self { terminal, options }),
            Err(error) => {
                restore();
                Err(TuiError::Terminal(error))
            }
        }
    }

    /// Gives the terminal back, stops, and takes it again when the shell continues us; the window may have
    /// changed meanwhile, and its columns and rows are told.
    pub(super) fn suspend(&mut self) -> Result<(u16, u16), TuiError> {
        restore();
        signal_hook::low_level::emulate_default_handler(SIGTSTP).map_err(TuiError::Terminal)?;
        *self = Stage::enter(self.options)?;
        terminal::size().map_err(TuiError::Terminal)
    }

    /// Paints a picture, unless a panic elsewhere has given the terminal back: its message must not be painted
    /// over.
    pub(super) fn paint(
        &mut self,
        picture: impl FnOnce(&mut ratatui::Frame<'_>),
    ) -> Result<(), TuiError> {
        let _painting = PAINTING.lock().unwrap_or_else(PoisonError::into_inner);
        if ON_STAGE.load(Ordering::SeqCst) {
            self.terminal.draw(picture).map_err(TuiError::Terminal)?;
        }
        Ok(())
    }

    /// Paints all cells anew. `Terminal::clear` would ask the terminal for its cursor and wait.
    pub(super) fn repaint(&mut self) -> Result<(), TuiError> {
        let size = self.terminal.size().map_err(TuiError::Terminal)?;
        let area = Rect::new(0, 0, size.width, size.height);
        self.terminal.resize(area).map_err(TuiError::Terminal)
    }
}

/// Gives the terminal back when [`run`] ends, whichever way.
///
/// Not a `Drop` of [`Stage`]: coming back from the shell replaces the stage, and the old one would
/// give back what the new one has just taken.
pub(super) struct Curtain;

impl Drop for Curtain {
    fn drop(&mut self) {
        restore();
    }
}

/// Gives the terminal back, once; there is nobody left to tell when that fails.
pub(super) fn restore() {
    if !ON_STAGE.swap(false, Ordering::SeqCst) {
        return;
    }
    // The mouse may never have been asked for; to let go of it then does nothing.
    let _failed = execute!(
        io::stdout(),
        DisableMouseCapture,
        DisableBracketedPaste,
        terminal::LeaveAlternateScreen,
        cursor::Show
    );
    let _failed = terminal::disable_raw_mode();
}

/// A panic on any thread gives the terminal back before its message is printed.
fn hook_panics() {
    let before = Arc::new(panic::take_hook());
    panic::set_hook(Box::new(move |info| {
        let painted = picture_done();
        restore();
        drop(painted);
        before(info);
    }));
}

/// Waits until no picture is being painted, but not for long.
fn picture_done() -> Option<MutexGuard<'static, ()>> {
    for _ in 0..WAITS.0 {
        match PAINTING.try_lock() {
            Ok(guard) => return Some(guard),
            Err(TryLockError::Poisoned(broken)) => return Some(broken.into_inner()),
            Err(TryLockError::WouldBlock) => thread::sleep(WAITS.1),
        }
    }
    None
}

/// Starts the input thread. It blocks in a read for as long as the process lives: nothing can wake
/// it, and a poll with a timeout lost keys after a resize.
pub(super) fn listen(messages: Sender<Message>) -> Result<(), TuiError> {
    let began = Instant::now();
    let thread = thread::Builder::new().name("input".to_owned());
    let spawned = thread.spawn(move || {
        loop {
            let message = match event::read() {
                Ok(Event::Key(key)) => {
                    let millis = u64::try_from(began.elapsed().as_millis()).unwrap_or(u64::MAX);
                    Message::Key(key, millis)
                }
                Ok(Event::Resize(columns, rows)) => Message::Resized(columns, rows),
                Ok(Event::Paste(text)) => Message::Pasted(text),
                Ok(Event::Mouse(mouse)) => Message::Mouse(mouse),
                Ok(_) => continue,
                Err(_) => Message::Leave(LeaveCause::InputEnded),
            };
            let last = matches!(message, Message::Leave(_));
            if messages.send(message).is_err() || last {
                return;
            }
        }
    });
    spawned.map(|_| ()).map_err(TuiError::Thread)
}

/// Starts the signal thread; closing the handle ends it.
pub(super) fn watch_signals(messages: Sender<Message>) -> Result<Handle, TuiError> {
    // The input thread hears of a new size too, but only once it reads: a window that changes before would stay
    // unnoticed.
    let watched = [SIGTERM, SIGHUP, SIGINT, SIGTSTP, SIGCONT, SIGWINCH];
    let mut signals = Signals::new(watched).map_err(TuiError::Terminal)?;
    let handle = signals.handle();
    let thread = thread::Builder::new().name("signals".to_owned());
    let spawned = thread.spawn(move || {
        for signal in signals.forever() {
            let message = match signal {
                SIGTSTP => Message::Suspend,
                SIGCONT => Message::Repaint,
                SIGWINCH => match terminal::size() {
                    Ok((columns, rows)) => Message::Resized(columns, rows),
                    Err(_) => continue,
                },
                other => Message::Leave(LeaveCause::Signal(other)),
            };
            if messages.send(message).is_err() {
                return;
            }
        }
    });
    spawned.map(|_| handle).map_err(TuiError::Thread)
}
