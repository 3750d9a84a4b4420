//! `tantalus carry`: what to carry from where to where before service.

use super::figures::Figures;
use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::clock;
use crate::desk::carrying;
use crate::domain::measure::number_of;
use crate::domain::order::Carry;
use crate::domain::rows::{CarryView, from_words};
use serde::Serialize;

/// List what to carry up before service: places that have a par of their own are filled up from the others
///
/// Whole containers only; where less than half of one is missing, none is carried.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Book all of it as carried
    #[arg(long)]
    booked: bool,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    lines: Vec<LineForm>,
    booked: Option<i64>,
}

/// A line as JSON; amounts in the unit that it names.
#[derive(Debug, Serialize)]
struct LineForm {
    item: String,
    to: String,
    unit: &'static str,
    par: i64,
    there: i64,
    from: Vec<FromForm>,
    lacking: i64,
}

/// Containers from a place.
#[derive(Debug, Serialize)]
struct FromForm {
    place: String,
    containers: i64,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open_stock(args.json)?;
    let now = clock::started();
    let view = carrying::view(&store, now)?;
    let booked = match args.booked {
        true => Some(carrying::book(&store, &view.list, shared.signer().as_deref(), now)?),
        false => None,
    };
    if args.json { json::text(&form(&view, booked)) } else { Ok(page(&view, booked)) }
}

fn form(view: &CarryView, booked: Option<i64>) -> Form {
    let setup = &view.setup;
    let figures = Figures { setup };
    let line = |carry: &Carry| LineForm {
        item: figures.name(carry.item),
        to: setup.place_name(carry.to).to_owned(),
        unit: figures.unit(carry.item),
        par: carry.par.0,
        there: carry.there.0,
        from: carry
            .from
            .iter()
            .map(|(place, containers)| FromForm { place: setup.place_name(*place).to_owned(), containers: *containers })
            .collect(),
        lacking: carry.lacking,
    };
    Form { form: FORM, lines: view.list.iter().map(line).collect(), booked }
}

fn page(view: &CarryView, booked: Option<i64>) -> String {
    let setup = &view.setup;
    let figures = Figures { setup };
    let mut page = Page::new();
    if view.list.is_empty() {
        page.line(view.nothing_words());
        return page.finish();
    }
    let mut table = Table::new([
        ("to", Set::Name),
        ("item", Set::Words),
        ("there", Set::Figure),
        ("par", Set::Figure),
        ("carry", Set::Figure),
        ("from", Set::Words),
    ]);
    for carry in &view.list {
        table.row([
            setup.place_name(carry.to).to_owned(),
            figures.name(carry.item),
            figures.containers(carry.item, carry.there),
            figures.containers(carry.item, carry.par),
            carry.containers().to_string(),
            from_words(setup, carry),
        ]);
    }
    page.table(&table);
    if let Some(booked) = booked {
        page.line(format!("Booked as carried: {}.", number_of(booked as u64, "container", "containers")));
    }
    page.finish()
}
