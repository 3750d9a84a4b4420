//! What it costs to be wrong: of what is missing the margin of the drinks, of what is left its own cost.

use crate::domain::drink::{Earning, Larder, ServeCost};
use crate::domain::measure::Amount;
use crate::domain::usage::Asked;
use crate::domain::venue::{DrinkId, ItemId, Setup};

/// What it costs to be wrong by one base unit, in minor units of the coin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stakes {
    /// Running out: what the drinks that cannot be made would have brought in.
    pub short: f64,
    /// Having too much: what is thrown away had cost.
    pub over: f64,
}

impl Stakes {
    /// A drink that cannot be made does not bring in its margin; what is left past its date had cost what went into it.
    /// Margins are shared out by what each drink takes. Nothing where no margin or no cost is known.
    pub fn of(setup: &Setup, larder: &Larder, item: ItemId, asked: &Asked) -> Option<Stakes> {
        let currency = setup.venue.currency;
        let (mut earned, mut took) = (0.0, 0.0);
        for (drink, (rung, amount)) in &asked.by_drink {
            if let Some(earning) = earning(setup, larder, *drink) {
                earned += earning.margin.0.max(0) as f64 * *rung as f64 / 1_000.0;
                took += amount.as_f64();
            }
        }
        let unit = larder.costs.of(item)?.exact(Amount(1_000_000)).minor(currency) / 1e6;
        (took > 0.0).then_some(Stakes { short: earned / took, over: unit })
    }

    /// Where no margin is known: the one that the pour cost aimed at leaves, of what one base unit costs in minor units.
    pub fn by_pour_cost(setup: &Setup, unit: f64) -> Stakes {
        let target = setup.venue.target_pour_cost.max(1) as f64 / 10_000.0;
        Stakes { short: unit * (1.0 / target - 1.0).max(0.0), over: unit }
    }

    /// The share of times that should not run out, short ÷ (short + over): the critical ratio of the newsvendor (L. Snyder,
    /// Z.-J. Shen, Fundamentals of Supply Chain Theory, 2nd ed., section 4.3). Nothing where neither costs anything.
    pub fn ratio(self) -> Option<f64> {
        let both = self.short + self.over;
        (both > 0.0 && self.short >= 0.0 && self.over >= 0.0).then(|| self.short / both)
    }
}

/// What a serve of a drink earns today.
fn earning(setup: &Setup, larder: &Larder, drink: DrinkId) -> Option<Earning> {
    let drink = setup.drink(drink)?;
    let (_, spec) = drink.specs.at(larder.day)?;
    let (_, menu) = drink.menu.at(larder.day)?;
    Some(Earning::of(ServeCost::of(&larder.costs, spec).whole()?, menu, setup))
}
