use super::ledger::{Sign, addition};
use super::*;
use crate::domain::drink::{Costs, Paid};
use crate::domain::gauge::{Entry, Gauges};
use crate::domain::ledger::{Batch, Count, CountLine, Delivery, Explanation, Loss, Movements, Sale, Transfer};
use crate::domain::measure::{Amount, Money, Price};
use crate::domain::rows::{Look, PastPeriod};
use crate::domain::usage::{GapRow, Period, Review, Verdict, variance};
use crate::domain::venue::*;
use crate::tui::screen::fixture::{at, bar};
use crate::tui::theme::Theme;
use crate::tui::widget::harness::{at_every_size, shown};
use std::collections::{HashMap, HashSet};

const RUM: ItemId = ItemId(1);
const LIME: ItemId = ItemId(2);
const SUGAR: ItemId = ItemId(3);
const SODA: ItemId = ItemId(4);
const RAIL: PlaceId = PlaceId(1);
const CELLAR: PlaceId = PlaceId(2);

fn ml(value: i64) -> Amount {
    Amount(value * 1_000)
}

/// The bar of the fixture, in which lime juice is made of sugar, for want of anything better.
fn setup() -> Arc<Setup> {
    let mut setup = bar();
    let takes = vec![Ingredient::new(SUGAR, "100 g", Amount(100_000))];
    let recipe = Recipe { written: Some("1000 ml".to_owned()), yields: ml(1_000), water: None, takes };
    setup.recipes.insert(LIME, Versions::new(vec![(None, recipe)]));
    Arc::new(setup)
}

fn line(count: i64, place: PlaceId, item: ItemId, when: &str, typed: &str) -> CountLine {
    CountLine {
        count: CountId(count),
        place,
        item,
        at: at(when),
        entry: Entry::parse(typed).unwrap(),
        method: if typed == "44" { CountMethod::Expected } else { CountMethod::Tenths },
        by: Some("AB".to_owned()),
    }
}

fn opening() -> Vec<CountLine> {
    vec![
        line(1, RAIL, RUM, "2026-11-16 02:00", "1.4"),
        line(1, RAIL, LIME, "2026-11-16 02:01", "2.5"),
        line(1, CELLAR, RUM, "2026-11-16 02:10", "6"),
        line(1, CELLAR, SUGAR, "2026-11-16 02:11", "3.5"),
        line(1, CELLAR, SODA, "2026-11-16 02:12", "30"),
    ]
}

fn closing() -> Vec<CountLine> {
    vec![
        line(2, RAIL, RUM, "2026-11-23 02:00", "1.1"),
        line(2, RAIL, LIME, "2026-11-23 02:01", "2"),
        line(2, CELLAR, RUM, "2026-11-23 02:10", "4"),
        line(2, CELLAR, SUGAR, "2026-11-23 02:11", "3.3"),
        line(2, CELLAR, SODA, "2026-11-23 02:12", "44"),
    ]
}

fn movements() -> Movements {
    let delivery = |line, item, containers, cents: i64, when: &str| Delivery {
        seq: Seq(line),
        document: "D-17".to_owned(),
        line,
        at: at(when),
        supplier: SupplierId(1),
        item,
        containers,
        unit_price: Price(cents * 10_000),
        place: Some(CELLAR),
        deposit: None,
    };
    Movements {
        deliveries: vec![
            delivery(1, RUM, 6, 1_700, "2026-11-18 11:00"),
            delivery(2, SODA, 14, 60, "2026-11-18 11:00"),
            // After the rail was counted and before the cellar was: in the sum of the cellar only.
            delivery(3, RUM, 1, 1_700, "2026-11-23 02:05"),
        ],
        losses: vec![Loss {
            seq: Seq(4),
            at: at("2026-11-20 23:00"),
            item: RUM,
            amount: ml(60),
            reason: Reason::Spill,
            place: Some(RAIL),
            by: Some("CD".to_owned()),
            note: Some("jigger knocked over".to_owned()),
        }],
        transfers: vec![Transfer {
            seq: Seq(5),
            at: at("2026-11-20 18:00"),
            item: RUM,
            containers: Containers(2_000),
            from: CELLAR,
            to: RAIL,
            by: None,
        }],
        batches: vec![Batch {
            seq: Seq(6),
            at: at("2026-11-19 16:00"),
            item: LIME,
            made: ml(1_500),
            by: None,
            note: None,
        }],
    }
}

fn sales() -> Vec<Sale> {
    let sale = |when: &str, till, many: i64| Sale {
        at: at(when),
        till: TillId(till),
        quantity: many * 1_000,
        net: Money(1_000 * many),
        kind: SaleKind::Sale,
    };
    vec![sale("2026-11-17 21:00", 1, 40), sale("2026-11-20 21:00", 1, 60), sale("2026-11-21 22:00", 5, 3)]
}

