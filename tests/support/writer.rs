//! One of several writers of the same book: what it wrote, and what must be there of it.

#![allow(dead_code)]

use super::work::{ITEMS, Sort, Work, item};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};
use tantalus::desk::{check, counting, losing, par};
use tantalus::domain::gauge::Entry;
use tantalus::domain::ledger::{CountLine, Loss};
use tantalus::domain::measure::Amount;
use tantalus::domain::rows::{Entered, Sheet};
use tantalus::domain::venue::{Containers, CountId, Moment, Reason, Seq, Setup};
use tantalus::store::{Store, counts, setup};

/// The moment of everything that is written.
const NOW: &str = "2026-11-20T22:00:00+01:00";

pub(crate) fn now() -> Moment {
    Moment(chrono::DateTime::parse_from_rfc3339(NOW).expect("the moment above").timestamp_millis())
}

/// A writer and what it is told.
pub(crate) struct Writer {
    id: usize,
    of: usize,
    book: PathBuf,
    folder: PathBuf,
    store: Store,
    setup: Setup,
    count: CountId,
    sheet: Sheet,
    work: Work,
    random: ChaCha8Rng,
    /// What was accepted, line by line, written down before anything else is tried.
    told: File,
    made: usize,
    waits: Vec<Duration>,
    refused: u64,
    reads: u64,
}

/// How an attempt ended: accepted, or refused for the time being.
enum Done {
    Accepted(String),
    Busy,
    Read,
}

fn said<T, E: std::fmt::Display>(done: Result<T, E>) -> Result<T, String> {
    done.map_err(|error| error.to_string())
}

/// Another one has been writing for so long that the program gave up: nothing was accepted, and nothing may be there.
fn is_busy(refused: &str) -> bool {
    refused.contains("another terminal has been writing")
}

/// Makes the book of a bar, and begins the count of all of it.
pub(crate) fn begin(folder: &Path, seed: u64) -> Result<PathBuf, String> {
    let book = folder.join("bar.tantalus");
    Work::new(folder, seed, "").make_book(&book)?;
    let store = said(Store::open(&book))?;
    let setup = said(store.read(setup::load))?;
    let places: Vec<_> = setup.places.iter().map(|place| place.id).collect();
    said(counting::begin(&store, &places, false, None, now()))?;
    Ok(book)
}

impl Writer {
    pub(crate) fn new(id: usize, of: usize, book: &Path, folder: &Path, seed: u64) -> Result<Writer, String> {
        let store = said(Store::open(book))?;
        let setup = said(store.read(setup::load))?;
        let open = said(store.read(counts::open_count))?.ok_or("no count is open")?;
        let sheet = said(counting::sheet(&store, open.id, now()))?;
        let own = folder.join(format!("writer {id}"));
        said(fs::create_dir_all(&own))?;
        Ok(Writer {
            id,
            of,
            book: book.to_owned(),
            told: said(File::create(folder.join(format!("{id}.told"))))?,
            store,
            setup,
            count: open.id,
            sheet,
            work: Work::new(&own, seed + id as u64, &format!("w{id}x")),
            folder: folder.to_owned(),
            random: ChaCha8Rng::seed_from_u64(seed * 1_000 + id as u64),
            made: 0,
            waits: Vec::new(),
            refused: 0,
            reads: 0,
        })
    }

    /// Writes until the time is over.
    pub(crate) fn write(mut self, time: Duration) -> Result<(), String> {
        let begun = Instant::now();
        while begun.elapsed() < time {
            let started = Instant::now();
            let done = self.once()?;
            let took = started.elapsed();
            match done {
                Done::Accepted(what) => {
                    self.waits.push(took);
                    said(writeln!(self.told, "{what}"))?;
                }
                Done::Busy => {
                    self.waits.push(took);
                    self.refused += 1;
                }
                Done::Read => self.reads += 1,
            }
            self.made += 1;
        }
        let mut figures = format!("{} {}\n", self.refused, self.reads);
        for wait in &self.waits {
            let _ = writeln!(figures, "{}", wait.as_micros());
        }
        said(fs::write(self.folder.join(format!("{}.figures", self.id)), figures))
    }

    fn once(&mut self) -> Result<Done, String> {
        match self.random.random_range(0..100) {
            0..30 => self.line(),
            30..50 => self.loss(),
            50..65 => self.par(),
            65..70 => self.day(),
            70..75 => self.command(Sort::Till),
            75..80 => self.command(Sort::Bill),
            80..85 => self.command(Sort::Folder),
            85..90 => self.command(Sort::Batch),
            90..98 => self.read(),
            _ => self.look_through(),
        }
    }

    /// One of the items that are this writer's own.
    fn own(&mut self) -> usize {
        let mine: Vec<usize> = (0..ITEMS).filter(|n| n % self.of == self.id).collect();
        mine[self.random.random_range(0..mine.len())]
    }

