use super::*;
use crate::domain::gauge::Level;
use crate::domain::measure::{Density, Strength};
use crate::domain::venue::{Allergen, Moment};
use crate::tui::screen::Scene;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};

fn ml(value: i64) -> Amount {
    Amount(value * 1_000)
}

fn setup() -> Arc<Setup> {
    let mut setup = bar();
    let rum = setup.items.iter_mut().find(|item| item.id == ItemId(1)).unwrap();
    rum.abv = Some(Strength(4_250));
    rum.density = Some(Density(950_000));
    rum.keeps_days = Some(1);
    let lime = setup.items.iter_mut().find(|item| item.id == ItemId(2)).unwrap();
    lime.allergens = Some(vec![Allergen::Sulphites]);
    Arc::new(setup)
}

/// Harbour rum in both places, lime below nothing, soda without a known cost, sugar never counted.
fn rows() -> Vec<StockRow> {
    let empty = |item| StockRow {
        item: ItemId(item),
        on_hand: None,
        value: None,
        par: None,
        on_order: Amount::ZERO,
        counted: None,
        sold: Amount::ZERO,
        places: Vec::new(),
    };
    let counted = Some(at("2026-11-22 02:10"));
    vec![
        empty(3),
        StockRow {
            on_hand: Some(Level { amount: ml(3_780), u: 28_577.4 }),
            value: Some(Money(9_181)),
            par: Some(ml(4_200)),
            on_order: ml(4_200),
            counted,
            sold: ml(540),
            places: vec![(PlaceId(1), ml(980)), (PlaceId(2), ml(2_800))],
            ..empty(1)
        },
        StockRow {
            on_hand: Some(Level { amount: ml(-80), u: 28_900.0 }),
            value: Some(Money(-40)),
            par: Some(ml(4_000)),
            counted,
            places: vec![(PlaceId(1), ml(-80))],
            ..empty(2)
        },
        StockRow {
            on_hand: Some(Level { amount: ml(8_800), u: 0.0 }),
            counted,
            places: vec![(PlaceId(2), ml(8_800))],
            ..empty(4)
        },
    ]
}

fn screen() -> StockScreen {
    StockScreen::new(setup(), rows())
}

fn now() -> Moment {
    at("2026-11-23 01:30")
}

fn drawn(screen: &mut StockScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    shown(width, height, |frame| screen.draw(frame, frame.area(), Scene { theme: &theme, now: now() }))
}

