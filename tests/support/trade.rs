//! A bar that is simulated drink by drink, so that what went wrong in it is known: staff pour, bottles empty, counters
//! read them and err, and troubles of every sort happen. What the program is told is only what a bar would write down.
//!
//! Nothing here asks the program how exact anything is.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::{BTreeMap, HashMap};
use tantalus::domain::gauge::{Entry, Mass, Reading, Sight, Step};
use tantalus::domain::ledger::{CountLine, Delivery, Movements, Order, OrderLine, Sale};
use tantalus::domain::measure::{Amount, Basis, Money, Price, Strength};
use tantalus::domain::venue::*;

/// The places of the bar, and who delivers.
pub(crate) const BAR: PlaceId = PlaceId(1);
const VAN: SupplierId = SupplierId(1);

/// What was really the matter with an item in a week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Trouble {
    /// A sealed one was not seen by a count: over at its end, short after it.
    Overlooked,
    /// A sealed one was counted twice.
    Twice,
    /// Booked, and not in the van.
    NotCome,
    /// Came, and was not booked.
    NotBooked,
    /// A whole sealed bottle went.
    Gone,
    /// Some of an opened one went.
    Spilt,
    /// A steady loss, every week.
    Steady,
    /// Every pour is heavy.
    Heavy,
    /// Another bottle was poured instead.
    Twin,
    /// A till name stands for another portion.
    Portion,
    /// A till name stands for another drink.
    WrongDrink,
    /// A till name stands for nothing yet.
    Unmapped,
    /// Sold on after it was empty.
    RanDry,
    /// The opening was left as expected.
    AsExpected,
}

/// What troubles did to an item's gap in a week.
#[derive(Clone, Debug, Default)]
pub(crate) struct Truth {
    /// In millilitres: what the gap would be if everything were read and poured exactly.
    pub(crate) gap: f64,
    /// What was the matter.
    pub(crate) troubles: Vec<Trouble>,
}

/// A week between two counts.
pub(crate) struct Week {
    pub(crate) opening: Vec<CountLine>,
    pub(crate) closing: Vec<CountLine>,
    pub(crate) movements: Movements,
    pub(crate) sales: Vec<Sale>,
    /// By item; nothing where nothing was the matter.
    pub(crate) truth: BTreeMap<ItemId, Truth>,
}

/// How a bar is simulated.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plan {
    /// Items that are poured.
    pub(crate) poured: usize,
    /// Items used whole.
    pub(crate) whole: usize,
    /// Weeks.
    pub(crate) weeks: usize,
    /// The chance that something single is the matter with an item in a week.
    pub(crate) single: f64,
    /// Whether there are lasting troubles.
    pub(crate) lasting: bool,
    /// Opened ones are weighed instead of read by tenths.
    pub(crate) scale: bool,
    /// Standard deviation of one pour, in millilitres.
    pub(crate) pour: f64,
    /// Standard deviation of a reading by eye besides its step, and of what one counter reads too much on average, as
    /// shares of a bottle.
    pub(crate) eye: (f64, f64),
}

impl Plan {
    /// The bar of the issue: 160 items and 16 weeks, read by tenths.
    pub(crate) const USUAL: Plan = Plan {
        poured: 144,
        whole: 16,
        weeks: 16,
        single: 0.025,
        lasting: true,
        scale: false,
        pour: 1.6,
        eye: (0.012, 0.01),
    };
}

/// What the bar has of an item.
struct Stock {
    size: f64,
    whole: bool,
    /// Grams of the empty bottle on the label of the book.
    empty: f64,
    sealed: i64,
    /// What is in the opened ones, and what each weighs empty.
    open: Vec<(f64, f64)>,
    opened_at_once: usize,
    /// Pours in a week, from all drinks.
    demand: f64,
}

impl Stock {
    /// All that there is, in millilitres.
    fn holds(&self) -> f64 {
        self.sealed.max(0) as f64 * self.size + self.open.iter().map(|(level, _)| level).sum::<f64>()
    }
}

