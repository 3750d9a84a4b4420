//! The cursor of a list and the part of the list that is on the screen.

use crate::tui::keymap::Action;
use std::ops::Range;

/// Which line is selected and which is the first one shown. The screen owns it; drawing only scrolls.
///
/// The selection is kept within the list at every step, never left for the next draw to mend.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Window {
    selected: usize,
    first: usize,
    rows: usize,
}

impl Window {
    /// The selected line; 0 if the list is empty.
    pub fn selected(&self) -> usize {
        self.selected
    }

    /// Selects a line of a list of `len`, or the last one if there are fewer.
    pub fn select(&mut self, line: usize, len: usize) {
        self.selected = line.min(len.saturating_sub(1));
    }

    /// Moves by so many lines, no further than the ends.
    pub fn step(&mut self, lines: isize, len: usize) {
        self.select(self.selected.saturating_add_signed(lines), len);
    }

    /// Takes the list actions (up, down, window up and down, first, last); false if the action is none of them.
    pub fn apply(&mut self, action: Action, len: usize) -> bool {
        let page = isize::try_from(self.rows.saturating_sub(1).max(1)).unwrap_or(isize::MAX);
        match action {
            Action::Up => self.step(-1, len),
            Action::Down => self.step(1, len),
            Action::PageUp => self.step(-page, len),
            Action::PageDown => self.step(page, len),
            Action::First => self.select(0, len),
            Action::Last => self.select(len, len),
            _ => return false,
        }
        true
    }

    /// Scrolls as little as brings the selection into `rows` rows, and gives the lines that are shown.
    pub fn scroll(&mut self, rows: usize, len: usize) -> Range<usize> {
        self.rows = rows;
        self.select(self.selected, len);
        let top = (self.selected + 1).saturating_sub(rows);
        self.first = self.first.min(len.saturating_sub(rows)).clamp(top, self.selected.max(top));
        self.first..self.first.saturating_add(rows).min(len)
    }

    /// Where the selection stands, for people: `12/180`.
    pub fn position(&self, len: usize) -> String {
        format!("{}/{len}", (self.selected + 1).min(len))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_ends_hold() {
        let mut window = Window::default();
        window.step(-1, 5);
        assert_eq!(window.selected(), 0);
        window.step(9, 5);
        assert_eq!(window.selected(), 4);
        window.step(-1, 5);
        assert_eq!(window.selected(), 3, "the step past the end left nothing behind");
        assert!(window.apply(Action::Up, 0));
        assert_eq!(window.selected(), 0);
        assert!(!window.apply(Action::Quit, 5));
        assert_eq!(window.position(0), "0/0");
    }

    #[test]
    fn it_scrolls_as_little_as_needed() {
        let mut window = Window::default();
        assert_eq!(window.scroll(4, 10), 0..4);
        window.select(4, 10);
        assert_eq!(window.scroll(4, 10), 1..5);
        window.select(2, 10);
        assert_eq!(window.scroll(4, 10), 1..5);
        window.apply(Action::PageDown, 10);
        assert_eq!((window.selected(), window.scroll(4, 10)), (5, 2..6));
        assert_eq!(window.scroll(20, 10), 0..10, "a taller window leaves no gap at the end");
        assert_eq!(window.position(10), "6/10");
    }

    proptest! {
        #[test]
        fn the_selection_is_always_in_view(
            moves in proptest::collection::vec((-30isize..30, 1usize..12, 0usize..40), 1..30)
        ) {
            let mut window = Window::default();
            for (lines, rows, len) in moves {
                window.step(lines, len);
                let shown = window.scroll(rows, len);
                prop_assert!(len == 0 || shown.contains(&window.selected()));
                prop_assert_eq!(shown.len(), rows.min(len));
            }
        }
    }
}
