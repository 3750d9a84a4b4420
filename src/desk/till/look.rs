//! Looking at a file of sales before it is taken in.

use super::Ask;
use super::doubts::{Came, doubts, form_of};
use super::reading::{Doing, Lines, Read, terms, understood};
use crate::desk::{DeskError, Pace, refused};
use crate::domain::rows::{SalesLook, SampleColumn, TableLook, UnderstoodRow};
use crate::domain::till::{About, DecimalMark, Field, Layout, TakenAs};
use crate::domain::venue::{DayRule, Moment, name_key};
use crate::exchange::sniff::{self, What};
use crate::exchange::till::Terms;
use crate::exchange::till::table::{self, Meant, Preview, Shown};
use crate::exchange::{ReadError, inbox};
use crate::store::sales::SaleWriter;
use crate::store::{Connection, Store, files, layouts, setup as book};
use chrono::NaiveDate;
use std::path::Path;

/// Cells of a column that are shown.
const CELLS: usize = 6;

/// Looks at a file of sales: what it is, how it would be read, what its lines come to. Nothing is kept.
///
/// # Errors
/// [`DeskError`]: it is no file of sales, or cannot be read at all. What is wrong with its lines is said in the look.
pub fn look(store: &Store, ask: Ask<'_>, now: Moment, pace: &mut Pace<'_>) -> Result<SalesLook, DeskError> {
    let what = sniff::sniff(ask.path)?;
    sales_only(ask.path, &what)?;
    let print = inbox::print(ask.path)?;
    let (setup, saved, taken) = store.read(|conn| {
        let taken = files::of_content(conn, &print.digest)?;
        Ok::<_, DeskError>((book::load(conn)?, layouts::list(conn)?, taken.filter(|had| had.what == TakenAs::Sales)))
    })?;
    let terms = terms(&setup, now);
    let mut table = match what {
        What::Table => Some(table_look(ask, &saved, &terms)?),
        _ => None,
    };
    let layout = table.as_ref().map(|table| (&table.layout, table.day));
    let form = form_of(&what, layout.map(|(layout, _)| layout));
    let (read, doubts) = store.read(|conn| {
        let lines = Lines::new(&setup, (conn, SaleWriter::new(conn, None)?), Doing::Looking, pace)?;
        match lines.read(ask.path, &what, layout, &terms) {
            Ok(read) => doubts(conn, &setup, &Came { form, own: None, had: taken.as_ref() }, &read.sum)
                .map(|doubts| (Ok(read), doubts)),
            Err(DeskError::Stopped) => Err(DeskError::Stopped),
            Err(refused) => Ok((Err(refused.to_string()), Vec::new())),
        }
    })?;
    // A figure beyond the first rows told it.
    if let (Some(table), Ok(Read { decimal: Some(_), .. })) = (&mut table, &read) {
        table.questions.retain(|question| question.about != About::Decimal);
    }
    let (path, what) = (ask.path.to_owned(), what.words().to_owned());
    Ok(SalesLook { path, print, what, taken, table, sum: read.map(|read| read.sum), doubts })
}

/// Refuses what holds no sales, and says what to do with it.
pub(super) fn sales_only(path: &Path, what: &What) -> Result<(), DeskError> {
    if what.brings_sales() {
        return Ok(());
    }
    let why = if what.is_invoice() {
        say!("this is {words}, and no sales; the screen Receive or `tantalus receive` takes it", words = what.words())
    } else {
        say!(
            "this is {words}; expected a report of the till as a table, or an export of it as the law asks for",
            words = what.words()
        )
    };
    Err(ReadError::new(path, why).into())
}

