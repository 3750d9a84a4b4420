//! Drinks and what is made here through the whole program, on a small book: what sales take, what serves cost, what is
//! kept and refused. The figures are worked by hand beside each.

#![allow(clippy::unwrap_used)]

use chrono::NaiveDate;
use std::path::Path;
use tantalus::desk::comparing::Choice;
use tantalus::desk::reviewing::review;
use tantalus::desk::{DeskError, drinks, dump, house, init, load, looking, losing, unwatched};
use tantalus::domain::drink::{Larder, Serve};
use tantalus::domain::ledger::{Batch, Loss};
use tantalus::domain::measure::{Amount, Money};
use tantalus::domain::rows::{DrinkDraft, HouseLine, Made, RecipeDraft, Selection};
use tantalus::domain::venue::*;
use tantalus::store::{Store, setup};

const NOW: &str = "2026-11-23 12:00";

fn at(text: &str) -> Moment {
    let zone = chrono_tz::Europe::Berlin;
    DayRule { zone, starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() }.parse(text).unwrap()
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

const BASE: &[(&str, &str)] = &[
    (
        "venue.csv",
        "key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\nprices_include_tax,yes\nstandard_drink,GB\n",
    ),
    ("people.csv", "initials,role\nOM,counter\n"),
    ("places.csv", "place\nRail\n"),
    ("suppliers.csv", "supplier,schedule\nVan,\n"),
    (
        "stock.csv",
        "item,kind,size,abv,sugar,allergens,keeps_days,yields,count_by\n\
         Rum,spirit,700 ml,40,,none,,,tenths\n\
         Sugar,food,1 kg,,100 %,none,,,whole\n\
         Lemons,food,1 each,,24 g/l,none,,30 ml,whole\n\
         Almonds,food,1 kg,,,nuts,,,whole\n\
         Tea,food,1 kg,,,,,,whole\n\
         Soda,mixer,200 ml,,0 g/l,none,,,whole\n\
         Lemon juice,house-made,1 l,,,,2,,tenths\n\
         Syrup,house-made,1 l,,,,21,,tenths\n\
         Orgeat,house-made,1 l,,,,30,,tenths\n\
         Cordial,house-made,1 l,,,,10,,tenths\n",
    ),
    (
        "offers.csv",
        "supplier,item,pack,price\nVan,Rum,6,84.00\nVan,Sugar,1,1.00\nVan,Lemons,10,3.00\nVan,Soda,24,12.00\n",
    ),
    (
        "house.csv",
        "item,yields,ingredient,quantity,water\n\
         Lemon juice,300 ml,Lemons,10 each,\n\
         Syrup,,Sugar,1 kg,1 kg\n\
         Orgeat,1 l,Syrup,800 ml,\nOrgeat,1 l,Almonds,150 g,\n\
         Cordial,1 l,Syrup,600 ml,\nCordial,1 l,Lemon juice,400 ml,\n",
    ),
    ("glasses.csv", "glass,holds,ice\ncoupe,150 ml,\nhighball,300 ml,140 ml\n"),
    ("drinks.csv", "drink,price,tax,method,glass\nSour,12.00,20,shake,coupe\nTall,10.00,20,build,highball\n"),
    (
        "specs.csv",
        "drink,ingredient,quantity\nSour,Rum,60 ml\nSour,Syrup,30 ml\nSour,Lemon juice,15 ml\n\
         Tall,Rum,50 ml\nTall,Cordial,20 ml\nTall,Soda,200 ml\n",
    ),
    ("pos.csv", "sold_as,drink,portion\nSOUR,Sour,1\nTALL,Tall,1\n"),
];

/// The book of [`BASE`], with files put in the place of its own or beside them.
fn book(folder: &Path, other: &[(&str, &str)]) -> Store {
    let plain = folder.join("plain");
    std::fs::create_dir_all(&plain).unwrap();
    for (name, text) in BASE.iter().chain(other) {
        std::fs::write(plain.join(name), text).unwrap();
    }
    match init::init_from(&folder.join("book.tantalus"), &plain, at(NOW), &mut unwatched) {
        Ok((store, _)) => store,
        Err(refused) => panic!("{refused}"),
    }
}

fn set_up(store: &Store) -> Setup {
    store.read(setup::load).unwrap()
}

fn item(store: &Store, name: &str) -> Item {
    set_up(store).items.into_iter().find(|item| item.name == name).unwrap()
}

fn drink(store: &Store, name: &str) -> Drink {
    set_up(store).drinks.into_iter().find(|drink| drink.name == name).unwrap()
}

fn why<T: std::fmt::Debug>(refused: Result<T, DeskError>) -> String {
    refused.unwrap_err().to_string()
}

/// Two counts of the same, a week apart.
fn two_counts(items: &[(&str, &str)]) -> String {
    let lines = |count: &str, when: &str| -> String {
        items.iter().map(|(item, seen)| format!("{count},{when},Rail,{item},{seen}\n")).collect()
    };
    format!("count,at,place,item,full\n{}{}", lines("first", "2026-11-16 02:00"), lines("second", "2026-11-23 04:00"))
}

fn sales(lines: &[(&str, &str, i64)]) -> String {
    let line = |(n, (when, name, many)): (usize, &(&str, &str, i64))| format!("{n},1,{when},{name},{many},10.00\n");
    format!("receipt,line,at,sold_as,quantity,net\n{}", lines.iter().enumerate().map(line).collect::<String>())
}

/// What sales took of an item between the two counts.
fn sold(store: &Store, name: &str) -> Amount {
    let id = item(store, name).id;
    let view = review(store, Choice::default()).unwrap();
    view.variance.rows.iter().find(|row| row.item == id).unwrap().sold
}

fn serve(store: &Store, name: &str) -> Serve {
    let view = drinks::view(store, at(NOW)).unwrap();
    view.line(&drink(store, name)).serve.unwrap()
}

/// A sour of 60 ml of spirit, 30 ml of syrup and 15 ml of juice takes exactly that from stock (common practice, no
/// source).
#[test]
fn a_sour_takes_exactly_what_its_spec_says() {
    let folder = tempfile::tempdir().unwrap();
    let counts = two_counts(&[("Rum", "9"), ("Syrup", "5"), ("Lemon juice", "2")]);
    let facts = [("counts.csv", counts.as_str()), ("sales.csv", &sales(&[("2026-11-18 22:00", "SOUR", 7)]))];
    let store = book(folder.path(), &facts);
    assert_eq!(sold(&store, "Rum"), Amount(7 * 60_000));
    assert_eq!(sold(&store, "Syrup"), Amount(7 * 30_000));
    assert_eq!(sold(&store, "Lemon juice"), Amount(7 * 15_000));
}

/// Changed on Wednesday the 18th, the drink takes the old spec up to the last sale before five in the morning and the
/// new one from then on.
#[test]
fn a_drink_changed_on_wednesday_splits_the_week_at_the_right_sale() {
    let folder = tempfile::tempdir().unwrap();
    let sold_lines = sales(&[
        ("2026-11-17 23:30", "SOUR", 1),
        ("2026-11-18 01:30", "SOUR", 1),
        ("2026-11-18 04:59", "SOUR", 1),
        ("2026-11-18 05:00", "SOUR", 1),
        ("2026-11-18 20:00", "SOUR", 1),
    ]);
    let counts = two_counts(&[("Rum", "9"), ("Syrup", "5"), ("Lemon juice", "2")]);
    let store = book(folder.path(), &[("counts.csv", counts.as_str()), ("sales.csv", &sold_lines)]);
    let sour = drink(&store, "Sour");
    let (_, menu) = sour.menu.at(day("2026-11-18")).unwrap();
    let (_, spec) = sour.specs.at(day("2026-11-18")).unwrap();
    let mut spec = spec.clone();
    spec[0].written = "45 ml".to_owned();
    let draft = DrinkDraft {
        drink: Some(sour.id),
        name: "Sour".to_owned(),
        from: Some(day("2026-11-18")),
        menu: menu.clone(),
        spec,
        glass: None,
        seen: None,
    };
    drinks::keep(&store, &draft, Moment(0)).unwrap();
    assert_eq!(sold(&store, "Rum"), Amount(3 * 60_000 + 2 * 45_000));
    assert_eq!(sold(&store, "Syrup"), Amount(5 * 30_000));
    // What did not change began no version of its own.
    let sour = drink(&store, "Sour");
    assert_eq!((sour.menu.iter().count(), sour.specs.iter().count()), (1, 2));
}

/// Nothing is wasted: what sales took of what is made here, three deep, is what they took of what goes into it. 137
/// drinks of 70 ml of a blend that is half of a base, which is six parts of rum in ten and four of juice.
#[test]
fn usage_of_what_is_made_here_is_usage_of_what_goes_in() {
    let folder = tempfile::tempdir().unwrap();
    let stock = format!(
        "{}Press,juice,1 l,,,none,,,tenths\nBase,house-made,1 l,,,,,,tenths\nBlend,house-made,1 l,,,,,,tenths\nCup,house-made,1 l,,,,,,tenths\n",
        BASE[4].1
    );
    let recipes = format!(
        "{}Base,1 l,Rum,600 ml,\nBase,1 l,Press,400 ml,\nBlend,2 l,Base,1 l,\nBlend,2 l,Press,1 l,\nCup,700 ml,Blend,700 ml,\n",
        BASE[6].1
    );
    let drinks = "drink,price\nMany,9.00\n";
    let (specs, pos) = ("drink,ingredient,quantity\nMany,Cup,70 ml\n", "sold_as,drink\nMANY,Many\n");
    let counts = two_counts(&[("Rum", "9"), ("Press", "9")]);
    let many = sales(&[("2026-11-18 22:00", "MANY", 100), ("2026-11-19 22:00", "MANY", 37)]);
    let store = book(
        folder.path(),
        &[
            ("stock.csv", stock.as_str()),
            ("house.csv", &recipes),
            ("drinks.csv", drinks),
            ("specs.csv", specs),
            ("pos.csv", pos),
            ("counts.csv", &counts),
            ("sales.csv", &many),
        ],
    );
    let all = 137 * 70_000;
    assert_eq!(sold(&store, "Rum"), Amount(all * 3 / 10));
    assert_eq!(sold(&store, "Press"), Amount(all * 7 / 10));
    assert_eq!(sold(&store, "Rum") + sold(&store, "Press"), Amount(all));
}

/// Rum at 14.00 for 700 ml: 60 ml are 1.20. A batch of syrup takes 1.00 of sugar and is 1626.47 ml: 30 ml are 0.018. Ten
/// lemons at 0.30 make 300 ml: 15 ml are 0.15. In all 1.3684; of 10.00 without 20 % tax that is 13.68 %.
#[test]
fn a_serve_costs_what_goes_into_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[]);
    let sour = serve(&store, "Sour");
    let euro = set_up(&store).venue.currency;
    assert!((sour.cost.whole().unwrap().minor(euro) - 136.844).abs() < 0.001);
    let earning = sour.earning.unwrap();
    assert_eq!((earning.net, earning.margin), (Money(1_000), Money(863)));
    assert!((earning.pour_cost.unwrap() - 0.136_844).abs() < 1e-6);
    // Nobody offers almonds: what they go into has no known cost, and that is said.
    let lines = "drink,ingredient,quantity\nSour,Orgeat,20 ml\nSour,Rum,60 ml\nSour,Lemon juice,15 ml\n";
    let other = tempfile::tempdir().unwrap();
    let sour = serve(&book(other.path(), &[("specs.csv", lines), ("pos.csv", "sold_as,drink\n")]), "Sour");
    assert_eq!((sour.cost.missing.len(), sour.earning), (1, None));
    assert!(sour.cost.whole().is_none());
}

