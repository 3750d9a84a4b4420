//! Whether a name still leads to the file that was opened under it.

use super::StoreError;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// What makes a file itself, whatever it is called: its disk and its number there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct FileId {
    #[cfg(unix)]
    disk: u64,
    #[cfg(unix)]
    number: u64,
}

impl FileId {
    /// Of the file that a name leads to; none where it leads nowhere. Only looks, and opens nothing: to close a file that
    /// the database has open gives up the locks that the database holds on it.
    pub(super) fn of(path: &Path) -> Option<FileId> {
        let about = std::fs::metadata(path).ok()?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::MetadataExt;
            Some(FileId { disk: about.dev(), number: about.ino() })
        }
        #[cfg(not(unix))]
        {
            about.is_file().then_some(FileId {})
        }
    }
}

/// The books that this process has open, and how often.
static OPEN: Mutex<BTreeMap<FileId, usize>> = Mutex::new(BTreeMap::new());

/// That this process has a book open.
#[derive(Debug)]
pub(super) struct Opened(Option<FileId>);

impl Opened {
    /// Says that a file is about to be opened as a book, and has it looked at before, unless this process has it open already:
    /// to close a file that the database of this process has open gives up all the locks that it holds on it (POSIX,
    /// `fcntl`: locks belong to the process, and any close of the file releases them).
    pub(super) fn new(file: Option<FileId>, look: impl Fn() -> Result<(), StoreError>) -> Result<Opened, StoreError> {
        let mut open = OPEN.lock().unwrap_or_else(PoisonError::into_inner);
        match file {
            Some(file) if open.contains_key(&file) => {}
            _ => look()?,
        }
        if let Some(file) = file {
            *open.entry(file).or_default() += 1;
        }
        Ok(Opened(file))
    }
}

impl Drop for Opened {
    fn drop(&mut self) {
        let Some(file) = self.0 else { return };
        let mut open = OPEN.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(often) = open.get_mut(&file) {
            *often -= 1;
            if *often == 0 {
                open.remove(&file);
            }
        }
    }
}
