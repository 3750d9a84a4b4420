//! From a quantity as the owner wrote it to an amount of an item.

use crate::domain::gauge::density;
use crate::domain::measure::{Amount, Basis, Decimal, Density, Quantity, QuantityError, SmallMeasures, decimal};
use crate::domain::venue::{Item, Recipe};

/// What `written` amounts to in the item's own base unit.
///
/// A mass of something measured by volume, or a volume of something measured by mass, is turned over its density, as
/// given or as its strength and sugar have it. Of what is counted singly, a quantity is turned over what one yields, or
/// a mass over what one weighs.
///
/// # Errors
/// [`QuantityError`], which says what was expected.
pub fn amount_of(item: &Item, written: &str, small: &SmallMeasures) -> Result<Amount, QuantityError> {
    let refused = match Quantity::parse_as(written, item.basis, small) {
        Err(refused @ QuantityError::WrongBasis { .. }) => refused,
        done => return done,
    };
    let read = Quantity::parse(written, small)?;
    let amount = match (read.basis, item.basis) {
        (Basis::Mass, Basis::Volume) => density_of(item).map(|density| density.volume_of(read.amount)),
        (Basis::Volume, Basis::Mass) => density_of(item).map(|density| density.mass_of(read.amount)),
        (basis, Basis::Each) => match (item.yields, item.full_weight) {
            (Some(one), _) if one.basis == basis => Some(read.amount.times(1_000, one.amount.0)),
            (_, Some(weight)) if basis == Basis::Mass => Some(read.amount.times(item.size.0, weight.0)),
            _ => None,
        },
        _ => None,
    };
    match amount {
        None => Err(refused),
        Some(amount) if amount > Amount::ZERO => Ok(amount),
        Some(_) => Err(QuantityError::NotPositive),
    }
}

/// How much of an item was made, as typed: a quantity, or a number alone for so many batches of its recipe: `1`, `.5`.
///
/// # Errors
/// A sentence saying what was expected.
pub fn made_of(item: &Item, recipe: &Recipe, typed: &str, small: &SmallMeasures) -> Result<Amount, String> {
    /// Nobody makes more batches at once; so high a number is an amount whose unit was forgotten.
    const MOST: i64 = 50;
    let typed = decimal::pointed(typed);
    let amount = match Decimal::parse(&typed) {
        Ok(batches) if batches.scaled(1, 1).is_ok_and(|n| n > MOST) => {
            let unit = item.basis.plain_unit().0;
            return Err(say!("say the unit: {typed} {unit} is something else than {typed} batches", typed, unit));
        }
        Ok(batches) => Amount(batches.scaled(recipe.yields.0.into(), 1).map_err(|e| e.to_string())?),
        Err(_) => amount_of(item, &typed, small).map_err(|e| e.to_string())?,
    };
    if amount > Amount::ZERO { Ok(amount) } else { Err(word!("expected an amount above zero").to_owned()) }
}

/// How many batches so much is, if that is more than anybody makes at once as a rule.
pub fn unusual_batches(recipe: &Recipe, made: Amount) -> Option<f64> {
    const USUAL: f64 = 5.0;
    Some(made.per(recipe.yields)).filter(|batches| recipe.yields > Amount::ZERO && *batches > USUAL)
}

fn density_of(item: &Item) -> Option<Density> {
    let by_content =
        || density::at(item.abv, item.sugar, 20.0).map(|density| Density((density * 1_000.0).round() as i64));
    item.density.or_else(by_content)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::measure::Sugar;
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

    #[test]
    fn strength_and_sugar_give_a_density_as_well() {
        let small = SmallMeasures::default();
        let syrup = Item { sugar: Some(Sugar::Brix(5_000)), ..item(Basis::Volume, None) };
        // 50 Brix at 20 °C weighs 1.22965 g/ml (polynomial of ICUMSA SPS-4; NBS Circular 457 has 1.2295).
        let got = amount_of(&syrup, "122.965 g", &small).unwrap();
        assert!((got.0 - 100_000).abs() <= 2, "{got:?}");
    }

    #[test]
    fn pieces_are_turned_over_what_one_gives() {
        let small = SmallMeasures::default();
        let lemon = item(Basis::Each, None);
        let juicy = Item {
            size: Amount(1_000),
            yields: Some(Quantity { basis: Basis::Volume, amount: Amount(30_000) }),
            full_weight: Some(Amount(120_000)),
            ..lemon.clone()
        };
        assert_eq!(amount_of(&juicy, "15 ml", &small), Ok(Amount(500)));
        assert_eq!(amount_of(&juicy, "2 each", &small), Ok(Amount(2_000)));
        assert_eq!(amount_of(&juicy, "180 g", &small), Ok(Amount(1_500)));
        assert!(matches!(amount_of(&lemon, "15 ml", &small), Err(QuantityError::WrongBasis { .. })));
    }
}
