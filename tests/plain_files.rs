//! Plain files in and out: what goes in comes out the same, what is wrong is named and changes nothing.
#![allow(clippy::unwrap_used, missing_docs)]

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use tantalus::desk::dump::dump;
use tantalus::desk::init::init_from;
use tantalus::desk::load::{LoadReport, load};
use tantalus::desk::{DeskError, check, till, unwatched};
use tantalus::domain::measure::Amount;
use tantalus::domain::till::{Amounts, DateOrder, DecimalMark, Field, Layout, LayoutColumn, TakenAs};
use tantalus::domain::venue::{CauseWord, Containers, Deed, Moment, ParFrom, PouredBy, Seq, TillMeaning, parse_day};
use tantalus::exchange::plain::{Faults, Plain};
use tantalus::store::{
    Connection, Store, StoreError, bills, counts, explanations, files, journal, layouts, orders, sales, setup,
};
use tempfile::{TempDir, tempdir};

const NOW: Moment = Moment(1_795_600_000_000);

fn tests() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests")
}

/// Till names that were rung and mean nothing yet.
fn unknown(conn: &Connection) -> Result<Vec<String>, StoreError> {
    let setup = setup::load(conn)?;
    let rung = sales::rung(conn, Moment(0))?;
    let names = rung.iter().filter_map(|(till, _)| setup.till_name(*till));
    Ok(names.filter(|t| t.means == TillMeaning::Unknown).map(|t| t.name.clone()).collect())
}

fn good() -> PathBuf {
    tests().join("good_folder")
}

/// A book out of a folder.
fn book_of(folder: &Path) -> (TempDir, Store, LoadReport) {
    let home = tempdir().unwrap();
    let made = init_from(&home.path().join("bar.tantalus"), folder, NOW, &mut unwatched);
    let (store, report) = made.unwrap_or_else(|refused| panic!("{refused}"));
    (home, store, report)
}

/// Every file of a dump.
fn dumped(store: &Store) -> BTreeMap<String, String> {
    let home = tempdir().unwrap();
    dump(store, home.path()).unwrap();
    contents(home.path())
}

fn contents(folder: &Path) -> BTreeMap<String, String> {
    std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            (name, std::fs::read_to_string(path).unwrap())
        })
        .collect()
}

/// A folder with these files.
fn folder(files: &[(&str, &str)]) -> TempDir {
    let home = tempdir().unwrap();
    for (name, text) in files {
        std::fs::write(home.path().join(name), text).unwrap();
    }
    home
}

fn load_files(store: &Store, files: &[(&str, &str)]) -> Result<LoadReport, DeskError> {
    load(store, folder(files).path(), NOW, &mut unwatched)
}

fn faults(refused: Result<LoadReport, DeskError>) -> Faults {
    match refused {
        Err(DeskError::Faults(faults)) => faults,
        other => panic!("{other:?}"),
    }
}

/// What a file brought: read, added, changed, already there.
fn brought(report: &LoadReport, file: Plain) -> (u64, u64, u64, u64) {
    let file = report.file(file).unwrap();
    (file.read, file.added, file.changed, file.already)
}

#[test]
fn what_is_loaded_is_dumped_and_loads_back_the_same() {
    let (_home, store, report) = book_of(&good());
    assert_eq!(report.files.len(), 30);
    for file in &report.files {
        assert_eq!(file.added, file.read, "{file:?}");
    }
    assert_eq!(report.new_till_names, ["House snack"]);
    let first = dumped(&store);
    assert_eq!(first.len(), 30);
    let home = tempdir().unwrap();
    dump(&store, home.path()).unwrap();
    let (_other_home, other, _) = book_of(home.path());
    assert_eq!(dumped(&other), first);
    assert!(check::check(&store).unwrap().is_empty());

    // Over the same book again, as it was written and as the book writes it: nothing is added twice.
    for again in [good(), home.path().to_owned()] {
        let report = load(&store, &again, NOW, &mut unwatched).unwrap();
        for file in &report.files {
            assert_eq!((file.added, file.changed, file.already), (0, 0, file.read), "{file:?}");
        }
        assert_eq!(dumped(&store), first);
    }
}

#[test]
fn what_is_dumped_reads_well() {
    let (_home, store, _) = book_of(&good());
    let files = dumped(&store);
    insta::assert_snapshot!(files.iter().map(|(name, text)| format!("== {name}\n{text}")).collect::<String>());
}

