//! Actions in, effects out; then what is drawn.

use super::form::Part;
use super::*;
use crate::domain::gauge::{Eye, Gauges, Outline, Reading};
use crate::domain::ledger::CountLine;
use crate::domain::measure::{Amount, Strength};
use crate::domain::rows::GaugingView;
use crate::domain::venue::{CountId, CountMethod, Filling, Measures, PlaceId, Profile, ProfileId, Section, Setup};
use crate::tui::screen::fixture::{at, bar};
use crate::tui::screen::{Scene, with_u};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use std::sync::Arc;

const NIGHT: &str = "2026-11-24 01:30";
const RUM: ItemId = ItemId(1);
const LIME: ItemId = ItemId(2);
const SUGAR: ItemId = ItemId(3);
const SODA: ItemId = ItemId(4);
const FLAGON: ProfileId = ProfileId(11);
const JUG: ProfileId = ProfileId(12);

fn flagon() -> Profile {
    let measures = Measures {
        section: Section::Square,
        base: 7_000,
        body_diameter: 76_500,
        body_height: 165_000,
        shoulder_height: 42_000,
        neck_diameter: 31_000,
        neck_height: 85_000,
        fill_height: Some(222_000),
    };
    Profile { id: FLAGON, name: "Flagon".to_owned(), measures: Some(measures), fillings: Vec::new() }
}

fn filling(mm: i64, ml: i64) -> Filling {
    Filling { height: mm * 1_000, volume: Amount(ml * 1_000) }
}

fn jug() -> Profile {
    let fillings = vec![filling(40, 250), filling(95, 600), filling(150, 1_000)];
    Profile { id: JUG, name: "Jug".to_owned(), measures: None, fillings }
}

/// The rum is of a known strength, its empty bottle weighs 500 g, and it is a round one; of the lime juice and the sugar
/// nothing is known; soda is only counted whole.
fn setup() -> Setup {
    let mut setup = bar();
    setup.profiles = vec![flagon(), jug()];
    let rum = setup.items.iter_mut().find(|item| item.id == RUM).unwrap();
    rum.abv = Some(Strength(4_000));
    rum.empty_weight = Some(Amount(500_000));
    rum.shape = Some(ItemShape::Generic(Shape::Round));
    setup
}

/// The same with another shape of an item.
fn shaped(item: ItemId, shape: Option<ItemShape>) -> Setup {
    let mut setup = setup();
    setup.items.iter_mut().find(|known| known.id == item).unwrap().shape = shape;
    setup
}

fn weighed(seq: i64, when: &str, item: ItemId, state: WeighedAs, grams: i64) -> Weighing {
    Weighing {
        seq: Seq(seq),
        at: at(when),
        item,
        state,
        weight: Mass::grams(grams),
        seen: None,
        mark: None,
        place: None,
        by: Some("JB".to_owned()),
    }
}

fn seen(seq: i64, when: &str, tenths: u8, grams: i64) -> Weighing {
    let seen = Some(Reading::tenths(tenths));
    Weighing { seen, place: Some(PlaceId(1)), ..weighed(seq, when, RUM, WeighedAs::Opened, grams) }
}

/// A bottle marked A, weighed full and empty, and one whose level JB's eye had read.
fn weighings() -> Vec<Weighing> {
    let marked = |weighing| Weighing { mark: Some("A".to_owned()), ..weighing };
    vec![
        marked(weighed(3, "2026-11-20 18:00", RUM, WeighedAs::Sealed, 1_165)),
        seen(8, "2026-11-22 02:40", 4, 812),
        marked(weighed(5, "2026-11-22 23:10", RUM, WeighedAs::Empty, 503)),
    ]
}

fn last_read() -> Vec<CountLine> {
    vec![CountLine {
        count: CountId(7),
        place: PlaceId(1),
        item: RUM,
        at: at("2026-11-23 02:10"),
        entry: crate::domain::gauge::Entry { full: 1, open: vec![Reading::tenths(3)] },
        method: CountMethod::Tenths,
        by: Some("OM".to_owned()),
    }]
}

fn view_of(setup: Setup, weighings: Vec<Weighing>) -> GaugingView {
    let gauges = Arc::new(Gauges::new(&setup, &weighings));
    GaugingView::new(Arc::new(setup), gauges, weighings, &last_read())
}

fn screen_of(setup: Setup, weighings: Vec<Weighing>) -> GaugingScreen {
    GaugingScreen::new(view_of(setup, weighings), Some("OM".to_owned()))
}

/// With the page of an item open.
fn page_of(item: ItemId) -> GaugingScreen {
    let mut screen = screen_of(setup(), Vec::new());
    assert_eq!(screen.find(item), None);
    screen
}

fn act(screen: &mut GaugingScreen, action: Action) -> Effect {
    screen.update(action, at(NIGHT))
}

fn type_in(screen: &mut GaugingScreen, text: &str) {
    for c in text.chars() {
        assert_eq!(act(screen, Action::Type(c)), Effect::None);
    }
}

fn typed(screen: &mut GaugingScreen, text: &str) -> Effect {
    type_in(screen, text);
    act(screen, Action::Accept)
}

fn entry(screen: &GaugingScreen) -> Option<&str> {
    screen.page.as_ref()?.entry.as_ref().map(|(_, field)| field.text())
}

