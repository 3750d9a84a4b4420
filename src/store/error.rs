//! Why the book could not do something: what was being done, to what, what to do next.

use crate::domain::venue::{Deed, Moment};
use std::path::PathBuf;

/// What went wrong with a book.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// There is no file.
    #[error("{}", say!("there is no book at {what}; `tantalus init` makes a new one, `tantalus demo` shows an invented bar", what = .path.display()))]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// There is a file already, and a new book never replaces one.
    #[error("{}", say!("{what} exists already; choose another name, or move it away first", what = .path.display()))]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// Something, but no book.
    #[error("{}", say!("{what} is no book of this program: {found}; choose another one with --book", what = .path.display(), found))]
    NotABook {
        /// Where it is.
        path: PathBuf,
        /// What it is.
        found: &'static str,
    },
    /// A file in which there is nothing of a book.
    #[error("{}", say!("there is nothing of a book in {what}; go back to a copy with `tantalus restore`, or make a new one with `tantalus init`", what = .path.display()))]
    Nothing {
        /// The file.
        path: PathBuf,
    },
    /// A book whose file is not as it was written.
    #[error("{}", say!("the book {what} is damaged: {found}; leave the file as it is, and go back to a copy with `tantalus restore`, or save \
         what can be read with `tantalus check --salvage NEW`", what = .path.display(), found))]
    Broken {
        /// The file.
        path: PathBuf,
        /// What was found.
        found: String,
    },
    /// Written by a newer program.
    #[error("{}", say!("this book is of version {found}, and this program reads up to version {supported}; install the newer program", found, supported))]
    NewerSchema {
        /// The book's version.
        found: i64,
        /// The newest version known here.
        supported: i64,
    },
    /// The book itself contradicts its own rules.
    #[error("{}", say!("the book is damaged ({what}); leave the file as it is, and go back to a copy with `tantalus restore`, or save what \
         can be read with `tantalus check --salvage NEW`", what))]
    Damaged {
        /// What was found.
        what: String,
    },
    /// A book whose bar has no name, coin or time zone yet.
    #[error("{}", say!("the book does not say its {key} yet; load a folder with a venue.csv that does", key))]
    NotSetUp {
        /// The key of `venue.csv` that is missing.
        key: &'static str,
    },
    /// A set-up line that can no longer be read, such as a spec in grams for an item that lost its density.
    #[error("{}", say!("{place} says “{written}”, which cannot be read: {why}", place, written, why))]
    Unreadable {
        /// Where it stands.
        place: String,
        /// What it says.
        written: String,
        /// What was expected.
        why: String,
    },
    /// Somebody else is writing and does not finish.
    #[error("{}", say!("another terminal has been writing to the book for some seconds ({doing}); try again when it is done", doing))]
    Busy {
        /// What was being done.
        doing: &'static str,
    },
    /// The folder cannot hold a book that two terminals may write.
    #[error("{}", say!("the folder of {what} does not let two terminals share a book (a network share?); move the book to a local disk", what = .path.display()))]
    NoSharing {
        /// The book.
        path: PathBuf,
    },
    /// The folder or the disk takes no writing.
    #[error("{}", say!("the book cannot be written ({why}, while {doing}); see that its folder can be written and has room, or copy it \
         elsewhere", why, doing))]
    CannotWrite {
        /// What was being done.
        doing: &'static str,
        /// What stands in the way, in words.
        why: &'static str,
    },
    /// No copy of the book could be made.
    #[error("{}", say!("no copy of the book could be made in {what}: {why}", what = .to.display(), why))]
    NotCopied {
        /// The folder that it was to lie in.
        to: PathBuf,
        /// Why not, as the end of a sentence.
        why: String,
    },
    /// The name of the book leads to another file than the one that was opened, or to none.
    #[error("{}", say!("{what} is not the file any more that was opened: another book was put in its place, or it was moved away; what was \
         entered until then is kept, leave the screens and open them again", what = .path.display()))]
    Replaced {
        /// The book.
        path: PathBuf,
    },
    /// A book that somebody has open cannot be replaced.
    #[error("{}", word!("the book is open elsewhere, and what is entered there would be lost; leave it there first, then restore again"))]
    InUse {
        /// Who has it open, as far as is known.
        by: Vec<String>,
    },
    /// A file that cannot take the place of the book.
    #[error("{}", say!("{what} cannot take the place of the book: {why}; choose another copy (`tantalus backup --list`)", what = .path.display(), why))]
    NoCopy {
        /// The file.
        path: PathBuf,
        /// Why not.
        why: &'static str,
    },
    /// A book is no copy of itself.
    #[error("{}", say!("{what} is the book itself and no copy of it; `tantalus backup --list` lists the copies", what = .path.display()))]
    ItsOwnCopy {
        /// The file.
        path: PathBuf,
    },
    /// The database refused.
    #[error("{}", say!("the book failed while {doing}: {source}", doing, source))]
    Sql {
        /// What was being done.
        doing: &'static str,
        /// What the database said.
        source: rusqlite::Error,
    },
    /// The history of the book begins later.
    #[error("{}", say!("what this book knew then is not known: its history begins {what}", what = .since.utc()))]
    NotKnownThen {
        /// When it begins.
        since: Moment,
    },
    /// The book is shown as it was known, and is not to be written to.
    #[error("{}", word!("this is the book as it was known then: it can be looked at, and nothing can be changed in it"))]
    LongAgo,
    /// Somebody who is no manager wants to do what is a manager's.
    #[error("{}", say!("{deed}: only a manager can do that, who signs in first (W on the screens, --by and the PIN for a command)", deed))]
    ForManagers {
        /// What.
        deed: Deed,
    },
    /// A PIN cannot be kept.
    #[error("{}", say!("the PIN cannot be kept: {what}", what = .0))]
    Pin(String),
    /// Something that was named is not there, or not in the state that was asked for.
    #[error("{}", say!("there is no {kind} number {id}", kind, id))]
    NotFound {
        /// What sort of thing.
        kind: &'static str,
        /// Its handle.
        id: i64,
    },
    /// A file taken in whose sales no row names.
    #[error("{}", say!("“{name}” cannot be taken back: this book was made from plain files, and they do not say which sales came from which file", name))]
    SalesNotTold {
        /// What the file was called.
        name: String,
    },
    /// A file could not be made, read or renamed.
    #[error("{doing} {}: {}", .path.display(), crate::system::words(.source))]
    Io {
        /// What was being done.
        doing: &'static str,
        /// To which file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
}

