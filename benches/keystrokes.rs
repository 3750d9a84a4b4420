//! How long six tasks of a bar take somebody who knows the keys, by the Keystroke-Level Model of Card, Moran and Newell (“The
//! keystroke-level model for user performance time with interactive systems”, Communications of the ACM 23(7), 1980): 0.20 s for
//! a key of an average skilled typist, 1.35 s for each time one has to think what comes next, 0.40 s for a hand that goes to the
//! mouse and back. The keys are pressed on the real screens of the demo bar, and each task must have done what it is to do.
//!
//! Where one thinks is set by the rules of that paper: before each step that is chosen and before what is read off a bottle or a
//! delivery note, not between the keys of a word or figure, nor before the key that ends one.
//!
//! `cargo bench --bench keystrokes` prints the table, `UPDATE_DOCS=1` writes it into `docs/keystrokes.md` as well; see
//! benches/README.md.

#[path = "../tests/support/demo.rs"]
mod demo;
#[path = "../tests/support/entries.rs"]
mod entries;
#[path = "../tests/support/pages.rs"]
mod pages;

use entries::{keys_for, shortest};
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use std::path::{Path, PathBuf};
use tantalus::app::{App, Options};
use tantalus::desk;
use tantalus::domain::gauge::Entry;
use tantalus::domain::rows::{EntryMode, SheetLine};
use tantalus::domain::venue::{CountBy, OrderState};
use tantalus::store::Store;
use tantalus::tui::keymap::Scope;

/// Seconds of a key, of a thought (Card, Moran and Newell 1980, figure 1).
const KEY: f64 = 0.20;
const THOUGHT: f64 = 1.35;

/// Somebody at the screens, and what it took.
struct Doing {
    app: App,
    store: PathBuf,
    keys: usize,
    thoughts: usize,
}

impl Doing {
    fn at(book: &Path, name: &str) -> Doing {
        let own = book.with_file_name(format!("{name}.tantalus"));
        std::fs::copy(book, &own).expect("a copy of the book");
        let orders = book.with_file_name("orders");
        let options = Options { by: Some("OM".to_owned()), orders, ..Options::default() };
        let app = App::new(Store::open(&own).expect("the book"), options, demo::now()).expect("the screens");
        Doing { app, store: own, keys: 0, thoughts: 0 }
    }

    /// One thought, and the keys that it leads to; a line break is Enter, a bar the letter with Ctrl behind it.
    fn then(&mut self, keys: &str) {
        self.thoughts += 1;
        self.press(keys);
    }

    fn press(&mut self, keys: &str) {
        let mut keys = keys.chars();
        while let Some(key) = keys.next() {
            let event = match key {
                '\n' => KeyEvent::new(KeyCode::Enter, KeyModifiers::NONE),
                '|' => KeyEvent::new(KeyCode::Char(keys.next().expect("a letter")), KeyModifiers::CONTROL),
                key => KeyEvent::new(KeyCode::Char(key), KeyModifiers::NONE),
            };
            self.app.key(event, demo::now());
            self.keys += 1;
            self.app.idle(demo::now());
        }
    }

    fn book(&self) -> Store {
        Store::open(&self.store).expect("the book")
    }

    fn told(&self, task: &str) -> String {
        let (keys, thoughts) = (self.keys as f64, self.thoughts as f64);
        format!("| {task} | {keys} | {thoughts} | {:.0} s |\n", keys * KEY + thoughts * THOUGHT)
    }
}

/// The first 180 lines of the walk, each entered as it should stand there.
fn count(book: &Path) -> String {
    let mut doing = Doing::at(book, "count");
    doing.then("C");
    doing.then("\n");
    let sheet = doing.app.sheet().expect("the count is open").clone();
    let mut left = 180;
    for place in &sheet.places {
        let lines: Vec<usize> =
            (0..sheet.lines.len()).filter(|n| sheet.lines[*n].place == place.place).take(left).collect();
        let entries: Vec<(Entry, CountBy)> = lines
            .iter()
            .map(|n| (sheet.expected_entry(*n).unwrap_or_default(), sheet.item(*n).expect("an item").count_by))
            .collect();
        let mode = shortest(&entries, place.mode, place.digit);
        if mode != place.mode {
            doing.then("m");
        }
        for (entry, by) in &entries {
            doing.then(&keys_for(entry, mode, place.digit, *by));
        }
        left -= lines.len();
        if left == 0 {
            break;
        }
        doing.then("d");
    }
    let entered = |line: &&SheetLine| line.entered.is_some();
    assert_eq!(doing.app.sheet().expect("the count").lines.iter().filter(entered).count(), 180);
    doing.told("counting 180 items")
}

