//! How the cells of a row are said: the columns that people know, each with its name and form.

use crate::domain::ledger::Image;
use crate::domain::measure::{Amount, Basis, Money, Price, Quantity, Show, decimal};
use crate::domain::venue::{DrinkId, ItemId, PlaceId, Setup, SupplierId};
use serde_json::Value;
use std::collections::HashMap;

/// What a cell is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    /// As it stands.
    Plain,
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
    Containers as C, Drink, Item, Mass, Money as M, Own, Percent, Place, Plain, Price as P, Strength as S, Supplier,
    Times, Yes, YesUnsaid,
};

/// The columns of a table that people know, in the order in which they are said.
fn known(table: &str) -> &'static [(&'static str, &'static str, Form)] {
    match table {
        "venue" => &[("value", "", Plain)],
        "person" => &[("name", "name", Plain), ("role", "role", Plain)],
        "place" => &[("name", "name", Plain), ("walk", "place in the walk", Plain), ("entry", "entered by", Plain)],
        "supplier" => &[
            ("name", "name", Plain),
            ("email", "e-mail", Plain),
            ("customer_no", "customer number", Plain),
            ("schedule", "vans", Plain),
            ("minimum", "smallest order", M),
            ("fee", "delivery fee", M),
            ("free_from", "free from", M),
            ("address", "address", Plain),
            ("vat_id", "VAT number", Plain),
        ],
        "item" => &[
            ("name", "name", Plain),
            ("kind", "kind", Plain),
            ("size", "size", Own),
            ("abv", "strength", S),
            ("density", "density", Plain),
            ("sugar", "sugar", Plain),
            ("empty_weight", "empty weight", Mass),
            ("full_weight", "full weight", Mass),
            ("count_by", "counted by", Plain),
            ("par", "par", C),
            ("par_from", "par ruled by", Plain),
            ("stocked", "stocked", YesUnsaid),
            ("shelf_max", "most on the shelf", C),
            ("service_level", "lasts in so many of a hundred cases", Percent),
            ("allergens", "allergens", Plain),
            ("keeps_days", "keeps for days", Plain),
            ("yields", "one yields", Plain),
            ("poured_by", "poured by", Plain),
            ("shape", "shape", Plain),
            ("profile", "shape of its own", Plain),
        ],
        "shelf" => &[("position", "position", Plain), ("par", "par there", C)],
        "offer" => &[
            ("price", "price", M),
            ("deposit", "deposit", M),
            ("code", "code", Plain),
            ("mixed", "mixed case", Plain),
            ("until_day", "until", Plain),
        ],
        "drink" => &[("name", "name", Plain)],
        "drink_version" => &[
            ("price", "price", M),
            ("tax", "tax", Percent),
            ("method", "made by", Plain),
            ("glass", "glass", Plain),
            ("menu", "on the menu", Yes),
            ("dilution", "dilution", Percent),
        ],
        "spec_line" => &[
            ("item", "takes", Item),
            ("quantity", "quantity", Plain),
            ("waste", "waste", Percent),
            ("note", "note", Plain),
        ],
        "recipe" => &[("yields", "yields", Plain), ("water", "water", Plain)],
        "recipe_line" => &[("ingredient", "takes", Item), ("quantity", "quantity", Plain), ("note", "note", Plain)],
        "till_name" => &[("drink", "means", Drink), ("portion", "times", Times), ("code", "number", Plain)],
        "glass" => &[("name", "name", Plain)],
        "special_day" => {
            &[("factor", "times the usual", Times), ("order_by", "order by", Plain), ("until", "until", Plain)]
        }
        "purchase_order" => &[("state", "state", Plain), ("expected", "expected", Plain)],
        "purchase_order_line" => &[("packs", "packs", Plain), ("pack", "of", Plain), ("price", "price", M)],
        "delivery_check" => &[("came", "came", Plain), ("charged", "charged", P), ("place", "put in", Place)],
        "supplier_code" => &[("means", "means", Plain), ("item", "item", Item)],
        "supplier_alias" => &[("supplier", "means", Supplier)],
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
            let label = if label.is_empty() { String::new() } else { format!("{label} ") };
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
            Value::String(text) if text.is_empty() => return "none".to_owned(),
            Value::String(text) => return text.clone(),
            _ if form == Form::YesUnsaid => return "yes".to_owned(),
            _ => return "none".to_owned(),
        };
        match form {
            Form::Plain => number.to_string(),
            Form::Own => self.show.label(basis(row), Amount(number)),
            Form::Mass => Quantity { basis: Basis::Mass, amount: Amount(number) }.to_string(),
            Form::Money => self.show.money(Money(number)),
            Form::Containers => decimal::plain(number, 3),
            Form::Percent => format!("{} %", decimal::plain(number, 2)),
            Form::Strength => format!("{} %", decimal::plain(number, 2)),
            Form::Times => decimal::plain(number, 3),
            Form::Yes | Form::YesUnsaid => if number == 0 { "no" } else { "yes" }.to_owned(),
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
        name.map_or_else(|| format!("number {}", number.unwrap_or_default()), |name| format!("“{name}”"))
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

/// The basis that a row of an item names.
fn basis(row: Option<&Image>) -> Basis {
    match row.and_then(|row| row.text("basis")) {
        Some("mass") => Basis::Mass,
        Some("each") => Basis::Each,
        _ => Basis::Volume,
    }
}
