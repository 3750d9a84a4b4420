//! A bar with one supplier, an order on its way and a drink, and the program's commands in a shell beside it.

#![allow(dead_code, clippy::unwrap_used)]

use serde_json::Value;
use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output};
use tantalus::domain::venue::{Moment, Setup};
use tantalus::store::{Store, setup};
use tempfile::TempDir;

const NOW: &str = "2026-11-20T16:00:00+01:00";
/// The same as a moment: 20 November 2026, four in the afternoon in Berlin.
pub(crate) const AT: Moment = Moment(1_795_186_800_000);

/// A bar with one supplier, an order on its way, and a drink.
pub(crate) const FILES: &[(&str, &str)] = &[
    ("venue.csv", "key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\n"),
    ("places.csv", "place,walk\nCellar,1\n"),
    ("suppliers.csv", "supplier,schedule\nQuendelbach,Mon 14:00 > Wed\n"),
    ("stock.csv", "item,kind,size\nGin,spirit,700 ml\nTonic,mixer,200 ml\n"),
    ("shelves.csv", "place,item\nCellar,Gin\n"),
    ("offers.csv", "supplier,item,code,pack,price\nQuendelbach,Gin,21010,6,60.00\nQuendelbach,Tonic,11020,24,14.40\n"),
    (
        "orders.csv",
        "order,line,supplier,item,packs,price,state,placed,pack\nB-11,1,Quendelbach,Gin,2,60.00,sent,2026-11-16 12:00,6\n",
    ),
    ("drinks.csv", "drink,price,tax\nGin Tonic,9.00,19\n"),
    ("specs.csv", "drink,ingredient,quantity\nGin Tonic,Gin,40 ml\n"),
];

/// The set-up as a book has it now.
pub(crate) fn setup_in(store: &Store) -> Setup {
    store.read(setup::load).unwrap()
}

/// A book made of [`FILES`], and a shell in its folder.
pub(crate) struct Bar(pub(crate) TempDir);

impl Bar {
    pub(crate) fn new() -> Bar {
        Bar::with(&[])
    }

    /// With more files, or others in their place.
    pub(crate) fn with(more: &[(&str, &str)]) -> Bar {
        let bar = Bar(tempfile::tempdir().unwrap());
        let folder = bar.0.path().join("plain");
        fs::create_dir(&folder).unwrap();
        FILES.iter().chain(more).for_each(|(name, text)| fs::write(folder.join(name), text).unwrap());
        bar.says(&["init", "plain"]);
        bar
    }

    /// The book itself.
    pub(crate) fn book(&self) -> Store {
        Store::open(&self.0.path().join("bar.tantalus")).unwrap()
    }

    pub(crate) fn file(&self, name: &str, text: &str) -> PathBuf {
        let path = self.0.path().join(name);
        fs::write(&path, text).unwrap();
        path
    }

    pub(crate) fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tantalus"));
        command.args(args).current_dir(self.0.path()).env("TANTALUS_NOW", NOW).env_remove("TANTALUS_BY");
        command.env("TANTALUS_BOOK", self.0.path().join("bar.tantalus"));
        command
    }

    pub(crate) fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }

    pub(crate) fn says(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert_eq!(output.status.code(), Some(0), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    pub(crate) fn refuses(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert_eq!((output.status.code(), output.stdout), (Some(1), Vec::new()), "{args:?}");
        String::from_utf8(output.stderr).unwrap()
    }

    pub(crate) fn json(&self, args: &[&str]) -> Value {
        serde_json::from_str(&self.says(args)).unwrap()
    }
}
