//! Every key: one table drives the program, the hint line, the help and `docs/keys.md`.

mod card;
mod tab;
mod table;

pub use card::card;
pub use tab::Tab;

use crate::domain::venue::Rights;
use crate::words;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use table::TABLE;

/// Makes [`Action`] and `Action::ALL` together, so that none can be forgotten in the tests.
macro_rules! actions {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {
        /// What a key asks for. What it means in detail is the screen's to say.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Action {
            $($(#[$doc])* $name,)+
            /// A character typed into a field, or one that begins an entry.
            Type(char),
            /// So many tenths are left in the opened container, 1 to 9.
            Tenths(u8),
            /// To a line of a list, or a field of a form, by its place: a click.
            Line(usize),
            /// The level stands at so many halves of a tenth, 1 to 20: a click or a drag.
            Level(u8),
        }

        impl Action {
            /// Every action that carries nothing.
            pub const ALL: &'static [Action] = &[$(Action::$name),+];
        }
    };
}

actions! {
    /// Leave the program.
    Quit,
    /// Stop the program and go back to the shell until `fg`.
    Suspend,
    /// Draw everything anew.
    Redraw,
    /// Show the keys.
    Help,
    /// Search for an item.
    Find,
    /// Search for anything at all, and do it.
    Anything,
    /// Other colours.
    NextLook,
    /// The mouse is the program's or the terminal's.
    ToggleMouse,
    /// Go to the screen Tonight.
    GoTonight,
    /// Go to the screen Count.
    GoCount,
    /// Go to the screen Variance.
    GoVariance,
    /// Go to the screen Orders.
    GoOrders,
    /// Go to the screen Receive.
    GoReceive,
    /// Go to the screen Losses.
    GoLosses,
    /// Go to the screen Stock.
    GoStock,
    /// Go to the screen Par levels.
    GoPar,
    /// Go to the screen Drinks.
    GoDrinks,
    /// Go to the screen House-made.
    GoHouse,
    /// Go to the screen Till.
    GoTill,
    /// Go to the screen Gauging.
    GoGauging,
    /// Go to the screen Suppliers.
    GoSuppliers,
    /// Go to the screen Book.
    GoBook,
    /// Say who is at the screen.
    WhoIsHere,
    /// Go to the screen to the right.
    NextScreen,
    /// Go to the screen to the left.
    PreviousScreen,
    /// One line up.
    Up,
    /// One line down.
    Down,
    /// One window up.
    PageUp,
    /// One window down.
    PageDown,
    /// To the first line.
    First,
    /// To the last line.
    Last,
    /// Out of what is open; one level back.
    Back,
    /// Open what the cursor is on.
    Open,
    /// Type a figure for what the cursor is on.
    Edit,
    /// The next place, supplier, delivery or line.
    Next,
    /// The one before.
    Previous,
    /// Keep what was typed.
    Accept,
    /// Keep what was typed and go one line down.
    AcceptDown,
    /// Throw away what was typed.
    Cancel,
    /// Erase the character before the cursor.
    EraseBack,
    /// Erase the character under the cursor.
    EraseForward,
    /// Erase the whole field.
    ClearField,
    /// Cursor one character left.
    CursorLeft,
    /// Cursor one character right.
    CursorRight,
    /// Cursor to the beginning.
    CursorHome,
    /// Cursor to the end.
    CursorEnd,
    /// To the next field of the form.
    NextField,
    /// To the field before.
    PreviousField,
    /// Switch the blind count on or off.
    ToggleBlind,
    /// The line holds what was expected.
    AsExpected,
    /// Back to the line before.
    PreviousLine,
    /// Leave the line for later.
    Skip,
    /// Type in a sheet that was filled in by hand.
    FromSheet,
    /// Go to a line by its number on the sheet.
    GoToNumber,
    /// Take the last entry back.
    Undo,
    /// Add an item that is not on the list.
    AddItem,
    /// Change between one-key and typed entry.
    ToggleOneKey,
    /// This place is counted.
    ClosePlace,
    /// The whole count is done.
    CloseCount,
    /// Nothing of the item is here.
    NoneHere,
    /// One sealed container and nothing else.
    OneSealed,
    /// Type the line out instead of one key.
    TypeOut,
    /// Choose the count that opens the period.
    ChooseOpening,
    /// Choose the count that closes the period.
    ChooseClosing,
    /// The period before.
    Earlier,
    /// The period after.
    Later,
    /// The last two counts of the whole bar.
    LastPeriod,
    /// Hide or show the lines within the count's exactness.
    ToggleWithin,
    /// Change what lines are grouped by.
    Grouping,
    /// The cause of a gap is known: take it off the list.
    AcceptCause,
    /// Write the period down as a page and a table.
    WriteReport,
    /// One pack more.
    OneMore,
    /// One pack less.
    OneLess,
    /// Order none of it.
    OrderNone,
    /// The order went out.
    MarkSent,
    /// Write the order's files.
    WriteFiles,
    /// Take the suggested figure again.
    TakeSuggestion,
    /// Drop all changes of a draft and be suggested anew.
    SuggestAnew,
    /// Say what all orders together may cost.
    Budget,
    /// What was ordered is what came.
    TakeAsOrdered,
    /// All that was not looked at came as ordered.
    RestAsOrdered,
    /// It goes to another place.
    ChangePlace,
    /// The delivery goes into stock.
    AcceptDelivery,
    /// The order will not come.
    GiveUpOrder,
    /// Show what to carry up before service.
    CarryUp,
    /// Show what the stock was worth over time.
    Worth,
    /// All of it was carried.
    BookAll,
    /// Write down a new loss.
    NewLoss,
    /// A sealed container is on the scale.
    WeighSealed,
    /// An empty container is on the scale.
    WeighEmpty,
    /// What a reading would be, without keeping it.
    TryReading,
    /// Another shape for the container.
    NextShape,
    /// Measure a new shape.
    NewShape,
    /// Begin a new item, drink, recipe, place or supplier.
    New,
    /// Change what the cursor is on.
    Change,
    /// Take what the cursor is on away.
    TakeAway,
    /// Show the set-up of the bar.
    SetUp,
    /// What stands over the columns of a list is here.
    HeadsHere,
    /// To the next line that is not right.
    NextFault,
    /// Keep the form as it stands.
    Save,
    /// Take the line out of the form.
    RemoveLine,
    /// On the menu or off it, from today on.
    ToggleMenu,
    /// Order the list by another figure.
    Sort,
    /// Demand rules the par.
    RuleByDemand,
    /// The par set by hand rules.
    RuleByHand,
    /// One of the two pars rules many items.
    RuleMany,
    /// Take the par set by hand away.
    TakeParAway,
    /// What both pars would have done.
    LookBack,
    /// Which drinks sell and which earn.
    Corners,
    /// What another price of something bought would do.
    PriceChange,
    /// A drink for many serves at once.
    ForMany,
    /// Another version of the drink or recipe.
    OtherVersion,
    /// Take a version away that has not begun.
    DropVersion,
    /// Book a batch that was made.
    MakeBatch,
    /// What is left of a batch is thrown away.
    Spoiled,
    /// The till's name takes nothing of the stock.
    NotStock,
    /// The till's name is another drink.
    OtherDrink,
    /// How the supplier has delivered.
    Record,
    /// Do again what was taken back.
    Redo,
    /// Show who signs here.
    People,
    /// Take somebody in who signs here.
    AddPerson,
    /// Make a manager of a counter, or the other way.
    ChangeRole,
    /// Set a PIN.
    SetPin,
    /// Take a PIN away.
    ClearPin,
    /// Choose a file to take in.
    TakeFile,
    /// Show the files that were taken in.
    FilesTaken,
    /// The file is not for this book.
    SetAside,
    /// The line is another item.
    OtherItem,
    /// The line is a deposit.
    IsDeposit,
    /// Freight is shared out over the goods, or kept apart.
    ShareFreight,
    /// The goods came on the day of the bill, or today.
    OtherDay,
    /// Say whose bill it is.
    WhoseBill,
    /// Show all that is doubtful about the bill.
    Doubts,
    /// Show what is to be claimed.
    Claims,
    /// Show the bills that were booked.
    BookedBills,
    /// The claim is settled.
    Settle,
    /// Look around in the invented bar first.
    LookAround,
    /// Yes, do it.
    Yes,
    /// No, leave it.
    No,
}

/// Where the keyboard is: which bindings are live.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Scope {
    /// Live everywhere, while typing too.
    Always,
    /// Live wherever no text is being typed and nothing is being asked.
    Global,
    /// The questions where there is no book yet.
    Beginning,
    /// What is due tonight.
    Tonight,
    /// Choosing what to count.
    CountStart,
    /// The lines of a count, entries typed out.
    CountList,
    /// The lines of a count, one key an entry.
    CountOneKey,
    /// The lines of a place whose expected figures are hidden, entries typed out.
    CountListBlind,
    /// The lines of a place whose expected figures are hidden, one key an entry.
    CountOneKeyBlind,
    /// Typing what is left of an item.
    CountEntry,
    /// Taking in an item that the book does not know.
    ItemForm,
    /// Saying which sheet is typed in.
    SheetForm,
    /// The lines of a sheet that is typed in.
    SheetList,
    /// Typing what stands on a line of it.
    SheetEntry,
    /// Typing the number of a line of it.
    SheetNumber,
    /// The lines of a period's variance.
    Variance,
    /// One variance line and its evidence.
    VarianceDetail,
    /// Many periods in a row.
    VarianceOver,
    /// Saying what made a gap.
    CauseForm,
    /// The lines of an order.
    Orders,
    /// What no order takes care of, after the last supplier.
    OrdersAside,
    /// Typing packs to order.
    OrderEntry,
    /// Typing what all orders together may cost.
    BudgetEntry,
    /// Why an item is ordered as it is.
    OrderWhy,
    /// The lines of a delivery.
    Receive,
    /// Where no order is on its way.
    ReceiveNothing,
    /// Typing containers carried in.
    ReceiveEntry,
    /// Typing the number of a delivery's document.
    ReceiveDocument,
    /// The question what becomes of what did not come.
    ReceiveRest,
    /// A supplier's bill beside its order.
    Bill,
    /// Typing containers of it.
    BillEntry,
    /// All that is doubtful about it.
    BillDoubts,
    /// What is to be claimed.
    Claims,
    /// Typing how a claim was settled.
    ClaimEntry,
    /// The bills that were booked.
    BookedBills,
    /// The losses written down.
    Losses,
    /// Writing down a loss.
    LossForm,
    /// What is on hand.
    Stock,
    /// What is known of one item.
    StockFacts,
    /// What the stock was worth over time.
    StockWorth,
    /// The pars of all items.
    Par,
    /// The pars of one item.
    ParPage,
    /// Typing a par.
    ParEntry,
    /// Which par rules many items.
    ParMany,
    /// What both pars would have done.
    ParBack,
    /// What to carry up before service.
    CarryUp,
    /// The drinks and what they cost.
    Drinks,
    /// One drink.
    DrinkPage,
    /// Writing a drink.
    DrinkForm,
    /// Which drinks sell and which earn.
    DrinkCorners,
    /// Typing another price.
    PriceChange,
    /// Typing for how many serves.
    DrinkForMany,
    /// What is made here.
    House,
    /// One item made here.
    HousePage,
    /// Writing a recipe.
    RecipeForm,
    /// Booking a batch.
    MakeForm,
    /// What the till's names mean.
    Till,
    /// Typing how much of a drink a till's name is.
    TillPortion,
    /// The files that were taken in.
    TillFiles,
    /// A file of sales before it is taken in.
    TillLook,
    /// An export of a till before it is taken in.
    TillExport,
    /// Typing how it is read.
    TillLookEntry,
    /// What is known of containers and eyes.
    Gauging,
    /// What is known of one item's containers.
    GaugingItem,
    /// Typing a weight or a reading of it.
    GaugingEntry,
    /// Measuring the shape of a container.
    ShapeForm,
    /// Weighing what the eye has read.
    EyeCheck,
    /// Typing a weight for it.
    EyeCheckEntry,
    /// The suppliers and their deadlines.
    Suppliers,
    /// How one of them has delivered.
    SupplierRecord,
    /// What was done to the book.
    Book,
    /// One act, with all that it changed.
    BookAct,
    /// Who signs here.
    People,
    /// Taking somebody in.
    PersonForm,
    /// The set-up: the bar, its places, its days.
    SetUp,
    /// Changing something of it.
    Card,
    /// A list of items out of a spreadsheet.
    List,
    /// A cell of such a list that is being mended.
    ListCell,
    /// Looking around in the invented bar.
    Tour,
    /// Saying who is at the screen.
    SignIn,
    /// Typing a PIN.
    Pin,
    /// Choosing a file.
    Files,
    /// Long work that can be stopped.
    Work,
    /// Typing into the item search.
    Find,
    /// Typing into the item search, where it may be a new one.
    FindOrNew,
    /// The list of keys, and typing to narrow it.
    Help,
    /// A question that wants yes or no.
    Confirm,
}

