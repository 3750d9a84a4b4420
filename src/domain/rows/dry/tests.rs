//! Who is listed, why, and what can be done about it.

use super::*;
use crate::domain::measure::Amount;
use crate::domain::order::sample::{ANSEL, BROOK, CORVO, NOW, at, by_demand, day, item, litres, offer, parts};
use crate::domain::venue::{Menu, Parts, Versions};

fn setup() -> Setup {
    let menu = |on| Menu {
        price: crate::domain::measure::Money(1_200),
        tax: None,
        method: None,
        glass: None,
        on,
        dilution: None,
    };
    let drink = |id, name: &str, on, takes: i64| Drink {
        id: DrinkId(id),
        name: name.to_owned(),
        menu: Versions::new(vec![(None, menu(on))]),
        specs: Versions::new(vec![(None, vec![Ingredient::new(ItemId(takes), "60 ml", Amount(60_000))])]),
    };
    let cordial = Recipe {
        written: None,
        yields: litres(1.0),
        water: None,
        takes: vec![Ingredient::new(ItemId(1), "500 ml", Amount(500_000))],
    };
    let small = Item { size: litres(0.5), ..item(3, "Gin 50 cl") };
    Setup::new(Parts {
        items: vec![item(1, "Gin 1 l"), item(2, "Rum"), small, item(4, "Cordial"), item(5, "Nobody's")],
        offers: vec![offer(ANSEL, 1, 1, 20), offer(BROOK, 1, 1, 25), offer(CORVO, 1, 1, 30), offer(ANSEL, 2, 1, 20)],
        drinks: vec![drink(1, "Sour", true, 1), drink(2, "Old one", false, 1), drink(3, "Fizz", true, 4)],
        recipes: [(ItemId(4), Versions::new(vec![(None, cordial)]))].into(),
        ..parts()
    })
}

/// The chance of lasting, day after day from Monday on: after three days it is likely dry.
const LASTS: &[f64] = &[0.99, 0.7, 0.4, 0.2, 0.1];

fn rows(pars: &[ItemPar]) -> Vec<DryRow> {
    dry_rows(&setup(), pars, at(NOW))
}

#[test]
fn what_runs_dry_before_more_of_it_comes_is_listed() {
    let setup = setup();
    let coming = |days: &[&str]| days.iter().map(|date| (day(date), litres(6.0))).collect::<Vec<_>>();
    for (item, on_its_way, lasts, listed) in [
        // The usual van comes on Wednesday: before that, Monday and Tuesday matter.
        (1, &[][..], LASTS, Some((0.3, None, Some("2026-11-25"), false))),
        (1, &[], &[0.9, 0.8, 0.1], None),
        (1, &[], &[0.45, 0.2, 0.1], Some((0.8, Some("2026-11-23"), Some("2026-11-25"), false))),
        // What is on its way and comes later than the usual van does not hold it back; what comes earlier does.
        (1, &["2026-11-27"], LASTS, Some((0.3, None, Some("2026-11-25"), false))),
        (1, &["2026-11-24"], &[0.5, 0.5], Some((0.5, Some("2026-11-23"), Some("2026-11-24"), true))),
        (1, &["2026-11-24"], LASTS, None),
        // Nobody offers it, and it is not made here: so far as one can see.
        (5, &[], LASTS, Some((0.9, Some("2026-11-25"), None, false))),
        // Made here it can be made tomorrow.
        (4, &[], LASTS, None),
        (4, &[], &[0.6, 0.1], Some((0.4, None, None, false))),
    ] {
        let par = ItemPar { coming: coming(on_its_way), ..by_demand(&setup, item, 4.0, 1.0, 2.0, lasts) };
        let rows = rows(&[par]);
        let row = rows.first().map(|row| ((100.0 * row.chance).round() / 100.0, row.day, row.comes, row.ordered));
        let listed = listed.map(|(chance, dry, comes, ordered)| (chance, dry.map(day), comes.map(day), ordered));
        assert_eq!(row, listed, "{item} {on_its_way:?} {lasts:?}");
    }
    let unknown = ItemPar { on_hand: None, ..by_demand(&setup, 1, 4.0, 0.0, 2.0, &[0.0]) };
    assert_eq!(rows(&[unknown]), [], "of what was never counted nobody knows");
    let uncovered = by_demand(&setup, 1, 4.0, 0.0, 2.0, &[]);
    assert_eq!(rows(&[uncovered]), [], "nor of what nobody knows the demand of");
}

