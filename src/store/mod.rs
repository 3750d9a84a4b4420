//! The book: one SQLite file. The only place that knows SQL; one file for each aggregate, free functions on a
//! connection, so that the desk composes several of them into one transaction.

pub mod backup;
pub mod bills;
pub mod check;
pub mod checks;
mod convert;
pub mod copies;
pub mod counts;
mod damage;
pub mod day_totals;
mod error;
pub mod explanations;
pub mod files;
pub mod history;
mod identity;
pub mod journal;
pub mod layouts;
pub mod mark;
pub mod migrations;
mod open;
pub mod orders;
pub mod people;
pub mod present;
mod private;
mod query;
pub mod restore;
pub mod sales;
pub mod salvage;
pub mod setup;
pub mod weighings;

pub use error::StoreError;
pub use migrations::{APPLICATION_ID, STEPS};
/// What the queries of this layer run on; a transaction is one too.
pub use rusqlite::Connection;

use crate::domain::venue::{ActId, Deed, Moment, Rights};
use error::{At, Doing as _};
use identity::{FileId, Opened};
use people::Who;
use rusqlite::{Transaction, TransactionBehavior};
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// An open book.
#[derive(Debug)]
pub struct Store {
    path: PathBuf,
    conn: Connection,
    /// The file that was opened.
    file: Option<FileId>,
    _opened: Opened,
    /// Of a book as it was known: the moment, and the folder that it lies in, which goes with it.
    then: Option<Moment>,
    _folder: Option<TempDir>,
}

/// Where a book is, and who is at the terminal that has it open.
#[derive(Clone, Debug)]
pub struct Address {
    path: PathBuf,
    who: Option<Who>,
    bound: Option<Rights>,
    then: Option<Moment>,
}

impl Address {
    /// Opens it.
    ///
    /// # Errors
    /// As [`Store::open`].
    pub fn open(&self) -> Result<Store, StoreError> {
        self.signed(Store::open(&self.path)?)
    }

    fn signed(&self, mut store: Store) -> Result<Store, StoreError> {
        store.sign_in(self.who.as_ref())?;
        if let Some(rights) = self.bound {
            people::bind(&store.conn, rights)?;
        }
        store.then = self.then;
        Ok(store)
    }
}

/// What a use case does, and when.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Doing {
    deed: Deed,
    at: Moment,
    undoes: Option<ActId>,
}

impl From<(Deed, Moment)> for Doing {
    fn from((deed, at): (Deed, Moment)) -> Doing {
        Doing { deed, at, undoes: None }
    }
}

impl Doing {
    /// One that takes an act back.
    pub fn undoing(deed: Deed, at: Moment, act: ActId) -> Doing {
        Doing { deed, at, undoes: Some(act) }
    }
}

/// How often a book is opened anew when another one is put in its place meanwhile.
const OPENINGS: usize = 5;

impl Store {
    /// Makes a new, empty book, readable by its owner only; folders on the way are made too.
    ///
    /// # Errors
    /// [`StoreError::Exists`] when there is a file of that name already.
    pub fn create(path: &Path) -> Result<Store, StoreError> {
        Self::create_with(path, STEPS)
    }

    /// As [`Store::create`], with another list of migrations; for trying a migration out.
    ///
    /// # Errors
    /// As [`Store::create`].
    pub fn create_with(path: &Path, steps: &[&str]) -> Result<Store, StoreError> {
        open::make_file(path)?;
        Self::connect(path, steps, || Ok(()))
    }

    /// Opens a book, bringing an older one up to date after a backup copy of it.
    ///
    /// # Errors
    /// [`StoreError::Missing`], [`StoreError::NotABook`], [`StoreError::NewerSchema`]; [`StoreError::Nothing`],
    /// [`StoreError::Broken`] and [`StoreError::Damaged`] for one that is damaged.
    pub fn open(path: &Path) -> Result<Store, StoreError> {
        Self::open_with(path, STEPS)
    }

    /// As [`Store::open`], with another list of migrations; for trying a migration out.
    ///
    /// # Errors
    /// As [`Store::open`].
    pub fn open_with(path: &Path, steps: &[&str]) -> Result<Store, StoreError> {
        Self::connect(path, steps, || damage::look_at(path))
    }

