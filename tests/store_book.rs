//! A book opens, refuses, grows and keeps what it was told.
#![allow(clippy::unwrap_used, missing_docs)]

use chrono::NaiveDate;
use std::path::Path;
use std::sync::{Arc, Barrier};
use tantalus::domain::gauge::{Entry, Mass, Reading, WeighedAs, Weighing};
use tantalus::domain::ledger::{Batch, CountLine, Delivery, Explanation, Loss, Order, OrderLine, Sale, Transfer};
use tantalus::domain::measure::{Amount, Basis, Money, Price};
use tantalus::domain::receive::{Bill, ClaimKind, CodeKey, DocumentKind, KnownAs, KnownCode, Means, Rate};
use tantalus::domain::till::{
    Amounts, DateOrder, DecimalMark, Field, Layout, LayoutColumn, RungAs, TakenAs, TakenFile,
};
use tantalus::domain::venue::{
    BillId, CauseWord, Contact, Containers, CountBy, CountId, CountMethod, Country, DayEffect, DayRule, Deed, EAddress,
    Factor, Gln, Item, ItemId, Kind, Moment, NamedDay, OrderBy, OrderCalendar, OrderId, OrderState, ParFrom, Party,
    Phone, PlaceId, PouredBy, Pours, Reason, SaleKind, Seq, ServiceLevels, SpecialDay, SpecialDayId, Stretch, Supplier,
    SupplierId, TillId, TillMeaning, VatId, Venue,
};
use tantalus::store::bills::BillDid;
use tantalus::store::sales::{Put, SaleLine, SaleWriter};
use tantalus::store::{
    APPLICATION_ID, Connection, STEPS, Store, StoreError, bills, counts, explanations, files, journal, layouts,
    migrations, orders, sales, setup, weighings,
};
use tempfile::tempdir;

fn venue() -> Venue {
    Venue {
        prices_include_tax: true,
        blind_counts: true,
        ..Venue::new(
            "Any bar",
            "EUR".parse().unwrap(),
            DayRule { zone: chrono_tz::Europe::Berlin, starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() },
        )
    }
}

fn item(name: &str) -> Item {
    Item::new(ItemId(0), name, Kind::Spirit, Basis::Volume, Amount(700_000), CountBy::Tenths)
}

fn supplier(name: &str) -> Supplier {
    Supplier {
        id: SupplierId(0),
        name: name.to_owned(),
        email: None,
        customer_no: None,
        calendar: OrderCalendar::default(),
        minimum: None,
        fee: None,
        free_from: None,
        party: Default::default(),
    }
}

fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 20).unwrap()
}

/// A book with two places, two items and a supplier.
fn book(folder: &Path) -> (Store, [PlaceId; 2], [ItemId; 2], SupplierId) {
    let store = Store::create(&folder.join("bar.tantalus")).unwrap();
    let (places, items, supplier) = store
        .write((Deed::Loaded, Moment(0)), |c| {
            setup::put_venue(c, &venue())?;
            let places = [setup::put_place(c, "Back bar", 1)?, setup::put_place(c, "Cellar", 2)?];
            let items = [setup::put_item(c, &item("Gin"))?, setup::put_item(c, &item("Rum"))?];
            Ok::<_, StoreError>((places, items, setup::put_supplier(c, &supplier("Van"))?))
        })
        .unwrap();
    (store, places, items, supplier)
}

fn raw(path: &Path) -> rusqlite::Connection {
    rusqlite::Connection::open(path).unwrap()
}

#[test]
fn the_engine_is_one_that_does_not_lose_a_commit_when_two_write() {
    // Before 3.51.3 two connections that wrote and checkpointed at once could lose a commit.
    assert!(rusqlite::version_number() >= 3_051_003, "{}", rusqlite::version());
}

#[test]
fn a_new_book_opens_again_and_is_its_owners_alone() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("new/folder/bar.tantalus");
    assert!(matches!(Store::open(&path), Err(StoreError::Missing { .. })));
    drop(Store::create(&path).unwrap());
    assert!(matches!(Store::create(&path), Err(StoreError::Exists { .. })));
    let store = Store::open(&path).unwrap();
    assert!(matches!(store.read(setup::load), Err(StoreError::NotSetUp { .. })));
    store.write((Deed::Loaded, Moment(0)), |c| setup::put_venue(c, &venue())).unwrap();
    assert_eq!(store.read(setup::load).unwrap().venue, venue());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        for suffix in ["", "-wal", "-shm"] {
            let file = format!("{}{suffix}", path.display());
            assert_eq!(std::fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600, "{file}");
        }
    }
    store.discard().unwrap();
    assert_eq!(std::fs::read_dir(path.parent().unwrap()).unwrap().count(), 0);
}

#[test]
fn what_is_no_book_is_refused_and_left_as_it_was() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("other");
    for content in [&b"item,size\n"[..], b"", b"SQLite format 3"] {
        std::fs::write(&path, content).unwrap();
        let refused = Store::open(&path).unwrap_err();
        match content.len() {
            0 => assert!(matches!(refused, StoreError::Nothing { .. }), "{refused}"),
            10 => assert!(matches!(refused, StoreError::NotABook { .. }), "{refused}"),
            _ => assert!(matches!(refused, StoreError::Broken { .. }), "{refused}"),
        }
        assert_eq!(std::fs::read(&path).unwrap(), content);
    }
    std::fs::remove_file(&path).unwrap();
    raw(&path).execute_batch("CREATE TABLE t (x); INSERT INTO t VALUES (1);").unwrap();
    let before = std::fs::read(&path).unwrap();
    assert!(matches!(Store::open(&path), Err(StoreError::NotABook { .. })));
    assert_eq!(std::fs::read(&path).unwrap(), before);
    assert!(matches!(Store::open(folder.path()), Err(StoreError::NotABook { .. })));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn damage_is_noticed_on_opening() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let path = store.path().to_owned();
    drop(store);
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[100..4096].fill(0x5a);
    std::fs::write(&path, bytes).unwrap();
    let refused = Store::open(&path).unwrap_err();
    assert!(matches!(refused, StoreError::Damaged { .. }), "{refused}");
    assert!(refused.to_string().contains("go back to a copy"), "{refused}");
}

#[test]
fn a_newer_book_says_so() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let path = store.path().to_owned();
    drop(store);
    raw(&path).pragma_update(None, "user_version", 99).unwrap();
    let refused = Store::open(&path).unwrap_err();
    assert!(matches!(refused, StoreError::NewerSchema { found: 99, .. }));
    assert!(refused.to_string().contains("install the newer program"), "{refused}");
}

/// The version of today's book, and the one after it.
const SUPPORTED: i64 = STEPS.len() as i64;
const NEXT_STEP: i64 = SUPPORTED + 1;
const NEXT: &str = "CREATE TABLE extra (x INTEGER) STRICT; INSERT INTO extra SELECT count(*) FROM item;";

fn one_more_step() -> Vec<&'static str> {
    STEPS.iter().copied().chain([NEXT]).collect()
}

#[test]
fn the_first_step_makes_a_marked_book_with_a_handle_of_its_own() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let other = Store::create(&folder.path().join("other.tantalus")).unwrap();
    let look = |store: &Store| {
        store
            .read(|c| {
                let one = |sql: &str| c.query_row(sql, [], |r| r.get::<_, i64>(0)).unwrap();
                assert_eq!(one("PRAGMA application_id"), APPLICATION_ID);
                assert_eq!(one("PRAGMA user_version"), STEPS.len() as i64);
                assert_eq!(one("PRAGMA foreign_keys"), 1);
                assert_eq!(one("PRAGMA synchronous"), 2);
                let uid: String = c.query_row("SELECT value FROM venue WHERE key = 'uid'", [], |r| r.get(0)).unwrap();
                Ok::<_, StoreError>(uid)
            })
            .unwrap()
    };
    let (a, b) = (look(&store), look(&other));
    assert_eq!((a.len(), b.len()), (16, 16));
    assert_ne!(a, b);
}

#[test]
fn a_migration_keeps_the_rows_and_a_copy_of_the_book_before() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let path = store.path().to_owned();
    drop(store);
    let store = Store::open_with(&path, &one_more_step()).unwrap();
    let extra: i64 =
        store.read(|c| Ok::<_, StoreError>(c.query_row("SELECT x FROM extra", [], |r| r.get(0)).unwrap())).unwrap();
    assert_eq!(extra, 2);
    let copy = migrations::copy_before(&path, NEXT_STEP);
    let before = Store::open(&copy).unwrap();
    assert_eq!(before.read(setup::load).unwrap().items.len(), 2);
    // The program that does not know that step now refuses the book.
    assert!(matches!(Store::open(&path), Err(StoreError::NewerSchema { found: NEXT_STEP, supported: SUPPORTED })));
}

