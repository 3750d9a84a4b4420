//! Any right folder survives load, dump and load; any wrong one leaves the book alone.
#![allow(clippy::unwrap_used, missing_docs)]

use proptest::prelude::*;
use std::collections::BTreeMap;
use std::path::Path;
use tantalus::desk::dump::dump;
use tantalus::desk::init::init_from;
use tantalus::desk::load::load;
use tantalus::desk::{DeskError, check, drinks, house, unwatched};
use tantalus::domain::venue::{CauseWord, Moment};
use tantalus::exchange::plain::Plain;
use tantalus::store::Store;
use tempfile::tempdir;

/// Anything that a name may hold, quotation marks and commas with it.
fn name() -> impl Strategy<Value = String> {
    "[A-Za-zÀ-ÿ0-9][A-Za-zÀ-ÿ0-9 '\"&(),./;#%=+@-]{0,12}".prop_map(|text| text.trim().to_owned())
}

/// A time that is not inside a clock change, in one of the forms that are read.
fn time() -> impl Strategy<Value = String> {
    (1_i64..28, 4_i64..24, 0_i64..60, 0_u8..4).prop_map(|(day, hour, minute, form)| match form {
        0 => format!("2026-11-{day:02} {hour:02}:{minute:02}:07"),
        1 => format!("2026-11-{day:02}T{hour:02}:{minute:02}:00+02:00"),
        2 => format!("2026-10-25T02:{minute:02}:00+0{}:00", 1 + day % 2),
        _ => format!("2026-11-{day:02} {hour:02}:{minute:02}"),
    })
}

fn money() -> impl Strategy<Value = String> {
    (0_i64..100_000).prop_map(|cents| format!("{}.{:02}", cents / 100, cents % 100))
}

/// A quantity in the units of a basis: 0 volume, 1 mass, 2 each.
fn quantity(basis: u8, n: u32) -> String {
    let unit = match (basis, n % 4) {
        (0, 0) => "ml",
        (0, 1) => "cl",
        (0, 2) => "fl oz",
        (0, _) => "l",
        (1, 0) => "g",
        (1, 1) => "kg",
        (1, _) => "lb",
        _ => "each",
    };
    format!("{}.{} {unit}", 1 + n % 900, n % 7)
}

/// A supplier's week in any of its forms.
fn schedule(n: u32) -> String {
    let one = |n: u32| {
        let order = ["Mon", "fri-TUE", "any", "Wednesday"][n as usize % 4];
        let comes = ["Wed", "1 day", "2 days", "60 days"][n as usize / 4 % 4];
        format!("{order} {:02}:{:02} > {comes}", n % 24, n % 60)
    };
    [String::new(), one(n), format!("{}; {}", one(n), one(n / 2))][n as usize % 3].clone()
}

/// A day in any of its forms, and the last one of a stretch or nothing.
fn special_day(n: u32, m: u32) -> (String, String) {
    let (date, other) =
        (format!("{:02}-{:02}", 1 + n % 12, 1 + n % 28), format!("{:02}-{:02}", 1 + m % 12, 1 + m % 28));
    match n % 7 {
        0 => (format!("2026-{date}"), String::new()),
        1 => (format!("2026-{date}"), format!("2026-12-{:02}", 28 + m % 4)),
        2 => (date, other),
        3 => ("02-29".to_owned(), String::new()),
        4 => (format!("easter-{}", 1 + n % 80), ["", "easter", "Easter+100"][m as usize % 3].to_owned()),
        5 => (format!("last Mon of {}", ["May", "feb", "DEC"][m as usize % 3]), String::new()),
        _ => (format!("{} Sun of Oct", 1 + m % 4), String::new()),
    }
}

fn written(rows: &[Vec<String>]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer.write_record(row).unwrap();
    }
    String::from_utf8(writer.into_inner().unwrap()).unwrap()
}

fn head(text: &str) -> Vec<String> {
    text.split(',').map(str::to_owned).collect()
}

/// The numbers that a folder is made from.
#[derive(Clone, Debug)]
struct Seeds {
    names: Vec<String>,
    /// Basis and a number for each item.
    items: Vec<(u8, u32)>,
    times: Vec<String>,
    money: Vec<String>,
    numbers: Vec<u32>,
}

