//! One line of text that is typed.

use crate::tui::keymap::Action;
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Span;
use ratatui::widgets::Widget;

/// A text, the cursor in it, and how many characters it may have.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Field {
    text: String,
    /// In bytes, always between two characters.
    cursor: usize,
    max: usize,
    /// All of it is marked: the next character typed stands in its place.
    marked: bool,
}

impl Field {
    /// An empty field for at most `max` characters.
    pub fn new(max: usize) -> Field {
        Field { text: String::new(), cursor: 0, max, marked: false }
    }

    /// A field that begins with a text, the cursor behind it.
    pub fn with(max: usize, text: &str) -> Field {
        let mut field = Field::new(max);
        field.paste(text);
        field
    }

    /// Marks all of it, so that the next character typed stands in its place; any other editing goes on with what is
    /// there.
    pub fn mark(&mut self) {
        self.marked = !self.text.is_empty();
        self.cursor = self.text.len();
    }

    /// What was typed.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether nothing was typed.
    pub fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// Puts a text in at the cursor, without what could harm a terminal and no further than the field's length. A
    /// pasted line break becomes a blank, those at the ends are left out.
    pub fn paste(&mut self, pasted: &str) {
        if std::mem::take(&mut self.marked) {
            self.text.clear();
            self.cursor = 0;
        }
        let room = self.max.saturating_sub(self.text.chars().count());
        let pasted: String = text::safe(pasted.trim_matches(['\r', '\n'])).chars().take(room).collect();
        self.text.insert_str(self.cursor, &pasted);
        self.cursor += pasted.len();
    }

    /// Takes typed characters and the editing actions; false if the action is none of them.
    pub fn apply(&mut self, action: Action) -> bool {
        match action {
            Action::Type(c) => {
                self.paste(c.encode_utf8(&mut [0; 4]));
                return true;
            }
            Action::EraseBack => {
                let from = self.before();
                self.text.replace_range(from..self.cursor, "");
                self.cursor = from;
            }
            Action::EraseForward => self.text.replace_range(self.cursor..self.after(), ""),
            Action::ClearField => {
                self.text.clear();
                self.cursor = 0;
            }
            Action::CursorLeft => self.cursor = self.before(),
            Action::CursorRight => self.cursor = self.after(),
            Action::CursorHome => self.cursor = 0,
            Action::CursorEnd => self.cursor = self.text.len(),
            _ => return false,
        }
        self.marked = false;
        true
    }

    /// Where the character before the cursor begins; its combining marks belong to it.
    fn before(&self) -> usize {
        let (head, _) = self.text.split_at(self.cursor);
        head.char_indices().rev().find(|(_, c)| text::char_width(*c) > 0).map_or(0, |(at, _)| at)
    }

    /// Where the character under the cursor ends.
    fn after(&self) -> usize {
        let (_, tail) = self.text.split_at(self.cursor);
        let next = tail.char_indices().skip(1).find(|(_, c)| text::char_width(*c) > 0);
        next.map_or(self.text.len(), |(at, _)| self.cursor + at)
    }

