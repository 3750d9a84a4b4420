//! Accepting the cause of a gap, so that it leaves the list of what is open.

use super::signing::{signed, typed};
use super::{DeskError, refused};
use crate::domain::ledger::Explanation;
use crate::domain::venue::{CauseWord, CountId, Deed, ItemId, Moment, Seq};
use crate::store::{Store, counts, explanations, setup};

/// What is accepted of which gap.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Accepted {
    /// The count at which it shows.
    pub closing: CountId,
    /// What.
    pub item: ItemId,
    /// The cause.
    pub cause: CauseWord,
    /// Anything to remember.
    pub note: Option<String>,
}

/// Accepts a cause. One that was accepted of the same gap before is taken back.
///
/// # Errors
/// [`DeskError`]: the item or the count is not in the book, or nobody signs as `by`.
pub fn accept(store: &Store, accepted: &Accepted, by: Option<&str>, now: Moment) -> Result<Seq, DeskError> {
    store.write((Deed::Cause, now), |conn| {
        let setup = setup::load(conn)?;
        if setup.item(accepted.item).is_none() {
            return Err(refused(word!("this item is not in the book any more").to_owned()));
        }
        if counts::get(conn, accepted.closing)?.is_none_or(|count| count.closed.is_none()) {
            return Err(refused(word!("this count is not in the book, or not closed").to_owned()));
        }
        let by = signed(conn, by)?;
        let note = accepted.note.as_deref().filter(|note| !note.trim().is_empty());
        let note = note.map(|note| typed(word!("the note"), note)).transpose()?;
        let of_closing = explanations::of_closing(conn, accepted.closing)?;
        for before in of_closing.iter().filter(|before| before.item == accepted.item) {
            explanations::reverse(conn, before.seq, by.as_deref(), now)?;
        }
        let Accepted { closing, item, cause, .. } = *accepted;
        let fact = Explanation { seq: Seq::default(), at: now, closing, item, cause, by, note };
        Ok(explanations::add(conn, &fact, now)?)
    })
}

/// Takes what was accepted of a gap back; it is open again.
///
/// # Errors
/// [`DeskError`]: nothing was accepted of it.
pub fn reopen(
    store: &Store,
    closing: CountId,
    item: ItemId,
    by: Option<&str>,
    now: Moment,
) -> Result<Explanation, DeskError> {
    store.write((Deed::CauseBack, now), |conn| {
        let by = signed(conn, by)?;
        let of_closing = explanations::of_closing(conn, closing)?;
        let Some(found) = of_closing.into_iter().rfind(|e| e.item == item) else {
            let setup = setup::load(conn)?;
            let name = setup.item_name(item);
            return Err(refused(say!("no cause was accepted for {name} at this count", name)));
        };
        explanations::reverse(conn, found.seq, by.as_deref(), now)?;
        Ok(found)
    })
}
