//! Matching and comparing on a small set-up, case by case and by property.

use super::sample::{bill, charge, line};
use super::*;
use crate::domain::ledger::{Order, OrderLine};
use crate::domain::measure::{Amount, Basis, Currency, Decimal, Money, Price};
use crate::domain::venue::{
    CountBy, DayRule, Gtin, Item, ItemId, Kind, Moment, Offer, OrderCalendar, OrderId, OrderState, Parts, Place,
    PlaceId, Setup, Shelf, Supplier, SupplierId, Venue,
};
use chrono::NaiveTime;
use proptest::prelude::*;
use std::collections::BTreeSet;

const WE: SupplierId = SupplierId(1);
const OTHER: SupplierId = SupplierId(2);
const BEER: ItemId = ItemId(1);
const SPIRIT: ItemId = ItemId(2);
const WATER: ItemId = ItemId(3);
const GIN: ItemId = ItemId(4);
const STRAWS: ItemId = ItemId(5);
const LIME: ItemId = ItemId(6);
const SYRUP: ItemId = ItemId(7);
const TONIC: ItemId = ItemId(8);

fn euro() -> Currency {
    "EUR".parse().unwrap()
}

fn number(text: &str) -> Decimal {
    Decimal::parse(text).unwrap()
}

fn setup() -> Setup {
    let days = DayRule { zone: chrono_tz::UTC, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() };
    let item = |id, name: &str, kind, basis, size, gtin: &str| Item {
        gtins: Gtin::parse(gtin).into_iter().collect(),
        ..Item::new(id, name, kind, basis, Amount(size), CountBy::Tenths)
    };
    let supplier = |id, name: &str| Supplier {
        id,
        name: name.to_owned(),
        email: None,
        customer_no: None,
        calendar: OrderCalendar::default(),
        minimum: None,
        fee: None,
        free_from: None,
        party: Default::default(),
    };
    let offer = |item, code: &str, pack, price| Offer {
        supplier: WE,
        item,
        code: Some(code.to_owned()),
        pack,
        price: Money(price),
        deposit: None,
        from: None,
        mixed: None,
        until: None,
    };
    Setup::new(Parts {
        places: vec![Place { id: PlaceId(1), name: "Cellar".to_owned(), walk: 1 }],
        suppliers: vec![supplier(WE, "Quendelbach"), supplier(OTHER, "Ostwind")],
        items: vec![
            item(BEER, "Hafenhell", Kind::Beer, Basis::Volume, 30_000_000, "9520000400170"),
            item(SPIRIT, "Klarer Funken", Kind::Spirit, Basis::Volume, 700_000, "9520000210106"),
            item(WATER, "Quellperle still", Kind::Mixer, Basis::Volume, 250_000, ""),
            item(GIN, "Nordmole Gin", Kind::Spirit, Basis::Volume, 1_000_000, ""),
            item(STRAWS, "Paper straws", Kind::Other, Basis::Each, 250_000, ""),
            item(LIME, "Lime", Kind::Food, Basis::Each, 1_000, "2012345678903"),
            item(SYRUP, "Zuckersirup", Kind::Mixer, Basis::Volume, 5_000_000, ""),
            item(TONIC, "Salzwind Tonic", Kind::Mixer, Basis::Volume, 200_000, ""),
        ],
        shelves: vec![Shelf { place: PlaceId(1), item: BEER, position: 1, par: None }],
        offers: vec![
            offer(BEER, "40017", 1, 7_850),
            offer(SPIRIT, "21010", 6, 5_934),
            offer(WATER, "11020", 24, 1_140),
            offer(GIN, "20031", 6, 11_250),
            offer(STRAWS, "55500", 4, 1_900),
            offer(SYRUP, "33001", 1, 1_175),
            offer(TONIC, "T1", 24, 2_400),
            offer(TONIC, "T1", 4, 400),
        ],
        ..Parts::new(Venue::new("Kajüte", euro(), days))
    })
}

fn order(lines: &[(ItemId, i64, i64, i64)]) -> Order {
    let line = |(n, (item, packs, pack, price)): (usize, &(ItemId, i64, i64, i64))| OrderLine {
        line: n as i64 + 1,
        item: *item,
        packs: *packs,
        pack: *pack,
        price: Money(*price),
    };
    Order {
        id: OrderId(1),
        name: "B-2026-11".to_owned(),
        supplier: WE,
        state: OrderState::Sent,
        placed: None,
        expected: None,
        lines: lines.iter().enumerate().map(line).collect(),
    }
}

