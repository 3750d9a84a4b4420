//! How a supplier has delivered: late, short, and at what prices.

use crate::domain::ledger::{Delivery, Order};
use crate::domain::venue::{ItemId, OrderState, Setup, SupplierId};
use chrono::NaiveDate;
use std::collections::HashMap;

/// A delivery that comes later than this is none of the order's any more, in days.
const AWAITED: i64 = 21;

/// What a supplier's orders and deliveries say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// Orders of which is known when they should have come and when they came, or that they are late.
    pub orders: usize,
    /// Those that were late, by name with the days; one that has not come yet by the days so far.
    pub late: Vec<(String, i64)>,
    /// Lines of these orders.
    pub lines: usize,
    /// Lines of which fewer came with the first delivery than were ordered.
    pub short: usize,
    /// How prices have moved from each item's first delivery to its last, in percent, each item by what was bought of it;
    /// nothing where nothing was bought twice.
    pub drift: Option<f64>,
    /// Items whose price rose, with the percent, the most first.
    pub dearer: Vec<(ItemId, f64)>,
}

/// The record of a supplier by the orders and deliveries given, as of a day. What is left of an order that came in part is
/// an order of its own and not looked at.
pub fn record(
    setup: &Setup,
    supplier: SupplierId,
    orders: &[Order],
    deliveries: &[Delivery],
    today: NaiveDate,
) -> Record {
    let mut out = Record::default();
    let mut came: Vec<&Delivery> = deliveries.iter().filter(|d| d.supplier == supplier && d.containers > 0).collect();
    came.sort_by_key(|delivery| delivery.at);
    let day_of = |delivery: &Delivery| setup.venue.days.day_of(delivery.at);
    // What one order got is not there for the next.
    let mut left: Vec<i64> = came.iter().map(|delivery| delivery.containers).collect();
    let mut of_supplier: Vec<&Order> = orders.iter().filter(|o| o.supplier == supplier && !o.is_rest()).collect();
    of_supplier.sort_by_key(|order| (order.placed, order.id));
    for order in of_supplier {
        let (Some(placed), Some(expected)) = (order.placed, order.expected) else { continue };
        let of_order = |n: &usize| {
            let (delivery, day) = (came[*n], day_of(came[*n]));
            let ordered = order.lines.iter().any(|line| line.item == delivery.item);
            left[*n] > 0 && delivery.at > placed && (day - expected).num_days() <= AWAITED && ordered
        };
        let first = (0..came.len()).find(of_order).map(|n| day_of(came[n]));
        let late = (first.unwrap_or(today) - expected).num_days();
        match (first, order.state) {
            (Some(_), _) => {}
            (None, OrderState::Sent) if late > 0 => {}
            // Not due yet, given up, or come before deliveries were written down.
            _ => continue,
        }
        out.orders += 1;
        if late > 0 {
            out.late.push((order.name.clone(), late));
        }
        let Some(first) = first else { continue };
        for line in &order.lines {
            let mut missing = line.containers();
            let of_line = |(d, _): &(&&Delivery, &mut i64)| d.item == line.item && day_of(d) == first;
            for (_, left) in came.iter().zip(&mut left).filter(of_line) {
                let taken = missing.min(*left).max(0);
                *left -= taken;
                missing -= taken;
            }
            out.lines += 1;
            out.short += usize::from(missing > 0);
        }
    }
    let mut by_item: HashMap<ItemId, Vec<&Delivery>> = HashMap::new();
    for delivery in came {
        by_item.entry(delivery.item).or_default().push(delivery);
    }
    let (mut then, mut now) = (0.0, 0.0);
    for (item, of_item) in by_item {
        let [first, .., last] = &of_item[..] else { continue };
        if first.unit_price.0 <= 0 {
            continue;
        }
        let bought: i64 = of_item.iter().map(|delivery| delivery.containers).sum();
        then += first.unit_price.0 as f64 * bought as f64;
        now += last.unit_price.0 as f64 * bought as f64;
        if last.unit_price.0 > first.unit_price.0 {
            out.dearer.push((item, 100.0 * (last.unit_price.0 as f64 / first.unit_price.0 as f64 - 1.0)));
        }
    }
    out.drift = (then > 0.0).then(|| 100.0 * (now / then - 1.0));
    out.dearer.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    out
}

#[cfg(test)]
mod tests;
