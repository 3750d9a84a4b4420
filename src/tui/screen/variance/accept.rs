//! The form in which somebody says what made a gap.

use super::VarianceScreen;
use crate::domain::rows::{InWords, cause_word, chances};
use crate::domain::venue::{CauseWord, ItemId};
use crate::tui::keymap::Action;
use crate::tui::screen::{CauseAccepted, Effect};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::field::Field;
use crate::tui::widget::notice::Notice;
use crate::tui::widget::panel::{centred, panel};
use crate::tui::widget::window::Window;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// The form's box, the causes that are in view, and the cells of a field's name.
const WIDTH: u16 = 76;
const CAUSES: u16 = 8;
const HEIGHT: u16 = CAUSES + 6;
const TITLE: u16 = 6;

/// The fields, in the order in which they are gone through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Cause,
    Note,
    By,
}

impl Part {
    const ALL: [Part; 3] = [Part::Cause, Part::Note, Part::By];

    fn title(self) -> &'static str {
        match self {
            Part::Cause => word!("Cause"),
            Part::Note => word!("Note"),
            Part::By => word!("By"),
        }
    }

    fn step(self, by: isize) -> Option<Part> {
        let at = Part::ALL.iter().position(|part| *part == self)?;
        at.checked_add_signed(by).and_then(|at| Part::ALL.get(at)).copied()
    }
}

/// What somebody says made a gap.
pub(super) struct CauseForm {
    item: ItemId,
    name: String,
    /// What can be chosen: what probably made it, then everything else.
    options: Vec<(CauseWord, String)>,
    window: Window,
    note: Field,
    by: Field,
    focus: Part,
    error: Option<String>,
}

/// What came of an action.
pub(super) enum Done {
    NotYet,
    Dropped,
    Kept { item: ItemId, cause: CauseWord, note: String, by: String },
}

impl CauseForm {
    pub(super) fn apply(&mut self, action: Action) -> Done {
        self.error = None;
        match action {
            Action::Cancel => return Done::Dropped,
            Action::Accept if self.focus == Part::By => return self.keep(),
            Action::Up | Action::Down if self.focus == Part::Cause => {
                self.window.apply(action, self.options.len());
            }
            Action::Accept | Action::NextField | Action::Down => self.go(1),
            Action::PreviousField | Action::Up => self.go(-1),
            _ => match self.focus {
                Part::Cause => {}
                Part::Note => {
                    self.note.apply(action);
                }
                Part::By => {
                    self.by.apply(action);
                }
            },
        }
        Done::NotYet
    }

    pub(super) fn paste(&mut self, pasted: &str) {
        match self.focus {
            Part::Cause => {}
            Part::Note => self.note.paste(pasted),
            Part::By => self.by.paste(pasted),
        }
    }

    fn go(&mut self, by: isize) {
        self.focus = self.focus.step(by).unwrap_or(self.focus);
    }

    fn keep(&mut self) -> Done {
        let by = self.by.text().trim().to_owned();
        if by.is_empty() {
            self.error = Some(word!("type your initials: a cause is kept with who accepted it").to_owned());
            return Done::NotYet;
        }
        match self.options.get(self.window.selected()) {
            Some((cause, _)) => {
                Done::Kept { item: self.item, cause: *cause, note: self.note.text().trim().to_owned(), by }
            }
            None => Done::NotYet,
        }
    }

    pub(super) fn draw(&mut self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let title = say!("What made the gap of {name}", name = text::safe(&self.name));
        let inner = panel(frame, centred(area, WIDTH, HEIGHT), &title, theme);
        let mut y = inner.y;
        for part in Part::ALL {
            let height = if part == Part::Cause { CAUSES } else { 1 };
            let height = height.min(inner.bottom().saturating_sub(y));
            if height == 0 {
                return;
            }
            let has_focus = part == self.focus;
            let style = if has_focus { theme.title } else { theme.text };
            let mark = if has_focus { ">" } else { " " };
            let title = Rect { y, height: 1, width: (TITLE + 1).min(inner.width), ..inner };
            frame.render_widget(Span::styled(format!("{mark}{}", part.title()), style), title);
            let value = Rect { x: title.right(), y, width: inner.width - title.width, height };
            match part {
                Part::Cause => self.draw_causes(frame, value, theme),
                Part::Note => self.note.draw(frame, value, has_focus, theme),
                Part::By => self.by.draw(frame, value, has_focus, theme),
            }
            y += height;
        }
        if let Some(error) = &self.error
            && y < inner.bottom()
        {
            let line = text::fit(error, inner.width.into());
            frame.render_widget(Span::styled(line, theme.error), Rect { y, height: 1, ..inner });
        }
    }

