//! Books of every earlier version, made by the program of their time (`tests/books/README.md` says how): each opens, has
//! a copy beside it and says what it said before.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/old.rs"]
mod old;

use old::{KINDS, VERSIONS};
use rand::{Rng, SeedableRng};
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::{Terminal, backend::TestBackend};
use rusqlite::types::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::{Arc, Barrier};
use std::time::{Duration, Instant};
use tantalus::app::{App, Options};
use tantalus::desk;
use tantalus::domain::venue::{Deed, Moment, Venue};
use tantalus::store::{STEPS, Store, migrations};
use tantalus::tui::keymap::Tab;
use tantalus::tui::theme::Look;
use tempfile::tempdir;

fn raw(path: &Path) -> rusqlite::Connection {
    rusqlite::Connection::open(path).unwrap()
}

fn version(conn: &rusqlite::Connection) -> usize {
    let version: i64 = conn.query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap();
    usize::try_from(version).unwrap()
}

fn is_sound(store: &Store, what: &str) {
    let findings = desk::check::check(store).unwrap();
    assert!(findings.is_empty(), "{what}: {findings:?}");
}

/// What makes the tables of a book: everything that SQLite keeps of its form, in an order of its own.
fn schema(conn: &rusqlite::Connection) -> BTreeMap<String, Option<String>> {
    let mut statement = conn.prepare("SELECT type || ' ' || name, sql FROM sqlite_schema").unwrap();
    statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap().collect::<Result<_, _>>().unwrap()
}

/// The tables of a book with their columns.
fn tables(conn: &rusqlite::Connection) -> BTreeMap<String, Vec<String>> {
    let mut statement = conn
        .prepare(
            "SELECT m.name, c.name FROM sqlite_schema m, pragma_table_info(m.name) c
             WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite%' ORDER BY m.name, c.cid",
        )
        .unwrap();
    let mut tables: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
    for row in rows {
        let (table, column): (String, String) = row.unwrap();
        tables.entry(table).or_default().push(column);
    }
    tables
}

/// Every row of a table, in the columns given.
fn rows(conn: &rusqlite::Connection, table: &str, columns: &[String]) -> Vec<Vec<Value>> {
    let list = columns.iter().map(|column| format!("\"{column}\"")).collect::<Vec<_>>().join(", ");
    let mut statement = conn.prepare(&format!("SELECT {list} FROM \"{table}\" ORDER BY {list}")).unwrap();
    let rows = statement.query_map([], |row| (0..columns.len()).map(|at| row.get(at)).collect()).unwrap();
    rows.collect::<Result<_, _>>().unwrap()
}

/// A plain file as its heads and its lines.
fn read(text: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut lines = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
    let mut lines = lines.records().map(|line| line.unwrap().iter().map(str::to_owned).collect::<Vec<_>>());
    (lines.next().unwrap(), lines.collect())
}

fn dumped(store: &Store, folder: &Path) -> BTreeMap<String, String> {
    desk::dump::dump(store, folder).unwrap();
    let files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    files.map(|p| (p.file_name().unwrap().to_str().unwrap().to_owned(), fs::read_to_string(p).unwrap())).collect()
}

/// What `venue.csv` of a new book of the same coin and zone says.
fn settings_of_a_new_book(like: &BTreeMap<String, String>, folder: &Path) -> BTreeMap<String, String> {
    let said: BTreeMap<String, String> =
        read(&like["venue.csv"]).1.into_iter().map(|line| (line[0].clone(), line[1].clone())).collect();
    let path = folder.join("new.tantalus");
    let store = Store::create(&path).unwrap();
    let days = tantalus::domain::venue::DayRule {
        zone: said["time_zone"].parse().unwrap(),
        starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap(),
    };
    let venue = Venue::new(&said["name"], said["currency"].parse().unwrap(), days);
    store.write((Deed::Loaded, Moment(0)), |c| tantalus::store::setup::put_venue(c, &venue)).unwrap();
    let files = dumped(&store, &folder.join("new"));
    store.discard().unwrap();
    read(&files["venue.csv"]).1.into_iter().map(|line| (line[0].clone(), line[1].clone())).collect()
}

