//! Reads the whole set-up into memory.

use super::profiles::profiles;
use super::special::special;
use super::venue;
use crate::domain::drink::{amount_of, settle_yields};
use crate::domain::measure::{Amount, Quantity, SmallMeasures, Sugar};
use crate::domain::venue::{
    Allergen, Country, Drink, DrinkId, EAddress, Glass, Gln, Gtin, Ingredient, Item, ItemId, ItemShape, Menu, Offer,
    OrderCalendar, Parts, Party, Person, Place, Recipe, Setup, Shape, Shelf, Supplier, TillMeaning, TillName, VatId,
    Versions, Water,
};
use crate::store::StoreError;
use crate::store::convert::{Day, wrong};
use crate::store::query::all;
use chrono::NaiveDate;
use rusqlite::{Connection, Row};
use std::collections::HashMap;

/// What a failed query was for.
const DOING: &str = "reading the set-up";

/// The set-up of the book.
///
/// # Errors
/// [`StoreError::NotSetUp`] for a book whose bar has no name yet; [`StoreError::Unreadable`] for a written quantity
/// that its item no longer allows.
pub fn load(conn: &Connection) -> Result<Setup, StoreError> {
    let (setup, unreadable) = load_any(conn)?;
    unreadable.into_iter().next().map_or(Ok(setup), Err)
}

/// The set-up of the book with an amount of zero for each written quantity that its item no longer allows, and those
/// quantities as [`StoreError::Unreadable`].
///
/// # Errors
/// As [`load`], for anything else.
pub fn load_any(conn: &Connection) -> Result<(Setup, Vec<StoreError>), StoreError> {
    let venue = venue(conn)?;
    let items = items(conn)?;
    let mut writing = Writing { items: &items, small: venue.small, unreadable: Vec::new() };
    let drinks = drinks(conn, &mut writing)?;
    let recipes = recipes(conn, &mut writing)?;
    let (special, no_days) = special(conn, DOING)?;
    let mut unreadable = writing.unreadable;
    unreadable.extend(no_days);
    let mut setup = Setup::new(Parts {
        people: people(conn)?,
        places: all(DOING, conn, "SELECT id, name, walk FROM place", [], |row| {
            Ok(Place { id: row.get("id")?, name: row.get("name")?, walk: row.get("walk")? })
        })?,
        suppliers: all(DOING, conn, "SELECT * FROM supplier", [], supplier)?,
        special,
        shelves: all(DOING, conn, "SELECT place, item, position, par FROM shelf", [], |row| {
            Ok(Shelf {
                place: row.get("place")?,
                item: row.get("item")?,
                position: row.get("position")?,
                par: row.get("par")?,
            })
        })?,
        offers: all(DOING, conn, "SELECT * FROM offer", [], |row| {
            Ok(Offer {
                supplier: row.get("supplier")?,
                item: row.get("item")?,
                code: row.get("code")?,
                pack: row.get("pack")?,
                price: row.get("price")?,
                deposit: row.get("deposit")?,
                from: row.get::<_, Day>("from_day")?.0,
                until: row.get::<_, Option<Day>>("until_day")?.and_then(|day| day.0),
                mixed: row.get("mixed")?,
            })
        })?,
        till: all(DOING, conn, "SELECT * FROM till_name", [], |row| {
            let means = match (row.get("mapped")?, row.get("drink")?) {
                (false, _) => TillMeaning::Unknown,
                (true, None) => TillMeaning::Ignored,
                (true, Some(drink)) => TillMeaning::Drink { drink, portion: row.get("portion")? },
            };
            Ok(TillName { id: row.get("id")?, name: row.get("name")?, code: row.get("code")?, means })
        })?,
        profiles: profiles(conn, DOING)?,
        glasses: all(DOING, conn, "SELECT name, holds, ice FROM glass", [], |row| {
            Ok(Glass { name: row.get("name")?, holds: row.get("holds")?, ice: row.get("ice")? })
        })?,
        venue,
        items,
        drinks,
        recipes,
    });
    for (item, why) in settle_yields(&mut setup) {
        let place = format!("the yield of {}", setup.item_name(item));
        unreadable.push(StoreError::Unreadable { place, written: "computed".to_owned(), why: why.to_string() });
    }
    Ok((setup, unreadable))
}

/// Everybody who signs.
///
/// # Errors
/// [`StoreError`].
pub fn people(conn: &Connection) -> Result<Vec<Person>, StoreError> {
    all(DOING, conn, "SELECT initials, name, role FROM person ORDER BY initials", [], |row| {
        Ok(Person { initials: row.get("initials")?, name: row.get("name")?, role: row.get("role")? })
    })
}

