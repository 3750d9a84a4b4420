//! Gauging through the whole program, on a small book: what is weighed, measured and counted stays readable, and what is
//! shared by readings is shared in the sums.
//!
//! The figures are worked by hand beside each.

#![allow(clippy::unwrap_used)]

use std::path::Path;
use tantalus::desk::comparing::Choice;
use tantalus::desk::reviewing::review;
use tantalus::desk::{DeskError, dump, gauging, init, load, unwatched};
use tantalus::domain::gauge::{Mass, Outline, WeighedAs, Weighing};
use tantalus::domain::measure::Amount;
use tantalus::domain::usage::{Grouping, grouped};
use tantalus::domain::venue::*;
use tantalus::store::{Store, setup};

const NOW: &str = "2026-11-22 12:00";

fn at(text: &str) -> Moment {
    let zone = chrono_tz::Europe::Berlin;
    DayRule { zone, starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() }.parse(text).unwrap()
}

const BASE: &[(&str, &str)] = &[
    ("venue.csv", "key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\n"),
    ("people.csv", "initials,role\nOM,counter\nTV,counter\n"),
    ("places.csv", "place\nRail\n"),
    (
        "stock.csv",
        "item,kind,size,abv,empty_weight,full_weight,profile\nGin,spirit,700 ml,40,500 g,,round\nRum,spirit,700 ml,40,,,\n\
         Limes,food,40 each,,500 g,4500 g,\nSugar,other,1 kg,,50 g,,\n",
    ),
];

fn book(folder: &Path, facts: &[(&str, &str)]) -> Store {
    let plain = folder.join("plain");
    write(&plain, &[BASE, facts].concat());
    match init::init_from(&folder.join("book.tantalus"), &plain, at(NOW), &mut unwatched) {
        Ok((store, _)) => store,
        Err(refused) => panic!("{refused}"),
    }
}

fn write(folder: &Path, files: &[(&str, &str)]) {
    std::fs::create_dir_all(folder).unwrap();
    for (name, text) in files {
        std::fs::write(folder.join(name), text).unwrap();
    }
}

fn item(store: &Store, name: &str) -> Item {
    store.read(setup::load).unwrap().items.into_iter().find(|item| item.name == name).unwrap()
}

fn empty(item: ItemId, grams: i64) -> Weighing {
    Weighing {
        seq: Seq(0),
        at: at(NOW),
        item,
        state: WeighedAs::Empty,
        weight: Mass::grams(grams),
        seen: None,
        mark: None,
        place: None,
        by: Some("OM".to_owned()),
    }
}

fn why<T: std::fmt::Debug>(refused: Result<T, DeskError>) -> String {
    refused.unwrap_err().to_string()
}

/// Two counts of everything, an hour's walk each.
fn two_counts(opening: &str, closing: &str) -> String {
    let line = |count: &str, when: &str, lines: &str| -> String {
        lines.lines().map(|l| format!("{count},{when},Rail,{l}\n")).collect()
    };
    let (first, second) = (line("first", "2026-11-15 02:00", opening), line("second", "2026-11-22 02:00", closing));
    format!("count,at,place,item,full,open,by\n{first}{second}")
}

/// What is weighed by empty and full needs no unit of its own: a box of forty limes from 500 g to 4500 g holds ten at
/// 1500 g; a kilogram of sugar in its jar of 50 g holds what the scale shows less the jar.
#[test]
fn pieces_and_grams_are_weighed_too() {
    let folder = tempfile::tempdir().unwrap();
    let counts = two_counts("Limes,0,1500g,OM\nSugar,0,850g,OM", "Limes,0,900g,OM\nSugar,0,650g,OM");
    let store = book(folder.path(), &[("counts.csv", &counts)]);
    let view = review(&store, Choice::default()).unwrap();
    let row = |name: &str| {
        let id = item(&store, name).id;
        view.variance.rows.iter().find(|r| r.item == id).unwrap()
    };
    let limes = row("Limes");
    assert_eq!((limes.opening.amount, limes.closing.amount), (Amount(10_000), Amount(4_000)));
    let sugar = row("Sugar");
    assert_eq!((sugar.opening.amount, sugar.usage), (Amount(800_000), Amount(200_000)));
    // The jar is the same jar in both for what is not known of its average: 0.5 g of it is shared and cancels, each
    // reading has 0.5 g and a step of 1 g for itself: √2 × √(0.5² + 0.289²) = 0.816 g.
    assert!((sugar.u - 816.5).abs() < 1.0, "{}", sugar.u);
}

