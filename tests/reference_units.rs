//! Units against published values.
//!
//! Source: NIST Handbook 44 (2024), appendix C, and NIST SP 811 (2008), appendix B.8: the US gallon is 231 cubic
//! inches of exactly 16.387064 ml, the fluid ounce its 128th part; the imperial gallon is exactly 4 546.09 ml, the
//! imperial fluid ounce its 160th part; the avoirdupois pound is exactly 453.59237 g.

#![allow(clippy::unwrap_used)]

use tantalus::domain::measure::{Amount, Basis, Quantity, Show, SmallMeasures, VolumeUnit, unit::UNITS};

/// Exact values in base units (µl, mg) as fractions.
const PUBLISHED: &[(&str, i128, i128)] = &[
    ("ml", 1_000, 1),
    ("cl", 10_000, 1),
    ("l", 1_000_000, 1),
    // 231 × 16 387.064 µl ÷ 128
    ("fl oz", 231 * 16_387_064, 128_000),
    // 4 546 090 µl ÷ 160
    ("imp fl oz", 4_546_090, 160),
    ("g", 1_000, 1),
    ("kg", 1_000_000, 1),
    ("lb", 45_359_237, 100),
];

#[test]
fn units_are_exactly_what_the_handbook_says() {
    for (symbol, n, d) in PUBLISHED {
        let unit = UNITS.iter().find(|u| u.symbol == *symbol).unwrap();
        assert_eq!(unit.numerator * d, n * unit.denominator, "{symbol}");
    }
}

#[test]
fn converted_quantities_agree_to_the_microlitre() {
    let small = SmallMeasures::default();
    // Handbook 44: 1 US fl oz 29.573 529 562 5 ml; 1 imperial fl oz 28.413 062 5 ml; a US gallon is 128 fl oz.
    for (text, microlitres) in [
        ("1 fl oz", 29_574),
        ("1.5 fl oz", 44_360),
        ("128 fl oz", 3_785_412),
        ("1 imp fl oz", 28_413),
        ("160 imp fl oz", 4_546_090),
        ("25.360517 fl oz", 750_000),
    ] {
        let read = Quantity::parse_as(text, Basis::Volume, &small).unwrap();
        assert_eq!(read, Amount(microlitres), "{text}");
    }
    assert_eq!(Quantity::parse_as("1 lb", Basis::Mass, &small).unwrap(), Amount(453_592));
}

#[test]
fn shown_in_ounces_a_bottle_is_what_its_label_says() {
    // 27 CFR 5.203 sizes with the ounces labels carry beside them: 750 ml 25.4, 1 l 33.8, 1.75 l 59.2 fl oz.
    let show = Show { volume: VolumeUnit::Oz, currency: "USD".parse().unwrap(), hides_money: false };
    for (ml, ounces) in [(750, "25.4 oz"), (1_000, "33.8 oz"), (1_750, "59.2 oz")] {
        assert_eq!(show.amount(Basis::Volume, Amount(ml * 1_000)), ounces);
    }
}
