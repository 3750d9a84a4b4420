//! All that is doubtful about a bill, in a box that scrolls: to be read, or to be agreed to once all of it was seen.

use super::{Asking, BillPage};
use crate::domain::receive::{Problem, Weight};
use crate::tui::keymap::Action;
use crate::tui::screen::Effect;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::panel::{centred, panel};
use crate::tui::widget::scroll::Scroll;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// The widest that the box gets.
const WIDTH: u16 = 76;

/// How far it was read, and what for.
#[derive(Debug, Default)]
pub(super) struct Doubts {
    scroll: Scroll,
    /// It is asked whether to book it all the same, and the rest of the order is kept or given up then.
    keep_rest: Option<bool>,
}

impl Doubts {
    pub(super) fn to_book(keep_rest: bool) -> Doubts {
        Doubts { scroll: Scroll::default(), keep_rest: Some(keep_rest) }
    }

    fn asks(&self) -> bool {
        self.keep_rest.is_some()
    }

    pub(super) fn draw(&mut self, problems: &[Problem], frame: &mut Frame, area: Rect, theme: &Theme) {
        let area = area.intersection(frame.area());
        let room = usize::from(WIDTH.min(area.width).saturating_sub(4).max(1));
        let mut lines: Vec<Line<'static>> = Vec::new();
        for problem in problems.iter().filter(|problem| !self.asks() || problem.weight == Weight::Question) {
            lines.extend(worded(problem, room, theme));
        }
        if self.asks() {
            lines.push(Line::default());
            lines.push(Line::from(Span::styled(word!("Book it all the same?"), theme.title)));
        }
        let height = u16::try_from(lines.len()).unwrap_or(u16::MAX).saturating_add(5);
        let title = if self.asks() {
            word!("Sure? What is doubtful about the bill")
        } else {
            word!("What is doubtful about the bill")
        };
        let inner = panel(frame, centred(area, WIDTH, height), title, theme);
        let answers = inner.height.saturating_sub(1).min(2);
        let [body, _, foot] = Layout::vertical([
            Constraint::Fill(1),
            Constraint::Length(inner.height.saturating_sub(answers + 2).min(1)),
            Constraint::Length(answers),
        ])
        .areas(inner);
        self.scroll.draw(frame, body, lines, theme);
        let enter = match (self.scroll.is_at_end(), self.asks()) {
            (false, _) => word!("reads on"),
            (true, true) => word!("books it"),
            (true, false) => word!("closes"),
        };
        for ((key, does), y) in
            [(word!("Enter"), enter), (word!("Esc"), word!("goes back"))].into_iter().zip(foot.y..foot.bottom())
        {
            let line = Line::from(vec![
                Span::styled(text::pad_right(key, 7), theme.key),
                Span::styled(text::fit(does, usize::from(inner.width).saturating_sub(7)), theme.hint),
            ]);
            frame.render_widget(line, Rect { y, height: 1, ..foot });
        }
    }
}

/// One of them with its mark: `!` refuses the bill, `?` is asked, `-` is only said.
pub(super) fn worded(problem: &Problem, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
    let (mark, style) = match problem.weight {
        Weight::Refused => ("!", theme.error),
        Weight::Question => ("?", theme.warning),
        Weight::Note => ("-", theme.muted),
    };
    let said = text::wrap(&text::sentence(&text::safe(&problem.what)), wide.saturating_sub(2).max(1));
    let begin = |n| if n == 0 { mark } else { " " };
    said.into_iter()
        .enumerate()
        .map(|(n, line)| Line::from(Span::styled(format!("{} {line}", begin(n)), style)))
        .collect()
}

impl BillPage {
    /// Shows all that is to be said of the bill.
    pub(super) fn show_doubts(&mut self) -> Effect {
        if self.view.problems.is_empty() {
            return Effect::Say(Notice::info(word!("nothing about the bill is doubtful")));
        }
        self.asking = Some(Asking::Doubts(Doubts::default()));
        Effect::None
    }

    /// Reads on, and at the end agrees or closes.
    pub(super) fn read_doubts(&mut self, mut doubts: Doubts, action: Action) -> Effect {
        match (action, doubts.scroll.is_at_end(), doubts.keep_rest) {
            (Action::Cancel, ..) | (Action::Accept, true, None) => return Effect::None,
            (Action::Accept, true, Some(keep_rest)) => return self.accepted(keep_rest),
            (Action::Accept, false, _) => {
                doubts.scroll.apply(Action::PageDown);
            }
            _ => {
                doubts.scroll.apply(action);
            }
        }
        self.asking = Some(Asking::Doubts(doubts));
        Effect::None
    }
}