impl Scope {
    /// Every scope, in the order of the help and the docs.
    pub const ALL: &'static [Scope] = &[
        Scope::Always,
        Scope::Global,
        Scope::Beginning,
        Scope::Tonight,
        Scope::CountStart,
        Scope::CountList,
        Scope::CountOneKey,
        Scope::CountListBlind,
        Scope::CountOneKeyBlind,
        Scope::CountEntry,
        Scope::ItemForm,
        Scope::SheetForm,
        Scope::SheetList,
        Scope::SheetEntry,
        Scope::SheetNumber,
        Scope::EyeCheck,
        Scope::EyeCheckEntry,
        Scope::Variance,
        Scope::VarianceDetail,
        Scope::VarianceOver,
        Scope::CauseForm,
        Scope::Orders,
        Scope::OrdersAside,
        Scope::OrderEntry,
        Scope::BudgetEntry,
        Scope::OrderWhy,
        Scope::Receive,
        Scope::ReceiveNothing,
        Scope::ReceiveEntry,
        Scope::ReceiveDocument,
        Scope::ReceiveRest,
        Scope::Bill,
        Scope::BillEntry,
        Scope::BillDoubts,
        Scope::Claims,
        Scope::ClaimEntry,
        Scope::BookedBills,
        Scope::Losses,
        Scope::LossForm,
        Scope::Stock,
        Scope::StockFacts,
        Scope::StockWorth,
        Scope::Par,
        Scope::ParPage,
        Scope::ParEntry,
        Scope::ParMany,
        Scope::ParBack,
        Scope::CarryUp,
        Scope::Drinks,
        Scope::DrinkPage,
        Scope::DrinkForm,
        Scope::DrinkCorners,
        Scope::PriceChange,
        Scope::DrinkForMany,
        Scope::House,
        Scope::HousePage,
        Scope::RecipeForm,
        Scope::MakeForm,
        Scope::Till,
        Scope::TillPortion,
        Scope::TillFiles,
        Scope::TillLook,
        Scope::TillExport,
        Scope::TillLookEntry,
        Scope::Gauging,
        Scope::GaugingItem,
        Scope::GaugingEntry,
        Scope::ShapeForm,
        Scope::Suppliers,
        Scope::SupplierRecord,
        Scope::Book,
        Scope::BookAct,
        Scope::People,
        Scope::PersonForm,
        Scope::SetUp,
        Scope::Card,
        Scope::List,
        Scope::ListCell,
        Scope::Tour,
        Scope::SignIn,
        Scope::Pin,
        Scope::Files,
        Scope::Work,
        Scope::Find,
        Scope::FindOrNew,
        Scope::Help,
        Scope::Confirm,
    ];

    /// The heading in the help and the docs.
    pub fn title(self) -> &'static str {
        match self {
            Scope::Always => word!("Everywhere, while typing too"),
            Scope::Global => word!("On every screen"),
            Scope::Beginning => word!("Beginning a book"),
            Scope::Tonight => word!("Tonight"),
            Scope::CountStart => word!("Count: choosing what to count"),
            Scope::CountList => word!("Count: entries typed out"),
            Scope::CountOneKey => word!("Count: one key an entry"),
            Scope::CountListBlind => word!("Count: blind, entries typed out"),
            Scope::CountOneKeyBlind => word!("Count: blind, one key an entry"),
            Scope::CountEntry => word!("Count: typing an entry"),
            Scope::ItemForm => word!("Count: a new item"),
            Scope::SheetForm => word!("Count: which sheet is typed in"),
            Scope::SheetList => word!("Count: a sheet that is typed in"),
            Scope::SheetEntry => word!("Count: typing an entry of a sheet"),
            Scope::SheetNumber => word!("Count: typing the number of a line"),
            Scope::Variance => word!("Variance"),
            Scope::VarianceDetail => word!("Variance: one line"),
            Scope::VarianceOver => word!("Variance: many periods"),
            Scope::CauseForm => word!("Variance: what made a gap"),
            Scope::Orders => word!("Orders"),
            Scope::OrdersAside => word!("Orders: what is not ordered"),
            Scope::OrderEntry => word!("Orders: typing packs"),
            Scope::BudgetEntry => word!("Orders: typing a budget"),
            Scope::OrderWhy => word!("Orders: why an item is ordered so"),
            Scope::Receive => word!("Receive"),
            Scope::ReceiveNothing => word!("Receive: with no order on its way"),
            Scope::ReceiveEntry => word!("Receive: typing containers"),
            Scope::ReceiveDocument => word!("Receive: typing the document number"),
            Scope::ReceiveRest => word!("Receive: what did not come"),
            Scope::Bill => word!("Receive: a bill"),
            Scope::BillEntry => word!("Receive: typing containers of a bill"),
            Scope::BillDoubts => word!("Receive: what is doubtful about a bill"),
            Scope::Claims => word!("Receive: what to claim"),
            Scope::ClaimEntry => word!("Receive: typing how it was settled"),
            Scope::BookedBills => word!("Receive: the bills booked"),
            Scope::Losses => word!("Losses"),
            Scope::LossForm => word!("Losses: writing one down"),
            Scope::Stock => word!("Stock"),
            Scope::StockFacts => word!("Stock: the facts of an item"),
            Scope::StockWorth => word!("Stock: what it was worth over time"),
            Scope::Par => word!("Par levels"),
            Scope::ParPage => word!("Par levels: one item"),
            Scope::ParEntry => word!("Par levels: typing a par"),
            Scope::ParMany => word!("Par levels: which rules many"),
            Scope::ParBack => word!("Par levels: what both would have done"),
            Scope::CarryUp => word!("Stock: what to carry up"),
            Scope::Drinks => word!("Drinks"),
            Scope::DrinkPage => word!("Drinks: one drink"),
            Scope::DrinkForm => word!("Drinks: writing one"),
            Scope::DrinkCorners => word!("Drinks: which sell and which earn"),
            Scope::PriceChange => word!("Drinks: typing another price"),
            Scope::DrinkForMany => word!("Drinks: one for many serves"),
            Scope::House => word!("House-made"),
            Scope::HousePage => word!("House-made: one item"),
            Scope::RecipeForm => word!("House-made: writing a recipe"),
            Scope::MakeForm => word!("House-made: booking a batch"),
            Scope::Till => word!("Till"),
            Scope::TillPortion => word!("Till: typing a portion"),
            Scope::TillFiles => word!("Till: the files taken in"),
            Scope::TillLook => word!("Till: a table before it is taken in"),
            Scope::TillExport => word!("Till: an export before it is taken in"),
            Scope::TillLookEntry => word!("Till: typing how it is read"),
            Scope::Gauging => word!("Gauging"),
            Scope::GaugingItem => word!("Gauging: one item"),
            Scope::GaugingEntry => word!("Gauging: typing a weight or reading"),
            Scope::ShapeForm => word!("Gauging: measuring a shape"),
            Scope::EyeCheck => word!("Count: checking the eye"),
            Scope::EyeCheckEntry => word!("Count: typing a weight for the check"),
            Scope::Suppliers => word!("Suppliers"),
            Scope::SupplierRecord => word!("Suppliers: how one has delivered"),
            Scope::Book => word!("Book: what was done"),
            Scope::BookAct => word!("Book: one act"),
            Scope::People => word!("Book: who signs here"),
            Scope::PersonForm => word!("Book: taking somebody in"),
            Scope::SetUp => word!("Book: the set-up"),
            Scope::Card => word!("Changing the set-up"),
            Scope::List => word!("Stock: a list out of a spreadsheet"),
            Scope::ListCell => word!("Stock: a cell of a list"),
            Scope::Tour => word!("A look around"),
            Scope::SignIn => word!("Saying who is at the screen"),
            Scope::Pin => word!("Typing a PIN"),
            Scope::Files => word!("Choosing a file"),
            Scope::Work => word!("Long work"),
            Scope::Find => word!("Finding an item"),
            Scope::FindOrNew => word!("Finding an item, or taking in a new one"),
            Scope::Help => word!("The list of keys"),
            Scope::Confirm => word!("A question"),
        }
    }

    /// Whether characters go into a field here, so that no letter is a command.
    pub fn is_typing(self) -> bool {
        matches!(
            self,
            Scope::Beginning
                | Scope::CountEntry
                | Scope::SheetForm
                | Scope::SheetEntry
                | Scope::SheetNumber
                | Scope::OrderEntry
                | Scope::ParEntry
                | Scope::BudgetEntry
                | Scope::ReceiveEntry
                | Scope::ReceiveDocument
                | Scope::BillEntry
                | Scope::ClaimEntry
                | Scope::LossForm
                | Scope::ListCell
                | Scope::CauseForm
                | Scope::DrinkForm
                | Scope::PriceChange
                | Scope::DrinkForMany
                | Scope::RecipeForm
                | Scope::MakeForm
                | Scope::GaugingEntry
                | Scope::ShapeForm
                | Scope::EyeCheckEntry
                | Scope::TillPortion
                | Scope::TillLookEntry
                | Scope::PersonForm
                | Scope::Card
                | Scope::SignIn
                | Scope::Pin
                | Scope::Files
                | Scope::Find
                | Scope::FindOrNew
                | Scope::ItemForm
                | Scope::Help
        )
    }

    /// The scopes that are live with this one, itself first.
    fn stack(self) -> &'static [Scope] {
        match self {
            Scope::Always => &[],
            Scope::Global => &[Scope::Always],
            // Its keys are its own: what is pasted once more by mistake must do nothing else.
            Scope::List | Scope::Tour => &[Scope::Always],
            Scope::Confirm | Scope::ReceiveRest | Scope::BillDoubts | Scope::Work => &[Scope::Always],
            Scope::FindOrNew => &[Scope::Find, Scope::Always],
            typing if typing.is_typing() => &[Scope::Always],
            // With the same keys, but for what is not to be had without the hidden figures.
            Scope::CountListBlind => &[Scope::CountList, Scope::Global, Scope::Always],
            Scope::CountOneKeyBlind => &[Scope::CountOneKey, Scope::Global, Scope::Always],
            _ => &[Scope::Global, Scope::Always],
        }
    }
}

