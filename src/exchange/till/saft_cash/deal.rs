//! One transaction of a file, and what its lines come to.

use super::super::element::{number, text};
use super::super::hand::PLACES;
use crate::domain::measure::decimal::round_half_even;
use crate::domain::venue::SaleKind;
use crate::exchange::ReadError;
use crate::exchange::stream::quoted;
use crate::exchange::xml::Xml;

/// Lines that a transaction may have, and bytes of their texts.
const LINES: usize = 20_000;
const BYTES: usize = 8 << 20;
/// Decimals that amounts are read with.
const READ: u32 = 9;
const LIFT: i128 = 10_i128.pow(PLACES - READ);

/// Which way a line goes (`amntTp`): the sale adds (C) or takes away (D).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Way {
    Adds,
    Takes,
}

/// A line (`ctLine`).
#[derive(Debug, Default)]
pub(super) struct Line {
    pub(super) id: String,
    pub(super) group: String,
    pub(super) article: String,
    pub(super) words: String,
    /// Thousandths.
    pub(super) quantity: Option<i64>,
    pub(super) gross: Option<i128>,
    pub(super) net: Option<i128>,
    pub(super) tax: Option<i128>,
    pub(super) way: Option<Way>,
    pub(super) date: String,
    pub(super) time: String,
    /// Discounts of the line.
    pub(super) off: i128,
}

/// A transaction.
#[derive(Debug, Default)]
pub(super) struct Deal {
    pub(super) number: String,
    pub(super) id: String,
    pub(super) kind: String,
    pub(super) gross: Option<i128>,
    pub(super) net: Option<i128>,
    pub(super) way: Option<Way>,
    pub(super) date: String,
    pub(super) time: String,
    pub(super) voided: bool,
    pub(super) training: bool,
    pub(super) lines: Vec<Line>,
    /// Discounts and surcharges of the whole transaction, by code.
    pub(super) off: Vec<(String, i128)>,
    pub(super) raised: Vec<(String, i128)>,
    /// The line of the file that it begins on.
    pub(super) place: u64,
}

impl Deal {
    /// Reads a transaction through its end.
    pub(super) fn read(xml: &mut Xml) -> Result<Deal, ReadError> {
        let mut deal = Deal { place: xml.line(), ..Deal::default() };
        let mut weight = 0;
        while xml.child()? {
            match xml.name() {
                "nr" => deal.number = text(xml)?,
                "transID" => deal.id = text(xml)?,
                "transType" => deal.kind = text(xml)?,
                "transAmntIn" => deal.gross = amount(xml)?,
                "transAmntEx" => deal.net = amount(xml)?,
                "amntTp" => deal.way = way(xml)?,
                "transDate" => deal.date = text(xml)?,
                "transTime" => deal.time = text(xml)?,
                "voidTransaction" => deal.voided = yes(xml)?,
                "trainingID" => deal.training = yes(xml)?,
                "discount" if deal.off.len() < LINES => deal.off.push(adjustment(xml, "dscTp", "dscAmnt")?),
                "raise" if deal.raised.len() < LINES => deal.raised.push(adjustment(xml, "raiseType", "raiseAmnt")?),
                "ctLine" => {
                    let line = line(xml)?;
                    weight += line.weight();
                    if deal.lines.len() >= LINES || weight > BYTES {
                        return Err(
                            xml.fail(word!("a transaction has more lines than any can have; the file is damaged"))
                        );
                    }
                    deal.lines.push(line);
                }
                _ => xml.skip()?,
            }
        }
        Ok(deal)
    }
}

impl Line {
    fn weight(&self) -> usize {
        let texts = [&self.id, &self.group, &self.article, &self.words, &self.date, &self.time];
        texts.iter().map(|text| text.len()).sum()
    }
}

