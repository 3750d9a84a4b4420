//! What cannot stand alone: rows that name something that could not be read, halves of entries, and the like are left out,
//! or kept without what they named where that says nothing false.

use super::parts::{Tally, name};
use super::read::Reading;
use crate::domain::venue::name_key;
use crate::store::StoreError;
use crate::store::error::Doing;
use crate::store::query::all;
use rusqlite::types::Value;
use rusqlite::{Connection, named_params};
use std::collections::BTreeMap;

const DOING: &str = "leaving out what cannot stand alone";

/// Why a row was left out, or what was changed so that it could be kept.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Why {
    /// Another row of the same key was there already.
    Twice,
    /// It says what the book refuses.
    Senseless,
    /// It names a row of a table that is not there.
    Names(String),
    /// An entry of the journal whose other half is not there, or says another kind.
    Half,
    /// It was taken back by a row that is not there.
    TakenBack,
    /// It is a sale that counts although its file was taken back, or the other way round.
    FileSaysOtherwise,
    /// Kept, without saying what it named.
    Without(String),
    /// Kept, though of it no more than its name is known.
    NameOnly,
    /// Kept, though not even that is known.
    NumberOnly,
}

impl Why {
    /// Whether the row was kept.
    pub(super) fn keeps(&self) -> bool {
        matches!(self, Why::Without(_) | Why::NameOnly | Why::NumberOnly)
    }

    /// In words.
    pub(super) fn words(&self) -> String {
        match self {
            Why::Twice => "something else stands in their place already".to_owned(),
            Why::Senseless => "they say what cannot be".to_owned(),
            Why::Names(table) => format!("they name {} that cannot be read", name(table)),
            Why::Half => "the other half of the entry cannot be read".to_owned(),
            Why::TakenBack => "they were taken back, and the row that says so cannot be read".to_owned(),
            Why::FileSaysOtherwise => "whether their file was taken back cannot be told".to_owned(),
            Why::Without(table) => format!("without the {} that they named", name(table)),
            Why::NumberOnly => "not even their name is known; find out what they were, and fill that in".to_owned(),
            Why::NameOnly => "nothing is known of them but the name; fill in the rest".to_owned(),
        }
    }
}

/// Columns that may be emptied, because empty says “not known” or “none” there and takes nothing back.
const MAY_BE_EMPTY: &[(&str, &str)] = &[
    ("item", "profile"),
    ("sale", "file"),
    ("delivery", "place"),
    ("loss", "place"),
    ("weighing", "place"),
    ("bill", "file"),
    ("bill", "answers"),
    ("bill", "rest"),
    ("claim", "bill"),
    ("claim", "item"),
    ("claim_settlement", "bill"),
    ("claim_settlement", "rest"),
];

/// A reference of one table to another.
struct Link {
    table: String,
    from: Vec<String>,
    parent: String,
    to: Vec<String>,
}

impl Link {
    /// What a row of the table says that names something that is not there.
    fn dangles(&self) -> String {
        let given: Vec<String> = self.from.iter().map(|from| format!("t.\"{from}\" IS NOT NULL")).collect();
        let same: Vec<String> =
            self.from.iter().zip(&self.to).map(|(from, to)| format!("p.\"{to}\" = t.\"{from}\"")).collect();
        format!(
            "{} AND NOT EXISTS (SELECT 1 FROM \"{}\" p WHERE {})",
            given.join(" AND "),
            self.parent,
            same.join(" AND ")
        )
    }
}

/// Every reference between the tables of a book.
fn links(conn: &Connection) -> Result<Vec<Link>, StoreError> {
    let mut statement = conn
        .prepare(
            "SELECT t.name AS of, f.id, f.\"table\" AS parent, f.\"from\" AS origin, f.\"to\" AS target
             FROM pragma_table_list t JOIN pragma_foreign_key_list(t.name) f
             WHERE t.schema = 'main' AND t.type = 'table' ORDER BY t.name, f.id, f.seq",
        )
        .doing(DOING)?;
    let mut rows = statement.query([]).doing(DOING)?;
    let mut links: BTreeMap<(String, i64), Link> = BTreeMap::new();
    while let Some(row) = rows.next().doing(DOING)? {
        let table: String = row.get("of").doing(DOING)?;
        let key = (table.clone(), row.get("id").doing(DOING)?);
        let parent = row.get("parent").doing(DOING)?;
        let link = links.entry(key).or_insert(Link { table, from: Vec::new(), parent, to: Vec::new() });
        link.from.push(row.get("origin").doing(DOING)?);
        link.to.push(row.get("target").doing(DOING)?);
    }
    Ok(links.into_values().collect())
}

fn has(conn: &Connection, table: &str) -> Result<bool, StoreError> {
    conn.query_row(
        "SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = :name) AS found",
        named_params! { ":name": table },
        |row| row.get("found"),
    )
    .doing(DOING)
}

/// What a row of a table names that is not there, if one does.
pub(super) fn dangling(conn: &Connection, table: &str) -> Result<Option<String>, StoreError> {
    for link in links(conn)?.iter().filter(|link| link.table == table) {
        let sql = format!("SELECT EXISTS (SELECT 1 FROM \"{table}\" AS t WHERE {}) AS some", link.dangles());
        if conn.query_row(&sql, [], |row| row.get("some")).doing(DOING)? {
            return Ok(Some(link.parent.clone()));
        }
    }
    Ok(None)
}