/// A key as the table names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// A key without Ctrl or Alt.
    Plain(KeyCode),
    /// A letter with Ctrl.
    Ctrl(char),
    /// Any character from the first to the last.
    Range(char, char),
    /// Any character that can be typed.
    AnyCharacter,
}

impl Key {
    /// The key as it is written for people: `T`, `Enter`, `Ctrl-C`, `1-9`.
    pub fn label(self) -> String {
        match self {
            Key::Plain(KeyCode::Char(' ')) => word!("Space").to_owned(),
            Key::Plain(KeyCode::Char(c)) => c.to_string(),
            Key::Plain(KeyCode::PageUp) => word!("PgUp").to_owned(),
            Key::Plain(KeyCode::PageDown) => word!("PgDn").to_owned(),
            Key::Plain(KeyCode::BackTab) => word!("Shift-Tab").to_owned(),
            Key::Plain(KeyCode::Delete) => word!("Del").to_owned(),
            Key::Plain(code) => match code {
                KeyCode::Home => word!("Home").to_owned(),
                KeyCode::End => word!("End").to_owned(),
                KeyCode::Up => word!("Up").to_owned(),
                KeyCode::Down => word!("Down").to_owned(),
                KeyCode::Left => word!("Left").to_owned(),
                KeyCode::Right => word!("Right").to_owned(),
                other => format!("{other:?}"),
            },
            Key::Ctrl(c) => say!("Ctrl-{letter}", letter = c.to_ascii_uppercase()),
            Key::Range(from, to) => format!("{from}-{to}"),
            Key::AnyCharacter => word!("any character").to_owned(),
        }
    }