    /// Draws the field over the first line of the area, scrolled so that the cursor is in view. If it has the focus,
    /// the terminal's own cursor stands there: an input method opens its window at that place.
    pub fn draw(&self, frame: &mut Frame, area: Rect, focus: bool, theme: &Theme) {
        let area = Rect { height: area.height.min(1), ..area }.intersection(frame.area());
        if area.is_empty() {
            return;
        }
        let room = usize::from(area.width);
        let (head, tail) = self.text.split_at(self.cursor);
        let mut seen = head;
        // One cell is kept for the cursor itself.
        while text::width(seen) + 1 > room {
            let mut chars = seen.chars();
            if chars.next().is_none() {
                break;
            }
            seen = chars.as_str();
        }
        let column = text::width(seen);
        // Where nobody types, a text is read from its beginning.
        let shown = if focus { text::head(&format!("{seen}{tail}"), room) } else { text::fit(&self.text, room) };
        let blank = " ".repeat(room.saturating_sub(text::width(&shown)));
        if focus && self.marked {
            Span::styled(shown, theme.selected).render(area, frame.buffer_mut());
        } else {
            Span::styled(shown + &blank, theme.typed).render(area, frame.buffer_mut());
        }
        if focus {
            let column = u16::try_from(column).unwrap_or(u16::MAX).min(area.width - 1);
            frame.set_cursor_position((area.x + column, area.y));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widget::harness::at_every_size;
    use proptest::prelude::*;
    use ratatui::{Terminal, backend::TestBackend};

    fn after(field: &mut Field, actions: &[Action]) -> String {
        for action in actions {
            assert!(field.apply(*action), "{action:?}");
        }
        field.text().to_owned()
    }

    #[test]
    fn editing() {
        let mut field = Field::with(20, "Gn");
        assert_eq!(after(&mut field, &[Action::CursorLeft, Action::Type('i')]), "Gin");
        assert_eq!(after(&mut field, &[Action::EraseForward, Action::EraseBack]), "G");
        assert_eq!(after(&mut field, &[Action::CursorHome, Action::EraseBack, Action::Type('é')]), "éG");
        assert_eq!(after(&mut field, &[Action::CursorEnd, Action::CursorRight, Action::EraseForward]), "éG");
        assert_eq!(after(&mut field, &[Action::ClearField, Action::EraseBack, Action::Type('x')]), "x");
        assert!(!field.apply(Action::Accept));
    }

    #[test]
    fn combining_marks_stay_with_their_letter() {
        let mut field = Field::with(20, "ae\u{301}");
        assert_eq!(after(&mut field, &[Action::EraseBack]), "a");
    }

    #[test]
    fn what_is_marked_is_typed_over_or_edited() {
        let marked = || {
            let mut field = Field::with(20, "700 ml");
            field.mark();
            field
        };
        assert_eq!(after(&mut marked(), &[Action::Type('5'), Action::Type('0')]), "50");
        assert_eq!(after(&mut marked(), &[Action::EraseBack, Action::Type('g')]), "700 mg");
        assert_eq!(after(&mut marked(), &[Action::CursorHome, Action::Type('1')]), "1700 ml");
        let mut pasted = marked();
        pasted.paste("1 l");
        assert_eq!(pasted.text(), "1 l");
    }

    #[test]
    fn pasted_text_is_harmless_and_short_enough() {
        let mut field = Field::new(8);
        field.paste("Gin\x1b[2J\r\nand more\n");
        assert_eq!(field.text(), "Gin[2J a");
        assert_eq!(Field::with(8, "7\n").text(), "7");
    }

    #[test]
    fn the_cursor_is_the_terminals_own_and_always_in_view() {
        for (text, left, want_row, want_column) in [
            ("Gin", 0, "Gin", 3),
            ("Pelmarsh", 0, "marsh", 5),
            ("Pelmarsh", 8, "Pelmar", 0),
            ("梅酒梅酒", 0, "梅酒", 4),
        ] {
            let mut field = Field::with(20, text);
            for _ in 0..left {
                field.apply(Action::CursorLeft);
            }
            let mut terminal = Terminal::new(TestBackend::new(6, 1)).unwrap();
            terminal.draw(|frame| field.draw(frame, frame.area(), true, &Theme::from_env(true))).unwrap();
            let row = crate::tui::widget::harness::rows(terminal.backend().buffer()).remove(0);
            assert_eq!(row, want_row);
            terminal.backend_mut().assert_cursor_position((want_column, 0));
        }
    }

    #[test]
    fn no_size_panics() {
        let field = Field::with(40, "Crème de mûre 梅酒 and some more");
        at_every_size(|frame| {
            field.draw(frame, frame.area(), true, &Theme::from_env(true));
            field.draw(frame, Rect::new(18, 6, 30, 1), true, &Theme::from_env(true));
        });
    }

    proptest! {
        #[test]
        fn any_keys_leave_a_sound_field(text in any::<String>(), keys in proptest::collection::vec(0usize..8, 0..40)) {
            let all = [
                Action::Type('a'), Action::Type('\u{301}'), Action::EraseBack, Action::EraseForward,
                Action::CursorLeft, Action::CursorRight, Action::CursorHome, Action::CursorEnd,
            ];
            let mut field = Field::with(30, &text);
            for key in keys {
                field.apply(all[key]);
                prop_assert!(field.text.is_char_boundary(field.cursor));
                prop_assert!(field.text.chars().count() <= 30);
            }
        }
    }
}
