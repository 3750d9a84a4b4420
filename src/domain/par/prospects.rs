//! What is to be expected of all items, and from when on.

use super::ahead::{AHEAD, Ahead, Hours};
use super::outlook::{Outlook, outlooks};
use super::past::Past;
use crate::domain::usage::{AskedDays, DayTold};
use crate::domain::venue::{ItemId, Moment, Setup};
use chrono::NaiveDate;
use std::collections::HashMap;

/// What a book says of the days to come.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prospects {
    /// What was asked, day by day.
    pub asked: AskedDays,
    /// What those days have in common.
    pub past: Past,
    /// Days that do not say what was asked of an item, since it was dry.
    pub told: HashMap<ItemId, Vec<DayTold>>,
    /// What is expected of each item; none of one that is known for too short a time.
    pub outlooks: HashMap<ItemId, Outlook>,
    /// How a day's trade is spread over its hours.
    pub hours: Hours,
    /// The last sale that the book has.
    pub last_sale: Option<Moment>,
    /// How much of a usual day each is by what is special about it, from the first one that is looked at on.
    factors: Vec<f64>,
}

impl Prospects {
    /// From what was asked.
    pub fn new(
        setup: &Setup,
        asked: AskedDays,
        told: HashMap<ItemId, Vec<DayTold>>,
        hours: Hours,
        last_sale: Option<Moment>,
    ) -> Prospects {
        let factors = setup.special.factors(asked.first, asked.rung.len() + AHEAD);
        let past = Past::new(&asked, &factors);
        let outlooks = outlooks(&past, &asked, &told);
        Prospects { asked, past, told, outlooks, hours, last_sale, factors }
    }

    /// How much of a usual day a day is by what is special about it.
    pub fn factor(&self, setup: &Setup, day: NaiveDate) -> f64 {
        let at = usize::try_from((day - self.asked.first).num_days()).ok();
        at.and_then(|at| self.factors.get(at).copied()).unwrap_or_else(|| setup.special.factor(day))
    }

    /// The days ahead of an item's stock, which is known up to its last count, or to the last sale that the book has:
    /// what was sold after that is still to be taken off. A night whose sales are in the book is taken to be in it whole.
    pub fn ahead(&self, setup: &Setup, counted: Option<Moment>, now: Moment) -> Ahead {
        let rule = &setup.venue.days;
        let today = rule.day_of(now);
        let known = counted.into_iter().chain(self.last_sale).max().map_or(now, |known| known.min(now));
        let rest = |at: Moment| {
            let whole = Some(at) == self.last_sale && rule.day_of(at) < today;
            if whole { 0.0 } else { self.hours.after(at) }
        };
        Ahead::new(rule, known, today, rest, |day| self.factor(setup, day))
    }
}
