//! The page after the last supplier: what is short but in no draft, and what was ordered and has not come.

use crate::domain::ledger::Order;
use crate::domain::measure::Amount;
use crate::domain::order::{Waiting, Waits};
use crate::domain::par::Need;
use crate::domain::rows::{OrdersView, chance_words, waiting_words, waits_words};
use crate::domain::venue::{ItemId, Moment, OrderId, Setup};
use crate::tui::screen::when;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{Column, Row, Width};
use ratatui::text::{Line, Span};

/// A row of the page.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Aside {
    /// What the rows below have in common.
    Heading(&'static str),
    /// Short, and made here or offered by nobody.
    Short(Need),
    /// Short, and not ordered though somebody offers it.
    Waiting(Waiting),
    /// Has a par, but was never counted.
    Uncounted(ItemId),
    /// An order that was sent.
    Sent(OrderId),
}

impl Aside {
    /// What the row is about, if it is an item.
    pub(super) fn item(&self) -> Option<ItemId> {
        match self {
            Aside::Short(need) => Some(need.item),
            Aside::Waiting(waiting) => Some(waiting.need.item),
            Aside::Uncounted(item) => Some(*item),
            Aside::Heading(_) | Aside::Sent(_) => None,
        }
    }

    /// Whether both rows are about the same thing, whatever its figures are by now.
    pub(super) fn is_same(&self, other: &Aside) -> bool {
        match (self, other) {
            (Aside::Heading(a), Aside::Heading(b)) => a == b,
            (Aside::Sent(a), Aside::Sent(b)) => a == b,
            (a, b) => a.item().is_some() && a.item() == b.item(),
        }
    }
}

pub(super) const COLUMNS: &[Column] = &[
    Column::words(text!("what"), Width::Flex(20), 0),
    Column::figures(text!("on hand"), 7, 1),
    Column::figures(text!("coming"), 6, 3),
    Column::figures(text!("par"), 5, 2),
    Column::figures(text!("short"), 6, 0),
    Column::words("", Width::Fixed(16), 0),
];

/// The rows, those that want doing first; a heading only over what there is.
pub(super) fn rows(view: &OrdersView) -> Vec<Aside> {
    let mut out = Vec::new();
    let mut part = |title, rows: Vec<Aside>| {
        if !rows.is_empty() {
            out.push(Aside::Heading(title));
            out.extend(rows);
        }
    };
    let short = |needs: &[Need]| needs.iter().map(|need| Aside::Short(*need)).collect();
    let waiting = |why| view.waiting_for(why).into_iter().map(Aside::Waiting).collect();
    part(waits_words(Waits::Budget), waiting(Waits::Budget));
    part(word!("To make here: short, and house-made"), short(&view.to_make));
    for why in [Waits::Cheaper, Waits::NoRoom, Waits::TooSmall] {
        part(waits_words(why), waiting(why));
    }
    part(word!("Short, but no supplier offers it"), short(&view.without_offer));
    part(
        word!("Has a par, but was never counted"),
        view.never_counted.iter().map(|item| Aside::Uncounted(*item)).collect(),
    );
    part(word!("Sent and still to come"), view.sent.iter().map(|o| Aside::Sent(o.id)).collect());
    out
}

/// How many things the page names.
pub(super) fn number(rows: &[Aside]) -> usize {
    rows.iter().filter(|row| !matches!(row, Aside::Heading(_))).count()
}

/// One row, drawn.
pub(super) fn row(row: &Aside, setup: &Setup, view: &OrdersView, now: Moment, theme: &Theme) -> Row {
    let blank = || Line::from("");
    match row {
        Aside::Heading(title) => Row::Heading(Line::from(Span::styled(*title, theme.title))),
        Aside::Short(need) => Row::Cells(short_cells(need, setup)),
        Aside::Waiting(waiting) => {
            let mut cells = short_cells(&waiting.need, setup);
            let risk = waiting.risk.map(|risk| say!("dry: {risk}", risk = chance_words(risk)));
            cells.push(Line::from(risk.unwrap_or_default()));
            Row::Cells(cells)
        }
        Aside::Uncounted(item) => {
            let known = setup.item(*item);
            let par = known.and_then(|i| Some(setup.venue.show().containers(setup.par(i)?, i.size)));
            let name = Line::from(text::safe(setup.item_name(*item)));
            Row::Cells(vec![
                name,
                blank(),
                blank(),
                Line::from(par.unwrap_or_default()),
                blank(),
                Line::from(word!("count it first")),
            ])
        }
        Aside::Sent(id) => {
            let Some(order) = view.sent.iter().find(|order| order.id == *id) else { return Row::Cells(Vec::new()) };
            let who = setup.supplier(order.supplier).map_or("?", |s| &s.name);
            let days = &setup.venue.days;
            let comes = match order.expected {
                Some(date) if is_late(order, setup, now) => {
                    Span::styled(say!("LATE: {date}", date = when::day(now, date, days)), theme.warning)
                }
                Some(date) => Span::raw(say!("comes {date}", date = when::day(now, date, days))),
                None => Span::raw(word!("no date is set")),
            };
            let what = text::safe(&format!("{who}: {}, {}", order.name, super::count(order.lines.len())));
            Row::Cells(vec![Line::from(what), blank(), blank(), blank(), blank(), Line::from(comes)])
        }
    }
}

fn short_cells(need: &Need, setup: &Setup) -> Vec<Line<'static>> {
    let size = setup.item(need.item).map_or(Amount::ZERO, |item| item.size);
    let figure = |amount| Line::from(setup.venue.show().containers(amount, size));
    let blank = || Line::from("");
    vec![
        Line::from(text::safe(setup.item_name(need.item))),
        need.on_hand.map_or_else(blank, |level| figure(level.amount)),
        if need.on_order == Amount::ZERO { blank() } else { figure(need.on_order) },
        figure(need.par),
        need.short().map_or_else(blank, figure),
    ]
}

/// A row in words.
pub(super) fn tells(row: &Aside, setup: &Setup, view: &OrdersView, now: Moment) -> String {
    let said = match row {
        Aside::Heading(_) => return String::new(),
        Aside::Short(need) => match view.to_make.contains(need) {
            true => say!("{need} is made here: House-made (H) books a batch", need = setup.item_name(need.item)),
            false => say!("No supplier offers {need}: offers.csv brings offers in", need = setup.item_name(need.item)),
        },
        Aside::Waiting(waiting) => format!("{}. {}", setup.item_name(waiting.need.item), waiting_words(waiting)),
        Aside::Uncounted(item) => {
            say!("{item} was never counted, so nobody knows how much is short", item = setup.item_name(*item))
        }
        Aside::Sent(id) => {
            let Some(order) = view.sent.iter().find(|order| order.id == *id) else { return String::new() };
            let who = setup.supplier(order.supplier).map_or("?", |s| &s.name);
            let days = &setup.venue.days;
            let when = match order.expected {
                Some(date) if is_late(order, setup, now) => {
                    say!("should have come {date}", date = when::day(now, date, days))
                }
                Some(date) => say!("comes {date}", date = when::day(now, date, days)),
                None => word!("has no date").to_owned(),
            };
            say!(
                "“{order}” from {who}, {lines}, {when}; Enter goes to Receive",
                order = order.name,
                who,
                lines = super::count(order.lines.len()),
                when
            )
        }
    };
    text::sentence(&text::safe(&said))
}

/// Whether an order that was sent should have come before the date that it is.
pub(super) fn is_late(order: &Order, setup: &Setup, now: Moment) -> bool {
    setup.venue.days.date_of(now).is_some_and(|today| order.late_by(today).is_some())
}
