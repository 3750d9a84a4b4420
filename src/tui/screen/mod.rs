//! The screens. Each holds what it was opened with, what the person at the keyboard owns, and rows derived from the
//! book; a key becomes an action, an action an [`Effect`], and drawing only reads.

use crate::domain::gauge::{Level, Weighing};
use crate::domain::ledger::{Batch, CountLine, Loss};
use crate::domain::measure::{Amount, Basis, Money, Show};
use crate::domain::order::Carry;
use crate::domain::receive::Means;
use crate::domain::rows::{
    BillChoice, BillFile, BillView, Card, CardOf, Checking, DraftView, DrinkDraft, EntryMode, FilePrint, FilledSheet,
    ParChange, PastedList, ReceiveView, RecipeDraft, Selection,
};
use crate::domain::till::Layout;
use crate::domain::venue::{
    ActId, BillId, CauseWord, ClaimId, Containers, CountId, DrinkId, FileId, Item, ItemId, ItemShape, Moment, OrderId,
    ParFrom, Person, PlaceId, Profile, Seq, SupplierId, TillId, TillMeaning,
};
use crate::tui::keymap::Tab;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::notice::Notice;
use crate::words;
use chrono::NaiveDate;
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use std::path::PathBuf;
use std::sync::Arc;

pub(crate) mod asking;
pub mod beginning;
pub mod book;
pub mod card;
pub(crate) mod carry;
pub mod count;
pub mod drinks;
pub mod eye_check;
pub(crate) mod fitting;
#[cfg(test)]
pub(crate) mod fixture;
pub mod gauging;
pub mod house;
pub mod losses;
pub mod orders;
pub mod par;
pub(crate) mod parts;
pub mod pasted;
pub mod receive;
pub(crate) mod serve;
pub mod stock;
pub mod suppliers;
pub mod till;
pub mod tonight;
pub mod variance;
pub(crate) mod when;
pub(crate) mod writing;

/// What drawing needs besides the screen itself.
#[derive(Clone, Copy, Debug)]
pub struct Scene<'a> {
    /// The look.
    pub theme: &'a Theme,
    /// The moment.
    pub now: Moment,
}

/// What somebody says made a gap.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CauseAccepted {
    /// The count at which it shows.
    pub closing: CountId,
    /// The item.
    pub item: ItemId,
    /// The cause.
    pub cause: CauseWord,
    /// Anything to remember.
    pub note: String,
    /// Who says so.
    pub by: String,
}

/// An end of the period that two counts are compared over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PeriodEnd {
    /// The count that it begins with.
    Opening,
    /// The count that it ends with.
    Closing,
}

