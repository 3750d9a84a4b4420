//! What must hold of every parser, whatever it is given: it ends with a value or with an error in words. A function a
//! target; `tests/fuzz_corpus.rs` runs them all on the corpus that is kept.

mod files;
mod held;
mod plain;
mod words;

pub use files::{archive, bill, filled, till_export, till_folder, till_table};
pub use plain::plain;
pub use words::{figures, names, text, times};

/// Every target: its name, which is that of its corpus, and what it holds.
pub const TARGETS: &[(&str, fn(&[u8]))] = &[
    ("figures", figures),
    ("times", times),
    ("names", names),
    ("text", text),
    ("plain", plain),
    ("till_table", till_table),
    ("till_export", till_export),
    ("till_folder", till_folder),
    ("filled", filled),
    ("archive", archive),
    ("bill", bill),
];
