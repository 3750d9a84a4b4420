//! Work of the real program under strace, and the power that goes in the middle of it.

#![allow(dead_code)]

use super::kept::{Kept, copied, newest, version};
use super::older;
use super::power::{CALLS, Deed, Disk, How, Trace};
use super::pty::Session;
use super::walk;
use super::work::{ITEMS, Sort, Work, text};
use portable_pty::CommandBuilder;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::HashSet;
use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};
use std::process::Command;
use tantalus::store::{Store, backup, counts};
use tempfile::TempDir;

const NIGHT: &str = "2026-11-23T01:30:00+01:00";
const OLD_ITEMS: i64 = 300;

/// Runs a scene to its end under strace.
pub(crate) type Make = fn(u64) -> Result<Scene, String>;

/// A line that was counted: item and entry.
type Line = (String, String);

/// What must be there after a cut.
enum Wants {
    /// The book is as after one of the runs that were begun, and not before those that had been accepted; before the
    /// first run there may be none.
    Runs { states: Vec<Option<Kept>> },
    /// What the screens had painted as kept; and nothing but the beginning of what was entered.
    Walk { lines: Vec<Line>, lag: usize },
    /// The book is what it was, and so is the copy where it is there, which it must be once that was said.
    Copy { book: Kept },
    /// Of this version or the newest, then with a copy beside it; what it holds is the same.
    Older { was: i64, after: Kept },
}

/// What a scene did to its files, from first to last.
pub(crate) struct Scene {
    home: TempDir,
    folder: PathBuf,
    begins: Disk,
    deeds: Vec<Deed>,
    /// Where in `deeds` each run begins.
    runs: Vec<usize>,
    wants: Wants,
}

/// What came of the cuts of a scene.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Found {
    pub(crate) done: usize,
    pub(crate) syncs: usize,
    pub(crate) cuts: u64,
    pub(crate) unsure: u64,
    pub(crate) different: usize,
}

/// A scene that is being made.
struct Making {
    home: TempDir,
    folder: PathBuf,
    disk: Disk,
    trace: Trace,
    begins: Disk,
    deeds: Vec<Deed>,
    runs: Vec<usize>,
}

fn said<T, E: std::fmt::Display>(done: Result<T, E>) -> Result<T, String> {
    done.map_err(|error| error.to_string())
}

/// Copies a book as the program does before it brings one up to date; run as a program of its own.
pub(crate) fn copy(from: &Path, to: &Path) -> Result<(), String> {
    let conn = said(rusqlite::Connection::open(from))?;
    said(backup::copy(&conn, to, |_| Ok(true)))?;
    println!("copied");
    Ok(())
}

impl Making {
    /// `fill` makes the files that are there at first; the second folder is for what the disk does not matter of.
    fn new(fill: impl FnOnce(&Path, &Path) -> Result<(), String>) -> Result<Making, String> {
        let home = said(tempfile::tempdir())?;
        let (folder, aside) = (home.path().join("disk"), home.path().join("aside"));
        said(fs::create_dir(&folder).and_then(|()| fs::create_dir(&aside)))?;
        fill(&folder, &aside)?;
        let disk = said(Disk::of(&folder))?;
        let trace = Trace::of(&folder);
        Ok(Making { home, folder, begins: disk.clone(), disk, trace, deeds: Vec::new(), runs: Vec::new() })
    }

    fn strace(&self) -> (Vec<String>, PathBuf) {
        let trace = self.home.path().join("trace");
        let options = ["-f", "-ttt", "-xx", "-s", "10000000", "-e", CALLS, "-o"].map(str::to_owned);
        (options.into_iter().chain([text(&trace), "--".to_owned()]).collect(), trace)
    }

    /// Runs a command under strace and takes in what it did.
    fn run(&mut self, of: &Command) -> Result<(), String> {
        let (options, trace) = self.strace();
        let mut command = Command::new("strace");
        command.args(options).arg(of.get_program()).args(of.get_args()).current_dir(&self.folder);
        command.stdin(std::process::Stdio::null());
        command.envs(of.get_envs().filter_map(|(name, value)| Some((name, value?))));
        let output = said(command.output()).map_err(|error| format!("strace does not run: {error}"))?;
        if !output.status.success() {
            return Err(format!("{of:?}: {}", String::from_utf8_lossy(&output.stderr)));
        }
        self.take(&trace)
    }