static NONE: BTreeSet<usize> = BTreeSet::new();

fn book<'a>(setup: &'a Setup, known: &'a [KnownCode], orders: &'a [Order]) -> Book<'a> {
    Book { setup, supplier: WE, known, orders, day: "2026-03-10".parse().unwrap(), spread: false, money_only: &NONE }
}

fn coded(code: &str, mut of: InvoiceLine) -> InvoiceLine {
    of.seller_code = Some(code.to_owned());
    of
}

fn one(of: InvoiceLine, known: &[KnownCode], orders: &[Order]) -> Status {
    let setup = setup();
    matched(&bill(vec![of]), &book(&setup, known, orders)).remove(0).status
}

/// Item and containers of what was found, or why it was asked.
fn said(status: &Status) -> Result<(ItemId, i64), String> {
    match status {
        Status::Found { item, containers, .. } => Ok((*item, *containers)),
        Status::Question { why, .. } => Err(why.clone()),
        other => Err(format!("{other:?}")),
    }
}

fn perhaps(status: &Status) -> Option<i64> {
    if let Status::Question { perhaps, .. } = status { *perhaps } else { None }
}

#[test]
fn units_become_containers() {
    for (code, quantity, unit, net, want) in [
        // A package that is what is stocked, and one of several by the offer's pack.
        ("40017", "4", "XKG", "314.00", Ok((BEER, 4))),
        ("21010", "12", "XBO", "118.68", Ok((SPIRIT, 12))),
        ("11020", "6", "XCR", "68.40", Ok((WATER, 144))),
        // A piece is a bottle where it costs what a bottle does, a pack where it costs what the pack does.
        ("20031", "6", "H87", "106.87", Ok((GIN, 6))),
        ("20031", "2", "C62", "225.00", Ok((GIN, 12))),
        ("20031", "1", "DZN", "225.00", Ok((GIN, 12))),
        ("11020", "1", "XSW", "11.40", Ok((WATER, 24))),
        // What is counted singly and stocked by the box.
        ("55500", "500", "H87", "9.50", Ok((STRAWS, 2))),
        ("55500", "2", "EA", "9.50", Ok((STRAWS, 2))),
        ("55500", "300", "H87", "5.70", Err("no number of containers")),
        // Volumes, whole or not.
        ("33001", "15", "LTR", "35.25", Ok((SYRUP, 3))),
        ("40017", "0.6", "HLT", "157.00", Ok((BEER, 2))),
        ("33001", "14", "LTR", "32.90", Err("no whole number of 5000 ml")),
        ("33001", "15", "KGM", "35.25", Err("says nothing about a volume")),
        ("21010", "3", "LPA", "60.00", Err("pure alcohol")),
        ("21010", "3", "HUR", "60.00", Err("services")),
        ("21010", "3", "Fl.", "29.67", Err("“Fl.” is no known unit")),
        // Unit and price disagree: a bottle for the price of six.
        ("21010", "12", "XBO", "712.08", Err("do not agree")),
        // Nothing that is known is near the price; what is free has none.
        ("40017", "2", "XPX", "1800.00", Err("far from what one is offered at")),
        ("21010", "1", "XBO", "0.00", Ok((SPIRIT, 1))),
        // A piece for neither price.
        ("20031", "6", "H87", "350.00", Err("one container or a pack")),
        ("20031", "6", "H87", "0.00", Err("one container or a pack")),
        // Several packs on offer: the price tells.
        ("T1", "2", "XCS", "48.00", Ok((TONIC, 48))),
        ("T1", "2", "XCS", "8.00", Ok((TONIC, 8))),
        ("T1", "2", "XCS", "0.00", Err("one container or a pack")),
        ("21010", "1.5", "XBO", "14.84", Err("no number of containers")),
        ("21010", "2000000", "XBO", "19780000.00", Err("no number of containers")),
        ("21010", "12", "XBO", "-118.68", Err("the other way")),
    ] {
        let status = one(coded(code, line("1", "Something", quantity, unit, "1", net)), &[], &[]);
        match (said(&status), want) {
            (Ok(got), Ok(want)) => assert_eq!(got, want, "{code} {quantity} {unit}"),
            (Err(why), Err(words)) => assert!(why.contains(words), "{code} {quantity} {unit}: {why}"),
            (got, want) => panic!("{code} {quantity} {unit}: {got:?}, wanted {want:?}"),
        }
    }
}

