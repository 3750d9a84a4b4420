//! Orders, budgets and what is carried up, through the whole program: what survives a kill, what is on order and until
//! when, one item in packs of two sizes, bookings of two terminals.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/demo.rs"]
mod demo;
#[path = "support/pty.rs"]
mod pty;
#[path = "support/typing.rs"]
mod typing;

use bar::Bar;
use pty::{Session, on_book};
use serde_json::Value;
use std::path::Path;
use std::process::Command;
use tantalus::app::App;
use tantalus::desk::{carrying, ordering};
use tantalus::domain::order::DraftLine;
use tantalus::domain::venue::Moment;
use tantalus::store::Store;
use typing::{app_of, press};

fn start(book: &Path) -> Session {
    let mut command = on_book(book, demo::NOW);
    command.env("NO_COLOR", "1");
    let mut session = Session::start(command, 120, 40);
    session.until_text("Closing count");
    session
}

fn orders(book: &Path) -> Value {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    let done =
        command.arg("--book").arg(book).args(["order", "--json"]).env("TANTALUS_NOW", demo::NOW).output().unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    serde_json::from_slice(&done.stdout).unwrap()
}

/// The first line of the draft that is named after a supplier, and whether somebody changed it.
fn first_line(orders: &Value, supplier: &str) -> (String, i64, bool) {
    let draft = orders["drafts"].as_array().unwrap().iter().find(|draft| draft["supplier"] == supplier).unwrap();
    let line = &draft["lines"][0];
    (line["item"].as_str().unwrap().to_owned(), line["packs"].as_i64().unwrap(), draft["changed"].as_bool().unwrap())
}

fn killed(mut session: Session) {
    session.slay();
}

#[test]
fn a_changed_draft_survives_a_kill_and_a_sent_order_is_on_order_until_it_is_given_up() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let before = orders(&book);
    let mut session = start(&book);
    session.press_until("O", "as suggested, nothing changed");
    let supplier = session.shown().lines().nth(2).unwrap().split("  ").next().unwrap().to_owned();
    let (item, suggested, changed) = first_line(&before, &supplier);
    assert!(!changed);
    session.press_until("+", "draft kept as");
    // A budget is what there is to spend today: it holds until the program ends, and no draft is changed by it.
    session.press_until("b400\r", "budget 400.00");
    killed(session);
    assert_eq!(first_line(&orders(&book), &supplier), (item.clone(), suggested + 1, true));

    let mut session = start(&book);
    session.press_until("O", "draft kept as");
    assert!(!session.shown().contains("budget 400.00"), "{}", session.shown());
    session.press("x");
    session.press_until("\r", "marked as sent");
    killed(session);
    let sent = orders(&book);
    let on_order = sent["on_order"].as_array().unwrap();
    assert_eq!(on_order.len(), 1);
    assert_eq!(on_order[0]["lines"][0]["item"], item.as_str());
    assert_eq!(on_order[0]["lines"][0]["packs"], suggested + 1);
    let listed = |orders: &Value| {
        let lines = orders["drafts"].as_array().unwrap().iter().flat_map(|draft| draft["lines"].as_array().unwrap());
        lines.filter(|line| line["item"] == item.as_str()).count()
    };
    assert_eq!((listed(&before), listed(&sent)), (1, 0), "what is on order is not ordered once more");

    let store = Store::open(&book).unwrap();
    let id = ordering::orders(&store, demo::now()).unwrap().sent[0].id;
    ordering::give_up(&store, id, Moment(0)).unwrap();
    let given_up = orders(&book);
    assert_eq!((given_up["on_order"].as_array().unwrap().len(), listed(&given_up)), (0, 1));
    assert_eq!(first_line(&given_up, &supplier), (item, suggested, false));
}

/// A bar that is short of thirteen bottles, which come in sixes and singly.
fn two_packs() -> Bar {
    Bar::with(&[
        ("stock.csv", "item,kind,size,par,shelf_max\nGin,spirit,700 ml,14,16\nTonic,mixer,200 ml,,\n"),
        ("offers.csv", "supplier,item,code,pack,price\nQuendelbach,Gin,21010,6,60.00\nQuendelbach,Gin,21011,1,12.00\n"),
        ("counts.csv", "count,at,place,item,full,open\nfull,2026-11-19 01:00,Cellar,Gin,1,\n"),
        ("orders.csv", "order,line,supplier,item,packs,price,state,placed,pack\n"),
    ])
}

