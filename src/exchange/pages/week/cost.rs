//! What goods cost that were used: by kind as bars, in all by both methods.

use super::Week;
use crate::domain::measure::Money;
use crate::domain::usage::{GoodsBy, GoodsGroup, Worth, goods_by, percent_of};
use crate::exchange::pages::svg::{px, stretched};
use crate::words;
use maud::{Markup, html};

const WIDE: f64 = 240.0;
const HIGH: f64 = 14.0;

fn percent(value: Option<f64>) -> String {
    value.map_or_else(
        || "–".to_owned(),
        |value| format!("{} %", words::fixed(value, 1).replace("-0.0", "0.0").replace("-0,0", "0,0")),
    )
}

impl Week<'_> {
    /// Cost of goods used.
    pub(super) fn cost_by_kind(&self) -> Markup {
        let goods = &self.goods.goods;
        let total = goods.total();
        let groups: Vec<(GoodsGroup, Worth)> = goods_by(self.setup, goods, GoodsBy::Kind)
            .into_iter()
            .filter_map(|group| group.worth.map(|worth| (group, *self.by_rule(&worth.average, &worth.fifo))))
            .collect();
        html! {
            section.long {
                h2 { (word!("Cost of goods used")) }
                @if let Some(worth) = &total.worth {
                    div.side.uneven {
                        (self.kinds(&groups, self.by_rule(&worth.average, &worth.fifo)))
                        (self.methods(&worth.average, &worth.fifo))
                    }
                    p.small {
                        (word!("Bars: used; the dark part is the gap, a dashed part was sold beyond what was used. *: each drink's net sales "))
                        (word!("parted over its kinds by what its goods cost, for want of better. Gaps cost here what goods cost over the "))
                        (word!("period, and elsewhere on this page what the book's cost rule says at its end."))
                    }
                } @else {
                    p { (word!("Nothing that has a known price was counted by then.")) }
                }
            }
        }
    }

    fn kinds(&self, groups: &[(GoodsGroup, Worth)], total: &Worth) -> Markup {
        let money = |money: Money| self.show.money(money);
        let length = |worth: &Worth| worth.used.0.max(0) as f64 + (-worth.gap.0).max(0) as f64;
        let longest = groups.iter().map(|(_, worth)| length(worth)).fold(1.0, f64::max);
        let row = |name: &str, bar: Markup, worth: &Worth, net: Option<Money>| {
            html! {
                td.word { (name) } td.pic { (bar) }
                td.n { (money(worth.used)) } td.n { (self.bare_cost(worth.gap)) }
                td.n { (percent(percent_of(worth.used, total.used))) }
                td.n { (percent(net.and_then(|net| percent_of(worth.used, net)))) }
            }
        };
        html! {
            div {
                h3 { (word!("By kind, ")) (self.show.currency) }
                div.scroll {
                    table.pictured.kinds {
                        tr {
                            th { (word!("kind")) } th.pic {} th.n { (word!("used")) } th.n { (word!("of it gap")) } th.n { (word!("share")) }
                            th.n { (word!("pour cost*")) }
                        }
                        @for (group, worth) in groups {
                            tr { (row(&group.name, self.bar(&group.name, worth, longest), worth, group.net)) }
                        }
                        tr.sum { (row(word!("in all"), html! {}, total, Some(self.goods.goods.net.all))) }
                    }
                }
            }
        }
    }

    /// Used, and of it the gap at its end.
    fn bar(&self, name: &str, worth: &Worth, longest: f64) -> Markup {
        let x = |money: i64| money.max(0) as f64 / longest * (WIDE - 2.0);
        let (used, gap) = (x(worth.used.0), x(worth.gap.0).min(x(worth.used.0)));
        let less = x(worth.gap.0.saturating_neg());
        let title = say!(
            "{name}: used {used}, of it gap {gap}",
            name,
            used = self.coin(worth.used),
            gap = self.coin(worth.gap)
        );
        let drawn = html! {
            rect x="1" y="1" width=(px(used)) height=(px(HIGH - 2.0)) fill="#ccc" stroke="#000" {}
            @if gap > 0.0 { rect x=(px(1.0 + used - gap)) y="1" width=(px(gap)) height=(px(HIGH - 2.0)) fill="#000" {} }
            @if less > 0.0 {
                rect x=(px(1.0 + used)) y="1" width=(px(less)) height=(px(HIGH - 2.0)) fill="none" stroke="#000"
                    stroke-dasharray="3 2" {}
            }
        };
        stretched((WIDE, HIGH), "bar", &title, &drawn)
    }

    fn methods(&self, average: &Worth, fifo: &Worth) -> Markup {
        let net = self.goods.goods.net.all;
        let batches = average.batches != Money::ZERO || fifo.batches != Money::ZERO;
        let line = |name: &str, of: &dyn Fn(&Worth) -> Money| {
            html! { tr { td.word { (name) } td.n { (self.show.money(of(average))) } td.n { (self.show.money(of(fifo))) } } }
        };
        html! {
            div {
                h3 { (word!("In all")) }
                div.scroll {
                    table {
                        tr { th { (self.show.currency) } th.n { (word!("weighted average")) } th.n { (word!("first in, first out")) } }
                        (line(word!("opening value"), &|worth| worth.opening))
                        (line(word!("+ bought"), &|worth| worth.bought))
                        @if batches { (line(word!("+ by batches, of what is in no sum"), &|worth| worth.batches)) }
                        (line(word!("− closing value"), &|worth| worth.closing))
                        (line(word!("= cost of goods used"), &|worth| worth.used))
                        (line(word!("sold, by the specs"), &|worth| worth.sold))
                        (line(word!("recorded losses"), &|worth| worth.lost))
                        (line(word!("gap"), &|worth| worth.gap))
                        (line(word!("net sales"), &|_| net))
                        tr.sum {
                            td { (word!("pour cost")) }
                            @for worth in [average, fifo] { td.n { (percent(percent_of(worth.used, net))) } }
                        }
                    }
                }
            }
        }
    }
}