fn line(xml: &mut Xml) -> Result<Line, ReadError> {
    let mut line = Line::default();
    while xml.child()? {
        match xml.name() {
            "lineID" => line.id = text(xml)?,
            "artGroupID" => line.group = text(xml)?,
            "artID" => line.article = text(xml)?,
            "cashTransLineDescr" => line.words = text(xml)?,
            "qnt" => line.quantity = number(xml, 3)?,
            "lineAmntIn" => line.gross = amount(xml)?,
            "lineAmntEx" => line.net = amount(xml)?,
            "amntTp" => line.way = way(xml)?,
            "lineDate" => line.date = text(xml)?,
            "lineTime" => line.time = text(xml)?,
            "discount" => line.off += adjustment(xml, "dscTp", "dscAmnt")?.1,
            "vat" => {
                while xml.child()? {
                    match xml.name() {
                        "vatAmnt" => {
                            if let Some(tax) = amount(xml)? {
                                line.tax = Some(line.tax.unwrap_or_default() + tax);
                            }
                        }
                        _ => xml.skip()?,
                    }
                }
            }
            _ => xml.skip()?,
        }
    }
    Ok(line)
}

fn adjustment(xml: &mut Xml, kind: &str, sum: &str) -> Result<(String, i128), ReadError> {
    let (mut code, mut value) = (String::new(), 0);
    while xml.child()? {
        match xml.name() {
            name if name == kind => code = text(xml)?,
            name if name == sum => value = amount(xml)?.unwrap_or_default(),
            _ => xml.skip()?,
        }
    }
    Ok((code, value))
}

fn amount(xml: &mut Xml) -> Result<Option<i128>, ReadError> {
    Ok(number(xml, READ)?.map(|amount| i128::from(amount) * LIFT))
}

fn way(xml: &mut Xml) -> Result<Option<Way>, ReadError> {
    let text = xml.text()?;
    match text {
        "C" | "c" => Ok(Some(Way::Adds)),
        "D" | "d" => Ok(Some(Way::Takes)),
        "" => Ok(None),
        other => {
            let other = quoted(other);
            Err(xml
                .fail(say!("read {other} in amntTp; expected C for what is sold or D for what is taken back", other)))
        }
    }
}

/// A mark: `true` or `1`, or, for `trainingID`, any name of a training.
fn yes(xml: &mut Xml) -> Result<bool, ReadError> {
    let text = xml.text()?;
    Ok(!(text.is_empty() || text == "0" || text.eq_ignore_ascii_case("false") || text.eq_ignore_ascii_case("na")))
}

/// What a line comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Worth {
    pub(super) kind: SaleKind,
    pub(super) quantity: i64,
    /// Net of tax, with its sign; nothing where that cannot be told.
    pub(super) net: Option<i128>,
    pub(super) gross: Option<i128>,
    /// The line says that it adds, but its quantity is below zero.
    pub(super) contradicts: bool,
}

/// What a line comes to. Writers do not agree whether what is taken back also carries minus signs, so the way of the line
/// gives the sign. A line that adds with a quantity below zero takes back as well. `returns`: what is taken back came
/// back from the guest, so the drink is gone; else it was never made.
pub(super) fn worth(deal: &Deal, line: &Line, quantity: i64, returns: bool) -> Worth {
    let way = line.way.or(deal.way);
    let contradicts = way == Some(Way::Adds) && quantity < 0;
    let takes = way == Some(Way::Takes) || quantity < 0;
    let signed = |amount: i128| if takes { -amount.abs() } else { amount };
    let net = line.net.or_else(|| line.gross.zip(line.tax).map(|(gross, tax)| gross.abs() - tax.abs()));
    let kind = match (takes, returns || contradicts) {
        (false, _) => SaleKind::Sale,
        (true, true) => SaleKind::Return,
        (true, false) => SaleKind::Void,
    };
    Worth {
        kind,
        quantity: if takes { quantity.saturating_abs().saturating_neg() } else { quantity },
        net: net.map(signed),
        gross: line.gross.map(signed),
        contradicts,
    }
}

