//! What truly stands on the shelves: the truth that the counts read and the program must infer.

use crate::catalogue::{ITEMS, Place};
use crate::measure::amount;
use crate::plan::Plan;

/// Sealed containers carried up while something was being poured.
pub(crate) struct Carried {
    pub item: usize,
    pub containers: i64,
    pub to: Place,
}

#[derive(Clone, Default)]
struct Held {
    sealed: [i64; Place::ALL.len()],
    /// What is left in each opened container, all of them where the item is poured.
    open: Vec<f64>,
    /// Pours so far: two wells take turns.
    turn: usize,
}

pub(crate) struct Stock {
    held: Vec<Held>,
    size: Vec<f64>,
    home_par: Vec<i64>,
}

impl Stock {
    pub(crate) fn empty(plan: &Plan) -> Stock {
        Stock {
            held: vec![Held::default(); ITEMS.len()],
            size: ITEMS.iter().map(|item| amount(item.size)).collect(),
            home_par: plan.home_par.clone(),
        }
    }

    pub(crate) fn size(&self, item: usize) -> f64 {
        self.size[item]
    }

    pub(crate) fn sealed(&self, item: usize, place: Place) -> i64 {
        self.held[item].sealed[place as usize]
    }

    /// Parts of a container left in the opened ones.
    pub(crate) fn open(&self, item: usize) -> impl Iterator<Item = f64> {
        self.held[item].open.iter().map(move |left| left / self.size[item])
    }

    /// Everything there is of it, in its base unit.
    pub(crate) fn all(&self, item: usize) -> f64 {
        let held = &self.held[item];
        held.sealed.iter().sum::<i64>() as f64 * self.size[item] + held.open.iter().sum::<f64>()
    }

    /// Everything there is of it, in containers.
    pub(crate) fn containers(&self, item: usize) -> f64 {
        self.all(item) / self.size[item]
    }

    pub(crate) fn add_sealed(&mut self, item: usize, place: Place, containers: i64) {
        let sealed = &mut self.held[item].sealed[place as usize];
        *sealed += containers;
        assert!(*sealed >= 0, "fewer than none of {}", ITEMS[item].name);
    }

    pub(crate) fn add_opened(&mut self, item: usize, part: f64) {
        let left = part * self.size[item];
        self.held[item].open.push(left);
    }

    pub(crate) fn at_home(&self, item: usize) -> i64 {
        self.sealed(item, ITEMS[item].home) + self.held[item].open.len() as i64
    }

    /// Takes one sealed container away, from wherever there is one.
    pub(crate) fn take_sealed(&mut self, item: usize) -> Option<Place> {
        let home = ITEMS[item].home;
        let place = [Place::Cellar, home].into_iter().find(|&place| self.sealed(item, place) > 0)?;
        self.add_sealed(item, place, -1);
        Some(place)
    }

    /// Carries sealed containers from the cellar to where the item is poured, as many as there are.
    pub(crate) fn carry_up(&mut self, item: usize, containers: i64) -> Option<Carried> {
        let to = ITEMS[item].home;
        let containers = containers.min(self.sealed(item, Place::Cellar));
        if containers <= 0 {
            return None;
        }
        self.add_sealed(item, Place::Cellar, -containers);
        self.add_sealed(item, to, containers);
        Some(Carried { item, containers, to })
    }

    /// Brings the number of opened containers up to the wells that share it.
    pub(crate) fn set_up(&mut self, item: usize) {
        if ITEMS[item].whole {
            return;
        }
        let home = ITEMS[item].home;
        while self.held[item].open.len() < ITEMS[item].wells && self.sealed(item, home) > 0 {
            self.add_sealed(item, home, -1);
            self.add_opened(item, 1.0);
        }
    }

    /// Takes an amount in base units: from the opened container, and when that is empty from the
    /// next sealed one, brought up from the cellar where none is at hand.
    ///
    /// # Panics
    /// When there is not enough: ask `all` first.
    pub(crate) fn take(&mut self, item: usize, amount: f64) -> Vec<Carried> {
        let mut carried = Vec::new();
        let home = ITEMS[item].home;
        let size = self.size[item];
        if ITEMS[item].whole {
            let wanted = (amount / size).round() as i64;
            let missing = wanted - self.sealed(item, home);
            if missing > 0 {
                carried.extend(self.carry_up(item, missing.max(self.home_par[item] / 2)));
            }
            self.add_sealed(item, home, -wanted);
            return carried;
        }
        let mut left = amount;
        while left > 1e-9 {
            if self.held[item].open.is_empty() {
                if self.sealed(item, home) == 0 {
                    carried.extend(self.carry_up(item, 1));
                }
                self.add_sealed(item, home, -1);
                self.add_opened(item, 1.0);
            }
            let held = &mut self.held[item];
            let well = held.turn % held.open.len();
            let poured = left.min(held.open[well]);
            held.open[well] -= poured;
            left -= poured;
            if held.open[well] <= 1e-6 {
                held.open.remove(well);
            }
        }
        self.held[item].turn += 1;
        carried
    }
}