/// A book as the first step made it, with an item, its count and its bar, brought to the second.
#[test]
fn a_book_without_gauging_learns_it_and_keeps_what_it_had() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("old.tantalus");
    drop(Store::create_with(&path, &STEPS[..1]).unwrap());
    raw(&path)
        .execute_batch(
            "INSERT INTO venue VALUES ('name', 'The Old Bar'), ('currency', 'EUR'), ('time_zone', 'UTC');
             INSERT INTO place (id, name, name_key, walk) VALUES (1, 'Bar', 'bar', 1);
             INSERT INTO item (id, name, name_key, kind, basis, size, abv, empty_weight, count_by)
                 VALUES (1, 'Rum', 'rum', 'spirit', 'volume', 700000, 4000, 500000, 'tenths');
             INSERT INTO count (id, name, name_key, opened, blind) VALUES (1, 'C', 'c', 1000, 0);
             INSERT INTO count_line (count, place, item, at, sealed, open, method)
                 VALUES (1, 1, 1, 2000, 2, '.4 812g', 'tenths');",
        )
        .unwrap();
    let store = Store::open(&path).unwrap();
    assert!(migrations::copy_before(&path, 2).exists());
    let rum = store
        .read(|c| {
            let lines = counts::lines(c, tantalus::domain::venue::CountId(1))?;
            assert_eq!(lines[0].entry, Entry::parse("2.4 812g").unwrap());
            assert!(weighings::list(c)?.is_empty());
            Ok::<_, StoreError>(setup::load(c)?.items[0].clone())
        })
        .unwrap();
    assert_eq!((rum.empty_weight, rum.sugar, rum.shape), (Some(Amount(500_000)), None, None));
}

/// A book without glasses, water and after-ice learns them; its drinks and recipes stay as they were.
#[test]
fn a_book_of_plainer_drinks_keeps_what_it_had() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("old.tantalus");
    drop(Store::create_with(&path, &STEPS[..2]).unwrap());
    raw(&path)
        .execute_batch(
            "INSERT INTO venue VALUES ('name', 'The Old Bar'), ('currency', 'EUR'), ('time_zone', 'UTC');
             INSERT INTO item (id, name, name_key, kind, basis, size, sugar, count_by)
                 VALUES (1, 'Sugar', 'sugar', 'food', 'mass', 1000000, NULL, 'whole'),
                        (2, 'Syrup', 'syrup', 'house-made', 'volume', 1000000, '50 brix', 'tenths');
             INSERT INTO drink (id, name, name_key) VALUES (1, 'Sweet', 'sweet');
             INSERT INTO drink_version (drink, from_day, price, tax, method, glass, menu)
                 VALUES (1, '', 1200, 1900, 'shake', 'coupe', 1);
             INSERT INTO spec_line (drink, from_day, line, item, quantity, waste)
                 VALUES (1, '', 1, 2, '30 ml', 0);
             INSERT INTO recipe VALUES (2, '', '1600 ml');
             INSERT INTO recipe_line VALUES (2, '', 1, 1, '1 kg');",
        )
        .unwrap();
    let store = Store::open(&path).unwrap();
    let setup = store.read(setup::load).unwrap();
    let (_, menu) = setup.drinks[0].menu.iter().next().unwrap();
    assert_eq!((menu.price, menu.dilution), (Money(1_200), None));
    let (_, spec) = setup.drinks[0].specs.iter().next().unwrap();
    assert_eq!((spec[0].amount, spec[0].after_ice), (Amount(30_000), None));
    let (_, recipe) = setup.recipes[&spec[0].item].iter().next().unwrap();
    assert_eq!((recipe.yields, &recipe.water), (Amount(1_600_000), &None));
    assert!(setup.glasses.is_empty());
}

/// A book whose suppliers had no more than a name and days learns where they are; what it had stays.
#[test]
fn a_book_without_addresses_learns_them() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("old.tantalus");
    drop(Store::create_with(&path, &STEPS[..3]).unwrap());
    raw(&path)
        .execute_batch(
            "INSERT INTO venue VALUES ('name', 'The Old Bar'), ('currency', 'EUR'), ('time_zone', 'UTC');
             INSERT INTO supplier (name, name_key, email, customer_no, schedule, fee)
                 VALUES ('Van', 'van', 'van@example.com', 'K-1', 'Mon 14:00 > Wed', 900);",
        )
        .unwrap();
    let store = Store::open(&path).unwrap();
    let old = store.read(setup::load).unwrap();
    let van = &old.suppliers[0];
    assert_eq!(
        (van.email.as_deref(), van.fee, &van.party),
        (Some("van@example.com"), Some(Money(900)), &Party::default())
    );
    assert_eq!((&old.venue.party, old.venue.deliver_to.as_ref()), (&Party::default(), None));
    let party = Party {
        address: vec!["Shed 9".to_owned(), "Sandmouth".to_owned()],
        country: Country::parse("DE").ok(),
        vat_id: VatId::parse("DE 000 000 009").ok(),
        gln: Gln::parse("9520000900021").ok(),
        e_address: EAddress::parse("0088:9520000900021").ok(),
    };
    let contact = Contact { name: Some("Anneke".to_owned()), phone: Phone::parse("+49 000").ok(), email: None };
    let supplier = Supplier { party: party.clone(), ..van.clone() };
    let venue =
        Venue { party: party.clone(), contact, deliver_to: Some("By the yard".to_owned()), ..old.venue.clone() };
    store
        .write((Deed::Loaded, Moment(0)), |c| {
            setup::put_supplier(c, &supplier).and_then(|_| setup::put_venue(c, &venue))
        })
        .unwrap();
    let kept = store.read(setup::load).unwrap();
    assert_eq!((&kept.suppliers[0], &kept.venue), (&supplier, &venue));
    // And it can all be taken away again.
    let bare = Venue { party: Party::default(), contact: Contact::default(), deliver_to: None, ..venue };
    store.write((Deed::Loaded, Moment(0)), |c| setup::put_venue(c, &bare)).unwrap();
    assert_eq!(store.read(setup::load).unwrap().venue, bare);
}

/// A book of the third or the fourth version learns of files, bills and claims and keeps its sales and deliveries, which
/// came from no file that it knows.
#[test]
fn a_book_without_files_learns_them_and_keeps_what_it_had() {
    for before in [3, 4] {
        let folder = tempdir().unwrap();
        let path = folder.path().join("old.tantalus");
        drop(Store::create_with(&path, &STEPS[..before]).unwrap());
        raw(&path)
            .execute_batch(
                "INSERT INTO venue VALUES ('name', 'The Old Bar'), ('currency', 'EUR'), ('time_zone', 'UTC');
                 INSERT INTO supplier (id, name, name_key, schedule) VALUES (1, 'Van', 'van', '');
                 INSERT INTO item (id, name, name_key, kind, basis, size, count_by)
                     VALUES (1, 'Rum', 'rum', 'spirit', 'volume', 700000, 'tenths');
                 INSERT INTO till_name (id, name, name_key, mapped, drink, portion)
                     VALUES (1, 'RUM', 'rum', 1, NULL, 1000), (2, 'What', 'what', 0, NULL, 1000);
                 INSERT INTO sale (receipt, line, at, till, quantity, net, kind)
                     VALUES ('7', 1, 1000, 1, 1000, 900, 0), ('7', 2, 1000, 2, 2000, 1800, 0);
                 INSERT INTO journal (seq, venue, kind, at, day, entered)
                     VALUES (1, 'x', 'delivery', 500, '1970-01-01', 500);
                 INSERT INTO delivery (seq, document, line, supplier, item, containers, unit_price)
                     VALUES (1, 'L-1', 1, 1, 1, 6, 12500000);",
            )
            .unwrap();
        let store = Store::open(&path).unwrap();
        assert!(migrations::copy_before(&path, before as i64 + 1).exists());
        assert!(store.read(tantalus::store::check::all).unwrap().is_empty());
        let (rum, van) = store
            .read(|c| {
                let set = setup::load(c)?;
                let names: Vec<_> = set.till.iter().map(|t| (t.name.as_str(), t.code.as_deref(), t.means)).collect();
                assert_eq!(names, [("RUM", None, TillMeaning::Ignored), ("What", None, TillMeaning::Unknown)]);
                assert_eq!(sales::between(c, Moment(0), Moment(1_000))?.len(), 2);
                let delivered = journal::deliveries(c, Moment(0), Moment(1_000))?;
                assert_eq!((delivered[0].document.as_str(), delivered[0].containers), ("L-1", 6));
                assert!(files::newest(c, 9)?.is_empty() && layouts::list(c)?.is_empty());
                assert!(
                    bills::list(c)?.is_empty() && bills::claims(c)?.is_empty() && bills::known_codes(c)?.is_empty()
                );
                Ok::<_, StoreError>((set.till[0].id, set.suppliers[0].id))
            })
            .unwrap();
        // What it had can be deleted as little as before, and what it learned it can keep.
        let deleted = raw(&path).execute("DELETE FROM sale", []).unwrap_err().to_string();
        assert!(deleted.contains("append-only"), "{deleted}");
        store
            .write((Deed::Loaded, Moment(0)), |c| {
                setup::set_till_code(c, rum, Some("12"))?;
                bills::put_alias(c, &KnownAs::parse("vat DE 1").unwrap(), van)?;
                let sale =
                    Sale { at: Moment(2_000), till: rum, quantity: 1_000, net: Money(900), kind: SaleKind::Sale };
                assert_eq!(SaleWriter::new(c, None)?.put(&SaleLine { receipt: "8", line: 1, sale })?, Put::Added);
                assert_eq!(setup::load(c)?.till_name(rum).and_then(|t| t.code.clone()).as_deref(), Some("12"));
                Ok::<_, StoreError>(())
            })
            .unwrap();
    }
}

