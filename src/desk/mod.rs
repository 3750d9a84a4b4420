//! The use cases: one use case, one transaction. The only place where the book and what comes and goes meet.

pub mod comparing;
pub mod counting;
mod error;
pub mod looking;
pub mod losing;
pub mod ordering;
pub mod situation;

pub use error::DeskError;
use error::refused;
