//! Looks through a book for what should not be there.

pub(super) mod explanations;
pub(super) mod files;
mod history;

use super::error::Doing;
use super::{StoreError, day_totals, setup};
use crate::domain::gauge::Reading;
use crate::domain::venue::{CountMethod, Seq};
use rusqlite::{Connection, named_params};
use std::fmt;

/// Something that should not be there.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Finding {
    /// The file itself is damaged.
    Page(String),
    /// What damage did to a part of the book.
    Part(String),
    /// A row names another one that is not there.
    Dangling {
        /// Table of the row.
        table: String,
        /// Table that it names a row of.
        names: String,
        /// Number of the row, where it has one.
        row: Option<i64>,
    },
    /// A row of the journal that says a kind but has no detail of it.
    NoDetail {
        /// The row.
        seq: Seq,
        /// What it says it is.
        kind: String,
    },
    /// A detail that the journal knows under another kind, or not at all.
    WrongDetail {
        /// The row.
        seq: Seq,
        /// Where the detail stands.
        table: String,
    },
    /// A counted line whose readings nobody can read.
    Reading {
        /// The row.
        seq: Seq,
        /// What it says.
        read: String,
    },
    /// A counted line or a weighing that what is known of its item's containers makes impossible: it would not load again.
    Impossible(String),
    /// A row about files from elsewhere, bills, claims or accepted causes that contradicts itself or another one.
    Contradiction(String),
    /// Something that is not as it was entered.
    Edited(String),
    /// A spec, recipe or setting that cannot be read.
    Setup(String),
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Finding::Page(what) => write!(f, "the file is damaged: {what}"),
            Finding::Dangling { table, names, row: Some(row) } => {
                write!(f, "{table} row {row} names {} {names} that is not there", article(names))
            }
            Finding::Dangling { table, names, row: None } => {
                write!(f, "a row of {table} names {} {names} that is not there", article(names))
            }
            Finding::NoDetail { seq, kind } => write!(f, "journal row {} says {kind}, but has no detail", seq.0),
            Finding::WrongDetail { seq, table } => {
                write!(f, "{table} row {} is not what the journal says it is", seq.0)
            }
            Finding::Reading { seq, read } => {
                write!(f, "counted line {} holds “{}”, which is no reading", seq.0, read.escape_debug())
            }
            Finding::Part(what)
            | Finding::Impossible(what)
            | Finding::Contradiction(what)
            | Finding::Edited(what)
            | Finding::Setup(what) => f.write_str(what),
        }
    }
}

/// What goes before the name of a table in a sentence.
fn article(table: &str) -> &'static str {
    if table.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

/// Everything wrong with a book; nothing is changed.
///
/// # Errors
/// [`StoreError`] when the book cannot even be read.
pub fn all(conn: &Connection) -> Result<Vec<Finding>, StoreError> {
    let mut findings = pages(conn)?;
    if !findings.is_empty() {
        // Queries over damaged pages find nothing that could be believed.
        return Ok(findings);
    }
    findings.extend(dangling(conn)?);
    findings.extend(details(conn)?);
    findings.extend(readings(conn)?);
    findings.extend(files::all(conn)?);
    findings.extend(explanations::all(conn)?);
    findings.extend(history::all(conn)?);
    match setup::load_any(conn) {
        Ok((setup, lines)) => {
            findings.extend(lines.into_iter().map(|line| Finding::Setup(line.to_string())));
            let wrong = day_totals::wrong(conn, &setup.venue.days)?;
            findings.extend(wrong.into_iter().map(|day| {
                Finding::Contradiction(format!("the sums of sales of {day} are not what its receipts say"))
            }));
        }
        // A book that was just made has nothing in it yet.
        Err(StoreError::NotSetUp { .. }) => {}
        Err(StoreError::Damaged { what }) => findings.push(Finding::Setup(what)),
        Err(other) => return Err(other),
    }
    Ok(findings)
}

fn pages(conn: &Connection) -> Result<Vec<Finding>, StoreError> {
    let doing = "checking the file";
    let mut statement = conn.prepare("PRAGMA integrity_check(100)").doing(doing)?;
    let rows = statement.query_map([], |row| row.get(0)).doing(doing)?;
    let lines: Vec<String> = rows.collect::<rusqlite::Result<_>>().doing(doing)?;
    Ok(lines.into_iter().filter(|line| line != "ok").map(Finding::Page).collect())
}

fn dangling(conn: &Connection) -> Result<Vec<Finding>, StoreError> {
    let doing = "checking what rows name";
    let mut statement = conn
        .prepare("SELECT \"table\" AS from_table, rowid AS row, parent FROM pragma_foreign_key_check")
        .doing(doing)?;
    let rows = statement
        .query_map([], |row| {
            Ok(Finding::Dangling { table: row.get("from_table")?, names: row.get("parent")?, row: row.get("row")? })
        })
        .doing(doing)?;
    rows.collect::<rusqlite::Result<_>>().doing(doing)
}

fn details(conn: &Connection) -> Result<Vec<Finding>, StoreError> {
    let doing = "checking the journal";
    let mut findings = Vec::new();
    for kind in ["delivery", "loss", "transfer", "batch"] {
        let sql = format!(
            "SELECT seq FROM journal j WHERE kind = :kind AND NOT EXISTS (SELECT 1 FROM {kind} d WHERE d.seq = j.seq)"
        );
        let mut statement = conn.prepare(&sql).doing(doing)?;
        let rows = statement
            .query_map(named_params! { ":kind": kind }, |row| {
                Ok(Finding::NoDetail { seq: row.get("seq")?, kind: kind.to_owned() })
            })
            .doing(doing)?;
        findings.extend(rows.collect::<rusqlite::Result<Vec<_>>>().doing(doing)?);
        let sql = format!(
            "SELECT seq FROM {kind} d WHERE NOT EXISTS (SELECT 1 FROM journal j WHERE j.seq = d.seq AND j.kind = :kind)"
        );
        let mut statement = conn.prepare(&sql).doing(doing)?;
        let rows = statement
            .query_map(named_params! { ":kind": kind }, |row| {
                Ok(Finding::WrongDetail { seq: row.get("seq")?, table: kind.to_owned() })
            })
            .doing(doing)?;
        findings.extend(rows.collect::<rusqlite::Result<Vec<_>>>().doing(doing)?);
    }
    let mut statement = conn
        .prepare("SELECT seq, kind FROM journal WHERE (kind = 'reversal') <> (reverses IS NOT NULL)")
        .doing(doing)?;
    let rows = statement
        .query_map([], |row| Ok(Finding::NoDetail { seq: row.get("seq")?, kind: row.get("kind")? }))
        .doing(doing)?;
    findings.extend(rows.collect::<rusqlite::Result<Vec<_>>>().doing(doing)?);
    Ok(findings)
}

pub(super) fn readings(conn: &Connection) -> Result<Vec<Finding>, StoreError> {
    let doing = "checking counted lines";
    let mut findings = Vec::new();
    let mut statement = conn.prepare("SELECT seq, sealed, open, method FROM count_line").doing(doing)?;
    let mut rows = statement.query([]).doing(doing)?;
    while let Some(row) = rows.next().doing(doing)? {
        let open: String = row.get("open").doing(doing)?;
        let method: String = row.get("method").doing(doing)?;
        let sealed: i64 = row.get("sealed").doing(doing)?;
        if sealed < 0 || Reading::parse_all(&open).is_err() || CountMethod::parse(&method).is_err() {
            let read = format!("{sealed} {open} {method}");
            findings.push(Finding::Reading { seq: row.get("seq").doing(doing)?, read });
        }
    }
    Ok(findings)
}
