//! Suppliers' e-invoices as independent libraries write them, field by field; and what is wrong with one, each with its
//! own clear refusal. How the samples were made: tests/samples/invoice/README.md.

#![allow(clippy::unwrap_used)]

use lopdf::{Dictionary, Document, Object, Stream, dictionary};
use proptest::prelude::*;
use serde_json::Value;
use std::collections::BTreeSet;
use std::io::Write;
use std::path::{Path, PathBuf};
use tantalus::domain::measure::{Amount, Basis, Currency, Decimal, Money};
use tantalus::domain::receive::{
    Against, Book, Charge, DocumentKind, Invoice, InvoiceLine, KnownCode, Matched, Means, Rate, Status, Weight, apart,
    matched,
};
use tantalus::domain::venue::{
    CountBy, DayRule, Gtin, Item, ItemId, Kind, Moment, Offer, Parts, Setup, SupplierId, Venue,
};
use tantalus::exchange::ReadError;
use tantalus::exchange::invoice::{read, read_bytes};

/// Lines that are only money: none.
static NONE: BTreeSet<usize> = BTreeSet::new();

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/samples/invoice").join(name)
}

fn bytes(name: &str) -> Vec<u8> {
    std::fs::read(sample(name)).unwrap()
}

fn text(name: &str) -> String {
    String::from_utf8(bytes(name)).unwrap()
}

fn of(text: &str) -> Result<Invoice, ReadError> {
    read_bytes(Path::new("bill.xml"), text.as_bytes())
}

fn number(value: &Value) -> Option<Decimal> {
    value.as_str().map(|text| Decimal::parse(text).unwrap())
}

fn words(value: &Value) -> Option<String> {
    value.as_str().map(str::to_owned)
}

fn charge(got: &Charge, want: &Value) {
    assert_eq!(got.charge, want["charge"].as_bool().unwrap());
    assert_eq!(Some(got.amount), number(&want["amount"]));
    assert_eq!(got.reason, words(&want["reason"]));
    assert_eq!(got.reason_code, words(&want["reason_code"]));
    assert_eq!(got.percent, number(&want["percent"]));
    assert_eq!(got.base, number(&want["base_amount"]));
}

fn line(got: &InvoiceLine, want: &Value) {
    assert_eq!(Some(got.id.clone()), words(&want["id"]));
    assert_eq!(got.seller_code, words(&want["seller_item_id"]));
    assert_eq!(got.buyer_code, words(&want["buyer_item_id"]));
    assert_eq!(got.gtin, words(&want["gtin"]));
    assert_eq!(got.gtin().is_some(), !want["gtin"].is_null());
    assert_eq!(Some(got.name.clone()), words(&want["name"]));
    assert_eq!(got.description, words(&want["description"]));
    assert_eq!(Some(got.quantity), number(&want["quantity"]));
    assert_eq!(Some(got.unit.clone()), words(&want["unit_code"]));
    assert_eq!(got.price, number(&want["net_price"]));
    assert_eq!(Some(got.base_quantity), number(&want["price_base_quantity"]));
    assert_eq!(Some(got.net), number(&want["line_net"]));
    assert_eq!(got.tax_category, words(&want["vat_category"]));
    assert_eq!(got.tax_rate, number(&want["vat_percent"]));
    assert_eq!(got.order_line, words(&want["order_line_ref"]));
    let charges = want["allowances_charges"].as_array().unwrap();
    assert_eq!(got.charges.len(), charges.len());
    for (got, want) in got.charges.iter().zip(charges) {
        charge(got, want);
    }
}

fn compare(file: &str, expected: &str) {
    compare_at(&sample(file), &sample(expected));
}