fn supplier(row: &Row<'_>) -> rusqlite::Result<Supplier> {
    let schedule: String = row.get("schedule")?;
    Ok(Supplier {
        id: row.get("id")?,
        name: row.get("name")?,
        email: row.get("email")?,
        customer_no: row.get("customer_no")?,
        calendar: OrderCalendar::parse(&schedule).map_err(wrong)?,
        minimum: row.get("minimum")?,
        fee: row.get("fee")?,
        free_from: row.get("free_from")?,
        party: party(row)?,
    })
}

fn party(row: &Row<'_>) -> rusqlite::Result<Party> {
    fn maybe<T, E: std::error::Error + Send + Sync + 'static>(
        row: &Row<'_>,
        column: &str,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> rusqlite::Result<Option<T>> {
        row.get::<_, Option<String>>(column)?.map(|text| read(&text).map_err(wrong)).transpose()
    }
    let address: Option<String> = row.get("address")?;
    Ok(Party {
        address: Party::parse_address(&address.unwrap_or_default()).map_err(wrong)?,
        country: maybe(row, "country", Country::parse)?,
        vat_id: maybe(row, "vat_id", VatId::parse)?,
        gln: maybe(row, "gln", Gln::parse)?,
        e_address: maybe(row, "e_address", EAddress::parse)?,
    })
}

fn items(conn: &Connection) -> Result<Vec<Item>, StoreError> {
    let mut gtins: HashMap<ItemId, Vec<Gtin>> = HashMap::new();
    for (item, gtin) in all(DOING, conn, "SELECT item, gtin FROM item_gtin ORDER BY item, position", [], |row| {
        let text: String = row.get("gtin")?;
        Ok((row.get("item")?, Gtin::parse(&text).map_err(wrong)?))
    })? {
        gtins.entry(item).or_default().push(gtin);
    }
    all(DOING, conn, "SELECT * FROM item ORDER BY id", [], |row| {
        let id = row.get("id")?;
        let allergens: Option<String> = row.get("allergens")?;
        let allergens = allergens
            .map(|words| words.split_whitespace().map(Allergen::parse).collect::<Result<_, _>>().map_err(wrong));
        let sugar: Option<String> = row.get("sugar")?;
        let shape: Option<String> = row.get("shape")?;
        let yields: Option<String> = row.get("yields")?;
        let yields = yields.map(|text| Quantity::parse(&text, &SmallMeasures::default()));
        Ok(Item {
            id,
            name: row.get("name")?,
            kind: row.get("kind")?,
            basis: row.get("basis")?,
            size: row.get("size")?,
            abv: row.get("abv")?,
            density: row.get("density")?,
            empty_weight: row.get("empty_weight")?,
            full_weight: row.get("full_weight")?,
            sugar: sugar.map(|text| Sugar::parse_of_solid(&text)).transpose().map_err(wrong)?,
            shape: match (shape, row.get("profile")?) {
                (_, Some(id)) => Some(ItemShape::Own(id)),
                (Some(word), None) => Some(ItemShape::Generic(Shape::parse(&word).map_err(wrong)?)),
                (None, None) => None,
            },
            gtins: gtins.remove(&id).unwrap_or_default(),
            count_by: row.get("count_by")?,
            service_level: row.get("service_level")?,
            par: row.get("par")?,
            shelf_max: row.get("shelf_max")?,
            allergens: allergens.transpose()?,
            keeps_days: row.get("keeps_days")?,
            yields: yields.transpose().map_err(wrong)?,
            poured_by: row.get("poured_by")?,
            par_from: row.get("par_from")?,
            stocked: row.get::<_, Option<bool>>("stocked")?.unwrap_or(true),
        })
    })
}

/// Turns written quantities into amounts and remembers those that it could not.
struct Writing<'a> {
    items: &'a [Item],
    small: SmallMeasures,
    unreadable: Vec<StoreError>,
}

impl Writing<'_> {
    fn amount(&mut self, item: ItemId, written: &str, place: impl FnOnce() -> String) -> Amount {
        // Items are read in the order of their handles.
        let found = self.items.binary_search_by_key(&item, |i| i.id).ok().and_then(|n| self.items.get(n));
        let why = match found.map(|item| amount_of(item, written, &self.small)) {
            Some(Ok(amount)) => return amount,
            Some(Err(error)) => error.to_string(),
            None => "its item is not there".to_owned(),
        };
        self.unreadable.push(StoreError::Unreadable { place: place(), written: written.to_owned(), why });
        Amount::ZERO
    }
}

/// Lines gathered into versions by owner and first day, in the order in which they come.
type Gathered<Id, T> = HashMap<Id, Vec<(Option<NaiveDate>, Vec<T>)>>;

fn gather<Id: std::hash::Hash + Eq, T>(into: &mut Gathered<Id, T>, owner: Id, from: Option<NaiveDate>, line: T) {
    let versions = into.entry(owner).or_default();
    match versions.iter_mut().find(|(day, _)| *day == from) {
        Some((_, lines)) => lines.push(line),
        None => versions.push((from, vec![line])),
    }
}

