//! How tables of the till are read, and which files were taken in.

use super::facts::{Brought, Have};
use super::{FileReport, Loader, Met};
use crate::desk::DeskError;
use crate::domain::till::{Field, Layout, LayoutColumn, TakenFile};
use crate::domain::venue::{FileId, name_key};
use crate::exchange::plain::{Fault, LayoutRow, Plain, PlainRow, TakenRow, key_of};
use crate::store::{files, layouts};
use std::collections::{HashMap, HashSet};

/// A layout being gathered.
struct Gathered {
    first: (u64, LayoutRow),
    /// Line of the file, position and the column, in the order of the file.
    columns: Vec<(u64, i64, LayoutColumn)>,
    wrong: bool,
}

impl Loader<'_> {
    pub(super) fn layouts(&mut self) -> Result<(), DeskError> {
        let Some(mut table) = self.open(Plain::Layouts)? else { return Ok(()) };
        let (mut report, mut met) = (FileReport::of(Plain::Layouts), Met::default());
        let mut gathered: Vec<Gathered> = Vec::new();
        let mut places: HashMap<String, usize> = HashMap::new();
        // A layout with a line that cannot even be read is not looked at as a whole.
        let mut unread: Vec<String> = Vec::new();
        while let Some(cells) = table.next(&mut self.faults)? {
            report.read += 1;
            let line = cells.line();
            let Some(row) = cells.read::<LayoutRow>(&self.form, &self.names, &mut self.faults) else {
                unread.push(name_key(cells.get("layout")));
                continue;
            };
            let again = met.again(Plain::Layouts, line, key_of(Plain::Layouts, &row.cells(&self.form)));
            let at = *places.entry(name_key(&row.layout)).or_insert_with(|| {
                gathered.push(Gathered { first: (line, row.clone()), columns: Vec::new(), wrong: false });
                gathered.len() - 1
            });
            let Some(layout) = gathered.get_mut(at) else { continue };
            let contradicts = contradiction(&row, &layout.first.1).map(|(column, read, was)| {
                let expected =
                    say!("expected {was} as on line {layout}: it is one layout", was, layout = layout.first.0);
                Fault::of_cell(Plain::Layouts, line, column, &read, expected)
            });
            match again.or(contradicts) {
                Some(fault) => {
                    layout.wrong = true;
                    self.fault(fault);
                }
                None => layout.columns.push((line, row.position, LayoutColumn { head: row.head, field: row.is })),
            }
            self.pace(&table, Plain::Layouts, report.read)?;
        }
        let had = layouts::list(self.conn)?;
        let named: HashSet<String> = places.keys().cloned().collect();
        // Layouts of the file so far, with the line that each begins on.
        let mut kept: Vec<(u64, Layout)> = Vec::new();
        for (key, at) in in_order(places) {
            let Some(found) = gathered.get_mut(at).filter(|found| !found.wrong && !unread.contains(&key)) else {
                continue;
            };
            let Some(layout) = self.whole(found) else { continue };
            let lines = layout.columns.len() as u64;
            let line = found.first.0;
            if let Some(expected) = rival(&layout, &kept, &had, &named) {
                self.fault(Fault::of_cell(Plain::Layouts, line, "head", &found.first.1.head, expected));
                continue;
            }
            let brought = match had.iter().find(|had| name_key(&had.name) == key) {
                Some(had) if *had == layout => Brought::Already,
                before => {
                    layouts::put(self.conn, &layout)?;
                    if before.is_some() { Brought::Changed } else { Brought::Added }
                }
            };
            report.count(brought, lines);
            kept.push((line, layout));
        }
        self.close(report)
    }

    /// The layout that some lines make together.
    fn whole(&mut self, found: &mut Gathered) -> Option<Layout> {
        found.columns.sort_by_key(|(_, position, _)| *position);
        let wrong = found.columns.iter().zip(1_i64..).find(|((_, position, _), place)| position != place);
        if let Some(((line, position, _), place)) = wrong {
            let expected =
                say!("expected {place}: the positions of a layout are 1, 2, 3 and so on without a gap", place);
            self.fault(Fault::of_cell(Plain::Layouts, *line, "position", &position.to_string(), expected));
            return None;
        }
        for (field, what) in [(Field::Name, word!("what was sold")), (Field::Quantity, word!("how many were sold"))] {
            if !found.columns.iter().any(|(.., column)| column.field == field) {
                let expected = say!("no column of this layout says {what}; expected one that is {field}", what, field);
                self.fault(Fault::of_cell(Plain::Layouts, found.first.0, "layout", &found.first.1.layout, expected));
                return None;
            }
        }
        let (_, row) = &found.first;
        Some(Layout {
            name: row.layout.clone(),
            columns: found.columns.iter().map(|(.., column)| column.clone()).collect(),
            decimal: row.decimal,
            dates: row.dates,
            amounts: row.rows,
            tax: row.tax,
        })
    }

    pub(super) fn taken(&mut self) -> Result<(), DeskError> {
        if !self.folder.has(Plain::Taken) {
            return Ok(());
        }
        let unnumbered = |file: TakenFile| TakenFile { id: FileId::default(), ..file };
        let mut have = Have::of(files::in_force(self.conn)?, unnumbered);
        self.lines::<TakenRow>(|loader, _, TakenRow(file)| {
            let Some(by) = loader.names.people.maybe(file.by.as_deref()) else { return Ok(None) };
            let file = TakenFile { by, ..file };
            if have.take(&file) {
                return Ok(Some(false));
            }
            files::add(loader.conn, &TakenFile { id: files::next(loader.conn)?, ..file })?;
            Ok(Some(true))
        })
    }
}

/// The layouts in the order in which the file has them.
fn in_order(places: HashMap<String, usize>) -> Vec<(String, usize)> {
    let mut all: Vec<(String, usize)> = places.into_iter().collect();
    all.sort_by_key(|(_, at)| *at);
    all
}

/// What was expected of a layout by which the same tables would be read as by another one.
fn rival(layout: &Layout, kept: &[(u64, Layout)], had: &[Layout], named: &HashSet<String>) -> Option<String> {
    if let Some((line, _)) = kept.iter().find(|(_, other)| other.reads_as(layout)) {
        return Some(say!(
            "the layout that begins on line {line} has the same heads; expected one layout for them",
            line
        ));
    }
    // What the file says of a layout counts, not what the book has of it.
    let other = had.iter().find(|had| !named.contains(&name_key(&had.name)) && had.reads_as(layout))?;
    Some(say!(
        "the book has the layout “{other}” for the same heads; expected them under that name",
        other = other.name
    ))
}

/// The first column of what a layout says as a whole that differs from its first line.
fn contradiction(row: &LayoutRow, first: &LayoutRow) -> Option<(&'static str, String, String)> {
    let said = |row: &LayoutRow| {
        [
            ("decimal", row.decimal.word().to_owned()),
            ("dates", row.dates.word().to_owned()),
            ("rows", row.rows.word().to_owned()),
            ("tax", row.tax.map_or(word!("nothing").to_owned(), |tax| crate::domain::measure::decimal::plain(tax, 2))),
        ]
    };
    let pairs = said(row).into_iter().zip(said(first));
    pairs.into_iter().find(|((_, is), (_, was))| is != was).map(|((column, is), (_, was))| (column, is, was))
}
