//! The first evening: a bar that has no book gets one by a few questions, and its bottles come into it as they are counted.

#![allow(clippy::unwrap_used)]

#[path = "support/typing.rs"]
mod typing;

use std::path::{Path, PathBuf};
use tantalus::app::{App, Beginning, Options, Outcome, Stage};
use tantalus::desk;
use tantalus::domain::measure::{Currency, VolumeUnit};
use tantalus::domain::rows::{Guess, NewBar};
use tantalus::domain::venue::{CountBy, DayRule, Deed, Kind, Moment, Setup};
use tantalus::store::{Store, counts, setup};
use tantalus::tui::theme::{Look, Theme};
use typing::{drawn, press};

/// Half past one in the night to 1 December 2026, in Lisbon.
const NOW: Moment = Moment(1_796_088_600_000);

fn guess() -> Guess {
    Guess { zone: Some(chrono_tz::Europe::Lisbon), currency: "EUR".parse().ok(), american: false, ..Guess::default() }
}

fn beginning(path: &Path, guess: Guess) -> Beginning {
    Beginning::new(path, guess, Theme::from_env(true))
}

/// A folder, for as long as it is held, and where a book is to be in it.
fn nothing() -> (tempfile::TempDir, PathBuf) {
    let home = tempfile::tempdir().unwrap();
    let path = home.path().join("book.tantalus");
    (home, path)
}

/// The book that was made, and who signs in it.
fn made(beginning: Beginning) -> (Store, Option<String>) {
    match beginning.outcome() {
        Outcome::Book(store, by) => (*store, by),
        other => panic!("{other:?}"),
    }
}

fn setup_of(store: &Store) -> Setup {
    store.read(setup::load).unwrap()
}

/// A new bar with two places, its screens open as OM.
fn bar(path: &Path) -> App {
    let bar = NewBar {
        language: "en".to_owned(),
        name: "Quillmarsh Rooms".to_owned(),
        currency: "EUR".parse().unwrap(),
        days: DayRule { zone: chrono_tz::Europe::Lisbon, starts: DayRule::STARTS },
        volume: VolumeUnit::Ml,
        with_tax: true,
        places: vec!["Back bar".to_owned(), "Fridge".to_owned()],
        by: Some("OM".to_owned()),
    };
    let store = desk::init::begin(path, &bar, NOW).unwrap();
    let options = Options { by: Some("OM".to_owned()), look: Look::Plain, ..Options::default() };
    desk::people::sign_in(&store, "OM", None, NOW).unwrap();
    App::new(store, options, NOW).unwrap()
}

#[test]
fn nine_answers_make_a_book() {
    let (_home, path) = nothing();
    let mut asked = beginning(&path, guess());
    let shown = drawn(&mut asked, NOW);
    assert!(shown.contains("A first evening") && shown.contains("Europe/Lisbon") && shown.contains("EUR"), "{shown}");
    // A name is wanted, and nothing is made without one.
    let refused = press(&mut asked, "\n", NOW);
    assert!(refused.contains("Not so: What the bar is called"), "{refused}");
    let refused = press(&mut asked, "\u{13}", NOW);
    assert!(refused.contains("Not so:") && !path.exists(), "{refused}");
    // A city is enough; the coin in small letters is one too; places are one's own.
    press(&mut asked, "Quillmarsh Rooms\njpy\ntokyo\n06:00\n", NOW);
    let shown = drawn(&mut asked, NOW);
    assert!(shown.contains("Asia/Tokyo") && shown.contains("JPY"), "{shown}");
    // A letter that no word of a choice begins with is no answer, whatever key comes behind it.
    let missed = press(&mut asked, "x\n", NOW);
    assert!(missed.contains("none begins with x") && missed.contains("How volumes are shown"), "{missed}");
    press(&mut asked, "f\nwi\nCounter, Ice well ,Cellar\nom\n", NOW);
    assert!(asked.wants().quit);
    let (store, by) = made(asked);
    assert_eq!(by.as_deref(), Some("om"));
    let setup = setup_of(&store);
    let venue = &setup.venue;
    assert_eq!(
        (venue.name.as_str(), venue.currency.code(), venue.days.zone),
        ("Quillmarsh Rooms", "JPY", chrono_tz::Asia::Tokyo)
    );
    assert_eq!(
        (venue.days.starts.to_string().as_str(), venue.volume, venue.prices_include_tax),
        ("06:00:00", VolumeUnit::Oz, false)
    );
    let places: Vec<&str> = setup.places.iter().map(|place| place.name.as_str()).collect();
    assert_eq!(places, ["Counter", "Ice well", "Cellar"]);
    assert_eq!(setup.people.iter().map(|p| p.initials.as_str()).collect::<Vec<_>>(), ["om"]);
    assert_eq!(desk::check::check(&store).unwrap(), []);
}