/// The mix before ice: 60 ml of 40 % vol, 30 ml of a syrup of 50 Brix, 15 ml of juice. Ethanol 60 × 0.4 × 0.78924 g =
/// 18.94 g; United Kingdom units of 7.8924 g: 2.40. The same by summing volumes, which is good to some tenths of a
/// percent at this strength: 24 ÷ 105 = 22.9 % vol.
#[test]
fn a_serve_is_as_strong_as_its_parts() {
    let folder = tempfile::tempdir().unwrap();
    let sour = serve(&book(folder.path(), &[]), "Sour");
    let poured = &sour.poured;
    assert!((poured.glass.ethanol - 18.942).abs() < 0.01, "{poured:?}");
    assert!((poured.before.strength() - 24.0 / 105.0).abs() < 0.002);
    let units = tantalus::domain::drink::standard_drinks(poured.glass.ethanol, StandardDrink::parse("GB").unwrap());
    assert!((units - 2.40).abs() < 0.001);
    // Shaken at 22.9 % vol: −1.567 a² + 1.742 a + 0.203 = 0.52 of its volume; 105 ml become 160, which is 10 more than
    // the glass holds.
    assert!((poured.dilution - 0.520).abs() < 0.002);
    assert!((poured.glass.volume() - 159.5).abs() < 0.5, "{}", poured.glass.volume());
    assert!((sour.too_much().unwrap().0 as f64 / 1_000.0 - 9.5).abs() < 0.5);
    // 30 ml of syrup hold 18.4 g of sugar (614.8 g/l), 15 ml of juice 0.4 g.
    assert!((poured.glass.sugar - 18.80).abs() < 0.02);
    // What is poured on top meets no ice: only 70 ml are diluted.
    let tall = serve(&book(tempfile::tempdir().unwrap().path(), &[]), "Tall");
    assert!((tall.poured.after.volume() - 200.0).abs() < 0.5);
    assert!((tall.poured.glass.volume() - (70.0 * 1.10 + 200.0)).abs() < 1.0);
}

