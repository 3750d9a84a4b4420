//! Which drink a till's name means: names as a till's keys may be labelled, invented for the demo bar's drinks, with the
//! right answer; and what holds for any name.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;

use chrono::NaiveDate;
use proptest::prelude::*;
use std::sync::OnceLock;
use tantalus::desk;
use tantalus::domain::measure::Money;
use tantalus::domain::till::{Likeness, Meaning};
use tantalus::domain::venue::{DrinkId, Parts, Setup, TillMeaning};
use tantalus::store::Store;

/// The demo's set-up with the names that its till explains already, and without.
fn setups() -> &'static (Setup, Setup) {
    static SETUPS: OnceLock<(Setup, Setup)> = OnceLock::new();
    SETUPS.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&demo::book(folder.path())).unwrap();
        let setup = desk::comparing::setup(&store).unwrap();
        let bare = Setup::new(Parts { till: Vec::new(), ..parts(&setup) });
        (setup, bare)
    })
}

fn parts(setup: &Setup) -> Parts {
    let s = setup.clone();
    Parts {
        venue: s.venue,
        people: s.people,
        places: s.places,
        suppliers: s.suppliers,
        special: s.special.all().to_vec(),
        items: s.items,
        shelves: s.shelves,
        profiles: s.profiles,
        offers: s.offers,
        glasses: s.glasses,
        drinks: s.drinks,
        recipes: s.recipes,
        till: s.till,
    }
}

fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 20).unwrap()
}

fn id(setup: &Setup, name: &str) -> DrinkId {
    setup.drinks.iter().find(|d| d.name == name).unwrap_or_else(|| panic!("no drink {name}")).id
}

