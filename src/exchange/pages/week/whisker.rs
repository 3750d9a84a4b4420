//! The whisker: a gap and how sure it is, against a zero line.

use crate::domain::measure::Amount;
use crate::exchange::pages::svg::{picture, px};
use crate::words;
use maud::{Markup, html};

const WIDE: f64 = 200.0;
const HIGH: f64 = 22.0;
/// Room below for what the scale reaches.
const BELOW: f64 = 11.0;
/// Room at either end for an arrow.
const EDGE: f64 = 10.0;
const MIDDLE: f64 = WIDE / 2.0;
const LEVEL: f64 = HIGH / 2.0;

/// The bar reaches so many standard uncertainties to each side.
const COVERAGE: f64 = 2.0;

/// How many containers a scale may reach to each side, and how far its ticks are apart.
const SCALES: [(f64, f64); 8] =
    [(0.5, 0.5), (1.0, 0.5), (2.0, 1.0), (5.0, 1.0), (10.0, 5.0), (20.0, 5.0), (50.0, 10.0), (100.0, 50.0)];

/// From where to where a whisker is drawn, in the unit of its gap.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    /// To each side of zero.
    pub(super) reach: f64,
    /// Between two ticks; none where it is nothing.
    pub(super) tick: f64,
    /// How many containers the reach is, where it is said.
    pub(super) containers: Option<f64>,
}

impl Scale {
    /// The smallest that holds a gap and its uncertainty, in containers: a whole one is seen to be a whole one.
    pub(super) fn of(gap: f64, u: f64, size: Amount) -> Scale {
        let container = size.as_f64().max(1.0);
        let wanted = (gap.abs() + COVERAGE * u) / container;
        let last = SCALES[SCALES.len() - 1];
        let (reach, tick) = SCALES.into_iter().find(|(reach, _)| wanted <= *reach).unwrap_or(last);
        Scale { reach: reach * container, tick: tick * container, containers: Some(reach) }
    }

    /// One that several gaps share.
    pub(super) fn shared(reach: f64) -> Scale {
        Scale { reach, tick: 0.0, containers: None }
    }
}

/// Draws a gap with a bar of twice its standard uncertainty to each side. Where zero lies outside, the bar is heavy and its
/// point filled; where it lies within, thin and hollow. What goes beyond the scale ends in an arrow.
pub(super) fn whisker(gap: f64, u: f64, scale: Scale, title: &str) -> Markup {
    let Scale { reach, tick, containers } = scale;
    let at = |value: f64| MIDDLE + value / reach.max(f64::MIN_POSITIVE) * (MIDDLE - EDGE);
    let (from, to) = (at(gap - COVERAGE * u), at(gap + COVERAGE * u));
    let real = gap.abs() > COVERAGE * u;
    let (left, right) = (EDGE, WIDE - EDGE);
    let inside = |x: f64| x.clamp(left, right);
    let ticks = if tick > 0.0 { (reach / tick).round() as i64 } else { 0 };
    let arrow = |tip: f64, back: f64| {
        format!("M{} {}L{} {}V{}Z", px(tip), px(LEVEL), px(back), px(LEVEL - 4.0), px(LEVEL + 4.0))
    };
    let drawn = html! {
        @for n in -ticks..=ticks {
            @let x = px(at(n as f64 * tick));
            line x1=(x) x2=(x) y1=(px(HIGH - 3.0)) y2=(px(HIGH)) stroke="#777" {}
        }
        line x1=(px(left)) x2=(px(right)) y1=(px(HIGH)) y2=(px(HIGH)) stroke="#777" {}
        @if let Some(containers) = containers {
            text x=(px(left)) y=(px(HIGH + 9.0)) text-anchor="middle" { "-" (words::number(containers.to_string())) }
            text x=(px(MIDDLE)) y=(px(HIGH + 9.0)) text-anchor="middle" { "0" }
            text x=(px(right)) y=(px(HIGH + 9.0)) text-anchor="middle" { "+" (words::number(containers.to_string())) }
        }
        line x1=(px(MIDDLE)) x2=(px(MIDDLE)) y1="0" y2=(px(HIGH)) stroke="#000" stroke-dasharray="2 2" {}
        line x1=(px(inside(from))) x2=(px(inside(to))) y1=(px(LEVEL)) y2=(px(LEVEL)) stroke="#000"
            stroke-width=(if real { "4" } else { "1.5" }) {}
        @if from < left { path d=(arrow(2.0, EDGE)) fill="#000" {} }
        @if to > right { path d=(arrow(WIDE - 2.0, WIDE - EDGE)) fill="#000" {} }
        @if (left..=right).contains(&at(gap)) {
            circle cx=(px(at(gap))) cy=(px(LEVEL)) r="4.5" fill=(if real { "#000" } else { "#fff" }) stroke="#000"
                stroke-width="1.5" {}
        }
    };
    let below = if containers.is_some() { BELOW } else { 1.0 };
    picture((WIDE, HIGH + below), "whisker", title, &drawn)
}
