//! Actions in, effects out; then what is drawn.

use super::*;
use crate::domain::drink::{Batches, Larder, Paid};
use crate::domain::gauge::Level;
use crate::domain::ledger::Batch;
use crate::domain::measure::Sugar;
use crate::domain::par::{Hours, Prospects};
use crate::domain::rows::Made;
use crate::domain::usage::{Asked, AskedDays};
use crate::domain::venue::{Ingredient, Item, Kind, PlaceId, Recipe, Setup, Versions, Water, parse_day};
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use chrono::NaiveDate;
use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

const NIGHT: &str = "2026-11-24 01:30";
const SUGAR: ItemId = ItemId(3);
const JUICE: ItemId = ItemId(2);
const SYRUP: ItemId = ItemId(5);

fn today() -> NaiveDate {
    parse_day("2026-11-23").unwrap()
}

/// The bar of the fixture, a syrup made in it of sugar and water; it keeps a week.
fn setup() -> Setup {
    let mut setup = bar();
    let sugar = setup.items.iter().position(|item| item.id == SUGAR).unwrap();
    setup.items[sugar] = Item { sugar: Sugar::parse_of_solid("100 %").ok(), ..setup.items[sugar].clone() };
    let plain = setup.items[sugar].clone();
    let made = Item {
        keeps_days: Some(7),
        sugar: None,
        basis: crate::domain::measure::Basis::Volume,
        par: None,
        id: SYRUP,
        name: "Syrup".to_owned(),
        kind: Kind::HouseMade,
        ..plain
    };
    setup.items.push(made);
    let recipe = Recipe {
        written: None,
        yields: Amount(1_626_470),
        water: Water::parse("1 kg", &setup.venue.small).ok(),
        takes: vec![Ingredient::new(SUGAR, "1 kg", Amount(1_000_000))],
    };
    setup.recipes.insert(SYRUP, Versions::new(vec![(None, recipe)]));
    let venue = setup.venue.clone();
    let parts = crate::domain::venue::Parts::new(venue);
    Setup::new(crate::domain::venue::Parts {
        places: setup.places,
        items: setup.items,
        offers: setup.offers,
        suppliers: setup.suppliers,
        shelves: setup.shelves,
        recipes: setup.recipes,
        drinks: setup.drinks,
        till: setup.till,
        ..parts
    })
}

fn batch(seq: i64, when: &str, millilitres: i64) -> Batch {
    let made = Amount(millilitres * 1_000);
    Batch { seq: Seq(seq), at: at(when), item: SYRUP, made, by: Some("JB".to_owned()), note: None }
}

fn view() -> HouseView {
    let setup = Arc::new(setup());
    let larder = Larder::new(&setup, Paid::default(), today());
    let all = vec![batch(7, "2026-11-10 16:00", 1_600), batch(9, "2026-11-20 16:00", 1_500)];
    let there = Level { amount: Amount(1_700_000), u: 30_000.0 };
    let left = Batches::new(&setup, all.clone(), &[]).left(SYRUP, Some(there.amount), today());
    let first = parse_day("2026-11-09").unwrap();
    let by_drink = BTreeMap::from([(setup.drinks[0].id, (140_000, Amount(4_200_000)))]);
    let asked = Asked { daily: vec![300_000.0; 14], by_drink, piece: 30_000.0 };
    let days = AskedDays { first, rung: vec![10_000; 14], items: HashMap::from([(SYRUP, asked.clone())]) };
    let prospects = Prospects::new(&setup, days, HashMap::new(), Hours::default(), None);
    let line = HouseLine {
        item: SYRUP,
        on_hand: Some(there),
        left,
        batches: all.into_iter().rev().collect(),
        asked,
        outlook: prospects.outlooks.get(&SYRUP).cloned(),
        // Today has not begun.
        ahead: prospects.ahead(&setup, None, at("2026-11-23 08:00")),
    };
    let on_hand = HashMap::from([(SYRUP, there), (SUGAR, Level { amount: Amount(900_000), u: 0.0 })]);
    HouseView { setup, larder, lines: vec![line], asked_over: Some(first..=parse_day("2026-11-22").unwrap()), on_hand }
}

fn screen() -> HouseScreen {
    HouseScreen::new(view(), Some("JB".to_owned()))
}

fn act(screen: &mut HouseScreen, action: Action) -> Effect {
    screen.update(action, at(NIGHT))
}

