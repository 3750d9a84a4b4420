//! Reckoning through the whole program, on small books made of plain files: what is on hand after counts of some places,
//! what a nightly count can tell, and what two terminals may not do to each other.
//!
//! The figures are worked by hand beside each; the rules of the trade in them are common practice, no source.

#![allow(clippy::unwrap_used)]

use std::path::Path;
use tantalus::desk::comparing::Choice;
use tantalus::desk::reviewing::review;
use tantalus::desk::{counting, init, load, looking, ordering, unwatched};
use tantalus::domain::gauge::Entry;
use tantalus::domain::ledger::CountLine;
use tantalus::domain::measure::Amount;
use tantalus::domain::rows::DraftKept;
use tantalus::domain::usage::Untold;
use tantalus::domain::venue::{CountMethod, DayRule, ItemId, Moment, PlaceId, Setup};
use tantalus::store::{Store, journal};

const NOW: &str = "2026-11-22 12:00";

fn days() -> DayRule {
    DayRule { zone: chrono_tz::Europe::Berlin, starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
}
fn at(text: &str) -> Moment {
    days().parse(text).unwrap()
}
fn litres(tenths: i64) -> Amount {
    Amount(tenths * 100_000)
}

/// Three places walked in this order; gin and beer by the litre, lime made from gin; a shot of gin is 100 ml.
const BASE: &[(&str, &str)] = &[
    ("venue.csv", "key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\n"),
    ("places.csv", "place,walk\nRail,1\nBar,2\nFridge,3\n"),
    ("suppliers.csv", "supplier,schedule\nThe van,Mon 14:00 > Wed\n"),
    (
        "stock.csv",
        "item,kind,size,count_by,par\nGin,spirit,1 l,tenths,12\nBeer,beer,1 l,whole,\nLime,house-made,1 l,tenths,\nSalt,other,1 kg,tenths,\n",
    ),
    ("offers.csv", "supplier,item,pack,price\nThe van,Gin,6,100.00\n"),
    ("drinks.csv", "drink,price\nShot,10.00\nPint,5.00\nLime shot,8.00\nSalted,3.00\n"),
    (
        "specs.csv",
        "drink,ingredient,quantity\nShot,Gin,100 ml\nPint,Beer,1 l\nLime shot,Lime,100 ml\nSalted,Salt,10 g\n",
    ),
    ("house.csv", "item,yields,ingredient,quantity\nLime,1 l,Gin,1 l\n"),
    ("pos.csv", "sold_as,drink,portion\nSHOT,Shot,1\nPINT,Pint,1\nLIME SHOT,Lime shot,1\nSALTED,Salted,1\n"),
];

fn book(folder: &Path, facts: &[(&str, &str)]) -> Store {
    let plain = folder.join("plain");
    std::fs::create_dir_all(&plain).unwrap();
    for (name, text) in BASE.iter().chain(facts) {
        std::fs::write(plain.join(name), text).unwrap();
    }
    match init::init_from(&folder.join("book.tantalus"), &plain, at(NOW), &mut unwatched) {
        Ok((store, _)) => store,
        Err(refused) => panic!("{refused}"),
    }
}

fn on_hand(store: &Store, item: &str, now: &str) -> (Amount, Vec<(String, Amount)>) {
    let (setup, rows) = looking::stock(store, at(now)).unwrap();
    let row = rows.iter().find(|r| setup.item_name(r.item) == item).unwrap();
    let places = row.places.iter().map(|(p, a)| (setup.place_name(*p).to_owned(), *a)).collect();
    (row.on_hand.unwrap().amount, places)
}

fn setup_of(store: &Store) -> Setup {
    tantalus::desk::comparing::setup(store).unwrap()
}

/// Gin is poured on the rail and on the bar. Both counted on the 15th, 5.5 each; 30 shots sold on the 16th; only the
/// rail counted on the 18th. What sales took cannot be said of one of the two, so the full count is the base:
/// 11.0 − 3.0 = 8.0, whichever of the two was read first that night.
#[test]
fn a_count_of_one_of_two_pouring_places_does_not_lose_the_sales() {
    for bar in ["2026-11-16 01:10", "2026-11-16 00:50"] {
        let folder = tempfile::tempdir().unwrap();
        let counts = format!(
            "count,at,place,item,full,open\nfull,2026-11-16 01:00,Rail,Gin,5,.5\nfull,{bar},Bar,Gin,5,.5\n\
             rail,2026-11-19 01:00,Rail,Gin,5,.5\n"
        );
        let store = book(
            folder.path(),
            &[
                ("counts.csv", &counts),
                ("sales.csv", "receipt,line,at,sold_as,quantity,net\n1,1,2026-11-16 20:00,SHOT,30,300\n"),
            ],
        );
        assert_eq!(on_hand(&store, "Gin", NOW).0, litres(80), "{bar}");
    }
}

/// Beer is only counted whole, on the rail and in the fridge: 20 and 40; 10 carried to the rail, 10 sold, the rail
/// counted again: 20. In all 50; what sales took is taken from the first place on the walk, so rail 20, fridge 30.
#[test]
fn whole_things_in_two_places() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(
        folder.path(),
        &[
            (
                "counts.csv",
                "count,at,place,item,full,open\nfull,2026-11-16 01:00,Rail,Beer,20,\nfull,2026-11-16 01:10,Fridge,Beer,40,\n\
                 rail,2026-11-19 01:00,Rail,Beer,20,\n",
            ),
            ("transfers.csv", "at,item,containers,from_place,to_place\n2026-11-16 17:00,Beer,10,Fridge,Rail\n"),
            ("sales.csv", "receipt,line,at,sold_as,quantity,net\n1,1,2026-11-16 20:00,PINT,10,50\n"),
        ],
    );
    let (amount, places) = on_hand(&store, "Beer", NOW);
    assert_eq!(amount, litres(500));
    assert_eq!(places, [("Rail".to_owned(), litres(200)), ("Fridge".to_owned(), litres(300))]);
}

