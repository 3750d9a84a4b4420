//! The characters that figures and boxes are drawn with.

use ratatui::symbols::border;

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
