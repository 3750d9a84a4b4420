//! One line that says what just happened.

use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// How much a notice matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// It is as asked for.
    Info,
    /// It is done, but wants a look.
    Warning,
    /// It was refused or it failed.
    Error,
}

/// A message of one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// How much it matters.
    pub tone: Tone,
    /// What it says, made harmless.
    pub text: String,
}

impl Notice {
    /// Says that something is as asked for.
    pub fn info(message: impl AsRef<str>) -> Notice {
        Notice { tone: Tone::Info, text: text::safe(message.as_ref()) }
    }

    /// Says that something wants a look.
    pub fn warning(message: impl AsRef<str>) -> Notice {
        Notice { tone: Tone::Warning, text: text::safe(message.as_ref()) }
    }

    /// Says that something was refused or failed.
    pub fn error(message: impl AsRef<str>) -> Notice {
        Notice { tone: Tone::Error, text: text::safe(message.as_ref()) }
    }

    /// Draws it over the first line of the area; the tone shows as a word before it, not by style alone.
    pub fn draw(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let (word, style) = match self.tone {
            Tone::Info => ("", theme.text),
            Tone::Warning => ("Look: ", theme.warning),
            Tone::Error => ("Not done: ", theme.error),
        };
        let room = usize::from(area.width).saturating_sub(text::width(word));
        let line = Line::from(vec![Span::styled(word, style), Span::styled(text::fit(&self.text, room), theme.text)]);
        frame.render_widget(line, area);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    #[test]
    fn the_tone_is_a_word() {
        let drawn = |notice: Notice| shown(28, 1, |frame| notice.draw(frame, frame.area(), &Theme::default()));
        assert_eq!(drawn(Notice::info("Kept: 3.4")), "Kept: 3.4");
        assert_eq!(drawn(Notice::warning("more than expected")), "Look: more than expected");
        assert_eq!(drawn(Notice::error("12.5 tenths are\x07 too many")), "Not done: 12.5 tenths are t…");
    }

    #[test]
    fn no_size_panics() {
        let notice = Notice::error("No such file, or none that can be read");
        at_every_size(|frame| notice.draw(frame, frame.area(), &Theme::from_env(true)));
    }
}
