//! Files of the till through the desk: taken in whole or not at all, nothing twice, taken back, offered while they are new.
#![allow(clippy::unwrap_used, missing_docs)]

use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use tantalus::desk::files::{LedTo, Seen, look_into, offered};
use tantalus::desk::init::init_from;
use tantalus::desk::till::{self, Ask};
use tantalus::desk::{DeskError, unwatched};
use tantalus::domain::rows::{SalesLook, TakenIn};
use tantalus::domain::till::{Field, Layout, TakenAs};
use tantalus::domain::venue::{DrinkId, Moment, TillMeaning, parse_day};
use tantalus::store::{Store, files, sales, setup};
use tempfile::{TempDir, tempdir};

/// 1 December 2026.
const NOW: Moment = Moment(1_796_100_000_000);

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/samples/till")
}

/// A book of a bar with one drink.
fn book() -> (TempDir, Store) {
    let home = tempdir().unwrap();
    let folder = home.path().join("files");
    fs::create_dir(&folder).unwrap();
    for (name, text) in [
        ("venue.csv", "key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\n"),
        ("stock.csv", "item,kind,size\nGin,spirit,700 ml\n"),
        ("drinks.csv", "drink,price,tax\nGin Tonic,9.00,19\n"),
        ("specs.csv", "drink,ingredient,quantity\nGin Tonic,Gin,40 ml\n"),
    ] {
        fs::write(folder.join(name), text).unwrap();
    }
    let (store, _) = init_from(&home.path().join("bar.tantalus"), &folder, NOW, &mut unwatched).unwrap();
    (home, store)
}

fn on(_: u64, _: u64) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn ask(path: &Path) -> Ask<'_> {
    Ask { path, layout: None, day: None }
}

fn look(store: &Store, path: &Path) -> SalesLook {
    till::look(store, ask(path), NOW, &mut on).unwrap()
}

fn take(store: &Store, path: &Path) -> Result<TakenIn, DeskError> {
    till::take(store, ask(path), Some("AB"), NOW, &mut on)
}

/// A table that somebody has said how to read.
fn take_as(store: &Store, path: &Path, layout: &Layout) -> Result<TakenIn, DeskError> {
    till::take(store, Ask { layout: Some(layout), ..ask(path) }, None, NOW, &mut on)
}

fn table(home: &Path, name: &str, rows: &str) -> PathBuf {
    let path = home.join(name);
    fs::write(&path, format!("Date;Time;Receipt;Item;Quantity;Net\n{rows}")).unwrap();
    path
}

/// Lines, quantity in thousandths and net, of all that is rung in the book.
fn rung(store: &Store) -> (i64, i64, i64) {
    let all = store.read(|c| sales::rung(c, Moment(0))).unwrap();
    all.iter().fold((0, 0, 0), |(n, q, m), (_, r)| (n + r.lines, q + r.quantity, m + r.net.0))
}

#[test]
fn an_export_comes_in_once_whatever_it_is_called() {
    let (home, store) = book();
    let zip = samples().join("dsfinvk-zwei-abschluesse.zip");
    let seen = look(&store, &zip);
    assert!(seen.table.is_none() && seen.taken.is_none());
    let sum = seen.sum.unwrap();
    assert_eq!(rung(&store), (0, 0, 0), "looking keeps nothing");
    let taken = take(&store, &zip).unwrap();
    assert_eq!((taken.added, taken.already), (sum.lines, 0));
    assert_eq!(taken.sum, sum, "what was shown is what came");
    let before = rung(&store);
    let copy = home.path().join("another name.zip");
    fs::copy(&zip, &copy).unwrap();
    assert_eq!(look(&store, &copy).taken.map(|file| file.name), Some("dsfinvk-zwei-abschluesse.zip".to_owned()));
    let again = take(&store, &copy).unwrap();
    assert_eq!((again.added, again.already), (0, sum.lines));
    assert_eq!(rung(&store), before);
    // A folder is a file too.
    let folder = take(&store, &samples().join("dsfinvk-ordner")).unwrap();
    assert_eq!(folder.added, 3);
    assert!(matches!(look_into(&samples().join("dsfinvk-ordner")), LedTo::File(_)));
    assert!(matches!(look_into(&samples()), LedTo::Folder(listing) if listing.entries.is_ok()));
}