/// A drink that is sold under a name.
struct Rung {
    till: TillId,
    /// Times a week.
    rate: f64,
    /// From this week on.
    from: usize,
    /// What really goes: item and millilitres.
    takes: Vec<(usize, f64)>,
}

/// What a name on the till does wrong.
struct Misread {
    till: TillId,
    what: Trouble,
    /// By item: millilitres a rung beside what the book says.
    wrong: Vec<(usize, f64)>,
}

/// A bar that is simulated week by week.
pub(crate) struct Trade {
    pub(crate) setup: Setup,
    /// Orders that were placed.
    pub(crate) orders: Vec<Order>,
    plan: Plan,
    chance: Chance,
    stock: Vec<Stock>,
    counters: Vec<(String, f64)>,
    recipes: Vec<Vec<(usize, f64)>>,
    rung: Vec<Rung>,
    misread: Vec<Misread>,
    lasting: Vec<Lasting>,
    /// What the last count's troubles do to the week after it.
    after: BTreeMap<ItemId, Vec<(Trouble, f64)>>,
    opening: Vec<CountLine>,
    week: usize,
}

struct Chance(ChaCha8Rng);

impl Chance {
    fn share(&mut self) -> f64 {
        self.0.random()
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    fn below(&mut self, most: usize) -> usize {
        self.0.random_range(0..most.max(1))
    }

    /// Normal around nought (Box and Muller 1958).
    fn normal(&mut self, sd: f64) -> f64 {
        let (a, b) = (self.share().max(1e-300), self.share());
        sd * (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }

    /// Poisson, by counting exponential waits.
    fn poisson(&mut self, mean: f64) -> u32 {
        let (mut at, mut number) = (0.0, 0);
        loop {
            at -= self.share().max(1e-300).ln();
            if at > mean {
                return number;
            }
            number += 1;
        }
    }

    fn of<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())]
    }
}

fn ml(amount: f64) -> Amount {
    Amount((amount * 1_000.0).round() as i64)
}

/// The moment of an hour of a day of a week.
fn at(week: usize, day: usize, hour: f64) -> Moment {
    Moment(((week * 7 + day) as f64 * 24.0 * 3_600_000.0 + hour * 3_600_000.0) as i64 + 10 * 365 * Moment::DAY)
}

/// A trouble that lasts.
struct Lasting {
    what: Trouble,
    from: usize,
    item: usize,
    other: usize,
    /// Millilitres a week, or a share.
    size: f64,
}

