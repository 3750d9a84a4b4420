//! `tantalus goods`: cost of goods used, by the weighted average and first in, first out.

mod form;

use super::figures::{Figures, UNKNOWN};
use super::json;
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::comparing;
use crate::desk::goods::{self, Asked, End};
use crate::domain::measure::Money;
use crate::domain::rows::{GoodsEnd, GoodsView};
use crate::domain::usage::{
    ByMethod, GoodsBy, GoodsGroup, GoodsRow, LeftOutBecause, Looked, Worth, goods_by, percent_of,
};
use crate::domain::venue::{CostRule, ItemId, Moment, parse_day};

/// Names told in one note; more are only numbered.
const TOLD: usize = 12;

/// Show the cost of goods used, and pour cost
///
/// Value at the beginning + bought − value at the end = cost of goods used, for two counts or over business days, by the
/// weighted average and first in, first out. Pour cost is that as a part of net sales.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The count to begin with, or a business day such as 2026-10-01; chosen as for `variance` when not given
    #[arg(long, value_name = "COUNT|DAY")]
    from: Option<String>,
    /// The count to end with, or a business day, itself among them
    #[arg(long, value_name = "COUNT|DAY")]
    to: Option<String>,
    /// Show every item instead of kinds
    #[arg(long, conflicts_with = "by_place")]
    by_item: bool,
    /// Sum by the place that items are poured from instead of by kind
    #[arg(long)]
    by_place: bool,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open_costs()?;
    let asked = Asked { from: end(&store, args.from.as_deref())?, to: end(&store, args.to.as_deref())? };
    let (setup, view) = goods::used(&store, asked, clock::started())?;
    let figures = Figures { setup: &setup };
    let by = match (args.by_item, args.by_place) {
        (true, _) => GoodsBy::Item,
        (_, true) => GoodsBy::Place,
        _ => GoodsBy::Kind,
    };
    if args.json { json::text(&form::form(&view, figures, by)) } else { Ok(page(&view, figures, by)) }
}

/// A count by its name, or a day; a count that is called as a day is written is that count.
fn end(store: &Store, said: Option<&str>) -> Result<Option<End>, Refusal> {
    let Some(said) = said else { return Ok(None) };
    match (comparing::count_named(store, said), parse_day(said)) {
        (Ok(count), _) => Ok(Some(End::Count(count.id))),
        (Err(_), Ok(day)) => Ok(Some(End::Day(day))),
        (Err(error), Err(_)) => Err(Refusal::from(error).and("a business day is written 2026-10-01")),
    }
}

fn end_words(end: &GoodsEnd, at: Moment, figures: Figures) -> String {
    match end {
        GoodsEnd::Count(count) => format!("“{}” ({})", count.name, figures.time(at)),
        GoodsEnd::Day(day) => day.to_string(),
        GoodsEnd::Now(day) => format!("{day}, as it stands ({})", figures.time(at)),
    }
}

fn page(view: &GoodsView, figures: Figures, by: GoodsBy) -> String {
    let mut page = Page::new();
    let (goods, total) = (&view.goods, view.goods.total());
    let ends = [(&view.from, view.from_at), (&view.to, view.to_at)].map(|(end, at)| end_words(end, at, figures));
    page.line(format!("From {}", ends[0]));
    page.line(format!("to   {}", ends[1]));
    page.gap();
    let Some(worth) = total.worth else {
        page.line("Nothing that has a known price was counted by then.");
        notes(&mut page, view, figures);
        return page.finish();
    };
    page.table(&summary(&worth, goods.net.all, figures));
    let groups = goods_by(figures.setup, goods, by);
    page.gap();
    page.table(&values(&groups, &worth, figures, by));
    page.gap();
    let method = if is_fifo(figures) { "first in, first out" } else { "at the weighted average" };
    page.line(format!("What became of it, {method}"));
    page.gap();
    page.table(&uses(&groups, &total, goods.net.untold, figures, by));
    page.gap();
    explain(&mut page, by);
    notes(&mut page, view, figures);
    page.finish()
}

