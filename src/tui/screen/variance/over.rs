//! Many periods in a row, a line each, the newest first: whether it gets better or worse.

use super::list::{WHISKER, gap_with_u, group_in_words, heads, percent_text, scale_of, written};
use crate::domain::ledger::Count;
use crate::domain::measure::{Basis, Show, VolumeUnit, number_of};
use crate::domain::rows::{PastPeriod, PeriodView};
use crate::domain::usage::GroupRow;
use crate::domain::venue::{ActId, Item, ItemId, Setup};
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, Scene, gap_style, signed};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::notice::Notice;
use crate::tui::widget::whisker::whisker;
use crate::tui::widget::window::Window;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// Many periods as they come from the book.
#[derive(Clone, Debug)]
pub struct ManyPeriods {
    /// The one item they are of; all together where none is named.
    pub item: Option<ItemId>,
    /// How many were asked for.
    pub asked: usize,
    /// The oldest first.
    pub periods: Vec<PastPeriod>,
    /// The last act of the book when they were asked for.
    pub state: Option<ActId>,
}

/// How many periods can be looked at, and how many are at first: of weeks, a year.
const PERIODS: [usize; 5] = [13, 26, 52, 104, 260];
pub(super) const USUAL: usize = 52;

/// Stands for a figure that is not known.
const UNKNOWN: &str = "?";

/// The periods, and whose they are.
pub(super) struct Over {
    /// One item alone, or all of them together.
    item: Option<ItemId>,
    /// How many were asked for.
    asked: usize,
    /// The newest first.
    periods: Vec<PastPeriod>,
    state: Option<ActId>,
    /// The book was written to since they were read.
    is_old: bool,
    window: Window,
}

/// Of one item it goes without saying how many items they are.
fn columns(volume: VolumeUnit, of_one: bool) -> [Column; 9] {
    let [used, sold, gap] = heads(volume);
    let items = Column { left_out: of_one, ..Column::figures(text!("items"), 5, 6) };
    [
        Column::words(text!("period up to"), Width::Flex(16), 0),
        Column::words(text!("begun on"), Width::Fixed(10), 1),
        items,
        Column::figures(used, 7, 4),
        Column::figures(sold, 7, 5),
        Column::figures(gap, 7, 0),
        Column::words(text!("0 = as sold"), Width::Fixed(WHISKER), 3),
        Column::figures(text!("% of use"), 8, 2),
        Column::figures(text!("cost"), 8, 0),
    ]
}

impl Over {
    /// Periods as they come from the book, the oldest first. The cursor stays where it was on a page of more or fewer.
    pub(super) fn new(many: ManyPeriods, before: Option<Over>) -> Over {
        let ManyPeriods { item, asked, mut periods, state } = many;
        periods.reverse();
        let before = before.filter(|before| before.item == item);
        let here = before.as_ref().and_then(Over::here);
        let at = here.and_then(|here| periods.iter().position(|period| period.closing.id == here.closing.id));
        let mut window = Window::default();
        window.select(at.unwrap_or(0), periods.len());
        Over { item, asked, periods, state, is_old: false, window }
    }

    /// Learns what the last act of the book is by now.
    pub(super) fn compare_with(&mut self, last: Option<ActId>) {
        self.is_old = self.state != last;
    }

    /// Whether a period is on it that was opened from it, of the same item or of all.
    pub(super) fn led_to(&self, item: Option<ItemId>, view: &PeriodView) -> bool {
        self.item == item
            && self.here().is_some_and(|here| (here.opening.id, here.closing.id) == (view.opening.id, view.closing.id))
    }

    /// Asks for the same page of more or fewer periods: up to the same last one, whichever was opened from it.
    fn ask(&self, most: usize) -> Effect {
        let Some(PastPeriod { opening, closing, .. }) = self.periods.first() else { return Effect::None };
        Effect::OverPeriods { item: self.item, most, last: (opening.id, closing.id) }
    }

    /// What an action asks for; it does not go back by itself.
    pub(super) fn apply(&mut self, action: Action) -> Effect {
        let say = |words: &str| Effect::Say(Notice::info(words));
        match action {
            Action::OneMore if self.periods.len() < self.asked => {
                say(word!("no count before these has the same places: there are no more periods"))
            }
            Action::OneMore => match PERIODS.iter().find(|many| **many > self.asked) {
                Some(more) => self.ask(*more),
                None => say(word!("no more periods than these are shown here")),
            },
            Action::OneLess => match PERIODS.iter().rev().find(|many| **many < self.periods.len()) {
                Some(fewer) => self.ask(*fewer),
                None => say(word!("fewer periods than these say too little")),
            },
            Action::Open => self.open(),
            _ => {
                self.window.apply(action, self.periods.len());
                Effect::None
            }
        }
    }

    /// Goes to the period under the cursor, and to the item in it.
    fn open(&self) -> Effect {
        let Some(PastPeriod { opening, closing, sum }) = self.here() else { return Effect::None };
        let compare = Effect::Compare { opening: Some(opening.id), closing: Some(closing.id) };
        match self.item {
            Some(_) if sum.items == 0 => Effect::Say(Notice::info(word!("the two counts tell nothing about it"))),
            Some(item) => Effect::Both(Box::new(compare), Box::new(Effect::Explain(item))),
            None => compare,
        }
    }

    /// The period under the cursor.
    fn here(&self) -> Option<&PastPeriod> {
        self.periods.get(self.window.selected())
    }

