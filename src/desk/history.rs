//! The history: what was done, by whom and when, in words.

use super::DeskError;
use crate::domain::ledger::{Act, Image, RowChange};
use crate::domain::rows::{ActRow, HistoryView, LineTold, Telling};
use crate::domain::venue::{ActId, Moment, Seq, Setup};
use crate::store::counts::{self, CountRow};
use crate::store::{Connection, Store, history, orders, setup};
use serde_json::Value;
use std::collections::HashMap;
use std::sync::Arc;

/// Sentences that are told of an act in a list; of more, how many of which sort.
const FEW: usize = 3;
/// Rows that are told of an act where it is looked at alone.
const MANY: u32 = 500;

/// Tables of lines of receipts, which are told by their tally.
const RECEIPTS: &[&str] = &["sale", "sale_held", "withdrawn_sale"];
const TALLY: &[&str] = &["sale_tally"];

/// The acts before one, or the last ones, the newest first.
///
/// # Errors
/// [`DeskError`].
pub fn view(store: &Store, before: Option<ActId>, most: u32) -> Result<HistoryView, DeskError> {
    store.read(|conn| {
        let setup = Arc::new(setup::load_any(conn)?.0);
        let telling = Telling::new(&setup).with(names(conn)?);
        let mut acts = history::acts(conn, before, most.saturating_add(1))?;
        let more = acts.len() > most as usize;
        acts.truncate(most as usize);
        let row = |act: Act| {
            let said = said(conn, &telling, &act, FEW)?;
            let undone = history::undone_by(conn, act.id)?;
            Ok(ActRow { act, said, undone })
        };
        let acts: Result<Vec<ActRow>, DeskError> = acts.into_iter().map(row).collect();
        Ok(HistoryView { acts: acts?, more, setup: setup.clone() })
    })
}

/// The last act: as long as it is the same one, nobody has done anything.
///
/// # Errors
/// [`DeskError`].
pub fn last(store: &Store) -> Result<Option<ActId>, DeskError> {
    store.read(|conn| Ok(history::acts(conn, None, 1)?.first().map(|act| act.id)))
}

/// One act, all that is known of it told.
///
/// # Errors
/// [`DeskError`].
pub fn told(store: &Store, id: ActId) -> Result<(Arc<Setup>, ActRow), DeskError> {
    store.read(|conn| {
        let setup = Arc::new(setup::load_any(conn)?.0);
        let act = history::act(conn, id)?;
        let said = said(conn, &Telling::new(&setup).with(names(conn)?), &act, MANY as usize)?;
        let undone = history::undone_by(conn, id)?;
        Ok((setup, ActRow { act, said, undone }))
    })
}

/// What orders and counts are called, those that were given up too; and what was called so that is not in the book any more.
fn names(conn: &Connection) -> Result<HashMap<(&'static str, i64), String>, DeskError> {
    let orders = orders::names(conn)?.into_iter().map(|(id, name)| (("purchase_order", id.0), name));
    let counts = counts::names(conn)?.into_iter().map(|(id, name)| (("count", id.0), name));
    let gone = history::gone(conn)?.into_iter().map(|(table, id, name)| ((table, id), name));
    Ok(gone.chain(orders).chain(counts).collect())
}

/// The book as it was known at a moment, to be looked at.
///
/// # Errors
/// [`DeskError`]: its history begins later.
pub fn known_at(store: &Store, at: Moment) -> Result<Store, DeskError> {
    Ok(store.known_at(at)?)
}

fn said(conn: &Connection, telling: &Telling<'_>, act: &Act, most: usize) -> Result<Vec<String>, DeskError> {
    let mut said = Vec::new();
    if act.undoes.is_some() {
        said.push(say!("act {id}", id = history::first_of(conn, act)?.id.0));
    }
    for (row, before) in history::lines_of(conn, act, MANY)? {
        said.push(telling.line(&line_told(row, before)));
    }
    if said.len() > most {
        said = vec![say!("{n} lines", n = said.len())];
    }
    // What cannot be told one by one is only counted: a folder of plain files is tens of thousands of rows.
    let rows = history::tables_of(conn, act)?;
    let rows = rows.iter().map(|(table, rows)| (table.as_str(), *rows)).filter(|(table, _)| !RECEIPTS.contains(table));
    if rows.clone().map(|(_, rows)| rows).sum::<usize>() > MANY as usize {
        said.extend(telling.sorts(rows));
        said.extend(telling.changes(&history::changes_among(conn, act, TALLY, false)?, most));
        return Ok(said);
    }
    let mut changes = history::changes_among(conn, act, RECEIPTS, true)?;
    for change in &mut changes {
        if let Some(taken) = taken_back(conn, change)? {
            *change = taken;
        }
    }
    said.extend(telling.changes(&changes, most));
    Ok(said)
}

fn line_told(row: CountRow, before: Option<CountRow>) -> LineTold {
    let in_force = |row: CountRow| (!row.withdrawn).then_some(row.line);
    LineTold { now: in_force(row), before: before.and_then(in_force) }
}

/// A row of the journal that takes another back: what that said, as taken away.
fn taken_back(conn: &Connection, change: &RowChange) -> Result<Option<RowChange>, DeskError> {
    let Some(seq) = change.row().filter(|_| change.table == "journal").and_then(|row| row.number("reverses")) else {
        return Ok(None);
    };
    let key = seq_image(Seq(seq));
    let kind = history::stands(conn, "journal", &key)?.and_then(|row| row.text("kind").map(str::to_owned));
    let Some(table) = kind.filter(|kind| kind != "reversal") else { return Ok(None) };
    let before = history::stands(conn, &table, &key)?;
    Ok(Some(RowChange { table, before, after: None }))
}

/// The key of a row that is told by its number.
fn seq_image(seq: Seq) -> Image {
    Image([("seq".to_owned(), Value::from(seq.0))].into_iter().collect())
}
