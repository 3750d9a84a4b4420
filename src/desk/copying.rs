//! Copies of the book: made after every closed count, brought up to date when they lack something, listed, and put in the
//! book's place.

use super::{DeskError, people, refused};
use crate::domain::copies::{CopyName, Holds, Why};
use crate::domain::rows::{CopiesState, CopyMade, CopyRow, SecondFault, SecondFolder};
use crate::domain::venue::{DayRule, Deed, Moment};
use crate::store::copies::{self, CopyFile};
use crate::store::people::Who;
use crate::store::restore::{self, Step};
use crate::store::{Store, StoreError, setup};
use std::path::{Path, PathBuf};

pub use crate::store::restore::{Before, Restored};

/// Makes a copy beside the book and in the second folder, and takes away there what it makes needless. What goes wrong with
/// either is in the answer: a count goes on whatever becomes of its copy.
///
/// # Errors
/// [`DeskError`] when the book itself cannot be read.
pub fn copy(store: &Store, why: Why, now: Moment) -> Result<CopiesState, DeskError> {
    let holds = store.read(copies::holds)?;
    let folder = copies::beside_book(store.path());
    let made = copies::add(store, &folder, why, now, &holds.days);
    if let Ok(made) = &made {
        // What cannot be taken away is too much, and never too little.
        let _ = copies::tidy(&folder, &holds, made);
    }
    // A folder that cannot be looked into has none, and says so when something is to be put into it.
    let newest = newest(&folder, &holds).ok().flatten();
    let second = holds.copies_to.as_ref().map(|second| {
        let second = PathBuf::from(second);
        let within = copies::within(&second, store.path());
        let put = || match (&made, &newest) {
            (Ok(_), Some((newest, _))) => copies::put(newest, &within),
            // The one disk may be full and the other not.
            _ => copies::add(store, &within, why, now, &holds.days),
        };
        in_second(second, &within, &holds, put)
    });
    let last = newest.map(|(copy, _)| copy.name.at(&holds.days));
    Ok(CopiesState { days: holds.days, folder, last, failed: made.err().as_ref().map(why_not), second })
}

/// Makes what is lacking: a copy when counts were closed since the last one (the program ended before it was made, or the
/// disk was full), and the newest copy in the second folder when that is there again. Else only looks.
///
/// # Errors
/// [`DeskError`] when the book itself cannot be read.
pub fn catch_up(store: &Store, now: Moment) -> Result<CopiesState, DeskError> {
    let holds = store.read(copies::holds)?;
    let folder = copies::beside_book(store.path());
    // A folder that cannot be looked into has none, and says so when something is to be put into it.
    let newest = newest(&folder, &holds).ok().flatten();
    let has_all = newest.as_ref().is_some_and(|(_, copied)| copied.closings == holds.closings);
    if holds.closings.0 > 0 && !has_all {
        return copy(store, Why::Closing, now);
    }
    let second = holds.copies_to.as_ref().map(|second| {
        let second = PathBuf::from(second);
        let within = copies::within(&second, store.path());
        let there = newest_at(&within, &holds);
        match &newest {
            Some((newest, _)) if there < Some(newest.name.at(&holds.days)) => {
                in_second(second, &within, &holds, || copies::put(newest, &within))
            }
            // Nothing was to be copied yet, or it is there.
            _ => {
                let fault = (newest.is_some() && !copies::is_there(&second)).then_some(SecondFault::NotThere);
                SecondFolder { folder: second, last: there, fault }
            }
        }
    });
    let last = newest.map(|(copy, _)| copy.name.at(&holds.days));
    Ok(CopiesState { days: holds.days, folder, last, failed: None, second })
}

/// Puts a copy into the second folder.
fn in_second(
    second: PathBuf,
    within: &Path,
    holds: &Holds,
    put: impl FnOnce() -> Result<PathBuf, StoreError>,
) -> SecondFolder {
    if !copies::is_there(&second) {
        return SecondFolder { folder: second, last: None, fault: Some(SecondFault::NotThere) };
    }
    let put = put();
    if let Ok(put) = &put {
        let _ = copies::tidy(within, holds, put);
    }
    let fault = put.err().map(|refused| SecondFault::Refused(why_not(&refused)));
    SecondFolder { folder: second, last: newest_at(within, holds), fault }
}

/// Why no copy was made, as the end of a sentence.
fn why_not(refused: &StoreError) -> String {
    match refused {
        StoreError::NotCopied { why, .. } => why.clone(),
        other => other.to_string(),
    }
}

