//! `tantalus history`: what was done to the book, by whom and when; taking it back and doing it again.

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::{history, undoing};
use crate::domain::rows::{ActRow, HistoryView};
use crate::domain::venue::{ActId, DayRule};
use serde::Serialize;

/// Show what was done to the book, by whom and when; take something back, or do it again
///
/// Nothing is ever erased: what is taken back stays in the history beside what took it back. To see the whole book as it was
/// known at some time, put --as-known TIME before or after any command that shows something.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(super) struct Args {
    /// How many acts are shown, the newest first
    #[arg(long, value_name = "NUMBER", default_value_t = 30, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    most: u32,
    /// Only what was done before this act
    #[arg(long, value_name = "ACT")]
    before: Option<i64>,
    /// One act alone, with all that it changed
    #[arg(long, value_name = "ACT", conflicts_with_all = ["most", "before"])]
    act: Option<i64>,
    /// Write JSON
    #[arg(long)]
    json: bool,
    #[command(subcommand)]
    change: Option<Change>,
}

#[derive(Debug, clap::Subcommand)]
enum Change {
    /// Take an act back: what it entered no longer counts, and the history tells of both
    Undo {
        /// The number of the act
        #[arg(value_name = "ACT")]
        act: i64,
    },
    /// Do an act again that was taken back
    Redo {
        /// The number of the act
        #[arg(value_name = "ACT")]
        act: i64,
    },
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    acts: Vec<ActForm>,
    more: bool,
}

/// So many sentences of an act are said once it was taken back.
const FEW: usize = 5;

/// One act as JSON.
#[derive(Debug, Serialize)]
struct ActForm {
    act: i64,
    at: String,
    by: Option<String>,
    deed: &'static str,
    said: Vec<String>,
    takes_back: Option<i64>,
    taken_back_by: Option<i64>,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    // What somebody did themselves they may take back, whoever they are.
    let store = if args.change.is_some() { shared.open()? } else { shared.open_costs()? };
    match &args.change {
        Some(Change::Undo { act }) => {
            undoing::undo(&store, ActId(*act), clock::started())?;
            now_stands(&store, *act, "Taken back")
        }
        Some(Change::Redo { act }) => {
            undoing::redo(&store, ActId(*act), clock::started())?;
            now_stands(&store, *act, "Done again")
        }
        None => shown(&store, args),
    }
}

/// What was taken back or done again, in a line.
fn now_stands(store: &Store, act: i64, done: &str) -> Result<String, Refusal> {
    let (_, row) = history::told(store, ActId(act))?;
    let mut page = Page::new();
    let mut said = row.said;
    let more = said.len().saturating_sub(FEW);
    said.truncate(FEW);
    if more > 0 {
        said.push(format!("and {more} more"));
    }
    page.line(format!("{done}: act {act}, {}: {}.", row.act.deed, said.join("; ")));
    Ok(page.finish())
}

fn shown(store: &Store, args: &Args) -> Result<String, Refusal> {
    let view = match args.act {
        Some(act) => {
            let (setup, row) = history::told(store, ActId(act))?;
            HistoryView { setup, acts: vec![row], more: false }
        }
        None => history::view(store, args.before.map(ActId), args.most)?,
    };
    let days = view.setup.venue.days;
    if args.json {
        let acts = view.acts.iter().map(|row| form(row, &days)).collect();
        return json::text(&Form { form: FORM, acts, more: view.more });
    }
    Ok(match args.act {
        Some(_) => alone(&view.acts[0], &days),
        None => page(&view, &days),
    })
}

fn form(row: &ActRow, days: &DayRule) -> ActForm {
    ActForm {
        act: row.act.id.0,
        at: json::time(days, row.act.at),
        by: row.act.by.clone(),
        deed: row.act.deed.word(),
        said: row.said.clone(),
        takes_back: row.act.undoes.map(|id| id.0),
        taken_back_by: row.undone.map(|id| id.0),
    }
}

fn alone(row: &ActRow, days: &DayRule) -> String {
    let mut page = Page::new();
    let by = row.act.by.as_deref().map(|by| format!(", by {by}")).unwrap_or_default();
    page.line(format!("Act {}: {}, {}{by}.", row.act.id.0, row.act.deed, days.short(row.act.at)));
    row.said.iter().for_each(|said| page.line(format!("  {said}")));
    if let Some(undone) = row.undone {
        page.line(format!("Taken back by act {}.", undone.0));
    }
    page.finish()
}

fn page(view: &HistoryView, days: &DayRule) -> String {
    let mut page = Page::new();
    let mut table = Table::new([
        ("act", Set::Figure),
        ("when", Set::Words),
        ("by", Set::Words),
        ("what", Set::Words),
        ("", Set::Name),
    ]);
    for row in &view.acts {
        let undone = row.undone.map(|id| format!(" [taken back by {}]", id.0)).unwrap_or_default();
        table.row([
            row.act.id.0.to_string(),
            days.short(row.act.at),
            row.act.by.clone().unwrap_or_default(),
            row.act.deed.word().to_owned(),
            format!("{}{undone}", row.said.join("; ")),
        ]);
    }
    page.table(&table);
    if let Some(last) = view.acts.last().filter(|_| view.more) {
        page.gap();
        page.line(format!("Earlier ones: --before {}.", last.act.id.0));
    }
    page.finish()
}
