//! Typed rows that every front end renders: screens, tables and JSON cannot disagree, because they start here.

mod beginning;
mod bill;
mod card;
mod carry;
mod causes;
mod copies;
mod drinks;
mod dry;
mod files;
mod filled;
mod gauging;
mod goods;
mod history;
mod house;
mod orders;
mod paper;
mod par;
mod pasted;
mod period;
mod record;
mod sheet;
mod sizes;
mod till;
mod tonight;
mod why;
mod worth;

pub use beginning::{Guess, NewBar};
pub use bill::{Answers, BillBooked, BillChoice, BillFile, BillTakenBack, BillView};
pub use card::{Ask, Card, CardFault, CardField, CardKept, CardLine, CardOf, Fills};
pub use carry::{CarryView, from_words};
pub use causes::{InWords, cause_word, chances, doubt_words};
pub use copies::{CopiesState, CopyMade, CopyRow, SecondFault, SecondFolder, size_words};
pub use drinks::{DrinkDraft, DrinkLine, DrinksView, Selection};
pub use dry::{DryRow, DryVan, dry_rows};
pub use files::{FileEntry, FilePrint, Listing, OfferedFile};
pub use filled::{Filled, FilledSheet, SheetMark, TypedIn, entry_on_paper, ranges};
pub use gauging::{EyeCheck, EyeCheckLine, GaugingRow, GaugingView, LastRead};
pub use goods::{GoodsEnd, GoodsView};
pub use history::{ActRow, HistoryView, LineTold, PersonRow, Telling};
pub use house::{HouseLine, HouseView, Made, MakeAdvice, RecipeDraft};
pub use orders::{
    Checking, DraftKept, DraftView, OrdersView, ReceiveLine, ReceiveView, chance_words, differ_words, filled_up_words,
    mixed_words, unproved_words, waits_words,
};
pub use paper::{CountSheet, PaperLine, PaperPlace, parse_mark};
pub use par::{
    AskedOn, LOOK_BACK_LIMITS, LOOK_BACK_WAYS, Lasts, Lately, LookBack, LookBackRow, LookBackSum, LookBackWeek,
    ParChange, ParSet, ParView, Ruling, StripDay, Van, check_par, cover_words, difference, far_apart, lasts_into,
    next_van, par_words, ruler, strip, typed_par,
};
pub use pasted::{LineFault, LineLook, ListColumn, ListLook, PastedLine, PastedList, Taken};
pub use period::{Evening, Evidence, Look, PastPeriod, PeriodView};
pub use record::{RECORD_LIMITS, dearer_words, late_words, record_sums};
pub use sheet::{Digit, Entered, EntryMode, ItemFacts, Meaning, Progress, Sheet, SheetLine, SheetPlace, suited};
pub use sizes::{typed_size, usual_size};
pub use till::{FileSum, Lowered, SalesLook, SampleColumn, TableLook, TakenIn, TillRow, TillView, UnderstoodRow};
pub use tonight::{
    ClaimsRow, CountChoice, DeadlineOrder, DeadlineRow, ExpectedRow, LowRow, PastDateRow, StockRow, Tonight,
};
pub use why::{WhyView, waiting_words};
pub use worth::{WorthAt, worth_kinds};
