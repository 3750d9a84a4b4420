//! A small disk in memory, and the program on it when there is no more room.

#![allow(dead_code)]

use super::kept::{Kept, copied};
use super::pty::Session;
use super::work::{ITEMS, Sort, Work, text};
use super::{older, walk};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

const NIGHT: &str = "2026-11-23T01:30:00+01:00";
/// Bytes of a page of the disk.
const PAGE: u64 = 4_096;
/// Room enough for everything.
const ROOM: u64 = 256 * 1_024 * 1_024;
/// A file that takes one page, so that something is always on the disk.
const FILLER: &str = "filler";
/// Items of an older book.
const OLD_ITEMS: i64 = 200;

fn said<T, E: std::fmt::Display>(done: Result<T, E>) -> Result<T, String> {
    done.map_err(|error| error.to_string())
}

/// The disk, and what was heard of the program.
pub(crate) struct Full {
    home: PathBuf,
    disk: PathBuf,
    book: PathBuf,
    fresh: PathBuf,
    work: Work,
    random: ChaCha8Rng,
    /// What was said, by what was being done, and how often.
    heard: BTreeMap<(String, String), u64>,
}

impl Full {
    pub(crate) fn new(home: &Path, seed: u64) -> Result<Full, String> {
        let (disk, aside) = (home.join("disk"), home.join("aside"));
        said(fs::create_dir(&disk).and_then(|()| fs::create_dir(&aside)))?;
        let mut work = Work::new(&aside, seed, "");
        let fresh = home.join("fresh.tantalus");
        work.make_book(&fresh)?;
        let mut mount = Command::new("mount");
        mount.args(["-t", "tmpfs", "-o", &format!("size={ROOM}"), "tmpfs"]).arg(&disk);
        ran(&mut mount)?;
        Ok(Full {
            home: home.to_owned(),
            book: disk.join("bar.tantalus"),
            disk,
            fresh,
            work,
            random: ChaCha8Rng::seed_from_u64(seed),
            heard: BTreeMap::new(),
        })
    }

    pub(crate) fn leave(&self) {
        // With the namespace the disk goes away by itself.
        let _ = Command::new("umount").arg(&self.disk).status();
    }

    /// Says what was found, as soon as it is.
    fn tells(&self, figures: &str) {
        println!("{figures}");
    }

    /// Every message, for people to read.
    pub(crate) fn told(&self) -> String {
        let mut out = "what was said:\n".to_owned();
        for ((doing, message), times) in &self.heard {
            out += &format!("  {times:4} x {doing}:\n      {}\n", message.trim_end().replace('\n', "\n      "));
        }
        out
    }

    fn size(&self, options: &str) -> Result<(), String> {
        ran(Command::new("mount").args(["-o", &format!("remount,{options}")]).arg(&self.disk))
    }

    /// Makes the disk as large as it need be.
    fn room(&self) -> Result<(), String> {
        self.size(&format!("rw,size={ROOM}"))
    }

    /// Leaves so many pages free.
    fn leave_free(&self, pages: u64) -> Result<(), String> {
        let output = said(Command::new("stat").args(["-f", "-c", "%b %f %S"]).arg(&self.disk).output())?;
        let figures = String::from_utf8_lossy(&output.stdout).into_owned();
        let mut figures = figures.split_whitespace().map(|figure| figure.parse::<u64>());
        let mut next = || figures.next().and_then(Result::ok).ok_or("the disk does not say how full it is");
        let (all, free, size) = (next()?, next()?, next()?);
        if size != PAGE {
            return Err(format!("the disk has pages of {size} bytes"));
        }
        self.size(&format!("size={}", (all - free + pages) * PAGE))
    }

