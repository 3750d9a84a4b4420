//! Any table of text that a till writes, whatever its delimiter, encoding, language, decimal mark and dates.
//!
//! [`look`] guesses a [`Layout`] from the heads and the cells, for a person to confirm; [`preview`] shows the first rows as
//! a layout reads them and says what it leaves open; [`read`] takes a whole file by a layout, line by line, and refuses it
//! whole where anything does not fit. A kept layout is used without asking when [`Layout::fits`] says so of the heads that
//! [`look`] found, but for what it does not know yet: the decimal mark, of a till that wrote whole numbers so far.
//!
//! A day's figure and a line without a time stand fifteen hours after their business day begins: in the evening.

mod columns;
mod date;
mod facts;
mod fault;
mod guess;
mod heads;
mod keys;
mod looking;
mod mark;
pub(in crate::exchange) mod number;
mod page;
mod reading;
mod relations;
mod row;
mod said;
mod source;
mod when;

pub use looking::{Guess, Look, Meant, Preview, Shown, look, preview};
pub use reading::read;
pub(in crate::exchange) use source::text_of;

#[cfg(doc)]
use crate::domain::till::Layout;
