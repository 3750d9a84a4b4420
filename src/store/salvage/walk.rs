//! Along the trees of a book, from their roots to every row, past whatever makes no sense.

use super::image::Image;
use super::node::{Cell, Node, Sort};
use super::plan::Table;
use super::record::record;
use crate::store::StoreError;
use rusqlite::types::Value;
use std::cell::Cell as Counter;
use std::collections::BTreeSet;

/// A tree of more storeys than this is none; the engine itself goes no deeper (from memory of its description).
const STOREYS: u32 = 20;

/// The pages of a book and which of them were found to be whose.
#[derive(Debug)]
pub(super) struct Pages<'a> {
    pub(super) image: &'a Image,
    seen: Vec<bool>,
    budget: Counter<usize>,
}

/// A row of a table.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    /// Its number; nought in a table that is found by key.
    pub(super) number: i64,
    /// By the columns of the table.
    pub(super) values: Vec<Value>,
    /// Whether it stands where the way to it said that it does.
    pub(super) sure: bool,
}

/// What came of following a tree.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// Between which numbers rows are missing: above the first, up to the second. In a tree of records, without bounds.
    pub(super) holes: Vec<Bounds>,
    /// Whether nobody knows where it begins.
    pub(super) rootless: bool,
    /// Pages of it on which something, or everything, makes no sense.
    pub(super) damaged: BTreeSet<u32>,
    /// Rows on pages that could be read of which nothing could be made.
    pub(super) unread: u64,
}

/// Above the first number, up to the second.
pub(super) type Bounds = (Option<i64>, Option<i64>);

/// What is done with each row.
pub(super) type Each<'e> = dyn FnMut(Row) -> Result<(), StoreError> + 'e;

impl Found {
    /// Whether every row was reached.
    pub(super) fn whole(&self) -> bool {
        self.damaged.is_empty() && self.holes.is_empty() && self.unread == 0
    }

    pub(super) fn lost(&mut self, page: u32, bounds: Bounds) {
        self.damaged.insert(page);
        self.holes.push(bounds);
    }
}

