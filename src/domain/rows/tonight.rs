//! What is due tonight.

use crate::domain::drink::BatchLeft;
use crate::domain::gauge::Level;
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, Money};
use crate::domain::order::Totals;
use crate::domain::par::ItemPar;
use crate::domain::rows::Progress;
use crate::domain::usage::Unmapped;
use crate::domain::venue::{
    Drink, DrinkId, Ingredient, Item, ItemId, Moment, OrderId, PlaceId, Recipe, Setup, SupplierId, name_key,
};
use chrono::NaiveDate;

/// Everything the first screen shows.
#[derive(Clone, Debug, Default)]
pub struct Tonight {
    /// The evening it is.
    pub day: NaiveDate,
    /// A count that was begun and not closed.
    pub open_count: Option<(Count, Progress)>,
    /// Whether this evening was counted already.
    pub counted: bool,
    /// When each place was last counted, in walking order.
    pub places: Vec<(PlaceId, Option<Moment>)>,
    /// Suppliers with a deadline to come, the nearest first.
    pub deadlines: Vec<DeadlineRow>,
    /// Orders sent and not received, the earliest first.
    pub expected: Vec<ExpectedRow>,
    /// Items that will run dry before anything of them comes, the soonest first.
    pub dry: Vec<DryRow>,
    /// Items below par, those with the least left of it first.
    pub low: Vec<LowRow>,
    /// Batches past their date by the bar's own setting, the oldest first.
    pub past_date: Vec<PastDateRow>,
    /// What is to be claimed, by supplier, the most money first.
    pub claims: Vec<ClaimsRow>,
    /// Till names that mean nothing yet, by sales of the last four weeks.
    pub unmapped: Vec<(String, Unmapped)>,
}

/// What is to be claimed from a supplier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClaimsRow {
    /// From whom.
    pub supplier: SupplierId,
    /// How many claims.
    pub claims: usize,
    /// How much, without tax.
    pub money: Money,
    /// When the oldest was put down.
    pub since: Moment,
}

/// Days after its date that a batch of an item that is never counted is still named.
const FORGOTTEN: i64 = 14;

/// A batch past its date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PastDateRow {
    /// What was made.
    pub item: ItemId,
    /// When it was made.
    pub made: NaiveDate,
    /// The last day it kept.
    pub use_by: NaiveDate,
    /// What is left of it when the oldest goes first; nothing known of an item that was never counted.
    pub left: Option<Amount>,
}

impl PastDateRow {
    /// Of a batch of which something may be left, if its date is past on a business day.
    pub fn of(left: &BatchLeft, day: NaiveDate) -> Option<PastDateRow> {
        let use_by = left.use_by?.day;
        let row = PastDateRow { item: left.batch.item, made: left.made, use_by, left: left.left };
        // Where nobody counts, what is long past its date is most likely gone.
        let forgotten = left.left.is_none() && (day - use_by).num_days() > FORGOTTEN;
        (use_by < day && !forgotten).then_some(row)
    }
}

/// A supplier's next deadline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DeadlineRow {
    /// Who.
    pub supplier: SupplierId,
    /// The last moment to order.
    pub by: Moment,
    /// When it comes.
    pub comes: NaiveDate,
    /// Lines that would be ordered.
    pub lines: usize,
    /// What they cost.
    pub totals: Totals,
}

/// A delivery to come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExpectedRow {
    /// The order.
    pub order: OrderId,
    /// What it is called.
    pub name: String,
    /// From whom.
    pub supplier: SupplierId,
    /// The date it should come.
    pub expected: Option<NaiveDate>,
    /// Its date is past.
    pub late: bool,
    /// Its lines.
    pub lines: usize,
}

/// With so much of a chance it is told that an item may run dry.
const LIKELY: f64 = 0.25;
/// Drinks that are named as falling.
const MOST_DRINKS: usize = 6;

/// An item that is likely to run dry before the next van, and what can be done today.
#[derive(Clone, Debug, PartialEq)]
pub struct DryRow {
    /// What.
    pub item: ItemId,
    /// What should be there.
    pub on_hand: Level,
    /// The chance that it is dry before anything of it can come.
    pub chance: f64,
    /// The day in the course of which it is more likely dry than not, where that is before it comes.
    pub day: Option<NaiveDate>,
    /// When something of it comes: what is on its way, or the van that an order now makes; for what is made here, never.
    pub comes: Option<NaiveDate>,
    /// Whether that is on its way already.
    pub ordered: bool,
    /// Made here, not bought.
    pub made_here: bool,
    /// Suppliers whose van comes before that, with the last moment to order and the day, the earliest first.
    pub sooner: Vec<(SupplierId, Moment, NaiveDate)>,
    /// The same thing in containers of another size, of which there is some.
    pub sizes: Vec<ItemId>,
    /// Drinks on the menu that cannot be made without it, in the order of names, so far as they are named.
    pub drinks: Vec<DrinkId>,
}

/// The items that are likely to run dry before anything of them comes, the soonest first.
pub fn dry_rows(setup: &Setup, pars: &[ItemPar], now: Moment) -> Vec<DryRow> {
    let today = setup.venue.days.day_of(now);
    let mut rows: Vec<DryRow> = pars.iter().filter_map(|par| dry_row(setup, pars, par, today)).collect();
    rows.sort_by(|a, b| {
        let day = |row: &DryRow| row.day.or(row.comes).unwrap_or(NaiveDate::MAX);
        day(a).cmp(&day(b)).then(b.chance.total_cmp(&a.chance)).then(a.item.cmp(&b.item))
    });
    rows
}

