//! The commands as a shell sees them: the real program on a book in a temporary folder.

#![allow(clippy::unwrap_used)]

#[path = "support/forms.rs"]
mod forms;

use forms::{paths, told};
use serde_json::Value;
use std::collections::{BTreeSet, HashMap};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tantalus::domain::gauge::Entry;
use tantalus::domain::ledger::{Batch, CountLine, Delivery, Loss, Order, OrderLine, Sale, Transfer};
use tantalus::domain::measure::{Amount, Basis, Money, Price};
use tantalus::domain::venue::*;
use tantalus::store::sales::{SaleLine, SaleWriter};
use tantalus::store::{Connection, Store, StoreError, counts, journal, orders, setup};

/// A Monday noon, two hours before the supplier's deadline.
const NOW: &str = "2026-11-23T12:00:00+01:00";
const HOSTILE: &str = "Evil\u{1b}]0;owned\u{7}\u{1b}[31m\u{9b}2J\u{202e} gin";

fn rule() -> DayRule {
    DayRule { zone: chrono_tz::Europe::Berlin, starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() }
}

fn at(text: &str) -> Moment {
    rule().parse(text).unwrap()
}

fn ml(value: i64) -> Amount {
    Amount(value * 1_000)
}

fn item(name: &str, kind: Kind, size: i64, par: Option<i64>) -> Item {
    let plain = Item::new(ItemId(0), name, kind, Basis::Volume, ml(size), CountBy::Tenths);
    Item { par: par.map(|par| Containers(par * 1_000)), ..plain }
}

fn part(item: ItemId, written: &str) -> Ingredient {
    Ingredient::new(item, written, Amount::ZERO)
}

/// The bar of these tests. By hand:
///
/// Rum: opening 2.4 × 700 = 1 680 ml, closing 1.1 × 700 = 770, used 910; sold 10 × 60 = 600; gap 310 ml ± 28.577
/// (700 × 0.05/√3 × √2), 34.066 % of used, at 102.00 for six of 700 ml: 7.53.
///
/// Gin: opening 1 050 + 4 200 = 5 250, delivered 6 × 700 = 4 200, spilled 50, a batch of cordial took 500, closing
/// 1 540 + 7 000 = 8 540; used 360; sold 7 × 50 = 350; gap 10 ml, at 16.00 for 700 ml: 0.23.
///
/// Cordial: 200 + 1 000 made − 900 = 300 used, none sold. Vodka: the cellar left out at the closing, 350 + 700 carried
/// up − 490 = 560 used. Lime: 1 000 − 900 = 100 used; 4 sours of 30 ml mix of which half is lime: 60 sold.
fn fill(conn: &Connection) -> Result<(), StoreError> {
    setup::put_venue(
        conn,
        &Venue { prices_include_tax: true, ..Venue::new("Any bar", "EUR".parse().unwrap(), rule()) },
    )?;
    let rail = setup::put_place(conn, "Rail", 1)?;
    let cellar = setup::put_place(conn, "Cellar", 2)?;
    let supplier = |name: &str| Supplier {
        id: SupplierId(0),
        name: name.to_owned(),
        email: None,
        customer_no: None,
        calendar: OrderCalendar::parse("Mon 14:00 > Wed").unwrap(),
        minimum: Some(Money(20_000)),
        fee: Some(Money(900)),
        free_from: None,
        party: Default::default(),
    };
    let van = setup::put_supplier(conn, &supplier("Quaymoss"))?;
    setup::put_supplier(conn, &supplier("Idle & Sons"))?;

    let rum = setup::put_item(conn, &item("Harbour rum", Kind::Spirit, 700, Some(6)))?;
    let gin = setup::put_item(conn, &item("Dry gin", Kind::Spirit, 700, Some(14)))?;
    let vodka = setup::put_item(conn, &item("Vodka", Kind::Spirit, 700, Some(20)))?;
    let cordial = setup::put_item(conn, &item("Gin cordial", Kind::HouseMade, 1_000, Some(2)))?;
    let mix = setup::put_item(conn, &item("Sour mix", Kind::HouseMade, 1_000, None))?;
    let lime = setup::put_item(conn, &item("Lime juice", Kind::Juice, 1_000, None))?;
    let bitters = setup::put_item(conn, &item("Bitters", Kind::Other, 200, None))?;
    let sherry = setup::put_item(conn, &item("Sherry", Kind::Wine, 750, None))?;
    let evil = setup::put_item(conn, &item(HOSTILE, Kind::Spirit, 700, None))?;
    setup::put_item(conn, &item("Absent rum", Kind::Spirit, 700, Some(2)))?;
    let spots =
        [(rail, rum), (rail, gin), (cellar, gin), (rail, vodka), (cellar, vodka), (rail, cordial), (rail, lime)];
    for (position, (place, item)) in (1..).zip(spots) {
        setup::put_shelf(conn, &Shelf { place, item, position, par: None })?;
    }
    for (item, pack, price) in [(rum, 6, 10_200), (gin, 1, 1_500), (lime, 1, 500)] {
        let code = Some(format!("Q{}", item.0));
        setup::put_offer(
            conn,
            &Offer {
                supplier: van,
                item,
                code,
                pack,
                price: Money(price),
                deposit: None,
                from: None,
                mixed: None,
                until: None,
            },
        )?;
    }
    let recipe = |item, written: &str| Recipe {
        written: Some("1000 ml".to_owned()),
        water: None,
        yields: Amount::ZERO,
        takes: vec![part(item, written)],
    };
    setup::put_recipe(conn, cordial, None, &recipe(gin, "500 ml"))?;
    setup::put_recipe(conn, mix, None, &recipe(lime, "500 ml"))?;
    let mut tills = HashMap::new();
    for (name, takes) in [("RUM", part(rum, "60 ml")), ("GIN", part(gin, "50 ml")), ("SOUR", part(mix, "30 ml"))] {
        let drink = setup::put_drink(conn, &format!("{name} drink"))?;
        setup::put_spec(conn, drink, None, &[takes])?;
        tills.insert(name, setup::put_till(conn, name, TillMeaning::Drink { drink, portion: 1_000 })?);
    }
    tills.insert("PROMO", setup::put_till(conn, "PROMO", TillMeaning::Unknown)?);

    let count = |name: &str, begun: &str, lines: &[(PlaceId, ItemId, &str)]| {
        let id = counts::begin(conn, name, at(begun), false, Some("AB"), &[rail, cellar])?;
        for (place, item, typed) in lines {
            let entry = Entry::parse(typed).unwrap();
            let method = entry.method(CountBy::Tenths);
            let by = Some("AB".to_owned());
            counts::put_line(
                conn,
                &CountLine { count: id, place: *place, item: *item, at: at(begun), entry, method, by },
            )?;
        }
        counts::close(conn, id, Moment(at(begun).0 + 600_000))
    };
    count(
        "first",
        "2026-11-16 02:00",
        &[
            (rail, rum, "2.4"),
            (rail, gin, "1.5"),
            (cellar, gin, "6"),
            (rail, vodka, ".5"),
            (cellar, vodka, "3"),
            (rail, cordial, ".2"),
            (rail, lime, "1"),
            (rail, bitters, ".5"),
            (rail, sherry, ".5"),
            (cellar, sherry, ".5"),
            (rail, evil, "1"),
        ],
    )?;
    count(
        "second",
        "2026-11-23 02:00",
        &[
            (rail, rum, "1.1"),
            (rail, gin, "2.2"),
            (cellar, gin, "10"),
            (rail, vodka, ".7"),
            (rail, cordial, ".9"),
            (rail, lime, ".9"),
            (rail, sherry, ".4"),
            (rail, evil, "1"),
        ],
    )?;
    let (when, by) = (at("2026-11-18 11:00"), Some("AB"));
    let day = rule().day_of(when);
    let name = |text: &str| Some(text.to_owned());
    let delivery = Delivery {
        seq: Seq(0),
        document: "D-77".to_owned(),
        line: 1,
        at: when,
        supplier: van,
        item: gin,
        containers: 6,
        unit_price: Price(16_000_000),
        place: Some(cellar),
        deposit: None,
    };
    journal::add_delivery(conn, &delivery, by, when, day)?;
    let loss = Loss {
        seq: Seq(0),
        at: when,
        item: gin,
        amount: ml(50),
        reason: Reason::Spill,
        place: Some(rail),
        by: name("AB"),
        note: name("elbow"),
    };
    journal::add_loss(conn, &loss, by, when, day)?;
    for (item, containers) in [(gin, 2_000), (vodka, 1_000)] {
        let containers = Containers(containers);
        let transfer = Transfer { seq: Seq(0), at: when, item, containers, from: cellar, to: rail, by: name("AB") };
        journal::add_transfer(conn, &transfer, by, when, day)?;
    }
    let batch = Batch { seq: Seq(0), at: when, item: cordial, made: ml(1_000), by: name("AB"), note: None };
    journal::add_batch(conn, &batch, by, when, day)?;
    let mut writer = SaleWriter::new(conn, None)?;
    for (line, (till, many)) in (1..).zip([("RUM", 10), ("GIN", 7), ("SOUR", 4), ("PROMO", 3)]) {
        let sale = Sale {
            at: at("2026-11-20 21:00"),
            till: tills[till],
            quantity: many * 1_000,
            net: Money(1_000 * many),
            kind: SaleKind::Sale,
        };
        writer.put(&SaleLine { receipt: "R1", line, sale })?;
    }
    let sent = Order {
        id: OrderId(0),
        name: "Friday's".to_owned(),
        supplier: van,
        state: OrderState::Sent,
        placed: Some(at("2026-11-20 12:00")),
        expected: parse_day("2026-11-24").ok(),
        lines: vec![OrderLine { line: 1, item: lime, packs: 2, pack: 1, price: Money(500) }],
    };
    orders::create(conn, &sent).map(|_| ())
}

