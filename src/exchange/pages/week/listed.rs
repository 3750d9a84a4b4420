//! Gaps item by item: those to look into, those that are watched, and those of which somebody accepted a cause.

use super::Week;
use super::whisker::{Scale, whisker};
use crate::domain::measure::{Amount, number_of};
use crate::domain::rows::{InWords, cause_word, chances};
use crate::domain::usage::{GapRow, Suspect, Verdict};
use crate::exchange::plain::legible;
use maud::{Markup, html};
use std::cmp::Ordering;

/// So many are told with what speaks for their cause: with the totals they fill the first sheet.
const ALL_IN_FULL: usize = 10;

/// Where there are more, the first of them; the others get a line each, so that they have room there, too.
const FIRST: usize = 6;

/// A second cause is told if it is at least so likely.
const WORTH_TELLING: f64 = 0.15;

/// So many are watched by name.
const WATCHED: usize = 24;

impl Week<'_> {
    /// The open list.
    pub(super) fn looked_into(&self) -> Markup {
        let open: Vec<&GapRow> = self.view.open().collect();
        let watched = self.watched_rows().count();
        let (full, short) = open.split_at(if open.len() <= ALL_IN_FULL { open.len() } else { FIRST });
        html! {
            section.long {
                h2 { (word!("To look into")) }
                @if self.view.variance.rows.is_empty() {
                    p { (word!("The two counts have no item in common, so nothing can be compared.")) }
                } @else if open.is_empty() && watched == 0 && self.view.explained.is_empty() {
                    p { (word!("Nothing: every gap is within what the counts can tell.")) }
                } @else if open.is_empty() {
                    p { (word!("Nothing that is still open.")) }
                } @else {
                    ol.gaps role="list" {
                        li.heads aria-hidden="true" {
                            div { (word!("item")) } div.fig { (word!("gap ± u")) } div.scale { (word!("short ┊ over, in containers")) }
                            div.money { (word!("cost")) }
                        }
                        @for row in full { (self.entry(row)) }
                    }
                    @if !short.is_empty() { (self.lines(short, true)) }
                    p.small {
                        (word!("gap: used − sold; over: more went than was sold. u: its standard uncertainty. The bar is the gap, twice u "))
                        (word!("to each side; the dashed line is as sold. Heavy and filled: zero lies outside."))
                    }
                }
            }
        }
    }

    /// One gap of the open list.
    fn entry(&self, row: &GapRow) -> Markup {
        let Some(item) = self.item(row.item) else { return html! {} };
        let words = InWords { setup: self.setup, item, gap: row.gap };
        let suspects = self.view.suspects(row.item);
        let said = |suspect: &Suspect| legible(&words.headline(&suspect.cause));
        let odds = |suspect: &Suspect| html! { " " span.odds { "(" (chances(suspect)) ")" } };
        let scale = Scale::of(row.gap.as_f64(), row.u, item.size);
        let gap = self.gap(item.basis, row.gap, row.u);
        let way = match row.gap.0.cmp(&0) {
            Ordering::Greater => word!("gap" => "over"),
            Ordering::Equal => word!("as sold"),
            Ordering::Less => word!("gap" => "short"),
        };
        let title = format!("{}: {gap}, {way}", legible(&item.name));
        let stake = self.view.review.stake(row).filter(|stake| Some(*stake) != row.cost);
        html! {
            li {
                div.what {
                    strong { bdi { (legible(&item.name)) } }
                    " " span.small { (self.show.label(item.basis, item.size)) }
                    ": " strong class=[(row.gap.0 != 0).then_some(way)] { (way) }
                    @if let Some(steadily) = self.steadily(row) { ", " (steadily) }
                }
                div.fig { (gap) }
                div.scale { (whisker(row.gap.as_f64(), row.u, scale, &title)) }
                div.money {
                    span.n { (row.cost.map_or_else(|| "cost not known".to_owned(), |cost| self.cost(cost))) }
                    @if let Some(stake) = stake { div.small { (word!("so far ")) span.n { (self.cost(stake)) } } }
                }
                div.why {
                    @match suspects {
                        [] => { (word!("Nothing is known that would make it.")) }
                        [first, rest @ ..] => {
                            (said(first)) (odds(first))
                            @if let Some(second) = rest.first().filter(|second| second.share >= WORTH_TELLING) {
                                (word!("; or ")) (said(second)) (odds(second))
                            }
                            "."
                            " " span.small { (sentence(&legible(&words.evidence(&first.cause)))) }
                        }
                    }
                }
            }
        }
    }

    /// What goes in every period, where the periods together say so.
    fn steadily(&self, row: &GapRow) -> Option<String> {
        let finding = self.view.review.of(row.item).filter(|finding| finding.over_periods)?;
        let steady = finding.steady?;
        let periods = finding.track.points.len().saturating_sub(steady.since);
        let rate = self.gap(self.basis(row.item), Amount::rounded(steady.rate), steady.u);
        Some(say!(
            "about {rate} in a period, {periods}",
            rate,
            periods = number_of(periods, word!("period"), word!("periods"))
        ))
    }

    fn watched_rows(&self) -> impl Iterator<Item = &GapRow> {
        let rows = self.view.variance.rows.iter();
        rows.filter(|row| {
            self.view.review.verdict(row.item) == Verdict::Watch && !self.view.explained.contains_key(&row.item)
        })
    }

    /// What is unusual by itself, but among so many items need not be anything.
    pub(super) fn watched(&self) -> Markup {
        let rows: Vec<&GapRow> = self.watched_rows().collect();
        let more = rows.len().saturating_sub(WATCHED);
        html! {
            @if !rows.is_empty() {
                section.long {
                    h2 { (word!("To watch")) }
                    p.small { (word!("Unusual by themselves, or on their way over the periods; among so many items chance does that.")) }
                    (self.lines(&rows[..rows.len() - more], false))
                    @if more > 0 { p.small { (word!("And ")) (more) (word!(" more, in the table beside this page.")) } }
                }
            }
        }
    }

    /// Gaps in a line each, with the likeliest cause; those that matter with their whisker, on a scale of its own each.
    fn lines(&self, rows: &[&GapRow], whiskers: bool) -> Markup {
        html! {
            div.scroll {
                table.reflow {
                    tr {
                        th { (word!("item")) } th.n { (word!("gap ± u")) } @if whiskers { th.pic {} }
                        th.n { (word!("cost, ")) (self.show.currency) } th.rest { (word!("likeliest")) }
                    }
                    @for row in rows { (self.line(row, whiskers)) }
                }
            }
        }
    }

    fn line(&self, row: &GapRow, whiskers: bool) -> Markup {
        let Some(item) = self.item(row.item) else { return html! {} };
        let words = InWords { setup: self.setup, item, gap: row.gap };
        let likeliest = self.view.suspects(row.item).first();
        let (name, gap) = (legible(&item.name), self.gap(item.basis, row.gap, row.u));
        let scale = Scale { containers: None, ..Scale::of(row.gap.as_f64(), row.u, item.size) };
        html! {
            tr {
                td.name { bdi { (name) } }
                td.n { (gap) }
                @if whiskers {
                    td.pic { (whisker(row.gap.as_f64(), row.u, scale, &format!("{name}: {gap}"))) }
                }
                td.n { (self.known_cost(row.cost)) }
                td.rest {
                    @if let Some(first) = likeliest { (legible(&words.headline(&first.cause))) " (" (chances(first)) ")" }
                }
            }
        }
    }

    /// What somebody accepted a cause of.
    pub(super) fn settled(&self) -> Markup {
        let explained = &self.view.explained;
        let rows: Vec<&GapRow> =
            self.view.variance.rows.iter().filter(|row| explained.contains_key(&row.item)).collect();
        html! {
            @if !rows.is_empty() {
                section.long {
                    h2 { (word!("Settled")) }
                    div.scroll {
                        table.reflow {
                            tr {
                                th { (word!("item")) } th.n { (word!("gap ± u")) } th.n { (word!("cost, ")) (self.show.currency) } th.rest { (word!("cause")) } th.rest { (word!("by")) }
                                th.rest { (word!("note")) }
                            }
                            @for row in rows {
                                @if let Some(settled) = explained.get(&row.item) {
                                    tr {
                                        td.name { bdi { (self.name(row.item)) } }
                                        td.n { (self.gap(self.basis(row.item), row.gap, row.u)) }
                                        td.n { (self.known_cost(row.cost)) }
                                        td.rest { (cause_word(settled.cause)) }
                                        td.rest { bdi { (legible(settled.by.as_deref().unwrap_or_default())) } }
                                        td.rest { bdi { (legible(settled.note.as_deref().unwrap_or_default())) } }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Words made a sentence: what speaks for a cause begins with a word or a figure of ours, never with a name.
fn sentence(words: &str) -> String {
    let mut rest = words.chars();
    rest.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), rest.as_str()))
}