fn here(screen: &GaugingScreen) -> Option<ItemId> {
    screen.page.as_ref().map(|page| page.item)
}

fn said(effect: &Effect) -> &str {
    match effect {
        Effect::Say(notice) => &notice.text,
        other => panic!("{other:?}"),
    }
}

fn drawn(screen: &mut GaugingScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at(NIGHT) };
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene))
}

#[test]
fn what_the_scale_shows_is_kept_with_the_mark_behind_it() {
    let tenth = |mg| Mass { mg, step: 100 };
    for (text, weight, mark) in [
        ("512g", Mass::grams(512), None),
        ("512", Mass::grams(512), None),
        (" 512 ", Mass::grams(512), None),
        ("512 g", Mass::grams(512), None),
        ("512 G", Mass::grams(512), None),
        ("+ 512.0 g", tenth(512_000), None),
        ("+512.0g", tenth(512_000), None),
        ("512,5g", tenth(512_500), None),
        ("512,5 g", tenth(512_500), None),
        ("512.5", tenth(512_500), None),
        ("0.512 kg", Mass::grams(512), None),
        ("512g A", Mass::grams(512), Some("A")),
        ("512g G", Mass::grams(512), Some("G")),
        ("512 g A", Mass::grams(512), Some("A")),
        ("512 A", Mass::grams(512), Some("A")),
        ("512g  red dot, left", Mass::grams(512), Some("red dot, left")),
        ("0.512 kg gold", Mass::grams(512), Some("gold")),
    ] {
        let mut screen = page_of(RUM);
        assert_eq!(act(&mut screen, Action::WeighEmpty), Effect::None);
        assert_eq!(screen.scope(), Scope::GaugingEntry);
        let want = Weighing {
            mark: mark.map(str::to_owned),
            weight,
            by: Some("OM".to_owned()),
            ..weighed(0, NIGHT, RUM, WeighedAs::Empty, 0)
        };
        assert_eq!(typed(&mut screen, text), Effect::Weigh(want), "{text}");
        // Until the book has taken it, what was typed stays.
        assert_eq!((screen.scope(), entry(&screen)), (Scope::GaugingEntry, Some(text)), "{text}");
        screen.refresh(view_of(setup(), Vec::new()));
        assert_eq!((screen.scope(), here(&screen)), (Scope::GaugingItem, Some(RUM)), "{text}");
    }
}

#[test]
fn what_the_book_refuses_stays_to_be_mended() {
    let mut screen = page_of(RUM);
    act(&mut screen, Action::WeighEmpty);
    assert!(matches!(typed(&mut screen, "512g"), Effect::Weigh(_)));
    // Refused: the next key goes on typing, and fresh rows that come then take nothing away.
    act(&mut screen, Action::EraseBack);
    screen.refresh(view_of(setup(), Vec::new()));
    assert_eq!(entry(&screen), Some("512"));
}

#[test]
fn a_full_one_is_weighed_as_sealed_and_nobody_need_sign() {
    let mut screen = GaugingScreen::new(view_of(setup(), Vec::new()), None);
    screen.find(LIME);
    act(&mut screen, Action::WeighSealed);
    let want = Weighing { by: None, ..weighed(0, NIGHT, LIME, WeighedAs::Sealed, 1_480) };
    assert_eq!(
        typed(&mut screen, "1.48kg"),
        Effect::Weigh(Weighing { weight: Mass { step: 10_000, ..want.weight }, ..want })
    );
}

#[test]
fn wrong_and_impossible_weights_are_refused_and_stay_to_be_mended() {
    for (item, action, text, says) in [
        (RUM, Action::WeighSealed, "", "expected a weight such as 812g"),
        (RUM, Action::WeighSealed, "abc", "expected a weight such as 812g"),
        (RUM, Action::WeighEmpty, "143mm", "expected a weight such as 812g"),
        (RUM, Action::WeighEmpty, "-5", "expected a weight such as 812g"),
        (RUM, Action::WeighEmpty, "512lb", "expected a weight such as 812g"),
        (RUM, Action::WeighSealed, "500g", "no heavier than an empty container (500 g)"),
        (LIME, Action::WeighSealed, "480 g", "lighter than its content alone (500 g)"),
        (LIME, Action::WeighEmpty, "0", "nothing on the scale"),
    ] {
        let mut screen = page_of(item);
        act(&mut screen, action);
        for _ in 0..2 {
            let effect = act(&mut screen, Action::ClearField);
            assert_eq!(effect, Effect::None);
            let effect = typed(&mut screen, text);
            assert!(said(&effect).contains(says), "{text}: {effect:?}");
            assert_eq!((screen.scope(), entry(&screen)), (Scope::GaugingEntry, Some(text)), "{text}");
        }
    }
}

