//! People, places, suppliers, items, shelves and offers as lines.

use super::Plain;
use super::cells::{Form, Line, PlainRow, or_empty, plain_thousandths, whole, yes_no_word};
use super::party::{email, party, party_cells};
use super::text::checked;
use crate::domain::gauge::density;
use crate::domain::measure::{Amount, Basis, Decimal, Density, Money, Quantity, Strength, Sugar, decimal};
use crate::domain::venue::{
    Allergen, Containers, CountBy, Gtin, Item, ItemId, Kind, MixedCase, OrderCalendar, ParFrom, Person, PouredBy, Role,
    Shape, Supplier, SupplierId,
};
use chrono::NaiveDate;

impl PlainRow for Person {
    const FILE: Plain = Plain::People;

    fn read(line: &mut Line<'_>) -> Option<Person> {
        let (initials, name, role) = (line.text("initials"), line.maybe_text("name"), line.with("role", Role::parse));
        Some(Person { initials: initials?, name: name?, role: role? })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        vec![self.initials.clone(), self.name.clone().unwrap_or_default(), self.role.word().to_owned()]
    }
}

/// A line of `places.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlaceRow {
    /// Its name.
    pub place: String,
    /// Its place in the walk.
    pub walk: Option<i64>,
}

impl PlainRow for PlaceRow {
    const FILE: Plain = Plain::Places;

    fn read(line: &mut Line<'_>) -> Option<PlaceRow> {
        let (place, walk) = (line.text("place"), line.maybe("walk", |text| whole(text, 0..=i64::MAX)));
        Some(PlaceRow { place: place?, walk: walk? })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        vec![self.place.clone(), or_empty(self.walk, |n| n.to_string())]
    }
}

impl PlainRow for Supplier {
    const FILE: Plain = Plain::Suppliers;

    fn read(line: &mut Line<'_>) -> Option<Supplier> {
        let name = line.text("supplier");
        let email = line.maybe("email", email);
        let customer_no = line.maybe_text("customer_no");
        let calendar = line.with("schedule", OrderCalendar::parse);
        let (minimum, fee, free_from) =
            (line.maybe_money("minimum"), line.maybe_money("fee"), line.maybe_money("free_from"));
        let party = party(line);
        Some(Supplier {
            id: SupplierId::default(),
            name: name?,
            email: email?,
            customer_no: customer_no?,
            calendar: calendar?,
            minimum: minimum?,
            fee: fee?,
            free_from: free_from?,
            party: party?,
        })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        let known = vec![
            self.name.clone(),
            self.email.clone().unwrap_or_default(),
            self.customer_no.clone().unwrap_or_default(),
            self.calendar.to_string(),
            or_empty(self.minimum, |m| form.money(m)),
            or_empty(self.fee, |m| form.money(m)),
            or_empty(self.free_from, |m| form.money(m)),
        ];
        [known, party_cells(&self.party).to_vec()].concat()
    }
}

/// A line of `stock.csv`: the item, and the name of its container's shape, which the item itself has as a handle.
#[derive(Clone, Debug, PartialEq)]
pub struct ItemRow {
    /// The item; its shape is not looked at.
    pub item: Item,
    /// What the shape is called.
    pub profile: Option<String>,
}

impl PlainRow for ItemRow {
    const FILE: Plain = Plain::Stock;

