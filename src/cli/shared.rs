//! What every command is given: which book, and who signs.

use super::{Refusal, pin};
use crate::clock;
use crate::desk::book::{self, Store};
use crate::desk::people::{self, SignedIn};
use crate::desk::{comparing, history};
use crate::domain::venue::{Moment, name_key, parse_day};
use std::env;
use std::path::PathBuf;

/// What lets somebody see what a counter does not.
pub(super) const SIGN_IN: &str = "sign in with --by and the PIN of a manager";

/// Options that stand before or after any command.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Shared {
    /// The book to use instead of TANTALUS_BOOK or the usual one
    #[arg(long, global = true, value_name = "FILE", display_order = 100)]
    pub book: Option<PathBuf>,
    /// Who signs what is entered, instead of TANTALUS_BY; a PIN is asked for, or said in TANTALUS_PIN
    #[arg(long, global = true, value_name = "INITIALS", display_order = 101)]
    pub by: Option<String>,
    /// Show the book as it was known at a time, such as "2026-11-16 03:40" or "sun 03:40"; a day is taken to its end
    #[arg(long, global = true, value_name = "TIME", display_order = 102)]
    pub as_known: Option<String>,
}

impl Shared {
    /// Where the book is: as said here, in the environment, or where the platform keeps data.
    ///
    /// # Errors
    /// [`Refusal`] when nothing was said and the platform names no folder.
    pub fn path(&self) -> Result<PathBuf, Refusal> {
        let named = self.book.clone().or_else(|| env::var_os("TANTALUS_BOOK").map(PathBuf::from));
        match named.filter(|path| !path.as_os_str().is_empty()) {
            Some(path) => Ok(path),
            None => usual("book.tantalus"),
        }
    }

    /// Opens the book as whoever signs, as it is or as it was known.
    ///
    /// # Errors
    /// [`Refusal`]: there is none, it cannot be used, or the PIN is wrong.
    pub fn open(&self) -> Result<Store, Refusal> {
        let store = book::open(&self.path()?)?;
        self.sign_in(&store)?;
        self.then(store)
    }

    /// The same for what tells costs, which only a manager sees where the book knows one.
    ///
    /// # Errors
    /// As [`Shared::open`], and when whoever signs may not see them.
    pub fn open_costs(&self) -> Result<Store, Refusal> {
        let store = self.open()?;
        if people::rights(&store)?.sees_costs() {
            return Ok(store);
        }
        Err(Refusal::new("this tells costs or prices, which only a manager sees").hint(SIGN_IN))
    }

    /// The same for what tells what should be on hand, which nobody else sees while a blind count goes on; in a form for
    /// programs it tells costs as well.
    ///
    /// # Errors
    /// As [`Shared::open_costs`].
    pub fn open_stock(&self, json: bool) -> Result<Store, Refusal> {
        if json {
            return self.open_costs();
        }
        let store = self.open()?;
        if people::rights(&store)?.sees_stock() {
            return Ok(store);
        }
        let why = "a blind count is going on, and this tells what should be on hand";
        Err(Refusal::new(why).hint(SIGN_IN))
    }

    /// Signs in whoever is said to. Initials that the book does not know are refused only once they sign something, unless
    /// it knows nobody: then they are the first.
    ///
    /// # Errors
    /// [`Refusal`] when the PIN is wrong.
    pub fn sign_in(&self, store: &Store) -> Result<(), Refusal> {
        let Some(by) = self.signer() else { return Ok(()) };
        let known = people::list(store)?;
        let known = known.is_empty() || known.iter().any(|row| name_key(&row.person.initials) == name_key(&by));
        if known && people::sign_in(store, &by, None, clock::started())? == SignedIn::WantsPin {
            let pin = pin::of(&by)?.ok_or_else(|| {
                Refusal::new(format!("{by} signs with a PIN, and none was given"))
                    .hint("run it in a terminal, which asks for it, or say it in TANTALUS_PIN")
            })?;
            people::sign_in(store, &by, Some(&pin), clock::started())?;
        }
        Ok(())
    }

    /// The book as it was known, where a time was said.
    fn then(&self, store: Store) -> Result<Store, Refusal> {
        let Some(said) = &self.as_known else { return Ok(store) };
        let days = comparing::setup(&store)?.venue.days;
        let now = clock::started();
        let at = match parse_day(said) {
            Ok(day) => day
                .succ_opt()
                .map(|next| Moment(days.begins(next).0 - 1))
                .ok_or_else(|| Refusal::new("that day is too far off"))?,
            Err(_) => days.said_past(said, now).map_err(|why| Refusal::new(format!("--as-known {said}: {why}")))?,
        };
        Ok(history::known_at(&store, at)?)
    }

    /// Refuses what puts something in the place of the book, or copies it, where the book is to be shown as it was known.
    ///
    /// # Errors
    /// [`Refusal`].
    pub fn as_it_is(&self) -> Result<(), Refusal> {
        match self.as_known {
            Some(_) => Err(Refusal::new("with --as-known nothing can be changed, and nothing is copied")
                .hint("leave --as-known out")),
            None => Ok(()),
        }
    }

    /// Who signs, if anybody said.
    pub fn signer(&self) -> Option<String> {
        let said = self.by.clone().or_else(|| env::var("TANTALUS_BY").ok())?;
        let said = said.trim();
        (!said.is_empty()).then(|| said.to_owned())
    }
}

/// A file in the folder where the platform keeps data of this program.
///
/// # Errors
/// [`Refusal`] when the platform names no such folder.
pub(super) fn usual(file: &str) -> Result<PathBuf, Refusal> {
    let folders = directories::ProjectDirs::from("", "", "tantalus");
    folders.map(|f| f.data_dir().join(file)).ok_or_else(|| {
        Refusal::new("this system names no folder for the data of programs").hint("name the book with --book FILE")
    })
}
