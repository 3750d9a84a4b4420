//! Eleven weeks of trade, night by night: what truly happens, and what of it is written down.

use crate::calendar::{Moment, Night, OPENING, WEEKS, date, day_of};
use crate::catalogue::{ITEMS, Item, Kind, PEOPLE, Place, SUPPLIERS};
use crate::chance::Chance;
use crate::files::empty_weight;
use crate::measure::{amount, base_unit, money, plain, unit_price};
use crate::menu::{HOUSE, Key, Menu, item};
use crate::plan::{LINES, Plan};
use crate::stock::{Carried, Stock};
use crate::troubles;
use chrono::NaiveDate;
use tantalus::domain::gauge::alcohol::density_of_strength;
use tantalus::domain::gauge::density::in_air;

/// A jigger's spread from pour to pour, as a part of the pour.
const POUR_SPREAD: f64 = 0.03;
/// How far the eye is off when it reads tenths, as a part of the container.
const EYE_SPREAD: f64 = 0.015;
/// How much one bottle of a make is heavier or lighter than the one that was weighed empty, as a part of it.
const EMPTY_SPREAD: f64 = 0.01;
/// The week from which on eyes are checked.
const CHECKED_FROM: u32 = 4;
/// Percent, as on every drink.
const TAX: f64 = 23.0;
/// How much more is asked for the drink of the item that runs dry, on that weekend.
const RUSH: f64 = 4.0;

pub(crate) type Row = Vec<String>;

/// What was written down; each row with its moment, to be put in order at the end.
#[derive(Default)]
pub(crate) struct Records {
    pub sales: Vec<Row>,
    pub deliveries: Vec<(Moment, Row)>,
    pub losses: Vec<(Moment, Row)>,
    pub transfers: Vec<(Moment, Row)>,
    pub batches: Vec<(Moment, Row)>,
    pub counts: Vec<Row>,
    pub weighings: Vec<Row>,
    pub orders: Vec<(Moment, Row)>,
    /// When the planted item ran dry, for the list of troubles.
    pub ran_dry: Option<Moment>,
}

struct Order {
    supplier: usize,
    comes: NaiveDate,
    /// Item, packs.
    lines: Vec<(usize, i64)>,
}

/// A delivery note being written.
struct Note {
    document: String,
    at: Moment,
    day: NaiveDate,
    lines: usize,
}

pub(crate) struct Bar<'a> {
    menu: &'a Menu,
    plan: &'a Plan,
    stock: Stock,
    records: Records,
    orders: Vec<Order>,
    receipt: u32,
    documents: [u32; SUPPLIERS.len()],
    /// Used of the uncounted house-made items and not yet written down as a batch.
    unbooked: Vec<f64>,
    /// Separate sources of chance: guests, hands that pour, eyes that count, the office.
    guests: Chance,
    hands: Chance,
    eyes: Chance,
    office: Chance,
    scale: Chance,
}

