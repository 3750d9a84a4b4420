//! Power cuts on paper: what a program did to its files, read from a trace of its system calls, and what of it a disk may
//! hold when the power goes.

// Each user of it uses a part.
#![allow(dead_code, unused_imports)]

mod disk;
mod trace;

pub(crate) use disk::{Cut, Disk, How};
pub(crate) use trace::{CALLS, Deed, Trace};
