//! From the height of a liquid to its volume: the container as a stack of frusta, scaled so that what a sealed one is
//! filled to is what it nominally holds.

use super::numeric::halved;
use super::uncertainty::rectangular;
use crate::domain::measure::Amount;
use crate::domain::venue::{Measures, Profile, Section, Shape};
use std::f64::consts::PI;

/// A point of the outline: how high, in millimetres above where the liquid begins, and how wide there, as the radius of a
/// circle of the same area.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Point {
    height: f64,
    radius: f64,
}

/// Volume of a frustum up to `h` of its height `height`, its radius going straight from `below` to `above`:
/// π h (R² + R r + r²) ÷ 3, with r the radius at h (elementary solid geometry).
fn frustum(below: f64, above: f64, height: f64, h: f64) -> f64 {
    let r = below + (above - below) * h / height;
    PI * h * (below * below + below * r + r * r) / 3.0
}

/// A height-to-volume table of one container.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    form: Form,
    /// What it nominally holds, in cubic millimetres.
    size: f64,
    /// Millimetres above the table at which the liquid begins.
    base: f64,
    /// Millimetres above the table of the highest liquid it can hold.
    top: f64,
    /// Millimetres above the table of the liquid in a sealed one.
    fill: f64,
    /// Relative standard uncertainty of the volume at half full, for the shape is never quite the one measured. It falls
    /// to nothing towards empty and full, where the shape no longer matters.
    u_shape: f64,
    /// Standard uncertainty of the volume at `fill`, as a share, when nobody measured where that is.
    u_fill: f64,
    /// Relative standard uncertainty of its heights: nothing for one that was measured, much for a shape that every book
    /// knows, since real ones of the same content are taller and thinner or lower and wider.
    u_height: f64,
}

#[derive(Clone, Debug, PartialEq)]
enum Form {
    /// Points from the bottom up, and the factor from cubic millimetres to shares of the nominal volume.
    Solid { points: Vec<Point>, scale: f64 },
    /// Heights above the table and the share of the nominal volume there.
    Table(Vec<(f64, f64)>),
}

/// What a container is, once its shape is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ProfileError {
    /// The measures are those of another size.
    #[error("{}", say!("these measures enclose {encloses} ml, and it holds {holds} ml; expected millimetres, and this very container", encloses, holds))]
    Size {
        /// What they enclose, ml.
        encloses: i64,
        /// What it nominally holds, ml.
        holds: i64,
    },
    /// Fillings that end below full, with no height of a full one.
    #[error("{}", say!("the highest filling is {last} ml, and it holds {holds} ml; expected one at full", last, holds))]
    Short {
        /// The last filling, ml.
        last: i64,
        /// What it nominally holds, ml.
        holds: i64,
    },
    /// A length that no container has.
    #[error("{}", word!("expected every length above 0 and below 2000 mm"))]
    Length,
    /// A neck as wide as the body, or wider.
    #[error("{}", word!("expected a neck narrower than the body"))]
    Neck,
    /// The bottom reaches the shoulder.
    #[error("{}", word!("expected a bottom thinner than the body is high"))]
    Base,
    /// A sealed one is filled to no place in its neck or shoulder.
    #[error("{}", word!("expected the fill height above the bottom and at most the height of the whole container"))]
    Fill,
    /// Too few fillings, or not rising.
    #[error("{}", word!("expected at least two heights by filling, each higher and with more in it than the one before"))]
    Fillings,
    /// Neither measured nor filled.
    #[error("{}", word!("expected measures, or heights and volumes found by filling"))]
    Nothing,
}

/// Relative standard uncertainty of the volume at half full: of a container measured from outside with a ruler, of one of
/// the shapes every book knows, and of one whose heights were found by filling (common practice, no source).
const U_MEASURED: f64 = 0.015;
const U_GENERIC: f64 = 0.04;
const U_FILLED: f64 = 0.004;
/// Of the shapes that every book knows: where a full one is filled to, as a share of the volume, and how tall it is
/// (common practice, no source: bottles of 700 ml are 70 to 85 mm wide).
const U_GENERIC_FILL: f64 = 0.01;
const U_GENERIC_HEIGHT: f64 = 0.06;

/// What a container measured from outside may hold of what its measures enclose: no glass at all, or as much glass as
/// content.
const ENCLOSED: std::ops::RangeInclusive<f64> = 0.9..=2.0;
/// The least share of what a container nominally holds that the highest filling must reach.
const REACHED: f64 = 0.98;

