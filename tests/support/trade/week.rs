//! A week of trade: what is rung and poured, what comes, and what goes wrong.

use super::{BAR, Lasting, Trade, Trouble, Truth, VAN, Week, at};
use std::collections::{BTreeMap, HashMap};
use tantalus::domain::ledger::{Delivery, Movements, Order, OrderLine, Sale};
use tantalus::domain::measure::{Money, Price};
use tantalus::domain::venue::*;

impl Trade {
    /// One more week, and the count at its end.
    pub(crate) fn week(&mut self) -> Week {
        let (week, many) = (self.week, self.stock.len());
        self.week += 1;
        let mut truth: BTreeMap<ItemId, Truth> = BTreeMap::new();
        let mut tell = |item: usize, what: Trouble, gap: f64| {
            let entry = truth.entry(ItemId(item as i64 + 1)).or_default();
            entry.gap += gap;
            entry.troubles.push(what);
        };
        for (item, troubles) in std::mem::take(&mut self.after) {
            for (what, gap) in troubles {
                tell(item.0 as usize - 1, what, gap);
            }
        }
        let (mut sales, mut movements) = (Vec::new(), Movements::default());
        let mut used = vec![0.0; many];
        let mut sold = vec![0.0; many];
        let mut pours = vec![0.0; many];
        let mut dry: Vec<usize> = Vec::new();
        for day in 0..7 {
            for name in self.rung.iter().filter(|name| week >= name.from) {
                let number = self.chance.poisson(name.rate / 7.0);
                if number == 0 {
                    continue;
                }
                let hour = self.chance.between(17.0, 24.0);
                sales.push(Sale {
                    at: at(week, day, hour),
                    till: name.till,
                    quantity: i64::from(number) * 1_000,
                    net: Money(900 * i64::from(number)),
                    kind: SaleKind::Sale,
                });
                for (item, amount) in &name.takes {
                    pours[*item] += f64::from(number);
                    used[*item] += f64::from(number) * amount;
                }
                if let TillMeaning::Drink { drink, .. } = self.setup.meaning(name.till) {
                    for (item, amount) in &self.recipes[drink.0 as usize - 1] {
                        sold[*item] += f64::from(number) * amount;
                    }
                }
                if let Some(misread) = self.misread.iter().find(|misread| misread.till == name.till) {
                    for (item, amount) in &misread.wrong {
                        tell(*item, misread.what, f64::from(number) * amount);
                    }
                }
            }
        }
        for (item, used) in used.iter_mut().enumerate() {
            if !self.stock[item].whole {
                *used += self.chance.normal(self.plan.pour * f64::sqrt(pours[item]));
            }
        }
        for trouble in self.lasting.iter_mut().filter(|trouble| week >= trouble.from) {
            let Lasting { what, item, other, size, .. } = *trouble;
            let gap = match what {
                Trouble::Steady => size,
                // Nobody orders it until it has run out once; guests are given another then.
                Trouble::RanDry => (used[item] - self.stock[item].holds()).max(0.0),
                _ => size * sold[item],
            };
            match what {
                Trouble::RanDry if gap <= 0.0 => {}
                Trouble::RanDry => {
                    trouble.from = usize::MAX;
                    used[item] -= gap;
                    used[other] += gap;
                    tell(item, what, -gap);
                    tell(other, what, gap);
                    dry.push(item);
                }
                Trouble::Twin => {
                    used[item] -= gap;
                    used[other] += gap;
                    tell(item, what, -gap);
                    tell(other, what, gap);
                }
                _ => {
                    used[item] += gap;
                    tell(item, what, gap);
                }
            }
        }
        // The van comes in the middle of the week and fills up.
        let mut came: Vec<(usize, i64)> = Vec::new();
        for (item, stock) in self.stock.iter().enumerate() {
            let par = (stock.demand * 2.2 / stock.size).ceil() as i64 + 1;
            let after_use = stock.sealed - (used[item] / stock.size).ceil() as i64;
            let forgotten = self.lasting.iter().any(|l| l.what == Trouble::RanDry && l.item == item && week >= l.from);
            if after_use < par / 2 + 1 && !forgotten && !dry.contains(&item) {
                came.push((item, (par - after_use).max(1)));
            }
        }
        let mut booked = came.clone();
        let mut count_troubles: BTreeMap<ItemId, Trouble> = BTreeMap::new();
        let mut ordered = came.clone();
        for (item, used) in used.iter_mut().enumerate() {
            if self.chance.share() >= self.plan.single || self.lasting.iter().any(|l| l.item == item || l.other == item)
            {
                continue;
            }
            let size = self.stock[item].size;
            let delivered = came.iter().position(|(i, _)| *i == item);
            let sealed = self.stock[item].sealed - (*used / size).ceil() as i64;
            let what = self.chance.of(&[
                Trouble::Overlooked,
                Trouble::Twice,
                Trouble::NotCome,
                Trouble::NotBooked,
                Trouble::Gone,
                Trouble::Spilt,
                Trouble::Spilt,
                Trouble::AsExpected,
            ]);
            match what {
                Trouble::Overlooked | Trouble::Twice if sealed >= 2 => {
                    count_troubles.insert(ItemId(item as i64 + 1), what);
                    let gap = if what == Trouble::Overlooked { size } else { -size };
                    tell(item, what, gap);
                    self.after.entry(ItemId(item as i64 + 1)).or_default().push((what, -gap));
                }
                Trouble::NotCome => {
                    if let Some(n) = delivered {
                        let (_, number) = came.remove(n);
                        tell(item, what, number as f64 * size);
                    }
                }
                Trouble::NotBooked => {
                    if let Some(n) = delivered {
                        booked.retain(|(i, _)| *i != item);
                        tell(item, what, -(came[n].1 as f64) * size);
                    }
                }
                Trouble::Gone if sealed >= 2 => {
                    self.stock[item].sealed -= 1;
                    tell(item, what, size);
                }
                Trouble::Spilt if !self.stock[item].whole => {
                    let gap = self.chance.between(60.0, 450.0);
                    *used += gap;
                    tell(item, what, gap);
                }
                Trouble::AsExpected if !self.stock[item].whole => {
                    let gap = self.chance.between(150.0, 400.0);
                    *used += gap;
                    count_troubles.insert(ItemId(item as i64 + 1), what);
                    tell(item, what, gap);
                }
                _ => {}
            }
        }
        // What a count did not look at shows in the next one.
        for id in count_troubles.iter().filter(|(_, what)| **what == Trouble::AsExpected).map(|(id, _)| id) {
            if let Some(hidden) = truth.remove(id) {
                self.after.entry(*id).or_default().push((Trouble::AsExpected, hidden.gap));
            }
        }
        let delivery = |n: usize, item: usize, number: i64| Delivery {
            seq: Seq(0),
            document: format!("W{week}"),
            line: n as i64 + 1,
            at: at(week, 2, 12.0),
            supplier: VAN,
            item: ItemId(item as i64 + 1),
            containers: number,
            unit_price: Price(20_000_000),
            place: Some(BAR),
            deposit: None,
        };
        movements.deliveries =
            booked.iter().enumerate().map(|(n, (item, number))| delivery(n, *item, *number)).collect();
        ordered.sort_unstable();
        let line = |(n, (item, number)): (usize, &(usize, i64))| OrderLine {
            line: n as i64 + 1,
            item: ItemId(*item as i64 + 1),
            packs: *number,
            pack: 1,
            price: Money(2_000),
        };
        self.orders.push(Order {
            id: OrderId(week as i64 + 1),
            name: format!("Order {week}"),
            supplier: VAN,
            state: OrderState::Received,
            placed: Some(at(week, 0, 12.0)),
            expected: None,
            lines: ordered.iter().enumerate().map(line).collect(),
        });
        for (item, number) in &came {
            self.stock[*item].sealed += number;
        }
        for (item, used) in used.iter().enumerate() {
            self.pour(item, *used);
        }
        let flows: HashMap<ItemId, (f64, f64)> = (0..many)
            .map(|item| {
                let booked: i64 = booked.iter().filter(|(i, _)| *i == item).map(|(_, n)| n).sum();
                (ItemId(item as i64 + 1), (booked as f64 * self.stock[item].size, sold[item]))
            })
            .collect();
        let closing = self.count(week + 1, &count_troubles, &flows);
        let opening = std::mem::replace(&mut self.opening, closing.clone());
        Week { opening, closing, movements, sales, truth }
    }
}
