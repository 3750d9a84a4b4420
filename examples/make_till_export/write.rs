//! The writers: the same receipts in each form.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::Path;

const DRINKS: usize = 160;
/// Receipts of one closing.
const CLOSING: u64 = 220;

/// A file, and how many bytes went into it.
struct Counted {
    inner: BufWriter<File>,
    bytes: u64,
}

impl Counted {
    fn create(path: &Path) -> io::Result<Counted> {
        Ok(Counted { inner: BufWriter::with_capacity(1 << 18, File::create(path)?), bytes: 0 })
    }
}

impl Write for Counted {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.inner.write(bytes)?;
        self.bytes += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

/// A line: article, how many, gross in cents, net in cents.
struct Sold {
    article: usize,
    many: i64,
    gross: i64,
    net: i64,
}

struct Till {
    rng: ChaCha8Rng,
    at: NaiveDateTime,
    receipt: u64,
}

impl Till {
    fn new() -> Till {
        let day = NaiveDate::from_ymd_opt(2016, 1, 1).unwrap_or_default();
        Till { rng: ChaCha8Rng::seed_from_u64(20_261_128), at: day.and_time(Default::default()), receipt: 0 }
    }

    fn next(&mut self) -> Vec<Sold> {
        self.receipt += 1;
        // Never past the autumn of 2026, however long the file.
        self.at += TimeDelta::seconds(self.rng.random_range(20..60));
        let lines = self.rng.random_range(1..=5);
        (0..lines)
            .map(|_| {
                let article = self.rng.random_range(0..DRINKS);
                let many = self.rng.random_range(1..=3);
                let gross = many * (450 + 25 * (article as i64 % 40));
                Sold { article, many, gross, net: (gross * 100 + 60) / 119 }
            })
            .collect()
    }