/// Opening by one eye and closing by another: the bias of each is the same for both items, so it adds up in their sum.
/// Counted by the same eye twice, it cancels in each.
#[test]
fn what_an_eye_shares_adds_up_over_items() {
    // Ten pairs: 350 ml in a bottle of 500 g are 831 g, read as half each time. So the biases are nought, known to a
    // share of a tenth that is the same for whatever that eye reads.
    let pair = |by: &str| format!("2026-11-10 02:00,Gin,opened,831g,.5,{by}\n").repeat(10);
    let weighings = format!("at,item,state,weight,seen,by\n{}{}", pair("OM"), pair("TV"));
    let sums = |opener: &str, closer: &str| {
        let folder = tempfile::tempdir().unwrap();
        let counts = two_counts(
            &format!("Gin,0,.8,{opener}\nRum,0,.8,{opener}"),
            &format!("Gin,0,.3,{closer}\nRum,0,.3,{closer}"),
        );
        let files = [("weighings.csv", weighings.as_str()), ("counts.csv", counts.as_str())];
        let files = [
            &files[..],
            &[("venue.csv", "key,value\nname,B\ncurrency,EUR\ntime_zone,Europe/Berlin\ntenths_of,volume\n")],
        ];
        let store = book(folder.path(), &files.concat());
        let view = review(&store, Choice::default()).unwrap();
        let setup = store.read(setup::load).unwrap();
        let group = grouped(&setup, &view.variance.rows, Grouping::Kind).remove(0);
        let rows: Vec<f64> = view.variance.rows.iter().map(|r| r.u / 1_000.0).collect();
        let eyes = gauging::gauging(&store, at(NOW)).unwrap().gauges;
        (rows, group.u / 1_000.0, eyes.eye_of(Some("OM")))
    };
    let (apart, sum, eye) = sums("OM", "TV");
    let shared = 700.0 * eye.u_bias;
    assert!(eye.u_bias > 0.004, "{eye:?}");
    // Each row: the steps and the scatter of two readings, and two biases. The sum of two rows: the first twice in
    // quadrature, each of the biases doubled.
    let own = (apart[0].powi(2) - 2.0 * shared.powi(2)).sqrt();
    let want = (2.0 * own.powi(2) + 2.0 * (2.0 * shared).powi(2)).sqrt();
    assert!((sum - want).abs() < 0.01, "{sum}, not {want}");
    let (same, together, _) = sums("OM", "OM");
    assert!((same[0] - own).abs() < 0.01, "{same:?}, not {own}");
    assert!((together - own * 2_f64.sqrt()).abs() < 0.01, "{together}");
}

#[test]
fn a_weighing_is_kept_when_it_can_be_and_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[("counts.csv", &two_counts("Gin,0,812g,OM", "Gin,0,700g,OM"))]);
    let gin = item(&store, "Gin").id;
    let weigh = |fact: &Weighing| gauging::weigh(&store, fact, at(NOW));
    let known = || gauging::gauging(&store, at(NOW)).unwrap();
    // One that would make what was counted impossible is refused; so is what a plain file could not hold.
    assert!(why(weigh(&empty(gin, 850))).contains("could not be read any more"));
    assert!(why(weigh(&Weighing { mark: Some("=A".to_owned()), ..empty(gin, 505) })).contains("spreadsheet"));
    assert!(why(weigh(&Weighing { by: Some("XX".to_owned()), ..empty(gin, 505) })).contains("nobody signs as XX"));
    assert_eq!(known().weighings, []);
    let seq = weigh(&Weighing { mark: Some(" A ".to_owned()), ..empty(gin, 505) }).unwrap();
    assert_eq!(known().weighings[0].mark.as_deref(), Some("A"));
    assert_eq!(known().gauges.vessel(gin).unwrap().empty.unwrap().weight, 505_000.0);
    assert!(gauging::take_back(&store, seq, Some("OM"), at(NOW)).unwrap());
    assert_eq!(known().gauges.vessel(gin).unwrap().empty.unwrap().weight, 500_000.0);
    assert!(!gauging::take_back(&store, seq, Some("OM"), at(NOW)).unwrap(), "only once");
    // Of what nothing else is known of, a weighing that a count rests on cannot be taken back.
    let rum = item(&store, "Rum").id;
    let seq = weigh(&empty(rum, 500)).unwrap();
    let later = folder.path().join("later");
    write(&later, &[("counts.csv", "count,at,place,item,full,open\nthird,2026-11-22 03:00,Rail,Rum,0,812g\n")]);
    load::load(&store, &later, at(NOW), &mut unwatched).unwrap();
    assert!(why(gauging::take_back(&store, seq, None, at(NOW))).contains("no empty weight"));
    // A book in which somebody took it away all the same is found out.
    assert!(tantalus::desk::check::check(&store).unwrap().is_empty());
    store.write((Deed::Loaded, Moment(0)), |c| tantalus::store::weighings::reverse(c, seq, None, at(NOW))).unwrap();
    let found = tantalus::desk::check::check(&store).unwrap();
    assert!(found.len() == 1 && found[0].to_string().contains("812g, cannot be read any more"), "{found:?}");
    // The size of what was weighed is what its weights are of.
    write(&later, &[("stock.csv", "item,kind,size\nRum,spirit,1 l\n")]);
    assert!(load::load(&store, &later, at(NOW), &mut unwatched).is_err());
}

