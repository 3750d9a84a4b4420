//! What was paid, last and for what is still there, without walking a long history.

use super::{DOING, IN_FORCE, all};
use crate::domain::measure::Price;
use crate::domain::venue::{ItemId, Moment, Seq};
use crate::store::StoreError;
use crate::store::error::Doing;
use rusqlite::{Connection, named_params};
use std::collections::HashMap;
use std::collections::hash_map::Entry;

const NEWEST_FIRST: &str =
    "SELECT d.item, d.unit_price, d.containers FROM journal j CROSS JOIN delivery d ON d.seq = j.seq
         WHERE j.kind = 'delivery' AND j.at <= :until AND";

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
    let sql = format!("{NEWEST_FIRST} {IN_FORCE} ORDER BY j.at DESC, j.seq DESC");
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

/// Containers that came at a price; below zero they went back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bought {
    /// How many.
    pub containers: i64,
    /// Of one, without tax.
    pub unit_price: Price,
}

/// The newest deliveries of each item up to a moment that together brought as many containers as are `wanted` of it, the
/// newest first; fewer where no more ever came. Free goods are among them.
///
/// Deliveries are walked from the newest backwards only until every item has enough; an item that came long ago has its
/// own few looked through, so the cost does not grow with the years.
///
/// # Errors
/// [`StoreError`].
pub fn bought_for(
    conn: &Connection,
    until: Moment,
    wanted: &HashMap<ItemId, i64>,
) -> Result<HashMap<ItemId, Vec<Bought>>, StoreError> {
    let doing = "reading what stock was bought for";
    let mut missing: HashMap<ItemId, i64> = wanted.iter().filter(|(_, n)| **n > 0).map(|(i, n)| (*i, *n)).collect();
    let mut bought: HashMap<ItemId, Vec<Bought>> = HashMap::new();
    let sql = format!("{NEWEST_FIRST} {IN_FORCE} ORDER BY j.at DESC, j.seq DESC");
    let mut statement = conn.prepare_cached(&sql).doing(doing)?;
    let mut rows = statement.query(named_params! { ":until": until }).doing(doing)?;
    for _ in 0..NEAR {
        if missing.is_empty() {
            return Ok(bought);
        }
        let Some(row) = rows.next().doing(doing)? else { return Ok(bought) };
        let item: ItemId = row.get("item").doing(doing)?;
        if let Entry::Occupied(mut lacks) = missing.entry(item) {
            let containers: i64 = row.get("containers").doing(doing)?;
            let unit_price = row.get("unit_price").doing(doing)?;
            bought.entry(item).or_default().push(Bought { containers, unit_price });
            *lacks.get_mut() -= containers;
            if *lacks.get() <= 0 {
                lacks.remove();
            }
        }
    }
    let of_item = format!(
        "SELECT j.at, d.seq, d.unit_price, d.containers FROM delivery d CROSS JOIN journal j ON j.seq = d.seq
         WHERE d.item = :item AND j.at <= :until AND {IN_FORCE}"
    );
    for item in missing.into_keys() {
        let params = named_params! { ":item": item, ":until": until };
        let mut found: Vec<(Moment, Seq, Bought)> = all(DOING, conn, &of_item, params, |row| {
            let bought = Bought { containers: row.get("containers")?, unit_price: row.get("unit_price")? };
            Ok((row.get("at")?, row.get("seq")?, bought))
        })?;
        found.sort_by_key(|(at, seq, _)| std::cmp::Reverse((*at, *seq)));
        let mut lacks = wanted.get(&item).copied().unwrap_or_default();
        let enough = found.into_iter().map(|(.., bought)| bought).take_while(|bought| {
            let before = lacks;
            lacks -= bought.containers;
            before > 0
        });
        bought.insert(item, enough.collect());
    }
    Ok(bought)
}
