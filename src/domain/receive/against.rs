//! A bill beside the order and beside what was carried in, item by item; what to claim, and what to book.

use super::matching::{Matched, Status};
use crate::domain::ledger::{Delivery, Order};
use crate::domain::measure::{Currency, Money, Price, decimal::round_half_even};
use crate::domain::venue::words::words;
use crate::domain::venue::{ItemId, Moment, PlaceId, Seq, Setup, SupplierId};

/// What was agreed: so many containers for so much.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Agreed {
    /// Containers ordered.
    pub containers: i64,
    /// Price of all of them, without tax.
    pub cost: Money,
    /// How many prices that is the sum of: of an order by the case, its cases.
    pub prices: i64,
}

impl Agreed {
    /// What so many containers cost as agreed, rounded once.
    pub fn of(self, containers: i64) -> Money {
        self.cost.times(containers, self.containers)
    }

    /// Price of one container.
    pub fn price(self, currency: Currency) -> Price {
        one(self.cost, self.containers, currency)
    }
}

/// What is charged: so many containers for so much. Both are below zero for what goes back.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Invoiced {
    /// Containers.
    pub containers: i64,
    /// Price of all of them, without tax, deposit and freight.
    pub cost: Money,
    /// How many prices on the bill that is the sum of.
    pub prices: i64,
    /// Deposit charged in the same lines.
    pub deposit: Money,
    /// Share of the freight, where it is shared out.
    pub freight: Money,
    /// The lines of the bill, counted from 0.
    pub lines: Vec<usize>,
}

impl Invoiced {
    /// Price of one container, without freight.
    pub fn price(&self, currency: Currency) -> Price {
        one(self.cost, self.containers, currency)
    }

    /// Price of one container, with its share of the freight: what it is booked at.
    pub fn booked_price(&self, currency: Currency) -> Price {
        one(self.cost + self.freight, self.containers, currency)
    }

    /// Deposit on one container, if there is any; what is only given back on other ones is none.
    pub fn deposit_of_one(&self) -> Option<Money> {
        let one = self.deposit.times(1, self.containers);
        (one > Money::ZERO).then_some(one)
    }

    /// What so many of the containers cost as charged, rounded once.
    fn of(&self, containers: i64) -> Money {
        self.cost.times(containers, self.containers)
    }
}

fn one(cost: Money, containers: i64, currency: Currency) -> Price {
    if containers == 0 {
        return Price::default();
    }
    let whole = i128::from(Price::from_money(cost, currency).0) * i128::from(containers.signum());
    let price = round_half_even(whole, containers.unsigned_abs().into());
    Price(price.clamp(i64::MIN.into(), i64::MAX.into()) as i64)
}

words! {
    /// What stands out about an item.
    Mark {
        /// Less was carried in than is charged.
        Short = "short",
        /// More was carried in than is charged.
        Over = "over",
        /// Charged at more than was agreed.
        Dearer = "dearer",
        /// Charged at less than was agreed.
        Cheaper = "cheaper",
        /// Charged, but not ordered.
        NotOrdered = "not ordered",
        /// Ordered, but not charged.
        NotInvoiced = "not invoiced",
        /// More is charged than was ordered.
        More = "more than ordered",
        /// Less is charged than was ordered.
        Less = "less than ordered",
        /// Goes back to the supplier.
        Back = "goes back",
        /// More goes back than is credited.
        NotCredited = "not all credited",
        /// More is credited than goes back: money for what stays.
        Kept = "money for what stays",
        /// More came than the money is for: all that was agreed is paid, and some were free.
        Free = "free on top",
    }
}

/// One item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AgainstLine {
    /// Which.
    pub item: ItemId,
    /// As ordered; `None` when it was not.
    pub ordered: Option<Agreed>,
    /// As charged; `None` when it is not.
    pub invoiced: Option<Invoiced>,
    /// Containers carried in, below zero for those carried out; `None` until somebody said.
    pub came: Option<i64>,
    /// Where they are put.
    pub place: Option<PlaceId>,
}

