//! Counts that are typed in from a sheet which was filled in by hand, on the screen line by line or as a whole text.

use super::counting::{begin_named, close_it, count_of, none_open, sheet_of};
use super::signing::signed;
use super::{DeskError, refused};
use crate::domain::ledger::{Count, CountLine};
use crate::domain::rows::{CountSheet, Filled, FilledSheet, Sheet, SheetMark, TypedIn, parse_mark};
use crate::domain::venue::{CountId, Deed, ItemId, Moment, PlaceId, Setup, Shelf};
use crate::exchange::filled::{self, FilledFault, FilledLine};
use crate::store::{Connection, Store, counts, setup};
use std::path::Path;

/// Faults of a text that are told.
const TOLD: usize = 200;

/// Begins a count that is typed in from a sheet: of when it was filled in, and blind.
///
/// # Errors
/// [`DeskError`]: the sheet is of a time to come, or older than what the book has of its places and nobody said that it may
/// be; nobody known filled it in; its mark is not that of the shelves.
pub fn begin(store: &Store, sheet: &FilledSheet, now: Moment) -> Result<CountId, DeskError> {
    store.write((Deed::CountBegun, now), |conn| {
        let setup = setup::load(conn)?;
        let mark = marked(&setup, sheet, now)?;
        begin_marked(conn, &setup, sheet, mark.as_deref(), now)
    })
}

/// The mark that the sheet has, where its numbers are those of the shelves as they are.
fn marked(setup: &Setup, sheet: &FilledSheet, now: Moment) -> Result<Option<String>, DeskError> {
    let day = setup.venue.days.day_of(now);
    let ours = CountSheet::new(setup, &sheet.places, day).mark();
    match &sheet.mark {
        SheetMark::ByNames => Ok(None),
        SheetMark::Unsaid => Ok(Some(ours)),
        SheetMark::Said(said) => match parse_mark(said) {
            Some(said) if said == ours => Ok(Some(ours)),
            Some(said) => Err(refused(say!(
                "the sheet with the mark {said} was printed of other shelves or other places than these, so that its \
                 numbers would mean other lines; choose its places, or type it in by names",
                said
            ))),
            None => Err(refused(say!(
                "“{trim}” is no mark of a sheet; expected the four letters and digits in its head, such as {ours}",
                trim = said.trim(),
                ours
            ))),
        },
    }
}

fn begin_marked(
    conn: &Connection,
    setup: &Setup,
    sheet: &FilledSheet,
    mark: Option<&str>,
    now: Moment,
) -> Result<CountId, DeskError> {
    none_open(conn)?;
    let days = setup.venue.days;
    if sheet.at > now {
        let at = days.short(sheet.at);
        return Err(refused(say!("{at} is still to come; say when the sheet was filled in", at)));
    }
    let latest = counts::latest(conn, now, None)?;
    let newest = latest.iter().filter(|l| sheet.places.contains(&l.place)).map(|l| l.at).max();
    if let Some(newest) = newest.filter(|newest| *newest >= sheet.at && !sheet.older) {
        return Err(refused(say!(
            "a sheet of {sheet} is no newer than the last count of its places, of {newest}; --sure, if that is so",
            sheet = days.short(sheet.at),
            newest = days.short(newest)
        )));
    }
    let by = signed(conn, sheet.by.as_deref())?;
    if by.is_none() && !setup.people.is_empty() {
        let all: Vec<&str> = setup.people.iter().map(|p| p.initials.as_str()).collect();
        return Err(refused(say!("nobody is said to have filled the sheet in; one of {all}", all = all.join(", "))));
    }
    let day = days.day_of(sheet.at);
    let name = |what: &str| Filled::name(day, mark, by.as_deref(), what);
    begin_named(conn, setup, (&sheet.places, &name), sheet.at, true, by.as_deref())
}

/// With the numbers of its lines, and what was typed in so far.
pub(super) fn numbered(
    conn: &Connection,
    filled: Filled,
    setup: &Setup,
    places: &[PlaceId],
    count: &Count,
) -> Result<Filled, DeskError> {
    let sheet = CountSheet::new(setup, places, setup.venue.days.day_of(count.opened));
    let mut typed = Vec::new();
    for row in counts::history(conn, count.id)? {
        // The newest rows come first; of a line that was typed in anew, the newest stands.
        if !typed.contains(&(row.line.place, row.line.item)) {
            typed.push((row.line.place, row.line.item));
        }
    }
    typed.reverse();
    Ok(Filled { typed, ..filled.numbered(&sheet) })
}

/// The moment that what is done in a count is of: when the sheet was filled in, for one that is typed in from a sheet.
pub(super) fn dated(count: &Count, now: Moment) -> Moment {
    Filled::of(count, &[]).map_or(now, |_| count.opened)
}

