//! Bringing counts in from a file.

use crate::cli::{Refusal, backup, load};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::load::load_counts;
use std::path::Path;

/// Brings in the counts of a file and returns what to print about it.
pub(super) fn import_counts(store: &Store, file: &Path, json: bool) -> Result<String, Refusal> {
    let mut report = load::watched(|bar| load_counts(store, file, clock::now(), &mut |p| bar.tell(p)))?;
    report.warnings.extend(backup::catch_up(store)?);
    load::answer(&report, json)
}
