//! A day's figure that a later report knows otherwise, as lines to add to those that are kept.

use crate::domain::ledger::Sale;
use crate::domain::measure::Money;
use crate::domain::venue::SaleKind;

/// A quantity and its net.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Sum {
    quantity: i64,
    net: Money,
}

impl Sum {
    fn add(&mut self, sale: &Sale) {
        self.quantity = self.quantity.saturating_add(sale.quantity);
        self.net += sale.net;
    }

    fn less(self, other: Sum) -> Sum {
        Sum { quantity: self.quantity.saturating_sub(other.quantity), net: self.net - other.net }
    }
}

/// The lines to keep beside `known` so that all of them say what `total` does: as many, for as much, as much of it taken for
/// money, and as much taken out of stock. None when they say that already.
///
/// What took stock, what gave money back and what did neither are kept apart: a figure that was below zero was a return,
/// which takes nothing, and may be above zero in the next report.
pub fn restated(known: &[Sale], total: Sale) -> Vec<Sale> {
    let mut have = [Sum::default(); 3];
    for sale in known {
        have[Did::of(sale) as usize].add(sale);
    }
    let mut want = [Sum::default(); 3];
    want[Did::of(&total) as usize].add(&total);
    let mut out = Vec::new();
    for did in [Did::Nothing, Did::GaveMoney, Did::TookStock] {
        let lacking = want[did as usize].less(have[did as usize]);
        if lacking != Sum::default() {
            let kind = did.kind(total.kind, lacking.quantity);
            out.push(Sale { quantity: lacking.quantity, net: lacking.net, kind, ..total });
        }
    }
    out
}

/// What a line did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Did {
    /// Neither stock nor money.
    Nothing,
    /// Money alone.
    GaveMoney,
    /// It took its quantity out of stock or put it back, and the money with it.
    TookStock,
}

impl Did {
    fn of(sale: &Sale) -> Did {
        match sale.kind {
            SaleKind::Sale | SaleKind::Comp | SaleKind::Staff => Did::TookStock,
            SaleKind::Void if sale.quantity < 0 => Did::TookStock,
            SaleKind::Void if sale.quantity == 0 => Did::GaveMoney,
            SaleKind::Return => Did::GaveMoney,
            SaleKind::Void | SaleKind::Training => Did::Nothing,
        }
    }

    /// The kind of a line of so many that does it, as near to that of the whole figure as can be.
    fn kind(self, of: SaleKind, quantity: i64) -> SaleKind {
        match (self, of) {
            (Did::TookStock, SaleKind::Sale | SaleKind::Comp | SaleKind::Staff) => of,
            (Did::TookStock, SaleKind::Void) if quantity < 0 => of,
            (Did::TookStock, _) => SaleKind::Sale,
            (Did::GaveMoney, _) => SaleKind::Return,
            (Did::Nothing, SaleKind::Void) if quantity > 0 => of,
            (Did::Nothing, _) => SaleKind::Training,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::venue::{Moment, TillId};
    use proptest::prelude::*;

    fn said(quantity: i64, net: i64, kind: SaleKind) -> Sale {
        Sale { at: Moment(7), till: TillId(1), quantity, net: Money(net), kind }
    }

    /// What is kept after several reports, how many and how much it says, what it took, and what of it was money.
    fn after(reports: &[Sale]) -> (Vec<Sale>, [i64; 4]) {
        let mut kept: Vec<Sale> = Vec::new();
        for total in reports {
            let lines = restated(&kept, *total);
            kept.extend(lines);
        }
        let sums = [
            kept.iter().map(|sale| sale.quantity).sum(),
            kept.iter().map(|sale| sale.net.0).sum(),
            kept.iter().map(Sale::took).sum(),
            kept.iter().map(|sale| sale.money().0).sum(),
        ];
        (kept, sums)
    }

    #[test]
    fn a_figure_that_changes_its_sign_takes_what_it_says() {
        use SaleKind::{Return, Sale as Sold};
        // Two came back, then five were sold: three in all, and they are gone.
        let (kept, sums) = after(&[said(-2_000, -1_800, Return), said(3_000, 2_700, Sold)]);
        assert_eq!(sums, [3_000, 2_700, 3_000, 2_700]);
        assert_eq!(kept[1..], [said(2_000, 1_800, Return), said(3_000, 2_700, Sold)]);
        let (_, sums) = after(&[said(5_000, 4_500, Sold), said(-2_000, -1_800, Return)]);
        assert_eq!(sums, [-2_000, -1_800, 0, -1_800]);
        // Corrected to nothing.
        let (kept, sums) = after(&[said(5_000, 4_500, Sold), said(0, 0, Sold), said(0, 0, Sold)]);
        assert_eq!((kept.len(), sums), (2, [0, 0, 0, 0]));
        assert_eq!(after(&[said(0, 0, Sold)]).0, []);
        // Three taken back on the till, then only two of them.
        let (_, sums) = after(&[said(-3_000, -2_700, SaleKind::Void), said(-2_000, -1_800, SaleKind::Void)]);
        assert_eq!(sums, [-2_000, -1_800, -2_000, -1_800]);
        // Three cancelled before they were made, then only two: no money at any time.
        let (_, sums) = after(&[said(3_000, 2_700, SaleKind::Void), said(2_000, 1_800, SaleKind::Void)]);
        assert_eq!(sums, [2_000, 1_800, 0, 0]);
    }

    fn any_kind() -> impl Strategy<Value = SaleKind> {
        proptest::sample::select(SaleKind::ALL.to_vec())
    }

    proptest! {
        #[test]
        fn what_is_kept_always_says_what_the_last_report_does(
            kind in any_kind(),
            figures in proptest::collection::vec((-9_000_i64..9_000, -9_000_i64..9_000), 1..6),
        ) {
            let reports: Vec<Sale> = figures.iter().map(|(quantity, net)| said(*quantity, *net, kind)).collect();
            let last = reports[reports.len() - 1];
            let (kept, sums) = after(&reports);
            prop_assert_eq!(sums, [last.quantity, last.net.0, last.took(), last.money().0]);
            prop_assert!(restated(&kept, last).is_empty(), "the same again changes nothing");
        }

        #[test]
        fn so_it_does_when_the_kind_changes(
            reports in proptest::collection::vec((any_kind(), -9_000_i64..9_000, -9_000_i64..9_000), 1..6),
        ) {
            let reports: Vec<Sale> = reports.iter().map(|(kind, quantity, net)| said(*quantity, *net, *kind)).collect();
            let last = reports[reports.len() - 1];
            prop_assert_eq!(after(&reports).1, [last.quantity, last.net.0, last.took(), last.money().0]);
        }
    }
}
