//! Any bytes as a job file. What does not begin like one is tried as the events of a small job.
#![no_main]

mod shared;

use std::path::Path;
use std::sync::Arc;

use halfsplit::cli::load;
use halfsplit::job::journal::parse;
use halfsplit::job::state::Job;
use halfsplit::plan::{Budget, Progress};
use halfsplit::report::card::{html, json, markdown, sum_up, text};
use libfuzzer_sys::fuzz_target;

/// More are like those before them.
const MOST_EVENTS: usize = 40;

fuzz_target!(|bytes: &[u8]| {
    let path = Path::new("fuzz.job");
    let whole = bytes.starts_with(b"{\"halfsplit_job");
    let mut file = Vec::new();
    if !whole {
        let header = serde_json::json!({
            "halfsplit_job": 1, "circuit": "lamp", "text": shared::LAMP, "kit": ["lamp", "meter"],
            "complaint": "lights", "started": "2026-01-02T03:04:05Z",
        });
        file.extend_from_slice(header.to_string().as_bytes());
        file.push(b'\n');
    }
    file.extend_from_slice(bytes);
    let (kept, good) = match parse(path, &file) {
        Ok(found) => found,
        Err(error) => return drop(error.to_string()),
    };
    assert!(good as usize <= file.len() && kept.times.len() == kept.events.len());
    if kept.events.len() > MOST_EVENTS || kept.header.text.len() > 4000 {
        return;
    }
    let job = if whole {
        load::job(path, &kept).ok()
    } else {
        Job::with_events(Arc::clone(&shared::STUDY), &kept.events).ok()
    };
    let Some(job) = job else { return };
    drop(job.standing(&Budget { nodes: 5 }, &Progress::default()));
    let card = sum_up(&job, &kept);
    shared::clean(&text::write(&card));
    shared::clean(&markdown::write(&card));
    shared::clean(&html::write(&card));
    drop(json::write(&card));
});
