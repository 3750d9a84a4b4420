//! `tantalus count`: the counts of a book.

mod import;

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::desk::comparing;
use crate::domain::ledger::Count;
use serde::Serialize;
use std::path::PathBuf;

/// List the counts, or bring one in from a file
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Bring in the counts of a plain file (the form of counts.csv)
    #[arg(long, value_name = "FILE")]
    import: Option<PathBuf>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    counts: Vec<CountForm>,
}

/// A count as JSON.
#[derive(Debug, Serialize)]
struct CountForm {
    name: String,
    begun: String,
    closed: Option<String>,
    blind: bool,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open()?;
    if let Some(file) = &args.import {
        return import::import_counts(&store, file, args.json);
    }
    let counts = comparing::all_counts(&store)?;
    let days = comparing::setup(&store)?.venue.days;
    if args.json {
        let form = |c: &Count| CountForm {
            name: c.name.clone(),
            begun: json::time(&days, c.opened),
            closed: c.closed.map(|at| json::time(&days, at)),
            blind: c.blind,
        };
        return json::text(&Form { form: FORM, counts: counts.iter().map(form).collect() });
    }
    let mut page = Page::new();
    if counts.is_empty() {
        page.line("Nothing was counted yet.");
        return Ok(page.finish());
    }
    let mut table = Table::new([("count", Set::Name), ("begun", Set::Words), ("closed", Set::Words)]);
    for count in &counts {
        let closed = count.closed.map_or_else(|| "not yet".to_owned(), |at| days.plain(at));
        table.row([count.name.clone(), days.plain(count.opened), closed]);
    }
    page.table(&table);
    Ok(page.finish())
}
