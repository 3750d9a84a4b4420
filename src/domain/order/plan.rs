//! What to order now: everything that is short from whoever makes the whole cheapest, over smallest orders and fees, and
//! what else fills an order up.

use super::mixed::filled;
use super::split::{Split, Terms, Unmet, Way, cheapest_of};
use super::ways::{Choice, Scales, nothing};
use super::{Draft, DraftLine, Suggestion};
use crate::domain::ledger::Order;
use crate::domain::measure::Money;
use crate::domain::par::ItemPar;
use crate::domain::venue::{ItemId, Moment, Offer, ParFrom, Setup, SupplierId};
use std::collections::{BTreeMap, HashSet};

/// Why a line is in an order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Why {
    /// Which par rules.
    pub from: ParFrom,
    /// It is not short: it fills the order up.
    pub fills_up: bool,
    /// The chance that it runs dry before the order after the next has come, if nothing of it is ordered; nothing known
    /// where nobody knows what is asked of it.
    pub risk_without: Option<f64>,
    /// The same with what is ordered.
    pub risk_with: Option<f64>,
    /// The chance that it runs dry before this order comes.
    pub risk_before: Option<f64>,
}

/// What a line would cost elsewhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Elsewhere {
    /// From whom; from nobody if it were left out.
    pub supplier: SupplierId,
    /// How many containers, in which packs: packs of so many containers, at a price.
    pub packs: Vec<(i64, i64, Money)>,
    /// How much dearer the whole of all orders becomes, as reckoned.
    pub dearer: Money,
}

/// One thing of an order: an item, or a line that somebody has written already.
pub(super) struct Thing<'a> {
    pub(super) item: ItemId,
    pub(super) choices: Vec<Choice<'a>>,
    /// Whether somebody wrote it: it stays as it is.
    pub(super) written: bool,
}

/// Everything that can be ordered now, and how.
pub struct Planning<'a> {
    setup: &'a Setup,
    pars: &'a [ItemPar],
    things: Vec<Thing<'a>>,
    wants: Vec<Vec<Way>>,
    terms: Vec<Terms>,
    now: Moment,
}

/// A plan: for each thing the way that is taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Planned {
    split: Split,
    /// The same before mixed cases were filled: what other questions begin with.
    plain: Split,
}