/// Nuts go through the orgeat into the drink. Of tea nobody said anything: it is unknown, and what is stated of others
/// does not make it none.
#[test]
fn allergens_are_carried_and_unknown_is_never_none() {
    let folder = tempfile::tempdir().unwrap();
    let recipes = format!("{}Cordial,1 l,Tea,10 g,\n", BASE[6].1);
    let specs = "drink,ingredient,quantity\nSour,Orgeat,20 ml\nTall,Rum,50 ml\nTall,Cordial,20 ml\n";
    let facts = [("house.csv", recipes.as_str()), ("specs.csv", specs), ("pos.csv", "sold_as,drink\n")];
    let store = book(folder.path(), &facts);
    let (sour, tall) = (serve(&store, "Sour"), serve(&store, "Tall"));
    assert_eq!(sour.allergens.known.into_iter().collect::<Vec<_>>(), [Allergen::Nuts]);
    assert!(sour.allergens.unknown.is_empty());
    assert!(tall.allergens.known.is_empty());
    assert_eq!(tall.allergens.unknown.into_iter().collect::<Vec<_>>(), [item(&store, "Tea").id]);
}

/// Twelve of rum at 14.00, then six at 15.40; ten are left. First in, first out the oldest of them cost 14.00 and the
/// ten 4 × 14.00 + 6 × 15.40 = 148.40. By the average of what was there four weeks ago (4 at 13.30, what had been paid
/// for it) and all that came since, one costs (4 × 13.30 + 12 × 14.00 + 6 × 15.40) ÷ 22 = 14.2545.
#[test]
fn stock_costs_by_the_rule_of_the_book() {
    let deliveries = "document,line,at,supplier,item,containers,unit_price\n\
                      A,1,2026-10-10 12:00,Van,Rum,6,13.30\n\
                      B,1,2026-11-02 12:00,Van,Rum,12,14.00\n\
                      C,1,2026-11-16 12:00,Van,Rum,6,15.40\n";
    let counts = "count,at,place,item,full\nold,2026-10-20 02:00,Rail,Rum,4\nnew,2026-11-23 02:00,Rail,Rum,10\n";
    for (rule, one, all) in
        [("last-paid", 1_540, 15_400), ("fifo", 1_400, 14_840), ("average", 1_425, 14_255), ("offer", 1_400, 14_000)]
    {
        let folder = tempfile::tempdir().unwrap();
        let venue = format!("{}cost_rule,{rule}\n", BASE[0].1);
        let facts = [("venue.csv", venue.as_str()), ("deliveries.csv", deliveries), ("counts.csv", counts)];
        let store = book(folder.path(), &facts);
        let view = drinks::view(&store, at(NOW)).unwrap();
        let (euro, rum) = (view.setup.venue.currency, item(&store, "Rum"));
        let cost = view.larder.costs.of(rum.id).unwrap();
        assert_eq!(cost.of(rum.size, euro), Money(one), "{rule}");
        let (_, rows) = looking::stock(&store, at(NOW)).unwrap();
        let value = rows.iter().find(|row| row.item == rum.id).unwrap().value;
        assert_eq!(value, Some(Money(all)), "{rule}");
    }
}

/// A circle over two recipes is refused by name, whichever of them closes it, and the book stays as it was.
#[test]
fn a_recipe_that_needs_itself_is_refused_by_name() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[]);
    let (syrup, cordial) = (item(&store, "Syrup"), item(&store, "Cordial"));
    let before = set_up(&store).recipes[&syrup.id].clone();
    let draft = RecipeDraft {
        made: Made::Known(syrup.id),
        from: None,
        yields: Some("1 l".to_owned()),
        water: None,
        keeps_days: Some(21),
        takes: vec![Ingredient::new(cordial.id, "1 l", Amount::ZERO)],
        seen: None,
    };
    assert_eq!(why(house::keep_recipe(&store, &draft, at(NOW))), "this is made of itself: Syrup > Cordial > Syrup");
    let own = RecipeDraft { takes: vec![Ingredient::new(syrup.id, "1 l", Amount::ZERO)], ..draft };
    assert_eq!(why(house::keep_recipe(&store, &own, at(NOW))), "this is made of itself: Syrup > Syrup");
    assert_eq!(set_up(&store).recipes[&syrup.id], before);
}

