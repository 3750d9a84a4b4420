//! From what a book holds to the lines of plain files, handles turned into names.

mod files;

pub(super) use files::{bill, kept_rows};

use crate::domain::gauge::Weighing;
use crate::domain::ledger::{Batch, Count, CountLine, Delivery, Explanation, Loss, Order, Transfer};
use crate::domain::measure::{Amount, Quantity};
use crate::domain::venue::{
    DayEffect, Filling, Ingredient, Item, ItemId, Offer, PlaceId, Profile, Recipe, Setup, SpecialDay, SupplierId,
    TillMeaning, TillName, Versions, name_key,
};
use crate::exchange::plain::{
    BatchRow, CountRow, DayRow, DeliveryRow, DrinkRow, ExplainedRow, FillingRow, Form, HouseRow, ItemRow, LossRow,
    OfferRow, OrderRow, PlaceRow, Plain, PlainRow, PosRow, ProfileRow, RowEffect, ShelfRow, SpecRow, TransferRow,
    WeighingRow, key_of, venue_rows,
};

/// The lines of a set-up file in a fixed order, whatever order and handles the book gave; none for a file of facts.
pub(super) fn setup_rows(setup: &Setup, file: Plain, form: &Form) -> Vec<Vec<String>> {
    match file {
        // What is not known of the bar has no line.
        Plain::Venue => {
            venue_rows(&setup.venue).into_iter().filter(|[_, value]| !value.is_empty()).map(Vec::from).collect()
        }
        Plain::People => setup.people.iter().map(|p| p.cells(form)).collect(),
        Plain::Places => {
            let mut places: Vec<_> = setup.places.iter().collect();
            places.sort_by_key(|p| (p.walk, name_key(&p.name)));
            places.iter().map(|p| PlaceRow { place: p.name.clone(), walk: Some(p.walk) }.cells(form)).collect()
        }
        Plain::Suppliers => setup.suppliers.iter().map(|s| s.cells(form)).collect(),
        Plain::Days => days(setup, form),
        Plain::Profiles => {
            let row = |p: &Profile| ProfileRow { profile: p.name.clone(), measures: p.measures }.cells(form);
            setup.profiles.iter().map(row).collect()
        }
        Plain::Fillings => {
            let of = |p: &Profile| {
                let row = |f: &Filling| FillingRow { profile: p.name.clone(), filling: *f }.cells(form);
                p.fillings.iter().map(row).collect::<Vec<_>>()
            };
            setup.profiles.iter().flat_map(of).collect()
        }
        Plain::Stock => setup.items.iter().map(|i| item_row(setup, i).cells(form)).collect(),
        Plain::Shelves => shelves(setup, form),
        Plain::Offers => offers(setup, form),
        Plain::Glasses => setup.glasses.iter().map(|g| g.cells(form)).collect(),
        Plain::Drinks => {
            let versions = setup.drinks.iter().flat_map(|d| d.menu.iter().map(move |version| (d, version)));
            versions
                .map(|(d, (from, menu))| {
                    DrinkRow { drink: d.name.clone(), from: *from, menu: menu.clone() }.cells(form)
                })
                .collect()
        }
        Plain::Specs => specs(setup, form),
        Plain::House => house(setup, form),
        Plain::Pos => pos(setup, form),
        Plain::Weighings
        | Plain::Batches
        | Plain::Deliveries
        | Plain::Losses
        | Plain::Transfers
        | Plain::Counts
        | Plain::Explained
        | Plain::Orders
        | Plain::Bills
        | Plain::Claims
        | Plain::Taken
        | Plain::Sales
        // These stand beside the set-up, in tables of their own.
        | Plain::Layouts
        | Plain::SupplierCodes
        | Plain::SupplierNames => Vec::new(),
    }
}

fn days(setup: &Setup, form: &Form) -> Vec<Vec<String>> {
    let mut rows: Vec<Vec<String>> = setup.special.all().iter().map(|day| day_row(setup, day).cells(form)).collect();
    // Those that differ in the supplier alone stand by its name, whatever handle it has.
    rows.sort_by_cached_key(|cells| key_of(Plain::Days, cells));
    rows
}

