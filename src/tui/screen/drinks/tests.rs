//! Actions in, effects out; then what is drawn.

use super::*;
use crate::domain::drink::{Larder, Paid};
use crate::domain::measure::{Amount, Money, Sugar};
use crate::domain::rows::DrinkDraft;
use crate::domain::venue::{Drink, DrinkMethod, Glass, Ingredient, Item, Menu, Recipe, Setup, Versions, parse_day};
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use chrono::NaiveDate;
use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::Arc;

const NIGHT: &str = "2026-11-24 01:30";

fn today() -> NaiveDate {
    parse_day("2026-11-23").unwrap()
}

/// The bar of the fixture with another drink, a glass of a size, and a recipe.
fn setup() -> Setup {
    let mut setup = bar();
    let part = |item, ml: i64| Ingredient::new(ItemId(item), &format!("{ml} ml"), Amount(ml * 1_000));
    let menu = Menu {
        price: Money(900),
        tax: Some(1_900),
        method: Some(DrinkMethod::Build),
        glass: Some("highball".to_owned()),
        on: true,
        dilution: None,
    };
    let later = Menu { price: Money(950), ..menu.clone() };
    setup.drinks.push(Drink {
        id: DrinkId(2),
        name: "Tall rum".to_owned(),
        menu: Versions::new(vec![(None, menu), (parse_day("2026-12-01").ok(), later)]),
        specs: Versions::new(vec![(None, vec![part(1, 50), part(4, 150)])]),
    });
    setup.glasses = vec![Glass { name: "highball".to_owned(), holds: Amount(300_000), ice: Some(Amount(140_000)) }];
    let known = |item: &Item| Item {
        abv: crate::domain::measure::Strength::parse("40").ok(),
        allergens: Some(Vec::new()),
        ..item.clone()
    };
    setup.items[1] = Item { sugar: Some(Sugar::GramsPerLitre(240)), ..setup.items[1].clone() };
    let rum = setup.items.iter().position(|item| item.id == ItemId(1)).unwrap();
    setup.items[rum] = known(&setup.items[rum]);
    indexed(setup)
}

/// With everything findable where it is now.
fn indexed(setup: Setup) -> Setup {
    crate::domain::venue::Setup::new(crate::domain::venue::Parts {
        people: setup.people,
        places: setup.places,
        suppliers: setup.suppliers,
        special: setup.special.all().to_vec(),
        items: setup.items,
        shelves: setup.shelves,
        profiles: setup.profiles,
        offers: setup.offers,
        glasses: setup.glasses,
        drinks: setup.drinks,
        recipes: setup.recipes,
        till: setup.till,
        venue: setup.venue,
    })
}

fn view() -> DrinksView {
    let setup = Arc::new(setup());
    let larder = Larder::new(&setup, Paid::default(), today());
    let sold = [(DrinkId(1), 30_000), (DrinkId(2), 12_000)].into_iter().collect();
    let over = parse_day("2026-11-01").unwrap()..=parse_day("2026-11-22").unwrap();
    DrinksView { setup, larder, on_hand: HashMap::new(), sold, sold_over: Some(over) }
}

fn screen() -> DrinksScreen {
    DrinksScreen::new(view())
}

fn type_in(screen: &mut DrinksScreen, text: &str) {
    for c in text.chars() {
        assert_eq!(screen.update(Action::Type(c)), Effect::None, "{text}");
    }
}

/// Types into a field and goes on.
fn enter(screen: &mut DrinksScreen, text: &str) -> Effect {
    type_in(screen, text);
    screen.update(Action::Accept)
}

fn drawn(screen: &mut DrinksScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at(NIGHT) };
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene))
}

