//! What a till writes and how it is understood: the layout of its tables, and which drink a name most likely means.

mod layout;
mod taken;

pub use layout::{Amounts, DateOrder, DecimalMark, Field, Layout, LayoutColumn};
pub use taken::{TakenAs, TakenFile};
