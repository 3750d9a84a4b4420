//! What is known of one thing, a fact under the other: a label, and behind it parts that flow over as many lines as they
//! need.

use crate::tui::text;
use crate::tui::theme::Theme;
use ratatui::text::{Line, Span};

/// The lines as they are written.
#[derive(Debug)]
pub struct Facts<'a> {
    /// Those written so far.
    pub lines: Vec<Line<'static>>,
    label: usize,
    cells: usize,
    /// How they look.
    pub theme: &'a Theme,
}

impl<'a> Facts<'a> {
    /// A page of so many cells, the first `label` of them before the facts.
    pub fn new(label: usize, cells: usize, theme: &'a Theme) -> Facts<'a> {
        Facts { lines: Vec::new(), label, cells, theme }
    }

    /// A label as it stands before its fact.
    pub fn label(&self, label: &str) -> Span<'static> {
        Span::styled(text::pad_right(label, self.label), self.theme.muted)
    }

    /// Writes a fact under those before it.
    pub fn fact<S: AsRef<str>>(&mut self, label: &str, parts: impl IntoIterator<Item = S>) {
        for (n, line) in self.flown(parts).into_iter().enumerate() {
            let label = self.label(if n == 0 { label } else { "" });
            self.lines.push(Line::from(vec![label, Span::styled(line, self.theme.text)]));
        }
    }

    /// Writes what is said with the facts, without a label and less plainly.
    pub fn aside<S: AsRef<str>>(&mut self, parts: impl IntoIterator<Item = S>) {
        for line in self.flown(parts) {
            self.lines.push(Line::from(vec![self.label(""), Span::styled(line, self.theme.muted)]));
        }
    }

    fn flown<S: AsRef<str>>(&self, parts: impl IntoIterator<Item = S>) -> Vec<String> {
        text::flow(parts, self.cells.saturating_sub(self.label).max(1))
    }
}
