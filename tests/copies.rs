//! Copies of the book by what an owner does: closing counts, backing up, losing the book, restoring a copy; disks that are
//! full or gone, terminals that are open, and kills at every step.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::LazyLock;
use tantalus::desk::copying::{self, Before};
use tantalus::desk::{check, comparing, counting};
use tantalus::domain::copies::Why;
use tantalus::domain::gauge::Entry;
use tantalus::domain::ledger::CountLine;
use tantalus::domain::venue::Moment;
use tantalus::store::restore::{Step, restore};
use tantalus::store::{Connection, Store, StoreError, copies, present, setup};
use tempfile::TempDir;

struct Bar {
    home: TempDir,
}

impl Bar {
    fn new() -> Bar {
        // Made once, since it takes long.
        static DEMO: LazyLock<TempDir> = LazyLock::new(|| {
            let home = tempfile::tempdir().unwrap();
            demo::book(home.path());
            home
        });
        let bar = Bar { home: tempfile::tempdir().unwrap() };
        fs::copy(DEMO.path().join("demo.tantalus"), bar.book()).unwrap();
        bar
    }

    /// Another bar, whose book has the same name.
    fn other() -> Bar {
        let bar = Bar { home: tempfile::tempdir().unwrap() };
        demo::book(bar.home.path());
        bar
    }

    fn book(&self) -> PathBuf {
        self.home.path().join("demo.tantalus")
    }

    fn path(&self, name: &str) -> PathBuf {
        self.home.path().join(name)
    }

    fn copies(&self) -> PathBuf {
        self.path("demo.tantalus.copies")
    }

    fn store(&self) -> Store {
        Store::open(&self.book()).unwrap()
    }

    fn command(&self, args: &[&str]) -> Command {
        command(&self.book(), args)
    }

    fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }

    /// What a command says that must succeed.
    fn says(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    fn json(&self, args: &[&str]) -> Value {
        serde_json::from_str(&self.says(args)).unwrap()
    }

    /// Why a command is refused.
    fn refused(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert_eq!(output.status.code(), Some(1), "{args:?}: {}", String::from_utf8_lossy(&output.stdout));
        String::from_utf8(output.stderr).unwrap()
    }

    /// Names a second folder for copies.
    fn second(&self, folder: &Path) {
        let plain = self.path("setting");
        fs::create_dir_all(&plain).unwrap();
        fs::write(plain.join("venue.csv"), format!("key,value\ncopies_to,{}\n", folder.display())).unwrap();
        self.says(&["load", plain.to_str().unwrap()]);
    }

    /// Adds a place, so that one book is told from another.
    fn mark(&self, name: &str) {
        add_place(&Connection::open(self.book()).unwrap(), name);
    }
}

fn add_place(conn: &Connection, name: &str) {
    let sql = "INSERT INTO place (name, name_key, walk) VALUES (?1, lower(?1), 99)";
    conn.execute(sql, [name]).unwrap();
}

fn command(book: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    command.arg("--book").arg(book).args(args);
    command.env("TANTALUS_NOW", demo::NOW).env_remove("TANTALUS_BY").env_remove("TANTALUS_BOOK");
    command
}

