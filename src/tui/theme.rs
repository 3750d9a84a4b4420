//! What each role looks like, and the glyphs that figures and boxes are drawn with.

use ratatui::style::{Color, Modifier, Style};
use ratatui::symbols::border;

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

/// The characters that are not letters: boxes, the whisker, the level.
#[derive(Debug, PartialEq, Eq)]
pub struct Glyphs {
    /// Box corners and sides.
    pub border: border::Set<'static>,
    /// The zero line of the whisker where nothing crosses it.
    pub zero: char,
    /// The zero line where the bar crosses it.
    pub zero_crossed: char,
    /// Point, bar, and left and right end of an interval that takes in zero.
    pub within: Interval,
    /// The same of an interval that leaves zero out.
    pub real: Interval,
    /// The interval goes on beyond the left edge.
    pub beyond_left: char,
    /// The interval goes on beyond the right edge.
    pub beyond_right: char,
    /// A tenth that is full, one that is partly so, one that is empty.
    pub level: [char; 3],
    /// A container's wall, bottom, left and right corner, and what is in it.
    pub container: [char; 5],
    /// More rows above; more rows below.
    pub more: [char; 2],
    /// How surely a stock lasts: certain, likely, uncertain, likely dry.
    pub lasts: [char; 4],
    /// A van that brings what was ordered, and one that an order could come with.
    pub vans: [char; 2],
    /// A cell of a bar from an eighth up to full.
    pub eighths: [char; 8],
    /// A level drawn behind bars, and the foot of a bar that has no height.
    pub behind_bars: [char; 2],
    /// A day that says nothing since there was nothing.
    pub dry: char,
    /// A line that is done.
    pub done: &'static str,
    /// Between a figure and its uncertainty.
    pub plus_minus: &'static str,
}

/// How one kind of interval is drawn.
#[derive(Debug, PartialEq, Eq)]
pub struct Interval {
    /// The figure itself.
    pub point: char,
    /// Between the ends.
    pub bar: char,
    /// The lower end.
    pub left: char,
    /// The upper end.
    pub right: char,
}

impl Glyphs {
    /// Box drawing, block elements and geometric shapes; all one cell wide.
    pub const DRAWN: Glyphs = Glyphs {
        border: border::Set {
            top_left: "┌",
            top_right: "┐",
            bottom_left: "└",
            bottom_right: "┘",
            vertical_left: "│",
            vertical_right: "│",
            horizontal_top: "─",
            horizontal_bottom: "─",
        },
        zero: '┊',
        zero_crossed: '┼',
        within: Interval { point: '○', bar: '─', left: '╶', right: '╴' },
        real: Interval { point: '●', bar: '━', left: '╺', right: '╸' },
        beyond_left: '◂',
        beyond_right: '▸',
        level: ['▆', '▃', '▁'],
        container: ['│', '─', '└', '┘', '▒'],
        more: ['▴', '▾'],
        lasts: ['▇', '▅', '▂', '×'],
        vans: ['◆', '◇'],
        eighths: ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'],
        behind_bars: ['┄', '·'],
        dry: '×',
        done: "✓",
        plus_minus: "±",
    };

    /// The same in plain ASCII.
    pub const ASCII: Glyphs = Glyphs {
        border: border::Set {
            top_left: "+",
            top_right: "+",
            bottom_left: "+",
            bottom_right: "+",
            vertical_left: "|",
            vertical_right: "|",
            horizontal_top: "-",
            horizontal_bottom: "-",
        },
        zero: ':',
        zero_crossed: '|',
        within: Interval { point: 'o', bar: '-', left: '-', right: '-' },
        real: Interval { point: '@', bar: '=', left: '=', right: '=' },
        beyond_left: '<',
        beyond_right: '>',
        level: ['#', '+', '.'],
        container: ['|', '-', '+', '+', '#'],
        more: ['^', 'v'],
        lasts: ['#', '+', '-', 'x'],
        vans: ['V', 'v'],
        eighths: ['.', '.', '.', ':', ':', ':', ':', '#'],
        behind_bars: ['-', '_'],
        dry: 'x',
        done: "*",
        plus_minus: "+/-",
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::text::char_width;

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

    #[test]
    fn every_glyph_is_one_cell_and_the_fallback_is_ascii() {
        for (glyphs, ascii) in [(&Glyphs::DRAWN, false), (&Glyphs::ASCII, true)] {
            let mut all: Vec<char> = vec![glyphs.zero, glyphs.zero_crossed, glyphs.beyond_left, glyphs.beyond_right];
            for i in [&glyphs.within, &glyphs.real] {
                all.extend([i.point, i.bar, i.left, i.right]);
            }
            all.extend(glyphs.level);
            all.extend(glyphs.container);
            all.extend(glyphs.more);
            all.extend(glyphs.lasts);
            all.extend(glyphs.vans);
            all.extend(glyphs.eighths);
            all.extend(glyphs.behind_bars);
            all.push(glyphs.dry);
            let b = glyphs.border;
            for s in [b.top_left, b.top_right, b.bottom_left, b.bottom_right, b.vertical_left, b.horizontal_top] {
                all.extend(s.chars());
            }
            for c in all {
                assert_eq!(char_width(c), 1, "{c}");
                assert!(!ascii || c.is_ascii(), "{c}");
            }
        }
    }
}