    /// The event of pressing it; none where it is one of several characters.
    pub fn pressed(self) -> Option<KeyEvent> {
        match self {
            Key::Plain(code) => Some(KeyEvent::new(code, KeyModifiers::NONE)),
            Key::Ctrl(c) => Some(KeyEvent::new(KeyCode::Char(c), KeyModifiers::CONTROL)),
            Key::Range(..) | Key::AnyCharacter => None,
        }
    }

    fn matches(self, event: KeyEvent) -> bool {
        let ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
        // Shift is part of the character already, and of BackTab. A character with Alt is none of ours.
        if event.modifiers.intersects(!(KeyModifiers::CONTROL | KeyModifiers::SHIFT)) {
            return false;
        }
        match (self, event.code) {
            (Key::Ctrl(c), KeyCode::Char(typed)) => ctrl && typed.eq_ignore_ascii_case(&c),
            (Key::Plain(code), typed) => !ctrl && code == typed,
            (Key::Range(from, to), KeyCode::Char(typed)) => !ctrl && (from..=to).contains(&typed),
            (Key::AnyCharacter, KeyCode::Char(typed)) => !ctrl && !typed.is_control(),
            _ => false,
        }
    }
}

/// What a binding does with its key.
#[derive(Clone, Copy, Debug)]
pub enum Does {
    /// Asks for this action.
    Act(Action),
    /// The character is part of the action: [`Action::Type`].
    Type,
    /// The digit is part of the action: [`Action::Tenths`].
    Tenths,
}

