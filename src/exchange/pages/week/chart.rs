//! Charts over the periods: two sums of what each period adds to what the counts before led to expect.

use super::Week;
use crate::domain::measure::{Amount, number_of};
use crate::domain::usage::{Finding, Grouping, Point, Steady, Track};
use crate::exchange::pages::svg::{picture, px};
use crate::exchange::plain::legible;
use crate::words;
use maud::{Markup, html};

/// A chart that stands for itself, and one among many.
const LARGE: (f64, f64) = (380.0, 120.0);
const SMALL: (f64, f64) = (180.0, 84.0);
/// Room for figures at the left, for words at the right, and for days below.
const LEFT: f64 = 22.0;
const RIGHT: f64 = 28.0;
const BELOW: f64 = 14.0;
const ABOVE: f64 = 3.0;
/// A period is never wider than this.
const WIDEST: f64 = 30.0;

/// So many large and small charts are drawn.
const MOST_LARGE: usize = 6;
const MOST_SMALL: usize = 24;

/// What a chart is of.
struct Charted<'a> {
    name: String,
    track: &'a Track,
    /// What goes in a period, and since which, where the periods together say so.
    steady: Option<(String, usize)>,
}

impl Week<'_> {
    /// Charts of what the periods together tell, items and then kinds and places; after them smaller ones of the rest of the
    /// open list. A single period is no chart.
    pub(super) fn charts(&self) -> Markup {
        let rows = || self.view.variance.rows.iter().filter_map(|row| Some((row, self.view.review.of(row.item)?)));
        let told = rows()
            .filter(|(row, finding)| finding.over_periods && self.view.is_open(row.item))
            .map(|(_, finding)| self.of_item(finding));
        let told: Vec<Charted> = told.chain(self.of_groups()).filter(has_past).collect();
        let others = rows().filter(|(row, finding)| self.view.is_open(row.item) && !finding.over_periods);
        let others: Vec<Charted> = others.map(|(_, finding)| self.of_item(finding)).filter(has_past).collect();
        let (large, rest) = told.split_at(told.len().min(MOST_LARGE));
        let small: Vec<&Charted> = rest.iter().chain(&others).collect();
        let more = small.len().saturating_sub(MOST_SMALL);
        html! {
            @if !large.is_empty() || !small.is_empty() {
                section.long {
                    h2 { (word!("Over the periods")) }
                    p.small {
                        (word!("Up: how much more went than the counts before led to expect; down: how much less. Each sum grows while gaps "))
                        (word!("lie on its side and falls back while they do not. Beyond the dashed limit it is no chance. ▲ ▼: told by "))
                        (word!("that period alone, over or short, and left out of the sums. –: not counted."))
                    }
                    @if !large.is_empty() {
                        h3 { (word!("Told by the periods together")) }
                        div.charts.large { @for charted in large { (self.figure(charted, LARGE)) } }
                    }
                    @if !small.is_empty() {
                        h3 { (word!("The others to look into")) }
                        div.charts { @for charted in small.iter().take(MOST_SMALL) { (self.figure(charted, SMALL)) } }
                    }
                    @if more > 0 { p.small { (word!("And ")) (more) (word!(" more that are not drawn here.")) } }
                }
            }
        }
    }

    fn of_item<'a>(&self, finding: &'a Finding) -> Charted<'a> {
        let steady = finding.steady.filter(|_| finding.over_periods);
        let steady = steady.map(|steady| {
            let rate = self.gap(self.basis(finding.item), Amount::rounded(steady.rate), steady.u);
            (rate, steady.since)
        });
        Charted { name: self.name(finding.item), track: &finding.track, steady }
    }

    /// Kinds and places of which the periods together tell, while no item of them need show it.
    fn of_groups(&self) -> impl Iterator<Item = Charted<'_>> {
        let told = self.view.review.groups.iter().filter(|group| group.track.alarms());
        told.map(|group| {
            let what = if group.grouping == Grouping::Kind { word!("of the kind") } else { word!("poured in") };
            let rate = |steady: Steady| {
                say!("{rate} ± {u} containers", rate = words::signed(steady.rate, 1), u = words::fixed(steady.u, 1))
            };
            Charted {
                name: legible(&say!("Everything {what} {group}", what, group = group.name)),
                track: &group.track,
                steady: group.steady.map(|steady| (rate(steady), steady.since)),
            }
        })
    }

    fn figure(&self, charted: &Charted, size: (f64, f64)) -> Markup {
        let (sums, limit) = (charted.track.sums(), charted.track.limit);
        let (sum, way) = if sums.high >= sums.low {
            (sums.high, word!("gap" => "over"))
        } else {
            (sums.low, word!("gap" => "short"))
        };
        let beyond = if charted.track.alarms() { word!("beyond its limit of") } else { word!("limit") };
        let said = say!(
            "sum {way} {sum}, {beyond} {limit}",
            way,
            sum = words::fixed(sum, 1),
            beyond,
            limit = words::fixed(limit, 1)
        );
        let name = &charted.name;
        let periods = number_of(charted.track.points.len(), word!("period"), word!("periods"));
        html! {
            figure {
                figcaption {
                    strong { bdi { (name) } } ": " (said)
                    @if let Some((rate, since)) = &charted.steady {
                        (word!("; about ")) (rate) (word!(" in a period"))
                        @if let Some(day) = self.period_ends(charted.track, *since) { (word!(", since the one up to ")) (day) }
                    }
                }
                (self.drawn(charted.track, size, &say!("{name} over {periods}: {said}", name, periods, said)))
            }
        }
    }

    /// The day on which a period of a chart ends.
    fn period_ends(&self, track: &Track, at: usize) -> Option<String> {
        let counts = &self.view.periods;
        let first = counts.len().checked_sub(track.points.len())?;
        let day = self.setup.venue.days.day_of(counts.get(first + at)?.opened);
        Some(words::day(day, "%-d %b"))
    }

    fn drawn(&self, track: &Track, (wide, high): (f64, f64), title: &str) -> Markup {
        let (points, limit) = (&track.points, track.limit);
        // Each side is as high as its sum needs, and holds the limit.
        let most = |of: &dyn Fn(&Point) -> f64| points.iter().flatten().map(of).fold(limit * 1.15, f64::max).max(1e-6);
        let (over, short) = (most(&|point| point.sums.high), most(&|point| point.sums.low));
        let bottom = high - BELOW;
        let zero = ABOVE + (bottom - ABOVE) * over / (over + short);
        let y = |sum: f64| zero - sum / (over + short) * (bottom - ABOVE);
        let each = ((wide - LEFT - RIGHT) / points.len().max(1) as f64).min(WIDEST);
        let right = LEFT + each * points.len() as f64;
        let last = points.len().saturating_sub(1);
        let ends = self.period_ends(track, 0).zip(self.period_ends(track, last));
        let drawn = html! {
            @for (at, point) in points.iter().enumerate() { (period(point.as_ref(), LEFT + at as f64 * each, each, zero, limit, &y)) }
            line x1=(px(LEFT)) x2=(px(right)) y1=(px(zero)) y2=(px(zero)) stroke="#000" {}
            @for sign in [1.0, -1.0] {
                @let at = y(sign * limit);
                line x1=(px(LEFT)) x2=(px(right)) y1=(px(at)) y2=(px(at)) stroke="#000" stroke-dasharray="4 3" {}
                text x=(px(LEFT - 4.0)) y=(px(at + 3.0)) text-anchor="end" { (format!("{limit:.1}")) }
            }
            text x=(px(LEFT - 4.0)) y=(px(zero + 3.0)) text-anchor="end" { "0" }
            text x=(px(right + 3.0)) y=(px((ABOVE + zero) / 2.0 + 3.0)) { (word!("gap" => "over")) }
            text x=(px(right + 3.0)) y=(px((zero + bottom) / 2.0 + 3.0)) { (word!("gap" => "short")) }
            @if let Some((first, last)) = ends {
                text x=(px(LEFT)) y=(px(high - 3.0)) { (first) }
                text x=(px(right.max(LEFT + 90.0))) y=(px(high - 3.0)) text-anchor="end" { (last) }
            }
        };
        picture((wide, high), word!("chart"), title, &drawn)
    }
}

