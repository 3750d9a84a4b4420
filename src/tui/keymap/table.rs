//! The table of every key, scope by scope.

use super::{Action, Binding, Does, Key, Scope};
use ratatui::crossterm::event::KeyCode;

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
const PAR: &[Key] = &[Key::Range('0', '9'), c('.'), c(',')];
const FIGURE: &[Key] = &[Key::Range('0', '9'), c('.'), c(','), c(' ')];
/// With the sign, so that a sum below nothing is refused and not taken for one above.
const SUM: &[Key] = &[Key::Range('0', '9'), c('.'), c(','), c(' '), c('-')];

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

/// The keys of a form with a head and lines of ingredients.
macro_rules! writing {
    ($scope:expr) => {
        [
            typed($scope, &[Key::AnyCharacter], Does::Type, "", "Type into the field."),
            bind($scope, &[ENTER], Action::Accept, "next", "The next field; from an amount, the next ingredient."),
            bind($scope, &[Key::Ctrl('s')], Action::Save, "keep it", "Keep all of it as it stands."),
            bind($scope, &[TAB], Action::NextField, "next field", "Go to the next field, waste and note too."),
            bind($scope, &[BACK_TAB], Action::PreviousField, "", "Go to the field before."),
            bind($scope, &[UP], Action::Up, "", "In a list, one up; else to the line above."),
            bind($scope, &[DOWN], Action::Down, "", "In a list, one down; else to the line below."),
            bind($scope, &[Key::Ctrl('d')], Action::RemoveLine, "line out", "Take the ingredient out."),
            bind($scope, &[ESC], Action::Cancel, "drop it", "Throw the form away."),
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
pub(super) const TABLE: &[&[Binding]] = &[
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
        bind(Scope::Global, &[c('R')], Action::GoReceive, "", "Go to Receive: deliveries and bills in."),
        bind(Scope::Global, &[c('L')], Action::GoLosses, "", "Go to Losses: what was broken, spilt or given away."),
        bind(Scope::Global, &[c('S')], Action::GoStock, "", "Go to Stock: what is on hand."),
        bind(Scope::Global, &[c('E')], Action::GoPar, "", "Go to Par levels: what to have, how long it lasts."),
        bind(Scope::Global, &[c('D')], Action::GoDrinks, "", "Go to Drinks: what a serve takes, costs, contains."),
        bind(Scope::Global, &[c('H')], Action::GoHouse, "", "Go to House-made: recipes and batches."),
        bind(Scope::Global, &[c('I')], Action::GoTill, "", "Go to Till: its names, and its files."),
        bind(Scope::Global, &[c('U')], Action::GoGauging, "", "Go to Gauging: weights, shapes, eyes."),
        bind(Scope::Global, &[c('P')], Action::GoSuppliers, "", "Go to Suppliers: whom to order from, and by when."),
        bind(Scope::Global, &[c('B')], Action::GoBook, "", "Go to Book: what was done, who signs, who is here."),
        bind(Scope::Global, &[c('W')], Action::WhoIsHere, "", "Say who is at the screen, or that nobody is."),
        bind(Scope::Global, &[UP, c('k')], Action::Up, "", "Go one line up."),
        bind(Scope::Global, &[DOWN, c('j')], Action::Down, "", "Go one line down."),
        bind(Scope::Global, &[PAGE_UP], Action::PageUp, "", "Go one window up."),
        bind(Scope::Global, &[PAGE_DOWN], Action::PageDown, "", "Go one window down."),
        bind(Scope::Global, &[HOME, c('g')], Action::First, "", "Go to the first line."),
        bind(Scope::Global, &[END, c('G')], Action::Last, "", "Go to the last line."),
        bind(Scope::Global, &[ESC], Action::Back, "", "Go back from what is open."),
    ],
    &[
        typed(Scope::Beginning, &[Key::AnyCharacter], Does::Type, "", "Type into the field, or choose by a letter."),
        bind(Scope::Beginning, &[ENTER], Action::Accept, "next", "The next field; from the last, make the book."),
        bind(Scope::Beginning, &[Key::Ctrl('s')], Action::Save, "make the book", "Make the book as it stands."),
        bind(Scope::Beginning, &[TAB, DOWN], Action::NextField, "", "Go to the next field."),
        bind(Scope::Beginning, &[BACK_TAB, UP], Action::PreviousField, "back", "Go to the field before."),
        bind(
            Scope::Beginning,
            &[Key::Ctrl('o')],
            Action::LookAround,
            "look around",
            "Look around in an invented bar first.",
        ),
        bind(Scope::Beginning, &[ESC], Action::Cancel, "leave", "Leave; no book is made."),
    ],
    &editing!(Scope::Beginning, "Left, or the choice before.", "Right, or the next choice."),
    &[
        bind(Scope::Tonight, &[ENTER], Action::Open, "go there", "Go to the screen where the line is dealt with."),
        bind(Scope::Tonight, &[c('c')], Action::CarryUp, "carry up", "Show what to carry up before service."),
    ],
    &[
        bind(Scope::CountStart, &[ENTER], Action::Open, "count this", "Begin the chosen count, or go on with it."),
        bind(
            Scope::CountStart,
            &[c('b')],
            Action::ToggleBlind,
            "blind",
            "Hide or show what is expected while counting.",
        ),
        bind(
            Scope::CountStart,
            &[c('w')],
            Action::WriteFiles,
            "write sheet",
            "Write a sheet to print and fill in by hand (PDF).",
        ),
        bind(
            Scope::CountStart,
            &[c('f')],
            Action::FromSheet,
            "filled sheet",
            "Type in a sheet that was filled in by hand.",
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
        bind(Scope::CountListBlind, &[ENTER], Action::AsExpected, "", "Go on from a line that is counted."),
        bind(Scope::CountOneKeyBlind, &[ENTER], Action::AsExpected, "", "Go on from a line that is counted."),
    ],
    &[
        typed(Scope::CountEntry, READING, Does::Type, "", "Type what is left: sealed, then tenths."),
        bind(Scope::CountEntry, &[ENTER], Action::Accept, "keep", "Keep the entry and go on."),
        bind(Scope::CountEntry, &[DOWN], Action::AcceptDown, "keep, line down", "Keep the entry and go one line down."),
        bind(Scope::CountEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::CountEntry),
    &[
        typed(Scope::SheetForm, &[Key::AnyCharacter], Does::Type, "", "Type into the field."),
        bind(Scope::SheetForm, &[ENTER], Action::Accept, "next", "The next field; after the last, begin."),
        bind(Scope::SheetForm, &[TAB, DOWN], Action::NextField, "", "Go to the next field."),
        bind(Scope::SheetForm, &[BACK_TAB, UP], Action::PreviousField, "field before", "Go to the field before."),
        bind(Scope::SheetForm, &[ESC], Action::Cancel, "not now", "Go back to what can be counted."),
    ],
    &editing!(Scope::SheetForm),
    &[
        typed(
            Scope::SheetList,
            &[Key::Range('0', '9'), c('.'), c(','), c('f'), c(' ')],
            Does::Type,
            "type it",
            "Begin to type what stands there; f is a full one.",
        ),
        bind(Scope::SheetList, &[ENTER], Action::Accept, "leave out", "The line is empty on paper: go on without."),
        bind(
            Scope::SheetList,
            &[c(':'), c('*')],
            Action::GoToNumber,
            "line no.",
            "Go to a line by the number that it has on paper.",
        ),
        bind(Scope::SheetList, &[HOME, c('g')], Action::GoToNumber, "", "The same: type the number, then Enter."),
        bind(Scope::SheetList, &[c('u')], Action::Undo, "undo", "Take the last entry back."),
        bind(Scope::SheetList, &[c('x')], Action::CloseCount, "sheet done", "All of it is typed in: close the count."),
        bind(Scope::SheetList, &[c('d')], Action::ClosePlace, "place done", "Close this place, and see what it means."),
        bind(Scope::SheetList, BACKSPACE, Action::PreviousLine, "line up", "Go back one line, to type it in again."),
        bind(Scope::SheetList, &[c('a')], Action::AddItem, "not listed", "Add what was written below the lines."),
        bind(
            Scope::SheetList,
            &[c('m')],
            Action::ToggleOneKey,
            "no Enter",
            "A tenth ends an entry without Enter, or not.",
        ),
        bind(Scope::SheetList, &[c('-')], Action::Skip, "", "The same as Enter: the line is empty on paper."),
        bind(Scope::SheetList, &[c('n'), RIGHT], Action::Next, "", "Go to the next place."),
        bind(Scope::SheetList, &[c('p'), LEFT], Action::Previous, "", "Go to the place before."),
    ],
    &[
        typed(Scope::SheetEntry, READING, Does::Type, "", "Type what stands there: sealed, then tenths."),
        typed(Scope::SheetEntry, &[c('f')], Does::Type, "", "An opened one that is marked as full."),
        bind(Scope::SheetEntry, &[ENTER], Action::Accept, "keep", "Keep the entry and go on."),
        bind(
            Scope::SheetEntry,
            &[c(':'), c('*')],
            Action::GoToNumber,
            "is a line no.",
            "What was typed is the number of a line: go there.",
        ),
        bind(Scope::SheetEntry, &[DOWN], Action::AcceptDown, "", "Keep the entry and go one line down."),
        bind(Scope::SheetEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::SheetEntry),
    &[
        typed(Scope::SheetNumber, &[Key::Range('0', '9')], Does::Type, "", "Type the number of the line."),
        bind(Scope::SheetNumber, &[ENTER], Action::Accept, "go there", "Go to that line."),
        bind(Scope::SheetNumber, &[c(':'), c('*')], Action::GoToNumber, "", "Go to that line."),
        bind(Scope::SheetNumber, &[ESC], Action::Cancel, "stay", "Stay on this line."),
    ],
    &editing!(Scope::SheetNumber),
    &[
        bind(Scope::Variance, &[ENTER], Action::Open, "why", "Open the line: every entry its figures are made of."),
        bind(
            Scope::Variance,
            &[c('z')],
            Action::ToggleWithin,
            "all lines",
            "Show all lines, or only those that matter.",
        ),
        bind(Scope::Variance, &[c('a')], Action::AcceptCause, "accept", "Say what made the gap: it leaves the list."),
        bind(Scope::Variance, &[c('u')], Action::Undo, "", "Take an accepted cause back: the gap is open again."),
        bind(Scope::Variance, &[c('v')], Action::Grouping, "group", "By item, place, kind, who counted, or evening."),
        bind(Scope::Variance, &[c('w')], Action::WriteReport, "write", "Write the period as a page and a table."),
        bind(Scope::Variance, &[LEFT], Action::Earlier, "earlier", "Step to the period before."),
        bind(Scope::Variance, &[RIGHT], Action::Later, "later", "Step to the period after."),
        bind(Scope::Variance, &[c('l')], Action::LastPeriod, "last", "Back to the last two counts of the whole bar."),
        bind(Scope::Variance, &[c('o')], Action::ChooseOpening, "opening", "Choose the count that opens the period."),
        bind(Scope::Variance, &[c('c')], Action::ChooseClosing, "closing", "Choose the count that closes the period."),
    ],
    &[
        bind(Scope::VarianceDetail, &[ESC], Action::Back, "back", "Go back to the list."),
        bind(
            Scope::VarianceDetail,
            &[c('v')],
            Action::Grouping,
            "other page",
            "Causes, figures, exactness, chart: the next page.",
        ),
        bind(Scope::VarianceDetail, &[c('a')], Action::AcceptCause, "accept", "Say what made the gap."),
        bind(Scope::VarianceDetail, &[c('u')], Action::Undo, "", "Take an accepted cause back."),
        bind(Scope::VarianceDetail, &[c('n'), RIGHT], Action::Next, "next line", "Open the next line."),
        bind(Scope::VarianceDetail, &[c('p'), LEFT], Action::Previous, "line before", "Open the line before."),
    ],
    &[
        typed(Scope::CauseForm, &[Key::AnyCharacter], Does::Type, "", "Type into the field."),
        bind(Scope::CauseForm, &[ENTER], Action::Accept, "next", "The next field; from the last, keep it."),
        bind(Scope::CauseForm, &[DOWN], Action::Down, "", "One cause down; elsewhere, to the next field."),
        bind(Scope::CauseForm, &[UP], Action::Up, "", "One cause up; elsewhere, to the field before."),
        bind(Scope::CauseForm, &[TAB], Action::NextField, "", "Go to the next field."),
        bind(Scope::CauseForm, &[BACK_TAB], Action::PreviousField, "field before", "Go to the field before."),
        bind(Scope::CauseForm, &[ESC], Action::Cancel, "leave it", "Leave the gap open."),
    ],
    &editing!(Scope::CauseForm),
    &[
        bind(Scope::Orders, &[ENTER], Action::Open, "why", "Say why the line is ordered so, and what others ask."),
        typed(Scope::Orders, &[Key::Range('1', '9')], Does::Type, "packs", "Begin to type how many packs to order."),
        bind(Scope::Orders, &[c('x')], Action::MarkSent, "mark sent", "The order went out: mark it as sent."),
        bind(
            Scope::Orders,
            &[c('w')],
            Action::WriteFiles,
            "write files",
            "Write PDF, e-mail, text, CSV and electronic order.",
        ),
        bind(Scope::Orders, &[c('n'), RIGHT], Action::Next, "next supplier", "Go to the next supplier."),
        bind(Scope::Orders, &[c('b')], Action::Budget, "budget", "Type what all orders together may cost."),
        bind(Scope::Orders, &[c('a')], Action::AddItem, "add", "Add an item of this supplier that is not listed."),
        bind(Scope::Orders, &[c('+')], Action::OneMore, "one more", "Order one pack more."),
        bind(Scope::Orders, &[c('-')], Action::OneLess, "one less", "Order one pack less."),
        bind(Scope::Orders, &[c('0')], Action::OrderNone, "none", "Order none of it."),
        bind(Scope::Orders, &[c('y')], Action::TakeSuggestion, "suggested", "Take the suggested packs again."),
        bind(Scope::Orders, &[c('e')], Action::Edit, "", "Type how many packs to order."),
        bind(Scope::Orders, &[c('p'), LEFT], Action::Previous, "", "Go to the supplier before."),
        bind(
            Scope::Orders,
            &[c('Y')],
            Action::SuggestAnew,
            "all suggested",
            "Drop all changes of this draft; suggest anew.",
        ),
    ],
    &[
        bind(Scope::OrdersAside, &[ENTER], Action::Open, "why", "Say why it is not ordered; book in what is sent."),
        bind(Scope::OrdersAside, &[c('p'), LEFT], Action::Previous, "suppliers", "Go back to the last supplier."),
        bind(Scope::OrdersAside, &[c('b')], Action::Budget, "budget", "Type what all orders together may cost."),
    ],
    &[
        typed(Scope::BudgetEntry, SUM, Does::Type, "", "Type the sum; nothing is no budget."),
        bind(Scope::BudgetEntry, &[ENTER], Action::Accept, "plan so", "Plan the orders for no more than that."),
        bind(Scope::BudgetEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::BudgetEntry),
    &[
        bind(Scope::OrderWhy, &[ESC], Action::Back, "back", "Go back to the order."),
        bind(Scope::OrderWhy, &[c('n'), RIGHT], Action::Next, "next line", "Why the next line is ordered so."),
        bind(Scope::OrderWhy, &[c('p'), LEFT], Action::Previous, "line before", "Why the line before is ordered so."),
        bind(Scope::OrderWhy, &[DOWN, c('j')], Action::Down, "scroll", "Go one line down."),
        bind(Scope::OrderWhy, &[ENTER], Action::Open, "", "Go back to the order, as Esc does."),
    ],
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
        bind(Scope::Receive, &[c('f')], Action::TakeFile, "a bill", "Receive by the supplier's bill: choose its file."),
        bind(Scope::Receive, &[c('m')], Action::Claims, "to claim", "Show what is to be claimed from suppliers."),
        bind(Scope::Receive, &[c('b')], Action::BookedBills, "booked", "Show the bills booked; take one back."),
        bind(Scope::Receive, &[c('D')], Action::GiveUpOrder, "give order up", "The order will not come: give it up."),
    ],
    &[
        bind(
            Scope::ReceiveNothing,
            &[c('f')],
            Action::TakeFile,
            "a bill",
            "Receive by a supplier's bill: choose its file.",
        ),
        bind(
            Scope::ReceiveNothing,
            &[c('m')],
            Action::Claims,
            "to claim",
            "Show what is to be claimed from suppliers.",
        ),
        bind(Scope::ReceiveNothing, &[c('b')], Action::BookedBills, "booked", "Show the bills booked; take one back."),
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
        bind(
            Scope::Bill,
            &[c('y')],
            Action::TakeAsOrdered,
            "as charged",
            "It came as charged; or it is what is likeliest.",
        ),
        typed(Scope::Bill, &[Key::Range('0', '9')], Does::Type, "", "Begin to type how many came."),
        bind(Scope::Bill, &[ENTER], Action::Edit, "containers", "Type how many containers came."),
        bind(Scope::Bill, &[c('A')], Action::RestAsOrdered, "all the rest", "All the rest came as it is charged."),
        bind(Scope::Bill, &[c('x')], Action::AcceptDelivery, "book it", "Book the bill and what came."),
        bind(Scope::Bill, &[c('o')], Action::OtherItem, "other item", "Choose which item the line is."),
        bind(Scope::Bill, &[c('d')], Action::IsDeposit, "deposit", "The line is a deposit, apart from the goods."),
        bind(Scope::Bill, &[c('w')], Action::NotStock, "not stock", "The line is nothing that is stocked."),
        bind(Scope::Bill, &[c('v')], Action::Doubts, "doubts", "Show all that is doubtful about the bill."),
        bind(Scope::Bill, &[c('n'), RIGHT], Action::Next, "other order", "Set it beside the next order or delivery."),
        bind(Scope::Bill, &[c('p'), LEFT], Action::Previous, "", "Set it beside the order or delivery before."),
        bind(Scope::Bill, &[c('b')], Action::WhoseBill, "whose", "Choose the supplier whose bill it is."),
        bind(Scope::Bill, &[c('l')], Action::ChangePlace, "place", "Put the line in the next place of the walk."),
        bind(Scope::Bill, &[c('s')], Action::ShareFreight, "charges", "Share freight and the like out, or do not."),
        bind(Scope::Bill, &[c('t')], Action::OtherDay, "day", "It came on the day of the bill, or today."),
        bind(Scope::Bill, &[c('a')], Action::SetAside, "not for us", "Set the file aside; it is not offered again."),
        bind(Scope::Bill, &[ESC], Action::Back, "back", "Go back to the orders; nothing is booked."),
    ],
    &[
        typed(Scope::BillEntry, &[Key::Range('0', '9')], Does::Type, "", "Type how many containers."),
        bind(Scope::BillEntry, &[ENTER, DOWN], Action::Accept, "keep, go on", "Keep the figure and go on."),
        bind(Scope::BillEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::BillEntry),
    &[
        bind(Scope::BillDoubts, &[ENTER, c('y')], Action::Accept, "go on", "Read on; at the end, book it or close."),
        bind(Scope::BillDoubts, &[ESC, c('n'), c('v')], Action::Cancel, "go back", "Go back to the bill."),
        bind(Scope::BillDoubts, &[DOWN, c('j')], Action::Down, "scroll", "Go one line down."),
        bind(Scope::BillDoubts, &[UP, c('k')], Action::Up, "", "Go one line up."),
        bind(Scope::BillDoubts, &[PAGE_DOWN], Action::PageDown, "", "Go one window down."),
        bind(Scope::BillDoubts, &[PAGE_UP], Action::PageUp, "", "Go one window up."),
        bind(Scope::BillDoubts, &[HOME, c('g')], Action::First, "", "Go to the first line."),
        bind(Scope::BillDoubts, &[END, c('G')], Action::Last, "", "Go to the last line."),
    ],
    &[
        bind(Scope::Claims, &[ENTER, c('s')], Action::Settle, "settled", "Type how the claim was settled."),
        bind(Scope::Claims, &[ESC], Action::Back, "back", "Go back to the orders."),
        bind(Scope::Claims, &[c('m')], Action::Back, "", "Go back to the orders, as Esc does."),
    ],
    &[
        typed(Scope::ClaimEntry, &[Key::AnyCharacter], Does::Type, "", "Type how: credit note 17, paid, let go."),
        bind(Scope::ClaimEntry, &[ENTER], Action::Accept, "settled", "The claim is settled."),
        bind(Scope::ClaimEntry, &[ESC], Action::Cancel, "not yet", "The claim stays open."),
    ],
    &editing!(Scope::ClaimEntry),
    &[
        bind(Scope::BookedBills, &[c('u')], Action::Undo, "take back", "Take the bill back, with all that it did."),
        bind(Scope::BookedBills, &[ESC], Action::Back, "back", "Go back to the orders."),
        bind(Scope::BookedBills, &[c('b')], Action::Back, "", "Go back to the orders, as Esc does."),
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
        bind(Scope::Stock, &[c('c')], Action::CarryUp, "carry up", "Show what to carry up before service."),
    ],
    &[
        bind(Scope::StockFacts, &[ESC], Action::Back, "close", "Close the facts."),
        bind(Scope::StockFacts, &[DOWN, c('j')], Action::Down, "scroll", "Go one line down."),
        bind(Scope::StockFacts, &[ENTER], Action::Open, "", "Close the facts, as Esc does."),
    ],
    &[
        bind(Scope::Par, &[ENTER], Action::Open, "open", "Open the item: all that is known of its par."),
        typed(Scope::Par, PAR, Does::Type, "par", "Begin to type the par by hand, in containers."),
        bind(Scope::Par, &[c('d')], Action::RuleByDemand, "demand", "Let demand rule the item's par."),
        bind(Scope::Par, &[c('h')], Action::RuleByHand, "hand", "Let the par set by hand rule again."),
        bind(Scope::Par, &[c('m')], Action::RuleMany, "many", "Say which par rules a kind, or all items."),
        bind(Scope::Par, &[c('s')], Action::Sort, "sort", "Sort: by name, soonest dry, largest difference."),
        bind(Scope::Par, &[c('b')], Action::LookBack, "look back", "See what both pars would have done lately."),
        bind(Scope::Par, &[c('v')], Action::Grouping, "kind", "Show the items of the next kind only, or all."),
        bind(Scope::Par, &[c('x')], Action::TakeParAway, "take away", "Take the par set by hand away."),
        bind(Scope::Par, &[c('u')], Action::Undo, "undo", "Put the pars back that were changed last."),
    ],
    &[
        bind(Scope::ParPage, &[ESC], Action::Back, "back", "Go back to the list."),
        typed(Scope::ParPage, PAR, Does::Type, "par", "Begin to type the par by hand, in containers."),
        bind(Scope::ParPage, &[DOWN, c('j')], Action::Down, "scroll", "Go one line down."),
        bind(Scope::ParPage, &[c('d')], Action::RuleByDemand, "demand", "Let demand rule the item's par."),
        bind(Scope::ParPage, &[c('h')], Action::RuleByHand, "hand", "Let the par set by hand rule again."),
        bind(Scope::ParPage, &[c('x')], Action::TakeParAway, "take away", "Take the par set by hand away."),
        bind(Scope::ParPage, &[c('u')], Action::Undo, "undo", "Put the pars back that were changed last."),
        bind(Scope::ParPage, &[c('n'), RIGHT], Action::Next, "next item", "Open the next item."),
        bind(Scope::ParPage, &[c('p'), LEFT], Action::Previous, "", "Open the item before."),
        bind(Scope::ParPage, &[c('m')], Action::RuleMany, "", "Say which par rules a kind, or all items."),
        bind(Scope::ParPage, &[c('b')], Action::LookBack, "", "See what both pars would have done lately."),
        bind(Scope::ParPage, &[ENTER], Action::Open, "", "Go back to the list, as Esc does."),
    ],
    &[
        typed(Scope::ParEntry, FIGURE, Does::Type, "", "Type the par in containers: 4, 2.5; or scan an item."),
        bind(Scope::ParEntry, &[ENTER], Action::Accept, "keep", "Keep the par: it rules from now on."),
        bind(Scope::ParEntry, &[DOWN], Action::AcceptDown, "keep, line down", "Keep the par and go one line down."),
        bind(Scope::ParEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::ParEntry),
    &[
        bind(Scope::ParMany, &[ENTER], Action::Open, "choose", "Choose this; you are asked before it is done."),
        bind(Scope::ParMany, &[DOWN, c('j')], Action::Down, "next", "Go one choice down."),
        bind(Scope::ParMany, &[ESC], Action::Back, "back", "Go back; nothing is changed."),
    ],
    &[
        bind(Scope::ParBack, &[c('+'), RIGHT], Action::OneMore, "more weeks", "Look back over more weeks."),
        bind(Scope::ParBack, &[c('-'), LEFT], Action::OneLess, "fewer weeks", "Look back over fewer weeks."),
        bind(Scope::ParBack, &[DOWN, c('j')], Action::Down, "scroll", "Go one line down."),
        bind(Scope::ParBack, &[ESC], Action::Back, "back", "Go back to the list."),
        bind(Scope::ParBack, &[c('b')], Action::Back, "", "Go back to the list, as Esc does."),
    ],
    &[
        bind(Scope::CarryUp, &[ENTER], Action::Accept, "carried", "The line was carried: book it."),
        bind(Scope::CarryUp, &[c('x')], Action::BookAll, "all carried", "All of it was carried: book it."),
        bind(Scope::CarryUp, &[c('u')], Action::Undo, "take back", "Take back what the cursor is on, or the last."),
        bind(Scope::CarryUp, &[ESC], Action::Back, "back", "Go back to the stock."),
        bind(Scope::CarryUp, &[c('-')], Action::OneLess, "one less", "One less of the line was carried."),
        bind(Scope::CarryUp, &[c('+')], Action::OneMore, "one more", "One more of it, up to what the list says."),
    ],
    &[
        bind(Scope::Drinks, &[ENTER], Action::Open, "open", "Open the drink: all that is reckoned of it."),
        bind(Scope::Drinks, &[c('e')], Action::Change, "change", "Change the drink from a day on."),
        bind(Scope::Drinks, &[c('a')], Action::New, "new", "Write a new drink."),
        bind(Scope::Drinks, &[c('c')], Action::Corners, "corners", "Show which drinks sell and which earn."),
        bind(Scope::Drinks, &[c('w')], Action::PriceChange, "what if", "See what another price does to every drink."),
        bind(Scope::Drinks, &[c('s')], Action::Sort, "sort", "Sort the list by another figure."),
        bind(Scope::Drinks, &[c('v')], Action::Grouping, "which", "Show others: mixed, straight, off the menu too."),
        bind(Scope::Drinks, &[c('m')], Action::ToggleMenu, "on/off menu", "On the menu or off it, from today on."),
    ],
    &[
        bind(Scope::DrinkPage, &[c('e')], Action::Change, "change", "Change the drink from a day on."),
        bind(Scope::DrinkPage, &[c('b')], Action::ForMany, "for many", "Reckon it for many serves, and print that."),
        bind(Scope::DrinkPage, &[c('v')], Action::OtherVersion, "versions", "Show the next version, and round again."),
        bind(Scope::DrinkPage, &[c('m')], Action::ToggleMenu, "on/off menu", "On the menu or off it, from today on."),
        bind(Scope::DrinkPage, &[ESC], Action::Back, "back", "Go back to where it was opened."),
        bind(Scope::DrinkPage, &[c('n'), RIGHT], Action::Next, "next drink", "Open the next drink."),
        bind(Scope::DrinkPage, &[c('p'), LEFT], Action::Previous, "", "Open the drink before."),
        bind(
            Scope::DrinkPage,
            &[c('x')],
            Action::DropVersion,
            "",
            "Take this version away, if nothing was sold by it.",
        ),
        bind(Scope::DrinkPage, &[DOWN, c('j')], Action::Down, "", "Go one line down."),
    ],
    &writing!(Scope::DrinkForm),
    &editing!(
        Scope::DrinkForm,
        "Choose, where one can; else the cursor left.",
        "Choose, where one can; else the cursor right."
    ),
    &[
        bind(Scope::DrinkCorners, &[UP, c('k')], Action::Up, "", "Go one drink up."),
        bind(Scope::DrinkCorners, &[DOWN, c('j')], Action::Down, "next drink", "Go one drink down."),
        bind(Scope::DrinkCorners, &[ENTER], Action::Open, "open", "Open the drink."),
        bind(Scope::DrinkCorners, &[c('v')], Action::Grouping, "which", "Look at others: mixed, straight, all."),
        bind(
            Scope::DrinkCorners,
            &[c('w')],
            Action::WriteFiles,
            "write report",
            "Write the report: a page with the plot.",
        ),
        bind(Scope::DrinkCorners, &[ESC], Action::Back, "back", "Go back to the list."),
    ],
    &[
        typed(Scope::PriceChange, &[Key::AnyCharacter], Does::Type, "", "Type the new price of a container, or +5 %."),
        bind(Scope::PriceChange, &[ENTER], Action::Accept, "another item", "Choose another item."),
        bind(Scope::PriceChange, &[DOWN], Action::Down, "scroll", "Go one line down."),
        bind(Scope::PriceChange, &[UP], Action::Up, "", "Go one line up."),
        bind(Scope::PriceChange, &[PAGE_DOWN], Action::PageDown, "", "Go one window down."),
        bind(Scope::PriceChange, &[PAGE_UP], Action::PageUp, "", "Go one window up."),
        bind(Scope::PriceChange, &[ESC], Action::Cancel, "back", "Go back to the list; nothing is kept."),
    ],
    &editing!(Scope::PriceChange),
    &[
        typed(Scope::DrinkForMany, &[Key::AnyCharacter], Does::Type, "", "Type into the field."),
        bind(Scope::DrinkForMany, &[ENTER], Action::Accept, "write sheet", "Write the sheet: a page to print."),
        bind(Scope::DrinkForMany, &[TAB, DOWN], Action::NextField, "next field", "Go to the next field."),
        bind(Scope::DrinkForMany, &[BACK_TAB, UP], Action::PreviousField, "", "Go to the field before."),
        bind(Scope::DrinkForMany, &[ESC], Action::Cancel, "back", "Go back to the drink."),
    ],
    &editing!(Scope::DrinkForMany),
    &[
        bind(Scope::House, &[ENTER], Action::Open, "open", "Open the item: recipe, batches, how much to make."),
        bind(Scope::House, &[c('b')], Action::MakeBatch, "batch made", "Book a batch: it takes what its recipe says."),
        bind(Scope::House, &[c('e')], Action::Change, "recipe", "Change the recipe from a day on."),
        bind(Scope::House, &[c('a')], Action::New, "new", "Write a recipe for something new."),
        bind(Scope::House, &[c('+')], Action::OneMore, "a day more", "Reckon what to make for one day more."),
        bind(Scope::House, &[c('-')], Action::OneLess, "a day less", "Reckon what to make for one day less."),
    ],
    &[
        bind(Scope::HousePage, &[c('b')], Action::MakeBatch, "batch made", "Book a batch of it."),
        bind(Scope::HousePage, &[c('e')], Action::Change, "recipe", "Change the recipe from a day on."),
        bind(Scope::HousePage, &[c('s')], Action::Spoiled, "spoiled", "Write off what is left of the batch."),
        bind(Scope::HousePage, &[c('u')], Action::Undo, "batch back", "Take the batch under the cursor back."),
        bind(Scope::HousePage, &[ESC], Action::Back, "back", "Go back to the list."),
        bind(Scope::HousePage, &[c('n'), RIGHT], Action::Next, "next item", "Open the next item."),
        bind(Scope::HousePage, &[c('p'), LEFT], Action::Previous, "", "Open the item before."),
        bind(Scope::HousePage, &[c('+')], Action::OneMore, "", "Reckon what to make for one day more."),
        bind(Scope::HousePage, &[c('-')], Action::OneLess, "", "Reckon what to make for one day less."),
        bind(Scope::HousePage, &[c('v')], Action::OtherVersion, "", "Show the next version, and round again."),
    ],
    &writing!(Scope::RecipeForm),
    &editing!(
        Scope::RecipeForm,
        "Choose, where one can; else the cursor left.",
        "Choose, where one can; else the cursor right."
    ),
    &[
        typed(Scope::MakeForm, &[Key::AnyCharacter], Does::Type, "", "Type into the field."),
        bind(
            Scope::MakeForm,
            &[ENTER],
            Action::Accept,
            "next field",
            "To the next field; on the last, book the batch.",
        ),
        bind(Scope::MakeForm, &[TAB, DOWN], Action::NextField, "", "Go to the next field."),
        bind(Scope::MakeForm, &[BACK_TAB, UP], Action::PreviousField, "field before", "Go to the field before."),
        bind(Scope::MakeForm, &[ESC], Action::Cancel, "drop it", "Throw the form away."),
    ],
    &editing!(Scope::MakeForm),
    &[
        bind(Scope::Till, &[ENTER], Action::Accept, "take it", "Take the first suggestion, if it is sure."),
        typed(Scope::Till, &[Key::Range('1', '5')], Does::Type, "take one", "Take this suggestion, a guess too."),
        bind(Scope::Till, &[c('o')], Action::OtherDrink, "other", "Choose what the name means from all drinks."),
        bind(Scope::Till, &[c('0')], Action::NotStock, "not stock", "The name takes nothing of the stock."),
        bind(Scope::Till, &[c('f')], Action::TakeFile, "take a file in", "Choose a file of sales to take in."),
        bind(Scope::Till, &[c('p')], Action::Edit, "portion", "Type how much of the drink it is: 2, .5."),
        bind(Scope::Till, &[c('u')], Action::Undo, "undo", "Take back what was said last."),
        bind(Scope::Till, &[c('v')], Action::Grouping, "all names", "List the names that are known as well."),
        bind(Scope::Till, &[c('i')], Action::FilesTaken, "files", "Show the files that were taken in."),
    ],
    &[
        typed(Scope::TillPortion, FIGURE, Does::Type, "", "Type the portion: 2 is a double, .5 a half."),
        bind(Scope::TillPortion, &[ENTER], Action::Accept, "keep", "Keep the portion."),
        bind(Scope::TillPortion, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::TillPortion),
    &[
        bind(Scope::TillFiles, &[c('u')], Action::Undo, "take back", "Take the file under the cursor back."),
        bind(Scope::TillFiles, &[ESC], Action::Back, "back", "Go back to the names."),
        bind(Scope::TillFiles, &[c('i')], Action::Back, "", "Go back to the names, as Esc does."),
    ],
    &[
        bind(Scope::TillLook, &[c('x')], Action::AcceptDelivery, "take it in", "Take the sales of the file in."),
        bind(
            Scope::TillLook,
            &[RIGHT, c('n')],
            Action::Next,
            "change",
            "Change what it is to the next that it can be.",
        ),
        bind(Scope::TillLook, &[LEFT, c('p')], Action::Previous, "", "Change what it is to the one before."),
        bind(Scope::TillLook, &[ENTER], Action::Open, "type", "Type it, or change it to the next."),
        bind(
            Scope::TillLook,
            &[c('a')],
            Action::SetAside,
            "not for us",
            "Set the file aside; it is not offered again.",
        ),
        bind(Scope::TillLook, &[ESC], Action::Back, "back", "Go back; nothing of the file is kept."),
    ],
    &[
        bind(Scope::TillExport, &[c('x')], Action::AcceptDelivery, "take it in", "Take the sales of the export in."),
        bind(
            Scope::TillExport,
            &[c('a')],
            Action::SetAside,
            "not for us",
            "Set the export aside; it is not offered again.",
        ),
        bind(Scope::TillExport, &[ESC], Action::Back, "back", "Go back; nothing of the export is kept."),
    ],
    &[
        typed(Scope::TillLookEntry, &[Key::AnyCharacter], Does::Type, "", "Type into the field."),
        bind(Scope::TillLookEntry, &[ENTER], Action::Accept, "done", "Read the file so."),
        bind(Scope::TillLookEntry, &[ESC], Action::Cancel, "leave as it was", "Throw away what was typed."),
    ],
    &editing!(Scope::TillLookEntry),
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
    &[
        bind(Scope::Suppliers, &[ENTER], Action::Open, "orders", "Go to the orders."),
        bind(Scope::Suppliers, &[c('v')], Action::Record, "record", "Show how it has delivered over half a year."),
    ],
    &[
        bind(Scope::SupplierRecord, &[ESC], Action::Back, "back", "Go back to the list."),
        bind(
            Scope::SupplierRecord,
            &[c('n'), RIGHT],
            Action::Next,
            "next supplier",
            "The record of the next supplier.",
        ),
        bind(Scope::SupplierRecord, &[c('p'), LEFT], Action::Previous, "", "The record of the supplier before."),
        bind(Scope::SupplierRecord, &[DOWN, c('j')], Action::Down, "scroll", "Go one line down."),
        bind(Scope::SupplierRecord, &[c('v')], Action::Record, "", "Go back to the list, as Esc does."),
    ],
    &[
        bind(Scope::Book, &[ENTER], Action::Open, "all of it", "Show the act with all that it changed."),
        bind(Scope::Book, &[c('u')], Action::Undo, "take back", "Take the act back; both stay in the history."),
        bind(Scope::Book, &[c('r')], Action::Redo, "do again", "Do an act again that was taken back."),
        bind(Scope::Book, &[c('p')], Action::People, "people", "Show who signs here, and their PINs."),
        bind(Scope::Book, &[c('m')], Action::Earlier, "earlier", "Show more of what was done before."),
    ],
    &[
        bind(Scope::BookAct, &[ESC], Action::Back, "back", "Go back to the list."),
        bind(Scope::BookAct, &[c('u')], Action::Undo, "take back", "Take the act back; both stay in the history."),
        bind(Scope::BookAct, &[c('r')], Action::Redo, "do again", "Do an act again that was taken back."),
        bind(Scope::BookAct, &[c('n'), RIGHT], Action::Next, "next", "The act before it in time."),
        bind(Scope::BookAct, &[c('p'), LEFT], Action::Previous, "", "The act after it in time."),
        bind(Scope::BookAct, &[DOWN, c('j')], Action::Down, "scroll", "Go one line down."),
    ],
    &[
        bind(Scope::People, &[c('a')], Action::AddPerson, "add", "Take somebody in who signs here."),
        bind(Scope::People, &[c('n')], Action::SetPin, "new PIN", "Set the PIN of the person under the cursor."),
        bind(Scope::People, &[c('x')], Action::ClearPin, "no PIN", "Take the PIN away."),
        bind(Scope::People, &[c('m')], Action::ChangeRole, "manager", "Make a manager of a counter, or the other way."),
        bind(Scope::People, &[ESC], Action::Back, "back", "Go back to what was done."),
    ],
    &[
        typed(Scope::PersonForm, &[Key::AnyCharacter], Does::Type, "", "Type into the field."),
        bind(Scope::PersonForm, &[ENTER], Action::Accept, "next", "The next field; from the last, keep it."),
        bind(Scope::PersonForm, &[TAB, DOWN], Action::NextField, "", "Go to the other field."),
        bind(Scope::PersonForm, &[BACK_TAB, UP], Action::PreviousField, "", "Go to the other field."),
        bind(Scope::PersonForm, &[ESC], Action::Cancel, "drop it", "Throw the form away."),
    ],
    &editing!(Scope::PersonForm),
    &[
        typed(Scope::SignIn, &[Key::AnyCharacter], Does::Type, "", "Initials, or the beginning of a name."),
        bind(Scope::SignIn, &[ENTER], Action::Accept, "go on", "Sign in as the person under the cursor."),
        bind(Scope::SignIn, &[UP], Action::Up, "", "Go one line up."),
        bind(Scope::SignIn, &[DOWN], Action::Down, "next", "Go one line down."),
        bind(Scope::SignIn, &[ESC], Action::Cancel, "nobody", "Nobody signs, or who signed before still does."),
    ],
    &editing!(Scope::SignIn),
    &[
        typed(Scope::Pin, &[Key::AnyCharacter], Does::Type, "", "The digits of the PIN; they are not shown."),
        bind(Scope::Pin, &[ENTER], Action::Accept, "go on", "That is the PIN."),
        bind(Scope::Pin, &[ESC], Action::Cancel, "leave it", "Leave it: nobody signs in, and no PIN changes."),
    ],
    &editing!(Scope::Pin),
    &[
        typed(Scope::Files, &[Key::AnyCharacter], Does::Type, "", "Letters of its name, or a whole path."),
        bind(Scope::Files, &[ENTER], Action::Accept, "take it", "Take the file, or look into the folder."),
        bind(Scope::Files, BACKSPACE, Action::EraseBack, "folder up", "Erase; with nothing typed, one folder up."),
        bind(Scope::Files, &[UP], Action::Up, "", "Go one line up."),
        bind(Scope::Files, &[DOWN], Action::Down, "next", "Go one line down."),
        bind(Scope::Files, &[PAGE_UP], Action::PageUp, "", "Go one window up."),
        bind(Scope::Files, &[PAGE_DOWN], Action::PageDown, "", "Go one window down."),
        bind(Scope::Files, &[ESC], Action::Cancel, "close", "Choose no file."),
        bind(Scope::Files, &[DELETE], Action::EraseForward, "", "Erase the character under the cursor."),
        bind(Scope::Files, &[Key::Ctrl('u')], Action::ClearField, "", "Erase all that was typed."),
        bind(Scope::Files, &[LEFT], Action::CursorLeft, "", "Move the cursor left."),
        bind(Scope::Files, &[RIGHT], Action::CursorRight, "", "Move the cursor right."),
        bind(Scope::Files, &[HOME, Key::Ctrl('a')], Action::CursorHome, "", "Move the cursor to the beginning."),
        bind(Scope::Files, &[END, Key::Ctrl('e')], Action::CursorEnd, "", "Move the cursor to the end."),
    ],
    &[bind(Scope::Work, &[ESC], Action::Cancel, "stop", "Stop it; the book stays as it is.")],
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
    &[bind(Scope::FindOrNew, &[Key::Ctrl('n')], Action::New, "a new one", "Take in what is typed as a new item.")],
    &[
        typed(Scope::ItemForm, &[Key::AnyCharacter], Does::Type, "", "Type into the field, or choose by a letter."),
        bind(Scope::ItemForm, &[ENTER], Action::Accept, "next", "The next field; from the last, keep the item."),
        bind(Scope::ItemForm, &[Key::Ctrl('s')], Action::Save, "keep it", "Keep the item as it stands."),
        bind(Scope::ItemForm, &[TAB, DOWN], Action::NextField, "", "Go to the next field."),
        bind(Scope::ItemForm, &[BACK_TAB, UP], Action::PreviousField, "", "Go to the field before."),
        bind(Scope::ItemForm, &[ESC], Action::Cancel, "drop it", "Throw the form away."),
    ],
    &editing!(Scope::ItemForm, "Left, or the choice before.", "Right, or the next choice."),
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
