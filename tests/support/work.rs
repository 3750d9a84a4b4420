//! A bar and the work of its evenings, command by command: each a use case that is written into the book whole or not at
//! all. What a command says depends on nothing but the book, its files and the moment it is told, so that the same work on
//! a copy of the book says what must come of it.

#![allow(dead_code)]

use super::paper::{Paper, line};
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// Items on the shelves, each in two places.
pub(crate) const ITEMS: usize = 24;
/// The moment at which the bar is looked at first.
const FIRST: &str = "2026-11-20T16:00:00+01:00";
/// What the till of this bar writes above its lines.
const HEAD: &str = "Date;Time;Receipt;Item;Quantity;Net\n";

/// The name of an item.
pub(crate) fn item(n: usize) -> String {
    format!("Bottle {:02}", n % ITEMS + 1)
}

/// The bar as plain files.
fn files() -> Vec<(&'static str, String)> {
    let each = |row: &dyn Fn(usize) -> String| (0..ITEMS).map(row).collect::<String>();
    let stock = |n| format!("{},spirit,700 ml,tenths,{}\n", item(n), 4 + n % 9);
    let shelf = |n| format!("Rail,{0}\nCellar,{0}\n", item(n));
    let offer = |n| format!("Quendelbach,{0},{1},6,60.00\nThe cart,{0},,1,12.50\n", item(n), 21_000 + n);
    let drink = |n| format!("Long {0},9.00,19\n", item(n));
    let spec = |n| format!("Long {0},{0},40 ml\n", item(n));
    let counted = |n| format!("first,2026-11-16 02:{:02},Cellar,{},{},\n", n, item(n), 3 + n % 4);
    vec![
        ("venue.csv", "key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\n".to_owned()),
        ("places.csv", "place,walk\nRail,1\nCellar,2\n".to_owned()),
        (
            "suppliers.csv",
            "supplier,schedule,vat_id\nQuendelbach,Mon 14:00 > Wed,DE 123456788\nThe cart,,\n".to_owned(),
        ),
        (
            "stock.csv",
            format!(
                "item,kind,size,count_by,par\n{}Sugar,food,1 kg,whole,\nSyrup,house-made,1 l,tenths,\n",
                each(&stock)
            ),
        ),
        ("house.csv", "item,yields,ingredient,quantity\nSyrup,1600 ml,Sugar,1 kg\n".to_owned()),
        ("shelves.csv", format!("place,item\n{}Cellar,Sugar\n", each(&shelf))),
        ("offers.csv", format!("supplier,item,code,pack,price\n{}", each(&offer))),
        ("drinks.csv", format!("drink,price,tax\n{}", each(&drink))),
        ("specs.csv", format!("drink,ingredient,quantity\n{}", each(&spec))),
        ("counts.csv", format!("count,at,place,item,full,open\n{}", each(&counted))),
    ]
}

/// What is done at one go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Sort {
    /// A sheet that was filled in by hand is typed in, and its count closed.
    Sheet,
    /// Counts of a plain file.
    Counts,
    /// A supplier's bill is booked.
    Bill,
    /// A report of the till is taken in.
    Till,
    /// A folder of deliveries, losses, transfers, weighings, sales and a draft of an order.
    Folder,
    /// An order is sent.
    Order,
    /// A par is set by hand.
    Par,
    /// A batch is booked.
    Batch,
}

impl Sort {
    pub(crate) const ALL: [Sort; 8] =
        [Sort::Sheet, Sort::Counts, Sort::Bill, Sort::Till, Sort::Folder, Sort::Order, Sort::Par, Sort::Batch];
}

/// A command, and the moment it takes for now.
#[derive(Clone, Debug)]
pub(crate) struct Deed {
    pub(crate) sort: Sort,
    pub(crate) args: Vec<String>,
    pub(crate) now: String,
}

impl Deed {
    /// The command on a book, nothing of it run yet.
    pub(crate) fn on(&self, book: &Path) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
        command.args(&self.args).arg("--book").arg(book);
        command.env("TANTALUS_NOW", &self.now).env_remove("TANTALUS_BY").env_remove("TANTALUS_BOOK");
        command.stdin(Stdio::null());
        command
    }

    /// Runs it to its end.
    pub(crate) fn run(&self, book: &Path) -> Result<String, String> {
        let output = self.on(book).output().map_err(|error| error.to_string())?;
        said(&output).map_err(|refused| format!("{:?}: {refused}", self.args))
    }
}

