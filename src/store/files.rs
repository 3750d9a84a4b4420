//! Files that were taken in, and taken back.

use super::convert::sale_kind_number;
use super::error::Doing;
use super::query::all;
use super::{StoreError, history};
use crate::domain::till::{TakenAs, TakenFile};
use crate::domain::venue::{FileId, Moment, SaleKind};
use rusqlite::{Connection, OptionalExtension, Row, named_params};

const ALL: &str = "SELECT f.*, w.file IS NOT NULL AS withdrawn FROM taken_file f
    LEFT JOIN file_withdrawal w ON w.file = f.id";

fn taken(row: &Row<'_>) -> rusqlite::Result<TakenFile> {
    Ok(TakenFile {
        id: row.get("id")?,
        digest: row.get("digest")?,
        name: row.get("name")?,
        size: row.get("size")?,
        modified: row.get("modified")?,
        what: row.get("what")?,
        form: row.get("form")?,
        added: row.get("added")?,
        at: row.get("at")?,
        by: row.get("by")?,
        withdrawn: row.get("withdrawn")?,
    })
}

/// The files that were taken in last, the newest first; those taken back too.
///
/// # Errors
/// [`StoreError`].
pub fn newest(conn: &Connection, most: u32) -> Result<Vec<TakenFile>, StoreError> {
    let sql = format!("{ALL} ORDER BY f.id DESC LIMIT :most");
    all("reading the files taken in", conn, &sql, named_params! { ":most": most }, taken)
}

/// Every file that is taken in and not taken back.
///
/// # Errors
/// [`StoreError`].
pub fn in_force(conn: &Connection) -> Result<Vec<TakenFile>, StoreError> {
    all("reading the files taken in", conn, &format!("{ALL} WHERE w.file IS NULL ORDER BY f.id"), [], taken)
}

/// The file of some content that is taken in and not taken back.
///
/// # Errors
/// [`StoreError`].
pub fn of_content(conn: &Connection, digest: &str) -> Result<Option<TakenFile>, StoreError> {
    let sql = format!("{ALL} WHERE f.digest = :digest AND w.file IS NULL ORDER BY f.id DESC LIMIT 1");
    let found = all("looking for a file taken in", conn, &sql, named_params! { ":digest": digest }, taken)?;
    Ok(found.into_iter().next())
}

/// The handle that the next file will have: its lines can name it before it is kept in the same transaction.
///
/// # Errors
/// [`StoreError`].
pub fn next(conn: &Connection) -> Result<FileId, StoreError> {
    conn.query_row("SELECT coalesce(max(id), 0) + 1 AS next FROM taken_file", [], |row| row.get("next"))
        .doing("numbering a file taken in")
}

/// Keeps a file that was taken in under its handle; whether it is withdrawn is not looked at.
///
/// # Errors
/// [`StoreError`].
pub fn add(conn: &Connection, file: &TakenFile) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO taken_file (id, digest, name, size, modified, what, form, added, at, by)
         VALUES (:id, :digest, :name, :size, :modified, :what, :form, :added, :at, :by)",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":id": file.id, ":digest": file.digest, ":name": file.name, ":size": file.size,
            ":modified": file.modified, ":what": file.what, ":form": file.form, ":added": file.added, ":at": file.at, ":by": file.by,
        })
    })
    .doing("keeping what file was taken in")
    .map(|_| ())
}

