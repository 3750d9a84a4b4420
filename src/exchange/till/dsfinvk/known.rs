//! What an export says before its first line: its closings, its coin, its rates of tax, which receipts refer to others.

use super::follow::{self, Key, Seen, key};
use super::receipt::Rates;
use super::table::Table;
use super::{CLOSINGS, Export, RATES, RECEIPTS_AT_MOST, REFERENCES, REGISTERS};
use crate::exchange::ReadError;
use crate::exchange::stream::quoted;
use crate::exchange::till::Taker;
use crate::exchange::till::hand::{self, Hand};
use chrono::NaiveDate;
use std::collections::HashMap;

/// Closings, and rates of them.
const CLOSINGS_AT_MOST: usize = 300_000;

/// What is known before the first line.
pub(super) struct Known {
    /// Business days by closing.
    pub(super) days: HashMap<u64, Option<NaiveDate>>,
    pub(super) rates: Rates,
    /// Receipts that refer to another one.
    pub(super) referring: Seen,
}

impl Known {
    pub(super) fn read<T: Taker>(export: &Export<'_>, hand: &mut Hand<'_, T>) -> Result<Known, T::Error> {
        let mut known = Known { days: HashMap::new(), rates: Rates::new(), referring: Seen::default() };
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "Z_BUCHUNGSTAG", "NAME"];
        if let Some(mut table) = export.table(CLOSINGS, columns, 3, hand)? {
            while table.advance()? {
                whole_number(&mut table)?;
                let text = table.text(3)?;
                let day = match text.is_empty() {
                    true => None,
                    false => Some(hand::date(&text).ok_or_else(|| {
                        table.fail(say!(
                            "read {quoted} as the business day; expected a date such as 2026-03-06",
                            quoted = quoted(&text)
                        ))
                    })?),
                };
                if known.days.insert(closing_of(&table), day).is_some() {
                    return Err(table.fail(word!("this closing stands here a second time")).into());
                }
                if hand.passed.from.is_none() {
                    hand.passed.from = hand.some(&table.text(4)?);
                }
                if known.days.len() > CLOSINGS_AT_MOST {
                    return Err(too_much(&table).into());
                }
                hand.pace()?;
            }
        }
        let mut named = false;
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "KASSE_BASISWAEH_CODE"];
        if let Some(mut table) = export.table(REGISTERS, columns, 0, hand)? {
            while table.advance()? {
                let coin = table.text(3)?;
                if !coin.is_empty() {
                    hand::same_coin(&hand.terms, &coin).map_err(|what| table.fail(what))?;
                    named = true;
                }
                hand.pace()?;
            }
        }
        if !named {
            // The export is that of a law of the euro zone.
            hand::same_coin(&hand.terms, "EUR").map_err(|what| hand.refuse(what))?;
        }
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "UST_SCHLUESSEL", "UST_SATZ"];
        if let Some(mut table) = export.table(RATES, columns, 5, hand)? {
            while table.advance()? {
                if let Some(rate) = table.number(4, 4)? {
                    let key = follow::print(table.text(3)?.as_bytes());
                    known.rates.insert((closing_of(&table), key), rate);
                }
                if known.rates.len() > CLOSINGS_AT_MOST {
                    return Err(too_much(&table).into());
                }
                hand.pace()?;
            }
        }
        let columns = &["Z_KASSE_ID", "Z_ERSTELLUNG", "Z_NR", "BON_ID", "REF_TYP"];
        if let Some(mut table) = export.table(REFERENCES, columns, 5, hand)? {
            let mut of = Key::new();
            while table.advance()? {
                if table.raw(4).eq_ignore_ascii_case(b"Transaktion") {
                    key(&table, &mut of);
                    known.referring.insert(&of);
                }
                if known.referring.len() > RECEIPTS_AT_MOST {
                    return Err(too_much(&table).into());
                }
                hand.pace()?;
            }
        }
        Ok(known)
    }
}

pub(super) fn too_much(table: &Table) -> ReadError {
    table.fail(word!("there is too much in this export to keep in mind; have the till export fewer days at a time"))
}

/// The closing of the row at hand, as 64 bits.
fn closing_of(table: &Table) -> u64 {
    let mut of = Key::new();
    key(table, &mut of);
    closing_in(&of)
}

/// The closing in a key: all of it but the last part.
pub(super) fn closing_in(of: &[u8]) -> u64 {
    let ends = of.iter().rposition(|byte| *byte == 0).unwrap_or(of.len());
    follow::print(&of[..ends])
}

/// The number of a closing counts up from the first.
pub(super) fn whole_number(table: &mut Table) -> Result<(), ReadError> {
    match table.count(2)? {
        Some(number) if number >= 0 && number % 1_000 == 0 => Ok(()),
        _ => {
            let cell = quoted(&String::from_utf8_lossy(table.raw(2)));
            Err(table.fail(say!("read {cell} as the number of a closing (Z_NR); expected a whole number from 0", cell)))
        }
    }
}