/// A till's name, what was taken for one in cents net of tax (0 where that is not given), the drink and how much of it in
/// thousandths; an empty drink is no stock.
const NAMES: &[(&str, i64, &str, i64)] = &[
    ("MARG", 0, "Margarita", 1_000),
    ("MARG FRZN", 976, "Margarita", 1_000),
    ("MRGRTA", 0, "Margarita", 1_000),
    ("G+T", 0, "Gin and Tonic", 1_000),
    ("G & T", 894, "Gin and Tonic", 1_000),
    ("GINTONIC", 0, "Gin and Tonic", 1_000),
    ("Gin Tonic HH", 650, "Gin and Tonic", 1_000),
    ("DRY MRTN", 0, "Dry Martini", 1_000),
    ("MARTINI DRY", 0, "Dry Martini", 1_000),
    ("MAITAI", 0, "Mai Tai", 1_000),
    ("WHISKY SOUR", 0, "Whiskey Sour", 1_000),
    ("WSKY SOUR", 0, "Whiskey Sour", 1_000),
    ("DAIQ", 935, "Daiquiri", 1_000),
    ("DAQUIRI", 935, "Daiquiri", 1_000),
    ("SALTWIND", 0, "Saltwind Daiquiri", 1_000),
    ("SW DAIQUIRI", 1_016, "Saltwind Daiquiri", 1_000),
    ("TIDEWRACK", 0, "Tidewrack Punch", 1_000),
    ("NINTH LNTRN", 0, "The Ninth Lantern", 1_000),
    ("9TH LANTERN", 0, "The Ninth Lantern", 1_000),
    ("SMOKE SOLQUAY", 0, "Smoke over Solquay", 1_000),
    ("HRBRMSTR SOUR", 0, "Harbourmaster's Sour", 1_000),
    ("Harbour Master Sour", 0, "Harbourmaster's Sour", 1_000),
    ("PARROT PARL", 0, "Parrot Parliament", 1_000),
    ("CUSTOMS FLIP", 0, "Customs House Flip", 1_000),
    ("WIDOW COMPASS", 0, "Widow's Compass", 1_000),
    ("OLD ROPEWLK", 0, "Old Ropewalk", 1_000),
    ("RUM GINGER", 0, "Rum and Ginger", 1_000),
    ("CUBA RUM+COLA", 0, "Rum and Cola", 1_000),
    ("APER SPRITZ", 0, "Aperitivo Spritz", 1_000),
    ("SPRITZ", 0, "Aperitivo Spritz", 1_000),
    ("COFFEE CKTL", 0, "Coffee Cocktail", 1_000),
    ("DAWN ROSE", 0, "Dawn Rosé", 1_000),
    ("DAWN ROSE GLS", 528, "Dawn Rosé", 1_000),
    ("FLASCHE SLOPE WHITE", 0, "Slope White", 5_000),
    ("TERRACE RED BTL", 0, "Terrace Red", 5_000),
    ("CINDER RED", 3_415, "Cinder Red, bottle", 1_000),
    ("OLD VINE WHT", 0, "Old Vine White, bottle", 1_000),
    ("1/2 PIERHOLLOW", 0, "Pierhollow Draught", 500),
    ("½ Saltcoil", 0, "Saltcoil Draught", 500),
    ("PIERHOLLOW PINT", 528, "Pierhollow Draught", 1_000),
    ("PILS PIERHOLLOW", 0, "Pierhollow Pilsner", 1_000),
    ("IPA", 0, "Session IPA", 1_000),
    ("STOUT", 0, "Cinderquay Stout", 1_000),
    ("0.0 LAGER ZERO", 325, "Zero Lager", 1_000),
    ("COLA ZERO", 0, "Zero Cola", 1_000),
    ("LEMONADE", 0, "Cloudy Lemonade", 1_000),
    ("SPKL WATER", 0, "Sparkling Water", 1_000),
    ("STILL WTR", 0, "Still Water", 1_000),
    ("CRANB ORANGE", 0, "Cranberry and Orange", 1_000),
    ("ALMONDS", 0, "Salted Almonds", 1_000),
    ("OLIVE", 0, "Olives", 1_000),
    ("CRISPS", 0, "Plantain Crisps", 1_000),
    ("VARROWMAY 4CL", 0, "Varrowmay White Rum 40 ml", 1_000),
    ("VARROWMAY 2 CL", 224, "Varrowmay White Rum 40 ml", 500),
    ("DBL CORVANEL", 976, "Corvanel Dark Rum 40 ml", 2_000),
    ("CORVANEL DOPPELT", 0, "Corvanel Dark Rum 40 ml", 2_000),
    ("2x Sternalow Vodka", 0, "Sternalow Vodka 40 ml", 2_000),
    ("MARROWICK 8", 0, "Marrowick 8-Year Rum 40 ml", 1_000),
    ("DUNSARRA 12YR", 0, "Dunsarra 12-Year Rum 40 ml", 1_000),
    ("MEZC OMBREVANE", 0, "Ombrevane Espadín Mezcal 40 ml", 1_000),
    ("OMBRACULE AMRO", 0, "Ombracule Amaro 40 ml", 1_000),
    ("HALF FENMARISK", 1_301, "Fenmarisk 21-Year Rum 40 ml", 500),
    ("CORRIMOND 25ML", 0, "Corrimond London Dry Gin 40 ml", 625),
    ("WRENMARROW GIN", 610, "Wrenmarrow London Dry Gin 40 ml", 1_000),
    ("WRENMARROW+TONIC", 976, "Wrenmarrow and Dry Tonic", 1_000),
    ("HERBARROW GRN", 0, "Herbarrow Green Herbal Liqueur 40 ml", 1_000),
    ("JUG TIDEWRCK", 4_228, "Tidewrack Punch", 4_000),
    ("Skarnhult klein", 0, "Skarnhult Aquavit 40 ml", 1_000),
    ("QUENZAREL REP LARGE", 1_220, "Quenzarel Reposado Tequila 40 ml", 2_000),
    ("BOTTLE DEPOSIT", 0, "", 0),
    ("TIP 10%", 0, "", 0),
    ("TOTE BAG", 0, "", 0),
    ("GIFT VOUCHER 50", 0, "", 0),
    ("SERVICE CHG", 0, "", 0),
    ("CLOAKRM TICKET", 0, "", 0),
];

