//! `tantalus order`: what to buy from whom, up to par.

mod why;

use super::figures::{Figures, UNKNOWN};
use super::json::{self, FORM, MoneyForm};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find, screens};
use crate::clock;
use crate::desk::ordering::Form;
use crate::desk::{comparing, ordering};
use crate::domain::ledger::Order;
use crate::domain::measure::{Amount, Money};
use crate::domain::order::{DraftLine, Waiting, Waits};
use crate::domain::par::Need;
use crate::domain::rows::{
    DraftKept, DraftView, OrdersView, chance_words, filled_up_words, mixed_words, unproved_words, waits_words,
};
use crate::domain::venue::{Moment, SupplierId};
use serde::Serialize;
use std::path::PathBuf;

/// Draft the orders that fill every item up to its par, from whoever makes the whole cheapest
///
/// Smallest orders, delivery fees and packs are weighed together; where an order would be too small, it is filled up with
/// what will be needed soonest.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only the order to one supplier
    #[arg(long, value_name = "NAME")]
    supplier: Option<String>,
    /// For no more than so much in all, goods and deliveries: what runs the least risk of running dry is left out
    #[arg(long, value_name = "AMOUNT")]
    budget: Option<String>,
    /// Why an item is ordered as it is, and what it would cost from others
    #[arg(long, value_name = "ITEM", conflicts_with_all = ["budget", "write", "send"])]
    why: Option<String>,
    /// Write each order as pdf, eml (an e-mail to be sent), text, csv or ubl (an electronic order), or as all of them
    #[arg(long, value_name = "FORM", value_delimiter = ',', value_parser = forms())]
    write: Vec<Written>,
    /// The folder that is written into; without it, orders beside the book
    #[arg(long, value_name = "DIR", requires = "write")]
    into: Option<PathBuf>,
    /// What the written order says to the supplier besides
    #[arg(long, value_name = "TEXT", requires = "write", value_parser = short)]
    note: Option<String>,
    /// Mark the order as sent: it is on order from now on
    #[arg(long, requires = "supplier")]
    send: bool,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// One form, or every one.
#[derive(Clone, Copy, Debug)]
enum Written {
    As(Form),
    All,
}

fn forms() -> impl clap::builder::TypedValueParser<Value = Written> {
    use clap::builder::{PossibleValuesParser, TypedValueParser};
    let words = Form::ALL.iter().map(|form| form.word()).chain(["all"]);
    PossibleValuesParser::new(words).map(|word| Form::parse(&word).map_or(Written::All, Written::As))
}

/// The longest note: a page has to hold it.
const LONGEST_NOTE: usize = 500;

fn short(text: &str) -> Result<String, String> {
    let long = text.chars().count() > LONGEST_NOTE;
    if long { Err(format!("expected at most {LONGEST_NOTE} characters")) } else { Ok(text.to_owned()) }
}

/// The answer as JSON.
#[derive(Debug, Serialize)]
struct Answer {
    form: u32,
    at: String,
    drafts: Vec<DraftForm>,
    goods: MoneyForm,
    on_order: Vec<SentForm>,
    paid: MoneyForm,
    could_be_cheaper: MoneyForm,
    waiting: Vec<WaitingForm>,
    to_make: Vec<NeedForm>,
    without_offer: Vec<NeedForm>,
    never_counted: Vec<String>,
    left_out: Vec<String>,
}

/// A supplier's draft as JSON.
#[derive(Debug, Serialize)]
struct DraftForm {
    supplier: String,
    name: String,
    changed: bool,
    order_by: Option<String>,
    comes: Option<String>,
    lines: Vec<LineForm>,
    goods: MoneyForm,
    fee: MoneyForm,
    to_minimum: MoneyForm,
    mixed_cases: Vec<MixedForm>,
    written: Vec<String>,
    sent: bool,
}