fn dry_row(setup: &Setup, pars: &[ItemPar], par: &ItemPar, today: NaiveDate) -> Option<DryRow> {
    let on_hand = par.on_hand?;
    let on_its_way = par.coming.first().map(|(day, _)| *day);
    let van = par.by_demand().filter(|_| par.usual.is_some()).map(|computed| computed.stretch.comes);
    let comes = on_its_way.into_iter().chain(van).min();
    // What is made here can be made tomorrow; until then what there is must do.
    let tomorrow = today.succ_opt().unwrap_or(today);
    let until = if par.made_here { Some(tomorrow) } else { comes };
    let last = par.cover.days.last()?.day;
    let chance = par.cover.dry_before(until.unwrap_or(last));
    if chance < LIKELY {
        return None;
    }
    let day = par.cover.dry_by(0.5).filter(|day| until.is_none_or(|until| *day < until));
    let mut sooner: Vec<(SupplierId, Moment, NaiveDate)> = par
        .computed
        .iter()
        .filter_map(|(supplier, computed)| Some(((*supplier)?, computed.stretch.by?, computed.stretch.comes)))
        .filter(|(_, _, day)| comes.is_none_or(|comes| *day < comes))
        .collect();
    sooner.sort_by_key(|(supplier, _, day)| (*day, *supplier));
    Some(DryRow {
        item: par.item,
        on_hand,
        chance,
        day,
        comes: if par.made_here { None } else { comes },
        ordered: on_its_way.is_some() && on_its_way == comes,
        made_here: par.made_here,
        sooner,
        sizes: other_sizes(setup, pars, par.item),
        drinks: drinks_of(setup, par.item, today),
    })
}

/// The same thing in another size: items of the same kind whose name is the same but for figures and units in it, of which
/// there is some.
fn other_sizes(setup: &Setup, pars: &[ItemPar], item: ItemId) -> Vec<ItemId> {
    let Some(what) = setup.item(item) else { return Vec::new() };
    let bare = |name: &str| {
        let sized =
            |word: &&str| !word.chars().any(|c| c.is_ascii_digit()) && !matches!(*word, "ml" | "cl" | "l" | "g" | "kg");
        name_key(name).split_whitespace().filter(sized).collect::<Vec<_>>().join(" ")
    };
    let own = bare(&what.name);
    let some =
        |id: ItemId| pars.iter().any(|par| par.item == id && par.on_hand.is_some_and(|there| there.amount.0 > 0));
    let same = |other: &&Item| {
        other.id != item && other.kind == what.kind && other.basis == what.basis && other.size != what.size
    };
    let all = setup.items.iter().filter(same);
    all.filter(|other| bare(&other.name) == own && some(other.id)).map(|other| other.id).collect()
}

/// The drinks on the menu that take an item, itself or in what is made of it.
fn drinks_of(setup: &Setup, item: ItemId, today: NaiveDate) -> Vec<DrinkId> {
    let takes = |takes: &[Ingredient]| takes.iter().any(|part| made_of(setup, part.item, item, today, 0));
    let on_menu = |drink: &&Drink| drink.menu.at(today).is_some_and(|(_, menu)| menu.on);
    let all = setup.drinks.iter().filter(on_menu);
    let with = all.filter(|drink| drink.specs.at(today).is_some_and(|(_, spec)| takes(spec)));
    with.map(|drink| drink.id).take(MOST_DRINKS).collect()
}

/// Whether something is an item, or made of it by the recipes of a day, however deep.
fn made_of(setup: &Setup, what: ItemId, item: ItemId, day: NaiveDate, depth: usize) -> bool {
    let within = |recipe: &Recipe| recipe.takes.iter().any(|part| made_of(setup, part.item, item, day, depth + 1));
    what == item || (depth <= Recipe::DEEPEST && setup.recipe(what, day).is_some_and(within))
}

/// An item that is running low.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowRow {
    /// What.
    pub item: ItemId,
    /// What should be there.
    pub on_hand: Level,
    /// The level to fill up to.
    pub par: Amount,
    /// With a supplier already.
    pub on_order: Amount,
    /// Made here, not bought.
    pub made_here: bool,
}

/// What can be counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountChoice {
    /// In words: `All of the bar`, `Speed rail`.
    pub label: String,
    /// Which places.
    pub places: Vec<PlaceId>,
    /// Lines to walk.
    pub lines: usize,
    /// When these places were last counted, all of them.
    pub last: Option<Moment>,
    /// When any of them was last counted: a sheet that was filled in before is older than what the book has.
    pub newest: Option<Moment>,
    /// The mark of a sheet of these places, as it would be printed now.
    pub mark: String,
}

/// One item on the Stock screen.
#[derive(Clone, Debug, PartialEq)]
pub struct StockRow {
    /// What.
    pub item: ItemId,
    /// How much there should be; `None` when it was never counted.
    pub on_hand: Option<Level>,
    /// What it is worth at the price last paid; `None` when no price is known.
    pub value: Option<Money>,
    /// The level to fill up to.
    pub par: Option<Amount>,
    /// With a supplier already.
    pub on_order: Amount,
    /// When it was last counted.
    pub counted: Option<Moment>,
    /// What sales took since.
    pub sold: Amount,
    /// How much there should be in each of its places.
    pub places: Vec<(PlaceId, Amount)>,
}