/// Of rum only the strength is known. A full one of 1,000 g holds 700 ml of 0.947 g/ml, so an empty one of 1,200 g is
/// another bottle; and one opened that weighed 505 g was no empty one of 650 g. Whatever comes first stands.
#[test]
fn a_weighing_that_contradicts_an_older_one_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let weighings = "at,item,state,weight,seen,by\n2026-11-20 01:00,Gin,opened,505g,.1,OM\n\
                     2026-11-20 01:01,Rum,opened,505g,.1,OM\n";
    let store = book(folder.path(), &[("weighings.csv", weighings)]);
    let rum = item(&store, "Rum").id;
    let state = |state, grams| Weighing { state, ..empty(rum, grams) };
    let weigh = |fact: Weighing| gauging::weigh(&store, &fact, at(NOW));
    assert!(why(weigh(empty(rum, 650))).contains("505g, weighed opened"));
    weigh(state(WeighedAs::Sealed, 1_000)).unwrap();
    assert!(why(weigh(empty(rum, 1_200))).contains("no lighter than a full container"));
    // Whatever the order they come in a file.
    let later = folder.path().join("later");
    write(&later, &[("weighings.csv", "at,item,state,weight\n2026-11-19 01:00,Rum,empty,1200g\n")]);
    let refused = why(load::load(&store, &later, at(NOW), &mut unwatched));
    assert!(refused.contains("no lighter than a full container"), "{refused}");
    // The owner's figures are held against what was weighed as well.
    write(&later, &[("stock.csv", "item,kind,size,abv,empty_weight\nRum,spirit,700 ml,40,650 g\n")]);
    std::fs::remove_file(later.join("weighings.csv")).unwrap();
    let refused = why(load::load(&store, &later, at(NOW), &mut unwatched));
    assert!(refused.contains("would not agree any more"), "{refused}");
    weigh(empty(rum, 340)).unwrap();
    // A book in which somebody wrote it all the same is found out.
    assert!(tantalus::desk::check::check(&store).unwrap().is_empty());
    store
        .write((Deed::Loaded, Moment(0)), |c| tantalus::store::weighings::add(c, &empty(rum, 1_900), at(NOW)))
        .unwrap();
    let found = tantalus::desk::check::check(&store).unwrap();
    assert!(found.len() == 1 && found[0].to_string().contains("does not agree"), "{found:?}");
}

/// 225 mm was read of a bottle as tall as a round one; a dumpy one is lower than that. Going through the shapes, what the
/// count forbids is passed over.
#[test]
fn a_shape_that_a_count_forbids_is_passed_over() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[("counts.csv", &two_counts("Gin,0,225mm,OM", "Gin,0,.4,OM"))]);
    let gin = item(&store, "Gin").id;
    let generic = |shape| Some(ItemShape::Generic(shape));
    let (dumpy, square) = (generic(Shape::Dumpy), generic(Shape::Square));
    assert_eq!(gauging::set_shape(&store, gin, &[dumpy, None, square], Moment(0)).unwrap(), square);
    assert_eq!(item(&store, "Gin").shape, square);
    let refused = why(gauging::set_shape(&store, gin, &[dumpy, None], Moment(0)));
    assert!(refused.contains("could not be read any more"), "{refused}");
    assert_eq!(item(&store, "Gin").shape, square);
}

