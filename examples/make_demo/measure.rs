//! Quantities and money as the files write them.

/// A dash and a barspoon in millilitres, as bars commonly take them.
pub(crate) const DASH_ML: f64 = 0.9;
pub(crate) const BARSPOON_ML: f64 = 5.0;

/// Reads `700 ml`, `30 l`, `1 kg`, `250 g`, `2 dash`, `3 each` in millilitres, grams or pieces.
///
/// # Panics
/// On anything else: every quantity comes from this program's own tables.
pub(crate) fn amount(text: &str) -> f64 {
    let (number, unit) = text.split_once(' ').expect("a number, a blank, a unit");
    let number: f64 = number.parse().expect("a number before the unit");
    number
        * match unit {
            "ml" | "g" | "each" => 1.0,
            "l" | "kg" => 1000.0,
            "dash" => DASH_ML,
            "barspoon" => BARSPOON_ML,
            other => panic!("{other:?} is no unit of this program"),
        }
}

/// The base unit that goes with a size: `ml`, `g` or `each`.
pub(crate) fn base_unit(size: &str) -> &'static str {
    match size.rsplit(' ').next() {
        Some("ml" | "l") => "ml",
        Some("g" | "kg") => "g",
        Some("each") => "each",
        _ => panic!("{size:?} is no size"),
    }
}

/// A number without needless zeros: `2`, `0.5`, `37.5`.
pub(crate) fn plain(number: f64) -> String {
    let text = format!("{number:.4}");
    text.trim_end_matches('0').trim_end_matches('.').into()
}

/// Cents as a decimal number of euros.
pub(crate) fn money(cents: i64) -> String {
    let sign = if cents < 0 { "-" } else { "" };
    format!("{sign}{}.{:02}", cents.abs() / 100, cents.abs() % 100)
}

/// A case's price shared among its containers, to a hundredth of a cent.
pub(crate) fn unit_price(cents: i64, pack: u32) -> String {
    let text = format!("{:.4}", cents as f64 / 100.0 / f64::from(pack));
    let kept = text.trim_end_matches('0');
    // Two decimals stay, so that a column of prices lines up.
    let decimals = kept.len() - kept.find('.').map_or(0, |dot| dot + 1);
    format!("{kept}{}", "0".repeat(2_usize.saturating_sub(decimals)))
}

/// A GTIN-13 of the range that shops give out for themselves, so that it names no real product.
pub(crate) fn gtin(number: usize) -> String {
    let body = format!("2{:02}{:09}", 10 + number % 7, 70_310 + number * 137);
    let sum: u32 =
        body.bytes().enumerate().map(|(at, digit)| u32::from(digit - b'0') * if at % 2 == 0 { 1 } else { 3 }).sum();
    format!("{body}{}", (10 - sum % 10) % 10)
}
