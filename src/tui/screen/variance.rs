//! The variance screen: what was used, what was sold, where the two differ, and whether the count can tell.

mod accept;
mod causes;
mod chart;
mod chooser;
mod detail;
mod ledger;
mod list;
mod over;

use super::{Effect, PeriodEnd};
use crate::domain::ledger::Count;
use crate::domain::rows::{Evening, Evidence, PeriodView};
use crate::domain::usage::{GapRow, GroupRow, GroupTrack, Grouping, NOBODY, Untold, Verdict, grouped, summed};
use crate::domain::venue::{ActId, ItemId, Setup};
use crate::tui::keymap::{Action, Scope};
use crate::tui::screen::Scene;
use crate::tui::text;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use crate::tui::widget::window::Window;
use crate::words;
use accept::CauseForm;
use chooser::Chooser;
pub use over::ManyPeriods;
use over::Over;
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
    /// What comes before some of the rows.
    Heading(String),
    /// A row of an evening: which, and which of its rows.
    OfEvening(usize, usize),
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

/// What the list shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shown {
    /// Lines of items, or sums of them.
    By(Grouping),
    /// Sums of the evenings in between.
    Evenings,
}

/// A period, the list of its lines, and over it the evidence of one of them, many periods in a row, or the list of counts.
pub struct VarianceScreen {
    setup: Arc<Setup>,
    view: PeriodView,
    shows: Shown,
    /// The place, kind, counter or evening whose items alone are listed.
    only: Option<String>,
    /// Only lines that matter are listed.
    hides: bool,
    groups: Vec<GroupRow>,
    lines: Vec<Listed>,
    window: Window,
    detail: Option<Detail>,
    /// Many periods in a row.
    over: Option<Over>,
    /// The page that the shown period was opened from: whoever looks back again goes on there.
    left: Option<Over>,
    chooser: Option<Chooser>,
    /// Somebody says what made a gap.
    form: Option<CauseForm>,
    /// The form as it was when it was handed over, in case the book refuses it.
    handed: Option<CauseForm>,
    /// Who signs, unless the form says another.
    by: Option<String>,
    /// The gap whose cause was accepted last.
    accepted: Option<ItemId>,
    /// The page that an opened line shows.
    page: Page,
}

/// The pages of an opened line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Page {
    /// What is thought of the gap, and what probably made it.
    Causes,
    /// Every entry its figures are made of.
    Figures,
    /// Why it is not exact.
    Doubt,
    /// The item over the periods, and over the evenings of this one.
    Chart,
}

impl Page {
    const ALL: [Page; 4] = [Page::Causes, Page::Figures, Page::Doubt, Page::Chart];

    fn title(self) -> &'static str {
        match self {
            Page::Causes => word!("causes"),
            Page::Figures => word!("figures"),
            Page::Doubt => word!("exactness"),
            Page::Chart => word!("chart"),
        }
    }

    fn next(self) -> Page {
        let at = Page::ALL.iter().position(|page| *page == self).unwrap_or(0);
        Page::ALL[(at + 1) % Page::ALL.len()]
    }
}

/// The evidence that is open, and how far it is scrolled.
struct Detail {
    evidence: Evidence,
    scroll: Scroll,
}

