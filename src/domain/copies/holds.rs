//! What a book or a copy of it holds, as far as it tells people how old it is.

use crate::domain::venue::{DayRule, Moment};

/// What a file says of itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Holds {
    /// What tells the books of two bars apart.
    pub uid: String,
    /// What the bar is called, once it is set up.
    pub bar: Option<String>,
    /// Its days; in UTC before it is set up.
    pub days: DayRule,
    /// The second folder that it names for its copies.
    pub copies_to: Option<String>,
    /// The version of its form.
    pub version: i64,
    /// The newest count.
    pub count: Option<HeldCount>,
    /// The newest sale.
    pub sale: Option<Moment>,
    /// How many counts are closed, and the number of the last closing.
    pub closings: (i64, i64),
}

/// A count that a file holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeldCount {
    /// What it is called.
    pub name: String,
    /// When it was closed; nothing of one that was going on.
    pub closed: Option<Moment>,
}

impl Holds {
    /// What it knows up to when, in words: `count “2026-11-21 full”, sales until Sun 22 Nov 01:10`.
    pub fn words(&self) -> String {
        let count = self.count.as_ref().map(|count| match count.closed {
            Some(_) => say!("count “{name}”", name = count.name),
            None => say!("count “{name}”, not closed yet", name = count.name),
        });
        let sale = self.sale.map(|at| say!("sales until {at}", at = self.days.short(at)));
        let said: Vec<String> = count.into_iter().chain(sale).collect();
        if said.is_empty() { word!("no count and no sale yet").to_owned() } else { said.join(", ") }
    }
}
