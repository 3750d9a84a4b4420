//! The history of a book: everything that is done is told with who and when, can be taken back and done again, and the book
//! can be seen as it was known; what was edited behind the program's back is found.
#![allow(clippy::unwrap_used, missing_docs)]

use rusqlite::Connection;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use tantalus::desk::init::init_from;
use tantalus::desk::{
    DeskError, check, counting, drinks, dump, explaining, gauging, history, house, losing, ordering, par, people, till,
    undoing, unwatched,
};
use tantalus::domain::gauge::{Entry, WeighedAs, Weighing};
use tantalus::domain::ledger::{Batch, Check, CountLine, Loss};
use tantalus::domain::measure::Amount;
use tantalus::domain::rows::{Checking, DraftKept};
use tantalus::domain::venue::{
    ActId, CauseWord, Containers, CountId, CountMethod, Deed, Item, ItemId, Moment, Person, PlaceId, Reason, Role, Seq,
    TillMeaning,
};
use tantalus::store::people::Who;
use tantalus::store::{Store, counts};
use tempfile::{TempDir, tempdir};

const MINUTE: i64 = 60_000;

/// A book of the bar of the good folder, and a clock that goes on by a minute with each look at it.
struct Bar {
    home: TempDir,
    store: Store,
    now: Moment,
}

impl Bar {
    fn new() -> Bar {
        let home = tempdir().unwrap();
        let now = Moment(1_795_650_000_000);
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/good_folder");
        let (store, _) = init_from(&home.path().join("book.tantalus"), &folder, now, &mut unwatched).unwrap();
        Bar { home, store, now }
    }

    fn later(&mut self) -> Moment {
        self.now = Moment(self.now.0 + MINUTE);
        self.now
    }

    fn setup(&self) -> tantalus::domain::venue::Setup {
        tantalus::desk::comparing::setup(&self.store).unwrap()
    }

    fn item(&self, name: &str) -> ItemId {
        self.setup().items.iter().find(|item| item.name == name).unwrap().id
    }

    fn place(&self, name: &str) -> PlaceId {
        self.setup().places.iter().find(|place| place.name == name).unwrap().id
    }

    fn open_count(&self) -> CountId {
        let open = self.store.read(counts::open_count).unwrap().unwrap();
        let all = self.store.read(counts::list).unwrap();
        let newest =
            all.into_iter().filter(|count| count.closed.is_none()).max_by_key(|count| (count.opened, count.id));
        assert_eq!(newest.as_ref(), Some(&open), "what is found is what is listed");
        open.id
    }

    fn sign_in(&self, initials: &str) {
        self.store.sign_in(Some(&Who { initials: initials.to_owned(), proven: false })).unwrap();
    }

    fn last(&self) -> ActId {
        history::view(&self.store, None, 1).unwrap().acts[0].act.id
    }

    fn told(&self, act: ActId) -> String {
        history::told(&self.store, act).unwrap().1.said.join("; ")
    }
}

/// Everything that a book says of itself in plain files.
fn plain(store: &Store, home: &Path) -> BTreeMap<String, String> {
    let folder = home.join(format!("dump {}", fs::read_dir(home).unwrap().count()));
    dump::dump(store, &folder).unwrap();
    let files = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap());
    files.map(|f| (f.file_name().into_string().unwrap(), fs::read_to_string(f.path()).unwrap())).collect()
}

fn differ(a: &BTreeMap<String, String>, b: &BTreeMap<String, String>) -> String {
    let mut out = String::new();
    for (file, text) in a {
        let other = b.get(file).map_or("", String::as_str);
        for line in text.lines().filter(|line| !other.lines().any(|o| o == *line)) {
            out.push_str(&format!("{file} - {line}\n"));
        }
        for line in other.lines().filter(|line| !text.lines().any(|o| o == *line)) {
            out.push_str(&format!("{file} + {line}\n"));
        }
    }
    out
}

