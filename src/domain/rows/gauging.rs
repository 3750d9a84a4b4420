//! The Gauging screen: what is known of each item's containers, and how good each counter's eye is.

use crate::domain::gauge::{Gauges, Level, Mass, Reading, Sight, Vessel, WeighedAs, Weighing};
use crate::domain::ledger::CountLine;
use crate::domain::venue::{CountBy, CountId, CountMethod, Item, ItemId, Moment, PlaceId, Seq, Setup};
use std::collections::HashMap;
use std::sync::Arc;

/// The Gauging screen.
#[derive(Clone, Debug)]
pub struct GaugingView {
    /// The bar.
    pub setup: Arc<Setup>,
    /// Its instruments.
    pub gauges: Arc<Gauges>,
    /// Every weighing in force, in the order of time.
    pub weighings: Vec<Weighing>,
    /// Items that can stand opened, those that a weight says nothing of first, then by name.
    pub rows: Vec<GaugingRow>,
    /// What was last read of an opened container of an item.
    pub last: HashMap<ItemId, LastRead>,
}

/// The newest look at an opened container.
#[derive(Clone, Debug, PartialEq)]
pub struct LastRead {
    /// What was read.
    pub reading: Reading,
    /// By whom.
    pub by: Option<String>,
    /// When.
    pub at: Moment,
}

/// What is known of one item's containers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaugingRow {
    /// What.
    pub item: ItemId,
    /// Whether a weight of an opened one gives an amount.
    pub can_weigh: bool,
    /// Standard uncertainty of one that is half full, base units: by eye, …
    pub by_eye: f64,
    /// … on the scale, …
    pub on_scale: Option<f64>,
    /// … and by ruler.
    pub by_ruler: Option<f64>,
}

impl GaugingView {
    /// Puts the rows in their order; `latest` are the newest count lines.
    pub fn new(setup: Arc<Setup>, gauges: Arc<Gauges>, weighings: Vec<Weighing>, latest: &[CountLine]) -> GaugingView {
        let opened = setup.items.iter().filter(|item| item.count_by != CountBy::Whole);
        let row = |item: &Item| {
            let vessel = gauges.vessel(item.id)?;
            let u = |reading| gauges.opened(vessel, reading, None).u();
            let half = vessel.size.as_f64() / 2.0;
            let gross = vessel.gross_of(half).map(|mg| Mass::grams((mg / 1_000.0).round() as i64));
            let height = vessel.outline.as_ref().map(|o| Reading::Height((o.height_of(0.5) * 1_000.0) as i64));
            Some(GaugingRow {
                item: item.id,
                can_weigh: vessel.can_weigh(),
                by_eye: u(Reading::tenths(5)),
                on_scale: gross.map(|gross| u(Reading::Mass(gross))),
                by_ruler: height.map(u),
            })
        };
        let mut rows: Vec<GaugingRow> = opened.filter_map(row).collect();
        rows.sort_by_key(|row| row.can_weigh);
        let mut last: HashMap<ItemId, LastRead> = HashMap::new();
        // What was left as expected nobody has read.
        for line in latest.iter().filter(|line| line.method != CountMethod::Expected) {
            let Some(reading) = line.entry.open.first() else { continue };
            if last.get(&line.item).is_none_or(|known| known.at < line.at) {
                last.insert(line.item, LastRead { reading: *reading, by: line.by.clone(), at: line.at });
            }
        }
        GaugingView { setup, gauges, weighings, rows, last }
    }

    /// What is known of an item's containers.
    pub fn vessel(&self, item: ItemId) -> Option<&Vessel> {
        self.gauges.vessel(item)
    }

    /// The weighings of an item, the newest first.
    pub fn weighings_of(&self, item: ItemId) -> impl Iterator<Item = &Weighing> {
        self.weighings.iter().rev().filter(move |w| w.item == item)
    }

    /// What the eye should have read of a container that was weighed, as a share.
    pub fn seen_by_scale(&self, weighing: &Weighing) -> Option<f64> {
        seen_by_scale(&self.gauges, weighing)
    }

