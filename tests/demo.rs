//! The demo bar: that the folder is what its generator writes, that it loads whole, and that its planted troubles are
//! where `demo-data/TROUBLES.md` says.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod support;

use std::path::Path;
use std::process::Command;
use tantalus::desk::comparing::{Choice, setup};
use tantalus::desk::reviewing::review;
use tantalus::desk::{demo, looking};
use tantalus::domain::measure::Basis;
use tantalus::store::Store;

#[test]
fn the_folder_is_what_the_generator_writes() {
    let folder = tempfile::tempdir().unwrap();
    // Built by `cargo test` as an example; found beside the test's own binary.
    let here = std::env::current_exe().unwrap();
    let generator = here.parent().and_then(Path::parent).unwrap().join("examples/make_demo");
    let done = Command::new(&generator).arg(folder.path()).output().unwrap();
    assert!(done.status.success());
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap();
        let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data").join(name);
        assert!(std::fs::read(&path).unwrap() == std::fs::read(&kept).unwrap(), "{} differs", kept.display());
    }
}

fn open(folder: &Path) -> Store {
    Store::open(&support::book(folder)).unwrap()
}

/// Gaps of the last whole week, in containers, by item.
fn last_week(store: &Store) -> Vec<(String, f64, bool)> {
    let setup = setup(store).unwrap();
    let view = review(store, Choice::default()).unwrap();
    let row = |r: &tantalus::domain::usage::GapRow| {
        let item = setup.item(r.item).unwrap();
        (item.name.clone(), r.gap.per(item.size), r.beyond_exactness())
    };
    view.variance.rows.iter().map(row).collect()
}

#[test]
fn it_has_the_size_of_a_bar() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let setup = setup(&store).unwrap();
    assert!((170..=200).contains(&setup.items.len()));
    assert_eq!((setup.places.len(), setup.suppliers.len(), setup.recipes.len()), (5, 4, 6));
    let (_, tonight) = looking::tonight(&store, support::now()).unwrap();
    assert!(!tonight.counted && tonight.open_count.is_none(), "tonight's count is due");
    assert!(!tonight.deadlines.is_empty() && !tonight.low.is_empty() && !tonight.unmapped.is_empty());
}

#[test]
fn the_planted_troubles_of_the_last_week_can_be_found() {
    let folder = tempfile::tempdir().unwrap();
    let rows = last_week(&open(folder.path()));
    let gap = |name: &str| rows.iter().find(|r| r.0 == name).unwrap_or_else(|| panic!("{name} is not told")).1;
    for (name, from, to) in [
        ("Ostelbrine Gold Rum", 0.3, 1.2),
        ("Corrimond London Dry Gin", 5.5, 6.6),
        ("Merrovar Blanco Tequila", -2.6, -1.0),
        ("Tolbrenque Blanco Tequila", 1.0, 2.6),
        ("Hollumere Brandy", -1.3, -0.8),
        ("Corvanel Dark Rum", 1.0, 2.6),
        ("Ombrevane Espadín Mezcal", 0.3, 1.4),
    ] {
        let found = gap(name);
        assert!((from..to).contains(&found), "{name}: {found:.2} of a container");
    }
    // The others are quiet: nine of ten within the exactness of the count or near it.
    let quiet = rows.iter().filter(|r| r.1.abs() < 0.15).count();
    assert!(quiet * 10 >= rows.len() * 9 - 20, "{quiet} of {} are quiet", rows.len());
}

#[test]
fn a_second_start_keeps_what_was_done_and_a_fresh_one_does_not() {
    let folder = tempfile::tempdir().unwrap();
    let path = support::book(folder.path());
    let places = {
        let store = Store::open(&path).unwrap();
        let setup = setup(&store).unwrap();
        let places: Vec<_> = setup.places.iter().map(|p| p.id).collect();
        tantalus::desk::counting::begin(&store, &places, false, None, support::now()).unwrap();
        places
    };
    assert_eq!(places.len(), 5);
    let again = demo::open(&path, false, support::now()).unwrap();
    let (_, tonight) = looking::tonight(&again, support::now()).unwrap();
    assert!(tonight.open_count.is_some());
    drop(again);
    let fresh = demo::open(&path, true, support::now()).unwrap();
    let (_, tonight) = looking::tonight(&fresh, support::now()).unwrap();
    assert!(tonight.open_count.is_none());
}

#[test]
fn sizes_are_of_one_basis() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let setup = setup(&store).unwrap();
    for basis in [Basis::Volume, Basis::Mass, Basis::Each] {
        assert!(setup.items.iter().any(|i| i.basis == basis), "{basis:?}");
    }
}
