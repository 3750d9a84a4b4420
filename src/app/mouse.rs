//! The mouse: a click goes where it points, a wheel moves the list under the cursor, a drag sets a level. Each does what keys
//! do as well.

use super::{App, Overlay};
use crate::domain::venue::Moment;
use crate::tui::keymap::{Action, Scope, resolve};
use crate::tui::pointer::{self, Target};
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
use ratatui::layout::Rect;

/// Lines that one notch of the wheel moves.
const NOTCH: usize = 3;
/// Steps of a level, from empty to full: halves of a tenth, the finest that an eye tells.
const STEPS: u32 = 20;

/// A key as it is pressed.
pub(super) fn plain(code: KeyCode) -> KeyEvent {
    KeyEvent::new(code, KeyModifiers::NONE)
}

/// How full a level is at a column of it, in halves of a tenth: 1 to 20.
fn halves(area: Rect, column: u16) -> u8 {
    let from = u32::from(column.saturating_sub(area.x));
    let step = (from * STEPS / u32::from(area.width.max(1)) + 1).min(STEPS);
    u8::try_from(step).unwrap_or(u8::MAX)
}

impl App {
    /// The mouse did something.
    pub fn mouse(&mut self, event: MouseEvent, now: Moment) {
        self.speak();
        self.touched(now);
        let there = pointer::at(event.column, event.row);
        match event.kind {
            MouseEventKind::ScrollUp => self.turn_wheel(KeyCode::Up, now),
            MouseEventKind::ScrollDown => self.turn_wheel(KeyCode::Down, now),
            MouseEventKind::Down(MouseButton::Left) => {
                if let (Overlay::Tour(_), false) = (&self.overlay, matches!(there, Some((_, Target::Key(_))))) {
                    self.overlay = Overlay::None;
                } else if let Some((area, target)) = there {
                    self.notice = None;
                    self.clicked(area, target, event.column, now);
                }
            }
            MouseEventKind::Drag(MouseButton::Left) => {
                // The hand may leave the level while it pulls.
                if let Some(area) = self.pulled {
                    let column = event.column.clamp(area.x, area.right().saturating_sub(1));
                    self.act(Action::Level(halves(area, column)), now);
                }
            }
            MouseEventKind::Up(MouseButton::Left) => self.pulled = None,
            _ => {}
        }
    }

    fn clicked(&mut self, area: Rect, target: Target, column: u16, now: Moment) {
        match target {
            Target::Nothing => {}
            // While something is typed, or asked, the letters of the screens are not live either.
            Target::Screen(tab) => {
                if matches!(self.overlay, Overlay::None) && !self.scope().is_typing() {
                    self.settle(now);
                    self.go(tab, now);
                }
            }
            Target::Key(key) => self.key(key, now),
            Target::Level => {
                self.pulled = Some(area);
                self.act(Action::Level(halves(area, column)), now);
            }
            Target::Line(_, true) => {
                // Once more on the same line opens it, where opening is all that Enter does there.
                let opens = resolve(self.scope(), plain(KeyCode::Enter));
                if matches!(opens, Some(Action::Open | Action::Change))
                    || (opens == Some(Action::Accept) && self.picks())
                {
                    self.key(plain(KeyCode::Enter), now);
                }
            }
            Target::Line(line, false) => self.act(Action::Line(line), now),
        }
    }

    /// Whether what is open is a list to pick from.
    fn picks(&self) -> bool {
        matches!(self.scope(), Scope::Find | Scope::FindOrNew | Scope::Files)
    }

    fn turn_wheel(&mut self, way: KeyCode, now: Moment) {
        let scope = self.scope();
        // A wheel that is brushed while one types must not go on to another line.
        if scope.is_typing() && !self.picks() && !matches!(scope, Scope::Help | Scope::Card) {
            return;
        }
        for _ in 0..NOTCH {
            if let Some(action) = resolve(self.scope(), plain(way)) {
                self.act(action, now);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_is_read_in_halves_of_a_tenth() {
        let area = Rect::new(10, 0, 20, 1);
        let at = |column| halves(area, column);
        assert_eq!([at(10), at(11), at(19), at(29), at(0), at(99)], [1, 2, 10, 20, 1, 20]);
        assert_eq!(halves(Rect::new(0, 0, 10, 1), 3), 7);
    }
}
