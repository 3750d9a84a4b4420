//! The variance screen: what was used, what was sold, where the two differ, and whether the count can tell.

mod chooser;
mod detail;
mod ledger;
mod list;

use super::Effect;
use crate::domain::rows::{Evidence, PeriodView};
use crate::domain::usage::{GapRow, GroupRow, Grouping, Untold, grouped};
use crate::domain::venue::{CountId, ItemId, Setup};
use crate::tui::keymap::{Action, Scope};
use crate::tui::screen::Scene;
use crate::tui::text;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use crate::tui::widget::window::Window;
use chooser::Chooser;
use ratatui::Frame;
use ratatui::layout::Rect;
use std::sync::Arc;

/// One line of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Listed {
    /// A row of the comparison, by number.
    Row(usize),
    /// A sum, by number.
    Group(usize),
    /// What comes after the rows.
    Heading(String),
    /// An item that the two counts tell nothing about, by number.
    Untold(usize),
    /// A house-made item that was taken from its ingredients.
    Exploded(ItemId),
}

/// What a line is about: found again in fresh rows.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Subject {
    Item(ItemId),
    Group(String),
}

/// A period, the list of its lines, and over it the evidence of one of them or the list of counts.
pub struct VarianceScreen {
    setup: Arc<Setup>,
    view: PeriodView,
    grouping: Grouping,
    /// The place or kind whose items alone are listed.
    only: Option<String>,
    /// Lines within the count's exactness are left out.
    hides: bool,
    groups: Vec<GroupRow>,
    lines: Vec<Listed>,
    window: Window,
    detail: Option<Detail>,
    chooser: Option<Chooser>,
}

/// The evidence that is open, and how far it is scrolled.
struct Detail {
    evidence: Evidence,
    scroll: Scroll,
}

impl VarianceScreen {
    /// A period, by items, with the cursor on the line where most money is at stake.
    pub fn new(setup: Arc<Setup>, view: PeriodView) -> VarianceScreen {
        let mut screen = VarianceScreen {
            setup,
            view,
            grouping: Grouping::Item,
            only: None,
            hides: false,
            groups: Vec::new(),
            lines: Vec::new(),
            window: Window::default(),
            detail: None,
            chooser: None,
        };
        screen.arrange();
        screen
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match (&self.chooser, &self.detail) {
            (Some(_), _) => Scope::Find,
            (None, Some(_)) => Scope::VarianceDetail,
            (None, None) => Scope::Variance,
        }
    }

    /// The period that is shown.
    pub fn view(&self) -> &PeriodView {
        &self.view
    }

    /// The item whose evidence is open.
    pub fn explained(&self) -> Option<ItemId> {
        self.detail.as_ref().map(|detail| detail.evidence.row.item)
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        if self.chooser.is_some() {
            return self.choose(action);
        }
        if self.detail.is_some() {
            return self.update_detail(action);
        }
        match action {
            Action::Open => self.open(),
            Action::Back => self.back(),
            Action::ToggleWithin => self.toggle(),
            Action::Grouping => self.regroup(),
            Action::ChooseOpening => self.begin_choosing(Chooser::opening(&self.view, &self.setup)),
            Action::ChooseClosing => self.begin_choosing(Chooser::closing(&self.view, &self.setup)),
            Action::Earlier => chooser::earlier(&self.view),
            Action::Later => chooser::later(&self.view),
            Action::LastPeriod => Effect::Both(
                Box::new(Effect::Compare { opening: None, closing: None }),
                Box::new(Effect::Say(Notice::info("the last two counts of the whole bar"))),
            ),
            _ => {
                let lines = &self.lines;
                self.window.apply_past(action, lines.len(), |at| rests(lines, at));
                Effect::None
            }
        }
    }

