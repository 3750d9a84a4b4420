//! Cost of goods used as JSON.

use super::word;
use crate::cli::figures::Figures;
use crate::cli::json::{self, FORM, MoneyForm};
use crate::domain::measure::{Currency, Money};
use crate::domain::rows::{GoodsEnd, GoodsView};
use crate::domain::usage::{
    ByMethod, GoodsBy, GoodsGroup, GoodsRow, LeftOut, LeftOutBecause, Looked, Worth, goods_by, percent_of,
};
use crate::domain::venue::Moment;
use serde::Serialize;

/// The answer as JSON.
#[derive(Debug, Serialize)]
pub(super) struct Form {
    form: u32,
    from: EndForm,
    to: EndForm,
    average: WorthForm,
    fifo: WorthForm,
    net_sales: MoneyForm,
    net_untold: MoneyForm,
    net_no_stock: MoneyForm,
    pour_cost_average: Option<f64>,
    pour_cost_fifo: Option<f64>,
    grouped_by: &'static str,
    groups: Vec<GroupForm>,
    rows: Vec<RowForm>,
    left_out: Vec<LeftOutForm>,
    without_cost: Vec<String>,
    taken_from_ingredients: Vec<String>,
    unmapped: UnmappedForm,
}

/// One end of the stretch as JSON.
#[derive(Debug, Serialize)]
struct EndForm {
    at: String,
    count: Option<String>,
    day: Option<String>,
    so_far: bool,
}

/// What goods were worth by one method, as JSON.
#[derive(Debug, Serialize)]
struct WorthForm {
    opening: Option<MoneyForm>,
    bought: Option<MoneyForm>,
    batches: Option<MoneyForm>,
    closing: Option<MoneyForm>,
    used: Option<MoneyForm>,
    sold: Option<MoneyForm>,
    lost: Option<MoneyForm>,
    gap: Option<MoneyForm>,
}

/// One kind, place or item as JSON.
#[derive(Debug, Serialize)]
struct GroupForm {
    name: String,
    items: usize,
    without_cost: usize,
    average: WorthForm,
    fifo: WorthForm,
    percent_of_net_average: Option<f64>,
    percent_of_net_fifo: Option<f64>,
    net_by_share_of_cost: Option<MoneyForm>,
    pour_cost_by_share_average: Option<f64>,
    pour_cost_by_share_fifo: Option<f64>,
}

/// One item as JSON; amounts in the unit that it names.
#[derive(Debug, Serialize)]
struct RowForm {
    item: String,
    kind: Option<&'static str>,
    place: Option<String>,
    unit: &'static str,
    size: i64,
    opening: i64,
    bought: i64,
    made: i64,
    batched: i64,
    closing: i64,
    used: i64,
    sold: i64,
    lost: i64,
    gap: i64,
    opening_looked: Option<String>,
    closing_looked: String,
    priced_later: bool,
    average: WorthForm,
    fifo: WorthForm,
}

/// An item that is in no sum, as JSON.
#[derive(Debug, Serialize)]
struct LeftOutForm {
    item: String,
    because: LeftOutBecause,
    bought: MoneyForm,
}

/// Sales without a meaning as JSON.
#[derive(Debug, Serialize)]
struct UnmappedForm {
    lines: i64,
    quantity_milli: i64,
    net: MoneyForm,
}

