//! Pages that no way leads to any more: which table they are of, by what stands on them.

use super::node::{Cell, Node, Sort};
use super::plan::{Plan, Table};
use super::walk::{Bounds, Pages, Row, holds, keyed_row, leaf};
use super::witness::Witness;
use std::collections::{BTreeSet, HashMap};

/// What was found on such pages.
#[derive(Debug, Default)]
pub(super) struct Strays {
    /// Rows, each with the place of its table in the plan.
    pub(super) rows: Vec<(usize, Row)>,
    /// Pages that fit more than one table, or none of those in which rows are missing.
    pub(super) untold: BTreeSet<u32>,
}

/// A page, and the rows that it would hold as one of each table that it fits.
struct Page {
    number: u32,
    further: Vec<u32>,
    fits: Vec<(usize, Vec<Row>)>,
}

/// Gives every page that was not reached to the one table in which rows are missing that it fits. Of several it is the one
/// whose indexes know its rows, or that of the pages beside it on the way to them.
pub(super) fn find(
    pages: &mut Pages<'_>,
    plan: &Plan,
    holes: &[Vec<Bounds>],
    lost_indexes: &[(usize, usize)],
    witnesses: &[Vec<Witness>],
) -> Strays {
    let mut out = Strays::default();
    let missing: Vec<usize> = (0..plan.tables.len()).filter(|n| !holes[*n].is_empty()).collect();
    if missing.is_empty() {
        return out;
    }
    let (mut candidates, mut families) = (Vec::new(), Vec::new());
    for number in 2..=pages.image.count {
        if pages.is_seen(number) {
            continue;
        }
        let Some((node, cells)) = pages.open(number).filter(|(_, cells)| !cells.is_empty()) else { continue };
        if node.sort == Sort::TableInterior {
            families.push(cells.iter().flatten().map(|cell| cell.child).chain([node.right]).collect::<Vec<u32>>());
            continue;
        }
        let records: Vec<&Cell> = cells.iter().flatten().collect();
        let numbered = node.sort == Sort::TableLeaf;
        let mut fits = Vec::new();
        for n in missing.iter().copied().filter(|n| plan.tables[*n].keyed != numbered) {
            let table = &plan.tables[n];
            let rows =
                if numbered { numbered_rows(table, &node, &cells, &holes[n]) } else { keyed_rows(table, &records) };
            if let Some(rows) = rows {
                fits.push((n, rows));
            }
        }
        if !numbered && is_of_an_index(plan, lost_indexes, &records) {
            // It may be a page of an index, of which nothing is needed.
            if !fits.is_empty() {
                out.untold.insert(number);
            }
            continue;
        }
        let long = records.iter().flat_map(|cell| cell.further.iter().copied()).collect();
        candidates.push(Page { number, further: long, fits });
    }
    let mut settled: HashMap<u32, usize> = HashMap::new();
    for page in &candidates {
        if let Some(table) = of_one(plan, page, witnesses) {
            settled.insert(page.number, table);
        }
    }
    for family in families {
        let mut known = family.iter().filter_map(|page| settled.get(page).copied());
        let Some(table) = known.next().filter(|table| known.all(|other| other == *table)) else { continue };
        for page in candidates.iter().filter(|page| family.contains(&page.number)) {
            if page.fits.iter().any(|(n, _)| *n == table) {
                settled.entry(page.number).or_insert(table);
            }
        }
    }
    // A long record may go on on a page that looks like one of a tree.
    let further: BTreeSet<u32> = candidates
        .iter()
        .filter(|page| settled.contains_key(&page.number))
        .flat_map(|page| page.further.iter().copied())
        .collect();
    for page in candidates {
        if pages.is_seen(page.number) || further.contains(&page.number) {
            continue;
        }
        let table = settled.get(&page.number).copied();
        match table.and_then(|table| page.fits.into_iter().find(|(n, _)| *n == table)) {
            Some((table, rows)) => {
                pages.see(page.number);
                out.rows.extend(rows.into_iter().map(|row| (table, Row { sure: false, ..row })));
            }
            None => {
                out.untold.insert(page.number);
            }
        }
    }
    out
}

/// The rows of a page as a leaf of a table, if most of them are missing there.
fn numbered_rows(table: &Table, node: &Node<'_>, cells: &[Option<Cell>], holes: &[Bounds]) -> Option<Vec<Row>> {
    let (rows, _) = leaf(table, node, cells)?;
    let missing = rows.iter().filter(|row| holes.iter().any(|hole| holds(*hole, row.number))).count();
    (rows.len() * 2 > cells.len() && missing * 2 > rows.len()).then_some(rows)
}

/// The rows of a page as one of a table that is found by key.
fn keyed_rows(table: &Table, cells: &[&Cell]) -> Option<Vec<Row>> {
    let rows: Vec<Row> = cells.iter().filter_map(|cell| keyed_row(table, cell)).collect();
    (rows.len() * 2 > cells.len()).then_some(rows)
}

/// Whether a page can be one of an index of which pages are missing.
fn is_of_an_index(plan: &Plan, lost: &[(usize, usize)], cells: &[&Cell]) -> bool {
    let records: Vec<_> = cells.iter().filter_map(|cell| super::record::record(&cell.payload)).collect();
    lost.iter().any(|(n, place)| {
        let table = &plan.tables[*n];
        let like = records.iter().filter(|record| table.is_of(&table.indexes[*place], record)).count();
        like * 2 > cells.len()
    })
}

/// The table of a page that fits only one, or of which the indexes of only one know rows.
fn of_one(plan: &Plan, page: &Page, witnesses: &[Vec<Witness>]) -> Option<usize> {
    if let [(only, _)] = &page.fits[..] {
        return Some(*only);
    }
    let known = page.fits.iter().filter(|(n, rows)| {
        let mut whole = witnesses[*n].iter().filter(|witness| witness.whole);
        whole.any(|witness| rows.iter().any(|row| witness.knows(&plan.tables[*n], row)))
    });
    let known: Vec<usize> = known.map(|(n, _)| *n).collect();
    match known[..] {
        [one] => Some(one),
        _ => None,
    }
}
