//! Suppliers' bills through the whole program: beside their orders, booked, and what is then to be claimed.
//!
//! The figures are worked by hand beside each; the rules of the trade in them are common practice, no source. The bills
//! are written in the two syntaxes of EN 16931; how bills of other programs are read is the matter of `e_invoices.rs`.

#![allow(clippy::unwrap_used)]

#[path = "support/paper.rs"]
mod paper;

use paper::{Paper, PaperLine, line};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use tantalus::desk::{check, dump, init, load, ordering, receiving, unwatched};
use tantalus::domain::ledger::{Check, Delivery};
use tantalus::domain::measure::{Money, Price};
use tantalus::domain::receive::{ClaimKind, DocumentKind, Documents, KeptClaim, Means, Rate, Status, Weight};
use tantalus::domain::rows::{Answers, BillBooked, BillChoice, BillFile, BillView, Checking};
use tantalus::domain::till::TakenAs;
use tantalus::domain::venue::{DayRule, ItemId, Moment, OrderState, Setup, SupplierId};
use tantalus::store::{Store, bills, files, journal, orders, setup};
use tempfile::TempDir;

const NOW: &str = "2026-11-20 16:00";

fn days() -> DayRule {
    DayRule { zone: chrono_tz::Europe::Berlin, starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
}

fn at(text: &str) -> Moment {
    days().parse(text).unwrap()
}

/// Two suppliers; gin by the case of six, kegs of beer, tonic by the crate of 24, limes by the box of 50; two orders on
/// their way and one of the other supplier.
const BASE: &[(&str, &str)] = &[
    ("venue.csv", "key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\nday_starts,05:00\n"),
    ("people.csv", "initials,role\nAB,manager\n"),
    ("places.csv", "place,walk\nRail,1\nCellar,2\n"),
    ("suppliers.csv", "supplier,schedule,vat_id\nQuendelbach,Mon 14:00 > Wed,DE 123456788\nThe cart,,\n"),
    (
        "stock.csv",
        "item,kind,size,count_by\nGin,spirit,700 ml,tenths\nBeer,beer,30 l,whole\nTonic,mixer,200 ml,whole\n\
         Limes,food,1 each,whole\n",
    ),
    ("shelves.csv", "place,item\nRail,Gin\nCellar,Gin\n"),
    (
        "offers.csv",
        "supplier,item,code,pack,price\nQuendelbach,Gin,21010,6,60.00\nQuendelbach,Beer,40017,1,78.50\n\
         Quendelbach,Tonic,11020,24,14.40\nQuendelbach,Limes,LM,50,9.25\nThe cart,Gin,7,1,11.00\n",
    ),
    (
        "orders.csv",
        "order,line,supplier,item,packs,price,state,placed,pack\n\
         B-11,1,Quendelbach,Gin,2,60.00,sent,2026-11-16 12:00,6\n\
         B-11,2,Quendelbach,Beer,2,78.50,sent,2026-11-16 12:00,1\n\
         B-12,1,Quendelbach,Tonic,3,14.40,sent,2026-11-18 12:00,24\n\
         C-1,1,The cart,Gin,6,11.00,sent,2026-11-18 12:00,1\n",
    ),
];

/// A line of a delivery: document, line, item, containers, price of one in ten-thousandths of the coin, deposit in cents.
type Came = (String, i64, String, i64, i64, Option<i64>);

/// A line of an order: packs, containers in one, price of one in cents.
type Ordered = (i64, i64, i64);

fn delivery(document: &str, line: i64, item: &str, containers: i64, price: i64, deposit: Option<i64>) -> Came {
    (document.to_owned(), line, item.to_owned(), containers, price, deposit)
}

struct Bar {
    home: TempDir,
    store: Store,
    setup: Setup,
}

fn bar() -> Bar {
    bar_with(&[])
}

fn bar_with(more: &[(&str, &str)]) -> Bar {
    let home = tempfile::tempdir().unwrap();
    let plain = home.path().join("plain");
    std::fs::create_dir_all(&plain).unwrap();
    for (name, text) in BASE.iter().chain(more) {
        std::fs::write(plain.join(name), text).unwrap();
    }
    let made = init::init_from(&home.path().join("book.tantalus"), &plain, at(NOW), &mut unwatched);
    let (store, _) = made.unwrap_or_else(|refused| panic!("{refused}"));
    let setup = store.read(setup::load).unwrap();
    Bar { home, store, setup }
}

impl Bar {
    fn item(&self, name: &str) -> ItemId {
        self.setup.items.iter().find(|i| i.name == name).unwrap().id
    }

    fn supplier(&self, name: &str) -> SupplierId {
        self.setup.suppliers.iter().find(|s| s.name == name).unwrap().id
    }

    /// A bill as a file of the folder.
    fn file(&self, name: &str, text: &str) -> Arc<BillFile> {
        let path = self.home.path().join(name);
        std::fs::write(&path, text).unwrap();
        Arc::new(receiving::read(&path).unwrap_or_else(|refused| panic!("{refused}\n{text}")))
    }

    fn looked(&self, file: &Arc<BillFile>, choice: &BillChoice) -> BillView {
        receiving::view(&self.store, file, choice, at(NOW)).unwrap()
    }

    /// A bill in UBL, beside what it answers as far as the program finds that out.
    fn view(&self, paper: &Paper) -> BillView {
        self.looked(&self.file("bill.xml", &paper.ubl()), &BillChoice::default())
    }

    fn accept(&self, view: &BillView, keep_rest: bool) -> Result<BillBooked, String> {
        receiving::accept(&self.store, view, keep_rest, false, Some("AB"), at(NOW)).map_err(|e| e.to_string())
    }

    /// Deliveries in force.
    fn delivered(&self) -> Vec<Came> {
        let all = self.store.read(|c| journal::deliveries(c, Moment(0), at(NOW))).unwrap();
        let came = |d: &Delivery| {
            let price = d.unit_price.0 / 100;
            assert_eq!(price * 100, d.unit_price.0);
            let item = self.setup.item_name(d.item).to_owned();
            (d.document.clone(), d.line, item, d.containers, price, d.deposit.map(|m| m.0))
        };
        let mut all: Vec<Came> = all.iter().map(came).collect();
        all.sort();
        all
    }

    fn paid(&self, item: &str) -> Option<Price> {
        self.store.read(|c| journal::last_paid(c, at(NOW))).unwrap().get(&self.item(item)).copied()
    }

    /// State and lines of an order.
    fn order(&self, name: &str) -> Option<(OrderState, Vec<Ordered>)> {
        let order = self.store.read(|c| orders::find(c, name)).unwrap()?;
        Some((order.state, order.lines.iter().map(|l| (l.packs, l.pack, l.price.0)).collect()))
    }

    fn claims(&self) -> Vec<KeptClaim> {
        self.store.read(bills::claims).unwrap()
    }

    fn dumped(&self) -> BTreeMap<String, String> {
        dumped(&self.store, &self.home.path().join("dump"))
    }
}

fn dumped(store: &Store, folder: &Path) -> BTreeMap<String, String> {
    dump::dump(store, folder).unwrap();
    let read = |entry: std::io::Result<std::fs::DirEntry>| {
        let path = entry.unwrap().path();
        (path.file_name().unwrap().to_str().unwrap().to_owned(), std::fs::read_to_string(path).unwrap())
    };
    std::fs::read_dir(folder).unwrap().map(read).collect()
}

fn gin(many: &'static str, price: &'static str, net: i64) -> PaperLine {
    line("Klarer Gin 0,7 l", "21010", (many, "XBO"), price, net)
}

fn beer(many: &'static str, net: i64) -> PaperLine {
    line("Hafenhell Keg 30 l", "40017", (many, "XKG"), "78.50", net)
}

fn tonic(many: &'static str, net: i64) -> PaperLine {
    line("Tonic 24 x 0,2 l", "11020", (many, "XCR"), "14.40", net)
}

fn paper(number: &'static str, lines: Vec<PaperLine>) -> Paper {
    let (seller, vat) = ("Getränkelager Quendelbach GmbH", "DE123456788");
    Paper { delivered: "", order: "", seller, vat, ..Paper::of(number, lines) }
}

fn as_ordered() -> Paper {
    Paper { order: "b-11", ..paper("R-1", vec![gin("12", "10.00", 12_000), beer("2", 15_700)]) }
}

/// A bill with everything come as charged, but what was booked before.
fn came_as_charged(view: &BillView) -> BillView {
    let mut view = view.clone();
    for line in view.against.lines.iter_mut().filter(|line| line.came.is_none()) {
        line.came = Some(line.invoiced.as_ref().map_or(0, |invoiced| invoiced.containers));
    }
    view
}

/// A bill with so many come of one item, everything else as charged.
fn came(bar: &Bar, view: &BillView, item: &str, many: i64) -> BillView {
    let mut view = came_as_charged(view);
    let line = view.against.lines.iter_mut().find(|line| line.item == bar.item(item)).unwrap();
    line.came = Some(many);
    view
}

#[test]
fn a_bill_stands_beside_the_order_that_it_names_or_whose_items_it_has() {
    let bar = bar();
    let order = |name: &str| Answers::Order(bar.store.read(|c| orders::find(c, name)).unwrap().unwrap().id);
    let view = bar.view(&as_ordered());
    assert_eq!((view.supplier, view.answered()), (Some(bar.supplier("Quendelbach")), &order("B-11")));
    assert!(view.problems.is_empty(), "{:?}", view.problems);
    assert_eq!(view.may_answer.last().unwrap().0, Answers::Nothing);
    // Without the name, by what is charged; the cart's order is nobody else's.
    let unnamed = Paper { order: "", ..as_ordered() };
    assert_eq!(bar.view(&unnamed).answered(), &order("B-11"));
    assert_eq!(bar.view(&paper("R-2", vec![tonic("3", 4_320)])).answered(), &order("B-12"));
    // The name goes before the items.
    let named = Paper { order: "B-12", ..as_ordered() };
    assert_eq!(bar.view(&named).answered(), &order("B-12"));
    // What nobody ordered answers nothing, and whoever looks may say so of any.
    assert_eq!(
        bar.view(&paper("R-3", vec![line("Limetten", "LM", ("1", "XCT"), "9.25", 925)])).answered(),
        &Answers::Nothing
    );
    let file = bar.file("bill.xml", &as_ordered().ubl());
    let nothing = BillChoice { answers: Some(Answers::Nothing), ..BillChoice::default() };
    let view = bar.looked(&file, &nothing);
    assert!(view.orders.is_empty() && view.against.lines.iter().all(|line| line.ordered.is_none()));
}

#[test]
fn a_bill_as_ordered_is_booked_and_its_order_done() {
    let bar = bar();
    let pledge = line("Pfand Keg 30 l", "P-KEG", ("2", "C62"), "30.00", 6_000);
    let mut paper = Paper { freight: 750, ..as_ordered() };
    paper.lines.push(pledge);
    let view = bar.view(&paper);
    assert!(view.against.open.is_empty());
    let refused = bar.accept(&view, false).unwrap_err();
    assert_eq!(refused, "say how much Gin came; 0 if none did");
    let booked = bar.accept(&came_as_charged(&view), false).unwrap();
    assert_eq!(booked, BillBooked { deliveries: 2, ..BillBooked::default() });
    let want = [delivery("R-1", 1, "Gin", 12, 100_000, None), delivery("R-1", 2, "Beer", 2, 785_000, None)];
    assert_eq!(bar.delivered(), want);
    assert_eq!(bar.paid("Gin"), Some(Price(10_000_000)));
    assert_eq!(bar.order("B-11").unwrap().0, OrderState::Received);
    assert_eq!((bar.order("B-11 rest"), bar.order("B-12").unwrap().0), (None, OrderState::Sent));
    assert!(bar.claims().is_empty());
    // Goods 120 + 157; with the deposit and the freight 344.50, and 19 % on it: 409.96.
    let kept = bar.store.read(bills::list).unwrap();
    let kept = &kept[0];
    let sums = (kept.goods.0, kept.deposits.0, kept.charges.0, kept.other.0, kept.payable.map(|p| p.0));
    assert_eq!(sums, (27_700, 6_000, 750, 0, Some(40_996)));
    assert_eq!((kept.number.as_str(), kept.kind, kept.delivery.as_deref()), ("R-1", DocumentKind::Invoice, None));
    assert_eq!((kept.by.as_deref(), kept.at), (Some("AB"), at(NOW)));
    let taken = bar.store.read(files::in_force).unwrap();
    assert_eq!((taken[0].what, taken[0].added, taken[0].name.as_str()), (TakenAs::Invoice, 2, "bill.xml"));
    // Goods go where the item is stored.
    let place = bar.store.read(|c| journal::deliveries(c, Moment(0), at(NOW))).unwrap()[0].place;
    assert_eq!(bar.setup.place_name(place.unwrap()), "Cellar");
}

/// Invoiced 12 at 10.50, ordered 12 at 10.00, come 10. Two that did not come: 21.00; ten at half a coin more: 5.00. Of
/// the order, two stay: one pack of two for a third of 60.00.
#[test]
fn what_is_short_or_dearer_is_claimed_and_the_rest_stays_on_order_or_is_given_up() {
    for keep_rest in [true, false] {
        let bar = bar();
        let paper = Paper { order: "B-11", ..paper("R-1", vec![gin("12", "10.50", 12_600), beer("2", 15_700)]) };
        let view = came(&bar, &bar.view(&paper), "Gin", 10);
        let booked = bar.accept(&view, keep_rest).unwrap();
        assert_eq!((booked.deliveries, booked.claims, booked.claimed), (2, 2, Money(2_600)));
        let claims: Vec<_> = bar.claims().iter().map(|c| (c.kind, c.containers, c.money.0, c.item)).collect();
        let item = Some(bar.item("Gin"));
        assert_eq!(claims, [(ClaimKind::Short, 2, 2_100, item), (ClaimKind::Dearer, 10, 500, item)]);
        let first = &bar.claims()[0];
        assert_eq!((first.document.as_str(), first.by.as_deref(), &first.settled), ("R-1", Some("AB"), &None));
        assert_eq!(first.note, "Gin: 12 invoiced, 10 came: 2 at 10.50");
        // Stock is worth what is charged for it, until the supplier gives something back.
        assert_eq!(bar.delivered()[0], delivery("R-1", 1, "Gin", 10, 105_000, None));
        assert_eq!(bar.order("B-11").unwrap().0, OrderState::Received);
        let rest = keep_rest.then(|| (OrderState::Sent, vec![(1, 2, 2_000)]));
        assert_eq!((bar.order("B-11 rest"), booked.rest), (rest, keep_rest.then(|| "B-11 rest".to_owned())));
    }
}

#[test]
fn the_same_bill_is_not_booked_twice_in_whatever_form_it_comes() {
    let bar = bar();
    bar.accept(&came_as_charged(&bar.view(&as_ordered())), false).unwrap();
    let before = bar.dumped();
    let again = [
        ("again.xml", as_ordered().ubl()),
        ("blanks.xml", Paper { number: " r - 1 ", ..as_ordered() }.ubl()),
        ("cii.xml", as_ordered().cii()),
        ("cii-blanks.xml", Paper { number: "R- 1", order: "", ..as_ordered() }.cii()),
    ];
    for (name, text) in again {
        let file = bar.file(name, &text);
        let view = came_as_charged(&bar.looked(&file, &BillChoice::default()));
        assert_eq!(view.before.as_ref().map(|b| b.number.as_str()), Some("R-1"), "{name}");
        let refused = bar.accept(&view, false).unwrap_err();
        assert_eq!(refused, "“R-1” of this supplier was booked already, Fri 20 Nov 16:00", "{name}");
    }
    assert_eq!(bar.dumped(), before);
    // Another supplier may have the number too.
    let cart = BillChoice { supplier: Some(bar.supplier("The cart")), ..BillChoice::default() };
    assert_eq!(bar.looked(&bar.file("again.xml", &as_ordered().ubl()), &cart).before, None);
}

/// Both syntaxes say the same, and are booked the same.
#[test]
fn a_bill_of_the_other_syntax_is_booked_alike() {
    let book = |text: fn(&Paper) -> String| {
        let bar = bar();
        let mut paper = Paper { freight: 750, ..as_ordered() };
        paper.lines[1].net += 6_000;
        paper.lines[1].deposit = 6_000;
        let view = bar.looked(&bar.file("bill.xml", &text(&paper)), &BillChoice::default());
        bar.accept(&came_as_charged(&view), false).unwrap();
        let kept = bar.store.read(bills::list).unwrap().remove(0);
        (bar.delivered(), kept)
    };
    assert_eq!(book(Paper::ubl), book(Paper::cii));
}

/// Whoever took the goods in at the back door said line by line what came; the bill comes later and asks nobody again.
#[test]
fn what_was_looked_at_of_the_order_is_what_came_with_its_bill() {
    let bar = bar();
    let views = ordering::receivable(&bar.store, &bar.setup).unwrap();
    let order = views.iter().find(|v| v.order.name == "B-11").unwrap();
    let gin = order.lines.iter().find(|line| line.item == bar.item("Gin")).unwrap();
    let elsewhere = bar.setup.places.iter().map(|place| place.id).find(|id| Some(*id) != gin.place);
    let now = Check { line: gin.line, came: 11, charged: None, place: elsewhere, by: None };
    let checking = [Checking { item: gin.item, now, known: None }];
    assert_eq!(ordering::check(&bar.store, order.order.id, &checking, None, at("2026-11-19 11:00")).unwrap(), []);
    let view = bar.view(&as_ordered());
    let came = |item: &str| view.against.lines.iter().find(|line| line.item == bar.item(item)).unwrap();
    assert_eq!((came("Gin").came, came("Gin").place, came("Beer").came), (Some(11), elsewhere, None));
    bar.accept(&came_as_charged(&view), false).unwrap();
    assert_eq!(bar.delivered()[0], delivery("R-1", 1, "Gin", 11, 100_000, None));
    assert_eq!(bar.claims().len(), 1, "the twelfth is claimed");
    assert_eq!(bar.store.read(|c| tantalus::store::checks::of(c, order.order.id)).unwrap(), [], "it is not on its way");
}

/// The delivery note L-9 was booked at the order's prices: 11 of 12 gin, both kegs. The bill charges 12 gin at 10.50.
fn booked_by_its_paper(bar: &Bar) {
    let views = ordering::receivable(&bar.store, &bar.setup).unwrap();
    let mut view = views.into_iter().find(|v| v.order.name == "B-11").unwrap();
    for line in &mut view.lines {
        line.came = Some(if line.item == bar.item("Gin") { 11 } else { 2 });
    }
    ordering::receive(&bar.store, &view, "L-9", false, None, at("2026-11-19 11:00")).unwrap();
}

#[test]
fn a_bill_of_a_delivery_that_was_booked_by_its_paper_corrects_its_prices_only() {
    let bar = bar();
    booked_by_its_paper(&bar);
    let rows = || {
        let seqs = |c: &tantalus::store::Connection| {
            let count = c.query_row("SELECT count(*) FROM journal", [], |row| row.get(0)).unwrap();
            Ok::<i64, tantalus::store::StoreError>(count)
        };
        bar.store.read(seqs).unwrap()
    };
    assert_eq!(rows(), 2);
    let mut bill = paper("R-1", vec![gin("12", "10.50", 12_600), beer("2", 16_700)]);
    (bill.despatch, bill.lines[1].deposit, bill.lines[1].price) = ("l-9", 1_000, "78.50");
    // The goods came already: nobody is asked how many.
    let view = bar.view(&bill);
    assert_eq!(view.answered(), &Answers::Delivery("L-9".to_owned().into()));
    let booked = bar.accept(&view, false).unwrap();
    assert_eq!((booked.deliveries, booked.corrected, booked.claims), (0, 2, 2));
    // One gin that did not come: 10.50; eleven at half a coin over what they were booked at: 5.50.
    let claims: Vec<_> = bar.claims().iter().map(|c| (c.kind, c.containers, c.money.0)).collect();
    assert_eq!(claims, [(ClaimKind::Short, 1, 1_050), (ClaimKind::Dearer, 11, 550)]);
    let want = [delivery("L-9", 1, "Gin", 11, 105_000, None), delivery("L-9", 2, "Beer", 2, 785_000, Some(500))];
    assert_eq!(bar.delivered(), want, "no container more or less");
    // Each corrected line is taken back and booked anew, when it came.
    assert_eq!(rows(), 6);
    let all = bar.store.read(|c| journal::deliveries(c, Moment(0), at(NOW))).unwrap();
    assert!(all.iter().all(|d| d.at == at("2026-11-19 11:00")));
    assert_eq!(bar.store.read(bills::list).unwrap()[0].delivery.as_deref(), Some("L-9"));

    // It has its bill now: the next one of the same goods is not put beside it unasked.
    let next = paper("R-2", vec![gin("12", "10.50", 12_600), beer("2", 15_700)]);
    let view = bar.view(&next);
    assert_eq!(view.answered(), &Answers::Nothing);
    assert!(view.may_answer[0].1.ends_with("“L-9”, which has the bill “R-1”"), "{:?}", view.may_answer);
    // Nor is a bill put beside deliveries that it brought itself.
    bar.accept(&came_as_charged(&view), false).unwrap();
    let view = bar.view(&Paper { number: "R-3", ..next });
    assert_eq!(view.answered(), &Answers::Nothing);
}

/// A bottle of an earlier delivery goes back on the bill of this one: it is no price of what came.
#[test]
fn what_goes_back_on_a_bill_does_not_hide_what_came() {
    let bar = bar();
    booked_by_its_paper(&bar);
    let lines = vec![gin("-1", "10.00", -1_000), gin("11", "10.50", 11_550), beer("2", 15_700)];
    let view = bar.view(&Paper { despatch: "L-9", ..paper("R-1", lines) });
    assert!(bar.accept(&view, false).unwrap_err().to_string().contains("say how much Gin came"));
    let booked = bar.accept(&came_as_charged(&view), false).unwrap();
    assert_eq!((booked.corrected, booked.claims, booked.claimed), (1, 1, Money(550)));
    assert_eq!(booked.deliveries, 1, "the bottle leaves stock");
    assert!(bar.delivered().contains(&delivery("R-1", 1, "Gin", -1, 100_000, None)), "{:?}", bar.delivered());
    assert_eq!(bar.paid("Gin"), Some(Price(10_500_000)));
}

#[test]
fn a_bill_at_the_booked_prices_corrects_and_claims_nothing() {
    // Fifty limes at 0.1849: 9.245, and 9.25 on the bill. Rounded singly they would be 9.00.
    let bar = bar_with(&[(
        "deliveries.csv",
        "document,line,at,supplier,item,containers,unit_price\n\
         L-8,1,2026-11-18 10:00,Quendelbach,Limes,50,0.1849\nL-8,2,2026-11-18 10:00,Quendelbach,Gin,-1,10.00\n",
    )]);
    let bill = paper("R-8", vec![line("Limetten", "LM", ("1", "XCT"), "9.25", 925)]);
    let view = bar.view(&bill);
    assert_eq!((view.answered(), view.certain), (&Answers::Delivery("L-8".to_owned().into()), false));
    // Nobody said that it is for it, and the bill does not either.
    assert!(bar.accept(&view, false).unwrap_err().to_string().contains("say first whether the bill is for “L-8”"));
    let booked = bar.accept(&BillView { certain: true, ..view }, false).unwrap();
    assert_eq!((booked.claims, booked.deliveries), (0, 0), "{:?}", bar.claims());
    assert_eq!(bar.paid("Limes"), Some(Price(185_000)));
}

/// Two of the gin of R-1 did not come. The credit note is for them, or for two more that went back.
#[test]
fn a_credit_note_takes_goods_back_or_money_only_and_settles_the_claims_of_its_bill() {
    for goods_back in [true, false] {
        let bar = bar();
        bar.accept(&came(&bar, &bar.view(&as_ordered()), "Gin", 10), false).unwrap();
        bar.accept(&came(&bar, &bar.view(&paper("R-5", vec![tonic("3", 4_320)])), "Tonic", 71), false).unwrap();
        assert_eq!(receiving::open_claims(&bar.store).unwrap().len(), 2);
        let note = Paper { credit: true, preceding: "r 1", ..paper("G-1", vec![gin("2", "10.00", 2_000)]) };
        // The number of the bill is written in another way than on the bill.
        let note = Paper { preceding: " r-1", ..note };
        let view = bar.view(&note);
        assert_eq!(
            (view.answered(), view.against.lines[0].invoiced.as_ref().unwrap().containers),
            (&Answers::Nothing, -2)
        );
        assert_eq!(view.against.lines[0].came, None, "somebody has to say whether goods went back");
        let view = if goods_back { came_as_charged(&view) } else { came(&bar, &view, "Gin", 0) };
        let booked = bar.accept(&view, false).unwrap();
        // Bottles that really went back are paid for by that; the claim for those that did not come stays.
        let back = usize::from(goods_back);
        assert_eq!((booked.deliveries, booked.settled, booked.unsettled, booked.claims), (back, 1 - back, back, 0));
        let back = bar.delivered().into_iter().find(|d| d.0 == "G-1");
        assert_eq!(back, goods_back.then(|| delivery("G-1", 1, "Gin", -2, 100_000, None)));
        let claims = bar.claims();
        let settled = Some((at(NOW), Some("AB".to_owned()), "credit note G-1".to_owned()));
        assert_eq!(claims[0].settled, settled.filter(|_| !goods_back));
        assert_eq!((claims[1].document.as_str(), &claims[1].settled), ("R-5", &None), "another bill's claim stays");
        let bill = bar.store.read(bills::list).unwrap().remove(2);
        assert_eq!(
            (bill.kind, bill.goods, bill.payable),
            (DocumentKind::CreditNote, Money(-2_000), Some(Money(-2_380)))
        );
        // What a bill brought last is what it cost; giving back changes no price.
        assert_eq!(bar.paid("Gin"), Some(Price(10_000_000)));
    }
}

#[test]
fn more_that_went_back_than_is_credited_is_claimed() {
    let bar = bar();
    let note = Paper { credit: true, ..paper("G-1", vec![gin("2", "10.00", 2_000)]) };
    bar.accept(&came(&bar, &bar.view(&note), "Gin", -3), false).unwrap();
    let claims: Vec<_> = bar.claims().iter().map(|c| (c.kind, c.containers, c.money.0)).collect();
    assert_eq!(claims, [(ClaimKind::NotCredited, 1, 1_000)]);
    assert_eq!(bar.delivered()[0].3, -3);
}

/// Some suppliers number invoices and credit notes from 1 each.
#[test]
fn a_credit_note_may_have_the_number_of_an_invoice() {
    let bar = bar();
    bar.accept(&came_as_charged(&bar.view(&as_ordered())), false).unwrap();
    let note = Paper { credit: true, ..paper("R-1", vec![gin("2", "10.00", 2_000)]) };
    let view = bar.view(&note);
    assert_eq!(view.before, None);
    bar.accept(&came_as_charged(&view), false).unwrap();
    let documents: Vec<_> = bar.delivered().into_iter().map(|d| (d.0, d.3)).collect();
    let of = |document: &str, many| (document.to_owned(), many);
    assert_eq!(documents, [of("R-1", 12), of("R-1", 2), of("R-1 credit note", -2)]);
    assert!(bar.view(&note).before.is_some());
}

/// Freight of 8.31 over goods of 120 and 157: 3.60 and 4.71. So one gin is 10.30 and one keg 80.855.
#[test]
fn freight_is_shared_out_over_the_goods_where_somebody_says_so() {
    let bar = bar();
    let file = bar.file("bill.xml", &Paper { freight: 831, ..as_ordered() }.ubl());
    let apart = bar.looked(&file, &BillChoice::default());
    let shared = bar.looked(&file, &BillChoice { spread: true, ..BillChoice::default() });
    assert_eq!((apart.charges, shared.charges), (Money(831), Money(831)));
    bar.accept(&came_as_charged(&shared), false).unwrap();
    let prices: Vec<_> = bar.delivered().into_iter().map(|d| (d.2, d.4)).collect();
    assert_eq!(prices, [("Gin".to_owned(), 103_000), ("Beer".to_owned(), 808_550)]);
    // The goods are dearer by it, the agreed price is not: nothing is claimed.
    assert!(bar.claims().is_empty());
    assert_eq!(bar.store.read(bills::list).unwrap()[0].goods, Money(27_700));
}

/// Deposits of a line of their own, of the line of the goods, and given back: none of them is a price.
#[test]
fn deposits_stand_apart_from_prices() {
    let bar = bar();
    let mut goods = tonic("3", 4_320 + 930);
    goods.deposit = 930;
    let empties = line("Leergut Kiste zurück", "P-KIS", ("-4", "C62"), "3.10", -1_240);
    let kegs = line("Pfand Keg 30 l", "P-KEG", ("1", "C62"), "30.00", 3_000);
    let view = bar.view(&paper("R-7", vec![goods, empties, kegs]));
    assert_eq!(view.against.deposits, Money(-1_240 + 3_000));
    bar.accept(&came_as_charged(&view), false).unwrap();
    // 43.20 over 72 bottles; 9.30 of deposit over them, 0.13 each.
    assert_eq!(bar.delivered(), [delivery("R-7", 1, "Tonic", 72, 6_000, Some(13))]);
    let bill = bar.store.read(bills::list).unwrap().remove(0);
    assert_eq!((bill.goods, bill.deposits), (Money(4_320), Money(930 - 1_240 + 3_000)));
}

#[test]
fn a_deposit_that_is_given_back_within_a_line_is_no_deposit_on_what_came() {
    let bar = bar();
    let mut goods = tonic("3", 4_320 - 930);
    goods.deposit = -930;
    bar.accept(&came_as_charged(&bar.view(&paper("R-7", vec![goods]))), false).unwrap();
    assert_eq!(bar.delivered(), [delivery("R-7", 1, "Tonic", 72, 6_000, None)]);
    assert_eq!(bar.store.read(bills::list).unwrap()[0].deposits, Money(-930));
}

#[test]
fn a_bill_that_cannot_be_right_is_refused_and_the_book_stays_as_it_was() {
    let bar = bar();
    let before = bar.dumped();
    let lines = || vec![gin("12", "10.00", 12_000), tonic("1", 1_440)];
    for (paper, says) in [
        (Paper { currency: "USD", ..as_ordered() }, "the bill is in USD, but this book is in EUR"),
        (Paper { issued: "2026-12-24", ..as_ordered() }, "the bill is dated 2026-12-24, after today (2026-11-20)"),
        // More is taken off the whole than all of it costs.
        (Paper { freight: -14_000, ..paper("R-1", lines()) }, "Gin would be booked at"),
    ] {
        let file = bar.file("bill.xml", &paper.ubl());
        let view = came_as_charged(&bar.looked(&file, &BillChoice { spread: true, ..BillChoice::default() }));
        let refused = bar.accept(&view, false).unwrap_err();
        assert!(refused.contains(says), "{refused}");
        assert_eq!(bar.dumped(), before, "{says}");
    }
}

/// The sign that a spreadsheet would run stands in brackets in a number, so that it can be dumped and loaded.
#[test]
fn a_number_that_is_a_formula_is_kept_as_none() {
    let bar = bar();
    bar.accept(&came_as_charged(&bar.view(&paper("=1+1", vec![beer("1", 7_850)]))), false).unwrap();
    assert_eq!(bar.store.read(bills::list).unwrap()[0].number, "(=)1+1");
    bar.dumped();
    load::load(&bar.store, &bar.home.path().join("dump"), at(NOW), &mut unwatched).unwrap();
}

#[test]
fn a_bill_that_somebody_else_dealt_with_meanwhile_is_looked_at_anew() {
    let bar = bar();
    let view = came_as_charged(&bar.view(&as_ordered()));
    let order = bar.store.read(|c| orders::find(c, "B-11")).unwrap().unwrap();
    ordering::give_up(&bar.store, order.id, Moment(0)).unwrap();
    let refused = bar.accept(&view, false).unwrap_err();
    assert!(refused.contains("changed meanwhile"), "{refused}");
    assert!(bar.delivered().is_empty() && bar.store.read(bills::list).unwrap().is_empty());
}

#[test]
fn a_bill_of_nobody_known_is_asked_about_once() {
    let bar = bar();
    let stranger =
        |number| Paper { seller: "Karrenhandel Möwe", vat: "", ..paper(number, vec![gin("6", "11.00", 6_600)]) };
    let view = bar.view(&stranger("1"));
    assert_eq!((view.supplier, view.may_answer.len()), (None, 1));
    assert_eq!(bar.accept(&view, false).unwrap_err(), "say first whose bill it is");
    let cart = bar.supplier("The cart");
    receiving::know_supplier(&bar.store, &view.file.invoice, cart, Moment(0)).unwrap();
    // On this one and on every later one, in whatever letters.
    let later = Paper { seller: "KARRENHANDEL MÖWE", ..stranger("2") };
    assert_eq!(bar.view(&later).supplier, Some(cart));
    let view = bar.view(&stranger("1"));
    assert_eq!(view.supplier, Some(cart));
    // Its code 21010 is another supplier's: what it is, only a person can say.
    assert_eq!(view.against.open, [0]);
    // A name that is the supplier's own needs nobody.
    let own = Paper { seller: "the cart", vat: "", ..stranger("3") };
    assert_eq!(bar.view(&own).supplier, Some(cart));
}

#[test]
fn a_line_is_explained_once_and_the_next_bill_knows_it() {
    let bar = bar();
    let quendelbach = bar.supplier("Quendelbach");
    let unknown = |number, many: (&'static str, &'static str), net| {
        paper(number, vec![line("Bitterlimo Tray", "X-9", many, "14.40", net)])
    };
    let view = bar.view(&unknown("R-1", ("3", "C62"), 4_320));
    assert!(matches!(&view.matched[0].status, Status::Question { item: None, .. }), "{:?}", view.matched);
    assert_eq!(bar.accept(&view, false).unwrap_err(), "say first what “Bitterlimo Tray” is");
    let means = Means::Item { item: bar.item("Tonic"), rate: Rate::new(24, 1).unwrap() };
    receiving::explain(&bar.store, quendelbach, &view.file.invoice.lines[0], means, Moment(0)).unwrap();
    let containers = |view: &BillView| match &view.matched[0].status {
        Status::Found { item, containers, .. } => Some((*item, *containers)),
        _ => None,
    };
    let view = bar.view(&unknown("R-1", ("3", "C62"), 4_320));
    assert_eq!(containers(&view), Some((bar.item("Tonic"), 72)));
    // Now that the items are known, so is the order.
    assert!(matches!(view.answered(), Answers::Order(_)));
    bar.accept(&came_as_charged(&view), false).unwrap();
    let next = bar.view(&unknown("R-2", ("5", "c62"), 7_200));
    assert_eq!(containers(&next), Some((bar.item("Tonic"), 120)));
    // In a unit that was not explained, what nothing speaks for is asked about, not guessed.
    let other_unit = bar.view(&unknown("R-3", ("5", "XPX"), 100_000));
    assert!(matches!(other_unit.matched[0].status, Status::Question { item: Some(_), .. }), "{:?}", other_unit.matched);
    // Said to be nothing stocked, it stands apart.
    receiving::explain(&bar.store, quendelbach, &next.file.invoice.lines[0], Means::NotStock, Moment(0)).unwrap();
    let view = bar.view(&unknown("R-4", ("1", "C62"), 1_440));
    assert_eq!((view.against.not_stock, view.against.lines.len()), (Money(1_440), 0));
    // Nothing to know it again by.
    let nameless = bar.view(&paper("R-5", vec![line("", "", ("1", "C62"), "1.00", 100)]));
    let refused =
        receiving::explain(&bar.store, quendelbach, &nameless.file.invoice.lines[0], Means::Deposit, Moment(0));
    assert!(refused.unwrap_err().to_string().contains("neither a code nor a name"));
}

/// A line that takes money off goods that were explained would give stock a price below nothing.
#[test]
fn goods_are_never_booked_at_less_than_nothing() {
    let bar = bar();
    let mut bonus = gin("1", "0.00", -500);
    (bonus.code, bonus.name) = ("BONUS", "Jahresbonus");
    let bill = paper("R-1", vec![beer("2", 15_700), bonus]);
    let view = bar.view(&bill);
    let means = Means::Item { item: bar.item("Gin"), rate: Rate::new(1, 1).unwrap() };
    receiving::explain(&bar.store, bar.supplier("Quendelbach"), &view.file.invoice.lines[1], means, Moment(0)).unwrap();
    let refused = bar.accept(&came_as_charged(&bar.view(&bill)), false).unwrap_err();
    assert!(refused.starts_with("Gin would be booked at -5.00 EUR for one"), "{refused}");
    receiving::explain(
        &bar.store,
        bar.supplier("Quendelbach"),
        &view.file.invoice.lines[1],
        Means::NotStock,
        Moment(0),
    )
    .unwrap();
    bar.accept(&came_as_charged(&bar.view(&bill)), false).unwrap();
    let kept = bar.store.read(bills::list).unwrap().remove(0);
    assert_eq!((kept.goods, kept.other), (Money(15_700), Money(-500)));
}

#[test]
fn goods_that_came_on_an_earlier_day_are_booked_on_it() {
    let bar = bar();
    let view = came_as_charged(&bar.view(&Paper { delivered: "2026-11-18", ..as_ordered() }));
    assert_eq!(view.delivered, "2026-11-18".parse().ok());
    receiving::accept(&bar.store, &view, false, true, None, at(NOW)).unwrap();
    let came: Vec<_> = bar.store.read(|c| journal::deliveries(c, Moment(0), at(NOW))).unwrap();
    assert!(came.iter().all(|d| d.at == at("2026-11-18 14:00")));
    // Today's goods are here now; a year that no bar was open in is a slip of the pen.
    for delivered in ["2026-11-20", "1026-11-18"] {
        assert_eq!(bar.view(&Paper { delivered, ..paper("R-9", vec![beer("1", 7_850)]) }).delivered, None);
    }
}

#[test]
fn a_claim_is_settled_by_hand_once() {
    let bar = bar();
    bar.accept(&came(&bar, &bar.view(&as_ordered()), "Gin", 11), false).unwrap();
    let claim = receiving::open_claims(&bar.store).unwrap().remove(0);
    let settle = |note: &str| receiving::settle(&bar.store, claim.id, note, None, at(NOW)).map_err(|e| e.to_string());
    assert!(settle("=paid").unwrap_err().contains("formula"));
    settle(" ").unwrap();
    assert!(settle("again").unwrap_err().contains("no open claim"));
    assert!(receiving::open_claims(&bar.store).unwrap().is_empty());
    assert_eq!(bar.claims()[0].settled, Some((at(NOW), None, "settled".to_owned())));
}

/// Everything that receiving keeps survives as plain files, and the copy knows the bill.
#[test]
fn what_was_received_is_dumped_and_loads_back_the_same() {
    let bar = bar();
    booked_by_its_paper(&bar);
    bar.accept(
        &bar.view(&Paper { despatch: "L-9", ..paper("R-1", vec![gin("12", "10.50", 12_600), beer("2", 15_700)]) }),
        false,
    )
    .unwrap();
    let unknown = paper("R-2", vec![line("Bitterlimo  Tray", "", ("3", "XCR"), "14.40", 4_320), tonic("1", 1_440)]);
    let view = bar.view(&unknown);
    let quendelbach = bar.supplier("Quendelbach");
    let means = Means::Item { item: bar.item("Tonic"), rate: Rate::new(24, 1).unwrap() };
    receiving::explain(&bar.store, quendelbach, &view.file.invoice.lines[0], means, Moment(0)).unwrap();
    receiving::know_supplier(&bar.store, &view.file.invoice, quendelbach, Moment(0)).unwrap();
    bar.accept(&came(&bar, &bar.view(&unknown), "Tonic", 90), true).unwrap();
    let note = Paper { credit: true, preceding: "R-1", ..paper("G-1", vec![gin("1", "10.50", 1_050)]) };
    bar.accept(&came(&bar, &bar.view(&note), "Gin", 0), false).unwrap();
    // One that was taken back leaves a settled claim, and nothing else.
    let short = came(&bar, &bar.view(&paper("R-7", vec![gin("6", "10.00", 6_000)])), "Gin", 5);
    bar.accept(&short, false).unwrap();
    let mistaken = bar.store.read(bills::list).unwrap().pop().unwrap();
    receiving::take_back(&bar.store, mistaken.id, Some("AB"), at(NOW)).unwrap();
    let first = bar.dumped();
    assert_eq!(first["claims.csv"].lines().count(), 5);
    assert!(!first["bills.csv"].contains("R-7") && !first["deliveries.csv"].contains("R-7"));
    assert!(first["claims.csv"].contains(",AB,credit note G-1"), "{}", first["claims.csv"]);
    assert!(check::check(&bar.store).unwrap().is_empty());

    let made = init::init_from(&bar.home.path().join("copy"), &bar.home.path().join("dump"), at(NOW), &mut unwatched);
    let (copy, _) = made.unwrap_or_else(|refused| panic!("{refused}"));
    assert_eq!(dumped(&copy, &bar.home.path().join("second")), first);
    assert!(check::check(&copy).unwrap().is_empty());
    for store in [&bar.store, &copy] {
        let report = load::load(store, &bar.home.path().join("dump"), at(NOW), &mut unwatched).unwrap();
        assert!(report.files.iter().all(|f| (f.added, f.changed) == (0, 0)), "{report:?}");
        assert_eq!(dumped(store, &bar.home.path().join("second")), first);
    }
    let seen = |paper: &Paper| {
        let file = bar.file("bill.xml", &paper.ubl());
        receiving::view(&copy, &file, &BillChoice::default(), at(NOW)).unwrap()
    };
    assert!(seen(&unknown).before.is_some());
    let next = seen(&Paper { number: "R-4", vat: "", ..unknown });
    assert!(next.supplier.is_some() && next.against.open.is_empty(), "names and codes are known there too");
    // The bill's file is known there by what is in it.
    let print = bar.file("bill.xml", &note.ubl()).print.clone();
    assert!(copy.read(|c| files::of_content(c, &print.digest)).unwrap().is_some());
}

/// Last week's van brought the same, and its bill has not come: it is not this one's.
#[test]
fn a_new_bill_is_not_for_what_came_another_week() {
    let bar = bar();
    booked_by_its_paper(&bar);
    let lines = vec![gin("11", "10.50", 11_550), beer("2", 15_700)];
    for (delivered, answered) in [
        // Booked on the 19th in the business day of the 19th.
        ("2026-11-19", Answers::Delivery("L-9".to_owned().into())),
        ("2026-11-18", Answers::Delivery("L-9".to_owned().into())),
        ("2026-11-12", Answers::Nothing),
    ] {
        let view = bar.view(&Paper { delivered, ..paper("R-1", lines.clone()) });
        assert_eq!(view.answered(), &answered, "{delivered}");
        assert!(
            view.may_answer.iter().any(|(may, _)| *may == Answers::Delivery("L-9".to_owned().into())),
            "it can be chosen"
        );
    }
    // Other containers on the very day.
    let other = paper("R-1", vec![gin("6", "10.50", 6_300), beer("1", 7_850)]);
    assert_eq!(bar.view(&Paper { delivered: "2026-11-19", ..other }).answered(), &Answers::Nothing);
    // Of another paper.
    let other = Paper { delivered: "2026-11-19", despatch: "L-10", ..paper("R-1", lines) };
    assert_eq!(bar.view(&other).answered(), &Answers::Nothing);
}

/// What the paper of the delivery had and the bookkeeper forgot is asked about, not claimed.
#[test]
fn what_is_charged_and_was_not_booked_is_asked_about() {
    let bar = bar();
    booked_by_its_paper(&bar);
    let lines = vec![gin("11", "10.00", 11_000), beer("2", 15_700), tonic("1", 1_440)];
    let view = bar.view(&Paper { despatch: "L-9", ..paper("R-1", lines) });
    let came: Vec<_> = view.against.lines.iter().map(|line| line.came).collect();
    assert_eq!(came, [Some(11), Some(2), None]);
    let booked = bar.accept(&came_as_charged(&view), false).unwrap();
    assert_eq!((booked.deliveries, booked.corrected, booked.claims), (1, 0, 0));
    assert!(bar.delivered().contains(&delivery("R-1", 1, "Tonic", 24, 6_000, None)), "{:?}", bar.delivered());
    // And nobody can say that something else came of what is in the book.
    let view = bar.view(&Paper { despatch: "L-9", ..paper("R-2", vec![gin("11", "10.50", 11_550)]) });
    let mut wrong = view.clone();
    wrong.against.lines[0].came = Some(12);
    assert!(bar.accept(&wrong, false).unwrap_err().to_string().contains("11 of Gin are booked already"));
    // One delivery may have two bills.
    let booked = bar.accept(&view, false).unwrap();
    assert_eq!((booked.deliveries, booked.corrected), (0, 1));
    assert_eq!(bar.paid("Gin"), Some(Price(10_500_000)));
}

/// Everything that a bill can do, and all of it undone.
#[test]
fn a_bill_is_taken_back_with_all_that_it_did() {
    let bar = bar();
    let plain = || {
        let mut files = dumped(&bar.store, &bar.home.path().join("dump"));
        // Claims that were dropped stay, settled.
        files.remove("claims.csv");
        files
    };
    let before = plain();
    let take_back = || {
        let bill = bar.store.read(bills::list).unwrap().pop().unwrap();
        receiving::take_back(&bar.store, bill.id, Some("AB"), at(NOW))
    };
    // Short of an order, with the rest on order.
    let view = came(&bar, &bar.view(&as_ordered()), "Gin", 10);
    let booked = bar.accept(&view, true).unwrap();
    assert_eq!((booked.claims, booked.rest.as_deref()), (1, Some("B-11 rest")));
    let done = take_back().unwrap();
    assert_eq!(
        (done.number.as_str(), done.deliveries, done.prices, done.dropped, done.reopened, done.order.as_deref()),
        ("R-1", 2, 0, 1, 0, Some("B-11"))
    );
    assert_eq!(bar.delivered(), []);
    assert_eq!(receiving::open_claims(&bar.store).unwrap(), []);
    let mut after = plain();
    let rest = after.insert("orders.csv".to_owned(), before["orders.csv"].clone()).unwrap();
    assert!(rest.contains("B-11 rest") && rest.contains("closed"), "{rest}");
    assert_eq!(after, before);
    // The same file can be booked again, once.
    let view = bar.view(&as_ordered());
    assert_eq!((view.before.is_none(), view.orders[0].name.as_str()), (true, "B-11"));
    let booked = bar.accept(&came(&bar, &view, "Gin", 10), true).unwrap();
    assert_eq!(booked.rest.as_deref(), Some("B-11 rest 2"));

    // A credit note settles the claim; taken back, the claim is open again, since when and by whom it was.
    let note = Paper { credit: true, preceding: "R-1", ..paper("G-1", vec![gin("2", "10.00", 2_000)]) };
    let claimed = receiving::open_claims(&bar.store).unwrap();
    assert_eq!(bar.accept(&came(&bar, &bar.view(&note), "Gin", 0), false).unwrap().settled, 1);
    assert_eq!(receiving::open_claims(&bar.store).unwrap(), []);
    let done = take_back().unwrap();
    assert_eq!((done.deliveries, done.reopened), (0, 1));
    let again = receiving::open_claims(&bar.store).unwrap();
    let bare = |claim: &KeptClaim| (claim.document.clone(), claim.item, claim.money, claim.at, claim.by.clone());
    assert_eq!(again.iter().map(bare).collect::<Vec<_>>(), claimed.iter().map(bare).collect::<Vec<_>>());

    assert!(check::check(&bar.store).unwrap().is_empty());
    // Taken back once.
    let bill = bar.store.read(bills::list).unwrap().pop().unwrap();
    receiving::take_back(&bar.store, bill.id, None, at(NOW)).unwrap();
    assert!(receiving::take_back(&bar.store, bill.id, None, at(NOW)).is_err());
}

#[test]
fn prices_that_a_bill_corrected_are_as_before_once_it_is_taken_back() {
    let bar = bar();
    booked_by_its_paper(&bar);
    let before = bar.delivered();
    let mut bill = paper("R-1", vec![gin("-1", "10.00", -1_000), gin("12", "10.50", 12_600), beer("2", 16_700)]);
    (bill.despatch, bill.lines[2].deposit, bill.lines[2].price) = ("L-9", 1_000, "78.50");
    bar.accept(&came_as_charged(&bar.view(&bill)), false).unwrap();
    assert_ne!(bar.delivered(), before);
    let first = bar.store.read(bills::list).unwrap()[0].id;

    // A second bill changes the price again: what the first one did cannot be undone beneath it.
    let next = Paper { despatch: "L-9", ..paper("R-2", vec![gin("12", "10.70", 12_840)]) };
    bar.accept(&bar.view(&next), false).unwrap();
    let refused = receiving::take_back(&bar.store, first, None, at(NOW)).unwrap_err().to_string();
    assert!(refused.contains("changed by a later bill"), "{refused}");
    let second = bar.store.read(bills::list).unwrap()[1].id;
    receiving::take_back(&bar.store, second, None, at(NOW)).unwrap();
    assert_eq!(bar.paid("Gin"), Some(Price(10_500_000)));

    let done = receiving::take_back(&bar.store, first, None, at(NOW)).unwrap();
    assert_eq!((done.deliveries, done.prices), (1, 2));
    assert_eq!(bar.delivered(), before);
    assert_eq!(bar.paid("Gin"), Some(Price(10_000_000)));
    assert!(check::check(&bar.store).unwrap().is_empty());
}

#[test]
fn an_order_whose_rest_has_gone_on_stays_done() {
    let bar = bar();
    bar.accept(&came(&bar, &bar.view(&as_ordered()), "Gin", 10), true).unwrap();
    let rest = bar.store.read(|c| orders::find(c, "B-11 rest")).unwrap().unwrap();
    ordering::give_up(&bar.store, rest.id, Moment(0)).unwrap();
    let bill = bar.store.read(bills::list).unwrap()[0].id;
    let done = receiving::take_back(&bar.store, bill, None, at(NOW)).unwrap();
    assert_eq!((done.order, done.order_done.as_deref()), (None, Some("B-11")));
    let state = |name: &str| bar.store.read(|c| orders::find(c, name)).unwrap().unwrap().state;
    assert_eq!((state("B-11"), state("B-11 rest")), (OrderState::Received, OrderState::Closed));
}

#[test]
fn a_bill_that_plain_files_brought_is_not_taken_back_by_halves() {
    let bar = bar();
    bar.accept(&came_as_charged(&bar.view(&as_ordered())), false).unwrap();
    let plain = bar.home.path().join("dump");
    dumped(&bar.store, &plain);
    let made = init::init_from(&bar.home.path().join("again.tantalus"), &plain, at(NOW), &mut unwatched);
    let (again, _) = made.unwrap_or_else(|refused| panic!("{refused}"));
    let bill = again.read(bills::list).unwrap()[0].id;
    let refused = receiving::take_back(&again, bill, None, at(NOW)).unwrap_err().to_string();
    assert!(refused.contains("loaded from plain files"), "{refused}");
    assert_eq!(again.read(bills::list).unwrap().len(), 1);
}

#[test]
fn a_bill_that_the_book_may_have_is_asked_about() {
    let bar = bar();
    bar.accept(&came_as_charged(&bar.view(&as_ordered())), false).unwrap();
    let asks = |paper: &Paper, words: &str| {
        let view = bar.view(paper);
        view.problems.iter().any(|p| p.weight == Weight::Question && p.what.contains(words))
    };
    let other = Paper { number: "Nr R-1", ..as_ordered() };
    assert!(asks(&other, "the book has “R-1” of the same day for the same"), "{:?}", bar.view(&other).problems);
    assert!(!asks(&Paper { number: "R-2", ..paper("R-2", vec![gin("1", "10.00", 1_000)]) }, "the book has"));
    let mut corrected = bar.view(&Paper { preceding: "R-1", ..paper("K-1", vec![gin("1", "10.00", 1_000)]) });
    let mut file = (*corrected.file).clone();
    file.invoice.kind = DocumentKind::Corrected;
    corrected = bar.looked(&Arc::new(file), &BillChoice::default());
    let said: Vec<_> = corrected.problems.iter().map(|p| p.what.clone()).collect();
    assert!(said.iter().any(|what| what.contains("take that bill back first")), "{said:?}");
}

/// A line that is goods otherwise is only money on one bill, and goods again on the next.
#[test]
fn a_line_may_be_money_on_one_bill_alone() {
    let bar = bar();
    let bill = paper("R-1", vec![gin("12", "10.00", 12_000), gin("1", "-10.00", -1_000)]);
    let bill = Paper { lines: vec![bill.lines[0].clone(), gin("1", "10.00", 1_000)], ..bill };
    let view = bar.view(&bill);
    assert_eq!(view.against.lines[0].invoiced.as_ref().unwrap().containers, 13);
    let choice = BillChoice { money_only: [1].into(), ..BillChoice::default() };
    let view = bar.looked(&view.file, &choice);
    assert_eq!(view.against.lines[0].invoiced.as_ref().unwrap().containers, 12);
    assert_eq!(view.against.not_stock, Money(1_000));
    bar.accept(&came_as_charged(&view), false).unwrap();
    assert_eq!(bar.delivered()[0].3, 12);
    let next = bar.view(&paper("R-2", vec![gin("1", "10.00", 1_000)]));
    assert_eq!(next.against.not_stock, Money::ZERO);
}

/// What a credit note covers of a claim is settled, the rest is a claim of its own, and all of it comes back in any order.
#[test]
fn a_part_of_a_claim_is_credited_and_taken_back_in_any_order() {
    let bar = bar();
    let claimed = || receiving::open_claims(&bar.store).unwrap().iter().map(|c| c.money.0).collect::<Vec<_>>();
    let of = |number: &str| bar.store.read(bills::list).unwrap().into_iter().find(|b| b.number == number).unwrap().id;
    let take_back = |number: &str| receiving::take_back(&bar.store, of(number), None, at(NOW)).unwrap();
    let short = || bar.accept(&came(&bar, &bar.view(&as_ordered()), "Gin", 10), false).unwrap();
    let credit = |number: &'static str, net: i64| {
        let note = Paper { credit: true, preceding: "R-1", ..paper(number, vec![gin("1", "10.00", net)]) };
        bar.accept(&came(&bar, &bar.view(&note), "Gin", 0), false).unwrap()
    };
    short();
    assert_eq!(claimed(), [2_000]);
    let booked = credit("G-1", 1_000);
    assert_eq!((booked.settled, booked.reduced, booked.unsettled, claimed()), (0, 1, 0, vec![1_000]));
    let booked = credit("G-2", 1_000);
    assert_eq!((booked.settled, booked.reduced, claimed()), (1, 0, vec![]));
    // The first one back, while the second has settled the rest.
    assert_eq!((take_back("G-1").reopened, claimed()), (1, vec![1_000]));
    assert_eq!((take_back("G-2").reopened, claimed()), (1, vec![1_000, 1_000]));
    // Of a bill that is in the book no more nothing is claimed, whichever goes first.
    assert_eq!((take_back("R-1").dropped, claimed()), (2, vec![]));
    short();
    credit("G-1", 1_000);
    assert_eq!((take_back("R-1").dropped, claimed()), (1, vec![]));
    assert_eq!((take_back("G-1").reopened, claimed()), (0, vec![]));
    // The last one back first.
    short();
    credit("G-1", 1_000);
    assert_eq!((take_back("G-1").reopened, claimed()), (1, vec![2_000]));
    assert!(check::check(&bar.store).unwrap().is_empty());
}

