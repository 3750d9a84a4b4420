//! Opening what a person or a folder names: files and folders, and nothing that may never end or never answer.

use super::stream::refused;
use std::fs::{self, File, Metadata};
use std::io;
use std::path::Path;

/// What a path leads to, through a link too, looked at before anything is opened: opening a pipe waits for somebody who
/// writes into it.
///
/// # Errors
/// What the system says, or in words that it is no file and no folder.
pub(super) fn about(path: &Path) -> io::Result<Metadata> {
    let about = fs::metadata(path)?;
    if about.is_file() || about.is_dir() {
        return Ok(about);
    }
    Err(refused(word!(
        "it is a pipe, a device or a socket, neither a file nor a folder; save what it gives as a file first"
    )))
}

/// Opens a file to be read.
///
/// # Errors
/// As [`about`]; a folder is no file.
pub(super) fn file(path: &Path) -> io::Result<File> {
    if about(path)?.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    File::open(path)
}
