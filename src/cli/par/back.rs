//! A look back, for people and as JSON.

use crate::cli::figures::Figures;
use crate::cli::json::{self, FORM, MoneyForm};
use crate::cli::page::Page;
use crate::cli::table::{Set, Table};
use crate::domain::par::Replayed;
use crate::domain::rows::{LOOK_BACK_LIMITS, LOOK_BACK_WAYS, LookBack, LookBackSum};
use crate::domain::venue::Setup;
use serde::Serialize;

/// The answer as JSON.
#[derive(Debug, Serialize)]
pub(super) struct Form {
    form: u32,
    from: String,
    to: String,
    by_hand: SumForm,
    by_demand: SumForm,
    without_hand: usize,
    weeks: Vec<WeekForm>,
    items: Vec<ItemForm>,
}

/// All items of one way.
#[derive(Debug, Serialize)]
struct SumForm {
    days: usize,
    days_dry: usize,
    stock: MoneyForm,
    lines_ordered: usize,
    missed: MoneyForm,
}

/// A week.
#[derive(Debug, Serialize)]
struct WeekForm {
    first: String,
    stock_by_hand: MoneyForm,
    stock_by_demand: MoneyForm,
    dry_by_hand: usize,
    dry_by_demand: usize,
}

/// An item; amounts in the unit that it names.
#[derive(Debug, Serialize)]
struct ItemForm {
    item: String,
    unit: &'static str,
    by_hand: Option<TriedForm>,
    by_demand: TriedForm,
}

/// What one par did with an item.
#[derive(Debug, Serialize)]
struct TriedForm {
    days: usize,
    dry: Vec<String>,
    stock: i64,
    orders: usize,
    missed: i64,
}

pub(super) fn form(setup: &Setup, back: &LookBack) -> Form {
    let money = |amount| json::money(amount, setup.venue.currency);
    let sum = |sum: &LookBackSum| SumForm {
        days: sum.days,
        days_dry: sum.dry,
        stock: money(sum.stock),
        lines_ordered: sum.orders,
        missed: money(sum.missed),
    };
    let tried = |tried: &Replayed| TriedForm {
        days: tried.days,
        dry: tried.dry.iter().map(ToString::to_string).collect(),
        stock: json::whole(tried.average()),
        orders: tried.orders,
        missed: json::whole(tried.missed),
    };
    let figures = Figures { setup };
    Form {
        form: FORM,
        from: back.days.start().to_string(),
        to: back.days.end().to_string(),
        by_hand: sum(&back.sums[0]),
        by_demand: sum(&back.sums[1]),
        without_hand: back.without_hand,
        weeks: back
            .weeks
            .iter()
            .map(|week| WeekForm {
                first: week.first.to_string(),
                stock_by_hand: money(week.stock[0]),
                stock_by_demand: money(week.stock[1]),
                dry_by_hand: week.dry[0],
                dry_by_demand: week.dry[1],
            })
            .collect(),
        items: back
            .rows
            .iter()
            .map(|row| ItemForm {
                item: figures.name(row.item),
                unit: figures.unit(row.item),
                by_hand: row.hand.as_ref().map(tried),
                by_demand: tried(&row.computed),
            })
            .collect(),
    }
}

pub(super) fn page(setup: &Setup, back: &LookBack) -> String {
    let figures = Figures { setup };
    let mut page = Page::new();
    page.line(back.title());
    page.gap();
    let mut table = Table::new([
        ("", Set::Name),
        ("days run dry", Set::Figure),
        ("of", Set::Figure),
        ("%", Set::Figure),
        ("on the shelves", Set::Figure),
        ("lines ordered", Set::Figure),
        ("not served", Set::Figure),
    ]);
    for (name, sum) in LOOK_BACK_WAYS.into_iter().zip(&back.sums) {
        table.row([
            name.to_owned(),
            sum.dry.to_string(),
            sum.days.to_string(),
            format!("{:.1}", 100.0 * sum.dry_share()),
            figures.money(sum.stock),
            sum.orders.to_string(),
            figures.money(sum.missed),
        ]);
    }
    page.table(&table);
    page.line(LookBack::units_words(setup));
    page.gap();
    let mut weeks = Table::new([
        ("week of", Set::Name),
        ("by hand", Set::Figure),
        ("by demand", Set::Figure),
        ("items dry by hand", Set::Figure),
        ("by demand", Set::Figure),
    ]);
    for week in &back.weeks {
        weeks.row([
            week.first.to_string(),
            figures.money(week.stock[0]),
            figures.money(week.stock[1]),
            week.dry[0].to_string(),
            week.dry[1].to_string(),
        ]);
    }
    page.table(&weeks);
    page.gap();
    let mut items = Table::new([
        ("item", Set::Name),
        ("dry by hand", Set::Figure),
        ("by demand", Set::Figure),
        ("held by hand", Set::Figure),
        ("by demand", Set::Figure),
    ]);
    for row in back.by_difference(setup) {
        let containers =
            |tried: &Replayed| figures.containers(row.item, crate::domain::measure::Amount::rounded(tried.average()));
        items.row([
            figures.name(row.item),
            row.hand.as_ref().map_or_else(String::new, |hand| hand.dry.len().to_string()),
            row.computed.dry.len().to_string(),
            row.hand.as_ref().map_or_else(String::new, containers),
            containers(&row.computed),
        ]);
    }
    page.table(&items);
    page.gap();
    page.line(LOOK_BACK_LIMITS);
    page.finish()
}
