//! Where the files that a circuit file names come from, and which names are let through.

/// Why a file cannot be had.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unreachable {
    /// It is not there.
    #[error("there is no file `{path}`")]
    Missing {
        /// The file.
        path: String,
    },
    /// A link leads out of the folder.
    #[error("`{path}` leads out of the folder of the file that names it")]
    Outside {
        /// The file.
        path: String,
    },
    /// A folder, a pipe, a device.
    #[error("`{path}` is no plain file")]
    NotAFile {
        /// The file.
        path: String,
    },
    /// Longer than any circuit.
    #[error("`{path}` is longer than a circuit file can need")]
    TooLong {
        /// The file.
        path: String,
    },
    /// Not in UTF-8.
    #[error("`{path}` is not text in UTF-8")]
    NotText {
        /// The file.
        path: String,
    },
    /// The disk said no.
    #[error("`{path}` cannot be read: {why}")]
    Refused {
        /// The file.
        path: String,
        /// What the disk said.
        why: String,
    },
    /// A text that came without its folder, such as that of a job file.
    #[error("`{path}` cannot be had: this text came without its folder")]
    NoFolder {
        /// The file.
        path: String,
    },
}

/// Where other files come from: the disk for the program, memory for tests.
pub trait Shelf {
    /// The text of the file `path`, which may not lie outside `folder`, links followed.
    fn text(&self, folder: &str, path: &str) -> Result<String, Unreachable>;

    /// Names of the circuit files in a folder, for "did you mean".
    fn names(&self, folder: &str) -> Vec<String>;
}

/// No other files at all.
#[derive(Debug, Clone, Copy)]
pub struct NoShelf;

impl Shelf for NoShelf {
    fn text(&self, _: &str, path: &str) -> Result<String, Unreachable> {
        Err(Unreachable::NoFolder { path: path.to_owned() })
    }

    fn names(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

/// The name ends as those of circuit files do.
pub fn is_circuit_file(name: &str) -> bool {
    let ending = std::path::Path::new(name).extension();
    ending.is_some_and(|end| end.eq_ignore_ascii_case("yaml") || end.eq_ignore_ascii_case("yml"))
}

/// The folder of a file, empty for the one that is worked in.
pub fn folder_of(file: &str) -> &str {
    file.rfind(['/', '\\']).map_or("", |at| &file[..at])
}

/// `said` as a path, when it names something within `folder`; else what is wrong with it.
pub fn within(folder: &str, said: &str) -> Result<String, &'static str> {
    if said.contains('\\') {
        return Err("write folders with `/`, as in `shared/supply.yaml`");
    }
    if said.starts_with(['/', '~']) || said.contains(':') {
        return Err("write it as seen from this file, as in `shared/supply.yaml`");
    }
    let pieces: Vec<&str> =
        said.split('/').filter(|piece| !piece.is_empty() && *piece != ".").collect();
    if pieces.contains(&"..") {
        return Err("a file may name others in its own folder or below: put it there");
    }
    if pieces.is_empty() {
        return Err("write the name of a file, as in `shared/supply.yaml`");
    }
    let path = pieces.join("/");
    Ok(if folder.is_empty() && !said.is_empty() { path } else { format!("{folder}/{path}") })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(folder: &str, said: &str, expected: Option<&str>) {
        assert_eq!(within(folder, said).ok().as_deref(), expected);
    }

    #[test]
    fn only_what_lies_below_is_let_through() {
        check("", "supply.yaml", Some("supply.yaml"));
        check("", "./a//b.yaml", Some("a/b.yaml"));
        check("shop", "shared/supply.yaml", Some("shop/shared/supply.yaml"));
        check("shop", "../supply.yaml", None);
        check("shop", "a/../../b.yaml", None);
        check("shop", "/etc/passwd", None);
        check("shop", "~/x.yaml", None);
        check("shop", "C:x.yaml", None);
        check("shop", "file://x", None);
        check("shop", "a\\..\\b", None);
        check("shop", "./", None);
        assert_eq!(folder_of("a/b/c.yaml"), "a/b");
        assert_eq!(folder_of("c.yaml"), "");
        assert_eq!(folder_of("/c.yaml"), "");
    }
}
