//! Why a gap is not exact: everything that can move it although nothing is wrong, line by line.

use crate::domain::gauge::{Part, Source, Tally};
use crate::domain::measure::{Amount, Basis};
use crate::domain::statistics::Blurred;
use crate::domain::venue::{Item, PouredBy, Setup};

/// Which of the two counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum End {
    /// The one that the period begins with.
    Opening,
    /// The one that it ends with.
    Closing,
}

/// One thing that can move a gap although nothing is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Doubt {
    /// What the readings of a count have for themselves.
    Reading(End, Part),
    /// How eyes that were never checked scatter, in the readings of a count.
    Unchecked(End),
    /// What all readings of the item share, as far as it does not cancel between the two counts.
    Shared(Source),
    /// The fill of the containers that were opened.
    Fill,
    /// How one pour differs from another.
    Pours,
    /// The waste that the specs allow for.
    Waste,
    /// Losses that were written down by estimate.
    Losses,
}

/// A line of the budget.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoubtLine {
    /// What it comes from.
    pub doubt: Doubt,
    /// Of how many: containers opened, pours poured.
    pub number: Option<f64>,
    /// Standard uncertainty, in the item's base unit.
    pub u: f64,
}

/// How eyes and pours scatter in a book, as far as its quiet items tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spreads {
    /// Standard deviation of an unchecked eye's reading besides its step, as a share of the container.
    pub eye: f64,
    /// What the standard deviation of a pour is to be multiplied by.
    pub pours: f64,
    /// What that of a sealed container's fill is to be multiplied by: lots are mostly filled better than the law asks.
    pub fill: f64,
    /// Gaps that this was learned from; none where the settings are taken at their word.
    pub gaps: usize,
}

impl Spreads {
    /// Before anything was learned: eyes exact but for their step, pours as set.
    pub const AS_SET: Spreads = Spreads { eye: 0.0, pours: 1.0, fill: 1.0, gaps: 0 };
}

/// A reading of one tenth stands for everything from nothing to 0.15, one of nine for everything from 0.85 to full: half
/// as wide again as others, with half of half a step more on the one side. The amount stays as it was read; the gap is
/// judged with the middle of what it stands for (GUM 4.3.8).
const EDGE: f64 = 1.5;

/// What the readings of one count have for themselves.
#[derive(Clone, Debug, Default, PartialEq)]
struct Readings {
    own: Vec<(Part, f64)>,
    /// Squared sensitivities to unchecked eyes.
    unchecked: f64,
}

impl Readings {
    fn of(tally: &Tally) -> Readings {
        let mut own = tally.own().to_vec();
        // Wider by half at an edge, see [`EDGE`].
        let more: f64 = tally.edges().iter().map(|half| half * half * (EDGE * EDGE - 1.0) / 3.0).sum();
        if let Some((_, variance)) = own.iter_mut().find(|(part, _)| *part == Part::EyeStep) {
            *variance += more;
        }
        Readings { own, unchecked: tally.unchecked() }
    }

    fn variance(&self, spreads: &Spreads) -> f64 {
        self.own.iter().map(|(_, variance)| variance).sum::<f64>() + self.unchecked * spreads.eye * spreads.eye
    }
}

/// What pours of an item were like.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Poured {
    /// How many.
    pub number: f64,
    /// The sum of their variances, by the settings of the book.
    pub variance: f64,
    /// What the specs allow for waste in them.
    pub waste: Amount,
    /// Some take a part of a piece.
    pub parts: bool,
}

impl Poured {
    /// So many pours of an amount each.
    pub fn add(&mut self, setup: &Setup, item: &Item, number: f64, amount: Amount, waste: Amount) {
        let spread = spread_of_one(setup, item, amount);
        self.number += number;
        self.variance += number.abs() * spread * spread;
        self.waste += waste;
        self.parts |= item.basis == Basis::Each && amount.0 % PIECE != 0;
    }
}

/// A pour is never less even than by a quarter of itself (common practice, no source): a dash is not off by a jigger's
/// error.
const COARSEST: f64 = 0.25;

/// One piece of what is counted by each, in its base unit.
const PIECE: i64 = 1_000;

