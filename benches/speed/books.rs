//! The books that are measured: a made-up bar of 400 items with years of trade, made once and kept under `target/`.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tantalus::desk::copying;
use tantalus::domain::venue::Moment;
use tantalus::store::Store;

pub(crate) const BIN: &str = env!("CARGO_BIN_EXE_tantalus");

pub(crate) struct Book {
    pub(crate) years: u32,
    pub(crate) path: PathBuf,
    /// The folder of plain files that it was made of.
    pub(crate) files: PathBuf,
    /// The moment that it is looked at: noon after its last night.
    pub(crate) now: &'static str,
}

impl Book {
    pub(crate) fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(BIN);
        command.arg("--book").arg(&self.path).args(args).env("TANTALUS_NOW", self.now).stdin(Stdio::null());
        command
    }
}

pub(crate) fn run(command: &mut Command) -> String {
    let done = command.stderr(Stdio::piped()).output().expect("a command");
    assert!(done.status.success(), "{command:?}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8_lossy(&done.stdout).into_owned()
}

/// A program of the folder of examples, built as the benches are.
pub(crate) fn example(name: &str) -> PathBuf {
    run(Command::new(env!("CARGO")).args(["build", "--release", "--quiet", "--example", name]));
    let target = Path::new(BIN).parent().expect("the folder of the binary");
    target.join("examples").join(name)
}

/// The book of so many years, as the binary that is measured makes it.
pub(crate) fn book(years: u32) -> Book {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/bench-books");
    std::fs::create_dir_all(&folder).expect("a folder");
    let (path, files) = (folder.join(format!("years-{years}.tantalus")), folder.join(format!("years-{years}.files")));
    // A book begins in 1990 at the earliest: see the example.
    let now = if years <= 36 { "2026-11-23T12:00:00+00:00" } else { "2040-01-02T12:00:00+00:00" };
    let book = Book { years, path, files, now };
    if !book.path.exists() {
        run(Command::new(example("make_big_book")).arg(&book.files).arg(years.to_string()));
        let files = book.files.to_str().expect("a path in UTF-8").to_owned();
        run(&mut book.command(&["init", &files]));
    }
    copied(&book.path, &book);
    book
}

/// Has the copy made that the program would make when it is started the first time: it is not to be measured.
pub(crate) fn copied(path: &Path, of: &Book) {
    let now = chrono::DateTime::parse_from_rfc3339(of.now).expect("a moment").timestamp_millis();
    let store = Store::open(path).expect("the book opens");
    copying::catch_up(&store, Moment(now)).expect("a copy beside it");
}