/// What is done to the bar, one thing after the other. Each says what it is told as.
fn deeds(bar: &mut Bar, mut each: impl FnMut(&mut Bar, Deed, &str)) {
    let (gin, rum, tonic) = (bar.item("Dry gin"), bar.item("White rum"), bar.item("Tonic"));
    let (back_bar, cellar) = (bar.place("Back bar"), bar.place("Cellar"));
    let open = bar.open_count();

    let now = bar.later();
    let loss = Loss {
        seq: Seq(0),
        at: now,
        item: gin,
        amount: Amount(60_000),
        reason: Reason::Spill,
        place: Some(back_bar),
        by: Some("CD".to_owned()),
        note: Some("the ice bin".to_owned()),
    };
    losing::record(&bar.store, &loss, now).unwrap();
    each(bar, Deed::Loss, "6.0 cl of Dry gin: spill, Back bar, the ice bin");

    let now = bar.later();
    let spilled = losing::recent(&bar.store, 1).unwrap()[0].seq;
    losing::take_back(&bar.store, spilled, Some("AB"), now).unwrap();
    each(bar, Deed::LossBack, "taken back: 6.0 cl of Dry gin: spill, Back bar, the ice bin");

    let now = bar.later();
    par::set_by_hand(&bar.store, rum, Some(Containers(7_500)), now).unwrap();
    each(bar, Deed::Par, "White rum: par 4 → 7.5");

    let now = bar.later();
    let gimlet = bar.setup().drinks.iter().find(|drink| drink.name == "Gimlet").unwrap().id;
    drinks::set_on(&bar.store, gimlet, false, now).unwrap();
    each(bar, Deed::Drink, "on the menu no");

    let now = bar.later();
    let snack = bar.setup().till.iter().find(|till| till.name == "House snack").unwrap().id;
    let means = TillMeaning::Drink { drink: gimlet, portion: 500 };
    till::map(&bar.store, snack, means, now).unwrap();
    each(bar, Deed::TillName, "till name “House snack”: means none → Gimlet, times 1 → 0.5");

    let now = bar.later();
    let batch =
        Batch { seq: Seq(0), at: now, item: bar.item("Lime cordial"), made: Amount(1_100_000), by: None, note: None };
    house::make(&bar.store, &batch, now).unwrap();
    each(bar, Deed::Batch, "110.0 cl of Lime cordial made");

    let now = bar.later();
    let weighing = Weighing {
        seq: Seq(0),
        at: now,
        item: tonic,
        state: WeighedAs::Sealed,
        weight: tantalus::domain::gauge::Mass::parse("400g").unwrap(),
        seen: None,
        mark: None,
        place: None,
        by: Some("AB".to_owned()),
    };
    gauging::weigh(&bar.store, &weighing, now).unwrap();
    each(bar, Deed::Weighed, "Tonic weighed sealed");

    let line = |entry: &str, at: Moment, by: &str| CountLine {
        count: open,
        place: cellar,
        item: rum,
        at,
        entry: Entry::parse(entry).unwrap(),
        method: CountMethod::Tenths,
        by: Some(by.to_owned()),
    };
    let now = bar.later();
    let sheet = counting::sheet(&bar.store, open, now).unwrap();
    counting::save_line(&bar.store, &sheet, &line("3.4", now, "CD"), None, now).unwrap();
    each(bar, Deed::Counted, "White rum, Cellar: 3.4");

    let first = now;
    let now = bar.later();
    let known = tantalus::domain::rows::Entered::of(&line("3.4", first, "CD"));
    assert_eq!(counting::save_line(&bar.store, &sheet, &line("4.4", now, "AB"), Some(&known), now).unwrap(), None);
    each(bar, Deed::Counted, "White rum, Cellar: 4.4 (was 3.4)");

    let now = bar.later();
    counting::add_item(&bar.store, &sheet, cellar, tonic, now).unwrap();
    each(bar, Deed::SpotGiven, "Tonic, Cellar");

    let now = bar.later();
    counting::close_place(&bar.store, open, cellar, now).unwrap();
    each(bar, Deed::PlaceClosed, "Cellar closed");

    let now = bar.later();
    counting::close(&bar.store, open, now).unwrap();
    each(bar, Deed::CountClosed, "count “Week 47” closed");

    let now = bar.later();
    let accepted = explaining::Accepted { closing: open, item: gin, cause: CauseWord::Heavy, note: None };
    explaining::accept(&bar.store, &accepted, Some("AB"), now).unwrap();
    each(bar, Deed::Cause, "Dry gin: heavy pours");

    let now = bar.later();
    explaining::reopen(&bar.store, open, gin, Some("AB"), now).unwrap();
    each(bar, Deed::CauseBack, "a cause taken back");

    let now = bar.later();
    let mut view = ordering::orders(&bar.store, now).unwrap();
    let draft = view.drafts.iter_mut().find(|draft| draft.order.is_some()).unwrap();
    draft.draft.lines[0].packs = 9;
    let draft = draft.clone();
    ordering::keep_draft(&bar.store, &draft, now).unwrap();
    let draft = ordering::orders(&bar.store, now).unwrap().drafts.into_iter().find(|d| d.order == draft.order).unwrap();
    each(bar, Deed::Draft, "packs 1 → 9");

    let now = bar.later();
    let DraftKept::Kept(order) = ordering::send(&bar.store, &draft, now).unwrap() else { panic!("it was changed") };
    each(bar, Deed::OrderSent, "state draft → sent");

    let now = bar.later();
    let views = ordering::receivable(&bar.store, &bar.setup()).unwrap();
    let line = views.iter().find(|view| view.order.id == order).unwrap().lines[0].clone();
    let said = Check { line: line.line, came: 5, charged: None, place: Some(back_bar), by: None };
    let checking = [Checking { item: line.item, now: said, known: None }];
    assert_eq!(ordering::check(&bar.store, order, &checking, Some("AB"), now).unwrap(), []);
    each(bar, Deed::Checked, "came 5, put in Back bar");

    let now = bar.later();
    ordering::give_up(&bar.store, order, now).unwrap();
    each(bar, Deed::OrderGivenUp, "state sent → closed");

    let now = bar.later();
    counting::begin(&bar.store, &[back_bar], false, Some("CD"), now).unwrap();
    each(bar, Deed::CountBegun, "Back bar");
}

