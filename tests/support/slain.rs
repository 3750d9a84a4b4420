//! A bar whose program is killed again and again, in the middle of whatever it does.

#![allow(dead_code)]

use super::kept::{Kept, copied, newest, version, with};
use super::older;
use super::work::{Deed, Sort, Work, text};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tantalus::store::backup;

/// Half past one at night of the bar's day.
pub(super) const NIGHT: &str = "2026-11-23T01:30:00+01:00";
/// Items of an older book.
const OLD_ITEMS: i64 = 2_000;

/// How rounds of one sort ended.
#[derive(Clone, Copy, Debug, Default)]
struct Ends {
    rounds: u64,
    /// The program had been done before it could be killed.
    ended: u64,
    /// It had said that it was done, or painted all marks.
    accepted: u64,
    /// It had not said so, and all of it is there.
    there: u64,
    /// It had not said so, and nothing of it is there.
    nothing: u64,
}

/// The bar, its books, and what was found so far.
pub(crate) struct Slain {
    pub(super) folder: PathBuf,
    pub(super) random: ChaCha8Rng,
    work: Work,
    /// The book of the commands, and what is in it.
    book: PathBuf,
    kept: Kept,
    /// As it was made.
    pub(super) fresh: PathBuf,
    /// The book that is counted on the screens, and whether its count is begun.
    pub(super) walked: PathBuf,
    pub(super) begun: bool,
    /// A book as it is, with a draft kept, with the order sent.
    pub(super) ordered: Option<[Kept; 3]>,
    ends: BTreeMap<String, Ends>,
    pub(super) entries: u64,
    /// Copies without their name that a kill left behind.
    parts: u64,
}

/// Copies a book as the program does before it brings one up to date; run by a child that is killed.
pub(crate) fn copy(from: &Path, to: &Path) -> Result<(), String> {
    let conn = rusqlite::Connection::open(from).map_err(|error| error.to_string())?;
    backup::copy(&conn, to, |_| Ok(true)).map_err(|refused| refused.to_string())?;
    println!("copied");
    Ok(())
}

pub(super) fn said<T, E: std::fmt::Display>(done: Result<T, E>) -> Result<T, String> {
    done.map_err(|error| error.to_string())
}

/// How a command that was to be killed ended.
struct End {
    /// It had ended by itself.
    ended: bool,
    /// What it had said.
    out: String,
}

impl Slain {
    pub(crate) fn new(folder: &Path, seed: u64) -> Result<Slain, String> {
        let mut work = Work::new(folder, seed, "");
        let book = folder.join("bar.tantalus");
        work.make_book(&book)?;
        let fresh = folder.join("fresh.tantalus");
        said(copied(&book, &fresh))?;
        Ok(Slain {
            kept: Kept::of(&book)?,
            folder: folder.to_owned(),
            random: ChaCha8Rng::seed_from_u64(seed),
            work,
            book,
            fresh,
            walked: folder.join("walked.tantalus"),
            begun: false,
            ordered: None,
            ends: BTreeMap::new(),
            entries: 0,
            parts: 0,
        })
    }

    /// The figures, one line a sort.
    pub(crate) fn told(&self) -> String {
        let mut out = String::from(
            "| what was killed | rounds | ended before | had been accepted | not yet, all there | not yet, nothing there |\n| --- | --- | --- | --- | --- | --- |\n",
        );
        let mut sum = Ends::default();
        for (what, e) in &self.ends {
            out += &format!("| {what} | {} | {} | {} | {} | {} |\n", e.rounds, e.ended, e.accepted, e.there, e.nothing);
            sum.rounds += e.rounds;
        }
        out + &format!(
            "{} rounds, {} entries shown as kept on the screens; nothing accepted was missing, every book was sound.\n\
             {} unfinished copies were left beside a book by a kill.\n",
            sum.rounds, self.entries, self.parts
        )
    }

    pub(super) fn end(&mut self, what: &str, ended: bool, accepted: bool, there: bool) {
        let ends = self.ends.entry(what.to_owned()).or_default();
        ends.rounds += 1;
        ends.ended += u64::from(ended);
        match (accepted, there) {
            (true, _) => ends.accepted += 1,
            (false, true) => ends.there += 1,
            (false, false) => ends.nothing += 1,
        }
    }

