//! A list out of a spreadsheet: what its columns mean, and what its lines come to. What is guessed of it is shown and can be
//! said otherwise before anything is kept.

use crate::domain::venue::Kind;
use crate::domain::venue::words::words;

words! {
    /// What a column of the list says.
    ListColumn {
        /// Nothing of use here.
        Nothing = "–",
        /// What the item is called.
        Name = "name",
        /// What sort of thing it is.
        Kind = "kind",
        /// What one container holds.
        Size = "one holds",
        /// Percent by volume.
        Strength = "% vol",
        /// Where it stands.
        Place = "stands in",
        /// Containers that an order fills up to.
        Par = "par",
        /// Its bar code.
        BarCode = "bar code",
        /// Who sells it.
        Supplier = "supplier",
        /// Containers in a pack.
        Pack = "in packs of",
        /// What a pack costs.
        PackPrice = "price of a pack",
        /// What one container costs.
        OnePrice = "price of one",
        /// The supplier's number of it.
        TheirNumber = "their number",
    }
}

/// Whether a line of the list is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    /// It is.
    Yes,
    /// Somebody said that it is not.
    No,
    /// It is a heading: what follows is of this kind, where it names one.
    Heading(Option<Kind>),
}

/// A line of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PastedLine {
    /// Its cells.
    pub cells: Vec<String>,
    /// Whether it is taken.
    pub taken: Taken,
}

/// The list, and how it is understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PastedList {
    /// What stands over the columns; none where nothing does.
    pub heads: Option<Vec<String>>,
    /// What each column says.
    pub columns: Vec<ListColumn>,
    /// Its lines, without the heads.
    pub lines: Vec<PastedLine>,
    /// What sort of thing a line is that does not say it.
    pub kind: Kind,
    /// Where everything stands, if no column says it.
    pub place: Option<String>,
    /// Who sells all of it, if no column says it.
    pub supplier: Option<String>,
}

impl PastedList {
    /// Where a column is.
    pub fn at(&self, column: ListColumn) -> Option<usize> {
        self.columns.iter().position(|other| *other == column)
    }

    /// Says what a column means; whatever meant that before means nothing now.
    pub fn set(&mut self, at: usize, column: ListColumn) {
        for other in &mut self.columns {
            if *other == column {
                *other = ListColumn::Nothing;
            }
        }
        if let Some(here) = self.columns.get_mut(at) {
            *here = column;
        }
    }
}

/// What is wrong with a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineFault {
    /// Which column, where it is about one.
    pub column: Option<usize>,
    /// What was expected, or what is wrong, in words.
    pub said: String,
}

/// What a line comes to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LineLook {
    /// What is wrong with it.
    pub faults: Vec<LineFault>,
    /// Whether the book has an item of its name already.
    pub known: bool,
    /// How it is understood: its name, and what else is kept of it.
    pub understood: Vec<String>,
}

/// What the list comes to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ListLook {
    /// Line by line.
    pub lines: Vec<LineLook>,
    /// Items that are new.
    pub new: u64,
    /// Items that the book has and that are changed.
    pub changed: u64,
    /// Items that are as the book has them.
    pub already: u64,
    /// What a person should know of the list as a whole.
    pub said: Vec<String>,
}

impl ListLook {
    /// Lines with something wrong.
    pub fn wrong(&self) -> usize {
        self.lines.iter().filter(|line| !line.faults.is_empty()).count()
    }
}
