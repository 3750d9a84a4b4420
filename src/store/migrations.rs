//! From an older book to the present one: numbered steps, each run once, under one lock, after a backup copy.

use super::{StoreError, backup, error::Doing, history};
use rusqlite::{Connection, Transaction, TransactionBehavior};
use std::path::{Path, PathBuf};

/// Marks a file as a book: “TANT”.
pub const APPLICATION_ID: i64 = 0x5441_4E54;

/// The steps; a book of version n has had the first n of them.
pub const STEPS: &[&str] = &[
    concat!(
        include_str!("../../migrations/0001_book.sql"),
        // What tells the journals of two venues apart once they are joined. Not a fact of the bar, so never dumped.
        "\nINSERT INTO venue (key, value) VALUES ('uid', lower(hex(randomblob(8))));\n"
    ),
    include_str!("../../migrations/0002_gauging.sql"),
    include_str!("../../migrations/0003_drinks.sql"),
    include_str!("../../migrations/0004_parties.sql"),
    include_str!("../../migrations/0005_files.sql"),
    include_str!("../../migrations/0006_variance.sql"),
    include_str!("../../migrations/0007_par.sql"),
    include_str!("../../migrations/0008_day_totals.sql"),
    include_str!("../../migrations/0009_history.sql"),
    include_str!("../../migrations/0010_checks.sql"),
    include_str!("../../migrations/0011_run_out.sql"),
    include_str!("../../migrations/0012_speed.sql"),
];

/// What a file says about itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Mark {
    pub(super) application: i64,
    pub(super) version: i64,
    /// Tables and indexes in it.
    pub(super) objects: i64,
}

impl Mark {
    /// Reads the marks in one transaction: read apart, they could straddle another opener's commit and look like a
    /// foreign file.
    pub(super) fn read(conn: &Connection) -> Result<Mark, StoreError> {
        let transaction =
            Transaction::new_unchecked(conn, TransactionBehavior::Deferred).doing("looking at the book")?;
        let mark = Mark::read_within(&transaction)?;
        transaction.commit().doing("looking at the book")?;
        Ok(mark)
    }

    /// The same within a transaction of the caller's.
    pub(super) fn read_within(conn: &Connection) -> Result<Mark, StoreError> {
        let one = |sql| conn.query_row(sql, [], |row| row.get(0)).doing("looking at the book");
        Ok(Mark {
            objects: one("SELECT count(*) FROM sqlite_schema")?,
            application: one("PRAGMA application_id")?,
            version: one("PRAGMA user_version")?,
        })
    }

    /// An empty file, which may become a book.
    pub(super) fn is_blank(self) -> bool {
        self == Mark { application: 0, version: 0, objects: 0 }
    }
}

/// Refuses what is no book, or a newer one.
pub(super) fn judge(mark: Mark, path: &Path, steps: &[&str]) -> Result<(), StoreError> {
    let supported = steps.len() as i64;
    if mark.application != APPLICATION_ID && !mark.is_blank() {
        return Err(StoreError::NotABook { path: path.to_owned(), found: "it is a database of another program" });
    }
    if mark.version > supported {
        return Err(StoreError::NewerSchema { found: mark.version, supported });
    }
    Ok(())
}

/// Where the copy of a book before step `number` is kept.
pub fn copy_before(path: &Path, number: i64) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(format!(".before-{number}"));
    PathBuf::from(name)
}

/// Brings the book up to the last step.
pub(super) fn run(conn: &Connection, path: &Path, steps: &[&str]) -> Result<(), StoreError> {
    let seen = Mark::read(conn)?;
    judge(seen, path, steps)?;
    if seen.version == steps.len() as i64 {
        return Ok(());
    }
    if !seen.is_blank() {
        // A copy that shows a later version was taken after another opener had migrated: no use as “before”.
        backup::copy(conn, &copy_before(path, seen.version + 1), |copy| Ok(Mark::read(copy)?.version == seen.version))?;
    }
    let transaction =
        Transaction::new_unchecked(conn, TransactionBehavior::Immediate).doing("bringing the book up to date")?;
    // Another opener may have done it while this one waited for the lock.
    let now = Mark::read_within(&transaction)?;
    judge(now, path, steps)?;
    let done = usize::try_from(now.version).unwrap_or(0);
    history::before_steps(&transaction)?;
    for step in steps.iter().skip(done) {
        transaction
            .execute_batch(step)
            .doing("bringing the book up to date")
            .map_err(|error| not_of(now.version, error))?;
    }
    history::begin(&transaction)?;
    if done > 0 && done < steps.len() {
        let broken: i64 = transaction
            .query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |row| row.get(0))
            .doing("checking the book after bringing it up to date")?;
        if broken > 0 {
            return Err(StoreError::Damaged { what: format!("{broken} rows name something that is not there") });
        }
    }
    transaction.pragma_update(None, "application_id", APPLICATION_ID).doing("marking the book")?;
    transaction.pragma_update(None, "user_version", steps.len() as i64).doing("marking the book")?;
    transaction.commit().doing("bringing the book up to date")
}

/// A step that makes what is there already is run on a book that says it is older than it is.
fn not_of(version: i64, error: StoreError) -> StoreError {
    match error {
        StoreError::Sql { source, .. }
            if ["already exists", "duplicate"].iter().any(|says| source.to_string().contains(says)) =>
        {
            StoreError::Damaged { what: format!("its head says that it is of version {version}, but {source}") }
        }
        error => error,
    }
}