fn seeds() -> impl Strategy<Value = Seeds> {
    (
        prop::collection::vec(name(), 12),
        prop::collection::vec((0_u8..3, 0_u32..10_000), 2..8),
        prop::collection::vec(time(), 30),
        prop::collection::vec(money(), 10),
        prop::collection::vec(0_u32..1_000, 40),
    )
        .prop_map(|(names, items, times, money, numbers)| Seeds { names, items, times, money, numbers })
}

/// A folder of right files.
fn files(seeds: &Seeds) -> BTreeMap<&'static str, String> {
    let named = |what: &str, n: usize| format!("{} {what}{n}", seeds.names[n % seeds.names.len()]);
    let number = |n: usize| seeds.numbers[n % seeds.numbers.len()];
    let money = |n: usize| seeds.money[n % seeds.money.len()].clone();
    let time = |n: usize| seeds.times[n % seeds.times.len()].clone();
    let item = |n: usize| named("i", n % seeds.items.len());
    let basis = |n: usize| seeds.items[n % seeds.items.len()].0;
    let place = |n: usize| named("p", n % 3);
    // Semicolons set the lines of an address apart.
    let line = |text: &str| text.replace(';', ":");
    let mut out = BTreeMap::new();
    let mut put = |file: &'static str, heads: &str, rows: Vec<Vec<String>>| {
        let all: Vec<Vec<String>> = std::iter::once(head(heads)).chain(rows).collect();
        out.insert(file, written(&all));
    };
    let text = |parts: &[&str]| parts.iter().map(|s| (*s).to_owned()).collect::<Vec<String>>();
    put(
        "venue.csv",
        "value,key",
        vec![
            text(&[&seeds.names[0], "name"]),
            text(&["EUR", "currency"]),
            text(&["Europe/Berlin", "time_zone"]),
            text(&["0.8 ml", "dash"]),
            text(&[&format!("{}; {}", line(&seeds.names[1]), line(&seeds.names[2])), "address"]),
            text(&[["PT", "us", ""][number(0) as usize % 3], "country"]),
            text(&[&seeds.names[3], "deliver_to"]),
            text(&[&format!("+{} 00", 100 + number(1)), "contact_phone"]),
            text(&[["jigger", "FREE", "whole"][number(2) as usize % 3], "poured_by"]),
            text(&[&format!("{}.{:03} ml", number(3) % 20, 1 + number(4) % 999), "jigger_spread"]),
            text(&[&format!("0.{:03} fl oz", 1 + number(5) % 676), "free_spread"]),
            text(&[&format!("{}.{:02}", 1 + number(6) % 29, number(7) % 100), "false_alarms"]),
            text(&[
                &format!(
                    "{}.{} %; {} 9{} %; juice 0.{}",
                    50 + number(7) % 50,
                    number(8) % 10,
                    ["other", "Wine"][number(9) as usize % 2],
                    number(9) % 10,
                    500 + number(10) % 500
                ),
                "service_level",
            ]),
            text(&[&format!("{}.{:02}", number(11) % 100, number(12) % 100), "holding_cost"]),
        ],
    );
    put("people.csv", "initials,role", vec![text(&["AB", "manager"]), text(&["CD", "counter"])]);
    put("places.csv", "walk,place", (0..3).map(|n| vec![(number(n) % 3).to_string(), place(n)]).collect());
    put(
        "suppliers.csv",
        "supplier,fee,country,address,vat_id,e_address,schedule",
        vec![
            vec![
                named("s", 0),
                money(0),
                "de".to_owned(),
                line(&named("a", 0)),
                format!("DE {:09}", number(2)),
                String::new(),
                schedule(number(4)),
            ],
            vec![
                named("s", 1),
                String::new(),
                String::new(),
                String::new(),
                String::new(),
                format!("9930:{}", number(3)),
                String::new(),
            ],
        ],
    );
    let days = (0..6).map(|n: usize| {
        let (day, until) = special_day(number(n + 13), number(n + 14));
        let mut row = vec![day, until, named("w", n / 2)];
        // Of the bar, a supplier that is closed, a van besides.
        let factor = ["1.6", "0", "Closed", "0.125", "20"][number(n + 16) as usize % 5].to_owned();
        row.extend(match number(n + 15) % 3 {
            0 => [factor, String::new(), String::new()],
            _ => [String::new(), named("s", n % 2), String::new()],
        });
        if number(n + 15) % 3 == 2 {
            (row[0], row[1]) = (format!("2026-12-{:02}", 10 + n), String::new());
            row[5] = format!("2026-12-{:02} {:02}:30", 1 + number(n + 16) % 10, number(n) % 24);
        }
        row
    });
    // The same day, name and supplier is the same row.
    let mut met = std::collections::HashSet::new();
    let days = days.filter(|row| met.insert((row[0].to_lowercase(), row[2].to_lowercase(), row[4].to_lowercase())));
    put("days.csv", "day,until,what,factor,supplier,order_by", days.collect());
    let stock = seeds.items.iter().enumerate().map(|(n, (basis, size))| {
        let by = ["tenths", "whole"][number(n) as usize % 2].to_owned();
        let par = if size % 2 == 0 { format!("{}.5", size % 50) } else { String::new() };
        let yields = if *basis == 2 && size % 3 == 0 { quantity((size % 2) as u8, size / 2) } else { String::new() };
        let sugar = ["", "0 g/l", "50 brix", "250.5 g/l"][*size as usize % 4].to_owned();
        let abv = if size % 5 == 0 { (size % 100).to_string() } else { String::new() };
        let poured = ["", "jigger", "free", "Whole"][number(n + 8) as usize % 4].to_owned();
        let par_from = ["", "hand", "Demand"][number(n + 9) as usize % 3].to_owned();
        vec![item(n), "other".to_owned(), quantity(*basis, *size), by, par, yields, sugar, abv, poured, par_from]
    });
    put("stock.csv", "item,kind,size,count_by,par,yields,sugar,abv,poured_by,par_from", stock.collect());
    put("shelves.csv", "item,place", (0..seeds.items.len()).map(|n| vec![item(n), place(n)]).collect());
    let offers = (0..seeds.items.len()).map(|n| {
        let mixed = ["", "Wines 6", "Côte  d’or 12"][number(n + 10) as usize % 3].to_owned();
        vec![named("s", n % 2), item(n), (1 + number(n) % 24).to_string(), money(n), "2026-10-01".to_owned(), mixed]
    });
    put("offers.csv", "supplier,item,pack,price,from,mixed", offers.collect());
    let versions = |n: usize| ["", "2026-11-05"][n % 2].to_owned();
    let drinks = (0..4).map(|n| {
        let (menu, method) = (["yes", "no"][n % 2].to_owned(), ["shake", "stir", "blend", ""][n].to_owned());
        let dilution = if n % 2 == 0 { String::new() } else { (number(n) % 301).to_string() };
        vec![named("d", n / 2), versions(n), money(n), menu, method, named("g", n % 3), dilution]
    });
    put("drinks.csv", "drink,from,price,menu,method,glass,dilution", drinks.collect());
    let glasses = (0..2).map(|n| vec![named("g", n), quantity(0, number(n)), String::new()]);
    put("glasses.csv", "glass,holds,ice", glasses.collect());
    let specs = (0..4).map(|n| {
        let after = ["", "yes", "no"][number(n) as usize % 3].to_owned();
        let waste = (number(n) % 101).to_string();
        vec![named("d", n / 2), versions(n), item(n), quantity(basis(n), number(n) % 9), waste, after]
    });
    put("specs.csv", "drink,from,ingredient,quantity,waste,after_ice", specs.collect());
    // Where water goes in, what comes out may be computed.
    let computed = basis(0) != 2 && number(3) % 2 == 0;
    let yields = if computed { String::new() } else { quantity(basis(0), 5) };
    let water = if computed { quantity(number(4) as u8 % 2, number(5)) } else { String::new() };
    let house = vec![vec![item(0), yields, item(1), quantity(basis(1), 6), water, seeds.names[3].clone()]];
    put("house.csv", "item,yields,ingredient,quantity,water,note", house);
    let batches = (0..3).map(|n| vec![time(n), item(0), quantity(basis(0), number(n)), "ab".to_owned()]);
    put("batches.csv", "at,item,made,by", batches.collect());
    let code = |n: usize| if number(n).is_multiple_of(3) { String::new() } else { number(n).to_string() };
    let pos = vec![
        vec![named("t", 0), named("d", 0), code(0), String::new()],
        vec![named("t", 1), String::new(), code(1), String::new()],
        vec![named("t", 2), String::new(), format!("A {}", number(2)), "open".to_owned()],
    ];
    put("pos.csv", "sold_as,drink,article_number,state", pos);
    // Three layouts, apart by the first head; the lines of two of them in turns, from the last column to the first.
    let layouts = (0..12).map(|n: usize| {
        let (layout, position) = if n < 8 { (n % 2, 4 - n / 2) } else { (2, n - 7) };
        let is = match position {
            1 => "name",
            2 => "quantity",
            _ => ["gross", "tax rate", "ignore", "business day"][number(n) as usize % 4],
        };
        let head = match position {
            1 => format!("{}{layout}", seeds.names[5]),
            _ => [seeds.names[n % 12].clone(), String::new()][number(n) as usize % 2].clone(),
        };
        let tax = if layout == 0 { String::new() } else { format!("{}.5", number(layout) % 100) };
        let (decimal, dates) = (["point", "comma"][layout % 2], ["year-month-day", "month-day-year"][layout % 2]);
        let rows = ["lines", "day totals"][number(layout) as usize % 2];
        let mut row = vec![named("l", layout), position.to_string(), head];
        row.extend(text(&[is, decimal, dates, rows, &tax]));
        row
    });
    put("layouts.csv", "layout,position,head,is,decimal,dates,rows,tax", layouts.collect());
    let codes = (0..6).map(|n: usize| {
        let sort = ["code ", "Name ", "GTIN "][n % 3];
        let code = if n % 3 == 2 { format!("952000040017{}", n / 3 * 7) } else { named("k", n) };
        let code = if code.ends_with('7') { "9520000110208".to_owned() } else { code };
        let unit = ["XBO", "c62", "", "by the crate"][number(n) as usize % 4].to_owned();
        let means = ["item", "deposit", "not-stock"][number(n + 6) as usize % 3];
        let (what, many) = match means {
            "item" => (item(n), [(1 + number(n)).to_string(), (1 + number(n + 1)).to_string()]),
            _ => (String::new(), [String::new(), String::new()]),
        };
        let [containers, units] = many;
        vec![named("s", n % 2), format!("{sort}{code}"), unit, means.to_owned(), what, containers, units]
    });
    put("supplier_codes.csv", "supplier,code,unit,means,item,containers,units", codes.collect());
    let known = (0..4).map(|n: usize| {
        let known = match n {
            0 => format!("vat DE {}", number(0)),
            1 => format!("id {}:{}", ["0088", "EM", ""][number(1) as usize % 3], named("k", 1)),
            n => format!("name {}", named("k", n)),
        };
        vec![known, named("s", n % 2)]
    });
    put("supplier_names.csv", "known_as,supplier", known.collect());
    let deliveries = (0..6).map(|n| {
        let containers = [number(n) as i64 + 1, -1][n % 2];
        let price = format!("{}.{}", number(n), 1 + number(n + 1) % 900_000);
        vec!["D 1".to_owned(), n.to_string(), time(n), named("s", 0), item(n), containers.to_string(), price]
    });
    put("deliveries.csv", "document,line,at,supplier,item,containers,unit_price", deliveries.collect());
    let losses = (0..5).map(|n| {
        let n = n / 2;
        vec![time(n), item(n), quantity(basis(n), number(n)), "spill".to_owned(), seeds.names[n].clone()]
    });
    put("losses.csv", "at,item,quantity,reason,note", losses.collect());
    let transfers = (0..2).map(|n| vec![time(n), item(n), "1.5".to_owned(), place(n), place(n + 1)]);
    put("transfers.csv", "at,item,containers,from_place,to_place", transfers.collect());
    let counts = (0..seeds.items.len()).map(|n| {
        let whole = number(n) as usize % 2 == 1;
        let open = if whole { String::new() } else { format!(".{} .{}", n % 10, number(n) % 10) };
        let state = if n % 3 == 1 { "open".to_owned() } else { String::new() };
        vec![named("c", n % 3), time(n), place(n), item(n), number(n).to_string(), open, state]
    });
    put("counts.csv", "count,at,place,item,full,open,state", counts.collect());
    // Of gaps at the counts that are closed, each once; the second of those is there where three items are.
    let closed = if seeds.items.len() > 2 { [0, 2] } else { [0, 0] };
    let explained = (0..seeds.items.len()).map(|n| {
        let cause = CauseWord::ALL[number(n) as usize % CauseWord::ALL.len()].to_string();
        let by = ["", "AB", "cd"][number(n + 1) as usize % 3].to_owned();
        let note = [String::new(), seeds.names[n].clone()][number(n + 2) as usize % 2].clone();
        vec![named("c", closed[n % 2]), item(n), cause, time(n), by, note]
    });
    put("explained.csv", "count,item,cause,at,by,note", explained.collect());
    let orders = (0..2).map(|n| {
        vec![
            named("o", 0),
            (n + 1).to_string(),
            named("s", 0),
            item(n * 2),
            "2".to_owned(),
            money(n),
            "draft".to_owned(),
        ]
    });
    put(
        "orders.csv",
        "order,line,supplier,item,packs,price,state",
        orders.take(if seeds.items.len() > 2 { 2 } else { 1 }).collect(),
    );
    let signed = |n: usize| if number(n) % 2 == 0 { money(n) } else { format!("-{}", money(n)) };
    let bills = (0..4).map(|n: usize| {
        let kind = ["invoice", "credit note", "corrected invoice", "other bill"][n];
        let issued = format!("2026-11-{:02}", 1 + number(n) % 28);
        let (payable, delivery) = [(signed(n + 4), String::new()), (String::new(), named("b", n))][n % 2].clone();
        let mut row = vec![named("s", 0), named("b", n / 2), kind.to_owned(), issued];
        row.extend([signed(n), signed(n + 1), signed(n + 2), signed(n + 3), payable, delivery, time(n)]);
        row[1] = format!("{}{}", row[1], ["", " X"][usize::from(n == 2)]);
        row
    });
    put("bills.csv", "supplier,number,kind,issued,goods,deposits,charges,other,payable,delivery,at", bills.collect());
    // Some stand there twice, and some of those are settled in one of two ways.
    let claims = (0..8).map(|n: usize| {
        let of = n / 3;
        let (at, by, how) = match number(n) % 3 {
            0 => (String::new(), String::new(), String::new()),
            1 => (time(n), "cd".to_owned(), String::new()),
            _ => (time(of), String::new(), named("how", of)),
        };
        let what = [item(of), String::new()][number(of) as usize % 2].clone();
        let because = ["short", "dearer", "not credited"][number(of + 1) as usize % 3].to_owned();
        let sum = format!("{}.01", number(of));
        let mut row = vec![named("s", of % 2), named("b", of), what, because, (1 + number(of)).to_string(), sum];
        row.extend([seeds.names[of].clone(), time(of), "AB".to_owned(), at, by, how]);
        row
    });
    put(
        "claims.csv",
        "supplier,document,item,because,containers,money,note,at,by,settled_at,settled_by,settled_note",
        claims.collect(),
    );
    let taken = (0..5).map(|n: usize| {
        let what = ["sales", "invoice", "set-aside"][number(n / 2) as usize % 3].to_owned();
        let modified = [time(n / 2), String::new(), "1980-01-01 00:00".to_owned()][number(n / 2) as usize % 3].clone();
        let digest = format!("{:064x}", u64::from(number(n / 2)) << 40);
        vec![time(n / 2), named("f", n / 2), digest, number(n / 2).to_string(), modified, what, n.to_string()]
    });
    put("taken.csv", "at,name,digest,size,modified,as,added", taken.collect());
    let sales = (0..20).map(|n| {
        let net = if n % 5 == 0 { format!("-{}", money(n)) } else { money(n) };
        let quantity = if n % 5 == 0 { "-1".to_owned() } else { format!("{}.25", n % 3) };
        vec![format!("R{}", n / 3), n.to_string(), time(n), named("t", n % 4), quantity, net]
    });
    put("sales.csv", "receipt,line,at,sold_as,quantity,net", sales.collect());
    out
}

