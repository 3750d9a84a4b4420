//! What `tantalus receive` says of a bill, for somebody at the back door who is tired.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/paper.rs"]
mod paper;

use bar::{Bar, FILES};
use paper::{Paper, PaperLine, line};
use std::fmt::Write;

/// Puts a bill where the command finds it as `bill.xml`.
fn bill(bar: &Bar, paper: &Paper) {
    put(bar, &paper.ubl());
}

fn put(bar: &Bar, text: &str) {
    bar.file("bill.xml", text);
}

fn note(number: &'static str, lines: Vec<PaperLine>) -> Paper {
    Paper { credit: true, order: "", ..Paper::of(number, lines) }
}

fn gin(cases: &'static str, net: i64) -> PaperLine {
    line("Gin 0,7 l", "21010", (cases, "XCS"), "60.00", net)
}

const WATER: &str = "NEW";

fn water() -> PaperLine {
    line("Tonc water", WATER, ("24", "C62"), "0.60", 1_440)
}

const BOOK: [&str; 5] = ["receive", "bill.xml", "--as-charged", "--book-it", "--all-the-same"];

#[test]
fn what_is_kept_of_a_bill_that_is_only_shown_is_said() {
    let bar = Bar::new();
    bill(&bar, &Paper::of("R-1", vec![gin("2", 12_000), water()]));
    let said = bar.says(&["receive", "bill.xml", "--line", "2=Tonic*24", "--supplier", "Quendelbach"]);
    assert!(said.contains("Nothing is booked"), "{said}");
    assert!(said.contains("Kept, for later bills of the supplier too: what line 2 is."), "{said}");
    assert!(said.contains("is kept once it is booked"), "{said}");
    assert!(!bar.says(&["receive", "bill.xml"]).contains("Kept"));
    assert!(!bar.says(&["receive", "bill.xml", "--line", "2=money"]).contains("Kept"));
    // Also where the rest is refused: what came of the gin was not said.
    let said = bar.refuses(&["receive", "bill.xml", "--line", "2=Tonic*24", "--book-it"]);
    assert!(said.contains("what line 2 is"), "{said}");
    for wrong in ["2=Tonic*-2", "2=Tonic*0"] {
        let said = bar.refuses(&["receive", "bill.xml", "--line", wrong]);
        assert!(said.contains("at least one container"), "{said}");
    }
}

