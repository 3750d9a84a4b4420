//! What is on hand: every item with its level, and what is known of one of them.

mod draw;
mod facts;
mod worth;

use super::Effect;
use super::carry::CarryPage;
use crate::domain::measure::Amount;
use crate::domain::measure::Money;
use crate::domain::rows::{CardOf, CarryView, StockRow, WorthAt};
use crate::domain::venue::{ItemId, Kind, PlaceId, Setup};
use crate::tui::keymap::{Action, Scope};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use crate::tui::widget::window::Window;
use std::sync::Arc;
use worth::WorthPage;

/// What the lines are grouped by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Groups {
    /// Not at all: by name.
    #[default]
    Name,
    /// By where it stands; an item in two places has a line in each.
    Place,
    /// By kind.
    Kind,
}

impl Groups {
    fn next(self) -> Groups {
        match self {
            Groups::Name => Groups::Place,
            Groups::Place => Groups::Kind,
            Groups::Kind => Groups::Name,
        }
    }
}

/// One line of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
enum StockLine {
    /// A group, how many lines it has, and what they are worth.
    Heading { name: String, lines: usize, worth: Worth },
    /// An item, and where the line is about one place of it only.
    Item { row: usize, part: Option<Part> },
}

/// What stands of an item in one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Part {
    place: PlaceId,
    amount: Amount,
    value: Option<Money>,
}

/// A sum of values that says what is missing in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Worth {
    value: Money,
    /// Counted, but of no known cost.
    without_cost: usize,
    /// Never counted, so nobody knows how much there is.
    never_counted: usize,
}

impl Worth {
    fn add(&mut self, row: &StockRow, value: Option<Money>) {
        match (row.on_hand, value) {
            (None, _) => self.never_counted += 1,
            (Some(_), None) => self.without_cost += 1,
            (Some(_), Some(value)) => self.value += value,
        }
    }
}

/// The list of items, and over it the facts of one of them.
#[derive(Debug)]
pub struct StockScreen {
    setup: Arc<Setup>,
    rows: Vec<StockRow>,
    lines: Vec<StockLine>,
    groups: Groups,
    window: Window,
    /// The item whose facts are open, and how far they are scrolled.
    open: Option<(ItemId, Scroll)>,
    /// What to carry up, over the list.
    carry: Option<CarryPage>,
    /// What it was worth over time, over the list.
    worth: Option<WorthPage>,
}

impl StockScreen {
    /// The rows, by name as they come.
    pub fn new(setup: Arc<Setup>, rows: Vec<StockRow>) -> StockScreen {
        let mut screen = StockScreen {
            setup,
            rows,
            lines: Vec::new(),
            groups: Groups::default(),
            window: Window::default(),
            open: None,
            carry: None,
            worth: None,
        };
        screen.arrange();
        screen
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match (&self.carry, &self.worth, &self.open) {
            (Some(_), ..) => Scope::CarryUp,
            (None, Some(_), _) => Scope::StockWorth,
            (None, None, Some(_)) => Scope::StockFacts,
            (None, None, None) => Scope::Stock,
        }
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        if let Some(carry) = &mut self.carry {
            return carry.update(action).unwrap_or_else(|| {
                self.carry = None;
                Effect::None
            });
        }
        if let Some(worth) = &mut self.worth {
            match action {
                Action::Back => self.worth = None,
                Action::WriteReport => return Effect::WriteWorth,
                _ => {
                    let (window, len) = worth.window();
                    window.apply(action, len);
                }
            }
            return Effect::None;
        }
        if let Some((_, scroll)) = &mut self.open {
            match action {
                Action::Back | Action::Open => self.open = None,
                Action::Change => return Effect::OpenCard(CardOf::Item, self.open.map(|(item, _)| item.0)),
                _ => {
                    scroll.apply(action);
                }
            }
            return Effect::None;
        }
        match action {
            Action::Open => {
                self.open = self.here().map(|row| (row.item, Scroll::default()));
                Effect::None
            }
            Action::New => Effect::OpenCard(CardOf::Item, None),
            Action::Change => match self.here() {
                Some(row) => Effect::OpenCard(CardOf::Item, Some(row.item.0)),
                None => Effect::Say(Notice::info(word!("there is no item yet: a takes one in"))),
            },
            Action::TakeFile => {
                Effect::ChooseFile(word!("A list of items that a spreadsheet wrote as text (CSV)").to_owned())
            }
            Action::CarryUp => Effect::ShowCarry,
            Action::Worth => Effect::ShowWorth,
            Action::Grouping => {
                self.groups = self.groups.next();
                self.rearrange();
                Effect::Say(Notice::info(match self.groups {
                    Groups::Name => word!("By name"),
                    Groups::Place => word!("By place: an item that stands in several has a line in each"),
                    Groups::Kind => word!("By kind"),
                }))
            }
            _ => {
                let lines = &self.lines;
                self.window.apply_past(action, lines.len(), |at| rests(lines, at));
                Effect::None
            }
        }
    }