fn compare_at(file: &Path, expected: &Path) {
    let got = read(file).unwrap_or_else(|e| panic!("{e}"));
    let want: Value = serde_json::from_slice(&std::fs::read(expected).unwrap()).unwrap();
    assert_eq!(Some(got.type_code.clone()), words(&want["document_type"]));
    assert_eq!(got.kind == DocumentKind::CreditNote, want["is_credit_note"].as_bool().unwrap());
    assert_eq!(Some(got.number.clone()), words(&want["number"]));
    assert_eq!(Some(got.issued.to_string()), words(&want["issue_date"]));
    assert_eq!(got.due.map(|day| day.to_string()), words(&want["due_date"]));
    assert_eq!(got.delivered.map(|day| day.to_string()), words(&want["delivery_date"]));
    assert_eq!(Some(got.currency.clone()), words(&want["currency"]));
    assert_eq!(Some(got.seller.name.clone()), words(&want["seller"]["name"]));
    assert_eq!(got.seller.vat_id, words(&want["seller"]["vat_id"]));
    let ids: Vec<(Option<String>, Option<String>)> =
        got.seller.ids.iter().map(|id| (Some(id.id.clone()), id.scheme.clone())).collect();
    let wanted: Vec<(Option<String>, Option<String>)> =
        want["seller"]["ids"].as_array().unwrap().iter().map(|id| (words(&id["id"]), words(&id["scheme"]))).collect();
    assert_eq!(ids, wanted);
    assert_eq!(Some(got.buyer.name.clone()), words(&want["buyer"]["name"]));
    assert_eq!(got.order_ref, words(&want["order_reference"]));
    assert_eq!(got.despatch_ref, words(&want["despatch_reference"]));
    let preceding: Vec<String> = want["preceding_invoices"].as_array().unwrap().iter().filter_map(words).collect();
    assert_eq!(got.preceding, preceding);
    let lines = want["lines"].as_array().unwrap();
    assert_eq!(got.lines.len(), lines.len());
    for (got, want) in got.lines.iter().zip(lines) {
        line(got, want);
    }
    let charges = want["document_allowances_charges"].as_array().unwrap();
    assert_eq!(got.charges.len(), charges.len());
    for (got, want) in got.charges.iter().zip(charges) {
        charge(got, want);
    }
    let taxes = want["vat_breakdown"].as_array().unwrap();
    assert_eq!(got.taxes.len(), taxes.len());
    for (got, want) in got.taxes.iter().zip(taxes) {
        assert_eq!(got.category, words(&want["category"]));
        assert_eq!(got.rate, number(&want["percent"]));
        assert_eq!(Some(got.taxable), number(&want["taxable"]));
        assert_eq!(Some(got.tax), number(&want["tax"]));
    }
    let totals = &want["totals"];
    for (got, key) in [
        (got.totals.lines, "line_total"),
        (got.totals.allowances, "allowance_total"),
        (got.totals.charges, "charge_total"),
        (got.totals.tax_exclusive, "tax_exclusive"),
        (got.totals.tax, "tax_total"),
        (got.totals.tax_inclusive, "tax_inclusive"),
        (got.totals.prepaid, "prepaid"),
        (got.totals.rounding, "rounding"),
        (got.totals.payable, "payable"),
    ] {
        // A sum of nothing may be left out of a file; the expectation says 0.
        assert_eq!(got.unwrap_or_default(), number(&totals[key]).unwrap(), "{key}");
    }
}

#[test]
fn what_other_libraries_write_is_read_field_by_field() {
    for name in ["ubl-rechnung", "ubl-gutschrift", "cii-rechnung"] {
        compare(&format!("{name}.xml"), &format!("{name}.expected.json"));
    }
    for name in ["hybrid-facturx", "hybrid-eueinvoice"] {
        compare(&format!("{name}.pdf"), &format!("{name}.expected.json"));
    }
}

/// Many more, which libraries of others write; `tests/round_trip/bills.py` has them do it and runs this.
#[test]
#[ignore = "needs bills: run tests/round_trip/run.py bills"]
fn many_that_other_libraries_write_are_read_field_by_field() {
    let folder = PathBuf::from(std::env::var("TANTALUS_INVOICES").expect("TANTALUS_INVOICES names the folder"));
    let euro: Currency = "EUR".parse().unwrap();
    let mut files = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "xml" || extension == "pdf") {
            println!("{}", path.display());
            compare_at(&path, &path.with_extension("expected.json"));
            let problems = read(&path).unwrap().checks(euro, "2027-01-01".parse().unwrap());
            let wrong: Vec<_> = problems.iter().filter(|p| p.weight == Weight::Refused).collect();
            assert!(wrong.is_empty(), "{wrong:?}");
            files += 1;
        }
    }
    println!("{files} bills");
    assert!(files > 0, "no bill in the folder");
}

#[test]
fn the_samples_agree_with_themselves() {
    let euro: Currency = "EUR".parse().unwrap();
    let today = "2026-03-25".parse().unwrap();
    for name in ["ubl-rechnung.xml", "cii-rechnung.xml", "hybrid-facturx.pdf", "hybrid-eueinvoice.pdf"] {
        let problems = read(&sample(name)).unwrap().checks(euro, today);
        let asked: Vec<&str> = problems.iter().map(|p| p.what.as_str()).collect();
        assert_eq!(asked, [] as [&str; 0], "{name}");
    }
    assert_eq!(read(&sample("ubl-gutschrift.xml")).unwrap().checks(euro, today), []);
}

#[test]
fn a_pdf_is_read_however_it_is_packed() {
    // Written by pikepdf (qpdf): objects in compressed streams; a password for changes only, which readers open without;
    // two further attachments, one of them XML.
    for name in ["object-streams.pdf", "owner-password-only.pdf", "several-attachments.pdf"] {
        compare(name, "hybrid-facturx.expected.json");
    }
}