    fn take(&mut self, trace: &Path) -> Result<(), String> {
        let traced = said(fs::read_to_string(trace))?;
        let disk = &self.disk;
        let deeds = self.trace.read(&traced, |path| disk.has(path))?;
        self.runs.push(self.deeds.len());
        for deed in &deeds {
            self.disk.take(deed)?;
        }
        self.deeds.extend(deeds);
        // The files that the calls make must be those that the program made: else something was overlooked.
        let seen = self.disk.seen();
        let real = said(Disk::of(&self.folder))?.seen();
        if seen.files != real.files {
            let names = |cut: &super::power::Cut| {
                let each = cut.files.iter().map(|(path, bytes)| format!("{} ({} bytes)", path.display(), bytes.len()));
                each.collect::<Vec<_>>().join(", ")
            };
            return Err(format!("the trace makes other files: {} instead of {}", names(&seen), names(&real)));
        }
        Ok(())
    }

    fn done(self, wants: Wants) -> Scene {
        let Making { home, folder, begins, deeds, runs, .. } = self;
        Scene { home, folder, begins, deeds, runs, wants }
    }
}

impl Scene {
    /// Two rounds of everything that commands write.
    pub(crate) fn work(seed: u64) -> Result<Scene, String> {
        let mut work = None;
        let mut making = Making::new(|folder, aside| {
            let mut made = Work::new(aside, seed, "");
            made.make_book(&folder.join("bar.tantalus"))?;
            work = Some(made);
            Ok(())
        })?;
        let mut work = work.ok_or("a bar")?;
        let (book, aside) = (making.folder.join("bar.tantalus"), making.home.path().join("aside/copy.tantalus"));
        let state = || -> Result<Kept, String> {
            said(copied(&book, &aside))?;
            Kept::of(&aside)
        };
        let mut states = vec![Some(state()?)];
        for _ in 0..2 {
            for sort in Sort::ALL {
                let mut deed = work.next(sort)?;
                // Where nothing is short there is no order to send.
                while sort == Sort::Order && deed.run(&aside).is_err() {
                    let par = work.next(Sort::Par)?;
                    par.run(&aside)?;
                    making.run(&par.on(&book))?;
                    states.push(Some(state()?));
                    deed = work.next(sort)?;
                }
                making.run(&deed.on(&book))?;
                states.push(Some(state()?));
            }
        }
        Ok(making.done(Wants::Runs { states }))
    }

    /// A new book from a folder of plain files.
    pub(crate) fn new_book(seed: u64) -> Result<Scene, String> {
        let mut making = Making::new(|_, _| Ok(()))?;
        let plain = Work::new(&making.home.path().join("aside"), seed, "").plain()?;
        let book = making.folder.join("bar.tantalus");
        let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
        command.arg("init").arg(&plain).arg("--book").arg(&book).env("TANTALUS_NOW", NIGHT);
        making.run(&command)?;
        let aside = making.home.path().join("aside/copy.tantalus");
        said(copied(&book, &aside))?;
        let states = vec![None, Some(Kept::of(&aside)?)];
        Ok(making.done(Wants::Runs { states }))
    }

    /// A copy of a book.
    pub(crate) fn copy(seed: u64) -> Result<Scene, String> {
        let mut making =
            Making::new(|folder, aside| Work::new(aside, seed, "").make_book(&folder.join("bar.tantalus")))?;
        let (book, aside) = (making.folder.join("bar.tantalus"), making.home.path().join("aside/copy.tantalus"));
        said(copied(&book, &aside))?;
        let mut command = Command::new(said(std::env::current_exe())?);
        command.arg("--copy").arg(&book).arg(making.folder.join("copy.tantalus"));
        making.run(&command)?;
        Ok(making.done(Wants::Copy { book: Kept::of(&aside)? }))
    }

    /// A book of an older version, opened for the first time.
    pub(crate) fn older(seed: u64) -> Result<Scene, String> {
        let was = 1 + seed as i64 % (newest() - 1);
        let mut making = Making::new(|folder, _| older::book(&folder.join("bar.tantalus"), was as usize, OLD_ITEMS))?;
        let book = making.folder.join("bar.tantalus");
        let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
        command.args(["count", "--book"]).arg(&book).env("TANTALUS_NOW", NIGHT);
        making.run(&command)?;
        let aside = making.home.path().join("aside/copy.tantalus");
        said(copied(&book, &aside))?;
        Ok(making.done(Wants::Older { was, after: Kept::of(&aside)? }))
    }

