//! Actions in, effects out; then what is drawn.

use super::*;
use crate::domain::venue::{PlaceId, Seq};
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};

const NIGHT: &str = "2026-11-24 01:30";

fn loss(seq: i64, when: &str, item: i64, amount: i64, reason: Reason) -> Loss {
    Loss {
        seq: Seq(seq),
        at: at(when),
        item: ItemId(item),
        amount: Amount(amount * 1_000),
        reason,
        place: (item == 1).then_some(PlaceId(1)),
        by: Some("JB".to_owned()),
        note: (item == 1).then(|| "fell off the rail".to_owned()),
    }
}

fn rows() -> Vec<Loss> {
    vec![
        loss(9, "2026-11-23 23:10", 1, 700, Reason::Breakage),
        loss(8, "2026-11-22 22:00", 3, 50, Reason::Spill),
        loss(7, "2026-11-21 01:30", 2, 40, Reason::Spill),
        loss(6, "2026-11-16 22:00", 2, 500, Reason::Spoiled),
    ]
}

fn screen() -> LossesScreen {
    LossesScreen::new(Arc::new(bar()), rows(), None)
}

fn act(screen: &mut LossesScreen, action: Action) -> Effect {
    screen.update(action, at(NIGHT))
}

fn typed(screen: &mut LossesScreen, text: &str) -> Effect {
    for c in text.chars() {
        assert_eq!(act(screen, Action::Type(c)), Effect::None);
    }
    act(screen, Action::Accept)
}

fn wrong(screen: &LossesScreen) -> String {
    screen.form.as_ref().and_then(|form| form.error.clone()).map_or(String::new(), |(_, wrong)| wrong)
}

fn drawn(screen: &mut LossesScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let scene = Scene { theme: &theme, now: at(NIGHT) };
    shown(width, height, |frame| screen.draw(frame, frame.area(), scene))
}

#[test]
fn a_loss_is_written_down() {
    let mut screen = screen();
    assert_eq!(act(&mut screen, Action::NewLoss), Effect::None);
    assert_eq!(screen.scope(), Scope::LossForm);
    typed(&mut screen, "lime");
    typed(&mut screen, "2 cl");
    typed(&mut screen, "t");
    typed(&mut screen, "");
    typed(&mut screen, "");
    let want = Loss {
        seq: Seq(0),
        at: at(NIGHT),
        item: ItemId(2),
        amount: Amount(20_000),
        reason: Reason::Tasting,
        place: Some(PlaceId(1)),
        by: None,
        note: Some("sour".to_owned()),
    };
    assert_eq!(typed(&mut screen, "sour"), Effect::RecordLoss(want));
    assert_eq!(screen.scope(), Scope::Losses);
    // The next one begins with nothing said; a refused one is there again as it was.
    screen.refused();
    assert_eq!(screen.form.as_ref().map(|form| form.note.text()), Some("sour"));
    // Filled in, it is not thrown away by one key, nor by a second one after something else.
    assert!(matches!(act(&mut screen, Action::Cancel), Effect::Say(_)));
    act(&mut screen, Action::PreviousField);
    assert!(matches!(act(&mut screen, Action::Cancel), Effect::Say(_)));
    assert_eq!(screen.scope(), Scope::LossForm);
    act(&mut screen, Action::Cancel);
    assert_eq!(screen.scope(), Scope::Losses);
    act(&mut screen, Action::NewLoss);
    let form = screen.form.as_ref().unwrap();
    assert_eq!((form.reason, form.by.text(), form.item), (None, "", None));
}

#[test]
fn errors_stand_at_their_field() {
    let mut screen = screen();
    act(&mut screen, Action::NewLoss);
    typed(&mut screen, "");
    assert!(wrong(&screen).contains("a few letters"));
    typed(&mut screen, "xyz");
    assert!(wrong(&screen).contains("no item is called that"));
    act(&mut screen, Action::ClearField);
    assert_eq!(wrong(&screen), "", "typing on mends it");
    typed(&mut screen, "rum");
    typed(&mut screen, "50 g");
    assert!(wrong(&screen).contains("is a mass, but a volume"), "{}", wrong(&screen));
    assert!(drawn(&mut screen, 80, 21).contains("Not so: “50 g” is a mass"));
    act(&mut screen, Action::ClearField);
    typed(&mut screen, "0");
    assert!(wrong(&screen).contains("above zero"));
    act(&mut screen, Action::ClearField);
    typed(&mut screen, ".3");
    assert!(drawn(&mut screen, 80, 21).contains("= 210 ml  0.3 containers"));
    act(&mut screen, Action::NextField);
    assert!(!wrong(&screen).is_empty(), "a reason must be given");
    act(&mut screen, Action::Type('b'));
    for _ in 0..3 {
        act(&mut screen, Action::NextField);
    }
    // Back to the item: another one, by which the quantity is measured otherwise. All is looked at before it is kept.
    for _ in 0..4 {
        act(&mut screen, Action::PreviousField);
    }
    act(&mut screen, Action::ClearField);
    typed(&mut screen, "1 oz");
    for _ in 0..2 {
        act(&mut screen, Action::PreviousField);
    }
    act(&mut screen, Action::ClearField);
    typed(&mut screen, "sugar");
    typed(&mut screen, "");
    assert!(wrong(&screen).contains("US fluid ounce"), "{}", wrong(&screen));
}

