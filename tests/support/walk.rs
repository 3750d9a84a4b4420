//! Counting on the real screens in a pseudo-terminal: what was shown as kept, and what the book has of it.

#![allow(dead_code, clippy::unwrap_used)]

use super::pty::{Session, on_book};
use std::path::Path;
use std::time::Duration;
use tantalus::desk;
use tantalus::domain::ledger::CountLine;
use tantalus::store::{Store, counts};

/// The screens on a book at a moment.
pub(crate) fn start(book: &Path, now: &str) -> Session {
    let mut command = on_book(book, now);
    command.env("NO_COLOR", "1");
    let mut session = Session::start(command, 120, 40);
    session.until_text("help");
    session
}

/// Begins the count of the whole bar, or goes on with the one that is not closed, of which so many lines are done. Waits
/// for the sheet: keys that come before it are of no line, and a test that kills then would kill nothing.
pub(crate) fn count(session: &mut Session, done: Option<usize>) {
    session.press_until("C", if done.is_some() { "is not closed" } else { "Choose what to walk" });
    // Of the sheet itself: the screen before says as well how many of something are done.
    session.press("\r");
    let begins = format!("  {} of ", done.unwrap_or(0));
    session.until("the sheet", |screen| {
        let shown = screen.contents();
        shown.contains(&begins) && [" lines  typed, ", " lines  one key, "].iter().any(|how| shown.contains(how))
    });
}

/// The rows of the sheet that carry the mark of a kept line: item and entry, as painted. Where something is being typed,
/// the row shows that instead.
pub(crate) fn marked(screen: &str, typing: Option<usize>) -> Vec<(String, String)> {
    let rows = screen.lines().enumerate().filter(|(at, _)| Some(*at) != typing).map(|(_, row)| row);
    let marked = rows.filter_map(|row| row.strip_prefix("✓ ").or_else(|| row.strip_prefix("= ")));
    let cells = marked.map(|row| {
        // The name is cut at its column's width; the entry is the first word after two blanks.
        let (name, rest) = row.split_once("  ").unwrap_or((row, ""));
        (name.trim_end_matches('…').to_owned(), rest.split_whitespace().next().unwrap_or_default().to_owned())
    });
    cells.collect()
}

/// How many lines the screen says are done.
pub(crate) fn done(screen: &str) -> usize {
    let line = screen.lines().nth(2).unwrap_or_default();
    let before = line.split(" of ").next().unwrap_or_default();
    before.rsplit(' ').next().and_then(|n| n.parse().ok()).unwrap_or(0)
}

/// Kills it, and takes in everything that it had painted before.
pub(crate) fn killed(session: &mut Session) -> String {
    session.slay();
    session.drain(Duration::from_secs(5));
    session.drop_half_frame();
    session.shown()
}

/// The lines of the count that is open, item and entry: of a book that opens and is sound.
pub(crate) fn in_book(book: &Path) -> Result<Vec<(String, String)>, String> {
    let store = Store::open(book).map_err(|refused| format!("the book does not open: {refused}"))?;
    let findings = desk::check::check(&store).map_err(|refused| refused.to_string())?;
    if !findings.is_empty() {
        return Err(format!("the book is not sound: {findings:?}"));
    }
    let setup = desk::comparing::setup(&store).map_err(|refused| refused.to_string())?;
    let lines: Vec<CountLine> = store
        .read(|conn| match counts::open_count(conn)? {
            Some(open) => counts::lines(conn, open.id),
            None => Ok(Vec::new()),
        })
        .map_err(|refused| refused.to_string())?;
    Ok(lines.iter().map(|l| (setup.item_name(l.item).to_owned(), l.entry.to_string())).collect())
}

/// Whether everything that a screen shows as kept is among what is kept.
pub(crate) fn holds(screen: &str, typing: Option<usize>, kept: &[(String, String)]) -> Result<(), String> {
    if kept.len() < done(screen) {
        return Err(format!("{} lines are in the book, and more were shown as done\n{screen}", kept.len()));
    }
    for (name, entry) in marked(screen, typing) {
        if !kept.iter().any(|(item, kept)| item.starts_with(&name) && *kept == entry) {
            return Err(format!("“{name} {entry}” was shown as kept and is not in the book\n{screen}"));
        }
    }
    Ok(())
}