fn count(id: i64, name: &str, when: &str) -> Count {
    Count { id: CountId(id), name: name.to_owned(), opened: at(when), closed: Some(at(when)), blind: false }
}

/// The counts of three weeks, the newest first, a nightly one of the rail among them.
fn counts() -> Vec<Count> {
    vec![
        count(4, "2026-11-29 full", "2026-11-30 02:00"),
        count(3, "2026-11-24 rail", "2026-11-25 02:00"),
        count(2, "2026-11-22 full", "2026-11-23 02:00"),
        count(1, "2026-11-15 full", "2026-11-16 02:00"),
        count(5, "2026-11-08 full", "2026-11-09 02:00"),
    ]
}

fn gauges() -> Gauges {
    Gauges::new(&setup(), &[])
}

fn looks(lines: &[CountLine]) -> Vec<Look> {
    let level = |l: &CountLine| gauges().level(setup().item(l.item).unwrap(), &l.entry, l.by.as_deref()).level();
    lines.iter().map(|l| Look { line: l.clone(), level: level(l) }).collect()
}

struct Facts {
    opening: Vec<CountLine>,
    closing: Vec<CountLine>,
    sales: Vec<Sale>,
    /// The newest line of each spot, of whatever count.
    latest: Vec<CountLine>,
}

impl Facts {
    fn whole() -> Facts {
        Facts { opening: opening(), closing: closing(), sales: sales(), latest: closing() }
    }

    fn without(keep: impl Fn(&CountLine) -> bool) -> Facts {
        let mut facts = Facts::whole();
        facts.opening.retain(&keep);
        facts.closing.retain(&keep);
        facts
    }

    fn view(&self) -> PeriodView {
        let setup = setup();
        let movements = movements();
        let period = Period {
            opening: &self.opening,
            closing: &self.closing,
            latest: &self.latest,
            movements: &movements,
            sales: &self.sales,
        };
        let paid = HashMap::from([(RUM, Price(17_000_000))]);
        let costs = Costs::new(&setup, Paid { last: paid, ..Paid::default() }, parse_day("2026-11-22").unwrap());
        let counts = counts();
        let mut periods = [variance(&setup, &gauges(), &period, &costs)];
        let review = Review::new(&setup, &mut periods, 0, &HashSet::new());
        let [variance] = periods;
        PeriodView {
            opening: counts[3].clone(),
            closing: counts[2].clone(),
            variance,
            periods: vec![counts[2].clone()],
            review,
            suspects: HashMap::new(),
            explained: HashMap::new(),
            evenings: Vec::new(),
            recounts: Vec::new(),
            rung: true,
            is_first: false,
            next: Some(counts[0].clone()),
        }
    }

    fn evidence(&self, item: ItemId) -> Evidence {
        let takes = |made: &Batch| made.item == LIME && item == SUGAR;
        let (opening, closing) = (looks(&self.opening), looks(&self.closing));
        Evidence::gather(item, &self.view().variance, &opening, &closing, &movements(), None, takes).unwrap()
    }
}

fn screen() -> VarianceScreen {
    VarianceScreen::new(setup(), Facts::whole().view(), None)
}

/// The screen with every line of the list.
fn all_lines() -> VarianceScreen {
    let mut screen = screen();
    screen.update(Action::ToggleWithin);
    screen
}

/// Opens a line at the page of its figures.
fn open_figures(screen: &mut VarianceScreen, evidence: Evidence) {
    screen.explain(evidence);
    screen.update(Action::Grouping);
    assert_eq!(screen.page, Page::Figures);
}

fn drawn(screen: &mut VarianceScreen, width: u16, height: u16) -> String {
    let theme = Theme::from_env(true);
    let now = at("2026-11-23 03:00");
    shown(width, height, |frame| screen.draw(frame, frame.area(), Scene { theme: &theme, now }))
}

fn selected(screen: &VarianceScreen) -> Option<ItemId> {
    match screen.subject() {
        Some(Subject::Item(item)) => Some(item),
        _ => None,
    }
}

fn explain(item: ItemId) -> Effect {
    Effect::Explain(item)
}

