//! Whether a line that stands in two files is one line, though the files say it in two ways.

use crate::domain::ledger::Sale;
use crate::domain::venue::SaleKind;

/// How the line of a file stands to the line of the same receipt and number that the book has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Likewise {
    /// They say the same. A line without a time of its own may stand at another: that is a setting of the venue.
    Same,
    /// The article has another name by now.
    Renamed,
    /// The book took it for a return, and the file, which has more of the receipt, knows what it takes back.
    Undone,
    /// They contradict each other.
    No,
}

/// Compares the line that the book has with the same one of a file; `timed` where the file says when it was rung.
///
/// What is taken back is a void where the line that it takes back stands in the same file, and a return where it does not:
/// of two files the one that has both knows.
pub fn likewise(had: &Sale, said: &Sale, timed: bool) -> Likewise {
    let taken_back = |sale: &Sale| sale.quantity < 0 && matches!(sale.kind, SaleKind::Void | SaleKind::Return);
    let kind = if taken_back(had) && taken_back(said) { had.kind } else { said.kind };
    let at = if timed { said.at } else { had.at };
    let alike = Sale { kind, at, ..*said };
    if (Sale { till: said.till, ..*had }) != alike {
        Likewise::No
    } else if had.kind == SaleKind::Return && said.kind == SaleKind::Void {
        Likewise::Undone
    } else if had.till == said.till {
        Likewise::Same
    } else {
        Likewise::Renamed
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::measure::Money;
    use crate::domain::venue::{Moment, TillId};

    #[test]
    fn lines_that_two_files_say_in_two_ways_are_one() {
        let had = Sale { at: Moment(7), till: TillId(1), quantity: -1_000, net: Money(-900), kind: SaleKind::Return };
        for (said, timed, want) in [
            (had, true, Likewise::Same),
            (Sale { till: TillId(2), ..had }, true, Likewise::Renamed),
            (Sale { at: Moment(8), ..had }, true, Likewise::No),
            (Sale { at: Moment(8), ..had }, false, Likewise::Same),
            (Sale { kind: SaleKind::Void, ..had }, true, Likewise::Undone),
            (Sale { kind: SaleKind::Sale, ..had }, true, Likewise::No),
            (Sale { net: Money(-901), ..had }, true, Likewise::No),
            (Sale { quantity: 1_000, kind: SaleKind::Void, ..had }, true, Likewise::No),
        ] {
            assert_eq!(likewise(&had, &said, timed), want, "{said:?} {timed}");
        }
        // What is known to be a void stays one.
        let void = Sale { kind: SaleKind::Void, ..had };
        assert_eq!(likewise(&void, &had, true), Likewise::Same);
    }
}
