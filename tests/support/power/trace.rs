//! Reads what strace wrote of one run of a program, strictly: a call that could change a watched file and is not understood
//! is refused, so that nothing is left out of the reckoning.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// The calls that must be traced: all that make, change, sync, name or take away files, or say which file a number is.
pub(crate) const CALLS: &str = "trace=open,openat,openat2,creat,write,pwrite64,writev,pwritev,pwritev2,ftruncate,truncate,\
    fallocate,fsync,fdatasync,sync_file_range,sync,syncfs,rename,renameat,renameat2,link,linkat,symlink,symlinkat,unlink,\
    unlinkat,mkdir,mkdirat,rmdir,close,close_range,dup,dup2,dup3,fcntl,mmap,msync,lseek,copy_file_range,sendfile,splice,\
    io_uring_setup,clone,clone3,fork,vfork,execve";

/// What was done, in the order of time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Deed {
    /// A file that was not there is made.
    Made(PathBuf),
    /// Bytes are handed over; by the number of the opening, since a file may be renamed or taken away while it is open.
    Wrote { opening: usize, at: u64, bytes: Vec<u8> },
    /// It is cut, or grown with zeros, to so many bytes.
    Length { opening: usize, bytes: u64 },
    /// A sync of a file begins: what was handed over before is meant.
    SyncBegins { opening: usize, sync: usize },
    /// It has returned.
    SyncEnds { sync: usize },
    /// A sync of a folder begins.
    FolderSyncBegins { folder: PathBuf, sync: usize },
    /// A file gets another name, in place of what had it.
    Renamed { from: PathBuf, to: PathBuf },
    /// A name is taken away.
    Gone(PathBuf),
    /// A file is opened under this number.
    Opened { opening: usize, path: PathBuf },
    /// The program has said something to the person.
    Said(Vec<u8>),
}

/// What a number of the program means to it.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Open {
    /// What the person sees.
    Out,
    /// A watched file, by the number of its opening; where plain writes go, when that is known.
    File { opening: usize, at: Option<u64>, writes_only: bool },
    /// The index of a log: shared memory that is made anew after a crash.
    Index,
    /// The watched folder.
    Folder(PathBuf),
    /// Nothing that matters here.
    Other,
}

/// Reads traces of one program after another.
pub(crate) struct Trace {
    /// Only files below it matter.
    folder: PathBuf,
    /// The next numbers.
    openings: usize,
    syncs: usize,
}

/// A call that has begun and not returned, by thread.
type Begun = HashMap<u64, String>;

impl Trace {
    pub(crate) fn of(folder: &Path) -> Trace {
        Trace { folder: folder.to_owned(), openings: 0, syncs: 0 }
    }

    /// What one run did. `there` says whether a watched file exists before it.
    pub(crate) fn read(&mut self, text: &str, there: impl Fn(&Path) -> bool) -> Result<Vec<Deed>, String> {
        let mut run = Run {
            trace: self,
            fds: HashMap::from([(0, Open::Other), (1, Open::Out), (2, Open::Other)]),
            names: HashMap::new(),
            there: &there,
            deeds: Vec::new(),
            begun: Begun::new(),
            syncing: HashMap::new(),
        };
        for (n, line) in text.lines().enumerate() {
            run.line(line).map_err(|what| {
                let shown: String = line.chars().take(300).collect();
                format!("line {} of the trace: {what}\n  {shown}", n + 1)
            })?;
        }
        match run.begun.values().next() {
            Some(open) => Err(format!("the trace ends within {open}")),
            None => Ok(run.deeds),
        }
    }
}

/// One run that is being read.
struct Run<'a> {
    trace: &'a mut Trace,
    fds: HashMap<i64, Open>,
    /// Whether a name is there, where this run has changed that.
    names: HashMap<PathBuf, bool>,
    there: &'a dyn Fn(&Path) -> bool,
    deeds: Vec<Deed>,
    begun: Begun,
    /// Syncs that have begun, by thread.
    syncing: HashMap<u64, usize>,
}

