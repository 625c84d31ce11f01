//! Keeps a job on disk, or in memory for as long as the disk refuses.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use crate::job::event::Event;
use crate::job::journal::{Header, Journal, JournalError};

/// A job's events on their way to the disk: what cannot be written waits, in order, and is tried again with
/// every later entry, so that the file never has a hole.
#[derive(Debug)]
pub struct Keeper {
    header: Header,
    path: PathBuf,
    journal: Option<Journal>,
    /// Every event, oldest first.
    events: Vec<Event>,
    /// How many of them are on disk.
    written: usize,
    why: Option<String>,
    /// The last line of the file was cut short, and nobody was told yet.
    pub torn: bool,
}

/// A keeper that the bench works with and the end of the program asks.
#[derive(Debug, Clone)]
pub struct Shared(Arc<Mutex<Option<Keeper>>>);

impl Keeper {
    /// Begins a job file; where that fails, the job begins in memory.
    pub fn begin(path: PathBuf, header: Header) -> Keeper {
        let mut keeper = Keeper {
            header,
            path,
            journal: None,
            events: Vec::new(),
            written: 0,
            why: None,
            torn: false,
        };
        // Its words are kept in `why`.
        let _told = keeper.flush();
        keeper
    }

    /// Goes on with a job file.
    pub fn resumed(journal: Journal, header: Header, events: Vec<Event>) -> Keeper {
        let path = journal.path().to_owned();
        let written = events.len();
        Keeper { header, path, journal: Some(journal), events, written, why: None, torn: false }
    }

    /// Keeps an event.
    ///
    /// # Errors
    /// In words, when it could not be written: it is kept in memory then.
    pub fn keep(&mut self, event: &Event) -> Result<(), String> {
        self.events.push(event.clone());
        self.flush()
    }

    fn flush(&mut self) -> Result<(), String> {
        let told = self.write();
        self.why = told.err().map(|error| error.to_string());
        self.trouble().map_or(Ok(()), Err)
    }

    fn write(&mut self) -> Result<(), JournalError> {
        if self.journal.is_none() {
            self.journal = Some(Journal::create(&self.path, &self.header)?);
        }
        while let (Some(journal), Some(event)) = (&mut self.journal, self.events.get(self.written))
        {
            journal.append(event)?;
            self.written += 1;
        }
        Ok(())
    }

    /// What keeps the job from the disk, in words.
    pub fn trouble(&self) -> Option<String> {
        let why = self.why.as_ref()?;
        let waiting = match self.events.len() - self.written {
            0 => "nothing is lost yet".to_owned(),
            1 => "1 entry is in memory only".to_owned(),
            more => format!("{more} entries are in memory only"),
        };
        Some(format!("Not on disk: {why}. The job goes on; {waiting}. Each entry tries again."))
    }

    /// Why the disk refused, in its own words.
    pub fn why(&self) -> Option<&str> {
        self.why.as_deref()
    }

    /// Where the job is kept; `None` while nothing of it is on disk.
    pub fn kept_at(&self) -> Option<&Path> {
        self.journal.as_ref().map(|_| self.path.as_path())
    }

    /// The job file's first line.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// Every event, on disk or not.
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// Where the job is, or would be, kept.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Everything on disk, by another way where the first is barred: a copy of the whole job in `folder`.
    ///
    /// # Errors
    /// Where that is barred too.
    pub fn rescue(&mut self, folder: &Path) -> Result<PathBuf, String> {
        if self.flush().is_ok() {
            return Ok(self.path.clone());
        }
        let name = self.path.file_name().map_or_else(|| "halfsplit.job".into(), PathBuf::from);
        let path = folder.join(name);
        let copy = || -> Result<(), JournalError> {
            let mut journal = Journal::create(&path, &self.header)?;
            self.events.iter().try_for_each(|event| journal.append(event))
        };
        copy().map_err(|error| error.to_string())?;
        Ok(path)
    }

    /// How many entries are in memory only.
    pub fn waiting(&self) -> usize {
        if self.why.is_some() { self.events.len().max(1) - self.written } else { 0 }
    }
}

impl Shared {
    /// None kept yet.
    pub fn empty() -> Shared {
        Shared(Arc::default())
    }

    /// Takes a keeper in.
    pub fn set(&self, keeper: Keeper) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some(keeper);
    }

    /// Asks or tells the keeper, if there is one.
    pub fn with<T>(&self, ask: impl FnOnce(&mut Keeper) -> T) -> Option<T> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).as_mut().map(ask)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::journal::{FORMAT, read};
    use crate::job::study::learned::Learned;

    fn header() -> Header {
        Header {
            halfsplit_job: FORMAT,
            circuit: "lamp".to_owned(),
            text: String::new(),
            kit: Vec::new(),
            complaint: "lights".to_owned(),
            started: String::new(),
            learned: Learned::default(),
        }
    }

    fn note(text: &str) -> Event {
        Event::Note { text: text.to_owned() }
    }

    #[test]
    fn what_the_disk_refused_is_written_in_order_once_it_takes_it() {
        let folder = std::env::temp_dir().join(format!("halfsplit-keeper-{}", std::process::id()));
        let _missing = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        // A file where the folder should be: nobody can make a job in it, whoever they are.
        let barred = folder.join("jobs");
        std::fs::write(&barred, "").unwrap();
        let mut keeper = Keeper::begin(barred.join("a.job"), header());
        assert!(keeper.kept_at().is_none() && keeper.trouble().is_some());
        let told = keeper.keep(&note("one")).unwrap_err();
        assert!(told.contains("1 entry is in memory only"), "{told}");
        let rescued = keeper.rescue(&folder).unwrap();
        assert_eq!(read(&rescued).unwrap().0.events, [note("one")]);
        std::fs::remove_file(&barred).unwrap();
        assert_eq!(keeper.keep(&note("two")), Ok(()));
        assert_eq!(keeper.trouble(), None);
        assert_eq!(read(&barred.join("a.job")).unwrap().0.events, [note("one"), note("two")]);
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
