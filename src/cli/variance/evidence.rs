//! `tantalus variance --item`: the facts behind one line, as an addition.

use super::{CountForm, RowForm, count_form, heading, row_form};
use crate::cli::Refusal;
use crate::cli::figures::{Figures, UNKNOWN};
use crate::cli::json::{self, FORM};
use crate::cli::page::Page;
use crate::cli::table::{Set, Table};
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, decimal};
use crate::domain::rows::doubt_words;
use crate::domain::rows::{Evidence, Look, PeriodView};
use crate::domain::usage::{DoubtLine, Point, SoldPart, Spreads, Told};
use crate::domain::venue::{PlaceId, Setup};
use serde::Serialize;

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    opening: CountForm,
    closing: CountForm,
    row: RowForm,
    opening_lines: Vec<LineForm>,
    closing_lines: Vec<LineForm>,
    deliveries: Vec<DeliveryForm>,
    losses: Vec<LossForm>,
    transfers: Vec<TransferForm>,
    batches: Vec<BatchForm>,
    sold_parts: Vec<PartForm>,
    budget: Vec<BudgetForm>,
    periods: Vec<PeriodForm>,
}

/// A line of the budget of the gap's uncertainty as JSON.
#[derive(Debug, Serialize)]
struct BudgetForm {
    what: String,
    u: i64,
}

/// A period of the item's chart as JSON.
#[derive(Debug, Serialize)]
struct PeriodForm {
    closing: String,
    likely_gap: Option<i64>,
    surprise: Option<f64>,
    over: Option<f64>,
    short: Option<f64>,
    left_out: bool,
}

/// A counted line as JSON.
#[derive(Debug, Serialize)]
struct LineForm {
    place: String,
    at: String,
    entry: String,
    method: &'static str,
    by: Option<String>,
    amount: i64,
    u: i64,
}

/// A delivery as JSON.
#[derive(Debug, Serialize)]
struct DeliveryForm {
    at: String,
    document: String,
    supplier: Option<String>,
    containers: i64,
    place: Option<String>,
    amount: i64,
}

/// A loss as JSON.
#[derive(Debug, Serialize)]
struct LossForm {
    at: String,
    reason: &'static str,
    place: Option<String>,
    by: Option<String>,
    note: Option<String>,
    amount: i64,
}

/// A transfer as JSON.
#[derive(Debug, Serialize)]
struct TransferForm {
    at: String,
    from: String,
    to: String,
    by: Option<String>,
    containers_milli: i64,
    amount: i64,
}

/// A batch as JSON.
#[derive(Debug, Serialize)]
struct BatchForm {
    at: String,
    item: String,
    unit: &'static str,
    made: i64,
}

/// What one till name took, as JSON.
#[derive(Debug, Serialize)]
struct PartForm {
    till: String,
    drink: String,
    through: Option<String>,
    quantity_milli: i64,
    amount: i64,
}

fn till(setup: &Setup, part: &SoldPart) -> String {
    setup.till_name(part.till).map_or(UNKNOWN, |t| &t.name).to_owned()
}

fn drink(setup: &Setup, part: &SoldPart) -> String {
    setup.drink(part.drink).map_or(UNKNOWN, |d| &d.name).to_owned()
}

