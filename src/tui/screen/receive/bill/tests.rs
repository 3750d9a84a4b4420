//! Actions in, effects out; then what is drawn.

use super::*;
use crate::domain::ledger::{Order, OrderLine};
use crate::domain::measure::{Decimal, Money};
use crate::domain::receive::sample::{bill, charge, line};
use crate::domain::receive::{Against, Bill, Book, DocumentKind, Invoice, KnownCode, Means, Rate, matched};
use crate::domain::rows::{BillFile, FilePrint};
use crate::domain::venue::{BillId, OrderId, OrderState, Setup, parse_day};
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use chrono::NaiveDate;
use std::collections::BTreeSet;
use std::path::PathBuf;

const VAN: SupplierId = SupplierId(1);
const RUM: ItemId = ItemId(1);
const JUICE: ItemId = ItemId(2);

fn day(text: &str) -> NaiveDate {
    parse_day(text).unwrap()
}

/// Two cases of rum, one of them too dear; five juices that nobody has explained; a deposit.
fn invoice() -> Invoice {
    let mut rum = line("1", "Harbour rum 0.7 l", "2", "XCS", "108", "216");
    rum.seller_code = Some("V1".to_owned());
    let mut juice = line("2", "Lime juce 1 l", "5", "C62", "4.90", "24.50");
    juice.seller_code = Some("NEW".to_owned());
    let mut deposit = line("3", "Pallet deposit", "1", "C62", "4.50", "4.50");
    deposit.seller_code = Some("PF".to_owned());
    let lines = vec![rum, juice, deposit];
    let mut bill = bill(lines);
    bill.issued = day("2026-11-24");
    bill.charges = vec![charge(true, "9", "Freight")];
    bill
}

fn order() -> Order {
    let line = |line, item, packs, pack, price| OrderLine { line, item, packs, pack, price: Money(price) };
    Order {
        id: OrderId(4),
        name: "2026-11-23 The".to_owned(),
        supplier: VAN,
        state: OrderState::Sent,
        placed: None,
        expected: None,
        lines: vec![line(1, RUM, 2, 6, 10_200), line(2, ItemId(4), 1, 24, 1_440)],
    }
}

fn view_of(invoice: Invoice, known: &[KnownCode], answers: Answers) -> BillView {
    let setup: Arc<Setup> = Arc::new(bar());
    let orders = if answers == Answers::Nothing { Vec::new() } else { vec![order()] };
    let today = day("2026-11-25");
    let money_only = BTreeSet::new();
    let book = Book {
        setup: &setup,
        supplier: VAN,
        known,
        orders: &orders,
        day: today,
        spread: false,
        money_only: &money_only,
    };
    let matched = matched(&invoice, &book);
    let mut against = Against::new(&matched, &orders, &setup);
    if let Answers::Delivery(_) = answers {
        against.lines.iter_mut().for_each(|line| line.came = line.ordered.map(|o| o.containers));
    }
    let print = FilePrint { digest: "ef".to_owned(), name: "bill.xml".to_owned(), size: 9_000, modified: None };
    BillView {
        problems: invoice.checks(setup.venue.currency, today),
        supplier: Some(VAN),
        may_answer: vec![
            (answers.clone(), "order “2026-11-23 The”".to_owned()),
            (Answers::Nothing, "nothing in the book".to_owned()),
        ],
        answers: usize::from(answers == Answers::Nothing),
        certain: !matches!(answers, Answers::Delivery(_)),
        money_only,
        orders,
        matched,
        against,
        charges: Money(900),
        spread: false,
        before: None,
        delivered: Some(day("2026-11-24")),
        file: Arc::new(BillFile { path: PathBuf::from("/in/bill.xml"), print, invoice }),
        setup,
    }
}

fn page() -> BillPage {
    BillPage::new(view_of(invoice(), &[], Answers::Order(OrderId(4))))
}

fn act(page: &mut BillPage, action: Action) -> Effect {
    let (effect, stays) = page.update(action);
    assert!(stays, "{action:?}");
    effect
}

fn said(effect: Effect) -> String {
    match effect {
        Effect::Say(notice) => notice.text,
        Effect::Ask { question, .. } => question,
        other => panic!("{other:?}"),
    }
}

fn drawn(page: &mut BillPage, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at("2026-11-25 11:50") };
    shown(width, height, |frame| page.draw(&[], frame, frame.area(), scene))
}

