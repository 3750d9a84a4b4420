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
        let Some(any) = told.now.as_ref().or(told.before.as_ref()) else { return word!("a line").to_owned() };
        let place = format!("{}, {}", self.0.item(any.item), self.0.place(any.place));
        match (&told.now, &told.before) {
            (Some(now), Some(before)) => {
                say!(
                    "{place}: {entry} (was {entry_2})",
                    place,
                    entry = now.entry.shown(),
                    entry_2 = before.entry.shown()
                )
            }
            (Some(now), None) => format!("{place}: {}", now.entry.shown()),
            (None, Some(before)) => say!("{place}: {entry} taken back", place, entry = before.entry.shown()),
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
                say!(
                    "{number} × {name} from {supplier} at {price}, {row}",
                    number = row.number("containers")?,
                    name,
                    supplier,
                    price,
                    row = row.text("document")?
                )
            }
            "loss" => {
                let at = place("place").map(|place| format!(", {place}")).unwrap_or_default();
                say!(
                    "{number} of {name}: {row}{at}{note}",
                    number = cells.amount(item, row.number("amount")?),
                    name,
                    row = row.text("reason")?,
                    at,
                    note
                )
            }
            "transfer" => {
                let containers = decimal::shown(row.number("containers")?, 3);
                say!(
                    "{containers} × {name} from {place} to {place_2}",
                    containers,
                    name,
                    place = place("from_place")?,
                    place_2 = place("to_place")?
                )
            }
            _ => say!("{number} of {name} made{note}", number = cells.amount(item, row.number("made")?), name, note),
        };
        Some(if change.after.is_none() { say!("taken back: {said}", said) } else { said })
    }

    fn tally(&self, change: &RowChange) -> Option<String> {
        let lines = |row: &Option<Image>| row.as_ref().and_then(|row| row.number("lines")).unwrap_or(0);
        match lines(&change.after) - lines(&change.before) {
            0 => None,
            1 => Some(word!("1 line of receipts").to_owned()),
            new => Some(say!("{new} lines of receipts", new)),
        }
    }

    /// A row that stands for itself: what it is, and what is new of it.
    fn kept(&self, table: &str, change: &RowChange, row: &Image) -> String {
        let subject = self.subject(table, row);
        if table == "person_pin" {
            let done = match (&change.before, &change.after) {
                (None, _) => word!("set"),
                (_, None) => word!("taken away"),
                _ => word!("changed"),
            };
            return format!("{subject} {done}");
        }
        let differ = self.0.differ(table, change.before.as_ref(), change.after.as_ref()).join(", ");
        let said = if differ.is_empty() { subject } else { format!("{subject}: {differ}") };
        match (&change.before, &change.after) {
            (Some(_), None) => say!("{said}, taken away", said),
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
        let order =
            |column: &str| say!("order {column}", column = cells.named(word!("purchase_order"), row.number(column)));
        let count = |column: &str| say!("count {column}", column = cells.named("count", row.number(column)));
        let from = match row.text("from_day") {
            None | Some("") => String::new(),
            Some(day) => say!(" from {day}", day),
        };
        match table {
            "venue" => text("key").replace('_', " "),
            "person" => text("initials").to_owned(),
            "person_pin" => say!("PIN of {what}", what = text("initials")),
            "item_gtin" => say!("{item}: bar code {what}", item = item("item"), what = text("gtin")),
            "shelf" => format!("{}, {}", item("item"), place("place")),
            "offer" => say!(
                "{item} from {supplier}, {number} a pack{from}",
                item = item("item"),
                supplier = supplier("supplier"),
                number = row.number("pack").unwrap_or_default(),
                from
            ),
            "drink_version" => format!("{}{from}", drink("drink")),
            "spec_line" => format!("{}{from}", drink("drink")),
            "recipe" => format!("{}{from}", item("item")),
            "recipe_line" => format!("{}{from}", item("item")),
            "till_name" => say!("till name “{what}”", what = text("name")),
            "special_day" => format!("{} {}", text("day"), text("what")),
            "supplier_code" => {
                say!("{what} of {supplier}", what = text("code"), supplier = supplier("supplier"))
            }
            "supplier_alias" => text("alias").to_owned(),
            "purchase_order" => say!("order {what}", what = text("name")),
            "purchase_order_line" => format!("{}, {}", order("purchase_order"), item("item")),
            "delivery_check" => {
                let line = row.number("line").unwrap_or_default();
                say!("line {line} of {order}", line, order = order("purchase_order"))
            }
            "till_layout" => say!("layout {what}", what = text("name")),
            "profile" => say!("shape {what}", what = text("name")),
            "glass" => word!("glass").to_owned(),
            "count" => say!("count {what}", what = text("name")),
            "count_closing" => {
                let what = if row.0.get("place").is_some_and(|place| !place.is_null()) {
                    place("place")
                } else {
                    count("count")
                };
                let done =
                    if row.number("reopens").is_some() { word!("opened again") } else { word!("count" => "closed") };
                format!("{what} {done}")
            }
            "count_given_up" => say!("{n} given up", n = count("count")),
            "weighing" if row.number("reverses").is_some() => word!("a weighing taken back").to_owned(),
            "weighing" => say!("{item} weighed {what}", item = item("item"), what = text("state")),
            "explanation" if row.number("reverses").is_some() => word!("a cause taken back").to_owned(),
            "explanation" => {
                let cause = CauseWord::parse(text("cause"))
                    .map_or_else(|_| text("cause").to_owned(), |c| cause_word(c).to_owned());
                format!("{}: {cause}", item("item"))
            }
            "taken_file" => say!("file {what}", what = text("name")),
            "file_withdrawal" => word!("a file taken back").to_owned(),
            "bill" => say!("bill {what} of {supplier}", what = text("number"), supplier = supplier("supplier")),
            "bill_withdrawal" => word!("a bill taken back").to_owned(),
            "claim" => {
                say!("to claim from {supplier}: {what}", supplier = supplier("supplier"), what = text("note"))
            }
            "claim_settlement" => say!("claim settled: {what}", what = text("note")),
            _ => text("name").to_owned(),
        }
    }
}

/// The sort of thing that a table holds, for many of them.
fn sort(table: &str) -> &str {
    match table {
        "venue" => word!("settings"),
        "person" => word!("people"),
        "item" => word!("items"),
        "item_gtin" => word!("bar codes"),
        "place" => word!("places"),
        "shelf" => word!("shelves"),
        "supplier" => word!("suppliers"),
        "offer" => word!("prices"),
        "drink" => word!("drinks"),
        "drink_version" => word!("menu prices"),
        "spec_line" => word!("lines of specs"),
        "recipe" => word!("recipes"),
        "recipe_line" => word!("lines of recipes"),
        "till_name" => word!("till names"),
        "delivery" => word!("deliveries"),
        "loss" => word!("losses"),
        "transfer" => word!("transfers"),
        "batch" => word!("batches"),
        "weighing" => word!("weighings"),
        "explanation" => word!("causes"),
        "count" => word!("counts"),
        "count_closing" => word!("closings"),
        "purchase_order" => word!("orders"),
        "purchase_order_line" => word!("lines of orders"),
        "special_day" => word!("days"),
        "taken_file" => word!("files"),
        "bill" => word!("bills"),
        "claim" => word!("claims"),
        "supplier_code" => word!("codes of suppliers"),
        "supplier_alias" => word!("names of suppliers"),
        "profile" => word!("shapes"),
        "glass" => word!("glasses"),
        "sale_tally" => word!("sales"),
        "delivery_check" => word!("checks of deliveries"),
        other => other,
    }
}