/// One line of the key table.
#[derive(Clone, Copy, Debug)]
pub struct Binding {
    /// Where it is live.
    pub scope: Scope,
    /// Any of these keys; the first is the one that hints name.
    pub keys: &'static [Key],
    /// What they do.
    pub does: Does,
    /// A word or two for the hint line; empty if it is not shown there.
    pub hint: &'static str,
    /// A sentence for the help and the docs.
    pub help: &'static str,
}

impl Binding {
    /// All its keys for people: `Down j`.
    pub fn labels(&self) -> String {
        self.keys.iter().map(|key| key.label()).collect::<Vec<_>>().join(" ")
    }

    /// The hint in the language spoken here.
    pub fn said_hint(&self) -> &'static str {
        words::find_of("hint", self.hint)
    }

    /// The sentence of the help in the language spoken here.
    pub fn said_help(&self) -> &'static str {
        words::find(self.help)
    }

    /// Whether it leads to what only a manager does or sees, where there is one: nobody is to fill in a form that the book
    /// then refuses.
    fn is_a_managers(&self) -> bool {
        let Does::Act(action) = self.does else {
            // The price behind the figure.
            return self.scope == Scope::ReceiveEntry && self.keys == [Key::Plain(KeyCode::Char('@'))];
        };
        match self.scope {
            Scope::Receive | Scope::ReceiveNothing | Scope::ReceiveRest => {
                matches!(action, Action::TakeFile | Action::Claims | Action::BookedBills | Action::GiveUpOrder)
            }
            Scope::Drinks | Scope::DrinkPage | Scope::House | Scope::HousePage => matches!(
                action,
                Action::Change
                    | Action::New
                    | Action::Corners
                    | Action::PriceChange
                    | Action::ToggleMenu
                    | Action::DropVersion
            ),
            Scope::GaugingItem => matches!(action, Action::NextShape | Action::NewShape),
            Scope::Stock | Scope::StockFacts => {
                matches!(action, Action::New | Action::Change | Action::TakeFile | Action::Worth)
            }
            _ => false,
        }
    }

    /// Why whoever has such rights is not to press it; nothing where they may.
    fn kept_from(&self, rights: Rights) -> Option<&'static str> {
        let carries = matches!(self.does, Does::Act(Action::CarryUp));
        match (rights.sees_costs(), rights.sees_stock()) {
            (false, _) if self.is_a_managers() => Some(word!("a manager does that, and W signs one in")),
            (_, false) if carries => {
                Some(word!("that tells what should be there, and waits until the blind count is closed"))
            }
            _ => None,
        }
    }

    fn act(&self, event: KeyEvent) -> Option<Action> {
        if !self.keys.iter().any(|key| key.matches(event)) {
            return None;
        }
        match (self.does, event.code) {
            (Does::Act(action), _) => Some(action),
            (Does::Type, KeyCode::Char(c)) => Some(Action::Type(c)),
            (Does::Tenths, KeyCode::Char(c)) => {
                c.to_digit(10).and_then(|digit| u8::try_from(digit).ok()).map(Action::Tenths)
            }
            (Does::Type | Does::Tenths, _) => None,
        }
    }
}

