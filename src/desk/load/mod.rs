//! Loads a folder of plain files into a book: all of it, or nothing with every fault named.

mod bills;
mod counts;
mod explained;
mod facts;
mod files;
mod names;
mod orders;
mod sales;
mod setup;
mod versions;

use super::{DeskError, Progress, Watch};
use crate::domain::gauge::{Gauges, Weighing};
use crate::domain::venue::{Deed, ItemId, Moment, Offer, ProfileId, Setup};
use crate::exchange::inbox;
use crate::exchange::plain::{Fault, Faults, Folder, Form, Plain, Table};
use crate::store::{Connection, Store, StoreError, day_totals, setup as book, weighings};
use facts::Brought;
use names::Names;
pub(super) use names::near;
use std::collections::{HashMap, HashSet};
use std::ops::ControlFlow;
use std::path::Path;

/// What one file brought.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct FileReport {
    /// The file.
    pub file: Plain,
    /// Lines read.
    pub read: u64,
    /// New to the book.
    pub added: u64,
    /// Known, with another content now.
    pub changed: u64,
    /// Known, the same.
    pub already: u64,
}

/// What a folder brought.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct LoadReport {
    /// The files that were there, in the order in which they were read.
    pub files: Vec<FileReport>,
    /// Names of the till that were met for the first time and mean nothing yet.
    pub new_till_names: Vec<String>,
    /// What a person should know.
    pub warnings: Vec<String>,
}

impl LoadReport {
    /// What one file brought, if it was there.
    pub fn file(&self, file: Plain) -> Option<&FileReport> {
        self.files.iter().find(|f| f.file == file)
    }
}

/// How far the clock of a till may be ahead of this one's.
const AHEAD: i64 = Moment::DAY;

/// Lines between two looks at the watcher.
const PACE: u64 = 4_096;

/// Loads the files of a folder. What is there already is left alone, so that a file may be loaded again, or one that
/// overlaps it; set-up rows are brought to what the file says, and rows that no file names stay. With any fault the
/// book stays as it was.
///
/// Facts are compared with those in force in the book: sales by receipt and line, deliveries by supplier, document and
/// line, counts by count, place and item, accepted causes by count and item, orders by name, bills by supplier, number and whether they take back; the same
/// key with another content is a fault. Losses, transfers, batches, claims and files taken in have no key: where the
/// folder has a line n times and the book m times, n − m are added. An order or count that the book has keeps its state
/// there; a claim that it has becomes settled where the folder says so.
///
/// # Errors
/// [`DeskError::Faults`] with every fault; [`DeskError::Stopped`] when `watch` said so.
pub fn load(store: &Store, folder: &Path, now: Moment, watch: &mut Watch<'_>) -> Result<LoadReport, DeskError> {
    let mut faults = Faults::default();
    let folder = Folder::open(folder, &mut faults)?;
    load_files(store, &folder, faults, now, watch)
}

/// Loads one file of counts, whatever it is called; as [`load`].
///
/// # Errors
/// As [`load`].
pub fn load_counts(store: &Store, file: &Path, now: Moment, watch: &mut Watch<'_>) -> Result<LoadReport, DeskError> {
    load_files(store, &Folder::of_one(Plain::Counts, file)?, Faults::default(), now, watch)
}

fn load_files(
    store: &Store,
    folder: &Folder,
    faults: Faults,
    now: Moment,
    watch: &mut Watch<'_>,
) -> Result<LoadReport, DeskError> {
    store.write((Deed::Loaded, now), |conn| {
        let had = match book::load_any(conn) {
            Ok((setup, _)) => Some(setup),
            Err(StoreError::NotSetUp { .. }) => None,
            Err(other) => return Err(other.into()),
        };
        bring(conn, folder, had, faults, now, watch)
    })
}

/// Brings a folder into a book whose set-up is `had`, within a transaction.
///
/// # Errors
/// As [`load`].
pub(super) fn bring(
    conn: &Connection,
    folder: &Folder,
    had: Option<Setup>,
    faults: Faults,
    now: Moment,
    watch: &mut Watch<'_>,
) -> Result<LoadReport, DeskError> {
    let mut loader = Loader::new(conn, folder, had, now, faults, watch);
    loader.everything()?;
    if loader.faults.is_empty() {
        let mut report = loader.report;
        if folder.has(Plain::Venue) {
            let venue = &book::load(conn)?.venue;
            report.warnings.extend(no_folder(venue.watch_folder.as_deref()));
            report.warnings.extend(no_second(venue.copies_to.as_deref()));
        }
        return Ok(report);
    }
    loader.faults.sort();
    Err(DeskError::Faults(loader.faults))
}

/// What is wrong with a watched folder, if anything is.
fn no_folder(watched: Option<&str>) -> Option<String> {
    let watched = watched?;
    match inbox::about(Path::new(watched)) {
        Some(entry) if entry.folder => None,
        Some(_) => Some(say!("watch_folder in venue.csv is {watched}, which is no folder", watched)),
        None => Some(say!(
            "watch_folder in venue.csv is {watched}, which is not there or cannot be looked at; mend it, or nothing is offered",
            watched
        )),
    }
}

/// What is wrong with the second folder for copies, if anything is. That it is not there now is nothing wrong: a stick comes
/// and goes, and whoever copies the book says so.
fn no_second(folder: Option<&str>) -> Option<String> {
    let there = inbox::about(Path::new(folder?))?;
    (!there.folder)
        .then(|| say!("copies_to in venue.csv is {folder}, which is no folder", folder = there.path.display()))
}

