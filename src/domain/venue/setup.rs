//! Everything a bar has set up, in memory, found by handle or by name.

use super::{
    Containers, Deadline, Drink, DrinkId, Glass, Item, ItemId, ItemShape, Moment, Offer, Person, Place, PlaceId,
    Profile, ProfileId, Recipe, Shelf, SpecialDay, SpecialDays, Supplier, SupplierId, TillId, TillMeaning, TillName,
    Venue, Versions,
};
use crate::domain::measure::Amount;
use chrono::NaiveDate;
use std::collections::HashMap;
use unicode_normalization::UnicodeNormalization;

/// The set-up of one book. Small (hundreds of rows), so it is held whole; facts are not.
#[derive(Clone, Debug)]
pub struct Setup {
    /// The bar.
    pub venue: Venue,
    /// By initials.
    pub people: Vec<Person>,
    /// In walking order.
    pub places: Vec<Place>,
    /// By name.
    pub suppliers: Vec<Supplier>,
    /// Days that are not as usual.
    pub special: SpecialDays,
    /// By name.
    pub items: Vec<Item>,
    /// In walking order of the places, then by position.
    pub shelves: Vec<Shelf>,
    /// By name.
    pub profiles: Vec<Profile>,
    /// Any order.
    pub offers: Vec<Offer>,
    /// By name.
    pub glasses: Vec<Glass>,
    /// By name.
    pub drinks: Vec<Drink>,
    /// Recipes of the house-made items.
    pub recipes: HashMap<ItemId, Versions<Recipe>>,
    /// Names on the till.
    pub till: Vec<TillName>,
    item_at: HashMap<ItemId, usize>,
    drink_at: HashMap<DrinkId, usize>,
    till_at: HashMap<TillId, usize>,
}

/// The form in which two names are the same name: trimmed, Unicode NFC, lower case.
pub fn name_key(name: &str) -> String {
    name.trim().nfc().flat_map(char::to_lowercase).collect()
}

/// What [`Setup::new`] is made from.
#[derive(Clone, Debug)]
pub struct Parts {
    /// The bar.
    pub venue: Venue,
    /// People.
    pub people: Vec<Person>,
    /// Places.
    pub places: Vec<Place>,
    /// Suppliers.
    pub suppliers: Vec<Supplier>,
    /// Days that are not as usual.
    pub special: Vec<SpecialDay>,
    /// Items.
    pub items: Vec<Item>,
    /// Shelves.
    pub shelves: Vec<Shelf>,
    /// Shapes of containers.
    pub profiles: Vec<Profile>,
    /// Offers.
    pub offers: Vec<Offer>,
    /// What drinks are served in.
    pub glasses: Vec<Glass>,
    /// Drinks.
    pub drinks: Vec<Drink>,
    /// Recipes.
    pub recipes: HashMap<ItemId, Versions<Recipe>>,
    /// Till names.
    pub till: Vec<TillName>,
}

impl Parts {
    /// A bar and nothing in it yet.
    pub fn new(venue: Venue) -> Parts {
        Parts {
            venue,
            people: Vec::new(),
            places: Vec::new(),
            suppliers: Vec::new(),
            special: Vec::new(),
            items: Vec::new(),
            shelves: Vec::new(),
            profiles: Vec::new(),
            offers: Vec::new(),
            glasses: Vec::new(),
            drinks: Vec::new(),
            recipes: HashMap::new(),
            till: Vec::new(),
        }
    }
}

impl Setup {
    /// Puts the parts in their order and indexes them.
    pub fn new(parts: Parts) -> Setup {
        let Parts {
            venue,
            mut people,
            mut places,
            mut suppliers,
            special,
            mut items,
            mut shelves,
            mut profiles,
            offers,
            mut glasses,
            mut drinks,
            recipes,
            till,
        } = parts;
        people.sort_by(|a, b| a.initials.cmp(&b.initials));
        places.sort_by_key(|p| (p.walk, p.id));
        suppliers.sort_by_key(|s| name_key(&s.name));
        items.sort_by_key(|i| name_key(&i.name));
        profiles.sort_by_key(|p| name_key(&p.name));
        glasses.sort_by_key(|g| name_key(&g.name));
        drinks.sort_by_key(|d| name_key(&d.name));
        let walk: HashMap<PlaceId, usize> = places.iter().enumerate().map(|(n, p)| (p.id, n)).collect();
        shelves.sort_by_key(|s| (walk.get(&s.place).copied(), s.position, s.item));
        Setup {
            item_at: items.iter().enumerate().map(|(n, i)| (i.id, n)).collect(),
            drink_at: drinks.iter().enumerate().map(|(n, d)| (d.id, n)).collect(),
            till_at: till.iter().enumerate().map(|(n, t)| (t.id, n)).collect(),
            venue,
            people,
            places,
            suppliers,
            special: SpecialDays::new(special),
            items,
            shelves,
            profiles,
            offers,
            glasses,
            drinks,
            recipes,
            till,
        }
    }

    /// An item by handle.
    pub fn item(&self, id: ItemId) -> Option<&Item> {
        self.item_at.get(&id).map(|&n| &self.items[n])
    }

    /// A drink by handle.
    pub fn drink(&self, id: DrinkId) -> Option<&Drink> {
        self.drink_at.get(&id).map(|&n| &self.drinks[n])
    }

    /// A till name by handle.
    pub fn till_name(&self, id: TillId) -> Option<&TillName> {
        self.till_at.get(&id).map(|&n| &self.till[n])
    }

    /// A place by handle.
    pub fn place(&self, id: PlaceId) -> Option<&Place> {
        self.places.iter().find(|p| p.id == id)
    }

