//! Numbers of things, in words.

use std::fmt::Display;

/// So many of something: `1 line`, `12 lines`, `0 lines`.
pub fn number_of<N: Display + PartialEq + From<u8>>(number: N, one: &str, more: &str) -> String {
    let things = if number == N::from(1) { one } else { more };
    format!("{number} {things}")
}
