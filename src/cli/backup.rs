//! `tantalus backup`: a copy of the book, and which copies there are.

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::copying;
use crate::domain::copies::{Holds, Why};
use crate::domain::rows::{CopiesState, CopyRow, size_words};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Copy the book, or list the copies of it
///
/// A copy lies in the folder BOOK.copies beside the book, and in the folder that copies_to in venue.csv names. It is
/// made after every closed count too. Each is opened, gone through and compared with the book before it gets its name.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    tantalus backup\n  \
    tantalus backup --to /media/stick/before-the-fair.tantalus\n  \
    tantalus backup --list")]
pub(super) struct Args {
    /// Write the copy here: a new file, or a folder that is there
    #[arg(long, value_name = "FILE-OR-FOLDER", conflicts_with = "list")]
    to: Option<PathBuf>,
    /// List the copies that are known, the newest first: their numbers are what `restore` takes
    #[arg(long)]
    list: bool,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// What was copied, as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    written: Vec<String>,
    holds: HoldsForm,
    trouble: Option<String>,
}

/// What a copy holds, as JSON.
#[derive(Debug, Serialize)]
pub(super) struct HoldsForm {
    bar: Option<String>,
    version: i64,
    count: Option<String>,
    count_closed: Option<String>,
    sales_until: Option<String>,
}

/// The list as JSON.
#[derive(Debug, Serialize)]
struct ListForm {
    form: u32,
    copies: Vec<CopyForm>,
}

/// A copy of the list as JSON.
#[derive(Debug, Serialize)]
struct CopyForm {
    number: usize,
    made: Option<String>,
    why: String,
    paths: Vec<String>,
    bytes: u64,
    holds: Option<HoldsForm>,
    fault: Option<String>,
}

impl HoldsForm {
    pub(super) fn of(holds: &Holds) -> HoldsForm {
        let time = |at| json::time(&holds.days, at);
        HoldsForm {
            bar: holds.bar.clone(),
            version: holds.version,
            count: holds.count.as_ref().map(|count| count.name.clone()),
            count_closed: holds.count.as_ref().and_then(|count| count.closed).map(time),
            sales_until: holds.sale.map(time),
        }
    }
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    shared.as_it_is()?;
    if args.list {
        return list(&shared.path()?, args.json);
    }
    let store = shared.open()?;
    let (written, holds, trouble) = match &args.to {
        Some(to) => {
            let (written, holds) = copying::copy_to(&store, to, clock::started())?;
            (vec![written], holds, None)
        }
        None => copied(&store)?,
    };
    if args.json {
        let written = written.iter().map(|path| path.display().to_string()).collect();
        return json::text(&Form { form: FORM, written, holds: HoldsForm::of(&holds), trouble });
    }
    let mut page = Page::new();
    for path in &written {
        page.line(format!("Copied to {}", path.display()));
    }
    page.line(format!("Opened again and gone through: {}.", holds.words()));
    if let Some(trouble) = &trouble {
        page.line(format!("! {trouble}"));
    }
    Ok(page.finish())
}

/// Makes the usual copies; where none could be made beside the book, that is a refusal.
fn copied(store: &Store) -> Result<(Vec<PathBuf>, Holds, Option<String>), Refusal> {
    let state = copying::copy(store, Why::Asked, clock::started())?;
    let trouble = state.trouble();
    if state.failed.is_some() {
        let hint = "the book itself is as it was; make room there, or name another place with --to";
        return Err(Refusal::new(trouble.unwrap_or_default()).hint(hint));
    }
    let newest = copying::list_beside(store)?.into_iter().find(|row| row.at == state.last && row.holds.is_ok());
    match newest {
        Some(CopyRow { paths, holds: Ok(holds), .. }) => Ok((paths, holds, trouble)),
        _ => Err(Refusal::new("the copy was made and is not there any more").hint("make another one")),
    }
}

fn list(book: &Path, as_json: bool) -> Result<String, Refusal> {
    let rows = copying::list(book)?;
    // Times are those of the bar, as the newest copy that opens has it.
    let days = rows.iter().find_map(|row| row.holds.as_ref().ok()).map(|holds| holds.days);
    if as_json {
        let form = |(n, row): (usize, &CopyRow)| CopyForm {
            number: n + 1,
            made: days.as_ref().zip(row.at).map(|(days, at)| json::time(days, at)),
            why: row.made.words(),
            paths: row.paths.iter().map(|path| path.display().to_string()).collect(),
            bytes: row.size,
            holds: row.holds.as_ref().ok().map(HoldsForm::of),
            fault: row.holds.as_ref().err().cloned(),
        };
        return json::text(&ListForm { form: FORM, copies: rows.iter().enumerate().map(form).collect() });
    }
    let mut page = Page::new();
    if rows.is_empty() {
        page.line("There are no copies of the book yet: `tantalus backup` makes one, and so does every closed count.");
        return Ok(page.finish());
    }
    let beside = copying::folder(book);
    let mut table = Table::new([
        ("no.", Set::Figure),
        ("made", Set::Words),
        ("why", Set::Words),
        ("where", Set::Words),
        ("size", Set::Spare),
        ("holds", Set::Name),
    ]);
    for (n, row) in rows.iter().enumerate() {
        let made = days.as_ref().zip(row.at).map_or(String::new(), |(days, at)| days.minute(at));
        let holds = row.holds.as_ref().map_or_else(|fault| format!("! {fault}"), Holds::words);
        let place = row.place(&beside).to_owned();
        table.row([(n + 1).to_string(), made, row.made.words(), place, size_words(row.size), holds]);
    }
    page.table(&table);
    page.gap();
    page.line(format!("here: {}", beside.display()));
    let second = rows.iter().flat_map(|row| &row.paths).find_map(|path| path.parent().filter(|dir| *dir != beside));
    if let Some(second) = second.filter(|dir| Some(*dir) != beside.parent()) {
        page.line(format!("second: {}", second.display()));
    }
    page.line("`tantalus restore NUMBER` puts one in the place of the book, which is copied first.");
    Ok(page.finish())
}

/// Copies the book after a count was closed by a command; what there is to say about it.
pub(super) fn after_closing(store: &Store) -> Result<CopiesState, Refusal> {
    Ok(copying::copy(store, Why::Closing, clock::started())?)
}

/// Copies the book if counts were closed in it since the last copy; what is wrong with its copies, if anything is.
pub(super) fn catch_up(store: &Store) -> Result<Option<String>, Refusal> {
    Ok(copying::catch_up(store, clock::started())?.trouble())
}

/// How it stands with the copies, in a line.
pub(super) fn told(state: &CopiesState) -> String {
    match (state.trouble(), state.whereabouts()) {
        (Some(trouble), _) => format!("! {trouble}"),
        (None, Some(whereabouts)) => format!("Copied {whereabouts}."),
        (None, None) => String::new(),
    }
}
