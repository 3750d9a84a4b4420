//! From a quantity as the owner wrote it to an amount of an item.

use crate::domain::measure::{Amount, Basis, Quantity, QuantityError, SmallMeasures};
use crate::domain::venue::Item;

/// What `written` amounts to in the item's own base unit. A mass of something measured by volume, or a volume of
/// something measured by mass, is turned over its density where the item has one.
///
/// # Errors
/// [`QuantityError`], which says what was expected.
pub fn amount_of(item: &Item, written: &str, small: &SmallMeasures) -> Result<Amount, QuantityError> {
    let refused = match Quantity::parse_as(written, item.basis, small) {
        Err(refused @ QuantityError::WrongBasis { .. }) => refused,
        done => return done,
    };
    let Some(density) = item.density else { return Err(refused) };
    let read = Quantity::parse(written, small)?;
    let amount = match (read.basis, item.basis) {
        (Basis::Mass, Basis::Volume) => density.volume_of(read.amount),
        (Basis::Volume, Basis::Mass) => density.mass_of(read.amount),
        _ => return Err(refused),
    };
    if amount > Amount::ZERO { Ok(amount) } else { Err(QuantityError::NotPositive) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::measure::Density;
    use crate::domain::venue::{CountBy, ItemId, Kind};

    fn item(basis: Basis, density: Option<Density>) -> Item {
        let plain = Item::new(ItemId(1), "Any", Kind::Other, basis, Amount(1_000_000), CountBy::Tenths);
        Item { density, ..plain }
    }

    #[test]
    fn a_density_turns_grams_into_millilitres_and_back() {
        let small = SmallMeasures::default();
        let syrup = item(Basis::Volume, Some(Density(1_330_000)));
        assert_eq!(amount_of(&syrup, "133 g", &small), Ok(Amount(100_000)));
        assert_eq!(amount_of(&syrup, "2 dash", &small), Ok(Amount(1_840)));
        let honey = item(Basis::Mass, Some(Density(1_420_000)));
        assert_eq!(amount_of(&honey, "100 ml", &small), Ok(Amount(142_000)));
        // An ounce is refused for a mass even where a density could bridge it: nobody knows which ounce was meant.
        assert_eq!(amount_of(&honey, "2 oz", &small), Err(QuantityError::OunceOfMass));
        assert!(matches!(
            amount_of(&item(Basis::Volume, None), "133 g", &small),
            Err(QuantityError::WrongBasis { .. })
        ));
        assert!(matches!(amount_of(&syrup, "3 each", &small), Err(QuantityError::WrongBasis { .. })));
        assert_eq!(amount_of(&syrup, "-3 g", &small), Err(QuantityError::NotPositive));
    }
}