#[test]
fn a_weight_that_is_hard_to_believe_is_asked_once() {
    for (action, text, says, mended) in [
        (Action::WeighSealed, "1300", "1300g for a full one (expected 1097 g to 1229 g)? Enter once more", "1163"),
        (Action::WeighEmpty, "600 g A", "600g for an empty one (known so far: 500 g)? Enter once more", "510"),
    ] {
        let mut screen = page_of(RUM);
        act(&mut screen, action);
        let effect = typed(&mut screen, text);
        assert!(said(&effect).contains(says), "{effect:?}");
        assert_eq!(entry(&screen), Some(text));
        let kept = act(&mut screen, Action::Accept);
        assert!(matches!(kept, Effect::Weigh(_)), "{kept:?}");
        // What was believed of one weighing is not believed of the next.
        act(&mut screen, action);
        assert!(matches!(typed(&mut screen, text), Effect::Say(_)));
        // Another weight is asked about again; one that is likely is not.
        assert!(matches!(typed(&mut screen, "\u{20}B"), Effect::Say(_)));
        act(&mut screen, Action::ClearField);
        assert!(matches!(typed(&mut screen, mended), Effect::Weigh(_)));
    }
    // What was asked of a full one and dropped is asked of an empty one as well.
    let mut screen = page_of(RUM);
    act(&mut screen, Action::WeighSealed);
    assert!(said(&typed(&mut screen, "600")).contains("for a full one"));
    act(&mut screen, Action::Cancel);
    act(&mut screen, Action::WeighEmpty);
    assert!(said(&typed(&mut screen, "600")).contains("for an empty one"));
}

#[test]
fn escape_throws_away_what_was_typed_and_nothing_else() {
    let mut screen = page_of(RUM);
    act(&mut screen, Action::WeighEmpty);
    type_in(&mut screen, "51");
    assert_eq!(act(&mut screen, Action::Cancel), Effect::None);
    assert_eq!((screen.scope(), here(&screen)), (Scope::GaugingItem, Some(RUM)));
    act(&mut screen, Action::WeighSealed);
    assert_eq!(entry(&screen), Some(""), "the next weighing begins with nothing typed");
    act(&mut screen, Action::Cancel);
    assert_eq!(act(&mut screen, Action::Back), Effect::None);
    assert_eq!((screen.scope(), here(&screen)), (Scope::Gauging, None));
}

#[test]
fn the_weighing_under_the_cursor_is_named_before_it_is_taken_back() {
    let mut screen = screen_of(setup(), weighings());
    screen.find(RUM);
    for (when, seq) in [
        ("Sun 22 Nov 23:10, empty, 503g", 5),
        ("Sun 22 Nov 02:40, opened, 812g", 8),
        ("Fri 20 Nov 18:00, sealed, 1165g", 3),
        // The last one is the last.
        ("Fri 20 Nov 18:00, sealed, 1165g", 3),
    ] {
        match act(&mut screen, Action::Undo) {
            Effect::Ask { question, then, otherwise, .. } => {
                assert_eq!(question, format!("Take back the weighing of {when}? The book keeps both rows."));
                assert_eq!((*then, *otherwise), (Effect::TakeBackWeighing(Seq(seq)), Effect::None));
            }
            other => panic!("{other:?}"),
        }
        act(&mut screen, Action::Down);
    }
    screen.find(LIME);
    assert_eq!(said(&act(&mut screen, Action::Undo)), "nothing of it was weighed yet");
}

#[test]
fn shapes_go_round_through_those_of_every_book_and_those_of_this_one() {
    let generic = Shape::ALL.iter().map(|shape| Some(ItemShape::Generic(*shape)));
    let own = [FLAGON, JUG].map(|id| Some(ItemShape::Own(id)));
    let mut round: Vec<Option<ItemShape>> = std::iter::once(None).chain(generic).chain(own).collect();
    assert_eq!(round.len(), 6);
    round.push(None);
    for pair in round.windows(2) {
        let mut screen = screen_of(shaped(LIME, pair[0]), Vec::new());
        screen.find(LIME);
        let Effect::SetShape(LIME, shapes) = act(&mut screen, Action::NextShape) else { panic!("{pair:?}") };
        // The next one, and behind it all others in case that is refused.
        assert_eq!((shapes[0], shapes.len()), (pair[1], 5));
        assert!(!shapes.contains(&pair[0]));
    }
}

#[test]
fn the_pages_are_walked_in_the_order_of_the_list() {
    let mut screen = screen_of(setup(), Vec::new());
    assert_eq!(
        screen.lines,
        [
            GaugeLine::Heading("Not on the scale yet", 2),
            GaugeLine::Item(0),
            GaugeLine::Item(1),
            GaugeLine::Heading("Can be weighed", 1),
            GaugeLine::Item(2),
        ]
    );
    assert_eq!(act(&mut screen, Action::Open), Effect::None);
    let mut walked = vec![here(&screen)];
    for action in [Action::Next, Action::Next, Action::Next, Action::Previous, Action::Previous, Action::Previous] {
        act(&mut screen, action);
        walked.push(here(&screen));
    }
    assert_eq!(walked, [SUGAR, LIME, RUM, RUM, LIME, SUGAR, SUGAR].map(Some), "the ends hold");
    // The list is left where the walk ended.
    act(&mut screen, Action::Next);
    act(&mut screen, Action::Back);
    act(&mut screen, Action::Down);
    act(&mut screen, Action::Open);
    assert_eq!(here(&screen), Some(RUM), "the cursor went past the heading");
}

