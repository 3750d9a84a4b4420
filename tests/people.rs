//! Who is at the screen: roles and PINs, and that nobody sees or does what is not theirs.
#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/typing.rs"]
mod typing;

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tantalus::desk::people::{self, SignedIn};
use tantalus::desk::{DeskError, history};
use tantalus::domain::venue::{Deed, Moment, Person, Rights, Role};
use tantalus::store::Store;
use tempfile::{TempDir, tempdir};
use typing::{app_of, drawn, press};

/// The demo bar, whose manager has a PIN.
fn guarded() -> (TempDir, PathBuf, Store) {
    let home = tempdir().unwrap();
    let book = demo::book(home.path());
    let store = Store::open(&book).unwrap();
    let manager = manager(&store);
    people::set_pin(&store, &manager, Some("271828"), demo::now()).unwrap();
    (home, book, store)
}

fn one_of(store: &Store, role: Role) -> String {
    people::list(store).unwrap().into_iter().find(|row| row.person.role == role).unwrap().person.initials
}

fn manager(store: &Store) -> String {
    one_of(store, Role::Manager)
}

/// Begins a blind count of the whole bar.
fn begin_blind(store: &Store, by: Option<&str>, at: Moment) {
    let setup = tantalus::desk::comparing::setup(store).unwrap();
    let places: Vec<_> = setup.places.iter().map(|place| place.id).collect();
    tantalus::desk::counting::begin(store, &places, true, by, at).unwrap();
}

fn run(book: &Path, by: Option<&str>, pin: Option<&str>, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
    command.arg("--book").arg(book).args(args).env("TANTALUS_NOW", demo::NOW).stdin(Stdio::null());
    command.env_remove("TANTALUS_BY").env_remove("TANTALUS_PIN");
    if let Some(by) = by {
        command.args(["--by", by]);
    }
    if let Some(pin) = pin {
        command.env("TANTALUS_PIN", pin);
    }
    command.output().unwrap()
}