fn kept(effect: Effect) -> DrinkDraft {
    match effect {
        Effect::KeepDrink(draft) => *draft,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_new_drink_is_written_from_top_to_bottom() {
    let mut screen = screen();
    screen.update(Action::New);
    assert_eq!(screen.scope(), Scope::DrinkForm);
    enter(&mut screen, "Rum sour");
    enter(&mut screen, "");
    enter(&mut screen, "11,50");
    // The tax that other drinks have is there already; it is on the menu.
    enter(&mut screen, "");
    enter(&mut screen, "");
    enter(&mut screen, "sh");
    // Of the glass that is known, the beginning does.
    enter(&mut screen, "hi");
    enter(&mut screen, "");
    enter(&mut screen, "48");
    for (item, quantity) in [("rum", "6 cl"), ("lime", "25 ml")] {
        enter(&mut screen, item);
        enter(&mut screen, quantity);
    }
    // Enter on the empty line keeps nothing by surprise, and Tab goes round to the name.
    assert!(matches!(enter(&mut screen, ""), Effect::Say(_)));
    screen.update(Action::NextField);
    let draft = kept(screen.update(Action::Save));
    assert_eq!((draft.drink, draft.name.as_str(), draft.from), (None, "Rum sour", None));
    assert_eq!((draft.menu.price, draft.menu.tax, draft.menu.on), (Money(1_150), Some(1_900), true));
    assert_eq!((draft.menu.method, draft.menu.dilution), (Some(DrinkMethod::Shake), Some(4_800)));
    assert_eq!(draft.menu.glass.as_deref(), Some("highball"));
    assert_eq!(draft.glass, None);
    let takes: Vec<(ItemId, &str, i64)> =
        draft.spec.iter().map(|part| (part.item, part.written.as_str(), part.amount.0)).collect();
    assert_eq!(takes, [(ItemId(1), "6 cl", 60_000), (ItemId(2), "25 ml", 25_000)]);
    // The book has not taken it yet, so it is still there.
    assert_eq!(screen.scope(), Scope::DrinkForm);
    screen.kept(DrinkId(1));
    assert_eq!(screen.scope(), Scope::DrinkPage);
}

#[test]
fn what_is_wrong_is_said_at_its_field() {
    let mut screen = screen();
    screen.update(Action::New);
    let message = |screen: &mut DrinksScreen| {
        let text = drawn(screen, 80, 21);
        text.lines().find(|line| line.contains("Not so")).unwrap_or_default().trim().to_owned()
    };
    enter(&mut screen, "");
    assert_eq!(message(&mut screen), "Not so: give the drink a name");
    enter(&mut screen, "X");
    enter(&mut screen, "some day");
    assert!(message(&mut screen).contains("expected a date such as 2026-11-20"));
    // What was refused is typed over.
    enter(&mut screen, "tomorrow");
    enter(&mut screen, "cheap");
    assert!(message(&mut screen).contains("an amount of EUR"));
    enter(&mut screen, "10");
    screen.update(Action::Down);
    screen.update(Action::Down);
    enter(&mut screen, "zzzz");
    assert!(message(&mut screen).contains("no item is called that"));
    screen.update(Action::ClearField);
    enter(&mut screen, "rum");
    enter(&mut screen, "60");
    assert!(message(&mut screen).contains("expected a unit"));
    screen.update(Action::CursorEnd);
    enter(&mut screen, " g");
    assert!(message(&mut screen).is_empty(), "a spirit's strength says how heavy it is");
    enter(&mut screen, "rum");
    assert!(message(&mut screen).contains("Harbour rum is there already"));
    // Ctrl-S looks at everything, wherever the cursor is.
    screen.update(Action::ClearField);
    let draft = kept(screen.update(Action::Save));
    assert_eq!((draft.spec.len(), draft.from), (1, parse_day("2026-11-24").ok()));
    screen.update(Action::Down);
    type_in(&mut screen, "zzzz");
    assert_eq!(screen.update(Action::Save), Effect::None, "what is typed of an ingredient is not dropped");
    assert!(message(&mut screen).contains("no item is called that"));
    screen.update(Action::ClearField);
    type_in(&mut screen, "lime");
    assert_eq!(screen.update(Action::Save), Effect::None);
    assert!(message(&mut screen).contains("how much of it"));
    // What is chosen counts for allergens before it has an amount.
    assert!(drawn(&mut screen, 80, 21).contains("UNKNOWN of Lime juice"));
}

#[test]
fn cost_and_strength_are_there_before_a_price() {
    let mut screen = screen();
    screen.update(Action::Down);
    screen.update(Action::Change);
    screen.update(Action::Down);
    screen.update(Action::ClearField);
    enter(&mut screen, "");
    let text = drawn(&mut screen, 80, 21);
    // 19 % tax, built, in a highball: as with a price, but for what that would bring in.
    assert!(text.contains("it would sell for") && text.contains("of 160 ml in “highball”"), "{text}");
    assert!(text.contains("ice adds about") && !text.contains("Sells for"), "{text}");
    assert_eq!(screen.update(Action::Save), Effect::None);
    assert!(drawn(&mut screen, 80, 21).contains("Not so: give it a price"));
}

#[test]
fn what_somebody_else_changed_is_not_written_over_unseen() {
    let mut screen = screen();
    screen.update(Action::Down);
    screen.update(Action::Change);
    let mut setup = setup();
    let rum = setup.drinks[1].specs.at(today()).unwrap().1[0].clone();
    setup.drinks[1].specs = Versions::new(vec![(None, vec![rum])]);
    screen.refresh(DrinksView { setup: Arc::new(setup), ..view() });
    match screen.update(Action::Save) {
        Effect::Say(notice) => assert!(notice.text.contains("Tall rum was changed elsewhere meanwhile")),
        other => panic!("{other:?}"),
    }
    assert_eq!(kept(screen.update(Action::Save)).spec.len(), 2, "once more keeps it");
}

#[test]
fn a_glass_that_others_are_served_in_is_asked_about() {
    let mut setup = setup();
    let menu = setup.drinks[1].menu.at(today()).unwrap().1.clone();
    setup.drinks[0].menu = Versions::new(vec![(None, menu)]);
    let mut screen = DrinksScreen::new(DrinksView { setup: Arc::new(setup), ..view() });
    screen.update(Action::Change);
    screen.update(Action::Down);
    screen.update(Action::Down);
    screen.update(Action::NextField);
    type_in(&mut screen, "250 ml");
    match screen.update(Action::Save) {
        Effect::Ask { question, then, .. } => {
            assert!(question.contains("“highball” holds 300 ml so far. 250 ml instead"), "{question}");
            assert!(question.contains("1 other drink"), "{question}");
            assert_eq!(kept(*then).glass.unwrap().holds, Amount(250_000));
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn another_glass_has_its_own_size_however_it_is_written() {
    let mut setup = setup();
    setup.glasses.push(Glass { name: "coupe".to_owned(), holds: Amount(150_000), ice: None });
    let fresh = |name: &str| {
        let mut screen = DrinksScreen::new(DrinksView { setup: Arc::new(setup.clone()), ..view() });
        screen.update(Action::Down);
        screen.update(Action::Change);
        screen.update(Action::Down);
        screen.update(Action::Down);
        screen.paste(name);
        kept(screen.update(Action::Save))
    };
    let draft = fresh("coupe");
    assert_eq!((draft.menu.glass.as_deref(), draft.glass), (Some("coupe"), None));
    // The beginning does, though the field is not left.
    assert_eq!(fresh("cou").menu.glass.as_deref(), Some("coupe"));
    assert_eq!(fresh("unheard of").glass, None, "no size is known of it");
}

#[test]
fn what_begins_later_is_changed_from_then_on() {
    let mut setup = setup();
    let later = parse_day("2026-12-01").ok();
    let menu = setup.drinks[1].menu.at(today()).unwrap().1.clone();
    let spec = setup.drinks[1].specs.at(today()).unwrap().1.clone();
    setup.drinks[1].menu = Versions::new(vec![(later, menu)]);
    setup.drinks[1].specs = Versions::new(vec![(later, spec)]);
    let mut screen = DrinksScreen::new(DrinksView { setup: Arc::new(setup), ..view() });
    screen.update(Action::Grouping);
    screen.update(Action::Grouping);
    screen.update(Action::Grouping);
    screen.update(Action::Down);
    assert!(drawn(&mut screen, 80, 12).contains("Tall rum (from 1 Dec)"));
    screen.update(Action::Change);
    assert_eq!(kept(screen.update(Action::Save)).from, later);
}

#[test]
fn a_page_goes_back_to_where_it_was_opened() {
    let mut screen = screen();
    screen.update(Action::Corners);
    screen.update(Action::Open);
    assert_eq!(screen.scope(), Scope::DrinkPage);
    screen.update(Action::Back);
    assert_eq!(screen.scope(), Scope::DrinkCorners);
    // And so where the drink is taken away meanwhile.
    screen.update(Action::Open);
    let mut setup = setup();
    let here = screen.here();
    setup.drinks.retain(|drink| Some(drink.id) != here);
    screen.refresh(DrinksView { setup: Arc::new(indexed(setup)), ..view() });
    assert_eq!(screen.scope(), Scope::DrinkCorners);
    screen.update(Action::Back);
    assert_eq!(screen.scope(), Scope::Drinks);
}

#[test]
fn a_change_begins_today_and_what_is_past_is_asked_about() {
    let mut screen = screen();
    screen.update(Action::Change);
    let draft = kept(screen.update(Action::Save));
    assert_eq!((draft.drink, draft.from), (Some(DrinkId(1)), Some(today())));
    enter(&mut screen, "");
    screen.update(Action::ClearField);
    enter(&mut screen, "2026-11-01");
    match screen.update(Action::Save) {
        Effect::Ask { question, then, .. } => {
            assert!(question.contains("sales since then are reckoned by it"), "{question}");
            assert_eq!(kept(*then).from, parse_day("2026-11-01").ok());
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_was_written_is_not_thrown_away_by_one_key() {
    let mut screen = screen();
    screen.update(Action::New);
    assert_eq!(screen.update(Action::Cancel), Effect::None);
    assert_eq!(screen.scope(), Scope::Drinks, "nothing was written");
    screen.update(Action::New);
    type_in(&mut screen, "Ne");
    assert!(matches!(screen.update(Action::Cancel), Effect::Say(_)));
    type_in(&mut screen, "w");
    assert!(matches!(screen.update(Action::Cancel), Effect::Say(_)), "typing on is no wish to leave");
    assert_eq!(screen.update(Action::Cancel), Effect::None);
    assert_eq!(screen.scope(), Scope::Drinks);
}

#[test]
fn a_glass_gets_its_size_where_it_is_named() {
    let mut screen = screen();
    screen.update(Action::Change);
    for _ in 0..2 {
        screen.update(Action::Down);
    }
    type_in(&mut screen, "nick");
    enter(&mut screen, "");
    enter(&mut screen, "140 ml");
    let draft = kept(screen.update(Action::Save));
    assert_eq!(draft.menu.glass.as_deref(), Some("nick"));
    assert_eq!(draft.glass, Some(Glass { name: "nick".to_owned(), holds: Amount(140_000), ice: None }));
}

#[test]
fn lines_are_taken_out_and_put_after_the_ice() {
    let mut screen = screen();
    screen.update(Action::Down);
    screen.update(Action::Change);
    for _ in 0..3 {
        screen.update(Action::Down);
    }
    // Rum: quantity, waste, after the ice.
    screen.update(Action::NextField);
    screen.update(Action::NextField);
    type_in(&mut screen, "2.5");
    screen.update(Action::NextField);
    screen.update(Action::CursorRight);
    let draft = kept(screen.update(Action::Save));
    assert_eq!((draft.spec[0].waste, draft.spec[0].after_ice), (250, Some(true)));
    assert_eq!(draft.spec[1].after_ice, None);
    screen.update(Action::RemoveLine);
    let draft = kept(screen.update(Action::Save));
    assert_eq!(draft.spec.iter().map(|part| part.item).collect::<Vec<_>>(), [ItemId(4)]);
}

#[test]
fn off_the_menu_from_today_on() {
    let mut screen = screen();
    assert_eq!(screen.update(Action::ToggleMenu), Effect::SetOnMenu(DrinkId(1), false));
    // It stays where it is until the list is another one, so that the same key takes it back.
    let mut off = setup();
    let menu = Menu { on: false, ..off.drinks[0].menu.at(today()).unwrap().1.clone() };
    off.drinks[0].menu = Versions::new(vec![(None, menu)]);
    screen.refresh(DrinksView { setup: Arc::new(off), ..view() });
    assert!(drawn(&mut screen, 80, 12).contains("Harbour sour (off)"));
    assert_eq!(screen.update(Action::ToggleMenu), Effect::SetOnMenu(DrinkId(1), true));
    screen.update(Action::Sort);
    assert!(!drawn(&mut screen, 80, 12).contains("Harbour sour"));
}

#[test]
fn another_price_is_tried_and_nothing_kept() {
    let mut screen = screen();
    screen.update(Action::PriceChange);
    assert_eq!(screen.scope(), Scope::Find);
    enter(&mut screen, "rum");
    assert_eq!(screen.scope(), Scope::PriceChange);
    // A bottle of 700 ml at 17.00: 60 ml are 1.46; at 34.00 they are 2.91.
    type_in(&mut screen, "34");
    let text = drawn(&mut screen, 80, 21);
    assert!(text.contains("2 drinks change"), "{text}");
    assert!(text.contains("Harbour sour") && text.contains("+1.45"), "{text}");
    screen.update(Action::ClearField);
    type_in(&mut screen, "+10 %");
    assert!(drawn(&mut screen, 80, 21).contains("+0.14"));
    screen.update(Action::ClearField);
    type_in(&mut screen, "+5");
    assert!(drawn(&mut screen, 80, 21).contains("a change is written in percent, +5 %"));
    screen.update(Action::ClearField);
    type_in(&mut screen, "dear");
    assert!(drawn(&mut screen, 80, 21).contains("an amount of EUR"));
    assert_eq!(screen.update(Action::Cancel), Effect::None);
    assert_eq!(screen.scope(), Scope::Drinks);
}

#[test]
fn for_many_writes_a_sheet() {
    let mut screen = screen();
    screen.update(Action::Open);
    screen.update(Action::ForMany);
    type_in(&mut screen, "40");
    let text = drawn(&mut screen, 100, 30);
    // 40 × 60 ml are three bottles of 700 ml and 300 ml.
    assert!(text.contains("2400 ml   3 x 700 ml and 300 ml"), "{text}");
    let wants = Effect::WriteSheet { drink: DrinkId(1), serves: 40, water: None, vessel: Amount(700_000) };
    assert_eq!(screen.update(Action::Accept), wants);
    screen.update(Action::NextField);
    type_in(&mut screen, "500");
    assert_eq!(screen.update(Action::Accept), Effect::None, "no such share of water");
    screen.update(Action::Cancel);
    assert_eq!(screen.scope(), Scope::DrinkPage);
}

#[test]
fn a_version_is_taken_away() {
    let mut screen = screen();
    screen.update(Action::Down);
    screen.update(Action::Open);
    match screen.update(Action::DropVersion) {
        Effect::Ask { then, .. } => assert_eq!(*then, Effect::DropVersion(DrinkId(2), None)),
        other => panic!("{other:?}"),
    }
    screen.update(Action::OtherVersion);
    assert!(drawn(&mut screen, 80, 21).contains("since 1 Dec 2026 (version 2 of 2), not begun"));
    match screen.update(Action::DropVersion) {
        Effect::Ask { then, .. } => {
            assert_eq!(*then, Effect::DropVersion(DrinkId(2), parse_day("2026-12-01").ok()));
        }
        other => panic!("{other:?}"),
    }
    // Changed there, it is that version that is changed.
    screen.update(Action::Change);
    assert_eq!(kept(screen.update(Action::Save)).from, parse_day("2026-12-01").ok());
}

#[test]
fn what_is_found_is_the_next_drink_that_takes_it() {
    let mut screen = screen();
    let said = screen.find(ItemId(1)).unwrap();
    assert!(said.text.contains("2 of these drinks take Harbour rum"), "{}", said.text);
    assert_eq!(screen.here(), Some(DrinkId(2)));
    screen.find(ItemId(2));
    assert_eq!(screen.here(), Some(DrinkId(1)));
    assert!(screen.find(ItemId(3)).unwrap().text.contains("none of these drinks takes Fine sugar"));
}

#[test]
fn what_is_written_survives_fresh_rows() {
    let mut screen = screen();
    screen.update(Action::New);
    type_in(&mut screen, "Half");
    screen.refresh(view());
    enter(&mut screen, " way");
    assert!(drawn(&mut screen, 80, 21).contains("Half way"));
}

#[test]
fn drawn_at_eighty_cells() {
    let mut screen = screen();
    insta::assert_snapshot!("drinks-list", drawn(&mut screen, 80, 12));
    screen.update(Action::Down);
    screen.update(Action::Open);
    insta::assert_snapshot!("drinks-page", drawn(&mut screen, 80, 34));
    screen.update(Action::Change);
    for _ in 0..3 {
        screen.update(Action::Down);
    }
    type_in(&mut screen, "li");
    insta::assert_snapshot!("drinks-form", drawn(&mut screen, 80, 21));
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at(NIGHT) };
    let mut all = Vec::new();
    for actions in [
        &[][..],
        &[Action::Open],
        &[Action::Corners],
        &[Action::PriceChange],
        &[Action::PriceChange, Action::Accept, Action::Type('9')],
        &[Action::Open, Action::ForMany],
        &[Action::New],
        &[Action::Change, Action::Down, Action::Down, Action::Down, Action::Type('r')],
    ] {
        let mut screen = screen();
        for action in actions {
            screen.update(*action);
        }
        all.push(screen);
    }
    for screen in all {
        let screen = RefCell::new(screen);
        at_every_size(|frame| screen.borrow_mut().draw(frame, frame.area(), scene));
    }
    let setup = Arc::new(bar());
    let larder = Larder::new(&setup, Paid::default(), today());
    let empty =
        RefCell::new(DrinksScreen::new(DrinksView { setup, larder, sold: HashMap::new(), sold_over: None, ..view() }));
    for action in [Action::Corners, Action::Back, Action::Sort, Action::Grouping, Action::Open, Action::Next] {
        empty.borrow_mut().update(action);
        at_every_size(|frame| empty.borrow_mut().draw(frame, frame.area(), scene));
    }
}

#[test]
fn a_recipe_is_no_price_to_change() {
    let mut setup = setup();
    let takes = vec![Ingredient::new(ItemId(3), "100 g", Amount(100_000))];
    let recipe = Recipe { written: Some("1 l".to_owned()), yields: Amount(1_000_000), water: None, takes };
    setup.recipes.insert(ItemId(2), Versions::new(vec![(None, recipe)]));
    let setup = Arc::new(setup);
    let larder = Larder::new(&setup, Paid::default(), today());
    let mut screen = DrinksScreen::new(DrinksView { setup, larder, ..view() });
    screen.update(Action::PriceChange);
    assert!(!drawn(&mut screen, 80, 21).contains("Lime juice"));
}
