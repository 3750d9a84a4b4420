//! Saving what can be read of a damaged book: its bytes are read as they stand, past everything that makes no sense, and
//! every row that is still whole goes into a new book. The damaged file itself is never written to, nor opened by the
//! database.
//!
//! The reader goes by the published description of the SQLite file format, from memory. A row is believed when its record
//! holds together to the byte and fits its table; of two that claim one place the one stays that the indexes know, and the
//! other is put together from them, or kept by its name, where they have it. What the new book refuses, what names a row that
//! is lost, and what no part of the program can read is left out and told.

mod admit;
mod catalog;
mod image;
mod log;
mod node;
mod parts;
mod plan;
mod prune;
mod put;
mod read;
mod rebuild;
mod record;
mod stray;
mod walk;
mod witness;

pub use parts::Part;

use super::check::{self, Finding};
use super::damage::of_head;
use super::error::Doing;
use super::{STEPS, Store, StoreError, day_totals, history, migrations, open, setup};
use image::Image;
use parts::Tally;
use put::{NewBook, unguarded};
use read::OnlyRead;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use walk::Pages;

/// What can be read of a damaged book.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Looked {
    /// Of which version it is.
    pub version: usize,
    /// Its pages.
    pub pages: u32,
    /// What is wrong with the file as a whole, in words.
    pub file: Vec<String>,
    /// What stands in it, part by part.
    pub parts: Vec<Part>,
}

/// What was saved into a new book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Salvaged {
    /// What could be read, and what became of it.
    pub looked: Looked,
    /// What is still to be looked at in the new book.
    pub findings: Vec<Finding>,
}

/// Whether a head says nothing that no book's head says.
fn is_sound(head: &[u8]) -> bool {
    of_head(head).is_none()
}

/// Looks what can be read of a book. Nothing is written.
///
/// # Errors
/// [`StoreError::Missing`], [`StoreError::NotABook`], [`StoreError::NewerSchema`], [`StoreError::Io`].
pub fn look(from: &Path) -> Result<Looked, StoreError> {
    let (image, plans) = begin(from)?;
    let mut pages = Pages::new(&image);
    let (plan, chosen) = read::choose(&mut pages, plans)?.ok_or_else(|| not_a_book(from))?;
    let reading = read::read(&mut pages, plan, &chosen, &mut OnlyRead)?;
    let parts = parts::parts(&reading, &Tally::new(), |_, rows| rows);
    Ok(Looked { version: reading.plan.version, pages: image.count, file: of_file(&image, &reading), parts })
}

/// Saves what can be read of a book into a new one, which gets its name only once everything is in it.
///
/// # Errors
/// As [`look`]; [`StoreError::Exists`] when there is a file of the new name already, [`StoreError::Nothing`] when there is
/// nothing to be saved. Then nothing is left behind.
pub fn salvage(from: &Path, to: &Path) -> Result<Salvaged, StoreError> {
    open::is_free(to)?;
    let (image, plans) = begin(from)?;
    let mut pages = Pages::new(&image);
    let (plan, chosen) = read::choose(&mut pages, plans)?.ok_or_else(|| not_a_book(from))?;
    let part = Unfinished(open::beside(to, ".part"), plan.version);
    part.clear()?;
    let mut tally = Tally::new();
    let store = Store::create_with(&part.0, &STEPS[..plan.version])?;
    let (reading, saved) = unguarded(&store.conn, |conn| {
        let fresh = put::take_out(conn, &plan.tables)?;
        let mut new = NewBook::new(conn, &mut tally);
        let reading = read::read(&mut pages, plan, &chosen, &mut new)?;
        let sequences = new.sequences;
        prune::by_name(conn, &reading, &mut tally)?;
        prune::taken_back(conn, &reading, &mut tally)?;
        prune::prune(conn, &mut tally)?;
        put::go_on_from(conn, &sequences)?;
        let told = reading.plan.tables.iter().zip(&reading.tables).filter(|(table, _)| parts::is_told(&table.name));
        let saved: u64 = told.map(|(_, read)| read.rows).sum();
        put::put_back(conn, &fresh)?;
        Ok((reading, saved))
    })?;
    drop(store);
    if saved == 0 {
        return Err(StoreError::Nothing { path: from.to_owned() });
    }
    // Opening brings a book of an older version up to date.
    let store = Store::open(&part.0)?;
    let (parts, findings) = unguarded(&store.conn, |conn| {
        admit::admit(conn, &mut tally)?;
        prune::prune(conn, &mut tally)?;
        if let Ok(set_up) = setup::load_any(conn) {
            day_totals::refresh(conn, &set_up.0.venue.days)?;
        }
        history::begin_anew(conn)?;
        let mut held = HashMap::new();
        for table in reading.plan.tables.iter().filter(|table| parts::is_told(&table.name)) {
            let sql = format!("SELECT count(*) FROM \"{}\"", table.name);
            held.insert(
                table.name.clone(),
                conn.query_row(&sql, [], |row| row.get::<_, i64>(0)).doing("counting what was saved")?,
            );
        }
        let parts = parts::parts(&reading, &tally, |table, _| held.get(table).map_or(0, |rows| rows.unsigned_abs()));
        let mut findings = check::all(conn)?;
        // Of a new book it is no finding, of a saved one it is what has to be done first.
        if let Err(error @ StoreError::NotSetUp { .. }) = setup::venue(conn) {
            findings.push(Finding::Setup(error.to_string()));
        }
        Ok((parts, findings))
    })?;
    drop(store);
    open::rename(&part.0, to)?;
    let looked = Looked { version: reading.plan.version, pages: image.count, file: of_file(&image, &reading), parts };
    Ok(Salvaged { looked, findings })
}

