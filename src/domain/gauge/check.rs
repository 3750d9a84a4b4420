//! Whether what was typed can be: refused with the reason when it cannot, asked about once when it is hard to believe.

use super::density::POURED;
use super::uncertainty::resolution;
use super::vessel::Vessel;
use super::{Entry, Gauges, HOLDING, Mass, RULER, Reading, WeighedAs};
use crate::domain::measure::Basis;
use crate::domain::venue::{CountBy, Item};
use crate::words;
use std::ops::RangeInclusive;

/// Why an entry cannot be one of its item.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LevelError {
    /// Opened readings for something that is only counted whole.
    #[error("{}", say!("only whole containers of {item} are counted; expected a number such as 3", item))]
    WholeOnly {
        /// The item's name.
        item: String,
    },
    /// A weight without an empty weight to take off.
    #[error("{}", say!("no empty weight of {item} is known, so a weight says nothing; weigh an empty one, or use tenths such as .4", item))]
    NoEmptyWeight {
        /// The item's name.
        item: String,
    },
    /// A weight without a density to divide by.
    #[error("{}", say!("the density of {item} is not known, so a weight says nothing; weigh a full one, or use tenths such as .4", item))]
    NoDensity {
        /// The item's name.
        item: String,
    },
    /// A height without a profile of the container.
    #[error("{}", say!("the shape of the container of {item} is not known, so a height says nothing; expected tenths such as .4", item))]
    NoProfile {
        /// The item's name.
        item: String,
    },
    /// Lighter than empty, heavier than full, taller than the container.
    #[error("{}", say!("{reading} of {item} is {what} ({limit}); expected {expected}", reading, item, what, limit, expected))]
    Impossible {
        /// The item's name.
        item: String,
        /// The reading.
        reading: String,
        /// Which way it is off.
        what: &'static str,
        /// The limit it passes.
        limit: String,
        /// What would do.
        expected: &'static str,
    },
}

/// A weight is refused past so many standard uncertainties below empty or above full, and asked about past so many.
const REFUSED: f64 = 4.0;
const DOUBTED: f64 = 2.0;
/// Part of its full weight by which a container may be beyond the limits when the weight was accepted earlier.
const MOVED: f64 = 0.02;

impl Gauges {
    /// Whether an entry can be one of its item: an error when it cannot, and a question when that is hard to believe.
    ///
    /// # Errors
    /// [`LevelError`].
    pub fn check(&self, item: &Item, entry: &Entry) -> Result<Option<String>, LevelError> {
        self.judge(item, entry, 1.0)
    }

    /// Whether an entry that was accepted earlier can still be read. What is known of the containers may have moved a
    /// little since, so the limits are twice as wide.
    ///
    /// # Errors
    /// [`LevelError`].
    pub fn check_kept(&self, item: &Item, entry: &Entry) -> Result<(), LevelError> {
        self.judge(item, entry, 2.0).map(|_| ())
    }

    fn judge(&self, item: &Item, entry: &Entry, wide: f64) -> Result<Option<String>, LevelError> {
        if item.count_by == CountBy::Whole && !entry.open.is_empty() {
            return Err(LevelError::WholeOnly { item: item.name.clone() });
        }
        let vessel = self.vessel_of(item);
        let mut doubt = None;
        for reading in &entry.open {
            let doubted = match reading {
                Reading::Sight(_) => None,
                Reading::Mass(mass) => self.judge_weight(&vessel, *mass, wide)?,
                Reading::Height(height) => judge_height(&vessel, *height, wide)?,
            };
            doubt = doubt.or(doubted);
        }
        Ok(doubt)
    }

    /// Whether a container can weigh so much, as it was put on the scale: an error when it cannot, and a question when that
    /// is hard to believe.
    ///
    /// # Errors
    /// [`LevelError`].
    pub fn check_weighing(&self, vessel: &Vessel, state: WeighedAs, mass: Mass) -> Result<Option<String>, LevelError> {
        self.judge_weighing(vessel, state, mass, 1.0)
    }

    /// Whether a weighing that was accepted earlier still agrees with all that is known now. One of an opened container of
    /// which nothing else is known only waits for that.
    ///
    /// # Errors
    /// [`LevelError`].
    pub fn check_weighing_kept(&self, vessel: &Vessel, state: WeighedAs, mass: Mass) -> Result<(), LevelError> {
        match self.judge_weighing(vessel, state, mass, 2.0) {
            Err(why @ LevelError::Impossible { .. }) => Err(why),
            _ => Ok(()),
        }
    }

