//! What is drawn, and where the cursor is.

use super::*;
use crate::domain::venue::{NamedDay, Parts, SpecialDay, SpecialDayId, SpecialDays, Stretch};
use crate::tui::screen::fixture::{at, bar};
use crate::tui::widget::harness::{at_every_size, shown};

const NOON: &str = "2026-11-23 11:50";

fn setup(names: &[&str]) -> Arc<Setup> {
    let bar = bar();
    let mut suppliers = bar.suppliers;
    suppliers.extend(names.iter().zip(2..).map(|(name, id)| Supplier {
        id: SupplierId(id),
        name: (*name).to_owned(),
        email: None,
        customer_no: Some("4711".to_owned()),
        calendar: OrderCalendar::parse(if id == 2 { "Tue 09:30 > Thu; Fri 12:00 > Mon" } else { "" }).unwrap(),
        minimum: None,
        fee: None,
        free_from: None,
        party: Default::default(),
    }));
    Arc::new(Setup::new(Parts {
        people: bar.people,
        places: bar.places,
        suppliers,
        items: bar.items,
        shelves: bar.shelves,
        offers: bar.offers,
        drinks: bar.drinks,
        recipes: bar.recipes,
        till: bar.till,
        ..Parts::new(bar.venue)
    }))
}

/// The van's record: late with two orders of ten, and dearer in most of what it brings.
fn records() -> Vec<(SupplierId, Record)> {
    let van = Record {
        orders: 10,
        late: vec![("2026-11-19 The".to_owned(), 2), ("2026-10-01 The".to_owned(), 1), ("A long name".to_owned(), 5)],
        lines: 64,
        short: 1,
        drift: Some(2.25),
        dearer: vec![(ItemId(1), 12.5), (ItemId(4), 3.04)],
    };
    vec![(SupplierId(1), van), (SupplierId(2), Record::default())]
}

fn drawn(screen: &mut SuppliersScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at(NOON) };
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene))
}

#[test]
fn the_cursor_stays_with_its_supplier() {
    let mut screen = SuppliersScreen::new(setup(&["Wide Valley Citrus"]), records());
    assert_eq!(screen.update(Action::Down), Effect::None);
    assert_eq!(screen.selected(), Some(SupplierId(2)));
    screen.refresh(setup(&["A new name for it", "Corner shop"]), records());
    assert_eq!(screen.selected(), Some(SupplierId(2)));
    assert_eq!(screen.update(Action::Open), Effect::Go(Tab::Orders));
    assert_eq!(screen.scope(), Scope::Suppliers);
}

