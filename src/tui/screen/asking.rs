//! Fields that are filled in one after the other, each with what it takes or what is wrong said below them all. A form says
//! what its fields are; how one moves in them, and how they are drawn, is the same for all.

use super::told;
use super::writing::{Step, is_move};
use crate::tui::keymap::Action;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Span;
use ratatui::widgets::Paragraph;

/// Lines of what is said below the fields.
const SAID: u16 = 3;

/// One field as it is filled in.
pub(crate) enum Cell<'a> {
    /// A line of text.
    Typed(&'a mut Field),
    /// One of several words: how many there are, and which one it is.
    Choice(&'a mut usize, &'a [&'a str]),
}

/// A form of such fields.
pub(crate) trait Asked {
    /// What tells a field from the others.
    type Of: Copy + PartialEq + 'static;

    /// Every field, in the order in which they are gone through.
    const ALL: &'static [Self::Of];

    /// What stands before it.
    fn title(of: Self::Of) -> &'static str;

    /// How it is filled in.
    fn cell(&mut self, of: Self::Of) -> Cell<'_>;

    /// What it takes, or what is understood of it; or what is wrong with it.
    fn said(&self, of: Self::Of) -> Result<String, String>;

    /// It is left forwards: what was only begun may be completed.
    fn complete(&mut self, _: Self::Of) {}
}

/// A form, and where the cursor is in it.
#[derive(Debug)]
pub(crate) struct Asking<A: Asked> {
    pub(crate) form: A,
    focus: A::Of,
    /// The field was left as it cannot be left: only then is it said what is wrong while it is being typed.
    refused: bool,
    /// Whether anything was changed, so that it is not thrown away by one key.
    changed: bool,
    leaving: bool,
}

impl<A: Asked> Asking<A> {
    /// The form, the cursor in the first field that is to be filled in.
    pub(crate) fn new(form: A, focus: A::Of) -> Asking<A> {
        let mut asking = Asking { form, focus, refused: false, changed: false, leaving: false };
        asking.enter(focus);
        asking
    }

    /// What an action comes to.
    pub(crate) fn apply(&mut self, action: Action) -> Step {
        let leaving = std::mem::take(&mut self.leaving);
        match action {
            Action::Cancel if self.changed && !leaving => {
                self.leaving = true;
                return Step::Say(Notice::warning("Esc once more throws away what was typed; Ctrl-S keeps it"));
            }
            Action::Cancel => return Step::Drop,
            Action::Save => return self.save(),
            Action::Accept if A::ALL.last() == Some(&self.focus) => return self.save(),
            Action::Accept | Action::NextField => self.leave(),
            Action::PreviousField => self.step(-1),
            _ => self.edit(action),
        }
        Step::Stay
    }

    /// Takes text that came in one piece.
    pub(crate) fn paste(&mut self, pasted: &str) {
        if let Cell::Typed(field) = self.form.cell(self.focus) {
            field.paste(pasted);
            (self.changed, self.refused) = (true, false);
        }
    }

    fn edit(&mut self, action: Action) {
        self.refused = false;
        self.changed |= match self.form.cell(self.focus) {
            Cell::Typed(field) => field.apply(action) && !is_move(action),
            Cell::Choice(at, words) => match chosen(action, Some(*at), words.len(), |n| words[n]) {
                Some(other) => std::mem::replace(at, other) != other,
                None => false,
            },
        };
    }

    /// Forwards, if the field is sound.
    fn leave(&mut self) {
        self.form.complete(self.focus);
        match self.form.said(self.focus) {
            Ok(_) => self.step(1),
            // What is typed next stands in its place.
            Err(_) => {
                self.enter(self.focus);
                self.refused = true;
            }
        }
    }

    fn step(&mut self, by: isize) {
        let here = A::ALL.iter().position(|of| *of == self.focus).unwrap_or(0);
        if let Some(to) = here.checked_add_signed(by).and_then(|to| A::ALL.get(to)) {
            self.enter(*to);
        }
    }

    fn enter(&mut self, to: A::Of) {
        self.focus = to;
        self.refused = false;
        if let Cell::Typed(field) = self.form.cell(to) {
            field.mark();
        }
    }

    /// All of it, if every field is sound; else to the first that is not.
    fn save(&mut self) -> Step {
        self.form.complete(self.focus);
        match A::ALL.iter().find(|of| self.form.said(**of).is_err()) {
            None => Step::Save,
            Some(wrong) => {
                self.enter(*wrong);
                self.refused = true;
                Step::Stay
            }
        }
    }

    /// Lines that the fields and what is said of them take up.
    pub(crate) fn height() -> u16 {
        u16::try_from(A::ALL.len()).unwrap_or(u16::MAX).saturating_add(1 + SAID)
    }

    /// Draws the fields below each other, `wide` cells each at most, and what is said of the one with the cursor.
    pub(crate) fn draw(&mut self, frame: &mut Frame, area: Rect, wide: u16, theme: &Theme) {
        let titles = A::ALL.iter().map(|of| text::width(A::title(*of))).max().unwrap_or(0);
        let titles = u16::try_from(titles).unwrap_or(0).saturating_add(3).min(area.width);
        for (of, y) in A::ALL.iter().copied().zip(area.y..area.bottom()) {
            let has_focus = of == self.focus;
            let style = if has_focus { theme.title } else { theme.text };
            let mark = if has_focus { ">" } else { " " };
            let title = Rect { y, height: 1, width: titles, ..area };
            frame.render_widget(Span::styled(format!("{mark} {}", A::title(of)), style), title);
            let place = Rect { x: title.right(), y, height: 1, width: wide.min(area.width - titles) };
            match self.form.cell(of) {
                Cell::Typed(field) => field.draw(frame, place, has_focus, theme),
                Cell::Choice(at, words) => {
                    let style = if has_focus { theme.selected } else { theme.typed };
                    let word = words.get(*at).copied().unwrap_or_default();
                    frame.render_widget(Span::styled(text::pad_right(word, place.width.into()), style), place);
                }
            }
        }
        let y = area.y.saturating_add(Self::height() - SAID).min(area.bottom());
        let said = Rect { y, height: SAID.min(area.bottom() - y), ..area };
        let words = match self.form.said(self.focus) {
            // Nothing is wrong before one has typed.
            Err(wants) if !self.refused => Ok(wants),
            said => said,
        };
        frame.render_widget(Paragraph::new(told(words, said.width.into(), theme)), said);
    }
}

/// Choosing one of several: left and right go round, a letter goes to the next one that begins with it.
pub(crate) fn chosen<'a>(
    action: Action,
    here: Option<usize>,
    len: usize,
    name: impl Fn(usize) -> &'a str,
) -> Option<usize> {
    let here = here.unwrap_or(0);
    let begins =
        |n: usize, c: char| name(n).chars().next().is_some_and(|first| first.to_lowercase().eq(c.to_lowercase()));
    match action {
        _ if len == 0 => None,
        Action::CursorRight | Action::Type(' ') => Some((here + 1) % len),
        Action::CursorLeft => Some((here + len - 1) % len),
        Action::CursorHome => Some(0),
        Action::CursorEnd => Some(len - 1),
        Action::Type(c) => (1..=len).map(|step| (here + step) % len).find(|n| begins(*n, c)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_choose() {
        let words = |n: usize| ["Rail", "Cellar", "Room"][n];
        let len = 3;
        let r = |here| chosen(Action::Type('r'), Some(here), len, words).map(words);
        assert_eq!([r(0), r(1), r(2)], [Some("Room"), Some("Room"), Some("Rail")]);
        assert_eq!(chosen(Action::Type('z'), Some(0), len, words), None);
        assert_eq!(chosen(Action::CursorLeft, Some(0), len, words), Some(len - 1));
        assert_eq!(chosen(Action::CursorRight, None, 0, words), None);
    }
}