#[test]
fn an_order_tells_what_the_price_does_not() {
    let free = || coded("20031", line("1", "Nordmole Gin", "2", "H87", "0", "0.00"));
    assert!(said(&one(free(), &[], &[])).is_err());
    assert_eq!(said(&one(free(), &[], &[order(&[(GIN, 2, 6, 11_250)])])), Ok((GIN, 12)));
    assert_eq!(said(&one(free(), &[], &[order(&[(GIN, 2, 1, 1_900)])])), Ok((GIN, 2)));
    // Price says bottle, order says case: asked.
    let six = coded("20031", line("1", "Nordmole Gin", "6", "H87", "18.75", "112.50"));
    assert!(said(&one(six, &[], &[order(&[(GIN, 6, 6, 11_250)])])).unwrap_err().contains("do not agree"));
    // The pack in the text is offered as an answer, not taken as one.
    let crate_of = coded("40017", line("1", "Hafenhell 12 x 30 l", "2", "XPX", "900", "1800.00"));
    assert_eq!(perhaps(&one(crate_of, &[], &[])), Some(24));
}

#[test]
fn items_are_found_by_code_then_bar_code_then_our_own_name() {
    let with = |change: &dyn Fn(&mut InvoiceLine)| {
        let mut of = line("1", "Anything", "6", "XBO", "9.89", "59.34");
        change(&mut of);
        said(&one(of, &[], &[]))
    };
    assert_eq!(with(&|l| l.gtin = Some("9520000210106".into())), Ok((SPIRIT, 6)));
    assert_eq!(with(&|l| l.buyer_code = Some("klarer funken".into())), Ok((SPIRIT, 6)));
    assert_eq!(with(&|l| l.buyer_code = Some("9520000210106".into())), Ok((SPIRIT, 6)));
    // The supplier's code goes before the bar code.
    assert_eq!(
        with(&|l| {
            l.seller_code = Some("20031".into());
            l.gtin = Some("9520000210106".into());
            l.net = number("112.50");
        }),
        Ok((GIN, 6))
    );
    // A case has a number of its own: the same twelve digits under an indicator.
    assert_eq!(
        with(&|l| {
            l.gtin = Some("19520000210103".into());
            l.unit = "H87".into();
            l.quantity = number("2");
            l.net = number("118.68");
        }),
        Ok((SPIRIT, 12))
    );
    // A number for use within a shop says nothing, though an item carries it.
    assert!(with(&|l| l.gtin = Some("2012345678903".into())).unwrap_err().contains("within a shop"));
    // Misread: no number.
    assert!(with(&|l| l.gtin = Some("9520000210107".into())).is_err());
    // A code of another supplier's offer says nothing.
    let setup = setup();
    let of = coded("21010", line("1", "Anything", "6", "XBO", "9.89", "59.34"));
    let other = Book { supplier: OTHER, ..book(&setup, &[], &[]) };
    assert!(matches!(matched(&bill(vec![of]), &other)[0].status, Status::Question { item: None, .. }));
}

#[test]
fn two_items_under_one_code_are_asked_about() {
    let mut setup = setup();
    setup.offers.push(Offer { item: TONIC, ..setup.offers[1].clone() });
    let of = coded("21010", line("1", "Klarer Funken", "6", "XBO", "9.89", "59.34"));
    let Status::Question { why, likely, .. } = matched(&bill(vec![of]), &book(&setup, &[], &[])).remove(0).status
    else {
        panic!()
    };
    assert!(why.contains("several items"), "{why}");
    assert_eq!(likely.iter().map(|l| l.item).collect::<Vec<_>>(), [SPIRIT, TONIC]);
}

