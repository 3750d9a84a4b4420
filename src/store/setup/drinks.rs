//! Drinks and their versions, house-made recipes, what the till calls things.

use crate::domain::venue::{DrinkId, Glass, Ingredient, ItemId, Menu, Recipe, TillId, TillMeaning, name_key};
use crate::store::StoreError;
use crate::store::convert::Day;
use crate::store::error::Doing;
use chrono::NaiveDate;
use rusqlite::{Connection, named_params};

/// Keeps a drink, found by name.
///
/// # Errors
/// [`StoreError`].
pub fn put_drink(conn: &Connection, name: &str) -> Result<DrinkId, StoreError> {
    conn.prepare_cached(
        "INSERT INTO drink (name, name_key) VALUES (:name, :key)
         ON CONFLICT (name_key) DO UPDATE SET name = excluded.name RETURNING id",
    )
    .and_then(|mut s| s.query_row(named_params! { ":name": name.trim(), ":key": name_key(name) }, |row| row.get("id")))
    .doing("saving a drink")
}

/// Gives a drink another name, which no other drink may have.
///
/// # Errors
/// [`StoreError`].
pub fn rename_drink(conn: &Connection, drink: DrinkId, name: &str) -> Result<(), StoreError> {
    let changed = conn
        .prepare_cached("UPDATE drink SET name = :name, name_key = :key WHERE id = :id")
        .and_then(|mut s| s.execute(named_params! { ":id": drink, ":name": name.trim(), ":key": name_key(name) }))
        .doing("naming a drink")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "drink", id: drink.0 }) } else { Ok(()) }
}

/// Takes away what of a drink begins on a day, or since ever.
///
/// # Errors
/// [`StoreError`].
pub fn drop_versions(conn: &Connection, drink: DrinkId, from: Option<NaiveDate>) -> Result<(), StoreError> {
    for sql in [
        "DELETE FROM drink_version WHERE drink = :drink AND from_day = :from",
        "DELETE FROM spec_line WHERE drink = :drink AND from_day = :from",
    ] {
        conn.prepare_cached(sql)
            .and_then(|mut s| s.execute(named_params! { ":drink": drink, ":from": Day(from) }))
            .doing("taking a version away")?;
    }
    Ok(())
}

/// Takes away a drink that has no versions any more and that no till name means.
///
/// # Errors
/// [`StoreError`].
pub fn drop_drink(conn: &Connection, drink: DrinkId) -> Result<(), StoreError> {
    conn.prepare_cached("DELETE FROM drink WHERE id = :drink")
        .and_then(|mut s| s.execute(named_params! { ":drink": drink }))
        .doing("taking a drink away")
        .map(|_| ())
}

/// Keeps a glass, found by name.
///
/// # Errors
/// [`StoreError`].
pub fn put_glass(conn: &Connection, glass: &Glass) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO glass (name_key, name, holds, ice) VALUES (:key, :name, :holds, :ice)
         ON CONFLICT (name_key) DO UPDATE SET name = excluded.name, holds = excluded.holds, ice = excluded.ice",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":key": name_key(&glass.name), ":name": glass.name.trim(), ":holds": glass.holds, ":ice": glass.ice,
        })
    })
    .doing("saving a glass")
    .map(|_| ())
}

/// Keeps price and service of a drink from a day on.
///
/// # Errors
/// [`StoreError`].
pub fn put_menu(conn: &Connection, drink: DrinkId, from: Option<NaiveDate>, menu: &Menu) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO drink_version (drink, from_day, price, tax, method, glass, menu, dilution)
         VALUES (:drink, :from, :price, :tax, :method, :glass, :menu, :dilution)
         ON CONFLICT (drink, from_day) DO UPDATE SET price = excluded.price, tax = excluded.tax,
             method = excluded.method, glass = excluded.glass, menu = excluded.menu, dilution = excluded.dilution",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":drink": drink, ":from": Day(from), ":price": menu.price, ":tax": menu.tax, ":method": menu.method,
            ":glass": menu.glass, ":menu": menu.on, ":dilution": menu.dilution,
        })
    })
    .doing("saving a price")
    .map(|_| ())
}

