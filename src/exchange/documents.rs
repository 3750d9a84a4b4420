//! Documents as files.

use super::{At, ExchangeError};
use std::fs;
use std::path::{Path, PathBuf};

/// Writes an order as `<name>.txt` and `<name>.csv`, each whole or not at all; says where.
///
/// # Errors
/// [`ExchangeError::Io`].
pub fn write_order(folder: &Path, name: &str, text: &str, rows: &[Vec<String>]) -> Result<Vec<PathBuf>, ExchangeError> {
    let base = file_name(name);
    let mut table = csv::Writer::from_writer(Vec::new());
    let path = folder.join(format!("{base}.csv"));
    for row in rows {
        table.write_record(row).map_err(std::io::Error::from).at("writing", &path)?;
    }
    let table = table.into_inner().map_err(|e| e.into_error()).at("writing", &path)?;
    let letter = folder.join(format!("{base}.txt"));
    whole(folder, &letter, text.as_bytes())?;
    whole(folder, &path, &table)?;
    Ok(vec![letter, path])
}

/// Writes a page to print as `<name>.html`, whole or not at all; says where.
///
/// # Errors
/// [`ExchangeError::Io`].
pub fn write_page(folder: &Path, name: &str, page: &str) -> Result<PathBuf, ExchangeError> {
    let path = folder.join(format!("{}.html", file_name(name)));
    whole(folder, &path, page.as_bytes())?;
    Ok(path)
}

/// A name that every file system takes: letters, digits, blanks, `-`, `_` and `.` stay, anything else becomes `-`.
fn file_name(name: &str) -> String {
    let tame = |c: char| if c.is_alphanumeric() || matches!(c, ' ' | '-' | '_') { c } else { '-' };
    let out: String = name.trim().chars().map(tame).collect();
    if out.is_empty() { "order".to_owned() } else { out }
}

/// Writes beside the file first, so that a full disk leaves no half of one.
fn whole(folder: &Path, path: &Path, bytes: &[u8]) -> Result<(), ExchangeError> {
    fs::create_dir_all(folder).at("making the folder", folder)?;
    let beside = path.with_extension("part");
    fs::write(&beside, bytes).at("writing", &beside)?;
    fs::rename(&beside, path).at("writing", path)
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
