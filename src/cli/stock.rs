//! `tantalus stock`: what is on hand and what it is worth.

mod worth;

use super::figures::Figures;
use super::json::{self, FORM, MoneyForm};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find};
use crate::clock;
use crate::desk::{costing, looking};
use crate::domain::drink::Costs;
use crate::domain::gauge::Level;
use crate::domain::measure::{Amount, Money, UnitCost};
use crate::domain::rows::StockRow;
use crate::domain::venue::{ItemId, Kind, Place};
use serde::Serialize;
use std::path::PathBuf;

/// Show what is on hand now and what it is worth
///
/// On hand is what was counted last, and what has come and gone since; worth is by the cost rule of the book.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only items of one kind
    #[arg(long, value_parser = kinds())]
    kind: Option<Kind>,
    /// Only what is in one place
    #[arg(long)]
    place: Option<String>,
    /// What it was worth at each of the last counts instead
    #[arg(long, conflicts_with_all = ["kind", "place"])]
    over_time: bool,
    /// With --over-time: write that as a page with a picture into a folder
    #[arg(long, value_name = "DIR", requires = "over_time", conflicts_with = "json")]
    into: Option<PathBuf>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

fn kinds() -> impl clap::builder::TypedValueParser<Value = Kind> {
    use clap::builder::{PossibleValuesParser, TypedValueParser};
    PossibleValuesParser::new(Kind::ALL.iter().map(|k| k.word())).try_map(|word| Kind::parse(&word))
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    at: String,
    place: Option<String>,
    items: Vec<ItemForm>,
    by_kind: Vec<KindForm>,
    value: MoneyForm,
    never_counted: Vec<String>,
    without_value: Vec<String>,
}

/// One item as JSON; amounts in the unit that it names.
#[derive(Debug, Serialize)]
struct ItemForm {
    item: String,
    kind: &'static str,
    unit: &'static str,
    size: i64,
    on_hand: Option<i64>,
    u_on_hand: Option<i64>,
    value: Option<MoneyForm>,
    par: Option<i64>,
    on_order: i64,
    counted: Option<String>,
    sold_since: i64,
    places: Vec<PlaceForm>,
}

/// What is in one place, as JSON.
#[derive(Debug, Serialize)]
struct PlaceForm {
    place: String,
    amount: i64,
}

/// One kind as JSON.
#[derive(Debug, Serialize)]
struct KindForm {
    kind: &'static str,
    items: usize,
    value: Option<MoneyForm>,
    without_value: usize,
}

/// One item as it is shown: all of it, or what is in the place that was asked for.
struct Shown<'a> {
    row: &'a StockRow,
    kind: Kind,
    amount: Option<Amount>,
    /// Not told of one place: readings are of all of them.
    level: Option<Level>,
    value: Option<Money>,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    if args.over_time {
        return worth::run(shared, args.json, args.into.clone());
    }
    let store = shared.open_stock(args.json)?;
    let now = clock::started();
    let (setup, rows) = looking::stock(&store, now)?;
    let figures = Figures { setup: &setup };
    let place = match &args.place {
        Some(typed) => Some(find::one("place", &setup.places, |p| &p.name, typed)?),
        None => None,
    };
    let costs = match place {
        Some(_) => costing::costs(&store, now)?,
        None => Costs::default(),
    };
    let shown: Vec<Shown> = rows
        .iter()
        .filter_map(|row| shown(row, figures, place, &costs))
        .filter(|s| args.kind.is_none_or(|kind| s.kind == kind))
        .collect();
    if !args.json {
        return Ok(page(&shown, figures, place));
    }
    let (days, currency) = (&setup.venue.days, setup.venue.currency);
    let names = |items: Vec<ItemId>| items.into_iter().map(|i| figures.name(i)).collect();
    json::text(&Form {
        form: FORM,
        at: json::time(days, now),
        place: place.map(|p| p.name.clone()),
        items: shown.iter().map(|s| item_form(s, figures)).collect(),
        by_kind: by_kind(&shown)
            .into_iter()
            .map(|k| KindForm {
                kind: k.kind.word(),
                items: k.items,
                value: k.value.map(|v| json::money(v, currency)),
                without_value: k.without_value,
            })
            .collect(),
        value: json::money(value(&shown), currency),
        never_counted: names(never_counted(&shown)),
        without_value: names(without_value(&shown)),
    })
}

/// What is to be shown of an item; `None` when it has nothing to do with the place.
fn shown<'a>(row: &'a StockRow, figures: Figures, place: Option<&Place>, costs: &Costs) -> Option<Shown<'a>> {
    let setup = figures.setup;
    let kind = figures.item(row.item)?.kind;
    let Some(place) = place else {
        let amount = row.on_hand.map(|level| level.amount);
        return Some(Shown { row, kind, amount, level: row.on_hand, value: row.value });
    };
    let here = row.places.iter().find(|(p, _)| *p == place.id).map(|(_, amount)| *amount);
    if here.is_none() && !setup.places_of(row.item).any(|p| p == place.id) {
        return None;
    }
    let value = here.and_then(|amount| {
        // What stands here is worth its part of all there is, first in, first out as well.
        let whole = row.on_hand.map(|level| level.amount).filter(|whole| *whole > Amount::ZERO);
        let of_whole = whole.and_then(|whole| UnitCost::spread(costs.value(row.item, whole)?, whole));
        Some(of_whole.or_else(|| costs.of(row.item))?.of(amount, setup.venue.currency))
    });
    Some(Shown { row, kind, amount: here, level: None, value })
}

