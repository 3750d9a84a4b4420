//! The folders in which copies of a book lie: beside the book, and a second one of the same name elsewhere.

use super::backup::{self, folder_of};
use super::error::{At, Doing};
use super::migrations::{self, Mark, STEPS};
use super::open::{self, beside};
use super::present::real;
use super::private::private_folder;
use super::{Connection, Store, StoreError, damage, history};
use crate::domain::copies::{CopyName, HeldCount, Holds, Why, kept};
use crate::domain::venue::{DayRule, Moment};
use chrono::NaiveTime;
use rusqlite::OptionalExtension;
use std::fs::{self, Metadata};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

/// A copy that lies in a folder under a name of our own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CopyFile {
    /// Where it lies.
    pub path: PathBuf,
    /// When it was made, and why.
    pub name: CopyName,
    /// Bytes of it.
    pub size: u64,
}

/// A copy that was made before the book was brought to a newer version.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OlderBook {
    /// Where it lies.
    pub path: PathBuf,
    /// The version that the book was brought to.
    pub before: i64,
    /// When it was written, as the disk has it.
    pub at: Option<Moment>,
    /// Bytes of it.
    pub size: u64,
}

/// The folder beside the book: `BOOK.copies`.
pub fn beside_book(book: &Path) -> PathBuf {
    beside(&real(book), ".copies")
}

/// The folder of the same name in another one.
pub fn within(folder: &Path, book: &Path) -> PathBuf {
    let own = beside_book(book);
    own.file_name().map_or_else(|| folder.to_owned(), |name| folder.join(name))
}

/// What a book holds.
///
/// # Errors
/// [`StoreError`].
pub fn holds(conn: &Connection) -> Result<Holds, StoreError> {
    let doing = "reading what the book holds";
    let setting = |key: &str| {
        let value =
            conn.query_row("SELECT value FROM venue WHERE key = ?1", [key], |row| row.get::<_, String>("value"));
        value.optional().doing(doing)
    };
    let zone = setting("time_zone")?.and_then(|zone| zone.parse().ok());
    let starts = setting("day_starts")?.and_then(|at| NaiveTime::parse_from_str(&at, "%H:%M").ok());
    // Before its history a book knew no closing that was taken back, and no count that was given up.
    let (closings, given_up) = match history::is_told(conn)? {
        true => ("closing_in_force", "WHERE c.id NOT IN (SELECT count FROM count_given_up)"),
        false => ("count_closing", ""),
    };
    let count = conn
        .query_row(
            &format!(
                "SELECT c.name, e.at AS closed FROM count c LEFT JOIN {closings} e ON e.count = c.id AND e.place IS NULL
                 {given_up} ORDER BY c.opened DESC, c.id DESC LIMIT 1"
            ),
            [],
            |row| Ok(HeldCount { name: row.get("name")?, closed: row.get("closed")? }),
        )
        .optional()
        .doing(doing)?;
    let sale = conn.query_row("SELECT max(at) AS at FROM sale", [], |row| row.get("at")).doing(doing)?;
    let closings = conn
        .query_row(
            "SELECT count(*) AS many, coalesce(max(seq), 0) AS last FROM count_closing WHERE place IS NULL",
            [],
            |row| Ok((row.get("many")?, row.get("last")?)),
        )
        .doing(doing)?;
    Ok(Holds {
        uid: setting("uid")?.unwrap_or_default(),
        bar: setting("name")?,
        days: DayRule { zone: zone.unwrap_or(chrono_tz::Tz::UTC), starts: starts.unwrap_or(DayRule::STARTS) },
        copies_to: setting("copies_to")?.filter(|folder| !folder.is_empty()),
        version: Mark::read_within(conn)?.version,
        count,
        sale,
        closings,
    })
}

/// Opens a copy and reads what it holds; nothing of it is changed, and its pages are not gone through.
///
/// # Errors
/// [`StoreError::Missing`], [`StoreError::NotABook`], [`StoreError::NewerSchema`], [`StoreError::Damaged`].
pub fn look(path: &Path) -> Result<Holds, StoreError> {
    holds(&open(path)?)
}

/// Opens a copy that this program can read.
pub(super) fn open(path: &Path) -> Result<Connection, StoreError> {
    damage::look_at(path)?;
    if fs::metadata(path).is_ok_and(|about| about.len() == 0) {
        return Err(StoreError::NotABook { path: path.to_owned(), found: "nothing is in it" });
    }
    let conn = backup::open_copy(path)?;
    let mark = open::marked(&conn, path)?;
    migrations::judge(mark, path, STEPS)?;
    if mark.is_blank() {
        Err(StoreError::NotABook { path: path.to_owned(), found: "nothing is in it" })
    } else {
        Ok(conn)
    }
}

/// The copies that lie in a folder under names of our own, the newest first; none where there is no folder.
///
/// # Errors
/// [`StoreError::Io`] when the folder is there and cannot be read.
pub fn list(folder: &Path, days: &DayRule) -> Result<Vec<CopyFile>, StoreError> {
    let mut out: Vec<CopyFile> = files(folder)?
        .into_iter()
        .filter_map(|(path, about)| {
            let name = CopyName::parse(path.file_name()?.to_str()?)?;
            Some(CopyFile { path, name, size: about.len() })
        })
        .collect();
    out.sort_by_key(|copy| std::cmp::Reverse(copy.name.order(days)));
    Ok(out)
}