/// A book of the fifth version learns how drinks are measured out and what was accepted of gaps: it keeps its items and
/// counts, and where nothing is said of pours it has what a new book has.
#[test]
fn a_book_without_pours_and_causes_learns_them_and_keeps_what_it_had() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("old.tantalus");
    drop(Store::create_with(&path, &STEPS[..5]).unwrap());
    raw(&path)
        .execute_batch(
            "INSERT INTO venue VALUES ('name', 'The Old Bar'), ('currency', 'EUR'), ('time_zone', 'UTC'),
                 ('target_pour_cost', '18');
             INSERT INTO place (id, name, name_key, walk) VALUES (1, 'Rail', 'rail', 1);
             INSERT INTO item (id, name, name_key, kind, basis, size, count_by, par)
                 VALUES (1, 'Rum', 'rum', 'spirit', 'volume', 700000, 'tenths', 4000);
             INSERT INTO count (id, name, name_key, opened, blind) VALUES (1, 'One', 'one', 1000, 0);
             INSERT INTO count_line (count, place, item, at, sealed, open, method)
                 VALUES (1, 1, 1, 1000, 3, '.4', 'tenths');
             INSERT INTO count_closing (count, place, at) VALUES (1, NULL, 2000);",
        )
        .unwrap();
    let store = Store::open(&path).unwrap();
    assert!(migrations::copy_before(&path, 6).exists());
    assert!(store.read(tantalus::store::check::all).unwrap().is_empty());
    let (closing, rum) = store
        .read(|c| {
            let set = setup::load(c)?;
            assert_eq!(set.venue.pours, Pours::default());
            assert_eq!((set.venue.pours.jigger, set.venue.pours.free), (Amount(1_500), Amount(4_000)));
            assert_eq!((set.venue.false_alarms, set.venue.target_pour_cost), (500, 1_800));
            let rum = &set.items[0];
            assert_eq!((rum.name.as_str(), rum.par, rum.poured_by), ("Rum", Some(Containers(4_000)), None));
            let one = counts::find(c, "one")?.unwrap();
            let lines = counts::lines(c, one.id)?;
            assert_eq!((lines.len(), lines[0].entry.to_string()), (1, "3.4".to_owned()));
            assert!(explanations::list(c)?.is_empty());
            Ok::<_, StoreError>((one.id, rum.id))
        })
        .unwrap();
    // What it learned it can keep.
    let setup = store
        .write((Deed::Loaded, Moment(0)), |c| {
            let mut set = setup::load(c)?;
            set.venue.pours = Pours { by: PouredBy::Free, jigger: Amount(1_250), free: Amount(3_001) };
            set.venue.false_alarms = 1_025;
            setup::put_venue(c, &set.venue)?;
            set.items[0].poured_by = Some(PouredBy::Whole);
            setup::put_item(c, &set.items[0])?;
            explanations::add(c, &explanation(closing, rum), Moment(3_000))?;
            Ok::<_, StoreError>(set)
        })
        .unwrap();
    drop(store);
    let store = Store::open(&path).unwrap();
    let (again, accepted) = store.read(|c| Ok::<_, StoreError>((setup::load(c)?, explanations::list(c)?))).unwrap();
    assert_eq!((&again.venue, &again.items), (&setup.venue, &setup.items));
    assert_eq!(accepted.len(), 1);
}

/// A book of the sixth version learns which days are not as usual, how surely stock must last and whether a par is set by
/// hand: it keeps its suppliers with their weeks and its pars, and where nothing is said it has what a new book has.
#[test]
fn a_book_without_special_days_learns_them_and_keeps_what_it_had() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("old.tantalus");
    drop(Store::create_with(&path, &STEPS[..6]).unwrap());
    raw(&path)
        .execute_batch(
            "INSERT INTO venue VALUES ('name', 'The Old Bar'), ('currency', 'EUR'), ('time_zone', 'UTC'),
                 ('false_alarms', '2.5');
             INSERT INTO supplier (id, name, name_key, schedule) VALUES (1, 'Van', 'van', 'Mon 14:00 > Wed; Thu 14:00 > Sat');
             INSERT INTO item (id, name, name_key, kind, basis, size, count_by, par, poured_by)
                 VALUES (1, 'Rum', 'rum', 'spirit', 'volume', 700000, 'tenths', 4000, 'free'),
                        (2, 'Gin', 'gin', 'spirit', 'volume', 700000, 'tenths', NULL, NULL);",
        )
        .unwrap();
    let store = Store::open(&path).unwrap();
    assert!(migrations::copy_before(&path, 7).exists());
    assert!(store.read(tantalus::store::check::all).unwrap().is_empty());
    let had = store.read(setup::load).unwrap();
    assert_eq!((had.venue.service_levels.to_string().as_str(), had.venue.holding_cost), ("95 %", 2_000));
    assert_eq!((had.venue.false_alarms, had.suppliers[0].calendar.slots.len()), (250, 2));
    let pars: Vec<_> = had.items.iter().map(|i| (i.name.as_str(), i.par, i.par_from, i.par_is_from())).collect();
    assert_eq!(pars, [("Gin", None, None, ParFrom::Demand), ("Rum", Some(Containers(4_000)), None, ParFrom::Hand)]);
    assert_eq!((had.items[1].poured_by, had.special.all().len()), (Some(PouredBy::Free), 0));

    // What it learned it can keep.
    let van = had.suppliers[0].id;
    let day = |text: &str| NamedDay::parse(text).unwrap();
    let row = |from: &str, until: Option<&str>, what: &str, effect| SpecialDay {
        id: SpecialDayId::default(),
        days: Stretch::new(day(from), until.map(day)).unwrap(),
        what: what.to_owned(),
        effect,
    };
    let by = OrderBy::parse("2026-12-28 10:00").unwrap();
    let rows = [
        row("12-24", Some("01-02"), "Winter", DayEffect::Demand(Factor(800))),
        row("12-24", Some("01-02"), "Winter", DayEffect::SupplierClosed(van)),
        row("2026-12-29", None, "A van besides", DayEffect::ExtraVan { supplier: van, by }),
        // The same day and name as the first: it takes its place.
        row("12-24", None, "WINTER", DayEffect::Demand(Factor::CLOSED)),
    ];
    let setup = store
        .write((Deed::Loaded, Moment(0)), |c| {
            let mut set = setup::load(c)?;
            set.venue.service_levels = ServiceLevels::parse("96 %; wine 90 %").unwrap();
            set.venue.holding_cost = 0;
            setup::put_venue(c, &set.venue)?;
            set.items[1].par_from = Some(ParFrom::Demand);
            setup::put_item(c, &set.items[1])?;
            let ids: Vec<SpecialDayId> =
                rows.iter().map(|row| setup::put_special_day(c, row)).collect::<Result<_, _>>()?;
            assert!(ids[0] == ids[3] && ids[0] != ids[1] && ids[1] != ids[2]);
            Ok::<_, StoreError>(set)
        })
        .unwrap();
    drop(store);
    let store = Store::open(&path).unwrap();
    let again = store.read(setup::load).unwrap();
    assert_eq!((&again.venue, &again.items), (&setup.venue, &setup.items));
    let kept: Vec<_> = again.special.all().iter().map(|d| (d.what.as_str(), d.days, d.effect)).collect();
    let want: Vec<_> = [&rows[3], &rows[1], &rows[2]].map(|d| (d.what.as_str(), d.days, d.effect)).to_vec();
    assert_eq!(kept, want);
    // One is changed, one taken away; neither can be done twice.
    let mut changed = again.special.all()[0].clone();
    changed.days = Stretch::of_one(day("easter"));
    store
        .write((Deed::Loaded, Moment(0)), |c| {
            setup::set_special_day(c, &changed)?;
            setup::drop_special_day(c, again.special.all()[1].id)
        })
        .unwrap();
    let gone = again.special.all()[1].id;
    let refused = store.write((Deed::Loaded, Moment(0)), |c| setup::drop_special_day(c, gone)).unwrap_err();
    assert!(matches!(refused, StoreError::NotFound { kind: "special day", .. }), "{refused}");
    let left = store.read(setup::load).unwrap().special;
    assert_eq!(left.all().iter().map(|d| d.days.from().to_string()).collect::<Vec<_>>(), ["2026-12-29", "easter"]);

    // A row that no program of ours wrote is told, not guessed at.
    for (sql, says) in [
        ("UPDATE special_day SET day = '24-12' WHERE factor IS NOT NULL", "the special day WINTER says “24-12”"),
        ("UPDATE special_day SET day = '12-24', factor = 20001 WHERE factor IS NOT NULL", "a factor or a supplier"),
        ("UPDATE special_day SET order_by = '2027-01-01 10:00' WHERE supplier IS NOT NULL", "up to 60 days before"),
    ] {
        raw(&path).execute(sql, []).unwrap();
        let found = store.read(tantalus::store::check::all).unwrap();
        assert!(found.iter().any(|finding| finding.to_string().contains(says)), "{found:?}");
    }
    for sql in [
        "UPDATE special_day SET factor = 1000, supplier = 1",
        "INSERT INTO special_day (day, what, what_key, order_by, factor) VALUES ('12-24', 'a', 'a', '2026-12-28 10:00', 1)",
        "INSERT INTO special_day (day, what, what_key, supplier) VALUES ('12-24', 'a', 'a', 99)",
    ] {
        assert!(raw(&path).execute(sql, []).is_err(), "{sql}");
    }
}