#[test]
fn a_bill_whose_rest_was_booked_with_another_is_taken_back_after_that() {
    let bar = bar();
    bar.accept(&came(&bar, &bar.view(&as_ordered()), "Gin", 10), true).unwrap();
    let rest = Paper { order: "B-11 rest", ..paper("R-2", vec![gin("2", "10.00", 2_000)]) };
    bar.accept(&came_as_charged(&bar.view(&rest)), false).unwrap();
    let of = |number: &str| bar.store.read(bills::list).unwrap().into_iter().find(|b| b.number == number).unwrap().id;
    let refused = receiving::take_back(&bar.store, of("R-1"), None, at(NOW)).unwrap_err().to_string();
    assert!(refused.contains("booked with “R-2” since: take that bill back first"), "{refused}");
    let back = |number: &str| receiving::take_back(&bar.store, of(number), None, at(NOW)).unwrap().order;
    assert_eq!((back("R-2").as_deref(), back("R-1").as_deref()), (Some("B-11 rest"), Some("B-11")));
}

/// Goods that the book has already, in other numbers, for an order that is done, or with another bill, are asked about.
#[test]
fn the_same_goods_are_asked_about_before_they_are_there_twice() {
    let bar = bar();
    booked_by_its_paper(&bar);
    let asked = |view: &BillView| {
        view.problems.iter().filter(|p| p.weight != Weight::Note).map(|p| p.what.clone()).collect::<Vec<_>>()
    };
    let on_19th = |number, lines| Paper { delivered: "2026-11-19", ..paper(number, lines) };
    // Twelve are charged, eleven came.
    let more = bar.view(&on_19th("R-1", vec![gin("12", "10.50", 12_600)]));
    assert_eq!(more.answered(), &Answers::Nothing);
    assert!(
        asked(&more)[0].contains("“L-9”, booked Thu 19 Nov, brought 11 Gin: if the bill is for that"),
        "{:?}",
        asked(&more)
    );
    // Of another week nothing is asked.
    let later = Paper { delivered: "2026-11-12", ..paper("R-1", vec![gin("12", "10.50", 12_600)]) };
    assert_eq!(asked(&bar.view(&later)), [] as [String; 0]);
    // A bill of the number of the paper is for it, whatever else it charges.
    assert_eq!(
        bar.view(&paper("L-9", vec![tonic("1", 1_440)])).answered(),
        &Answers::Delivery("L-9".to_owned().into())
    );
    // One for the delivery that has its bill.
    bar.accept(&bar.view(&Paper { despatch: "L-9", ..paper("R-1", vec![gin("11", "10.50", 11_550)]) }), false).unwrap();
    let twice = bar.view(&Paper { despatch: "L-9", ..paper("R-2", vec![gin("11", "10.50", 11_550)]) });
    assert!(asked(&twice).iter().any(|what| what.contains("“L-9” has the bill “R-1” already")), "{:?}", asked(&twice));
    let twice = bar.view(&on_19th("R-2", vec![gin("11", "10.50", 11_550)]));
    assert!(asked(&twice).iter().any(|what| what.contains("11 Gin came Thu 19 Nov")), "{:?}", asked(&twice));
    // The order that it names was received by hand.
    bar.accept(&came_as_charged(&bar.view(&Paper { number: "R-8", ..as_ordered() })), false).unwrap();
    let done = bar.view(&Paper { number: "R-9", ..as_ordered() });
    assert!(asked(&done).iter().any(|what| what.contains("the order “B-11”, which is received already")));
}

