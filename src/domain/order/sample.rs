//! An invented bar for tests of what to order, carry and do about what runs dry.

use crate::domain::gauge::Level;
use crate::domain::measure::{Amount, Basis, Money};
use crate::domain::par::{Ahead, Cover, CoverDay, Demand, ItemPar, Par, Stretch};
use crate::domain::venue::{
    CountBy, DayRule, Item, ItemId, Kind, Moment, Offer, OrderCalendar, ParFrom, Parts, Place, PlaceId, Setup,
    Supplier, SupplierId, Venue, parse_day,
};
use chrono::{NaiveDate, NaiveTime};

/// A Monday at noon: two hours before the deadline of the first supplier.
pub(crate) const NOW: &str = "2026-11-23 12:00";

/// Comes on Wednesdays and Saturdays, ordered by two o'clock on Mondays and Thursdays.
pub(crate) const ANSEL: SupplierId = SupplierId(1);
/// Comes on Tuesdays, ordered by six on Mondays.
pub(crate) const BROOK: SupplierId = SupplierId(2);
/// Has no fixed days.
pub(crate) const CORVO: SupplierId = SupplierId(3);

pub(crate) fn rule() -> DayRule {
    DayRule { zone: chrono_tz::Europe::Berlin, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
}

pub(crate) fn at(text: &str) -> Moment {
    rule().parse(text).unwrap()
}

pub(crate) fn day(text: &str) -> NaiveDate {
    parse_day(text).unwrap()
}

/// Three suppliers without a smallest order or a fee, and three places: rail, back bar, cellar.
pub(crate) fn parts() -> Parts {
    let supplier = |id, name: &str, calendar: &str| Supplier {
        id,
        name: name.to_owned(),
        email: None,
        customer_no: None,
        calendar: OrderCalendar::parse(calendar).unwrap(),
        minimum: None,
        fee: None,
        free_from: None,
        party: Default::default(),
    };
    let place = |id, name: &str| Place { id: PlaceId(id), name: name.to_owned(), walk: id };
    Parts {
        places: vec![place(1, "Rail"), place(2, "Back bar"), place(3, "Cellar")],
        suppliers: vec![
            supplier(ANSEL, "Ansel", "Mon 14:00 > Wed; Thu 14:00 > Sat"),
            supplier(BROOK, "Brook", "Mon 18:00 > Tue"),
            supplier(CORVO, "Corvo", ""),
        ],
        ..Parts::new(Venue::new("The Test Bar", "EUR".parse().unwrap(), rule()))
    }
}

/// A spirit in containers of one litre.
pub(crate) fn item(id: i64, name: &str) -> Item {
    Item::new(ItemId(id), name, Kind::Spirit, Basis::Volume, litres(1.0), CountBy::Tenths)
}

pub(crate) fn litres(litres: f64) -> Amount {
    Amount((litres * 1e6).round() as i64)
}

/// An offer of packs at a price in whole coins.
pub(crate) fn offer(supplier: SupplierId, item: i64, pack: i64, price: i64) -> Offer {
    Offer {
        mixed: None,
        until: None,
        supplier,
        item: ItemId(item),
        code: Some(format!("{}-{item}-{pack}", supplier.0)),
        pack,
        price: Money(100 * price),
        deposit: None,
        from: None,
    }
}

/// An item with a par set by hand and so much on hand, in litres; of its demand nothing is known.
pub(crate) fn by_hand(setup: &Setup, item: i64, par: f64, there: f64) -> ItemPar {
    let id = ItemId(item);
    let today = day("2026-11-23");
    ItemPar {
        least: Amount::ZERO,
        item: id,
        on_hand: Some(Level { amount: litres(there), u: 50_000.0 }),
        on_order: Amount::ZERO,
        coming: Vec::new(),
        hand: Some(litres(par)),
        from: ParFrom::Hand,
        made_here: setup.recipes.contains_key(&id),
        usual: setup.cheapest_offer(id, today).map(|offer| offer.supplier),
        computed: Vec::new(),
        outlook: None,
        ahead: Ahead { today, days: Vec::new() },
        cover: Cover::default(),
        stakes: None,
    }
}

/// An item whose par follows demand: from each supplier that offers it, so many litres are expected to be asked until the van
/// after the next has come, scattering by a fifth of that. `lasts` is the chance that it lasts to the end of each day from
/// today on.
pub(crate) fn by_demand(setup: &Setup, item: i64, par: f64, there: f64, asked: f64, lasts: &[f64]) -> ItemPar {
    let id = ItemId(item);
    let today = day("2026-11-23");
    let mut suppliers: Vec<SupplierId> = setup.offers_for(id, today).into_iter().map(|o| o.supplier).collect();
    suppliers.sort();
    suppliers.dedup();
    let mean = litres(asked).as_f64();
    let demand = Demand { mean, variance: (mean / 5.0).powi(2), piece: 0.0 };
    let computed = suppliers.into_iter().map(|supplier| {
        let stretch = Stretch::new(setup.vans(supplier, at(NOW)), today);
        let par = Par { level: litres(par), stretch, demand, spread: demand, service: 0.95, held: None };
        (Some(supplier), par)
    });
    let days = today.iter_days().zip(lasts).map(|(day, lasts)| CoverDay { day, lasts: *lasts });
    ItemPar {
        hand: None,
        from: ParFrom::Demand,
        computed: computed.collect(),
        cover: Cover { days: days.collect() },
        ..by_hand(setup, item, 0.0, there)
    }
}
