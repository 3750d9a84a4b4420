//! A line, or two where one is too short, that say what just happened.

use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::Clear;

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

/// A message of one line, or of two.
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

    /// What was typed is hard to believe: typed once more, it is believed.
    pub fn doubt(doubt: &str) -> Notice {
        Notice::warning(say!("{doubt}? Enter once more if that is so", doubt))
    }

    /// Draws it over the first line of the area, and over the line above that too when it is longer; the tone shows as a
    /// sign or a word before it, not by style alone.
    pub fn draw(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let (word, style) = match self.tone {
            Tone::Info => ("", theme.text),
            Tone::Warning => ("! ", theme.warning),
            Tone::Error => (word!("Not done: "), theme.error),
        };
        let area = Rect { height: 1, ..area }.intersection(frame.area());
        let cells = usize::from(area.width);
        let room = cells.saturating_sub(text::width(word));
        let (first, rest) = match area.y {
            _ if text::width(&self.text) <= room => (self.text.clone(), None),
            0 => (text::fit(&self.text, room), None),
            _ => {
                let (first, rest) = broken(&self.text, room);
                (first, Some(text::fit(&rest, cells)))
            }
        };
        let place = Rect { y: area.y - u16::from(rest.is_some()), ..area };
        frame.render_widget(Clear, place.union(area));
        frame.render_widget(Line::from(vec![Span::styled(word, style), Span::styled(first, theme.text)]), place);
        if let Some(rest) = rest {
            frame.render_widget(Line::from(Span::styled(rest, theme.text)), area);
        }
    }
}

/// A text in two: as many words as fit into the cells, and the rest. A word that is longer than half of them, such as the
/// path of a file, is broken: it would leave the first line all but empty.
fn broken(message: &str, cells: usize) -> (String, String) {
    let mut first = text::head(message, cells);
    let at_a_blank = message[first.len()..].starts_with(' ');
    if !at_a_blank && let Some(blank) = first.rfind(' ').filter(|blank| *blank * 2 > first.len()) {
        first.truncate(blank);
    }
    let rest = message[first.len()..].trim_start().to_owned();
    (first, rest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    #[test]
    fn the_tone_is_a_word() {
        let drawn = |notice: Notice| shown(28, 1, |frame| notice.draw(frame, frame.area(), &Theme::default()));
        assert_eq!(drawn(Notice::info("Kept: 3.4")), "Kept: 3.4");
        assert_eq!(drawn(Notice::warning("more than expected")), "! more than expected");
        assert_eq!(drawn(Notice::error("12.5 tenths are\x07 too many")), "Not done: 12.5 tenths are t…");
    }

    #[test]
    fn a_long_one_takes_two_lines() {
        let drawn = |notice: Notice| {
            shown(24, 3, |frame| {
                for y in 0..3 {
                    frame.render_widget("########################", Rect::new(0, y, 24, 1));
                }
                notice.draw(frame, Rect::new(0, 2, 24, 1), &Theme::default());
            })
        };
        let rule = "########################";
        assert_eq!(drawn(Notice::info("Kept: 3.4")), format!("{rule}\n{rule}\nKept: 3.4"));
        let long = Notice::warning("more than expected: count it once more");
        assert_eq!(drawn(long), format!("{rule}\n! more than expected:\ncount it once more"));
        let path = Notice::error("/home/bar/orders/2026.csv is full");
        assert_eq!(drawn(path), format!("{rule}\nNot done: /home/bar/orde\nrs/2026.csv is full"));
        let longer = Notice::info("one two three four five six seven eight nine ten eleven");
        assert_eq!(drawn(longer), format!("{rule}\none two three four five\nsix seven eight nine te…"));
    }

    #[test]
    fn no_size_panics() {
        let notice = Notice::error("No such file, or none that can be read");
        at_every_size(|frame| notice.draw(frame, frame.area(), &Theme::from_env(true)));
    }
}
