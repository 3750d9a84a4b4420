//! Files that come together: a folder, a zip archive, or one file alone.
//!
//! Members of an archive are read where they are, each by itself and at the same time as others, and never written
//! anywhere. What an archive says of itself is not believed: what comes out of a member is measured.

use super::ReadError;
use super::opening;
use super::plain::tamed;
use super::stream::{Counted, Passage, fill, quoted, refused};
use crate::system;
use flate2::Crc;
use flate2::read::DeflateDecoder;
use std::fs::{self, File};
use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use zip::result::ZipError;
use zip::{CompressionMethod, ZipArchive};

/// Members that an archive may have: an export has some thirty.
const MEMBERS: usize = 200;
/// Files that a folder may have, those of its subfolders with them.
const FILES: usize = 2_000;
/// Subfolders are looked into so deep.
const DEPTH: usize = 3;
/// Bytes that a member may have.
const MEMBER: u64 = 4 << 30;
/// No real table becomes this many times smaller by packing.
const RATIO: u64 = 250;
/// Below this many bytes no ratio is absurd: a few equal lines pack very well.
const SMALL: u64 = 16 << 20;
/// Bytes that the directory of an archive may have, so that an archive of a million names fills no memory.
const DIRECTORY: u64 = 2 << 20;

/// Files that come together.
#[derive(Debug)]
pub struct Bundle {
    path: PathBuf,
    kind: BundleKind,
    entries: Vec<Entry>,
}

/// In what form files come together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BundleKind {
    /// One file alone.
    File,
    /// A folder.
    Folder,
    /// A zip archive.
    Zip,
}