/// Each book is one of its version: a migration that was edited later would have made other tables. And it is full:
/// every table has a row in one of the two books.
#[test]
fn the_steps_are_those_that_made_the_books() {
    for n in VERSIONS {
        let folder = tempdir().unwrap();
        let made = folder.path().join("made.tantalus");
        drop(Store::create_with(&made, &STEPS[..n]).unwrap());
        let wanted = raw(&made);
        let mut filled = BTreeSet::new();
        for kind in KINDS {
            let book = raw(&old::book(folder.path(), n, kind));
            assert_eq!(version(&book), n);
            assert_eq!(schema(&book), schema(&wanted), "version {n}, {kind}");
            for (table, columns) in tables(&book) {
                if !rows(&book, &table, &columns).is_empty() {
                    filled.insert(table);
                }
            }
        }
        let all: BTreeSet<String> = tables(&wanted).into_keys().collect();
        assert_eq!(filled, all, "version {n}");
    }
}

/// Opened, the book has every row that it had; what its program dumped, the present one dumps, but for columns that
/// were unknown then, which are blank, files that were, which are empty, and settings that were, which say what they
/// say in a new book.
#[test]
fn each_book_says_what_it_said_before() {
    for n in VERSIONS {
        for kind in KINDS {
            let what = format!("version {n}, {kind}");
            let folder = tempdir().unwrap();
            let path = old::book(folder.path(), n, kind);
            let bytes = fs::read(&path).unwrap();
            let before = raw(&path);
            let had: BTreeMap<_, _> =
                tables(&before).into_iter().map(|(t, c)| (t.clone(), (rows(&before, &t, &c), c))).collect();
            drop(before);

            let store = Store::open(&path).unwrap();
            is_sound(&store, &what);
            let copy = migrations::copy_before(&path, n as i64 + 1);
            assert_eq!(copy.exists(), n < STEPS.len(), "{what}");
            let now = raw(&path);
            assert_eq!(version(&now), STEPS.len(), "{what}");
            for (table, (rows_then, columns)) in &had {
                assert_eq!(&rows(&now, table, columns), rows_then, "{what}, {table}");
            }
            drop(now);
            if n < STEPS.len() {
                // The copy is the book as it was, and what would be gone back to.
                let copied = raw(&copy);
                assert_eq!(version(&copied), n, "{what}");
                for (table, (rows_then, columns)) in &had {
                    assert_eq!(&rows(&copied, table, columns), rows_then, "{what}, the copy's {table}");
                }
            } else {
                assert_eq!(fs::read(&path).unwrap(), bytes, "{what}: nothing to do");
            }

            let (then, now) = (old::dump(n, kind), dumped(&store, &folder.path().join("dump")));
            let new_settings = settings_of_a_new_book(&then, folder.path());
            for (file, text) in &now {
                let (heads, lines) = read(text);
                let Some(before) = then.get(file) else {
                    assert!(lines.is_empty(), "{what}: {file} was unknown and has lines");
                    continue;
                };
                let (heads_then, lines_then) = read(before);
                if file == "venue.csv" {
                    let known: BTreeSet<&String> = lines_then.iter().map(|line| &line[0]).collect();
                    let (kept, added): (Vec<_>, Vec<_>) = lines.into_iter().partition(|line| known.contains(&line[0]));
                    assert_eq!(kept, lines_then, "{what}: {file}");
                    for line in added {
                        assert_eq!(new_settings.get(&line[0]), Some(&line[1]), "{what}: {file}, {}", line[0]);
                    }
                    continue;
                }
                let at: Vec<usize> = heads_then
                    .iter()
                    .map(|head| {
                        heads.iter().position(|h| h == head).unwrap_or_else(|| panic!("{what}: {file} lost {head}"))
                    })
                    .collect();
                let kept: Vec<Vec<String>> =
                    lines.iter().map(|l| at.iter().map(|at| l[*at].clone()).collect()).collect();
                assert_eq!(kept, lines_then, "{what}: {file}");
                for (at, head) in heads.iter().enumerate().filter(|(_, head)| !heads_then.contains(head)) {
                    assert!(lines.iter().all(|line| line[at].is_empty()), "{what}: {file} has {head} from nowhere");
                }
            }
            for file in then.keys() {
                assert!(now.contains_key(file), "{what}: {file} is no more");
            }
        }
    }
}