#[test]
fn a_line_that_nobody_knows_is_explained_once() {
    let mut page = page();
    assert!(said(act(&mut page, Action::AcceptDelivery)).contains("what this line is"));
    // The likeliest item; five pieces are five bottles most likely, and Enter says so.
    act(&mut page, Action::Edit);
    assert_eq!(page.scope(), Scope::BillEntry);
    let Effect::ExplainLine { supplier, line, means, .. } = act(&mut page, Action::Accept) else { panic!() };
    let rate = Rate::of(5, Decimal::parse("5").unwrap()).unwrap();
    assert_eq!((supplier, line, means), (VAN, 1, Means::Item { item: JUICE, rate }));
    let known = [KnownCode::learned(VAN, &invoice().lines[1], means).unwrap()];
    page.refresh(view_of(invoice(), &known, Answers::Order(OrderId(4))));
    assert_eq!(page.view.against.open, Vec::<usize>::new());
    // Or another item, a deposit, or nothing of the stock.
    let mut page = self::page();
    assert!(matches!(act(&mut page, Action::OtherItem), Effect::Pick { title, .. } if title.contains("Lime juce")));
    assert_eq!(page.picked(RUM), Effect::None);
    page.paste("1");
    assert!(matches!(act(&mut page, Action::Accept), Effect::ExplainLine { means: Means::Item { item: RUM, .. }, .. }));
    assert!(matches!(act(&mut page, Action::IsDeposit), Effect::ExplainLine { line: 1, means: Means::Deposit, .. }));
    assert!(matches!(act(&mut page, Action::NotStock), Effect::ExplainLine { line: 1, means: Means::NotStock, .. }));
}

fn explained() -> BillPage {
    let rate = Rate::of(5, Decimal::parse("5").unwrap()).unwrap();
    let known = [KnownCode::learned(VAN, &invoice().lines[1], Means::Item { item: JUICE, rate }).unwrap()];
    BillPage::new(view_of(invoice(), &known, Answers::Order(OrderId(4))))
}

fn came(page: &BillPage) -> Vec<Option<i64>> {
    page.view.against.lines.iter().map(|line| line.came).collect()
}

#[test]
fn what_came_is_said_line_by_line_and_differences_are_claimed() {
    let mut page = explained();
    assert!(said(act(&mut page, Action::AcceptDelivery)).contains("not looked at yet: 3 of 3 lines"));
    act(&mut page, Action::Type('1'));
    act(&mut page, Action::Type('1'));
    act(&mut page, Action::Accept);
    act(&mut page, Action::TakeAsOrdered);
    act(&mut page, Action::RestAsOrdered);
    assert_eq!(page.scope(), Scope::Confirm);
    act(&mut page, Action::Yes);
    assert_eq!(came(&page), [Some(11), Some(5), Some(0)], "what is not charged did not come");
    // One missing at 18.00, eleven at a euro too much.
    let claimed: i64 = page.view.against.claims(&page.view.setup).iter().map(|claim| claim.money.0).sum();
    assert_eq!(claimed, 1_800 + 1_100);
    insta::assert_snapshot!(drawn(&mut page, 80, 20));
    insta::assert_snapshot!(drawn(&mut page, 120, 20));
    act(&mut page, Action::AcceptDelivery);
    assert_eq!(page.scope(), Scope::ReceiveRest);
    let Effect::AcceptBill { view, keep_rest, on_its_day } = act(&mut page, Action::Accept) else { panic!() };
    assert!(keep_rest && on_its_day && view.against == page.view.against);
    act(&mut page, Action::AcceptDelivery);
    assert!(matches!(act(&mut page, Action::GiveUpOrder), Effect::AcceptBill { keep_rest: false, .. }));
}

#[test]
fn a_slip_of_the_finger_is_asked_about() {
    let mut page = explained();
    act(&mut page, Action::Edit);
    page.paste("120");
    act(&mut page, Action::Accept);
    assert_eq!(page.scope(), Scope::Confirm);
    assert!(drawn(&mut page, 80, 20).contains("Did 120 containers of Harbour rum come?"));
    act(&mut page, Action::No);
    act(&mut page, Action::Accept);
    act(&mut page, Action::Yes);
    assert_eq!(came(&page)[0], Some(120));
    act(&mut page, Action::Edit);
    page.paste("1.5");
    assert!(said(act(&mut page, Action::Accept)).contains("whole containers"));
}