#[test]
fn a_refresh_keeps_the_page_and_what_is_being_typed() {
    let mut screen = page_of(LIME);
    act(&mut screen, Action::WeighEmpty);
    type_in(&mut screen, "44");
    // Now that the lime juice can be weighed, it stands in another group.
    let mut known = setup();
    let lime = known.items.iter_mut().find(|item| item.id == LIME).unwrap();
    lime.empty_weight = Some(Amount(430_000));
    lime.full_weight = Some(Amount(1_460_000));
    screen.refresh(view_of(known, Vec::new()));
    assert_eq!((here(&screen), entry(&screen)), (Some(LIME), Some("44")));
    act(&mut screen, Action::Cancel);
    act(&mut screen, Action::Back);
    assert_eq!(screen.lines[screen.window.selected()], GaugeLine::Item(2), "the cursor went with it");
    act(&mut screen, Action::Open);
    assert_eq!(here(&screen), Some(LIME));
    // What is not gauged any more has no page; the cursor rests on what there is.
    let mut whole = setup();
    whole.items.iter_mut().find(|item| item.id == LIME).unwrap().count_by = crate::domain::venue::CountBy::Whole;
    screen.refresh(view_of(whole, Vec::new()));
    assert_eq!(here(&screen), None);
    act(&mut screen, Action::Open);
    assert!(here(&screen).is_some_and(|item| item != LIME), "{screen:?}");
}

#[test]
fn an_item_is_found_on_its_page() {
    let mut screen = page_of(SUGAR);
    act(&mut screen, Action::NewShape);
    assert_eq!(screen.find(RUM), None);
    assert_eq!((here(&screen), screen.scope()), (Some(RUM), Scope::GaugingItem));
    act(&mut screen, Action::Back);
    act(&mut screen, Action::Open);
    assert_eq!(here(&screen), Some(RUM), "the cursor of the list is there too");
    let notice = screen.find(SODA).unwrap();
    assert_eq!(notice.text, "Soda is only counted whole, so nothing of it is gauged");
    assert_eq!(here(&screen), Some(RUM), "and what was open stays");
}

#[test]
fn a_reading_is_tried_and_nothing_is_kept() {
    let mut screen = screen_of(setup(), weighings());
    screen.find(RUM);
    act(&mut screen, Action::TryReading);
    let theme = Theme::from_env(true);
    for (text, reading) in [
        ("143mm", Reading::Height(143_000)),
        ("14,3 cm", Reading::Height(143_000)),
        (".45", Reading::parse(".45").unwrap()),
        ("812 g", Reading::Mass(Mass::grams(812))),
    ] {
        type_in(&mut screen, text);
        let level = screen.view.level(RUM, reading, Some("OM")).unwrap();
        let show = screen.view.setup.venue.show();
        let basis = crate::domain::measure::Basis::Volume;
        let share = format!("{:.2}", level.amount.per(Amount(700_000)));
        let share = share.trim_start_matches('0');
        let want = format!("= {}, {share} of what it holds; 95 % between", with_u(show, basis, level, &theme));
        let picture = drawn(&mut screen, 120, 21);
        assert!(picture.contains(&want), "{text}: {want}\n{picture}");
        assert_eq!(act(&mut screen, Action::Accept), Effect::None, "{text}");
        assert_eq!((screen.scope(), entry(&screen)), (Scope::GaugingEntry, Some(text)), "its answer stays");
    }
    screen.paste("812g");
    assert_eq!(entry(&screen), Some("812g"), "the next one begins");
    act(&mut screen, Action::Accept);
    for (text, says) in [
        ("300mm", "300mm of Harbour rum is taller than the container"),
        ("1300g", "1300g of Harbour rum is heavier than a full container"),
        ("1195g", "1195g, above the weight of a full"),
        ("1", "nothing is kept"),
    ] {
        type_in(&mut screen, text);
        let picture = drawn(&mut screen, 150, 21);
        assert!(picture.contains(says), "{text}\n{picture}");
        act(&mut screen, Action::ClearField);
    }
    assert_eq!(act(&mut screen, Action::Cancel), Effect::None);
    assert_eq!(screen.scope(), Scope::GaugingItem);
}

/// Fills the form in from its second field on: the name is on it already.
fn fill_in(screen: &mut GaugingScreen, texts: &[&str]) -> Effect {
    act(screen, Action::NewShape);
    assert_eq!(screen.scope(), Scope::ShapeForm);
    let mut effect = act(screen, Action::Accept);
    for text in texts {
        assert_eq!(effect, Effect::None);
        effect = typed(screen, text);
    }
    effect
}

/// The field that has the focus, and what is wrong with it.
fn focus(screen: &GaugingScreen) -> (Part, Option<String>) {
    let form = screen.form.as_ref().unwrap();
    if let Some((at, _)) = &form.error {
        assert_eq!(*at, form.focus, "what is wrong stands where it can be mended");
    }
    (Part::ALL[form.focus], form.error.clone().map(|(_, wrong)| wrong))
}

#[test]
fn a_measured_shape_is_handed_over_field_by_field() {
    let mut screen = page_of(LIME);
    act(&mut screen, Action::NewShape);
    for part in Part::ALL {
        assert_eq!(focus(&screen), (part, None));
        let text = match part {
            Part::Name => " large",
            Part::Section => "s",
            Part::Body => "76,5 mm",
            Part::BodyHeight => "165",
            Part::Shoulder => "42mm",
            Part::Neck => "31",
            Part::NeckHeight => "85",
            Part::Base => "7",
            Part::Fill => "222",
            Part::Fillings => break,
        };
        assert_eq!(typed(&mut screen, text), Effect::None);
    }
    let kept = Profile { id: ProfileId::default(), name: "Lime juice large".to_owned(), ..flagon() };
    assert_eq!(act(&mut screen, Action::Accept), Effect::PutShape(Box::new(kept), LIME));
    assert_eq!(screen.scope(), Scope::GaugingItem);
}

