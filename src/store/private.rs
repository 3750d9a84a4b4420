//! Files and folders that nobody but their owner can read.

use std::fs::{DirBuilder, File, OpenOptions};
use std::io::ErrorKind;
use std::path::Path;

/// Makes a file that only its owner can read, and fails if there is one. It can be written and read.
pub(super) fn owner_only(path: &Path) -> std::io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true).write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path)
}

/// Makes a folder that only its owner can look into, and those on the way, unless they are there.
pub(super) fn private_folder(path: &Path) -> std::io::Result<()> {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder.create(path).map_err(|error| match error.kind() {
        // A file of that name, which the system calls one that is there already.
        ErrorKind::AlreadyExists => ErrorKind::NotADirectory.into(),
        _ => error,
    })
}
