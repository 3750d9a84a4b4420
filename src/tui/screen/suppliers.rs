//! The Suppliers screen: whom to order from, and until when.

use super::{Effect, Scene, fitting, take_away, when};
use crate::domain::measure::Money;
use crate::domain::order::Record;
use crate::domain::rows::{CardOf, RECORD_LIMITS, dearer_words, late_words, record_sums};
use crate::domain::venue::{
    Comes, DayEffect, ItemId, Moment, OrderCalendar, Setup, Slot, Supplier, SupplierId, Weekdays,
};
use crate::tui::keymap::{Action, Scope, Tab};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use crate::tui::widget::window::Window;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};
use std::collections::HashSet;
use std::sync::Arc;

const COLUMNS: &[Column] = &[
    Column::words(text!("supplier"), Width::Flex(14), 0),
    Column::words(text!("order by"), Width::Fixed(16), 0),
    Column::words(text!("comes"), Width::Fixed(10), 1),
    Column::figures(text!("minimum"), 7, 2),
    Column::figures(text!("fee"), 6, 5),
    Column::figures(text!("free from"), 9, 5),
    Column::figures(text!("items"), 5, 4),
    Column::figures(text!("late"), 7, 3),
    Column::figures(text!("prices"), 7, 6),
    Column::words(text!("week"), Width::Flex(22), 7),
];

/// Lines under the list: what is known of the supplier under the cursor, and two of them of what came late and dearer.
const TALL: u16 = 9;

/// So many days ahead, a supplier's closed days are told: what is ordered now must last over them.
const CLOSED_SOON: u64 = 28;

/// The suppliers of the book.
#[derive(Debug)]
pub struct SuppliersScreen {
    setup: Arc<Setup>,
    /// How each has delivered.
    records: Vec<(SupplierId, Record)>,
    window: Window,
    /// How far the record is scrolled that is read.
    reads: Option<Scroll>,
}

impl SuppliersScreen {
    /// The suppliers by name, and how each has delivered.
    pub fn new(setup: Arc<Setup>, records: Vec<(SupplierId, Record)>) -> SuppliersScreen {
        SuppliersScreen { setup, records, window: Window::default(), reads: None }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        if self.reads.is_some() { Scope::SupplierRecord } else { Scope::Suppliers }
    }

    /// The supplier under the cursor.
    pub fn selected(&self) -> Option<SupplierId> {
        self.current().map(|supplier| supplier.id)
    }

    /// Goes to a supplier.
    pub fn find(&mut self, supplier: SupplierId) {
        self.reads = None;
        let suppliers = &self.setup.suppliers;
        if let Some(at) = suppliers.iter().position(|other| other.id == supplier) {
            self.window.select(at, suppliers.len());
        }
    }

    fn current(&self) -> Option<&Supplier> {
        self.setup.suppliers.get(self.window.selected())
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        if let Some(scroll) = &mut self.reads {
            match action {
                Action::Back | Action::Record => self.reads = None,
                Action::Next | Action::Previous => {
                    let step = if action == Action::Next { 1 } else { -1 };
                    self.window.step(step, self.setup.suppliers.len());
                    self.reads = Some(Scroll::default());
                }
                _ => {
                    scroll.apply(action);
                }
            }
            return Effect::None;
        }
        match action {
            Action::Record => {
                self.reads = self.current().map(|_| Scroll::default());
                Effect::None
            }
            Action::Open if self.current().is_some() => Effect::Go(Tab::Orders),
            Action::New => Effect::OpenCard(CardOf::Supplier, None),
            Action::Change | Action::TakeAway => match self.current() {
                Some(supplier) if action == Action::Change => Effect::OpenCard(CardOf::Supplier, Some(supplier.id.0)),
                Some(supplier) => take_away(CardOf::Supplier, supplier.id.0, &supplier.name),
                None => Effect::Say(Notice::info(word!("there is no supplier yet: a takes one in"))),
            },
            _ => {
                self.window.apply(action, self.setup.suppliers.len());
                Effect::None
            }
        }
    }

    /// Takes a fresh set-up and fresh records, and keeps the cursor on the same supplier.
    pub fn refresh(&mut self, setup: Arc<Setup>, records: Vec<(SupplierId, Record)>) {
        let here = self.selected();
        self.setup = setup;
        self.records = records;
        let suppliers = &self.setup.suppliers;
        let at = here.and_then(|id| suppliers.iter().position(|supplier| supplier.id == id));
        self.window.select(at.unwrap_or(self.window.selected()), suppliers.len());
    }

