//! How the cells of a row are said: the columns that people know, each with its name and form.

use crate::domain::ledger::Image;
use crate::domain::measure::{Amount, Basis, Money, Price, Quantity, Show, decimal};
use crate::domain::venue::{DrinkId, ItemId, PlaceId, Setup, SupplierId};
use crate::words;
use serde_json::Value;
use std::collections::HashMap;

/// What a cell is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    /// As it stands.
    Plain,
    /// A word of a table of words.
    Word,
    /// Several of them, with blanks between.
    Words,
    /// An amount of the row's own basis.
    Own,
    /// Milligrams.
    Mass,
    /// Minor units.
    Money,
    /// Thousandths of a container.
    Containers,
    /// Hundredths of a percent.
    Percent,
    /// Thousandths, as percent.
    Mille,
    /// Ethanol by volume.
    Strength,
    /// Thousandths.
    Times,
    /// Yes or no.
    Yes,
    /// Yes or no, where nothing is yes.
    YesUnsaid,
    /// Millionths of the major unit.
    Price,
    /// A handle of a place.
    Place,
    /// A handle of an item.
    Item,
    /// A handle of a supplier.
    Supplier,
    /// A handle of a drink.
    Drink,
}

use Form::{
    Containers as C, Drink, Item, Mass, Mille, Money as M, Own, Percent, Place, Plain, Price as P, Strength as S,
    Supplier, Times, Word, Words, Yes, YesUnsaid,
};

/// The columns of a table that people know, in the order in which they are said.
fn known(table: &str) -> &'static [(&'static str, &'static str, Form)] {
    match table {
        "venue" => &[("value", "", Plain)],
        "person" => &[("name", text!("name"), Plain), ("role", text!("role"), Word)],
        "place" => &[
            ("name", text!("name"), Plain),
            ("walk", text!("place in the walk"), Plain),
            ("entry", text!("entered by"), Word),
        ],
        "supplier" => &[
            ("name", text!("name"), Plain),
            ("email", text!("e-mail"), Plain),
            ("customer_no", text!("customer number"), Plain),
            ("schedule", text!("vans"), Plain),
            ("minimum", text!("smallest order"), M),
            ("fee", text!("delivery fee"), M),
            ("free_from", text!("free from"), M),
            ("address", text!("address"), Plain),
            ("vat_id", text!("VAT number"), Plain),
        ],
        "item" => &[
            ("name", text!("name"), Plain),
            ("kind", text!("kind"), Word),
            ("size", text!("size"), Own),
            ("abv", text!("strength"), S),
            ("density", text!("density"), Plain),
            ("sugar", text!("sugar"), Plain),
            ("empty_weight", text!("empty weight"), Mass),
            ("full_weight", text!("full weight"), Mass),
            ("count_by", text!("counted by"), Word),
            ("par", text!("par"), C),
            ("par_from", text!("par ruled by"), Word),
            ("stocked", text!("stocked"), YesUnsaid),
            ("shelf_max", text!("most on the shelf"), C),
            ("service_level", text!("lasts in so many of a hundred cases"), Mille),
            ("allergens", text!("allergens"), Words),
            ("keeps_days", text!("keeps for days"), Plain),
            ("yields", text!("one yields"), Plain),
            ("poured_by", text!("poured by"), Word),
            ("shape", text!("shape"), Word),
            ("profile", text!("shape of its own"), Plain),
        ],
        "shelf" => &[("position", text!("position"), Plain), ("par", text!("par there"), C)],
        "offer" => &[
            ("price", text!("price"), M),
            ("deposit", text!("deposit"), M),
            ("code", text!("code"), Plain),
            ("mixed", text!("mixed case"), Plain),
            ("until_day", text!("until"), Plain),
        ],
        "drink" => &[("name", text!("name"), Plain)],
        "drink_version" => &[
            ("price", text!("price"), M),
            ("tax", text!("tax"), Percent),
            ("method", text!("made by"), Word),
            ("glass", text!("glass"), Plain),
            ("menu", text!("on the menu"), Yes),
            ("dilution", text!("dilution"), Percent),
        ],
        "spec_line" => &[
            ("item", text!("takes"), Item),
            ("quantity", text!("quantity"), Plain),
            ("waste", text!("waste"), Percent),
            ("note", text!("note"), Plain),
        ],
        "recipe" => &[("yields", text!("yields"), Plain), ("water", text!("water"), Plain)],
        "recipe_line" => &[
            ("ingredient", text!("takes"), Item),
            ("quantity", text!("quantity"), Plain),
            ("note", text!("note"), Plain),
        ],
        "till_name" => {
            &[("drink", text!("means"), Drink), ("portion", text!("times"), Times), ("code", text!("number"), Plain)]
        }
        "glass" => &[("name", text!("name"), Plain)],
        "special_day" => &[
            ("factor", text!("times the usual"), Times),
            ("order_by", text!("order by"), Plain),
            ("until", text!("until"), Plain),
        ],
        "purchase_order" => &[("state", text!("state"), Word), ("expected", text!("expected"), Plain)],
        "purchase_order_line" => {
            &[("packs", text!("packs"), Plain), ("pack", text!("of"), Plain), ("price", text!("price"), M)]
        }
        "delivery_check" => {
            &[("came", text!("came"), Plain), ("charged", text!("charged"), P), ("place", text!("put in"), Place)]
        }
        "supplier_code" => &[("means", text!("means"), Word), ("item", text!("item"), Item)],
        "supplier_alias" => &[("supplier", text!("means"), Supplier)],
        _ => &[],
    }
}