#[test]
fn what_was_explained_once_is_known() {
    let of = |unit: &str, quantity: &str| coded("K-9", line("1", "Limes", quantity, unit, "3.20", "14.40"));
    let Status::Question { likely, .. } = one(of("KGM", "4.5"), &[], &[]) else { panic!() };
    assert_eq!(likely[0].item, LIME);
    // Twelve to the kilogram.
    let rate = Rate::of(54, number("4.5")).unwrap();
    assert_eq!((rate.numerator, rate.denominator), (12, 1));
    let known = vec![KnownCode::learned(WE, &of("KGM", "4.5"), Means::Item { item: LIME, rate }).unwrap()];
    assert_eq!(said(&one(of("KGM", "4.5"), &known, &[])), Ok((LIME, 54)));
    assert_eq!(said(&one(of("kgm", "2"), &known, &[])), Ok((LIME, 24)));
    assert!(said(&one(of("KGM", "0.3"), &known, &[])).unwrap_err().contains("no whole number"));
    // In another unit the item is known, the number is not.
    assert!(matches!(one(of("XBX", "1"), &known, &[]), Status::Question { item: Some(LIME), .. }));
    // Of another supplier nothing is known.
    let others: Vec<KnownCode> = known.iter().map(|code| KnownCode { supplier: OTHER, ..code.clone() }).collect();
    assert!(matches!(one(of("KGM", "4.5"), &others, &[]), Status::Question { item: None, .. }));
    // It goes before the offer's code.
    let rate = Rate::new(1, 1).unwrap();
    let bottle = coded("21010", line("1", "x", "2", "XBO", "1", "2.00"));
    let known = vec![KnownCode::learned(WE, &bottle, Means::Item { item: GIN, rate }).unwrap()];
    assert_eq!(said(&one(bottle, &known, &[])), Ok((GIN, 2)));
}

#[test]
fn codes_are_kept_in_one_form() {
    let mut of = coded(" ab-1 ", line("1", "Pfand Keg", "1", "H87", "1", "1.00"));
    of.gtin = Some("9520000210106".to_owned());
    assert_eq!(CodeKey::of(&of).unwrap().as_str(), "code ab-1");
    of.seller_code = None;
    assert_eq!(CodeKey::of(&of).unwrap().as_str(), "gtin 09520000210106");
    of.gtin = None;
    assert_eq!(CodeKey::of(&of), Some(CodeKey::kept("name pfand keg")));
    of.name.clear();
    assert_eq!(CodeKey::of(&of), None);
}

#[test]
fn deposits_are_suggested_until_somebody_says() {
    let empties = || coded("P-KEG", line("7", "Leergut Keg 30 l zurück", "-3", "H87", "30", "-90.00"));
    assert!(matches!(one(empties(), &[], &[]), Status::Deposit { amount: Money(-9_000), known: false, .. }));
    let keg = coded("P-KEG", line("5", "Keg 30 l", "4", "H87", "30", "120.00"));
    let known = vec![KnownCode::learned(WE, &keg, Means::Deposit).unwrap()];
    assert!(matches!(one(keg, &known, &[]), Status::Deposit { amount: Money(12_000), known: true, .. }));
    assert!(matches!(one(empties(), &known, &[]), Status::Deposit { known: true, .. }));
    // A deposit that is a charge of the line is no part of what the goods cost.
    let mut beer = coded("40017", line("1", "Hafenhell", "4", "XKG", "78.50", "434.00"));
    beer.charges.push(charge(true, "120.00", "Pfand"));
    let Status::Found { cost, deposit, unit_price, .. } = one(beer, &[], &[]) else { panic!() };
    assert_eq!((cost, deposit, unit_price), (Money(31_400), Money(12_000), Price(78_500_000)));
    // Nothing at all of something is no question, money for nothing is one.
    assert!(matches!(one(line("9", "x", "0", "H87", "0", "0"), &[], &[]), Status::NotStock { known: false, .. }));
    assert!(matches!(one(line("9", "Anfahrt", "1", "E48", "5", "5"), &[], &[]), Status::NotStock { known: false, .. }));
}

#[test]
fn a_credit_note_takes_back() {
    let setup = setup();
    let mut note = bill(vec![
        coded("21010", line("1", "Klarer Funken", "2", "XBO", "9.89", "19.78")),
        coded("P-KIS", line("2", "Pfand Kiste", "1", "H87", "5.10", "5.10")),
    ]);
    note.kind = DocumentKind::CreditNote;
    let got = matched(&note, &book(&setup, &[], &[]));
    let Status::Found { item, containers, unit_price, cost, .. } = got[0].status else { panic!("{got:?}") };
    assert_eq!((item, containers, unit_price, cost), (SPIRIT, -2, Price(9_890_000), Money(-1_978)));
    assert!(matches!(got[1].status, Status::Deposit { amount: Money(-510), .. }));
    // A line of an ordinary bill with a quantity below zero goes back as well.
    let back = coded("21010", line("1", "Klarer Funken", "-2", "XBO", "9.89", "-19.78"));
    assert_eq!(said(&one(back, &[], &[])), Ok((SPIRIT, -2)));
}

