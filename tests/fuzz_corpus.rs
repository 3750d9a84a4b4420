//! The corpus of every fuzz target, through the same functions (`tests/fuzz/README.md` says how it came to be).

#![allow(clippy::unwrap_used, unreachable_pub)]

#[path = "fuzz/src/lib.rs"]
mod fuzz;

use std::fs;
use std::path::Path;

#[test]
fn every_entry_of_the_corpus_is_held() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus");
    for (name, held) in fuzz::TARGETS {
        let mut entries: Vec<_> = fs::read_dir(corpus.join(name)).unwrap().map(|entry| entry.unwrap().path()).collect();
        entries.sort();
        assert!(!entries.is_empty(), "{name} has no corpus");
        for entry in entries {
            let bytes = fs::read(&entry).unwrap();
            let held = std::panic::catch_unwind(|| held(&bytes));
            assert!(held.is_ok(), "{}", entry.display());
        }
    }
}