    pub(super) fn draw(&mut self, setup: &Setup, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let cells = usize::from(area.width);
        let item = self.item.and_then(|item| setup.item(item));
        let mut head = text::flow(self.title(setup, item), cells);
        head.extend(text::wrap(
            match self.is_old {
                false => word!("Everything at what it cost at the last of these counts."),
                true => word!("The book was written to since: go back and look again for the figures of now."),
            },
            cells,
        ));
        let tall = u16::try_from(head.len()).unwrap_or(2).min(area.height / 3);
        let foot = if area.height > 10 { 3 } else { 0 };
        let [above, body, below] =
            Layout::vertical([Constraint::Length(tall), Constraint::Fill(1), Constraint::Length(foot)]).areas(area);
        let lines = |lines: Vec<String>| -> Vec<Line<'static>> {
            lines.into_iter().map(|line| Line::from(Span::styled(line, theme.text))).collect()
        };
        frame.render_widget(Paragraph::new(lines(head)), above);
        let scale = scale_of(self.periods.iter().map(|period| &period.sum));
        let mut window = self.window;
        let row = |at: usize| {
            self.periods.get(at).map_or(Row::Cells(Vec::new()), |period| cells_of(period, setup, item, scale, theme))
        };
        let columns = columns(setup.venue.show().volume, item.is_some());
        columns::draw(frame, body, &columns, self.periods.len(), &mut window, row, theme);
        self.window = window;
        let said = self.here().map(|period| in_words(period, setup, item, theme));
        frame.render_widget(Paragraph::new(lines(text::flow(said.unwrap_or_default(), cells))), below);
    }

    /// Whose periods they are, and from when on.
    fn title(&self, setup: &Setup, item: Option<&Item>) -> Vec<String> {
        let show = setup.venue.show();
        let whose = match item {
            Some(item) => format!("{} ({})", text::safe(&item.name), show.amount(item.basis, item.size)),
            None => word!("All items together").to_owned(),
        };
        let first =
            self.periods.last().map(|period| say!("from {opening} on", opening = named(&period.opening, setup)));
        [whose, number_of(self.periods.len(), word!("period"), word!("periods"))].into_iter().chain(first).collect()
    }
}

/// What amounts are of: all items together are summed over the liquids.
fn basis_of(item: Option<&Item>) -> Basis {
    item.map_or(Basis::Volume, |item| item.basis)
}

/// The business day that a count was begun on. With its year: there are many.
fn day(count: &Count, setup: &Setup) -> String {
    words::day(setup.venue.days.day_of(count.opened), "%Y-%m-%d")
}

fn named(count: &Count, setup: &Setup) -> String {
    format!("{} ({})", text::safe(&count.name), day(count, setup))
}

/// What the gap cost; nothing where that is not known of any item.
fn cost(sum: &GroupRow, show: Show) -> Option<String> {
    (sum.without_cost < sum.items).then(|| signed(&show.money(sum.cost), sum.cost.0))
}

fn cells_of(period: &PastPeriod, setup: &Setup, item: Option<&Item>, scale: f64, theme: &Theme) -> Row {
    let (show, sum) = (setup.venue.show(), &period.sum);
    let name = Line::from(text::safe(&period.closing.name));
    let begun = Line::from(day(&period.opening, setup));
    if sum.items == 0 {
        let blank = ["0", UNKNOWN, UNKNOWN, UNKNOWN, "", UNKNOWN, UNKNOWN].map(str::to_owned);
        return Row::Cells([name, begun].into_iter().chain(blank.map(Line::from)).collect());
    }
    let amount = |amount| written(show, basis_of(item), amount);
    let gap = Span::styled(signed(&amount(sum.gap), sum.gap.0), gap_style(sum.gap.as_f64(), sum.u, theme));
    Row::Cells(vec![
        name,
        begun,
        Line::from(sum.items.to_string()),
        Line::from(amount(sum.usage)),
        Line::from(amount(sum.sold)),
        Line::from(gap),
        whisker(sum.gap.as_f64(), sum.u, scale, WHISKER, theme),
        Line::from(sum.percent().map_or_else(|| UNKNOWN.to_owned(), percent_text)),
        Line::from(cost(sum, show).unwrap_or_else(|| UNKNOWN.to_owned())),
    ])
}

/// The line under the cursor in words, for windows that have dropped columns.
fn in_words(period: &PastPeriod, setup: &Setup, item: Option<&Item>, theme: &Theme) -> Vec<String> {
    let (show, sum) = (setup.venue.show(), &period.sum);
    let mut said = vec![named(&period.opening, setup), say!("to {closing}", closing = named(&period.closing, setup))];
    if sum.items == 0 {
        said.push(word!("the two counts tell nothing about it").to_owned());
        return said;
    }
    said.push(say!("gap {u}", u = gap_with_u(show, basis_of(item), sum.gap, sum.u, theme)));
    said.push(group_in_words(sum).to_owned());
    said.push(match cost(sum, show) {
        Some(cost) => format!("{cost} {}", show.currency),
        None => word!("no known cost").to_owned(),
    });
    if item.is_none() {
        if sum.without_cost > 0 {
            said.push(say!("{without_cost} without a known cost", without_cost = sum.without_cost));
        }
        said.push(word!("used, sold and gap sum the liquids only, cost sums everything").to_owned());
    }
    said
}
