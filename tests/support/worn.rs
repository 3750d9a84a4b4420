//! A book of some size, made fast, and ways of damaging its file.

#![allow(dead_code, clippy::unwrap_used)]

use proptest::prelude::*;
use rusqlite::Connection;
use rusqlite::types::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use tantalus::domain::venue::{Deed, Moment};
use tantalus::store::{Store, StoreError};

/// The size of pages of every book.
pub(crate) const PAGE: usize = 4_096;

/// Every table with its rows, as the database itself reads them.
pub(crate) type Rows = BTreeMap<String, BTreeSet<Vec<String>>>;

/// Makes a book with a few thousand rows, so that its trees have storeys.
pub(crate) fn book(folder: &Path) -> PathBuf {
    let path = folder.join("worn.tantalus");
    drop(Store::create(&path).unwrap());
    fill(&path);
    path
}

/// Runs statements within a use case.
pub(crate) fn run(conn: &Connection, statements: &str) -> Result<(), StoreError> {
    conn.execute_batch(statements).unwrap();
    Ok(())
}

/// Fills a new book.
pub(crate) fn fill(path: &Path) {
    // As the program writes, so that the history tells of it.
    let filled = "
         INSERT INTO venue VALUES ('name', 'The Worn Bar'), ('currency', 'EUR'), ('time_zone', 'UTC');
         INSERT INTO person VALUES ('AB', 'Ada', 'manager'), ('CD', NULL, 'counter');
         INSERT INTO place (id, name, name_key, walk) VALUES (1, 'Bar', 'bar', 1), (2, 'Cellar', 'cellar', 2);
         INSERT INTO supplier (id, name, name_key) VALUES (1, 'Van', 'van'), (2, 'Cart', 'cart');
         INSERT INTO profile (id, name, name_key) VALUES (1, 'Squat', 'squat');
         INSERT INTO profile_filling VALUES (1, 20000, 100000), (1, 40000, 300000);
         INSERT INTO item (id, name, name_key, kind, basis, size, count_by, profile)
             WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 160)
             SELECT i, printf('Spirit of the shelf number %d', i), printf('spirit of the shelf number %d', i), 'spirit', 'volume',
                 700000, 'tenths', iif(i % 40 = 0, 1, NULL) FROM n;
         INSERT INTO shelf SELECT p.id, i.id, i.id, 2000 FROM place p, item i;
         INSERT INTO offer (supplier, item, pack, from_day, price) SELECT s.id, i.id, 6, '', 1500 FROM supplier s, item i;
         INSERT INTO drink (id, name, name_key)
             WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 90)
             SELECT i, printf('Drink %d', i), printf('drink %d', i) FROM n;
         INSERT INTO drink_version (drink, from_day, price, menu) SELECT id, '', 1200, 1 FROM drink;
         INSERT INTO spec_line (drink, from_day, line, item, quantity) SELECT id, '', 1, id, '40 ml' FROM drink;
         INSERT INTO till_name (id, name, name_key, mapped, drink) SELECT id, upper(name), name_key, 1, id FROM drink;
         INSERT INTO sale (receipt, line, at, till, quantity, net, kind)
             WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 2500)
             SELECT printf('2026-%05d', i / 3), i % 3, 1790000000000 + i * 60000, i % 90 + 1, 1000, 1009, 0 FROM n;
         INSERT INTO count (id, name, name_key, opened, blind)
             WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 12)
             SELECT i, printf('Count %d', i), printf('count %d', i), 1790000000000 + i * 10000000, 0 FROM n;
         INSERT INTO count_place SELECT c.id, p.id FROM count c, place p;
         INSERT INTO count_line (count, place, item, at, sealed, open, method, by)
             SELECT c.id, 1, i.id, c.opened + i.id, 2, '.4', 'tenths', 'AB' FROM count c, item i;
         INSERT INTO count_closing (count, at) SELECT id, opened + 100000 FROM count;
         INSERT INTO journal (venue, kind, at, day, by, entered)
             WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 900)
             SELECT 'abc', CASE i % 3 WHEN 0 THEN 'delivery' WHEN 1 THEN 'loss' ELSE 'transfer' END, 1790000000000 + i * 90000,
                 '2026-09-25', 'CD', 1790000000000 + i * 90001 FROM n;
         INSERT INTO delivery (seq, document, line, supplier, item, containers, unit_price, place)
             SELECT seq, printf('Note %d', seq), 1, seq % 2 + 1, seq % 160 + 1, 6000, 15000000, iif(seq % 2, 1, NULL)
             FROM journal WHERE kind = 'delivery';
         INSERT INTO loss (seq, item, amount, reason, place, note)
             SELECT seq, seq % 160 + 1, 30000, 'spill', 1,
                 iif(seq % 50 = 1, printf('%.*c and a long story', 6000, 'x'), 'slipped') FROM journal WHERE kind = 'loss';
         INSERT INTO transfer SELECT seq, seq % 160 + 1, 1000, 2, 1 FROM journal WHERE kind = 'transfer';
         INSERT INTO journal (venue, kind, at, day, entered, reverses)
             SELECT 'abc', 'reversal', at + 5, day, entered + 5, seq FROM journal WHERE seq % 100 = 0;";
    let store = Store::open(path).unwrap();
    store.write((Deed::Loaded, Moment(0)), |conn| run(conn, filled)).unwrap();
}

