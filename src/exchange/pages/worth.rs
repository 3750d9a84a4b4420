//! What the stock was worth at the last counts, as a picture and a table.

use super::page;
use super::svg::{picture, px};
use crate::domain::measure::{Money, Show};
use crate::domain::rows::{WorthAt, worth_kinds};
use crate::domain::venue::{Kind, Setup};
use crate::words::{self, Speech};
use maud::{Markup, html};

const WIDE: f64 = 640.0;
const HIGH: f64 = 240.0;
/// Room at the left for the figures, and below.
const LEFT: f64 = 60.0;
const BELOW: f64 = 20.0;
/// Greys from dark to light, each kind its own: told apart by the table and the words as well.
const GREYS: [&str; 9] = ["#000", "#777", "#333", "#aaa", "#555", "#ccc", "#222", "#999", "#444"];

/// The page.
pub fn worth_page(setup: &Setup, over: &[WorthAt]) -> String {
    let show = setup.venue.show();
    let kinds = worth_kinds(over);
    let body = html! {
        h1 { (word!("What the stock was worth")) }
        p { (setup.venue.name) (word!(", once each of the last counts was closed, at what it had cost then (")) (show.currency.code()) ")." }
        @if over.is_empty() {
            p { (word!("No count is closed yet.")) }
        } @else {
            (plot(over, &kinds, show))
            p.small {
                (word!("From the foot of a bar up: "))
                @for (n, kind) in kinds.iter().enumerate() {
                    @if n > 0 { ", " }
                    span { svg viewBox="0 0 10 10" width="10" height="10" { rect width="10" height="10" fill=(grey(*kind)) {} } " " (kind) }
                }
                "."
            }
            table {
                tr { th { (word!("count")) } th.n { (word!("worth")) } th.n { (word!("change")) } @for kind in &kinds { th.n { (kind) } } th.n { (word!("no cost")) } }
                @for (n, at) in over.iter().enumerate().rev() {
                    @let change = n.checked_sub(1).map(|before| at.total - over[before].total);
                    tr {
                        td { (at.day) }
                        td.n { (show.money(at.total)) }
                        td.n { @if let Some(change) = change { @if change > Money::ZERO { "+" } (show.money(change)) } }
                        @for kind in &kinds { td.n { (show.money(at.of(*kind))) } }
                        td.n { @if at.without_cost > 0 { (at.without_cost) } }
                    }
                }
            }
            p.small { (word!("Items that were there and whose cost was not known are counted in the last column, and in no sum.")) }
        }
    };
    page(word!("What the stock was worth"), Speech::here().language.tag(), "", &body)
}

fn grey(kind: Kind) -> &'static str {
    GREYS[Kind::ALL.iter().position(|of| *of == kind).unwrap_or(0) % GREYS.len()]
}

/// Bars with their kinds stacked.
fn plot(over: &[WorthAt], kinds: &[Kind], show: Show) -> Markup {
    let most = over.iter().map(|at| at.total.0.max(0) as f64).fold(1.0, f64::max);
    let (bottom, right) = (HIGH - BELOW, WIDE - 4.0);
    let each = (right - LEFT) / over.len().max(1) as f64;
    let high = |worth: Money| worth.0.max(0) as f64 / most * (bottom - 10.0);
    let bar = |n: usize, at: &WorthAt| {
        let x = LEFT + n as f64 * each;
        let mut top = bottom;
        let parts: Vec<(f64, f64, Kind)> = kinds
            .iter()
            .map(|kind| {
                let tall = high(at.of(*kind));
                top -= tall;
                (top, tall, *kind)
            })
            .filter(|(_, tall, _)| *tall > 0.0)
            .collect();
        html! {
            g {
                title { (at.day) ": " (show.coin(at.total)) }
                @for (y, tall, kind) in &parts {
                    rect x=(px(x + each * 0.1)) y=(px(*y)) width=(px(each * 0.8)) height=(px(*tall)) fill=(grey(*kind)) {}
                }
            }
        }
    };
    // As many days as there is room for, the first and the last among them.
    let apart = (42.0 / each).ceil().max(1.0) as usize;
    let named = |n: usize| n.is_multiple_of(apart) && over.len() - 1 - n >= apart;
    let drawn = html! {
        line x1=(px(LEFT)) x2=(px(right)) y1=(px(bottom)) y2=(px(bottom)) stroke="#000" {}
        text x=(px(LEFT - 4.0)) y="14" text-anchor="end" { (show.whole_coins(most)) }
        text x=(px(LEFT - 4.0)) y=(px(bottom)) text-anchor="end" { "0" }
        @for (n, at) in over.iter().enumerate() {
            (bar(n, at))
            @let day = words::day(at.day, "%-d %b");
            @if n + 1 == over.len() {
                text x=(px(right)) y=(px(bottom + 13.0)) text-anchor="end" { (day) }
            } @else if named(n) {
                text x=(px(LEFT + (n as f64 + 0.5) * each)) y=(px(bottom + 13.0)) text-anchor="middle" { (day) }
            }
        }
    };
    picture((WIDE, HIGH), "wide", word!("Worth of the stock at each count"), &drawn)
}