#[test]
fn the_list() {
    insta::assert_snapshot!(drawn(&mut screen(), 80, 21), @"
    2026-11-15 full, Mon 16 Nov 02:00  to 2026-11-22 full, Mon 23 Nov 02:00  7 days
    net sales 1030.00 EUR  look into 1 of 4 lines, 10.93 EUR at stake
    gaps cost +10.99 EUR
    Not in “sold”: 1 sales line (3 sold, 30.00 EUR), till names not mapped yet: “?”
       item                 gap ml 0 = as sold      cost likeliest cause
    !  Harbour rum            +450       ┊     ▸  +10.93












    Harbour rum (700 ml)  gap +450 ± 46 ml  over, look into it  +10.93 EUR
    +0.6 containers  +7.0 % of use
    ");
}

#[test]
fn wide_and_narrow() {
    insta::assert_snapshot!(drawn(&mut screen(), 120, 14), @"
    2026-11-15 full, Mon 16 Nov 02:00  to 2026-11-22 full, Mon 23 Nov 02:00  7 days
    net sales 1030.00 EUR  look into 1 of 4 lines, 10.93 EUR at stake  gaps cost +10.99 EUR
    Not in “sold”: 1 sales line (3 sold, 30.00 EUR), till names not mapped yet: “?”
       item                    used ml sold ml gap ml 0 = as sold   verdict      cost % of use likeliest cause
    !  Harbour rum                6450    6000   +450       ┊     ▸ look into  +10.93     +7.0






    Harbour rum (700 ml)  gap +450 ± 46 ml  over, look into it  +10.93 EUR  +0.6 containers  +7.0 % of use
    ");
    insta::assert_snapshot!(drawn(&mut screen(), 60, 17), @"
    2026-11-15 full, Mon 16 Nov 02:00
    to 2026-11-22 full, Mon 23 Nov 02:00  7 days
    net sales 1030.00 EUR
    look into 1 of 4 lines, 10.93 EUR at stake
    gaps cost +10.99 EUR
    item                                          gap ml    cost
    Harbour rum                                     +450  +10.93







    Harbour rum (700 ml)  gap +450 ± 46 ml  over, look into it
    +10.93 EUR  +0.6 containers  +7.0 % of use
    ");
}

#[test]
fn grouped_by_place() {
    let mut screen = screen();
    screen.update(Action::Grouping);
    insta::assert_snapshot!(drawn(&mut screen, 80, 12), @"
    2026-11-15 full, Mon 16 Nov 02:00  to 2026-11-22 full, Mon 23 Nov 02:00  7 days
    net sales 1030.00 EUR  look into 1 of 4 lines, 10.93 EUR at stake
    gaps cost +10.99 EUR
    Not in “sold”: 1 sales line (3 sold, 30.00 EUR), till names not mapped yet: “?”
    group             items used ml sold ml  gap ml 0 = as sold   exactness     cost
    Rail                  2    8450    8000    +450       ┊   ╺●╸ beyond it   +10.93
    Cellar                2       0       0       0       ○       within       +0.06


    Rail: 2 items  gap +450 ± 58 ml  over, beyond exactness  +10.93 EUR
    over the periods 0.0 of 4.0
    used, sold and gap sum the liquids only, cost sums everything
    ");
}

#[test]
fn the_evidence_of_the_rum() {
    let mut screen = screen();
    open_figures(&mut screen, Facts::whole().evidence(RUM));
    insta::assert_snapshot!(drawn(&mut screen, 80, 40), @"
    Harbour rum (700 ml)                                                         1/1
    gap +450 ± 46 ml        ┊     ▸  over, look into it  +10.93 EUR
     causes   figures   exactness   chart  v
                                                                   entries        ml
      Opening: 2026-11-15 full                                                  5180
        Rail  1.4  by tenths  ± 22 ml  Mon 16 Nov 02:00  AB            980
        Cellar  6  by tenths  ± 19 ml  Mon 16 Nov 02:10  AB           4200
    + Delivered                                                                 4900
        D-17 line 1  The van  6 x 17.00 EUR  Wed 18 Nov 11:00         4200
        D-17 line 3  The van  1 x 17.00 EUR  Mon 23 Nov 02:05          700
    - Losses written down                                                         60
        spill  Fri 20 Nov 23:00  Rail  CD  “jigger knocked over”        60
    - Closing: 2026-11-22 full                                                  3570
        Rail  1.1  by tenths  ± 22 ml  Mon 23 Nov 02:00  AB            770
        Cellar  4  by tenths  ± 15 ml  Mon 23 Nov 02:10  AB           2800
    = Used                                                                      6450
    - Sold from Mon 16 Nov 02:00 to Mon 23 Nov 02:00                            6000
        “SOUR”  Harbour sour  100 x 60 ml                             6000
    = Gap                                                                       +450

    The gap costs +10.93 EUR, +7.0 % of what was used.
    Each figure is rounded by itself, so the last digit of a sum may differ by one.
    ");
}

#[test]
fn the_evidence_at_eighty_by_twenty_four_scrolls() {
    let mut screen = screen();
    open_figures(&mut screen, Facts::whole().evidence(RUM));
    let top = drawn(&mut screen, 80, 21);
    assert!(top.contains("Opening: 2026-11-15 full") && top.contains("line 17/"), "{top}");
    screen.update(Action::Last);
    let end = drawn(&mut screen, 80, 21);
    assert!(end.contains("= Gap") && end.contains("may differ by one"), "{end}");
    assert!(end.contains("gap +"), "the result stays at the top\n{end}");
}

/// What the eye can check on the screen: entries add up to their sum, and the sums to the gap.
#[test]
fn every_addition_comes_out() {
    let rail_only = Facts::without(|line| line.place == RAIL || line.item != RUM);
    let syrup_uncounted = Facts::without(|line| line.item != LIME);
    for (facts, items) in [
        (Facts::whole(), vec![RUM, LIME, SUGAR, SODA]),
        (rail_only, vec![RUM, LIME, SUGAR, SODA]),
        (syrup_uncounted, vec![RUM, SUGAR, SODA]),
    ] {
        for item in items {
            let setup = setup();
            let sections = addition(&setup, &facts.view(), &facts.evidence(item), setup.item(item).unwrap(), "±");
            let mut running = Amount::ZERO;
            for section in &sections {
                let added: Amount = section.parts.iter().filter_map(|part| part.amount).sum();
                assert!(section.parts.is_empty() || added == section.sum, "{section:?}");
                match section.sign {
                    Sign::First | Sign::Plus => running += section.sum,
                    Sign::Minus => running -= section.sum,
                    Sign::Makes => assert_eq!(running, section.sum, "{section:?}"),
                }
            }
        }
    }
}

#[test]
fn without_its_stores_what_was_carried_in_stands_for_them() {
    let facts = Facts::without(|line| line.place == RAIL || line.item != RUM);
    let mut screen = VarianceScreen::new(setup(), facts.view(), None);
    let list = drawn(&mut screen, 80, 21);
    assert!(list.contains("* Harbour rum"), "{list}");
    open_figures(&mut screen, facts.evidence(RUM));
    let detail = drawn(&mut screen, 80, 40);
    for said in ["+ Carried in", "Cellar to Rail  2.0 containers", "into Cellar, left out", "Without Cellar"] {
        assert!(detail.contains(said), "{said} in\n{detail}");
    }
}

#[test]
fn house_made_that_is_not_counted_is_named() {
    let mut facts = Facts::without(|line| line.item != LIME);
    facts.latest.retain(|line| line.item != LIME);
    let mut screen = VarianceScreen::new(setup(), facts.view(), None);
    let list = drawn(&mut screen, 80, 21);
    assert!(list.contains("Made here and not counted") && list.contains("Lime juice was not counted"), "{list}");
    open_figures(&mut screen, facts.evidence(SUGAR));
    let detail = drawn(&mut screen, 80, 40);
    assert!(detail.contains("through Lime juice") && detail.contains("not counted itself"), "{detail}");
}

#[test]
fn what_cannot_be_told_is_listed_with_the_reason() {
    let mut facts = Facts::whole();
    facts.closing.retain(|line| line.item != SUGAR && (line.item, line.place) != (RUM, RAIL));
    let mut screen = VarianceScreen::new(setup(), facts.view(), None);
    let list = drawn(&mut screen, 80, 21);
    for said in [
        "The two counts tell nothing about these:",
        "Harbour rum: also poured in Rail, not counted both times",
        "Fine sugar: not counted the second time",
    ] {
        assert!(list.contains(said), "{said} in\n{list}");
    }
    assert_eq!(screen.find(SUGAR), None);
    assert!(matches!(screen.update(Action::Open), Effect::Say(said) if said.text.contains("the second time")));
}

#[test]
fn enter_asks_why_and_the_next_line_is_asked_for_from_there() {
    let mut screen = all_lines();
    let order: Vec<ItemId> = screen.view().variance.rows.iter().map(|row| row.item).collect();
    assert_eq!(screen.update(Action::Open), explain(order[0]));
    screen.explain(Facts::whole().evidence(order[0]));
    assert_eq!(screen.scope(), Scope::VarianceDetail);
    assert!(matches!(screen.update(Action::Previous), Effect::Say(_)));
    assert_eq!(screen.update(Action::Next), explain(order[1]));
    assert_eq!(screen.explained(), Some(order[0]), "the open evidence stays until the next is there");
    screen.explain(Facts::whole().evidence(order[1]));
    assert_eq!(screen.update(Action::Previous), explain(order[0]));
    assert_eq!(screen.update(Action::Back), Effect::None);
    assert_eq!((screen.scope(), selected(&screen)), (Scope::Variance, Some(order[1])));
}

#[test]
fn lines_within_exactness_are_hidden_and_come_back() {
    let mut screen = screen();
    let rows = |screen: &VarianceScreen| screen.lines.iter().filter(|l| matches!(l, Listed::Row(_))).count();
    let review = &screen.view().review;
    let matters = |row: &&GapRow| review.verdict(row.item) != Verdict::Within;
    let (all, real) = (screen.view().variance.rows.len(), screen.view().variance.rows.iter().filter(matters).count());
    assert!(real > 0 && real < all && rows(&screen) == real);
    assert!(matches!(screen.update(Action::ToggleWithin), Effect::Say(said) if said.text == "all lines are shown"));
    assert_eq!(rows(&screen), all);
    screen.update(Action::ToggleWithin);
    assert_eq!(rows(&screen), real);
    assert_eq!(screen.find(SODA), None);
    assert_eq!((selected(&screen), rows(&screen)), (Some(SODA), all), "finding shows what was hidden");
}

#[test]
fn groupings_add_up_and_open() {
    let mut screen = screen();
    let total: Money = screen.view().variance.rows.iter().filter_map(|row| row.cost).sum();
    for want in [Grouping::Place, Grouping::Kind, Grouping::Counter] {
        screen.update(Action::Grouping);
        assert_eq!(screen.shows, Shown::By(want));
        assert_eq!(screen.groups.iter().map(|group| group.cost).sum::<Money>(), total);
        assert_eq!(screen.groups.iter().map(|group| group.items).sum::<usize>(), 4);
        let group = screen.groups[0].clone();
        assert_eq!(screen.update(Action::Open), Effect::None);
        let rows = screen.lines.iter().filter(|line| matches!(line, Listed::Row(_))).count();
        assert_eq!(rows, group.items);
        assert!(matches!(screen.update(Action::Open), Effect::Explain(_)));
        screen.update(Action::Back);
        assert_eq!(screen.subject(), Some(Subject::Group(group.name)));
    }
    screen.update(Action::Grouping);
    assert_eq!(screen.shows, Shown::By(Grouping::Item));
}

#[test]
fn stepping_to_the_neighbouring_periods() {
    let compare = |opening: Option<i64>, closing| Effect::Compare {
        opening: opening.map(CountId),
        closing: Some(CountId(closing)),
    };
    let mut screen = screen();
    assert_eq!(screen.update(Action::Earlier), compare(None, 1));
    assert_eq!(screen.update(Action::Later), compare(Some(2), 4));
    screen.refresh(setup(), PeriodView { is_first: true, next: None, ..Facts::whole().view() });
    assert!(matches!(screen.update(Action::Earlier), Effect::Say(said) if said.text.contains("first count")));
    assert!(matches!(screen.update(Action::Later), Effect::Say(said) if said.text.contains("no count like")));
}

/// Asks for the counts by a key, and hands them over as the book does.
fn list_counts(screen: &mut VarianceScreen, key: Action) {
    let Effect::ListCounts(end) = screen.update(key) else { panic!("counts are asked for") };
    assert_eq!(screen.list_counts(end, counts()), None);
}

#[test]
fn choosing_the_counts() {
    let pick = |key, typed: &str| {
        let mut screen = screen();
        list_counts(&mut screen, key);
        assert_eq!(screen.scope(), Scope::Find);
        for c in typed.chars() {
            screen.update(Action::Type(c));
        }
        let effect = screen.update(Action::Accept);
        assert_eq!(screen.scope(), Scope::Variance);
        effect
    };
    let compare = |opening: Option<i64>, closing| Effect::Compare {
        opening: opening.map(CountId),
        closing: Some(CountId(closing)),
    };
    assert_eq!(pick(Action::ChooseOpening, "11-08"), compare(Some(5), 2));
    assert_eq!(pick(Action::ChooseClosing, "11-29"), compare(Some(1), 4));
    assert_eq!(pick(Action::ChooseClosing, "11-15"), compare(None, 1), "an opening that suits is the book's to choose");
    let mut screen = screen();
    list_counts(&mut screen, Action::ChooseOpening);
    for c in "nothing".chars() {
        screen.update(Action::Type(c));
    }
    assert_eq!((screen.update(Action::Accept), screen.scope()), (Effect::None, Scope::Find));
    screen.update(Action::Cancel);
    assert_eq!(screen.scope(), Scope::Variance);
}

#[test]
fn the_cursor_stays_on_the_same_item_in_a_fresh_period() {
    let mut screen = screen();
    screen.find(SODA);
    let mut facts = Facts::whole();
    facts.sales.truncate(1);
    screen.refresh(setup(), facts.view());
    assert_eq!(selected(&screen), Some(SODA));
    screen.explain(facts.evidence(RUM));
    screen.refresh(setup(), facts.view());
    assert_eq!(screen.explained(), Some(RUM), "nothing changed: it stays open");
    screen.refresh(setup(), Facts::whole().view());
    assert_eq!(screen.explained(), None, "its figures are not the period's any more");
}

#[test]
fn an_item_in_neither_count_is_said_so() {
    let facts = Facts::without(|line| line.item != SODA);
    let mut screen = VarianceScreen::new(setup(), facts.view(), None);
    assert!(screen.find(SODA).is_some_and(|said| said.text.contains("Soda is in neither")));
}

#[test]
fn no_size_panics() {
    let now = at("2026-11-23 03:00");
    for keys in
        [&[][..], &[Action::Last], &[Action::Grouping], &[Action::Grouping, Action::Open], &[Action::ChooseOpening]]
    {
        for facts in [Facts::whole(), Facts { closing: Vec::new(), ..Facts::whole() }] {
            let view = facts.view();
            at_every_size(|frame| {
                let mut screen = VarianceScreen::new(setup(), view.clone(), None);
                for key in keys {
                    screen.update(*key);
                }
                screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now });
            });
        }
    }
    let (view, evidence) = (Facts::whole().view(), Facts::whole().evidence(RUM));
    at_every_size(|frame| {
        let mut screen = VarianceScreen::new(setup(), view.clone(), None);
        screen.explain(evidence.clone());
        screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now });
        screen.update(Action::Last);
        screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now });
        for item in [None, Some(RUM), Some(SUGAR)] {
            screen.show_over(many(item, 52, months()));
            screen.draw(frame, frame.area(), Scene { theme: &Theme::from_env(true), now });
        }
    });
}

