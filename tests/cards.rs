//! The set-up changed on the screens: items, places, suppliers, days and the bar itself, one card each. What a card refuses is
//! what a plain file refuses, and then the book is as it was.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/typing.rs"]
mod typing;

use bar::{AT as NOW, Bar, setup_in};
use std::collections::BTreeSet;
use std::fs;
use tantalus::desk::{self, DeskError};
use tantalus::domain::gauge::Entry;
use tantalus::domain::ledger::CountLine;
use tantalus::domain::measure::{Amount, Money};
use tantalus::domain::rows::{Card, CardFault, CardLine, CardOf, Sheet};
use tantalus::domain::venue::{Containers, CountMethod, DayEffect, Deed, Item, ItemId, Moment, Setup, name_key};
use tantalus::exchange::plain::{Plain, venue_rows};
use tantalus::store::Store;
use tantalus::tui::keymap::Action;
use tantalus::tui::screen::card::{CardDone, CardScreen};
use typing::{app_of, drawn, press};

fn item(setup: &Setup, name: &str) -> Item {
    setup.items.iter().find(|item| name_key(&item.name) == name_key(name)).unwrap().clone()
}

fn item_card(store: &Store, name: &str) -> Card {
    let id = item(&setup_in(store), name).id.0;
    desk::cards::open(store, CardOf::Item, Some(id), NOW).unwrap()
}

/// Writes into a field.
fn write(card: &mut Card, line: CardLine, column: &str, text: &str) {
    let at = card.at(line, column).unwrap_or_else(|| panic!("{line:?} {column}"));
    text.clone_into(&mut card.fields[at].text);
}

fn kept(store: &Store, card: &Card) -> Vec<String> {
    desk::cards::keep(store, card, NOW).unwrap().unwrap().said
}

/// What is wrong, each with the field that it is about.
fn faults(store: &Store, card: &Card) -> Vec<(&'static str, String)> {
    let before = dumped(store);
    let refused = desk::cards::keep(store, card, NOW).unwrap().unwrap_err();
    // A look says the same, and neither leaves anything behind.
    assert_eq!(desk::cards::look(store, card, NOW).unwrap(), refused);
    assert_eq!(dumped(store), before);
    let column = |fault: &CardFault| fault.field.map_or("", |n| card.fields[n].ask.column);
    refused.iter().map(|fault| (column(fault), fault.said.clone())).collect()
}

fn dumped(store: &Store) -> Vec<(String, String)> {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("dump");
    desk::dump::dump(store, &out).unwrap();
    let mut files: Vec<(String, String)> = fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap())
        .map(|e| (e.file_name().to_string_lossy().into_owned(), fs::read_to_string(e.path()).unwrap()))
        .collect();
    files.sort();
    files
}

fn counted(bar: &Bar, lines: &str) {
    let head = "count,at,place,item,full,open\n";
    bar.file("counts.csv", &format!("{head}{lines}"));
    bar.says(&["count", "--import", "counts.csv"]);
}

/// Whatever a plain file of the set-up can say of these, a card can say, but for what the card itself is about: its item, and
/// the days of a price.
#[test]
fn a_card_has_every_column_of_its_file() {
    let bar = Bar::new();
    let store = bar.book();
    for (of, line, file, without) in [
        (CardOf::Item, CardLine::Stock, Plain::Stock, &[][..]),
        (CardOf::Item, CardLine::Offer(0), Plain::Offers, &["item", "from", "until"][..]),
        (CardOf::Place, CardLine::Place, Plain::Places, &[]),
        (CardOf::Supplier, CardLine::Supplier, Plain::Suppliers, &[]),
        (CardOf::Day, CardLine::Day, Plain::Days, &[]),
    ] {
        let card = desk::cards::open(&store, of, None, NOW).unwrap();
        let asked: BTreeSet<&str> = card.fields.iter().filter(|f| f.line == line).map(|f| f.ask.column).collect();
        let columns = file.spec().columns.iter().map(|column| column.name);
        let wanted: BTreeSet<&str> = columns.filter(|name| !without.contains(name)).collect();
        assert_eq!(asked, wanted, "{of:?}");
    }
    let card = desk::cards::open(&store, CardOf::Bar, None, NOW).unwrap();
    let asked: BTreeSet<String> = card.fields.iter().map(|field| field.ask.column.to_owned()).collect();
    let keys: BTreeSet<String> = venue_rows(&setup_in(&store).venue).into_iter().map(|[key, _]| key).collect();
    assert_eq!(asked, keys);
}