#[test]
fn the_same_invoice_is_known_in_another_form() {
    let pdf = read(&sample("hybrid-facturx.pdf")).unwrap();
    let repacked = read(&sample("object-streams.pdf")).unwrap();
    assert_eq!(pdf.identity(), repacked.identity());
    assert_eq!(pdf.identity(), "de123456788 ql-2026-560 380");
    let other = read(&sample("hybrid-eueinvoice.pdf")).unwrap();
    assert_ne!(pdf.identity(), other.identity());
}

#[test]
fn prefixes_encodings_and_blanks_do_not_matter() {
    let want = read(&sample("cii-rechnung.xml")).unwrap();
    let xml = text("cii-rechnung.xml");
    let renamed = xml.replace("ram:", "a:").replace(":ram=", ":a=").replace("rsm:", "").replace("xmlns:rsm=", "xmlns=");
    assert_eq!(of(&renamed).unwrap(), want);
    let latin = xml.replace("encoding='utf-8'", "encoding='ISO-8859-1'");
    let (latin, _, lost) = encoding_rs::WINDOWS_1252.encode(&latin);
    assert!(!lost && std::str::from_utf8(&latin).is_err());
    assert_eq!(read_bytes(Path::new("x"), &latin).unwrap(), want);
    let wide: Vec<u8> = std::iter::once(0xFEFF).chain(xml.encode_utf16()).flat_map(u16::to_be_bytes).collect();
    assert_eq!(read_bytes(Path::new("x"), &wide).unwrap(), want);
    let spaced = text("ubl-rechnung.xml").replace(">R-26-0318<", ">\n   R-26-0318\t<").replace(">78.5<", "> 78.50 <");
    assert_eq!(of(&spaced).unwrap(), read(&sample("ubl-rechnung.xml")).unwrap());
    let split = text("ubl-rechnung.xml")
        .replace(">Klarer Funken 32 % 0,7 l<", ">Klarer <!-- x --><![CDATA[Funken]]> 32 &#37; 0,7 l<");
    assert_eq!(of(&split).unwrap(), read(&sample("ubl-rechnung.xml")).unwrap());
}

#[test]
fn text_that_acts_on_terminals_and_spreadsheets_is_tamed() {
    let xml = text("ubl-rechnung.xml")
        .replace("Hafenhell Keg 30 l", "=cmd()\u{202e}Hafenhell\u{200b}  Keg&#10;30 l")
        .replace("Aktionsrabatt", "+\u{85}Rabatt");
    let got = of(&xml).unwrap();
    assert_eq!(got.lines[0].name, "(=)cmd()Hafenhell Keg 30 l");
    assert_eq!(got.lines[3].charges[0].reason.as_deref(), Some("(+) Rabatt"));
    // A control character is no XML at all; what is said of it shows none.
    let refused = of(&text("ubl-rechnung.xml").replace("Hafenhell", "\u{1b}[2J")).unwrap_err().to_string();
    assert!(refused.contains("no sound XML") && !refused.contains('\u{1b}'), "{refused}");
    let refused = of("<\u{202e}evil xmlns='urn:x'/>").unwrap_err().to_string();
    assert!(!refused.contains('\u{202e}'), "{refused}");
}

/// A bar that knows three of the sample's four goods: by offer, by offer with a pack, by bar code.
fn small_bar() -> Setup {
    let days = DayRule { zone: chrono_tz::Europe::Berlin, starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() };
    let item = |id, name: &str, kind, size, gtin: Option<&str>| Item {
        gtins: gtin.map(|gtin| Gtin::parse(gtin).unwrap()).into_iter().collect(),
        ..Item::new(ItemId(id), name, kind, Basis::Volume, Amount(size), CountBy::Tenths)
    };
    let offer = |item, code: &str, pack, price| Offer {
        supplier: SupplierId(1),
        item: ItemId(item),
        code: Some(code.to_owned()),
        pack,
        price: Money(price),
        deposit: None,
        from: None,
        mixed: None,
        until: None,
    };
    Setup::new(Parts {
        items: vec![
            item(1, "Hafenhell", Kind::Beer, 30_000_000, None),
            item(2, "Klarer Funken", Kind::Spirit, 700_000, Some("9520000210106")),
            item(3, "Quellperle", Kind::Mixer, 250_000, None),
            item(4, "Nordmole", Kind::Spirit, 1_000_000, None),
        ],
        offers: vec![offer(1, "40017", 1, 7_850), offer(3, "11020", 24, 1_140)],
        ..Parts::new(Venue::new("Kajüte Vierzehn", "EUR".parse().unwrap(), days))
    })
}