/// Something new is an item and a recipe at once; its yield follows from the sugar and water in it.
#[test]
fn a_new_recipe_makes_a_new_item() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[]);
    let sugar = item(&store, "Sugar");
    let draft = RecipeDraft {
        made: Made::New("Rich syrup".to_owned(), "750 ml".to_owned()),
        from: Some(day("2026-11-23")),
        yields: None,
        water: Some("1 kg".to_owned()),
        keeps_days: Some(14),
        takes: vec![Ingredient::new(sugar.id, "2 kg", Amount::ZERO)],
        seen: None,
    };
    let id = house::keep_recipe(&store, &draft, at(NOW)).unwrap();
    let setup = set_up(&store);
    let made = setup.item(id).unwrap();
    assert_eq!((made.kind, made.size, made.keeps_days), (Kind::HouseMade, Amount(750_000), Some(14)));
    // 2 kg of sugar in 1 kg of water are 2261.16 ml at 20 °C (polynomial of ICUMSA SPS-4).
    let recipe = setup.recipe(id, day("2026-11-23")).unwrap();
    assert!((recipe.yields.0 - 2_261_160).abs() < 50, "{:?}", recipe.yields);
    assert!(why(house::keep_recipe(&store, &draft, at(NOW))).contains("has Rich syrup already"));
    let nothing = RecipeDraft { takes: Vec::new(), made: Made::Known(id), ..draft.clone() };
    assert!(why(house::keep_recipe(&store, &nothing, at(NOW))).contains("add what goes in"));
    let pieces = RecipeDraft { made: Made::New("Ice".to_owned(), "1 each".to_owned()), ..draft };
    assert!(why(house::keep_recipe(&store, &pieces, at(NOW))).contains("how many pieces"));
    assert!(set_up(&store).items.iter().all(|item| item.name != "Ice"));
}

fn batch(item: ItemId, when: &str, millilitres: i64) -> Batch {
    let made = Amount(millilitres * 1_000);
    Batch { seq: Seq(0), at: at(when), item, made, by: Some("OM".to_owned()), note: None }
}

/// A batch of 813.235 ml of syrup is half of one: it takes 500 g of sugar. Taken back, it took nothing.
#[test]
fn a_batch_takes_from_stock_and_can_be_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let counts = "count,at,place,item,full\nnew,2026-11-22 02:00,Rail,Sugar,5\nnew,2026-11-22 02:00,Rail,Syrup,1\n";
    let store = book(folder.path(), &[("counts.csv", counts)]);
    let (sugar, syrup) = (item(&store, "Sugar").id, item(&store, "Syrup").id);
    let there = |store: &Store| {
        let (_, rows) = looking::stock(store, at(NOW)).unwrap();
        let of = |item| rows.iter().find(|row| row.item == item).unwrap().on_hand.unwrap().amount.0;
        (of(sugar), of(syrup))
    };
    assert_eq!(there(&store), (5_000_000, 1_000_000));
    let half = Batch { made: Amount(813_235), ..batch(syrup, "2026-11-22 16:00", 0) };
    let booked = house::make(&store, &half, at(NOW)).unwrap();
    assert!(booked.takes);
    let seq = booked.seq;
    let (sugar_left, syrup_left) = there(&store);
    assert!((sugar_left - 4_500_000).abs() <= 20, "{sugar_left}");
    assert_eq!(syrup_left, 1_813_235);
    house::take_back(&store, seq, Some("OM"), at(NOW)).unwrap();
    assert_eq!(there(&store), (5_000_000, 1_000_000));
    assert!(why(house::take_back(&store, seq, None, at(NOW))).contains("in force"));
    assert!(why(house::make(&store, &batch(sugar, NOW, 5), at(NOW))).contains("has no recipe"));
    let none = Batch { made: Amount::ZERO, ..half.clone() };
    assert!(why(house::make(&store, &none, at(NOW))).contains("above zero"));
    let stranger = Batch { by: Some("XX".to_owned()), ..half };
    assert!(why(house::make(&store, &stranger, at(NOW))).contains("nobody here signs as XX"));
}

/// Juice made on the 20th keeps two days, the day it was made being the first: until the 21st. The cordial made of it on
/// the same day would keep ten and keeps no longer than the juice. Both are named on the 23rd until what is left of them
/// is written off.
#[test]
fn a_batch_past_its_date_is_named_until_it_is_written_off() {
    let folder = tempfile::tempdir().unwrap();
    let counts = "count,at,place,item,full\nnew,2026-11-20 20:00,Rail,Lemon juice,0\nnew,2026-11-20 20:00,Rail,Cordial,0\nnew,2026-11-20 20:00,Rail,Lemons,99\n";
    let store = book(folder.path(), &[("counts.csv", counts)]);
    let (juice, cordial) = (item(&store, "Lemon juice").id, item(&store, "Cordial").id);
    house::make(&store, &batch(juice, "2026-11-20 21:00", 500), at(NOW)).unwrap();
    house::make(&store, &batch(cordial, "2026-11-20 22:00", 1_000), at(NOW)).unwrap();
    let past = |store: &Store| looking::tonight(store, at(NOW)).unwrap().1.past_date;
    let rows = past(&store);
    let told: Vec<(ItemId, NaiveDate, i64)> =
        rows.iter().map(|row| (row.item, row.use_by, row.left.unwrap().0)).collect();
    // The cordial took 400 ml of the 500.
    assert_eq!(told, [(juice, day("2026-11-21"), 100_000), (cordial, day("2026-11-21"), 1_000_000)]);
    let view = house::view(&store, at(NOW)).unwrap();
    let left = &view.line(cordial).unwrap().left[0];
    assert_eq!(left.use_by.unwrap().because_of, Some(juice));
    for row in rows {
        let loss = Loss {
            seq: Seq(0),
            at: at(NOW),
            item: row.item,
            amount: row.left.unwrap(),
            reason: Reason::Spoiled,
            place: None,
            by: None,
            note: None,
        };
        losing::record(&store, &loss, at(NOW)).unwrap();
    }
    assert!(past(&store).is_empty());
}

