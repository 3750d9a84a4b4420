//! What another price of something bought does to every drink.

use super::cost::Costs;
use super::serve::{Earning, ServeCost};
use crate::domain::venue::{DrinkId, Setup};
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
