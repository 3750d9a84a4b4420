//! Finds what was changed behind the program's back.

use super::chain::{self, Behind, Tally};
use super::images::parse_any;
use super::watching::{self, Column, columns};
use super::{act_of, link_of, undone_by};
use crate::domain::ledger::{Act, Image};
use crate::domain::venue::Deed;
use crate::store::StoreError;
use crate::store::error::Doing;
use crate::store::query::all;
use rusqlite::Connection;

/// Something that is not as it was entered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Edited {
    /// What an act entered, or the act itself: the first one whose hash does not agree.
    Act(Box<Act>),
    /// A row is not what the history says of it.
    Row {
        /// Its table.
        table: String,
        /// What the history says; none where it says that there is no such row.
        told: Option<Image>,
        /// What stands there; none where there is no such row.
        stands: Option<Image>,
    },
    /// Lines of receipts were changed, added or taken away.
    Sales {
        /// How many were taken in.
        told: i64,
        /// How many there are.
        stand: i64,
    },
    /// Changes that no act tells of.
    Untold(i64),
    /// Another program changed rows before an act, so that it could be told.
    Foreign(Box<Act>),
    /// So many more rows that are not what the history says of them.
    More(i64),
}

/// Rows that are named one by one; the rest are counted by their number.
const MOST: i64 = 20;

/// What was edited: the chain, every row that the history tells of, and the tally of sales. Nothing in a sound book.
///
/// # Errors
/// [`StoreError`].
pub fn edited(conn: &Connection) -> Result<Vec<Edited>, StoreError> {
    let mut out = Vec::new();
    let mut behind = Behind::default();
    let doing = "following the history";
    {
        let mut statement = conn.prepare("SELECT * FROM act ORDER BY id").doing(doing)?;
        let mut rows = statement.query([]).doing(doing)?;
        while let Some(row) = rows.next().doing(doing)? {
            let (act, link) = (act_of(row).doing(doing)?, link_of(row).doing(doing)?);
            let sound = chain::link(conn, &behind, &act)? == link;
            behind = Behind { changes: act.changes, lines: act.lines, link };
            match (sound, act.deed) {
                // Each later one is chained to what is written, so that more than one edit is told.
                (false, _) => out.push(Edited::Act(Box::new(act))),
                // What was taken back since is as it was before.
                (true, Deed::Foreign) if undone_by(conn, act.id)?.is_none() => out.push(Edited::Foreign(Box::new(act))),
                (true, _) => {}
            }
        }
    }
    let untold: i64 = conn
        .query_row(
            "SELECT (SELECT count(*) FROM change WHERE seq > :changes) + (SELECT count(*) FROM count_line WHERE seq > :lines)",
            rusqlite::named_params! { ":changes": behind.changes, ":lines": behind.lines },
            |row| row.get(0),
        )
        .doing(doing)?;
    // What a new book begins with is told by its first act.
    if untold > 0 && behind != Behind::default() {
        out.push(Edited::Untold(untold));
    }
    rows(conn, &mut out)?;
    let (told, stands) = (super::tally(conn)?, tally(conn)?);
    if told != stands {
        out.push(Edited::Sales { told: told.lines, stand: stands.lines });
    }
    Ok(out)
}

/// Compares the rows of every table with what the history says of them last.
fn rows(conn: &Connection, out: &mut Vec<Edited>) -> Result<(), StoreError> {
    let doing = "comparing rows with the history";
    let mut wrong = 0;
    for table in watching::tables(conn)?.into_iter().filter(|table| watching::tells_new_rows(table)) {
        let sql = comparison(&table, &columns(conn, &table)?);
        let found: Vec<(Option<String>, Option<String>)> =
            all(doing, conn, &sql, [&table], |row| Ok((row.get("told")?, row.get("stands")?)))?;
        for (told, stands) in found {
            let (told, stands) = (parse_any(told)?, parse_any(stands)?);
            // Columns that came later are not in what was told before.
            if same(told.as_ref(), stands.as_ref()) {
                continue;
            }
            wrong += 1;
            if wrong <= MOST {
                out.push(Edited::Row { table: table.clone(), told, stands });
            }
        }
    }
    if wrong > MOST {
        out.push(Edited::More(wrong - MOST));
    }
    Ok(())
}

