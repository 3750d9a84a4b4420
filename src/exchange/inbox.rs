//! Files that lie somewhere: what a folder holds, and what makes a file itself.

use super::{At, ExchangeError, opening};
use crate::domain::rows::{FileEntry, FilePrint};
use crate::domain::venue::Moment;
use sha2::{Digest, Sha256};
use std::fs::{self, Metadata};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

/// A folder with more entries than this is no folder for files from a till or a supplier; the newest are shown.
const MOST: usize = 2_000;

/// What a folder holds: folders first by name, then files, the newest first. Hidden entries are passed over, and so is
/// what cannot be looked at.
///
/// # Errors
/// [`ExchangeError::Io`] when the folder itself cannot be read.
pub fn list(folder: &Path) -> Result<Vec<FileEntry>, ExchangeError> {
    let mut entries: Vec<FileEntry> = opening::about(folder)
        .and_then(|_| fs::read_dir(folder))
        .at("looking into", folder)?
        .filter_map(|entry| {
            let entry = entry.ok()?;
            let name = entry.file_name().to_string_lossy().into_owned();
            // Through a link too.
            let about = opening::about(&entry.path()).ok()?;
            (!name.starts_with('.')).then(|| entry_of(entry.path(), name, &about))
        })
        .collect();
    entries.sort_by(|a, b| {
        let by_name = || a.name.to_lowercase().cmp(&b.name.to_lowercase()).then_with(|| a.name.cmp(&b.name));
        let newest = if a.folder { std::cmp::Ordering::Equal } else { b.modified.cmp(&a.modified) };
        b.folder.cmp(&a.folder).then(newest).then_with(by_name)
    });
    entries.truncate(MOST);
    Ok(entries)
}

fn entry_of(path: PathBuf, name: String, about: &Metadata) -> FileEntry {
    let export = about.is_dir() && holds_an_index(&path);
    // A folder keeps its time when a file in it is written to.
    let (size, modified) = if export { files_in(&path) } else { (about.len(), modified(about)) };
    FileEntry { folder: about.is_dir(), export, size, modified, path, name }
}

/// Bytes of the files that a folder holds, and when the newest was written to.
fn files_in(folder: &Path) -> (u64, Option<Moment>) {
    let entries = fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok);
    let shown = entries.filter(|entry| !entry.file_name().to_string_lossy().starts_with('.'));
    let files = shown.filter_map(|entry| opening::about(&entry.path()).ok()).filter(Metadata::is_file);
    files.fold((0, None), |(size, newest), about| (size + about.len(), newest.max(modified(&about))))
}

/// Whether a folder describes the tables in it, as the statutory exports do.
fn holds_an_index(folder: &Path) -> bool {
    ["index.xml", "INDEX.XML", "Index.xml"].iter().any(|name| folder.join(name).is_file())
}

fn modified(about: &Metadata) -> Option<Moment> {
    let since = about.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
    i64::try_from(since.as_millis()).ok().map(Moment)
}

/// What a path leads to; nothing where there is nothing, or nothing that can be looked at.
pub fn about(path: &Path) -> Option<FileEntry> {
    let about = opening::about(path).ok()?;
    let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    Some(entry_of(path.to_owned(), name, &about))
}

/// What makes a file itself: the SHA-256 of what is in it. Of a folder, that of the files in it with their names.
///
/// # Errors
/// [`ExchangeError::Io`].
pub fn print(path: &Path) -> Result<FilePrint, ExchangeError> {
    let about = opening::about(path).at("looking at", path)?;
    let name = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
    let mut hash = Sha256::new();
    let mut size = 0;
    let mut written = modified(&about);
    if about.is_dir() {
        let mut files: Vec<FileEntry> = list(path)?.into_iter().filter(|entry| !entry.folder).collect();
        files.sort_by(|a, b| a.name.cmp(&b.name));
        written = files.iter().filter_map(|file| file.modified).max();
        for file in files {
            hash.update(file.name.as_bytes());
            hash.update(file.size.to_le_bytes());
            size += feed(&mut hash, &file.path)?;
        }
    } else {
        size = feed(&mut hash, path)?;
    }
    let digest = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
    Ok(FilePrint { digest, name, size, modified: written })
}

fn feed(hash: &mut Sha256, path: &Path) -> Result<u64, ExchangeError> {
    let mut file = opening::file(path).at("opening", path)?;
    let mut buffer = vec![0; 1 << 16];
    let mut size = 0;
    loop {
        match file.read(&mut buffer) {
            Ok(0) => return Ok(size),
            Ok(n) => {
                hash.update(&buffer[..n]);
                size += n as u64;
            }
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error).at("reading", path),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs::File;
    use std::time::Duration;

    #[test]
    fn a_file_is_known_by_what_is_in_it() {
        let home = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| {
            let path = home.path().join(name);
            fs::write(&path, text).unwrap();
            path
        };
        let (one, same, other) = (write("a.csv", "abc"), write("b.csv", "abc"), write("c.csv", "abd"));
        // FIPS 180-4, the one-block example: SHA-256 of “abc” (value from memory).
        let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(print(&one).unwrap().digest, abc);
        assert_eq!(print(&one).unwrap().digest, print(&same).unwrap().digest);
        assert_ne!(print(&one).unwrap().digest, print(&other).unwrap().digest);
        let before = print(home.path()).unwrap();
        write("c.csv", "abe");
        assert_ne!(print(home.path()).unwrap().digest, before.digest, "a folder is known by its files");
        assert!(print(&home.path().join("none")).is_err());
    }

    /// Writing to a file leaves the time of its folder as it was.
    #[test]
    fn an_export_folder_is_as_large_and_as_new_as_its_files() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("export");
        fs::create_dir(&folder).unwrap();
        fs::write(folder.join("index.xml"), "<DataSet/>").unwrap();
        fs::write(folder.join("lines.csv"), "a").unwrap();
        let before = about(&folder).unwrap();
        assert_eq!((before.export, before.size), (true, 11));
        fs::write(folder.join("lines.csv"), "b").unwrap();
        let newer = UNIX_EPOCH + Duration::from_secs(4_000_000_000);
        File::options().append(true).open(folder.join("lines.csv")).unwrap().set_modified(newer).unwrap();
        let after = list(home.path()).unwrap().remove(0);
        assert_eq!((after.size, after.modified), (11, Some(Moment(4_000_000_000_000))));
        let print = print(&folder).unwrap();
        assert_eq!((print.size, print.modified), (after.size, after.modified));
    }

    #[test]
    fn folders_come_first_and_the_newest_file_before_older_ones() {
        let home = tempfile::tempdir().unwrap();
        fs::create_dir(home.path().join("week 47")).unwrap();
        for (n, name) in ["old.csv", "new.csv", ".hidden"].iter().enumerate() {
            let file = File::create(home.path().join(name)).unwrap();
            file.set_modified(UNIX_EPOCH + Duration::from_secs(1_000_000 + n as u64)).unwrap();
        }
        let names: Vec<String> = list(home.path()).unwrap().into_iter().map(|entry| entry.name).collect();
        assert_eq!(names, ["week 47", "new.csv", "old.csv"]);
    }
}
