//! Long work: how far it is, and how to stop it.

use super::panel::{centred, panel};
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// The widest that the box gets.
const WIDTH: u16 = 56;

/// Work under way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Work {
    label: String,
    /// So much of so much is done.
    done: (u64, u64),
}

impl Work {
    /// Work that was just begun; `label` says what is done: `taking week 47.csv in`.
    pub fn new(label: &str) -> Work {
        Work { label: text::safe(label), done: (0, 0) }
    }

    /// So much of so much is done.
    pub fn tell(&mut self, done: u64, of: u64) {
        self.done = (done.min(of), of);
    }

    /// In percent, once it is known of how much.
    fn percent(&self) -> Option<u64> {
        let (done, of) = self.done;
        (of > 0).then(|| (u128::from(done) * 100 / u128::from(of)) as u64)
    }

    /// Draws the box in the middle of the area.
    pub fn draw(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let inner = panel(frame, centred(area, WIDTH, 6), word!("One moment"), theme);
        let wide = usize::from(inner.width);
        let percent = self.percent().map_or(String::new(), |percent| format!("{percent} %"));
        let room = wide.saturating_sub(6);
        let full = self.percent().unwrap_or(0) as usize * room / 100;
        let [bar, ..] = theme.glyphs.level;
        let bar: String = std::iter::repeat_n(bar, full).collect();
        let lines = vec![
            Line::from(text::fit(&self.label, wide)),
            Line::from(vec![Span::styled(text::pad_right(&bar, room), theme.title), Span::raw(format!(" {percent}"))]),
            Line::from(""),
            Line::from(vec![
                Span::styled(word!("Esc    "), theme.key),
                Span::styled(text::fit(word!("stops it; the book stays as it is"), wide.saturating_sub(7)), theme.hint),
            ]),
        ];
        frame.render_widget(Paragraph::new(lines), inner);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    #[test]
    fn it_says_how_far_it_is() {
        let mut work = Work::new("taking week 47.csv in");
        work.tell(250, 1_000);
        let drawn = shown(60, 6, |frame| work.draw(frame, frame.area(), &Theme::default()));
        assert!(drawn.contains("25 %") && drawn.contains("Esc"), "{drawn}");
        work.tell(1_001, 1_000);
        assert_eq!(work.percent(), Some(100));
    }

    #[test]
    fn no_size_panics() {
        at_every_size(|frame| Work::new("reading").draw(frame, frame.area(), &Theme::from_env(true)));
    }
}
