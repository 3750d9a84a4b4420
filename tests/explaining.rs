//! Causes of gaps that somebody accepts: on a small book made of plain files, through the desk and down to its rows.
//!
//! What went is worked by hand beside each figure; the book knows no sales, so that every difference is a gap.

#![allow(clippy::unwrap_used)]

use std::path::Path;
use tantalus::desk::comparing::Choice;
use tantalus::desk::explaining::{Accepted, accept, reopen};
use tantalus::desk::reviewing::review;
use tantalus::desk::{check, dump, init, unwatched};
use tantalus::domain::ledger::Explanation;
use tantalus::domain::rows::PeriodView;
use tantalus::domain::usage::Verdict;
use tantalus::domain::venue::{CauseWord, CountId, DayRule, Deed, ItemId, Moment, Seq};
use tantalus::store::{Store, StoreError, counts, explanations, setup};
use tempfile::{TempDir, tempdir};

/// Eight of twelve litres of gin are gone at the second count, and no rum is. The third count is not closed.
const FILES: &[(&str, &str)] = &[
    ("venue.csv", "key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\n"),
    ("people.csv", "initials,role\nAB,manager\nCD,counter\n"),
    ("places.csv", "place,walk\nCellar,1\n"),
    ("stock.csv", "item,kind,size\nGin,spirit,1 l\nRum,spirit,1 l\n"),
    (
        "counts.csv",
        "count,at,place,item,full,open,state\n\
         One,2026-11-09 02:00,Cellar,Gin,12,.5,\nOne,2026-11-09 02:01,Cellar,Rum,6,.5,\n\
         Two,2026-11-16 02:00,Cellar,Gin,4,.5,\nTwo,2026-11-16 02:01,Cellar,Rum,6,.5,\n\
         Three,2026-11-20 02:00,Cellar,Gin,4,.5,open\n",
    ),
    // Something was rung, or there would be nothing to compare with.
    ("sales.csv", "receipt,line,at,sold_as,quantity,net\nZ1,1,2026-11-12 21:00,ANY,1,1.00\n"),
];

fn at(text: &str) -> Moment {
    let starts = chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap();
    DayRule { zone: chrono_tz::Europe::Berlin, starts }.parse(text).unwrap()
}

fn made_of(home: &TempDir, plain: &Path) -> Store {
    let made = init::init_from(&home.path().join("bar.tantalus"), plain, at("2026-11-21 12:00"), &mut unwatched);
    made.unwrap_or_else(|refused| panic!("{refused}")).0
}

fn book() -> (TempDir, Store) {
    let home = tempdir().unwrap();
    let plain = home.path().join("plain");
    std::fs::create_dir(&plain).unwrap();
    FILES.iter().for_each(|(name, text)| std::fs::write(plain.join(name), text).unwrap());
    let store = made_of(&home, &plain);
    (home, store)
}

fn count(store: &Store, name: &str) -> CountId {
    store.read(|c| counts::find(c, name)).unwrap().unwrap().id
}

fn item(store: &Store, name: &str) -> ItemId {
    store.read(setup::load).unwrap().items.iter().find(|i| i.name == name).unwrap().id
}

fn reviewed(store: &Store) -> PeriodView {
    review(store, Choice::default()).unwrap_or_else(|refused| panic!("{refused}"))
}

/// What is in force.
fn kept(store: &Store) -> Vec<Explanation> {
    store.read(explanations::list).unwrap()
}

fn raw(store: &Store) -> rusqlite::Connection {
    rusqlite::Connection::open(store.path()).unwrap()
}

fn rows(store: &Store) -> i64 {
    raw(store).query_row("SELECT count(*) FROM explanation", [], |row| row.get(0)).unwrap()
}

fn gone(store: &Store) -> Accepted {
    Accepted { closing: count(store, "Two"), item: item(store, "Gin"), cause: CauseWord::Gone, note: None }
}

