//! Drawing the list: the counters' eyes, then every item that is ever read opened, with how exact each way is.

use super::form::{Part, ShapeForm};
use super::{GaugeLine, GaugingScreen};
use crate::domain::gauge::{Eye, Reading};
use crate::domain::measure::{Amount, number_of};
use crate::domain::rows::GaugingRow;
use crate::tui::screen::{Scene, fitting};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::container;
use crate::tui::widget::panel::{centred, panel};
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

/// Half full, each way: how exact it is stays when the window is narrow.
const COLUMNS: &[Column] = &[
    Column::words(text!("item"), Width::Flex(18), 0),
    Column::figures(text!("+/- by eye"), 10, 0),
    Column::figures(text!("scale"), 7, 0),
    Column::figures(text!("ruler"), 7, 1),
    Column::figures(text!("empty"), 8, 2),
    Column::words(text!("shape"), Width::Flex(12), 3),
];

impl GaugingScreen {
    /// Draws the list, the page of the item that is open, and over it the form of a shape.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        match self.page.is_some() {
            true => self.draw_page(frame, area, scene),
            false => self.draw_list(frame, area, scene),
        }
        if let Some(form) = &self.form {
            draw_form(form, frame, area, scene.theme);
        }
    }

    fn draw_list(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let head = self.head(area.width.into(), (area.height / 4).max(1).into(), theme);
        let tall = u16::try_from(head.len()).unwrap_or(1);
        let [above, body, foot] =
            Layout::vertical([Constraint::Length(tall), Constraint::Fill(1), Constraint::Length(2)]).areas(area);
        frame.render_widget(Paragraph::new(head), above);
        if self.lines.is_empty() {
            let said = word!("The book has no item that is ever read opened: S takes items in (a).");
            frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), body);
            return;
        }
        let mut window = std::mem::take(&mut self.window);
        let row = |at: usize| match self.lines.get(at) {
            Some(GaugeLine::Heading(title, lines)) => {
                Row::Heading(Line::from(Span::styled(format!("{title}: {lines}"), theme.title)))
            }
            Some(GaugeLine::Item(row)) => self.cells(&self.view.rows[*row]),
            None => Row::Cells(Vec::new()),
        };
        columns::draw(frame, body, COLUMNS, self.lines.len(), &mut window, row, theme);
        self.window = window;
        frame.render_widget(Paragraph::new(self.foot(foot.width.into(), theme)), foot);
    }

    /// Every counter's eye in words.
    fn head(&self, wide: usize, most: usize, theme: &Theme) -> Vec<Line<'static>> {
        const LABEL: usize = 6;
        let room = wide.saturating_sub(LABEL).max(1);
        let eyes = self.view.gauges.eyes().map(|(by, eye)| format!("{}: {}", text::safe(by), eye_words(*eye)));
        let mut said: Vec<String> = eyes.map(|eye| text::fit(&eye, room)).collect();
        if said.is_empty() {
            let none = word!("No eye is checked yet: when a count is closed, some opened ones can be weighed as well.");
            said = text::wrap(none, room);
        }
        if said.len() > most {
            let hidden = said.len() + 1 - most;
            said.truncate(most.saturating_sub(1));
            said.push(say!("and {hidden} more, in a higher window", hidden));
        }
        let line = |(n, said): (usize, String)| {
            let label = text::pad_right(if n == 0 { word!("Eyes") } else { "" }, LABEL);
            Line::from(vec![Span::styled(label, theme.title), Span::raw(said)])
        };
        said.into_iter().enumerate().map(line).collect()
    }

    fn cells(&self, row: &GaugingRow) -> Row {
        let setup = &self.view.setup;
        let name = text::safe(setup.item_name(row.item));
        let Some(item) = setup.item(row.item) else { return Row::Cells(vec![Line::from(name)]) };
        let show = setup.venue.show();
        let u = |u: f64| show.amount(item.basis, Amount::rounded(u));
        let vessel = self.view.vessel(row.item);
        let empty = vessel.and_then(|v| v.empty).map(|e| format!("{:.0} g", e.weight / 1_000.0));
        let shape = item.shape.map(|shape| text::safe(setup.shape_name(shape)));
        let scale = row.on_scale.filter(|_| row.can_weigh).map(u);
        let cells = [Some(name), Some(u(row.by_eye)), scale, row.by_ruler.map(u), empty, shape];
        Row::Cells(cells.into_iter().map(|cell| Line::from(cell.unwrap_or_default())).collect())
    }

    /// What the item under the cursor lacks.
    fn foot(&self, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let Some(row) = self.under_cursor() else { return Vec::new() };
        let name = text::fit(&text::safe(self.view.setup.item_name(row.item)), wide / 2);
        let lacks = self.lacks(row);
        let first = fitting::line([Span::raw(name), Span::raw(lacks)], wide);
        vec![first, Line::from(Span::styled(word!("Figures: half full, one standard uncertainty."), theme.muted))]
    }

    pub(super) fn lacks(&self, row: &GaugingRow) -> String {
        let vessel = self.view.vessel(row.item);
        let empty = vessel.is_some_and(|v| v.empty.is_some());
        let heavy = vessel.is_some_and(|v| v.per_unit().is_some());
        match (empty, heavy) {
            (true, true) => word!("can be weighed").to_owned(),
            (false, true) => word!("to weigh it: weigh an empty one").to_owned(),
            (true, false) => word!("to weigh it: weigh a full one, or say its strength or sugar").to_owned(),
            (false, false) => word!("to weigh it: weigh a full and an empty one").to_owned(),
        }
    }
}

