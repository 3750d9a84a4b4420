//! Books of every earlier version, as the program of their time made them, and what it dumped of them.

#![allow(dead_code, clippy::unwrap_used)]

use flate2::read::GzDecoder;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

/// The newest version that there are books of. A book of the version after it belongs here once that one is the newest no
/// longer.
pub(crate) const VERSIONS: std::ops::RangeInclusive<usize> = 1..=10;

/// Of each version two: a week of the demo's bar with an evening worked on the screens, and a small one with something
/// in every plain file.
pub(crate) const KINDS: [&str; 2] = ["bar", "small"];

fn unpacked(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/books").join(name);
    let file = File::open(&path).unwrap_or_else(|why| panic!("{}: {why}", path.display()));
    let mut bytes = Vec::new();
    GzDecoder::new(file).read_to_end(&mut bytes).unwrap();
    bytes
}

/// Lays a copy of a book into a folder.
pub(crate) fn book(folder: &Path, version: usize, kind: &str) -> PathBuf {
    let path = folder.join(format!("v{version}-{kind}.tantalus"));
    fs::write(&path, unpacked(&format!("v{version}-{kind}.tantalus.gz"))).unwrap();
    path
}

/// The plain files that its own program dumped, by name.
pub(crate) fn dump(version: usize, kind: &str) -> BTreeMap<String, String> {
    let text = String::from_utf8(unpacked(&format!("v{version}-{kind}.dump.gz"))).unwrap();
    let files = text.split("=== ").skip(1).map(|file| {
        let (name, content) = file.split_once('\n').unwrap();
        (name.to_owned(), content.to_owned())
    });
    files.collect()
}
