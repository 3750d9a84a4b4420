//! Bottles as they empty, and the walk along the shelf that reads them.

use super::{BAR, Trade, Trouble, at};
use std::collections::{BTreeMap, HashMap};
use tantalus::domain::gauge::{Entry, Mass, Reading, Sight, Step};
use tantalus::domain::ledger::CountLine;
use tantalus::domain::venue::*;

impl Trade {
    /// Takes so much from the opened ones, and opens another when they are empty.
    pub(super) fn pour(&mut self, item: usize, used: f64) {
        let (size, whole) = (self.stock[item].size, self.stock[item].whole);
        if whole {
            self.stock[item].sealed = (self.stock[item].sealed - (used / size).round() as i64).max(0);
            return;
        }
        let mut left = used.max(0.0);
        self.open(item);
        while left > 0.0 {
            let open = &mut self.stock[item].open;
            let lowest = (0..open.len()).min_by(|a, b| open[*a].0.total_cmp(&open[*b].0));
            match lowest {
                Some(n) if open[n].0 > left => {
                    open[n].0 -= left;
                    left = 0.0;
                }
                Some(n) => {
                    left -= open[n].0;
                    open.remove(n);
                }
                None => return,
            }
            self.open(item);
        }
    }

    /// Opens as many as stand open at once.
    fn open(&mut self, item: usize) {
        let (size, empty) = (self.stock[item].size, self.stock[item].empty);
        while self.stock[item].open.len() < self.stock[item].opened_at_once && self.stock[item].sealed > 0 {
            // By Directive 76/211/EEC a lot holds its size on average.
            let fill = (size + self.chance.normal(0.004 * size), empty + self.chance.normal(0.01 * empty));
            self.stock[item].open.push(fill);
            self.stock[item].sealed -= 1;
        }
    }

    /// One walk along the shelf.
    pub(super) fn count(
        &mut self,
        number: usize,
        troubles: &BTreeMap<ItemId, Trouble>,
        flows: &HashMap<ItemId, (f64, f64)>,
    ) -> Vec<CountLine> {
        let (who, bias) = self.counters[self.chance.below(self.counters.len())].clone();
        let when = at(number, 0, 2.0);
        let mut lines = Vec::with_capacity(self.stock.len());
        for item in 0..self.stock.len() {
            let id = ItemId(item as i64 + 1);
            let trouble = troubles.get(&id).copied();
            let full = self.stock[item].sealed.max(0)
                + match trouble {
                    Some(Trouble::Overlooked) => -1,
                    Some(Trouble::Twice) => 1,
                    _ => 0,
                };
            let mut open = Vec::new();
            for (level, empty) in self.stock[item].open.clone() {
                let size = self.stock[item].size;
                open.push(if self.plan.scale {
                    // 40 % vol at 20 °C is 948.05 g/l (OIML R 22); a scale in air shows a little less.
                    Reading::Mass(Mass::grams((level * 0.948_05 * (1.0 - 1.1e-3) + empty).round() as i64))
                } else {
                    let seen = level / size + bias + self.chance.normal(self.plan.eye.0);
                    Reading::Sight(Sight {
                        thousandths: ((10.0 * seen).round().clamp(1.0, 9.0) as u16) * 100,
                        step: Step::Tenth,
                    })
                });
            }
            let mut entry = Entry { full, open };
            let mut method = match (self.stock[item].whole, self.plan.scale) {
                (true, _) => CountMethod::Whole,
                (_, true) => CountMethod::Weight,
                _ => CountMethod::Tenths,
            };
            if trouble == Some(Trouble::AsExpected) {
                // What the books say is there: the count before, what came, less what was sold.
                let size = self.stock[item].size;
                let line = self.opening.iter().find(|line| line.item == id).expect("every item is counted");
                let open: f64 = line.entry.open.iter().map(|r| self.content(item, *r)).sum();
                let (came, sold) = flows.get(&id).copied().unwrap_or_default();
                let expected = (line.entry.full as f64 * size + open + came - sold).max(0.0);
                let (full, rest) = ((expected / size).floor(), expected % size / size);
                let tenth = (rest * 10.0).round().clamp(1.0, 9.0) as u8;
                entry = Entry { full: full as i64, open: vec![Reading::tenths(tenth)] };
                method = CountMethod::Expected;
            }
            lines.push(CountLine {
                count: CountId(number as i64 + 1),
                place: BAR,
                item: id,
                at: when,
                entry,
                method,
                by: Some(who.clone()),
            });
        }
        lines
    }

    /// What the book takes a reading for, in millilitres.
    fn content(&self, item: usize, reading: Reading) -> f64 {
        match reading {
            Reading::Sight(sight) => sight.share() * self.stock[item].size,
            Reading::Mass(mass) => (mass.mg as f64 / 1_000.0 - self.stock[item].empty) / 0.947,
            Reading::Height(_) => 0.0,
        }
    }
}
