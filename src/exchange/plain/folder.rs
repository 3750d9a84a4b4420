//! The folder: which of the files it holds.

use super::{FILES, Fault, Faults, Plain, Table};
use crate::exchange::{At, ExchangeError, opening};
use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A folder of plain files.
#[derive(Debug)]
pub struct Folder {
    files: HashMap<Plain, (PathBuf, u64)>,
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
                    files.insert(*file, (entry.path(), size));
                }
                None => unknown.push(name),
            }
        }
        unknown.sort();
        for name in &unknown {
            faults.push(Fault::of_file(name, format!("unknown file; expected one of {}", known())));
        }
        if files.is_empty() && unknown.is_empty() {
            let folder = path.display().to_string();
            faults.push(Fault::of_file(&folder, format!("none of the files is here; expected some of {}", known())));
        }
        Ok(Folder { files })
    }

    /// One file alone, whatever it is called.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn of_one(file: Plain, path: &Path) -> Result<Folder, ExchangeError> {
        let size = opening::about(path).at("looking at", path)?.len();
        Ok(Folder { files: HashMap::from([(file, (path.to_owned(), size))]) })
    }

    /// Whether it holds a file.
    pub fn has(&self, file: Plain) -> bool {
        self.files.contains_key(&file)
    }

    /// Bytes of all the files.
    pub fn bytes(&self) -> u64 {
        self.files.values().map(|(_, size)| size).sum()
    }

    /// Bytes of one file.
    pub fn size(&self, file: Plain) -> u64 {
        self.files.get(&file).map_or(0, |(_, size)| *size)
    }

    /// Opens a file, if it is there and its head is right.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn table(&self, file: Plain, faults: &mut Faults) -> Result<Option<Table>, ExchangeError> {
        match self.files.get(&file) {
            Some((path, _)) => Table::open(path, file, faults),
            None => Ok(None),
        }
    }
}
