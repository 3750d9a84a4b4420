//! The Gauging screen: what is known of each item's containers, and how good each counter's eye is.

use crate::domain::gauge::{Entry, Eye, Gauges, Level, Reading, Sight, Step, Vessel, WeighedAs, Weighing};
use crate::domain::ledger::CountLine;
use crate::domain::venue::{CountBy, CountId, CountMethod, ItemId, Moment, PlaceId, Setup};
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
    /// What was last read of an opened container of an item, and by whom.
    pub last: HashMap<ItemId, (Reading, Option<String>)>,
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
        let row = |item: &crate::domain::venue::Item| {
            let vessel = gauges.vessel(item.id)?;
            let u = |reading| gauges.opened(vessel, reading, None).u();
            let half = vessel.size.as_f64() / 2.0;
            let gross =
                vessel.gross_of(half).map(|mg| crate::domain::gauge::Mass::grams((mg / 1_000.0).round() as i64));
            let height = vessel.outline.as_ref().map(|o| Reading::Height((o.height_of(0.5) * 1_000.0) as i64));
            Some(GaugingRow {
                item: item.id,
                can_weigh: vessel.can_weigh(),
                by_eye: u(Reading::Sight(Sight { thousandths: 500, step: Step::Tenth })),
                on_scale: gross.map(|gross| u(Reading::Mass(gross))),
                by_ruler: height.map(u),
            })
        };
        let mut rows: Vec<GaugingRow> = opened.filter_map(row).collect();
        rows.sort_by_key(|row| row.can_weigh);
        let mut last: HashMap<ItemId, (Moment, Reading, Option<String>)> = HashMap::new();
        for line in latest {
            let Some(reading) = line.entry.open.first() else { continue };
            let newer = last.get(&line.item).is_none_or(|(at, ..)| *at < line.at);
            if newer {
                last.insert(line.item, (line.at, *reading, line.eye().map(str::to_owned)));
            }
        }
        let last = last.into_iter().map(|(item, (_, reading, by))| (item, (reading, by))).collect();
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
    /// What was known of it before.
    pub before: Eye,
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
        let before = gauges.eye_of(Some(by));
        Some(EyeCheck { before, by: by.to_owned(), lines: all, setup, gauges, count })
    }

    /// The weighing that a line becomes.
    pub fn weighing(&self, line: usize, weight: crate::domain::gauge::Mass, at: Moment) -> Option<Weighing> {
        let line = self.lines.get(line)?;
        Some(Weighing {
            seq: crate::domain::venue::Seq::default(),
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

    /// How much of the container the scale finds in it, as a share.
    pub fn found(&self, weighing: &Weighing) -> Option<f64> {
        let item = self.setup.item(weighing.item)?;
        let entry = Entry { full: 0, open: vec![Reading::Mass(weighing.weight)] };
        Some(self.gauges.level(item, &entry, None).amount.per(item.size))
    }
}

/// The next number of a simple generator (SplitMix64; Steele, Lea and Flood 2014).
fn next(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}
