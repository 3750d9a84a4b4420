//! What the book has, written on a card.

use crate::desk::rows;
use crate::domain::rows::{Card, CardLine, CardOf};
use crate::domain::venue::{ItemId, Moment, Offer, PlaceId, Setup, SpecialDayId, SupplierId};
use crate::exchange::plain::{Form, PlaceRow, Plain, PlainRow, venue_rows};
use crate::words;
use chrono::NaiveDate;
use std::collections::HashMap;

/// The card of something; none where it is not in the book.
pub(super) fn card(setup: &Setup, of: CardOf, id: Option<i64>, now: Moment) -> Option<Card> {
    let form = Form::of(&setup.venue);
    let today = setup.venue.days.day_of(now);
    let mut texts: HashMap<(CardLine, &'static str), String> = HashMap::new();
    let mut put = |line: CardLine, file: Plain, cells: Vec<String>| {
        texts.extend(file.spec().columns.iter().zip(cells).map(|(column, cell)| ((line, column.name), cell)));
    };
    let mut notes = Vec::new();
    let mut offers = 0;
    match (of, id) {
        (CardOf::Bar, _) => {
            let rows = venue_rows(&setup.venue);
            return Some(Card::new(of, None, 0, |_, column| {
                rows.iter().find(|[key, _]| key == column).map(|[_, value]| value.clone()).unwrap_or_default()
            }));
        }
        (CardOf::Item, Some(id)) => {
            let item = setup.item(ItemId(id))?;
            put(CardLine::Stock, Plain::Stock, rows::item_row(setup, item).cells(&form));
            // A file leaves out what is so of nearly all.
            let stocked = if item.stocked { "yes" } else { "no" };
            let asked = now_asked(setup, item.id, today);
            offers = asked.len();
            for (n, offer) in asked.into_iter().enumerate() {
                put(CardLine::Offer(n), Plain::Offers, rows::offer_row(setup, offer).cells(&form));
            }
            notes = to_come(setup, item.id, today);
            texts.insert((CardLine::Spots, "places"), spots(setup, item.id));
            texts.insert((CardLine::Stock, "stocked"), stocked.to_owned());
        }
        (CardOf::Place, Some(id)) => {
            let place = setup.place(PlaceId(id))?;
            let row = PlaceRow { place: place.name.clone(), walk: Some(place.walk) };
            put(CardLine::Place, Plain::Places, row.cells(&form));
        }
        (CardOf::Supplier, Some(id)) => {
            put(CardLine::Supplier, Plain::Suppliers, setup.supplier(SupplierId(id))?.cells(&form));
        }
        (CardOf::Day, Some(id)) => {
            let day = setup.special.get(SpecialDayId(id))?;
            put(CardLine::Day, Plain::Days, rows::day_row(setup, day).cells(&form));
        }
        (CardOf::Item, None) => {
            for (column, usual) in [("kind", "spirit"), ("count_by", "tenths"), ("stocked", "yes")] {
                texts.insert((CardLine::Stock, column), usual.to_owned());
            }
        }
        (CardOf::Place | CardOf::Supplier | CardOf::Day, None) => {}
    }
    // Room for one supplier more.
    let card = Card::new(of, id, offers + 1, |line, column| texts.get(&(line, column)).cloned().unwrap_or_default());
    Some(Card { notes, ..card })
}

/// What suppliers ask for an item today, by name.
pub(super) fn now_asked(setup: &Setup, item: ItemId, today: NaiveDate) -> Vec<&Offer> {
    let mut offers = setup.offers_for(item, today);
    offers.sort_by_cached_key(|offer| (setup.supplier(offer.supplier).map(|s| s.name.clone()), offer.pack));
    offers
}

/// What they have said that they will ask.
fn to_come(setup: &Setup, item: ItemId, today: NaiveDate) -> Vec<String> {
    let show = setup.venue.show();
    let later = setup.offers.iter().filter(|offer| offer.item == item && offer.from.is_some_and(|from| from > today));
    let said = |offer: &Offer| {
        let supplier = setup.supplier(offer.supplier).map_or("?", |supplier| &supplier.name);
        let from = offer.from.map(|from| words::day(from, "%-d %b %Y")).unwrap_or_default();
        say!(
            "{supplier} asks {price} for {pack} from {from} on",
            supplier,
            price = show.money(offer.price),
            pack = offer.pack,
            from
        )
    };
    later.map(said).collect()
}

/// Where an item stands, as it is typed: `Back bar (3), Cellar`.
fn spots(setup: &Setup, item: ItemId) -> String {
    let spot = |shelf: &crate::domain::venue::Shelf| {
        let par = shelf.par.map(|par| format!(" ({})", crate::domain::measure::decimal::shown(par.0, 3)));
        format!("{}{}", setup.place_name(shelf.place), par.unwrap_or_default())
    };
    setup.shelves.iter().filter(|shelf| shelf.item == item).map(spot).collect::<Vec<_>>().join(", ")
}
