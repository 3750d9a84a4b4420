//! The report of a period: a small bar whose gaps are known by hand, as a page and as a table; with hostile names; with
//! nothing in it.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;

use bar::Bar;
use std::collections::HashMap;
use std::fmt::Write as _;
use std::fs;
use tantalus::desk::comparing::{Choice, all_counts, setup};
use tantalus::desk::explaining::{Accepted, accept};
use tantalus::desk::goods::{Asked, used};
use tantalus::desk::reviewing::review;
use tantalus::domain::measure::{Amount, Decimal, Money};
use tantalus::domain::rows::{PeriodView, cause_word};
use tantalus::domain::usage::Verdict;
use tantalus::domain::venue::{CauseWord, Moment, Setup, is_hidden};
use tantalus::exchange::documents::week_table;
use tantalus::exchange::pages::week_page;
use tantalus::store::Store;

/// The items of the bar: where each stands, how many tenths of a bottle of 700 ml are there at first, how many go in a week,
/// how many more in the last week, and how many tenths of a serve of 35 ml are sold in a week.
///
/// Of the gin a tenth more goes every week than was sold; of the rum a whole bottle in the last week, of the vodka half a
/// bottle for a name that means nothing yet, of the brandy a bottle that somebody explains, of the aquavit 14 ml more
/// every week.
const ITEMS: [(&str, &str, i64, i64, i64, i64); 5] = [
    ("Gin", "Rail", 80, 7, 0, 120),
    ("Rum", "Rail", 90, 7, 10, 140),
    ("Vodka", "Back", 60, 6, 5, 120),
    ("Brandy", "Back", 70, 5, 10, 100),
    ("Aquavit", "Back", 60, 5, 0, 96),
];

const WEEKS: i64 = 7;

/// Mondays at two in the morning from the 28th of September on, and other times of the weeks after them.
fn at(week: i64, days: i64, time: &str) -> String {
    let first = chrono::NaiveDate::from_ymd_opt(2026, 9, 28).unwrap();
    format!("{} {time}", first + chrono::Duration::days(7 * week + days))
}