/// Every table of a book with its rows, read by the database; what can be made anew is left out.
pub(crate) fn rows(path: &Path) -> Rows {
    let conn = Connection::open_with_flags(path, rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY).unwrap();
    let sql = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sale_day%'
        AND name NOT IN ('act', 'change', 'sale_tally') ORDER BY name";
    let names: Vec<String> =
        conn.prepare(sql).unwrap().query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    names
        .into_iter()
        .map(|name| {
            let mut statement = conn.prepare(&format!("SELECT * FROM \"{name}\"")).unwrap();
            let width = statement.column_count();
            let rows = statement.query_map([], |row| {
                (0..width).map(|n| row.get::<_, Value>(n).map(|value| format!("{value:?}"))).collect()
            });
            let rows = rows.unwrap().map(Result::unwrap).collect();
            (name, rows)
        })
        .collect()
}

/// One thing that can happen to a file. Places are taken by the length of the file.
#[derive(Clone, Debug)]
pub(crate) enum Damage {
    /// One bit is the other one.
    Flip(u32, u8),
    /// A page of zeros.
    Zero(u32),
    /// Two pages in each other's place.
    Swap(u32, u32),
    /// A page that stands in another one's place too.
    Copy(u32, u32),
    /// The smallest piece that a disk writes, as zeros.
    Sector(u32),
    /// Anything at all over some bytes.
    Noise(u32, Vec<u8>),
    /// The rest is not there.
    Cut(u32),
}

impl Damage {
    /// Any of them.
    pub(crate) fn any() -> impl Strategy<Value = Damage> {
        let place = any::<u32>();
        prop_oneof![
            4 => (place, 0..8_u8).prop_map(|(at, bit)| Damage::Flip(at, bit)),
            4 => place.prop_map(Damage::Zero),
            2 => (place, place).prop_map(|(a, b)| Damage::Swap(a, b)),
            2 => (place, place).prop_map(|(a, b)| Damage::Copy(a, b)),
            2 => place.prop_map(Damage::Sector),
            2 => (place, prop::collection::vec(any::<u8>(), 1..3_000)).prop_map(|(at, noise)| Damage::Noise(at, noise)),
            1 => place.prop_map(Damage::Cut),
        ]
    }

    /// Does it to bytes, sparing those before `from`.
    pub(crate) fn strike(&self, bytes: &mut Vec<u8>, from: usize) {
        let room = bytes.len().saturating_sub(from);
        if room < PAGE {
            return;
        }
        let byte = |at: u32| from + at as usize % room;
        let page = |at: u32| from + at as usize % (room / PAGE) * PAGE;
        match self {
            Damage::Flip(at, bit) => bytes[byte(*at)] ^= 1 << bit,
            Damage::Zero(at) => bytes[page(*at)..][..PAGE].fill(0),
            Damage::Swap(a, b) => {
                let (a, b) = (page(*a), page(*b));
                let held = bytes[a..a + PAGE].to_vec();
                bytes.copy_within(b..b + PAGE, a);
                bytes[b..b + PAGE].copy_from_slice(&held);
            }
            Damage::Copy(a, b) => bytes.copy_within(page(*a)..page(*a) + PAGE, page(*b)),
            Damage::Sector(at) => {
                let at = byte(*at) / 512 * 512;
                bytes[at.max(from)..].iter_mut().take(512).for_each(|byte| *byte = 0);
            }
            Damage::Noise(at, noise) => {
                let at = byte(*at);
                bytes.iter_mut().skip(at).zip(noise).for_each(|(byte, noise)| *byte = *noise);
            }
            Damage::Cut(at) => bytes.truncate(byte(*at).max(1)),
        }
    }
}