/// A cause is chosen among the likely ones or all others, signed, and handed over; what the book refuses is there again.
#[test]
fn a_cause_is_accepted_and_taken_back() {
    let mut screen = screen();
    assert_eq!(
        screen.update(Action::Undo),
        Effect::Say(Notice::info("no cause is accepted of the gap of Harbour rum"))
    );
    screen.update(Action::AcceptCause);
    assert_eq!(screen.scope(), Scope::CauseForm);
    let form = drawn(&mut screen, 80, 21);
    assert!(form.contains("What made the gap of Harbour rum") && form.contains("a sealed one overlooked"), "{form}");
    screen.update(Action::Down);
    screen.update(Action::Accept);
    "jigger found".chars().for_each(|c| {
        screen.update(Action::Type(c));
    });
    screen.update(Action::Accept);
    assert_eq!(screen.update(Action::Accept), Effect::None, "nobody has signed");
    assert!(drawn(&mut screen, 80, 21).contains("type your initials"));
    screen.update(Action::Type('O'));
    screen.update(Action::Type('M'));
    let Effect::AcceptCause(said) = screen.update(Action::Accept) else { panic!("nothing was handed over") };
    assert_eq!((said.closing, said.item, said.cause), (CountId(2), RUM, CauseWord::Twice));
    assert_eq!((said.note.as_str(), said.by.as_str()), ("jigger found", "OM"));
    assert_eq!(screen.scope(), Scope::Variance);
    screen.refused();
    assert_eq!(screen.scope(), Scope::CauseForm);
    screen.update(Action::Cancel);
    // The book took it: the line has left what is open, says so, and can be taken back.
    let mut view = Facts::whole().view();
    let kept = Explanation {
        seq: Seq(1),
        at: at("2026-11-23 03:00"),
        closing: CountId(2),
        item: RUM,
        cause: CauseWord::Twice,
        by: Some("OM".to_owned()),
        note: Some("jigger found".to_owned()),
    };
    view.explained.insert(RUM, kept);
    assert!(!view.is_open(RUM));
    screen.refresh(setup(), view);
    let list = drawn(&mut screen, 80, 21);
    assert!(list.contains("nothing to look into") && list.contains("Causes accepted:"), "{list}");
    screen.find(RUM);
    assert_eq!(screen.update(Action::Undo), Effect::ReopenGap { closing: CountId(2), item: RUM });
    screen.explain(Facts::whole().evidence(RUM));
    let page = drawn(&mut screen, 80, 21);
    assert!(page.contains("Accepted by OM") && page.contains("jigger found"), "{page}");
}

