//! Orders and count sheets as they leave the house: each form says the same, and nothing that a name holds can break out
//! of it. `tests/round_trip/` looks at the same files with programs of others.
#![allow(clippy::unwrap_used, missing_docs)]

use chrono::NaiveDate;
use lopdf::Document;
use proptest::prelude::*;
use std::collections::BTreeSet;
use tantalus::domain::measure::{Amount, Basis, Money};
use tantalus::domain::order::{Draft, DraftLine, OrderDocument};
use tantalus::domain::rows::CountSheet;
use tantalus::domain::venue::{
    Contact, CountBy, Country, DayRule, EAddress, Gln, Gtin, Item, ItemId, Kind, OrderCalendar, Parts, Party, Phone,
    Place, PlaceId, Setup, Shelf, Supplier, SupplierId, VatId, Venue, one_line,
};
use tantalus::exchange::documents::{Form, order_mail, order_table, order_text, order_ubl, write_order};
use tantalus::exchange::print::{count_sheet_pdf, order_pdf};

const VAN: SupplierId = SupplierId(1);

fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 20).unwrap()
}

fn party(street: &str, country: &str) -> Party {
    Party {
        address: vec![street.to_owned(), "Hinterhaus".to_owned(), "00003 Sandmouth".to_owned()],
        country: Country::parse(country).ok(),
        vat_id: VatId::parse("DE 000 000 003").ok(),
        gln: Gln::parse("9520000900014").ok(),
        e_address: EAddress::parse("0088:9520000900014").ok(),
    }
}

fn bar(country: &str, names: &[&str], supplier: &str) -> Setup {
    let days = DayRule { zone: chrono_tz::Europe::Berlin, starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() };
    let venue = Venue {
        party: party("Kai 3", country),
        contact: Contact {
            name: Some("Anneke Brandt".to_owned()),
            phone: Phone::parse("+49 000 555").ok(),
            email: Some("bar@example.com".to_owned()),
        },
        deliver_to: Some("By the yard, before noon".to_owned()),
        ..Venue::new("Kajüte & Söhne <Bar>", "EUR".parse().unwrap(), days)
    };
    let mut parts = Parts::new(venue);
    parts.places.push(Place { id: PlaceId(1), name: "Rail".to_owned(), walk: 1 });
    parts.suppliers.push(Supplier {
        id: VAN,
        name: supplier.to_owned(),
        email: Some("van@example.com".to_owned()),
        customer_no: Some("K-77".to_owned()),
        calendar: OrderCalendar::default(),
        minimum: None,
        fee: Some(Money(1_250)),
        free_from: Some(Money(1_000_000)),
        party: party("Hafen 9", country),
    });
    for (name, id) in names.iter().zip(1..) {
        let id = ItemId(id);
        let mut item = Item::new(id, name, Kind::Spirit, Basis::Volume, Amount(700_000), CountBy::Tenths);
        item.gtins = Gtin::parse("9520000900014").into_iter().collect();
        parts.items.push(item);
        parts.shelves.push(Shelf { place: PlaceId(1), item: id, position: id.0, par: None });
    }
    Setup::new(parts)
}

/// `packs` of everything, every second line in cases of six; each price another.
fn order(setup: &Setup, packs: i64) -> OrderDocument {
    let line = |item: &Item| DraftLine {
        mixed: None,
        why: None,
        item: item.id,
        need: None,
        suggested: 0,
        packs,
        pack: if item.id.0 % 2 == 0 { 6 } else { 1 },
        price: Money(1_000 + 37 * item.id.0),
        code: Some(format!("A-{}", item.id.0)),
        shelf_limits: false,
    };
    let mut lines: Vec<DraftLine> = setup.items.iter().map(line).collect();
    lines.sort_by_key(|l| l.item);
    OrderDocument::new(setup, &Draft { supplier: VAN, lines, deadline: None }, "2026-11-20 Van", day())
}

fn many(number: usize) -> Vec<String> {
    (1..=number).map(|n| format!("Ostelbrine Reserve No. {n} Rum")).collect()
}

