//! What one container holds: as it is typed, and as it usually is.

use crate::domain::measure::{Amount, Basis, Quantity, VolumeUnit, decimal};
use crate::domain::venue::{Kind, Venue};

/// A number alone is taken for a size from so much on, and one with its unit from so much.
const BARE: Amount = Amount(100_000);
const LEAST: Amount = Amount(10_000);

/// What one container holds, as it is typed: a number alone is meant in the unit that volumes are shown in here, and `each` is
/// one piece.
///
/// # Errors
/// What was expected, in words.
pub fn typed_size(text: &str, venue: &Venue) -> Result<Quantity, String> {
    let typed = decimal::pointed(text).to_lowercase();
    let says = || word!("say the unit: 700 ml, 70 cl, 1 l, 1 kg; 1 each for what is counted singly").to_owned();
    let bare = !typed.is_empty() && typed.chars().all(|c| c.is_ascii_digit() || c == '.');
    let written = match typed.as_str() {
        "each" => "1 each".to_owned(),
        _ if bare => format!("{typed} {}", venue.show().symbol(Basis::Volume)),
        _ => typed,
    };
    let read = Quantity::parse(&written, &venue.small).map_err(|e| e.to_string())?;
    // A small number alone is litres, centilitres or pieces, and no container holds less than a few pours.
    let least = if bare { BARE } else { LEAST };
    match read.basis {
        _ if read.amount <= Amount::ZERO => Err(word!("expected a size above zero").to_owned()),
        Basis::Volume if read.amount < least => Err(says()),
        _ => Ok(read),
    }
}

/// What most containers of a kind hold. Most of a back bar stands in bottles of 700 ml, and where one measures in ounces of
/// 750 ml: the usual ones of the sizes that the law has for spirits (Directive 2007/45/EC, annex; 27 CFR 5.203; from memory);
/// the rest is common practice, no source.
pub fn usual_size(kind: Kind, volume: VolumeUnit) -> Quantity {
    let american = volume == VolumeUnit::Oz;
    let (basis, size) = match kind {
        Kind::Spirit | Kind::Liqueur if american => (Basis::Volume, 750_000),
        Kind::Spirit | Kind::Liqueur => (Basis::Volume, 700_000),
        Kind::Wine => (Basis::Volume, 750_000),
        Kind::Beer if american => (Basis::Volume, 355_000),
        Kind::Beer => (Basis::Volume, 330_000),
        Kind::Mixer => (Basis::Volume, 200_000),
        Kind::Juice | Kind::HouseMade => (Basis::Volume, 1_000_000),
        Kind::Food | Kind::Other => (Basis::Each, 1_000),
    };
    Quantity { basis, amount: Amount(size) }
}