#[test]
fn what_is_refused_leaves_the_book_as_it_was() {
    let (home, store) = book();
    let names = |store: &Store| store.read(setup::load).unwrap().till.len();
    // In crowns, to a book in euros.
    let refused = take(&store, &samples().join("saft-no-kassasystem.xml")).unwrap_err().to_string();
    assert!(refused.contains("NOK") && refused.contains("EUR"), "{refused}");
    let cut = home.path().join("cut.zip");
    let whole = fs::read(samples().join("dsfinvk-zwei-abschluesse.zip")).unwrap();
    fs::write(&cut, &whole[..whole.len() / 2]).unwrap();
    assert!(take(&store, &cut).is_err());
    let invoice = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/samples/invoice/ubl-rechnung.xml");
    let refused = take(&store, &invoice).unwrap_err().to_string();
    assert!(refused.contains("receive"), "{refused}");
    let bad =
        table(home.path(), "bad.csv", "2026-11-20;21:00;1;Gin Tonic;2;15.13\n2026-11-20;21:05;2;Gin Tonic;x;7.56\n");
    let good = table(home.path(), "good.csv", "2026-11-20;21:00;1;Gin Tonic;2;15.13\n");
    let layout = look(&store, &good).table.unwrap().layout;
    let refused = take_as(&store, &bad, &layout).unwrap_err().to_string();
    assert!(refused.contains("line 3"), "{refused}");
    // Somebody stops it.
    let mut stop = |_: u64, _: u64| ControlFlow::Break(());
    let big: String = (0..60_000).map(|n| format!("2026-11-20;21:00;{n};Gin Tonic;1;7.56\n")).collect();
    let big = table(home.path(), "big.csv", &big);
    let stopped = till::take(&store, Ask { layout: Some(&layout), ..ask(&big) }, None, NOW, &mut stop);
    assert!(matches!(stopped, Err(DeskError::Stopped)));
    assert_eq!((rung(&store), names(&store)), ((0, 0, 0), 0));
    assert!(store.read(|c| files::newest(c, 9)).unwrap().is_empty());
}

#[test]
fn a_table_is_asked_about_once_and_then_read_in_silence() {
    let (home, store) = book();
    let first = table(home.path(), "week 46.csv", "2026-11-13;21:00;1;Gin Tonic;2;15.13\n");
    let refused = take(&store, &first).unwrap_err().to_string();
    assert!(refused.contains("say first how it is read"), "{refused}");
    let seen = look(&store, &first).table.unwrap();
    assert!(!seen.known);
    assert_eq!(seen.layout.name, "week");
    assert_eq!(take_as(&store, &first, &seen.layout).unwrap().added, 1);
    let second = table(
        home.path(),
        "week 47.csv",
        "2026-11-20;21:00;7;Gin Tonic;1;7.56\n2026-11-13;21:00;1;Gin Tonic;2;15.13\n",
    );
    assert!(look(&store, &second).table.unwrap().known);
    let taken = take(&store, &second).unwrap();
    assert_eq!((taken.added, taken.already), (1, 1), "what both files have is there once");
    // The same receipt with another figure contradicts the book.
    let third = table(home.path(), "week 47b.csv", "2026-11-20;21:00;7;Gin Tonic;3;22.69\n");
    let refused = take(&store, &third).unwrap_err().to_string();
    assert!(refused.contains("the book has 1") && refused.contains("this file 3"), "{refused}");
    assert_eq!(rung(&store), (2, 3_000, 2_269));
}