#[test]
fn a_sample_becomes_containers_once_it_is_explained() {
    let setup = small_bar();
    let euro = setup.venue.currency;
    let invoice = read(&sample("ubl-rechnung.xml")).unwrap();
    let mut known = Vec::new();
    let look = |known: &[KnownCode]| {
        let day = "2026-03-10".parse().unwrap();
        matched(
            &invoice,
            &Book { setup: &setup, supplier: SupplierId(1), known, orders: &[], day, spread: false, money_only: &NONE },
        )
    };
    let found = |all: &[Matched]| {
        let of = |m: &Matched| match &m.status {
            Status::Found { item, containers, cost, .. } => Some((m.line, item.0, *containers, cost.0)),
            _ => None,
        };
        all.iter().filter_map(of).collect::<Vec<_>>()
    };
    let first = look(&known);
    assert_eq!(found(&first), [(0, 1, 4, 31_400), (1, 2, 12, 11_868), (2, 3, 144, 6_840)]);
    let Status::Question { likely, .. } = &first[3].status else { panic!("{:?}", first[3]) };
    assert_eq!(likely[0].item, ItemId(4));
    // Line 4 is explained: a piece is a bottle. The deposits are suggested by their names; one is confirmed, which
    // explains the empties too, since they have the same code.
    let rate = Rate::new(1, 1).unwrap();
    known.extend(KnownCode::learned(SupplierId(1), &invoice.lines[3], Means::Item { item: ItemId(4), rate }));
    known.extend(KnownCode::learned(SupplierId(1), &invoice.lines[4], Means::Deposit));
    let second = look(&known);
    assert_eq!(found(&second).last(), Some(&(3, 4, 6, 10_687)));
    let deposits: Vec<(i64, bool)> = second
        .iter()
        .filter_map(
            |m| if let Status::Deposit { amount, known, .. } = m.status { Some((amount.0, known)) } else { None },
        )
        .collect();
    assert_eq!(deposits, [(12_000, true), (3_060, false), (-9_000, true)]);
    let mut against = Against::new(&second, &[], &setup);
    assert_eq!((against.open.len(), against.deposits), (0, Money(6_060)));
    // 668.55 − 60.60 of deposits; the freight stays apart.
    let goods: i64 = against.lines.iter().filter_map(|l| l.invoiced.as_ref()).map(|i| i.cost.0).sum();
    assert_eq!(goods, 60_795);
    assert_eq!(apart(&invoice, euro)[0].amount, Money(750));
    for line in &mut against.lines {
        line.came = line.invoiced.as_ref().map(|i| i.containers);
    }
    against.lines[2].came = Some(143);
    assert_eq!(
        against.note(&invoice.number, &setup).unwrap(),
        "To claim on invoice R-26-0318: 0.48 EUR without tax\n\
         - Quellperle: 144 invoiced, 143 came: 1 at 0.475 = 0.48 EUR"
    );
    let booked = against.deliveries(&invoice.number, SupplierId(1), Moment(0), euro).unwrap();
    assert_eq!(booked.iter().map(|d| d.containers).collect::<Vec<_>>(), [4, 12, 143, 6]);
}

/// The UBL sample with something replaced, which must be there.
fn changed(name: &str, from: &str, to: &str) -> String {
    let xml = text(name);
    assert!(xml.contains(from), "{from}");
    xml.replacen(from, to, 1)
}

/// The sample without an element, from its tag to its end.
fn without(name: &str, tag: &str) -> String {
    let xml = text(name);
    let from = xml.find(&format!("<{tag}")).unwrap();
    let end = format!("</{tag}>");
    let to = from + xml[from..].find(&end).unwrap() + end.len();
    format!("{}{}", &xml[..from], &xml[to..])
}