/// Takes a file back: its sales are reckoned with no more, and are kept apart. Says how many they were.
///
/// # Errors
/// [`StoreError::NotFound`] when it is not there, is taken back already, or is no file of sales or set aside: what a
/// delivery brought is taken back as a delivery. [`StoreError::SalesNotTold`] when it brought sales, but none says that it
/// came from it: plain files do not keep that.
pub fn withdraw(conn: &Connection, file: FileId, by: Option<&str>, at: Moment) -> Result<u64, StoreError> {
    let doing = "taking a file back";
    let not_told = conn
        .query_row(
            "SELECT f.name FROM taken_file f
             WHERE f.id = :file AND f.what = :sales AND f.form IS NULL
                 AND NOT EXISTS (SELECT 1 FROM file_withdrawal w WHERE w.file = f.id)
                 AND NOT EXISTS (SELECT 1 FROM sale s WHERE s.file = f.id)
                 AND NOT EXISTS (SELECT 1 FROM sale_held h WHERE h.file = f.id)",
            named_params! { ":file": file, ":sales": TakenAs::Sales },
            |row| row.get("name"),
        )
        .optional()
        .doing(doing)?;
    if let Some(name) = not_told {
        return Err(StoreError::SalesNotTold { name });
    }
    let changed = conn
        .prepare_cached(
            "INSERT INTO file_withdrawal (file, at, by) SELECT f.id, :at, :by FROM taken_file f
             WHERE f.id = :file AND f.what <> :invoice AND NOT EXISTS (SELECT 1 FROM file_withdrawal w WHERE w.file = f.id)",
        )
        .and_then(|mut s| {
            s.execute(named_params! { ":at": at, ":by": by, ":file": file, ":invoice": TakenAs::Invoice })
        })
        .doing(doing)?;
    if changed == 0 {
        return Err(StoreError::NotFound { kind: "file of sales in force", id: file.0 });
    }
    // Lines that other files in force hold too stay, as those of the first of them.
    let of = named_params! { ":file": file };
    let taken_back: Vec<i64> = {
        let sql = "SELECT sale FROM sale_held WHERE file = :file AND kind IS NOT NULL";
        all(doing, conn, sql, of, |row| row.get("sale"))?
    };
    conn.execute("DELETE FROM sale_held WHERE file = :file", of).doing(doing)?;
    conn.execute(
        "UPDATE sale SET file = (SELECT min(h.file) FROM sale_held h WHERE h.sale = sale.id)
         WHERE file = :file AND EXISTS (SELECT 1 FROM sale_held h WHERE h.sale = sale.id)",
        of,
    )
    .doing(doing)?;
    conn.execute(
        "DELETE FROM sale_held AS h
         WHERE kind IS NULL AND EXISTS (SELECT 1 FROM sale s WHERE s.id = h.sale AND s.file = h.file)",
        [],
    )
    .doing(doing)?;
    // What is taken back is a void while a file in force knows what it takes back.
    for sale in taken_back {
        conn.prepare_cached(
            "UPDATE sale SET kind = CASE
                WHEN EXISTS (SELECT 1 FROM sale_held h WHERE h.sale = sale.id AND h.kind = :void) THEN :void ELSE :return END
             WHERE id = :sale AND file IS NOT NULL AND file <> :file",
        )
        .and_then(|mut s| {
            let (void, back) = (sale_kind_number(SaleKind::Void), sale_kind_number(SaleKind::Return));
            s.execute(named_params! { ":sale": sale, ":file": file, ":void": void, ":return": back })
        })
        .doing(doing)?;
    }
    let moved = conn
        .execute(
            "INSERT INTO withdrawn_sale (receipt, line, at, till, quantity, net, kind, file)
             SELECT receipt, line, at, till, quantity, net, kind, file FROM sale WHERE file = :file",
            of,
        )
        .doing(doing)?;
    conn.execute("DELETE FROM sale WHERE file = :file", of).doing(doing)?;
    history::put_tally(conn, history::tally(conn)?)?;
    // The number of an article that only this file said may have stood in another column.
    conn.execute(
        "UPDATE till_name SET code = NULL WHERE code IS NOT NULL
             AND id IN (SELECT till FROM withdrawn_sale WHERE file = :file)
             AND NOT EXISTS (SELECT 1 FROM sale s WHERE s.till = till_name.id)",
        of,
    )
    .doing(doing)?;
    Ok(moved as u64)
}
