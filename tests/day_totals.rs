//! Sums of sales by business day are what the lines say, whatever happens to the lines: beside a simple reckoning.

#![allow(clippy::unwrap_used)]

use chrono::{NaiveDate, NaiveTime};
use proptest::prelude::*;
use std::collections::BTreeMap;
use tantalus::domain::ledger::Sale;
use tantalus::domain::measure::Money;
use tantalus::domain::till::{TakenAs, TakenFile};
use tantalus::domain::venue::{DayRule, Deed, FileId, Moment, SaleKind, TillId, TillMeaning, Venue};
use tantalus::store::sales::{SaleLine, SaleWriter};
use tantalus::store::{Connection, STEPS, Store, StoreError, check, day_totals, files, sales, setup};
use tempfile::tempdir;

fn rule(zone: chrono_tz::Tz, hour: u32) -> DayRule {
    DayRule { zone, starts: NaiveTime::from_hms_opt(hour, 0, 0).unwrap() }
}

fn venue(days: DayRule) -> Venue {
    Venue::new("Any bar", "EUR".parse().unwrap(), days)
}

const FIRST: NaiveDate = NaiveDate::from_ymd_opt(2026, 3, 20).unwrap();
const LAST: NaiveDate = NaiveDate::from_ymd_opt(2026, 4, 12).unwrap();

/// By the lines themselves.
fn simply(conn: &Connection, rule: &DayRule) -> BTreeMap<(NaiveDate, TillId), i64> {
    let mut out = BTreeMap::new();
    for sale in sales::between(conn, Moment(i64::MIN), Moment(i64::MAX)).unwrap() {
        let day = rule.day_of(sale.at);
        if (FIRST..=LAST).contains(&day) {
            *out.entry((day, sale.till)).or_insert(0) += sale.took();
        }
    }
    out.retain(|_, took| *took != 0);
    out
}

fn summed(conn: &Connection, rule: &DayRule) -> BTreeMap<(NaiveDate, TillId), i64> {
    let mut totals = Vec::new();
    day_totals::each_between(conn, rule, FIRST, LAST, |t| totals.push(((t.day, t.till), t.took))).unwrap();
    assert!(totals.is_sorted_by(|(a, _), (b, _)| a < b), "each day and name once, in order: {totals:?}");
    totals.into_iter().filter(|(_, took)| *took != 0).collect()
}

/// What may happen to a book.
#[derive(Clone, Debug)]
enum Step {
    /// A file of sales is taken in: hours after the beginning, till name, quantity, kind.
    Take(Vec<(i64, usize, i64, SaleKind)>),
    /// The same without summing on the way.
    TakePlainly(Vec<(i64, usize, i64, SaleKind)>),
    /// The figure of a day is said, maybe for the second time.
    Total(i64, usize, i64),
    /// One of the files is taken back.
    Withdraw(usize),
    /// The business day begins at another hour, or elsewhere.
    Rule(bool, u32),
}

fn step() -> impl Strategy<Value = Step> {
    let kind = prop::sample::select(vec![
        SaleKind::Sale,
        SaleKind::Sale,
        SaleKind::Comp,
        SaleKind::Training,
        SaleKind::Return,
        SaleKind::Void,
    ]);
    let lines = || prop::collection::vec((0_i64..480, 0_usize..3, -2_000_i64..5_000, kind.clone()), 1..12);
    prop_oneof![
        4 => lines().prop_map(Step::Take),
        1 => lines().prop_map(Step::TakePlainly),
        2 => (0_i64..480, 0_usize..3, 0_i64..9_000).prop_map(|(at, till, many)| Step::Total(at, till, many)),
        2 => (0_usize..8).prop_map(Step::Withdraw),
        1 => (any::<bool>(), 0_u32..12).prop_map(|(far, hour)| Step::Rule(far, hour)),
    ]
}

struct Book {
    store: Store,
    tills: Vec<TillId>,
    files: Vec<FileId>,
    receipts: i64,
    days: DayRule,
}

impl Book {
    fn file(&mut self) -> FileId {
        let add = |c: &Connection| {
            let id = files::next(c)?;
            let (digest, what) = (format!("{:064x}", id.0), TakenAs::Sales);
            let (name, form, by) = ("week.csv".to_owned(), None, None);
            let file = TakenFile {
                id,
                digest,
                name,
                size: 7,
                modified: None,
                what,
                form,
                added: 1,
                at: Moment(0),
                by,
                withdrawn: false,
            };
            files::add(c, &file)?;
            Ok::<_, StoreError>(id)
        };
        self.store.write((Deed::Loaded, Moment(0)), add).unwrap()
    }

    fn sale(&self, (hours, till, quantity, kind): (i64, usize, i64, SaleKind)) -> Sale {
        // The clock is turned forward on 29 March in Berlin.
        let at = Moment(rule(chrono_tz::UTC, 0).begins(FIRST).0 + hours * 3_600_000);
        Sale { at, till: self.tills[till], quantity, net: Money(100), kind }
    }

    fn put(&mut self, lines: &[(i64, usize, i64, SaleKind)], summing: bool) {
        let file = self.file();
        self.receipts += 1;
        let (receipt, days) = (self.receipts.to_string(), self.days);
        let lines: Vec<Sale> = lines.iter().map(|line| self.sale(*line)).collect();
        let put = |c: &Connection| {
            let mut writer = SaleWriter::new(c, Some(file))?;
            if summing {
                writer = writer.summing(&days)?;
            }
            for (n, sale) in lines.iter().enumerate() {
                writer.put(&SaleLine { receipt: &receipt, line: n as i64 + 1, sale: *sale })?;
            }
            if summing { writer.finish(&days) } else { Ok(()) }
        };
        self.store.write((Deed::Loaded, Moment(0)), put).unwrap();
        self.files.push(file);
    }