/// The whole, by both methods side by side.
fn summary(worth: &ByMethod, net: Money, figures: Figures) -> Table {
    let mut table = Table::new([
        (figures.setup.venue.currency.code(), Set::Words),
        ("weighted average", Set::Figure),
        ("first in, first out", Set::Figure),
    ]);
    let mut line = |name: &str, of: &dyn Fn(&Worth) -> Money| {
        table.row([name.to_owned(), figures.money(of(&worth.average)), figures.money(of(&worth.fifo))]);
    };
    line("value at the beginning", &|w| w.opening);
    line("+ bought", &|w| w.bought);
    if worth.average.batches != Money::ZERO || worth.fifo.batches != Money::ZERO {
        line("+ by batches, of what is in no sum", &|w| w.batches);
    }
    line("− value at the end", &|w| w.closing);
    line("= cost of goods used", &|w| w.used);
    line("  sold, by the specs", &|w| w.sold);
    line("  recorded losses", &|w| w.lost);
    line("  gap", &|w| w.gap);
    line("net sales", &|_| net);
    let pour = |w: &Worth| percent(percent_of(w.used, net), " %");
    table.row(["pour cost".to_owned(), pour(&worth.average), pour(&worth.fifo)]);
    table
}

fn word(by: GoodsBy) -> &'static str {
    match by {
        GoodsBy::Item => "item",
        GoodsBy::Place => "place",
        GoodsBy::Kind => "kind",
    }
}

/// One decimal; what rounds to nothing carries no sign.
fn percent(value: Option<f64>, sign: &str) -> String {
    value.map_or_else(
        || UNKNOWN.to_owned(),
        |value| {
            let text = format!("{value:.1}");
            format!("{}{sign}", if text == "-0.0" { "0.0" } else { &text })
        },
    )
}

/// Where the value came from and what is left of it, two lines for each.
fn values(groups: &[GoodsGroup], total: &ByMethod, figures: Figures, by: GoodsBy) -> Table {
    let mut table = Table::new([
        (word(by), Set::Name),
        ("cost by", Set::Words),
        ("opening", Set::Figure),
        ("bought", Set::Figure),
        ("batches", Set::Figure),
        ("closing", Set::Figure),
        ("used", Set::Figure),
    ]);
    let cells = |name: &str, method: &str, w: &Worth| {
        let money = [w.opening, w.bought, w.batches, w.closing, w.used].map(|money| figures.money(money));
        [vec![name.to_owned(), method.to_owned()], money.to_vec()].concat()
    };
    for group in groups {
        let Some(worth) = &group.worth else { continue };
        table.row(cells(&group.name, "average", &worth.average));
        table.row(cells("", "first in", &worth.fifo));
    }
    table.sum(cells("in all", "average", &total.average));
    table.sum(cells("", "first in", &total.fifo));
    table
}

/// Where what was used went, by the method that is nearest to the book's rule.
fn uses(groups: &[GoodsGroup], total: &GoodsGroup, untold: Money, figures: Figures, by: GoodsBy) -> Table {
    let by_kind = by == GoodsBy::Kind;
    let all = total.net.unwrap_or_default();
    let cells = |name: &str, group: &GoodsGroup| {
        let worth = group.worth.unwrap_or_default();
        let w = if is_fifo(figures) { worth.fifo } else { worth.average };
        let mut cells = vec![name.to_owned()];
        cells.extend([w.used, w.sold, w.lost, w.gap].map(|money| figures.money(money)));
        cells.push(percent(percent_of(w.used, all), ""));
        if by_kind {
            cells.push(figures.known(group.net));
            cells.push(percent(group.net.and_then(|net| percent_of(w.used, net)), " %"));
        }
        cells
    };
    let mut table = if by_kind {
        Table::new([
            (word(by), Set::Name),
            ("used", Set::Figure),
            ("sold", Set::Figure),
            ("lost", Set::Figure),
            ("gap", Set::Figure),
            ("% of all", Set::Spare),
            ("sales*", Set::Figure),
            ("pour cost*", Set::Figure),
        ])
    } else {
        Table::new([
            (word(by), Set::Name),
            ("used", Set::Figure),
            ("sold", Set::Figure),
            ("lost", Set::Figure),
            ("gap", Set::Figure),
            ("% of all", Set::Spare),
        ])
    };
    // Of a long list of items only those that something became of.
    let quiet = |w: &Worth| [w.used, w.sold, w.lost, w.gap].iter().all(|money| *money == Money::ZERO);
    let idle = |worth: &ByMethod| by == GoodsBy::Item && quiet(&worth.average) && quiet(&worth.fifo);
    for group in groups.iter().filter(|group| group.worth.as_ref().is_some_and(|worth| !idle(worth))) {
        table.row(cells(&group.name, group));
    }
    if by_kind && untold != Money::ZERO {
        let mut row = vec![String::new(); 7];
        row[0] = "not told".to_owned();
        row[6] = figures.money(untold);
        table.row(row);
    }
    table.sum(cells("in all", total));
    table
}

fn is_fifo(figures: Figures) -> bool {
    figures.setup.venue.cost_rule == CostRule::Fifo
}

