//! Documents as files.

mod cell;
mod mail;
mod table;
mod text;
mod ubl;
mod week;

pub use mail::order_mail;
pub use table::order_table;
pub use text::order_text;
pub use ubl::order_ubl;
pub use week::week_table;

use super::print::{count_sheet_pdf, order_pdf};
use super::{At, ExchangeError};
use crate::domain::order::OrderDocument;
use crate::domain::rows::CountSheet;
use crate::domain::venue::words::words;
use crate::words::Speech;
use std::fs;
use std::path::{Path, PathBuf};

words! {
    /// What an order is written as.
    Form {
        /// A page to print or to send (PDF).
        Pdf = "pdf",
        /// An e-mail that waits to be sent, the page attached.
        Eml = "eml",
        /// A plain text.
        Text = "text",
        /// A table for a spreadsheet.
        Csv = "csv",
        /// An electronic order for the supplier's own program (UBL 2.1).
        Ubl = "ubl",
    }
}

impl Form {
    /// What its file's name ends with.
    pub fn extension(self) -> &'static str {
        match self {
            Form::Pdf => "pdf",
            Form::Eml => "eml",
            Form::Text => "txt",
            Form::Csv => "csv",
            Form::Ubl => "xml",
        }
    }
}

/// Writes an order into a folder in some forms, each a file of the order's name; says where, in the order of
/// [`Form::ALL`]. All of them are made before any is put in its place. Files that are there already are replaced.
///
/// # Errors
/// [`ExchangeError::Io`].
pub fn write_order(folder: &Path, order: &OrderDocument, forms: &[Form]) -> Result<Vec<PathBuf>, ExchangeError> {
    let base = file_name(&order.name);
    let page = folder.join(format!("{base}.pdf"));
    let pdf = match forms.iter().any(|form| matches!(form, Form::Pdf | Form::Eml)) {
        true => order.speech.while_in(|| order_pdf(order)).at("making", &page)?,
        false => Vec::new(),
    };
    let mut files = Vec::new();
    for form in Form::ALL.iter().filter(|form| forms.contains(form)) {
        let path = folder.join(format!("{base}.{}", form.extension()));
        let made = match form {
            Form::Pdf => Ok(pdf.clone()),
            Form::Eml => order.speech.while_in(|| order_mail(order, &format!("{base}.pdf"), &pdf)),
            Form::Text => Ok(order.speech.while_in(|| order_text(order)).into_bytes()),
            // Other programs read these.
            Form::Csv => Speech::PLAIN.while_in(|| order_table(order)),
            Form::Ubl => Speech::PLAIN.while_in(|| order_ubl(order)),
        };
        files.push((made.at("making", &path)?, path));
    }
    all_or_none(folder, &files)?;
    Ok(files.into_iter().map(|(_, path)| path).collect())
}

/// Writes a count sheet as a PDF named after its day and, where it is not the whole bar, its places; says where.
///
/// # Errors
/// [`ExchangeError::Io`].
pub fn write_count_sheet(folder: &Path, sheet: &CountSheet, whole_bar: bool) -> Result<PathBuf, ExchangeError> {
    let names: Vec<&str> = sheet.places.iter().map(|place| place.name.as_str()).collect();
    let which = if whole_bar { String::new() } else { format!(" {}", names.join(" ")) };
    let path = folder.join(format!("{}.pdf", file_name(&say!("{date} count sheet{which}", date = sheet.date, which))));
    let page = count_sheet_pdf(sheet).at("making", &path)?;
    all_or_none(folder, &[(page, path.clone())])?;
    Ok(path)
}

/// Writes a page to print as `<name>.html`, whole or not at all; says where.
///
/// # Errors
/// [`ExchangeError::Io`].
pub fn write_page(folder: &Path, name: &str, page: &str) -> Result<PathBuf, ExchangeError> {
    let path = folder.join(format!("{}.html", file_name(name)));
    all_or_none(folder, &[(page.as_bytes().to_vec(), path.clone())])?;
    Ok(path)
}

/// Writes a page to print and the table that goes with it as `<name>.html` and `<name>.csv`, both or neither; says where.
///
/// # Errors
/// [`ExchangeError::Io`].
pub fn write_page_and_table(
    folder: &Path,
    name: &str,
    page: &str,
    table: std::io::Result<Vec<u8>>,
) -> Result<Vec<PathBuf>, ExchangeError> {
    let [html, csv] = ["html", "csv"].map(|ending| folder.join(format!("{}.{ending}", file_name(name))));
    let table = table.at("making", &csv)?;
    all_or_none(folder, &[(page.as_bytes().to_vec(), html.clone()), (table, csv.clone())])?;
    Ok(vec![html, csv])
}

/// The longest name that is written, in bytes: with what it ends with, every file system takes it.
const LONGEST_NAME: usize = 180;

/// A name that every file system takes: letters, digits, blanks, `-`, `_` and `.` stay, anything else becomes `-`.
fn file_name(name: &str) -> String {
    let tame = |c: char| if c.is_alphanumeric() || matches!(c, ' ' | '-' | '_') { c } else { '-' };
    let mut out: String = name.trim().chars().map(tame).collect();
    while out.len() > LONGEST_NAME {
        out.pop();
    }
    let out = out.trim_end();
    if out.is_empty() { "order".to_owned() } else { out.to_owned() }
}

/// Writes every file beside its place first, so that a full disk leaves no half of one, nor one without the others.
fn all_or_none(folder: &Path, files: &[(Vec<u8>, PathBuf)]) -> Result<(), ExchangeError> {
    fs::create_dir_all(folder).at("making the folder", folder)?;
    let beside = |path: &Path| {
        let mut name = path.as_os_str().to_owned();
        name.push(".part");
        PathBuf::from(name)
    };
    let written = files.iter().try_for_each(|(bytes, path)| fs::write(beside(path), bytes).at("writing", path));
    if written.is_err() {
        for (_, path) in files {
            // What was not written yet is not there to be taken away.
            let _ = fs::remove_file(beside(path));
        }
        return written;
    }
    files.iter().try_for_each(|(_, path)| fs::rename(beside(path), path).at("writing", path))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_stays_in_its_folder() {
        assert_eq!(file_name("2026-11-23 Quaymoss"), "2026-11-23 Quaymoss");
        assert_eq!(file_name("../../etc/passwd"), "------etc-passwd");
        assert_eq!(file_name(" "), "order");
        assert!(file_name(&"é".repeat(500)).len() <= LONGEST_NAME);
    }

    #[test]
    fn all_files_or_none() {
        let folder = tempfile::tempdir().unwrap();
        let there = |name: &str| folder.path().join(name);
        // The second cannot be written: its temporary file would have the name of a folder.
        fs::create_dir(there("b.part")).unwrap();
        let files = [(b"1".to_vec(), there("a")), (b"2".to_vec(), there("b"))];
        assert!(all_or_none(folder.path(), &files).is_err());
        assert!(!there("a").exists() && !there("a.part").exists() && !there("b").exists());
        fs::remove_dir(there("b.part")).unwrap();
        all_or_none(folder.path(), &files).unwrap();
        assert_eq!((fs::read(there("a")).unwrap(), fs::read(there("b")).unwrap()), (b"1".to_vec(), b"2".to_vec()));
    }
}
