//! Drinks and what is made here, against figures from outside.
//!
//! Each check names its source. “From memory” is a source that was recalled and not seen; “common practice” has none.

#![allow(clippy::unwrap_used)]

use chrono::{NaiveDate, NaiveTime};

use tantalus::domain::drink::matrix::{Corner, Sold, matrix};
use tantalus::domain::drink::{Layers, Mix, computed_yield, dilution, last_day, price, standard_drinks};
use tantalus::domain::measure::{Amount, Basis, Currency, ExactCost, Money, Price, UnitCost};
use tantalus::domain::statistics::{normal_loss, normal_quantile, normal_share};
use tantalus::domain::venue::{DayRule, DrinkId, DrinkMethod, StandardDrink, Venue};

fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{got} is not {want} within {within}");
}

fn euro() -> Currency {
    "EUR".parse().unwrap()
}

fn venue(prices_include_tax: bool) -> Venue {
    let days = DayRule { zone: chrono_tz::UTC, starts: NaiveTime::from_hms_opt(5, 0, 0).unwrap() };
    Venue { prices_include_tax, ..Venue::new("Any bar", euro(), days) }
}

/// So many units at a price each, as amounts of which one is one unit.
fn unit(cost: i64) -> UnitCost {
    UnitCost::new(Price(cost * 1_000_000), Amount(1)).unwrap()
}

fn layers(bought: &[(i64, i64)]) -> Layers {
    let mut layers = Layers::default();
    for (units, cost) in bought {
        layers.receive(Amount(*units), unit(*cost));
    }
    layers
}

fn cents(cost: ExactCost) -> i64 {
    cost.round(euro()).0
}

/// Sugar and water by mass to volume at 20 °C: the polynomial of ICUMSA SPS-4, which agrees with NBS Circular 457 (1946),
/// table 2, within 0.25 kg/m³ to 60 Brix; nothing evaporates, all is dissolved.
#[test]
fn sugar_and_water_make_so_much_syrup() {
    for (sugar, water, brix, millilitres, grams_per_litre) in [
        (1_000.0, 1_000.0, 50.000_0, 1_626.47, 614.8),
        (2_000.0, 1_000.0, 66.666_7, 2_261.16, 884.5),
        (500.0, 500.0, 50.000_0, 813.24, 614.8),
        (500.0, 1_000.0, 33.333_3, 1_312.18, 381.0),
        (1_500.0, 1_000.0, 60.000_0, 1_943.09, 772.0),
    ] {
        let syrup = Mix { sugar, water, ethanol: 0.0 };
        near(syrup.volume(), millilitres, 0.05);
        near(syrup.brix(), brix, 1e-3);
        near(syrup.grams_per_litre(), grams_per_litre, 0.1);
        let made = computed_yield(Basis::Volume, syrup).unwrap();
        near(made.0 as f64 / 1_000.0, millilitres, 0.05);
        assert_eq!(computed_yield(Basis::Mass, syrup).unwrap(), Amount(((sugar + water) * 1_000.0) as i64));
    }
    // NBS Circular 457, table 2: a US gallon (3785.411784 ml) of 50 Brix weighs 4650 g in air of 1.2 kg/m³ against brass
    // of 8.4 g/ml, at 20 °C.
    let gallon = Mix { sugar: 500.0, water: 500.0, ethanol: 0.0 };
    let in_air = |density: f64| density * (1.0 - 0.0012 / density) / (1.0 - 0.0012 / 8.4);
    near(in_air(gallon.mass() / gallon.volume()) * 3_785.411_784, 4_650.0, 1.0);
}

/// Volumes of alcohol and water contract: densities of OIML R 22 (1975) at 20 °C.
#[test]
fn strength_of_mixtures() {
    let mixed =
        |parts: &[(f64, f64)]| parts.iter().map(|(ml, strength)| Mix::of_liquid(*ml, *strength, 0.0)).sum::<Mix>();
    for (parts, volume, strength, ethanol) in [
        (&[(60.0, 0.45), (30.0, 0.16), (1.6, 0.45)][..], 91.347, 0.356_00, 25.67),
        (&[(60.0, 0.45), (30.0, 0.16), (1.6, 0.45), (22.0, 0.0)], 113.274, 0.287_09, 25.67),
        (&[(60.0, 0.40), (30.0, 0.0)], 89.870, 0.267_05, 18.94),
        (&[(50.0, 0.40), (50.0, 0.0)], 99.956, 0.200_09, 15.78),
        (&[(500.0, 0.96), (500.0, 0.0)], 969.607, 0.495_05, 378.84),
    ] {
        let mix = mixed(parts);
        near(mix.volume(), volume, 0.002);
        near(mix.strength(), strength, 2e-5);
        near(mix.ethanol, ethanol, 0.01);
    }
    // 40 % vol weighs 948.05 kg/m³ and is 33.30 % of ethanol by mass: OIML R 22, tables at 20 °C.
    let spirit = mixed(&[(1_000.0, 0.40)]);
    near(spirit.mass(), 948.05, 0.01);
    near(spirit.ethanol / spirit.mass(), 0.333_0, 5e-5);
}

