//! Opening the screens.

use super::{Refusal, Shared};
use crate::app::{self, Options};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::signing::signer;
use crate::desk::{comparing, presence};
use std::env;
use std::path::PathBuf;

/// Where orders and pages to print are written unless it is said otherwise: beside the book, so that the files of one bar
/// stand in one place, wherever the program was started from.
pub(super) fn papers(store: &Store) -> PathBuf {
    store.path().parent().map(|folder| folder.join("orders")).unwrap_or_default()
}

/// Opens the screens on a book; returns what is left to print when they are closed.
pub(super) fn screens(store: Store, shared: &Shared) -> Result<String, Refusal> {
    open(store, shared, None)
}

/// Opens the screens with something said on the first of them.
pub(super) fn open(store: Store, shared: &Shared, greeting: Option<String>) -> Result<String, Refusal> {
    let set = |name: &str| env::var_os(name).is_some_and(|value| !value.is_empty());
    let orders = papers(&store);
    let by = signer(&store, shared.signer().as_deref(), clock::now())?;
    // For as long as the screens are open, so that nobody puts another book in the place of this one.
    let _here = presence::enter(&store, &comparing::setup(&store)?.venue.days, by.as_deref(), clock::now())?;
    let options = Options { by, orders, no_color: set("NO_COLOR"), ascii: set("TANTALUS_ASCII"), greeting };
    app::run(store, options)?;
    Ok(String::new())
}