/// Points of the shapes that every book knows, from the bottom up: height as a share of the whole, radius (of a circle of
/// the same area) as a share of the body's. Our own drawing, of no make.
const ROUND: &[(f64, f64)] = &[
    (0.0, 0.93),
    (0.02, 1.0),
    (0.60, 1.0),
    (0.645, 0.97),
    (0.68, 0.88),
    (0.705, 0.74),
    (0.73, 0.56),
    (0.76, 0.42),
    (0.80, 0.37),
    (1.0, 0.36),
];
const SQUARE: &[(f64, f64)] =
    &[(0.0, 0.95), (0.015, 1.0), (0.62, 1.0), (0.65, 0.94), (0.675, 0.70), (0.69, 0.44), (0.72, 0.33), (1.0, 0.31)];
const DUMPY: &[(f64, f64)] = &[
    (0.0, 0.90),
    (0.03, 1.0),
    (0.55, 1.0),
    (0.63, 0.95),
    (0.69, 0.80),
    (0.73, 0.58),
    (0.76, 0.38),
    (0.80, 0.31),
    (1.0, 0.30),
];

/// Of the shapes that every book knows: the height of the whole for a body one wide, the thickness of the bottom as a
/// share of the height, and where a sealed one is filled to, as a share of the height above the bottom.
fn generic(shape: Shape) -> (&'static [(f64, f64)], f64, f64, f64) {
    match shape {
        Shape::Round => (ROUND, 3.9, 0.025, 0.84),
        Shape::Square => (SQUARE, 3.8, 0.03, 0.82),
        Shape::Dumpy => (DUMPY, 2.2, 0.04, 0.86),
    }
}

impl Outline {
    /// One of the shapes that every book knows, of the size that holds `size` (µl) when filled as a sealed one is.
    pub fn generic(shape: Shape, size: Amount) -> Outline {
        let (shares, slender, bottom, full) = generic(shape);
        let points = |height: f64, radius: f64| -> Vec<Point> {
            shares.iter().map(|(h, r)| Point { height: h * height, radius: r * radius }).collect()
        };
        // One unit wide first; then as much larger in every direction as the volume asks for.
        let height = slender * (1.0 - bottom);
        let unit = volume(&points(height, 0.5), full * height);
        let larger = (size.as_f64().max(1.0) / unit).cbrt();
        let points = points(height * larger, 0.5 * larger);
        let (base, inside) = (slender * bottom * larger, height * larger);
        let scale = 1.0 / volume(&points, full * inside);
        Outline {
            form: Form::Solid { points, scale },
            size: size.as_f64(),
            base,
            top: base + inside,
            fill: base + full * inside,
            u_shape: U_GENERIC,
            u_fill: U_GENERIC_FILL,
            u_height: U_GENERIC_HEIGHT,
        }
    }

    /// Whether a shape makes a container at all, of whatever size.
    ///
    /// # Errors
    /// [`ProfileError`].
    pub fn sound(profile: &Profile) -> Result<(), ProfileError> {
        let size = match (profile.fillings.last(), &profile.measures) {
            (Some(last), _) => last.volume,
            (None, Some(measures)) => Amount(Outline::enclosed(measures)? as i64),
            (None, None) => return Err(ProfileError::Nothing),
        };
        Outline::of(profile, size).map(|_| ())
    }

    /// A container of this book that nominally holds `size` (µl).
    ///
    /// # Errors
    /// [`ProfileError`] of measures that make no container.
    pub fn of(profile: &Profile, size: Amount) -> Result<Outline, ProfileError> {
        match (&profile.fillings[..], &profile.measures) {
            ([], None) => Err(ProfileError::Nothing),
            ([], Some(measures)) => Outline::measured(measures, size),
            (_, measures) => {
                let base = measures.map_or(0.0, |m| millimetres(m.base));
                Outline::filled(profile, base, measures.and_then(|m| m.fill_height), size)
            }
        }
    }

