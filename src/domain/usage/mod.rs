//! What was used, what was sold, and where the two differ.

mod budget;
mod cause;
mod demand;
mod dry;
mod gap;
mod goods;
mod groups;
mod learned;
mod recount;
mod review;
mod sold;
mod standing;
mod track;

pub use budget::{Budget, Doubt, DoubtLine, End, Poured, Spreads, spread_of_one};
pub use cause::{Awaited, Cause, Facts, PeriodFacts, Suspect, suspects};
pub use demand::{Asked, AskedDays, AskedSoFar, LATELY, known_days, sold_drinks};
pub use dry::{Look, Told as DayTold, seems_dry, told};
pub use gap::{GapRow, GroupRow, Grouping, NOBODY, Period, Told, Untold, Variance, grouped, summed, variance};
pub use goods::{
    ByMethod, Goods, GoodsBy, GoodsGroup, GoodsRow, LeftOut, LeftOutBecause, Looked, NetSales, Stretch, Worth, goods,
    goods_by, percent_of,
};
pub use groups::GroupTrack;
pub use learned::learned;
pub use recount::{Recount, SECONDS, recounts};
pub use review::{Finding, Review, Verdict};
pub use sold::{Sold, SoldPart, Unmapped, changes, sold};
pub use standing::{Anchor, OnHand, Seen, Standing, anchor, pouring, standing};
pub use track::{Point, Steady, Step, Track, limit_of};
