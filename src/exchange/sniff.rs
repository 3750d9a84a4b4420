//! What a file is, by what is in it, never by its name.

use super::ReadError;
use super::archive::{Bundle, BundleKind, Entry};
use super::encoding::marked;
use super::stream::{Passage, fill, quoted, said};
use super::till::dsfinvk::index::{self, Index};
use super::xml::Xml;
use std::io::Cursor;
use std::path::Path;

/// Bytes that are looked at.
const START: usize = 8 << 10;
/// Bytes that are looked at where the root does not say enough.
const FURTHER: usize = 256 << 10;

/// What a file is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// The export of a German till: a folder or a zip archive with `index.xml`.
    Dsfinvk,
    /// SAF-T Cash Register of Norway or Denmark.
    SaftCash,
    /// XML Auditfile Afrekensystemen, of the same family.
    Xaa,
    /// SAF-T of Portugal.
    SaftPt,
    /// A table as text, one row a line.
    Table,
    /// An invoice in UBL 2.
    UblInvoice,
    /// A credit note in UBL 2.
    UblCreditNote,
    /// An invoice in UN/CEFACT's Cross Industry Invoice.
    Cii,
    /// A PDF, which may have an invoice inside.
    Pdf,
    /// An order, not an invoice.
    Order,
    /// The file of a ledger, which has no sales of items.
    Ledger,
    /// An invoice in ZUGFeRD 1, which is not read.
    OldZugferd,
    /// Nothing that is read here; why, and what to do, in words.
    Nothing(String),
}

impl What {
    /// In words: `an invoice (UBL)`.
    pub fn words(&self) -> &str {
        match self {
            What::Dsfinvk => word!("the export of a till (DSFinV-K)"),
            What::SaftCash => word!("the export of a till (SAF-T Cash Register)"),
            What::Xaa => word!("the export of a till (XML Auditfile Afrekensystemen)"),
            What::SaftPt => word!("an audit file with sales (SAF-T PT)"),
            What::Table => word!("a table"),
            What::UblInvoice => word!("an invoice (UBL)"),
            What::UblCreditNote => word!("a credit note (UBL)"),
            What::Cii => word!("an invoice (CII)"),
            What::Pdf => word!("a PDF"),
            What::Order => word!("an order, not an invoice"),
            What::Ledger => word!("the file of a ledger, which holds bookings and no sales of items"),
            What::OldZugferd => {
                word!("an invoice in ZUGFeRD 1, which is too old to be read; ask for one in UBL or ZUGFeRD 2")
            }
            What::Nothing(why) => why,
        }
    }

    /// Whether it brings sales.
    pub fn brings_sales(&self) -> bool {
        matches!(self, What::Dsfinvk | What::SaftCash | What::Xaa | What::SaftPt | What::Table)
    }

    /// Whether it is, or may be, a supplier's invoice or credit note.
    pub fn is_invoice(&self) -> bool {
        matches!(self, What::UblInvoice | What::UblCreditNote | What::Cii | What::Pdf)
    }
}

/// Looks at a file or a folder.
///
/// # Errors
/// [`ReadError`] when it cannot be read, or is an archive that is damaged or not to be trusted.
pub fn sniff(path: &Path) -> Result<What, ReadError> {
    let bundle = Bundle::open(path)?;
    if bundle.kind() != BundleKind::File
        && let Some(entry) = index::find(&bundle)
    {
        return described(&bundle, entry);
    }
    match bundle.kind() {
        BundleKind::File => look(&bundle, &bundle.entries()[0]),
        BundleKind::Folder => {
            let why = word!("a folder without index.xml, so no export of a till; choose a file in it");
            Ok(What::Nothing(why.to_owned()))
        }
        BundleKind::Zip => in_archive(&bundle),
    }
}

/// An index that describes tables: those of a till, or others.
fn described(bundle: &Bundle, entry: &Entry) -> Result<What, ReadError> {
    if Index::read(bundle, entry, &Passage::default())?.of_a_till(bundle) {
        return Ok(What::Dsfinvk);
    }
    let why = word!(
        "an index of tables without those of a till's lines and receipts (lines.csv and transactions.csv) beside it; \
               choose the whole export"
    );
    Ok(What::Nothing(why.to_owned()))
}

