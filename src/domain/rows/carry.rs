//! What to carry up before service, and what was carried.

use crate::domain::ledger::Transfer;
use crate::domain::order::Carry;
use crate::domain::venue::{PlaceId, Setup};
use std::sync::Arc;

/// The list before service.
#[derive(Clone, Debug)]
pub struct CarryView {
    /// The bar.
    pub setup: Arc<Setup>,
    /// What to carry, in the order in which places and their shelves are walked.
    pub list: Vec<Carry>,
    /// What was carried on this business day, the newest first.
    pub carried: Vec<Transfer>,
}

impl CarryView {
    /// Why the list is empty, where it is.
    pub fn nothing_words(&self) -> &'static str {
        match self.setup.shelves.iter().any(|shelf| shelf.par.is_some()) {
            true => word!("Every place is filled up to its par."),
            false => word!(
                "No place has a par of its own: the card of an item has them, in brackets behind the place (S, then e)."
            ),
        }
    }
}

/// From where a line is carried, and what is nowhere to be had.
pub fn from_words(setup: &Setup, carry: &Carry) -> String {
    let from: Vec<&(PlaceId, i64)> = carry.from.iter().filter(|(_, many)| *many > 0).collect();
    let from: Vec<String> = match &from[..] {
        [(place, _)] => vec![setup.place_name(*place).to_owned()],
        several => several.iter().map(|(place, many)| format!("{many} {}", setup.place_name(*place))).collect(),
    };
    let lacking = (carry.lacking > 0).then(|| say!("{lacking} nowhere to be had", lacking = carry.lacking));
    from.into_iter().chain(lacking).collect::<Vec<_>>().join(", ")
}
