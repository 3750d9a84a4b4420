//! The copies of the book on the first screen: when the last one was made, and what is wrong with them.

use super::draw::Said;
use super::{Due, TonightScreen};
use crate::domain::rows::CopiesState;
use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::text::{Line, Span};

/// What is wrong with the copies: lines that come before what is due, and lines that come after it.
pub(super) fn lines(copies: Option<&CopiesState>) -> [Vec<Due>; 2] {
    let wrong = copies.filter(|copies| copies.trouble().is_some());
    let line = |urgent: bool| wrong.filter(|copies| copies.failed.is_some() == urgent).map(|_| Due::Copies);
    [true, false].map(|urgent| line(urgent).into_iter().collect())
}

impl TonightScreen {
    /// When the last copy was made and where it stands, as much of it as there is room for.
    pub(super) fn last_copy(&self, cells: usize, theme: &Theme) -> Line<'static> {
        let said = self.copies.as_ref().and_then(|copies| {
            let when = say!("last copy {last}", last = copies.days.short(copies.last?));
            let whereabouts = text::safe(&format!("{when} {}", copies.whereabouts()?));
            let both = copies.second.as_ref().filter(|second| second.fault.is_none());
            let both = both.map(|_| say!("{when}, in both folders", when));
            [Some(whereabouts), both, Some(when)].into_iter().flatten().find(|said| text::width(said) <= cells)
        });
        Line::from(Span::styled(said.unwrap_or_default(), theme.muted)).right_aligned()
    }

    /// The line that says what is wrong with the copies.
    pub(super) fn copies_line(&self, theme: &Theme) -> Option<Said> {
        let copies = self.copies.as_ref()?;
        let trouble = text::safe(&copies.trouble()?);
        let style = if copies.failed.is_some() { theme.warning } else { theme.text };
        let tells = say!("{trouble}. Nothing that was counted is lost. Enter copies the book now.", trouble);
        Some(Said { name: trouble, facts: Vec::new(), style, tells: text::capital(&tells) })
    }
}