fn in_archive(bundle: &Bundle) -> Result<What, ReadError> {
    let has = |name: &str| bundle.find(name).is_some();
    let nothing = |why: &str| Ok(What::Nothing(why.to_owned()));
    if has("[Content_Types].xml") && bundle.entries().iter().any(|entry| entry.name.starts_with("xl/")) {
        return nothing(word!("a spreadsheet; open it and save it as CSV"));
    }
    if has("[Content_Types].xml") || has("META-INF/manifest.xml") {
        return nothing(word!("a document of an office program; if it is a spreadsheet, open it and save it as CSV"));
    }
    let files: Vec<&Entry> = bundle.entries().iter().filter(|entry| entry.size > 0).collect();
    match files.as_slice() {
        [] => nothing(word!("an archive with nothing in it")),
        [one] => packed(look(bundle, one)?),
        _ => match bundle.only(".xml").or_else(|| bundle.only(".xaa")).or_else(|| bundle.only(".csv")) {
            Some(one) => packed(look(bundle, one)?),
            None => {
                nothing(word!("an archive of several files without an index.xml; unpack it and choose one of them"))
            }
        },
    }
}

/// What is read packed only where it comes so: exports of tills.
fn packed(what: What) -> Result<What, ReadError> {
    let why = match what {
        What::Table => word!("an archive with a table in it; unpack it and choose the table"),
        What::Pdf => word!("an archive with a PDF in it; unpack it and choose the PDF"),
        ref bill if bill.is_invoice() => word!("an archive with a bill in it; unpack it and choose the bill"),
        other => return Ok(other),
    };
    Ok(What::Nothing(why.to_owned()))
}

/// Looks at one file.
fn look(bundle: &Bundle, entry: &Entry) -> Result<What, ReadError> {
    let start = beginning(bundle, entry, START)?;
    let nothing = |why: &str| Ok(What::Nothing(why.to_owned()));
    if start.is_empty() {
        return nothing(word!("an empty file"));
    }
    if start[..start.len().min(1024)].windows(5).any(|part| part == b"%PDF-") {
        return Ok(What::Pdf);
    }
    for (mark, why) in [
        (
            &b"\xd0\xcf\x11\xe0"[..],
            word!("a file of an office program in its old form; if it is a spreadsheet, save it as CSV"),
        ),
        (b"\x1f\x8b", word!("a packed file (gzip); unpack it first")),
        (b"PK\x03\x04", word!("an archive in an archive; unpack it first")),
        (b"7z\xbc\xaf", word!("a packed file (7z); unpack it first")),
        (b"Rar!", word!("a packed file (RAR); unpack it first")),
        (b"\x89PNG", word!("a picture; a till or a supplier can send a file with the figures in it")),
        (b"\xff\xd8\xff", word!("a picture; a till or a supplier can send a file with the figures in it")),
        (b"SQLite format 3", word!("a database; choose a file that was exported from it")),
    ] {
        if start.starts_with(mark) {
            return nothing(why);
        }
    }
    let encoding = match marked(&start) {
        Ok(encoding) => encoding,
        Err(why) => return Ok(What::Nothing(say!("a text, but {why}", why))),
    };
    let text = match encoding {
        Some(encoding) => encoding.decode(&start).0.into_owned(),
        None if is_binary(&start) => {
            return nothing(word!("a file that is no text; choose a table, an XML file or a PDF"));
        }
        // What the letters beyond ASCII are does not matter here.
        None => String::from_utf8_lossy(&start).into_owned(),
    };
    let trimmed = text.trim_start_matches(['\u{feff}', ' ', '\t', '\r', '\n']);
    if trimmed.starts_with('<') {
        return xml(bundle, entry, start);
    }
    if trimmed.starts_with('{') || trimmed.starts_with('[') {
        return nothing(word!("JSON, which is not read here; have it exported as a table (CSV)"));
    }
    let lines = || trimmed.lines().filter(|line| !line.trim().is_empty()).take(40);
    if lines().any(|line| line.contains([';', ',', '\t', '|'])) {
        return Ok(What::Table);
    }
    if lines().next().is_none() {
        return nothing(word!("an empty file"));
    }
    nothing(word!("a text, but no table: nothing stands between its cells (a semicolon, a comma, a tab)"))
}

