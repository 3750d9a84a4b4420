//! Drawing the Book screen.

use super::BookScreen;
use super::people::{Form, PeoplePage};
use crate::domain::rows::{ActRow, PersonRow};
use crate::domain::venue::DayRule;
use crate::tui::screen::Scene;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::panel::{centred, panel};
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

const ACTS: &[Column] = &[
    Column::figures(text!("act"), 6, 3),
    Column::words(text!("when"), Width::Fixed(16), 0),
    Column::words(text!("by"), Width::Fixed(6), 0),
    Column::words(text!("deed"), Width::Fixed(19), 2),
    Column::words(text!("what"), Width::Flex(24), 0),
];

const PEOPLE: &[Column] = &[
    Column::words(text!("signs as"), Width::Fixed(10), 0),
    Column::words(text!("name"), Width::Flex(16), 1),
    Column::words(text!("role"), Width::Fixed(9), 0),
    Column::words(text!("PIN"), Width::Fixed(4), 0),
];

/// What is said under the list of people.
const PROTECTS: &str = text!(
    "Once there is a manager, a counter sees no costs and changes no set-up; once a manager has a PIN, nobody \
    does who has not given one. A PIN says who is at the screen: it does not protect the file from somebody who copies it."
);

pub(super) fn draw(screen: &mut BookScreen, frame: &mut Frame, area: Rect, scene: Scene) {
    let days = screen.view.setup.venue.days;
    if let Some(page) = &mut screen.people {
        return people(page, &screen.known, frame, area, scene.theme);
    }
    if let Some(page) = &mut screen.set_up {
        return page.draw(frame, area, &screen.view.setup, scene.theme);
    }
    if let Some((row, mut scroll)) = screen.reads.take() {
        let [head, body] = Layout::vertical([Constraint::Length(1), Constraint::Fill(1)]).areas(area);
        let title = say!("Act {id}: {deed}", id = row.act.id.0, deed = row.act.deed);
        frame.render_widget(Span::styled(text::fit(&title, head.width.into()), scene.theme.title), head);
        scroll.draw(frame, body, told(&row, &days, body.width.into(), scene.theme), scene.theme);
        screen.reads = Some((row, scroll));
        return;
    }
    let foot = foot(screen, area.width.into(), scene.theme);
    let tall = u16::try_from(foot.len()).unwrap_or(0).min(area.height / 2);
    let [body, below] = Layout::vertical([Constraint::Fill(1), Constraint::Length(tall)]).areas(area);
    let mut window = std::mem::take(&mut screen.window);
    let acts = &screen.view.acts;
    let row = |at: usize| act(&acts[at], &days, scene.theme);
    columns::draw(frame, body, ACTS, acts.len(), &mut window, row, scene.theme);
    screen.window = window;
    frame.render_widget(Paragraph::new(foot), below);
}

fn act(row: &ActRow, days: &DayRule, theme: &Theme) -> Row {
    let style = if row.undone.is_some() { theme.muted } else { theme.text };
    let mut said = row.said.join("; ");
    if let Some(undone) = row.undone {
        said = say!("[taken back by {undone}] {said}", undone = undone.0, said);
    }
    let cell = |said: String| Line::from(Span::styled(text::safe(&said), style));
    Row::Cells(vec![
        cell(row.act.id.0.to_string()),
        cell(days.short(row.act.at)),
        cell(row.act.by.clone().unwrap_or_default()),
        cell(row.act.deed.said().to_owned()),
        cell(said),
    ])
}

/// One act with all that it changed.
fn told(row: &ActRow, days: &DayRule, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
    let by = row.act.by.as_deref().map_or_else(|| word!("nobody had signed in").to_owned(), |by| say!("by {by}", by));
    let mut lines = vec![Line::from(text::safe(&format!("{}, {by}", days.short(row.act.at))))];
    if let Some(undone) = row.undone {
        lines.push(Line::from(Span::styled(say!("taken back by act {undone}", undone = undone.0), theme.warning)));
    }
    lines.push(Line::from(""));
    for said in &row.said {
        lines.extend(text::wrap(&text::safe(said), wide).into_iter().map(Line::from));
    }
    lines
}

/// Who has the book open, and what the cursor is on, in full.
fn foot(screen: &BookScreen, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    if let Some(row) = screen.current() {
        let said = text::wrap(&text::safe(&row.said.join("; ")), wide);
        lines.extend(said.into_iter().take(3).map(Line::from));
    }
    let here = match screen.here.len() {
        0 => word!("Nobody else has the book open.").to_owned(),
        _ => say!("Open elsewhere: {here}.", here = screen.here.join(" / ")),
    };
    lines.extend(
        text::wrap(&text::safe(&here), wide)
            .into_iter()
            .take(2)
            .map(|line| Line::from(Span::styled(line, theme.muted))),
    );
    lines
}

fn people(page: &mut PeoplePage, known: &[PersonRow], frame: &mut Frame, area: Rect, theme: &Theme) {
    let said: Vec<Line> = text::wrap(words::find(PROTECTS), area.width.into())
        .into_iter()
        .map(|line| Line::from(Span::styled(line, theme.muted)))
        .collect();
    let tall = u16::try_from(said.len()).unwrap_or(0).min(area.height / 2);
    let [body, below] = Layout::vertical([Constraint::Fill(1), Constraint::Length(tall)]).areas(area);
    if known.is_empty() {
        let said = text::wrap(word!("The book knows nobody yet: a takes somebody in."), body.width.into());
        frame.render_widget(Paragraph::new(said.into_iter().map(Line::from).collect::<Vec<_>>()), body);
    } else {
        let row = |at: usize| {
            let PersonRow { person, has_pin } = &known[at];
            Row::Cells(vec![
                Line::from(text::safe(&person.initials)),
                Line::from(text::safe(person.name.as_deref().unwrap_or_default())),
                Line::from(person.role.said()),
                Line::from(if *has_pin { word!("set") } else { "" }),
            ])
        };
        columns::draw(frame, body, PEOPLE, known.len(), &mut page.window, row, theme);
    }
    frame.render_widget(Paragraph::new(said), below);
    if let Some(form) = &page.form {
        draw_form(form, frame, area, theme);
    }
}

fn draw_form(form: &Form, frame: &mut Frame, area: Rect, theme: &Theme) {
    let inner = panel(frame, centred(area, 56, 5), word!("Somebody who signs here"), theme);
    for (row, (label, field, focus)) in
        [(word!("signs as "), &form.initials, !form.on_name), (word!("name     "), &form.name, form.on_name)]
            .into_iter()
            .enumerate()
    {
        let y = inner.y.saturating_add(u16::try_from(row).unwrap_or(0));
        let line = Rect { y, height: 1, ..inner }.intersection(inner);
        let wide = 9.min(line.width);
        frame.render_widget(Span::styled(label, theme.text), line);
        field.draw(frame, Rect { x: line.x + wide, width: line.width - wide, ..line }, focus, theme);
    }
}
