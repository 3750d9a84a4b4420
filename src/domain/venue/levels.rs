//! How surely stock must last: the service level, for all that is stocked and for kinds apart.

use super::{Kind, WordError};
use crate::domain::measure::{Decimal, decimal};
use std::collections::BTreeMap;
use std::fmt;
use std::ops::RangeInclusive;

/// Of all the times that an order is placed, the share after which stock must not run dry before the delivery after the
/// next, in thousandths.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ServiceLevels {
    /// Where nothing else is said.
    pub usual: i64,
    /// Of kinds that differ.
    pub kinds: BTreeMap<Kind, i64>,
}

/// Why service levels were refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ServiceLevelsError {
    /// No level, or one that is out of bounds.
    #[error("{}", word!("expected percent from 50 to 99.9 with at most 1 decimal, kinds that differ behind it: 95 %; spirit 97 %; juice 90 %"))]
    Level,
    /// Not a kind.
    #[error("{}", say!("expected a level for a kind, such as spirit 97 %, and the kind one of {what}", what = .0.expected))]
    Kind(WordError),
    /// A kind is there twice.
    #[error("{}", say!("{what} is there twice; expected each kind once", what = .0))]
    Twice(Kind),
}

impl Default for ServiceLevels {
    /// 95 % for everything (common practice, no source).
    fn default() -> ServiceLevels {
        ServiceLevels { usual: 950, kinds: BTreeMap::new() }
    }
}

impl ServiceLevels {
    /// The levels that can be asked for: at less than half it is dry more often than not, and nobody can promise all.
    pub const BOUNDS: RangeInclusive<i64> = 500..=999;

    /// Reads `95 %; spirit 97 %; juice 90 %`: the usual level, then the kinds that differ from it.
    ///
    /// # Errors
    /// [`ServiceLevelsError`].
    pub fn parse(text: &str) -> Result<ServiceLevels, ServiceLevelsError> {
        let mut parts = text.split(';').map(str::trim);
        let usual = level(parts.next().unwrap_or_default())?;
        let mut kinds = BTreeMap::new();
        for part in parts.filter(|part| !part.is_empty()) {
            let (kind, share) = part.split_once(char::is_whitespace).ok_or(ServiceLevelsError::Level)?;
            let kind = Kind::parse(kind).map_err(ServiceLevelsError::Kind)?;
            if kinds.insert(kind, level(share)?).is_some() {
                return Err(ServiceLevelsError::Twice(kind));
            }
        }
        Ok(ServiceLevels { usual, kinds })
    }

    /// The level of a kind, in thousandths.
    pub fn of(&self, kind: Kind) -> i64 {
        self.kinds.get(&kind).copied().unwrap_or(self.usual)
    }
}

/// A share in thousandths: percent, or a share below 1 as an item has it.
fn level(text: &str) -> Result<i64, ServiceLevelsError> {
    let number = text.trim().strip_suffix('%').map(str::trim_end);
    let percent = Decimal::parse(number.unwrap_or(text.trim())).ok();
    // Nobody means less than one percent.
    let share = percent.filter(|_| number.is_none()).and_then(|d| d.exact(3)).filter(|share| *share < 1_000);
    let read = share.or_else(|| percent?.exact(1));
    read.filter(|level| ServiceLevels::BOUNDS.contains(level)).ok_or(ServiceLevelsError::Level)
}

impl fmt::Display for ServiceLevels {
    /// As it is written.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", decimal::plain(self.usual, 1))?;
        for (kind, level) in &self.kinds {
            write!(f, "; {kind} {} %", decimal::plain(*level, 1))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_read_back_or_are_refused() {
        for (text, usual, written) in [
            ("95 %", 950, "95 %"),
            ("97.5%", 975, "97.5 %"),
            ("50", 500, "50 %"),
            ("0.999", 999, "99.9 %"),
            ("95 %; juice 90%; Spirit 0.97;", 950, "95 %; spirit 97 %; juice 90 %"),
            ("95 %; house-made 95 %", 950, "95 %; house-made 95 %"),
        ] {
            let read = ServiceLevels::parse(text).unwrap();
            assert_eq!((read.usual, read.to_string().as_str()), (usual, written));
            assert_eq!(ServiceLevels::parse(written), Ok(read));
        }
        let read = ServiceLevels::parse("95 %; spirit 97 %; juice 90 %").unwrap();
        assert_eq!([Kind::Spirit, Kind::Juice, Kind::Beer].map(|kind| read.of(kind)), [970, 900, 950]);
        for bad in
            ["", "100 %", "49.9 %", "0.95 %", "97.55 %", "0.9755", "spirit 97 %", "95 %; spirit", "95 %; spirit 100 %"]
        {
            assert_eq!(ServiceLevels::parse(bad), Err(ServiceLevelsError::Level), "{bad}");
        }
        assert!(matches!(ServiceLevels::parse("95 %; gin 97 %"), Err(ServiceLevelsError::Kind(_))));
        let twice = ServiceLevels::parse("95 %; wine 97 %; WINE 97 %");
        assert_eq!(twice, Err(ServiceLevelsError::Twice(Kind::Wine)));
    }
}
