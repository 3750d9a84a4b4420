//! A copy of the book: one file, whole and looked at, or not there at all.

use super::StoreError;
use super::error::{At, Doing};
use super::migrations::Mark;
use super::open::beside as name_with;
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};
use std::fs::{self, File};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::Duration;

/// Pages copied at a time.
const PORTION: i32 = 256;
/// How often a portion is tried again while another connection is in the way, and after how long.
const TRIES: u32 = 500;
const PAUSE: Duration = Duration::from_millis(10);

/// Copies the book of `conn` to `to`: a state of it that does not change meanwhile, while others go on writing; under a
/// temporary name, forced to the disk, opened and compared with the book, looked at by `keep`, then renamed. Says whether
/// the copy was kept. What stood under that name is replaced. Cannot run inside a transaction.
///
/// # Errors
/// [`StoreError::NotCopied`] when the disk refuses; [`StoreError::Damaged`] when the book is; whatever `keep` refuses with.
pub fn copy(
    conn: &Connection,
    to: &Path,
    keep: impl FnOnce(&Connection) -> Result<bool, StoreError>,
) -> Result<bool, StoreError> {
    let temporary = beside(conn, to)?;
    let kept = keep(&open_copy(&temporary.path)?)?;
    if kept {
        temporary.rename(to)?;
    }
    Ok(kept)
}

/// As [`copy`], but under the first name of `names` that nothing has yet, also when somebody else is looking for one at the
/// same time; says which.
///
/// # Errors
/// As [`copy`]; [`StoreError::Exists`] when there are no more names.
pub(super) fn copy_new(
    conn: &Connection,
    mut names: impl Iterator<Item = PathBuf>,
    or: &Path,
) -> Result<PathBuf, StoreError> {
    let taken = || StoreError::Exists { path: or.to_owned() };
    let free = |path: &PathBuf| fs::symlink_metadata(path).is_err();
    let mut to = names.find(free).ok_or_else(taken)?;
    let temporary = beside(conn, &to)?;
    while !temporary.name_new(&to)? {
        to = names.find(free).ok_or_else(taken)?;
    }
    sync_folder(&to)?;
    Ok(to)
}

/// A verified copy of the book of `conn` beside `to`, to be given that name later.
///
/// # Errors
/// As [`copy`].
pub(super) fn beside(conn: &Connection, to: &Path) -> Result<Temporary, StoreError> {
    let temporary = Temporary::beside(to)?;
    write(conn, &temporary.path).map_err(|error| not_copied(to, error))?;
    Ok(temporary)
}

/// Writes the copy and looks whether it holds what the book holds.
fn write(conn: &Connection, to: &Path) -> Result<(), StoreError> {
    // One state of the book for as long as it takes: nothing that another one writes makes the copy begin anew.
    let snapshot = Transaction::new_unchecked(conn, TransactionBehavior::Deferred).doing(COPYING)?;
    let held = Held::by(&snapshot)?;
    let mut target = Connection::open_with_flags(to, OpenFlags::SQLITE_OPEN_READ_WRITE).doing(COPYING)?;
    // Nothing is lost with a file that has no name yet; it is forced to the disk once, as a whole.
    target.pragma_update(None, "journal_mode", "OFF").doing(COPYING)?;
    target.pragma_update(None, "synchronous", "OFF").doing(COPYING)?;
    portions(conn, &mut target)?;
    drop(target);
    snapshot.commit().doing(COPYING)?;
    single(to)?;
    File::open(to).and_then(|file| file.sync_all()).at("writing the copy", to)?;
    let copied = open_copy(to)?;
    sound(&copied)?;
    if Held::by(&copied)? != held {
        return Err(StoreError::Damaged { what: "a copy of it does not hold what it holds".to_owned() });
    }
    Ok(())
}

const COPYING: &str = "copying the book";

