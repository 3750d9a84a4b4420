//! Files as people choose them, and what is known of each.

use crate::domain::venue::Moment;
use std::path::PathBuf;

/// An entry of a folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileEntry {
    /// Where it is.
    pub path: PathBuf,
    /// What it is called.
    pub name: String,
    /// Whether it is a folder.
    pub folder: bool,
    /// Whether it is a folder that is one file of sales: it holds an `index.xml` among its tables.
    pub export: bool,
    /// Its bytes.
    pub size: u64,
    /// When it was last written to.
    pub modified: Option<Moment>,
}

/// What makes a file itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FilePrint {
    /// SHA-256 of what is in it, in hexadecimal digits.
    pub digest: String,
    /// What it is called, without its folder.
    pub name: String,
    /// Its bytes.
    pub size: u64,
    /// When it was last written to.
    pub modified: Option<Moment>,
}

/// A folder as it is chosen from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listing {
    /// The folder.
    pub folder: PathBuf,
    /// What it holds, or why it cannot be looked into.
    pub entries: Result<Vec<FileEntry>, String>,
}

/// A file that lies in the watched folder and was not taken in yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OfferedFile {
    /// Where it is.
    pub path: PathBuf,
    /// What it is called.
    pub name: String,
    /// What it seems to be, in words: `sales of a till: a table`.
    pub what: String,
    /// Whether it brings sales; else it is a supplier's invoice.
    pub sales: bool,
}
