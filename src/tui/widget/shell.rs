//! How a screen is divided: top line, body, notice, hints.

use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect, Size};
use ratatui::style::Color;
use ratatui::text::Text;
use ratatui::widgets::{Paragraph, Wrap};
use unicode_normalization::UnicodeNormalization;

/// The smallest window that a screen is drawn in.
pub const SMALLEST: Size = Size { width: 60, height: 20 };

/// The parts of a screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shell {
    /// One line: see [`header`](super::header).
    pub header: Rect,
    /// All the rest.
    pub body: Rect,
    /// One line: see [`notice`](super::notice).
    pub notice: Rect,
    /// One line: see [`footer`](super::footer).
    pub footer: Rect,
}

/// Divides the window. In one that is too small it says so instead and gives nothing: then nothing else is to be drawn.
pub fn shell(frame: &mut Frame, theme: &Theme) -> Option<Shell> {
    let area = frame.area();
    if area.width < SMALLEST.width || area.height < SMALLEST.height {
        let message = say!(
            "The window is too small: it is {width}x{height}, {width_2}x{height_2} is needed",
            width = area.width,
            height = area.height,
            width_2 = SMALLEST.width,
            height_2 = SMALLEST.height
        );
        let message = Paragraph::new(Text::styled(message, theme.text)).wrap(Wrap { trim: true });
        frame.render_widget(message, area);
        return None;
    }
    let one = Constraint::Length(1);
    let [header, body, notice, footer] = Layout::vertical([one, Constraint::Fill(1), one, one]).areas(area);
    Some(Shell { header, body, notice, footer })
}

/// Gives every cell the colours of the look, where it has a ground of its own. Where glyphs are to be ASCII, writes all else with it
/// too: each sign in as many cells as before, and letters of names without their accents, since what the terminal would make of
/// these nobody knows.
pub fn finish(frame: &mut Frame, theme: &Theme) {
    if let Some((letters, ground)) = theme.ground {
        for cell in &mut frame.buffer_mut().content {
            if cell.fg == Color::Reset {
                cell.fg = letters;
            }
            if cell.bg == Color::Reset {
                cell.bg = ground;
            }
        }
    }
    if !theme.is_ascii() {
        return;
    }
    for cell in &mut frame.buffer_mut().content {
        if !cell.symbol().is_ascii() {
            let twin = twin(cell.symbol());
            cell.set_char(twin);
        }
    }
}

/// The ASCII character that stands for one that is none; a question mark where nothing resembles it.
fn twin(symbol: &str) -> char {
    match symbol {
        "…" | "±" => '~',
        "“" | "”" | "„" => '"',
        "‘" | "’" | "‚" => '\'',
        "–" | "—" | "−" => '-',
        "×" => 'x',
        "·" => '.',
        "✓" => '*',
        "→" => '>',
        "ß" => 's',
        "æ" => 'a',
        "Æ" => 'A',
        "ø" => 'o',
        "Ø" => 'O',
        "œ" | "Œ" => 'o',
        "ł" => 'l',
        "Ł" => 'L',
        "ı" => 'i',
        "đ" | "ð" => 'd',
        "þ" => 't',
        other => other.nfkd().find(|c| c.is_ascii_graphic()).unwrap_or('?'),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::{at_every_size, shown};

    #[test]
    fn a_small_window_is_told_so() {
        let said = shown(59, 2, |frame| assert_eq!(shell(frame, &Theme::default()), None));
        assert_eq!(said, "The window is too small: it is 59x2, 60x20 is needed\n");
        shown(60, 20, |frame| {
            let parts = shell(frame, &Theme::default()).unwrap();
            assert_eq!(parts.body, Rect::new(0, 1, 60, 17));
            assert_eq!((parts.header.y, parts.notice.y, parts.footer.y), (0, 18, 19));
        });
    }

    #[test]
    fn our_own_signs_are_ascii_where_glyphs_are() {
        let said = |theme: Theme| {
            shown(40, 1, |frame| {
                frame.render_widget("“Sour” ‘a’ Crème – 2 × 3 … ✓ · —", frame.area());
                finish(frame, &theme);
            })
        };
        assert_eq!(said(Theme::default()), "“Sour” ‘a’ Crème – 2 × 3 … ✓ · —");
        assert_eq!(said(Theme::default().ascii()), "\"Sour\" 'a' Creme - 2 x 3 ~ * . -");
    }

    #[test]
    fn names_are_ascii_where_glyphs_are_and_as_wide_as_before() {
        let said = shown(60, 1, |frame| {
            frame.render_widget("Espadín Müller Straße Łódź e\u{301} 梅酒 🍸 ½ Ærø|", frame.area());
            finish(frame, &Theme::default().ascii());
        });
        assert_eq!(said, "Espadin Muller Strase Lodz e ? ?  ?  1 Aro|");
    }

    #[test]
    fn no_size_panics() {
        at_every_size(|frame| {
            shell(frame, &Theme::from_env(true));
        });
    }
}
