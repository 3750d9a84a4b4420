//! Which facts a book has, in a few numbers: where they are the same, what was worked out of sales, counts and the journal
//! still holds.

use super::StoreError;
use super::error::Doing;
use rusqlite::Connection;

/// The facts of a book. Lines of a count that is going on matter only where something was found empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    book: Option<String>,
    /// How often the sums of sales were written, and up to which line they hold.
    sums: (i64, i64),
    sale: i64,
    journal: i64,
    empty: i64,
    closing: i64,
    weighing: i64,
}

/// The mark of a book as it is now; none while the sums of sales do not hold, since sales have changed then in ways that
/// no number tells.
///
/// # Errors
/// [`StoreError`].
pub fn mark(conn: &Connection) -> Result<Option<Mark>, StoreError> {
    let sql = "SELECT (SELECT written FROM sale_day_state) AS written, (SELECT upto FROM sale_day_state) AS upto,
                      (SELECT coalesce(max(id), 0) FROM sale) AS sale,
                      (SELECT coalesce(max(seq), 0) FROM journal) AS journal,
                      (SELECT count(*) FROM count_line WHERE sealed = 0 AND open = '' AND withdrawn = 0) AS empty,
                      (SELECT coalesce(max(seq), 0) FROM count_closing) AS closing,
                      (SELECT coalesce(max(seq), 0) FROM weighing) AS weighing";
    let read = |row: &rusqlite::Row<'_>| {
        Ok(Mark {
            book: conn.path().map(str::to_owned),
            sums: (row.get("written")?, row.get("upto")?),
            sale: row.get("sale")?,
            journal: row.get("journal")?,
            empty: row.get("empty")?,
            closing: row.get("closing")?,
            weighing: row.get("weighing")?,
        })
    };
    let mark =
        conn.prepare_cached(sql).and_then(|mut s| s.query_row([], read)).doing("reading which facts there are")?;
    Ok(Some(mark).filter(|mark| mark.sums.1 >= 0))
}