fn explanation(closing: CountId, item: ItemId) -> Explanation {
    let (cause, by) = (CauseWord::Gone, Some("AB".to_owned()));
    Explanation { seq: Seq(0), at: Moment(2_500), closing, item, cause, by, note: None }
}

/// A weighing is never changed; taken back, it is not in force any more, and only once.
#[test]
fn weighings_only_grow() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let rum = store.read(setup::load).unwrap().items[0].id;
    let fact = Weighing {
        seq: Seq(0),
        at: Moment(5_000),
        item: rum,
        state: WeighedAs::Opened,
        weight: Mass { mg: 812_500, step: 100 },
        seen: Some(Reading::parse(".45").unwrap()),
        mark: Some("B".to_owned()),
        place: None,
        by: Some("OM".to_owned()),
    };
    let seq = store.write((Deed::Loaded, Moment(0)), |c| weighings::add(c, &fact, Moment(6_000))).unwrap();
    let kept = store.read(weighings::list).unwrap();
    assert_eq!(kept, [Weighing { seq, ..fact }]);
    for change in ["UPDATE weighing SET weight = '1g'", "DELETE FROM weighing"] {
        let refused = raw(store.path()).execute_batch(change).unwrap_err().to_string();
        assert!(refused.contains("append-only"), "{refused}");
    }
    store.write((Deed::Loaded, Moment(0)), |c| weighings::reverse(c, seq, None, Moment(7_000))).unwrap();
    assert!(store.read(weighings::list).unwrap().is_empty());
    let again = store.write((Deed::Loaded, Moment(0)), |c| weighings::reverse(c, seq, None, Moment(8_000)));
    assert!(matches!(again, Err(StoreError::NotFound { .. })));
}

#[test]
fn a_step_that_fails_leaves_the_book_as_it_was() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let path = store.path().to_owned();
    drop(store);
    let broken = "CREATE TABLE extra (x INTEGER) STRICT; INSERT INTO nowhere VALUES (1);";
    let steps: Vec<&str> = STEPS.iter().copied().chain([broken]).collect();
    assert!(matches!(Store::open_with(&path, &steps), Err(StoreError::Sql { .. })));
    let store = Store::open(&path).unwrap();
    assert_eq!(store.read(setup::load).unwrap().items.len(), 2);
    assert!(migrations::copy_before(&path, NEXT_STEP).exists());
}

#[test]
fn openers_that_race_run_each_step_once() {
    for round in 0..10 {
        let folder = tempdir().unwrap();
        let path = folder.path().join("bar.tantalus");
        if round % 2 == 0 {
            drop(Store::create(&path).unwrap());
        }
        let start = Arc::new(Barrier::new(4));
        let racers: Vec<_> = (0..4)
            .map(|_| {
                let (path, start) = (path.clone(), Arc::clone(&start));
                std::thread::spawn(move || {
                    start.wait();
                    match Store::create_with(&path, &one_more_step()) {
                        Err(StoreError::Exists { .. }) => Store::open_with(&path, &one_more_step()).map(|_| ()),
                        other => other.map(|_| ()),
                    }
                })
            })
            .collect();
        for racer in racers {
            racer.join().unwrap().unwrap();
        }
        let rows: i64 = raw(&path).query_row("SELECT count(*) FROM extra", [], |r| r.get(0)).unwrap();
        assert_eq!(rows, 1);
        if round % 2 == 0 {
            assert!(Store::open(&migrations::copy_before(&path, NEXT_STEP)).is_ok());
        }
        let left: Vec<_> = std::fs::read_dir(folder.path())
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .filter(|n| n.contains(".part-"))
            .collect();
        assert!(left.is_empty(), "{left:?}");
    }
}

#[test]
fn another_terminals_writing_is_noticed_and_our_own_is_not() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let other = Store::open(store.path()).unwrap();
    let before = store.data_version().unwrap();
    store.write((Deed::Loaded, Moment(0)), |c| setup::put_place(c, "Rail", 3)).unwrap();
    assert_eq!(store.data_version().unwrap(), before);
    other.write((Deed::Loaded, Moment(0)), |c| setup::put_place(c, "Fridge", 4)).unwrap();
    assert_ne!(store.data_version().unwrap(), before);
}

#[test]
fn a_use_case_that_fails_leaves_nothing() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let failed: Result<(), StoreError> = store.write((Deed::Loaded, Moment(0)), |c| {
        setup::put_place(c, "Rail", 3)?;
        Err(StoreError::NotFound { kind: "thing", id: 1 })
    });
    assert!(failed.is_err());
    assert_eq!(store.read(setup::load).unwrap().places.len(), 2);
    // And the book is free for the next one.
    store.write((Deed::Loaded, Moment(0)), |c| setup::put_place(c, "Rail", 3)).unwrap();
}

fn count_line(
    count: tantalus::domain::venue::CountId,
    place: PlaceId,
    item: ItemId,
    at: i64,
    typed: &str,
) -> CountLine {
    CountLine {
        count,
        place,
        item,
        at: Moment(at),
        entry: Entry::parse(typed).unwrap(),
        method: CountMethod::Tenths,
        by: Some("AB".to_owned()),
    }
}

#[test]
fn facts_cannot_be_changed_or_deleted() {
    let folder = tempdir().unwrap();
    let (store, places, items, supplier) = book(folder.path());
    store
        .write((Deed::Loaded, Moment(0)), |c| {
            let [a, b] = places;
            let now = Moment(9);
            let delivery = Delivery {
                seq: Seq(0),
                document: "1".to_owned(),
                line: 1,
                at: Moment(1),
                supplier,
                item: items[0],
                containers: 6,
                unit_price: Price(12_000_000),
                place: None,
                deposit: None,
            };
            journal::add_delivery(c, &delivery, None, now, day())?;
            journal::add_loss(c, &loss(items[0], 1), None, now, day())?;
            let transfer = Transfer {
                seq: Seq(0),
                at: Moment(1),
                item: items[0],
                containers: Containers(1_000),
                from: a,
                to: b,
                by: None,
            };
            journal::add_transfer(c, &transfer, None, now, day())?;
            let batch = Batch { seq: Seq(0), at: Moment(1), item: items[0], made: Amount(5), by: None, note: None };
            journal::add_batch(c, &batch, None, now, day())?;
            let count = counts::begin(c, "One", Moment(1), false, None, &places)?;
            counts::put_line(c, &count_line(count, a, items[0], 2, "3.4"))?;
            counts::close(c, count, Moment(3))?;
            explanations::add(c, &explanation(count, items[0]), now)?;
            let till = setup::put_till(c, "G&T", TillMeaning::Unknown)?;
            put_sale(c, "1", 1, till, 1)
        })
        .unwrap();
    let conn = raw(store.path());
    for table in [
        "journal",
        "delivery",
        "loss",
        "transfer",
        "batch",
        "sale",
        "count",
        "count_closing",
        "count_line",
        "explanation",
    ] {
        let rows: i64 = conn.query_row(&format!("SELECT count(*) FROM {table}"), [], |r| r.get(0)).unwrap();
        assert!(rows > 0, "{table}");
        let column: String = conn
            .query_row(&format!("SELECT name FROM pragma_table_info('{table}') LIMIT 1 OFFSET 1"), [], |r| r.get(0))
            .unwrap();
        for sql in [format!("UPDATE {table} SET {column} = {column}"), format!("DELETE FROM {table}")] {
            let refused = conn.execute(&sql, []).unwrap_err().to_string();
            assert!(refused.contains("append-only"), "{sql}: {refused}");
        }
    }
}

fn loss(item: ItemId, at: i64) -> Loss {
    Loss {
        seq: Seq(0),
        at: Moment(at),
        item,
        amount: Amount(40_000),
        reason: Reason::Spill,
        place: None,
        by: Some("AB".to_owned()),
        note: None,
    }
}

fn put_sale(
    c: &tantalus::store::Connection,
    receipt: &str,
    line: i64,
    till: TillId,
    at: i64,
) -> Result<(), StoreError> {
    let sale = Sale { at: Moment(at), till, quantity: 1_000, net: Money(950), kind: SaleKind::Sale };
    assert_eq!(SaleWriter::new(c, None)?.put(&SaleLine { receipt, line, sale })?, Put::Added);
    Ok(())
}

