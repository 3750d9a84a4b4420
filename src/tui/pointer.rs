//! What lies where on the screen, for the mouse: drawing notes it down, a click looks it up. What was drawn last lies on top.

use crate::tui::keymap::Tab;
use ratatui::crossterm::event::KeyEvent;
use ratatui::layout::{Position, Rect};
use std::cell::RefCell;

/// What a place of the screen is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Target {
    /// A screen's name in the top line.
    Screen(Tab),
    /// A key that is named in the hints.
    Key(KeyEvent),
    /// A line of a list, and whether the cursor is on it; or a field of a form.
    Line(usize, bool),
    /// A level, empty at its left end and full at its right.
    Level,
    /// Nothing: what lies under it is covered.
    Nothing,
}

thread_local! {
    // The screens are drawn and the mouse is read by one thread.
    static PLACES: RefCell<Vec<(Rect, Target)>> = const { RefCell::new(Vec::new()) };
}

/// Forgets what was drawn before.
pub fn begin() {
    PLACES.with_borrow_mut(Vec::clear);
}

/// Notes what was drawn into an area.
pub fn put(area: Rect, target: Target) {
    if !area.is_empty() {
        PLACES.with_borrow_mut(|places| places.push((area, target)));
    }
}

/// What lies at a place of the screen, and how far it reaches.
pub fn at(column: u16, row: u16) -> Option<(Rect, Target)> {
    let here = Position { x: column, y: row };
    PLACES.with_borrow(|places| places.iter().rev().find(|(area, _)| area.contains(here)).copied())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_drawn_last_lies_on_top() {
        begin();
        put(Rect::new(0, 0, 10, 5), Target::Line(3, false));
        put(Rect::new(2, 1, 4, 2), Target::Nothing);
        put(Rect::new(0, 0, 0, 0), Target::Level);
        assert_eq!(at(0, 0), Some((Rect::new(0, 0, 10, 5), Target::Line(3, false))));
        assert_eq!(at(3, 2).map(|(_, target)| target), Some(Target::Nothing));
        assert_eq!(at(10, 0), None);
        begin();
        assert_eq!(at(0, 0), None);
    }
}
