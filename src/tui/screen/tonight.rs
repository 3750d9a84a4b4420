//! What is due tonight, the most important first, and from each line the way to where it is dealt with.

mod copies;
mod draw;
mod dry;

use super::Effect;
use crate::domain::rows::{CopiesState, DeadlineRow, DryRow, ExpectedRow, LowRow, OfferedFile, PastDateRow, Tonight};
use crate::domain::usage::Unmapped;
use crate::domain::venue::{CountId, ItemId, OrderId, PlaceId, Setup, SupplierId};
use crate::tui::keymap::{Action, Scope, Tab};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use chrono::NaiveDate;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The parts of the list, in the order of how soon they hurt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Section {
    Dry,
    Count,
    Deadlines,
    Deliveries,
    Files,
    Copies,
    Claims,
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
    /// Likely to run dry before more of it comes.
    Dry(ItemId),
    /// The rest of those, so many, which are shown or not.
    MoreDry(usize),
    OpenCount(CountId),
    /// Tonight was counted, or was not.
    Counted(bool),
    Place(PlaceId),
    Deadline(SupplierId),
    Delivery(OrderId),
    /// A file that lies in the watched folder.
    File(PathBuf),
    /// The watched folder cannot be looked into.
    NoFolder,
    /// Something is wrong with the copies of the book.
    Copies,
    /// Something is to be claimed from a supplier.
    Claims(SupplierId),
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
    files: Vec<OfferedFile>,
    /// Why the watched folder cannot be looked into.
    no_folder: Option<String>,
    /// How it stands with the copies of the book, once that is known.
    copies: Option<CopiesState>,
    /// Whether all that may run dry is listed, and not only what will first.
    all_dry: bool,
    lines: Vec<Due>,
    window: Window,
    /// Where the second column is scrolled to, in a window wide enough for two.
    beside: Window,
}

impl TonightScreen {
    /// The rows, with the cursor on the first thing that is due.
    pub fn new(setup: Arc<Setup>, rows: Tonight) -> TonightScreen {
        let lines = lines(&rows, &[], false, None, (false, setup.venue.rights.sees_costs()));
        let mut screen = TonightScreen {
            setup,
            rows,
            files: Vec::new(),
            no_folder: None,
            copies: None,
            all_dry: false,
            lines,
            window: Window::default(),
            beside: Window::default(),
        };
        screen.settle();
        screen
    }

    /// Whether it says that what guests will ask is being worked out.
    pub fn is_working_out(&self) -> bool {
        self.rows.working_out
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        Scope::Tonight
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        match action {
            Action::Open => return self.open(),
            Action::CarryUp => return Effect::ShowCarry,
            _ => {}
        }
        let lines = &self.lines;
        self.window.apply_past(action, lines.len(), |at| lines.get(at).is_some_and(Due::rests));
        Effect::None
    }

    /// Takes a fresh set-up and fresh rows; the cursor stays on the same thing, or as near as can be once it is done.
    pub fn refresh(&mut self, setup: Arc<Setup>, rows: Tonight) {
        self.setup = setup;
        self.rows = rows;
        self.arrange();
    }

    /// Takes what was found in the watched folder, or why it cannot be looked into.
    pub fn offered(&mut self, files: Vec<OfferedFile>, no_folder: Option<String>) {
        self.files = files;
        self.no_folder = no_folder;
        self.arrange();
    }

    /// Takes how it stands with the copies of the book.
    pub fn copied(&mut self, state: CopiesState) {
        self.copies = Some(state);
        self.arrange();
    }

