//! Tables that are read beside the lines, receipt by receipt, looking a bounded way ahead.

use super::table::Table;
use crate::exchange::ReadError;
use crate::exchange::stream::quoted;
use crate::words;
use std::borrow::Cow;
use std::collections::{HashMap, HashSet};
use std::hash::{DefaultHasher, Hasher};

/// Rows, and bytes, that are kept while another receipt is looked for.
const ROWS: usize = 200_000;
const BYTES: usize = 24 << 20;
/// Rows, and bytes of their texts, that one receipt may have.
pub(super) const RECEIPT: usize = 20_000;
pub(super) const RECEIPT_BYTES: usize = 8 << 20;
/// Bytes that keeping one row costs besides its texts.
const COST: usize = 120;

/// Why a receipt is refused that goes beyond that.
pub(super) const TOO_LONG: &str = text!("one receipt has more rows than any receipt can have; the export is damaged");

/// What makes a receipt one of its kind: register, closing and number, as they stand in the file but in UTF-8, because the
/// same export may come in another encoding.
pub(super) type Key = Vec<u8>;

/// Writes the key of the row at hand; its first four columns are those of every table. Of the time of the closing only
/// the date and the wall clock count, because not every table writes fractions or offsets the same way; the number of the
/// closing is the same with signs between its thousands and without.
pub(super) fn key(table: &Table, into: &mut Key) {
    into.clear();
    table.write_text(0, into);
    into.push(0);
    let made = table.raw(1);
    into.extend_from_slice(&made[..made.len().min(19)]);
    into.push(0);
    table.write_count(2, into);
    into.push(0);
    table.write_text(3, into);
}

/// Register, time of the closing, number of the closing and number of the receipt, as text.
pub(super) fn parts(key: &[u8]) -> [Cow<'_, str>; 4] {
    let mut parts = key.split(|byte| *byte == 0).map(String::from_utf8_lossy);
    std::array::from_fn(|_| parts.next().unwrap_or_default())
}

/// A key for people.
pub(super) fn told(key: &[u8]) -> String {
    let [register, _, closing, number] = parts(key).map(|part| quoted(&part));
    say!("receipt {number} of closing {closing} of register {register}", number, closing, register)
}

/// Receipts that were met, as 64 bits each: millions fit.
#[derive(Default)]
pub(super) struct Seen(HashSet<u64>);

impl Seen {
    /// Remembers a receipt; `false` when it was met before.
    pub(super) fn insert(&mut self, key: &[u8]) -> bool {
        self.0.insert(print(key))
    }

    pub(super) fn has(&self, key: &[u8]) -> bool {
        self.0.contains(&print(key))
    }

    pub(super) fn len(&self) -> usize {
        self.0.len()
    }
}

/// A key as 64 bits.
pub(super) fn print(key: &[u8]) -> u64 {
    let mut hasher = DefaultHasher::new();
    hasher.write(key);
    hasher.finish()
}

/// What is kept of a row.
pub(super) trait Row: Sized {
    fn read(table: &mut Table) -> Result<Self, ReadError>;
    /// Bytes of its texts.
    fn weight(&self) -> usize;
}

/// A table read beside the lines.
pub(super) struct Follower<R> {
    table: Table,
    /// Receipts that were read before they were asked for.
    ahead: HashMap<Key, Vec<R>>,
    rows: usize,
    bytes: usize,
    /// The first row of the receipt after the last that was read.
    next: Option<(Key, R)>,
    ended: bool,
    spare: Key,
}

impl<R: Row> Follower<R> {
    pub(super) fn new(table: Table) -> Follower<R> {
        Follower { table, ahead: HashMap::new(), rows: 0, bytes: 0, next: None, ended: false, spare: Key::new() }
    }

    /// Rows of the next receipt of this table.
    fn run(&mut self) -> Result<Option<(Key, Vec<R>)>, ReadError> {
        let (of, first) = match self.next.take() {
            Some(next) => next,
            None if self.ended => return Ok(None),
            None => {
                if !self.table.advance()? {
                    self.ended = true;
                    return Ok(None);
                }
                let mut of = Key::new();
                key(&self.table, &mut of);
                (of, R::read(&mut self.table)?)
            }
        };
        let mut weight = first.weight();
        let mut rows = vec![first];
        loop {
            if !self.table.advance()? {
                self.ended = true;
                return Ok(Some((of, rows)));
            }
            key(&self.table, &mut self.spare);
            let row = R::read(&mut self.table)?;
            if self.spare != of {
                self.next = Some((self.spare.clone(), row));
                return Ok(Some((of, rows)));
            }
            weight += row.weight();
            if rows.len() >= RECEIPT || weight > RECEIPT_BYTES {
                return Err(self.table.fail(words::find(TOO_LONG)));
            }
            rows.push(row);
        }
    }

    /// Rows of a receipt; none when they are not within reach, and then they must never come.
    pub(super) fn of(&mut self, wanted: &[u8], seen: &Seen) -> Result<Vec<R>, ReadError> {
        let mut found = Vec::new();
        if let Some(rows) = self.ahead.remove(wanted) {
            self.rows -= rows.len();
            self.bytes -= weight(wanted, &rows);
            found = rows;
            // What follows may be more of the same.
            if self.next.as_ref().is_none_or(|(of, _)| of != wanted) {
                return Ok(found);
            }
        }
        while self.rows < ROWS && self.bytes < BYTES {
            let Some((of, mut rows)) = self.run()? else { break };
            if of == wanted {
                found.append(&mut rows);
                break;
            }
            self.refuse_late(&of, seen)?;
            self.rows += rows.len();
            self.bytes += weight(&of, &rows);
            let kept = self.ahead.entry(of).or_default();
            if kept.len() + rows.len() > RECEIPT {
                return Err(self.table.fail(words::find(TOO_LONG)));
            }
            kept.append(&mut rows);
            if !found.is_empty() {
                break;
            }
        }
        Ok(found)
    }

    /// A receipt that was done with already must not come again.
    fn refuse_late(&self, of: &[u8], seen: &Seen) -> Result<(), ReadError> {
        if !seen.has(of) {
            return Ok(());
        }
        Err(self.table.fail(say!("rows of {told} stand here, too far from its rows in the other tables, or apart from each other; the tables are not \
             in one order. Have the till export fewer days at a time", told = told(of))))
    }

    /// Reads the rest; gives receipts that never had a line, and the first of them.
    pub(super) fn rest(mut self, seen: &Seen) -> Result<(usize, Option<Key>), ReadError> {
        let mut first = self.ahead.keys().min().cloned();
        let mut left = self.ahead.len();
        while let Some((of, _)) = self.run()? {
            self.refuse_late(&of, seen)?;
            left += 1;
            first.get_or_insert(of);
        }
        Ok((left, first))
    }
}

fn weight<R: Row>(key: &[u8], rows: &[R]) -> usize {
    let size = size_of::<R>() + COST;
    key.len() + rows.iter().map(|row| row.weight() + size).sum::<usize>()
}
