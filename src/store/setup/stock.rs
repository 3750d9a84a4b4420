//! People, places, suppliers, items, shelves and offers.

use super::profiles::columns;
use crate::domain::venue::{
    EAddress, Gln, Item, ItemId, Offer, Person, PlaceId, Shelf, Supplier, SupplierId, VatId, name_key,
};
use crate::store::StoreError;
use crate::store::convert::{Day, basis_word};
use crate::store::counts::IN_FORCE;
use crate::store::error::Doing;
use rusqlite::{Connection, OptionalExtension, named_params};

/// Keeps a person, found by initials.
///
/// # Errors
/// [`StoreError`].
pub fn put_person(conn: &Connection, person: &Person) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO person (initials, name, role) VALUES (:initials, :name, :role)
         ON CONFLICT (initials) DO UPDATE SET name = excluded.name, role = excluded.role",
    )
    .and_then(|mut s| {
        s.execute(named_params! { ":initials": person.initials, ":name": person.name, ":role": person.role })
    })
    .doing("saving a person")
    .map(|_| ())
}

/// Keeps a place, found by name.
///
/// # Errors
/// [`StoreError`].
pub fn put_place(conn: &Connection, name: &str, walk: i64) -> Result<PlaceId, StoreError> {
    conn.prepare_cached(
        "INSERT INTO place (name, name_key, walk) VALUES (:name, :key, :walk)
         ON CONFLICT (name_key) DO UPDATE SET name = excluded.name, walk = excluded.walk
         RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(named_params! { ":name": name.trim(), ":key": name_key(name), ":walk": walk }, |row| row.get("id"))
    })
    .doing("saving a place")
}

/// How the lines of a place are entered, once somebody chose.
///
/// # Errors
/// [`StoreError`].
pub fn place_entry(conn: &Connection, place: PlaceId) -> Result<Option<String>, StoreError> {
    conn.prepare_cached("SELECT entry FROM place WHERE id = :place")
        .and_then(|mut s| s.query_row(named_params! { ":place": place }, |row| row.get("entry")).optional())
        .doing("reading how a place is entered")
        .map(Option::flatten)
}

/// Remembers how the lines of a place are entered.
///
/// # Errors
/// [`StoreError::NotFound`].
pub fn set_place_entry(conn: &Connection, place: PlaceId, entry: &str) -> Result<(), StoreError> {
    let changed = conn
        .prepare_cached("UPDATE place SET entry = :entry WHERE id = :place")
        .and_then(|mut s| s.execute(named_params! { ":place": place, ":entry": entry }))
        .doing("saving how a place is entered")?;
    if changed == 0 { Err(StoreError::NotFound { kind: "place", id: place.0 }) } else { Ok(()) }
}

/// Keeps a supplier, found by name; its handle is not looked at.
///
/// # Errors
/// [`StoreError`].
pub fn put_supplier(conn: &Connection, supplier: &Supplier) -> Result<SupplierId, StoreError> {
    let party = &supplier.party;
    let address = Some(party.plain_address()).filter(|address| !address.is_empty());
    conn.prepare_cached(
        "INSERT INTO supplier (name, name_key, email, customer_no, schedule, minimum, fee, free_from,
             address, country, vat_id, gln, e_address)
         VALUES (:name, :key, :email, :customer_no, :schedule, :minimum, :fee, :free_from,
             :address, :country, :vat_id, :gln, :e_address)
         ON CONFLICT (name_key) DO UPDATE SET name = excluded.name, email = excluded.email,
             customer_no = excluded.customer_no, schedule = excluded.schedule, minimum = excluded.minimum,
             fee = excluded.fee, free_from = excluded.free_from, address = excluded.address,
             country = excluded.country, vat_id = excluded.vat_id, gln = excluded.gln, e_address = excluded.e_address
         RETURNING id",
    )
    .and_then(|mut s| {
        s.query_row(
            named_params! {
                ":name": supplier.name.trim(), ":key": name_key(&supplier.name), ":email": supplier.email,
                ":customer_no": supplier.customer_no, ":schedule": supplier.calendar.to_string(),
                ":minimum": supplier.minimum, ":fee": supplier.fee, ":free_from": supplier.free_from,
                ":address": address, ":country": party.country.map(|c| c.code()),
                ":vat_id": party.vat_id.as_ref().map(VatId::to_string), ":gln": party.gln.as_ref().map(Gln::to_string),
                ":e_address": party.e_address.as_ref().map(EAddress::to_string),
            },
            |row| row.get("id"),
        )
    })
    .doing("saving a supplier")
}

const PUT_ITEM: &str = "
    INSERT INTO item (name, name_key, kind, basis, size, abv, density, sugar, empty_weight, full_weight, shape,
        profile, count_by, service_level, par, shelf_max, allergens, keeps_days, yields,
        poured_by, par_from, stocked)
    VALUES (:name, :key, :kind, :basis, :size, :abv, :density, :sugar, :empty_weight, :full_weight, :shape,
        :profile, :count_by, :service_level, :par, :shelf_max, :allergens, :keeps_days, :yields,
        :poured_by, :par_from, :stocked)
    ON CONFLICT (name_key) DO UPDATE SET name = excluded.name, kind = excluded.kind, basis = excluded.basis,
        size = excluded.size, abv = excluded.abv, density = excluded.density, sugar = excluded.sugar,
        empty_weight = excluded.empty_weight, full_weight = excluded.full_weight, shape = excluded.shape,
        profile = excluded.profile, count_by = excluded.count_by, service_level = excluded.service_level,
        par = excluded.par, shelf_max = excluded.shelf_max, allergens = excluded.allergens,
        keeps_days = excluded.keeps_days, yields = excluded.yields, poured_by = excluded.poured_by,
        par_from = excluded.par_from, stocked = excluded.stocked
    RETURNING id";

