//! How quick files from elsewhere are read, and in how much memory: each reader beside a plain pass over the same file,
//! each in a process of its own, one after the other.
//!
//! `cargo bench --bench readers [-- MEGABYTES]` prints a table; see benches/README.md.

#[path = "speed/memory.rs"]
mod memory;
#[allow(dead_code)]
#[path = "../examples/make_till_export/write.rs"]
mod write;

use std::io::BufReader;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;
use tantalus::domain::venue::{DayRule, Moment};
use tantalus::exchange::ReadError;
use tantalus::exchange::sniff::sniff;
use tantalus::exchange::till::{self, Rung, Taker, Terms};

/// A way to read a file; gives how many lines, rows or elements it met.
type Reading = fn(&Path) -> u64;

/// A kind of file: how one is made, how we read it, and a plain pass over it.
struct Row {
    name: &'static str,
    make: fn(&Path, u64) -> std::io::Result<u64>,
    ours: Reading,
    plain: Reading,
}

/// Every reader; a further one is a further row.
const ROWS: &[Row] = &[
    Row { name: "dsfinvk", make: write::dsfinvk, ours: |path| till(path, "EUR"), plain: every_table },
    Row { name: "saft-no", make: write::saft_no, ours: |path| till(path, "NOK"), plain: every_element },
    Row { name: "saft-pt", make: write::saft_pt, ours: |path| till(path, "EUR"), plain: every_element },
    Row { name: "ubl", make: ubl, ours: bill, plain: every_element },
    Row { name: "cii", make: cii, ours: bill, plain: every_element },
];

/// No supplier's bill is larger than this, and none is read that is: some two thousand pages.
const BILL: u64 = 4 << 20;

/// Lines of a bill.
fn bill(path: &Path) -> u64 {
    tantalus::exchange::invoice::read(path).unwrap_or_else(|refused| panic!("{refused}")).lines.len() as u64
}

/// Writes a bill: its head, as many lines as fit, and its end with the sum of them.
fn bill_of(
    path: &Path,
    bytes: u64,
    head: &str,
    line: impl Fn(u64) -> String,
    end: impl Fn(u64) -> String,
) -> std::io::Result<u64> {
    let (mut text, mut lines) = (String::from(head), 0);
    while (text.len() as u64) < bytes.min(BILL) {
        lines += 1;
        text.push_str(&line(lines));
    }
    text.push_str(&end(lines));
    std::fs::write(path, text)?;
    Ok(lines)
}

/// Lines of six at 17.05, which make 102.30.
fn ubl(path: &Path, bytes: u64) -> std::io::Result<u64> {
    const HEAD: &str = r#"<?xml version="1.0" encoding="UTF-8"?><Invoice
        xmlns="urn:oasis:names:specification:ubl:schema:xsd:Invoice-2"
        xmlns:cac="urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"
        xmlns:cbc="urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2">
        <cbc:CustomizationID>urn:cen.eu:en16931:2017</cbc:CustomizationID><cbc:ID>B 1</cbc:ID>
        <cbc:IssueDate>2026-11-20</cbc:IssueDate><cbc:InvoiceTypeCode>380</cbc:InvoiceTypeCode>
        <cbc:DocumentCurrencyCode>EUR</cbc:DocumentCurrencyCode><cac:AccountingSupplierParty><cac:Party>
        <cac:PartyLegalEntity><cbc:RegistrationName>Pier Stores</cbc:RegistrationName></cac:PartyLegalEntity>
        </cac:Party></cac:AccountingSupplierParty>"#;
    let line = |n: u64| {
        format!(
            r#"<cac:InvoiceLine><cbc:ID>{n}</cbc:ID><cbc:InvoicedQuantity unitCode="C62">6</cbc:InvoicedQuantity>
            <cbc:LineExtensionAmount currencyID="EUR">102.30</cbc:LineExtensionAmount><cac:Item>
            <cbc:Name>Harbour rum 0.7 l &amp; box</cbc:Name><cac:SellersItemIdentification><cbc:ID>HR{n}</cbc:ID>
            </cac:SellersItemIdentification></cac:Item><cac:Price>
            <cbc:PriceAmount currencyID="EUR">17.05</cbc:PriceAmount></cac:Price></cac:InvoiceLine>"#
        )
    };
    let end = |_: u64| "</Invoice>".to_owned();
    bill_of(path, bytes, HEAD, line, end)
}