    fn judge_weighing(
        &self,
        vessel: &Vessel,
        state: WeighedAs,
        mass: Mass,
        wide: f64,
    ) -> Result<Option<String>, LevelError> {
        match state {
            WeighedAs::Opened => self.judge_weight(vessel, mass, wide),
            WeighedAs::Sealed => judge_sealed(vessel, mass),
            WeighedAs::Empty => self.judge_empty(vessel, mass),
        }
    }

    fn judge_empty(&self, vessel: &Vessel, mass: Mass) -> Result<Option<String>, LevelError> {
        let weight = mass.mg as f64;
        let expected = word!("the weight of an empty one");
        if weight <= 0.0 {
            return Err(impossible_weight(vessel, mass, word!("nothing on the scale"), 0.0, expected));
        }
        if let Some(full) = vessel.full.filter(|full| *full <= weight) {
            return Err(impossible_weight(vessel, mass, word!("no lighter than a full container"), full, expected));
        }
        if let Some(full) = vessel.full.filter(|full| !content_weighs(vessel).contains(&(full - weight))) {
            let known = vessel
                .empty
                .map_or(String::new(), |empty| say!(", empty so far {weight}", weight = grams(empty.weight)));
            return Ok(Some(say!(
                "{mass} for an empty one (a full one weighed {full}{known})",
                mass,
                full = grams(full),
                known
            )));
        }
        Ok(match vessel.empty {
            Some(empty) => {
                let u = empty.spread.hypot(empty.u).max(resolution(self.step_of(mass.step)));
                let odd = (weight - empty.weight).abs() > REFUSED * u;
                odd.then(|| {
                    say!("{mass} for an empty one (known so far: {weight})", mass, weight = grams(empty.weight))
                })
            }
            // Glass weighs about as much as what it holds, thick glass twice; metal and card far less.
            None => {
                let odd = vessel.basis == Basis::Volume && weight > 2.0 * vessel.size.as_f64();
                odd.then(|| say!("{mass} for an empty one of {vessel}", mass, vessel = millilitres(vessel)))
            }
        })
    }

    fn judge_weight(&self, vessel: &Vessel, mass: Mass, wide: f64) -> Result<Option<String>, LevelError> {
        let item = || vessel.name.clone();
        let empty = vessel.empty.ok_or_else(|| LevelError::NoEmptyWeight { item: item() })?;
        let (per_unit, u_per_unit) = vessel.per_unit().ok_or_else(|| LevelError::NoDensity { item: item() })?;
        let gross = mass.mg as f64;
        let full = vessel.size.as_f64() * per_unit;
        let u_empty = self.u_net(mass, &empty);
        let u_full = u_empty.hypot(vessel.u_sealed * per_unit).hypot(full * u_per_unit);
        // What is known of a make may move by more than its uncertainty said, once it is weighed anew.
        let slack = MOVED * (empty.weight + full) * (wide - 1.0);
        let under = (empty.weight - gross - slack) / u_empty;
        let over = (gross - empty.weight - full - slack) / u_full;
        if under > REFUSED * wide || over > REFUSED * wide {
            let (what, limit) = if under > 0.0 {
                (word!("lighter than an empty container"), empty.weight)
            } else {
                (word!("heavier than a full container"), empty.weight + full)
            };
            return Err(impossible_weight(vessel, mass, what, limit, word!("a weight between empty and full")));
        }
        Ok(if under > DOUBTED {
            Some(say!("{mass}, below the empty weight ({weight})", mass, weight = grams(empty.weight)))
        } else if over > DOUBTED {
            Some(say!("{mass}, above the weight of a full one ({full})", mass, full = grams(empty.weight + full)))
        } else {
            None
        })
    }
}

fn grams(mg: f64) -> String {
    format!("{:.0} g", mg / 1_000.0)
}

fn millilitres(vessel: &Vessel) -> String {
    format!("{:.0} ml", vessel.size.as_f64() / 1_000.0)
}

fn impossible_weight(
    vessel: &Vessel,
    mass: Mass,
    what: &'static str,
    limit: f64,
    expected: &'static str,
) -> LevelError {
    LevelError::Impossible { item: vessel.name.clone(), reading: mass.to_string(), what, limit: grams(limit), expected }
}