#[test]
fn a_fact_taken_back_is_out_of_force_once() {
    let folder = tempdir().unwrap();
    let (store, _, items, _) = book(folder.path());
    let seq = store
        .write((Deed::Loaded, Moment(0)), |c| {
            let seq = journal::add_loss(c, &loss(items[0], 10), None, Moment(11), day())?;
            journal::add_loss(c, &loss(items[1], 20), Some("CD"), Moment(21), day())?;
            Ok::<_, StoreError>(seq)
        })
        .unwrap();
    let spans = |after, until| store.read(|c| journal::movements(c, Moment(after), Moment(until))).unwrap().losses;
    assert_eq!(spans(0, 20).len(), 2);
    assert_eq!(spans(10, 20).len(), 1);
    assert_eq!(spans(0, 19).len(), 1);
    assert_eq!(spans(10, 20)[0].by.as_deref(), Some("CD"));
    let back = store.write((Deed::Loaded, Moment(0)), |c| journal::reverse(c, seq, Some("AB"), Moment(30))).unwrap();
    for again in [seq, back, Seq(99)] {
        let refused = store.write((Deed::Loaded, Moment(0)), |c| journal::reverse(c, again, None, Moment(31)));
        assert!(matches!(refused, Err(StoreError::NotFound { .. })), "{again:?}");
    }
    assert_eq!(spans(0, 20).len(), 1);
    let recent = store.read(|c| journal::recent_losses(c, 10)).unwrap();
    assert_eq!(recent.iter().map(|l| l.item).collect::<Vec<_>>(), [items[1]]);
}

#[test]
fn the_price_last_paid_is_that_of_the_latest_delivery_in_force() {
    let folder = tempdir().unwrap();
    let (store, _, items, supplier) = book(folder.path());
    let deliver = |line: i64, at: i64, item, containers, price| {
        let delivery = Delivery {
            seq: Seq(0),
            document: "D".to_owned(),
            line,
            at: Moment(at),
            supplier,
            item,
            containers,
            unit_price: Price(price),
            place: None,
            deposit: None,
        };
        store
            .write((Deed::Loaded, Moment(0)), |c| journal::add_delivery(c, &delivery, None, Moment(at), day()))
            .unwrap()
    };
    // Entered late: the newest row is not the latest delivery.
    deliver(1, 200, items[0], 6, 20);
    deliver(2, 100, items[0], 6, 10);
    deliver(3, 300, items[0], -2, 30);
    let wrong = deliver(4, 400, items[0], 1, 40);
    let paid = |until| store.read(|c| journal::last_paid(c, Moment(until))).unwrap().get(&items[0]).copied();
    assert_eq!(paid(1_000), Some(Price(40)));
    store.write((Deed::Loaded, Moment(0)), |c| journal::reverse(c, wrong, None, Moment(500))).unwrap();
    assert_eq!((paid(1_000), paid(150), paid(99)), (Some(Price(20)), Some(Price(10)), None));
    let had = store.read(|c| journal::delivery_line(c, supplier, "D", 3)).unwrap().unwrap();
    assert_eq!(had.containers, -2);
    assert_eq!(store.read(|c| journal::delivery_line(c, supplier, "D", 4)).unwrap(), None);
}

#[test]
fn a_price_beyond_the_near_past_is_found_too() {
    let folder = tempdir().unwrap();
    let (store, _, items, supplier) = book(folder.path());
    store
        .write((Deed::Loaded, Moment(0)), |c| {
            for line in 0..4_100 {
                let (item, price) = if line == 0 { (items[1], 7) } else { (items[0], line) };
                let delivery = Delivery {
                    seq: Seq(0),
                    document: "D".to_owned(),
                    line,
                    at: Moment(line),
                    supplier,
                    item,
                    containers: 1,
                    unit_price: Price(price),
                    place: None,
                    deposit: None,
                };
                journal::add_delivery(c, &delivery, None, Moment(line), day())?;
            }
            Ok::<_, StoreError>(())
        })
        .unwrap();
    let paid = store.read(|c| journal::last_paid(c, Moment(10_000))).unwrap();
    assert_eq!((paid.get(&items[0]), paid.get(&items[1])), (Some(&Price(4_099)), Some(&Price(7))));
}

#[test]
fn a_counted_line_is_replaced_taken_back_and_fixed_by_closing() {
    let folder = tempdir().unwrap();
    let (store, [bar, cellar], [gin, rum], _) = book(folder.path());
    let first = store
        .write((Deed::Loaded, Moment(0)), |c| {
            let first = counts::begin(c, "One", Moment(1), false, Some("AB"), &[bar, cellar])?;
            counts::put_line(c, &count_line(first, bar, gin, 10, "3.4"))?;
            counts::put_line(c, &count_line(first, bar, gin, 11, "3.5"))?;
            counts::put_line(c, &count_line(first, cellar, rum, 12, "6"))?;
            counts::close_place(c, first, bar, Moment(13))?;
            Ok::<_, StoreError>(first)
        })
        .unwrap();
    let lines = |id| {
        let mut found: Vec<String> =
            store.read(|c| counts::lines(c, id)).unwrap().iter().map(|l| l.entry.to_string()).collect();
        found.sort();
        found
    };
    assert_eq!(lines(first), ["3.5", "6"]);
    assert_eq!(store.read(|c| counts::closed_places(c, first)).unwrap(), [bar]);
    assert_eq!(store.read(|c| counts::places(c, first)).unwrap(), [bar, cellar]);
    let twice = store.write((Deed::Loaded, Moment(0)), |c| counts::close_place(c, first, bar, Moment(14)));
    assert!(matches!(twice, Err(StoreError::NotFound { .. })));
    assert_eq!(store.read(counts::open_count).unwrap().unwrap().id, first);
    store.write((Deed::Loaded, Moment(0)), |c| counts::close(c, first, Moment(15))).unwrap();
    assert_eq!(store.read(counts::open_count).unwrap(), None);
    let late = store.write((Deed::Loaded, Moment(0)), |c| counts::put_line(c, &count_line(first, bar, gin, 16, "9")));
    assert!(matches!(late, Err(StoreError::NotFound { .. })));
    assert!(store.write((Deed::Loaded, Moment(0)), |c| counts::close(c, first, Moment(17))).is_err());

    // A second count sees the gin again, and takes it back: the first count's line is the latest once more.
    let second = store
        .write((Deed::Loaded, Moment(0)), |c| {
            let second = counts::begin(c, "Two", Moment(100), true, None, &[bar])?;
            counts::put_line(c, &count_line(second, bar, gin, 101, "1.1"))?;
            Ok::<_, StoreError>(second)
        })
        .unwrap();
    let latest = || {
        let mut found: Vec<String> = store
            .read(|c| counts::latest(c, Moment(i64::MAX), None))
            .unwrap()
            .iter()
            .map(|l| l.entry.to_string())
            .collect();
        found.sort();
        found
    };
    assert_eq!(latest(), ["1.1", "6"]);
    store.write((Deed::Loaded, Moment(0)), |c| counts::withdraw(c, second, bar, gin, Moment(102), Some("AB"))).unwrap();
    assert_eq!(latest(), ["3.5", "6"]);
    assert!(lines(second).is_empty());
    let history = store.read(|c| counts::history(c, second)).unwrap();
    assert_eq!(history.iter().map(|r| r.withdrawn).collect::<Vec<_>>(), [true, false]);
    assert_eq!(store.read(|c| counts::last_rows(c, first, 2)).unwrap().len(), 2);
    let since = |at| store.read(|c| counts::item_lines_since(c, gin, Moment(at))).unwrap().len();
    assert_eq!((since(0), since(11), since(12)), (1, 1, 0));
    let list = store.read(counts::list).unwrap();
    assert_eq!(
        list.iter().map(|c| (c.name.as_str(), c.closed)).collect::<Vec<_>>(),
        [("Two", None), ("One", Some(Moment(15)))]
    );
    assert_eq!(store.read(|c| counts::find(c, " oNe ")).unwrap().unwrap().id, first);
}

#[test]
fn a_receipt_line_is_kept_once() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let till = store.write((Deed::Loaded, Moment(0)), |c| setup::put_till(c, "G&T", TillMeaning::Unknown)).unwrap();
    let sale = |at, net| Sale { at: Moment(at), till, quantity: 1_000, net: Money(net), kind: SaleKind::Comp };
    store
        .write((Deed::Loaded, Moment(0)), |c| {
            let mut writer = SaleWriter::new(c, None)?;
            let mut put = |line, sale| writer.put(&SaleLine { receipt: "7", line, sale });
            assert_eq!(put(1, sale(10, 900))?, Put::Added);
            assert_eq!(put(2, sale(20, 900))?, Put::Added);
            assert_eq!(put(2, sale(20, 900))?, Put::Twice);
            Ok::<_, StoreError>(())
        })
        .unwrap();
    store
        .write((Deed::Loaded, Moment(0)), |c| {
            let mut writer = SaleWriter::new(c, None)?;
            assert_eq!(writer.put(&SaleLine { receipt: "7", line: 1, sale: sale(10, 900) })?, Put::Same);
            let other = writer.put(&SaleLine { receipt: "7", line: 1, sale: sale(10, 901) })?;
            assert_eq!(other, Put::Different(sale(10, 900)));
            Ok::<_, StoreError>(())
        })
        .unwrap();
    let between = |after, until| store.read(|c| sales::between(c, Moment(after), Moment(until))).unwrap();
    assert_eq!(between(10, 20), [sale(20, 900)]);
    assert_eq!(between(9, 19), [sale(10, 900)]);
    let rung = store.read(|c| sales::rung(c, Moment(0))).unwrap();
    let all = RungAs { lines: 2, goods: 2, quantity: 2_000, net: Money(1_800), last: Moment(20) };
    assert_eq!(rung, [(till, all)]);
    assert_eq!(store.read(sales::last).unwrap(), Some(Moment(20)));
    store.write((Deed::Loaded, Moment(0)), |c| setup::put_till(c, "g&t", TillMeaning::Ignored)).unwrap();
    // Seen again in sales: what it means stays.
    assert_eq!(
        store.write((Deed::Loaded, Moment(0)), |c| setup::put_till(c, "G&T", TillMeaning::Unknown)).unwrap(),
        till
    );
    let means = |c: &Connection| setup::load(c).map(|s| s.till_name(till).map(|t| t.means));
    assert_eq!(store.read(means).unwrap(), Some(TillMeaning::Ignored));
    store.write((Deed::Loaded, Moment(0)), |c| setup::set_till(c, till, TillMeaning::Unknown)).unwrap();
    assert_eq!(store.read(means).unwrap(), Some(TillMeaning::Unknown));
}

