//! The history of a book: every act with who and when, every change of a row with what it was before, chained by hash. From
//! it acts are undone and done again, the book is seen as it was known on a day, and what was edited behind the program's
//! back is found.

mod again;
mod chain;
mod images;
mod netting;
mod told;
mod undoing;
mod verify;
mod watching;
mod wound_back;

pub use again::again;
pub use chain::Tally;
pub use told::{
    act, acts, changed_since, changes_among, changes_of, first_of, gone, last_of, lately, lines_of, tables_of,
    undone_by,
};
pub use undoing::{is_needed, put_back, stands};
pub use verify::{Edited, edited};
pub use wound_back::wind_back;

use super::StoreError;
use super::error::Doing;
use crate::domain::ledger::Act;
use crate::domain::venue::{ActId, Deed, Moment};
use chain::{Behind, Link};
use rusqlite::{Connection, OptionalExtension, Row, named_params};

/// What is about to be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Doer<'a> {
    /// What.
    pub deed: Deed,
    /// When.
    pub at: Moment,
    /// By whom.
    pub by: Option<&'a str>,
    /// The act that it takes back.
    pub undoes: Option<ActId>,
}

fn act_of(row: &Row<'_>) -> rusqlite::Result<Act> {
    Ok(Act {
        id: row.get("id")?,
        at: row.get("at")?,
        by: row.get("by")?,
        deed: row.get("deed")?,
        undoes: row.get("undoes")?,
        changes: row.get("changes")?,
        lines: row.get("lines")?,
    })
}

fn link_of(row: &Row<'_>) -> rusqlite::Result<Link> {
    let link: Vec<u8> = row.get("chain")?;
    // One of another length was never written here, and agrees with nothing.
    Ok(link.try_into().unwrap_or_default())
}

/// The last act, and where the next one begins.
pub(super) struct Last {
    act: Option<Act>,
    behind: Behind,
}

fn last(conn: &Connection) -> Result<Last, StoreError> {
    let found = conn
        .prepare_cached("SELECT * FROM act ORDER BY id DESC LIMIT 1")
        .and_then(|mut s| s.query_row([], |row| Ok((act_of(row)?, link_of(row)?))).optional())
        .doing("reading the history")?;
    Ok(match found {
        Some((act, link)) => {
            let behind = Behind { changes: act.changes, lines: act.lines, link };
            Last { act: Some(act), behind }
        }
        None => Last { act: None, behind: Behind::default() },
    })
}

/// Makes an act of its own of what changed since the last one without any: else it would be taken for a part of what
/// somebody does next, which begins where this gives back. A book without any act yet has nothing that could be told apart.
pub(super) fn set_apart(conn: &Connection, deed: Deed, at: Moment) -> Result<Last, StoreError> {
    let before = last(conn)?;
    if before.act.is_none() {
        return Ok(before);
    }
    new_sales(conn)?;
    match keep(conn, &Doer { deed, at, by: None, undoes: None }, &before)? {
        Some(_) => last(conn),
        None => Ok(before),
    }
}

/// Ends an act: sums up what it changed since the one before and chains it to that. One that changed nothing leaves no
/// trace, unless its sort is always kept.
pub(super) fn end(conn: &Connection, doer: &Doer<'_>, before: &Last) -> Result<Option<ActId>, StoreError> {
    new_sales(conn)?;
    netting::net(conn, before.behind.changes)?;
    keep(conn, doer, before)
}

fn keep(conn: &Connection, doer: &Doer<'_>, before: &Last) -> Result<Option<ActId>, StoreError> {
    let behind = &before.behind;
    let one = |sql| conn.prepare_cached(sql).and_then(|mut s| s.query_row([], |row| row.get(0)));
    let doing = "writing down what was done";
    let changes: i64 = one("SELECT coalesce(max(seq), 0) FROM change").doing(doing)?;
    let lines: i64 = one("SELECT coalesce(max(seq), 0) FROM count_line").doing(doing)?;
    if (changes, lines) == (behind.changes, behind.lines) && !doer.deed.is_always_kept() {
        return Ok(None);
    }
    let act = Act {
        id: ActId(before.act.as_ref().map_or(1, |act| act.id.0 + 1)),
        at: doer.at,
        by: doer.by.map(str::to_owned),
        deed: doer.deed,
        undoes: doer.undoes,
        changes,
        lines,
    };
    let link = chain::link(conn, behind, &act)?;
    conn.prepare_cached(
        "INSERT INTO act (id, at, by, deed, undoes, changes, lines, chain)
         VALUES (:id, :at, :by, :deed, :undoes, :changes, :lines, :chain)",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":id": act.id, ":at": act.at, ":by": act.by, ":deed": act.deed, ":undoes": act.undoes,
            ":changes": changes, ":lines": lines, ":chain": link.as_slice(),
        })
    })
    .doing(doing)?;
    Ok(Some(act.id))
}

/// Begins the history of a book anew whose rows were saved out of a damaged one.
pub(super) fn begin_anew(conn: &Connection) -> Result<(), StoreError> {
    conn.execute_batch("DELETE FROM act; DELETE FROM change; DELETE FROM sale_tally;")
        .doing("beginning the history of the book anew")?;
    begin_with(conn, Deed::Salvaged)
}

