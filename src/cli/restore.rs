//! `tantalus restore`: a copy in the place of the book.

use super::backup::HoldsForm;
use super::json::{self, FORM};
use super::page::Page;
use super::shared::SIGN_IN;
use super::{Refusal, Shared, pin};
use crate::clock;
use crate::desk::copying::{self, Before, Restored};
use crate::desk::{DeskError, people};
use serde::Serialize;
use std::path::Path;

/// Put a copy in the place of the book
///
/// The copy is gone through first, and the book that stands there is kept as a copy of its own before anything is
/// changed: nothing is thrown away, and the same command goes back again. It works also where the book is damaged or gone.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    tantalus backup --list\n  \
    tantalus restore 2\n  \
    tantalus restore \"/media/stick/book.tantalus.copies/2026-11-22T0312 after closing.tantalus\"")]
pub(super) struct Args {
    /// The copy: a number of `tantalus backup --list`, or the path of a file (./3 for a file called 3)
    copy: String,
    /// Go on though what stands there can neither be read nor be kept; a book that can be read is always kept
    #[arg(long)]
    even_without_copy: bool,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// What was done, as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    book: String,
    from: String,
    holds: HoldsForm,
    before: &'static str,
    kept: Option<String>,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    shared.as_it_is()?;
    let book = shared.path()?;
    let from = copying::meant(&book, &args.copy)?;
    let who = managed(shared, &book)?;
    let restored = match copying::restore(&book, &from, args.even_without_copy, who.as_deref(), clock::started()) {
        Ok(restored) => restored,
        Err(refused) => return Err(refusal(refused)),
    };
    let Restored { holds, before } = &restored;
    let (word, kept) = match before {
        Before::Nothing => ("nothing", None),
        Before::Book(kept) => ("book", Some(kept)),
        Before::Unreadable(kept) => ("unreadable", Some(kept)),
        Before::Lost => ("lost", None),
    };
    if args.json {
        return json::text(&Form {
            form: FORM,
            book: book.display().to_string(),
            from: from.display().to_string(),
            holds: HoldsForm::of(holds),
            before: word,
            kept: kept.map(|kept| kept.display().to_string()),
        });
    }
    Ok(told(&book, &from, &restored))
}

/// Who puts the copy in the place of the book: a manager, where the book that stands there knows one. One that does not open
/// has nobody to ask.
fn managed(shared: &Shared, book: &Path) -> Result<Option<String>, Refusal> {
    let by = shared.signer();
    if people::may_replace(book, by.as_deref(), None) {
        return Ok(by);
    }
    let pin = by.as_deref().map(pin::of).transpose()?.flatten();
    if people::may_replace(book, by.as_deref(), pin.as_deref()) {
        return Ok(by);
    }
    Err(Refusal::new("only a manager puts a copy in the place of the book").hint(SIGN_IN))
}

fn told(book: &Path, from: &Path, restored: &Restored) -> String {
    let mut page = Page::new();
    page.line(format!("{} is again as it was in", book.display()));
    page.line(format!("  {}", from.display()));
    page.line(format!("It knows: {}.", restored.holds.words()));
    page.line("What was entered after that is not in it.");
    match &restored.before {
        Before::Nothing => page.line("No book stood there before."),
        Before::Book(kept) => {
            page.line("The book that stood there is kept, and `tantalus restore` takes it back, as");
            page.line(format!("  {}", kept.display()));
        }
        Before::Unreadable(kept) => {
            page.line("What stood there could not be read; it is kept as it was, as");
            page.line(format!("  {}", kept.display()));
        }
        Before::Lost => page.line("! What stood there could neither be read nor be kept, and is gone."),
    }
    page.finish()
}

/// Why not, with what to do about it.
fn refusal(refused: DeskError) -> Refusal {
    let by = copying::in_use_by(&refused);
    let no_copy = copying::no_room(&refused);
    let unchanged = matches!(refused, DeskError::Store(_));
    let mut refusal = Refusal::from(refused);
    if unchanged {
        refusal = refusal.and("nothing was changed: the book is as it was");
    }
    match by {
        Some(by) => by.into_iter().fold(refusal, |refusal, who| refusal.and(format!("open: {who}"))),
        None if no_copy => refusal.hint(
            "a book is never replaced without a copy of it; make room there. Where the book cannot even be read, \
             --even-without-copy goes on all the same",
        ),
        None => refusal,
    }
}