#[test]
fn everything_is_told_taken_back_and_done_again() {
    let mut bar = Bar::new();
    bar.sign_in("AB");
    let mut before = plain(&bar.store, bar.home.path());
    deeds(&mut bar, |bar, deed, says| {
        let done = bar.last();
        let (_, row) = history::told(&bar.store, done).unwrap();
        assert_eq!((row.act.deed, row.act.at, row.act.by.as_deref()), (deed, bar.now, Some("AB")), "{row:?}");
        assert!(bar.told(done).contains(says), "{}\nwant {says}", bar.told(done));
        let after = plain(&bar.store, bar.home.path());
        // That a place is closed, a count without a line, and what was looked at of a delivery stand in no plain file.
        let told = !matches!(deed, Deed::PlaceClosed | Deed::CountBegun | Deed::Checked);
        assert!(before != after || !told, "{deed}");

        let now = bar.later();
        undoing::undo(&bar.store, done, now).unwrap_or_else(|why| panic!("{deed}: {why}"));
        let undone = plain(&bar.store, bar.home.path());
        assert_eq!(differ(&before, &undone), "", "{deed} was not taken back");
        assert!(matches!(undoing::undo(&bar.store, done, now), Err(DeskError::Refused(_))), "twice");
        assert_eq!(history::told(&bar.store, done).unwrap().1.undone, Some(bar.last()));

        // Across a restart.
        bar.store = Store::open(bar.store.path()).unwrap();
        bar.sign_in("AB");
        let now = bar.later();
        undoing::redo(&bar.store, done, now).unwrap_or_else(|why| panic!("{deed}: {why}"));
        assert_eq!(differ(&after, &plain(&bar.store, bar.home.path())), "", "{deed} was not done again");
        assert!(matches!(undoing::redo(&bar.store, done, now), Err(DeskError::Refused(_))), "twice");
        assert_eq!(history::told(&bar.store, done).unwrap().1.undone, None);

        // And once more, though what it did stands in other rows by now.
        let now = bar.later();
        undoing::undo(&bar.store, done, now).unwrap_or_else(|why| panic!("{deed}, again: {why}"));
        assert_eq!(differ(&before, &plain(&bar.store, bar.home.path())), "", "{deed} was not taken back again");
        assert!(history::told(&bar.store, done).unwrap().1.undone.is_some());
        let now = bar.later();
        undoing::redo(&bar.store, done, now).unwrap_or_else(|why| panic!("{deed}, again: {why}"));
        assert_eq!(differ(&after, &plain(&bar.store, bar.home.path())), "", "{deed} was not done once more");
        before = after;
    });
    assert_eq!(check::check(&bar.store).unwrap(), []);
}