/// Every binding, scope by scope.
pub fn bindings() -> impl Iterator<Item = &'static Binding> {
    TABLE.iter().copied().flatten()
}

/// The bindings that are live in a scope for whoever has such rights, its own first. While text is typed or a question is asked, the letters of
/// [`Scope::Global`] are not live, so `q` is a letter there. Where a scope names the same keys itself, to say in its own
/// words what they do there, that is the one that counts.
pub fn active(scope: Scope, rights: Rights) -> impl Iterator<Item = &'static Binding> {
    bound(scope).filter(move |binding| binding.kept_from(rights).is_none())
}

fn bound(scope: Scope) -> impl Iterator<Item = &'static Binding> {
    let own = move |keys: &[Key]| bindings().any(|binding| binding.scope == scope && binding.keys == keys);
    std::iter::once(scope).chain(scope.stack().iter().copied()).flat_map(move |live| {
        bindings().filter(move |binding| binding.scope == live && (live == scope || !own(binding.keys)))
    })
}

/// What a key asks for in a scope; none if it is not bound there, or was let go rather than pressed.
pub fn resolve(scope: Scope, key: KeyEvent) -> Option<Action> {
    if key.kind == KeyEventKind::Release {
        return None;
    }
    bound(scope).find_map(|binding| binding.act(key))
}

