//! Any keys at all on every screen, for a while; `cargo bench --bench keys` goes on for longer.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/keys.rs"]
mod keys;

#[test]
fn anybody_may_press_anything() {
    let met = keys::anybody(3_400, 8, 1);
    println!("{}", met.told());
    assert_eq!(met.never(), [], "these were never met");
}