    fn update_detail(&mut self, action: Action) -> Effect {
        match action {
            Action::Back => {
                self.detail = None;
                Effect::None
            }
            Action::Next => self.explain_beside(1),
            Action::Previous => self.explain_beside(-1),
            _ => {
                if let Some(detail) = &mut self.detail {
                    detail.scroll.apply(action);
                }
                Effect::None
            }
        }
    }

    fn open(&mut self) -> Effect {
        let Some(line) = self.lines.get(self.window.selected()).cloned() else { return Effect::None };
        match line {
            Listed::Row(row) => self.explain_item(self.view.variance.rows[row].item),
            Listed::Group(group) => {
                self.only = self.groups.get(group).map(|group| group.name.clone());
                self.window = Window::default();
                self.arrange();
                Effect::None
            }
            Listed::Untold(_) | Listed::Exploded(_) => Effect::Say(Notice::info(self.why(&line))),
            Listed::Heading(_) => Effect::None,
        }
    }

    fn explain_item(&self, item: ItemId) -> Effect {
        Effect::Explain { opening: self.view.opening.id, closing: self.view.closing.id, item }
    }

    /// Asks for the evidence of the row after or before the open one, among those that are listed.
    fn explain_beside(&self, step: isize) -> Effect {
        let rows: Vec<ItemId> = self
            .lines
            .iter()
            .filter_map(|line| match line {
                Listed::Row(row) => Some(self.view.variance.rows[*row].item),
                _ => None,
            })
            .collect();
        let here = self.explained().and_then(|item| rows.iter().position(|row| *row == item));
        match here.and_then(|here| here.checked_add_signed(step)).and_then(|to| rows.get(to)) {
            Some(item) => self.explain_item(*item),
            None if step > 0 => Effect::Say(Notice::info("this is the last line")),
            None => Effect::Say(Notice::info("this is the first line")),
        }
    }

    /// Shows the evidence of a line, and puts the cursor on that line.
    pub fn explain(&mut self, evidence: Evidence) {
        self.go_to(&Subject::Item(evidence.row.item));
        self.chooser = None;
        self.detail = Some(Detail { evidence, scroll: Scroll::default() });
    }

    /// Out of the items of one place or kind, to the list of places or kinds.
    fn back(&mut self) -> Effect {
        if let Some(name) = self.only.take() {
            self.arrange();
            self.go_to(&Subject::Group(name));
        }
        Effect::None
    }

    fn toggle(&mut self) -> Effect {
        if self.grouping != Grouping::Item && self.only.is_none() {
            return Effect::Say(Notice::info("z hides lines of items: v lists by item, Enter opens a group"));
        }
        let here = self.subject();
        self.hides = !self.hides;
        self.arrange();
        if let Some(here) = here {
            self.go_to(&here);
        }
        let hidden = self.view.variance.rows.iter().filter(|row| self.is_hidden(row) && self.is_of_group(row)).count();
        Effect::Say(Notice::info(match (self.hides, hidden) {
            (false, _) => "all lines are shown".to_owned(),
            (true, 0) => "no line is within the count's exactness: nothing is hidden".to_owned(),
            (true, 1) => "1 line within the count's exactness is hidden; z shows it".to_owned(),
            (true, n) => format!("{n} lines within the count's exactness are hidden; z shows them"),
        }))
    }

    fn is_hidden(&self, row: &GapRow) -> bool {
        self.hides && !row.beyond_exactness()
    }

    fn regroup(&mut self) -> Effect {
        self.grouping = match self.grouping {
            Grouping::Item => Grouping::Place,
            Grouping::Place => Grouping::Kind,
            Grouping::Kind => Grouping::Item,
        };
        self.only = None;
        self.window = Window::default();
        self.arrange();
        Effect::Say(Notice::info(match self.grouping {
            Grouping::Item => "By item, most money at stake first",
            Grouping::Place => "By the place an item is poured from; Enter lists its items",
            Grouping::Kind => "By kind; Enter lists its items",
        }))
    }