/// Begins the history of a book, or goes on with it after a migration changed tables. What a book holds that had none is its
/// first act, of the time at which the last of it was entered: nothing more is known of when it was.
pub(super) fn begin(conn: &Connection) -> Result<(), StoreError> {
    begin_with(conn, Deed::Begun)
}

fn begin_with(conn: &Connection, deed: Deed) -> Result<(), StoreError> {
    let doing = "beginning the history of the book";
    if !watch_if_told(conn)? {
        return Ok(());
    }
    let before = last(conn)?;
    if let Some(last) = &before.act {
        return set_apart(conn, Deed::BroughtUp, last.at).map(|_| ());
    }
    let tally = verify::tally(conn)?;
    put_tally(conn, tally)?;
    // The tally is written down once, with all the rest.
    conn.execute("DELETE FROM change", []).doing(doing)?;
    for table in watching::tables(conn)?.iter().filter(|table| watching::tells_new_rows(table)) {
        let image = watching::image(&watching::columns(conn, table)?, "");
        let sql = format!("INSERT INTO change (tab, after) SELECT '{table}', {image} FROM \"{table}\"");
        conn.execute(&sql, []).doing(doing)?;
    }
    let at: Option<i64> = conn
        .query_row(
            "SELECT max(at) FROM (SELECT max(entered) AS at FROM journal UNION ALL SELECT max(at) FROM count_line
             UNION ALL SELECT max(at) FROM count_closing UNION ALL SELECT max(at) FROM taken_file
             UNION ALL SELECT max(at) FROM bill UNION ALL SELECT max(entered) FROM weighing
             UNION ALL SELECT max(entered) FROM explanation UNION ALL SELECT max(placed) FROM purchase_order)",
            [],
            |row| row.get(0),
        )
        .doing(doing)?;
    // A book that was just made holds nothing that anybody entered: its first act is whatever begins it.
    if at.is_none() && deed == Deed::Begun && is_blank(conn)? {
        return Ok(());
    }
    end(conn, &Doer { deed, at: Moment(at.unwrap_or(0)), by: None, undoes: None }, &before)?;
    Ok(())
}

/// Brings the tally up to the lines of receipts that nobody has added to it.
fn new_sales(conn: &Connection) -> Result<(), StoreError> {
    let sql =
        "SELECT coalesce((SELECT upto FROM sale_tally), 0) AS upto, coalesce((SELECT max(id) FROM sale), 0) AS last";
    let (upto, last): (i64, i64) = conn
        .prepare_cached(sql)
        .and_then(|mut s| s.query_row([], |row| Ok((row.get("upto")?, row.get("last")?))))
        .doing("keeping the tally of sales")?;
    if last <= upto {
        return Ok(());
    }
    put_tally(conn, tally(conn)?.and(verify::tally_of(conn, &["sale"], upto)?))
}

/// Whether a book has a history, which one of an older version has not.
pub(super) fn is_told(conn: &Connection) -> Result<bool, StoreError> {
    let sql = "SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = 'act')";
    conn.query_row(sql, [], |row| row.get(0)).doing("looking for the history of the book")
}

/// Before a later version changes tables: what another program changed is told as that.
pub(super) fn before_steps(conn: &Connection) -> Result<(), StoreError> {
    let last = if is_told(conn)? { last(conn)?.act } else { None };
    last.map_or(Ok(()), |last| set_apart(conn, Deed::Foreign, last.at).map(|_| ()))
}

/// Watches the tables of a book that has a history; says whether it has one.
pub(super) fn watch_if_told(conn: &Connection) -> Result<bool, StoreError> {
    let told = is_told(conn)?;
    if told {
        watching::watch(conn)?;
    }
    Ok(told)
}

/// Whether a book knows nothing yet, not even whose it is.
fn is_blank(conn: &Connection) -> Result<bool, StoreError> {
    conn.query_row("SELECT NOT EXISTS (SELECT 1 FROM venue WHERE key <> 'uid')", [], |row| row.get(0))
        .doing("beginning the history of the book")
}

/// The tally of what was ever taken in of receipts.
pub(super) fn tally(conn: &Connection) -> Result<Tally, StoreError> {
    let found = conn
        .prepare_cached("SELECT lines, sum FROM sale_tally")
        .and_then(|mut s| s.query_row([], |row| Ok((row.get("lines")?, row.get::<_, String>("sum")?))).optional())
        .doing("reading the tally of sales")?;
    let Some((lines, sum)) = found else { return Ok(Tally::default()) };
    let sum = u128::from_str_radix(&sum, 16)
        .map_err(|_| StoreError::Damaged { what: format!("the tally of sales says “{sum}”") })?;
    Ok(Tally { lines, sum })
}

/// Keeps the tally of what was taken in.
pub(super) fn put_tally(conn: &Connection, tally: Tally) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO sale_tally (only, lines, sum, upto) SELECT 1, :lines, :sum, coalesce(max(id), 0) FROM sale
         WHERE true ON CONFLICT (only) DO UPDATE SET lines = excluded.lines, sum = excluded.sum, upto = excluded.upto",
    )
    .and_then(|mut s| s.execute(named_params! { ":lines": tally.lines, ":sum": format!("{:032x}", tally.sum) }))
    .doing("keeping the tally of sales")
    .map(|_| ())
}