    /// Starts a command and kills it after some part of the time that it takes.
    fn killed(&mut self, command: &mut Command, takes: Duration) -> Result<End, String> {
        let mut child = said(command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn())?;
        // Half of the kills come near the end, where the writing is.
        let share =
            if self.random.random() { self.random.random_range(0.0..1.1) } else { self.random.random_range(0.6..1.1) };
        std::thread::sleep(takes.mul_f64(share));
        slay(&mut child)
    }

    /// A command of any sort.
    pub(crate) fn any_command(&mut self) -> Result<(), String> {
        let sort = Sort::ALL[self.random.random_range(0..Sort::ALL.len())];
        self.command(sort)
    }

    /// A command on the book of the bar, killed at a random moment.
    pub(crate) fn command(&mut self, sort: Sort) -> Result<(), String> {
        let (deed, after, takes) = self.tried(sort)?;
        let end = self.killed(&mut deed.on(&self.book), takes)?;
        self.judged(&deed, &end, after)
    }

    /// The next deed of a sort that has something to do, what comes of it on a copy of the book, and how long that takes.
    fn tried(&mut self, sort: Sort) -> Result<(Deed, Kept, Duration), String> {
        let copy = self.folder.join("copy.tantalus");
        let mut sort = sort;
        loop {
            let deed = self.work.next(sort)?;
            said(copied(&self.book, &copy))?;
            let begun = Instant::now();
            match deed.run(&copy) {
                Ok(_) => {
                    let takes = begun.elapsed();
                    let after = Kept::of(&copy)?;
                    if after == self.kept {
                        return Err(format!("{:?} changes nothing, so that nothing could be lost", deed.args));
                    }
                    return Ok((deed, after, takes));
                }
                // Nothing is short: something has to become so first.
                Err(_) if sort == Sort::Order => sort = Sort::Par,
                Err(refused) => return Err(refused),
            }
        }
    }

    /// After a kill: the book is as it was, or as it must be afterwards.
    fn judged(&mut self, deed: &Deed, end: &End, after: Kept) -> Result<(), String> {
        let now = Kept::of(&self.book)?;
        let accepted = !end.out.is_empty();
        if now != after && (accepted || now != self.kept) {
            let than = if accepted { "what was accepted" } else { "what it was, nor what it should be afterwards" };
            return Err(format!("{:?}: the book is not {than}:{}", deed.args, after.beside(&now)));
        }
        let there = now == after;
        self.kept = now;
        self.end(&format!("command: {:?}", deed.sort), end.ended, accepted, there);
        Ok(())
    }

    /// A command killed at its first, second, third … call of every kind that changes files; from the sixteenth on some are
    /// passed over, more and more of them.
    pub(crate) fn at_every_call(&mut self, sort: Sort) -> Result<(), String> {
        for call in ["openat", "pwrite64", "write", "fsync", "fdatasync", "ftruncate", "rename", "unlink"] {
            let mut number = 1;
            loop {
                let (deed, after, _) = self.tried(sort)?;
                let inject = format!("inject={call}:signal=KILL:when={number}");
                let mut command = Command::new("strace");
                command.args(["-f", "-o", "/dev/null", "-e", &format!("trace={call}"), "-e", &inject, "--"]);
                let of = deed.on(&self.book);
                command.arg(of.get_program()).args(of.get_args()).stdin(Stdio::null());
                command.env("TANTALUS_NOW", &deed.now).stdout(Stdio::piped()).stderr(Stdio::piped());
                let output = said(command.output()).map_err(|error| format!("strace does not run: {error}"))?;
                let out = String::from_utf8_lossy(&output.stdout).into_owned();
                let ended = output.status.success();
                self.judged(&deed, &End { ended, out }, after)?;
                if ended {
                    break;
                }
                if output.status.code() == Some(1) {
                    return Err(format!("it refused: {}", String::from_utf8_lossy(&output.stderr)));
                }
                // A file of the till is written in hundreds of calls that are alike.
                number += 1 + number / 16;
            }
        }
        Ok(())
    }