    /// Whether a shape can be that of a container which nominally holds `size` (µl): what was measured from outside must
    /// enclose about as much, and not the thousandth of it that centimetres make; what was found by filling must reach
    /// full, or say where that is.
    ///
    /// # Errors
    /// [`ProfileError`].
    pub fn fits(profile: &Profile, size: Amount) -> Result<Outline, ProfileError> {
        let outline = Outline::of(profile, size)?;
        let ml = |microlitres: f64| (microlitres / 1_000.0).round() as i64;
        let holds = ml(size.as_f64());
        if let Some(last) = profile.fillings.last()
            && profile.measures.is_none_or(|m| m.fill_height.is_none())
            && last.volume.per(size) < REACHED
        {
            return Err(ProfileError::Short { last: ml(last.volume.as_f64()), holds });
        }
        if let Some(measures) = profile.measures.as_ref().filter(|_| profile.fillings.is_empty()) {
            let encloses = Outline::enclosed(measures)?;
            if !ENCLOSED.contains(&(encloses / size.as_f64().max(1.0))) {
                return Err(ProfileError::Size { encloses: ml(encloses), holds });
            }
        }
        Ok(outline)
    }

    /// What the measures of a container enclose up to where a sealed one is filled, in microlitres.
    fn enclosed(m: &Measures) -> Result<f64, ProfileError> {
        let outline = Outline::measured(m, Amount(1))?;
        match outline.form {
            Form::Solid { scale, .. } => Ok(1.0 / scale),
            Form::Table(_) => Err(ProfileError::Nothing),
        }
    }

    /// A body, a shoulder and a neck as straight lines between what was measured.
    fn measured(m: &Measures, size: Amount) -> Result<Outline, ProfileError> {
        let lengths = [m.body_diameter, m.body_height, m.shoulder_height, m.neck_diameter, m.neck_height];
        if lengths.iter().any(|l| *l <= 0 || *l >= 2_000_000) || m.base < 0 {
            return Err(ProfileError::Length);
        }
        if m.neck_diameter >= m.body_diameter {
            return Err(ProfileError::Neck);
        }
        if m.base >= m.body_height {
            return Err(ProfileError::Base);
        }
        // In whole micrometres: one that is filled to its brim is not above it by a rounding.
        let brim = m.body_height + m.shoulder_height + m.neck_height;
        if m.fill_height.is_some_and(|fill| fill <= m.base || fill > brim) {
            return Err(ProfileError::Fill);
        }
        let body = match m.section {
            Section::Round => millimetres(m.body_diameter) / 2.0,
            // The circle of the same area as the square.
            Section::Square => millimetres(m.body_diameter) / PI.sqrt(),
        };
        let neck = millimetres(m.neck_diameter) / 2.0;
        let base = millimetres(m.base);
        let body_ends = millimetres(m.body_height) - base;
        let shoulder_ends = body_ends + millimetres(m.shoulder_height);
        let neck_ends = shoulder_ends + millimetres(m.neck_height);
        let outline = [(0.0, body), (body_ends, body), (shoulder_ends, neck), (neck_ends, neck)];
        let points: Vec<Point> =
            outline.iter().map(|(height, radius)| Point { height: *height, radius: *radius }).collect();
        // Where nobody measured it, a sealed one is taken to be filled to the middle of its neck.
        let fill = m.fill_height.map_or((shoulder_ends + neck_ends) / 2.0, |f| (millimetres(f) - base).min(neck_ends));
        let full = volume(&points, fill);
        let half_neck = (volume(&points, neck_ends) - volume(&points, shoulder_ends)) / 2.0;
        Ok(Outline {
            form: Form::Solid { points, scale: 1.0 / full },
            size: size.as_f64(),
            base,
            top: base + neck_ends,
            fill: base + fill,
            u_shape: U_MEASURED,
            u_fill: if m.fill_height.is_some() { 0.0 } else { rectangular(half_neck / full) },
            u_height: 0.0,
        })
    }

    /// Straight lines between the heights that somebody filled it to. Volumes found so are what they are: they are scaled
    /// to the nominal one only where the height of a sealed one is known too.
    fn filled(profile: &Profile, base: f64, fill: Option<i64>, size: Amount) -> Result<Outline, ProfileError> {
        let rising = profile.fillings.windows(2).all(|w| w[0].height < w[1].height && w[0].volume < w[1].volume);
        let sound = profile.fillings.iter().all(|f| millimetres(f.height) > base && f.volume > Amount::ZERO);
        if profile.fillings.len() < 2 || !rising || !sound || size <= Amount::ZERO {
            return Err(ProfileError::Fillings);
        }
        let mut table = vec![(base, 0.0)];
        table.extend(profile.fillings.iter().map(|f| (millimetres(f.height), f.volume.per(size))));
        let (top, _) = table[table.len() - 1];
        let fill = match fill.map(millimetres) {
            Some(fill) if fill <= base || fill > top => return Err(ProfileError::Fill),
            Some(fill) => {
                let full = between(&table, fill);
                table.iter_mut().for_each(|(_, share)| *share /= full);
                fill
            }
            // Where what it nominally holds stands; the highest filling where that is less.
            None => heights_of(&table, 1.0),
        };
        let size = size.as_f64();
        Ok(Outline { form: Form::Table(table), size, base, top, fill, u_shape: U_FILLED, u_fill: 0.0, u_height: 0.0 })
    }

