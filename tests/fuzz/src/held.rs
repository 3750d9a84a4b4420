//! What is said of several parsers.

use std::fmt::{Debug, Display};
use std::fs;
use std::path::{Path, PathBuf};
use tantalus::domain::venue::{DayRule, Moment};

/// What was read and shown is read again as the same.
pub(crate) fn again<T: PartialEq + Debug, E: Display>(
    text: &str,
    parse: impl Fn(&str) -> Result<T, E>,
    show: impl Fn(&T) -> String,
) {
    match parse(text) {
        Ok(read) => {
            let shown = show(&read);
            match parse(&shown) {
                Ok(reread) => assert_eq!(reread, read, "{text:?} is shown as {shown:?}"),
                Err(refused) => panic!("{text:?} is shown as {shown:?}, which is refused: {refused}"),
            }
        }
        Err(refused) => said(&refused.to_string()),
    }
}

/// What is said to a person acts on no terminal.
pub(crate) fn said(text: &str) {
    assert!(!tantalus::tui::text::safe(text).is_empty(), "a refusal without words: {text:?}");
}

/// The same of what comes from a stranger's file: not even a screen that forgot to make it safe is harmed.
pub(crate) fn harmless(text: &str) {
    assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
    said(text);
}

/// The days of a bar whose clock is turned in March and October.
pub(crate) fn days() -> DayRule {
    let starts = chrono::NaiveTime::from_hms_opt(5, 0, 0).expect("five in the morning");
    DayRule { zone: chrono_tz::Europe::Berlin, starts }
}

/// Late in November 2026.
pub(crate) const NOW: Moment = Moment(1_795_824_000_000);

/// A folder of its own with one file in it.
pub(crate) fn laid_down(name: &str, bytes: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(name);
    fs::write(&path, bytes).expect("a file");
    (folder, path)
}

/// The sources of the program: with the plain files that a book is made of.
pub(crate) fn sources() -> &'static Path {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    if here.ends_with("tests/fuzz") { here.ancestors().nth(2).expect("the project") } else { here }
}
