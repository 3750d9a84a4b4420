//! Every item with its par by hand and by demand, side by side, and how long it lasts.

use super::ahead::{Ahead, Stretch};
use super::cover::Cover;
use super::level::{Par, Wishes};
use super::need::{Need, least_missing};
use super::outlook::Outlook;
use super::prospects::Prospects;
use super::stakes::Stakes;
use crate::domain::drink::Larder;
use crate::domain::gauge::Level;
use crate::domain::ledger::Order;
use crate::domain::measure::Amount;
use crate::domain::usage::Standing;
use crate::domain::venue::{Item, ItemId, Moment, OrderState, ParFrom, Setup, SupplierId};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Days for which cover is worked out.
pub const COVERED: usize = 28;
/// Days one makes for, of what keeps longer.
const MADE_FOR: i64 = 7;

/// An item, its pars and its cover.
#[derive(Clone, Debug, PartialEq)]
pub struct ItemPar {
    /// What.
    pub item: ItemId,
    /// What should be there; `None` when it was never counted.
    pub on_hand: Option<Level>,
    /// What is with suppliers, all of it.
    pub on_order: Amount,
    /// The least that is missing of it.
    pub least: Amount,
    /// The same by the day on which it should come; what has no day, or should have come before, is left out.
    pub coming: Vec<(NaiveDate, Amount)>,
    /// The par set by hand.
    pub hand: Option<Amount>,
    /// Which par rules.
    pub from: ParFrom,
    /// Whether it is made here.
    pub made_here: bool,
    /// The supplier with the lowest price a container.
    pub usual: Option<SupplierId>,
    /// The par by demand, for every supplier that offers it; for nobody where it is made here or offered by none.
    pub computed: Vec<(Option<SupplierId>, Par)>,
    /// What is expected of it; nothing where too little is known.
    pub outlook: Option<Outlook>,
    /// The days from the moment on up to which its stock is known.
    pub ahead: Ahead,
    /// How long it lasts, with what is to come; empty where that is not known.
    pub cover: Cover,
    /// What running out, and having too much, costs.
    pub stakes: Option<Stakes>,
}

impl ItemPar {
    /// The par by demand, from the supplier that it usually comes from.
    pub fn by_demand(&self) -> Option<&Par> {
        self.computed_from(self.usual)
    }

    /// The par by demand when it comes from a supplier.
    pub fn computed_from(&self, supplier: Option<SupplierId>) -> Option<&Par> {
        self.computed.iter().find(|(of, _)| *of == supplier).map(|(_, par)| par)
    }

    /// The par that rules when it comes from a supplier.
    pub fn rules_from(&self, supplier: Option<SupplierId>) -> Option<Amount> {
        match self.from {
            ParFrom::Hand => self.hand,
            ParFrom::Demand => self.computed_from(supplier).map(|par| par.level),
        }
    }

    /// The par that rules when it comes from where it usually does.
    pub fn rules(&self) -> Option<Amount> {
        self.rules_from(self.usual)
    }

    /// What it lacks to the par that rules, when it comes from a supplier; `None` without a par.
    pub fn need_from(&self, supplier: Option<SupplierId>) -> Option<Need> {
        let par = self.rules_from(supplier)?;
        Some(Need { item: self.item, par, on_hand: self.on_hand, on_order: self.on_order, least: self.least })
    }

    /// The same from where it usually comes.
    pub fn need(&self) -> Option<Need> {
        self.need_from(self.usual)
    }

    /// What is there or on its way; `None` when it was never counted.
    pub fn position(&self) -> Option<Amount> {
        Some(self.on_hand?.amount.max(Amount::ZERO) + self.on_order)
    }

    /// What it is expected to lose in an average day of trade, in base units; nothing where that is not known.
    pub fn daily(&self) -> Option<f64> {
        self.outlook.as_ref().map(|outlook| outlook.rate).filter(|rate| *rate > 0.0)
    }
}

/// What is with suppliers and should come, by item and day. Of what is late nobody knows when it comes: it is left out.
fn coming(setup: &Setup, orders: &[Order], today: NaiveDate) -> HashMap<ItemId, BTreeMap<NaiveDate, Amount>> {
    let mut out: HashMap<ItemId, BTreeMap<NaiveDate, Amount>> = HashMap::new();
    for order in orders.iter().filter(|order| order.state == OrderState::Sent) {
        let Some(expected) = order.expected.filter(|expected| *expected >= today) else { continue };
        for line in &order.lines {
            let size = setup.item(line.item).map_or(Amount::ZERO, |item| item.size);
            let amount = size.times(line.containers(), 1);
            *out.entry(line.item).or_default().entry(expected).or_default() += amount;
        }
    }
    out
}

/// Days one makes an item for: as long as it keeps, a week at most.
pub fn made_for(item: &Item) -> u64 {
    item.keeps_days.map_or(MADE_FOR, |keeps| keeps.clamp(1, MADE_FOR)) as u64
}

/// Every item that is stocked, in the order of names. `orders` are those that are sent.
pub fn item_pars(
    setup: &Setup,
    prospects: &Prospects,
    standing: &Standing,
    orders: &[Order],
    larder: &Larder,
    now: Moment,
) -> Vec<ItemPar> {
    let today = setup.venue.days.day_of(now);
    let on_order = super::on_order(setup, orders);
    let mut coming = coming(setup, orders, today);
    let vans = |supplier: SupplierId| Stretch::new(setup.vans(supplier, now), today);
    let stretches: HashMap<SupplierId, Stretch> = setup.suppliers.iter().map(|s| (s.id, vans(s.id))).collect();
    let of = |item: &Item| {
        let there = standing.items.get(&item.id);
        let on_hand = there.map(|there| there.level);
        let outlook = prospects.outlooks.get(&item.id).cloned();
        let ahead = prospects.ahead(setup, there.map(|there| there.anchor.at), now);
        let asked = prospects.asked.items.get(&item.id);
        let made_here = setup.recipes.contains_key(&item.id);
        let wishes = Wishes::of(setup, item, on_hand.map_or(0.0, |level| level.u), asked, larder);
        let suppliers: BTreeSet<SupplierId> =
            setup.offers_for(item.id, today).into_iter().map(|offer| offer.supplier).collect();
        let mut computed = Vec::new();
        if let Some(outlook) = &outlook {
            for supplier in &suppliers {
                let Some(stretch) = stretches.get(supplier) else { continue };
                computed.push((Some(*supplier), Par::new(outlook, &ahead, *stretch, &wishes)));
            }
            if suppliers.is_empty() {
                let stretch = match made_here {
                    true => Stretch::made(today, made_for(item)),
                    false => Stretch::new([], today),
                };
                computed.push((None, Par::new(outlook, &ahead, stretch, &wishes)));
            }
        }
        let coming: Vec<(NaiveDate, Amount)> = coming.remove(&item.id).unwrap_or_default().into_iter().collect();
        let cover = match (&outlook, on_hand) {
            (Some(outlook), Some(there)) => Cover::new(outlook, &ahead, there, &coming, COVERED),
            _ => Cover::default(),
        };
        ItemPar {
            item: item.id,
            on_hand,
            on_order: on_order.get(&item.id).copied().unwrap_or_default(),
            least: least_missing(item),
            coming,
            hand: setup.par(item),
            from: item.par_is_from(),
            made_here,
            usual: setup.cheapest_offer(item.id, today).map(|offer| offer.supplier),
            computed,
            outlook,
            ahead,
            cover,
            stakes: wishes.stakes,
        }
    };
    setup.items.iter().filter(|item| item.stocked).map(of).collect()
}
