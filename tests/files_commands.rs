//! The commands `sales` and `receive` as a shell sees them.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;
#[path = "support/forms.rs"]
mod forms;
#[path = "support/paper.rs"]
mod paper;

use bar::Bar;
use forms::{paths, told};
use paper::{Paper, line};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
#[cfg(unix)]
use std::{
    io::Read,
    process::{Command, Stdio},
    thread,
    time::Duration,
};

/// Runs what may wait for ever; stopped, and a failure, when it has said nothing after a minute.
#[cfg(unix)]
fn refuses_without_waiting(bar: &Bar, args: &[&str]) -> String {
    let mut child = bar.command(args).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
    for _ in 0..600 {
        if let Some(status) = child.try_wait().unwrap() {
            let mut said = String::new();
            child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
            assert_eq!(status.code(), Some(1), "{args:?}: {said}");
            return said;
        }
        thread::sleep(Duration::from_millis(100));
    }
    child.kill().unwrap();
    panic!("{args:?} waits for ever");
}

fn paper(number: &'static str) -> Paper {
    let lines = vec![
        line("Gin 0,7 l", "21010", ("2", "XCS"), "66.00", 13_200),
        line("Pallet deposit", "PF", ("1", "C62"), "4.50", 450),
        line("Tonc water", "NEW", ("24", "C62"), "0.60", 1_440),
    ];
    Paper { freight: 500, ..Paper::of(number, lines) }
}

/// The same sales as [`WEEK`], summed.
const DAYS: &str = "Business day;Item;Quantity;Net\n2026-11-19;G+T DBL;2;30.25\n2026-11-19;BAG;1;0.10\n";
const WEEK: &str = "Date;Time;Receipt;Item;Quantity;Net\n2026-11-19;21:00;1;G+T DBL;2;30.25\n2026-11-19;21:05;2;BAG;1;0.10\n;;;Total;3;30.35\n";

#[test]
fn a_table_is_taken_in_once_it_is_settled_how_it_is_read() {
    let bar = Bar::new();
    bar.file("week 46.csv", WEEK);
    let said = bar.refuses(&["sales", "week 46.csv"]);
    assert!(said.contains("was not read before") && said.contains("--keep-as"), "{said}");
    assert!(bar.says(&["sales", "week 46.csv", "--look"]).contains("2 lines"));
    let said = bar.says(&["sales", "week 46.csv", "--keep-as", "evening"]);
    assert!(said.contains("2 lines new") && said.contains("1 total."), "{said}");
    bar.file("week 47.csv", &WEEK.replace("2026-11-19", "2026-11-12"));
    assert!(bar.says(&["sales", "week 47.csv"]).contains("2 lines new"), "the next one without a word");
    for (wrong, says) in [
        (["--column", "Item"], "3=gross"),
        (["--column", "9=name"], "no such column"),
        (["--column", "Item=thing"], "expected one of"),
        (["--tax", "x"], "percent"),
        (["--day", "soon"], "--day"),
    ] {
        let said = bar.refuses(&["sales", "week 46.csv", wrong[0], wrong[1]]);
        assert!(said.contains(says), "{wrong:?}: {said}");
    }
    bar.file("bill.xml", &paper("R-1").ubl());
    assert!(bar.refuses(&["sales", "bill.xml"]).contains("receive"));
    assert!(bar.refuses(&["sales", "nowhere.csv"]).contains("nowhere.csv"));
}

/// Opening a pipe that nobody writes into waits for ever, and a device may never end.
#[cfg(unix)]
#[test]
fn a_pipe_or_a_device_is_no_file() {
    let bar = Bar::new();
    let pipe = bar.0.path().join("pipe");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let folder = bar.0.path().join("plain/pos.csv");
    assert!(Command::new("mkfifo").arg(&folder).status().unwrap().success());
    let _socket = std::os::unix::net::UnixListener::bind(bar.0.path().join("socket")).unwrap();
    for path in ["pipe", "/dev/zero", "socket"] {
        for args in [&["sales", path][..], &["sales", path, "--look"], &["receive", path], &["load", path]] {
            let said = refuses_without_waiting(&bar, args);
            assert!(said.contains("neither a file nor a folder"), "{args:?}: {said}");
        }
    }
    let said = refuses_without_waiting(&bar, &["load", "plain"]);
    assert!(said.contains("pos.csv") && said.contains("neither a file nor a folder"), "{said}");
}