/// The mixed cases of one name in a draft, as JSON.
#[derive(Debug, Serialize)]
struct MixedForm {
    case: String,
    holds: i64,
    containers: i64,
    missing: i64,
}

/// A line of a draft as JSON; amounts in the unit that it names.
#[derive(Debug, Serialize)]
struct LineForm {
    item: String,
    code: Option<String>,
    unit: &'static str,
    par: Option<i64>,
    on_hand: Option<i64>,
    u_on_hand: Option<i64>,
    on_order: Option<i64>,
    short: Option<i64>,
    packs: i64,
    packs_suggested: i64,
    pack_containers: i64,
    pack_price: MoneyForm,
    total: MoneyForm,
    shelf_limits: bool,
    fills_up: bool,
    mixed_case: Option<String>,
    dry_without: Option<f64>,
    dry_with: Option<f64>,
    dry_before: Option<f64>,
}

/// An order that was sent before, as JSON.
#[derive(Debug, Serialize)]
struct SentForm {
    name: String,
    supplier: String,
    placed: Option<String>,
    comes: Option<String>,
    lines: Vec<SentLineForm>,
}

/// A line of an order that was sent, as JSON.
#[derive(Debug, Serialize)]
struct SentLineForm {
    item: String,
    packs: i64,
    pack_containers: i64,
    pack_price: MoneyForm,
}

/// What is short and cannot be ordered, as JSON; amounts in the unit that it names.
#[derive(Debug, Serialize)]
struct NeedForm {
    item: String,
    unit: &'static str,
    par: i64,
    on_hand: Option<i64>,
    on_order: i64,
    short: Option<i64>,
}

/// What is short and not ordered though somebody offers it, as JSON.
#[derive(Debug, Serialize)]
struct WaitingForm {
    #[serde(flatten)]
    need: NeedForm,
    why: &'static str,
    dry_without: Option<f64>,
}

/// What was done with a draft.
#[derive(Default)]
struct Done {
    written: Vec<PathBuf>,
    sent: bool,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open_costs()?;
    let now = clock::started();
    let setup = comparing::setup(&store)?;
    let figures = Figures { setup: &setup };
    let only = match &args.supplier {
        Some(typed) => Some(find::one("supplier", &setup.suppliers, |s| &s.name, typed)?.id),
        None => None,
    };
    if let Some(typed) = &args.why {
        return why::run(&store, &setup, typed, args.json, now);
    }
    let budget = match &args.budget {
        Some(typed) => Some(setup.venue.currency.parse(typed).map_err(|e| Refusal::new(format!("--budget: {e}")))?),
        None => None,
    };
    let view = of_supplier(ordering::orders_within(&store, budget, now)?, only);
    let mut done: Vec<Done> = view.drafts.iter().map(|_| Done::default()).collect();
    if !args.write.is_empty() {
        let folder = args.into.clone().unwrap_or_else(|| screens::papers(&store));
        let filled: Vec<usize> = (0..view.drafts.len()).filter(|n| has_lines(&view.drafts[*n])).collect();
        if filled.is_empty() {
            return Err(Refusal::new("there is nothing to order, so there is nothing to write"));
        }
        for n in filled {
            let document = ordering::document(&setup, &view.drafts[n], args.note.as_deref(), now);
            done[n].written = ordering::write_files(&document, &folder, &chosen(&args.write))?;
        }
    }
    if args.send {
        let draft = view.drafts.first().ok_or_else(|| Refusal::new("there is nothing in this order to send"))?;
        if let DraftKept::Twice(theirs) = ordering::send(&store, draft, now)? {
            let said = format!("“{}” was changed at another terminal meanwhile, and nothing is sent", theirs.name);
            return Err(Refusal::new(said).hint("look at it anew"));
        }
        done[0].sent = true;
    }
    if args.json {
        return json::text(&form(&view, &done, figures, now));
    }
    Ok(page(&view, &done, figures))
}