/// One item is found on the sheet and entered anew.
fn correct(book: &Path) -> String {
    let mut doing = Doing::at(book, "correct");
    doing.press("C\n1");
    (doing.keys, doing.thoughts) = (0, 0);
    let item = doing.app.sheet().expect("the count").lines[3].item;
    let name = desk::book::setup(&doing.book()).expect("the set-up").item_name(item).to_lowercase();
    let letters: String = name.chars().take(6).collect();
    doing.then(&format!("/{letters}\n"));
    let typed = doing.app.sheet().expect("the count").place(doing.app.sheet().expect("the count").lines[3].place);
    let entry = match typed.map(|place| place.mode) {
        Some(EntryMode::OneKey) => "6",
        _ => "0.6\n",
    };
    doing.then(entry);
    let line = &doing.app.sheet().expect("the count").lines[3];
    assert_eq!(line.entered.as_ref().map(|e| e.entry.to_string()).as_deref(), Some(".6"));
    doing.told("finding one item and correcting it")
}

/// Somebody knocked a bottle over.
fn breakage(book: &Path) -> String {
    let mut doing = Doing::at(book, "breakage");
    doing.then("La");
    doing.then("ostelb\n");
    doing.then("60 ml\n");
    doing.then("b");
    // The place is that of its one shelf, the hand that of whoever is signed in.
    doing.then("|s");
    let losses = desk::losing::recent(&doing.book(), 1).expect("the losses");
    assert!(losses.iter().any(|row| row.amount.0 == 60_000), "it is written down");
    doing.told("recording a breakage")
}

/// A delivery of twelve lines comes: ten as ordered, one short, one not at all.
fn delivery(book: &Path) -> String {
    let mut doing = Doing::at(book, "delivery");
    // An order of twelve lines is on its way.
    doing.press("O");
    let orders = |doing: &Doing| desk::ordering::orders(&doing.book(), demo::now()).expect("the orders").drafts;
    let many = |doing: &Doing| {
        orders(doing).iter().map(|d| d.draft.lines.iter().filter(|l| l.packs > 0).count()).collect::<Vec<_>>()
    };
    let at = many(&doing).iter().position(|lines| *lines >= 12).expect("a draft of twelve lines");
    doing.press(&"n".repeat(at));
    for _ in 12..many(&doing)[at] {
        doing.press("0");
    }
    doing.press("x\n");
    (doing.keys, doing.thoughts) = (0, 0);
    doing.then("R");
    for line in 0..12 {
        doing.then(match line {
            3 => "0\n",
            7 => "1\n",
            _ => "y",
        });
    }
    doing.then("x");
    doing.then("\n");
    doing.press("\n");
    let receivable = desk::ordering::orders(&doing.book(), demo::now()).expect("the orders");
    assert!(receivable.sent.len() <= 1, "what did not come is the only thing still on its way");
    doing.told("booking a delivery of 12 lines with two differences")
}

/// The first draft is looked through, written and marked as sent.
fn order(book: &Path) -> String {
    let mut doing = Doing::at(book, "order");
    doing.then("O");
    // Its lines are looked at one by one.
    let lines = desk::ordering::orders(&doing.book(), demo::now()).expect("the orders").drafts[0].draft.lines.len();
    doing.thoughts += lines;
    doing.then("w");
    doing.then("x");
    doing.press("\n");
    let sent = desk::ordering::orders(&doing.book(), demo::now()).expect("the orders").sent;
    assert!(sent.iter().any(|order| order.state == OrderState::Sent));
    assert!(
        std::fs::read_dir(book.with_file_name("orders")).expect("the folder of orders").count() > 0,
        "it is written"
    );
    doing.told(&format!("building and sending an order of {lines} lines"))
}

/// The first line of the variance: what made it.
fn why(book: &Path) -> String {
    let mut doing = Doing::at(book, "why");
    doing.then("V");
    doing.then("\n");
    // What stands there is read: the cause, and what speaks for it.
    doing.thoughts += 2;
    assert_eq!(doing.app.scope(), Scope::VarianceDetail, "its page is open");
    doing.told("finding why an item is short")
}

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let book = demo::book(folder.path());
    let mut table = "| task | keys | thoughts | time |\n| --- | --- | --- | --- |\n".to_owned();
    for task in [count, correct, breakage, delivery, order, why] {
        table.push_str(&task(&book));
    }
    print!("{table}");
    if std::env::var_os("UPDATE_DOCS").is_some() {
        pages::put("docs/keystrokes.md", "keystrokes", &table);
    }
}