/// Says cells of rows.
pub(super) struct Cells<'a> {
    pub(super) setup: &'a Setup,
    pub(super) show: Show,
    /// Of orders and counts.
    pub(super) names: HashMap<(&'static str, i64), String>,
}

impl Cells<'_> {
    /// What differs between two images of a row, or all that one says: `par 3 → 4`.
    pub(super) fn differ(&self, table: &str, before: Option<&Image>, after: Option<&Image>) -> Vec<String> {
        let mut out = Vec::new();
        for (column, label, form) in known(table) {
            let cell = |row: Option<&Image>| row.and_then(|row| row.0.get(*column)).cloned().unwrap_or(Value::Null);
            let (was, is) = (cell(before), cell(after));
            if was == is {
                continue;
            }
            let label = if label.is_empty() { String::new() } else { format!("{} ", words::find(label)) };
            let said = |cell: &Value, row: Option<&Image>| self.cell(cell, *form, row);
            out.push(match (before.is_some(), after.is_some()) {
                (true, true) => format!("{label}{} → {}", said(&was, before), said(&is, after)),
                (false, _) => format!("{label}{}", said(&is, after)),
                (true, false) => format!("{label}{}", said(&was, before)),
            });
        }
        out
    }

    fn cell(&self, cell: &Value, form: Form, row: Option<&Image>) -> String {
        let number = match cell {
            Value::Number(number) => number.as_i64().unwrap_or_default(),
            Value::String(text) if text.is_empty() => return word!("none").to_owned(),
            Value::String(text) => return worded(form, text),
            _ if form == Form::YesUnsaid => return word!("yes").to_owned(),
            _ => return word!("none").to_owned(),
        };
        match form {
            Form::Plain | Form::Word | Form::Words => number.to_string(),
            Form::Mille => format!("{} %", decimal::shown(number, 1)),
            Form::Own => self.show.label(basis(row), Amount(number)),
            Form::Mass => Quantity { basis: Basis::Mass, amount: Amount(number) }.to_string(),
            Form::Money => self.show.money(Money(number)),
            Form::Containers => decimal::shown(number, 3),
            Form::Percent => format!("{} %", decimal::shown(number, 2)),
            Form::Strength => format!("{} %", decimal::shown(number, 2)),
            Form::Times => decimal::shown(number, 3),
            Form::Yes | Form::YesUnsaid => if number == 0 { word!("no") } else { word!("yes") }.to_owned(),
            Form::Price => self.price(number),
            Form::Place => self.place(PlaceId(number)),
            Form::Item => self.item(ItemId(number)),
            Form::Supplier => self.supplier(SupplierId(number)),
            Form::Drink => self.drink(DrinkId(number)),
        }
    }

    pub(super) fn item(&self, id: ItemId) -> String {
        self.setup.item(id).map_or_else(|| self.gone("item", id.0), |item| item.name.clone())
    }

    pub(super) fn place(&self, id: PlaceId) -> String {
        self.setup.place(id).map_or_else(|| self.gone("place", id.0), |place| place.name.clone())
    }

    pub(super) fn supplier(&self, id: SupplierId) -> String {
        self.setup.supplier(id).map_or_else(|| self.gone("supplier", id.0), |supplier| supplier.name.clone())
    }

    pub(super) fn drink(&self, id: DrinkId) -> String {
        self.setup.drink(id).map_or_else(|| self.gone("drink", id.0), |drink| drink.name.clone())
    }

    /// What is not in the book any more, by the name that it had.
    fn gone(&self, table: &'static str, id: i64) -> String {
        self.names.get(&(table, id)).cloned().unwrap_or_else(|| format!("{table} {id}"))
    }

    /// An order or a count by its name: `“2026-11-22 full”`.
    pub(super) fn named(&self, table: &'static str, number: Option<i64>) -> String {
        let name = number.and_then(|number| self.names.get(&(table, number)));
        name.map_or_else(|| say!("number {number}", number = number.unwrap_or_default()), words::quoted)
    }

    /// An amount of an item as the bar counts it.
    pub(super) fn amount(&self, id: ItemId, amount: i64) -> String {
        let basis = self.setup.item(id).map_or(Basis::Volume, |item| item.basis);
        self.show.amount(basis, Amount(amount))
    }

    /// What a container cost.
    pub(super) fn price(&self, price: i64) -> String {
        self.show.money(self.show.currency.round(Price(price)))
    }
}

/// A text of a row as it is said here: words that stand in tables in the language of the screens, what people wrote as it is.
fn worded(form: Form, text: &str) -> String {
    let said = |word: &str| words::translated(word).map_or_else(|| word.to_owned(), str::to_owned);
    match form {
        Form::Word => said(text),
        Form::Words => text.split(' ').map(said).collect::<Vec<_>>().join(" "),
        _ => text.to_owned(),
    }
}

/// The basis that a row of an item names.
fn basis(row: Option<&Image>) -> Basis {
    match row.and_then(|row| row.text("basis")) {
        Some("mass") => Basis::Mass,
        Some("each") => Basis::Each,
        _ => Basis::Volume,
    }
}