/// The forms that were asked for.
fn chosen(written: &[Written]) -> Vec<Form> {
    let every = written.iter().any(|written| matches!(written, Written::All));
    let asked = |form: &Form| every || written.iter().any(|w| matches!(w, Written::As(one) if one == form));
    Form::ALL.iter().copied().filter(asked).collect()
}

/// What concerns one supplier, when one was named.
fn of_supplier(mut view: OrdersView, only: Option<SupplierId>) -> OrdersView {
    if let Some(only) = only {
        view.drafts.retain(|d| d.draft.supplier == only);
        view.sent.retain(|o| o.supplier == only);
        view.waiting.retain(|waiting| waiting.why == Waits::Budget);
        let (drafts, sent, waiting) = (view.drafts, view.sent, view.waiting);
        view = OrdersView { drafts, sent, waiting, ..OrdersView::default() };
    }
    view
}

fn has_lines(view: &DraftView) -> bool {
    view.draft.lines.iter().any(|l| l.packs > 0)
}

fn supplier<'a>(figures: Figures<'a>, id: SupplierId) -> &'a str {
    figures.setup.supplier(id).map_or(UNKNOWN, |s| &s.name)
}

/// Things that wait for the same reason are named up to so many, the most likely to run dry first.
const NAMED: usize = 12;

fn page(view: &OrdersView, done: &[Done], figures: Figures) -> String {
    let setup = figures.setup;
    let mut page = Page::new();
    let mut empty = Vec::new();
    let mut goods = Money::ZERO;
    let mut orders = 0;
    for (draft, done) in view.drafts.iter().zip(done) {
        if draft.draft.lines.is_empty() {
            empty.push(supplier(figures, draft.draft.supplier));
            continue;
        }
        page.gap();
        draft_page(&mut page, draft, done, figures);
        let totals = draft.draft.totals(setup);
        goods += totals.goods;
        orders += usize::from(has_lines(draft));
    }
    page.gap();
    if orders > 1 {
        page.line(format!("{orders} orders, goods without tax {}.", figures.coin(goods)));
    }
    if let Some(budget) = view.budget.filter(|budget| view.paid(setup) > *budget) {
        let over = figures.coin(view.paid(setup) - budget);
        page.line(format!(
            "Over the budget by {over}: what was written by hand, or what a smallest order asks for, stays."
        ));
    }
    if let Some(words) = unproved_words(setup.venue.show(), view.at_most_cheaper) {
        page.line(words);
    }
    if !empty.is_empty() {
        page.line(format!("Nothing to order from: {}.", empty.join(", ")));
    }
    for order in &view.sent {
        let comes = order.expected.map_or_else(String::new, |day| format!(", expected {}", day.format("%a %-d %b")));
        let lines = if order.lines.len() == 1 { "line" } else { "lines" };
        let who = supplier(figures, order.supplier);
        page.line(format!("On order: “{}” from {who}, {} {lines}{comes}.", order.name, order.lines.len()));
    }
    for why in [Waits::Budget, Waits::Cheaper, Waits::NoRoom, Waits::TooSmall] {
        let waiting = view.waiting_for(why);
        let each = |w: &Waiting| {
            let name = setup.item_name(w.need.item);
            let risk = w.risk.map_or_else(|| "nobody knows".to_owned(), chance_words);
            format!("{name} ({risk})")
        };
        if !waiting.is_empty() {
            let named = waiting.iter().take(NAMED).map(each).collect::<Vec<_>>().join(", ");
            let more = waiting.len().saturating_sub(NAMED);
            let more = if more > 0 { format!(" and {more} more (--json has them all)") } else { String::new() };
            page.line(format!("{}, with the chance to run dry: {named}{more}.", waits_words(why)));
        }
    }
    let mut short = |what: &str, needs: &[Need]| {
        if needs.is_empty() {
            return;
        }
        let each = |n: &Need| {
            let short = n.short().map_or_else(|| UNKNOWN.to_owned(), |s| figures.amount(n.item, s));
            format!("{} ({short})", setup.item_name(n.item))
        };
        page.line(format!("{what}: {}.", needs.iter().map(each).collect::<Vec<_>>().join(", ")));
    };
    short("Short, and made here", &view.to_make);
    short("Short, and nobody offers it", &view.without_offer);
    if !view.never_counted.is_empty() {
        let names = figures.items(view.never_counted.iter().copied());
        page.line(format!("With a par, but never counted: {names}."));
    }
    if page.is_empty() {
        page.line("Nothing is short.");
    }
    page.finish()
}

