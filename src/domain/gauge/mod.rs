//! What a container holds: readings, and the amount and uncertainty they stand for.

mod level;
mod reading;

pub use level::{Level, LevelError, TENTH_HALF_WIDTH, as_entry, level};
pub use reading::{Entry, EntryError, Reading, ReadingError};
