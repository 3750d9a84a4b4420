//! How containers are gauged: which can be weighed or measured, one item's weights and shape, and each counter's eye.

mod draw;
mod form;
mod page;
#[cfg(test)]
mod tests;

use super::Effect;
use crate::domain::gauge::{Mass, WeighedAs, Weighing};
use crate::domain::rows::{GaugingRow, GaugingView};
use crate::domain::venue::{ItemId, ItemShape, Moment, Seq, Shape};
use crate::tui::keymap::{Action, Scope};
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use crate::tui::widget::window::Window;
pub(crate) use draw::{eye_words, share_words};
use form::{Done, ShapeForm};

/// Longest weight with a mark that can be typed.
const ENTRY_LENGTH: usize = 40;

/// One line of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
enum GaugeLine {
    /// A group, and how many lines it has.
    Heading(&'static str, usize),
    /// An item, by its row.
    Item(usize),
}

/// What is being typed for an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Typing {
    Sealed,
    Empty,
    /// A reading, only to see what it is.
    Try,
}

/// One item's page.
#[derive(Debug)]
struct Page {
    item: ItemId,
    entry: Option<(Typing, Field)>,
    /// Whether what is typed was handed to the book, which may refuse it yet.
    handed: bool,
    /// A weight that was hard to believe and said so: entered once more, it is believed.
    doubted: Option<String>,
    /// Which of its weighings the cursor is on, the newest first.
    picked: usize,
    scroll: Scroll,
}

impl Page {
    fn of(item: ItemId) -> Page {
        Page { item, entry: None, handed: false, doubted: None, picked: 0, scroll: Scroll::default() }
    }
}

/// The list, over it one item, and over that the form of a shape.
pub struct GaugingScreen {
    view: GaugingView,
    /// Who signs weighings.
    by: Option<String>,
    lines: Vec<GaugeLine>,
    window: Window,
    page: Option<Page>,
    form: Option<ShapeForm>,
    /// The form that was handed to the book, to come back if the book refuses it.
    handed: Option<ShapeForm>,
}

impl GaugingScreen {
    /// The view, with the cursor on the first line.
    pub fn new(view: GaugingView, by: Option<String>) -> GaugingScreen {
        let (lines, window) = (arranged(&view), Window::default());
        let mut screen = GaugingScreen { view, by, lines, window, page: None, form: None, handed: None };
        screen.settle();
        screen
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match (&self.form, &self.page) {
            (Some(_), _) => Scope::ShapeForm,
            (None, Some(Page { entry: Some(_), .. })) => Scope::GaugingEntry,
            (None, Some(_)) => Scope::GaugingItem,
            (None, None) => Scope::Gauging,
        }
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action, now: Moment) -> Effect {
        if let Some(form) = &mut self.form {
            return match form.apply(action) {
                Done::NotYet => Effect::None,
                Done::Dropped => {
                    self.form = None;
                    Effect::None
                }
                Done::Kept(profile) => {
                    let Some(item) = self.page.as_ref().map(|page| page.item) else { return Effect::None };
                    self.handed = self.form.take();
                    Effect::PutShape(Box::new(profile), item)
                }
            };
        }
        if self.page.is_some() {
            return self.on_page(action, now);
        }
        match action {
            Action::Open => {
                self.page = self.under_cursor().map(|row| Page::of(row.item));
                Effect::None
            }
            _ => {
                let lines = &self.lines;
                self.window.apply_past(action, lines.len(), |at| rests(lines, at));
                Effect::None
            }
        }
    }

    fn on_page(&mut self, action: Action, now: Moment) -> Effect {
        let Some(page) = &mut self.page else { return Effect::None };
        let handed = std::mem::take(&mut page.handed);
        if let Some((typing, field)) = &mut page.entry {
            if handed && *typing == Typing::Try && matches!(action, Action::Type(_)) {
                *field = Field::new(ENTRY_LENGTH);
            }
            return match action {
                Action::Cancel => {
                    page.entry = None;
                    page.doubted = None;
                    Effect::None
                }
                // Of a try there is nothing to keep: its answer stays until the next one is begun.
                Action::Accept if *typing == Typing::Try => {
                    page.handed = true;
                    Effect::None
                }
                Action::Accept => self.weigh(now),
                _ => {
                    field.apply(action);
                    Effect::None
                }
            };
        }
        let begin = |typing| Some((typing, Field::new(ENTRY_LENGTH)));
        match action {
            Action::Back | Action::Open => self.page = None,
            Action::WeighSealed => page.entry = begin(Typing::Sealed),
            Action::WeighEmpty => page.entry = begin(Typing::Empty),
            Action::TryReading => page.entry = begin(Typing::Try),
            Action::NextShape => return self.next_shape(),
            Action::NewShape => self.form = self.measured_anew(),
            Action::Undo => return self.take_back(),
            Action::Next => self.step(1),
            Action::Previous => self.step(-1),
            Action::Up => page.picked = page.picked.saturating_sub(1),
            Action::Down => {
                let weighings = self.view.weighings_of(page.item).count();
                page.picked = (page.picked + 1).min(weighings.saturating_sub(1));
            }
            _ => {
                page.scroll.apply(action);
            }
        }
        Effect::None
    }