/// Whether a sound book has a place of this name.
fn has(book: &Path, place: &str) -> bool {
    let store = Store::open(book).unwrap();
    assert_eq!(check::check(&store).unwrap(), []);
    store.read(setup::load).unwrap().places.iter().any(|p| p.name == place)
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Some minutes after the evening's beginning.
fn later(minutes: i64) -> Moment {
    Moment(demo::now().0 + minutes * 60_000)
}

/// Counts one line of the first place and closes the count.
fn close_a_count(store: &Store, at: Moment) {
    let setup = comparing::setup(store).unwrap();
    let spot = &setup.shelves[0];
    let id = counting::begin(store, &[spot.place], false, None, at).unwrap();
    let sheet = counting::sheet(store, id, at).unwrap();
    let entry = Entry::parse("1").unwrap();
    let method = entry.method(setup.item(spot.item).unwrap().count_by);
    let line = CountLine { count: id, place: spot.place, item: spot.item, at, entry, method, by: None };
    counting::save_line(store, &sheet, &line, None).unwrap();
    counting::close(store, id, at).unwrap();
}

// What is made.

#[test]
fn a_backup_lies_beside_the_book_and_opens() {
    let bar = Bar::new();
    let said = bar.says(&["backup"]);
    assert!(said.contains("demo.tantalus.copies/2026-11-23T0130 by hand.tantalus"), "{said}");
    assert!(said.contains("gone through: count “2026-11-21 rail”, sales until Mon 23 Nov 01:02"), "{said}");
    assert_eq!(names(&bar.copies()), ["2026-11-23T0130 by hand.tantalus"]);
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    assert_eq!(
        bar.store().read(setup::load).unwrap().items,
        Store::open(&copy).unwrap().read(setup::load).unwrap().items
    );
    // A second one in the same minute has a name of its own.
    let form = bar.json(&["backup", "--json"]);
    let written = form["written"][0].as_str().unwrap();
    assert!(written.ends_with("2026-11-23T0130 by hand 2.tantalus"), "{written}");
    assert_eq!((&form["trouble"], &form["holds"]["bar"]), (&Value::Null, &Value::from("The Ninth Lantern")));
}

#[cfg(unix)]
#[test]
fn a_copy_is_its_owners_alone_and_one_file() {
    use std::os::unix::fs::PermissionsExt;
    let bar = Bar::new();
    bar.says(&["backup"]);
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    assert_eq!((mode(&bar.copies()), mode(&copy)), (0o700, 0o600));
    // Not in the mode that wants a log beside it: bytes 18 and 19 of the header are 1 (SQLite's file format, 1.3.3).
    assert_eq!(fs::read(&copy).unwrap()[18..20], [1, 1]);
}

#[test]
fn a_copy_holds_what_another_terminal_has_just_written_and_not_what_it_writes_meanwhile() {
    let bar = Bar::new();
    let store = bar.store();
    let other = Connection::open(bar.book()).unwrap();
    add_place(&other, "Roof");
    std::thread::scope(|scope| {
        let writing = scope.spawn(move || {
            for n in 0..200 {
                add_place(&other, &format!("Place {n}"));
            }
        });
        while !writing.is_finished() {
            let state = copying::copy(&store, Why::Asked, demo::now()).unwrap();
            assert_eq!(state.failed, None, "nothing that is written meanwhile is in the way");
        }
    });
    let newest = copies::list(&bar.copies(), &comparing::setup(&store).unwrap().venue.days).unwrap();
    assert!(has(&newest[0].path, "Roof"));
}

#[test]
fn a_backup_somewhere_else_replaces_nothing() {
    let bar = Bar::new();
    let file = bar.path("for the fair.tantalus");
    let said = bar.says(&["backup", "--to", file.to_str().unwrap()]);
    assert!(said.contains("for the fair.tantalus"), "{said}");
    let before = fs::read(&file).unwrap();
    let said = bar.refused(&["backup", "--to", file.to_str().unwrap()]);
    assert!(said.contains("exists already"), "{said}");
    let said = bar.refused(&["backup", "--to", bar.book().to_str().unwrap()]);
    assert!(said.contains("exists already"), "{said}");
    assert_eq!(fs::read(&file).unwrap(), before);
    assert!(!bar.copies().exists());
    fs::create_dir(bar.path("box")).unwrap();
    bar.says(&["backup", "--to", bar.path("box").to_str().unwrap()]);
    assert_eq!(names(&bar.path("box")), ["2026-11-23T0130 by hand.tantalus"]);
    let said = bar.refused(&["backup", "--to", "/no such folder/copy.tantalus"]);
    assert!(said.contains("no copy of the book could be made in /no such folder: there is no such file"), "{said}");
}

#[test]
fn a_count_typed_in_by_command_is_copied_before_the_command_ends() {
    let bar = Bar::new();
    fs::write(bar.path("sheet.txt"), "1 2.4\n").unwrap();
    let sheet = bar.path("sheet.txt");
    let args = ["--by", "OM", "count", "--from-sheet", sheet.to_str().unwrap(), "--close", "--sure"];
    let said = bar.says(&args);
    assert!(said.contains("Copied beside the book."), "{said}");
    assert_eq!(names(&bar.copies()), ["2026-11-23T0130 after closing.tantalus"]);
    let rows = copying::list(&bar.book()).unwrap();
    let count = rows[0].holds.as_ref().unwrap().count.clone().unwrap();
    assert!(count.closed.is_some() && count.name.contains("2026-11-22"), "{count:?}");
}

#[test]
fn what_was_not_copied_when_a_count_was_closed_is_copied_at_the_next_start() {
    let bar = Bar::new();
    let store = bar.store();
    let state = copying::catch_up(&store, demo::now()).unwrap();
    assert!(state.last.is_some(), "a book of closed counts had no copy at all");
    copying::catch_up(&store, later(1)).unwrap();
    assert_eq!(names(&bar.copies()).len(), 1, "nothing was closed since");
    close_a_count(&store, later(2));
    copying::catch_up(&store, later(3)).unwrap();
    assert_eq!(names(&bar.copies()).len(), 2);
}

// Which are kept.

#[test]
fn needless_copies_go_and_nothing_else_does() {
    let bar = Bar::new();
    let store = bar.store();
    for evening in 0..12 {
        copying::copy(&store, Why::Closing, Moment(demo::now().0 + evening * Moment::DAY)).unwrap();
    }
    let there = names(&bar.copies());
    assert!(there.len() < 12 && there.last().unwrap().starts_with("2026-12-04"), "{there:?}");
    assert!(!there.iter().any(|name| name.starts_with("2026-11-24")), "{there:?}");
    // Of another book, of no book, and under a name of somebody's own: none of these is ours to take away.
    let other = Bar::other();
    let foreign = "2026-11-01T0300 after closing.tantalus";
    fs::copy(other.book(), bar.copies().join(foreign)).unwrap();
    let broken = "2026-11-02T0300 after closing.tantalus";
    fs::write(bar.copies().join(broken), "SQLite format 3\0 and no more").unwrap();
    fs::copy(bar.book(), bar.copies().join("my own.tantalus")).unwrap();
    for evening in 12..24 {
        copying::copy(&store, Why::Closing, Moment(demo::now().0 + evening * Moment::DAY)).unwrap();
    }
    let there = names(&bar.copies());
    for name in [foreign, broken, "my own.tantalus"] {
        assert!(there.contains(&name.to_owned()), "{name}: {there:?}");
    }
}

#[test]
fn what_a_killed_copy_left_behind_goes_with_the_next_one() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let part = "2026-11-22T0300 after closing.tantalus.part-1-0";
    fs::write(bar.copies().join(part), "half").unwrap();
    fs::write(bar.copies().join("letter.part-1-0"), "mine").unwrap();
    bar.says(&["backup"]);
    let there = names(&bar.copies());
    assert!(!there.contains(&part.to_owned()) && there.contains(&"letter.part-1-0".to_owned()), "{there:?}");
}