    /// A count on the screens: entries one by one and in bursts.
    pub(crate) fn walk(seed: u64) -> Result<Scene, String> {
        let mut making =
            Making::new(|folder, aside| Work::new(aside, seed, "").make_book(&folder.join("bar.tantalus")))?;
        let book = making.folder.join("bar.tantalus");
        let (options, trace) = making.strace();
        let mut command = CommandBuilder::new("strace");
        command.args(options);
        command.args([env!("CARGO_BIN_EXE_tantalus"), "--book", &text(&book)]);
        for (name, value) in [("TERM", "xterm-256color"), ("TANTALUS_NOW", NIGHT), ("NO_COLOR", "1")] {
            command.env(name, value);
        }
        command.cwd(&making.folder);
        let mut session = Session::start(command, 120, 40);
        session.until_text("help");
        walk::count(&mut session, None);
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let (mut entered, mut lag) = (0, 0);
        while entered < 2 * ITEMS {
            // At the end of a place the walk waits.
            let left = ITEMS - entered % ITEMS;
            if entered == ITEMS {
                session.press("n");
            }
            let burst = if random.random() { 1 } else { random.random_range(2..5).min(left) };
            lag = lag.max(burst);
            for _ in 0..burst {
                session.press(&format!("{}.{}\r", random.random_range(0..4), random.random_range(1..10)));
            }
            entered += burst;
            session.until("the next line", |screen| walk::done(&screen.contents()) >= entered);
        }
        session.press("\x03");
        session.end();
        making.take(&trace)?;
        let aside = making.home.path().join("aside/copy.tantalus");
        said(copied(&book, &aside))?;
        Ok(making.done(Wants::Walk { lines: entered_lines(&aside)?, lag }))
    }

    /// How many cuts lose something when the disk says that it synced and did not, and of how many. Where none does, this
    /// scene proves nothing.
    pub(crate) fn lost_by_a_lying_disk(&self, cuts: u64, seed: u64) -> Result<(u64, u64), String> {
        let mut lost = 0;
        let found = self.each_cut(cuts, seed, true, |judged| {
            lost += u64::from(judged.is_err());
            Ok(())
        })?;
        Ok((lost, found.cuts))
    }

    /// Cuts the power so many times: around every sync, name and word to the person, and anywhere.
    pub(crate) fn cut(&self, cuts: u64, seed: u64) -> Result<Found, String> {
        self.each_cut(cuts, seed, false, |judged| judged)
    }