    /// An empty disk with room, and a book on it.
    fn afresh(&self, book: Option<&Path>) -> Result<(), String> {
        self.room()?;
        for entry in said(fs::read_dir(&self.disk))? {
            let path = said(entry)?.path();
            said(if path.is_dir() { fs::remove_dir_all(&path) } else { fs::remove_file(&path) })?;
        }
        // A disk of size 0 would be one without an end.
        said(fs::write(self.disk.join(FILLER), [1; PAGE as usize]))?;
        book.map_or(Ok(()), |book| said(copied(book, &self.book)))
    }

    /// Whether a command was accepted; that it was refused in words, where it was.
    fn hears(&mut self, doing: &str, output: &Output) -> Result<bool, String> {
        let message = String::from_utf8_lossy(&output.stderr).into_owned();
        match output.status.code() {
            Some(0) => Ok(true),
            Some(1) => {
                self.clear(doing, &message)?;
                Ok(false)
            }
            code => Err(format!("{doing}: the program ended with {code:?}: {message}")),
        }
    }

    /// Notes a message; refuses one that is none for people.
    fn clear(&mut self, doing: &str, message: &str) -> Result<(), String> {
        let plain = message.replace(&text(&self.disk), "DISK");
        for never in ["os error", "SQL", "panicked", "database", "code"] {
            if plain.contains(never) {
                return Err(format!("{doing}: this is no message for people: {plain}"));
            }
        }
        let helps = ["room", "full", "written", "allowed"].iter().any(|word| plain.contains(word));
        if !plain.starts_with("tantalus: ") || !helps {
            return Err(format!("{doing}: this says neither what is wrong nor what to do: {plain}"));
        }
        *self.heard.entry((doing.to_owned(), plain)).or_default() += 1;
        Ok(())
    }

    /// Commands one after the other, with so many pages free, until no more is needed.
    pub(crate) fn work(&mut self) -> Result<(), String> {
        let sorts = [Sort::Sheet, Sort::Par, Sort::Counts, Sort::Till, Sort::Sheet];
        let aside = self.home.join("copy.tantalus");
        let (mut refusals, mut accepted) = (0, 0);
        for pages in 0.. {
            self.afresh(Some(&self.fresh))?;
            self.leave_free(pages)?;
            let mut before = Kept::of(&self.fresh)?;
            said(copied(&self.fresh, &aside))?;
            let mut refused = false;
            for sort in sorts {
                let deed = self.work.next(sort)?;
                deed.run(&aside)?;
                let after = Kept::of(&aside)?;
                let output = said(deed.on(&self.book).output())?;
                let doing = format!("{sort:?}");
                if self.hears(&doing, &output)? {
                    accepted += 1;
                } else {
                    (refused, refusals) = (true, refusals + 1);
                    // While there is no room, whoever asks is told so, or gets an answer.
                    let check = said(
                        Command::new(env!("CARGO_BIN_EXE_tantalus")).args(["check", "--book"]).arg(&self.book).output(),
                    )?;
                    self.hears("check, on the full disk", &check)?;
                    self.room()?;
                    let now = Kept::of(&self.book)?;
                    if now != before {
                        return Err(format!(
                            "{pages} pages free, {doing}: what was refused is there:{}",
                            before.beside(&now)
                        ));
                    }
                    deed.run(&self.book).map_err(|again| format!("with room again: {again}"))?;
                }
                if refused {
                    self.room()?;
                }
                let now = self.looked_at()?;
                if now != after {
                    return Err(format!("{pages} pages free, {doing}: something is lost:{}", after.beside(&now)));
                }
                before = after;
                if refused {
                    break;
                }
            }
            if !refused {
                self.tells(&format!(
                    "commands: 0 to {pages} pages free; {accepted} accepted, {refusals} refused, every refused one accepted with room"
                ));
                return Ok(());
            }
        }
        Ok(())
    }

    /// What the book holds, looked at in a copy elsewhere: its own disk may be full.
    fn looked_at(&self) -> Result<Kept, String> {
        let aside = self.home.join("looked.tantalus");
        said(copied(&self.book, &aside))?;
        Kept::of(&aside)
    }

