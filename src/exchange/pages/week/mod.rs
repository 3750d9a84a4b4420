//! The report of a period: what matters in it on the first sheet, what it rests on after that.

mod chart;
mod cost;
mod listed;
mod sums;
mod told;
mod whisker;

use super::page;
use crate::domain::ledger::Count;
use crate::domain::measure::{Amount, Basis, Money, Show, number_of};
use crate::domain::rows::{GoodsView, PeriodView};
use crate::domain::usage::{Recount, SECONDS, Worth, percent_of};
use crate::domain::venue::{CostRule, Item, ItemId, Setup};
use crate::exchange::plain::legible;
use crate::words::{self, Speech};
use maud::{Markup, html};

/// Narrow windows get one column; on paper what belongs together stays on one sheet. Colour only repeats what a sign, a
/// shape or a word says.
const FORM: &str = "\
html{color-scheme:light;-webkit-text-size-adjust:100%}\
body{font-size:10pt;line-height:1.35;overflow-wrap:break-word;max-width:60em}\
h2{border-bottom:2px solid #000;padding-bottom:.1em}h3{font-size:1em;margin:.6em 0 .2em}\
p{margin:.4em 0}ul.said{margin:.3em 0;padding-left:1.2em}\
td.n,.fig,span.n{white-space:nowrap;font-variant-numeric:tabular-nums}.small{font-size:.85em}.odds{white-space:nowrap}\
.over{color:#8a2b06}.short{color:#0b4a80}\
dl.totals{display:grid;grid-template-columns:repeat(auto-fit,minmax(8.2em,1fr));gap:.5em .8em;margin:.8em 0}\
.totals div{border-top:1px solid #000;padding-top:.15em}.totals dt{font-size:.85em}\
.totals dd{margin:0}.totals .big{font-size:1.15em;font-weight:bold;white-space:nowrap}\
p.again{border:2px solid #000;padding:.35em .6em}\
ol.gaps{list-style:none;margin:0;padding:0}\
ol.gaps li{display:grid;grid-template-columns:minmax(0,1fr) 9em 16em 9em;column-gap:1em;align-items:center;\
padding:.3em 0;border-bottom:1px solid #999}\
.gaps .why{grid-column:1/-1}.gaps .fig,.gaps .money{text-align:right}\
.gaps .heads{font-size:.85em;padding:.1em 0}.gaps .heads .scale{text-align:center}\
svg{display:block;width:100%}td svg.whisker{width:7em;min-width:5em}svg.bar{min-width:5em;height:1em}\
.scroll{overflow-x:auto;max-width:100%}table{margin:.3em 0}th{vertical-align:bottom}th,td{padding:.15em .35em}.word{white-space:nowrap}\
.name,.rest{overflow-wrap:anywhere;min-width:5.5em}td.name{width:28%}\
tr.sum td{border-top:1px solid #000;font-weight:bold}\
.side{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(25em,100%),1fr));gap:0 2em;align-items:start}\
.side>*{min-width:0}.uneven{grid-template-columns:5fr 4fr}\
.charts{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(12em,46%),1fr));gap:.6em 1.2em}\
.charts.large{grid-template-columns:repeat(auto-fill,minmax(min(25em,100%),1fr))}\
figure{margin:0;min-width:0}figcaption{font-size:.9em}\
.take-care{border:1px solid #000;padding:.35em .6em}\
@media(max-width:40em){body{margin:1em auto;padding:0 .8em}th,td{padding:.15em .3em}\
ol.gaps li{grid-template-columns:minmax(0,1fr) auto}.gaps .heads{display:none}\
.gaps .what{grid-column:1/-1}.gaps .fig{text-align:left;order:1}.gaps .money{order:2}\
.gaps .scale{grid-column:1/-1;order:3;max-width:20em}.gaps .why{order:4}\
.reflow tr{display:grid;grid-template-columns:minmax(0,1fr) auto auto;border-bottom:1px solid #999}\
.reflow th,.reflow td{border:0}.reflow .rest{grid-column:1/-1;padding-top:0;font-size:.85em}\
.reflow td.pic{grid-column:1/-1;order:8}.reflow td.rest{order:9}\
.reflow th.rest,.reflow .rest:empty{display:none}\
.pictured tr{display:grid;border-bottom:1px solid #999}.sums tr{grid-template-columns:minmax(0,1fr) 10em 6em}\
.kinds tr{grid-template-columns:minmax(0,1fr) 5.6em 6em 4em 4.2em}td.name{width:auto}.pictured th,.pictured td{border:0}\
.pictured td.pic{order:9;grid-column:1/-1;padding-top:0}th.pic,td.pic:empty{display:none}\
td svg.whisker,svg.bar{width:100%;max-width:20em}.uneven{grid-template-columns:minmax(0,1fr)}}\
@media print{@page{size:A4;margin:12mm}body{font-size:8.5pt;padding:0}h1{font-size:1.3em}\
section,li,p,figure,.keep{break-inside:avoid}section.long{break-inside:auto}.scroll{overflow:visible}h3,h2+p.small{break-after:avoid}}";

