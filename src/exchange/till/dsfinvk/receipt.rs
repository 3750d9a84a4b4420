//! One receipt of an export: what each of its lines is.
//!
//! The words are those of the export's description, annexes B and C. A receipt of type `Beleg` is a sale, one of type
//! `AVSachbezug` went to the staff, one of type `AVTraining` was practice; no other is counted. Of their lines those of
//! kind `Umsatz` are goods; discounts and surcharges are money of the sale; everything else is money only.
//!
//! Voids come in five forms (sections 4.2.1 to 4.2.5):
//! * A later void is a second receipt with all signs turned, with `BON_STORNO` 1 or, as annex B would have it, 0, and a
//!   reference to the first. Both are handed on: the lines of the second are voids with a negative quantity.
//! * So is the void of a return, whose quantities are above zero: it is marked and refers to the return. Its lines are voids
//!   too, because neither was drunk; without the mark it is a sale that refers to its order.
//! * An immediate void without a second receipt marks the receipt itself with `BON_STORNO` 1: its quantities are above
//!   zero and it refers to nothing. None of its lines is handed on.
//! * A void line is marked with `P_STORNO` 1 and left out.
//! * Or it is a further line with a negative quantity: when an earlier line of the receipt sold as much of the same
//!   article, it takes that back; when none did, it is a return, and the drink is gone all the same.

use super::follow::Row;
use super::table::Table;
use crate::domain::measure::decimal::round_half_even;
use crate::domain::till::Skip;
use crate::domain::venue::SaleKind;
use crate::exchange::ReadError;
use std::collections::{BTreeMap, HashMap};

/// Columns of `transactions.csv`.
pub(super) const HEAD_COLUMNS: &[&str] =
    &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "BON_ID", "BON_TYP", "BON_STORNO", "BON_ENDE", "BON_START", "UMS_BRUTTO"];
/// Columns of `lines.csv`.
pub(super) const LINE_COLUMNS: &[&str] = &[
    "Z_KASSE_ID",
    "Z_ERSTELLUNG",
    "Z_NR",
    "BON_ID",
    "POS_ZEILE",
    "GV_TYP",
    "MENGE",
    "ARTIKELTEXT",
    "P_STORNO",
    "ART_NR",
    "EINHEIT",
];
/// Columns of `lines_vat.csv`.
pub(super) const AMOUNT_COLUMNS: &[&str] = &[
    "Z_KASSE_ID",
    "Z_ERSTELLUNG",
    "Z_NR",
    "BON_ID",
    "POS_ZEILE",
    "UST_SCHLUESSEL",
    "POS_BRUTTO",
    "POS_NETTO",
    "POS_UST",
];

/// Decimals that amounts are read with.
const READ: u32 = 9;
/// From there to the decimals that sums are kept with.
const LIFT: i128 = 10_i128.pow(super::super::hand::PLACES - READ);

/// A receipt's head.
#[derive(Debug)]
pub(super) struct Head {
    pub(super) kind: String,
    pub(super) voided: bool,
    /// When it was done; when it was begun, where that is missing.
    pub(super) at: String,
    /// The printed total, in [`READ`] decimals.
    pub(super) printed: Option<i64>,
    /// Its line in the table.
    pub(super) place: u64,
}

impl Row for Head {
    fn read(table: &mut Table) -> Result<Head, ReadError> {
        let at = if table.raw(6).is_empty() { 7 } else { 6 };
        Ok(Head {
            kind: table.text(4)?.into_owned(),
            voided: table.yes(5),
            at: table.text(at)?.into_owned(),
            printed: table.number(8, READ)?,
            place: table.line(),
        })
    }

    fn weight(&self) -> usize {
        self.kind.len() + self.at.len()
    }
}

/// The amounts of a line at one rate of tax.
#[derive(Debug)]
pub(super) struct Part {
    pub(super) line: Box<str>,
    pub(super) rate: Box<str>,
    pub(super) gross: Option<i64>,
    pub(super) net: Option<i64>,
    pub(super) tax: Option<i64>,
}

impl Row for Part {
    fn read(table: &mut Table) -> Result<Part, ReadError> {
        Ok(Part {
            line: table.text(4)?.into(),
            rate: table.text(5)?.into(),
            gross: table.number(6, READ)?,
            net: table.number(7, READ)?,
            tax: table.number(8, READ)?,
        })
    }

    fn weight(&self) -> usize {
        self.line.len() + self.rate.len()
    }
}

