//! Reading a whole table by its layout.

use super::fault::{self, Fault};
use super::keys::{Keys, Totals};
use super::number::Says;
use super::page;
use super::row::{Row, RowReader};
use super::source::{DELIMITERS, Source};
use crate::domain::till::{Amounts, DecimalMark, Layout, Skip};
use crate::exchange::ReadError;
use crate::exchange::plain::tamed;
use crate::exchange::till::{Passed, Taker, Terms};
use chrono::NaiveDate;
use std::path::Path;

/// Bytes of text in which the head is looked for.
pub(super) const SAMPLE: u64 = 1 << 18;
/// Rows in which it is looked for.
const HEAD_WITHIN: u64 = 200;
/// Rows between two reports of the pace.
const PACE: u64 = 4_096;

/// Where a layout's table begins in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) delimiter: u8,
    /// The row of the head, from 1; none where the layout has no heads.
    pub(super) head: Option<u64>,
}

/// Reads a table by its layout and hands every line on as soon as it is understood; figures of days at the end, the rows
/// of one day and name added up. `day` is the business day of a table that says none. Where the layout does not know the
/// decimal mark, the first row that tells it does so for all, and [`Passed::decimal`] says it; a figure that could be read
/// both ways in a file that does not tell is a fault.
///
/// Lines may have been handed on when the file turns out to be refused: whoever takes them keeps them only if all went well.
///
/// # Errors
/// [`ReadError`] with up to twenty cells that do not fit, by line and column; a table of other heads; one without lines;
/// whatever the taker answers.
pub fn read<T: Taker>(
    path: &Path,
    layout: &Layout,
    day: Option<NaiveDate>,
    terms: &Terms,
    taker: &mut T,
) -> Result<Passed, T::Error> {
    let source = Source::open(path)?;
    let place = locate(&source, layout)?;
    let mut rows = source.rows(place.delimiter, None)?;
    let mut reader = RowReader::new(path, layout, day, terms, place.delimiter, false)?;
    let (mut keys, mut totals, mut above) = (Keys::default(), Totals::default(), Vec::new());
    let (mut count, mut sold, mut looked_ahead) = (0_u64, false, false);
    while rows.advance()? {
        count += 1;
        for _ in 0..rows.blank() {
            reader.passed.skip(Skip::Blank);
        }
        if count.is_multiple_of(PACE) {
            taker.pace(rows.read().min(source.length), source.length)?;
        }
        if place.head.is_some_and(|head| count <= head) {
            reader.passed.skip(if rows.cells().iter().all(|c| c.trim().is_empty()) {
                Skip::Blank
            } else {
                Skip::Heading
            });
            above.push(rows.cells().iter().map(str::to_owned).collect());
            continue;
        }
        if reader.mark == DecimalMark::Unknown {
            match reader.says_of_mark(rows.cells()) {
                Says::Is(mark) => reader.mark = mark,
                Says::Either if !looked_ahead => {
                    looked_ahead = true;
                    let read = rows.read().min(source.length);
                    reader.mark = told_further_on(&source, place, &reader, None, || taker.pace(read, source.length))?;
                }
                Says::Either | Says::Nothing => {}
            }
        }
        let row = reader.read(rows.cells(), rows.line(), rows.cut());
        if reader.is_hopeless() {
            break;
        }
        let Row::Sold(line) = row else { continue };
        sold = true;
        if !reader.faults.is_empty() {
            continue;
        }
        let given = match layout.amounts {
            Amounts::Lines => keys.line(line).map(Some),
            Amounts::Totals => totals.add(line).map(|()| None),
        };
        match given {
            Ok(Some(rung)) => taker.take(rung)?,
            Ok(None) => {}
            Err(what) => reader.faults.push(Fault::of_row(rows.line(), what)),
        }
    }
    if !reader.faults.is_empty() {
        return Err(fault::refusal(path, &reader.faults).into());
    }
    for _ in 0..rows.blank() {
        reader.passed.skip(Skip::Blank);
    }
    let mut passed = reader.passed;
    passed.decimal = Some(reader.mark).filter(|mark| *mark != layout.decimal);
    if !sold && !passed.skipped.contains_key(&Skip::Zero) {
        return Err(no_lines(path, &passed).into());
    }
    above.pop();
    passed.from = page::page(&above, layout.dates, true, terms.days).from;
    if !totals.is_empty() {
        for rung in totals.into_rungs() {
            taker.take(rung)?;
        }
    }
    taker.pace(source.length, source.length)?;
    Ok(passed)
}

/// The mark that some row of a table tells, where one that could be read both ways was met: all of its text is looked
/// through, or its first `most` bytes. `pace` is called now and then, and may end it.
pub(super) fn told_further_on<E: From<ReadError>>(
    source: &Source,
    place: Place,
    reader: &RowReader<'_>,
    most: Option<u64>,
    mut pace: impl FnMut() -> Result<(), E>,
) -> Result<DecimalMark, E> {
    let mut rows = source.rows(place.delimiter, most)?;
    let mut count = 0_u64;
    while rows.advance()? {
        count += 1;
        if count.is_multiple_of(PACE) {
            pace()?;
        }
        if place.head.is_some_and(|head| count <= head) {
            continue;
        }
        if let Says::Is(mark) = reader.says_of_mark(rows.cells()) {
            return Ok(mark);
        }
    }
    Ok(DecimalMark::Unknown)
}

fn no_lines(path: &Path, passed: &Passed) -> ReadError {
    let mut counts: Vec<String> = passed.skipped.iter().map(|(skip, n)| skip.counted(*n)).collect();
    if counts.is_empty() {
        counts.push(word!("nothing").to_owned());
    }
    let what =
        say!("no line of sales stands in this table, only {counts}; expected at least one", counts = counts.join(", "));
    ReadError::new(path, what)
}

/// Finds where the table of a layout begins: the row of its heads, whatever stands between the cells.
pub(super) fn locate(source: &Source, layout: &Layout) -> Result<Place, ReadError> {
    let bare = layout.columns.iter().all(|column| column.head.is_empty());
    let mut most: Option<(usize, Place)> = None;
    let mut failed = None;
    for delimiter in DELIMITERS {
        let mut rows = source.rows(delimiter, Some(SAMPLE))?;
        let (mut count, mut fit) = (0, 0);
        loop {
            match rows.advance() {
                Ok(true) => count += 1,
                Ok(false) => break,
                Err(error) => {
                    failed = Some(error);
                    break;
                }
            }
            if count > HEAD_WITHIN {
                break;
            }
            if bare {
                fit += usize::from(rows.cells().len() == layout.columns.len());
            } else if rows.cells().len() > 1 || layout.columns.len() == 1 {
                let heads: Vec<String> = rows.cells().iter().take(layout.columns.len() + 8).map(tamed).collect();
                if layout.fits(&heads) {
                    return Ok(Place { delimiter, head: Some(count) });
                }
            }
        }
        if fit > most.map_or(0, |(fit, _)| fit) {
            most = Some((fit, Place { delimiter, head: None }));
        }
    }
    if let Some((_, place)) = most {
        return Ok(place);
    }
    if let Some(error) = failed {
        return Err(error);
    }
    if bare {
        let what = say!(
            "expected a table of {columns} columns; no row of this file has so many cells",
            columns = layout.columns.len()
        );
        return Err(ReadError::new(&source.path, what));
    }
    let heads: Vec<&str> = layout.columns.iter().map(|column| column.head.as_str()).collect();
    let what = say!(
        "expected a table with the heads {heads}; none of the first rows has them: choose another layout",
        heads = heads.join(", ")
    );
    Err(ReadError::new(&source.path, what))
}
