//! Which par rules many items at once: those of a kind, or all.

use crate::domain::rows::{ParView, Ruling};
use crate::domain::venue::{Kind, ParFrom};
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, Scene};
use crate::tui::text;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::scroll::Scroll;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// The choices, and the one the cursor is on.
#[derive(Debug)]
pub(super) struct Many {
    kind: Option<Kind>,
    at: usize,
    scroll: Scroll,
}

/// A choice: whose par, and which rules.
#[derive(Clone, Copy)]
struct Choice {
    kind: Option<Kind>,
    from: ParFrom,
}

impl Choice {
    fn ruling(self, view: &ParView) -> Ruling {
        let of = |item| self.kind.is_none_or(|kind| view.setup.item(item).is_some_and(|item| item.kind == kind));
        view.ruling(self.from, of)
    }

    fn words(self) -> String {
        let whose = self
            .kind
            .map_or(word!("all items").to_owned(), |kind| say!("the items of kind {kind}", kind = kind.said()));
        match self.from {
            ParFrom::Demand => say!("Let demand rule {whose}", whose),
            ParFrom::Hand => say!("Let the pars set by hand rule {whose}", whose),
        }
    }
}

impl Many {
    /// For a kind, where there is one, and for all.
    pub(super) fn new(kind: Option<Kind>) -> Many {
        Many { kind, at: 0, scroll: Scroll::default() }
    }

    fn choices(&self) -> Vec<Choice> {
        let whose = self.kind.into_iter().map(Some).chain([None]);
        whose.flat_map(|kind| [ParFrom::Demand, ParFrom::Hand].map(|from| Choice { kind, from })).collect()
    }

    pub(super) fn apply(&mut self, action: Action, view: &ParView) -> Effect {
        let choices = self.choices();
        let last = choices.len().saturating_sub(1);
        match action {
            Action::Up => self.at = self.at.saturating_sub(1),
            Action::Down => self.at = (self.at + 1).min(last),
            Action::First | Action::PageUp => self.at = 0,
            Action::Last | Action::PageDown => self.at = last,
            Action::Open => {
                let Some(choice) = choices.get(self.at) else { return Effect::None };
                let ruling = choice.ruling(view);
                let words = ruling.words(view);
                if ruling.items.is_empty() {
                    return Effect::Say(Notice::info(words));
                }
                return Effect::ask(
                    say!(
                        "{words}? {words_2}. The other par stays beside it; u puts all back.",
                        words = choice.words(),
                        words_2 = text::capital(&words)
                    ),
                    say!(
                        "changes {items}",
                        items =
                            crate::domain::measure::number_of(ruling.items.len() as u64, word!("item"), word!("items"))
                    ),
                    word!("leaves all as it is"),
                    Effect::RulePars(ruling.items, choice.from),
                );
            }
            _ => {}
        }
        Effect::None
    }

    pub(super) fn draw(&mut self, view: &ParView, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body] = Layout::vertical([Constraint::Length(2), Constraint::Fill(1)]).areas(area);
        let title = word!("Which par rules, for many items at once");
        frame.render_widget(Span::styled(text::fit(title, head.width.into()), theme.title), head);
        let wide = usize::from(body.width);
        let mut lines = Vec::new();
        let mut here = [0; 2];
        for (n, choice) in self.choices().into_iter().enumerate() {
            let style = if n == self.at { theme.selected } else { theme.text };
            let mark = if n == self.at { "> " } else { "  " };
            let first = lines.len();
            lines.push(Line::from(Span::styled(text::fit(&format!("{mark}{}", choice.words()), wide), style)));
            for line in text::wrap(&choice.ruling(view).words(view), wide.saturating_sub(4)) {
                lines.push(Line::from(Span::styled(format!("    {line}"), theme.muted)));
            }
            if n == self.at {
                here = [lines.len() - 1, first];
            }
            lines.push(Line::default());
        }
        // All of the choice is to be in view, and rather its beginning than its end.
        here.into_iter().for_each(|line| self.scroll.show(line));
        self.scroll.draw(frame, body, lines, theme);
    }
}
