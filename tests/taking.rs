//! Files of the till through the desk: taken in whole or not at all, nothing twice, taken back, offered while they are new.
#![allow(clippy::unwrap_used, missing_docs)]

use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use tantalus::desk::check;
use tantalus::desk::files::{LedTo, Seen, look_into, offered};
use tantalus::desk::init::init_from;
use tantalus::desk::till::{self, Ask};
use tantalus::desk::{DeskError, unwatched};
use tantalus::domain::rows::{SalesLook, TakenIn};
use tantalus::domain::till::{Amounts, Field, Layout, TakenAs};
use tantalus::domain::venue::{Deed, DrinkId, Moment, SaleKind, TillMeaning, parse_day};
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

/// A book begun anew from the plain files of another, which are laid down beside it.
fn begun_anew(home: &TempDir, store: &Store, name: &str) -> Store {
    let plain = home.path().join(name);
    tantalus::desk::dump::dump(store, &plain).unwrap();
    init_from(&home.path().join(format!("{name}.tantalus")), &plain, NOW, &mut unwatched).unwrap().0
}

fn on(_: u64, _: u64) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn ask(path: &Path) -> Ask<'_> {
    Ask::of(path)
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
    assert_eq!((taken.sum.added, taken.sum.already), (sum.lines, 0));
    assert_eq!(taken.sum, sum, "what was shown is what came");
    let before = rung(&store);
    let copy = home.path().join("another name.zip");
    fs::copy(&zip, &copy).unwrap();
    assert_eq!(look(&store, &copy).taken.map(|file| file.name), Some("dsfinvk-zwei-abschluesse.zip".to_owned()));
    let again = take(&store, &copy).unwrap();
    assert_eq!((again.sum.added, again.sum.already), (0, sum.lines));
    assert_eq!(rung(&store), before);
    // A folder is a file too.
    let folder = take(&store, &samples().join("dsfinvk-ordner")).unwrap();
    assert_eq!(folder.sum.added, 3);
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
    assert_eq!(take_as(&store, &first, &seen.layout).unwrap().sum.added, 1);
    let second = table(
        home.path(),
        "week 47.csv",
        "2026-11-20;21:00;7;Gin Tonic;1;7.56\n2026-11-13;21:00;1;Gin Tonic;2;15.13\n",
    );
    assert!(look(&store, &second).table.unwrap().known);
    let taken = take(&store, &second).unwrap();
    assert_eq!((taken.sum.added, taken.sum.already), (1, 1), "what both files have is there once");
    // The same receipt with another figure contradicts the book.
    let third = table(home.path(), "week 47b.csv", "2026-11-20;21:00;7;Gin Tonic;3;22.69\n");
    let refused = take(&store, &third).unwrap_err().to_string();
    assert!(refused.contains("the book has 1 Gin Tonic") && refused.contains("this file has 3 Gin Tonic"), "{refused}");
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
    assert_eq!(take_as(&store, &path, &layout).unwrap().sum.added, 1);
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
    till::map(&store, first.till, likeliest, Moment(0)).unwrap();
    till::map(&store, view.rows[1].till, TillMeaning::Ignored, Moment(0)).unwrap();
    let view = till::view(&store, NOW).unwrap();
    assert_eq!(view.waiting(), 0);
    till::map(&store, view.rows[0].till, TillMeaning::Unknown, Moment(0)).unwrap();
    assert_eq!(till::view(&store, NOW).unwrap().waiting(), 1, "and can be taken back");
}