pub(super) fn form(view: &GoodsView, figures: Figures, by: GoodsBy) -> Form {
    let (goods, total) = (&view.goods, view.goods.total());
    let currency = figures.setup.venue.currency;
    let net = &goods.net;
    let pour = |of: fn(&ByMethod) -> Worth| rounded(total.worth.and_then(|w| percent_of(of(&w).used, net.all)));
    let unmapped = goods.sold.unmapped;
    let all = total.worth.unwrap_or_default();
    Form {
        form: FORM,
        from: end(&view.from, view.from_at, figures),
        to: end(&view.to, view.to_at, figures),
        average: worth(Some(all.average), currency),
        fifo: worth(Some(all.fifo), currency),
        net_sales: json::money(net.all, currency),
        net_untold: json::money(net.untold, currency),
        net_no_stock: json::money(net.no_stock, currency),
        pour_cost_average: pour(|w| w.average),
        pour_cost_fifo: pour(|w| w.fifo),
        grouped_by: word(by),
        groups: goods_by(figures.setup, goods, by).into_iter().map(|g| group(g, net.all, currency)).collect(),
        rows: goods.rows.iter().map(|row| row_form(row, figures)).collect(),
        left_out: goods.left_out.iter().map(|left| left_out(left, figures)).collect(),
        without_cost: goods.unpriced().map(|row| figures.name(row.item)).collect(),
        taken_from_ingredients: goods.exploded.iter().map(|item| figures.name(*item)).collect(),
        unmapped: UnmappedForm {
            lines: unmapped.lines,
            quantity_milli: unmapped.quantity,
            net: json::money(unmapped.net, currency),
        },
    }
}

fn end(end: &GoodsEnd, at: Moment, figures: Figures) -> EndForm {
    let (count, day) = match end {
        GoodsEnd::Count(count) => (Some(count.name.clone()), None),
        GoodsEnd::Day(day) | GoodsEnd::Now(day) => (None, Some(day.to_string())),
    };
    let so_far = matches!(end, GoodsEnd::Now(_));
    EndForm { at: json::time(&figures.setup.venue.days, at), count, day, so_far }
}

fn worth(worth: Option<Worth>, currency: Currency) -> WorthForm {
    let money = |of: fn(&Worth) -> Money| worth.map(|w| json::money(of(&w), currency));
    WorthForm {
        opening: money(|w| w.opening),
        bought: money(|w| w.bought),
        batches: money(|w| w.batches),
        closing: money(|w| w.closing),
        used: money(|w| w.used),
        sold: money(|w| w.sold),
        lost: money(|w| w.lost),
        gap: money(|w| w.gap),
    }
}

/// To a thousandth of a percent.
fn rounded(percent: Option<f64>) -> Option<f64> {
    percent.map(|p| (p * 1_000.0).round() / 1_000.0)
}

fn group(group: GoodsGroup, all: Money, currency: Currency) -> GroupForm {
    let (average, fifo) = (group.worth.map(|w| w.average), group.worth.map(|w| w.fifo));
    let of = |worth: Option<Worth>, net: Option<Money>| rounded(worth.and_then(|w| percent_of(w.used, net?)));
    GroupForm {
        name: group.name,
        items: group.items,
        without_cost: group.unpriced,
        average: worth(average, currency),
        fifo: worth(fifo, currency),
        percent_of_net_average: of(average, Some(all)),
        percent_of_net_fifo: of(fifo, Some(all)),
        net_by_share_of_cost: group.net.map(|net| json::money(net, currency)),
        pour_cost_by_share_average: of(average, group.net),
        pour_cost_by_share_fifo: of(fifo, group.net),
    }
}

fn row_form(row: &GoodsRow, figures: Figures) -> RowForm {
    let venue = &figures.setup.venue;
    let item = figures.item(row.item);
    let time = |look: Looked| json::time(&venue.days, look.at);
    RowForm {
        item: figures.name(row.item),
        kind: item.map(|item| item.kind.word()),
        place: row.home.map(|place| figures.setup.place_name(place).to_owned()),
        unit: figures.unit(row.item),
        size: item.map_or(0, |item| item.size.0),
        opening: row.opening.0,
        bought: row.bought.0,
        made: row.made.0,
        batched: row.batched.0,
        closing: row.closing.0,
        used: row.used.0,
        sold: row.sold.0,
        lost: row.lost.0,
        gap: row.gap.0,
        opening_looked: row.looked_before.map(time),
        closing_looked: time(row.looked_after),
        priced_later: row.priced_later,
        average: worth(row.worth.map(|w| w.average), venue.currency),
        fifo: worth(row.worth.map(|w| w.fifo), venue.currency),
    }
}

fn left_out(left: &LeftOut, figures: Figures) -> LeftOutForm {
    LeftOutForm {
        item: figures.name(left.item),
        because: left.because,
        bought: json::money(left.bought, figures.setup.venue.currency),
    }
}
