//! Why a use case was refused.

use crate::domain::gauge::LevelError;
use crate::exchange::DocumentError;
use crate::store::StoreError;

/// Why a use case was refused; shown to people as it is.
#[derive(Debug, thiserror::Error)]
pub enum DeskError {
    /// The book would not.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A reading says nothing.
    #[error(transparent)]
    Level(#[from] LevelError),
    /// A file could not be written.
    #[error(transparent)]
    Document(#[from] DocumentError),
    /// It makes no sense now; the sentence says why and what to do.
    #[error("{0}")]
    Refused(String),
}

/// A refusal in words.
pub(super) fn refused(why: String) -> DeskError {
    DeskError::Refused(why)
}
