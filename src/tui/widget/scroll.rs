//! A text that may be longer than its window.

use crate::tui::keymap::Action;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Which line of a text is the first one shown. It has no cursor: the list actions move the text itself.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Scroll {
    top: usize,
    rows: usize,
    len: usize,
}

impl Scroll {
    /// Takes the list actions; false if the action is none of them.
    pub fn apply(&mut self, action: Action) -> bool {
        let page = self.rows.saturating_sub(1).max(1);
        let end = self.len.saturating_sub(self.rows);
        self.top = match action {
            Action::Up => self.top.saturating_sub(1),
            Action::Down => self.top + 1,
            Action::PageUp => self.top.saturating_sub(page),
            Action::PageDown => self.top + page,
            Action::First => 0,
            Action::Last => end,
            _ => return false,
        };
        self.top = self.top.min(end);
        true
    }

    /// Moves the text, as little as needed, so that a line of it is in view. What was never drawn begins at its first
    /// line.
    pub fn show(&mut self, line: usize) {
        if self.rows > 0 {
            self.top = self.top.min(line).max((line + 1).saturating_sub(self.rows));
        }
    }

    /// Whether the last line was in view when it was drawn last; never before that.
    pub fn is_at_end(&self) -> bool {
        self.rows > 0 && self.top + self.rows >= self.len
    }

    /// Draws the lines in view. Where there are more, the last line of the area says so and in which direction.
    pub fn draw(&mut self, frame: &mut Frame, area: Rect, lines: Vec<Line<'static>>, theme: &Theme) {
        let area = area.intersection(frame.area());
        let height = usize::from(area.height);
        self.len = lines.len();
        let scrolls = self.len > height && height > 1;
        self.rows = if scrolls { height - 1 } else { height };
        self.top = self.top.min(self.len.saturating_sub(self.rows));
        if area.is_empty() {
            return;
        }
        for (line, y) in lines.into_iter().skip(self.top).take(self.rows).zip(area.y..) {
            frame.render_widget(line, Rect { y, height: 1, ..area });
        }
        if scrolls {
            let [above, below] = theme.glyphs.more;
            let mark = |more: bool, glyph: char| if more { glyph } else { ' ' };
            let last = (self.top + self.rows).min(self.len);
            let hint = say!(
                "{above}{below} line {last}/{n}",
                above = mark(self.top > 0, above),
                below = mark(last < self.len, below),
                last,
                n = self.len
            );
            let hint = Line::from(Span::styled(hint, theme.muted)).right_aligned();
            frame.render_widget(hint, Rect { y: area.bottom() - 1, height: 1, ..area });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    fn lines(len: usize) -> Vec<Line<'static>> {
        (1..=len).map(|n| Line::from(format!("line {n}"))).collect()
    }

    #[test]
    fn it_moves_no_further_than_the_ends() {
        let mut scroll = Scroll::default();
        let mut first = |actions: &[Action]| {
            for action in actions {
                assert!(scroll.apply(*action));
            }
            let drawn = shown(16, 4, |frame| scroll.draw(frame, frame.area(), lines(9), &Theme::from_env(true)));
            drawn.lines().next().unwrap().to_owned()
        };
        assert_eq!(first(&[]), "line 1");
        assert_eq!(first(&[Action::Up, Action::Down]), "line 2");
        assert_eq!(first(&[Action::PageDown]), "line 4");
        assert_eq!(first(&[Action::Last, Action::Down]), "line 7");
        assert_eq!(first(&[Action::Up]), "line 6");
        assert_eq!(first(&[Action::First]), "line 1");
        assert!(!scroll.apply(Action::Open));
    }

    #[test]
    fn it_knows_when_all_was_seen() {
        let mut scroll = Scroll::default();
        let draw = |scroll: &mut Scroll, len| {
            shown(16, 4, |frame| scroll.draw(frame, frame.area(), lines(len), &Theme::from_env(true)));
        };
        assert!(!scroll.is_at_end(), "nothing was drawn yet");
        draw(&mut scroll, 4);
        assert!(scroll.is_at_end());
        draw(&mut scroll, 9);
        assert!(!scroll.is_at_end());
        scroll.apply(Action::Last);
        assert!(scroll.is_at_end());
    }

    #[test]
    fn it_says_that_there_is_more() {
        let drawn =
            |len| shown(16, 3, |frame| Scroll::default().draw(frame, frame.area(), lines(len), &Theme::from_env(true)));
        assert_eq!(drawn(3), "line 1\nline 2\nline 3");
        assert_eq!(drawn(4), "line 1\nline 2\n      ▾ line 2/4");
    }

    #[test]
    fn no_size_panics() {
        for len in [0, 1, 50] {
            at_every_size(|frame| Scroll::default().draw(frame, frame.area(), lines(len), &Theme::from_env(true)));
        }
    }
}