/// A special day as a line.
pub(super) fn day_row(setup: &Setup, day: &SpecialDay) -> DayRow {
    let effect = match day.effect {
        DayEffect::Demand(factor) => RowEffect::Demand(factor),
        DayEffect::SupplierClosed(id) => RowEffect::SupplierClosed(supplier(setup, id)),
        DayEffect::ExtraVan { supplier: id, by } => RowEffect::ExtraVan(supplier(setup, id), by),
    };
    DayRow { days: day.days, what: day.what.clone(), effect }
}

/// An item as a line.
pub(super) fn item_row(setup: &Setup, item: &Item) -> ItemRow {
    ItemRow { item: item.clone(), profile: item.shape.map(|shape| setup.shape_name(shape).to_owned()) }
}

fn supplier(setup: &Setup, id: SupplierId) -> String {
    setup.supplier(id).map(|s| s.name.clone()).unwrap_or_default()
}

fn item(setup: &Setup, id: ItemId) -> String {
    setup.item_name(id).to_owned()
}

fn place(setup: &Setup, id: PlaceId) -> String {
    setup.place_name(id).to_owned()
}

fn shelves(setup: &Setup, form: &Form) -> Vec<Vec<String>> {
    let mut shelves: Vec<_> = setup.shelves.iter().collect();
    let walk = |id| setup.place(id).map(|p| (p.walk, name_key(&p.name)));
    shelves.sort_by_cached_key(|s| (walk(s.place), s.position, name_key(setup.item_name(s.item))));
    let row = |s: &&crate::domain::venue::Shelf| ShelfRow {
        place: place(setup, s.place),
        item: item(setup, s.item),
        position: Some(s.position),
        par: s.par,
    };
    shelves.iter().map(|s| row(s).cells(form)).collect()
}

fn offers(setup: &Setup, form: &Form) -> Vec<Vec<String>> {
    let mut offers: Vec<_> = setup.offers.iter().collect();
    offers.sort_by_cached_key(|o| {
        (name_key(&supplier(setup, o.supplier)), name_key(setup.item_name(o.item)), o.pack, o.from)
    });
    offers.iter().map(|o| offer_row(setup, o).cells(form)).collect()
}

/// An offer as a line.
pub(super) fn offer_row(setup: &Setup, offer: &Offer) -> OfferRow {
    OfferRow {
        supplier: supplier(setup, offer.supplier),
        item: item(setup, offer.item),
        code: offer.code.clone(),
        pack: offer.pack,
        price: offer.price,
        deposit: offer.deposit,
        from: offer.from,
        until: offer.until,
        mixed: offer.mixed.clone(),
    }
}

fn specs(setup: &Setup, form: &Form) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for drink in &setup.drinks {
        for (from, parts) in drink.specs.iter() {
            for Ingredient { item: part, written, waste, note, after_ice, .. } in parts {
                let row = SpecRow {
                    drink: drink.name.clone(),
                    from: *from,
                    ingredient: item(setup, *part),
                    quantity: written.clone(),
                    waste: *waste,
                    note: note.clone(),
                    after_ice: *after_ice,
                };
                rows.push(row.cells(form));
            }
        }
    }
    rows
}

fn house(setup: &Setup, form: &Form) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    // The items stand in the order of their names; the recipes in none.
    let made = setup.items.iter().filter_map(|i| Some((i, setup.recipes.get(&i.id)?)));
    for (made, versions) in made {
        let versions: &Versions<Recipe> = versions;
        for (from, recipe) in versions.iter() {
            for part in &recipe.takes {
                let row = HouseRow {
                    item: made.name.clone(),
                    from: *from,
                    yields: recipe.written.clone(),
                    ingredient: item(setup, part.item),
                    quantity: part.written.clone(),
                    water: recipe.water.as_ref().map(|water| water.written.clone()),
                    note: part.note.clone(),
                };
                rows.push(row.cells(form));
            }
        }
    }
    rows
}