    fn under_cursor(&self) -> Option<&GaugingRow> {
        match self.lines.get(self.window.selected())? {
            GaugeLine::Item(row) => self.view.rows.get(*row),
            GaugeLine::Heading(..) => None,
        }
    }

    fn measured_anew(&self) -> Option<ShapeForm> {
        let item = self.view.setup.item(self.page.as_ref()?.item)?;
        let own = match item.shape {
            Some(ItemShape::Own(id)) => self.view.setup.profile(id),
            _ => None,
        };
        Some(ShapeForm::new(item, own))
    }

    /// The item's page after or before this one.
    fn step(&mut self, by: isize) {
        let lines = &self.lines;
        let here = self.window.selected();
        let mut to = here;
        while let Some(next) = to.checked_add_signed(by).filter(|at| *at < lines.len()) {
            to = next;
            if let GaugeLine::Item(row) = lines[to] {
                self.window.select(to, lines.len());
                self.page = self.view.rows.get(row).map(|row| Page::of(row.item));
                return;
            }
        }
    }

    /// What was typed as a weight and, behind it, a mark.
    fn weight_typed(typed: &str) -> Result<(Mass, Option<String>), String> {
        // A scale may put a sign before its figure.
        let typed = typed.trim().trim_start_matches('+').trim_start();
        let (number, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        // Scales that type set the unit apart.
        let bare = number.ends_with(|c: char| c.is_ascii_digit());
        let unit = ["g", "kg"].into_iter().filter(|_| bare).find(|unit| {
            let mut words = rest.splitn(2, char::is_whitespace);
            words.next().is_some_and(|word| word.eq_ignore_ascii_case(unit))
        });
        let (weight, mark) = match unit {
            Some(unit) => (format!("{number}{unit}"), rest[unit.len()..].trim()),
            None => (number.to_owned(), rest.trim()),
        };
        let weight = Mass::typed(&weight).map_err(|e| e.to_string())?;
        Ok((weight, (!mark.is_empty()).then(|| mark.to_owned())))
    }

    fn weigh(&mut self, now: Moment) -> Effect {
        let Some(page) = &mut self.page else { return Effect::None };
        let Some((typing, field)) = &page.entry else { return Effect::None };
        let state = if *typing == Typing::Sealed { WeighedAs::Sealed } else { WeighedAs::Empty };
        let typed = field.text().to_owned();
        let (weight, mark) = match Self::weight_typed(&typed) {
            Ok(read) => read,
            Err(wrong) => return Effect::Say(Notice::error(wrong)),
        };
        if let Some(vessel) = self.view.gauges.vessel(page.item) {
            match self.view.gauges.check_weighing(vessel, state, weight) {
                Err(refused) => return Effect::Say(Notice::error(refused.to_string())),
                Ok(Some(doubt)) if page.doubted.as_deref() != Some(typed.as_str()) => {
                    page.doubted = Some(typed);
                    return Effect::Say(Notice::doubt(&doubt));
                }
                Ok(_) => {}
            }
        }
        let item = page.item;
        page.handed = true;
        let by = self.by.clone();
        Effect::Weigh(Weighing { seq: Seq(0), at: now, item, state, weight, seen: None, mark, place: None, by })
    }

    /// None, then those of every book, then those of this one, and round again.
    fn next_shape(&mut self) -> Effect {
        let setup = &self.view.setup;
        let Some(item) = self.page.as_ref().and_then(|page| setup.item(page.item)) else { return Effect::None };
        let generic = Shape::ALL.iter().map(|shape| ItemShape::Generic(*shape));
        let all: Vec<ItemShape> = generic.chain(setup.profiles.iter().map(|p| ItemShape::Own(p.id))).collect();
        let round: Vec<Option<ItemShape>> = std::iter::once(None).chain(all.into_iter().map(Some)).collect();
        let here = round.iter().position(|shape| *shape == item.shape).unwrap_or(0);
        // Those behind it first; one that what was counted forbids is passed over.
        let others = (1..round.len()).map(|step| round[(here + step) % round.len()]).collect();
        Effect::SetShape(item.id, others)
    }

    fn take_back(&self) -> Effect {
        let picked = self.page.as_ref().and_then(|page| self.view.weighings_of(page.item).nth(page.picked));
        let Some(picked) = picked else { return Effect::Say(Notice::info(word!("nothing of it was weighed yet"))) };
        let at = self.view.setup.venue.days.short(picked.at);
        Effect::ask(
            say!(
                "Take back the weighing of {at}, {state}, {weight}? The book keeps both rows.",
                at,
                state = picked.state,
                weight = picked.weight
            ),
            word!("takes it back"),
            word!("leaves it"),
            Effect::TakeBackWeighing(picked.seq),
        )
    }

    /// Text pasted, or typed by a scale all at once.
    pub fn paste(&mut self, text: &str) {
        if let Some(form) = &mut self.form {
            form.paste(text);
        } else if let Some(page) = &mut self.page
            && let Some((typing, field)) = &mut page.entry
        {
            if std::mem::take(&mut page.handed) && *typing == Typing::Try {
                *field = Field::new(ENTRY_LENGTH);
            }
            field.paste(text);
        }
    }

    /// Goes to an item's page.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        let is = |line: &GaugeLine| matches!(line, GaugeLine::Item(row) if self.view.rows[*row].item == item);
        match self.lines.iter().position(is) {
            Some(at) => {
                self.window.select(at, self.lines.len());
                self.form = None;
                self.page = Some(Page::of(item));
                None
            }
            None => {
                let name = self.view.setup.item_name(item);
                Some(Notice::info(say!("{name} is only counted whole, so nothing of it is gauged", name)))
            }
        }
    }