#[test]
fn what_may_stay_empty_stays_unsaid() {
    let mut screen = page_of(LIME);
    let effect = fill_in(&mut screen, &["", "88", "160", "40", "30", "90", "", "", ""]);
    let Effect::PutShape(profile, LIME) = effect else { panic!("{effect:?}") };
    let measures = profile.measures.unwrap();
    assert_eq!((measures.section, measures.base, measures.fill_height), (Section::Round, 0, None));
}

#[test]
fn a_shape_by_filling_needs_no_measures_and_is_put_in_order() {
    let mut screen = page_of(LIME);
    let effect = fill_in(&mut screen, &["", "", "", "", "", "", "", "", "95mm 600 ml; 4cm 25cl, 150mm 1 l,"]);
    let kept = Profile { id: ProfileId::default(), name: "Lime juice".to_owned(), ..jug() };
    assert_eq!(effect, Effect::PutShape(Box::new(kept), LIME));
}

#[test]
fn a_field_that_cannot_be_read_says_what_was_expected_and_is_not_left() {
    for (part, text, says) in [
        (Part::Name, "", "give it a name"),
        (Part::Body, "wide", "expected millimetres such as 76.5, below 2000"),
        (Part::BodyHeight, "2000", "below 2000"),
        (Part::Shoulder, "-4", "expected millimetres"),
        (Part::Neck, "3.1234", "expected millimetres"),
        (Part::NeckHeight, "8cm", "expected millimetres"),
        (Part::Base, "thick", "expected millimetres"),
        (Part::Fill, "full", "expected millimetres"),
        (Part::Fillings, "40mm", "expected a height and a volume each"),
        (Part::Fillings, "40mm 100g", "expected a height and a volume each"),
        (Part::Fillings, "100ml 40mm", "expected a height and a volume each"),
    ] {
        let mut screen = page_of(LIME);
        act(&mut screen, Action::NewShape);
        for _ in 0..part as usize {
            act(&mut screen, Action::NextField);
        }
        act(&mut screen, Action::ClearField);
        assert_eq!(typed(&mut screen, text), Effect::None);
        let (at, wrong) = focus(&screen);
        assert_eq!(at, part);
        assert!(wrong.as_ref().is_some_and(|wrong| wrong.contains(says)), "{part:?} {text}: {wrong:?}");
        assert!(drawn(&mut screen, 80, 21).contains("Not so: "), "{part:?}");
        act(&mut screen, Action::Type('1'));
        assert_eq!(focus(&screen), (part, None), "typing on mends it");
        // Back is always possible, past what cannot be read too.
        act(&mut screen, Action::Type('?'));
        for n in (0..part as usize).rev() {
            act(&mut screen, Action::PreviousField);
            assert_eq!(focus(&screen), (Part::ALL[n], None));
        }
        act(&mut screen, Action::PreviousField);
        assert_eq!(focus(&screen).0, Part::Name);
    }
}

#[test]
fn a_form_that_makes_no_container_goes_to_what_is_missing_or_wrong() {
    for (texts, part, says) in [
        (["", "80", "", "40", "30", "90", "", "", ""], Part::BodyHeight, "measure this too"),
        (["", "80", "150", "40", "30", "", "", "", "40mm 100ml, 95mm 250ml"], Part::NeckHeight, "leave all five"),
        (["", "", "", "", "", "", "", "", ""], Part::Body, "measure this too"),
        (["", "30", "150", "40", "30", "90", "", "", ""], Part::Neck, "a neck narrower than the body"),
        (["", "8", "16", "4", "3", "9", "", "", ""], Part::Body, "expected millimetres, and this very container"),
        (["", "88", "160", "40", "30", "90", "170", "", ""], Part::Base, "a bottom thinner"),
        (["", "88", "160", "40", "30", "90", "", "300", ""], Part::Fill, "at most the height of the whole container"),
        (["", "", "", "", "", "", "", "", "40mm 100ml, 95mm 250ml"], Part::Fillings, "expected one at full"),
        (["", "80", "150", "40", "30", "0", "", "", ""], Part::Body, "every length above 0"),
        (["", "", "", "", "", "", "", "", "40mm 100ml"], Part::Fillings, "at least two heights"),
        (["", "", "", "", "", "", "", "", "40mm 300ml, 95mm 250ml"], Part::Fillings, "each higher and with more"),
    ] {
        let mut screen = page_of(LIME);
        assert_eq!(fill_in(&mut screen, &texts), Effect::None, "{texts:?}");
        let (at, wrong) = focus(&screen);
        assert_eq!(at, part, "{texts:?}");
        assert!(wrong.as_ref().is_some_and(|wrong| wrong.contains(says)), "{texts:?}: {wrong:?}");
    }
}

#[test]
fn the_body_is_one_of_two_words() {
    let mut screen = page_of(LIME);
    act(&mut screen, Action::NewShape);
    act(&mut screen, Action::NextField);
    let word = |screen: &GaugingScreen| screen.form.as_ref().unwrap().fields[Part::Section as usize].text().to_owned();
    let mut words = vec![word(&screen)];
    for action in [Action::Type('S'), Action::Type('x'), Action::EraseBack, Action::Type('r'), Action::ClearField] {
        act(&mut screen, action);
        words.push(word(&screen));
    }
    assert_eq!(words, ["round", "square", "square", "square", "round", "round"]);
}