    /// A new book, with so many pages free.
    pub(crate) fn new_book(&mut self) -> Result<(), String> {
        let plain = self.work.plain()?;
        let making = |book: &Path| {
            let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
            command.arg("init").arg(&plain).arg("--book").arg(book).env("TANTALUS_NOW", NIGHT);
            command.stdin(Stdio::null());
            command.output()
        };
        self.afresh(None)?;
        said(making(&self.book))?;
        let after = Kept::of(&self.book)?;
        let mut refusals = 0;
        for pages in 0.. {
            self.afresh(None)?;
            self.leave_free(pages)?;
            let output = said(making(&self.book))?;
            let accepted = self.hears("a new book", &output)?;
            self.room()?;
            if !accepted {
                refusals += 1;
                let left: Vec<String> = said(fs::read_dir(&self.disk))?
                    .filter_map(|entry| Some(entry.ok()?.file_name().to_string_lossy().into_owned()))
                    .filter(|name| name != FILLER)
                    .collect();
                if !left.is_empty() {
                    return Err(format!("{pages} pages free: a book that could not be made left {left:?} behind"));
                }
                continue;
            }
            if Kept::of(&self.book)? != after {
                return Err(format!("{pages} pages free: a book was made of which a part is missing"));
            }
            self.tells(&format!("a new book: 0 to {pages} pages free; {refusals} refused, nothing left of them"));
            return Ok(());
        }
        Ok(())
    }

    /// A book of every older version, opened with so many pages free.
    pub(crate) fn older(&mut self) -> Result<(), String> {
        for was in 1..super::kept::newest() {
            let old = self.home.join(format!("old-{was}.tantalus"));
            older::book(&old, was as usize, OLD_ITEMS)?;
            let aside = self.home.join("copy.tantalus");
            said(copied(&old, &aside))?;
            let after = Kept::of(&aside)?;
            // Other positions for every version.
            for pages in (was as u64..).step_by(7) {
                self.afresh(Some(&old))?;
                self.leave_free(pages)?;
                let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
                command.args(["count", "--book"]).arg(&self.book).env("TANTALUS_NOW", NIGHT);
                let output = said(command.output())?;
                let accepted = self.hears("an older book", &output)?;
                self.room()?;
                let version = super::kept::version(&self.book)?;
                let copied = older::copy_is_whole(&self.book, was, OLD_ITEMS)?;
                if version != was && !copied {
                    return Err(format!("{pages} pages free: a book of version {was} has no copy"));
                }
                if Kept::of(&self.book)? != after {
                    return Err(format!("{pages} pages free: a book of version {was} lost something"));
                }
                if accepted {
                    self.tells(&format!("a book of version {was}: every seventh of {pages} pages free"));
                    break;
                }
            }
        }
        Ok(())
    }

    /// A count on the screens, with so many pages free once it is begun.
    pub(crate) fn screens(&mut self) -> Result<(), String> {
        let (mut kept, mut refusals, mut pages) = (0, 0, 0);
        loop {
            self.afresh(Some(&self.fresh))?;
            let mut session = walk::start(&self.book, NIGHT);
            walk::count(&mut session, None);
            self.leave_free(pages)?;
            let (mut done, mut refused, mut entry) = (0, false, String::new());
            while done < ITEMS && !refused {
                entry = format!("{}.{}", self.random.random_range(0..4), self.random.random_range(1..10));
                session.press(&entry);
                session.press("\r");
                refused = !kept_or_refused(&mut session, done)?;
                done = walk::done(&session.shown());
            }
            kept += done;
            if refused {
                refusals += 1;
                let message = session
                    .shown()
                    .lines()
                    .find(|line| line.contains("cannot be written"))
                    .unwrap_or("")
                    .trim()
                    .to_owned();
                self.clear("a count on the screens", &format!("tantalus: {message}"))?;
                let held = walk::holds(&session.shown(), session.typing_row(), &self.lines()?);
                held.map_err(|lost| format!("{pages} pages free: {lost}"))?;
                // With room again the same entry is kept.
                self.room()?;
                session.press(&entry);
                session.until("the entry", |screen| !screen.contents().contains("cannot be written"));
                session.press("\r");
                if !kept_or_refused(&mut session, done)? {
                    return Err(format!("{pages} pages free: with room again nothing is kept\n{}", session.shown()));
                }
            }
            session.press("\x03");
            session.end();
            if !refused {
                self.tells(&format!(
                    "a count on the screens: 0 to {pages} pages free; {kept} entries kept, {refusals} refused and kept with room"
                ));
                return Ok(());
            }
            pages += 1;
        }
    }