/// Names told in one sentence; more are only numbered.
const NAMES: usize = 12;

/// What all parts of the page write from.
#[derive(Clone, Copy)]
struct Week<'a> {
    setup: &'a Setup,
    view: &'a PeriodView,
    goods: &'a GoodsView,
    show: Show,
}

/// The period on one page: the totals and what is to be looked into, then what is watched and settled, the charts, what
/// goods cost, the gaps summed, what is not told, and how it was judged.
pub fn week_page(setup: &Setup, view: &PeriodView, goods: &GoodsView) -> String {
    let week = Week { setup, view, goods, show: setup.venue.show() };
    let title =
        legible(&say!("{name}: variance up to {closing}", name = setup.venue.name, closing = view.closing.name));
    let body = html! {
        header { (week.heading()) }
        (week.looked_into())
        (week.watched())
        (week.settled())
        (week.charts())
        (week.cost_by_kind())
        (week.summed_up())
        (week.not_told())
        (week.judged())
    };
    page(&title, Speech::here().language.tag(), FORM, &body)
}

/// A figure with its sign, unless it is nothing or rounds to it.
fn signed(text: String, value: i64) -> String {
    if value > 0 && text.contains(|c| matches!(c, '1'..='9')) { format!("+{text}") } else { text }
}

impl Week<'_> {
    fn heading(&self) -> Markup {
        let days = &self.setup.venue.days;
        let (opening, closing) = (&self.view.opening, &self.view.closing);
        let day = |count: &Count| days.day_of(count.opened);
        let long = number_of(day(closing).signed_duration_since(day(opening)).num_days(), word!("day"), word!("days"));
        let end = |count: &Count| html! { bdi { (legible(&count.name)) } " (" (days.short(count.opened)) ")" };
        html! {
            h1 { bdi { (legible(&self.setup.venue.name)) } (word!(": used against sold")) }
            p { (word!("From ")) (end(opening)) (word!(" to ")) (end(closing)) ", " (long) "." }
            dl.totals {
                @for (what, figure, more) in self.totals() {
                    div { dt { (what) } dd.big { (figure) } @if !more.is_empty() { dd.small { (more) } } }
                }
            }
            @if let Some(said) = self.look_again() { p.again { (said) } }
        }
    }

    /// What the owner wants to know first: each with its name, and what it leaves out.
    fn totals(&self) -> Vec<(&'static str, String, String)> {
        let view = self.view;
        let (gaps, unknown) = view.cost();
        let unknown = if unknown > 0 { say!("{unknown} without a known cost", unknown) } else { String::new() };
        let open = view.open().count();
        let net = self.goods.goods.net.all;
        let worth = self.goods.goods.total().worth.map(|worth| *self.by_rule(&worth.average, &worth.fifo));
        let used = worth.map_or_else(|| "–".to_owned(), |worth| self.coin(worth.used));
        let pour = worth.and_then(|worth| percent_of(worth.used, net));
        vec![
            (
                word!("to look into"),
                open.to_string(),
                say!("of {variance}", variance = number_of(view.variance.rows.len(), word!("line"), word!("lines"))),
            ),
            (word!("money at stake in them"), self.coin(view.stake()), String::new()),
            (word!("all gaps cost"), self.cost(gaps), unknown),
            (word!("net sales"), self.coin(net), String::new()),
            (word!("cost of goods used"), used, String::new()),
            (
                word!("pour cost"),
                pour.map_or_else(|| "–".to_owned(), |pour| format!("{} %", words::fixed(pour, 1))),
                String::new(),
            ),
        ]
    }

    /// What looking again at a few lines would settle, while they still stand as they were counted.
    fn look_again(&self) -> Option<String> {
        let settled = |item: &ItemId| self.view.explained.contains_key(item);
        let recounts: Vec<&Recount> = self.view.recounts.iter().filter(|recount| !settled(&recount.item)).collect();
        let each = recounts.iter().map(|recount| {
            let how = match recount.slip >= recount.finer {
                true => word!("count the sealed ones again, in every place"),
                false => word!("read the opened ones finer, or weigh them"),
            };
            format!("{} ({how})", self.name(recount.item))
        });
        let gain: Money = recounts.iter().map(|recount| recount.gain).sum();
        let seconds = SECONDS * recounts.len() as i64;
        let time = if seconds < 60 { say!("{seconds} seconds", seconds) } else { word!("a minute or two").to_owned() };
        let these = if recounts.len() == 1 { word!("this one") } else { word!("these") };
        (!recounts.is_empty()).then(|| {
            say!(
                "Look at {these} again before anything is poured: {each}. That takes {time} and settles about {gain}.",
                these,
                each = each.collect::<Vec<_>>().join("; "),
                time,
                gain = self.coin(gain)
            )
        })
    }

    /// By the method that is nearest to the book's rule.
    fn by_rule<'a>(&self, average: &'a Worth, fifo: &'a Worth) -> &'a Worth {
        if self.setup.venue.cost_rule == CostRule::Fifo { fifo } else { average }
    }

    fn item(&self, id: ItemId) -> Option<&Item> {
        self.setup.item(id)
    }

    fn name(&self, id: ItemId) -> String {
        legible(self.setup.item_name(id))
    }

    fn basis(&self, id: ItemId) -> Basis {
        self.item(id).map_or(Basis::Volume, |item| item.basis)
    }

    /// Names in one line; of a long list the first, and how many there are besides.
    fn names(&self, items: &[ItemId]) -> String {
        let first: Vec<String> = items.iter().take(NAMES).map(|item| self.name(*item)).collect();
        match items.len().saturating_sub(NAMES) {
            0 => first.join(", "),
            more => say!("{what} and {more} more", what = first.join(", "), more),
        }
    }

    fn coin(&self, money: Money) -> String {
        format!("{} {}", self.show.money(money), self.show.currency)
    }

    /// What a gap cost, with its sign: above zero it was lost.
    fn cost(&self, money: Money) -> String {
        signed(self.coin(money), money.0)
    }

    /// The same in a table whose head names the coin.
    fn bare_cost(&self, money: Money) -> String {
        signed(self.show.money(money), money.0)
    }

    fn known_cost(&self, money: Option<Money>) -> String {
        money.map_or_else(|| "–".to_owned(), |money| self.bare_cost(money))
    }

    /// `+700 ± 32 ml`.
    fn gap(&self, basis: Basis, gap: Amount, u: f64) -> String {
        let figure = signed(self.show.bare(basis, gap), gap.0);
        format!("{figure} ± {}", self.show.amount(basis, Amount::rounded(u)))
    }
}
