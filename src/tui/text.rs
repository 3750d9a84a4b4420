//! Text made fit for a terminal: harmless first, then cut or filled to a width in cells.

use ratatui::buffer::CellWidth;
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthChar;

/// Marks the place where [`fit`] cut a text off; one cell wide.
pub const CUT: &str = "…";

/// Removes what could act on a terminal or reorder what is read: control characters, marks of writing direction, and
/// characters without a width. A tab and a line break become one blank, so that words do not run together.
pub fn safe(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut broken = false;
    for c in text.chars() {
        let breaks = matches!(c, '\t' | '\n' | '\r' | '\u{0b}' | '\u{0c}' | '\u{85}' | '\u{2028}' | '\u{2029}');
        if breaks && !broken {
            out.push(' ');
        } else if !breaks && !is_hidden(c) {
            out.push(c);
        }
        broken = breaks;
    }
    out
}

/// Control characters, and the format and other invisible characters of Unicode 16 (category Cf and the default
/// ignorable ones), among them the variation selectors, after which terminals disagree about a character's width.
fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(u32::from(c),
            0xAD | 0x34F | 0x600..=0x605 | 0x61C | 0x6DD | 0x70F | 0x890..=0x891 | 0x8E2
            | 0x115F..=0x1160 | 0x17B4..=0x17B5 | 0x180B..=0x180F | 0x200B..=0x200F | 0x202A..=0x202E
            | 0x2060..=0x206F | 0x3164 | 0xFE00..=0xFE0F | 0xFEFF | 0xFFA0 | 0xFFF0..=0xFFFB
            | 0x110BD | 0x110CD | 0x13430..=0x1343F | 0x1BCA0..=0x1BCA3 | 0x1D173..=0x1D17A
            | 0xE0000..=0xE0FFF)
}

/// The cells that a text takes up: the sum over what a reader takes for one character each, which is how it is painted.
pub fn width(text: &str) -> usize {
    if text.bytes().all(|byte| matches!(byte, b' '..=b'~')) {
        return text.len();
    }
    Span::raw(text).styled_graphemes(Style::new()).map(|one| usize::from(one.symbol.cell_width())).sum()
}

/// The cells that one character takes up; 0 for a combining mark.
pub fn char_width(c: char) -> usize {
    UnicodeWidthChar::width(c).unwrap_or(0)
}

/// The text, or as much of it as leaves room for `…` within `cells`. A wide character is never split: the result may be
/// one cell narrower than asked for, never wider.
pub fn fit(text: &str, cells: usize) -> String {
    if width(text) <= cells {
        return text.to_owned();
    }
    let Some(room) = cells.checked_sub(width(CUT)) else {
        return String::new();
    };
    let mut out = head(text, room);
    out.push_str(CUT);
    out
}

/// The text, or as much of its end as leaves room for `…` within `cells`: of a path, the name of the file is at its end.
pub fn fit_end(text: &str, cells: usize) -> String {
    if width(text) <= cells {
        return text.to_owned();
    }
    let Some(room) = cells.checked_sub(width(CUT)) else {
        return String::new();
    };
    let graphemes: Vec<String> =
        Span::raw(text).styled_graphemes(Style::new()).map(|one| one.symbol.to_owned()).collect();
    let (mut used, mut from) = (0, graphemes.len());
    while from > 0 && used + width(&graphemes[from - 1]) <= room {
        from -= 1;
        used += width(&graphemes[from]);
    }
    format!("{CUT}{}", graphemes[from..].concat())
}

/// The longest beginning of the text that takes up no more than `cells`, whole characters only.
pub(super) fn head(text: &str, cells: usize) -> String {
    let mut used = 0;
    let mut out = String::new();
    for grapheme in Span::raw(text).styled_graphemes(Style::new()) {
        used += usize::from(grapheme.symbol.cell_width());
        if used > cells {
            break;
        }
        out.push_str(grapheme.symbol);
    }
    out
}

/// Blanks before the text up to `cells`; a longer text is returned as it is, since a figure must not be cut.
pub fn pad_left(text: &str, cells: usize) -> String {
    let mut out = " ".repeat(cells.saturating_sub(width(text)));
    out.push_str(text);
    out
}

/// The text cut by [`fit`] if need be, then blanks up to exactly `cells`.
pub fn pad_right(text: &str, cells: usize) -> String {
    let mut out = fit(text, cells);
    out.push_str(&" ".repeat(cells.saturating_sub(width(&out))));
    out
}

