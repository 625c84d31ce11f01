//! Files that other programs add to as well, held while this one does.
//!
//! A job file is not one of them: it belongs to one program from its beginning to its end (`job::journal`).

use std::fs::File;
use std::time::Duration;

/// Takes hold of a file, waiting two seconds for another program that has it: whoever adds a line is soon done.
pub fn soon(file: &File) -> bool {
    const EACH: Duration = Duration::from_millis(50);
    const TRIES: usize = 40;
    (0..TRIES).any(|try_again| {
        if try_again > 0 {
            std::thread::sleep(EACH);
        }
        file.try_lock().is_ok()
    })
}