/// Five weeks of sales, seven sours on each Saturday and two tall ones on each Sunday: for a stretch with one Saturday
/// 7 × 15 ml of juice are expected. Juice keeps two days, so what is left then is thrown away; running out costs margin.
#[test]
fn how_much_to_make_follows_from_what_is_asked() {
    let folder = tempfile::tempdir().unwrap();
    let sold_lines = sales(&[
        ("2026-10-25 22:00", "TALL", 2),
        ("2026-10-31 22:00", "SOUR", 7),
        ("2026-11-01 22:00", "TALL", 2),
        ("2026-11-07 22:00", "SOUR", 7),
        ("2026-11-08 22:00", "TALL", 2),
        ("2026-11-14 22:00", "SOUR", 7),
        ("2026-11-15 22:00", "TALL", 2),
        ("2026-11-21 22:00", "SOUR", 7),
        ("2026-11-22 22:00", "TALL", 2),
    ]);
    let facts = [("sales.csv", sold_lines.as_str())];
    let store = book(folder.path(), &facts);
    let view = house::view(&store, at("2026-11-27 12:00")).unwrap();
    assert_eq!(view.asked_over, Some(day("2026-10-25")..=day("2026-11-22")));
    let line = view.line(item(&store, "Lemon juice").id).unwrap();
    // The two of 20 ml of cordial, four tenths of it juice, are asked on Sundays.
    let of_day = |line: &HouseLine, text: &str| line.asked.daily[(day(text) - day("2026-10-25")).num_days() as usize];
    assert_eq!(of_day(line, "2026-11-14").round(), 7.0 * 15_000.0);
    assert_eq!(of_day(line, "2026-11-22").round(), 2.0 * 8_000.0);
    assert_eq!(of_day(line, "2026-11-18"), 0.0);
    // Friday and Saturday; on Fridays the bar is closed. The week of so little is drawn to that of the bar, which sells
    // seven on Saturdays and two on Sundays: some nine tenths of what the seven ask.
    let advice = view.advice(line, 2).unwrap();
    assert!(advice.weighed && advice.ratio > 0.9, "{advice:?}");
    assert!((80_000.0..105_000.0).contains(&advice.demand.mean), "{advice:?}");
    assert_eq!((advice.usable, advice.make), (None, advice.level));
    assert!(advice.level.as_f64() > advice.demand.mean, "{advice:?}");
    // Syrup keeps longer than that: its service level decides, and nothing counts as thrown away.
    let syrup = view.advice(view.line(item(&store, "Syrup").id).unwrap(), 2).unwrap();
    assert!(!syrup.weighed && (syrup.ratio - 0.95).abs() < 1e-12);
    assert!(syrup.level > Amount(7 * 30_000), "{syrup:?}");
}

/// What is kept of a drink is refused as a whole, by name and reason, and nothing of it is kept.
#[test]
fn a_draft_with_anything_wrong_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[]);
    let (rum, sugar) = (item(&store, "Rum").id, item(&store, "Sugar").id);
    let before = set_up(&store).drinks;
    let menu = Menu {
        price: Money(1_100),
        tax: Some(2_000),
        method: Some(DrinkMethod::Stir),
        glass: Some("nick".to_owned()),
        on: true,
        dilution: None,
    };
    let draft = DrinkDraft {
        drink: None,
        name: "New one".to_owned(),
        from: None,
        menu,
        spec: vec![Ingredient::new(rum, "60 ml", Amount::ZERO)],
        glass: Some(Glass { name: "nick".to_owned(), holds: Amount(140_000), ice: None }),
        seen: None,
    };
    let with = |spec: Vec<Ingredient>, name: &str| DrinkDraft { spec, name: name.to_owned(), ..draft.clone() };
    let line = |item, written: &str| Ingredient::new(item, written, Amount::ZERO);
    for (bad, said) in [
        (with(vec![line(rum, "60 g")], "SOUR"), "called Sour already"),
        (with(vec![line(rum, "60 ml")], " "), "give the drink a name"),
        (with(vec![line(rum, "sixty")], "New one"), "Rum: expected a number and a unit"),
        (with(vec![line(rum, "6 each")], "New one"), "Rum: “6 each” is a number, but a volume"),
        (with(vec![line(rum, "60 ml"), line(rum, "1 dash")], "New one"), "Rum is there twice"),
        (with(vec![line(sugar, "2 oz")], "New one"), "US fluid ounce"),
        (with(Vec::new(), "New one"), "takes something"),
        (with(vec![line(ItemId(99), "60 ml")], "New one"), "not in the book any more"),
        (with(vec![line(rum, "60 ml")], "=New"), "does not begin with ="),
        (with(vec![line(rum, "45 l")], "New one"), "Rum: 45 l in one serve?"),
        (with(vec![Ingredient { waste: 15_000, ..line(rum, "60 ml") }], "New one"), "waste from 0 to 100 percent"),
    ] {
        let refused = why(drinks::keep(&store, &bad, Moment(0)));
        assert!(refused.contains(said), "{refused}, not {said}");
    }
    assert_eq!(set_up(&store).drinks, before);
    assert!(set_up(&store).glass("nick").is_none());
    let id = drinks::keep(&store, &draft, Moment(0)).unwrap();
    let setup = set_up(&store);
    assert_eq!(setup.glass("Nick").unwrap().holds, Amount(140_000));
    assert_eq!(setup.drink(id).unwrap().specs.iter().next().unwrap().1[0].amount, Amount(60_000));
    // Renamed, it is the same drink.
    drinks::keep(&store, &DrinkDraft { drink: Some(id), name: "Newer".to_owned(), ..draft }, Moment(0)).unwrap();
    assert_eq!(set_up(&store).drink(id).unwrap().name, "Newer");
}

/// A version by which nothing was sold can be taken away, also one that was begun by mistake; one that sales are
/// reckoned by cannot. With its last version goes the drink, unless the till still means it.
#[test]
fn only_a_version_that_nothing_was_sold_by_can_be_taken_away() {
    let folder = tempfile::tempdir().unwrap();
    let sold_lines = sales(&[("2026-11-22 22:00", "SOUR", 1)]);
    let store = book(folder.path(), &[("sales.csv", sold_lines.as_str())]);
    let sour = drink(&store, "Sour");
    let today = day("2026-11-23");
    let from = |from| {
        let (_, menu) = sour.menu.at(today).unwrap();
        let (_, spec) = sour.specs.at(today).unwrap();
        let (menu, spec) = (Menu { price: Money(1_300), ..menu.clone() }, spec.clone());
        DrinkDraft {
            drink: Some(sour.id),
            name: "Sour".to_owned(),
            from: Some(from),
            menu,
            spec,
            glass: None,
            seen: None,
        }
    };
    let drop = |id, from: Option<&str>| drinks::drop_version(&store, id, from.map(day), Moment(0));
    drinks::keep(&store, &from(today), Moment(0)).unwrap();
    drinks::keep(&store, &from(day("2026-12-01")), Moment(0)).unwrap_or_else(|refused| panic!("{refused}"));
    // The same price from December on is no version at all, so one of another price.
    let dear = DrinkDraft { menu: Menu { price: Money(1_400), ..from(today).menu }, ..from(day("2026-12-01")) };
    drinks::keep(&store, &dear, Moment(0)).unwrap();
    assert_eq!(drink(&store, "Sour").menu.iter().count(), 3);
    drop(sour.id, Some("2026-12-01")).unwrap();
    drop(sour.id, Some("2026-11-23")).unwrap();
    assert_eq!(drink(&store, "Sour"), sour);
    assert!(why(drop(sour.id, None)).contains("begin a new one instead"));
    // Never sold, but the till means it.
    assert!(why(drop(drink(&store, "Tall").id, None)).contains("“TALL” on the till means Tall"));
    let new = DrinkDraft { drink: None, name: "Slip".to_owned(), ..from(today) };
    let id = drinks::keep(&store, &new, Moment(0)).unwrap();
    assert!(drop(id, Some("2026-11-23")).unwrap());
    assert!(set_up(&store).drink(id).is_none());
    assert_eq!(drink(&store, "Sour"), sour);
}