#[test]
fn an_accepted_cause_takes_a_gap_off_the_list_until_it_is_opened_again() {
    let (_home, store) = book();
    let (gin, rum, two) = (item(&store, "Gin"), item(&store, "Rum"), count(&store, "Two"));
    let view = reviewed(&store);
    assert_eq!(view.closing.id, two);
    let gap = |item| view.variance.rows.iter().find(|row| row.item == item).unwrap().gap;
    // 12.5 l − 4.5 l, and 6.5 l − 6.5 l.
    assert_eq!((gap(gin).0, gap(rum).0), (8_000_000, 0));
    assert_eq!(view.review.verdict(gin), Verdict::LookInto);
    assert!(view.explained.is_empty() && view.is_open(gin) && !view.is_open(rum));

    let first = Accepted { note: Some("  a case went to the fair ".to_owned()), ..gone(&store) };
    let seq = accept(&store, &first, Some(" ab "), at("2026-11-16 10:00")).unwrap();
    let view = reviewed(&store);
    assert!(!view.is_open(gin));
    let want = Explanation {
        seq,
        at: at("2026-11-16 10:00"),
        closing: two,
        item: gin,
        cause: CauseWord::Gone,
        // As people.csv spells them.
        by: Some("AB".to_owned()),
        note: Some("a case went to the fair".to_owned()),
    };
    assert_eq!((view.explained.len(), view.explained.get(&gin)), (1, Some(&want)));
    // What the counts say of it stays as it was.
    assert_eq!(view.review.verdict(gin), Verdict::LookInto);

    // Another one is in force instead; neither row is lost.
    let other = Accepted { cause: CauseWord::NotBooked, note: Some(" ".to_owned()), ..first };
    accept(&store, &other, None, at("2026-11-16 11:00")).unwrap();
    let view = reviewed(&store);
    let found = view.explained.get(&gin).map(|e| (e.cause, e.by.clone(), e.note.clone()));
    assert_eq!(found, Some((CauseWord::NotBooked, None, None)));
    assert!(!view.is_open(gin));
    assert_eq!((kept(&store).len(), rows(&store)), (1, 3));

    // Opened again, the one before does not come back.
    let was = reopen(&store, two, gin, Some("CD"), at("2026-11-16 12:00")).unwrap();
    assert_eq!((was.cause, was.closing, was.item), (CauseWord::NotBooked, two, gin));
    let view = reviewed(&store);
    assert!(view.is_open(gin) && view.explained.is_empty() && kept(&store).is_empty());
    let refused = reopen(&store, two, gin, None, at("2026-11-16 12:01")).unwrap_err().to_string();
    assert_eq!(refused, "no cause was accepted for Gin at this count");
    assert_eq!(rows(&store), 4);
    accept(&store, &other, Some("CD"), at("2026-11-16 13:00")).unwrap();
    assert!(!reviewed(&store).is_open(gin));
    assert!(check::check(&store).unwrap().is_empty());
}

#[test]
fn what_cannot_be_accepted_is_refused_and_what_was_accepted_stays() {
    let (_home, store) = book();
    let before = accept(&store, &gone(&store), Some("AB"), at("2026-11-16 10:00")).unwrap();
    let now = at("2026-11-21 12:00");
    let of = |note: &str| Accepted { cause: CauseWord::Chance, note: Some(note.to_owned()), ..gone(&store) };
    let (gin, three) = (gone(&store).item, count(&store, "Three"));
    let cases = [
        (
            of("well"),
            Some("ZZ"),
            "nobody here signs as ZZ; one of AB, CD, or a manager adds them in the Book (B, then p) or with `tantalus people add`",
        ),
        (of("a bell\u{7} rang"), Some("AB"), "the note: "),
        (of("=SUM(A1)"), Some("AB"), "the note: "),
        (Accepted { closing: three, ..of("well") }, Some("AB"), "this count is not in the book, or not closed"),
        (Accepted { closing: CountId(77), ..of("well") }, None, "this count is not in the book, or not closed"),
        (Accepted { item: ItemId(77), ..of("well") }, None, "this item is not in the book any more"),
    ];
    for (accepted, by, says) in cases {
        let refused = accept(&store, &accepted, by, now).unwrap_err().to_string();
        assert!(refused.starts_with(says), "{accepted:?}: {refused}");
        assert!(refused.chars().all(|c| !c.is_control()), "{refused:?}");
        assert_eq!((kept(&store)[0].seq, rows(&store)), (before, 1), "{accepted:?}");
    }
    for (closing, item, by, says) in [
        (three, gin, None, "no cause was accepted for Gin at this count"),
        (gone(&store).closing, gin, Some("ZZ"), "nobody here signs as ZZ"),
    ] {
        let refused = reopen(&store, closing, item, by, now).unwrap_err().to_string();
        assert!(refused.starts_with(says), "{refused}");
        assert_eq!((kept(&store)[0].seq, rows(&store)), (before, 1));
    }
}

#[test]
fn what_was_accepted_goes_along_with_the_plain_files() {
    let (_home, store) = book();
    let note = "two boxes, \"by the door\"; ours?".to_owned();
    let first = Accepted { note: Some(note.clone()), ..gone(&store) };
    accept(&store, &Accepted { cause: CauseWord::Twin, ..first.clone() }, None, at("2026-11-16 09:00")).unwrap();
    accept(&store, &first, Some("AB"), Moment(at("2026-11-16 10:00").0 + 125)).unwrap();
    let folder = tempdir().unwrap();
    dump::dump(&store, folder.path()).unwrap();
    let text = std::fs::read_to_string(folder.path().join("explained.csv")).unwrap();
    assert_eq!(
        text,
        "at,count,item,cause,by,note\n\
         2026-11-16 10:00:00.125,Two,Gin,gone,AB,\"two boxes, \"\"by the door\"\"; ours?\"\n"
    );
    let home = tempdir().unwrap();
    let copy = made_of(&home, folder.path());
    let view = reviewed(&copy);
    let gin = item(&copy, "Gin");
    assert!(!view.is_open(gin));
    let found = &view.explained[&gin];
    assert_eq!((found.at, found.by.as_deref(), &found.note), (kept(&store)[0].at, Some("AB"), &Some(note)));
    // There it can be opened again as well.
    reopen(&copy, count(&copy, "Two"), gin, None, at("2026-11-21 12:00")).unwrap();
    assert!(reviewed(&copy).is_open(gin));
    dump::dump(&copy, folder.path()).unwrap();
    let text = std::fs::read_to_string(folder.path().join("explained.csv")).unwrap();
    assert_eq!(text, "at,count,item,cause,by,note\n");
}