#[test]
fn a_shape_is_drawn_once_it_is_one() {
    let mut screen = page_of(SUGAR);
    act(&mut screen, Action::NewShape);
    act(&mut screen, Action::Accept);
    let texts = ["s", "76.5", "165", "42", "31"];
    for text in texts {
        assert_eq!(screen.form.as_ref().unwrap().outline(), None);
        assert!(!drawn(&mut screen, 80, 21).contains("half:"));
        typed(&mut screen, text);
    }
    type_in(&mut screen, "85");
    let measures = Measures { base: 0, fill_height: None, ..flagon().measures.unwrap() };
    let want = Outline::of(&Profile { measures: Some(measures), ..flagon() }, Amount(1_000_000)).unwrap();
    assert_eq!(screen.form.as_ref().unwrap().outline(), Some(want.clone()));
    assert!(drawn(&mut screen, 80, 21).contains(&format!("half: {:.0} mm", want.height_of(0.5))));
    // A length that makes no container takes the drawing away again.
    type_in(&mut screen, "mmm");
    assert!(!drawn(&mut screen, 80, 21).contains("half:"));
}

#[test]
fn a_dropped_form_is_gone_and_a_refused_one_comes_back() {
    let texts = ["", "88", "160", "40", "30", "90", "", "", ""];
    let mut screen = page_of(LIME);
    act(&mut screen, Action::NewShape);
    type_in(&mut screen, "!");
    assert_eq!(act(&mut screen, Action::Cancel), Effect::None);
    assert_eq!(screen.scope(), Scope::GaugingItem);
    screen.refused();
    assert_eq!(screen.scope(), Scope::GaugingItem, "a form that was dropped was not handed over");
    assert!(matches!(fill_in(&mut screen, &texts), Effect::PutShape(..)));
    screen.refused();
    assert_eq!(screen.scope(), Scope::ShapeForm);
    let form = screen.form.as_ref().unwrap();
    let filled: Vec<&str> = form.fields.iter().map(Field::text).collect();
    assert_eq!(filled, ["Lime juice", "round", "88", "160", "40", "30", "90", "", "", ""]);
    // Once the book has it, it does not come back.
    assert!(matches!(act(&mut screen, Action::Accept), Effect::PutShape(..)));
    screen.refresh(view_of(setup(), Vec::new()));
    screen.refused();
    assert_eq!(screen.scope(), Scope::GaugingItem);
}

#[test]
fn an_item_with_a_shape_of_its_own_begins_with_what_is_on_file() {
    for profile in [flagon(), jug()] {
        let mut screen = screen_of(shaped(LIME, Some(ItemShape::Own(profile.id))), Vec::new());
        screen.find(LIME);
        let effect = fill_in(&mut screen, &[""; 9]);
        let kept = Profile { id: ProfileId::default(), ..profile };
        assert_eq!(effect, Effect::PutShape(Box::new(kept), LIME));
    }
}

#[test]
fn what_is_pasted_goes_where_typing_goes() {
    let mut screen = screen_of(setup(), Vec::new());
    screen.paste("812g");
    assert_eq!(screen.scope(), Scope::Gauging, "the list takes no text");
    screen.find(RUM);
    screen.paste("812g");
    assert_eq!(screen.scope(), Scope::GaugingItem, "nor does a page");
    act(&mut screen, Action::WeighEmpty);
    screen.paste("512 g\n");
    assert_eq!(entry(&screen), Some("512 g"));
    type_in(&mut screen, " A");
    let effect = act(&mut screen, Action::Accept);
    assert!(matches!(&effect, Effect::Weigh(w) if w.mark.as_deref() == Some("A")), "{effect:?}");
    screen.refresh(view_of(setup(), Vec::new()));
    act(&mut screen, Action::NewShape);
    act(&mut screen, Action::ClearField);
    screen.paste("Tall one");
    act(&mut screen, Action::Accept);
    screen.paste("square");
    assert_eq!(screen.form.as_ref().unwrap().fields[1].text(), "square", "one of two words, by its first letter");
    act(&mut screen, Action::Accept);
    typed(&mut screen, "much");
    assert!(focus(&screen).1.is_some());
    act(&mut screen, Action::ClearField);
    screen.paste("76.5");
    let form = screen.form.as_ref().unwrap();
    assert_eq!((form.fields[0].text(), form.fields[2].text(), &form.error), ("Tall one", "76.5", &None));
}