/// A card that is kept as it was opened changes nothing, whatever it is of.
#[test]
fn a_card_kept_as_it_was_changes_nothing() {
    let bar = Bar::with(&[
        ("days.csv", "day,what,factor\n12-24,Christmas Eve,1.6\n"),
        (
            "offers.csv",
            "supplier,item,code,pack,price,deposit,from,mixed\nQuendelbach,Gin,21010,6,60.00,,,\nQuendelbach,Tonic,11020,24,14.40,2.40,2026-11-01,Mixed 6\n",
        ),
    ]);
    let store = bar.book();
    let setup = setup_in(&store);
    let before = dumped(&store);
    let mut cards = vec![(CardOf::Bar, None)];
    cards.extend(setup.items.iter().map(|item| (CardOf::Item, Some(item.id.0))));
    cards.extend(setup.places.iter().map(|place| (CardOf::Place, Some(place.id.0))));
    cards.extend(setup.suppliers.iter().map(|supplier| (CardOf::Supplier, Some(supplier.id.0))));
    cards.extend(setup.special.all().iter().map(|day| (CardOf::Day, Some(day.id.0))));
    for (of, id) in cards {
        let card = desk::cards::open(&store, of, id, NOW).unwrap();
        assert_eq!(kept(&store, &card), Vec::<String>::new(), "{of:?}");
    }
    assert_eq!(dumped(&store), before);
}

#[test]
fn a_new_item_comes_with_its_places_and_its_supplier() {
    let bar = Bar::new();
    let store = bar.book();
    let mut card = desk::cards::open(&store, CardOf::Item, None, NOW).unwrap();
    for (line, column, text) in [
        (CardLine::Stock, "item", "Harbour gin"),
        (CardLine::Stock, "size", "70cl"),
        (CardLine::Stock, "abv", "41,5 %"),
        (CardLine::Stock, "par", "2,5"),
        (CardLine::Spots, "places", "Cellar, Back bar (1,5)"),
        (CardLine::Offer(0), "supplier", "Northgate Cellars"),
        (CardLine::Offer(0), "pack", "6"),
        (CardLine::Offer(0), "price", "93,60"),
    ] {
        write(&mut card, line, column, text);
    }
    let said = kept(&store, &card);
    assert_eq!(said.len(), 2, "{said:?}");
    let setup = setup_in(&store);
    let gin = item(&setup, "Harbour gin");
    assert_eq!((gin.size.0, gin.par), (700_000, Some(Containers(2_500))));
    assert_eq!(gin.abv.map(|abv| abv.plain()).as_deref(), Some("41.5"));
    let places: Vec<&str> = setup.places_of(gin.id).map(|place| setup.place_name(place)).collect();
    assert_eq!(places, ["Cellar", "Back bar"]);
    let back = setup.shelves.iter().find(|shelf| shelf.item == gin.id && shelf.par.is_some()).unwrap();
    assert_eq!(back.par, Some(Containers(1_500)));
    let offer = setup.cheapest_offer(gin.id, setup.venue.days.day_of(NOW)).unwrap();
    assert_eq!((offer.price, offer.pack, offer.from), (Money(9_360), 6, None));
    assert_eq!(setup.supplier(offer.supplier).map(|s| s.name.as_str()), Some("Northgate Cellars"));
    // All of it is one act, which the history can take back.
    let act = &desk::history::view(&store, None, 1).unwrap().acts[0].act;
    assert_eq!(act.deed, Deed::SetUp);
    desk::undoing::undo(&store, act.id, NOW).unwrap();
    let setup = setup_in(&store);
    assert!(setup.items.len() == 2 && setup.places.len() == 1 && setup.suppliers.len() == 1);
}

