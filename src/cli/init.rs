//! `tantalus init`: a new book.

use super::{Refusal, Shared, json, load};
use crate::clock;
use crate::desk::init::{init, init_from};
use crate::desk::load::LoadReport;
use crate::domain::measure::{Currency, CurrencyError};
use crate::domain::venue::{DayRule, Venue};
use crate::tui::text::safe;
use chrono::NaiveTime;
use chrono_tz::Tz;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Make a new book, empty or from a folder of plain files
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// What the bar is called
    #[arg(long)]
    pub(super) name: Option<String>,
    /// Its coin: three letters of ISO 4217 such as EUR
    #[arg(long, value_parser = currency)]
    pub(super) currency: Option<Currency>,
    /// Its time zone, such as Europe/Berlin
    #[arg(long, value_parser = zone)]
    pub(super) zone: Option<Tz>,
    /// When its business day begins, such as 05:00
    #[arg(long, value_name = "TIME", value_parser = hour)]
    pub(super) day_starts: Option<NaiveTime>,
    /// A folder of plain files to load at once; what its venue.csv says wins over the options above
    pub(super) dir: Option<PathBuf>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// The answer as JSON: where the book is, and what was loaded.
#[derive(Debug, Serialize)]
struct Form {
    book: String,
    #[serde(flatten)]
    load: load::Form,
}

fn currency(text: &str) -> Result<Currency, String> {
    text.to_uppercase().parse().map_err(|error: CurrencyError| error.to_string())
}

fn zone(text: &str) -> Result<Tz, String> {
    text.parse().map_err(|_| "expected the name of a time zone such as Europe/Berlin or America/New_York".to_owned())
}

fn hour(text: &str) -> Result<NaiveTime, String> {
    NaiveTime::parse_from_str(text, "%H:%M").map_err(|_| "expected a time of day such as 05:00".to_owned())
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    make_book(&shared.path()?, args)
}

/// Makes the book and returns what to print about it.
fn make_book(path: &Path, args: &Args) -> Result<String, Refusal> {
    let report = match (&args.dir, venue(args)?) {
        (Some(dir), None) => load::watched(|bar| Ok(init_from(path, dir, clock::started(), &mut |p| bar.tell(p))?.1))?,
        (Some(dir), Some(venue)) => {
            let store = init(path, &venue, clock::started())?;
            match load::load_folder(&store, dir) {
                Ok(report) => report,
                Err(refusal) => {
                    // A book that was to be filled and is not would only be in the way of the next try.
                    store.discard().map_err(crate::desk::DeskError::from)?;
                    return Err(refusal);
                }
            }
        }
        (None, Some(venue)) => {
            init(path, &venue, clock::started())?;
            LoadReport::default()
        }
        (None, None) => {
            return Err(Refusal::new("a new book needs a name, a coin and a time zone").hint(
                "tantalus init --name \"My bar\" --currency EUR --zone Europe/Lisbon, or name a folder with a venue.csv",
            ));
        }
    };
    let book = path.display().to_string();
    if args.json {
        return json::text(&Form { book, load: load::Form::of(&report) });
    }
    let mut out = if report.files.is_empty() { String::new() } else { load::answer(&report, false)? };
    out.push_str(&format!("The book is {}\n", safe(&book)));
    Ok(out)
}

/// The bar that the options describe; none when no option was given.
fn venue(args: &Args) -> Result<Option<Venue>, Refusal> {
    if args.name.is_none() && args.currency.is_none() && args.zone.is_none() && args.day_starts.is_none() {
        return Ok(None);
    }
    let missing =
        |what: &str, option: &str| Refusal::new(format!("a new book needs {what}")).hint(format!("add {option}"));
    let name = args.name.clone().ok_or_else(|| missing("a name", "--name \"My bar\""))?;
    let currency = args.currency.ok_or_else(|| missing("a coin", "--currency EUR"))?;
    let days = DayRule {
        zone: args.zone.ok_or_else(|| missing("a time zone", "--zone Europe/Lisbon"))?,
        starts: args.day_starts.unwrap_or(DayRule::STARTS),
    };
    Ok(Some(Venue { prices_include_tax: true, ..Venue::new(&name, currency, days) }))
}
