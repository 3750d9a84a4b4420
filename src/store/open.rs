//! Opening: the order matters, and every connection does the same.

use super::StoreError;
use super::backup::sync_folder;
use super::error::{At, Doing};
use super::migrations::{self, Mark};
use super::people;
use super::private::{owner_only, private_folder};
use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, TransactionBehavior};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long a writer waits for another one.
const PATIENCE: Duration = Duration::from_secs(5);
/// Statements kept prepared.
const PREPARED: usize = 128;

/// Makes the empty file of a new book. An empty one left by a start that failed is used again.
pub(super) fn make_file(path: &Path) -> Result<(), StoreError> {
    if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
        private_folder(folder).at("making the folder of", path)?;
    }
    match owner_only(path) {
        Ok(_) => Ok(()),
        Err(error) if error.kind() == ErrorKind::AlreadyExists => is_free(path),
        Err(error) => Err(error).at("making", path),
    }
}

/// The marks of a file that was opened; a file that is no database of this sort at all is no book.
pub(super) fn marked(conn: &Connection, path: &Path) -> Result<Mark, StoreError> {
    let first = conn.query_row("PRAGMA schema_version", [], |row| row.get::<_, i64>(0));
    match first {
        Err(error) if error.sqlite_error_code() == Some(ErrorCode::NotADatabase) => {
            Err(StoreError::NotABook { path: path.to_owned(), found: "it is a file of another kind" })
        }
        Err(error) => Err(error).doing("looking at the book"),
        Ok(_) => Mark::read(conn),
    }
}

/// Opens, sets the modes, and brings the book up to date.
pub(super) fn connect(path: &Path, steps: &[&str]) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(path, flags).doing("opening the book")?;
    conn.busy_timeout(PATIENCE).doing("opening the book")?;
    // A foreign database must be left exactly as it is, so it is recognised before the first mode is set.
    migrations::judge(marked(&conn, path)?, path, steps)?;
    write_ahead(&conn, path)?;
    // Full: what somebody typed survives a power cut, not only a crash.
    conn.pragma_update(None, "synchronous", "FULL").doing("opening the book")?;
    for (setting, on) in [
        (DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true),
        (DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false),
        (DbConfig::SQLITE_DBCONFIG_DQS_DML, false),
        (DbConfig::SQLITE_DBCONFIG_DQS_DDL, false),
        (DbConfig::SQLITE_DBCONFIG_ENABLE_FKEY, true),
    ] {
        conn.set_db_config(setting, on).doing("opening the book")?;
    }
    conn.pragma_update(None, "cache_size", -8_000).doing("opening the book")?;
    conn.pragma_update(None, "temp_store", "MEMORY").doing("opening the book")?;
    conn.set_prepared_statement_cache_capacity(PREPARED);
    migrations::run(&conn, path, steps)?;
    conn.execute_batch(people::TERMINAL).doing("opening the book")?;
    Ok(conn)
}

/// A copy of a book that nothing else uses, to be changed by what no book allows.
pub(super) struct Raw(Connection);

/// Opens a copy of a book as it is, without its rules.
pub(super) fn raw(path: &Path) -> Result<Raw, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(path, flags).doing("opening the copy")?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_FKEY, false).doing("opening the copy")?;
    Ok(Raw(conn))
}

impl Raw {
    /// Changes it: all of that, or nothing.
    pub(super) fn with<T>(self, work: impl FnOnce(&Connection) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let transaction =
            Transaction::new_unchecked(&self.0, TransactionBehavior::Immediate).doing("changing the copy")?;
        let done = work(&transaction)?;
        transaction.commit().doing("changing the copy")?;
        Ok(done)
    }
}

/// Switches to the write-ahead log. The switch answers “busy” at once when several openers race on a new file,
/// whatever the timeout, so the waiting is done here.
fn write_ahead(conn: &Connection, path: &Path) -> Result<(), StoreError> {
    let step = Duration::from_millis(20);
    let mut waited = Duration::ZERO;
    loop {
        let mode: rusqlite::Result<String> = conn.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0));
        match mode {
            Ok(mode) if mode.eq_ignore_ascii_case("wal") => return Ok(()),
            Ok(_) => return Err(StoreError::NoSharing { path: path.to_owned() }),
            Err(error) => {
                let busy =
                    matches!(error.sqlite_error_code(), Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked));
                if !busy || waited >= PATIENCE {
                    return Err(error).doing("opening the book");
                }
            }
        }
        std::thread::sleep(step);
        waited += step;
    }
}

/// The file of the same name with something added.
pub(super) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    PathBuf::from(name)
}

/// Refuses a path where there is a file already; an empty one left by a start that failed does not count.
pub(super) fn is_free(path: &Path) -> Result<(), StoreError> {
    match fs::metadata(path) {
        Ok(found) if found.is_file() && found.len() == 0 && !beside(path, "-wal").exists() => Ok(()),
        Ok(_) => Err(StoreError::Exists { path: path.to_owned() }),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        Err(error) => Err(error).at("looking at", path),
    }
}

/// Gives a closed book its name, for good.
pub(super) fn rename(from: &Path, to: &Path) -> Result<(), StoreError> {
    fs::rename(from, to).at("naming", to)?;
    sync_folder(to)
}

/// Takes a closed book away.
pub(super) fn remove(path: &Path) -> Result<(), StoreError> {
    for suffix in ["", "-wal", "-shm"] {
        let file = beside(path, suffix);
        match fs::remove_file(&file) {
            Err(error) if error.kind() != ErrorKind::NotFound => return Err(error).at("taking away", &file),
            _ => {}
        }
    }
    Ok(())
}
