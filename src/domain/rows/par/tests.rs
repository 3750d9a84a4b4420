use super::*;
use crate::domain::gauge::Level;
use crate::domain::measure::Basis;
use crate::domain::par::{Ahead, Cover, CoverDay, Demand, Par, Stretch};
use crate::domain::venue::{Containers, CountBy, DayRule, Item, Kind, Parts, Supplier, SupplierId, Venue, parse_day};
use std::collections::HashMap;

const GIN: ItemId = ItemId(1);
const TONIC: ItemId = ItemId(2);
const SYRUP: ItemId = ItemId(3);
const VAN: SupplierId = SupplierId(1);

fn day(text: &str) -> NaiveDate {
    parse_day(text).unwrap()
}

fn par(item: ItemId, hand: Option<i64>, demand: Option<i64>, from: ParFrom) -> ItemPar {
    let today = day("2026-11-16");
    let stretch = Stretch { by: None, comes: day("2026-11-18"), until: day("2026-11-25") };
    let (demand_mean, service) = (Demand { mean: 1.0, variance: 1.0, piece: 0.0 }, 0.95);
    let computed = demand.map(|level| Par {
        level: Amount(level),
        stretch,
        demand: demand_mean,
        spread: demand_mean,
        service,
        held: None,
    });
    ItemPar {
        least: Amount::ZERO,
        item,
        on_hand: Some(Level { amount: Amount(700_000), u: 0.0 }),
        on_order: Amount::ZERO,
        coming: Vec::new(),
        hand: hand.map(Amount),
        from,
        made_here: false,
        usual: Some(VAN),
        computed: computed.map(|par| (Some(VAN), par)).into_iter().collect(),
        outlook: None,
        ahead: Ahead { today, days: Vec::new() },
        cover: Cover::default(),
        stakes: None,
    }
}

fn view(pars: Vec<ItemPar>) -> ParView {
    let rule = DayRule { zone: chrono_tz::UTC, starts: chrono::NaiveTime::MIN };
    let venue = Venue::new("The Test Bar", "EUR".parse().unwrap(), rule);
    let item = |id, name: &str| Item::new(id, name, Kind::Spirit, Basis::Volume, Amount(700_000), CountBy::Tenths);
    let supplier = Supplier {
        id: VAN,
        name: "The van".to_owned(),
        email: None,
        customer_no: None,
        calendar: Default::default(),
        minimum: None,
        fee: None,
        free_from: None,
        party: Default::default(),
    };
    let items = vec![item(GIN, "Gin"), item(TONIC, "Tonic"), item(SYRUP, "Syrup")];
    let setup = Setup::new(Parts { items, suppliers: vec![supplier], ..Parts::new(venue) });
    // 20.00 a bottle of gin, 1.00 a bottle of tonic; nobody knows what the syrup costs.
    let unit = HashMap::from([(GIN, 2_000.0 / 700_000.0), (TONIC, 100.0 / 700_000.0)]);
    let now = Moment(1_795_600_000_000);
    ParView { setup: Arc::new(setup), now, pars, unit, known: None, last_sale: None, lately: Lately::default() }
}

const ML: i64 = 1_000;

#[test]
fn a_par_as_typed() {
    for (typed, want) in [
        ("", Ok(None)),
        (" 4 ", Ok(Some(4_000))),
        (".5", Ok(Some(500))),
        ("2,5", Ok(Some(2_500))),
        ("0", Ok(Some(0))),
        ("10000", Ok(Some(10_000_000))),
        ("10000.5", Err("“10000.5”: expected a par from 0 to 10000 containers")),
        ("-1", Err("“-1”: expected a number of containers such as 6 or 2.5, with at most 3 decimals")),
        ("a few", Err("“a few”: expected a number of containers such as 6 or 2.5, with at most 3 decimals")),
        ("1.2345", Err("“1.2345”: expected a number of containers such as 6 or 2.5, with at most 3 decimals")),
    ] {
        let got = typed_par(typed);
        assert_eq!(got, want.map(|par| par.map(Containers)).map_err(str::to_owned), "{typed}");
    }
    assert!(check_par(Containers(-1)).is_err());
}

#[test]
fn what_letting_the_other_par_rule_comes_to() {
    let view = view(vec![
        par(GIN, Some(4_200 * ML), Some(1_400 * ML), ParFrom::Hand),
        par(TONIC, None, Some(7_000 * ML), ParFrom::Demand),
        par(SYRUP, Some(700 * ML), Some(1_400 * ML), ParFrom::Hand),
    ]);
    let demand = view.ruling(ParFrom::Demand, |_| true);
    assert_eq!((demand.items.as_slice(), demand.already, demand.without), (&[GIN, SYRUP][..], 1, 0));
    assert_eq!((demand.tied_up, demand.no_cost), ([Money(12_000), Money(4_000)], 1));
    assert_eq!(
        demand.words(&view),
        "2 items change to demand; the pars that rule tie up 120.00 EUR before and 40.00 EUR after; 1 item of no known cost \
         not in it; 1 item is so already"
    );
    let hand = view.ruling(ParFrom::Hand, |item| item == TONIC);
    assert_eq!((hand.items.len(), hand.without), (0, 1));
    assert_eq!(hand.words(&view), "nothing changes; 1 item has no such par");
    assert_eq!(
        view.tied_up_words().as_deref(),
        Some("Tied up by hand 120.00 EUR, by demand 40.00 EUR, of 2 items with both")
    );
    assert_eq!(super::tests::view(Vec::new()).tied_up_words(), None);
}

