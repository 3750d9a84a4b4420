//! `tantalus count`: the counts of a book.

mod import;

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find, screens};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::{comparing, reporting};
use crate::domain::ledger::Count;
use serde::Serialize;
use std::path::PathBuf;

/// List the counts, bring one in from a file, or write a sheet to count on by hand
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Bring in the counts of a plain file (the form of counts.csv)
    #[arg(long, value_name = "FILE")]
    import: Option<PathBuf>,
    /// Write a sheet to print and fill in by hand (PDF), with nothing on it of what should be there
    #[arg(long, conflicts_with = "import")]
    sheet: bool,
    /// Only this place on the sheet; as often as needed
    #[arg(long, value_name = "NAME", requires = "sheet")]
    place: Vec<String>,
    /// The folder that the sheet is written into; without it, orders beside the book
    #[arg(long, value_name = "DIR", requires = "sheet")]
    into: Option<PathBuf>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// Where a sheet was written, as JSON.
#[derive(Debug, Serialize)]
struct SheetForm {
    form: u32,
    written: String,
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
    if args.sheet {
        return sheet(&store, args);
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

/// Writes the sheet and says where.
fn sheet(store: &Store, args: &Args) -> Result<String, Refusal> {
    let setup = comparing::setup(store)?;
    let named = args.place.iter().map(|typed| Ok(find::one("place", &setup.places, |p| &p.name, typed)?.id));
    let places = named.collect::<Result<Vec<_>, Refusal>>()?;
    let folder = args.into.clone().unwrap_or_else(|| screens::papers(store));
    let written = reporting::write_count_sheet(&setup, &places, clock::now(), &folder)?.display().to_string();
    if args.json {
        return json::text(&SheetForm { form: FORM, written });
    }
    let mut page = Page::new();
    page.line(format!("Written: {written}"));
    Ok(page.finish())
}
