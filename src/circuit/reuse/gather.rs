//! Follows what a circuit file names: pieces and its base, each read once, in bounds.

use super::sections::Sections;
use super::shelf::{Shelf, Unreachable, folder_of, is_circuit_file, within};
use super::{absent, change};
use crate::circuit::builtin;
use crate::circuit::document::{self, Entry, Located, Node};
use crate::circuit::fields::{self, Fields, Word, did_you_mean};
use crate::circuit::names::{either, nearest};
use crate::circuit::read::settings;
use crate::circuit::read::tree::{KEYS, names_in};
use crate::circuit::unread::MOST_BYTES;
use crate::problem::{Problem, Source, Span};

/// More files than this are not put together.
pub const MOST_FILES: usize = 32;
/// A file that names a file that names a file: so many.
pub const MOST_NESTED: usize = 8;

/// Keys that name other files, or what differs from one.
const NAMING: &[&str] = &["include", "base", "change"];

/// Keys of a whole circuit that a piece has not.
const HEADER: &[&str] = &["name", "machine", "system", "base", "change"];

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Text {
    /// Its path as seen from where the first one was asked for, or what a built-in circuit is called.
    pub name: String,
    /// All of it.
    pub text: String,
}

impl Text {
    /// As the renderers of problems want it.
    pub fn source(&self) -> Source<'_> {
        Source { name: &self.name, text: &self.text }
    }
}

/// What came of it.
#[derive(Debug)]
pub struct Gathered {
    /// One tree of all; not there when a file cannot be had or read.
    pub tree: Option<Located>,
    /// The files, in the order of [`Span::file`].
    pub texts: Vec<Text>,
    /// Of each file: others share it, so that not all of it need be used here.
    pub shared: Vec<bool>,
    /// What is wrong with how they are put together.
    pub problems: Vec<Problem>,
}

/// Puts together what the file `name` with this text names.
pub fn gather(name: &str, text: &str, shelf: &dyn Shelf) -> Gathered {
    let mut work = Work {
        shelf,
        all: Gathered { tree: None, texts: Vec::new(), shared: Vec::new(), problems: Vec::new() },
        trail: Vec::new(),
        pieces: Vec::new(),
        incomplete: false,
    };
    let first = work.add(name.to_owned(), text.to_owned(), false);
    let tree = work.circuit(first).filter(|_| !work.incomplete);
    Gathered { tree, ..work.all }
}

struct Work<'s> {
    shelf: &'s dyn Shelf,
    all: Gathered,
    /// Files that are being followed, the outermost first.
    trail: Vec<usize>,
    /// Paths of pieces that are in already.
    pieces: Vec<String>,
    /// Something could not be had: what is not there would only look like more mistakes.
    incomplete: bool,
}

