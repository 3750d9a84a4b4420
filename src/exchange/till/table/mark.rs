//! The decimal mark of a table: what its cells say of it together.

use super::number::{Of, Says, says};
use crate::domain::measure::Currency;
use crate::domain::till::{DecimalMark, Field};

/// What the numbers of a field are of; none where a field has no figures.
pub(super) fn figures_of(field: Field) -> Option<Of> {
    match field {
        Field::Quantity => Some(Of::Pieces),
        Field::Net | Field::Gross | Field::Tax => Some(Of::Money),
        Field::TaxRate => Some(Of::Percent),
        _ => None,
    }
}

/// What some cells say of the mark, counted.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Marks {
    point: usize,
    comma: usize,
    /// Read both ways.
    either: usize,
    /// Of those, amounts that are likelier with decimals after a point, and after a comma.
    like_point: usize,
    like_comma: usize,
}

/// What they come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Verdict {
    /// This mark.
    Is(DecimalMark),
    /// Cells of both marks; more of this one, or as many of each.
    Mixed(Option<DecimalMark>),
    /// Only cells that could be read both ways.
    Open,
    /// No cell has a mark.
    Nothing,
}

impl Marks {
    /// Counts a cell.
    pub(super) fn see(&mut self, cell: &str, of: Of, currency: Currency) {
        match says(cell, of, currency) {
            Says::Is(DecimalMark::Point) => self.point += 1,
            Says::Is(DecimalMark::Comma) => self.comma += 1,
            Says::Is(DecimalMark::Unknown) | Says::Nothing => {}
            Says::Either => {
                self.either += 1;
                // Amounts are written with the decimals that the coin has: three digits after a mark are those of a coin
                // of three, and hardly those of a coin of two (common practice, no source).
                let three = currency.decimals() == 3;
                match cell.find(['.', ',']).map(|at| cell[at..].starts_with('.')) {
                    Some(point) if of == Of::Money && point == three => self.like_point += 1,
                    Some(_) if of == Of::Money => self.like_comma += 1,
                    _ => {}
                }
            }
        }
    }

    /// What they come to together. One of the other mark among ten or more is a slip, which the reading names.
    pub(super) fn verdict(self) -> Verdict {
        let (most, least, mark) = if self.point >= self.comma {
            (self.point, self.comma, DecimalMark::Point)
        } else {
            (self.comma, self.point, DecimalMark::Comma)
        };
        match (most, least) {
            (0, _) if self.either > 0 => Verdict::Open,
            (0, _) => Verdict::Nothing,
            (most, least) if most == least => Verdict::Mixed(None),
            (most, least) if least * 10 > most => Verdict::Mixed(Some(mark)),
            _ => Verdict::Is(mark),
        }
    }

    /// The likelier mark, where nothing tells: by what cells there are, else by what stands between them (common practice).
    pub(super) fn likelier(self, delimiter: u8) -> DecimalMark {
        let by = |point: usize, comma: usize| match point.cmp(&comma) {
            std::cmp::Ordering::Greater => Some(DecimalMark::Point),
            std::cmp::Ordering::Less => Some(DecimalMark::Comma),
            std::cmp::Ordering::Equal => None,
        };
        let usual = if delimiter == b';' { DecimalMark::Comma } else { DecimalMark::Point };
        by(self.point, self.comma).or_else(|| by(self.like_point, self.like_comma)).unwrap_or(usual)
    }
}
