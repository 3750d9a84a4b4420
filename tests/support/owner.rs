//! An owner with a book: the demo's, in a folder of its own, and the commands on it.

#![allow(dead_code, clippy::unwrap_used)]

use crate::demo;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::LazyLock;
use tantalus::desk::{check, comparing, counting};
use tantalus::domain::gauge::Entry;
use tantalus::domain::ledger::CountLine;
use tantalus::domain::venue::{Deed, Moment};
use tantalus::store::{Store, setup};
use tempfile::TempDir;

pub(crate) struct Bar {
    pub(crate) home: TempDir,
}

impl Bar {
    pub(crate) fn new() -> Bar {
        // Made once, since it takes long.
        static DEMO: LazyLock<Vec<u8>> = LazyLock::new(|| {
            let made = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("owner-{}", std::process::id()));
            fs::create_dir_all(&made).unwrap();
            let book = demo::book(&made);
            let bytes = fs::read(&book).unwrap();
            fs::remove_dir_all(&made).unwrap();
            bytes
        });
        let bar = Bar { home: tempfile::tempdir().unwrap() };
        fs::write(bar.book(), &*DEMO).unwrap();
        bar
    }

    /// Another bar, whose book has the same name.
    pub(crate) fn other() -> Bar {
        let bar = Bar { home: tempfile::tempdir().unwrap() };
        demo::book(bar.home.path());
        bar
    }

    pub(crate) fn book(&self) -> PathBuf {
        self.home.path().join("demo.tantalus")
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.home.path().join(name)
    }

    pub(crate) fn copies(&self) -> PathBuf {
        self.path("demo.tantalus.copies")
    }

    pub(crate) fn store(&self) -> Store {
        Store::open(&self.book()).unwrap()
    }

    pub(crate) fn command(&self, args: &[&str]) -> Command {
        command(&self.book(), args)
    }

    pub(crate) fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }

    /// What a command says that must succeed.
    pub(crate) fn says(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    pub(crate) fn json(&self, args: &[&str]) -> Value {
        serde_json::from_str(&self.says(args)).unwrap()
    }

    /// Why a command is refused.
    pub(crate) fn refused(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert_eq!(output.status.code(), Some(1), "{args:?}: {}", String::from_utf8_lossy(&output.stdout));
        String::from_utf8(output.stderr).unwrap()
    }

    /// Names a second folder for copies.
    pub(crate) fn second(&self, folder: &Path) {
        let plain = self.path("setting");
        fs::create_dir_all(&plain).unwrap();
        fs::write(plain.join("venue.csv"), format!("key,value\ncopies_to,{}\n", folder.display())).unwrap();
        self.says(&["load", plain.to_str().unwrap()]);
    }

    /// Adds a place, so that one book is told from another.
    pub(crate) fn mark(&self, name: &str) {
        add_place(&self.store(), name);
    }
}

pub(crate) fn add_place(store: &Store, name: &str) {
    store.write((Deed::Loaded, demo::now()), |conn| setup::put_place(conn, name, 99)).unwrap();
}

pub(crate) fn command(book: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    command.arg("--book").arg(book).args(args);
    command.env("TANTALUS_NOW", demo::NOW).env_remove("TANTALUS_BY").env_remove("TANTALUS_BOOK");
    command
}

/// Whether a sound book has a place of this name.
pub(crate) fn has(book: &Path, place: &str) -> bool {
    let store = Store::open(book).unwrap();
    assert_eq!(check::check(&store).unwrap(), []);
    store.read(setup::load).unwrap().places.iter().any(|p| p.name == place)
}

pub(crate) fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Some minutes after the evening's beginning.
pub(crate) fn later(minutes: i64) -> Moment {
    Moment(demo::now().0 + minutes * 60_000)
}

/// Counts one line of the first place and closes the count.
pub(crate) fn close_a_count(store: &Store, at: Moment) {
    let setup = comparing::setup(store).unwrap();
    let spot = &setup.shelves[0];
    let id = counting::begin(store, &[spot.place], false, None, at).unwrap();
    let sheet = counting::sheet(store, id, at).unwrap();
    let entry = Entry::parse("1").unwrap();
    let method = entry.method(setup.item(spot.item).unwrap().count_by);
    let line = CountLine { count: id, place: spot.place, item: spot.item, at, entry, method, by: None };
    counting::save_line(store, &sheet, &line, None, at).unwrap();
    counting::close(store, id, at).unwrap();
}
