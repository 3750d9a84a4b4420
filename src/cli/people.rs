//! `tantalus people`: who signs here, and their PINs.

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, pin};
use crate::clock;
use crate::desk::people;
use crate::domain::rows::PersonRow;
use crate::domain::venue::{Person, Role};
use serde::Serialize;

/// Show who signs here; take somebody in, set a PIN
///
/// Once the book knows a manager, a counter sees no costs and prices and changes no set-up. Once a manager has a PIN, nobody
/// does who has not given one. A PIN tells who is at the screen; it does not protect the file from somebody who copies it.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(super) struct Args {
    /// Write JSON
    #[arg(long)]
    json: bool,
    #[command(subcommand)]
    change: Option<Change>,
}

#[derive(Debug, clap::Subcommand)]
enum Change {
    /// Take somebody in, or change their name or role
    Add {
        /// What they sign with
        #[arg(value_name = "INITIALS")]
        initials: String,
        /// Their name
        #[arg(long, value_name = "NAME")]
        name: Option<String>,
        /// Counter or manager
        #[arg(long, value_name = "ROLE", default_value = "counter", value_parser = |text: &str| Role::parse(text).map_err(|e| e.to_string()))]
        role: Role,
    },
    /// Set somebody's PIN, which is asked for
    Pin {
        /// Whose
        #[arg(value_name = "INITIALS")]
        initials: String,
        /// Take the PIN away
        #[arg(long)]
        none: bool,
        /// Take a PIN away that nobody remembers; the history tells of it
        #[arg(long, conflicts_with = "none")]
        forgotten: bool,
    },
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    people: Vec<PersonForm>,
}

/// Somebody as JSON.
#[derive(Debug, Serialize)]
struct PersonForm {
    initials: String,
    name: Option<String>,
    role: &'static str,
    pin: bool,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open()?;
    let now = clock::started();
    match &args.change {
        Some(Change::Add { initials, name, role }) => {
            let person = Person { initials: initials.clone(), name: name.clone(), role: *role };
            people::put(&store, &person, now)?;
            Ok(said(format!("{} signs here, as {role}.", initials.trim())))
        }
        Some(Change::Pin { initials, forgotten: true, .. }) => {
            let who = people::forget_pin(&store, initials, now)?;
            Ok(said(format!("The PIN of {who} is taken away, and the history tells of it. Set a new one now.")))
        }
        Some(Change::Pin { initials, none: true, .. }) => {
            let who = people::set_pin(&store, initials, None, now)?;
            Ok(said(format!("{who} has no PIN any more.")))
        }
        Some(Change::Pin { initials, .. }) => {
            let typed = pin::new(initials)?;
            let who = people::set_pin(&store, initials, Some(&typed), now)?;
            Ok(said(format!("The PIN of {who} is set.")))
        }
        None => {
            let all = people::list(&store)?;
            if args.json { json::text(&form(&all)) } else { Ok(page(&all)) }
        }
    }
}

fn said(text: String) -> String {
    let mut page = Page::new();
    page.line(text);
    page.finish()
}

fn form(all: &[PersonRow]) -> Form {
    let person = |row: &PersonRow| PersonForm {
        initials: row.person.initials.clone(),
        name: row.person.name.clone(),
        role: row.person.role.word(),
        pin: row.has_pin,
    };
    Form { form: FORM, people: all.iter().map(person).collect() }
}

fn page(all: &[PersonRow]) -> String {
    let mut page = Page::new();
    if all.is_empty() {
        page.line("The book knows nobody yet: `tantalus people add` takes somebody in.");
        return page.finish();
    }
    let mut table =
        Table::new([("signs as", Set::Words), ("name", Set::Name), ("role", Set::Words), ("PIN", Set::Words)]);
    for row in all {
        table.row([
            row.person.initials.clone(),
            row.person.name.clone().unwrap_or_default(),
            row.person.role.word().to_owned(),
            if row.has_pin { "set" } else { "" }.to_owned(),
        ]);
    }
    page.table(&table);
    page.finish()
}
