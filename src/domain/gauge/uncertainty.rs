//! Standard uncertainties and how they combine, by the Guide to the expression of uncertainty in measurement
//! (GUM, JCGM 100:2008).

use super::Level;
use crate::domain::measure::Amount;

/// Standard uncertainty of a value that lies within `a` to either side, anywhere with equal chance (GUM 4.3.7).
pub fn rectangular(a: f64) -> f64 {
    a / 3_f64.sqrt()
}

/// Standard uncertainty of an indication that moves in steps of `division` (GUM F.2.2.1).
pub fn resolution(division: f64) -> f64 {
    division / 12_f64.sqrt()
}

/// What a single reading has for itself: an error there moves it and no other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Part {
    /// The step that an eye reads in.
    EyeStep,
    /// How an eye scatters around its own average.
    EyeScatter,
    /// The step of the scale.
    ScaleStep,
    /// How one empty container differs from the average of its make.
    EmptySpread,
    /// The ruler's division, and how it is held.
    Ruler,
    /// A reading that can no longer be read, and stands for anything.
    Unreadable,
    /// Only whole pieces are counted, of what is also used in parts.
    WholePieces,
}

/// What several readings of one item have in common: an error there moves all of them together, so that it counts
/// fully in their sum and cancels in their difference (GUM 5.2.2, correlation of 1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Source {
    /// The bias of a counter's eye, by the counter's place among [`super::Gauges`]' eyes.
    Eye(usize),
    /// The empty weight of the item's containers.
    EmptyWeight,
    /// The density of what is in them.
    Density,
    /// The shape of the containers.
    Profile,
}

/// A sum of readings of one item: how much, and every part of its uncertainty that does not simply add in quadrature.
/// Base units of the item throughout.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tally {
    /// How much.
    pub amount: Amount,
    /// Sealed containers in it. Those that stay sealed from one count to the next hold what they held, so their fill is
    /// no uncertainty of what went; it is one of what is there.
    pub sealed: f64,
    /// Variance of the fill of one sealed container.
    pub fill: f64,
    /// Variance of what each reading has for itself, by what it comes from.
    own: Vec<(Part, f64)>,
    /// Half-widths of what in it is rectangular, whose tails are short.
    halves: Vec<f64>,
    /// The squared sensitivities to the eye, by readings of eyes that were never checked: times the variance of such an
    /// eye's scatter, it is the variance that their being taken at their word leaves out.
    unchecked: f64,
    /// Of readings of one and of nine tenths, half of their step; below nothing for the one. They may be off by as much again
    /// to that side.
    edges: Vec<f64>,
    /// Sensitivity times standard uncertainty of what is shared, by source; signed.
    shared: Vec<(Source, f64)>,
}

impl Tally {
    /// A known amount.
    pub fn exactly(amount: Amount) -> Tally {
        Tally { amount, ..Tally::default() }
    }

    /// `number` sealed containers of `size`, each with a fill of standard uncertainty `fill`.
    pub fn sealed(size: Amount, number: i64, fill: f64) -> Tally {
        Tally { amount: size.times(number, 1), sealed: number as f64, fill: fill * fill, ..Tally::default() }
    }

    /// With so many sealed containers in it, of a fill that is not asked about.
    #[must_use]
    pub fn with_sealed(mut self, number: i64) -> Tally {
        self.sealed = number as f64;
        self
    }

    /// With a part that is normal, or a sum of many.
    #[must_use]
    pub fn with_normal(mut self, part: Part, u: f64) -> Tally {
        self.own_part(part, u * u);
        self
    }

    /// With a part that is rectangular, of half-width `a`.
    #[must_use]
    pub fn with_rectangular(mut self, part: Part, a: f64) -> Tally {
        self.own_part(part, a * a / 3.0);
        if a > 0.0 {
            self.halves.push(a);
        }
        self
    }

    /// With a reading by an eye that was never checked, of which one moves the amount by `sensitivity`.
    #[must_use]
    pub fn with_unchecked(mut self, sensitivity: f64) -> Tally {
        self.unchecked += sensitivity * sensitivity;
        self
    }

    /// With a reading at an edge: half of its step, below nothing where less may be there than it says.
    #[must_use]
    pub fn with_edge(mut self, half: f64) -> Tally {
        if half != 0.0 {
            self.edges.push(half);
        }
        self
    }

    fn own_part(&mut self, part: Part, variance: f64) {
        match self.own.iter_mut().find(|(p, _)| *p == part) {
            Some((_, sum)) => *sum += variance,
            None if variance > 0.0 => self.own.push((part, variance)),
            None => {}
        }
    }