/// What the system says with a number is said in words.
#[test]
fn what_the_system_refuses_is_said_in_words() {
    let bar = Bar::new();
    bar.file("file.csv", WEEK);
    for (args, says) in [
        (&["sales", "nowhere.csv"][..], "no such file"),
        (&["sales", "nowhere.csv", "--look"], "no such file"),
        (&["sales", "file.csv/week.csv"], "no folder"),
        (&["receive", "nowhere.xml"], "no such file"),
        (&["receive", "plain"], "it is a folder, not a file"),
        (&["load", "nowhere"], "no such file"),
        (&["load", "file.csv"], "no folder"),
    ] {
        let said = bar.refuses(args);
        assert!(said.contains(says) && !said.contains("os error"), "{args:?}: {said}");
    }
}

#[test]
fn what_is_doubtful_is_taken_in_only_when_that_is_said() {
    let bar = Bar::new();
    bar.file("week.csv", WEEK);
    bar.says(&["sales", "week.csv", "--keep-as", "evening"]);
    bar.file("days.csv", DAYS);
    let take = ["sales", "days.csv", "--rows", "day totals", "--keep-as", "days"];
    let said = bar.refuses(&take);
    assert!(said.contains("“week.csv”") && said.contains("--all-the-same"), "{said}");
    assert!(bar.says(&["sales", "days.csv", "--rows", "day totals", "--look"]).contains("count twice"));
    assert!(bar.says(&[&take[..], &["--all-the-same"]].concat()).contains("Taken in"));
    // A day's figure that comes down.
    bar.file("days.csv", &DAYS.replace(";2;", ";1;"));
    let said = bar.refuses(&["sales", "days.csv"]);
    assert!(said.contains("G+T DBL on Thu 19 Nov from 2 to 1"), "{said}");
}

/// What numbers its own lines, and a number twice, is told when it is looked at, not only when it is to be taken in.
#[test]
fn a_line_that_stands_twice_is_told_by_a_look() {
    let bar = Bar::new();
    bar.file(
        "twice.csv",
        "Date;Receipt;Line;Item;Quantity;Net\n2026-11-20;901;1;Gin;1;9.60\n2026-11-20;901;1;Rum;1;7.50\n",
    );
    let wants = "receipt 2026-11-20 901 line 1 stands in this file twice";
    let said = bar.says(&["sales", "twice.csv", "--look"]);
    assert!(said.contains(wants) && said.contains("1 line contradicts one before"), "{said}");
    let said = bar.refuses(&["sales", "twice.csv", "--keep-as", "lines"]);
    assert!(said.contains(wants), "{said}");
}

#[test]
fn names_are_explained_by_command() {
    let bar = Bar::new();
    bar.file("week.csv", WEEK);
    bar.says(&["sales", "week.csv", "--keep-as", "evening"]);
    let said = bar.says(&["sales"]);
    assert!(said.contains("G+T DBL") && said.contains("2 * Gin Tonic") && said.contains("not stock"), "{said}");
    for wrong in ["G+T DBL", "No such=Gin Tonic", "G+T DBL=No such", "G+T DBL=0*Gin Tonic", "G+T DBL=x*Gin Tonic"] {
        bar.refuses(&["sales", "--means", "BAG=", "--means", wrong]);
    }
    assert_eq!(bar.json(&["sales", "--json"])["waiting"], 2, "all of them, or none");
    let said = bar.says(&["sales", "--means", "G+T DBL=2*Gin Tonic", "--means", "BAG="]);
    assert!(said.contains("Every name of the till is known"), "{said}");
    let all = bar.json(&["sales", "--all", "--json"]);
    let double = all["names"].as_array().unwrap().iter().find(|n| n["name"] == "G+T DBL").unwrap();
    assert_eq!((&double["drink"], &double["portion_milli"]), (&"Gin Tonic".into(), &2_000.into()));
}