    /// A container's shape by handle.
    pub fn profile(&self, id: ProfileId) -> Option<&Profile> {
        self.profiles.iter().find(|p| p.id == id)
    }

    /// What a container's shape is called.
    pub fn shape_name(&self, shape: ItemShape) -> &str {
        match shape {
            ItemShape::Generic(shape) => shape.word(),
            ItemShape::Own(id) => self.profile(id).map_or("?", |p| &p.name),
        }
    }

    /// A glass by the name that drinks give it.
    pub fn glass(&self, name: &str) -> Option<&Glass> {
        let key = name_key(name);
        self.glasses.iter().find(|g| name_key(&g.name) == key)
    }

    /// The recipe of a house-made item on a business day.
    pub fn recipe(&self, item: ItemId, day: NaiveDate) -> Option<&Recipe> {
        self.recipes.get(&item)?.at(day).map(|(_, recipe)| recipe)
    }

    /// A supplier by handle.
    pub fn supplier(&self, id: SupplierId) -> Option<&Supplier> {
        self.suppliers.iter().find(|s| s.id == id)
    }

    /// The deadlines of a supplier after a moment, the earliest first, each with the delivery that it buys; closed days
    /// left out, extra vans put in. Ends after two years.
    pub fn vans(&self, supplier: SupplierId, after: Moment) -> impl Iterator<Item = Deadline> + '_ {
        let days = self.special.of_supplier(supplier);
        self.supplier(supplier).into_iter().flat_map(move |s| s.calendar.vans(after, &self.venue.days, days))
    }

    /// What is not as usual on a special day, and whose day it is, in words.
    pub fn day_words(&self, day: &SpecialDay) -> String {
        let supplier = day.effect.supplier().map(|id| self.supplier(id).map_or("?", |supplier| &supplier.name));
        let whose = supplier.map(|supplier| format!("{supplier} ")).unwrap_or_default();
        format!("{whose}{}", day.effect.words())
    }

    /// The next deadline of a supplier after a moment; `None` of one without fixed days.
    pub fn next_van(&self, supplier: SupplierId, after: Moment) -> Option<Deadline> {
        self.vans(supplier, after).next()
    }

    /// The names of items, apart by commas.
    pub fn item_names<'a>(&self, items: impl IntoIterator<Item = &'a ItemId>) -> String {
        items.into_iter().map(|item| self.item_name(*item)).collect::<Vec<_>>().join(", ")
    }

    /// An item's name, for a figure that outlived it.
    pub fn item_name(&self, id: ItemId) -> &str {
        self.item(id).map_or("?", |i| &i.name)
    }

    /// A place's name.
    pub fn place_name(&self, id: PlaceId) -> &str {
        self.place(id).map_or("?", |p| &p.name)
    }

    /// The item of a name, however its letters are written.
    pub fn item_by_name(&self, name: &str) -> Option<&Item> {
        let key = name_key(name);
        self.items.iter().find(|item| name_key(&item.name) == key)
    }

    /// The item whose bar code this is, whatever its length.
    pub fn item_by_gtin(&self, gtin: &super::Gtin) -> Option<&Item> {
        let key = gtin.key();
        self.items.iter().find(|i| i.gtins.iter().any(|g| g.key() == key))
    }

    /// The places an item has a spot in, in walking order.
    pub fn places_of(&self, item: ItemId) -> impl Iterator<Item = PlaceId> + '_ {
        self.shelves.iter().filter(move |s| s.item == item).map(|s| s.place)
    }

    /// Where a delivery is taken to stand when nobody said: the item's last spot in the walk, as stores come after bars.
    pub fn store_of(&self, item: ItemId) -> Option<PlaceId> {
        self.places_of(item).last()
    }

    /// The spots of what is stocked, in walking order.
    pub fn spots(&self) -> impl Iterator<Item = &Shelf> + '_ {
        self.shelves.iter().filter(|shelf| self.item(shelf.item).is_none_or(|item| item.stocked))
    }

    /// The offers for an item on a day: of each supplier's offers with the same pack, the one that began last, unless it has
    /// ended.
    pub fn offers_for(&self, item: ItemId, day: NaiveDate) -> Vec<&Offer> {
        let mut valid: Vec<&Offer> =
            self.offers.iter().filter(|o| o.item == item && o.from.is_none_or(|from| from <= day)).collect();
        valid.sort_by_key(|o| (o.supplier, o.pack, std::cmp::Reverse(o.from)));
        valid.dedup_by_key(|o| (o.supplier, o.pack));
        valid.retain(|o| o.holds(day));
        valid
    }

    /// The offer of an item with the lowest price a container on a day; of equals, the smaller pack.
    pub fn cheapest_offer(&self, item: ItemId, day: NaiveDate) -> Option<&Offer> {
        self.offers_for(item, day).into_iter().min_by(|a, b| {
            let left = i128::from(a.price.0) * i128::from(b.pack);
            let right = i128::from(b.price.0) * i128::from(a.pack);
            left.cmp(&right).then(a.pack.cmp(&b.pack))
        })
    }

    /// What the till names mean in drinks.
    pub fn meaning(&self, till: TillId) -> TillMeaning {
        self.till_name(till).map_or(TillMeaning::Unknown, |t| t.means)
    }

    /// How surely an item must last, in thousandths: its own level, else that of its kind, else the usual one.
    pub fn service_level(&self, item: &Item) -> i64 {
        item.service_level.unwrap_or_else(|| self.venue.service_levels.of(item.kind))
    }

    /// The hand-set par of an item as an amount.
    pub fn par(&self, item: &Item) -> Option<Amount> {
        item.par.map(|par: Containers| par.of(item.size))
    }
}