/// A line.
#[derive(Debug)]
pub(super) struct Line {
    /// `POS_ZEILE`.
    pub(super) number: String,
    pub(super) kind: String,
    /// Thousandths.
    pub(super) quantity: Option<i64>,
    pub(super) name: String,
    pub(super) voided: bool,
    pub(super) code: String,
    pub(super) unit: String,
    pub(super) place: u64,
}

impl Line {
    /// Reads the row at hand, the `place`th of its receipt.
    pub(super) fn read(table: &mut Table, place: u64) -> Result<Line, ReadError> {
        Ok(Line {
            number: table.text(4)?.into_owned(),
            kind: table.text(5)?.into_owned(),
            quantity: table.number(6, 3)?,
            name: table.text(7)?.into_owned(),
            voided: table.yes(8),
            code: table.text(9)?.into_owned(),
            unit: table.text(10)?.into_owned(),
            place,
        })
    }

    /// Bytes of its texts.
    pub(super) fn weight(&self) -> usize {
        [&self.number, &self.kind, &self.name, &self.code, &self.unit].iter().map(|text| text.len()).sum()
    }
}

/// What a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Is {
    /// Goods that were rung so.
    Goods(SaleKind),
    /// Money of the sale: a discount, a surcharge.
    Money(SaleKind),
    /// No sale.
    Not(Skip),
    /// No sale, because its kind is not known.
    UnknownKind,
    /// No sale, because nothing says how many.
    NoQuantity,
}

/// The types of a receipt (annex B).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Type {
    Counted(SaleKind),
    Not(Skip),
    Unknown,
}

impl Type {
    pub(super) fn of(word: &str) -> Type {
        const WORDS: &[(&str, Type)] = &[
            ("Beleg", Type::Counted(SaleKind::Sale)),
            ("AVSachbezug", Type::Counted(SaleKind::Staff)),
            ("AVTraining", Type::Counted(SaleKind::Training)),
            ("AVTransfer", Type::Not(Skip::LeftUnsold)),
            ("AVSonstige", Type::Not(Skip::LeftUnsold)),
            ("AVRechnung", Type::Not(Skip::NoSale)),
            ("AVBestellung", Type::Not(Skip::NoSale)),
            ("AVBelegstorno", Type::Not(Skip::NoSale)),
            ("AVBelegabbruch", Type::Not(Skip::NoSale)),
        ];
        WORDS.iter().find(|(known, _)| known.eq_ignore_ascii_case(word)).map_or(Type::Unknown, |(_, of)| *of)
    }
}

/// The kinds of a line (annex C) that are neither goods nor money of the sale.
const MONEY_ONLY: &[&str] = &[
    "Pfand",
    "PfandRueckzahlung",
    "ZuschussEcht",
    "ZuschussUnecht",
    "TrinkgeldAG",
    "TrinkgeldAN",
    "EinzweckgutscheinKauf",
    "EinzweckgutscheinEinloesung",
    "MehrzweckgutscheinKauf",
    "MehrzweckgutscheinEinloesung",
    "Forderungsentstehung",
    "Forderungsaufloesung",
    "Anzahlungseinstellung",
    "Anzahlungsaufloesung",
    "Anfangsbestand",
    "Privatentnahme",
    "Privateinlage",
    "Geldtransit",
    "Lohnzahlung",
    "Einzahlung",
    "Auszahlung",
    "DifferenzSollIst",
];

fn one_of(words: &[&str], word: &str) -> bool {
    words.iter().any(|known| known.eq_ignore_ascii_case(word))
}

