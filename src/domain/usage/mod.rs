//! What was used, what was sold, and where the two differ.

mod demand;
mod gap;
mod sold;
mod standing;

pub use demand::{Asked, asked, known_days, sold_drinks};
pub use gap::{GapRow, GroupRow, Grouping, Period, Told, Untold, Variance, grouped, variance};
pub use sold::{Sold, SoldPart, Unmapped, sold};
pub use standing::{Anchor, OnHand, Seen, Standing, anchor, pouring, standing};
