//! A copy of the book: compact, one file, whole or not there at all.

use super::StoreError;
use super::error::{At, Doing};
use rusqlite::Connection;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

/// Copies the book of `conn` to `to`: under a temporary name, looked at by `keep`, forced to the disk, then renamed.
/// Says whether the copy was kept. Cannot run inside a transaction.
///
/// # Errors
/// [`StoreError::Io`] and [`StoreError::Sql`] when the disk refuses; whatever `keep` refuses with.
pub fn copy(
    conn: &Connection,
    to: &Path,
    keep: impl FnOnce(&Connection) -> Result<bool, StoreError>,
) -> Result<bool, StoreError> {
    let temporary = Temporary::beside(to)?;
    let text = temporary.0.to_str().ok_or_else(|| StoreError::Io {
        doing: "naming the copy",
        path: to.to_owned(),
        source: std::io::Error::from(std::io::ErrorKind::InvalidFilename),
    })?;
    conn.execute("VACUUM INTO ?1", [text]).doing("copying the book")?;
    let kept = {
        let copied = Connection::open_with_flags(&temporary.0, rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY)
            .doing("looking at the copy")?;
        keep(&copied)?
    };
    if !kept {
        return Ok(false);
    }
    File::open(&temporary.0).and_then(|f| f.sync_all()).at("writing the copy", to)?;
    fs::rename(&temporary.0, to).at("naming the copy", to)?;
    sync_folder(to)?;
    Ok(true)
}

/// The name of a file is only on the disk once its folder is.
fn sync_folder(of: &Path) -> Result<(), StoreError> {
    let folder = of.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if cfg!(unix) { File::open(folder).and_then(|f| f.sync_all()).at("writing the folder of", of) } else { Ok(()) }
}

/// A file that goes away unless it was renamed.
struct Temporary(PathBuf);

impl Temporary {
    /// An empty file, readable by its owner only, of a name that nothing else uses.
    fn beside(to: &Path) -> Result<Temporary, StoreError> {
        for number in 0..1_000_u32 {
            let mut name = to.as_os_str().to_owned();
            name.push(format!(".part-{}-{number}", std::process::id()));
            let path = PathBuf::from(name);
            match super::private::owner_only(&path) {
                Ok(_) => return Ok(Temporary(path)),
                Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error).at("making the copy", to),
            }
        }
        Err(std::io::Error::from(std::io::ErrorKind::AlreadyExists)).at("making the copy", to)
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        // Already renamed, or nothing more can be done about it.
        let _ = fs::remove_file(&self.0);
    }
}