/// A counter's eye, kindly: nobody's eye is perfect, and what it tends to is taken off.
pub(crate) fn eye_words(eye: Eye) -> String {
    let tenths = |share: f64| share * 10.0;
    let (bias, u, spread) = (tenths(eye.bias), tenths(eye.u_bias), tenths(eye.spread));
    let weighed = number_of(eye.pairs, word!("weighed"), word!("weighed"));
    // What is known of the bias is taken off, sure or not, so it is said.
    let perhaps = if bias.abs() < 2.0 * u { word!("perhaps ") } else { "" };
    let bias = if bias.abs() < 0.05 {
        word!("reads true").to_owned()
    } else if bias > 0.0 {
        say!("reads {perhaps}{bias} tenths high", perhaps, bias = words::fixed(bias, 1))
    } else {
        say!("reads {perhaps}{bias} tenths low", perhaps, bias = words::fixed(-bias, 1))
    };
    say!("{bias}, give or take {spread} ({weighed})", bias, spread = words::fixed(spread, 1), weighed)
}

/// A share of what a container holds, as one types it by eye: `.57`.
pub(crate) fn share_words(share: f64) -> String {
    let words = words::fixed(share.max(0.0), 2);
    words.strip_prefix('0').unwrap_or(&words).to_owned()
}

/// The form's box.
const WIDTH: u16 = 78;
const HEIGHT: u16 = 15;
const TITLE: u16 = 13;
const FIELD: u16 = 24;

/// Draws the form: the fields from the table upwards, what is wrong or expected, and the container as it is measured.
fn draw_form(form: &ShapeForm, frame: &mut Frame, area: Rect, theme: &Theme) {
    let inner = panel(frame, centred(area, WIDTH, HEIGHT), word!("The container, from outside or by filling"), theme);
    let rows = u16::try_from(Part::ALL.len()).unwrap_or(u16::MAX);
    let [fields, below] = Layout::vertical([Constraint::Length(rows), Constraint::Fill(1)]).areas(inner);
    for (at, (part, y)) in Part::ALL.into_iter().zip(fields.y..fields.bottom()).enumerate() {
        let has_focus = at == form.focus;
        let (mark, style) = if has_focus { (">", theme.title) } else { (" ", theme.text) };
        let title = Rect { y, height: 1, width: TITLE.min(fields.width), ..fields };
        frame.render_widget(Span::styled(format!("{mark}{}", part.title()), style), title);
        let room = fields.width.saturating_sub(TITLE);
        let wide = if part == Part::Fillings && has_focus { room } else { FIELD.min(room) };
        form.fields[at].draw(frame, Rect { x: fields.x + title.width, y, width: wide, height: 1 }, has_focus, theme);
    }
    let said = match form.error.as_ref().filter(|(at, _)| *at == form.focus) {
        Some((_, wrong)) => Line::from(vec![Span::styled(word!("Not so: "), theme.error), Span::raw(wrong.clone())]),
        None => Line::from(Span::styled(Part::ALL[form.focus].hint(), theme.muted)),
    };
    frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), below);
    let left = TITLE + FIELD + 2;
    if fields.width > left + 12 {
        let beside = Rect { x: fields.x + left, width: fields.width - left, ..fields };
        match form.outline() {
            Some(outline) if Part::ALL[form.focus] != Part::Fillings => {
                let level = outline.height_of(0.5);
                container::draw(frame, beside, &outline, Some(level), theme);
                let text =
                    Line::from(Span::styled(say!("half: {level} mm", level = words::fixed(level, 0)), theme.muted));
                frame.render_widget(text.right_aligned(), Rect { height: 1, ..beside });
            }
            _ => {}
        }
    }
}

/// How a reading is said: `.4`, `812 g on the scale`, `143 mm high`.
pub(super) fn reading_words(reading: Reading) -> String {
    match reading {
        Reading::Sight(sight) => say!("{sight} by eye", sight),
        Reading::Mass(mass) => say!("{mass} on the scale", mass),
        Reading::Height(_) => say!("{reading} by ruler", reading),
    }
}
