//! Bringing counts in from a file.

use crate::cli::{Refusal, load};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::load::load_counts;
use std::path::Path;

/// Brings in the counts of a file and returns what to print about it.
pub(super) fn import_counts(store: &Store, file: &Path, json: bool) -> Result<String, Refusal> {
    let report = load::watched(|bar| load_counts(store, file, clock::now(), &mut |p| bar.tell(p)))?;
    load::answer(&report, json)
}