#[test]
fn likely_items_are_ranked_by_name_size_and_order() {
    let ranked = |name: &str, orders: &[Order]| match one(line("1", name, "6", "XBO", "9.89", "59.34"), &[], orders) {
        Status::Question { likely, .. } => likely.iter().map(|l| l.item).collect::<Vec<_>>(),
        other => panic!("{other:?}"),
    };
    assert_eq!(ranked("NORDMOLE DRY GIN 1,0L", &[])[0], GIN);
    assert_eq!(ranked("Klaren Funken 32% 70cl", &[])[0], SPIRIT);
    assert_eq!(ranked("Hafen-Hell v. Fass 30 l", &[])[0], BEER);
    assert_eq!(ranked("Zzyzx", &[]), []);
    // The order line that the bill points to is the likeliest, whatever it is called.
    let setup = setup();
    let mut invoice = bill(vec![line("1", "Zzyzx", "6", "XBO", "9.89", "59.34")]);
    invoice.order_ref = Some("b-2026-11".to_owned());
    invoice.lines[0].order_line = Some("2".to_owned());
    let orders = [order(&[(GIN, 1, 6, 11_250), (TONIC, 1, 24, 2_400)])];
    let Status::Question { likely, .. } = matched(&invoice, &book(&setup, &[], &orders)).remove(0).status else {
        panic!()
    };
    assert_eq!(likely.iter().map(|l| l.item).collect::<Vec<_>>(), [TONIC]);
}

#[test]
fn freight_stays_apart_or_is_shared_out() {
    let setup = setup();
    let mut invoice = bill(vec![
        coded("40017", line("1", "Hafenhell", "4", "XKG", "78.50", "314.00")),
        coded("P-KEG", line("2", "Pfand Keg", "4", "H87", "30", "120.00")),
        line("3", "Unknown", "1", "XBO", "10", "10.00"),
        coded("20031", line("4", "Gin", "6", "H87", "18.75", "106.87")),
    ]);
    invoice.charges.push(charge(true, "7.50", "Anlieferung"));
    invoice.charges.push(charge(true, "3.00", "Kistenpfand"));
    let freight = |spread| {
        let got = matched(&invoice, &Book { spread, ..book(&setup, &[], &[]) });
        let of = |m: &Matched| match m.status {
            Status::Found { freight, unit_price, .. } => Some((freight, unit_price)),
            _ => None,
        };
        got.iter().map(of).collect::<Vec<_>>()
    };
    assert_eq!(freight(false), [Some((Money(0), Price(78_500_000))), None, None, Some((Money(0), Price(17_811_667)))]);
    let apart: Vec<(String, Money, bool)> =
        apart(&invoice, euro()).into_iter().map(|a| (a.why, a.amount, a.deposit)).collect();
    assert_eq!(apart, [("Anlieferung".to_owned(), Money(750), false), ("Kistenpfand".to_owned(), Money(300), true)]);
    // 7.50 over 314.00, 10.00 (asked about, so it counts) and 106.87: 5.46, 0.18, 1.86 (by hand: 546.50, 17.40, 186.00).
    let got = freight(true);
    assert_eq!(got[0], Some((Money(547), Price(79_867_500))));
    assert_eq!(got[3].map(|(freight, _)| freight), Some(Money(186)));
}

#[test]
fn a_seller_and_an_order_are_known_by_name() {
    let setup = setup();
    let named = |name: &str, trading: Option<&str>| {
        let seller = Party { name: name.to_owned(), trading_name: trading.map(str::to_owned), ..Party::default() };
        likely_suppliers(&seller, &setup).into_iter().map(|(id, score)| (id, score >= 900)).collect::<Vec<_>>()
    };
    assert_eq!(named("quendelbach", None), [(WE, true)]);
    assert_eq!(named("Getränkelager Quendelbach GmbH", None), [(WE, true)]);
    assert_eq!(named("Zwölf Nullen GmbH", Some("Ostwind")), [(OTHER, true)]);
    assert_eq!(named("Zwölf Nullen GmbH", None), []);
    let orders = [order(&[])];
    let mut invoice = bill(vec![]);
    assert_eq!(named_order(&invoice, &orders), None);
    invoice.order_ref = Some(" b-2026-11".to_owned());
    assert_eq!(named_order(&invoice, &orders).map(|order| order.id), Some(OrderId(1)));
}

