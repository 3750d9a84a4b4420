//! Par: the level that an order placed now fills up to.

use super::ahead::{Ahead, Stretch};
use super::demand::Demand;
use super::outlook::{DayAhead, Outlook};
use super::stakes::Stakes;
use crate::domain::drink::Larder;
use crate::domain::measure::Amount;
use crate::domain::usage::Asked;
use crate::domain::venue::{Item, Setup};
use chrono::{Days, NaiveDate};

/// What a par is computed from besides demand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wishes {
    /// The share of times in which the item must not run dry before the order after the next has come.
    pub service: f64,
    /// Standard uncertainty of what is on the shelf, in base units.
    pub u: f64,
    /// What the shelf holds.
    pub shelf_max: Option<Amount>,
    /// Days that it keeps.
    pub keeps_days: Option<i64>,
    /// What running out costs, and what is thrown away: for what does not keep.
    pub stakes: Option<Stakes>,
}

impl Wishes {
    /// Of an item whose stock is known to a standard uncertainty, and of which so much was asked.
    pub fn of(setup: &Setup, item: &Item, u: f64, asked: Option<&Asked>, larder: &Larder) -> Wishes {
        Wishes {
            service: setup.service_level(item) as f64 / 1_000.0,
            u,
            shelf_max: item.shelf_max.map(|most| most.of(item.size)),
            keeps_days: item.spoils_in(),
            stakes: asked.and_then(|asked| Stakes::of(setup, larder, item.id, asked)),
        }
    }
}

/// Why a par is not what the service level alone would have it be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Held {
    /// The shelf holds no more.
    Shelf,
    /// It would not keep: what is thrown away is weighed against what running out costs.
    Keeps,
}

/// A par, and how it came about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Par {
    /// The level to fill up to, in base units.
    pub level: Amount,
    /// The stretch it is for.
    pub stretch: Stretch,
    /// What is expected to be asked over it.
    pub demand: Demand,
    /// The same with the uncertainty of the shelf: what the level is a quantile of.
    pub spread: Demand,
    /// The share of times that it was computed for.
    pub service: f64,
    /// What held it down.
    pub held: Option<Held>,
}

impl Par {
    /// For an item with an outlook, over a stretch of the days ahead.
    pub fn new(outlook: &Outlook, ahead: &Ahead, stretch: Stretch, wishes: &Wishes) -> Par {
        Par::over(outlook, stretch, wishes, |until| ahead.before(until).to_vec())
    }

    /// The same, when `before` says which days there are before a date.
    pub(super) fn over(
        outlook: &Outlook,
        stretch: Stretch,
        wishes: &Wishes,
        before: impl Fn(NaiveDate) -> Vec<DayAhead>,
    ) -> Par {
        let demand = outlook.over(&before(stretch.until));
        let spread = demand.with_u(wishes.u);
        let (mut level, mut service, mut held) = (spread.quantile(wishes.service), wishes.service, None);
        if let Some(keeps) = wishes.keeps_days.and_then(|keeps| u64::try_from(keeps).ok()) {
            // What comes with the next order can be used for as long as it keeps, and no longer.
            let until = stretch.comes.checked_add_days(Days::new(keeps)).unwrap_or(NaiveDate::MAX);
            let usable = outlook.over(&before(until)).with_u(wishes.u);
            let ratio = wishes.stakes.and_then(Stakes::ratio).unwrap_or(wishes.service);
            let most = usable.quantile(ratio);
            if most < level {
                (level, service, held) = (most, ratio, Some(Held::Keeps));
            }
        }
        if let Some(most) = wishes.shelf_max.filter(|most| most.as_f64() < level) {
            (level, held) = (most.as_f64(), Some(Held::Shelf));
        }
        Par { level: Amount::rounded(level), stretch, demand, spread, service, held }
    }

    /// The share of times in which the level is enough over its stretch: that which it was computed for, unless something
    /// holds it down.
    pub fn enough(&self) -> f64 {
        if self.held.is_some() { 1.0 - self.risk(self.level) } else { self.service }
    }

    /// The chance that a level runs dry before the order after the next has come.
    pub fn risk(&self, level: Amount) -> f64 {
        1.0 - self.spread.share_up_to(level.as_f64())
    }
}
