//! `tantalus drinks`: what a serve takes, costs, brings in and contains; which sell and which earn; one for many.

use super::figures::{Figures, UNKNOWN};
use super::json::{self, FORM, MoneyForm};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find};
use crate::clock;
use crate::desk::{drinks, reporting};
use crate::domain::drink::change::{Touched, touched, tried_cost};
use crate::domain::drink::matrix::Matrix;
use crate::domain::drink::{BatchPlan, DilutionFrom, MOST_SERVES, Mix, Poured, Serve, part_cost, standard_drinks};
use crate::domain::measure::{Amount, Basis, Decimal, Quantity, UnitCost, decimal, number_of};
use crate::domain::rows::{DrinkLine, DrinksView, Selection};
use crate::domain::venue::{Drink, ItemId, Setup};
use crate::tui::screen::drinks::{
    BATCH_CAUTION, batch_cost, batch_short, batch_strength, nothing_to_compare, page_text,
};
use crate::tui::screen::serve::{allergen_words, at_least, cost_words, percent};
use serde::Serialize;
use std::path::PathBuf;

/// Show what drinks cost, bring in and contain, as they are today
///
/// A drink's name shows all of it; without one, the list. Costs are by the cost rule of the book.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// One drink, by its name or the beginning of it
    drink: Option<String>,
    /// Which drinks: menu, mixed, straight or all
    #[arg(long, value_name = "WHICH", value_parser = selections())]
    of: Option<Selection>,
    /// Days of sales that say how they sell
    #[arg(long, value_name = "DAYS", default_value_t = 28, value_parser = clap::value_parser!(u64).range(1..=3650))]
    days: u64,
    /// Sort them into the four corners: which sell and which earn
    #[arg(long, conflicts_with_all = ["drink", "instead"])]
    corners: bool,
    /// Reckon with another price of a container, without tax: "Harbour rum=18.50" or "=+5 %"; as often as needed
    #[arg(long = "if", value_name = "ITEM=PRICE", conflicts_with = "drink")]
    instead: Vec<String>,
    /// Reckon the drink for so many serves at once
    #[arg(long, value_name = "NUMBER", requires = "drink", value_parser = serves)]
    serves: Option<i64>,
    /// Water in place of ice, in percent of the rest; without it, as the method usually has it
    #[arg(long, value_name = "PERCENT", requires = "serves")]
    water: Option<String>,
    /// What one bottle holds that the serves are filled into
    #[arg(long, value_name = "QUANTITY", requires = "serves", default_value = "700 ml")]
    bottles: String,
    /// Write the page to print, of --corners or --serves, into this folder
    #[arg(long, value_name = "FOLDER")]
    write: Option<PathBuf>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

fn serves(typed: &str) -> Result<i64, String> {
    let read = typed.trim().parse().ok().filter(|many| (1..=MOST_SERVES).contains(many));
    read.ok_or_else(|| format!("expected how many serves, 1 to {MOST_SERVES}"))
}

fn selections() -> impl clap::builder::TypedValueParser<Value = Selection> {
    use clap::builder::{PossibleValuesParser, TypedValueParser};
    PossibleValuesParser::new(Selection::ALL.iter().map(|s| s.word())).try_map(|word| Selection::parse(&word))
}

/// The list as JSON.
#[derive(Debug, Serialize)]
struct ListForm {
    form: u32,
    day: String,
    of: &'static str,
    sold_from: Option<String>,
    sold_to: Option<String>,
    standard_drink_g: f64,
    drinks: Vec<DrinkForm>,
    /// Of the four corners; only with `--corners`.
    corners: Option<CornersForm>,
}

