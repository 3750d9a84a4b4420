//! Gaps summed: by place, by kind, by who counted, by evening.

use super::whisker::{Scale, whisker};
use super::{Week, signed};
use crate::domain::measure::{Amount, Basis};
use crate::domain::rows::Evening;
use crate::domain::usage::{GapRow, GroupRow, Grouping, grouped, summed};
use crate::exchange::plain::legible;
use crate::words;
use maud::{Markup, html};

impl Week<'_> {
    /// All sums side by side.
    pub(super) fn summed_up(&self) -> Markup {
        let rows = &self.view.variance.rows;
        let by = |by| grouped(self.setup, rows, by);
        let evenings = || {
            let sum = |evening: &Evening| {
                let day = words::day(self.setup.venue.days.day_of(evening.to.opened), "%a %-d %b");
                summed(self.setup, day, &evening.rows.iter().collect::<Vec<&GapRow>>())
            };
            self.view.evenings.iter().map(sum).collect::<Vec<GroupRow>>()
        };
        html! {
            @if !rows.is_empty() {
                section.long {
                    h2 { (word!("Gaps summed")) }
                    div.side {
                        (self.sums(word!("By place"), word!("place"), &by(Grouping::Place)))
                        (self.sums(word!("By kind"), word!("kind"), &by(Grouping::Kind)))
                        (self.sums(word!("By who counted at the end"), word!("counter"), &by(Grouping::Counter)))
                        @if !self.view.evenings.is_empty() { (self.sums(word!("By evening, of what was counted on it"), word!("evening"), &evenings())) }
                    }
                    p.small {
                        (word!("Gaps are of the liquids only, costs of everything. An item stands with the place that it is poured from. Who "))
                        (word!("counted something is not who poured it."))
                    }
                }
            }
        }
    }

    fn sums(&self, title: &str, head: &str, groups: &[GroupRow]) -> Markup {
        // One scale for all of a table, so that they can be compared.
        let reach = groups.iter().map(|group| group.gap.as_f64().abs() + 2.0 * group.u).fold(1.0, f64::max);
        let (scale, unit) = (Scale::shared(reach), self.show.symbol(Basis::Volume));
        html! {
            div.keep {
                h3 { (title) }
                div.scroll {
                    table.pictured.sums {
                        tr {
                            th { (head) (word!(" (items)")) } th.n { (word!("gap ± u, ")) (unit) } th.pic {} th.n { (word!("cost, ")) (self.show.currency) }
                        }
                        @for group in groups {
                            @let gap = signed(self.show.bare(Basis::Volume, group.gap), group.gap.0);
                            @let u = self.show.bare(Basis::Volume, Amount::rounded(group.u));
                            @let name = legible(&group.name);
                            tr {
                                td.name { bdi { (name) } " " span.small { "(" (group.items) ")" } }
                                td.n { (gap) " ± " (u) }
                                td.pic {
                                    (whisker(group.gap.as_f64(), group.u, scale, &format!("{name}: {gap} ± {u} {unit}")))
                                }
                                td.n { @if group.without_cost == group.items { "–" } @else { (self.bare_cost(group.cost)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