#[test]
fn suppliers_drawn() {
    let mut screen = SuppliersScreen::new(setup(&["Wide Valley Citrus", "Corner shop"]), records());
    screen.update(Action::Down);
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    supplier                order by         comes      minimum    fee items    late
    Corner shop             any time                                       0
    The van                 2 h 10 min left  Wed         200.00   9.00     4 3 of 10
    Wide Valley Citrus      tomorrow 09:30   Thu                           0








    The van  offers 4 items
    Next: order by 14:00 today, 2 h 10 min left  comes Wed
    Order before Mon 14:00, comes Wed.
    Minimum 200.00 EUR  delivery 9.00, free from 300.00
    van@example.com
    Half a year:  3 of 10 orders late  1 of 64 lines short  prices +2.2 %
    Late: “2026-11-19 The” by 2 days, “2026-10-01 The” by 1 day and 1 more (v)
    Dearer: Harbour rum +12.5 %, Soda +3.0 %
    ");
    screen.update(Action::Last);
    insta::assert_snapshot!(drawn(&mut screen, 60, 12), @"
    supplier         order by         comes      minimum    late
    Corner shop      any time
    The van          2 h 10 min left  Wed         200.00 3 of 10
    Wide Valley Cit… tomorrow 09:30   Thu


    Wide Valley Citrus  offers nothing yet
    Next: order by tomorrow 09:30  comes Thu
    Order before Tue 09:30, comes Thu.
    Order before Fri 12:00, comes Mon.
    No minimum  delivery free
    no e-mail is on file  customer number 4711
    ");
    screen.update(Action::First);
    insta::assert_snapshot!(drawn(&mut screen, 120, 12), @"
    supplier           order by         comes      minimum    fee free from items    late  prices week
    Corner shop        any time                                                 0
    The van            2 h 10 min left  Wed         200.00   9.00    300.00     4 3 of 10  +2.2 % Mon 14:00 for Wed
    Wide Valley Citrus tomorrow 09:30   Thu                                     0                 Tue 09:30 for Thu; Fri 12…


    Corner shop  offers nothing yet
    Order whenever you like
    No fixed days
    No minimum  delivery free
    no e-mail is on file  customer number 4711
    ");
}

#[test]
fn weeks_in_words_and_closed_days_that_are_near() {
    let mut bar = bar();
    for (text, words, short) in [
        ("Mon 14:00 > Wed", "Order before Mon 14:00, comes Wed.", "Mon 14:00 for Wed"),
        (
            "Fri-Mon 9:30 > 1 day",
            "Order before 09:30 from Fri to Mon, comes the day after.",
            "Fri-Mon 09:30, 1 day later",
        ),
        ("any 16:00 > 9 days", "Order before 16:00 on any day, comes 9 days later.", "any 16:00, 9 days later"),
    ] {
        let calendar = OrderCalendar::parse(text).unwrap();
        assert_eq!((slots(&calendar).as_slice(), week(&calendar).as_str()), (&[words.to_owned()][..], short));
    }
    let closed = |from: &str, until: Option<&str>| {
        let day = |text: &str| NamedDay::parse(text).unwrap();
        let days = Stretch::new(day(from), until.map(day)).unwrap();
        SpecialDay { id: SpecialDayId(1), days, what: "x".to_owned(), effect: DayEffect::SupplierClosed(SupplierId(1)) }
    };
    // The business day is a Monday, 2026-11-23; 28 days from it end on 20 December.
    for (from, until, says) in [
        ("12-24", Some("01-02"), ""),
        ("12-20", Some("01-02"), "closed Sun 20 Dec to Sat 2 Jan"),
        ("2026-11-25", None, "closed Wed"),
        ("2026-11-20", Some("2026-11-24"), "closed Fri 20 Nov to tomorrow"),
        ("2026-11-20", Some("2026-11-22"), ""),
    ] {
        bar.special = SpecialDays::new(vec![closed(from, until)]);
        let screen = SuppliersScreen::new(Arc::new(bar.clone()), Vec::new());
        assert_eq!(screen.closed(SupplierId(1), at(NOON)), says, "{from}");
        assert_eq!(screen.closed(SupplierId(2), at(NOON)), "", "{from}");
    }
    bar.special = SpecialDays::new(vec![closed("2026-11-25", None)]);
    let drawn = drawn(&mut SuppliersScreen::new(Arc::new(bar), Vec::new()), 80, 12);
    assert!(drawn.contains("Next: order by Mon 30 Nov 14:00  comes Wed 2 Dec  closed Wed"), "{drawn}");
}

#[test]
fn a_name_cannot_act_on_the_terminal() {
    let mut screen = SuppliersScreen::new(setup(&["\x1b[2JEvil\u{202e}live"]), records());
    let all = drawn(&mut screen, 80, 21);
    assert!(all.contains("[2JEvillive") && !all.contains(['\x1b', '\u{202e}']), "{all}");
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    for names in [&[][..], &["Wide Valley Citrus", "Corner shop"]] {
        at_every_size(|frame| {
            let mut screen = SuppliersScreen::new(setup(names), records());
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOON) });
            screen.update(Action::Record);
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NOON) });
        });
    }
}

#[test]
fn the_record_is_read_page_by_page() {
    let mut screen = SuppliersScreen::new(setup(&["Wide Valley Citrus"]), records());
    assert_eq!((screen.update(Action::Record), screen.scope()), (Effect::None, Scope::SupplierRecord));
    insta::assert_snapshot!(drawn(&mut screen, 60, 16), @"
    How The van has delivered
    3 of 10 orders late  1 of 64 lines short  prices +2.2 %
    Orders that were late
      “2026-11-19 The” by 2 days
      “2026-10-01 The” by 1 day
      “A long name” by 5 days
    Items that became dearer
      Harbour rum +12.5 %
      Soda +3.0 %

    Over half a year. Prices: from each item's first delivery to
    its last, a container, whatever the pack, by what was
    bought.
    ");
    screen.update(Action::Next);
    let other = drawn(&mut screen, 80, 16);
    assert!(other.contains("How Wide Valley Citrus has delivered") && other.contains("is known"), "{other}");
    screen.update(Action::Previous);
    screen.update(Action::Back);
    assert_eq!((screen.scope(), screen.selected()), (Scope::Suppliers, Some(SupplierId(1))));
    let mut nobody = SuppliersScreen::new(Arc::new(Setup::new(Parts::new(bar().venue))), Vec::new());
    assert_eq!((nobody.update(Action::Record), nobody.scope()), (Effect::None, Scope::Suppliers));
}
