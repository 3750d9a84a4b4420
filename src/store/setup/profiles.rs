//! Shapes of containers.

use crate::domain::measure::Amount;
use crate::domain::venue::{Filling, ItemId, ItemShape, Measures, Profile, ProfileId, Section, name_key};
use crate::store::StoreError;
use crate::store::error::Doing;
use crate::store::query::all;
use rusqlite::{Connection, Row, named_params};
use std::collections::HashMap;

/// Keeps a shape's measures, found by name; without any it is one that is only known by filling.
///
/// # Errors
/// [`StoreError`].
pub fn put_profile(conn: &Connection, name: &str, measures: Option<&Measures>) -> Result<ProfileId, StoreError> {
    conn.prepare_cached(
        "INSERT INTO profile (name, name_key, section, base, body_diameter, body_height, shoulder_height, neck_diameter,
             neck_height, fill_height)
         VALUES (:name, :key, :section, :base, :body_diameter, :body_height, :shoulder_height, :neck_diameter,
             :neck_height, :fill_height)
         ON CONFLICT (name_key) DO UPDATE SET name = excluded.name, section = excluded.section, base = excluded.base,
             body_diameter = excluded.body_diameter, body_height = excluded.body_height,
             shoulder_height = excluded.shoulder_height, neck_diameter = excluded.neck_diameter,
             neck_height = excluded.neck_height, fill_height = excluded.fill_height
         RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":name": name.trim(), ":key": name_key(name), ":section": measures.map(|m| m.section),
                ":base": measures.map(|m| m.base), ":body_diameter": measures.map(|m| m.body_diameter),
                ":body_height": measures.map(|m| m.body_height),
                ":shoulder_height": measures.map(|m| m.shoulder_height),
                ":neck_diameter": measures.map(|m| m.neck_diameter), ":neck_height": measures.map(|m| m.neck_height),
                ":fill_height": measures.and_then(|m| m.fill_height),
            },
            |row| row.get("id"),
        )
    })
    .doing("saving a container's shape")
}

/// Keeps a height and what a shape then holds.
///
/// # Errors
/// [`StoreError`].
pub fn put_filling(conn: &Connection, profile: ProfileId, filling: Filling) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO profile_filling (profile, height, volume) VALUES (:profile, :height, :volume)
         ON CONFLICT (profile, height) DO UPDATE SET volume = excluded.volume",
    )
    .and_then(|mut s| {
        s.execute(named_params! { ":profile": profile, ":height": filling.height, ":volume": filling.volume })
    })
    .doing("saving a height found by filling")
    .map(|_| ())
}

/// Takes away every height of a shape that was found by filling.
///
/// # Errors
/// [`StoreError`].
pub fn clear_fillings(conn: &Connection, profile: ProfileId) -> Result<(), StoreError> {
    conn.prepare_cached("DELETE FROM profile_filling WHERE profile = :profile")
        .and_then(|mut s| s.execute(named_params! { ":profile": profile }))
        .doing("taking away heights found by filling")
        .map(|_| ())
}

/// Gives an item's containers a shape, or takes it away.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn set_shape(conn: &Connection, item: ItemId, shape: Option<ItemShape>) -> Result<(), StoreError> {
    let (generic, own) = columns(shape);
    let changed = conn
        .prepare_cached("UPDATE item SET shape = :shape, profile = :profile WHERE id = :item")
        .and_then(|mut s| s.execute(named_params! { ":shape": generic, ":profile": own, ":item": item }))
        .doing("saving the shape of an item's containers")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "item", id: item.0 }) } else { Ok(()) }
}

/// The two columns that a shape stands in.
pub(super) fn columns(shape: Option<ItemShape>) -> (Option<&'static str>, Option<ProfileId>) {
    match shape {
        None => (None, None),
        Some(ItemShape::Generic(shape)) => (Some(shape.word()), None),
        Some(ItemShape::Own(id)) => (None, Some(id)),
    }
}

/// Every shape of the book.
pub(super) fn profiles(conn: &Connection, doing: &'static str) -> Result<Vec<Profile>, StoreError> {
    let mut fillings: HashMap<ProfileId, Vec<Filling>> = HashMap::new();
    let sql = "SELECT profile, height, volume FROM profile_filling ORDER BY profile, height";
    for (profile, height, volume) in all(doing, conn, sql, [], |row| {
        Ok((row.get::<_, ProfileId>("profile")?, row.get("height")?, row.get::<_, Amount>("volume")?))
    })? {
        fillings.entry(profile).or_default().push(Filling { height, volume });
    }
    all(doing, conn, "SELECT * FROM profile ORDER BY id", [], |row| {
        let id = row.get("id")?;
        let fillings = fillings.remove(&id).unwrap_or_default();
        Ok(Profile { id, name: row.get("name")?, measures: measures(row)?, fillings })
    })
}

fn measures(row: &Row<'_>) -> rusqlite::Result<Option<Measures>> {
    let Some(section): Option<Section> = row.get("section")? else { return Ok(None) };
    Ok(Some(Measures {
        section,
        base: row.get("base")?,
        body_diameter: row.get("body_diameter")?,
        body_height: row.get("body_height")?,
        shoulder_height: row.get("shoulder_height")?,
        neck_diameter: row.get("neck_diameter")?,
        neck_height: row.get("neck_height")?,
        fill_height: row.get("fill_height")?,
    }))
}
