//! Files of sales taken in and taken back in any order, beside a reckoning so simple that it can be seen to be right: a line
//! is in the book while any file in force has it, and a day's figure is what the file taken in last says of those in force.

#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use std::collections::BTreeMap;
use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use tantalus::desk::init::init_from;
use tantalus::desk::till::{self, Ask};
use tantalus::desk::{check, dump, unwatched};
use tantalus::domain::till::{Amounts, Layout};
use tantalus::domain::venue::{FileId, Moment};
use tantalus::store::{Store, files, sales, setup};
use tempfile::tempdir;

const NOW: Moment = Moment(1_796_100_000_000);
const NAMES: [&str; 3] = ["Gin Tonic", "Spritz", "Bag"];

/// What is known of something: a line's receipt, or a day and a name.
type Key = (bool, usize, usize);

/// How many, and for how much in cents.
type Figure = (i64, i64);

/// A file: lines of a till that rang the same whoever asks it, or figures of days as somebody summed them up.
#[derive(Clone, Debug)]
struct Report {
    totals: bool,
    rows: BTreeMap<Key, Figure>,
}

impl Report {
    fn text(&self) -> String {
        let mut out = String::from(match self.totals {
            true => "Business day;Item;Sold;Net\n",
            false => "Date;Time;Receipt;Item;Quantity;Net\n",
        });
        for ((_, at, name), (quantity, net)) in &self.rows {
            let (name, net) = (NAMES[*name], format!("{}.{:02}", net / 100, net % 100));
            out.push_str(&match self.totals {
                true => format!("2026-11-{:02};{name};{quantity};{net}\n", 10 + at),
                false => format!("2026-11-20;21:{at:02};{at};{name};{quantity};{net}\n"),
            });
        }
        out
    }
}

fn lines() -> impl Strategy<Value = Report> {
    // Receipts from one to another, as the till rang them: the same in every file.
    (0_usize..8, 1_usize..6).prop_map(|(first, many)| {
        let rung = |at: usize| ((false, at, at % 3), (1 + at as i64 % 4, 250 * (at as i64 + 1)));
        Report { totals: false, rows: (first..first + many).map(rung).collect() }
    })
}

fn totals() -> impl Strategy<Value = Report> {
    let row = (0_usize..3, 0_usize..3, 0_i64..9);
    proptest::collection::vec(row, 1..6).prop_map(|rows| {
        let figure = |(at, name, many): (usize, usize, i64)| ((true, at, name), (many, many * 450));
        Report { totals: true, rows: rows.into_iter().map(figure).collect() }
    })
}

/// The reckoning: the files in force, in the order in which they were taken in.
#[derive(Default)]
struct Reckoning {
    taken: Vec<usize>,
}

impl Reckoning {
    fn of(&self, reports: &[Report]) -> BTreeMap<Key, Figure> {
        let mut all = BTreeMap::new();
        self.taken.iter().for_each(|at| all.extend(reports[*at].rows.clone()));
        all
    }

    /// What was sold under each name.
    fn sold(&self, reports: &[Report]) -> BTreeMap<String, Figure> {
        let mut sold: BTreeMap<String, Figure> = BTreeMap::new();
        for ((_, _, name), (quantity, net)) in self.of(reports) {
            let sum = sold.entry(NAMES[name].to_owned()).or_default();
            *sum = (sum.0 + quantity * 1_000, sum.1 + net);
        }
        sold.retain(|_, figure| *figure != (0, 0));
        sold
    }
}

fn sold(store: &Store) -> BTreeMap<String, Figure> {
    let names = store.read(setup::load).unwrap().till;
    let rung = store.read(|c| sales::rung(c, Moment(0))).unwrap();
    let of = |id| names.iter().find(|name| name.id == id).unwrap().name.clone();
    let all = rung.into_iter().map(|(id, rung)| (of(id), (rung.quantity, rung.net.0)));
    all.filter(|(_, figure)| *figure != (0, 0)).collect()
}

struct Bar {
    home: tempfile::TempDir,
    store: Store,
    layouts: [Layout; 2],
}

