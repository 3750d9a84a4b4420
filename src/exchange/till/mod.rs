//! What tills write: their reports as tables and the exports that the law asks of them, line by line, never whole.
//!
//! A reader hands each line to a [`Taker`] as soon as it is understood, so that a file of any size passes through little
//! memory. What it leaves out it counts, by reason, and gives back in its [`Passed`].

pub mod dsfinvk;
mod element;
mod hand;
pub mod saft_cash;
pub mod saft_pt;
pub mod table;

use crate::domain::measure::{Currency, Money};
use crate::domain::till::{DecimalMark, Skip};
use crate::domain::venue::{DayRule, Moment, SaleKind};
use crate::exchange::ReadError;
use crate::exchange::sniff::What;
use chrono::NaiveDate;
use std::collections::BTreeMap;
use std::path::Path;

/// What a reader must know of the book.
#[derive(Clone, Copy, Debug)]
pub struct Terms {
    /// Its coin: a file in another one is refused.
    pub currency: Currency,
    /// Its zone and the hour its day begins: tills write local times.
    pub days: DayRule,
    /// The latest that a sale can be; a line after it is refused.
    pub until: Moment,
}

/// One line that a till rang.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rung {
    /// What makes the receipt one of its kind in every file of this till: register, closing and number, as the format
    /// has them.
    pub receipt: String,
    /// Line of the receipt; the same in every file that holds it.
    pub line: i64,
    /// When.
    pub at: Moment,
    /// Whether the file says so; else it is the evening of the day that it says.
    pub timed: bool,
    /// What the till calls it, made safe ([`crate::exchange::plain::checked`]) and not empty.
    pub sold_as: String,
    /// The till's number of the article, where it has one.
    pub code: Option<String>,
    /// How many, in thousandths, with its sign: what takes back is below zero.
    pub quantity: i64,
    /// Net of tax, with its sign.
    pub net: Money,
    /// What the line was.
    pub kind: SaleKind,
    /// Whether anything left the shelf: a discount or a tip is money only, its quantity is zero.
    pub goods: bool,
    /// A figure of a whole day, not a line of a receipt: a later file may know more of the same day.
    pub total: bool,
}

/// What a reader passed over, and what it noticed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Passed {
    /// Rows that are no sales, by reason.
    pub skipped: BTreeMap<Skip, u64>,
    /// What a person should know: sentences, the same one once, at most [`Passed::MOST`].
    pub warnings: Vec<String>,
    /// First and last business day of the lines handed on.
    pub days: Option<(NaiveDate, NaiveDate)>,
    /// What the file calls the place it comes from.
    pub from: Option<String>,
    /// The decimal mark that the file told where the layout did not know it: to be kept with the layout.
    pub decimal: Option<DecimalMark>,
}

impl Passed {
    /// So many warnings are kept; a broken file has one for each line.
    pub const MOST: usize = 20;

    /// Counts a row that is no sale.
    pub fn skip(&mut self, why: Skip) {
        *self.skipped.entry(why).or_default() += 1;
    }

    /// Notes something, once.
    pub fn warn(&mut self, said: String) {
        if self.warnings.len() < Passed::MOST && !self.warnings.contains(&said) {
            self.warnings.push(said);
        }
    }

    /// Notes the business day of a line.
    pub fn saw(&mut self, day: NaiveDate) {
        self.days = Some(self.days.map_or((day, day), |(first, last)| (first.min(day), last.max(day))));
    }
}

/// Who takes the lines.
pub trait Taker {
    /// Why it stops.
    type Error: From<ReadError>;

    /// Takes one line.
    ///
    /// # Errors
    /// Whatever ends the reading.
    fn take(&mut self, line: Rung) -> Result<(), Self::Error>;

    /// Told now and then how many bytes of how many are read; may end the reading.
    ///
    /// # Errors
    /// Whatever ends the reading.
    fn pace(&mut self, read: u64, of: u64) -> Result<(), Self::Error>;
}

/// Reads a statutory export of a till, line by line; what it is was found by [`crate::exchange::sniff::sniff`].
///
/// Lines come in the order of the file. A file that turns out to be wrong may have handed on lines before that: whoever
/// takes them keeps none unless the whole was read.
///
/// # Errors
/// [`ReadError`] as `T::Error` for a file that is wrong or of another kind, and whatever ends the reading.
pub fn read<T: Taker>(path: &Path, what: &What, terms: &Terms, taker: &mut T) -> Result<Passed, T::Error> {
    match what {
        What::Dsfinvk => dsfinvk::read(path, terms, taker),
        What::SaftCash => saft_cash::read(path, terms, false, taker),
        What::Xaa => saft_cash::read(path, terms, true, taker),
        What::SaftPt => saft_pt::read(path, terms, taker),
        other => {
            let words = say!("expected the statutory export of a till, but this is {words}", words = other.words());
            Err(ReadError::new(path, words).into())
        }
    }
}