    fn arrange(&mut self) {
        let here = self.here().cloned();
        let copies = self.copies.as_ref();
        let shows = (self.all_dry, self.setup.venue.rights.sees_costs());
        self.lines = lines(&self.rows, &self.files, self.no_folder.is_some(), copies, shows);
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

    fn open(&mut self) -> Effect {
        match self.here() {
            Some(Due::MoreDry(_)) => {
                let at = self.window.selected();
                self.all_dry = !self.all_dry;
                self.arrange();
                // On to the first of those that were not shown, or back to where they begin.
                self.window.select(if self.all_dry { at } else { 0 }, self.lines.len());
                self.settle();
                Effect::None
            }
            Some(Due::Dry(item)) if self.dry(*item).is_some_and(|row| row.made_here) => Effect::Go(Tab::House),
            Some(Due::Dry(_)) => Effect::Go(Tab::Orders),
            Some(Due::OpenCount(count)) => Effect::OpenCount(*count),
            Some(Due::Counted(_) | Due::Place(_)) => Effect::Go(Tab::Count),
            Some(Due::Deadline(_)) => Effect::Go(Tab::Orders),
            Some(Due::Delivery(_) | Due::Claims(_)) => Effect::Go(Tab::Receive),
            // What is made here is not ordered.
            Some(Due::Low(item)) if self.low(*item).is_some_and(|row| row.made_here) => Effect::Go(Tab::House),
            Some(Due::PastDate(..)) => Effect::Go(Tab::House),
            Some(Due::Low(_)) => Effect::Go(Tab::Orders),
            Some(Due::Till(_)) => Effect::Go(Tab::Till),
            Some(Due::File(path)) => match self.file(path) {
                Some(file) if file.sales => Effect::LookAtSales { path: path.clone(), table: None },
                _ => Effect::ReadInvoice(path.clone()),
            },
            Some(Due::NoFolder) => Effect::Say(Notice::warning(self.no_folder.clone().unwrap_or_default())),
            Some(Due::Copies) => Effect::CopyBook,
            Some(Due::Heading(_) | Due::Nothing(_)) | None => Effect::None,
        }
    }

    fn deadline(&self, supplier: SupplierId) -> Option<&DeadlineRow> {
        self.rows.deadlines.iter().find(|row| row.supplier == supplier)
    }

    fn delivery(&self, order: OrderId) -> Option<&ExpectedRow> {
        self.rows.expected.iter().find(|row| row.order == order)
    }

    fn dry(&self, item: ItemId) -> Option<&DryRow> {
        self.rows.dry.iter().find(|row| row.item == item)
    }

    fn low(&self, item: ItemId) -> Option<&LowRow> {
        self.rows.low.iter().find(|row| row.item == item)
    }

    fn past_date(&self, item: ItemId, made: NaiveDate) -> Option<&PastDateRow> {
        self.rows.past_date.iter().find(|row| (row.item, row.made) == (item, made))
    }

    /// The item of the line under the cursor, which may be one made here.
    pub fn made_here(&self) -> Option<ItemId> {
        match self.here()? {
            Due::PastDate(item, _) | Due::Low(item) | Due::Dry(item) => Some(*item),
            _ => None,
        }
    }

    /// What the line under the cursor is about, where that is something to order: from whom, and what.
    pub fn to_order(&self) -> (Option<SupplierId>, Option<ItemId>) {
        match self.here() {
            Some(Due::Deadline(supplier)) => (Some(*supplier), None),
            Some(Due::Dry(item)) => {
                (self.dry(*item).and_then(|row| row.vans.first()).map(|van| van.supplier), Some(*item))
            }
            Some(Due::Low(item)) => (None, Some(*item)),
            _ => (None, None),
        }
    }

    /// Whether the cursor is on what is to be claimed.
    pub fn is_on_claims(&self) -> bool {
        matches!(self.here(), Some(Due::Claims(_)))
    }

    /// The name of the till under the cursor.
    pub fn till_name(&self) -> Option<&str> {
        match self.here()? {
            Due::Till(name) => Some(name),
            _ => None,
        }
    }

    fn file(&self, path: &Path) -> Option<&OfferedFile> {
        self.files.iter().find(|file| file.path == path)
    }

    fn till(&self, name: &str) -> Option<&Unmapped> {
        self.rows.unmapped.iter().find(|(known, _)| known == name).map(|(_, unmapped)| unmapped)
    }
}

/// The lines of the list. A section in which nothing is due says so where that is news (deadlines, deliveries, what runs
/// low); till names that are all known, and batches that all keep, need no mention. What is listed as likely to run dry is
/// not listed once more as low.
fn lines(
    rows: &Tonight,
    files: &[OfferedFile],
    no_folder: bool,
    copies: Option<&CopiesState>,
    (all_dry, managers): (bool, bool),
) -> Vec<Due> {
    let mut lines = dry::lines(&rows.dry, all_dry);
    lines.push(Due::Heading(Section::Count));
    match &rows.open_count {
        Some((count, _)) => lines.push(Due::OpenCount(count.id)),
        None => lines.push(Due::Counted(rows.counted)),
    }
    // Once the night is counted, or the count begun, its own screen says more than these could.
    if rows.open_count.is_none() && !rows.counted {
        lines.extend(rows.places.iter().map(|(place, _)| Due::Place(*place)));
    }
    let mut section = |section, due: Vec<Due>| {
        // What only a manager can deal with is not put before anybody else.
        if !managers && matches!(section, Section::Files | Section::Claims | Section::Till) {
            return;
        }
        if due.is_empty() && !matches!(section, Section::Deadlines | Section::Deliveries | Section::Low) {
            return;
        }
        lines.push(Due::Heading(section));
        if due.is_empty() {
            lines.push(Due::Nothing(section));
        }
        lines.extend(due);
    };
    // Where there is no copy at all, that comes before all that can wait; a stick that is not there is as usual for most
    // of the day.
    let [urgent, other] = copies::lines(copies);
    section(Section::Copies, urgent);
    section(Section::Deadlines, rows.deadlines.iter().map(|row| Due::Deadline(row.supplier)).collect());
    section(Section::Deliveries, rows.expected.iter().map(|row| Due::Delivery(row.order)).collect());
    let mut offered: Vec<Due> = files.iter().map(|file| Due::File(file.path.clone())).collect();
    offered.extend(no_folder.then_some(Due::NoFolder));
    section(Section::Files, offered);
    section(Section::Copies, other);
    section(Section::Claims, rows.claims.iter().map(|row| Due::Claims(row.supplier)).collect());
    section(Section::PastDate, rows.past_date.iter().map(|row| Due::PastDate(row.item, row.made)).collect());
    section(Section::Till, rows.unmapped.iter().map(|(name, _)| Due::Till(name.clone())).collect());
    section(Section::Low, dry::low_besides(rows).map(|row| Due::Low(row.item)).collect());
    lines
}

#[cfg(test)]
mod tests;
