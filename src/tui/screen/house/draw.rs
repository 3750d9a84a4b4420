//! Drawing the list of what is made here, and what lies over it.

use super::page::advice_words;
use super::{Form, HouseScreen};
use crate::domain::measure::Amount;
use crate::domain::rows::HouseLine;
use crate::tui::screen::Scene;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

const COLUMNS: &[Column] = &[
    Column::words(text!("made here"), Width::Flex(18), 0),
    Column::figures(text!("on hand"), 9, 0),
    Column::words(text!("keeps until"), Width::Fixed(12), 0),
    Column::figures(text!("used a day"), 10, 1),
    Column::figures(text!("to make"), 9, 0),
    Column::figures(text!("for days"), 8, 2),
    Column::figures(text!("l/kg costs"), 10, 3).of_money(),
    Column::words(text!("allergens"), Width::Flex(12), 4),
];

impl HouseScreen {
    /// Draws the list, or the page of an item, or the form of a recipe; a batch being booked lies over what is below.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        if let Some(Form::Recipe(form)) = &mut self.form {
            form.draw(&self.view, frame, area, scene);
            return;
        }
        match self.page.is_some() {
            true => self.draw_page(frame, area, scene),
            false => self.draw_list(frame, area, scene),
        }
        if let Some(Form::Make(form)) = &self.form {
            form.draw(&self.view, frame, area, scene);
        }
    }

    fn draw_list(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(1), Constraint::Fill(1), Constraint::Length(3)]).areas(area);
        let over = self.view.asked_over.as_ref().map_or(word!("no sales yet").to_owned(), |days| {
            say!(
                "asked as sold {start} to {end}",
                start = words::day(days.start(), "%-d %b"),
                end = words::day(days.end(), "%-d %b")
            )
        });
        let title = say!("{lines} made here; {over}", lines = self.view.lines.len(), over);
        frame.render_widget(Span::styled(text::fit(&title, head.width.into()), theme.title), head);
        if self.view.lines.is_empty() {
            let said =
                word!("Nothing is made here yet: a writes the first recipe, or `tantalus load DIR` brings them in.");
            frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), body);
            return;
        }
        let mut window = std::mem::take(&mut self.window);
        let row = |at: usize| self.view.lines.get(at).map_or(Row::Cells(Vec::new()), |line| self.cells(line, theme));
        let columns = columns::seen(COLUMNS, self.view.sees_costs());
        columns::draw(frame, body, &columns, self.view.lines.len(), &mut window, row, theme);
        self.window = window;
        let said: Vec<Line> = self.foot(foot.width.into(), theme);
        frame.render_widget(Paragraph::new(said), foot);
    }

    fn cells(&self, line: &HouseLine, theme: &Theme) -> Row {
        let setup = &self.view.setup;
        let show = setup.venue.show();
        let Some(item) = setup.item(line.item) else { return Row::Cells(Vec::new()) };
        let today = self.view.larder.day;
        let amount = |amount: Amount| show.amount(item.basis, amount);
        let (until, style) = match line.first_use_by() {
            Some(day) if day < today => (format!("! {}", words::day(day, "%a %-d %b")), theme.warning),
            Some(day) => (words::day(day, "%a %-d %b"), theme.text),
            None => (String::new(), theme.text),
        };
        // From the first day on which it was asked for: before, it was on no menu.
        let days = line.asked.daily.iter().skip_while(|asked| **asked <= 0.0).count();
        let daily = (days > 0).then(|| amount(Amount::rounded(line.asked.sum() / days as f64)));
        let advice = self.advice(line);
        let (one, _) = item.basis.usual_one();
        let cost = self.view.larder.costs.of(line.item).map(|cost| show.money(cost.of(one, show.currency)));
        let allergens = self.view.larder.allergens.of(line.item).words();
        let plain = |words: Option<String>| Line::from(words.unwrap_or_default());
        Row::Cells(vec![
            plain(Some(text::safe(&item.name))),
            plain(line.on_hand.map(|level| amount(level.amount))),
            Line::from(Span::styled(until, style)),
            plain(daily),
            plain(advice.map(|advice| amount(advice.make))),
            plain(advice.map(|advice| advice.days.to_string())),
            plain(Some(cost.unwrap_or_else(|| "?".to_owned()))),
            plain(Some(allergens)),
        ])
    }

    /// How much to make of what the cursor is on, and why.
    fn foot(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let Some(line) = self.view.lines.get(self.window.selected()) else { return Vec::new() };
        let Some(item) = self.view.setup.item(line.item) else { return Vec::new() };
        let words = match self.advice(line) {
            Some(advice) => advice_words(&self.view, line, item, &advice).join("; "),
            None => word!("No sales are in the book that say what is asked of it.").to_owned(),
        };
        text::wrap(&words, wide).into_iter().map(|line| Line::from(Span::styled(line, theme.muted))).collect()
    }
}