#[test]
fn what_is_no_invoice_or_no_sound_one_is_refused_clearly() {
    let ubl = "ubl-rechnung.xml";
    let cii = "cii-rechnung.xml";
    let whole = text(ubl);
    let bomb = whole.replacen(
        "<Invoice",
        "<!DOCTYPE x [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;\"><!ENTITY c \"&b;&b;&b;&b;&b;&b;\">]><Invoice",
        1,
    );
    let outside = whole.replacen("<Invoice", "<!DOCTYPE x [<!ENTITY a SYSTEM \"file:///etc/hostname\">]><Invoice", 1);
    let minimum = {
        let mut xml = text(cii).replace("urn:cen.eu:en16931:2017<", "urn:factur-x.eu:1p0:minimum<");
        let (from, to) = ("<ram:IncludedSupplyChainTradeLineItem>", "</ram:IncludedSupplyChainTradeLineItem>");
        while let (Some(a), Some(b)) = (xml.find(from), xml.find(to)) {
            xml.replace_range(a..b + to.len(), "");
        }
        xml
    };
    let only_head = {
        let (a, b) = (whole.find("<cac:InvoiceLine>").unwrap(), whole.find("</Invoice>").unwrap());
        format!("{}{}", &whole[..a], &whole[b..])
    };
    let cases: Vec<(String, &str)> = vec![
        (String::new(), "is empty"),
        ("Sehr geehrte Damen und Herren".to_owned(), "is no XML and no PDF"),
        (whole[..whole.len() / 2].to_owned(), "is no sound XML, it may be cut off"),
        (whole.replace("</cac:Price>", ""), "is no sound XML"),
        (
            whole.replacen(">XKG<", "><", 1).replacen("4</cbc:InvoicedQuantity>", "&a;</cbc:InvoicedQuantity>", 1),
            "is no sound XML",
        ),
        (bomb, "has a document type (DOCTYPE)"),
        (outside, "has a document type (DOCTYPE)"),
        (text("ubl-bestellung.xml"), "is an order (UBL), not an invoice"),
        (text("orderx-bestellung.xml"), "is an order (Order-X), not an invoice"),
        (
            "<rsm:CrossIndustryDocument xmlns:rsm='urn:ferd:CrossIndustryDocument:invoice:1p0'/>".to_owned(),
            "ZUGFeRD 1.0",
        ),
        ("<Reminder xmlns='urn:oasis:names:specification:ubl:schema:xsd:Reminder-2'/>".to_owned(), "the sort Reminder"),
        ("<auditfile xmlns='urn:x'/>".to_owned(), "audit file"),
        ("<Invoice><ID>1</ID></Invoice>".to_owned(), "without the namespace"),
        ("<html/>".to_owned(), "begins with the element html"),
        ("PK\u{3}\u{4}".to_owned(), "zip archive"),
        (minimum, "profile MINIMUM, which carries no lines"),
        (only_head, "carries no lines, only sums"),
        (without(ubl, "cbc:ID"), "the invoice's number is missing"),
        (without(ubl, "cbc:IssueDate"), "the invoice's date is missing"),
        (without(ubl, "cbc:DocumentCurrencyCode"), "the currency is missing"),
        (without(ubl, "cac:AccountingSupplierParty"), "the seller is missing"),
        (without(ubl, "cac:PartyLegalEntity"), "the seller has no name"),
        (without(ubl, "cbc:InvoicedQuantity"), "the quantity of a line is missing"),
        (
            changed(ubl, "<cbc:LineExtensionAmount currencyID=\"EUR\">314.00</cbc:LineExtensionAmount>", ""),
            "the net of a line is missing",
        ),
        (changed(cii, "<ram:ID>QL-2026-551</ram:ID>", ""), "the invoice's number is missing"),
        (without(cii, "ram:IssueDateTime"), "the invoice's date is missing"),
        (without(cii, "ram:InvoiceCurrencyCode"), "the currency is missing"),
        (without(cii, "ram:SellerTradeParty"), "the seller is missing"),
        (without(cii, "ram:BilledQuantity"), "the quantity of a line is missing"),
        (without(cii, "ram:SpecifiedTradeSettlementLineMonetarySummation"), "the net of a line is missing"),
        (changed(ubl, "2026-03-10", "10.03.2026"), "expected a day such as 2026-03-10"),
        (changed(ubl, "2026-03-10", "2026-02-30"), "expected a day such as 2026-03-10"),
        (changed(cii, ">20260317<", ">2026-03-17<"), "expected a day such as 20260310"),
        (changed(cii, "format=\"102\"", "format=\"203\""), "expected 102"),
        (changed(ubl, ">4</cbc:InvoicedQuantity>", ">4,5</cbc:InvoicedQuantity>"), "expected a number such as"),
        (changed(ubl, ">4</cbc:InvoicedQuantity>", "></cbc:InvoicedQuantity>"), "expected a number such as"),
        (changed(ubl, ">4</cbc:InvoicedQuantity>", ">4e3</cbc:InvoicedQuantity>"), "expected a number such as"),
        (changed(ubl, ">4</cbc:InvoicedQuantity>", ">9999999999999</cbc:InvoicedQuantity>"), "at most 12 digits"),
        (changed(ubl, "currencyID=\"EUR\">314.00", "currencyID=\"SEK\">314.00"), "is in SEK in an invoice in EUR"),
        (changed(ubl, "currencyID=\"EUR\">78.5", "currencyID=\"SEK\">78.5"), "a price is in SEK"),
        (changed(ubl, ">true<", ">yes<"), "expected true or false"),
        (changed(ubl, ">380<", ">381<"), "whether it charges or gives back is not clear"),
        (changed(ubl, "<cbc:ID>R-26-0318</cbc:ID>", "<cbc:ID>R-26-0318</cbc:ID><cbc:ID>R-1</cbc:ID>"), "a second ID"),
        (changed(ubl, "encoding='UTF-8'", "encoding='EBCDIC-9'"), "is not known here"),
    ];
    for (xml, says) in cases {
        let refused = of(&xml).expect_err(says).to_string();
        assert!(refused.contains(says), "wanted {says}: {refused}");
        assert!(refused.starts_with("bill.xml"), "{refused}");
    }
}

