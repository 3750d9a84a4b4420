//! Order documents as files.

use std::fs;
use std::path::{Path, PathBuf};

/// Why a document could not be written.
#[derive(Debug, thiserror::Error)]
#[error("could not write {}: {source}; check the folder and the room on the disk", path.display())]
pub struct DocumentError {
    /// The file.
    pub path: PathBuf,
    /// What the system said.
    pub source: std::io::Error,
}

/// Writes an order as `<name>.txt` and `<name>.csv`, each whole or not at all; says where.
///
/// # Errors
/// [`DocumentError`].
pub fn write_order(folder: &Path, name: &str, text: &str, rows: &[Vec<String>]) -> Result<Vec<PathBuf>, DocumentError> {
    let base = file_name(name);
    let mut table = csv::Writer::from_writer(Vec::new());
    let path = folder.join(format!("{base}.csv"));
    let failed = |e: csv::Error| DocumentError { path: path.clone(), source: e.into() };
    for row in rows {
        table.write_record(row).map_err(failed)?;
    }
    let table = table.into_inner().map_err(|e| DocumentError { path: path.clone(), source: e.into_error() })?;
    let letter = folder.join(format!("{base}.txt"));
    whole(folder, &letter, text.as_bytes())?;
    whole(folder, &path, &table)?;
    Ok(vec![letter, path])
}

/// A name that every file system takes: letters, digits, blanks, `-`, `_` and `.` stay, anything else becomes `-`.
fn file_name(name: &str) -> String {
    let tame = |c: char| if c.is_alphanumeric() || matches!(c, ' ' | '-' | '_') { c } else { '-' };
    let out: String = name.trim().chars().map(tame).collect();
    if out.is_empty() { "order".to_owned() } else { out }
}

/// Writes beside the file first, so that a full disk leaves no half of one.
fn whole(folder: &Path, path: &Path, bytes: &[u8]) -> Result<(), DocumentError> {
    let failed = |source| DocumentError { path: path.to_owned(), source };
    fs::create_dir_all(folder).map_err(failed)?;
    let beside = path.with_extension("part");
    fs::write(&beside, bytes).map_err(failed)?;
    fs::rename(&beside, path).map_err(failed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_stays_in_its_folder() {
        assert_eq!(file_name("2026-11-23 Quaymoss"), "2026-11-23 Quaymoss");
        assert_eq!(file_name("../../etc/passwd"), "------etc-passwd");
        assert_eq!(file_name(" "), "order");
    }
}