fn beside(lines: Vec<InvoiceLine>, orders: &[Order]) -> (Setup, Against) {
    let setup = setup();
    let got = matched(&bill(lines), &book(&setup, &[], orders));
    let against = Against::new(&got, orders, &setup);
    (setup, against)
}

#[test]
fn short_dear_and_unordered_lines_stand_out() {
    let orders = [order(&[(SPIRIT, 2, 6, 5_934), (BEER, 4, 1, 7_850), (WATER, 1, 24, 1_140)])];
    let (setup, mut against) = beside(
        vec![
            coded("21010", line("1", "Klarer Funken", "12", "XBO", "9.89", "118.68")),
            coded("40017", line("2", "Hafenhell", "4", "XKG", "80.00", "320.00")),
            coded("20031", line("3", "Nordmole Gin", "6", "H87", "18.75", "112.50")),
            coded("P", line("4", "Pfand", "4", "H87", "30", "120.00")),
            line("5", "Zzyzx", "1", "XBO", "1", "1.00"),
        ],
        &orders,
    );
    assert_eq!((against.deposits, against.open.as_slice()), (Money(12_000), [4].as_slice()));
    let items: Vec<ItemId> = against.lines.iter().map(|l| l.item).collect();
    assert_eq!(items, [SPIRIT, BEER, GIN, WATER]);
    assert_eq!(against.deliveries("R", WE, Moment(0), euro()), Err(NotSaid { item: SPIRIT }));
    for (at, came) in [(0, 10), (1, 3), (2, 7), (3, 24)] {
        against.lines[at].came = Some(came);
    }
    let marks: Vec<Vec<Mark>> = against.lines.iter().map(AgainstLine::marks).collect();
    assert_eq!(
        marks,
        [
            vec![Mark::Short],
            vec![Mark::Short, Mark::Dearer],
            vec![Mark::Over, Mark::NotOrdered],
            vec![Mark::NotInvoiced]
        ]
    );
    // By hand: 2 × 9.89; 1 × 80.00 and 3 × (80.00 − 78.50).
    let claims: Vec<(ItemId, ClaimKind, i64, Money)> =
        against.claims(&setup).into_iter().map(|c| (c.item, c.kind, c.containers, c.money)).collect();
    assert_eq!(
        claims,
        [
            (SPIRIT, ClaimKind::Short, 2, Money(1_978)),
            (BEER, ClaimKind::Short, 1, Money(8_000)),
            (BEER, ClaimKind::Dearer, 3, Money(450)),
        ]
    );
    assert_eq!(
        against.note("R-26-0318", &setup).unwrap(),
        "To claim on invoice R-26-0318: 104.28 EUR without tax\n\
         - Klarer Funken: 12 invoiced, 10 came: 2 at 9.89 = 19.78 EUR\n\
         - Hafenhell: 4 invoiced, 3 came: 1 at 80.00 = 80.00 EUR\n\
         - Hafenhell: agreed at 78.50, invoiced at 80.00: the difference for 3 = 4.50 EUR"
    );
    let booked = against.deliveries("R", WE, Moment(0), euro()).unwrap();
    let booked: Vec<(i64, ItemId, i64, Price)> =
        booked.into_iter().map(|d| (d.line, d.item, d.containers, d.unit_price)).collect();
    // What came uninvoiced is booked at the agreed price: 11.40 ÷ 24.
    assert_eq!(
        booked,
        [
            (1, SPIRIT, 10, Price(9_890_000)),
            (2, BEER, 3, Price(80_000_000)),
            (3, GIN, 7, Price(18_750_000)),
            (4, WATER, 24, Price(475_000)),
        ]
    );
}

#[test]
fn what_goes_back_is_claimed_when_it_is_not_credited() {
    let (setup, mut against) = beside(
        vec![
            coded("21010", line("1", "Klarer Funken", "6", "XBO", "9.89", "59.34")),
            coded("21010", line("2", "Klarer Funken", "-2", "XBO", "9.00", "-18.00")),
        ],
        &[],
    );
    assert_eq!(against.lines.len(), 2, "what goes back is a line of its own");
    against.lines[0].came = Some(6);
    against.lines[1].came = Some(-3);
    let claims = against.claims(&setup);
    assert_eq!(claims.iter().map(|c| (c.kind, c.money)).collect::<Vec<_>>(), [(ClaimKind::NotCredited, Money(900))]);
    against.lines[1].came = Some(-1);
    assert_eq!(against.claims(&setup), []);
    assert_eq!(against.note("R", &setup), None);
}