/// A charge of another name, one without a name and an allowance that is larger than the goods.
#[test]
fn charges_of_the_whole_bill_go_by_their_own_names() {
    let bar = Bar::new();
    let charge = |is_charge: bool, why: &str, amount: &str| {
        let why = if why.is_empty() {
            String::new()
        } else {
            format!("<cbc:AllowanceChargeReason>{why}</cbc:AllowanceChargeReason>")
        };
        format!(
            "<cac:AllowanceCharge><cbc:ChargeIndicator>{is_charge}</cbc:ChargeIndicator>{why}<cbc:Amount \
             currencyID=\"EUR\">{amount}</cbc:Amount></cac:AllowanceCharge>"
        )
    };
    let mut charges = charge(true, "Anlieferung", "5.00");
    // By hand: 120.00 of goods, 5.00 on top of them and 1.00 unnamed, 130.00 off: -4.00, and the tax of before.
    charges += &charge(true, "", "1.00");
    charges += &charge(false, "Loyalty bonus", "130.00");
    let text = Paper { freight: 500, ..Paper::of("R-1", vec![gin("2", 12_000)]) }.ubl();
    let (head, rest) = text.split_once("<cac:AllowanceCharge>").unwrap();
    let (_, rest) = rest.split_once("</cac:AllowanceCharge>").unwrap();
    let text = format!("{head}{charges}{rest}").replace(">125.00<", ">-4.00<").replace(">148.75<", ">19.75<");
    put(&bar, &text);
    let said = bar.says(&["receive", "bill.xml"]);
    for part in ["Anlieferung 5.00 EUR", "charges 1.00 EUR", "Loyalty bonus -130.00 EUR"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(!said.contains("freight"), "{said}");
    let said = bar.refuses(&[&BOOK[..], &["--share-freight"]].concat());
    assert!(said.contains("do not share it out") && !said.contains("a line that"), "{said}");
}

#[test]
fn a_credit_note_says_what_it_is_about_and_which_way_goods_went() {
    let bar = Bar::new();
    bill(&bar, &Paper::of("R-1", vec![gin("2", 12_000)]));
    // One missing at 10.00 is put down to be claimed.
    bar.says(&["receive", "bill.xml", "--came", "Gin=11", "--book-it"]);
    bill(&bar, &Paper { preceding: "R-1", ..note("C-1", vec![gin("1", 6_000)]) });
    let said = bar.says(&["receive", "bill.xml", "--came", "Gin=0"]);
    assert!(said.contains("It is about R-1.") && said.contains("money for what stays"), "{said}");
    assert!(!said.contains("over") && !said.contains("short"), "{said}");
    let said = bar.says(&BOOK);
    assert!(said.contains("Booked out of stock: 1 line.") && !said.contains("into stock"), "{said}");
    let said = bar.says(&["receive", "--take-back", "C-1"]);
    assert!(said.contains("1 line came into stock again.") && !said.contains("left stock"), "{said}");
    // One that names no bill, of the sum of the claim; and of another sum.
    let price = || line("Gin 0,7 l", "21010", ("1", "XBO"), "10.00", 1_000);
    bill(&bar, &note("C-2", vec![price()]));
    let said = bar.says(&["receive", "bill.xml"]);
    assert!(said.contains("It names no bill") && said.contains("on R-1: Gin: 12 invoiced, 11 came"), "{said}");
    bill(&bar, &note("C-2", vec![PaperLine { net: 900, price: "9.00", ..price() }]));
    let said = bar.says(&["receive", "bill.xml"]);
    assert!(said.contains("It names no bill") && !said.contains("on R-1"), "{said}");
    // Lines that nobody knows may be a price put right.
    put(&bar, &note("C-3", vec![water()]).cii());
    let said = bar.says(&["receive", "bill.xml"]);
    assert!(said.contains("1=money, which is right where it only corrects a price"), "{said}");
}

#[test]
fn what_came_of_a_line_that_is_not_explained_says_so() {
    let bar = Bar::new();
    bill(&bar, &Paper::of("R-1", vec![gin("2", 12_000), water()]));
    let said = bar.refuses(&["receive", "bill.xml", "--came", "Tonic=0"]);
    assert!(said.contains("line 2 “Tonc water” is not explained yet") && said.contains("--line \"2=Tonic*"), "{said}");
}

#[test]
fn one_mistake_is_one_mark_and_money_for_nothing_one_question() {
    let bar = Bar::new();
    put(
        &bar,
        &Paper::of("R-1", vec![gin("2", 12_000)]).ubl().replacen(
            "EUR\">120.00</cbc:LineExt",
            "EUR\">125.00</cbc:LineExt",
            1,
        ),
    );
    let said = bar.says(&["receive", "bill.xml"]);
    assert_eq!(said.lines().filter(|line| line.starts_with('!')).count(), 1, "{said}");
    for code in ["21010", "OTHER"] {
        let none = PaperLine { quantity: "0", net: 500, price: "5.00", code, ..gin("2", 0) };
        bill(&bar, &Paper::of("R-2", vec![gin("2", 12_000), none]));
        let said = bar.says(&["receive", "bill.xml"]);
        assert_eq!(said.lines().filter(|line| line.starts_with('?')).count(), 1, "{said}");
        assert!(said.contains("money for a quantity of 0") && said.contains("--line 2=money"), "{said}");
        let said = bar.says(&["receive", "bill.xml", "--line", "2=money", "--as-charged"]);
        assert!(!said.contains('?') && said.contains("not stock 5.00 EUR"), "{said}");
        bar.refuses(&["receive", "bill.xml", "--line", "2=Gin*1"]);
    }
}

#[test]
fn deposits_stand_beside_the_sum_of_the_other_lines() {
    let bar = Bar::new();
    let back = line("Empties returned", "PF", ("-2", "C62"), "15.00", -3_000);
    bill(&bar, &Paper::of("R-1", vec![gin("2", 12_000), water(), back]));
    let said = bar.says(&["receive", "bill.xml"]);
    assert!(said.contains("Goods and lines not explained 134.40 EUR, deposits -30.00 EUR;"), "{said}");
    assert!(said.contains("? Line 2, 24 pieces “Tonc water”"), "{said}");
}

#[test]
fn of_an_invoice_and_a_credit_note_of_one_number_each_can_be_taken_back() {
    let bar = Bar::new();
    bill(&bar, &Paper::of("77", vec![gin("2", 12_000)]));
    bar.says(&BOOK);
    bill(&bar, &note("77", vec![gin("1", 6_000)]));
    bar.says(&BOOK);
    let said = bar.refuses(&["receive", "--take-back", "77"]);
    assert!(said.contains("--take-back \"credit note 77\"") && said.contains("--take-back \"invoice 77\""), "{said}");
    assert!(bar.says(&["receive", "--take-back", "credit note 77"]).contains("Taken back: credit note 77"));
    assert!(bar.says(&["receive", "--take-back", "77"]).contains("Taken back: invoice 77"));
}

#[test]
fn long_lists_are_cut_and_the_rest_is_counted() {
    let mut orders = FILES[6].1.to_owned();
    let mut claims = "supplier,document,item,because,containers,money,note,at,by\n".to_owned();
    for n in 1..=23 {
        let _ = writeln!(orders, "D-{n},1,Quendelbach,Tonic,1,14.40,sent,2026-11-16 12:00,24");
        let _ = writeln!(claims, "Quendelbach,R-{n},Gin,short,1,10.00,one short,2026-11-16 12:00,");
    }
    let bar = Bar::with(&[("orders.csv", &orders), ("claims.csv", &claims)]);
    let said = bar.says(&["receive"]);
    assert_eq!(said.lines().filter(|line| line.starts_with("On order")).count(), 20, "{said}");
    assert!(said.contains("and 4 orders more; --json has all.") && said.contains("and 3 claims more"), "{said}");
}

/// What is left of an order, and then of that, keeps one name and counts up.
#[test]
fn the_rest_of_a_rest_is_the_rest_of_the_order() {
    let bar = Bar::new();
    let bottles = || line("Gin 0,7 l", "21010", ("6", "XBO"), "10.00", 6_000);
    for (number, order, came, rest) in [
        ("R-1", "B-11", "3", "“B-11 rest”"),
        ("R-2", "B-11 rest", "2", "“B-11 rest 2”"),
        ("R-3", "B-11 rest 2", "1", "“B-11 rest 3”"),
    ] {
        bill(&bar, &Paper { order, ..Paper::of(number, vec![bottles()]) });
        let said = bar.says(&["receive", "bill.xml", "--came", &format!("Gin={came}"), "--book-it", "--all-the-same"]);
        assert!(said.contains(&format!("The rest stays on order: {rest}.")), "{said}");
    }
}