/// A bottle put together again is what it was: nothing is lost between volume and mass.
#[test]
fn what_a_liquid_is_stated_to_be_it_is() {
    for (strength, sugar) in [(0.0, 0.0), (0.4, 0.0), (0.25, 250.0), (0.16, 150.0), (0.0, 614.8), (0.17, 400.0)] {
        let liquid = Mix::of_liquid(700.0, strength, sugar);
        near(liquid.volume(), 700.0, 0.01);
        near(liquid.strength(), strength, 1e-5);
        near(liquid.grams_per_litre(), sugar, 0.05);
    }
}

/// Regressions attributed to D. Arnold, Liquid Intelligence (2014), p. 123; the book was not read, the sign of the square
/// of the shaken one is the credible of two that go round.
#[test]
fn water_from_ice() {
    for (before, stirred, shaken) in [
        (0.15, 0.304_7, 0.429_0),
        (0.20, 0.345_8, 0.488_7),
        (0.25, 0.380_9, 0.540_6),
        (0.30, 0.409_9, 0.584_6),
        (0.35, 0.432_9, 0.620_7),
        (0.40, 0.449_8, 0.649_1),
    ] {
        near(dilution::usual(DrinkMethod::Stir, before).unwrap(), stirred, 1e-4);
        near(dilution::usual(DrinkMethod::Shake, before).unwrap(), shaken, 1e-4);
    }
    // Stronger never means less water.
    for method in [DrinkMethod::Stir, DrinkMethod::Shake] {
        let all: Vec<f64> = (0..=100).map(|n| dilution::usual(method, f64::from(n) / 100.0).unwrap()).collect();
        assert!(all.windows(2).all(|pair| pair[0] <= pair[1]), "{method}");
    }
    assert_eq!(dilution::usual(DrinkMethod::Pour, 0.4), Some(0.0));
    assert_eq!(dilution::usual(DrinkMethod::Blend, 0.4), None);
}

/// Grams in compilations: United States 14 (0.6 US fl oz, 17.74 ml), WHO AUDIT and Australia 10, Canada 13.45, Denmark 12,
/// Austria and Japan 20; the United Kingdom's unit is 10 ml. Ethanol 0.78924 g/ml (OIML R 22, 100 % vol at 20 °C).
#[test]
fn standard_drinks_of_countries() {
    for (rule, grams) in [
        ("US", 14.0),
        ("GB", 7.892_4),
        ("WHO", 10.0),
        ("AU", 10.0),
        ("CA", 13.45),
        ("DK", 12.0),
        ("AT", 20.0),
        ("JP", 20.0),
        ("9.5 g", 9.5),
    ] {
        let rule = StandardDrink::parse(rule).unwrap();
        near(standard_drinks(grams, rule), 1.0, 1e-5);
    }
    // 0.6 US fluid ounces of ethanol are 14 g: 0.6 × 29.5735295625 ml (NIST Handbook 44, appendix C) × 0.78924.
    near(standard_drinks(0.6 * 29.573_529_562_5 * 0.789_24, StandardDrink::parse("US").unwrap()), 1.0, 1e-3);
}

/// First in, first out and the weighted average: the worked example of the documentation of the R package FinCal 0.6.3
/// (`cogs`: FIFO 23 and 15, weighted 26.6 and 11.4); an open accounting text, chapter 10.2 (22 and 14, 24 and 12); the
/// 585 units of OpenStax, Principles of Accounting 1, chapter 10.2 (from memory, recomputed: FIFO 7200 and 8955).
#[test]
fn first_in_first_out_and_the_average() {
    for (bought, sold, fifo, left, weighted, weighted_left) in [
        (&[(2, 2), (3, 3), (5, 5)][..], 7, 2_300, 1_500, 2_660, 1_140),
        (&[(1, 10), (1, 12), (1, 14)], 2, 2_200, 1_400, 2_400, 1_200),
        (&[(150, 21), (225, 27), (210, 33)], 300, 720_000, 895_500, 828_462, 787_038),
    ] {
        let mut stock = layers(bought);
        let average = stock.average().unwrap();
        let all = stock.amount();
        assert_eq!(cents(average.exact(Amount(sold))), weighted);
        assert_eq!(cents(average.exact(all - Amount(sold))), weighted_left);
        assert_eq!(cents(stock.take(Amount(sold))), fifo);
        assert_eq!(cents(stock.value()), left);
        // The same by what is left: the newest is what stays.
        let mut kept = layers(bought);
        kept.keep_newest(all - Amount(sold));
        assert_eq!(kept, stock);
    }
    // Moving average of 100 at 1500 and 150 at 1600: 1560 (documentation of a valuation module).
    assert_eq!(layers(&[(100, 1_500), (150, 1_600)]).average(), Some(unit(1_560)));
}