/// One of the files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its name with its subfolders, apart by `/`.
    pub name: String,
    /// Its bytes, by what the archive says.
    pub size: u64,
    place: Place,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Place {
    File(PathBuf),
    Packed(Packed),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Packed {
    start: u64,
    bytes: u64,
    crc: u32,
    deflated: bool,
}

impl Entry {
    /// The name without its subfolders.
    pub fn file_name(&self) -> &str {
        self.name.rsplit('/').next().unwrap_or(&self.name)
    }

    /// The subfolder it lies in, with its `/` at the end; empty at the top.
    pub fn folder(&self) -> &str {
        &self.name[..self.name.len() - self.file_name().len()]
    }
}

impl Bundle {
    /// Looks into a folder or an archive; any other file is a bundle of one.
    ///
    /// # Errors
    /// [`ReadError`] for what cannot be opened, an archive that is cut off, encrypted or not to be trusted, a folder with
    /// too much in it.
    pub fn open(path: &Path) -> Result<Bundle, ReadError> {
        let about = opening::about(path).map_err(|error| unreadable(path, &error))?;
        if about.is_dir() {
            let mut entries = Vec::new();
            walk(path, path, "", DEPTH, &mut entries)?;
            entries.sort_by(|a: &Entry, b| a.name.cmp(&b.name));
            return Ok(Bundle { path: path.to_owned(), kind: BundleKind::Folder, entries });
        }
        let mut file = opening::file(path).map_err(|error| unreadable(path, &error))?;
        let mut start = [0; 4];
        let have = fill(&mut file, &mut start).map_err(|error| unreadable(path, &error))?;
        if is_zip(&start[..have]) {
            let entries = members(path, file, about.len())?;
            return Ok(Bundle { path: path.to_owned(), kind: BundleKind::Zip, entries });
        }
        let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        let alone = Entry { name, size: about.len(), place: Place::File(path.to_owned()) };
        Ok(Bundle { path: path.to_owned(), kind: BundleKind::File, entries: vec![alone] })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// In what form it comes.
    pub fn kind(&self) -> BundleKind {
        self.kind
    }

    /// The files, by name.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// A file by its name with its subfolders, whatever the case of its letters.
    pub fn find(&self, name: &str) -> Option<&Entry> {
        let exact = self.entries.iter().find(|entry| entry.name == name);
        exact.or_else(|| self.entries.iter().find(|entry| entry.name.to_lowercase() == name.to_lowercase()))
    }

    /// The one file that it is about: the file itself, or the only one in an archive or a folder whose name ends so.
    pub fn only(&self, ending: &str) -> Option<&Entry> {
        if self.kind == BundleKind::File {
            return self.entries.first();
        }
        let mut like = self.entries.iter().filter(|entry| entry.file_name().to_lowercase().ends_with(ending));
        like.next().filter(|_| like.next().is_none())
    }

    /// Opens one of its files; other files may be read at the same time. What was read is counted in `passage`.
    ///
    /// # Errors
    /// [`ReadError`] when it cannot be opened. Reading ends with an error in words when a member is damaged, holds more
    /// than it says or grows absurdly.
    pub fn read(&self, entry: &Entry, passage: &Passage) -> Result<Box<dyn Read + Send>, ReadError> {
        match &entry.place {
            Place::File(path) => {
                let file = opening::file(path).map_err(|error| unreadable(path, &error))?;
                Ok(Box::new(Counted::new(file, passage)))
            }
            Place::Packed(packed) => {
                let mut file = opening::file(&self.path).map_err(|error| unreadable(&self.path, &error))?;
                file.seek(SeekFrom::Start(packed.start)).map_err(|error| unreadable(&self.path, &error))?;
                let source = file.take(packed.bytes);
                let inner = if packed.deflated {
                    Source::Deflated(Box::new(DeflateDecoder::new_with_buf(source, vec![0; 1 << 16])))
                } else {
                    Source::Stored(source)
                };
                let member = Member { inner, crc: Crc::new(), packed: *packed, size: entry.size, read: 0 };
                Ok(Box::new(Counted::new(member, passage)))
            }
        }
    }
}

/// Whether a file begins as a zip archive does.
pub(super) fn is_zip(start: &[u8]) -> bool {
    start.starts_with(b"PK\x03\x04") || start.starts_with(b"PK\x05\x06")
}

fn unreadable(path: &Path, error: &io::Error) -> ReadError {
    ReadError::new(path, say!("it could not be opened: {error}", error = tamed(&system::words(error))))
}

fn walk(root: &Path, folder: &Path, prefix: &str, depth: usize, out: &mut Vec<Entry>) -> Result<(), ReadError> {
    for entry in fs::read_dir(folder).map_err(|error| unreadable(folder, &error))? {
        let entry = entry.map_err(|error| unreadable(folder, &error))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        // Through a link too; what cannot be looked at is passed over.
        let Ok(about) = fs::metadata(entry.path()) else { continue };
        if name.starts_with('.') {
            continue;
        }
        if about.is_dir() {
            if depth > 1 {
                walk(root, &entry.path(), &format!("{prefix}{name}/"), depth - 1, out)?;
            }
        } else if about.is_file() {
            if out.len() >= FILES {
                let words =
                    say!("this folder holds more than {FILES} files; choose the folder of the export itself", FILES);
                return Err(ReadError::new(root, words));
            }
            out.push(Entry { name: format!("{prefix}{name}"), size: about.len(), place: Place::File(entry.path()) });
        }
    }
    Ok(())
}

/// A file that gives no more than so many bytes.
struct Frugal {
    file: File,
    left: u64,
}

impl Read for Frugal {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.left == 0 {
            return Err(refused(word!("its directory is larger than that of any export")));
        }
        let most = into.len().min(usize::try_from(self.left).unwrap_or(usize::MAX));
        let read = self.file.read(&mut into[..most])?;
        self.left -= read as u64;
        Ok(read)
    }
}

impl Seek for Frugal {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.file.seek(to)
    }
}

