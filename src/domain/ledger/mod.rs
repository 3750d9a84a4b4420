//! Movements and counts: the facts, and what they add up to over a stretch of time.

mod facts;
mod flow;
mod history;

pub use facts::{
    Batch, Check, Count, CountLine, DayTotal, Delivery, Explanation, Loss, Movements, Order, OrderLine, Sale, Transfer,
};
pub use flow::{Flow, Flows, Scope, Share, Span, Spans, flows, taken_by};
pub(crate) use flow::{every_share, explode, gcd};
pub use history::{Act, Image, RowChange};
