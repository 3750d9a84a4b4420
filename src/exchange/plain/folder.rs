//! The folder: which of the files it holds.

use super::{FILES, Fault, Faults, Plain, Table};
use crate::exchange::{At, ExchangeError, opening};
use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A folder of plain files.
#[derive(Debug)]
pub struct Folder {
    files: HashMap<Plain, Held>,
}

/// A file of the folder.
#[derive(Debug)]
enum Held {
    /// On the disk, with its size.
    File(PathBuf, u64),
    /// As a text: what was written at the keyboard.
    Text(String),
}

impl Held {
    fn size(&self) -> u64 {
        match self {
            Held::File(_, size) => *size,
            Held::Text(text) => text.len() as u64,
        }
    }
}

impl Folder {
    /// Looks into a folder. Other files than tables (a README) and hidden ones are passed over; an unknown table is a
    /// fault, because it is more likely a misspelt name than meant for somebody else.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn open(path: &Path, faults: &mut Faults) -> Result<Folder, ExchangeError> {
        let known = || FILES.iter().map(|f| f.name).collect::<Vec<_>>().join(", ");
        let mut files = HashMap::new();
        let mut unknown = Vec::new();
        let entries = opening::about(path).and_then(|_| fs::read_dir(path)).at("looking into", path)?;
        for entry in entries {
            let entry = entry.at("looking into", path)?;
            let name = entry.file_name().to_string_lossy().into_owned();
            let is_table = name.to_lowercase().ends_with(".csv") && !name.starts_with('.');
            // Through a link too.
            let about = opening::about(&entry.path());
            if !is_table || about.as_ref().is_ok_and(fs::Metadata::is_dir) {
                continue;
            }
            match Plain::ALL.iter().find(|p| p.name() == name) {
                Some(file) => {
                    let size = about.at("looking at", &entry.path())?.len();
                    files.insert(*file, Held::File(entry.path(), size));
                }
                None => unknown.push(name),
            }
        }
        unknown.sort();
        for name in &unknown {
            faults.push(Fault::of_file(name, say!("unknown file; expected one of {known}", known = known())));
        }
        if files.is_empty() && unknown.is_empty() {
            let folder = path.display().to_string();
            faults.push(Fault::of_file(
                &folder,
                say!("none of the files is here; expected some of {known}", known = known()),
            ));
        }
        Ok(Folder { files })
    }

    /// One file alone, whatever it is called.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn of_one(file: Plain, path: &Path) -> Result<Folder, ExchangeError> {
        let size = opening::about(path).at("looking at", path)?.len();
        Ok(Folder { files: HashMap::from([(file, Held::File(path.to_owned(), size))]) })
    }

    /// Lines that are in no file, each with a cell for every column of the description.
    pub fn of_lines(lines: &[(Plain, Vec<Vec<String>>)]) -> Folder {
        let text = |file: &Plain, lines: &[Vec<String>]| {
            let heads = file.spec().columns.iter().map(|column| column.name.to_owned()).collect();
            let quoted = |cell: &String| format!("\"{}\"", cell.replace('"', "\"\""));
            let line = |cells: &Vec<String>| cells.iter().map(quoted).collect::<Vec<_>>().join(",");
            std::iter::once(&heads).chain(lines).map(line).collect::<Vec<_>>().join("\n")
        };
        Folder { files: lines.iter().map(|(file, lines)| (*file, Held::Text(text(file, lines)))).collect() }
    }

    /// Whether it holds a file.
    pub fn has(&self, file: Plain) -> bool {
        self.files.contains_key(&file)
    }

    /// Bytes of all the files.
    pub fn bytes(&self) -> u64 {
        self.files.values().map(Held::size).sum()
    }

    /// Bytes of one file.
    pub fn size(&self, file: Plain) -> u64 {
        self.files.get(&file).map_or(0, Held::size)
    }

    /// Opens a file, if it is there and its head is right.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn table(&self, file: Plain, faults: &mut Faults) -> Result<Option<Table>, ExchangeError> {
        match self.files.get(&file) {
            Some(Held::File(path, _)) => Table::open(path, file, faults),
            Some(Held::Text(text)) => Table::of_text(text, file, faults),
            None => Ok(None),
        }
    }
}