    fn begin_choosing(&mut self, chooser: Result<Chooser, Notice>) -> Effect {
        match chooser {
            Ok(chooser) => {
                self.chooser = Some(chooser);
                Effect::None
            }
            Err(why) => Effect::Say(why),
        }
    }

    fn choose(&mut self, action: Action) -> Effect {
        let Some(chooser) = &mut self.chooser else { return Effect::None };
        match action {
            Action::Accept => {
                let effect = chooser.chosen(&self.view);
                if effect != Effect::None {
                    self.chooser = None;
                }
                effect
            }
            Action::Cancel => {
                self.chooser = None;
                Effect::None
            }
            _ => {
                chooser.finder.apply(action);
                Effect::None
            }
        }
    }

    /// Pasted text goes into the search for a count, if that is open.
    pub fn paste(&mut self, pasted: &str) {
        if let Some(chooser) = &mut self.chooser {
            chooser.finder.paste(pasted);
        }
    }

    /// Takes a fresh set-up and a fresh period, or another one; the cursor stays on the same item or group, but in
    /// another period it stays on the first line if it was there. Evidence stays open only while its figures are those of
    /// the period: what no longer holds is not left standing.
    pub fn refresh(&mut self, setup: Arc<Setup>, view: PeriodView) {
        let ends = |view: &PeriodView| (view.opening.id, view.closing.id);
        let same_period = ends(&view) == ends(&self.view);
        let here = self.subject().filter(|_| same_period || self.window.selected() > 0);
        self.setup = setup;
        self.view = view;
        self.arrange();
        match here {
            Some(here) => {
                self.go_to(&here);
            }
            None => self.go_to_first(),
        }
        let rows = &self.view.variance.rows;
        self.detail = self.detail.take().filter(|detail| {
            let old = &detail.evidence.row;
            let figures = |row: &GapRow| (row.item, row.usage, row.sold, row.flow, row.cost);
            same_period && rows.iter().any(|row| figures(row) == figures(old))
        });
    }

    /// Goes to an item, in the list by item; shows what is hidden if it is among that.
    pub fn find(&mut self, item: ItemId) -> Option<Notice> {
        self.detail = None;
        self.chooser = None;
        let subject = Subject::Item(item);
        if self.go_to(&subject) {
            return None;
        }
        self.grouping = Grouping::Item;
        self.only = None;
        self.hides = self.hides && !self.view.variance.rows.iter().any(|row| row.item == item && self.is_hidden(row));
        self.arrange();
        if self.go_to(&subject) {
            return None;
        }
        let name = self.setup.item_name(item);
        Some(Notice::warning(format!("{name} is in neither of the two counts, so they tell nothing about it")))
    }

    fn subject(&self) -> Option<Subject> {
        self.subject_of(self.lines.get(self.window.selected())?)
    }

    fn subject_of(&self, line: &Listed) -> Option<Subject> {
        match line {
            Listed::Row(row) => self.view.variance.rows.get(*row).map(|row| Subject::Item(row.item)),
            Listed::Untold(at) => self.view.variance.untold.get(*at).map(|(item, _)| Subject::Item(*item)),
            Listed::Exploded(item) => Some(Subject::Item(*item)),
            Listed::Group(group) => self.groups.get(*group).map(|group| Subject::Group(group.name.clone())),
            Listed::Heading(_) => None,
        }
    }

    fn go_to(&mut self, subject: &Subject) -> bool {
        let at = self.lines.iter().position(|line| self.subject_of(line).as_ref() == Some(subject));
        if let Some(at) = at {
            self.window.select(at, self.lines.len());
        }
        let lines = &self.lines;
        self.window.settle(true, lines.len(), |at| rests(lines, at));
        at.is_some()
    }

    fn go_to_first(&mut self) {
        let lines = &self.lines;
        self.window.apply_past(Action::First, lines.len(), |at| rests(lines, at));
    }

