//! Counts. A count is never changed, so when it was begun must be known before its first line is kept: the file is
//! read twice, once for the counts in it and once for their lines. Neither reading holds it in memory.

use super::{FileReport, Loader};
use crate::desk::DeskError;
use crate::domain::gauge::LevelError;
use crate::domain::ledger::CountLine;
use crate::domain::venue::{CountId, CountMethod, Moment, PlaceId, Seq, name_key};
use crate::exchange::plain::{CountRow, Fault, Faults, Plain};
use crate::store::counts;
use std::collections::{BTreeSet, HashMap};

/// What a file says of a count as a whole.
struct Outline {
    name: String,
    first: Moment,
    last: Moment,
    by: Option<String>,
    places: BTreeSet<PlaceId>,
    open: bool,
}

/// A count in the book.
struct Begun {
    id: CountId,
    /// Whether the book had it, closed.
    closed: bool,
}

impl Loader<'_> {
    pub(super) fn counts(&mut self) -> Result<(), DeskError> {
        let Some(mut table) = self.open(Plain::Counts)? else { return Ok(()) };
        let outlines = self.outlines()?;
        let mut begun: HashMap<String, Begun> = HashMap::new();
        let mut to_close = Vec::new();
        for (key, outline) in outlines {
            let had = counts::find(self.conn, &outline.name)?;
            let count = match had {
                Some(had) => Begun { id: had.id, closed: had.closed.is_some() },
                None => {
                    let places: Vec<PlaceId> = outline.places.iter().copied().collect();
                    let by = outline.by.as_deref();
                    let id = counts::begin(self.conn, &outline.name, outline.first, false, by, &places)?;
                    if !outline.open {
                        to_close.push((id, outline.last));
                    }
                    Begun { id, closed: false }
                }
            };
            begun.insert(key, count);
        }
        let before = counts::last_row(self.conn)?;
        let mut report = FileReport::of(Plain::Counts);
        while let Some(cells) = table.next(&mut self.faults)? {
            report.read += 1;
            let line = cells.line();
            let Some(row) = cells.read::<CountRow>(&self.form, &self.names, &mut self.faults) else {
                self.names.doubt(Plain::Counts, cells.get("count"));
                continue;
            };
            let Some(count) = begun.get(&name_key(&row.count)) else { continue };
            let Some(counted) = self.counted(line, row, count.id) else { continue };
            match self.put_counted(line, &counted, count, before)? {
                Some(true) => report.added += 1,
                Some(false) => report.already += 1,
                None => {}
            }
            self.pace(&table, Plain::Counts, report.read)?;
        }
        for (id, at) in to_close {
            counts::close(self.conn, id, at)?;
        }
        self.close(report)
    }

    /// First reading: the counts of the file. What is wrong is noted by the second one.
    fn outlines(&mut self) -> Result<Vec<(String, Outline)>, DeskError> {
        let mut unheard = Faults::default();
        let Some(mut table) = self.folder.table(Plain::Counts, &mut unheard)? else { return Ok(Vec::new()) };
        let mut places: HashMap<String, usize> = HashMap::new();
        let mut outlines: Vec<(String, Outline)> = Vec::new();
        while let Some(cells) = table.next(&mut unheard)? {
            let Some(row) = cells.read::<CountRow>(&self.form, &self.names, &mut unheard) else { continue };
            let key = name_key(&row.count);
            let at = *places.entry(key.clone()).or_insert_with(|| {
                let outline = Outline {
                    name: row.count.clone(),
                    first: row.at,
                    last: row.at,
                    by: None,
                    places: BTreeSet::new(),
                    open: false,
                };
                outlines.push((key, outline));
                outlines.len() - 1
            });
            let outline = &mut outlines[at].1;
            if row.at < outline.first || outline.by.is_none() {
                outline.by = row.by.as_deref().and_then(|by| self.names.people.get(by));
            }
            outline.first = outline.first.min(row.at);
            outline.last = outline.last.max(row.at);
            outline.open |= row.open;
            outline.places.extend(self.names.places.get(&row.place));
        }
        outlines.sort_by(|(a, x), (b, y)| (x.first, a).cmp(&(y.first, b)));
        Ok(outlines)
    }

    /// The line with its names found and its readings checked against the item.
    fn counted(&mut self, line: u64, row: CountRow, count: CountId) -> Option<CountLine> {
        let place = self.names.places.get(&row.place);
        let item = self.names.items.get(&row.item);
        let by = self.names.people.maybe(row.by.as_deref());
        let (place, item, by) = (place?, item?, by?);
        let found = self.item(item)?;
        let method: CountMethod = row.method.unwrap_or_else(|| row.entry.method(found.count_by));
        let refused: Option<LevelError> = self.names.gauges.check_kept(found, &row.entry).err();
        if let Some(error) = refused {
            let read = crate::domain::gauge::Reading::plain_all(&row.entry.open);
            self.fault(Fault::of_cell(Plain::Counts, line, "open", &read, error.to_string()));
            return None;
        }
        Some(CountLine { count, place, item, at: row.at, entry: row.entry, method, by })
    }

    /// Keeps a line, unless the book has it; says whether it is new. Nothing for one that cannot be kept.
    fn put_counted(
        &mut self,
        line: u64,
        counted: &CountLine,
        count: &Begun,
        before: Seq,
    ) -> Result<Option<bool>, DeskError> {
        let had = counts::row_of(self.conn, counted.count, counted.place, counted.item)?;
        let mut wrong = |expected: String| {
            self.faults.push(Fault::of_line(Plain::Counts, line, expected));
            Ok(None)
        };
        match had.filter(|row| !row.withdrawn) {
            Some(had) if had.seq > before => {
                wrong(word!("this place and item stand in this count already; expected them once").to_owned())
            }
            Some(had) if had.line == *counted => Ok(Some(false)),
            Some(had) => {
                let (was, at) = (&had.line.entry, self.form.days.plain(had.line.at));
                wrong(say!("the book has {was} of {at} for this line; expected the same", was, at))
            }
            None if count.closed => wrong(
                word!("this count is closed in the book; expected a line that it has, or another count").to_owned(),
            ),
            None => {
                counts::put_line(self.conn, counted)?;
                Ok(Some(true))
            }
        }
    }
}