#[test]
fn every_figure_of_a_page_is_the_views() {
    let mut screen = screen_of(shaped(RUM, Some(ItemShape::Own(FLAGON))), weighings());
    screen.find(RUM);
    let view = &screen.view;
    let vessel = view.vessel(RUM).unwrap();
    let (empty, density) = (vessel.empty.unwrap(), vessel.density.unwrap());
    let row = *view.rows.iter().find(|row| row.item == RUM).unwrap();
    let ml = |u: f64| format!("{:.0} ml", u / 1_000.0);
    let grams = |mg: f64| format!("{:.0}", mg / 1_000.0);
    let (_, fill, top) = vessel.outline.as_ref().unwrap().marks();
    let last = view.level(RUM, Reading::tenths(3), Some("OM")).unwrap();
    let opened = view.weighings_of(RUM).find(|w| w.state == WeighedAs::Opened).unwrap();
    let weighed = format!("{:.2}", view.seen_by_scale(opened).unwrap());
    let wants = [
        "holds     700 ml  spirit".to_owned(),
        format!("{} ± {} g on average", grams(empty.weight), grams(empty.u)),
        format!("one differs by {} g", grams(empty.spread)),
        format!("{} weighed", empty.number).replace("1 weighed", "one known"),
        format!("{:.4} ± {:.4} g/ml  {}", density.density, density.u, density.from.word()),
        format!("weighs about {} g", grams(vessel.gross_of(700_000.0).unwrap())),
        format!("Flagon  {top:.0} mm high  a full one stands at {fill:.0} mm"),
        format!("± {} by eye", ml(row.by_eye)),
        format!("± {} on the scale", ml(row.on_scale.unwrap())),
        format!("± {} by ruler", ml(row.by_ruler.unwrap())),
        format!(".3 by eye  = {}", with_u(view.setup.venue.show(), vessel.basis, last, &Theme::from_env(true))),
        "can be weighed".to_owned(),
        "> Sun 22 Nov 23:10  empty 503g  marked A  JB".to_owned(),
        format!("opened 812g  the eye read .4  the scale {}  JB", weighed.trim_start_matches('0')),
        "Fri 20 Nov 18:00  sealed 1165g  marked A  JB".to_owned(),
    ];
    assert!(empty.number == 1 && row.can_weigh);
    let picture = drawn(&mut screen, 140, 30);
    for want in wants {
        assert!(picture.contains(&want), "{want}\n{picture}");
    }
}

#[test]
fn a_page_of_which_nothing_is_known_says_how_to_learn_it() {
    let mut screen = page_of(LIME);
    let picture = drawn(&mut screen, 120, 21);
    for says in [
        "not known: e weighs an empty one",
        "not known: f weighs a full one; or strength and sugar in stock.csv",
        "not known: s takes one of every book, m measures",
        "to weigh it: weigh a full and an empty one",
        "No shape yet: s or m",
    ] {
        assert!(picture.contains(says), "{says}\n{picture}");
    }
    for never in ["on the scale", "by ruler", "last read", "weighed "] {
        assert!(!picture.contains(never), "{never}\n{picture}");
    }
}

#[test]
fn what_an_item_lacks_is_said_at_the_foot() {
    let (mut heavy, mut light) = (setup(), setup());
    let lime = |setup: &mut Setup| setup.items.iter().position(|item| item.id == LIME).unwrap();
    let n = lime(&mut heavy);
    heavy.items[n].density = Some(crate::domain::measure::Density(1_030_000));
    light.items[n].empty_weight = Some(Amount(430_000));
    for (setup, item, says) in [
        (setup(), SUGAR, "Fine sugar  to weigh it: weigh an empty one"),
        (setup(), LIME, "Lime juice  to weigh it: weigh a full and an empty one"),
        (setup(), RUM, "Harbour rum  can be weighed"),
        (heavy, LIME, "Lime juice  to weigh it: weigh an empty one"),
        (light, LIME, "Lime juice  to weigh it: weigh a full one, or say its strength or sugar"),
    ] {
        let mut screen = screen_of(setup, Vec::new());
        screen.find(item);
        act(&mut screen, Action::Back);
        let picture = drawn(&mut screen, 80, 12);
        assert!(picture.contains(says), "{says}\n{picture}");
    }
}

#[test]
fn an_eye_is_told_kindly_and_only_as_far_as_it_is_known() {
    let eye = |bias, u_bias, pairs| eye_words(Eye { bias, u_bias, spread: 0.031, pairs });
    assert_eq!(eye(0.052, 0.01, 15), "reads 0.5 tenths high, give or take 0.3 (15 weighed)");
    assert_eq!(eye(-0.052, 0.01, 15), "reads 0.5 tenths low, give or take 0.3 (15 weighed)");
    assert_eq!(eye(0.052, 0.03, 1), "reads perhaps 0.5 tenths high, give or take 0.3 (1 weighed)");
    assert_eq!(eye(0.004, 0.0, 99), "reads true, give or take 0.3 (99 weighed)");
}