/// What the columns mean.
fn explain(page: &mut Page, by: GoodsBy) {
    page.line("batches: what they carried to what is made here, out of what went in; it is no use.");
    page.line("gap: used − sold − lost; above zero, more went than was sold and written off.");
    page.line("% of all: used as a percentage of all net sales; together the bar's pour cost.");
    if by == GoodsBy::Kind {
        page.line("*: each drink's net sales parted over its kinds by what its goods cost, for want of better.");
    }
    if by == GoodsBy::Place {
        page.line("An item stands with the place that it is poured from, wherever it is stored.");
    }
}

/// What the figures do not say: what was left out or taken to be, and why.
fn notes(page: &mut Page, view: &GoodsView, figures: Figures) {
    let goods = &view.goods;
    reckoned(page, view, figures);
    let mut note = |what: &str, items: Vec<ItemId>| {
        if !items.is_empty() {
            page.line(format!("{what}: {}.", names(&items, figures)));
        }
    };
    note("No price is known, so in no sum", goods.unpriced().map(|row| row.item).collect());
    let of = |keep: &dyn Fn(&GoodsRow) -> bool| goods.rows.iter().filter(|r| keep(r)).map(|r| r.item).collect();
    note("New, taken to have been nothing at the beginning", of(&|row| row.looked_before.is_none()));
    note("No price was known at the beginning, taken as the first one after it", of(&|row| row.priced_later));
    note("Made here and never counted, so taken from the ingredients", goods.exploded.clone());
    for left in &goods.left_out {
        let bought = match left.bought {
            Money::ZERO => String::new(),
            bought => format!("; bought for {}", figures.coin(bought)),
        };
        page.line(format!("{}: in no sum, {}{bought}.", figures.name(left.item), because(left.because)));
    }
    let net = &goods.net;
    if net.no_stock != Money::ZERO {
        page.line(format!("Not among net sales: {} of what is no stock.", figures.coin(net.no_stock)));
    }
    if net.untold != Money::ZERO {
        page.line(format!(
            "Not told of which kind: {} of net sales (names without a meaning, goods without a price).",
            figures.coin(net.untold)
        ));
    }
    let unmapped = goods.sold.unmapped;
    if unmapped.lines > 0 {
        page.line(format!(
            "Till names without a meaning: {}; what they took is in the gap.",
            figures.unmapped(&unmapped)
        ));
    }
}

/// Which amounts nobody counted there and then.
fn reckoned(page: &mut Page, view: &GoodsView, figures: Figures) {
    let rows = &view.goods.rows;
    let mut side = |end: &GoodsEnd, word: &str, look: &dyn Fn(&GoodsRow) -> Option<Looked>| {
        let looks = rows.iter().filter_map(|row| Some((row.item, look(row)?)));
        match end {
            GoodsEnd::Count(count) => {
                let others: Vec<ItemId> =
                    looks.filter(|(_, look)| look.count != count.id).map(|(item, _)| item).collect();
                if !others.is_empty() {
                    let names = names(&others, figures);
                    page.line(format!("Not in the count at the {word}, so reckoned from an earlier one: {names}."));
                }
            }
            GoodsEnd::Day(_) | GoodsEnd::Now(_) => {
                let (first, last) = (looks.clone().map(|(_, l)| l.at).min(), looks.map(|(_, l)| l.at).max());
                if let (Some(first), Some(last)) = (first, last) {
                    let (first, last) = (figures.time(first), figures.time(last));
                    page.line(format!("The {word} is reckoned from what was counted from {first} to {last}."));
                }
            }
        }
    };
    side(&view.from, "beginning", &|row| row.looked_before);
    side(&view.to, "end", &|row| Some(row.looked_after));
    let unseen: Vec<ItemId> = rows.iter().filter(|row| row.nobody_looked()).map(|row| row.item).collect();
    if !unseen.is_empty() {
        let all = if unseen.len() == rows.len() { "anything".to_owned() } else { names(&unseen, figures) };
        page.line(format!("Nobody counted in between, so that no gap can show: {all}."));
    }
}

/// Names, or how many there are.
fn names(items: &[ItemId], figures: Figures) -> String {
    match items.len() {
        0..=TOLD => figures.items(items.iter().copied()),
        many => format!("{many} items, which --json names"),
    }
}

fn because(why: LeftOutBecause) -> &'static str {
    match why {
        LeftOutBecause::NeverCounted => "it was never counted",
        LeftOutBecause::UnknownAtBeginning => "nobody had counted it by the beginning",
        LeftOutBecause::UnknownAtEnd => "where it stands now was not counted by the end",
    }
}
