//! From readings to an amount and its standard uncertainty.

use super::profile::Outline;
use super::uncertainty::{Part, Source, Tally, resolution};
use super::vessel::Vessel;
use super::{Entry, Gauges, Mass, Reading, Sight};
use crate::domain::measure::Amount;
use crate::domain::venue::{CountBy, Item};

/// An amount and its standard uncertainty, both in base units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Level {
    /// How much.
    pub amount: Amount,
    /// One standard uncertainty of it.
    pub u: f64,
}

/// A ruler is held with the naked eye against a curved wall: 1 mm around the true height (common practice, no source), on
/// top of its own division of 1 mm.
pub(super) const HOLDING: f64 = 1.0;
pub(super) const RULER: f64 = 1.0;

/// Nodes and weights of Gauss–Hermite quadrature with three points, for a standard normal variable (Abramowitz and
/// Stegun 25.4.46, rescaled).
const NODES: [(f64, f64); 3] =
    [(-1.732_050_807_568_877_2, 1.0 / 6.0), (0.0, 2.0 / 3.0), (1.732_050_807_568_877_2, 1.0 / 6.0)];

impl Gauges {
    /// What an entry amounts to. `by` is the counter, whose eye may be known.
    ///
    /// It never fails: what was once accepted stays a reading. One that can no longer be read, because the empty weight it
    /// was weighed against was taken back, stands for anything between empty and full.
    pub fn level(&self, item: &Item, entry: &Entry, by: Option<&str>) -> Tally {
        let vessel = self.vessel_of(item);
        let sealed = Tally::sealed(item.size, entry.full, vessel.u_sealed);
        entry.open.iter().fold(sealed, |sum, reading| sum.plus(&self.opened(&vessel, *reading, by)))
    }

    /// What an opened container holds.
    pub fn opened(&self, vessel: &Vessel, reading: Reading, by: Option<&str>) -> Tally {
        let half = vessel.size.as_f64() / 2.0;
        let anything = || Tally::exactly(Amount::rounded(half)).with_rectangular(Part::Unreadable, half);
        match reading {
            Reading::Sight(sight) => self.seen(vessel, sight, by),
            Reading::Mass(mass) => self.weighed(vessel, mass).unwrap_or_else(anything),
            Reading::Height(height) => match &vessel.outline {
                Some(outline) => measured(vessel, outline, height),
                None => anything(),
            },
        }
    }

    /// The entry that an expected amount would be read as: whole containers sealed, the rest opened to the nearest tenth, of
    /// the height where the eye reads that.
    pub fn as_entry(&self, item: &Item, amount: Amount) -> Entry {
        let size = item.size.0.max(1);
        if item.count_by == CountBy::Whole {
            return Entry { full: amount.times(1, size).0.max(0), open: Vec::new() };
        }
        let rest = amount.0.rem_euclid(size) as f64 / size as f64;
        let vessel = self.vessel_of(item);
        let seen = self.as_seen(&vessel, rest);
        // Half to even, as everywhere.
        let tenths = (10.0 * seen).round_ties_even() as u8;
        let full = amount.0.max(0) / size;
        match (amount.0 > 0, tenths) {
            (false, _) => Entry::default(),
            (true, 0) => Entry { full, open: Vec::new() },
            (true, 10..) => Entry { full: full + 1, open: Vec::new() },
            (true, tenths) => Entry { full, open: vec![Reading::tenths(tenths)] },
        }
    }

    /// By eye. A reading stands for anything within half a step to either side with equal chance: rectangular, u = a ÷ √3 (GUM 4.3.7). Of a checked eye, its bias is taken off, its spread added, and what is not known of the bias is shared
    /// by all that this eye reads.
    fn seen(&self, vessel: &Vessel, sight: Sight, by: Option<&str>) -> Tally {
        let (number, eye) = self.eye(by);
        let size = vessel.size.as_f64();
        let half = sight.step.half_width();
        let read = (sight.share() - eye.bias).clamp(0.0, 1.0);
        // Without a shape a tenth is a tenth of what it holds.
        let (share, slope, u_shape) = match self.outline_of_tenths(vessel) {
            None => (read, 1.0, 0.0),
            Some(outline) => {
                let u = (half * half / 3.0 + eye.spread * eye.spread).sqrt();
                let (share, u_share) = spread_over(read, u, |height| outline.share_of_height(height.clamp(0.0, 1.0)));
                (share, u_share / u, outline.u_of(share))
            }
        };
        Tally::exactly(Amount::rounded(share * size))
            .with_rectangular(Part::EyeStep, half * slope * size)
            .with_normal(Part::EyeScatter, eye.spread * slope * size)
            .with_edge(sight.edge() * half * slope * size)
            .with_unchecked(if eye.pairs == 0 { slope * size } else { 0.0 })
            .with_shared(Source::Eye(number), -eye.u_bias * slope * size)
            .with_shared(Source::Profile, u_shape * size)
    }

