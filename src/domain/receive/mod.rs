//! A supplier's bill and what was carried in: which item a line means and how many containers, and what to claim.

mod against;
mod checks;
mod deposit;
mod invoice;
mod likely;
mod matching;
mod sizing;
mod spread;
#[cfg(test)]
mod tests;
mod text;
pub mod units;

pub use against::{Against, AgainstLine, Agreed, Claim, ClaimKind, Invoiced, Mark, NotSaid};
pub use checks::{Problem, Weight};
pub use deposit::is_deposit;
pub use invoice::{Charge, DocumentKind, Invoice, InvoiceLine, LeftOut, Party, PartyId, TaxTotal, Totals};
pub use likely::{Likely, likely_suppliers};
pub use matching::{
    Apart, Book, CodeKey, KnownCode, Matched, Means, Rate, Status, apart, matched, named_order, settle,
};
pub use spread::shares;
