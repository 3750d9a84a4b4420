//! Changing pars: what is typed, what letting the other par rule comes to, and what was changed.

use super::ParView;
use crate::domain::measure::{Amount, Money, decimal, number_of};
use crate::domain::par::ItemPar;
use crate::domain::venue::{Containers, ItemId, ParFrom, Setup};

/// No shelf holds more containers of one thing.
const MOST_PAR: Containers = Containers(10_000_000);

/// A par as typed: a number of containers, or nothing.
///
/// # Errors
/// What was typed and what was expected, in words.
pub fn typed_par(text: &str) -> Result<Option<Containers>, String> {
    let typed = text.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    let par = Containers::parse(&decimal::pointed(typed)).map_err(|expected| format!("“{typed}”: {expected}"))?;
    check_par(par).map(Some).map_err(|expected| format!("“{typed}”: {expected}"))
}

/// A par that a shelf can hold.
///
/// # Errors
/// What was expected, in words.
pub fn check_par(par: Containers) -> Result<Containers, String> {
    match par {
        Containers(0..) if par <= MOST_PAR => Ok(par),
        _ => Err(say!("expected a par from 0 to {what} containers", what = MOST_PAR.0 / 1_000)),
    }
}

/// How an item's par is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ParSet {
    /// By hand, where somebody set one.
    pub hand: Option<Containers>,
    /// Which one rules, where somebody said so.
    pub from: Option<ParFrom>,
}

/// What rules pars, in words.
pub fn ruler(from: ParFrom) -> &'static str {
    match from {
        ParFrom::Demand => word!("demand"),
        ParFrom::Hand => word!("the pars set by hand"),
    }
}

/// What was changed about an item's par.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ParChange {
    /// Whose.
    pub item: ItemId,
    /// As it was.
    pub was: ParSet,
    /// As it is now.
    pub now: ParSet,
}

/// What it comes to when the other par rules some items.
#[derive(Clone, Debug, PartialEq)]
pub struct Ruling {
    /// Which par is to rule.
    pub from: ParFrom,
    /// The items that change by it.
    pub items: Vec<ItemId>,
    /// Those that it rules already.
    pub already: usize,
    /// Those without such a par, which stay as they are.
    pub without: usize,
    /// What the pars that rule those that change tie up, before and after.
    pub tied_up: [Money; 2],
    /// How many of those that change have no known cost, so that they are in no sum.
    pub no_cost: usize,
}

impl ParView {
    /// What it comes to when one of the two pars rules the items that are chosen.
    pub fn ruling(&self, from: ParFrom, chosen: impl Fn(ItemId) -> bool) -> Ruling {
        let mut out = Ruling { from, items: vec![], already: 0, without: 0, tied_up: [Money::ZERO; 2], no_cost: 0 };
        for par in self.pars.iter().filter(|par| chosen(par.item)) {
            let after = match from {
                ParFrom::Hand => par.hand,
                ParFrom::Demand => par.by_demand().map(|computed| computed.level),
            };
            // Without such a par there would be none at all.
            let Some(after) = after else {
                out.without += 1;
                continue;
            };
            if par.from == from {
                out.already += 1;
                continue;
            }
            out.items.push(par.item);
            match self.worth(par.item, after) {
                Some(worth) => {
                    out.tied_up[0] += par.rules().and_then(|par_now| self.worth(par.item, par_now)).unwrap_or_default();
                    out.tied_up[1] += worth;
                }
                None => out.no_cost += 1,
            }
        }
        out
    }
}

impl Ruling {
    /// What changes, in a sentence: how many items, what their pars tie up before and after, and what stays as it is.
    pub fn words(&self, view: &ParView) -> String {
        let show = view.setup.venue.show();
        let number = |many: usize, one: &str, several: &str| number_of(many as u64, one, several);
        let mut out = match self.items.len() {
            0 => vec![word!("nothing changes").to_owned()],
            changed => vec![say!(
                "{changed} to {from}",
                changed = number(changed, word!("item changes"), word!("items change")),
                from = ruler(self.from)
            )],
        };
        if self.items.len() > self.no_cost {
            let [before, after] = self.tied_up.map(|sum| show.money(sum));
            let coin = show.currency;
            out.push(say!(
                "the pars that rule tie up {before} {coin} before and {after} {coin} after",
                before,
                coin,
                after
            ));
        }
        if self.no_cost > 0 {
            out.push(say!(
                "{no_cost} of no known cost not in it",
                no_cost = number(self.no_cost, word!("item"), word!("items"))
            ));
        }
        if self.already > 0 {
            out.push(say!(
                "{already} so already",
                already = number(self.already, word!("item is"), word!("items are"))
            ));
        }
        if self.without > 0 {
            out.push(say!(
                "{without} no such par",
                without = number(self.without, word!("item has"), word!("items have"))
            ));
        }
        out.join("; ")
    }
}