words! {
    /// Why money is claimed.
    ClaimKind {
        /// Charged, and did not come.
        Short = "short",
        /// Charged at more than was agreed.
        Dearer = "dearer",
        /// Went back, and is not credited.
        NotCredited = "not credited",
    }
}

/// Money to claim from the supplier.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Claim {
    /// For what.
    pub item: ItemId,
    /// Why.
    pub kind: ClaimKind,
    /// For so many containers.
    pub containers: i64,
    /// How much, without tax; above zero.
    pub money: Money,
    /// In a sentence.
    pub words: String,
}

/// Why nothing can be booked yet: nobody said how much of this came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotSaid {
    /// The item.
    pub item: ItemId,
}

/// A bill beside its order and what came.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Against {
    /// Item by item: what is charged in the order of the bill, then what is not.
    pub lines: Vec<AgainstLine>,
    /// Lines of the bill that nobody has explained yet, counted from 0.
    pub open: Vec<usize>,
    /// Deposits on what goes back, charged in lines of their own.
    pub deposits: Money,
    /// Lines that are nothing stocked.
    pub not_stock: Money,
}

impl AgainstLine {
    /// Whether charged and agreed price are the same: no further apart than rounding a price to the coin can make it, half
    /// a coin for each price on the bill or for each that was agreed, whichever are more, and by no more than a hundredth
    /// (common practice, no source).
    fn same_price(invoiced: &Invoiced, agreed: Agreed) -> bool {
        let wanted = i128::from(agreed.of(invoiced.containers).0);
        let off = (i128::from(invoiced.cost.0) - wanted).abs();
        let containers = i128::from(agreed.containers).max(1);
        let of_agreed =
            (i128::from(agreed.prices) * i128::from(invoiced.containers).abs() + containers - 1) / containers;
        off * 2 <= of_agreed.max(invoiced.prices.into()) && off * 100 <= wanted.abs()
    }

    /// Whether all that was agreed came and costs what was agreed, though fewer containers are charged: some were free.
    pub fn is_free_beside(&self) -> bool {
        let (Some(invoiced), Some(agreed), Some(came)) = (&self.invoiced, self.ordered, self.came) else {
            return false;
        };
        let off = (i128::from(invoiced.cost.0) - i128::from(agreed.cost.0)).abs();
        came == agreed.containers && invoiced.containers < agreed.containers && off * 2 <= i128::from(agreed.containers)
    }

    /// How the charged price stands to the agreed one.
    fn price_mark(&self) -> Option<Mark> {
        let (invoiced, agreed) = (self.invoiced.as_ref()?, self.ordered?);
        if invoiced.containers <= 0 || agreed.containers <= 0 || AgainstLine::same_price(invoiced, agreed) {
            return None;
        }
        if self.is_free_beside() {
            return None;
        }
        match invoiced.cost.cmp(&agreed.of(invoiced.containers)) {
            std::cmp::Ordering::Greater => Some(Mark::Dearer),
            std::cmp::Ordering::Less => Some(Mark::Cheaper),
            std::cmp::Ordering::Equal => None,
        }
    }

    /// Whether more is charged than was ordered, for what was agreed for all of that: two and one free with them.
    fn is_free_on_top(&self) -> bool {
        let (Some(invoiced), Some(agreed)) = (self.invoiced.as_ref(), self.ordered) else { return false };
        agreed.containers > 0
            && invoiced.containers > agreed.containers
            && AgainstLine::same_price(&Invoiced { containers: agreed.containers, ..invoiced.clone() }, agreed)
    }

