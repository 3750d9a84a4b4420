//! Items: taken in as one comes to them.

use super::signing::typed;
use super::{DeskError, counting, refused, undoing};
use crate::domain::measure::Amount;
use crate::domain::rows::Sheet;
use crate::domain::venue::{ActId, Deed, Item, ItemId, Moment, PlaceId, name_key};
use crate::store::{Store, history, setup};

/// Acts among which the one that took an item in is looked for: whoever takes it back has just done it.
const LATELY: u32 = 200;

/// Takes back that an item was taken in, as long as nothing rests on it.
///
/// # Errors
/// [`DeskError`]: something rests on it, or it was not taken in lately.
pub fn take_back(store: &Store, item: ItemId, now: Moment) -> Result<ActId, DeskError> {
    let act = store.read(|conn| {
        for act in history::acts(conn, None, LATELY)? {
            if act.deed != Deed::ItemAdded {
                continue;
            }
            let of = history::changes_among(conn, &act, &["item"], false)?;
            if of.iter().any(|change| change.row().and_then(|row| row.number("id")) == Some(item.0)) {
                return Ok(act.id);
            }
        }
        Err(refused("it was taken in long ago: the Book (B) has when, and takes it back".to_owned()))
    })?;
    undoing::undo(store, act, now)
}

/// Takes an item in that stands in a place of a count and is not in the book yet; it is on this sheet and the next ones.
///
/// # Errors
/// [`DeskError`]: its name or a bar code of it is another item's, or the place is closed in this count.
pub fn add(store: &Store, sheet: &Sheet, place: PlaceId, item: &Item, now: Moment) -> Result<ItemId, DeskError> {
    store.write((Deed::ItemAdded, now), |conn| {
        let name = typed("the name", &item.name)?;
        if name.is_empty() {
            return Err(refused("give the item a name".to_owned()));
        }
        if item.size <= Amount::ZERO {
            return Err(refused(format!("{name}: expected a size above zero")));
        }
        let setup = setup::load(conn)?;
        let key = name_key(&name);
        if let Some(known) = setup.items.iter().find(|known| name_key(&known.name) == key) {
            return Err(refused(format!("there is an item called {} already: choose it from the list", known.name)));
        }
        if let Some((code, known)) = item.gtins.iter().find_map(|code| Some((code, setup.item_by_gtin(code)?))) {
            return Err(refused(format!("{code} is the bar code of {} already", known.name)));
        }
        let id = setup::put_item(conn, &Item { name, ..item.clone() })?;
        counting::put_on_sheet(conn, &setup, sheet, place, id)?;
        Ok(id)
    })
}