// The second folder.

#[test]
fn a_stick_is_caught_up_when_it_comes_back() {
    let bar = Bar::new();
    let stick = bar.path("stick");
    bar.second(&stick);
    let store = bar.store();
    let gone = copying::copy(&store, Why::Closing, demo::now()).unwrap();
    let trouble = gone.trouble().unwrap();
    assert!(
        trouble.ends_with("stick is not there: the copy of Mon 23 Nov 01:30 stands only beside the book"),
        "{trouble}"
    );
    assert!(gone.waits_for_a_stick() && !stick.exists(), "no folder is made where a stick should be");
    copying::copy(&store, Why::Closing, later(5)).unwrap();
    fs::create_dir(&stick).unwrap();
    let back = copying::catch_up(&store, later(6)).unwrap();
    assert_eq!(back.trouble(), None);
    let there = names(&stick.join("demo.tantalus.copies"));
    assert_eq!(there, ["2026-11-23T0135 after closing.tantalus"], "the newest is put there");
    assert!(back.whereabouts().unwrap().contains("beside the book and in "));
    // Nothing more is done while it has the newest.
    copying::catch_up(&store, later(7)).unwrap();
    assert_eq!(names(&stick.join("demo.tantalus.copies")).len(), 1);
    let rows = copying::list(&bar.book()).unwrap();
    assert_eq!((rows[0].paths.len(), rows[0].place(&bar.copies())), (2, "both"));
}

