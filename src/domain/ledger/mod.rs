//! Movements and counts: the facts, and what they add up to at a moment.

mod facts;

pub use facts::{Batch, Count, CountLine, Delivery, Loss, Movements, Order, OrderLine, Sale, Transfer};
