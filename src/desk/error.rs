//! Why a use case was refused.

use crate::domain::gauge::LevelError;
use crate::exchange::plain::Faults;
use crate::exchange::{ExchangeError, ReadError};
use crate::store::StoreError;

/// Why a use case was not carried out. The book is as it was.
#[derive(Debug, thiserror::Error)]
pub enum DeskError {
    /// The book refused.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A reading says nothing.
    #[error(transparent)]
    Level(#[from] LevelError),
    /// A file or folder could not be used.
    #[error(transparent)]
    Exchange(#[from] ExchangeError),
    /// A file from elsewhere was refused.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// What was read is not right.
    #[error("{}", say!("{what}\nnothing was loaded; mend this and load again", what = .0))]
    Faults(Faults),
    /// A person must say yes first.
    #[error("{}", say!("something about it is doubtful, and nothing was taken in: {what}", what = .0.join("; ")))]
    Doubtful(Vec<String>),
    /// Somebody stopped it.
    #[error("{}", word!("stopped; the book is as it was"))]
    Stopped,
    /// It makes no sense now; the sentence says why and what to do.
    #[error("{0}")]
    Refused(String),
}

/// A refusal in words.
pub(super) fn refused(why: String) -> DeskError {
    DeskError::Refused(why)
}