/// Another price holds from today on: what was paid before stays what it was.
#[test]
fn another_price_begins_today_and_the_old_one_stays_for_the_days_before() {
    let bar = Bar::new();
    let store = bar.book();
    let today = setup_in(&store).venue.days.day_of(NOW);
    let yesterday = today.pred_opt().unwrap();
    let price = |pack: i64, day| {
        let setup = setup_in(&store);
        let gin = item(&setup, "Gin").id;
        let offers = setup.offers_for(gin, day);
        offers.iter().find(|offer| offer.pack == pack).map(|offer| offer.price)
    };
    let mut card = item_card(&store, "Gin");
    write(&mut card, CardLine::Offer(0), "price", "66");
    kept(&store, &card);
    assert_eq!((price(6, yesterday), price(6, today)), (Some(Money(6_000)), Some(Money(6_600))));
    // Once more on the same day: a slip mended, and no third price.
    let mut card = item_card(&store, "Gin");
    write(&mut card, CardLine::Offer(0), "price", "63.00");
    write(&mut card, CardLine::Offer(0), "code", "21099");
    kept(&store, &card);
    assert_eq!((price(6, yesterday), price(6, today)), (Some(Money(6_000)), Some(Money(6_300))));
    assert_eq!(setup_in(&store).offers.len(), 3);
    // Another pack: the old one is not to be had any more, and was until yesterday.
    let mut card = item_card(&store, "Gin");
    write(&mut card, CardLine::Offer(0), "pack", "12");
    write(&mut card, CardLine::Offer(0), "price", "120");
    kept(&store, &card);
    assert_eq!((price(6, today), price(12, today)), (None, Some(Money(12_000))));
    assert_eq!(price(6, yesterday), Some(Money(6_000)));
    // Not sold by them any more: nothing is asked from today on.
    let mut card = item_card(&store, "Gin");
    write(&mut card, CardLine::Offer(0), "supplier", "");
    kept(&store, &card);
    assert!(setup_in(&store).offers_for(item(&setup_in(&store), "Gin").id, today).is_empty());
    assert_eq!(price(6, yesterday), Some(Money(6_000)));
    // What is dumped says all of it, and makes the same book.
    let offers = dumped(&store).into_iter().find(|(name, _)| name == "offers.csv").unwrap().1;
    assert!(offers.contains("until") && offers.contains("2026-11-19"), "{offers}");
}

/// What can have ended is read from a file as well, and a day before the first is none.
#[test]
fn an_offer_ends_in_a_file_too() {
    let head = "supplier,item,pack,price,from,until\n";
    let bar = Bar::new();
    let gone = bar.0.path().join("gone");
    fs::create_dir(&gone).unwrap();
    fs::write(gone.join("offers.csv"), format!("{head}Quendelbach,Gin,6,60.00,2026-11-02,2026-11-01\n")).unwrap();
    let refused = bar.refuses(&["load", "gone"]);
    assert!(refused.contains("until") && refused.contains("not before the first"), "{refused}");
    fs::write(gone.join("offers.csv"), format!("{head}Quendelbach,Gin,6,60.00,,2026-11-19\n")).unwrap();
    bar.says(&["load", "gone"]);
    let setup = setup_in(&bar.book());
    let (gin, today) = (item(&setup, "Gin").id, setup.venue.days.day_of(NOW));
    assert!(setup.offers_for(gin, today).is_empty());
    assert_eq!(setup.offers_for(gin, today.pred_opt().unwrap()).len(), 1);
}

/// A label that was read wrong is mended as long as its count goes on; once that is closed, what was counted stands.
#[test]
fn a_size_can_change_while_only_a_count_that_goes_on_knows_it() {
    let bar = Bar::new();
    let store = bar.book();
    let (gin, cellar) = (item(&setup_in(&store), "Gin"), setup_in(&store).places[0].id);
    let count = desk::counting::begin(&store, &[cellar], false, None, NOW).unwrap();
    let sheet = desk::counting::sheet(&store, count, NOW).unwrap();
    let line = CountLine {
        count,
        at: NOW,
        place: cellar,
        item: gin.id,
        entry: Entry { full: 2, open: Vec::new() },
        by: None,
        method: CountMethod::Tenths,
    };
    desk::counting::save_line(&store, &sheet, &line, None, NOW).unwrap();
    let mut card = item_card(&store, "Gin");
    write(&mut card, CardLine::Stock, "size", "1 l");
    kept(&store, &card);
    assert_eq!(item(&setup_in(&store), "Gin").size, Amount(1_000_000));
    desk::counting::close(&store, count, NOW).unwrap();
    let mut card = item_card(&store, "Gin");
    write(&mut card, CardLine::Stock, "size", "700 ml");
    let said = faults(&store, &card);
    assert!(said[0].0 == "size" && said[0].1.contains("was counted or moved in containers of 1000 ml"), "{said:?}");
}