#[test]
fn the_figure_of_a_day_is_brought_up_to_what_a_later_file_knows() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let till = store.write((Deed::Loaded, Moment(0)), |c| setup::put_till(c, "G&T", TillMeaning::Unknown)).unwrap();
    let total = |quantity, net| Sale { at: Moment(10), till, quantity, net: Money(net), kind: SaleKind::Sale };
    let put = |quantity, net| {
        let receipt = "day 2026-11-20 G&T";
        let put = |c: &Connection| {
            let mut writer = SaleWriter::new(c, None)?;
            let known = writer.total(receipt)?;
            let put = writer.put_total(receipt, &known, total(quantity, net))?;
            assert_eq!(put, known.compared(total(quantity, net)), "looked at as it is put");
            Ok::<_, StoreError>(put)
        };
        store.write((Deed::Loaded, Moment(0)), put).unwrap()
    };
    assert_eq!(put(0, 0), Put::Nothing);
    assert_eq!(put(12_000, 10_800), Put::Added);
    assert_eq!(put(12_000, 10_800), Put::Same);
    assert_eq!(put(14_000, 12_600), Put::Corrected { quantity: 12_000, net: Money(10_800) });
    assert_eq!(put(14_000, 12_600), Put::Same);
    assert_eq!(put(0, 0), Put::Corrected { quantity: 14_000, net: Money(12_600) });
    assert_eq!(put(13_000, 11_700), Put::Corrected { quantity: 0, net: Money::ZERO });
    let rung = store.read(|c| sales::rung(c, Moment(0))).unwrap();
    assert_eq!((rung[0].1.quantity, rung[0].1.net), (13_000, Money(11_700)));
}

#[test]
fn a_file_taken_back_is_reckoned_with_no_more_and_its_lines_are_kept() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let till = store.write((Deed::Loaded, Moment(0)), |c| setup::put_till(c, "G&T", TillMeaning::Unknown)).unwrap();
    let sale = Sale { at: Moment(10), till, quantity: 1_000, net: Money(900), kind: SaleKind::Sale };
    let take = |receipt: &str| {
        store
            .write((Deed::Loaded, Moment(0)), |c| {
                let id = files::next(c)?;
                files::add(
                    c,
                    &TakenFile {
                        id,
                        digest: "ab".to_owned(),
                        name: "week.csv".to_owned(),
                        size: 7,
                        modified: None,
                        what: TakenAs::Sales,
                        form: None,
                        added: 1,
                        at: Moment(30),
                        by: None,
                        withdrawn: false,
                    },
                )?;
                let put = SaleWriter::new(c, Some(id))?.put(&SaleLine { receipt, line: 1, sale })?;
                assert_eq!(put, Put::Added);
                Ok::<_, StoreError>(id)
            })
            .unwrap()
    };
    let (first, other) = (take("1"), take("2"));
    assert_eq!(
        store.write((Deed::Loaded, Moment(0)), |c| files::withdraw(c, first, Some("AB"), Moment(40))).unwrap(),
        1
    );
    let rung = store.read(|c| sales::rung(c, Moment(0))).unwrap();
    assert_eq!(rung[0].1.lines, 1, "the other file's line stays");
    assert!(
        store.write((Deed::Loaded, Moment(0)), |c| files::withdraw(c, first, None, Moment(50))).is_err(),
        "only once"
    );
    let kept = store
        .read(|c| Ok::<i64, StoreError>(c.query_row("SELECT count(*) FROM withdrawn_sale", [], |r| r.get(0)).unwrap()));
    let kept = kept.unwrap();
    assert_eq!(kept, 1);
    assert_eq!(store.read(|c| files::of_content(c, "ab")).unwrap().map(|f| f.id), Some(other));
    let newest = store.read(|c| files::newest(c, 9)).unwrap();
    assert_eq!(newest.iter().map(|f| (f.id, f.withdrawn)).collect::<Vec<_>>(), [(other, false), (first, true)]);
    // Its place is free: the same receipt can be taken in again, rightly this time.
    take("1");
    // No other sale can be deleted.
    let deleted = store
        .write((Deed::Loaded, Moment(0)), |c| Ok::<_, StoreError>(c.execute("DELETE FROM sale", []).is_err()))
        .unwrap();
    assert!(deleted);
}

/// A book out of plain files knows which files were taken in, and of no sale which of them it came from.
#[test]
fn a_file_whose_sales_nothing_tells_is_not_taken_back() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let till = store.write((Deed::Loaded, Moment(0)), |c| setup::put_till(c, "G&T", TillMeaning::Unknown)).unwrap();
    let file = |what, added| {
        let file = TakenFile {
            id: tantalus::domain::venue::FileId(0),
            digest: format!("{added:064x}"),
            name: "week.csv".to_owned(),
            size: 7,
            modified: None,
            what,
            form: None,
            added,
            at: Moment(30),
            by: None,
            withdrawn: false,
        };
        let add = |c: &Connection| {
            let id = files::next(c)?;
            files::add(c, &TakenFile { id, ..file })?;
            Ok::<_, StoreError>(id)
        };
        store.write((Deed::Loaded, Moment(0)), add).unwrap()
    };
    store.write((Deed::Loaded, Moment(0)), |c| put_sale(c, "1", 1, till, 10)).unwrap();
    let (sold, nothing_new, aside) = (file(TakenAs::Sales, 1), file(TakenAs::Sales, 0), file(TakenAs::SetAside, 0));
    let withdraw = |id| store.write((Deed::Loaded, Moment(0)), |c| files::withdraw(c, id, None, Moment(40)));
    let refused = withdraw(sold).unwrap_err();
    assert!(matches!(&refused, StoreError::SalesNotTold { name } if name == "week.csv"), "{refused}");
    assert!(refused.to_string().contains("do not say which sales came from which file"), "{refused}");
    // It held lines of another file: which ones nothing says either.
    assert!(matches!(withdraw(nothing_new), Err(StoreError::SalesNotTold { .. })));
    assert_eq!(withdraw(aside).unwrap(), 0);
    let states = store.read(|c| files::newest(c, 9)).unwrap();
    assert_eq!(states.iter().map(|f| f.withdrawn).collect::<Vec<_>>(), [true, false, false]);
    assert_eq!(store.read(|c| sales::rung(c, Moment(0))).unwrap()[0].1.lines, 1);
}

fn layout(name: &str, heads: &[(&str, Field)]) -> Layout {
    Layout {
        name: name.to_owned(),
        columns: heads.iter().map(|(head, field)| LayoutColumn { head: (*head).to_owned(), field: *field }).collect(),
        decimal: DecimalMark::Comma,
        dates: DateOrder::DayFirst,
        amounts: Amounts::Totals,
        tax: Some(1_900),
    }
}

#[test]
fn a_layout_is_kept_under_its_name_and_one_for_its_heads() {
    let folder = tempdir().unwrap();
    let (store, ..) = book(folder.path());
    let put = |layout: &Layout| store.write((Deed::Loaded, Moment(0)), |c| layouts::put(c, layout)).unwrap();
    let list = || store.read(layouts::list).unwrap();
    let evening = layout("Evening", &[("Artikel", Field::Name), ("Menge", Field::Quantity), ("", Field::Ignore)]);
    assert!(put(&evening));
    assert!(!put(&evening), "the same again is no change");
    assert_eq!(list(), std::slice::from_ref(&evening));
    // Another reading of the same columns, in fewer of them, under the name in other letters.
    let other = Layout { tax: None, ..layout("EVENING", &[("Artikel", Field::Name), ("Menge", Field::Quantity)]) };
    assert!(put(&other));
    assert_eq!(list(), std::slice::from_ref(&other));
    let bar = layout("Bar", &[("Item", Field::Name), ("Menge", Field::Quantity)]);
    assert!(put(&bar));
    assert_eq!(list(), [bar.clone(), other.clone()]);
    // Two layouts for one head would leave to chance which is used: the new one stands in the place of the old.
    let renamed = Layout { name: "Till by the door".to_owned(), ..other };
    assert!(put(&renamed));
    assert_eq!(list(), [bar.clone(), renamed.clone()]);
    // Without any heads, a layout fits nothing by itself, and is in nobody's way.
    let (bare, other_bare) = (layout("Bare", &[("", Field::Name)]), layout("Bare 2", &[("", Field::Name)]));
    assert!(put(&bare) && put(&other_bare));
    assert_eq!(list().len(), 4);
    let forget = |name: &str| store.write((Deed::Loaded, Moment(0)), |c| layouts::forget(c, name)).unwrap();
    assert!(forget(" bar ") && !forget("Bar"));
    assert_eq!(list(), [bare, other_bare, renamed]);
    let columns: i64 =
        raw(store.path()).query_row("SELECT count(*) FROM till_layout_column", [], |row| row.get(0)).unwrap();
    assert_eq!(columns, 4);
}

