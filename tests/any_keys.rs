//! Any keys at all on every screen, for a while; `cargo bench --bench keys` goes on for longer.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/keys.rs"]
mod keys;

use tantalus::tui::keymap::Scope;

#[test]
fn anybody_may_press_anything() {
    let met = keys::anybody(2_000, 8, 1);
    println!("{}", met.told());
    // The bench wants every scope and action; a short while meets nine tenths of the scopes at least.
    let never = met.never();
    assert!(never.len() * 10 <= Scope::ALL.len(), "these were never met: {never:?}");
}
