//! How fast the program is on a book of years, beside general-purpose programs in the same run.
//!
//! `cargo bench --bench speed [-- YEARS …]` measures books of 1 and 5 years unless said, and prints tables; with `UPDATE_DOCS=1`
//! it also writes them into `docs/speed.md`. Needs `sqlite3`, Python with `venv`, GNU time, valgrind and, for one row,
//! LibreOffice; see benches/README.md.

#![allow(missing_docs)]

mod beside;
mod books;
mod memory;
#[path = "../../tests/support/pages.rs"]
mod pages;
#[path = "../../tests/support/pty.rs"]
mod pty;
mod screens;
mod spread;

use books::{Book, book, run};
use spread::{Spread, in_turn, timed, told};
use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::process::Command;
use tantalus::desk::comparing::Choice;
use tantalus::desk::reviewing;
use tantalus::store::Store;

/// A row of the table: what it is, its budget, and what each book says.
struct Row {
    what: &'static str,
    budget: &'static str,
    cells: Vec<String>,
}

#[derive(Default)]
struct Table {
    rows: Vec<Row>,
}

impl Table {
    fn say(&mut self, what: &'static str, budget: &'static str, cell: String) {
        eprintln!("  {what}: {cell}");
        match self.rows.iter_mut().find(|row| row.what == what) {
            Some(row) => row.cells.push(cell),
            None => self.rows.push(Row { what, budget, cells: vec![cell] }),
        }
    }
}

fn beside(spread: &Spread, other: &Spread, ratio: f64) -> String {
    format!("{}; beside {}: {ratio:.2}", spread.told(), other.told())
}

/// A command, as a whole process, several times.
fn command(book: &Book, args: &[&str], runs: usize) -> Spread {
    let mut times: Vec<_> = (0..=runs).map(|_| timed(|| drop(run(&mut book.command(args))))).collect();
    // The first one warms up what the system keeps of the file.
    times.remove(0);
    Spread::of(times)
}

fn on_screens(book: &Book, table: &mut Table) {
    let (ours, shell, ratio) = screens::start(book);
    table.say(
        "start to the first full screen; beside `sqlite3 BOOK 'select 1'`",
        "50 ms",
        beside(&ours, &shell, ratio),
    );
    let keys = screens::keys(book);
    let of = |spread: &Spread| format!("{} (median {})", told(spread.at(0.99)), told(spread.median()));
    let ratio = keys.digit.at(0.99) / keys.bare.at(0.99);
    table.say(
        "key to painted line, 99th percentile; beside a bare list",
        "2 ms",
        format!("{}; beside {}: {ratio:.2}", of(&keys.digit), of(&keys.bare)),
    );
    table.say(
        "Enter to kept and painted, 99th percentile; beside a commit of one row",
        "",
        format!("{}; beside {}", of(&keys.kept), of(&keys.commit)),
    );
    table.say("most memory of the screens in that", "60 MB", format!("{:.0} MB", keys.memory));
    let visits = screens::visits(book);
    let slowest: Vec<String> =
        visits.iter().take(3).map(|(title, spread)| format!("{title} {}", spread.told())).collect();
    let rest = visits
        .get(3)
        .map_or(String::new(), |(_, spread)| format!("; medians of all others up to {}", told(spread.median())));
    table.say("to another screen, key to picture: the slowest three", "", format!("{}{rest}", slowest.join(", ")));
}

/// One week's variance within the process, alone and reviewed.
fn one_week(book: &Book, table: &mut Table) {
    let store = Store::open(&book.path).expect("the book opens");
    let mut pace = |_: u64, _: u64| ControlFlow::Continue(());
    let mut last = || reviewing::over_periods(&store, Choice::default(), None, 1, &mut pace).expect("a period");
    let mut alone = || timed(|| drop(last()));
    let reviewed = || timed(|| drop(reviewing::review(&store, Choice::default()).expect("a review")));
    // The first ones warm up what the system keeps of the file.
    let _ = [alone(), reviewed()];
    let (alone, reviewed, _) = in_turn(9, alone, reviewed);
    let calc = beside::spreadsheet(book).map(|took| took.as_secs_f64() * 1_000.0);
    let calc = calc.map_or("no LibreOffice here".to_owned(), |calc| {
        format!("beside {}: {:.2}", told(calc), alone.median() / calc)
    });
    table.say("one week's variance; beside LibreOffice", "20 ms", format!("{}; {calc}", alone.told()));
    table.say("the same with thirteen weeks behind it, judged, with causes", "", reviewed.told());
    table.say("… as a command, `variance`", "", command(book, &["variance", "--json"], 9).told());
}