fn portions(from: &Connection, to: &mut Connection) -> Result<(), StoreError> {
    let backup = Backup::new(from, to).doing(COPYING)?;
    let mut tries = 0;
    loop {
        match backup.step(PORTION).doing(COPYING)? {
            StepResult::Done => return Ok(()),
            StepResult::More => tries = 0,
            _ if tries == TRIES => return Err(StoreError::Busy { doing: COPYING }),
            _ => {
                tries += 1;
                std::thread::sleep(PAUSE);
            }
        }
    }
}

/// Makes a file of its own of a copy: it would want a log beside it, which a disk that cannot be written has no place for.
fn single(path: &Path) -> Result<(), StoreError> {
    let conn = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE).doing(COPYING)?;
    let mode: String = conn.query_row("PRAGMA journal_mode = DELETE", [], |row| row.get(0)).doing(COPYING)?;
    if mode.eq_ignore_ascii_case("delete") { Ok(()) } else { Err(StoreError::Busy { doing: COPYING }) }
}

/// Opens a copy to look at it; nothing of it is changed, and nothing is left beside it.
///
/// # Errors
/// [`StoreError`].
pub(super) fn open_copy(path: &Path) -> Result<Connection, StoreError> {
    let has = |log| fs::metadata(name_with(path, log)).is_ok_and(|about| about.len() > 0);
    let read = OpenFlags::SQLITE_OPEN_READ_ONLY;
    let opened = match path.to_str() {
        // A file without a log is all there is of it: read so, it may lie on a disk that cannot be written.
        Some(name) if !has("-wal") && !has("-journal") => {
            let name = name.replace('%', "%25").replace('?', "%3f").replace('#', "%23");
            Connection::open_with_flags(format!("file:{name}?immutable=1"), read | OpenFlags::SQLITE_OPEN_URI)
        }
        _ => Connection::open_with_flags(path, read),
    };
    opened.doing("looking at the copy")
}

/// Refuses a file with damaged pages.
///
/// # Errors
/// [`StoreError::Damaged`].
pub(super) fn sound(conn: &Connection) -> Result<(), StoreError> {
    let said: String =
        conn.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0)).doing("looking through the file")?;
    if said == "ok" { Ok(()) } else { Err(StoreError::Damaged { what: said }) }
}

/// What a file holds: whose it is, its version, and how many rows each table has.
#[derive(Debug, PartialEq, Eq)]
struct Held {
    mark: Mark,
    rows: Vec<(String, i64)>,
}

impl Held {
    fn by(conn: &Connection) -> Result<Held, StoreError> {
        let doing = "counting what the book holds";
        let mut names =
            conn.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name").doing(doing)?;
        let names = names.query_map([], |row| row.get("name")).doing(doing)?;
        let names: Vec<String> = names.collect::<rusqlite::Result<_>>().doing(doing)?;
        let rows = names.into_iter().map(|name| {
            let sql = format!("SELECT count(*) FROM \"{}\"", name.replace('"', "\"\""));
            let rows = conn.query_row(&sql, [], |row| row.get(0)).doing(doing)?;
            Ok((name, rows))
        });
        Ok(Held { mark: Mark::read_within(conn)?, rows: rows.collect::<Result<_, StoreError>>()? })
    }
}

/// Says of a copy that could not be written why not, in words for people. A damaged book stays a damaged book.
pub(super) fn not_copied(to: &Path, error: StoreError) -> StoreError {
    let why = match error {
        StoreError::Io { source, .. } => crate::system::words(&source),
        StoreError::CannotWrite { why, .. } => why.to_owned(),
        other => return other,
    };
    StoreError::NotCopied { to: folder_of(to).to_owned(), why }
}

