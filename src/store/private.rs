//! Files that nobody but their owner can read.

use std::fs::{File, OpenOptions};
use std::path::Path;

/// Makes a file that only its owner can read, and fails if there is one.
pub(super) fn owner_only(path: &Path) -> std::io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path)
}
