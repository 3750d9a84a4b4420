//! A form with a head of fields and lines of ingredients under it: how one moves in it, and how it is drawn. A drink and a
//! recipe are written in one; each says what its fields are and what may stand in them.

use super::parts::{Left, Parts};
use super::told;
use crate::domain::venue::{Ingredient, Setup, said_day};
use crate::tui::keymap::Action;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::words;
use chrono::NaiveDate;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// The fields above the ingredients.
pub(crate) trait Head: Copy + PartialEq + 'static {
    /// Every one, in the order in which they are filled in.
    const ALL: &'static [Self];

    /// Title, the cells of the field, and the line of the head it stands on.
    fn place(self) -> (&'static str, u16, usize);

    /// The line of the head it stands on.
    fn line(self) -> usize {
        self.place().2
    }
}

/// What came of an action.
pub(crate) enum Step {
    /// The form is still open.
    Stay,
    /// Something is to be said.
    Say(Notice),
    /// It is thrown away.
    Drop,
    /// It is to be kept.
    Save,
}

impl Step {
    /// What that comes to for a screen; `save` says what is to be kept.
    pub(crate) fn or_save<T>(self, save: impl FnOnce() -> Done<T>) -> Done<T> {
        match self {
            Step::Stay => Done::NotYet,
            Step::Say(notice) => Done::Say(notice),
            Step::Drop => Done::Dropped,
            Step::Save => save(),
        }
    }
}

/// What became of a form.
pub(crate) enum Done<T> {
    /// It is still open.
    NotYet,
    /// It is still open, and something is to be said.
    Say(Notice),
    /// It is thrown away.
    Dropped,
    /// This came of it.
    Kept(T),
}

/// How a field of the head is shown.
pub(crate) enum Shown<'a> {
    /// A line of text.
    Field(&'a Field),
    /// One of several choices.
    Choice(String),
    /// Words that cannot be changed here.
    Fixed(String),
    /// Nothing at all.
    Nothing,
}

/// Where the cursor is in a form, and its ingredients.
pub(crate) struct Writing<H> {
    /// The field with the cursor; none while it is in the ingredients.
    pub(crate) focus: Option<H>,
    /// What goes in.
    pub(crate) parts: Parts,
    error: Option<(H, String)>,
    /// Whether anything was changed, so that it is not thrown away by one key.
    changed: bool,
    leaving: bool,
}

impl<H: Head> Writing<H> {
    pub(crate) fn new(focus: H, parts: Parts) -> Writing<H> {
        Writing { focus: Some(focus), parts, error: None, changed: false, leaving: false }
    }

    /// To a field of the head, or into the ingredients.
    pub(crate) fn go(&mut self, to: Option<H>, setup: &Setup) {
        self.error = None;
        if to.is_none() && self.focus.is_some() {
            self.parts.enter(setup);
        }
        self.focus = to;
    }
}

/// A form that is being written.
pub(crate) trait Form {
    /// Its fields.
    type Head: Head;

    fn writing(&self) -> &Writing<Self::Head>;
    fn writing_mut(&mut self) -> &mut Writing<Self::Head>;

    /// Whether a field can be written in.
    fn is_open(&self, _: Self::Head) -> bool {
        true
    }

    /// Whether a field that is not sound can be left for now, to be seen to before all of it is kept.
    fn may_wait(&self, _: Self::Head) -> bool {
        false
    }

    /// A field that is entered or refused: what stands in it is marked where one rather writes it anew.
    fn mark(&mut self, _: Self::Head) {}

    /// Whether a field can be left as it is.
    fn check(&self, head: Self::Head, setup: &Setup) -> Result<(), String>;

    /// A field is left forwards: what was only begun may be completed.
    fn complete(&mut self, _: Self::Head, _: &Setup) {}

    /// Takes an action into a field; says whether anything changed by it.
    fn edit(&mut self, head: Self::Head, action: Action, setup: &Setup) -> bool;

    /// Takes text that came in one piece.
    fn take(&mut self, head: Self::Head, pasted: &str, setup: &Setup);

    /// How a field is shown.
    fn shown(&self, head: Self::Head) -> Shown<'_>;

    /// The open fields in their order.
    fn open(&self) -> Vec<Self::Head> {
        Self::Head::ALL.iter().copied().filter(|head| self.is_open(*head)).collect()
    }

