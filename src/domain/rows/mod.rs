//! Typed rows that every front end renders: screens, tables and JSON cannot disagree, because they start here.

mod bill;
mod causes;
mod drinks;
mod files;
mod filled;
mod gauging;
mod goods;
mod house;
mod orders;
mod paper;
mod par;
mod period;
mod sheet;
mod till;
mod tonight;

pub use bill::{Answers, BillBooked, BillChoice, BillFile, BillTakenBack, BillView};
pub use causes::{InWords, cause_word, chances, doubt_words};
pub use drinks::{DrinkDraft, DrinkLine, DrinksView, Selection};
pub use files::{FileEntry, FilePrint, Listing, OfferedFile};
pub use filled::{Filled, FilledSheet, SheetMark, TypedIn, entry_on_paper, ranges};
pub use gauging::{EyeCheck, EyeCheckLine, GaugingRow, GaugingView, LastRead};
pub use goods::{GoodsEnd, GoodsView};
pub use house::{HouseLine, HouseView, Made, MakeAdvice, RecipeDraft};
pub use orders::{DraftView, OrdersView, ReceiveLine, ReceiveView, mixed_words};
pub use paper::{CountSheet, PaperLine, PaperPlace, parse_mark};
pub use par::{LOOK_BACK_LIMITS, LookBack, LookBackRow, LookBackSum, LookBackWeek, ParView, par_words};
pub use period::{Evening, Evidence, Look, PeriodView};
pub use sheet::{Digit, Entered, EntryMode, ItemFacts, Meaning, Progress, Sheet, SheetLine, SheetPlace, suited};
pub use till::{FileSum, Lowered, SalesLook, SampleColumn, TableLook, TakenIn, TillRow, TillView, UnderstoodRow};
pub use tonight::{
    ClaimsRow, CountChoice, DeadlineRow, DryRow, ExpectedRow, LowRow, PastDateRow, StockRow, Tonight, dry_rows,
};