#[test]
fn the_book_as_it_was_known_then() {
    let mut bar = Bar::new();
    let mut known = vec![(bar.now, plain(&bar.store, bar.home.path()))];
    deeds(&mut bar, |bar, _, _| known.push((bar.now, plain(&bar.store, bar.home.path()))));
    // Sales, of which new lines are told by their tally alone: taken in, taken back, others in their place.
    let csv = |name: &str, rows: &str| {
        let path = bar.home.path().join(name);
        fs::write(&path, format!("Date;Time;Receipt;Item;Quantity;Net\n{rows}")).unwrap();
        path
    };
    let first = csv(
        "sales.csv",
        "2026-11-21;22:00;z1;G&T;1;8.00\n2026-11-21;22:01;z1;G&T;2;16.00\n2026-11-21;22:05;z2;GIMLET;1;9.00\n",
    );
    let more = csv("more.csv", "2026-11-21;22:05;z2;GIMLET;1;9.00\n2026-11-21;23:05;z9;GIMLET;3;27.00\n");
    for step in 0..5 {
        let now = Moment(bar.now.0 + MINUTE);
        bar.now = now;
        let mut on = |_: u64, _: u64| std::ops::ControlFlow::Continue(());
        let newest = || bar.store.read(|c| tantalus::store::files::newest(c, 1)).unwrap()[0].id;
        if matches!(step, 1 | 4) {
            till::withdraw(&bar.store, newest(), None, now).unwrap();
        } else {
            let path = if step == 3 { &more } else { &first };
            let layout = till::look(&bar.store, till::Ask::of(path), now, &mut on).unwrap().table.unwrap().layout;
            till::take(&bar.store, till::Ask { layout: Some(&layout), ..till::Ask::of(path) }, None, now, &mut on)
                .unwrap();
        }
        known.push((now, plain(&bar.store, bar.home.path())));
    }
    assert_eq!(check::check(&bar.store).unwrap(), []);
    for (n, (at, want)) in known.iter().enumerate() {
        for later in [0, MINUTE - 1] {
            let then = history::known_at(&bar.store, Moment(at.0 + later)).unwrap();
            assert_eq!(differ(want, &plain(&then, bar.home.path())), "", "step {n}");
            assert!(history::view(&then, None, 1).unwrap().acts[0].act.at <= *at);
            let refused = par::set_by_hand(&then, bar.item("Tonic"), None, bar.now);
            assert!(refused.unwrap_err().to_string().contains("nothing can be changed"));
        }
    }
    assert!(history::known_at(&bar.store, Moment(-1)).unwrap_err().to_string().contains("history begins"));
    // The copies are gone with their books.
    assert_eq!(plain(&bar.store, bar.home.path()), known.last().unwrap().1);
}

