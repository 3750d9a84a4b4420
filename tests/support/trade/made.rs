//! The making of a bar: its items, drinks, till names, and what will go wrong for long.

use super::chance::Chance;
use super::{BAR, Lasting, Misread, Plan, Rung, Stock, Trade, Trouble, VAN, ml};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use std::collections::{BTreeMap, HashMap};
use tantalus::domain::measure::{Basis, Strength};
use tantalus::domain::venue::*;

/// Makes a bar from a seed.
pub(crate) fn trade(seed: u64, plan: Plan) -> Trade {
    let mut chance = Chance(ChaCha8Rng::seed_from_u64(seed));
    let many = plan.poured + plan.whole;
    let mut stock: Vec<Stock> = (0..many)
        .map(|n| {
            let whole = n >= plan.poured;
            let size =
                if whole { 200.0 } else { chance.of(&[700.0, 700.0, 700.0, 700.0, 1_000.0, 1_000.0, 500.0, 750.0]) };
            Stock {
                size,
                whole,
                empty: chance.between(380.0, 650.0).round(),
                sealed: 0,
                open: Vec::new(),
                opened_at_once: if chance.share() < 0.12 { 2 } else { 1 },
                demand: 0.0,
            }
        })
        .collect();
    let setup = |drinks: Vec<Drink>, till: Vec<TillName>, stock: &[Stock]| {
        let days = DayRule { zone: chrono_tz::Tz::UTC, starts: chrono::NaiveTime::MIN };
        let items = stock.iter().enumerate().map(|(n, s)| {
            let by = match (s.whole, plan.scale) {
                (true, _) => CountBy::Whole,
                (_, true) => CountBy::Weight,
                _ => CountBy::Tenths,
            };
            let (kind, id) = (if s.whole { Kind::Mixer } else { Kind::Spirit }, ItemId(n as i64 + 1));
            let plain = Item::new(id, &format!("Item {n:03}"), kind, Basis::Volume, ml(s.size), by);
            Item {
                abv: (!s.whole).then_some(Strength(4_000)),
                empty_weight: (!s.whole).then_some(ml(s.empty)),
                ..plain
            }
        });
        let shelf = |n: usize| Shelf { place: BAR, item: ItemId(n as i64 + 1), position: n as i64, par: None };
        let van = Supplier {
            id: VAN,
            name: "Van".to_owned(),
            email: None,
            customer_no: None,
            calendar: OrderCalendar::default(),
            minimum: None,
            fee: None,
            free_from: None,
            party: Party::default(),
        };
        Setup::new(Parts {
            places: vec![Place { id: BAR, name: "Bar".to_owned(), walk: 1 }],
            suppliers: vec![van],
            shelves: (0..stock.len()).map(shelf).collect(),
            items: items.collect(),
            drinks,
            till,
            ..Parts::new(Venue::new("Simulated", "EUR".parse().expect("a coin"), days))
        })
    };

    // Drinks: a neat measure of each poured item, mixed ones of several, and a few that take whole bottles.
    let mut recipes: Vec<(Vec<(usize, f64)>, f64)> = Vec::new();
    for n in 0..plan.poured {
        let rate = (2.6 + chance.normal(0.9)).exp();
        recipes.push((vec![(n, chance.of(&[20.0, 30.0, 40.0, 40.0, 50.0, 60.0]))], rate));
    }
    for n in 0..plan.poured / 2 {
        let parts = 2 + chance.below(3);
        let mut takes: Vec<(usize, f64)> = Vec::new();
        for part in 0..parts {
            let item = chance.below(plan.poured);
            if takes.iter().all(|(other, _)| *other != item) {
                takes.push((
                    item,
                    if part == 0 { chance.of(&[40.0, 50.0, 60.0]) } else { chance.of(&[10.0, 15.0, 20.0, 30.0]) },
                ));
            }
        }
        if plan.whole > 0 && n % 4 == 0 {
            takes.push((plan.poured + chance.below(plan.whole), 200.0));
        }
        recipes.push((takes, (2.0 + chance.normal(0.8)).exp()));
    }
    let mut lasting: Vec<Lasting> = Vec::new();
    let last_start = plan.weeks.saturating_sub(8).max(3);
    let mut taken: Vec<usize> = Vec::new();
    let mut quiet_item = |chance: &mut Chance| loop {
        let item = chance.below(plan.poured);
        if !taken.contains(&item) {
            taken.push(item);
            return item;
        }
    };
    let mut rung: Vec<Rung> = Vec::new();
    let mut till: Vec<TillName> = Vec::new();
    let mut sell = |till: &mut Vec<TillName>, name: String, means, rate, from, takes| {
        let id = TillId(till.len() as i64 + 1);
        till.push(TillName { id, name, code: None, means });
        rung.push(Rung { till: id, rate, from, takes });
    };
    let means = |n: usize| TillMeaning::Drink { drink: DrinkId(n as i64 + 1), portion: 1_000 };
    for (n, (takes, rate)) in recipes.iter().enumerate() {
        sell(&mut till, format!("NAME {n:03}"), means(n), *rate, 0, takes.clone());
    }
    // What a till name does wrong, as a share of what it is said to take: by item, in millilitres a rung.
    let mut misread: Vec<Misread> = Vec::new();
    if plan.lasting {
        let every = [Trouble::Steady; 4].into_iter().chain([Trouble::Heavy; 3]).chain([Trouble::Twin; 2]);
        for what in every.chain([Trouble::RanDry; 3]) {
            let item = quiet_item(&mut chance);
            // What is mistaken for another stands beside it.
            let beside = if item + 1 < plan.poured { item + 1 } else { item - 1 };
            let other = if what == Trouble::Twin { beside } else { quiet_item(&mut chance) };
            let from = 3 + chance.below(last_start - 2);
            let size = match what {
                Trouble::Steady => 60.0,
                Trouble::Heavy => chance.between(0.08, 0.16),
                _ => chance.between(0.3, 0.5),
            };
            if matches!(what, Trouble::Twin | Trouble::RanDry) {
                stock[other].size = stock[item].size;
            }
            lasting.push(Lasting { what, from, item, other, size });
        }
        for what in [Trouble::Portion, Trouble::WrongDrink, Trouble::Unmapped, Trouble::Portion, Trouble::Unmapped] {
            let (from, rate) = (3 + chance.below(last_start - 2), chance.between(8.0, 25.0));
            let said = plan.poured + chance.below(plan.poured / 2);
            let really = loop {
                let other = plan.poured + chance.below(plan.poured / 2);
                if other != said {
                    break other;
                }
            };
            let (means, takes) = match what {
                Trouble::Portion => {
                    (means(said), recipes[said].0.iter().map(|(i, a)| (*i, 2.0 * a)).collect::<Vec<_>>())
                }
                Trouble::WrongDrink => (means(said), recipes[really].0.clone()),
                _ => (TillMeaning::Unknown, recipes[really].0.clone()),
            };
            let mut wrong: BTreeMap<usize, f64> = takes.iter().copied().collect();
            if what != Trouble::Unmapped {
                for (item, amount) in &recipes[said].0 {
                    *wrong.entry(*item).or_default() -= amount;
                }
            }
            let id = TillId(till.len() as i64 + 1);
            sell(&mut till, format!("SPECIAL {}", id.0), means, rate, from, takes);
            misread.push(Misread {
                till: id,
                what,
                wrong: wrong.into_iter().filter(|(_, a)| a.abs() > 1e-9).collect(),
            });
        }
    }
    for sold in &rung {
        for (item, amount) in &sold.takes {
            stock[*item].demand += sold.rate * amount;
        }
    }
    for item in &mut stock {
        if !item.whole {
            for _ in 0..item.opened_at_once {
                item.open.push((item.size * chance.between(0.1, 0.95), item.empty + chance.normal(0.01 * item.empty)));
            }
        }
        item.sealed = (item.demand * 2.0 / item.size).ceil() as i64 + 1;
    }
    let drinks = recipes.iter().enumerate().map(|(n, (takes, _))| {
        let spec = takes.iter().map(|(item, amount)| Ingredient::new(ItemId(*item as i64 + 1), "", ml(*amount)));
        Drink {
            id: DrinkId(n as i64 + 1),
            name: format!("Drink {n:03}"),
            menu: Versions::default(),
            specs: Versions::new(vec![(None, spec.collect())]),
        }
    });
    let setup = setup(drinks.collect(), till, &stock);

    let counters: Vec<(String, f64)> =
        ["AB", "CD", "EF"].iter().map(|who| ((*who).to_owned(), chance.normal(plan.eye.1))).collect();
    let mut trade = Trade {
        setup,
        orders: Vec::new(),
        plan,
        chance,
        stock,
        counters,
        recipes: recipes.into_iter().map(|(takes, _)| takes).collect(),
        rung,
        misread,
        lasting,
        after: BTreeMap::new(),
        opening: Vec::new(),
        week: 0,
    };
    trade.opening = trade.count(0, &BTreeMap::new(), &HashMap::new());
    trade
}