    /// With a part that is shared: `u` is the sensitivity times the standard uncertainty of the source, with its sign.
    #[must_use]
    pub fn with_shared(mut self, source: Source, u: f64) -> Tally {
        self.share(source, u);
        self
    }

    fn share(&mut self, source: Source, u: f64) {
        match self.shared.iter_mut().find(|(s, _)| *s == source) {
            Some((_, sum)) => *sum += u,
            None if u != 0.0 => self.shared.push((source, u)),
            None => {}
        }
    }

    /// The sum of two, of the same item.
    #[must_use]
    pub fn plus(mut self, other: &Tally) -> Tally {
        self.amount += other.amount;
        self.sealed += other.sealed;
        self.fill = self.fill.max(other.fill);
        other.own.iter().for_each(|(part, variance)| self.own_part(*part, *variance));
        self.halves.extend(&other.halves);
        self.unchecked += other.unchecked;
        self.edges.extend(&other.edges);
        other.shared.iter().for_each(|(source, u)| self.share(*source, *u));
        self
    }

    /// Adds an exact amount.
    #[must_use]
    pub fn shifted(mut self, by: Amount) -> Tally {
        self.amount += by;
        self
    }

    /// What went between this and `later`, when `came` arrived in between and nothing is said of what was sold: this +
    /// came − later. What both readings share cancels; of the sealed containers only those opened in between count.
    #[must_use]
    pub fn used(&self, came: Amount, later: &Tally, size: Amount) -> Tally {
        let mut out = Tally {
            amount: self.amount + came - later.amount,
            // Whole ones: a spill from one in use neither opens nor closes any.
            sealed: (self.sealed + came.per(size) - later.sealed).round().max(0.0),
            fill: self.fill.max(later.fill),
            own: self.own.clone(),
            halves: self.halves.iter().chain(&later.halves).copied().collect(),
            unchecked: self.unchecked + later.unchecked,
            edges: self.edges.iter().copied().chain(later.edges.iter().map(|half| -half)).collect(),
            shared: self.shared.clone(),
        };
        later.own.iter().for_each(|(part, variance)| out.own_part(*part, *variance));
        later.shared.iter().for_each(|(source, u)| out.share(*source, -u));
        out
    }

    /// The biases of eyes in it, by the eye's number: sensitivity times standard uncertainty, signed. They are the same
    /// for whatever else that eye has read, of other items too.
    pub fn of_eyes(&self) -> Vec<(usize, f64)> {
        let eye = |(source, u): &(Source, f64)| match source {
            Source::Eye(number) => Some((*number, *u)),
            _ => None,
        };
        self.shared.iter().filter_map(eye).collect()
    }

    /// What each reading has for itself, by what it comes from, as a variance.
    pub fn own(&self) -> &[(Part, f64)] {
        &self.own
    }

    /// What is shared with other readings of the item: sensitivity times standard uncertainty, signed.
    pub fn shared(&self) -> &[(Source, f64)] {
        &self.shared
    }

    /// Half-widths of what in it is rectangular.
    pub fn halves(&self) -> &[f64] {
        &self.halves
    }

    /// The sum of the squared sensitivities of its readings by eyes that were never checked.
    pub fn unchecked(&self) -> f64 {
        self.unchecked
    }

    /// Of its readings at an edge, half of their step, signed.
    pub fn edges(&self) -> &[f64] {
        &self.edges
    }

    /// Variance of what its readings have for themselves.
    pub fn own_variance(&self) -> f64 {
        self.own.iter().map(|(_, variance)| variance).sum()
    }

    /// Variance of the fill of its sealed containers.
    pub fn fill_variance(&self) -> f64 {
        self.sealed.max(0.0) * self.fill
    }

    fn variance(&self) -> f64 {
        let shared: f64 = self.shared.iter().map(|(_, u)| u * u).sum();
        self.own_variance() + shared + self.fill_variance()
    }

    /// Combined standard uncertainty (GUM 5.1.2, 5.2.2).
    pub fn u(&self) -> f64 {
        self.variance().sqrt()
    }

    /// Half the width of the interval that holds the true amount in 95 of 100 cases (GUM 6.2, with the coverage factor
    /// of [`coverage_factor`]).
    pub fn half_width(&self) -> f64 {
        let variance = self.variance();
        // The fourth cumulant of a rectangular distribution of half-width a is −2a⁴/15.
        let fourth: f64 = self.halves.iter().map(|a| -2.0 * a.powi(4) / 15.0).sum();
        if variance == 0.0 { 0.0 } else { coverage_factor(fourth / (variance * variance)) * variance.sqrt() }
    }

