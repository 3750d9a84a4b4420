//! A row as the history has it.

use crate::store::StoreError;
use rusqlite::types::Value;
use serde_json::{Map, Value as Json};

/// The cells of a row by the names of its columns.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Image(pub Map<String, Json>);

impl Image {
    /// Reads what stands in the history.
    pub(super) fn parse(text: &str) -> Result<Image, StoreError> {
        match serde_json::from_str(text) {
            Ok(Json::Object(cells)) => Ok(Image(cells)),
            _ => Err(StoreError::Damaged { what: "a row of the history cannot be read".to_owned() }),
        }
    }

    /// A cell as the database takes it.
    pub(super) fn value(&self, column: &str) -> Value {
        match self.0.get(column) {
            Some(Json::String(text)) => Value::Text(text.clone()),
            Some(Json::Number(number)) => number.as_i64().map_or(Value::Null, Value::Integer),
            _ => Value::Null,
        }
    }

    /// A whole number, where the cell is one.
    pub fn number(&self, column: &str) -> Option<i64> {
        self.0.get(column).and_then(Json::as_i64)
    }

    /// A text, where the cell is one.
    pub fn text(&self, column: &str) -> Option<&str> {
        self.0.get(column).and_then(Json::as_str)
    }
}

/// How a row changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowChange {
    /// Its table.
    pub table: String,
    /// What it was; none where there was no such row.
    pub before: Option<Image>,
    /// What it is; none where there is none any more.
    pub after: Option<Image>,
}

impl RowChange {
    /// The row as it is, or as it was when it left.
    pub fn row(&self) -> Option<&Image> {
        self.after.as_ref().or(self.before.as_ref())
    }
}