/// The addition as a table: each fact with its own amount, each sum with what the comparison took.
pub(super) fn page(facts: &Evidence, view: &PeriodView, figures: Figures) -> String {
    let setup = figures.setup;
    let row = &facts.row;
    let item = row.item;
    let mut table = Table::new([("", Set::Words), ("fact", Set::Name), ("each", Set::Figure), ("sum", Set::Figure)]);
    let left_out: &[PlaceId] = if let Told::StoresLeftOut(places) = &row.told { places } else { &[] };

    let mut sum = |sign: &str, what: &str, amount: Amount, facts: Vec<(String, Option<Amount>)>| {
        let always = matches!(what, "opening" | "closing" | "used" | "sold");
        if !always && amount == Amount::ZERO && facts.is_empty() {
            return;
        }
        table.row([sign.to_owned(), what.to_owned(), String::new(), figures.bare(item, amount)]);
        for (fact, each) in facts {
            let each = each.map(|e| figures.bare(item, e)).unwrap_or_default();
            table.row([String::new(), format!("  {fact}"), each, String::new()]);
        }
    };
    let place = |p: Option<PlaceId>| p.map_or_else(String::new, |p| format!(", {}", setup.place_name(p)));
    let counted = |looks: &[Look]| -> Vec<(String, Option<Amount>)> {
        let look = |Look { line: l, level }: &Look| {
            let name = setup.place_name(l.place);
            if left_out.contains(&l.place) {
                return (format!("{name}: {} (left out)", l.entry), None);
            }
            (format!("{name}: {}, {}", l.entry, figures.time(l.at)), Some(level.amount))
        };
        looks.iter().map(look).collect()
    };
    sum("", "opening", row.opening.amount, counted(&facts.opening));
    let size = figures.item(item).map_or(Amount::ZERO, |i| i.size);
    let deliveries = facts.deliveries.iter().map(|d| {
        let who = setup.supplier(d.supplier).map_or(UNKNOWN, |s| &s.name);
        let fact = format!("{} × {who}, {}, {}{}", d.containers, d.document, figures.time(d.at), place(d.place));
        (fact, Some(size.times(d.containers, 1)))
    });
    sum("+", "delivered", row.flow.delivered, deliveries.collect());
    let (made, taken): (Vec<_>, Vec<_>) = facts.batches.iter().partition(|(_, what, _)| *what == item);
    let made = made.iter().map(|(at, _, amount)| (figures.time(*at), Some(*amount)));
    sum("+", "made here", row.flow.made, made.collect());
    let moved = facts.transfers.iter().map(|t| {
        let (from, to) = (setup.place_name(t.from), setup.place_name(t.to));
        let fact = format!("{from} to {to}, {}", figures.time(t.at));
        (fact, Some(t.containers.of(size)))
    });
    sum("+", "carried in, less carried out", row.flow.moved, moved.collect());
    let lost = facts.losses.iter().map(|l| {
        let note = l.note.as_ref().map_or_else(String::new, |n| format!(", {n}"));
        (format!("{}, {}{}{note}", l.reason, figures.time(l.at), place(l.place)), Some(l.amount))
    });
    sum("−", "recorded losses", row.flow.lost, lost.collect());
    let taken = taken.iter().map(|(at, what, made)| {
        (format!("{} of {}, {}", figures.amount(*what, *made), setup.item_name(*what), figures.time(*at)), None)
    });
    sum("−", "taken by batches", row.flow.batched, taken.collect());
    sum("−", "closing", row.closing.amount, counted(&facts.closing));
    sum("=", "used", row.usage, Vec::new());
    let parts = facts.sold.iter().map(|p| {
        let through = p.through.map_or_else(String::new, |t| format!(", in {}", setup.item_name(t)));
        let fact = format!("{} × {} ({}){through}", decimal::plain(p.quantity, 3), till(setup, p), drink(setup, p));
        (fact, Some(p.amount))
    });
    sum("−", "sold", row.sold, parts.collect());
    let gap = figures.bare(item, row.gap);
    table.sum(["=".to_owned(), format!("gap ± {} (u)", figures.u(item, row.u)), String::new(), gap]);

    let mut page = Page::new();
    page.line(format!("{}, in {}", figures.name(item), figures.symbol(item)));
    page.line(heading(view, figures));
    page.gap();
    page.table(&table);
    page.gap();
    let size = format!("{} containers of {}", figures.containers(item, row.gap), figures.amount(item, size));
    let cost = row.cost.map_or_else(|| "no price is known".to_owned(), |c| format!("worth {}", figures.coin(c)));
    page.line(format!("The gap is {size}, {cost}."));
    if !left_out.is_empty() {
        let places = figures.places(left_out);
        page.line(format!("{places}: not counted both times; of its movements only those to counted places are in."));
    }
    super::judged::item(&mut page, row, view, figures);
    page.finish()
}