    /// Draws the suppliers, and everything known of the one under the cursor.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        if self.setup.suppliers.is_empty() {
            let said =
                word!("No supplier is in the book yet: a takes one in, and so does the price of an item (S, then e).");
            frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), area);
            return;
        }
        if let Some(mut scroll) = self.reads {
            self.draw_record(frame, area, &mut scroll, scene.theme);
            self.reads = Some(scroll);
            return;
        }
        let tall = TALL.min(area.height / 2);
        let [body, foot] = Layout::vertical([Constraint::Fill(1), Constraint::Length(tall)]).areas(area);
        let mut window = std::mem::take(&mut self.window);
        let row = |at: usize| self.row(&self.setup.suppliers[at], scene.now);
        columns::draw(frame, body, COLUMNS, self.setup.suppliers.len(), &mut window, row, scene.theme);
        self.window = window;
        frame.render_widget(Paragraph::new(self.foot(usize::from(foot.width), scene)), foot);
    }

    fn money(&self, money: Option<Money>) -> String {
        money.map_or(String::new(), |money| self.setup.venue.show().money(money))
    }

    /// Items that the supplier offers on the business day.
    fn offered(&self, supplier: SupplierId, now: Moment) -> usize {
        let day = self.setup.venue.days.day_of(now);
        let valid = self.setup.offers.iter().filter(|o| o.supplier == supplier && o.holds(day));
        valid.map(|offer| offer.item).collect::<HashSet<ItemId>>().len()
    }

    fn row(&self, supplier: &Supplier, now: Moment) -> Row {
        let days = &self.setup.venue.days;
        let next = self.setup.next_van(supplier.id, now);
        let left = next.map_or(word!("any time").to_owned(), |deadline| when::time_left(now, deadline.by, days));
        let comes = next.map_or(String::new(), |deadline| when::day(now, deadline.comes, days));
        let record = self.record(supplier.id);
        Row::Cells(vec![
            Line::from(text::safe(&supplier.name)),
            Line::from(left),
            Line::from(comes),
            Line::from(self.money(supplier.minimum)),
            Line::from(self.money(supplier.fee)),
            Line::from(self.money(supplier.free_from)),
            Line::from(self.offered(supplier.id, now).to_string()),
            Line::from(
                record
                    .filter(|r| r.orders > 0)
                    .map_or(String::new(), |r| say!("{late} of {orders}", late = r.late.len(), orders = r.orders)),
            ),
            Line::from(
                record.and_then(|r| r.drift).map_or(String::new(), |drift| format!("{} %", words::signed(drift, 1))),
            ),
            Line::from(week(&supplier.calendar)),
        ])
    }

    fn foot(&self, wide: usize, scene: Scene) -> Vec<Line<'static>> {
        let Some(supplier) = self.current() else { return Vec::new() };
        let days = &self.setup.venue.days;
        let deadline = match self.setup.next_van(supplier.id, scene.now) {
            Some(next) => {
                let by = when::deadline(scene.now, next.by, days);
                let comes = when::day(scene.now, next.comes, days);
                vec![say!("Next: order by {by}", by), say!("comes {comes}", comes), self.closed(supplier.id, scene.now)]
            }
            None => vec![word!("Order whenever you like").to_owned(), self.closed(supplier.id, scene.now)],
        };
        let items = match self.offered(supplier.id, scene.now) {
            0 => word!("offers nothing yet").to_owned(),
            1 => word!("offers 1 item").to_owned(),
            items => say!("offers {items} items", items),
        };
        let name = [Span::styled(text::safe(&supplier.name), scene.theme.title), Span::raw(items)];
        let line = |parts: Vec<String>| fitting::line(parts.into_iter().map(Span::raw), wide);
        let mut out = vec![fitting::line(name, wide), line(deadline)];
        out.extend(fitting::lines(slots(&supplier.calendar).into_iter().map(Span::raw), wide, 2));
        out.push(line(self.terms(supplier)));
        out.push(contact(supplier, wide, scene.theme));
        let Some(record) = self.record(supplier.id) else { return out };
        out.push(line([vec![word!("Half a year:").to_owned()], record_sums(record)].concat()));
        for (what, all) in [(word!("Late:"), late_words(record)), (word!("Dearer:"), dearer_words(&self.setup, record))]
        {
            out.extend(some_of(what, all, wide));
        }
        out
    }

    fn record(&self, supplier: SupplierId) -> Option<&Record> {
        self.records.iter().find(|(id, _)| *id == supplier).map(|(_, record)| record)
    }

    /// Everything that the record of the supplier under the cursor says.
    fn draw_record(&self, frame: &mut Frame, area: Rect, scroll: &mut Scroll, theme: &Theme) {
        let Some((supplier, record)) = self.current().and_then(|s| Some((s, self.record(s.id)?))) else { return };
        let [head, body] = Layout::vertical([Constraint::Length(1), Constraint::Fill(1)]).areas(area);
        let title = say!("How {supplier} has delivered", supplier = text::safe(&supplier.name));
        frame.render_widget(Span::styled(text::fit(&title, head.width.into()), theme.title), head);
        let wide = usize::from(body.width);
        let plain = |said: Vec<String>| said.into_iter().map(Line::from).collect::<Vec<_>>();
        let mut lines = plain(text::flow(record_sums(record), wide));
        let mut part = |title: &'static str, all: Vec<String>| {
            if !all.is_empty() {
                lines.push(Line::from(Span::styled(title, theme.title)));
                lines.extend(all.iter().map(|one| Line::from(text::fit(&format!("  {}", text::safe(one)), wide))));
            }
        };
        part(word!("Orders that were late"), late_words(record));
        part(word!("Items that became dearer"), dearer_words(&self.setup, record));
        lines.push(Line::from(""));
        lines.extend(plain(text::wrap(words::find(RECORD_LIMITS), wide)));
        scroll.draw(frame, body, lines, theme);
    }

    /// When the supplier is closed next, if that is soon; else nothing.
    fn closed(&self, supplier: SupplierId, now: Moment) -> String {
        let days = &self.setup.venue.days;
        let Some(today) = days.date_of(now) else { return String::new() };
        let coming = self.setup.special.upcoming(today, CLOSED_SOON);
        let closed = coming.iter().find(|coming| coming.special.effect == DayEffect::SupplierClosed(supplier));
        closed.map_or(String::new(), |closed| {
            let day = |date| when::day(now, date, days);
            match closed.first == closed.last {
                true => say!("closed {closed}", closed = day(closed.first)),
                false => say!("closed {closed} to {last}", closed = day(closed.first), last = day(closed.last)),
            }
        })
    }

    fn terms(&self, supplier: &Supplier) -> Vec<String> {
        let coin = self.setup.venue.currency;
        let minimum = match supplier.minimum {
            Some(minimum) => say!("Minimum {minimum} {coin}", minimum = self.money(Some(minimum)), coin),
            None => word!("No minimum").to_owned(),
        };
        let fee = match (supplier.fee, supplier.free_from) {
            (Some(fee), Some(from)) => {
                say!("delivery {fee}, free from {from}", fee = self.money(Some(fee)), from = self.money(Some(from)))
            }
            (Some(fee), None) => say!("delivery {fee}", fee = self.money(Some(fee))),
            (None, _) => word!("delivery free").to_owned(),
        };
        vec![minimum, fee]
    }
}