impl VarianceScreen {
    /// A period, the lines that matter, with the cursor on the first of them; and who is at the keyboard.
    pub fn new(setup: Arc<Setup>, view: PeriodView, by: Option<String>) -> VarianceScreen {
        let mut screen = VarianceScreen {
            setup,
            view,
            shows: Shown::By(Grouping::Item),
            only: None,
            hides: true,
            groups: Vec::new(),
            lines: Vec::new(),
            window: Window::default(),
            detail: None,
            over: None,
            left: None,
            chooser: None,
            form: None,
            handed: None,
            by,
            accepted: None,
            page: Page::Causes,
        };
        screen.arrange();
        screen
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        match (&self.form, &self.chooser, &self.over, &self.detail) {
            (Some(_), ..) => Scope::CauseForm,
            (None, Some(_), ..) => Scope::Find,
            (None, None, Some(_), _) => Scope::VarianceOver,
            (None, None, None, Some(_)) => Scope::VarianceDetail,
            (None, None, None, None) => Scope::Variance,
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
        if self.form.is_some() {
            return self.fill_in(action);
        }
        if self.chooser.is_some() {
            return self.choose(action);
        }
        if let Some(over) = &mut self.over {
            let effect = if action == Action::Back { Effect::None } else { over.apply(action) };
            if action == Action::Back {
                self.over = None;
            } else if matches!(effect, Effect::Compare { .. } | Effect::Both(..)) {
                self.left = self.over.take();
            }
            return effect;
        }
        if self.detail.is_some() {
            return self.update_detail(action);
        }
        match action {
            Action::Open => self.open(),
            Action::Back => self.back(),
            Action::ToggleWithin => self.toggle(),
            Action::Grouping => self.regroup(),
            Action::AcceptCause => self.begin_accepting(),
            Action::Undo => self.reopen(),
            Action::WriteReport => Effect::WriteReport { opening: self.view.opening.id, closing: self.view.closing.id },
            Action::ChooseOpening => Effect::ListCounts(PeriodEnd::Opening),
            Action::ChooseClosing => Effect::ListCounts(PeriodEnd::Closing),
            Action::Earlier => chooser::earlier(&self.view),
            Action::Later => chooser::later(&self.view),
            Action::LookBack => self.look_back(None),
            Action::LastPeriod => Effect::Both(
                Box::new(Effect::Compare { opening: None, closing: None }),
                Box::new(Effect::Say(Notice::info(word!("the last two counts of the whole bar")))),
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
            Action::AcceptCause => self.begin_accepting(),
            Action::Undo => self.reopen(),
            Action::Grouping => {
                self.page = self.page.next();
                self.detail.iter_mut().for_each(|detail| detail.scroll = Scroll::default());
                Effect::None
            }
            Action::LookBack => self.look_back(self.explained()),
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
            Listed::Row(row) => Effect::Explain(self.view.variance.rows[row].item),
            Listed::OfEvening(evening, row) => Effect::Explain(self.view.evenings[evening].rows[row].item),
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

    /// Asks for the evidence of the row after or before the open one, among those that are listed.
    fn explain_beside(&self, step: isize) -> Effect {
        let rows: Vec<ItemId> = self
            .lines
            .iter()
            .filter_map(|line| match line {
                Listed::Row(row) => Some(self.view.variance.rows[*row].item),
                Listed::OfEvening(evening, row) => Some(self.view.evenings[*evening].rows[*row].item),
                _ => None,
            })
            .collect();
        let here = self.explained().and_then(|item| rows.iter().position(|row| *row == item));
        match here.and_then(|here| here.checked_add_signed(step)).and_then(|to| rows.get(to)) {
            Some(item) => Effect::Explain(*item),
            None if step > 0 => Effect::Say(Notice::info(word!("this is the last line"))),
            None => Effect::Say(Notice::info(word!("this is the first line"))),
        }
    }

    /// Shows the evidence of a line, and puts the cursor on that line.
    pub fn explain(&mut self, evidence: Evidence) {
        self.go_to(&Subject::Item(evidence.row.item));
        self.chooser = None;
        self.detail = Some(Detail { evidence, scroll: Scroll::default() });
    }

    /// Asks for many periods, or goes back to the page of them from which the shown one was opened.
    fn look_back(&mut self, item: Option<ItemId>) -> Effect {
        self.over = self.left.take().filter(|left| left.led_to(item, &self.view));
        match self.over {
            Some(_) => Effect::None,
            None => {
                let last = (self.view.opening.id, self.view.closing.id);
                Effect::OverPeriods { item, most: over::USUAL, last }
            }
        }
    }

    /// What the last act of the book is by now: a page of many periods says whether it is older.
    pub fn compare_with(&mut self, last: Option<ActId>) {
        self.over.iter_mut().chain(&mut self.left).for_each(|over| over.compare_with(last));
    }

    /// Shows many periods in a row, of one item or of all together.
    pub fn show_over(&mut self, many: ManyPeriods) {
        self.over = Some(Over::new(many, self.over.take()));
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
        if self.shows != Shown::By(Grouping::Item) {
            return Effect::Say(Notice::info(word!("z is for the list by item: v goes there")));
        }
        let here = self.subject();
        self.hides = !self.hides;
        self.arrange();
        if let Some(here) = here {
            self.go_to(&here);
        }
        let within = |row: &&GapRow| self.view.review.verdict(row.item) == Verdict::Within;
        let hidden = self.view.variance.rows.iter().filter(within).count();
        Effect::Say(Notice::info(match (self.hides, hidden) {
            (false, _) => word!("all lines are shown").to_owned(),
            (true, 0) => word!("no line is within the count's exactness: nothing is hidden").to_owned(),
            (true, 1) => word!("1 line within the count's exactness is hidden; z shows it").to_owned(),
            (true, n) => say!("{n} lines within the count's exactness are hidden; z shows them", n),
        }))
    }

    fn regroup(&mut self) -> Effect {
        let all = [
            Shown::By(Grouping::Item),
            Shown::By(Grouping::Place),
            Shown::By(Grouping::Kind),
            Shown::By(Grouping::Counter),
            Shown::Evenings,
        ];
        let here = all.iter().position(|shown| *shown == self.shows).unwrap_or(0);
        self.shows = all[(here + 1) % all.len()];
        // Where nothing was counted in between, there are no evenings to list.
        if self.shows == Shown::Evenings && self.view.evenings.is_empty() {
            self.shows = Shown::By(Grouping::Item);
        }
        self.only = None;
        self.window = Window::default();
        self.arrange();
        Effect::Say(Notice::info(match self.shows {
            Shown::By(Grouping::Item) => word!("By item, what matters most first"),
            Shown::By(Grouping::Place) => word!("By the place an item is poured from; Enter lists its items"),
            Shown::By(Grouping::Kind) => word!("By kind; Enter lists its items"),
            Shown::By(Grouping::Counter) => word!("By who counted at the closing; Enter lists the items"),
            Shown::Evenings => word!("By evening, of what was counted on each; Enter lists the items"),
        }))
    }

    /// Lets one of the closed counts be chosen for an end of the period; what is to be said where none can be.
    pub fn list_counts(&mut self, end: PeriodEnd, counts: Vec<Count>) -> Option<Notice> {
        match Chooser::new(end, counts, &self.view, &self.setup) {
            Ok(chooser) => {
                self.chooser = Some(chooser);
                None
            }
            Err(why) => Some(why),
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
        if let Some(form) = &mut self.form {
            form.paste(pasted);
        } else if let Some(chooser) = &mut self.chooser {
            chooser.finder.paste(pasted);
        }
    }

    /// Takes a fresh set-up and a fresh period, or another one; the cursor stays on the same item or group, but in
    /// another period it stays on the first line if it was there. Evidence stays open only while its figures are those of
    /// the period: what no longer holds is not left standing.
    pub fn refresh(&mut self, setup: Arc<Setup>, view: PeriodView) {
        let ends = |view: &PeriodView| (view.opening.id, view.closing.id);
        let same_period = ends(&view) == ends(&self.view);
        // A line whose cause was just accepted has left the list: the cursor stays where it was, on the next one.
        let settled = |subject: &Subject| match subject {
            Subject::Item(item) => view.explained.contains_key(item) && !self.view.explained.contains_key(item),
            Subject::Group(_) => false,
        };
        let just_settled = self.subject().is_some_and(|subject| settled(&subject));
        let stays = !just_settled && (same_period || self.window.selected() > 0);
        let here = self.subject().filter(|_| stays);
        self.handed = None;
        // Nobody is thrown off the page by what others write.
        self.over = self.over.take().filter(|_| same_period);
        self.setup = setup;
        self.view = view;
        self.arrange();
        match here {
            Some(here) => {
                self.go_to(&here);
            }
            // The list was arranged anew around the cursor.
            None if just_settled => self.detail = None,
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
        self.over = None;
        self.chooser = None;
        let subject = Subject::Item(item);
        if self.go_to(&subject) {
            return None;
        }
        self.shows = Shown::By(Grouping::Item);
        self.only = None;
        let known = self.view.variance.rows.iter().any(|row| row.item == item);
        self.hides = self.hides && !(known && self.view.review.verdict(item) == Verdict::Within);
        self.arrange();
        if self.go_to(&subject) {
            return None;
        }
        let name = self.setup.item_name(item);
        Some(Notice::warning(say!("{name} is in neither of the two counts, so they tell nothing about it", name)))
    }

    fn subject(&self) -> Option<Subject> {
        self.subject_of(self.lines.get(self.window.selected())?)
    }

    fn subject_of(&self, line: &Listed) -> Option<Subject> {
        match line {
            Listed::Row(row) => self.view.variance.rows.get(*row).map(|row| Subject::Item(row.item)),
            Listed::Untold(at) => self.view.variance.untold.get(*at).map(|(item, _)| Subject::Item(*item)),
            Listed::Exploded(item) => Some(Subject::Item(*item)),
            Listed::OfEvening(evening, row) => {
                self.view.evenings.get(*evening)?.rows.get(*row).map(|row| Subject::Item(row.item))
            }
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
        self.groups = match self.shows {
            Shown::By(Grouping::Item) => Vec::new(),
            Shown::By(by) => grouped(&self.setup, &variance.rows, by),
            Shown::Evenings => {
                let sum = |evening: &Evening| {
                    let rows: Vec<&GapRow> = evening.rows.iter().collect();
                    summed(&self.setup, self.evening_name(evening), &rows)
                };
                self.view.evenings.iter().map(sum).collect()
            }
        };
        // A group that is in the fresh period no more is not open any more.
        self.only = self.only.take().filter(|only| self.groups.iter().any(|group| group.name == *only));
        let mut lines: Vec<Listed> = match (&self.only, self.shows) {
            (None, Shown::By(Grouping::Item)) => self.by_item(),
            (None, _) => (0..self.groups.len()).map(Listed::Group).collect(),
            (Some(only), Shown::Evenings) => {
                let at = self.groups.iter().position(|group| group.name == *only).unwrap_or(0);
                let rows = self.view.evenings.get(at).map_or(0, |evening| evening.rows.len());
                (0..rows).map(|row| Listed::OfEvening(at, row)).collect()
            }
            (Some(_), Shown::By(_)) => {
                let listed = |(_, row): &(usize, &GapRow)| self.is_of_group(row);
                let rows = variance.rows.iter().enumerate().filter(listed).map(|(at, _)| Listed::Row(at));
                self.group_chart().into_iter().chain(rows).collect()
            }
        };
        if self.only.is_none() && self.shows != Shown::Evenings {
            if !variance.untold.is_empty() {
                lines.push(Listed::Heading(word!("The two counts tell nothing about these:").to_owned()));
                lines.extend((0..variance.untold.len()).map(Listed::Untold));
            }
            if !variance.exploded.is_empty() {
                lines.push(Listed::Heading(
                    word!("Made here and not counted, so taken from the ingredients:").to_owned(),
                ));
                lines.extend(variance.exploded.iter().map(|item| Listed::Exploded(*item)));
            }
        }
        self.lines = lines;
        let lines = &self.lines;
        self.window.settle(true, lines.len(), |at| rests(lines, at));
    }

    /// The group under a name over the periods, where lines are summed by place or kind.
    fn group_track(&self, name: &str) -> Option<&GroupTrack> {
        match self.shows {
            Shown::By(by @ (Grouping::Place | Grouping::Kind)) => self.view.review.group(by, name),
            _ => None,
        }
    }

    /// The group that is open over the periods, above its items: its chart where that gives an alarm.
    fn group_chart(&self) -> Vec<Listed> {
        let Some(found) = self.only.as_deref().and_then(|only| self.group_track(only)) else { return Vec::new() };
        let (reach, limit) = (found.track.sums().reach(), found.track.limit);
        let heading = say!(
            "Over the periods, together but for what is told by itself: {reach}, {alarms} its limit of {limit}",
            reach = words::fixed(reach, 1),
            alarms = if found.track.alarms() { word!("beyond") } else { word!("within") },
            limit = words::fixed(limit, 1)
        );
        let lines = if found.track.alarms() { chart::in_text(&found.track) } else { Vec::new() };
        std::iter::once(heading).chain(lines).map(Listed::Heading).collect()
    }

    /// The lines of items: what is open, what is to be watched, what is settled; and the rest, unless it is hidden.
    fn by_item(&self) -> Vec<Listed> {
        let view = &self.view;
        let mut lines = Vec::new();
        let mut part = |heading: Option<&str>, of: &dyn Fn(&GapRow) -> bool| {
            let rows: Vec<usize> =
                view.variance.rows.iter().enumerate().filter(|(_, row)| of(row)).map(|(at, _)| at).collect();
            if let Some(heading) = heading.filter(|_| !rows.is_empty()) {
                lines.push(Listed::Heading(heading.to_owned()));
            }
            lines.extend(rows.into_iter().map(Listed::Row));
        };
        let settled = |row: &GapRow| view.explained.contains_key(&row.item);
        let verdict = |row: &GapRow| view.review.verdict(row.item);
        part(None, &|row| view.is_open(row.item));
        part(Some(word!("Watch:")), &|row| verdict(row) == Verdict::Watch && !settled(row));
        part(Some(word!("Causes accepted:")), &settled);
        if !self.hides {
            part(Some(word!("Within the count's exactness:")), &|row| verdict(row) == Verdict::Within && !settled(row));
        }
        lines
    }

    /// An evening by the business day it was: that of the count that ends it.
    fn evening_name(&self, evening: &Evening) -> String {
        let day = self.setup.venue.days.day_of(evening.to.opened);
        words::day(day, "%a %Y-%m-%d")
    }

    /// The item under the cursor.
    fn item_under_cursor(&self) -> Option<ItemId> {
        match self.lines.get(self.window.selected())? {
            Listed::Row(row) => self.view.variance.rows.get(*row).map(|row| row.item),
            Listed::OfEvening(evening, row) => self.view.evenings.get(*evening)?.rows.get(*row).map(|row| row.item),
            _ => None,
        }
    }

    /// Whether a row belongs to the group that is open, by the group's own sum of that row.
    fn is_of_group(&self, row: &GapRow) -> bool {
        let Some(only) = &self.only else { return true };
        match self.shows {
            Shown::By(Grouping::Item) | Shown::Evenings => true,
            Shown::By(Grouping::Place) => self.setup.place_name(row.home) == only,
            Shown::By(Grouping::Kind) => self.setup.item(row.item).is_some_and(|item| item.kind.said() == only),
            Shown::By(Grouping::Counter) => row.counted_by.as_deref().unwrap_or(NOBODY) == only,
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
                say!("{name} was not counted both times: what was sold of it is taken from its ingredients", name)
            }
            Listed::Row(_) | Listed::OfEvening(..) | Listed::Group(_) | Listed::Heading(_) => String::new(),
        }
    }

    fn because(&self, why: &Untold) -> String {
        match why {
            Untold::NotInOpening => word!("not counted the first time").to_owned(),
            Untold::NotInClosing => word!("not counted the second time").to_owned(),
            Untold::NotCounted => word!("sold, but counted neither time").to_owned(),
            Untold::PouredElsewhere(places) => {
                let places: Vec<String> =
                    places.iter().map(|place| text::safe(self.setup.place_name(*place))).collect();
                say!("also poured in {places}, not counted both times", places = places.join(", "))
            }
        }
    }

    /// Draws the list, or the evidence of a line; over them the counts to choose from.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        match (&mut self.over, self.detail.take()) {
            (Some(over), detail) => {
                over.draw(&self.setup, frame, area, scene);
                self.detail = detail;
            }
            (None, Some(mut detail)) => {
                self.draw_detail(frame, area, &mut detail, scene);
                self.detail = Some(detail);
            }
            (None, None) => self.draw_list(frame, area, scene),
        }
        if let Some(chooser) = &mut self.chooser {
            chooser.finder.draw(frame, area, scene.theme);
        }
        if let Some(form) = &mut self.form {
            form.draw(frame, area, scene.theme);
        }
    }
}

fn rests(lines: &[Listed], at: usize) -> bool {
    !matches!(lines.get(at), None | Some(Listed::Heading(_)))
}

#[cfg(test)]
mod tests;
