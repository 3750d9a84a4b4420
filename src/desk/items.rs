//! Items: taken in as one comes to them.

use super::signing::typed;
use super::{DeskError, counting, refused, undoing};
use crate::domain::measure::Amount;
use crate::domain::rows::Sheet;
use crate::domain::venue::{ActId, Deed, Item, ItemId, Moment, PlaceId, name_key};
use crate::store::{Store, setup};

/// Takes back that an item was taken in, as long as nothing rests on it.
///
/// # Errors
/// [`DeskError`]: something rests on it, or it was not taken in lately.
pub fn take_back(store: &Store, item: ItemId, now: Moment) -> Result<ActId, DeskError> {
    undoing::undo_latest(store, Deed::ItemAdded, ("item", item.0), now)
}

/// Takes an item in that stands in a place of a count and is not in the book yet; it is on this sheet and the next ones.
///
/// # Errors
/// [`DeskError`]: its name or a bar code of it is another item's, or the place is closed in this count.
pub fn add(store: &Store, sheet: &Sheet, place: PlaceId, item: &Item, now: Moment) -> Result<ItemId, DeskError> {
    store.write((Deed::ItemAdded, now), |conn| {
        let name = typed(word!("the name"), &item.name)?;
        if name.is_empty() {
            return Err(refused(word!("give the item a name").to_owned()));
        }
        if item.size <= Amount::ZERO {
            return Err(refused(say!("{name}: expected a size above zero", name)));
        }
        let setup = setup::load(conn)?;
        let key = name_key(&name);
        if let Some(known) = setup.items.iter().find(|known| name_key(&known.name) == key) {
            return Err(refused(say!(
                "there is an item called {known} already: choose it from the list",
                known = known.name
            )));
        }
        if let Some((code, known)) = item.gtins.iter().find_map(|code| Some((code, setup.item_by_gtin(code)?))) {
            return Err(refused(say!("{code} is the bar code of {known} already", code, known = known.name)));
        }
        let id = setup::put_item(conn, &Item { name, ..item.clone() })?;
        counting::put_on_sheet(conn, &setup, sheet, place, id)?;
        Ok(id)
    })
}