#[test]
fn one_stick_serves_two_bars_whose_books_have_the_same_name() {
    let (one, two) = (Bar::new(), Bar::other());
    let stick = tempfile::tempdir().unwrap();
    for bar in [&one, &two] {
        bar.second(stick.path());
        bar.says(&["backup"]);
    }
    let within = stick.path().join("demo.tantalus.copies");
    let there = names(&within);
    assert!(there.len() >= 2, "{there:?}");
    let of = |bar: &Bar| copying::list(&bar.book()).unwrap().into_iter().flat_map(|row| row.paths).collect::<Vec<_>>();
    let both = of(&one).into_iter().filter(|path| of(&two).contains(path)).count();
    assert_eq!(both, 0, "each lists its own");
    // One of them goes on and on; the other's newest stays.
    let kept = of(&two).into_iter().find(|path| path.starts_with(&within)).unwrap();
    let store = one.store();
    for evening in 1..20 {
        copying::copy(&store, Why::Closing, Moment(demo::now().0 + evening * Moment::DAY)).unwrap();
    }
    assert!(kept.exists());
}

#[test]
fn a_file_in_the_place_of_a_folder_is_said_and_counting_goes_on() {
    let bar = Bar::new();
    let stick = bar.path("stick");
    fs::create_dir(&stick).unwrap();
    bar.second(&stick);
    fs::remove_dir_all(stick.join("demo.tantalus.copies")).ok();
    fs::write(stick.join("demo.tantalus.copies"), "in the way").unwrap();
    let said = bar.says(&["backup"]);
    assert!(said.contains("stick takes no copy ("), "{said}");
    // And beside the book.
    fs::remove_dir_all(bar.copies()).unwrap();
    fs::write(bar.copies(), "in the way").unwrap();
    let said = bar.refused(&["backup"]);
    assert!(said.contains("there is no copy of the book yet: "), "{said}");
    let store = bar.store();
    close_a_count(&store, later(1));
    let state = copying::copy(&store, Why::Closing, later(1));
    assert!(state.is_ok_and(|state| state.failed.is_some()));
}

// Restoring.

#[test]
fn a_copy_takes_the_place_of_the_book_and_the_book_is_a_copy_then() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    bar.mark("Roof");
    let said = bar.says(&["restore", "1"]);
    assert!(said.contains("It knows: count “2026-11-21 rail”, sales until Mon 23 Nov 01:02"), "{said}");
    assert!(said.contains("2026-11-23T0130 before restore.tantalus"), "{said}");
    assert!(!has(&bar.book(), "Roof"));
    // And back again.
    let back = bar.copies().join("2026-11-23T0130 before restore.tantalus");
    let form = bar.json(&["restore", back.to_str().unwrap(), "--json"]);
    assert_eq!((form["before"].as_str(), form["holds"]["version"].is_u64()), (Some("book"), true));
    assert!(has(&bar.book(), "Roof"));
}

#[test]
fn a_book_that_is_gone_comes_back_also_on_a_new_machine() {
    let bar = Bar::new();
    let stick = tempfile::tempdir().unwrap();
    bar.second(stick.path());
    bar.says(&["backup"]);
    fs::remove_file(bar.book()).unwrap();
    let list = bar.says(&["backup", "--list"]);
    assert!(list.contains("both") && list.contains("  1  2026-11-23 01:30  by hand"), "{list}");
    let said = bar.says(&["restore", "1"]);
    assert!(said.contains("No book stood there before."), "{said}");
    assert!(has(&bar.book(), "Speed rail"));
    let new = tempfile::tempdir().unwrap();
    let book = new.path().join("data/book.tantalus");
    let within = stick.path().join("demo.tantalus.copies");
    let folder = command(&book, &["restore", stick.path().to_str().unwrap()]).output().unwrap();
    assert!(String::from_utf8_lossy(&folder.stderr).contains("is a folder"));
    let copy = within.join(&names(&within)[0]);
    let done = command(&book, &["restore", copy.to_str().unwrap()]).output().unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    assert!(has(&book, "Speed rail"));
}

