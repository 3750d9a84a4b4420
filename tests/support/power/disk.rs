//! What a disk may hold when the power goes.
//!
//! Of a file it holds what was handed over before a sync that has returned, and of what was handed over since, any part:
//! each sector of 512 bytes (or page of 4,096) as it was or as one or several of the writes made it. Its length may be that
//! of any of these moments; where a file became longer and the bytes did not come, there are zeros, or what happened to
//! stand there. Names that were made, changed or taken away since the last sync of their folder may be old or new.

use super::trace::Deed;
use rand::Rng;
use rand_chacha::ChaCha8Rng;
use std::collections::{BTreeMap, HashMap};
use std::fs;
use std::path::{Path, PathBuf};

/// Bytes that a disk writes whole.
const SECTOR: usize = 512;
/// Bytes that a system writes at once.
const PAGE: usize = 4_096;

/// Something that was done to a file and may not be on the disk.
#[derive(Clone, Debug)]
enum Change {
    Write { at: usize, bytes: Vec<u8> },
    Length(usize),
}

/// A file: what surely is on the disk, and what may be.
#[derive(Clone, Debug, Default)]
struct File {
    sure: Vec<u8>,
    open: Vec<Change>,
    /// Changes that came before the first of `open`.
    before: usize,
}

/// Something that was done to a name.
#[derive(Clone, Debug)]
enum Named {
    Made(PathBuf, usize),
    Renamed(PathBuf, PathBuf),
    Gone(PathBuf),
}

impl Named {
    fn within(&self, folder: &Path) -> bool {
        let (Named::Made(path, _) | Named::Renamed(path, _) | Named::Gone(path)) = self;
        path.parent() == Some(folder)
    }
}

/// What a sync is of.
#[derive(Clone, Debug)]
enum Of {
    File(usize),
    Folder(PathBuf),
}

type Names = BTreeMap<PathBuf, usize>;

/// What was on a disk at every moment of a trace.
#[derive(Clone, Debug, Default)]
pub(crate) struct Disk {
    files: Vec<File>,
    /// Names that surely are on the disk, and what was done to them since.
    sure: Names,
    open: Vec<(usize, Named)>,
    /// Things done to names so far.
    named: usize,
    /// Names as the program sees them.
    seen: Names,
    openings: HashMap<usize, usize>,
    /// Syncs that have begun: of what, and up to which change of it.
    syncs: HashMap<usize, (Of, usize)>,
}

/// What a disk is taken to do with what was not synced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum How {
    /// All of it came.
    All,
    /// Nothing came.
    Nothing,
    /// It came in its order up to some moment, the last of it torn.
    InOrder,
    /// Any sectors of it came.
    Sectors,
    /// Any pages of it came.
    Pages,
}

impl How {
    pub(crate) const ALL: [How; 5] = [How::All, How::Nothing, How::InOrder, How::Sectors, How::Pages];
}

/// The files of a folder after a cut.
#[derive(Debug)]
pub(crate) struct Cut {
    /// By name.
    pub(crate) files: BTreeMap<PathBuf, Vec<u8>>,
}

impl Cut {
    /// Writes the files into another folder, which is emptied first; `index` is put in place of the index of a log.
    pub(crate) fn write(&self, of: &Path, into: &Path, index: Option<&[u8]>) -> std::io::Result<()> {
        match fs::remove_dir_all(into) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
        fs::create_dir_all(into)?;
        for (path, bytes) in &self.files {
            let name = path.strip_prefix(of).map_err(std::io::Error::other)?;
            fs::write(into.join(name), bytes)?;
            if let (Some(index), Some(book)) = (index, name.to_string_lossy().strip_suffix("-wal")) {
                fs::write(into.join(format!("{book}-shm")), index)?;
            }
        }
        Ok(())
    }
}

impl Disk {
    /// A disk with the files of a folder on it, all of them sure.
    pub(crate) fn of(folder: &Path) -> std::io::Result<Disk> {
        let mut disk = Disk::default();
        for entry in fs::read_dir(folder)? {
            let path = entry?.path();
            if path.is_file() && !path.to_string_lossy().ends_with("-shm") {
                disk.files.push(File { sure: fs::read(&path)?, ..File::default() });
                disk.sure.insert(path, disk.files.len() - 1);
            }
        }
        disk.seen = disk.sure.clone();
        Ok(disk)
    }