#[test]
fn a_bill_is_booked_by_command() {
    let bar = Bar::new();
    bar.file("bill.xml", &paper("R-1").ubl());
    let said = bar.says(&["receive", "bill.xml"]);
    assert!(
        said.contains("Beside order “B-11”") && said.contains("dearer") && said.contains("Nothing is booked"),
        "{said}"
    );
    let said = bar.refuses(&["receive", "bill.xml", "--book-it", "--as-charged"]);
    assert!(said.contains("Tonc water"), "{said}");
    for wrong in ["NEW", "9=deposit", "NEW=Tonic", "NEW=Tonic*0", "NEW=No such*24"] {
        bar.refuses(&["receive", "bill.xml", "--line", wrong]);
    }
    for wrong in ["Gin", "Gin=x", "Gin=-1", "No such=1"] {
        bar.refuses(&["receive", "bill.xml", "--came", wrong]);
    }
    assert!(bar.refuses(&["receive", "bill.xml", "--answers", "B-99"]).contains("B-11"));
    let said =
        bar.says(&["receive", "bill.xml", "--line", "NEW=Tonic*24", "--came", "Gin=11", "--as-charged", "--book-it"]);
    assert!(said.contains("Booked into stock: 2 lines") && said.contains("To claim"), "{said}");
    assert!(said.contains("stays on order"), "one of twelve did not come: {said}");
    // The same bill in the other syntax.
    bar.file("bill of the other kind.xml", &paper("R-1").cii());
    let said = bar.refuses(&["receive", "bill of the other kind.xml", "--as-charged", "--book-it"]);
    assert!(said.contains("booked already"), "{said}");
    let open = bar.says(&["receive"]);
    assert!(open.contains("B-11 rest") && open.contains("dearer") && open.contains("short"), "{open}");
    // Twelve at eleven instead of ten, one of them missing.
    let claims = bar.json(&["receive", "--json"])["claims"].clone();
    let money: i64 = claims.as_array().unwrap().iter().map(|c| c["money"]["minor"].as_i64().unwrap()).sum();
    assert_eq!(money, 1_100 + 1_100);
}

#[test]
fn a_bill_is_taken_back_by_command() {
    let bar = Bar::new();
    bar.file("bill.xml", &paper("R-1").ubl());
    let line = ["--line", "NEW=Tonic*24"];
    bar.says(&[&["receive", "bill.xml", "--as-charged", "--book-it"], &line[..]].concat());
    for (wrong, says) in [
        (&["receive", "--take-back", "R-2"][..], "no bill “R-2” is booked"),
        (&["receive", "--supplier", "Quendelbach"], "no bill is named"),
    ] {
        let said = bar.refuses(wrong);
        assert!(said.contains(says), "{wrong:?}: {said}");
    }
    assert!(bar.says(&["receive"]).contains("R-1"), "it is listed");
    let said = bar.says(&["receive", "--take-back", "r-1"]);
    for part in
        ["Taken back: invoice R-1 of Quendelbach", "2 lines left stock again", "claim", "On order again: “B-11”"]
    {
        assert!(said.contains(part), "{part}: {said}");
    }
    bar.refuses(&["receive", "--take-back", "R-1"]);
    assert!(bar.says(&["receive", "bill.xml"]).contains("Beside order “B-11”"));
    // A credit note and an invoice may have one number.
    bar.says(&["receive", "bill.xml", "--as-charged", "--book-it"]);
    let mut note = Paper { credit: true, ..paper("R-1") };
    note.lines.truncate(1);
    bar.file("note.xml", &note.ubl());
    bar.says(&["receive", "note.xml", "--came", "Gin=0", "--book-it", "--all-the-same"]);
    let said = bar.refuses(&["receive", "--take-back", "R-1"]);
    assert!(said.contains("several bills") && said.contains("credit note R-1"), "{said}");
}

