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
            Action::Line(line) => self.select(line, len),
            _ => return false,
        }
        true
    }

    /// Takes the list actions as [`Window::apply`] does, in a list with lines that the cursor cannot rest on, such as
    /// headings: it goes on past them.
    pub fn apply_past(&mut self, action: Action, len: usize, rests: impl Fn(usize) -> bool) -> bool {
        if !self.apply(action, len) {
            return false;
        }
        self.settle(matches!(action, Action::Down | Action::PageDown | Action::First), len, rests);
        true
    }

    /// Moves the selection to the nearest line that it can rest on, looking down first or up first. Lines above it that
    /// it cannot rest on are scrolled into view, since no cursor would ever bring them there.
    pub fn settle(&mut self, down: bool, len: usize, rests: impl Fn(usize) -> bool) {
        self.select(self.selected, len);
        let below = (self.selected..len).find(|line| rests(*line));
        let above = (0..self.selected).rev().find(|line| rests(*line));
        let here = Some(self.selected).filter(|line| *line < len && rests(*line));
        let found = here.or(if down { below.or(above) } else { above.or(below) });
        self.select(found.unwrap_or(0), len);
        let heads = (0..self.selected).rev().take_while(|line| !rests(*line)).count();
        self.first = self.first.min(self.selected - heads);
    }

    /// Makes the selected line the first one shown, as far as the end of the list allows.
    pub fn lead(&mut self) {
        self.first = self.selected;
    }

    /// Scrolls as little as brings the selection into `rows` rows, and gives the lines that are shown.
    pub fn scroll(&mut self, rows: usize, len: usize) -> Range<usize> {
        self.rows = rows;
        self.select(self.selected, len);
        let top = (self.selected + 1).saturating_sub(rows);
        self.first = self.first.min(len.saturating_sub(rows)).clamp(top, self.selected.max(top));
        self.first..self.first.saturating_add(rows).min(len)
    }

    /// Leafs by as many rows as another shows: the part of this list that is drawn.
    pub fn leafs_as(&mut self, other: &Window) {
        self.rows = other.rows;
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

    #[test]
    fn headings_are_passed_over_and_come_into_view() {
        let rests = |line: usize| !matches!(line, 0 | 3 | 6);
        let mut window = Window::default();
        window.settle(true, 7, rests);
        assert_eq!(window.selected(), 1);
        for (action, want) in [
            (Action::Up, 1),
            (Action::Down, 2),
            (Action::Down, 4),
            (Action::Up, 2),
            (Action::Last, 5),
            (Action::Down, 5),
            (Action::First, 1),
        ] {
            assert!(window.apply_past(action, 7, rests));
            assert_eq!(window.selected(), want, "{action:?}");
        }
        window.apply_past(Action::Last, 7, rests);
        assert_eq!(window.scroll(3, 7), 3..6);
        window.apply_past(Action::First, 7, rests);
        assert_eq!(window.scroll(3, 7), 0..3, "the heading above the first line is seen again");
        window.settle(true, 0, rests);
        assert_eq!(window.selected(), 0);
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