/// The folder that a file lies in.
pub(super) fn folder_of(file: &Path) -> &Path {
    file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// The name of a file is only on the disk once its folder is.
pub(super) fn sync_folder(of: &Path) -> Result<(), StoreError> {
    let folder = folder_of(of);
    if cfg!(unix) { File::open(folder).and_then(|f| f.sync_all()).at("writing the folder of", of) } else { Ok(()) }
}

/// A file that goes away unless it was renamed. It is locked for as long as somebody works at it, so that what a process
/// left behind that did not end well is told from what is in the making.
#[derive(Debug)]
pub(super) struct Temporary {
    path: PathBuf,
    _locked: File,
}

impl Temporary {
    /// An empty file, readable by its owner only, of a name that nothing else uses. What others left behind of a file that
    /// was to get the same name is cleared away first: a disk must not fill up with tries that were killed.
    fn beside(to: &Path) -> Result<Temporary, StoreError> {
        clear_parts(folder_of(to), |name| to.file_name().is_some_and(|of| of.to_string_lossy() == name));
        // Never the same twice: one that was cleared away must not be taken for another thread's.
        static NEXT: AtomicU32 = AtomicU32::new(0);
        for _ in 0..1_000 {
            let number = NEXT.fetch_add(1, Ordering::Relaxed);
            let mut name = to.as_os_str().to_owned();
            name.push(format!("{PART}{}-{number}", std::process::id()));
            let path = PathBuf::from(name);
            match super::private::owner_only(&path) {
                Ok(file) => {
                    // Where the disk knows no locks, what is left behind stays.
                    let _ = file.lock();
                    // Before it was locked, another one may have taken it for something left behind.
                    if path.exists() {
                        return Ok(Temporary { path, _locked: file });
                    }
                }
                Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error).at("making the copy", to).map_err(|error| not_copied(to, error)),
            }
        }
        Err(std::io::Error::from(ErrorKind::AlreadyExists)).at("making the copy", to)
    }

    /// Gives the file its name.
    pub(super) fn name(self, to: &Path) -> Result<(), StoreError> {
        fs::rename(&self.path, to).at("naming the copy", to).map_err(|error| not_copied(to, error))
    }

    /// Gives the file a name that nothing has; says whether nothing had it.
    fn name_new(&self, to: &Path) -> Result<bool, StoreError> {
        let named = match fs::hard_link(&self.path, to) {
            // Where the disk knows no second name for a file, as sticks often do not.
            Err(error) if error.kind() != ErrorKind::AlreadyExists && fs::symlink_metadata(to).is_err() => {
                fs::rename(&self.path, to)
            }
            named => named,
        };
        match named {
            Ok(()) => Ok(true),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => Ok(false),
            Err(_) if fs::symlink_metadata(to).is_ok() => Ok(false),
            Err(error) => Err(error).at("naming the copy", to).map_err(|error| not_copied(to, error)),
        }
    }

    /// Gives the file its name, so that it keeps it whatever happens.
    fn rename(self, to: &Path) -> Result<(), StoreError> {
        self.name(to)?;
        sync_folder(to)
    }
}

/// What stands between the name of a file and the number of the process that is making it.
const PART: &str = ".part-";

/// Clears away what processes left behind that were making files in a folder and did not end well; `ours` says of the name
/// that such a file was to get whether it is one of those that are made there.
pub(super) fn clear_parts(folder: &Path, ours: impl Fn(&str) -> bool) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let file = entry.file_name().to_string_lossy().into_owned();
        let Some((name, number)) = file.rsplit_once(PART) else { continue };
        let numbers = number.split_once('-').is_some_and(|(a, b)| a.parse::<u32>().is_ok() && b.parse::<u32>().is_ok());
        if !numbers || !ours(name) {
            continue;
        }
        // Only tidying: what cannot be taken away now is in nobody's way.
        let Ok(open) = File::open(entry.path()) else { continue };
        if open.try_lock().is_ok() {
            remove_with_logs(&entry.path());
        }
    }
}

fn remove_with_logs(path: &Path) {
    for suffix in ["", "-journal", "-wal", "-shm"] {
        let _ = fs::remove_file(name_with(path, suffix));
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        // Already renamed, or nothing more can be done about it.
        remove_with_logs(&self.path);
    }
}
