//! Copies of the book: what they are called, what they hold, and which of them are kept.

mod holds;
mod keep;
mod name;

pub use holds::{HeldCount, Holds};
pub use keep::{APART, DAYS, LAST, MONTHS, WEEKS, kept};
pub use name::{CopyName, Why};
