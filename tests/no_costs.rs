//! What somebody sees who is not to see costs depends on no money: two books that differ in every cost and price, and in
//! nothing else, look the same to a counter on every screen, in every command and in every file.
#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/typing.rs"]
mod typing;

use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rusqlite::Connection;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;
use tantalus::app::{App, Options};
use tantalus::desk::people;
use tantalus::domain::venue::{Moment, Role};
use tantalus::store::Store;
use tantalus::tui::theme::Look;
use tempfile::tempdir;
use typing::{drawn, type_in};

/// Every column that holds money.
const MONEY: &[(&str, &[&str])] = &[
    ("supplier", &["minimum", "fee", "free_from"]),
    ("offer", &["price", "deposit"]),
    ("drink_version", &["price"]),
    ("sale", &["net"]),
    ("withdrawn_sale", &["net"]),
    ("delivery", &["unit_price", "deposit"]),
    ("purchase_order_line", &["price"]),
    ("delivery_check", &["charged"]),
    ("bill", &["goods", "deposits", "charges", "other", "payable"]),
    ("claim", &["amount"]),
];

/// Keys that do something somewhere, screens not among them.
const KEYS: &[char] = &[
    '\n', '\n', '\n', '\n', '\t', '\u{1b}', '\u{1b}', '\u{1b}', 'j', 'j', 'j', 'k', 'g', 'G', 'a', 'b', 'c', 'd', 'e',
    'f', 'l', 'm', 'n', 'p', 's', 'u', 'v', 'w', 'x', 'y', 'A', 'D', '+', '-', '0', '1', '2', '5', '.', '@', '?', '/',
];
const RANDOM_KEYS: usize = 120;
const TABS: &str = "TCRLSDHU";

/// Everything costs three times as much. All at once, since what is to be made or ordered is a matter of what costs more
/// than what.
fn make_dearer(book: &Path) {
    let conn = Connection::open(book).unwrap();
    let mut triggers = conn.prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").unwrap();
    let triggers: Vec<(String, String)> =
        triggers.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap().map(Result::unwrap).collect();
    for (name, _) in &triggers {
        conn.execute_batch(&format!("DROP TRIGGER \"{name}\"")).unwrap();
    }
    for (table, columns) in MONEY {
        for column in *columns {
            conn.execute_batch(&format!("UPDATE {table} SET {column} = 3 * {column}")).unwrap();
        }
    }
    for (_, sql) in &triggers {
        conn.execute_batch(sql).unwrap();
    }
}

/// The demo bar, whose manager has a PIN; always in the same folder, since some of what is shown names it.
fn bar(home: &Path, dear: bool) -> Store {
    for entry in fs::read_dir(home).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { fs::remove_dir_all(path).unwrap() } else { fs::remove_file(path).unwrap() }
    }
    let book = demo::book(home);
    if dear {
        make_dearer(&book);
    }
    let store = Store::open(&book).unwrap();
    let all = people::list(&store).unwrap();
    let manager = all.iter().find(|row| row.person.role == Role::Manager).unwrap();
    people::set_pin(&store, &manager.person.initials, Some("271828"), demo::now()).unwrap();
    store
}

