//! Everything that can be read of a damaged book, table by table.

use super::catalog;
use super::plan::{Plan, Roots, Table};
use super::rebuild;
use super::record::record;
use super::stray;
use super::walk::{Bounds, Found, Pages, Row};
use super::witness::{self, Disagreement, Witness};
use crate::store::{APPLICATION_ID, StoreError};
use rusqlite::types::Value;
use std::collections::BTreeSet;

/// What is told of a book once all of it was read.
#[derive(Debug)]
pub(super) struct Reading {
    /// What a book of its version consists of.
    pub(super) plan: Plan,
    /// By the tables of the plan.
    pub(super) tables: Vec<TableRead>,
    /// Pages that look as if rows stood on them, and of which nobody can tell of what.
    pub(super) untold: BTreeSet<u32>,
    /// How many pages of what the book says that it consists of make no sense.
    pub(super) catalog_damaged: u32,
    /// Whether the head of the file says what it should.
    pub(super) head_damaged: bool,
}

/// What is told of one table.
#[derive(Debug, Default)]
pub(super) struct TableRead {
    /// Its tree.
    pub(super) found: Found,
    /// Rows handed on and taken.
    pub(super) rows: u64,
    /// Rows on pages out of their place that an index does not know, and that were not believed.
    pub(super) refuted: u64,
    /// Rows on such pages that were taken.
    pub(super) strayed: u64,
    /// Rows that were put together from indexes, theirs being lost.
    pub(super) rebuilt: u64,
    /// Where indexes and rows do not agree.
    pub(super) disagreement: Disagreement,
    /// Whether an index could be read whole: then what is lost is known.
    pub(super) witnessed: bool,
    /// Pages of its indexes that make no sense.
    pub(super) index_pages: u32,
    /// What was left out, or went, because something else has its place, by what it is known by.
    pub(super) aside: BTreeSet<u64>,
    /// Pairs of a column and the row's number that indexes hold, by the name of the column.
    pub(super) pairs: Vec<(String, Value, i64)>,
}

impl TableRead {
    /// Rows that were there and that nothing stands for. Where every page is there, it is an index that knows of too many, but
    /// for those of which something was read that did not fit.
    pub(super) fn missing(&self) -> BTreeSet<u64> {
        let lost = &self.disagreement.lost;
        if self.found.whole() { lost.intersection(&self.aside).copied().collect() } else { lost.clone() }
    }

    fn stood_aside(&mut self, table: &Table, row: &Row) {
        self.aside.insert(witness::identity(table, row));
    }

    /// One row was taken, and others went for it.
    fn took_instead(&mut self, table: &Table, gone: &[Row]) {
        self.rows = (self.rows + 1).saturating_sub(gone.len() as u64);
        for row in gone {
            self.stood_aside(table, row);
            self.disagreement.other.remove(&witness::identity(table, row));
        }
    }
}

/// What became of a row that was handed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Taken {
    /// It is kept.
    Yes,
    /// It makes no sense.
    No,
    /// It is there already.
    Already,
    /// Something else is in its place.
    Beaten,
}

/// What takes the rows.
pub(super) trait Keeper {
    /// Takes a row, if it can.
    fn put(&mut self, table: &Table, row: &Row) -> Result<Taken, StoreError>;

    /// Takes a row that was beaten before, if nothing is in its place any more, or if it is better than those that are. Hands
    /// back what it took instead of; nothing at all where it is not taken.
    fn put_again(
        &mut self,
        table: &Table,
        row: &Row,
        better: &dyn Fn(&[Row]) -> bool,
    ) -> Result<Option<Vec<Row>>, StoreError>;
}

/// Takes every row, and keeps none.
pub(super) struct OnlyRead;

impl Keeper for OnlyRead {
    fn put(&mut self, _: &Table, _: &Row) -> Result<Taken, StoreError> {
        Ok(Taken::Yes)
    }