/// What a screen wants done. Carrying it out, which is I/O, is the application's.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Nothing.
    None,
    /// Say something in the notice line.
    Say(Notice),
    /// Go to a screen.
    Go(Tab),
    /// One after the other.
    Both(Box<Effect>, Box<Effect>),
    /// Leave the program.
    Quit,
    /// Ask first; on yes, do it.
    Ask {
        /// What is asked.
        question: String,
        /// What Enter does.
        yes: String,
        /// What Esc does.
        no: String,
        /// What is done then.
        then: Box<Effect>,
        /// What is done on no; mostly nothing.
        otherwise: Box<Effect>,
    },
    /// Let the person pick an item; the screen is told by `picked`.
    Pick {
        /// What it is for.
        title: String,
        /// What Enter does, as the title says it: `adds it`.
        enter: &'static str,
        /// Those that can be picked; all where none are named.
        items: Option<Vec<ItemId>>,
        /// Those that are likely, which stand first. Where it is said that none is, Enter takes none unasked.
        likely: Option<Vec<ItemId>>,
        /// Whether it may be one that the book does not know yet; the screen is told by `unknown`.
        or_new: bool,
    },
    /// Let the person pick a drink; the screen is told by `picked`.
    PickDrink(String),
    /// Let the person choose a file; the screen is told by `chosen`. What for is said in the title.
    ChooseFile(String),
    /// Say what a till name means.
    MapTill {
        /// Which.
        till: TillId,
        /// What it means from now on.
        means: TillMeaning,
        /// What the person is told then.
        said: String,
    },
    /// Look at a file of sales; a table is read by the layout given, on the business day given where no column says it.
    LookAtSales {
        /// Where it is.
        path: PathBuf,
        /// How it is read, where somebody said.
        table: Option<(Layout, Option<NaiveDate>)>,
    },
    /// Take a file of sales in.
    TakeSales {
        /// Where it is.
        path: PathBuf,
        /// How a table is read.
        table: Option<(Layout, Option<NaiveDate>)>,
        /// What was in it when it was looked at.
        digest: String,
        /// Somebody said yes to what is doubtful about it.
        all_the_same: bool,
    },
    /// Read a supplier's invoice, to be received.
    ReadInvoice(PathBuf),
    /// Look at a bill anew, with what was said of it as a whole.
    ViewBill {
        /// The bill.
        file: Arc<BillFile>,
        /// What was said.
        choice: Box<BillChoice>,
    },
    /// Remember what a line of a bill is, and look at it anew.
    ExplainLine {
        /// The bill.
        file: Arc<BillFile>,
        /// What was said of it.
        choice: Box<BillChoice>,
        /// Whose it is.
        supplier: SupplierId,
        /// Which line, counted from 0.
        line: usize,
        /// What it is.
        means: Means,
    },
    /// Remember whose bill it is, and look at it anew.
    KnowSupplier {
        /// The bill.
        file: Arc<BillFile>,
        /// What was said of it.
        choice: Box<BillChoice>,
        /// Whose it is.
        supplier: SupplierId,
    },
    /// Let the person pick a supplier; the screen is told by `picked_supplier`.
    PickSupplier {
        /// What it is for.
        title: String,
        /// Those that stand first, in this order.
        first: Vec<SupplierId>,
    },
    /// Book a bill.
    AcceptBill {
        /// With what came.
        view: Box<BillView>,
        /// Keep what did not come on order.
        keep_rest: bool,
        /// The goods came on the day that the bill says.
        on_its_day: bool,
    },
    /// Settle a claim, with a word on how.
    SettleClaim(ClaimId, String),
    /// Take a bill back.
    TakeBackBill(BillId),
    /// Do not offer a file again.
    SetAside {
        /// Where it is.
        path: PathBuf,
        /// What makes it itself.
        print: FilePrint,
    },
    /// Take a file back.
    WithdrawFile(FileId),
    /// Offer a file again that was set aside.
    OfferFile(FileId, String),
    /// Begin a count.
    BeginCount {
        /// Where.
        places: Vec<PlaceId>,
        /// Hiding what is expected.
        blind: bool,
    },
    /// Begin a count that is typed in from a sheet.
    BeginFromSheet(Box<FilledSheet>),
    /// Go on with a count.
    OpenCount(CountId),
    /// Copy the book.
    CopyBook,
    /// Keep counted lines, in this order, each with a commit of its own.
    SaveLines(Vec<CountLine>),
    /// Keep an entry in place of the one that another terminal made of the same line.
    ReplaceLine {
        /// What is kept.
        ours: Box<CountLine>,
        /// What it replaces.
        theirs: Box<CountLine>,
    },
    /// Take an entry back: the line is again as it was before, or empty.
    TakeBackLine {
        /// What is taken back.
        taken: Box<CountLine>,
        /// What it was.
        before: Option<CountLine>,
    },
    /// Enter digits of one-key entry that came all at once.
    EnterDigits(String),
    /// Close a place of a count.
    ClosePlace(CountId, PlaceId),
    /// Close a count.
    CloseCount(CountId),
    /// Give a count up in which nothing was counted.
    DropCount(CountId),
    /// Show which containers to weigh, to check the eye that counted.
    CheckEye(CountId),
    /// Keep a weighing.
    Weigh(Weighing),
    /// Take a weighing back.
    TakeBackWeighing(Seq),
    /// Give an item's containers the first of some shapes that what was counted allows; `None` is no shape.
    SetShape(ItemId, Vec<Option<ItemShape>>),
    /// Keep a shape under its name, and give it to an item.
    PutShape(Box<Profile>, ItemId),
    /// Take an item in that the book does not know yet, with a spot in a place.
    NewItem(PlaceId, Box<Item>),
    /// Take back that an item was taken in.
    TakeBackItem(ItemId),
    /// Take up the card of something in the set-up, or of something new.
    OpenCard(CardOf, Option<i64>),
    /// Look what is wrong with the card that is open.
    LookAtCard(Box<Card>),
    /// Keep the card that is open.
    KeepCard(Box<Card>),
    /// Take something of the set-up away that nothing names.
    TakeAway(CardOf, i64),
    /// Look at a list of items that was pasted.
    PasteList(String),
    /// Look at a list of items in a file.
    OpenList(PathBuf),
    /// Look anew what the list comes to.
    LookAtList(Box<PastedList>),
    /// Read the list anew, with what stands over its columns on this of its rows.
    ReadListAnew(Box<PastedList>, Option<usize>),
    /// Take the list in.
    TakeList(Box<PastedList>),
    /// Give an item a spot in a place.
    AddItem(PlaceId, ItemId),
    /// Remember how a place is entered.
    SetMode(PlaceId, EntryMode),
    /// Compare two counts; the usual ones where none is given.
    Compare {
        /// The opening.
        opening: Option<CountId>,
        /// The closing.
        closing: Option<CountId>,
    },
    /// List the closed counts, one of which is to be an end of the period.
    ListCounts(PeriodEnd),
    /// Show the facts behind an item's line of the period that is shown.
    Explain(ItemId),
    /// Keep what somebody says made a gap.
    AcceptCause(CauseAccepted),
    /// Take that back: the gap is open again.
    ReopenGap {
        /// The count at which it shows.
        closing: CountId,
        /// The item.
        item: ItemId,
    },
    /// Write the period down as a page and a table.
    WriteReport {
        /// The opening.
        opening: CountId,
        /// The closing.
        closing: CountId,
    },
    /// Show why an item is ordered as it is.
    ExplainOrder(ItemId),
    /// Plan the orders for no more money than a budget, or without one.
    PlanOrders(Option<Money>),
    /// Keep a draft as it is now.
    KeepDraft(Box<DraftView>),
    /// Forget the changes to a draft.
    ForgetDraft(OrderId),
    /// Mark a draft as sent.
    Send(Box<DraftView>),
    /// Write a sheet to count on by hand, of some places.
    WriteCountSheet(Vec<PlaceId>),
    /// Write a draft's files.
    WriteOrder(Box<DraftView>),
    /// Keep what came of lines of an order on its way.
    Check(OrderId, Vec<Checking>),
    /// Book a delivery.
    Receive {
        /// What came.
        view: Box<ReceiveView>,
        /// The supplier's document.
        document: String,
        /// Keep what did not come on order.
        keep_rest: bool,
    },
    /// Give up an order that was sent.
    GiveUp(OrderId),
    /// Show what the stock was worth over time.
    ShowWorth,
    /// Write that down as a page.
    WriteWorth,
    /// Write the par levels down as a page.
    WritePars,
    /// Show what to carry up before service.
    ShowCarry,
    /// Book lines as carried.
    BookCarried(Vec<Carry>),
    /// Take back what was booked as carried.
    TakeBackCarried(Seq),
    /// Record a loss.
    RecordLoss(Loss),
    /// Take a loss back.
    TakeBackLoss(Seq),
    /// Keep a drink as it was written.
    KeepDrink(Box<DrinkDraft>),
    /// Put a drink on the menu or take it off.
    SetOnMenu(DrinkId, bool),
    /// Take away what of a drink begins on a day, or since ever.
    DropVersion(DrinkId, Option<NaiveDate>),
    /// Write the report of which drinks sell and which earn.
    WriteMenu(Selection),
    /// Write the sheet of a drink for many serves.
    WriteSheet {
        /// Which drink.
        drink: DrinkId,
        /// How many serves.
        serves: i64,
        /// Water as a share of the rest; as the method has it where it is not said.
        water: Option<f64>,
        /// What one bottle holds that it is filled into.
        vessel: Amount,
    },
    /// Keep a recipe as it was written.
    KeepRecipe(Box<RecipeDraft>),
    /// Book a batch.
    MakeBatch(Batch),
    /// Take a batch back.
    TakeBackBatch(Seq),
    /// Set an item's par by hand, or take it away.
    SetPar(ItemId, Option<Containers>),
    /// Let one of the two pars rule some items.
    RulePars(Vec<ItemId>, ParFrom),
    /// Put pars back as they were.
    PutParsBack(Vec<ParChange>),
    /// Show up to so many periods in a row, of one item or of all together.
    OverPeriods {
        /// The item; all of them together where none is named.
        item: Option<ItemId>,
        /// How many.
        most: usize,
        /// The counts that the last of them begins and ends with.
        last: (CountId, CountId),
    },
    /// Show what both pars would have done over so many weeks.
    LookBack(usize),
    /// Show one act of the history.
    ShowAct(ActId),
    /// Show more of what was done before.
    EarlierActs,
    /// Take an act back.
    UndoAct(ActId),
    /// Do an act again that was taken back.
    RedoAct(ActId),
    /// Take somebody in who signs here, or change what is known of them.
    PutPerson(Person),
    /// Ask for somebody's new PIN.
    AskNewPin(String),
    /// Take somebody's PIN away.
    ClearPin(String),
}

