//! What a book of a version consists of, as its own migrations make it.

use crate::store::error::Doing;
use crate::store::{STEPS, StoreError, history};
use rusqlite::types::Value;
use rusqlite::{Connection, named_params};
use std::collections::HashMap;

const DOING: &str = "looking up what a book consists of";

/// The tables of a version.
#[derive(Debug)]
pub(super) struct Plan {
    /// How many steps made it.
    pub(super) version: usize,
    pub(super) tables: Vec<Table>,
    /// Every object by its name, as it is written down, and the page on which it begins in a new book.
    pub(super) objects: HashMap<String, (String, u32)>,
}

/// On which page each object begins.
pub(super) type Roots = HashMap<String, u32>;

impl Plan {
    /// Where its trees begin in a book that was made at its version.
    pub(super) fn roots(&self) -> Roots {
        let rooted = self.objects.iter().filter(|(_, (_, root))| *root > 1);
        rooted.map(|(name, (_, root))| (name.clone(), *root)).collect()
    }
}

/// A table.
#[derive(Debug)]
pub(super) struct Table {
    pub(super) name: String,
    pub(super) columns: Vec<Column>,
    /// The columns in the order in which a record has them.
    pub(super) stored: Vec<usize>,
    /// The column that is the row's number, where one is.
    pub(super) number: Option<usize>,
    /// Whether rows are found by their key alone: a tree of records.
    pub(super) keyed: bool,
    /// The columns of the key of such a table.
    pub(super) key: Vec<usize>,
    /// How many columns its rows had when it was new: those that came later may be missing from a record.
    pub(super) least: usize,
    pub(super) indexes: Vec<Index>,
}

/// A column.
#[derive(Debug)]
pub(super) struct Column {
    pub(super) name: String,
    kind: Kind,
    not_null: bool,
    /// What it says where a record does not have it.
    default: Value,
}

/// An index.
#[derive(Debug)]
pub(super) struct Index {
    pub(super) name: String,
    /// Its columns in the order of its records; none for the row's number.
    pub(super) columns: Vec<Option<usize>>,
    /// Whether it has every row, by columns and nothing else.
    pub(super) plain: bool,
    /// Whether no two rows may say the same in its columns.
    pub(super) unique: bool,
}

/// What a column may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Integer,
    Real,
    Text,
    Blob,
    Any,
}

impl Kind {
    fn of(word: &str) -> Kind {
        match word.to_ascii_uppercase().as_str() {
            "INTEGER" | "INT" => Kind::Integer,
            "REAL" => Kind::Real,
            "TEXT" => Kind::Text,
            "BLOB" => Kind::Blob,
            _ => Kind::Any,
        }
    }

    fn holds(self, value: &Value) -> bool {
        match (self, value) {
            // No text in a book has a character of no meaning: where there is one, zeros stand instead of what was written.
            (_, Value::Text(text)) if text.contains('\0') => false,
            (Kind::Any, _)
            | (_, Value::Null)
            | (Kind::Integer | Kind::Real, Value::Integer(_))
            | (Kind::Real, Value::Real(_))
            | (Kind::Text, Value::Text(_))
            | (Kind::Blob, Value::Blob(_)) => true,
            _ => false,
        }
    }
}

impl Table {
    /// The table in which every book says what it consists of.
    pub(super) fn of_objects() -> Table {
        let column = |(name, kind, not_null): (&str, Kind, bool)| Column {
            name: name.to_owned(),
            kind,
            not_null,
            default: Value::Null,
        };
        let columns = [
            ("type", Kind::Text, true),
            ("name", Kind::Text, true),
            ("tbl_name", Kind::Text, true),
            ("rootpage", Kind::Integer, false),
            ("sql", Kind::Text, false),
        ];
        Table {
            name: "sqlite_schema".to_owned(),
            columns: columns.map(column).into(),
            stored: (0..columns.len()).collect(),
            number: None,
            keyed: false,
            key: Vec::new(),
            least: columns.len(),
            indexes: Vec::new(),
        }
    }

    /// The columns by which a row is known: its number, or its key; none when it has neither.
    pub(super) fn identity(&self) -> Option<Vec<usize>> {
        if self.keyed { Some(self.key.clone()) } else { self.number.map(|number| vec![number]) }
    }

    /// The values of a record by the columns of the table; none when it is no row of it.
    pub(super) fn row(&self, rowid: i64, record: Vec<Value>) -> Option<Vec<Value>> {
        if !(self.least..=self.stored.len()).contains(&record.len()) {
            return None;
        }
        let mut row: Vec<Value> = self.columns.iter().map(|column| column.default.clone()).collect();
        for (place, value) in self.stored.iter().zip(record) {
            row[*place] = value;
        }
        if let Some(number) = self.number {
            // A record leaves it empty: it stands before the record.
            if std::mem::replace(&mut row[number], Value::Integer(rowid)) != Value::Null {
                return None;
            }
        }
        let fits = |(column, value): (&Column, &Value)| {
            column.kind.holds(value) && !(column.not_null && *value == Value::Null)
        };
        self.columns.iter().zip(&row).all(fits).then_some(row)
    }

    /// Whether a record is one of an index of this table.
    pub(super) fn is_of(&self, index: &Index, record: &[Value]) -> bool {
        let fits = |(place, value): (&Option<usize>, &Value)| match place {
            Some(place) => self.columns[*place].kind.holds(value),
            None => matches!(value, Value::Integer(_)),
        };
        record.len() == index.columns.len() && (!index.plain || index.columns.iter().zip(record).all(fits))
    }
}