/// Says of each line of a counted receipt what it is. `referring`: the receipt refers to an earlier one.
pub(super) fn judge(rung: SaleKind, head: &Head, referring: bool, lines: &[Line]) -> Vec<Is> {
    let goods = |line: &&Line| !line.voided && line.kind.eq_ignore_ascii_case("Umsatz");
    let total: i128 = lines.iter().filter(goods).filter_map(|line| line.quantity).map(i128::from).sum();
    if rung == SaleKind::Training {
        return lines
            .iter()
            .map(|line| match line.quantity {
                Some(0) | None => Is::Not(Skip::Training),
                Some(_) if goods(&line) => Is::Goods(SaleKind::Training),
                Some(_) => Is::Not(Skip::Training),
            })
            .collect();
    }
    // Marked as void, but nothing turned and nothing referred to: the receipt is its own void.
    if head.voided && !referring && total > 0 {
        return lines.iter().map(|_| Is::Not(Skip::Voided)).collect();
    }
    let turned = (head.voided || referring) && total < 0;
    let turned_return = head.voided && referring && total > 0;
    let mut sold: HashMap<&str, i64> = HashMap::new();
    lines
        .iter()
        .map(|line| {
            if line.voided {
                return Is::Not(Skip::Voided);
            }
            if one_of(&["Rabatt", "Aufschlag"], &line.kind) {
                return Is::Money(rung);
            }
            if !line.kind.eq_ignore_ascii_case("Umsatz") {
                return if one_of(MONEY_ONLY, &line.kind) { Is::Not(Skip::MoneyOnly) } else { Is::UnknownKind };
            }
            let article = if line.code.is_empty() { line.name.as_str() } else { line.code.as_str() };
            match line.quantity {
                None => Is::NoQuantity,
                Some(quantity) if quantity > 0 && turned_return => Is::Goods(SaleKind::Void),
                Some(quantity) if quantity >= 0 => {
                    let so_far = sold.entry(article).or_default();
                    *so_far = so_far.saturating_add(quantity);
                    Is::Goods(rung)
                }
                Some(_) if turned => Is::Goods(SaleKind::Void),
                Some(quantity) => match sold.get_mut(article) {
                    Some(so_far) if so_far.checked_add(quantity).is_some_and(|left| left >= 0) => {
                        *so_far += quantity;
                        Is::Goods(SaleKind::Void)
                    }
                    _ => Is::Goods(SaleKind::Return),
                },
            }
        })
        .collect()
}

/// Rates of tax, in ten-thousandths of a per cent, by closing and key, each as 64 bits.
pub(super) type Rates = HashMap<(u64, u64), i64>;

/// What a line came to, in the decimals of [`super::super::hand::PLACES`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Sum {
    /// Net of tax; nothing when a part of it cannot be told.
    pub(super) net: Option<i128>,
    pub(super) gross: Option<i128>,
}

/// The sums of the lines of a receipt by their number. `rate` gives the rate of a key in ten-thousandths of a per cent.
pub(super) fn sums(parts: &[Part], rate: impl Fn(&str) -> Option<i64>) -> BTreeMap<&str, Sum> {
    let mut out: BTreeMap<&str, Sum> = BTreeMap::new();
    for part in parts {
        let wide = |amount: Option<i64>| amount.map(|amount| i128::from(amount) * LIFT);
        let (gross, net, tax) = (wide(part.gross), wide(part.net), wide(part.tax));
        let by_rate = |gross: i128| {
            let whole = 1_000_000 + i128::from(rate(&part.rate)?);
            (whole > 0).then(|| round_half_even(gross * 1_000_000, whole))
        };
        let net = net.or_else(|| match (gross, tax) {
            (Some(gross), Some(tax)) => Some(gross - tax),
            (Some(gross), None) => by_rate(gross),
            (None, _) => None,
        });
        let gross = gross.or_else(|| net.map(|net| net + tax.unwrap_or_default()));
        let zero = Sum { net: Some(0), gross: Some(0) };
        let sum = out.entry(&part.line).or_insert(zero);
        sum.net = sum.net.zip(net).map(|(a, b)| a + b);
        sum.gross = sum.gross.zip(gross).map(|(a, b)| a + b);
    }
    out
}

/// A printed total in the decimals of the sums.
pub(super) fn printed(head: &Head) -> Option<i128> {
    head.printed.map(|total| i128::from(total) * LIFT)
}