/// What was carried to a place that was never counted stands there: of 1.5 on the rail and 5 sealed on the bar, two go
/// to the fridge. The rail still has 1.5.
#[test]
fn what_is_carried_to_a_place_never_counted_stands_there() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(
        folder.path(),
        &[
            (
                "counts.csv",
                "count,at,place,item,full,open\nfull,2026-11-16 01:00,Rail,Gin,1,.5\nfull,2026-11-16 01:10,Bar,Gin,5,\n",
            ),
            ("transfers.csv", "at,item,containers,from_place,to_place\n2026-11-17 17:00,Gin,2,Bar,Fridge\n"),
        ],
    );
    let (amount, places) = on_hand(&store, "Gin", NOW);
    assert_eq!(amount, litres(65));
    let want = [("Rail", 15), ("Bar", 30), ("Fridge", 20)];
    assert_eq!(places, want.map(|(place, tenths)| (place.to_owned(), litres(tenths))));
}

/// Lime is made from gin and kept in the fridge; only the bar is counted at night. Its batch takes the gin that night
/// (2 litres), and its sales take lime, not gin: both gaps are nothing.
#[test]
fn a_nightly_count_knows_that_house_made_stands_elsewhere() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(
        folder.path(),
        &[
            (
                "counts.csv",
                "count,at,place,item,full,open\n\
                 full,2026-11-16 01:00,Bar,Gin,9,.5\nfull,2026-11-16 01:10,Fridge,Lime,1,.5\n\
                 n1,2026-11-17 01:00,Bar,Gin,7,.5\nn2,2026-11-18 01:00,Bar,Gin,7,.5\n",
            ),
            ("batches.csv", "at,item,made\n2026-11-16 15:00,Lime,2 l\n"),
            ("sales.csv", "receipt,line,at,sold_as,quantity,net\n1,1,2026-11-17 20:00,LIME SHOT,10,80\n"),
        ],
    );
    for closing in ["n1", "n2"] {
        let closing = tantalus::desk::comparing::count_named(&store, closing).unwrap();
        let view = review(&store, Choice { opening: None, closing: Some(closing.id) }).unwrap();
        let setup = setup_of(&store);
        let gin = view.variance.rows.iter().find(|r| setup.item_name(r.item) == "Gin").unwrap();
        assert_eq!(gin.gap, Amount(0), "{}: {gin:?}", closing.name);
    }
}

/// Salt is sold and never counted: nothing is told, and it is said. The counts of the bar at night compare with each
/// other, not with a count of as many other places.
#[test]
fn what_is_sold_and_never_counted_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(
        folder.path(),
        &[
            (
                "counts.csv",
                "count,at,place,item,full,open\nrail1,2026-11-16 01:00,Rail,Gin,1,.5\nbar1,2026-11-16 02:00,Bar,Beer,9,\n\
                 rail2,2026-11-18 01:00,Rail,Gin,1,.5\nbar2,2026-11-18 02:00,Bar,Beer,9,\n",
            ),
            ("sales.csv", "receipt,line,at,sold_as,quantity,net\n1,1,2026-11-17 20:00,SALTED,5,15\n"),
        ],
    );
    let view = review(&store, Choice::default()).unwrap();
    assert_eq!((view.opening.name.as_str(), view.closing.name.as_str()), ("bar1", "bar2"));
    let salt = setup_of(&store).items.iter().find(|i| i.name == "Salt").unwrap().id;
    assert!(view.variance.untold.contains(&(salt, Untold::NotCounted)));
}