#[test]
fn pars_that_are_far_apart() {
    for (hand, demand, far) in [
        // In containers: a bottle more than one is no matter, two more than one are, two more than ten are not.
        (2.0, 1.0, false),
        (3.0, 1.0, true),
        (12.0, 10.0, false),
        (15.0, 10.0, true),
        (0.5, 3.0, true),
    ] {
        let of = |containers: f64| Some((containers * 700_000.0) as i64);
        let view = view(vec![par(GIN, of(hand), of(demand), ParFrom::Hand)]);
        assert_eq!(far_apart(&view, &view.pars[0]), far, "{hand} {demand}");
        let words = change::comparing_words(&view, &view.pars[0]).unwrap();
        assert_eq!(words.contains("far apart"), far, "{words}");
    }
    let alone = view(vec![par(GIN, None, Some(7_000 * ML), ParFrom::Demand)]);
    assert!(!far_apart(&alone, &alone.pars[0]) && change::comparing_words(&alone, &alone.pars[0]).is_none());
    let both = view(vec![par(GIN, Some(2_100 * ML), Some(700 * ML), ParFrom::Hand)]);
    assert_eq!(
        change::comparing_words(&both, &both.pars[0]).as_deref(),
        Some("By hand is 2.0 more than by demand, 40.00 EUR, far apart; it would be enough 100 times of 100")
    );
}

#[test]
fn changes_in_words() {
    let view = view(Vec::new());
    let set = |hand: Option<i64>, from| ParSet { hand: hand.map(Containers), from };
    let change = |was, now| ParChange { item: GIN, was, now };
    for (was, now, words, back) in [
        (
            set(None, None),
            set(Some(4_500), None),
            "The par of Gin is 4.5 by hand, and rules",
            "taken away: demand rules",
        ),
        (
            set(Some(2_000), None),
            set(Some(2_000), Some(ParFrom::Demand)),
            "Demand rules the par of Gin; the one by hand, 2, stays beside it",
            "Put back. The par of Gin is 2 by hand, and rules",
        ),
        (
            set(Some(2_000), None),
            set(None, None),
            "The par of Gin by hand is taken away: demand rules",
            "Put back. The par of Gin is 2 by hand, and rules",
        ),
    ] {
        let change = change(was, now);
        assert_eq!(change.words(&view.setup), words);
        let said = ParChange::put_back_words(&[change], &view.setup);
        assert!(said.contains(back), "{said}");
    }
    let two = [change(set(None, None), set(Some(1), None)); 2];
    assert_eq!(ParChange::put_back_words(&two, &view.setup), "Put back. The pars of 2 items are as they were");
}

#[test]
fn how_long_it_lasts() {
    let today = day("2026-11-16");
    let lasting = |chances: &[f64]| {
        let days = today.iter_days().zip(chances).map(|(day, lasts)| CoverDay { day, lasts: *lasts }).collect();
        ItemPar { cover: Cover { days }, ..par(GIN, None, Some(700 * ML), ParFrom::Demand) }
    };
    for (chances, words, into) in [
        (&[1.0, 0.97][..], Some("Lasts surely to Tue 17 Nov, and longer"), "2 days"),
        (
            &[1.0, 0.8, 0.4],
            Some("Lasts surely to Mon 16 Nov; more likely dry than not in the course of Wed 18 Nov"),
            "Wed 18 Nov",
        ),
        (&[0.9, 0.8], Some("May run dry today; more likely than not to Tue 17 Nov, and longer"), "2 days"),
        (&[], None, ""),
    ] {
        let par = lasting(chances);
        assert_eq!(cover_words(&par).as_deref(), words);
        assert_eq!(lasts_into(&par), into);
    }
    // A van with something ordered counts before one that could come on the same day; without anybody who offers it, none
    // could.
    let mut par = lasting(&[1.0; 10]);
    par.coming = vec![(day("2026-11-18"), Amount(700_000)), (day("2026-11-20"), Amount(700_000))];
    let vans = |par: &ItemPar| strip(par).iter().map(|day| day.van).collect::<Vec<_>>();
    let seen = vans(&par);
    assert_eq!((seen[1], seen[2], seen[4]), (None, Some(Van::Ordered), Some(Van::Ordered)));
    assert_eq!(seen[9], Some(Van::Possible), "the order after it");
    par.usual = None;
    assert!(vans(&par)[5..].iter().all(Option::is_none));
}

#[test]
fn the_days_of_an_item_that_is_asked_lately() {
    use crate::domain::par::{Hours, Prospects};
    use crate::domain::usage::{Asked, AskedDays, DayTold, LATELY};
    let mut view = view(Vec::new());
    let first = day("2026-08-01");
    let known = LATELY + 10;
    let daily: Vec<f64> = (0..known).map(|n| n as f64).collect();
    let items = HashMap::from([(GIN, Asked { daily, piece: 1.0, ..Asked::default() })]);
    let rung = (0..known).map(|n| i64::from(n != known - 1)).collect();
    let mut told = vec![DayTold::Whole; known];
    told[10] = DayTold::Nothing;
    let asked = AskedDays { first, rung, items };
    let told = HashMap::from([(GIN, told)]);
    view.lately = Lately::of(&Prospects::new(&view.setup, asked, told, Hours::default(), None));
    let days = view.asked_lately(GIN);
    assert_eq!(days.len(), LATELY);
    assert_eq!((days[0].day, days[0].asked, days[0].told), (day("2026-08-11"), 10.0, DayTold::Nothing));
    assert_eq!((days[1].told, days[1].open, days[LATELY - 1].open), (DayTold::Whole, true, false));
    assert!(view.asked_lately(TONIC).is_empty());
}
