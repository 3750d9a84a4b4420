//! `tantalus variance --periods`: many periods in a row, a line each.

use super::super::figures::{Figures, UNKNOWN};
use super::super::json::{self, FORM, MoneyForm};
use super::super::page::Page;
use super::super::table::{Set, Table};
use super::{CountForm, count_form, percent, thousandths};
use crate::domain::measure::{Amount, Basis};
use crate::domain::rows::PastPeriod;
use crate::domain::venue::Item;
use serde::Serialize;

/// The answer as JSON; amounts in the unit that it names.
#[derive(Debug, Serialize)]
pub(super) struct Form {
    form: u32,
    item: Option<String>,
    unit: &'static str,
    periods: Vec<PeriodForm>,
}

/// One period as JSON.
#[derive(Debug, Serialize)]
struct PeriodForm {
    opening: CountForm,
    closing: CountForm,
    items: usize,
    used: i64,
    sold: i64,
    gap: i64,
    u_gap: i64,
    percent_of_used: Option<f64>,
    cost: MoneyForm,
    without_cost: usize,
}

pub(super) fn form(periods: &[PastPeriod], item: Option<&Item>, figures: Figures) -> Form {
    let row = |period: &PastPeriod| PeriodForm {
        opening: count_form(&period.opening, &figures.setup.venue.days),
        closing: count_form(&period.closing, &figures.setup.venue.days),
        items: period.sum.items,
        used: period.sum.usage.0,
        sold: period.sum.sold.0,
        gap: period.sum.gap.0,
        u_gap: json::whole(period.sum.u),
        percent_of_used: period.sum.percent().map(thousandths),
        cost: json::money(period.sum.cost, figures.setup.venue.currency),
        without_cost: period.sum.without_cost,
    };
    Form {
        form: FORM,
        item: item.map(|item| item.name.clone()),
        unit: json::unit(item.map_or(Basis::Volume, |item| item.basis)),
        periods: periods.iter().map(row).collect(),
    }
}

pub(super) fn page(periods: &[PastPeriod], item: Option<&Item>, figures: Figures) -> String {
    let show = figures.setup.venue.show();
    let basis = item.map_or(Basis::Volume, |item| item.basis);
    let heads = ["used", "sold", "gap"].map(|head| format!("{head} {}", show.symbol(basis)));
    let mut table = Table::new([
        ("up to", Set::Name),
        ("begun on", Set::Spare),
        ("items", Set::Spare),
        (heads[0].as_str(), Set::Figure),
        (heads[1].as_str(), Set::Figure),
        (heads[2].as_str(), Set::Figure),
        ("± u", Set::Figure),
        ("% of used", Set::Figure),
        ("cost", Set::Figure),
        ("cost unknown", Set::Spare),
    ]);
    for period in periods {
        let (sum, bare) = (&period.sum, |amount| show.bare(basis, amount));
        let nothing = sum.items == 0;
        let known = |text: String| if nothing { UNKNOWN.to_owned() } else { text };
        table.row([
            sum.name.clone(),
            figures.setup.venue.days.day_of(period.opening.opened).to_string(),
            sum.items.to_string(),
            known(bare(sum.usage)),
            known(bare(sum.sold)),
            known(bare(sum.gap)),
            known(bare(Amount(json::whole(sum.u)))),
            sum.percent().map_or_else(|| UNKNOWN.to_owned(), percent),
            if sum.without_cost == sum.items { UNKNOWN.to_owned() } else { figures.money(sum.cost) },
            sum.without_cost.to_string(),
        ]);
    }
    let mut page = Page::new();
    if let (Some(first), Some(item)) = (periods.first(), item) {
        page.line(format!("{}, from “{}” on", item.name, first.opening.name));
    } else if let Some(first) = periods.first() {
        page.line(format!("From “{}” on; volumes over items measured by volume, money over all", first.opening.name));
    }
    page.gap();
    page.table(&table);
    page.gap();
    page.line("Everything at what it cost at the last of these counts.");
    page.finish()
}