#[test]
fn the_place_in_the_file_is_named() {
    let xml = changed("ubl-rechnung.xml", ">-3</cbc:InvoicedQuantity>", ">drei</cbc:InvoicedQuantity>");
    let row = xml.lines().position(|line| line.contains("drei")).unwrap() + 1;
    assert_eq!(of(&xml).unwrap_err().at, Some(format!("line {row}")));
    let missing = read(Path::new("/nowhere/bill.xml")).unwrap_err();
    assert!(missing.what.contains("cannot be read"));
    assert!(read_bytes(Path::new("x"), &vec![b' '; 33 * 1024 * 1024]).unwrap_err().what.contains("larger than 32 MiB"));
}

#[test]
fn what_is_wrong_in_a_sound_file_is_refused_or_asked() {
    let euro: Currency = "EUR".parse().unwrap();
    let today = "2026-03-25".parse().unwrap();
    let cases = [
        ("ubl-rechnung.xml", ">668.55<", ">700.00<", Weight::Refused, "add up to 668.55, but the bill says 700"),
        ("ubl-rechnung.xml", ">EUR</cbc:Doc", ">SEK</cbc:Doc", Weight::Refused, "in SEK, but this book is in EUR"),
        ("ubl-rechnung.xml", "IssueDate>2026-03-10", "IssueDate>2027-03-10", Weight::Refused, "after today"),
        (
            "ubl-rechnung.xml",
            "DeliveryDate>2026-03-10",
            "DeliveryDate>2027-03-10",
            Weight::Question,
            "have the goods come",
        ),
        ("ubl-rechnung.xml", ">9.89<", ">8.89<", Weight::Question, "do not make 118.68"),
        ("ubl-rechnung.xml", ">9.89<", ">-9.89<", Weight::Refused, "never below zero"),
        ("ubl-rechnung.xml", ">380<", ">386<", Weight::Refused, "nothing came with it"),
        ("cii-rechnung.xml", ">100<", ">0<", Weight::Refused, "the price is for 0 units"),
        ("cii-rechnung.xml", "unitCode=\"H87\">100", "unitCode=\"KGM\">100", Weight::Question, "the price is for KGM"),
        ("cii-rechnung.xml", ">9.50<", ">9.505<", Weight::Refused, "more decimals than EUR"),
        ("cii-rechnung.xml", ">41.52<", ">51.52<", Weight::Question, "but the bill says 51.52"),
        ("cii-rechnung.xml", "9520000400170", "9520000400171", Weight::Note, "no bar code number"),
    ];
    for (name, from, to, weight, says) in cases {
        let mut xml = changed(name, from, to);
        if to.contains("SEK") {
            xml = xml.replace("currencyID=\"EUR\"", "currencyID=\"SEK\"");
        }
        let problems = of(&xml).unwrap().checks(euro, today);
        assert!(problems.iter().any(|p| p.weight == weight && p.what.contains(says)), "{says}: {problems:?}");
    }
}

#[test]
fn subtotals_and_remarks_among_the_lines_are_left_out_and_said() {
    // Factur-X EXTENDED: LineStatusReasonCode (BT-X-8) DETAIL is a position, GROUP a subtotal, INFORMATION a remark.
    let status = |line: &str, code: &str, xml: String| {
        let id = format!("<ram:LineID>{line}</ram:LineID>");
        xml.replacen(&id, &format!("{id}<ram:LineStatusReasonCode>{code}</ram:LineStatusReasonCode>"), 1)
    };
    let xml = status("1", "DETAIL", status("2", "GROUP", status("3", "INFORMATION", text("cii-rechnung.xml"))));
    let got = of(&xml).unwrap();
    assert_eq!(got.lines.iter().map(|l| l.id.as_str()).collect::<Vec<_>>(), ["1", "4", "5"]);
    assert_eq!(
        got.left_out.iter().map(|l| (l.id.as_str(), l.why.as_str())).collect::<Vec<_>>(),
        [("2", "GROUP"), ("3", "INFORMATION")]
    );
    let problems = got.checks("EUR".parse().unwrap(), "2026-03-25".parse().unwrap());
    assert_eq!(problems.iter().filter(|p| p.weight == Weight::Note && p.what.contains("left out")).count(), 2);
}

