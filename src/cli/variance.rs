//! `tantalus variance`: two counts compared.

mod evidence;
mod judged;
mod periods;

use super::between::Between;
use super::figures::{Figures, UNKNOWN};
use super::json::{self, FORM, MoneyForm};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::comparing;
use crate::desk::{explaining, reviewing};
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, Basis, Money};
use crate::domain::rows::PeriodView;
use crate::domain::rows::cause_word;
use crate::domain::usage::{GapRow, GroupRow, Grouping, Told, Untold, grouped};
use crate::domain::venue::CauseWord;
use crate::domain::venue::{DayRule, ItemId, PlaceId};
use crate::tui::text::safe;
use judged::{JudgedForm, judged_form};
use serde::Serialize;
use std::ops::ControlFlow;

/// Compare what was used between two counts with what was sold
///
/// used = opening + in − out − closing; gap = used − sold, above zero when more went than was sold. u is the standard
/// uncertainty of the gap: what the readings, fills, pours, waste and estimates can move it although nothing is wrong.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    between: Between,
    /// Sum by the place that items are poured from
    #[arg(long, conflicts_with_all = ["by_kind", "item"])]
    by_place: bool,
    /// Sum by kind of item
    #[arg(long, conflicts_with = "item")]
    by_kind: bool,
    /// Sum by who counted at the closing
    #[arg(long, conflicts_with_all = ["by_place", "by_kind", "item"])]
    by_counter: bool,
    /// Sum by the evenings in between, of whatever was counted on them
    #[arg(long, conflicts_with_all = ["by_place", "by_kind", "by_counter", "item", "json"])]
    by_evening: bool,
    /// List every line, not only those that matter
    #[arg(long, conflicts_with_all = ["by_place", "by_kind", "by_counter", "by_evening", "item"])]
    all: bool,
    /// Show the facts behind the figures of one item
    #[arg(long, value_name = "NAME")]
    item: Option<String>,
    /// Show so many periods up to this one, a line each; with --item, those of one item
    #[arg(
        long,
        value_name = "N",
        value_parser = clap::value_parser!(u32).range(1..=100_000),
        conflicts_with_all = ["by_place", "by_kind", "by_counter", "by_evening", "all", "accept", "reopen"]
    )]
    periods: Option<u32>,
    /// Say what made the gap of the item, so that it leaves the list; --by or TANTALUS_BY signs
    #[arg(long, value_name = "CAUSE", requires = "item", value_parser = causes())]
    accept: Option<CauseWord>,
    /// Anything to remember of it
    #[arg(long, value_name = "TEXT", requires = "accept")]
    note: Option<String>,
    /// Take the accepted cause of the item's gap back
    #[arg(long, requires = "item", conflicts_with = "accept")]
    reopen: bool,
    /// Write JSON
    #[arg(long, conflicts_with_all = ["accept", "reopen"])]
    json: bool,
}