impl ParChange {
    /// What was changed, in a sentence.
    pub fn words(&self, setup: &Setup) -> String {
        let name = setup.item_name(self.item);
        let par = |par: Containers| decimal::shown(par.0, 3);
        match (self.now.hand, self.was.hand) {
            (None, Some(_)) => say!("The par of {name} by hand is taken away: demand rules", name),
            (Some(hand), _) if self.now.from != Some(ParFrom::Demand) => {
                say!("The par of {name} is {hand} by hand, and rules", name, hand = par(hand))
            }
            (Some(hand), _) => {
                say!("Demand rules the par of {name}; the one by hand, {hand}, stays beside it", name, hand = par(hand))
            }
            (None, None) => say!("Demand rules the par of {name}", name),
        }
    }

    /// What it is again once that is put back.
    pub fn put_back_words(changes: &[ParChange], setup: &Setup) -> String {
        match changes {
            [one] => {
                let back = ParChange { was: one.now, now: one.was, ..*one };
                say!("Put back. {words}", words = back.words(setup))
            }
            several => {
                say!(
                    "Put back. The pars of {several} are as they were",
                    several = number_of(several.len() as u64, word!("item"), word!("items"))
                )
            }
        }
    }
}

/// How far the par by hand is above the one by demand, in containers and in money where that is known; nothing of an item
/// without both.
pub fn difference(view: &ParView, par: &ItemPar) -> Option<(f64, Option<Money>)> {
    let (hand, demand) = par.hand.zip(par.by_demand().map(|computed| computed.level))?;
    let size = view.setup.item(par.item)?.size.as_f64();
    let worth = view.worth(par.item, hand).zip(view.worth(par.item, demand)).map(|(hand, demand)| hand - demand);
    (size > 0.0).then(|| ((hand.as_f64() - demand.as_f64()) / size, worth))
}

/// Pars that differ by fewer containers than these, or by less than this share of the smaller one, are not far apart: what
/// is ordered comes in whole containers anyway.
const FAR: f64 = 2.0;
const FAR_SHARE: f64 = 0.5;

/// Whether the two pars are so far apart that it is worth a look.
pub fn far_apart(view: &ParView, par: &ItemPar) -> bool {
    let Some((apart, _)) = difference(view, par) else { return false };
    let (Some(hand), Some(demand)) = (par.hand, par.by_demand()) else { return false };
    let size = view.setup.item(par.item).map_or(1.0, |item| item.size.as_f64().max(1.0));
    apart.abs() >= FAR.max(FAR_SHARE * hand.min(demand.level).as_f64() / size)
}

/// How the two pars compare, in a sentence; nothing of an item without both.
pub(super) fn comparing_words(view: &ParView, par: &ItemPar) -> Option<String> {
    let (apart, worth) = difference(view, par)?;
    let (hand, computed) = par.hand.zip(par.by_demand())?;
    let item = view.setup.item(par.item)?;
    let show = view.setup.venue.show();
    let enough = (1_000.0 * (1.0 - computed.risk(hand))).round() / 10.0;
    let far = if far_apart(view, par) { word!(", far apart") } else { "" };
    let money =
        worth.map_or(String::new(), |worth| format!(", {} {}", show.money(Money(worth.0.abs())), show.currency));
    let size = Amount::rounded(apart.abs() * item.size.as_f64());
    let more = match show.containers(size, item.size) {
        same if same == "0.0" => word!("as much as by demand").to_owned(),
        by if apart > 0.0 => say!("{by} more than by demand{money}{far}", by, money, far),
        by => say!("{by} less than by demand{money}{far}", by, money, far),
    };
    Some(say!("By hand is {more}; it would be enough {enough} times of 100", more, enough))
}
