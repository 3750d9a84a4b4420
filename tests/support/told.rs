//! A book beside what its writers were told.

#![allow(dead_code)]

use super::kept::Kept;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::time::Duration;
use tantalus::store::{Store, counts, setup};

fn said<T, E: std::fmt::Display>(done: Result<T, E>) -> Result<T, String> {
    done.map_err(|error| error.to_string())
}

/// What all writers together did.
#[derive(Debug, Default)]
pub(crate) struct Sum {
    pub(crate) accepted: BTreeMap<String, u64>,
    pub(crate) refused: u64,
    pub(crate) reads: u64,
    pub(crate) waits: Vec<Duration>,
}

impl Sum {
    /// The wait that such a share of all are below.
    pub(crate) fn wait(&self, share: f64) -> Duration {
        let at = (self.waits.len().saturating_sub(1)) as f64 * share;
        self.waits.get(at.round() as usize).copied().unwrap_or_default()
    }
}

/// Compares the book with what the writers were told: every accepted entry is there as it was accepted, the last one where
/// one replaced another, and nothing besides.
pub(crate) fn compare(book: &Path, folder: &Path, writers: usize) -> Result<Sum, String> {
    let kept = Kept::of(book)?;
    let mut sum = Sum::default();
    let mut last: BTreeMap<String, String> = BTreeMap::new();
    let mut known: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for id in 0..writers {
        let told = said(fs::read_to_string(folder.join(format!("{id}.told"))))?;
        for line in told.lines() {
            let (kind, rest) = line.split_once(',').ok_or("a kind")?;
            *sum.accepted.entry(kind.to_owned()).or_default() += 1;
            match kind {
                "line" | "par" => {
                    let (key, value) = rest.rsplit_once(',').ok_or("a value")?;
                    last.insert(format!("{kind},{key}"), value.to_owned());
                }
                "loss" => {
                    known.entry("losses.csv").or_default().insert(rest.to_owned());
                }
                "day" => {
                    known.entry("days.csv").or_default().insert(rest.to_owned());
                }
                "till" => {
                    known.entry("till").or_default().insert(rest.to_owned());
                }
                "bill" => {
                    known.entry("bills.csv").or_default().insert(rest.to_owned());
                }
                "folder" => {
                    known.entry("folder").or_default().insert(rest.to_owned());
                }
                "batch" => {
                    known.entry("batches.csv").or_default().insert(rest.to_owned());
                }
                other => return Err(format!("a writer was told “{other}”")),
            }
        }
        let figures = said(fs::read_to_string(folder.join(format!("{id}.figures"))))?;
        let mut lines = figures.lines();
        let (refused, reads) = lines.next().and_then(|line| line.split_once(' ')).ok_or("figures")?;
        sum.refused += said(refused.parse::<u64>())?;
        sum.reads += said(reads.parse::<u64>())?;
        for wait in lines {
            sum.waits.push(Duration::from_micros(said(wait.parse())?));
        }
    }
    sum.waits.sort();
    lines_and_pars(book, &last)?;
    let empty = BTreeSet::new();
    let of = |kind: &str| known.get(kind).unwrap_or(&empty);
    let cells = |row: &String| row.split(',').map(str::to_owned).collect::<Vec<_>>();
    // losses.csv: at,item,quantity,reason,place,by,note; those of folders have no note.
    let losses = kept.rows("losses.csv").iter().map(cells).filter(|row| !row[6].is_empty());
    same("losses", &losses.map(|row| format!("{},{},{}", row[1], row[2], row[6])).collect(), of("losses.csv"))?;
    let days = kept.rows("days.csv").iter().map(|row| cells(row)[2].clone());
    same("days", &days.collect(), of("days.csv"))?;
    let by_number = |file: &str, column: usize, letter: char| {
        let mut found: BTreeMap<String, usize> = BTreeMap::new();
        for row in kept.rows(file) {
            let document = &cells(row)[column];
            if let Some((mark, made)) = document.split_once(&format!("x{letter}-")) {
                *found.entry(format!("{mark}x{made}")).or_default() += 1;
            }
        }
        found
    };
    // Numbers of bills are w1xR-7, of deliveries w1xD-7, of receipts w1xS-7 and w1x7-0.
    same("bills", &by_number("bills.csv", 1, 'R').into_keys().collect(), of("bills.csv"))?;
    let delivered = by_number("deliveries.csv", 0, 'D');
    whole("deliveries", &delivered, of("folder"), 8)?;
    whole("sales of folders", &by_number("sales.csv", 0, 'S'), of("folder"), 200)?;
    let mut receipts: BTreeMap<String, usize> = BTreeMap::new();
    for row in kept.rows("sales.csv") {
        // The till's own number, behind the day of which it is.
        let first = &cells(row)[0];
        let receipt = first.rsplit(' ').next().unwrap_or_default();
        if receipt.starts_with('w') && !receipt.contains("xS-") {
            let report = receipt.split_once('-').map_or("", |(report, _)| report);
            *receipts.entry(report.to_owned()).or_default() += 1;
        }
    }
    whole("reports of the till", &receipts, of("till"), 400)?;
    let batches = kept.rows("batches.csv").iter().map(|row| cells(row).last().cloned().unwrap_or_default());
    same("batches", &batches.collect(), of("batches.csv"))?;
    Ok(sum)
}

/// Lines of the count and pars are what was accepted last.
fn lines_and_pars(book: &Path, last: &BTreeMap<String, String>) -> Result<(), String> {
    let store = said(Store::open(book))?;
    let setup = said(store.read(setup::load))?;
    let lines = said(store.read(|conn| match counts::open_count(conn)? {
        Some(open) => counts::lines(conn, open.id),
        None => Ok(Vec::new()),
    }))?;
    let mut is: BTreeMap<String, String> = BTreeMap::new();
    for line in &lines {
        let key = format!("line,{},{}", setup.place_name(line.place), setup.item_name(line.item));
        is.insert(key, line.entry.to_string());
    }
    for of in &setup.items {
        let key = format!("par,{}", of.name);
        // Items whose par nobody changed have the one that they began with.
        if let (Some(par), true) = (of.par, last.contains_key(&key)) {
            is.insert(key, par.0.to_string());
        }
    }
    let lost: Vec<String> = last
        .iter()
        .filter(|(key, value)| is.get(*key) != Some(value))
        .map(|(key, value)| format!("{key} was accepted as {value} and is {:?}", is.get(key)))
        .collect();
    let more: Vec<&String> = is.keys().filter(|key| !last.contains_key(*key)).collect();
    if lost.is_empty() && more.is_empty() { Ok(()) } else { Err(format!("{}; besides: {more:?}", lost.join("; "))) }
}

fn same(what: &str, is: &BTreeSet<String>, accepted: &BTreeSet<String>) -> Result<(), String> {
    let lost: Vec<&String> = accepted.difference(is).take(5).collect();
    let more: Vec<&String> = is.difference(accepted).take(5).collect();
    if lost.is_empty() && more.is_empty() {
        return Ok(());
    }
    Err(format!("{what}: accepted and not there: {lost:?}; there and never accepted: {more:?}"))
}

fn whole(what: &str, is: &BTreeMap<String, usize>, accepted: &BTreeSet<String>, rows: usize) -> Result<(), String> {
    same(what, &is.keys().cloned().collect(), accepted)?;
    match is.iter().find(|(_, number)| **number != rows) {
        Some((which, number)) => Err(format!("{what}: {which} has {number} of {rows} rows")),
        None => Ok(()),
    }
}
