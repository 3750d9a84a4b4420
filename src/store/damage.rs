//! Whether a file can be a book at all, and a whole one: a look at its head and its length, before the database touches it.
//!
//! The SQLite file format (from memory of its published description, "The Database Header"): the first hundred bytes say
//! what the file is, how large its pages are and how many it has. The number of pages holds only where the number at 92 is
//! the one at 24; pages that were written last may stand in the log beside the file and not yet in it.

use super::StoreError;
use super::error::At;
use super::open::beside;
use std::collections::HashSet;
use std::fs::File;
use std::io::{ErrorKind, Read, Seek, SeekFrom};
use std::path::Path;

/// The first bytes of every database of this format.
const FORMAT: &[u8; 16] = b"SQLite format 3\0";
const HEAD: usize = 100;
/// The head of the log, and of each frame in it.
const LOG_HEAD: u64 = 32;
const FRAME_HEAD: u64 = 24;

fn word(bytes: &[u8], at: usize) -> u64 {
    let bytes = bytes.get(at..).and_then(|bytes| bytes.first_chunk::<4>());
    bytes.map_or(0, |bytes| u64::from(u32::from_be_bytes(*bytes)))
}

/// The page size in a head; none when it is none that a page can have.
fn page_size(head: &[u8]) -> Option<u64> {
    let said = u64::from(*head.get(16)?) << 8 | u64::from(*head.get(17)?);
    let size = if said == 1 { 65_536 } else { said };
    (size.is_power_of_two() && (512..=65_536).contains(&size)).then_some(size)
}

/// What in the head of a book is not as in any book; none where all is well.
pub(super) fn of_head(head: &[u8]) -> Option<&'static str> {
    let at = |n: usize| head.get(n).copied().unwrap_or_default();
    let known = (1..=2).contains(&at(18)) && (1..=2).contains(&at(19));
    if head.get(..16) != Some(FORMAT) {
        Some("its first bytes are not those of a book")
    } else if page_size(head).is_none() {
        Some("its head gives a size of pages that there is not")
    } else if !known || at(20) != 0 || head.get(21..24) != Some(&[64, 32, 32]) || !(0..=4).contains(&word(head, 44)) {
        Some("its head says that it is of a format that no book has")
    } else if !(0..=1).contains(&word(head, 56)) {
        Some("its head says that its text is written as in no book")
    } else {
        None
    }
}

/// Looks at the head and the length of a file.
///
/// # Errors
/// [`StoreError::Missing`], [`StoreError::NotABook`] for a folder or a file of another kind, [`StoreError::Nothing`] for an
/// empty one, [`StoreError::Broken`] for a book that is cut short or whose head makes no sense.
pub(super) fn look_at(path: &Path) -> Result<(), StoreError> {
    let mut file = match File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == ErrorKind::NotFound => {
            return Err(StoreError::Missing { path: path.to_owned() });
        }
        Err(error) => return Err(error).at("opening", path),
    };
    let about = file.metadata().at("looking at", path)?;
    let not = |found: &'static str| StoreError::NotABook { path: path.to_owned(), found };
    let broken = |found: String| StoreError::Broken { path: path.to_owned(), found };
    if about.is_dir() {
        return Err(not("it is a folder"));
    }
    if !about.is_file() {
        return Err(not("it is no file"));
    }
    let mut head = Vec::with_capacity(HEAD);
    file.by_ref().take(HEAD as u64).read_to_end(&mut head).at("reading", path)?;
    if head.is_empty() {
        // A new book may still stand wholly in its log.
        let log = beside(path, "-wal").exists();
        return if log { Ok(()) } else { Err(StoreError::Nothing { path: path.to_owned() }) };
    }
    if head.iter().all(|byte| *byte == 0) {
        return Err(broken("it begins with nothing but zeros".to_owned()));
    }
    if !head.starts_with(&FORMAT[..head.len().min(16)]) && !is_like_a_head(&head) {
        return Err(not("it is a file of another kind"));
    }
    if head.len() < HEAD {
        return Err(broken(format!("it ends after {} bytes", head.len())));
    }
    if let Some(what) = of_head(&head) {
        return Err(broken(what.to_owned()));
    }
    let (Some(size), count) = (page_size(&head), word(&head, 28)) else { return Ok(()) };
    let held = about.len() / size;
    if head.get(24..28) == head.get(92..96) && held < count && !in_the_log(path, size, held, count)? {
        return Err(broken(format!("it ends after {held} of its {count} pages")));
    }
    Ok(())
}

/// Whether a head of which the first bytes are damaged says otherwise what that of a book does.
fn is_like_a_head(head: &[u8]) -> bool {
    head.get(21..24) == Some(&[64, 32, 32]) && word(head, 68) == super::APPLICATION_ID.cast_unsigned()
}

/// Whether the pages above `held` up to `count` all stand in the log. Whether they were committed is not looked at: if they
/// were not, the number of pages is not from this log.
fn in_the_log(path: &Path, size: u64, held: u64, count: u64) -> Result<bool, StoreError> {
    let path = beside(path, "-wal");
    let mut log = match File::open(&path) {
        Ok(log) => log,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(false),
        Err(error) => return Err(error).at("opening", &path),
    };
    let frames = log.metadata().at("looking at", &path)?.len().saturating_sub(LOG_HEAD) / (FRAME_HEAD + size);
    if frames < count - held {
        return Ok(false);
    }
    let mut there = HashSet::new();
    for frame in 0..frames {
        let mut number = [0; 4];
        log.seek(SeekFrom::Start(LOG_HEAD + frame * (FRAME_HEAD + size)))
            .and_then(|_| log.read_exact(&mut number))
            .at("reading", &path)?;
        there.insert(u64::from(u32::from_be_bytes(number)));
    }
    Ok((held + 1..=count).all(|page| there.contains(&page)))
}