fn drinks(conn: &Connection, writing: &mut Writing<'_>) -> Result<Vec<Drink>, StoreError> {
    let mut menus: HashMap<DrinkId, Vec<(Option<NaiveDate>, Menu)>> = HashMap::new();
    for (drink, from, menu) in all(DOING, conn, "SELECT * FROM drink_version", [], |row| {
        let menu = Menu {
            price: row.get("price")?,
            tax: row.get("tax")?,
            method: row.get("method")?,
            glass: row.get("glass")?,
            on: row.get("menu")?,
            dilution: row.get("dilution")?,
        };
        Ok((row.get("drink")?, row.get::<_, Day>("from_day")?.0, menu))
    })? {
        menus.entry(drink).or_default().push((from, menu));
    }
    let mut specs = Gathered::new();
    let lines =
        "SELECT s.*, d.name FROM spec_line s JOIN drink d ON d.id = s.drink ORDER BY s.drink, s.from_day, s.line";
    for (drink, from, mut part, name) in all(DOING, conn, lines, [], |row| {
        let part = Ingredient {
            item: row.get("item")?,
            written: row.get("quantity")?,
            amount: Amount::ZERO,
            waste: row.get("waste")?,
            note: row.get("note")?,
            after_ice: row.get("after_ice")?,
        };
        let name: String = row.get("name")?;
        Ok((row.get("drink")?, row.get::<_, Day>("from_day")?.0, part, name))
    })? {
        part.amount = writing.amount(part.item, &part.written, || format!("the spec of {name}"));
        gather::<DrinkId, _>(&mut specs, drink, from, part);
    }
    all(DOING, conn, "SELECT id, name FROM drink", [], |row| {
        let id = row.get("id")?;
        Ok(Drink {
            id,
            name: row.get("name")?,
            menu: Versions::new(menus.remove(&id).unwrap_or_default()),
            specs: Versions::new(specs.remove(&id).unwrap_or_default()),
        })
    })
}

fn recipes(conn: &Connection, writing: &mut Writing<'_>) -> Result<HashMap<ItemId, Versions<Recipe>>, StoreError> {
    let mut takes = Gathered::new();
    let lines =
        "SELECT r.*, i.name FROM recipe_line r JOIN item i ON i.id = r.item ORDER BY r.item, r.from_day, r.line";
    for (item, from, mut part, name) in all(DOING, conn, lines, [], |row| {
        let part = Ingredient {
            item: row.get("ingredient")?,
            written: row.get("quantity")?,
            amount: Amount::ZERO,
            waste: 0,
            note: row.get("note")?,
            after_ice: None,
        };
        let name: String = row.get("name")?;
        Ok((row.get("item")?, row.get::<_, Day>("from_day")?.0, part, name))
    })? {
        part.amount = writing.amount(part.item, &part.written, || format!("the recipe of {name}"));
        gather::<ItemId, _>(&mut takes, item, from, part);
    }
    let mut recipes: HashMap<ItemId, Vec<(Option<NaiveDate>, Recipe)>> = HashMap::new();
    let small = writing.small;
    for (item, from, written, water, name) in all(
        DOING,
        conn,
        "SELECT r.*, i.name FROM recipe r JOIN item i ON i.id = r.item ORDER BY r.item, r.from_day",
        [],
        |row| {
            let (written, water): (String, Option<String>) = (row.get("yields")?, row.get("water")?);
            let name: String = row.get("name")?;
            Ok((row.get("item")?, row.get::<_, Day>("from_day")?.0, written, water, name))
        },
    )? {
        // A yield that is computed is filled in once everything that it rests on is there.
        let written = Some(written).filter(|written| !written.is_empty());
        let yields = written.as_ref().map(|text| writing.amount(item, text, || format!("the yield of {name}")));
        let water = water.and_then(|text| match Water::parse(&text, &small) {
            Ok(water) => Some(water),
            Err(why) => {
                let place = format!("the water of {name}");
                writing.unreadable.push(StoreError::Unreadable { place, written: text, why });
                None
            }
        });
        let versions = takes.get_mut(&item).map(std::mem::take).unwrap_or_default();
        let (mine, rest) = versions.into_iter().partition::<Vec<_>, _>(|(day, _)| *day == from);
        takes.insert(item, rest);
        let takes = mine.into_iter().next().map(|(_, lines)| lines).unwrap_or_default();
        recipes
            .entry(item)
            .or_default()
            .push((from, Recipe { written, yields: yields.unwrap_or_default(), water, takes }));
    }
    Ok(recipes.into_iter().map(|(item, versions)| (item, Versions::new(versions))).collect())
}
