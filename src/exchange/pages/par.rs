//! Par levels to look at on paper: what was asked of each item day by day, its pars, and how long it lasts.

use super::page;
use super::svg::{picture, px};
use crate::domain::measure::Show;
use crate::domain::par::ItemPar;
use crate::domain::rows::{AskedOn, Lasts, ParView, StripDay, Van, cover_words, strip};
use crate::domain::usage::DayTold;
use crate::domain::venue::{Item, ParFrom};
use crate::words::Speech;
use chrono::{Datelike, Weekday};
use maud::{Markup, html};

/// A picture of days: so wide and high in its own units.
const WIDE: f64 = 224.0;
const HIGH: f64 = 40.0;
const STRIP: f64 = 18.0;
/// Days ahead that a strip shows.
const AHEAD: usize = 21;

const FORM: &str = "td svg{display:block;width:100%;min-width:9em}td.pic{width:34%}tr{break-inside:avoid}";

/// The page of all items that are stocked.
pub fn par_page(view: &ParView, day: chrono::NaiveDate) -> String {
    let setup = &view.setup;
    let show = setup.venue.show();
    let rows: Vec<(&ItemPar, &Item)> = view.pars.iter().filter_map(|par| Some((par, setup.item(par.item)?))).collect();
    let body = html! {
        h1 { (word!("Par levels, and how long the stock lasts")) }
        p { (setup.venue.name) ", " (day) (word!(". Figures in containers.")) }
        table {
            tr { th { (word!("item")) } th.n { (word!("on hand")) } th.n { (word!("by hand")) } th.n { (word!("by demand")) } th { (word!("asked each day")) } th { (word!("days ahead")) } }
            @for (par, item) in &rows {
                tr {
                    td { (item.name) }
                    td.n { (par.on_hand.map(|level| show.containers(level.amount, item.size)).unwrap_or_default()) }
                    td.n { (ruled(par.hand.map(|hand| show.containers(hand, item.size)), par.from == ParFrom::Hand)) }
                    td.n { (ruled(par.by_demand().map(|par| show.containers(par.level, item.size)), par.from == ParFrom::Demand)) }
                    td.pic { (asked(&view.asked_lately(par.item), par, item, show)) }
                    td.pic { (ahead(&strip(par), item)) (cover_words(par).unwrap_or_default()) }
                }
            }
        }
        p.small {
            (word!("The par that rules stands in bold. Asked each day: the higher the bar, the more; no foot: no trade; a cross: dry. Days "))
            (word!("ahead, from today: full "))
            (Lasts::Certain.word()) (word!(", three quarters ")) (Lasts::Likely.word()) (word!(", a quarter ")) (Lasts::Uncertain.word())
            (word!(", a cross ")) (Lasts::Dry.word()) (word!("; above a day, a full diamond is a van with something ordered, an empty one a van that "))
            (word!("an order could come with. A forecast is no promise."))
        }
    };
    page(word!("Par levels"), Speech::here().language.tag(), FORM, &body)
}

fn ruled(figure: Option<String>, rules: bool) -> Markup {
    html! {
        @match (figure, rules) {
            (Some(figure), true) => { strong { (figure) } }
            (Some(figure), false) => { (figure) }
            (None, _) => {}
        }
    }
}

fn cross(x: f64, y: f64) -> Markup {
    html! {
        path d=(format!("M{} {}l4 4m0 -4l-4 4", px(x - 2.0), px(y - 2.0))) stroke="#000" fill="none" {}
    }
}

fn asked(days: &[AskedOn], par: &ItemPar, item: &Item, show: Show) -> Markup {
    if days.is_empty() {
        return html! { (word!("nothing asked yet")) };
    }
    let most = days.iter().map(|day| day.asked).chain(par.daily()).fold(1e-9, f64::max);
    let each = WIDE / days.len() as f64;
    let bottom = HIGH - 2.0;
    let y = |asked: f64| bottom - asked / most * (bottom - 2.0);
    let drawn = html! {
        @for (n, day) in days.iter().enumerate() {
            @let x = n as f64 * each;
            @if day.open {
                line x1=(px(x)) x2=(px(x + each * 0.85)) y1=(px(bottom)) y2=(px(bottom)) stroke="#000" {}
                rect x=(px(x)) y=(px(y(day.asked))) width=(px(each * 0.85)) height=(px(bottom - y(day.asked))) fill="#555" {
                    title { (day.day) ": " (show.amount(item.basis, crate::domain::measure::Amount::rounded(day.asked))) }
                }
            }
            @if day.told == DayTold::Nothing { (cross(x + each / 2.0, bottom - 4.0)) }
        }
        @if let Some(rate) = par.daily() {
            line x1="0" x2=(px(WIDE)) y1=(px(y(rate))) y2=(px(y(rate))) stroke="#000" stroke-dasharray="3 3" {}
        }
    };
    picture(
        (WIDE, HIGH),
        word!("days"),
        &say!("{name}: asked each day over {n} days", name = item.name, n = days.len()),
        &drawn,
    )
}

fn ahead(days: &[StripDay], item: &Item) -> Markup {
    if days.is_empty() {
        return html! {};
    }
    let each = WIDE / AHEAD as f64;
    let drawn = html! {
        @for (n, day) in days.iter().take(AHEAD).enumerate() {
            @let x = n as f64 * each;
            @let share = match day.lasts { Lasts::Certain => 1.0, Lasts::Likely => 0.75, Lasts::Uncertain => 0.25, Lasts::Dry => 0.0 };
            @let tall = share * (STRIP - 8.0);
            @if day.day.weekday() == Weekday::Mon { line x1=(px(x)) x2=(px(x)) y1="0" y2=(px(STRIP)) stroke="#999" {} }
            rect x=(px(x + 1.0)) y=(px(STRIP - tall)) width=(px(each - 2.0)) height=(px(tall)) fill="#777" { title { (day.day) ": " (day.lasts.word()) } }
            @if day.lasts == Lasts::Dry { (cross(x + each / 2.0, STRIP - 4.0)) }
            @if let Some(van) = day.van {
                @let fill = if van == Van::Ordered { "#000" } else { "none" };
                path d=(format!("M{} 0l3 3l-3 3l-3 -3z", px(x + each / 2.0))) fill=(fill) stroke="#000" {}
            }
        }
    };
    picture((WIDE, STRIP), "strip", &say!("{name}: how surely it lasts, day by day", name = item.name), &drawn)
}