fn on(_: u64, _: u64) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn bar() -> Bar {
    let home = tempdir().unwrap();
    let plain = home.path().join("plain");
    fs::create_dir(&plain).unwrap();
    fs::write(plain.join("venue.csv"), "key,value\nname,Any\ncurrency,EUR\ntime_zone,Europe/Berlin\n").unwrap();
    let (store, _) = init_from(&home.path().join("bar.tantalus"), &plain, NOW, &mut unwatched).unwrap();
    let layout = |totals: bool| {
        let report = Report { totals, rows: BTreeMap::from([((totals, 1, 0), (1, 450))]) };
        let path = write(home.path(), 99, &report);
        let look = till::look(&store, Ask::of(&path), NOW, &mut on).unwrap();
        let amounts = if totals { Amounts::Totals } else { Amounts::Lines };
        Layout { amounts, ..look.table.unwrap().layout }
    };
    let layouts = [layout(false), layout(true)];
    Bar { home, store, layouts }
}

fn write(home: &Path, at: usize, report: &Report) -> PathBuf {
    let path = home.join(format!("{at}.csv"));
    fs::write(&path, report.text()).unwrap();
    path
}

impl Bar {
    fn take(&self, at: usize, report: &Report) -> Result<(), String> {
        let path = write(self.home.path(), at, report);
        let layout = Some(&self.layouts[usize::from(report.totals)]);
        let ask = Ask { layout, all_the_same: true, ..Ask::of(&path) };
        let seen = till::look(&self.store, ask, NOW, &mut on).unwrap();
        let taken = till::take(&self.store, ask, None, NOW, &mut on).map_err(|refused| refused.to_string())?;
        assert_eq!(seen.sum.unwrap(), taken.sum, "what was shown is what came");
        Ok(())
    }

    fn in_force(&self, at: usize) -> Option<FileId> {
        let name = format!("{at}.csv");
        self.store.read(files::in_force).unwrap().into_iter().find(|file| file.name == name).map(|file| file.id)
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn the_book_says_what_the_files_in_force_say(
        reports in proptest::collection::vec(prop_oneof![lines(), totals()], 1..6),
        steps in proptest::collection::vec((0_usize..6, proptest::bool::weighted(0.6)), 1..16),
    ) {
        let mut reports = reports;
        // Of equal contents there is one file.
        let mut seen: Vec<String> = Vec::new();
        reports.retain(|report| { let new = !seen.contains(&report.text()); seen.push(report.text()); new });
        let bar = bar();
        let mut reckoning = Reckoning::default();
        for (at, takes) in steps {
            let at = at % reports.len();
            let report = &reports[at];
            let had = reckoning.taken.iter().position(|taken| *taken == at);
            let now = reckoning.of(&reports);
            if takes {
                // A figure of nothing is kept of what another file knew something of.
                let known = |key| reckoning.taken.iter().any(|at| !matches!(reports[*at].rows.get(key), None | Some((0, 0))));
                let nothing = report.rows.iter().all(|(key, figure)| *figure == (0, 0) && !known(key));
                let stale = had.is_some() && report.rows.iter().any(|(key, figure)| now.get(key) != Some(figure));
                let taken = bar.take(at, report);
                prop_assert_eq!(taken.is_err(), nothing || stale, "{:?}", taken);
                if taken.is_ok() && had.is_none() {
                    reckoning.taken.push(at);
                }
            } else if let Some(had) = had {
                till::withdraw(&bar.store, bar.in_force(at).unwrap(), None, NOW).unwrap();
                reckoning.taken.remove(had);
            } else {
                prop_assert_eq!(bar.in_force(at), None);
            }
            prop_assert_eq!(sold(&bar.store), reckoning.sold(&reports));
        }
        prop_assert!(check::check(&bar.store).unwrap().is_empty());
        let plain = bar.home.path().join("dump");
        dump::dump(&bar.store, &plain).unwrap();
        let (again, _) = init_from(&bar.home.path().join("again.tantalus"), &plain, NOW, &mut unwatched).unwrap();
        prop_assert_eq!(sold(&again), reckoning.sold(&reports));
    }
}