    fn draw_causes(&mut self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let shown = self.window.scroll(usize::from(area.height).max(1), self.options.len());
        for (at, y) in shown.zip(area.y..area.bottom()) {
            let style = if at == self.window.selected() { theme.selected } else { theme.text };
            let line = text::pad_right(&self.options[at].1, area.width.into());
            frame.render_widget(Line::from(Span::styled(line, style)), Rect { y, height: 1, ..area });
        }
    }
}

impl VarianceScreen {
    /// Opens the form for the line under the cursor, or the one that is open.
    pub(super) fn begin_accepting(&mut self) -> Effect {
        let Some(item) = self.explained().or_else(|| self.item_under_cursor()) else {
            return Effect::Say(Notice::info(word!("go to the line of an item first")));
        };
        let Some(what) = self.setup.item(item) else { return Effect::None };
        let gap = self.view.variance.rows.iter().find(|row| row.item == item).map(|row| row.gap);
        let Some(gap) = gap else {
            return Effect::Say(Notice::info(word!("the two counts tell nothing about this item")));
        };
        let words = InWords { setup: &self.setup, item: what, gap };
        let mut options: Vec<(CauseWord, String)> = Vec::new();
        for suspect in self.view.suspects(item) {
            let word = suspect.cause.word();
            if options.iter().all(|(known, _)| *known != word) {
                let said = format!("{} ({})", text::safe(&words.headline(&suspect.cause)), chances(suspect));
                options.push((word, said));
            }
        }
        for word in CauseWord::ALL {
            if options.iter().all(|(known, _)| known != word) {
                options.push((*word, cause_word(*word).to_owned()));
            }
        }
        self.form = Some(CauseForm {
            item,
            name: what.name.clone(),
            options,
            window: Window::default(),
            note: Field::new(80),
            by: Field::with(12, self.by.as_deref().unwrap_or_default()),
            focus: Part::Cause,
            error: None,
        });
        Effect::None
    }

    /// What an action does to the form that is open.
    pub(super) fn fill_in(&mut self, action: Action) -> Effect {
        let Some(form) = &mut self.form else { return Effect::None };
        match form.apply(action) {
            Done::NotYet => Effect::None,
            Done::Dropped => {
                self.form = None;
                Effect::None
            }
            Done::Kept { item, cause, note, by } => {
                self.handed = self.form.take();
                self.by = Some(by.clone());
                self.accepted = Some(item);
                Effect::AcceptCause(CauseAccepted { closing: self.view.closing.id, item, cause, note, by })
            }
        }
    }

    /// The book did not take the cause: the form is there again as it was.
    pub fn refused(&mut self) {
        if let Some(form) = self.handed.take() {
            self.form = Some(form);
        }
    }

    /// Takes an accepted cause back.
    pub(super) fn reopen(&self) -> Effect {
        let Some(item) = self.explained().or_else(|| self.item_under_cursor()) else {
            return Effect::Say(Notice::info(word!("go to a line whose cause is accepted first")));
        };
        let name = self.setup.item_name(item);
        let is_accepted = |item: &ItemId| self.view.explained.contains_key(item);
        // What was accepted last went down to the accepted ones, and the cursor stayed: it is what is meant.
        let item = Some(item).filter(is_accepted).or(self.accepted).unwrap_or(item);
        if !is_accepted(&item) {
            return Effect::Say(Notice::info(say!("no cause is accepted of the gap of {name}", name)));
        }
        Effect::ReopenGap { closing: self.view.closing.id, item }
    }
}