fn cii(path: &Path, bytes: u64) -> std::io::Result<u64> {
    const HEAD: &str = r#"<?xml version="1.0" encoding="UTF-8"?><rsm:CrossIndustryInvoice
        xmlns:rsm="urn:un:unece:uncefact:data:standard:CrossIndustryInvoice:100"
        xmlns:ram="urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100"
        xmlns:udt="urn:un:unece:uncefact:data:standard:UnqualifiedDataType:100">
        <rsm:ExchangedDocumentContext><ram:GuidelineSpecifiedDocumentContextParameter>
        <ram:ID>urn:cen.eu:en16931:2017</ram:ID></ram:GuidelineSpecifiedDocumentContextParameter>
        </rsm:ExchangedDocumentContext><rsm:ExchangedDocument><ram:ID>B 1</ram:ID><ram:TypeCode>380</ram:TypeCode>
        <ram:IssueDateTime><udt:DateTimeString format="102">20261120</udt:DateTimeString></ram:IssueDateTime>
        </rsm:ExchangedDocument><rsm:SupplyChainTradeTransaction>"#;
    let line = |n: u64| {
        format!(
            r#"<ram:IncludedSupplyChainTradeLineItem><ram:AssociatedDocumentLineDocument><ram:LineID>{n}</ram:LineID>
            </ram:AssociatedDocumentLineDocument><ram:SpecifiedTradeProduct>
            <ram:SellerAssignedID>HR{n}</ram:SellerAssignedID><ram:Name>Harbour rum 0.7 l &amp; box</ram:Name>
            </ram:SpecifiedTradeProduct><ram:SpecifiedLineTradeAgreement><ram:NetPriceProductTradePrice>
            <ram:ChargeAmount>17.05</ram:ChargeAmount></ram:NetPriceProductTradePrice>
            </ram:SpecifiedLineTradeAgreement><ram:SpecifiedLineTradeDelivery>
            <ram:BilledQuantity unitCode="C62">6</ram:BilledQuantity></ram:SpecifiedLineTradeDelivery>
            <ram:SpecifiedLineTradeSettlement><ram:SpecifiedTradeSettlementLineMonetarySummation>
            <ram:LineTotalAmount>102.30</ram:LineTotalAmount></ram:SpecifiedTradeSettlementLineMonetarySummation>
            </ram:SpecifiedLineTradeSettlement></ram:IncludedSupplyChainTradeLineItem>"#
        )
    };
    let end = |lines: u64| {
        let sum = lines * 10_230;
        format!(
            r#"<ram:ApplicableHeaderTradeAgreement><ram:SellerTradeParty><ram:Name>Pier Stores</ram:Name>
            </ram:SellerTradeParty></ram:ApplicableHeaderTradeAgreement><ram:ApplicableHeaderTradeDelivery/>
            <ram:ApplicableHeaderTradeSettlement><ram:InvoiceCurrencyCode>EUR</ram:InvoiceCurrencyCode>
            <ram:SpecifiedTradeSettlementHeaderMonetarySummation>
            <ram:LineTotalAmount>{}.{:02}</ram:LineTotalAmount></ram:SpecifiedTradeSettlementHeaderMonetarySummation>
            </ram:ApplicableHeaderTradeSettlement></rsm:SupplyChainTradeTransaction></rsm:CrossIndustryInvoice>"#,
            sum / 100,
            sum % 100
        )
    };
    bill_of(path, bytes, HEAD, line, end)
}

struct Counter(u64);

impl Taker for Counter {
    type Error = ReadError;

    fn take(&mut self, line: Rung) -> Result<(), ReadError> {
        std::hint::black_box(&line);
        self.0 += 1;
        Ok(())
    }

    fn pace(&mut self, _: u64, _: u64) -> Result<(), ReadError> {
        Ok(())
    }
}