    /// What one reading of an opened container of an item is.
    pub fn level(&self, item: ItemId, reading: Reading, by: Option<&str>) -> Option<Level> {
        Some(self.gauges.opened(self.vessel(item)?, reading, by).level())
    }
}

/// One opened container to be weighed after a count.
#[derive(Clone, Debug, PartialEq)]
pub struct EyeCheckLine {
    /// Where it stands.
    pub place: PlaceId,
    /// What.
    pub item: ItemId,
    /// What the eye read of it.
    pub seen: Sight,
    /// What the scale showed, once it was weighed.
    pub weighed: Option<Weighing>,
}

/// Opened containers that a counter has just read and is asked to weigh as well.
#[derive(Clone, Debug)]
pub struct EyeCheck {
    /// The bar.
    pub setup: Arc<Setup>,
    /// Its instruments, as they were when the check began.
    pub gauges: Arc<Gauges>,
    /// After which count.
    pub count: CountId,
    /// Whose eye.
    pub by: String,
    /// The containers, in the order of the walk.
    pub lines: Vec<EyeCheckLine>,
}

/// Containers of one check: a minute's work at one scale.
const CHECKED: usize = 5;
/// A check of fewer is not worth fetching the scale for.
const FEWEST: usize = 3;

impl EyeCheck {
    /// Picks some opened containers of a count at random: of those that this counter read by eye, alone on their line so
    /// that there is no doubt which one is meant, and whose weight says what they hold. `seed` makes the choice; `None`
    /// when there are too few of them.
    pub fn pick(
        setup: Arc<Setup>,
        gauges: Arc<Gauges>,
        count: CountId,
        by: &str,
        lines: &[CountLine],
        seed: u64,
    ) -> Option<EyeCheck> {
        let candidate = |line: &CountLine| {
            let [Reading::Sight(seen)] = line.entry.open[..] else { return None };
            // What was left as expected no eye has read.
            let mine = line.by.as_deref() == Some(by) && line.method == CountMethod::Tenths;
            let known = gauges.vessel(line.item).is_some_and(Vessel::can_weigh);
            (mine && known).then_some(EyeCheckLine { place: line.place, item: line.item, seen, weighed: None })
        };
        let mut all: Vec<EyeCheckLine> = lines.iter().filter_map(candidate).collect();
        if all.len() < FEWEST {
            return None;
        }
        // The first few of a shuffle (Durstenfeld 1964).
        let mut state = seed;
        for at in 0..CHECKED.min(all.len()) {
            let other = at + (next(&mut state) % (all.len() - at) as u64) as usize;
            all.swap(at, other);
        }
        all.truncate(CHECKED);
        let walk =
            |line: &EyeCheckLine| setup.shelves.iter().position(|s| (s.place, s.item) == (line.place, line.item));
        all.sort_by_key(walk);
        Some(EyeCheck { by: by.to_owned(), lines: all, setup, gauges, count })
    }

    /// The weighing that a line becomes.
    pub fn weighing(&self, line: usize, weight: Mass, at: Moment) -> Option<Weighing> {
        let line = self.lines.get(line)?;
        Some(Weighing {
            seq: Seq::default(),
            at,
            item: line.item,
            state: WeighedAs::Opened,
            weight,
            seen: Some(Reading::Sight(line.seen)),
            mark: None,
            place: Some(line.place),
            by: Some(self.by.clone()),
        })
    }

    /// What the eye should have read by the scale, as a share.
    pub fn found(&self, weighing: &Weighing) -> Option<f64> {
        seen_by_scale(&self.gauges, weighing)
    }
}

/// What an eye should read of a container by its weight, as a share, in the eye's own tenths.
fn seen_by_scale(gauges: &Gauges, weighing: &Weighing) -> Option<f64> {
    let vessel = gauges.vessel(weighing.item)?;
    let held = gauges.opened(vessel, Reading::Mass(weighing.weight), None).amount.per(vessel.size);
    Some(gauges.as_seen(vessel, held))
}