/// How the amounts of the lines stand to the total of their transaction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sums {
    /// They are its parts, or nothing says what its total is.
    Agree,
    /// They are from before the discounts of the lines.
    BeforeDiscounts,
    /// A discount or a surcharge of the whole transaction is in no line.
    BesidesWhole,
    /// They differ and nothing explains it.
    Differ,
}

/// Compares the lines with the total. `raised`: surcharges of the whole that are no tips.
pub(super) fn compare(deal: &Deal, worths: &[Worth], raised: i128) -> Sums {
    let (Some(total), Some(sum)) = (deal.gross, worths.iter().map(|worth| worth.gross).sum::<Option<i128>>()) else {
        return Sums::Agree;
    };
    let total = if deal.way == Some(Way::Takes) { -total.abs() } else { total };
    let cent = 10_i128.pow(PLACES - 2);
    let near = |a: i128, b: i128| (a - b).abs() <= cent;
    if near(sum, total) {
        return Sums::Agree;
    }
    let off: i128 = deal.lines.iter().zip(worths).map(|(line, worth)| line.off * worth.quantity.signum() as i128).sum();
    let whole: i128 = deal.off.iter().map(|(_, off)| *off).sum();
    if off != 0 && near(sum - off, total) {
        Sums::BeforeDiscounts
    } else if (whole != 0 || raised != 0) && near(sum - whole + raised, total) {
        Sums::BesidesWhole
    } else {
        Sums::Differ
    }
}

/// The net of a line after its discount, which is told with tax: as much less as the gross is.
pub(super) fn after_discount(worth: &Worth, off: i128) -> Option<i128> {
    let (net, gross) = (worth.net?, worth.gross?);
    if gross == 0 || off == 0 {
        return Some(net);
    }
    // Twelve decimals of both would not fit: nine do, and the coin has at most four.
    let small = |amount: i128| amount / LIFT;
    let top = small(net).checked_mul(small(gross.abs() - off))?;
    Some(round_half_even(top, small(gross.abs()).max(1)) * LIFT)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: i128 = 10_i128.pow(PLACES);

    fn line(way: Way, gross: i128, net: i128) -> Line {
        Line { way: Some(way), gross: Some(gross * ONE), net: Some(net * ONE), ..Line::default() }
    }

    #[test]
    fn the_way_of_a_line_gives_its_sign() {
        let deal = Deal::default();
        for (way, quantity, gross, returns, want) in [
            (Way::Adds, 2_000, 100, false, (SaleKind::Sale, 2_000, 80, false)),
            (Way::Takes, 1_000, 100, false, (SaleKind::Void, -1_000, -80, false)),
            (Way::Takes, -1_000, -100, true, (SaleKind::Return, -1_000, -80, false)),
            (Way::Adds, -1_000, 100, false, (SaleKind::Return, -1_000, -80, true)),
        ] {
            let line = line(way, gross, gross * 4 / 5);
            let worth = worth(&deal, &line, quantity, returns);
            let net = worth.net.unwrap() / ONE;
            assert_eq!((worth.kind, worth.quantity, net, worth.contradicts), want, "{way:?} {quantity} {gross}");
        }
    }

    #[test]
    fn lines_before_their_discounts_are_noticed_and_brought_down() {
        let mut deal = Deal { gross: Some(90 * ONE), lines: vec![line(Way::Adds, 100, 80)], ..Deal::default() };
        deal.lines[0].off = 10 * ONE;
        let worths = [worth(&deal, &deal.lines[0], 1_000, false)];
        assert_eq!(compare(&deal, &worths, 0), Sums::BeforeDiscounts);
        assert_eq!(after_discount(&worths[0], 10 * ONE), Some(72 * ONE));
        deal.gross = Some(100 * ONE);
        assert_eq!(compare(&deal, &worths, 0), Sums::Agree);
        deal.gross = Some(95 * ONE);
        assert_eq!(compare(&deal, &worths, 0), Sums::Differ);
        deal.off.push((String::new(), 5 * ONE));
        assert_eq!(compare(&deal, &worths, 0), Sums::BesidesWhole);
    }
}