    /// Takes a fresh set-up and fresh rows; the cursor stays on the same item, and its facts stay open.
    pub fn refresh(&mut self, setup: Arc<Setup>, rows: Vec<StockRow>) {
        let here = self.identity();
        self.setup = setup;
        self.rows = rows;
        self.arrange();
        self.go_back_to(here);
        let known = |item| self.rows.iter().any(|row| row.item == item);
        self.open = self.open.filter(|(item, _)| known(*item));
    }

    /// Shows what to carry up, or the same looked at anew.
    pub fn show_carry(&mut self, view: CarryView) {
        match &mut self.carry {
            Some(page) => page.refresh(view),
            None => self.carry = Some(CarryPage::new(view)),
        }
    }

    /// Shows what it was worth over time, or the same looked at anew.
    pub fn show_worth(&mut self, over: Vec<WorthAt>) {
        match &mut self.worth {
            Some(page) => page.refresh(over),
            None => self.worth = Some(WorthPage::new(over)),
        }
    }

    /// Whether that is what is shown.
    pub fn shows_worth(&self) -> bool {
        self.worth.is_some()
    }

    /// Whether what to carry up is shown.
    pub fn is_carrying(&self) -> bool {
        self.carry.is_some()
    }

    /// Goes to an item, in the list.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        self.open = None;
        self.carry = None;
        self.worth = None;
        let at = self.lines.iter().position(|line| self.row_of(line).is_some_and(|row| row.item == item));
        match at {
            Some(at) => {
                self.window.select(at, self.lines.len());
                self.settle();
                None
            }
            None => Some(Notice::warning(say!("{item} is not in stock here", item = self.setup.item_name(item)))),
        }
    }

    fn here(&self) -> Option<&StockRow> {
        self.lines.get(self.window.selected()).and_then(|line| self.row_of(line))
    }

    /// The place that the line under the cursor is about, if it is about one.
    fn part(&self) -> Option<Part> {
        match self.lines.get(self.window.selected()) {
            Some(StockLine::Item { part, .. }) => *part,
            _ => None,
        }
    }

    fn row_of(&self, line: &StockLine) -> Option<&StockRow> {
        match line {
            StockLine::Item { row, .. } => self.rows.get(*row),
            StockLine::Heading { .. } => None,
        }
    }

    fn identity(&self) -> Option<(ItemId, Option<PlaceId>)> {
        let line = self.lines.get(self.window.selected())?;
        let StockLine::Item { row, part } = line else { return None };
        Some((self.rows.get(*row)?.item, part.map(|part| part.place)))
    }

    fn rearrange(&mut self) {
        let here = self.identity();
        self.arrange();
        self.go_back_to(here);
    }

    fn go_back_to(&mut self, here: Option<(ItemId, Option<PlaceId>)>) {
        if let Some((item, place)) = here {
            let of = |line: &StockLine| self.row_of(line).is_some_and(|row| row.item == item);
            let same = |line: &StockLine| match line {
                StockLine::Item { part, .. } => of(line) && part.map(|part| part.place) == place,
                StockLine::Heading { .. } => false,
            };
            let at = self.lines.iter().position(same).or_else(|| self.lines.iter().position(of));
            if let Some(at) = at {
                self.window.select(at, self.lines.len());
            }
        }
        self.settle();
    }

    fn settle(&mut self) {
        let lines = &self.lines;
        self.window.settle(true, lines.len(), |at| rests(lines, at));
    }

    /// Sorts the rows into lines.
    fn arrange(&mut self) {
        let all = || 0..self.rows.len();
        self.lines = match self.groups {
            Groups::Name => all().map(|row| StockLine::Item { row, part: None }).collect(),
            Groups::Kind => {
                let of = |kind: Kind| {
                    let is = |row: &usize| self.setup.item(self.rows[*row].item).is_some_and(|item| item.kind == kind);
                    let lines = all().filter(is).map(|row| StockLine::Item { row, part: None }).collect();
                    self.group(kind.said().to_owned(), lines)
                };
                Kind::ALL.iter().flat_map(|kind| of(*kind)).collect()
            }
            Groups::Place => {
                let of = |place: PlaceId, name: &str| {
                    let part = |row: usize| {
                        let part = parts(&self.rows[row]).into_iter().find(|part| part.place == place)?;
                        Some(StockLine::Item { row, part: Some(part) })
                    };
                    self.group(name.to_owned(), all().filter_map(part).collect())
                };
                let nowhere = all().filter(|row| self.rows[*row].places.is_empty());
                let nowhere = nowhere.map(|row| StockLine::Item { row, part: None }).collect();
                let mut lines: Vec<StockLine> =
                    self.setup.places.iter().flat_map(|place| of(place.id, &place.name)).collect();
                lines.extend(self.group(word!("Not counted anywhere yet").to_owned(), nowhere));
                lines
            }
        };
        self.settle();
    }

    /// A heading and its lines; nothing at all without lines.
    fn group(&self, name: String, lines: Vec<StockLine>) -> Vec<StockLine> {
        if lines.is_empty() {
            return lines;
        }
        let worth = self.worth(&lines);
        let mut out = vec![StockLine::Heading { name, lines: lines.len(), worth }];
        out.extend(lines);
        out
    }

    fn worth(&self, lines: &[StockLine]) -> Worth {
        let mut worth = Worth::default();
        for line in lines {
            let StockLine::Item { row, part } = line else { continue };
            let Some(row) = self.rows.get(*row) else { continue };
            worth.add(row, part.map_or(row.value, |part| part.value));
        }
        worth
    }

    /// What all of the stock is worth.
    fn total(&self) -> Worth {
        let mut worth = Worth::default();
        for row in &self.rows {
            worth.add(row, row.value);
        }
        worth
    }
}

fn rests(lines: &[StockLine], at: usize) -> bool {
    matches!(lines.get(at), Some(StockLine::Item { .. }))
}

/// An item's stock place by place. Its value is shared out by amount; the last place takes what rounding leaves, so that
/// the places together are worth what the item is worth.
fn parts(row: &StockRow) -> Vec<Part> {
    let total: Amount = row.places.iter().map(|(_, amount)| *amount).sum();
    let mut left = row.value;
    let last = row.places.len().saturating_sub(1);
    let part = |(n, (place, amount)): (usize, &(PlaceId, Amount))| {
        let share = row.value.map(|value| value.times(amount.0, total.0));
        let value = if n == last { left } else { share };
        left = left.zip(value).map(|(left, value)| left - value);
        Part { place: *place, amount: *amount, value }
    };
    row.places.iter().enumerate().map(part).collect()
}

#[cfg(test)]
mod tests;