    /// The book did not take the shape: its form is there again.
    pub fn refused(&mut self) {
        if let Some(form) = self.handed.take() {
            self.form = Some(form);
        }
    }

    /// Takes a fresh view; the cursor and the page stay on the same item, and what is being typed stays.
    pub fn refresh(&mut self, view: GaugingView) {
        let here = self.under_cursor().map(|row| row.item);
        self.handed = None;
        self.view = view;
        self.lines = arranged(&self.view);
        let is = |line: &GaugeLine| matches!(line, GaugeLine::Item(row) if Some(self.view.rows[*row].item) == here);
        if let Some(at) = self.lines.iter().position(is) {
            self.window.select(at, self.lines.len());
        }
        let known = |item| self.view.rows.iter().any(|row| row.item == item);
        self.page = self.page.take().filter(|page| known(page.item));
        if self.page.is_none() {
            self.form = None;
        }
        if let Some(page) = &mut self.page {
            // The book has taken what was handed to it.
            let tried = matches!(page.entry, Some((Typing::Try, _)));
            if !tried && std::mem::take(&mut page.handed) {
                page.entry = None;
                page.doubted = None;
            }
            page.picked = page.picked.min(self.view.weighings_of(page.item).count().saturating_sub(1));
        }
        self.settle();
    }

    fn settle(&mut self) {
        let lines = &self.lines;
        self.window.settle(true, lines.len(), |at| rests(lines, at));
    }
}

impl std::fmt::Debug for GaugingScreen {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("GaugingScreen").field("lines", &self.lines).field("page", &self.page).finish_non_exhaustive()
    }
}

fn rests(lines: &[GaugeLine], at: usize) -> bool {
    matches!(lines.get(at), Some(GaugeLine::Item(_)))
}

/// What cannot be weighed yet first: that is what one comes here for.
fn arranged(view: &GaugingView) -> Vec<GaugeLine> {
    let mut lines = Vec::new();
    let mut group = |title: &'static str, members: Vec<GaugeLine>| {
        if !members.is_empty() {
            lines.push(GaugeLine::Heading(title, members.len()));
            lines.extend(members);
        }
    };
    let items = |can: bool| {
        let is = |row: &usize| view.rows[*row].can_weigh == can;
        (0..view.rows.len()).filter(is).map(GaugeLine::Item).collect::<Vec<_>>()
    };
    group(word!("Not on the scale yet"), items(false));
    group(word!("Can be weighed"), items(true));
    lines
}
