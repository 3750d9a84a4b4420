//! How fast a till's table is read, beside a pass of the csv crate alone over the same file in the same run.
//!
//! Also how fast three hundred of a till's names are compared with the demo's menu.
//!
//! `cargo bench --bench tables` writes a table of about 100 MB into a temporary folder, reads it five times each way,
//! every time in a process of its own so that the peak of memory is its own, and prints the medians.

#![allow(missing_docs)]

#[path = "speed/memory.rs"]
mod memory;

use chrono::NaiveTime;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;
use std::process::Command;
use std::time::Instant;
use tantalus::domain::venue::DayRule;
use tantalus::exchange::ReadError;
use tantalus::exchange::till::table::{look, read};
use tantalus::exchange::till::{Rung, Taker, Terms};

const BYTES: u64 = 100_000_000;
const RUNS: usize = 5;
const NAMES: [&str; 12] = [
    "Negroni",
    "Gin & Tonic",
    "Mezcal 4 cl",
    "Dry Martini",
    "Rosé, glass",
    "Half ale",
    "Cola",
    "Still water",
    "Whiskey sour",
    "Daiquiri",
    "Añejo 2 cl",
    "Amaro",
];

struct Count(u64);

impl Taker for Count {
    type Error = ReadError;

    fn take(&mut self, line: Rung) -> Result<(), ReadError> {
        self.0 += u64::from(!line.sold_as.is_empty());
        Ok(())
    }

    fn pace(&mut self, _: u64, _: u64) -> Result<(), ReadError> {
        Ok(())
    }
}

fn terms() -> Terms {
    let days =
        DayRule { zone: chrono_tz::Europe::Berlin, starts: NaiveTime::from_hms_opt(5, 0, 0).expect("five o'clock") };
    let until = days.parse("2026-12-01 12:00").expect("a time");
    Terms { currency: "EUR".parse().expect("a coin"), days, until }
}

/// Nine hundred lines a day, days and receipts in order, as a till writes them.
fn write(path: &Path) -> std::io::Result<u64> {
    let mut out = BufWriter::new(File::create(path)?);
    writeln!(out, "Datum;Uhrzeit;Bon-Nr.;Artikel;Menge;Umsatz brutto;MwSt.-Satz")?;
    let (mut bytes, mut lines, mut row) = (0, 0_u64, String::new());
    let first = chrono::NaiveDate::from_ymd_opt(2020, 1, 1).expect("a day");
    while bytes < BYTES {
        let day = first + chrono::Days::new(lines / 900);
        let minute = lines % 900 / 2;
        row.clear();
        let name = NAMES[(lines * 7 % 12) as usize];
        let _ = writeln!(
            row,
            "{};{:02}:{:02};{};{name};{};{},{:02};19 %",
            day.format("%d.%m.%Y"),
            16 + minute / 60,
            minute % 60,
            lines / 3,
            1 + lines % 3,
            8 + lines % 9,
            lines % 100,
        );
        out.write_all(row.as_bytes())?;
        bytes += row.len() as u64;
        lines += 1;
    }
    out.flush()?;
    Ok(lines)
}

fn by_csv(path: &Path) -> u64 {
    let mut reader = csv::ReaderBuilder::new().delimiter(b';').from_path(path).expect("the table opens");
    let mut record = csv::StringRecord::new();
    let mut lines = 0;
    while reader.read_record(&mut record).expect("a record") {
        lines += u64::from(!record[3].is_empty());
    }
    lines
}

fn by_layout(path: &Path) -> u64 {
    let look = look(path, &terms()).expect("the table is understood");
    let mut count = Count(0);
    read(path, &look.layout, None, &terms(), &mut count).expect("the table is read");
    count.0
}

/// Three hundred names, each of them another beginning of a drink's name, against the demo's menu and till.
fn names() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("demo.tantalus");
    let now = terms().until;
    tantalus::desk::demo::open(&path, false, now).expect("the demo's book");
    let store = tantalus::store::Store::open(&path).expect("the book opens");
    let setup = tantalus::desk::comparing::setup(&store).expect("the set-up");
    let day = terms().days.day_of(now);
    let cut = |n: usize| setup.drinks[n % setup.drinks.len()].name.chars().take(8 + n % 9).collect::<String>();
    let names: Vec<String> = (0..300).map(cut).collect();
    let mut runs: Vec<f64> = (0..RUNS)
        .map(|_| {
            let begun = Instant::now();
            let likeness = tantalus::domain::till::Likeness::new(&setup, day);
            let found: usize = names.iter().map(|name| likeness.candidates(name, None, None).candidates.len()).sum();
            assert!(found >= names.len());
            begun.elapsed().as_secs_f64() * 1_000.0
        })
        .collect();
    runs.sort_by(f64::total_cmp);
    let (drinks, till) = (setup.drinks.len(), setup.till.len());
    println!(
        "\n300 names, {drinks} drinks and {till} names explained: {:.1} ms, median of {RUNS} runs",
        runs[RUNS / 2]
    );
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if let [_, way @ ("csv" | "table"), path] = arguments.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        let path = Path::new(path);
        let begun = Instant::now();
        let lines = if *way == "csv" { by_csv(path) } else { by_layout(path) };
        println!("{lines} {} {}", begun.elapsed().as_secs_f64(), memory::of_process(std::process::id()));
        return;
    }
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("table.csv");
    let lines = write(&path).expect("the table is written");
    let this = std::env::current_exe().expect("this program");
    println!("{lines} lines, {} MB, median of {RUNS} runs", BYTES / 1_000_000);
    println!("| | lines a second | peak memory |\n| --- | --- | --- |");
    for way in ["csv", "table"] {
        let mut runs: Vec<(f64, f64)> = (0..RUNS)
            .map(|_| {
                let out = Command::new(&this).arg(way).arg(&path).output().expect("a run");
                let text = String::from_utf8_lossy(&out.stdout).into_owned();
                let figures: Vec<f64> = text.split_whitespace().filter_map(|f| f.parse().ok()).collect();
                assert_eq!(
                    figures.first().copied(),
                    Some(lines as f64),
                    "{text}{}",
                    String::from_utf8_lossy(&out.stderr)
                );
                (figures[1], figures[2])
            })
            .collect();
        runs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (seconds, peak) = runs[RUNS / 2];
        println!("| {way} | {:.0} | {peak:.1} MiB |", lines as f64 / seconds);
    }
    names();
}