    /// Whether the program sees a file of this name.
    pub(crate) fn has(&self, path: &Path) -> bool {
        self.seen.contains_key(path)
    }

    /// Takes in what was done.
    pub(crate) fn take(&mut self, deed: &Deed) -> Result<(), String> {
        match deed {
            Deed::Made(path) => {
                self.files.push(File::default());
                let file = self.files.len() - 1;
                self.seen.insert(path.clone(), file);
                self.names(Named::Made(path.clone(), file));
            }
            Deed::Opened { opening, path } => {
                let file = *self.seen.get(path).ok_or_else(|| format!("{} is not there", path.display()))?;
                self.openings.insert(*opening, file);
            }
            Deed::Wrote { opening, at, bytes } => {
                let at = usize::try_from(*at).map_err(|_| "too far")?;
                self.file(*opening)?.open.push(Change::Write { at, bytes: bytes.clone() });
            }
            Deed::Length { opening, bytes } => {
                let bytes = usize::try_from(*bytes).map_err(|_| "too long")?;
                self.file(*opening)?.open.push(Change::Length(bytes));
            }
            Deed::SyncBegins { opening, sync } => {
                let file = *self.openings.get(opening).ok_or("a file that nobody opened")?;
                let meant = self.files[file].before + self.files[file].open.len();
                self.syncs.insert(*sync, (Of::File(file), meant));
            }
            Deed::FolderSyncBegins { folder, sync } => {
                self.syncs.insert(*sync, (Of::Folder(folder.clone()), self.named));
            }
            Deed::SyncEnds { sync } => match self.syncs.remove(sync).ok_or("a sync that never began")? {
                (Of::File(file), meant) => self.files[file].synced(meant),
                (Of::Folder(folder), meant) => self.folder_synced(&folder, meant),
            },
            Deed::Renamed { from, to } => {
                let file = self.seen.remove(from).ok_or_else(|| format!("{} is not there", from.display()))?;
                self.seen.insert(to.clone(), file);
                self.names(Named::Renamed(from.clone(), to.clone()));
            }
            Deed::Gone(path) => {
                self.seen.remove(path);
                self.names(Named::Gone(path.clone()));
            }
            Deed::Said(_) => {}
        }
        Ok(())
    }

    fn file(&mut self, opening: usize) -> Result<&mut File, String> {
        let file = *self.openings.get(&opening).ok_or("a file that nobody opened")?;
        Ok(&mut self.files[file])
    }

    fn names(&mut self, named: Named) {
        self.open.push((self.named, named));
        self.named += 1;
    }

    fn folder_synced(&mut self, folder: &Path, meant: usize) {
        let done = |(number, named): &mut (usize, Named)| *number < meant && named.within(folder);
        for (_, named) in self.open.extract_if(.., done) {
            named.on(&mut self.sure);
        }
    }

    /// Whether anything is not surely on the disk.
    pub(crate) fn unsure(&self) -> bool {
        !self.open.is_empty() || self.files.iter().any(|file| !file.open.is_empty())
    }

    /// The files as the program sees them.
    pub(crate) fn seen(&self) -> Cut {
        let whole = |file: &File| {
            let mut bytes = file.sure.clone();
            file.open.iter().for_each(|change| change.on(&mut bytes));
            bytes
        };
        Cut { files: self.seen.iter().map(|(path, file)| (path.clone(), whole(&self.files[*file]))).collect() }
    }

    /// One of the states that the disk may be in when the power goes now.
    pub(crate) fn cut(&self, how: How, random: &mut ChaCha8Rng) -> Cut {
        let names = self.names_after(how, random);
        let files = names.iter().map(|(path, file)| {
            let file = &self.files[*file];
            // Files need not fare alike.
            let how = if random.random_ratio(1, 4) { How::ALL[random.random_range(0..How::ALL.len())] } else { how };
            (path.clone(), file.cut(how, random))
        });
        Cut { files: files.collect() }
    }