impl Work<'_> {
    fn add(&mut self, name: String, text: String, shared: bool) -> usize {
        self.all.texts.push(Text { name, text });
        self.all.shared.push(shared);
        self.all.texts.len() - 1
    }

    fn problem(&mut self, problem: Problem) {
        self.all.problems.push(problem);
    }

    /// A problem for which something is not there.
    fn missing(&mut self, problem: Problem) {
        self.incomplete = true;
        self.problem(problem);
    }

    /// The tree of a file, each node marked with it.
    fn tree(&mut self, file: usize) -> Option<Located> {
        match document::read(&self.all.texts[file].text) {
            Ok(mut tree) => {
                mark(&mut tree, file);
                Some(tree)
            }
            Err(problems) => {
                self.incomplete = true;
                for mut problem in problems {
                    problem.span.file = file;
                    problem.notes.iter_mut().for_each(|(span, _)| span.file = file);
                    self.problem(problem);
                }
                None
            }
        }
    }

    /// A whole circuit: what it is based on, what that differs in, what it includes, what it says itself.
    fn circuit(&mut self, file: usize) -> Option<Located> {
        let tree = self.tree(file)?;
        let Node::Map(top) = &tree.node else { return Some(tree) };
        if !top.iter().any(|entry| NAMING.contains(&entry.key.as_str())) {
            return Some(tree);
        }
        let what = "the circuit file".to_owned();
        let fields = Fields::open(&tree, what, &tree.span, KEYS, &mut self.all.problems)?;
        if settings::is_newer(&fields, &mut self.all.problems) {
            self.incomplete = true;
            return None;
        }
        self.trail.push(file);
        let mut sections = match fields.get("base") {
            Some(base) => Sections::of(self.base(base, fields.get("change"))?),
            None => Sections::default(),
        };
        if let (None, Some(change)) = (fields.get("base"), fields.get("change")) {
            self.missing(
                Problem::error("no-base", &change.key_span, "`change` needs a `base` to differ from")
                    .help("add `base:` with a file or a built-in circuit, or write the keys where they belong"),
            );
        }
        self.include(&fields, &mut sections);
        self.own(&fields, &mut sections);
        self.trail.pop();
        Some(sections.into_tree(&tree))
    }

    /// The circuit that this one differs from, with the differences in it.
    fn base(&mut self, base: &Entry, change: Option<&Entry>) -> Option<Located> {
        let said = fields::word(&base.value, &base.key_span, "base", &mut self.all.problems)?;
        let is_path = said.text.contains('/') || is_circuit_file(&said.text);
        let (file, name) = match builtin::text(&said.text).filter(|_| !is_path) {
            Some(text) => {
                let shown = format!("{} (built in)", said.text);
                (self.add(shown, text.to_owned(), false), said.text.clone())
            }
            None if is_path => {
                let path = self.path(&said)?;
                (self.fetch(&said, &path, false)?, path)
            }
            None => {
                self.problem(no_built_in(&said));
                return None;
            }
        };
        let before = self.all.problems.len();
        let mut tree = self.circuit(file)?;
        if self.all.problems.len() > before {
            return None;
        }
        let Some(change) = change else { return Some(tree) };
        match names_in(&name, &tree) {
            Ok(names) => {
                let gone = change::apply(change, &mut tree, &names, &mut self.all.problems);
                absent::take_out(&gone, &mut tree, &mut self.all.problems);
                Some(tree)
            }
            Err(problems) => {
                self.all.problems.extend(problems);
                None
            }
        }
    }

    /// Lays what a file includes into the sections.
    fn include(&mut self, fields: &Fields<'_>, sections: &mut Sections) {
        for said in fields.words("include", &mut self.all.problems) {
            let Some(path) = self.path(&said) else { continue };
            if self.pieces.contains(&path) && !self.is_on_trail(&path) {
                continue;
            }
            let Some(file) = self.fetch(&said, &path, true) else { continue };
            self.pieces.push(path);
            self.piece(file, sections);
        }
    }

    /// A piece: what it includes, then its own.
    fn piece(&mut self, file: usize, sections: &mut Sections) -> Option<()> {
        let tree = self.tree(file)?;
        // What belongs in a whole circuit only is told in words of its own.
        let what = "an included file".to_owned();
        let fields = Fields::open(&tree, what, &tree.span, KEYS, &mut self.all.problems)?;
        if settings::is_newer(&fields, &mut self.all.problems) {
            self.incomplete = true;
            return None;
        }
        if let Some(header) = HEADER.iter().find_map(|key| fields.get(key)) {
            let message = format!("`{}` does not belong in a file that is included", header.key);
            self.missing(Problem::error("not-a-piece", &header.key_span, message).help(
                "a whole circuit is no piece: name it as `base:` and say under `change:` what differs, \
                 or leave name, machine and system to the file that includes it",
            ));
            return None;
        }
        // A section that is misspelt is missing.
        self.incomplete |= !fields.nothing_unknown();
        self.trail.push(file);
        self.include(&fields, sections);
        self.own(&fields, sections);
        self.trail.pop();
        Some(())
    }

    fn own(&mut self, fields: &Fields<'_>, sections: &mut Sections) {
        for key in KEYS.iter().filter(|key| !NAMING.contains(key)) {
            if let Some(entry) = fields.get(key) {
                let before = self.all.problems.len();
                sections.add(entry.clone(), &mut self.all.problems);
                self.incomplete |= self.all.problems.len() > before;
            }
        }
    }

    /// The path of a file named in the file that is followed now.
    fn path(&mut self, said: &Word) -> Option<String> {
        let folder = folder_of(&self.all.texts[said.span.file].name).to_owned();
        match within(&folder, &said.text) {
            Ok(path) => Some(path),
            Err(help) => {
                let message = format!("`{}` is not within the folder of this file", said.text);
                self.missing(Problem::error("outside", &said.span, message).help(help));
                None
            }
        }
    }

    fn is_on_trail(&self, path: &str) -> bool {
        self.trail.iter().any(|file| self.all.texts[*file].name == path)
    }

    fn fetch(&mut self, said: &Word, path: &str, shared: bool) -> Option<usize> {
        if self.is_on_trail(path) {
            let message = format!("`{}` would be part of itself", said.text);
            self.missing(Problem::error("circle", &said.span, message).help(
                "take this line out, or move what both need into a file that includes neither",
            ));
            return None;
        }
        if self.all.texts.len() >= MOST_FILES || self.trail.len() >= MOST_NESTED {
            let message = format!(
                "more than {MOST_FILES} files, or one within the other more than {MOST_NESTED} deep, are not put together"
            );
            self.missing(
                Problem::error("too-many-files", &said.span, message)
                    .help("put what belongs together into fewer files"),
            );
            return None;
        }
        let folder = folder_of(&self.all.texts[said.span.file].name).to_owned();
        match self.shelf.text(&folder, path) {
            Ok(text) => self.fits(said, text).map(|text| self.add(path.to_owned(), text, shared)),
            Err(why) => {
                let help = self.way_out(&why, &folder, said);
                self.missing(Problem::error("no-file", &said.span, why.to_string()).help(help));
                None
            }
        }
    }

    /// All files together may be no longer than one.
    fn fits(&mut self, said: &Word, text: String) -> Option<String> {
        let bytes: usize = self.all.texts.iter().map(|one| one.text.len()).sum();
        if bytes + text.len() <= MOST_BYTES {
            return Some(text);
        }
        let message =
            format!("with `{}` all files together are longer than a circuit can need", said.text);
        self.missing(
            Problem::error("too-long", &said.span, message)
                .help("circuit files are a few kilobytes of YAML text; is this another file?"),
        );
        None
    }

    fn way_out(&self, why: &Unreachable, folder: &str, said: &Word) -> String {
        match why {
            Unreachable::Missing { .. } => {
                let (below, name) = said.text.rsplit_once('/').unwrap_or(("", &said.text));
                let there = within(folder, below).unwrap_or_else(|_| folder.to_owned());
                let names = self.shelf.names(&there);
                let known = names.iter().map(String::as_str);
                match nearest(name, known.clone()) {
                    Some(near) if below.is_empty() => format!("did you mean `{near}`?"),
                    Some(near) => format!("did you mean `{below}/{near}`?"),
                    None if names.is_empty() => {
                        "paths are as seen from the file that names them".to_owned()
                    }
                    None => format!("there are {}", either(known.take(8))),
                }
            }
            Unreachable::Outside { .. } => "put a copy of the file into the folder".to_owned(),
            Unreachable::NoFolder { .. } => "read the circuit file from its own place".to_owned(),
            _ => "name a circuit file: YAML text".to_owned(),
        }
    }
}

fn no_built_in(said: &Word) -> Problem {
    let message = format!("there is no built-in circuit `{}`", said.text);
    let names = builtin::names();
    let help = match nearest(&said.text, names.iter().copied()) {
        Some(_) => did_you_mean(&said.text, names.iter().copied()),
        None => {
            format!("a file's name ends in `.yaml`; {}", did_you_mean("", names.iter().copied()))
        }
    };
    Problem::error("no-built-in", &said.span, message).help(help)
}

/// Marks all of a tree as standing in a file.
fn mark(tree: &mut Located, file: usize) {
    let set = |span: &mut Span| span.file = file;
    set(&mut tree.span);
    match &mut tree.node {
        Node::Nothing | Node::Scalar(_) => {}
        Node::List(items) => items.iter_mut().for_each(|item| mark(item, file)),
        Node::Map(entries) => entries.iter_mut().for_each(|entry| {
            set(&mut entry.key_span);
            mark(&mut entry.value, file);
        }),
    }
}