    fn put_again(&mut self, _: &Table, _: &Row, _: &dyn Fn(&[Row]) -> bool) -> Result<Option<Vec<Row>>, StoreError> {
        Ok(None)
    }
}

/// Finds out of which version a book is, and where its trees begin; none when it is no book.
pub(super) fn choose(pages: &mut Pages<'_>, plans: Vec<Plan>) -> Result<Option<(Plan, Chosen)>, StoreError> {
    let catalog = catalog::read(pages)?;
    let mark = i64::from(pages.image.number(68));
    let said = i64::from(pages.image.number(60));
    let Some(version) = catalog.version(mark, said, &plans)? else { return Ok(None) };
    let head_damaged = mark != APPLICATION_ID || said != version as i64 || !super::is_sound(pages.image.header());
    let roots = catalog.roots(pages, &plans, version)?;
    let plan = plans.into_iter().find(|plan| plan.version == version);
    Ok(plan.map(|plan| (plan, Chosen { roots, catalog_damaged: catalog.damaged, head_damaged })))
}

/// What was found before the tables are read.
#[derive(Debug)]
pub(super) struct Chosen {
    roots: Roots,
    catalog_damaged: u32,
    head_damaged: bool,
}

/// Of rows that cannot stand beside each other the one stays that the indexes know, if they know none of the others. Hands
/// back those that went.
fn settle(
    keeper: &mut dyn Keeper,
    table: &Table,
    witnesses: &[Witness],
    row: &Row,
) -> Result<Option<Vec<Row>>, StoreError> {
    let proven = |row: &Row| witness::proves(witnesses, table, row);
    keeper.put_again(table, row, &|others| proven(row) && !others.iter().any(proven))
}