struct Bar {
    folder: tempfile::TempDir,
}

impl Bar {
    fn new() -> Bar {
        let bar = Bar { folder: tempfile::tempdir().unwrap() };
        let store = Store::create(&bar.book()).unwrap();
        store.write((Deed::Loaded, Moment(0)), fill).unwrap();
        bar
    }

    fn empty() -> Bar {
        Bar { folder: tempfile::tempdir().unwrap() }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn book(&self) -> PathBuf {
        self.path().join("bar.tantalus")
    }

    fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
        command.args(args).current_dir(self.path());
        command.env("TANTALUS_BOOK", self.book()).env("TANTALUS_NOW", NOW).env_remove("TANTALUS_BY");
        command.env("HOME", self.path()).env_remove("XDG_DATA_HOME");
        command
    }

    fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }

    /// The output of a command that must succeed.
    fn says(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert_eq!(output.status.code(), Some(0), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    fn json(&self, args: &[&str]) -> Value {
        serde_json::from_str(&self.says(args)).unwrap()
    }

    /// The reason of a command that must be refused.
    fn refuses(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert_eq!(output.status.code(), Some(1), "{args:?}");
        assert!(output.stdout.is_empty(), "{args:?}");
        String::from_utf8(output.stderr).unwrap()
    }
}

fn row<'a>(list: &'a Value, item: &str) -> &'a Value {
    list.as_array().unwrap().iter().find(|row| row["item"] == item).unwrap_or_else(|| panic!("no {item} in {list}"))
}

fn euro(minor: i64, text: &str) -> Value {
    serde_json::json!({ "minor": minor, "currency": "EUR", "text": text })
}

#[test]
fn the_variance_is_what_the_pencil_says() {
    let bar = Bar::new();
    let all = bar.json(&["variance", "--json"]);
    assert_eq!((&all["opening"]["name"], &all["closing"]["name"]), (&"first".into(), &"second".into()));
    assert_eq!(all["closing"]["begun"], "2026-11-23T02:00:00+01:00");
    let rum = row(&all["rows"], "Harbour rum");
    for (field, want) in [
        ("opening", 1_680_000),
        ("closing", 770_000),
        ("used", 910_000),
        ("sold", 600_000),
        ("gap", 310_000),
        // A reading at .4 and one at .1, one that was opened, and ten pours: √(20.207² + 30.311² + 7.653² + 10 × 1.5²).
        ("u_gap", 37_525),
        ("gap_containers_milli", 443),
        ("size", 700_000),
    ] {
        assert_eq!(rum[field], want, "{field}");
    }
    assert_eq!(rum["percent_of_used"], 34.066);
    assert_eq!(rum["beyond_exactness"], true);
    assert_eq!(rum["cost"], euro(753, "7.53"));
    assert_eq!((&rum["unit"], &rum["place"], &rum["kind"]), (&"ul".into(), &"Rail".into(), &"spirit".into()));
    let gin = row(&all["rows"], "Dry gin");
    let figures = ["opening", "delivered", "lost", "batched", "closing", "used", "sold", "gap"].map(|f| &gin[f]);
    assert_eq!(figures, [5_250_000, 4_200_000, 50_000, 500_000, 8_540_000, 360_000, 350_000, 10_000]);
    assert_eq!((&gin["beyond_exactness"], &gin["cost"]), (&false.into(), &euro(23, "0.23")));
    let vodka = row(&all["rows"], "Vodka");
    assert_eq!((&vodka["moved"], &vodka["gap"], &vodka["cost"]), (&700_000.into(), &560_000.into(), &Value::Null));
    assert_eq!(vodka["stores_left_out"], serde_json::json!(["Cellar"]));
    let lime = row(&all["rows"], "Lime juice");
    assert_eq!((&lime["used"], &lime["sold"]), (&100_000.into(), &60_000.into()));
    assert_eq!(all["taken_from_ingredients"], serde_json::json!(["Sour mix"]));
    assert_eq!(row(&all["untold"], "Bitters")["because"], "not-in-closing");
    assert_eq!(row(&all["untold"], "Sherry")["places"], serde_json::json!(["Cellar"]));
    assert_eq!(
        all["unmapped"],
        serde_json::json!({ "lines": 1, "quantity_milli": 3_000, "net": euro(3_000, "30.00") })
    );
    assert_eq!(all["net_sales"], euro(24_000, "240.00"));
}