/// What a call returned.
enum Returned {
    Number(i64),
    Failed,
}

impl Run<'_> {
    fn line(&mut self, line: &str) -> Result<(), String> {
        let (thread, rest) = line.split_once(' ').ok_or("no thread")?;
        let thread: u64 = thread.parse().map_err(|_| "no number of a thread")?;
        let rest = rest.trim_start();
        let (time, rest) = rest.split_once(' ').ok_or("no time")?;
        time.parse::<f64>().map_err(|_| "no time")?;
        if rest.starts_with("+++ ") || rest.starts_with("--- ") {
            return Ok(());
        }
        if let Some(resumed) = rest.strip_prefix("<... ") {
            let (name, after) = resumed.split_once(" resumed>").ok_or("no end of “resumed”")?;
            let begun = self.begun.remove(&thread).ok_or("a call goes on that never began")?;
            let (of, arguments) = begun.split_once('(').ok_or("no arguments")?;
            if of != name {
                return Err(format!("{of} began and {name} goes on"));
            }
            return self.call(thread, name, &format!("{arguments}{after}"), false);
        }
        let (name, arguments) = rest.split_once('(').ok_or("no call")?;
        match arguments.strip_suffix(" <unfinished ...>") {
            Some(arguments) => {
                self.begins(thread, name, arguments)?;
                self.begun.insert(thread, format!("{name}({arguments}"));
                Ok(())
            }
            None => self.call(thread, name, arguments, true),
        }
    }

    /// What takes effect when a call begins: bytes may reach the disk from then on, and a sync means what was handed over
    /// before.
    fn begins(&mut self, thread: u64, name: &str, arguments: &str) -> Result<(), String> {
        let cells = cells(arguments)?;
        match name {
            "write" | "pwrite64" => self.writes(name, &cells),
            "writev" => self.says(&cells),
            "fsync" | "fdatasync" => self.sync_begins(thread, &cells),
            _ => Ok(()),
        }
    }

    /// A call that has returned; `whole` when its beginning was not seen before.
    fn call(&mut self, thread: u64, name: &str, text: &str, whole: bool) -> Result<(), String> {
        let (arguments, returned) = split_returned(text)?;
        if whole {
            self.begins(thread, name, arguments)?;
        }
        let cells = cells(arguments)?;
        let done = match returned {
            Returned::Number(n) => n,
            // What failed changed nothing; but a write that fails may have changed something.
            Returned::Failed => {
                let harmless = matches!(
                    name,
                    "openat"
                        | "open"
                        | "unlink"
                        | "unlinkat"
                        | "rename"
                        | "mkdir"
                        | "fcntl"
                        | "execve"
                        | "close"
                        | "lseek"
                );
                return if harmless { Ok(()) } else { Err(format!("{name} failed")) };
            }
        };
        match name {
            "execve" | "clone3" | "clone" => {
                let thread =
                    name == "execve" || arguments.contains("CLONE_THREAD") && arguments.contains("CLONE_FILES");
                if thread { Ok(()) } else { Err("another process is started".to_owned()) }
            }
            "openat" => self.opened(&cells, done),
            "write" | "pwrite64" => self.wrote(name, &cells, done),
            "writev" => Ok(()),
            "ftruncate" => match self.open(cells.first())? {
                Open::File { opening, .. } => {
                    let bytes = number(cells.get(1))?;
                    self.deeds.push(Deed::Length { opening, bytes: u64::try_from(bytes).map_err(|_| "below zero")? });
                    Ok(())
                }
                Open::Index | Open::Other | Open::Out => Ok(()),
                Open::Folder(_) => Err("a folder is cut".to_owned()),
            },
            "fsync" | "fdatasync" => {
                if let Some(sync) = self.syncing.remove(&thread) {
                    self.deeds.push(Deed::SyncEnds { sync });
                }
                Ok(())
            }
            "rename" => {
                let (from, to) = (self.path(cells.first())?, self.path(cells.get(1))?);
                if self.watched(&from) != self.watched(&to) {
                    return Err("a file is moved into or out of the folder".to_owned());
                }
                if self.watched(&from) {
                    if from.parent() != to.parent() {
                        return Err("a file is moved to another folder".to_owned());
                    }
                    self.names.insert(from.clone(), false);
                    self.names.insert(to.clone(), true);
                    self.deeds.push(Deed::Renamed { from, to });
                }
                Ok(())
            }
            "unlink" => self.gone(cells.first()),
            "unlinkat" => match cells.first().map(String::as_str) {
                Some("AT_FDCWD") => self.gone(cells.get(1)),
                _ => Err("a name within another folder is taken away".to_owned()),
            },
            "close" => {
                self.fds.remove(&number(cells.first())?);
                Ok(())
            }
            "dup" | "dup2" | "dup3" => self.same(cells.first(), done),
            "fcntl" => match cells.get(1).map(String::as_str) {
                Some("F_DUPFD" | "F_DUPFD_CLOEXEC") => self.same(cells.first(), done),
                Some(
                    "F_SETLK" | "F_SETLKW" | "F_GETLK" | "F_OFD_SETLK" | "F_OFD_GETLK" | "F_GETFD" | "F_SETFD"
                    | "F_GETFL" | "F_SETFL",
                ) => Ok(()),
                other => Err(format!("fcntl with {other:?}")),
            },
            "mmap" => {
                let shared = cells.get(3).is_some_and(|flags| flags.contains("MAP_SHARED"));
                let written = cells.get(2).is_some_and(|access| access.contains("PROT_WRITE"));
                let fd = number(cells.get(4))?;
                match self.fds.get(&fd) {
                    Some(Open::File { .. }) if shared && written => Err("a file is written through memory".to_owned()),
                    _ => Ok(()),
                }
            }
            "lseek" => {
                let fd = number(cells.first())?;
                let to = u64::try_from(done).map_err(|_| "below zero")?;
                if let Some(Open::File { at, .. }) = self.fds.get_mut(&fd) {
                    *at = Some(to);
                }
                Ok(())
            }
            "mkdir" => {
                let path = self.path(cells.first())?;
                if self.watched(&path) { Err("a folder is made".to_owned()) } else { Ok(()) }
            }
            "rmdir" => {
                let path = self.path(cells.first())?;
                if self.watched(&path) { Err("a folder is taken away".to_owned()) } else { Ok(()) }
            }
            "link" | "linkat" => {
                let (from, to) = if name == "link" { (0, 1) } else { (1, 3) };
                let second = self.watched(&self.path(cells.get(from))?) || self.watched(&self.path(cells.get(to))?);
                if second { Err("a file gets a second name".to_owned()) } else { Ok(()) }
            }
            "copy_file_range" | "sendfile" | "splice" => {
                let to = cells.get(if name == "sendfile" { 0 } else { 2 });
                match self.open(to)? {
                    Open::Other => Ok(()),
                    to => Err(format!("{name} into {to:?}")),
                }
            }
            other => Err(format!("the call {other} is not understood")),
        }
    }

    fn opened(&mut self, cells: &[String], fd: i64) -> Result<(), String> {
        let path = match cells.first().map(String::as_str) {
            Some("AT_FDCWD") => self.path(cells.get(1))?,
            _ => {
                let path = self.path(cells.get(1))?;
                if path.is_relative() {
                    return Err("a file within another folder is opened".to_owned());
                }
                path
            }
        };
        let flags: Vec<&str> = cells.get(2).map(|flags| flags.split('|').collect()).unwrap_or_default();
        let has = |flag: &str| flags.contains(&flag);
        if !self.watched(&path) {
            self.fds.insert(fd, Open::Other);
            return Ok(());
        }
        if path == self.trace.folder || has("O_DIRECTORY") {
            self.fds.insert(fd, Open::Folder(path));
            return Ok(());
        }
        // A folder may be opened like a file, to sync it.
        if path.is_dir() {
            self.fds.insert(fd, Open::Folder(path));
            return Ok(());
        }
        if path.to_string_lossy().ends_with("-shm") {
            self.fds.insert(fd, Open::Index);
            return Ok(());
        }
        if has("O_APPEND") || has("O_TMPFILE") {
            return Err("a file is opened in a way that is not understood".to_owned());
        }
        let there = self.names.get(&path).copied().unwrap_or_else(|| (self.there)(&path));
        if !there {
            if !has("O_CREAT") {
                return Err("a file is opened that is not there".to_owned());
            }
            self.names.insert(path.clone(), true);
            self.deeds.push(Deed::Made(path.clone()));
        }
        let opening = self.trace.openings;
        self.trace.openings += 1;
        self.deeds.push(Deed::Opened { opening, path });
        if there && has("O_TRUNC") {
            self.deeds.push(Deed::Length { opening, bytes: 0 });
        }
        self.fds.insert(fd, Open::File { opening, at: Some(0), writes_only: has("O_WRONLY") });
        Ok(())
    }

    fn writes(&mut self, name: &str, cells: &[String]) -> Result<(), String> {
        let fd = number(cells.first())?;
        let bytes = bytes(cells.get(1))?;
        let length = bytes.len() as u64;
        match self.open(cells.first())? {
            Open::Out => self.deeds.push(Deed::Said(bytes)),
            Open::Other | Open::Index => {}
            Open::Folder(_) => return Err("a folder is written".to_owned()),
            Open::File { opening, at, writes_only } => {
                let here = match name {
                    "pwrite64" => u64::try_from(number(cells.get(3))?).map_err(|_| "below zero")?,
                    _ => at.ok_or("nobody knows where this is written")?,
                };
                if name == "write" {
                    // Reads are not traced; where they may come between, the next place is not known.
                    let next = writes_only.then_some(here + length);
                    self.fds.insert(fd, Open::File { opening, at: next, writes_only });
                }
                self.deeds.push(Deed::Wrote { opening, at: here, bytes });
            }
        }
        Ok(())
    }

    /// After a write: all of it must have gone.
    fn wrote(&mut self, name: &str, cells: &[String], done: i64) -> Result<(), String> {
        let watched = matches!(self.open(cells.first())?, Open::File { .. });
        let length = bytes(cells.get(1))?.len() as i64;
        if watched && done != length { Err(format!("{name} wrote {done} of {length} bytes")) } else { Ok(()) }
    }

    fn says(&mut self, cells: &[String]) -> Result<(), String> {
        match self.open(cells.first())? {
            Open::Out => Err("the person is told something in pieces".to_owned()),
            Open::File { .. } => Err("a file is written in pieces".to_owned()),
            _ => Ok(()),
        }
    }

    fn sync_begins(&mut self, thread: u64, cells: &[String]) -> Result<(), String> {
        let sync = self.trace.syncs;
        match self.open(cells.first())? {
            Open::File { opening, .. } => self.deeds.push(Deed::SyncBegins { opening, sync }),
            Open::Folder(folder) => self.deeds.push(Deed::FolderSyncBegins { folder, sync }),
            Open::Index | Open::Other | Open::Out => return Ok(()),
        }
        self.trace.syncs += 1;
        self.syncing.insert(thread, sync);
        Ok(())
    }

    fn gone(&mut self, cell: Option<&String>) -> Result<(), String> {
        let path = self.path(cell)?;
        if self.watched(&path) && !path.to_string_lossy().ends_with("-shm") {
            self.names.insert(path.clone(), false);
            self.deeds.push(Deed::Gone(path));
        }
        Ok(())
    }

    fn same(&mut self, cell: Option<&String>, as_well: i64) -> Result<(), String> {
        match self.open(cell)? {
            // Two numbers would share one place.
            Open::File { .. } => Err("a file gets a second number".to_owned()),
            open => {
                self.fds.insert(as_well, open);
                Ok(())
            }
        }
    }

    fn open(&self, cell: Option<&String>) -> Result<Open, String> {
        let fd = number(cell)?;
        self.fds.get(&fd).cloned().ok_or_else(|| format!("nobody opened number {fd}"))
    }

    fn path(&self, cell: Option<&String>) -> Result<PathBuf, String> {
        let bytes = bytes(cell)?;
        let path = PathBuf::from(String::from_utf8(bytes).map_err(|_| "a path that is no text")?);
        // The traced program runs within the folder.
        Ok(if path.is_relative() { self.trace.folder.join(path) } else { path })
    }

    fn watched(&self, path: &Path) -> bool {
        // The copies beside a book are no part of it, each being looked at before it gets its name; nor is who has it open.
        let beside =
            |part: &std::ffi::OsStr| [".copies", ".here"].iter().any(|end| part.to_string_lossy().ends_with(end));
        path.strip_prefix(&self.trace.folder).is_ok_and(|within| !within.iter().any(beside))
    }
}

