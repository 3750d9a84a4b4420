//! Layouts of tables through the desk: what is asked, what is kept, what a later file is read by.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use tantalus::desk::DeskError;
use tantalus::desk::init::init_from;
use tantalus::desk::till::{self, Ask};
use tantalus::desk::unwatched;
use tantalus::domain::rows::{SalesLook, TableLook, TakenIn};
use tantalus::domain::till::{DateOrder, DecimalMark, Layout};
use tantalus::domain::venue::Moment;
use tantalus::store::{Store, layouts, sales};
use tempfile::{TempDir, tempdir};

/// 1 December 2026.
const NOW: Moment = Moment(1_796_100_000_000);

fn book() -> (TempDir, Store) {
    let home = tempdir().unwrap();
    let folder = home.path().join("files");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("venue.csv"), "key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\n").unwrap();
    let (store, _) = init_from(&home.path().join("bar.tantalus"), &folder, NOW, &mut unwatched).unwrap();
    (home, store)
}

fn on(_: u64, _: u64) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn look_by(store: &Store, path: &Path, layout: Option<&Layout>) -> SalesLook {
    till::look(store, Ask { layout, ..Ask::of(path) }, NOW, &mut on).unwrap()
}

fn table(store: &Store, path: &Path, layout: Option<&Layout>) -> TableLook {
    look_by(store, path, layout).table.unwrap()
}

fn take(store: &Store, path: &Path, layout: Option<&Layout>) -> Result<TakenIn, DeskError> {
    till::take(store, Ask { layout, ..Ask::of(path) }, None, NOW, &mut on)
}

fn written(home: &TempDir, name: &str, text: &str) -> PathBuf {
    let path = home.path().join(name);
    fs::write(&path, text).unwrap();
    path
}

/// Net of all that is in the book, in cents.
fn net(store: &Store) -> i64 {
    store.read(|c| sales::rung(c, Moment(0))).unwrap().iter().map(|(_, rung)| rung.net.0).sum()
}

#[test]
fn the_mark_is_kept_as_soon_as_a_file_tells_it() {
    let (home, store) = book();
    let report = |name: &str, day: u32, net: &str| {
        written(&home, name, &format!("Datum;Artikel;Menge;Netto\n{day}.11.2026;Negroni;95;{net}\n"))
    };
    let kept = || store.read(layouts::list).unwrap()[0].decimal;
    let whole = report("first.csv", 20, "950");
    let first = table(&store, &whole, None);
    assert!(first.questions.is_empty(), "{:?}", first.questions);
    take(&store, &whole, Some(&first.layout)).unwrap();
    assert_eq!((kept(), net(&store)), (DecimalMark::Unknown, 95_000));
    // The next of the kind is read in silence.
    take(&store, &report("second.csv", 21, "960"), None).unwrap();
    assert_eq!(net(&store), 191_000);
    // One that could be read both ways is not, and says so.
    let open = report("third.csv", 22, "1,250");
    let seen = look_by(&store, &open, None);
    let asked: Vec<&str> = seen.table.as_ref().unwrap().questions.iter().map(|q| q.asks.as_str()).collect();
    assert_eq!(
        asked,
        ["Do decimals stand after a point or after a comma? “1,250” on line 2 could be 1.25 as well as 1250."]
    );
    assert!(seen.sum.unwrap_err().contains("line 2: Netto: “1,250”: this could be 1.25 as well as 1250"));
    let refused = take(&store, &open, None).unwrap_err().to_string();
    assert!(refused.contains("line 2") && refused.contains("say whether decimals stand after a point"), "{refused}");
    assert_eq!((kept(), net(&store)), (DecimalMark::Unknown, 191_000));
    take(&store, &report("fourth.csv", 23, "9,50"), None).unwrap();
    assert_eq!((kept(), net(&store)), (DecimalMark::Comma, 191_950));
    take(&store, &open, None).unwrap();
    assert_eq!(net(&store), 192_075, "now it is known to be 1.25");
}

#[test]
fn a_figure_far_down_answers_what_the_first_rows_ask() {
    let (home, store) = book();
    let mut text = "Datum;Artikel;Menge;Netto\n20.11.2026;Negroni;95;1,250\n".to_owned();
    (0..20_000).for_each(|n| text.push_str(&format!("20.11.2026;Tonic {n};9;90\n")));
    let open = look_by(&store, &written(&home, "open.csv", &text), None);
    assert_eq!((open.table.unwrap().questions.len(), open.sum.is_err()), (1, true));
    text.push_str("20.11.2026;Spritz;9;90.50\n");
    let told = look_by(&store, &written(&home, "told.csv", &text), None);
    assert_eq!(told.table.unwrap().questions, []);
    assert_eq!(told.sum.unwrap().net.0, 125_000 + 20_000 * 9_000 + 9_050);
}

#[test]
fn what_was_not_changed_is_still_asked() {
    let (home, store) = book();
    // Neither the order of the dates nor the tax is told.
    let path =
        written(&home, "week.csv", "Date,Item,Qty,Gross sales\n05/11/2026,Negroni,1,12.00\n06/11/2026,Tonic,1,4.50\n");
    let first = table(&store, &path, None);
    let about = |table: &TableLook, word: &str| table.questions.iter().filter(|q| q.asks.contains(word)).count();
    assert_eq!((about(&first, "days written"), about(&first, "Tax is in")), (1, 1), "{:?}", first.questions);
    let taxed = Layout { tax: Some(1_900), ..first.layout };
    let second = table(&store, &path, Some(&taxed));
    assert_eq!((about(&second, "days written"), second.questions.len()), (1, 1), "{:?}", second.questions);
    let both = Layout { dates: DateOrder::MonthFirst, ..taxed };
    assert!(table(&store, &path, Some(&both)).questions.is_empty());
}