    /// Everything that stands out, the most pressing first.
    pub fn marks(&self) -> Vec<Mark> {
        let mut out = Vec::new();
        let invoiced = self.invoiced.as_ref().map_or(0, |invoiced| invoiced.containers);
        if invoiced < 0 {
            match self.came {
                Some(came) if came < invoiced => out.extend([Mark::NotCredited, Mark::Back]),
                Some(0) => out.push(Mark::Kept),
                Some(came) if came > invoiced => out.extend([Mark::Kept, Mark::Back]),
                Some(_) | None => out.push(Mark::Back),
            }
            return out;
        }
        if self.is_free_beside() {
            return vec![Mark::Free];
        }
        if let Some(came) = self.came.filter(|_| self.invoiced.is_some()) {
            match came.cmp(&invoiced) {
                std::cmp::Ordering::Less => out.push(Mark::Short),
                std::cmp::Ordering::Greater => out.push(Mark::Over),
                std::cmp::Ordering::Equal => {}
            }
        }
        if self.is_free_on_top() {
            out.push(Mark::Free);
            return out;
        }
        out.extend(self.price_mark());
        match (self.ordered, &self.invoiced) {
            (None, Some(invoiced)) if invoiced.containers > 0 => out.push(Mark::NotOrdered),
            (Some(_), None) => out.push(Mark::NotInvoiced),
            (Some(ordered), Some(_)) if invoiced > ordered.containers => out.push(Mark::More),
            (Some(ordered), Some(_)) if invoiced < ordered.containers => out.push(Mark::Less),
            _ => {}
        }
        out
    }

    /// What is to be claimed, once somebody said how much came: what is charged and did not come, at the charged price; and
    /// of what came, the part of the price over the agreed one. Together that is what is charged less what came at the
    /// agreed price.
    fn claims(&self, setup: &Setup) -> Vec<Claim> {
        let (Some(invoiced), Some(came)) = (self.invoiced.as_ref(), self.came) else { return Vec::new() };
        let currency = setup.venue.currency;
        let name = setup.item_name(self.item);
        let mut out = Vec::new();
        let mut claim = |kind, containers: i64, money: Money, words: String| {
            if money > Money::ZERO {
                out.push(Claim { item: self.item, kind, containers, money, words });
            }
        };
        let price = invoiced.price(currency).shown(currency);
        if invoiced.containers < 0 {
            let over = invoiced.containers.saturating_sub(came);
            let money = invoiced.of(came) - invoiced.cost;
            let (back, credited) = (came.saturating_neg(), -invoiced.containers);
            let words = say!(
                "{name}: {back} went back, {credited} credited: {over} at {price}",
                name,
                back,
                credited,
                over,
                price
            );
            if over > 0 {
                claim(ClaimKind::NotCredited, over, Money::ZERO - money, words);
            }
            return out;
        }
        let kept = came.clamp(0, invoiced.containers);
        let cost_of_kept = invoiced.of(kept);
        let missing = invoiced.containers - kept;
        let words = say!(
            "{name}: {containers} invoiced, {kept} came: {missing} at {price}",
            name,
            containers = invoiced.containers,
            kept,
            missing,
            price
        );
        claim(ClaimKind::Short, missing, invoiced.cost - cost_of_kept, words);
        if let (Some(Mark::Dearer), Some(agreed)) = (self.price_mark(), self.ordered) {
            let wanted = agreed.price(currency).shown(currency);
            let words = say!(
                "{name}: agreed at {wanted}, invoiced at {price}: the difference for {kept}",
                name,
                wanted,
                price,
                kept
            );
            claim(ClaimKind::Dearer, kept, cost_of_kept - agreed.of(kept), words);
        }
        out
    }
}

impl Against {
    /// Puts what was matched beside the orders that it answers. Lines with the same item are one, apart from what goes back.
    pub fn new(matched: &[Matched], orders: &[Order], setup: &Setup) -> Against {
        let mut out = Against::default();
        for Matched { line, status } in matched {
            match status {
                Status::Found { item, containers, cost, prices, deposit, freight, .. } => {
                    let invoiced = out.invoiced(*item, *containers < 0, setup);
                    invoiced.containers = invoiced.containers.saturating_add(*containers);
                    invoiced.cost += *cost;
                    invoiced.prices = invoiced.prices.saturating_add(*prices);
                    invoiced.deposit += *deposit;
                    invoiced.freight += *freight;
                    invoiced.lines.push(*line);
                }
                Status::Deposit { amount, .. } => out.deposits += *amount,
                Status::NotStock { amount, .. } => out.not_stock += *amount,
                Status::Question { .. } => out.open.push(*line),
            }
        }
        for at in orders.iter().flat_map(|order| &order.lines) {
            let agreed = out.ordered(at.item, setup);
            agreed.containers = agreed.containers.saturating_add(at.containers());
            agreed.cost += at.price.times(at.packs, 1);
            agreed.prices = agreed.prices.saturating_add(at.packs);
        }
        out
    }