#[test]
fn what_is_wrong_is_said_at_its_field_and_nothing_is_kept() {
    let bar =
        Bar::with(&[("stock.csv", "item,kind,size,gtin\nGin,spirit,700 ml,5012345678900\nTonic,mixer,200 ml,\n")]);
    counted(&bar, "One,2026-11-10 03:00,Cellar,Gin,2,.4\n");
    let store = bar.book();
    for (line, column, text, says) in [
        (CardLine::Stock, "item", "", "expected a text"),
        (CardLine::Stock, "item", "TONIC", "there is an item of this name already"),
        (CardLine::Stock, "size", "1 l", "was counted or moved in containers of 700 ml"),
        (CardLine::Stock, "size", "7", "say the unit"),
        (CardLine::Stock, "abv", "140", "expected"),
        (CardLine::Stock, "gtin", "5012345678901", "digit"),
        (CardLine::Stock, "par", "-1", "expected a number of containers"),
        (CardLine::Stock, "allergens", "lactose", "expected none, or some of"),
        (CardLine::Stock, "profile", "cone", "expected round, square, dumpy or a profile"),
        (CardLine::Spots, "places", "Cellat", "did you mean “Cellar”"),
        (CardLine::Spots, "places", "Cellar, cellar", "is there twice"),
        (CardLine::Spots, "places", "Cellar (x)", "expected a number of containers"),
        (CardLine::Offer(0), "supplier", "Quendelbech", "did you mean “Quendelbach”"),
        (CardLine::Offer(0), "pack", "0", "expected a whole number"),
        (CardLine::Offer(0), "price", "dear", "expected"),
        (CardLine::Offer(1), "supplier", "Northgate Cellars", "expected"),
    ] {
        let mut card = item_card(&store, "Gin");
        write(&mut card, line, column, text);
        let said = faults(&store, &card);
        let (at, why) = said.first().unwrap();
        // A supplier without pack and price lacks these.
        let at_field = *at == column || line == CardLine::Offer(1);
        assert!(at_field && why.contains(says), "{column} {text}: {said:?}");
    }
    // What is wrong behind something else that is wrong stays said at its field on the screen, until all is sound.
    let mut screen = CardScreen::new(item_card(&store, "Gin"));
    let at = |column| item_card(&store, "Gin").at(CardLine::Stock, column).unwrap();
    let fault = |column, said: &str| CardFault { field: Some(at(column)), said: said.to_owned() };
    screen.refused(vec![fault("abv", "expected a strength")]);
    screen.checked(vec![fault("item", "there is an item of this name already")]);
    assert!(matches!(screen.update(Action::Save), CardDone::NotYet), "both are still wrong");
    screen.checked(Vec::new());
    assert!(matches!(screen.update(Action::Save), CardDone::Keep(_)));
    // The bar code of another.
    let mut card = item_card(&store, "Tonic");
    write(&mut card, CardLine::Stock, "gtin", "5012345678900");
    let said = faults(&store, &card);
    assert!(said[0].0 == "gtin" && said[0].1.contains("bar code of Gin"), "{said:?}");
    // Several wrong fields are told at once.
    write(&mut card, CardLine::Stock, "gtin", "12");
    write(&mut card, CardLine::Stock, "abv", "strong");
    assert_eq!(faults(&store, &card).len(), 2);
}

#[test]
fn another_name_is_the_same_item() {
    let bar = Bar::new();
    counted(&bar, "One,2026-11-10 03:00,Cellar,Gin,2,.4\n");
    let store = bar.book();
    let id = item(&setup_in(&store), "Gin").id;
    let mut card = item_card(&store, "Gin");
    write(&mut card, CardLine::Stock, "item", "Harbour gin");
    kept(&store, &card);
    let setup = setup_in(&store);
    assert_eq!(item(&setup, "harbour GIN").id, id);
    let (_, stock) = desk::looking::stock(&store, NOW).unwrap();
    assert!(stock.iter().any(|row| row.item == id && row.on_hand.is_some_and(|level| level.amount.0 == 1_680_000)));
    let dump = dumped(&store);
    for file in ["stock.csv", "specs.csv", "counts.csv", "offers.csv", "orders.csv", "shelves.csv"] {
        let text = &dump.iter().find(|(name, _)| name == file).unwrap().1;
        assert!(text.contains("Harbour gin") && !text.contains(",Gin,"), "{file}: {text}");
    }
    // Another spelling of the same name is none of another.
    let mut card = item_card(&store, "Harbour gin");
    write(&mut card, CardLine::Stock, "item", "HARBOUR GIN");
    kept(&store, &card);
    assert_eq!(item(&setup_in(&store), "Harbour gin").name, "HARBOUR GIN");
}