fn text(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

#[test]
fn rights_follow_from_roles_and_pins() {
    let home = tempdir().unwrap();
    let book = demo::book(home.path());
    let store = Store::open(&book).unwrap();
    let (manager, counter) = (one_of(&store, Role::Manager), one_of(&store, Role::Counter));
    let now = demo::now();
    let rights = |by: Option<&str>, pin: Option<&str>| {
        people::sign_out(&store).unwrap();
        if let Some(by) = by {
            people::sign_in(&store, by, pin, now).unwrap();
        }
        people::rights(&store).unwrap()
    };
    // Nobody has a PIN: only who says that they are a counter is one.
    assert_eq!(rights(None, None), Rights::Everything);
    assert_eq!(rights(Some(&manager), None), Rights::Everything);
    assert_eq!(rights(Some(&counter), None), Rights::NoCosts);
    people::sign_out(&store).unwrap();
    people::set_pin(&store, &manager, Some("4711"), now).unwrap();
    assert_eq!(rights(None, None), Rights::NoCosts);
    assert_eq!(rights(Some(&counter), None), Rights::NoCosts);
    assert_eq!(people::sign_in(&store, &manager.to_lowercase(), None, now).unwrap(), SignedIn::WantsPin);
    assert_eq!(people::rights(&store).unwrap(), Rights::NoCosts, "until it is given");
    assert_eq!(rights(Some(&manager), Some(" 4711 ")), Rights::Everything);
    // A manager without a PIN is one that anybody could say to be.
    people::put(&store, &Person { initials: "ZZ".to_owned(), name: None, role: Role::Manager }, now).unwrap();
    assert_eq!(rights(Some("ZZ"), None), Rights::NoCosts);
    assert!(people::sign_in(&store, "nobody", None, now).unwrap_err().to_string().contains("nobody here signs as"));
}

#[test]
fn what_is_no_pin_and_who_may_set_one() {
    let (_home, _, store) = guarded();
    let (manager, counter) = (manager(&store), one_of(&store, Role::Counter));
    let now = demo::now();
    let set = |pin: &str| people::set_pin(&store, &counter, Some(pin), now).map_err(|why| why.to_string());
    assert!(set("2580").unwrap_err().contains("only a manager"), "nobody has signed in");
    people::sign_in(&store, &manager, Some("271828"), now).unwrap();
    for pin in ["", "123", "1234567890123", "12a4", "7777"] {
        assert!(set(pin).is_err(), "{pin}");
    }
    assert_eq!(set("2580"), Ok(counter.clone()));
    let pins: Vec<bool> = people::list(&store).unwrap().iter().map(|row| row.has_pin).collect();
    assert_eq!(pins.iter().filter(|pin| **pin).count(), 2);
    // The only manager stays one.
    for other in people::list(&store).unwrap().into_iter().filter(|row| row.person.initials != manager) {
        people::put(&store, &Person { role: Role::Counter, ..other.person }, now).unwrap();
    }
    let person = Person { initials: manager.clone(), name: None, role: Role::Counter };
    assert!(people::put(&store, &person, now).unwrap_err().to_string().contains("the only manager"));
    // Nowhere in what the history says.
    let told: String = history::view(&store, None, 10).unwrap().acts.iter().map(|row| format!("{row:?}")).collect();
    assert!(told.contains("PIN of") && !told.contains("2580") && !told.contains("argon2"), "{told}");
}

#[test]
fn wrong_pins_are_written_down_and_cost_more_and_more_time() {
    let (_home, _, store) = guarded();
    let manager = manager(&store);
    let mut now = demo::now();
    let wrong = |now: Moment| people::sign_in(&store, &manager, Some("0815"), now).unwrap_err().to_string();
    let right = |now: Moment| people::sign_in(&store, &manager, Some("271828"), now);
    for _ in 0..3 {
        assert!(wrong(now).contains("not the PIN"));
    }
    assert!(wrong(now).contains("wait 6 seconds"), "{}", wrong(now));
    assert!(right(now).is_err(), "nor is the right one looked at");
    now = Moment(now.0 + 5_001);
    assert!(wrong(now).contains("not the PIN"));
    assert!(wrong(now).contains("wait 11 seconds"), "{}", wrong(now));
    now = Moment(now.0 + 10_001);
    assert_eq!(right(now).unwrap(), SignedIn::In);
    people::sign_out(&store).unwrap();
    let missed = history::view(&store, None, 20).unwrap();
    let missed =
        missed.acts.iter().filter(|row| row.act.deed == Deed::PinMissed && row.act.by.as_ref() == Some(&manager));
    assert_eq!(missed.count(), 4);
    // After a quarter of an hour nobody waits any more.
    assert_eq!(right(Moment(now.0 + 16 * 60_000)).unwrap(), SignedIn::In);
}

#[test]
fn commands_tell_costs_to_managers_only() {
    let (_home, book, store) = guarded();
    let manager = manager(&store);
    drop(store);
    for args in [
        &["variance"][..],
        &["goods"],
        &["report"],
        &["par"],
        &["order"],
        &["suppliers"],
        &["receive"],
        &["sales"],
        &["drinks", "--json"],
        &["drinks", "--corners"],
        &["history"],
        &["dump", "elsewhere"],
    ] {
        let refused = run(&book, None, None, args);
        assert_eq!(refused.status.code(), Some(1), "{args:?}: {}", text(&refused));
        assert!(text(&refused).contains("only a manager sees"), "{args:?}: {}", text(&refused));
        // Whoever has a PIN does not sign without it, whatever is done.
        let refused = run(&book, Some(&manager), None, args);
        assert!(text(&refused).contains("signs with a PIN"), "{args:?}: {}", text(&refused));
        if args[0] != "dump" && args[0] != "report" {
            let told = run(&book, Some(&manager), Some("271828"), args);
            assert!(told.status.success(), "{args:?}: {}", text(&told));
        }
    }
    let wrong = run(&book, Some(&manager), Some("1111"), &["order"]);
    assert!(text(&wrong).contains("not the PIN"), "{}", text(&wrong));
    let refused = run(&book, None, None, &["par", "--set", "3", "Quendel gin"]);
    assert_eq!(refused.status.code(), Some(1));
    // What a shift needs works without.
    for args in [&["stock"][..], &["count"], &["house"], &["drinks"], &["carry"], &["check"], &["people"]] {
        let told = run(&book, None, None, args);
        assert!(told.status.success(), "{args:?}: {}", text(&told));
    }
    let before = text(&run(&book, Some(&manager), Some("271828"), &["history", "--most", "1"]));
    let refused = run(&book, Some(&manager), None, &["house", "Cinnamon", "--made", "100ml"]);
    assert!(text(&refused).contains("signs with a PIN"), "{}", text(&refused));
    assert_eq!(text(&run(&book, Some(&manager), Some("271828"), &["history", "--most", "1"])), before);
    // A copy in the place of the book would be a way around: it may be older than the PIN.
    let made = run(&book, None, None, &["backup"]);
    assert!(made.status.success(), "{}", text(&made));
    let refused = run(&book, None, None, &["restore", "1"]);
    assert!(text(&refused).contains("only a manager puts a copy"), "{}", text(&refused));
    for args in [&["backup"][..], &["restore", "1"]] {
        let refused = run(&book, Some(&manager), Some("271828"), &[args, &["--as-known", "2026-11-23 01:30"]].concat());
        assert!(text(&refused).contains("nothing can be changed"), "{}", text(&refused));
    }
    let restored = run(&book, Some(&manager), Some("271828"), &["restore", "1"]);
    assert!(restored.status.success(), "{}", text(&restored));
    let told = text(&run(&book, Some(&manager), Some("271828"), &["history", "--most", "1"]));
    assert!(told.contains("restored from a copy") && told.contains(&manager), "{told}");
    // Whoever forgot it takes it away, and that is seen.
    let forgotten = run(&book, None, None, &["people", "pin", &manager, "--forgotten"]);
    assert!(forgotten.status.success(), "{}", text(&forgotten));
    assert!(text(&run(&book, None, None, &["history", "--most", "1"])).contains("PIN forgotten"));
}

#[test]
fn the_screens_ask_who_it_is_and_hide_what_is_not_theirs() {
    let (_home, book, store) = guarded();
    let manager = manager(&store);
    drop(store);
    let now = demo::now();
    let mut app = app_of(&book, None, now);
    assert!(drawn(&mut app, now).contains("Who is at the screen?"), "{}", drawn(&mut app, now));
    press(&mut app, "\u{1b}", now);
    for screen in "VOEIPB".chars() {
        let shown = press(&mut app, &screen.to_string(), now);
        assert!(shown.contains("W signs a manager in"), "{screen}: {shown}");
    }
    let stock = press(&mut app, "S", now);
    assert!(!stock.contains("value") && !stock.contains("EUR"), "{stock}");
    // What needs a form is refused before anything is typed, and not hinted at.
    let drinks = press(&mut app, "D", now);
    assert!(!drinks.contains("e change") && drinks.contains("v which"), "{drinks}");
    let refused = press(&mut app, "e", now);
    assert!(refused.contains("Change the drink from a day on: a manager does that"), "{refused}");
    press(&mut app, "S", now);
    press(&mut app, "W", now);
    let asked = press(&mut app, &format!("{}\n", manager.to_lowercase()), now);
    assert!(asked.contains(&format!("PIN of {manager}")), "{asked}");
    let refused = press(&mut app, "1234\n", now);
    assert!(refused.contains("not the PIN"), "{refused}");
    let stock = press(&mut app, "271828\n", now);
    assert!(stock.contains("Stock is worth") && !stock.contains("271828"), "{stock}");
    let variance = press(&mut app, "V", now);
    assert!(!variance.contains("W signs a manager in"), "{variance}");
    // Left alone, it is nobody's again.
    let later = Moment(now.0 + 10 * 60_000);
    assert!(app.idle(later));
    let shown = drawn(&mut app, later);
    assert!(shown.contains("signed out") && !shown.contains(&format!("{manager} ")), "{shown}");
    assert!(press(&mut app, "V", later).contains("W signs a manager in"));
}

#[test]
fn the_book_as_it_was_known_shows_no_more_than_the_book_as_it_is() {
    let home = tempdir().unwrap();
    let book = demo::book(home.path());
    let store = Store::open(&book).unwrap();
    let (manager, counter) = (manager(&store), one_of(&store, Role::Counter));
    let after = |minutes: i64| Moment(demo::now().0 + minutes * 60_000);
    people::set_pin(&store, &manager, Some("271828"), after(10)).unwrap();
    let then = "2026-11-23 01:30";
    // Before anybody had a PIN, everybody saw everything.
    for (by, args) in [
        (None, &["goods", "--as-known", then][..]),
        (Some(counter.as_str()), &["goods", "--as-known", then]),
        (None, &["stock", "--json", "--as-known", then]),
    ] {
        let refused = run(&book, by, None, args);
        assert!(text(&refused).contains("only a manager sees"), "{args:?}: {}", text(&refused));
    }
    let told = run(&book, Some(&manager), Some("271828"), &["goods", "--as-known", then]);
    assert!(told.status.success(), "{}", text(&told));
    // Nor does a blind count show what should be there by looking at the book before it began.
    people::sign_in(&store, &counter, None, after(20)).unwrap();
    begin_blind(&store, Some(&counter), after(20));
    let refused = run(&book, Some(&counter), None, &["stock", "--as-known", then]);
    assert!(text(&refused).contains("a blind count is going on"), "{}", text(&refused));
    let then = history::known_at(&store, after(5)).unwrap();
    assert_eq!(people::rights(&then).unwrap(), Rights::NoStock);
    let again = then.address().unwrap().open().unwrap();
    assert_eq!(people::rights(&again).unwrap(), Rights::NoStock);
    let refused = people::sign_in(&then, &manager, Some("271828"), demo::now()).unwrap_err().to_string();
    assert!(refused.contains("as it was known"), "{refused}");
}

#[test]
fn what_may_not_be_seen_any_more_is_not_shown_any_more() {
    let home = tempdir().unwrap();
    let book = demo::book(home.path());
    let now = demo::now();
    let mut app = app_of(&book, None, now);
    let orders = press(&mut app, "O", now);
    assert!(orders.contains("EUR"), "{orders}");
    let other = Store::open(&book).unwrap();
    people::set_pin(&other, &manager(&other), Some("271828"), now).unwrap();
    assert!(app.idle(now));
    let shown = drawn(&mut app, now);
    assert!(!shown.contains("EUR") && shown.contains("was changed at another terminal"), "{shown}");
    // A blind count that somebody begins elsewhere hides what is on hand.
    let stock = press(&mut app, "S", now);
    assert!(stock.contains("items in stock"), "{stock}");
    begin_blind(&other, None, now);
    assert!(app.idle(now));
    let shown = drawn(&mut app, now);
    assert!(!shown.contains("items in stock") && shown.contains("was changed at another terminal"), "{shown}");
}

#[test]
fn whoever_signs_first_in_a_book_that_knows_nobody_did_it() {
    let home = tempdir().unwrap();
    let folder = home.path().join("folder");
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(folder.join("venue.csv"), "key,value\nname,Roof\ntime_zone,Atlantic/Azores\ncurrency,EUR\n")
        .unwrap();
    std::fs::write(folder.join("stock.csv"), "item,kind,size\nGin,spirit,700 ml\n").unwrap();
    let book = home.path().join("book.tantalus");
    let made = run(&book, None, None, &["init", folder.to_str().unwrap()]);
    assert!(made.status.success(), "{}", text(&made));
    let set = run(&book, Some("OM"), None, &["par", "--set", "3", "Gin"]);
    assert!(set.status.success(), "{}", text(&set));
    let acts = history::view(&Store::open(&book).unwrap(), None, 1).unwrap().acts;
    assert_eq!((acts[0].act.deed, acts[0].act.by.as_deref()), (Deed::Par, Some("OM")));
}

#[test]
fn people_are_taken_in_on_the_screen() {
    let home = tempdir().unwrap();
    let book = demo::book(home.path());
    let now = demo::now();
    let mut app = app_of(&book, None, now);
    let shown = press(&mut app, "Bpatz\nTeresa\n", now);
    assert!(shown.contains("tz signs here as counter"), "{shown}");
    // The new one is found and made a manager, and gets a PIN.
    let store = Store::open(&book).unwrap();
    let at = people::list(&store).unwrap().iter().position(|row| row.person.initials == "tz").unwrap();
    let down = "j".repeat(at);
    let shown = press(&mut app, &format!("g{down}m\n"), now);
    assert!(shown.contains("tz signs here as manager"), "{shown}");
    let shown = press(&mut app, "n1357\n1357\n", now);
    assert!(shown.contains("the PIN of tz is set"), "{shown}");
    assert!(matches!(people::sign_in(&store, "tz", Some("1357"), now), Ok(SignedIn::In)));
    assert!(matches!(people::sign_in(&store, "tz", Some("1358"), now), Err(DeskError::Refused(_))));
}
