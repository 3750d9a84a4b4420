//! What each role looks like, and the glyphs that figures and boxes are drawn with.

mod glyphs;
mod looks;

pub use glyphs::{Glyphs, Interval};
pub use looks::{Depth, Look};

use ratatui::style::{Color, Modifier, Style};

/// The look of each role.
///
/// The default leans on the terminal's own foreground and background, bold, reverse and a few of the 16 ANSI names, so
/// that it reads on a light and a dark terminal alike. No role is told by colour alone: whoever uses `over` also writes
/// a sign or a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Theme {
    /// Ordinary text.
    pub text: Style,
    /// Text that may go unread: units, rules, positions.
    pub muted: Style,
    /// Titles of panels, column heads.
    pub title: Style,
    /// The row or tab under the cursor.
    pub selected: Style,
    /// What is being typed.
    pub typed: Style,
    /// As it should be.
    pub good: Style,
    /// More went than was sold, and really so.
    pub over: Style,
    /// Less went than was sold, and really so.
    pub short: Style,
    /// Wants a look.
    pub warning: Style,
    /// Refused or failed.
    pub error: Style,
    /// A key that can be pressed.
    pub key: Style,
    /// What that key does.
    pub hint: Style,
    /// The colour of letters and of what lies behind them, where the terminal's own are not to be used.
    pub ground: Option<(Color, Color)>,
    /// What boxes and graphs are drawn with.
    pub glyphs: &'static Glyphs,
}

impl Theme {
    /// The theme with colour, or without any if `no_color` (see <https://no-color.org>). Glyphs are drawn ones; see
    /// [`Theme::ascii`].
    pub const fn from_env(no_color: bool) -> Theme {
        if no_color { PLAIN } else { COLOURED }
    }

    /// The same theme with glyphs that every terminal and font has.
    pub const fn ascii(self) -> Theme {
        Theme { glyphs: &Glyphs::ASCII, ..self }
    }

    /// Whether it is to draw with ASCII only.
    pub fn is_ascii(&self) -> bool {
        *self.glyphs == Glyphs::ASCII
    }
}

impl Default for Theme {
    fn default() -> Theme {
        COLOURED
    }
}

const BOLD: Style = Style::new().add_modifier(Modifier::BOLD);

/// No cell gets a colour. This is done here and not left to the backend, which under NO_COLOR would write an empty
/// colour command, and that is a reset: highlights would be lost.
const PLAIN: Theme = Theme {
    text: Style::new(),
    muted: Style::new(),
    title: BOLD,
    selected: Style::new().add_modifier(Modifier::REVERSED),
    typed: Style::new().add_modifier(Modifier::UNDERLINED),
    good: Style::new(),
    over: BOLD,
    short: BOLD,
    warning: BOLD,
    error: BOLD,
    key: BOLD,
    hint: Style::new(),
    ground: None,
    glyphs: &Glyphs::DRAWN,
};

/// Red and cyan stay apart for every common kind of colour blindness; neither is used for anything else but failure.
const COLOURED: Theme = Theme {
    muted: Style::new().add_modifier(Modifier::DIM),
    good: Style::new().fg(Color::Green),
    over: BOLD.fg(Color::Red),
    short: BOLD.fg(Color::Cyan),
    warning: BOLD.fg(Color::Magenta),
    error: BOLD.fg(Color::Red),
    ..PLAIN
};

#[cfg(test)]
mod tests {
    use super::*;

    fn roles(theme: &Theme) -> [Style; 12] {
        let t = theme;
        [t.text, t.muted, t.title, t.selected, t.typed, t.good, t.over, t.short, t.warning, t.error, t.key, t.hint]
    }

    #[test]
    fn the_plain_theme_has_no_colour_and_no_dimming() {
        for style in roles(&Theme::from_env(true)) {
            assert_eq!((style.fg, style.bg), (None, None));
            let allowed = Modifier::BOLD | Modifier::REVERSED | Modifier::UNDERLINED;
            assert!(allowed.contains(style.add_modifier));
        }
    }

    #[test]
    fn colours_read_on_light_and_dark() {
        let readable = [Color::Red, Color::Green, Color::Yellow, Color::Blue, Color::Magenta, Color::Cyan];
        let theme = Theme::from_env(false);
        for style in roles(&theme) {
            assert_eq!(style.bg, None, "the background is the terminal's own");
            assert!(style.fg.is_none_or(|fg| readable.contains(&fg)));
        }
        assert_eq!(theme.text, Style::new());
        assert_ne!(theme.over, theme.short);
    }
}