    fn time(&self) -> String {
        self.at.format("%Y-%m-%dT%H:%M:%S").to_string()
    }
}

fn drink(n: usize) -> String {
    const FIRST: &[&str] = &["Lantern", "Quay", "Moss", "Copper", "Harbour", "Thistle", "Amber", "Night"];
    const LAST: &[&str] =
        &["Sour", "Fizz", "Highball", "& Tonic", "Spritz", "Smash", "Mule", "Punch", "Flip", "Cobbler"];
    format!("{} {} {}", FIRST[n % FIRST.len()], LAST[n / FIRST.len() % LAST.len()], n / 80 + 1)
}

fn cents(amount: i64) -> String {
    format!("{}{}.{:02}", if amount < 0 { "-" } else { "" }, amount.abs() / 100, amount.abs() % 100)
}

fn comma(amount: i64) -> String {
    format!("{}000", cents(amount)).replace('.', ",")
}

const TABLES: &[(&str, &str, &str)] = &[
    (
        "lines.csv",
        "Bonpos",
        "POS_ZEILE;GUTSCHEIN_NR;ARTIKELTEXT;POS_TERMINAL_ID;GV_TYP;GV_NAME;INHAUS;P_STORNO;AGENTUR_ID;ART_NR;GTIN;WARENGR_ID;WARENGR;MENGE;FAKTOR;EINHEIT;STK_BR",
    ),
    ("lines_vat.csv", "Bonpos_USt", "POS_ZEILE;UST_SCHLUESSEL;POS_BRUTTO;POS_NETTO;POS_UST"),
    (
        "transactions.csv",
        "Bonkopf",
        "BON_NR;BON_TYP;BON_NAME;TERMINAL_ID;BON_STORNO;BON_START;BON_ENDE;BEDIENER_ID;BEDIENER_NAME;UMS_BRUTTO;KUNDE_NAME;KUNDE_ID;KUNDE_TYP;KUNDE_STRASSE;KUNDE_PLZ;KUNDE_ORT;KUNDE_LAND;KUNDE_USTID;BON_NOTIZ",
    ),
    ("references.csv", "Bon_Referenzen", "POS_ZEILE;REF_TYP;REF_NAME;REF_DATUM;REF_Z_KASSE_ID;REF_Z_NR;REF_BON_ID"),
    ("cashpointclosing.csv", "Stamm_Abschluss", "Z_BUCHUNGSTAG;TAXONOMIE_VERSION;Z_START_ID;Z_ENDE_ID;NAME"),
    ("vat.csv", "Stamm_USt", "UST_SCHLUESSEL;UST_SATZ;UST_BESCHR"),
];

fn index(folder: &Path) -> io::Result<()> {
    let mut out = Counted::create(&folder.join("index.xml"))?;
    writeln!(out, "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<!DOCTYPE DataSet SYSTEM \"gdpdu-01-08-2002.dtd\">")?;
    writeln!(out, "<DataSet><Version>1.0</Version><Media><Name>1</Name>")?;
    for (file, name, columns) in TABLES {
        writeln!(out, "<Table><URL>{file}</URL><Name>{name}</Name><UTF8/><DecimalSymbol>,</DecimalSymbol>")?;
        writeln!(out, "<DigitGroupingSymbol>.</DigitGroupingSymbol><Range><From>2</From></Range><VariableLength>")?;
        writeln!(out, "<ColumnDelimiter>;</ColumnDelimiter><RecordDelimiter>&#13;&#10;</RecordDelimiter>")?;
        for column in head(file, columns).split(';') {
            writeln!(out, "<VariableColumn><Name>{column}</Name><AlphaNumeric/></VariableColumn>")?;
        }
        writeln!(out, "</VariableLength></Table>")?;
    }
    writeln!(out, "</Media></DataSet>")?;
    out.flush()
}

fn head(file: &str, columns: &str) -> String {
    let receipt = if matches!(file, "cashpointclosing.csv" | "vat.csv") { "" } else { "BON_ID;" };
    format!("Z_KASSE_ID;Z_ERSTELLUNG;Z_NR;{receipt}{columns}")
}

/// Writes an export of a German till; gives how many lines it has.
pub(crate) fn dsfinvk(folder: &Path, bytes: u64) -> io::Result<u64> {
    fs::create_dir_all(folder)?;
    index(folder)?;
    let mut files = Vec::new();
    for (file, _, columns) in TABLES {
        let mut out = Counted::create(&folder.join(file))?;
        write!(out, "{}\r\n", head(file, columns))?;
        files.push(out);
    }
    let [lines, amounts, receipts, references, closings, rates] = files.as_mut_slice() else { return Ok(0) };
    let mut till = Till::new();
    let (mut written, mut count) = (0, 0);
    let mut closing = String::new();
    while written < bytes {
        if till.receipt.is_multiple_of(CLOSING) {
            let number = till.receipt / CLOSING + 1;
            let closed = till.at + TimeDelta::hours(6);
            closing = format!("BAR-1;{};{number}", closed.format("%Y-%m-%dT%H:%M:%S"));
            write!(closings, "{closing};{};2.4;;;Hafenlicht Bar GmbH\r\n", till.at.format("%Y-%m-%d"))?;
            write!(rates, "{closing};1;19,00;Allgemeiner Steuersatz\r\n")?;
        }
        let sold = till.next();
        let (of, at) = (format!("{closing};{}", till.receipt), till.time());
        let voids = till.receipt.is_multiple_of(90);
        let sign = if voids { -1 } else { 1 };
        let total: i64 = sold.iter().map(|line| line.gross).sum();
        let mark = i64::from(voids);
        write!(
            receipts,
            "{of};{};Beleg;;T1;{mark};{at};{at};07;Schicht 07;{};;;;;;;;;\r\n",
            till.receipt,
            comma(sign * total)
        )?;
        if voids {
            write!(references, "{of};;Transaktion;;{at};BAR-1;1;{}\r\n", till.receipt - 1)?;
        }
        for (n, line) in sold.iter().enumerate() {
            let n = n + 1;
            let (name, code, many) = (drink(line.article), 1_000 + line.article, sign * line.many);
            let each = comma(line.gross / line.many);
            write!(lines, "{of};{n};;{name};T1;Umsatz;;1;0;0;{code};;20;Longdrinks;{many},000;1,000;;{each}\r\n")?;
            let (gross, net) = (sign * line.gross, sign * line.net);
            write!(amounts, "{of};{n};1;{};{};{}\r\n", comma(gross), comma(net), comma(gross - net))?;
            count += 1;
        }
        written = lines.bytes + amounts.bytes + receipts.bytes;
    }
    for mut file in files {
        file.flush()?;
    }
    Ok(count)
}

/// Writes a Norwegian file; gives how many lines it has.
pub(crate) fn saft_no(path: &Path, bytes: u64) -> io::Result<u64> {
    let mut out = Counted::create(path)?;
    writeln!(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>")?;
    writeln!(out, "<auditfile xmlns=\"urn:StandardAuditFile-Taxation-CashRegister:NO\">")?;
    writeln!(out, "<header><curCode>NOK</curCode></header><company><companyIdent>000000000</companyIdent>")?;
    writeln!(out, "<companyName>Havnelys Bar AS</companyName><articles>")?;
    for n in 0..DRINKS {
        let name = drink(n).replace('&', "&amp;");
        writeln!(
            out,
            "<article><artID>{}</artID><artGroupID>D</artGroupID><artDesc>{name}</artDesc></article>",
            1_000 + n
        )?;
    }
    writeln!(out, "</articles><basics><basic><basicType>11</basicType><basicID>K</basicID>")?;
    writeln!(out, "<predefinedBasicID>11001</predefinedBasicID><basicDesc>Kontantsalg</basicDesc></basic></basics>")?;
    writeln!(out, "<location><name>Bar</name><cashregister><registerID>K1</registerID>")?;
    let mut till = Till::new();
    let mut count = 0;
    while out.bytes < bytes {
        let sold = till.next();
        let (number, date, time) = (till.receipt, till.at.format("%Y-%m-%d"), till.at.format("%H:%M:%S"));
        let (gross, net) = sold.iter().fold((0, 0), |(gross, net), line| (gross + line.gross, net + line.net));
        writeln!(out, "<cashtransaction>\n<nr>{number}</nr>\n<transID>{number}</transID>\n<transType>K</transType>")?;
        writeln!(out, "<transAmntIn>{}</transAmntIn>\n<transAmntEx>{}</transAmntEx>", cents(gross), cents(net))?;
        writeln!(out, "<amntTp>C</amntTp>\n<transDate>{date}</transDate>\n<transTime>{time}</transTime>")?;
        for (n, line) in sold.iter().enumerate() {
            writeln!(out, "<ctLine>\n<nr>{number}</nr>\n<lineID>{}</lineID>\n<lineType>S</lineType>", n + 1)?;
            writeln!(
                out,
                "<artGroupID>D</artGroupID>\n<artID>{}</artID>\n<qnt>{}</qnt>",
                1_000 + line.article,
                line.many
            )?;
            writeln!(
                out,
                "<lineAmntIn>{}</lineAmntIn>\n<lineAmntEx>{}</lineAmntEx>",
                cents(line.gross),
                cents(line.net)
            )?;
            writeln!(out, "<amntTp>C</amntTp>\n<lineDate>{date}</lineDate>\n<lineTime>{time}</lineTime>")?;
            writeln!(out, "<vat>\n<vatCode>3</vatCode>\n<vatPerc>19.00</vatPerc>")?;
            writeln!(
                out,
                "<vatAmnt>{}</vatAmnt>\n<vatAmntTp>C</vatAmntTp>\n</vat>\n</ctLine>",
                cents(line.gross - line.net)
            )?;
            count += 1;
        }
        writeln!(
            out,
            "<payment>\n<paymentType>12002</paymentType>\n<paidAmnt>{}</paidAmnt>\n</payment>",
            cents(gross)
        )?;
        writeln!(out, "<signature>NA</signature>\n<keyVersion>NA</keyVersion>\n<receiptNum>1</receiptNum>")?;
        writeln!(out, "<voidTransaction>false</voidTransaction>\n<trainingID>0</trainingID>\n</cashtransaction>")?;
    }
    writeln!(out, "</cashregister></location></company></auditfile>")?;
    out.flush()?;
    Ok(count)
}

/// Writes a Portuguese file; gives how many lines it has.
pub(crate) fn saft_pt(path: &Path, bytes: u64) -> io::Result<u64> {
    let mut out = Counted::create(path)?;
    writeln!(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>")?;
    writeln!(out, "<AuditFile xmlns=\"urn:OECD:StandardAuditFile-Tax:PT_1.04_01\"><Header>")?;
    writeln!(out, "<CompanyName>Luz do Cais Lda</CompanyName><CurrencyCode>EUR</CurrencyCode></Header>")?;
    writeln!(out, "<SourceDocuments><SalesInvoices>")?;
    let mut till = Till::new();
    let mut count = 0;
    while out.bytes < bytes {
        let sold = till.next();
        let (number, at, date) = (till.receipt, till.time(), till.at.format("%Y-%m-%d"));
        writeln!(out, "<Invoice>\n<InvoiceNo>FS A/{number}</InvoiceNo>\n<DocumentStatus>")?;
        writeln!(out, "<InvoiceStatus>N</InvoiceStatus>\n</DocumentStatus>\n<InvoiceDate>{date}</InvoiceDate>")?;
        writeln!(out, "<InvoiceType>FS</InvoiceType>\n<SystemEntryDate>{at}</SystemEntryDate>")?;
        for (n, line) in sold.iter().enumerate() {
            let name = drink(line.article).replace('&', "&amp;");
            writeln!(
                out,
                "<Line>\n<LineNumber>{}</LineNumber>\n<ProductCode>{}</ProductCode>",
                n + 1,
                1_000 + line.article
            )?;
            writeln!(out, "<ProductDescription>{name}</ProductDescription>\n<Quantity>{}</Quantity>", line.many)?;
            writeln!(out, "<UnitOfMeasure>UN</UnitOfMeasure>\n<TaxPointDate>{date}</TaxPointDate>")?;
            writeln!(
                out,
                "<Description>{name}</Description>\n<CreditAmount>{}</CreditAmount>\n</Line>",
                cents(line.net)
            )?;
            count += 1;
        }
        writeln!(out, "</Invoice>")?;
    }
    writeln!(out, "</SalesInvoices></SourceDocuments></AuditFile>")?;
    out.flush()?;
    Ok(count)
}