/// As many as fit into one line, and how many more there are.
fn some_of(what: &'static str, all: Vec<String>, wide: usize) -> Option<Line<'static>> {
    let all: Vec<String> = all.iter().map(|one| text::safe(one)).collect();
    let said = |shown: usize| {
        let more = all.len() - shown;
        let mut parts = vec![what.to_owned(), all[..shown].join(", ")];
        parts.extend((more > 0).then(|| say!("and {more} more (v)", more)));
        parts.join(" ")
    };
    let fits = (1..=all.len()).rev().map(said).find(|line| text::width(line) <= wide);
    (!all.is_empty()).then(|| Line::from(fits.unwrap_or_else(|| text::fit(&said(1), wide))))
}

fn contact(supplier: &Supplier, wide: usize, theme: &Theme) -> Line<'static> {
    let email = supplier.email.as_deref().map_or(word!("no e-mail is on file").to_owned(), text::safe);
    let number = match &supplier.customer_no {
        Some(number) => say!("customer number {number}", number = text::safe(number)),
        None => String::new(),
    };
    fitting::line([Span::styled(email, theme.text), Span::raw(number)], wide)
}

/// The week in words, deadline by deadline.
fn slots(calendar: &OrderCalendar) -> Vec<String> {
    if calendar.slots.is_empty() {
        return vec![word!("No fixed days").to_owned()];
    }
    calendar.slots.iter().map(in_words).collect()
}

fn in_words(slot: &Slot) -> String {
    let before = slot.before.format("%H:%M");
    let order = match slot.order {
        Weekdays::One(weekday) => format!("{} {before}", words::weekday(weekday)),
        Weekdays::Range(first, last) => {
            say!("{before} from {first} to {last}", before, first = words::weekday(first), last = words::weekday(last))
        }
        Weekdays::Any => say!("{before} on any day", before),
    };
    let comes = match slot.comes {
        Comes::On(weekday) => words::weekday(weekday),
        Comes::After(1) => word!("the day after").to_owned(),
        days @ Comes::After(_) => say!("{days} later", days = days.shown()),
    };
    say!("Order before {order}, comes {comes}.", order, comes)
}

/// The week for a cell.
fn week(calendar: &OrderCalendar) -> String {
    let say = |slot: &Slot| match slot.comes {
        Comes::On(weekday) => {
            say!(
                "{order} {before} for {weekday}",
                order = slot.order.shown(),
                before = slot.before.format("%H:%M"),
                weekday = words::weekday(weekday)
            )
        }
        days => say!(
            "{order} {before}, {days} later",
            order = slot.order.shown(),
            before = slot.before.format("%H:%M"),
            days = days.shown()
        ),
    };
    calendar.slots.iter().map(say).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests;