/// What a line of a file touches the reading of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Touched {
    /// An item.
    Item(ItemId),
    /// All items in containers of a shape.
    Profile(ProfileId),
}

/// A load under way.
struct Loader<'a> {
    conn: &'a Connection,
    folder: &'a Folder,
    /// The set-up of the book before, if it had one.
    had: Option<Setup>,
    form: Form,
    now: Moment,
    names: Names,
    faults: Faults,
    /// Files with a fault: what they lack is not reported once more by those that name it.
    doubtful: HashSet<Plain>,
    /// Lines that changed how some items are read.
    changed: Vec<(Plain, u64, Touched)>,
    /// Weighings that this folder adds, with their lines.
    weighed: Vec<(u64, Weighing)>,
    /// The set-up as the folder leaves it.
    left: Option<Setup>,
    /// The offers of book and folder.
    offers: Vec<Offer>,
    report: LoadReport,
    watch: &'a mut Watch<'a>,
    /// Bytes of the files that are done.
    done: u64,
}

impl<'a> Loader<'a> {
    fn new(
        conn: &'a Connection,
        folder: &'a Folder,
        had: Option<Setup>,
        now: Moment,
        faults: Faults,
        watch: &'a mut Watch<'_>,
    ) -> Loader<'a> {
        let form = had.as_ref().map_or(
            Form {
                currency: None,
                days: crate::domain::venue::DayRule { zone: chrono_tz::Tz::UTC, starts: chrono::NaiveTime::MIN },
                small: Default::default(),
                until: None,
            },
            |setup| Form::of(&setup.venue),
        );
        let form = Form { until: Some(Moment(now.0.saturating_add(AHEAD))), ..form };
        Loader {
            conn,
            folder,
            names: Names::new(had.as_ref()),
            had,
            form,
            now,
            faults,
            doubtful: HashSet::new(),
            changed: Vec::new(),
            weighed: Vec::new(),
            left: None,
            offers: Vec::new(),
            report: LoadReport::default(),
            watch,
            done: 0,
        }
    }

    fn everything(&mut self) -> Result<(), DeskError> {
        self.setup()?;
        self.weighings()?;
        if let Some(setup) = &self.left {
            self.names.gauges = Gauges::new(setup, &weighings::list(self.conn)?);
        }
        self.weighed_soundly();
        self.still_read()?;
        self.facts()?;
        self.counts()?;
        self.explained()?;
        self.orders()?;
        self.bills()?;
        self.claims()?;
        self.taken()?;
        self.sales()?;
        // The business day may begin at another hour now.
        Ok(day_totals::refresh(self.conn, &self.form.days)?)
    }

    /// Opens a file, if it is there and its head is right, with its report begun.
    fn open(&mut self, file: Plain) -> Result<Option<Table>, DeskError> {
        if !self.folder.has(file) {
            return Ok(None);
        }
        let table = self.folder.table(file, &mut self.faults)?;
        if table.is_none() {
            self.doubtful.insert(file);
            self.names.doubt_all(file);
        }
        Ok(table)
    }

    /// Ends a file with its report.
    fn close(&mut self, report: FileReport) -> Result<(), DeskError> {
        self.done += self.folder.size(report.file);
        self.tell(report.file, report.read, 0)?;
        self.report.files.push(report);
        Ok(())
    }

    /// Tells the watcher now and then.
    fn pace(&mut self, table: &Table, file: Plain, rows: u64) -> Result<(), DeskError> {
        if rows.is_multiple_of(PACE) { self.tell(file, rows, table.bytes()) } else { Ok(()) }
    }

    fn tell(&mut self, file: Plain, rows: u64, bytes: u64) -> Result<(), DeskError> {
        let progress = Progress { file, rows, bytes: self.done + bytes, total: self.folder.bytes() };
        match (self.watch)(progress) {
            ControlFlow::Continue(()) => Ok(()),
            ControlFlow::Break(()) => Err(DeskError::Stopped),
        }
    }

    fn fault(&mut self, fault: Fault) {
        self.faults.push(fault);
    }
}

impl FileReport {
    fn of(file: Plain) -> FileReport {
        FileReport { file, read: 0, added: 0, changed: 0, already: 0 }
    }

    /// Counts what became of some lines.
    fn count(&mut self, brought: Brought, lines: u64) {
        let which = match brought {
            Brought::Added => &mut self.added,
            Brought::Changed => &mut self.changed,
            Brought::Already => &mut self.already,
        };
        *which += lines;
    }
}

/// Lines of a file met so far, by what tells them apart.
#[derive(Default)]
struct Met(HashMap<String, u64>);

impl Met {
    /// Remembers a line; gives the fault of one that was met before.
    fn again(&mut self, file: Plain, line: u64, key: String) -> Option<Fault> {
        match self.0.entry(key) {
            std::collections::hash_map::Entry::Occupied(first) => {
                Some(Fault::of_line(file, line, twice(file, *first.get())))
            }
            std::collections::hash_map::Entry::Vacant(free) => {
                free.insert(line);
                None
            }
        }
    }
}

/// What is wrong with a line whose key was met before.
fn twice(file: Plain, first: u64) -> String {
    say!("the same {key} as on line {first}; expected it once", key = file.spec().key.join(", "), first)
}