    fn invoiced(&mut self, item: ItemId, back: bool, setup: &Setup) -> &mut Invoiced {
        let same = |line: &AgainstLine| {
            line.item == item && line.invoiced.as_ref().is_some_and(|invoiced| (invoiced.containers < 0) == back)
        };
        let at = self.lines.iter().position(same).unwrap_or_else(|| {
            self.lines.push(AgainstLine {
                item,
                ordered: None,
                invoiced: None,
                came: None,
                place: setup.store_of(item),
            });
            self.lines.len() - 1
        });
        self.lines[at].invoiced.get_or_insert_default()
    }

    fn ordered(&mut self, item: ItemId, setup: &Setup) -> &mut Agreed {
        let same = |line: &AgainstLine| {
            line.item == item && line.invoiced.as_ref().is_none_or(|invoiced| invoiced.containers >= 0)
        };
        let at = self.lines.iter().position(same).unwrap_or_else(|| {
            self.lines.push(AgainstLine {
                item,
                ordered: None,
                invoiced: None,
                came: None,
                place: setup.store_of(item),
            });
            self.lines.len() - 1
        });
        self.lines[at].ordered.get_or_insert_default()
    }

    /// Each item that is charged, and what does not go back of it in containers.
    pub fn charged(&self) -> Vec<(ItemId, i64)> {
        let charged = |line: &AgainstLine| line.invoiced.as_ref().map(|invoiced| (line.item, invoiced.containers));
        self.lines.iter().filter_map(charged).filter(|(_, containers)| *containers > 0).collect()
    }

    /// The same with some of the lines alone.
    pub fn part(&self, keep: impl Fn(&AgainstLine) -> bool) -> Against {
        let mut part = self.clone();
        part.lines.retain(keep);
        part
    }

    /// What is to be claimed, as far as somebody said what came.
    pub fn claims(&self, setup: &Setup) -> Vec<Claim> {
        self.lines.iter().flat_map(|line| line.claims(setup)).collect()
    }

    /// The claims as a note to keep and to send; `None` when there is nothing to claim.
    pub fn note(&self, number: &str, setup: &Setup) -> Option<String> {
        let claims = self.claims(setup);
        let currency = setup.venue.currency;
        let total: Money = claims.iter().map(|claim| claim.money).sum();
        let head = say!(
            "To claim on invoice {number}: {total} {currency} without tax",
            number,
            total = currency.shown(total),
            currency
        );
        let line = |claim: &Claim| format!("- {} = {} {currency}", claim.words, currency.shown(claim.money));
        (!claims.is_empty())
            .then(|| std::iter::once(head).chain(claims.iter().map(line)).collect::<Vec<_>>().join("\n"))
    }

    /// The deliveries to book: what came, at what is charged; what came and is not charged, at the agreed price.
    ///
    /// # Errors
    /// [`NotSaid`]: an item of which nobody said how much came.
    pub fn deliveries(
        &self,
        document: &str,
        supplier: SupplierId,
        at: Moment,
        currency: Currency,
    ) -> Result<Vec<Delivery>, NotSaid> {
        let mut out = Vec::new();
        for line in &self.lines {
            let came = line.came.ok_or(NotSaid { item: line.item })?;
            if came == 0 {
                continue;
            }
            let charged = line.invoiced.as_ref().filter(|invoiced| invoiced.containers != 0);
            let agreed = || line.ordered.map(|agreed| agreed.price(currency)).unwrap_or_default();
            out.push(Delivery {
                seq: Seq(0),
                document: document.to_owned(),
                line: out.len() as i64 + 1,
                at,
                supplier,
                item: line.item,
                containers: came,
                unit_price: charged.map_or_else(agreed, |invoiced| match line.is_free_beside() {
                    // What is charged is the price of all that came.
                    true => one(invoiced.cost + invoiced.freight, came, currency),
                    false => invoiced.booked_price(currency),
                }),
                place: line.place,
                deposit: charged.and_then(Invoiced::deposit_of_one),
            });
        }
        Ok(out)
    }
}
