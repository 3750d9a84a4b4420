//! Drawing the list of pars.

use super::{Over, ParScreen};
use crate::domain::measure::{Amount, number_of};
use crate::domain::par::{ItemPar, KNOWN_DAYS};
use crate::domain::rows::{cover_words, far_apart, lasts_into, next_van, strip};
use crate::domain::venue::ParFrom;
use crate::tui::screen::{Scene, fitting};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::cover;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph};

/// The fewest cells of a name; and from which width on names come before figures that are of less use.
const NAME: u16 = 16;
const LONG_NAME: u16 = 26;
const ROOMY: u16 = 100;
/// What stays beside the strip for as long as anything does: item, on hand, both pars, which rules, the mark.
const BESIDE: u16 = NAME + 7 + 5 + 6 + 6 + 1 + 6;
/// The fewest days that are worth a strip.
const FEWEST: u16 = 7;
/// The place of the par by hand among the columns.
const HAND: usize = 2;

impl ParScreen {
    /// The columns, with so many days in the strip and names of so many cells at the least.
    fn columns(&self, days: u16, name: u16) -> Vec<Column> {
        let today = self.view.setup.venue.days.day_of(self.view.now);
        vec![
            Column::words(text!("item"), Width::Flex(name), 0),
            Column::figures(text!("on hand"), 7, 0),
            Column::figures(text!("hand"), 5, 1),
            Column::figures(text!("demand"), 6, 1),
            Column::words("", Width::Fixed(1), 3),
            Column::words(text!("rules"), Width::Fixed(6), 2),
            Column::words(cover::weekdays(today, days), Width::Fixed(days), 0),
            Column::words(text!("lasts into"), Width::Fixed(10), 4),
            Column::figures(text!("coming"), 6, 5),
            Column::words(text!("next van"), Width::Fixed(10), 6),
            Column::figures(text!("a day"), 5, 7),
            Column::figures(text!("ties up"), 8, 8),
        ]
    }