#[test]
fn the_bill_as_a_whole_can_be_looked_at_in_another_way() {
    let mut page = explained();
    let Effect::ViewBill { choice, .. } = act(&mut page, Action::Next) else { panic!() };
    assert_eq!(choice.answers, Some(Answers::Nothing));
    let Effect::ViewBill { choice, .. } = act(&mut page, Action::ShareFreight) else { panic!() };
    assert!(choice.spread);
    act(&mut page, Action::OtherDay);
    assert!(drawn(&mut page, 100, 20).contains("came today"));
    assert!(matches!(act(&mut page, Action::WhoseBill), Effect::PickSupplier { .. }));
    assert!(matches!(page.picked_supplier(VAN), Effect::KnowSupplier { supplier: VAN, .. }));
    let (effect, stays) = page.update(Action::SetAside);
    assert!(!stays && matches!(effect, Effect::SetAside { .. }));
}

#[test]
fn what_was_said_stays_when_the_bill_is_looked_at_anew() {
    let mut page = explained();
    act(&mut page, Action::TakeAsOrdered);
    let place = page.view.against.lines[0].place;
    act(&mut page, Action::First);
    act(&mut page, Action::ChangePlace);
    let fresh = explained().view;
    page.refresh(fresh);
    assert_eq!(came(&page)[0], Some(12));
    assert_ne!(page.view.against.lines[0].place, place);
}

#[test]
fn a_bill_after_its_delivery_only_says_what_it_costs() {
    let rate = Rate::of(5, Decimal::parse("5").unwrap()).unwrap();
    let known = [KnownCode::learned(VAN, &invoice().lines[1], Means::Item { item: JUICE, rate }).unwrap()];
    let mut page = BillPage::new(view_of(invoice(), &known, Answers::Delivery("LS 1".to_owned().into())));
    // The juice was not booked with it: whether it came is asked.
    assert_eq!(came(&page), [Some(12), None, Some(24)]);
    assert!(drawn(&mut page, 80, 20).contains("only says the price of what was"));
    assert!(said(act(&mut page, Action::Edit)).contains("booked already what came"));
    assert!(said(act(&mut page, Action::AcceptDelivery)).contains("not looked at yet: 1 of 3 lines"));
    act(&mut page, Action::TakeAsOrdered);
    // Which delivery it is for was only guessed.
    act(&mut page, Action::AcceptDelivery);
    assert_eq!(page.scope(), Scope::Confirm);
    let asked = drawn(&mut page, 80, 20);
    assert!(asked.contains("Is this the bill for what was") && asked.contains("would be claimed"), "{asked}");
    act(&mut page, Action::No);
    assert!(!page.view.certain);
    act(&mut page, Action::AcceptDelivery);
    let Effect::AcceptBill { view, keep_rest: false, .. } = act(&mut page, Action::Yes) else { panic!() };
    assert!(view.certain && view.choice().certain);
}

#[test]
fn what_was_said_of_a_line_goes_when_more_is_charged_of_it() {
    let mut page = explained();
    act(&mut page, Action::RestAsOrdered);
    act(&mut page, Action::Yes);
    assert_eq!(came(&page)[0], Some(12));
    let mut more = invoice();
    more.lines[0].quantity = Decimal::parse("3").unwrap();
    let rate = Rate::of(5, Decimal::parse("5").unwrap()).unwrap();
    let known = [KnownCode::learned(VAN, &invoice().lines[1], Means::Item { item: JUICE, rate }).unwrap()];
    page.refresh(view_of(more, &known, Answers::Order(OrderId(4))));
    assert_eq!(came(&page)[..2], [None, Some(5)], "18 are charged now");
}

#[test]
fn a_line_that_was_goods_is_only_money_for_once_and_for_good_when_said_again() {
    let mut page = explained();
    act(&mut page, Action::First);
    let Effect::ViewBill { choice, .. } = act(&mut page, Action::NotStock) else { panic!() };
    assert_eq!(choice.money_only, BTreeSet::from([0]));
    page.view.money_only = choice.money_only;
    let Effect::ExplainLine { choice, line: 0, means: Means::NotStock, .. } = act(&mut page, Action::NotStock) else {
        panic!()
    };
    assert!(choice.money_only.is_empty());
    // Of a credit note, so is a line that nobody knows: it is no bottle for once, not for ever.
    let mut note = invoice();
    (note.kind, note.type_code) = (DocumentKind::CreditNote, "381".to_owned());
    let mut page = BillPage::new(view_of(note, &[], Answers::Nothing));
    act(&mut page, Action::First);
    assert!(matches!(act(&mut page, Action::NotStock), Effect::ViewBill { .. }));
}

