//! `tantalus count`: the counts of a book.

mod import;
mod typed_in;

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find, screens};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::{comparing, reporting};
use crate::domain::ledger::Count;
use crate::domain::venue::{PlaceId, Setup};
use serde::Serialize;
use std::path::PathBuf;

/// List the counts, bring one in from a file, write a sheet to count on by hand, or type in one that was filled in
#[derive(Debug, clap::Args)]
#[command(group(clap::ArgGroup::new("paper").args(["sheet", "from_sheet"])))]
#[command(after_help = "A filled sheet is typed in as lines of a number on it and what was counted there, as on the \
    screens: `17 2.4`, `18 0`, `19 812g`. The name of an item may stand instead of the number; a place with a colon on a \
    line of its own (`Cellar:`) says where the names below it stand. What follows a # is passed over.\n\n\
    Examples:\n  \
    tantalus count --sheet --place \"Back bar\"\n  \
    tantalus count --from-sheet sheet.txt --at 01:30 --by OM --mark k7qf\n  \
    printf '1 2.4\\n2 0\\n' | tantalus count --from-sheet - --place \"Back bar\"")]
pub(super) struct Args {
    /// Bring in the counts of a plain file (the form of counts.csv)
    #[arg(long, value_name = "FILE")]
    import: Option<PathBuf>,
    /// Write a sheet to print and fill in by hand (PDF), with nothing on it of what should be there
    #[arg(long, conflicts_with = "import")]
    sheet: bool,
    /// Type in a filled sheet from a file, - for standard input: lines of a number and what was counted, such as 17 2.4
    #[arg(long, value_name = "FILE", conflicts_with = "import")]
    from_sheet: Option<PathBuf>,
    /// Only this place on the sheet; as often as needed
    #[arg(long, value_name = "NAME", requires = "paper")]
    place: Vec<String>,
    /// The folder that the sheet is written into; without it, orders beside the book
    #[arg(long, value_name = "DIR", requires = "sheet")]
    into: Option<PathBuf>,
    /// When the sheet was filled in: 01:30 (the last one), "yesterday 01:30" or "2026-11-22 01:30"; without it, now
    #[arg(long, value_name = "TIME", requires = "from_sheet")]
    at: Option<String>,
    /// The mark in the head of the sheet, so that numbers of other shelves are noticed
    #[arg(long, value_name = "MARK", requires = "from_sheet")]
    mark: Option<String>,
    /// Close the count though lines of the sheet have no entry
    #[arg(long, requires = "from_sheet")]
    close: bool,
    /// Take what is hard to believe, and a sheet that is older than the last count of its places
    #[arg(long, requires = "from_sheet")]
    sure: bool,
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
    if let Some(file) = &args.from_sheet {
        return typed_in::type_in(&store, file, args, shared.signer());
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
        let closed = count.closed.map_or_else(|| "not yet".to_owned(), |at| days.minute(at));
        table.row([count.name.clone(), days.minute(count.opened), closed]);
    }
    page.table(&table);
    Ok(page.finish())
}

/// The places that a sheet is of; none where none is named.
fn places(setup: &Setup, args: &Args) -> Result<Vec<PlaceId>, Refusal> {
    args.place.iter().map(|typed| Ok(find::one("place", &setup.places, |p| &p.name, typed)?.id)).collect()
}

/// Writes the sheet and says where.
fn sheet(store: &Store, args: &Args) -> Result<String, Refusal> {
    let setup = comparing::setup(store)?;
    let places = places(&setup, args)?;
    let folder = args.into.clone().unwrap_or_else(|| screens::papers(store));
    let written = reporting::write_count_sheet(&setup, &places, clock::started(), &folder)?.display().to_string();
    if args.json {
        return json::text(&SheetForm { form: FORM, written });
    }
    let mut page = Page::new();
    page.line(format!("Written: {written}"));
    Ok(page.finish())
}