#[test]
fn the_pages_of_a_line() {
    let mut screen = screen();
    screen.explain(Facts::whole().evidence(RUM));
    let causes = drawn(&mut screen, 80, 21);
    assert!(causes.contains("Look into it: more went than was sold"), "{causes}");
    screen.update(Action::Grouping);
    screen.update(Action::Grouping);
    let doubt = drawn(&mut screen, 80, 21);
    for said in ["Why ± 46 ml?", "read by eye in steps, at the opening", "together: the root of the sum of squares"] {
        assert!(doubt.contains(said), "{said} in\n{doubt}");
    }
    screen.update(Action::Grouping);
    let chart = drawn(&mut screen, 80, 30);
    assert!(chart.contains("limit") && chart.contains("likely gap"), "{chart}");
    screen.update(Action::Grouping);
    assert_eq!(screen.page, Page::Causes);
}

/// A period of the past with this much sold and missing, of the liquids of the bar.
fn past(n: i64, sold: i64, gap: i64, items: usize) -> PastPeriod {
    let day = format!("2026-{:02}-02 02:00", n + 1);
    let sum = GroupRow {
        name: format!("Month {n}"),
        items,
        usage: ml(sold + gap),
        sold: ml(sold),
        gap: ml(gap),
        u: 40_000.0,
        cost: Money(gap * 25),
        without_cost: 0,
    };
    let opening = count(10 + n, &format!("Month {}", n - 1), &format!("2026-{n:02}-02 02:00"));
    PastPeriod { opening, closing: count(11 + n, &format!("Month {n}"), &day), sum }
}

