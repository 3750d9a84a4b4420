//! Puts a copy in the place of the book: at every instant there is the one or the other, and nothing of the old one is
//! ever applied to the new one.

use super::backup::{self, folder_of, sync_folder};
use super::copies::{self, paths};
use super::error::{At, Doing};
use super::identity::FileId;
use super::migrations::{APPLICATION_ID, Mark};
use super::open::{beside, marked};
use super::present::{self, real};
use super::private::private_folder;
use super::{Connection, StoreError};
use crate::domain::copies::{CopyName, Holds, Why};
use crate::domain::venue::{DayRule, Moment};
use rusqlite::OpenFlags;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long another command may take to let go of the book.
const PATIENCE: Duration = Duration::from_secs(1);
/// What may lie beside a book and belong to it.
const LOGS: [&str; 3] = ["-wal", "-shm", "-journal"];

/// How far a restore is. Whenever it ends, the book is the old one whole up to [`Step::Cleared`], and the new one from
/// [`Step::Renamed`] on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// The copy was gone through and is sound.
    Verified,
    /// What stood there is kept as a copy, if anything stood there.
    Kept,
    /// The new book is written, beside the old one.
    Written,
    /// No log of the old book is left.
    Cleared,
    /// The new book has the name.
    Renamed,
}

/// What stood in the place of the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Before {
    /// Nothing.
    Nothing,
    /// A book, which is kept as this copy.
    Book(PathBuf),
    /// Something that could not be read; its file is kept as it was.
    Unreadable(PathBuf),
    /// Something that could not be read and not be kept either.
    Lost,
}

/// What a restore did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Restored {
    /// What the copy holds.
    pub holds: Holds,
    /// What stood there before.
    pub before: Before,
}

/// Puts a copy in the place of a book. `even_without_copy` lets it go on when what stands there can neither be read nor
/// be kept; a book that can be read is always kept first. `tell` is told each step.
///
/// # Errors
/// [`StoreError::InUse`] when somebody has the book open; those of [`copies::look`] when the copy is no sound copy;
/// [`StoreError::NotCopied`] when there is no room. The book is as it was then.
pub fn restore(
    book: &Path,
    from: &Path,
    at: Moment,
    even_without_copy: bool,
    tell: &mut dyn FnMut(Step),
) -> Result<Restored, StoreError> {
    let present = present::others(book)?;
    if !present.says.is_empty() {
        return Err(StoreError::InUse { by: present.says });
    }
    let book = real(book);
    if FileId::of(from).is_some_and(|from| FileId::of(&book) == Some(from)) {
        return Err(StoreError::ItsOwnCopy { path: from.to_owned() });
    }
    let unfit = |refused| unfit(from, refused);
    let copy = copies::open(from).map_err(unfit)?;
    backup::sound(&copy).map_err(unfit)?;
    let holds = copies::holds(&copy).map_err(unfit)?;
    tell(Step::Verified);
    private_folder(folder_of(&book)).at("making the folder of", &book)?;
    clear_parts(&book);
    // Held from here on: whoever opens the book meanwhile waits, and finds the new one.
    let held = Held::take(&book)?;
    let before = keep(&held, &book, at, &holds.days, even_without_copy)?;
    tell(Step::Kept);
    let new = backup::beside(&copy, &book)?;
    tell(Step::Written);
    clear_logs(&book)?;
    tell(Step::Cleared);
    new.name(&book)?;
    tell(Step::Renamed);
    // Where the disk does not confirm the name, a power cut leaves one of the two books, each of them whole.
    let _ = sync_folder(&book);
    drop(held);
    Ok(Restored { holds, before })
}

/// Says of a copy what it cannot be taken for.
fn unfit(from: &Path, refused: StoreError) -> StoreError {
    let why = match refused {
        StoreError::Missing { .. } => "there is no such file",
        StoreError::NotABook { .. } | StoreError::Nothing { .. } => {
            "it is no book of this program, or its beginning is gone"
        }
        StoreError::Damaged { .. } | StoreError::Broken { .. } => "it is damaged",
        other => return other,
    };
    StoreError::NoCopy { path: from.to_owned(), why }
}

/// Half-made books of restores that did not end well.
fn clear_parts(book: &Path) {
    let name = book.file_name().map(|name| name.to_string_lossy().into_owned());
    backup::clear_parts(folder_of(book), |file| Some(file) == name.as_deref());
}

/// What stands in the place of the book, and is ours alone if it can be read.
enum Held {
    Nothing,
    Book(Connection),
    Unreadable,
}