fn causes() -> impl clap::builder::TypedValueParser<Value = CauseWord> {
    use clap::builder::{PossibleValuesParser, TypedValueParser};
    PossibleValuesParser::new(CauseWord::ALL.iter().map(|word| word.word())).try_map(|word| CauseWord::parse(&word))
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Form {
    form: u32,
    opening: CountForm,
    closing: CountForm,
    rows: Vec<RowForm>,
    grouped_by: Option<&'static str>,
    groups: Vec<GroupForm>,
    cost: MoneyForm,
    without_cost: usize,
    untold: Vec<UntoldForm>,
    taken_from_ingredients: Vec<String>,
    unmapped: UnmappedForm,
    net_sales: MoneyForm,
    false_alarms: f64,
    chart_limit: f64,
    recounts: Vec<RecountForm>,
}

/// A line to look at again, as JSON.
#[derive(Debug, Serialize)]
struct RecountForm {
    item: String,
    slip: f64,
    finer: f64,
    gain: MoneyForm,
}

/// One of the two counts as JSON.
#[derive(Debug, Serialize)]
struct CountForm {
    name: String,
    begun: String,
    closed: Option<String>,
}

/// One item as JSON; amounts in the unit that it names.
#[derive(Debug, Serialize)]
struct RowForm {
    item: String,
    kind: Option<&'static str>,
    place: String,
    unit: &'static str,
    size: i64,
    from: String,
    to: String,
    opening: i64,
    u_opening: i64,
    delivered: i64,
    made: i64,
    moved: i64,
    lost: i64,
    batched: i64,
    closing: i64,
    u_closing: i64,
    used: i64,
    sold: i64,
    gap: i64,
    u_gap: i64,
    gap_containers_milli: Option<i64>,
    percent_of_used: Option<f64>,
    beyond_exactness: bool,
    cost: Option<MoneyForm>,
    stores_left_out: Vec<String>,
    #[serde(flatten)]
    judged: JudgedForm,
}

/// One place or kind as JSON.
#[derive(Debug, Serialize)]
struct GroupForm {
    name: String,
    items: usize,
    used_ul: i64,
    sold_ul: i64,
    gap_ul: i64,
    u_gap_ul: i64,
    cost: MoneyForm,
    without_cost: usize,
}

/// An item that cannot be told of, as JSON.
#[derive(Debug, Serialize)]
struct UntoldForm {
    item: String,
    because: &'static str,
    places: Vec<String>,
}

/// Sales without a meaning as JSON.
#[derive(Debug, Serialize)]
struct UnmappedForm {
    lines: i64,
    quantity_milli: i64,
    net: MoneyForm,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open_costs()?;
    let choice = args.between.choice(&store)?;
    let setup = comparing::setup(&store)?;
    if let Some(most) = args.periods {
        let named = |typed: &String| find::one("item", &setup.items, |i| &i.name, typed);
        let item = args.item.as_ref().map(named).transpose()?;
        let mut pace = |_: u64, _: u64| ControlFlow::Continue(());
        let past = reviewing::over_periods(&store, choice, item.map(|item| item.id), most as usize, &mut pace)?;
        let figures = Figures { setup: &setup };
        return if args.json {
            json::text(&periods::form(&past, item, figures))
        } else {
            Ok(periods::page(&past, item, figures))
        };
    }
    let view = reviewing::review(&store, choice)?;
    let figures = Figures { setup: &setup };
    if let Some(typed) = &args.item {
        let item = find::one("item", &setup.items, |i| &i.name, typed)?.id;
        if args.accept.is_some() || args.reopen {
            return explain(&store, shared, args, &view, item);
        }
        return one_item(&store, &view, figures, item, args.json);
    }
    let by = match (args.by_place, args.by_kind, args.by_counter) {
        (true, ..) => Some(Grouping::Place),
        (_, true, _) => Some(Grouping::Kind),
        (.., true) => Some(Grouping::Counter),
        _ => args.all.then_some(Grouping::Item),
    };
    match by {
        _ if args.json => json::text(&form(&view, figures, by.filter(|by| *by != Grouping::Item))),
        _ if args.by_evening => {
            let mut page = Page::new();
            page.line(heading(&view, figures));
            page.gap();
            judged::evenings(&mut page, &view, figures);
            Ok(page.finish())
        }
        Some(by) => Ok(page(&view, figures, by)),
        None => {
            let mut page = Page::new();
            page.line(heading(&view, figures));
            page.gap();
            judged::matters(&mut page, &view, figures);
            page.gap();
            judged::explain(&mut page, &view);
            notes(&mut page, &view, figures, false);
            Ok(page.finish())
        }
    }
}

fn one_item(
    store: &Store,
    view: &PeriodView,
    figures: Figures,
    item: ItemId,
    as_json: bool,
) -> Result<String, Refusal> {
    if let Some((_, why)) = view.variance.untold.iter().find(|(untold, _)| *untold == item) {
        let name = figures.setup.item_name(item);
        return Err(Refusal::new(format!("these two counts tell nothing about {name}: {}", reason(why, figures))));
    }
    let facts = reviewing::evidence(store, view, item)?;
    if as_json { evidence::json(&facts, view, figures) } else { Ok(evidence::page(&facts, view, figures)) }
}

/// Keeps what somebody says made a gap, or takes it back.
fn explain(store: &Store, shared: &Shared, args: &Args, view: &PeriodView, item: ItemId) -> Result<String, Refusal> {
    let (closing, now) = (view.closing.id, clock::started());
    let setup = comparing::setup(store)?;
    let name = safe(setup.item_name(item));
    if !view.variance.rows.iter().any(|row| row.item == item) {
        return Err(Refusal::new(format!("these two counts tell nothing about {name}, so there is no gap to settle")));
    }
    let at = safe(&view.closing.name);
    let Some(cause) = args.accept else {
        let taken = explaining::reopen(store, closing, item, shared.signer().as_deref(), now)?;
        let cause = cause_word(taken.cause);
        return Ok(format!("The gap of {name} at “{at}” is open again; “{cause}” is taken back.\n"));
    };
    let Some(by) = shared.signer() else {
        return Err(Refusal::new("nobody signs; a cause is kept with who accepted it")
            .hint("name them with --by or TANTALUS_BY"));
    };
    let accepted = explaining::Accepted { closing, item, cause, note: args.note.clone() };
    explaining::accept(store, &accepted, Some(&by), now)?;
    Ok(format!("Accepted for {name} at “{at}”: {}.\n", cause_word(cause)))
}

/// The heading of both kinds of answer.
fn heading(view: &PeriodView, figures: Figures) -> String {
    let time = |count: &Count| figures.time(count.opened);
    format!(
        "From “{}” ({}) to “{}” ({})",
        view.opening.name,
        time(&view.opening),
        view.closing.name,
        time(&view.closing)
    )
}

fn page(view: &PeriodView, figures: Figures, by: Grouping) -> String {
    let rows = &view.variance.rows;
    let mut page = Page::new();
    page.line(heading(view, figures));
    page.gap();
    match by {
        Grouping::Item => page.table(&items_table(view, figures)),
        by => page.table(&groups_table(&grouped(figures.setup, rows, by), figures, by)),
    }
    page.gap();
    judged::explain(&mut page, view);
    notes(&mut page, view, figures, by != Grouping::Item);
    page.finish()
}

fn items_table(view: &PeriodView, figures: Figures) -> Table {
    let rows = &view.variance.rows;
    let mut table = Table::new([
        ("item", Set::Name),
        ("unit", Set::Words),
        ("opening", Set::Spare),
        ("in", Set::Spare),
        ("out", Set::Spare),
        ("closing", Set::Spare),
        ("used", Set::Figure),
        ("sold", Set::Figure),
        ("gap", Set::Figure),
        ("± u", Set::Figure),
        ("containers", Set::Spare),
        ("cost", Set::Figure),
        ("% of used", Set::Spare),
        ("verdict", Set::Words),
    ]);
    for row in rows {
        let bare = |amount| figures.bare(row.item, amount);
        let (came, went) = in_and_out(row);
        table.row([
            figures.name(row.item),
            figures.symbol(row.item),
            bare(row.opening.amount),
            bare(came),
            bare(went),
            bare(row.closing.amount),
            bare(row.usage),
            bare(row.sold),
            bare(row.gap),
            figures.u(row.item, row.u),
            figures.containers(row.item, row.gap),
            figures.known(row.cost),
            row.percent.map_or_else(|| UNKNOWN.to_owned(), percent),
            view.review.verdict(row.item).words().to_owned(),
        ]);
    }
    let mut sum = vec![String::new(); 14];
    sum[0] = format!("in all, {}", figures.setup.venue.currency);
    sum[11] = figures.money(cost(rows).0);
    table.sum(sum);
    table
}

/// What came and what went besides sales; goods carried count on the side on which there were more of them.
fn in_and_out(row: &GapRow) -> (Amount, Amount) {
    let none = Amount::ZERO;
    let flow = row.flow;
    (flow.delivered + flow.made + flow.moved.max(none), flow.lost + flow.batched - flow.moved.min(none))
}

/// The sum of the costs that are known, and how many are not.
fn cost(rows: &[GapRow]) -> (Money, usize) {
    (rows.iter().filter_map(|r| r.cost).sum(), rows.iter().filter(|r| r.cost.is_none()).count())
}

/// Three decimals, for a program that reads it.
fn thousandths(value: f64) -> f64 {
    (value * 1_000.0).round() / 1_000.0
}

/// One decimal; what rounds to nothing carries no sign.
fn percent(value: f64) -> String {
    let text = format!("{value:.1}");
    if text == "-0.0" { "0.0".to_owned() } else { text }
}

fn groups_table(groups: &[GroupRow], figures: Figures, by: Grouping) -> Table {
    let show = figures.setup.venue.show();
    let unit = show.symbol(Basis::Volume);
    let heads = ["used", "sold", "gap"].map(|head| format!("{head} {unit}"));
    let mut table = Table::new([
        (word(by), Set::Name),
        ("items", Set::Figure),
        (heads[0].as_str(), Set::Figure),
        (heads[1].as_str(), Set::Figure),
        (heads[2].as_str(), Set::Figure),
        ("± u", Set::Figure),
        ("cost", Set::Figure),
        ("cost unknown", Set::Spare),
    ]);
    for group in groups {
        let bare = |amount| show.bare(Basis::Volume, amount);
        table.row([
            group.name.clone(),
            group.items.to_string(),
            bare(group.usage),
            bare(group.sold),
            bare(group.gap),
            bare(Amount(json::whole(group.u))),
            if group.without_cost == group.items { UNKNOWN.to_owned() } else { figures.money(group.cost) },
            group.without_cost.to_string(),
        ]);
    }
    let mut sum = vec![String::new(); 8];
    sum[0] = format!("in all, {}", figures.setup.venue.currency);
    sum[1] = groups.iter().map(|g| g.items).sum::<usize>().to_string();
    sum[6] = figures.money(groups.iter().map(|g| g.cost).sum());
    sum[7] = groups.iter().map(|g| g.without_cost).sum::<usize>().to_string();
    table.sum(sum);
    table
}

fn word(by: Grouping) -> &'static str {
    match by {
        Grouping::Item => "item",
        Grouping::Place => "place",
        Grouping::Kind => "kind",
        Grouping::Counter => "counter",
    }
}

