//! Weighings of containers: what an empty one weighs, how heavy the content is, and how a counter's eye did.

use super::{Mass, Reading};
use crate::domain::venue::words::words;
use crate::domain::venue::{ItemId, Moment, PlaceId, Seq};

words! {
    /// What was put on the scale.
    WeighedAs {
        /// One that was never opened, filled as the maker fills it.
        Sealed = "sealed",
        /// One with nothing left in it.
        Empty = "empty",
        /// One in use, that the eye had read just before.
        Opened = "opened",
    }
}

/// One container on the scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighing {
    /// Its row.
    pub seq: Seq,
    /// When.
    pub at: Moment,
    /// What.
    pub item: ItemId,
    /// In which state.
    pub state: WeighedAs,
    /// What the scale showed.
    pub weight: Mass,
    /// What the eye had read of the same container; only of an opened one.
    pub seen: Option<Reading>,
    /// What tells this very container from others of the item: the same mark on a sealed and an empty one says that they
    /// are one container, before and after.
    pub mark: Option<String>,
    /// Where.
    pub place: Option<PlaceId>,
    /// Who.
    pub by: Option<String>,
}
