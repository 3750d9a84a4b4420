//! Everything that enters or leaves a book as a file. Knows files and their forms, not the book.

pub mod archive;
pub mod demo;
pub mod documents;
mod encoding;
pub mod filled;
pub mod inbox;
pub mod invoice;
mod opening;
pub mod pages;
pub mod pasted;
pub mod plain;
pub mod print;
mod read_error;
pub mod sniff;
mod stream;
pub mod till;
pub mod xml;

pub use read_error::ReadError;
pub use stream::Passage;

use std::path::PathBuf;

/// A file or folder that could not be used at all.
#[derive(Debug, thiserror::Error)]
pub enum ExchangeError {
    /// The system refused.
    #[error("{doing} {}: {}", .path.display(), crate::system::words(.source))]
    Io {
        /// What was being done.
        doing: &'static str,
        /// To what.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A folder that holds something else, which a dump would bury among its files.
    #[error("{}", say!("{what} holds {found}, which is none of the files that a dump writes; choose an empty folder or an earlier dump", what = .path.display(), found))]
    NotOurs {
        /// The folder.
        path: PathBuf,
        /// What is in it.
        found: String,
    },
}

/// Says what was being done when the system refused.
pub(crate) trait At<T> {
    /// Adds `doing` and the path.
    fn at(self, doing: &'static str, path: &std::path::Path) -> Result<T, ExchangeError>;
}

impl<T> At<T> for std::io::Result<T> {
    fn at(self, doing: &'static str, path: &std::path::Path) -> Result<T, ExchangeError> {
        self.map_err(|source| ExchangeError::Io { doing, path: path.to_owned(), source })
    }
}
