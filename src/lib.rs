//! Tantalus: back-bar inventory, variance and par, in a terminal and on one file.

#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod domain;
pub mod tui;
