//! Any keys at all, for long: `cargo bench --bench keys -- EVENTS SEED` presses so many keys on copies of the demo bar and
//! says how often each scope and each action was met. It fails when something panics, holds on to whoever presses, leaves
//! a book unsound, or was never met.

#[path = "../tests/support/demo.rs"]
mod demo;
#[path = "../tests/support/keys.rs"]
mod keys;

use std::time::Instant;

fn main() {
    // Cargo hands a flag of its own to every bench.
    let words: Vec<u64> = std::env::args().filter_map(|word| word.parse().ok()).collect();
    let events = usize::try_from(words.first().copied().unwrap_or(1_000_000)).expect("a number of events");
    let seed = words.get(1).copied().unwrap_or(1);
    let started = Instant::now();
    let met = keys::anybody(events, 45, seed);
    println!("{}in {:.0} seconds, seed {seed}", met.told(), started.elapsed().as_secs_f64());
    assert_eq!(met.never(), [], "these were never met");
    let never = met.never_asked();
    assert!(never.is_empty(), "never asked for: {never:?}");
}