/// What a command said, or why it refused.
fn said(output: &Output) -> Result<String, String> {
    match output.status.code() {
        Some(0) => Ok(String::from_utf8_lossy(&output.stdout).into_owned()),
        code => Err(format!("{code:?}: {}", String::from_utf8_lossy(&output.stderr))),
    }
}

/// A bar at work: makes one deed after the other, with the files that it needs.
pub(crate) struct Work {
    folder: PathBuf,
    random: ChaCha8Rng,
    /// Deeds made so far; each is of a minute of its own.
    made: i64,
    /// Goes before numbers of documents and receipts, so that several can work on one book.
    mark: String,
}

impl Work {
    /// Work whose files lie in a folder; `mark` keeps what several of them do apart.
    pub(crate) fn new(folder: &Path, seed: u64, mark: &str) -> Work {
        Work { folder: folder.to_owned(), random: ChaCha8Rng::seed_from_u64(seed), made: 0, mark: mark.to_owned() }
    }

    /// Makes the book of the bar, with the layout of its till known.
    pub(crate) fn make_book(&mut self, book: &Path) -> Result<(), String> {
        let plain = self.plain()?;
        let init = ["init".to_owned(), text(&plain)];
        self.deed(Sort::Folder, init.to_vec()).run(book)?;
        let evening = self.till(3)?;
        let args = ["sales".to_owned(), text(&evening), "--keep-as".to_owned(), "evening".to_owned()];
        self.deed(Sort::Till, args.to_vec()).run(book)?;
        Ok(())
    }

    /// The folder of plain files that the book is made of.
    pub(crate) fn plain(&self) -> Result<PathBuf, String> {
        let plain = self.folder.join("plain");
        fs::create_dir_all(&plain).map_err(|error| error.to_string())?;
        for (name, text) in files() {
            fs::write(plain.join(name), text).map_err(|error| error.to_string())?;
        }
        Ok(plain)
    }

    /// The next deed of a sort.
    pub(crate) fn next(&mut self, sort: Sort) -> Result<Deed, String> {
        let args = match sort {
            Sort::Sheet => {
                let lines: String = (1..=ITEMS)
                    .map(|n| format!("{n} {}.{}\n", self.random.random_range(0..5), self.random.random_range(0..10)))
                    .collect();
                let sheet = self.file("sheet.txt", &lines)?;
                vec![
                    "count".to_owned(),
                    "--from-sheet".to_owned(),
                    text(&sheet),
                    "--place=Rail".to_owned(),
                    "--sure".to_owned(),
                    "--close".to_owned(),
                ]
            }
            Sort::Counts => {
                let (day, name) = (self.random.random_range(1..15), format!("{}early {}", self.mark, self.made));
                let row = |n: usize| {
                    format!("{name},2026-11-{day:02} 01:{n:02},Cellar,{},{},.{}\n", item(n), n % 5, n % 9 + 1)
                };
                let rows: String = (0..ITEMS).map(row).collect();
                let file = self.file("counts.csv", &format!("count,at,place,item,full,open\n{rows}"))?;
                vec!["count".to_owned(), "--import".to_owned(), text(&file)]
            }
            Sort::Bill => {
                let bill = self.bill()?;
                let args =
                    ["receive", &text(&bill), "--answers", "none", "--as-charged", "--book-it", "--all-the-same"];
                args.map(str::to_owned).to_vec()
            }
            Sort::Till => vec!["sales".to_owned(), text(&self.till(400)?)],
            Sort::Folder => vec!["load".to_owned(), text(&self.facts()?)],
            Sort::Order => {
                let supplier = if self.random.random() { "Quendelbach" } else { "The cart" };
                vec!["order".to_owned(), "--supplier".to_owned(), supplier.to_owned(), "--send".to_owned()]
            }
            Sort::Par => {
                // Never what it was before: a par that is set to what it is would not be told from one that was lost.
                let par = format!("{}.{:03}", self.random.random_range(20..400), self.made % 1_000);
                vec!["par".to_owned(), item(self.random.random_range(0..ITEMS)), "--set".to_owned(), par]
            }
            Sort::Batch => vec![
                "house".to_owned(),
                "Syrup".to_owned(),
                "--made".to_owned(),
                format!("{}ml", 900 + self.made % 500),
            ],
        };
        Ok(self.deed(sort, args))
    }

    /// How many deeds were made.
    pub(crate) fn made(&self) -> i64 {
        self.made
    }