#[test]
fn a_file_is_booked_for_one_supplier_only() {
    let bar = bar();
    let view = bar.view(&as_ordered());
    bar.accept(&came_as_charged(&view), false).unwrap();
    let other = bar.setup.suppliers.iter().find(|s| Some(s.id) != view.supplier).map(|s| s.id);
    let again = bar.looked(&view.file, &BillChoice { supplier: other, ..BillChoice::default() });
    let refused = again.problems.iter().find(|p| p.weight == Weight::Refused).map(|p| p.what.clone()).unwrap();
    assert!(refused.contains("just this file was booked"), "{refused}");
}

#[test]
fn days_that_are_hard_to_believe_are_asked_about() {
    let bar = bar();
    let said = |paper: &Paper, weight: Weight| {
        let view = bar.view(paper);
        view.problems.iter().filter(|p| p.weight == weight).map(|p| p.what.clone()).collect::<Vec<_>>().join("; ")
    };
    let old = Paper { issued: "1900-01-01", ..as_ordered() };
    assert!(said(&old, Weight::Question).contains("is it that old"), "{}", said(&old, Weight::Question));
    for delivered in ["1989-12-31", "2026-06-01"] {
        let asked = said(&Paper { delivered, ..as_ordered() }, Weight::Question);
        assert!(asked.contains(delivered) && asked.contains("say that it came today"), "{delivered}: {asked}");
    }
    // Before its order was sent.
    let before = said(&Paper { delivered: "2026-11-01", ..as_ordered() }, Weight::Question);
    assert!(before.contains("its order was sent on"), "{before}");
}