/// A worked question of a cost-control text: cost of beverages sold 7654 + 15876 − 8732 = 14798 of sales of 95786, which
/// is 15.449 % (it prints 15.44). The other lines are arithmetic only.
#[test]
fn pour_cost_and_the_price_for_a_target() {
    let of = |minor: i64| UnitCost::new(Price::from_money(Money(minor), euro()), Amount(1)).unwrap().exact(Amount(1));
    near(price::pour_cost(of(1_479_800), Money(9_578_600), euro()).unwrap(), 0.154_490, 5e-7);
    // 24.00 for 700 ml, 40 ml poured, 9.00 without tax: 15.2381 %; with 20 % tax in it, 18.2857 % of 7.50.
    let poured = UnitCost::new(Price(24_000_000), Amount(700_000)).unwrap().exact(Amount(40_000));
    near(price::pour_cost(poured, Money(900), euro()).unwrap(), 0.152_381, 5e-7);
    let net = price::net(Money(900), Some(2_000), &venue(true));
    assert_eq!(net, Money(750));
    near(price::pour_cost(poured, net, euro()).unwrap(), 0.182_857, 5e-7);
    assert_eq!(price::net(Money(900), Some(2_000), &venue(false)), Money(900));
    // 1.3714 at 18 % is 7.619; up to the step of 0.50 that is 8.00, and with 20 % tax 9.1429, which is 9.50.
    assert_eq!(price::for_target(poured, 1_800, Some(2_000), &venue(false)), Some(Money(800)));
    assert_eq!(price::for_target(poured, 1_800, Some(2_000), &venue(true)), Some(Money(950)));
    // A price that lies on a step stays there: 2.00 at 20 % is 10.00.
    assert_eq!(price::for_target(of(200), 2_000, None, &venue(false)), Some(Money(1_000)));
    assert_eq!(price::pour_cost(of(200), Money(0), euro()), None);
}

/// The rule of M. Kasavana and D. Smith, Menu Engineering (1982; from memory, the cut of 70 % confirmed in secondary
/// texts), on constructed figures where the unweighted average of margins would put A elsewhere.
#[test]
fn the_four_corners_of_a_menu() {
    let menu = [
        ("A", 770, 210, Corner::Anchor),
        ("B", 700, 260, Corner::Draw),
        ("C", 1_100, 95, Corner::Secret),
        ("D", 640, 60, Corner::Ballast),
        ("E", 790, 70, Corner::Secret),
        ("F", 650, 305, Corner::Draw),
    ];
    let sold: Vec<Sold> = (0..)
        .zip(&menu)
        .map(|(n, (_, margin, sold, _))| Sold { drink: DrinkId(n), quantity: sold * 1_000, margin: Money(*margin) })
        .collect();
    let found = matrix(&sold);
    near(found.popular, 0.116_667, 1e-6);
    near(found.high, 740.15, 1e-9);
    for (row, (name, _, sold, corner)) in found.rows.iter().zip(&menu) {
        assert_eq!(row.corner, *corner, "{name}");
        near(row.share, *sold as f64 / 1_000.0, 1e-12);
    }
    // A drink right on both lines is popular and high: the rule says “at least”.
    let even = [1, 2].map(|n| Sold { drink: DrinkId(n), quantity: 1_000, margin: Money(500) });
    assert!(matrix(&even).rows.iter().all(|row| row.corner == Corner::Anchor));
    assert!(matrix(&[]).rows.is_empty());
}

/// Quantile, share and expected excess of the normal distribution: SciPy 1.17 (`norm.cdf`; its loss as in the table of
/// the unit normal loss function that texts on stock print to four decimals).
#[test]
fn the_normal_distribution() {
    for (z, share, loss, loss_below) in [
        (0.00, 0.500_000, 0.398_942_3, 0.398_942_3),
        (0.25, 0.598_706, 0.286_344_7, 0.536_344_7),
        (0.84, 0.799_546, 0.111_962_3, 0.951_962_3),
        (1.00, 0.841_345, 0.083_315_5, 1.083_315_5),
        (1.65, 0.950_529, 0.020_637_0, 1.670_637_0),
        (2.33, 0.990_097, 0.003_352_3, 2.333_352_3),
        (3.00, 0.998_650, 0.000_382_2, 3.000_382_2),
    ] {
        near(normal_share(z), share, 5e-7);
        near(normal_loss(z), loss, 5e-8);
        near(normal_loss(-z), loss_below, 5e-8);
        near(normal_quantile(normal_share(z)), z, 1e-9);
    }
}

/// The model Food Code of the United States, section 3-501.17 (read in a state's copy): the day of preparation counts as
/// day 1, so seven days from 12 October end on 18 October.
#[test]
fn the_day_it_is_made_is_the_first() {
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    assert_eq!(last_day(day("2026-10-12"), 7), day("2026-10-18"));
    assert_eq!(last_day(day("2026-10-12"), 1), day("2026-10-12"));
}
