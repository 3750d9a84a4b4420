//! `tantalus demo`: an invented bar to try things on.

use super::{Refusal, Shared, screens, shared};
use crate::clock;
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
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = demo::open(&book(shared)?, args.fresh, clock::started())?;
    let greeting = "An invented bar with troubles to find. What you do here is kept";
    screens::open(store, shared, Some(greeting.to_owned()))
}

fn book(shared: &Shared) -> Result<PathBuf, Refusal> {
    shared.book.clone().map_or_else(|| shared::usual("demo.tantalus"), Ok)
}