    fn each_cut(
        &self,
        cuts: u64,
        seed: u64,
        lies: bool,
        mut told: impl FnMut(Result<(), String>) -> Result<(), String>,
    ) -> Result<Found, String> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let steps = self.deeds.len();
        let matters = |n: &usize| {
            !matches!(self.deeds.get(*n), Some(Deed::Wrote { .. } | Deed::Length { .. } | Deed::Opened { .. }))
        };
        let around: Vec<usize> = (0..=steps).filter(matters).collect();
        let mut points = around.clone();
        while (points.len() as u64) < cuts {
            let anywhere = random.random_range(0..=steps);
            points.push(if random.random() { anywhere } else { around[random.random_range(0..around.len())] });
        }
        points.sort_unstable();
        let mut found = Found { done: steps, ..Found::default() };
        found.syncs = self.deeds.iter().filter(|deed| matches!(deed, Deed::SyncEnds { .. })).count();
        let mut different = HashSet::new();
        let mut disk = self.begins.clone();
        let mut screen = vt100::Parser::new(
            std::num::NonZeroU16::new(40).ok_or("rows")?,
            std::num::NonZeroU16::new(120).ok_or("columns")?,
            0,
        );
        let (mut at, mut accepted, mut shown) = (0, 0, (String::new(), None));
        let into = self.home.path().join("after");
        for point in points {
            while at < point {
                let deed = &self.deeds[at];
                if !(lies && matches!(deed, Deed::SyncEnds { .. })) {
                    disk.take(deed)?;
                }
                if let Deed::Said(bytes) = deed {
                    screen.process(bytes);
                    // What was shown last counts when the terminal was given back.
                    if screen.screen().alternate_screen() {
                        let typing =
                            (!screen.screen().hide_cursor()).then(|| screen.screen().cursor_position().0.into());
                        shown = (screen.screen().contents(), typing);
                    }
                    accepted = self.runs.iter().filter(|begins| **begins <= at).count();
                }
                at += 1;
            }
            let how = How::ALL[random.random_range(0..How::ALL.len())];
            let cut = disk.cut(how, &mut random);
            let index = match random.random_range(0..3) {
                0 => None,
                1 => Some(Vec::new()),
                _ => Some((0..32_768).map(|_| random.random()).collect::<Vec<u8>>()),
            };
            said(cut.write(&self.folder, &into, index.as_deref()))?;
            let mut hash = DefaultHasher::new();
            cut.files.hash(&mut hash);
            different.insert(hash.finish());
            found.cuts += 1;
            found.unsure += u64::from(disk.unsure());
            let begun = self.runs.iter().filter(|begins| **begins <= at).count();
            let judged = self.judged(&into, accepted, begun, &shown).map_err(|lost| {
                let last: Vec<String> = self.deeds[at.saturating_sub(6)..at].iter().map(short).collect();
                format!("cut at {at} of {steps} ({how:?}): {lost}\n  before it: {}", last.join(" "))
            });
            told(judged).map_err(|lost| {
                // The folder of the scene goes away; these files stay, for people to look at.
                let kept = tempfile::tempdir().map(TempDir::keep).unwrap_or_default();
                let written = cut.write(&self.folder, &kept, index.as_deref());
                format!("{lost}\n  the files: {} {written:?}", kept.display())
            })?;
        }
        found.different = different.len();
        Ok(found)
    }

    /// Whether what must be there after a cut is there.
    fn judged(
        &self,
        into: &Path,
        accepted: usize,
        begun: usize,
        (shown, typing): &(String, Option<usize>),
    ) -> Result<(), String> {
        let path = into.join("bar.tantalus");
        match &self.wants {
            Wants::Runs { states } => {
                let state = if path.exists() { Some(Kept::of(&path)?) } else { None };
                let among = &states[accepted..=begun.max(accepted)];
                if among.contains(&state) {
                    return Ok(());
                }
                let want = states[accepted].as_ref();
                let beside = want.zip(state.as_ref()).map(|(want, is)| want.beside(is));
                Err(format!("{accepted} runs were accepted: {}", beside.unwrap_or("there is no book".to_owned())))
            }
            Wants::Walk { lines, lag } => {
                let kept = entered_lines(&path)?;
                if !lines.starts_with(&kept) {
                    return Err(format!("what is kept is no beginning of what was entered: {kept:?}"));
                }
                let done = walk::done(shown);
                if kept.len() > done + lag {
                    return Err(format!("{} lines are kept and {done} were shown", kept.len()));
                }
                walk::holds(shown, *typing, &kept)
            }
            Wants::Copy { book } => {
                let copy = into.join("copy.tantalus");
                if accepted > 0 && !copy.exists() {
                    return Err("the copy was said to be made and is not there".to_owned());
                }
                for path in [path, copy].iter().filter(|path| path.exists()) {
                    let is = Kept::of(path)?;
                    if is != *book {
                        return Err(format!("{} is not whole:{}", path.display(), book.beside(&is)));
                    }
                }
                Ok(())
            }
            Wants::Older { was, after } => {
                let is = version(&path)?;
                let copied = older::copy_is_whole(&path, *was, OLD_ITEMS)?;
                if is != *was && (is != newest() || !copied) {
                    return Err(format!("the book is of version {is}, its copy is there: {copied}"));
                }
                let kept = Kept::of(&path)?;
                if kept == *after { Ok(()) } else { Err(format!("something is lost:{}", after.beside(&kept))) }
            }
        }
    }
}

/// A deed without its bytes.
fn short(deed: &Deed) -> String {
    match deed {
        Deed::Wrote { opening, at, bytes } => format!("[{opening}: {} bytes at {at}]", bytes.len()),
        Deed::Said(bytes) => format!("[said {} bytes]", bytes.len()),
        other => format!("[{other:?}]"),
    }
}

/// Every entry of the open count of a sound book, in the order in which they were made.
fn entered_lines(book: &Path) -> Result<Vec<Line>, String> {
    let store = said(Store::open(book))?;
    let findings = said(tantalus::desk::check::check(&store))?;
    if !findings.is_empty() {
        return Err(format!("the book is not sound: {findings:?}"));
    }
    let setup = said(tantalus::desk::comparing::setup(&store))?;
    let rows = said(store.read(|conn| match counts::open_count(conn)? {
        Some(open) => counts::history(conn, open.id),
        None => Ok(Vec::new()),
    }))?;
    Ok(rows.iter().rev().map(|row| (setup.item_name(row.line.item).to_owned(), row.line.entry.to_string())).collect())
}
