//! A count sheet that was printed, filled in by hand and typed in: by command and through the screens. Its numbers are those
//! of the page, its lines are of when it was filled in, and nothing of it is lost.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/pty.rs"]
mod pty;

use pty::{Session, on_book};
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use serde_json::{Value, json};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tantalus::app::{App, Options};
use tantalus::domain::rows::{CountSheet, Sheet};
use tantalus::domain::venue::Moment;
use tantalus::exchange::print::count_sheet_pdf;
use tantalus::store::{Store, counts};

/// Ten in the morning after a Sunday's trade.
const NOW: &str = "2026-11-23T10:00:00+01:00";

/// A bar of two places in Berlin. On paper: 1 Gin, 2 Rum on the rail; 3 Gin, 4 Ale in the cellar.
///
/// By hand: the opening count has 1 050 ml of gin on the rail and 6 bottles, 4 200 ml, in the cellar; four gins of 50 ml are
/// sold at ten in the evening, two more at ten to two.
const FILES: &[(&str, &str)] = &[
    ("venue.csv", "key,value\nname,Paper bar\ncurrency,EUR\ntime_zone,Europe/Berlin\nprices_include_tax,yes\n"),
    ("people.csv", "initials,role\nOM,manager\nIP,counter\n"),
    ("places.csv", "place,walk\nRail,1\nCellar,2\nAttic,3\n"),
    (
        "stock.csv",
        "item,kind,size,count_by\nGin,spirit,700 ml,tenths\nRum,spirit,700 ml,tenths\nAle,beer,330 ml,whole\nCider,beer,330 ml,whole\n",
    ),
    ("shelves.csv", "place,item,position\nRail,Gin,1\nRail,Rum,2\nCellar,Gin,1\nCellar,Ale,2\n"),
    ("drinks.csv", "drink,price,tax\nPink gin,9.00,19\n"),
    ("specs.csv", "drink,ingredient,quantity\nPink gin,Gin,50 ml\n"),
    ("pos.csv", "sold_as,drink\nPINK,Pink gin\n"),
    (
        "sales.csv",
        "receipt,line,at,sold_as,quantity,net\nR1,1,2026-11-22 22:00,PINK,4,30.00\nR2,1,2026-11-23 01:50,PINK,2,15.00\n",
    ),
    (
        "counts.csv",
        "count,at,place,item,full,open,by\nfirst,2026-11-16 02:00,Rail,Gin,1,.5,OM\nfirst,2026-11-16 02:01,Rail,Rum,2,,OM\n\
         first,2026-11-16 02:02,Cellar,Gin,6,,OM\nfirst,2026-11-16 02:03,Cellar,Ale,24,,OM\n",
    ),
];

struct Bar(tempfile::TempDir);

impl Bar {
    fn new() -> Bar {
        let bar = Bar(tempfile::tempdir().unwrap());
        for (name, text) in FILES {
            bar.write(&format!("plain/{name}"), text);
        }
        bar.says(&["init", "plain"]);
        bar
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.0.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    fn book(&self) -> PathBuf {
        self.0.path().join("bar.tantalus")
    }

    fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
        command.args(args).current_dir(self.0.path());
        command.env("TANTALUS_BOOK", self.book()).env("TANTALUS_NOW", NOW).env_remove("TANTALUS_BY");
        command
    }

    fn says(&self, args: &[&str]) -> String {
        success(args, self.command(args).output().unwrap())
    }

    fn json(&self, args: &[&str]) -> Value {
        serde_json::from_str(&self.says(args)).unwrap()
    }

    /// The reason of a command that must be refused.
    fn refuses(&self, args: &[&str]) -> String {
        let output = self.command(args).output().unwrap();
        assert_eq!(output.status.code(), Some(1), "{args:?}");
        String::from_utf8(output.stderr).unwrap()
    }