/// The bar; every name passes through `named`.
fn book(named: impl Fn(&str) -> String, more: &[(&str, &str)]) -> Bar {
    let quoted = |name: &str| format!("\"{}\"", named(name).replace('"', "\"\""));
    let (rail, back) = (quoted("Rail"), quoted("Back"));
    let place = |name: &str| if name == "Rail" { &rail } else { &back };
    let mut stock = "item,kind,size\n".to_owned();
    let mut offers = "supplier,item,pack,price\n".to_owned();
    let (mut drinks, mut specs, mut pos) =
        ("drink,price,tax\n", "drink,ingredient,quantity\n", "sold_as,drink\n").map_each(str::to_owned);
    let mut counts = "count,at,place,item,full,open,by\n".to_owned();
    let mut sales = "receipt,line,at,sold_as,quantity,net\n".to_owned();
    let mut count = |name: &str, when: &str, place: &str, item: &str, tenths: i64| {
        writeln!(counts, "{name},{when},{place},{item},{},.{},OM", tenths / 10, tenths % 10).unwrap();
    };
    for (line, (name, stands, first, weekly, last, sold)) in ITEMS.iter().enumerate() {
        let item = quoted(name);
        writeln!(stock, "{item},spirit,700 ml").unwrap();
        writeln!(offers, "Quendelbach,{item},6,60.00").unwrap();
        writeln!(drinks, "{item},7.00,0").unwrap();
        writeln!(specs, "{item},{item},35 ml").unwrap();
        writeln!(pos, "{item},{item}").unwrap();
        for week in 0..=WEEKS {
            let more = if week == WEEKS { *last } else { 0 };
            count(&format!("week {week}"), &at(week, 0, "02:00"), place(stands), &item, first - weekly * week - more);
            if week < WEEKS {
                let (receipt, when) = (week + 1, at(week, 4, "22:00"));
                writeln!(
                    sales,
                    "{receipt},{},{when},{item},{}.{},{}.00",
                    line + 1,
                    sold / 10,
                    sold % 10,
                    6 * sold / 10
                )
                .unwrap();
            }
        }
        if *stands == "Rail" {
            // On the Thursday before the last count, when nothing had been sold yet.
            count("rail", &at(WEEKS - 1, 3, "02:00"), &rail, &item, first - weekly * (WEEKS - 1));
        }
    }
    // Of one no price is known, one was never counted before.
    let bitters = quoted("Bitters");
    let sherry = quoted("Sherry");
    write!(stock, "{bitters},other,200 ml\n{sherry},wine,700 ml\n").unwrap();
    for week in 0..=WEEKS {
        count(&format!("week {week}"), &at(week, 0, "02:00"), &back, &bitters, 12);
    }
    count(&format!("week {WEEKS}"), &at(WEEKS, 0, "02:00"), &back, &sherry, 21);
    // 7 of what nobody has said the meaning of: half a bottle of vodka.
    writeln!(sales, "99,1,{},{},7,49.00", at(WEEKS - 1, 4, "23:00"), quoted("MYSTERY")).unwrap();
    let venue = format!(
        "key,value\nname,{}\ncurrency,EUR\ntime_zone,Europe/Berlin\ntenths_of,volume\nlanguage,en-IE\n",
        quoted("Any bar")
    );
    let files = [
        ("venue.csv", venue.as_str()),
        ("people.csv", "initials,name,role\nOM,Odalys Marrenby,manager\n"),
        ("places.csv", &format!("place,walk\n{rail},1\n{back},2\n")),
        ("shelves.csv", "place,item\n"),
        ("orders.csv", "order,line,supplier,item,packs,price,state,placed,pack\n"),
        ("stock.csv", &stock),
        ("offers.csv", &offers),
        ("drinks.csv", &drinks),
        ("specs.csv", &specs),
        ("pos.csv", &pos),
        ("counts.csv", &counts),
        ("sales.csv", &sales),
    ];
    let bar = Bar::with(&[&files, more].concat());
    accept_brandy(&bar, &named("Brandy"), &named("it was the birthday"));
    bar
}

trait MapEach<T> {
    fn map_each<U>(self, f: impl Fn(T) -> U) -> (U, U, U);
}

impl<T> MapEach<T> for (T, T, T) {
    fn map_each<U>(self, f: impl Fn(T) -> U) -> (U, U, U) {
        (f(self.0), f(self.1), f(self.2))
    }
}

fn store(bar: &Bar) -> Store {
    Store::open(&bar.0.path().join("bar.tantalus")).unwrap()
}

fn accept_brandy(bar: &Bar, name: &str, note: &str) {
    let store = store(bar);
    let item = setup(&store).unwrap().items.iter().find(|item| item.name == name).unwrap().id;
    let closing = all_counts(&store).unwrap().into_iter().find(|count| count.name == "week 7").unwrap().id;
    let accepted = Accepted { closing, item, cause: CauseWord::Gone, note: Some(note.to_owned()) };
    accept(&store, &accepted, Some("OM"), Moment(1_795_000_000_000)).unwrap();
}

/// Writes the report; the page and the table.
fn report(bar: &Bar) -> (String, String) {
    let said = bar.says(&["report", "--into", "out"]);
    let mut files = said.lines().map(|line| {
        let path = bar.0.path().join(line.strip_prefix("Written: ").unwrap());
        fs::read_to_string(path).unwrap()
    });
    (files.next().unwrap(), files.next().unwrap())
}

fn viewed(bar: &Bar) -> (Setup, PeriodView) {
    let store = store(bar);
    (setup(&store).unwrap(), review(&store, Choice::default()).unwrap())
}