#[test]
fn a_file_that_was_read_wrongly_is_taken_back_and_read_rightly() {
    let (home, store) = book();
    let path = table(home.path(), "week.csv", "2026-11-20;21:00;1;Gin Tonic;2;18.00\n");
    let mut layout = look(&store, &path).table.unwrap().layout;
    take_as(&store, &path, &layout).unwrap();
    assert_eq!(rung(&store), (1, 2_000, 1_800));
    // The figure had tax in it.
    let net = layout.column(Field::Net).unwrap();
    layout.columns[net].field = Field::Gross;
    layout.tax = Some(1_900);
    assert!(take_as(&store, &path, &layout).is_err(), "not while the wrong one stands");
    let file = store.read(|c| files::newest(c, 1)).unwrap().remove(0);
    assert_eq!(till::withdraw(&store, file.id, Some("AB"), NOW).unwrap(), 1);
    assert_eq!(take_as(&store, &path, &layout).unwrap().added, 1);
    assert_eq!(rung(&store), (1, 2_000, 1_513));
}

#[test]
fn what_a_name_means_changes_what_was_sold_at_once() {
    let (home, store) = book();
    let path = table(home.path(), "week.csv", "2026-11-20;21:00;1;G+T DBL;2;30.25\n2026-11-20;21:00;1;BAG;1;0.10\n");
    let layout = look(&store, &path).table.unwrap().layout;
    let taken = take_as(&store, &path, &layout).unwrap();
    assert_eq!((taken.sum.new_names, taken.sum.unmapped), (vec!["G+T DBL".to_owned(), "BAG".to_owned()], 2));
    let view = till::view(&store, NOW).unwrap();
    assert_eq!(view.waiting(), 2);
    let first = &view.rows[0];
    assert_eq!((first.rung.quantity, first.rung.net.0), (2_000, 3_025));
    let likeliest: TillMeaning = first.likely.candidates[0].means.into();
    assert_eq!(likeliest, TillMeaning::Drink { drink: DrinkId(1), portion: 2_000 }, "a double gin and tonic");
    till::map(&store, first.till, likeliest).unwrap();
    till::map(&store, view.rows[1].till, TillMeaning::Ignored).unwrap();
    let view = till::view(&store, NOW).unwrap();
    assert_eq!(view.waiting(), 0);
    till::map(&store, view.rows[0].till, TillMeaning::Unknown).unwrap();
    assert_eq!(till::view(&store, NOW).unwrap().waiting(), 1, "and can be taken back");
}

#[test]
fn two_articles_of_one_name_stay_two() {
    let (home, store) = book();
    let path = home.path().join("week.csv");
    let rows = "2026-11-20;21:00;1;101;Gin;1;5.00\n2026-11-20;21:00;1;102;Gin;1;9.00\n";
    fs::write(&path, format!("Date;Time;Receipt;Article number;Item;Quantity;Net\n{rows}")).unwrap();
    let layout = look(&store, &path).table.unwrap().layout;
    assert!(layout.column(Field::Code).is_some());
    let taken = take_as(&store, &path, &layout).unwrap();
    assert_eq!(taken.sum.new_names, ["Gin", "Gin #102"]);
    let again = take_as(&store, &path, &layout).unwrap();
    assert_eq!((again.added, again.already), (0, 2), "the same names the next time");
}

#[test]
fn a_day_s_figures_are_brought_up_to_what_a_later_report_knows() {
    let (home, store) = book();
    let report = |name: &str, rows: &str| {
        let path = home.path().join(name);
        fs::write(&path, format!("Business day;Item;Quantity;Net\n{rows}")).unwrap();
        path
    };
    let early = report("at ten.csv", "2026-11-20;Gin Tonic;12;90.76\n2026-11-20;Lager;30;100.84\n");
    let seen = look(&store, &early).table.unwrap();
    take_as(&store, &early, &seen.layout).unwrap();
    let late = report("at two.csv", "2026-11-20;Gin Tonic;14;105.88\n2026-11-20;Lager;30;100.84\n");
    let taken = take(&store, &late).unwrap();
    assert_eq!((taken.added, taken.already, taken.corrected), (0, 1, 1));
    assert_eq!(rung(&store), (3, 44_000, 20_672));
    // The evening is over before a count at closing, and not begun before one in the afternoon.
    let at = store.read(|c| sales::between(c, Moment(0), Moment(i64::MAX))).unwrap()[0].at;
    let day = parse_day("2026-11-20").unwrap();
    let days = store.read(setup::load).unwrap().venue.days;
    assert_eq!(at.0 - days.begins(day).0, 15 * 3_600_000);
}