#[test]
fn elements_that_the_samples_lack_are_read() {
    let xml = text("ubl-rechnung.xml")
        .replacen("<cac:PartyLegalEntity>", "<cac:PartyName><cbc:Name>Quendel</cbc:Name></cac:PartyName><cac:PartyLegalEntity>", 1)
        .replacen(
            "<cbc:PriceAmount currencyID=\"EUR\">78.5</cbc:PriceAmount>",
            "<cbc:PriceAmount currencyID=\"EUR\">78.5</cbc:PriceAmount><cbc:BaseQuantity unitCode=\"XKG\">1</cbc:BaseQuantity>\
             <cac:AllowanceCharge><cbc:ChargeIndicator>false</cbc:ChargeIndicator><cbc:Amount currencyID=\"EUR\">1.5</cbc:Amount>\
             <cbc:BaseAmount currencyID=\"EUR\">80</cbc:BaseAmount></cac:AllowanceCharge>",
            1,
        )
        .replacen("<cac:SellersItemIdentification>", "<cac:BuyersItemIdentification><cbc:ID>FASS</cbc:ID></cac:BuyersItemIdentification><cac:SellersItemIdentification>", 1)
        .replacen("<cbc:ID>B-2026-11</cbc:ID>", "<cbc:ID>NA</cbc:ID>", 1)
        .replacen("<cac:TaxTotal>", "<cac:TaxTotal><cbc:TaxAmount currencyID=\"SEK\">1450</cbc:TaxAmount></cac:TaxTotal><cac:TaxTotal>", 1);
    let got = of(&xml).unwrap();
    let decimal = |text: &str| Decimal::parse(text).unwrap();
    assert_eq!(got.seller.trading_name.as_deref(), Some("Quendel"));
    assert_eq!(got.seller.endpoint.as_ref().map(|e| e.id.as_str()), Some("9520000000004"));
    let first = &got.lines[0];
    assert_eq!((first.gross_price, first.price_discount), (Some(decimal("80")), Some(decimal("1.5"))));
    assert_eq!((first.base_unit.as_deref(), first.buyer_code.as_deref()), (Some("XKG"), Some("FASS")));
    assert!(first.charges.is_empty(), "the discount in a price is no charge of the line");
    assert_eq!((got.order_ref, got.totals.tax), (None, Some(decimal("128.45"))));
    let cii = read(&sample("cii-rechnung.xml")).unwrap();
    assert_eq!((cii.lines[3].gross_price, cii.lines[3].price_discount), (Some(decimal("79")), Some(decimal("2"))));
    let freight = text("cii-rechnung.xml").replacen(
        "<ram:SpecifiedTradePaymentTerms>",
        "<ram:SpecifiedLogisticsServiceCharge><ram:Description>Fracht</ram:Description><ram:AppliedAmount>4.00</ram:AppliedAmount>\
         </ram:SpecifiedLogisticsServiceCharge><ram:SpecifiedTradePaymentTerms>",
        1,
    );
    let charges = of(&freight).unwrap().charges;
    assert_eq!(charges[1].adds(), decimal("4"));
    assert_eq!(charges[1].reason.as_deref(), Some("Fracht"));
}

/// A PDF of our own with one attachment, packed as said.
fn pdf_with(name: &str, stream: Stream) -> Vec<u8> {
    let mut document = Document::with_version("1.7");
    let pages = document.new_object_id();
    document
        .objects
        .insert(pages, Object::Dictionary(dictionary! { "Type" => "Pages", "Kids" => vec![], "Count" => 0 }));
    let file = document.add_object(stream);
    let spec = document.add_object(dictionary! {
        "Type" => "Filespec",
        "F" => Object::string_literal(name),
        "EF" => dictionary! { "F" => file },
    });
    let names = dictionary! { "Names" => vec![Object::string_literal(name), Object::Reference(spec)] };
    let catalog = document.add_object(dictionary! {
        "Type" => "Catalog",
        "Pages" => pages,
        "Names" => dictionary! { "EmbeddedFiles" => names },
    });
    document.trailer.set("Root", catalog);
    let mut out = Vec::new();
    document.save_to(&mut out).unwrap();
    out
}

fn packed(content: &[u8]) -> Stream {
    let mut encoder = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::best());
    encoder.write_all(content).unwrap();
    let mut dictionary = Dictionary::new();
    dictionary.set("Filter", Object::Name(b"FlateDecode".to_vec()));
    Stream::new(dictionary, encoder.finish().unwrap())
}