/// How many of the table are first, among the first three, and first with the right portion; how many are called clear, and
/// how many of those are wrong.
fn rates(setup: &Setup) -> (usize, usize, usize, usize, usize, Vec<String>) {
    let likeness = Likeness::new(setup, day());
    let (mut first, mut third, mut portions, mut clear, mut wrong) = (0, 0, 0, 0, 0);
    let mut misses = Vec::new();
    for (name, net, drink, portion) in NAMES {
        let likely = likeness.candidates(name, None, Some(Money(*net)).filter(|n| n.0 > 0));
        let right = |means: Meaning| match means {
            Meaning::NotStock => drink.is_empty(),
            Meaning::Drink { drink: found, .. } => !drink.is_empty() && found == id(setup, drink),
        };
        let at = likely.candidates.iter().position(|c| right(c.means));
        first += usize::from(at == Some(0));
        third += usize::from(at.is_some_and(|at| at < 3));
        let exact = likely.candidates.first().is_some_and(|c| match c.means {
            Meaning::Drink { portion: found, .. } => right(c.means) && found == *portion,
            Meaning::NotStock => right(c.means),
        });
        portions += usize::from(exact);
        clear += usize::from(likely.clear);
        wrong += usize::from(likely.clear && at != Some(0));
        if !exact {
            let named = |means: Meaning| match means {
                Meaning::NotStock => "not stock".to_owned(),
                Meaning::Drink { drink, portion } => format!("{} × {portion}", setup.drink(drink).unwrap().name),
            };
            let list: Vec<String> = likely
                .candidates
                .iter()
                .take(3)
                .map(|c| format!("{} {:.2} ({})", named(c.means), c.score, c.why))
                .collect();
            misses.push(format!("{name} -> {drink} × {portion}, at {at:?}: {}", list.join(" | ")));
        }
    }
    (first, third, portions, clear, wrong, misses)
}

#[test]
fn invented_names_find_their_drinks() {
    assert!(NAMES.len() >= 60);
    let (with, bare) = setups();
    for (what, setup) in [("with the names explained so far", with), ("by the menu alone", bare)] {
        let all = NAMES.len();
        let (first, third, portions, clear, wrong, misses) = rates(setup);
        println!(
            "{what}: of {all} names {first} first, {third} among three, {portions} with the right portion; {clear} clear, {wrong} of them wrong"
        );
        println!("{}\n", misses.join("\n"));
        assert!(first * 100 >= all * 90 && third * 100 >= all * 96, "{first} {third} of {all}\n{}", misses.join("\n"));
        assert!(wrong * 50 <= clear, "{wrong} of {clear} are clear and wrong\n{}", misses.join("\n"));
    }
}

/// The demo's own till names, by the menu alone: cut after sixteen letters, as its till prints them.
#[test]
fn the_demo_s_till_is_explained_by_its_menu() {
    let (with, bare) = setups();
    let likeness = Likeness::new(bare, day());
    let (mut first, mut third, mut all) = (0, 0, 0);
    for name in &with.till {
        let TillMeaning::Drink { drink, .. } = name.means else { continue };
        let likely = likeness.candidates(&name.name, None, None);
        let at = likely
            .candidates
            .iter()
            .position(|c| matches!(c.means, Meaning::Drink { drink: found, .. } if found == drink));
        all += 1;
        first += usize::from(at == Some(0));
        third += usize::from(at.is_some_and(|at| at < 3));
        if at != Some(0) {
            println!("{}: {:?}", name.name, likely.candidates.first());
        }
    }
    println!("of {all} names {first} first, {third} among three");
    assert!(first * 100 >= all * 97, "{first} of {all}");
}

/// What is not on the menu must not be accepted by one key.
#[test]
fn what_is_not_on_the_menu_stays_doubtful() {
    let (with, bare) = setups();
    for setup in [with, bare] {
        let likeness = Likeness::new(setup, day());
        for name in [
            "ESPR MARTINI",
            "NGRNI",
            "PINA COLADA",
            "MOJITO",
            "FLAT WHITE",
            "CHEESEBURGER",
            "TEA",
            "MISC",
            "OPEN ITEM",
            "MULLED WINE",
            "X",
            "BAR",
        ] {
            let likely = likeness.candidates(name, None, None);
            let drink = likely.candidates.first().filter(|c| c.means != Meaning::NotStock);
            assert!(!likely.clear || drink.is_none(), "{name}: {:?}", likely.candidates);
        }
    }
}

