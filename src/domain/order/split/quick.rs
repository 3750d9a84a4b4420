//! Chooses a way for each thing so that floors are reached, quickly and well.

use super::leaf::Leaf;
use super::pulls::pulled;

/// Picks that reach the floors, not much dearer than the cheapest; `None` where none were found.
pub(super) fn quick(leaf: &Leaf, pulls: &[i64]) -> Option<Vec<usize>> {
    let by_pull = leaf.each().map(|picks| {
        let places = 0..picks.len();
        places.min_by_key(|at| (pulled(&picks[*at], pulls), -picks[*at].goods))
    });
    let taken: Vec<usize> = by_pull.collect::<Option<_>>()?;
    let mut quick = Quick { leaf, missing: leaf.missing(&taken), taken };
    quick.climb();
    if !quick.is_there() {
        return None;
    }
    quick.spare();
    Some(quick.taken)
}

struct Quick<'a> {
    leaf: &'a Leaf,
    /// The picks, by place among those of each thing.
    taken: Vec<usize>,
    /// What is missing to each floor; below zero where there is more.
    missing: Vec<i64>,
}

impl Quick<'_> {
    fn is_there(&self) -> bool {
        self.missing.iter().all(|missing| *missing <= 0)
    }

    /// Changes what helps for least, again and again, until the floors are reached or nothing helps.
    fn climb(&mut self) {
        for _ in 0..2 * self.leaf.things() {
            if self.is_there() {
                return;
            }
            let mut best: Option<(f64, usize, usize)> = None;
            for (thing, picks) in self.leaf.each().enumerate() {
                let now = picks[self.taken[thing]];
                for (place, pick) in picks.iter().enumerate() {
                    let help = self.short(now.floor, 0) + self.short(pick.floor, 0)
                        - if now.floor == pick.floor {
                            self.short(now.floor, 0) + self.short(now.floor, now.goods - pick.goods)
                        } else {
                            self.short(now.floor, now.goods) + self.short(pick.floor, -pick.goods)
                        };
                    let price = (pick.cost - now.cost) as f64 / help as f64;
                    if help > 0 && best.is_none_or(|(least, ..)| price < least) {
                        best = Some((price, thing, place));
                    }
                }
            }
            let Some((_, thing, place)) = best else { return };
            self.change(thing, place);
        }
    }

    /// Takes back what the floors do not need, the dearest first.
    fn spare(&mut self) {
        for _ in 0..self.leaf.things() {
            let mut best: Option<(i64, usize, usize)> = None;
            for (thing, picks) in self.leaf.each().enumerate() {
                let now = picks[self.taken[thing]];
                for (place, pick) in picks.iter().enumerate().take_while(|(_, pick)| pick.cost < now.cost) {
                    let back = if pick.floor == now.floor { now.goods - pick.goods } else { now.goods };
                    let saves = now.cost - pick.cost;
                    if self.short(now.floor, back) == 0 && best.is_none_or(|(most, ..)| saves > most) {
                        best = Some((saves, thing, place));
                    }
                }
            }
            let Some((_, thing, place)) = best else { return };
            self.change(thing, place);
        }
    }

    /// What is missing to a floor with so many goods less.
    fn short(&self, floor: usize, less: i64) -> i64 {
        self.missing.get(floor).map_or(0, |missing| (missing + less).max(0))
    }

    fn change(&mut self, thing: usize, place: usize) {
        let picks = self.leaf.of(thing);
        let (now, then) = (picks[self.taken[thing]], picks[place]);
        if let Some(missing) = self.missing.get_mut(now.floor) {
            *missing += now.goods;
        }
        if let Some(missing) = self.missing.get_mut(then.floor) {
            *missing -= then.goods;
        }
        self.taken[thing] = place;
    }
}
