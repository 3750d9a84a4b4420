//! What is kept for speed alone can be dropped and made anew: every answer stays what it was, to the last digit.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;

use std::ops::ControlFlow;
use std::path::Path;
use std::process::Command;
use tantalus::desk::DeskError;
use tantalus::desk::comparing::{self, Choice};
use tantalus::desk::reviewing;
use tantalus::domain::usage::{GroupRow, summed};
use tantalus::store::Store;

/// Everything that looks at sales of the past.
const ANSWERS: &[&[&str]] = &[
    &["variance", "--json"],
    &["variance", "--all"],
    &["variance", "--by-evening"],
    &["variance", "--periods", "30", "--json"],
    &["par", "--json"],
    &["order", "--json"],
    &["stock", "--json"],
    &["goods", "--json"],
    &["suppliers", "--json"],
    &["check"],
];

fn says(book: &Path, args: &[&str]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    command.arg("--book").arg(book).args(args).env("TANTALUS_NOW", demo::NOW).env_remove("TANTALUS_BY");
    let done = command.output().unwrap();
    assert!(done.status.success(), "{args:?}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout).unwrap()
}

fn answers(book: &Path) -> Vec<String> {
    ANSWERS.iter().map(|args| says(book, args)).collect()
}

/// The sums that are kept, and whether they hold.
fn kept(book: &Path) -> (Vec<[i64; 3]>, bool) {
    let conn = rusqlite::Connection::open(book).unwrap();
    let mut sums = conn.prepare("SELECT day, till, took FROM sale_day WHERE took <> 0 ORDER BY day, till").unwrap();
    let sums = sums.query_map([], |row| Ok([row.get(0)?, row.get(1)?, row.get(2)?])).unwrap();
    let sums = sums.collect::<rusqlite::Result<Vec<_>>>().unwrap();
    let hold = conn.query_row("SELECT upto = (SELECT max(id) FROM sale) FROM sale_day_state", [], |row| row.get(0));
    (sums, hold.unwrap())
}

#[test]
fn sums_of_sales_are_dropped_and_made_anew() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let (before, sums) = (answers(&book), kept(&book));
    assert!(sums.1 && sums.0.len() > 1_000, "{}", sums.0.len());
    let same = |now: &[String], what: &str| {
        for ((args, now), before) in ANSWERS.iter().zip(now).zip(&before) {
            let line = now.lines().zip(before.lines()).find(|(now, before)| now != before);
            assert!(now == before, "{args:?} {what}: {line:?}");
        }
    };
    let conn = rusqlite::Connection::open(&book).unwrap();
    // They no longer hold, and are not looked at.
    conn.execute_batch("UPDATE sale_day_state SET upto = -1; UPDATE sale_day SET took = took + 1000").unwrap();
    same(&answers(&book), "with sums that do not hold");
    conn.execute_batch("DELETE FROM sale_day").unwrap();
    same(&answers(&book), "without sums");
    assert_eq!(kept(&book), (Vec::new(), false));
    // Whatever brings sales makes them anew.
    let plain = folder.path().join("plain");
    std::fs::create_dir(&plain).unwrap();
    std::fs::write(plain.join("sales.csv"), "receipt,line,at,sold_as,quantity,net\n").unwrap();
    says(&book, &["load", plain.to_str().unwrap()]);
    assert_eq!(kept(&book), sums);
    same(&answers(&book), "with sums made anew");
    // Sums that claim to hold and do not are found.
    conn.execute_batch("UPDATE sale_day SET took = took + 1000 WHERE day = (SELECT max(day) FROM sale_day)").unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_tantalus")).arg("--book").arg(&book).arg("check").output().unwrap();
    let said = String::from_utf8_lossy(&done.stdout).into_owned() + &String::from_utf8_lossy(&done.stderr);
    assert!(!done.status.success() && said.contains("sums of sales"), "{said}");
}

/// Of each of many periods the same is said as of the period by itself, read sale by sale; of the last one also what it cost
/// and how exact it is.
#[test]
fn many_periods_say_of_each_what_it_says_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&demo::book(folder.path())).unwrap();
    let setup = comparing::setup(&store).unwrap();
    let all = Choice::default();
    let mut pace = |_: u64, _: u64| ControlFlow::Continue(());
    let many = reviewing::over_periods(&store, all, None, 30, &mut pace).unwrap();
    assert!(many.len() > 3, "{}", many.len());
    for (n, period) in many.iter().enumerate().rev() {
        let choice = Choice { opening: Some(period.opening.id), closing: Some(period.closing.id) };
        let view = reviewing::review(&store, choice).unwrap();
        let sum = summed(&setup, period.sum.name.clone(), &view.variance.rows.iter().collect::<Vec<_>>());
        let figures = |sum: &GroupRow| (sum.items, sum.usage, sum.sold, sum.gap);
        assert_eq!(figures(&period.sum), figures(&sum), "{}", sum.name);
        if n + 1 == many.len() {
            assert_eq!((period.sum.cost, period.sum.without_cost), (sum.cost, sum.without_cost));
            assert!((period.sum.u / sum.u - 1.0).abs() < 1e-9, "{} and {}", period.sum.u, sum.u);
        }
        // The same of one item.
        let row = &view.variance.rows[0];
        let of_item = reviewing::over_periods(&store, choice, Some(row.item), 1, &mut pace).unwrap();
        let [of_item] = &of_item[..] else { panic!("{of_item:?}") };
        assert_eq!((of_item.sum.usage, of_item.sum.sold, of_item.sum.gap), (row.usage, row.sold, row.gap));
    }
    // Whoever stops it is told so, and nothing is shown.
    let stopped = reviewing::over_periods(&store, all, None, 30, &mut |_, _| ControlFlow::Break(()));
    assert!(matches!(stopped, Err(DeskError::Stopped)));
}