/// The newest copy of a book in a folder that opens, of those that are made evening after evening, and what it holds.
fn newest(folder: &Path, book: &Holds) -> Result<Option<(CopyFile, Holds)>, StoreError> {
    let routine = copies::list(folder, &book.days)?.into_iter().filter(|copy| copy.name.why.is_routine());
    let mut ours = routine.filter_map(|copy| {
        let holds = copies::look(&copy.path).ok().filter(|holds| holds.uid == book.uid)?;
        Some((copy, holds))
    });
    Ok(ours.next())
}

fn newest_at(folder: &Path, book: &Holds) -> Option<Moment> {
    newest(folder, book).ok().flatten().map(|(copy, _)| copy.name.at(&book.days))
}

/// Makes a copy under a name that somebody chose, or in a folder; says where, and what it holds.
///
/// # Errors
/// [`DeskError`]: there is a file of that name, or the disk refuses.
pub fn copy_to(store: &Store, to: &Path, now: Moment) -> Result<(PathBuf, Holds), DeskError> {
    let holds = store.read(copies::holds)?;
    let to = copies::write_to(store, to, now, &holds.days)?;
    let holds = copies::look(&to)?;
    Ok((to, holds))
}

/// Every copy of a book that is known, the newest first; also where the book itself is damaged or gone.
///
/// # Errors
/// [`DeskError`] when the folder beside the book cannot be read.
pub fn list(book: &Path) -> Result<Vec<CopyRow>, DeskError> {
    // The book may be what is damaged, or be gone.
    list_of(book, copies::look(book).ok())
}

/// The same of a book that is open, whose file is not to be opened once more.
///
/// # Errors
/// As [`list`].
pub fn list_beside(store: &Store) -> Result<Vec<CopyRow>, DeskError> {
    list_of(store.path(), Some(store.read(copies::holds)?))
}

fn list_of(book: &Path, own: Option<Holds>) -> Result<Vec<CopyRow>, DeskError> {
    let folder = copies::beside_book(book);
    // One that says nothing yet was made where another one stood.
    let own = own.filter(|own| own.bar.is_some());
    // All that lie there, also those of a book that another one has replaced since: they are the way back.
    let here = looked_at(&folder, None)?;
    // What the book cannot say, its newest copy may.
    let said = own.as_ref().or_else(|| here.iter().find_map(|(_, holds)| holds.as_ref().ok()));
    let days = said.map_or(UTC, |said| said.days);
    let second = said.and_then(|said| said.copies_to.as_ref()).map(PathBuf::from);
    let second = second.filter(|second| copies::is_there(second)).map(|second| copies::within(&second, book));
    let there = match second {
        // A stick that cannot be read has no copies to offer.
        Some(second) => looked_at(&second, own.as_ref()).unwrap_or_default(),
        None => Vec::new(),
    };
    let mut rows: Vec<CopyRow> = Vec::new();
    for (copy, holds) in here.into_iter().chain(there) {
        let made = CopyMade::For(copy.name.why);
        let (name, at) = (copy.path.file_name().map(ToOwned::to_owned), Some(copy.name.at(&days)));
        let same = |row: &&mut CopyRow| row.paths.iter().any(|path| path.file_name() == name.as_deref());
        match rows.iter_mut().find(same) {
            Some(row) if row.holds == holds => row.paths.push(copy.path),
            _ => rows.push(CopyRow { at, made, paths: vec![copy.path], size: copy.size, holds }),
        }
    }
    for older in copies::older(book)? {
        let made = CopyMade::BeforeVersion(older.before);
        let holds = copies::look(&older.path).map_err(|refused| fault(&refused));
        rows.push(CopyRow { at: older.at, made, paths: vec![older.path], size: older.size, holds });
    }
    rows.sort_by_key(|row| std::cmp::Reverse(row.at));
    Ok(rows)
}

/// Why a copy does not open, as the end of a sentence.
fn fault(refused: &StoreError) -> String {
    match refused {
        StoreError::Damaged { .. } => word!("it is damaged").to_owned(),
        StoreError::NotABook { .. } => word!("it is no book of this program, or its beginning is gone").to_owned(),
        StoreError::NewerSchema { found, .. } => say!("a newer program made it (version {found})", found),
        other => other.to_string(),
    }
}

