//! What the stock was worth at the last counts, as bars and figures.

use crate::domain::measure::Money;
use crate::domain::rows::{WorthAt, worth_kinds};
use crate::domain::venue::Setup;
use crate::tui::screen::Scene;
use crate::tui::text;
use crate::tui::widget::chart::{self, Bars};
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::window::Window;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// The widest that one bar gets, and the lines of the field.
const WIDEST: usize = 4;
const ROWS: usize = 8;

/// The page.
#[derive(Debug)]
pub(super) struct WorthPage {
    over: Vec<WorthAt>,
    window: Window,
}

impl WorthPage {
    /// The counts, the earliest first; the cursor on the newest.
    pub(super) fn new(over: Vec<WorthAt>) -> WorthPage {
        WorthPage { over, window: Window::default() }
    }

    pub(super) fn refresh(&mut self, over: Vec<WorthAt>) {
        self.over = over;
        self.window.select(self.window.selected(), self.over.len());
    }

    pub(super) fn window(&mut self) -> (&mut Window, usize) {
        (&mut self.window, self.over.len())
    }

    pub(super) fn draw(&mut self, frame: &mut Frame, area: Rect, setup: &Setup, scene: Scene) {
        let (theme, show) = (scene.theme, setup.venue.show());
        if self.over.is_empty() {
            let said = word!("No count is closed yet, so nothing can be told: C begins one.");
            frame.render_widget(Paragraph::new(said), area);
            return;
        }
        let wide = usize::from(area.width);
        let written = |worth: f64| show.whole_coins(worth);
        let worths: Vec<Option<f64>> = self.over.iter().map(|at| Some(at.total.0 as f64)).collect();
        let highest = worths.iter().flatten().copied().fold(0.0, f64::max);
        let margin = chart::margin([written(highest)]);
        let each = chart::each(wide, margin, self.over.len(), WIDEST);
        let mut lines = vec![Line::from(Span::styled(
            text::fit(&say!("Worth in {code} once each count was closed", code = show.currency.code()), wide),
            theme.muted,
        ))];
        lines.extend(chart::bars(
            &Bars { bars: &worths, level: None, rows: ROWS, written: &written },
            margin,
            each,
            theme,
        ));
        let days = self.over.iter().enumerate().map(|(n, at)| (n * each, words::day(at.day, "%-d %b")));
        lines.push(chart::words_below(days, margin, "", theme.muted, theme));
        let tall = u16::try_from(lines.len()).unwrap_or(0).min(area.height / 2);
        let [above, below] = Layout::vertical([Constraint::Length(tall), Constraint::Fill(1)]).areas(area);
        frame.render_widget(Paragraph::new(lines), above);

        let kinds = worth_kinds(&self.over);
        let mut heads = vec![
            Column::words(text!("count"), Width::Fixed(12), 0),
            Column::figures(text!("worth"), 10, 0),
            Column::figures(text!("change"), 10, 1),
        ];
        heads.extend(kinds.iter().zip(2..).map(|(kind, rank)| Column::figures(kind.said(), 10, rank)));
        heads.push(Column::words("", Width::Flex(12), 1));
        // The newest first: it is what one looks for.
        let len = self.over.len();
        let row = |line: usize| {
            let at = &self.over[len - 1 - line];
            let before = (len - 1 - line).checked_sub(1).map(|n| &self.over[n]);
            let change = before.map(|before| at.total - before.total);
            let figure = |money: Money| Line::from(show.money(money));
            let mut cells = vec![
                Line::from(words::day(at.day, "%-d %b %Y")),
                figure(at.total),
                Line::from(change.map_or(String::new(), |change| super::super::signed(&show.money(change), change.0))),
            ];
            cells.extend(kinds.iter().map(|kind| figure(at.of(*kind))));
            let missing = match at.without_cost {
                0 => String::new(),
                many => say!("{many} of no known cost", many),
            };
            cells.push(Line::from(Span::styled(missing, theme.muted)));
            Row::Cells(cells)
        };
        columns::draw(frame, below, &heads, len, &mut self.window, row, theme);
    }
}
