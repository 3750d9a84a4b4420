//! After a count: a few opened containers on the scale, to learn how good the eye is that read them.

use super::gauging::{eye_words, share_words};
use super::{Effect, Scene};
use crate::domain::gauge::{Eye, Mass, Reading, Weighing};
use crate::domain::rows::EyeCheck;
use crate::domain::venue::Moment;
use crate::tui::keymap::{Action, Scope, Tab};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::window::Window;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph, Wrap};

/// An eye is rarely off by more than this share of a container.
const ANOTHER: f64 = 0.25;

/// Longest weight that can be typed.
const ENTRY_LENGTH: usize = 20;

const COLUMNS: &[Column] = &[
    Column::words("", Width::Fixed(1), 0),
    Column::words(text!("item"), Width::Flex(18), 0),
    Column::words(text!("place"), Width::Flex(9), 1),
    Column::figures(text!("you read"), 8, 0),
    Column::words(text!("on the scale"), Width::Fixed(14), 0),
    Column::figures(text!("by scale"), 8, 0),
];
/// The column that is typed in.
const WEIGHT: usize = 4;

/// A check under way.
#[derive(Debug)]
pub struct EyeCheckScreen {
    check: EyeCheck,
    window: Window,
    entry: Option<Field>,
    /// A weight that was hard to believe and said so: entered once more, it is believed.
    doubted: Option<String>,
}

impl EyeCheckScreen {
    /// A check, at its first container.
    pub fn new(check: EyeCheck) -> EyeCheckScreen {
        EyeCheckScreen { check, window: Window::default(), entry: None, doubted: None }
    }

    /// Which keys are live.
    pub fn scope(&self) -> Scope {
        if self.entry.is_some() { Scope::EyeCheckEntry } else { Scope::EyeCheck }
    }

    /// Whose eye is checked.
    pub fn by(&self) -> &str {
        &self.check.by
    }

    /// What an action asks for; [`Effect::Go`] ends the check.
    pub fn update(&mut self, action: Action, now: Moment) -> Effect {
        let lines = self.check.lines.len();
        if let Some(field) = &mut self.entry {
            return match action {
                Action::Accept => self.weigh(now),
                Action::Cancel => {
                    self.entry = None;
                    self.doubted = None;
                    Effect::None
                }
                _ => {
                    field.apply(action);
                    Effect::None
                }
            };
        }
        match action {
            Action::Type(c) => self.entry = Some(Field::with(ENTRY_LENGTH, &c.to_string())),
            Action::Edit => self.entry = Some(Field::new(ENTRY_LENGTH)),
            Action::Skip => self.window.step(1, lines),
            Action::Back => return Effect::Go(Tab::Variance),
            _ => {
                self.window.apply(action, lines);
            }
        }
        Effect::None
    }

    fn weigh(&mut self, now: Moment) -> Effect {
        let at = self.window.selected();
        let Some(field) = &self.entry else { return Effect::None };
        let typed = field.text().to_owned();
        let weight = match Mass::typed(&typed) {
            Ok(weight) => weight,
            Err(wrong) => return Effect::Say(Notice::error(wrong.to_string())),
        };
        let Some(fact) = self.check.weighing(at, weight, now) else { return Effect::None };
        let vessel = self.check.gauges.vessel(fact.item);
        let doubt = match vessel.map(|vessel| self.check.gauges.check_weighing(vessel, fact.state, weight)) {
            Some(Err(refused)) => return Effect::Say(Notice::error(refused.to_string())),
            Some(Ok(doubt)) => doubt.or_else(|| self.another(at, &fact)),
            None => None,
        };
        if let Some(doubt) = doubt.filter(|_| self.doubted.as_deref() != Some(typed.as_str())) {
            self.doubted = Some(typed);
            return Effect::Say(Notice::doubt(&doubt));
        }
        // Weighed once more, it is that one weighing anew.
        let before = self.check.lines.get(at).and_then(|line| line.weighed.as_ref()).map(|w| w.seq);
        match before {
            Some(seq) => Effect::Both(Box::new(Effect::TakeBackWeighing(seq)), Box::new(Effect::Weigh(fact))),
            None => Effect::Weigh(fact),
        }
    }

    /// What the eye and the scale say so differently that it may be another container that stands on the scale.
    fn another(&self, at: usize, fact: &Weighing) -> Option<String> {
        let seen = self.check.lines.get(at)?.seen;
        let found = self.check.found(fact)?;
        let same = (found - seen.share()).abs() <= ANOTHER;
        (!same).then(|| say!("{seen} by eye and {found} by scale of the same one", seen, found = share_words(found)))
    }

    /// The book has kept a weighing of this check. Says how the eye did, once the last one is weighed.
    pub fn weighed(&mut self, fact: Weighing, eye: Eye) -> Option<Notice> {
        let at = self.window.selected();
        if let Some(line) = self.check.lines.get_mut(at).filter(|line| line.item == fact.item) {
            line.weighed = Some(fact);
        }
        self.entry = None;
        self.doubted = None;
        let lines = self.check.lines.len();
        let open = |n: &usize| self.check.lines[*n].weighed.is_none();
        match (at..lines).chain(0..at).find(open) {
            Some(next) => {
                self.window.select(next, lines);
                None
            }
            None => {
                Some(Notice::info(say!("Thank you. Your eye {eye}. Esc goes on to the variance", eye = eye_words(eye))))
            }
        }
    }

    /// Text pasted, or typed by a scale all at once.
    pub fn paste(&mut self, pasted: &str) {
        self.entry.get_or_insert_with(|| Field::new(ENTRY_LENGTH)).paste(pasted);
    }

    /// Draws the containers to be weighed, and what is asked.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body] = Layout::vertical([Constraint::Length(4), Constraint::Fill(1)]).areas(area);
        let said = say!(
            "How good is the eye of {by}? Weigh these as they stand, with what was on them when their empty weight was \
             taken. What the eye tends to is taken off from then on; a coarse eye is no fault, it is only told apart \
             from what is missing.",
            by = text::safe(&self.check.by)
        );
        frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), head);
        let mut window = std::mem::take(&mut self.window);
        let selected = window.selected();
        let row = |at: usize| self.row(at, at == selected, theme);
        let cells = columns::draw(frame, body, COLUMNS, self.check.lines.len(), &mut window, row, theme);
        self.window = window;
        if let (Some(field), Some(Some(cell))) = (&self.entry, cells.get(WEIGHT)) {
            frame.render_widget(Clear, *cell);
            field.draw(frame, *cell, true, theme);
        }
    }

    fn row(&self, at: usize, selected: bool, theme: &Theme) -> Row {
        let Some(line) = self.check.lines.get(at) else { return Row::Cells(Vec::new()) };
        let typing = selected && self.entry.is_some();
        let weighed = line.weighed.as_ref();
        let found = weighed.and_then(|w| self.check.found(w)).map(share_words);
        let weight = weighed.filter(|_| !typing).map(|w| w.weight.to_string());
        Row::Cells(vec![
            Line::from(if weighed.is_some() { theme.glyphs.done } else { " " }),
            Line::from(text::safe(self.check.setup.item_name(line.item))),
            Line::from(text::safe(self.check.setup.place_name(line.place))),
            Line::from(Reading::Sight(line.seen).to_string()),
            Line::from(Span::styled(weight.unwrap_or_default(), theme.title)),
            Line::from(found.unwrap_or_default()),
        ])
    }
}

#[cfg(test)]
mod tests;
