//! What of a book was read, saved and lost, in the words of whoever runs a bar.

use super::prune::Why;
use super::read::{Reading, TableRead};
use super::walk::Bounds;
use std::collections::BTreeMap;

/// Tables with what stands in them, in the order in which they are told.
const NAMES: &[(&str, &str)] = &[
    ("venue", "settings of the bar"),
    ("person", "people"),
    ("place", "places"),
    ("item", "items"),
    ("item_gtin", "bar codes"),
    ("shelf", "lines of shelves"),
    ("profile", "shapes of bottles"),
    ("profile_filling", "fillings of shapes"),
    ("supplier", "suppliers"),
    ("supplier_code", "codes of suppliers"),
    ("supplier_alias", "names by which suppliers sign"),
    ("offer", "offers of suppliers"),
    ("special_day", "special days"),
    ("glass", "glasses"),
    ("drink", "drinks"),
    ("drink_version", "menu lines of drinks"),
    ("spec_line", "lines of specs"),
    ("recipe", "recipes"),
    ("recipe_line", "lines of recipes"),
    ("till_name", "names of the till"),
    ("till_layout", "layouts of till tables"),
    ("till_layout_column", "columns of layouts"),
    ("count", "counts"),
    ("count_place", "places of counts"),
    ("count_line", "counted lines"),
    ("count_closing", "closings of counts"),
    ("count_given_up", "counts given up"),
    ("person_pin", "PINs"),
    ("weighing", "weighings"),
    ("sale", "lines of sales"),
    ("withdrawn_sale", "lines of sales taken back"),
    ("sale_held", "lines of sales in several files"),
    ("taken_file", "files taken in"),
    ("file_withdrawal", "files taken back"),
    ("journal", "entries of the journal"),
    ("delivery", "deliveries"),
    ("loss", "losses"),
    ("transfer", "transfers"),
    ("batch", "batches"),
    ("purchase_order", "orders"),
    ("purchase_order_line", "lines of orders"),
    ("delivery_check", "lines of deliveries looked at"),
    ("bill", "bills"),
    ("bill_entry", "entries of bills"),
    ("bill_withdrawal", "bills taken back"),
    ("claim", "claims"),
    ("claim_settlement", "settlements of claims"),
    ("explanation", "accepted causes"),
];

/// Tables that are made anew from the others. The history begins anew too: with rows missing, its chain would tell of nothing
/// but the damage, and what it says stays in the damaged file.
pub(super) const DERIVED: &[&str] = &["sale_day", "sale_day_state", "sale_tally", "act", "change"];

/// What stands in a table.
pub(super) fn name(table: &str) -> String {
    let known = NAMES.iter().find(|(known, _)| *known == table);
    known.map_or_else(|| format!("rows of {}", table.replace('_', " ")), |(_, name)| (*name).to_owned())
}

/// Whether a table is told of: not what the engine keeps for itself, nor what can be made anew.
pub(super) fn is_told(table: &str) -> bool {
    !table.starts_with("sqlite_") && !DERIVED.contains(&table)
}

/// A part of a book, and what became of it.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Part {
    /// The table.
    pub table: String,
    /// What stands in it.
    pub name: String,
    /// Rows that can be read; after a rescue, those that the new book has.
    pub saved: u64,
    /// Rows that are known to have been there and cannot be read.
    pub lost: u64,
    /// Whether more of them may have been there, and nobody can tell how many.
    pub more: bool,
    /// How many those can be at most, where their numbers say so.
    pub at_most: Option<u64>,
    /// Damaged pages on which they stood.
    pub pages: u32,
    /// Damaged pages of its indexes: nothing is lost by those.
    pub index_pages: u32,
    /// Rows that do not say what their index says: one of the two is wrong.
    pub doubtful: u64,
    /// Rows of the saved that stood on a page that nothing led to any more.
    pub strayed: u64,
    /// Rows of the saved that could not be read, and that were put together from their indexes.
    pub rebuilt: u64,
    /// Rows that were read and left out, each with why.
    pub left_out: Vec<(String, u64)>,
    /// What was changed about rows so that they could be kept, and in how many.
    pub mended: Vec<(String, u64)>,
}

impl Part {
    /// Whether nothing is the matter with it.
    pub fn is_sound(&self) -> bool {
        let Part { lost, more, pages, index_pages, doubtful, strayed, rebuilt, left_out, mended, .. } = self;
        !more
            && [*lost, u64::from(*pages), u64::from(*index_pages), *doubtful, *strayed, *rebuilt]
                .iter()
                .all(|n| *n == 0)
            && left_out.is_empty()
            && mended.is_empty()
    }

