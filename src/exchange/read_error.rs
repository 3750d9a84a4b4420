//! Why a file from elsewhere was refused, for people.

use std::path::PathBuf;

/// A file that was refused: where, what was read, what was expected, what to do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}{}: {what}", .path.display(), place(.at.as_ref()))]
pub struct ReadError {
    /// The file.
    pub path: PathBuf,
    /// Where in it: `line 12`, `lines.csv line 4`, `receipt 17`.
    pub at: Option<String>,
    /// What was read, what was expected and what to do, in a sentence or two, made safe for a terminal.
    pub what: String,
}

impl ReadError {
    /// A file refused as a whole.
    pub fn new(path: impl Into<PathBuf>, what: impl Into<String>) -> ReadError {
        ReadError { path: path.into(), at: None, what: what.into() }
    }

    /// A place in a file.
    pub fn at(path: impl Into<PathBuf>, at: impl Into<String>, what: impl Into<String>) -> ReadError {
        ReadError { path: path.into(), at: Some(at.into()), what: what.into() }
    }
}

fn place(at: Option<&String>) -> String {
    at.map_or_else(String::new, |at| format!(", {at}"))
}
