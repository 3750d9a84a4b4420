//! Days that are not as usual through the whole program: by command, through the desk, and what orders make of them.

#![allow(clippy::unwrap_used)]

#[path = "support/bar.rs"]
mod bar;

use bar::Bar;
use serde_json::json;
use tantalus::desk::{days, looking, ordering};
use tantalus::domain::venue::{
    DayEffect, Factor, Moment, NamedDay, OrderBy, Setup, SpecialDay, SpecialDayId, Stretch, SupplierId,
};
use tantalus::store::Store;

/// A Friday afternoon; the supplier of the bar takes orders until Monday 14:00 for Wednesday.
const NOW: &str = "2026-11-20 16:00";

fn store(bar: &Bar) -> Store {
    Store::open(&bar.0.path().join("bar.tantalus")).unwrap()
}

fn seen(store: &Store) -> (std::sync::Arc<Setup>, Moment) {
    let (setup, _) = days::view(store, Moment(0)).unwrap();
    let now = setup.venue.days.parse(NOW).unwrap();
    (setup, now)
}

fn special(from: &str, until: Option<&str>, what: &str, effect: DayEffect) -> SpecialDay {
    let day = |text: &str| NamedDay::parse(text).unwrap();
    let days = Stretch::new(day(from), until.map(day)).unwrap();
    SpecialDay { id: SpecialDayId::default(), days, what: what.to_owned(), effect }
}