fn by_command(book: &Book, table: &mut Table) {
    let weeks = (book.years * 52).to_string();
    let over = command(book, &["variance", "--periods", &weeks], 5);
    let duck = beside::usage_table(book).as_secs_f64() * 1_000.0;
    table.say(
        "all years, week by week, `variance --periods`; beside DuckDB, what was sold alone",
        "1 s of 5 years",
        format!("{}; beside {}: {:.2}", over.told(), told(duck), over.median() / duck),
    );
    let pars = command(book, &["par", "--json"], 9);
    let smoothed = beside::smoothing(book).as_secs_f64() * 1_000.0;
    table.say(
        "par of all items from up to five years, `par`; beside statsforecast, smoothing alone",
        "300 ms",
        format!("{}; beside {}: {:.2}", pars.told(), told(smoothed), pars.median() / smoothed),
    );
    for (what, args) in [
        ("`order`", &["order", "--json"][..]),
        ("`stock`", &["stock", "--json"]),
        ("`goods`", &["goods", "--json"]),
        ("`report`", &["report", "--json", "--into", "target/bench-books/report"]),
        ("`count`, all counts", &["count"]),
        ("`history`", &["history"]),
        ("`check`", &["check"]),
    ] {
        let runs = if args == ["check"] { 1 } else { 5 };
        let memory = memory::of_command(&book.command(args));
        table.say(what, "", format!("{}, {memory:.0} MB", command(book, args, runs).told()));
    }
    let memory = |args: &[&str]| memory::of_command(&book.command(args));
    let most = [&["variance"][..], &["variance", "--periods", &weeks], &["par"], &["order"]].map(memory);
    table.say("most memory of these", "60 MB", format!("{:.0} MB", most.into_iter().fold(0.0, f64::max)));
}

/// Of what must not creep, how many instructions it takes: the same each time, whatever else the machine does.
fn counted(book: &Book, table: &mut Table) {
    for (what, args) in [
        ("instructions of `--version`", &["--version"][..]),
        ("… of `variance --periods 1`", &["variance", "--periods", "1"]),
        ("… of `variance`", &["variance"]),
        ("… of `par`", &["par"]),
    ] {
        let cell = beside::instructions(&book.command(args));
        let cell = cell.map_or("no valgrind here".to_owned(), |n| format!("{:.1} million", n as f64 / 1e6));
        table.say(what, "", cell);
    }
}

/// A folder of files into a new book: how long, and most memory.
fn first_load(book: &Book, table: &mut Table) {
    let fresh = book.path.with_extension("fresh.tantalus");
    let files = book.files.to_str().expect("a path in UTF-8");
    let clear = || {
        for end in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{end}", fresh.display()));
        }
        let _ = std::fs::remove_dir_all(format!("{}.here", fresh.display()));
    };
    let mut init = Command::new(books::BIN);
    init.arg("--book").arg(&fresh).args(["init", files]).env("TANTALUS_NOW", book.now);
    clear();
    let took = timed(|| drop(run(&mut init)));
    clear();
    let memory = memory::of_command(&init);
    clear();
    table.say(
        "all files into a new book, `init`",
        "",
        format!("{}, {memory:.0} MB", told(took.as_secs_f64() * 1_000.0)),
    );
}

fn main() {
    let years: Vec<u32> = std::env::args().skip(1).filter_map(|arg| arg.parse().ok()).collect();
    let years = if years.is_empty() { vec![1, 5] } else { years };
    let mut table = Table::default();
    for years in &years {
        eprintln!("{years} years of trade");
        let book = book(*years);
        on_screens(&book, &mut table);
        one_week(&book, &mut table);
        by_command(&book, &mut table);
        counted(&book, &mut table);
        first_load(&book, &mut table);
    }
    let mut out = String::from("| what | budget |");
    // Writing to a String cannot fail.
    for years in &years {
        let _ = write!(out, " {years} year{} |", if *years == 1 { "" } else { "s" });
    }
    let _ = writeln!(out, "\n| --- | --- |{}", " --- |".repeat(years.len()));
    for Row { what, budget, cells } in &table.rows {
        let _ = writeln!(out, "| {what} | {budget} | {} |", cells.join(" | "));
    }
    let import = run(Command::new("sh").arg(concat!(env!("CARGO_MANIFEST_DIR"), "/benches/import.sh")));
    let _ = writeln!(
        out,
        "\nA million lines of sales, `benches/import.sh` (budget: 0.8 of the shell's own `.import`):\n\n```"
    );
    let _ = writeln!(out, "{}\n```", import.trim_end());
    print!("{out}");
    if std::env::var_os("UPDATE_DOCS").is_some() {
        pages::put("docs/speed.md", "speed", &out);
    }
}
