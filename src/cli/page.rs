//! An answer for people: lines and tables, harmless to a terminal whatever the book holds.

use super::table::Table;
use crate::tui::text::safe;
use std::io::IsTerminal;

/// The text of an answer as it grows.
#[derive(Debug, Default)]
pub(super) struct Page {
    text: String,
    /// Cells of a line, when a terminal shows it.
    width: Option<usize>,
}

impl Page {
    /// An empty page, as wide as the terminal that standard output is; without an end when it is none.
    pub(super) fn new() -> Page {
        let size = std::io::stdout().is_terminal().then(crossterm::terminal::size);
        let width = size.and_then(Result::ok).map(|(columns, _)| usize::from(columns)).filter(|columns| *columns > 0);
        Page { text: String::new(), width }
    }

    /// Adds one line.
    pub(super) fn line(&mut self, text: impl AsRef<str>) {
        self.text.push_str(&safe(text.as_ref()));
        self.text.push('\n');
    }

    /// Adds an empty line, but none at the top.
    pub(super) fn gap(&mut self) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
    }

    /// Adds a table, and says which columns had no room.
    pub(super) fn table(&mut self, table: &Table) {
        let (text, dropped) = table.render(self.width);
        self.text.push_str(&text);
        if !dropped.is_empty() {
            self.line(format!("No room for: {}. A wider terminal or --json shows them.", dropped.join(", ")));
        }
    }

    /// Whether nothing was added yet.
    pub(super) fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// The whole text.
    pub(super) fn finish(self) -> String {
        self.text
    }
}