/// The next number of a simple generator (SplitMix64; Steele, Lea and Flood 2014).
fn next(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::gauge::Entry;
    use crate::domain::measure::{Amount, Basis, Strength};
    use crate::domain::venue::{DayRule, ItemShape, Kind, Parts, Place, Shape, Shelf, Venue};
    use std::collections::BTreeSet;

    const RAIL: PlaceId = PlaceId(1);
    const CELLAR: PlaceId = PlaceId(2);
    /// What the scale says something of: rums of 700 ml at 40 % vol in bottles of 500 g.
    const RUMS: std::ops::RangeInclusive<i64> = 1..=12;
    /// What stands opened and cannot be weighed, and what is only counted whole.
    const JUICE: ItemId = ItemId(21);
    const SODA: ItemId = ItemId(22);

    fn setup() -> Arc<Setup> {
        let volume =
            |id, name: &str, kind, count_by| Item::new(id, name, kind, Basis::Volume, Amount(700_000), count_by);
        let rum = |n: i64| Item {
            abv: Some(Strength(4_000)),
            empty_weight: Some(Amount(500_000)),
            shape: (n == 1).then_some(ItemShape::Generic(Shape::Round)),
            ..volume(ItemId(n), &format!("Rum {n:02}"), Kind::Spirit, CountBy::Tenths)
        };
        let mut items: Vec<Item> = RUMS.map(rum).collect();
        items.push(volume(JUICE, "Sharp juice", Kind::Juice, CountBy::Tenths));
        items.push(volume(SODA, "Flat soda", Kind::Mixer, CountBy::Whole));
        // Along the rail from the last rum to the first; the first stands in the cellar too.
        let on_rail = RUMS.map(|n| Shelf { place: RAIL, item: ItemId(n), position: 100 - n, par: None });
        let mut shelves: Vec<Shelf> = on_rail.collect();
        shelves.push(Shelf { place: CELLAR, item: ItemId(1), position: 1, par: None });
        let place = |id, name: &str, walk| Place { id, name: name.to_owned(), walk };
        let venue = Venue {
            prices_include_tax: true,
            ..Venue::new(
                "A bar",
                "EUR".parse().unwrap(),
                DayRule { zone: chrono_tz::UTC, starts: chrono::NaiveTime::from_hms_opt(5, 0, 0).unwrap() },
            )
        };
        Arc::new(Setup::new(Parts {
            places: vec![place(RAIL, "Rail", 1), place(CELLAR, "Cellar", 2)],
            items,
            shelves,
            ..Parts::new(venue)
        }))
    }

    fn weighing(seq: i64, item: i64, state: WeighedAs, grams: i64) -> Weighing {
        Weighing {
            seq: Seq(seq),
            at: Moment(seq * 1_000),
            item: ItemId(item),
            state,
            weight: Mass::grams(grams),
            seen: (state == WeighedAs::Opened).then(|| Reading::tenths(5)),
            mark: None,
            place: None,
            by: Some("OM".to_owned()),
        }
    }

    fn view(weighings: Vec<Weighing>, latest: &[CountLine]) -> GaugingView {
        let setup = setup();
        let gauges = Arc::new(Gauges::new(&setup, &weighings));
        GaugingView::new(setup, gauges, weighings, latest)
    }

    /// A line by OM of one opened container, read by eye.
    fn line(item: i64, tenths: u8) -> CountLine {
        CountLine {
            count: CountId(7),
            place: RAIL,
            item: ItemId(item),
            at: Moment(item),
            entry: Entry { full: 0, open: vec![Reading::tenths(tenths)] },
            method: CountMethod::Tenths,
            by: Some("OM".to_owned()),
        }
    }

    fn pick(lines: &[CountLine], seed: u64) -> Option<EyeCheck> {
        let setup = setup();
        let gauges = Arc::new(Gauges::new(&setup, &[]));
        EyeCheck::pick(setup, gauges, CountId(7), "OM", lines, seed)
    }

    fn picked(lines: &[CountLine], seed: u64) -> Vec<i64> {
        pick(lines, seed).map_or(Vec::new(), |check| check.lines.iter().map(|line| line.item.0).collect())
    }

    #[test]
    fn what_cannot_be_weighed_yet_comes_first_and_what_is_counted_whole_not_at_all() {
        let view = view(Vec::new(), &[]);
        let rows: Vec<(ItemId, bool)> = view.rows.iter().map(|row| (row.item, row.can_weigh)).collect();
        let mut want = vec![(JUICE, false)];
        want.extend(RUMS.map(|n| (ItemId(n), true)));
        assert_eq!(rows, want);
    }

    #[test]
    fn a_row_says_how_exact_each_way_is_of_one_that_is_half_full() {
        let view = view(Vec::new(), &[]);
        let row = |item| *view.rows.iter().find(|row| row.item == item).unwrap();
        let u = |item, reading| view.level(item, reading, None).unwrap().u;
        let rum = row(ItemId(1));
        let vessel = view.vessel(ItemId(1)).unwrap();
        let outline = vessel.outline.as_ref().unwrap();
        // 350 ml of a density of 0.947 g/ml, in a bottle of 500 g.
        assert_eq!(rum.on_scale, Some(u(ItemId(1), Reading::Mass(Mass::grams(831)))));
        assert_eq!(rum.by_eye, u(ItemId(1), Reading::tenths(5)));
        assert_eq!(rum.by_ruler, Some(u(ItemId(1), Reading::Height((outline.height_of(0.5) * 1_000.0) as i64))));
        // Half of a tenth to either side, anywhere with equal chance.
        assert!((row(ItemId(2)).by_eye - 35_000.0 / 3_f64.sqrt()).abs() < 1.0, "{view:?}");
        assert!(rum.on_scale.is_some_and(|u| u > 0.0 && u < rum.by_eye), "{rum:?}");
        // Neither shape nor weight is known.
        let juice = row(JUICE);
        assert_eq!((juice.on_scale, juice.by_ruler), (None, None));
        assert_eq!(row(ItemId(2)).by_ruler, None, "only the first rum has a shape");
    }

    #[test]
    fn the_last_reading_is_that_of_the_newest_line_with_an_opened_one() {
        let at = |seconds, line| CountLine { at: Moment(seconds), ..line };
        let by = |by: Option<&str>, line| CountLine { by: by.map(str::to_owned), ..line };
        let sealed = CountLine { entry: Entry { full: 3, open: Vec::new() }, ..line(1, 0) };
        let view = view(
            Vec::new(),
            &[
                at(20, line(1, 4)),
                at(30, by(Some("JB"), CountLine { place: CELLAR, ..line(1, 7) })),
                at(10, line(1, 9)),
                at(40, sealed),
                at(15, by(None, line(2, 2))),
                // Nobody has looked here.
                at(50, CountLine { method: CountMethod::Expected, ..line(2, 6) }),
            ],
        );
        let tenths = |n, by: Option<&str>, at| {
            Some(LastRead { reading: Reading::tenths(n), by: by.map(str::to_owned), at: Moment(at) })
        };
        assert_eq!(view.last.get(&ItemId(1)).cloned(), tenths(7, Some("JB"), 30));
        assert_eq!(view.last.get(&ItemId(2)).cloned(), tenths(2, None, 15));
        assert_eq!(view.last.get(&ItemId(3)), None);
    }

    #[test]
    fn the_weighings_of_an_item_come_newest_first() {
        let all = [
            weighing(1, 1, WeighedAs::Empty, 501),
            weighing(2, 2, WeighedAs::Empty, 502),
            weighing(3, 1, WeighedAs::Sealed, 1_160),
        ];
        let view = view(all.to_vec(), &[]);
        let of = |item| view.weighings_of(item).map(|w| w.seq.0).collect::<Vec<_>>();
        assert_eq!((of(ItemId(1)), of(ItemId(2)), of(JUICE)), (vec![3, 1], vec![2], vec![]));
    }

    #[test]
    fn a_check_takes_only_single_readings_by_the_counters_own_eye() {
        let open = |item, open: Vec<Reading>| CountLine { entry: Entry { full: 0, open }, ..line(item, 0) };
        let lines = [
            line(1, 4),
            CountLine { entry: Entry { full: 3, open: vec![Reading::tenths(5)] }, ..line(2, 0) },
            line(3, 0),
            CountLine { method: CountMethod::Expected, ..line(4, 4) },
            CountLine { by: Some("JB".to_owned()), ..line(5, 4) },
            CountLine { by: None, ..line(6, 4) },
            open(7, vec![Reading::tenths(4), Reading::tenths(7)]),
            open(8, Vec::new()),
            CountLine { method: CountMethod::Weight, ..open(9, vec![Reading::Mass(Mass::grams(812))]) },
            CountLine { method: CountMethod::Height, ..open(10, vec![Reading::Height(143_000)]) },
            line(JUICE.0, 4),
            CountLine { method: CountMethod::Whole, ..open(SODA.0, Vec::new()) },
        ];
        for seed in 0..50 {
            let check = pick(&lines, seed).unwrap();
            let seen: Vec<(i64, u16)> = check.lines.iter().map(|l| (l.item.0, l.seen.thousandths)).collect();
            assert_eq!(seen, [(3, 0), (2, 500), (1, 400)], "all three, in the order of the walk");
            assert!(check.lines.iter().all(|l| l.place == RAIL && l.weighed.is_none()));
            assert_eq!((check.by.as_str(), check.count), ("OM", CountId(7)));
        }
    }

    #[test]
    fn a_check_is_of_three_to_five() {
        let lines: Vec<CountLine> = RUMS.map(|n| line(n, 4)).collect();
        for (readings, checked) in [(0, 0), (1, 0), (2, 0), (3, 3), (4, 4), (5, 5), (6, 5), (12, 5)] {
            for seed in 0..20 {
                let picked = picked(&lines[..readings], seed);
                let apart: BTreeSet<&i64> = picked.iter().collect();
                assert_eq!((picked.len(), apart.len()), (checked, checked), "{readings} readings, seed {seed}");
            }
        }
    }

    #[test]
    fn the_seed_alone_makes_the_choice() {
        let lines: Vec<CountLine> = RUMS.map(|n| line(n, 4)).collect();
        let choices: Vec<Vec<i64>> = (0..200).map(|seed| picked(&lines, seed)).collect();
        for (seed, choice) in (0..200).zip(&choices) {
            assert_eq!(&picked(&lines, seed), choice, "seed {seed}");
            assert!(choice.windows(2).all(|pair| pair[0] > pair[1]), "in the order of the walk: {choice:?}");
        }
        assert_ne!(choices[1], choices[2]);
        // 5 of 12 in 200 draws: each about 83 times, with a standard deviation of 7.
        for n in RUMS {
            let times = choices.iter().filter(|choice| choice.contains(&n)).count();
            assert!((55..=111).contains(&times), "rum {n}: {times}");
        }
    }

    #[test]
    fn a_weighing_of_a_check_says_what_the_eye_had_read_and_where() {
        let lines = [line(3, 9), CountLine { place: CELLAR, ..line(1, 4) }, line(2, 5)];
        let check = pick(&lines, 5).unwrap();
        let (now, weight) = (Moment(99), Mass { mg: 812_500, step: 100 });
        let want = Weighing {
            seq: Seq::default(),
            at: now,
            item: ItemId(1),
            state: WeighedAs::Opened,
            weight,
            seen: Some(Reading::tenths(4)),
            mark: None,
            place: Some(CELLAR),
            by: Some("OM".to_owned()),
        };
        assert_eq!(check.lines[2].item, ItemId(1), "the cellar comes last in the walk");
        assert_eq!(check.weighing(2, weight, now), Some(want));
        assert_eq!(check.weighing(3, weight, now), None);
    }

    #[test]
    fn the_scale_finds_a_share_between_empty_and_full() {
        let check = pick(&[line(1, 4), line(2, 5), line(3, 6)], 1).unwrap();
        let found = |grams| check.found(&weighing(1, 1, WeighedAs::Opened, grams)).unwrap();
        // 350 ml of 0.947 g/ml weigh 331.4 g: half of what it holds, told as the eye should see it, of the height.
        let outline = check.gauges.vessel(ItemId(1)).and_then(|vessel| vessel.outline.clone()).unwrap();
        let (seen, want) = (found(831), outline.height_share_of(0.5));
        assert!((seen - want).abs() < 0.002 && want < 0.45, "{seen}, not {want}");
        assert_eq!(found(480), 0.0);
        assert!(check.found(&weighing(1, 99, WeighedAs::Opened, 831)).is_none());
    }
}