/// Every screen opens on a book of every version, and says nothing of a fault; on the fuller ones of the first and the
/// newest version too.
#[test]
fn every_screen_opens_on_each_book() {
    for n in VERSIONS {
        for kind in
            KINDS.into_iter().filter(|kind| *kind == "small" || [VERSIONS.start(), VERSIONS.end()].contains(&&n))
        {
            let folder = tempdir().unwrap();
            let store = Store::open(&old::book(folder.path(), n, kind)).unwrap();
            let options = Options { orders: folder.path().join("orders"), look: Look::Plain, ..Options::default() };
            let mut app = App::new(store, options, demo::now()).unwrap();
            let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
            for tab in Tab::ALL {
                app.key(KeyEvent::new(KeyCode::Char(tab.letter()), KeyModifiers::NONE), demo::now());
                terminal.draw(|frame| app.draw(frame, demo::now())).unwrap();
                let shown: String = terminal.backend().buffer().content.iter().map(|cell| cell.symbol()).collect();
                assert!(!shown.contains("Not done"), "version {n}, {kind}, {tab:?}: {shown}");
            }
        }
    }
}

fn on(book: &Path, command: &[&str]) -> Command {
    let mut started = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    started.arg("--book").arg(book).args(command).env("TANTALUS_NOW", demo::NOW).env_remove("TANTALUS_BY");
    started.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    started
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout)
}

#[test]
fn a_book_of_a_newer_program_is_left_byte_for_byte_as_it_was() {
    let folder = tempdir().unwrap();
    let path = old::book(folder.path(), *VERSIONS.end(), "small");
    raw(&path).pragma_update(None, "user_version", 99).unwrap();
    let before = fs::read(&path).unwrap();
    for command in [&["check"][..], &["stock"], &["load", "."], &["dump", "out"], &["count", "--json"]] {
        let output = on(&path, command).current_dir(folder.path()).output().unwrap();
        assert_eq!(output.status.code(), Some(1), "{command:?}");
        let said = said(&output);
        let newer = format!("this book is of version 99, and this program reads up to version {}", STEPS.len());
        assert!(said.contains(&newer) && said.contains("install the newer program"), "{command:?}: {said}");
        assert_eq!(fs::read(&path).unwrap(), before, "{command:?}");
    }
    let left: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().path()).collect();
    assert_eq!(left, [path], "nothing was laid beside it");
}

/// The steps, each of which after the first says in the book that it ran; twice, it would be refused.
fn told_steps() -> Vec<String> {
    let told = |(at, step): (usize, &&str)| match at {
        0 => (*step).to_owned(),
        at => format!("{step}\nINSERT INTO venue (key, value) VALUES ('step {at}', 'ran');"),
    };
    STEPS.iter().enumerate().map(told).collect()
}

#[test]
fn however_many_open_an_old_book_at_once_each_step_runs_once() {
    for racers in 2..=8 {
        let folder = tempdir().unwrap();
        let path = old::book(folder.path(), 1, "bar");
        let start = Arc::new(Barrier::new(racers));
        let all: Vec<_> = (0..racers)
            .map(|_| {
                let (path, start) = (path.clone(), Arc::clone(&start));
                std::thread::spawn(move || {
                    let steps = told_steps();
                    let steps: Vec<&str> = steps.iter().map(String::as_str).collect();
                    start.wait();
                    Store::open_with(&path, &steps).map(|_| ())
                })
            })
            .collect();
        for racer in all {
            racer.join().unwrap().unwrap();
        }
        let conn = raw(&path);
        let ran: i64 = conn.query_row("SELECT count(*) FROM venue WHERE value = 'ran'", [], |row| row.get(0)).unwrap();
        assert_eq!(usize::try_from(ran).unwrap() + 1, STEPS.len(), "{racers} openers");
        assert_eq!(version(&conn), STEPS.len());
        is_one_before(&path, racers);
    }
}

/// The copy is there, is of the version before and is whole; nothing half-made is left beside it.
fn is_one_before(path: &Path, racers: usize) {
    let copied = raw(&migrations::copy_before(path, 2));
    assert_eq!(version(&copied), 1, "{racers} openers");
    let whole: String = copied.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
    assert_eq!(whole, "ok");
    assert_eq!(parts(path), Vec::<PathBuf>::new(), "{racers} openers");
}

/// Copies beside a book that were never finished.
fn parts(path: &Path) -> Vec<PathBuf> {
    let beside = fs::read_dir(path.parent().unwrap()).unwrap().map(|entry| entry.unwrap().path());
    beside.filter(|p| p.to_string_lossy().contains(".part-")).collect()
}

#[test]
fn however_many_programs_open_an_old_book_at_once_all_of_them_can() {
    for racers in 2..=8 {
        let folder = tempdir().unwrap();
        let path = old::book(folder.path(), 1, "small");
        let all: Vec<_> = (0..racers).map(|_| on(&path, &["check"]).spawn().unwrap()).collect();
        for racer in all {
            let output = racer.wait_with_output().unwrap();
            assert!(output.status.success(), "{racers} programs: {}", said(&output));
        }
        is_one_before(&path, racers);
        is_sound(&Store::open(&path).unwrap(), "after the race");
    }
}