/// What is wrong is said where it stands, and what was typed stays.
#[test]
fn what_cannot_be_is_asked_again() {
    let (_home, path) = nothing();
    let mut asked = beginning(&path, Guess::default());
    press(&mut asked, "Bar\n", NOW);
    for (typed, says) in [
        ("\n", "by its three letters"),
        ("EUX\n", "by its three letters"),
        ("EUR\n\n", "a large city"),
        ("Atlantis\n", "a large city"),
        ("\u{15}berlin\n25:00\n", "expected an hour of the day"),
        ("\u{15}4:30\n\n\n\u{15}\n", "Where stock stands"),
        ("Bar, Cellar, bar\n", "“bar” is there twice"),
        ("\u{15}Bar\n\u{15}the owner\n", "is not initials"),
    ] {
        let shown = press(&mut asked, typed, NOW);
        assert!(shown.contains("Not so:") && shown.contains(says), "{typed:?}: {shown}");
    }
    press(&mut asked, "\u{15}\u{13}", NOW);
    let (store, by) = made(asked);
    assert_eq!((by, setup_of(&store).people.len()), (None, 0));
}

#[test]
fn nothing_is_made_by_whoever_leaves_or_looks_around() {
    let (_home, path) = nothing();
    let mut asked = beginning(&path, guess());
    let warned = press(&mut asked, "Bar\u{1b}", NOW);
    assert!(warned.contains("Esc once more"), "{warned}");
    press(&mut asked, "\u{1b}", NOW);
    assert!(asked.wants().quit && matches!(asked.outcome(), Outcome::Nothing) && !path.exists());
    let mut asked = beginning(&path, guess());
    press(&mut asked, "\u{f}", NOW);
    assert!(asked.wants().quit && matches!(asked.outcome(), Outcome::LookAround) && !path.exists());
}

/// Where the disk takes no book, the answers stand as they were typed.
#[test]
fn a_book_that_cannot_be_made_is_told() {
    let home = tempfile::tempdir().unwrap();
    let path = home.path().join("file").join("book.tantalus");
    std::fs::write(home.path().join("file"), "no folder").unwrap();
    let mut asked = beginning(&path, guess());
    let refused = press(&mut asked, "Quillmarsh Rooms\n\u{13}", NOW);
    assert!(refused.contains("Not done:") && refused.contains("Quillmarsh Rooms") && !asked.wants().quit, "{refused}");
}

#[test]
fn the_coin_of_a_country_and_its_ounces_are_guessed() {
    let american = Guess { zone: None, currency: Currency::of_country("US"), american: true, ..Guess::default() };
    let home = tempfile::tempdir().unwrap();
    let shown = drawn(&mut beginning(&home.path().join("book.tantalus"), american), NOW);
    assert!(shown.contains("USD") && shown.contains("fl oz") && shown.contains("without tax"), "{shown}");
}

