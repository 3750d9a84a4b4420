//! Night after night: what is carried up, poured, lost, counted, ordered and delivered.

use crate::bar::{self, BATCH, CONTAINER, ITEMS, NAMES, RAIL, SUPPLIERS};
use chrono::{Datelike, Days, NaiveDate};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

/// A pour is off by so many millilitres, a reading by so many tenths (standard deviations).
const POUR: f64 = 1.5;
const READING: f64 = 0.35;
/// Millilitres that go every week of this one without being written down.
const STEADY: (usize, f64) = (17, 60.0);
/// Stock is filled up to so many weeks of what is sold.
const WEEKS: f64 = 2.5;

/// What there is of an item: sealed containers where it is poured and in the cellar, and what is in the opened one.
#[derive(Clone, Copy)]
struct Stock {
    home: i64,
    cellar: i64,
    open: f64,
}

struct Files {
    sales: BufWriter<File>,
    counts: BufWriter<File>,
    deliveries: BufWriter<File>,
    losses: BufWriter<File>,
    transfers: BufWriter<File>,
    batches: BufWriter<File>,
    orders: BufWriter<File>,
}

struct Bar {
    rng: ChaCha8Rng,
    files: Files,
    stock: Vec<Stock>,
    takes: Vec<Vec<(usize, f64)>>,
    /// Up to which draw a name of the till is rung.
    names: Vec<f64>,
    /// Containers that stock is filled up to.
    upto: Vec<i64>,
    receipt: u64,
}

pub(crate) fn write(folder: &Path, years: u64) -> std::io::Result<()> {
    let files = Files {
        sales: bar::file(folder, "sales.csv", "receipt,line,at,sold_as,quantity,net,kind")?,
        counts: bar::file(folder, "counts.csv", "count,at,place,item,full,open")?,
        deliveries: bar::file(folder, "deliveries.csv", "document,line,at,supplier,item,containers,unit_price,place")?,
        losses: bar::file(folder, "losses.csv", "at,item,quantity,reason")?,
        transfers: bar::file(folder, "transfers.csv", "at,item,containers,from_place,to_place")?,
        batches: bar::file(folder, "batches.csv", "at,item,made")?,
        orders: bar::file(folder, "orders.csv", "order,line,supplier,item,packs,price,state,placed,expected")?,
    };
    let nights = years * 365;
    // A book begins in 1990 at the earliest, so that one of fifty years has to end in years to come. Both are Sundays.
    let last = if years <= 36 { NaiveDate::from_ymd_opt(2026, 11, 22) } else { NaiveDate::from_ymd_opt(2040, 1, 1) };
    let Some(first) = last.and_then(|last| last.checked_sub_days(Days::new(nights.saturating_sub(1)))) else {
        return Ok(());
    };
    let mut bar = Bar::new(files);
    for (day, night) in first.iter_days().zip(0..nights) {
        bar.morning(day)?;
        bar.evening(day, 500 + night % 7 * 107)?;
        bar.closing(day)?;
    }
    bar.flush()
}

impl Bar {
    fn new(files: Files) -> Bar {
        let takes: Vec<Vec<(usize, f64)>> = (0..NAMES).map(bar::takes).collect();
        let mut sum = 0.0;
        let names: Vec<f64> = (0..NAMES)
            .map(|name| {
                sum += bar::weight(name);
                sum
            })
            .collect();
        let mut weekly = vec![0.0; ITEMS];
        for (name, takes) in takes.iter().enumerate() {
            for (item, ml) in takes {
                weekly[*item] += bar::weight(name) / sum * ml * 7.0 * 821.0;
            }
        }
        for item in (0..ITEMS).filter(|item| bar::is_made(*item)) {
            weekly[bar::made_of(item)] += weekly[item];
        }
        let mut upto: Vec<i64> = weekly.iter().map(|ml| 2 + (WEEKS * ml / CONTAINER).ceil() as i64).collect();
        for item in (0..ITEMS).filter(|item| bar::is_made(*item)) {
            upto[bar::made_of(item)] += 2 * BATCH;
        }
        let stock = upto.iter().map(|upto| Stock { home: *upto, cellar: 0, open: 0.5 * CONTAINER }).collect();
        Bar { rng: ChaCha8Rng::seed_from_u64(20_261_125), files, stock, takes, names, upto, receipt: 0 }
    }

    /// About normal, of standard deviation one.
    fn scatter(&mut self) -> f64 {
        let sum: f64 = (0..4).map(|_| self.rng.random::<f64>()).sum();
        (sum - 2.0) * 3.0_f64.sqrt()
    }

    /// Takes millilitres of an item; what is not there is not taken.
    fn take(&mut self, item: usize, ml: f64) {
        let stock = &mut self.stock[item];
        while stock.open < ml && stock.home > 0 {
            stock.home -= 1;
            stock.open += CONTAINER;
        }
        stock.open = (stock.open - ml).max(0.0);
    }

    /// What comes, is made and is carried up before the bar opens.
    fn morning(&mut self, day: NaiveDate) -> std::io::Result<()> {
        match day.weekday().num_days_from_monday() {
            1 => self.batches(day)?,
            2 => self.vans(day)?,
            _ => {}
        }
        for item in (0..ITEMS).filter(|item| bar::has_cellar(*item)) {
            let wanted = (self.upto[item] / 4).max(1) - self.stock[item].home;
            let carried = wanted.min(self.stock[item].cellar);
            if carried > 0 {
                self.stock[item].cellar -= carried;
                self.stock[item].home += carried;
                writeln!(self.files.transfers, "{day} 17:10,Item {item:03},{carried},Cellar,{}", bar::home(item))?;
            }
        }
        Ok(())
    }