#[test]
fn more_than_anybody_carries_in_is_asked_about() {
    let bar = bar();
    let asked = |many: &'static str, net| {
        let view = bar.view(&Paper { order: "B-11", ..paper("R-1", vec![gin(many, "10.00", net)]) });
        view.problems.iter().any(|p| p.what.contains("containers of Gin are charged, ordered 12"))
    };
    assert_eq!((asked("36", 36_000), asked("120", 120_000)), (false, true));
}

/// Two bottles at 10.00 and a free one, booked by their paper; the bill charges the two.
#[test]
fn a_free_bottle_is_no_difference() {
    let bar = bar();
    let booked = "document,line,at,supplier,item,containers,unit_price,place\n\
        L-9,1,2026-11-19 16:00,Quendelbach,Gin,2,10.00,Rail\nL-9,2,2026-11-19 16:00,Quendelbach,Gin,1,0.00,Rail\n";
    let folder = bar.home.path().join("by paper");
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(folder.join("deliveries.csv"), booked).unwrap();
    load::load(&bar.store, &folder, at(NOW), &mut unwatched).unwrap();
    let before = bar.delivered();
    let view = bar.view(&Paper { despatch: "L-9", ..paper("R-1", vec![gin("2", "10.00", 2_000)]) });
    let booked = bar.accept(&view, false).unwrap();
    assert_eq!((booked.deliveries, booked.corrected, booked.claims), (0, 0, 0));
    assert_eq!(bar.delivered(), before);
}

