//! Drawing the Losses screen and its form.

use super::form::{Form, Part, fitting_reasons};
use super::{LossesScreen, word};
use crate::domain::ledger::Loss;
use crate::domain::venue::{Reason, Setup};
use crate::tui::screen::{Scene, fitting};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::field::Field;
use crate::tui::widget::panel::{centred, panel};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span, Text};
use ratatui::widgets::{Paragraph, Wrap};

const COLUMNS: &[Column] = &[
    Column::words(text!("when"), Width::Fixed(16), 1),
    Column::words(text!("item"), Width::Flex(14), 0),
    Column::figures(text!("amount"), 8, 0),
    Column::words(text!("reason"), Width::Fixed(14), 0),
    Column::words(text!("place"), Width::Flex(9), 3),
    Column::words(text!("by"), Width::Fixed(4), 2),
    Column::words(text!("note"), Width::Flex(10), 4),
];

/// The form's box; the matches under the item; the message under a field.
const WIDTH: u16 = 78;
const HEIGHT: u16 = 16;
const MATCHES: u16 = 6;
const MESSAGE: u16 = 2;
/// Cells of a field's name.
const TITLE: u16 = 10;

impl LossesScreen {
    /// Draws the sums of the last days, the losses, and the form if it is open.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(3), Constraint::Fill(1), Constraint::Length(1)]).areas(area);
        let (wide, theme) = (usize::from(area.width), scene.theme);
        frame.render_widget(Paragraph::new(self.head(wide, scene)), head);
        if self.rows.is_empty() {
            let said = vec![
                Line::from(word!("No loss is written down.")),
                Line::from(word!(
                    "`a` writes one down: what was spilt, broken, given away, drunk by the staff, tasted or off."
                )),
                Line::from(word!("What is written down here is not missing in the variance.")),
            ];
            frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), body);
        } else {
            let mut window = std::mem::take(&mut self.window);
            let row = |at: usize| self.row(&self.rows[at]);
            columns::draw(frame, body, COLUMNS, self.rows.len(), &mut window, row, theme);
            self.window = window;
            frame.render_widget(self.foot(wide, theme), foot);
        }
        if let Some(form) = &mut self.form {
            draw_form(form, &self.setup, frame, area, theme);
        }
        if let Some(question) = self.question() {
            question.draw(frame, area, theme);
        }
    }

    fn head(&self, wide: usize, scene: Scene) -> Vec<Line<'static>> {
        let title = Span::styled(word!("Last 7 business days:"), scene.theme.title);
        let mut sums = self.sums(scene.now);
        if sums.is_empty() {
            sums.push(word!("nothing was lost").to_owned());
        }
        let parts = std::iter::once(title).chain(sums.into_iter().map(Span::raw));
        fitting::lines(parts, wide, 2)
    }

    fn row(&self, loss: &Loss) -> Row {
        Row::Cells(vec![
            Line::from(self.setup.venue.days.short(loss.at)),
            Line::from(text::safe(self.setup.item_name(loss.item))),
            Line::from(self.amount(loss)),
            Line::from(word(loss.reason)),
            Line::from(loss.place.map_or(String::new(), |place| text::safe(self.setup.place_name(place)))),
            Line::from(Self::words(loss.by.as_ref())),
            Line::from(Self::words(loss.note.as_ref())),
        ])
    }

    /// All of the loss under the cursor, for windows that have dropped columns or cut a note.
    fn foot(&self, wide: usize, theme: &Theme) -> Line<'static> {
        let Some(loss) = self.rows.get(self.window.selected()) else { return Line::default() };
        let place = loss.place.map_or(String::new(), |place| text::safe(self.setup.place_name(place)));
        let by = loss.by.as_ref().map_or(String::new(), |by| say!("by {by}", by = text::safe(by)));
        let note = text::fit(&Self::words(loss.note.as_ref()), wide / 2);
        let name = text::fit(&text::safe(self.setup.item_name(loss.item)), wide / 3);
        let at = self.setup.venue.days.short(loss.at);
        let parts = [name, at, note, place, by].map(|part| Span::styled(part, theme.muted));
        fitting::line(parts, wide)
    }
}

/// Draws the form over the list: the fields one under the other, and under the one that is typed in what is understood
/// there, what it amounts to, or what is wrong.
fn draw_form(form: &mut Form, setup: &Setup, frame: &mut Frame, area: Rect, theme: &Theme) {
    let inner = panel(frame, centred(area, WIDTH, HEIGHT), word!("Write down a loss"), theme);
    let mut y = inner.y;
    for part in Part::ALL {
        let has_focus = part == form.focus;
        let matches = if has_focus && part == Part::Item { MATCHES } else { 0 };
        let height = (1 + matches).min(inner.bottom().saturating_sub(y));
        if height == 0 {
            return;
        }
        let title = Rect { y, height: 1, width: TITLE.min(inner.width), ..inner };
        let style = if has_focus { theme.title } else { theme.text };
        let mark = if has_focus { ">" } else { " " };
        frame.render_widget(Span::styled(format!("{mark}{}", part.title()), style), title);
        let value = Rect { x: title.right(), y, width: inner.width - title.width, height };
        draw_part(form, part, setup, frame, value, theme);
        y += height;
        if has_focus {
            let height = MESSAGE.min(inner.bottom().saturating_sub(y));
            let message = Rect { x: title.right(), y, width: inner.width - title.width, height };
            frame.render_widget(message_of(form, part, setup, theme), message);
            y += height;
        }
    }
}

