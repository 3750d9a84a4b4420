//! What another price of something bought does to every drink.

use super::cost::Costs;
use super::serve::{Earning, ServeCost};
use crate::domain::measure::{Currency, Decimal, UnitCost, decimal};
use crate::domain::venue::{DrinkId, Item, Setup};
use chrono::NaiveDate;

/// A drink before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Touched {
    /// Which.
    pub drink: DrinkId,
    /// What it costs now.
    pub before: ServeCost,
    /// What it would cost.
    pub after: ServeCost,
    /// What it earns now, where that is known.
    pub earns: Option<Earning>,
    /// What it would earn.
    pub would_earn: Option<Earning>,
}

/// A price that is tried, as typed, as a unit cost: a price of one container without tax, or `+5 %` and `-5 %` on what it
/// costs `now`.
///
/// # Errors
/// A sentence saying what was expected.
pub fn tried_cost(typed: &str, item: &Item, now: Option<UnitCost>, currency: Currency) -> Result<UnitCost, String> {
    let typed = decimal::pointed(typed);
    if let Some(percent) = typed.strip_suffix('%') {
        let read = Decimal::parse(percent.trim()).ok().and_then(|d| d.exact(2));
        let read = read.filter(|p| (-10_000..=1_000_000).contains(p));
        let read = read.ok_or_else(|| word!("expected percent such as +5 % or -10 %").to_owned())?;
        let now = now.ok_or_else(|| word!("no cost of it is known yet, so there is nothing to add to").to_owned())?;
        return Ok(now.times(10_000 + read, 10_000));
    }
    if typed.starts_with(['+', '-']) {
        return Err(say!("a change is written in percent, {typed} %; a price has no sign", typed));
    }
    let price = currency.parse_price(&typed).map_err(|e| e.to_string())?;
    UnitCost::new(price, item.size).ok_or_else(|| word!("expected a price of zero or more").to_owned())
}

/// The drinks whose cost changes from one set of costs to another, the most changed first.
pub fn touched(setup: &Setup, before: &Costs, after: &Costs, day: NaiveDate) -> Vec<Touched> {
    let mut out: Vec<Touched> = setup
        .drinks
        .iter()
        .filter_map(|drink| {
            let (_, spec) = drink.specs.at(day)?;
            let (cost, changed) = (ServeCost::of(before, spec), ServeCost::of(after, spec));
            let menu = drink.menu.at(day).map(|(_, menu)| menu);
            let earning = |cost: &ServeCost| cost.whole().zip(menu).map(|(cost, menu)| Earning::of(cost, menu, setup));
            (cost != changed).then(|| Touched {
                drink: drink.id,
                earns: earning(&cost),
                would_earn: earning(&changed),
                before: cost,
                after: changed,
            })
        })
        .collect();
    let moved = |t: &Touched| {
        let minor = |cost: &ServeCost| cost.known.minor(setup.venue.currency);
        (minor(&t.after) - minor(&t.before)).abs()
    };
    out.sort_by(|a, b| moved(b).total_cmp(&moved(a)));
    out
}
