//! `tantalus suppliers`: when they come, and how they have delivered.

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::clock;
use crate::desk::{comparing, ordering};
use crate::domain::order::Record;
use crate::domain::rows::{RECORD_LIMITS, dearer_words, late_words};
use crate::domain::venue::{Moment, Setup, SupplierId};
use serde::Serialize;

/// Items named as dearer.
const DEARER: usize = 5;

/// Show every supplier's next van, and how it has delivered over half a year: late, short, and at what prices
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    suppliers: Vec<SupplierForm>,
}

/// A supplier as JSON.
#[derive(Debug, Serialize)]
struct SupplierForm {
    supplier: String,
    order_by: Option<String>,
    comes: Option<String>,
    orders: usize,
    late: Vec<LateForm>,
    lines: usize,
    lines_short: usize,
    prices_moved_percent: Option<f64>,
    dearer: Vec<DearerForm>,
}

/// An order that was late, as JSON.
#[derive(Debug, Serialize)]
struct LateForm {
    order: String,
    days: i64,
}

/// An item whose price rose, as JSON.
#[derive(Debug, Serialize)]
struct DearerForm {
    item: String,
    percent: f64,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open_costs()?;
    let now = clock::started();
    let setup = comparing::setup(&store)?;
    let records = ordering::records(&store, now)?;
    match args.json {
        true => {
            let suppliers = records.iter().map(|(id, record)| form(&setup, *id, record, now)).collect();
            json::text(&Form { form: FORM, suppliers })
        }
        false => Ok(page(&setup, &records, now)),
    }
}

fn form(setup: &Setup, id: SupplierId, record: &Record, now: Moment) -> SupplierForm {
    let van = setup.next_van(id, now);
    let tenth = |percent: f64| (10.0 * percent).round() / 10.0;
    SupplierForm {
        supplier: setup.supplier(id).map_or(String::new(), |s| s.name.clone()),
        order_by: van.map(|van| json::time(&setup.venue.days, van.by)),
        comes: van.map(|van| van.comes.to_string()),
        orders: record.orders,
        late: record.late.iter().map(|(order, days)| LateForm { order: order.clone(), days: *days }).collect(),
        lines: record.lines,
        lines_short: record.short,
        prices_moved_percent: record.drift.map(tenth),
        dearer: record
            .dearer
            .iter()
            .map(|(item, percent)| DearerForm { item: setup.item_name(*item).to_owned(), percent: tenth(*percent) })
            .collect(),
    }
}

fn page(setup: &Setup, records: &[(SupplierId, Record)], now: Moment) -> String {
    let mut page = Page::new();
    if records.is_empty() {
        page.line("No supplier is in the book yet: suppliers.csv brings them in.");
        return page.finish();
    }
    let mut table = Table::new([
        ("supplier", Set::Name),
        ("order by", Set::Words),
        ("comes", Set::Words),
        ("late", Set::Figure),
        ("of", Set::Figure),
        ("lines short", Set::Figure),
        ("of", Set::Figure),
        ("prices, %", Set::Figure),
    ]);
    for (id, record) in records {
        let van = setup.next_van(*id, now);
        table.row([
            setup.supplier(*id).map_or(String::new(), |s| s.name.clone()),
            van.map_or_else(|| "any time".to_owned(), |van| setup.venue.days.short(van.by)),
            van.map_or_else(String::new, |van| van.comes.format("%a %-d %b").to_string()),
            record.late.len().to_string(),
            record.orders.to_string(),
            record.short.to_string(),
            record.lines.to_string(),
            record.drift.map_or_else(String::new, |drift| format!("{drift:+.1}")),
        ]);
    }
    page.table(&table);
    page.gap();
    page.line(RECORD_LIMITS);
    for (id, record) in records {
        let name = setup.supplier(*id).map_or("?", |s| s.name.as_str());
        let late = late_words(record);
        if !late.is_empty() {
            page.line(format!("{name} was late: {}.", late.join(", ")));
        }
        let dearer: Vec<String> = dearer_words(setup, record).into_iter().take(DEARER).collect();
        if !dearer.is_empty() {
            page.line(format!("{name}, dearer: {}.", dearer.join(", ")));
        }
    }
    page.finish()
}
