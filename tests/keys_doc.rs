//! `docs/keys.md` says what the key table says. `UPDATE_DOCS=1 cargo test` writes it anew.

#![allow(clippy::unwrap_used)]

use std::path::Path;

#[test]
fn the_keys_in_the_docs_are_the_keys_of_the_program() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/keys.md");
    let table = tantalus::tui::keymap::markdown();
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(&path, &table).expect("docs/keys.md can be written");
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(written == table, "docs/keys.md is out of date: run UPDATE_DOCS=1 cargo test --test keys_doc");
}