    /// Sorts the period into lines.
    fn arrange(&mut self) {
        let variance = &self.view.variance;
        self.groups = match self.grouping {
            Grouping::Item => Vec::new(),
            by => grouped(&self.setup, &variance.rows, by),
        };
        // A group that is in the fresh period no more is not open any more.
        self.only = self.only.take().filter(|only| self.groups.iter().any(|group| group.name == *only));
        let mut lines: Vec<Listed> = match (&self.only, self.grouping) {
            (None, Grouping::Place | Grouping::Kind) => (0..self.groups.len()).map(Listed::Group).collect(),
            _ => {
                let listed = |(_, row): &(usize, &GapRow)| !self.is_hidden(row) && self.is_of_group(row);
                variance.rows.iter().enumerate().filter(listed).map(|(at, _)| Listed::Row(at)).collect()
            }
        };
        if self.only.is_none() {
            if !variance.untold.is_empty() {
                lines.push(Listed::Heading("The two counts tell nothing about these:".to_owned()));
                lines.extend((0..variance.untold.len()).map(Listed::Untold));
            }
            if !variance.exploded.is_empty() {
                lines.push(Listed::Heading("Made here and not counted, so taken from the ingredients:".to_owned()));
                lines.extend(variance.exploded.iter().map(|item| Listed::Exploded(*item)));
            }
        }
        self.lines = lines;
        let lines = &self.lines;
        self.window.settle(true, lines.len(), |at| rests(lines, at));
    }

    /// Whether a row belongs to the group that is open, by the group's own sum of that row.
    fn is_of_group(&self, row: &GapRow) -> bool {
        let Some(only) = &self.only else { return true };
        match self.grouping {
            Grouping::Item => true,
            Grouping::Place => self.setup.place_name(row.home) == only,
            Grouping::Kind => self.setup.item(row.item).is_some_and(|item| item.kind.word() == only),
        }
    }

    /// Why nothing, or nothing of its own, is told about an item.
    fn why(&self, line: &Listed) -> String {
        match line {
            Listed::Untold(at) => self.view.variance.untold.get(*at).map_or_else(String::new, |(item, why)| {
                format!("{}: {}", self.setup.item_name(*item), self.because(why))
            }),
            Listed::Exploded(item) => {
                let name = self.setup.item_name(*item);
                format!("{name} was not counted both times: what was sold of it is taken from its ingredients")
            }
            Listed::Row(_) | Listed::Group(_) | Listed::Heading(_) => String::new(),
        }
    }

    fn because(&self, why: &Untold) -> String {
        match why {
            Untold::NotInOpening => "not counted the first time".to_owned(),
            Untold::NotInClosing => "not counted the second time".to_owned(),
            Untold::NotCounted => "sold, but counted neither time".to_owned(),
            Untold::PouredElsewhere(places) => {
                let places: Vec<String> =
                    places.iter().map(|place| text::safe(self.setup.place_name(*place))).collect();
                format!("also poured in {}, not counted both times", places.join(", "))
            }
        }
    }

    /// Draws the list, or the evidence of a line; over them the counts to choose from.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        match self.detail.take() {
            Some(mut detail) => {
                self.draw_detail(frame, area, &mut detail, scene);
                self.detail = Some(detail);
            }
            None => self.draw_list(frame, area, scene),
        }
        if let Some(chooser) = &mut self.chooser {
            chooser.finder.draw(frame, area, scene.theme);
        }
    }
}

/// Whether the count opened before another did.
fn is_before(view: &PeriodView, first: CountId, second: CountId) -> bool {
    let opened = |id| view.counts.iter().find(|count| count.id == id).map(|count| count.opened);
    opened(first).zip(opened(second)).is_some_and(|(first, second)| first < second)
}

fn rests(lines: &[Listed], at: usize) -> bool {
    !matches!(lines.get(at), None | Some(Listed::Heading(_)))
}

#[cfg(test)]
mod tests;