    /// What is in the open count, looked at in a copy elsewhere: the disk is full.
    fn lines(&self) -> Result<Vec<(String, String)>, String> {
        let aside = self.home.join("looked.tantalus");
        said(copied(&self.book, &aside))?;
        walk::in_book(&aside)
    }

    /// A book, its folder or its disk that cannot be written, by somebody who is not allowed everything.
    pub(crate) fn not_to_be_written(&mut self) -> Result<(), String> {
        use std::os::unix::fs::PermissionsExt;
        let before = Kept::of(&self.fresh)?;
        let cases: [(&str, u32, u32, bool); 5] = [
            ("a book that only may be read", 0o444, 0o755, false),
            ("a folder that only may be read", 0o644, 0o555, false),
            ("a book and a folder that only may be read", 0o444, 0o555, false),
            ("a book that may not even be read", 0o000, 0o755, false),
            ("a disk that only may be read", 0o644, 0o755, true),
        ];
        for (case, of_book, of_folder, read_only) in cases {
            self.afresh(Some(&self.fresh))?;
            let may = |path: &Path, mode: u32| said(fs::set_permissions(path, fs::Permissions::from_mode(mode)));
            may(&self.book, of_book)?;
            may(&self.disk, of_folder)?;
            if read_only {
                self.size("ro")?;
            }
            let deed = self.work.next(Sort::Sheet)?;
            for args in [deed.args.clone(), vec!["stock".to_owned()], vec!["check".to_owned()]] {
                let doing = format!("{case}, {}", args[0]);
                // Root without its rights is bound by what a file says of its owner.
                let mut command = Command::new("setpriv");
                command.args(["--bounding-set=-all", "--inh-caps=-all", "--", env!("CARGO_BIN_EXE_tantalus")]);
                command.args(&args).arg("--book").arg(&self.book).env("TANTALUS_NOW", &deed.now).stdin(Stdio::null());
                let output = said(command.output())?;
                let accepted = self.hears(&doing, &output)?;
                if accepted && args[0] == "count" {
                    return Err(format!("{doing}: this was accepted"));
                }
                if accepted {
                    *self.heard.entry((doing, "(an answer)".to_owned())).or_default() += 1;
                }
            }
            if read_only {
                self.room()?;
            }
            may(&self.disk, 0o755)?;
            may(&self.book, 0o644)?;
            if Kept::of(&self.book)? != before {
                return Err(format!("{case}: the book was changed"));
            }
        }
        self.tells(&format!("{} ways in which nothing can be written", cases.len()));
        Ok(())
    }
}

/// Reads on until one more line is done, or the screen says that it cannot be written: whether it is done.
fn kept_or_refused(session: &mut Session, before: usize) -> Result<bool, String> {
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_secs(20) {
        session.catch_up();
        if walk::done(&session.shown()) > before {
            return Ok(true);
        }
        if session.shown().contains("cannot be written") {
            return Ok(false);
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    Err(format!("an entry was neither kept nor refused:\n{}", session.shown()))
}

fn ran(command: &mut Command) -> Result<(), String> {
    let output = said(command.output())?;
    if output.status.success() {
        return Ok(());
    }
    Err(format!("{command:?}: {}", String::from_utf8_lossy(&output.stderr)))
}
