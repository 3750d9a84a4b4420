//! Losses: spilled, broken, given away, drunk by the staff, tasted, spoiled.

use super::signing::{known, own, typed};
use super::{DeskError, refused};
use crate::domain::ledger::Loss;
use crate::domain::venue::{Deed, Moment, Seq};
use crate::store::{Store, journal, setup};

/// The newest losses in force, the newest first.
///
/// # Errors
/// [`DeskError`].
pub fn recent(store: &Store, limit: u32) -> Result<Vec<Loss>, DeskError> {
    store.read(|conn| Ok(journal::recent_losses(conn, limit)?))
}

/// Records a loss.
///
/// # Errors
/// [`DeskError`].
pub fn record(store: &Store, loss: &Loss, now: Moment) -> Result<Seq, DeskError> {
    store.write((Deed::Loss, now), |conn| {
        let setup = setup::load(conn)?;
        if setup.item(loss.item).is_none() {
            return Err(refused(word!("this item is not in the book any more").to_owned()));
        }
        let kept = Loss {
            by: loss.by.as_deref().map(|by| known(conn, by)).transpose()?,
            note: loss.note.as_deref().map(|note| typed(word!("the note"), note)).transpose()?,
            ..loss.clone()
        };
        let day = setup.venue.days.day_of(loss.at);
        Ok(journal::add_loss(conn, &kept, kept.by.as_deref(), now, day)?)
    })
}

/// Takes a loss back: the row stays, a reversal beside it.
///
/// # Errors
/// [`DeskError`].
pub fn take_back(store: &Store, seq: Seq, by: Option<&str>, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::LossBack, now), |conn| {
        own(conn, journal::signed_by(conn, seq)?.as_deref())?;
        journal::reverse(conn, seq, by, now)?;
        Ok(())
    })
}
