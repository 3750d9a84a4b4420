//! A supplier's bill and what was carried in: which item a line means and how many containers, and what to claim.

mod against;
mod answering;
mod apart;
mod checks;
mod crediting;
mod deposit;
mod documents;
mod invoice;
mod kept;
mod keys;
mod known;
mod likely;
mod matching;
#[cfg(test)]
pub(crate) mod sample;
mod sizing;
mod spread;
#[cfg(test)]
mod tests;
mod text;
pub mod units;
mod unusual;

pub use against::{Against, AgainstLine, Agreed, Claim, ClaimKind, Invoiced, Mark, NotSaid};
pub use answering::{Candidate, Fit};
pub use apart::{Apart, apart, named_charges, named_order};
pub use checks::{Problem, Weight};
pub use crediting::{Credited, Crediting, Reduced};
pub use deposit::is_deposit;
pub use documents::Documents;
pub use invoice::{Charge, DocumentKind, Invoice, InvoiceLine, LeftOut, Party, PartyId, TaxTotal, Totals};
pub use kept::{Bill, KeptClaim};
pub use keys::{CodeKey, KnownAs};
pub use known::{KnownCode, Means, Rate};
pub use likely::{Likely, likely_suppliers};
pub use matching::{Book, Matched, Status, matched};
pub use spread::shares;
pub use unusual::is_unusual;