/// Keeps an item with its bar codes, found by name; its handle is not looked at. A bar code that another item had
/// moves here.
///
/// # Errors
/// [`StoreError`].
pub fn put_item(conn: &Connection, item: &Item) -> Result<ItemId, StoreError> {
    let doing = "saving an item";
    let allergens = item.allergens.as_ref().map(|all| all.iter().map(|a| a.word()).collect::<Vec<_>>().join(" "));
    let (shape, profile) = columns(item.shape);
    let id: ItemId = conn
        .prepare_cached(PUT_ITEM)
        .and_then(|mut s| {
            s.query_row(
                named_params! {
                    ":name": item.name.trim(), ":key": name_key(&item.name), ":kind": item.kind,
                    ":basis": basis_word(item.basis), ":size": item.size, ":abv": item.abv, ":density": item.density,
                    ":sugar": item.sugar.map(|s| s.plain()), ":empty_weight": item.empty_weight,
                    ":full_weight": item.full_weight, ":shape": shape, ":profile": profile, ":count_by": item.count_by,
                    ":service_level": item.service_level, ":par": item.par, ":shelf_max": item.shelf_max,
                    ":allergens": allergens, ":keeps_days": item.keeps_days,
                    ":yields": item.yields.map(|y| y.to_string()), ":poured_by": item.poured_by,
                    ":par_from": item.par_from, ":stocked": (!item.stocked).then_some(false),
                },
                |row| row.get("id"),
            )
        })
        .doing(doing)?;
    conn.prepare_cached("DELETE FROM item_gtin WHERE item = :item")
        .and_then(|mut s| s.execute(named_params! { ":item": id }))
        .doing(doing)?;
    for (position, gtin) in item.gtins.iter().enumerate() {
        conn.prepare_cached(
            // No OR REPLACE: what that takes away no trigger hears of, and so no history.
            "INSERT INTO item_gtin (gtin_key, gtin, item, position) VALUES (:key, :gtin, :item, :position)
             ON CONFLICT (gtin_key) DO UPDATE SET gtin = excluded.gtin, item = excluded.item, position = excluded.position",
        )
        .and_then(|mut s| {
            s.execute(named_params! {
                ":key": gtin.key(), ":gtin": gtin.to_string(), ":item": id, ":position": position as i64,
            })
        })
        .doing(doing)?;
    }
    Ok(id)
}

/// Whether anything of an item is settled: counted in a place that is closed, delivered, lost, moved, made or weighed. Then its
/// size may not change, as those facts were meant in the old one. What stands in a count that goes on is levels of the
/// bottles that are there, whose label was read wrong until now.
///
/// # Errors
/// [`StoreError`].
pub fn item_has_facts(conn: &Connection, item: ItemId) -> Result<bool, StoreError> {
    let sql = format!(
        "SELECT EXISTS (
                 SELECT 1 FROM count_line l JOIN closing_in_force e ON e.count = l.count AND coalesce(e.place, l.place) = l.place
                 WHERE l.item = :item AND {IN_FORCE})
             OR EXISTS (SELECT 1 FROM delivery WHERE item = :item)
             OR EXISTS (SELECT 1 FROM loss WHERE item = :item) OR EXISTS (SELECT 1 FROM transfer WHERE item = :item)
             OR EXISTS (SELECT 1 FROM batch WHERE item = :item) OR EXISTS (SELECT 1 FROM weighing WHERE item = :item)
             AS found"
    );
    conn.prepare_cached(&sql)
        .and_then(|mut s| s.query_row(named_params! { ":item": item }, |row| row.get("found")))
        .doing("looking for facts of an item")
}

/// Keeps an item's spot in a place.
///
/// # Errors
/// [`StoreError`].
pub fn put_shelf(conn: &Connection, shelf: &Shelf) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO shelf (place, item, position, par) VALUES (:place, :item, :position, :par)
         ON CONFLICT (place, item) DO UPDATE SET position = excluded.position, par = excluded.par",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":place": shelf.place, ":item": shelf.item, ":position": shelf.position, ":par": shelf.par,
        })
    })
    .doing("saving a spot on a shelf")
    .map(|_| ())
}

/// Keeps an offer, found by supplier, item, pack and first day.
///
/// # Errors
/// [`StoreError`].
pub fn put_offer(conn: &Connection, offer: &Offer) -> Result<(), StoreError> {
    conn.prepare_cached(
        "INSERT INTO offer (supplier, item, pack, from_day, code, price, deposit, mixed, until_day)
         VALUES (:supplier, :item, :pack, :from, :code, :price, :deposit, :mixed, :until)
         ON CONFLICT (supplier, item, pack, from_day) DO UPDATE SET code = excluded.code, price = excluded.price,
             deposit = excluded.deposit, mixed = excluded.mixed, until_day = excluded.until_day",
    )
    .and_then(|mut s| {
        s.execute(named_params! {
            ":supplier": offer.supplier, ":item": offer.item, ":pack": offer.pack, ":from": Day(offer.from),
            ":code": offer.code, ":price": offer.price, ":deposit": offer.deposit,
            ":mixed": offer.mixed.as_ref().map(ToString::to_string),
            ":until": offer.until.map(|day| Day(Some(day))),
        })
    })
    .doing("saving an offer")
    .map(|_| ())
}