/// What was counted in a place does not go from it by a line on a card: it is said until when it is reckoned with.
#[test]
fn what_is_moved_is_taken_to_be_where_it_was_counted() {
    let bar = Bar::new();
    counted(&bar, "One,2026-11-10 03:00,Cellar,Gin,2,.4\n");
    let store = bar.book();
    let mut card = item_card(&store, "Gin");
    write(&mut card, CardLine::Spots, "places", "Rail");
    let said = kept(&store, &card);
    assert_eq!(
        said,
        [
            "Rail is a new place, last in the walk",
            "what was counted in Cellar is taken to be there until Cellar is counted again"
        ]
    );
}

/// What is not stocked any more is counted as long as some is left, is not ordered, and is gone from the lists once none is.
#[test]
fn an_item_is_run_out() {
    let bar = Bar::with(&[("stock.csv", "item,kind,size,par\nGin,spirit,700 ml,6\nTonic,mixer,200 ml,24\n")]);
    counted(&bar, "One,2026-11-10 03:00,Cellar,Gin,2,.4\n");
    let store = bar.book();
    let mut card = item_card(&store, "Gin");
    write(&mut card, CardLine::Stock, "stocked", "no");
    assert_eq!(kept(&store, &card), ["still in Gin Tonic"]);
    let acts = desk::history::view(&store, None, 5).unwrap();
    assert!(format!("{acts:?}").contains("stocked yes → no"), "{acts:?}");
    let gin = item(&setup_in(&store), "Gin").id;
    let sheet = |at: Moment| {
        let cellar = setup_in(&store).places[0].id;
        let count = desk::counting::begin(&store, &[cellar], false, None, at).unwrap();
        desk::counting::sheet(&store, count, at).unwrap()
    };
    let has = |sheet: &Sheet| sheet.lines.iter().any(|line| line.item == gin);
    let in_stock = |at| desk::looking::stock(&store, at).unwrap().1.iter().any(|row| row.item == gin);
    let wanted = || desk::par::view(&store, NOW).unwrap().pars.iter().any(|par| par.item == gin);
    assert!(in_stock(NOW) && !wanted());
    let first = sheet(NOW);
    assert!(has(&first), "some is left, so it is counted");
    let none = CountLine {
        count: first.count.id,
        at: NOW,
        place: first.places[0].place,
        item: gin,
        entry: Entry { full: 0, open: Vec::new() },
        by: None,
        method: CountMethod::Tenths,
    };
    desk::counting::save_line(&store, &first, &none, None, NOW).unwrap();
    desk::counting::close(&store, first.count.id, NOW).unwrap();
    let later = Moment(NOW.0 + 3_600_000);
    assert!(!has(&sheet(later)) && !in_stock(later), "none is left");
    // The list on paper has it no more either, and the file says so.
    let stock = dumped(&store).into_iter().find(|(name, _)| name == "stock.csv").unwrap().1;
    assert!(stock.lines().any(|line| line.starts_with("Gin,") && line.ends_with(",no")), "{stock}");
}

#[test]
fn two_at_once_do_not_write_over_each_other() {
    let bar = Bar::new();
    let (one, other) = (bar.book(), bar.book());
    let (mut first, mut second) = (item_card(&one, "Gin"), item_card(&other, "Gin"));
    write(&mut first, CardLine::Stock, "par", "4");
    kept(&one, &first);
    write(&mut second, CardLine::Stock, "par", "9");
    let refused = desk::cards::keep(&other, &second, NOW).unwrap_err().to_string();
    assert!(refused.contains("Gin was changed elsewhere meanwhile"), "{refused}");
    assert_eq!(item(&setup_in(&one), "Gin").par, Some(Containers(4_000)));
}

