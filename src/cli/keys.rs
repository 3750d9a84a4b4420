//! `tantalus keys`: the keys of the screens, to read or to print.

use super::Refusal;
use crate::tui::keymap;
use std::fs;
use std::path::PathBuf;

/// Show the keys of the screens
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Write the most used ones as a page to print (key-card.html) into a folder instead
    #[arg(long, value_name = "DIR")]
    into: Option<PathBuf>,
}

pub(super) fn run(args: &Args) -> Result<String, Refusal> {
    let Some(folder) = &args.into else { return Ok(keymap::plain()) };
    let path = folder.join("key-card.html");
    let kept = fs::create_dir_all(folder).and_then(|()| fs::write(&path, keymap::card()));
    kept.map_err(|error| Refusal::new(format!("{}: {}", path.display(), crate::system::words(&error))))?;
    Ok(format!("Written: {}\n", crate::tui::text::safe(&path.display().to_string())))
}