fn sales(conn: &rusqlite::Connection) -> Vec<Vec<Value>> {
    rows(conn, "sale", &["id", "at", "till", "quantity", "net"].map(str::to_owned))
}

/// A book that a program was killed on: of the old version or the new, with its copy once it is of the new; and it opens.
fn survives(path: &Path, had: &[Vec<Value>], round: &str) -> usize {
    let conn = raw(path);
    let found = version(&conn);
    assert!(found == 1 || found == STEPS.len(), "{round}: version {found}");
    drop(conn);
    let copy = migrations::copy_before(path, 2);
    assert!(found == 1 || copy.exists(), "{round}: brought up to date without a copy");
    let store = Store::open(path).unwrap_or_else(|refused| panic!("{round}: {refused}"));
    is_sound(&store, round);
    for (book, wanted) in [(copy.as_path(), 1), (path, STEPS.len())] {
        let conn = raw(book);
        assert_eq!(version(&conn), wanted, "{round}");
        assert_eq!(sales(&conn), had, "{round}");
    }
    found
}

#[test]
fn killed_while_it_opens_an_old_book_the_book_is_the_old_or_the_new_one() {
    const ROUNDS: usize = 60;
    let folder = tempdir().unwrap();
    let path = old::book(folder.path(), 1, "bar");
    let had = sales(&raw(&path));
    // So long it takes until the book is the new one; kills are spread over that and a little more.
    let started = Instant::now();
    let mut child = on(&path, &["check"]).spawn().unwrap();
    let looking = raw(&path);
    while version(&looking) == 1 && child.try_wait().unwrap().is_none() {
        std::thread::sleep(Duration::from_millis(1));
    }
    let whole = started.elapsed();
    assert!(child.wait().unwrap().success());
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(8);
    let mut found = BTreeMap::new();
    for round in 0..ROUNDS {
        let folder = tempdir().unwrap();
        let path = old::book(folder.path(), 1, "bar");
        let mut child = on(&path, &["check"]).spawn().unwrap();
        std::thread::sleep(Duration::from_micros(random.random_range(0..=whole.as_micros() as u64 * 5 / 4)));
        child.kill().unwrap();
        child.wait().unwrap();
        let copied = migrations::copy_before(&path, 2).exists();
        let half = !parts(&path).is_empty();
        let version = survives(&path, &had, &format!("round {round}"));
        *found.entry((version, copied, half)).or_insert(0) += 1;
    }
    println!("(version, copied, a copy begun) and how often it was killed so: {found:?}");
}

/// Opens the book that [`BOOK`] names with steps of which the last never ends; started by the test below.
#[test]
#[ignore = "started as a process of its own, to be killed"]
fn opens_without_end() {
    let Some(path) = std::env::var_os(BOOK) else { return };
    let endless = "WITH RECURSIVE n (x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT max(x) FROM n;";
    let steps: Vec<&str> =
        STEPS.iter().copied().chain(["CREATE TABLE half_way (x INTEGER) STRICT;", endless]).collect();
    let _ = Store::open_with(Path::new(&path), &steps);
    unreachable!("the last step does not end");
}

const BOOK: &str = "BOOK_TO_OPEN_WITHOUT_END";

/// However fast the machine is: the kill comes in the midst of the steps, when the copy is made and nothing is kept yet.
#[test]
fn killed_in_the_midst_of_the_steps_the_book_is_the_old_one() {
    for round in 0..5 {
        let folder = tempdir().unwrap();
        let path = old::book(folder.path(), 1, "bar");
        let had = sales(&raw(&path));
        let mut command = Command::new(std::env::current_exe().unwrap());
        command.args(["--exact", "opens_without_end", "--ignored"]).env(BOOK, &path);
        let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        // The steps begin as soon as the copy has its name; the lock says that they have.
        let begun = || {
            let conn = raw(&path);
            conn.busy_timeout(Duration::ZERO).unwrap();
            migrations::copy_before(&path, 2).exists() && conn.execute_batch("BEGIN IMMEDIATE; ROLLBACK;").is_err()
        };
        while !begun() {
            assert!(child.try_wait().unwrap().is_none(), "round {round}: it ended by itself");
            std::thread::sleep(Duration::from_millis(5));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        assert_eq!(survives(&path, &had, &format!("round {round}")), 1);
        assert!(!schema(&raw(&path)).contains_key("table half_way"));
    }
}
