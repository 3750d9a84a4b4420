//! Books as older programs left them.

#![allow(dead_code)]

use std::path::Path;
use tantalus::store::{STEPS, Store, migrations};

/// Makes a book of a version with so many items and counted lines, as its program could have written them.
pub(crate) fn book(path: &Path, version: usize, items: i64) -> Result<(), String> {
    let store = Store::create_with(path, &STEPS[..version]).map_err(|refused| refused.to_string())?;
    drop(store);
    let conn = rusqlite::Connection::open(path).map_err(|error| error.to_string())?;
    let fill = format!(
        "INSERT INTO venue VALUES ('name', 'The Old Bar'), ('currency', 'EUR'), ('time_zone', 'UTC');
         INSERT INTO place (id, name, name_key, walk) VALUES (1, 'Bar', 'bar', 1);
         WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {items})
         INSERT INTO item (id, name, name_key, kind, basis, size, count_by)
             SELECT i, 'Rum ' || i, 'rum ' || i, 'spirit', 'volume', 700000, 'tenths' FROM n;
         INSERT INTO count (id, name, name_key, opened, blind) VALUES (1, 'C', 'c', 1000, 0);
         INSERT INTO count_line (count, place, item, at, sealed, open, method)
             SELECT 1, 1, id, 2000 + id, id % 7, '.4', 'tenths' FROM item;"
    );
    conn.execute_batch(&fill).map_err(|error| error.to_string())
}

/// Whether the copy that is made before a book of a version is brought up to date is there; refuses one that is not the
/// whole of it.
pub(crate) fn copy_is_whole(book: &Path, version: i64, items: i64) -> Result<bool, String> {
    let copy = migrations::copy_before(book, version + 1);
    if !copy.exists() {
        return Ok(false);
    }
    let conn = rusqlite::Connection::open(&copy).map_err(|error| error.to_string())?;
    let one = |sql: &str| conn.query_row(sql, [], |row| row.get::<_, String>(0)).map_err(|error| error.to_string());
    let is = [
        one("PRAGMA integrity_check")?,
        one("SELECT CAST(user_version AS TEXT) FROM pragma_user_version")?,
        one("SELECT CAST(count(*) AS TEXT) FROM item")?,
        one("SELECT CAST(count(*) AS TEXT) FROM count_line")?,
    ];
    let want = ["ok".to_owned(), version.to_string(), items.to_string(), items.to_string()];
    if is != want {
        return Err(format!("the copy {} is not whole: {is:?} instead of {want:?}", copy.display()));
    }
    Ok(true)
}