#[test]
fn each_bad_pdf_has_its_own_words() {
    let whole = bytes("hybrid-facturx.pdf");
    let cut = |share: usize| whole[..whole.len() * share / 100].to_vec();
    let xml = bytes("cii-rechnung.xml");
    let bomb = packed(&vec![b' '; 200 * 1024 * 1024]);
    assert!(bomb.content.len() < 1024 * 1024);
    let mut damaged = packed(&xml);
    damaged.content.truncate(50);
    damaged.content[10..].fill(0xFF);
    let cases = [
        (cut(30), "cut off"),
        (cut(60), "cut off"),
        (b"%PDF-1.7\n%%EOF".to_vec(), "PDF"),
        (bytes("encrypted.pdf"), "is an encrypted PDF"),
        (bytes("no-attachment.pdf"), "is a PDF without an invoice attached"),
        (pdf_with("factur-x.xml", bomb), "unpacks to more than 32 MiB"),
        (pdf_with("factur-x.xml", damaged), "its attachment factur-x.xml"),
        (pdf_with("notes.txt", packed(b"hello")), "none is an XML invoice"),
        (pdf_with("factur-x.xml", packed(b"<a/>")), "its attachment factur-x.xml"),
        (pdf_with("order-x.xml", packed(&bytes("orderx-bestellung.xml"))), "is an order (Order-X), not an invoice"),
    ];
    for (pdf, says) in cases {
        let refused = read_bytes(Path::new("bill.pdf"), &pdf).expect_err(says).to_string();
        assert!(refused.contains(says), "wanted {says}: {refused}");
    }
    // Whatever the attachment is called.
    let oddly_named = pdf_with("rechnung", packed(&xml));
    let want = read(&sample("cii-rechnung.xml")).unwrap();
    assert_eq!(read_bytes(Path::new("x"), &oddly_named).unwrap(), want);
}

/// A sample and what was done to it: bytes changed, a piece cut out, a piece doubled.
fn mutated() -> impl Strategy<Value = Vec<u8>> {
    let names = [
        "ubl-rechnung.xml",
        "ubl-gutschrift.xml",
        "cii-rechnung.xml",
        "hybrid-facturx.pdf",
        "object-streams.pdf",
        "several-attachments.pdf",
    ];
    let edit = (any::<prop::sample::Index>(), any::<prop::sample::Index>(), any::<u8>(), 0_u8..5);
    (prop::sample::select(names.to_vec()), prop::collection::vec(edit, 1..12)).prop_map(|(name, edits)| {
        let mut out = bytes(name);
        for (at, to, byte, what) in edits {
            if out.is_empty() {
                break;
            }
            let (a, b) = (at.index(out.len()), to.index(out.len()));
            let (a, b) = (a.min(b), a.max(b).min(a.min(b) + 400));
            match what {
                0 => out[a] = byte,
                1 => out[a] = b"0123456789<>&;\"/-"[usize::from(byte) % 17],
                2 => {
                    out.drain(a..b);
                }
                3 => {
                    let piece = out[a..b].to_vec();
                    out.splice(b..b, piece);
                }
                _ => out.truncate(a.max(8)),
            }
        }
        out
    })
}

fn digested(bytes: &[u8]) {
    match read_bytes(Path::new("bill"), bytes) {
        Ok(invoice) => {
            let problems = invoice.checks("EUR".parse().unwrap(), "2026-03-25".parse().unwrap());
            for said in problems.iter().map(|p| &p.what).chain(invoice.lines.iter().map(|l| &l.name)) {
                assert!(!said.chars().any(char::is_control), "{said:?}");
            }
            assert!(!invoice.identity().is_empty());
            let (setup, day) = (small_bar(), "2026-03-10".parse().unwrap());
            for spread in [false, true] {
                let book = Book {
                    setup: &setup,
                    supplier: SupplierId(1),
                    known: &[],
                    orders: &[],
                    day,
                    spread,
                    money_only: &NONE,
                };
                let got = matched(&invoice, &book);
                assert_eq!(got.len(), invoice.lines.len());
                let mut against = Against::new(&got, &[], &setup);
                for line in &mut against.lines {
                    line.came = line.invoiced.as_ref().map(|invoiced| invoiced.containers / 2);
                }
                assert!(against.claims(&setup).iter().all(|claim| claim.money > Money::ZERO));
                assert!(against.deliveries("x", SupplierId(1), Moment(0), setup.venue.currency).is_ok());
            }
        }
        Err(refused) => {
            let said = refused.to_string();
            assert!(!said.chars().any(char::is_control), "{said:?}");
        }
    }
}

proptest! {
    #[test]
    fn damaged_samples_are_read_or_refused(bytes in mutated()) {
        digested(&bytes);
    }

    #[test]
    fn arbitrary_bytes_are_read_or_refused(mut bytes in prop::collection::vec(any::<u8>(), 0..400), pdf in any::<bool>()) {
        if pdf {
            bytes.splice(0..0, b"%PDF-1.7\n".iter().copied());
        }
        digested(&bytes);
    }

    #[test]
    fn arbitrary_attachments_are_read_or_refused(content in prop::collection::vec(any::<u8>(), 0..300), name in ".{0,20}") {
        digested(&pdf_with(&name, packed(&content)));
    }
}
