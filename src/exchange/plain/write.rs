//! Writes a folder of plain files: each under a temporary name first, all renamed at the end.

use super::{FILES, Plain};
use crate::exchange::{At, ExchangeError};
use std::fs::{self, File, OpenOptions};
use std::io::BufWriter;
use std::path::{Path, PathBuf};

/// A folder being written.
#[derive(Debug)]
pub struct FolderWriter {
    path: PathBuf,
    written: Vec<Plain>,
}

/// A file being written.
#[derive(Debug)]
pub struct TableWriter {
    file: Plain,
    path: PathBuf,
    writer: csv::Writer<BufWriter<File>>,
    rows: u64,
}

impl FolderWriter {
    /// Makes the folder, or takes one that is empty or holds an earlier dump. Hidden entries and `.md` files may stand
    /// beside (a repository, a README): loading passes them over too.
    ///
    /// # Errors
    /// [`ExchangeError::NotOurs`] when it holds anything else.
    pub fn begin(path: &Path) -> Result<FolderWriter, ExchangeError> {
        fs::create_dir_all(path).at("making the folder", path)?;
        for entry in fs::read_dir(path).at("looking into", path)? {
            let name = entry.at("looking into", path)?.file_name().to_string_lossy().into_owned();
            let ours = FILES.iter().any(|f| f.name == name);
            if !ours && !name.starts_with('.') && !name.to_lowercase().ends_with(".md") {
                return Err(ExchangeError::NotOurs { path: path.to_owned(), found: name });
            }
        }
        Ok(FolderWriter { path: path.to_owned(), written: Vec::new() })
    }

    /// Begins a file with its head.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn table(&mut self, file: Plain) -> Result<TableWriter, ExchangeError> {
        let path = self.temporary(file);
        let mut options = OpenOptions::new();
        options.write(true).create(true).truncate(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt;
            // Prices and sales are nobody else's business.
            options.mode(0o600);
        }
        let opened = options.open(&path).at("writing", &path)?;
        self.written.push(file);
        let mut table = TableWriter { file, writer: csv::Writer::from_writer(BufWriter::new(opened)), path, rows: 0 };
        table.put(&file.spec().columns.iter().map(|c| c.name).collect::<Vec<_>>())?;
        Ok(table)
    }

    /// Gives every file its name.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn finish(mut self) -> Result<(), ExchangeError> {
        for file in std::mem::take(&mut self.written) {
            let path = self.path.join(file.name());
            fs::rename(self.temporary(file), &path).at("naming", &path)?;
        }
        Ok(())
    }

    fn temporary(&self, file: Plain) -> PathBuf {
        self.path.join(format!(".{}.part", file.name()))
    }
}

impl Drop for FolderWriter {
    fn drop(&mut self) {
        for file in &self.written {
            // Given up half-way; nothing more can be done about one that stays.
            let _ = fs::remove_file(self.temporary(*file));
        }
    }
}

impl TableWriter {
    /// Writes one line, its cells in the order of the description.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn row<T: AsRef<[u8]>>(&mut self, cells: &[T]) -> Result<(), ExchangeError> {
        self.rows += 1;
        self.put(cells)
    }

    fn put<T: AsRef<[u8]>>(&mut self, cells: &[T]) -> Result<(), ExchangeError> {
        self.writer.write_record(cells).map_err(std::io::Error::from).at("writing", &self.path)
    }

    /// The file.
    pub fn file(&self) -> Plain {
        self.file
    }

    /// Puts it on the disk; says how many lines it has.
    ///
    /// # Errors
    /// [`ExchangeError::Io`].
    pub fn finish(self) -> Result<u64, ExchangeError> {
        let TableWriter { path, writer, rows, .. } = self;
        let buffer = writer.into_inner().map_err(|e| std::io::Error::other(e.to_string())).at("writing", &path)?;
        let file = buffer.into_inner().map_err(|e| std::io::Error::other(e.to_string())).at("writing", &path)?;
        file.sync_all().at("writing", &path)?;
        Ok(rows)
    }
}