fn beginning(bundle: &Bundle, entry: &Entry, most: usize) -> Result<Vec<u8>, ReadError> {
    let mut stream = bundle.read(entry, &Passage::default())?;
    let mut start = vec![0; most];
    let have = fill(&mut stream, &mut start).map_err(|error| ReadError::new(bundle.path(), said(&error)))?;
    start.truncate(have);
    Ok(start)
}

/// Whether bytes are hardly those of a text: zeros, or many characters that control something.
fn is_binary(start: &[u8]) -> bool {
    let odd = |byte: &&u8| **byte < 0x20 && !matches!(**byte, b'\t' | b'\n' | b'\r' | 0x0c | 0x1a | 0x1b);
    start.contains(&0) || start.iter().filter(odd).count() * 50 > start.len()
}

fn xml(bundle: &Bundle, entry: &Entry, start: Vec<u8>) -> Result<What, ReadError> {
    let nothing = |why: String| Ok(What::Nothing(why));
    let mut head = Xml::new(Box::new(Cursor::new(start)), bundle.path(), None)?.passing_document_type();
    match head.child() {
        Ok(true) => {}
        Ok(false) => return nothing(word!("XML without an element in it").to_owned()),
        Err(error) => return nothing(say!("XML that cannot be read: {what}", what = error.what)),
    }
    let (name, space) = (head.name().to_owned(), head.namespace().to_owned());
    let ubl = |what: &str| space == format!("urn:oasis:names:specification:ubl:schema:xsd:{what}-2");
    Ok(match name.as_str() {
        "auditfile" if space.ends_with(":NO") || space.ends_with(":DK") => What::SaftCash,
        "auditfile" if space.to_uppercase().contains("XAF") => What::Ledger,
        "auditfile" => family(bundle, entry)?,
        "AuditFile" if space.contains(":PT_") || space.ends_with(":PT") => What::SaftPt,
        "AuditFile" => {
            let why = word!(
                "an audit file (SAF-T) of a country whose sales are not read here; export a table (CSV) from the till"
            );
            What::Nothing(why.to_owned())
        }
        "Invoice" if ubl("Invoice") => What::UblInvoice,
        "CreditNote" if ubl("CreditNote") => What::UblCreditNote,
        "Order" if ubl("Order") => What::Order,
        "CrossIndustryInvoice" => What::Cii,
        "CrossIndustryDocument" => What::OldZugferd,
        "SCRDMCCBDACIOMessageStructure" => What::Order,
        "DataSet" => {
            let around = index::open(bundle.path())?;
            let entry = index::find(&around).unwrap_or(entry);
            described(&around, entry)?
        }
        "html" | "HTML" => What::Nothing(word!("a web page; have it exported as a table (CSV)").to_owned()),
        other => What::Nothing(say!(
            "XML of a kind that is not read here (its root is {other}); from a till, export a table (CSV) or a statutory file; \
             from a supplier, ask for an invoice in UBL or CII",
            other = quoted(other)
        )),
    })
}

