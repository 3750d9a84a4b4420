//! What damage did to a book, and a new book of what can still be read of it.

use super::DeskError;
use super::check::{Finding, check};
use crate::store::{Store, salvage as bytes};
use std::path::Path;

pub use crate::store::salvage::{Looked, Part, Salvaged};

/// Everything wrong with the book at a path. Where its file is damaged it is told which parts of the book that concerns,
/// also when it cannot be opened any more. Nothing is changed.
///
/// # Errors
/// [`DeskError::Store`] when there is no book at all, or it is a newer one.
pub fn check_file(path: &Path) -> Result<Vec<Finding>, DeskError> {
    // Closed before its bytes are looked at: closing the file a second time would let go of the locks of the first.
    let found = match Store::open(path).map_err(DeskError::from) {
        Ok(store) => check(&store),
        Err(error) => Err(error),
    };
    let found = match found {
        Ok(found) if found.iter().any(|finding| matches!(finding, Finding::Page(_))) => found,
        Err(DeskError::Store(error)) if error.is_damage() => {
            let said = error.to_string();
            // What to do about it is said once, at the end.
            vec![Finding::Page(said.split_once("; ").map_or(said.as_str(), |(what, _)| what).to_owned())]
        }
        other => return other,
    };
    let looked = bytes::look(path)?;
    let parts = looked.parts.iter().filter(|part| !part.is_sound());
    let parts = parts.map(|part| format!("{}: {} can be read; {}", part.name, part.saved, part.troubles().join("; ")));
    Ok(looked.file.iter().cloned().chain(parts).map(Finding::Part).chain(found).collect())
}

/// Saves what can be read of a damaged book into a new one. The damaged one is not written to.
///
/// # Errors
/// [`DeskError::Store`] when there is a file of the new name already, when there is no book, a newer one, or nothing of it
/// can be read. Then no new book is left behind.
pub fn salvage(from: &Path, to: &Path) -> Result<Salvaged, DeskError> {
    let done = bytes::salvage(from, to)?;
    let findings = match check(&Store::open(to)?) {
        Ok(findings) => findings,
        Err(error) => done.findings.into_iter().chain([Finding::Setup(error.to_string())]).collect(),
    };
    Ok(Salvaged { findings, ..done })
}
