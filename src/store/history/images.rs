//! Rows as the history has them, out of JSON and back into cells.

use crate::domain::ledger::Image;
use crate::store::StoreError;
use rusqlite::types::Value;
use serde_json::Value as Json;

/// Reads a row of the history.
pub(super) fn parse(text: &str) -> Result<Image, StoreError> {
    match serde_json::from_str(text) {
        Ok(Json::Object(cells)) => Ok(Image(cells)),
        _ => Err(StoreError::Damaged { what: "a row of the history cannot be read".to_owned() }),
    }
}

/// The same, where there is one.
pub(super) fn parse_any(text: Option<String>) -> Result<Option<Image>, StoreError> {
    text.map(|text| parse(&text)).transpose()
}

/// A cell as the database takes it.
pub(super) fn cell(image: &Image, column: &str) -> Value {
    match image.0.get(column) {
        Some(Json::String(text)) => Value::Text(text.clone()),
        Some(Json::Number(number)) => number.as_i64().map_or(Value::Null, Value::Integer),
        _ => Value::Null,
    }
}