impl<'a> Pages<'a> {
    pub(super) fn new(image: &'a Image) -> Pages<'a> {
        let pages = usize::try_from(image.count).unwrap_or_default() + 1;
        // Enough for every byte to be part of some long record a few times over.
        let budget = image.bytes().saturating_mul(4);
        Pages { image, seen: vec![false; pages], budget: Counter::new(budget) }
    }

    pub(super) fn is_seen(&self, page: u32) -> bool {
        usize::try_from(page).ok().and_then(|page| self.seen.get(page)).copied().unwrap_or(true)
    }

    pub(super) fn see(&mut self, page: u32) {
        if let Some(seen) = usize::try_from(page).ok().and_then(|page| self.seen.get_mut(page)) {
            *seen = true;
        }
    }

    /// The pages on which records of these cells go on, unless they are no records.
    pub(super) fn see_further(&mut self, cells: &[Option<Cell>]) {
        let long = cells.iter().flatten().filter(|cell| !cell.further.is_empty());
        for cell in long.filter(|cell| record(&cell.payload).is_some()) {
            cell.further.iter().for_each(|page| self.see(*page));
        }
    }

    /// A page was read, with so many of its cells of no sense.
    fn is_read(&mut self, page: u32, cells: &[Option<Cell>], bad: u64, found: &mut Found) {
        self.see(page);
        self.see_further(cells);
        if bad > 0 {
            found.damaged.insert(page);
            found.unread += bad;
        }
    }

    /// The node on a page, and its cells.
    pub(super) fn open(&self, page: u32) -> Option<(Node<'a>, Vec<Option<Cell>>)> {
        let node = Node::of(self.image, page)?;
        let cells = node.cells(self.image, &self.budget);
        Some((node, cells))
    }

    /// Follows the tree of a table, or of what `make` takes records for, and hands on its rows.
    pub(super) fn table(&mut self, table: &Table, root: Option<u32>, each: &mut Each<'_>) -> Result<Found, StoreError> {
        let mut found = Found::default();
        match (root, table.keyed) {
            (None, _) => {
                found.rootless = true;
                found.holes.push((None, None));
            }
            (Some(root), false) => self.rows(table, root, (None, None), 0, &mut found, each)?,
            (Some(root), true) => {
                let mut make = |cell: &Cell| keyed_row(table, cell);
                self.records(root, 0, &mut found, &mut make, each)?;
            }
        }
        Ok(found)
    }

    /// Follows a tree of rows by number.
    fn rows(
        &mut self,
        table: &Table,
        page: u32,
        bounds: Bounds,
        storey: u32,
        found: &mut Found,
        each: &mut Each<'_>,
    ) -> Result<(), StoreError> {
        let opened = if storey > STOREYS || self.is_seen(page) { None } else { self.open(page) };
        match opened {
            Some((node, cells)) if node.sort == Sort::TableLeaf => {
                let Some((rows, bad)) = leaf(table, &node, &cells) else {
                    found.lost(page, bounds);
                    return Ok(());
                };
                self.is_read(page, &cells, bad, found);
                let within = |row: &Row| holds(bounds, row.number);
                let astray = rows.iter().filter(|row| !within(row)).count();
                if astray * 2 > rows.len() {
                    // Another page stands here: its own rows may be lost.
                    found.lost(page, bounds);
                }
                for row in rows {
                    let sure = within(&row);
                    each(Row { sure, ..row })?;
                }
            }
            Some((node, cells)) if node.sort == Sort::TableInterior => {
                let children = self.children(&node, &cells);
                if children.is_empty() {
                    found.lost(page, bounds);
                    return Ok(());
                }
                self.see(page);
                let said = cells.len() + 1 + usize::try_from(node.nowhere).unwrap_or_default();
                if children.len() < said {
                    found.lost(page, bounds);
                }
                let mut above = bounds.0;
                for (child, key) in children {
                    let upto = key.or(bounds.1);
                    self.rows(table, child, (above, upto), storey + 1, found, each)?;
                    above = key.or(above);
                }
            }
            _ => found.lost(page, bounds),
        }
        Ok(())
    }

    /// The children of a page that leads to rows, with the largest number that each may hold; none for the last.
    fn children(&self, node: &Node<'_>, cells: &[Option<Cell>]) -> Vec<(u32, Option<i64>)> {
        let there = |page: u32| (2..=self.image.count).contains(&page);
        let kept: Vec<&Cell> = cells.iter().flatten().filter(|cell| there(cell.child)).collect();
        let keys: Vec<i64> = kept.iter().map(|cell| cell.rowid).collect();
        let mut out: Vec<(u32, Option<i64>)> =
            ascending(&keys).into_iter().map(|n| (kept[n].child, Some(kept[n].rowid))).collect();
        if there(node.right) {
            out.push((node.right, None));
        }
        out
    }

    /// Follows a tree of records.
    pub(super) fn records(
        &mut self,
        page: u32,
        storey: u32,
        found: &mut Found,
        make: &mut dyn FnMut(&Cell) -> Option<Row>,
        each: &mut Each<'_>,
    ) -> Result<(), StoreError> {
        let opened = if storey > STOREYS || self.is_seen(page) { None } else { self.open(page) };
        let Some((node, cells)) = opened else {
            found.lost(page, (None, None));
            return Ok(());
        };
        let leads = node.sort == Sort::IndexInterior;
        let rows: Vec<Option<Row>> = cells.iter().map(|cell| cell.as_ref().and_then(&mut *make)).collect();
        let bad = rows.iter().filter(|row| row.is_none()).count() as u64 + node.nowhere;
        let nothing = bad > 0 && rows.iter().all(Option::is_none);
        if !(leads || node.sort == Sort::IndexLeaf) || nothing {
            found.lost(page, (None, None));
            return Ok(());
        }
        self.is_read(page, &cells, bad, found);
        let mut children = Vec::new();
        if leads {
            // A cell of no sense still may lead somewhere, but where to is not to be believed.
            children = cells.iter().flatten().map(|cell| cell.child).collect();
            children.push(node.right);
            if bad > 0 {
                found.holes.push((None, None));
            }
        }
        for row in rows.into_iter().flatten() {
            each(row)?;
        }
        for child in children {
            if (2..=self.image.count).contains(&child) {
                self.records(child, storey + 1, found, make, each)?;
            } else {
                found.lost(page, (None, None));
            }
        }
        Ok(())
    }
}

/// The row of a table that is found by key.
pub(super) fn keyed_row(table: &Table, cell: &Cell) -> Option<Row> {
    let values = table.row(0, record(&cell.payload)?)?;
    Some(Row { number: 0, values, sure: true })
}

/// The rows of a leaf of a table, and how many cells are none; nothing at all when it is no leaf of this table.
pub(super) fn leaf(table: &Table, node: &Node<'_>, cells: &[Option<Cell>]) -> Option<(Vec<Row>, u64)> {
    let row = |cell: &Cell| {
        let values = table.row(cell.rowid, record(&cell.payload)?)?;
        Some(Row { number: cell.rowid, values, sure: true })
    };
    let rows: Vec<Row> = cells.iter().flatten().filter_map(row).collect();
    let numbers: Vec<i64> = rows.iter().map(|row| row.number).collect();
    let order = ascending(&numbers);
    let bad = (cells.len() - order.len()) as u64 + node.nowhere;
    if order.is_empty() && bad > 0 {
        return None;
    }
    let mut rows: Vec<Option<Row>> = rows.into_iter().map(Some).collect();
    Some((order.into_iter().filter_map(|n| rows[n].take()).collect(), bad))
}

/// Whether a number lies within bounds.
pub(super) fn holds((above, upto): Bounds, number: i64) -> bool {
    above.is_none_or(|above| number > above) && upto.is_none_or(|upto| number <= upto)
}

/// The places of as many numbers as possible that ascend: one that is out of order is what was damaged, not all others.
fn ascending(numbers: &[i64]) -> Vec<usize> {
    // The last places of the best runs of each length, and what stood before each.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = vec![None; numbers.len()];
    for (n, number) in numbers.iter().enumerate() {
        let at = ends.partition_point(|end| numbers[*end] < *number);
        before[n] = at.checked_sub(1).map(|last| ends[last]);
        match ends.get_mut(at) {
            Some(end) => *end = n,
            None => ends.push(n),
        }
    }
    let mut out = Vec::new();
    let mut next = ends.last().copied();
    while let Some(n) = next {
        out.push(n);
        next = before[n];
    }
    out.reverse();
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_number_out_of_order_leaves_the_others() {
        assert_eq!(ascending(&[1, 2, 900, 4, 5]), [0, 1, 3, 4]);
        assert_eq!(ascending(&[1, 2, 3]), [0, 1, 2]);
        assert_eq!(ascending(&[5, 5]).len(), 1);
        assert!(ascending(&[]).is_empty());
    }

    #[test]
    fn bounds_hold_their_upper_end() {
        assert!(holds((Some(1), Some(3)), 3) && !holds((Some(1), Some(3)), 1) && holds((None, None), -5));
    }
}