/// A version is sold by from its day until the next of the same half begins; the first one also before its day.
#[test]
fn what_was_sold_by_a_version_is_sold_in_its_days() {
    let folder = tempfile::tempdir().unwrap();
    let drinks_csv = "drink,from,price,method\nSour,,12.00,shake\nTall,2026-11-01,10.00,build\nTall,2026-11-10,11.00,build\n\
                      Tall,2026-11-15,12.00,build\nBare,,5.00,\nBare,2026-12-15,6.00,\n";
    let specs =
        "drink,from,ingredient,quantity\nSour,2026-11-25,Rum,60 ml\nSour,2026-12-15,Rum,40 ml\nTall,,Rum,50 ml\n";
    let sold_lines = sales(&[("2026-11-20 22:00", "SOUR", 1), ("2026-11-20 22:30", "TALL", 1)]);
    let files = [("drinks.csv", drinks_csv), ("specs.csv", specs), ("sales.csv", sold_lines.as_str())];
    let store = book(folder.path(), &files);
    let drop =
        |name: &str, from: &str| drinks::drop_version(&store, drink(&store, name).id, Some(day(from)), Moment(0));
    // What was sold before the first spec was sold by it.
    assert!(why(drop("Sour", "2026-11-25")).contains("begin a new one instead"));
    drop("Sour", "2026-12-15").unwrap();
    drop("Tall", "2026-11-10").unwrap();
    drop("Tall", "2026-11-01").unwrap();
    assert!(why(drop("Tall", "2026-11-15")).contains("begin a new one instead"));
    // What never had a spec is not left without one.
    drop("Bare", "2026-12-15").unwrap();
}

/// Off the menu is off also after a version that was to begin later, and an earlier version keeps what it was.
#[test]
fn off_the_menu_is_off_in_what_begins_later_as_well() {
    let folder = tempfile::tempdir().unwrap();
    let drinks_csv = "drink,from,price,tax,method,glass\nSour,,12.00,20,shake,coupe\nSour,2026-11-30,13.00,20,shake,coupe\n\
                      Tall,2026-11-30,10.00,20,build,highball\n";
    let sold_lines = sales(&[("2026-11-20 22:00", "SOUR", 1)]);
    let store = book(folder.path(), &[("drinks.csv", drinks_csv), ("sales.csv", sold_lines.as_str())]);
    // What begins later is not on the menu yet, and was not there to be sold, so it is compared with nothing.
    let view = drinks::view(&store, at(NOW)).unwrap();
    assert_eq!(view.when_on(&drink(&store, "Tall")), " (from 30 Nov)");
    assert!(!view.is_on(&drink(&store, "Tall")) && view.is_on(&drink(&store, "Sour")));
    let compared = view.matrix(&view.lines(Selection::All)).rows;
    assert_eq!(compared.iter().map(|row| row.sold.drink).collect::<Vec<_>>(), [drink(&store, "Sour").id]);
    let on = |name: &str| drink(&store, name).menu.iter().map(|(from, menu)| (*from, menu.on)).collect::<Vec<_>>();
    let (today, later) = (Some(day("2026-11-23")), Some(day("2026-11-30")));
    drinks::set_on(&store, drink(&store, "Sour").id, false, at(NOW)).unwrap();
    assert_eq!(on("Sour"), [(None, true), (today, false), (later, false)]);
    assert_eq!(drink(&store, "Sour").menu.at(day("2026-12-01")).unwrap().1.price, Money(1_300));
    // One that has not begun has nothing that could be taken off today.
    drinks::set_on(&store, drink(&store, "Tall").id, false, at(NOW)).unwrap();
    assert_eq!(on("Tall"), [(later, false)]);
    assert_eq!(drinks::view(&store, at(NOW)).unwrap().when_on(&drink(&store, "Tall")), " (off)");
}

/// A half of a draft that is as it was begins no version, but where nothing had begun yet it does.
#[test]
fn a_first_version_moved_forward_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let drinks_csv =
        "drink,from,price,tax,method,glass\nSour,2026-12-01,12.00,20,shake,coupe\nTall,,10.00,20,build,highball\n";
    let store = book(folder.path(), &[("drinks.csv", drinks_csv)]);
    let sour = drink(&store, "Sour");
    let today = day("2026-11-23");
    let (_, menu) = sour.menu.at(today).unwrap();
    let (_, spec) = sour.specs.at(today).unwrap();
    let draft = DrinkDraft {
        drink: Some(sour.id),
        name: "Sour".to_owned(),
        from: Some(today),
        menu: menu.clone(),
        spec: spec.clone(),
        glass: None,
        seen: Some(sour.clone()),
    };
    drinks::keep(&store, &draft, Moment(0)).unwrap();
    let now = drink(&store, "Sour");
    assert!(now.menu.has_begun(today) && now.specs.iter().count() == 1, "{now:?}");
    // What somebody else changed since is not written over.
    assert!(why(drinks::keep(&store, &draft, Moment(0))).contains("changed elsewhere meanwhile"));
}