impl<'a> Bar<'a> {
    pub(crate) fn open(menu: &'a Menu, plan: &'a Plan) -> Bar<'a> {
        let mut bar = Bar {
            menu,
            plan,
            stock: Stock::empty(plan),
            records: Records::default(),
            orders: Vec::new(),
            receipt: 40_117,
            documents: SUPPLIERS.each_ref().map(|supplier| supplier.first_document),
            unbooked: vec![0.0; ITEMS.len()],
            guests: Chance::stream(1),
            hands: Chance::stream(2),
            eyes: Chance::stream(3),
            office: Chance::stream(4),
            scale: Chance::stream(5),
        };
        bar.fill();
        bar
    }

    /// Runs the eleven weeks from the opening count to the last one.
    pub(crate) fn run(mut self) -> Records {
        self.full_count(0, date(OPENING));
        for week in 1..=WEEKS {
            for weekday in 0..7 {
                let night = Night::of(week, weekday);
                self.order(week, weekday);
                self.receive(night);
                if weekday == 0 {
                    continue;
                }
                self.make_batches(night);
                self.set_up(night);
                self.serve_guests(night);
                self.slip_away(night);
                match weekday {
                    6 => {
                        // Monday is closed: what Tuesday needs is mixed while cleaning up.
                        self.book_uncounted(night.closes.plus_minutes(25), 50.0);
                        self.full_count(week, night.day);
                    }
                    1 | 3 | 5 => {
                        let name = format!("{} rail", night.day);
                        let from = night.closes.plus_minutes(14);
                        self.count(&name, from, &[Place::Rail], week);
                    }
                    _ => {}
                }
            }
        }
        let saturday = Night::of(troubles::RAN_DRY_WEEK, 5);
        let records = &mut self.records;
        assert!(
            records.ran_dry.is_some_and(|at| saturday.opens < at && at < saturday.closes),
            "{} runs dry on its Saturday, or the orders before it must change",
            troubles::RAN_DRY
        );
        for rows in [
            &mut records.deliveries,
            &mut records.losses,
            &mut records.transfers,
            &mut records.batches,
            &mut records.orders,
        ] {
            rows.sort_by_key(|&(moment, _)| moment);
        }
        self.records
    }

    /// The stock of the first night: somewhat below par, one container opened of each item.
    fn fill(&mut self) {
        for (index, item) in ITEMS.iter().enumerate() {
            let Some(par) = self.plan.par[index] else {
                continue;
            };
            let share = self.office.between(0.75, 1.0);
            let mut sealed = (f64::from(par) * share).round() as i64;
            if !item.whole {
                for _ in 0..item.wells {
                    self.stock.add_opened(index, self.office.between(0.12, 0.93));
                }
                sealed = (sealed - 1).max(0);
            }
            if self.plan.in_cellar(index) {
                let home = sealed.min((self.plan.home_par[index] - self.stock.at_home(index)).max(0));
                self.stock.add_sealed(index, item.home, home);
                self.stock.add_sealed(index, Place::Cellar, sealed - home);
            } else {
                self.stock.add_sealed(index, item.home, sealed);
            }
        }
    }

    // Buying.

    /// Sends the orders whose deadline falls on this day.
    fn order(&mut self, week: u32, weekday: i64) {
        for (supplier, info) in SUPPLIERS.iter().enumerate() {
            for slot in info.slots.iter().filter(|slot| slot.order_day == weekday) {
                let day = day_of(week, weekday);
                let mut lines = self.wanted(supplier, day, week);
                if !self.reach_minimum(supplier, day, &mut lines) {
                    continue;
                }
                let (hour, minute) = slot.deadline;
                let placed = Moment::local(day, hour, minute).plus_minutes(-self.office.whole(25, 170));
                let comes = day_of(week, slot.comes_on);
                self.write_order(supplier, day, placed, comes, &lines);
                self.orders.push(Order { supplier, comes, lines });
            }
        }
    }

    /// What brings this supplier's items to par, in whole packs.
    fn wanted(&self, supplier: usize, day: NaiveDate, week: u32) -> Vec<(usize, i64)> {
        let mut lines = Vec::new();
        for (index, item) in ITEMS.iter().enumerate() {
            let Some(par) = self.plan.par[index] else {
                continue;
            };
            let bought = item.kind != Kind::HouseMade && item.supplier == supplier;
            if !bought || troubles::forgotten(item.name, day) {
                continue;
            }
            let par = f64::from(par);
            let pack = f64::from(item.pack);
            let need = par - self.stock.containers(index);
            // Half a case short is worth a case; so is being nearly out.
            let mut packs = (need / pack).round() as i64;
            if packs < 1 && need > 0.5 * par {
                packs = 1;
            }
            // The case that will not come must first be ordered.
            let first_of_week = day == day_of(week, SUPPLIERS[supplier].slots[0].order_day);
            if first_of_week && troubles::NEVER_CAME.contains(&(item.name, week)) {
                packs = packs.max(1);
            }
            if packs > 0 {
                lines.push((index, packs));
            }
        }
        lines
    }

    /// Below the supplier's minimum no van comes. Unless something is urgent the order waits for
    /// the next deadline; else what is lowest against its par goes on top, pack by pack.
    fn reach_minimum(&self, supplier: usize, day: NaiveDate, lines: &mut Vec<(usize, i64)>) -> bool {
        let total = |lines: &[(usize, i64)]| -> i64 {
            lines.iter().map(|&(index, packs)| packs * self.plan.price(index, day)).sum()
        };
        let minimum = SUPPLIERS[supplier].minimum;
        let urgent = lines.iter().any(|&(index, _)| {
            let par = self.plan.par[index].map_or(0.0, f64::from);
            self.stock.containers(index) < 0.5 * par
        });
        if lines.is_empty() || (total(lines) < minimum && !urgent) {
            return false;
        }
        while total(lines) < minimum {
            let level_with_one_more = |index: usize| {
                let ordered = lines.iter().find(|line| line.0 == index).map_or(0, |line| line.1);
                let pack = f64::from(ITEMS[index].pack);
                let par = self.plan.par[index].map_or(0.1, f64::from);
                (self.stock.containers(index) + pack * (ordered + 1) as f64) / par
            };
            let lowest = (0..ITEMS.len())
                .filter(|&index| ITEMS[index].supplier == supplier && ITEMS[index].cost > 0)
                .filter(|&index| !troubles::forgotten(ITEMS[index].name, day))
                .min_by(|&a, &b| level_with_one_more(a).total_cmp(&level_with_one_more(b)))
                .expect("every supplier sells something");
            match lines.iter_mut().find(|line| line.0 == lowest) {
                Some(line) => line.1 += 1,
                None => lines.push((lowest, 1)),
            }
        }
        true
    }

    fn write_order(
        &mut self,
        supplier: usize,
        day: NaiveDate,
        placed: Moment,
        comes: NaiveDate,
        lines: &[(usize, i64)],
    ) {
        let info = &SUPPLIERS[supplier];
        for (line, &(index, packs)) in lines.iter().enumerate() {
            self.records.orders.push((
                placed,
                vec![
                    format!("{day} {}", info.short),
                    (line + 1).to_string(),
                    info.name.into(),
                    ITEMS[index].name.into(),
                    packs.to_string(),
                    money(self.plan.price(index, day)),
                    "received".into(),
                    placed.to_minute(),
                    comes.to_string(),
                ],
            ));
        }
    }

    /// Takes in the vans of the day and books their delivery notes.
    fn receive(&mut self, night: Night) {
        let (due, later): (Vec<Order>, Vec<Order>) =
            std::mem::take(&mut self.orders).into_iter().partition(|order| order.comes == night.day);
        self.orders = later;
        for order in due {
            let info = &SUPPLIERS[order.supplier];
            let (from, to) = info.hours;
            let at = Moment::local(night.day, from, 0).plus_minutes(self.office.whole(5, (to - from) * 60 - 5));
            let document = self.documents[order.supplier];
            self.documents[order.supplier] += self.office.whole(11, 47) as u32;
            let mut note = Note { document: format!("{}-{document}", info.prefix), at, day: night.day, lines: 0 };
            for &(index, ordered) in &order.lines {
                let item = &ITEMS[index];
                // Now and then a van comes a case short and its note says so.
                let short = ordered > 1 && self.office.happens(0.015);
                let packs = ordered - i64::from(short);
                let containers = packs * i64::from(item.pack);
                let planted =
                    night.weekday == info.slots[0].comes_on && troubles::NEVER_CAME.contains(&(item.name, night.week));
                let missing = if planted { i64::from(item.pack) } else { 0 };
                let place = if self.plan.in_cellar(index) { Place::Cellar } else { item.home };
                self.stock.add_sealed(index, place, containers - missing);
                self.write_delivery(&mut note, index, containers, place);
            }
            // Two corked bottles went back with one van.
            let corked = item("Quintaperra Slope White");
            if order.supplier == ITEMS[corked].supplier
                && night.week == 4
                && self.stock.sealed(corked, Place::Cellar) >= 2
                && night.weekday == 2
            {
                self.stock.add_sealed(corked, Place::Cellar, -2);
                self.write_delivery(&mut note, corked, -2, Place::Cellar);
            }
        }
    }

    fn write_delivery(&mut self, note: &mut Note, index: usize, containers: i64, place: Place) {
        note.lines += 1;
        let item = &ITEMS[index];
        let deposit = if item.deposit > 0 { money(item.deposit) } else { String::new() };
        self.records.deliveries.push((
            note.at,
            vec![
                note.document.clone(),
                note.lines.to_string(),
                note.at.to_minute(),
                SUPPLIERS[item.supplier].name.into(),
                item.name.into(),
                containers.to_string(),
                unit_price(self.plan.price(index, note.day), item.pack),
                place.name().into(),
                deposit,
            ],
        ));
    }

    // Making.

    fn make_batches(&mut self, night: Night) {
        let start = Moment::local(night.day, 15, 30);
        self.book_uncounted(start.plus_minutes(4), 100.0);
        for (turn, house) in HOUSE.iter().enumerate() {
            let made = item(house.item);
            let Some(par) = self.plan.par[made] else {
                continue;
            };
            let yields = amount(house.yields);
            let low = 0.55 * f64::from(par);
            let enough =
                house.ingredients.iter().all(|&(name, quantity)| self.stock.all(item(name)) >= amount(quantity));
            if self.stock.containers(made) >= low || !enough {
                continue;
            }
            let at = start.plus_minutes(12 * (turn as i64 + 1) + self.office.whole(0, 6));
            for &(name, quantity) in house.ingredients {
                self.take(item(name), amount(quantity), at);
            }
            let containers = (yields / self.stock.size(made)).round() as i64;
            self.stock.add_sealed(made, Place::Fridge, containers);
            self.write_batch(at, house.item, yields);
        }
    }

    /// Writes down what was mixed of the uncounted items since last time, in steps of so many
    /// millilitres, and takes its ingredients.
    fn book_uncounted(&mut self, at: Moment, step: f64) {
        for (turn, house) in HOUSE.iter().enumerate() {
            let made = item(house.item);
            if !ITEMS[made].uncounted {
                continue;
            }
            let batch = (self.unbooked[made] / step).round() * step;
            let share = batch / amount(house.yields);
            if batch <= 0.0 {
                continue;
            }
            let at = at.plus_minutes(turn as i64);
            for &(name, quantity) in house.ingredients {
                let taken = share * amount(quantity);
                assert!(self.stock.all(item(name)) >= taken, "no {name} is left to mix");
                self.take(item(name), taken, at);
            }
            self.unbooked[made] -= batch;
            self.write_batch(at, house.item, batch);
        }
    }

    fn write_batch(&mut self, at: Moment, name: &str, made: f64) {
        let by = self.someone();
        self.records
            .batches
            .push((at, vec![at.to_minute(), name.into(), format!("{} ml", plain(made)), by, String::new()]));
    }

    // Serving.

    /// Carries up what the evening needs.
    fn set_up(&mut self, night: Night) {
        let start = Moment::local(night.day, 16, 25);
        let by = self.someone();
        for (index, item) in ITEMS.iter().enumerate() {
            let wanted = self.plan.home_par[index];
            let there = self.stock.at_home(index);
            // Crates are not carried for a bottle or two.
            let low = if item.whole { wanted / 2 } else { wanted - 1 };
            if there <= low {
                let carried = self.stock.carry_up(index, wanted - there);
                let at = start.plus_seconds(index as i64 * 9);
                self.write_carried(carried, at, &by);
            }
            self.stock.set_up(index);
        }
    }

    fn serve_guests(&mut self, night: Night) {
        let spread = 1.0 + 0.07 * self.guests.normal();
        let mut lines = (LINES[night.weekday as usize] * spread).round().max(80.0) as i64;
        let seconds = night.closes.seconds_since(night.opens);
        let mut arrivals = Vec::new();
        while lines > 0 {
            let party = (1 + self.guests.weighted(&[38.0, 30.0, 17.0, 10.0, 5.0]) as i64).min(lines);
            lines -= party;
            // Most come in the middle of the evening, some at any time until the last call.
            let share = if self.guests.happens(0.72) {
                0.04 + 0.96 * (self.guests.unit() + self.guests.unit()) / 2.0
            } else {
                self.guests.unit()
            };
            arrivals.push(((share * seconds as f64) as i64, party));
        }
        arrivals.sort_unstable();
        let mishaps = self.mishaps(night);
        let mut mishaps = mishaps.into_iter().peekable();
        for (second, party) in arrivals {
            let at = night.opens.plus_seconds(second);
            while let Some(early) = mishaps.next_if(|&moment| moment <= at) {
                self.mishap(early);
            }
            self.receipt(night, at, party);
        }
        for left in mishaps {
            self.mishap(left);
        }
    }

    /// One guest's bill.
    fn receipt(&mut self, night: Night, at: Moment, party: i64) {
        self.receipt += 1;
        let weights = self.weights(night);
        let mut line = 0;
        for _ in 0..party {
            let quantity = 1 + self.guests.weighted(&[76.0, 18.0, 4.5, 1.5]) as i64;
            let kind = self.guests.weighted(&[970.0, 4.0, 5.0, 3.0, 8.0, 9.0, 2.0]);
            // Guests choose again when what they asked for is out.
            let Some(key) = (0..6).find_map(|_| {
                let key = &self.menu.keys[self.guests.weighted(&weights)];
                self.can_serve(key, quantity, night).then_some(key)
            }) else {
                continue;
            };
            let price = self.price(key, night.day);
            let net = |share: f64| -> i64 {
                let gross = price * quantity as f64 * share;
                (gross / (1.0 + TAX / 100.0)).round() as i64
            };
            let mut write = |bar: &mut Self, quantity: i64, net: i64, kind: &str| {
                line += 1;
                bar.records.sales.push(vec![
                    bar.receipt.to_string(),
                    line.to_string(),
                    at.to_minute(),
                    key.sold_as.clone(),
                    quantity.to_string(),
                    money(net),
                    kind.into(),
                ]);
            };
            match kind {
                // Rung and cancelled before it was made.
                1 => write(self, quantity, 0, "void"),
                // Rung, not wanted after all, and taken back on the same bill.
                2 => {
                    write(self, quantity, net(1.0), "");
                    write(self, -quantity, -net(1.0), "void");
                }
                // Made, brought, not liked: the money goes back, the drink is gone.
                3 => {
                    write(self, quantity, net(1.0), "");
                    write(self, -quantity, -net(1.0), "return");
                    self.serve(key, quantity, night, at);
                }
                4 => {
                    write(self, quantity, 0, "comp");
                    self.serve(key, quantity, night, at);
                }
                5 => {
                    write(self, quantity, net(0.5), "staff");
                    self.serve(key, quantity, night, at);
                }
                6 => write(self, quantity, 0, "training"),
                _ => {
                    write(self, quantity, net(1.0), "");
                    self.serve(key, quantity, night, at);
                }
            }
        }
    }

    fn weights(&self, night: Night) -> Vec<f64> {
        let short = item(troubles::RAN_DRY);
        let rush = night.week == troubles::RAN_DRY_WEEK && night.weekday >= 5;
        self.menu
            .keys
            .iter()
            .map(|key| {
                if !key.mapped && night.week < troubles::PROMOTION_FROM {
                    0.0
                } else if rush && self.takes(key, night.day, short) {
                    RUSH * key.weight
                } else {
                    key.weight
                }
            })
            .collect()
    }

    fn takes(&self, key: &Key, day: NaiveDate, item: usize) -> bool {
        key.drink.is_some_and(|drink| {
            let version = self.menu.drinks[drink].version(day);
            version.spec.iter().any(|line| line.item == item)
        })
    }

    fn price(&self, key: &Key, day: NaiveDate) -> f64 {
        match key.drink {
            Some(drink) => {
                let full = self.menu.drinks[drink].version(day).price as f64;
                // Prices on the board end in a half or a whole euro.
                (full * key.price_share / 50.0).round() * 50.0
            }
            None => key.own_price as f64,
        }
    }

    fn can_serve(&mut self, key: &Key, quantity: i64, night: Night) -> bool {
        let Some(drink) = key.drink else {
            return true;
        };
        let stood_in = self.guests.happens(0.45);
        let servings = quantity as f64 * key.really;
        self.menu.drinks[drink].version(night.day).spec.iter().all(|line| {
            let enough = |item: usize| self.stock.all(item) >= line.takes * servings * 1.3;
            let dry = ITEMS[line.item].name == troubles::RAN_DRY && night.week >= troubles::RAN_DRY_WEEK;
            ITEMS[line.item].uncounted || enough(line.item) || (dry && stood_in && enough(item(troubles::STOOD_IN)))
        })
    }

    /// Makes what was asked for.
    fn serve(&mut self, key: &Key, quantity: i64, night: Night, at: Moment) {
        let Some(drink) = key.drink else {
            return;
        };
        let servings = quantity as f64 * key.really;
        let spec = self.menu.drinks[drink].version(night.day).spec.clone();
        let twins = night.week >= troubles::TWINS_FROM && self.hands.happens(troubles::TWINS_SHARE);
        for line in spec {
            let mut index = line.item;
            let mut takes = line.takes * servings;
            if ITEMS[index].uncounted {
                self.unbooked[index] += takes;
                continue;
            }
            if !ITEMS[index].whole {
                takes *= 1.0 + POUR_SPREAD * self.hands.normal() / servings.max(1.0).sqrt();
            }
            match ITEMS[index].name {
                troubles::HEAVY if night.week >= troubles::HEAVY_FROM => {
                    takes *= troubles::HEAVY_FACTOR;
                }
                troubles::RUNG if twins && self.stock.all(item(troubles::POURED)) > takes => {
                    index = item(troubles::POURED);
                }
                troubles::RAN_DRY if self.stock.all(index) < takes => {
                    // The last drop goes in, the rest is something else.
                    let rest = self.stock.all(index);
                    self.take(index, rest, at);
                    if self.records.ran_dry.is_none() {
                        self.records.ran_dry = Some(at);
                    }
                    takes -= rest;
                    index = item(troubles::STOOD_IN);
                }
                _ => {}
            }
            let takes = takes.min(self.stock.all(index));
            self.take(index, takes, at);
        }
    }

    /// Takes from the shelf and writes down what had to be carried up for it.
    fn take(&mut self, index: usize, amount: f64, at: Moment) {
        let carried = self.stock.take(index, amount);
        for carried in carried {
            let by = self.someone();
            self.write_carried(Some(carried), at, &by);
        }
    }

    fn write_carried(&mut self, carried: Option<Carried>, at: Moment, by: &str) {
        if let Some(carried) = carried {
            self.records.transfers.push((
                at,
                vec![
                    at.to_minute(),
                    ITEMS[carried.item].name.into(),
                    carried.containers.to_string(),
                    Place::Cellar.name().into(),
                    carried.to.name().into(),
                    by.into(),
                ],
            ));
        }
    }

    // Losing.

    /// When in the evening something is lost and written down.
    fn mishaps(&mut self, night: Night) -> Vec<Moment> {
        let many = self.hands.weighted(&[2.0, 4.0, 3.0, 2.0]);
        let seconds = night.closes.seconds_since(night.opens);
        let mut moments: Vec<Moment> =
            (0..many).map(|_| night.opens.plus_seconds(self.hands.whole(900, seconds))).collect();
        moments.sort_unstable();
        moments
    }

    fn mishap(&mut self, at: Moment) {
        let what = self.hands.weighted(&[28.0, 9.0, 15.0, 15.0, 12.0, 13.0, 8.0]);
        let (reason, fits): (&str, fn(&Item) -> bool) = match what {
            0 => ("spill", |item| item.home == Place::Rail && item.kind == Kind::Spirit),
            1 => ("breakage", |item| item.kind == Kind::Beer && item.whole),
            2 => ("tasting", |item| item.home == Place::BackBar && item.kind == Kind::Spirit && item.cost < 5_000),
            3 => ("staff", |item| item.kind == Kind::Wine || item.home == Place::Rail),
            4 => ("comp", |item| item.home == Place::BackBar && item.kind == Kind::Spirit),
            5 => ("spoiled", |item| item.kind == Kind::Juice || item.name == "Limes"),
            _ => ("returned-drink", |item| item.home == Place::Rail && item.kind == Kind::Spirit),
        };
        let candidates: Vec<usize> = (0..ITEMS.len()).filter(|&i| fits(&ITEMS[i])).collect();
        let index = *self.hands.pick(&candidates);
        let item = &ITEMS[index];
        let lost = if item.whole {
            self.stock.size(index) * if reason == "spoiled" { 4.0 } else { 1.0 }
        } else {
            match reason {
                "spill" => 10.0 * self.hands.whole(2, 7) as f64,
                "tasting" => 20.0 * self.hands.whole(1, 3) as f64,
                "spoiled" => 50.0 * self.hands.whole(2, 8) as f64,
                "staff" if item.kind == Kind::Wine => 150.0,
                "comp" => 40.0,
                "returned-drink" => 50.0 * self.hands.whole(1, 2) as f64,
                _ if item.kind == Kind::Liqueur => 25.0,
                _ => 50.0,
            }
        };
        // Bitters are not drunk by the glass, and nothing is lost that was not there; the item
        // that runs dry is left to do so by itself.
        let left_alone = self.stock.size(index) < 300.0 && !item.whole;
        if left_alone || item.name == troubles::RAN_DRY || self.stock.all(index) < lost + self.stock.size(index) * 0.2 {
            return;
        }
        self.take(index, lost, at);
        let note = match reason {
            "returned-drink" => "made again",
            "comp" => "on the house",
            "spoiled" if item.whole => "soft",
            "spoiled" => "past its date",
            _ => "",
        };
        let by = self.someone();
        self.records.losses.push((
            at,
            vec![
                at.to_minute(),
                item.name.into(),
                format!("{} {}", plain(lost), base_unit(item.size)),
                reason.into(),
                item.home.name().into(),
                by,
                note.into(),
            ],
        ));
    }

    /// What goes without being written down: two of the planted troubles.
    fn slip_away(&mut self, night: Night) {
        if night.weekday == 4 {
            let steady = item(troubles::STEADY);
            self.take(steady, troubles::STEADY_ML, night.closes);
        }
        if night.weekday == 4 && troubles::GONE_WEEKS.contains(&night.week) {
            let gone = self.stock.take_sealed(item(troubles::GONE));
            assert!(gone.is_some(), "no sealed {} is there to go", troubles::GONE);
        }
    }

    // Counting.

    fn full_count(&mut self, week: u32, day: NaiveDate) {
        let name = format!("{day} full");
        let from = Moment::local(day, 26, 30).plus_seconds(self.eyes.whole(5, 140));
        self.count(&name, from, &Place::ALL, week);
    }

    fn count(&mut self, name: &str, from: Moment, places: &[Place], week: u32) {
        let by = if places.len() > 1 && self.eyes.happens(0.7) { PEOPLE[0].0 } else { self.eyes.pick(&PEOPLE).0 };
        let plan = self.plan;
        let mut at = from;
        // What was read of one opened bottle at the wells, so that some of them can be weighed afterwards.
        let mut read = Vec::new();
        for (place, items) in &plan.shelves {
            if !places.contains(place) {
                continue;
            }
            for &index in items {
                let item = &ITEMS[index];
                let mut full = self.stock.sealed(index, *place);
                if *place == Place::Cellar && (item.name, week) == troubles::OVERLOOKED {
                    assert!(full > 0, "no {} is there to be overlooked", item.name);
                    full -= 1;
                }
                let mut open = Vec::new();
                if *place == item.home && !item.whole {
                    let parts: Vec<f64> = self.stock.open(index).collect();
                    for part in parts {
                        open.push(self.read(part));
                        if *place == Place::Rail && item.wells == 1 && item.abv.is_some() && item.kind == Kind::Spirit {
                            read.push((index, part, open.join(" ")));
                        }
                    }
                }
                self.records.counts.push(vec![
                    name.into(),
                    at.to_second(),
                    place.name().into(),
                    item.name.into(),
                    full.to_string(),
                    open.join(" "),
                    if open.is_empty() { "" } else { "tenths" }.into(),
                    by.into(),
                ]);
                at = at.plus_seconds(self.eyes.whole(8, 13));
            }
        }
        if places.len() > 1 && week >= CHECKED_FROM {
            self.check_eye(by, at, read);
        }
    }

    /// Puts a few opened bottles that were just read on the scale as well, as the program asks for after a count.
    fn check_eye(&mut self, by: &str, mut at: Moment, mut read: Vec<(usize, f64, String)>) {
        for _ in 0..5.min(read.len()) {
            let chosen = self.scale.whole(0, read.len() as i64 - 1) as usize;
            let (index, part, seen) = read.swap_remove(chosen);
            let strength = ITEMS[index].abv.map_or(0.0, |abv| abv / 100.0);
            let density = in_air(density_of_strength(strength, 20.0)) / 1_000.0;
            let empty = empty_weight(index) as f64 * (1.0 + EMPTY_SPREAD * self.scale.normal());
            let gross = empty + part * self.stock.size(index) * density;
            at = at.plus_seconds(self.scale.whole(12, 25));
            self.records.weighings.push(vec![
                at.to_second(),
                ITEMS[index].name.into(),
                "opened".into(),
                format!("{gross:.0}g"),
                seen,
                Place::Rail.name().into(),
                by.into(),
            ]);
        }
    }

    /// Reads an opened container by eye. One that is there is neither empty nor unopened, so the
    /// reading stays between one tenth and nine.
    fn read(&mut self, part: f64) -> String {
        let seen = part + EYE_SPREAD * self.eyes.normal();
        let tenths = ((10.0 * seen).round() as i64).clamp(1, 9);
        format!(".{tenths}")
    }

    fn someone(&mut self) -> String {
        self.office.pick(&PEOPLE).0.into()
    }
}
