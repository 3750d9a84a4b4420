//! The till: what its names mean, and taking its files in.

mod doubts;
mod look;
mod meanings;
mod names;
mod reading;
mod take;

pub use look::look;
pub use meanings::{map, view};
pub(super) use take::taken;
pub use take::{set_aside, take, withdraw};

use crate::domain::till::Layout;
use chrono::NaiveDate;
use std::path::Path;

/// A file of sales, and how it is to be read.
#[derive(Clone, Copy, Debug)]
pub struct Ask<'a> {
    /// Where it is.
    pub path: &'a Path,
    /// How a table is read, where somebody said; else as a table with the same head was before, else as guessed.
    pub layout: Option<&'a Layout>,
    /// The business day of a table in which no column says it.
    pub day: Option<NaiveDate>,
    /// What was in it when somebody looked at it: a file that was written to since is refused.
    pub digest: Option<&'a str>,
    /// Somebody said yes to what is doubtful about it.
    pub all_the_same: bool,
}

impl<'a> Ask<'a> {
    /// A file as it is.
    pub fn of(path: &'a Path) -> Ask<'a> {
        Ask { path, layout: None, day: None, digest: None, all_the_same: false }
    }
}