#[test]
fn a_damaged_book_is_kept_as_it_was() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    for (n, damage) in ["head", "page", "short", "empty"].into_iter().enumerate() {
        let mut bytes = fs::read(bar.book()).unwrap();
        match damage {
            "head" => bytes[..100].fill(0xff),
            "page" => bytes[4_096..200_000].fill(0xff),
            "short" => bytes.truncate(10_000),
            _ => bytes.clear(),
        }
        fs::write(bar.book(), &bytes).unwrap();
        // Left over from whatever damaged it; applied to the new book, it would damage that too.
        fs::write(bar.path("demo.tantalus-wal"), "rest of a log").unwrap();
        let list = bar.says(&["backup", "--list"]);
        assert!(list.contains("by hand"), "{damage}: {list}");
        let said = bar.says(&["restore", bar.copies().join("2026-11-23T0130 by hand.tantalus").to_str().unwrap()]);
        assert!(said.contains("could not be read; it is kept as it was"), "{damage}: {said}");
        let number = if n == 0 { String::new() } else { format!(" {}", n + 1) };
        let kept = bar.copies().join(format!("2026-11-23T0130 damaged book{number}.tantalus"));
        assert_eq!(fs::read(kept).unwrap().len(), bytes.len(), "{damage}");
        assert!(has(&bar.book(), "Speed rail"), "{damage}");
    }
}

#[test]
fn what_is_no_sound_copy_takes_nobodys_place() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    bar.mark("Roof");
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    let whole = fs::read(&copy).unwrap();
    let mut newer = whole.clone();
    newer[60..64].copy_from_slice(&999_u32.to_be_bytes()); // user version (SQLite's file format, 1.3)
    let mut page = whole.clone();
    page[300_000..400_000].fill(0xff);
    let cases: [(&[u8], &str); 5] = [
        (b"", "it is no book of this program"),
        (b"Dear Sir or Madam", "it is no book of this program"),
        (&whole[..50_000], "it is damaged"),
        (&page, "it is damaged"),
        (&newer, "version 999"),
    ];
    for (bytes, want) in cases {
        let path = bar.path("odd.tantalus");
        fs::write(&path, bytes).unwrap();
        let said = bar.refused(&["restore", path.to_str().unwrap()]);
        assert!(said.contains(want) && said.contains("nothing was changed"), "{want}: {said}");
        assert_eq!(fs::read(&path).unwrap(), bytes, "it is only looked at");
    }
    for (args, want) in [
        (["restore", "/nowhere/at all"], "there is no such file"),
        (["restore", "7"], "the list goes from 1 to"),
        (["restore", "0"], "the list goes from 1 to"),
    ] {
        let said = bar.refused(&args);
        assert!(said.contains(want), "{said}");
    }
    let own = bar.refused(&["restore", bar.book().to_str().unwrap()]);
    assert!(own.contains("is the book itself"), "{own}");
    assert!(has(&bar.book(), "Roof"));
}

#[test]
fn a_file_of_another_program_is_never_replaced() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let foreign = bar.path("other.db");
    let conn = Connection::open(&foreign).unwrap();
    conn.execute_batch("CREATE TABLE t (x)").unwrap();
    drop(conn);
    let before = fs::read(&foreign).unwrap();
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    let done = command(&foreign, &["restore", copy.to_str().unwrap()]).output().unwrap();
    assert!(String::from_utf8_lossy(&done.stderr).contains("not a book of this program"));
    assert_eq!(fs::read(&foreign).unwrap(), before);
}
