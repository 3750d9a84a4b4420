//! The ways to get an item: from whom, how many containers, in which packs, and what each is reckoned to cost.

use super::split::Way;
use crate::domain::measure::{Amount, Money};
use crate::domain::par::{ItemPar, Stakes};
use crate::domain::venue::{Item, ItemId, Offer, ParFrom, Setup, SupplierId};

/// Far more than any order costs, in thousandths of a minor unit: what is short and cannot wait is left out at no lower price.
const FAR: f64 = 1e13;
/// To fill an order up, no more containers of one thing than this are looked at beyond what it wants.
const MOST_BEYOND: i64 = 600;
/// What is bought before it is needed ties up money that a bar has other uses for, and somebody must put it away: so much of
/// its price it must save to be worth it (common practice, no source).
const EARLY: f64 = 0.05;
/// Ways from one supplier that are looked at.
const MOST_WAYS: usize = 12;
/// More than the par wants may be ordered up to what so many days ask, to reach a smallest order or to go without a fee:
/// nobody wants a cellar full of what is needed in a month (common practice, no source).
const BEYOND: f64 = 14.0;
/// A par that nobody knows the demand of is taken to be used up in so many days.
const HAND_PAR_LASTS: f64 = 14.0;
const YEAR: f64 = 365.25;

/// Packs of one size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Packs<'a> {
    pub(super) offer: &'a Offer,
    pub(super) packs: i64,
}

/// Whether a cost is that of leaving out what cannot wait.
pub(super) fn is_out_of_question(cost: i64) -> bool {
    cost as f64 >= FAR
}

/// One way to get an item.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Choice<'a> {
    pub(super) way: Way,
    pub(super) packs: Vec<Packs<'a>>,
    pub(super) containers: i64,
    /// Fewer than the par wants, because the shelf holds no more.
    pub(super) shelf_limits: bool,
    /// Only to fill a mixed case.
    pub(super) spare: bool,
    /// No more than is needed: the least that comes from its supplier of what is short, or nothing.
    pub(super) lean: bool,
}

/// One thing of an order: an item, or a line that somebody has written already.
pub(super) struct Thing<'a> {
    pub(super) item: ItemId,
    pub(super) choices: Vec<Choice<'a>>,
    /// Whether somebody wrote it: it stays as it is.
    pub(super) written: bool,
    /// Whether it lasts almost as surely as it should even without an order, or with one to somebody who comes sooner.
    pub(super) can_wait: bool,
}

/// Nothing of it, at a reckoned cost.
pub(super) fn nothing(cost: i64) -> Choice<'static> {
    let way = Way { supplier: None, goods: Money::ZERO, cost };
    Choice { way, packs: Vec::new(), containers: 0, shelf_limits: false, spare: false, lean: true }
}

/// What an item is weighed by.
pub(super) struct Scales<'a> {
    pub(super) setup: &'a Setup,
    pub(super) item: &'a Item,
    pub(super) par: &'a ItemPar,
    /// The lowest price of one container, in minor units.
    unit: f64,
    /// Containers a day.
    daily: f64,
    /// Containers that are wanted from whoever wants fewest.
    least: i64,
    /// Containers that are wanted from whoever asks least for one.
    cheaply: i64,
    /// The lowest price of one container from somebody who comes so often that nothing is wanted of him yet.
    soon: Option<f64>,
}