#[test]
fn days_are_added_listed_and_taken_away() {
    let bar = Bar::new();
    let none = bar.says(&["days"]);
    assert!(none.starts_with("From Fri 2026-11-20 to Mon 2027-01-18 every day is as usual.\n"), "{none}");
    assert_eq!(bar.json(&["days", "--json"])["days"], json!([]));
    for (args, says) in [
        (
            &["fri", "--until", "2026-11-28", "--what", "Lantern nights", "--factor", "1.6"][..],
            "Added: 2026-11-27 to 2026-11-28, Lantern nights: demand × 1.6.\n",
        ),
        (&["12-24", "--what", "Christmas", "--closed"], "Added: 12-24, Christmas: closed.\n"),
        (
            &["12-24", "--until", "01-02", "--what", "Christmas", "--supplier", "quend"],
            "Added: 12-24 to 01-02, Christmas: Quendelbach closed.\n",
        ),
        (
            &["2026-12-29", "--what", "Besides", "--supplier", "Quendelbach", "--order-by", "2026-12-28 10:00"],
            "Added: 2026-12-29, Besides: Quendelbach comes besides, order by 2026-12-28 10:00.\n",
        ),
        (&["easter-1", "--what", "Easter night", "--factor", "2"], "Added: easter-1, Easter night: demand × 2.\n"),
    ] {
        assert_eq!(bar.says(&[&["days", "add"], args].concat()), says);
    }
    let page = bar.says(&["days"]);
    let lines: Vec<String> = page.lines().map(|l| l.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    assert_eq!(
        lines[2..6],
        [
            "Fri 2026-11-27 Sat 2026-11-28 Lantern nights demand × 1.6",
            "Thu 2026-12-24 Christmas closed",
            "Thu 2026-12-24 Sat 2027-01-02 Christmas Quendelbach closed",
            "Tue 2026-12-29 Besides Quendelbach comes besides, order by 2026-12-28 10:00",
        ],
        "{page}"
    );
    assert!(!page.contains("Easter"), "it is more than 60 days off: {page}");
    // Easter 2027 is 28 March (python-dateutil 2.9.0).
    assert!(bar.says(&["days", "--until", "2027-03-27"]).contains("Sat 2027-03-27"));
    assert!(!bar.says(&["days", "--until", "2027-03-26"]).contains("2027-03-27  "));
    let json = bar.json(&["days", "--until", "31 dec", "--json"]);
    assert_eq!((&json["from"], &json["until"]), (&json!("2026-11-20"), &json!("2026-12-31")));
    assert_eq!(
        json["days"][0],
        json!({"first": "2026-11-27", "last": "2026-11-28", "what": "Lantern nights", "is": "demand", "factor": 1.6,
            "supplier": null, "order_by": null, "day": "2026-11-27", "until": "2026-11-28"})
    );
    assert_eq!(
        json["days"][2],
        json!({"first": "2026-12-24", "last": "2027-01-02", "what": "Christmas", "is": "supplier-closed",
            "factor": null, "supplier": "Quendelbach", "order_by": null, "day": "12-24", "until": "01-02"})
    );
    let van = &json["days"][3];
    assert_eq!((&van["is"], &van["order_by"]), (&json!("extra-van"), &json!("2026-12-28T10:00:00+01:00")));

    let several = bar.refuses(&["days", "remove", "12-24"]);
    assert!(several.contains("2 begin on 12-24") && several.contains("--what"), "{several}");
    assert!(several.contains("12-24 to 01-02, Christmas: Quendelbach closed"), "{several}");
    let gone = bar.says(&["days", "remove", "12-24", "--what", "christmas", "--supplier", "Quendelbach"]);
    assert_eq!(gone, "Taken away: 12-24 to 01-02, Christmas: Quendelbach closed.\n");
    assert_eq!(bar.says(&["days", "remove", "12-24"]), "Taken away: 12-24, Christmas: closed.\n");
    assert!(bar.refuses(&["days", "remove", "12-24"]).contains("no day that is not as usual begins on 12-24"));
    let other = bar.refuses(&["days", "remove", "fri", "--what", "Lanterns"]);
    assert!(
        other.contains("what begins on 2026-11-27 is called otherwise")
            && other.contains("Lantern nights: demand × 1.6"),
        "{other}"
    );

    // What is left comes out as a file and goes in again.
    bar.says(&["dump", "out"]);
    let text = std::fs::read_to_string(bar.0.path().join("out/days.csv")).unwrap();
    let want = "day,until,what,factor,supplier,order_by\n2026-11-27,2026-11-28,Lantern nights,1.6,,\n\
        2026-12-29,,Besides,,Quendelbach,2026-12-28 10:00\neaster-1,,Easter night,2,,\n";
    assert_eq!(text.replace("\r\n", "\n"), want);
    bar.says(&["init", "out", "--book", "other.tantalus"]);
    assert_eq!(bar.json(&["days", "--json", "--book", "other.tantalus"]), bar.json(&["days", "--json"]));
    assert!(bar.says(&["check"]).contains("sound"));
}

#[test]
fn what_makes_no_sense_is_refused() {
    let bar = Bar::new();
    let add = |args: &[&str]| bar.refuses(&[&["days", "add"], args].concat());
    for (args, says) in [
        (&["someday", "--what", "x", "--closed"][..], "DAY: “someday”: expected a date such as 2026-12-24"),
        (&["easter+200", "--what", "x", "--closed"], "expected no more than 80 days before Easter"),
        (&["12-24", "--until", "easter", "--what", "x", "--closed"], "--until: expected the last day in the form"),
        (&["2026-12-24", "--until", "2026-12-23", "--what", "x", "--closed"], "a last day that is not before"),
        (&["12-24", "--what", "=x", "--closed"], "the name: expected text that does not begin with ="),
        (&["12-24", "--what", " ", "--closed"], "say what the day is called"),
        (&["12-24", "--what", "x", "--supplier", "nobody"], "no supplier is called “nobody”"),
        (
            &["12-24", "--what", "x", "--supplier", "Quendelbach", "--order-by", "2026-12-22 10:00"],
            "--order-by: “2026-12-22 10:00”: expected nothing: an extra van comes on one date",
        ),
        (
            &["2026-12-24", "--what", "x", "--supplier", "Quendelbach", "--order-by", "2026-12-25 10:00"],
            "expected a time on the day that it comes, or up to 60 days before",
        ),
        (
            &["2026-12-24", "--what", "x", "--supplier", "Quendelbach", "--order-by", "noon"],
            "expected a date and an hour such as 2026-12-22 10:00",
        ),
    ] {
        let said = add(args);
        assert!(said.contains(says), "{args:?}: {said}");
    }
    for wrong in [
        &["12-24", "--what", "x"][..],
        &["12-24", "--closed"],
        &["12-24", "--what", "x", "--closed", "--factor", "1"],
        &["12-24", "--what", "x", "--factor", "21"],
        &["12-24", "--what", "x", "--closed", "--order-by", "2026-12-22 10:00"],
        &["12-24", "--what", "x", "--closed", "--supplier", "Quendelbach"],
    ] {
        assert_eq!(bar.run(&[&["days", "add"], wrong].concat()).status.code(), Some(2), "{wrong:?}");
    }
    for until in ["yesterday", "2026-11-19", "2037-01-01"] {
        assert!(bar.refuses(&["days", "--until", until]).contains("--until: "), "{until}");
    }
    assert_eq!(bar.json(&["days", "--json"])["days"], json!([]));
    // A name twice on one day is one too many, in whatever letters.
    bar.says(&["days", "add", "12-24", "--what", "Christmas", "--closed"]);
    let twice = add(&["12-24", "--what", "CHRISTMAS", "--factor", "2"]);
    assert!(twice.contains("there is “Christmas” on 12-24 already") && twice.contains("change that"), "{twice}");
}

#[test]
fn orders_go_by_the_days_of_their_supplier() {
    let bar = Bar::new();
    let next = || {
        let order = bar.json(&["order", "--json"]);
        let draft = &order["drafts"][0];
        (draft["order_by"].as_str().unwrap().to_owned(), draft["comes"].as_str().unwrap().to_owned())
    };
    let is = |by: &str, comes: &str| (by.to_owned(), comes.to_owned());
    assert_eq!(next(), is("2026-11-23T14:00:00+01:00", "2026-11-25"));
    // Closed on the day of the delivery: a week later. A van besides comes before that.
    bar.says(&["days", "add", "2026-11-25", "--what", "Stocktaking", "--supplier", "Quendelbach"]);
    assert_eq!(next(), is("2026-11-30T14:00:00+01:00", "2026-12-02"));
    let besides = ["2026-11-27", "--what", "Besides", "--supplier", "Quendelbach", "--order-by", "tue 10:00"];
    bar.says(&[&["days", "add"], &besides[..]].concat());
    assert_eq!(next(), is("2026-11-24T10:00:00+01:00", "2026-11-27"));

    // The first screen says the same, and so does what is left of an order that came in part.
    let store = store(&bar);
    let (setup, now) = seen(&store);
    let (_, tonight) = looking::tonight(&store, now).unwrap();
    let by = setup.venue.days.plain(tonight.deadlines[0].by);
    assert_eq!((by.as_str(), tonight.deadlines[0].comes.to_string().as_str()), ("2026-11-24 10:00", "2026-11-27"));
    let mut view = ordering::receivable(&store, &setup).unwrap().remove(0);
    view.lines[0].came = Some(6);
    ordering::receive(&store, &view, "D 1", true, None, now).unwrap();
    let rest = ordering::receivable(&store, &setup).unwrap().remove(0);
    assert_eq!(rest.order.expected.map(|day| day.to_string()).as_deref(), Some("2026-11-27"));
    // The next one in order, seen from that deadline.
    let van = setup.suppliers[0].id;
    let after = setup.vans(van, tonight.deadlines[0].by).next().unwrap();
    assert_eq!(Some(after), setup.next_van(van, tonight.deadlines[0].by));
    assert_eq!(after.comes.to_string(), "2026-12-02");
}

#[test]
fn a_day_is_changed_in_place_and_not_over_what_nobody_saw() {
    let bar = Bar::new();
    let store = store(&bar);
    let van = seen(&store).0.suppliers[0].id;
    let demand = |thousandths| DayEffect::Demand(Factor(thousandths));
    let id = days::add(&store, &special("12-24", None, "Christmas", demand(0)), Moment(0)).unwrap();
    days::add(&store, &special("12-24", None, "Eve", demand(500)), Moment(0)).unwrap();
    let all = || seen(&store).0.special.all().to_vec();
    let of = |id: SpecialDayId| all().into_iter().find(|day| day.id == id).unwrap();
    let before = of(id);

    // Into a stretch, a day of a supplier, another day with another name; it stays the same row.
    let changed = special("12-25", Some("12-26"), " Christmas days ", DayEffect::SupplierClosed(van));
    days::change(&store, &before, &changed, Moment(0)).unwrap();
    let after = of(id);
    assert_eq!((after.what.as_str(), after.days, after.effect), ("Christmas days", changed.days, changed.effect));
    assert_eq!(all().len(), 2);

    let refusal = |done: Result<(), tantalus::desk::DeskError>| done.unwrap_err().to_string();
    let says = "Christmas was changed elsewhere meanwhile";
    assert!(refusal(days::change(&store, &before, &changed, Moment(0))).contains(says));
    assert!(refusal(days::remove(&store, &before, Moment(0))).contains(says));
    let taken = special("12-24", None, "eve", demand(2_000));
    assert!(refusal(days::change(&store, &after, &taken, Moment(0))).contains("there is “Eve” on 12-24 already"));
    let nobody = special("12-24", None, "x", DayEffect::SupplierClosed(SupplierId(99)));
    assert!(refusal(days::change(&store, &after, &nobody, Moment(0))).contains("not in the book any more"));
    for much in [-1, 20_001] {
        assert!(
            refusal(days::change(&store, &after, &special("12-24", None, "x", demand(much)), Moment(0)))
                .contains("from 0 to 20")
        );
    }
    let by = OrderBy::parse("2026-12-01 10:00").unwrap();
    let yearly = special("12-24", None, "x", DayEffect::ExtraVan { supplier: van, by });
    assert!(refusal(days::add(&store, &yearly, Moment(0)).map(|_| ())).contains("ordering by 2026-12-01 10:00: "));
    assert_eq!(of(id), after);

    // The same name in other letters is no other day.
    days::change(&store, &after, &SpecialDay { what: "CHRISTMAS DAYS".to_owned(), ..after.clone() }, Moment(0))
        .unwrap();
    let last = of(id);
    days::remove(&store, &last, Moment(0)).unwrap();
    assert!(refusal(days::remove(&store, &last, Moment(0))).contains("CHRISTMAS DAYS is not in the book any more"));
    assert_eq!(all().len(), 1);
}