fn draft_page(page: &mut Page, view: &DraftView, done: &Done, figures: Figures) {
    let setup = figures.setup;
    let draft = &view.draft;
    let deadline = draft.deadline.map_or_else(
        || "no fixed days".to_owned(),
        |d| format!("order by {}, comes {}", setup.venue.days.short(d.by), d.comes.format("%a %d %b")),
    );
    page.line(format!("{}: “{}”, {deadline}", supplier(figures, draft.supplier), view.name));
    page.gap();
    let mut table = Table::new([
        ("item", Set::Name),
        ("on hand", Set::Spare),
        ("par", Set::Spare),
        ("on order", Set::Spare),
        ("packs", Set::Figure),
        ("of", Set::Figure),
        ("pack price", Set::Figure),
        ("total", Set::Figure),
        ("", Set::Words),
    ]);
    for line in &draft.lines {
        let containers =
            |amount: Option<Amount>| amount.map(|amount| figures.containers(line.item, amount)).unwrap_or_default();
        table.row([
            figures.name(line.item),
            containers(line.need.and_then(|n| n.on_hand).map(|l| l.amount)),
            containers(line.need.map(|n| n.par)),
            containers(line.need.map(|n| n.on_order).filter(|a| *a != Amount::ZERO)),
            line.packs.to_string(),
            line.pack.to_string(),
            figures.money(line.price),
            figures.money(line.total()),
            remark(line),
        ]);
    }
    let totals = draft.totals(setup);
    let mut sum = |what: &str, money: Money| {
        let mut cells = vec![String::new(); 9];
        cells[0] = what.to_owned();
        cells[7] = figures.money(money);
        table.sum(cells);
    };
    sum(&format!("goods without tax, {}", setup.venue.currency), totals.goods);
    if totals.fee > Money::ZERO {
        sum("delivery", totals.fee);
    }
    page.table(&table);
    if totals.to_minimum > Money::ZERO && totals.goods > Money::ZERO {
        page.line(format!("{} short of the smallest order.", figures.coin(totals.to_minimum)));
    }
    if let Some(filled_up) = draft.filled_up(setup) {
        page.line(filled_up_words(setup.venue.show(), filled_up));
    }
    for filled in draft.mixed_cases() {
        page.line(mixed_words(&filled));
    }
    for path in &done.written {
        page.line(format!("Written: {}", path.display()));
    }
    if done.sent {
        page.line("Marked as sent: it is on order from now on.");
    }
}

fn remark(line: &DraftLine) -> String {
    let fills_up = line.why.is_some_and(|why| why.fills_up);
    match (line.packs != line.suggested, line.shelf_limits) {
        (true, _) => format!("{} suggested", line.suggested),
        (false, true) => "the shelf holds no more".to_owned(),
        (false, false) if fills_up => "not short: fills the order up".to_owned(),
        (false, false) => String::new(),
    }
}

