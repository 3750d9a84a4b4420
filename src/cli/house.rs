//! `tantalus house`: what is made here, how much to make, and booking a batch.

use super::figures::{Figures, UNKNOWN};
use super::json::{self, FORM, MoneyForm};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find};
use crate::clock;
use crate::desk::house;
use crate::domain::drink::{made_of, unusual_batches};
use crate::domain::ledger::Batch;
use crate::domain::measure::Amount;
use crate::domain::rows::{HouseLine, HouseView, MakeAdvice};
use crate::domain::venue::{Item, Seq};
use crate::tui::screen::house::page_text;
use crate::tui::text::safe;
use serde::Serialize;

/// Show what is made here, until when it keeps and how much to make, or book a batch
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// One item, by its name or the beginning of it
    item: Option<String>,
    /// Book a batch of the item: how much was made, such as 1600ml, or a number alone for so many batches
    #[arg(long, value_name = "QUANTITY", requires = "item", conflicts_with = "json")]
    made: Option<String>,
    /// Book it though it is more than five batches at once
    #[arg(long, requires = "made")]
    so_much: bool,
    /// Take the newest batch of the item back, as if it was never made
    #[arg(long, requires = "item", conflicts_with_all = ["made", "json"])]
    take_back: bool,
    /// Anything to remember of the batch
    #[arg(long, value_name = "TEXT", requires = "made")]
    note: Option<String>,
    /// For how many days to make; without it, as long as each keeps, a week at most
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u64).range(1..=60))]
    days: Option<u64>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    day: String,
    asked_from: Option<String>,
    asked_to: Option<String>,
    items: Vec<ItemForm>,
}

/// One item as JSON; amounts in the unit that it names.
#[derive(Debug, Serialize)]
struct ItemForm {
    item: String,
    unit: &'static str,
    on_hand: Option<i64>,
    yields: Option<i64>,
    yield_computed: bool,
    abv: f64,
    sugar_g_per_l: f64,
    cost_per_1000_ml_g_or_pieces: Option<MoneyForm>,
    keeps_days: Option<i64>,
    allergens: Vec<&'static str>,
    allergens_unknown_of: Vec<String>,
    left: Vec<LeftForm>,
    make: Option<MakeForm>,
}

/// What is left of a batch, as JSON.
#[derive(Debug, Serialize)]
struct LeftForm {
    made: String,
    left: Option<i64>,
    use_by: Option<String>,
    past: bool,
}

/// How much to make, as JSON.
#[derive(Debug, Serialize)]
struct MakeForm {
    days: u64,
    asked: i64,
    asked_sd: i64,
    enough: f64,
    weighed: bool,
    level: i64,
    usable: Option<i64>,
    make: i64,
    left_over: i64,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open_stock(args.json)?;
    let now = clock::started();
    let view = house::view(&store, now)?;
    let setup = view.setup.clone();
    let made: Vec<Item> = view.lines.iter().filter_map(|line| setup.item(line.item).cloned()).collect();
    let chosen = match &args.item {
        Some(typed) => Some(find::one("item made here", &made, |item| &item.name, typed)?),
        None => None,
    };
    if let (Some(item), Some(typed)) = (chosen, &args.made) {
        let recipe = view.recipe(item.id).ok_or_else(|| Refusal::new(format!("{} has no recipe today", item.name)))?;
        let amount = made_of(item, recipe, typed, &setup.venue.small);
        let amount = amount.map_err(|e| Refusal::new(format!("--made: {e}")))?;
        let figures = Figures { setup: &setup };
        if let Some(batches) = unusual_batches(recipe, amount).filter(|_| !args.so_much) {
            let said = format!("{} of {} is {batches:.1} batches at once", figures.amount(item.id, amount), item.name);
            return Err(Refusal::new(said).hint("if it is so much, say --so-much as well"));
        }
        let (by, note) = (shared.signer(), args.note.clone());
        let batch = Batch { seq: Seq(0), at: now, item: item.id, made: amount, by, note };
        let booked = house::make(&store, &batch, now)?;
        let (amount, name) = (figures.amount(item.id, amount), safe(&item.name));
        return Ok(format!("Booked: {amount} of {name}; {}.\n", booked.words()));
    }
    if let Some(item) = chosen.filter(|_| args.take_back) {
        let newest = view.line(item.id).and_then(|line| line.batches.first());
        let newest = newest.ok_or_else(|| Refusal::new(format!("no batch of {} is booked", item.name)))?;
        house::take_back(&store, newest.seq, shared.signer().as_deref(), now)?;
        let made = Figures { setup: &setup }.amount(item.id, newest.made);
        let when = setup.venue.days.short(newest.at);
        return Ok(format!("Taken back: {made} of {}, booked for {when}.\n", safe(&item.name)));
    }
    let lines: Vec<&HouseLine> =
        view.lines.iter().filter(|line| chosen.is_none_or(|item| item.id == line.item)).collect();
    let advice = |line: &HouseLine| {
        let item = setup.item(line.item)?;
        view.advice(line, args.days.unwrap_or_else(|| HouseView::usual_days(item)))
    };
    if args.json {
        return json::text(&Form {
            form: FORM,
            day: view.larder.day.to_string(),
            asked_from: view.asked_over.as_ref().map(|days| days.start().to_string()),
            asked_to: view.asked_over.as_ref().map(|days| days.end().to_string()),
            items: lines.iter().filter_map(|line| item_form(&view, line, advice(line))).collect(),
        });
    }
    match chosen {
        Some(item) => Ok(page_text(view.clone(), item, args.days)),
        None => Ok(page(&view, &lines, &advice)),
    }
}

