//! Causes of gaps that somebody accepted. They name counts, those of the folder too, so they come after them.

use super::Loader;
use crate::desk::{DeskError, rows};
use crate::domain::ledger::Explanation;
use crate::domain::venue::{CountId, ItemId, Seq, name_key};
use crate::exchange::plain::{ExplainedRow, Fault, Plain, PlainRow, key_of};
use crate::store::{counts, explanations, setup as book};
use std::collections::{HashMap, HashSet};

impl Loader<'_> {
    /// A gap has one cause at a time. A person who accepts another one is seen to take the first one back; a file is not,
    /// so it may only say what the book has.
    pub(super) fn explained(&mut self) -> Result<(), DeskError> {
        if !self.folder.has(Plain::Explained) {
            return Ok(());
        }
        let mut open: HashSet<CountId> = HashSet::new();
        for count in counts::list(self.conn)? {
            self.names.counts.put(&count.name, count.id);
            if count.closed.is_none() {
                open.insert(count.id);
            }
        }
        let in_force = explanations::list(self.conn)?;
        let had: HashMap<(CountId, ItemId), Explanation> =
            in_force.into_iter().map(|had| ((had.closing, had.item), had)).collect();
        let mut met: HashMap<String, u64> = HashMap::new();
        self.lines::<ExplainedRow>(|loader, line, row| {
            let first = *met.entry(key_of(Plain::Explained, &row.cells(&loader.form))).or_insert(line);
            if first != line {
                let expected = say!("this gap has a cause already, on line {first}; expected one for each gap", first);
                loader.fault(Fault::of_line(Plain::Explained, line, expected));
                return Ok(None);
            }
            let closing = loader.names.counts.get(&row.count);
            let item = loader.names.items.get(&row.item);
            let by = loader.names.people.maybe(row.by.as_deref());
            let (Some(closing), Some(item), Some(by)) = (closing, item, by) else { return Ok(None) };
            if open.contains(&closing) {
                let expected =
                    word!("this count is not closed yet, so nobody knows its gaps; expected one that is closed");
                loader.fault(Fault::of_cell(Plain::Explained, line, "count", &row.count, expected));
                return Ok(None);
            }
            let ExplainedRow { at, cause, note, .. } = row;
            let fact = Explanation { seq: Seq(0), at, closing, item, cause, by, note };
            let Some(had) = had.get(&(closing, item)) else {
                explanations::add(loader.conn, &fact, loader.now)?;
                return Ok(Some(true));
            };
            if (Explanation { seq: Seq(0), ..had.clone() }) == fact {
                return Ok(Some(false));
            }
            let was = loader.written_cause(loader.names.counts.spelled(&name_key(&row.count)), had);
            let expected = say!(
                "this gap has a cause already: the book has {was}; expected the same, or that one taken back first",
                was
            );
            loader.fault(Fault::of_line(Plain::Explained, line, expected));
            Ok(None)
        })
    }

    /// A cause of the book as its line would be written.
    fn written_cause(&self, count: &str, had: &Explanation) -> String {
        match book::load_any(self.conn) {
            Ok((setup, _)) => rows::explanation(&setup, count, had).cells(&self.form).join(","),
            Err(_) => had.cause.to_string(),
        }
    }
}