    /// The amount with its standard uncertainty.
    pub fn level(&self) -> Level {
        Level { amount: self.amount, u: self.u() }
    }
}

/// Coverage factors for 95 %, by excess kurtosis of the distribution. At −1.2 stands the rectangular one, 0.95 √3 (GUM
/// G.2.2 and 6.3: one dominating rectangular part calls for 1.65, not 1.96), at 0 the normal one. Between them the mean of
/// two families, computed from their distribution functions: a rectangular one blurred by a normal one, and sums of
/// several rectangular ones; they differ by at most 0.04.
const FACTORS: [(f64, f64); 9] = [
    (-1.2, 1.645),
    (-1.13, 1.676),
    (-1.05, 1.715),
    (-0.95, 1.757),
    (-0.75, 1.832),
    (-0.6, 1.878),
    (-0.4, 1.918),
    (-0.2, 1.941),
    (0.0, 1.960),
];

/// The factor from a standard uncertainty to an interval of 95 %, for a distribution of this excess kurtosis.
pub fn coverage_factor(kurtosis: f64) -> f64 {
    let (first, last) = (FACTORS[0], FACTORS[FACTORS.len() - 1]);
    if kurtosis.is_nan() || kurtosis >= last.0 {
        return last.1;
    }
    let pair = FACTORS.windows(2).find(|w| (w[0].0..w[1].0).contains(&kurtosis));
    pair.map_or(first.1, |w| w[0].1 + (w[1].1 - w[0].1) * (kurtosis - w[0].0) / (w[1].0 - w[0].0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// GUM 4.3.7 (a ÷ √3) and F.2.2.1 (0.29 of a division).
    #[test]
    fn a_half_width_and_a_division() {
        assert!((rectangular(1.0) - 0.577_350).abs() < 1e-6);
        assert!((resolution(0.1) - 0.028_868).abs() < 1e-6);
        assert_eq!(resolution(0.1), rectangular(0.05));
    }

    /// GUM H.1 (end gauge calibration): components 25, 9.7, 2.9 and 16.6 nm combine to 32 nm.
    #[test]
    fn independent_parts_add_in_quadrature() {
        let u = [25.0, 9.7, 2.9, 16.6].into_iter().fold(Tally::default(), |sum, u| sum.with_normal(Part::Ruler, u)).u();
        assert!((u - 32.0).abs() < 0.5, "{u}");
    }

    /// GUM 5.2.2, note 1: with correlation coefficients of +1 the combined uncertainty is the sum of the parts; its
    /// example of ten resistors of 100 mΩ each, calibrated against one standard, gives 1 Ω and not 0.32 Ω.
    #[test]
    fn what_is_shared_adds_up_and_cancels() {
        let one = Tally::default().with_shared(Source::Density, 0.1);
        let ten = (0..10).fold(Tally::default(), |sum, _| sum.plus(&one));
        assert!((ten.u() - 1.0).abs() < 1e-9);
        let apart = (0..10).fold(Tally::default(), |sum, _| sum.with_normal(Part::Ruler, 0.1));
        assert!((apart.u() - 0.316).abs() < 5e-4);
        assert!(ten.used(Amount(5), &ten, Amount(1)).u() < 1e-9);
    }

    #[test]
    fn only_containers_that_were_opened_bring_in_their_fill() {
        let size = Amount(700_000);
        let opening = Tally::sealed(size, 24, 7_000.0);
        let closing = Tally::sealed(size, 32, 7_000.0);
        assert!((opening.u() - 7_000.0 * 24_f64.sqrt()).abs() < 1e-6);
        // 24 + 12 that came − 32: four were opened.
        let used = opening.used(size.times(12, 1), &closing, size);
        assert_eq!(used.amount, size.times(4, 1));
        assert!((used.u() - 14_000.0).abs() < 1e-6);
    }

    #[test]
    fn the_factor_follows_the_shape() {
        let one = Tally::default().with_rectangular(Part::EyeStep, 1.0);
        assert!((one.half_width() - 0.95).abs() < 1e-3);
        // Two equal rectangular parts make a triangular one: 95 % within (1 − √0.05) of its half-width, 2.
        let two = one.clone().with_rectangular(Part::EyeStep, 1.0);
        assert!((two.half_width() - 2.0 * (1.0 - 0.05_f64.sqrt())).abs() < 0.03);
        assert!((Tally::default().with_normal(Part::Ruler, 1.0).half_width() - 1.96).abs() < 1e-9);
        let steps = (0..=120).map(|n| coverage_factor(-1.2 + f64::from(n) / 100.0)).collect::<Vec<_>>();
        assert!(steps.windows(2).all(|w| w[0] <= w[1]));
    }
}