/// When nothing says in which zone a bar is.
const UTC: DayRule = DayRule { zone: chrono_tz::Tz::UTC, starts: chrono::NaiveTime::MIN };

/// A copy, and what it holds or why it does not open.
type LookedAt = (CopyFile, Result<Holds, String>);

/// The copies in a folder with what they hold, without those of other books than this one, if it is known.
fn looked_at(folder: &Path, own: Option<&Holds>) -> Result<Vec<LookedAt>, StoreError> {
    let days = own.map_or(UTC, |own| own.days);
    let all = copies::list(folder, &days)?.into_iter().map(|copy| {
        let holds = copies::look(&copy.path).map_err(|refused| fault(&refused));
        (copy, holds)
    });
    Ok(all.filter(|(_, holds)| !matches!((own, holds), (Some(own), Ok(holds)) if own.uid != holds.uid)).collect())
}

/// The copy that somebody means: a number of the list, or the path of a file.
///
/// # Errors
/// [`DeskError`]: there is no such number, or the path leads to a folder.
pub fn meant(book: &Path, said: &str) -> Result<PathBuf, DeskError> {
    let Ok(number) = said.trim().parse::<usize>() else {
        let path = PathBuf::from(said);
        return if copies::is_there(&path) { Err(in_folder(&path)) } else { Ok(path) };
    };
    let rows = list(book)?;
    let many = rows.len();
    let Some(row) = number.checked_sub(1).and_then(|at| rows.into_iter().nth(at)) else {
        let of = if many == 0 {
            word!("there are no copies").to_owned()
        } else {
            say!("the list goes from 1 to {many}", many)
        };
        return Err(refused(say!(
            "there is no copy number {number}: {of}; `tantalus backup --list` shows it, or name the file of a copy",
            number,
            of
        )));
    };
    // Of two the one that opens.
    let opens = row.paths.iter().find(|path| copies::look(path).is_ok()).or(row.paths.first());
    opens.cloned().ok_or_else(|| refused(say!("copy number {number} is not there any more", number)))
}

/// A folder is no copy; which ones lie in it.
fn in_folder(folder: &Path) -> DeskError {
    let names: Vec<CopyName> =
        copies::list(folder, &UTC).unwrap_or_default().into_iter().map(|copy| copy.name).collect();
    let told: String = names.iter().map(|name| format!("\n{}", folder.join(name.to_string()).display())).collect();
    let named = if names.is_empty() { word!("no copy lies in it") } else { word!("name one of the copies in it") };
    refused(say!("{display} is a folder; {named}{told}", display = folder.display(), named, told))
}

/// Puts a copy in the place of a book, which is kept as a copy first, and opens it as any book is opened.
///
/// # Errors
/// [`DeskError::Store`]: the book is as it was. [`DeskError::Refused`]: the copy stands in its place, but does not open.
pub fn restore(
    book: &Path,
    from: &Path,
    even_without_copy: bool,
    by: Option<&str>,
    now: Moment,
) -> Result<Restored, DeskError> {
    let restored = restore::restore(book, from, now, even_without_copy, &mut |_: Step| {})?;
    // An older one is brought up to date, which wants room for a copy of it.
    match Store::open(book).and_then(|store| told_of(&store, by, now)) {
        Ok(()) => Ok(restored),
        Err(why) => {
            Err(refused(say!("the copy stands in the place of the book now, but it cannot be used yet: {why}", why)))
        }
    }
}

/// The history of the copy goes on with who put it there, if it knows them.
fn told_of(store: &Store, by: Option<&str>, now: Moment) -> Result<(), StoreError> {
    let known = store.read(setup::people)?;
    let who = by.and_then(|by| people::find(&known, by).ok().flatten());
    store.sign_in(who.map(|person| Who { initials: person.initials.clone(), proven: false }).as_ref())?;
    store.write((Deed::Restored, now), |_| Ok(()))
}

/// The folder beside a book in which its copies lie.
pub fn folder(book: &Path) -> PathBuf {
    copies::beside_book(book)
}

/// Who has the book open, where that is why it was not replaced.
pub fn in_use_by(refused: &DeskError) -> Option<Vec<String>> {
    match refused {
        DeskError::Store(StoreError::InUse { by }) => Some(by.clone()),
        _ => None,
    }
}

/// Whether a copy that could not be made is why something was refused.
pub fn no_room(refused: &DeskError) -> bool {
    matches!(refused, DeskError::Store(StoreError::NotCopied { .. }))
}