/// What was kept on the screens is dumped and loads again to the same.
#[test]
fn what_was_written_is_dumped_and_loads_again() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[]);
    let sugar = item(&store, "Sugar").id;
    let recipe = RecipeDraft {
        made: Made::New("Heavy syrup".to_owned(), "1 l".to_owned()),
        from: Some(day("2026-11-23")),
        yields: None,
        water: Some("500 g".to_owned()),
        keeps_days: None,
        takes: vec![Ingredient { note: Some("stir cold".to_owned()), ..Ingredient::new(sugar, "1 kg", Amount::ZERO) }],
        seen: None,
    };
    house::keep_recipe(&store, &recipe, at(NOW)).unwrap();
    let (first, second) = (folder.path().join("first"), folder.path().join("second"));
    dump::dump(&store, &first).unwrap();
    let (other, _) = init::init_from(&folder.path().join("other.tantalus"), &first, at(NOW), &mut unwatched).unwrap();
    dump::dump(&other, &second).unwrap();
    for name in ["house.csv", "stock.csv", "glasses.csv", "specs.csv", "drinks.csv"] {
        let read = |folder: &Path| std::fs::read_to_string(folder.join(name)).unwrap();
        assert_eq!(read(&first), read(&second), "{name}");
    }
    // Loading what is there already changes nothing.
    let report = load::load(&store, &first, at(NOW), &mut unwatched).unwrap();
    assert!(report.files.iter().all(|file| file.added + file.changed == 0), "{report:?}");
}

/// Drinks of several ingredients are compared with each other, a straight pour with its like.
#[test]
fn like_is_compared_with_like() {
    let folder = tempfile::tempdir().unwrap();
    let drinks_csv = format!("{}Neat,6.00,20,pour,\nOld one,6.00,20,stir,\n", BASE[8].1);
    let specs = format!("{}Neat,Rum,40 ml\nOld one,Rum,40 ml\nOld one,Syrup,5 ml\n", BASE[9].1);
    let store = book(folder.path(), &[("drinks.csv", &drinks_csv), ("specs.csv", &specs)]);
    let view = drinks::view(&store, at(NOW)).unwrap();
    let names = |selection| {
        let lines = view.lines(selection);
        lines.iter().map(|line| view.setup.drink(line.drink).unwrap().name.clone()).collect::<Vec<_>>()
    };
    assert_eq!(names(Selection::Straight), ["Neat"]);
    assert_eq!(names(Selection::Mixed), ["Old one", "Sour", "Tall"]);
    assert_eq!(names(Selection::Menu).len(), 4);
    let larder: &Larder = &view.larder;
    assert_eq!(larder.day, day("2026-11-23"));
}

/// A recipe whose keeping days would change at once though it begins later is refused, and so is one that others can no
/// longer be worked out with, or that is made too deep to follow.
#[test]
fn a_recipe_that_would_harm_the_book_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[]);
    let syrup = item(&store, "Syrup");
    let before = set_up(&store);
    let draft = RecipeDraft {
        made: Made::Known(syrup.id),
        from: Some(day("2026-12-01")),
        yields: Some("1 l".to_owned()),
        water: None,
        keeps_days: Some(5),
        takes: vec![Ingredient::new(item(&store, "Sugar").id, "1 kg", Amount::ZERO)],
        seen: Some(before.recipes[&syrup.id].clone()),
    };
    assert!(why(house::keep_recipe(&store, &draft, at(NOW))).contains("would change at once, not on 2026-12-01"));
    let tea = vec![Ingredient::new(item(&store, "Tea").id, "1 kg", Amount::ZERO)];
    let nothing = RecipeDraft { keeps_days: Some(21), yields: None, takes: tea, ..draft.clone() };
    let refused = why(house::keep_recipe(&store, &nothing, at(NOW)));
    assert!(refused.contains("the yield of Syrup, computed, could not be worked out"), "{refused}");
    assert_eq!(set_up(&store).recipes, before.recipes);
    let later = RecipeDraft { keeps_days: Some(21), ..draft };
    house::keep_recipe(&store, &later, at(NOW)).unwrap();
    assert!(why(house::keep_recipe(&store, &later, at(NOW))).contains("changed elsewhere meanwhile"));

    // Sixteen deep is followed, and no more.
    let mut part = syrup.id;
    let deeper = |n: usize, part| RecipeDraft {
        made: Made::New(format!("Deep {n}"), "1 l".to_owned()),
        from: None,
        takes: vec![Ingredient::new(part, "1 l", Amount::ZERO)],
        seen: None,
        ..later.clone()
    };
    for n in 2..=Recipe::DEEPEST {
        part = house::keep_recipe(&store, &deeper(n, part), at(NOW)).unwrap();
    }
    let cost = drinks::view(&store, at(NOW)).unwrap().larder.costs.of(part);
    assert!(cost.is_some(), "as deep as that all of it is reckoned");
    let refused = why(house::keep_recipe(&store, &deeper(17, part), at(NOW)));
    assert!(refused.contains("Deep 17 is made of things made here, more than 16 deep"), "{refused}");
    // A folder with it is refused as well, at its line.
    let plain = folder.path().join("deep");
    std::fs::create_dir_all(&plain).unwrap();
    std::fs::write(plain.join("stock.csv"), "item,kind,size,count_by\nDeeper,house-made,1 l,tenths\n").unwrap();
    std::fs::write(plain.join("house.csv"), "item,yields,ingredient,quantity\nDeeper,1 l,Deep 16,1 l\n").unwrap();
    let refused = load::load(&store, &plain, at(NOW), &mut unwatched).unwrap_err().to_string();
    assert!(refused.contains("house.csv") && refused.contains("more than 16 deep"), "{refused}");
}