/// Name, size, level: a shelf of bottles that no book knew is counted as one walks along it.
#[test]
fn bottles_come_into_the_book_as_they_are_counted() {
    let (home, path) = nothing();
    let mut app = bar(&path);
    press(&mut app, "C", NOW);
    let bare = press(&mut app, "\n", NOW);
    assert!(bare.contains("Nothing stands in Back bar yet"), "{bare}");
    // Typed before anything stands there, a figure is told what to do first.
    assert!(press(&mut app, "1", NOW).contains("nothing stands here yet: a adds"), "{}", drawn(&mut app, NOW));
    let searched = press(&mut app, "aHarbour gin", NOW);
    assert!(searched.contains("Enter takes it in as a new item"), "{searched}");
    let form = press(&mut app, "\n", NOW);
    assert!(
        form.contains("A new item in Back bar") && form.contains("Harbour gin") && form.contains("700 ml"),
        "{form}"
    );
    let added = press(&mut app, "\n\n40\n\n", NOW);
    assert!(added.contains("Harbour gin is in the book"), "{added}");
    press(&mut app, ".7\n", NOW);
    // One whose letters others have too, of another kind and size.
    press(&mut app, "agin\u{e}", NOW);
    press(&mut app, "w\n1 l\n\n\n", NOW);
    press(&mut app, "2.4\n", NOW);
    // The next one begins as most of the place are, whatever the last one was; its kind as most of that in the bar.
    let form = press(&mut app, "aHedge wine\n", NOW);
    assert!(form.contains("700 ml") && form.contains("spirit"), "as most of the place are: {form}");
    let form = press(&mut app, "w\n", NOW);
    assert!(form.contains("1000 ml") && form.contains("wine"), "as the other wine: {form}");
    // A kind that the bar has none of comes in the usual containers.
    press(&mut app, "\u{1b}\u{1b}", NOW);
    let form = press(&mut app, "aHedge wine\nb\n", NOW);
    assert!(form.contains("330 ml") && form.contains("beer"), "{form}");
    // The same name again is none that is new.
    press(&mut app, "\u{1b}\u{1b}", NOW);
    let refused = press(&mut app, "aHARBOUR GIN\u{e}\u{13}", NOW);
    assert!(refused.contains("there is an item called Harbour gin already"), "{refused}");
    press(&mut app, "\u{1b}", NOW);
    // On to the next place, where things are counted whole.
    let bare = press(&mut app, "n", NOW);
    assert!(bare.contains("Nothing stands in Fridge yet"), "{bare}");
    press(&mut app, "aLimes\nf\n\n\n\n", NOW);
    press(&mut app, "24\n", NOW);
    let back = press(&mut app, "p", NOW);
    assert!(back.contains("Back bar 2/2") && back.contains("Fridge 1/1"), "{back}");
    // A letter beside the figures does not end the evening by itself.
    let asked = press(&mut app, "q", NOW);
    assert!(asked.contains("The count stays open: 3 of 3"), "{asked}");
    press(&mut app, "\u{1b}", NOW);
    assert!(!app.wants().quit);
    press(&mut app, "x\n", NOW);
    drop(app);

    let store = Store::open(&path).unwrap();
    let setup = setup_of(&store);
    let kinds: Vec<(&str, Kind, CountBy)> =
        setup.items.iter().map(|item| (item.name.as_str(), item.kind, item.count_by)).collect();
    let want = [
        ("Harbour gin", Kind::Spirit, CountBy::Tenths),
        ("Limes", Kind::Food, CountBy::Whole),
        ("gin", Kind::Wine, CountBy::Tenths),
    ];
    let mut kinds = kinds;
    kinds.sort_by_key(|(name, ..)| *name);
    assert_eq!(kinds, want);
    assert_eq!(setup.items.iter().find(|item| item.name == "Harbour gin").unwrap().abv.unwrap().plain(), "40");
    let count = store.read(counts::list).unwrap().into_iter().next().unwrap();
    assert!(count.closed.is_some());
    let lines = store.read(|conn| counts::lines(conn, count.id)).unwrap();
    let entered: Vec<String> = lines.iter().map(|line| line.entry.to_string()).collect();
    assert_eq!(entered, [".7", "2.4", "24"]);
    assert!(lines.iter().all(|line| line.by.as_deref() == Some("OM")));
    assert_eq!(desk::check::check(&store).unwrap(), []);
    // All of it goes out as plain files, and comes in again as the same.
    let (out, again) = (home.path().join("out"), home.path().join("again"));
    desk::dump::dump(&store, &out).unwrap();
    let (other, _) =
        desk::init::init_from(&home.path().join("other.tantalus"), &out, NOW, &mut desk::unwatched).unwrap();
    desk::dump::dump(&other, &again).unwrap();
    for entry in std::fs::read_dir(&out).unwrap() {
        let file = entry.unwrap().file_name();
        let read = |folder: &Path| std::fs::read_to_string(folder.join(&file)).unwrap();
        assert_eq!(read(&out), read(&again), "{file:?}");
    }
}

/// A bar code that no item has begins the next new one.
/// Whoever only looked at a count leaves none behind; one with an entry is closed, or stays.
#[test]
fn a_count_in_which_nothing_was_counted_is_given_up() {
    let (_home, path) = nothing();
    let mut app = bar(&path);
    press(&mut app, "C\n", NOW);
    let asked = press(&mut app, "x", NOW);
    assert!(asked.contains("Nothing was counted in"), "{asked}");
    press(&mut app, "\u{1b}", NOW);
    assert!(press(&mut app, "T", NOW).contains("Begun: "));
    press(&mut app, "C", NOW);
    let given_up = press(&mut app, "x\n", NOW);
    assert!(given_up.contains("the count is given up"), "{given_up}");
    let tonight = press(&mut app, "T", NOW);
    assert!(!tonight.contains("Begun: ") && tonight.contains("Not counted yet"), "{tonight}");
    press(&mut app, "C\naHarbour gin\n\n\n\n\n\n.7\n", NOW);
    let asked = press(&mut app, "x", NOW);
    assert!(asked.contains("closes the count"), "{asked}");
}