    /// On the scale: (gross − empty weight) ÷ density. The scale's step is rectangular (GUM F.2.2.1); an empty container
    /// differs from the make's average, and that average, like the density, is the same for all readings of the item.
    fn weighed(&self, vessel: &Vessel, mass: Mass) -> Option<Tally> {
        let (empty, (per_unit, u_per_unit)) = (vessel.empty?, vessel.per_unit()?);
        let net = (mass.mg as f64 - empty.weight) / per_unit;
        // Over full by more than a fill can be is no content any more.
        let most = vessel.size.as_f64() + 4.0 * vessel.u_sealed;
        let held = net.clamp(0.0, most);
        let share = held / vessel.size.as_f64().max(1.0);
        // Where the density is from full ones less the same empty weight, an error there moves empty and not full; what
        // else is not known of the density is then apart from it.
        let rests = vessel.density.map_or(0.0, |d| d.of_empty);
        let u_apart =
            (u_per_unit.powi(2) - (rests * empty.u / (vessel.size.as_f64() * per_unit)).powi(2)).max(0.0).sqrt();
        Some(
            Tally::exactly(Amount::rounded(held))
                .with_rectangular(Part::ScaleStep, self.step_of(mass.step) / 2.0 / per_unit)
                .with_normal(Part::EmptySpread, empty.spread / per_unit)
                .with_shared(Source::EmptyWeight, -(1.0 - rests * share) * empty.u / per_unit)
                .with_shared(Source::Density, -held * u_apart),
        )
    }
}

/// With a ruler: the height becomes a share by the container's outline. Reading and holding the ruler matter by how fast
/// the volume grows there; the shape is the same for all readings of the item.
fn measured(vessel: &Vessel, outline: &Outline, height: i64) -> Tally {
    let size = vessel.size.as_f64();
    let u = resolution(RULER).hypot(HOLDING);
    let (base, _, top) = outline.marks();
    let height = (height as f64 / 1_000.0).clamp(base, top);
    let (share, u_share) = spread_over(height, u, |mm| outline.share_at(mm));
    Tally::exactly(Amount::rounded(share * size))
        .with_normal(Part::Ruler, u_share * size)
        .with_shared(Source::Profile, outline.u_at(height) * size)
}