/// One drink as JSON.
#[derive(Debug, Serialize)]
struct DrinkForm {
    drink: String,
    on_menu: bool,
    price: Option<MoneyForm>,
    net: Option<MoneyForm>,
    cost: Option<MoneyForm>,
    cost_unknown_of: Vec<String>,
    pour_cost: Option<f64>,
    margin: Option<MoneyForm>,
    sold: f64,
    method: Option<&'static str>,
    glass: Option<String>,
    volume_ml: f64,
    room_ml: Option<f64>,
    dilution: f64,
    dilution_from: DilutionFrom,
    abv_before_ice: f64,
    abv: f64,
    alcohol_g: f64,
    standard_drinks: f64,
    strength_unknown_of: Vec<String>,
    sugar_g: f64,
    sugar_g_per_l: f64,
    sugar_unknown_of: Vec<String>,
    left_out: Vec<String>,
    allergens: Vec<&'static str>,
    allergens_unknown_of: Vec<String>,
    takes: Vec<TakesForm>,
}

/// An ingredient as JSON; the amount in the unit that it names.
#[derive(Debug, Serialize)]
struct TakesForm {
    item: String,
    written: String,
    amount: i64,
    unit: &'static str,
    waste: f64,
    after_ice: bool,
    cost: Option<MoneyForm>,
}

/// The four corners as JSON.
#[derive(Debug, Serialize)]
struct CornersForm {
    popular_from: f64,
    high_from_minor: f64,
    drinks: Vec<CornerForm>,
}

/// Where one drink stands, as JSON.
#[derive(Debug, Serialize)]
struct CornerForm {
    drink: String,
    share: f64,
    corner: &'static str,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    if args.write.is_some() && !args.corners && args.serves.is_none() {
        return Err(Refusal::new("--write writes the page of --corners or of --serves").hint("say one of them as well"));
    }
    let tells_costs = args.json || args.corners || !args.instead.is_empty();
    let store = if tells_costs { shared.open_costs()? } else { shared.open()? };
    let view = drinks::view_over(&store, clock::started(), args.days)?;
    let setup = view.setup.clone();
    if let Some(typed) = &args.drink {
        let drink = find::one("drink", &setup.drinks, |d| &d.name, typed)?;
        return match args.serves {
            Some(serves) => for_many(&view, drink, serves, args),
            None if args.json => json::text(&list_form(&view, &[view.line(drink)], Selection::All, None)),
            None => Ok(page_text(&view, drink)),
        };
    }
    if !args.instead.is_empty() {
        return what_if(&view, args);
    }
    // Only what is alike can be compared: the corners are of mixed drinks unless it is said otherwise.
    let usual = if args.corners { Selection::Mixed } else { Selection::Menu };
    let of = args.of.unwrap_or(usual);
    let lines = view.lines(of);
    let matrix = args.corners.then(|| view.matrix(&lines));
    if let (Some(_), Some(folder)) = (&matrix, &args.write) {
        return Ok(format!("Written: {}\n", reporting::write_menu(&view, of, folder)?.display()));
    }
    match (args.json, matrix) {
        (true, matrix) => json::text(&list_form(&view, &lines, of, matrix.as_ref())),
        (false, Some(matrix)) => Ok(corners(&view, of, &lines, &matrix)),
        (false, None) => Ok(list(&view, of, &lines)),
    }
}

