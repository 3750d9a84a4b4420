//! Everything that enters or leaves, but for the book itself.

pub mod documents;

pub use documents::DocumentError;