#[test]
fn the_loaded_book_holds_what_the_folder_says() {
    let (_home, store, _) = book_of(&good());
    store
        .read(|c| {
            let set = setup::load(c)?;
            let rum = set.items.iter().find(|i| i.name == "White rum").unwrap();
            assert_eq!((rum.size.0, rum.service_level), (700_000, Some(975)));
            let by = |name: &str| set.items.iter().find(|i| i.name == name).unwrap().poured_by;
            assert_eq!(["Dry gin", "Limes", "Sugar"].map(by), [Some(PouredBy::Free), Some(PouredBy::Whole), None]);
            // 0.15 fl oz of 29.5735295625 ml (NIST Handbook 44, appendix C) are 4.436 ml.
            let pours = set.venue.pours;
            assert_eq!((pours.by, pours.jigger, pours.free), (PouredBy::Free, Amount(1_200), Amount(4_436)));
            assert_eq!(set.venue.false_alarms, 250);
            assert_eq!(set.venue.service_levels.to_string(), "95 %; spirit 97.5 %; juice 90 %");
            assert_eq!(set.venue.holding_cost, 1_250);
            // Its own level, that of its kind, the usual one.
            let item = |name: &str| set.items.iter().find(|i| i.name == name).unwrap();
            let levels = ["Dry gin", "White rum", "Lime juice", "Tonic"].map(|name| set.service_level(item(name)));
            assert_eq!(levels, [950, 975, 900, 950]);
            let from = ["Dry gin", "White rum", "Curaçao", "Tonic", "Limes"].map(|name| item(name).par_is_from());
            assert_eq!(from, [ParFrom::Demand, ParFrom::Hand, ParFrom::Demand, ParFrom::Hand, ParFrom::Demand]);
            assert_eq!((item("Dry gin").par, item("Tonic").par_from), (Some(Containers(6_000)), None));
            // Easter is 28 March 2027 (python-dateutil 2.9.0), so that two factors fall on no day.
            let factor = |day: &str| set.special.factor(parse_day(day).unwrap());
            let days = ["2026-12-06", "2026-12-07", "2027-12-24", "2027-03-29", "2027-08-30", "2026-11-26"];
            assert_eq!(days.map(factor), [1.6, 1.0, 0.0, 0.75, 2.0, 0.0]);
            let van = set.suppliers.iter().find(|s| s.name == "Harbour Spirits").unwrap().id;
            let after = set.venue.days.parse("2026-12-21 14:00").unwrap();
            let vans: Vec<String> = set.vans(van, after).take(2).map(|v| v.comes.to_string()).collect();
            assert_eq!(vans, ["2026-12-29", "2027-01-06"]);
            // 12 g of a syrup of 1.23 g/ml, and a barspoon of sugar of 0.85 g/ml.
            let daiquiri = set.drinks.iter().find(|d| d.name == "Daiquiri").unwrap();
            let (_, parts) = daiquiri.specs.iter().next().unwrap();
            assert_eq!(parts.iter().map(|p| p.amount.0).collect::<Vec<_>>(), [60_000, 25_000, 4_250, 9_756]);
            assert_eq!(set.shelves.iter().map(|s| s.position).collect::<Vec<_>>(), [1, 2, 1, 5, 6]);
            assert_eq!(set.places.iter().map(|p| p.walk).collect::<Vec<_>>(), [1, 2, 3]);
            let open = counts::open_count(c)?.unwrap();
            assert_eq!(open.name, "Week 47");
            let week = counts::find(c, "week 46")?.unwrap();
            assert_eq!(week.closed, Some(set.venue.days.parse("2026-11-16 02:20").unwrap()));
            let lines = counts::lines(c, week.id)?;
            let methods: Vec<&str> = lines.iter().map(|l| l.method.word()).collect();
            assert_eq!(methods.iter().filter(|m| **m == "weight").count(), 1);
            assert_eq!(counts::latest(c, Moment(i64::MAX), None)?.len(), 4);
            let all = journal::movements(c, Moment(0), Moment(i64::MAX))?;
            let found = (all.deliveries.len(), all.losses.len(), all.transfers.len(), all.batches.len());
            assert_eq!(found, (4, 3, 1, 2));
            // Initials are spelled as people.csv spells them.
            assert_eq!(all.batches[1].by.as_deref(), Some("CD"));
            // In the order of time; the names as the book spells them.
            let accepted = explanations::list(c)?;
            let found: Vec<_> =
                accepted.iter().map(|e| (set.item_name(e.item), e.cause, e.by.as_deref(), e.note.as_deref())).collect();
            let want = [
                ("Dry gin", CauseWord::Twice, Some("CD"), Some("the box by the door, twice")),
                ("White rum", CauseWord::Heavy, Some("AB"), None),
                ("Curaçao", CauseWord::Unknown, None, None),
            ];
            assert_eq!(found, want);
            assert!(accepted.iter().all(|e| e.closing == week.id));
            let orders = orders::list(c, tantalus::domain::venue::OrderState::ALL)?;
            let packs: Vec<i64> = orders.iter().flat_map(|o| o.lines.iter().map(|l| l.pack)).collect();
            assert_eq!(packs, [50, 6, 1]);
            assert_eq!(sales::between(c, Moment(0), Moment(i64::MAX))?.len(), 6);
            assert_eq!(unknown(c)?, ["House snack"]);
            Ok::<_, StoreError>(())
        })
        .unwrap();
}