#[test]
fn a_price_rounded_to_the_coin_is_no_dearer() {
    // A crate of 24 at 11.40 is 0.475 a bottle; charged singly it is 0.48 or 0.47.
    let orders = [order(&[(WATER, 1, 24, 1_140)])];
    for (price, net, dearer) in [("0.48", "11.52", true), ("0.475", "11.40", false)] {
        let (setup, mut against) =
            beside(vec![coded("11020", line("1", "Quellperle", "24", "XBO", price, net))], &orders);
        against.lines[0].came = Some(24);
        assert_eq!(against.claims(&setup).is_empty(), !dearer, "{price}");
    }
    // Six at 59.35 is 9.8917 a bottle; 12 at 9.90 is within half a coin each, at 9.95 it is not.
    let orders = [order(&[(SPIRIT, 2, 6, 5_935)])];
    for (net, dearer) in [("118.75", false), ("119.40", true)] {
        let (setup, mut against) = beside(vec![coded("21010", line("1", "x", "12", "XBO", "1", net))], &orders);
        against.lines[0].came = Some(12);
        assert_eq!(against.claims(&setup).is_empty(), !dearer, "{net}");
    }
    // By the case, as it was agreed, the price is rounded once for the case: two cents are two cents.
    for (net, dearer) in [("118.70", false), ("118.71", false), ("118.74", true)] {
        let (setup, mut against) = beside(vec![coded("21010", line("1", "x", "2", "XCS", "1", net))], &orders);
        against.lines[0].came = Some(12);
        assert_eq!(against.claims(&setup).is_empty(), !dearer, "{net}");
    }
}

#[test]
fn what_goes_back_and_what_is_free_have_marks_of_their_own() {
    let line = |ordered: Option<(i64, i64)>, invoiced: (i64, i64), came| AgainstLine {
        item: ItemId(1),
        ordered: ordered.map(|(containers, cost)| Agreed { containers, cost: Money(cost), prices: containers }),
        invoiced: Some(Invoiced {
            containers: invoiced.0,
            cost: Money(invoiced.1),
            prices: invoiced.0.abs(),
            ..Invoiced::default()
        }),
        came: Some(came),
        place: None,
    };
    for (line, want) in [
        (line(None, (-2, -5_140), 0), vec![Mark::Kept]),
        (line(None, (-2, -5_140), -1), vec![Mark::Kept, Mark::Back]),
        (line(None, (-1, -2_570), -2), vec![Mark::NotCredited, Mark::Back]),
        (line(None, (-2, -5_140), -2), vec![Mark::Back]),
        // Two ordered, three come for the money of two.
        (line(Some((2, 5_140)), (3, 5_140), 3), vec![Mark::Free]),
        (line(Some((2, 5_140)), (3, 5_140), 2), vec![Mark::Short, Mark::Free]),
        (line(Some((2, 5_140)), (3, 7_710), 3), vec![Mark::More]),
        // Three ordered, two charged for the money of three, and three come.
        (line(Some((3, 7_710)), (2, 7_710), 3), vec![Mark::Free]),
    ] {
        assert_eq!(line.marks(), want, "{line:?}");
    }
}

