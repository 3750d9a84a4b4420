//! What a book holds, as a whole: the rows of all its plain files, so that two books can be compared to the last cell.

#![allow(dead_code)]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use tantalus::desk;
use tantalus::store::{Store, migrations};

/// The rows of every plain file, by the name of the file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Kept(BTreeMap<String, Vec<String>>);

impl Kept {
    /// Opens a book as the program does, looks through all of it, and reads it.
    ///
    /// Says in words when it does not open, is not sound, or cannot be written as plain files.
    pub(crate) fn of(book: &Path) -> Result<Kept, String> {
        let store = Store::open(book).map_err(|refused| format!("the book does not open: {refused}"))?;
        let findings = desk::check::check(&store).map_err(|refused| format!("the check does not run: {refused}"))?;
        if !findings.is_empty() {
            let told: Vec<String> = findings.iter().map(ToString::to_string).collect();
            return Err(format!("the book is not sound: {}", told.join("; ")));
        }
        let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
        desk::dump::dump(&store, folder.path()).map_err(|refused| format!("the book cannot be dumped: {refused}"))?;
        Kept::read(folder.path()).map_err(|error| error.to_string())
    }

    fn read(folder: &Path) -> std::io::Result<Kept> {
        let mut files = BTreeMap::new();
        for entry in fs::read_dir(folder)? {
            let entry = entry?;
            let text = fs::read_to_string(entry.path())?;
            let rows = text.lines().skip(1).map(to_the_minute).collect();
            files.insert(entry.file_name().to_string_lossy().into_owned(), rows);
        }
        Ok(Kept(files))
    }

    /// The rows of one file.
    pub(crate) fn rows(&self, file: &str) -> &[String] {
        self.0.get(file).map_or(&[], Vec::as_slice)
    }

    /// Rows that are in one of two and not in the other, a few of them, for people who look for the fault.
    pub(crate) fn beside(&self, other: &Kept) -> String {
        let mut out = String::new();
        let names = self.0.keys().chain(other.0.keys().filter(|name| !self.0.contains_key(*name)));
        for name in names {
            let (here, there) = (self.rows(name), other.rows(name));
            for (mark, rows, others) in [('-', here, there), ('+', there, here)] {
                let known: std::collections::HashSet<&String> = others.iter().collect();
                for row in rows.iter().filter(|row| !known.contains(row)).take(5) {
                    out += &format!("\n  {mark} {name}: {row}");
                }
            }
        }
        out
    }
}

/// A row with its times to the minute: the clock of the program runs on while a command runs.
fn to_the_minute(row: &str) -> String {
    let cut = |cell: &str| {
        let time = chrono::NaiveDateTime::parse_from_str(cell, "%Y-%m-%d %H:%M:%S%.f");
        time.map_or_else(|_| cell.to_owned(), |time| time.format("%Y-%m-%d %H:%M").to_string())
    };
    row.split(',').map(cut).collect::<Vec<_>>().join(",")
}

/// A book and whatever of it stands in the files beside it, at another name; the index of the log is left behind, as it is
/// made anew from the log.
pub(crate) fn copied(from: &Path, to: &Path) -> std::io::Result<()> {
    for suffix in ["", "-wal", "-shm"] {
        let (from, to) = (with(from, suffix), with(to, suffix));
        match fs::remove_file(&to) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
        if suffix != "-shm" && from.exists() {
            fs::copy(&from, &to)?;
        }
    }
    Ok(())
}

/// A path with something behind its name.
pub(crate) fn with(path: &Path, suffix: &str) -> std::path::PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    name.into()
}

/// How many steps a book has had, without opening it as the program does; 0 for one that is still blank.
pub(crate) fn version(book: &Path) -> Result<i64, String> {
    let conn = rusqlite::Connection::open(book).map_err(|error| error.to_string())?;
    conn.query_row("PRAGMA user_version", [], |row| row.get(0)).map_err(|error| error.to_string())
}

/// The newest version that this program knows.
pub(crate) fn newest() -> i64 {
    migrations::STEPS.len() as i64
}