/// Until nothing is being worked out any more.
fn settle(app: &mut App, now: Moment) {
    for _ in 0..2_000 {
        app.idle(now);
        if app.patience() >= Duration::from_millis(250) {
            return;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// All that is painted on a walk through the screens, with the key before it.
fn painted(home: &Path, by: Option<&str>) -> Vec<(char, String)> {
    let options =
        Options { look: Look::Plain, by: by.map(str::to_owned), orders: home.join("written"), ..Options::default() };
    let mut now = demo::now();
    let mut app = App::new(Store::open(&home.join("demo.tantalus")).unwrap(), options, now).unwrap();
    let mut random = ChaCha8Rng::seed_from_u64(20_261_116);
    // A sheet to count on, and one of a drink for many.
    let mut keys: Vec<char> = "\u{1b}CwD\nb\n\u{1b}\u{1b}".chars().collect();
    for tab in TABS.chars() {
        keys.push(tab);
        keys.extend("jj\nv\u{1b}v".chars());
        // Each key of the screen, and out again of whatever it opened.
        keys.extend("abcfms".chars().flat_map(|key| [tab, key, '\n', '\u{1b}', '\u{1b}', '\u{1b}']));
    }
    for _ in 0..RANDOM_KEYS {
        match random.random_bool(0.08) {
            true => keys.push(TABS.chars().nth(random.random_range(0..TABS.len())).unwrap()),
            false => keys.push(*KEYS.choose(&mut random).unwrap()),
        }
    }
    let mut out = Vec::new();
    for key in keys {
        // A second later each, so that no digits wait for a scanner.
        now = Moment(now.0 + 1_000);
        type_in(&mut app, &key.to_string(), now);
        settle(&mut app, now);
        out.push((key, drawn(&mut app, now)));
    }
    out
}

fn told(home: &Path, args: &[&str]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    command.arg("--book").arg(home.join("demo.tantalus")).args(args).env("TANTALUS_NOW", demo::NOW);
    command.env_remove("TANTALUS_BY").env_remove("TANTALUS_PIN").stdin(Stdio::null()).current_dir(home);
    let output = command.output().unwrap();
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// The files of a folder, by their paths in it.
fn files(folder: &Path, out: &mut BTreeMap<String, Vec<u8>>) {
    for entry in fs::read_dir(folder).into_iter().flatten() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => files(&path, out),
            false => drop(out.insert(path.to_string_lossy().into_owned(), fs::read(&path).unwrap())),
        }
    }
}

#[test]
fn no_sum_of_money_is_forgotten_here() {
    let home = tempdir().unwrap();
    bar(home.path(), false);
    let conn = Connection::open(home.path().join("demo.tantalus")).unwrap();
    let mut columns = conn
        .prepare(
            "SELECT m.name, c.name FROM sqlite_schema AS m, pragma_table_info(m.name) AS c WHERE m.type = 'table'
             AND c.name IN ('price', 'unit_price', 'charged', 'deposit', 'deposits', 'net', 'fee', 'minimum', 'free_from', 'cost',
                            'goods', 'charges', 'payable', 'worth', 'value', 'money')",
        )
        .unwrap();
    let found: Vec<(String, String)> =
        columns.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap().map(Result::unwrap).collect();
    for (table, column) in &found {
        let known = MONEY.iter().any(|(t, columns)| t == table && columns.contains(&column.as_str()));
        // What is kept of the bar as a whole: of money only the step in which a menu is priced.
        assert!(known || (table.as_str(), column.as_str()) == ("venue", "value"), "{table}.{column}");
    }
}

#[test]
fn a_counter_sees_the_same_whatever_it_costs() {
    let home = tempdir().unwrap();
    let home = home.path();
    let counter = |store: &Store| {
        let all = people::list(store).unwrap();
        all.into_iter().find(|row| row.person.role == Role::Counter).unwrap().person.initials
    };
    let mut seen = Vec::new();
    for dear in [false, true] {
        let by = counter(&bar(home, dear));
        let painted = painted(home, Some(&by));
        let mut written = BTreeMap::new();
        files(&home.join("written"), &mut written);
        assert!(!written.is_empty(), "the walk writes a sheet at least");
        seen.push((painted, written));
    }
    let [(cheap, sheets), (dear, dear_sheets)] = <[_; 2]>::try_from(seen).unwrap();
    for (n, (one, other)) in cheap.iter().zip(&dear).enumerate() {
        let before: String = cheap[n.saturating_sub(8)..=n].iter().map(|(key, _)| key).collect();
        assert!(one == other, "after {before:?}:\n{}\n{}", one.1, other.1);
        assert!(!one.1.contains("hidden EUR"), "{}", one.1);
    }
    assert_eq!(sheets.keys().collect::<Vec<_>>(), dear_sheets.keys().collect::<Vec<_>>());
    for (name, sheet) in &sheets {
        assert!(Some(sheet) == dear_sheets.get(name), "{name}");
    }
}

#[test]
fn commands_tell_a_counter_the_same_whatever_it_costs() {
    let home = tempdir().unwrap();
    let home = home.path();
    let drink = "Saltwind Daiquiri";
    let asked: &[&[&str]] = &[
        &["stock"],
        &["stock", "--kind", "spirit"],
        &["house"],
        &["carry"],
        &["carry", "--json"],
        &["count"],
        &["count", "--json"],
        &["drinks"],
        &["drinks", "--of", "all"],
        &["drinks", drink],
        &["drinks", drink, "--serves", "40"],
        &["drinks", drink, "--serves", "40", "--write", "sheet"],
        &["people"],
        &["check"],
    ];
    let mut all = Vec::new();
    for dear in [false, true] {
        drop(bar(home, dear));
        let mut said: Vec<String> = asked.iter().map(|args| told(home, args)).collect();
        let mut written = BTreeMap::new();
        files(&home.join("sheet"), &mut written);
        said.extend(written.into_values().map(|bytes| String::from_utf8_lossy(&bytes).into_owned()));
        all.push(said);
    }
    for (n, (cheap, dear)) in all[0].iter().zip(&all[1]).enumerate() {
        let what = asked.get(n).map_or("a written file".to_owned(), |args| args.join(" "));
        // That something was changed behind the book's back is for everybody to know.
        if what != "check" {
            assert_eq!(cheap, dear, "{what}");
        }
    }
    // What a manager is told differs, so that the comparison sees something.
    let of_manager = |dear| {
        let store = bar(home, dear);
        let all = people::list(&store).unwrap();
        let manager = all.into_iter().find(|row| row.person.role == Role::Manager).unwrap().person.initials;
        let output = Command::new(env!("CARGO_BIN_EXE_tantalus"))
            .arg("--book")
            .arg(home.join("demo.tantalus"))
            .args(["--by", &manager, "drinks"])
            .env("TANTALUS_PIN", "271828")
            .env("TANTALUS_NOW", demo::NOW)
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        output.stdout
    };
    assert_ne!(of_manager(false), of_manager(true));
}