#[test]
fn the_list_of_items_is_walked_and_scanned() {
    let mut screen = screen();
    act(&mut screen, Action::NewLoss);
    act(&mut screen, Action::Down);
    act(&mut screen, Action::Accept);
    assert_eq!(screen.form.as_ref().unwrap().item, Some(ItemId(1)), "the second by name, in view and chosen");
    assert_eq!(screen.form.as_ref().unwrap().place, None, "it stands in two places");
    act(&mut screen, Action::Up);
    act(&mut screen, Action::ClearField);
    assert!(drawn(&mut screen, 80, 21).contains("Enter leaves Harbour rum; type to choose another"));
    act(&mut screen, Action::Accept);
    assert_eq!(screen.form.as_ref().unwrap().item, Some(ItemId(1)), "and so it does");
    act(&mut screen, Action::PreviousField);
    screen.paste("2000000000015\n");
    act(&mut screen, Action::Accept);
    assert_eq!(screen.form.as_ref().unwrap().item, Some(ItemId(1)));
    typed(&mut screen, "1");
    act(&mut screen, Action::Type('b'));
    act(&mut screen, Action::NextField);
    act(&mut screen, Action::Type('c'));
    assert_eq!(screen.form.as_ref().unwrap().place, Some(PlaceId(2)), "the cellar");
    act(&mut screen, Action::CursorLeft);
    act(&mut screen, Action::CursorLeft);
    assert_eq!(screen.form.as_ref().unwrap().place, None);
}

#[test]
fn the_one_under_the_cursor_is_taken_back() {
    let mut screen = screen();
    act(&mut screen, Action::Down);
    match act(&mut screen, Action::Undo) {
        Effect::Ask { question, then, .. } => {
            assert!(question.starts_with("Take back 50 g of Fine sugar, spill"), "{question}");
            assert_eq!(*then, Effect::TakeBackLoss(Seq(8)));
        }
        other => panic!("{other:?}"),
    }
    screen.refresh(Arc::new(bar()), Vec::new());
    assert!(matches!(act(&mut screen, Action::Undo), Effect::Say(_)));
}

#[test]
fn a_refresh_keeps_the_line_and_the_form() {
    let mut screen = screen();
    act(&mut screen, Action::Down);
    act(&mut screen, Action::NewLoss);
    act(&mut screen, Action::Type('r'));
    let mut fresh = rows();
    fresh.insert(0, loss(10, "2026-11-24 01:00", 2, 20, Reason::Comp));
    screen.refresh(Arc::new(bar()), fresh);
    assert_eq!(screen.rows[screen.window.selected()].seq, Seq(8));
    assert_eq!(screen.form.as_ref().map(|form| form.finder.query()), Some("r"));
    act(&mut screen, Action::Cancel);
    assert_eq!(screen.find(ItemId(1)), None);
    assert_eq!(screen.window.selected(), 1);
    assert!(screen.find(ItemId(4)).is_some());
}

#[test]
fn sums_of_seven_business_days() {
    // Half past one on the 24th is the evening of the 23rd; the seventh day back is the 17th.
    assert_eq!(screen().sums(at(NIGHT)), ["spill 40 ml + 50 g", "breakage 700 ml"]);
    assert_eq!(screen().sums(at("2026-12-24 20:00")), Vec::<String>::new());
}