#[test]
fn the_list_with_its_total() {
    let mut screen = screen();
    screen.update(Action::Down);
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    Stock is worth 91.41 EUR  not in it: 1 without a known cost  1 never counted
    item               on hand of par        volume +/-  par coming    value counted
    Fine sugar               ?                                               never
    Harbour rum            5.4 ▆▆▆▆▆▆▆▆▆▁   3780 ml  29  6.0    6.0    91.81 21 Nov
    Lime juice            -0.1 ▁▁▁▁▁▁▁▁▁▁    -80 ml  29  4.0           -0.40 21 Nov
    Soda                  44.0              8800 ml                        ? 21 Nov













    Harbour rum (700 ml)  3780 ± 29 ml  level: 90 % of par  6.0 coming
    counted Sun 22 Nov 02:10
    ");
    insta::assert_snapshot!(drawn(&mut screen, 60, 12), @r"
    Stock is worth 91.41 EUR  not in it: 1 without a known cost
    1 never counted
    item                         on hand    volume  par    value
    Fine sugar                         ?
    Harbour rum                      5.4   3780 ml  6.0    91.81
    Lime juice                      -0.1    -80 ml  4.0    -0.40
    Soda                            44.0   8800 ml             ?



    Harbour rum (700 ml)  3780 ± 29 ml  level: 90 % of par
    6.0 coming  counted Sun 22 Nov 02:10
    ");
}

#[test]
fn grouped_by_place_with_subtotals() {
    let mut screen = screen();
    screen.update(Action::Down);
    screen.update(Action::Grouping);
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    Stock is worth 91.41 EUR  not in it: 1 without a known cost  1 never counted
    item               on hand opened one    volume +/-  par coming    value counted
    Rail: 2 lines, 23.40 EUR
    Harbour rum            1.4 ▆▆▆▆▁▁▁▁▁▁    980 ml                    23.80 21 Nov
    Lime juice            -0.1               -80 ml                    -0.40 21 Nov
    Cellar: 2 lines, 68.01 EUR, not in it: 1 without a known cost
    Harbour rum            4.0              2800 ml                    68.01 21 Nov
    Soda                  44.0              8800 ml                        ? 21 Nov
    Not counted anywhere yet: 1 line, 0.00 EUR, 1 never counted
    Fine sugar               ?                                               never









    Harbour rum (700 ml)  3780 ± 29 ml  1.4 of 5.4 in Rail
    level: the opened one, 40 %  6.0 coming  counted Sun 22 Nov 02:10
    ");
}

#[test]
fn the_facts_of_an_item() {
    let mut screen = screen();
    assert_eq!(screen.find(ItemId(1)), None);
    screen.update(Action::Open);
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    ┌ Harbour rum ─────────────────────────────────────────────────────────────────┐
    │ kind           spirit  700 ml a container  counted by tenths                 │
    │ on hand        5.4 containers  3780 ± 29 ml                                  │
    │ level          ▆▆▆▆▆▆▆▆▆▁  90 % of par                                       │
    │ value          91.81 EUR                                                     │
    │ last counted   Sun 22 Nov 02:10  540 ml sold since                           │
    │ stands in      Rail  1.4 containers  980 ml                                  │
    │                Cellar  4.0 containers  2800 ml                               │
    │ par            6.0 containers (4200 ml)                                      │
    │ on order       6.0 containers                                                │
    │ offers         The van  pack of 6  102.00 EUR  17.00 each  their no. V1      │
    │ bar codes      2000000000015                                                 │
    │ allergens      unknown                                                       │
    │                A reminder: the maker's label and local rules decide.         │
    │ keeps          1 day                                                         │
    │ strength       42.5 % vol                                                    │
    │ density        0.95 g/ml                                                     │
    │ sugar          not on file                                                   │
    │ goes into      Harbour sour                                                  │
    │ container      no shape on file                                              │
    └──────────────────────────────────────────────────────────────────────────────┘
    ");
}

#[test]
fn an_unknown_allergen_is_unknown_and_never_none() {
    let mut screen = screen();
    for (item, want) in [(1, "allergens      unknown"), (2, "allergens      sulphites")] {
        screen.find(ItemId(item));
        screen.update(Action::Open);
        let drawn = drawn(&mut screen, 80, 30);
        assert!(drawn.contains(want) && drawn.contains("local rules decide"), "{drawn}");
        screen.update(Action::Back);
    }
}

#[test]
fn grouping_sums_add_up_to_the_total() {
    let mut screen = screen();
    let total = screen.total();
    assert_eq!(total, Worth { value: Money(9_141), without_cost: 1, never_counted: 1 });
    for _ in 0..2 {
        screen.update(Action::Grouping);
        let sums: Vec<Worth> = screen
            .lines
            .iter()
            .filter_map(|line| match line {
                StockLine::Heading { worth, .. } => Some(*worth),
                StockLine::Item { .. } => None,
            })
            .collect();
        assert_eq!(sums.iter().map(|worth| worth.value).sum::<Money>(), total.value);
        assert_eq!(sums.iter().map(|worth| worth.without_cost).sum::<usize>(), total.without_cost);
        assert_eq!(sums.iter().map(|worth| worth.never_counted).sum::<usize>(), total.never_counted);
    }
    screen.update(Action::Grouping);
    assert_eq!(screen.groups, Groups::Name);
}

#[test]
fn the_cursor_stays_on_the_same_item() {
    let mut screen = screen();
    screen.find(ItemId(2));
    let mut fresh = rows();
    fresh.reverse();
    screen.refresh(setup(), fresh);
    assert_eq!(screen.here().map(|row| row.item), Some(ItemId(2)));
    for _ in 0..3 {
        screen.update(Action::Grouping);
        assert_eq!(screen.here().map(|row| row.item), Some(ItemId(2)));
    }
    screen.update(Action::Open);
    screen.refresh(setup(), rows());
    assert!(screen.open.is_some(), "the facts stay open");
    screen.refresh(setup(), Vec::new());
    assert!(screen.open.is_none());
    assert!(screen.find(ItemId(2)).is_some_and(|said| said.text.contains("Lime juice")));
}

#[test]
fn enter_opens_and_escape_goes_back() {
    let mut screen = screen();
    assert_eq!(screen.update(Action::Open), Effect::None);
    assert!(screen.open.is_some());
    assert_eq!(screen.scope(), Scope::StockFacts);
    screen.update(Action::Down);
    screen.update(Action::Back);
    assert!(screen.open.is_none());
    assert_eq!(screen.here().map(|row| row.item), Some(ItemId(3)), "scrolling the facts left the cursor where it was");
}

#[test]
fn no_size_panics() {
    for keys in [&[][..], &[Action::Grouping], &[Action::Grouping, Action::Grouping, Action::Last], &[Action::Open]] {
        at_every_size(|frame| {
            let mut screen = screen();
            for key in keys {
                screen.update(*key);
            }
            screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now: now() });
        });
    }
    at_every_size(|frame| {
        let theme = Theme::from_env(true);
        StockScreen::new(setup(), Vec::new()).draw(frame, frame.area(), Scene { theme: &theme, now: now() });
    });
}