    /// The book as it was known at a moment, which can be looked at and not be changed. It lies in a folder of its own that
    /// only its owner can read, and goes away with what is returned.
    ///
    /// # Errors
    /// [`StoreError::NotKnownThen`] when its history begins later; what else may be refused while a book is copied.
    pub fn known_at(&self, at: Moment) -> Result<Store, StoreError> {
        let folder = TempDir::with_prefix("tantalus-").at("making a folder beside", &std::env::temp_dir())?;
        let path = folder.path().join("book.tantalus");
        backup::copy(&self.conn, &path, |_| Ok(true))?;
        open::raw(&path)?.with(|conn| history::wind_back(conn, at))?;
        let mut store = Store::open(&path)?;
        (store.then, store._folder) = (Some(at), Some(folder));
        store.sign_in(self.who()?.as_ref())?;
        people::bind(&store.conn, self.rights()?)?;
        Ok(store)
    }

    /// The moment at which it was known as it is shown; none for the book as it is.
    pub fn known_then(&self) -> Option<Moment> {
        self.then
    }

    /// What another thread needs to open the same book as the same person.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn address(&self) -> Result<Address, StoreError> {
        let (who, bound) = (self.who()?, people::bound(&self.conn)?);
        Ok(Address { path: self.path.clone(), who, bound, then: self.then })
    }

    /// The same book once more, for looking through all of it: what has to be sorted for that goes into files of the system
    /// where it is more than the cache holds, so that memory does not grow with the book.
    ///
    /// # Errors
    /// As [`Store::open`].
    pub fn to_look_through(&self) -> Result<Store, StoreError> {
        let doing = "opening the book to look through it";
        let (address, store) = (self.address()?, Store::open(&self.path)?);
        // Whatever is temporary goes with that: who is at the terminal has to be said again.
        store.conn.pragma_update(None, "temp_store", "FILE").doing(doing)?;
        store.conn.execute_batch(people::TERMINAL).doing(doing)?;
        address.signed(store)
    }

    /// Says who is at this terminal from now on: whoever writes is that person, with that person's rights.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn sign_in(&self, who: Option<&Who>) -> Result<(), StoreError> {
        people::sign_in(&self.conn, who)
    }

    /// Who is at this terminal.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn who(&self) -> Result<Option<Who>, StoreError> {
        people::who(&self.conn)
    }

    /// What whoever is at this terminal may see.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn rights(&self) -> Result<Rights, StoreError> {
        self.read(people::rights)
    }

    /// Opens the file that the name leads to, and still does when it is open: one that waited for a restore to end would
    /// else write into the book that was replaced.
    fn connect(path: &Path, steps: &[&str], look: impl Fn() -> Result<(), StoreError>) -> Result<Store, StoreError> {
        for _ in 0..OPENINGS {
            let file = FileId::of(path);
            let opened = Opened::new(file, &look)?;
            let conn = match open::connect(path, steps) {
                Ok(conn) => conn,
                // Nothing can be written into a file that has lost its name: the one that stands there now is meant.
                Err(_) if FileId::of(path) != file => continue,
                Err(refused) => return Err(refused),
            };
            let store = Store { path: path.to_owned(), conn, file, _opened: opened, then: None, _folder: None };
            if store.still_there().is_ok() {
                return Ok(store);
            }
        }
        Err(StoreError::Replaced { path: path.to_owned() })
    }

    /// Looks whether the name of the book still leads to the file that was opened: what is written into another one is
    /// lost. Asks the system once and reads nothing, so that it may be asked before every write.
    ///
    /// # Errors
    /// [`StoreError::Replaced`].
    pub fn still_there(&self) -> Result<(), StoreError> {
        if FileId::of(&self.path) == self.file { Ok(()) } else { Err(StoreError::Replaced { path: self.path.clone() }) }
    }

    /// Runs queries on one unchanging state of the book.
    ///
    /// # Errors
    /// Whatever `work` refuses with.
    pub fn read<T, E: From<StoreError>>(&self, work: impl FnOnce(&Connection) -> Result<T, E>) -> Result<T, E> {
        self.within(TransactionBehavior::Deferred, work)
    }

    /// Runs one use case: everything it writes is kept, or nothing.
    ///
    /// # Errors
    /// Whatever `work` refuses with, and [`StoreError::Busy`] when another terminal does not finish writing.
    /// [`StoreError::ForManagers`] when whoever is at this terminal may not do that, [`StoreError::LongAgo`] in a book that is
    /// shown as it was known.
    pub fn write<T, E: From<StoreError>>(
        &self,
        doing: impl Into<Doing>,
        work: impl FnOnce(&Connection) -> Result<T, E>,
    ) -> Result<T, E> {
        if self.then.is_some() {
            return Err(StoreError::LongAgo.into());
        }
        self.still_there()?;
        let Doing { deed, at, undoes } = doing.into();
        // Immediate: a transaction that reads first and writes after another's commit would fail without waiting.
        self.within(TransactionBehavior::Immediate, |conn| {
            if deed.is_a_managers() && !people::rights(conn)?.sees_costs() {
                return Err(StoreError::ForManagers { deed }.into());
            }
            let who = people::who(conn)?;
            let before = history::set_apart(conn, Deed::Foreign, at)?;
            let done = work(conn)?;
            let by = who.as_ref().map(|who| who.initials.as_str());
            history::end(conn, &history::Doer { deed, at, by, undoes }, &before)?;
            Ok(done)
        })
    }

    fn within<T, E: From<StoreError>>(
        &self,
        behaviour: TransactionBehavior,
        work: impl FnOnce(&Connection) -> Result<T, E>,
    ) -> Result<T, E> {
        let transaction = Transaction::new_unchecked(&self.conn, behaviour).doing("beginning")?;
        // Dropped without a commit, it is rolled back.
        let done = work(&transaction)?;
        transaction.commit().doing("keeping what was written")?;
        Ok(done)
    }

    /// A number that changes when another terminal has written, and not when this one has.
    ///
    /// # Errors
    /// [`StoreError::Sql`].
    pub fn data_version(&self) -> Result<i64, StoreError> {
        self.conn
            .prepare_cached("PRAGMA data_version")
            .and_then(|mut s| s.query_row([], |row| row.get(0)))
            .doing("looking for changes")
    }

    /// Where the book is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Makes a new book with something in it, under its name only once all of it is there: who is killed half-way leaves
    /// no half-made book behind.
    ///
    /// # Errors
    /// [`StoreError::Exists`], and whatever `fill` refuses with.
    pub fn make<T, E: From<StoreError>>(
        path: &Path,
        fill: impl FnOnce(&Store) -> Result<T, E>,
    ) -> Result<(Store, T), E> {
        open::is_free(path)?;
        let part = open::beside(path, ".part");
        open::remove(&part)?;
        let store = match Store::create(&part) {
            Ok(store) => store,
            Err(refused) => {
                open::remove(&part)?;
                return Err(refused.into());
            }
        };
        match fill(&store) {
            Ok(filled) => {
                if let Err(refused) = store.bring_log_in() {
                    store.discard()?;
                    return Err(refused.into());
                }
                drop(store);
                open::rename(&part, path)?;
                Ok((Store::open(path)?, filled))
            }
            Err(refused) => {
                store.discard()?;
                Err(refused)
            }
        }
    }

    /// Brings all of the log into the file. Closing the last connection does so too, but keeps silent when the disk refuses:
    /// a file that is then given another name would leave behind what still stands in its log.
    fn bring_log_in(&self) -> Result<(), StoreError> {
        let doing = "bringing the new book together";
        let busy = self.conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get::<_, bool>("busy"));
        if busy.doing(doing)? { Err(StoreError::Busy { doing }) } else { Ok(()) }
    }

    /// Closes a book that was just made and takes its file away again: what failed half-way leaves nothing behind.
    ///
    /// # Errors
    /// [`StoreError::Io`] when the file cannot be taken away.
    pub fn discard(self) -> Result<(), StoreError> {
        let Store { path, conn, .. } = self;
        drop(conn);
        open::remove(&path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How the database would go about a query in a book, one step a line.
    pub(super) fn plan(sql: &str) -> String {
        let conn = Connection::open_in_memory().unwrap();
        STEPS.iter().for_each(|step| conn.execute_batch(step).unwrap());
        let mut statement = conn.prepare(&format!("EXPLAIN QUERY PLAN {sql}")).unwrap();
        // Without values for its parameters.
        let steps = statement.raw_query().mapped(|row| row.get::<_, String>("detail"));
        steps.map(|step| step.unwrap() + "\n").collect()
    }
}