    fn batches(&mut self, day: NaiveDate) -> std::io::Result<()> {
        for item in (0..ITEMS).filter(|item| bar::is_made(*item)) {
            while self.stock[item].home < self.upto[item] && self.stock[bar::made_of(item)].home > BATCH {
                self.stock[item].home += BATCH;
                let ml = BATCH as f64 * CONTAINER;
                self.take(bar::made_of(item), ml);
                writeln!(self.files.batches, "{day} 15:30,Item {item:03},{ml} ml")?;
            }
        }
        Ok(())
    }

    /// One van of each supplier, as it was ordered on Monday.
    fn vans(&mut self, day: NaiveDate) -> std::io::Result<()> {
        let Some(monday) = day.checked_sub_days(Days::new(2)) else { return Ok(()) };
        for supplier in 0..SUPPLIERS {
            let mut line = 0;
            for item in (0..ITEMS).filter(|item| bar::supplier(*item) == supplier && !bar::is_made(*item)) {
                let stock = self.stock[item];
                let came = self.upto[item] - stock.home - stock.cellar;
                if came <= 0 {
                    continue;
                }
                line += 1;
                let (price, place) = (bar::price(item), if bar::has_cellar(item) { "Cellar" } else { bar::home(item) });
                writeln!(
                    self.files.deliveries,
                    "D{supplier} {day},{line},{day} 11:30,Supplier {supplier},Item {item:03},{came},{price}.50,{place}"
                )?;
                writeln!(
                    self.files.orders,
                    "{monday} S{supplier},{line},Supplier {supplier},Item {item:03},{came},{price}.50,received,\
                     {monday} 12:00,{day}"
                )?;
                let to = if bar::has_cellar(item) { &mut self.stock[item].cellar } else { &mut self.stock[item].home };
                *to += came;
            }
        }
        Ok(())
    }

    /// What is sold, lost, and goes without anybody writing it down.
    fn evening(&mut self, day: NaiveDate, lines: u64) -> std::io::Result<()> {
        let all = self.names.last().copied().unwrap_or_default();
        for n in 0..lines {
            if n % 3 == 0 {
                self.receipt += 1;
            }
            // From seven in the evening on, all before midnight, so that no clock change is in the way.
            let minute = n * 290 / lines;
            let (hour, minute) = (19 + minute / 60, minute % 60);
            let drawn = self.rng.random::<f64>() * all;
            let name = self.names.partition_point(|upto| *upto <= drawn).min(NAMES - 1);
            for part in 0..self.takes[name].len() {
                let (item, ml) = self.takes[name][part];
                let poured = ml + POUR * self.scatter();
                self.take(item, poured);
            }
            writeln!(
                self.files.sales,
                "R{},{},{day} {hour}:{minute:02},DRINK {name:03},1,9.76,",
                self.receipt,
                n % 3 + 1
            )?;
        }
        let spilt = self.rng.random_range(0..ITEMS);
        self.take(spilt, 30.0);
        writeln!(self.files.losses, "{day} 22:15,Item {spilt:03},30 ml,spill")?;
        if self.rng.random_ratio(1, 3) {
            let gone = self.rng.random_range(0..ITEMS);
            self.stock[gone].home = (self.stock[gone].home - 1).max(0);
        }
        if self.rng.random_ratio(1, 2) {
            let (item, ml) = (self.rng.random_range(0..ITEMS), self.rng.random_range(80.0..300.0));
            self.take(item, ml);
        }
        self.take(STEADY.0, STEADY.1 / 7.0);
        Ok(())
    }

    /// The rail is counted every night, on Sundays all of it.
    fn closing(&mut self, day: NaiveDate) -> std::io::Result<()> {
        let Some(next) = day.succ_opt() else { return Ok(()) };
        let full = day.weekday().num_days_from_monday() == 6;
        let name = if full { format!("{day} full") } else { format!("{day} rail") };
        for item in 0..if full { ITEMS } else { RAIL } {
            let Stock { home, cellar, open } = self.stock[item];
            let slip = i64::from(home > 0 && self.rng.random_ratio(1, 1_000));
            let tenths = (open / CONTAINER * 10.0 + READING * self.scatter()).round().clamp(1.0, 9.0);
            let open = if open > 0.0 { format!(".{tenths}") } else { String::new() };
            let (place, minute) = (bar::home(item), item / 20);
            writeln!(self.files.counts, "{name},{next} 04:{minute:02},{place},Item {item:03},{},{open}", home - slip)?;
            if full && bar::has_cellar(item) {
                writeln!(self.files.counts, "{name},{next} 04:{:02},Cellar,Item {item:03},{cellar},", 20 + minute)?;
            }
        }
        Ok(())
    }

    fn flush(mut self) -> std::io::Result<()> {
        let Files { sales, counts, deliveries, losses, transfers, batches, orders } = &mut self.files;
        [sales, counts, deliveries, losses, transfers, batches, orders].into_iter().try_for_each(Write::flush)
    }
}