/// What the figures do not say: each thing that was left out, and why.
fn notes(page: &mut Page, view: &PeriodView, figures: Figures, grouped: bool) {
    let variance = &view.variance;
    if grouped {
        page.line("Volumes are summed over items measured by volume, money over all.");
    }
    let unpriced: Vec<ItemId> = variance.rows.iter().filter(|r| r.cost.is_none()).map(|r| r.item).collect();
    if !unpriced.is_empty() {
        page.line(format!("No price is known of: {}.", figures.items(unpriced)));
    }
    for row in &variance.rows {
        if let Told::StoresLeftOut(places) = &row.told {
            let (item, places) = (figures.name(row.item), figures.places(places));
            page.line(format!("{item}: {places} not counted both times; what was carried from there is on record."));
        }
    }
    if !variance.exploded.is_empty() {
        let names = figures.items(variance.exploded.iter().copied());
        page.line(format!("Made here and not counted both times, so taken from the ingredients: {names}."));
    }
    for (item, why) in &variance.untold {
        page.line(format!("{}: nothing can be told, {}.", figures.name(*item), reason(why, figures)));
    }
    let unmapped = variance.sold.unmapped;
    if unmapped.lines > 0 {
        page.line(format!(
            "Till names without a meaning: {}; what they took is missing from “sold”.",
            figures.unmapped(&unmapped)
        ));
    }
}