    fn names_after(&self, how: How, random: &mut ChaCha8Rng) -> Names {
        let mut names = self.sure.clone();
        let upto = match how {
            How::All => self.open.len(),
            How::Nothing => 0,
            _ => random.random_range(0..=self.open.len()),
        };
        // Most systems keep the order of names within a folder; one that does not is allowed as well.
        let any = random.random_ratio(1, 4);
        for (n, (_, named)) in self.open.iter().enumerate() {
            if if any { random.random() } else { n < upto } {
                named.on(&mut names);
            }
        }
        names
    }
}

impl Named {
    fn on(&self, names: &mut Names) {
        match self {
            Named::Made(path, file) => {
                names.insert(path.clone(), *file);
            }
            Named::Renamed(from, to) => {
                if let Some(file) = names.remove(from) {
                    names.insert(to.clone(), file);
                }
            }
            Named::Gone(path) => {
                names.remove(path);
            }
        }
    }
}

impl Change {
    fn on(&self, bytes: &mut Vec<u8>) {
        match self {
            Change::Write { at, bytes: new } => {
                if bytes.len() < at + new.len() {
                    bytes.resize(at + new.len(), 0);
                }
                bytes[*at..at + new.len()].copy_from_slice(new);
            }
            Change::Length(length) => bytes.resize(*length, 0),
        }
    }

    /// The length of a file of a length after it.
    fn length(&self, before: usize) -> usize {
        match self {
            Change::Write { at, bytes } => before.max(at + bytes.len()),
            Change::Length(length) => *length,
        }
    }
}

impl File {
    /// What came before that change is on the disk from now on.
    fn synced(&mut self, meant: usize) {
        // Another sync of the same file, which meant as much or more, may have returned before.
        let number = meant.saturating_sub(self.before).min(self.open.len());
        for change in self.open.drain(..number) {
            change.on(&mut self.sure);
        }
        self.before += number;
    }

    fn cut(&self, how: How, random: &mut ChaCha8Rng) -> Vec<u8> {
        let mut bytes = self.sure.clone();
        match how {
            How::Nothing => {}
            How::All => self.open.iter().for_each(|change| change.on(&mut bytes)),
            How::InOrder => {
                let upto = random.random_range(0..=self.open.len());
                self.open[..upto].iter().for_each(|change| change.on(&mut bytes));
                // Of the next one, what lies before a border of sectors.
                if let Some(Change::Write { at, bytes: new }) = self.open.get(upto) {
                    let border = (at + random.random_range(0..=new.len())) / SECTOR * SECTOR;
                    if border > *at {
                        Change::Write { at: *at, bytes: new[..border - at].to_vec() }.on(&mut bytes);
                    }
                }
            }
            How::Sectors => self.any(SECTOR, random, &mut bytes),
            How::Pages => self.any(PAGE, random, &mut bytes),
        }
        bytes
    }

    /// Any pieces of what was done, of each piece any of the writes to it in their order.
    fn any(&self, piece: usize, random: &mut ChaCha8Rng, bytes: &mut Vec<u8>) {
        // The length of any of these moments.
        let upto = random.random_range(0..=self.open.len());
        let length = self.open[..upto].iter().fold(bytes.len(), |length, change| change.length(length));
        let stale = random.random_ratio(1, 3);
        let had = bytes.len();
        bytes.resize(length, 0);
        if stale && length > had {
            random.fill(&mut bytes[had..]);
        }
        let likely = random.random_range(1..8);
        for change in &self.open {
            match change {
                Change::Write { at, bytes: new } => {
                    let mut from = *at;
                    while from < at + new.len() {
                        let upto = ((from / piece + 1) * piece).min(at + new.len());
                        let end = upto.min(bytes.len());
                        if random.random_ratio(likely, 8) && from < end {
                            bytes[from..end].copy_from_slice(&new[from - at..end - at]);
                        }
                        from = upto;
                    }
                }
                // Cut and grown again in between, a piece may be zeros.
                Change::Length(short) => {
                    if *short < bytes.len() && random.random() {
                        bytes[*short..].fill(0);
                    }
                }
            }
        }
    }
}
