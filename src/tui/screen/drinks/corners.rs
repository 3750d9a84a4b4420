//! Which drinks sell and which earn, as points in a plane.

use crate::domain::drink::matrix::{Corner, Matrix, Standing};
use crate::domain::measure::decimal;
use crate::domain::rows::{DrinksView, Selection};
use crate::domain::venue::DrinkId;
use crate::tui::keymap::Action;
use crate::tui::screen::{Scene, serve};
use crate::tui::text;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::plot::{self, Axis, Plot, Point};
use crate::tui::widget::window::Window;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

const COLUMNS: &[Column] = &[
    Column::words(text!("drink"), Width::Flex(16), 0),
    Column::figures(text!("sold"), 5, 0),
    Column::figures(text!("brings in"), 9, 0),
    Column::words(text!("corner"), Width::Fixed(8), 0),
];

/// The drinks of the matrix, those that earn most in all first.
pub(super) struct Corners {
    selection: Selection,
    matrix: Matrix,
    /// Drinks left out because their cost or price is not known, or since they came later.
    unknown: usize,
    window: Window,
}

impl Corners {
    pub(super) fn selection(&self) -> Selection {
        self.selection
    }

    pub(super) fn new(selection: Selection, view: &DrinksView, on: Option<DrinkId>) -> Corners {
        let lines = view.lines(selection);
        let matrix = view.matrix(&lines).most_first();
        let mut window = Window::default();
        let at = on.and_then(|drink| matrix.rows.iter().position(|row| row.sold.drink == drink));
        window.select(at.unwrap_or(0), matrix.rows.len());
        Corners { selection, unknown: lines.len() - matrix.rows.len(), matrix, window }
    }

    pub(super) fn here(&self) -> Option<DrinkId> {
        self.matrix.rows.get(self.window.selected()).map(|row| row.sold.drink)
    }

    pub(super) fn apply(&mut self, action: Action) {
        self.window.apply(action, self.matrix.rows.len());
    }

    pub(super) fn draw(&mut self, view: &DrinksView, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(1), Constraint::Fill(1), Constraint::Length(2)]).areas(area);
        let over = view.sold_over.as_ref().map_or(word!("no sales yet").to_owned(), |days| {
            say!("{start} to {end}", start = words::day(days.start(), "%-d %b"), end = words::day(days.end(), "%-d %b"))
        });
        let title =
            say!("Which sell and earn: {title}, {over}; most in all first", title = self.selection.title(), over);
        frame.render_widget(Span::styled(text::fit(&title, head.width.into()), theme.title), head);
        if self.matrix.rows.is_empty() {
            let none = nothing_to_compare(view, self.unknown);
            frame.render_widget(Paragraph::new(none).wrap(ratatui::widgets::Wrap { trim: true }), body);
            return;
        }
        // The list keeps a width in which names can be read; what is left is for the plot, if that is enough.
        let list = 46.min(area.width);
        let [left, _, right] = if area.width >= list + 34 {
            Layout::horizontal([Constraint::Fill(1), Constraint::Length(2), Constraint::Length(list)]).areas(body)
        } else {
            let [above, below] =
                Layout::vertical([Constraint::Fill(1), Constraint::Length(body.height / 3)]).areas(body);
            [above, Rect::default(), below]
        };
        self.draw_plot(view, frame, left, scene);
        self.draw_list(view, frame, right, scene);
        let said: Vec<Line> = self.foot(view, foot.width.into()).into_iter().map(Line::from).collect();
        frame.render_widget(Paragraph::new(said), foot);
    }

    fn draw_plot(&self, view: &DrinksView, frame: &mut Frame, area: Rect, scene: Scene) {
        let currency = view.setup.venue.currency;
        let here = self.here();
        let glyphs = scene.theme.glyphs;
        let point = |row: &Standing| {
            let stressed = Some(row.sold.drink) == here;
            let mark = if stressed { glyphs.real.point } else { glyphs.within.point };
            Point { x: 100.0 * row.share, y: currency.major(row.sold.margin.0 as f64), mark, stressed }
        };
        let points: Vec<Point> = self.matrix.rows.iter().map(point).collect();
        let x = points.iter().map(|p| p.x);
        let y = points.iter().map(|p| p.y);
        let plot = Plot {
            x: Axis::around(x, Some(100.0 * self.matrix.popular), word!("percent of all sold"), |x| {
                words::fixed(x.max(0.0), 1)
            }),
            y: Axis::around(y, Some(currency.major(self.matrix.high)), word!("one brings in (digit: how many)"), |y| {
                words::fixed(y, 2)
            }),
            points,
            corners: [Corner::Secret, Corner::Anchor, Corner::Ballast, Corner::Draw].map(Corner::said),
            counted: true,
        };
        plot::draw(frame, area, &plot, scene.theme);
    }

    fn draw_list(&mut self, view: &DrinksView, frame: &mut Frame, area: Rect, scene: Scene) {
        let show = view.setup.venue.show();
        let mut window = self.window;
        let rows = &self.matrix.rows;
        let row = |at: usize| {
            let Some(row) = rows.get(at) else { return Row::Cells(Vec::new()) };
            let name = view.setup.drink(row.sold.drink).map_or("?", |drink| &drink.name);
            let cells = [
                text::safe(name),
                decimal::shown(row.sold.quantity, 3),
                show.money(row.sold.margin),
                row.corner.said().to_owned(),
            ];
            Row::Cells(cells.map(Line::from).to_vec())
        };
        columns::draw(frame, area, COLUMNS, rows.len(), &mut window, row, scene.theme);
        self.window = window;
    }

    fn foot(&self, view: &DrinksView, wide: usize) -> Vec<String> {
        let Some(row) = self.matrix.rows.get(self.window.selected()) else { return Vec::new() };
        let name = view.setup.drink(row.sold.drink).map_or("?", |drink| &drink.name);
        let (corner, share) = (row.corner, serve::percent(row.share));
        let mut said = vec![say!(
            "{name}: {corner}; {share} of all, {meaning}.",
            name = text::safe(name),
            corner,
            share,
            meaning = corner.meaning()
        )];
        if self.unknown > 0 {
            said.push(say!(
                "{unknown} left out: no cost or price is known, or they came later.",
                unknown = self.unknown
            ));
        }
        said.into_iter().flat_map(|line| text::wrap(&line, wide)).collect()
    }
}

/// Why no drink of so many can be compared, in words.
pub(crate) fn nothing_to_compare(view: &DrinksView, drinks: usize) -> &'static str {
    match (drinks, &view.sold_over, view.sold.values().any(|sold| *sold > 0)) {
        (0, ..) => word!("No drink is among these."),
        (_, None, _) => {
            word!("No sales are in the book yet, so nothing can be compared: `tantalus load` brings them in.")
        }
        (_, _, false) => word!("Nothing of these was sold in those days, so nothing can be compared."),
        _ => word!("Nothing of these that has a price and a known cost was sold in those days."),
    }
}