impl Effect {
    /// Asks first and does something on yes; on no, nothing.
    pub fn ask(question: impl Into<String>, yes: impl Into<String>, no: impl Into<String>, then: Effect) -> Effect {
        let (question, yes, no) = (question.into(), yes.into(), no.into());
        Effect::Ask { question, yes, no, then: Box::new(then), otherwise: Box::new(Effect::None) }
    }
}

/// Asks whether something of the set-up is to go.
pub(crate) fn take_away(of: CardOf, id: i64, name: &str) -> Effect {
    let question = say!("Take {name} away? It goes only if nothing in the book names it.", name = text::safe(name));
    Effect::ask(question, word!("takes it away"), word!("leaves it"), Effect::TakeAway(of, id))
}

/// What is wrong with a field, or what it takes, in lines of at most so many cells.
pub(crate) fn told(said: Result<String, String>, cells: usize, theme: &Theme) -> Vec<Line<'static>> {
    let (words, style) = match said {
        Ok(hint) => (hint, theme.muted),
        Err(wrong) => (say!("Not so: {wrong}", wrong = text::safe(&wrong)), theme.error),
    };
    text::wrap(&words, cells).into_iter().map(|line| Line::from(Span::styled(line, style))).collect()
}

/// An amount and its standard uncertainty: `3780 ± 29 ml`; without one, the amount alone.
pub(crate) fn with_u(show: Show, basis: Basis, level: Level, theme: &Theme) -> String {
    let u = Amount::rounded(level.u);
    if u.0 == 0 {
        return show.amount(basis, level.amount);
    }
    format!("{} {} {}", show.bare(basis, level.amount), theme.glyphs.plus_minus, show.amount(basis, u))
}

/// The same in containers, for a cell: `3.4 ±0.03`. Half a tenth at most for each opened one, so one decimal would mostly say
/// nought.
pub(crate) fn containers_with_u(show: Show, size: Amount, level: Level, theme: &Theme) -> String {
    let u = if size.0 > 0 { level.u / size.as_f64() } else { 0.0 };
    format!("{} {}{}", show.containers(level.amount, size), theme.glyphs.plus_minus, words::fixed(u, 2))
}

/// The look of a gap: over or short once zero lies outside two standard uncertainties, plain within them.
pub(crate) fn gap_style(gap: f64, u: f64, theme: &Theme) -> Style {
    if gap > 2.0 * u {
        theme.over
    } else if gap < -2.0 * u {
        theme.short
    } else {
        theme.text
    }
}

/// A figure with its sign: a gap is told by direction, never by colour alone. One that rounds to nothing has none.
pub(crate) fn signed(text: &str, value: i64) -> String {
    if value > 0 && text.contains(|c| matches!(c, '1'..='9')) { format!("+{text}") } else { text.to_owned() }
}
