//! What was last paid, without walking a long history.

use super::{DOING, IN_FORCE, all};
use crate::domain::measure::Price;
use crate::domain::venue::{ItemId, Moment, Seq};
use crate::store::StoreError;
use crate::store::error::Doing;
use rusqlite::{Connection, named_params};
use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// Deliveries looked at from the newest backwards before the rest is looked up item by item: about half a year of a
/// bar of 400 items.
const NEAR: usize = 4_000;

/// The price of a container of each item at the last delivery up to a moment; returns do not count.
///
/// Most items came lately and are met within the newest deliveries; each of the others has its own few looked through.
/// So the cost does not grow with the years.
///
/// # Errors
/// [`StoreError`].
pub fn last_paid(conn: &Connection, until: Moment) -> Result<HashMap<ItemId, Price>, StoreError> {
    let doing = "reading what was paid";
    let mut paid = HashMap::new();
    let sql = format!(
        "SELECT d.item, d.unit_price, d.containers FROM journal j CROSS JOIN delivery d ON d.seq = j.seq
         WHERE j.kind = 'delivery' AND j.at <= :until AND {IN_FORCE} ORDER BY j.at DESC, j.seq DESC"
    );
    let mut statement = conn.prepare_cached(&sql).doing(doing)?;
    let mut rows = statement.query(named_params! { ":until": until }).doing(doing)?;
    for _ in 0..NEAR {
        let Some(row) = rows.next().doing(doing)? else { return Ok(paid) };
        let containers: i64 = row.get("containers").doing(doing)?;
        let price: Price = row.get("unit_price").doing(doing)?;
        // Free goods say nothing about what the next one costs.
        if containers > 0 && price > Price(0) {
            paid.entry(row.get("item").doing(doing)?).or_insert(price);
        }
    }
    // The latest is picked here: an ORDER BY makes the engine plan the query anew for every item.
    let of_item = format!(
        "SELECT j.at, d.seq, d.unit_price FROM delivery d CROSS JOIN journal j ON j.seq = d.seq
         WHERE d.item = :item AND d.containers > 0 AND d.unit_price > 0 AND j.at <= :until AND {IN_FORCE}"
    );
    for item in all(DOING, conn, "SELECT id FROM item", [], |row| row.get::<_, ItemId>("id"))? {
        if let Entry::Vacant(unknown) = paid.entry(item) {
            let params = named_params! { ":item": item, ":until": until };
            let found: Vec<(Moment, Seq, Price)> = all(DOING, conn, &of_item, params, |row| {
                Ok((row.get("at")?, row.get("seq")?, row.get("unit_price")?))
            })?;
            if let Some((.., price)) = found.into_iter().max() {
                unknown.insert(price);
            }
        }
    }
    Ok(paid)
}