/// What an action in a scope would have done, and why whoever has such rights is kept from it, in words.
pub fn kept_from(scope: Scope, action: Action, rights: Rights) -> Option<String> {
    let does = |binding: &&Binding| binding.scope == scope && matches!(binding.does, Does::Act(act) if act == action);
    let binding = bindings().find(does)?;
    let why = binding.kept_from(rights)?;
    Some(format!("{}: {why}", binding.said_help().trim_end_matches('.')))
}

/// The whole table for a terminal.
pub fn plain() -> String {
    let mut out = String::new();
    for &scope in Scope::ALL {
        let rows: Vec<&Binding> = bindings().filter(|binding| binding.scope == scope).collect();
        let wide = rows.iter().map(|binding| binding.labels().chars().count()).max().unwrap_or(0);
        if rows.is_empty() {
            continue;
        }
        out.push_str(&format!("{}{}\n", if out.is_empty() { "" } else { "\n" }, scope.title()));
        for binding in rows {
            out.push_str(&format!("  {:<wide$}  {}\n", binding.labels(), binding.help));
        }
    }
    out
}

/// The whole table as the file `docs/keys.md`.
pub fn markdown() -> String {
    let mut out = String::from(word!(
        "# Keys\n\nWritten from the program's own table (`src/tui/keymap.rs`). `?` shows the keys that work where you are.\n"
    ));
    for &scope in Scope::ALL {
        let mut rows = bindings().filter(|binding| binding.scope == scope).peekable();
        if rows.peek().is_none() {
            continue;
        }
        out.push_str(&say!("\n## {title}\n\n| key | what it does |\n| --- | --- |\n", title = scope.title()));
        for binding in rows {
            let keys: Vec<String> = binding.keys.iter().map(|key| format!("`{}`", key.label())).collect();
            out.push_str(&format!("| {} | {} |\n", keys.join(" "), binding.help));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn press(code: KeyCode) -> KeyEvent {
        KeyEvent::new(code, KeyModifiers::NONE)
    }

    /// Every key that a classic terminal can send and that the table could name.
    fn keyboard() -> Vec<KeyEvent> {
        let named = [
            KeyCode::Up,
            KeyCode::Down,
            KeyCode::Left,
            KeyCode::Right,
            KeyCode::Home,
            KeyCode::End,
            KeyCode::PageUp,
            KeyCode::PageDown,
            KeyCode::Enter,
            KeyCode::Esc,
            KeyCode::Tab,
            KeyCode::BackTab,
            KeyCode::Backspace,
            KeyCode::Delete,
            KeyCode::Insert,
        ];
        let mut keys: Vec<KeyEvent> = named.into_iter().map(press).collect();
        keys.extend((' '..='~').chain(['é', '梅']).map(|c| press(KeyCode::Char(c))));
        keys.extend(('a'..='z').map(|c| KeyEvent::new(KeyCode::Char(c), KeyModifiers::CONTROL)));
        keys
    }

    #[test]
    fn no_key_means_two_things_in_one_scope() {
        for &scope in Scope::ALL {
            for key in keyboard() {
                let hits: Vec<_> = bound(scope).filter_map(|b| b.act(key)).collect();
                assert!(hits.len() <= 1, "{scope:?}: {key:?} is {hits:?}");
            }
        }
    }

    #[test]
    fn every_action_is_bound_and_every_binding_can_be_reached() {
        for action in Action::ALL {
            let bound = bindings().any(|b| matches!(b.does, Does::Act(a) if a == *action));
            assert!(bound, "{action:?}");
        }
        for binding in bindings() {
            let reached = keyboard().into_iter().any(|key| binding.act(key).is_some());
            assert!(reached && Scope::ALL.contains(&binding.scope), "{binding:?}");
        }
    }

    #[test]
    fn everything_is_said_in_words() {
        for binding in bindings() {
            assert!(binding.help.ends_with('.') && binding.help.len() <= 53, "{}", binding.help);
            assert!(binding.hint.len() <= 16, "{}", binding.hint);
            assert!(!binding.keys.is_empty());
        }
    }

    #[test]
    fn letters_are_letters_while_typing() {
        for &scope in Scope::ALL.iter().filter(|scope| scope.is_typing()) {
            for c in ('a'..='z').chain('A'..='Z').chain(['?', '/']) {
                let got = resolve(scope, press(KeyCode::Char(c)));
                assert!(matches!(got, None | Some(Action::Type(_))), "{scope:?} {c}: {got:?}");
            }
        }
        assert_eq!(resolve(Scope::Find, press(KeyCode::Char('q'))), Some(Action::Type('q')));
        assert_eq!(resolve(Scope::CountEntry, press(KeyCode::Char('q'))), None);
        assert_eq!(resolve(Scope::Confirm, press(KeyCode::Char('q'))), None);
        assert_eq!(resolve(Scope::Stock, press(KeyCode::Char('q'))), Some(Action::Quit));
    }

    #[test]
    fn the_emergency_keys_work_everywhere() {
        for &scope in Scope::ALL {
            for (c, want) in [('c', Action::Quit), ('z', Action::Suspend), ('l', Action::Redraw)] {
                let key = KeyEvent::new(KeyCode::Char(c), KeyModifiers::CONTROL);
                assert_eq!(resolve(scope, key), Some(want), "{scope:?}");
            }
        }
    }

    #[test]
    fn counting_by_one_key() {
        let one = |c| resolve(Scope::CountOneKey, press(KeyCode::Char(c)));
        assert_eq!(one('7'), Some(Action::Tenths(7)));
        assert_eq!(one('0'), Some(Action::NoneHere));
        assert_eq!(one('f'), Some(Action::OneSealed));
        assert_eq!(one('.'), Some(Action::Type('.')));
        assert_eq!(one('e'), Some(Action::TypeOut));
        assert_eq!(resolve(Scope::CountList, press(KeyCode::Char('7'))), Some(Action::Type('7')));
    }

    #[test]
    fn modifiers_and_releases() {
        let shifted = KeyEvent::new(KeyCode::Char('T'), KeyModifiers::SHIFT);
        assert_eq!(resolve(Scope::Stock, shifted), Some(Action::GoTonight));
        let alt = KeyEvent::new(KeyCode::Char('q'), KeyModifiers::ALT);
        assert_eq!(resolve(Scope::Stock, alt), None);
        let released = KeyEvent { kind: KeyEventKind::Release, ..press(KeyCode::Char('q')) };
        assert_eq!(resolve(Scope::Stock, released), None);
    }

    #[test]
    fn every_screen_has_its_letter_and_the_tabs_go_round() {
        for &tab in Tab::ALL {
            let action = resolve(Scope::Tonight, press(KeyCode::Char(tab.letter())));
            assert_eq!(action.and_then(|a| Tab::Tonight.after(a)), Some(tab));
            assert!(tab.title().contains(tab.letter()) || tab.title().contains(tab.letter().to_ascii_lowercase()));
            let next = tab.after(Action::NextScreen).unwrap();
            assert_eq!(next.after(Action::PreviousScreen), Some(tab));
        }
        assert_eq!(Tab::Book.after(Action::NextScreen), Some(Tab::Tonight));
        assert_eq!(Tab::Stock.after(Action::Up), None);
    }
}