/// The rows of a table that are not what the history says of them last, each as it was told and as it stands.
fn comparison(table: &str, columns: &[Column]) -> String {
    let keys: Vec<String> = columns.iter().filter(|c| c.key).map(|c| format!("\"{}\"", c.name)).collect();
    let told_keys: Vec<String> =
        columns.iter().filter(|c| c.key).map(|c| format!("coalesce(after, before) ->> '$.{}'", c.name)).collect();
    // What is said last of each key, against what stands; told as text, so that both sides are written alike. Kept for
    // the moment, which gives both an index: else each row of the one is looked for among all of the other.
    format!(
        "WITH told AS MATERIALIZED (SELECT json_array({told}) AS key, after, max(seq) FROM change
                  WHERE tab = ?1 AND json_valid(coalesce(after, before)) GROUP BY 1),
              stands AS MATERIALIZED (SELECT json_array({keys}) AS key, {image} AS row FROM \"{table}\")
         SELECT t.after AS told, s.row AS stands FROM told t LEFT JOIN stands s USING (key) WHERE t.after IS NOT s.row
         UNION ALL SELECT NULL, s.row FROM stands s LEFT JOIN told t USING (key) WHERE t.key IS NULL",
        told = told_keys.join(", "),
        keys = keys.join(", "),
        image = watching::image(columns, ""),
    )
}

/// Whether a row is what was told of it; a column that came with a later version stands empty or as it begins.
fn same(told: Option<&Image>, stands: Option<&Image>) -> bool {
    match (told, stands) {
        (None, None) => true,
        (Some(told), Some(stands)) => told.0.iter().all(|(column, cell)| stands.0.get(column) == Some(cell)),
        _ => false,
    }
}

/// The tally of the lines that are in the book, in force or taken back.
pub(super) fn tally(conn: &Connection) -> Result<Tally, StoreError> {
    tally_of(conn, &["sale", "withdrawn_sale"], 0)
}

/// The tally of the lines of some tables behind a row.
pub(super) fn tally_of(conn: &Connection, tables: &[&str], behind: i64) -> Result<Tally, StoreError> {
    let doing = "adding the sales up";
    let mut tally = Tally::default();
    for table in tables {
        let sql = format!("SELECT receipt, line, at, till, quantity, net FROM {table} WHERE id > ?1");
        let mut statement = conn.prepare(&sql).doing(doing)?;
        let mut rows = statement.query([behind]).doing(doing)?;
        while let Some(row) = rows.next().doing(doing)? {
            let number = |column| row.get::<_, i64>(column).doing(doing);
            let receipt = row.get_ref(0).doing(doing)?.as_str().map_err(rusqlite::Error::from).doing(doing)?;
            tally.add(receipt, [number(1)?, number(2)?, number(3)?, number(4)?, number(5)?]);
        }
    }
    Ok(tally)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::Store;

    /// Without an index on either side, a table of n rows would be gone through n times.
    #[test]
    fn rows_are_compared_by_an_index() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(&folder.path().join("book.tantalus")).unwrap();
        store
            .read(|conn| {
                for table in watching::tables(conn)?.into_iter().filter(|table| watching::tells_new_rows(table)) {
                    let sql = format!("EXPLAIN QUERY PLAN {}", comparison(&table, &columns(conn, &table)?));
                    let plan: Vec<String> = all("reading a plan", conn, &sql, [&table], |row| row.get("detail"))?;
                    let found = plan.iter().filter(|step| step.contains("USING AUTOMATIC")).count();
                    assert_eq!(found, 2, "{table}: {plan:#?}");
                }
                Ok::<_, StoreError>(())
            })
            .unwrap();
    }
}