fn value(shown: &[Shown]) -> Money {
    shown.iter().filter_map(|s| s.value).sum()
}

fn never_counted(shown: &[Shown]) -> Vec<ItemId> {
    shown.iter().filter(|s| s.amount.is_none()).map(|s| s.row.item).collect()
}

fn without_value(shown: &[Shown]) -> Vec<ItemId> {
    shown.iter().filter(|s| s.amount.is_some() && s.value.is_none()).map(|s| s.row.item).collect()
}

/// The counted items of one kind.
struct OfKind {
    kind: Kind,
    items: usize,
    /// Their worth where it is known; `None` when it is known of none.
    value: Option<Money>,
    without_value: usize,
}

/// Counted items and their worth by kind, in the order of the kinds.
fn by_kind(shown: &[Shown]) -> Vec<OfKind> {
    let of = |kind: &Kind| {
        let here: Vec<&Shown> = shown.iter().filter(|s| s.kind == *kind && s.amount.is_some()).collect();
        let known: Vec<Money> = here.iter().filter_map(|s| s.value).collect();
        OfKind {
            kind: *kind,
            items: here.len(),
            without_value: here.len() - known.len(),
            value: (!known.is_empty()).then(|| known.into_iter().sum()),
        }
    };
    Kind::ALL.iter().map(of).filter(|k| k.items > 0).collect()
}

fn page(shown: &[Shown], figures: Figures, place: Option<&Place>) -> String {
    let mut page = Page::new();
    let currency = figures.setup.venue.currency;
    let hides_money = figures.setup.venue.show().hides_money;
    let mut table = Table::new([
        ("item", Set::Name),
        ("on hand", Set::Figure),
        ("unit", Set::Words),
        ("± u", Set::Spare),
        ("containers", Set::Figure),
        ("par", Set::Spare),
        ("on order", Set::Spare),
        ("value", Set::Money),
        ("counted", Set::Words),
    ])
    .without_money(hides_money);
    let mut rows = 0;
    for s in shown {
        let (Some(amount), item) = (s.amount, s.row.item) else { continue };
        rows += 1;
        table.row([
            figures.name(item),
            figures.bare(item, amount),
            figures.symbol(item),
            s.level.map(|l| figures.u(item, l.u)).unwrap_or_default(),
            figures.containers(item, amount),
            s.row.par.map(|par| figures.containers(item, par)).unwrap_or_default(),
            if s.row.on_order == Amount::ZERO { String::new() } else { figures.containers(item, s.row.on_order) },
            figures.known(s.value),
            s.row.counted.map(|at| figures.time(at)).unwrap_or_default(),
        ]);
    }
    if let Some(place) = place {
        page.line(format!("In {}; par and on order are of all places.", place.name));
        page.gap();
    }
    if rows > 0 {
        let mut sum = vec![String::new(); 9];
        sum[0] = format!("in all, {currency}");
        sum[7] = figures.money(value(shown));
        if !hides_money {
            table.sum(sum);
        }
        page.table(&table);
        let kinds = by_kind(shown);
        if kinds.len() > 1 {
            let mut table = Table::new([("kind", Set::Name), ("items", Set::Figure), ("value", Set::Money)])
                .without_money(hides_money);
            for of in kinds {
                table.row([of.kind.word().to_owned(), of.items.to_string(), figures.known(of.value)]);
            }
            page.gap();
            page.table(&table);
        }
        page.gap();
        page.line("± u: standard uncertainty of what was counted; par and on order in containers.");
    } else {
        page.line("Nothing that was asked for has been counted yet.");
    }
    let mut note = |what: &str, items: Vec<ItemId>| {
        if !items.is_empty() {
            page.line(format!("{what} ({}): {}.", items.len(), figures.items(items.iter().copied())));
        }
    };
    if !hides_money {
        note("Value unknown, no price on record", without_value(shown));
    }
    let below = |s: &&Shown| s.amount.is_some_and(|a| a < Amount::ZERO);
    note("Below zero, more went than there was", shown.iter().filter(below).map(|s| s.row.item).collect());
    note("Never counted", never_counted(shown));
    page.finish()
}

fn item_form(s: &Shown, figures: Figures) -> ItemForm {
    let (row, setup) = (s.row, figures.setup);
    ItemForm {
        item: figures.name(row.item),
        kind: s.kind.word(),
        unit: figures.unit(row.item),
        size: figures.item(row.item).map_or(0, |i| i.size.0),
        on_hand: s.amount.map(|a| a.0),
        u_on_hand: s.level.map(|l| json::whole(l.u)),
        value: s.value.map(|v| json::money(v, setup.venue.currency)),
        par: row.par.map(|p| p.0),
        on_order: row.on_order.0,
        counted: row.counted.map(|at| json::time(&setup.venue.days, at)),
        sold_since: row.sold.0,
        places: row
            .places
            .iter()
            .map(|(p, amount)| PlaceForm { place: setup.place_name(*p).to_owned(), amount: amount.0 })
            .collect(),
    }
}
