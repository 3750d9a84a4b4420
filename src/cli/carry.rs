//! `tantalus carry`: what to carry from where to where before service.

use super::figures::Figures;
use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::clock;
use crate::desk::ordering;
use crate::domain::measure::number_of;
use crate::domain::order::Carry;
use crate::domain::venue::Setup;
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
    let store = shared.open()?;
    let now = clock::now();
    let (setup, list) = ordering::carry(&store, now)?;
    let booked = match args.booked {
        true => Some(ordering::book_carried(&store, &list, shared.signer().as_deref(), now)?),
        false => None,
    };
    if args.json { json::text(&form(&setup, &list, booked)) } else { Ok(page(&setup, &list, booked)) }
}

fn form(setup: &Setup, list: &[Carry], booked: Option<i64>) -> Form {
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
    Form { form: FORM, lines: list.iter().map(line).collect(), booked }
}

fn page(setup: &Setup, list: &[Carry], booked: Option<i64>) -> String {
    let figures = Figures { setup };
    let mut page = Page::new();
    if list.is_empty() {
        let any = setup.shelves.iter().any(|shelf| shelf.par.is_some());
        page.line(match any {
            true => "Every place is filled up to its par.",
            false => "No place has a par of its own: shelves.csv has them, in the column par.",
        });
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
    for carry in list {
        let from: Vec<String> = match &carry.from[..] {
            [(place, _)] => vec![setup.place_name(*place).to_owned()],
            several => several.iter().map(|(place, many)| format!("{many} {}", setup.place_name(*place))).collect(),
        };
        let lacking = (carry.lacking > 0).then(|| format!("{} nowhere to be had", carry.lacking));
        table.row([
            setup.place_name(carry.to).to_owned(),
            figures.name(carry.item),
            figures.containers(carry.item, carry.there),
            figures.containers(carry.item, carry.par),
            carry.containers().to_string(),
            from.into_iter().chain(lacking).collect::<Vec<_>>().join(", "),
        ]);
    }
    page.table(&table);
    if let Some(booked) = booked {
        page.line(format!("Booked as carried: {}.", number_of(booked as u64, "container", "containers")));
    }
    page.finish()
}