fn code(text: &str) -> CodeKey {
    CodeKey::parse(text).unwrap()
}

#[test]
fn a_suppliers_code_is_explained_once_for_each_unit() {
    let folder = tempdir().unwrap();
    let (store, _, [gin, rum], van) = book(folder.path());
    let other = store.write((Deed::Loaded, Moment(0)), |c| setup::put_supplier(c, &supplier("Cart"))).unwrap();
    let known =
        |supplier, key: &str, unit: &str, means| KnownCode { supplier, key: code(key), unit: unit.to_owned(), means };
    let of = |item, containers, units| Means::Item { item, rate: Rate::new(containers, units).unwrap() };
    let put = |known: &KnownCode| store.write((Deed::Loaded, Moment(0)), |c| bills::put_code(c, known)).unwrap();
    let case = known(van, "code 7", "XCS", of(gin, 6, 1));
    assert!(put(&case));
    assert!(!put(&case), "the same again is no change");
    assert!(put(&known(van, "code 7", "XBO", of(gin, 1, 1))));
    assert!(put(&known(van, "code 7", "KGM", of(rum, 25, 2))));
    assert!(put(&known(van, "name deposit", "", Means::Deposit)));
    assert!(put(&known(other, "code 7", "XCS", Means::NotStock)));
    // What it meant before is forgotten; a unit in other letters is the same.
    assert!(put(&known(van, "code 7", "xcs", of(gin, 12, 1))));
    assert!(!put(&known(van, "code 7", "Xcs", of(gin, 12, 1))));
    assert!(put(&known(van, "code 7", "XBO", Means::NotStock)));
    assert!(put(&known(other, "code 7", "XCS", of(rum, 1, 2))));
    let mut kept = store.read(bills::known_codes).unwrap();
    kept.sort_by_key(|k| (k.supplier, k.key.clone(), k.unit.clone()));
    let want = [
        known(van, "code 7", "KGM", of(rum, 25, 2)),
        known(van, "code 7", "XBO", Means::NotStock),
        known(van, "code 7", "XCS", of(gin, 12, 1)),
        known(van, "name deposit", "", Means::Deposit),
        known(other, "code 7", "XCS", of(rum, 1, 2)),
    ];
    assert_eq!(kept, want);
    // Only an item has a rate, and always one.
    for row in ["'item', NULL, NULL, NULL", "'item', 1, 0, 1", "'deposit', 1, 1, 1", "'thing', NULL, NULL, NULL"] {
        let sql = format!("INSERT INTO supplier_code VALUES ({}, 'code 9', '', {row})", van.0);
        assert!(raw(store.path()).execute(&sql, []).is_err(), "{row}");
    }
}

#[test]
fn what_a_supplier_calls_itself_belongs_to_one() {
    let folder = tempdir().unwrap();
    let (store, _, _, van) = book(folder.path());
    let cart = store.write((Deed::Loaded, Moment(0)), |c| setup::put_supplier(c, &supplier("Cart"))).unwrap();
    let put = |text: &str, id| {
        store.write((Deed::Loaded, Moment(0)), |c| bills::put_alias(c, &KnownAs::parse(text).unwrap(), id)).unwrap()
    };
    assert!(put("vat DE 123", van));
    assert!(!put("vat de123", van), "the same again is no change");
    assert!(put("name The Van", van));
    assert!(put("VAT DE123", cart), "somebody said so later");
    let kept = store.read(bills::aliases).unwrap();
    let kept: Vec<_> = kept.iter().map(|(known_as, id)| (known_as.as_str(), *id)).collect();
    assert_eq!(kept, [("name the van", van), ("vat de123", cart)]);
}

fn bill(supplier: SupplierId, number: &str, kind: DocumentKind) -> Bill {
    Bill {
        id: BillId(0),
        supplier,
        number: number.to_owned(),
        key: Bill::key(number, kind),
        kind,
        issued: day(),
        delivery: Some("L-1".to_owned()),
        goods: Money(9_000),
        deposits: Money(-310),
        charges: Money(750),
        other: Money(0),
        payable: None,
        at: Moment(7_250),
        by: Some("AB".to_owned()),
    }
}

#[test]
fn a_bill_is_kept_once_and_found_by_its_key() {
    let folder = tempdir().unwrap();
    let (store, _, _, van) = book(folder.path());
    let cart = store.write((Deed::Loaded, Moment(0)), |c| setup::put_supplier(c, &supplier("Cart"))).unwrap();
    let add = |bill: &Bill| store.write((Deed::Loaded, Moment(0)), |c| bills::add(c, bill, &BillDid::default()));
    let invoice = bill(van, "R 26-0318", DocumentKind::Invoice);
    let id = add(&invoice).unwrap();
    let kept = Bill { id, ..invoice.clone() };
    let find = |supplier, number: &str, kind| {
        store.read(|c| bills::find(c, supplier, &Bill::key(number, kind))).unwrap().map(|b| b.id)
    };
    assert_eq!(store.read(bills::list).unwrap(), [kept]);
    for number in ["R 26-0318", "r26-0318", " R  26 - 0318"] {
        assert_eq!(find(van, number, DocumentKind::Corrected), Some(id), "{number}");
        assert_eq!(find(van, number, DocumentKind::CreditNote), None, "{number}");
        assert_eq!(find(cart, number, DocumentKind::Invoice), None, "{number}");
    }
    assert!(add(&bill(van, "r 26-0318", DocumentKind::Partial)).is_err(), "the same bill twice");
    let credit = add(&bill(van, "R 26-0318", DocumentKind::CreditNote)).unwrap();
    let theirs = Bill { payable: Some(Money(1_123)), delivery: None, by: None, ..bill(cart, "1", DocumentKind::Other) };
    let theirs = Bill { id: add(&theirs).unwrap(), ..theirs };
    let list = store.read(bills::list).unwrap();
    assert_eq!(list.iter().map(|b| b.id).collect::<Vec<_>>(), [id, credit, theirs.id]);
    assert_eq!(list[2], theirs);
    // Taken back, it is in the way of none, and found no more.
    store.write((Deed::Loaded, Moment(0)), |c| bills::withdraw(c, id, Some("AB"), Moment(30))).unwrap();
    assert_eq!(find(van, "R 26-0318", DocumentKind::Invoice), None);
    assert!(store.write((Deed::Loaded, Moment(0)), |c| bills::withdraw(c, id, None, Moment(31))).is_err(), "once");
    let again = add(&invoice).unwrap();
    assert_eq!(store.read(|c| bills::newest(c, 1)).unwrap()[0].id, again);
    assert!(add(&invoice).is_err());
    for sql in ["DELETE FROM bill_withdrawal", "UPDATE bill_withdrawal SET at = 0"] {
        let refused = raw(store.path()).execute(sql, []).unwrap_err().to_string();
        assert!(refused.contains("bills are kept"), "{sql}: {refused}");
    }
    for sql in ["UPDATE bill SET goods = 0", "DELETE FROM bill"] {
        let refused = raw(store.path()).execute(sql, []).unwrap_err().to_string();
        assert!(refused.contains("bills are kept"), "{sql}: {refused}");
    }
}

#[test]
fn a_claim_is_settled_once_and_never_changed() {
    let folder = tempdir().unwrap();
    let (store, _, [gin, _], van) = book(folder.path());
    let claim = |item, kind, money| bills::NewClaim {
        supplier: van,
        document: "R 1",
        item,
        kind,
        containers: 2,
        money: Money(money),
        note: "two are missing",
        bill: None,
    };
    let add = |new: &bills::NewClaim<'_>| {
        store.write((Deed::Loaded, Moment(0)), |c| bills::add_claim(c, new, Some("AB"), Moment(10))).unwrap()
    };
    let (short, dearer) = (add(&claim(Some(gin), ClaimKind::Short, 3_720)), add(&claim(None, ClaimKind::Dearer, 50)));
    let open = || store.read(bills::open_claims).unwrap().iter().map(|c| c.id).collect::<Vec<_>>();
    assert_eq!(open(), [short, dearer]);
    let settle =
        |id, how: &str| store.write((Deed::Loaded, Moment(0)), |c| bills::settle(c, id, how, None, None, Moment(20)));
    settle(short, "credit note G 1").unwrap();
    let again = settle(short, "in cash").unwrap_err();
    assert!(matches!(again, StoreError::NotFound { kind: "open claim", .. }), "{again}");
    assert!(settle(tantalus::domain::venue::ClaimId(99), "x").is_err());
    assert_eq!(open(), [dearer]);
    let all = store.read(bills::claims).unwrap();
    assert_eq!(
        (all[0].item, all[0].kind, all[0].money, all[0].containers),
        (Some(gin), ClaimKind::Short, Money(3_720), 2)
    );
    assert_eq!((all[0].note.as_str(), all[0].by.as_deref(), all[0].at), ("two are missing", Some("AB"), Moment(10)));
    assert_eq!(all[0].settled, Some((Moment(20), None, "credit note G 1".to_owned())));
    assert_eq!((all[1].item, all[1].settled.clone()), (None, None));
    for table in ["claim", "claim_settlement"] {
        for sql in [format!("UPDATE {table} SET note = ''"), format!("DELETE FROM {table}")] {
            let refused = raw(store.path()).execute(&sql, []).unwrap_err().to_string();
            assert!(refused.contains("claims are kept"), "{sql}: {refused}");
        }
    }
}