fn has_past(charted: &Charted) -> bool {
    charted.track.points.iter().flatten().count() > 1
}

/// One period: a bar to each side, dark beyond the limit, and a sign where there is none.
fn period(point: Option<&Point>, x: f64, each: f64, zero: f64, limit: f64, y: &dyn Fn(f64) -> f64) -> Markup {
    let middle = x + each / 2.0;
    let bar = |sum: f64, top: f64, bottom: f64| {
        let fill = if sum > limit { "#000" } else { "#bbb" };
        html! {
            @if sum > 0.0 {
                rect x=(px(x + 1.0)) y=(px(top)) width=(px((each - 2.0).max(1.0))) height=(px((bottom - top).max(0.5))) fill=(fill)
                    stroke="#000" stroke-width="0.7" {}
            }
        }
    };
    html! {
        @match point {
            None => { text x=(px(middle)) y=(px(zero - 3.0)) text-anchor="middle" { "–" } }
            Some(point) => {
                (bar(point.sums.high, y(point.sums.high), zero))
                (bar(point.sums.low, zero, y(-point.sums.low)))
                @if point.left_out {
                    @let (base, tip) = if point.gap > 0.0 { (y(0.3 * limit), -8) } else { (y(-0.3 * limit), 8) };
                    path d=(format!("M{} {}h8l-4 {tip}Z", px(middle - 4.0), px(base))) fill="#000" {}
                }
            }
        }
    }
}
