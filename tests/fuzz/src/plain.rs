//! Plain files: a folder of one file into a small book.

use super::held::{NOW, sources};
use std::cell::RefCell;
use std::fs;
use std::path::{Path, PathBuf};
use tantalus::desk::{self, DeskError};
use tantalus::exchange::plain::Plain;
use tantalus::store::Store;

/// A book that has something of everything, and a copy of it to begin with again.
struct Shelf {
    folder: tempfile::TempDir,
    store: Option<Store>,
}

impl Shelf {
    fn new() -> Shelf {
        let folder = tempfile::tempdir().expect("a folder");
        let made = desk::init::init_from(
            &folder.path().join("pristine"),
            &sources().join("tests/good_folder"),
            NOW,
            &mut desk::unwatched,
        );
        drop(made.unwrap_or_else(|refused| panic!("the good folder: {refused}")));
        Shelf { folder, store: None }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The book as it was made.
    fn store(&mut self) -> &Store {
        let (pristine, path) = (self.path("pristine"), self.path("book"));
        self.store.get_or_insert_with(|| {
            fs::copy(pristine, &path).expect("a copy");
            Store::open(&path).unwrap_or_else(|refused| panic!("the copy: {refused}"))
        })
    }

    /// It is changed: the next one begins anew.
    fn throw_away(&mut self) {
        if let Some(store) = self.store.take() {
            store.discard().unwrap_or_else(|refused| panic!("the copy: {refused}"));
        }
    }
}

/// What a book says, as plain files in one text.
fn told(store: &Store, folder: &Path) -> String {
    let _ = fs::remove_dir_all(folder);
    let report = desk::dump::dump(store, folder).unwrap_or_else(|refused| panic!("a dump: {refused}"));
    let file = |file: &Plain| fs::read_to_string(folder.join(file.name())).expect("a file of the dump");
    report.files.iter().map(|(plain, _)| file(plain)).collect()
}

thread_local! {
    static SHELF: RefCell<Shelf> = RefCell::new(Shelf::new());
}

/// Takes the first byte for which file it is, and the rest for what is in it: all of it comes in and the book is sound,
/// dumped and loaded again the same; or none of it, with faults in words.
pub fn plain(bytes: &[u8]) {
    let Some((first, content)) = bytes.split_first() else { return };
    let file = Plain::ALL[usize::from(*first) % Plain::ALL.len()];
    SHELF.with_borrow_mut(|shelf| {
        let (files, out, back) = (shelf.path("files"), shelf.path("out"), shelf.path("back"));
        let _ = fs::remove_dir_all(&files);
        fs::create_dir(&files).expect("a folder");
        fs::write(files.join(file.name()), content).expect("a file");
        let again = shelf.path("again");
        let store = shelf.store();
        match desk::load::load(store, &files, NOW, &mut desk::unwatched) {
            Ok(_) => {
                let findings = desk::check::check(store).unwrap_or_else(|refused| panic!("a check: {refused}"));
                assert!(findings.is_empty(), "{findings:?}");
                let then = told(store, &out);
                let made = desk::init::init_from(&again, &out, NOW, &mut desk::unwatched);
                let (other, _) = made.unwrap_or_else(|refused| panic!("what was dumped is refused: {refused}"));
                let now = told(&other, &back);
                let differs = then.lines().zip(now.lines()).find(|(a, b)| a != b);
                assert!(then == now, "it is not the same after a dump and a load: {differs:?}");
                other.discard().unwrap_or_else(|refused| panic!("the other book: {refused}"));
                shelf.throw_away();
            }
            Err(DeskError::Faults(faults)) => {
                let said = DeskError::Faults(faults).to_string();
                assert!(!said.chars().any(|c| c.is_control() && c != '\n'), "{said:?}");
            }
            Err(other) => panic!("{other}"),
        }
    });
}
