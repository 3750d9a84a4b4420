//! Opening the screens.

use super::{Refusal, Shared};
use crate::app::{self, Options};
use crate::clock;
use crate::desk::book::{self, Store};
use crate::desk::signing::signer;
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
    // A book that is shown as it was known takes nobody in.
    let by = match store.known_then() {
        Some(_) => shared.signer(),
        None => signer(&store, shared.signer().as_deref(), clock::started())?,
    };
    // In a book that knew nobody, whoever signs first is taken in only now.
    if book::who(&store)?.is_none() {
        shared.sign_in(&store)?;
    }
    let options = Options { by, orders, no_color: set("NO_COLOR"), ascii: set("TANTALUS_ASCII"), greeting };
    app::run(store, options)?;
    Ok(String::new())
}