    fn read(line: &mut Line<'_>) -> Option<ItemRow> {
        let small = line.form().small;
        let name = line.text("item");
        let kind = line.with("kind", Kind::parse);
        let size = line.with("size", |text| {
            let read = Quantity::parse(text, &small).map_err(|e| e.to_string())?;
            if read.amount > Amount::ZERO { Ok(read) } else { Err(word!("expected an amount above zero").to_owned()) }
        });
        let abv = line.maybe("abv", Strength::parse);
        let density = line.maybe("density", Density::parse);
        let solid = size.is_some_and(|size| size.basis == Basis::Mass);
        let sugar = line.maybe("sugar", |text| if solid { Sugar::parse_of_solid(text) } else { Sugar::parse(text) });
        let empty_weight = line.maybe_mass("empty_weight");
        let empty = empty_weight.flatten().unwrap_or_default();
        let full_weight = line.maybe("full_weight", |text| match Quantity::parse_as(text, Basis::Mass, &small) {
            Ok(full) if full <= empty => Err(word!("expected more than the empty weight").to_owned()),
            other => other.map_err(|e| e.to_string()),
        });
        let profile = line.maybe_name("profile", Plain::Profiles);
        if let (Some(size), Some(Some(full)), Some(empty)) = (size, full_weight, empty_weight)
            && size.basis == Basis::Volume
            && !density::believable_full(full, empty, size.amount)
        {
            line.wrong("full_weight", word!("expected the empty weight and what such a content weighs"));
            return None;
        }
        let gtins = line.with("gtin", |text| text.split_whitespace().map(Gtin::parse).collect::<Result<Vec<_>, _>>());
        let count_by = line.word_or("count_by", CountBy::parse, CountBy::Tenths);
        let service_level = line.maybe("service_level", service_level);
        let (par, shelf_max) = (line.maybe_containers("par"), line.maybe_containers("shelf_max"));
        let allergens = line.maybe("allergens", allergens);
        let keeps_days = line.maybe("keeps_days", |text| whole(text, 1..=36_500));
        let singly = size.is_none_or(|size| size.basis == Basis::Each);
        let yields = line.maybe("yields", |text| match Quantity::parse(text, &small) {
            _ if !singly => Err(word!("only what is counted by each has a yield; expected nothing").to_owned()),
            Ok(read) if read.basis != Basis::Each && read.amount > Amount::ZERO => Ok(read),
            Ok(_) => Err(word!("expected a volume or a mass above zero, such as 30 ml").to_owned()),
            Err(error) => Err(error.to_string()),
        });
        let poured_by = line.maybe("poured_by", PouredBy::parse);
        let par_from = line.maybe("par_from", ParFrom::parse);
        let stocked = line.yes_or("stocked", true);
        let size = size?;
        let item = Item {
            id: ItemId::default(),
            name: name?,
            kind: kind?,
            basis: size.basis,
            size: size.amount,
            abv: abv?,
            density: density?,
            sugar: sugar?,
            empty_weight: empty_weight?,
            full_weight: full_weight?,
            shape: None,
            gtins: gtins?,
            count_by: count_by?,
            service_level: service_level?,
            par: par?,
            shelf_max: shelf_max?,
            allergens: allergens?,
            keeps_days: keeps_days?,
            yields: yields?,
            poured_by: poured_by?,
            par_from: par_from?,
            stocked: stocked?,
        };
        // A shape that every book knows is spelled in one way.
        let profile = profile?.map(|name| Shape::parse(&name).map_or(name, |shape| shape.word().to_owned()));
        Some(ItemRow { item, profile })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        let item = &self.item;
        let mass = |amount| Quantity { basis: Basis::Mass, amount }.to_string();
        let gtins: Vec<String> = item.gtins.iter().map(Gtin::to_string).collect();
        let allergens = match item.allergens.as_deref() {
            None => String::new(),
            Some([]) => "none".to_owned(),
            Some(all) => all.iter().map(|a| a.word()).collect::<Vec<_>>().join(" "),
        };
        vec![
            item.name.clone(),
            item.kind.word().to_owned(),
            Quantity { basis: item.basis, amount: item.size }.to_string(),
            or_empty(item.abv, |a| a.plain()),
            or_empty(item.density, |d| d.plain()),
            or_empty(item.sugar, |s| s.plain()),
            or_empty(item.empty_weight, mass),
            or_empty(item.full_weight, mass),
            self.profile.clone().unwrap_or_default(),
            gtins.join(" "),
            item.count_by.word().to_owned(),
            or_empty(item.service_level, |s| decimal::plain(s, 3)),
            or_empty(item.par, |c| plain_thousandths(c.0)),
            or_empty(item.shelf_max, |c| plain_thousandths(c.0)),
            allergens,
            or_empty(item.keeps_days, |d| d.to_string()),
            or_empty(item.yields, |y| y.to_string()),
            or_empty(item.poured_by, |p| p.word().to_owned()),
            or_empty(item.par_from, |p| p.word().to_owned()),
            if item.stocked { String::new() } else { yes_no_word(false).to_owned() },
        ]
    }
}