fn draw_part(form: &mut Form, part: Part, setup: &Setup, frame: &mut Frame, area: Rect, theme: &Theme) {
    let has_focus = part == form.focus;
    let short = |cells: u16| Rect { width: area.width.min(cells), height: 1, ..area };
    let field = |field: &Field, cells: u16, frame: &mut Frame| field.draw(frame, short(cells), has_focus, theme);
    match part {
        Part::Item if has_focus => form.finder.draw_inside(frame, area, theme),
        Part::Item => {
            let name = form.item.map_or(word!("not chosen yet"), |item| setup.item_name(item));
            let name = text::fit(&text::safe(name), area.width.into());
            frame.render_widget(Span::styled(name, theme.title), short(area.width));
        }
        Part::Quantity => {
            field(&form.quantity, 20, frame);
            let beside =
                Rect { x: area.x + area.width.min(21), width: area.width.saturating_sub(21), height: 1, ..area };
            frame.render_widget(amounts_to(form, setup, beside.width), beside);
        }
        Part::Reason => {
            let names = Reason::ALL.iter().map(|reason| vec![word(*reason)]).collect::<Vec<_>>();
            let drawn = match Reason::ALL.iter().position(|reason| Some(*reason) == form.reason) {
                Some(here) => choice(&names, here, has_focus, area.width, theme),
                // Nothing is chosen, so nothing stands out.
                None if has_focus => fitting::line(names.concat().into_iter().map(Span::raw), area.width.into()),
                None => Line::from(Span::styled(word!("not said"), theme.text)),
            };
            frame.render_widget(drawn, short(area.width));
        }
        Part::Place => {
            let mut names = vec![vec![word!("not said").to_owned()]];
            names.extend(setup.places.iter().map(|place| vec![text::safe(&place.name)]));
            let here = form.place.and_then(|id| setup.places.iter().position(|p| p.id == id)).map_or(0, |n| n + 1);
            frame.render_widget(choice(&names, here, has_focus, area.width, theme), short(area.width));
        }
        Part::By => field(&form.by, 12, frame),
        Part::Note => field(&form.note, area.width, frame),
    }
}

/// All that can be chosen while it is being chosen, else only what is chosen.
fn choice(names: &[Vec<String>], here: usize, open: bool, width: u16, theme: &Theme) -> Line<'static> {
    if open {
        return fitting::strip(names, here, width.into(), theme);
    }
    let name = names.get(here).and_then(|forms| forms.first()).cloned().unwrap_or_default();
    Line::from(Span::styled(text::fit(&name, width.into()), theme.title))
}

/// What the quantity is in the book's own unit, as it is typed.
fn amounts_to(form: &Form, setup: &Setup, width: u16) -> Line<'static> {
    let item = form.item.and_then(|id| setup.item(id));
    match (item, form.amount(setup)) {
        (Some(item), Ok(amount)) => {
            let show = setup.venue.show();
            let containers = show.containers(amount, item.size);
            let containers = match containers.as_str() {
                "0.0" => String::new(),
                some => say!("{some} containers", some),
            };
            fitting::line([format!("= {}", show.amount(item.basis, amount)), containers].map(Span::raw), width.into())
        }
        _ => Line::default(),
    }
}

/// What is wrong with a field, else what it takes, broken at blanks.
fn message_of(form: &Form, part: Part, setup: &Setup, theme: &Theme) -> Paragraph<'static> {
    let broken = |text: Text<'static>| Paragraph::new(text).wrap(Wrap { trim: true });
    if let Some((_, wrong)) = form.error.as_ref().filter(|(at, _)| *at == part) {
        let said =
            Line::from(vec![Span::styled(word!("Not so: "), theme.error), Span::styled(text::safe(wrong), theme.text)]);
        return broken(Text::from(said));
    }
    let chosen = form.item.filter(|_| form.finder.query().is_empty()).map(|item| setup.item_name(item));
    let hint = match part {
        Part::Item if chosen.is_some() => {
            say!("Enter leaves {chosen}; type to choose another", chosen = text::safe(chosen.unwrap_or_default()))
        }
        Part::Item => word!(
            "Some letters of the name: words in any order, their letters in order; Up and Down choose; or scan it"
        )
        .to_owned(),
        Part::Quantity => {
            let item = form.item.and_then(|id| setup.item(id));
            let size =
                item.map_or(String::new(), |item| format!(" ({})", setup.venue.show().amount(item.basis, item.size)));
            let unit = item.map_or("ml", |item| setup.venue.show().symbol(item.basis));
            let first = if unit == "ml" { word!("60 ml, 2 cl or 2 oz") } else { unit_example(unit) };
            say!("{first}; 1 btl or 1 is a whole container{size}, .3 is three tenths of one", first, size)
        }
        Part::Reason if form.letters.is_empty() || form.reason.is_some() => {
            word!("The first letters of it, such as b, st or spi; or Left and Right choose").to_owned()
        }
        Part::Reason => format!("“{}”: {}?", form.letters, fitting_reasons(&form.letters).join(word!(" or "))),
        Part::Place => word!("Where it stood; Left and Right choose, or the first letter; may stay empty").to_owned(),
        Part::By => word!("Initials; may stay empty").to_owned(),
        Part::Note => word!("Anything to remember; may stay empty. Enter keeps the loss").to_owned(),
    };
    broken(Text::styled(hint, theme.muted))
}

fn unit_example(unit: &str) -> &'static str {
    match unit {
        "g" => word!("50 g or 0.2 kg"),
        "each" => "2 each",
        _ => word!("60 ml, 2 cl or 2 oz"),
    }
}
