//! Files that a person chooses from, and those that lie in the watched folder.

use super::DeskError;
use crate::domain::rows::{FileEntry, Listing, OfferedFile};
use crate::domain::till::TakenFile;
use crate::domain::venue::Moment;
use crate::exchange::sniff::{self, What};
use crate::exchange::{inbox, invoice};
use crate::store::{Store, files};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// What a path leads to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LedTo {
    /// A file, or a folder that is one file of sales.
    File(PathBuf),
    /// A folder to choose from.
    Folder(Listing),
}

/// Looks where a path leads. A folder that cannot be read is a listing that says so.
pub fn look_into(path: &Path) -> LedTo {
    match inbox::about(path) {
        Some(entry) if !entry.folder || entry.export => LedTo::File(entry.path),
        _ => {
            let entries = inbox::list(path).map_err(|refused| refused.to_string());
            LedTo::Folder(Listing { folder: path.to_owned(), entries })
        }
    }
}

/// What was found out about files of the watched folder, so that no file is read again while it stays as it was.
#[derive(Debug, Default)]
pub struct Seen(HashMap<(PathBuf, u64, Option<Moment>), Known>);

#[derive(Clone, Debug, Default)]
struct Known {
    digest: Option<String>,
    /// What it seems to be and whether it brings sales; nothing of what this program does not take.
    what: Option<Option<(String, bool)>>,
}

/// The files of a folder that the book has not taken in and not set aside, the newest first. Files that the program does
/// not know how to take are left out.
///
/// # Errors
/// [`DeskError`]: the folder cannot be read.
pub fn offered(store: &Store, folder: &Path, seen: &mut Seen) -> Result<Vec<OfferedFile>, DeskError> {
    let taken = store.read(files::in_force)?;
    let mut out = Vec::new();
    for entry in inbox::list(folder)? {
        if entry.folder && !entry.export {
            continue;
        }
        let known = seen.0.entry((entry.path.clone(), entry.size, entry.modified)).or_default();
        if is_taken(&entry, &taken, known) {
            continue;
        }
        let what = known.what.get_or_insert_with(|| what_is(&entry.path));
        if let Some((what, sales)) = what.clone() {
            out.push(OfferedFile { path: entry.path, name: entry.name, what, sales });
        }
    }
    Ok(out)
}

/// Whether the book has a file of this content. One that still lies there as it was when it was taken in is known by its
/// name, size and time; any other of the size of a known one is read.
fn is_taken(entry: &FileEntry, taken: &[TakenFile], known: &mut Known) -> bool {
    let size = i64::try_from(entry.size).unwrap_or(i64::MAX);
    let mut alike = taken.iter().filter(|file| file.size == size).peekable();
    if alike.peek().is_none() {
        return false;
    }
    if taken.iter().any(|f| f.size == size && f.name == entry.name && f.modified == entry.modified) {
        return true;
    }
    let digest = match &known.digest {
        Some(digest) => digest.clone(),
        None => match inbox::print(&entry.path) {
            Ok(print) => known.digest.insert(print.digest).clone(),
            // What cannot be read cannot be offered either.
            Err(_) => return true,
        },
    };
    alike.any(|file| file.digest == digest)
}

fn what_is(path: &Path) -> Option<(String, bool)> {
    let what = sniff::sniff(path).ok()?;
    let words = what.words().to_owned();
    match what {
        What::Pdf => invoice::read(path).ok().map(|_| (words, false)),
        what if what.brings_sales() => Some((words, true)),
        what if what.is_invoice() => Some((words, false)),
        _ => None,
    }
}