#[test]
fn the_variance_for_people() {
    let bar = Bar::new();
    let short = bar.says(&["variance"]);
    for said in [
        "look into it  Harbour rum",
        "Look into 3 of 6 lines, 10.96 EUR at stake; 3 within what the counts can tell",
        "of those to look into, 5.0 % may be nothing",
        "no accusation",
    ] {
        assert!(short.contains(said), "{said} is not in\n{short}");
    }
    assert!(!short.contains("Dry gin"), "what is within exactness is only counted\n{short}");
    let text = bar.says(&["variance", "--all"]);
    let line = |name: &str| {
        let line = text.lines().find(|l| l.starts_with(name)).unwrap_or_else(|| panic!("no {name} in\n{text}"));
        line.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert_eq!(line("Harbour rum"), "Harbour rum ml 1680 0 0 770 910 600 310 38 0.4 7.53 34.1 look into it");
    assert_eq!(
        line("Dry gin"),
        "Dry gin ml 5250 4200 550 8540 360 350 10 30 0.0 0.23 2.8 within the count's exactness"
    );
    for said in [
        "From “first” (2026-11-16 02:00) to “second” (2026-11-23 02:00)",
        "No price is known of:",
        "Vodka: Cellar not counted both times",
        "taken from the ingredients: Sour mix.",
        "Bitters: nothing can be told, it was not counted the second time.",
        "Sherry: nothing can be told, it is poured in Cellar too",
        "Till names without a meaning: 3 rung in 1 line, 30.00 EUR net",
    ] {
        assert!(text.contains(said), "{said} is not in\n{text}");
    }
    let kinds = bar.json(&["variance", "--by-kind", "--json"]);
    assert_eq!(kinds["grouped_by"], "kind");
    let spirits = &kinds["groups"][0];
    assert_eq!((&spirits["name"], &spirits["items"]), (&"spirit".into(), &4.into()));
    assert_eq!(spirits["gap_ul"], 310_000 + 10_000 + 560_000);
    assert_eq!((&spirits["cost"], &spirits["without_cost"]), (&euro(776, "7.76"), &2.into()));
    assert!(bar.says(&["variance", "--by-place"]).contains("Rail"));
    // Many periods, a line each: of one item, and of all. There is only one.
    let past = bar.json(&["variance", "--periods", "3", "--item", "harbour rum", "--json"]);
    let names = [&past["item"], &past["unit"], &past["periods"][0]["opening"]["name"]];
    assert_eq!(names, ["Harbour rum", "ul", "first"]);
    assert_eq!(past["periods"].as_array().map(Vec::len), Some(1));
    let period = &past["periods"][0];
    let figures = ["items", "used", "sold", "gap", "u_gap"].map(|figure| &period[figure]);
    assert_eq!(figures, [1, 910_000, 600_000, 310_000, 37_525]);
    assert_eq!((&period["percent_of_used"], &period["cost"]), (&34.066.into(), &euro(753, "7.53")));
    let past = bar.json(&["variance", "--periods", "3", "--json"]);
    let groups = kinds["groups"].as_array().unwrap();
    let sum = |figure: &str| groups.iter().map(|group| group[figure].as_i64().unwrap()).sum::<i64>();
    let period = &past["periods"][0];
    assert_eq!(["used", "sold", "gap"].map(|f| period[f].as_i64().unwrap()), ["used_ul", "sold_ul", "gap_ul"].map(sum));
    assert_eq!(period["cost"], kinds["cost"]);
    let line = |text: &str| text.lines().find(|l| l.starts_with("second")).unwrap_or_default().to_owned();
    let said = line(&bar.says(&["variance", "--periods", "3", "--item", "harbour rum"]));
    assert_eq!(
        said.split_whitespace().collect::<Vec<_>>(),
        ["second", "2026-11-15", "1", "910", "600", "310", "38", "34.1", "7.53", "0"]
    );
    // The counts can be named, and not the wrong way round.
    assert_eq!(bar.says(&["variance", "--all", "--from", "FIRST", "--to", "second"]), text);
    assert!(bar.refuses(&["variance", "--from", "second", "--to", "first"]).contains("was not counted before"));
}

/// (812 − 512) g ÷ 0.94698 g/ml = 316.8 ml: density 948.05 kg/m³ in vacuum (OIML R 22, Table, 40 % vol at 20 °C), in air
/// 948.05 × (1 − 1.2/948.05) ÷ (1 − 1.2/8 000) = 946.99. At 5 °C 957.62 kg/m³ (the same formula): 0.9900 of the room.
#[test]
fn a_container_is_gauged_without_a_book() {
    let bar = Bar::empty();
    let gauge = |line: &str| -> Vec<String> {
        std::iter::once("gauge").chain(line.split(' ')).map(|word| word.replace('_', " ")).collect()
    };
    let json = |line: &str| {
        let words = gauge(&format!("{line} --json"));
        bar.json(&words.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let refused = |line: &str| {
        let words = gauge(line);
        bar.refuses(&words.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let near = |value: &Value, want: f64, within: f64| {
        let found = value.as_f64().unwrap();
        assert!((found - want).abs() <= within, "{found}, not {want}");
    };
    let weighed = json("812g --size 700ml --abv 40 --empty 512g --temperature 5");
    near(&weighed["reading"]["amount"], 316_800.0, 60.0);
    near(&weighed["reading"]["at_temperature"], 316_800.0 * 0.9900, 100.0);
    near(&weighed["density_g_per_l"], 946.99, 0.01);
    // Each reading by what it is: a sealed one and a weight are of the liquid at 20 °C, a tenth is of the room it takes.
    let mixed = json("1.4 812g --size 700ml --abv 40 --empty 512g --temperature 5");
    near(&mixed["reading"]["amount"], 700_000.0 + 316_800.0 + 280_000.0 / 0.9900, 150.0);
    near(&mixed["reading"]["at_temperature"], (700_000.0 + 316_800.0) * 0.9900 + 280_000.0, 250.0);
    assert_eq!(weighed["density_from"], "from strength");
    // One empty one is known, and one differs from another by 1 %: √2 × 5.12 g ÷ 0.947 g/ml = 7.65 ml.
    near(&weighed["reading"]["u"], 7_650.0, 20.0);
    // By proportion of full and empty: half way between 500 g and 1 166 g.
    near(&json("833g --size 700ml --empty 500g --full 1166g")["reading"]["amount"], 350_000.0, 1.0);
    // A straight jug by filling: half way between two heights is half way between two volumes.
    let jug = "--size 1l --filling 100mm=500ml --filling 200mm=1l";
    near(&json(&format!("150mm {jug}"))["reading"]["amount"], 750_000.0, 300.0);
    near(&json(&format!(".5 {jug}"))["reading"]["amount"], 500_000.0, 300.0);
    assert_eq!(json("--size 700ml --shape square")["heights"].as_array().unwrap().len(), 11);
    let two = json("2.45 --size 700ml")["reading"].clone();
    assert_eq!((&two["amount"], &two["read"]), (&1_715_000.into(), &"2.45".into()));
    let says = bar.says(&["gauge", "812", "g", "--size", "70cl", "--abv", "40", "--empty", "512g"]);
    assert!(says.contains("812g is 317 ± 8 ml at 20 °C"), "{says}");
    for (line, why) in [
        ("1300g --size 700ml --abv 40 --empty 512g", "heavier than a full container"),
        ("400g --size 700ml --abv 40 --empty 512g", "lighter than an empty container"),
        ("812g --size 700ml", "no empty weight"),
        ("812g --size 700ml --empty 512g", "the density"),
        ("143mm --size 700ml", "the shape of the container"),
        ("300mm --size 700ml --shape round", "taller than the container"),
        (".11 --size 700ml", "more than the container holds"),
        ("half --size 700ml", "expected tenths"),
        ("--size 700ml --filling 40mm=100ml --filling 90mm=90ml", "no container"),
        ("--size 700ml --empty 500g --full 600g", "half of what water weighs"),
    ] {
        assert!(refused(line).contains(why), "{line}: {}", refused(line));
    }
    let doubtful = json("490g --size 700ml --abv 40 --empty 512g");
    assert!(doubtful["reading"]["doubt"].as_str().unwrap().contains("below the empty weight"), "{doubtful}");
    for wrong in ["--size 700g", "--size 0ml", "812g", "--size 700ml --sugar 99_brix", "--size 700ml --temperature 60"]
    {
        let words = gauge(wrong);
        assert_eq!(bar.run(&words.iter().map(String::as_str).collect::<Vec<_>>()).status.code(), Some(2), "{wrong}");
    }
}

/// What the book knows of an item is used, the counter's eye too.
#[test]
fn an_item_of_the_book_is_gauged_with_what_is_known_of_it() {
    let bar = Bar::new();
    let files = [
        ("people.csv", "initials,role\nOM,counter\n"),
        ("stock.csv", "item,kind,size,abv,empty_weight,profile\nHarbour rum,spirit,700 ml,40,500 g,dumpy\n"),
        ("venue.csv", "key,value\ntenths_of,volume\n"),
    ];
    let folder = bar.path().join("more");
    std::fs::create_dir_all(&folder).unwrap();
    for (name, text) in files {
        std::fs::write(folder.join(name), text).unwrap();
    }
    // Twelve times a bottle that holds 350 ml by its weight was read as six tenths by OM: one tenth too many.
    let line = |n: u32| format!("2026-11-{:02} 02:00,Harbour rum,opened,831g,.6,OM\n", n + 1);
    let lines: String = (0..12).map(line).collect();
    std::fs::write(folder.join("weighings.csv"), format!("at,item,state,weight,seen,by\n{lines}")).unwrap();
    bar.says(&["load", folder.to_str().unwrap()]);
    let amount = |args: &[&str]| bar.json(args)["reading"]["amount"].as_f64().unwrap() / 1_000.0;
    let plain = amount(&["gauge", ".6", "--item", "Harbour", "--json"]);
    assert_eq!(plain, 420.0);
    let own = amount(&["gauge", ".6", "--item", "Harbour", "--by", "OM", "--json"]);
    assert!((350.0..365.0).contains(&own), "{own}");
    assert!(bar.refuses(&["gauge", ".6", "--item", "Nothing"]).contains("no item is called"));
    for option in [&["--tenths-of-volume"][..], &["--division", "5g"], &["--square"]] {
        let words = [&["gauge", ".6", "--item", "Harbour"], option].concat();
        assert_eq!(bar.run(&words).status.code(), Some(2), "{option:?}");
    }
    // What is not a liquid has no grams of a litre.
    bar.says(&["load", limes(&bar).to_str().unwrap()]);
    let limes = bar.json(&["gauge", "2500g", "--item", "Net of limes", "--json"]);
    assert_eq!((&limes["reading"]["amount"], &limes["density_g_per_l"]), (&20_000.into(), &Value::Null));
    let says = bar.says(&["gauge", "2500g", "--item", "Net of limes"]);
    assert!(says.contains("A piece weighs 100.00 ±") && !says.contains("°C"), "{says}");
}

/// A folder with forty limes in a net that weighs half a kilogram.
fn limes(bar: &Bar) -> std::path::PathBuf {
    let folder = bar.path().join("limes");
    std::fs::create_dir_all(&folder).unwrap();
    let line = "item,kind,size,empty_weight,full_weight\nNet of limes,food,40 each,500 g,4500 g\n";
    std::fs::write(folder.join("stock.csv"), line).unwrap();
    folder
}

#[test]
fn one_item_is_shown_as_an_addition() {
    let bar = Bar::new();
    let text = bar.says(&["variance", "--item", "dry"]);
    let lines: Vec<String> = text.lines().map(|l| l.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    for want in [
        "Dry gin, in ml",
        "opening 5250",
        "Rail: 1.5, 2026-11-16 02:00 1050",
        "+ delivered 4200",
        "6 × Quaymoss, D-77, 2026-11-18 11:00, Cellar 4200",
        "− recorded losses 50",
        "spill, 2026-11-18 11:00, Rail, elbow 50",
        "− taken by batches 500",
        "1000 ml of Gin cordial, 2026-11-18 11:00",
        "− closing 8540",
        "= used 360",
        "− sold 350",
        "7 × GIN (GIN drink) 350",
        "= gap ± 30 (u) 10",
    ] {
        assert!(lines.iter().any(|l| l == want), "{want} is not in\n{text}");
    }
    let said = bar.refuses(&["variance", "--item", "Bitters"]);
    assert!(said.contains("tell nothing about Bitters: it was not counted the second time"), "{said}");
    let said = bar.refuses(&["variance", "--item", "rum"]);
    assert!(said.contains("no item is called “rum”") && said.contains("Absent rum, Harbour rum"), "{said}");
}

/// Rum: 4 200 − 770 = 3 430 ml short, one case of six at 102.00. Gin: 9 800 − 8 540 = 1 260 ml short, two bottles at
/// 15.00. Together 132.00, 68.00 short of the smallest order: five more bottles of gin reach it, where another case of rum
/// would come to more.
#[test]
fn an_order_is_drafted_written_and_sent() {
    let bar = Bar::new();
    let all = bar.json(&["order", "--json"]);
    let draft = all["drafts"].as_array().unwrap().iter().find(|d| d["supplier"] == "Quaymoss").unwrap();
    assert_eq!((&draft["name"], &draft["changed"]), (&"2026-11-23 Quaymoss".into(), &false.into()));
    assert_eq!((&draft["order_by"], &draft["comes"]), (&"2026-11-23T14:00:00+01:00".into(), &"2026-11-25".into()));
    let (rum, gin) = (row(&draft["lines"], "Harbour rum"), row(&draft["lines"], "Dry gin"));
    assert_eq!((&rum["short"], &rum["packs"], &rum["pack_containers"]), (&3_430_000.into(), &1.into(), &6.into()));
    assert_eq!((&gin["short"], &gin["packs"], &gin["total"]), (&1_260_000.into(), &7.into(), &euro(10_500, "105.00")));
    assert_eq!((&draft["goods"], &draft["fee"]), (&euro(20_700, "207.00"), &euro(900, "9.00")));
    assert_eq!(draft["to_minimum"], euro(0, "0.00"));
    assert_eq!(row(&all["to_make"], "Gin cordial")["short"], 1_100_000);
    assert_eq!(row(&all["without_offer"], "Vodka")["on_order"], 0);
    assert_eq!(all["never_counted"], serde_json::json!(["Absent rum"]));
    assert_eq!(all["on_order"][0]["name"], "Friday's");

    let text = bar.says(&["order"]);
    for said in [
        "Quaymoss: “2026-11-23 Quaymoss”, order by Mon 23 Nov 14:00, comes Wed 25 Nov",
        "Nothing to order from: Idle & Sons.",
        "On order: “Friday's” from Quaymoss, 1 line, expected Tue 24 Nov.",
        "Short, and made here: Gin cordial (1100 ml).",
        "With a par, but never counted: Absent rum.",
    ] {
        assert!(text.contains(said), "{said} is not in\n{text}");
    }

    assert_eq!(bar.run(&["order", "--send"]).status.code(), Some(2), "to whom must be said");
    let said = bar.refuses(&["order", "--supplier", "idle", "--send"]);
    assert!(said.starts_with("tantalus: there is nothing in this order to send"), "{said}");
    std::fs::write(bar.path().join("no folder"), "").unwrap();
    let said = bar.refuses(&["order", "--supplier", "quaymoss", "--write", "pdf", "--into", "no folder"]);
    assert!(said.contains("no folder") && !said.contains("os error"), "{said}");
    let words = ["order", "--supplier", "quaymoss", "--write", "csv,text", "--write", "pdf", "--into", "out"];
    let text = bar.says(&[&words[..], &["--note", "Bring empties back", "--send"]].concat());
    assert!(text.contains("Marked as sent"), "{text}");
    let letter = std::fs::read_to_string(bar.path().join("out/2026-11-23 Quaymoss.txt")).unwrap();
    assert!(letter.contains("Harbour rum") && letter.contains("Bring empties back"), "{letter}");
    let written = |end: &str| bar.path().join(format!("out/2026-11-23 Quaymoss.{end}")).exists();
    assert_eq!(["csv", "pdf", "eml", "xml"].map(written), [true, true, false, false], "as asked for, and no more");
    // What was sent is on order, so that nothing is short any more.
    let after = bar.json(&["order", "--supplier", "quaymoss", "--json"]);
    assert_eq!((&after["drafts"][0]["lines"], after["on_order"].as_array().unwrap().len()), (&Value::Array(vec![]), 2));
    assert!(bar.refuses(&["order", "--write", "all"]).contains("nothing to order"));
    // A form must be one of those there are; a folder without a form says nothing.
    for wrong in [&["order", "--write", "out"][..], &["order", "--into", "out"], &["order", "--note", "x"]] {
        assert_eq!(bar.run(wrong).status.code(), Some(2), "{wrong:?}");
    }
}

#[test]
fn two_orders_of_one_name_are_not_written_over_each_other() {
    let bar = Bar::new();
    let more = |conn: &Connection| {
        let mut all = setup::load(conn)?;
        let mut dairy = all.suppliers.remove(1);
        dairy.name = "Quaymoss Dairy".to_owned();
        let supplier = setup::put_supplier(conn, &dairy)?;
        let item = all.items.iter().find(|i| i.name == "Vodka").unwrap().id;
        let offer = Offer {
            supplier,
            item,
            code: None,
            pack: 1,
            price: Money(900),
            deposit: None,
            from: None,
            mixed: None,
            until: None,
        };
        setup::put_offer(conn, &offer)
    };
    Store::open(&bar.book()).unwrap().write::<(), StoreError>((Deed::Loaded, Moment(0)), more).unwrap();
    bar.says(&["order", "--write", "text", "--into", "out"]);
    let mut files: Vec<String> = std::fs::read_dir(bar.path().join("out"))
        .unwrap()
        .map(|f| f.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".txt"))
        .collect();
    files.sort();
    assert!(files.iter().any(|f| f.ends_with("Quaymoss Dairy.txt")) && files.len() > 1, "{files:?}");
    // Where nothing is said, the files stand beside the book, all of them.
    let said = bar.says(&["order", "--supplier", "quaymoss dairy", "--write", "all"]);
    for end in ["pdf", "eml", "txt", "csv", "xml"] {
        let path = bar.book().with_file_name("orders").join(format!("2026-11-23 Quaymoss Dairy.{end}"));
        assert!(path.exists() && said.contains(&format!("Quaymoss Dairy.{end}")), "{end}: {said}");
    }
}

/// Rum 770 ml at 17.00 for 700: 18.70. Gin 8 540 ml at 16.00, last paid: 195.20; in the cellar 7 000 ml of it: 160.00.
#[test]
fn the_stock_and_its_worth() {
    let bar = Bar::new();
    let all = bar.json(&["stock", "--json"]);
    let (rum, gin) = (row(&all["items"], "Harbour rum"), row(&all["items"], "Dry gin"));
    assert_eq!((&rum["on_hand"], &rum["value"]), (&770_000.into(), &euro(1_870, "18.70")));
    assert_eq!((&gin["on_hand"], &gin["value"]), (&8_540_000.into(), &euro(19_520, "195.20")));
    assert_eq!(row(&all["items"], "Absent rum")["on_hand"], Value::Null);
    assert!(all["never_counted"].as_array().unwrap().contains(&"Absent rum".into()));
    assert!(all["without_value"].as_array().unwrap().contains(&"Vodka".into()));
    let cellar = bar.json(&["stock", "--place", "cellar", "--kind", "spirit", "--json"]);
    let gin = row(&cellar["items"], "Dry gin");
    assert_eq!((&gin["on_hand"], &gin["value"]), (&7_000_000.into(), &euro(16_000, "160.00")));
    assert!(cellar["items"].as_array().unwrap().iter().all(|i| i["item"] != "Harbour rum"));
    assert_eq!(cellar["value"], euro(16_000, "160.00"));
    let text = bar.says(&["stock"]);
    assert!(text.contains("Value unknown, no price on record"), "{text}");
    assert!(text.lines().any(|l| l.starts_with("Never counted (") && l.contains("Absent rum")), "{text}");
    assert_eq!(bar.run(&["stock", "--kind", "furniture"]).status.code(), Some(2));
    assert!(bar.refuses(&["stock", "--place", "attic"]).contains("there are: Rail, Cellar"));
}

#[test]
fn counts_are_listed() {
    let bar = Bar::new();
    let counts = bar.json(&["count", "--json"]);
    assert_eq!(
        counts["counts"][0],
        serde_json::json!({
            "name": "second", "begun": "2026-11-23T02:00:00+01:00", "closed": "2026-11-23T02:10:00+01:00", "blind": false
        })
    );
    let text = bar.says(&["count"]);
    assert!(text.lines().any(|l| l.starts_with("first") && l.ends_with("2026-11-16 02:10")), "{text}");
}

#[test]
fn a_sheet_to_count_on_is_written() {
    let bar = Bar::new();
    assert!(bar.says(&["count", "--sheet", "--into", "out"]).starts_with("Written: out/2026-11-23 count sheet.pdf"));
    // As a page is called, it does not take the place of another part of the bar.
    let said = bar.says(&["count", "--sheet", "--place", "cellar", "--into", "out"]);
    assert!(said.contains("2026-11-23 count sheet Cellar.pdf"), "{said}");
    let pdf = lopdf::Document::load(bar.path().join("out/2026-11-23 count sheet Cellar.pdf")).unwrap();
    let text = pdf.extract_text(&[1]).unwrap();
    assert!(text.contains("Dry gin") && !text.contains("Rail"), "{text}");
    assert!(bar.refuses(&["count", "--sheet", "--place", "attic"]).contains("there are: Rail, Cellar"));
    assert_eq!(bar.run(&["count", "--place", "cellar"]).status.code(), Some(2));
}

#[test]
fn a_missing_book_says_what_to_do() {
    let bar = Bar::empty();
    for args in [&["stock"][..], &["variance"], &["order"], &["count"], &["dump", "x"], &["load", "x"], &["check"], &[]]
    {
        let said = bar.refuses(args);
        assert!(said.starts_with("tantalus: there is no book at "), "{args:?}: {said}");
        assert!(said.contains("`tantalus init`") && said.contains("`tantalus demo`"), "{args:?}: {said}");
        assert_eq!(said.lines().count(), 2, "{said}");
    }
    // Without any word of it, the book is looked for where the platform keeps data.
    let output = bar.command(&["stock"]).env_remove("TANTALUS_BOOK").output().unwrap();
    assert!(String::from_utf8_lossy(&output.stderr).contains("book.tantalus"));
    // What the command line says wins over the environment.
    let said = bar.refuses(&["stock", "--book", "other.tantalus"]);
    assert!(said.contains("no book at other.tantalus"), "{said}");
}

#[test]
fn wrong_usage_is_told_apart() {
    let bar = Bar::new();
    for args in [
        &["frobnicate"][..],
        &["variance", "--by-place", "--by-kind"],
        &["variance", "--item", "x", "--by-kind"],
        &["variance", "--periods", "0"],
        &["variance", "--periods", "3", "--all"],
        &["init", "--currency", "EURO"],
        &["init", "--zone", "Berlin"],
        &["init", "--day-starts", "5"],
        &["completions"],
    ] {
        let output = bar.run(args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(output.stdout.is_empty() && !output.stderr.is_empty(), "{args:?}");
    }
    assert!(bar.refuses(&["variance", "--to", "nowhere"]).contains("no count called “nowhere”"));
}

#[test]
fn a_reader_that_leaves_early_is_no_failure() {
    let bar = Bar::new();
    for args in [&["stock"][..], &["variance", "--json"], &["completions", "bash"], &["man"]] {
        let mut child = bar.command(args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let mut said = String::new();
        child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        assert_eq!((child.wait().unwrap().code(), said.as_str()), (Some(0), ""), "{args:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_written_is_refused() {
    let bar = Bar::new();
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = bar.command(&["stock"]).stdout(full).stderr(Stdio::piped()).spawn().unwrap().wait_with_output();
    let output = output.unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).starts_with("tantalus: the answer could not be written"));
}

#[test]
fn a_hostile_name_never_acts_on_the_terminal() {
    let bar = Bar::new();
    let harmless = |text: &str| text.chars().all(|c| c == '\n' || !(c.is_control() || c == '\u{202e}'));
    for args in [
        &["stock"][..],
        &["stock", "--json"],
        &["variance"],
        &["variance", "--json"],
        &["variance", "--item", "Evil"],
        &["variance", "--item", "Evil", "--json"],
        &["order"],
    ] {
        let text = bar.says(args);
        assert!(harmless(&text), "{args:?}: {text:?}");
    }
    assert!(bar.says(&["stock"]).contains("Evil]0;owned[31m2J gin"));
    // A program still reads the very name, and can ask for it.
    let all = bar.json(&["stock", "--json"]);
    assert_eq!(row(&all["items"], HOSTILE)["on_hand"], 700_000);
    assert!(bar.says(&["variance", "--item", HOSTILE.trim_end_matches("gin")]).contains("Evil"));
    for args in
        [["variance", "--item", "\u{1b}[2Jx"], ["variance", "--to", "\u{1b}[2Jx"], ["stock", "--place", "\u{9b}x"]]
    {
        let said = bar.refuses(&args);
        assert!(harmless(&said), "{said:?}");
    }
}

#[test]
fn the_documented_forms_are_the_forms() {
    let bar = Bar::new();
    let plain = bar.path().join("plain");
    let (plain, dumped) = (plain.to_str().unwrap(), bar.path().join("dumped"));
    let sales = "receipt,line,at,sold_as,quantity,net\nZ1,1,2026-11-22 21:00,NEVER HEARD OF,1,1.00\n";
    std::fs::create_dir_all(plain).unwrap();
    std::fs::write(bar.path().join("plain/sales.csv"), sales).unwrap();
    // A watched folder that is not there is warned of.
    let venue = "key,value\nname,Any\ncurrency,EUR\ntime_zone,Europe/Berlin\nwatch_folder,/nowhere/at/all\n";
    std::fs::create_dir_all(bar.path().join("begun")).unwrap();
    std::fs::write(bar.path().join("begun/venue.csv"), venue).unwrap();
    std::fs::write(bar.path().join("plain/venue.csv"), "key,value\nwatch_folder,/nowhere/at/all\n").unwrap();
    std::fs::write(bar.path().join("sheet.txt"), "1 1.1\n").unwrap();
    let whole = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data");
    let gauge = "gauge 812g --size 700ml --abv 40 --empty 512g --shape round --temperature 5 --json";
    let gauge: Vec<&str> = gauge.split(' ').collect();
    drinks_book(&bar);
    // Something that comes in mixed cases only.
    std::fs::create_dir_all(bar.path().join("cases")).unwrap();
    let offers = "supplier,item,pack,price,mixed\nQuaymoss,Harbour rum,6,102.00,Rums 12\n";
    std::fs::write(bar.path().join("cases/offers.csv"), offers).unwrap();
    bar.says(&["load", "cases"]);
    // The invented bar with all its pars by demand.
    bar.says(&["init", whole, "--book", "ruled.tantalus"]);
    bar.says(&["par", "--all", "--rule", "demand", "--book", "ruled.tantalus"]);
    let forms: [(&str, &[&[&str]]); 27] = [
        (
            "init",
            &[
                &["init", whole, "--json", "--book", "another.tantalus"],
                &["init", "begun", "--json", "--book", "begun.tantalus"],
            ],
        ),
        // The invented bar has lines that are worth another look.
        ("variance", &[&["variance", "--by-place", "--json"], &["variance", "--json", "--book", "another.tantalus"]]),
        (
            "variance --item",
            &[&["variance", "--item", "Harbour rum", "--json"], &["variance", "--item", "Dry gin", "--json"]],
        ),
        ("goods", &[&["goods", "--json"], &["goods", "--from", "2026-11-20", "--json", "--book", "mixed.tantalus"]]),
        ("report", &[&["report", "--into", "out", "--json"]]),
        (
            "order",
            &[
                &["order", "--write", "all", "--into", "out", "--json"],
                &["order", "--budget", "20", "--json"],
                &["order", "--json", "--book", "ruled.tantalus"],
            ],
        ),
        ("order --why", &[&["order", "--why", "Varrowmay", "--json", "--book", "another.tantalus"]]),
        ("par", &[&["par", "--json", "--book", "another.tantalus"]]),
        ("par --back", &[&["par", "--back", "8", "--json", "--book", "ruled.tantalus"]]),
        ("carry", &[&["carry", "--booked", "--json", "--book", "another.tantalus"]]),
        (
            "suppliers",
            &[
                &["suppliers", "--json", "--book", "another.tantalus"],
                &["suppliers", "--json", "--book", "mixed.tantalus"],
            ],
        ),
        ("stock", &[&["stock", "--json"]]),
        ("stock --over-time", &[&["stock", "--over-time", "--json"]]),
        ("gauge", &[&gauge]),
        ("count", &[&["count", "--json"]]),
        ("count --sheet", &[&["count", "--sheet", "--into", "out", "--json"]]),
        ("load", &[&["load", plain, "--json"]]),
        ("dump", &[&["dump", dumped.to_str().unwrap(), "--json"]]),
        ("drinks", &[&["drinks", "--corners", "--json", "--book", "mixed.tantalus"]]),
        ("drinks --if", &[&["drinks", "--if", "Rum=20", "--if", "Mint=5", "--json", "--book", "mixed.tantalus"]]),
        (
            "drinks --serves",
            &[
                &["drinks", "tall", "--serves", "40", "--json", "--book", "mixed.tantalus"],
                &["drinks", "flip", "--serves", "40", "--json", "--book", "mixed.tantalus"],
                &["drinks", "odd", "--serves", "40", "--json", "--book", "mixed.tantalus"],
            ],
        ),
        ("days", &[&["days", "--until", "2027-11-01", "--json", "--book", "another.tantalus"]]),
        (
            "house",
            &[&["house", "--json", "--book", "mixed.tantalus"], &["house", "--json", "--book", "another.tantalus"]],
        ),
        ("count --from-sheet", &[&["count", "--from-sheet", "sheet.txt", "--by", "AB", "--json"]]),
        ("backup", &[&["backup", "--json"]]),
        ("backup --list", &[&["backup", "--list", "--json"]]),
        ("restore", &[&["restore", "1", "--json"]]),
    ];
    let check = bar.json(&["check", "--json"]);
    assert_eq!((&check["form"], &check["sound"], &check["findings"]), (&1.into(), &true.into(), &Value::Array(vec![])));
    let mut of_row = (BTreeSet::new(), BTreeSet::new());
    for (name, commands) in forms {
        let mut found = BTreeSet::new();
        for args in commands {
            paths(&bar.json(args), "", &mut found);
        }
        if name == "variance" {
            of_row.0 = found.iter().filter_map(|p| Some(p.strip_prefix("rows[].")?.to_owned())).collect();
        }
        if name == "variance --item" {
            of_row.1 = found.iter().filter_map(|p| Some(p.strip_prefix("row.")?.to_owned())).collect();
            found.retain(|p| !p.starts_with("row."));
        }
        assert_eq!(found, told(name), "{name}");
    }
    of_row.0.remove("stores_left_out[]");
    assert_eq!(of_row.0, of_row.1, "`row` of one item is a row of all");
}

/// Another book beside the bar's, `mixed.tantalus`: a few drinks, of which something is not known of everything.
fn drinks_book(bar: &Bar) {
    let folder = bar.path().join("mixed");
    std::fs::create_dir_all(&folder).unwrap();
    for (name, text) in [
        ("venue.csv", "key,value\nname,Mixed\ncurrency,EUR\ntime_zone,Europe/Berlin\nprices_include_tax,yes\n"),
        ("people.csv", "initials,role\nOM,counter\n"),
        ("suppliers.csv", "supplier,schedule\nVan,\n"),
        (
            "stock.csv",
            "item,kind,size,abv,sugar,allergens,keeps_days\nRum,spirit,700 ml,40,,none,\nOld liqueur,liqueur,700 ml,,,,\n\
             Sugar,food,1 kg,,100 %,none,\nMint,food,1 kg,,,none,\nCream,food,1 l,,30 g/l,milk,\nSoda,mixer,200 ml,,0 g/l,none,\n\
             Syrup,house-made,1 l,,,,5\nPosset,house-made,1 l,,,,\n",
        ),
        (
            "offers.csv",
            "supplier,item,pack,price\nVan,Rum,1,14.00\nVan,Sugar,1,1.00\nVan,Soda,24,12.00\nVan,Cream,1,4.00\n",
        ),
        (
            "orders.csv",
            "order,line,supplier,item,packs,price,state,placed,expected\n\
             Late,1,Van,Rum,1,14.00,sent,2026-11-10 12:00,2026-11-12\n",
        ),
        ("glasses.csv", "glass,holds\ntall,300 ml\n"),
        (
            "house.csv",
            "item,yields,ingredient,quantity,water\nSyrup,,Sugar,1 kg,1 kg\nSyrup,,Old liqueur,10 ml,1 kg\nPosset,1 l,Cream,1 l,\n",
        ),
        (
            "drinks.csv",
            "drink,price,tax,method,glass\nTall,10.00,20,build,tall\nFlip,12.00,20,shake,\nOdd,12.00,20,stir,\n",
        ),
        (
            "specs.csv",
            "drink,ingredient,quantity\nTall,Rum,50 ml\nTall,Soda,150 ml\nFlip,Rum,50 ml\nFlip,Cream,30 ml\n\
             Odd,Old liqueur,50 ml\nOdd,Syrup,10 ml\nOdd,Mint,2 g\n",
        ),
        ("pos.csv", "sold_as,drink\nTALL,Tall\nFLIP,Flip\nODD,Odd\n"),
        (
            "sales.csv",
            "receipt,line,at,sold_as,quantity,net\n1,1,2026-11-20 22:00,TALL,30,250.00\n2,1,2026-11-21 22:00,FLIP,10,100.00\n\
             3,1,2026-11-21 23:00,ODD,2,20.00\n",
        ),
        ("batches.csv", "at,item,made\n2026-11-15 16:00,Syrup,1600 ml\n"),
    ] {
        std::fs::write(folder.join(name), text).unwrap();
    }
    bar.says(&["init", "mixed", "--book", "mixed.tantalus"]);
}

#[test]
fn drinks_for_people() {
    let bar = Bar::empty();
    drinks_book(&bar);
    let says = |args: &[&str]| bar.says(&[args, &["--book", "mixed.tantalus"]].concat());
    // 50 ml of rum at 14.00 for 700 ml are 1.00; with 150 ml of soda at 0.50 for 200 ml, 1.375. Of 10.00 without 20 %
    // tax, 8.33, that is 16.5 %.
    let list = says(&["drinks"]);
    let line = |name: &str| list.lines().find(|line| line.starts_with(name)).unwrap_or_default().to_owned();
    assert!(line("Tall").contains("10.00  1.38     16.5 %       6.95"), "{list}");
    // No price is known of the old liqueur, and no allergens: never none.
    assert!(line("Odd").contains("  > ") && line("Odd").ends_with("unknown"), "{list}");
    assert!(line("Flip").ends_with("milk"), "{list}");
    let one = says(&["drinks", "odd"]);
    for said in ["no price is known of Old liqueur", "no strength is known of Old liqueur", "UNKNOWN of Old liqueur"] {
        assert!(one.contains(said), "{said}: {one}");
    }
    let corners = says(&["drinks", "--corners"]);
    assert!(corners.contains("their cost or price is not known or they came later: 1."), "{corners}");
    // 50 ml of rum at 28.00 cost 2.00.
    let what_if = says(&["drinks", "--if", "rum=28"]);
    assert!(what_if.contains("2 drinks change") && what_if.contains("1.38   2.38"), "{what_if}");
    // And so at twice what it costs.
    assert_eq!(says(&["drinks", "--if", "rum=+100 %"]), what_if);
    let many = says(&["drinks", "tall", "--serves", "40", "--water", "20"]);
    assert!(many.contains("2000 ml  2 x 700 ml and 600 ml"), "{many}");
    assert!(many.contains("6000 ml  30 x 200 ml  ") && many.contains("to each serve"), "{many}");
    assert!(many.contains("400 ml  20.0 % in place of ice"), "{many}");
    for (args, said) in [
        (&["drinks", "nothing"][..], "no drink is called"),
        (&["drinks", "--if", "rum"], "no price of an item"),
        (&["drinks", "--if", "rum=cheap"], "an amount of EUR"),
        (&["drinks", "--if", "rum=+5"], "a change is written in percent, +5 %"),
        (&["drinks", "--write", "out"], "say one of them as well"),
        (&["drinks", "tall", "--serves", "4", "--water", "wet"], "--water: expected percent"),
        (&["drinks", "tall", "--serves", "4", "--bottles", "1 kg"], "--bottles:"),
    ] {
        let refused = bar.refuses(&[args, &["--book", "mixed.tantalus"]].concat());
        assert!(refused.contains(said), "{refused}, not {said}");
    }
}

#[test]
fn pages_to_print_are_written() {
    let bar = Bar::empty();
    drinks_book(&bar);
    let says = |args: &[&str]| bar.says(&[args, &["--book", "mixed.tantalus", "--write", "out"]].concat());
    let written = |said: String| {
        let path = bar.path().join(said.trim().strip_prefix("Written: ").unwrap());
        std::fs::read_to_string(path).unwrap()
    };
    let menu = written(says(&["drinks", "--corners"]));
    assert!(menu.starts_with("<!DOCTYPE html>") && menu.contains("<svg viewBox"), "{menu}");
    assert!(menu.contains("<title>Tall: ") && menu.contains("Left out") && menu.contains("Odd"), "{menu}");
    let sheet = written(says(&["drinks", "odd", "--serves", "12"]));
    for said in ["Odd for 12", "600 ml", "UNKNOWN of", "cannot be taken out again", "food-safety plan"] {
        assert!(sheet.contains(said), "{said}: {sheet}");
    }
    // Nothing in them runs or comes from elsewhere, and a hostile name is only text.
    for page in [&menu, &sheet] {
        assert!(!page.contains("<script") && !page.contains("http"), "{page}");
    }
}

#[test]
fn what_is_made_here_is_shown_and_booked() {
    let bar = Bar::empty();
    drinks_book(&bar);
    let says = |args: &[&str]| bar.says(&[args, &["--book", "mixed.tantalus"]].concat());
    // Made on the 15th, it keeps five days, the 15th being the first.
    let list = says(&["house"]);
    assert!(list.contains("PAST, 2026-11-19") && list.contains("check your local code"), "{list}");
    let booked = says(&["house", "syrup", "--made", "800 ml", "--note", "cold", "--by", "om"]);
    // Nobody ever counted it.
    assert!(booked.starts_with("Booked: 800 ml of Syrup; it was never counted"), "{booked}");
    let list = says(&["house"]);
    assert!(!list.contains("PAST"), "{list}");
    let page = says(&["house", "syr"]);
    for said in ["never counted", "One batch takes", "800 ml  OM", "by your setting"] {
        assert!(page.contains(said), "{said}: {page}");
    }
    let twice = says(&["house", "syrup", "--made", "2"]);
    assert!(twice.contains("3273 ml of Syrup"), "{twice}");
    assert!(says(&["house", "syrup", "--take-back", "--by", "om"]).contains("Taken back: 3273 ml of Syrup"));
    let dumped = bar.path().join("dumped");
    says(&["dump", dumped.to_str().unwrap()]);
    let batches = std::fs::read_to_string(dumped.join("batches.csv")).unwrap();
    assert!(batches.contains(",Syrup,800 ml,OM,cold"), "{batches}");
    let refuses = |args: &[&str]| bar.refuses(&[args, &["--book", "mixed.tantalus"]].concat());
    assert!(refuses(&["house", "rum"]).contains("no item made here is called"));
    assert!(refuses(&["house", "syrup", "--made", "3 each"]).contains("--made: “3 each” is a number"));
    let much = refuses(&["house", "syrup", "--made", "900l"]);
    assert!(much.contains("550.0 batches at once") && much.contains("--so-much"), "{much}");
}

#[test]
fn shells_and_the_manual_know_every_command() {
    let bar = Bar::empty();
    let names: Vec<String> = tantalus::cli::command().get_subcommands().map(|c| c.get_name().to_owned()).collect();
    let (bash, man) = (bar.says(&["completions", "bash"]), bar.says(&["man"]));
    bar.says(&["man", "--dir", "pages"]);
    for name in &names {
        assert!(bash.contains(name.as_str()) && man.contains(name.as_str()), "{name}");
        assert!(bar.path().join(format!("pages/tantalus-{name}.1")).exists(), "{name}");
    }
    assert!(man.starts_with(".ie") || man.contains(".TH"), "{man}");
    assert!(bar.says(&["--help"]).contains("Exit status"));
}