fn app(bar: &Bar) -> App {
    app_of(&bar.0.path().join("bar.tantalus"), None, now())
}

fn now() -> Moment {
    Moment(chrono::DateTime::parse_from_rfc3339("2026-11-20T16:00:00+01:00").unwrap().timestamp_millis())
}

fn packs(line: &DraftLine) -> (i64, i64) {
    (line.packs, line.pack)
}

#[test]
fn one_item_in_packs_of_two_sizes_from_the_suggestion_to_the_van() {
    let bar = two_packs();
    let store = Store::open(&bar.0.path().join("bar.tantalus")).unwrap();
    let lines = |store: &Store| ordering::orders(store, now()).unwrap().drafts.remove(0).draft.lines;
    assert_eq!(lines(&store).iter().map(packs).collect::<Vec<_>>(), [(2, 6), (1, 1)]);

    // The second line gets one more; the first stays as it is, and so do the numbers of both.
    let mut app = app(&bar);
    press(&mut app, "Oj+", now());
    let kept = lines(&store);
    assert_eq!(kept.iter().map(packs).collect::<Vec<_>>(), [(2, 6), (2, 1)]);
    assert_eq!(kept.iter().map(|line| line.suggested).collect::<Vec<_>>(), [2, 1], "each what the other leaves");
    let codes: Vec<&str> = kept.iter().filter_map(|line| line.code.as_deref()).collect();
    assert_eq!(codes, ["21010", "21011"]);
    let why = press(&mut app, "\n", now());
    assert!(why.contains("Quendelbach: 2 packs of 6 at 60.00 EUR"), "{why}");
    assert!(why.contains("Quendelbach: 2 containers at 12.00 EUR (1 suggested)"), "{why}");
    assert!(why.contains("stays as written"), "{why}");

    press(&mut app, "\u{1b}", now());
    press(&mut app, "x\n", now());
    let setup = tantalus::desk::comparing::setup(&store).unwrap();
    let van = ordering::receivable(&store, &setup).unwrap().remove(0);
    assert_eq!(van.lines.iter().map(|line| line.ordered).collect::<Vec<_>>(), [12, 2]);
    assert_eq!(lines(&store), [], "thirteen were short, fourteen are on their way");
}

#[test]
fn a_budget_is_planned_by_and_taken_away_again() {
    let bar = two_packs();
    let mut app = app(&bar);
    let all = press(&mut app, "O", now());
    assert!(all.contains("goods 132.00 EUR"), "{all}");
    let within = press(&mut app, "b100\n", now());
    assert!(within.contains("budget 100.00 EUR  all orders 0.00  1 left out"), "{within}");
    let left = press(&mut app, "n", now());
    assert!(left.contains("Left out for the budget"), "{left}");
    let why = press(&mut app, "j\n", now());
    assert!(why.contains("Left out for the budget: nobody knows how likely it is to run dry."), "{why}");
    assert!(
        why.contains("From Quendelbach: 2 packs of 6 at 60.00 EUR and 1 container at 12.00 EUR; 132.00 EUR more"),
        "{why}"
    );
    let none = press(&mut app, &format!("\u{1b}b{}\np", "\u{8}".repeat(7)), now());
    assert!(none.contains("goods 132.00 EUR") && !none.contains("budget 100.00"), "{none}");
    assert!(bar.says(&["order", "--budget", "100"]).contains("Left out for the budget"), "the command says the same");
}

