//! Fields that are filled in one after the other, each with what it takes or what is wrong said below them all. A form says
//! what its fields are; how one moves in them, and how they are drawn, is the same for all.

use super::told;
use super::writing::{Step, is_move};
use crate::tui::keymap::Action;
use crate::tui::pointer::{self, Target};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::words;
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
    Choice(&'a mut usize, &'a [&'static str]),
}

/// A form of such fields.
pub(crate) trait Asked {
    /// What tells a field from the others.
    type Of: Copy + PartialEq + 'static;

    /// Every field, in the order in which they are gone through.
    fn all(&self) -> Vec<Self::Of>;

    /// What stands before it.
    fn title(&self, of: Self::Of) -> &'static str;

    /// What stands above it, where something new begins.
    fn heading(&self, _: Self::Of) -> Option<&'static str> {
        None
    }

    /// How it is filled in.
    fn cell(&mut self, of: Self::Of) -> Cell<'_>;

    /// What it takes, or what is understood of it; or what is wrong with it.
    fn said(&self, of: Self::Of) -> Result<String, String>;

    /// It is left forwards: what was only begun may be completed.
    fn complete(&mut self, _: Self::Of) {}
}

/// What stands on a line of a form.
enum Shown<Of> {
    Field(Of),
    Heading(&'static str),
    Nothing,
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
    /// A letter that no word of a choice begins with: the choice is not what was meant, until another key says so.
    missed: Option<char>,
    /// The letters that were typed in a choice: whoever writes the word out means it.
    spelled: String,
    /// The first line that is shown, where not all of them are.
    top: usize,
}

/// Fields that one page has, for whoever leafs through a long form.
const PAGE: isize = 8;

impl<A: Asked> Asking<A> {
    /// The form, the cursor in the first field that is to be filled in.
    pub(crate) fn new(form: A, focus: A::Of) -> Asking<A> {
        let mut asking = Asking {
            form,
            focus,
            refused: false,
            changed: false,
            leaving: false,
            missed: None,
            spelled: String::new(),
            top: 0,
        };
        asking.enter(focus);
        asking
    }

    /// What an action comes to.
    pub(crate) fn apply(&mut self, action: Action) -> Step {
        let leaving = std::mem::take(&mut self.leaving);
        if let (Some(c), Action::Accept | Action::NextField) = (self.missed.take(), action) {
            return self.none_begins(c);
        }
        match action {
            Action::Cancel if self.changed && !leaving => {
                self.leaving = true;
                return Step::Say(Notice::warning(word!("Esc once more throws away what was typed; Ctrl-S keeps it")));
            }
            Action::Cancel => return Step::Drop,
            Action::Save => return self.save(),
            Action::Accept if self.form.all().last() == Some(&self.focus) => return self.save(),
            Action::Accept | Action::NextField => self.leave(),
            Action::PreviousField => self.step(-1),
            Action::Line(line) => {
                if let Some(to) = self.form.all().get(line) {
                    self.enter(*to);
                }
            }
            Action::PageUp => self.step(-PAGE),
            Action::PageDown => self.step(PAGE),
            _ => return self.edit(action),
        }
        Step::Stay
    }

    /// The field with the cursor.
    pub(crate) fn focus(&self) -> A::Of {
        self.focus
    }

    /// Goes back to a field that cannot be left as it is.
    pub(crate) fn refuse(&mut self, of: A::Of) {
        self.enter(of);
        self.refused = true;
    }

    /// Takes text that came in one piece.
    pub(crate) fn paste(&mut self, pasted: &str) {
        if let Cell::Typed(field) = self.form.cell(self.focus) {
            field.paste(pasted);
            (self.changed, self.refused) = (true, false);
        }
    }

    fn edit(&mut self, action: Action) -> Step {
        self.refused = false;
        let spelled = std::mem::take(&mut self.spelled);
        self.changed |= match self.form.cell(self.focus) {
            Cell::Typed(field) => field.apply(action) && !is_move(action),
            Cell::Choice(at, words) => {
                let so_far = |c: char| format!("{spelled}{}", c.to_lowercase());
                match (chosen(action, Some(*at), words.len(), |n| words::find(words[n])), action) {
                    (_, Action::Type(c))
                        if !spelled.is_empty() && words::find(words[*at]).to_lowercase().starts_with(&so_far(c)) =>
                    {
                        self.spelled = so_far(c);
                        false
                    }
                    (Some(other), _) => {
                        if let Action::Type(c) = action {
                            self.spelled = c.to_lowercase().collect();
                        }
                        std::mem::replace(at, other) != other
                    }
                    (None, Action::Type(c)) => {
                        self.missed = Some(c);
                        return self.none_begins(c);
                    }
                    (None, _) => false,
                }
            }
        };
        Step::Stay
    }

    fn none_begins(&mut self, c: char) -> Step {
        match self.form.cell(self.focus) {
            Cell::Choice(_, words) => Step::Say(Notice::warning(say!(
                "none begins with {c}: it is {words}",
                c,
                words = words.iter().map(|word| words::find(word)).collect::<Vec<_>>().join(", ")
            ))),
            Cell::Typed(_) => Step::Stay,
        }
    }

    /// Forwards, if the field is sound.
    fn leave(&mut self) {
        self.form.complete(self.focus);
        match self.form.said(self.focus) {
            Ok(_) => self.step(1),
            // What is typed next stands in its place.
            Err(_) => self.refuse(self.focus),
        }
    }

