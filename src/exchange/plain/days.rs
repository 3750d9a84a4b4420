//! Days that are not as usual, as lines.

use super::Plain;
use super::cells::{Form, Line, PlainRow, or_empty};
use crate::domain::venue::{Factor, NamedDay, OrderBy, Stretch};

/// A line of `days.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DayRow {
    /// When.
    pub days: Stretch,
    /// What it is called.
    pub what: String,
    /// What is not as usual.
    pub effect: RowEffect,
}

/// What a line says, suppliers by name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RowEffect {
    /// Demand of the bar, times this.
    Demand(Factor),
    /// A supplier is closed.
    SupplierClosed(String),
    /// An extra van of a supplier.
    ExtraVan(String, OrderBy),
}

impl PlainRow for DayRow {
    const FILE: Plain = Plain::Days;

    fn read(line: &mut Line<'_>) -> Option<DayRow> {
        let day = line.with("day", NamedDay::parse);
        let until = line.maybe("until", NamedDay::parse);
        let days = match (day, until) {
            (Some(day), Some(until)) => line.with("until", |_| Stretch::new(day, until)),
            _ => None,
        };
        let what = line.text("what");
        let supplier = line.maybe_name("supplier", Plain::Suppliers);
        let (factor, by) = if line.is_empty("supplier") { of_bar(line) } else { of_supplier(line, days) };
        let effect = match (supplier?, factor?, by?) {
            (Some(supplier), _, Some(by)) => RowEffect::ExtraVan(supplier, by),
            (Some(supplier), _, None) => RowEffect::SupplierClosed(supplier),
            (None, factor, _) => RowEffect::Demand(factor?),
        };
        Some(DayRow { days: days?, what: what?, effect })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        let (factor, supplier, by) = match &self.effect {
            RowEffect::Demand(factor) => (factor.to_string(), String::new(), String::new()),
            RowEffect::SupplierClosed(supplier) => (String::new(), supplier.clone(), String::new()),
            RowEffect::ExtraVan(supplier, by) => (String::new(), supplier.clone(), by.to_string()),
        };
        vec![
            self.days.from().to_string(),
            or_empty(self.days.until(), |until| until.to_string()),
            self.what.clone(),
            factor,
            supplier,
            by,
        ]
    }
}

/// Factor and deadline as they were read: nothing for a wrong cell, and then nothing again for an empty one.
type Effect = (Option<Option<Factor>>, Option<Option<OrderBy>>);

/// A day of the bar must say what it does to demand.
fn of_bar(line: &mut Line<'_>) -> Effect {
    let factor = line.with("factor", |text| match text {
        "" => Err(word!("expected a factor such as 1.6, or closed; or the supplier whose day it is").to_owned()),
        text => Factor::parse(text).map_err(|e| e.to_string()),
    });
    let by = line.maybe("order_by", |_| Err(word!("expected nothing, or the supplier whose van it is")));
    (factor.map(Some), by)
}

/// A day of a supplier has no factor, and a deadline where a van comes.
fn of_supplier(line: &mut Line<'_>, days: Option<Stretch>) -> Effect {
    let factor = line.maybe("factor", |_| Err(word!("expected nothing: a day of a supplier has no factor")));
    let by = line.maybe("order_by", |text| {
        let by = OrderBy::parse(text)?;
        // Days that are wrong themselves were told already.
        days.map_or(Ok(()), |days| by.check(days)).map(|()| by)
    });
    (factor, by)
}
