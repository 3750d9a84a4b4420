//! Every key: one table drives the program, the hint line, the help and `docs/keys.md`.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

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
    /// Go to the screen Gauging.
    GoGauging,
    /// Go to the screen Suppliers.
    GoSuppliers,
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
    /// What is due tonight.
    Tonight,
    /// Choosing what to count.
    CountStart,
    /// The lines of a count, entries typed out.
    CountList,
    /// The lines of a count, one key an entry.
    CountOneKey,
    /// Typing what is left of an item.
    CountEntry,
    /// The lines of a period's variance.
    Variance,
    /// One variance line and its evidence.
    VarianceDetail,
    /// The lines of an order.
    Orders,
    /// What no order takes care of, after the last supplier.
    OrdersAside,
    /// Typing packs to order.
    OrderEntry,
    /// The lines of a delivery.
    Receive,
    /// Typing containers carried in.
    ReceiveEntry,
    /// Typing the number of a delivery's document.
    ReceiveDocument,
    /// The question what becomes of what did not come.
    ReceiveRest,
    /// The losses written down.
    Losses,
    /// Writing down a loss.
    LossForm,
    /// What is on hand.
    Stock,
    /// What is known of one item.
    StockFacts,
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
    /// Typing into the item search.
    Find,
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
        Scope::Tonight,
        Scope::CountStart,
        Scope::CountList,
        Scope::CountOneKey,
        Scope::CountEntry,
        Scope::EyeCheck,
        Scope::EyeCheckEntry,
        Scope::Variance,
        Scope::VarianceDetail,
        Scope::Orders,
        Scope::OrdersAside,
        Scope::OrderEntry,
        Scope::Receive,
        Scope::ReceiveEntry,
        Scope::ReceiveDocument,
        Scope::ReceiveRest,
        Scope::Losses,
        Scope::LossForm,
        Scope::Stock,
        Scope::StockFacts,
        Scope::Gauging,
        Scope::GaugingItem,
        Scope::GaugingEntry,
        Scope::ShapeForm,
        Scope::Suppliers,
        Scope::Find,
        Scope::Help,
        Scope::Confirm,
    ];

    /// The heading in the help and the docs.
    pub fn title(self) -> &'static str {
        match self {
            Scope::Always => "Everywhere, while typing too",
            Scope::Global => "On every screen",
            Scope::Tonight => "Tonight",
            Scope::CountStart => "Count: choosing what to count",
            Scope::CountList => "Count: entries typed out",
            Scope::CountOneKey => "Count: one key an entry",
            Scope::CountEntry => "Count: typing an entry",
            Scope::Variance => "Variance",
            Scope::VarianceDetail => "Variance: one line",
            Scope::Orders => "Orders",
            Scope::OrdersAside => "Orders: what is not ordered",
            Scope::OrderEntry => "Orders: typing packs",
            Scope::Receive => "Receive",
            Scope::ReceiveEntry => "Receive: typing containers",
            Scope::ReceiveDocument => "Receive: typing the document number",
            Scope::ReceiveRest => "Receive: what did not come",
            Scope::Losses => "Losses",
            Scope::LossForm => "Losses: writing one down",
            Scope::Stock => "Stock",
            Scope::StockFacts => "Stock: the facts of an item",
            Scope::Gauging => "Gauging",
            Scope::GaugingItem => "Gauging: one item",
            Scope::GaugingEntry => "Gauging: typing a weight or reading",
            Scope::ShapeForm => "Gauging: measuring a shape",
            Scope::EyeCheck => "Count: checking the eye",
            Scope::EyeCheckEntry => "Count: typing a weight for the check",
            Scope::Suppliers => "Suppliers",
            Scope::Find => "Finding an item",
            Scope::Help => "The list of keys",
            Scope::Confirm => "A question",
        }
    }

    /// Whether characters go into a field here, so that no letter is a command.
    pub fn is_typing(self) -> bool {
        matches!(
            self,
            Scope::CountEntry
                | Scope::OrderEntry
                | Scope::ReceiveEntry
                | Scope::ReceiveDocument
                | Scope::LossForm
                | Scope::GaugingEntry
                | Scope::ShapeForm
                | Scope::EyeCheckEntry
                | Scope::Find
                | Scope::Help
        )
    }

    /// The scopes that are live with this one, itself first.
    fn stack(self) -> &'static [Scope] {
        match self {
            Scope::Always => &[],
            Scope::Global => &[Scope::Always],
            Scope::Confirm | Scope::ReceiveRest => &[Scope::Always],
            typing if typing.is_typing() => &[Scope::Always],
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
            Key::Plain(KeyCode::Char(' ')) => "Space".to_owned(),
            Key::Plain(KeyCode::Char(c)) => c.to_string(),
            Key::Plain(KeyCode::PageUp) => "PgUp".to_owned(),
            Key::Plain(KeyCode::PageDown) => "PgDn".to_owned(),
            Key::Plain(KeyCode::BackTab) => "Shift-Tab".to_owned(),
            Key::Plain(KeyCode::Delete) => "Del".to_owned(),
            Key::Plain(code) => format!("{code:?}"),
            Key::Ctrl(c) => format!("Ctrl-{}", c.to_ascii_uppercase()),
            Key::Range(from, to) => format!("{from}-{to}"),
            Key::AnyCharacter => "any character".to_owned(),
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

const fn bind(scope: Scope, keys: &'static [Key], action: Action, hint: &'static str, help: &'static str) -> Binding {
    Binding { scope, keys, does: Does::Act(action), hint, help }
}

const fn typed(scope: Scope, keys: &'static [Key], does: Does, hint: &'static str, help: &'static str) -> Binding {
    Binding { scope, keys, does, hint, help }
}

const fn c(c: char) -> Key {
    Key::Plain(KeyCode::Char(c))
}

const UP: Key = Key::Plain(KeyCode::Up);
const DOWN: Key = Key::Plain(KeyCode::Down);
const LEFT: Key = Key::Plain(KeyCode::Left);
const RIGHT: Key = Key::Plain(KeyCode::Right);
const HOME: Key = Key::Plain(KeyCode::Home);
const END: Key = Key::Plain(KeyCode::End);
const PAGE_UP: Key = Key::Plain(KeyCode::PageUp);
const PAGE_DOWN: Key = Key::Plain(KeyCode::PageDown);
const ENTER: Key = Key::Plain(KeyCode::Enter);
const ESC: Key = Key::Plain(KeyCode::Esc);
const TAB: Key = Key::Plain(KeyCode::Tab);
const BACK_TAB: Key = Key::Plain(KeyCode::BackTab);
const DELETE: Key = Key::Plain(KeyCode::Delete);
/// Some terminals send Ctrl-H for the backspace key.
const BACKSPACE: &[Key] = &[Key::Plain(KeyCode::Backspace), Key::Ctrl('h')];
/// Tenths, grams and millimetres.
const READING: &[Key] = &[Key::Range('0', '9'), c('.'), c(','), c(' '), c('g'), c('k'), c('m'), c('c')];
const FIGURE: &[Key] = &[Key::Range('0', '9'), c('.'), c(','), c(' ')];

/// The keys that edit a line of text, the same in every scope where one is typed.
macro_rules! editing {
    ($scope:expr) => {
        editing!($scope, "Move the cursor left.", "Move the cursor right.")
    };
    ($scope:expr, $left:literal, $right:literal) => {
        editing!($scope, $left, $right, "Move the cursor to the beginning.", "Move the cursor to the end.")
    };
    ($scope:expr, $left:literal, $right:literal, $home:literal, $end:literal) => {
        [
            bind($scope, BACKSPACE, Action::EraseBack, "", "Erase the character before the cursor."),
            bind($scope, &[DELETE], Action::EraseForward, "", "Erase the character under the cursor."),
            bind($scope, &[Key::Ctrl('u')], Action::ClearField, "", "Erase all that was typed."),
            bind($scope, &[LEFT], Action::CursorLeft, "", $left),
            bind($scope, &[RIGHT], Action::CursorRight, "", $right),
            bind($scope, &[HOME, Key::Ctrl('a')], Action::CursorHome, "", $home),
            bind($scope, &[END, Key::Ctrl('e')], Action::CursorEnd, "", $end),
        ]
    };
}

/// What both ways of counting share: everything but how an entry is made.
macro_rules! counting {
    ($scope:expr, $mode_hint:literal, $mode_help:literal) => {
        [
            bind($scope, &[c('u')], Action::Undo, "undo", "Take the last entry back."),
            bind($scope, &[c('s')], Action::Skip, "skip", "Leave the line for later and go on."),
            bind($scope, &[c('d')], Action::ClosePlace, "place done", "This place is counted: close it."),
            bind($scope, &[c('x')], Action::CloseCount, "count done", "The whole count is done: close it."),
            bind($scope, &[ENTER], Action::AsExpected, "as expected", "Confirm the line as expected, and go on."),
            bind($scope, &[c('n'), RIGHT], Action::Next, "next place", "Go to the next place."),
            bind($scope, &[c('p'), LEFT], Action::Previous, "", "Go to the place before."),
            bind($scope, &[c('a')], Action::AddItem, "add", "Add an item that stands here but is not listed."),
            bind($scope, &[c('m')], Action::ToggleOneKey, $mode_hint, $mode_help),
            bind($scope, BACKSPACE, Action::PreviousLine, "", "Go back one line, to enter it again."),
        ]
    };
}

/// The table, in parts of one scope each; the order within a scope is the order of the hint line.
const TABLE: &[&[Binding]] = &[
    &[
        bind(Scope::Always, &[Key::Ctrl('c')], Action::Quit, "", "Leave the program; what was accepted is kept."),
        bind(Scope::Always, &[Key::Ctrl('z')], Action::Suspend, "", "Go to the shell; `fg` brings the program back."),
        bind(Scope::Always, &[Key::Ctrl('l')], Action::Redraw, "", "Draw the screen anew."),
    ],
    &[
        bind(Scope::Global, &[c('/')], Action::Find, "find", "Find an item by a few of its letters."),
        bind(Scope::Global, &[c('?')], Action::Help, "help", "Show every key that works here."),
        bind(Scope::Global, &[TAB], Action::NextScreen, "screen", "Go to the next screen."),
        bind(Scope::Global, &[BACK_TAB], Action::PreviousScreen, "", "Go to the screen before."),
        bind(Scope::Global, &[c('q')], Action::Quit, "quit", "Leave the program; what was accepted is kept."),
        bind(Scope::Global, &[c('T')], Action::GoTonight, "", "Go to Tonight: what is due."),
        bind(Scope::Global, &[c('C')], Action::GoCount, "", "Go to Count: the walk along the shelves."),
        bind(Scope::Global, &[c('V')], Action::GoVariance, "", "Go to Variance: used against sold."),
        bind(Scope::Global, &[c('O')], Action::GoOrders, "", "Go to Orders: what to buy, from whom."),
        bind(Scope::Global, &[c('R')], Action::GoReceive, "", "Go to Receive: check a delivery in."),
        bind(Scope::Global, &[c('L')], Action::GoLosses, "", "Go to Losses: what was broken, spilt or given away."),
        bind(Scope::Global, &[c('S')], Action::GoStock, "", "Go to Stock: what is on hand."),
        bind(Scope::Global, &[c('U')], Action::GoGauging, "", "Go to Gauging: weights, shapes, eyes."),
        bind(Scope::Global, &[c('P')], Action::GoSuppliers, "", "Go to Suppliers: whom to order from, and by when."),
        bind(Scope::Global, &[UP, c('k')], Action::Up, "", "Go one line up."),
        bind(Scope::Global, &[DOWN, c('j')], Action::Down, "", "Go one line down."),
        bind(Scope::Global, &[PAGE_UP], Action::PageUp, "", "Go one window up."),
        bind(Scope::Global, &[PAGE_DOWN], Action::PageDown, "", "Go one window down."),
        bind(Scope::Global, &[HOME, c('g')], Action::First, "", "Go to the first line."),
        bind(Scope::Global, &[END, c('G')], Action::Last, "", "Go to the last line."),
        bind(Scope::Global, &[ESC], Action::Back, "", "Go back from what is open."),
    ],
    &[bind(Scope::Tonight, &[ENTER], Action::Open, "go there", "Go to the screen where the line is dealt with.")],
    &[
        bind(Scope::CountStart, &[ENTER], Action::Open, "count this", "Begin the chosen count, or go on with it."),
        bind(
            Scope::CountStart,
            &[c('b')],
            Action::ToggleBlind,
            "blind",
            "Hide or show what is expected while counting.",
        ),
    ],
    &[typed(
        Scope::CountList,
        &[Key::Range('0', '9'), c('.')],
        Does::Type,
        "type it",
        "Begin to type what is left: sealed, then tenths.",
    )],
    &counting!(Scope::CountList, "one key", "Change to one key an entry."),
    &[
        typed(
            Scope::CountOneKey,
            &[Key::Range('1', '9')],
            Does::Tenths,
            "an entry",
            "Tenths, or sealed ones in a store, and go on.",
        ),
        bind(Scope::CountOneKey, &[c('+')], Action::OneMore, "sealed", "One sealed more, before the key that goes on."),
        bind(Scope::CountOneKey, &[c('e')], Action::TypeOut, "type it", "Type this line out instead."),
        bind(Scope::CountOneKey, &[c('0')], Action::NoneHere, "", "None is here; go on."),
        bind(Scope::CountOneKey, &[c('f')], Action::OneSealed, "", "One sealed container is here; go on."),
        typed(Scope::CountOneKey, &[c('.'), c(',')], Does::Type, "", "Says how to type a line out."),
    ],
    &counting!(Scope::CountOneKey, "typed", "Change to typing entries out."),
    &[
        typed(Scope::CountEntry, READING, Does::Type, "", "Type what is left: sealed, then tenths."),
        bind(Scope::CountEntry, &[ENTER], Action::Accept, "keep", "Keep the entry and go on."),
        bind(Scope::CountEntry, &[DOWN], Action::AcceptDown, "keep, line down", "Keep the entry and go one line down."),
        bind(Scope::CountEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::CountEntry),
    &[
        bind(Scope::Variance, &[ENTER], Action::Open, "why", "Open the line: every entry its figures are made of."),
        bind(
            Scope::Variance,
            &[c('z')],
            Action::ToggleWithin,
            "hide exact",
            "Hide or show lines within the count's exactness.",
        ),
        bind(Scope::Variance, &[c('v')], Action::Grouping, "group", "Group by item, by kind or by place."),
        bind(Scope::Variance, &[LEFT], Action::Earlier, "earlier", "Step to the period before."),
        bind(Scope::Variance, &[RIGHT], Action::Later, "later", "Step to the period after."),
        bind(Scope::Variance, &[c('l')], Action::LastPeriod, "last", "Back to the last two counts of the whole bar."),
        bind(Scope::Variance, &[c('o')], Action::ChooseOpening, "opening", "Choose the count that opens the period."),
        bind(Scope::Variance, &[c('c')], Action::ChooseClosing, "closing", "Choose the count that closes the period."),
    ],
    &[
        bind(Scope::VarianceDetail, &[ESC], Action::Back, "back", "Go back to the list."),
        bind(Scope::VarianceDetail, &[c('n'), RIGHT], Action::Next, "next line", "Open the next line."),
        bind(Scope::VarianceDetail, &[c('p'), LEFT], Action::Previous, "line before", "Open the line before."),
    ],
    &[
        bind(Scope::Orders, &[ENTER], Action::Edit, "packs", "Type how many packs to order."),
        bind(Scope::Orders, &[c('x')], Action::MarkSent, "mark sent", "The order went out: mark it as sent."),
        bind(
            Scope::Orders,
            &[c('w')],
            Action::WriteFiles,
            "write files",
            "Write the order's files: a table (CSV) and a text.",
        ),
        bind(Scope::Orders, &[c('n'), RIGHT], Action::Next, "next supplier", "Go to the next supplier."),
        bind(Scope::Orders, &[c('a')], Action::AddItem, "add", "Add an item of this supplier that is not listed."),
        bind(Scope::Orders, &[c('+')], Action::OneMore, "one more", "Order one pack more."),
        bind(Scope::Orders, &[c('-')], Action::OneLess, "one less", "Order one pack less."),
        bind(Scope::Orders, &[c('0')], Action::OrderNone, "none", "Order none of it."),
        bind(Scope::Orders, &[c('y')], Action::TakeSuggestion, "suggested", "Take the suggested packs again."),
        typed(Scope::Orders, &[Key::Range('1', '9')], Does::Type, "", "Begin to type how many packs to order."),
        bind(Scope::Orders, &[c('p'), LEFT], Action::Previous, "", "Go to the supplier before."),
        bind(
            Scope::Orders,
            &[c('Y')],
            Action::SuggestAnew,
            "all suggested",
            "Drop all changes of this draft; suggest anew.",
        ),
    ],
    &[bind(Scope::OrdersAside, &[c('p'), LEFT], Action::Previous, "suppliers", "Go back to the last supplier.")],
    &[
        typed(
            Scope::OrderEntry,
            &[Key::Range('0', '9')],
            Does::Type,
            "",
            "Type how many packs to order, or scan an item.",
        ),
        bind(Scope::OrderEntry, &[ENTER], Action::Accept, "keep", "Keep the packs."),
        bind(Scope::OrderEntry, &[DOWN], Action::AcceptDown, "keep, line down", "Keep the packs and go one line down."),
        bind(Scope::OrderEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::OrderEntry),
    &[
        typed(Scope::Receive, &[Key::Range('0', '9')], Does::Type, "", "Begin to type how many were carried in."),
        bind(Scope::Receive, &[ENTER], Action::Edit, "containers", "Type how many containers were carried in."),
        bind(
            Scope::Receive,
            &[c('y')],
            Action::TakeAsOrdered,
            "as ordered",
            "What was ordered of this line is what came.",
        ),
        bind(Scope::Receive, &[c('x')], Action::AcceptDelivery, "accept delivery", "Take the delivery into stock."),
        bind(
            Scope::Receive,
            &[c('A')],
            Action::RestAsOrdered,
            "rest as ordered",
            "All that is not looked at came as ordered.",
        ),
        bind(Scope::Receive, &[c('l')], Action::ChangePlace, "place", "Put the line in the next place of the walk."),
        bind(Scope::Receive, &[c('n'), RIGHT], Action::Next, "next order", "Go to the next order."),
        bind(Scope::Receive, &[c('p'), LEFT], Action::Previous, "", "Go to the order before."),
        bind(Scope::Receive, &[c('D')], Action::GiveUpOrder, "give order up", "The order will not come: give it up."),
    ],
    &[
        typed(Scope::ReceiveEntry, FIGURE, Does::Type, "", "Type how many containers were carried in."),
        typed(Scope::ReceiveEntry, &[c('@')], Does::Type, "other price", "Then the price of one, if it differs."),
        bind(Scope::ReceiveEntry, &[ENTER, DOWN], Action::Accept, "keep, go on", "Keep the figure and go on."),
        bind(Scope::ReceiveEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::ReceiveEntry),
    &[
        typed(Scope::ReceiveDocument, &[Key::AnyCharacter], Does::Type, "", "Type the number on the delivery's paper."),
        bind(Scope::ReceiveDocument, &[ENTER], Action::Accept, "book it in", "Take the delivery into stock."),
        bind(Scope::ReceiveDocument, &[ESC], Action::Cancel, "not yet", "Go back to the lines; nothing is booked."),
    ],
    &editing!(Scope::ReceiveDocument),
    &[
        bind(Scope::ReceiveRest, &[ENTER], Action::Accept, "keep the rest", "Book what came; the rest stays on order."),
        bind(
            Scope::ReceiveRest,
            &[c('g')],
            Action::GiveUpOrder,
            "give the rest up",
            "Book what came; the rest is not on order any more.",
        ),
        bind(Scope::ReceiveRest, &[ESC, c('n')], Action::Cancel, "go back", "Go back to the lines; nothing is booked."),
    ],
    &[
        bind(Scope::Losses, &[c('a')], Action::NewLoss, "new loss", "Write down a loss."),
        bind(Scope::Losses, &[c('u')], Action::Undo, "take back", "Take the loss under the cursor back."),
    ],
    &[
        typed(Scope::LossForm, &[Key::AnyCharacter], Does::Type, "", "Type into the field."),
        bind(
            Scope::LossForm,
            &[ENTER],
            Action::Accept,
            "next field",
            "Go to the next field; on the last one, keep the loss.",
        ),
        bind(Scope::LossForm, &[DOWN], Action::Down, "", "Go one match down; elsewhere, to the next field."),
        bind(Scope::LossForm, &[UP], Action::Up, "", "Go one match up; elsewhere, to the field before."),
        bind(Scope::LossForm, &[TAB], Action::NextField, "", "Go to the next field."),
        bind(Scope::LossForm, &[BACK_TAB], Action::PreviousField, "field before", "Go to the field before."),
        bind(Scope::LossForm, &[ESC], Action::Cancel, "drop it", "Throw the form away."),
    ],
    &editing!(
        Scope::LossForm,
        "In Reason and Place, choose; else the cursor left.",
        "In Reason and Place, choose; else the cursor right."
    ),
    &[
        bind(Scope::Stock, &[ENTER], Action::Open, "facts", "Open what is known of the item."),
        bind(Scope::Stock, &[c('v')], Action::Grouping, "group", "Group by place or by kind."),
    ],
    &[
        bind(Scope::StockFacts, &[ESC], Action::Back, "close", "Close the facts."),
        bind(Scope::StockFacts, &[DOWN, c('j')], Action::Down, "scroll", "Go one line down."),
        bind(Scope::StockFacts, &[ENTER], Action::Open, "", "Close the facts, as Esc does."),
    ],
    &[bind(Scope::Gauging, &[ENTER], Action::Open, "weigh, shape", "Open the item: weigh it, or say its shape.")],
    &[
        bind(Scope::GaugingItem, &[c('f')], Action::WeighSealed, "full one", "Type what a sealed one weighs."),
        bind(Scope::GaugingItem, &[c('e')], Action::WeighEmpty, "empty one", "Type what an empty one weighs."),
        bind(Scope::GaugingItem, &[c('t')], Action::TryReading, "try", "Type a reading to see what it is; not kept."),
        bind(Scope::GaugingItem, &[c('s')], Action::NextShape, "shape", "Give the container the next known shape."),
        bind(Scope::GaugingItem, &[c('m')], Action::NewShape, "measure", "Measure the container: a shape of its own."),
        bind(Scope::GaugingItem, &[ESC], Action::Back, "back", "Go back to the list."),
        bind(Scope::GaugingItem, &[c('u')], Action::Undo, "take back", "Take the weighing under the cursor back."),
        bind(Scope::GaugingItem, &[c('n'), RIGHT], Action::Next, "next item", "Open the next item."),
        bind(Scope::GaugingItem, &[c('p'), LEFT], Action::Previous, "", "Open the item before."),
    ],
    &[
        typed(Scope::GaugingEntry, &[Key::AnyCharacter], Does::Type, "", "Type the weight: 812g, 21.5kg."),
        bind(Scope::GaugingEntry, &[ENTER], Action::Accept, "done", "Keep the weight; a try is done and not kept."),
        bind(Scope::GaugingEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::GaugingEntry),
    &[
        typed(Scope::ShapeForm, &[Key::AnyCharacter], Does::Type, "", "Type into the field."),
        bind(Scope::ShapeForm, &[ENTER], Action::Accept, "next field", "To the next field; on the last, keep it."),
        bind(Scope::ShapeForm, &[TAB, DOWN], Action::NextField, "", "Go to the next field."),
        bind(Scope::ShapeForm, &[BACK_TAB, UP], Action::PreviousField, "field before", "Go to the field before."),
        bind(Scope::ShapeForm, &[ESC], Action::Cancel, "drop it", "Throw the form away."),
    ],
    &editing!(Scope::ShapeForm),
    &[
        typed(Scope::EyeCheck, &[Key::Range('0', '9')], Does::Type, "type weight", "Begin to type the weight."),
        bind(Scope::EyeCheck, &[ENTER], Action::Edit, "", "Type what the container weighs."),
        bind(Scope::EyeCheck, &[c('s')], Action::Skip, "skip", "Leave this container out."),
        bind(Scope::EyeCheck, &[ESC], Action::Back, "enough", "End the check; what was weighed is kept."),
    ],
    &[
        typed(Scope::EyeCheckEntry, READING, Does::Type, "", "Type the weight: 812g, 21.5kg."),
        bind(Scope::EyeCheckEntry, &[ENTER, DOWN], Action::Accept, "keep", "Keep the weight and go on."),
        bind(Scope::EyeCheckEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::EyeCheckEntry),
    &[bind(Scope::Suppliers, &[ENTER], Action::Open, "orders", "Go to the orders.")],
    &[
        typed(
            Scope::Find,
            &[Key::AnyCharacter],
            Does::Type,
            "",
            "Words in any order; of a word, its letters in order.",
        ),
        bind(Scope::Find, &[ENTER], Action::Accept, "take it", "Take what the cursor is on."),
        bind(Scope::Find, &[UP], Action::Up, "", "Go one match up."),
        bind(Scope::Find, &[DOWN], Action::Down, "next match", "Go one match down."),
        bind(Scope::Find, &[PAGE_UP], Action::PageUp, "", "Go one window of matches up."),
        bind(Scope::Find, &[PAGE_DOWN], Action::PageDown, "", "Go one window of matches down."),
        bind(Scope::Find, &[ESC], Action::Cancel, "close", "Close the search."),
    ],
    &editing!(
        Scope::Find,
        "Move the cursor left.",
        "Move the cursor right.",
        "To the beginning; of the list, if nothing is typed.",
        "To the end; of the list, if nothing is typed."
    ),
    &[
        typed(Scope::Help, &[Key::AnyCharacter], Does::Type, "", "Narrow the list to a key or a word."),
        bind(Scope::Help, &[ESC, ENTER], Action::Cancel, "close", "Close the list of keys."),
        bind(Scope::Help, &[UP], Action::Up, "", "Go one line up."),
        bind(Scope::Help, &[DOWN], Action::Down, "scroll", "Go one line down."),
        bind(Scope::Help, &[PAGE_UP], Action::PageUp, "", "Go one window up."),
        bind(Scope::Help, &[PAGE_DOWN], Action::PageDown, "", "Go one window down."),
    ],
    &editing!(Scope::Help),
    &[
        bind(Scope::Confirm, &[ENTER, c('y')], Action::Yes, "yes", "Yes: do what the question says Enter does."),
        bind(Scope::Confirm, &[ESC, c('n')], Action::No, "no", "No: leave everything as it is."),
    ],
];

/// Every binding, scope by scope.
pub fn bindings() -> impl Iterator<Item = &'static Binding> {
    TABLE.iter().copied().flatten()
}

/// The bindings that are live in a scope, its own first. While text is typed or a question is asked, the letters of
/// [`Scope::Global`] are not live, so `q` is a letter there. Where a scope names the same keys itself, to say in its own
/// words what they do there, that is the one that counts.
pub fn active(scope: Scope) -> impl Iterator<Item = &'static Binding> {
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
    active(scope).find_map(|binding| binding.act(key))
}

/// The whole table as the file `docs/keys.md`.
pub fn markdown() -> String {
    let mut out = String::from(
        "# Keys\n\nWritten from the program's own table (`src/tui/keymap.rs`). `?` shows the keys that work where you are.\n",
    );
    for &scope in Scope::ALL {
        let mut rows = bindings().filter(|binding| binding.scope == scope).peekable();
        if rows.peek().is_none() {
            continue;
        }
        out.push_str(&format!("\n## {}\n\n| key | what it does |\n| --- | --- |\n", scope.title()));
        for binding in rows {
            let keys: Vec<String> = binding.keys.iter().map(|key| format!("`{}`", key.label())).collect();
            out.push_str(&format!("| {} | {} |\n", keys.join(" "), binding.help));
        }
    }
    out
}

/// A screen that has a letter of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Tab {
    /// What is due tonight.
    #[default]
    Tonight,
    /// The walk along the shelves.
    Count,
    /// Used against sold.
    Variance,
    /// What to buy, from whom.
    Orders,
    /// Checking a delivery in.
    Receive,
    /// Broken, spilt, given away.
    Losses,
    /// On hand.
    Stock,
    /// What is known of containers and eyes.
    Gauging,
    /// Whom to order from.
    Suppliers,
}

impl Tab {
    /// Every screen, in the order of the top line.
    pub const ALL: &'static [Tab] = &[
        Tab::Tonight,
        Tab::Count,
        Tab::Variance,
        Tab::Orders,
        Tab::Receive,
        Tab::Losses,
        Tab::Stock,
        Tab::Gauging,
        Tab::Suppliers,
    ];

    /// Its name in the top line.
    pub fn title(self) -> &'static str {
        match self {
            Tab::Tonight => "Tonight",
            Tab::Count => "Count",
            Tab::Variance => "Variance",
            Tab::Orders => "Orders",
            Tab::Receive => "Receive",
            Tab::Losses => "Losses",
            Tab::Stock => "Stock",
            Tab::Gauging => "Gauging",
            Tab::Suppliers => "Suppliers",
        }
    }

    /// The capital that goes there: the one within its title.
    pub fn letter(self) -> char {
        match self {
            Tab::Tonight => 'T',
            Tab::Count => 'C',
            Tab::Variance => 'V',
            Tab::Orders => 'O',
            Tab::Receive => 'R',
            Tab::Losses => 'L',
            Tab::Stock => 'S',
            Tab::Gauging => 'U',
            Tab::Suppliers => 'P',
        }
    }

    /// The screen that an action goes to, seen from this one; none if the action goes nowhere.
    pub fn after(self, action: Action) -> Option<Tab> {
        let here = Tab::ALL.iter().position(|&tab| tab == self).unwrap_or(0);
        let all = Tab::ALL.len();
        match action {
            Action::GoTonight => Some(Tab::Tonight),
            Action::GoCount => Some(Tab::Count),
            Action::GoVariance => Some(Tab::Variance),
            Action::GoOrders => Some(Tab::Orders),
            Action::GoReceive => Some(Tab::Receive),
            Action::GoLosses => Some(Tab::Losses),
            Action::GoStock => Some(Tab::Stock),
            Action::GoGauging => Some(Tab::Gauging),
            Action::GoSuppliers => Some(Tab::Suppliers),
            Action::NextScreen => Tab::ALL.get((here + 1) % all).copied(),
            Action::PreviousScreen => Tab::ALL.get((here + all - 1) % all).copied(),
            _ => None,
        }
    }
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
                let hits: Vec<_> = active(scope).filter_map(|b| b.act(key)).collect();
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
        assert_eq!(Tab::Suppliers.after(Action::NextScreen), Some(Tab::Tonight));
        assert_eq!(Tab::Stock.after(Action::Up), None);
    }
}