/// A spot that an item is given later changes nothing in what past counts tell.
#[test]
fn a_new_spot_does_not_reach_into_the_past() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(
        folder.path(),
        &[(
            "counts.csv",
            "count,at,place,item,full,open\nfull,2026-11-16 01:00,Bar,Gin,1,.5\nfull2,2026-11-18 01:00,Bar,Gin,1,.5\n",
        )],
    );
    let more = folder.path().join("more");
    std::fs::create_dir_all(&more).unwrap();
    std::fs::write(more.join("shelves.csv"), "place,item\nBar,Gin\nFridge,Gin\n").unwrap();
    load::load(&store, &more, at(NOW), &mut unwatched).unwrap();
    let view = review(&store, Choice::default()).unwrap();
    assert_eq!(view.variance.rows.len(), 1, "{:?}", view.variance.untold);
}

/// What was counted must stay readable, and nothing can have happened in the future.
#[test]
fn a_load_that_would_make_the_past_unreadable_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let store =
        book(folder.path(), &[("counts.csv", "count,at,place,item,full,open\nfull,2026-11-16 01:00,Bar,Gin,1,.5\n")]);
    let more = folder.path().join("more");
    std::fs::create_dir_all(&more).unwrap();
    for (name, text, says) in [
        ("stock.csv", "item,kind,size,count_by\nGin,spirit,1 l,whole\n", "could not be read any more"),
        ("losses.csv", "at,item,quantity,reason\n2062-01-01 10:00,Gin,10 ml,spill\n", "has not come yet"),
        ("losses.csv", "at,item,quantity,reason\n0001-01-01 10:00,Gin,10 ml,spill\n", "since 1990"),
    ] {
        std::fs::write(more.join(name), text).unwrap();
        let refused = load::load(&store, &more, at(NOW), &mut unwatched).unwrap_err().to_string();
        assert!(refused.contains(says), "{refused}");
        std::fs::remove_file(more.join(name)).unwrap();
    }
    assert_eq!(on_hand(&store, "Gin", NOW).0, litres(15));
}

fn counted(store: &Store) -> (Store, ItemId, PlaceId) {
    let setup = setup_of(store);
    let gin = setup.items.iter().find(|i| i.name == "Gin").unwrap().id;
    let bar = setup.places.iter().find(|p| p.name == "Bar").unwrap().id;
    (Store::open(store.path()).unwrap(), gin, bar)
}

/// A van that comes while a count is open is neither a gap nor missing: 0.5 counted at one in the morning, 12 booked at
/// ten; there are 12.5 of a par of 12, the gap is what it was, and nothing is ordered.
#[test]
fn a_van_that_comes_while_a_count_is_open() {
    let folder = tempfile::tempdir().unwrap();
    let counts = "count,at,place,item,full,open\nfull,2026-11-16 01:00,Bar,Gin,0,.5\n";
    let shelves = "place,item\nBar,Gin\n";
    let store = book(folder.path(), &[("counts.csv", counts), ("shelves.csv", shelves)]);
    let (_, gin, bar) = counted(&store);
    let count = counting::begin(&store, &[bar], false, None, at("2026-11-20 01:00")).unwrap();
    let line = |when: &str, typed: &str| CountLine {
        count,
        place: bar,
        item: gin,
        at: at(when),
        entry: Entry::parse(typed).unwrap(),
        method: CountMethod::Tenths,
        by: None,
    };
    let sheet = counting::sheet(&store, count, at("2026-11-20 01:00")).unwrap();
    counting::save_line(&store, &sheet, &line("2026-11-20 01:00", ".5"), None, Moment(0)).unwrap();
    let more = folder.path().join("more");
    std::fs::create_dir_all(&more).unwrap();
    let van =
        "document,line,at,supplier,item,containers,unit_price,place\nD1,1,2026-11-20 10:00,The van,Gin,12,16.00,Bar\n";
    std::fs::write(more.join("deliveries.csv"), van).unwrap();
    load::load(&store, &more, at(NOW), &mut unwatched).unwrap();
    let sheet = counting::sheet(&store, count, at("2026-11-20 11:00")).unwrap();
    let meaning = sheet.meaning(sheet.find(bar, gin).unwrap(), None).unwrap();
    assert_eq!((meaning.gap, meaning.order), (Some(Amount(0)), None));
}

