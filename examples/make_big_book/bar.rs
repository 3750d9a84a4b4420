//! What the bar is: places, items, who delivers them, drinks and names on the till.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

/// Items; of these so many go into mixed drinks, the others are poured neat.
pub(crate) const ITEMS: usize = 400;
const MIXED: usize = 240;
/// The rail has the first ones, and is counted every night.
pub(crate) const RAIL: usize = 30;
/// Mixed drinks. Behind them on the till come those of one item.
const DRINKS: usize = 120;
/// Names on the till.
pub(crate) const NAMES: usize = DRINKS + ITEMS - MIXED;
pub(crate) const SUPPLIERS: usize = 6;
/// What is made here, each of the item that follows eight further on.
const MADE: std::ops::Range<usize> = 200..208;
/// A container, and a batch of what is made here.
pub(crate) const CONTAINER: f64 = 700.0;
pub(crate) const BATCH: i64 = 4;

pub(crate) fn file(folder: &Path, name: &str, head: &str) -> std::io::Result<BufWriter<File>> {
    let mut out = BufWriter::with_capacity(1 << 20, File::create(folder.join(name))?);
    writeln!(out, "{head}")?;
    Ok(out)
}

/// The place an item is poured from.
pub(crate) fn home(n: usize) -> &'static str {
    if n < RAIL { "Rail" } else { "Back bar" }
}

/// Whether an item also stands sealed in the cellar, from where it is carried up; what is made here and of what does not.
pub(crate) fn has_cellar(n: usize) -> bool {
    n < RAIL || n.is_multiple_of(4) && !(MADE.start..made_of(MADE.end)).contains(&n)
}

pub(crate) fn is_made(n: usize) -> bool {
    MADE.contains(&n)
}

/// What an item that is made here is made of, millilitre by millilitre.
pub(crate) fn made_of(n: usize) -> usize {
    n + MADE.len()
}

pub(crate) fn supplier(n: usize) -> usize {
    n % SUPPLIERS
}

/// What a name on the till takes, in millilitres.
pub(crate) fn takes(name: usize) -> Vec<(usize, f64)> {
    if name >= DRINKS {
        return vec![(MIXED + name - DRINKS, 40.0)];
    }
    vec![(name % MIXED, 60.0), ((name * 7 + 1) % MIXED, 30.0), ((name * 11 + 2) % MIXED, 15.0)]
}

/// How often a name is rung beside the others: few names make most of the trade.
pub(crate) fn weight(name: usize) -> f64 {
    let of_one = if name < DRINKS { 1.0 } else { 0.1 };
    of_one / (1.0 + (name * 37 % NAMES) as f64).powf(0.7)
}

/// What one container costs.
pub(crate) fn price(n: usize) -> usize {
    10 + n * 7 % 23
}

pub(crate) fn write(folder: &Path) -> std::io::Result<()> {
    let mut out = file(folder, "venue.csv", "key,value")?;
    writeln!(out, "name,The Big Book\ncurrency,EUR\ntime_zone,Europe/Lisbon\nday_starts,05:00")?;
    writeln!(out, "prices_include_tax,yes\nshow_volume_in,ml\nlanguage,en")?;
    let mut out = file(folder, "places.csv", "place,walk")?;
    writeln!(out, "Rail,1\nBack bar,2\nCellar,3")?;
    let mut out = file(folder, "suppliers.csv", "supplier,schedule,minimum,fee,free_from")?;
    for n in 0..SUPPLIERS {
        writeln!(out, "Supplier {n},Mon 14:00 > Wed; Thu 14:00 > Sat,150.00,12.00,400.00")?;
    }
    let mut stock = file(folder, "stock.csv", "item,kind,size,count_by,par")?;
    let mut shelves = file(folder, "shelves.csv", "place,item,position")?;
    let mut offers = file(folder, "offers.csv", "supplier,item,pack,price")?;
    let mut house = file(folder, "house.csv", "item,yields,ingredient,quantity")?;
    for n in 0..ITEMS {
        let kind = if is_made(n) { "house-made" } else { "spirit" };
        // A third of the pars is set by hand; the others are reckoned.
        let par = if n % 3 == 0 { (2 + n % 5).to_string() } else { String::new() };
        writeln!(stock, "Item {n:03},{kind},700 ml,tenths,{par}")?;
        writeln!(shelves, "{},Item {n:03},{n}", home(n))?;
        if has_cellar(n) {
            writeln!(shelves, "Cellar,Item {n:03},{n}")?;
        }
        if is_made(n) {
            let ml = BATCH * CONTAINER as i64;
            writeln!(house, "Item {n:03},{ml} ml,Item {:03},{ml} ml", made_of(n))?;
        } else {
            for (other, dearer) in [(supplier(n), 0), ((n + 1) % SUPPLIERS, 1)] {
                writeln!(offers, "Supplier {other},Item {n:03},1,{}.50", price(n) + dearer)?;
            }
        }
    }
    let mut drinks = file(folder, "drinks.csv", "drink,price,tax,menu")?;
    let mut specs = file(folder, "specs.csv", "drink,ingredient,quantity")?;
    let mut pos = file(folder, "pos.csv", "sold_as,drink,portion")?;
    for name in 0..NAMES {
        writeln!(drinks, "Drink {name:03},12.00,23,yes")?;
        for (part, ml) in takes(name) {
            writeln!(specs, "Drink {name:03},Item {part:03},{ml} ml")?;
        }
        writeln!(pos, "DRINK {name:03},Drink {name:03},1")?;
    }
    Ok(())
}