fn bar_of(number: usize, country: &str) -> Setup {
    let names = many(number);
    bar(country, &names.iter().map(String::as_str).collect::<Vec<_>>(), "Hafenlager")
}

/// The text of each page, as the library lopdf 0.47 reads it.
fn pages(pdf: &[u8]) -> Vec<String> {
    let document = Document::load_mem(pdf).unwrap();
    let numbers: Vec<u32> = document.get_pages().keys().copied().collect();
    numbers.iter().map(|n| document.extract_text(&[*n]).unwrap()).collect()
}

#[test]
fn every_form_says_the_same() {
    let setup = bar("DE", &["Harbour gin", "Añejo Crème №5"], "Hafenlager");
    let order = order(&setup, 3).with_note("Bitte Leergut mitnehmen");
    // 3 × 10.37 and 3 × 10.74 are 31.11 and 32.22, together 63.33; with 12.50 for the van 75.83.
    assert_eq!((order.goods, order.fee, order.total()), (Money(6_333), Money(1_250), Money(7_583)));
    let text = order_text(&order);
    let pdf = pages(&order_pdf(&order).unwrap());
    let xml = String::from_utf8(order_ubl(&order).unwrap()).unwrap();
    let table = String::from_utf8(order_table(&order).unwrap()).unwrap();
    assert_eq!(pdf.len(), 1);
    for said in ["31.11", "32.22", "63.33", "12.50", "75.83", "Harbour gin", "Añejo Crème №5", "A-2", "case of 6"] {
        assert!(text.contains(said), "{said} is not in the text\n{text}");
        assert!(pdf[0].contains(said), "{said} is not on the page\n{}", pdf[0]);
        if !["12.50", "75.83", "63.33", "case of 6"].contains(&said) {
            assert!(table.contains(said), "{said} is not in the table\n{table}");
        }
        assert!(xml.contains(said), "{said} is not in the electronic order\n{xml}");
    }
    for said in ["K-77", "By the yard, before noon", "Bitte Leergut mitnehmen", "bar@example.com", "Kai 3"] {
        assert!(text.contains(said) && pdf[0].contains(said) && xml.contains(said), "{said}");
    }
    assert!(pdf[0].contains("page 1 of 1") && pdf[0].contains("without tax"), "{}", pdf[0]);
    assert_eq!(table.lines().nth(2), Some("A-2,Añejo Crème №5,700 ml,3,6,18,10.74,32.22"));
    assert!(table.ends_with("\r\n") && table.matches("\r\n").count() == 3);
}

#[test]
fn the_same_order_makes_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let made = |sub: &str| {
        let files = write_order(&folder.path().join(sub), &order(&bar_of(30, "DE"), 2), Form::ALL).unwrap();
        let ends: Vec<_> = files.iter().map(|f| f.extension().unwrap().to_str().unwrap().to_owned()).collect();
        assert_eq!(ends, ["pdf", "eml", "txt", "csv", "xml"]);
        files.iter().map(|file| std::fs::read(file).unwrap()).collect::<Vec<_>>()
    };
    let first = made("first");
    assert_eq!(first, made("second"));
    let sheet = || count_sheet_pdf(&CountSheet::new(&bar_of(30, "DE"), &[], day())).unwrap();
    assert_eq!(sheet(), sheet());
    // Another day is another file.
    let mut later = order(&bar_of(30, "DE"), 2);
    later.date = later.date.succ_opt().unwrap();
    assert_ne!(order_pdf(&later).unwrap(), first[0]);
}