fn reason(why: &Untold, figures: Figures) -> String {
    match why {
        Untold::NotInOpening => "it was not counted the first time".to_owned(),
        Untold::NotInClosing => "it was not counted the second time".to_owned(),
        Untold::NotCounted => "it was sold, but counted neither time".to_owned(),
        Untold::PouredElsewhere(places) => {
            format!("it is poured in {} too, not counted both times", figures.places(places))
        }
    }
}

fn form(view: &PeriodView, figures: Figures, by: Option<Grouping>) -> Form {
    let venue = &figures.setup.venue;
    let (days, currency) = (&venue.days, venue.currency);
    let variance = &view.variance;
    let (sum, without_cost) = cost(&variance.rows);
    let group = |g: GroupRow| GroupForm {
        name: g.name,
        items: g.items,
        used_ul: g.usage.0,
        sold_ul: g.sold.0,
        gap_ul: g.gap.0,
        u_gap_ul: json::whole(g.u),
        cost: json::money(g.cost, currency),
        without_cost: g.without_cost,
    };
    let places =
        |places: &[PlaceId]| places.iter().map(|p| figures.setup.place_name(*p).to_owned()).collect::<Vec<_>>();
    let untold = |(item, why): &(ItemId, Untold)| UntoldForm {
        item: figures.name(*item),
        because: match why {
            Untold::NotInOpening => "not-in-opening",
            Untold::NotInClosing => "not-in-closing",
            Untold::NotCounted => "not-counted",
            Untold::PouredElsewhere(_) => "poured-elsewhere",
        },
        places: if let Untold::PouredElsewhere(others) = why { places(others) } else { Vec::new() },
    };
    let unmapped = variance.sold.unmapped;
    Form {
        form: FORM,
        opening: count_form(&view.opening, days),
        closing: count_form(&view.closing, days),
        rows: variance.rows.iter().map(|r| row_form(r, view, figures)).collect(),
        grouped_by: by.map(word),
        groups: by.map(|by| grouped(figures.setup, &variance.rows, by)).into_iter().flatten().map(group).collect(),
        cost: json::money(sum, currency),
        without_cost,
        untold: variance.untold.iter().map(untold).collect(),
        taken_from_ingredients: variance.exploded.iter().map(|i| figures.name(*i)).collect(),
        unmapped: UnmappedForm {
            lines: unmapped.lines,
            quantity_milli: unmapped.quantity,
            net: json::money(unmapped.net, currency),
        },
        net_sales: json::money(variance.sold.net, currency),
        false_alarms: view.review.rate,
        chart_limit: (view.review.limit * 1_000.0).round() / 1_000.0,
        recounts: view
            .recounts
            .iter()
            .map(|recount| RecountForm {
                item: figures.name(recount.item),
                slip: (recount.slip * 1_000.0).round() / 1_000.0,
                finer: (recount.finer * 1_000.0).round() / 1_000.0,
                gain: json::money(recount.gain, currency),
            })
            .collect(),
    }
}