/// Makes a bar from a seed.
pub(crate) fn trade(seed: u64, plan: Plan) -> Trade {
    let mut chance = Chance(ChaCha8Rng::seed_from_u64(seed));
    let many = plan.poured + plan.whole;
    let mut stock: Vec<Stock> = (0..many)
        .map(|n| {
            let whole = n >= plan.poured;
            let size =
                if whole { 200.0 } else { chance.of(&[700.0, 700.0, 700.0, 700.0, 1_000.0, 1_000.0, 500.0, 750.0]) };
            Stock {
                size,
                whole,
                empty: chance.between(380.0, 650.0).round(),
                sealed: 0,
                open: Vec::new(),
                opened_at_once: if chance.share() < 0.12 { 2 } else { 1 },
                demand: 0.0,
            }
        })
        .collect();
    let setup = |drinks: Vec<Drink>, till: Vec<TillName>, stock: &[Stock]| {
        let days = DayRule { zone: chrono_tz::Tz::UTC, starts: chrono::NaiveTime::MIN };
        let items = stock.iter().enumerate().map(|(n, s)| {
            let by = match (s.whole, plan.scale) {
                (true, _) => CountBy::Whole,
                (_, true) => CountBy::Weight,
                _ => CountBy::Tenths,
            };
            let (kind, id) = (if s.whole { Kind::Mixer } else { Kind::Spirit }, ItemId(n as i64 + 1));
            let plain = Item::new(id, &format!("Item {n:03}"), kind, Basis::Volume, ml(s.size), by);
            Item {
                abv: (!s.whole).then_some(Strength(4_000)),
                empty_weight: (!s.whole).then_some(ml(s.empty)),
                ..plain
            }
        });
        let shelf = |n: usize| Shelf { place: BAR, item: ItemId(n as i64 + 1), position: n as i64, par: None };
        let van = Supplier {
            id: VAN,
            name: "Van".to_owned(),
            email: None,
            customer_no: None,
            calendar: OrderCalendar::default(),
            minimum: None,
            fee: None,
            free_from: None,
            party: Party::default(),
        };
        Setup::new(Parts {
            places: vec![Place { id: BAR, name: "Bar".to_owned(), walk: 1 }],
            suppliers: vec![van],
            shelves: (0..stock.len()).map(shelf).collect(),
            items: items.collect(),
            drinks,
            till,
            ..Parts::new(Venue::new("Simulated", "EUR".parse().expect("a coin"), days))
        })
    };

    // Drinks: a neat measure of each poured item, mixed ones of several, and a few that take whole bottles.
    let mut recipes: Vec<(Vec<(usize, f64)>, f64)> = Vec::new();
    for n in 0..plan.poured {
        let rate = (2.6 + chance.normal(0.9)).exp();
        recipes.push((vec![(n, chance.of(&[20.0, 30.0, 40.0, 40.0, 50.0, 60.0]))], rate));
    }
    for n in 0..plan.poured / 2 {
        let parts = 2 + chance.below(3);
        let mut takes: Vec<(usize, f64)> = Vec::new();
        for part in 0..parts {
            let item = chance.below(plan.poured);
            if takes.iter().all(|(other, _)| *other != item) {
                takes.push((
                    item,
                    if part == 0 { chance.of(&[40.0, 50.0, 60.0]) } else { chance.of(&[10.0, 15.0, 20.0, 30.0]) },
                ));
            }
        }
        if plan.whole > 0 && n % 4 == 0 {
            takes.push((plan.poured + chance.below(plan.whole), 200.0));
        }
        recipes.push((takes, (2.0 + chance.normal(0.8)).exp()));
    }
    let mut lasting: Vec<Lasting> = Vec::new();
    let last_start = plan.weeks.saturating_sub(8).max(3);
    let mut taken: Vec<usize> = Vec::new();
    let mut quiet_item = |chance: &mut Chance| loop {
        let item = chance.below(plan.poured);
        if !taken.contains(&item) {
            taken.push(item);
            return item;
        }
    };
    let mut rung: Vec<Rung> = Vec::new();
    let mut till: Vec<TillName> = Vec::new();
    let mut sell = |till: &mut Vec<TillName>, name: String, means, rate, from, takes| {
        let id = TillId(till.len() as i64 + 1);
        till.push(TillName { id, name, code: None, means });
        rung.push(Rung { till: id, rate, from, takes });
    };
    let means = |n: usize| TillMeaning::Drink { drink: DrinkId(n as i64 + 1), portion: 1_000 };
    for (n, (takes, rate)) in recipes.iter().enumerate() {
        sell(&mut till, format!("NAME {n:03}"), means(n), *rate, 0, takes.clone());
    }
    // What a till name does wrong, as a share of what it is said to take: by item, in millilitres a rung.
    let mut misread: Vec<Misread> = Vec::new();
    if plan.lasting {
        let every = [Trouble::Steady; 4].into_iter().chain([Trouble::Heavy; 3]).chain([Trouble::Twin; 2]);
        for what in every.chain([Trouble::RanDry; 3]) {
            let item = quiet_item(&mut chance);
            // What is mistaken for another stands beside it.
            let beside = if item + 1 < plan.poured { item + 1 } else { item - 1 };
            let other = if what == Trouble::Twin { beside } else { quiet_item(&mut chance) };
            let from = 3 + chance.below(last_start - 2);
            let size = match what {
                Trouble::Steady => 60.0,
                Trouble::Heavy => chance.between(0.08, 0.16),
                _ => chance.between(0.3, 0.5),
            };
            if matches!(what, Trouble::Twin | Trouble::RanDry) {
                stock[other].size = stock[item].size;
            }
            lasting.push(Lasting { what, from, item, other, size });
        }
        for what in [Trouble::Portion, Trouble::WrongDrink, Trouble::Unmapped, Trouble::Portion, Trouble::Unmapped] {
            let (from, rate) = (3 + chance.below(last_start - 2), chance.between(8.0, 25.0));
            let said = plan.poured + chance.below(plan.poured / 2);
            let really = loop {
                let other = plan.poured + chance.below(plan.poured / 2);
                if other != said {
                    break other;
                }
            };
            let (means, takes) = match what {
                Trouble::Portion => {
                    (means(said), recipes[said].0.iter().map(|(i, a)| (*i, 2.0 * a)).collect::<Vec<_>>())
                }
                Trouble::WrongDrink => (means(said), recipes[really].0.clone()),
                _ => (TillMeaning::Unknown, recipes[really].0.clone()),
            };
            let mut wrong: BTreeMap<usize, f64> = takes.iter().copied().collect();
            if what != Trouble::Unmapped {
                for (item, amount) in &recipes[said].0 {
                    *wrong.entry(*item).or_default() -= amount;
                }
            }
            let id = TillId(till.len() as i64 + 1);
            sell(&mut till, format!("SPECIAL {}", id.0), means, rate, from, takes);
            misread.push(Misread {
                till: id,
                what,
                wrong: wrong.into_iter().filter(|(_, a)| a.abs() > 1e-9).collect(),
            });
        }
    }
    for sold in &rung {
        for (item, amount) in &sold.takes {
            stock[*item].demand += sold.rate * amount;
        }
    }
    for item in &mut stock {
        if !item.whole {
            for _ in 0..item.opened_at_once {
                item.open.push((item.size * chance.between(0.1, 0.95), item.empty + chance.normal(0.01 * item.empty)));
            }
        }
        item.sealed = (item.demand * 2.0 / item.size).ceil() as i64 + 1;
    }
    let drinks = recipes.iter().enumerate().map(|(n, (takes, _))| {
        let spec = takes.iter().map(|(item, amount)| Ingredient::new(ItemId(*item as i64 + 1), "", ml(*amount)));
        Drink {
            id: DrinkId(n as i64 + 1),
            name: format!("Drink {n:03}"),
            menu: Versions::default(),
            specs: Versions::new(vec![(None, spec.collect())]),
        }
    });
    let setup = setup(drinks.collect(), till, &stock);

    let counters: Vec<(String, f64)> =
        ["AB", "CD", "EF"].iter().map(|who| ((*who).to_owned(), chance.normal(plan.eye.1))).collect();
    let mut trade = Trade {
        setup,
        orders: Vec::new(),
        plan,
        chance,
        stock,
        counters,
        recipes: recipes.into_iter().map(|(takes, _)| takes).collect(),
        rung,
        misread,
        lasting,
        after: BTreeMap::new(),
        opening: Vec::new(),
        week: 0,
    };
    trade.opening = trade.count(0, &BTreeMap::new(), &HashMap::new());
    trade
}

impl Trade {
    /// Items that lose steadily, with the first week.
    pub(crate) fn steady(&self) -> Vec<(ItemId, usize)> {
        let steady = self.lasting.iter().filter(|lasting| lasting.what == Trouble::Steady);
        steady.map(|lasting| (ItemId(lasting.item as i64 + 1), lasting.from)).collect()
    }

    /// A lasting trouble of an item was found, and is there no more.
    pub(crate) fn mend(&mut self, item: ItemId, what: Trouble) {
        let item = item.0 as usize - 1;
        for lasting in self.lasting.iter_mut().filter(|l| l.what == what && (l.item == item || l.other == item)) {
            lasting.from = usize::MAX;
        }
        for misread in self.misread.iter().filter(|m| m.what == what && m.wrong.iter().any(|(i, _)| *i == item)) {
            for rung in self.rung.iter_mut().filter(|rung| rung.till == misread.till) {
                rung.from = usize::MAX;
            }
        }
    }

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

    /// Takes so much from the opened ones, and opens another when they are empty.
    fn pour(&mut self, item: usize, used: f64) {
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
    fn count(
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