fn list(view: &DrinksView, of: Selection, lines: &[DrinkLine]) -> String {
    let figures = Figures { setup: &view.setup };
    let show = view.setup.venue.show();
    let mut page = Page::new();
    page.line(format!("{}, {}; sold {}", number_of(lines.len(), "drink", "drinks"), of.title(), over(view)));
    page.gap();
    let mut table = Table::new([
        ("drink", Set::Name),
        ("price", Set::Money),
        ("cost", Set::Money),
        ("pour cost", Set::Money),
        ("brings in", Set::Money),
        ("sold", Set::Spare),
        ("% vol", Set::Spare),
        ("in the glass", Set::Spare),
        ("g alcohol", Set::Spare),
        ("g sugar", Set::Spare),
        ("allergens", Set::Words),
    ])
    .without_money(show.hides_money);
    for line in lines {
        let Some(drink) = view.setup.drink(line.drink) else { continue };
        let serve = line.serve.as_ref();
        let earning = serve.and_then(|serve| serve.earning);
        let poured = serve.map(|serve| &serve.poured).filter(|poured| poured.glass.volume() > 0.0);
        let alcohol = |figure: fn(&Mix) -> f64| {
            let words = |p: &Poured| at_least(format!("{:.1}", figure(&p.glass)), &p.content.strength_unknown);
            poured.map(words).unwrap_or_default()
        };
        let sugar = |p: &Poured| at_least(format!("{:.1}", p.glass.sugar), &p.content.sugar_unknown);
        table.row([
            format!("{}{}", drink.name, view.when_on(drink)),
            figures.known(view.menu(drink).map(|menu| menu.price)),
            serve.map_or_else(|| UNKNOWN.to_owned(), |serve| cost_words(&view.setup, &serve.cost)),
            earning.and_then(|e| e.pour_cost).map_or_else(|| UNKNOWN.to_owned(), percent),
            figures.known(earning.map(|e| e.margin)),
            decimal::plain(line.sold, 3),
            alcohol(|mix| 100.0 * mix.strength()),
            poured.map(|poured| show.amount(Basis::Volume, poured.glass.amount())).unwrap_or_default(),
            alcohol(|mix| mix.ethanol),
            poured.map(sugar).unwrap_or_default(),
            serve.map(|serve| serve.allergens.words()).unwrap_or_default(),
        ]);
    }
    page.table(&table);
    page.gap();
    if view.sees_costs() {
        page.line("Cost without tax; pour cost of the price without tax.");
    }
    page.line("Strength, alcohol and sugar as it is handed over; > is at least.");
    page.line("Allergens as entered are a reminder, never a clearance: the makers' labels and local rules decide.");
    page.finish()
}

fn corners(view: &DrinksView, of: Selection, lines: &[DrinkLine], matrix: &Matrix) -> String {
    let figures = Figures { setup: &view.setup };
    let mut page = Page::new();
    page.line(format!("Which sell and which earn: {}; sold {}", of.title(), over(view)));
    page.gap();
    let mut table = Table::new([
        ("drink", Set::Name),
        ("corner", Set::Words),
        ("sold", Set::Figure),
        ("share", Set::Figure),
        ("brings in", Set::Figure),
        ("in all", Set::Figure),
    ]);
    let mut rows = matrix.rows.clone();
    rows.sort_by_key(|row| (row.corner, std::cmp::Reverse(row.sold.quantity)));
    for row in &rows {
        let name = view.setup.drink(row.sold.drink).map_or("?", |drink| &drink.name);
        table.row([
            name.to_owned(),
            row.corner.word().to_owned(),
            decimal::plain(row.sold.quantity, 3),
            percent(row.share),
            figures.money(row.sold.margin),
            figures.money(row.sold.margin.times(row.sold.quantity, 1_000)),
        ]);
    }
    if rows.is_empty() {
        page.line(nothing_to_compare(view, lines.len()));
        return page.finish();
    }
    page.table(&table);
    page.gap();
    let major = view.setup.venue.currency.major(matrix.high);
    page.line(format!(
        "Sells: a share of at least {}, 70 % of an even one. Earns: at least {major:.2} {}, the average of all sold.",
        percent(matrix.popular),
        view.setup.venue.currency
    ));
    for corner in crate::domain::drink::matrix::Corner::ALL {
        page.line(format!("{corner}: {}.", corner.meaning()));
    }
    let left_out = lines.len() - matrix.rows.len();
    if left_out > 0 {
        page.line(format!("Left out, since their cost or price is not known or they came later: {left_out}."));
    }
    page.finish()
}

