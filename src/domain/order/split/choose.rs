//! Chooses a way for each thing so that floors are reached, exactly: the open things are taken one after another, with a
//! list of all partial choices that may still lead to something cheaper.

use super::effort::Effort;
use super::leaf::Leaf;
use super::open::Open;
use super::partial::{Partials, thinned};
use super::pulls::rounded_up;
use super::rest::Rest;

/// From so many partial choices on it pays to find pulls that suit what is left.
const CROWD: usize = 300;

/// How many of them get pulls of their own.
const SAMPLES: usize = 6;

/// What came of a choice.
#[derive(Debug)]
pub(super) struct Chosen {
    /// The picks, by place among those of each thing; `None` where there is nothing that costs less than asked for.
    pub(super) taken: Option<Vec<usize>>,
    /// The lowest bound of what was left out; the largest number where nothing was.
    pub(super) left_out: i64,
}

/// The picks that cost less than `below` and least. At most `width` partial choices are kept at once.
pub(super) fn chosen(leaf: &Leaf, pulls: &[i64], below: i64, width: usize, effort: &mut Effort) -> Chosen {
    let mut left_out = i64::MAX;
    let Some(open) = Open::new(leaf, pulls, below) else { return Chosen { taken: None, left_out } };
    let mut rest = Rest::new(&open);
    let mut best = Best { below, taken: None };
    let (mut now, mut next) = (Partials::first(&open), Partials::empty(&open));
    let mut trail: Vec<Vec<Link>> = Vec::new();
    if let Some(cost) = rest.closed(0, now.cost(0), now.missing(0)) {
        best.take(cost, || open.whole(&[]));
    }
    for at in 0..open.things.len() {
        next.clear();
        let mut links = Vec::new();
        for from in 0..now.len() {
            for (place, pick) in open.things[at].picks.iter().enumerate() {
                next.push(&now, from, pick);
                let last = next.len() - 1;
                let Some(bound) = rest.bound(at + 1, next.cost(last), next.missing(last), best.below) else {
                    next.pop();
                    continue;
                };
                next.set_bound(bound);
                let link = Link { from: from as u32, place: place as u32 };
                links.push(link);
                if let Some(cost) = rest.closed(at + 1, next.cost(last), next.missing(last)) {
                    best.take(cost, || open.whole(&places(&trail, link)));
                }
            }
        }
        if next.len() > CROWD && at + 2 < open.things.len() {
            for missing in next.samples(SAMPLES) {
                rest.suit(&open, at + 1, &missing);
            }
            next.rebound(|cost, missing| rest.bound(at + 1, cost, missing, best.below));
        }
        effort.make(next.len());
        let width = if effort.is_spent() { width.min(effort.least_width()) } else { width };
        let (kept, lowest) = thinned(&next, best.below, width);
        left_out = left_out.min(lowest.map_or(i64::MAX, rounded_up));
        trail.push(kept.iter().map(|place| links[*place]).collect());
        now.take(&next, &kept);
        if now.len() == 0 {
            break;
        }
    }
    Chosen { taken: best.taken, left_out }
}

/// The best that was found.
struct Best {
    /// Nothing is of use that does not cost less than this.
    below: i64,
    taken: Option<Vec<usize>>,
}

impl Best {
    fn take(&mut self, cost: i64, taken: impl FnOnce() -> Vec<usize>) {
        if cost < self.below {
            self.below = cost;
            self.taken = Some(taken());
        }
    }
}

/// Where a partial choice came from, and its last pick.
#[derive(Clone, Copy, Debug)]
struct Link {
    /// Its place in the list before.
    from: u32,
    /// The place of the pick.
    place: u32,
}

/// All picks that lead to one, the first thing first.
fn places(trail: &[Vec<Link>], last: Link) -> Vec<usize> {
    let mut out = vec![last.place as usize];
    let mut from = last.from;
    for links in trail.iter().rev() {
        let link = links[from as usize];
        out.push(link.place as usize);
        from = link.from;
    }
    out.reverse();
    out
}