/// What came and what went back at one moment is worth the same in a book out of the dump, whatever the papers are called.
#[test]
fn deliveries_of_one_moment_keep_their_order() {
    let bar = bar();
    let on_19th = |paper: Paper| Paper { delivered: "2026-11-19", ..paper };
    let accept = |paper: Paper| {
        let view = came_as_charged(&bar.view(&on_19th(paper)));
        receiving::accept(&bar.store, &view, false, true, None, at(NOW)).unwrap();
    };
    accept(paper("Z-1", vec![gin("6", "10.00", 6_000)]));
    accept(Paper { credit: true, ..paper("A-1", vec![gin("2", "10.00", 2_000)]) });
    accept(paper("Y-1", vec![gin("6", "12.00", 7_200)]));
    let first = bar.dumped();
    let documents: Vec<&str> = first["deliveries.csv"].lines().skip(1).map(|l| l.split(',').next().unwrap()).collect();
    assert_eq!(documents, ["Z-1", "A-1", "Y-1"]);
    let folder = bar.home.path().join("dump");
    let (again, _) =
        init::init_from(&bar.home.path().join("again.tantalus"), &folder, at(NOW), &mut unwatched).unwrap();
    assert_eq!(dumped(&again, &bar.home.path().join("dumped again")), first);
}

