//! What every command is given: which book, and who signs.

use super::Refusal;
use crate::desk::book::{self, Store};
use std::env;
use std::path::PathBuf;

/// Options that stand before or after any command.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Shared {
    /// The book to use instead of TANTALUS_BOOK or the usual one
    #[arg(long, global = true, value_name = "FILE", display_order = 100)]
    pub book: Option<PathBuf>,
    /// Who signs what is entered on the screens, instead of TANTALUS_BY
    #[arg(long, global = true, value_name = "INITIALS", display_order = 101)]
    pub by: Option<String>,
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

    /// Opens the book.
    ///
    /// # Errors
    /// [`Refusal`]: there is none, or it cannot be used.
    pub fn open(&self) -> Result<Store, Refusal> {
        Ok(book::open(&self.path()?)?)
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
