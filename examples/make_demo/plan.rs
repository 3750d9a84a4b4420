//! What follows from the menu: expected demand, par, where each item stands, offers.

use crate::calendar::date;
use crate::catalogue::{ITEMS, Item, Kind, PRICE_RISES, Place, SECOND_OFFERS, SUPPLIERS};
use crate::measure::amount;
use crate::menu::{HOUSE, Menu, item};
use chrono::NaiveDate;

/// Lines a night from Monday to Sunday, before chance.
pub(crate) const LINES: [f64; 7] = [0.0, 125.0, 140.0, 175.0, 245.0, 258.0, 145.0];
/// Portions on one line, on average.
const PER_LINE: f64 = 1.32;

pub(crate) struct Offer {
    pub supplier: usize,
    pub item: usize,
    pub pack: u32,
    /// Cents for the whole pack.
    pub price: i64,
    pub from: NaiveDate,
}

pub(crate) struct Plan {
    /// Containers that an order fills up to; none for what nobody asks for.
    pub par: Vec<Option<u32>>,
    /// Each place's items in the order of the walk.
    pub shelves: Vec<(Place, Vec<usize>)>,
    /// Containers, opened one included, that should stand where it is poured.
    pub home_par: Vec<i64>,
    pub offers: Vec<Offer>,
}

impl Plan {
    pub(crate) fn of(menu: &Menu) -> Plan {
        let demand = demand(menu);
        let par: Vec<Option<u32>> = ITEMS.iter().zip(&demand).map(|(item, &demand)| par(item, demand)).collect();
        let home_par = ITEMS
            .iter()
            .enumerate()
            .map(|(index, item)| home_par(item, demand[index], par[index].unwrap_or(1)))
            .collect();
        let shelves = Place::ALL
            .into_iter()
            .map(|place| {
                let items = (0..ITEMS.len()).filter(|&index| stands(place, index, par[index])).collect();
                (place, items)
            })
            .collect();
        Plan { par, shelves, home_par, offers: offers() }
    }

    pub(crate) fn in_cellar(&self, index: usize) -> bool {
        stands(Place::Cellar, index, self.par[index])
    }

    /// The price in cents of the usual supplier's pack on a day.
    pub(crate) fn price(&self, index: usize, day: NaiveDate) -> i64 {
        self.offers
            .iter()
            .rev()
            .find(|offer| offer.item == index && offer.supplier == ITEMS[index].supplier && offer.from <= day)
            .map_or(0, |offer| offer.price)
    }
}

/// What an average week takes of each item, house-made ones carried on to their ingredients.
fn demand(menu: &Menu) -> Vec<f64> {
    let usual = |key: &&crate::menu::Key| key.mapped;
    let weights: f64 = menu.keys.iter().filter(usual).map(|key| key.weight).sum();
    let week: f64 = LINES.iter().sum::<f64>() * PER_LINE;
    let mut takes = vec![0.0; ITEMS.len()];
    for key in menu.keys.iter().filter(usual) {
        if let Some(drink) = key.drink {
            let served = week * key.weight / weights * key.really;
            for line in &menu.drinks[drink].versions[0].spec {
                takes[line.item] += served * line.takes;
            }
        }
    }
    for house in HOUSE {
        let batches = takes[item(house.item)] / amount(house.yields);
        for &(ingredient, quantity) in house.ingredients {
            takes[item(ingredient)] += batches * amount(quantity);
        }
    }
    takes.iter().zip(ITEMS).map(|(takes, item)| takes / amount(item.size)).collect()
}

/// Demand over the days that an order must last, with something over for a busy week.
fn par(item: &Item, demand: f64) -> Option<u32> {
    if item.uncounted || (demand == 0.0 && item.par.is_none()) {
        return None;
    }
    let weeks = if item.kind == Kind::HouseMade {
        0.8
    } else {
        match SUPPLIERS[item.supplier].slots.len() {
            1 => 1.6,
            2 => 1.1,
            _ => 0.75,
        }
    };
    let safety = if item.kind == Kind::HouseMade {
        1.5
    } else {
        // A busy week takes more, and a little-asked item is lumpy.
        0.45 + 0.7 * demand.sqrt()
    };
    let wanted = (demand * weeks + safety).ceil().max(1.0) as u32;
    Some(item.par.unwrap_or(0).max(wanted))
}

fn home_par(item: &Item, demand: f64, par: u32) -> i64 {
    let par = i64::from(par);
    match item.home {
        Place::Rail => item.wells as i64 + i64::from(demand > 2.0),
        Place::BackBar => 1 + i64::from(demand > 1.5),
        _ if item.whole => par.min(24),
        _ => par.min(2),
    }
}

fn stands(place: Place, index: usize, par: Option<u32>) -> bool {
    let item = &ITEMS[index];
    if item.uncounted {
        return false;
    }
    if place != Place::Cellar {
        return place == item.home;
    }
    match item.kind {
        Kind::Wine | Kind::Beer => true,
        Kind::Spirit | Kind::Liqueur => item.home == Place::Rail || par.is_some_and(|par| par > 2),
        Kind::Mixer => item.whole,
        _ => false,
    }
}

fn offers() -> Vec<Offer> {
    let start = date(crate::menu::MENU_FROM);
    let mut offers = Vec::new();
    for (index, item) in ITEMS.iter().enumerate() {
        if item.kind == Kind::HouseMade {
            continue;
        }
        let price = item.cost * i64::from(item.pack);
        offers.push(Offer { supplier: item.supplier, item: index, pack: item.pack, price, from: start });
        for &(name, from, thousandths) in PRICE_RISES {
            if name == item.name {
                offers.push(Offer {
                    supplier: item.supplier,
                    item: index,
                    pack: item.pack,
                    price: (price * thousandths + 500) / 1000,
                    from: date(from),
                });
            }
        }
    }
    for &(name, supplier, pack, thousandths) in SECOND_OFFERS {
        let index = item(name);
        offers.push(Offer {
            supplier,
            item: index,
            pack,
            price: (ITEMS[index].cost * i64::from(pack) * thousandths + 500) / 1000,
            from: start,
        });
    }
    // A supplier's price list is in one piece, and later prices come after earlier ones.
    offers.sort_by_key(|offer| (offer.supplier, offer.item, offer.from));
    offers
}
