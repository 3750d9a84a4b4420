//! A bar that is simulated drink by drink, so that what went wrong in it is known: staff pour, bottles empty, counters
//! read them and err, and troubles of every sort happen. What the program is told is only what a bar would write down.
//!
//! Nothing here asks the program how exact anything is.

mod chance;
mod count;
mod made;
mod week;

pub(crate) use made::trade;

use chance::Chance;
use std::collections::BTreeMap;
use tantalus::domain::ledger::{CountLine, Movements, Order, Sale};
use tantalus::domain::measure::Amount;
use tantalus::domain::venue::*;

/// The places of the bar, and who delivers.
pub(crate) const BAR: PlaceId = PlaceId(1);
const VAN: SupplierId = SupplierId(1);

/// What was really the matter with an item in a week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Trouble {
    /// A sealed one was not seen by a count: over at its end, short after it.
    Overlooked,
    /// A sealed one was counted twice.
    Twice,
    /// Booked, and not in the van.
    NotCome,
    /// Came, and was not booked.
    NotBooked,
    /// A whole sealed bottle went.
    Gone,
    /// Some of an opened one went.
    Spilt,
    /// A steady loss, every week.
    Steady,
    /// Every pour is heavy.
    Heavy,
    /// Another bottle was poured instead.
    Twin,
    /// A till name stands for another portion.
    Portion,
    /// A till name stands for another drink.
    WrongDrink,
    /// A till name stands for nothing yet.
    Unmapped,
    /// Sold on after it was empty.
    RanDry,
    /// The opening was left as expected.
    AsExpected,
}

/// What troubles did to an item's gap in a week.
#[derive(Clone, Debug, Default)]
pub(crate) struct Truth {
    /// In millilitres: what the gap would be if everything were read and poured exactly.
    pub(crate) gap: f64,
    /// What was the matter.
    pub(crate) troubles: Vec<Trouble>,
}

/// A week between two counts.
pub(crate) struct Week {
    pub(crate) opening: Vec<CountLine>,
    pub(crate) closing: Vec<CountLine>,
    pub(crate) movements: Movements,
    pub(crate) sales: Vec<Sale>,
    /// By item; nothing where nothing was the matter.
    pub(crate) truth: BTreeMap<ItemId, Truth>,
}

/// How a bar is simulated.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plan {
    /// Items that are poured.
    pub(crate) poured: usize,
    /// Items used whole.
    pub(crate) whole: usize,
    /// Weeks.
    pub(crate) weeks: usize,
    /// The chance that something single is the matter with an item in a week.
    pub(crate) single: f64,
    /// Whether there are lasting troubles.
    pub(crate) lasting: bool,
    /// Opened ones are weighed instead of read by tenths.
    pub(crate) scale: bool,
    /// Standard deviation of one pour, in millilitres.
    pub(crate) pour: f64,
    /// Standard deviation of a reading by eye besides its step, and of what one counter reads too much on average, as
    /// shares of a bottle.
    pub(crate) eye: (f64, f64),
}

impl Plan {
    /// The bar of the issue: 160 items and 16 weeks, read by tenths.
    pub(crate) const USUAL: Plan = Plan {
        poured: 144,
        whole: 16,
        weeks: 16,
        single: 0.025,
        lasting: true,
        scale: false,
        pour: 1.6,
        eye: (0.012, 0.01),
    };
}

/// What the bar has of an item.
struct Stock {
    size: f64,
    whole: bool,
    /// Grams of the empty bottle on the label of the book.
    empty: f64,
    sealed: i64,
    /// What is in the opened ones, and what each weighs empty.
    open: Vec<(f64, f64)>,
    opened_at_once: usize,
    /// Pours in a week, from all drinks.
    demand: f64,
}

impl Stock {
    /// All that there is, in millilitres.
    fn holds(&self) -> f64 {
        self.sealed.max(0) as f64 * self.size + self.open.iter().map(|(level, _)| level).sum::<f64>()
    }
}

/// A drink that is sold under a name.
struct Rung {
    till: TillId,
    /// Times a week.
    rate: f64,
    /// From this week on.
    from: usize,
    /// What really goes: item and millilitres.
    takes: Vec<(usize, f64)>,
}

/// What a name on the till does wrong.
struct Misread {
    till: TillId,
    what: Trouble,
    /// By item: millilitres a rung beside what the book says.
    wrong: Vec<(usize, f64)>,
}

/// A bar that is simulated week by week.
pub(crate) struct Trade {
    pub(crate) setup: Setup,
    /// Orders that were placed.
    pub(crate) orders: Vec<Order>,
    plan: Plan,
    chance: Chance,
    stock: Vec<Stock>,
    counters: Vec<(String, f64)>,
    recipes: Vec<Vec<(usize, f64)>>,
    rung: Vec<Rung>,
    misread: Vec<Misread>,
    lasting: Vec<Lasting>,
    /// What the last count's troubles do to the week after it.
    after: BTreeMap<ItemId, Vec<(Trouble, f64)>>,
    opening: Vec<CountLine>,
    week: usize,
}

fn ml(amount: f64) -> Amount {
    Amount((amount * 1_000.0).round() as i64)
}

/// The moment of an hour of a day of a week.
fn at(week: usize, day: usize, hour: f64) -> Moment {
    Moment(((week * 7 + day) as f64 * 24.0 * 3_600_000.0 + hour * 3_600_000.0) as i64 + 10 * 365 * Moment::DAY)
}

/// A trouble that lasts.
struct Lasting {
    what: Trouble,
    from: usize,
    item: usize,
    other: usize,
    /// Millilitres a week, or a share.
    size: f64,
}

impl Trade {
    /// Items that lose steadily, with the first week.
    pub(crate) fn steady(&self) -> Vec<(ItemId, usize)> {
        let steady = self.lasting.iter().filter(|lasting| lasting.what == Trouble::Steady);
        steady.map(|lasting| (ItemId(lasting.item as i64 + 1), lasting.from)).collect()
    }

    /// A lasting trouble of an item was found, and is there no more.
    pub(crate) fn mend(&mut self, item: ItemId, what: Trouble) {
        let item = item.0 as usize - 1;
        for lasting in self.lasting.iter_mut().filter(|l| l.what == what && (l.item == item || l.other == item)) {
            lasting.from = usize::MAX;
        }
        for misread in self.misread.iter().filter(|m| m.what == what && m.wrong.iter().any(|(i, _)| *i == item)) {
            for rung in self.rung.iter_mut().filter(|rung| rung.till == misread.till) {
                rung.from = usize::MAX;
            }
        }
    }
}
