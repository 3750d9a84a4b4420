//! How many keys a walk along the whole demo bar takes, driven through the real screens: at most 2.2 a line, opened and
//! sealed together, and every line right.
//!
//! The walk enters what should stand in each line as it is expected, in the way that the screen offers for the place:
//! one key where every bottle is the one open bottle, typed elsewhere, and `m` where it pays to change.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/entries.rs"]
mod entries;

use entries::{keys_for, shortest};
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use tantalus::app::{App, Options};
use tantalus::domain::gauge::{Entry, Reading, Sight, Step};
use tantalus::domain::rows::{Digit, EntryMode};
use tantalus::domain::venue::CountBy;
use tantalus::store::Store;

struct Walk {
    app: App,
    keys: usize,
}

impl Walk {
    fn press(&mut self, keys: &str) {
        for key in keys.chars() {
            let code = if key == '\n' { KeyCode::Enter } else { KeyCode::Char(key) };
            self.app.key(KeyEvent::new(code, KeyModifiers::NONE), demo::now());
            self.keys += 1;
            // A person's pace: the pause that tells fingers from a scanner passes between two keys.
            self.app.idle(demo::now());
        }
    }
}

/// The keys for an entry where a tenth ends it by itself.
fn keys_without_enter(entry: &Entry) -> String {
    match &entry.open[..] {
        [Reading::Sight(Sight { step: Step::Tenth, .. })] if entry.full < 100 => entry.to_string(),
        [] => format!("{entry}\n"),
        _ => format!(" {entry}\n"),
    }
}

/// Types a sheet of the whole bar in and closes it; the lines, the keys, and those of the entries alone.
fn typed_in(begin: &str, keys: impl Fn(&Entry) -> String) -> (usize, usize, usize) {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&demo::book(folder.path())).unwrap();
    let app = App::new(store, Options { by: Some("OM".to_owned()), ..Options::default() }, demo::now()).unwrap();
    let mut walk = Walk { app, keys: 0 };
    walk.press("Cf01:30\n\n\n");
    walk.press(begin);
    let sheet = walk.app.sheet().expect("the sheet is open").clone();
    let written = |at: usize| sheet.expected_entry(at).unwrap_or_default();
    for at in 0..sheet.lines.len() {
        assert_eq!(sheet.number(at), Some(at + 1));
        walk.press(&keys(&written(at)));
    }
    walk.press("x");
    let after = walk.app.sheet().expect("the sheet is open").clone();
    for at in 0..sheet.lines.len() {
        let entered = after.lines[at].entered.as_ref().expect("an entry");
        let signed = (&entered.entry, entered.at, entered.by.as_deref());
        assert_eq!(signed, (&written(at), demo::now(), Some("OM")), "line {}", at + 1);
    }
    walk.press("\n");
    assert!(walk.app.sheet().is_none(), "it is closed");
    let lines = sheet.lines.len();
    (lines, walk.keys, (0..lines).map(|at| keys(&written(at)).len()).sum())
}

/// A sheet that was filled in by hand takes no key but those of its entries, and fourteen that begin and end it.
#[test]
fn a_filled_sheet_of_the_whole_bar() {
    for (how, begin, keys) in [
        ("Enter behind each", "", (|entry| format!("{entry}\n")) as fn(&Entry) -> String),
        ("tenths without it", "m", keys_without_enter),
    ] {
        let (lines, keys, entries) = typed_in(begin, keys);
        println!("from paper   {lines} lines {keys} keys  {:.2} a line, {how}", keys as f64 / lines as f64);
        assert!(keys <= entries + 14, "{keys} keys for {lines} lines; the entries alone are {entries}");
        assert!(begin.is_empty() || keys * 10 <= lines * 24, "{keys} keys for {lines} lines");
    }
}

#[test]
fn a_walk_along_the_whole_bar() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&demo::book(folder.path())).unwrap();
    let app = App::new(store, Options::default(), demo::now()).unwrap();
    let mut walk = Walk { app, keys: 0 };
    walk.press("C\n");
    let sheet = walk.app.sheet().expect("the count is open").clone();
    let mut told = Vec::new();
    let mut wanted = Vec::new();
    for place in &sheet.places {
        let lines: Vec<usize> = (0..sheet.lines.len()).filter(|n| sheet.lines[*n].place == place.place).collect();
        let entries: Vec<(Entry, CountBy)> = lines
            .iter()
            .map(|n| (sheet.expected_entry(*n).unwrap_or_default(), sheet.item(*n).unwrap().count_by))
            .collect();
        let before = walk.keys;
        let mode = shortest(&entries, place.mode, place.digit);
        if mode != place.mode {
            walk.press("m");
        }
        for (entry, count_by) in &entries {
            walk.press(&keys_for(entry, mode, place.digit, *count_by));
        }
        walk.press("d");
        told.push((sheet.setup.place_name(place.place).to_owned(), mode, lines.len(), walk.keys - before));
        wanted.extend(lines.into_iter().zip(entries));
    }
    let after = walk.app.sheet().expect("the count is open");
    for (n, (entry, _)) in &wanted {
        let entered = after.lines[*n].entered.as_ref();
        assert_eq!(entered.map(|e| &e.entry), Some(entry), "{}", sheet.setup.item_name(sheet.lines[*n].item));
    }
    assert!(after.places.iter().all(|p| p.closed));
    for (place, mode, lines, keys) in &told {
        println!("{place:<12} {mode:<8} {lines:>4} lines {keys:>4} keys  {:.2} a line", *keys as f64 / *lines as f64);
    }
    let (lines, keys) = (sheet.lines.len(), told.iter().map(|t| t.3).sum::<usize>());
    let typed: usize = wanted.iter().map(|(_, (e, by))| keys_for(e, EntryMode::Typed, Digit::Tenths, *by).len()).sum();
    println!("in all       {lines} lines {keys} keys  {:.2} a line", keys as f64 / lines as f64);
    println!("all typed    {lines} lines {typed} keys  {:.2} a line", typed as f64 / lines as f64);
    assert!(keys * 10 <= lines * 22, "{keys} keys for {lines} lines");
}