    /// A line of the count that all of them count.
    fn line(&mut self) -> Result<Done, String> {
        let n = self.own();
        let place = self.setup.places[self.random.random_range(0..2)].id;
        let of = self.setup.items.iter().find(|of| of.name == item(n)).ok_or("an item")?;
        let entry = format!("{}.{}", self.random.random_range(1..6), self.random.random_range(1..10));
        let entry = said(Entry::parse(&entry))?;
        let line = CountLine {
            count: self.count,
            place,
            item: of.id,
            at: now(),
            method: entry.method(of.count_by),
            entry: entry.clone(),
            by: None,
        };
        let what = format!("line,{},{},{entry}", self.setup.place_name(place), of.name);
        let mut done = counting::save_line(&self.store, &self.sheet, &line, None, now());
        // What this writer entered there before is told, and the new entry stands.
        while let Ok(Some(stands)) = &done {
            let known = Entered::of(stands);
            done = counting::save_line(&self.store, &self.sheet, &line, Some(&known), now());
        }
        kept(done, what)
    }

    fn loss(&mut self) -> Result<Done, String> {
        let (n, ml) = (self.random.random_range(0..ITEMS), self.random.random_range(1..90));
        let of = self.setup.items.iter().find(|of| of.name == item(n)).ok_or("an item")?;
        let note = format!("w{}x{}", self.id, self.made);
        let loss = Loss {
            seq: Seq(0),
            at: now(),
            item: of.id,
            amount: Amount(ml * 1_000),
            reason: Reason::Spill,
            place: None,
            by: None,
            note: Some(note.clone()),
        };
        kept(losing::record(&self.store, &loss, now()), format!("loss,{},{ml} ml,{note}", of.name))
    }

    /// A change of the set-up.
    fn par(&mut self) -> Result<Done, String> {
        let n = self.own();
        let of = self.setup.items.iter().find(|of| of.name == item(n)).ok_or("an item")?;
        let to = Containers(self.random.random_range(1_001..90_000));
        kept(par::set_by_hand(&self.store, of.id, Some(to), now()), format!("par,{},{}", of.name, to.0))
    }

    fn day(&mut self) -> Result<Done, String> {
        let what = format!("w{}x{} day", self.id, self.made);
        let args = ["days", "add", "12-24", "--what", &what, "--factor", "1.5"];
        self.ran(&args.map(str::to_owned), format!("day,{what}"))
    }

    fn command(&mut self, sort: Sort) -> Result<Done, String> {
        let deed = self.work.next(sort)?;
        // Documents and receipts of a deed are known by the number of the deed.
        let number = format!("w{}x{}", self.id, self.work.made() - 1);
        let what = match sort {
            Sort::Till => format!("till,{number}"),
            Sort::Bill => format!("bill,{number}"),
            Sort::Folder => format!("folder,{number}"),
            _ => format!("batch,{number}"),
        };
        let args = match sort {
            // Batches of one moment are told apart by what is noted.
            Sort::Batch => deed.args.iter().cloned().chain(["--note".to_owned(), number]).collect(),
            _ => deed.args,
        };
        self.ran(&args, what)
    }

    fn ran(&self, args: &[String], what: String) -> Result<Done, String> {
        let output = self.program(args)?;
        let refused = String::from_utf8_lossy(&output.stderr).into_owned();
        match output.status.code() {
            Some(0) => Ok(Done::Accepted(what)),
            Some(1) if is_busy(&refused) => Ok(Done::Busy),
            code => Err(format!("{args:?}: {code:?}: {refused}")),
        }
    }

    fn program(&self, args: &[String]) -> Result<std::process::Output, String> {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
        command.args(args).arg("--book").arg(&self.book).env("TANTALUS_NOW", NOW).env_remove("TANTALUS_BY");
        said(command.output())
    }

    /// Reads that take the whole book together, each in one state of it.
    fn read(&mut self) -> Result<Done, String> {
        let args = [["stock", "--json"], ["order", "--json"], ["count", "--json"], ["goods", "--json"]];
        let args = args[self.random.random_range(0..args.len())].map(str::to_owned);
        let output = self.program(&args)?;
        let refused = String::from_utf8_lossy(&output.stderr);
        // A bar with one closed count has nothing to compare yet.
        let nothing_yet = args[0] == "goods" && refused.contains("count");
        if output.status.success() || is_busy(&refused) || nothing_yet {
            return Ok(Done::Read);
        }
        Err(format!("{args:?}: {refused}"))
    }

    fn look_through(&mut self) -> Result<Done, String> {
        let findings = said(check::check(&self.store))?;
        if findings.is_empty() { Ok(Done::Read) } else { Err(format!("the book is not sound: {findings:?}")) }
    }
}

fn kept<T, E: std::fmt::Display>(done: Result<T, E>, what: String) -> Result<Done, String> {
    match done {
        Ok(_) => Ok(Done::Accepted(what)),
        Err(refused) if is_busy(&refused.to_string()) => Ok(Done::Busy),
        Err(refused) => Err(format!("{what}: {refused}")),
    }
}