fn enter(screen: &mut HouseScreen, text: &str) -> Effect {
    for c in text.chars() {
        assert_eq!(act(screen, Action::Type(c)), Effect::None, "{text}");
    }
    act(screen, Action::Accept)
}

fn drawn(screen: &mut HouseScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at(NIGHT) };
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene))
}

#[test]
fn a_batch_is_booked_in_a_few_keys() {
    let mut screen = screen();
    act(&mut screen, Action::MakeBatch);
    assert_eq!(screen.scope(), Scope::MakeForm);
    // What a batch makes is there already.
    assert!(drawn(&mut screen, 80, 21).contains("1626 ml"));
    enter(&mut screen, ",5");
    let text = drawn(&mut screen, 80, 21);
    // Half a batch takes 500 g of the 900.
    assert!(text.contains("0.50 batches") && text.contains("500 g") && text.contains("400 g"), "{text}");
    assert!(text.contains("keeps until Sun 29 Nov"), "{text}");
    enter(&mut screen, "");
    let want = Batch {
        seq: Seq(0),
        at: at(NIGHT),
        made: Amount(813_235),
        note: Some("cold".to_owned()),
        ..batch(0, NIGHT, 0)
    };
    assert_eq!(enter(&mut screen, "cold"), Effect::MakeBatch(want));
    screen.kept(SYRUP);
    assert_eq!(screen.scope(), Scope::HousePage);
}

#[test]
fn a_batch_that_cannot_be_is_said() {
    let mut screen = screen();
    act(&mut screen, Action::MakeBatch);
    for (typed, said) in [
        ("1600", "say the unit"),
        ("1,600 ml", "a comma before three digits may mean thousands"),
        ("half", "expected a number and a unit"),
        ("0", "above zero"),
        ("3 each", "is a number"),
    ] {
        // What was refused is typed over.
        enter(&mut screen, typed);
        let text = drawn(&mut screen, 80, 21);
        assert!(text.contains("Not so") && text.contains(said), "{typed}: {text}");
    }
    // Two batches take more sugar than there is.
    enter(&mut screen, "2");
    assert!(drawn(&mut screen, 80, 21).contains("1100 g short"));
    act(&mut screen, Action::PreviousField);
    act(&mut screen, Action::ClearField);
    enter(&mut screen, "20 l");
    enter(&mut screen, "");
    match enter(&mut screen, "") {
        Effect::Ask { question, .. } => {
            assert!(question.contains("12.3 batches at once. It is short of"), "{question}");
        }
        other => panic!("{other:?}"),
    }
    assert!(matches!(act(&mut screen, Action::Cancel), Effect::Say(_)), "what was typed is not dropped by one key");
    act(&mut screen, Action::Cancel);
    assert_eq!(screen.scope(), Scope::House);
}

