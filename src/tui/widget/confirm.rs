//! A question that wants yes or no, and says what each will do.

use super::panel::{centred, panel};
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span, Text};
use ratatui::widgets::{Paragraph, Wrap};

/// The widest that the box gets.
const WIDTH: u16 = 56;

/// A question and its two answers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Confirm {
    /// What is asked; wrapped over as many lines as it takes.
    pub question: String,
    /// What Enter will do: `close the count`.
    pub yes: String,
    /// What Esc will do: `go on counting`.
    pub no: String,
}

impl Confirm {
    /// A question with what Enter does and what Esc does; all made harmless.
    pub fn new(question: impl AsRef<str>, yes: impl AsRef<str>, no: impl AsRef<str>) -> Confirm {
        Confirm { question: text::safe(question.as_ref()), yes: text::safe(yes.as_ref()), no: text::safe(no.as_ref()) }
    }

    /// Draws the box in the middle of the area. When it gets tight, the question gives way, never the answers.
    pub fn draw(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let area = area.intersection(frame.area());
        let room = WIDTH.min(area.width).saturating_sub(4).max(1);
        let lines = wrapped(&self.question, usize::from(room));
        let height = u16::try_from(lines.len()).unwrap_or(u16::MAX).saturating_add(5);
        let inner = panel(frame, centred(area, WIDTH, height), word!("Sure?"), theme);
        let answers = inner.height.min(2);
        let asked = inner.height.saturating_sub(3);
        let question = Paragraph::new(Text::styled(self.question.as_str(), theme.text)).wrap(Wrap { trim: true });
        frame.render_widget(question, Rect { height: asked, ..inner });
        let keys = [(word!("Enter"), &self.yes), (word!("Esc"), &self.no)];
        for ((key, does), y) in keys.into_iter().zip(inner.bottom() - answers..inner.bottom()) {
            let line = Line::from(vec![
                Span::styled(text::pad_right(key, 7), theme.key),
                Span::styled(text::fit(does, usize::from(inner.width).saturating_sub(7)), theme.hint),
            ]);
            frame.render_widget(line, Rect { y, height: 1, ..inner });
        }
    }
}

/// The text in lines of at most `cells`, broken at blanks, for its height only.
fn wrapped(question: &str, cells: usize) -> Vec<usize> {
    let mut lines = vec![0];
    for word in question.split_whitespace().map(text::width) {
        match lines.last_mut() {
            Some(line) if *line == 0 => *line = word,
            Some(line) if *line + 1 + word <= cells => *line += 1 + word,
            _ => lines.push(word),
        }
    }
    // A word longer than a line goes on in the next ones.
    lines.iter().flat_map(|line| std::iter::repeat_n(cells, line.div_ceil(cells).max(1))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    fn question() -> Confirm {
        Confirm::new(
            "Three lines of the back bar have no entry yet. They will be taken as expected.",
            "close the count",
            "go on counting",
        )
    }

    #[test]
    fn it_says_what_enter_does() {
        let drawn = shown(60, 9, |frame| question().draw(frame, frame.area(), &Theme::default()));
        insta::assert_snapshot!(drawn, @r"

        ┌ Sure? ───────────────────────────────────────────────┐
        │ Three lines of the back bar have no entry yet. They  │
        │ will be taken as expected.                           │
        │                                                      │
        │ Enter  close the count                               │
        │ Esc    go on counting                                │
        └──────────────────────────────────────────────────────┘
        ");
    }

    #[test]
    fn the_answers_stay_when_it_gets_tight() {
        let drawn = shown(30, 4, |frame| question().draw(frame, frame.area(), &Theme::default()));
        assert!(drawn.contains("Enter  close the count") && drawn.contains("Esc    go on counting"), "{drawn}");
    }

    #[test]
    fn no_size_panics() {
        at_every_size(|frame| question().draw(frame, frame.area(), &Theme::from_env(true)));
    }
}