fn form(view: &OrdersView, done: &[Done], figures: Figures, now: Moment) -> Answer {
    let venue = &figures.setup.venue;
    let money = |amount| json::money(amount, venue.currency);
    let goods = view.drafts.iter().map(|d| d.draft.totals(figures.setup).goods).sum();
    let need = |n: &Need| NeedForm {
        item: figures.name(n.item),
        unit: figures.unit(n.item),
        par: n.par.0,
        on_hand: n.on_hand.map(|l| l.amount.0),
        on_order: n.on_order.0,
        short: n.short().map(|s| s.0),
    };
    let sent = |o: &Order| SentForm {
        name: o.name.clone(),
        supplier: supplier(figures, o.supplier).to_owned(),
        placed: o.placed.map(|at| json::time(&venue.days, at)),
        comes: o.expected.map(|day| day.to_string()),
        lines: o
            .lines
            .iter()
            .map(|l| SentLineForm {
                item: figures.name(l.item),
                packs: l.packs,
                pack_containers: l.pack,
                pack_price: money(l.price),
            })
            .collect(),
    };
    Answer {
        form: FORM,
        at: json::time(&venue.days, now),
        drafts: view.drafts.iter().zip(done).map(|(d, done)| draft_form(d, done, figures)).collect(),
        goods: money(goods),
        on_order: view.sent.iter().map(sent).collect(),
        paid: money(view.paid(figures.setup)),
        could_be_cheaper: money(view.at_most_cheaper),
        waiting: view
            .waiting
            .iter()
            .map(|w| WaitingForm { need: need(&w.need), why: waits_form(w.why), dry_without: w.risk })
            .collect(),
        to_make: view.to_make.iter().map(need).collect(),
        without_offer: view.without_offer.iter().map(need).collect(),
        never_counted: view.never_counted.iter().map(|i| figures.name(*i)).collect(),
        left_out: view.waiting_for(Waits::Budget).iter().map(|w| figures.name(w.need.item)).collect(),
    }
}

fn waits_form(why: Waits) -> &'static str {
    match why {
        Waits::Cheaper => "cheaper",
        Waits::Budget => "budget",
        Waits::NoRoom => "no-room",
        Waits::TooSmall => "too-small",
    }
}

fn draft_form(view: &DraftView, done: &Done, figures: Figures) -> DraftForm {
    let venue = &figures.setup.venue;
    let money = |amount| json::money(amount, venue.currency);
    let draft = &view.draft;
    let totals = draft.totals(figures.setup);
    let line = |l: &DraftLine| {
        let on_hand = l.need.and_then(|n| n.on_hand);
        LineForm {
            item: figures.name(l.item),
            code: l.code.clone(),
            unit: figures.unit(l.item),
            par: l.need.map(|n| n.par.0),
            on_hand: on_hand.map(|l| l.amount.0),
            u_on_hand: on_hand.map(|l| json::whole(l.u)),
            on_order: l.need.map(|n| n.on_order.0),
            short: l.need.and_then(|n| n.short()).map(|s| s.0),
            packs: l.packs,
            packs_suggested: l.suggested,
            pack_containers: l.pack,
            pack_price: money(l.price),
            total: money(l.total()),
            shelf_limits: l.shelf_limits,
            fills_up: l.why.is_some_and(|why| why.fills_up),
            mixed_case: l.mixed.as_ref().map(|case| case.name.clone()),
            dry_without: l.why.and_then(|why| why.risk_without),
            dry_with: l.why.and_then(|why| why.risk_with),
            dry_before: l.why.and_then(|why| why.risk_before),
        }
    };
    DraftForm {
        supplier: supplier(figures, draft.supplier).to_owned(),
        name: view.name.clone(),
        changed: view.order.is_some(),
        order_by: draft.deadline.map(|d| json::time(&venue.days, d.by)),
        comes: draft.deadline.map(|d| d.comes.to_string()),
        lines: draft.lines.iter().map(line).collect(),
        goods: money(totals.goods),
        fee: money(totals.fee),
        to_minimum: money(totals.to_minimum),
        mixed_cases: draft
            .mixed_cases()
            .iter()
            .map(|filled| MixedForm {
                case: filled.case.name.clone(),
                holds: filled.case.holds,
                containers: filled.containers,
                missing: filled.missing(),
            })
            .collect(),
        written: done.written.iter().map(|p| p.display().to_string()).collect(),
        sent: done.sent,
    }
}