/// What other prices would do to every drink.
fn what_if(view: &DrinksView, args: &Args) -> Result<String, Refusal> {
    let setup = &view.setup;
    let mut prices: Vec<(ItemId, UnitCost)> = Vec::new();
    for typed in &args.instead {
        let (name, price) = typed.rsplit_once('=').ok_or_else(|| {
            Refusal::new(format!("“{typed}” is no price of an item"))
                .hint("write --if \"Harbour rum=18.50\" or --if \"Harbour rum=+5 %\"")
        })?;
        let item = find::one("item", &setup.items, |i| &i.name, name.trim())?;
        let cost = tried_cost(price, item, view.larder.costs.of(item.id), setup.venue.currency);
        prices.push((item.id, cost.map_err(|e| Refusal::new(format!("{name}: {e}")))?));
    }
    let after = view.larder.costs.with(setup, prices);
    let rows = touched(setup, &view.larder.costs, &after, view.larder.day);
    if args.json {
        return json::text(&changes_form(view, &rows));
    }
    let figures = Figures { setup };
    let mut page = Page::new();
    page.line(format!("{}; nothing is kept.", number_of(rows.len(), "drink changes", "drinks change")));
    page.gap();
    let mut table = Table::new([
        ("drink", Set::Name),
        ("costs", Set::Figure),
        ("would", Set::Figure),
        ("pour cost", Set::Spare),
        ("would", Set::Spare),
        ("brings in", Set::Figure),
        ("would", Set::Figure),
    ]);
    for row in &rows {
        let share = |e: Option<crate::domain::drink::Earning>| e.and_then(|e| e.pour_cost).map(percent);
        table.row([
            setup.drink(row.drink).map_or("?", |drink| &drink.name).to_owned(),
            cost_words(setup, &row.before),
            cost_words(setup, &row.after),
            share(row.earns).unwrap_or_default(),
            share(row.would_earn).unwrap_or_default(),
            figures.known(row.earns.map(|e| e.margin)),
            figures.known(row.would_earn.map(|e| e.margin)),
        ]);
    }
    page.table(&table);
    Ok(page.finish())
}

/// What other prices do, as JSON.
#[derive(Debug, Serialize)]
struct ChangesForm {
    form: u32,
    day: String,
    drinks: Vec<ChangeForm>,
}

/// One drink before and after, as JSON.
#[derive(Debug, Serialize)]
struct ChangeForm {
    drink: String,
    cost: Option<MoneyForm>,
    cost_then: Option<MoneyForm>,
    cost_unknown_of: Vec<String>,
    pour_cost: Option<f64>,
    pour_cost_then: Option<f64>,
}

fn changes_form(view: &DrinksView, rows: &[Touched]) -> ChangesForm {
    let currency = view.setup.venue.currency;
    let change = |row: &Touched| ChangeForm {
        drink: view.setup.drink(row.drink).map_or("?", |drink| &drink.name).to_owned(),
        cost: row.before.whole().map(|cost| json::money(cost.round(currency), currency)),
        cost_then: row.after.whole().map(|cost| json::money(cost.round(currency), currency)),
        cost_unknown_of: names(&view.setup, &row.after.missing),
        pour_cost: row.earns.and_then(|e| e.pour_cost),
        pour_cost_then: row.would_earn.and_then(|e| e.pour_cost),
    };
    ChangesForm { form: FORM, day: view.larder.day.to_string(), drinks: rows.iter().map(change).collect() }
}