#[test]
fn the_bar_itself_is_changed() {
    let bar = Bar::new();
    let store = bar.book();
    let card = desk::cards::open(&store, CardOf::Bar, None, NOW).unwrap();
    let mut moved = card.clone();
    for (column, text) in [
        ("name", "Quillmarsh Rooms"),
        ("time_zone", "lisb"),
        ("day_starts", "6h30"),
        ("target_pour_cost", "22,5 %"),
        ("vat_id", "PT123456789"),
    ] {
        write(&mut moved, CardLine::Venue, column, text);
    }
    kept(&store, &moved);
    let venue = setup_in(&store).venue;
    assert_eq!(
        (venue.name.as_str(), venue.days.zone.name(), venue.target_pour_cost),
        ("Quillmarsh Rooms", "Europe/Lisbon", 2_250)
    );
    assert_eq!(venue.days.starts.to_string(), "06:30:00");
    // Prices were written in euros; and a number is taken away by emptying it.
    let mut card = desk::cards::open(&store, CardOf::Bar, None, NOW).unwrap();
    write(&mut card, CardLine::Venue, "currency", "USD");
    let said = faults(&store, &card);
    assert!(said[0].1.contains("keeps its amounts in EUR"), "{said:?}");
    write(&mut card, CardLine::Venue, "currency", "EUR");
    write(&mut card, CardLine::Venue, "vat_id", "");
    kept(&store, &card);
    assert_eq!(setup_in(&store).venue.party.vat_id, None);
}

#[test]
fn places_suppliers_and_days_come_change_and_go() {
    let bar = Bar::new();
    let store = bar.book();
    let new = |of, texts: &[(CardLine, &str, &str)]| {
        let mut card = desk::cards::open(&store, of, None, NOW).unwrap();
        texts.iter().for_each(|(line, column, text)| write(&mut card, *line, column, text));
        desk::cards::keep(&store, &card, NOW).unwrap()
    };
    let place = new(CardOf::Place, &[(CardLine::Place, "place", "Fridge")]).unwrap().id.unwrap();
    let names = || setup_in(&store).places.iter().map(|place| place.name.clone()).collect::<Vec<_>>();
    assert_eq!(names(), ["Cellar", "Fridge"]);
    let again = new(CardOf::Place, &[(CardLine::Place, "place", "fridge")]).unwrap_err();
    assert!(again[0].field == Some(0) && again[0].said.contains("a place of this name"), "{again:?}");
    let mut card = desk::cards::open(&store, CardOf::Place, Some(place), NOW).unwrap();
    write(&mut card, CardLine::Place, "walk", "0");
    write(&mut card, CardLine::Place, "place", "Ice well");
    kept(&store, &card);
    assert_eq!(names(), ["Ice well", "Cellar"]);
    assert_eq!(desk::cards::take_away(&store, CardOf::Place, place, NOW).unwrap(), "Ice well");
    let stays = |of, id| match desk::cards::take_away(&store, of, id, NOW) {
        Err(DeskError::Refused(why)) => why,
        other => panic!("{other:?}"),
    };
    let cellar = setup_in(&store).places[0].id.0;
    assert!(stays(CardOf::Place, cellar).contains("1 item stands in Cellar"));
    let theirs = setup_in(&store).suppliers[0].id.0;
    assert!(stays(CardOf::Supplier, theirs).contains("Quendelbach stays"));
    assert!(stays(CardOf::Item, 1).contains("cannot be taken away"));

    let schedule = [(CardLine::Supplier, "supplier", "Northgate"), (CardLine::Supplier, "schedule", "Mon > Wed")];
    assert!(new(CardOf::Supplier, &schedule).unwrap_err()[0].field == Some(1));
    let schedule = [(CardLine::Supplier, "supplier", "Northgate"), (CardLine::Supplier, "minimum", "150,00")];
    let supplier = new(CardOf::Supplier, &schedule).unwrap().id.unwrap();
    assert!(setup_in(&store).suppliers.iter().any(|s| s.id.0 == supplier && s.minimum == Some(Money(15_000))));
    desk::cards::take_away(&store, CardOf::Supplier, supplier, NOW).unwrap();

    let eve = [
        (CardLine::Day, "what", "Harbour fair"),
        (CardLine::Day, "day", "2027-06-12"),
        (CardLine::Day, "factor", "1,6"),
    ];
    assert!(new(CardOf::Day, &eve).is_ok());
    let twice = new(CardOf::Day, &eve).unwrap_err();
    assert!(twice[0].said.contains("a day of that name and date already"), "{twice:?}");
    let day = setup_in(&store).special.all()[0].clone();
    let mut card = desk::cards::open(&store, CardOf::Day, Some(day.id.0), NOW).unwrap();
    write(&mut card, CardLine::Day, "day", "2027-06-13");
    write(&mut card, CardLine::Day, "factor", "closed");
    kept(&store, &card);
    let days = setup_in(&store).special.all().to_vec();
    assert!(
        matches!(days.as_slice(), [day] if day.days.words() == "2027-06-13" && day.effect == DayEffect::Demand(tantalus::domain::venue::Factor::CLOSED))
    );
    desk::cards::take_away(&store, CardOf::Day, days[0].id.0, NOW).unwrap();
    assert!(setup_in(&store).special.all().is_empty());
    assert_eq!(desk::check::check(&store).unwrap(), []);
}

