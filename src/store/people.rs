//! Who may see and do what: roles, and PINs that tell who is at the screen.

use super::error::Doing;
use super::query::all;
use super::{StoreError, copies, counts, setup};
use crate::domain::venue::{Rights, Role, name_key};
use argon2::password_hash::{PasswordHasher, PasswordVerifier, phc::PasswordHash};
use argon2::{Argon2, Params};
use rusqlite::{Connection, OptionalExtension, named_params};
use std::path::Path;

/// Somebody at a terminal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Who {
    /// As the book has them.
    pub initials: String,
    /// Whether the PIN was given.
    pub proven: bool,
}

/// Tables of the connection alone: who is at its terminal, and what they may see whatever the book says of them.
pub(super) const TERMINAL: &str = "CREATE TEMP TABLE terminal (initials TEXT NOT NULL, proven INTEGER NOT NULL) STRICT;
    CREATE TEMP TABLE bound (rights TEXT NOT NULL) STRICT;";

/// Who is at the terminal of a connection.
///
/// # Errors
/// [`StoreError`].
pub(super) fn who(conn: &Connection) -> Result<Option<Who>, StoreError> {
    conn.prepare_cached("SELECT initials, proven FROM temp.terminal")
        .and_then(|mut s| {
            s.query_row([], |row| Ok(Who { initials: row.get("initials")?, proven: row.get("proven")? })).optional()
        })
        .doing("looking who is at this terminal")
}

/// Says who is at the terminal of a connection.
pub(super) fn sign_in(conn: &Connection, who: Option<&Who>) -> Result<(), StoreError> {
    let doing = "signing in";
    conn.execute("DELETE FROM temp.terminal", []).doing(doing)?;
    if let Some(who) = who {
        let params = named_params! { ":initials": who.initials, ":proven": who.proven };
        conn.execute("INSERT INTO temp.terminal (initials, proven) VALUES (:initials, :proven)", params)
            .doing(doing)?;
    }
    Ok(())
}

/// The rights that whoever is at the terminal has whatever this book says of them; none where it is asked.
///
/// # Errors
/// [`StoreError`].
pub(super) fn bound(conn: &Connection) -> Result<Option<Rights>, StoreError> {
    conn.prepare_cached("SELECT rights FROM temp.bound")
        .and_then(|mut s| s.query_row([], |row| row.get("rights")).optional())
        .doing("looking what may be seen at this terminal")
}

/// Binds a connection to the rights that somebody has in another book: what was known of people long ago says nothing of
/// what they may see now.
pub(super) fn bind(conn: &Connection, rights: Rights) -> Result<(), StoreError> {
    let doing = "saying what may be seen at this terminal";
    conn.execute("DELETE FROM temp.bound", []).doing(doing)?;
    conn.execute("INSERT INTO temp.bound (rights) VALUES (:rights)", named_params! { ":rights": rights })
        .doing(doing)
        .map(|_| ())
}

/// The initials of whoever is at the terminal.
///
/// # Errors
/// [`StoreError`].
pub fn signed(conn: &Connection) -> Result<Option<String>, StoreError> {
    Ok(who(conn)?.map(|who| who.initials))
}

/// What whoever is at the terminal may see and do: everything as long as the book knows no manager. Once it does, a counter sees no costs; and
/// once a manager has a PIN, nobody else does who has not given one. While a blind count goes on, whoever sees no costs sees no stock either.
///
/// # Errors
/// [`StoreError`].
pub fn rights(conn: &Connection) -> Result<Rights, StoreError> {
    if let Some(bound) = bound(conn)? {
        return Ok(bound);
    }
    let who = who(conn)?;
    let sql = "SELECT p.initials, p.role, n.hash IS NOT NULL AS pin FROM person p
        LEFT JOIN person_pin n ON n.initials = p.initials";
    let people: Vec<(String, Role, bool)> = all("reading who may do what", conn, sql, [], |row| {
        Ok((row.get("initials")?, row.get("role")?, row.get("pin")?))
    })?;
    let guarded = people.iter().any(|(_, role, pin)| *role == Role::Manager && *pin);
    if !people.iter().any(|(_, role, _)| *role == Role::Manager) {
        return Ok(Rights::Everything);
    }
    let person = who.as_ref().and_then(|who| people.iter().find(|(initials, ..)| *initials == who.initials));
    let everything = match (person, &who) {
        (Some((_, Role::Manager, _)), Some(who)) => !guarded || who.proven,
        (Some((_, Role::Counter, _)), _) => false,
        _ => !guarded,
    };
    Ok(match everything {
        true => Rights::Everything,
        false if counts::is_blind(conn)? => Rights::NoStock,
        false => Rights::NoCosts,
    })
}