#[test]
fn a_scan_in_vain_is_not_lost() {
    let (_home, path) = nothing();
    let mut app = bar(&path);
    press(&mut app, "C\n", NOW);
    // 5012345678900, the example of GS1 for a number of thirteen digits (from memory).
    Stage::paste(&mut app, "5012345678900", NOW);
    assert!(drawn(&mut app, NOW).contains("a adds what it is on"), "{}", drawn(&mut app, NOW));
    let form = press(&mut app, "aHarbour gin\n", NOW);
    assert!(form.contains("5012345678900"), "{form}");
    press(&mut app, "\u{13}.5\n", NOW);
    let store = Store::open(&path).unwrap();
    let codes: Vec<String> = setup_of(&store).items[0].gtins.iter().map(ToString::to_string).collect();
    assert_eq!(codes, ["5012345678900"]);
    // It is the history's to take back what was taken in by mistake, once nothing rests on it.
    let acts = desk::history::view(&store, None, 10).unwrap().acts;
    let added = acts.iter().find(|row| row.act.deed == Deed::ItemAdded).unwrap();
    assert!(added.said.iter().any(|said| said.contains("Harbour gin")), "{:?}", added.said);
    assert!(desk::undoing::undo(&store, added.act.id, NOW).is_err(), "it was counted");
}

/// What was taken in by mistake goes again.
#[test]
fn an_item_that_nothing_rests_on_is_taken_back() {
    let (_home, path) = nothing();
    let mut app = bar(&path);
    press(&mut app, "C\naHarbour gin\n\u{13}", NOW);
    let store = Store::open(&path).unwrap();
    desk::people::sign_in(&store, "OM", None, NOW).unwrap();
    let acts = desk::history::view(&store, None, 1).unwrap().acts;
    assert_eq!(acts[0].act.deed, Deed::ItemAdded);
    desk::undoing::undo(&store, acts[0].act.id, NOW).unwrap();
    assert!(setup_of(&store).items.is_empty() && setup_of(&store).shelves.is_empty());
    app.idle(NOW);
    assert!(drawn(&mut app, NOW).contains("Nothing stands in Back bar yet"), "{}", drawn(&mut app, NOW));
}

/// A number alone is a size only where it can be nothing else.
#[test]
fn a_size_says_its_unit_where_it_must() {
    let (_home, path) = nothing();
    let mut app = bar(&path);
    press(&mut app, "C\naHarbour gin\n\n", NOW);
    for (typed, says) in [
        ("1", "say the unit"),
        ("35", "say the unit"),
        ("0,7", "say the unit"),
        ("1.000 ml", "say the unit"),
        ("0 each", "above zero"),
        ("700", "700 ml, counted by tenths"),
        ("70 cl", "700 ml, counted by tenths"),
        ("0,7 l", "700 ml, counted by tenths"),
        ("each", "1 piece, counted whole"),
        ("1 kg", "1 kg, counted by tenths"),
    ] {
        let shown = press(&mut app, &format!("\u{15}{typed}"), NOW);
        assert!(shown.contains(says), "{typed}: {shown}");
    }
}

/// What was done last is taken back first, be it an entry or an item that was taken in.
#[test]
fn u_takes_back_what_was_taken_in_last() {
    let (_home, path) = nothing();
    let mut app = bar(&path);
    press(&mut app, "C\naHarbour gin\n\u{13}.5\n", NOW);
    press(&mut app, "aBy mistake\n\u{13}", NOW);
    let shown = press(&mut app, "u", NOW);
    assert!(shown.contains("By mistake is not in the book any more") && shown.contains("Back bar 1/1"), "{shown}");
    let shown = press(&mut app, "u", NOW);
    assert!(shown.contains("taken back: Harbour gin") && shown.contains("Back bar 0/1"), "{shown}");
    // What was counted of it once stays on record, and so does it.
    let shown = press(&mut app, "u", NOW);
    assert!(shown.contains("rests on it by now"), "{shown}");
    let store = Store::open(&path).unwrap();
    assert_eq!(setup_of(&store).items.len(), 1);
    assert_eq!(desk::check::check(&store).unwrap(), []);
}

/// A place that is done takes nothing more, which is said before anything is written.
#[test]
fn nothing_is_added_to_a_closed_place() {
    let (_home, path) = nothing();
    let mut app = bar(&path);
    press(&mut app, "C\naHarbour gin\n\u{13}.5\n", NOW);
    let done = press(&mut app, "d", NOW);
    assert!(done.contains("no line is left to count") && !done.contains("all places"), "{done}");
    let refused = press(&mut app, "a", NOW);
    assert!(refused.contains("Back bar is closed in this count"), "{refused}");
    // The first count has nothing to be compared with: what there is stands there then.
    press(&mut app, "nd", NOW);
    let closed = press(&mut app, "x\n", NOW);
    assert!(closed.contains("Harbour gin") && closed.contains("the count is closed and kept"), "{closed}");
}