/// A drink for many serves.
fn for_many(view: &DrinksView, drink: &Drink, serves: i64, args: &Args) -> Result<String, Refusal> {
    let setup = &view.setup;
    let small = &setup.venue.small;
    let vessel =
        Quantity::parse_as(&args.bottles, Basis::Volume, small).map_err(|e| Refusal::new(format!("--bottles: {e}")))?;
    let water = args.water.as_deref().map(|typed| {
        let read = Decimal::parse(typed.trim().trim_end_matches('%').trim()).ok().and_then(|d| d.exact(2));
        read.filter(|p| (0..=30_000).contains(p)).map(|p| p as f64 / 10_000.0)
    });
    let water = match water {
        Some(None) => return Err(Refusal::new("--water: expected percent from 0 to 300, such as 25")),
        other => other.flatten(),
    };
    if let Some(folder) = &args.write {
        let file = reporting::write_batch(view, drink.id, serves, water, vessel, folder)?;
        return Ok(format!("Written: {}\n", file.display()));
    }
    let spec = drink.specs.at(view.larder.day).map(|(_, spec)| spec.as_slice()).unwrap_or_default();
    let plan = BatchPlan::new(&view.larder, setup, spec, view.menu(drink), serves, water);
    if args.json {
        return json::text(&plan_form(setup, drink, &plan));
    }
    let figures = Figures { setup };
    let mut page = Page::new();
    page.line(format!("{} for {serves}", drink.name));
    page.gap();
    let mut table = Table::new([("goes in", Set::Name), ("amount", Set::Figure), ("as", Set::Words), ("", Set::Words)]);
    for (lines, later) in [(&plan.lines, ""), (&plan.later, "to each serve as it is poured")] {
        for line in lines.iter() {
            table.row([figures.name(line.item), line.in_units(setup), line.in_containers(setup), later.to_owned()]);
        }
    }
    if plan.water > Amount::ZERO {
        let amount = setup.venue.show().amount(Basis::Volume, plan.water);
        table.row(["Water".to_owned(), amount, format!("{} in place of ice", percent(plan.dilution)), String::new()]);
    }
    page.table(&table);
    page.gap();
    let ml = |amount| setup.venue.show().amount(Basis::Volume, amount);
    let bottles = plan
        .vessels(vessel)
        .map_or(String::new(), |(full, rest)| format!("; {full} bottles of {} and {}", ml(vessel), ml(rest)));
    page.line(format!("Makes {}, {} a serve{bottles}.", ml(plan.volume()), ml(plan.a_serve())));
    page.line(format!("Strength: {}.", batch_strength(setup, &plan).join("; ")));
    if view.sees_costs() {
        page.line(format!("Costs: {}.", batch_cost(view, &plan).join("; ")));
    }
    let short = batch_short(view, &plan);
    if !short.is_empty() {
        page.line(format!("SHORT: {}.", short.join(", ")));
    }
    page.line(format!("Allergens: {}.", allergen_words(setup, &plan.allergens).join("; ")));
    page.gap();
    page.line(BATCH_CAUTION);
    page.line("Allergens as entered are a reminder, never a clearance: the makers' labels and local rules decide.");
    Ok(page.finish())
}

/// A drink for many as JSON; amounts in the units that they name.
#[derive(Debug, Serialize)]
struct PlanForm {
    form: u32,
    drink: String,
    serves: i64,
    goes_in: Vec<PlanLineForm>,
    later: Vec<PlanLineForm>,
    water_ul: i64,
    dilution: f64,
    volume_ul: i64,
    a_serve_ul: i64,
    abv: f64,
    alcohol_g_a_serve: f64,
    strength_unknown_of: Vec<String>,
    cost: Option<MoneyForm>,
    cost_unknown_of: Vec<String>,
    allergens: Vec<&'static str>,
    allergens_unknown_of: Vec<String>,
}

/// One ingredient of it.
#[derive(Debug, Serialize)]
struct PlanLineForm {
    item: String,
    amount: i64,
    unit: &'static str,
    whole_containers: i64,
    rest: i64,
}

fn plan_form(setup: &Setup, drink: &Drink, plan: &BatchPlan) -> PlanForm {
    let figures = Figures { setup };
    let currency = setup.venue.currency;
    let line = |line: &crate::domain::drink::BatchLine| PlanLineForm {
        item: figures.name(line.item),
        amount: line.amount.0,
        unit: figures.unit(line.item),
        whole_containers: line.whole,
        rest: line.rest.0,
    };
    PlanForm {
        form: FORM,
        drink: drink.name.clone(),
        serves: plan.serves,
        goes_in: plan.lines.iter().map(line).collect(),
        later: plan.later.iter().map(line).collect(),
        water_ul: plan.water.0,
        dilution: plan.dilution,
        volume_ul: plan.volume().0,
        a_serve_ul: plan.a_serve().0,
        abv: 100.0 * plan.mix.strength(),
        alcohol_g_a_serve: plan.serve.mix.ethanol,
        strength_unknown_of: names(setup, &plan.serve.strength_unknown),
        cost: plan.cost.whole().map(|cost| json::money(cost.times(plan.serves).round(currency), currency)),
        cost_unknown_of: names(setup, &plan.cost.missing),
        allergens: plan.allergens.known.iter().map(|allergen| allergen.word()).collect(),
        allergens_unknown_of: names(setup, &plan.allergens.unknown),
    }
}

