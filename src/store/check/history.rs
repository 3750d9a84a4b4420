//! What was edited behind the program's back, in words.

use super::Finding;
use crate::domain::ledger::Image;
use crate::store::StoreError;
use crate::store::history::{Edited, edited};
use rusqlite::Connection;
use serde_json::Value;

/// Everything that is not as it was entered.
pub(super) fn all(conn: &Connection) -> Result<Vec<Finding>, StoreError> {
    Ok(edited(conn)?.into_iter().map(|edited| Finding::Edited(said(&edited))).collect())
}

fn said(edited: &Edited) -> String {
    match edited {
        Edited::Act(act) => {
            let who = act.by.as_deref().map(|by| format!(" by {by}")).unwrap_or_default();
            let at = act.at.utc();
            format!(
                "what was entered in act {} of the history ({}{who}, {at}) was changed behind the program's back, or one of its \
                 counted lines was",
                act.id.0, act.deed
            )
        }
        Edited::Row { table, told: Some(told), stands: Some(stands) } => {
            let differ = told.0.iter().filter(|(column, cell)| stands.0.get(*column) != Some(cell));
            let differ: Vec<String> = differ
                .map(|(column, cell)| {
                    format!("{column} is {}, not {}", cell_said(stands.0.get(column)), cell_said(Some(cell)))
                })
                .collect();
            format!("{} was changed behind the program's back: {}", row_said(table, told), differ.join(", "))
        }
        Edited::Row { table, told: Some(told), .. } => {
            format!("{} was taken away behind the program's back", row_said(table, told))
        }
        Edited::Row { table, stands, .. } => {
            let row = row_said(table, stands.as_ref().unwrap_or(&Image::default()));
            format!("{row} was put in behind the program's back")
        }
        Edited::Sales { told, stand } if told == stand => {
            format!(
                "lines of sales were changed behind the program's back; there are {stand} of them as there should be"
            )
        }
        Edited::Sales { told, stand } => format!(
            "lines of sales were added or taken away behind the program's back: {told} were taken in, and there are {stand}"
        ),
        Edited::Foreign(act) => format!(
            "another program changed the book before {}: act {} of the history has all of it (`tantalus history --act {}`)",
            act.at.utc(),
            act.id.0,
            act.id.0
        ),
        Edited::More(1) => "1 more row was changed behind the program's back".to_owned(),
        Edited::More(rows) => format!("{rows} more rows were changed behind the program's back"),
        Edited::Untold(rows) => format!("{rows} rows were put in that no act of the history tells of"),
    }
}

/// A row by its table and what tells it best: `item row 3 “Gin”`.
fn row_said(table: &str, row: &Image) -> String {
    let number = ["id", "seq"].iter().find_map(|column| row.number(column));
    let name = ["name", "initials", "key", "document", "number"].iter().find_map(|column| row.text(column));
    let number = number.map(|number| format!(" row {number}")).unwrap_or_else(|| " row".to_owned());
    let name = name.map(|name| format!(" “{}”", name.escape_debug())).unwrap_or_default();
    format!("{table}{number}{name}")
}

fn cell_said(cell: Option<&Value>) -> String {
    match cell {
        None | Some(Value::Null) => "nothing".to_owned(),
        Some(Value::String(text)) => format!("“{}”", text.escape_debug()),
        Some(other) => other.to_string(),
    }
}