#[test]
fn what_was_changed_since_stays() {
    let mut bar = Bar::new();
    let rum = bar.item("White rum");
    let now = bar.later();
    par::set_by_hand(&bar.store, rum, Some(Containers(5_000)), now).unwrap();
    let first = bar.last();
    bar.sign_in("AB");
    let now = bar.later();
    par::set_by_hand(&bar.store, rum, Some(Containers(6_000)), now).unwrap();
    let second = bar.last();
    let now = bar.later();
    let refused = undoing::undo(&bar.store, first, now).unwrap_err().to_string();
    assert!(refused.contains(&format!("act {} (par set by AB)", second.0)), "{refused}");
    undoing::undo(&bar.store, second, now).unwrap();
    undoing::undo(&bar.store, first, now).unwrap();
    assert_eq!(bar.setup().item(rum).unwrap().par, Some(Containers(4_000)));
    // With what the book began, and what came with plain files, is no mistake to be taken back.
    assert!(matches!(undoing::undo(&bar.store, ActId(1), now), Err(DeskError::Refused(_))));
}

#[test]
fn a_closed_count_is_opened_again_and_closed_anew() {
    let mut bar = Bar::new();
    let open = bar.open_count();
    let now = bar.later();
    counting::close(&bar.store, open, now).unwrap();
    assert_eq!(bar.store.read(counts::open_count).unwrap(), None);
    let closing = bar.last();
    let now = bar.later();
    let begun = counting::begin(&bar.store, &[bar.place("Back bar")], false, None, now).unwrap();
    let beginning = bar.last();
    let refused = undoing::undo(&bar.store, closing, now).unwrap_err().to_string();
    assert!(refused.contains("is open"), "{refused}");
    undoing::undo(&bar.store, beginning, now).unwrap();
    let counts = bar.store.read(counts::list).unwrap();
    assert!(counts.iter().all(|count| count.id != begun), "given up");
    undoing::undo(&bar.store, closing, now).unwrap();
    assert_eq!(bar.open_count(), open);
    let now = bar.later();
    counting::close(&bar.store, open, now).unwrap();
    assert_eq!(bar.store.read(counts::open_count).unwrap(), None, "closed again");
    let counts = bar.store.read(counts::list).unwrap();
    assert_eq!(counts.iter().find(|count| count.id == open).unwrap().closed, Some(now));
    assert_eq!(check::check(&bar.store).unwrap(), []);

    // A cause that was accepted at it rests on its being closed.
    let closed = bar.last();
    let gin = bar.item("Dry gin");
    let accept = |cause, now| {
        let accepted = explaining::Accepted { closing: open, item: gin, cause, note: None };
        explaining::accept(&bar.store, &accepted, Some("AB"), now)
    };
    accept(CauseWord::Heavy, Moment(now.0 + 1)).unwrap();
    let refused = undoing::undo(&bar.store, closed, Moment(now.0 + 2)).unwrap_err().to_string();
    assert!(refused.contains("causes were accepted"), "{refused}");
    // One that was taken back does not come back beside another.
    explaining::reopen(&bar.store, open, gin, Some("AB"), Moment(now.0 + 3)).unwrap();
    let reopened = bar.last();
    accept(CauseWord::Steady, Moment(now.0 + 4)).unwrap();
    let refused = undoing::undo(&bar.store, reopened, Moment(now.0 + 5)).unwrap_err().to_string();
    assert!(refused.contains("another cause was accepted"), "{refused}");
    assert_eq!(check::check(&bar.store).unwrap(), []);
}

#[test]
fn a_count_that_was_given_up_stands_in_nobodys_way() {
    let mut bar = Bar::new();
    let now = bar.later();
    let open = bar.open_count();
    counting::close(&bar.store, open, now).unwrap();
    let places = [bar.place("Back bar")];
    let mut begin = |blind| {
        let now = bar.later();
        counting::begin(&bar.store, &places, blind, None, now).unwrap();
        bar.last()
    };
    let mistaken = begin(false);
    undoing::undo(&bar.store, mistaken, bar.now).unwrap();
    let held = bar.store.read(tantalus::store::copies::holds).unwrap().count.unwrap();
    assert!(held.closed.is_some() && !held.name.contains("Back bar"), "{held:?}");
    // The right one, of the same places and the same day.
    let now = bar.later();
    counting::begin(&bar.store, &places, true, None, now).unwrap();
    let right = bar.open_count();
    let refused = undoing::redo(&bar.store, mistaken, now).unwrap_err().to_string();
    assert!(refused.contains("is not closed yet"), "{refused}");
    assert_eq!((bar.open_count(), bar.store.read(counts::is_blind).unwrap()), (right, true));
    assert_eq!(check::check(&bar.store).unwrap(), []);
}