fn members(path: &Path, file: File, length: u64) -> Result<Vec<Entry>, ReadError> {
    let broken = |error: ZipError| {
        let why = match &error {
            ZipError::Io(error) if error.kind() == io::ErrorKind::Other => super::stream::said(error),
            _ => word!("it is cut off or damaged").to_owned(),
        };
        ReadError::new(path, say!("this zip archive cannot be read: {why}; copy it again from the till", why))
    };
    let mut archive = ZipArchive::new(Frugal { file, left: DIRECTORY }).map_err(broken)?;
    if archive.len() > MEMBERS {
        let words = say!(
            "this zip archive holds {archive} files; expected at most {MEMBERS}",
            archive = archive.len(),
            MEMBERS
        );
        return Err(ReadError::new(path, words));
    }
    let mut entries: Vec<Entry> = Vec::with_capacity(archive.len());
    for n in 0..archive.len() {
        let member = archive.by_index_raw(n).map_err(broken)?;
        let name = match member.name() {
            Ok(name) => name.into_owned(),
            Err(_) => String::from_utf8_lossy(member.name_raw()).into_owned(),
        };
        let name = name.replace('\\', "/");
        let refuse = |what: String| ReadError::at(path, say!("member {quoted}", quoted = quoted(&name)), what);
        if climbs(&name) {
            let words = word!("its name leads out of the archive, which no honest archive does; do not use this file");
            return Err(refuse(words.to_owned()));
        }
        if member.is_dir() || member.is_symlink() {
            continue;
        }
        if member.encrypted() {
            return Err(refuse(word!("it is encrypted; export it again without a password").to_owned()));
        }
        let deflated = match member.compression() {
            CompressionMethod::Deflated => true,
            CompressionMethod::Stored => false,
            other => {
                let how = tamed(&other.to_string());
                return Err(refuse(say!("it is packed by {how}, which is not read here; pack it as a plain zip", how)));
            }
        };
        let (size, bytes) = (member.size(), member.compressed_size());
        if size > MEMBER {
            return Err(refuse(say!("it says that it holds {size} bytes; expected at most {MEMBER}", size, MEMBER)));
        }
        if size > SMALL && size / RATIO > bytes {
            return Err(refuse(say!(
                "it says that it grows from {bytes} to {size} bytes, as no real table does",
                bytes,
                size
            )));
        }
        let start = member.data_start().ok_or_else(|| broken(ZipError::FileNotFound))?;
        if start.checked_add(bytes).is_none_or(|end| end > length) {
            return Err(broken(ZipError::FileNotFound));
        }
        if entries.iter().any(|other| other.name == name) {
            return Err(refuse(word!("it is in the archive twice").to_owned()));
        }
        let place = Place::Packed(Packed { start, bytes, crc: member.crc32(), deflated });
        entries.push(Entry { name, size, place });
    }
    entries.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(entries)
}

/// Whether a name leads out of the folder that it is taken to lie in.
pub(super) fn climbs(name: &str) -> bool {
    let drive = name.as_bytes().get(1) == Some(&b':');
    name.starts_with('/') || drive || name.contains('\0') || name.split('/').any(|part| part == "..")
}

enum Source {
    Deflated(Box<DeflateDecoder<io::Take<File>>>),
    Stored(io::Take<File>),
}

/// What comes out of a member, measured.
struct Member {
    inner: Source,
    crc: Crc,
    packed: Packed,
    size: u64,
    read: u64,
}

impl Read for Member {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if into.is_empty() {
            return Ok(0);
        }
        let read = match &mut self.inner {
            Source::Deflated(inner) => inner.read(into),
            Source::Stored(inner) => inner.read(into),
        };
        let read = match read {
            Ok(read) => read,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => return Err(error),
            Err(_) => {
                return Err(refused(word!("the archive is damaged or cut off here; copy it again from the till")));
            }
        };
        self.crc.update(&into[..read]);
        self.read += read as u64;
        if self.read > self.size || self.read > MEMBER {
            return Err(refused(word!("more comes out of the archive than it says; do not use this file")));
        }
        if self.read > SMALL && self.read / RATIO > self.packed.bytes {
            return Err(refused(word!(
                "what comes out of the archive grows as no real table does; do not use this file"
            )));
        }
        if read == 0 && (self.read != self.size || self.crc.sum() != self.packed.crc) {
            return Err(refused(word!("the archive is damaged: its check sum is wrong; copy it again from the till")));
        }
        Ok(read)
    }
}