/// Hands on every row that can be read: first those that stand where they should, then the others.
pub(super) fn read(
    pages: &mut Pages<'_>,
    plan: Plan,
    chosen: &Chosen,
    keeper: &mut dyn Keeper,
) -> Result<Reading, StoreError> {
    let mut tables: Vec<TableRead> = plan.tables.iter().map(|_| TableRead::default()).collect();
    let mut witnesses: Vec<Vec<Witness>> = plan
        .tables
        .iter()
        .map(|table| (0..table.indexes.len()).filter(|n| table.indexes[*n].plain).map(Witness::new).collect())
        .collect();
    let mut unsure: Vec<(usize, Row)> = Vec::new();
    let mut beaten: Vec<(usize, Row)> = Vec::new();
    let mut take = |n: usize, table: &Table, row: &Row, witnesses: &mut Vec<Vec<Witness>>, read: &mut TableRead| {
        let taken = keeper.put(table, row)?;
        // What was left out is not lost: why it was is told apart.
        if matches!(taken, Taken::Yes | Taken::No) {
            witnesses[n].iter_mut().for_each(|witness| witness.row(table, row));
        }
        if taken == Taken::Yes {
            read.rows += 1;
            read.strayed += u64::from(!row.sure);
        }
        Ok::<_, StoreError>(taken)
    };
    let root = |name: &str| chosen.roots.get(name).copied();
    for (n, table) in plan.tables.iter().enumerate() {
        let found = pages.table(table, root(&table.name), &mut |row| {
            if row.sure {
                if take(n, table, &row, &mut witnesses, &mut tables[n])? == Taken::Beaten {
                    beaten.push((n, row));
                }
            } else {
                unsure.push((n, row));
            }
            Ok(())
        })?;
        tables[n].found = found;
    }
    let mut lost_indexes = Vec::new();
    for (n, table) in plan.tables.iter().enumerate() {
        for (place, index) in table.indexes.iter().enumerate() {
            let Some(root) = root(&index.name) else {
                lost_indexes.push((n, place));
                continue;
            };
            let mut witness = witnesses[n].iter_mut().find(|witness| witness.index == place);
            let mut found = Found::default();
            let mut make = |cell: &super::node::Cell| {
                let values = record(&cell.payload).filter(|record| table.is_of(index, record))?;
                Some(Row { number: 0, values, sure: true })
            };
            pages.records(root, 0, &mut found, &mut make, &mut |row| {
                if let Some(witness) = &mut witness {
                    witness.entry(table, index, row.values);
                }
                Ok(())
            })?;
            if let Some(witness) = witness {
                witness.settle(found.whole());
            }
            if !found.holes.is_empty() {
                lost_indexes.push((n, place));
            }
            tables[n].index_pages += u32::try_from(found.damaged.len()).unwrap_or(u32::MAX);
        }
    }
    // What stands on a free page was thrown away.
    pages.image.free().into_iter().for_each(|page| pages.see(page));
    // A page that leads to others may have become one of those that it led to, and nothing is wrong with what is left.
    let may_be = |n: usize| tables[n].found.holes.is_empty() && witnesses[n].iter().any(Witness::has_more);
    let mut cut_off: BTreeSet<usize> = (0..tables.len()).filter(|n| may_be(*n)).collect();
    let nowhere = |n: usize| if cut_off.contains(&n) { vec![(None, None)] } else { tables[n].found.holes.clone() };
    let holes: Vec<Vec<Bounds>> = (0..tables.len()).map(nowhere).collect();
    let strays = stray::find(pages, &plan, &holes, &lost_indexes, &witnesses);
    unsure.extend(strays.rows);
    for (n, row) in unsure {
        let table = &plan.tables[n];
        if cut_off.contains(&n) && witnesses[n].iter().any(|witness| witness.knows(table, &row)) {
            tables[n].found.lost(root(&table.name).unwrap_or_default(), (None, None));
            cut_off.remove(&n);
        }
        let mut whole = witnesses[n].iter().filter(|witness| witness.whole).peekable();
        if whole.peek().is_some() && !whole.any(|witness| witness.knows(table, &row)) {
            tables[n].refuted += 1;
        } else if take(n, table, &row, &mut witnesses, &mut tables[n])? == Taken::Beaten {
            beaten.push((n, row));
        }
    }
    for (n, row) in beaten {
        let (table, read) = (&plan.tables[n], &mut tables[n]);
        match settle(keeper, table, &witnesses[n], &row)? {
            None => read.stood_aside(table, &row),
            Some(gone) => {
                read.strayed += u64::from(!row.sure);
                read.took_instead(table, &gone);
                witness::exchange(&mut witnesses[n], table, &row, &gone);
            }
        }
    }
    for (n, read) in tables.iter_mut().enumerate() {
        read.witnessed = witnesses[n].iter().any(|witness| witness.whole);
        read.disagreement = witness::compare(&mut witnesses[n]);
        let table = &plan.tables[n];
        for witness in &mut witnesses[n] {
            let column = table.indexes[witness.index].columns.first().copied().flatten();
            let Some(column) = column.map(|column| table.columns[column].name.clone()) else { continue };
            read.pairs.extend(witness.pairs.drain(..).map(|(value, number)| (column.clone(), value, number)));
        }
        let lost = read.missing();
        if lost.is_empty() {
            continue;
        }
        let whole = witnesses[n].iter().filter(|witness| witness.whole).map(|witness| &table.indexes[witness.index]);
        let whole: Vec<_> = whole.filter_map(|index| Some((index, root(&index.name)?))).collect();
        for row in rebuild::rows(pages.image, table, &whole, &lost)? {
            let gone = match keeper.put(table, &row)? {
                Taken::Yes => Some(Vec::new()),
                Taken::Beaten => settle(keeper, table, &witnesses[n], &row)?,
                Taken::No | Taken::Already => None,
            };
            if let Some(gone) = gone {
                read.took_instead(table, &gone);
                read.rebuilt += 1;
                read.disagreement.lost.remove(&witness::identity(table, &row));
            }
        }
    }
    Ok(Reading {
        plan,
        tables,
        untold: strays.untold,
        catalog_damaged: chosen.catalog_damaged,
        head_damaged: chosen.head_damaged,
    })
}