/// What the content of a full one may weigh, in milligrams: about what is known of it, else anything that is poured; a
/// piece may weigh anything.
fn content_weighs(vessel: &Vessel) -> RangeInclusive<f64> {
    let size = vessel.size.as_f64();
    match vessel.per_unit() {
        Some((per_unit, _)) => size * per_unit * 0.9..=size * per_unit * 1.1,
        None if vessel.basis == Basis::Each => 0.0..=f64::INFINITY,
        None => size * POURED.start()..=size * POURED.end(),
    }
}

fn judge_sealed(vessel: &Vessel, mass: Mass) -> Result<Option<String>, LevelError> {
    let weight = mass.mg as f64;
    let (least, most) = content_weighs(vessel).into_inner();
    let expected = word!("the weight of a full one");
    match vessel.empty {
        Some(empty) if weight <= empty.weight => {
            Err(impossible_weight(vessel, mass, word!("no heavier than an empty container"), empty.weight, expected))
        }
        Some(empty) => {
            let (least, most) = (empty.weight + least, empty.weight + most);
            let odd = !(least..=most).contains(&weight);
            Ok(odd.then(|| {
                say!(
                    "{mass} for a full one (expected {least} to {most})",
                    mass,
                    least = grams(least),
                    most = grams(most)
                )
            }))
        }
        None if weight <= least => {
            Err(impossible_weight(vessel, mass, word!("lighter than its content alone"), least, expected))
        }
        // Glass rarely weighs more than twice what it holds.
        None => Ok((weight > 3.0 * most)
            .then(|| say!("{mass} for a full one of {vessel}", mass, vessel = millilitres(vessel)))),
    }
}

