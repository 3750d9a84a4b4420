//! What is due tonight, the most important first, and from each line the way to where it is dealt with.

mod draw;

use super::Effect;
use crate::domain::rows::{DeadlineRow, ExpectedRow, LowRow, PastDateRow, Tonight};
use crate::domain::usage::Unmapped;
use crate::domain::venue::{CountId, ItemId, OrderId, PlaceId, Setup, SupplierId};
use crate::tui::keymap::{Action, Scope, Tab};
use crate::tui::text;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use chrono::NaiveDate;
use std::sync::Arc;

/// The parts of the list, in the order of how soon they hurt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Section {
    Count,
    Deadlines,
    Deliveries,
    PastDate,
    Till,
    Low,
}

/// One line. It names its thing and not its row, so that the cursor finds it again in fresh rows.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Due {
    Heading(Section),
    /// Nothing is due in the section above; the cursor does not rest on it.
    Nothing(Section),
    OpenCount(CountId),
    /// Tonight was counted, or was not.
    Counted(bool),
    Place(PlaceId),
    Deadline(SupplierId),
    Delivery(OrderId),
    /// A batch past its date: the item, and the day it was made.
    PastDate(ItemId, NaiveDate),
    Low(ItemId),
    Till(String),
}

impl Due {
    fn rests(&self) -> bool {
        !matches!(self, Due::Heading(_) | Due::Nothing(_))
    }
}

/// The first screen.
#[derive(Debug)]
pub struct TonightScreen {
    setup: Arc<Setup>,
    rows: Tonight,
    lines: Vec<Due>,
    window: Window,
    /// Where the second column is scrolled to, in a window wide enough for two.
    beside: Window,
}

impl TonightScreen {
    /// The rows, with the cursor on the first thing that is due.
    pub fn new(setup: Arc<Setup>, rows: Tonight) -> TonightScreen {
        let lines = lines(&rows);
        let mut screen = TonightScreen { setup, rows, lines, window: Window::default(), beside: Window::default() };
        screen.settle();
        screen
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        Scope::Tonight
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        if action == Action::Open {
            return self.open();
        }
        let lines = &self.lines;
        self.window.apply_past(action, lines.len(), |at| lines.get(at).is_some_and(Due::rests));
        Effect::None
    }

    /// Takes a fresh set-up and fresh rows; the cursor stays on the same thing, or as near as can be once it is done.
    pub fn refresh(&mut self, setup: Arc<Setup>, rows: Tonight) {
        let here = self.here().cloned();
        self.setup = setup;
        self.lines = lines(&rows);
        self.rows = rows;
        if let Some(at) = here.and_then(|here| self.lines.iter().position(|line| *line == here)) {
            self.window.select(at, self.lines.len());
        }
        self.settle();
    }

    fn settle(&mut self) {
        let lines = &self.lines;
        self.window.settle(true, lines.len(), |at| lines.get(at).is_some_and(Due::rests));
    }

    fn here(&self) -> Option<&Due> {
        self.lines.get(self.window.selected()).filter(|line| line.rests())
    }

    fn open(&self) -> Effect {
        match self.here() {
            Some(Due::OpenCount(count)) => Effect::OpenCount(*count),
            Some(Due::Counted(_) | Due::Place(_)) => Effect::Go(Tab::Count),
            Some(Due::Deadline(_)) => Effect::Go(Tab::Orders),
            Some(Due::Delivery(_)) => Effect::Go(Tab::Receive),
            // What is made here is not ordered.
            Some(Due::Low(item)) if self.low(*item).is_some_and(|row| row.made_here) => Effect::Go(Tab::House),
            Some(Due::PastDate(..)) => Effect::Go(Tab::House),
            Some(Due::Low(_)) => Effect::Go(Tab::Orders),
            Some(Due::Till(name)) => {
                let name = text::safe(name);
                Effect::Say(Notice::info(format!("Say in pos.csv what “{name}” means, then `tantalus load` it")))
            }
            Some(Due::Heading(_) | Due::Nothing(_)) | None => Effect::None,
        }
    }

    fn deadline(&self, supplier: SupplierId) -> Option<&DeadlineRow> {
        self.rows.deadlines.iter().find(|row| row.supplier == supplier)
    }

    fn delivery(&self, order: OrderId) -> Option<&ExpectedRow> {
        self.rows.expected.iter().find(|row| row.order == order)
    }

    fn low(&self, item: ItemId) -> Option<&LowRow> {
        self.rows.low.iter().find(|row| row.item == item)
    }

    fn past_date(&self, item: ItemId, made: NaiveDate) -> Option<&PastDateRow> {
        self.rows.past_date.iter().find(|row| (row.item, row.made) == (item, made))
    }

    /// The item of the line under the cursor, where that is one made here.
    pub fn made_here(&self) -> Option<ItemId> {
        match self.here()? {
            Due::PastDate(item, _) | Due::Low(item) => Some(*item),
            _ => None,
        }
    }

    fn till(&self, name: &str) -> Option<&Unmapped> {
        self.rows.unmapped.iter().find(|(known, _)| known == name).map(|(_, unmapped)| unmapped)
    }
}

/// The lines of the list. A section in which nothing is due says so where that is news (deadlines, deliveries, what runs
/// low); till names that are all known, and batches that all keep, need no mention.
fn lines(rows: &Tonight) -> Vec<Due> {
    let mut lines = vec![Due::Heading(Section::Count)];
    match &rows.open_count {
        Some((count, _)) => lines.push(Due::OpenCount(count.id)),
        None => lines.push(Due::Counted(rows.counted)),
    }
    // Once the night is counted, or the count begun, its own screen says more than these could.
    if rows.open_count.is_none() && !rows.counted {
        lines.extend(rows.places.iter().map(|(place, _)| Due::Place(*place)));
    }
    let mut section = |section, due: Vec<Due>| {
        if due.is_empty() && matches!(section, Section::Till | Section::PastDate) {
            return;
        }
        lines.push(Due::Heading(section));
        if due.is_empty() {
            lines.push(Due::Nothing(section));
        }
        lines.extend(due);
    };
    section(Section::Deadlines, rows.deadlines.iter().map(|row| Due::Deadline(row.supplier)).collect());
    section(Section::Deliveries, rows.expected.iter().map(|row| Due::Delivery(row.order)).collect());
    section(Section::PastDate, rows.past_date.iter().map(|row| Due::PastDate(row.item, row.made)).collect());
    section(Section::Till, rows.unmapped.iter().map(|(name, _)| Due::Till(name.clone())).collect());
    section(Section::Low, rows.low.iter().map(|row| Due::Low(row.item)).collect());
    lines
}

#[cfg(test)]
mod tests;