#[test]
fn the_soonest_comes_first() {
    let setup = setup();
    let par = |item, lasts: &[f64]| by_demand(&setup, item, 4.0, 1.0, 2.0, lasts);
    let rows = rows(&[par(1, &[0.9, 0.6]), par(2, &[0.9, 0.5]), par(5, &[0.2])]);
    let order: Vec<(i64, Option<NaiveDate>)> = rows.iter().map(|row| (row.item.0, row.day)).collect();
    let (monday, tuesday) = (Some(day("2026-11-23")), Some(day("2026-11-24")));
    assert_eq!(order, [(5, monday), (2, tuesday), (1, None)]);
}

#[test]
fn what_can_be_done_about_it() {
    let setup = setup();
    let gin = by_demand(&setup, 1, 4.0, 1.0, 2.0, LASTS);
    let row = rows(std::slice::from_ref(&gin)).remove(0);
    let vans: Vec<(SupplierId, Option<Moment>, NaiveDate)> =
        row.vans.iter().map(|van| (van.supplier, van.by, van.comes)).collect();
    let (tuesday, wednesday) = (day("2026-11-24"), day("2026-11-25"));
    let usual = (ANSEL, Some(at("2026-11-23 14:00")), wednesday);
    let sooner = (BROOK, Some(at("2026-11-23 18:00")), tuesday);
    assert_eq!(vans, [sooner, usual], "who comes on the same day as the usual one for more money is no help");
    assert_eq!((row.sizes.as_slice(), row.made_here), (&[][..], false), "of the small ones there is none");
    let names: Vec<&str> = row.drinks.iter().map(|id| setup.drink(*id).unwrap().name.as_str()).collect();
    assert_eq!(names, ["Fizz", "Sour"], "what is made of it too; what is off the menu falls from nothing");

    let small = by_demand(&setup, 3, 4.0, 0.5, 0.1, &[1.0]);
    let row = rows(&[gin.clone(), small]).remove(0);
    assert_eq!(row.sizes, [ItemId(3)]);

    let late = ItemPar { coming: vec![(tuesday, litres(6.0))], ..by_demand(&setup, 1, 4.0, 1.0, 2.0, &[0.1]) };
    let row = rows(&[late]).remove(0);
    assert_eq!((row.vans.as_slice(), row.ordered), (&[][..], true), "nobody comes before what is on its way");
}

#[test]
fn how_likely_in_words() {
    let setup = setup();
    for (there, lasts, words) in [
        (1.0, 0.001, "almost sure, 99 %"),
        (1.0, 0.1, "almost sure, 90 %"),
        (1.0, 0.38, "likely, 62 %"),
        (1.0, 0.6, "perhaps, 40 %"),
        (0.0, 0.0, "none left"),
        (-0.2, 0.0, "none left"),
    ] {
        let row = rows(&[by_demand(&setup, 1, 4.0, there, 2.0, &[lasts, lasts])]).remove(0);
        assert_eq!(row.chance_words(), words, "{there} {lasts}");
    }
}

#[test]
fn a_size_in_a_name_is_no_other_thing() {
    for (name, bare) in [
        ("Gin 1 l", "gin"),
        ("Gin 70cl", "gin"),
        ("Gin 0,7 l", "gin"),
        ("Gin 1.5L Magnum", "gin magnum"),
        ("12-Year Rum", "12-year rum"),
        ("Route 12", "route 12"),
        ("Route 12 50 ml", "route 12"),
        ("L", "l"),
        ("", ""),
    ] {
        assert_eq!(without_size(name), bare, "{name}");
    }
}
