//! Pages as PDF: orders to send and sheets to count on.
//!
//! A page is laid out on a [`press::Press`] and set into a file by [`embed`]. What is printed depends on what is given
//! and on nothing else, no clock, so that the same order makes the same file.

mod count_sheet;
mod embed;
mod font;
mod order;
mod press;

pub use count_sheet::count_sheet_pdf;
pub use order::order_pdf;
