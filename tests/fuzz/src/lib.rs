//! What must hold of every parser, whatever it is given: it ends with a value or with an error in words. A function a
//! target; `tests/fuzz_corpus.rs` runs them all on the corpus that is kept.

mod files;
mod held;
mod plain;
mod words;

pub use files::{archive, bill, filled, till_export, till_folder, till_table};
pub use plain::plain;
pub use words::{figures, names, text, times};

/// What a target is called, which is the name of its corpus too, and what takes the bytes.
pub type Target = (&'static str, fn(&[u8]));

/// Every target.
pub const TARGETS: &[Target] = &[
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
