//! Everything that computes. Pure: no database, terminal, file or clock; values in, values out.

pub mod copies;
pub mod drink;
pub mod gauge;
pub mod ledger;
pub mod many;
pub mod measure;
pub mod order;
pub mod par;
pub mod receive;
pub mod rows;
pub mod statistics;
pub mod till;
pub mod usage;
pub mod venue;
