//! Rows and counted lines in words.

use super::cells::Cells;
use crate::domain::ledger::{CountLine, Image, RowChange};
use crate::domain::measure::decimal;
use crate::domain::rows::cause_word;
use crate::domain::venue::{CauseWord, DrinkId, ItemId, PlaceId, Setup, SupplierId};
use std::collections::{BTreeMap, HashMap};

/// A counted line, and what its place and item said before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineTold {
    /// What was entered; none where the line was taken back.
    pub now: Option<CountLine>,
    /// What it was.
    pub before: Option<CountLine>,
}

/// Tables whose rows are told by what stands beside them.
const BESIDE: &[&str] = &[
    "journal",
    "count_place",
    "sale",
    "sale_held",
    "withdrawn_sale",
    "bill_entry",
    "till_layout_column",
    "profile_filling",
];

/// Tells acts in words.
pub struct Telling<'a>(Cells<'a>);

impl<'a> Telling<'a> {
    /// With the names of a set-up, and its coin.
    pub fn new(setup: &'a Setup) -> Telling<'a> {
        Telling(Cells { setup, show: setup.venue.show(), names: HashMap::new() })
    }

    /// With the names of orders and counts as well, by their tables and numbers.
    pub fn with(self, names: HashMap<(&'static str, i64), String>) -> Telling<'a> {
        Telling(Cells { names, ..self.0 })
    }

    /// A counted line: `Gin, Back bar: 2.4 (was 1.4)`.
    pub fn line(&self, told: &LineTold) -> String {
        let Some(any) = told.now.as_ref().or(told.before.as_ref()) else { return "a line".to_owned() };
        let place = format!("{}, {}", self.0.item(any.item), self.0.place(any.place));
        match (&told.now, &told.before) {
            (Some(now), Some(before)) => format!("{place}: {} (was {})", now.entry, before.entry),
            (Some(now), None) => format!("{place}: {}", now.entry),
            (None, Some(before)) => format!("{place}: {} taken back", before.entry),
            (None, None) => place,
        }
    }

    /// What became of some rows: a sentence for each that people know; where there are many, how many of which sort.
    pub fn changes(&self, changes: &[RowChange], most: usize) -> Vec<String> {
        let said: Vec<String> = changes.iter().filter_map(|change| self.change(change)).collect();
        if said.len() <= most {
            return said;
        }
        let told = changes.iter().filter(|change| self.change(change).is_some());
        self.sorts(told.map(|change| (change.table.as_str(), 1))).into_iter().collect()
    }

    /// How many rows of which sort were changed: `deliveries 312, losses 40`.
    pub fn sorts<'t>(&self, rows: impl Iterator<Item = (&'t str, usize)>) -> Option<String> {
        let mut sorts: BTreeMap<&str, usize> = BTreeMap::new();
        for (table, rows) in rows.filter(|(table, _)| !BESIDE.contains(table) && *table != "sale_tally") {
            *sorts.entry(sort(table)).or_default() += rows;
        }
        let told: Vec<String> = sorts.iter().map(|(sort, rows)| format!("{sort} {rows}")).collect();
        (!told.is_empty()).then(|| told.join(", "))
    }

    fn change(&self, change: &RowChange) -> Option<String> {
        let row = change.row()?;
        match change.table.as_str() {
            beside if BESIDE.contains(&beside) => None,
            "venue" if matches!(row.text("key"), Some("uid" | "demo")) => None,
            "delivery" | "loss" | "transfer" | "batch" => self.fact(change, row),
            "sale_tally" => self.tally(change),
            table => Some(self.kept(table, change, row)),
        }
    }

    /// A fact of the journal; one that was taken back stands as what it was, with nothing after.
    fn fact(&self, change: &RowChange, row: &Image) -> Option<String> {
        let cells = &self.0;
        let item = ItemId(row.number("item")?);
        let name = cells.item(item);
        let place = |column: &str| row.number(column).map(|id| cells.place(PlaceId(id)));
        let note = row.text("note").map(|note| format!(", {note}")).unwrap_or_default();
        let said = match change.table.as_str() {
            "delivery" => {
                let supplier = cells.supplier(SupplierId(row.number("supplier")?));
                let price = cells.price(row.number("unit_price")?);
                format!("{} × {name} from {supplier} at {price}, {}", row.number("containers")?, row.text("document")?)
            }
            "loss" => {
                let at = place("place").map(|place| format!(", {place}")).unwrap_or_default();
                format!("{} of {name}: {}{at}{note}", cells.amount(item, row.number("amount")?), row.text("reason")?)
            }
            "transfer" => {
                let containers = decimal::plain(row.number("containers")?, 3);
                format!("{containers} × {name} from {} to {}", place("from_place")?, place("to_place")?)
            }
            _ => format!("{} of {name} made{note}", cells.amount(item, row.number("made")?)),
        };
        Some(if change.after.is_none() { format!("taken back: {said}") } else { said })
    }

    fn tally(&self, change: &RowChange) -> Option<String> {
        let lines = |row: &Option<Image>| row.as_ref().and_then(|row| row.number("lines")).unwrap_or(0);
        match lines(&change.after) - lines(&change.before) {
            0 => None,
            1 => Some("1 line of receipts".to_owned()),
            new => Some(format!("{new} lines of receipts")),
        }
    }

    /// A row that stands for itself: what it is, and what is new of it.
    fn kept(&self, table: &str, change: &RowChange, row: &Image) -> String {
        let subject = self.subject(table, row);
        if table == "person_pin" {
            let done = match (&change.before, &change.after) {
                (None, _) => "set",
                (_, None) => "taken away",
                _ => "changed",
            };
            return format!("{subject} {done}");
        }
        let differ = self.0.differ(table, change.before.as_ref(), change.after.as_ref()).join(", ");
        let said = if differ.is_empty() { subject } else { format!("{subject}: {differ}") };
        match (&change.before, &change.after) {
            (Some(_), None) => format!("{said}, taken away"),
            _ => said,
        }
    }

    /// What a row is about.
    fn subject(&self, table: &str, row: &Image) -> String {
        let cells = &self.0;
        let text = |column: &str| row.text(column).unwrap_or_default();
        let item = |column: &str| row.number(column).map_or_else(String::new, |id| cells.item(ItemId(id)));
        let place = |column: &str| row.number(column).map_or_else(String::new, |id| cells.place(PlaceId(id)));
        let supplier = |column: &str| row.number(column).map_or_else(String::new, |id| cells.supplier(SupplierId(id)));
        let drink = |column: &str| row.number(column).map_or_else(String::new, |id| cells.drink(DrinkId(id)));
        let order = |column: &str| format!("order {}", cells.named("purchase_order", row.number(column)));
        let count = |column: &str| format!("count {}", cells.named("count", row.number(column)));
        let from = match row.text("from_day") {
            None | Some("") => String::new(),
            Some(day) => format!(" from {day}"),
        };
        match table {
            "venue" => text("key").replace('_', " "),
            "person" => text("initials").to_owned(),
            "person_pin" => format!("PIN of {}", text("initials")),
            "item_gtin" => format!("{}: bar code {}", item("item"), text("gtin")),
            "shelf" => format!("{}, {}", item("item"), place("place")),
            "offer" => format!(
                "{} from {}, {} a pack{from}",
                item("item"),
                supplier("supplier"),
                row.number("pack").unwrap_or_default()
            ),
            "drink_version" => format!("{}{from}", drink("drink")),
            "spec_line" => format!("{}{from}", drink("drink")),
            "recipe" => format!("{}{from}", item("item")),
            "recipe_line" => format!("{}{from}", item("item")),
            "till_name" => format!("till name “{}”", text("name")),
            "special_day" => format!("{} {}", text("day"), text("what")),
            "supplier_code" => format!("{} of {}", text("code"), supplier("supplier")),
            "supplier_alias" => text("alias").to_owned(),
            "purchase_order" => format!("order {}", text("name")),
            "purchase_order_line" => format!("{}, {}", order("purchase_order"), item("item")),
            "delivery_check" => {
                let line = row.number("line").unwrap_or_default();
                format!("line {line} of {}", order("purchase_order"))
            }
            "till_layout" => format!("layout {}", text("name")),
            "profile" => format!("shape {}", text("name")),
            "glass" => "glass".to_owned(),
            "count" => format!("count {}", text("name")),
            "count_closing" => {
                let what = if row.0.get("place").is_some_and(|place| !place.is_null()) {
                    place("place")
                } else {
                    count("count")
                };
                let done = if row.number("reopens").is_some() { "opened again" } else { "closed" };
                format!("{what} {done}")
            }
            "count_given_up" => format!("{} given up", count("count")),
            "weighing" if row.number("reverses").is_some() => "a weighing taken back".to_owned(),
            "weighing" => format!("{} weighed {}", item("item"), text("state")),
            "explanation" if row.number("reverses").is_some() => "a cause taken back".to_owned(),
            "explanation" => {
                let cause = CauseWord::parse(text("cause"))
                    .map_or_else(|_| text("cause").to_owned(), |c| cause_word(c).to_owned());
                format!("{}: {cause}", item("item"))
            }
            "taken_file" => format!("file {}", text("name")),
            "file_withdrawal" => "a file taken back".to_owned(),
            "bill" => format!("bill {} of {}", text("number"), supplier("supplier")),
            "bill_withdrawal" => "a bill taken back".to_owned(),
            "claim" => format!("to claim from {}: {}", supplier("supplier"), text("note")),
            "claim_settlement" => format!("claim settled: {}", text("note")),
            _ => text("name").to_owned(),
        }
    }
}

/// The sort of thing that a table holds, for many of them.
fn sort(table: &str) -> &str {
    match table {
        "venue" => "settings",
        "person" => "people",
        "item" => "items",
        "item_gtin" => "bar codes",
        "place" => "places",
        "shelf" => "shelves",
        "supplier" => "suppliers",
        "offer" => "prices",
        "drink" => "drinks",
        "drink_version" => "menu prices",
        "spec_line" => "lines of specs",
        "recipe" => "recipes",
        "recipe_line" => "lines of recipes",
        "till_name" => "till names",
        "delivery" => "deliveries",
        "loss" => "losses",
        "transfer" => "transfers",
        "batch" => "batches",
        "weighing" => "weighings",
        "explanation" => "causes",
        "count" => "counts",
        "count_closing" => "closings",
        "purchase_order" => "orders",
        "purchase_order_line" => "lines of orders",
        "special_day" => "days",
        "taken_file" => "files",
        "bill" => "bills",
        "claim" => "claims",
        "supplier_code" => "codes of suppliers",
        "supplier_alias" => "names of suppliers",
        "profile" => "shapes",
        "glass" => "glasses",
        "sale_tally" => "sales",
        other => other,
    }
}