/// A bill of a while charges what came on three days; the price of beer is another by now. Each delivery is put right, and
/// all of it comes back.
#[test]
fn a_bill_may_be_for_several_deliveries() {
    let bar = bar();
    let head = "document,line,at,supplier,item,containers,unit_price,place\n";
    let booked = format!(
        "{head}L-1,1,2026-11-05 16:00,Quendelbach,Gin,6,10.00,Rail\nL-2,1,2026-11-10 16:00,Quendelbach,Beer,2,78.50,\n\
         L-2,2,2026-11-10 16:00,Quendelbach,Gin,6,10.00,Rail\nL-3,1,2026-11-17 16:00,Quendelbach,Beer,3,78.50,\n\
         L-0,1,2026-11-03 16:00,Quendelbach,Limes,50,0.19,\n"
    );
    let folder = bar.home.path().join("by paper");
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(folder.join("deliveries.csv"), booked).unwrap();
    load::load(&bar.store, &folder, at(NOW), &mut unwatched).unwrap();
    let before = bar.delivered();
    let lines = || vec![gin("12", "10.00", 12_000), PaperLine { price: "80.00", ..beer("5", 40_000) }];
    let view = bar.view(&paper("R-1", lines()));
    let Answers::Delivery(documents) = view.answered() else { panic!("{:?}", view.may_answer) };
    assert_eq!((documents.to_string().as_str(), view.certain), ("L-1; L-2; L-3", false));
    assert!(bar.accept(&view, false).is_err(), "somebody is asked");
    let sure = bar.looked(&view.file, &BillChoice { certain: true, ..view.choice() });
    let booked = bar.accept(&sure, false).unwrap();
    assert_eq!((booked.deliveries, booked.corrected, booked.claims, booked.claimed.0), (0, 2, 1, 750));
    let beer_costs: Vec<_> = bar.delivered().into_iter().filter(|d| d.2 == "Beer").map(|d| (d.0, d.3, d.4)).collect();
    assert_eq!(beer_costs, [("L-2".to_owned(), 2, 800_000), ("L-3".to_owned(), 3, 800_000)]);
    // Each of the three has its bill now.
    let next = bar.view(&Paper { despatch: "L-2", ..paper("R-2", lines()) });
    assert!(next.problems.iter().any(|p| p.what.contains("“L-2” has the bill “R-1” already")), "{:?}", next.problems);
    // Any of them may be said together, found likely or not.
    let two = Documents::all(vec!["L-3".to_owned(), "L-0".to_owned()]).unwrap();
    let said = bar.looked(&next.file, &BillChoice { answers: Some(Answers::Delivery(two)), ..BillChoice::default() });
    assert_eq!(said.orders[0].lines.len(), 2);
    let bill = bar.store.read(bills::list).unwrap()[0].id;
    assert_eq!(receiving::take_back(&bar.store, bill, None, at(NOW)).unwrap().prices, 2);
    assert_eq!(bar.delivered(), before);
    assert!(check::check(&bar.store).unwrap().is_empty());
}

