//! What a damaged book says that it consists of, and of which version it therefore is.

use super::node::{Node, Sort};
use super::plan::{self, Plan, Roots, Table};
use super::walk::{Pages, keyed_row, leaf};
use crate::store::{APPLICATION_ID, StoreError};
use rusqlite::types::Value;
use std::collections::HashMap;

/// How many trees must begin where a new book has them before the others are looked for there, too.
const TELLING: usize = 10;

/// The objects of a book.
#[derive(Debug, Default)]
pub(super) struct Catalog {
    /// Each by its name, as it is written down, and its root.
    objects: HashMap<String, (String, u32)>,
    /// Whether all of it could be read.
    pub(super) whole: bool,
    /// How many pages of it could not, wholly or in part.
    pub(super) damaged: u32,
}

/// Reads it, also from pages that the way to them no longer leads to.
pub(super) fn read(pages: &mut Pages<'_>) -> Result<Catalog, StoreError> {
    let table = Table::of_objects();
    let mut catalog = Catalog::default();
    let keep = |catalog: &mut Catalog, values: &[Value]| {
        if let [_, Value::Text(name), _, root, sql] = values {
            let root = match root {
                Value::Integer(root) => u32::try_from(*root).unwrap_or_default(),
                _ => 0,
            };
            let sql = if let Value::Text(sql) = sql { sql.clone() } else { String::new() };
            catalog.objects.entry(name.clone()).or_insert((sql, root));
        }
    };
    let found = pages.table(&table, Some(1), &mut |row| {
        if is_object(&row.values) {
            keep(&mut catalog, &row.values);
        }
        Ok(())
    })?;
    catalog.whole = found.whole();
    catalog.damaged = u32::try_from(found.damaged.len()).unwrap_or(u32::MAX);
    if !catalog.whole {
        for number in 2..=pages.image.count {
            let Some(node) = Node::of(pages.image, number).filter(|node| node.sort == Sort::TableLeaf) else {
                continue;
            };
            if pages.is_seen(number) {
                continue;
            }
            let Some((_, cells)) = pages.open(number) else { continue };
            let Some((rows, _)) = leaf(&table, &node, &cells) else { continue };
            if !rows.is_empty() && rows.iter().all(|row| is_object(&row.values)) {
                pages.see(number);
                pages.see_further(&cells);
                rows.iter().for_each(|row| keep(&mut catalog, &row.values));
            }
        }
    }
    Ok(catalog)
}

fn is_object(values: &[Value]) -> bool {
    matches!(values.first(), Some(Value::Text(word)) if ["table", "index", "trigger", "view"].contains(&word.as_str()))
}

impl Catalog {
    /// Whether nothing at all could be read.
    pub(super) fn is_empty(&self) -> bool {
        self.objects.is_empty()
    }

    /// How many objects are written down as a version has them.
    fn likeness(&self, plan: &Plan) -> usize {
        let same = |(name, (sql, _)): (&String, &(String, u32))| {
            plan.objects.get(name).is_some_and(|(planned, _)| planned == sql)
        };
        // What the engine makes for itself says nothing about a version.
        self.objects.iter().filter(|(_, (sql, _))| !sql.is_empty()).filter(|object| same(*object)).count()
    }

    /// The version that a book is of, by its number if it agrees with what the book consists of.
    ///
    /// # Errors
    /// [`StoreError::NewerSchema`]; none when it is no book at all.
    pub(super) fn version(&self, mark: i64, said: i64, plans: &[Plan]) -> Result<Option<usize>, StoreError> {
        let newest = plans.len();
        let likeness: Vec<usize> = plans.iter().map(|plan| self.likeness(plan)).collect();
        let best = likeness.iter().copied().max().unwrap_or_default();
        if best == 0 && !self.is_empty() {
            let ours = plans.last().is_some_and(|plan| plan.tables.iter().any(|t| self.objects.contains_key(&t.name)));
            if !ours || mark != APPLICATION_ID {
                return Ok(None);
            }
        }
        let number = usize::try_from(said).ok().filter(|said| (1..=newest).contains(said));
        // A number beyond all versions is a damaged one where everything is as a version that is known has it.
        let written = self.objects.values().filter(|(sql, _)| !sql.is_empty()).count();
        if said > newest as i64 && mark == APPLICATION_ID && (best == 0 || best < written) {
            return Err(StoreError::NewerSchema { found: said, supported: newest as i64 });
        }
        Ok(Some(match number {
            Some(number) if likeness[number - 1] == best => number,
            _ if best == 0 => newest,
            // Of several that are alike the last: a record that is shorter is a record still.
            _ => likeness.iter().rposition(|like| *like == best).map_or(newest, |place| place + 1),
        }))
    }

    /// Where each object begins. What the book no longer says stands where a book of the same making has it, if all that
    /// can still be seen does.
    pub(super) fn roots(&self, pages: &Pages<'_>, plans: &[Plan], version: usize) -> Result<Roots, StoreError> {
        let mut roots = Roots::new();
        let Some(plan) = plans.iter().find(|plan| plan.version == version) else { return Ok(roots) };
        for (name, (_, root)) in self.objects.iter().filter(|(_, (_, root))| *root > 1) {
            if plan.objects.contains_key(name) {
                roots.insert(name.clone(), *root);
            }
        }
        if self.whole {
            return Ok(roots);
        }
        // As it was when it was made, at whichever version that was, or as a copy of it has it.
        let made = plans.iter().filter(|plan| plan.version <= version).map(Plan::roots);
        let layouts = made.chain([plan::compact_roots(version)?]);
        let like = layouts.filter_map(|layout| Some((likeness_of_layout(pages, plan, &layout, &roots)?, layout)));
        if let Some((_, layout)) = like.max_by_key(|(likeness, _)| *likeness) {
            layout.into_iter().for_each(|(name, root)| {
                roots.entry(name).or_insert(root);
            });
        }
        Ok(roots)
    }
}

/// How many trees that hold anything begin where a layout says, less those that do not; none when those are more than a few.
/// Where the book still says where a tree begins, that counts.
fn likeness_of_layout(pages: &Pages<'_>, plan: &Plan, layout: &Roots, known: &Roots) -> Option<i64> {
    let (mut like, mut unlike, mut telling) = (0_usize, 0_usize, 0_i64);
    for (name, root) in layout {
        let fits = match known.get(name) {
            Some(known) if known == root => Some(true),
            Some(_) => None,
            None => may_begin(pages, plan, name, *root),
        };
        match fits {
            Some(holds) => (like, telling) = (like + 1, telling + i64::from(holds)),
            None => unlike += 1,
        }
    }
    (like >= TELLING && unlike * 10 < like).then_some(telling - unlike as i64)
}

/// Whether the tree of an object may begin on a page, and if so, whether anything stands there.
fn may_begin(pages: &Pages<'_>, plan: &Plan, name: &str, root: u32) -> Option<bool> {
    let (node, cells) = pages.open(root)?;
    let table = plan.tables.iter().find(|table| table.name == name);
    let holds = !cells.is_empty();
    let fits = match (node.sort, table) {
        (Sort::TableInterior, Some(table)) => !table.keyed,
        (Sort::TableLeaf, Some(table)) => !table.keyed && leaf(table, &node, &cells).is_some(),
        (Sort::IndexInterior | Sort::IndexLeaf, Some(table)) => {
            table.keyed && (!holds || cells.iter().flatten().any(|cell| keyed_row(table, cell).is_some()))
        }
        (Sort::IndexInterior | Sort::IndexLeaf, None) => true,
        (Sort::TableInterior | Sort::TableLeaf, None) => false,
    };
    fits.then_some(holds)
}
