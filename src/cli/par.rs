//! `tantalus par`: the level to fill every item up to, by hand and by demand.

mod back;
mod form;
mod page;

use super::json::{self, FORM};
use super::{Refusal, Shared, find};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::par;
use crate::domain::rows::ParView;
use crate::domain::venue::{Item, ItemId, Kind, ParFrom};
use crate::tui::text::{self, safe};
use clap::ArgGroup;
use std::ops::ControlFlow;
use std::path::PathBuf;

/// Weeks that a look back goes over, at the most.
const MOST_WEEKS: u16 = 260;

/// Show the level to fill every item up to, by hand and by demand, and how long the stock lasts
///
/// A par by demand is what is asked until the order after the next has come, so that the stock lasts as surely as the
/// setting service_level says. A par set by hand rules until demand is let rule.
#[derive(Debug, clap::Args)]
#[command(group = ArgGroup::new("whose").args(["item", "kind", "all"]))]
#[command(group = ArgGroup::new("change").args(["set", "unset", "rule"]))]
#[command(after_help = "Examples:\n  \
    tantalus par\n  \
    tantalus par \"Harbour gin\" --set 4\n  \
    tantalus par --kind spirit --rule demand\n  \
    tantalus par --back 13")]
pub(super) struct Args {
    /// One item, by its name or the beginning of it: all that is known of its par
    #[arg(value_name = "ITEM")]
    item: Option<String>,
    /// The items of a kind
    #[arg(long, value_parser = kind, value_name = "KIND")]
    kind: Option<Kind>,
    /// Every item
    #[arg(long)]
    all: bool,
    /// Set the item's par by hand, in containers such as 4 or 2.5
    #[arg(long, value_name = "CONTAINERS", requires = "item")]
    set: Option<String>,
    /// Take the item's par by hand away
    #[arg(long, requires = "item")]
    unset: bool,
    /// Let the par by demand rule, or the one set by hand; it stays beside the other
    #[arg(long, value_name = "WHICH", value_parser = from, requires = "whose")]
    rule: Option<ParFrom>,
    /// What both pars would have done over so many of the last weeks
    #[arg(long, value_name = "WEEKS", value_parser = clap::value_parser!(u16).range(1..=i64::from(MOST_WEEKS)),
        conflicts_with_all = ["whose", "change"])]
    back: Option<u16>,
    /// Write all of it as a page with pictures of what was asked and how long it lasts, into a folder
    #[arg(long, value_name = "DIR", conflicts_with_all = ["whose", "change", "back", "json"])]
    into: Option<PathBuf>,
    /// Write JSON
    #[arg(long, conflicts_with = "change")]
    json: bool,
}

fn kind(text: &str) -> Result<Kind, String> {
    Kind::parse(text).map_err(|e| e.to_string())
}

fn from(text: &str) -> Result<ParFrom, String> {
    ParFrom::parse(text).map_err(|e| e.to_string())
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open_costs()?;
    let now = clock::started();
    if let Some(weeks) = args.back {
        let setup = crate::desk::comparing::setup(&store)?;
        let back = par::look_back(&store, weeks.into(), now, &mut |_, _| ControlFlow::Continue(()))?;
        return if args.json { json::text(&back::form(&setup, &back)) } else { Ok(back::page(&setup, &back)) };
    }
    if let Some(folder) = &args.into {
        let file = crate::desk::reporting::write_pars(&store, now, folder)?;
        return Ok(format!("Written: {}\n", safe(&file.display().to_string())));
    }
    let view = par::view(&store, now)?;
    let one = match &args.item {
        Some(typed) => Some(find::one("item", &view.setup.items, |item| &item.name, typed)?.clone()),
        None => None,
    };
    if let Some(item) = one.as_ref().filter(|_| args.set.is_some() || args.unset) {
        return set(&store, item, args.set.as_deref().unwrap_or_default());
    }
    let chosen = |id: ItemId| match (&one, args.kind) {
        (Some(item), _) => item.id == id,
        (None, Some(kind)) => view.setup.item(id).is_some_and(|item| item.kind == kind),
        (None, None) => true,
    };
    if let Some(from) = args.rule {
        return rule(&store, &view, &chosen, from);
    }
    let shown: Vec<_> = view.pars.iter().filter(|par| chosen(par.item)).collect();
    match (args.json, &one) {
        (true, _) => json::text(&form::form(&view, &shown, FORM)),
        (false, Some(item)) => Ok(page::one(&view, item)),
        (false, None) => Ok(page::list(&view, &shown)),
    }
}

/// Sets an item's par by hand, or takes it away.
fn set(store: &Store, item: &Item, typed: &str) -> Result<String, Refusal> {
    let containers = par::typed_par(typed)?;
    let changed = par::set_by_hand(store, item.id, containers, clock::started())?;
    let setup = crate::desk::comparing::setup(store)?;
    Ok(match changed {
        Some(changed) => format!("{}.\n", safe(&changed.words(&setup))),
        None => format!("The par of {} is so already.\n", safe(&item.name)),
    })
}

/// Lets one of the two pars rule.
fn rule(store: &Store, view: &ParView, chosen: &dyn Fn(ItemId) -> bool, from: ParFrom) -> Result<String, Refusal> {
    let ruling = view.ruling(from, chosen);
    let changed = par::rule(store, &ruling.items, from, clock::started())?;
    let back = match from {
        ParFrom::Demand => ParFrom::Hand,
        ParFrom::Hand => ParFrom::Demand,
    };
    let said = text::capital(&ruling.words(view));
    Ok(match changed.is_empty() {
        true => format!("{said}.\n"),
        false => format!("{said}.\n--rule {} turns that back.\n", back.word()),
    })
}