#[test]
fn enter_on_what_runs_dry_goes_to_its_line_and_on_a_deadline_to_its_order() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let store = Store::open(&book).unwrap();
    let (setup, rows) = tantalus::desk::looking::tonight(&store, demo::now()).unwrap();
    let dry = &rows.dry[0];
    assert!(!dry.made_here && !dry.vans.is_empty(), "the demo has something to order at once");
    let planned = ordering::orders(&store, demo::now()).unwrap();
    let line = planned.drafts.iter().find(|view| view.draft.lines.iter().any(|line| line.item == dry.item)).unwrap();
    let mut app = app_of(&book, None, demo::now());
    let shown = press(&mut app, "\n", demo::now());
    let supplier = |id| setup.supplier(id).unwrap().name.clone();
    assert!(shown.contains(&format!("{}  as suggested", supplier(line.draft.supplier))), "{shown}");
    assert!(shown.contains(&format!("\n{} (", setup.item_name(dry.item))), "the cursor is on it:\n{shown}");

    // Past what runs dry and the places to count: the first deadline.
    let down = "j".repeat(rows.dry.len() + 1 + rows.places.len());
    let shown = press(&mut app, &format!("T{down}\n"), demo::now());
    let first = supplier(rows.deadlines[0].supplier);
    assert!(shown.contains(&format!("{first}  as suggested")), "{first} in\n{shown}");
}

/// A rail that should have two and has a half; five stand in the cellar.
fn rail() -> Bar {
    Bar::with(&[
        ("places.csv", "place,walk\nRail,1\nCellar,2\n"),
        ("shelves.csv", "place,item,par\nRail,Gin,2\nCellar,Gin,\n"),
        (
            "counts.csv",
            "count,at,place,item,full,open\nfull,2026-11-19 01:00,Rail,Gin,0,.5\nfull,2026-11-19 01:10,Cellar,Gin,5,\n",
        ),
        ("people.csv", "initials,name,role\nIP,,counter\n"),
    ])
}

#[test]
fn what_is_carried_up_is_booked_once_and_can_be_taken_back() {
    let bar = rail();
    let path = bar.0.path().join("bar.tantalus");
    let (store, other) = (Store::open(&path).unwrap(), Store::open(&path).unwrap());
    let list = |store: &Store, later: i64| carrying::view(store, Moment(now().0 + later)).unwrap();
    let seen = list(&store, 0);
    assert_eq!(seen.list.iter().map(|carry| carry.containers()).collect::<Vec<_>>(), [1], "a half is left out");

    // Two terminals have the list on; the second to book it is told, and nothing is booked twice.
    assert_eq!(carrying::book(&store, &seen.list, Some("IP"), now()).unwrap(), 1);
    let refused = carrying::book(&other, &seen.list, Some("IP"), Moment(now().0 + 1_000)).unwrap_err().to_string();
    assert!(refused.contains("Gin need not be carried to Rail any more"), "{refused}");
    let after = list(&other, 1_000);
    assert_eq!((after.list.len(), after.carried.len()), (0, 1));
    assert_eq!(after.carried[0].by.as_deref(), Some("IP"));
    let empty = carrying::book(&other, &[], None, now()).unwrap_err().to_string();
    assert!(empty.contains("nothing is to be carried"), "{empty}");

    carrying::take_back(&other, after.carried[0].seq, None, Moment(now().0 + 2_000)).unwrap();
    let again = list(&store, 3_000);
    assert_eq!((again.list, again.carried.len()), (seen.list, 0));
    assert!(carrying::take_back(&store, after.carried[0].seq, None, now()).is_err(), "it is taken back once");
}

#[test]
fn carried_up_by_keys() {
    let bar = rail();
    let mut app = app(&bar);
    let page = press(&mut app, "c", now());
    assert!(page.contains("Carry up before service: 1 container"), "{page}");
    assert!(page.contains("Gin: 0.5 of 2.0 in Rail; carry 1 from Cellar."), "{page}");
    let asked = press(&mut app, "x", now());
    assert!(asked.contains("Was all of it carried? 1 container in 1 line, to 1"), "{asked}");
    let booked = press(&mut app, "\n", now());
    assert!(booked.contains("booked as carried: 1 container"), "{booked}");
    assert!(booked.contains("Carried on this business day"), "{booked}");
    let back = press(&mut app, "u\n", now());
    assert!(back.contains("taken back") && back.contains("Carry up before service: 1 container"), "{back}");
    let one = press(&mut app, "\n", now());
    assert!(one.contains("booked as carried: 1 container"), "{one}");
    let stock = press(&mut app, "\u{1b}", now());
    assert!(stock.contains("Stock is worth"), "{stock}");
    let text = bar.says(&["carry"]);
    assert!(text.contains("Every place is filled up to its par."), "{text}");
}
