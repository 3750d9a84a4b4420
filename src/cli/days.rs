//! `tantalus days`: the days that are not as usual.

use super::json::{self, FORM};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find};
use crate::clock;
use crate::desk::days;
use crate::domain::venue::{
    ComingDay, DayEffect, Factor, NamedDay, OrderBy, Setup, SpecialDay, SpecialDayId, Stretch, SupplierId, name_key,
    said_day,
};
use crate::tui::text::safe;
use chrono::{Days, NaiveDate};
use clap::ArgGroup;
use serde::Serialize;

/// Days told of when nothing else is said, today the first.
const TOLD: u64 = 60;
/// The farthest day that can be asked for.
const FARTHEST: i64 = 3_660;

/// Show the coming days that are not as usual, add one or take one away
///
/// Festivals and closed days of the bar say how many times the usual demand is to be expected; a supplier may be closed, or
/// come besides its week. A DAY is a date, or a day of each year: 12-24, easter, easter+1, 4 Thu of Nov, last Mon of May.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(super) struct Args {
    /// The last day to tell of, such as 2027-01-31 or "31 jan"; without it, 60 days from today
    #[arg(long, value_name = "DATE")]
    until: Option<String>,
    /// Write JSON
    #[arg(long)]
    json: bool,
    #[command(subcommand)]
    change: Option<Change>,
}

#[derive(Debug, clap::Subcommand)]
enum Change {
    Add(Add),
    Remove(Remove),
}

/// Add a day, or a stretch of days, that is not as usual
#[derive(Debug, clap::Args)]
#[command(group = ArgGroup::new("effect").required(true).args(["factor", "closed", "supplier"]))]
#[command(after_help = "Examples:\n  \
    tantalus days add 2026-12-05 --until 2026-12-06 --what \"Harbour lights\" --factor 1.6\n  \
    tantalus days add 12-24 --until 12-25 --what Christmas --closed\n  \
    tantalus days add 12-24 --until 01-02 --what Holidays --supplier \"Harbour Spirits\"\n  \
    tantalus days add 2026-12-29 --what \"A van besides\" --supplier Harbour --order-by \"2026-12-28 10:00\"")]
struct Add {
    /// The day, or the first of a stretch
    #[arg(value_name = "DAY")]
    day: String,
    /// The last day of a stretch, in the form of the first
    #[arg(long, value_name = "DAY")]
    until: Option<String>,
    /// What it is called
    #[arg(long, value_name = "TEXT")]
    what: String,
    /// How many times the usual demand, such as 1.6
    #[arg(long, value_parser = |text: &str| Factor::parse(text).map_err(|e| e.to_string()))]
    factor: Option<Factor>,
    /// The bar is closed
    #[arg(long)]
    closed: bool,
    /// A supplier, by its name or the beginning of it: it is closed, or comes besides with --order-by
    #[arg(long, value_name = "NAME")]
    supplier: Option<String>,
    /// The supplier comes on that day, when ordered by then: "2026-12-22 10:00" or "tue 10:00"
    #[arg(long, value_name = "TIME", requires = "supplier", conflicts_with_all = ["factor", "closed"])]
    order_by: Option<String>,
}

/// Take a day away that was not as usual
#[derive(Debug, clap::Args)]
struct Remove {
    /// The day, or the first of a stretch, as it was written
    #[arg(value_name = "DAY")]
    day: String,
    /// What it is called, where several begin on that day
    #[arg(long, value_name = "TEXT")]
    what: Option<String>,
    /// Whose day it is, where several are called so
    #[arg(long, value_name = "NAME")]
    supplier: Option<String>,
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    from: String,
    until: String,
    days: Vec<DayForm>,
}

/// One day or stretch of days as JSON.
#[derive(Debug, Serialize)]
struct DayForm {
    first: String,
    last: String,
    what: String,
    is: &'static str,
    factor: Option<f64>,
    supplier: Option<String>,
    order_by: Option<String>,
    day: String,
    until: Option<String>,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open()?;
    let (setup, today) = days::view(&store, clock::started())?;
    match &args.change {
        None => listed(&setup, today, args),
        Some(Change::Add(add)) => {
            let day = read(&setup, today, add)?;
            days::add(&store, &day, clock::started())?;
            Ok(format!("Added: {}.\n", safe(&in_words(&setup, &day))))
        }
        Some(Change::Remove(remove)) => {
            let day = found(&setup, today, remove)?;
            days::remove(&store, day, clock::started())?;
            Ok(format!("Taken away: {}.\n", safe(&in_words(&setup, day))))
        }
    }
}