/// As somebody types it: a field that is wrong is gone back to at once, a choice takes letters, and Esc asks before it throws
/// away.
#[test]
fn a_card_on_the_screen() {
    let bar = Bar::new();
    let path = bar.0.path().join("bar.tantalus");
    let mut app = app_of(&path, None, NOW);
    let card = press(&mut app, "Sa", NOW);
    assert!(card.contains("a new item") && card.contains("> Name"), "{card}");
    let refused = press(&mut app, "gin\n", NOW);
    assert!(refused.contains("> Name") && refused.contains("there is an item of this name already"), "{refused}");
    let choice = press(&mut app, "Quince cordial\nq", NOW);
    assert!(choice.contains("none begins with q: it is spirit, liqueur"), "{choice}");
    press(&mut app, "h\n1 l\n", NOW);
    let kept = press(&mut app, "\u{13}", NOW);
    assert!(kept.contains("kept: Quince cordial"), "{kept}");
    let warned = press(&mut app, "ex\u{1b}", NOW);
    assert!(warned.contains("Esc once more"), "{warned}");
    press(&mut app, "\u{1b}", NOW);
    // The bar and its places are in the Book.
    let listed = press(&mut app, "Bs", NOW);
    assert!(
        listed.contains("Any bar") && listed.contains("Cellar") && listed.contains("1 item stands there"),
        "{listed}"
    );
    // A new place has the cursor.
    press(&mut app, "aLoft\n\u{13}", NOW);
    let card = press(&mut app, "e", NOW);
    assert!(card.contains("> Name") && card.contains("Loft"), "{card}");
    press(&mut app, "\u{1b}gj", NOW);
    press(&mut app, "\nQuillmarsh Rooms\n\u{13}", NOW);
    assert!(drawn(&mut app, NOW).contains("Quillmarsh Rooms"), "{}", drawn(&mut app, NOW));
    let supplier = press(&mut app, "Pe", NOW);
    assert!(supplier.contains("Quendelbach") && supplier.contains("Mon 14:00 > Wed"), "{supplier}");
    press(&mut app, "\u{1b}", NOW);
    let asked = press(&mut app, "x", NOW);
    assert!(asked.contains("Take Quendelbach away?"), "{asked}");
    let stays = press(&mut app, "\n", NOW);
    assert!(stays.contains("Quendelbach stays"), "{stays}");
    drop(app);
    let setup = setup_in(&bar.book());
    assert_eq!(item(&setup, "Quince cordial").kind.word(), "house-made");
    assert_eq!(item(&setup, "Quince cordial").id, ItemId(3));
}

/// Who only counts changes no set-up: the keys say so before a form is filled in, and the book refuses.
#[test]
fn a_counter_changes_no_set_up() {
    let bar = Bar::with(&[("people.csv", "initials,role\nOM,manager\nIP,counter\n")]);
    let path = bar.0.path().join("bar.tantalus");
    let store = bar.book();
    desk::people::sign_in(&store, "IP", None, NOW).unwrap();
    let card = desk::cards::open(&store, CardOf::Item, None, NOW).unwrap();
    let refused = desk::cards::keep(&store, &card, NOW).unwrap_err().to_string();
    assert!(refused.contains("manager"), "{refused}");
    let mut app =
        tantalus::app::App::new(store, tantalus::app::Options { by: Some("IP".to_owned()), ..Default::default() }, NOW)
            .unwrap();
    let kept_out = press(&mut app, "Sa", NOW);
    assert!(kept_out.contains("a manager does that"), "{kept_out}");
    assert!(path.exists());
}