/// The text of a call up to its closing bracket, and what it returned.
fn split_returned(text: &str) -> Result<(&str, Returned), String> {
    let at = text.rfind(" = ").ok_or("no returned value")?;
    let (arguments, returned) = (text[..at].trim_end(), &text[at + 3..]);
    let arguments = arguments.strip_suffix(')').ok_or("no closing bracket")?;
    let first = returned.split(' ').next().unwrap_or_default();
    if returned.starts_with("-1 E") {
        return Ok((arguments, Returned::Failed));
    }
    let number = match first.strip_prefix("0x") {
        Some(hex) => i64::from_str_radix(hex, 16).map_err(|_| format!("“{returned}” is no returned value"))?,
        None => first.parse().map_err(|_| format!("“{returned}” is no returned value"))?,
    };
    Ok((arguments, Returned::Number(number)))
}

/// The arguments of a call, apart: commas within brackets and texts part nothing.
fn cells(arguments: &str) -> Result<Vec<String>, String> {
    let (mut out, mut cell, mut depth, mut quoted) = (Vec::new(), String::new(), 0_i32, false);
    for letter in arguments.chars() {
        match letter {
            '"' => quoted = !quoted,
            '[' | '{' | '(' if !quoted => depth += 1,
            ']' | '}' | ')' if !quoted => depth -= 1,
            ',' if !quoted && depth == 0 => {
                out.push(std::mem::take(&mut cell).trim().to_owned());
                continue;
            }
            _ => {}
        }
        cell.push(letter);
    }
    if quoted || depth != 0 {
        return Err("the arguments do not end".to_owned());
    }
    out.push(cell.trim().to_owned());
    Ok(out)
}

fn number(cell: Option<&String>) -> Result<i64, String> {
    let cell = cell.ok_or("an argument is missing")?;
    cell.parse().map_err(|_| format!("“{cell}” is no number"))
}

/// A text that strace wrote with -xx: every byte as \x and two digits.
fn bytes(cell: Option<&String>) -> Result<Vec<u8>, String> {
    let cell = cell.ok_or("an argument is missing")?;
    let inner = cell.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
    let inner = inner.ok_or_else(|| "a text that was cut short, or none".to_owned())?;
    let pairs = inner.as_bytes().chunks(4).map(|four| match four {
        [b'\\', b'x', high, low] => {
            let digit = |letter: u8| (letter as char).to_digit(16);
            Some((digit(*high)? * 16 + digit(*low)?) as u8)
        }
        _ => None,
    });
    pairs.collect::<Option<Vec<u8>>>().ok_or_else(|| "a text that is not in -xx".to_owned())
}