/// Standard deviation of one pour of an amount, in the item's base unit; by mass as many grams as millilitres by volume.
/// Whole containers and single pieces are not measured out.
pub fn spread_of_one(setup: &Setup, item: &Item, amount: Amount) -> f64 {
    let pours = &setup.venue.pours;
    let spread = match item.poured_by.unwrap_or(pours.by) {
        PouredBy::Jigger => pours.jigger,
        PouredBy::Free => pours.free,
        PouredBy::Whole => return 0.0,
    };
    let whole = item.size > Amount::ZERO && amount.0 % item.size.0 == 0;
    match item.basis {
        _ if whole => 0.0,
        Basis::Each if amount.0 % PIECE == 0 => 0.0,
        // A part of a piece is cut by eye.
        Basis::Each => COARSEST * amount.as_f64().abs(),
        Basis::Volume | Basis::Mass => spread.as_f64().min(COARSEST * amount.as_f64().abs()),
    }
}

/// Everything that can move a gap although nothing is wrong. Variances in the square of the item's base unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Budget {
    opening: Readings,
    closing: Readings,
    shared: Vec<(Source, f64)>,
    halves: Vec<f64>,
    lean: f64,
    opened: f64,
    fill: f64,
    poured: Poured,
    /// Variance of losses by estimate.
    losses: f64,
}

/// The half-widths of what is rectangular, those of readings at an edge made wider.
fn widened(used: &Tally) -> Vec<f64> {
    let mut halves = used.halves().to_vec();
    for edge in used.edges() {
        if let Some(half) = halves.iter_mut().find(|half| **half == edge.abs()) {
            *half *= EDGE;
        }
    }
    halves
}

impl Budget {
    /// Of two counts, of what went between them as [`Tally::used`] has it, of what was poured, and of the variance of
    /// losses that were estimated.
    pub fn new(opening: &Tally, closing: &Tally, used: &Tally, poured: Poured, losses: f64) -> Budget {
        let (mut opening, mut closing, mut halves) = (Readings::of(opening), Readings::of(closing), widened(used));
        if poured.parts {
            // A piece that was cut counts as a whole one or as none.
            let half = 0.5 * PIECE as f64;
            for readings in [&mut opening, &mut closing] {
                readings.own.push((Part::WholePieces, half * half / 3.0));
                halves.push(half);
            }
        }
        Budget {
            opening,
            closing,
            shared: used.shared().to_vec(),
            halves,
            lean: used.edges().iter().map(|half| half * (EDGE - 1.0)).sum(),
            opened: used.sealed.max(0.0),
            fill: used.fill_variance(),
            poured,
            losses,
        }
    }

    /// Variance of what the opening count's readings have for themselves.
    pub fn of_opening(&self, spreads: &Spreads) -> f64 {
        self.opening.variance(spreads)
    }

    /// Variance of what the closing count's readings have for themselves: the next gap has it too, the other way round.
    pub fn of_closing(&self, spreads: &Spreads) -> f64 {
        self.closing.variance(spreads)
    }

    /// Variance of all the rest: what is poured, opened, wasted and lost between the counts, and what their readings share.
    pub fn of_rest(&self, spreads: &Spreads) -> f64 {
        let shared: f64 = self.shared.iter().map(|(_, u)| u * u).sum();
        shared + self.of_fill(spreads) + self.of_pours(spreads) + self.of_waste() + self.losses
    }

    /// Variance of what the containers held that were opened.
    fn of_fill(&self, spreads: &Spreads) -> f64 {
        self.fill * spreads.fill * spreads.fill
    }

    /// Variance of the pours.
    fn of_pours(&self, spreads: &Spreads) -> f64 {
        self.poured.variance * spreads.pours * spreads.pours
    }

    /// The allowance stands for anything between nothing and twice itself, in all pours alike: rectangular (GUM 4.3.7).
    fn of_waste(&self) -> f64 {
        self.poured.waste.as_f64().powi(2) / 3.0
    }

    /// How many pours it is of.
    pub(super) fn pours(&self) -> f64 {
        self.poured.number
    }

    /// How much more went than the readings as written say, on average: bottles read at one or nine tenths are likely
    /// emptier or fuller than that.
    pub fn lean(&self) -> f64 {
        self.lean
    }

