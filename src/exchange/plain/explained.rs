//! Causes of gaps that somebody accepted, as lines.

use super::Plain;
use super::cells::{Form, Line, PlainRow};
use crate::domain::venue::{CauseWord, Moment};

/// A line of `explained.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExplainedRow {
    /// When it was accepted.
    pub at: Moment,
    /// At which count the gap shows.
    pub count: String,
    /// What shows it.
    pub item: String,
    /// The cause.
    pub cause: CauseWord,
    /// Who accepted it.
    pub by: Option<String>,
    /// Anything to remember.
    pub note: Option<String>,
}

impl PlainRow for ExplainedRow {
    const FILE: Plain = Plain::Explained;

    fn read(line: &mut Line<'_>) -> Option<ExplainedRow> {
        let (at, count) = (line.time("at"), line.name("count", Plain::Counts));
        let (item, cause) = (line.name("item", Plain::Stock), line.with("cause", CauseWord::parse));
        let (by, note) = (line.maybe_name("by", Plain::People), line.maybe_text("note"));
        Some(ExplainedRow { at: at?, count: count?, item: item?, cause: cause?, by: by?, note: note? })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            form.time(self.at),
            self.count.clone(),
            self.item.clone(),
            self.cause.word().to_owned(),
            self.by.clone().unwrap_or_default(),
            self.note.clone().unwrap_or_default(),
        ]
    }
}