    fn step(&mut self, by: isize) {
        let all = self.form.all();
        let here = all.iter().position(|of| *of == self.focus).unwrap_or(0);
        let to = here.saturating_add_signed(by).min(all.len().saturating_sub(1));
        if let Some(to) = all.get(to).filter(|_| to != here) {
            self.enter(*to);
        }
    }

    fn enter(&mut self, to: A::Of) {
        self.focus = to;
        self.refused = false;
        self.spelled.clear();
        if let Cell::Typed(field) = self.form.cell(to) {
            field.mark();
        }
    }

    /// All of it, if every field is sound; else to the first that is not.
    fn save(&mut self) -> Step {
        self.form.complete(self.focus);
        match self.form.all().into_iter().find(|of| self.form.said(*of).is_err()) {
            None => Step::Save,
            Some(wrong) => {
                self.refuse(wrong);
                Step::Stay
            }
        }
    }

    /// The fields below each other, with an empty line and a heading above those that have one.
    fn lines(&self) -> Vec<Shown<A::Of>> {
        let of = |of: A::Of| {
            let heading = self.form.heading(of).map(|heading| [Shown::Nothing, Shown::Heading(heading)]);
            heading.into_iter().flatten().chain([Shown::Field(of)])
        };
        self.form.all().into_iter().flat_map(of).collect()
    }

    /// Lines that the fields and what is said of them take up.
    pub(crate) fn height(&self) -> u16 {
        u16::try_from(self.lines().len()).unwrap_or(u16::MAX).saturating_add(1 + SAID)
    }

    /// Draws the fields below each other, `wide` cells each at most, and what is said of the one with the cursor. Where there
    /// is no room for all of them, those around the cursor.
    pub(crate) fn draw(&mut self, frame: &mut Frame, area: Rect, wide: u16, theme: &Theme) {
        let lines = self.lines();
        let titles = self.form.all().into_iter().map(|of| text::width(self.form.title(of))).max().unwrap_or(0);
        let titles = u16::try_from(titles).unwrap_or(0).saturating_add(3).min(area.width);
        let words = match self.form.said(self.focus) {
            // Nothing is wrong before one has typed.
            Err(wants) if !self.refused => Ok(wants),
            said => said,
        };
        let words = told(words, area.width.into(), theme);
        let roomy = area.height >= self.height();
        let gap = u16::from(roomy);
        // Where room is short, what is said takes no more of it than it needs.
        let needed = u16::try_from(words.len()).unwrap_or(SAID).clamp(1, SAID);
        let said = if roomy { SAID } else { needed }.min(area.height);
        let rows = usize::from(area.height - said).saturating_sub(gap.into());
        let focus = lines.iter().position(|line| matches!(line, Shown::Field(of) if *of == self.focus)).unwrap_or(0);
        // The heading of the first field is seen with it.
        let least =
            lines[..focus].iter().rposition(|line| matches!(line, Shown::Field(_))).map_or(0, |before| before + 1);
        let all = lines.len();
        self.top = self.top.min(least).max((focus + 1).saturating_sub(rows)).min(all.saturating_sub(rows));
        for (line, y) in lines.into_iter().skip(self.top).take(rows).zip(area.y..) {
            let row = Rect { y, height: 1, ..area };
            match line {
                Shown::Nothing => {}
                Shown::Heading(heading) => frame.render_widget(Span::styled(heading, theme.muted), row),
                Shown::Field(of) => self.draw_field(frame, row, of, (titles, wide), theme),
            }
        }
        let below = Rect { y: area.bottom() - said, height: said, ..area };
        frame.render_widget(Paragraph::new(words), below);
        if all > rows {
            let [above, more] = theme.glyphs.more;
            let mark = |more: bool, glyph: char| if more { glyph } else { ' ' };
            let marks = format!("{}{}", mark(self.top > 0, above), mark(self.top + rows < all, more));
            let at = Rect { x: area.right().saturating_sub(2), width: 2.min(area.width), height: 1, ..area };
            frame.render_widget(Span::styled(marks, theme.muted), at.intersection(area));
        }
    }

    fn draw_field(&mut self, frame: &mut Frame, row: Rect, of: A::Of, (titles, wide): (u16, u16), theme: &Theme) {
        let has_focus = of == self.focus;
        if let Some(at) = self.form.all().iter().position(|other| *other == of) {
            pointer::put(row, Target::Line(at, has_focus));
        }
        let style = if has_focus { theme.title } else { theme.text };
        let mark = if has_focus { ">" } else { " " };
        let title = Rect { width: titles, ..row };
        frame.render_widget(Span::styled(format!("{mark} {}", self.form.title(of)), style), title);
        let place = Rect { x: title.right(), width: wide.min(row.width - titles), ..row };
        match self.form.cell(of) {
            Cell::Typed(field) => field.draw(frame, place, has_focus, theme),
            Cell::Choice(at, words) => {
                let style = if has_focus { theme.selected } else { theme.typed };
                let word = words.get(*at).map_or("", |word| words::find(word));
                // Told by more than its colour: it is chosen, not typed.
                let word = if has_focus { format!("< {word} >") } else { word.to_owned() };
                frame.render_widget(Span::styled(text::pad_right(&word, place.width.into()), style), place);
            }
        }
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
