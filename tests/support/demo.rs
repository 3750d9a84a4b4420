//! The demo bar as a book, at a fixed moment.

#![allow(dead_code, clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use tantalus::domain::venue::Moment;

/// Half past one at night, after a Sunday's trade: the full count is due.
pub(crate) const NOW: &str = "2026-11-23T01:30:00-01:00";

/// The same as a moment.
pub(crate) fn now() -> Moment {
    Moment(chrono::DateTime::parse_from_rfc3339(NOW).unwrap().timestamp_millis())
}

/// Makes the demo's book in a folder.
pub(crate) fn book(folder: &Path) -> PathBuf {
    let path = folder.join("demo.tantalus");
    if let Err(refused) = tantalus::desk::demo::open(&path, false, now()) {
        panic!("{refused}");
    }
    path
}