#[test]
fn figures_of_a_day_stand_side_by_side_by_kind_and_article_number() {
    let (home, store) = book();
    let report = |name: &str, rows: &str| {
        let path = home.path().join(name);
        fs::write(&path, format!("Business day;PLU;Item;Type;Quantity;Net\n{rows}")).unwrap();
        path
    };
    let rows = "2026-11-20;101;Gin;Sale;12;60.00\n2026-11-20;101;Gin;Staff;2;0.00\n2026-11-20;102;Gin;Sale;3;27.00\n";
    let early = report("at ten.csv", rows);
    let layout = look(&store, &early).table.unwrap().layout;
    let taken = take_as(&store, &early, &layout).unwrap();
    assert_eq!((taken.added, taken.sum.new_names), (3, vec!["Gin".to_owned(), "Gin #102".to_owned()]));
    assert_eq!(rung(&store), (3, 17_000, 8_700));
    let late = report("at two.csv", &rows.replace("Staff;2", "Staff;3").replace("3;27.00", "4;36.00"));
    let taken = take(&store, &late).unwrap();
    assert_eq!((taken.added, taken.already, taken.corrected), (0, 1, 2));
    assert_eq!(rung(&store), (5, 19_000, 9_600));
}

#[test]
fn new_files_of_the_watched_folder_are_offered_until_they_are_taken_or_set_aside() {
    let (home, store) = book();
    let inbox = home.path().join("inbox");
    fs::create_dir(&inbox).unwrap();
    let mut seen = Seen::default();
    let names = |seen: &mut Seen| -> Vec<String> {
        let mut names: Vec<String> = offered(&store, &inbox, seen).unwrap().into_iter().map(|f| f.name).collect();
        names.sort();
        names
    };
    assert!(names(&mut seen).is_empty());
    fs::copy(samples().join("dsfinvk-zwei-abschluesse.zip"), inbox.join("till.zip")).unwrap();
    let invoice = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/samples/invoice/hybrid-facturx.pdf");
    fs::copy(&invoice, inbox.join("bill.pdf")).unwrap();
    fs::copy(invoice.with_file_name("no-attachment.pdf"), inbox.join("menu.pdf")).unwrap();
    fs::write(inbox.join("picture.png"), b"\x89PNG\r\n\x1a\n0000").unwrap();
    table(&inbox, "week.csv", "2026-11-20;21:00;1;Gin Tonic;2;18.00\n");
    assert_eq!(names(&mut seen), ["bill.pdf", "till.zip", "week.csv"], "what this program takes, and nothing else");
    take(&store, &inbox.join("till.zip")).unwrap();
    let print = look(&store, &inbox.join("week.csv")).print;
    till::set_aside(&store, &print, None, NOW).unwrap();
    assert_eq!(names(&mut seen), ["bill.pdf"]);
    // By what is in them, not by their names; and from the first look of another session on.
    fs::rename(inbox.join("till.zip"), inbox.join("renamed.zip")).unwrap();
    assert_eq!(names(&mut Seen::default()), ["bill.pdf"]);
    // Set aside by mistake: it is offered again.
    let file = store.read(|c| files::newest(c, 1)).unwrap().remove(0);
    assert_eq!(file.what, TakenAs::SetAside);
    till::withdraw(&store, file.id, None, NOW).unwrap();
    assert_eq!(names(&mut seen), ["bill.pdf", "week.csv"]);
    let gone = offered(&store, &home.path().join("no such folder"), &mut seen);
    assert!(gone.unwrap_err().to_string().contains("no such folder"));
}
