//! `tantalus stock --over-time`: what the stock was worth at each of the last counts.

use crate::cli::json::{self, FORM, MoneyForm};
use crate::cli::page::Page;
use crate::cli::table::{Set, Table};
use crate::cli::{Refusal, Shared};
use crate::clock;
use crate::desk::{reporting, worth};
use crate::domain::rows::{WorthAt, worth_kinds};
use crate::domain::venue::Setup;
use serde::Serialize;
use std::path::PathBuf;

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    counts: Vec<CountForm>,
}

/// One count as JSON.
#[derive(Debug, Serialize)]
struct CountForm {
    day: String,
    at: String,
    value: MoneyForm,
    by_kind: Vec<KindForm>,
    without_value: usize,
}

/// One kind as JSON.
#[derive(Debug, Serialize)]
struct KindForm {
    kind: &'static str,
    value: MoneyForm,
}

pub(super) fn run(shared: &Shared, as_json: bool, into: Option<PathBuf>) -> Result<String, Refusal> {
    let store = shared.open_costs()?;
    let now = clock::started();
    if let Some(folder) = into {
        let file = reporting::write_worth(&store, now, &folder)?;
        return Ok(format!("Written: {}\n", crate::tui::text::safe(&file.display().to_string())));
    }
    let (setup, over) = worth::over_time(&store, now)?;
    if as_json { json::text(&form(&setup, &over)) } else { Ok(page(&setup, &over)) }
}

fn form(setup: &Setup, over: &[WorthAt]) -> Form {
    let money = |money| json::money(money, setup.venue.currency);
    let count = |at: &WorthAt| CountForm {
        day: at.day.to_string(),
        at: json::time(&setup.venue.days, at.at),
        value: money(at.total),
        by_kind: at.kinds.iter().map(|(kind, worth)| KindForm { kind: kind.word(), value: money(*worth) }).collect(),
        without_value: at.without_cost,
    };
    Form { form: FORM, counts: over.iter().map(count).collect() }
}

fn page(setup: &Setup, over: &[WorthAt]) -> String {
    let mut page = Page::new();
    if over.is_empty() {
        page.line("No count is closed yet, so nothing can be told.");
        return page.finish();
    }
    let show = setup.venue.show();
    let kinds = worth_kinds(over);
    let mut heads = vec![("count", Set::Name), ("worth", Set::Figure), ("change", Set::Figure)];
    heads.extend(kinds.iter().map(|kind| (kind.word(), Set::Spare)));
    heads.push(("no cost", Set::Spare));
    let mut table = Table::new(heads);
    for (n, at) in over.iter().enumerate() {
        let change = n.checked_sub(1).map(|before| show.money(at.total - over[before].total));
        let mut row = vec![at.day.to_string(), show.money(at.total), change.unwrap_or_default()];
        row.extend(kinds.iter().map(|kind| show.money(at.of(*kind))));
        row.push(if at.without_cost > 0 { at.without_cost.to_string() } else { String::new() });
        table.row(row);
    }
    page.table(&table);
    page.gap();
    page.line(format!("In {}, once each count was closed, at what it had cost then.", setup.venue.currency));
    page.finish()
}