/// Mean and standard deviation of `f` of a value that lies around `x` with standard uncertainty `u`.
fn spread_over(x: f64, u: f64, f: impl Fn(f64) -> f64) -> (f64, f64) {
    let values = NODES.map(|(node, weight)| (weight, f(x + node * u)));
    let mean: f64 = values.iter().map(|(w, v)| w * v).sum();
    let variance: f64 = values.iter().map(|(w, v)| w * (v - mean).powi(2)).sum();
    (mean, variance.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::measure::{Basis, Sugar};
    use crate::domain::venue::{ItemId, Kind, TenthsOf};

    /// A 700 ml bottle read in tenths.
    fn bottle(kind: Kind) -> Item {
        Item::new(ItemId(1), "Any", kind, Basis::Volume, Amount(700_000), CountBy::Tenths)
    }

    fn gauges(item: &Item, outline: Option<Outline>, tenths_of: TenthsOf) -> Gauges {
        Gauges::of_one(item.id, Vessel::new(item, outline, &[]), 1_000.0, tenths_of)
    }

    fn read(item: &Item, typed: &str) -> Tally {
        gauges(item, None, TenthsOf::Height).level(item, &Entry::parse(typed).unwrap(), None)
    }

    /// GUM (JCGM 100:2008) 4.3.7: a rectangular distribution of half-width a has u = a/√3. Half a tenth of 700 ml is
    /// 35 ml, so u = 20.2 ml; a reading to half a tenth has half of it, to a quarter a quarter; two combine to √2.
    #[test]
    fn by_eye_the_step_is_the_uncertainty() {
        let item = bottle(Kind::Spirit);
        for (typed, amount, u) in [
            (".4", 280_000, 20_207.259),
            (".45", 315_000, 10_103.630),
            (".425", 297_500, 5_051.815),
            (".4.7", 770_000, 28_577.380),
            (".0", 0, 20_207.259),
        ] {
            let found = read(&item, typed);
            assert_eq!(found.amount, Amount(amount), "{typed}");
            assert!((found.u() - u).abs() < 0.001, "{typed}: {}", found.u());
        }
    }

    #[test]
    fn what_is_only_counted_whole_is_exact() {
        let item = Item { count_by: CountBy::Whole, ..bottle(Kind::Beer) };
        assert_eq!(read(&item, "24").u(), 0.0);
    }

    /// A reading whose empty weight was taken back later stands for anything between empty and full: half of it, and
    /// u = 350 ml ÷ √3 (GUM 4.3.7).
    #[test]
    fn what_can_no_longer_be_read_is_anything() {
        for typed in ["812g", "143mm"] {
            let found = read(&bottle(Kind::Spirit), typed);
            assert_eq!(found.amount, Amount(350_000));
            assert!((found.u() - 202_072.59).abs() < 0.01);
        }
    }

    /// Half of the height of a full one is far more than half of what it holds: what the eye reads as height is turned
    /// into volume by the shape, unless the book says that the eye allows for it.
    #[test]
    fn tenths_of_the_height_follow_the_shape() {
        let item = bottle(Kind::Spirit);
        let outline = Outline::generic(crate::domain::venue::Shape::Round, item.size);
        let half = |tenths_of| {
            let gauges = gauges(&item, Some(outline.clone()), tenths_of);
            gauges.level(&item, &Entry::parse(".5").unwrap(), None)
        };
        let (height, volume) = (half(TenthsOf::Height), half(TenthsOf::Volume));
        assert_eq!(volume.amount, Amount(350_000));
        let share = outline.share_of_height(0.5);
        assert!((height.amount.per(item.size) - share).abs() < 0.01 && share > 0.55, "{share}");
        assert!(height.u() > volume.u());
    }

    /// At full, a density from a full and an empty one needs no empty weight any more: (f − e) ÷ (f − e) is one whatever
    /// e is. What is left is the fill of the full one that was weighed, and how one bottle differs from another.
    #[test]
    fn at_full_the_empty_weight_does_not_matter() {
        let known =
            Item { empty_weight: Some(Amount(500_000)), full_weight: Some(Amount(1_200_000)), ..bottle(Kind::Liqueur) };
        let shared = |typed: &str| {
            let one = read(&known, typed);
            // Of two readings, only what they do not share is left in the difference.
            let apart = one.used(Amount::ZERO, &one, known.size).u() / 2_f64.sqrt();
            (one.u().powi(2) - apart.powi(2)).sqrt()
        };
        let empty = Item { sugar: Some(Sugar::GramsPerLitre(2_500)), full_weight: None, ..known.clone() };
        // 5 g of the average at nothing, ÷ 1 g/ml; at full only the full one's own 5 g and its fill of 7.65 ml.
        assert!((shared("500g") - 5_000.0).abs() < 100.0, "{}", shared("500g"));
        assert!((shared("1200g") - 5_000_f64.hypot(7_653.0)).abs() < 100.0, "{}", shared("1200g"));
        assert!(read(&empty, "1200g").amount > Amount(640_000));
    }

    #[test]
    fn an_expected_amount_reads_as_containers() {
        let item = bottle(Kind::Spirit);
        for (ml, want) in [(2_380, "3.4"), (700, "1"), (0, "0"), (-50, "0"), (34, "0"), (36, ".1"), (665, "1")] {
            let entry = gauges(&item, None, TenthsOf::Height).as_entry(&item, Amount(ml * 1_000));
            assert_eq!(entry.to_string(), want, "{ml} ml");
        }
    }

    /// What is confirmed as expected must amount to what was expected, whatever a tenth is a tenth of.
    #[test]
    fn an_expected_amount_is_what_it_was_to_half_a_tenth() {
        let item = bottle(Kind::Spirit);
        for shape in crate::domain::venue::Shape::ALL {
            let outline = Outline::generic(*shape, item.size);
            let gauges = gauges(&item, Some(outline.clone()), TenthsOf::Height);
            for ml in (0..2_100).step_by(7) {
                let expected = Amount(ml * 1_000);
                let found = gauges.level(&item, &gauges.as_entry(&item, expected), None).amount;
                let rest = expected.per(item.size).fract();
                let step = outline.share_of_height((outline.height_share_of(rest) + 0.05).min(1.0)) - rest;
                let within = step.max(0.05).max(rest - outline.share_of_height(outline.height_share_of(rest) - 0.05));
                assert!((found - expected).per(item.size).abs() <= within + 0.015, "{shape} {ml} ml: {found:?}");
            }
        }
    }
}
