//! References in texts and attributes: characters and the five entities that XML itself defines, and no other.

use super::unsound;
use crate::exchange::stream::quoted;
use quick_xml::events::BytesRef;

/// A character reference or one of the five predefined entities.
pub(super) fn resolved(entity: &BytesRef<'_>) -> Result<char, String> {
    if let Some(c) = entity.resolve_char_ref().map_err(|error| unsound(&error))? {
        return Ok(c);
    }
    let name = entity.borrow().into_inner();
    predefined(&name).ok_or_else(|| unknown_entity(&name))
}

fn predefined(name: &str) -> Option<char> {
    match name {
        "amp" => Some('&'),
        "lt" => Some('<'),
        "gt" => Some('>'),
        "quot" => Some('"'),
        "apos" => Some('\''),
        _ => None,
    }
}

fn unknown_entity(name: &str) -> String {
    say!(
        "the entity {quoted} is not known here; only the five of XML and character references are read",
        quoted = quoted(name)
    )
}

/// The value of an attribute with its references resolved.
pub(super) fn unescaped(value: &str) -> Result<String, String> {
    let mut out = String::with_capacity(value.len());
    let mut rest = value;
    while let Some((before, after)) = rest.split_once('&') {
        out.push_str(before);
        let (name, after) = after.split_once(';').ok_or_else(|| unknown_entity(after))?;
        out.push(resolved(&BytesRef::new(name))?);
        rest = after;
    }
    out.push_str(rest);
    Ok(out)
}