fn count_form(count: &Count, days: &DayRule) -> CountForm {
    CountForm {
        name: count.name.clone(),
        begun: json::time(days, count.opened),
        closed: count.closed.map(|at| json::time(days, at)),
    }
}

fn row_form(row: &GapRow, view: &PeriodView, figures: Figures) -> RowForm {
    let setup = figures.setup;
    let item = figures.item(row.item);
    let size = item.map_or(0, |i| i.size.0);
    RowForm {
        item: figures.name(row.item),
        kind: item.map(|i| i.kind.word()),
        place: setup.place_name(row.home).to_owned(),
        unit: figures.unit(row.item),
        size,
        from: json::time(&setup.venue.days, row.from),
        to: json::time(&setup.venue.days, row.to),
        opening: row.opening.amount.0,
        u_opening: json::whole(row.opening.u),
        delivered: row.flow.delivered.0,
        made: row.flow.made.0,
        moved: row.flow.moved.0,
        lost: row.flow.lost.0,
        batched: row.flow.batched.0,
        closing: row.closing.amount.0,
        u_closing: json::whole(row.closing.u),
        used: row.usage.0,
        sold: row.sold.0,
        gap: row.gap.0,
        u_gap: json::whole(row.u),
        gap_containers_milli: (size > 0).then(|| row.gap.times(1_000, size).0),
        percent_of_used: row.percent.map(thousandths),
        beyond_exactness: row.beyond_exactness(),
        cost: row.cost.map(|c| json::money(c, setup.venue.currency)),
        stores_left_out: match &row.told {
            Told::Whole => Vec::new(),
            Told::StoresLeftOut(places) => places.iter().map(|p| setup.place_name(*p).to_owned()).collect(),
        },
        judged: judged_form(row, view, figures),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn nothing_has_no_sign() {
        assert_eq!(super::percent(-0.04), "0.0");
        assert_eq!(super::percent(-0.06), "-0.1");
        assert_eq!(super::percent(14.286), "14.3");
    }
}