/// The rights that somebody would have in the book at `path`, with the PIN where they gave one. The file is only read, so that
/// a damaged one stays as it is.
///
/// # Errors
/// [`StoreError`]: it cannot be read, so that there is nobody to ask.
pub fn rights_in(path: &Path, by: Option<&str>, given: Option<&str>) -> Result<Rights, StoreError> {
    // An empty file is refused here: the engine would take its log away.
    let conn = copies::open(path)?;
    conn.execute_batch(TERMINAL).doing("looking who may do what")?;
    let known = setup::people(&conn)?.into_iter().map(|person| person.initials);
    let by = by.and_then(|by| known.into_iter().find(|initials| name_key(initials) == name_key(by)));
    if let Some(initials) = by {
        let hash = pin(&conn, &initials)?;
        let proven = hash.is_some_and(|hash| given.is_some_and(|given| is_right(given.trim(), &hash)));
        sign_in(&conn, Some(&Who { initials, proven }))?;
    }
    rights(&conn)
}

/// The hash of somebody's PIN, where they have one.
///
/// # Errors
/// [`StoreError`].
pub fn pin(conn: &Connection, initials: &str) -> Result<Option<String>, StoreError> {
    conn.prepare_cached("SELECT hash FROM person_pin WHERE initials = :initials")
        .and_then(|mut s| s.query_row(named_params! { ":initials": initials }, |row| row.get("hash")).optional())
        .doing("looking for a PIN")
}

/// Whether anything in the book is signed by somebody.
///
/// # Errors
/// [`StoreError`].
pub fn has_signed(conn: &Connection, initials: &str) -> Result<bool, StoreError> {
    let doing = "looking what somebody signed";
    let sql =
        "SELECT m.name FROM sqlite_schema m, pragma_table_info(m.name) c WHERE m.type = 'table' AND c.name = 'by'";
    for table in all(doing, conn, sql, [], |row| row.get::<_, String>("name"))? {
        let sql = format!("SELECT EXISTS (SELECT 1 FROM \"{table}\" WHERE by = :initials)");
        if conn.query_row(&sql, named_params! { ":initials": initials }, |row| row.get(0)).doing(doing)? {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Who has a PIN.
///
/// # Errors
/// [`StoreError`].
pub fn with_pin(conn: &Connection) -> Result<Vec<String>, StoreError> {
    all("looking who has a PIN", conn, "SELECT initials FROM person_pin ORDER BY initials", [], |row| {
        row.get("initials")
    })
}

/// Keeps the hash of somebody's PIN, or takes it away.
///
/// # Errors
/// [`StoreError`].
pub fn set_pin(conn: &Connection, initials: &str, hash: Option<&str>) -> Result<(), StoreError> {
    let doing = "keeping a PIN";
    match hash {
        Some(hash) => conn
            .prepare_cached(
                "INSERT INTO person_pin (initials, hash) VALUES (:initials, :hash)
                 ON CONFLICT (initials) DO UPDATE SET hash = excluded.hash",
            )
            .and_then(|mut s| s.execute(named_params! { ":initials": initials, ":hash": hash }))
            .doing(doing)?,
        None => conn
            .prepare_cached("DELETE FROM person_pin WHERE initials = :initials")
            .and_then(|mut s| s.execute(named_params! { ":initials": initials }))
            .doing(doing)?,
    };
    Ok(())
}

/// What a guess costs: 19 MiB, two passes, one lane, as OWASP's cheat sheet on keeping passwords has it for Argon2id (from
/// memory). Some thirty milliseconds, which nobody at the screen feels.
fn argon() -> Argon2<'static> {
    let params = Params::new(19 * 1024, 2, 1, None).unwrap_or_default();
    Argon2::new(argon2::Algorithm::Argon2id, argon2::Version::V0x13, params)
}

/// The hash of a PIN, with a salt of its own.
///
/// # Errors
/// [`StoreError::Pin`] when the system gives no randomness.
pub fn hash(pin: &str) -> Result<String, StoreError> {
    argon().hash_password(pin.as_bytes()).map(|hash| hash.to_string()).map_err(|why| StoreError::Pin(why.to_string()))
}

/// Whether a PIN is the one of a hash.
pub fn is_right(pin: &str, hash: &str) -> bool {
    PasswordHash::new(hash).is_ok_and(|hash| argon().verify_password(pin.as_bytes(), &hash).is_ok())
}
