//! Choosing what to count.

use crate::domain::ledger::Count;
use crate::domain::rows::CountChoice;
use crate::domain::venue::{DayRule, Moment};
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, Scene};
use crate::tui::text;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::window::Window;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

/// The list of what can be counted.
#[derive(Debug)]
pub struct CountStart {
    choices: Vec<CountChoice>,
    open: Option<Count>,
    days: DayRule,
    blind: bool,
    window: Window,
}

const COLUMNS: &[Column] = &[
    Column::words("What to count", Width::Flex(24), 0),
    Column::figures("lines", 6, 1),
    Column::words("last counted", Width::Fixed(16), 0),
];

impl CountStart {
    /// The choices, and a count that was begun and not closed.
    pub fn new(choices: Vec<CountChoice>, open: Option<Count>, days: DayRule, blind: bool) -> CountStart {
        CountStart { choices, open, days, blind, window: Window::default() }
    }

    /// Takes fresh choices; the cursor stays where it is.
    pub fn refresh(&mut self, choices: Vec<CountChoice>, open: Option<Count>) {
        self.choices = choices;
        self.open = open;
        self.window.select(self.window.selected(), self.choices.len());
    }

    /// What an action asks for.
    pub fn update(&mut self, action: Action) -> Effect {
        match action {
            Action::Open => match (&self.open, self.choices.get(self.window.selected())) {
                (Some(open), _) => Effect::OpenCount(open.id),
                (None, Some(choice)) => Effect::BeginCount { places: choice.places.clone(), blind: self.blind },
                (None, None) => Effect::None,
            },
            Action::WriteFiles => match self.choices.get(self.window.selected()) {
                Some(choice) => Effect::WriteCountSheet(choice.places.clone()),
                None => Effect::None,
            },
            Action::ToggleBlind => {
                self.blind = !self.blind;
                Effect::None
            }
            _ => {
                self.window.apply(action, self.choices.len());
                Effect::None
            }
        }
    }

    /// Draws the list.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body, foot] =
            Layout::vertical([Constraint::Length(2), Constraint::Fill(1), Constraint::Length(3)]).areas(area);
        let title = match &self.open {
            Some(open) => format!("“{}” is not closed. Enter goes on with it.", text::safe(&open.name)),
            None if self.choices.first().is_none_or(|c| c.places.is_empty()) => {
                "There is no place yet: load a places.csv first (`tantalus load DIR`).".to_owned()
            }
            None if self.choices.first().is_none_or(|c| c.lines == 0) => {
                "No item has a shelf yet: walk a place and add what stands there with `a`, or load shelves.csv."
                    .to_owned()
            }
            None => "Choose what to walk along. Lines are kept one by one as you enter them.".to_owned(),
        };
        frame.render_widget(Paragraph::new(Line::from(Span::styled(title, theme.title))), head);
        let (choices, days) = (&self.choices, self.days);
        let row = |at: usize| {
            let choice = &choices[at];
            let last = choice.last.map_or("never".to_owned(), |at: Moment| days.short(at));
            Row::Cells(vec![
                Line::from(text::safe(&choice.label)),
                Line::from(choice.lines.to_string()),
                Line::from(last),
            ])
        };
        columns::draw(frame, body, COLUMNS, choices.len(), &mut self.window, row, theme);
        let blind = if self.blind { "Blind: yes" } else { "Blind: no" };
        let lines = vec![
            Line::from(vec![Span::styled(blind, theme.title), Span::raw("  (b changes it)")]),
            Line::from(
                "A blind count hides what is expected and sold of a place until that place is done, so that nobody \
                 counts what they think should be there.",
            ),
        ];
        frame.render_widget(Paragraph::new(lines).wrap(Wrap { trim: true }), foot);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::venue::PlaceId;

    #[test]
    fn a_sheet_is_written_of_what_is_chosen() {
        let choice = |label: &str, places: &[i64]| CountChoice {
            label: label.to_owned(),
            places: places.iter().map(|id| PlaceId(*id)).collect(),
            lines: 3,
            last: None,
        };
        let days = DayRule { zone: chrono_tz::UTC, starts: chrono::NaiveTime::MIN };
        let mut start = CountStart::new(vec![choice("All", &[1, 2]), choice("Cellar", &[2])], None, days, false);
        assert_eq!(start.update(Action::WriteFiles), Effect::WriteCountSheet(vec![PlaceId(1), PlaceId(2)]));
        start.update(Action::Down);
        assert_eq!(start.update(Action::WriteFiles), Effect::WriteCountSheet(vec![PlaceId(2)]));
        let mut nothing = CountStart::new(Vec::new(), None, days, false);
        assert_eq!(nothing.update(Action::WriteFiles), Effect::None);
    }
}
