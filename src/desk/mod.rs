//! The use cases: one use case, one transaction. The only place where the book and what comes and goes meet.

pub mod book;
pub mod carrying;
pub mod check;
pub mod comparing;
pub mod costing;
pub mod counting;
pub mod days;
pub mod demo;
pub mod drinks;
pub mod dump;
mod error;
pub mod expecting;
pub mod explaining;
pub mod files;
pub mod filled;
pub mod gauging;
pub mod goods;
pub mod house;
pub mod init;
pub mod load;
pub mod looking;
pub mod losing;
pub mod ordering;
pub mod par;
mod progress;
pub mod receiving;
pub mod reporting;
pub mod reviewing;
mod rows;
pub mod signing;
pub mod situation;
pub mod till;

pub use error::DeskError;
use error::refused;
pub use progress::{Pace, Progress, Watch, unwatched};