    /// The share of the nominal volume that stands in it when the liquid is `height` millimetres above the table.
    pub fn share_at(&self, height: f64) -> f64 {
        let height = height.clamp(self.base, self.top);
        match &self.form {
            Form::Solid { points, scale } => volume(points, height - self.base) * scale,
            Form::Table(table) => between(table, height),
        }
    }

    /// How fast that share grows, per millimetre.
    pub fn slope_at(&self, height: f64) -> f64 {
        let (low, high) = ((height - 0.5).max(self.base), (height + 0.5).min(self.top));
        if high <= low { 0.0 } else { (self.share_at(high) - self.share_at(low)) / (high - low) }
    }

    /// The height, in millimetres above the table, at which so much of the nominal volume stands in it.
    pub fn height_of(&self, share: f64) -> f64 {
        halved(self.base, self.top, |height| self.share_at(height) < share)
    }

    /// The share of the nominal volume when the liquid stands at a share of the height that it has in a sealed one.
    pub fn share_of_height(&self, part: f64) -> f64 {
        self.share_at(self.base + part * (self.fill - self.base))
    }

    /// The reverse: how high the liquid stands, as a share of its height in a sealed one.
    pub fn height_share_of(&self, share: f64) -> f64 {
        (self.height_of(share) - self.base) / (self.fill - self.base)
    }

    /// Standard uncertainty, as a share of the nominal volume, that the shape brings to a share of it.
    pub fn u_of(&self, share: f64) -> f64 {
        let share = share.clamp(0.0, 1.0);
        // Half of the uncertainty at half full, for a part of the nominal one; nothing at the ends.
        let shape = self.u_shape * 2.0 * share * (1.0 - share);
        shape.hypot(self.u_fill * share)
    }

    /// The same for what stands at a height that a ruler found, which is a height of this very container.
    pub fn u_at(&self, height: f64) -> f64 {
        let stretched = self.slope_at(height) * (height - self.base).max(0.0) * self.u_height;
        self.u_of(self.share_at(height)).hypot(stretched)
    }

    /// Millimetres above the table: where the liquid begins, where it stands in a sealed one, and the highest it can.
    pub fn marks(&self) -> (f64, f64, f64) {
        (self.base, self.fill, self.top)
    }

    /// How wide it is inside at a height above the table, in millimetres, as if it were round; for drawing.
    pub fn width_at(&self, height: f64) -> f64 {
        let area = self.slope_at(height).max(0.0) * self.size;
        2.0 * (area / PI).sqrt()
    }
}

fn millimetres(micrometres: i64) -> f64 {
    micrometres as f64 / 1_000.0
}

/// Volume of a stack of frusta up to a height, in cubic millimetres, that is microlitres.
fn volume(points: &[Point], height: f64) -> f64 {
    let parts = points.windows(2).map(|w| {
        let whole = w[1].height - w[0].height;
        let h = (height - w[0].height).clamp(0.0, whole);
        if whole <= 0.0 { 0.0 } else { frustum(w[0].radius, w[1].radius, whole, h) }
    });
    parts.sum()
}

/// Between two lines of a table in proportion.
fn between(table: &[(f64, f64)], x: f64) -> f64 {
    let at = table.partition_point(|(h, _)| *h <= x);
    match (at.checked_sub(1).and_then(|n| table.get(n)), table.get(at)) {
        (Some((h0, v0)), Some((h1, v1))) => v0 + (v1 - v0) * (x - h0) / (h1 - h0),
        (Some((_, v)), None) | (None, Some((_, v))) => *v,
        (None, None) => 0.0,
    }
}

/// The same the other way round.
fn heights_of(table: &[(f64, f64)], share: f64) -> f64 {
    let turned: Vec<(f64, f64)> = table.iter().map(|(h, v)| (*v, *h)).collect();
    between(&turned, share)
}