fn page(view: &HouseView, lines: &[&HouseLine], advice: &dyn Fn(&HouseLine) -> Option<MakeAdvice>) -> String {
    let figures = Figures { setup: &view.setup };
    let mut page = Page::new();
    if lines.is_empty() {
        page.line("Nothing is made here yet: recipes come with house.csv, or are written on the screen House-made.");
        return page.finish();
    }
    let mut table = Table::new([
        ("made here", Set::Name),
        ("on hand", Set::Figure),
        ("keeps until", Set::Words),
        ("needed", Set::Spare),
        ("in days", Set::Figure),
        ("to make", Set::Figure),
        ("l/kg costs", Set::SpareMoney),
        ("allergens", Set::Words),
    ])
    .without_money(!view.sees_costs());
    let today = view.larder.day;
    for line in lines {
        let Some(item) = view.setup.item(line.item) else { continue };
        let until = match line.first_use_by() {
            Some(day) if day < today => format!("PAST, {day}"),
            Some(day) => day.to_string(),
            None => String::new(),
        };
        let make = advice(line);
        let amount = |amount: Amount| figures.amount(line.item, amount);
        let (one, _) = item.basis.usual_one();
        table.row([
            item.name.clone(),
            line.on_hand.map_or_else(|| UNKNOWN.to_owned(), |level| amount(level.amount)),
            until,
            make.map(|make| amount(Amount::rounded(make.demand.mean))).unwrap_or_default(),
            make.map(|make| make.days.to_string()).unwrap_or_default(),
            make.map_or_else(|| UNKNOWN.to_owned(), |make| amount(make.make)),
            figures.known(view.larder.costs.of(line.item).map(|cost| cost.of(one, view.setup.venue.currency))),
            view.larder.allergens.of(line.item).words(),
        ]);
    }
    page.table(&table);
    page.gap();
    page.line(
        "Keeping time is by your own setting and food-safety plan: a reminder, not advice; check your local code.",
    );
    page.finish()
}

fn item_form(view: &HouseView, line: &HouseLine, make: Option<MakeAdvice>) -> Option<ItemForm> {
    let setup = &view.setup;
    let item = setup.item(line.item)?;
    let figures = Figures { setup };
    let recipe = view.recipe(line.item);
    let mix = view.larder.contents.of(line.item).map(|content| content.mix).unwrap_or_default();
    let found = view.larder.allergens.of(line.item);
    let currency = setup.venue.currency;
    let today = view.larder.day;
    Some(ItemForm {
        item: item.name.clone(),
        unit: figures.unit(line.item),
        on_hand: line.on_hand.map(|level| level.amount.0),
        yields: recipe.map(|recipe| recipe.yields.0),
        yield_computed: recipe.is_some_and(|recipe| recipe.written.is_none()),
        abv: 100.0 * mix.strength(),
        sugar_g_per_l: mix.grams_per_litre(),
        cost_per_1000_ml_g_or_pieces: view
            .larder
            .costs
            .of(line.item)
            .map(|cost| json::money(cost.of(Amount(1_000_000), currency), currency)),
        keeps_days: item.keeps_days,
        allergens: found.known.iter().map(|a| a.word()).collect(),
        allergens_unknown_of: found.unknown.iter().map(|item| figures.name(*item)).collect(),
        left: line
            .left
            .iter()
            .map(|left| LeftForm {
                made: left.made.to_string(),
                left: left.left.map(|left| left.0),
                use_by: left.use_by.map(|use_by| use_by.day.to_string()),
                past: left.use_by.is_some_and(|use_by| use_by.day < today),
            })
            .collect(),
        make: make.map(|make| MakeForm {
            days: make.days,
            asked: json::whole(make.demand.mean),
            asked_sd: json::whole(make.demand.sd()),
            enough: make.ratio,
            weighed: make.weighed,
            level: make.level.0,
            usable: make.usable.map(|usable| usable.0),
            make: make.make.0,
            left_over: make.over.0,
        }),
    })
}