fn list_form(view: &DrinksView, lines: &[DrinkLine], of: Selection, matrix: Option<&Matrix>) -> ListForm {
    let setup = &view.setup;
    let corners = matrix.map(|matrix| CornersForm {
        popular_from: matrix.popular,
        high_from_minor: matrix.high,
        drinks: matrix
            .rows
            .iter()
            .map(|row| CornerForm {
                drink: setup.drink(row.sold.drink).map_or("?", |drink| &drink.name).to_owned(),
                share: row.share,
                corner: row.corner.word(),
            })
            .collect(),
    });
    ListForm {
        form: FORM,
        day: view.larder.day.to_string(),
        of: of.word(),
        sold_from: view.sold_over.as_ref().map(|days| days.start().to_string()),
        sold_to: view.sold_over.as_ref().map(|days| days.end().to_string()),
        standard_drink_g: 1.0 / standard_drinks(1.0, setup.venue.standard_drink),
        drinks: lines.iter().filter_map(|line| drink_form(view, line)).collect(),
        corners,
    }
}

fn drink_form(view: &DrinksView, line: &DrinkLine) -> Option<DrinkForm> {
    let setup = &view.setup;
    let currency = setup.venue.currency;
    let drink = setup.drink(line.drink)?;
    let menu = view.menu(drink);
    let spec = drink.specs.at(view.larder.day).map(|(_, spec)| spec.as_slice()).unwrap_or_default();
    let empty = || Serve::of(&view.larder, setup, &[], menu);
    let serve = line.serve.clone().unwrap_or_else(empty);
    let figures = Figures { setup };
    let money = |amount| json::money(amount, currency);
    let poured = &serve.poured;
    Some(DrinkForm {
        drink: drink.name.clone(),
        on_menu: line.on,
        price: menu.map(|menu| money(menu.price)),
        net: serve.earning.map(|e| money(e.net)),
        cost: serve.cost.whole().map(|cost| money(cost.round(currency))),
        cost_unknown_of: names(setup, &serve.cost.missing),
        pour_cost: serve.earning.and_then(|e| e.pour_cost),
        margin: serve.earning.map(|e| money(e.margin)),
        sold: line.sold as f64 / 1_000.0,
        method: menu.and_then(|menu| menu.method).map(|method| method.word()),
        glass: menu.and_then(|menu| menu.glass.clone()),
        volume_ml: poured.glass.volume(),
        room_ml: serve.room.map(|room| room.as_f64() / 1_000.0),
        dilution: poured.dilution,
        dilution_from: poured.dilution_from,
        abv_before_ice: 100.0 * poured.before.strength(),
        abv: 100.0 * poured.glass.strength(),
        alcohol_g: poured.glass.ethanol,
        standard_drinks: standard_drinks(poured.glass.ethanol, setup.venue.standard_drink),
        strength_unknown_of: names(setup, &poured.content.strength_unknown),
        sugar_g: poured.glass.sugar,
        sugar_g_per_l: poured.glass.grams_per_litre(),
        sugar_unknown_of: names(setup, &poured.content.sugar_unknown),
        left_out: names(setup, &poured.content.left_out),
        allergens: serve.allergens.known.iter().map(|a| a.word()).collect(),
        allergens_unknown_of: names(setup, &serve.allergens.unknown),
        takes: spec
            .iter()
            .map(|part| TakesForm {
                item: figures.name(part.item),
                written: part.written.clone(),
                amount: part.amount.0,
                unit: figures.unit(part.item),
                waste: part.waste as f64 / 10_000.0,
                after_ice: crate::domain::drink::joins_after_ice(setup, part),
                cost: part_cost(&view.larder.costs, part).map(|cost| money(cost.round(currency))),
            })
            .collect(),
    })
}

fn names<'a>(setup: &Setup, items: impl IntoIterator<Item = &'a ItemId>) -> Vec<String> {
    items.into_iter().map(|item| setup.item_name(*item).to_owned()).collect()
}

fn over(view: &DrinksView) -> String {
    view.sold_over.as_ref().map_or("–: no sales yet".to_owned(), |days| format!("{} to {}", days.start(), days.end()))
}