    /// What an action comes to.
    fn apply(&mut self, action: Action, setup: &Setup) -> Step {
        let leaving = std::mem::take(&mut self.writing_mut().leaving);
        let focus = self.writing().focus;
        match (action, focus) {
            (Action::Cancel, _) if self.writing().changed && !leaving => {
                self.writing_mut().leaving = true;
                return Step::Say(Notice::warning(word!(
                    "Esc once more throws away what was written; Ctrl-S keeps it"
                )));
            }
            (Action::Cancel, _) => return Step::Drop,
            (Action::Save, _) => return Step::Save,
            (Action::RemoveLine, Some(_)) => {}
            (Action::RemoveLine, None) => {
                self.writing_mut().changed = true;
                self.writing_mut().parts.remove(setup);
            }
            (Action::Accept | Action::NextField, Some(head)) => self.leave(head, setup),
            (Action::Accept | Action::NextField, None) => {
                let parts = &mut self.writing_mut().parts;
                let left = if action == Action::Accept { parts.accept(setup) } else { parts.next(setup) };
                match (left, action) {
                    (Left::Done, Action::Accept) => {
                        return Step::Say(Notice::info(word!("that is all of it: Ctrl-S keeps it")));
                    }
                    (Left::Done, _) => self.enter(self.open().first().copied(), setup),
                    _ => {}
                }
            }
            (Action::Up | Action::Down, None) if self.writing().parts.is_choosing() => {
                self.writing_mut().parts.edit(action);
            }
            (Action::Down, Some(head)) => {
                let next = self.open().into_iter().find(|other| other.line() > head.line());
                self.enter(next, setup);
            }
            (Action::Down, None) => {
                self.writing_mut().parts.line(1, setup);
            }
            (Action::Up, _) => self.back(setup, true),
            (Action::PreviousField, _) => self.back(setup, false),
            (_, Some(head)) => {
                let changed = self.edit(head, action, setup);
                let writing = self.writing_mut();
                writing.error = None;
                writing.changed |= changed;
            }
            (_, None) => {
                let moves = is_move(action);
                let writing = self.writing_mut();
                writing.changed |= writing.parts.edit(action) && !moves;
            }
        }
        Step::Stay
    }

    /// Takes text that came in one piece into the field with the cursor.
    fn paste(&mut self, pasted: &str, setup: &Setup) {
        let writing = self.writing_mut();
        writing.changed = true;
        writing.error = None;
        match writing.focus {
            None => writing.parts.paste(pasted),
            Some(head) => self.take(head, pasted, setup),
        }
    }

    /// Forwards out of a field of the head, if it is sound.
    fn leave(&mut self, head: Self::Head, setup: &Setup) {
        self.complete(head, setup);
        match self.check(head, setup) {
            Err(wrong) if !self.may_wait(head) => self.refuse(head, wrong, setup),
            _ => {
                let next = self.open().into_iter().skip_while(|other| *other != head).nth(1);
                self.enter(next, setup);
            }
        }
    }

    /// To a field of the head, or into the ingredients.
    fn enter(&mut self, to: Option<Self::Head>, setup: &Setup) {
        self.writing_mut().go(to, setup);
        if let Some(head) = to {
            self.mark(head);
        }
    }

    /// To a field, with what is wrong with it.
    fn refuse(&mut self, head: Self::Head, wrong: String, setup: &Setup) {
        self.enter(Some(head), setup);
        self.writing_mut().error = Some((head, wrong));
    }

    /// To the field before, or to the line above.
    fn back(&mut self, setup: &Setup, by_line: bool) {
        let open = self.open();
        match self.writing().focus {
            Some(head) => {
                let before = match by_line {
                    true => open.into_iter().find(|other| other.line() + 1 == head.line()),
                    false => open.into_iter().rev().skip_while(|other| *other != head).nth(1),
                };
                self.enter(Some(before.unwrap_or(head)), setup);
            }
            None => {
                let parts = &mut self.writing_mut().parts;
                let left = if by_line { parts.line(-1, setup) } else { parts.previous(setup) };
                if matches!(left, Left::Before) {
                    let last = open.iter().map(|head| head.line()).max();
                    let to = match by_line {
                        true => open.iter().copied().find(|head| Some(head.line()) == last),
                        false => open.last().copied(),
                    };
                    self.enter(to, setup);
                }
            }
        }
    }

    /// The ingredients, if every field of the head and every line of them is sound; else the cursor goes where it is not.
    fn sound(&mut self, setup: &Setup) -> Option<Vec<Ingredient>> {
        if !self.writing_mut().parts.settle_typed(setup) {
            self.writing_mut().focus = None;
            return None;
        }
        if let Some(head) = self.writing().focus {
            self.complete(head, setup);
        }
        for head in self.open() {
            if let Err(wrong) = self.check(head, setup) {
                self.refuse(head, wrong, setup);
                return None;
            }
        }
        let found = self.writing_mut().parts.all(setup).ok();
        if found.is_none() {
            self.writing_mut().focus = None;
        }
        found
    }