fn write_all(folder: &Path, files: &BTreeMap<&'static str, String>) {
    for (name, text) in files {
        std::fs::write(folder.join(name), text).unwrap();
    }
}

/// Whatever is in a book, what its serves are can be reckoned, and no figure is nonsense.
fn reckoned(store: &Store) {
    let now = Moment(4_102_444_800_000);
    let view = drinks::view(store, now).unwrap();
    for line in view.lines(tantalus::domain::rows::Selection::All) {
        let Some(serve) = line.serve else { continue };
        let glass = serve.poured.glass;
        let figures = [glass.volume(), glass.strength(), glass.grams_per_litre(), glass.brix(), serve.poured.dilution];
        assert!(figures.iter().all(|figure| figure.is_finite() && *figure >= 0.0), "{serve:?}");
        assert!(glass.strength() <= 1.0 + 1e-9, "{serve:?}");
    }
    let view = house::view(store, now).unwrap();
    for line in &view.lines {
        if let Some(advice) = view.advice(line, 7) {
            assert!(
                advice.make.0 >= 0
                    && advice.usable.is_none_or(|usable| usable.0 >= 0)
                    && advice.demand.sd().is_finite(),
                "{advice:?}"
            );
        }
    }
}

fn dumped(store: &Store) -> BTreeMap<String, String> {
    let home = tempdir().unwrap();
    dump(store, home.path()).unwrap();
    Plain::ALL
        .iter()
        .map(|file| (file.name().to_owned(), std::fs::read_to_string(home.path().join(file.name())).unwrap()))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(32) })]

    #[test]
    fn a_right_folder_survives_load_dump_and_load(seeds in seeds()) {
        let home = tempdir().unwrap();
        let folder = home.path().join("plain");
        std::fs::create_dir(&folder).unwrap();
        write_all(&folder, &files(&seeds));
        let made = init_from(&home.path().join("one"), &folder, Moment(4_102_444_800_000), &mut unwatched);
        let (one, report) = match made {
            Ok(made) => made,
            Err(refused) => return Err(TestCaseError::fail(refused.to_string())),
        };
        for file in &report.files {
            prop_assert_eq!(file.added, file.read, "{:?}", file);
        }
        let first = dumped(&one);
        // What the book wrote makes the same book.
        let out = home.path().join("dump");
        dump(&one, &out).unwrap();
        let (two, _) = init_from(&home.path().join("two"), &out, Moment(4_102_444_800_000), &mut unwatched).unwrap();
        prop_assert_eq!(&dumped(&two), &first);
        // And nothing of it is added twice, whichever form it is in.
        for again in [&folder, &out] {
            let report = load(&one, again, Moment(4_102_444_800_000), &mut unwatched).unwrap();
            for file in &report.files {
                prop_assert_eq!((file.added, file.changed), (0, 0), "{:?}", file);
            }
            prop_assert_eq!(&dumped(&one), &first);
        }
        prop_assert!(check::check(&one).unwrap().is_empty());
        reckoned(&one);
    }

    /// Something in one file is hit: either it still reads, or the book stays as it was; it never stops with anything
    /// but the list of faults.
    #[test]
    fn a_damaged_folder_is_loaded_or_refused_as_a_whole(
        seeds in seeds(), file in 0_usize..27, at in 0.0_f64..1.0, byte in any::<u8>(), cut in any::<bool>(),
    ) {
        let home = tempdir().unwrap();
        let folder = home.path().join("plain");
        std::fs::create_dir(&folder).unwrap();
        let all = files(&seeds);
        write_all(&folder, &all);
        let (store, _) = init_from(&home.path().join("one"), &folder, Moment(4_102_444_800_000), &mut unwatched).unwrap();
        let before = dumped(&store);
        let (name, text) = all.iter().nth(file).unwrap();
        let mut bytes = text.clone().into_bytes();
        let at = (at * bytes.len() as f64) as usize;
        if cut {
            bytes.truncate(at);
        } else if let Some(hit) = bytes.get_mut(at) {
            *hit = byte;
        }
        std::fs::write(folder.join(name), bytes).unwrap();
        match load(&store, &folder, Moment(4_102_444_800_000), &mut unwatched) {
            Ok(_) => {
                prop_assert!(check::check(&store).unwrap().is_empty());
                reckoned(&store);
            }
            Err(DeskError::Faults(faults)) => {
                prop_assert!(!faults.is_empty());
                prop_assert!(faults.to_string().chars().all(|c| c == '\n' || !c.is_control()));
                prop_assert_eq!(dumped(&store), before);
            }
            Err(other) => return Err(TestCaseError::fail(other.to_string())),
        }
    }
}