/// Keeps the whole spec of a drink from a day on, in place of what that version was.
///
/// # Errors
/// [`StoreError`].
pub fn put_spec(
    conn: &Connection,
    drink: DrinkId,
    from: Option<NaiveDate>,
    lines: &[Ingredient],
) -> Result<(), StoreError> {
    let doing = "saving a spec";
    conn.prepare_cached("DELETE FROM spec_line WHERE drink = :drink AND from_day = :from")
        .and_then(|mut s| s.execute(named_params! { ":drink": drink, ":from": Day(from) }))
        .doing(doing)?;
    let mut insert = conn
        .prepare_cached(
            "INSERT INTO spec_line (drink, from_day, line, item, quantity, waste, note, after_ice)
             VALUES (:drink, :from, :line, :item, :quantity, :waste, :note, :after_ice)",
        )
        .doing(doing)?;
    for (line, part) in (1_i64..).zip(lines) {
        insert
            .execute(named_params! {
                ":drink": drink, ":from": Day(from), ":line": line, ":item": part.item, ":quantity": part.written,
                ":waste": part.waste, ":note": part.note, ":after_ice": part.after_ice,
            })
            .doing(doing)?;
    }
    Ok(())
}

/// Keeps the whole recipe of a house-made item from a day on, in place of what that version was.
///
/// # Errors
/// [`StoreError`].
pub fn put_recipe(conn: &Connection, item: ItemId, from: Option<NaiveDate>, recipe: &Recipe) -> Result<(), StoreError> {
    let doing = "saving a recipe";
    conn.prepare_cached(
        "INSERT INTO recipe (item, from_day, yields, water) VALUES (:item, :from, :yields, :water)
         ON CONFLICT (item, from_day) DO UPDATE SET yields = excluded.yields, water = excluded.water",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":item": item, ":from": Day(from), ":yields": recipe.written.as_deref().unwrap_or_default(),
            ":water": recipe.water.as_ref().map(|water| &water.written),
        })
    })
    .doing(doing)?;
    conn.prepare_cached("DELETE FROM recipe_line WHERE item = :item AND from_day = :from")
        .and_then(|mut s| s.execute(named_params! { ":item": item, ":from": Day(from) }))
        .doing(doing)?;
    let mut insert = conn
        .prepare_cached(
            "INSERT INTO recipe_line (item, from_day, line, ingredient, quantity, note)
             VALUES (:item, :from, :line, :ingredient, :quantity, :note)",
        )
        .doing(doing)?;
    for (line, part) in (1_i64..).zip(&recipe.takes) {
        insert
            .execute(named_params! {
                ":item": item, ":from": Day(from), ":line": line, ":ingredient": part.item, ":quantity": part.written,
                ":note": part.note,
            })
            .doing(doing)?;
    }
    Ok(())
}

/// Keeps what a till name means, found by name. A name first seen in sales is put with [`TillMeaning::Unknown`]; that
/// never takes a known meaning away.
///
/// # Errors
/// [`StoreError`].
pub fn put_till(conn: &Connection, name: &str, means: TillMeaning) -> Result<TillId, StoreError> {
    let (mapped, drink, portion) = columns(means);
    conn.prepare_cached(
        "INSERT INTO till_name (name, name_key, mapped, drink, portion) VALUES (:name, :key, :mapped, :drink, :portion)
         ON CONFLICT (name_key) DO UPDATE SET
             name = CASE WHEN excluded.mapped = 1 THEN excluded.name ELSE name END,
             drink = CASE WHEN excluded.mapped = 1 THEN excluded.drink ELSE drink END,
             portion = CASE WHEN excluded.mapped = 1 THEN excluded.portion ELSE portion END,
             mapped = max(mapped, excluded.mapped)
         RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":name": name.trim(), ":key": name_key(name), ":mapped": mapped, ":drink": drink, ":portion": portion,
            },
            |row| row.get("id"),
        )
    })
    .doing("saving a till name")
}

/// Says anew what a till name means, whatever it meant before.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn set_till(conn: &Connection, till: TillId, means: TillMeaning) -> Result<(), StoreError> {
    let (mapped, drink, portion) = columns(means);
    let changed = conn
        .prepare_cached("UPDATE till_name SET mapped = :mapped, drink = :drink, portion = :portion WHERE id = :id")
        .and_then(|mut s| {
            s.execute(named_params! { ":mapped": mapped, ":drink": drink, ":portion": portion, ":id": till })
        })
        .doing("saving what a till name means")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "till name", id: till.0 }) } else { Ok(()) }
}

/// Remembers the till's number of the article that a name stands for.
///
/// # Errors
/// [`StoreError`].
pub fn set_till_code(conn: &Connection, till: TillId, code: Option<&str>) -> Result<(), StoreError> {
    conn.prepare_cached("UPDATE till_name SET code = :code WHERE id = :id")
        .and_then(|mut s| s.execute(named_params! { ":code": code, ":id": till }))
        .doing("saving the number of a till name")
        .map(|_| ())
}

fn columns(means: TillMeaning) -> (bool, Option<DrinkId>, i64) {
    match means {
        TillMeaning::Unknown => (false, None, 1_000),
        TillMeaning::Ignored => (true, None, 1_000),
        TillMeaning::Drink { drink, portion } => (true, Some(drink), portion),
    }
}