/// The bytes of a book, and what each version of one consists of.
fn begin(from: &Path) -> Result<(Image, Vec<plan::Plan>), StoreError> {
    let image = match std::fs::metadata(from) {
        Ok(about) if about.is_dir() => {
            return Err(StoreError::NotABook { path: from.to_owned(), found: "it is a folder" });
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return Err(StoreError::Missing { path: from.to_owned() });
        }
        _ => Image::read(from)?,
    };
    Ok((image, plan::all()?))
}

fn not_a_book(path: &Path) -> StoreError {
    StoreError::NotABook { path: path.to_owned(), found: "it is a database of another program" }
}

/// What is wrong with a file as a whole.
fn of_file(image: &Image, reading: &read::Reading) -> Vec<String> {
    let mut out = Vec::new();
    let pages = |n: u32| if n == 1 { "1 page".to_owned() } else { format!("{n} pages") };
    if reading.head_damaged {
        out.push(
            "the head of the file is damaged; of which version the book is was told from what stands in it".to_owned(),
        );
    }
    if image.missing > 0 {
        out.push(format!("the file is cut short: {} at its end are missing", pages(image.missing)));
    }
    if image.broken_frames() > 0 {
        let frames = pages(image.broken_frames());
        out.push(format!("{frames} of the log beside the book cannot be read; what was entered last may be missing"));
    }
    if reading.catalog_damaged > 0 {
        out.push(format!(
            "the list of what the book consists of is damaged ({}); what it no longer says was told from what stands where",
            pages(reading.catalog_damaged)
        ));
    }
    match u32::try_from(reading.untold.len()).unwrap_or(u32::MAX) {
        0 => {}
        untold => {
            let rootless = reading
                .plan
                .tables
                .iter()
                .zip(&reading.tables)
                .filter(|(table, read)| read.found.rootless && read.rows == 0 && parts::is_told(&table.name));
            let names: Vec<String> = rootless.map(|(table, _)| parts::name(&table.name)).collect();
            let names = if names.is_empty() { String::new() } else { format!("; they may be {}", names.join(", ")) };
            out.push(format!("{} hold rows of which nobody can tell what they are{names}", pages(untold)));
        }
    }
    out
}

/// A new book that has not got its name yet; it goes away unless it gets it.
struct Unfinished(PathBuf, usize);

impl Unfinished {
    /// Takes away what an earlier try has left.
    fn clear(&self) -> Result<(), StoreError> {
        open::remove(&self.0)?;
        open::remove(&self.before())
    }

    /// The copy that is made when it is brought up to date.
    fn before(&self) -> PathBuf {
        migrations::copy_before(&self.0, self.1 as i64 + 1)
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        // Nothing more can be done about what does not go away.
        let _ = self.clear();
    }
}
