//! Pars changed on the real screen and put back, by command beside it; what cannot be put back; what a look back refuses.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/demo.rs"]
mod demo;
#[path = "support/pty.rs"]
mod pty;

use bar::Bar;
use pty::{Session, on_book};
use serde_json::Value;
use std::ops::ControlFlow;
use std::path::Path;
use std::process::Command;
use tantalus::desk::{DeskError, par};
use tantalus::domain::rows::ParChange;
use tantalus::domain::venue::{Containers, ItemId, Moment, ParFrom};
use tantalus::store::Store;

fn start(book: &Path) -> Session {
    let mut command = on_book(book, demo::NOW);
    command.cwd(book.parent().unwrap());
    Session::start(command, 100, 30)
}

/// What the command says of all pars: item, which rules, by hand.
fn pars(book: &Path) -> Vec<(String, Value, Value)> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    let done = command.arg("--book").arg(book).args(["par", "--json"]).env("TANTALUS_NOW", demo::NOW).output().unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let form: Value = serde_json::from_slice(&done.stdout).unwrap();
    let items = form["items"].as_array().unwrap().clone();
    items
        .into_iter()
        .map(|i| (i["item"].as_str().unwrap().to_owned(), i["rules"].clone(), i["by_hand"].clone()))
        .collect()
}

#[test]
fn pars_are_changed_on_the_screen_and_put_back() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo::book(folder.path());
    let before = pars(&book);
    let first = before[0].0.clone();
    let mut screen = start(&book);
    screen.until_text("Closing count");
    screen.press_until("E", "items, all kinds, by name");

    screen.press_until("4..5\r", "expected a number of containers");
    screen.press_until("\x1b", "0-9 par");
    screen.press_until("4.5\r", &format!("The par of {first} is 4.5 by hand, and rules"));
    assert_eq!(pars(&book)[0].2, Value::from(3_150_000), "4.5 bottles of 700 ml");
    screen.press_until("d", &format!("Demand rules the par of {first}"));
    assert_eq!(pars(&book)[0].1, "demand");

    // All of them at once, after a question that says what it comes to.
    screen.press_until("m", "Which par rules");
    screen.press("jj");
    screen.press_until("\r", "Let demand rule all items?");
    screen.until("what that ties up", |s| s.contents().contains("EUR before"));
    screen.press_until("\r", "items are ruled by demand from now on");
    assert!(pars(&book).iter().all(|(_, rules, _)| rules == "demand"));

    // Back, one change after the other.
    screen.press_until("u", "items are as they were");
    let demand = pars(&book).iter().filter(|(_, rules, _)| rules == "demand").count();
    let was = before.iter().filter(|(_, rules, _)| rules == "demand").count();
    assert_eq!(demand, was + 1, "the first one is still ruled by demand");
    screen.press_until("u", &format!("Put back. The par of {first} is 4.5 by hand"));
    screen.press_until("u", &format!("Put back. The par of {first} is 2 by hand"));
    assert!(pars(&book) == before);
    screen.press_until("u", "nothing more was changed here");

    // What both would have done, and back to the list.
    screen.press_until("b", "What pars would have done");
    screen.press_until("-", "Asked for 8 weeks");
    screen.press_until("\x1b", "items, all kinds, by name");
    screen.press("q");
    screen.end();
}

fn store(bar: &Bar) -> Store {
    Store::open(&bar.0.path().join("bar.tantalus")).unwrap()
}

/// The stock file, and so all that is kept of pars.
fn dumped(bar: &Bar) -> String {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("dump");
    bar.says(&["dump", out.to_str().unwrap()]);
    std::fs::read_to_string(out.join("stock.csv")).unwrap()
}

#[test]
fn what_was_changed_elsewhere_meanwhile_is_not_put_back() {
    let bar = Bar::new();
    let store = store(&bar);
    let items: Vec<ItemId> = {
        let view = par::view(&store, tantalus::domain::venue::Moment(1_763_650_800_000)).unwrap();
        view.pars.iter().map(|par| par.item).collect()
    };
    let [gin, tonic] = items[..] else { panic!("{items:?}") };
    let nothing = dumped(&bar);
    let set =
        |item, containers: Option<i64>| par::set_by_hand(&store, item, containers.map(Containers), Moment(0)).unwrap();

    let first = set(gin, Some(4_000)).unwrap();
    assert_eq!(set(gin, Some(4_000)), None, "it is so already");
    set(tonic, Some(24_000)).unwrap();
    let by_hand = dumped(&bar);
    let ruled = par::rule(&store, &[gin, tonic], ParFrom::Demand, Moment(0)).unwrap();
    assert_eq!(ruled.len(), 2);
    assert_eq!(par::rule(&store, &[gin, tonic], ParFrom::Demand, Moment(0)).unwrap(), [], "they are so already");
    assert_ne!(dumped(&bar), by_hand);

    // Another terminal sets one of them: then neither is put back.
    set(tonic, Some(12_000)).unwrap();
    let meanwhile = dumped(&bar);
    let refused = par::put_back(&store, &ruled, Moment(0)).unwrap_err();
    assert!(refused.to_string().starts_with("the par of Tonic was changed elsewhere meanwhile"), "{refused}");
    assert_eq!(dumped(&bar), meanwhile);
    let back = ruled.iter().find(|change| change.item == gin).unwrap();
    par::put_back(&store, std::slice::from_ref(back), Moment(0)).unwrap();
    par::put_back(&store, &[first], Moment(0)).unwrap();
    assert!(par::put_back(&store, &[first], Moment(0)).is_err(), "only once");
    set(tonic, None).unwrap();
    assert_eq!(dumped(&bar), nothing);

    let gone = ParChange { item: ItemId(99), ..first };
    assert!(par::put_back(&store, &[gone], Moment(0)).is_err());
    assert!(par::set_by_hand(&store, gin, Some(Containers(-1)), Moment(0)).is_err());
    assert_eq!(dumped(&bar), nothing);
}

#[test]
fn the_command_says_what_changed() {
    let bar = Bar::new();
    assert_eq!(bar.says(&["par", "Gin", "--set", "4,5"]), "The par of Gin is 4.5 by hand, and rules.\n");
    assert_eq!(bar.says(&["par", "Gin", "--set", "4.5"]), "The par of Gin is so already.\n");
    let said = bar.says(&["par", "--all", "--rule", "demand"]);
    assert_eq!(said, "Nothing changes; 2 items have no such par.\n");
    assert_eq!(bar.says(&["par", "Gin", "--unset"]), "The par of Gin by hand is taken away: demand rules.\n");
    for typed in ["four", "-1", "20000"] {
        let said = bar.refuses(&["par", "Gin", &format!("--set={typed}")]);
        assert!(said.contains(&format!("“{typed}”: expected a")), "{said}");
    }
}

#[test]
fn a_look_back_needs_days_and_can_be_stopped() {
    let bar = Bar::new();
    let little = bar.refuses(&["par", "--back", "4"]);
    assert!(little.contains("a look back needs four weeks to learn from"), "{little}");
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&demo::book(folder.path())).unwrap();
    let mut steps = 0;
    let mut third = |done: u64, of: u64| {
        steps += 1;
        assert!(done < of);
        if steps == 3 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    };
    let stopped = par::look_back(&store, 4, demo::now(), &mut third);
    assert!(matches!(stopped, Err(DeskError::Stopped)) && steps == 3);
}
