//! A small invented bar for the tests of the screens.

use crate::domain::measure::{Amount, Basis, Money};
use crate::domain::venue::*;
use crate::tui::screen::Effect;
use chrono::NaiveTime;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// Two places, four items, one supplier, one drink; Berlin, EUR.
pub(crate) fn bar() -> Setup {
    Setup::new(parts())
}

/// What that bar is made of.
pub(crate) fn parts() -> Parts {
    let item = |id, name: &str, kind, basis, size: i64, par: i64| {
        let count_by = if size == 200 { CountBy::Whole } else { CountBy::Tenths };
        let plain = Item::new(ItemId(id), name, kind, basis, Amount(size * 1_000), count_by);
        Item { par: Some(Containers(par * 1_000)), ..plain }
    };
    let mut rum = item(1, "Harbour rum", Kind::Spirit, Basis::Volume, 700, 6);
    rum.gtins = vec![Gtin::parse("2000000000015").unwrap()];
    let shelf = |place, item, position| Shelf { place: PlaceId(place), item: ItemId(item), position, par: None };
    let offer = |item, pack, price| Offer {
        supplier: SupplierId(1),
        item: ItemId(item),
        code: Some(format!("V{item}")),
        pack,
        price: Money(price),
        deposit: None,
        from: None,
        mixed: None,
        until: None,
    };
    let part = |item, ml: i64| Ingredient::new(ItemId(item), &format!("{ml} ml"), Amount(ml * 1_000));
    let menu = Menu { price: Money(1_200), tax: Some(1_900), method: None, glass: None, on: true, dilution: None };
    Parts {
        places: vec![
            Place { id: PlaceId(1), name: "Rail".to_owned(), walk: 1 },
            Place { id: PlaceId(2), name: "Cellar".to_owned(), walk: 2 },
        ],
        suppliers: vec![Supplier {
            id: SupplierId(1),
            name: "The van".to_owned(),
            email: Some("van@example.com".to_owned()),
            customer_no: None,
            calendar: OrderCalendar::parse("Mon 14:00 > Wed").unwrap(),
            minimum: Some(Money(20_000)),
            fee: Some(Money(900)),
            free_from: Some(Money(30_000)),
            party: Default::default(),
        }],
        items: vec![
            rum,
            item(2, "Lime juice", Kind::Juice, Basis::Volume, 1_000, 4),
            item(3, "Fine sugar", Kind::Other, Basis::Mass, 1_000, 3),
            item(4, "Soda", Kind::Mixer, Basis::Volume, 200, 48),
        ],
        shelves: vec![shelf(1, 1, 1), shelf(1, 2, 2), shelf(2, 1, 1), shelf(2, 3, 2), shelf(2, 4, 3)],
        offers: vec![offer(1, 6, 10_200), offer(4, 24, 1_440), offer(2, 1, 500), offer(3, 1, 120)],
        drinks: vec![Drink {
            id: DrinkId(1),
            name: "Harbour sour".to_owned(),
            menu: Versions::new(vec![(None, menu)]),
            specs: Versions::new(vec![(None, vec![part(1, 60), part(2, 20)])]),
        }],
        till: vec![TillName {
            id: TillId(1),
            name: "SOUR".to_owned(),
            code: None,
            means: TillMeaning::Drink { drink: DrinkId(1), portion: 1_000 },
        }],
        ..Parts::new(Venue {
            prices_include_tax: true,
            ..Venue::new(
                "The Test Bar",
                "EUR".parse().unwrap(),
                DayRule { zone: chrono_tz::Europe::Berlin, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() },
            )
        })
    }
}

/// Types keys as a terminal sends them; every effect but none, in order. `press` does what a screen does with a key, if it
/// is bound.
pub(crate) fn pressed(keys: &str, mut press: impl FnMut(KeyEvent) -> Option<Effect>) -> Vec<Effect> {
    let event = |key: char| {
        let code = match key {
            '\n' => KeyCode::Enter,
            '\u{8}' => KeyCode::Backspace,
            '\u{1b}' => KeyCode::Esc,
            '↓' => KeyCode::Down,
            '↑' => KeyCode::Up,
            c => KeyCode::Char(c),
        };
        KeyEvent::new(code, KeyModifiers::NONE)
    };
    keys.chars().filter_map(|key| press(event(key))).filter(|effect| *effect != Effect::None).collect()
}

/// A moment in the test bar's zone.
pub(crate) fn at(text: &str) -> Moment {
    bar().venue.days.parse(text).unwrap()
}