#[test]
fn people_are_not_taken_away_from_under_what_they_signed() {
    let mut bar = Bar::new();
    bar.sign_in("AB");
    let person = |initials: &str, role| Person { initials: initials.to_owned(), name: None, role };
    let now = bar.later();
    people::put(&bar.store, &person("EF", Role::Counter), now).unwrap();
    let taken_in = bar.last();
    undoing::undo(&bar.store, taken_in, now).unwrap();
    undoing::redo(&bar.store, taken_in, now).unwrap();
    bar.sign_in("EF");
    let now = bar.later();
    let loss = Loss {
        seq: Seq(0),
        at: now,
        item: bar.item("Dry gin"),
        amount: Amount(20_000),
        reason: Reason::Tasting,
        place: None,
        by: Some("EF".to_owned()),
        note: None,
    };
    losing::record(&bar.store, &loss, now).unwrap();
    bar.sign_in("AB");
    let refused = undoing::undo(&bar.store, taken_in, now).unwrap_err().to_string();
    assert!(refused.contains("EF has signed something"), "{refused}");
    // Nor is the only manager made a counter by taking back that they were made one.
    let now = bar.later();
    people::put(&bar.store, &person("CD", Role::Manager), now).unwrap();
    let made = bar.last();
    people::put(&bar.store, &person("AB", Role::Counter), now).unwrap();
    bar.sign_in("CD");
    let refused = undoing::undo(&bar.store, made, now).unwrap_err().to_string();
    assert!(refused.contains("nobody would be a manager"), "{refused}");
    assert_eq!(check::check(&bar.store).unwrap(), []);
}

#[test]
fn a_bar_code_that_goes_over_to_another_item_comes_back() {
    let mut bar = Bar::new();
    let (gin, rum) = (bar.item("Dry gin"), bar.item("White rum"));
    let before = plain(&bar.store, bar.home.path());
    let code = bar.setup().item(gin).unwrap().gtins.clone();
    assert!(!code.is_empty());
    let now = bar.later();
    let with = |item, gtins| Item { gtins, ..bar.setup().item(item).unwrap().clone() };
    let (first, second) = (with(rum, code), with(gin, Vec::new()));
    let put = |item: &Item| {
        bar.store.write((Deed::Loaded, now), |conn| tantalus::store::setup::put_item(conn, item).map(|_| ())).unwrap();
        bar.last()
    };
    let given = put(&first);
    put(&second);
    undoing::undo(&bar.store, given, now).unwrap();
    assert_eq!(differ(&before, &plain(&bar.store, bar.home.path())), "");
    assert_eq!(check::check(&bar.store).unwrap(), []);
}