    /// What became of it, without its name and what was saved; empty when it is sound.
    pub fn troubles(&self) -> Vec<String> {
        let mut out = Vec::new();
        let pages = match self.pages {
            0 => String::new(),
            1 => " (1 damaged page)".to_owned(),
            pages => format!(" ({pages} damaged pages)"),
        };
        match (self.lost, self.more) {
            (0, false) if self.pages > 0 => out.push(format!("nothing is lost of them{pages}")),
            (0, false) => {}
            (_, true) if self.at_most.is_some() => {
                out.push(format!("up to {} cannot be read{pages}", self.at_most.unwrap_or_default()));
            }
            (0, true) => out.push(format!("some cannot be read, nobody can tell how many{pages}")),
            (lost, false) => out.push(format!("{lost} cannot be read{pages}")),
            (lost, true) => out.push(format!("{lost} or more cannot be read{pages}")),
        }
        if self.rebuilt > 0 {
            let file = if self.table == "sale" { "; of which file they came is not known" } else { "" };
            out.push(format!("{} that could not be read were put together from their indexes{file}", self.rebuilt));
        }
        out.extend(self.left_out.iter().map(|(why, rows)| format!("{rows} left out: {why}")));
        out.extend(self.mended.iter().map(|(how, rows)| format!("{rows} kept, but {how}")));
        if self.strayed > 0 {
            out.push(format!("{} of them stood apart from the others; look at them", self.strayed));
        }
        match self.doubtful {
            0 => {}
            1 => out.push("1 does not say what its index says; it may be wrong".to_owned()),
            rows => out.push(format!("{rows} do not say what their index says; they may be wrong")),
        }
        match self.index_pages {
            0 => {}
            1 => out.push("1 page of their indexes is damaged; nothing is lost by that".to_owned()),
            pages => out.push(format!("{pages} pages of their indexes are damaged; nothing is lost by that")),
        }
        out
    }
}

/// What was left out of each table and why, and what was mended.
pub(super) type Tally = BTreeMap<(String, Why), u64>;

/// The parts of a book that was read.
pub(super) fn parts(reading: &Reading, tally: &Tally, saved: impl Fn(&str, u64) -> u64) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    for (table, read) in reading.plan.tables.iter().zip(&reading.tables).filter(|(table, _)| is_told(&table.name)) {
        let (mut left_out, mut mended) = (Vec::new(), Vec::new());
        for ((_, why), rows) in tally.iter().filter(|((of, _), _)| *of == table.name) {
            let into = if why.keeps() { &mut mended } else { &mut left_out };
            into.push((why.words(), *rows));
        }
        let (lost, more, doubtful) = losses(read);
        parts.push(Part {
            name: name(&table.name),
            saved: saved(&table.name, read.rows),
            lost,
            more,
            at_most: more.then(|| at_most(read)).flatten(),
            pages: u32::try_from(read.found.damaged.len()).unwrap_or(u32::MAX),
            index_pages: read.index_pages,
            doubtful,
            strayed: if read.witnessed || read.found.rootless { 0 } else { read.strayed },
            rebuilt: read.rebuilt,
            left_out,
            mended,
            table: table.name.clone(),
        });
    }
    let place = |part: &Part| NAMES.iter().position(|(known, _)| *known == part.table).unwrap_or(NAMES.len());
    parts.sort_by_key(place);
    parts
}

/// Rows that are lost, whether more may be, and rows that do not say what their index says.
fn losses(read: &TableRead) -> (u64, bool, u64) {
    // What stood aside is told as left out.
    let missing = read.disagreement.lost.difference(&read.aside).count() as u64;
    let other = read.disagreement.other.len() as u64;
    if read.found.whole() {
        // Every page is there: it is the index that knows of too many.
        (0, false, other + missing)
    } else if read.witnessed {
        (missing, false, other)
    } else {
        // Of a table of which nothing says where it begins the file as a whole is told.
        let more = !read.found.holes.is_empty() && !read.found.rootless;
        (read.found.unread + read.refuted, more, other)
    }
}

/// How many rows can be missing at most, by the numbers between which they are.
fn at_most(read: &TableRead) -> Option<u64> {
    // Numbers begin at one.
    let between = |(above, upto): &Bounds| u64::try_from(upto.as_ref()?.checked_sub(above.unwrap_or(0))?).ok();
    let holes = read.found.holes.iter().map(between).sum::<Option<u64>>()?;
    Some(read.found.unread + holes.saturating_sub(read.strayed))
}
