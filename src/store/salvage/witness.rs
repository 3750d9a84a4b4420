//! What the indexes of a table know of its rows: which ones there were, and what they said.

use super::plan::{Index, Table};
use super::walk::Row;
use rusqlite::types::Value;
use std::collections::BTreeSet;
use std::hash::{DefaultHasher, Hash, Hasher};

/// What an index knows, beside what was read of the rows themselves.
#[derive(Debug)]
pub(super) struct Witness {
    /// Which index of its table it is.
    pub(super) index: usize,
    /// Rows by what they are known by, each with what it says in the columns of the index.
    rows: Vec<(u64, u64)>,
    /// Those of them that were not kept after all.
    forgotten: Vec<(u64, u64)>,
    /// The same as the index has it.
    entries: Vec<(u64, u64)>,
    /// Whether the whole index could be read.
    pub(super) whole: bool,
    /// Pairs of an index of one column and the row's number that are worth keeping as they are.
    pub(super) pairs: Vec<(Value, i64)>,
}

/// Where rows and indexes do not agree.
#[derive(Debug, Default)]
pub(super) struct Disagreement {
    /// What is known by the indexes only.
    pub(super) lost: BTreeSet<u64>,
    /// Rows that an index knows to say something else.
    pub(super) other: BTreeSet<u64>,
}

impl Witness {
    pub(super) fn new(index: usize) -> Witness {
        Witness { index, rows: Vec::new(), forgotten: Vec::new(), entries: Vec::new(), whole: false, pairs: Vec::new() }
    }

    /// Notes a row of the table.
    pub(super) fn row(&mut self, table: &Table, row: &Row) {
        let noted = self.of_row(table, row);
        self.rows.push(noted);
    }

    /// Notes that a row of the table is not kept after all.
    fn forget(&mut self, table: &Table, row: &Row) {
        let noted = self.of_row(table, row);
        self.forgotten.push(noted);
    }

    /// Puts what was noted in order, without what was forgotten since.
    fn sort(&mut self) {
        self.rows.sort_unstable();
        self.forgotten.sort_unstable();
        let mut forgotten = self.forgotten.drain(..).peekable();
        self.rows.retain(|row| {
            while forgotten.next_if(|gone| gone < row).is_some() {}
            forgotten.next_if_eq(row).is_none()
        });
    }

    fn of_row(&self, table: &Table, row: &Row) -> (u64, u64) {
        let Some(index) = table.indexes.get(self.index) else { return (0, 0) };
        (identity(table, row), sum(index.columns.iter().flatten().map(|place| &row.values[*place])))
    }

    /// Notes a record of the index.
    pub(super) fn entry(&mut self, table: &Table, index: &Index, record: Vec<Value>) {
        let at = |wanted: Option<usize>| index.columns.iter().position(|place| *place == wanted).map(|n| &record[n]);
        let known = if table.keyed {
            sum(table.key.iter().filter_map(|place| at(Some(*place))))
        } else {
            match at(None) {
                Some(Value::Integer(number)) => number.cast_unsigned(),
                _ => return,
            }
        };
        let says = index.columns.iter().zip(&record).filter(|(place, _)| place.is_some()).map(|(_, value)| value);
        self.entries.push((known, sum(says)));
        if let [Some(column), None] = index.columns[..]
            && ["reverses", "reopens", "name_key"].contains(&table.columns[column].name.as_str())
            && let [value, Value::Integer(number)] = &record[..]
            && *value != Value::Null
        {
            self.pairs.push((value.clone(), *number));
        }
    }

    /// To be called once all records of the index are noted.
    pub(super) fn settle(&mut self, whole: bool) {
        self.whole = whole;
        self.entries.sort_unstable();
    }

    /// Whether an index that was read whole has more rows than were read.
    pub(super) fn has_more(&self) -> bool {
        self.whole && self.entries.len() > self.rows.len()
    }

    /// Whether an index has a row, as far as it could be read.
    pub(super) fn knows(&self, table: &Table, row: &Row) -> bool {
        self.entries.binary_search(&self.of_row(table, row)).is_ok()
    }
}

/// Notes of the witnesses of a table that a row is kept instead of others.
pub(super) fn exchange(witnesses: &mut [Witness], table: &Table, row: &Row, others: &[Row]) {
    for witness in witnesses {
        others.iter().for_each(|other| witness.forget(table, other));
        witness.row(table, row);
    }
}

/// Whether a row is known to have its place: all indexes of what only one row may say know that it says so, as far as they
/// could be read; where there are none, those that could be read whole.
pub(super) fn proves(witnesses: &[Witness], table: &Table, row: &Row) -> bool {
    let (only, others): (Vec<&Witness>, _) = witnesses.iter().partition(|witness| table.indexes[witness.index].unique);
    let others = others.into_iter().filter(|witness| witness.whole).collect();
    let asked: Vec<&Witness> = if only.is_empty() { others } else { only };
    table.identity().is_some() && !asked.is_empty() && asked.iter().all(|witness| witness.knows(table, row))
}

/// What a row is known by.
pub(super) fn identity(table: &Table, row: &Row) -> u64 {
    if table.keyed { sum(table.key.iter().map(|place| &row.values[*place])) } else { row.number.cast_unsigned() }
}

fn sum<'v>(values: impl Iterator<Item = &'v Value>) -> u64 {
    let mut sum = DefaultHasher::new();
    for value in values {
        match value {
            Value::Null => 0_u8.hash(&mut sum),
            Value::Integer(value) => (1_u8, value).hash(&mut sum),
            Value::Real(value) => (2_u8, value.to_bits()).hash(&mut sum),
            Value::Text(value) => (3_u8, value).hash(&mut sum),
            Value::Blob(value) => (4_u8, value).hash(&mut sum),
        }
    }
    sum.finish()
}

/// Sets the rows of a table beside what its indexes know. A row is only lost when no index that could be read whole has
/// it otherwise.
pub(super) fn compare(witnesses: &mut [Witness]) -> Disagreement {
    let mut out = Disagreement::default();
    let mut first = true;
    for witness in witnesses.iter_mut().filter(|witness| witness.whole) {
        witness.sort();
        let known = |id: u64| witness.rows.partition_point(|(row, _)| *row < id);
        let mut lost = BTreeSet::new();
        for (id, says) in &witness.entries {
            match witness.rows.get(known(*id)).filter(|(row, _)| row == id) {
                None => {
                    lost.insert(*id);
                }
                Some((_, said)) if said != says => {
                    out.other.insert(*id);
                }
                Some(_) => {}
            }
        }
        out.lost = if first { lost } else { out.lost.intersection(&lost).copied().collect() };
        first = false;
    }
    out
}