proptest! {
    /// What is claimed is what is charged less what came at the agreed price (at the charged one where that is lower).
    #[test]
    fn claims_are_what_is_charged_less_what_came_as_agreed(
        invoiced in 1_i64..200, came in 0_i64..250, net in 1_i64..500_000, packs in 1_i64..40, pack in 1_i64..25, price in 1_i64..20_000,
    ) {
        let setup = setup();
        let status = Status::Found {
            item: SPIRIT, containers: invoiced, unit_price: Price::default(), cost: Money(net), prices: invoiced, deposit: Money::ZERO,
            freight: Money::ZERO, how: String::new(),
        };
        let orders = [order(&[(SPIRIT, packs, pack, price)])];
        let mut against = Against::new(&[Matched { line: 0, status }], &orders, &setup);
        against.lines[0].came = Some(came);
        let claimed: i64 = against.claims(&setup).iter().map(|c| c.money.0).sum();
        let kept = came.min(invoiced);
        // In 1/(invoiced × pack) of a coin, to stay exact.
        let (i, k, n, p, q) = (i128::from(invoiced), i128::from(kept), i128::from(net), i128::from(price), i128::from(pack));
        let dearer = against.lines[0].marks().contains(&Mark::Dearer);
        let of_kept = if dearer { k * p * i } else { k * n * q };
        let exact = n * i * q - of_kept;
        let off = (i128::from(claimed) * i * q - exact).abs();
        prop_assert!(off <= i * q, "claimed {claimed}, exact {exact} / {}", i * q);
        prop_assert!(claimed >= 0);
        prop_assert!(claimed <= net);
        if came >= invoiced && !dearer {
            prop_assert_eq!(claimed, 0);
        }
        // The price is only dearer when it is, and never when it is lower.
        prop_assert!(!dearer || n * q > p * i);
    }

    /// Every line is one of the four; what is found adds up to the net to the coin.
    #[test]
    fn nothing_of_a_bill_is_lost(
        lines in prop::collection::vec((0_usize..6, -50_i64..50, 0_usize..8, -100_000_i64..100_000), 1..8),
        credit in any::<bool>(), spread in any::<bool>(), freight in 0_i64..5_000,
    ) {
        let setup = setup();
        let codes = ["40017", "21010", "11020", "20031", "55500", "P-KEG"];
        let units = ["H87", "XBO", "XCR", "XKG", "LTR", "DZN", "??", "XPX"];
        let lines: Vec<InvoiceLine> = lines.into_iter().enumerate().map(|(n, (code, quantity, unit, net))| {
            let name = if code == 5 { "Pfand" } else { "x" };
            let net = Decimal::of(net, 2).to_string();
            coded(codes[code], line(&n.to_string(), name, &quantity.to_string(), units[unit], "1", &net))
        }).collect();
        let mut invoice = bill(lines);
        invoice.charges.push(charge(true, &Decimal::of(freight, 2).to_string(), "Anlieferung"));
        if credit {
            invoice.kind = DocumentKind::CreditNote;
        }
        let got = matched(&invoice, &Book { spread, ..book(&setup, &[], &[]) });
        prop_assert_eq!(got.len(), invoice.lines.len());
        let (mut total, mut shared) = (0, 0);
        let mut bearers = false;
        for m in &got {
            match &m.status {
                Status::Found { containers, unit_price, cost, freight, .. } => {
                    prop_assert!(*containers != 0);
                    let way = invoice.sign() * invoice.lines[m.line].quantity.sign();
                    prop_assert_eq!(containers.signum(), way);
                    let priced = i128::from(unit_price.0) * i128::from(*containers);
                    let whole = i128::from((*cost + *freight).0) * 10_000;
                    prop_assert!((priced - whole).abs() * 2 <= i128::from(containers.abs()));
                    total += cost.0;
                    shared += freight.0;
                    bearers |= cost.0.signum() == invoice.sign();
                }
                Status::Deposit { amount, .. } | Status::NotStock { amount, .. } => total += amount.0,
                Status::Question { amount, .. } => {
                    total += amount.0;
                    bearers |= amount.0.signum() == invoice.sign();
                }
            }
        }
        let nets: i64 = invoice.lines.iter().map(|l| l.net.exact(2).unwrap()).sum();
        prop_assert_eq!(total, nets * invoice.sign());
        let open = got.iter().any(|m| matches!(m.status, Status::Question { .. }));
        if spread && bearers && !open {
            prop_assert_eq!(shared, freight * invoice.sign());
        }
        if !spread {
            prop_assert_eq!(shared, 0);
        }
        let against = Against::new(&got, &[], &setup);
        let costs: i64 = against.lines.iter().filter_map(|l| l.invoiced.as_ref()).map(|i| i.cost.0).sum();
        prop_assert!(costs.abs() <= 50_000_000);
    }

    /// A rate that was learned gives back the containers it was learned from.
    #[test]
    fn a_learned_rate_gives_the_same_again(containers in 1_i64..10_000, quantity in 1_i64..10_000_000, places in 0_u32..4) {
        let quantity = Decimal::of(quantity, places);
        let rate = Rate::of(containers, quantity).unwrap();
        prop_assert_eq!(rate.times(quantity), Some(containers));
        prop_assert_eq!(Rate::of(-containers, quantity.negated()), Some(rate));
    }
}