/// A table as it would be read, and what a person must decide.
fn table_look(ask: Ask<'_>, saved: &[Layout], terms: &Terms) -> Result<TableLook, DeskError> {
    let seen = table::look(ask.path, terms)?;
    let kept = saved.iter().find(|layout| layout.fits(&seen.heads));
    let day = ask.day.or(seen.day);
    let guessed = || Layout { name: name_for(ask.path, saved), ..seen.layout.clone() };
    let layout = ask.layout.or(kept).cloned().unwrap_or_else(guessed);
    let as_guessed = Layout { name: String::new(), ..layout.clone() } == seen.layout;
    let (shown, questions) = if as_guessed && kept.is_none() {
        (seen.rows, seen.questions)
    } else {
        let preview = table::preview(ask.path, &layout, day, terms)
            .unwrap_or_else(|_| Preview { rows: seen.rows, questions: Vec::new() });
        let mut questions = preview.questions;
        // A kept layout was confirmed. Of another one, what was not changed may still be wrong.
        for question in seen.questions.into_iter().filter(|_| kept.is_none()) {
            match questions.iter_mut().find(|asked| asked.about == question.about) {
                // The guess knows more of what there is to ask; of the mark, the rows have an example.
                Some(asked) if question.about != About::Decimal => *asked = question,
                Some(_) => {}
                None if is_open(question.about, &layout, &seen.layout) => questions.push(question),
                None => {}
            }
        }
        (preview.rows, questions)
    };
    Ok(TableLook {
        known: kept.is_some_and(|kept| *kept == layout),
        samples: samples(&shown, layout.columns.len()),
        rows: rows(&shown, terms.days),
        questions,
        day,
        layout,
    })
}

/// Whether what was asked about a guess still stands as it was guessed.
fn is_open(about: About, now: &Layout, guessed: &Layout) -> bool {
    match about {
        About::Column(n) => now.columns.get(n) == guessed.columns.get(n),
        // What a layout lacks is found in it anew.
        About::Missing(_) | About::Day => false,
        About::Tax => {
            let places = |layout: &Layout| [Field::Net, Field::Gross].map(|field| layout.column(field));
            now.tax == guessed.tax && places(now) == places(guessed)
        }
        About::Decimal => now.decimal == guessed.decimal && now.decimal != DecimalMark::Unknown,
        About::Dates => now.dates == guessed.dates,
    }
}

fn rows(shown: &[Shown], days: DayRule) -> Vec<UnderstoodRow> {
    let sale = |row: &Shown| match &row.means {
        Meant::Sale(rung) => Some(understood(days, rung)),
        Meant::Passed(_) | Meant::Wrong(_) => None,
    };
    shown.iter().filter_map(sale).collect()
}

fn samples(shown: &[Shown], columns: usize) -> Vec<SampleColumn> {
    let lines: Vec<&Shown> = shown.iter().filter(|row| !matches!(row.means, Meant::Passed(_))).collect();
    let cells = |at: usize| lines.iter().filter_map(move |row| row.cells.get(at)).take(CELLS).cloned().collect();
    (0..columns).map(|at| SampleColumn { cells: cells(at) }).collect()
}

/// What a new layout is called: as the file, without the figures of its date, and like no other.
fn name_for(path: &Path, saved: &[Layout]) -> String {
    let stem = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let words: String = stem.chars().map(|c| if c.is_alphabetic() { c } else { ' ' }).collect();
    let name = words.split_whitespace().collect::<Vec<_>>().join(" ");
    let name = crate::exchange::plain::tamed(if name.is_empty() { "till" } else { &name });
    let is_free = |name: &str| !saved.iter().any(|layout| name_key(&layout.name) == name_key(name));
    if is_free(&name) {
        return name;
    }
    (2..).map(|n| format!("{name} {n}")).find(|name| is_free(name)).unwrap_or(name)
}

/// How a file is read when it is taken in: nothing for an export, which says it itself; for a table, as somebody said, or
/// as one with the same head was before.
pub(super) fn settled(
    conn: &Connection,
    what: &What,
    ask: Ask<'_>,
    terms: &Terms,
) -> Result<Option<(Layout, Option<NaiveDate>)>, DeskError> {
    sales_only(ask.path, what)?;
    if !matches!(what, What::Table) {
        return Ok(None);
    }
    if let Some(layout) = ask.layout {
        return Ok(Some((layout.clone(), ask.day)));
    }
    let saved = layouts::list(conn)?;
    let seen = table::look(ask.path, terms)?;
    let layout = saved.into_iter().find(|layout| layout.fits(&seen.heads)).ok_or_else(|| {
        refused(word!("no table with this head was read before; say first how it is read").to_owned())
    })?;
    Ok(Some((layout, ask.day.or(seen.day))))
}