#[test]
fn what_is_left_of_a_batch_is_written_off() {
    let mut screen = screen();
    act(&mut screen, Action::Open);
    act(&mut screen, Action::Down);
    let Effect::Ask { question, then, .. } = act(&mut screen, Action::Spoiled) else { panic!("not asked") };
    // 1700 ml are there: all 1500 of the newer batch, 200 of the older.
    assert!(question.contains("Write off 200 ml of Syrup"), "{question}");
    match *then {
        Effect::RecordLoss(loss) => {
            assert_eq!((loss.amount, loss.reason), (Amount(200_000), Reason::Spoiled));
            assert_eq!((loss.item, loss.by.as_deref()), (SYRUP, Some("JB")));
            assert_eq!(loss.note.as_deref(), Some("batch of 10 Nov"));
            assert_eq!(loss.place, None::<PlaceId>);
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_batch_is_taken_back() {
    let mut screen = screen();
    act(&mut screen, Action::Open);
    match act(&mut screen, Action::Undo) {
        Effect::Ask { question, then, .. } => {
            assert!(question.contains("1500 ml of Syrup"), "{question}");
            assert_eq!(*then, Effect::TakeBackBatch(Seq(9)));
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_recipe_is_changed_and_its_yield_computed() {
    let mut screen = screen();
    act(&mut screen, Action::Change);
    assert_eq!(screen.scope(), Scope::RecipeForm);
    let text = drawn(&mut screen, 100, 24);
    // 1 kg of sugar in 1 kg of water: 1626 ml at 50 Brix (polynomial of ICUMSA SPS-4).
    assert!(text.contains("1626 ml computed") && text.contains("50.0 brix, 615 g/l"), "{text}");
    enter(&mut screen, "");
    enter(&mut screen, "");
    enter(&mut screen, "500 g");
    assert!(drawn(&mut screen, 100, 24).contains("66.7 brix"));
    let draft = match act(&mut screen, Action::Save) {
        Effect::KeepRecipe(draft) => *draft,
        other => panic!("{other:?}"),
    };
    assert_eq!((&draft.made, draft.from), (&Made::Known(SYRUP), Some(today())));
    assert_eq!((draft.yields, draft.water.as_deref(), draft.keeps_days), (None, Some("500 g"), Some(7)));
}

#[test]
fn a_circle_is_refused_while_it_is_written() {
    let mut screen = screen();
    act(&mut screen, Action::Change);
    // Over the head and the line of sugar, to the empty one.
    for _ in 0..3 {
        act(&mut screen, Action::Down);
    }
    enter(&mut screen, "syrup");
    enter(&mut screen, "1 l");
    match act(&mut screen, Action::Save) {
        Effect::Say(notice) => assert_eq!(notice.text, "this is made of itself: Syrup > Syrup"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn something_new_has_a_name_and_a_size() {
    let mut screen = screen();
    act(&mut screen, Action::New);
    enter(&mut screen, "Lime cordial");
    enter(&mut screen, "");
    enter(&mut screen, "750 ml");
    enter(&mut screen, "1 l");
    enter(&mut screen, "");
    enter(&mut screen, "10");
    enter(&mut screen, "lime");
    enter(&mut screen, "400 ml");
    match act(&mut screen, Action::Save) {
        Effect::KeepRecipe(draft) => {
            assert_eq!(draft.made, Made::New("Lime cordial".to_owned(), "750 ml".to_owned()));
            assert_eq!((draft.yields.as_deref(), draft.keeps_days, draft.from), (Some("1 l"), Some(10), None));
            assert_eq!(draft.takes[0].item, JUICE);
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn more_days_want_more() {
    let mut screen = screen();
    // Seven days of 300 ml: 2100 ml, of which 1500 are there and keep four days more, the other 200 are past their date.
    // In four days 1200 ml of them are used in time.
    let make = |screen: &HouseScreen| screen.advice(&screen.view.lines[0]).unwrap();
    let week = make(&screen);
    assert_eq!((week.days, Amount::rounded(week.demand.mean)), (7, Amount(2_100_000)));
    assert_eq!((week.usable, week.make), (Some(Amount(1_200_000)), week.level - Amount(1_200_000)));
    assert!(week.weighed && week.level > Amount(2_100_000), "{week:?}");
    act(&mut screen, Action::OneMore);
    assert_eq!(make(&screen).days, 8);
    assert!(make(&screen).make > week.make);
    for _ in 0..20 {
        act(&mut screen, Action::OneLess);
    }
    // A day wants 300 ml, and that is there.
    assert_eq!((make(&screen).days, make(&screen).make), (1, Amount::ZERO));
}

#[test]
fn drawn_at_eighty_cells() {
    let mut screen = screen();
    insta::assert_snapshot!("house-list", drawn(&mut screen, 80, 10));
    act(&mut screen, Action::Open);
    insta::assert_snapshot!("house-page", drawn(&mut screen, 80, 30));
    act(&mut screen, Action::Change);
    insta::assert_snapshot!("house-recipe", drawn(&mut screen, 80, 21));
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at(NIGHT) };
    for actions in [
        &[][..],
        &[Action::Open],
        &[Action::MakeBatch],
        &[Action::Change],
        &[Action::New, Action::Down, Action::Down, Action::Type('r')],
    ] {
        let mut screen = screen();
        for action in actions {
            act(&mut screen, *action);
        }
        let screen = RefCell::new(screen);
        at_every_size(|frame| screen.borrow_mut().draw(frame, frame.area(), scene));
    }
    let empty = HouseView { lines: Vec::new(), asked_over: None, ..view() };
    let empty = RefCell::new(HouseScreen::new(empty, None));
    for action in [Action::Open, Action::MakeBatch, Action::Change, Action::OneMore, Action::Down] {
        act(&mut empty.borrow_mut(), action);
        at_every_size(|frame| empty.borrow_mut().draw(frame, frame.area(), scene));
    }
}