    /// Types a sheet in from standard input, in JSON.
    fn types_in(&self, text: &str, more: &[&str]) -> Value {
        let args = [&["count", "--from-sheet", "-", "--by", "IP", "--json"], more].concat();
        let mut child =
            self.command(&args).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
        serde_json::from_str(&success(&args, child.wait_with_output().unwrap())).unwrap()
    }

    /// The rows of `counts.csv` of a dump that are not of the first count, up to who counted.
    fn dumped(&self) -> Vec<String> {
        let folder = self.0.path().join("dumped");
        let _ = std::fs::remove_dir_all(&folder);
        self.says(&["dump", folder.to_str().unwrap()]);
        let text = std::fs::read_to_string(folder.join("counts.csv")).unwrap();
        text.lines()
            .skip(1)
            .filter(|line| !line.starts_with("first,"))
            .map(|line| line[..line.rfind(',').unwrap()].to_owned())
            .collect()
    }

    fn app(&self, by: Option<&str>) -> App {
        let options = Options { by: by.map(str::to_owned), ..Options::default() };
        App::new(Store::open(&self.book()).unwrap(), options, now()).unwrap()
    }
}

fn success(args: &[&str], output: Output) -> String {
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn now() -> Moment {
    Moment(chrono::DateTime::parse_from_rfc3339(NOW).unwrap().timestamp_millis())
}

fn press(app: &mut App, keys: &str, at: Moment) {
    for key in keys.chars() {
        let code = match key {
            '\n' => KeyCode::Enter,
            '\u{1b}' => KeyCode::Esc,
            c => KeyCode::Char(c),
        };
        app.key(KeyEvent::new(code, KeyModifiers::NONE), at);
    }
}

/// The row of an item in the variance of the last two counts.
fn variance(bar: &Bar, item: &str) -> Value {
    let view = bar.json(&["variance", "--json"]);
    view["rows"].as_array().unwrap().iter().find(|row| row["item"] == item).unwrap().clone()
}

const FULL: &str = "1 .9\n2 1.5\n3 6\n4 24\n";

#[test]
fn what_was_sold_after_the_sheet_is_no_part_of_it() {
    let bar = Bar::new();
    let typed = bar.types_in(FULL, &["--at", "01:30"]);
    assert_eq!(typed["at"], "2026-11-23T01:30:00+01:00");
    assert_eq!((&typed["closed"], &typed["kept"], &typed["missing"]), (&json!(true), &json!(4), &json!([])));
    let name = format!("2026-11-22 sheet {} by IP: full", typed["mark"].as_str().unwrap());
    assert_eq!(typed["count"], name.as_str());
    let want = [
        format!("{name},2026-11-23 01:30,Cellar,Ale,24,,whole,IP"),
        format!("{name},2026-11-23 01:30,Cellar,Gin,6,,tenths,IP"),
        format!("{name},2026-11-23 01:30,Rail,Gin,0,.9,tenths,IP"),
        format!("{name},2026-11-23 01:30,Rail,Rum,1,.5,tenths,IP"),
    ];
    assert_eq!(bar.dumped(), want);
    // 1 050 − 630 = 420 ml went, 4 × 50 = 200 were sold by then; the two at ten to two come after.
    let gin = variance(&bar, "Gin");
    assert_eq!((&gin["used"], &gin["sold"], &gin["gap"]), (&json!(420_000), &json!(200_000), &json!(220_000)));
    // On hand now: 630 + 4 200 − 2 × 50.
    let stock = bar.json(&["stock", "--json"]);
    let gin = stock["items"].as_array().unwrap().iter().find(|row| row["item"] == "Gin").unwrap().clone();
    assert_eq!(gin["on_hand"], 4_730_000);
    let closed = bar.json(&["count", "--json"])["counts"][0].clone();
    assert_eq!((&closed["begun"], &closed["closed"]), (&typed["at"], &typed["at"]));
    assert_eq!(closed["blind"], true);
    bar.says(&["check"]);
}

/// The same sheet through the screens is the same count, to the row.
#[test]
fn the_screens_and_the_command_make_the_same_count() {
    let by_command = Bar::new();
    by_command.types_in(FULL, &["--at", "01:30"]);
    let bar = Bar::new();
    let mut app = bar.app(None);
    press(&mut app, "Cf01:30\nip\n\n", now());
    press(&mut app, "3:6\n24\n1:.9\n1.5\nx\n", now());
    assert!(app.sheet().is_none(), "it is closed");
    assert_eq!(bar.dumped(), by_command.dumped());
    assert_eq!(bar.json(&["count", "--json"]), by_command.json(&["count", "--json"]));
    assert_eq!(variance(&bar, "Gin"), variance(&by_command, "Gin"));
}

/// While it is typed in, what a closed place means is reckoned as of then.
#[test]
fn a_closed_place_means_what_it_meant_then() {
    let bar = Bar::new();
    let mut app = bar.app(None);
    press(&mut app, "Cf01:30\nip\n\n", now());
    press(&mut app, ".9\n", now());
    let meaning = |sheet: &Sheet| sheet.meaning(0, None).unwrap();
    let first = meaning(app.sheet().unwrap());
    assert_eq!((first.sold.0, first.gap.map(|g| g.0)), (200_000, Some(220_000)));
    // The same after it was read anew from the book, where the sales of later stand as well.
    press(&mut app, "TC", now());
    let anew = meaning(app.sheet().unwrap());
    assert_eq!((anew.sold, anew.gap, anew.order), (first.sold, first.gap, first.order));
}

#[test]
fn lines_that_are_missing_leave_the_count_open() {
    let bar = Bar::new();
    let said = bar.types_in("1 .9\n4 24\n", &["--at", "01:30"]);
    assert_eq!((&said["closed"], &said["lines"], &said["kept"]), (&json!(false), &json!(4), &json!(2)));
    let missing = json!([
        {"number": 2, "place": "Rail", "item": "Rum"},
        {"number": 3, "place": "Cellar", "item": "Gin"},
    ]);
    assert_eq!(said["missing"], missing);
    // On the screen it goes on as a sheet, at the first line without an entry, and is signed by whoever counted.
    let mut app = bar.app(Some("OM"));
    press(&mut app, "C\n", now());
    let sheet = app.sheet().unwrap();
    assert_eq!((sheet.numbered(4), sheet.filled.as_ref().unwrap().by.as_deref()), (Some(3), Some("IP")));
    press(&mut app, "2\n6\nx\n", now());
    assert!(bar.dumped().iter().all(|row| row.contains(",2026-11-23 01:30,") && row.ends_with(",IP")));
    assert_eq!(bar.dumped().len(), 4);
    // With --close it is closed as it is.
    let bar = Bar::new();
    bar.write("sheet.txt", "1 .9\n");
    let said = bar.says(&["count", "--from-sheet", "sheet.txt", "--at", "01:30", "--by", "OM", "--close"]);
    assert!(said.contains("Without an entry: 2-4") && said.contains("The count is closed"), "{said}");
}

#[test]
fn everything_that_is_wrong_is_named_and_nothing_is_kept() {
    let bar = Bar::new();
    bar.write("sheet.txt", "# rail\n1 99\n2 1.x\n5 1\n\nAle .4\nVodka 1\n");
    let said = bar.refuses(&["count", "--from-sheet", "sheet.txt", "--by", "OM"]);
    for want in [
        "sheet.txt, line 2: Gin: 99 sealed ones? --sure, if that is so",
        "sheet.txt, line 3: Rum: “1.x”",
        "sheet.txt, line 4: the sheet has no line 5; expected a number from 1 to 4",
        "sheet.txt, line 6: only whole containers of Ale are counted",
        "sheet.txt, line 7: “Vodka 1”",
    ] {
        assert!(said.contains(want), "{want}\n{said}");
    }
    let listed = || bar.json(&["count", "--json"])["counts"].as_array().unwrap().len();
    assert_eq!((listed(), bar.dumped()), (1, vec![]));
    // What is only hard to believe is taken when somebody says so.
    bar.write("sheet.txt", "1 99\n");
    bar.refuses(&["count", "--from-sheet", "sheet.txt", "--by", "OM"]);
    bar.says(&["count", "--from-sheet", "sheet.txt", "--by", "OM", "--sure"]);
    assert_eq!(listed(), 2);
    // Another one waits until that is closed.
    assert!(bar.refuses(&["count", "--from-sheet", "sheet.txt", "--by", "OM"]).contains("is not closed yet"));
    for (text, want) in [("", "no line says what was counted"), ("# 1 2\n", "no line says what was counted")] {
        let bar = Bar::new();
        bar.write("sheet.txt", text);
        assert!(bar.refuses(&["count", "--from-sheet", "sheet.txt", "--by", "OM"]).contains(want));
    }
}

#[test]
fn who_and_when() {
    let bar = Bar::new();
    bar.write("sheet.txt", FULL);
    let with = |more: &[&'static str]| [&["count", "--from-sheet", "sheet.txt"], more].concat();
    for (more, want) in [
        (&["--by", "XX"][..], "nobody here signs as XX; one of IP, OM"),
        (&[], "nobody is said to have filled the sheet in"),
        (&["--by", "OM", "--at", "today 10:01"], "--at: Mon 23 Nov 10:01 is still to come"),
        (&["--by", "OM", "--at", "noonish"], "--at: expected a time such as 01:30"),
        (&["--by", "OM", "--at", "2026-10-25 02:30"], "--at: this time happens twice in Europe/Berlin"),
        (&["--by", "OM", "--at", "2026-03-29 02:30"], "--at: this time does not exist in Europe/Berlin"),
        (
            &["--by", "OM", "--at", "2026-11-16 02:03"],
            "no newer than the last count of its places, of Mon 16 Nov 02:03",
        ),
    ] {
        let said = bar.refuses(&with(more)).replace("\n  ", "; ");
        assert!(said.contains(want), "{want}\n{said}");
    }
    assert_eq!(bar.dumped(), Vec::<String>::new());
    // Said to be so, the older one stands before the count that the book has.
    bar.says(&with(&["--by", "OM", "--at", "2026-11-15 02:00", "--sure"]));
    let names: Vec<Value> =
        bar.json(&["count", "--json"])["counts"].as_array().unwrap().iter().map(|c| c["name"].clone()).collect();
    assert_eq!((names.len(), &names[0]), (2, &json!("first")));
    // Without a word of when, it is of now.
    let bar = Bar::new();
    assert_eq!(bar.types_in(FULL, &[])["at"].as_str().unwrap()[..16], NOW[..16]);
}

#[test]
fn the_mark_tells_of_other_shelves() {
    let bar = Bar::new();
    bar.says(&["count", "--sheet", "--into", "out"]);
    let mark = mark_of(&bar.0.path().join("out/2026-11-23 count sheet.pdf"));
    // Of one place, the sheet has other numbers and another mark.
    bar.says(&["count", "--sheet", "--place", "cellar", "--into", "out"]);
    let cellar = mark_of(&bar.0.path().join("out/2026-11-23 count sheet Cellar.pdf"));
    assert_ne!(mark, cellar);
    bar.write("sheet.txt", "1 6\n2 24\n");
    let refused = |mark: &str| {
        bar.refuses(&["count", "--from-sheet", "sheet.txt", "--by", "OM", "--mark", mark, "--at", "01:30"])
    };
    assert!(refused(&cellar).contains("printed of other shelves or other places"));
    assert!(refused("x").contains("“x” is no mark of a sheet"));
    // The shelves change after the sheet was printed: its numbers are refused, names are not.
    bar.write("more/shelves.csv", "place,item,position\nRail,Cider,0\n");
    bar.write("more/venue.csv", FILES[0].1);
    bar.says(&["load", "more"]);
    bar.write("sheet.txt", "1 .9\n2 1.5\n");
    let said = refused(&mark);
    assert!(said.contains(&format!("the sheet with the mark {mark} was printed of other shelves")), "{said}");
    assert!(said.contains("type it in by names"), "{said}");
    bar.write("sheet.txt", "Rail:\nGin .9\nRum 1.5\nCellar:\nGin 6\nAle 24\n");
    let mark = mark.to_lowercase();
    bar.says(&["count", "--from-sheet", "sheet.txt", "--by", "OM", "--mark", &mark, "--at", "01:30", "--close"]);
    let dumped = bar.dumped();
    assert_eq!(dumped[2], "2026-11-22 sheet by OM: full,2026-11-23 01:30,Rail,Gin,0,.9,tenths,OM");
    assert_eq!(dumped.len(), 4);
}

/// Shelves that change while a sheet is typed in take its numbers away; what is typed in by name is still right.
#[test]
fn shelves_that_change_meanwhile() {
    let bar = Bar::new();
    let mut app = bar.app(None);
    press(&mut app, "Cf01:30\nip\n\n", now());
    press(&mut app, ".9\n", now());
    bar.write("more/shelves.csv", "place,item,position\nRail,Cider,0\n");
    bar.write("more/venue.csv", FILES[0].1);
    bar.says(&["load", "more"]);
    app.idle(now());
    assert_eq!(app.sheet().unwrap().numbered(2), None);
    press(&mut app, "2:1.5\n", now());
    press(&mut app, "\u{1b}/rum\n1.5\n", now());
    assert_eq!(
        bar.dumped().iter().map(|row| row.split(',').nth(3).unwrap().to_owned()).collect::<Vec<_>>(),
        ["Gin", "Rum"]
    );
}

/// What was written below the lines has its spot from the next sheet on, and shifts no number of this one.
#[test]
fn what_was_not_listed() {
    let bar = Bar::new();
    let mut app = bar.app(None);
    press(&mut app, "Cf01:30\nip\n\n", now());
    press(&mut app, ".9\n1.5\nacider\n12\n", now());
    assert_eq!(app.sheet().unwrap().number(3), Some(3));
    // Gone on with another day, it is still as it was.
    drop(app);
    let mut app = bar.app(None);
    press(&mut app, "C\n", now());
    let sheet = app.sheet().unwrap();
    assert_eq!((sheet.number(2), sheet.number(3)), (None, Some(3)));
    assert_eq!(bar.says(&["count", "--sheet", "--into", "out"]).lines().count(), 1);
    press(&mut app, "3:6\n24\nx\n", now());
    let printed =
        CountSheet::new(&tantalus::desk::comparing::setup(&Store::open(&bar.book()).unwrap()).unwrap(), &[], day());
    let names: Vec<&str> = printed.lines().map(|line| line.name.as_str()).collect();
    assert_eq!(names, ["Gin", "Rum", "Cider", "Gin", "Ale"]);
    // The same by command.
    let bar = Bar::new();
    bar.types_in(&format!("Rail:\nCider 12\n{FULL}"), &["--at", "01:30"]);
    assert_eq!(bar.dumped().len(), 5);
    bar.says(&["check"]);
}

fn day() -> chrono::NaiveDate {
    chrono::NaiveDate::from_ymd_opt(2026, 11, 23).unwrap()
}

/// The text of each page, as the library lopdf 0.47 reads it.
fn pages(document: &lopdf::Document) -> Vec<String> {
    let numbers: Vec<u32> = document.get_pages().keys().copied().collect();
    numbers.iter().map(|n| document.extract_text(&[*n]).unwrap()).collect()
}

/// The mark in the head of a sheet: the word before it says so.
fn mark_of(file: &Path) -> String {
    let text = pages(&lopdf::Document::load(file).unwrap()).concat();
    let lines: Vec<&str> = text.lines().collect();
    let at = lines.iter().position(|line| line.trim() == "mark").expect("a mark");
    let near = lines[at.saturating_sub(1)..].iter().map(|line| line.trim());
    near.into_iter().find(|word| tantalus::domain::rows::parse_mark(word).is_some()).unwrap().to_owned()
}

#[test]
fn the_numbers_are_those_of_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let setup = tantalus::desk::comparing::setup(&Store::open(&book).unwrap()).unwrap();
    let options = Options { by: Some("OM".to_owned()), ..Options::default() };
    let mut app = App::new(Store::open(&book).unwrap(), options, demo::now()).unwrap();
    for (places, keys) in [(vec![], "Cf\n\n\n"), (vec![setup.places[1].id], "jjf\n\n\n")] {
        press(&mut app, keys, demo::now());
        let sheet = app.sheet().unwrap().clone();
        let printed = CountSheet::new(&setup, &places, day());
        let pdf = lopdf::Document::load_mem(&count_sheet_pdf(&printed).unwrap()).unwrap();
        let pages = pages(&pdf);
        assert!(pages.iter().all(|page| page.contains(&printed.mark())), "the mark is on every page");
        let text = pages.concat();
        assert_eq!(sheet.filled.as_ref().unwrap().mark, Some(printed.mark()));
        assert!(sheet.lines.len() > 80);
        for line in 0..sheet.lines.len() {
            let (number, name) = (sheet.number(line).unwrap(), sheet.setup.item_name(sheet.lines[line].item));
            assert_eq!(number, line + 1);
            assert!(text.contains(&format!("\n{number}\n{name}\n")), "{number} {name}\n{text}");
        }
        // Nothing was counted, so there is nothing to close but one line.
        press(&mut app, "0\nx\n", demo::now());
        assert!(app.sheet().is_none());
        press(&mut app, "C", demo::now());
    }
}

/// Killed with -9 while a sheet is typed in: what was shown as kept is in the book, and it goes on as a sheet.
#[test]
fn a_sheet_outlives_the_program() {
    let bar = Bar::new();
    let start = || {
        let mut command = on_book(&bar.book(), NOW);
        command.args(["--by", "OM"]);
        Session::start(command, 80, 24)
    };
    let mut session = start();
    session.until_text("help");
    session.press_until("C", "Choose what to walk");
    session.press_until("f", "Filled in at");
    session.press_until("01:30\r", "Who looked");
    session.press_until("\x15IP\r", "top right of the paper");
    session.press_until("\r", "0 of 4 lines");
    session.press_until("4:24\r", "1 of 4 lines");
    session.press_until("1:.9\r", "2 of 4 lines");
    session.slay();
    let rows = bar.dumped();
    assert_eq!(rows.len(), 2);
    assert!(rows.iter().all(|row| row.contains(",2026-11-23 01:30,") && row.contains(",IP")), "{rows:?}");
    let mut session = start();
    session.until_text("help");
    session.press_until("C", "by IP: full” is not closed");
    session.press_until("\r", "2 of 4 lines");
    // The last one typed in is the first to be taken back, though both are of the same moment.
    session.press_until("u", "taken back: Gin");
    session.press_until(".8\r", "2 of 4 lines");
    session.press_until("1.5\r", "3 of 4 lines");
    session.press_until("x", "Without: 3");
    session.press_until("\r", "the count is closed");
    session.press("q");
    session.end();
    let rows = bar.dumped();
    assert_eq!(rows.len(), 3);
    assert!(rows[1].ends_with(",2026-11-23 01:30,Rail,Gin,0,.8,tenths,IP"), "{rows:?}");
    // What was taken back is of then as well: nothing in this count is of when it was typed in.
    let store = Store::open(&bar.book()).unwrap();
    let id = store.read(|conn| Ok::<_, tantalus::store::StoreError>(counts::list(conn)?[0].id)).unwrap();
    let history = store.read(|conn| counts::history(conn, id)).unwrap();
    assert_eq!(history.iter().filter(|row| row.withdrawn).count(), 1);
    assert!(history.iter().all(|row| row.line.at == history[0].line.at));
}
