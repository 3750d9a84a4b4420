//! What damage did to a book, and a new book of what can still be read of it.

use super::DeskError;
use super::check::{Finding, check};
use crate::store::{Store, StoreError, salvage as bytes};
use std::path::Path;

pub use crate::store::salvage::{Looked, Part, Salvaged};

/// How much of what the database itself says about damaged pages is told: it may have as many words as there are rows.
const WORDS: usize = 3;

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
        // What to do about it is said once, at the end.
        Err(DeskError::Store(StoreError::Broken { found, .. } | StoreError::Damaged { what: found })) => {
            vec![Finding::Page(found)]
        }
        other => return other,
    };
    let looked = bytes::look(path)?;
    let parts = looked.parts.iter().filter(|part| !part.is_sound());
    let parts = parts.map(|part| {
        say!(
            "{part}: {saved} can be read; {troubles}",
            part = part.name,
            saved = part.saved,
            troubles = part.troubles().join("; ")
        )
    });
    let more = found.len().saturating_sub(WORDS);
    let more =
        (more > 0).then(|| Finding::Part(say!("and {more} more such words of the database, which say the same", more)));
    let told = looked.file.iter().cloned().chain(parts).map(Finding::Part);
    Ok(told.chain(found.into_iter().take(WORDS)).chain(more).collect())
}

/// Saves what can be read of a damaged book into a new one. The damaged one is not written to.
///
/// # Errors
/// [`DeskError::Store`] when there is a file of the new name already, when there is no book, a newer one, or nothing of it
/// can be read. Then no new book is left behind.
pub fn salvage(from: &Path, to: &Path) -> Result<Salvaged, DeskError> {
    let done = bytes::salvage(from, to)?;
    let mut findings = done.findings;
    match check(&Store::open(to)?) {
        Ok(more) => findings.extend(more.into_iter().filter(|finding| !findings.contains(finding)).collect::<Vec<_>>()),
        Err(error) => findings.push(Finding::Setup(error.to_string())),
    }
    Ok(Salvaged { looked: done.looked, findings })
}