impl<'a> Scales<'a> {
    /// Of an item that somebody offers; nothing of one that was never counted, has no par or holds nothing.
    pub(super) fn new(setup: &'a Setup, item: &'a Item, par: &'a ItemPar, offers: &[&Offer]) -> Option<Scales<'a>> {
        let unit = offers.iter().map(|offer| per_container(offer)).min_by(f64::total_cmp)?;
        if item.size <= Amount::ZERO {
            return None;
        }
        par.position()?;
        let rules = par.rules()?;
        let by_hand = rules.as_f64() / HAND_PAR_LASTS;
        let daily = par.daily().unwrap_or(by_hand) / item.size.as_f64();
        let mut scales = Scales { setup, item, par, unit, daily, least: 0, cheaply: 0, soon: None };
        let wanted: Vec<(f64, i64)> =
            offers.iter().map(|offer| (per_container(offer), scales.wanted(offer.supplier))).collect();
        scales.least = wanted.iter().map(|(_, wanted)| *wanted).min().unwrap_or_default();
        scales.cheaply = wanted.iter().filter(|(price, _)| *price <= unit).map(|(_, n)| *n).min().unwrap_or_default();
        let not_yet = wanted.iter().filter(|(_, wanted)| *wanted == 0).map(|(price, _)| *price);
        scales.soon = not_yet.min_by(f64::total_cmp);
        Some(scales)
    }

    /// Whole containers that fill up to the par that rules when it comes from a supplier.
    pub(super) fn wanted(&self, supplier: SupplierId) -> i64 {
        let short = self.par.need_from(Some(supplier)).and_then(|need| need.short()).unwrap_or_default();
        let size = i128::from(self.item.size.0);
        i64::try_from((i128::from(short.0) + size - 1) / size).unwrap_or(0)
    }

    /// Whole containers for which there is still room on the shelf.
    pub(super) fn room(&self) -> Option<i64> {
        let most = self.item.shelf_max?.of(self.item.size);
        Some(((most - self.par.position()?).0 / self.item.size.0).max(0))
    }

    /// What it costs later to have only so many containers now: what is wanted from whoever asks least, and is not ordered of
    /// anybody, must then come at the price of one who comes sooner. In minor units.
    fn dearer_later(&self, containers: i64, price: f64) -> f64 {
        (self.cheaply - containers).max(0) as f64 * (price - self.unit).max(0.0)
    }

    /// What it costs later to order nothing now of what is not short from everybody, in thousandths of a minor unit.
    pub(super) fn put_off(&self) -> i64 {
        (self.dearer_later(0, self.soon.unwrap_or(self.unit)) * 1_000.0).round() as i64
    }

    /// What so many containers more than are wanted from whoever wants fewest are worth less than what is paid for them: the
    /// money lies still until they are used, and what does not keep until then is lost. In minor units.
    fn lies_still(&self, containers: i64) -> f64 {
        let beyond = (containers - self.least).max(0);
        let each_day = self.setup.venue.holding_cost as f64 / 10_000.0 / YEAR;
        // It is used once what is wanted is, and is as old then as the days since it came.
        let lasts = self.par.by_demand().map_or(0.0, |par| (par.stretch.until - par.stretch.comes).num_days() as f64);
        let lost = |days: f64| self.item.spoils_in().is_some_and(|keeps| lasts + days > keeps as f64);
        let one = |n: i64| {
            let days = if self.daily > 0.0 { n as f64 / self.daily } else { YEAR };
            self.unit * if lost(days) { 1.0 } else { (each_day * days).min(1.0) }
        };
        (1..=beyond).map(one).sum()
    }

    /// What it costs to be wrong about it: by the margins of its drinks, or by the pour cost aimed at.
    fn stakes(&self) -> Stakes {
        let each = || Stakes::by_pour_cost(self.setup, self.unit / self.item.size.as_f64());
        self.par.stakes.unwrap_or_else(each)
    }

    /// What is expected to be lost by running out before a supplier's van comes, in minor units.
    fn too_late(&self, supplier: SupplierId) -> f64 {
        let par = self.par;
        let (Some(outlook), Some(there), Some(computed)) =
            (&par.outlook, par.on_hand, par.computed_from(Some(supplier)))
        else {
            return 0.0;
        };
        let comes = computed.stretch.comes;
        let before: Amount = par.coming.iter().filter(|(day, _)| *day < comes).map(|(_, amount)| *amount).sum();
        let stock = (there.amount.max(Amount::ZERO) + before).as_f64();
        let missing = outlook.over(par.ahead.before(comes)).with_u(there.u).missing(stock);
        missing * self.stakes().short
    }

    /// What running out costs until the order after the next has come when nothing is ordered, in minor units.
    fn at_stake(&self) -> f64 {
        let (Some(par), Some(position)) = (self.par.by_demand(), self.par.position()) else { return self.unit };
        par.spread.missing(position.as_f64()) * self.stakes().short
    }

    /// What it costs to order nothing of what is short, when the cheapest way to order it costs so much. What can wait for the
    /// order after it costs what is at stake on top of that: it is left out only where that saves more in fees and in filling
    /// an order up. Of all else it is far more than any order, and the more the more is at stake, so that only what cannot
    /// be had is left out, and what matters least first.
    pub(super) fn left_out(&self, cheapest: i64) -> i64 {
        let at_stake = self.at_stake().min(1e9) * 1_000.0;
        match self.can_wait() {
            true => cheapest.saturating_add(at_stake.ceil() as i64 + 1),
            false => (FAR + at_stake) as i64,
        }
    }

    /// Whether it lasts almost as surely as it should even without an order: the chance of running dry is at most twice what
    /// the service level lets be.
    pub(super) fn can_wait(&self) -> bool {
        let (Some(par), Some(position)) = (self.par.by_demand(), self.par.position()) else { return false };
        self.par.from == ParFrom::Demand && par.risk(position) <= 2.0 * (1.0 - par.service)
    }

    /// The ways from one supplier, by its offers. `at` is its place among the terms. Fewer containers first; of a thing that
    /// is not short, only those that could fill an order up.
    pub(super) fn ways(&self, offers: &[&'a Offer], supplier: SupplierId, at: usize) -> Vec<Choice<'a>> {
        let wanted = self.wanted(supplier);
        let room = self.room();
        let fewest = room.map_or(wanted, |room| wanted.min(room));
        let largest = offers.iter().map(|offer| offer.pack).max().unwrap_or(1);
        let beyond = (self.daily * BEYOND).floor().clamp(0.0, MOST_BEYOND as f64) as i64;
        let beyond = beyond.max(if wanted > 0 { largest } else { 0 });
        let at_most = |most: i64| most.min(room.unwrap_or(i64::MAX)).max(0);
        let most = at_most(wanted.saturating_add(beyond));
        // Any number may be what fills a mixed case, up to a case more than is wanted.
        let holds = offers.iter().filter_map(|offer| Some(offer.mixed.as_ref()?.holds)).max();
        let spare_most = holds.map_or(most, |holds| at_most(wanted.saturating_add(holds)).max(most));
        let prices = cheapest_packs(offers, spare_most as usize);
        let too_late = self.too_late(supplier);
        let price = offers.iter().map(|offer| per_container(offer)).min_by(f64::total_cmp).unwrap_or(self.unit);
        let shelf_limits = fewest < wanted;
        // The fewest containers that packs come to are needed, where anything is; what goes beyond them is early.
        let mut sizes = fewest.max(1)..=most;
        let needed = sizes.find(|containers| wanted > 0 && prices.packs(*containers as usize).is_some()).unwrap_or(0);
        let choice = |containers: i64| {
            let packs = prices.packs(containers as usize)?;
            let goods: Money = packs.iter().map(|packs| packs.offer.price.times(packs.packs, 1)).sum();
            let worth = self.unit * (containers - self.least) as f64;
            let later = self.dearer_later(containers, price);
            let early = (containers - needed).max(0) as f64 * self.unit * EARLY;
            let cost = goods.0 as f64 - worth + self.lies_still(containers) + too_late + later + early;
            let way = Way { supplier: Some(at), goods, cost: (cost * 1_000.0).round() as i64 };
            Some(Choice { way, packs, containers, shelf_limits, spare: false, lean: false })
        };
        let enough: Vec<Choice> = (fewest.max(1)..=most).filter_map(choice).collect();
        if enough.is_empty() && shelf_limits {
            // Packs are too large for what room there is: the most that fits.
            let most = (1..=fewest).rev().find_map(choice);
            return most.map(|choice| Choice { lean: true, ..choice }).into_iter().collect();
        }
        let mut out = thinned(worthwhile(enough));
        if let Some(first) = out.first_mut().filter(|_| wanted > 0) {
            first.lean = true;
        }
        if holds.is_some() {
            let there: Vec<i64> = out.iter().map(|choice| choice.containers).collect();
            let spare = (fewest.max(1)..=spare_most).filter(|containers| !there.contains(containers));
            out.extend(spare.filter_map(choice).map(|choice| Choice { spare: true, ..choice }));
        }
        out
    }
}

/// Without those beside which another costs no more and brings a smallest order at least as near, in their order.
fn worthwhile(all: Vec<Choice>) -> Vec<Choice> {
    let beaten = |one: &Choice, n: usize| {
        all.iter().enumerate().any(|(m, other)| {
            let no_worse = other.way.cost <= one.way.cost && other.way.goods >= one.way.goods;
            no_worse && (m < n || (other.way.cost, other.way.goods) != (one.way.cost, one.way.goods))
        })
    };
    let keep: Vec<bool> = all.iter().enumerate().map(|(n, one)| !beaten(one, n)).collect();
    all.into_iter().zip(keep).filter(|(_, keep)| *keep).map(|(one, _)| one).collect()
}

/// The first ways one by one, then ever further apart: a case more or less matters less the more there are.
fn thinned(all: Vec<Choice>) -> Vec<Choice> {
    let step = |n: usize| if n < MOST_WAYS / 2 { n } else { n + (n + 1 - MOST_WAYS / 2).pow(2) };
    let kept: Vec<usize> = (0..MOST_WAYS).map(step).collect();
    let last = all.len().saturating_sub(1);
    all.into_iter().enumerate().filter(|(n, _)| kept.contains(n) || *n == last).map(|(_, choice)| choice).collect()
}

/// The price of one container, in minor units.
pub(super) fn per_container(offer: &Offer) -> f64 {
    offer.price.0 as f64 / offer.pack.max(1) as f64
}

/// The cheapest packs for each number of containers.
struct CheapestPacks<'a, 'o> {
    offers: &'o [&'a Offer],
    /// By containers: the price, and the offer of one of the packs.
    best: Vec<Option<(i64, usize)>>,
}

/// For up to so many containers, just so many and no more.
fn cheapest_packs<'a, 'o>(offers: &'o [&'a Offer], most: usize) -> CheapestPacks<'a, 'o> {
    let mut best: Vec<Option<(i64, usize)>> = vec![None; most + 1];
    best[0] = Some((0, 0));
    for containers in 1..=most {
        for (n, offer) in offers.iter().enumerate() {
            let Some(before) =
                usize::try_from(offer.pack).ok().filter(|pack| *pack > 0).and_then(|pack| containers.checked_sub(pack))
            else {
                continue;
            };
            let Some((price, _)) = best[before] else { continue };
            let price = price.saturating_add(offer.price.0);
            if best[containers].is_none_or(|(least, _)| price < least) {
                best[containers] = Some((price, n));
            }
        }
    }
    CheapestPacks { offers, best }
}

impl<'a> CheapestPacks<'a, '_> {
    /// The packs of so many containers, the largest first; nothing where no packs come to that.
    fn packs(&self, containers: usize) -> Option<Vec<Packs<'a>>> {
        let mut left = containers;
        let mut out: Vec<Packs<'a>> = Vec::new();
        (*self.best.get(left)?)?;
        while left > 0 {
            let (_, n) = self.best[left]?;
            let offer = self.offers[n];
            match out.iter_mut().find(|packs| packs.offer == offer) {
                Some(packs) => packs.packs += 1,
                None => out.push(Packs { offer, packs: 1 }),
            }
            left = left.checked_sub(usize::try_from(offer.pack).ok()?)?;
        }
        out.sort_by_key(|packs| std::cmp::Reverse(packs.offer.pack));
        Some(out)
    }
}