#[test]
fn forty_lines_are_one_page_on_either_paper_and_more_break_well() {
    for country in ["DE", "US"] {
        let forty = order_pdf(&order(&bar_of(40, country), 1)).unwrap();
        assert_eq!(pages(&forty).len(), 1, "{country}");
    }
    let setup = bar_of(120, "DE");
    let order = order(&setup, 2);
    let pages = pages(&order_pdf(&order).unwrap());
    assert!((3..=5).contains(&pages.len()), "{}", pages.len());
    let of = pages.len();
    for (page, n) in pages.iter().zip(1..) {
        assert!(page.contains(&format!("page {n} of {of}")), "{page}");
        // The heads stand on each page again.
        assert!(page.contains("Pack price") && page.contains("Your no."), "{page}");
    }
    let all = pages.concat();
    for n in 1..=120 {
        assert_eq!(all.matches(&format!("No. {n} Rum")).count(), 1, "line {n}");
        assert_eq!(all.matches(&format!("A-{n}\n")).count(), 1, "number {n} in {all}");
    }
    // The sums and the line to sign on are on the last page, and only there.
    assert!(pages[of - 1].contains("Name and signature") && pages[of - 1].contains(&order.money(order.total())));
    assert!(!pages[0].contains("Name and signature"));
}

#[test]
fn paper_is_cut_to_the_country() {
    let size = |country| {
        let pdf = order_pdf(&order(&bar_of(2, country), 1)).unwrap();
        let document = Document::load_mem(&pdf).unwrap();
        let page = *document.get_pages().values().next().unwrap();
        let media = document.get_dictionary(page).unwrap().get(b"MediaBox").unwrap().as_array().unwrap().clone();
        (media[2].as_float().unwrap().round() as i32, media[3].as_float().unwrap().round() as i32)
    };
    // ISO 216 A4 is 210 × 297 mm, US Letter 8.5 × 11 inches; an inch has 72 points.
    assert_eq!((size("DE"), size("US")), ((595, 842), (612, 792)));
}

#[test]
fn the_file_says_what_it_is() {
    let pdf = order_pdf(&order(&bar("DE", &["Gin"], "Hafenlager"), 1)).unwrap();
    let document = Document::load_mem(&pdf).unwrap();
    let info = document.trailer.get(b"Info").and_then(|id| document.get_dictionary(id.as_reference()?)).unwrap();
    let said = |key: &[u8]| lopdf::decode_text_string(info.get(key).unwrap()).unwrap();
    assert_eq!(said(b"Title"), "Order 2026-11-20 Van");
    assert_eq!(said(b"Author"), "Kajüte & Söhne <Bar>");
    assert!(said(b"CreationDate").starts_with("D:20261120"), "{}", said(b"CreationDate"));
    let lang = document.catalog().unwrap().get(b"Lang").unwrap();
    assert_eq!(lopdf::decode_text_string(lang).unwrap(), "en");
    // Both fonts are in the file, cut down to what is used: the whole fonts have more than a million bytes.
    assert!(pdf.len() < 60_000, "{}", pdf.len());
}

/// Names as a hostile file might have them, if they ever got past the gate.
const HOSTILE: &str = "Gin\r\nBcc: all@example.com\r\n\r\n\u{1b}[2J\u{202e}\u{9b}\0 <b>&amp;\u{FFFE}";

#[test]
fn nothing_breaks_out_of_a_name() {
    let setup = bar("DE", &[HOSTILE, "=1+1"], HOSTILE);
    let order = order(&setup, 1).with_note(HOSTILE);
    let pdf = order_pdf(&order).unwrap();
    let mail = String::from_utf8(order_mail(&order, "x.pdf", &pdf).unwrap()).unwrap();
    let (head, _) = mail.split_once("\r\n\r\n").unwrap();
    let fields: BTreeSet<&str> =
        head.split("\r\n").filter(|l| !l.starts_with([' ', '\t'])).map(|l| l.split(':').next().unwrap()).collect();
    let known = ["Content-Type", "Date", "From", "MIME-Version", "Message-ID", "Subject", "To", "X-Unsent"];
    assert_eq!(fields, BTreeSet::from(known), "{head}");
    let xml = String::from_utf8(order_ubl(&order).unwrap()).unwrap();
    let parsed = roxmltree::Document::parse(&xml).unwrap();
    let name = parsed
        .descendants()
        .find(|n| n.has_tag_name((BASIC, "RegistrationName")) && n.text() != Some(&order.buyer.name));
    assert_eq!(name.unwrap().text(), Some("Gin Bcc: all@example.com [2J <b>&amp;\u{FFFD}"));
    let table = String::from_utf8(order_table(&order).unwrap()).unwrap();
    assert!(table.contains(",'=1+1,"), "{table}");
    let text = order_text(&order);
    for (what, text) in [("text", &text), ("table", &table), ("order", &xml), ("mail", &mail)] {
        let acts = |c: char| (c.is_control() && !matches!(c, '\n' | '\r')) || c == '\u{202e}';
        assert!(!text.chars().any(acts), "{what}: {text:?}");
    }
    assert_eq!(text.lines().filter(|l| l.starts_with("Bcc")).count(), 0);
    for page in pages(&pdf) {
        assert!(page.contains("Gin Bcc: all@example.com [2J <b>&amp;\u{FFFD}"), "{page}");
    }
}