/// What was written below a place of the sheet, and stood there, has its spot there from now on. Not before the count is
/// closed: the numbers of the lines behind it would be others.
pub(super) fn give_spots(conn: &Connection, count: &Count) -> Result<(), DeskError> {
    if Filled::of(count, &[]).is_none() {
        return Ok(());
    }
    let setup = setup::load(conn)?;
    let mut shelves = setup.shelves;
    for line in counts::lines(conn, count.id)? {
        let nothing = line.entry.full == 0 && line.entry.open.is_empty();
        if nothing || shelves.iter().any(|s| (s.place, s.item) == (line.place, line.item)) {
            continue;
        }
        let last = shelves.iter().filter(|s| s.place == line.place).map(|s| s.position).max().unwrap_or(0);
        let spot = Shelf { place: line.place, item: line.item, position: last + 1, par: None };
        setup::put_shelf(conn, &spot)?;
        shelves.push(spot);
    }
    Ok(())
}

/// How a whole text is taken.
#[derive(Clone, Copy, Debug, Default)]
pub struct Taking {
    /// What is hard to believe is so.
    pub sure: bool,
    /// The count is closed though lines have no entry.
    pub close: bool,
}

/// Types a whole sheet in: the text of `path`, standard input for `-`. All of it is looked at first, and all of it is kept
/// or nothing. When every line has an entry, the count is closed; else it stays open unless it is to be closed.
///
/// # Errors
/// [`DeskError`]: as for [`begin`]; the file cannot be read; or what is wrong with each line.
pub fn take(store: &Store, path: &Path, sheet: &FilledSheet, how: Taking, now: Moment) -> Result<TypedIn, DeskError> {
    let text = filled::text_of(path)?;
    store.write((Deed::SheetTyped, now), |conn| {
        let setup = setup::load(conn)?;
        let mark = marked(&setup, sheet, now);
        let paper = CountSheet::new(&setup, &sheet.places, setup.venue.days.day_of(sheet.at));
        let numbered = matches!(mark, Ok(Some(_)));
        let (lines, mut faults) = filled::read(&text, &paper, &setup, numbered);
        let mark = match mark {
            Ok(mark) => mark,
            // By names alone, it does not matter what was printed when.
            Err(_) if faults.is_empty() && !lines.is_empty() => None,
            Err(other) => return Err(other),
        };
        let id = begin_marked(conn, &setup, sheet, mark.as_deref(), now)?;
        let mut open = sheet_of(conn, id, now)?;
        let mut kept = Vec::with_capacity(lines.len());
        for line in &lines {
            match counted(&mut open, line, how.sure) {
                Ok(counted) => kept.push(counted),
                Err(what) => faults.push(FilledFault { line: line.line, what }),
            }
        }
        if !faults.is_empty() {
            return Err(wrong(path, faults));
        }
        if kept.is_empty() {
            return Err(refused(word!("no line says what was counted; expected lines such as “17 2.4”").to_owned()));
        }
        for line in &kept {
            counts::put_line(conn, line)?;
        }
        let missing = missing(&open, &kept);
        if missing.is_empty() || how.close {
            close_it(conn, &open.count, now)?;
        }
        Ok(TypedIn {
            count: count_of(conn, id)?,
            by: open.filled.and_then(|filled| filled.by),
            mark,
            lines: paper.lines().count(),
            kept: kept.len(),
            missing,
        })
    })
}

/// The line that was written, or why it cannot be one.
fn counted(sheet: &mut Sheet, written: &FilledLine, sure: bool) -> Result<CountLine, String> {
    let line = sheet.line_for(written.place, written.item);
    let item = sheet.item(line).ok_or(word!("this item is not in the book any more"))?;
    match sheet.check(line, &written.entry) {
        Err(wrong) => return Err(wrong.to_string()),
        Ok(Some(doubt)) if !sure => {
            return Err(say!("{name}: {doubt}? --sure, if that is so", name = item.name, doubt));
        }
        Ok(_) => {}
    }
    Ok(CountLine {
        count: sheet.count.id,
        place: written.place,
        item: written.item,
        at: sheet.count.opened,
        entry: written.entry.clone(),
        method: written.entry.method(item.count_by),
        by: sheet.filled.as_ref().and_then(|filled| filled.by.clone()),
    })
}

fn missing(sheet: &Sheet, kept: &[CountLine]) -> Vec<(Option<usize>, PlaceId, ItemId)> {
    let left =
        sheet.lines.iter().enumerate().filter(|(_, l)| !kept.iter().any(|k| (k.place, k.item) == (l.place, l.item)));
    left.map(|(n, l)| (sheet.number(n), l.place, l.item)).collect()
}

/// Everything that is wrong, in the order of the text.
fn wrong(path: &Path, mut faults: Vec<FilledFault>) -> DeskError {
    faults.sort_by_key(|fault| fault.line);
    let name = if path == Path::new("-") { String::new() } else { format!("{}, ", path.display()) };
    let told = faults
        .iter()
        .take(TOLD)
        .map(|fault| say!("\n{name}line {fault}: {what}", name, fault = fault.line, what = fault.what));
    let told: String = told.collect();
    let more = faults.len().saturating_sub(TOLD);
    let more = if more > 0 { say!("\nand {more} more", more) } else { String::new() };
    refused(say!(
        "the sheet is not right, and nothing was kept; mend these and type it in again{told}{more}",
        told,
        more
    ))
}
