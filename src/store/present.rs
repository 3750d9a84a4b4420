//! Who has the book open: a small file for each open screen in a folder beside the book, locked for as long as it is
//! open. The lock ends with the process, however it ends, so that what was left behind is told from what is in use.

use super::StoreError;
use super::error::At;
use super::identity::FileId;
use super::open::beside;
use super::private::{owner_only, private_folder};
use std::fs::{self, File, TryLockError};
use std::io::{ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

/// Longest line that is read of such a file, in bytes.
const MOST: u64 = 1_000;
/// So often a place is looked for anew when the folder goes away in between.
const TRIES: usize = 100;

/// Says that somebody has the book open, until it is dropped or the process ends.
#[derive(Debug)]
pub struct Guard {
    path: PathBuf,
    file: File,
}

/// Who else has a book open.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Present {
    /// What each of them says of itself.
    pub says: Vec<String>,
    /// How many were left behind by a process that did not end well; they are cleared away.
    pub left_behind: usize,
}

/// The folder in which those who have a book open say so: `BOOK.here`.
pub fn folder_of(book: &Path) -> PathBuf {
    beside(&real(book), ".here")
}

/// The book itself, where its name is a link to it: everybody must look beside the same file.
pub(super) fn real(book: &Path) -> PathBuf {
    fs::canonicalize(book).unwrap_or_else(|_| book.to_owned())
}

/// Says in one line that somebody has the book open: who, where, since when.
///
/// # Errors
/// [`StoreError::Io`] when nothing can be written beside the book.
pub fn enter(book: &Path, says: &str) -> Result<Guard, StoreError> {
    // No name twice in the life of a process, so that nobody who clears away an old file ever meets a new one.
    static NEXT: AtomicU64 = AtomicU64::new(0);
    let folder = folder_of(book);
    let doing = "saying that the book is open in";
    for _ in 0..TRIES {
        private_folder(&folder).at(doing, &folder)?;
        let path = folder.join(format!("{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed)));
        let file = match owner_only(&path) {
            Ok(file) => file,
            // Left by an earlier process of the same number; or the last one to leave took the folder away.
            Err(error) if matches!(error.kind(), ErrorKind::AlreadyExists | ErrorKind::NotFound) => continue,
            Err(error) => return Err(error).at(doing, &folder),
        };
        file.lock().at(doing, &folder)?;
        let guard = Guard { path, file };
        // Before the lock was there, it may have been taken for one that was left behind.
        if FileId::of(&guard.path).is_some() {
            guard.say(says)?;
            return Ok(guard);
        }
    }
    Err(std::io::Error::from(ErrorKind::ResourceBusy)).at(doing, &folder)
}

/// Who has the book open. Files whose owners are gone are cleared away. Whoever has a [`Guard`] asks that instead.
///
/// # Errors
/// [`StoreError::Io`] when the folder is there and cannot be read.
pub fn others(book: &Path) -> Result<Present, StoreError> {
    others_than(&folder_of(book), None)
}

fn others_than(folder: &Path, own: Option<&Path>) -> Result<Present, StoreError> {
    let doing = "looking who has the book open in";
    let mut present = Present::default();
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(present),
        Err(error) => return Err(error).at(doing, folder),
    };
    for entry in entries {
        let path = entry.at(doing, folder)?.path();
        if own == Some(&path) || !is_ours(&path) {
            continue;
        }
        let file = match File::open(&path) {
            Ok(file) => file,
            Err(error) if error.kind() == ErrorKind::NotFound => continue,
            Err(error) => return Err(error).at(doing, &path),
        };
        match file.try_lock() {
            Err(TryLockError::WouldBlock) => present.says.push(first_line(file)),
            Err(TryLockError::Error(error)) => return Err(error).at(doing, &path),
            // Its owner is gone: removed while it is locked, so that nobody takes it for one in use.
            Ok(()) => match fs::remove_file(&path) {
                Ok(()) => present.left_behind += 1,
                // It has just left.
                Err(error) if error.kind() == ErrorKind::NotFound => {}
                Err(error) => return Err(error).at("clearing away", &path),
            },
        }
    }
    if present.left_behind > 0 {
        // Only an empty one goes.
        let _ = fs::remove_dir(folder);
    }
    present.says.sort();
    Ok(present)
}

/// Whether a name is one of those that are given here: two numbers.
fn is_ours(path: &Path) -> bool {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    name.split_once('-').is_some_and(|(pid, n)| pid.parse::<u32>().is_ok() && n.parse::<u64>().is_ok())
}

fn first_line(file: File) -> String {
    let mut bytes = Vec::new();
    // What cannot be read says nothing, and is in use all the same.
    let _ = file.take(MOST).read_to_end(&mut bytes);
    String::from_utf8_lossy(&bytes).lines().next().unwrap_or_default().to_owned()
}

impl Guard {
    /// Says something else from now on, in one line.
    ///
    /// # Errors
    /// [`StoreError::Io`].
    pub fn say(&self, text: &str) -> Result<(), StoreError> {
        let line: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).chain(['\n']).collect();
        let mut file = &self.file;
        // Over the old line, and only then the rest away: whoever reads meanwhile sees one of the two.
        let write = file.seek(SeekFrom::Start(0)).and_then(|_| file.write_all(line.as_bytes()));
        write.and_then(|()| file.set_len(line.len() as u64)).at("saying that the book is open in", &self.path)
    }

    /// Who else has the book open, as [`others`].
    ///
    /// # Errors
    /// [`StoreError::Io`].
    pub fn others(&self) -> Result<Present, StoreError> {
        others_than(self.path.parent().unwrap_or(Path::new(".")), Some(&self.path))
    }
}

