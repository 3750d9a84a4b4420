//! Pages of trees, and what stands in their cells.
//!
//! The SQLite file format (from memory of its published description, "B-tree Pages"): a head of 8 or 12 bytes, behind it
//! two bytes for each cell that say where on the page it stands. What is too long for a page goes on in a chain of others.

use super::image::Image;
use super::log::be32;
use super::record::varint;
use std::cell::Cell as Counter;

/// The sort of a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sort {
    /// Rows by number.
    TableLeaf,
    /// The way to them.
    TableInterior,
    /// Records in their own order.
    IndexLeaf,
    /// The way to them, with records too.
    IndexInterior,
}

/// A page of a tree.
#[derive(Debug)]
pub(super) struct Node<'a> {
    pub(super) sort: Sort,
    page: &'a [u8],
    cells: Vec<usize>,
    /// Cells that stand nowhere on the page.
    pub(super) nowhere: u64,
    /// The last child of a page that leads to others.
    pub(super) right: u32,
}

/// What a cell says.
#[derive(Debug, Default)]
pub(super) struct Cell {
    pub(super) child: u32,
    pub(super) rowid: i64,
    pub(super) payload: Vec<u8>,
    /// The pages on which it goes on.
    pub(super) further: Vec<u32>,
}

impl<'a> Node<'a> {
    /// A page as one of a tree; none when its head makes no sense.
    pub(super) fn of(image: &'a Image, number: u32) -> Option<Node<'a>> {
        let page = image.page(number)?;
        let at = if number == 1 { 100 } else { 0 };
        let sort = match page.get(at)? {
            2 => Sort::IndexInterior,
            5 => Sort::TableInterior,
            10 => Sort::IndexLeaf,
            13 => Sort::TableLeaf,
            _ => return None,
        };
        let leads = matches!(sort, Sort::IndexInterior | Sort::TableInterior);
        let first = at + if leads { 12 } else { 8 };
        let pointers = page.get(first..first + 2 * word(page, at + 3)?)?;
        let last = first + pointers.len();
        let all = pointers.chunks_exact(2).map(|b| usize::from(b[0]) << 8 | usize::from(b[1]));
        let (cells, nowhere): (Vec<usize>, Vec<usize>) = all.partition(|cell| (last..page.len()).contains(cell));
        let right = if leads { be32(page, at + 8)? } else { 0 };
        Some(Node { sort, page, cells, nowhere: nowhere.len() as u64, right })
    }

    /// What each cell says; none for one that makes no sense. `budget` is how many bytes of further pages may still be
    /// read: bytes that claim the same pages over and over come to an end with it.
    pub(super) fn cells(&self, image: &Image, budget: &Counter<usize>) -> Vec<Option<Cell>> {
        self.cells.iter().map(|at| self.cell(image, budget, *at)).collect()
    }

    fn cell(&self, image: &Image, budget: &Counter<usize>, at: usize) -> Option<Cell> {
        let mut rest = self.page.get(at..)?;
        let mut cell = Cell::default();
        if matches!(self.sort, Sort::IndexInterior | Sort::TableInterior) {
            cell.child = be32(rest, 0)?;
            rest = rest.get(4..)?;
        }
        let mut next = || {
            let (value, length) = varint(rest)?;
            rest = rest.get(length..)?;
            Some(value)
        };
        if self.sort == Sort::TableInterior {
            cell.rowid = next()?.cast_signed();
            return Some(cell);
        }
        let length = usize::try_from(next()?).ok()?;
        if self.sort == Sort::TableLeaf {
            cell.rowid = next()?.cast_signed();
        }
        let usable = image.page_size;
        let here = local(self.sort == Sort::TableLeaf, usable, length);
        cell.payload.extend_from_slice(rest.get(..here)?);
        if here < length {
            if length > image.bytes() || length > budget.get() {
                return None;
            }
            budget.set(budget.get() - length);
            let mut page = be32(rest, here)?;
            while cell.payload.len() < length {
                // In the middle of a chain there is no page nought.
                let bytes = image.page(page)?;
                cell.further.push(page);
                let take = (length - cell.payload.len()).min(usable - 4);
                cell.payload.extend_from_slice(bytes.get(4..4 + take)?);
                page = be32(bytes, 0)?;
            }
            // A chain ends with its record.
            if page != 0 {
                return None;
            }
        }
        Some(cell)
    }
}

fn word(bytes: &[u8], at: usize) -> Option<usize> {
    Some(usize::from(*bytes.get(at)?) << 8 | usize::from(*bytes.get(at + 1)?))
}

/// How much of a record of a length stands on its own page ("Cell Payload Overflow Pages").
fn local(leaf: bool, usable: usize, length: usize) -> usize {
    let most = if leaf { usable - 35 } else { (usable - 12) * 64 / 255 - 23 };
    if length <= most {
        return length;
    }
    let least = (usable - 12) * 32 / 255 - 23;
    let whole_chain = least + (length - least) % (usable - 4);
    if whole_chain <= most { whole_chain } else { least }
}