/// A share below 1, or percent above it: nobody means less than one percent, and nobody can promise a hundred.
fn service_level(text: &str) -> Result<i64, &'static str> {
    let read = Decimal::parse(text).ok();
    let share = read.and_then(|d| d.exact(3)).filter(|s| (1..1_000).contains(s));
    let percent = read.and_then(|d| d.exact(1)).filter(|p| (10..1_000).contains(p));
    share.or(percent).ok_or(word!("expected a share such as 0.95, above 0 and below 1"))
}

fn allergens(text: &str) -> Result<Vec<Allergen>, String> {
    if text.eq_ignore_ascii_case("none") {
        return Ok(Vec::new());
    }
    let words = text.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';')).filter(|w| !w.is_empty());
    let mut all: Vec<Allergen> = words.map(Allergen::parse).collect::<Result<_, _>>().map_err(|e| {
        let words = e.expected;
        say!("expected none, or some of {words}", words = words.trim())
    })?;
    all.sort();
    all.dedup();
    Ok(all)
}

/// A line of `shelves.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShelfRow {
    /// Where.
    pub place: String,
    /// What.
    pub item: String,
    /// Order along the shelf.
    pub position: Option<i64>,
    /// The place's own par.
    pub par: Option<Containers>,
}

impl PlainRow for ShelfRow {
    const FILE: Plain = Plain::Shelves;

    fn read(line: &mut Line<'_>) -> Option<ShelfRow> {
        let (place, item) = (line.name("place", Plain::Places), line.name("item", Plain::Stock));
        let position = line.maybe("position", |text| whole(text, 0..=i64::MAX));
        let par = line.maybe_containers("par");
        Some(ShelfRow { place: place?, item: item?, position: position?, par: par? })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        vec![
            self.place.clone(),
            self.item.clone(),
            or_empty(self.position, |n| n.to_string()),
            or_empty(self.par, |c| plain_thousandths(c.0)),
        ]
    }
}

/// A line of `offers.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OfferRow {
    /// Who.
    pub supplier: String,
    /// What.
    pub item: String,
    /// The supplier's own number.
    pub code: Option<String>,
    /// Containers in a pack.
    pub pack: i64,
    /// Of the pack.
    pub price: Money,
    /// On the pack.
    pub deposit: Option<Money>,
    /// First business day.
    pub from: Option<NaiveDate>,
    /// Last business day.
    pub until: Option<NaiveDate>,
    /// The case that it is a part of.
    pub mixed: Option<MixedCase>,
}

impl PlainRow for OfferRow {
    const FILE: Plain = Plain::Offers;

    fn read(line: &mut Line<'_>) -> Option<OfferRow> {
        let (supplier, item) = (line.name("supplier", Plain::Suppliers), line.name("item", Plain::Stock));
        let code = line.maybe_text("code");
        let (pack, price) = (line.whole("pack", 1..=100_000), line.money("price"));
        let (deposit, from, until) = (line.maybe_money("deposit"), line.day("from"), line.day("until"));
        if let (Some(Some(from)), Some(Some(until))) = (from, until)
            && until < from
        {
            line.wrong("until", word!("expected a day that is not before the first"));
            return None;
        }
        let mixed = line.maybe("mixed", |text| {
            let text = checked(text).map_err(|e| e.to_string())?;
            MixedCase::parse(&text).map_err(|e| e.to_string())
        });
        Some(OfferRow {
            supplier: supplier?,
            item: item?,
            code: code?,
            pack: pack?,
            price: price?,
            deposit: deposit?,
            from: from?,
            until: until?,
            mixed: mixed?,
        })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            self.supplier.clone(),
            self.item.clone(),
            self.code.clone().unwrap_or_default(),
            self.pack.to_string(),
            form.money(self.price),
            or_empty(self.deposit, |m| form.money(m)),
            or_empty(self.from, |d| d.to_string()),
            or_empty(self.mixed.as_ref(), |m| m.to_string()),
            or_empty(self.until, |d| d.to_string()),
        ]
    }
}