impl Drop for Guard {
    fn drop(&mut self) {
        // Before the lock goes: an unlocked file would look like one that was left behind. Nothing more can be done where
        // it cannot be removed, and the folder stays while somebody else is in it.
        let _ = fs::remove_file(&self.path);
        if let Some(folder) = self.path.parent() {
            let _ = fs::remove_dir(folder);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whoever_enters_is_seen_until_it_leaves() {
        let home = tempfile::tempdir().unwrap();
        let book = home.path().join("bar.tantalus");
        assert_eq!(others(&book).unwrap(), Present::default());
        let (one, two) = (enter(&book, "OM, on Count").unwrap(), enter(&book, "IP").unwrap());
        assert_eq!(others(&book).unwrap().says, ["IP", "OM, on Count"]);
        assert_eq!(one.others().unwrap().says, ["IP"]);
        one.say("OM").unwrap();
        two.say("two\nlines\u{1b}[2J").unwrap();
        assert_eq!(others(&book).unwrap().says, ["OM", "two lines [2J"]);
        drop(two);
        assert_eq!(others(&book).unwrap(), Present { says: vec!["OM".to_owned()], left_behind: 0 });
        drop(one);
        assert!(!folder_of(&book).exists(), "the last one takes the folder away");
    }

    #[test]
    fn what_others_put_there_stays() {
        let home = tempfile::tempdir().unwrap();
        let book = home.path().join("bar.tantalus");
        let guard = enter(&book, "OM").unwrap();
        fs::write(folder_of(&book).join("note"), "mine").unwrap();
        fs::write(folder_of(&book).join("7-0"), "gone\n").unwrap();
        assert_eq!(guard.others().unwrap(), Present { says: Vec::new(), left_behind: 1 });
        drop(guard);
        assert!(folder_of(&book).join("note").exists());
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_can_read_it() {
        use std::os::unix::fs::PermissionsExt;
        let home = tempfile::tempdir().unwrap();
        let book = home.path().join("bar.tantalus");
        let guard = enter(&book, "OM").unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!((mode(&folder_of(&book)), mode(&guard.path)), (0o700, 0o600));
    }

    #[test]
    fn many_that_come_and_go_are_never_taken_for_left_behind() {
        let home = tempfile::tempdir().unwrap();
        let book = home.path().join("bar.tantalus");
        let stays = enter(&book, "stays").unwrap();
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| {
                    for _ in 0..200 {
                        let guard = enter(&book, "comes and goes").unwrap();
                        assert!(guard.path.exists());
                        assert!(guard.others().unwrap().says.contains(&"stays".to_owned()));
                    }
                });
            }
        });
        assert_eq!(stays.others().unwrap().says, [""; 0]);
    }
}
