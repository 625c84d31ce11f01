//! The real program in a real pseudo-terminal: start it, wait for words, type, resize, stop, kill.

use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};

/// How long anything may take; the machine may be busy with other builds.
const PATIENCE: Duration = Duration::from_secs(120);
/// A program that asks the terminal for its cursor would wait for an answer nobody gives.
const CURSOR_QUESTION: &[u8] = b"\x1b[6n";

/// What the terminal has received, and what it shows of it.
struct Seen {
    parser: vt100::Parser,
    bytes: Vec<u8>,
    ended: bool,
    /// The reader shall let go of its end.
    gone: bool,
}

/// The program and the terminal it runs in.
pub struct Pty {
    /// Neither is there any more once the terminal has vanished.
    master: Option<Box<dyn MasterPty + Send>>,
    writer: Option<Box<dyn Write + Send>>,
    child: Box<dyn Child + Send + Sync>,
    seen: Arc<(Mutex<Seen>, Condvar)>,
}

/// A folder of this test's own, empty at first; jobs and settings of the program go there.
pub fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("terminal").join(name);
    let _missing = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("the target folder can be written");
    folder
}

fn cells(count: u16) -> NonZeroU16 {
    NonZeroU16::new(count).expect("a window has cells")
}

fn size((cols, rows): (u16, u16)) -> PtySize {
    PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }
}

impl Pty {
    /// Starts the program with these arguments in a window of (columns, rows).
    pub fn start(args: &[&str], window: (u16, u16), home: &Path) -> Self {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_halfsplit"));
        command.args(args);
        Self::spawn(command, window, home, &home.join("data"))
    }

    /// The same with jobs kept below another folder.
    pub fn start_keeping_in(data: &Path, args: &[&str], window: (u16, u16), home: &Path) -> Self {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_halfsplit"));
        command.args(args);
        Self::spawn(command, window, home, data)
    }

    /// The same where no file may grow beyond so many blocks of 512 bytes, as on a full disk; the limit can
    /// be lifted.
    pub fn start_on_full_disk(blocks: u64, args: &[&str], window: (u16, u16), home: &Path) -> Self {
        let mut command = CommandBuilder::new("sh");
        let program = env!("CARGO_BIN_EXE_halfsplit");
        // What is ignored here stays ignored in the program: the write fails instead of ending it.
        let script = format!("trap '' XFSZ; ulimit -S -f {blocks}; exec \"$@\"");
        command.args(["-c", &script, "sh", program]);
        command.args(args);
        Self::spawn(command, window, home, &home.join("data"))
    }

    /// The same for another program, by the words a shell is given; `$1` and on are `args`.
    pub fn start_script(script: &str, args: &[&str], window: (u16, u16), home: &Path) -> Self {
        let mut command = CommandBuilder::new("sh");
        command.args(["-c", script, "sh"]);
        command.args(args);
        Self::spawn(command, window, home, &home.join("data"))
    }

    /// Waits until the program has asked the terminal for the mouse.
    #[track_caller]
    pub fn wait_for_mouse(&self) {
        self.wait_until("the mouse to be asked for", |seen| reports_mouse(&seen.parser));
    }

    /// The program has asked the terminal for the mouse.
    pub fn has_mouse(&self) -> bool {
        reports_mouse(&self.lock().parser)
    }

    /// Gives the disk room again.
    pub fn lift_limit(&self) {
        let id = self.child.process_id().expect("it runs").to_string();
        let lifted = Command::new("prlimit").args(["--pid", &id, "--fsize=unlimited:"]).status();
        assert!(lifted.expect("`prlimit` is there").success());
    }

    fn spawn(mut command: CommandBuilder, window: (u16, u16), home: &Path, data: &Path) -> Self {
        let pair = native_pty_system().openpty(size(window)).expect("a pseudo-terminal");
        command.cwd(home);
        command.env_clear();
        command.env("PATH", std::env::var_os("PATH").unwrap_or_default());
        command.env("TMPDIR", home);
        command.env("TERM", "xterm-256color");
        command.env("HOME", home);
        command.env("XDG_DATA_HOME", data);
        command.env("XDG_CONFIG_HOME", home.join("config"));
        let child = pair.slave.spawn_command(command).expect("the program starts");
        let reader = pair.master.try_clone_reader().expect("the terminal can be read");
        let writer = pair.master.take_writer().expect("the terminal can be written");
        let parser = vt100::Parser::new(cells(window.1), cells(window.0), 0);
        let seen = Seen { parser, bytes: Vec::new(), ended: false, gone: false };
        let seen = Arc::new((Mutex::new(seen), Condvar::new()));
        let for_reader = Arc::clone(&seen);
        thread::spawn(move || watch(reader, &for_reader));
        Self { master: Some(pair.master), writer: Some(writer), child, seen }
    }

    /// Waits until the window shows these words.
    #[track_caller]
    pub fn wait_for(&self, words: &str) {
        self.wait_until(&format!("`{words}` to be shown"), |seen| {
            seen.parser.screen().contents().contains(words)
        });
    }

    /// Waits until the window no longer shows these words.
    #[track_caller]
    pub fn wait_without(&self, words: &str) {
        self.wait_until(&format!("`{words}` to go"), |seen| {
            !seen.parser.screen().contents().contains(words)
        });
    }

