//! Drawing the list of what is on hand.

use super::{Groups, Part, StockLine, StockScreen, Worth};
use crate::domain::measure::{Amount, Money, Show, number_of};
use crate::domain::rows::StockRow;
use crate::domain::venue::{CountBy, Item};
use crate::tui::screen::{Scene, with_u};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::level::{self, level};
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// What stands where in a row. How many there are and what they are worth stay when the window is narrow.
fn columns(groups: Groups, sees_costs: bool) -> Vec<Column> {
    let full = match groups {
        Groups::Place => word!("opened one"),
        Groups::Name | Groups::Kind => word!("of par"),
    };
    let all = [
        Column::words(text!("item"), Width::Flex(18), 0),
        Column::figures(text!("on hand"), 7, 0),
        Column::words(full, Width::Fixed(level::WIDTH), 4),
        Column::figures(text!("volume"), 9, 3),
        Column::figures("+/-", 3, 7),
        Column::figures(text!("par"), 4, 2),
        Column::figures(text!("coming"), 6, 5),
        Column::figures(text!("value"), 8, 1).of_money(),
        Column::words(text!("counted"), Width::Fixed(7), 6),
    ];
    columns::seen(&all, sees_costs)
}

impl StockScreen {
    /// Draws the list, or the facts of the item that is open.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        if let Some(carry) = &mut self.carry {
            return carry.draw(frame, area, scene);
        }
        if let Some(worth) = &mut self.worth {
            return worth.draw(frame, area, &self.setup, scene);
        }
        if let Some((item, mut scroll)) = self.open {
            self.facts(frame, area, item, &mut scroll, scene);
            self.open = Some((item, scroll));
            return;
        }
        let foot = if area.height > 6 { 2 } else { 0 };
        let show = self.setup.venue.show();
        let mut total = worth_parts(self.total(), show);
        let sum = self.total();
        match total.first_mut().filter(|_| !show.hides_money) {
            Some(worth) if sum.value == Money::ZERO && sum.without_cost > 0 => {
                *worth = match self.setup.offers.is_empty() {
                    true => word!("Nothing has a price yet: e gives an item one"),
                    false => word!("Nothing with a price was counted yet: C counts"),
                }
                .to_owned();
            }
            Some(worth) => worth.insert_str(0, word!("Stock is worth ")),
            None => total.insert(0, number_of(self.rows.len(), word!("item in stock"), word!("items in stock"))),
        }
        let total = text::flow(total, area.width.into());
        let tall = u16::try_from(total.len()).unwrap_or(1).min(area.height / 3);
        let [head, body, below] =
            Layout::vertical([Constraint::Length(tall), Constraint::Fill(1), Constraint::Length(foot)]).areas(area);
        let total = total.into_iter().map(|line| Line::from(Span::styled(line, scene.theme.title)));
        frame.render_widget(Paragraph::new(total.collect::<Vec<_>>()), head);
        let mut window = self.window;
        let row = |at: usize| match self.lines.get(at) {
            Some(StockLine::Heading { name, lines, worth }) => {
                Row::Heading(heading(name, *lines, *worth, show, body.width, scene.theme))
            }
            Some(StockLine::Item { row, part }) => self.cells(&self.rows[*row], *part, scene.theme),
            None => Row::Cells(Vec::new()),
        };
        columns::draw(
            frame,
            body,
            &columns(self.groups, !show.hides_money),
            self.lines.len(),
            &mut window,
            row,
            scene.theme,
        );
        self.window = window;
        frame.render_widget(Paragraph::new(self.foot(below.width, scene)), below);
    }

    fn cells(&self, row: &StockRow, part: Option<Part>, theme: &Theme) -> Row {
        let name = text::safe(self.setup.item_name(row.item));
        let Some(item) = self.setup.item(row.item) else { return Row::Cells(vec![Line::from(name)]) };
        let show = self.setup.venue.show();
        let amount = part.map(|part| part.amount).or(row.on_hand.map(|level| level.amount));
        let containers = |amount: Amount| show.containers(amount, item.size);
        let below = amount.is_some_and(|amount| amount.0 < 0);
        let text_of = |text: Option<String>| Line::from(text.unwrap_or_default());
        let style = if below { theme.warning } else { theme.text };
        let on_hand = amount.map_or("?".to_owned(), containers);
        let volume = amount.map(|a| show.amount(item.basis, a));
        let value = match (amount, part.map_or(row.value, |part| part.value)) {
            (None, _) => String::new(),
            (Some(_), None) => "?".to_owned(),
            (Some(_), Some(value)) => show.money(value),
        };
        // Par, what is coming and the count are of the item as a whole, not of one place.
        let whole = part.is_none();
        let par = row.par.filter(|_| whole).map(containers);
        let coming = Some(row.on_order).filter(|a| whole && a.0 != 0).map(containers);
        let counted =
            row.counted.map_or(word!("never").to_owned(), |at| words::day(self.setup.venue.days.day_of(at), "%-d %b"));
        let u = row.on_hand.map(|level| Amount::rounded(level.u)).filter(|u| whole && u.0 > 0);
        let u = u.map(|u| show.bare(item.basis, u));
        // The bars of one list are all of the same thing, which the column's head names.
        let of = if self.groups == Groups::Place { Of::Opened } else { Of::Par };
        let bar = fullness(row, part, item).filter(|(_, what)| *what == of);
        let bar = bar.map_or_else(Line::default, |(tenths, _)| level(tenths, theme));
        Row::Cells(vec![
            match item.stocked {
                true => Line::from(name),
                false => Line::from(Span::styled(say!("{name} (runs out)", name), theme.muted)),
            },
            Line::from(Span::styled(on_hand, style)),
            bar,
            text_of(volume),
            text_of(u),
            text_of(par),
            text_of(coming),
            Line::from(value),
            Line::from(counted),
        ])
    }

    /// The line under the cursor in words, for windows that have dropped columns.
    fn foot(&self, width: u16, scene: Scene) -> Vec<Line<'static>> {
        let said = match self.here() {
            Some(row) => self.in_words(row, self.part(), scene.theme),
            None => {
                vec![
                    word!("There are no items yet: a takes one in; f takes in a list of them, or paste one here.")
                        .to_owned(),
                ]
            }
        };
        let lines = text::flow(said, width.into());
        lines.into_iter().map(|line| Line::from(Span::styled(line, scene.theme.text))).collect()
    }

    fn in_words(&self, row: &StockRow, part: Option<Part>, theme: &Theme) -> Vec<String> {
        let Some(item) = self.setup.item(row.item) else { return Vec::new() };
        let show = self.setup.venue.show();
        let mut said = vec![format!("{} ({})", text::safe(&item.name), show.amount(item.basis, item.size))];
        let Some(there) = row.on_hand else {
            said.push(word!("never counted: how much there is, is not known").to_owned());
            return said;
        };
        said.push(with_u(show, item.basis, there, theme));
        if !item.stocked {
            said.push(word!("not stocked any more: it runs out").to_owned());
        }
        if there.amount.0 < 0 {
            said.push(word!("below nothing: more was sold or written off than was counted").to_owned());
        }
        if let Some(part) = part {
            let (here, all) = (show.containers(part.amount, item.size), show.containers(there.amount, item.size));
            said.push(say!(
                "{here} of {all} in {place}",
                here,
                all,
                place = text::safe(self.setup.place_name(part.place))
            ));
        }
        match fullness(row, part, item) {
            Some((tenths, Of::Par)) => {
                said.push(say!("level: {tenths} % of par", tenths = words::fixed(tenths * 10.0, 0)))
            }
            Some((tenths, Of::Opened)) => {
                said.push(say!("level: the opened one, {tenths} %", tenths = words::fixed(tenths * 10.0, 0)))
            }
            None => {}
        }
        if row.on_order.0 != 0 {
            said.push(say!("{on_order} coming", on_order = show.containers(row.on_order, item.size)));
        }
        if row.value.is_none() && !show.hides_money {
            said.push(word!("no known cost").to_owned());
        }
        if let Some(at) = row.counted {
            said.push(say!("counted {at}", at = self.setup.venue.days.short(at)));
        }
        said
    }
}