/// Leaves out, over and over, what cannot stand alone. References must not be enforced while it does.
pub(super) fn prune(conn: &Connection, tally: &mut Tally) -> Result<(), StoreError> {
    let links = links(conn)?;
    let files = has(conn, "withdrawn_sale")?;
    loop {
        let mut changed = 0;
        let mut run = |table: &str, why: Why, sql: &str| {
            let rows = conn.execute(sql, []).doing(DOING)?;
            if rows > 0 {
                *tally.entry((table.to_owned(), why)).or_default() += rows as u64;
            }
            changed += rows;
            Ok::<_, StoreError>(())
        };
        for link in &links {
            let (table, parent) = (&link.table, link.parent.clone());
            let dangles = link.dangles();
            match &link.from[..] {
                [column] if table == "till_name" && column == "drink" => {
                    let sql = format!("UPDATE till_name AS t SET drink = NULL, mapped = 0 WHERE {dangles}");
                    run(table, Why::Without(parent), &sql)?;
                }
                [column] if MAY_BE_EMPTY.contains(&(table, column)) => {
                    let sql = format!("UPDATE \"{table}\" AS t SET \"{column}\" = NULL WHERE {dangles}");
                    run(table, Why::Without(parent), &sql)?;
                }
                _ => run(table, Why::Names(parent), &format!("DELETE FROM \"{table}\" AS t WHERE {dangles}"))?,
            }
        }
        for kind in ["delivery", "loss", "transfer", "batch"] {
            let sql = format!(
                "DELETE FROM journal WHERE kind = '{kind}' AND NOT EXISTS (SELECT 1 FROM {kind} d WHERE d.seq = journal.seq)"
            );
            run("journal", Why::Half, &sql)?;
            let sql = format!(
                "DELETE FROM {kind} WHERE NOT EXISTS (SELECT 1 FROM journal j WHERE j.seq = {kind}.seq AND j.kind = '{kind}')"
            );
            run(kind, Why::Half, &sql)?;
        }
        run("journal", Why::Half, "DELETE FROM journal WHERE (kind = 'reversal') <> (reverses IS NOT NULL)")?;
        if files {
            let back = "SELECT file FROM file_withdrawal";
            run("sale", Why::FileSaysOtherwise, &format!("DELETE FROM sale WHERE file IN ({back})"))?;
            let sql = format!("DELETE FROM withdrawn_sale WHERE file NOT IN ({back})");
            run("withdrawn_sale", Why::FileSaysOtherwise, &sql)?;
        }
        if changed == 0 {
            return Ok(());
        }
    }
}

/// Leaves out what was taken back by a row that is lost, and of which an index still says so.
pub(super) fn taken_back(conn: &Connection, reading: &Reading, tally: &mut Tally) -> Result<(), StoreError> {
    for (table, read) in reading.plan.tables.iter().zip(&reading.tables) {
        let Some(number) = table.number.map(|n| &table.columns[n].name) else { continue };
        for (column, value, by) in
            read.pairs.iter().filter(|(column, ..)| ["reverses", "reopens"].contains(&column.as_str()))
        {
            if !read.disagreement.lost.contains(&by.cast_unsigned()) {
                continue;
            }
            let sql = format!("DELETE FROM \"{}\" WHERE \"{number}\" = :row AND \"{column}\" IS NULL", table.name);
            let rows = conn.execute(&sql, named_params! { ":row": value }).doing(DOING)?;
            if rows > 0 {
                *tally.entry((table.name.clone(), Why::TakenBack)).or_default() += rows as u64;
            }
        }
    }
    Ok(())
}

/// Tables whose rows others may name although no more than their name or number is known: what one is called, and what must
/// be said besides the name.
const BY_NAME: &[(&str, &str, &str, &str)] = &[
    ("place", "Place", ", walk", ", (SELECT coalesce(max(walk), 0) + 1 FROM place)"),
    ("supplier", "Supplier", "", ""),
    ("drink", "Drink", "", ""),
    ("till_name", "Till name", ", mapped", ", 0"),
];

/// Keeps what others name by the name that an index still has, or else by its number, so that nothing has to go that names
/// it. Where no page of a table is lost, a number that nothing has is a damaged one.
pub(super) fn by_name(conn: &Connection, reading: &Reading, tally: &mut Tally) -> Result<(), StoreError> {
    let links = links(conn)?;
    for (table, read) in reading.plan.tables.iter().zip(&reading.tables) {
        let Some((table, word, columns, values)) = BY_NAME.iter().find(|(name, ..)| *name == table.name) else {
            continue;
        };
        let missing = read.missing();
        if read.found.whole() && missing.is_empty() {
            continue;
        }
        let sql =
            format!("INSERT OR IGNORE INTO {table} (id, name, name_key{columns}) VALUES (:id, :name, :key{values})");
        let mut keep = |id: i64, name: &str, why: Why| {
            let rows =
                conn.execute(&sql, named_params! { ":id": id, ":name": name, ":key": name_key(name) }).doing(DOING)?;
            if rows > 0 {
                *tally.entry(((*table).to_owned(), why)).or_default() += rows as u64;
            }
            Ok::<_, StoreError>(())
        };
        for (_, key, id) in read.pairs.iter().filter(|(column, ..)| column == "name_key") {
            if let (Value::Text(key), true) = (key, missing.contains(&id.cast_unsigned())) {
                keep(*id, key, Why::NameOnly)?;
            }
        }
        if read.witnessed || read.found.whole() {
            continue;
        }
        for link in links.iter().filter(|link| link.parent == *table) {
            let [column] = &link.from[..] else { continue };
            let sql =
                format!("SELECT DISTINCT \"{column}\" AS id FROM \"{}\" AS t WHERE {}", link.table, link.dangles());
            for id in all::<i64>(DOING, conn, &sql, [], |row| row.get("id"))? {
                keep(id, &format!("{word} {id} (name lost)"), Why::NumberOnly)?;
            }
        }
    }
    Ok(())
}