/// What every version of a book consists of, the first version first.
///
/// # Errors
/// [`StoreError`] when a step cannot be run.
pub(super) fn all() -> Result<Vec<Plan>, StoreError> {
    let conn = Connection::open_in_memory().doing(DOING)?;
    let mut least = HashMap::new();
    let mut plans = Vec::new();
    for (done, step) in STEPS.iter().enumerate() {
        conn.execute_batch(step).doing(DOING)?;
        history::watch_if_told(&conn)?;
        plans.push(plan(&conn, done + 1, &mut least)?);
    }
    Ok(plans)
}

/// Where trees begin in a compact copy of a book of a version: all of them are made before the first row is copied.
///
/// # Errors
/// [`StoreError`] when a step cannot be run.
pub(super) fn compact_roots(version: usize) -> Result<Roots, StoreError> {
    let conn = Connection::open_in_memory().doing(DOING)?;
    STEPS.iter().take(version).try_for_each(|step| conn.execute_batch(step)).doing(DOING)?;
    conn.execute_batch("VACUUM").doing(DOING)?;
    let mut statement = conn.prepare("SELECT name, rootpage FROM sqlite_schema WHERE rootpage > 1").doing(DOING)?;
    let rows = statement.query_map([], |row| Ok((row.get("name")?, row.get("rootpage")?))).doing(DOING)?;
    rows.collect::<rusqlite::Result<_>>().doing(DOING)
}

fn plan(conn: &Connection, version: usize, least: &mut HashMap<String, usize>) -> Result<Plan, StoreError> {
    let mut statement = conn.prepare("SELECT name, sql, rootpage FROM sqlite_schema").doing(DOING)?;
    let rows = statement
        .query_map([], |row| {
            let sql: Option<String> = row.get("sql")?;
            Ok((row.get("name")?, (sql.unwrap_or_default(), row.get("rootpage")?)))
        })
        .doing(DOING)?;
    let objects = rows.collect::<rusqlite::Result<HashMap<_, _>>>().doing(DOING)?;
    let mut statement = conn
        .prepare(
            "SELECT name, wr FROM pragma_table_list
             WHERE schema = 'main' AND type = 'table' AND name <> 'sqlite_schema' ORDER BY name",
        )
        .doing(DOING)?;
    let named = statement.query_map([], |row| Ok((row.get("name")?, row.get("wr")?))).doing(DOING)?;
    let named: Vec<(String, bool)> = named.collect::<rusqlite::Result<_>>().doing(DOING)?;
    let tables = named.into_iter().map(|(name, keyed)| table(conn, name, keyed, least));
    Ok(Plan { version, tables: tables.collect::<Result<_, _>>()?, objects })
}

fn table(
    conn: &Connection,
    name: String,
    keyed: bool,
    least: &mut HashMap<String, usize>,
) -> Result<Table, StoreError> {
    let mut statement = conn
        .prepare("SELECT name, type, \"notnull\" AS needed, dflt_value AS usual, pk FROM pragma_table_info(:table)")
        .doing(DOING)?;
    let rows = statement
        .query_map(named_params! { ":table": name }, |row| {
            let kind: String = row.get("type")?;
            let usual: Option<String> = row.get("usual")?;
            let default = match usual {
                Some(expression) => {
                    conn.query_row(&format!("SELECT {expression} AS usual"), [], |row| row.get("usual"))?
                }
                None => Value::Null,
            };
            let pk: i64 = row.get("pk")?;
            Ok((Column { name: row.get("name")?, kind: Kind::of(&kind), not_null: row.get("needed")?, default }, pk))
        })
        .doing(DOING)?;
    let (columns, keys): (Vec<Column>, Vec<i64>) =
        rows.collect::<rusqlite::Result<Vec<_>>>().doing(DOING)?.into_iter().unzip();
    let mut key: Vec<usize> = (0..columns.len()).filter(|n| keys[*n] > 0).collect();
    key.sort_by_key(|n| keys[*n]);
    let number = match key[..] {
        [one] if !keyed && columns[one].kind == Kind::Integer => Some(one),
        _ => None,
    };
    let rest = (0..columns.len()).filter(|n| keys[*n] == 0);
    let stored = if keyed { key.iter().copied().chain(rest).collect() } else { (0..columns.len()).collect() };
    let least = *least.entry(name.clone()).or_insert(columns.len());
    let indexes = indexes(conn, &name)?;
    Ok(Table { name, columns, stored, number, keyed, key, least, indexes })
}

fn indexes(conn: &Connection, table: &str) -> Result<Vec<Index>, StoreError> {
    let mut statement = conn
        .prepare(
            "SELECT name, partial, \"unique\" AS only FROM pragma_index_list(:table)
             WHERE name IN (SELECT name FROM sqlite_schema) ORDER BY name",
        )
        .doing(DOING)?;
    let named = statement
        .query_map(named_params! { ":table": table }, |row| {
            Ok((row.get("name")?, row.get("partial")?, row.get("only")?))
        })
        .doing(DOING)?;
    let named: Vec<(String, bool, bool)> = named.collect::<rusqlite::Result<_>>().doing(DOING)?;
    let mut statement = conn.prepare("SELECT cid FROM pragma_index_xinfo(:index) ORDER BY seqno").doing(DOING)?;
    named
        .into_iter()
        .map(|(name, partial, unique)| {
            let places = statement.query_map(named_params! { ":index": name }, |row| row.get("cid")).doing(DOING)?;
            let places: Vec<i64> = places.collect::<rusqlite::Result<_>>().doing(DOING)?;
            // −1 is the row's number, −2 an expression.
            let plain = !partial && places.iter().all(|place| *place >= -1);
            let columns = places.into_iter().map(|place| usize::try_from(place).ok()).collect();
            Ok(Index { name, columns, plain, unique })
        })
        .collect()
}
