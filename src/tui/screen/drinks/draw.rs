//! Drawing the list of drinks, and what lies over it.

use super::{DrinksScreen, Over};
use crate::domain::drink::Poured;
use crate::domain::measure::{Basis, decimal, number_of};
use crate::domain::rows::DrinkLine;
use crate::tui::screen::{Scene, serve};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

const COLUMNS: &[Column] = &[
    Column::words(text!("drink"), Width::Flex(20), 0),
    Column::figures(text!("price"), 7, 0).of_money(),
    Column::figures(text!("cost"), 7, 0).of_money(),
    Column::figures(text!("pour cost"), 9, 0).of_money(),
    Column::figures(text!("brings in"), 9, 1).of_money(),
    Column::figures(text!("sold"), 6, 2),
    Column::figures(text!("% vol"), 6, 3),
    Column::figures(text!("in glass"), 8, 4),
    Column::words(text!("made"), Width::Fixed(6), 5),
    Column::words(text!("allergens"), Width::Flex(12), 5),
    Column::words(text!("served in"), Width::Flex(10), 6),
];

impl DrinksScreen {
    /// Draws the list, or what lies over it.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        if let Some(form) = &mut self.form {
            form.draw(&self.view, frame, area, scene);
            return;
        }
        match &mut self.over {
            None => self.draw_list(frame, area, scene),
            Some(Over::Page(page)) => page.draw(&self.view, frame, area, scene),
            Some(Over::Corners(corners)) => corners.draw(&self.view, frame, area, scene),
            Some(Over::Change(change)) => change.draw(&self.view, frame, area, scene),
            Some(Over::Many(drink, many)) => many.draw(*drink, &self.view, frame, area, scene),
        }
    }

    fn draw_list(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(1), Constraint::Fill(1), Constraint::Length(2)]).areas(area);
        let title = format!(
            "{}, {}, {}",
            number_of(self.lines.len(), word!("drink"), word!("drinks")),
            self.selection.title(),
            self.order.word()
        );
        frame.render_widget(Span::styled(text::fit(&title, head.width.into()), theme.title), head);
        if self.lines.is_empty() {
            let said = match self.view.setup.drinks.is_empty() {
                true => {
                    word!("The book has no drinks yet: a writes the first one, or `tantalus load DIR` brings them in.")
                }
                false => word!("No drink is among these; v shows others."),
            };
            frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), body);
            return;
        }
        let mut window = std::mem::take(&mut self.window);
        let row = |at: usize| self.lines.get(at).map_or(Row::Cells(Vec::new()), |line| self.cells(line, theme));
        let columns = columns::seen(COLUMNS, self.view.sees_costs());
        columns::draw(frame, body, &columns, self.lines.len(), &mut window, row, theme);
        self.window = window;
        let said: Vec<Line> = self.foot(foot.width.into(), theme);
        frame.render_widget(Paragraph::new(said), foot);
    }

    fn cells(&self, line: &DrinkLine, theme: &Theme) -> Row {
        let setup = &self.view.setup;
        let show = setup.venue.show();
        let Some(drink) = setup.drink(line.drink) else { return Row::Cells(Vec::new()) };
        let menu = self.view.menu(drink);
        let serve = line.serve.as_ref();
        let cost = serve.map(|serve| serve::cost_words(setup, &serve.cost));
        let earning = serve.and_then(|serve| serve.earning);
        let share = earning.and_then(|e| e.pour_cost);
        // Above the target it stands out, and it says so in the line below.
        let dear = share.is_some_and(|share| share * 10_000.0 > setup.venue.target_pour_cost as f64);
        let share = share.map(|share| format!("{}{}", if dear { "! " } else { "" }, serve::percent(share)));
        let poured = serve.map(|serve| &serve.poured).filter(|poured| poured.glass.volume() > 0.0);
        let volume = poured.map(|poured| show.amount(Basis::Volume, poured.glass.amount()));
        let allergens = serve.map(|serve| serve.allergens.words());
        let name = text::safe(&drink.name) + &self.view.when_on(drink);
        let cells = [
            (Some(name), theme.text),
            (menu.map(|menu| show.money(menu.price)), theme.text),
            (Some(cost.unwrap_or_else(|| "?".to_owned())), theme.text),
            (share, if dear { theme.warning } else { theme.text }),
            (earning.map(|e| show.money(e.margin)), theme.text),
            (Some(decimal::shown(line.sold, 3)), theme.text),
            (poured.map(strength), theme.text),
            (volume, theme.text),
            (menu.and_then(|menu| menu.method).map(|method| method.said().to_owned()), theme.text),
            (allergens, theme.text),
            (menu.and_then(|menu| menu.glass.as_deref()).map(text::safe), theme.text),
        ];
        let cell = |(words, style): (Option<String>, ratatui::style::Style)| {
            Line::from(Span::styled(words.unwrap_or_default(), style))
        };
        Row::Cells(cells.map(cell).to_vec())
    }

    /// What the drink under the cursor takes, or what is not known of it.
    fn foot(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let Some(line) = self.lines.get(self.window.selected()) else { return Vec::new() };
        let setup = &self.view.setup;
        let spec = setup.drink(line.drink).and_then(|drink| drink.specs.at(self.view.larder.day));
        let takes: Vec<String> = spec
            .map(|(_, spec)| spec.as_slice())
            .unwrap_or_default()
            .iter()
            .map(|part| format!("{} {}", text::safe(&part.written), text::safe(setup.item_name(part.item))))
            .collect();
        let first = if takes.is_empty() { word!("takes nothing yet").to_owned() } else { takes.join(" · ") };
        let mut said = vec![Line::from(Span::styled(text::fit(&first, wide), theme.text))];
        let missing = line.serve.as_ref().map(|serve| serve.cost.missing.as_slice()).unwrap_or_default();
        let target = decimal::shown(setup.venue.target_pour_cost, 2);
        let second = match missing {
            _ if !self.view.sees_costs() => word!("Sold: in the last four weeks with sales.").to_owned(),
            [] => {
                say!("! is above the pour cost aimed at, {target} %. Sold: in the last four weeks with sales.", target)
            }
            some => say!("No price is known of {some}.", some = serve::names(setup, some)),
        };
        said.push(Line::from(Span::styled(text::fit(&second, wide), theme.muted)));
        said
    }
}

fn strength(poured: &Poured) -> String {
    serve::at_least(words::fixed(100.0 * poured.glass.strength(), 1), &poured.content.strength_unknown)
}
