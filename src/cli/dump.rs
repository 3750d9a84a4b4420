//! `tantalus dump`: the book as plain files.

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::desk::book::Store;
use crate::desk::dump::dump;
use crate::exchange::plain::Plain;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Write the whole book as a folder of plain files
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The folder; it is made when it is not there
    dir: PathBuf,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    folder: String,
    files: Vec<FileForm>,
}

/// One file as JSON.
#[derive(Debug, Serialize)]
struct FileForm {
    file: &'static str,
    lines: u64,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    dump_folder(&shared.open_costs()?, &args.dir, args.json)
}

/// Writes the folder and returns what to print about it.
fn dump_folder(store: &Store, folder: &Path, json: bool) -> Result<String, Refusal> {
    let report = dump(store, folder)?;
    if json {
        let file = |(file, lines): &(Plain, u64)| FileForm { file: file.name(), lines: *lines };
        let files = report.files.iter().map(file).collect();
        return json::text(&Form { form: FORM, folder: folder.display().to_string(), files });
    }
    let mut page = Page::new();
    let mut table = Table::new([("file", Set::Name), ("lines", Set::Figure)]);
    for (file, lines) in &report.files {
        table.row([file.name().to_owned(), lines.to_string()]);
    }
    page.table(&table);
    page.gap();
    page.line(format!("Written to {}", folder.display()));
    Ok(page.finish())
}