/// Two terminals: what one undoes is only what it entered itself, and an entry over another's is told.
#[test]
fn two_terminals_on_one_line() {
    let folder = tempfile::tempdir().unwrap();
    let store = book(folder.path(), &[("shelves.csv", "place,item\nBar,Gin\n")]);
    let (other, gin, bar) = counted(&store);
    let now = at("2026-11-20 01:00");
    let count = counting::begin(&store, &[bar], false, None, now).unwrap();
    let sheet = counting::sheet(&store, count, now).unwrap();
    let line = |typed: &str, by: &str| CountLine {
        count,
        place: bar,
        item: gin,
        at: now,
        entry: Entry::parse(typed).unwrap(),
        method: CountMethod::Tenths,
        by: Some(by.to_owned()),
    };
    let (ours, theirs) = (line("3", "A"), line("5.5", "B"));
    assert_eq!(counting::save_line(&store, &sheet, &ours, None, Moment(0)).unwrap(), None);
    let stands = counting::save_line(&other, &sheet, &theirs, None, Moment(0)).unwrap();
    assert_eq!(stands.as_ref().map(|l| &l.entry), Some(&ours.entry), "what stands there is told");
    let known = tantalus::domain::rows::Entered::of(&stands.unwrap());
    let again = counting::sheet(&store, count, now).unwrap();
    assert_eq!(again.lines[0].entered.as_ref(), Some(&known), "and stands until somebody says otherwise");
    assert_eq!(counting::save_line(&other, &sheet, &theirs, Some(&known), Moment(0)).unwrap(), None);
    let undone = counting::take_back(&store, &ours, None, None, now);
    assert!(undone.unwrap_err().to_string().contains("B has entered 5.5 meanwhile"));
    let sheet = counting::sheet(&store, count, now).unwrap();
    assert_eq!(sheet.lines[0].entered.as_ref().map(|e| e.entry.clone()), Some(theirs.entry));
}

/// A draft that another terminal has sent cannot be changed or sent again; what was ordered and came in part stays on
/// order by the container, through a dump and a load too.
#[test]
fn drafts_and_rests() {
    let folder = tempfile::tempdir().unwrap();
    let store =
        book(folder.path(), &[("counts.csv", "count,at,place,item,full,open\nfull,2026-11-16 01:00,Bar,Gin,1,\n")]);
    let now = at(NOW);
    let view = ordering::orders(&store, now).unwrap().drafts.remove(0);
    assert_eq!(view.draft.lines[0].packs, 2, "11 short, in packs of 6");
    ordering::keep_draft(&store, &view, Moment(0)).unwrap();
    // Another terminal that still shows what was suggested does not write over it.
    let mut stale = view.clone();
    stale.draft.lines[0].packs = 9;
    let twice = ordering::keep_draft(&store, &stale, Moment(0)).unwrap();
    assert!(matches!(twice, DraftKept::Twice(theirs) if theirs.lines[0].packs == 2));
    let kept = ordering::orders(&store, now).unwrap().drafts.remove(0);
    ordering::send(&store, &kept, now).unwrap();
    assert!(ordering::keep_draft(&store, &kept, Moment(0)).unwrap_err().to_string().contains("is sent meanwhile"));
    assert!(ordering::send(&store, &kept, now).is_err());
    let setup = setup_of(&store);
    let mut van = ordering::receivable(&store, &setup).unwrap().remove(0);
    van.lines[0].came = Some(7);
    ordering::receive(&store, &van, "D9", true, None, now).unwrap();
    let later = at("2026-11-22 12:01");
    let on_order = |store: &Store| {
        let (_, rows) = looking::stock(store, later).unwrap();
        rows.iter().find(|r| r.on_order != Amount(0)).map(|r| r.on_order)
    };
    assert_eq!(on_order(&store), Some(litres(50)));
    assert!(store.read(|c| journal::has_document(c, van.order.supplier, "D9")).unwrap());
    let dumped = folder.path().join("dump");
    tantalus::desk::dump::dump(&store, &dumped).unwrap();
    let (again, _) = init::init_from(&folder.path().join("again.tantalus"), &dumped, later, &mut unwatched).unwrap();
    assert_eq!(on_order(&again), Some(litres(50)));
    assert_eq!(on_hand(&again, "Gin", "2026-11-22 12:01").0, litres(80));
}
