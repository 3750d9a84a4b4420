//! Taking files of sales in, setting them aside, taking them back.

use super::Ask;
use super::doubts::{Came, doubts, form_of};
use super::look::settled;
use super::reading::{Doing, Lines, Read, terms};
use crate::desk::signing::{signed, typed};
use crate::desk::{DeskError, Pace, refused};
use crate::domain::measure::number_of;
use crate::domain::rows::{FilePrint, FileSum, TakenIn};
use crate::domain::till::{TakenAs, TakenFile};
use crate::domain::venue::{Deed, FileId, Moment, Setup};
use crate::exchange::plain::tamed;
use crate::exchange::{inbox, sniff};
use crate::store::sales::SaleWriter;
use crate::store::{Store, day_totals, files, layouts, sales, setup as book};

/// 9999-01-01, UTC.
const YEAR_9999: Moment = Moment(253_370_764_800_000);

/// Takes a file of sales in: all of it, or nothing with the reason. What the book has already is not added twice. The
/// layout of a table is kept, so that the next one with the same head is read without asking.
///
/// # Errors
/// [`DeskError`]: the file is refused, contradicts the book, or is a table of which a person must first say how it is
/// read; [`DeskError::Stopped`] when `pace` said so.
pub fn take(
    store: &Store,
    ask: Ask<'_>,
    by: Option<&str>,
    now: Moment,
    pace: &mut Pace<'_>,
) -> Result<TakenIn, DeskError> {
    let what = sniff::sniff(ask.path)?;
    let before = inbox::about(ask.path);
    let print = inbox::print(ask.path)?;
    let changed = || {
        refused(say!(
            "{file} was written to since it was looked at, and nothing was taken in; look at it again",
            file = print.name
        ))
    };
    if ask.digest.is_some_and(|looked_at| looked_at != print.digest) {
        return Err(changed());
    }
    store.write((Deed::Sales, now), |conn| {
        let setup = book::load(conn)?;
        let terms = terms(&setup, now);
        let mut layout = settled(conn, &what, ask, &terms)?;
        if let Some((layout, _)) = &mut layout {
            layout.name = typed(word!("the name of the layout"), &layout.name)?;
            if layout.name.is_empty() {
                return Err(refused(word!("the layout needs a name to be kept under").to_owned()));
            }
        }
        let id = files::next(conn)?;
        let known = files::of_content(conn, &print.digest)?;
        let as_what = |what| known.as_ref().filter(|had| had.what == what);
        let (aside, had) = (as_what(TakenAs::SetAside), as_what(TakenAs::Sales));
        let by = signed(conn, by)?;
        let by = by.as_deref();
        let writer = SaleWriter::new(conn, Some(id))?.summing(&setup.venue.days)?;
        let table = layout.as_ref().map(|(layout, day)| (layout, *day));
        let lines = Lines::new(&setup, (conn, writer), Doing::Keeping, pace)?;
        let Read { sum, decimal } = lines.read(ask.path, &what, table, &terms)?;
        if inbox::about(ask.path) != before {
            return Err(changed());
        }
        if sum.lines == 0 {
            return Err(refused(say!("{file}: there are no sales in it; nothing was taken in", file = print.name)));
        }
        if let Some(had) = had.filter(|_| sum.corrected > 0) {
            return Err(stale(&setup, &print, had, &sum));
        }
        let form = form_of(&what, layout.as_ref().map(|(layout, _)| layout));
        let doubts = match ask.all_the_same {
            true => Vec::new(),
            false => doubts(conn, &setup, &Came { form, own: Some(id), had }, &sum)?,
        };
        if !doubts.is_empty() {
            return Err(DeskError::Doubtful(doubts));
        }
        if let Some((layout, _)) = &mut layout {
            layout.decimal = decimal.unwrap_or(layout.decimal);
            layouts::put(conn, layout)?;
        }
        let new = sum.added + sum.corrected;
        if let Some(aside) = aside {
            files::withdraw(conn, aside.id, by, now)?;
        }
        if new == 0 && had.is_some() {
            // The file of its content holds its lines already.
            sales::let_go(conn, id)?;
        } else {
            files::add(conn, &TakenFile { form, ..taken(id, &print, TakenAs::Sales, new, by, now) })?;
        }
        Ok(TakenIn { name: print.name.clone(), what: what.words().to_owned(), sum })
    })
}

/// Why a report that the book has had is not taken in again: it would turn figures back.
fn stale(setup: &Setup, print: &FilePrint, had: &TakenFile, sum: &FileSum) -> DeskError {
    let figures = number_of(sum.corrected, word!("figure of it says"), word!("figures of it say"));
    refused(say!(
        "{file} was taken in {had}, and {figures} something else in the book now, from a later file or another way of reading it; taken in again, it would turn that back. Take back first what is wrong",
        file = print.name,
        had = setup.venue.days.short(had.at),
        figures
    ))
}

/// What is kept of a file that was taken in.
pub(in crate::desk) fn taken(
    id: FileId,
    print: &FilePrint,
    what: TakenAs,
    added: u64,
    by: Option<&str>,
    now: Moment,
) -> TakenFile {
    TakenFile {
        id,
        digest: print.digest.clone(),
        // Whoever names a file may put anything into its name.
        name: Some(tamed(&print.name)).filter(|name| !name.is_empty()).unwrap_or_else(|| word!("a file").to_owned()),
        size: i64::try_from(print.size).unwrap_or(i64::MAX),
        // A file system may say anything; a year of five digits is no time that a file could be loaded with.
        modified: print.modified.filter(|at| *at < YEAR_9999),
        what,
        form: None,
        added: i64::try_from(added).unwrap_or(i64::MAX),
        at: now,
        by: by.map(str::to_owned),
        withdrawn: false,
    }
}

/// Remembers that a file is not for this book, so that it is not offered again.
///
/// # Errors
/// [`DeskError`].
pub fn set_aside(store: &Store, print: &FilePrint, by: Option<&str>, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::FileAside, now), |conn| {
        if files::of_content(conn, &print.digest)?.is_some() {
            return Ok(());
        }
        let by = signed(conn, by)?;
        Ok(files::add(conn, &taken(files::next(conn)?, print, TakenAs::SetAside, 0, by.as_deref(), now))?)
    })
}

/// Takes a file back: its sales are reckoned with no more, and it can be taken in again. Says how many lines that were.
///
/// # Errors
/// [`DeskError`]: it is taken back already, or nothing says which sales came from it.
pub fn withdraw(store: &Store, file: FileId, by: Option<&str>, now: Moment) -> Result<u64, DeskError> {
    store.write((Deed::FileBack, now), |conn| {
        let lines = files::withdraw(conn, file, signed(conn, by)?.as_deref(), now)?;
        day_totals::refresh(conn, &book::load(conn)?.venue.days)?;
        Ok(lines)
    })
}