    /// Draws the form: its title, the head, what is wrong or what the field takes, the lines, and what it comes to. What
    /// is said stands above the lines, since the matches of an ingredient lie over what is below them.
    fn draw_form(&mut self, frame: &mut Frame, area: Rect, page: FormPage<'_>) {
        let FormPage { setup, theme, .. } = page;
        let lines = Self::Head::ALL.iter().map(|head| head.line()).max().unwrap_or(0) + 1;
        let head_lines = u16::try_from(lines).unwrap_or(u16::MAX);
        // What it comes to keeps some lines, the ingredients have what they need of the rest.
        let tall = u16::try_from(page.figures.len()).unwrap_or(u16::MAX).clamp(3, 6);
        let room = area.height.saturating_sub(1 + head_lines + 2 + tall);
        let rows = self.writing().parts.height().clamp(3, room.max(3));
        let [title, head, said, lines, below] = Layout::vertical([
            Constraint::Length(1),
            Constraint::Length(head_lines),
            Constraint::Length(2),
            Constraint::Length(rows),
            Constraint::Fill(1),
        ])
        .areas(area);
        frame.render_widget(Span::styled(text::fit(&page.title, title.width.into()), theme.title), title);
        self.draw_head(frame, head, theme);
        let words = match self.writing().focus {
            Some(head) => match self.writing().error.as_ref().filter(|(at, _)| *at == head) {
                Some((_, wrong)) => Err(wrong.clone()),
                None => Ok(page.hint),
            },
            None => self.writing().parts.message(setup),
        };
        frame.render_widget(Paragraph::new(told(words, said.width.into(), theme)), said);
        let in_lines = self.writing().focus.is_none();
        self.writing_mut().parts.draw(frame, lines, setup, in_lines, page.cost, theme);
        frame.render_widget(Paragraph::new(page.figures), below);
        if in_lines {
            self.writing_mut().parts.draw_matches(frame, area, theme);
        }
    }

    fn draw_head(&self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let mut at = vec![area.x; usize::from(area.height)];
        for &head in Self::Head::ALL {
            let (title, cells, line) = head.place();
            let shown = self.shown(head);
            let Some(x) = at.get_mut(line).filter(|_| !matches!(shown, Shown::Nothing)) else { continue };
            let y = area.y + u16::try_from(line).unwrap_or(0);
            let has_focus = self.writing().focus == Some(head);
            let wide = u16::try_from(text::width(title)).unwrap_or(0) + 1;
            let room = |x: u16, width: u16| Rect { x, y, width: width.min(area.right().saturating_sub(x)), height: 1 };
            let style = if has_focus { theme.title } else { theme.muted };
            frame.render_widget(Span::styled(title, style), room(*x, wide));
            let place = room(*x + wide, cells);
            match shown {
                Shown::Field(field) => field.draw(frame, place, has_focus, theme),
                Shown::Choice(word) => {
                    let style = if has_focus { theme.selected } else { theme.typed };
                    frame.render_widget(Span::styled(text::pad_right(&word, place.width.into()), style), place);
                }
                Shown::Fixed(words) => {
                    frame.render_widget(Span::styled(text::fit(&words, place.width.into()), theme.text), place);
                }
                Shown::Nothing => {}
            }
            *x += wide + cells + 2;
        }
    }
}

/// What a form needs to be drawn besides itself.
pub(crate) struct FormPage<'a> {
    pub(crate) setup: &'a Setup,
    pub(crate) theme: &'a Theme,
    pub(crate) title: String,
    /// What the field with the cursor takes.
    pub(crate) hint: String,
    /// What an ingredient costs.
    pub(crate) cost: &'a dyn Fn(&Ingredient) -> String,
    /// What it comes to.
    pub(crate) figures: Vec<Line<'static>>,
}

/// Whether an action only moves the cursor.
pub(crate) fn is_move(action: Action) -> bool {
    matches!(action, Action::CursorLeft | Action::CursorRight | Action::CursorHome | Action::CursorEnd)
}

/// A first day as it is typed; nothing is from the beginning.
pub(crate) fn begins(typed: &str, today: NaiveDate) -> Result<Option<NaiveDate>, String> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    let expected = word!("expected a date such as 2026-11-20, 30 nov, mon, tomorrow or +7, or nothing for all along");
    said_day(typed, today).map(Some).map_err(|_| expected.to_owned())
}

/// What a first day that is typed means; `before` is what becomes of the time before it.
pub(crate) fn from_hint(typed: &str, today: NaiveDate, before: &str) -> String {
    let now = words::day(today, "%a %-d %b");
    let from = match begins(typed, today) {
        Ok(Some(day)) => say!("From {day} on; {before}", day = words::day(day, "%a %-d %b %Y"), before),
        _ => say!("From which business day on; empty is all along; {before}", before),
    };
    say!("{from}. The business day now is {now}; also mon, +7, 30 nov", from, now)
}

/// What was changed elsewhere while the form was open.
pub(crate) fn changed_meanwhile(name: &str) -> Notice {
    let name = text::safe(name);
    Notice::warning(say!(
        "{name} was changed elsewhere meanwhile: Ctrl-S once more keeps this over it, Esc drops this",
        name
    ))
}
