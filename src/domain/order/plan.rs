//! What to order now: everything that is short from whoever makes the whole cheapest, over smallest orders and fees, and
//! what else fills an order up.

use super::mixed::filled;
use super::split::{Split, Terms, Unmet, Way, cheapest_of};
use super::ways::{Choice, Scales, Thing, nothing};
use super::{Draft, DraftLine, Suggestion, Waiting, Waits};
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
    /// How much dearer the whole of all orders becomes, as reckoned; at most, where that is not proved.
    pub dearer: Money,
    /// How much more is paid in all, goods and deliveries.
    pub more_paid: Money,
    /// That there is no cheaper way to have it from there is proved.
    pub proved: bool,
}

/// Everything that can be ordered now, and how.
pub struct Planning<'a> {
    setup: &'a Setup,
    pars: &'a [ItemPar],
    things: Vec<Thing<'a>>,
    /// Items that somebody has in a draft, with packs or without.
    written: HashSet<ItemId>,
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
    /// What a budget does; none where it does nothing.
    cut: Option<Cut>,
}

/// What a budget does to a plan.
#[derive(Clone, Debug, PartialEq)]
struct Cut {
    /// Of each thing, whether it may not be ordered.
    barred: Vec<bool>,
    /// Of each thing, whether it would be ordered without the budget.
    wanted: Vec<bool>,
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
                things.push(Thing { item: line.item, choices, written: true, can_wait: false });
            }
        }
        for par in pars.iter().filter(|par| !written.contains(&par.item)) {
            let Some(item) = setup.item(par.item) else { continue };
            let offers = setup.offers_for(par.item, today);
            let Some(scales) = Scales::new(setup, item, par, &offers) else { continue };
            let mut by_supplier: BTreeMap<usize, Vec<&Offer>> = BTreeMap::new();
            for offer in &offers {
                if let Some(at) = place(offer.supplier) {
                    by_supplier.entry(at).or_default().push(offer);
                }
            }
            // Short, if it is short from wherever it may come: a supplier who comes more often makes it last.
            let is_short = by_supplier.keys().all(|at| scales.wanted(setup.suppliers[*at].id) > 0);
            let mut choices = vec![nothing(scales.put_off())];
            for (at, offers) in &by_supplier {
                choices.extend(scales.ways(offers, setup.suppliers[*at].id, *at));
            }
            let cheapest = choices[1..].iter().filter(|choice| !choice.spare).map(|choice| choice.way.cost).min();
            if let Some(cheapest) = cheapest {
                if is_short {
                    choices[0] = nothing(scales.left_out(cheapest));
                }
                let can_wait = !is_short || scales.can_wait();
                things.push(Thing { item: par.item, choices, written: false, can_wait });
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
        Planning { setup, pars, things, written, wants, terms, now }
    }

    /// The cheapest way to order everything.
    ///
    /// # Errors
    /// [`Unmet`], which nothing that a book can say leads to but amounts beyond what money can be.
    pub fn solve(&self) -> Result<Planned, Unmet> {
        let split = cheapest_of(&self.wants, &self.terms, None, |thing, way| self.is_usual(thing, way))?;
        Ok(self.filled(split, None, &|_, _| true))
    }

    /// Whether a way is one to begin with: not only there to fill a mixed case.
    fn is_usual(&self, thing: usize, way: usize) -> bool {
        !self.things[thing].choices[way].spare
    }

    /// With mixed cases filled by ways that may be taken.
    fn filled(&self, plain: Split, cut: Option<Cut>, may: &dyn Fn(usize, usize) -> bool) -> Planned {
        Planned { split: filled(&self.things, &self.wants, &self.terms, plain.clone(), may), plain, cut }
    }

    /// The same for no more money than a budget, goods and deliveries: what runs the least risk is left out, so far as it
    /// takes. What somebody wrote stays, whatever it costs.
    ///
    /// # Errors
    /// As [`Planning::solve`].
    pub fn within(&self, budget: Money) -> Result<Planned, Unmet> {
        let all = self.solve()?;
        if all.paid() <= budget {
            return Ok(all);
        }
        let wanted: Vec<bool> = all.split.ways.iter().map(|way| *way != 0).collect();
        let mut barred: Vec<bool> = wanted.iter().map(|wanted| !wanted).collect();
        // Those that are ordered, the one that runs the least risk first.
        let ordered = (0..self.things.len()).filter(|n| wanted[*n]);
        let mut by_risk: Vec<(f64, usize)> = ordered.map(|n| (self.risk_of(&self.things[n]), n)).collect();
        by_risk.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        // The fewest that must go. A smallest order may want more of what is left, so more left out may cost more for once:
        // each number is tried from the smallest on.
        let mut last = all.clone();
        let mut gone = Vec::new();
        for (_, n) in by_risk {
            // At first with everything, but no more of it than is needed.
            last = self.without(&all, &barred, &wanted, budget)?;
            if last.paid() <= budget {
                break;
            }
            barred[n] = true;
            gone.push(n);
        }
        if last.paid() > budget {
            last = self.without(&all, &barred, &wanted, budget)?;
        }
        // What went last may have been far dearer than what was over: something of what went before may come back, what
        // runs the most risk first.
        for n in gone.into_iter().rev().skip(1) {
            barred[n] = false;
            match self.without(&all, &barred, &wanted, budget)? {
                with if with.paid() <= budget => last = with,
                _ => barred[n] = true,
            }
        }
        Ok(last)
    }

    /// A plan without what is barred, when the plan of everything is known; where that is more than a budget, one that
    /// orders no more of anything than is needed, if it keeps to it and leaves nothing else out.
    fn without(&self, all: &Planned, barred: &[bool], wanted: &[bool], budget: Money) -> Result<Planned, Unmet> {
        let cut = || Some(Cut { barred: barred.to_vec(), wanted: wanted.to_vec() });
        let may = |thing: usize, way: usize| way == 0 || !barred[thing];
        let usual = |thing: usize, way: usize| self.is_usual(thing, way) && may(thing, way);
        let split = cheapest_of(&self.wants, &self.terms, Some(&all.plain), usual)?;
        let full = self.filled(split, cut(), &may);
        if full.paid() <= budget {
            return Ok(full);
        }
        let lean = |thing: usize, way: usize| usual(thing, way) && self.things[thing].choices[way].lean;
        let split = cheapest_of(&self.wants, &self.terms, None, lean)?;
        let left = |split: &Split, n: usize| split.ways[n] == 0 && !self.things[n].written && !self.things[n].can_wait;
        let leaves_more = (0..self.things.len()).any(|n| left(&split, n) && !left(&full.split, n));
        let lean = self.filled(split, cut(), &may);
        Ok(if lean.paid() <= budget && !leaves_more { lean } else { full })
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
            // What the budget leaves out stays left out.
            let barred = |thing: usize| planned.cut.as_ref().is_some_and(|cut| cut.barred[thing]);
            let from = |thing: usize, way: usize| match thing == at {
                true => self.wants[at][way].supplier == Some(n),
                false => way == 0 || !barred(thing),
            };
            let usual = |thing: usize, way: usize| self.is_usual(thing, way) && from(thing, way);
            // The plan is a start only where it was looked for under no more conditions than these.
            let start = Some(&planned.plain).filter(|_| !barred(at));
            let split = cheapest_of(&self.wants, &self.terms, start, usual)?;
            let split = filled(&self.things, &self.wants, &self.terms, split, &from);
            let choice = &self.things[at].choices[split.ways[at]];
            let packs = choice.packs.iter().map(|p| (p.packs, p.offer.pack, p.offer.price)).collect();
            let dearer = Money((split.cost.saturating_sub(planned.split.cost) + 500).div_euclid(1_000));
            let more_paid = paid(&split) - planned.paid();
            out.push(Elsewhere { supplier: supplier.id, packs, dearer, more_paid, proved: split.is_proved() });
        }
        out.sort_by_key(|elsewhere| (elsewhere.dearer, elsewhere.supplier));
        Ok(out)
    }

    /// Why nothing is ordered of an item that is short; nothing where something is, or somebody wrote how much.
    fn waits(&self, planned: &Planned, item: ItemId) -> Option<Waits> {
        let of_item = |(_, thing): &(usize, &Thing)| thing.item == item && !thing.written;
        let Some((at, thing)) = self.things.iter().enumerate().find(of_item) else {
            // No way to order it, unless somebody has it in a draft: with none of its packs the shelf is not overfull.
            return (!self.written.contains(&item)).then_some(Waits::NoRoom);
        };
        if planned.split.ways[at] != 0 {
            return None;
        }
        Some(match (planned.cut.as_ref().is_some_and(|cut| cut.wanted[at]), thing.can_wait) {
            (true, _) => Waits::Budget,
            (false, true) => Waits::Cheaper,
            (false, false) => Waits::TooSmall,
        })
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
        for (thing, way) in self.things.iter().zip(&planned.split.ways).filter(|(thing, _)| !thing.written) {
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
                    let risk = par.by_demand().zip(par.position()).map(|(computed, there)| computed.risk(there));
                    out.waiting.extend(self.waits(planned, par.item).map(|why| Waiting { need, why, risk }));
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
        paid(&self.split)
    }

    /// By how much at most something could be cheaper; nothing where it is proved that nothing is.
    pub fn at_most_cheaper(&self) -> Money {
        Money((self.split.cost.saturating_sub(self.split.least).max(0).saturating_add(999)) / 1_000)
    }
}

fn paid(split: &Split) -> Money {
    split.goods.iter().copied().sum::<Money>() + split.fees.iter().copied().sum::<Money>()
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

#[cfg(test)]
mod tests;