    /// A book of an older version, opened for the first time.
    pub(crate) fn bringing_up_to_date(&mut self) -> Result<(), String> {
        let was = self.random.random_range(1..newest());
        let old = self.folder.join(format!("old-{was}.tantalus"));
        let after = self.folder.join(format!("new-{was}.tantalus"));
        if !old.exists() {
            older::book(&old, was as usize, OLD_ITEMS)?;
        }
        said(copied(&old, &after))?;
        let begun = Instant::now();
        let opening = |book: &Path| {
            let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
            command.args(["count", "--book"]).arg(book).stdin(Stdio::null());
            command
        };
        if !said(opening(&after).output())?.status.success() {
            return Err(format!("a book of version {was} does not open"));
        }
        let takes = begun.elapsed();
        let after = Kept::of(&after)?;
        let book = self.folder.join("older.tantalus");
        said(copied(&old, &book))?;
        said(remove(&tantalus::store::migrations::copy_before(&book, was + 1)))?;
        let end = self.killed(&mut opening(&book), takes)?;
        let now = version(&book)?;
        let copy = older::copy_is_whole(&book, was, OLD_ITEMS)?;
        if now != was && (now != newest() || !copy) {
            return Err(format!("a book of version {was} became one of version {now}, its copy is there: {copy}"));
        }
        let kept = Kept::of(&book)?;
        if kept != after {
            return Err(format!("a book of version {was} lost something:{}", after.beside(&kept)));
        }
        self.parts += self.left_over()?;
        self.end("bringing an older book up to date", end.ended, !end.out.is_empty(), now != was);
        Ok(())
    }

    /// A copy of the book that is being written.
    pub(crate) fn copying(&mut self) -> Result<(), String> {
        let to = self.folder.join("copied.tantalus");
        let copying = || {
            let mut command = Command::new(std::env::current_exe().expect("this program"));
            command.args(["--copy", &text(&self.book), &text(&to)]);
            command
        };
        said(remove(&to))?;
        let begun = Instant::now();
        said(copying().output())?;
        let takes = begun.elapsed();
        said(remove(&to))?;
        let mut command = copying();
        let end = self.killed(&mut command, takes)?;
        let there = to.exists();
        if there && Kept::of(&to)? != self.kept || Kept::of(&self.book)? != self.kept {
            return Err("the copy is not the whole of the book".to_owned());
        }
        let accepted = !end.out.is_empty();
        if accepted && !there {
            return Err("the copy was said to be made and is not there".to_owned());
        }
        self.parts += self.left_over()?;
        self.end("copying the book", end.ended, accepted, there);
        Ok(())
    }

    /// A new book from a folder of plain files.
    pub(crate) fn making(&mut self) -> Result<(), String> {
        let (book, plain) = (self.folder.join("made.tantalus"), self.work.plain()?);
        let making = |book: &Path| {
            let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
            command.arg("init").arg(&plain).arg("--book").arg(book).stdin(Stdio::null());
            command.env("TANTALUS_NOW", NIGHT);
            command
        };
        let gone = |book: &Path| -> Result<(), String> {
            ["", "-wal", "-shm", ".part", ".part-wal", ".part-shm"]
                .iter()
                .try_for_each(|end| said(remove(&with(book, end))))
        };
        gone(&book)?;
        let begun = Instant::now();
        said(making(&book).output())?;
        let (takes, after) = (begun.elapsed(), Kept::of(&book)?);
        gone(&book)?;
        let end = self.killed(&mut making(&book), takes)?;
        let there = book.exists();
        if there && Kept::of(&book)? != after {
            return Err("a book was made of which a part is missing".to_owned());
        }
        let accepted = !end.out.is_empty();
        if accepted && !there {
            return Err("the book was said to be made and is not there".to_owned());
        }
        // What was killed is no obstacle to making it.
        if !there && (!said(making(&book).output())?.status.success() || Kept::of(&book)? != after) {
            return Err("after a kill the book cannot be made any more".to_owned());
        }
        self.end("making a book", end.ended, accepted, there);
        Ok(())
    }

    /// Takes unfinished copies away that a kill left behind, and says how many.
    fn left_over(&self) -> Result<u64, String> {
        let mut number = 0;
        for entry in said(fs::read_dir(&self.folder))? {
            let path = said(entry)?.path();
            if path.to_string_lossy().contains(".part-") {
                said(fs::remove_file(path))?;
                number += 1;
            }
        }
        Ok(number)
    }
}

/// Kills a child, and hears what it had said.
fn slay(child: &mut Child) -> Result<End, String> {
    let before = said(child.try_wait())?;
    if before.is_none() {
        said(child.kill())?;
    }
    let status = said(child.wait())?;
    let mut out = String::new();
    said(child.stdout.take().ok_or("its output")?.read_to_string(&mut out))?;
    if status.code().is_some_and(|code| code != 0) {
        return Err(format!("it refused what it had done on a copy: {status}"));
    }
    Ok(End { ended: before.is_some(), out })
}

/// Takes a file away, where it is.
fn remove(path: &Path) -> std::io::Result<()> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}
