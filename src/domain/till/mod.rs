//! What a till writes and how it is understood: the layout of its tables, and which drink a name most likely means.

mod fold;
mod layout;
mod likeness;
mod likewise;
mod question;
mod restated;
mod rung;
mod skip;
mod taken;

pub use fold::folded;
pub use layout::{Amounts, DateOrder, DecimalMark, Field, Layout, LayoutColumn};
pub use likeness::{Candidate, DISCOUNTS, Likely, Likeness, MONEY, Meaning};
pub use likewise::{Likewise, likewise};
pub use question::{About, Question};
pub use restated::restated;
pub use rung::RungAs;
pub use skip::Skip;
pub use taken::{LinesForm, TakenAs, TakenFile};