impl<'a> Planning<'a> {
    /// Of all items with a par. `kept` are drafts that somebody has changed: their lines stay.
    pub fn new(setup: &'a Setup, pars: &'a [ItemPar], kept: &[Order], now: Moment) -> Planning<'a> {
        let today = setup.venue.days.day_of(now);
        let place = |supplier: SupplierId| setup.suppliers.iter().position(|s| s.id == supplier);
        let mut things = Vec::new();
        let written: HashSet<ItemId> = kept.iter().flat_map(|order| &order.lines).map(|line| line.item).collect();
        for order in kept {
            let Some(at) = place(order.supplier) else { continue };
            let goods: Money = order.lines.iter().map(|line| line.price.times(line.packs, 1)).sum();
            let way = Way { supplier: Some(at), goods, cost: goods.0.saturating_mul(1_000) };
            if let Some(line) = order.lines.first().filter(|_| goods > Money::ZERO) {
                let choices = vec![Choice { way, ..nothing(0) }];
                things.push(Thing { item: line.item, choices, written: true });
            }
        }
        for par in pars.iter().filter(|par| !written.contains(&par.item)) {
            let Some(item) = setup.item(par.item) else { continue };
            let offers = setup.offers_for(par.item, today);
            let Some(scales) = Scales::new(setup, item, par, &offers, today) else { continue };
            let mut by_supplier: BTreeMap<usize, Vec<&Offer>> = BTreeMap::new();
            for offer in &offers {
                if let Some(at) = place(offer.supplier) {
                    by_supplier.entry(at).or_default().push(offer);
                }
            }
            // Short, if it is short from wherever it may come: a supplier who comes more often makes it last.
            let is_short = by_supplier.keys().all(|at| scales.wanted(setup.suppliers[*at].id) > 0);
            let mut choices = vec![nothing(0)];
            for (at, offers) in &by_supplier {
                choices.extend(scales.ways(offers, setup.suppliers[*at].id, *at));
            }
            let cheapest = choices[1..].iter().map(|choice| choice.way.cost).min();
            if let Some(cheapest) = cheapest {
                if is_short {
                    choices[0] = nothing(scales.left_out(cheapest));
                }
                things.push(Thing { item: par.item, choices, written: false });
            }
        }
        let wants: Vec<Vec<Way>> =
            things.iter().map(|thing| thing.choices.iter().map(|choice| choice.way).collect()).collect();
        let mut terms: Vec<Terms> =
            setup.suppliers.iter().map(|s| Terms { minimum: s.minimum, fee: s.fee, free_from: s.free_from }).collect();
        for (at, terms) in terms.iter_mut().enumerate() {
            let of = |choice: &&Choice| choice.way.supplier == Some(at) && !choice.spare;
            let most = |thing: &Thing| thing.choices.iter().filter(of).map(|choice| choice.way.goods).max();
            let reach: Money = things.iter().filter_map(most).sum();
            // What cannot be reached is told to whoever orders, and holds nothing back; nor does what somebody wrote.
            let written = things.iter().any(|thing| thing.written && thing.choices[0].way.supplier == Some(at));
            if terms.minimum.is_some_and(|minimum| minimum > reach) || written {
                terms.minimum = None;
            }
        }
        Planning { setup, pars, things, wants, terms, now }
    }

    /// The cheapest way to order everything.
    ///
    /// # Errors
    /// [`Unmet`], which nothing that a book can say leads to but amounts beyond what money can be.
    pub fn solve(&self) -> Result<Planned, Unmet> {
        Ok(self.filled(cheapest_of(&self.wants, &self.terms, None, |thing, way| self.is_usual(thing, way))?))
    }

    /// Whether a way is one to begin with: not only there to fill a mixed case.
    fn is_usual(&self, thing: usize, way: usize) -> bool {
        !self.things[thing].choices[way].spare
    }

    fn filled(&self, plain: Split) -> Planned {
        Planned { split: filled(&self.things, &self.wants, &self.terms, plain.clone()), plain }
    }

    /// The same for no more money than a budget, goods and deliveries: what runs the least risk is left out, so far as it
    /// takes. What somebody wrote stays. The second is what was left out.
    ///
    /// # Errors
    /// As [`Planning::solve`].
    pub fn within(&self, budget: Money) -> Result<(Planned, Vec<ItemId>), Unmet> {
        let all = self.solve()?;
        if all.paid() <= budget {
            return Ok((all, Vec::new()));
        }
        // Those that are ordered, the one that runs the least risk first.
        let mut by_risk: Vec<(f64, usize)> = (0..self.things.len())
            .filter(|n| !self.things[*n].written && all.split.ways[*n] > 0)
            .map(|n| (self.risk_of(&self.things[n]), n))
            .collect();
        by_risk.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let without = |many: usize| {
            let left: HashSet<usize> = by_risk[..many].iter().map(|(_, n)| *n).collect();
            let split = cheapest_of(&self.wants, &self.terms, Some(&all.plain), |thing, way| {
                let goes = left.contains(&thing) || all.split.ways[thing] == 0;
                self.is_usual(thing, way) && (self.things[thing].written || way == 0 || !goes)
            });
            split.map(|split| self.filled(split))
        };
        // The fewest that must go. A smallest order may want more of what is left, so more left out may cost more for once:
        // each number is tried from the smallest on.
        let mut last = all.clone();
        for many in 1..=by_risk.len() {
            last = without(many)?;
            if last.paid() <= budget {
                break;
            }
        }
        let gone = |(_, n): &(f64, usize)| (last.split.ways[*n] == 0).then_some(self.things[*n].item);
        let left_out = by_risk.iter().filter_map(gone).collect();
        Ok((last, left_out))
    }

    /// The chance that a thing runs dry if nothing of it is ordered; for one of which that is not known, as if by its hand-set
    /// par it were sure to.
    fn risk_of(&self, thing: &Thing) -> f64 {
        let par = self.pars.iter().find(|par| par.item == thing.item);
        let short = par.and_then(|par| par.need()).and_then(|need| need.short()).is_some_and(|short| short.0 > 0);
        let known = par.and_then(|par| Some(par.by_demand()?.risk(par.position()?)));
        known.unwrap_or(if short { 1.0 } else { 0.0 })
    }

    /// What an item that is planned from somewhere would cost from each other supplier, the cheapest first.
    ///
    /// # Errors
    /// As [`Planning::solve`].
    pub fn elsewhere(&self, planned: &Planned, item: ItemId) -> Result<Vec<Elsewhere>, Unmet> {
        let Some(at) = self.things.iter().position(|thing| thing.item == item && !thing.written) else {
            return Ok(Vec::new());
        };
        let taken = self.wants[at][planned.split.ways[at]].supplier;
        let mut out = Vec::new();
        for (n, supplier) in self.setup.suppliers.iter().enumerate() {
            if taken == Some(n) || !self.wants[at].iter().any(|way| way.supplier == Some(n)) {
                continue;
            }
            let from = |thing: usize, way: usize| thing != at || self.wants[thing][way].supplier == Some(n);
            let may = |thing: usize, way: usize| self.is_usual(thing, way) && from(thing, way);
            let split = self.filled(cheapest_of(&self.wants, &self.terms, Some(&planned.plain), may)?).split;
            let choice = &self.things[at].choices[split.ways[at]];
            let packs = choice.packs.iter().map(|p| (p.packs, p.offer.pack, p.offer.price)).collect();
            let dearer = Money((split.cost.saturating_sub(planned.split.cost) + 500).div_euclid(1_000));
            out.push(Elsewhere { supplier: supplier.id, packs, dearer });
        }
        out.sort_by_key(|elsewhere| (elsewhere.dearer, elsewhere.supplier));
        Ok(out)
    }

    /// What the plan orders, supplier by supplier; and what it cannot.
    pub fn suggestion(&self, planned: &Planned) -> Suggestion {
        let setup = self.setup;
        let mut out = Suggestion {
            drafts: setup
                .suppliers
                .iter()
                .map(|s| Draft { supplier: s.id, lines: Vec::new(), deadline: setup.next_van(s.id, self.now) })
                .collect(),
            ..Suggestion::default()
        };
        let mut left_out: HashSet<ItemId> = HashSet::new();
        for (thing, way) in self.things.iter().zip(&planned.split.ways).filter(|(thing, _)| !thing.written) {
            if *way == 0 {
                left_out.insert(thing.item);
            }
            let choice = &thing.choices[*way];
            let Some(par) = self.pars.iter().find(|par| par.item == thing.item) else { continue };
            for packs in &choice.packs {
                let Some(draft) = out.drafts.iter_mut().find(|draft| draft.supplier == packs.offer.supplier) else {
                    continue;
                };
                draft.lines.push(DraftLine {
                    item: thing.item,
                    need: par.need_from(Some(packs.offer.supplier)),
                    why: Some(why(setup, par, packs.offer.supplier, choice.containers)),
                    suggested: packs.packs,
                    packs: packs.packs,
                    pack: packs.offer.pack,
                    price: packs.offer.price,
                    code: packs.offer.code.clone(),
                    mixed: packs.offer.mixed.clone(),
                    shelf_limits: choice.shelf_limits,
                });
            }
        }
        for par in self.pars {
            let Some(need) = par.need() else { continue };
            match need.short() {
                None => out.never_counted.push(par.item),
                Some(short) if short.0 <= 0 => {}
                Some(_) if par.usual.is_some() => {
                    if left_out.contains(&par.item) {
                        out.waiting.push(need);
                    }
                }
                Some(_) if par.made_here => out.to_make.push(need),
                Some(_) => out.without_offer.push(need),
            }
        }
        out
    }
}

impl Planned {
    /// Everything that is paid: goods and deliveries, what somebody wrote among it.
    pub fn paid(&self) -> Money {
        self.split.goods.iter().copied().sum::<Money>() + self.split.fees.iter().copied().sum::<Money>()
    }

    /// Whether it is proved that nothing is cheaper.
    pub fn is_proved(&self) -> bool {
        self.split.is_proved()
    }
}

/// Why so many containers of an item come from a supplier.
pub fn why(setup: &Setup, par: &ItemPar, supplier: SupplierId, containers: i64) -> Why {
    let computed = par.computed_from(Some(supplier));
    let size = setup.item(par.item).map(|item| item.size).unwrap_or_default();
    let position = par.position();
    let risk = |more: i64| Some(computed?.risk(position? + size.times(more, 1)));
    let before = computed.filter(|_| !par.cover.days.is_empty());
    Why {
        from: par.from,
        fills_up: par.need_from(Some(supplier)).and_then(|need| need.short()).is_some_and(|short| short.0 <= 0),
        risk_without: risk(0),
        risk_with: risk(containers),
        risk_before: before.map(|computed| par.cover.dry_before(computed.stretch.comes)),
    }
}
