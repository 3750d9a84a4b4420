//! Pictures in a page: inline, in a box that scales, and in words for whoever cannot see them.

use maud::{Markup, html};

/// A coordinate to a tenth; what is no number lies at nothing.
pub(super) fn px(figure: f64) -> String {
    let text = format!("{:.1}", if figure.is_finite() { figure } else { 0.0 });
    let short = text.strip_suffix(".0").unwrap_or(&text);
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

/// A picture so wide and high in its own units; `class` says how large the page shows it, `title` what it shows.
pub(super) fn picture(size: (f64, f64), class: &str, title: &str, drawn: &Markup) -> Markup {
    boxed(size, class, None, title, drawn)
}

/// The same for shapes that may be drawn out to whatever box the page has for them: bars.
pub(super) fn stretched(size: (f64, f64), class: &str, title: &str, drawn: &Markup) -> Markup {
    boxed(size, class, Some("none"), title, drawn)
}

fn boxed((wide, high): (f64, f64), class: &str, aspect: Option<&str>, title: &str, drawn: &Markup) -> Markup {
    html! {
        svg viewBox=(format!("0 0 {} {}", px(wide), px(high))) class=(class) preserveAspectRatio=[aspect] role="img" {
            title { (title) }
            (drawn)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short_and_always_numbers() {
        for (figure, want) in [(3.0, "3"), (2.25, "2.2"), (-0.04, "0"), (f64::NAN, "0"), (f64::INFINITY, "0")] {
            assert_eq!(px(figure), want);
        }
    }
}