/// Parts set two blanks apart, in as many lines as they take, each of at most `cells`. A line breaks between two parts;
/// only a part that is longer than a line breaks at a blank of its own, and only a word that is longer is cut.
pub fn flow<S: AsRef<str>>(parts: impl IntoIterator<Item = S>, cells: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for part in parts {
        let part = part.as_ref();
        if part.is_empty() {
            continue;
        }
        match lines.last_mut() {
            Some(line) if width(line) + 2 + width(part) <= cells => {
                line.push_str("  ");
                line.push_str(part);
            }
            _ => lines.extend(wrap(part, cells)),
        }
    }
    lines
}

/// A text in lines of at most `cells`, broken at blanks; a word that is longer than a line is cut.
pub fn wrap(text: &str, cells: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(line) + 1 + width(word) <= cells => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(fit(word, cells)),
        }
    }
    lines
}

/// With a capital at its beginning.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// With a full stop at its end, unless it ends like a sentence already.
pub fn sentence(text: &str) -> String {
    let stop = if text.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{text}{stop}")
}

/// Drawn lines as plain text, for where there is no terminal to draw on.
pub fn plain(lines: &[Line]) -> String {
    let plain = |line: &Line| line.spans.iter().map(|span| span.content.as_ref()).collect::<String>();
    lines.iter().map(|line| format!("{}\n", plain(line).trim_end())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_that_acts_on_a_terminal_is_left() {
        for (text, want) in [
            ("Gin", "Gin"),
            ("Gin\x1b]52;c;ZXZpbA==\x07", "Gin]52;c;ZXZpbA=="),
            ("\u{9b}31mred", "31mred"),
            ("a\u{202e}b\u{2066}c", "abc"),
            ("zero\u{200b}width\u{feff}", "zerowidth"),
            ("two\r\nlines\tand", "two lines and"),
            ("Crème de mûre – n° 3", "Crème de mûre – n° 3"),
            ("梅酒", "梅酒"),
            ("❤\u{fe0f}", "❤"),
        ] {
            assert_eq!(safe(text), want);
        }
    }

    #[test]
    fn cut_by_cells_not_by_characters() {
        for (text, cells, want) in [
            ("Corvanels", 9, "Corvanels"),
            ("Corvanels", 5, "Corv…"),
            ("Corvanels", 1, "…"),
            ("Corvanels", 0, ""),
            ("梅酒梅酒", 8, "梅酒梅酒"),
            ("梅酒梅酒", 5, "梅酒…"),
            ("梅酒梅酒", 4, "梅…"),
            ("e\u{301}e\u{301}e\u{301}", 2, "e\u{301}…"),
        ] {
            assert_eq!(fit(text, cells), want);
        }
    }

    #[test]
    fn filled_by_cells() {
        assert_eq!(pad_right("梅", 4), "梅  ");
        assert_eq!(pad_right("梅酒", 2), "… ");
        assert_eq!(pad_left("4.2", 6), "   4.2");
        assert_eq!(pad_left("12 345.6", 3), "12 345.6", "a figure is never cut");
    }

    #[test]
    fn lines_break_between_parts_first() {
        assert_eq!(flow(["The van", "6 x 17.00 EUR", "", "Wed"], 24), ["The van  6 x 17.00 EUR", "Wed"]);
        assert_eq!(flow(["The van of the cellar", "Wed"], 10), ["The van of", "the cellar", "Wed"]);
        assert_eq!(flow(["Plymouth"], 5), ["Plym…"]);
        assert_eq!(flow(["a", "b"], 0), ["", ""]);
        assert!(flow([""], 10).is_empty());
    }

    proptest! {
        #[test]
        fn flowing_text_keeps_to_the_width(text in "\\PC{0,60}", cells in 1usize..25) {
            let text = safe(&text);
            prop_assert!(flow(text.split(','), cells).iter().all(|line| width(line) <= cells));
        }

        #[test]
        fn fit_and_fill_keep_to_the_width(text in "\\PC{0,20}", cells in 0usize..25) {
            let text = safe(&text);
            prop_assert!(width(&fit(&text, cells)) <= cells);
            prop_assert_eq!(width(&pad_right(&text, cells)), cells);
        }

        #[test]
        fn safe_is_final(text in any::<String>()) {
            let once = safe(&text);
            prop_assert!(!once.chars().any(is_hidden));
            prop_assert_eq!(safe(&once), once);
        }
    }
}