fn budget(facts: &Evidence, view: &PeriodView, figures: Figures) -> Vec<BudgetForm> {
    let spreads = view.review.spreads.unwrap_or(Spreads::AS_SET);
    let name = figures.name(facts.row.item);
    let form = |line: &DoubtLine| BudgetForm { what: doubt_words(line, &name), u: json::whole(line.u) };
    facts.row.budget.lines(&spreads).iter().map(form).collect()
}

fn periods(facts: &Evidence, view: &PeriodView) -> Vec<PeriodForm> {
    let Some(finding) = view.review.of(facts.row.item) else { return Vec::new() };
    let rounded = |value: f64| (value * 1_000.0).round() / 1_000.0;
    let form = |(point, count): (&Option<Point>, &Count)| PeriodForm {
        closing: count.name.clone(),
        likely_gap: point.map(|point| json::whole(point.gap)),
        surprise: point.map(|point| rounded(point.standardised())),
        over: point.map(|point| rounded(point.sums.high)),
        short: point.map(|point| rounded(point.sums.low)),
        left_out: point.is_some_and(|point| point.left_out),
    };
    finding.track.points.iter().zip(&view.periods).map(form).collect()
}

/// The same as JSON.
pub(super) fn json(facts: &Evidence, view: &PeriodView, figures: Figures) -> Result<String, Refusal> {
    let setup = figures.setup;
    let days = &setup.venue.days;
    let size = figures.item(facts.row.item).map_or(Amount::ZERO, |i| i.size);
    let place = |p: PlaceId| setup.place_name(p).to_owned();
    let line = |Look { line: l, level }: &Look| LineForm {
        place: place(l.place),
        at: json::time(days, l.at),
        entry: l.entry.to_string(),
        method: l.method.word(),
        by: l.by.clone(),
        amount: level.amount.0,
        u: json::whole(level.u),
    };
    let lines = |looks: &[Look]| looks.iter().map(line).collect::<Vec<_>>();
    let deliveries = facts.deliveries.iter().map(|d| DeliveryForm {
        at: json::time(days, d.at),
        document: d.document.clone(),
        supplier: setup.supplier(d.supplier).map(|s| s.name.clone()),
        containers: d.containers,
        place: d.place.map(place),
        amount: size.times(d.containers, 1).0,
    });
    let losses = facts.losses.iter().map(|l| LossForm {
        at: json::time(days, l.at),
        reason: l.reason.word(),
        place: l.place.map(place),
        by: l.by.clone(),
        note: l.note.clone(),
        amount: l.amount.0,
    });
    let transfers = facts.transfers.iter().map(|t| TransferForm {
        at: json::time(days, t.at),
        from: place(t.from),
        to: place(t.to),
        by: t.by.clone(),
        containers_milli: t.containers.0,
        amount: t.containers.of(size).0,
    });
    let batches = facts.batches.iter().map(|(at, item, made)| BatchForm {
        at: json::time(days, *at),
        item: figures.name(*item),
        unit: figures.unit(*item),
        made: made.0,
    });
    let parts = facts.sold.iter().map(|p| PartForm {
        till: till(setup, p),
        drink: drink(setup, p),
        through: p.through.map(|t| figures.name(t)),
        quantity_milli: p.quantity,
        amount: p.amount.0,
    });
    json::text(&Form {
        form: FORM,
        opening: count_form(&view.opening, days),
        closing: count_form(&view.closing, days),
        row: row_form(&facts.row, view, figures),
        opening_lines: lines(&facts.opening),
        closing_lines: lines(&facts.closing),
        deliveries: deliveries.collect(),
        losses: losses.collect(),
        transfers: transfers.collect(),
        batches: batches.collect(),
        sold_parts: parts.collect(),
        budget: budget(facts, view, figures),
        periods: periods(facts, view),
    })
}