/// Of something that was never counted nobody knows what is left of a batch: those that still keep and the newest are
/// named until they are written off, and booking one takes nothing from stock.
#[test]
fn batches_of_what_was_never_counted() {
    let folder = tempfile::tempdir().unwrap();
    let counts = "count,at,place,item,full\nnew,2026-11-20 20:00,Rail,Sugar,5\n";
    let store = book(folder.path(), &[("counts.csv", counts)]);
    let (juice, syrup) = (item(&store, "Lemon juice").id, item(&store, "Syrup").id);
    let booked = house::make(&store, &batch(syrup, "2026-11-20 21:00", 1_600), at(NOW)).unwrap();
    assert!(!booked.takes && booked.words().contains("leaves the stock as drinks are sold"));
    let (_, rows) = looking::stock(&store, at(NOW)).unwrap();
    let sugar = rows.iter().find(|row| row.item == item(&store, "Sugar").id).unwrap();
    assert_eq!(sugar.on_hand.unwrap().amount, Amount(5_000_000));
    for when in ["2026-11-18 21:00", "2026-11-20 21:00", "2026-11-20 21:00"] {
        house::make(&store, &batch(juice, when, 500), at(NOW)).unwrap();
    }
    let named = |when: &str| {
        let view = house::view(&store, at(when)).unwrap();
        view.line(juice).unwrap().left.iter().map(|left| left.made.to_string()).collect::<Vec<_>>()
    };
    // Both of the 20th keep until the 21st; later the older of them is taken to be gone, and the newest is named.
    assert_eq!(named("2026-11-21 12:00"), ["2026-11-20", "2026-11-20"]);
    assert_eq!(named(NOW), ["2026-11-20"]);
    let past = || looking::tonight(&store, at(NOW)).unwrap().1.past_date;
    assert_eq!(past().iter().map(|row| row.item).collect::<Vec<_>>(), [juice]);
    let (seq, place, by, note) = (Seq(0), None, None, None);
    let loss =
        Loss { seq, at: at(NOW), item: juice, amount: Amount(500_000), reason: Reason::Spoiled, place, by, note };
    losing::record(&store, &loss, at(NOW)).unwrap();
    assert!(past().is_empty());
    // One written off on the evening of the 26th, while another of the same day's making and the next day's is good: on
    // the days after, it is still the older one that is gone.
    for when in ["2026-11-25 21:00", "2026-11-26 21:00"] {
        house::make(&store, &batch(juice, when, 400), at(when)).unwrap();
    }
    let when = at("2026-11-26 23:00");
    losing::record(&store, &Loss { at: when, amount: Amount(400_000), ..loss }, when).unwrap();
    for when in ["2026-11-26 23:30", "2026-11-27 12:00", "2026-11-28 12:00"] {
        assert_eq!(named(when), ["2026-11-26"], "{when}");
    }
}

/// A drink that takes something in two ways is asked once for each one rung, a double as two.
#[test]
fn what_was_asked_counts_each_drink_once() {
    let folder = tempfile::tempdir().unwrap();
    let specs = "drink,ingredient,quantity\nSour,Rum,60 ml\nSour,Syrup,30 ml\nSour,Cordial,10 ml\nTall,Rum,50 ml\n";
    let pos = "sold_as,drink,portion\nSOUR,Sour,1\nBIG SOUR,Sour,2\nTALL,Tall,1\n";
    let lines = [("2026-11-10 22:00", "TALL", 5), ("2026-11-20 22:00", "BIG SOUR", 3), ("2026-11-22 22:00", "TALL", 1)];
    let sold_lines = sales(&lines);
    let store = book(folder.path(), &[("specs.csv", specs), ("pos.csv", pos), ("sales.csv", sold_lines.as_str())]);
    let view = house::view(&store, at("2026-11-27 12:00")).unwrap();
    let asked = &view.line(item(&store, "Syrup").id).unwrap().asked;
    // 30 ml straight and six tenths of 10 ml through the cordial, in six serves.
    assert_eq!(asked.by_drink[&drink(&store, "Sour").id], (6_000, Amount(6 * 36_000)));
    // From the tenth to the 22nd, on one of which it was asked for.
    assert_eq!(asked.daily.len(), 13);
    assert_eq!(asked.daily.iter().position(|amount| *amount > 0.0), Some(10));
    assert!((asked.sum() - 216_000.0).abs() < 1e-6);
    // One asking is a big sour, a double.
    assert!((asked.piece - 72_000.0).abs() < 1e-6, "{}", asked.piece);
}

/// A folder whose house.csv has no columns for yield and water adds an ingredient to a recipe and leaves both as they are.
#[test]
fn columns_that_a_folder_lacks_stay_as_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[]);
    let plain = folder.path().join("more");
    std::fs::create_dir_all(&plain).unwrap();
    std::fs::write(plain.join("house.csv"), "item,ingredient,quantity\nSyrup,Sugar,1 kg\nSyrup,Tea,10 g\n").unwrap();
    load::load(&store, &plain, at(NOW), &mut unwatched).unwrap_or_else(|refused| panic!("{refused}"));
    let setup = set_up(&store);
    let recipe = setup.recipe(item(&store, "Syrup").id, day("2026-11-23")).unwrap();
    assert_eq!(recipe.water.as_ref().map(|water| water.written.as_str()), Some("1 kg"));
    assert_eq!((recipe.written.as_deref(), recipe.takes.len()), (None, 2));
}

/// The average of what was there four weeks ago takes the price last paid before that look at its shelf, and what came
/// after the look counts as bought since: a case that came the morning after a count in the night is not in it.
#[test]
fn an_average_begins_with_what_was_on_the_shelf() {
    let folder = tempfile::tempdir().unwrap();
    let deliveries = "document,line,at,supplier,item,containers,unit_price,place\n\
                      A,1,2026-09-10 12:00,Van,Rum,6,12.00,Rail\n\
                      B,1,2026-10-12 12:00,Van,Rum,6,13.00,Rail\n\
                      F,1,2026-10-17 12:00,Van,Rum,1,0.00,Rail\n\
                      C,1,2026-10-20 12:00,Van,Rum,6,15.00,Rail\n";
    let counts = "count,at,place,item,full\nolder,2026-10-16 02:00,Rail,Sugar,1\nold,2026-10-18 02:00,Rail,Rum,4\nnew,2026-11-23 02:00,Rail,Rum,5\n";
    let venue = format!("{}cost_rule,average\n", BASE[0].1);
    let facts = [("venue.csv", venue.as_str()), ("deliveries.csv", deliveries), ("counts.csv", counts)];
    let store = book(folder.path(), &facts);
    let view = drinks::view(&store, at(NOW)).unwrap();
    let rum = item(&store, "Rum");
    // 4 at 13.00 and 6 at 15.00; the free one of the 17th says nothing of what one costs.
    let one = view.larder.costs.of(rum.id).unwrap().of(rum.size, view.setup.venue.currency);
    assert_eq!(one, Money(1_420));
}