/// Whether a bill is for goods that are booked already must be said, where it does not say so itself.
#[test]
fn a_bill_is_not_set_against_a_booked_delivery_unasked() {
    let bar = Bar::new();
    bar.file("bill.xml", &paper("R-1").ubl());
    let line = ["--line", "NEW=Tonic*24", "--answers", "none"];
    bar.says(&[&["receive", "bill.xml", "--as-charged", "--book-it"], &line[..]].concat());
    // What R-1 brought becomes a delivery by hand: the same goods, on the day of the next bill.
    bar.says(&["dump", "out"]);
    let deliveries = fs::read_to_string(bar.0.path().join("out/deliveries.csv")).unwrap().replace("R-1", "L-7");
    let by_hand = Bar::with(&[("deliveries.csv", &deliveries)]);
    by_hand.file("bill.xml", &Paper { order: "", ..paper("R-2") }.ubl());
    let known = ["receive", "bill.xml", "--line", "NEW=Tonic*24"];
    let said = by_hand.says(&known);
    assert!(said.contains("It may only say the price of what was booked"), "{said}");
    let said = by_hand.refuses(&["receive", "bill.xml", "--as-charged", "--book-it"]);
    assert!(said.contains("nothing of it would go into stock") && said.contains("--answers"), "{said}");
    let said = by_hand.refuses(&["receive", "bill.xml", "--came", "Gin=3"]);
    assert!(said.contains("are booked already"), "{said}");
    let said = by_hand.says(&["receive", "bill.xml", "--answers", "L-7", "--book-it"]);
    assert!(said.contains("no stock moved") || said.contains("Now at the price charged"), "{said}");
}

#[test]
fn what_is_wrong_with_a_bill_is_said_and_nothing_is_booked() {
    let bar = Bar::new();
    let usd = Paper { currency: "USD", ..paper("R-2") };
    bar.file("usd.xml", &usd.ubl());
    let late = Paper { issued: "2027-01-19", ..paper("R-3") };
    bar.file("late.xml", &late.ubl());
    let stranger = Paper { seller: "Nobody we know", vat: "", ..paper("R-4") };
    bar.file("stranger.xml", &stranger.ubl());
    let book = ["--line", "NEW=Tonic*24", "--as-charged", "--book-it"];
    for (file, says) in [("usd.xml", "USD"), ("late.xml", "2027-01-19"), ("stranger.xml", "whose bill")] {
        let said = bar.refuses(&[&["receive", file][..], &book].concat());
        assert!(said.contains(says), "{file}: {said}");
    }
    let with = [&["receive", "stranger.xml", "--supplier", "Quendelbach"][..], &book].concat();
    assert!(bar.says(&with).contains("Booked"));
    let again = Paper { seller: "Nobody we know", vat: "", ..paper("R-5") };
    bar.file("again.xml", &again.ubl());
    assert!(bar.says(&["receive", "again.xml"]).contains("from Quendelbach"), "it is remembered");
    bar.file("bomb.xml", "<!DOCTYPE a [<!ENTITY b \"cc\">]><Invoice xmlns=\"urn:oasis:names:specification:ubl:schema:xsd:Invoice-2\">&b;</Invoice>");
    bar.refuses(&["receive", "bomb.xml"]);
    bar.file("week.csv", WEEK);
    bar.refuses(&["receive", "week.csv"]);
}

#[test]
fn the_documented_forms_are_the_forms() {
    let bar = Bar::new();
    let found = |all: &[Value]| {
        let mut found = BTreeSet::new();
        all.iter().for_each(|one| paths(one, "", &mut found));
        found
    };
    bar.file("week.csv", WEEK);
    bar.file("bill.xml", &paper("R-1").ubl());
    let gross = WEEK.replace("Net", "Gross");
    bar.file("gross.csv", &gross);
    let export = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/samples/till/dsfinvk-zwei-abschluesse.zip");
    bar.says(&["sales", "week.csv", "--keep-as", "evening"]);
    bar.file("days.csv", DAYS);
    let looked = [
        bar.json(&["sales", "week.csv", "--look", "--json"]),
        bar.json(&["sales", "days.csv", "--rows", "day totals", "--look", "--json"]),
        bar.json(&["sales", "gross.csv", "--look", "--json"]),
        bar.json(&["sales", export, "--json"]),
    ];
    // Of an export there is no layout.
    let mut forms = found(&looked);
    assert!(forms.remove("layout"));
    assert_eq!(forms, told("sales FILE"));
    assert_eq!(found(&[bar.json(&["sales", "--all", "--json"])]), told("sales"));
    let mut note = Paper { credit: true, preceding: "R-1", ..paper("R-9") };
    note.lines.truncate(1);
    bar.file("note.xml", &note.ubl());
    bar.file("old.xml", &Paper { issued: "1990-11-19", ..paper("R-10") }.ubl());
    let book = ["--line", "NEW=Tonic*24", "--came", "Gin=11", "--as-charged", "--book-it"];
    let bills = [
        bar.json(&["receive", "bill.xml", "--json"]),
        bar.json(&[&["receive", "bill.xml", "--json"][..], &book].concat()),
        bar.json(&["receive", "note.xml", "--json"]),
        bar.json(&["receive", "old.xml", "--json"]),
    ];
    let mut forms = found(&bills);
    assert!(forms.remove("booked"), "null where nothing was booked");
    assert_eq!(forms, told("receive FILE"));
    assert_eq!(found(&[bar.json(&["receive", "--json"])]), told("receive"));
    let back = bar.json(&["receive", "--take-back", "r-1", "--json"]);
    assert_eq!(found(&[back]), told("receive --take-back NUMBER"));
}

