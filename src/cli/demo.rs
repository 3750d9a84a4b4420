//! `tantalus demo`: an invented bar to try things on.

use super::{Refusal, Shared, screens, shared};
use crate::clock;
use crate::desk::book::is_there;
use crate::desk::demo;
use std::path::PathBuf;

/// Open the screens on an invented bar
///
/// Its book is its own: --book names another file for it, and TANTALUS_BOOK is not looked at, so that the bar's real
/// book is never taken for it.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Begin anew: what was tried before is thrown away
    #[arg(long)]
    pub(super) fresh: bool,
    /// Look around once more, as when it was opened first
    #[arg(long)]
    pub(super) tour: bool,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let path = book(shared)?;
    let tour = args.fresh || args.tour || !is_there(&path);
    let store = demo::open(&path, args.fresh, clock::started())?;
    let greeting = text!("An invented bar with troubles to find. What you do here is kept; demo --tour looks around");
    screens::open(store, shared, Some(greeting), tour)
}

fn book(shared: &Shared) -> Result<PathBuf, Refusal> {
    shared.book.clone().map_or_else(|| shared::usual("demo.tantalus"), Ok)
}
