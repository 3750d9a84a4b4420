//! Tantalus: back-bar inventory, variance and par, in a terminal and on one file.

#![cfg_attr(test, allow(clippy::unwrap_used))]

#[macro_use]
pub mod words;

pub mod app;
pub mod cli;
pub mod clock;
pub mod desk;
pub mod domain;
pub mod exchange;
pub mod store;
pub mod system;
pub mod tui;