#[test]
fn an_order_is_drafted_sent_and_never_thrown_away_once_sent() {
    let folder = tempdir().unwrap();
    let (store, _, [gin, rum], supplier) = book(folder.path());
    let line = |line, item, packs| OrderLine { line, item, packs, pack: 6, price: Money(9_000) };
    let order = Order {
        id: OrderId(0),
        name: "Van 1".to_owned(),
        supplier,
        state: OrderState::Draft,
        placed: None,
        expected: None,
        lines: vec![line(1, gin, 2)],
    };
    let id = store.write((Deed::Loaded, Moment(0)), |c| orders::create(c, &order)).unwrap();
    store.write((Deed::Loaded, Moment(0)), |c| orders::put_lines(c, id, &[line(1, gin, 1), line(2, rum, 1)])).unwrap();
    assert_eq!(store.read(|c| orders::get(c, id)).unwrap().lines.len(), 2);
    store
        .write((Deed::Loaded, Moment(0)), |c| orders::set_state(c, id, OrderState::Sent, Some(Moment(5)), Some(day())))
        .unwrap();
    store.write((Deed::Loaded, Moment(0)), |c| orders::set_state(c, id, OrderState::Received, None, None)).unwrap();
    let got = store.read(|c| orders::list(c, &[OrderState::Received, OrderState::Draft])).unwrap();
    assert_eq!((got[0].placed, got[0].expected), (Some(Moment(5)), Some(day())));
    assert!(matches!(
        store.write((Deed::Loaded, Moment(0)), |c| orders::delete_draft(c, id)),
        Err(StoreError::NotFound { .. })
    ));
    let draft = store
        .write((Deed::Loaded, Moment(0)), |c| orders::create(c, &Order { name: "Van 2".to_owned(), ..order.clone() }))
        .unwrap();
    // By when they were placed: a draft was not.
    let names_since = |since: i64| {
        let orders = store.read(|c| orders::placed_since(c, OrderState::ALL, Moment(since))).unwrap();
        assert!(orders.iter().all(|order| !order.lines.is_empty()));
        orders.into_iter().map(|order| order.name).collect::<Vec<_>>()
    };
    assert_eq!((names_since(5), names_since(6)), (vec!["Van 1".to_owned()], Vec::new()));
    let all = store.read(|c| orders::list(c, OrderState::ALL)).unwrap();
    assert_eq!(all.iter().map(|order| order.id).collect::<Vec<_>>(), [draft, id], "the newest first");
    store.write((Deed::Loaded, Moment(0)), |c| orders::delete_draft(c, draft)).unwrap();
    assert!(matches!(store.read(|c| orders::get(c, draft)), Err(StoreError::NotFound { .. })));
    assert!(store.write((Deed::Loaded, Moment(0)), |c| orders::put_lines(c, draft, &[])).is_err());
}

#[test]
fn a_check_names_what_should_not_be_there() {
    let folder = tempdir().unwrap();
    let (store, places, items, _) = book(folder.path());
    assert!(store.read(tantalus::store::check::all).unwrap().is_empty());
    let conn = raw(store.path());
    conn.pragma_update(None, "foreign_keys", false).unwrap();
    conn.execute_batch(&format!(
        "INSERT INTO journal (venue, kind, at, day, entered) VALUES ('', 'loss', 1, '2026-11-20', 1);
         INSERT INTO count (id, name, name_key, opened, blind) VALUES (1, 'c', 'c', 1, 0);
         INSERT INTO count_line (count, place, item, at, sealed, open, method)
             VALUES (1, {}, {}, 1, 0, 'half', 'tenths');
         INSERT INTO shelf (place, item, position) VALUES (77, {}, 1);",
        places[0].0, items[0].0, items[0].0
    ))
    .unwrap();
    let found: Vec<String> = store.read(tantalus::store::check::all).unwrap().iter().map(ToString::to_string).collect();
    let text = found.join("\n");
    for says in ["says loss, but has no detail", "“0 half tenths”, which is no reading", "shelf names a place"] {
        assert!(text.contains(says), "{says}: {text}");
    }
}

#[test]
fn a_check_names_what_contradicts_itself_among_files_and_bills() {
    let folder = tempdir().unwrap();
    let (store, _, _, van) = book(folder.path());
    let till = store.write((Deed::Loaded, Moment(0)), |c| setup::put_till(c, "G&T", TillMeaning::Unknown)).unwrap();
    store
        .write((Deed::Loaded, Moment(0)), |c| {
            layouts::put(c, &layout("Whole", &[("A", Field::Name), ("B", Field::Quantity)]))?;
            bills::add(c, &bill(van, "R 1", DocumentKind::Invoice), &BillDid::default())?;
            put_sale(c, "0", 1, till, 1)
        })
        .unwrap();
    assert!(store.read(tantalus::store::check::all).unwrap().is_empty());
    let (van, till, digest) = (van.0, till.0, "a".repeat(64));
    raw(store.path())
        .execute_batch(&format!(
            "INSERT INTO till_layout VALUES (7, 'Gap', 'gap', 'comma', 'day-month-year', 'lines', NULL),
                 (8, 'Bare', 'bare', 'comma', 'day-month-year', 'lines', NULL),
                 (9, 'Twin', 'twin', 'comma', 'day-month-year', 'lines', NULL);
             INSERT INTO till_layout_column VALUES (7, 1, 'X', 'name'), (7, 2, 'Y', 'quantity'),
                 (9, 0, 'a', 'name'), (9, 1, 'b', 'quantity');
             INSERT INTO taken_file (id, digest, name, size, what, added, at)
                 VALUES (1, 'short', 'one.csv', 1, 'sales', 0, 1), (2, '{digest}', 'two.csv', 1, 'sales', 3, 1),
                     (3, '{digest}', 'three.csv', 1, 'invoice', 1, 1), (4, '{digest}', 'four.csv', 1, 'sales', 1, 1),
                     (5, '{digest}', 'five.csv', 1, 'sales', 1, 1);
             INSERT INTO file_withdrawal VALUES (4, 2, NULL);
             INSERT INTO sale (receipt, line, at, till, quantity, net, kind, file)
                 VALUES ('1', 1, 1, {till}, 1, 1, 0, 2), ('1', 2, 1, {till}, 1, 1, 0, 3), ('1', 3, 1, {till}, 1, 1, 0, 4);
             INSERT INTO withdrawn_sale VALUES (77, '2', 1, 1, {till}, 1, 1, 0, 5);
             INSERT INTO supplier_code VALUES ({van}, 'CODE 9', '', 'deposit', NULL, NULL, NULL);
             INSERT INTO supplier_alias VALUES ('The Van', {van});
             INSERT INTO bill (supplier, number, key, kind, issued, goods, deposits, charges, other, at)
                 VALUES ({van}, 'R 2', 'r 2', 'invoice', '2026-11-20', 0, 0, 0, 0, 1);
             INSERT INTO claim (supplier, document, kind, containers, amount, note, at)
                 VALUES ({van}, 'R 2', 'short', 0, 5, '', 1);"
        ))
        .unwrap();
    let found: Vec<String> = store.read(tantalus::store::check::all).unwrap().iter().map(ToString::to_string).collect();
    let text = found.join("\n");
    let says = [
        "the layout “Bare” has no columns",
        "the columns of the layout “Gap” have a gap",
        "the layouts “Twin” and “Whole” are for the same heads",
        "the file “one.csv” taken in is not known by a SHA-256",
        "“two.csv” added 3 sales, but 1 say that they came from it",
        "“three.csv” was taken in as invoice, but sales say that they came from it",
        "“four.csv” was taken back, but 1 of its sales still count",
        "“five.csv” was not taken back, but 1 of its sales do not count",
        "the supplier's code “CODE 9” is in no form in which codes are compared",
        "the supplier's name “The Van” is in no form in which names are compared",
        "the bill “R 2” (invoice) is compared as “r 2”; expected “r2 invoice”",
        "the claim 1 on “R 2” is for nothing",
    ];
    for says in says {
        assert!(text.contains(says), "{says}: {text}");
    }
    // What was put in by hand, the history says besides.
    let by_hand = |said: &&String| said.contains("behind the program's back") || said.contains("no act of the history");
    assert_eq!(found.len() - found.iter().filter(by_hand).count(), says.len(), "{text}");
    // A word that nobody could have written is named, and the rest is looked at all the same.
    raw(store.path()).execute("UPDATE till_layout SET decimal = 'dot' WHERE id = 7", []).unwrap();
    let found = store.read(tantalus::store::check::all).unwrap();
    assert!(found.iter().any(|f| f.to_string().contains("expected one of point, comma")), "{found:?}");
    assert!(found.iter().any(|f| f.to_string().contains("R 2")), "{found:?}");
}