/// What a level is a level of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Of {
    Par,
    Opened,
}

/// How full the ten cells are: of par where there is one, else of the container that should be open. Par is of the item
/// as a whole, so in one place of several it is always the opened container.
pub(super) fn fullness(row: &StockRow, part: Option<Part>, item: &Item) -> Option<(f64, Of)> {
    let there = part.map(|part| part.amount).or(row.on_hand.map(|level| level.amount))?;
    if let Some(par) = row.par.filter(|par| par.0 > 0 && part.is_none()) {
        return Some((there.per(par) * 10.0, Of::Par));
    }
    let opened = there.per(item.size).fract();
    (item.count_by != CountBy::Whole && opened > 0.0).then_some((opened * 10.0, Of::Opened))
}

/// `12 345.00 EUR`, where money is shown, then what is not in it.
fn worth_parts(worth: Worth, show: Show) -> Vec<String> {
    let mut parts = Vec::new();
    if !show.hides_money {
        parts.push(show.coin(worth.value));
    }
    if worth.without_cost > 0 && !show.hides_money {
        parts.push(say!("not in it: {without_cost} without a known cost", without_cost = worth.without_cost));
    }
    if worth.never_counted > 0 {
        parts.push(say!("{never_counted} never counted", never_counted = worth.never_counted));
    }
    parts
}

/// A group's name and sums on one line; when it is too long, the name is cut and the sums are not.
fn heading(name: &str, lines: usize, worth: Worth, show: Show, width: u16, theme: &Theme) -> Line<'static> {
    let sums = std::iter::once(number_of(lines, word!("line"), word!("lines"))).chain(worth_parts(worth, show));
    let sums = format!(": {}", sums.collect::<Vec<_>>().join(", "));
    let room = usize::from(width).saturating_sub(text::width(&sums));
    let name = text::fit(&text::safe(name), room.max(4));
    Line::from(Span::styled(format!("{name}{sums}"), theme.title))
}
