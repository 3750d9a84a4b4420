//! Elements of statutory XML files as texts and numbers.

use crate::domain::measure::Decimal;
use crate::exchange::ReadError;
use crate::exchange::stream::quoted;
use crate::exchange::xml::Xml;

/// Letters kept of a text.
pub(super) const LONGEST: usize = 500;

/// The text of an element.
pub(super) fn text(xml: &mut Xml) -> Result<String, ReadError> {
    Ok(xml.text()?.chars().take(LONGEST).collect())
}

/// The number in an element, in units of `10^-places`; nothing for an empty one.
pub(super) fn number(xml: &mut Xml, places: u32) -> Result<Option<i64>, ReadError> {
    let name = xml.name().to_owned();
    let text = xml.text()?;
    if text.is_empty() {
        return Ok(None);
    }
    match Decimal::parse(text).and_then(|number| number.scaled(10_i128.pow(places), 1)) {
        Ok(number) => Ok(Some(number)),
        Err(_) => {
            let text = quoted(text);
            Err(xml.fail(say!(
                "read {text} in {name}; expected a number such as 1.5, with a decimal point",
                text,
                name
            )))
        }
    }
}