/// Goods that come and go back on one bill, and a bill for two deliveries, are said by command.
#[test]
fn what_came_and_what_went_back_are_said_apart() {
    let bar = Bar::new();
    let both = Paper {
        order: "",
        delivered: "",
        freight: 0,
        lines: vec![
            line("Gin 0,7 l", "21010", ("2", "XCS"), "66.00", 13_200),
            line("Gin 0,7 l", "21010", ("-1", "XCS"), "66.00", -6_600),
        ],
        ..paper("R-20")
    };
    bar.file("both.xml", &both.ubl());
    let said = bar.refuses(&["receive", "both.xml", "--came", "Gin=12", "--came", "Gin=0"]);
    assert!(said.contains("said already") && said.contains("-0 for none"), "{said}");
    let came = |args: &[&str]| {
        let form = bar.json(&[&["receive", "both.xml", "--answers", "none", "--json"], args].concat());
        let items = form["items"].as_array().unwrap();
        items.iter().filter(|item| item["item"] == "Gin").map(|item| item["came"].as_i64().unwrap()).collect::<Vec<_>>()
    };
    assert_eq!(came(&["--came", "Gin=12", "--came", "Gin=-0"]), [12, 0]);
    assert_eq!(came(&["--came", "Gin=12", "--came", "Gin=-6"]), [12, -6]);
    // A credit note of which all went back is asked about.
    bar.file(
        "note.xml",
        &Paper {
            credit: true,
            order: "",
            delivered: "",
            freight: 0,
            lines: vec![line("Gin 0,7 l", "21010", ("1", "XCS"), "66.00", 6_600)],
            ..paper("G-1")
        }
        .ubl(),
    );
    let said = bar.refuses(&["receive", "note.xml", "--as-charged", "--book-it"]);
    assert!(said.contains("went back to the supplier: did it?"), "{said}");
    bar.says(&["receive", "note.xml", "--came", "Gin=0", "--book-it"]);
    // Two deliveries by their papers.
    let head = "document,line,at,supplier,item,containers,unit_price,place\n";
    let came = format!(
        "{head}L-1,1,2026-11-10 16:00,Quendelbach,Gin,6,11.00,\nL-2,1,2026-11-17 16:00,Quendelbach,Gin,6,11.00,\n"
    );
    fs::create_dir_all(bar.0.path().join("came")).unwrap();
    bar.file("came/deliveries.csv", &came);
    bar.says(&["load", "came"]);
    let month = Paper {
        order: "",
        delivered: "",
        freight: 0,
        lines: vec![line("Gin 0,7 l", "21010", ("2", "XCS"), "69.00", 13_800)],
        ..paper("R-21")
    };
    bar.file("month.xml", &month.ubl());
    let two = ["--answers", "L-2", "--answers", "L-1"];
    assert!(
        bar.refuses(&["receive", "month.xml", "--answers", "L-2", "--answers", "L-7"]).contains("can hardly answer")
    );
    let said = bar.says(&[&["receive", "month.xml", "--book-it"][..], &two].concat());
    assert!(said.contains("Now at the price charged: 2 lines") && said.contains("6.00"), "{said}");
}
