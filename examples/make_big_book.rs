//! Writes a folder of plain files with years of trade, for measuring: 400 items, 300 000 sales lines and 360 counts a
//! year. What it holds is plausible in size and shape only; the demo data hangs together, this does not.
//!
//! `cargo run --release --example make_big_book -- FOLDER [YEARS]`

use chrono::{Datelike, Days, NaiveDate};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

const ITEMS: usize = 400;
const DRINKS: usize = 120;
const RAIL: usize = 30;
/// Items that are poured; the others only stand there.
const POURED: usize = 240;

fn main() -> std::io::Result<()> {
    let mut args = std::env::args().skip(1);
    let folder = PathBuf::from(args.next().unwrap_or_else(|| "big-book".to_owned()));
    let years: u64 = args.next().and_then(|y| y.parse().ok()).unwrap_or(5);
    fs::create_dir_all(&folder)?;
    set_up(&folder)?;
    trade(&folder, years)
}

fn file(folder: &Path, name: &str, head: &str) -> std::io::Result<BufWriter<File>> {
    let mut out = BufWriter::new(File::create(folder.join(name))?);
    writeln!(out, "{head}")?;
    Ok(out)
}

fn item(n: usize) -> String {
    format!("Item {n:03}")
}

/// The place an item is poured from: the first thirty on the rail, the others on the back bar.
fn home(n: usize) -> &'static str {
    if n < RAIL { "Rail" } else { "Back bar" }
}

fn set_up(folder: &Path) -> std::io::Result<()> {
    let mut out = file(folder, "venue.csv", "key,value")?;
    writeln!(
        out,
        "name,The Big Book\ncurrency,EUR\ntime_zone,Europe/Lisbon\nday_starts,05:00\nprices_include_tax,yes"
    )?;
    writeln!(out, "show_volume_in,ml\nlanguage,en")?;
    let mut out = file(folder, "places.csv", "place,walk")?;
    writeln!(out, "Rail,1\nBack bar,2\nCellar,3")?;
    let mut out = file(folder, "suppliers.csv", "supplier,schedule,minimum,fee,free_from")?;
    for n in 0..4 {
        writeln!(out, "Supplier {n},Mon 14:00 > Wed; Thu 14:00 > Sat,150.00,12.00,400.00")?;
    }
    let mut stock = file(folder, "stock.csv", "item,kind,size,count_by,par")?;
    let mut shelves = file(folder, "shelves.csv", "place,item,position")?;
    let mut offers = file(folder, "offers.csv", "supplier,item,pack,price")?;
    for n in 0..ITEMS {
        writeln!(stock, "{},spirit,700 ml,tenths,{}", item(n), 2 + n % 5)?;
        writeln!(shelves, "{},{},{n}", home(n), item(n))?;
        if n % 4 == 0 {
            writeln!(shelves, "Cellar,{},{n}", item(n))?;
        }
        writeln!(offers, "Supplier {},{},6,{}.00", n % 4, item(n), 60 + n % 90)?;
    }
    let mut drinks = file(folder, "drinks.csv", "drink,price,tax,menu")?;
    let mut specs = file(folder, "specs.csv", "drink,ingredient,quantity")?;
    let mut pos = file(folder, "pos.csv", "sold_as,drink,portion")?;
    for n in 0..DRINKS {
        writeln!(drinks, "Drink {n:03},12.00,23,yes")?;
        for (part, ml) in [(n % POURED, 60), ((n * 7 + 1) % POURED, 30), ((n * 11 + 2) % POURED, 15)] {
            writeln!(specs, "Drink {n:03},{},{ml} ml", item(part))?;
        }
        writeln!(pos, "DRINK {n:03},Drink {n:03},1")?;
    }
    Ok(())
}

fn trade(folder: &Path, years: u64) -> std::io::Result<()> {
    let mut rng = ChaCha8Rng::seed_from_u64(20_261_125);
    let mut sales = file(folder, "sales.csv", "receipt,line,at,sold_as,quantity,net,kind")?;
    let mut counts = file(folder, "counts.csv", "count,at,place,item,full,open")?;
    let mut deliveries = file(folder, "deliveries.csv", "document,line,at,supplier,item,containers,unit_price,place")?;
    let mut losses = file(folder, "losses.csv", "at,item,quantity,reason")?;
    let Some(end) = NaiveDate::from_ymd_opt(2026, 11, 22) else { return Ok(()) };
    let nights = years * 365;
    let Some(first) = end.checked_sub_days(Days::new(nights)) else { return Ok(()) };
    let mut receipt = 0_u64;
    for night in 0..nights {
        let Some(day) = first.checked_add_days(Days::new(night)) else { break };
        let Some(next) = day.checked_add_days(Days::new(1)) else { break };
        let lines = 500 + (night % 7) * 107;
        for n in 0..lines {
            if n % 3 == 0 {
                receipt += 1;
            }
            // From seven in the evening on, all before midnight, so that no clock change is in the way.
            let minute = n * 290 / lines;
            let (hour, minute) = (19 + minute / 60, minute % 60);
            let drink = rng.random_range(0..DRINKS);
            writeln!(sales, "R{receipt},{},{day} {hour}:{minute:02},DRINK {drink:03},1,9.76,", n % 3 + 1)?;
        }
        let full = day.weekday().num_days_from_monday() == 6;
        let name = if full { format!("{day} full") } else { format!("{day} rail") };
        for n in 0..if full { ITEMS } else { RAIL } {
            let (sealed, tenths) = (rng.random_range(0..2), rng.random_range(1..10));
            writeln!(counts, "{name},{next} 04:{:02},{},{},{sealed},.{tenths}", n / 20, home(n), item(n))?;
            if full && n % 4 == 0 {
                writeln!(counts, "{name},{next} 04:{:02},Cellar,{},{},", n / 20, item(n), rng.random_range(1..9))?;
            }
        }
        if day.weekday().num_days_from_monday() == 2 {
            for n in 0..80 {
                let what = (n * 5 + night as usize) % ITEMS;
                writeln!(
                    deliveries,
                    "D{night},{},{day} 11:30,Supplier {},{},6,{}.50,Cellar",
                    n + 1,
                    what % 4,
                    item(what),
                    10 + what % 15
                )?;
            }
        }
        writeln!(losses, "{day} 22:15,{},30 ml,spill", item(rng.random_range(0..POURED)))?;
    }
    sales.flush()?;
    counts.flush()?;
    deliveries.flush()?;
    losses.flush()
}