/// The triggers of the book tell of it as of anything else: it is no part of what somebody does next.
#[test]
fn what_another_program_changes_is_an_act_of_its_own() {
    let mut bar = Bar::new();
    bar.sign_in("AB");
    let other = Connection::open(bar.store.path()).unwrap();
    let (rum, tonic) = (bar.item("White rum"), bar.item("Tonic"));
    let findings = |bar: &Bar| format!("{:?}", check::check(&bar.store).unwrap());
    let mut par = 5_000;
    let mut go_on = |bar: &mut Bar| {
        let now = bar.later();
        par += 1_000;
        par::set_by_hand(&bar.store, tonic, Some(Containers(par)), now).unwrap();
        bar.last()
    };
    for (edit, told) in [
        ("UPDATE item SET par = 9000 WHERE name = 'White rum'", "White rum: par 4 → 9"),
        (
            "INSERT INTO count_line (count, place, item, at, sealed, open, method, by)
             SELECT count, place, item, at, sealed + 7, open, method, by FROM count_line ORDER BY seq LIMIT 1",
            "",
        ),
        (
            "INSERT INTO sale (receipt, line, at, till, quantity, net, kind)
             SELECT receipt, line + 70, at, till, quantity, net, kind FROM sale ORDER BY id LIMIT 1",
            "1 line of receipts",
        ),
    ] {
        other.execute_batch(edit).unwrap();
        assert!(findings(&bar).contains("no act of the history tells of") || told.contains("receipts"), "{edit}");
        let ours = go_on(&mut bar);
        let theirs = ActId(ours.0 - 1);
        let (_, row) = history::told(&bar.store, theirs).unwrap();
        assert_eq!((row.act.deed, row.act.by.as_deref()), (Deed::Foreign, None), "{edit}");
        assert!(row.said.join("; ").contains(told), "{edit}: {:?}", row.said);
        assert!(!bar.told(ours).contains("White rum"), "{}", bar.told(ours));
        assert!(findings(&bar).contains("another program changed the book"), "{edit}: {}", findings(&bar));
    }
    let first = ActId(bar.last().0 - 5);
    let now = bar.later();
    undoing::undo(&bar.store, first, now).unwrap();
    assert_eq!(bar.setup().item(rum).unwrap().par, Some(Containers(4_000)));
    let said = findings(&bar);
    assert!(!said.contains(&format!("act {} of", first.0)), "what was taken back is told no more: {said}");
}