    fn total(&mut self, at: i64, till: usize, many: i64) {
        let file = self.file();
        let (total, days) = (self.sale((at, till, many, SaleKind::Sale)), self.days);
        let receipt = format!("day {at} {till}");
        let put = |c: &Connection| {
            let mut writer = SaleWriter::new(c, Some(file))?.summing(&days)?;
            let known = writer.total(&receipt)?;
            writer.put_total(&receipt, &known, total)?;
            writer.finish(&days)
        };
        self.store.write((Deed::Loaded, Moment(0)), put).unwrap();
        self.files.push(file);
    }

    fn step(&mut self, step: &Step) {
        match step {
            Step::Take(lines) => self.put(lines, true),
            Step::TakePlainly(lines) => self.put(lines, false),
            Step::Total(at, till, many) => self.total(*at, *till, *many),
            Step::Withdraw(n) => {
                if let Some(file) = self.files.get(*n).copied() {
                    self.files.remove(*n);
                    // One whose figures a later file has corrected stays.
                    let _ = self.store.write((Deed::Loaded, Moment(0)), |c| files::withdraw(c, file, None, Moment(40)));
                }
            }
            Step::Rule(far, hour) => {
                let zone = if *far { chrono_tz::Pacific::Auckland } else { chrono_tz::Europe::Berlin };
                self.days = rule(zone, *hour);
                self.store.write((Deed::Loaded, Moment(0)), |c| setup::put_venue(c, &venue(self.days))).unwrap();
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn sums_are_what_the_lines_say(steps in prop::collection::vec(step(), 1..14)) {
        let folder = tempdir().unwrap();
        let store = Store::create(&folder.path().join("bar.tantalus")).unwrap();
        let days = rule(chrono_tz::Europe::Berlin, 5);
        let put = |c: &Connection| {
            setup::put_venue(c, &venue(days))?;
            ["Gin", "Rum", "Ale"].iter().map(|name| setup::put_till(c, name, TillMeaning::Unknown)).collect()
        };
        let tills: Vec<TillId> = store.write::<_, StoreError>((Deed::Loaded, Moment(0)), put).unwrap();
        let mut book = Book { store, tills, files: Vec::new(), receipts: 0, days };
        for step in &steps {
            book.step(step);
            let days = book.days;
            let (found, simple) = book.store.read(|c| Ok::<_, StoreError>((summed(c, &days), simply(c, &days)))).unwrap();
            prop_assert_eq!(found, simple, "after {:?}", step);
            prop_assert_eq!(book.store.read(check::all).unwrap(), Vec::new());
        }
        let days = book.days;
        book.store.write((Deed::Loaded, Moment(0)), |c| day_totals::refresh(c, &days)).unwrap();
        let (found, simple) = book.store.read(|c| Ok::<_, StoreError>((summed(c, &days), simply(c, &days)))).unwrap();
        prop_assert_eq!(found, simple);
    }
}

/// A book of the seventh version has no sums: they are made of its lines, and one that is wrong is found.
#[test]
fn a_book_without_sums_makes_them() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("old.tantalus");
    drop(Store::create_with(&path, &STEPS[..7]).unwrap());
    let raw = || rusqlite::Connection::open(&path).unwrap();
    // 2026-03-28 22:00, 2026-03-29 02:30 and 06:00 in Berlin, where the clock was turned forward in between.
    raw()
        .execute_batch(
            "INSERT INTO venue VALUES ('name', 'The Old Bar'), ('currency', 'EUR'), ('time_zone', 'Europe/Berlin'),
                 ('day_starts', '05:00');
             INSERT INTO till_name (id, name, name_key, mapped, drink, portion) VALUES (1, 'RUM', 'rum', 1, NULL, 1000);
             INSERT INTO sale (receipt, line, at, till, quantity, net, kind)
                 VALUES ('7', 1, 1774731600000, 1, 1000, 900, 0), ('8', 1, 1774746000000, 1, 2000, 1800, 0),
                        ('9', 1, 1774756800000, 1, 4000, 900, 0);",
        )
        .unwrap();
    let store = Store::open(&path).unwrap();
    let days = rule(chrono_tz::Europe::Berlin, 5);
    let of_days = |took: [i64; 2]| {
        let day = |day| NaiveDate::from_ymd_opt(2026, 3, day).unwrap();
        BTreeMap::from([((day(28), TillId(1)), took[0]), ((day(29), TillId(1)), took[1])])
    };
    let found = || store.read(|c| Ok::<_, StoreError>(summed(c, &days))).unwrap();
    assert_eq!(found(), of_days([3_000, 4_000]), "before anything is kept");
    store.write((Deed::Loaded, Moment(0)), |c| day_totals::refresh(c, &days)).unwrap();
    assert_eq!(found(), of_days([3_000, 4_000]));
    raw().execute("UPDATE sale_day SET took = took + 1 WHERE took = 4000", []).unwrap();
    let findings = store.read(check::all).unwrap();
    assert_eq!(findings.len(), 1, "{findings:?}");
    assert!(findings[0].to_string().contains("the sums of sales of 2026-03-29"), "{findings:?}");
}