/// Says what was being done when the database refused.
pub(crate) trait Doing<T> {
    /// Adds `doing`, a phrase such as “saving a counted line”.
    fn doing(self, doing: &'static str) -> Result<T, StoreError>;
}

impl<T> Doing<T> for rusqlite::Result<T> {
    fn doing(self, doing: &'static str) -> Result<T, StoreError> {
        use rusqlite::ErrorCode;
        self.map_err(|source| match source.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreError::Busy { doing },
            Some(ErrorCode::ReadOnly | ErrorCode::DiskFull | ErrorCode::CannotOpen | ErrorCode::SystemIoFailure) => {
                StoreError::CannotWrite { doing, why: in_the_way(&source) }
            }
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
                StoreError::Damaged { what: format!("{source}, while {doing}") }
            }
            _ => match source {
                // A value that no rule of this program could have written.
                rusqlite::Error::FromSqlConversionFailure(..)
                | rusqlite::Error::IntegralValueOutOfRange(..)
                | rusqlite::Error::Utf8Error(..)
                | rusqlite::Error::InvalidColumnType(..) => {
                    StoreError::Damaged { what: format!("{source}, while {doing}") }
                }
                source => StoreError::Sql { doing, source },
            },
        })
    }
}

/// What keeps the database from writing, as the end of a sentence.
fn in_the_way(source: &rusqlite::Error) -> &'static str {
    use rusqlite::{ErrorCode, ffi};
    let extended = source.sqlite_error().map(|error| error.extended_code);
    match source.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => "the disk is full",
        // The index of the log is made as large as it must be at once: nothing but room is wanting.
        Some(ErrorCode::SystemIoFailure) if extended == Some(ffi::SQLITE_IOERR_SHMSIZE) => "the disk is full",
        Some(ErrorCode::SystemIoFailure) => "the disk does not take what is written to it, or is not there any more",
        Some(ErrorCode::ReadOnly) => "nothing can be written there",
        _ => "no file can be made or opened there",
    }
}

/// Says which file was at hand when the system refused.
pub(crate) trait At<T> {
    /// Adds `doing` and the file.
    fn at(self, doing: &'static str, path: &std::path::Path) -> Result<T, StoreError>;
}

impl<T> At<T> for std::io::Result<T> {
    fn at(self, doing: &'static str, path: &std::path::Path) -> Result<T, StoreError> {
        self.map_err(|source| StoreError::Io { doing, path: path.to_owned(), source })
    }
}