#[test]
fn what_the_font_lacks_shows_as_something() {
    let pdf = order_pdf(&order(&bar("DE", &["梅 \u{1F378} Ωmega Žluť"], "Hafenlager"), 1)).unwrap();
    let page = &pages(&pdf)[0];
    assert!(page.contains("\u{FFFD} \u{FFFD} Ωmega Žluť"), "{page}");
}

#[test]
fn a_cell_that_a_spreadsheet_would_run_is_text() {
    // Characters named by OWASP, “CSV Injection”.
    for first in ["=", "+", "-", "@", "＝", "＋", "－", "＠"] {
        let name = format!("{first}cmd");
        let table = order_table(&order(&bar("DE", &[&name], "Hafenlager"), 1)).unwrap();
        let mut reader = csv::Reader::from_reader(&table[..]);
        let row = reader.records().next().unwrap().unwrap();
        assert_eq!((&row[1], &row[6]), (format!("'{name}").as_str(), "10.37"));
    }
}

const BASIC: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2";
const AGGREGATE: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2";

/// Elements of a UBL 2.1 Order that may occur here, in the order of the schema UBL-Order-2.1.xsd (OASIS), as far as the
/// order uses them; `tests/round_trip/` validates against the schema itself.
const IN_ORDER: [&str; 14] = [
    "CustomizationID",
    "ProfileID",
    "ID",
    "IssueDate",
    "OrderTypeCode",
    "Note",
    "DocumentCurrencyCode",
    "ValidityPeriod",
    "BuyerCustomerParty",
    "SellerSupplierParty",
    "Delivery",
    "AllowanceCharge",
    "AnticipatedMonetaryTotal",
    "OrderLine",
];

#[test]
fn an_electronic_order_is_in_order_and_adds_up() {
    let order = order(&bar_of(5, "DE"), 7);
    let xml = String::from_utf8(order_ubl(&order).unwrap()).unwrap();
    let parsed = roxmltree::Document::parse(&xml).unwrap();
    let root = parsed.root_element();
    let found: Vec<usize> = root
        .children()
        .filter(|n| n.is_element())
        .map(|n| IN_ORDER.iter().position(|name| *name == n.tag_name().name()).unwrap())
        .collect();
    assert!(found.is_sorted(), "{found:?}");
    assert_eq!(root.tag_name().namespace(), Some("urn:oasis:names:specification:ubl:schema:xsd:Order-2"));
    let cents = |node: roxmltree::Node, name: &str| -> i64 {
        let found = node.children().find(|n| n.has_tag_name((BASIC, name))).unwrap();
        assert_eq!(found.attribute("currencyID"), Some("EUR"));
        let (whole, part) = found.text().unwrap().split_once('.').unwrap();
        assert_eq!(part.len(), 2);
        whole.parse::<i64>().unwrap() * 100 + part.parse::<i64>().unwrap()
    };
    let items: Vec<_> = parsed.descendants().filter(|n| n.has_tag_name((AGGREGATE, "LineItem"))).collect();
    let child = |node: roxmltree::Node<'_, '_>, name: &str| {
        node.descendants().find(|n| n.tag_name().name() == name).and_then(|n| n.text().map(str::to_owned))
    };
    let mut sum = 0;
    let mut ids = BTreeSet::new();
    for item in &items {
        let quantity = item.children().find(|n| n.has_tag_name((BASIC, "Quantity"))).unwrap();
        let price = item.children().find(|n| n.has_tag_name((AGGREGATE, "Price"))).unwrap();
        let packs: i64 = quantity.text().unwrap().parse().unwrap();
        // Peppol BIS Ordering 3, PEPPOL-T01-R024: a line is its quantity at its price.
        assert_eq!(cents(*item, "LineExtensionAmount"), packs * cents(price, "PriceAmount"));
        sum += cents(*item, "LineExtensionAmount");
        ids.insert(child(*item, "ID").unwrap());
        // A pack of several is a case; which has no bar code number of its own on file.
        let case = quantity.attribute("unitCode") == Some("XCS");
        assert_eq!(case, child(*item, "Name").unwrap().ends_with(", case of 6"));
        assert_eq!(case, child(*item, "StandardItemIdentification").is_none() && xml.contains("XCS"));
    }
    assert_eq!((items.len(), ids.len()), (5, 5));
    let total = root.children().find(|n| n.has_tag_name((AGGREGATE, "AnticipatedMonetaryTotal"))).unwrap();
    // R008: the sum of the lines; what is to pay is that and the charge.
    assert_eq!(cents(total, "LineExtensionAmount"), sum);
    assert_eq!(cents(total, "PayableAmount"), sum + 1_250);
    assert_eq!(cents(total, "ChargeTotalAmount"), 1_250);
}

