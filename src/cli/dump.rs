//! `tantalus dump`: the book as plain files.

use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::desk::book::Store;
use crate::desk::dump::dump;
use std::path::{Path, PathBuf};

/// Write the whole book as a folder of plain files
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The folder; it is made when it is not there
    pub(super) dir: PathBuf,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    dump_folder(&shared.open()?, &args.dir)
}

/// Writes the folder and returns what to print about it.
fn dump_folder(store: &Store, folder: &Path) -> Result<String, Refusal> {
    let report = dump(store, folder)?;
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