fn till(path: &Path, coin: &str) -> u64 {
    let starts = chrono::NaiveTime::from_hms_opt(5, 0, 0).expect("an hour");
    let days = DayRule { zone: "Europe/Berlin".parse().expect("a zone"), starts };
    let terms = Terms { currency: coin.parse().expect("a coin"), days, until: Moment(4_000_000_000_000) };
    let mut counter = Counter(0);
    let what = sniff(path).unwrap_or_else(|refused| panic!("{refused}"));
    till::read(path, &what, &terms, &mut counter).unwrap_or_else(|refused| panic!("{refused}"));
    counter.0
}

/// Rows of all tables of a folder, with the library alone.
fn every_table(folder: &Path) -> u64 {
    let mut rows = 0;
    for entry in std::fs::read_dir(folder).expect("the folder") {
        let path = entry.expect("a file").path();
        if path.extension().is_some_and(|ending| ending == "csv") {
            let mut reader = csv::ReaderBuilder::new().delimiter(b';').from_path(path).expect("a table");
            let mut record = csv::ByteRecord::new();
            while reader.read_byte_record(&mut record).expect("a row") {
                rows += 1;
            }
        }
    }
    rows
}

/// Elements of a file, with the library alone.
fn every_element(path: &Path) -> u64 {
    let file = BufReader::with_capacity(1 << 16, std::fs::File::open(path).expect("the file"));
    let mut reader = quick_xml::NsReader::from_reader(file);
    let (mut buffer, mut elements) = (Vec::new(), 0);
    loop {
        buffer.clear();
        match reader.read_resolved_event_into(&mut buffer).expect("sound XML") {
            (_, quick_xml::events::Event::Start(_)) => elements += 1,
            (_, quick_xml::events::Event::Eof) => return elements,
            _ => {}
        }
    }
}

fn size(path: &Path) -> u64 {
    match std::fs::read_dir(path) {
        Ok(entries) => entries.map(|entry| size(&entry.expect("a file").path())).sum(),
        Err(_) => std::fs::metadata(path).map_or(0, |about| about.len()),
    }
}

/// In a process of its own: reads, and prints how many, how long, how much memory.
fn one(way: &str, name: &str, path: &Path) {
    let row = ROWS.iter().find(|row| row.name == name).expect("a reader");
    let reading = if way == "ours" { row.ours } else { row.plain };
    let begun = Instant::now();
    let met = reading(path);
    println!("{met} {} {}", begun.elapsed().as_secs_f64(), memory::of_process(std::process::id()));
}

fn measured(way: &str, row: &Row, path: &Path) -> [f64; 3] {
    let this = std::env::current_exe().expect("this program");
    let run = Command::new(this).args(["--one", way, row.name]).arg(path).output().expect("a run");
    let said = String::from_utf8_lossy(&run.stdout);
    let figures: Vec<f64> = said.split_whitespace().filter_map(|figure| figure.parse().ok()).collect();
    figures.try_into().unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&run.stderr)))
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).filter(|arg| arg != "--bench").collect();
    if let [one_, way, name, path] = args.as_slice()
        && one_ == "--one"
    {
        return one(way, name, Path::new(path));
    }
    let megabytes: u64 = args.first().and_then(|size| size.parse().ok()).unwrap_or(50);
    let home = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/bench-files");
    std::fs::create_dir_all(&home).expect("a folder");
    println!(
        "{:<9} {:>7}  {:<6} {:>10} {:>8} {:>11} {:>8} {:>9}",
        "file", "MB", "by", "met", "s", "a second", "MB/s", "peak MB"
    );
    for row in ROWS {
        let path = home.join(format!("{}-{megabytes}", row.name));
        if !path.exists() {
            (row.make)(&path, megabytes << 20).expect("a file");
        }
        let size = size(&path) as f64 / f64::from(1 << 20);
        for way in ["plain", "ours", "plain", "ours"] {
            let [met, seconds, peak] = measured(way, row, &path);
            println!(
                "{:<9} {size:>7.1}  {way:<6} {met:>10} {seconds:>8.2} {:>11.0} {:>8.1} {peak:>9.1}",
                row.name,
                met / seconds,
                size / seconds
            );
        }
    }
}