fn judge_height(vessel: &Vessel, height: i64, wide: f64) -> Result<Option<String>, LevelError> {
    let item = || vessel.name.clone();
    let outline = vessel.outline.as_ref().ok_or_else(|| LevelError::NoProfile { item: item() })?;
    let (base, fill, top) = outline.marks();
    let mm = height as f64 / 1_000.0;
    let impossible = |what, limit: f64, expected| LevelError::Impossible {
        item: item(),
        reading: Reading::Height(height).to_string(),
        what,
        limit: say!("{limit} mm", limit = words::fixed(limit, 0)),
        expected,
    };
    let slack = top * 0.05 * (wide - 1.0);
    if mm > top + RULER + slack {
        return Err(impossible(
            word!("taller than the container"),
            top,
            word!("the height of the liquid above the table"),
        ));
    }
    if mm < base - 3.0 * HOLDING - slack {
        return Err(impossible(
            word!("below where the liquid begins"),
            base,
            word!("the height of the liquid above the table"),
        ));
    }
    let reading = Reading::Height(height);
    Ok((mm > fill + 3.0 * HOLDING).then(|| {
        say!("{reading}, above the liquid of a sealed one ({fill} mm)", reading, fill = words::fixed(fill, 0))
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::gauge::Outline;
    use crate::domain::measure::{Amount, Strength};
    use crate::domain::venue::{ItemId, Kind, Shape, TenthsOf};

    /// A spirit of 40 % vol in bottles of 700 ml and 500 g: full they weigh 500 + 700 × 0.947 = 1163 g.
    fn spirit() -> Item {
        let size = Amount(700_000);
        let plain = Item::new(ItemId(1), "Any", Kind::Spirit, Basis::Volume, size, CountBy::Tenths);
        Item { abv: Some(Strength(4_000)), empty_weight: Some(Amount(500_000)), ..plain }
    }

    fn gauges(item: &Item, shape: Option<Shape>) -> Gauges {
        let outline = shape.map(|shape| Outline::generic(shape, item.size));
        Gauges::of_one(item.id, Vessel::new(item, outline, &[]), 1_000.0, TenthsOf::Height)
    }

    fn check(item: &Item, shape: Option<Shape>, typed: &str) -> Result<Option<String>, String> {
        gauges(item, shape).check(item, &Entry::parse(typed).unwrap()).map_err(|e| e.to_string())
    }

    #[test]
    fn a_weight_is_between_empty_and_full() {
        for (typed, want) in [
            ("800g", Ok(None)),
            ("495g", Ok(None)),
            ("480g", Ok(Some("below the empty weight (500 g)"))),
            ("450g", Err("lighter than an empty container (500 g)")),
            ("1170g", Ok(None)),
            ("1195g", Ok(Some("above the weight of a full one (1163 g)"))),
            ("1300g", Err("heavier than a full container (1163 g)")),
            // The first of several that is wrong decides.
            (".4 1300g", Err("heavier than a full container")),
        ] {
            let found = check(&spirit(), None, typed);
            match (&found, want) {
                (Ok(None), Ok(None)) => {}
                (Ok(Some(said)), Ok(Some(want))) | (Err(said), Err(want)) => assert!(said.contains(want), "{said}"),
                _ => panic!("{typed}: {found:?}"),
            }
        }
    }

    #[test]
    fn what_is_not_known_is_said_and_never_guessed() {
        let nothing = Item { abv: None, empty_weight: None, kind: Kind::Liqueur, ..spirit() };
        let empty_only = Item { empty_weight: Some(Amount(500_000)), ..nothing.clone() };
        // A liqueur's strength alone says too little: its sugar may be anything.
        let strong = Item { abv: Some(Strength(2_500)), ..empty_only.clone() };
        for (item, typed, want) in [
            (&nothing, "812g", "no empty weight"),
            (&empty_only, "812g", "the density"),
            (&strong, "812g", "the density"),
            (&nothing, "143mm", "the shape of the container"),
        ] {
            let said = check(item, None, typed).unwrap_err();
            assert!(said.contains(want) && said.contains("tenths such as .4"), "{said}");
        }
        let whole = Item { count_by: CountBy::Whole, ..spirit() };
        assert!(check(&whole, None, "1.4").unwrap_err().contains("only whole containers"));
        assert_eq!(check(&whole, None, "14"), Ok(None));
    }

    #[test]
    fn a_height_is_within_the_container() {
        let (base, fill, top) = Outline::generic(Shape::Round, Amount(700_000)).marks();
        let typed = |mm: f64| format!("{mm:.0}mm");
        let look = |mm: f64| check(&spirit(), Some(Shape::Round), &typed(mm));
        assert_eq!(look(fill / 2.0), Ok(None));
        assert_eq!(look(base), Ok(None));
        assert!(look(fill + 6.0).unwrap().is_some_and(|said| said.contains("above the liquid of a sealed one")));
        assert!(look(top + 3.0).unwrap_err().contains("taller than the container"));
    }

    /// What is known may move a little after a reading was accepted: what was just possible then stays readable.
    #[test]
    fn a_kept_reading_has_more_room() {
        let entry = Entry::parse("470g").unwrap();
        assert!(gauges(&spirit(), None).check(&spirit(), &entry).is_err());
        assert!(gauges(&spirit(), None).check_kept(&spirit(), &entry).is_ok());
        assert!(gauges(&spirit(), None).check_kept(&spirit(), &Entry::parse("400g").unwrap()).is_err());
    }

    #[test]
    fn containers_put_on_the_scale_weigh_what_they_can() {
        let item = spirit();
        let unknown = Item { empty_weight: None, ..item.clone() };
        let look = |item: &Item, state, grams| {
            let gauges = gauges(item, None);
            gauges.check_weighing(&gauges.vessel_of(item), state, Mass::grams(grams)).map_err(|e| e.to_string())
        };
        for (of, state, grams, want) in [
            (&item, WeighedAs::Empty, 505, Ok(None)),
            (&item, WeighedAs::Empty, 560, Ok(Some("known so far: 500 g"))),
            (&item, WeighedAs::Sealed, 1_165, Ok(None)),
            (&item, WeighedAs::Sealed, 900, Ok(Some("for a full one (expected 1097 g to 1229 g)"))),
            (&item, WeighedAs::Sealed, 480, Err("no heavier than an empty container")),
            (&item, WeighedAs::Opened, 1_300, Err("heavier than a full container")),
            (&unknown, WeighedAs::Empty, 520, Ok(None)),
            (&unknown, WeighedAs::Empty, 0, Err("nothing on the scale")),
            (&unknown, WeighedAs::Empty, 1_500, Ok(Some("for an empty one of 700 ml"))),
            (&unknown, WeighedAs::Sealed, 500, Err("lighter than its content alone")),
            (&unknown, WeighedAs::Opened, 800, Err("no empty weight")),
        ] {
            let found = look(of, state, grams);
            match (&found, want) {
                (Ok(None), Ok(None)) => {}
                (Ok(Some(said)), Ok(Some(want))) | (Err(said), Err(want)) => assert!(said.contains(want), "{said}"),
                _ => panic!("{state} {grams}: {found:?}"),
            }
        }
    }
}