#[test]
fn every_bad_folder_is_refused_with_its_faults_and_changes_nothing() {
    let (_home, store, _) = book_of(&good());
    let before = dumped(&store);
    let mut cases: Vec<PathBuf> =
        std::fs::read_dir(tests().join("bad_files")).unwrap().map(|e| e.unwrap().path()).collect();
    cases.sort();
    assert!(cases.len() >= 60, "{}", cases.len());
    let mut wrong = String::new();
    for case in cases {
        let refused = faults(load(&store, &case, NOW, &mut unwatched));
        let says = refused.to_string().replace(case.to_str().unwrap(), "FOLDER") + "\n";
        let file = case.join("expected.md");
        if std::env::var_os("UPDATE_EXPECTED").is_some() {
            std::fs::write(&file, &says).unwrap();
        }
        let expected = std::fs::read_to_string(&file).unwrap_or_default();
        if says != expected {
            wrong.push_str(&format!("\n{}\nexpected:\n{expected}found:\n{says}", case.display()));
        }
        assert_eq!(dumped(&store), before, "{}", case.display());
        // No fault may write on the terminal.
        assert!(says.chars().all(|c| c == '\n' || !c.is_control()), "{says:?}");
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn a_folder_with_one_file_loads_into_a_book() {
    let (_home, store, _) = book_of(&good());
    let sales = "at,receipt,line,net,quantity,sold_as\r\n2026-11-21 20:00,1005,1,9.50,1,g&t\r\n,,,,,\r\n";
    let report = load_files(&store, &[("sales.csv", sales)]).unwrap();
    assert_eq!(report.files.len(), 1);
    assert_eq!(brought(&report, Plain::Sales), (1, 1, 0, 0));
    assert!(report.new_till_names.is_empty());
}

#[test]
fn set_up_rows_are_brought_to_what_the_file_says() {
    let (_home, store, _) = book_of(&good());
    // Columns that the file does not have stay as they are; an empty cell empties.
    let stock = "item,kind,size,abv,par\nDRY GIN,spirit,700 ml,,9\nNew rum,spirit,1 l,40,\nTonic,mixer,20 cl,,48\n";
    let report = load_files(&store, &[("stock.csv", stock)]).unwrap();
    assert_eq!(brought(&report, Plain::Stock), (3, 1, 1, 1));
    let set = store.read(setup::load).unwrap();
    let gin = set.items.iter().find(|i| i.name == "DRY GIN").unwrap();
    assert_eq!((gin.abv, gin.par.unwrap().0, gin.density.unwrap().0, gin.gtins.len()), (None, 9_000, 948_000, 1));
    assert_eq!(gin.poured_by, Some(PouredBy::Free));
    let stock = "item,kind,size,poured_by\nDry gin,spirit,700 ml,\nWhite rum,spirit,700 ml,JIGGER\n";
    let report = load_files(&store, &[("stock.csv", stock)]).unwrap();
    assert_eq!(brought(&report, Plain::Stock), (2, 0, 1, 1));
    let set = store.read(setup::load).unwrap();
    assert_eq!(set.items.iter().find(|i| i.name == "Dry gin").unwrap().poured_by, None);
    // A version is replaced as a whole; other versions stay.
    let specs = "drink,from,ingredient,quantity\nGimlet,2026-11-16,Dry gin,70 ml\nDaiquiri,,White rum,60 ml\n";
    let report = load_files(&store, &[("specs.csv", specs)]).unwrap();
    assert_eq!(brought(&report, Plain::Specs), (2, 0, 2, 0));
    let set = store.read(setup::load).unwrap();
    let parts = |name: &str| -> Vec<usize> {
        set.drinks.iter().find(|d| d.name == name).unwrap().specs.iter().map(|(_, parts)| parts.len()).collect()
    };
    assert_eq!((parts("Gimlet"), parts("Daiquiri")), (vec![2, 1], vec![1]));
    // The walk of a place that is there already stays without a number; a new one comes last.
    let report = load_files(&store, &[("places.csv", "place,walk\nFridge,\nRail,\nCellar,9\n")]).unwrap();
    assert_eq!(brought(&report, Plain::Places), (3, 1, 1, 1));
    let set = store.read(setup::load).unwrap();
    let walk: Vec<(&str, i64)> = set.places.iter().map(|p| (p.name.as_str(), p.walk)).collect();
    assert_eq!(walk, [("Back bar", 1), ("Fridge", 3), ("Rail", 4), ("Cellar", 9)]);
    let report = load_files(&store, &[("venue.csv", "key,value\nname,Other name\ncurrency,EUR\n")]).unwrap();
    assert_eq!(brought(&report, Plain::Venue), (2, 0, 1, 1));
    // What a file does not say of the pours stays.
    let venue = "key,value\njigger_spread,20 ml\npoured_by,free\nfalse_alarms,30\n";
    let report = load_files(&store, &[("venue.csv", venue)]).unwrap();
    assert_eq!(brought(&report, Plain::Venue), (3, 0, 2, 1));
    let set = store.read(setup::load).unwrap().venue;
    assert_eq!((set.pours.by, set.pours.jigger, set.pours.free), (PouredBy::Free, Amount(20_000), Amount(4_436)));
    assert_eq!((set.false_alarms, set.name.as_str()), (3_000, "Other name"));
    // The days that a file does not name stay, and so does what it has no column for.
    let days = "what,day,factor\nChristmas,12-24,2\nRegatta,LAST mon of AUG,2\nA new one,2026-12-24,1.1\n";
    let report = load_files(&store, &[("days.csv", days)]).unwrap();
    assert_eq!(brought(&report, Plain::Days), (3, 1, 1, 1));
    let set = store.read(setup::load).unwrap();
    let christmas = set.special.all().iter().find(|day| day.what == "Christmas" && day.effect.supplier().is_none());
    assert_eq!(christmas.unwrap().days.until().unwrap().to_string(), "12-25");
    assert_eq!((set.special.all().len(), set.special.factor(parse_day("2026-12-24").unwrap())), (8, 2.2));
    // Where an item's par comes from is said beside it.
    let stock = "item,kind,size,par_from\nDry gin,spirit,700 ml,\nTonic,mixer,200 ml,demand\n";
    let report = load_files(&store, &[("stock.csv", stock)]).unwrap();
    assert_eq!(brought(&report, Plain::Stock), (2, 0, 2, 0));
    let set = store.read(setup::load).unwrap();
    let tonic = set.items.iter().find(|i| i.name == "Tonic").unwrap();
    assert_eq!((tonic.par, tonic.par_is_from()), (Some(Containers(48_000)), ParFrom::Demand));
    let venue = "key,value\nservice_level,98.5 %\nholding_cost,0\n";
    let report = load_files(&store, &[("venue.csv", venue)]).unwrap();
    assert_eq!(brought(&report, Plain::Venue), (2, 0, 2, 0));
    let set = store.read(setup::load).unwrap().venue;
    assert_eq!((set.service_levels.to_string().as_str(), set.holding_cost), ("98.5 %", 0));
    // What the till calls something that was only seen in sales so far.
    let report = load_files(&store, &[("pos.csv", "sold_as,drink\nHouse snack,\nG&T,Gimlet\n")]).unwrap();
    assert_eq!(brought(&report, Plain::Pos), (2, 0, 2, 0));
    assert!(store.read(unknown).unwrap().is_empty());
    // Its number stays, and what a name means can be asked about anew.
    let codes = |store: &Store| {
        let till = store.read(setup::load).unwrap().till;
        let mut codes: Vec<(String, Option<String>)> = till.into_iter().map(|t| (t.name, t.code)).collect();
        codes.sort();
        codes
    };
    let had = codes(&store);
    assert!(had.contains(&("House snack".to_owned(), Some("008".to_owned()))));
    let report = load_files(&store, &[("pos.csv", "sold_as,drink,state\nhouse snack,,open\n")]).unwrap();
    assert_eq!((brought(&report, Plain::Pos), report.new_till_names.len()), ((1, 0, 1, 0), 0));
    assert_eq!((codes(&store), store.read(unknown).unwrap()), (had, vec!["House snack".to_owned()]));
}

#[test]
fn losses_are_compared_as_often_as_they_stand_there() {
    let (_home, store, _) = book_of(&good());
    let line = "2026-11-18 22:10,Dry gin,40 ml,spill,Back bar,AB\n";
    let file = format!("at,item,quantity,reason,place,by\n{line}{line}{line}");
    let report = load_files(&store, &[("losses.csv", &file)]).unwrap();
    assert_eq!(brought(&report, Plain::Losses), (3, 1, 0, 2));
    // One that was taken back is not in force, so it may come again.
    let all = store.read(|c| journal::movements(c, Moment(0), Moment(i64::MAX))).unwrap();
    let seq: Seq = all.losses[0].seq;
    store.write((Deed::Loaded, Moment(0)), |c| journal::reverse(c, seq, None, NOW)).unwrap();
    assert_eq!(dumped(&store)["losses.csv"].lines().count(), 4);
    let report = load_files(&store, &[("losses.csv", &file)]).unwrap();
    assert_eq!(brought(&report, Plain::Losses), (3, 1, 0, 2));
}

#[test]
fn a_cause_names_a_count_of_the_folder_or_the_book_and_comes_again_once_taken_back() {
    let (_home, store, _) = book_of(&good());
    let before = dumped(&store)["explained.csv"].clone();
    assert_eq!(
        before,
        "at,count,item,cause,by,note\n\
         2026-11-16 11:04:07.250,Week 46,Dry gin,counted-twice,CD,\"the box by the door, twice\"\n\
         2026-11-16 11:05,Week 46,White rum,heavy-pours,AB,\n\
         2026-11-17 09:00,Week 46,Curaçao,not-written-down,,\n"
    );
    let counts = "count,at,place,item,full\nRail only,2026-11-18 02:10,Back bar,Dry gin,2\n";
    let causes = "cause,item,count,at\nran-dry,Dry gin,rail only,2026-11-18 10:00\n\
        not-written-down,CURAÇAO,week 46,2026-11-17T09:00:00+01:00\n";
    let files = [("counts.csv", counts), ("explained.csv", causes)];
    let report = load_files(&store, &files).unwrap();
    assert_eq!(brought(&report, Plain::Explained), (2, 1, 0, 1));
    let after = dumped(&store)["explained.csv"].clone();
    assert_eq!(after, format!("{before}2026-11-18 10:00,Rail only,Dry gin,ran-dry,,\n"));

    // One that was taken back is not in force, so it may come again, and so may another one in its place.
    let all = store.read(explanations::list).unwrap();
    for seq in [all[1].seq, all[3].seq] {
        store.write((Deed::Loaded, Moment(0)), |c| explanations::reverse(c, seq, Some("AB"), NOW)).unwrap();
    }
    assert_eq!(dumped(&store)["explained.csv"].lines().count(), 3);
    let other = causes.replace("ran-dry", "gone");
    let report = load_files(&store, &[("explained.csv", &other)]).unwrap();
    assert_eq!(brought(&report, Plain::Explained), (2, 1, 0, 1));
    let again = "at,count,item,cause,by\n2026-11-16 11:05,Week 46,White rum,heavy-pours,AB\n";
    let report = load_files(&store, &[("explained.csv", again)]).unwrap();
    assert_eq!(brought(&report, Plain::Explained), (1, 1, 0, 0));
    assert_eq!(dumped(&store)["explained.csv"], after.replace("ran-dry", "gone"));
    assert!(check::check(&store).unwrap().is_empty());

    // While a cause is in force, a file cannot put another one in its place.
    let refused = faults(load_files(&store, &files)).to_string();
    let says = "explained.csv line 2: this gap has a cause already: the book has \
        2026-11-18 10:00,Rail only,Dry gin,gone,,; expected the same, or that one taken back first";
    assert!(refused.starts_with(says), "{refused}");
    assert_eq!(dumped(&store)["explained.csv"], after.replace("ran-dry", "gone"));
}

#[test]
fn claims_are_compared_as_often_as_they_stand_there_and_settled_where_the_file_says_so() {
    let (_home, store, _) = book_of(&good());
    let home = tempdir().unwrap();
    dump(&store, home.path()).unwrap();
    let head = "supplier,document,item,because,containers,money,note,at,by,settled_at,settled_by,settled_note\n";
    let crates = "Green Van,77,,not credited,1,3.10,one crate went back,2026-11-19 12:05,,";
    let rum = "Harbour Spirits,R 26-0318,White rum,dearer,2,0.50,\
               \"White rum: ordered at 14.74, invoiced at 14.99: the difference for 2\",2026-11-18 12:30:07.250,AB,";
    // The settled one of the two is not the first one of the file; the third is new.
    let file = format!("{head}{crates},,\n{crates},,\n{crates}2026-11-20 09:00,cd,\n{rum}2026-11-20 10:00,,in cash\n");
    let report = load_files(&store, &[("claims.csv", &file)]).unwrap();
    assert_eq!(brought(&report, Plain::Claims), (4, 1, 1, 2));
    let settled = |store: &Store| {
        let all = store.read(bills::claims).unwrap();
        (all.len(), all.iter().filter(|c| c.settled.is_some()).count(), all.into_iter().nth(1).and_then(|c| c.settled))
    };
    let (claims, of_them, how) = settled(&store);
    assert_eq!((claims, of_them, how.map(|(_, _, how)| how).as_deref()), (5, 3, Some("in cash")));
    // Again, and as it was before: what the book knows of a claim stays.
    let report = load_files(&store, &[("claims.csv", &file)]).unwrap();
    assert_eq!(brought(&report, Plain::Claims), (4, 0, 0, 4));
    let report = load(&store, home.path(), NOW, &mut unwatched).unwrap();
    assert_eq!(brought(&report, Plain::Claims), (4, 0, 0, 4));
    assert_eq!(settled(&store).1, 3);
}

#[test]
fn files_taken_in_are_known_after_a_load_and_what_they_brought_is_not_taken_back() {
    let (_home, store, _) = book_of(&good());
    let taken = store.read(files::in_force).unwrap();
    let of = |what| taken.iter().find(|f| f.what == what).unwrap();
    let week = of(TakenAs::Sales);
    // The file of these three letters, as good_folder has it.
    let print = {
        let home = folder(&[("other name.csv", "abc")]);
        tantalus::exchange::inbox::print(&home.path().join("other name.csv")).unwrap()
    };
    assert_eq!(store.read(|c| files::of_content(c, &print.digest)).unwrap().as_ref(), Some(week));
    let before = dumped(&store);
    let refused = till::withdraw(&store, week.id, None, NOW).unwrap_err().to_string();
    assert!(
        refused.starts_with("“week 47, bar.csv” cannot be taken back: this book was made from plain files"),
        "{refused}"
    );
    assert_eq!(dumped(&store), before);
    // What was set aside can be had back, and is in no dump then.
    till::withdraw(&store, of(TakenAs::SetAside).id, None, NOW).unwrap();
    let after = dumped(&store);
    assert!(before["taken.csv"].contains("menu.pdf") && !after["taken.csv"].contains("menu.pdf"));
    assert!(check::check(&store).unwrap().is_empty());
}

/// What a till's table brought, with the numbers that tell its articles apart, is the same book after a dump and a load:
/// the table is known there, and taking it in anew adds nothing.
#[test]
fn what_a_tills_table_brought_survives_a_dump_and_a_load() {
    let (home, store, _) = book_of(&good());
    let path = home.path().join("=bar\u{1b}.csv");
    let lines = "Bon;Zeit;Nr.;Was;Stück;Netto\n\
        2001;2026-11-20 20:00;11;Cola;1;2,50\n2001;2026-11-20 20:00;12;Cola;2;7,00\n2002;2026-11-20 21:00;;GIMLET;1;9,66\n";
    std::fs::write(&path, lines).unwrap();
    let fields = [Field::Receipt, Field::DateTime, Field::Code, Field::Name, Field::Quantity, Field::Net];
    let heads = lines.lines().next().unwrap().split(';');
    let layout = Layout {
        name: " By the door ".to_owned(),
        columns: heads.zip(fields).map(|(head, field)| LayoutColumn { head: head.to_owned(), field }).collect(),
        decimal: DecimalMark::Comma,
        dates: DateOrder::YearFirst,
        amounts: Amounts::Lines,
        tax: None,
    };
    let go_on = || |_: u64, _: u64| ControlFlow::Continue(());
    let take = |store: &Store, layout: Option<&Layout>| {
        till::take(store, till::Ask { layout, ..till::Ask::of(&path) }, Some("AB"), NOW, &mut go_on())
    };
    let formula = Layout { name: "=1".to_owned(), ..layout.clone() };
    assert!(take(&store, Some(&formula)).unwrap_err().to_string().contains("the name of the layout: expected text"));
    let taken = take(&store, Some(&layout)).unwrap();
    assert_eq!((taken.sum.added, taken.sum.already), (3, 0));
    let first = dumped(&store);
    assert!(first["layouts.csv"].contains("By the door,1,Bon,receipt,comma,"), "{}", first["layouts.csv"]);
    assert!(first["pos.csv"].contains("Cola,,,11,open\nCola #12,,,12,open\n"), "{}", first["pos.csv"]);
    assert!(first["taken.csv"].contains(",(=)bar.csv,"), "{}", first["taken.csv"]);
    let folder = tempdir().unwrap();
    dump(&store, folder.path()).unwrap();
    let (_other, copy, report) = book_of(folder.path());
    assert_eq!(dumped(&copy), first);
    assert_eq!(report.new_till_names, ["Cola", "Cola #12", "House snack"]);
    let again = take(&copy, None).unwrap();
    assert_eq!((again.sum.added, again.sum.already, again.sum.corrected), (0, 3, 0));
    assert_eq!(dumped(&copy), first);
    // Native to the one book, it can be taken back there; in the other nothing tells its sales from others.
    let id =
        |store: &Store| store.read(files::in_force).unwrap().into_iter().find(|f| f.name == "(=)bar.csv").unwrap().id;
    assert!(till::withdraw(&copy, id(&copy), None, NOW).is_err());
    assert_eq!(till::withdraw(&store, id(&store), None, NOW).unwrap(), 3);
    let after = dumped(&store);
    assert!(!after["taken.csv"].contains("bar.csv,") && !after["sales.csv"].contains("2001"));
    assert!(check::check(&store).unwrap().is_empty() && check::check(&copy).unwrap().is_empty());

    // A name that no plain file could hold is refused, and the book stays as it was.
    std::fs::write(&path, lines.replace("GIMLET", &"G".repeat(499))).unwrap();
    let refused = take(&store, Some(&layout)).unwrap_err().to_string();
    assert!(refused.contains("more than 500 letters"), "{refused}");
    assert_eq!(dumped(&store), after);
}

#[test]
fn layouts_codes_and_names_are_brought_to_what_the_file_says() {
    let (_home, store, _) = book_of(&good());
    let before = dumped(&store);
    // Fewer columns, another mark; the heads of the two go over crosswise.
    let layouts = "layout,position,head,is,decimal,dates,rows\n\
        EVENING REPORT,1,Article,name,point,year-month-day,lines\nEVENING REPORT,2,Qty,quantity,point,year-month-day,lines\n\
        Receipt lines,1,Artikel,name,comma,day-month-year,lines\n\
        Receipt lines,2,\"Menge, gesamt\",quantity,comma,day-month-year,lines\n\
        Receipt lines,3,Umsatz brutto,gross,comma,day-month-year,lines\n\
        Third,1,Was,name,comma,day-month-year,lines\nThird,2,Wie oft,quantity,comma,day-month-year,lines\n";
    let report = load_files(&store, &[("layouts.csv", layouts)]).unwrap();
    assert_eq!(brought(&report, Plain::Layouts), (7, 2, 5, 0));
    let names: Vec<(String, usize)> =
        store.read(layouts::list).unwrap().into_iter().map(|l| (l.name, l.columns.len())).collect();
    let want = [("EVENING REPORT", 2), ("Receipt lines", 3), ("Third", 2), ("Whole numbers", 2)];
    assert_eq!(names, want.map(|(name, columns)| (name.to_owned(), columns)));
    let report = load_files(&store, &[("layouts.csv", layouts)]).unwrap();
    assert_eq!(brought(&report, Plain::Layouts), (7, 0, 0, 7));

    let codes = "supplier,code,unit,means,item,containers\nharbour spirits,code HS-101,xcs,item,dry gin,12\n\
        Harbour Spirits,name keg DEPOSIT,C62,not-stock,,\nHarbour Spirits,code HS-101,xbo,item,Dry gin,1\n\
        Green Van,code HS-101,XBO,deposit,,\n";
    let names = "known_as,supplier\nname harbour spirits WHOLESALE ltd,Green Van\nVAT de000000009,Harbour Spirits\n\
        name Grocer,Green Van\n";
    let report = load_files(&store, &[("supplier_codes.csv", codes), ("supplier_names.csv", names)]).unwrap();
    assert_eq!(brought(&report, Plain::SupplierCodes), (4, 1, 2, 1));
    assert_eq!(brought(&report, Plain::SupplierNames), (3, 1, 1, 1));
    let after = dumped(&store);
    for (file, line) in [
        ("supplier_codes.csv", "Harbour Spirits,code hs-101,XCS,item,Dry gin,12,1\n"),
        ("supplier_codes.csv", "Harbour Spirits,name keg deposit,C62,not-stock,,,\n"),
        ("supplier_names.csv", "name harbour spirits wholesale ltd,Green Van\n"),
    ] {
        assert!(after[file].contains(line) && !before[file].contains(line), "{line}{}", after[file]);
    }
}

#[test]
fn lines_of_a_count_that_is_not_closed_are_added_and_its_state_stays() {
    let (_home, store, _) = book_of(&good());
    let lines = "count,at,place,item,full,by\nWeek 47,2026-11-20 02:12,Back bar,White rum,2,AB\n";
    let report = load_files(&store, &[("counts.csv", lines)]).unwrap();
    assert_eq!(brought(&report, Plain::Counts), (1, 1, 0, 0));
    let open = store.read(counts::open_count).unwrap().unwrap();
    assert_eq!(store.read(|c| counts::lines(c, open.id)).unwrap().len(), 2);
    assert_eq!(dumped(&store)["counts.csv"].matches(",open\n").count(), 2);
}

#[test]
fn a_line_taken_back_is_not_dumped_and_an_order_keeps_its_state() {
    let (_home, store, _) = book_of(&good());
    let home = tempdir().unwrap();
    dump(&store, home.path()).unwrap();
    store
        .write((Deed::Loaded, Moment(0)), |c| {
            let open = counts::open_count(c)?.unwrap();
            let line = counts::lines(c, open.id)?.remove(0);
            counts::withdraw(c, open.id, line.place, line.item, NOW, None)?;
            let draft = orders::find(c, "van next")?.unwrap();
            orders::set_state(c, draft.id, tantalus::domain::venue::OrderState::Sent, Some(NOW), None)
        })
        .unwrap();
    assert!(!dumped(&store)["counts.csv"].contains("Week 47"));
    let report = load(&store, home.path(), NOW, &mut unwatched).unwrap();
    assert_eq!(brought(&report, Plain::Orders), (3, 0, 0, 3));
    assert_eq!(brought(&report, Plain::Counts), (5, 1, 0, 4));
    let van = store.read(|c| orders::find(c, "Van next")).unwrap().unwrap();
    assert_eq!(van.state, tantalus::domain::venue::OrderState::Sent);
}

#[test]
fn a_new_book_needs_a_bar() {
    let home = tempdir().unwrap();
    let path = home.path().join("bar.tantalus");
    let places = folder(&[("places.csv", "place\nBar\n")]);
    let refused = init_from(&path, places.path(), NOW, &mut unwatched).unwrap_err().to_string();
    for key in ["name", "currency", "time_zone"] {
        assert!(refused.contains(&format!("venue.csv: expected a line for {key},")), "{refused}");
    }
    assert!(!path.exists());
    let wrong = folder(&[
        ("venue.csv", "key,value\nname,A\ncurrency,EURO\ntime_zone,Europe/Berlin\n"),
        ("suppliers.csv", "supplier,fee\nX,12.505\n"),
    ]);
    // An amount cannot be judged by a coin that is not known: only the coin is wrong.
    let refused = init_from(&path, wrong.path(), NOW, &mut unwatched).unwrap_err();
    assert!(matches!(&refused, DeskError::Faults(faults) if faults.count == 1), "{refused}");
}

#[test]
fn a_load_that_is_stopped_leaves_the_book_as_it_was() {
    let (_home, store, _) = book_of(&good());
    let before = dumped(&store);
    let mut lines = String::from("receipt,line,at,sold_as,quantity,net\n");
    for n in 0..20_000 {
        lines.push_str(&format!("{n},7,2026-11-20 20:00,G&T,1,9.00\n"));
    }
    let home = folder(&[("sales.csv", &lines)]);
    let mut seen = Vec::new();
    let stopped = load(&store, home.path(), NOW, &mut |progress| {
        seen.push(progress);
        if progress.rows >= 8_192 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    assert!(matches!(stopped, Err(DeskError::Stopped)));
    assert_eq!(seen.len(), 2);
    assert!(seen[0].bytes < seen[1].bytes && seen[1].bytes < seen[1].total);
    assert_eq!(dumped(&store), before);
}

#[test]
fn a_long_list_of_faults_is_cut_short() {
    let (_home, store, _) = book_of(&good());
    let mut lines = String::from("receipt,line,at,sold_as,quantity,net\n");
    for n in 0..3_000 {
        lines.push_str(&format!("{n},1,never,G&T,1,9.00\n"));
    }
    let refused = load_files(&store, &[("sales.csv", &lines)]).unwrap_err().to_string();
    assert!(refused.contains("… and 2800 more"), "{refused}");
    assert!(refused.ends_with("nothing was loaded; mend this and load again"));
}

#[test]
fn a_dump_goes_only_where_nothing_else_is() {
    let (_home, store, _) = book_of(&good());
    let home = folder(&[("README.md", "kept"), (".hidden", "kept"), ("sales.csv", "an earlier dump")]);
    dump(&store, home.path()).unwrap();
    let after = contents(home.path());
    assert_eq!((after["README.md"].as_str(), after[".hidden"].as_str()), ("kept", "kept"));
    assert!(after["sales.csv"].starts_with("receipt,line,"));
    assert_eq!(after.len(), 32);
    std::fs::write(home.path().join("letter.txt"), "mine").unwrap();
    let refused = dump(&store, home.path()).unwrap_err().to_string();
    assert!(refused.contains("holds letter.txt"), "{refused}");
    assert_eq!(contents(home.path()).len(), 33);
}

#[test]
fn the_format_is_documented_from_its_own_table() {
    let text = tantalus::exchange::plain::markdown();
    for file in Plain::ALL {
        assert!(text.contains(&format!("### `{}`", file.name())));
    }
}