#[test]
fn a_bar_code_of_the_house_means_nothing_to_others() {
    let mut setup = bar("DE", &["Gin"], "Hafenlager");
    let xml = |setup: &Setup| String::from_utf8(order_ubl(&order(setup, 1)).unwrap()).unwrap();
    assert!(xml(&setup).contains("<cbc:ID schemeID=\"0160\">9520000900014</cbc:ID>"));
    setup.items[0].gtins = vec![Gtin::parse("2000000000008").unwrap()];
    assert!(!xml(&setup).contains("0160"));
    // Of two numbers nobody knows which is in the supplier's list.
    setup.items[0].gtins = ["9520000900014", "9520000900021"].map(|gtin| Gtin::parse(gtin).unwrap()).to_vec();
    assert!(!xml(&setup).contains("0160"));
}

#[test]
fn an_unknown_address_is_never_made_up() {
    let mut order = order(&bar("DE", &["Gin"], "Hafenlager"), 1);
    order.seller.party = Party { gln: order.seller.party.gln.clone(), ..Party::default() };
    order.buyer.party = Party::default();
    order.contact = Contact::default();
    order.customer_no = None;
    order.deliver_to = None;
    let xml = String::from_utf8(order_ubl(&order).unwrap()).unwrap();
    for absent in ["EndpointID", "PostalAddress", "PartyTaxScheme", "cac:Contact", "cbc:Note"] {
        assert!(!xml.contains(absent), "{absent} in {xml}");
    }
    assert!(xml.contains("<cbc:ID schemeID=\"0088\">9520000900014</cbc:ID>"), "{xml}");
    // Without a sender the mail program puts in its own.
    let mail = String::from_utf8(order_mail(&order, "x.pdf", b"%PDF-").unwrap()).unwrap();
    let (head, _) = mail.split_once("\r\n\r\n").unwrap();
    assert!(!head.contains("From:") && head.contains("X-Unsent: 1\r\n"), "{head}");
    assert!(pages(&order_pdf(&order).unwrap())[0].contains("Gin"));
}

/// What base64 stands for (RFC 4648), line breaks passed over.
fn decoded(text: &str) -> Vec<u8> {
    const LETTERS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let values = text.bytes().filter_map(|b| LETTERS.iter().position(|l| *l == b));
    let bits: Vec<bool> = values.flat_map(|v| (0..6).rev().map(move |n| v >> n & 1 == 1)).collect();
    bits.chunks_exact(8).map(|byte| byte.iter().fold(0, |sum, bit| sum << 1 | u8::from(*bit))).collect()
}