impl Held {
    fn take(book: &Path) -> Result<Held, StoreError> {
        match fs::symlink_metadata(book) {
            // The database would take the log of an empty file away only by looking at it.
            Ok(about) if about.is_file() && about.len() == 0 => return Ok(Held::Unreadable),
            Ok(about) if about.is_file() => {}
            Ok(_) => return Err(StoreError::NotABook { path: book.to_owned(), found: "it is no file" }),
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Held::Nothing),
            Err(error) => return Err(error).at("looking at", book),
        }
        // Before anything else: to be alone with a book works its log into it, and a damaged one is to be kept as it was.
        match readable(book).and_then(|()| alone(book)) {
            Ok(conn) => Ok(Held::Book(conn)),
            Err(StoreError::Busy { .. }) => Err(StoreError::InUse { by: Vec::new() }),
            Err(StoreError::Damaged { .. }) => Ok(Held::Unreadable),
            // No database at all is what a book looks like whose beginning is gone; another program's database is not.
            Err(StoreError::NotABook { .. }) if !is_foreign(book) => Ok(Held::Unreadable),
            Err(other) => Err(other),
        }
    }
}

/// Refuses what cannot be read whole; changes nothing of it.
fn readable(book: &Path) -> Result<(), StoreError> {
    let conn = Connection::open_with_flags(book, OpenFlags::SQLITE_OPEN_READ_ONLY).doing("looking at the book")?;
    conn.busy_timeout(PATIENCE).doing("looking at the book")?;
    if marked(&conn, book)?.application != APPLICATION_ID {
        return Err(StoreError::NotABook { path: book.to_owned(), found: "it is a database of another program" });
    }
    backup::sound(&conn)
}

/// Opens a book so that nobody else has it open and nobody can open it: its log is worked into the file and gone.
fn alone(book: &Path) -> Result<Connection, StoreError> {
    let doing = "waiting for the book";
    let conn = Connection::open_with_flags(book, OpenFlags::SQLITE_OPEN_READ_WRITE).doing(doing)?;
    conn.busy_timeout(PATIENCE).doing(doing)?;
    let mode = |sql: &str| conn.query_row(sql, [], |row| row.get::<_, String>(0)).doing(doing);
    // Refused as long as any other connection stands, also one that does nothing.
    let mut left = mode("PRAGMA journal_mode = DELETE")?;
    mode("PRAGMA locking_mode = EXCLUSIVE")?;
    conn.execute_batch("BEGIN EXCLUSIVE; COMMIT").doing(doing)?;
    if left.eq_ignore_ascii_case("delete") {
        // Between the two, somebody may have opened it and begun a new log.
        left = mode("PRAGMA journal_mode")?;
    }
    if left.eq_ignore_ascii_case("delete") { Ok(conn) } else { Err(StoreError::Busy { doing }) }
}

/// Whether a file is the sound database of another program.
fn is_foreign(path: &Path) -> bool {
    let mark = backup::open_copy(path).and_then(|conn| Mark::read_within(&conn));
    mark.is_ok_and(|mark| !mark.is_blank() && mark.application != APPLICATION_ID)
}

/// Keeps what stands there.
fn keep(held: &Held, book: &Path, at: Moment, days: &DayRule, even_without_copy: bool) -> Result<Before, StoreError> {
    let folder = copies::beside_book(book);
    match held {
        Held::Nothing if !LOGS.iter().any(|log| beside(book, log).exists()) => return Ok(Before::Nothing),
        Held::Nothing | Held::Unreadable => {}
        Held::Book(conn) => {
            // A book that its own settings cannot be read of is named in the zone of the copy.
            let days = copies::holds(conn).map_or(*days, |holds| holds.days);
            match copies::add_of(conn, &folder, Why::Restore, at, &days) {
                Ok(path) => return Ok(Before::Book(path)),
                Err(StoreError::Damaged { .. }) => {}
                Err(other) => return Err(other),
            }
        }
    }
    match keep_files(book, &folder, CopyName::new(at, Why::Damaged, days)) {
        Ok(path) => Ok(Before::Unreadable(path)),
        Err(_) if even_without_copy => Ok(Before::Lost),
        Err(refused) => Err(backup::not_copied(&folder.join("-"), refused)),
    }
}

/// Keeps the files of a book as they are, byte by byte.
fn keep_files(book: &Path, folder: &Path, name: CopyName) -> Result<PathBuf, StoreError> {
    private_folder(folder).at("making", folder)?;
    let free = |path: &PathBuf| fs::symlink_metadata(path).is_err();
    let to = paths(folder, name).find(free).unwrap_or_else(|| folder.to_owned());
    for suffix in [""].into_iter().chain(LOGS) {
        let (from, to) = (beside(book, suffix), beside(&to, suffix));
        if !from.exists() {
            continue;
        }
        // A second name for the same bytes takes no room; where the disk knows no such thing, they are copied.
        if fs::hard_link(&from, &to).is_err() {
            let copied = fs::copy(&from, &to).and_then(|_| fs::File::open(&to)?.sync_all());
            if copied.is_err() {
                let _ = fs::remove_file(&to);
            }
            copied.at("keeping", &from)?;
        }
    }
    sync_folder(&to)?;
    Ok(to)
}

/// Takes away what would be applied to the new book as if it were its own log.
fn clear_logs(book: &Path) -> Result<(), StoreError> {
    for log in LOGS {
        let path = beside(book, log);
        match fs::remove_file(&path) {
            Err(error) if error.kind() != ErrorKind::NotFound => return Err(error).at("taking away", &path),
            _ => {}
        }
    }
    sync_folder(book)
}