#[test]
fn a_measured_shape_is_kept_as_the_form_shows_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[]);
    let gin = item(&store, "Gin").id;
    let jug = |name: &str, fillings: &[(i64, i64)]| Profile {
        id: ProfileId::default(),
        name: name.to_owned(),
        measures: None,
        fillings: fillings.iter().map(|(mm, ml)| Filling { height: mm * 1_000, volume: Amount(ml * 1_000) }).collect(),
    };
    let put = |profile: &Profile| gauging::put_shape(&store, profile, gin, Moment(0));
    let kept = || store.read(setup::load).unwrap().profiles;
    put(&jug("Jug", &[(50, 200), (150, 600), (180, 710)])).unwrap();
    // One of the heights was wrong: what is kept is what the form says now, not both.
    let better = jug("JUG", &[(50, 200), (140, 600), (180, 710)]);
    put(&better).unwrap();
    assert_eq!(kept().len(), 1);
    assert_eq!((kept()[0].name.as_str(), &kept()[0].fillings), ("JUG", &better.fillings));
    assert!(Outline::of(&kept()[0], Amount(700_000)).is_ok());
    for (profile, says) in [
        (jug("Short", &[(50, 200), (150, 600)]), "expected one at full"),
        (jug("round", &[(50, 200), (180, 710)]), "is a shape in every book"),
        (jug("=1", &[(50, 200), (180, 710)]), "spreadsheet"),
        (jug("One", &[(50, 200)]), "at least two heights"),
    ] {
        let refused = why(put(&profile));
        assert!(refused.contains(says), "{refused}");
    }
    assert_eq!(kept().len(), 1);
    // And out and in again.
    let out = folder.path().join("out");
    dump::dump(&store, &out).unwrap();
    let other = init::init_from(&folder.path().join("other.tantalus"), &out, at(NOW), &mut unwatched).unwrap().0;
    assert_eq!(other.read(setup::load).unwrap().profiles[0].fillings, better.fillings);
    assert!(matches!(item(&other, "Gin").shape, Some(ItemShape::Own(_))));
}

/// Asked each time while little is known of an eye; once twenty pairs are, only every four weeks.
#[test]
fn an_eye_that_is_known_is_asked_about_now_and_then() {
    let counts = "count,at,place,item,full,open,by\n".to_owned()
        + &["Gin", "Rum", "Limes"].map(|item| format!("last,2026-11-22 02:00,Rail,{item},0,.4,OM\n")).concat();
    let stock = "item,kind,size,abv,empty_weight,full_weight\nGin,spirit,700 ml,40,500 g,\nRum,spirit,700 ml,40,500 g,\n\
                 Limes,food,40 each,,500 g,4500 g\n";
    let due = |pairs: usize, day: &str| {
        let folder = tempfile::tempdir().unwrap();
        let weighed = format!("{day} 03:00,Gin,opened,831g,.5,OM\n").repeat(pairs);
        let weighed = format!("at,item,state,weight,seen,by\n{weighed}");
        let files = [("stock.csv", stock), ("counts.csv", counts.as_str()), ("weighings.csv", weighed.as_str())];
        let store = book(folder.path(), &files);
        let last = store.read(|c| tantalus::store::counts::find(c, "last")).unwrap().unwrap().id;
        gauging::eye_check_due(&store, last, "OM", at(NOW)).unwrap()
    };
    assert_eq!(due(0, "2026-11-15"), Some(3));
    assert_eq!(due(19, "2026-11-15"), Some(3));
    assert_eq!(due(20, "2026-11-15"), None);
    assert_eq!(due(20, "2026-10-15"), Some(3));
}

/// While a blind count is open, what stood in a bottle last time is not shown here either.
#[test]
fn a_blind_count_hides_what_was_last_read() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[("counts.csv", &two_counts("Gin,0,.4,OM", "Gin,0,.4,OM"))]);
    let last = || gauging::gauging(&store, at(NOW)).unwrap().last.len();
    assert_eq!(last(), 1);
    let rail = store.read(setup::load).unwrap().places[0].id;
    tantalus::desk::counting::begin(&store, &[rail], true, Some("OM"), at(NOW)).unwrap();
    assert_eq!(last(), 0);
}
