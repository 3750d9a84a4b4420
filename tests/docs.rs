//! The docs that are made of the program's own tables say what the tables say. `UPDATE_DOCS=1 cargo test` writes them
//! anew.

#![allow(clippy::unwrap_used)]

use std::path::Path;

fn held(name: &str, table: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs").join(name);
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(&path, table).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(written == table, "docs/{name} is out of date: run UPDATE_DOCS=1 cargo test --test docs");
}

#[test]
fn the_keys_are_the_keys_of_the_program() {
    held("keys.md", &tantalus::tui::keymap::markdown());
}

#[test]
fn the_key_card_has_the_keys_of_the_program_on_one_page() {
    let card = tantalus::tui::keymap::card();
    held("key-card.html", &card);
    // Three columns of some fifty lines are what a sheet holds at this size.
    assert!(card.matches("<dt>").count() + card.matches("<h2>").count() < 150);
}

#[test]
fn the_plain_files_are_those_of_the_program() {
    held("plain-files.md", &tantalus::exchange::plain::markdown());
}
