//! `tantalus report`: a period as a page to print and as a table.

use super::between::Between;
use super::json::{self, FORM};
use super::page::Page;
use super::{Refusal, Shared, screens};
use crate::clock;
use crate::desk::reporting;
use serde::Serialize;
use std::path::PathBuf;

/// Write the report of a period: a page to print or to open on a phone, and a table
///
/// The page has what to look into with its likeliest cause, charts over the periods, and the cost of goods used by kind;
/// the table has every item for a spreadsheet. Both are named after the day of the count that the period ends with.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    between: Between,
    /// The folder that is written into; without it, orders beside the book
    #[arg(long, value_name = "DIR")]
    into: Option<PathBuf>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// Where the files are, as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    written: Vec<String>,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open_costs()?;
    let choice = args.between.choice(&store)?;
    let folder = args.into.clone().unwrap_or_else(|| screens::papers(&store));
    let files = reporting::write_week(&store, choice, clock::started(), &folder)?;
    let written: Vec<String> = files.iter().map(|file| file.display().to_string()).collect();
    if args.json {
        return json::text(&Form { form: FORM, written });
    }
    let mut page = Page::new();
    written.iter().for_each(|file| page.line(format!("Written: {file}")));
    Ok(page.finish())
}
