//! The shape of a container, as somebody measured it.

use super::ProfileId;
use super::words::words;
use crate::domain::measure::{Amount, Decimal};

words! {
    /// The cross-section of a container's body.
    Section {
        /// A circle; the diameter is measured.
        Round = "round",
        /// A square; the side is measured.
        Square = "square",
    }
}

words! {
    /// Shapes that every book knows, of no particular make, scaled to whatever a container holds.
    Shape {
        /// A straight round body, a rounded shoulder, a neck of a quarter of the height.
        Round = "round",
        /// A square body, a steep shoulder, a longer neck.
        Square = "square",
        /// Wide and low, with a short neck.
        Dumpy = "dumpy",
    }
}

/// Why a length was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", word!("expected millimetres such as 76.5, below 2000"))]
pub struct LengthError;

/// Reads a length in millimetres, `76.5` or `76.5 mm`, as micrometres.
///
/// # Errors
/// [`LengthError`].
pub fn parse_millimetres(text: &str) -> Result<i64, LengthError> {
    let text = text.trim();
    let number = text.strip_suffix("mm").map_or(text, str::trim_end);
    let read = Decimal::parse(number).ok().and_then(|d| d.exact(3));
    read.filter(|um| (0..2_000_000).contains(um)).ok_or(LengthError)
}

/// A container measured from outside, in micrometres, all heights from the table it stands on upwards.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measures {
    /// The body's cross-section.
    pub section: Section,
    /// How high above the table the liquid begins: the thickness of the bottom.
    pub base: i64,
    /// Diameter (or side) of the body.
    pub body_diameter: i64,
    /// Length of the body, from the table to where the shoulder begins.
    pub body_height: i64,
    /// Length of the shoulder, from the body to where the neck begins.
    pub shoulder_height: i64,
    /// Diameter of the neck.
    pub neck_diameter: i64,
    /// Length of the neck.
    pub neck_height: i64,
    /// How high above the table the liquid of a sealed one stands, where it was measured.
    pub fill_height: Option<i64>,
}

impl Measures {
    /// From lengths that may not all have been measured, in the order of the fields from the body's diameter to the neck's
    /// height; nothing unless they are all there. Without a `base` the liquid begins at the table.
    pub fn complete(
        section: Section,
        base: Option<i64>,
        lengths: [Option<i64>; 5],
        fill_height: Option<i64>,
    ) -> Option<Measures> {
        let [body_diameter, body_height, shoulder_height, neck_diameter, neck_height] = lengths;
        Some(Measures {
            section,
            base: base.unwrap_or(0),
            body_diameter: body_diameter?,
            body_height: body_height?,
            shoulder_height: shoulder_height?,
            neck_diameter: neck_diameter?,
            neck_height: neck_height?,
            fill_height,
        })
    }
}

/// A height of the liquid and what the container then held, found by filling.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Filling {
    /// Micrometres above the table.
    pub height: i64,
    /// What was in it.
    pub volume: Amount,
}

/// A container's shape under a name of its own: measured, or found by filling, which goes before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Profile {
    /// Handle.
    pub id: ProfileId,
    /// Name.
    pub name: String,
    /// As measured.
    pub measures: Option<Measures>,
    /// As found by filling, from the lowest up.
    pub fillings: Vec<Filling>,
}

/// The shape of an item's containers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ItemShape {
    /// One that every book knows.
    Generic(Shape),
    /// One of this book.
    Own(ProfileId),
}
