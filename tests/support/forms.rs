//! JSON of the commands against its description in `docs/json.md`.

#![allow(dead_code, clippy::unwrap_used)]

use serde_json::Value;
use std::collections::BTreeSet;

/// The path of every leaf; money is one.
pub(crate) fn paths(value: &Value, here: &str, out: &mut BTreeSet<String>) {
    match value {
        Value::Object(fields) if fields.contains_key("minor") => {
            assert!(fields.keys().eq(["currency", "minor", "text"]), "{here}: {fields:?}");
            out.insert(here.to_owned());
        }
        Value::Object(fields) => {
            for (name, field) in fields {
                let dot = if here.is_empty() { "" } else { "." };
                paths(field, &format!("{here}{dot}{name}"), out);
            }
        }
        Value::Array(all) => all.iter().for_each(|one| paths(one, &format!("{here}[]"), out)),
        _ => {
            out.insert(here.to_owned());
        }
    }
}

/// The paths that the description of a form names.
pub(crate) fn told(name: &str) -> BTreeSet<String> {
    let docs = include_str!("../../docs/json.md");
    let section = docs.split("\n## ").find(|s| s.starts_with(&format!("`{name}`\n"))).expect(name);
    section.lines().filter_map(|l| Some(l.strip_prefix("| `")?.split_once('`')?.0.to_owned())).collect()
}