    /// Draws the list, or what lies over it.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        match self.over.take() {
            None => self.draw_list(frame, area, scene),
            Some(Over::Page(item, mut scroll)) => {
                self.draw_page(frame, area, item, &mut scroll, scene);
                self.over = Some(Over::Page(item, scroll));
            }
            Some(Over::Many(mut many)) => {
                many.draw(&self.view, frame, area, scene);
                self.over = Some(Over::Many(many));
            }
            Some(Over::Back(mut back)) => {
                back.draw(&self.view, frame, area, scene);
                self.over = Some(Over::Back(back));
            }
        }
    }

    fn draw_list(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let wide = usize::from(area.width);
        let foot = if area.height > 9 { 3 } else { 0 };
        let head = self.head(wide, theme);
        let tall = u16::try_from(head.len()).unwrap_or(1).min(area.height / 3);
        let [above, body, below] =
            Layout::vertical([Constraint::Length(tall), Constraint::Fill(1), Constraint::Length(foot)]).areas(area);
        frame.render_widget(Paragraph::new(head), above);
        if self.lines.is_empty() {
            let said =
                word!("There are no items yet: S takes them in, one by one (a) or a list of them (f, or paste it).");
            frame.render_widget(Paragraph::new(text::wrap(said, wide).join("\n")), body);
            return;
        }
        let days = body.width.saturating_sub(BESIDE).clamp(FEWEST, cover::MOST);
        let columns = self.columns(days, if body.width < ROOMY { NAME } else { LONG_NAME });
        let mut window = self.window;
        let typing = self.entry.is_some().then_some(window.selected());
        let row = |at: usize| match self.lines.get(at).and_then(|at| self.view.pars.get(*at)) {
            Some(par) => self.cells(par, Some(at) == typing, days, theme),
            None => Row::Cells(Vec::new()),
        };
        let cells = columns::draw(frame, body, &columns, self.lines.len(), &mut window, row, theme);
        if let (Some((_, field)), Some(Some(cell))) = (&self.entry, cells.get(HAND)) {
            frame.render_widget(Clear, *cell);
            field.draw(frame, *cell, true, theme);
        }
        self.window = window;
        frame.render_widget(Paragraph::new(self.foot(wide, theme)), below);
    }

    /// What is shown and how, and what all pars tie up.
    fn head(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let kind = self.kind.map_or(word!("all kinds"), |kind| kind.said());
        let title = format!(
            "{}, {kind}, {}",
            number_of(self.lines.len() as u64, word!("item"), word!("items")),
            self.order.words()
        );
        let second = match &self.view.known {
            Some(_) => self.view.tied_up_words().unwrap_or_else(|| self.view.known_words()),
            None => self.view.known_words(),
        };
        vec![
            Line::from(Span::styled(text::fit(&title, wide), theme.title)),
            Line::from(Span::styled(text::fit(&second, wide), theme.muted)),
        ]
    }

    fn cells(&self, par: &ItemPar, typing: bool, cells: u16, theme: &Theme) -> Row {
        let figure = |amount: Amount| self.containers(par.item, amount);
        let known = |amount: Option<Amount>| amount.map(figure).unwrap_or_default();
        let rules = |from: ParFrom| if par.from == from && par.rules().is_some() { theme.title } else { theme.text };
        let hand = if typing { String::new() } else { known(par.hand) };
        let days = strip(par);
        let cover = match (par.on_hand, days.is_empty()) {
            (_, false) => cover::strip(&days, cells, theme),
            (None, true) => Line::from(Span::styled(word!("never counted"), theme.muted)),
            (Some(_), true) => Line::from(Span::styled(word!("demand unknown"), theme.muted)),
        };
        let worth = par.rules().and_then(|rules| self.view.worth(par.item, rules));
        let demand = par.by_demand().map(|computed| computed.level);
        Row::Cells(vec![
            Line::from(text::safe(self.name(par.item))),
            Line::from(par.on_hand.map_or("?".to_owned(), |there| figure(there.amount))),
            Line::from(Span::styled(hand, rules(ParFrom::Hand))),
            Line::from(Span::styled(known(demand), rules(ParFrom::Demand))),
            Line::from(Span::styled(if far_apart(&self.view, par) { "!" } else { "" }, theme.warning)),
            Line::from(par.rules().map_or(word!("no par"), |_| par.from.said())),
            cover,
            Line::from(lasts_into(par)),
            Line::from(if par.on_order == Amount::ZERO { String::new() } else { figure(par.on_order) }),
            Line::from(next_van(par)),
            Line::from(par.daily().map(|rate| figure(Amount::rounded(rate))).unwrap_or_default()),
            Line::from(worth.map(|worth| self.view.setup.venue.show().money(worth)).unwrap_or_default()),
        ])
    }

    /// The item under the cursor in words, and what the signs mean.
    fn foot(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let Some(par) = self.here() else { return Vec::new() };
        let setup = &self.view.setup;
        let Some(item) = setup.item(par.item) else { return Vec::new() };
        let name = format!("{} ({})", text::safe(&item.name), setup.venue.show().amount(item.basis, item.size));
        let rules = match (par.rules(), par.from) {
            (None, _) => word!("no par"),
            (Some(_), ParFrom::Hand) => word!("hand rules"),
            (Some(_), ParFrom::Demand) => word!("demand rules"),
        };
        let far = if far_apart(&self.view, par) { word!("! the two are far apart") } else { "" };
        let first = [Span::styled(name, theme.title), Span::raw(rules), Span::styled(far, theme.warning)];
        let legend = cover::legend(theme)
            .into_iter()
            .chain([word!("! pars far apart").to_owned()])
            .map(|part| Span::styled(part, theme.muted));
        let second = if self.entry.is_some() {
            typing_words(wide, theme)
        } else {
            Line::from(text::fit(&lasts_words(par), wide))
        };
        vec![fitting::line(first, wide), second, fitting::line(legend, wide)]
    }
}

/// What can be done while a par is typed.
pub(super) fn typing_words(wide: usize, theme: &Theme) -> Line<'static> {
    let parts =
        [word!("containers: Enter keeps them"), word!("Esc leaves it as it was"), word!("a scan goes to its item")];
    fitting::line(parts.map(|part| Span::styled(part, theme.muted)), wide)
}

/// How long an item lasts, or why that is not known.
pub(super) fn lasts_words(par: &ItemPar) -> String {
    match (cover_words(par), par.on_hand) {
        (Some(words), _) => words,
        (None, None) => word!("Never counted, so nobody knows how long it lasts").to_owned(),
        (None, Some(_)) => {
            say!(
                "How long it lasts is not known: sales of fewer than {KNOWN_DAYS} days of trade say what is asked",
                KNOWN_DAYS
            )
        }
    }
}
