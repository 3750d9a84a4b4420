//! Bottles whose contents are known, read with instruments of stated errors: how often the interval holds the truth.
//!
//! The errors are drawn from what the program states of each instrument; nothing here asks the program for an error.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use tantalus::domain::gauge::{
    Entry, Eye, Gauges, Mass, Outline, PRIOR_BIAS, PRIOR_SPREAD, Pair, Reading, Sight, Step, Tally, WeighedAs,
    Weighing, density,
};
use tantalus::domain::measure::{Amount, Basis, Strength};
use tantalus::domain::venue::*;

/// What the bottles hold, in millilitres.
const SIZE: f64 = 700.0;
const ITEM: ItemId = ItemId(1);
const WHO: &str = "OM";
/// Millilitres within which fills scatter: 15 ml tolerable error ÷ 1.96 (Directive 76/211/EEC).
const FILL: f64 = 15.0 / 1.96;

/// A source of errors.
pub(crate) struct Chance(ChaCha8Rng);

impl Chance {
    pub(crate) fn new(seed: u64) -> Chance {
        Chance(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Anything between two values with equal chance.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }

    /// Normal around nought (Box and Muller 1958).
    pub(crate) fn normal(&mut self, sd: f64) -> f64 {
        let (a, b): (f64, f64) = (self.0.random::<f64>().max(1e-300), self.0.random());
        sd * (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

/// A make of bottle, as it is: the average empty weight, and the strength on its label.
struct Make {
    empty: f64,
    /// Standard deviation of one bottle's empty weight.
    spread: f64,
    label: f64,
}

impl Make {
    fn any(chance: &mut Chance) -> Make {
        // One percent on average, and not the same for every make: an inverse chi-square distribution of six degrees of
        // freedom, which is what counting the assumed spread as four weighings says.
        let empty = chance.between(350.0, 750.0);
        let chi: f64 = (0..6).map(|_| chance.normal(1.0).powi(2)).sum();
        Make { empty, spread: 0.01 * empty * (4.0 / chi).sqrt(), label: chance.between(37.0, 55.0).round() }
    }

    /// Grams of one of its bottles.
    fn bottle(&self, chance: &mut Chance) -> f64 {
        self.empty + chance.normal(self.spread)
    }

    /// Grams of a millilitre of what is in them: the strength is within 0.3 % vol of the label.
    fn density(&self, chance: &mut Chance) -> f64 {
        let strength = (self.label + chance.between(-0.3, 0.3)) / 100.0;
        density::in_air(density::of_mixture(strength, 0.0, 20.0)) / 1_000.0
    }

    fn item(&self, kind: Kind) -> Item {
        let size = Amount((SIZE * 1_000.0) as i64);
        let plain = Item::new(ITEM, "Bottle", kind, Basis::Volume, size, CountBy::Tenths);
        Item { abv: Some(Strength((self.label * 100.0) as i64)), ..plain }
    }
}

fn setup(item: Item) -> Setup {
    Setup::new(Parts {
        items: vec![item],
        ..Parts::new(Venue::new(
            "Simulated",
            "EUR".parse().expect("a coin"),
            DayRule { zone: chrono_tz::Tz::UTC, starts: chrono::NaiveTime::MIN },
        ))
    })
}

fn on_scale(grams: f64) -> Mass {
    Mass::grams(grams.round() as i64)
}

fn weighing(state: WeighedAs, grams: f64, seen: Option<Reading>) -> Weighing {
    Weighing {
        seq: Seq(0),
        at: Moment(0),
        item: ITEM,
        state,
        weight: on_scale(grams),
        seen,
        mark: None,
        place: None,
        by: Some(WHO.to_owned()),
    }
}

fn empties(make: &Make, number: usize, chance: &mut Chance) -> Vec<Weighing> {
    (0..number).map(|_| weighing(WeighedAs::Empty, make.bottle(chance), None)).collect()
}

/// How a method did over many bottles.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Score {
    /// Bottles.
    pub(crate) tried: u32,
    /// Those whose true content lay in the interval of 95 %.
    pub(crate) held: u32,
    /// Sum of what was read too much, ml.
    pub(crate) off: f64,
    /// Sum of its squares.
    pub(crate) squares: f64,
    /// Sum of the variances that the program stated, ml².
    pub(crate) stated: f64,
}

impl Score {
    fn add(&mut self, tally: &Tally, truth: f64) {
        let off = tally.amount.as_f64() / 1_000.0 - truth;
        self.tried += 1;
        self.held += u32::from(off.abs() <= tally.half_width() / 1_000.0 + 0.5e-3);
        self.off += off;
        self.squares += off * off;
        self.stated += (tally.u() / 1_000.0).powi(2);
    }

    /// Share of bottles whose content lay in the interval.
    pub(crate) fn coverage(&self) -> f64 {
        f64::from(self.held) / f64::from(self.tried)
    }

    /// What was read too much on average, ml.
    pub(crate) fn bias(&self) -> f64 {
        self.off / f64::from(self.tried)
    }

    /// Root of the mean square error, ml.
    pub(crate) fn rms(&self) -> f64 {
        (self.squares / f64::from(self.tried)).sqrt()
    }

    /// Root of the mean variance that was stated, ml.
    pub(crate) fn stated(&self) -> f64 {
        (self.stated / f64::from(self.tried)).sqrt()
    }
}

/// A method, and what it is tried with.
pub(crate) struct Method {
    pub(crate) name: &'static str,
    pub(crate) try_one: fn(&mut Chance, &mut Score),
}

/// Every method of gauging.
pub(crate) const METHODS: &[Method] = &[
    Method { name: "eye, tenths, a perfect eye", try_one: |chance, score| perfect_eye(Step::Tenth, chance, score) },
    Method { name: "eye, half-tenths", try_one: |chance, score| perfect_eye(Step::HalfTenth, chance, score) },
    Method { name: "eye, tenths of the height", try_one: eye_by_height },
    Method { name: "eye, 1 pair weighed", try_one: |chance, score| checked_eye(1, chance, score) },
    Method { name: "eye, 5 pairs weighed", try_one: |chance, score| checked_eye(5, chance, score) },
    Method { name: "eye, 20 pairs weighed", try_one: |chance, score| checked_eye(20, chance, score) },
    Method { name: "scale, 1 empty bottle weighed", try_one: |chance, score| scale(1, chance, score) },
    Method { name: "scale, 5 empty bottles weighed", try_one: |chance, score| scale(5, chance, score) },
    Method { name: "scale, a full and an empty one weighed", try_one: calibrated },
    Method { name: "scale, the same one full and empty", try_one: same_bottle },
    Method { name: "ruler, a bottle measured", try_one: ruler },
    Method { name: "ruler, a shape of every book", try_one: ruler_of_any },
    Method { name: "sealed", try_one: sealed },
    Method { name: "2 sealed, eye, scale and ruler together", try_one: mixed },
    Method { name: "used between two mixed counts", try_one: used },
];

/// An eye that was never checked, taken at its word: what it claims is not so, and a check is what mends that.
#[allow(dead_code)] // The tables show it; no test can ask it to be right.
pub(crate) const UNCHECKED: Method =
    Method { name: "eye, tenths, never checked, of a staff as assumed", try_one: |c, score| checked_eye(0, c, score) };

/// Runs a method over so many bottles.
pub(crate) fn run(method: &Method, seed: u64, bottles: u32) -> Score {
    let (mut chance, mut score) = (Chance::new(seed), Score::default());
    for _ in 0..bottles {
        (method.try_one)(&mut chance, &mut score);
    }
    score
}

fn step(step: Step) -> f64 {
    2.0 * step.half_width()
}

/// What an eye that sees `share` writes down; the fullest it can write is one step below full.
fn seen(share: f64, by: Step) -> Reading {
    let most = (1.0 / step(by)).round() - 1.0;
    let steps = (share / step(by)).round().clamp(0.0, most);
    Reading::Sight(Sight { thousandths: (steps * step(by) * 1_000.0).round() as u16, step: by })
}

fn level(gauges: &Gauges, item: &Item, open: Vec<Reading>) -> Tally {
    gauges.level(item, &Entry { full: 0, open }, Some(WHO))
}

/// A content that an eye can write, from half a tenth above nothing to half a tenth below full.
fn content(chance: &mut Chance) -> f64 {
    chance.between(0.05, 0.95) * SIZE
}

fn perfect_eye(by: Step, chance: &mut Chance, score: &mut Score) {
    let item = Make::any(chance).item(Kind::Spirit);
    let truth = content(chance);
    score.add(&level(&Gauges::new(&setup(item.clone()), &[]), &item, vec![seen(truth / SIZE, by)]), truth);
}

/// A bottle as it is, when its shape is not quite the one on file.
struct Shaped {
    outline: Outline,
    /// Nothing is off at empty and full, and most half-way.
    off: f64,
    /// A full one is filled to somewhat more or less than the mark.
    full: f64,
    /// It is taller and thinner, or lower and wider.
    tall: f64,
}

impl Shaped {
    /// Of one of the shapes that every book knows: right to 4 % at half full, filled to 1 %, as tall to 6 %.
    fn generic(shape: Shape, chance: &mut Chance) -> Shaped {
        let outline = Outline::generic(shape, Amount((SIZE * 1_000.0) as i64));
        Shaped { outline, off: chance.normal(0.04), full: chance.normal(0.01), tall: chance.normal(0.06) }
    }

    /// Measured from outside, with the height of a full one: right to 1.5 % at half full.
    fn measured(profile: &Profile, chance: &mut Chance) -> Shaped {
        let outline = Outline::of(profile, Amount((SIZE * 1_000.0) as i64)).expect("a bottle");
        Shaped { outline, off: chance.normal(0.015), full: 0.0, tall: 0.0 }
    }

    fn content(&self, height: f64) -> f64 {
        let (base, ..) = self.outline.marks();
        let share = self.outline.share_at(base + (height - base) / (1.0 + self.tall));
        SIZE * (share + self.off * 2.0 * share * (1.0 - share) + self.full * share)
    }

    /// A height of the liquid between two parts of that in a sealed one of this shape.
    fn height(&self, from: f64, up_to: f64, chance: &mut Chance) -> f64 {
        let (base, fill, _) = self.outline.marks();
        base + (fill - base) * (1.0 + self.tall) * chance.between(from, up_to)
    }
}

/// A bottle of 700 ml, measured with a ruler, as the form on the screen asks for it.
fn measured_profile() -> Profile {
    let measures = Measures {
        section: Section::Round,
        base: 6_000,
        body_diameter: 76_500,
        body_height: 150_000,
        shoulder_height: 32_000,
        neck_diameter: 29_000,
        neck_height: 80_000,
        fill_height: Some(222_000),
    };
    Profile { id: ProfileId(1), name: "Measured".to_owned(), measures: Some(measures), fillings: Vec::new() }
}

fn any_shape(chance: &mut Chance) -> Shape {
    Shape::ALL[(chance.between(0.0, 3.0) as usize).min(2)]
}

fn eye_by_height(chance: &mut Chance, score: &mut Score) {
    let shape = any_shape(chance);
    let bottle = Shaped::generic(shape, chance);
    let (base, fill, _) = bottle.outline.marks();
    // Tenths are of this very bottle's height.
    let bottle = Shaped { tall: 0.0, ..bottle };
    let height = bottle.height(0.05, 0.95, chance);
    let item = Item { shape: Some(ItemShape::Generic(shape)), ..Make::any(chance).item(Kind::Spirit) };
    let gauges = Gauges::new(&setup(item.clone()), &[]);
    let reading = seen((height - base) / (fill - base), Step::Tenth);
    score.add(&level(&gauges, &item, vec![reading]), bottle.content(height));
}

/// A counter: an eye with a bias and a spread as they are.
pub(crate) struct Counter {
    pub(crate) bias: f64,
    pub(crate) spread: f64,
}

impl Counter {
    /// One of a staff whose eyes differ as much as the program believes beforehand.
    pub(crate) fn any(chance: &mut Chance) -> Counter {
        Counter { bias: chance.normal(PRIOR_BIAS), spread: chance.normal(PRIOR_SPREAD).abs() }
    }

    fn sees(&self, share: f64, chance: &mut Chance) -> Reading {
        seen(share + self.bias + chance.normal(self.spread), Step::Tenth)
    }
}

/// Weighs so many opened bottles that the counter has read; the make's empty weight is known from ten.
fn checks(counter: &Counter, make: &Make, number: usize, chance: &mut Chance) -> Vec<Weighing> {
    let mut all = empties(make, 10, chance);
    for _ in 0..number {
        // A lot of its own each: the strength is what the label says within its tolerance.
        let density = make.density(chance);
        let truth = chance.between(0.15, 0.8) * SIZE;
        let gross = make.bottle(chance) + truth * density;
        all.push(weighing(WeighedAs::Opened, gross, Some(counter.sees(truth / SIZE, chance))));
    }
    all
}

fn checked_eye(pairs: usize, chance: &mut Chance, score: &mut Score) {
    let (counter, make) = (Counter::any(chance), Make::any(chance));
    let item = make.item(Kind::Spirit);
    let gauges = Gauges::new(&setup(item.clone()), &checks(&counter, &make, pairs, chance));
    // Away from the ends, where no eye can err both ways.
    let truth = chance.between(0.15, 0.8) * SIZE;
    let reading = counter.sees(truth / SIZE, chance);
    score.add(&level(&gauges, &item, vec![reading]), truth);
}

fn scale(known: usize, chance: &mut Chance, score: &mut Score) {
    let make = Make::any(chance);
    let item = make.item(Kind::Spirit);
    let gauges = Gauges::new(&setup(item.clone()), &empties(&make, known, chance));
    let truth = chance.between(0.05, 1.0) * SIZE;
    let gross = make.bottle(chance) + truth * make.density(chance);
    score.add(&level(&gauges, &item, vec![Reading::Mass(on_scale(gross))]), truth);
}

/// A liqueur of which nothing is known but what a full and an empty bottle weigh.
fn calibrated(chance: &mut Chance, score: &mut Score) {
    let make = Make::any(chance);
    let density = chance.between(0.95, 1.15);
    let item = Item { abv: None, ..make.item(Kind::Liqueur) };
    let full = make.bottle(chance) + (SIZE + chance.normal(FILL)) * density;
    let mut all = empties(&make, 1, chance);
    all.push(weighing(WeighedAs::Sealed, full, None));
    let gauges = Gauges::new(&setup(item.clone()), &all);
    let truth = chance.between(0.05, 1.0) * SIZE;
    let gross = make.bottle(chance) + truth * density;
    score.add(&level(&gauges, &item, vec![Reading::Mass(on_scale(gross))]), truth);
}

/// The same, but the empty one is the full one of before.
fn same_bottle(chance: &mut Chance, score: &mut Score) {
    let make = Make::any(chance);
    let density = chance.between(0.95, 1.15);
    let item = Item { abv: None, ..make.item(Kind::Liqueur) };
    let bottle = make.bottle(chance);
    let full = bottle + (SIZE + chance.normal(FILL)) * density;
    let mark = |w: Weighing| Weighing { mark: Some("x".to_owned()), ..w };
    let all = [mark(weighing(WeighedAs::Sealed, full, None)), mark(weighing(WeighedAs::Empty, bottle, None))];
    let gauges = Gauges::new(&setup(item.clone()), &all);
    let truth = chance.between(0.05, 1.0) * SIZE;
    let gross = make.bottle(chance) + truth * density;
    score.add(&level(&gauges, &item, vec![Reading::Mass(on_scale(gross))]), truth);
}

/// Millimetres on a ruler of 1 mm, held 1 mm around the true height.
fn on_ruler(height: f64, chance: &mut Chance) -> Reading {
    Reading::Height(((height + chance.normal(1.0)).round() * 1_000.0) as i64)
}

fn ruler_of_any(chance: &mut Chance, score: &mut Score) {
    let shape = any_shape(chance);
    let bottle = Shaped::generic(shape, chance);
    let item = Item { shape: Some(ItemShape::Generic(shape)), ..Make::any(chance).item(Kind::Spirit) };
    let gauges = Gauges::new(&setup(item.clone()), &[]);
    let height = bottle.height(0.0, 0.9, chance);
    score.add(&level(&gauges, &item, vec![on_ruler(height, chance)]), bottle.content(height));
}

fn ruler(chance: &mut Chance, score: &mut Score) {
    let profile = measured_profile();
    let bottle = Shaped::measured(&profile, chance);
    let item = Item { shape: Some(ItemShape::Own(profile.id)), ..Make::any(chance).item(Kind::Spirit) };
    let mut setup = setup(item.clone());
    setup.profiles = vec![profile];
    let gauges = Gauges::new(&setup, &[]);
    let height = bottle.height(0.0, 0.97, chance);
    score.add(&level(&gauges, &item, vec![on_ruler(height, chance)]), bottle.content(height));
}

fn sealed(chance: &mut Chance, score: &mut Score) {
    let item = Make::any(chance).item(Kind::Spirit);
    let number = 1 + chance.between(0.0, 6.0) as i64;
    let truth = (0..number).map(|_| SIZE + chance.normal(FILL)).sum();
    let gauges = Gauges::new(&setup(item.clone()), &[]);
    score.add(&gauges.level(&item, &Entry { full: number, open: Vec::new() }, None), truth);
}

/// A bar's stock of one make, read in every way at once.
struct Stock {
    make: Make,
    counter: Counter,
    item: Item,
    gauges: Gauges,
    bottle: Shaped,
    density: f64,
}

impl Stock {
    fn any(chance: &mut Chance) -> Stock {
        let (make, counter) = (Make::any(chance), Counter::any(chance));
        let profile = measured_profile();
        let bottle = Shaped::measured(&profile, chance);
        let item = Item { shape: Some(ItemShape::Own(profile.id)), ..make.item(Kind::Spirit) };
        let mut by_volume = setup(item.clone());
        by_volume.profiles = vec![profile];
        by_volume.venue.tenths_of = TenthsOf::Volume;
        let gauges = Gauges::new(&by_volume, &checks(&counter, &make, 10, chance));
        let density = make.density(chance);
        Stock { make, counter, item, gauges, bottle, density }
    }

    /// Some sealed ones and one read in each way: the reading, and what the opened ones truly hold.
    fn look(&self, full: i64, chance: &mut Chance) -> (Tally, f64) {
        let by_eye = chance.between(0.15, 0.8) * SIZE;
        let by_scale = chance.between(0.05, 1.0) * SIZE;
        let height = self.bottle.height(0.0, 0.97, chance);
        let open = vec![
            self.counter.sees(by_eye / SIZE, chance),
            Reading::Mass(on_scale(self.make.bottle(chance) + by_scale * self.density)),
            on_ruler(height, chance),
        ];
        let read = self.gauges.level(&self.item, &Entry { full, open }, Some(WHO));
        (read, by_eye + by_scale + self.bottle.content(height))
    }
}

fn mixed(chance: &mut Chance, score: &mut Score) {
    let stock = Stock::any(chance);
    let (read, opened) = stock.look(2, chance);
    let sealed: f64 = (0..2).map(|_| SIZE + chance.normal(FILL)).sum();
    score.add(&read, opened + sealed);
}

/// Twelve sealed at the opening, six came, ten are left: eight were opened, whatever is in the others.
fn used(chance: &mut Chance, score: &mut Score) {
    let stock = Stock::any(chance);
    let (opening, there) = stock.look(12, chance);
    let (closing, left) = stock.look(10, chance);
    let size = stock.item.size;
    let poured: f64 = (0..8).map(|_| SIZE + chance.normal(FILL)).sum();
    let used = opening.used(size.times(6, 1), &closing, size);
    score.add(&used, there + poured - left);
}

/// What is known of counters after so many pairs: root mean square errors of the bias and of the spread, and of a
/// reading by eye as it is then corrected, in tenths of a container.
pub(crate) fn convergence(pairs: usize, seed: u64, counters: u32) -> (f64, f64, f64) {
    let mut chance = Chance::new(seed);
    let (mut bias, mut spread, mut reading) = (0.0, 0.0, 0.0);
    for _ in 0..counters {
        let counter = Counter::any(&mut chance);
        let variance = 0.05_f64.powi(2) / 3.0 + (5.5 / SIZE).powi(2);
        let off = |chance: &mut Chance| {
            let truth = chance.between(0.15, 0.8);
            let Reading::Sight(seen) = counter.sees(truth, chance) else { return 0.0 };
            seen.share() - truth
        };
        let known: Vec<Pair> =
            (0..pairs).map(|_| Pair { off: off(&mut chance) + chance.normal(5.5 / SIZE), variance }).collect();
        let eye = Eye::learned(&known);
        bias += (eye.bias - counter.bias).powi(2);
        spread += (eye.spread - counter.spread).powi(2);
        reading += (off(&mut chance) - eye.bias).powi(2);
    }
    let root = |sum: f64| 10.0 * (sum / f64::from(counters)).sqrt();
    (root(bias), root(spread), root(reading))
}