#[test]
fn the_list_drawn() {
    let mut screen = screen_of(setup(), weighings());
    insta::assert_snapshot!(drawn(&mut screen, 80, 16), @"
    Eyes  JB: reads true, give or take 0.3 (1 weighed)
    item                      +/- by eye   scale   ruler    empty shape
    Not on the scale yet: 2
    Fine sugar                      29 g
    Lime juice                     29 ml
    Can be weighed: 1
    Harbour rum                    28 ml    8 ml   26 ml    503 g round







    Fine sugar  to weigh it: weigh an empty one
    Figures: half full, one standard uncertainty.
    ");
}

#[test]
fn a_page_drawn() {
    let mut screen = screen_of(setup(), weighings());
    screen.find(RUM);
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    ┌ Harbour rum ─────────────────────────────────────────────────────────────────┐
    │ holds     700 ml  spirit                               │     │               │
    │ empty     503 ± 5 g on average  one differs by 5 g     │     │               │
    │           one known                                    │     │     - full    │
    │ content   0.9470 ± 0.0003 g/ml  from strength          │     │               │
    │ full      weighs about 1166 g                         │       │              │
    │ shape     round  269 mm high                        │           │            │
    │           a full one stands at 227 mm              │             │           │
    │ half full ± 28 ml by eye  ± 8 ml on the scale      │             │           │
    │           ± 26 ml by ruler                         │             │           │
    │           can be weighed                           │             │           │
    │ last read .3 by eye  = 244 ± 27 ml                 │             │           │
    │           Mon 23 Nov 02:10  OM                     │             │           │
    │ weighed   > Sun 22 Nov 23:10  empty 503g  marked A │             │           │
    │           JB                                       │▒▒▒▒▒▒▒▒▒▒▒▒▒│           │
    │           - Sun 22 Nov 02:40  opened 812g          │▒▒▒▒▒▒▒▒▒▒▒▒▒│           │
    │           the eye read .4  the scale .40  JB       │▒▒▒▒▒▒▒▒▒▒▒▒▒│           │
    │           - Fri 20 Nov 18:00  sealed 1165g         │▒▒▒▒▒▒▒▒▒▒▒▒▒│           │
    │           marked A  JB                             │▒▒▒▒▒▒▒▒▒▒▒▒▒│           │
    │                                                    └─────────────┘           │
    └──────────────────────────────────────────────────────────────────────────────┘
    ");
    act(&mut screen, Action::TryReading);
    type_in(&mut screen, "143mm");
    insta::assert_snapshot!(drawn(&mut screen, 60, 17), @"
    ┌ Harbour rum ─────────────────────────────────────────────┐
    │ holds     700 ml  spirit                                 │
    │ empty     503 ± 5 g on average  one differs by 5 g       │
    │           one known                                      │
    │ content   0.9470 ± 0.0003 g/ml  from strength            │
    │ full      weighs about 1166 g                            │
    │ shape     round  269 mm high                             │
    │           a full one stands at 227 mm                    │
    │ half full ± 28 ml by eye  ± 8 ml on the scale            │
    │           ± 26 ml by ruler                               │
    │           can be weighed                                 │
    │                                            ▾ line 10/17  │
    │ Reading: 143mm                                           │
    │ = 506 ± 33 ml, .72 of what it holds; 95 % between 441    │
    │ and 571 ml                                               │
    │                                                          │
    └──────────────────────────────────────────────────────────┘
    ");
}

#[test]
fn the_form_drawn() {
    let mut screen = screen_of(shaped(LIME, Some(ItemShape::Own(FLAGON))), Vec::new());
    screen.find(LIME);
    act(&mut screen, Action::NewShape);
    insta::assert_snapshot!(drawn(&mut screen, 80, 17), @"
    ┌ Lime juice ──────────────────────────────────────────────────────────────────┐
    │┌ The container, from outside or by filling ─────────────────────────────────┐│
    ││ >Name        Flagon                      │   │                 half: 97 mm ││
    ││  Body is     square                      │   │                             ││
    ││  Body across 76.5                        │   │   - full                    ││
    ││  Body height 165                        │     │                            ││
    ││  Shoulder    42                        │       │                           ││
    ││  Neck across 31                        │       │                           ││
    ││  Neck height 85                        │▒▒▒▒▒▒▒│                           ││
    ││  Bottom      7                         │▒▒▒▒▒▒▒│                           ││
    ││  Full stands 222                       │▒▒▒▒▒▒▒│                           ││
    ││  By filling                            └───────┘                           ││
    ││ What this shape is called; another item may have it too                    ││
    ││                                                                            ││
    ││                                                                            ││
    │└────────────────────────────────────────────────────────────────────────────┘│
    └──────────────────────────────────────────────────────────────────────────────┘
    ");
}

#[test]
fn an_empty_book_says_where_items_come_from() {
    let mut setup = bar();
    setup.items.clear();
    let mut screen = screen_of(setup, Vec::new());
    for action in [Action::Open, Action::Down, Action::Last] {
        assert_eq!(act(&mut screen, action), Effect::None);
    }
    assert_eq!(screen.scope(), Scope::Gauging);
    assert!(drawn(&mut screen, 80, 21).contains("no item that is ever read opened"));
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    let measured = ["", "80", "150", "40", "30", "90"];
    let ways: [fn(&mut GaugingScreen); 6] = [
        |_| {},
        |screen| assert_eq!(screen.find(RUM), None),
        |screen| assert_eq!(screen.find(LIME), None),
        |screen| {
            screen.find(RUM);
            act(screen, Action::TryReading);
            type_in(screen, "143mm");
        },
        |screen| {
            screen.find(RUM);
            act(screen, Action::WeighSealed);
            type_in(screen, "1165 g a long mark");
        },
        |screen| {
            screen.find(LIME);
            act(screen, Action::NewShape);
        },
    ];
    for way in ways {
        at_every_size(|frame| {
            let mut screen = screen_of(setup(), weighings());
            way(&mut screen);
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NIGHT) });
        });
    }
    for filled in 0..=measured.len() {
        at_every_size(|frame| {
            let mut screen = screen_of(setup(), weighings());
            screen.find(LIME);
            fill_in(&mut screen, &measured[..filled]);
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NIGHT) });
        });
    }
    at_every_size(|frame| {
        let mut setup = bar();
        setup.items.clear();
        screen_of(setup, Vec::new()).draw(frame, frame.area(), Scene { theme: &theme, now: at(NIGHT) });
    });
}
