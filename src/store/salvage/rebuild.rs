//! Rows that could not be read, put together from indexes that between them have every column.

use super::image::Image;
use super::plan::{Index, Table};
use super::record::record;
use super::walk::{Found, Pages, Row};
use crate::store::StoreError;
use rusqlite::types::Value;
use std::collections::{BTreeMap, BTreeSet};

/// Columns that no index has, and whose emptiness says no more than that it is not known.
const NOT_TOLD: &[(&str, &str)] = &[("sale", "file")];

/// The rows of these numbers, as far as the indexes have all of their columns.
pub(super) fn rows(
    image: &Image,
    table: &Table,
    indexes: &[(&Index, u32)],
    lost: &BTreeSet<u64>,
) -> Result<Vec<Row>, StoreError> {
    let not_told = |place: &usize| NOT_TOLD.contains(&(table.name.as_str(), table.columns[*place].name.as_str()));
    let had: BTreeSet<usize> = indexes.iter().flat_map(|(index, _)| index.columns.iter().flatten().copied()).collect();
    // The number stands before a record, not in it.
    let blank = |place: usize| (Some(place) == table.number || not_told(&place)).then_some(Value::Null);
    let blank: Vec<Option<Value>> = (0..table.columns.len()).map(blank).collect();
    if table.keyed || blank.iter().enumerate().any(|(place, value)| value.is_none() && !had.contains(&place)) {
        return Ok(Vec::new());
    }
    let mut rows: BTreeMap<i64, Vec<Option<Value>>> = BTreeMap::new();
    for (index, root) in indexes {
        let mut make = |cell: &super::node::Cell| {
            let values = record(&cell.payload).filter(|record| table.is_of(index, record))?;
            Some(Row { number: 0, values, sure: true })
        };
        // They were followed before, so that this finds them whole again.
        Pages::new(image).records(*root, 0, &mut Found::default(), &mut make, &mut |entry| {
            if let Some(Value::Integer(number)) = entry.values.last()
                && lost.contains(&number.cast_unsigned())
            {
                let row = rows.entry(*number).or_insert_with(|| blank.clone());
                for (place, value) in index.columns.iter().zip(entry.values) {
                    if let Some(place) = place {
                        row[*place] = Some(value);
                    }
                }
            }
            Ok(())
        })?;
    }
    let whole = rows.into_iter().filter_map(|(number, mut row)| {
        let record = table.stored.iter().map(|place| row[*place].take()).collect::<Option<Vec<Value>>>()?;
        Some(Row { number, values: table.row(number, record)?, sure: false })
    });
    Ok(whole.collect())
}
