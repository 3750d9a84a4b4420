//! What can contradict itself among files from elsewhere: layouts, files taken in, codes, bills, claims.

use super::Finding;
use crate::domain::receive::{Bill, CodeKey, KnownAs};
use crate::domain::till::TakenAs;
use crate::store::error::Doing;
use crate::store::{StoreError, bills, files, layouts, query};
use rusqlite::Connection;
use std::collections::HashSet;

/// Everything of that sort.
///
/// # Errors
/// [`StoreError`] when the book cannot even be read.
pub(super) fn all(conn: &Connection) -> Result<Vec<Finding>, StoreError> {
    let mut found = Vec::new();
    for look in [of_layouts, of_files, of_suppliers, of_bills, of_claims] {
        match look(conn, &mut found) {
            // A word or a day that cannot be read.
            Err(StoreError::Damaged { what }) => found.push(Finding::Contradiction(what)),
            other => other?,
        }
    }
    Ok(found)
}

pub(in crate::store) fn of_layouts(conn: &Connection, found: &mut Vec<Finding>) -> Result<(), StoreError> {
    let doing = "checking the layouts of till tables";
    let mut says = |what: String| found.push(Finding::Contradiction(what));
    let gaps = "SELECT l.name, count(c.position) AS columns, coalesce(max(c.position), -1) + 1 AS places,
            coalesce(min(c.position), 0) AS first
        FROM till_layout l LEFT JOIN till_layout_column c ON c.layout = l.id GROUP BY l.id ORDER BY l.name_key";
    let counted = query::all(doing, conn, gaps, [], |row| {
        let figures: [i64; 3] = [row.get("columns")?, row.get("places")?, row.get("first")?];
        Ok((row.get::<_, String>("name")?, figures))
    })?;
    for (name, [columns, places, first]) in counted {
        match (columns, places, first) {
            (0, ..) => says(format!("the layout “{name}” has no columns")),
            (columns, places, 0) if columns == places => {}
            _ => says(format!("the columns of the layout “{name}” have a gap")),
        }
    }
    let all = layouts::list(conn)?;
    for (n, layout) in all.iter().enumerate() {
        if let Some(other) = all[..n].iter().find(|other| other.reads_as(layout)) {
            says(format!("the layouts “{}” and “{}” are for the same heads", other.name, layout.name));
        }
    }
    Ok(())
}

fn of_files(conn: &Connection, found: &mut Vec<Finding>) -> Result<(), StoreError> {
    let doing = "checking the files taken in";
    let mut says = |what: String| found.push(Finding::Contradiction(what));
    for file in files::in_force(conn)? {
        if file.digest.len() != 64 || !file.digest.bytes().all(|b| b.is_ascii_hexdigit()) {
            says(format!("the file “{}” taken in is not known by a SHA-256", file.name));
        }
    }
    // A book out of plain files knows of no sale which file it came from.
    let counted = "SELECT f.id, f.name, f.what, f.added, w.file IS NOT NULL AS withdrawn,
            (SELECT count(*) FROM withdrawn_sale s WHERE s.file = f.id) AS apart, coalesce(s.sales, 0) AS sales
        FROM taken_file f
        LEFT JOIN file_withdrawal w ON w.file = f.id
        LEFT JOIN (SELECT file, count(*) AS sales FROM sale WHERE file IS NOT NULL GROUP BY file) s ON s.file = f.id
        ORDER BY f.id";
    let mut statement = conn.prepare(counted).doing(doing)?;
    let mut rows = statement.query([]).doing(doing)?;
    while let Some(row) = rows.next().doing(doing)? {
        let name: String = row.get("name").doing(doing)?;
        let what: TakenAs = row.get("what").doing(doing)?;
        let (added, sales): (i64, i64) = (row.get("added").doing(doing)?, row.get("sales").doing(doing)?);
        let (withdrawn, apart): (bool, i64) = (row.get("withdrawn").doing(doing)?, row.get("apart").doing(doing)?);
        match (what, withdrawn) {
            (_, true) if sales > 0 => says(format!("“{name}” was taken back, but {sales} of its sales still count")),
            (_, false) if apart > 0 => {
                says(format!("“{name}” was not taken back, but {apart} of its sales do not count"))
            }
            // More may have come to it from a file that was taken back.
            (TakenAs::Sales, false) if sales > 0 && sales < added => {
                says(format!("“{name}” added {added} sales, but {sales} say that they came from it"));
            }
            (TakenAs::Invoice | TakenAs::SetAside, _) if sales + apart > 0 => {
                says(format!("“{name}” was taken in as {what}, but sales say that they came from it"));
            }
            _ => {}
        }
    }
    Ok(())
}

pub(in crate::store) fn of_suppliers(conn: &Connection, found: &mut Vec<Finding>) -> Result<(), StoreError> {
    let mut says = |what: String| found.push(Finding::Contradiction(what));
    for known in bills::known_codes(conn)? {
        let text = known.key.as_str();
        if CodeKey::parse(text).as_ref() != Ok(&known.key) {
            says(format!("the supplier's code “{}” is in no form in which codes are compared", text.escape_debug()));
        }
    }
    for (known_as, _) in bills::aliases(conn)? {
        let text = known_as.as_str();
        if KnownAs::parse(text).as_ref() != Ok(&known_as) {
            says(format!("the supplier's name “{}” is in no form in which names are compared", text.escape_debug()));
        }
    }
    Ok(())
}

pub(in crate::store) fn of_bills(conn: &Connection, found: &mut Vec<Finding>) -> Result<(), StoreError> {
    let mut seen = HashSet::new();
    for bill in bills::list(conn)? {
        if !seen.insert((bill.supplier, bill.key.clone())) {
            found.push(Finding::Contradiction(format!("the bill “{}” of one supplier is there twice", bill.number)));
        }
        let key = Bill::key(&bill.number, bill.kind);
        if bill.key != key {
            let (number, kind, had) = (&bill.number, bill.kind, bill.key.escape_debug());
            let what = format!("the bill “{number}” ({kind}) is compared as “{had}”; expected “{key}”");
            found.push(Finding::Contradiction(what));
        }
    }
    Ok(())
}

pub(in crate::store) fn of_claims(conn: &Connection, found: &mut Vec<Finding>) -> Result<(), StoreError> {
    let mut says = |what: String| found.push(Finding::Contradiction(what));
    for claim in bills::claims(conn)? {
        if claim.containers <= 0 || claim.money.0 <= 0 {
            says(format!("the claim {} on “{}” is for nothing", claim.id.0, claim.document));
        }
    }
    Ok(())
}