/// The page as a tree: well-formed but for the two elements that HTML never closes.
fn well_formed(page: &str) -> String {
    let text = page.replace("<!DOCTYPE html>", "");
    let text = ["<meta charset=\"utf-8\">", "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">"]
        .iter()
        .fold(text, |text, meta| text.replacen(meta, "", 1));
    let tree = roxmltree::Document::parse(&text).unwrap();
    let known = [
        "html",
        "head",
        "title",
        "style",
        "body",
        "header",
        "section",
        "h1",
        "h2",
        "h3",
        "p",
        "dl",
        "dt",
        "dd",
        "div",
        "ol",
        "ul",
        "li",
        "strong",
        "span",
        "bdi",
        "table",
        "tr",
        "th",
        "td",
        "figure",
        "figcaption",
        "svg",
        "line",
        "circle",
        "path",
        "rect",
        "text",
    ];
    for node in tree.descendants().filter(roxmltree::Node::is_element) {
        let name = node.tag_name().name();
        assert!(known.contains(&name), "<{name}>");
        // Nothing that runs, and nothing that is fetched.
        for attribute in node.attributes() {
            let plain =
                !attribute.name().starts_with("on") && !["href", "src", "xlink:href"].contains(&attribute.name());
            assert!(plain && !attribute.value().contains("url("), "{attribute:?}");
        }
        if name == "svg" {
            let title = node.children().find(|child| child.has_tag_name("title"));
            assert!(title.and_then(|title| title.text()).is_some_and(|title| !title.is_empty()));
            assert_eq!(node.attribute("role"), Some("img"));
        }
    }
    assert!(!page.contains("<script") && !page.contains("http") && !page.contains("NaN") && !page.contains("inf "));
    let body = tree.descendants().find(|node| node.has_tag_name("body")).unwrap();
    body.descendants().filter_map(|node| node.text().filter(|_| node.is_text())).collect::<Vec<_>>().join(" ")
}

fn records(table: &str) -> Vec<HashMap<String, String>> {
    csv::Reader::from_reader(table.as_bytes()).deserialize().map(Result::unwrap).collect()
}

#[test]
fn a_small_bar_on_one_page() {
    let (page, _) = report(&book(str::to_owned, &[]));
    let text = well_formed(&page);
    // A bottle of rum is 700 ml at 10.00; a tenth of gin is 70 ml, and it is told by the periods together.
    for said in ["+700 ± ", "+10.00 EUR", "in a period, 7 periods", "“MYSTERY”; 7 rung in 1 line, 49.00 EUR net"] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let settled = text.split_once("Settled").unwrap().1;
    assert!(settled.contains(cause_word(CauseWord::Gone)) && settled.contains("it was the birthday"), "{text}");
    let out = text.split_once("What is not told").unwrap().1;
    assert!(
        out.contains("Not counted at the beginning: Sherry.") && out.contains("No price is known: Bitters."),
        "{out}"
    );
    assert!(page.contains("<html lang=\"en\">"));
    // One line an element, so that a change can be read.
    let (head, body) = page.split_once("<style>").unwrap();
    let body = body.split_once("</style>").unwrap().1;
    insta::assert_snapshot!(format!("{head}{body}").replace("><", ">\n<"));
}

#[test]
fn the_table_says_what_the_view_says() {
    let bar = book(str::to_owned, &[]);
    let (_, table) = report(&bar);
    assert_eq!(table.matches("\r\n").count(), table.matches('\n').count());
    let (setup, view) = viewed(&bar);
    let records = records(&table);
    assert_eq!(records.len(), view.variance.rows.len());
    for (record, row) in records.iter().zip(&view.variance.rows) {
        let number = |head: &str| Decimal::parse(&record[head]).unwrap();
        let amount = |head: &str| Amount(number(head).exact(3).unwrap());
        let name = setup.item_name(row.item);
        assert_eq!(record["item"], name);
        assert_eq!((amount("opening"), amount("closing")), (row.opening.amount, row.closing.amount));
        assert_eq!(amount("opening") + amount("in") - amount("out") - amount("closing"), amount("used"), "{name}");
        assert_eq!(amount("used") - amount("sold"), amount("gap"), "{name}");
        assert_eq!((amount("used"), amount("sold"), amount("gap")), (row.usage, row.sold, row.gap));
        assert_eq!(amount("u"), Amount::rounded(row.u));
        let money = |head: &str| setup.venue.currency.parse(&record[head]).ok();
        assert_eq!((money("cost"), money("stake")), (row.cost, view.review.stake(row)), "{name}");
        let finding = view.review.of(row.item).unwrap();
        let near =
            |head: &str, part: f64| (record[head].parse::<f64>().unwrap() - part).abs() <= 5e-5_f64.max(0.01 * part);
        assert!(near("chance", finding.chance) && near("adjusted", finding.adjusted), "{record:?}");
        assert_eq!(record["over_periods"] == "yes", finding.over_periods);
        let verdict = match finding.verdict {
            Verdict::LookInto => "look-into",
            Verdict::Watch => "watch",
            Verdict::Within => "within",
        };
        assert_eq!(record["verdict"], verdict, "{name}");
        let first = view.suspects(row.item).first();
        assert_eq!(record["cause"], first.map_or("", |first| first.cause.word().word()));
        assert!(first.is_none_or(|first| near("share", first.share)));
    }
    // By hand: 490 ml go and 420 are sold of the gin each week; a bottle of rum is 10.00.
    let of = |name: &str| records.iter().find(|record| record["item"] == name).unwrap();
    let figures =
        |name: &str| ["used", "sold", "gap", "cost", "verdict", "over_periods"].map(|head| of(name)[head].as_str());
    assert_eq!(figures("Gin"), ["490", "420", "70", "1.00", "look-into", "yes"]);
    assert_eq!(figures("Rum"), ["1190", "490", "700", "10.00", "look-into", "no"]);
    assert_eq!(figures("Vodka"), ["770", "420", "350", "5.00", "look-into", "no"]);
    assert_eq!(figures("Aquavit"), ["350", "336", "14", "0.20", "watch", "no"]);
    assert_eq!(figures("Bitters"), ["0", "0", "0", "", "within", "no"]);
    assert_eq!(of("Vodka")["cause"], "unmapped-name");
    let settled = ["accepted_cause", "accepted_by", "note"].map(|head| of("Brandy")[head].as_str());
    assert_eq!(settled, [cause_word(CauseWord::Gone), "OM", "it was the birthday"]);
    assert_eq!(
        ["opening_count", "closing_count", "unit", "currency"].map(|head| of("Gin")[head].as_str()),
        ["week 6", "week 7", "ml", "EUR"]
    );
}

/// A name that tries to break out of the page, and is as long as a name can be that a person would have to read.
fn hostile(name: &str) -> String {
    format!("{name}</title><script>alert(\"{name}\")</script><img src=x onerror='1'> &amp; {}", "w".repeat(140))
}

#[test]
fn names_stay_names() {
    let bar = book(hostile, &[]);
    let (page, table) = report(&bar);
    let text = well_formed(&page);
    assert!(text.contains(&hostile("Rum")) && text.contains(&hostile("Rail")), "{text}");
    assert!(text.contains(&hostile("it was the birthday")) && text.contains(&hostile("MYSTERY")), "{text}");
    assert!(records(&table).iter().any(|record| record["item"] == hostile("Gin")));
}

/// What a book cannot be given by a file or a form, and might hold all the same.
#[test]
fn what_acts_on_a_spreadsheet_or_turns_the_writing_is_harmless() {
    let bar = book(str::to_owned, &[]);
    let (setup, mut view) = viewed(&bar);
    view.opening.name = "=HYPERLINK(\"x\")".to_owned();
    view.closing.name = " \u{202e}@sum\r\nof".to_owned();
    let settled = view.explained.values_mut().next().unwrap();
    settled.note = Some("+1\u{200f}".to_owned());
    settled.by = Some("-OM".to_owned());
    let table = String::from_utf8(week_table(&setup, &view).unwrap()).unwrap();
    let records = records(&table);
    let brandy = records.iter().find(|record| record["item"] == "Brandy").unwrap();
    let cells = ["opening_count", "closing_count", "accepted_by", "note"].map(|head| brandy[head].as_str());
    assert_eq!(cells, ["'=HYPERLINK(\"x\")", "'@sum of", "'-OM", "'+1"]);
    // A figure of ours keeps its sign and stays a number.
    let short = view.variance.rows.iter_mut().find(|row| setup.item_name(row.item) == "Gin").unwrap();
    (short.gap, short.cost) = (Amount(-70_600), Some(Money(-101)));
    let table = String::from_utf8(week_table(&setup, &view).unwrap()).unwrap();
    assert!(table.contains(",-70.6,") && table.contains(",-1.01,"), "{table}");
    let (_, goods) = used(&store(&bar), Asked::default(), Moment(1_795_000_000_000)).unwrap();
    let page = week_page(&setup, &view, &goods);
    let text = well_formed(&page);
    assert!(!page.contains(is_hidden) && text.contains("@sum of"), "{text}");
    assert!(text.contains("-71 ± "), "{text}");
}

#[test]
fn nothing_to_say_is_said() {
    let counts =
        "count,at,place,item,full\nfirst,2026-11-02 02:00,Cellar,Gin,4\nsecond,2026-11-09 02:00,Cellar,Gin,4\n";
    let no_price = [
        ("offers.csv", "supplier,item,pack,price\n"),
        ("orders.csv", "order,line,supplier,item,packs,price,state,placed,pack\n"),
    ];
    let bar = Bar::with(&[&no_price[..], &[("counts.csv", counts)]].concat());
    let (page, table) = report(&bar);
    let text = well_formed(&page);
    for said in ["Nothing: every gap is within", "Nothing that has a known price", "No price is known: Gin."] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert_eq!((records(&table).len(), text.contains("To watch"), text.contains("Up: how much")), (1, false, false));
    // No item in common.
    let counts =
        "count,at,place,item,full\nfirst,2026-11-02 02:00,Cellar,Gin,4\nsecond,2026-11-09 02:00,Cellar,Tonic,4\n";
    let (page, table) = report(&Bar::with(&[("counts.csv", counts)]));
    assert!(well_formed(&page).contains("no item in common"));
    assert_eq!(records(&table).len(), 0);
}

#[test]
fn the_command() {
    let bar = book(str::to_owned, &[]);
    // Without a folder, beside the book.
    let said = bar.says(&["report", "--from", "week 2", "--to", "week 3"]);
    let names: Vec<&str> = said.lines().map(|line| line.rsplit('/').next().unwrap()).collect();
    assert_eq!(names, ["2026-10-11 to 2026-10-18 variance.html", "2026-10-11 to 2026-10-18 variance.csv"]);
    let page = fs::read_to_string(bar.0.path().join("orders").join(names[0])).unwrap();
    // Of an earlier period nothing is left to be looked at again.
    assert!(page.contains("<bdi>week 3</bdi>") && !page.contains("before anything is poured"), "{page}");
    let form = bar.json(&["report", "--into", "out", "--json"]);
    assert_eq!(
        form["written"],
        serde_json::json!(["out/2026-11-08 to 2026-11-15 variance.html", "out/2026-11-08 to 2026-11-15 variance.csv"])
    );
    assert!(bar.refuses(&["report", "--from", "week 9"]).contains("no count called “week 9”"));
    assert!(bar.refuses(&["report", "--from", "week 3", "--to", "week 2"]).contains("was not counted before"));
    fs::write(bar.0.path().join("file"), "").unwrap();
    assert!(bar.refuses(&["report", "--into", "file"]).contains("file"));
}