/// Whether a unit means one piece, which needs no saying.
pub(super) fn is_piece(unit: &str) -> bool {
    let unit = unit.trim_end_matches('.').to_lowercase();
    matches!(
        unit.as_str(),
        "" | "st"
            | "stk"
            | "stck"
            | "stück"
            | "stueck"
            | "stücke"
            | "ea"
            | "pc"
            | "pcs"
            | "piece"
            | "pieces"
            | "c62"
            | "h87"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(kind: &str, code: &str, quantity: i64) -> Line {
        Line {
            number: "1".into(),
            kind: kind.into(),
            quantity: Some(quantity),
            name: "Hafenhell".into(),
            voided: false,
            code: code.into(),
            unit: String::new(),
            place: 1,
        }
    }
    fn head(voided: bool) -> Head {
        Head { kind: "Beleg".into(), voided, at: String::new(), printed: None, place: 2 }
    }
    fn kinds(voided: bool, referring: bool, lines: &[Line]) -> Vec<Is> {
        judge(SaleKind::Sale, &head(voided), referring, lines)
    }
    const SALE: Is = Is::Goods(SaleKind::Sale);
    const VOID: Is = Is::Goods(SaleKind::Void);
    const RETURN: Is = Is::Goods(SaleKind::Return);

    /// DSFinV-K, sections 4.2.1 to 4.2.5, as two open readers of the format quote them.
    #[test]
    fn the_forms_of_a_void_are_told_apart() {
        let sold = [line("Umsatz", "1", 2_000), line("Umsatz", "2", 1_000)];
        let turned = [line("Umsatz", "1", -2_000), line("Umsatz", "2", -1_000)];
        assert_eq!(kinds(false, false, &sold), [SALE, SALE]);
        // A later void, with the mark or only with the reference.
        assert_eq!(kinds(true, true, &turned), [VOID, VOID]);
        assert_eq!(kinds(true, false, &turned), [VOID, VOID]);
        assert_eq!(kinds(false, true, &turned), [VOID, VOID]);
        // A later void of a return.
        assert_eq!(kinds(true, true, &sold), [VOID, VOID]);
        // An immediate one.
        assert_eq!(kinds(true, false, &sold), [Is::Not(Skip::Voided); 2]);
        // A receipt that refers to its order is a sale.
        assert_eq!(kinds(false, true, &sold), [SALE, SALE]);
        // Lines: taken back as far as was sold, returned beyond that.
        let lines = [line("Umsatz", "1", 2_000), line("Umsatz", "1", -1_000), line("Umsatz", "1", -1_000)];
        assert_eq!(kinds(false, false, &lines), [SALE, VOID, VOID]);
        let lines = [line("Umsatz", "1", 1_000), line("Umsatz", "1", -2_000), line("Umsatz", "2", -1_000)];
        assert_eq!(kinds(false, false, &lines), [SALE, RETURN, RETURN]);
        assert_eq!(kinds(false, false, &[line("Umsatz", "1", -1_000)]), [RETURN]);
        let marked = Line { voided: true, ..line("Umsatz", "1", 1_000) };
        assert_eq!(kinds(false, false, &[marked, line("Umsatz", "1", -1_000)]), [Is::Not(Skip::Voided), RETURN]);
        // The void of a receipt in which a line was void turns that line too.
        let mixed = [line("Umsatz", "1", -3_000), line("Umsatz", "1", 1_000)];
        assert_eq!(kinds(true, true, &mixed), [VOID, SALE]);
    }

    #[test]
    fn money_is_told_from_goods() {
        let lines =
            ["Rabatt", "Aufschlag", "Pfand", "TrinkgeldAN", "umsatz", "Neuland"].map(|kind| line(kind, "1", 1_000));
        let want = [
            Is::Money(SaleKind::Sale),
            Is::Money(SaleKind::Sale),
            Is::Not(Skip::MoneyOnly),
            Is::Not(Skip::MoneyOnly),
            SALE,
            Is::UnknownKind,
        ];
        assert_eq!(kinds(false, false, &lines), want);
        let none = Line { quantity: None, ..line("Umsatz", "1", 0) };
        assert_eq!(kinds(false, false, &[none]), [Is::NoQuantity]);
        assert_eq!(Type::of("AVSachbezug"), Type::Counted(SaleKind::Staff));
        assert_eq!(Type::of("AVNeu"), Type::Unknown);
    }

    #[test]
    fn a_line_of_several_rates_is_one_sum_and_what_is_missing_is_reckoned() {
        let part = |line: &str, rate: &str, gross: Option<i64>, net: Option<i64>, tax: Option<i64>| {
            let nine = |amount: Option<i64>| amount.map(|hundredths| hundredths * 10_000_000);
            Part { line: line.into(), rate: rate.into(), gross: nine(gross), net: nine(net), tax: nine(tax) }
        };
        let parts = [
            part("1", "1", Some(1_190), Some(1_000), Some(190)),
            part("1", "2", Some(107), Some(100), Some(7)),
            part("2", "1", Some(1_190), None, Some(190)),
            part("3", "1", Some(1_190), None, None),
            part("4", "1", None, Some(1_000), Some(190)),
            part("5", "9", Some(100), None, None),
        ];
        let rate = |key: &str| (key == "1").then_some(190_000);
        let sums = sums(&parts, rate);
        let cents = |hundredths: i128| Some(hundredths * 10_i128.pow(super::super::super::hand::PLACES - 2));
        for (line, net, gross) in [
            ("1", cents(1_100), cents(1_297)),
            ("2", cents(1_000), cents(1_190)),
            ("3", cents(1_000), cents(1_190)),
            ("4", cents(1_000), cents(1_190)),
            ("5", None, cents(100)),
        ] {
            assert_eq!(sums[line], Sum { net, gross }, "{line}");
        }
    }
}
