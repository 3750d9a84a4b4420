//! `tantalus man`: the manual pages, written from the commands themselves.

use super::Refusal;
use crate::system;
use std::path::PathBuf;

/// Write the manual page to standard output, or all pages into a folder
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Write this page and one for each command into a folder; it is made when it is not there
    #[arg(long)]
    pub(super) dir: Option<PathBuf>,
}

pub(super) fn run(args: &Args) -> Result<String, Refusal> {
    let Some(dir) = &args.dir else {
        let mut out = Vec::new();
        clap_mangen::Man::new(super::command()).render(&mut out).map_err(|error| {
            Refusal::new(format!("the manual page could not be written: {}", system::words(&error)))
        })?;
        return String::from_utf8(out).map_err(|_| Refusal::new("the manual page is no text"));
    };
    let written = std::fs::create_dir_all(dir).and_then(|()| clap_mangen::generate_to(super::command(), dir));
    written.map(|()| String::new()).map_err(|error| {
        Refusal::new(format!("the manual pages could not be written into {}: {}", dir.display(), system::words(&error)))
            .hint("check the folder and the room on the disk")
    })
}