#[test]
fn nothing_is_taken_as_charged_before_every_line_is_known() {
    let mut page = page();
    assert!(said(act(&mut page, Action::RestAsOrdered)).contains("what this line is"));
    assert_eq!(page.scope(), Scope::Bill);
}

#[test]
fn what_cannot_be_booked_says_why() {
    let mut usd = invoice();
    usd.currency = "USD".to_owned();
    let mut page = BillPage::new(view_of(usd, &[], Answers::Nothing));
    assert!(said(act(&mut page, Action::AcceptDelivery)).contains("USD"));
    let before = Bill {
        id: BillId(1),
        supplier: VAN,
        number: "R-26-0318".to_owned(),
        key: "r-26-0318 invoice".to_owned(),
        kind: DocumentKind::Invoice,
        issued: day("2026-11-24"),
        goods: Money(1),
        deposits: Money::ZERO,
        charges: Money::ZERO,
        other: Money::ZERO,
        payable: None,
        delivery: None,
        at: at("2026-11-24 12:00"),
        by: None,
    };
    let mut page = BillPage::new(BillView { before: Some(before), ..explained().view });
    assert!(said(act(&mut page, Action::AcceptDelivery)).contains("booked already"));
    let mut page = BillPage::new(BillView { supplier: None, ..explained().view });
    assert!(said(act(&mut page, Action::AcceptDelivery)).contains("whose bill"));
    assert!(drawn(&mut page, 80, 20).contains("whose is it?"));
}

#[test]
fn of_a_credit_note_it_is_asked_whether_goods_went_back() {
    let mut note = invoice();
    (note.kind, note.type_code) = (DocumentKind::CreditNote, "381".to_owned());
    note.lines.truncate(1);
    note.charges.clear();
    let mut page = BillPage::new(view_of(note, &[], Answers::Nothing));
    assert!(drawn(&mut page, 80, 20).contains("did goods go back?"));
    act(&mut page, Action::Type('6'));
    act(&mut page, Action::Accept);
    assert_eq!(came(&page), [Some(-6)], "typed as it is counted, kept as what went out");
}

/// A bill with eight lines of a sum that is not right: eight doubts.
fn doubtful() -> BillPage {
    let mut invoice = invoice();
    invoice.lines = (1..=8)
        .map(|n| {
            let mut rum = line(&n.to_string(), &format!("Harbour rum 0.7 l, lot {n}"), "1", "XCS", "108", "118");
            rum.seller_code = Some("V1".to_owned());
            rum
        })
        .collect();
    invoice.totals.lines = Some(Decimal::parse("944").unwrap());
    let mut page = BillPage::new(view_of(invoice, &[], Answers::Nothing));
    act(&mut page, Action::RestAsOrdered);
    act(&mut page, Action::Yes);
    page
}

#[test]
fn all_doubts_can_be_read_and_none_is_agreed_to_unseen() {
    for (width, height) in [(60, 16), (80, 20), (120, 36)] {
        let mut page = doubtful();
        let doubts: Vec<String> = page.view.problems.iter().map(|problem| problem.what.clone()).collect();
        assert_eq!(doubts.len(), 8, "{doubts:?}");
        assert!(drawn(&mut page, width, height).contains("v shows all of them"));
        for to_book in [false, true] {
            act(&mut page, if to_book { Action::AcceptDelivery } else { Action::Doubts });
            assert_eq!(page.scope(), Scope::BillDoubts);
            let mut seen = String::new();
            let effect = loop {
                let shown = drawn(&mut page, width, height);
                seen.push_str(&shown);
                let was_last = !shown.contains("reads on");
                let effect = act(&mut page, Action::Accept);
                if was_last {
                    break effect;
                }
                assert_eq!((effect, page.scope()), (Effect::None, Scope::BillDoubts));
            };
            for lot in 1..=8 {
                assert!(seen.contains(&format!("lot {lot}:")), "{width}x{height}: {lot}: {seen}");
            }
            assert_eq!(matches!(effect, Effect::AcceptBill { .. }), to_book);
            assert_eq!(page.scope(), Scope::Bill);
        }
        act(&mut page, Action::AcceptDelivery);
        drawn(&mut page, width, height);
        assert_eq!((act(&mut page, Action::Cancel), page.scope()), (Effect::None, Scope::Bill));
        // Never drawn, never agreed to.
        act(&mut page, Action::AcceptDelivery);
        assert_eq!((act(&mut page, Action::Accept), page.scope()), (Effect::None, Scope::BillDoubts));
    }
    let mut page = explained();
    page.view.problems.clear();
    assert!(said(act(&mut page, Action::Doubts)).contains("nothing about the bill is doubtful"));
}

