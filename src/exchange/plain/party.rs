//! What the files of the bar and of its suppliers say alike: addresses and numbers of a party.

use super::cells::{Line, or_empty};
use super::text::checked;
use crate::domain::venue::{Country, EAddress, Gln, Party, VatId};

/// The columns of a party in `suppliers.csv`, and the keys of the bar's own in `venue.csv`.
pub(super) const PARTY: [&str; 5] = ["address", "country", "vat_id", "gln", "e_address"];

/// Reads one of [`PARTY`] into a party; an empty text takes away what was there. `None` for any other name.
pub(super) fn take_party(party: &mut Party, name: &str, text: &str) -> Option<Result<(), String>> {
    fn maybe<T, E: std::fmt::Display>(
        text: &str,
        read: impl FnOnce(&str) -> Result<T, E>,
        into: &mut Option<T>,
    ) -> Result<(), String> {
        *into = if text.is_empty() { None } else { Some(read(text).map_err(|e| e.to_string())?) };
        Ok(())
    }
    Some(match name {
        "address" => address(text).map(|lines| party.address = lines),
        "country" => maybe(text, Country::parse, &mut party.country),
        "vat_id" => maybe(text, VatId::parse, &mut party.vat_id),
        "gln" => maybe(text, Gln::parse, &mut party.gln),
        "e_address" => maybe(text, EAddress::parse, &mut party.e_address),
        _ => return None,
    })
}

/// The texts of [`PARTY`], as they are read.
pub(super) fn party_cells(party: &Party) -> [String; 5] {
    [
        party.plain_address(),
        or_empty(party.country, Country::code),
        or_empty(party.vat_id.as_ref(), VatId::to_string),
        or_empty(party.gln.as_ref(), Gln::to_string),
        or_empty(party.e_address.as_ref(), EAddress::to_string),
    ]
}

/// Reads the columns of a party; `None` when any was wrong, and then every wrong one was noted.
pub(super) fn party(line: &mut Line<'_>) -> Option<Party> {
    let mut party = Party::default();
    let mut right = true;
    for column in PARTY {
        right &= line.with(column, |text| take_party(&mut party, column, text).unwrap_or(Ok(()))).is_some();
    }
    right.then_some(party)
}

fn address(text: &str) -> Result<Vec<String>, String> {
    let text = checked(text).map_err(|e| e.to_string())?;
    let lines = Party::parse_address(&text).map_err(|e| e.to_string())?;
    // Each line stands in a cell of its own somewhere.
    lines.iter().map(|line| checked(line).map_err(|e| e.to_string())).collect()
}

/// One e-mail address.
pub(super) fn email(text: &str) -> Result<String, String> {
    let text = checked(text).map_err(|e| e.to_string())?;
    let parts = text.split_once('@');
    let good = parts.is_some_and(|(who, host)| !who.is_empty() && !host.is_empty() && !host.contains('@'));
    let apart = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | '<' | '>' | '"');
    if good && !text.contains(apart) {
        Ok(text)
    } else {
        Err(word!("expected one e-mail address such as orders@example.com").to_owned())
    }
}