/// Keys that stand for anything, letters and figures by themselves, words that any drink may have: no drink is offered, or
/// at most as a guess.
#[test]
fn what_says_nothing_is_no_drink() {
    let (with, bare) = setups();
    for setup in [with, bare] {
        let likeness = Likeness::new(setup, day());
        for name in [
            "HOME",
            "MISC",
            "OPEN FOOD",
            "TEST",
            "2",
            "...",
            "X",
            "SPECIAL",
            "TABLE 4",
            "MENU",
            "TO GO",
            "NO ICE",
            "TEA",
        ] {
            let likely = likeness.candidates(name, None, None);
            assert_eq!(likely.candidates, [], "{name}");
        }
        for name in ["EXTRA", "BEER", "COCKTAIL", "HOUSE", "HAPPY HOUR", "EXTRA LIME", "BAR", "SOUP"] {
            let likely = likeness.candidates(name, None, None);
            assert!(!likely.clear, "{name}: {:?}", likely.candidates);
        }
        for name in ["DELIVERY", "SERVICE", "CORKAGE"] {
            let likely = likeness.candidates(name, None, None);
            assert!(likely.clear && likely.candidates[0].means == Meaning::NotStock, "{name}: {:?}", likely.candidates);
        }
    }
}

#[test]
fn what_a_code_or_a_name_like_it_means_is_likely() {
    let (with, _) = setups();
    let mut parts = parts(with);
    let (negotiation, cola) = (id(with, "Gull's Negotiation"), id(with, "Cola"));
    for name in &mut parts.till {
        if name.means == (TillMeaning::Drink { drink: cola, portion: 1_000 }) {
            name.code = Some("0815".to_owned());
        }
        // A name that looks like nothing, explained by a person.
        if name.name == "LOW BAROMETER" {
            name.name = "SEAGULL FIGHT".to_owned();
            name.means = TillMeaning::Drink { drink: negotiation, portion: 1_000 };
        }
    }
    let likeness = Likeness::new(&Setup::new(parts), day());
    let first =
        |name: &str, code: Option<&str>| likeness.candidates(name, code, None).candidates.first().map(|c| c.means);
    assert_eq!(first("Softdrink 12", Some("0815")), Some(Meaning::Drink { drink: cola, portion: 1_000 }));
    assert_eq!(first("SEAGULL FIGHT HH", None), Some(Meaning::Drink { drink: negotiation, portion: 1_000 }));
    assert_eq!(first("DBL SEAGULL FIGHT", None), Some(Meaning::Drink { drink: negotiation, portion: 2_000 }));
    assert!(likeness.candidates("", None, None).candidates.is_empty());
}

proptest! {
    #[test]
    fn any_name_is_compared_safely(name in any::<String>(), net in any::<Option<i64>>()) {
        static LIKENESS: OnceLock<Likeness> = OnceLock::new();
        let likeness = LIKENESS.get_or_init(|| Likeness::new(&setups().0, day()));
        let likely = likeness.candidates(&name, Some(&name), net.map(Money));
        prop_assert!(likely.candidates.len() <= 8);
        prop_assert!(likely.candidates.iter().all(|c| (0.0..=1.0).contains(&c.score)));
        prop_assert!(likely.candidates.windows(2).all(|pair| pair[0].score >= pair[1].score));
        for candidate in &likely.candidates {
            if let Meaning::Drink { portion, .. } = candidate.means {
                prop_assert!(portion > 0);
            }
        }
    }

    #[test]
    fn a_drink_s_own_name_comes_first(which in any::<prop::sample::Index>(), net in proptest::option::of(1_i64..5_000)) {
        static LIKENESS: OnceLock<Likeness> = OnceLock::new();
        let setup = &setups().0;
        let likeness = LIKENESS.get_or_init(|| Likeness::new(setup, day()));
        let drink = &setup.drinks[which.index(setup.drinks.len())];
        let likely = likeness.candidates(&drink.name.to_uppercase(), None, net.map(Money));
        prop_assert_eq!(likely.candidates[0].means, Meaning::Drink { drink: drink.id, portion: 1_000 });
    }

    #[test]
    fn the_order_of_the_menu_changes_nothing(seed in any::<u64>(), which in any::<prop::sample::Index>()) {
        let setup = &setups().0;
        let mut parts = parts(setup);
        let n = parts.drinks.len();
        (1..n).for_each(|i| parts.drinks.swap(i, (seed.wrapping_mul(i as u64 + 7) % (i as u64 + 1)) as usize));
        parts.till.reverse();
        let (a, b) = (Likeness::new(setup, day()), Likeness::new(&Setup::new(parts), day()));
        let name = NAMES[which.index(NAMES.len())].0;
        prop_assert_eq!(a.candidates(name, None, None), b.candidates(name, None, None));
    }
}