    fn deed(&mut self, sort: Sort, args: Vec<String>) -> Deed {
        self.made += 1;
        let first = chrono::DateTime::parse_from_rfc3339(FIRST).expect("the moment above");
        Deed { sort, args, now: (first + chrono::TimeDelta::minutes(self.made)).to_rfc3339() }
    }

    fn file(&self, name: &str, text: &str) -> Result<PathBuf, String> {
        let path = self.folder.join(format!("{}{}-{name}", self.mark, self.made));
        fs::write(&path, text).map_err(|error| error.to_string())?;
        Ok(path)
    }

    /// A bill of a few cases, which answers no order.
    fn bill(&mut self) -> Result<PathBuf, String> {
        let mut lines = Vec::new();
        for _ in 0..self.random.random_range(1..6) {
            let cases = self.random.random_range(1..4_i64);
            let mut of = line("NAME", "CODE", ("MANY", "XCS"), "66.00", cases * 6_600);
            let n = self.random.random_range(0..ITEMS);
            of.name = leaked(item(n));
            of.code = leaked((21_000 + n).to_string());
            of.quantity = leaked(cases.to_string());
            lines.push(of);
        }
        let ubl = Paper { order: "", ..Paper::of("NUMBER", lines) }.ubl();
        self.file("bill.xml", &ubl.replace("NUMBER", &format!("{}R-{}", self.mark, self.made)))
    }

    /// A report of the till with so many lines.
    pub(crate) fn till(&mut self, lines: usize) -> Result<PathBuf, String> {
        let mut report = HEAD.to_owned();
        for n in 0..lines {
            let name = self.random.random_range(0..40);
            let _ = writeln!(
                report,
                "2026-11-{:02};{:02}:{:02};{}{}-{n};Long drink {name};1;7.50",
                1 + n % 18,
                n % 24,
                n % 60,
                self.mark,
                self.made
            );
        }
        self.file("evening.csv", &report)
    }

    /// Facts of many kinds at once.
    fn facts(&mut self) -> Result<PathBuf, String> {
        let (mark, made) = (self.mark.clone(), self.made);
        let folder = self.folder.join(format!("{mark}{made}-facts"));
        fs::create_dir_all(&folder).map_err(|error| error.to_string())?;
        let all: Vec<usize> = (0..ITEMS).collect();
        let some: Vec<usize> = all.choose_multiple(&mut self.random, 8).copied().collect();
        let at = |n: usize| format!("2026-11-{:02} 18:{:02}:{:02}", 1 + n % 18, made % 60, made / 60 % 60);
        let each = |row: &dyn Fn(usize) -> String| some.iter().map(|n| row(*n)).collect::<String>();
        let delivery = |n| format!("{mark}D-{made},{},{},The cart,{},2,12.50\n", n + 1, at(n), item(n));
        let loss = |n| format!("{},{},{} ml,spill\n", at(n), item(n), 10 + made % 90);
        let transfer = |n| format!("{},{},1,Cellar,Rail\n", at(n), item(n));
        let order = |n| format!("{mark}O-{made},{},The cart,{},1,12.50,draft,,1\n", n + 1, item(n));
        let sales: String = (0..200)
            .map(|n| format!("{mark}S-{made},{n},2026-11-{:02} 20:{:02},LONG {},1,7.56\n", 1 + n % 18, n % 60, n % 30))
            .collect();
        let mut files = vec![
            ("deliveries.csv", format!("document,line,at,supplier,item,containers,unit_price\n{}", each(&delivery))),
            ("losses.csv", format!("at,item,quantity,reason\n{}", each(&loss))),
            ("transfers.csv", format!("at,item,containers,from_place,to_place\n{}", each(&transfer))),
            ("sales.csv", format!("receipt,line,at,sold_as,quantity,net\n{sales}")),
        ];
        // One draft at a time: they would be looked at together.
        if made % 7 == 0 {
            files.push((
                "orders.csv",
                format!("order,line,supplier,item,packs,price,state,placed,pack\n{}", each(&order)),
            ));
        }
        for (name, text) in files {
            fs::write(folder.join(name), text).map_err(|error| error.to_string())?;
        }
        Ok(folder)
    }
}

/// Texts of bills live as long as the program: there are few of them.
fn leaked(text: String) -> &'static str {
    Box::leak(text.into_boxed_str())
}

pub(crate) fn text(path: &Path) -> String {
    path.to_str().expect("a path in UTF-8").to_owned()
}