/// Eight months, of which one tells nothing, as the book gives them: the oldest first.
fn months() -> Vec<PastPeriod> {
    (1..=8)
        .map(|n| past(n, 12_000, [0, 20, -30, 60, 900, 0, 40, 1_200][n as usize - 1], usize::from(n != 6) * 3))
        .collect()
}

fn many(item: Option<ItemId>, asked: usize, periods: Vec<PastPeriod>) -> ManyPeriods {
    ManyPeriods { item, asked, periods, state: Some(ActId(7)) }
}

#[test]
fn many_periods_stand_a_line_each_the_newest_first() {
    let mut screen = screen();
    assert_eq!(
        screen.update(Action::LookBack),
        Effect::OverPeriods { item: None, most: 52, last: (CountId(1), CountId(2)) }
    );
    screen.show_over(many(None, 52, months()));
    assert_eq!(screen.scope(), Scope::VarianceOver);
    insta::assert_snapshot!(drawn(&mut screen, 80, 21), @"
    All items together  8 periods  from Month 0 (2026-01-01) on
    Everything at what it cost at the last of these counts.
    period up to          begun on   used ml  gap ml 0 = as sold   % of use     cost
    Month 8               2026-08-01  13 200   +1200       ┊    ╺●     +9.1  +300.00
    Month 7               2026-07-01  12 040     +40       ○╴          +0.3   +10.00
    Month 6               2026-06-01       ?       ?                      ?        ?
    Month 5               2026-05-01  12 900    +900       ┊   ●╸      +7.0  +225.00
    Month 4               2026-04-01  12 060     +60       ○╴          +0.5   +15.00
    Month 3               2026-03-01  11 970     -30      ╶○           -0.3    -7.50
    Month 2               2026-02-01  12 020     +20       ○           +0.2    +5.00
    Month 1               2026-01-01  12 000       0       ○            0.0     0.00







    Month 7 (2026-08-01)  to Month 8 (2026-09-01)  gap +1200 ± 40 ml
    over, beyond exactness  +300.00 EUR
    used, sold and gap sum the liquids only, cost sums everything
    ");
    insta::assert_snapshot!(drawn(&mut screen, 120, 14), @"
    All items together  8 periods  from Month 0 (2026-01-01) on
    Everything at what it cost at the last of these counts.
    period up to                                    begun on   items used ml sold ml  gap ml 0 = as sold   % of use     cost
    Month 8                                         2026-08-01     3  13 200  12 000   +1200       ┊    ╺●     +9.1  +300.00
    Month 7                                         2026-07-01     3  12 040  12 000     +40       ○╴          +0.3   +10.00
    Month 6                                         2026-06-01     0       ?       ?       ?                      ?        ?
    Month 5                                         2026-05-01     3  12 900  12 000    +900       ┊   ●╸      +7.0  +225.00
    Month 4                                         2026-04-01     3  12 060  12 000     +60       ○╴          +0.5   +15.00
    Month 3                                         2026-03-01     3  11 970  12 000     -30      ╶○           -0.3    -7.50
    Month 2                                         2026-02-01     3  12 020  12 000     +20       ○           +0.2    +5.00
    Month 1                                         2026-01-01     3  12 000  12 000       0       ○            0.0     0.00
    Month 7 (2026-08-01)  to Month 8 (2026-09-01)  gap +1200 ± 40 ml  over, beyond exactness  +300.00 EUR
    used, sold and gap sum the liquids only, cost sums everything
    ");
    insta::assert_snapshot!(drawn(&mut screen, 48, 16), @"
    All items together  8 periods
    from Month 0 (2026-01-01) on
    Everything at what it cost at the last of these
    counts.
    period up to         begun on    gap ml     cost
    Month 8              2026-08-01   +1200  +300.00
    Month 7              2026-07-01     +40   +10.00
    Month 6              2026-06-01       ?        ?
    Month 5              2026-05-01    +900  +225.00
    Month 4              2026-04-01     +60   +15.00
    Month 3              2026-03-01     -30    -7.50
    Month 2              2026-02-01     +20    +5.00
    Month 1              2026-01-01       0     0.00
    Month 7 (2026-08-01)  to Month 8 (2026-09-01)
    gap +1200 ± 40 ml  over, beyond exactness
    +300.00 EUR
    ");
    // 1,200 ml are missing where 12,000 were sold: of 13,200 ml used a little over 9 %.
    let newest = drawn(&mut screen, 120, 24);
    let line = newest.lines().find(|line| line.contains("Month 8")).unwrap();
    for figure in ["13 200", "12 000", "+1200", "+9.1", "+300.00"] {
        assert!(line.contains(figure), "{figure} in {line}");
    }
    let month = |n: i64| Effect::Compare { opening: Some(CountId(10 + n)), closing: Some(CountId(11 + n)) };
    assert_eq!(screen.update(Action::Open), month(8));
    screen.show_over(many(None, 52, months()));
    screen.update(Action::Down);
    assert_eq!(screen.update(Action::Open), month(7));
    screen.show_over(many(None, 52, months()));
    screen.update(Action::Last);
    assert_eq!(screen.update(Action::Open), month(1), "the book gives the oldest first");
    screen.show_over(many(None, 52, months()));
    assert_eq!(screen.update(Action::Back), Effect::None);
    assert_eq!(screen.scope(), Scope::Variance);
}

#[test]
fn an_item_is_looked_back_at_by_itself() {
    let mut screen = all_lines();
    screen.explain(Facts::whole().evidence(RUM));
    assert_eq!(
        screen.update(Action::LookBack),
        Effect::OverPeriods { item: Some(RUM), most: 52, last: (CountId(1), CountId(2)) }
    );
    screen.show_over(many(Some(RUM), 52, months()));
    let page = drawn(&mut screen, 80, 24);
    assert!(page.contains("Harbour rum (700 ml)") && page.contains("8 periods"), "{page}");
    let to = |n: i64| Effect::Compare { opening: Some(CountId(10 + n)), closing: Some(CountId(11 + n)) };
    assert_eq!(screen.update(Action::Open), Effect::Both(Box::new(to(8)), Box::new(explain(RUM))));
    screen.show_over(many(Some(RUM), 52, months()));
    screen.update(Action::Down);
    screen.update(Action::Down);
    assert!(matches!(screen.update(Action::Open), Effect::Say(said) if said.text.contains("tell nothing")));
    // Back to the evidence that was open.
    assert_eq!(screen.update(Action::Back), Effect::None);
    assert_eq!((screen.scope(), screen.explained()), (Scope::VarianceDetail, Some(RUM)));
}

#[test]
fn more_and_fewer_periods_are_asked_for_and_no_more_than_there_are() {
    let mut screen = screen();
    // Up to the newest of those that are shown.
    let ask = |most, n: i64| Effect::OverPeriods { item: None, most, last: (CountId(10 + n), CountId(11 + n)) };
    screen.show_over(many(None, 52, months()));
    assert!(matches!(screen.update(Action::OneMore), Effect::Say(said) if said.text.contains("no more periods")));
    assert!(matches!(screen.update(Action::OneLess), Effect::Say(said) if said.text.contains("too little")));
    screen.show_over(many(None, 26, (0..26).map(|n| past(1 + n % 8, 12_000, 0, 3)).collect()));
    assert_eq!(screen.update(Action::OneMore), ask(52, 2));
    assert_eq!(screen.update(Action::OneLess), ask(13, 2));
    screen.show_over(many(None, 260, (0..260).map(|n| past(1 + n % 8, 12_000, 0, 3)).collect()));
    assert!(matches!(screen.update(Action::OneMore), Effect::Say(said) if said.text.contains("no more periods than")));
    assert_eq!(screen.update(Action::OneLess), ask(104, 4));
}

#[test]
fn who_looks_back_while_the_book_is_written_to_stays_there_and_is_told() {
    let mut screen = screen();
    screen.show_over(many(None, 52, months()));
    screen.update(Action::Last);
    assert!(!drawn(&mut screen, 80, 24).contains("written to since"));
    // Only gone to another screen and back.
    screen.refresh(setup(), Facts::whole().view());
    screen.compare_with(Some(ActId(7)));
    assert_eq!(screen.scope(), Scope::VarianceOver);
    assert!(!drawn(&mut screen, 80, 24).contains("written to since"));
    screen.compare_with(Some(ActId(8)));
    assert!(drawn(&mut screen, 80, 24).contains("The book was written to since"));
    let oldest = Effect::Compare { opening: Some(CountId(11)), closing: Some(CountId(12)) };
    // More of them leave the cursor on the same period, and are of now.
    screen.show_over(many(None, 104, months()));
    assert!(!drawn(&mut screen, 80, 24).contains("written to since"));
    assert_eq!(screen.update(Action::Open), oldest);
    assert_eq!(screen.scope(), Scope::Variance);
    // Whoever looks back from the period that was opened is on the same line again.
    let ends = |view: PeriodView, n: i64| PeriodView {
        opening: count(10 + n, "One", "2026-01-02 02:00"),
        closing: count(11 + n, "Two", "2026-02-02 02:00"),
        ..view
    };
    screen.refresh(setup(), ends(Facts::whole().view(), 1));
    assert_eq!((screen.update(Action::LookBack), screen.scope()), (Effect::None, Scope::VarianceOver));
    assert_eq!(screen.update(Action::Open), oldest);
    // From another one, or at an item, it is another page.
    screen.refresh(setup(), ends(Facts::whole().view(), 3));
    assert_eq!(
        screen.update(Action::LookBack),
        Effect::OverPeriods { item: None, most: 52, last: (CountId(13), CountId(14)) }
    );
    // What another period is shown of is not left standing over it.
    screen.show_over(many(None, 52, months()));
    let mut other = Facts::whole().view();
    other.opening = other.closing.clone();
    screen.refresh(setup(), other);
    assert_eq!(screen.scope(), Scope::Variance);
}