/// The copies beside a book that were made before it was brought to newer versions, the newest version first.
///
/// # Errors
/// [`StoreError::Io`].
pub fn older(book: &Path) -> Result<Vec<OlderBook>, StoreError> {
    let book = real(book);
    let mut out: Vec<OlderBook> = files(folder_of(&book))?
        .into_iter()
        .filter_map(|(path, about)| {
            let before = path.file_name()?.to_str()?.rsplit_once(".before-")?.1.parse().ok()?;
            // As it is given, and not another book's.
            (migrations::copy_before(&book, before) == path).then(|| OlderBook {
                before,
                at: modified(&about),
                size: about.len(),
                path: path.clone(),
            })
        })
        .collect();
    out.sort_by_key(|copy| std::cmp::Reverse(copy.before));
    Ok(out)
}

fn modified(about: &Metadata) -> Option<Moment> {
    let since = about.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
    i64::try_from(since.as_millis()).ok().map(Moment)
}

fn files(folder: &Path) -> Result<Vec<(PathBuf, Metadata)>, StoreError> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(error).at("looking into", folder),
    };
    let mut out = Vec::new();
    for entry in entries {
        let path = entry.at("looking into", folder)?.path();
        if let Ok(about) = fs::metadata(&path)
            && about.is_file()
        {
            out.push((path, about));
        }
    }
    Ok(out)
}

/// Makes a verified copy of an open book in a folder; says where. Others go on writing meanwhile.
///
/// # Errors
/// As [`backup::copy`].
pub fn add(store: &Store, folder: &Path, why: Why, at: Moment, days: &DayRule) -> Result<PathBuf, StoreError> {
    add_of(&store.conn, folder, why, at, days)
}

/// The same of what a connection is open on.
pub(super) fn add_of(
    conn: &Connection,
    folder: &Path,
    why: Why,
    at: Moment,
    days: &DayRule,
) -> Result<PathBuf, StoreError> {
    ready(folder)?;
    backup::copy_new(conn, paths(folder, CopyName::new(at, why, days)), folder)
}

/// Makes the folder of copies, unless it is there, and room in it: each copy has a name of its own, so that those of which
/// the making was killed would be as many as there were tries, each as large as the book.
fn ready(folder: &Path) -> Result<(), StoreError> {
    private_folder(folder).at("making", folder).map_err(|error| backup::not_copied(&folder.join("-"), error))?;
    backup::clear_parts(folder, |name| CopyName::parse(name).is_some());
    Ok(())
}

/// The names in a folder that a copy may have, the first one first.
pub(super) fn paths(folder: &Path, name: CopyName) -> impl Iterator<Item = PathBuf> {
    std::iter::successors(Some(name), |name| Some(name.next())).map(move |name| folder.join(name.to_string()))
}

/// Makes a verified copy of a copy in another folder, under the same name unless something else has it; says where.
///
/// # Errors
/// As [`backup::copy`], and those of [`look`].
pub fn put(from: &CopyFile, folder: &Path) -> Result<PathBuf, StoreError> {
    ready(folder)?;
    backup::copy_new(&open(&from.path)?, paths(folder, from.name.clone()), folder)
}

/// Whether a folder is there to put something into.
pub fn is_there(folder: &Path) -> bool {
    folder.is_dir()
}

/// Makes a verified copy of an open book under a name that somebody chose; in a folder, under a name of our own. Says
/// where.
///
/// # Errors
/// [`StoreError::Exists`] when there is a file of that name; as [`backup::copy`].
pub fn write_to(store: &Store, to: &Path, at: Moment, days: &DayRule) -> Result<PathBuf, StoreError> {
    if is_there(to) {
        return add(store, to, Why::Asked, at, days);
    }
    backup::copy_new(&store.conn, [to.to_owned()].into_iter(), to)
}

/// Takes away all copies of a book that lie beside it, and the folder if nothing else lies in it.
///
/// # Errors
/// [`StoreError::Io`] when one cannot be taken away.
pub fn discard(book: &Path, holds: &Holds) -> Result<(), StoreError> {
    let folder = beside_book(book);
    for copy in list(&folder, &holds.days)? {
        if look(&copy.path).is_ok_and(|copied| copied.uid == holds.uid) {
            fs::remove_file(&copy.path).at("taking away", &copy.path)?;
        }
    }
    // Another file in it keeps it.
    let _ = fs::remove_dir(&folder);
    Ok(())
}

/// Takes away what newer copies have made needless, by the rule of [`kept`]; says how many. Called only after a new copy
/// was made. A file goes only if it has a name of our own, opens, and is a copy of this very book; `made` never goes.
///
/// # Errors
/// [`StoreError::Io`] when the folder cannot be read, or a copy not be taken away.
pub fn tidy(folder: &Path, book: &Holds, made: &Path) -> Result<usize, StoreError> {
    let mut ours = Vec::new();
    for copy in list(folder, &book.days)?.into_iter().rev() {
        // One that does not open is no copy to count on, and may be what somebody still wants to look into.
        if look(&copy.path).is_ok_and(|holds| holds.uid == book.uid) {
            ours.push(copy);
        }
    }
    let moments: Vec<(Moment, Why)> = ours.iter().map(|copy| (copy.name.at(&book.days), copy.name.why)).collect();
    let mut gone = 0;
    for (copy, keep) in ours.iter().zip(kept(&moments, &book.days)) {
        if !keep && copy.path != made {
            fs::remove_file(&copy.path).at("taking away", &copy.path)?;
            gone += 1;
        }
    }
    Ok(gone)
}
