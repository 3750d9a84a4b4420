//! Typed rows that every front end renders: screens, tables and JSON cannot disagree, because they start here.

mod orders;
mod period;
mod sheet;
mod tonight;

pub use orders::{DraftView, OrdersView, ReceiveLine, ReceiveView};
pub use period::{Evidence, PeriodView};
pub use sheet::{Entered, EntryMode, ItemFacts, Meaning, Progress, Sheet, SheetLine, SheetPlace, suited_mode};
pub use tonight::{CountChoice, DeadlineRow, ExpectedRow, LowRow, StockRow, Tonight};
