//! The terminal interface: one table of keys, one theme, a few widgets, and the terminal itself.
//!
//! What is drawn comes in as domain values; what a key means comes from [`keymap`]. Nothing here reads a file, the
//! database or the clock.

pub mod keymap;
pub mod pointer;
pub mod screen;
pub mod term;
pub mod text;
pub mod theme;
pub mod widget;