fn listed(setup: &Setup, today: NaiveDate, args: &Args) -> Result<String, Refusal> {
    let last = match &args.until {
        Some(text) => said_day(text, today).map_err(|_| {
            Refusal::new(format!("--until: “{text}” is no day")).hint("write it as 2027-01-31, \"31 jan\" or +90")
        })?,
        None => today.checked_add_days(Days::new(TOLD - 1)).unwrap_or(today),
    };
    let ahead = (last - today).num_days();
    if !(0..=FARTHEST).contains(&ahead) {
        return Err(Refusal::new(format!("--until: {last} is not within ten years from today, {today}")));
    }
    let coming = setup.special.upcoming(today, ahead.unsigned_abs() + 1);
    if args.json {
        let days = coming.iter().map(|coming| form(setup, coming)).collect();
        return json::text(&Form { form: FORM, from: today.to_string(), until: last.to_string(), days });
    }
    let mut page = Page::new();
    let day = |day: NaiveDate| day.format("%a %Y-%m-%d").to_string();
    if coming.is_empty() {
        page.line(format!("From {} to {} every day is as usual.", day(today), day(last)));
        page.line("`tantalus days add` adds a day that is not; days.csv holds them all.");
        return Ok(page.finish());
    }
    let mut table = Table::new([
        ("from", Set::Words),
        ("until", Set::Words),
        ("what", Set::Name),
        ("supplier", Set::Name),
        ("", Set::Words),
    ]);
    for ComingDay { first, last, special } in &coming {
        let until = if first == last { String::new() } else { day(*last) };
        let supplier = special.effect.supplier().map(|id| supplier(setup, id)).unwrap_or_default();
        table.row([day(*first), until, special.what.clone(), supplier, special.effect.words()]);
    }
    page.table(&table);
    page.gap();
    page.line(format!("Days that fall between {} and {}; factors of one day multiply.", day(today), day(last)));
    Ok(page.finish())
}

/// The day that is to be added, in the words of the command line.
fn read(setup: &Setup, today: NaiveDate, add: &Add) -> Result<SpecialDay, Refusal> {
    let named = |option: &str, text: &str| {
        NamedDay::said(text, today).map_err(|why| Refusal::new(format!("{option}: “{text}”: {why}")))
    };
    let until = add.until.as_deref().map(|text| named("--until", text)).transpose()?;
    let days = Stretch::new(named("DAY", &add.day)?, until).map_err(|why| Refusal::new(format!("--until: {why}")))?;
    let supplier = match &add.supplier {
        Some(typed) => Some(find::one("supplier", &setup.suppliers, |s| &s.name, typed)?.id),
        None => None,
    };
    let effect = match (supplier, &add.order_by) {
        (Some(supplier), Some(text)) => {
            let by = OrderBy::said(text, today).and_then(|by| by.check(days).map(|()| by));
            let by = by.map_err(|why| Refusal::new(format!("--order-by: “{text}”: {why}")))?;
            DayEffect::ExtraVan { supplier, by }
        }
        (Some(supplier), None) => DayEffect::SupplierClosed(supplier),
        (None, _) if add.closed => DayEffect::Demand(Factor::CLOSED),
        (None, _) => DayEffect::Demand(add.factor.unwrap_or(Factor::USUAL)),
    };
    Ok(SpecialDay { id: SpecialDayId::default(), days, what: add.what.clone(), effect })
}

/// The day that is to be taken away.
fn found<'a>(setup: &'a Setup, today: NaiveDate, remove: &Remove) -> Result<&'a SpecialDay, Refusal> {
    let all = setup.special.all();
    let text = &remove.day;
    let day = NamedDay::said(text, today).map_err(|why| Refusal::new(format!("DAY: “{text}”: {why}")))?;
    let supplier = match &remove.supplier {
        Some(typed) => Some(find::one("supplier", &setup.suppliers, |s| &s.name, typed)?.id),
        None => None,
    };
    let fits = |special: &&SpecialDay| {
        let called = |what: &String| name_key(&safe(what)) == name_key(&safe(&special.what));
        special.days.from() == day
            && remove.what.as_ref().is_none_or(called)
            && supplier.is_none_or(|supplier| special.effect.supplier() == Some(supplier))
    };
    let fitting: Vec<&SpecialDay> = all.iter().filter(fits).collect();
    let told = |days: &[&SpecialDay]| days.iter().map(|day| in_words(setup, day)).collect::<Vec<_>>();
    match fitting[..] {
        [only] => Ok(only),
        [] => {
            let there: Vec<&SpecialDay> = all.iter().filter(|special| special.days.from() == day).collect();
            if there.is_empty() {
                let refusal = Refusal::new(format!("no day that is not as usual begins on {day}"));
                return Err(
                    refusal.hint("name its first day as it was written; days.csv of `tantalus dump` has them all")
                );
            }
            Err(Refusal::new(format!("what begins on {day} is called otherwise")).details(told(&there)))
        }
        _ => Err(Refusal::new(format!("{} begin on {day}", fitting.len()))
            .details(told(&fitting))
            .hint("say which with --what, and whose with --supplier")),
    }
}

fn supplier(setup: &Setup, id: SupplierId) -> String {
    setup.supplier(id).map_or("?", |s| &s.name).to_owned()
}

fn in_words(setup: &Setup, day: &SpecialDay) -> String {
    format!("{}, {}: {}", day.days.words(), day.what, setup.day_words(day))
}

fn form(setup: &Setup, coming: &ComingDay<'_>) -> DayForm {
    let SpecialDay { days, what, effect, .. } = coming.special;
    let (is, factor) = match effect {
        DayEffect::Demand(Factor::CLOSED) => ("closed", Some(0.0)),
        DayEffect::Demand(factor) => ("demand", Some(factor.value())),
        DayEffect::SupplierClosed(_) => ("supplier-closed", None),
        DayEffect::ExtraVan { .. } => ("extra-van", None),
    };
    let order_by = match effect {
        DayEffect::ExtraVan { by, .. } => Some(json::time(&setup.venue.days, by.moment(&setup.venue.days))),
        _ => None,
    };
    DayForm {
        first: coming.first.to_string(),
        last: coming.last.to_string(),
        what: what.clone(),
        is,
        factor,
        supplier: effect.supplier().map(|id| supplier(setup, id)),
        order_by,
        day: days.from().to_string(),
        until: days.until().map(|until| until.to_string()),
    }
}