/// Tells the file of a till from that of a ledger, where the root does not.
fn family(bundle: &Bundle, entry: &Entry) -> Result<What, ReadError> {
    let start = beginning(bundle, entry, FURTHER)?;
    let mut xml = Xml::new(Box::new(Cursor::new(start)), bundle.path(), None)?.passing_document_type();
    // Ends at the latest where the beginning ends, which is no fault of the file.
    let mut depth = 0_usize;
    let mut ledger = false;
    loop {
        match xml.child() {
            Ok(true) => {
                depth += 1;
                match xml.name() {
                    "cashregister" | "cashtransaction" | "articles" => return Ok(What::Xaa),
                    "journal" | "transactions" => return Ok(What::Ledger),
                    "ledgerAccount" => ledger = true,
                    _ => {}
                }
            }
            Ok(false) if depth > 1 => depth -= 1,
            Ok(false) | Err(_) => return Ok(if ledger { What::Ledger } else { What::Xaa }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn files_are_known_by_what_is_in_them() {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("file.bin");
        let utf16: Vec<u8> = "a;b\r\n1;2\r\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
        let ubl = "urn:oasis:names:specification:ubl:schema:xsd:";
        let in_ubl =
            |what: &str| format!("<?xml version='1.0'?>\n<x:{what} xmlns:x='{ubl}{what}-2'><x:ID>1").into_bytes();
        let auditfile = |inner: &str| format!("<auditfile xmlns='urn:x'><company>{inner}").into_bytes();
        for (bytes, want) in [
            (b"date;item;quantity\n1;2;3\n".to_vec(), What::Table),
            (b"Gin\t2\n".to_vec(), What::Table),
            (utf16, What::Table),
            (b"Kr\xe4uter,2\n".to_vec(), What::Table),
            (b"%PDF-1.7\n\0\0\0".to_vec(), What::Pdf),
            (in_ubl("Invoice"), What::UblInvoice),
            (in_ubl("CreditNote"), What::UblCreditNote),
            (in_ubl("Order"), What::Order),
            (
                b"<CrossIndustryInvoice xmlns='urn:un:unece:uncefact:data:standard:CrossIndustryInvoice:100'>".to_vec(),
                What::Cii,
            ),
            (
                b"<rsm:CrossIndustryDocument xmlns:rsm='urn:ferd:CrossIndustryDocument:invoice:1p0'/>".to_vec(),
                What::OldZugferd,
            ),
            (b"<a:SCRDMCCBDACIOMessageStructure xmlns:a='urn:x'/>".to_vec(), What::Order),
            (b"<n1:auditfile xmlns:n1='urn:StandardAuditFile-Taxation-CashRegister:NO'>".to_vec(), What::SaftCash),
            (b"<auditfile xmlns='urn:StandardAuditFile-Taxation-CashRegister:DK'/>".to_vec(), What::SaftCash),
            (auditfile("<a/><location><cashregister>"), What::Xaa),
            (auditfile("<a/><transactions><journal>"), What::Ledger),
            (b"<auditfile xmlns='http://www.auditfiles.nl/XAF/3.2'/>".to_vec(), What::Ledger),
            (b"<AuditFile xmlns='urn:OECD:StandardAuditFile-Tax:PT_1.04_01'>".to_vec(), What::SaftPt),
        ] {
            fs::write(&path, &bytes).unwrap();
            assert_eq!(sniff(&path).unwrap(), want, "{}", String::from_utf8_lossy(&bytes));
        }
    }

    #[test]
    fn what_is_not_read_is_named_with_what_to_do() {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("file.csv");
        for (bytes, want) in [
            (&b""[..], "empty"),
            (b" \n", "empty"),
            (b"\0\x01\x02\x03binary", "no text"),
            (b"\xd0\xcf\x11\xe0\xa1\xb1", "save it as CSV"),
            (b"\x1f\x8b\x08", "unpack it"),
            (b"{\"sales\": []}", "JSON"),
            (b"just words\nand more\n", "no table"),
            (b"<!DOCTYPE html><html>", "web page"),
            (b"<kitchen/>", "kitchen"),
            (b"<AuditFile xmlns='urn:OECD:StandardAuditFile-Tax:XX'/>", "country"),
            (b"<", "XML that cannot be read"),
            (b"\xff\xfe\0\0a\0\0\0", "UTF-32"),
        ] {
            fs::write(&path, bytes).unwrap();
            let What::Nothing(why) = sniff(&path).unwrap() else { panic!("{bytes:?} was taken for something") };
            assert!(why.contains(want), "{why} should say {want}");
        }
        let What::Nothing(why) = sniff(home.path()).unwrap() else { panic!("a folder of nothing") };
        assert!(why.contains("index.xml"), "{why}");
        assert!(sniff(&home.path().join("none")).is_err());
    }
}