fn pos(setup: &Setup, form: &Form) -> Vec<Vec<String>> {
    let row = |t: &TillName| {
        let row = PosRow { sold_as: t.name.clone(), drink: None, portion: 1_000, code: t.code.clone(), open: false };
        match t.means {
            // One that nobody has explained comes back with its sales; they do not say its number.
            TillMeaning::Unknown => t.code.is_some().then_some(PosRow { open: true, ..row }),
            TillMeaning::Ignored => Some(row),
            TillMeaning::Drink { drink, portion } => {
                Some(PosRow { drink: setup.drink(drink).map(|d| d.name.clone()), portion, ..row })
            }
        }
    };
    let mut rows: Vec<_> = setup.till.iter().filter_map(row).collect();
    rows.sort_by_cached_key(|row| name_key(&row.sold_as));
    rows.iter().map(|row| row.cells(form)).collect()
}

/// An amount of an item as it is written.
fn written(setup: &Setup, id: ItemId, amount: Amount) -> String {
    setup.item(id).map(|i| Quantity { basis: i.basis, amount }.to_string()).unwrap_or_default()
}

pub(super) fn weighing(setup: &Setup, fact: &Weighing) -> WeighingRow {
    WeighingRow {
        at: fact.at,
        item: item(setup, fact.item),
        state: fact.state,
        weight: fact.weight,
        seen: fact.seen,
        mark: fact.mark.clone(),
        place: fact.place.map(|id| place(setup, id)),
        by: fact.by.clone(),
    }
}

pub(super) fn batch(setup: &Setup, fact: &Batch) -> BatchRow {
    BatchRow {
        at: fact.at,
        item: item(setup, fact.item),
        made: written(setup, fact.item, fact.made),
        by: fact.by.clone(),
        note: fact.note.clone(),
    }
}

pub(super) fn delivery(setup: &Setup, fact: &Delivery) -> DeliveryRow {
    DeliveryRow {
        document: fact.document.clone(),
        line: fact.line,
        at: fact.at,
        supplier: supplier(setup, fact.supplier),
        item: item(setup, fact.item),
        containers: fact.containers,
        unit_price: fact.unit_price,
        place: fact.place.map(|id| place(setup, id)),
        deposit: fact.deposit,
    }
}

pub(super) fn loss(setup: &Setup, fact: &Loss) -> LossRow {
    LossRow {
        at: fact.at,
        item: item(setup, fact.item),
        quantity: written(setup, fact.item, fact.amount),
        reason: fact.reason,
        place: fact.place.map(|id| place(setup, id)),
        by: fact.by.clone(),
        note: fact.note.clone(),
    }
}

pub(super) fn transfer(setup: &Setup, fact: &Transfer) -> TransferRow {
    TransferRow {
        at: fact.at,
        item: item(setup, fact.item),
        containers: fact.containers,
        from: place(setup, fact.from),
        to: place(setup, fact.to),
        by: fact.by.clone(),
    }
}

pub(super) fn count_line(setup: &Setup, count: &Count, line: &CountLine) -> CountRow {
    CountRow {
        count: count.name.clone(),
        at: line.at,
        place: place(setup, line.place),
        item: item(setup, line.item),
        entry: line.entry.clone(),
        method: Some(line.method),
        by: line.by.clone(),
        open: count.closed.is_none(),
    }
}

/// `count` is what the count is called at which the gap shows.
pub(super) fn explanation(setup: &Setup, count: &str, fact: &Explanation) -> ExplainedRow {
    ExplainedRow {
        at: fact.at,
        count: count.to_owned(),
        item: item(setup, fact.item),
        cause: fact.cause,
        by: fact.by.clone(),
        note: fact.note.clone(),
    }
}

pub(super) fn order_lines(setup: &Setup, order: &Order) -> Vec<OrderRow> {
    let row = |line: &crate::domain::ledger::OrderLine| OrderRow {
        order: order.name.clone(),
        line: line.line,
        supplier: supplier(setup, order.supplier),
        item: item(setup, line.item),
        packs: line.packs,
        price: line.price,
        state: order.state,
        placed: order.placed,
        expected: order.expected,
        pack: Some(line.pack),
    };
    order.lines.iter().map(row).collect()
}
