//! What a bill most likely answers: an order that is on its way, or a delivery that was booked before the bill came.

use super::Invoice;
use crate::domain::venue::{ItemId, name_key};
use chrono::{Days, NaiveDate};

/// A bill without a day of delivery is written so many days after it at most: bills are collected over a month (common
/// practice, no source).
const COLLECTED: u64 = 31;

/// What a bill may answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate<'a> {
    /// Its name, or the number on its paper.
    pub name: &'a str,
    /// Each item once, in containers.
    pub items: &'a [(ItemId, i64)],
    /// The business day of a delivery; none of an order.
    pub came: Option<NaiveDate>,
    /// Another bill answers it already.
    pub billed: bool,
}

/// How well a bill answers something; what is greater goes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fit {
    /// Nothing of it is charged.
    None,
    /// Some of it is charged.
    Shares,
    /// A delivery of those days with the same containers of at least half of what is charged.
    OfThoseDays,
    /// An order of at least half of what is charged.
    Expected,
    /// A delivery of the very day that the bill says, with the same containers of at least half of what is charged; or
    /// several that come out to the container of all that is.
    OfItsDay,
    /// The bill names it.
    Named,
}

impl Fit {
    /// Whether a bill is set beside it unasked.
    pub fn is_likely(self) -> bool {
        self > Fit::Shares
    }

    /// How well `invoice`, which charges so many containers of each item, answers `candidate`.
    ///
    /// A delivery that the bill would only put a price on is held to more than an order, of which somebody still says what
    /// came: goods that came with the bill must not be taken for others that were there before.
    pub fn of(invoice: &Invoice, charged: &[(ItemId, i64)], candidate: &Candidate<'_>) -> Fit {
        let is_named = |reference: &Option<String>| {
            reference.as_deref().is_some_and(|reference| name_key(reference) == name_key(candidate.name))
        };
        // Many suppliers give the delivery note the number of the bill.
        let is_of_its_number = candidate.came.is_some() && is_named(&Some(invoice.number.clone()));
        if is_named(&invoice.order_ref) || is_named(&invoice.despatch_ref) || is_of_its_number {
            return Fit::Named;
        }
        let of = |item: ItemId| candidate.items.iter().find(|(had, _)| *had == item).map(|(_, containers)| *containers);
        let half = |hits: usize| hits > 0 && hits * 2 >= charged.len();
        let hits = charged.iter().filter(|(item, _)| of(*item).is_some()).count();
        let equal = charged.iter().filter(|(item, containers)| of(*item) == Some(*containers)).count();
        match candidate.came {
            _ if hits == 0 => Fit::None,
            None if half(hits) => Fit::Expected,
            None => Fit::Shares,
            // Of another paper than the bill is for, or of one that has its bill.
            Some(_) if invoice.despatch_ref.is_some() || candidate.billed || !half(equal) => Fit::Shares,
            Some(came) => match invoice.delivered {
                Some(delivered) if delivered == came => Fit::OfItsDay,
                // After midnight, or booked on the morning after.
                Some(delivered) if came.signed_duration_since(delivered).num_days().abs() == 1 => Fit::OfThoseDays,
                Some(_) => Fit::Shares,
                None if invoice.may_collect(came) => Fit::OfThoseDays,
                None => Fit::Shares,
            },
        }
    }
}

impl Invoice {
    /// Whether goods that came on a day may stand on the bill: it is written so long after them at most.
    pub fn may_collect(&self, came: NaiveDate) -> bool {
        let first = self.issued.checked_sub_days(Days::new(COLLECTED));
        let last = self.issued.checked_add_days(Days::new(1));
        first.is_none_or(|first| first <= came) && last.is_none_or(|last| came <= last)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::receive::sample::bill;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    const GIN: ItemId = ItemId(1);
    const RUM: ItemId = ItemId(2);
    const LIME: ItemId = ItemId(3);

    fn written(issued: &str, delivered: Option<&str>) -> Invoice {
        Invoice { issued: day(issued), delivered: delivered.map(day), ..bill(Vec::new()) }
    }

    fn delivery<'a>(items: &'a [(ItemId, i64)], came: &str) -> Candidate<'a> {
        Candidate { name: "L-7", items, came: Some(day(came)), billed: false }
    }

    #[test]
    fn a_delivery_is_answered_only_where_containers_and_days_agree() {
        let charged = [(GIN, 6), (RUM, 6)];
        let same = [(GIN, 6), (RUM, 6), (LIME, 50)];
        let other = [(GIN, 5), (RUM, 4)];
        let fit = |invoice: &Invoice, items: &[(ItemId, i64)], came| Fit::of(invoice, &charged, &delivery(items, came));
        let dated = written("2026-11-22", Some("2026-11-22"));
        for (items, came, want) in [
            (&same[..], "2026-11-22", Fit::OfItsDay),
            (&same, "2026-11-21", Fit::OfThoseDays),
            (&same, "2026-11-23", Fit::OfThoseDays),
            // The van of the week before brought the same.
            (&same, "2026-11-15", Fit::Shares),
            (&same, "2026-11-20", Fit::Shares),
            // Other containers on the very day.
            (&other, "2026-11-22", Fit::Shares),
            (&same[..1], "2026-11-22", Fit::OfItsDay),
            (&same[2..], "2026-11-22", Fit::None),
        ] {
            assert_eq!(fit(&dated, items, came), want, "{items:?} {came}");
        }
        let undated = written("2026-11-22", None);
        for (came, want) in [
            ("2026-11-23", Fit::OfThoseDays),
            ("2026-10-22", Fit::OfThoseDays),
            ("2026-10-21", Fit::Shares),
            ("2026-11-24", Fit::Shares),
        ] {
            assert_eq!(fit(&undated, &same, came), want, "{came}");
        }
        let billed = Candidate { billed: true, ..delivery(&same, "2026-11-22") };
        assert_eq!(Fit::of(&dated, &charged, &billed), Fit::Shares);
    }

    #[test]
    fn what_the_bill_names_goes_first_and_another_paper_is_not_guessed() {
        let charged = [(GIN, 6)];
        let mut invoice = written("2026-11-22", Some("2026-11-22"));
        invoice.despatch_ref = Some("l-7".to_owned());
        assert_eq!(Fit::of(&invoice, &charged, &delivery(&[(RUM, 1)], "2026-01-01")), Fit::Named);
        invoice.despatch_ref = Some("L-8".to_owned());
        assert_eq!(Fit::of(&invoice, &charged, &delivery(&charged, "2026-11-22")), Fit::Shares);
    }

    #[test]
    fn an_order_goes_by_its_items_alone() {
        let order = |items| Candidate { name: "B-11", items, came: None, billed: false };
        let charged = [(GIN, 6), (RUM, 6), (LIME, 50)];
        let invoice = written("2026-11-22", None);
        assert_eq!(Fit::of(&invoice, &charged, &order(&[(GIN, 12), (RUM, 1)])), Fit::Expected);
        assert_eq!(Fit::of(&invoice, &charged, &order(&[(GIN, 6)])), Fit::Shares);
        assert_eq!(Fit::of(&invoice, &[], &order(&[(GIN, 6)])), Fit::None);
        assert!(Fit::OfItsDay > Fit::Expected && Fit::Expected > Fit::OfThoseDays);
    }
}