#[test]
fn a_row_is_taken_back_once_and_only_a_cause_can_be() {
    let (_home, store) = book();
    let Accepted { closing, item, cause, .. } = gone(&store);
    let fact = |hour: i64| Explanation { seq: Seq(0), at: Moment(hour), closing, item, cause, by: None, note: None };
    // In the order of time, whatever the order in which they were entered; those of one moment as they were entered.
    let [late, early, same] = [9, 5, 9]
        .map(|hour| store.write((Deed::Loaded, Moment(0)), |c| explanations::add(c, &fact(hour), Moment(9))).unwrap());
    assert_eq!(kept(&store).iter().map(|e| e.seq).collect::<Vec<_>>(), [early, late, same]);
    let reverse =
        |seq: Seq| store.write((Deed::Loaded, Moment(0)), |c| explanations::reverse(c, seq, None, Moment(10)));
    reverse(late).unwrap();
    assert_eq!(kept(&store).iter().map(|e| e.seq).collect::<Vec<_>>(), [early, same]);
    let reversal = Seq(same.0 + 1);
    for seq in [late, reversal, Seq(77)] {
        assert!(matches!(reverse(seq), Err(StoreError::NotFound { id, .. }) if id == seq.0), "{seq:?}");
    }
    assert_eq!(rows(&store), 4);
}

#[test]
fn a_check_names_causes_of_nothing_and_those_that_contradict_each_other() {
    let (_home, store) = book();
    let Accepted { closing, item, .. } = gone(&store);
    accept(&store, &gone(&store), Some("AB"), at("2026-11-16 10:00")).unwrap();
    assert!(check::check(&store).unwrap().is_empty());
    let (two, gin, three) = (closing.0, item.0, count(&store, "Three").0);
    let conn = raw(&store);
    conn.pragma_update(None, "foreign_keys", false).unwrap();
    conn.execute_batch(&format!(
        "INSERT INTO explanation (seq, at, closing, item, cause, entered, reverses) VALUES
             (11, 1, {two}, {gin}, 'gone', 1, NULL),
             (12, 1, {three}, {gin}, 'gone', 1, NULL),
             (13, 1, 77, {gin}, 'gone', 1, NULL),
             (14, 1, {two}, 78, 'gone', 1, NULL),
             (15, 1, NULL, NULL, NULL, 1, 79),
             (16, 1, {two}, NULL, NULL, 1, 12),
             (17, 1, NULL, NULL, NULL, 1, 16),
             (18, 1, NULL, NULL, NULL, 1, 18),
             (19, 1, {three}, {gin}, 'gone', 1, NULL);"
    ))
    .unwrap();
    let found: Vec<String> = check::check(&store).unwrap().iter().map(ToString::to_string).collect();
    let mut found: Vec<&str> = found.iter().map(String::as_str).collect();
    let mut says = [
        "9 rows were put in that no act of the history tells of",
        "explanation row 13 names a count that is not there",
        "explanation row 14 names an item that is not there",
        "explanation row 15 names an explanation that is not there",
        "explanation row 16 takes a cause back and says one at once",
        "explanation row 17 takes row 16 back, which is no accepted cause",
        "explanation row 18 takes row 18 back, which is no accepted cause",
        "the gap of “Gin” at the count “Two” has 2 causes",
        "the gap of “Gin” has a cause at the count “Three”, which is not closed",
    ];
    found.sort_unstable();
    says.sort_unstable();
    assert_eq!(found, says);
    // A word that nobody could have written is named, and the rest is looked at all the same.
    conn.execute_batch(&format!(
        "INSERT INTO explanation (at, closing, item, cause, entered) VALUES (1, {two}, {gin}, 'magic', 1);"
    ))
    .unwrap();
    let found: Vec<String> = check::check(&store).unwrap().iter().map(ToString::to_string).collect();
    assert!(found.iter().any(|f| f.contains("expected one of overlooked, counted-twice")), "{found:?}");
    assert!(found.iter().any(|f| f.contains("“Two” has 3 causes")), "{found:?}");
}