#[test]
fn a_name_that_was_rung_long_ago_only_still_waits_with_all_that_was_rung() {
    let (home, store) = book();
    let rows = "2024-03-01;21:00;1;PUNCH;2;15.00\n2025-03-01;21:00;1;PUNCH;1;7.50\n\
                2024-03-01;21:10;2;BAG;1;0.10\n2026-11-20;21:00;1;BAG;1;0.10\n2026-11-21;21:00;1;SOUR;3;24.00\n";
    let path = table(home.path(), "years.csv", rows);
    let layout = look(&store, &path).table.unwrap().layout;
    take_as(&store, &path, &layout).unwrap();
    let till_of = |name: &str| {
        let view = till::view(&store, NOW).unwrap();
        let row = view.rows.iter().find(|row| view.setup.till_name(row.till).unwrap().name == name).unwrap().clone();
        ((row.till), (row.rung.lines, row.rung.quantity, row.rung.net.0))
    };
    assert_eq!(till::view(&store, NOW).unwrap().waiting(), 3);
    // Lately beats what was before; a name without any of late has all that ever was.
    assert_eq!(till_of("BAG").1, (1, 1_000, 10));
    assert_eq!(till_of("SOUR").1, (1, 3_000, 2_400));
    assert_eq!(till_of("PUNCH").1, (2, 3_000, 2_250));
    // What is said to be no stock is not looked for any more, and the first screen names what was rung of late only.
    till::map(&store, till_of("BAG").0, TillMeaning::Ignored, NOW).unwrap();
    let unmapped = tantalus::desk::looking::tonight(&store, NOW).unwrap().1.unmapped;
    assert_eq!(
        unmapped.iter().map(|(name, sold)| (name.as_str(), sold.quantity)).collect::<Vec<_>>(),
        [("SOUR", 3_000)]
    );
    till::map(&store, till_of("SOUR").0, TillMeaning::Ignored, NOW).unwrap();
    till::map(&store, till_of("PUNCH").0, TillMeaning::Ignored, NOW).unwrap();
    assert!(tantalus::desk::looking::tonight(&store, NOW).unwrap().1.unmapped.is_empty());
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
    assert_eq!((again.sum.added, again.sum.already), (0, 2), "the same names the next time");
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
    assert_eq!((taken.sum.added, taken.sum.already, taken.sum.corrected), (0, 1, 1));
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
    assert_eq!((taken.sum.added, taken.sum.new_names), (3, vec!["Gin".to_owned(), "Gin #102".to_owned()]));
    assert_eq!(rung(&store), (3, 17_000, 8_700));
    let late = report("at two.csv", &rows.replace("Staff;2", "Staff;3").replace("3;27.00", "4;36.00"));
    let taken = take(&store, &late).unwrap();
    assert_eq!((taken.sum.added, taken.sum.already, taken.sum.corrected), (0, 1, 2));
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

/// A report of whole days, read without asking.
fn report(home: &Path, store: &Store, name: &str, rows: &str) -> PathBuf {
    let path = home.join(name);
    fs::write(&path, format!("Business day;Item;Quantity;Net\n{rows}")).unwrap();
    if store.read(tantalus::store::layouts::list).unwrap().is_empty() {
        let mut layout = look(store, &path).table.unwrap().layout;
        layout.amounts = Amounts::Totals;
        store.write((Deed::Loaded, Moment(0)), |c| tantalus::store::layouts::put(c, &layout)).unwrap();
    }
    path
}

fn all_the_same(store: &Store, path: &Path) -> Result<TakenIn, DeskError> {
    till::take(store, Ask { all_the_same: true, ..ask(path) }, None, NOW, &mut on)
}

/// Takes the file of this name back.
fn back(store: &Store, name: &str) -> u64 {
    let all = store.read(files::in_force).unwrap();
    let file = all.iter().rev().find(|file| file.name == name).unwrap();
    till::withdraw(store, file.id, Some("AB"), NOW).unwrap()
}

fn sound(store: &Store) {
    let found: Vec<String> = store.read(tantalus::store::check::all).unwrap().iter().map(ToString::to_string).collect();
    assert_eq!(found, [] as [String; 0]);
}

/// A discount of a whole receipt may carry the name of an article.
#[test]
fn a_name_first_met_as_money_alone_waits_once_it_is_sold() {
    let (home, store) = book();
    let waiting = || till::view(&store, NOW).unwrap().waiting();
    let first = table(home.path(), "one.csv", "2026-11-20;21:00;1;Testbrew;0;-1.00\n");
    let layout = look(&store, &first).table.unwrap().layout;
    let taken = take_as(&store, &first, &layout).unwrap();
    assert_eq!((taken.sum.unmapped, taken.sum.new_names.len(), waiting()), (0, 0, 0));
    let next = table(home.path(), "two.csv", "2026-11-20;21:05;2;Testbrew;2;10.00\n");
    assert_eq!((take(&store, &next).unwrap().sum.unmapped, waiting()), (1, 1));
    let name = store.read(setup::load).unwrap().till[0].clone();
    assert_eq!(name.means, TillMeaning::Unknown);
}

#[test]
fn a_line_that_two_files_hold_stays_while_one_of_them_does() {
    let (home, store) = book();
    let (a, b, c) = (
        "2026-11-20;20:04;1;Gin Tonic;1;9.00\n",
        "2026-11-20;20:05;2;Lager;1;5.00\n",
        "2026-11-20;20:06;3;Lager;1;5.00\n",
    );
    let first = table(home.path(), "first.csv", a);
    let layout = look(&store, &first).table.unwrap().layout;
    take_as(&store, &first, &layout).unwrap();
    let second = table(home.path(), "second.csv", &[a, b].concat());
    let seen = look(&store, &second).sum.unwrap();
    assert_eq!((seen.added, seen.already), (1, 1), "looked at as it is taken in");
    take(&store, &second).unwrap();
    take(&store, &table(home.path(), "third.csv", &[a, b, c].concat())).unwrap();
    assert_eq!(back(&store, "first.csv"), 0, "the others hold its line");
    sound(&store);
    assert_eq!(rung(&store), (3, 3_000, 1_900));
    assert_eq!(back(&store, "third.csv"), 1);
    assert_eq!(rung(&store), (2, 2_000, 1_400));
    assert_eq!(back(&store, "second.csv"), 2);
    assert_eq!(rung(&store), (0, 0, 0));
    sound(&store);
    // And again, any number of times.
    for _ in 0..3 {
        take(&store, &first).unwrap();
        take(&store, &second).unwrap();
        assert_eq!((back(&store, "first.csv"), back(&store, "second.csv")), (0, 2));
    }
    sound(&store);
}

/// Figures of a day stand on those of the files before; whichever of them is taken back, what the last one says stays.
#[test]
fn a_day_says_what_the_last_report_in_force_does() {
    let quantity = |store: &Store| rung(store).1;
    let of = |n: i64| format!("2026-11-20;Gin Tonic;{n};{}.00\n", n * 9);
    let files = |figures: &[i64]| {
        let (home, store) = book();
        for (n, figure) in figures.iter().enumerate() {
            let path = report(home.path(), &store, &format!("{n}.csv"), &of(*figure));
            all_the_same(&store, &path).unwrap();
        }
        (home, store)
    };
    for (figures, taken_back, left) in [
        // Read wrongly first, then rightly.
        (&[100, 10][..], &["0.csv"][..], 10),
        (&[10, 12], &["0.csv"], 12),
        (&[10, 12], &["1.csv"], 10),
        (&[10, 12], &["1.csv", "0.csv"], 0),
        (&[10, 12], &["0.csv", "1.csv"], 0),
        (&[10, 12, 9], &["0.csv"], 9),
        (&[10, 12, 9], &["1.csv"], 9),
        (&[10, 12, 9], &["1.csv", "2.csv"], 10),
        (&[10, 12, 9], &["0.csv", "1.csv"], 9),
        (&[10, 12, 9], &["2.csv"], 12),
        (&[10, 12, 9], &["2.csv", "0.csv"], 12),
        (&[5, -2, 3], &["1.csv"], 3),
    ] {
        let (_home, store) = files(figures);
        assert_eq!(quantity(&store), figures[figures.len() - 1] * 1_000, "{figures:?}");
        for name in taken_back {
            back(&store, name);
            sound(&store);
        }
        assert_eq!(quantity(&store), left * 1_000, "{figures:?} without {taken_back:?}");
    }
    // A second report that says the same.
    let (home, store) = files(&[10]);
    let path = report(home.path(), &store, "1.csv", &[of(10), "2026-11-21;Gin Tonic;1;9.00\n".to_owned()].concat());
    take(&store, &path).unwrap();
    back(&store, "0.csv");
    assert_eq!(quantity(&store), 11_000);
}

#[test]
fn a_report_that_the_book_has_had_does_not_turn_figures_back() {
    let (home, store) = book();
    let of = |n: i64| format!("2026-11-20;Gin Tonic;{n};{}.00\n", n * 9);
    let early = report(home.path(), &store, "at ten.csv", &of(10));
    take(&store, &early).unwrap();
    take(&store, &report(home.path(), &store, "at two.csv", &of(12))).unwrap();
    let refused = take(&store, &early).unwrap_err().to_string();
    assert!(refused.contains("it would turn that back"), "{refused}");
    assert!(all_the_same(&store, &early).is_err(), "whatever is said");
    // Another one that is lower: an older report, or another till's.
    let lower = report(home.path(), &store, "till b.csv", &of(7));
    let seen = look(&store, &lower);
    assert!(seen.doubts[0].contains("Gin Tonic on Fri 20 Nov from 12 to 7"), "{:?}", seen.doubts);
    assert!(matches!(take(&store, &lower), Err(DeskError::Doubtful(doubts)) if doubts == seen.doubts));
    assert_eq!(rung(&store).1, 12_000);
    all_the_same(&store, &lower).unwrap();
    assert_eq!(rung(&store).1, 7_000);
    // Corrected to nothing.
    let nothing =
        report(home.path(), &store, "void.csv", "2026-11-20;Gin Tonic;0;0.00\n2026-11-20;Never sold;0;0.00\n");
    assert_eq!(all_the_same(&store, &nothing).unwrap().sum.corrected, 1);
    assert_eq!(rung(&store).1, 0);
    assert!(store.read(setup::load).unwrap().till.iter().all(|name| name.name != "Never sold"));
}

#[test]
fn the_same_days_in_another_form_are_asked_about() {
    let (home, store) = book();
    let lines = table(home.path(), "lines.csv", "2026-11-20;21:00;1;Gin Tonic;10;90.00\n");
    let layout = look(&store, &lines).table.unwrap().layout;
    take_as(&store, &lines, &layout).unwrap();
    let path = home.path().join("totals.csv");
    fs::write(&path, "Day;Item;Sold;Net\n2026-11-20;Gin Tonic;10;90.00\n").unwrap();
    let mut totals = look(&store, &path).table.unwrap().layout;
    totals.amounts = Amounts::Totals;
    let ask = Ask { layout: Some(&totals), ..ask(&path) };
    let seen = till::look(&store, ask, NOW, &mut on).unwrap();
    assert!(seen.doubts[0].contains("“lines.csv”") && seen.doubts[0].contains("count twice"), "{:?}", seen.doubts);
    assert!(matches!(till::take(&store, ask, None, NOW, &mut on), Err(DeskError::Doubtful(_))));
    till::take(&store, Ask { all_the_same: true, ..ask }, None, NOW, &mut on).unwrap();
    // The other way round, and a book out of plain files knows it too.
    let more = table(home.path(), "more.csv", "2026-11-20;22:00;2;Gin Tonic;1;9.00\n");
    assert!(look(&store, &more).doubts[0].contains("“totals.csv”"));
    let again = begun_anew(&home, &store, "again");
    assert!(look(&again, &more).doubts[0].contains("plain files"), "{:?}", look(&again, &more).doubts);
    // Of figures of a day each register's is one, and no other form of itself; out of plain files they are known too.
    let kassen = home.path().join("kassen.csv");
    fs::write(&kassen, "Day;Register;Item;Sold;Net\n2026-11-24;Kasse 1;Gin Tonic;10;90.00\n").unwrap();
    let mut by_register = look(&store, &kassen).table.unwrap().layout;
    by_register.amounts = Amounts::Totals;
    assert_eq!(by_register.columns[1].field, Field::Register);
    take_as(&store, &kassen, &by_register).unwrap();
    let third = begun_anew(&home, &store, "third");
    let night = table(home.path(), "night.csv", "2026-11-24;22:00;9;Gin Tonic;1;9.00\n");
    assert!(look(&third, &night).doubts[0].contains("plain files"), "{:?}", look(&third, &night).doubts);
    let totals_again =
        till::look(&third, Ask { layout: Some(&by_register), ..Ask::of(&kassen) }, NOW, &mut on).unwrap();
    assert_eq!(totals_again.doubts, [] as [String; 0]);
    // Another day is nobody's business.
    let other = table(home.path(), "other.csv", "2026-11-22;22:00;3;Gin Tonic;1;9.00\n");
    assert_eq!(look(&store, &other).doubts, [] as [String; 0]);
}

#[test]
fn a_file_that_was_written_to_since_is_refused() {
    let (home, store) = book();
    let path = table(home.path(), "one.csv", "2026-11-20;21:00;1;Gin Tonic;1;9.00\n");
    let seen = look(&store, &path);
    let layout = seen.table.unwrap().layout;
    table(home.path(), "one.csv", "2026-11-20;21:00;1;Gin Tonic;1;9.00\n2026-11-20;21:01;2;Gin Tonic;1;9.00\n");
    let ask = Ask { layout: Some(&layout), digest: Some(&seen.print.digest), ..ask(&path) };
    let refused = till::take(&store, ask, None, NOW, &mut on).unwrap_err().to_string();
    assert!(refused.contains("written to since"), "{refused}");
    // And one that grows while it is read.
    let mut grow = |_: u64, _: u64| {
        let mut text = fs::read_to_string(&path).unwrap();
        text.push_str("2026-11-20;23:01;9;Gin Tonic;1;9.00\n");
        fs::write(&path, text).unwrap();
        ControlFlow::Continue(())
    };
    let refused = till::take(&store, Ask { digest: None, ..ask }, None, NOW, &mut grow);
    if let Err(refused) = &refused {
        assert!(refused.to_string().contains("written to since"), "{refused}");
        assert_eq!(rung(&store).0, 0);
    }
    assert!(refused.is_err());
}

#[test]
fn lines_of_before_a_closed_count_are_told() {
    let (home, store) = book();
    let (first, last) = ("2026-11-20;21:00;1;Gin Tonic;1;9.00\n", "2026-11-22;21:00;2;Gin Tonic;1;9.00\n");
    let days = store.read(setup::load).unwrap().venue.days;
    let closed = days.parse("2026-11-21 02:00").unwrap();
    let path = table(home.path(), "two.csv", &[first, last].concat());
    let layout = look(&store, &path).table.unwrap().layout;
    store
        .write((Deed::Loaded, Moment(0)), |c| {
            let id = tantalus::store::counts::begin(c, "closing", closed, false, None, &[])?;
            tantalus::store::counts::close(c, id, closed)
        })
        .unwrap();
    let ask = Ask { layout: Some(&layout), ..ask(&path) };
    let seen = till::look(&store, ask, NOW, &mut on).unwrap().sum.unwrap();
    assert_eq!(seen.before_count, 1);
    assert!(
        seen.warnings.iter().any(|w| w.contains("1 new line is from before the count closed")),
        "{:?}",
        seen.warnings
    );
    till::take(&store, ask, None, NOW, &mut on).unwrap();
    assert_eq!(look(&store, &path).sum.unwrap().before_count, 0, "they are there now");
}

#[test]
fn what_contradicts_the_book_says_in_what() {
    let (home, store) = book();
    let path = table(home.path(), "one.csv", "2026-11-20;21:00;1;Gin Tonic;1;9.00\n");
    let layout = look(&store, &path).table.unwrap().layout;
    take_as(&store, &path, &layout).unwrap();
    let other = table(home.path(), "two.csv", "2026-11-20;21:00;1;Gin Tonic;1;8.00\n");
    let refused = take(&store, &other).unwrap_err().to_string();
    assert!(refused.contains("1 Gin Tonic at Fri 20 Nov 21:00 for 9.00; this file has 1 Gin Tonic"), "{refused}");
    assert!(look(&store, &other).sum.unwrap_err().contains("contradict"), "it is seen before");
    // A till that renames an article names it so in its history.
    let renamed = table(
        home.path(),
        "three.csv",
        "2026-11-20;21:00;1;Gin and Tonic;1;9.00\n2026-11-20;21:01;2;Gin and Tonic;1;9.00\n",
    );
    let taken = take(&store, &renamed).unwrap();
    assert_eq!((taken.sum.added, taken.sum.already, taken.sum.renamed), (1, 1, 1));
    assert!(taken.sum.warnings.iter().any(|w| w.contains("under another name")), "{:?}", taken.sum.warnings);
    // Rung and cancelled before it was made is no money.
    let kinds = home.path().join("kinds.csv");
    fs::write(&kinds, "Date;Time;Receipt;Item;Quantity;Net;Type\n2026-11-20;22:00;7;Gin Tonic;2;10.00;Sale\n2026-11-20;22:01;8;Gin Tonic;1;5.00;Void\n").unwrap();
    let seen = look(&store, &kinds);
    let layout = seen.table.unwrap().layout;
    let seen = till::look(&store, Ask { layout: Some(&layout), ..ask(&kinds) }, NOW, &mut on).unwrap().sum.unwrap();
    assert_eq!((seen.net.0, seen.quantity), (1_000, 2_000));
}

fn rung_of(store: &Store) -> (usize, i64) {
    let rung = store.read(|c| tantalus::store::sales::rung(c, Moment(0))).unwrap();
    (rung.iter().map(|(_, r)| r.lines as usize).sum(), rung.iter().map(|(_, r)| r.quantity).sum())
}

fn kinds(store: &Store) -> Vec<SaleKind> {
    let all = store.read(|c| sales::between(c, Moment(0), NOW)).unwrap();
    all.into_iter().map(|sale| sale.kind).collect()
}

fn file_named(store: &Store, name: &str) -> tantalus::domain::venue::FileId {
    let all = store.read(tantalus::store::files::in_force).unwrap();
    all.into_iter().rev().find(|file| file.name == name).unwrap().id
}

const ONE: &str = "2026-11-20;21:00;1;Gin Tonic;1;9.00\n";
const TWO: &str = "2026-11-20;21:00;1;Gin Tonic;1;9.00\n2026-11-20;21:05;2;Gin Tonic;1;9.00\n";

/// A line that the second file calls otherwise, one that was set aside before, and one read in another way: whatever is in
/// force holds its lines.
#[test]
fn a_line_stays_while_any_file_in_force_has_it() {
    let take_known = |store: &Store, path: &Path| {
        let layout = look(store, path).table.unwrap().layout;
        take_as(store, path, &layout).unwrap()
    };
    // Renamed.
    let (home, store) = book();
    take_known(&store, &table(home.path(), "one.csv", ONE));
    let renamed = table(home.path(), "two.csv", &TWO.replace("Gin Tonic", "Gin and Tonic"));
    let taken = take_known(&store, &renamed);
    assert_eq!((taken.sum.added, taken.sum.already, taken.sum.renamed), (1, 1, 1));
    till::withdraw(&store, file_named(&store, "one.csv"), None, NOW).unwrap();
    assert_eq!(rung_of(&store), (2, 2_000));
    // Set aside before it was taken.
    for lines in [TWO, ONE] {
        let (home, store) = book();
        take_known(&store, &table(home.path(), "one.csv", ONE));
        let second = table(home.path(), "two.csv", &format!("{lines}\n"));
        let print = look(&store, &second).print;
        till::set_aside(&store, &print, None, NOW).unwrap();
        assert!(look(&store, &second).taken.is_none(), "set aside is not taken in");
        take_known(&store, &second);
        till::withdraw(&store, file_named(&store, "one.csv"), None, NOW).unwrap();
        let many = lines.lines().count();
        assert_eq!(rung_of(&store), (many, many as i64 * 1_000));
        assert!(check::check(&store).unwrap().is_empty());
    }
    // The same content read in another way: asked, and held.
    let (home, store) = book();
    let text = "Date;Time;Receipt;Item;Status;Quantity;Net\n2026-11-20;21:00;1;Gin Tonic;paid;1;9.00\n2026-11-20;21:05;2;Gin Tonic;training;1;9.00\n";
    let path = home.path().join("status.csv");
    fs::write(&path, text).unwrap();
    let mut by_kind = look(&store, &path).table.unwrap().layout;
    by_kind.columns[4].field = Field::Kind;
    take_as(&store, &path, &by_kind).unwrap();
    let mut ignored = by_kind.clone();
    ignored.columns[2].field = Field::Ignore;
    ignored.columns[4].field = Field::Ignore;
    let ask = Ask { layout: Some(&ignored), ..Ask::of(&path) };
    let seen = till::look(&store, ask, NOW, &mut on).unwrap();
    assert!(seen.doubts[0].contains("just this file was taken in"), "{:?}", seen.doubts);
    assert!(matches!(till::take(&store, ask, None, NOW, &mut on), Err(DeskError::Doubtful(_))));
}

/// One sale with a receipt and without, and a day's figure with the article's number and without, are two forms.
#[test]
fn lines_that_are_known_by_other_marks_are_another_form() {
    let (home, store) = book();
    let receipts = table(home.path(), "receipts.csv", ONE);
    take_as(&store, &receipts, &look(&store, &receipts).table.unwrap().layout).unwrap();
    let bare = home.path().join("bare.csv");
    fs::write(&bare, "Date;Time;Item;Quantity;Net\n2026-11-20;21:00;Gin Tonic;1;9.00\n").unwrap();
    let seen = look(&store, &bare);
    assert!(seen.doubts[0].contains("“receipts.csv”, in another form"), "{:?}", seen.doubts);
}

/// The day's report of a receipt that is open over midnight knows what its second part takes back.
#[test]
fn what_takes_back_is_known_by_the_file_that_has_both() {
    let back = "2026-11-21;00:10;7;Gin Tonic;-1;-9.00\n";
    let whole = format!("2026-11-20;23:50;7;Gin Tonic;2;18.00\n{back}");
    for order in [[back, &whole], [&whole, back]] {
        let (home, store) = book();
        for (n, lines) in order.into_iter().enumerate() {
            let path = table(home.path(), &format!("{n}.csv"), lines);
            take_as(&store, &path, &look(&store, &path).table.unwrap().layout).unwrap();
        }
        assert_eq!(rung_of(&store), (2, 1_000), "{order:?}");
        // Without the file that has both it is a return again, and a void once that comes back.
        let both = if order[0] == back { "1.csv" } else { "0.csv" };
        till::withdraw(&store, file_named(&store, both), None, NOW).unwrap();
        assert_eq!(kinds(&store), [SaleKind::Return], "{order:?}");
        let path = home.path().join(both);
        take_as(&store, &path, &look(&store, &path).table.unwrap().layout).unwrap();
        assert_eq!(rung_of(&store), (2, 1_000), "{order:?}");
        let part = if order[0] == back { "0.csv" } else { "1.csv" };
        till::withdraw(&store, file_named(&store, part), None, NOW).unwrap();
        assert_eq!(rung_of(&store), (2, 1_000), "{order:?}");
        assert!(check::check(&store).unwrap().is_empty());
    }
}

/// The day of lines without a time stands in the evening; the hour at which it begins may change.
#[test]
fn another_beginning_of_the_day_contradicts_nothing() {
    let (home, store) = book();
    let path = home.path().join("dates.csv");
    fs::write(&path, "Date;Receipt;Item;Quantity;Net\n2026-11-20;1;Gin Tonic;1;9.00\n").unwrap();
    let layout = look(&store, &path).table.unwrap().layout;
    take_as(&store, &path, &layout).unwrap();
    let plain = home.path().join("venue");
    fs::create_dir(&plain).unwrap();
    fs::write(plain.join("venue.csv"), "key,value\nday_starts,06:00\n").unwrap();
    tantalus::desk::load::load(&store, &plain, NOW, &mut unwatched).unwrap();
    let taken = take_as(&store, &path, &layout).unwrap();
    assert_eq!((taken.sum.added, taken.sum.already), (0, 1));
}

/// A file of which every line was there already says after a dump no more than the others which lines are its own.
#[test]
fn a_file_with_nothing_new_is_not_taken_back_by_halves() {
    let (home, store) = book();
    let one = table(home.path(), "one.csv", ONE);
    let layout = look(&store, &one).table.unwrap().layout;
    take_as(&store, &one, &layout).unwrap();
    take_as(&store, &table(home.path(), "again.csv", &format!("{ONE}\n")), &layout).unwrap();
    till::withdraw(&store, file_named(&store, "one.csv"), None, NOW).unwrap();
    let again = begun_anew(&home, &store, "again");
    assert!(till::withdraw(&again, file_named(&again, "again.csv"), None, NOW).is_err());
    assert_eq!(till::withdraw(&store, file_named(&store, "again.csv"), None, NOW).unwrap(), 1);
}

#[test]
fn whoever_takes_a_file_in_is_somebody_of_the_book() {
    let (home, store) = book();
    let one = table(home.path(), "one.csv", ONE);
    let layout = look(&store, &one).table.unwrap().layout;
    let take = |by| till::take(&store, Ask { layout: Some(&layout), ..Ask::of(&one) }, Some(by), NOW, &mut on);
    assert!(take("\u{1b}[31m").is_err());
    take("ZZ").unwrap();
    // The first who signs in a book that knows nobody is known from then on.
    begun_anew(&home, &store, "again");
    assert!(take("YY").unwrap_err().to_string().contains("nobody here signs as YY"));
}

/// An article number that was read from a wrong column goes with the file.
#[test]
fn the_number_of_a_column_that_was_none_goes_with_its_file() {
    let (home, store) = book();
    let path = home.path().join("ranks.csv");
    fs::write(&path, "Date;Time;Receipt;Rank;PLU;Item;Quantity;Net\n2026-11-20;21:00;1;7;101;Gin Tonic;1;9.00\n")
        .unwrap();
    let mut layout = look(&store, &path).table.unwrap().layout;
    let as_code = |layout: &mut Layout, rank: bool| {
        layout.columns[3].field = if rank { Field::Code } else { Field::Ignore };
        layout.columns[4].field = if rank { Field::Ignore } else { Field::Code };
    };
    as_code(&mut layout, true);
    take_as(&store, &path, &layout).unwrap();
    till::withdraw(&store, file_named(&store, "ranks.csv"), None, NOW).unwrap();
    as_code(&mut layout, false);
    take_as(&store, &path, &layout).unwrap();
    let names = store.read(setup::load).unwrap().till;
    let names: Vec<_> = names.into_iter().map(|name| (name.name, name.code)).collect();
    assert_eq!(names, [("Gin Tonic".to_owned(), Some("101".to_owned()))]);
}

/// Less money for as many is a figure that comes down too, and a figure of nothing takes back what was before a count.
#[test]
fn less_money_for_as_many_is_asked_about() {
    let (home, store) = book();
    take(&store, &report(home.path(), &store, "one.csv", "2026-11-20;Gin Tonic;10;90.00\n")).unwrap();
    let less = report(home.path(), &store, "two.csv", "2026-11-20;Gin Tonic;10;50.00\n");
    assert!(look(&store, &less).doubts[0].contains("from 90.00 EUR to 50.00 EUR"), "{:?}", look(&store, &less).doubts);
}

#[test]
fn a_line_that_stands_in_its_file_twice_is_no_quarrel_with_the_book() {
    let (home, store) = book();
    let path = home.path().join("twice.csv");
    let text = "Date;Time;Receipt;Line;Item;Quantity;Net\n2026-11-20;21:00;1;1;Gin Tonic;1;9.00\n2026-11-20;21:00;1;1;Gin Tonic;1;9.00\n";
    fs::write(&path, text).unwrap();
    let layout = look(&store, &path).table.unwrap().layout;
    let refused = take_as(&store, &path, &layout).unwrap_err().to_string();
    assert!(
        refused.starts_with("1 line contradicts one before") && !refused.contains("take that one back"),
        "{refused}"
    );
}

/// A file that brings only what plain files brought before has nothing of its own to take back, and may be.
#[test]
fn a_file_of_what_plain_files_brought_is_taken_back_without_them() {
    let (home, store) = book();
    let one = table(home.path(), "one.csv", ONE);
    let layout = look(&store, &one).table.unwrap().layout;
    take_as(&store, &one, &layout).unwrap();
    let again = begun_anew(&home, &store, "again");
    let second = table(home.path(), "second.csv", &format!("{ONE}\n"));
    assert_eq!(take_as(&again, &second, &layout).unwrap().sum.added, 0);
    assert_eq!(till::withdraw(&again, file_named(&again, "second.csv"), None, NOW).unwrap(), 0);
    assert_eq!(rung_of(&again), (1, 1_000));
}

/// The same lines under a new name of the article: nothing waits to be explained, and nobody meets that name.
#[test]
fn a_name_that_only_lines_of_the_book_have_by_now_is_not_kept() {
    let (home, store) = book();
    let one = table(home.path(), "one.csv", TWO);
    let layout = look(&store, &one).table.unwrap().layout;
    take_as(&store, &one, &layout).unwrap();
    let gin = store.read(setup::load).unwrap().till[0].id;
    till::map(&store, gin, TillMeaning::Drink { drink: DrinkId(1), portion: 1_000 }, Moment(0)).unwrap();
    let renamed = table(home.path(), "two.csv", &TWO.replace("Gin Tonic", "G&T de luxe"));
    let sum = take_as(&store, &renamed, &layout).unwrap().sum;
    assert_eq!((sum.added, sum.already, sum.renamed, sum.unmapped, sum.new_names.len()), (0, 2, 2, 0, 0));
    assert_eq!(store.read(setup::load).unwrap().till.len(), 1);
    // A line that is new has it.
    let more = format!("{TWO}2026-11-20;21:09;3;Gin Tonic;1;9.00\n").replace("Gin Tonic", "G&T de luxe");
    let sum = take_as(&store, &table(home.path(), "three.csv", &more), &layout).unwrap().sum;
    assert_eq!((sum.added, sum.already, sum.new_names), (1, 2, vec!["G&T de luxe".to_owned()]));
}