#[test]
fn the_list_drawn() {
    let mut screen = screen();
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    Last 7 business days:  spill 40 ml + 50 g  breakage 700 ml


    when             item                  amount reason         place          by
    Mon 23 Nov 23:10 Harbour rum           700 ml breakage       Rail           JB
    Sun 22 Nov 22:00 Fine sugar              50 g spill                         JB
    Sat 21 Nov 01:30 Lime juice             40 ml spill                         JB
    Mon 16 Nov 22:00 Lime juice            500 ml spoiled                       JB












    Harbour rum  Mon 23 Nov 23:10  fell off the rail  Rail  by JB
    ");
    insta::assert_snapshot!(drawn(&mut screen, 60, 9), @r"
    Last 7 business days:  spill 40 ml + 50 g  breakage 700 ml


    when             item             amount reason         by
    Mon 23 Nov 23:10 Harbour rum      700 ml breakage       JB
    Sun 22 Nov 22:00 Fine sugar         50 g spill          JB
    Sat 21 Nov 01:30 Lime juice        40 ml spill          JB
    Mon 16 Nov 22:00 Lime juice       500 ml spoiled        JB
    Harbour rum  Mon 23 Nov 23:10  fell off the rail  Rail
    ");
}

#[test]
fn the_form_drawn() {
    let mut screen = screen();
    act(&mut screen, Action::NewLoss);
    act(&mut screen, Action::Type('r'));
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    Last 7 business days:  spill 40 ml + 50 g  breakage 700 ml

     ┌ Write down a loss ─────────────────────────────────────────────────────────┐
    w│ >Item     r                                                            1/2 │
    M│           Harbour rum                                                      │
    S│           Fine sugar                                                       │
    S│                                                                            │
    M│                                                                            │
     │                                                                            │
     │                                                                            │
     │           Some letters of the name: words in any order, their letters in   │
     │           order; Up and Down choose; or scan it                            │
     │  How much                                                                  │
     │  Reason   not said                                                         │
     │  Place    not said                                                         │
     │  By                                                                        │
     │  Note                                                                      │
     └────────────────────────────────────────────────────────────────────────────┘


    Harbour rum  Mon 23 Nov 23:10  fell off the rail  Rail  by JB
    ");
    typed(&mut screen, "um");
    for c in ".3".chars() {
        act(&mut screen, Action::Type(c));
    }
    insta::assert_snapshot!(drawn(&mut screen, 60, 17), @"
    ┌ Write down a loss ───────────────────────────────────────┐
    │  Item     Harbour rum                                    │
    │ >How much .3                   = 210 ml  0.3 containers  │
    │           60 ml, 2 cl or 2 oz; 1 btl or 1 is a whole     │
    │           container (700 ml), .3 is three tenths of one  │
    │  Reason   not said                                       │
    │  Place    not said                                       │
    │  By                                                      │
    │  Note                                                    │
    │                                                          │
    │                                                          │
    │                                                          │
    │                                                          │
    │                                                          │
    │                                                          │
    └──────────────────────────────────────────────────────────┘
    Harbour rum  Mon 23 Nov 23:10  fell off the rail  Rail
    ");
    act(&mut screen, Action::Accept);
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    Last 7 business days:  spill 40 ml + 50 g  breakage 700 ml

     ┌ Write down a loss ─────────────────────────────────────────────────────────┐
    w│  Item     Harbour rum                                                      │
    M│  How much .3                   = 210 ml  0.3 containers                    │
    S│ >Reason   spill  breakage  comp  staff  tasting  spoiled  returned drink   │
    S│           The first letters of it, such as b, st or spi; or Left and Right │
    M│           choose                                                           │
     │  Place    not said                                                         │
     │  By                                                                        │
     │  Note                                                                      │
     │                                                                            │
     │                                                                            │
     │                                                                            │
     │                                                                            │
     │                                                                            │
     │                                                                            │
     └────────────────────────────────────────────────────────────────────────────┘


    Harbour rum  Mon 23 Nov 23:10  fell off the rail  Rail  by JB
    ");
}

#[test]
fn no_size_panics() {
    let theme = Theme::from_env(true);
    for fields in 0..7 {
        at_every_size(|frame| {
            let mut screen = screen();
            for n in 0..fields {
                match n {
                    0 => {
                        act(&mut screen, Action::NewLoss);
                    }
                    1 => {
                        typed(&mut screen, "rum");
                    }
                    2 => {
                        typed(&mut screen, ".3");
                    }
                    _ => {
                        act(&mut screen, Action::Accept);
                    }
                }
            }
            screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NIGHT) });
        });
    }
    at_every_size(|frame| {
        let mut screen = LossesScreen::new(Arc::new(bar()), Vec::new(), None);
        screen.draw(frame, frame.area(), Scene { theme: &theme, now: at(NIGHT) });
    });
}
