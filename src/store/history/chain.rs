//! The chain: each act carries a hash over what it entered and over the hash of the act before, so that nothing that was
//! entered can be changed behind the program's back without every later hash telling. There is no secret in it: it finds
//! what was edited by hand or damaged, not what somebody forged who makes all the later hashes anew as well.

use crate::domain::ledger::Act;
use crate::store::StoreError;
use crate::store::error::Doing;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, named_params};
use sha2::{Digest, Sha256};

/// A hash of the chain: the first half of SHA-256 (FIPS 180-4).
pub(super) type Link = [u8; 16];

/// Feeds texts so that no two rows of different cells come out alike.
struct Cells(Sha256);

impl Cells {
    fn new() -> Cells {
        Cells(Sha256::new())
    }

    fn cell(&mut self, cell: Option<&[u8]>) {
        // None is told from an empty text by its length.
        let length = cell.map_or(u64::MAX, |cell| cell.len() as u64);
        self.0.update(length.to_le_bytes());
        self.0.update(cell.unwrap_or_default());
    }

    fn number(&mut self, number: Option<i64>) {
        self.cell(number.map(i64::to_le_bytes).as_ref().map(<[u8; 8]>::as_slice));
    }

    fn link(self) -> Link {
        let mut link = Link::default();
        link.copy_from_slice(&self.0.finalize()[..16]);
        link
    }
}

/// Where an act begins: behind the act before it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Behind {
    pub(super) changes: i64,
    pub(super) lines: i64,
    pub(super) link: Link,
}

/// The hash of an act, from what stands in the book now.
pub(super) fn link(conn: &Connection, behind: &Behind, act: &Act) -> Result<Link, StoreError> {
    let doing = "chaining what was entered";
    let mut cells = Cells::new();
    cells.cell(Some(&behind.link));
    cells.number(Some(act.id.0));
    cells.number(Some(act.at.0));
    cells.cell(act.by.as_deref().map(str::as_bytes));
    cells.cell(Some(act.deed.word().as_bytes()));
    cells.number(act.undoes.map(|id| id.0));
    for (sql, from, to) in [
        (
            "SELECT seq, tab, before, after FROM change WHERE seq > :from AND seq <= :to ORDER BY seq",
            behind.changes,
            act.changes,
        ),
        ("SELECT * FROM count_line WHERE seq > :from AND seq <= :to ORDER BY seq", behind.lines, act.lines),
    ] {
        if from == to {
            continue;
        }
        let mut statement = conn.prepare_cached(sql).doing(doing)?;
        let width = statement.column_count();
        let mut rows = statement.query(named_params! { ":from": from, ":to": to }).doing(doing)?;
        while let Some(row) = rows.next().doing(doing)? {
            for column in 0..width {
                match row.get_ref(column).doing(doing)? {
                    ValueRef::Null => cells.cell(None),
                    ValueRef::Integer(number) => cells.number(Some(number)),
                    ValueRef::Text(bytes) | ValueRef::Blob(bytes) => cells.cell(Some(bytes)),
                    // No table has one.
                    ValueRef::Real(real) => cells.cell(Some(&real.to_le_bytes())),
                }
            }
        }
    }
    Ok(cells.link())
}

/// The sum of the hashes of some lines of receipts: the same whatever their order, and another with one line more, less or
/// changed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// How many lines.
    pub lines: i64,
    /// Sum of the first halves of their hashes, beyond 128 bits from the start again.
    pub sum: u128,
}

impl Tally {
    /// Adds a line of a receipt: what of it never changes. Whether it is a void or a return may turn out later, and which
    /// file brought it too.
    pub fn add(&mut self, receipt: &str, numbers: [i64; 5]) {
        let mut hash = Sha256::new();
        for number in numbers {
            hash.update(number.to_le_bytes());
        }
        hash.update(receipt.as_bytes());
        let mut half = Link::default();
        half.copy_from_slice(&hash.finalize()[..16]);
        self.lines += 1;
        self.sum = self.sum.wrapping_add(u128::from_le_bytes(half));
    }

    /// This and another.
    pub fn and(self, other: Tally) -> Tally {
        Tally { lines: self.lines + other.lines, sum: self.sum.wrapping_add(other.sum) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_half_of_sha_256() {
        // FIPS 180-4, the published example for the message “abc”: ba7816bf 8f01cfea 414140de 5dae2223 …
        let mut cells = Cells::new();
        cells.0.update(b"abc");
        let want = [0xba, 0x78, 0x16, 0xbf, 0x8f, 0x01, 0xcf, 0xea, 0x41, 0x41, 0x40, 0xde, 0x5d, 0xae, 0x22, 0x23];
        assert_eq!(cells.link(), want);
    }

    #[test]
    fn cells_do_not_run_into_each_other() {
        let link = |cells: &[Option<&[u8]>]| {
            let mut all = Cells::new();
            cells.iter().for_each(|cell| all.cell(*cell));
            all.link()
        };
        assert_ne!(link(&[Some(b"ab"), Some(b"c")]), link(&[Some(b"a"), Some(b"bc")]));
        assert_ne!(link(&[None]), link(&[Some(b"")]));
    }

    #[test]
    fn a_tally_knows_no_order_and_misses_no_line() {
        let of = |lines: &[(&str, [i64; 5])]| {
            let mut tally = Tally::default();
            lines.iter().for_each(|(receipt, numbers)| tally.add(receipt, *numbers));
            tally
        };
        let (a, b) = (("r1", [1, 2, 3, 4, 5]), ("r2", [1, 2, 3, 4, 5]));
        assert_eq!(of(&[a, b]), of(&[b, a]));
        assert_eq!(of(&[a]).and(of(&[b])), of(&[a, b]));
        assert_ne!(of(&[a, b]), of(&[a, a]));
        assert_ne!(of(&[a]).sum, of(&[("r1", [1, 2, 3, 4, 6])]).sum);
    }
}