    /// Waits until what the window shows ends with these words, as before a prompt.
    #[track_caller]
    pub fn wait_for_end_with(&self, words: &str) {
        self.wait_until(&format!("`{words}` at the end"), |seen| {
            seen.parser.screen().contents().trim_end().ends_with(words)
        });
    }

    /// Waits until the window shows something else than it did.
    #[track_caller]
    pub fn wait_until_changed(&self, before: &str) {
        self.wait_until("the window to change", |seen| seen.parser.screen().contents() != before);
    }

    #[track_caller]
    fn wait_until(&self, what: &str, mut done: impl FnMut(&Seen) -> bool) {
        let began = Instant::now();
        let mut seen = self.lock();
        loop {
            let asked = seen.bytes.windows(CURSOR_QUESTION.len()).any(|at| at == CURSOR_QUESTION);
            assert!(!asked, "the program asked the terminal for its cursor");
            if done(&seen) {
                return;
            }
            let left = PATIENCE.saturating_sub(began.elapsed());
            let over = left.is_zero() || seen.ended;
            assert!(!over, "waited for {what}; shown is\n{}", seen.parser.screen().contents());
            seen = self.seen.1.wait_timeout(seen, left).expect("the reader does not panic").0;
        }
    }

    /// Types these characters at once, as they are.
    pub fn keys(&mut self, keys: &str) {
        let writer = self.writer.as_mut().expect("the terminal is there");
        writer.write_all(keys.as_bytes()).expect("the terminal takes keys");
        writer.flush().expect("the terminal takes keys");
    }

    /// Gives the window another size.
    pub fn resize(&mut self, window: (u16, u16)) {
        // The parser first: what the program paints next is for the new size.
        self.lock().parser.screen_mut().set_size(cells(window.1), cells(window.0));
        let master = self.master.as_ref().expect("the terminal is there");
        master.resize(size(window)).expect("the window can be resized");
    }

    /// The terminal vanishes, as when its window is closed or the line breaks.
    ///
    /// `keys` have to change what is shown: what is painted for them wakes the reader, which lets go of its end.
    #[track_caller]
    pub fn vanish(mut self, keys: &str) -> ExitStatus {
        self.lock().gone = true;
        self.keys(keys);
        self.wait_until("the reader to let go", |seen| seen.ended);
        (self.master, self.writer) = (None, None);
        let began = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("it was started here") {
                return status;
            }
            assert!(began.elapsed() < PATIENCE, "it goes on without a terminal");
            thread::yield_now();
        }
    }

    /// What the window shows.
    pub fn shown(&self) -> String {
        self.lock().parser.screen().contents()
    }

    /// Sends a signal by its name: `TERM`, `KILL`, `CONT`.
    pub fn signal(&self, name: &str) {
        let id = self.child.process_id().expect("it runs").to_string();
        let sent = Command::new("kill").args(["-s", name, &id]).status().expect("`kill` is there");
        assert!(sent.success(), "no signal {name} for {id}");
    }

    /// Waits until the program has stopped itself, as after Ctrl-Z.
    #[track_caller]
    pub fn wait_until_stopped(&self) {
        let id = self.child.process_id().expect("it runs");
        let began = Instant::now();
        loop {
            let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).expect("it runs");
            // The state is the first letter behind the name, which stands in brackets.
            let state = stat.rsplit_once(") ").and_then(|(_, rest)| rest.chars().next());
            if state == Some('T') {
                return;
            }
            assert!(began.elapsed() < PATIENCE, "it did not stop; its state is {state:?}");
            thread::yield_now();
        }
    }

    /// Waits for the end of the program; the terminal must be as it was before.
    #[track_caller]
    pub fn wait_for_end(mut self) -> (ExitStatus, String) {
        self.wait_until("the program to end", |seen| seen.ended);
        let status = self.child.wait().expect("it was started here");
        self.wait_until_given_back();
        (status, self.shown())
    }

    /// Waits until the terminal is on its usual screen, shows its cursor, and pastes and marks as before.
    #[track_caller]
    pub fn wait_until_given_back(&self) {
        self.wait_until("the terminal to be given back", |seen| {
            let screen = seen.parser.screen();
            let is_plain = !screen.alternate_screen() && !screen.hide_cursor();
            is_plain && !screen.bracketed_paste() && !reports_mouse(&seen.parser)
        });
    }

    fn lock(&self) -> MutexGuard<'_, Seen> {
        self.seen.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn reports_mouse(parser: &vt100::Parser) -> bool {
    parser.screen().mouse_protocol_mode() != vt100::MouseProtocolMode::None
}

impl Drop for Pty {
    fn drop(&mut self) {
        // A test that failed must not leave its program behind.
        let _ended = self.child.kill();
        let _ended = self.child.wait();
    }
}

fn watch(mut reader: Box<dyn Read + Send>, seen: &(Mutex<Seen>, Condvar)) {
    let mut chunk = [0; 4096];
    loop {
        let count = reader.read(&mut chunk).unwrap_or(0);
        let mut now = seen.0.lock().unwrap_or_else(PoisonError::into_inner);
        now.parser.process(&chunk[..count]);
        now.bytes.extend_from_slice(&chunk[..count]);
        now.ended = count == 0 || now.gone;
        seen.1.notify_all();
        if now.ended {
            return;
        }
    }
}