#[test]
fn in_a_narrow_window_number_day_and_the_key_of_charges_stay() {
    let mut stranger = invoice();
    stranger.seller.name = "Harbourmaster & Daughters Bonded Warehousing and Spirits Company".to_owned();
    let mut page = BillPage::new(BillView { supplier: None, ..view_of(stranger, &[], Answers::Nothing) });
    assert!(drawn(&mut page, 60, 17).contains("R-26-0318 of Tue 24 Nov"));
    let mut numbered = invoice();
    numbered.number = "0123456789".repeat(8);
    let mut page = BillPage::new(view_of(numbered, &[], Answers::Nothing));
    let shown = drawn(&mut page, 60, 17);
    assert!(shown.starts_with("The van\ninvoice 01234") && shown.contains("… of Tue 24 Nov\n"), "{shown}");
    let mut page = explained();
    act(&mut page, Action::Type('1'));
    act(&mut page, Action::Accept);
    let shown = drawn(&mut page, 60, 17);
    assert!(shown.contains("to claim") && shown.contains("Freight 9.00 apart (s)"), "{shown}");
    assert!(shown.contains("short by 11"), "{shown}");
}

#[test]
fn containers_typed_before_their_item_is_known_are_kept_until_it_is() {
    let mut strange = invoice();
    strange.lines[1].name = "Zq".to_owned();
    let mut page = BillPage::new(view_of(strange, &[], Answers::Nothing));
    act(&mut page, Action::First);
    let text = said(act(&mut page, Action::Type('1')));
    assert!(text.contains("which item") && text.contains("o;"), "{text}");
    assert!(said(act(&mut page, Action::Type('2'))).contains("12 is kept"));
    let Effect::Pick { likely, .. } = act(&mut page, Action::OtherItem) else { panic!() };
    assert_eq!(likely, Some(Vec::new()), "none is likely, so that Enter takes none");
    page.picked(RUM);
    let Effect::ExplainLine { line: 1, means, .. } = act(&mut page, Action::Accept) else { panic!() };
    let rate = Rate::of(12, Decimal::parse("5").unwrap()).unwrap();
    assert_eq!(means, Means::Item { item: RUM, rate });
}

#[test]
fn what_is_credited_and_stays_or_goes_back_uncredited_has_fit_words() {
    let mut note = invoice();
    (note.kind, note.type_code) = (DocumentKind::CreditNote, "381".to_owned());
    note.lines.truncate(1);
    note.preceding = vec!["R-26-0300".to_owned()];
    let mut page = BillPage::new(view_of(note, &[], Answers::Nothing));
    for (typed, words) in [("0", "12 stay here"), ("13", "1 not credited"), ("12", "goes back")] {
        act(&mut page, Action::First);
        act(&mut page, Action::Edit);
        page.paste(typed);
        act(&mut page, Action::Accept);
        let shown = drawn(&mut page, 80, 20);
        assert!(shown.contains(words) && shown.contains("about R-26-0300"), "{typed}: {shown}");
        assert!(!shown.contains("over") && !shown.contains("short"), "{typed}: {shown}");
    }
}

#[test]
fn a_line_of_a_credit_note_may_be_a_price_put_right_and_one_without_goods_is_no_item() {
    let mut note = invoice();
    (note.kind, note.type_code) = (DocumentKind::CreditNote, "381".to_owned());
    let mut page = BillPage::new(view_of(note, &[], Answers::Nothing));
    assert!(drawn(&mut page, 60, 17).contains("w: money only"));
    let mut none = invoice();
    none.lines[1].quantity = Decimal::ZERO;
    let mut page = BillPage::new(view_of(none, &[], Answers::Nothing));
    act(&mut page, Action::First);
    let shown = drawn(&mut page, 80, 20);
    assert!(shown.contains("money for a quantity of 0") && !shown.contains("which item"), "{shown}");
    assert!(said(act(&mut page, Action::OtherItem)).contains("none of an item is on this line"));
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at("2026-11-25 11:50") };
    at_every_size(|frame| page().draw(&[], frame, frame.area(), scene));
    at_every_size(|frame| {
        let mut page = explained();
        act(&mut page, Action::RestAsOrdered);
        page.draw(&[], frame, frame.area(), scene);
    });
}
