//! Typing in a sheet that was filled in by hand.

use super::{Args, places};
use crate::cli::json::{self, FORM};
use crate::cli::page::Page;
use crate::cli::table::{Set, Table};
use crate::cli::{Refusal, backup};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::comparing;
use crate::desk::filled::{self, Taking};
use crate::domain::measure::number_of;
use crate::domain::rows::{CopiesState, FilledSheet, SheetMark, TypedIn, ranges};
use crate::domain::venue::{PlaceId, Setup};
use serde::Serialize;
use std::path::Path;

/// What came of it, as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    count: String,
    at: String,
    closed: bool,
    by: Option<String>,
    mark: Option<String>,
    lines: usize,
    kept: usize,
    missing: Vec<MissingForm>,
    copied: bool,
    copy_trouble: Option<String>,
}

/// A line without an entry, as JSON.
#[derive(Debug, Serialize)]
struct MissingForm {
    number: Option<usize>,
    place: String,
    item: String,
}

/// Types a sheet in and returns what to print about it.
pub(super) fn type_in(store: &Store, file: &Path, args: &Args, by: Option<String>) -> Result<String, Refusal> {
    let setup = comparing::setup(store)?;
    let now = clock::now();
    let at = setup.venue.days.said_past(args.at.as_deref().unwrap_or_default(), now);
    let at = at.map_err(|wrong| Refusal::new(format!("--at: {wrong}")))?;
    let mut of = places(&setup, args)?;
    if of.is_empty() {
        let used = |id: PlaceId| setup.shelves.iter().any(|shelf| shelf.place == id);
        of = setup.places.iter().map(|place| place.id).filter(|id| used(*id)).collect();
    }
    let mark = args.mark.clone().filter(|mark| !mark.trim().is_empty());
    let sheet =
        FilledSheet { places: of, at, by, mark: mark.map_or(SheetMark::Unsaid, SheetMark::Said), older: args.sure };
    let typed = filled::take(store, file, &sheet, Taking { sure: args.sure, close: args.close }, now)?;
    let copies = typed.count.closed.map(|_| backup::after_closing(store)).transpose()?;
    if args.json {
        return json::text(&form(&setup, &typed, copies.as_ref()));
    }
    Ok(told(&setup, &typed, copies.as_ref()))
}

fn form(setup: &Setup, typed: &TypedIn, copies: Option<&CopiesState>) -> Form {
    let missing = typed.missing.iter().map(|(number, place, item)| MissingForm {
        number: *number,
        place: setup.place_name(*place).to_owned(),
        item: setup.item_name(*item).to_owned(),
    });
    Form {
        form: FORM,
        count: typed.count.name.clone(),
        at: json::time(&setup.venue.days, typed.count.opened),
        closed: typed.count.closed.is_some(),
        by: typed.by.clone(),
        mark: typed.mark.clone(),
        lines: typed.lines,
        kept: typed.kept,
        missing: missing.collect(),
        copied: copies.is_some_and(|copies| copies.failed.is_none()),
        copy_trouble: copies.and_then(CopiesState::trouble),
    }
}

fn told(setup: &Setup, typed: &TypedIn, copies: Option<&CopiesState>) -> String {
    let mut page = Page::new();
    page.line(format!("Typed in: {}, of {}", typed.count.name, setup.venue.days.minute(typed.count.opened)));
    let entries = number_of(typed.kept, "entry", "entries");
    page.line(format!("{entries}; the sheet has {}.", number_of(typed.lines, "line", "lines")));
    let numbers: Vec<usize> = typed.missing.iter().filter_map(|(number, ..)| *number).collect();
    if !typed.missing.is_empty() {
        let which = if numbers.is_empty() { String::new() } else { format!(": {}", ranges(&numbers)) };
        page.line(format!("Without an entry{which}"));
        let mut table = Table::new([("no.", Set::Figure), ("place", Set::Words), ("item", Set::Name)]);
        for (number, place, item) in &typed.missing {
            let number = number.map_or(String::new(), |number| number.to_string());
            table.row([number, setup.place_name(*place).to_owned(), setup.item_name(*item).to_owned()]);
        }
        page.table(&table);
    }
    match (typed.count.closed.is_some(), typed.missing.is_empty()) {
        (true, true) => page.line("Every line has an entry, and the count is closed."),
        (true, false) => page.line("The count is closed; the lines without an entry tell nothing this time."),
        (false, _) => page.line("The count is open: go on with it on the screen Count, and close it there (x)."),
    }
    if let Some(copies) = copies {
        page.line(backup::told(copies));
    }
    page.finish()
}
