//! Till exports that are broken, hostile or odd: each is refused by name, or read as its own description says.

#![allow(clippy::unwrap_used)]

#[path = "support/till.rs"]
mod till;

use std::fmt::Write as _;
use std::fs;
use std::io::{Cursor, Write};
use std::path::{Path, PathBuf};
use tantalus::domain::till::Skip;
use tantalus::domain::venue::SaleKind;
use tantalus::exchange::sniff::{What, sniff};
use tantalus::exchange::till::Rung;
use tempfile::TempDir;
use till::{Taken, read, sample, terms};
use zip::write::SimpleFileOptions;

fn at_home(name: &str, bytes: impl AsRef<[u8]>) -> (TempDir, PathBuf) {
    let home = tempfile::tempdir().unwrap();
    let path = home.path().join(name);
    fs::write(&path, bytes).unwrap();
    (home, path)
}

/// What becomes of a file's text; nothing takes the file away.
type Change<'c> = &'c dyn Fn(String) -> Option<Vec<u8>>;

/// The sample folder with some of its files changed.
fn folder(changes: &[(&str, Change<'_>)]) -> TempDir {
    let home = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(sample("dsfinvk-ordner")).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        let mut bytes = Some(fs::read(entry.path()).unwrap());
        for (file, change) in changes {
            if *file == name {
                bytes = bytes.and_then(|bytes| change(String::from_utf8(bytes).unwrap()));
            }
        }
        if let Some(bytes) = bytes {
            fs::write(home.path().join(name), bytes).unwrap();
        }
    }
    home
}

fn with(file: &str, from: &str, to: &str) -> TempDir {
    folder(&[(file, &|text: String| {
        assert!(text.contains(from), "{file} has no {from}");
        Some(text.replace(from, to).into_bytes())
    })])
}

fn german(path: &Path) -> Result<Taken, tantalus::exchange::ReadError> {
    read(path, &terms("EUR", "Europe/Berlin"))
}

fn refused(path: &Path, coin: &str) -> String {
    read(path, &terms(coin, "Europe/Berlin")).unwrap_err().to_string()
}

fn says(said: &str, wanted: &[&str]) {
    for want in wanted {
        assert!(said.contains(want), "“{said}” should say “{want}”");
    }
    assert!(!said.chars().any(char::is_control), "{said:?}");
}

fn archive(members: &[(&str, &[u8])], stored: bool) -> Vec<u8> {
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let method = if stored { zip::CompressionMethod::Stored } else { zip::CompressionMethod::Deflated };
    for (name, bytes) in members {
        out.start_file(*name, SimpleFileOptions::default().compression_method(method)).unwrap();
        out.write_all(bytes).unwrap();
    }
    out.finish().unwrap().into_inner()
}

fn sample_members() -> Vec<(String, Vec<u8>)> {
    let file = |entry: std::io::Result<fs::DirEntry>| {
        let entry = entry.unwrap();
        (entry.file_name().into_string().unwrap(), fs::read(entry.path()).unwrap())
    };
    fs::read_dir(sample("dsfinvk-ordner")).unwrap().map(file).collect()
}

fn borrowed(members: &[(String, Vec<u8>)]) -> Vec<(&str, &[u8])> {
    members.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect()
}

#[test]
fn archives_that_are_broken_or_hostile_are_refused() {
    let whole = fs::read(sample("dsfinvk-zwei-abschluesse.zip")).unwrap();
    let (_home, path) = at_home("cut.zip", &whole[..whole.len() / 2]);
    says(&refused(&path, "EUR"), &["cut.zip", "cut off or damaged", "copy it again"]);

    // One byte of a table turned: stored, so that only the check sum can tell.
    let members = sample_members();
    let mut bytes = archive(&borrowed(&members), true);
    let at = bytes.windows(10).position(|part| part == b"Hafenhell ").unwrap();
    bytes[at] = b'L';
    let (_home, path) = at_home("crc.zip", &bytes);
    says(&refused(&path, "EUR"), &["lines.csv", "check sum is wrong"]);

    let mut climbing = borrowed(&members);
    climbing.push(("../../etc/cron.d/x", b"x"));
    let (_home, path) = at_home("climb.zip", archive(&climbing, false));
    says(&refused(&path, "EUR"), &["../../etc/cron.d/x", "leads out of the archive"]);
    let (_home, path) = at_home("climb.zip", archive(&[("..\\x.csv", b"x")], false));
    says(&refused(&path, "EUR"), &["leads out of the archive"]);

    let many: Vec<(String, Vec<u8>)> = (0..201).map(|n| (format!("{n}.csv"), vec![b'x'])).collect();
    let (_home, path) = at_home("many.zip", archive(&borrowed(&many), false));
    says(&refused(&path, "EUR"), &["holds 201 files", "at most 200"]);
    let many: Vec<(String, Vec<u8>)> = (0..60_000).map(|n| (format!("{n}.csv"), Vec::new())).collect();
    let (_home, path) = at_home("directory.zip", archive(&borrowed(&many), true));
    says(&refused(&path, "EUR"), &["its directory is larger"]);

    // Encrypted, by the bit that says so in both places.
    let mut bytes = archive(&[("lines.csv", b"a;b")], false);
    let central = bytes.windows(4).position(|part| part == b"PK\x01\x02").unwrap();
    bytes[6] |= 1;
    bytes[central + 8] |= 1;
    let (_home, path) = at_home("secret.zip", &bytes);
    says(&refused(&path, "EUR"), &["lines.csv", "encrypted"]);

    let (_home, path) = at_home("none.zip", archive(&[], false));
    let What::Nothing(why) = sniff(&path).unwrap() else { panic!("an empty archive is something") };
    says(&why, &["nothing in it"]);
    let (_home, path) =
        at_home("book.xlsx", archive(&[("[Content_Types].xml", b"<x/>"), ("xl/workbook.xml", b"<x/>")], false));
    let What::Nothing(why) = sniff(&path).unwrap() else { panic!("a spreadsheet is something") };
    says(&why, &["save it as CSV"]);
}

#[test]
fn bombs_are_refused_before_they_fill_anything() {
    let mut members = sample_members();
    let lines = members.iter().position(|(name, _)| name == "lines.csv").unwrap();
    members[lines].1 = vec![b' '; 64 << 20];
    let honest = archive(&borrowed(&members), false);
    assert!(honest.len() < 1 << 20);
    let (_home, path) = at_home("bomb.zip", &honest);
    says(&refused(&path, "EUR"), &["lines.csv", "no real table"]);

    // The same with a size that lies, in the directory and before the member.
    let (real, lie) = ((64_u32 << 20).to_le_bytes(), 1_000_u32.to_le_bytes());
    let mut lying = honest;
    let places: Vec<usize> = (0..lying.len() - 4).filter(|at| lying[*at..*at + 4] == real).collect();
    assert!(places.len() >= 2);
    places.into_iter().for_each(|at| lying[at..at + 4].copy_from_slice(&lie));
    let (_home, path) = at_home("lie.zip", &lying);
    says(&refused(&path, "EUR"), &["lines.csv", "more comes out of the archive than it says"]);
}

#[test]
fn hostile_and_broken_xml_is_refused() {
    let whole = fs::read_to_string(sample("saft-no-kassasystem.xml")).unwrap();
    let body = whole.split_once('\n').unwrap().1;
    let doctype = |inner: &str| format!("<?xml version=\"1.0\"?>\n<!DOCTYPE auditfile {inner}>\n{body}");
    let after = |mark: &str, more: &str| whole.replacen(mark, &format!("{mark}{more}"), 1);
    let article = "<artDesc>Tanglys pils 0,5 l";
    let cut = whole.find("<nr>5</nr>").unwrap();
    let deep = format!("{}{}", "<x>".repeat(100), "</x>".repeat(100));
    let ten = "x".repeat(10 << 20);
    for (bytes, wanted) in [
        (doctype("[<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;&a;\">]").into_bytes(), &["document type", "line 2"][..]),
        (doctype("SYSTEM \"file:///etc/passwd\"").into_bytes(), &["document type"]),
        (after(article, "&boo;").into_bytes(), &["the entity “boo” is not known", "artDesc"]),
        (whole.as_bytes()[..cut].to_vec(), &["ends in the middle", "cashtransaction"]),
        (after(article, &ten).into_bytes(), &["longer than a megabyte", "artDesc"]),
        (after("<company>", &deep).into_bytes(), &["nested more than 64 deep"]),
        (after("<registerID>", "<![CDATA[").into_bytes(), &["no sound XML"]),
        (whole.replace("</articles>", "</article>").into_bytes(), &["no sound XML"]),
        (encoding_rs::WINDOWS_1252.encode(&whole).0.into_owned(), &["no text in UTF-8", "company"]),
        (whole.replace("encoding=\"UTF-8\"", "encoding=\"EBCDIC-9\"").into_bytes(), &["EBCDIC-9"]),
        (after("</auditfile>", "<auditfile/>").into_bytes(), &["second root"]),
    ] {
        let (_home, path) = at_home("saft.xml", &bytes);
        let mut taken = Taken::default();
        let terms = terms("NOK", "Europe/Oslo");
        let said = tantalus::exchange::till::read(&path, &What::SaftCash, &terms, &mut taken).unwrap_err();
        says(&said.to_string(), wanted);
    }
    // In its own encoding it is read; zipped as well.
    let latin = whole.replace("UTF-8", "ISO-8859-1");
    let (_home, path) = at_home("latin.xml", encoding_rs::WINDOWS_1252.encode(&latin).0);
    let plain = read(&sample("saft-no-kassasystem.xml"), &terms("NOK", "Europe/Oslo")).unwrap();
    assert_eq!(read(&path, &terms("NOK", "Europe/Oslo")).unwrap().lines, plain.lines);
    let (_home, path) = at_home("zipped.dat", archive(&[("SAF-T/file.XML", whole.as_bytes())], false));
    assert_eq!(sniff(&path).unwrap(), What::SaftCash);
    assert_eq!(read(&path, &terms("NOK", "Europe/Oslo")).unwrap().lines, plain.lines);
}

#[test]
fn registers_with_wrong_figures_are_refused() {
    let whole = fs::read_to_string(sample("saft-no-kassasystem.xml")).unwrap();
    let basics = whole.find("<basics>").unwrap()..whole.find("</basics>").unwrap() + "</basics>".len();
    let late = whole[..basics.start].to_owned()
        + &whole[basics.end..].replace("</company>", &(whole[basics.clone()].to_owned() + "</company>"));
    let no_lines: String =
        whole.split("<ctLine>").map(|part| part.split_once("</ctLine>").map_or(part, |(_, rest)| rest)).collect();
    for (text, coin, wanted) in [
        (whole.clone(), "EUR", &["“NOK”", "kept in EUR"][..]),
        (whole.replace("<curCode>NOK</curCode>", ""), "EUR", &["“NOK”"]),
        (whole.replace("<qnt>2</qnt>", "<qnt>two\u{1b}[2J</qnt>"), "NOK", &["read “two[2J” in qnt", "line "]),
        (whole.replace("<qnt>2</qnt>", "<qnt>2,5</qnt>"), "NOK", &["read “2,5” in qnt", "decimal point"]),
        (
            whole.replace("<lineAmntEx>156.80</lineAmntEx>", "<lineAmntEx>9999999999999</lineAmntEx>"),
            "NOK",
            &["lineAmntEx"],
        ),
        (whole.replace("<amntTp>C</amntTp>", "<amntTp>X</amntTp>"), "NOK", &["read “X” in amntTp"]),
        (whole.replace("2026-04-11", "2027-04-11"), "NOK", &["still to come", "line "]),
        (whole.replace("2026-04-11", "1970-04-11"), "NOK", &["clock of the till was not set"]),
        (whole.replace("01:20:00", "quarter past"), "NOK", &["quarter past", "as a date and a time"]),
        (whole.replace("<nr>7</nr>", "<nr>6</nr>"), "NOK", &["transaction “K1 6” stands in the file twice"]),
        (whole.replace("<nr>7</nr>\n<transID>7</transID>", ""), "NOK", &["has no number"]),
        (late, "NOK", &["only after the sales"]),
        (no_lines, "NOK", &["only totals"]),
        (whole.replace("cashtransaction>", "other>"), "NOK", &["no transaction in it"]),
        (whole.replace("<cashregister>", "<journal/><cashregister>"), "NOK", &["file of a ledger"]),
    ] {
        let (_home, path) = at_home("saft.xml", text);
        let mut taken = Taken::default();
        let terms = terms(coin, "Europe/Oslo");
        let said = tantalus::exchange::till::read(&path, &What::SaftCash, &terms, &mut taken).unwrap_err();
        says(&said.to_string(), wanted);
    }
}

#[test]
fn registers_with_odd_lines_say_so() {
    let whole = fs::read_to_string(sample("saft-no-kassasystem.xml")).unwrap();
    let norwegian = |text: String| {
        let (_home, path) = at_home("saft.xml", text);
        read(&path, &terms("NOK", "Europe/Oslo")).unwrap()
    };
    let plain = norwegian(whole.clone());
    let find = |taken: &Taken, receipt: &str, line: i64| -> Rung {
        taken.lines.iter().find(|rung| rung.receipt == receipt && rung.line == line).unwrap().clone()
    };
    let warned = |taken: &Taken, want: &str| {
        assert!(taken.passed.warnings.iter().any(|said| said.contains(want)), "{:?}: {want}", taken.passed.warnings);
    };
    // No quantity: never guessed.
    let taken = norwegian(whole.replace("<qnt>3</qnt>", ""));
    assert_eq!(taken.passed.skipped[&Skip::Unknown], 1);
    warned(&taken, "do not say how many");
    // A type that stands for nothing.
    let taken = norwegian(whole.replace("<transType>RETUR</transType>", "<transType>NYTT</transType>"));
    assert_eq!(taken.passed.skipped[&Skip::Unknown], 1);
    warned(&taken, "type “NYTT”");
    // Lines without minus signs mean the same; in a sale they are a void.
    let absolute =
        whole.replace("<qnt>-1</qnt>", "<qnt>1</qnt>").replace(">-99.00<", ">99.00<").replace(">-79.20<", ">79.20<");
    assert_eq!(norwegian(absolute.clone()).lines, plain.lines);
    let taken = norwegian(absolute.replace("<transType>RETUR</transType>", "<transType>KONT</transType>"));
    assert_eq!((find(&taken, "K1 4", 1).kind, find(&taken, "K1 4", 1).quantity), (SaleKind::Void, -1_000));
    // Below zero, but said to be sold.
    let taken = norwegian(whole.replace("<amntTp>D</amntTp>", "<amntTp>C</amntTp>"));
    assert_eq!(find(&taken, "K1 4", 1), find(&plain, "K1 4", 1));
    warned(&taken, "sold (C) but of a quantity below zero");
    // An open line is called by its words, else its group.
    let taken = norwegian(whole.replace("<artID>102</artID>\n<qnt>3</qnt>", "<qnt>3</qnt>"));
    assert_eq!((find(&taken, "K1 3", 1).sold_as.as_str(), find(&taken, "K1 3", 1).code), ("Øl", None));
    // Lines before their discount: 330 less 33 is the 297 of the total.
    let before = whole.replace(">297.00<", ">330.00<").replace(">237.60<", ">264.00<");
    let taken = norwegian(before);
    assert_eq!(find(&taken, "K1 3", 1).net.0, 23_760);
    warned(&taken, "before their discounts");
    // A discount of the whole is money of the sale, in no line.
    let whole_off = whole
        .replace(
            "<transAmntIn>265.00</transAmntIn>\n<transAmntEx>216.80</transAmntEx>",
            "<transAmntIn>240.00</transAmntIn>\n<transAmntEx>196.30</transAmntEx>",
        )
        .replacen(
            "<raise>\n<raiseType>TIPS",
            "<discount><dscTp>RAB</dscTp><dscAmnt>25.00</dscAmnt></discount><raise>\n<raiseType>TIPS",
            1,
        );
    let taken = norwegian(whole_off);
    let off = taken.lines.iter().find(|rung| !rung.goods).unwrap();
    assert_eq!((off.sold_as.as_str(), off.net.0, off.quantity), ("Rabatt", -2_050, 0));
    // A total that nothing explains.
    warned(&norwegian(whole.replace("<transAmntIn>147.00<", "<transAmntIn>100.00<")), "not the sum of their lines");
}

#[test]
fn german_exports_with_wrong_tables_are_refused() {
    let cases: &[(TempDir, &str, &[&str])] = &[
        (with("lines.csv", ";MENGE;", ";MENGEN;"), "EUR", &["lines.csv", "column MENGE is missing"]),
        (with("transactions.csv", ";BON_TYP;", ";TYP;"), "EUR", &["transactions.csv", "column BON_TYP is missing"]),
        (folder(&[("lines_vat.csv", &|_| None)]), "EUR", &["table lines_vat.csv (Bonpos_USt) is missing"]),
        (with("lines.csv", ";6,000;", ";sechs;"), "EUR", &["lines.csv line 4", "read “sechs” in MENGE"]),
        // Points where the index says commas: a thousand is not six.
        (with("lines.csv", ";6,000;", ";6.000;"), "EUR", &["read “6.000” in MENGE"]),
        (with("lines_vat.csv", "15,13000", "15,1x"), "EUR", &["lines_vat.csv line 4", "POS_NETTO"]),
        (with("lines.csv", ";8;8-2;", ";-8;8-2;"), "EUR", &["read “-8” as the number of a closing"]),
        (with("lines.csv", ";8-2;1;", ";;1;"), "EUR", &["BON_ID is empty"]),
        (with("lines.csv", ";8-1;2;", ";8-1;1;"), "EUR", &["line “1” of receipt “8-1”", "twice"]),
        (with("lines.csv", ";1,000;1,000;;4,80000", ";1,000;1,000"), "EUR", &["lines.csv line 2", "expected 21 cells"]),
        (with("lines.csv", "Hafenhell", "\"Hafenhell"), "EUR", &["lines.csv line 2", "expected 21 cells"]),
        (with("lines.csv", "Hafenhell", &format!("\"{}", "x\n".repeat(1 << 20))), "EUR", &["never closed"]),
        (with("lines.csv", "Quellperle", "\u{ff}"), "NOK", &["“EUR”", "kept in NOK"]),
        (with("cashregister.csv", ";EUR;", ";CHF;"), "EUR", &["“CHF”", "cashregister.csv line 2"]),
        (
            with("transactions.csv", "2026-03-09T20:10:40", "2027-03-09T20:10:40"),
            "EUR",
            &["still to come", "transactions.csv line 3"],
        ),
        (
            with("transactions.csv", "2026-03-09T20:10:40", "abends"),
            "EUR",
            &["read “abends” as the time of receipt “8-2”"],
        ),
        (with("transactions.csv", ";8-2;2;", ";8-1;2;"), "EUR", &["has a second head"]),
        (with("cashpointclosing.csv", ";8;;2.4", ";8;gestern;2.4"), "EUR", &["“gestern” as the business day"]),
        (
            with("index.xml", "<ColumnDelimiter>;</ColumnDelimiter>", "<ColumnDelimiter>;;</ColumnDelimiter>"),
            "EUR",
            &["gives “;;” as the sign between cells"],
        ),
        (with("index.xml", "<UTF8/>", "<UTF7/>"), "EUR", &["UTF-7"]),
        (with("index.xml", "<VariableLength>", "<FixedLength/><VariableLength>"), "EUR", &["fixed width"]),
        (with("index.xml", "</DataSet>", ""), "EUR", &["index.xml", "ends in the middle"]),
        (with("index.xml", "<Version>", "<Version>&what;"), "EUR", &["the entity “what”"]),
    ];
    for (home, coin, wanted) in cases {
        says(&refused(home.path(), coin), wanted);
    }
    let wrong = folder(&[("lines.csv", &|text: String| {
        Some(encoding_rs::WINDOWS_1252.encode(&text.replace("Quell", "Güte")).0.into_owned())
    })]);
    says(&refused(wrong.path(), "EUR"), &["lines.csv line 3", "no text in UTF-8"]);
    let twice = folder(&[("lines.csv", &|text: String| {
        Some((text.clone() + text.split_once("\r\n").unwrap().1).into_bytes())
    })]);
    says(&refused(twice.path(), "EUR"), &["stands here again", "receipt “8-1”"]);
    let elsewhere = with("index.xml", "<URL>lines.csv</URL>", "<URL>../../lines.csv</URL>");
    assert!(matches!(sniff(elsewhere.path()).unwrap(), What::Nothing(_)));
    let no_rate = folder(&[
        ("vat.csv", &|_| None),
        ("lines_vat.csv", &|text: String| Some(text.replace(";15,13000;2,87000", ";;").into_bytes())),
    ]);
    says(&refused(no_rate.path(), "EUR"), &["without tax", "receipt “8-2”"]);
}

#[test]
fn an_index_is_obeyed_where_it_differs_from_the_norm() {
    let plain = german(&sample("dsfinvk-ordner")).unwrap().lines;
    let other = |text: String| {
        // Decimal points, bars between cells, lines ended by a line feed, no head, in Windows-1252.
        let rows = text.split_once("\r\n").unwrap().1;
        let cell = |cell: &str| {
            let number = cell.contains(',') && cell.chars().all(|c| c.is_ascii_digit() || matches!(c, ',' | '-'));
            if number { cell.replace(',', ".") } else { cell.to_owned() }
        };
        let row = |row: &str| row.split(';').map(cell).collect::<Vec<_>>().join("|") + "\n";
        Some(encoding_rs::WINDOWS_1252.encode(&rows.lines().map(row).collect::<String>()).0.into_owned())
    };
    let index = |text: String| {
        let text = text.replace("<UTF8/>", "<ANSI/>").replace("<DecimalSymbol>,", "<DecimalSymbol>.");
        let text = text
            .replace("<DigitGroupingSymbol>.", "<DigitGroupingSymbol>,")
            .replace("<From>2</From>", "<From>1</From>");
        let text = text.replace("<ColumnDelimiter>;", "<ColumnDelimiter>|").replace("&#13;&#10;", "&#10;");
        Some(text.into_bytes())
    };
    let tables =
        ["lines.csv", "lines_vat.csv", "transactions.csv", "cashpointclosing.csv", "cashregister.csv", "vat.csv"];
    let mut changes: Vec<(&str, Change<'_>)> = vec![("index.xml", &index)];
    changes.extend(tables.map(|table| (table, &other as Change<'_>)));
    let home = folder(&changes);
    assert_eq!(german(home.path()).unwrap().lines, plain);

    // A mark at the beginning, UTF-16, capital letters in names, a subfolder, columns in another order, missing tables.
    let bom = folder(&[("lines.csv", &|text: String| Some(format!("\u{feff}{text}").into_bytes()))]);
    assert_eq!(german(bom.path()).unwrap().lines, plain);
    let wide = |text: String| Some(text.encode_utf16().flat_map(u16::to_le_bytes).collect());
    let utf16 = folder(&[
        ("index.xml", &|text: String| Some(text.replacen("<UTF8/>", "<UTF16/>", 1).into_bytes())),
        ("lines.csv", &wide),
    ]);
    assert_eq!(german(utf16.path()).unwrap().lines, plain);
    let turned = folder(&[("lines.csv", &|text: String| {
        let row = |row: &str| row.split(';').rev().collect::<Vec<_>>().join(";") + ";\r\n";
        Some(text.lines().map(row).collect::<String>().into_bytes())
    })]);
    assert_eq!(german(turned.path()).unwrap().lines, plain);
    let bare = folder(&[("vat.csv", &|_| None), ("cashregister.csv", &|_| None), ("cashpointclosing.csv", &|_| None)]);
    assert_eq!(german(bare.path()).unwrap().lines, plain);
    let members: Vec<(String, Vec<u8>)> = sample_members()
        .into_iter()
        .map(|(name, bytes)| {
            (format!("Export/{}", if name == "index.xml" { "INDEX.XML".into() } else { name.to_uppercase() }), bytes)
        })
        .collect();
    let (_home, path) = at_home("capital.zip", archive(&borrowed(&members), false));
    assert_eq!(german(&path).unwrap().lines, plain);

    // Net amounts that are not there are reckoned from the tax, else from the rate.
    for (from, to) in [(";15,13000;", ";;"), (";15,13000;2,87000", ";;")] {
        let home = with("lines_vat.csv", from, to);
        assert_eq!(german(home.path()).unwrap().lines, plain);
    }
}

#[test]
fn german_lines_that_are_odd_say_so() {
    let warned = |home: &TempDir, why: Skip, many: u64, want: &str| {
        let taken = german(home.path()).unwrap();
        assert_eq!(taken.passed.skipped.get(&why).copied().unwrap_or_default(), many, "{:?}", taken.passed);
        assert!(taken.passed.warnings.iter().any(|said| said.contains(want)), "{:?}: {want}", taken.passed.warnings);
        taken
    };
    let first =
        |to: &str| folder(&[("transactions.csv", &|text: String| Some(text.replacen("Beleg", to, 1).into_bytes()))]);
    warned(&first("AVTransfer"), Skip::LeftUnsold, 2, "left without a sale");
    warned(&first("AVNeuland"), Skip::Unknown, 2, "type “AVNeuland”");
    assert_eq!(german(first("AVBelegabbruch").path()).unwrap().passed.skipped[&Skip::NoSale], 2);
    warned(&with("lines.csv", ";6,000;", ";;"), Skip::Unknown, 1, "do not say how many");
    let kind = |to: &str| folder(&[("lines.csv", &|text: String| Some(text.replacen("Umsatz", to, 1).into_bytes()))]);
    warned(&kind("Neuland"), Skip::Unknown, 1, "kind “Neuland”");
    warned(&with("transactions.csv", ";18,00;", ";19,00;"), Skip::Unknown, 0, "not the sum of their lines");
    warned(&with("transactions.csv", ";8-2;2;", ";8-9;2;"), Skip::Unknown, 1, "receipt is not in transactions.csv");
    warned(&with("lines_vat.csv", ";8-2;", ";8-9;"), Skip::Unknown, 0, "no line in lines.csv");
    // An immediate void: marked, nothing turned, nothing referred to.
    let home = folder(&[("transactions.csv", &|text: String| {
        Some(text.replace(";T1;0;2026-03-09T20:10", ";T1;1;2026-03-09T20:10").into_bytes())
    })]);
    assert_eq!(german(home.path()).unwrap().passed.skipped[&Skip::Voided], 1);
    // Line numbers that are none are places in the receipt, after all others.
    let taken = german(with("lines.csv", ";8-1;2;", ";8-1;b;").path()).unwrap();
    assert_eq!(taken.lines.iter().map(|rung| rung.line).collect::<Vec<_>>(), [1, 1_000_000_002, 1]);
    // A closing without its time of the receipt.
    let home = with("transactions.csv", "2026-03-09T20:10:00;2026-03-09T20:10:40", ";");
    warned(&home, Skip::Unknown, 0, "time of their closing");
    // Names are made safe.
    let taken = german(with("lines.csv", "Klarer Funken", "=cmd\u{1b}[2J\u{202e}|x").path()).unwrap();
    assert_eq!(taken.lines[2].sold_as, "(=)cmd[2J|x 2 cl");
}

/// The PyPI library dsfinvk 2.4.0 writes signs between the thousands of the numbers of closings; what a receipt is known by
/// must not depend on them, nor on the encoding.
#[test]
fn a_receipt_is_known_by_the_same_in_every_way_of_writing_it() {
    let written = |closing: &'static str, ansi: bool| {
        let named = move |text: String| {
            let text = text.replace("K-01;2026-03-09T23:58:00;8;", &format!("Süd;2026-03-09T23:58:00;{closing};"));
            Some(if ansi { encoding_rs::WINDOWS_1252.encode(&text).0.into_owned() } else { text.into_bytes() })
        };
        let index = move |text: String| Some(if ansi { text.replace("<UTF8/>", "<ANSI/>") } else { text }.into_bytes());
        let tables =
            ["lines.csv", "lines_vat.csv", "transactions.csv", "vat.csv", "cashpointclosing.csv", "cashregister.csv"];
        let mut changes: Vec<(&str, Change<'_>)> = tables.iter().map(|table| (*table, &named as Change<'_>)).collect();
        changes.push(("index.xml", &index));
        let home = folder(&changes);
        german(home.path()).unwrap().lines
    };
    let plain = written("1008", false);
    assert!(plain[0].receipt.starts_with("Süd 1008 2026-03-09 "), "{}", plain[0].receipt);
    assert_eq!(written("1.008", false), plain);
    assert_eq!(written("1.008", true), plain);
    assert_eq!(written("1008", true), plain);
    let home = with("lines.csv", ";8;8-", ";1.08;8-");
    says(&refused(home.path(), "EUR"), &["read “1.08” in Z_NR"]);
}

/// An export with so many receipts, its tables sorted by `order`: lines, receipts, amounts.
fn sorted(receipts: usize, order: [&dyn Fn(usize) -> usize; 3]) -> TempDir {
    let home = folder(&[]);
    let z = "K-01;2026-03-09T23:58:00;8";
    let mut tables = [String::new(), String::new(), String::new()];
    let heads = [
        "Z_KASSE_ID;Z_ERSTELLUNG;Z_NR;BON_ID;POS_ZEILE;GV_TYP;MENGE;ARTIKELTEXT;P_STORNO",
        "Z_KASSE_ID;Z_ERSTELLUNG;Z_NR;BON_ID;BON_TYP;BON_STORNO;BON_ENDE",
        "Z_KASSE_ID;Z_ERSTELLUNG;Z_NR;BON_ID;POS_ZEILE;POS_BRUTTO;POS_NETTO",
    ];
    for (table, head) in tables.iter_mut().zip(heads) {
        writeln!(table, "{head}").unwrap();
    }
    for n in 0..receipts {
        writeln!(tables[0], "{z};{};1;Umsatz;1,000;A;0", order[0](n)).unwrap();
        writeln!(tables[1], "{z};{};Beleg;0;2026-03-09T20:00:40", order[1](n)).unwrap();
        writeln!(tables[2], "{z};{};1;1,19;1,00", order[2](n)).unwrap();
    }
    for (name, text) in ["lines.csv", "transactions.csv", "lines_vat.csv"].iter().zip(tables) {
        fs::write(home.path().join(name), text).unwrap();
    }
    home
}

#[test]
fn tables_in_another_order_are_joined_within_reach_and_else_refused() {
    let forward = |n: usize| n;
    let home = sorted(3_000, [&forward, &|n| 2_999 - n, &|n| (n * 7) % 3_000]);
    let taken = german(home.path()).unwrap();
    assert_eq!(taken.lines.len(), 3_000);
    assert!(taken.lines.iter().all(|rung| rung.net.0 == 100));
    // Too far apart: nothing may be joined wrongly or left out in silence.
    let many = 120_000;
    let home = sorted(many, [&forward, &|n| many - 1 - n, &forward]);
    says(&refused(home.path(), "EUR"), &["transactions.csv line ", "not in one order"]);
    // Lines of a receipt in two places.
    let home = sorted(3, [&|n| n % 2, &forward, &forward]);
    says(&refused(home.path(), "EUR"), &["stands here again"]);
}

#[test]
fn portuguese_files_that_are_wrong_are_refused() {
    let bytes = fs::read(sample("saft-pt-faturas.xml")).unwrap();
    let whole = encoding_rs::WINDOWS_1252.decode(&bytes).0.replace("windows-1252", "UTF-8");
    for (text, coin, wanted) in [
        (whole.clone(), "GBP", &["“EUR”", "kept in GBP"][..]),
        (whole.replace("<Quantity>2<", "<Quantity>dois<"), "EUR", &["read “dois” in Quantity"]),
        (whole.replace("2026-04-11", "2027-04-11"), "EUR", &["still to come"]),
        (whole.replace("FS A/2", "FS A/1"), "EUR", &["invoice “FS A/1” stands in the file twice"]),
        (whole.replace("SalesInvoices>", "Payments>"), "EUR", &["no sales invoices"]),
    ] {
        let (_home, path) = at_home("pt.xml", text);
        says(&refused(&path, coin), wanted);
    }
    // Written up a week later: of its own day.
    let (_home, path) = at_home(
        "pt.xml",
        whole.replace("<SystemEntryDate>2026-04-10T21:15:00", "<SystemEntryDate>2026-04-18T09:00:00"),
    );
    let taken = read(&path, &terms("EUR", "Europe/Lisbon")).unwrap();
    assert_eq!(taken.passed.days.unwrap().0.to_string(), "2026-04-10");
    assert!(taken.passed.warnings.iter().any(|said| said.contains("another day")));
}
