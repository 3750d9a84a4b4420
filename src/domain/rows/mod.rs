//! Typed rows that every front end renders: screens, tables and JSON cannot disagree, because they start here.

mod drinks;
mod gauging;
mod house;
mod orders;
mod paper;
mod period;
mod sheet;
mod tonight;

pub use drinks::{DrinkDraft, DrinkLine, DrinksView, Selection};
pub use gauging::{EyeCheck, EyeCheckLine, GaugingRow, GaugingView, LastRead};
pub use house::{HouseLine, HouseView, Made, MakeAdvice, RecipeDraft};
pub use orders::{DraftView, OrdersView, ReceiveLine, ReceiveView};
pub use paper::{CountSheet, PaperLine, PaperPlace};
pub use period::{Evidence, Look, PeriodView};
pub use sheet::{Digit, Entered, EntryMode, ItemFacts, Meaning, Progress, Sheet, SheetLine, SheetPlace, suited};
pub use tonight::{CountChoice, DeadlineRow, ExpectedRow, LowRow, PastDateRow, StockRow, Tonight};