    /// Combined standard uncertainty.
    pub fn u(&self, spreads: &Spreads) -> f64 {
        (self.of_opening(spreads) + self.of_closing(spreads) + self.of_rest(spreads)).sqrt()
    }

    /// The distribution of a gap where nothing is wrong: what is read in steps keeps its short tails.
    pub fn distribution(&self, spreads: &Spreads) -> Blurred {
        let stepped: f64 = self.halves.iter().map(|half| half * half / 3.0).sum();
        let u = self.u(spreads);
        Blurred::new(self.halves.iter().copied(), u * u - stepped)
    }

    /// The same, made ready to be asked with many spreads.
    pub(super) fn taught(&self) -> Taught {
        let steady = Spreads { eye: 0.0, pours: 0.0, fill: 0.0, gaps: 0 };
        let mut halves: Vec<f64> = self.halves.iter().copied().filter(|half| *half > 0.0).collect();
        halves.sort_by(|a, b| b.total_cmp(a));
        Taught {
            steady: self.of_opening(&steady) + self.of_closing(&steady) + self.of_rest(&steady),
            unchecked: self.opening.unchecked + self.closing.unchecked,
            pours: self.poured.variance,
            fill: self.fill,
            stepped: halves.iter().map(|half| half * half / 3.0).sum(),
            halves,
        }
    }

    /// Whether there is anything in it that a book can teach: readings by unchecked eyes, pours, fills.
    pub(super) fn can_teach(&self) -> bool {
        self.opening.unchecked + self.closing.unchecked + self.poured.variance + self.fill > 0.0
    }

    /// Every line of the budget, the largest first; what moves nothing is left out.
    pub fn lines(&self, spreads: &Spreads) -> Vec<DoubtLine> {
        let mut lines = Vec::new();
        let mut add = |doubt: Doubt, number: Option<f64>, variance: f64| {
            if variance > 0.0 {
                lines.push(DoubtLine { doubt, number, u: variance.sqrt() });
            }
        };
        for (end, readings) in [(End::Opening, &self.opening), (End::Closing, &self.closing)] {
            for (part, variance) in &readings.own {
                add(Doubt::Reading(end, *part), None, *variance);
            }
            add(Doubt::Unchecked(end), None, readings.unchecked * spreads.eye * spreads.eye);
        }
        for (source, u) in &self.shared {
            add(Doubt::Shared(*source), None, u * u);
        }
        add(Doubt::Fill, Some(self.opened), self.of_fill(spreads));
        add(Doubt::Pours, Some(self.poured.number), self.of_pours(spreads));
        add(Doubt::Waste, None, self.of_waste());
        add(Doubt::Losses, None, self.losses);
        lines.sort_by(|a, b| b.u.total_cmp(&a.u).then_with(|| a.doubt.cmp(&b.doubt)));
        lines
    }
}

/// A budget as it depends on spreads: all that does not is added up.
#[derive(Clone, Debug)]
pub(super) struct Taught {
    steady: f64,
    unchecked: f64,
    pours: f64,
    fill: f64,
    /// What of the variance the steps make.
    stepped: f64,
    /// Half-widths of what is read in steps, the widest first.
    halves: Vec<f64>,
}

impl Taught {
    /// The square of [`Budget::u`].
    pub(super) fn variance(&self, spreads: &Spreads) -> f64 {
        let Spreads { eye, pours, fill, .. } = spreads;
        self.steady + self.unchecked * eye * eye + self.pours * pours * pours + self.fill * fill * fill
    }

    /// As [`Budget::distribution`], of a variance in all.
    pub(super) fn distribution(&self, variance: f64) -> Blurred {
        Blurred::of_sorted(&self.halves, variance - self.stepped)
    }
}

/// A loss that was estimated lies within this share of what was written down, to either side (common practice, no source).
const ESTIMATED: f64 = 0.25;

/// Variance of a recorded loss: none of whole containers or pieces, which can be seen.
pub(super) fn of_loss(item: &Item, amount: Amount) -> f64 {
    let whole = item.basis == Basis::Each || (item.size > Amount::ZERO && amount.0 % item.size.0 == 0);
    if whole { 0.0 } else { (ESTIMATED * amount.as_f64()).powi(2) / 3.0 }
}
