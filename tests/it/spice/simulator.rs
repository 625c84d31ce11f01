//! The simulator as a process: many operating points in one run.

use std::collections::HashMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

/// Operating points in one process; enough that starting it costs nothing beside them.
const CHUNK: usize = 500;

/// Runs the simulator and remembers what it answered.
#[derive(Default)]
pub struct Simulator {
    answers: HashMap<String, Arc<Answer>>,
}

/// An operating point by the simulator.
#[derive(Debug, Default)]
pub struct Answer {
    volts: HashMap<String, f64>,
}

impl Answer {
    /// Volts of the node of a terminal that is not ground.
    pub fn node_volts(&self, terminal: usize) -> f64 {
        self.volts[&format!("v(n{terminal})")]
    }

    /// Amperes in a link from its first end to its second; none when it does not conduct.
    pub fn amps(&self, link: usize) -> f64 {
        self.volts.get(&format!("i(v{link})")).copied().unwrap_or(0.0)
    }
}

/// Whether the simulator can be run.
pub fn is_installed() -> bool {
    let mut command = Command::new("ngspice");
    command.arg("--version").stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command.status().is_ok_and(|status| status.success())
}

impl Simulator {
    /// Operating points solved so far.
    pub fn count(&self) -> usize {
        self.answers.len()
    }

    /// The operating points of netlists, in their order; equal netlists are solved once.
    pub fn solve(&mut self, netlists: &[String]) -> Vec<Arc<Answer>> {
        let mut fresh: Vec<&String> =
            netlists.iter().filter(|netlist| !self.answers.contains_key(*netlist)).collect();
        fresh.sort_unstable();
        fresh.dedup();
        let found: Vec<(String, Arc<Answer>)> =
            fresh.par_chunks(CHUNK).flat_map_iter(run).collect();
        self.answers.extend(found);
        netlists.iter().map(|netlist| Arc::clone(&self.answers[netlist])).collect()
    }
}

/// Solves all of them in one process.
fn run(netlists: &[&String]) -> Vec<(String, Arc<Answer>)> {
    let folder = own_folder();
    let mut script = "* all of them\n.control\nset appendwrite\n".to_owned();
    for (at, netlist) in netlists.iter().enumerate() {
        std::fs::write(folder.join(format!("{at}.cir")), format!("* {at}\n{netlist}")).unwrap();
        writeln!(script, "source {at}.cir\nop\nwrite all.raw\nremcirc\ndestroy all").unwrap();
    }
    script.push_str("quit\n.endc\n.end\n");
    std::fs::write(folder.join("all.cir"), script).unwrap();
    let output = simulate(&folder, "all.cir");
    let mut answers = read(&folder.join("all.raw"));
    let solved = netlists
        .iter()
        .enumerate()
        .map(|(at, netlist)| {
            let answer = answers.remove(&format!("* {at}"));
            let answer = answer.or_else(|| otherwise(&folder, netlist)).unwrap_or_else(|| {
                let said = String::from_utf8_lossy(&output.stderr);
                panic!("the simulator found no operating point of\n{netlist}\nand said\n{said}")
            });
            ((*netlist).clone(), Arc::new(answer))
        })
        .collect();
    std::fs::remove_dir_all(&folder).unwrap();
    solved
}

/// Other ways where it finds no operating point in its usual one, the exact ones first: larger pivots, smaller steps,
/// and to a nanovolt only where the last digits chase each other.
const OTHER_WAYS: [&str; 3] = [
    "reltol=1e-8 vntol=1e-10 abstol=1e-12 gmin=1e-18 pivrel=0.9 itl1=1000",
    "reltol=1e-8 vntol=1e-10 abstol=1e-12 gmin=1e-18 pivrel=0.5 itl1=1000 gminsteps=100",
    "reltol=1e-7 vntol=1e-9 abstol=1e-11 gmin=1e-18 pivrel=0.5 itl1=3000 noopiter",
];

fn simulate(folder: &Path, file: &str) -> Output {
    // `-n`: the settings of whoever runs this are left alone.
    let mut command = Command::new("ngspice");
    command.args(["-n", "-b", file]).current_dir(folder).stdin(Stdio::null());
    command.output().unwrap()
}

/// One operating point that it does not find in its usual way.
fn otherwise(folder: &Path, netlist: &str) -> Option<Answer> {
    let (_, body) = netlist.split_once('\n')?;
    let body = body.replacen(".end\n", ".control\nop\nwrite again.raw\nquit\n.endc\n.end\n", 1);
    OTHER_WAYS.iter().find_map(|options| {
        let netlist = format!("* again\n.options {options} temp=27 tnom=27\n{body}");
        std::fs::write(folder.join("again.cir"), netlist).unwrap();
        let _ = std::fs::remove_file(folder.join("again.raw"));
        simulate(folder, "again.cir");
        read(&folder.join("again.raw")).remove("* again")
    })
}

fn own_folder() -> PathBuf {
    static RUNS: AtomicUsize = AtomicUsize::new(0);
    let run = RUNS.fetch_add(1, Ordering::Relaxed);
    let name = format!("spice-{}-{run}", std::process::id());
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// The operating points of a file of results by the title of their netlist.
///
/// Each has a header of lines, the names of its values, then `Binary:` and eight bytes for each value.
fn read(path: &Path) -> HashMap<String, Answer> {
    let bytes = std::fs::read(path).unwrap_or_default();
    let mut rest = bytes.as_slice();
    let mut answers = HashMap::new();
    while !rest.is_empty() {
        let (mut title, mut names) = (String::new(), Vec::new());
        loop {
            let end = rest.iter().position(|&byte| byte == b'\n').expect("a header has an end");
            let line = std::str::from_utf8(&rest[..end]).expect("a header is text");
            rest = &rest[end + 1..];
            if let Some(found) = line.strip_prefix("Title: ") {
                found.clone_into(&mut title);
            } else if line.starts_with('\t') {
                names.extend(line.split('\t').nth(2).map(str::to_owned));
            } else if line == "Binary:" {
                break;
            }
        }
        let (values, more) = rest.split_at(8 * names.len());
        rest = more;
        let values =
            values.chunks_exact(8).map(|eight| f64::from_le_bytes(eight.try_into().unwrap()));
        answers.insert(title, Answer { volts: names.into_iter().zip(values).collect() });
    }
    answers
}