/// By hand: 12 ordered for 120.00; 10 are charged for 120.00, and 12 came: 10.00 each.
#[test]
fn what_is_free_beside_makes_the_others_no_dearer() {
    let bar = bar();
    let bill = Paper { order: "B-11", ..paper("R-1", vec![gin("10", "12.00", 12_000)]) };
    let booked = bar.accept(&came(&bar, &bar.view(&bill), "Gin", 12), false).unwrap();
    assert_eq!((booked.deliveries, booked.claims), (1, 0));
    assert_eq!(bar.delivered(), [delivery("R-1", 1, "Gin", 12, 100_000, None)]);
}

/// By hand: 12 at 0.50 too much are 6.00; six of them go back, which leaves 3.00 for the other six, and those go back too.
#[test]
fn what_goes_back_takes_its_part_of_a_claim_along() {
    let bar = bar();
    let dear = Paper { order: "B-11", ..paper("R-1", vec![gin("12", "10.50", 12_600), beer("2", 15_700)]) };
    bar.accept(&came_as_charged(&bar.view(&dear)), false).unwrap();
    let open = || {
        let open = receiving::open_claims(&bar.store).unwrap();
        open.iter().map(|claim| (claim.containers, claim.money.0)).collect::<Vec<_>>()
    };
    assert_eq!(open(), [(12, 600)]);
    for (number, left) in [("G-1", vec![(6, 300)]), ("G-2", vec![])] {
        let note = Paper { credit: true, preceding: "R-1", ..paper(number, vec![gin("6", "10.50", 6_300)]) };
        bar.accept(&came_as_charged(&bar.view(&note)), false).unwrap();
        assert_eq!(open(), left, "{number}");
    }
}