#[test]
fn many_edits_are_named_and_the_rest_counted() {
    let bar = Bar::new();
    let path = bar.store.path().to_owned();
    drop(bar.store);
    let conn = Connection::open(&path).unwrap();
    conn.execute_batch("PRAGMA foreign_keys = OFF").unwrap();
    let triggers: Vec<String> = {
        let mut statement = conn.prepare("SELECT name FROM sqlite_schema WHERE type = 'trigger'").unwrap();
        statement.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    triggers.iter().for_each(|trigger| conn.execute_batch(&format!("DROP TRIGGER \"{trigger}\"")).unwrap());
    let edited = conn.execute("UPDATE offer SET price = price + 1", []).unwrap()
        + conn.execute("UPDATE item SET size = size + 1", []).unwrap()
        + conn.execute("UPDATE shelf SET position = position + 100", []).unwrap()
        + conn.execute("UPDATE spec_line SET waste = waste + 1", []).unwrap()
        + conn.execute("UPDATE drink_version SET price = price + 1", []).unwrap();
    assert!(edited > 20, "{edited} rows");
    drop(conn);
    let said = format!("{:?}", check::check(&Store::open(&path).unwrap()).unwrap());
    assert!(said.contains(&format!("{} more row", edited - 20)), "{edited}: {said}");
}

/// Any row of any table, changed by another program.
#[test]
fn what_was_edited_behind_the_back_is_found() {
    let mut bar = Bar::new();
    deeds(&mut bar, |_, _, _| {});
    let path = bar.store.path().to_owned();
    drop(bar.store);
    let copy = bar.home.path().join("edited.tantalus");
    let tables: Vec<String> = {
        let conn = Connection::open(&path).unwrap();
        let mut statement = conn.prepare("SELECT name FROM sqlite_schema WHERE type = 'table'").unwrap();
        statement.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    let mut edits = 0;
    for table in tables.iter().filter(|t| !t.starts_with("sqlite_") && !t.starts_with("sale_day")) {
        for edit in ["UPDATE", "DELETE"] {
            fs::copy(&path, &copy).unwrap();
            let conn = Connection::open(&copy).unwrap();
            let sound = edit_one(&conn, table, edit);
            drop(conn);
            if !sound {
                continue;
            }
            edits += 1;
            let findings = check::check(&Store::open(&copy).unwrap()).unwrap();
            assert!(!findings.is_empty(), "{edit} of {table} was not found");
            let told = findings.iter().map(|f| format!("{f:?}")).collect::<String>();
            // A rule of its table may find it first.
            assert!(told.contains("Edited") || told.contains("Page"), "{edit} of {table}: {findings:?}");
        }
    }
    assert!(edits > 60, "{edits} edits of {} tables", tables.len());
}

/// Changes or takes away the last row of a table, without the rules of the book. Says whether there was one.
fn edit_one(conn: &Connection, table: &str, edit: &str) -> bool {
    conn.execute_batch("PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON").unwrap();
    let triggers: Vec<String> = {
        let mut statement = conn.prepare("SELECT name FROM sqlite_schema WHERE type = 'trigger'").unwrap();
        statement.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    let all: Vec<String> = {
        let mut statement = conn.prepare("SELECT sql FROM sqlite_schema WHERE type = 'trigger'").unwrap();
        statement.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    triggers.iter().for_each(|trigger| conn.execute_batch(&format!("DROP TRIGGER \"{trigger}\"")).unwrap());
    let sql = format!("SELECT name, type, pk FROM pragma_table_info('{table}')");
    let columns: Vec<(String, String, i64)> = {
        let mut statement = conn.prepare(&sql).unwrap();
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?))).unwrap();
        rows.map(Result::unwrap).collect()
    };
    let keys: Vec<String> = columns.iter().filter(|c| c.2 > 0).map(|c| format!("\"{}\"", c.0)).collect();
    let which = format!("({0}) = (SELECT {0} FROM \"{table}\" ORDER BY {0} DESC LIMIT 1)", keys.join(", "));
    // What is no key, and never a kind of sale, which may turn out otherwise later.
    let cell = columns
        .iter()
        .rfind(|c| c.2 == 0 && !["file", "kind", "reverses", "reopens", "undoes"].contains(&c.0.as_str()));
    let changed = match (edit, cell) {
        ("UPDATE", Some((name, kind, _))) => {
            let value = match kind.as_str() {
                "TEXT" => format!("coalesce(\"{name}\", '') || 'x'"),
                "BLOB" => "zeroblob(16)".to_owned(),
                _ => format!("coalesce(\"{name}\", 0) + 1"),
            };
            conn.execute(&format!("UPDATE \"{table}\" SET \"{name}\" = {value} WHERE {which}"), []).unwrap()
        }
        ("UPDATE", None) => 0,
        _ => conn.execute(&format!("DELETE FROM \"{table}\" WHERE {which}"), []).unwrap(),
    };
    all.iter().for_each(|sql| conn.execute_batch(sql).unwrap());
    changed > 0
}

#[test]
fn a_counter_takes_back_their_own_and_no_more() {
    let mut bar = Bar::new();
    let rum = bar.item("White rum");
    let loss = |now: Moment| Loss {
        seq: Seq(0),
        at: now,
        item: rum,
        amount: Amount(20_000),
        reason: Reason::Tasting,
        place: None,
        by: None,
        note: None,
    };
    bar.sign_in("AB");
    let now = bar.later();
    losing::record(&bar.store, &Loss { by: Some("AB".to_owned()), ..loss(now) }, now).unwrap();
    let theirs = bar.last();
    bar.sign_in("CD");
    let now = bar.later();
    losing::record(&bar.store, &loss(now), now).unwrap();
    let own = bar.last();
    assert!(undoing::undo(&bar.store, theirs, now).unwrap_err().to_string().contains("only a manager"));
    let row = losing::recent(&bar.store, 2).unwrap().into_iter().find(|row| row.by.as_deref() == Some("AB")).unwrap();
    let refused = losing::take_back(&bar.store, row.seq, Some("CD"), now).unwrap_err().to_string();
    assert!(refused.contains("only a manager"), "{refused}");
    undoing::undo(&bar.store, own, now).unwrap();
    let refused = par::set_by_hand(&bar.store, rum, None, now).unwrap_err().to_string();
    assert!(refused.contains("only a manager"), "{refused}");
    let before = bar.last();
    assert!(undoing::undo(&bar.store, ActId(1), now).is_err());
    assert_eq!(bar.last(), before, "what is refused leaves no trace");
}