#[test]
fn the_page_is_attached_to_the_mail() {
    let order = order(&bar("DE", &["Gin"], "Hafenlager"), 1);
    let pdf = order_pdf(&order).unwrap();
    let mail = String::from_utf8(order_mail(&order, "2026-11-20 Van.pdf", &pdf).unwrap()).unwrap();
    let attached = mail.split("Content-Type: application/pdf").nth(1).unwrap();
    let (head, body) = attached.split_once("\r\n\r\n").unwrap();
    assert!(head.contains("filename=\"2026-11-20 Van.pdf\"") && head.contains("base64"), "{head}");
    assert_eq!(decoded(body.split("\r\n--").next().unwrap()), pdf);
    assert!(mail.contains("To: \"Hafenlager\" <van@example.com>\r\n"), "{}", &mail[..600]);
}

#[test]
fn a_count_sheet_is_blind_and_numbered() {
    let setup = bar_of(50, "DE");
    let sheet = CountSheet::new(&setup, &[], day());
    assert_eq!(sheet.lines().map(|l| l.number).collect::<Vec<_>>(), (1..=50).collect::<Vec<_>>());
    assert_eq!(sheet, CountSheet::new(&setup, &[PlaceId(1)], day()));
    let pages = pages(&count_sheet_pdf(&sheet).unwrap());
    let all = pages.concat();
    for n in 1..=50 {
        assert_eq!(all.matches(&format!("No. {n} Rum\n")).count(), 1, "{n}");
    }
    assert!(
        all.contains(&format!("page 2 of {}", pages.len())) && all.contains("Initials") && all.contains("continued")
    );
}

#[test]
fn a_name_of_any_length_stays_in_its_line() {
    let long = "Quilleby ".repeat(50);
    let mut setup = bar("DE", &[&long, "Gin", "Rum", "Ale"], &long);
    let by = [CountBy::Weight, CountBy::Height, CountBy::Whole];
    let items = setup.items.iter_mut().filter(|item| item.id != ItemId(1));
    for (item, by) in items.zip(by) {
        item.count_by = by;
    }
    let sheet = pages(&count_sheet_pdf(&CountSheet::new(&setup, &[], day())).unwrap());
    assert_eq!(sheet.len(), 1);
    assert!(sheet[0].contains('…') && sheet[0].contains("g\n") && sheet[0].contains("mm\n"), "{}", sheet[0]);
    // On an order nothing is cut.
    let page = pages(&order_pdf(&order(&setup, 1)).unwrap()).concat();
    assert!(page.matches("Quilleby").count() >= 100, "{}", page.matches("Quilleby").count());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever a name holds, each form can be read again and says the name as a document has it.
    #[test]
    fn any_name_can_be_read_again(name in any::<String>(), supplier in any::<String>()) {
        let setup = bar("DE", &[&name], &supplier);
        let order = order(&setup, 1);
        let shown = one_line(&name);
        let xml = String::from_utf8(order_ubl(&order).unwrap()).unwrap();
        let parsed = roxmltree::Document::parse(&xml).unwrap();
        let item = parsed.descendants().find(|n| n.has_tag_name((BASIC, "Name")) && n.parent_element().unwrap().has_tag_name((AGGREGATE, "Item")));
        let written = shown.replace(['\u{FFFE}', '\u{FFFF}'], "\u{FFFD}");
        prop_assert_eq!(item.unwrap().text().unwrap(), format!("{written}, 700 ml"));
        let table = order_table(&order).unwrap();
        let row = csv::Reader::from_reader(&table[..]).records().next().unwrap().unwrap();
        prop_assert_eq!(row[1].trim_start_matches('\''), shown.trim_start_matches('\''));
        let mail = String::from_utf8(order_mail(&order, "x.pdf", b"%PDF-").unwrap()).unwrap();
        let (head, _) = mail.split_once("\r\n\r\n").unwrap();
        let fields = head.split("\r\n").filter(|l| !l.starts_with([' ', '\t'])).count();
        prop_assert_eq!(fields, 8, "{}", head);
        prop_assert_eq!(pages(&order_pdf(&order).unwrap()).len(), 1);
    }
}
