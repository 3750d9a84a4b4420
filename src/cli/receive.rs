//! `tantalus receive`: a supplier's bill beside what was ordered, and into the book.

use super::figures::{Figures, UNKNOWN};
use super::json::{self, FORM, MoneyForm};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::{comparing, ordering, receiving};
use crate::domain::measure::decimal;
use crate::domain::receive::{AgainstLine, InvoiceLine, Means, Rate, Status, Weight};
use crate::domain::rows::{Answers, BillBooked, BillChoice, BillFile, BillView};
use crate::domain::venue::{ItemId, name_key};
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Set a supplier's bill beside what was ordered, and book it; without a file, list what is on its way and what is to be
/// claimed
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// An e-invoice or credit note: UBL 2.1, UN/CEFACT CII, or a PDF with one of them inside
    file: Option<PathBuf>,
    /// Whose bill it is, when the book cannot tell; it is remembered
    #[arg(long, value_name = "NAME", requires = "file")]
    supplier: Option<String>,
    /// The order or the booked delivery that it answers, by name or document; `none` for none
    #[arg(long, value_name = "NAME", requires = "file")]
    answers: Option<String>,
    /// What a line of the bill is, by its number there, its code or its name: `7=Harbour gin*6` is six containers,
    /// `8=deposit`, `9=not-stock`; it is remembered
    #[arg(long, value_name = "LINE=IS", requires = "file")]
    line: Vec<String>,
    /// How many containers of an item were carried in: `Harbour gin=5`
    #[arg(long, value_name = "ITEM=N", requires = "file")]
    came: Vec<String>,
    /// All that nothing else is said of came as it is charged
    #[arg(long, requires = "file")]
    as_charged: bool,
    /// Share freight and the like out over the goods instead of keeping it apart
    #[arg(long, requires = "file")]
    share_freight: bool,
    /// The goods came today, whatever day the bill says
    #[arg(long, requires = "file")]
    came_today: bool,
    /// What did not come is not on order any more
    #[arg(long, requires = "file")]
    give_up_rest: bool,
    /// Book it although something about it is doubtful
    #[arg(long, requires = "file")]
    all_the_same: bool,
    /// Book the bill; without this it is only shown
    #[arg(long, requires = "file")]
    book_it: bool,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// A bill as JSON.
#[derive(Debug, Serialize)]
struct BillForm {
    form: u32,
    file: String,
    kind: &'static str,
    number: String,
    issued: String,
    due: Option<String>,
    delivered: Option<String>,
    order_reference: Option<String>,
    preceding: Vec<String>,
    currency: String,
    seller: String,
    seller_vat_id: Option<String>,
    supplier: Option<String>,
    answers: String,
    answers_kind: &'static str,
    booked_before: Option<String>,
    problems: Vec<ProblemForm>,
    lines: Vec<LineForm>,
    items: Vec<ItemForm>,
    goods: MoneyForm,
    deposits: MoneyForm,
    freight: MoneyForm,
    freight_shared: bool,
    not_stock: MoneyForm,
    claims: Vec<ClaimForm>,
    booked: Option<BookedForm>,
}

/// Something about a bill, as JSON.
#[derive(Debug, Serialize)]
struct ProblemForm {
    weight: &'static str,
    line: Option<String>,
    what: String,
}

/// A line of a bill, as JSON; its figures as the file has them.
#[derive(Debug, Serialize)]
struct LineForm {
    line: String,
    name: String,
    code: Option<String>,
    gtin: Option<String>,
    quantity: String,
    unit: String,
    price: Option<String>,
    net: String,
    tax_percent: Option<String>,
    is: &'static str,
    item: Option<String>,
    containers: Option<i64>,
    unit_price: Option<String>,
    how: Option<String>,
    question: Option<String>,
    likely: Vec<String>,
}

/// An item of a bill beside its order, as JSON.
#[derive(Debug, Serialize)]
struct ItemForm {
    item: String,
    ordered: Option<i64>,
    ordered_unit_price: Option<String>,
    charged: Option<i64>,
    charged_unit_price: Option<String>,
    came: Option<i64>,
    marks: Vec<&'static str>,
    place: Option<String>,
}

/// A claim, as JSON.
#[derive(Debug, Serialize)]
struct ClaimForm {
    supplier: Option<String>,
    document: String,
    item: Option<String>,
    why: &'static str,
    containers: i64,
    money: MoneyForm,
    words: String,
}

/// What booking brought, as JSON.
#[derive(Debug, Serialize)]
struct BookedForm {
    deliveries: usize,
    prices_corrected: usize,
    claims: usize,
    claims_settled: usize,
    rest_on_order: Option<String>,
}

/// What is on its way and what is to be claimed, as JSON.
#[derive(Debug, Serialize)]
struct OpenForm {
    form: u32,
    on_order: Vec<OnOrderForm>,
    claims: Vec<ClaimForm>,
}

/// An order on its way, as JSON.
#[derive(Debug, Serialize)]
struct OnOrderForm {
    name: String,
    supplier: String,
    comes: Option<String>,
    lines: usize,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open()?;
    match &args.file {
        Some(file) => bill(&store, shared, args, file),
        None => open(&store, args.json),
    }
}

fn bill(store: &Store, shared: &Shared, args: &Args, path: &Path) -> Result<String, Refusal> {
    let now = clock::now();
    let file = Arc::new(receiving::read(path)?);
    let mut choice = BillChoice { spread: args.share_freight, ..BillChoice::default() };
    if let Some(name) = &args.supplier {
        let setup = comparing::setup(store)?;
        let supplier = find::one("supplier", &setup.suppliers, |s| &s.name, name)?.id;
        choice.supplier = Some(supplier);
        if args.book_it {
            receiving::know_supplier(store, &file.invoice, supplier)?;
        }
    }
    let mut view = receiving::view(store, &file, &choice, now)?;
    explain(store, &view, &args.line)?;
    if !args.line.is_empty() {
        view = receiving::view(store, &file, &choice, now)?;
    }
    if let Some(wanted) = &args.answers {
        choice.answers = Some(answers(&view, wanted)?);
        view = receiving::view(store, &file, &choice, now)?;
    }
    say_what_came(&mut view, args)?;
    let booked = if args.book_it {
        doubts(&view, args.all_the_same)?;
        let by = shared.signer();
        let on_its_day = !args.came_today;
        Some(receiving::accept(store, &view, !args.give_up_rest, on_its_day, by.as_deref(), now)?)
    } else {
        None
    };
    if args.json { json::text(&form(&view, booked.as_ref())) } else { Ok(page(&view, booked.as_ref())) }
}

/// `7=Harbour gin*6`, `8=deposit`, `9=not-stock`: all are understood before any is kept.
fn explain(store: &Store, view: &BillView, said: &[String]) -> Result<(), Refusal> {
    let mut all = Vec::new();
    for said in said {
        let wrong =
            || Refusal::new(format!("--line {said}: expected such as `7=Harbour gin*6`, `8=deposit` or `9=not-stock`"));
        let (which, is) = said.split_once('=').ok_or_else(wrong)?;
        let billed = billed(&view.file, which.trim())
            .ok_or_else(|| Refusal::new(format!("--line {said}: the bill has no such line")))?;
        let means = match is.trim() {
            "deposit" => Means::Deposit,
            "not-stock" => Means::NotStock,
            is => {
                let (item, containers) = is.rsplit_once('*').ok_or_else(wrong)?;
                let item = find::one("item", &view.setup.items, |i| &i.name, item.trim())?.id;
                let containers: i64 = containers.trim().parse().map_err(|_| wrong())?;
                let rate = Rate::of(containers, billed.quantity).ok_or_else(wrong)?;
                Means::Item { item, rate }
            }
        };
        all.push((billed, means));
    }
    let Some(supplier) = view.supplier.or_else(|| all.is_empty().then(Default::default)) else {
        return Err(Refusal::new("say first whose bill it is").hint("--supplier NAME"));
    };
    for (billed, means) in all {
        receiving::explain(store, supplier, billed, means)?;
    }
    Ok(())
}

/// A line of the bill by its number there, its code or its name.
fn billed<'a>(file: &'a BillFile, which: &str) -> Option<&'a InvoiceLine> {
    let lines = &file.invoice.lines;
    let key = name_key(which);
    let by_id = lines.iter().find(|line| line.id == which);
    let by_code = || lines.iter().find(|l| l.seller_code.as_deref().is_some_and(|code| name_key(code) == key));
    by_id.or_else(by_code).or_else(|| lines.iter().find(|line| name_key(line.called()) == key))
}

fn answers(view: &BillView, wanted: &str) -> Result<Answers, Refusal> {
    if name_key(wanted) == "none" {
        return Ok(Answers::Nothing);
    }
    let key = name_key(wanted);
    let found = view.may_answer.iter().find(|(answers, said)| match answers {
        Answers::Delivery(document) => name_key(document) == key,
        Answers::Order(_) => name_key(said).contains(&format!("“{key}”")),
        Answers::Nothing => false,
    });
    let may: Vec<&str> = view.may_answer.iter().map(|(_, said)| said.as_str()).collect();
    found.map(|(answers, _)| answers.clone()).ok_or_else(|| {
        Refusal::new(format!("the bill can hardly answer “{wanted}”"))
            .hint(format!("it may answer: {}", may.join(", ")))
    })
}

fn say_what_came(view: &mut BillView, args: &Args) -> Result<(), Refusal> {
    for said in &args.came {
        let wrong = || Refusal::new(format!("--came {said}: expected such as `Harbour gin=5`"));
        let (item, came) = said.rsplit_once('=').ok_or_else(wrong)?;
        let item = find::one("item", &view.setup.items, |i| &i.name, item.trim())?.id;
        let came: i64 = came.trim().parse().ok().filter(|n| (0..=999_999).contains(n)).ok_or_else(wrong)?;
        let line = view.against.lines.iter_mut().find(|line| line.item == item);
        let name = view.setup.item_name(item).to_owned();
        let line =
            line.ok_or_else(|| Refusal::new(format!("--came {said}: neither the bill nor the order has {name}")))?;
        let back = line.invoiced.as_ref().is_some_and(|invoiced| invoiced.containers < 0);
        line.came = Some(if back { -came } else { came });
    }
    if args.as_charged {
        for line in view.against.lines.iter_mut().filter(|line| line.came.is_none()) {
            line.came = Some(line.invoiced.as_ref().map_or(0, |invoiced| invoiced.containers));
        }
    }
    Ok(())
}

/// Stops at what is doubtful, unless it is to be booked all the same.
fn doubts(view: &BillView, all_the_same: bool) -> Result<(), Refusal> {
    let doubts: Vec<String> = view
        .problems
        .iter()
        .filter(|problem| problem.weight == Weight::Question)
        .map(|problem| problem.what.clone())
        .collect();
    if doubts.is_empty() || all_the_same {
        return Ok(());
    }
    Err(Refusal::new("something about the bill is doubtful, and nothing was booked")
        .details(doubts)
        .hint("--all-the-same books it"))
}

fn price(figures: Figures, price: crate::domain::measure::Price) -> String {
    price.plain(figures.setup.venue.currency)
}

fn page(view: &BillView, booked: Option<&BillBooked>) -> String {
    let figures = Figures { setup: &view.setup };
    let invoice = &view.file.invoice;
    let mut page = Page::new();
    let supplier = view.supplier.and_then(|id| view.setup.supplier(id)).map_or_else(
        || format!("“{}”, whom the book does not know (--supplier NAME)", invoice.seller.name),
        |supplier| supplier.name.clone(),
    );
    page.line(format!("{} {} of {}, from {supplier}", invoice.kind.word(), invoice.number, invoice.issued));
    if let Some((_, said)) = view.may_answer.get(view.answers) {
        page.line(format!("Beside {said}."));
    }
    if let Some(before) = view.before.as_ref().filter(|_| booked.is_none()) {
        page.line(format!("! It was booked already, {}.", figures.time(before.at)));
    }
    for problem in &view.problems {
        let mark = match problem.weight {
            Weight::Refused => "!",
            Weight::Question => "?",
            Weight::Note => "-",
        };
        page.line(format!("{mark} {}", problem.what));
    }
    for open in &view.against.open {
        page.line(open_words(view, *open));
    }
    page.gap();
    let mut table = Table::new([
        ("item", Set::Name),
        ("ordered", Set::Figure),
        ("charged", Set::Figure),
        ("came", Set::Figure),
        ("agreed at", Set::Figure),
        ("each at", Set::Figure),
        ("", Set::Words),
    ]);
    let currency = view.setup.venue.currency;
    for line in &view.against.lines {
        let known = |n: Option<i64>| n.map_or_else(String::new, |n| n.to_string());
        table.row([
            figures.name(line.item),
            known(line.ordered.map(|ordered| ordered.containers)),
            known(line.invoiced.as_ref().map(|invoiced| invoiced.containers)),
            line.came.map_or_else(|| UNKNOWN.to_owned(), |n| n.to_string()),
            line.ordered.map_or_else(String::new, |ordered| price(figures, ordered.price(currency))),
            line.invoiced.as_ref().map_or_else(String::new, |i| price(figures, i.booked_price(currency))),
            marks(line).join(", "),
        ]);
    }
    page.table(&table);
    let (goods, deposits) = sums(view);
    let mut said = vec![format!("Goods {}", figures.coin(goods))];
    for (what, money) in [("deposits", deposits), ("freight", view.charges), ("not stock", view.against.not_stock)] {
        if money.0 != 0 {
            said.push(format!("{what} {}", figures.coin(money)));
        }
    }
    page.line(format!("{}, without tax.", said.join(", ")));
    for claim in view.against.claims(&view.setup) {
        page.line(format!("To claim: {} = {}", claim.words, figures.coin(claim.money)));
    }
    page.gap();
    match booked {
        None => page.line("Nothing is booked: --book-it does, once it is said what came (--came, --as-charged)."),
        Some(booked) => booked_lines(&mut page, booked),
    }
    page.finish()
}

fn booked_lines(page: &mut Page, booked: &BillBooked) {
    page.line(match (booked.deliveries, booked.corrected) {
        (0, 0) => "Booked: the bill is kept; no stock moved.".to_owned(),
        (0, n) => format!("Booked: the bill is kept; {n} lines are now at the price charged."),
        (n, _) => format!("Booked into stock: {n} lines."),
    });
    if booked.claims > 0 {
        page.line(format!("{} differences are put down to be claimed; `tantalus receive` lists them.", booked.claims));
    }
    if booked.settled > 0 {
        page.line(format!("{} claims are settled by it.", booked.settled));
    }
    if let Some(rest) = &booked.rest {
        page.line(format!("The rest stays on order: “{rest}”."));
    }
}

fn open_words(view: &BillView, line: usize) -> String {
    let Some(billed) = view.file.invoice.lines.get(line) else { return String::new() };
    let status = view.matched.iter().find(|matched| matched.line == line).map(|matched| &matched.status);
    let (why, likely) = match status {
        Some(Status::Question { why, likely, .. }) => (why.as_str(), likely.as_slice()),
        _ => ("", &[][..]),
    };
    let likely: Vec<&str> = likely.iter().take(3).map(|likely| view.setup.item_name(likely.item)).collect();
    let likely = if likely.is_empty() { String::new() } else { format!(" Perhaps {}.", likely.join(", ")) };
    let stop = if why.ends_with(['?', '.']) { "" } else { "." };
    format!("? Line {}, {} {} “{}”: {why}{stop}{likely}", billed.id, billed.quantity, billed.unit, billed.called())
}

fn marks(line: &AgainstLine) -> Vec<&'static str> {
    line.marks().into_iter().map(|mark| mark.word()).collect()
}

fn sums(view: &BillView) -> (crate::domain::measure::Money, crate::domain::measure::Money) {
    let invoiced = || view.against.lines.iter().filter_map(|line| line.invoiced.as_ref());
    let deposits = invoiced().map(|i| i.deposit).sum::<crate::domain::measure::Money>();
    (invoiced().map(|i| i.cost).sum(), deposits + view.against.deposits)
}

fn form(view: &BillView, booked: Option<&BillBooked>) -> BillForm {
    let figures = Figures { setup: &view.setup };
    let currency = view.setup.venue.currency;
    let money = |amount| json::money(amount, currency);
    let invoice = &view.file.invoice;
    let (goods, deposits) = sums(view);
    let (answers, answers_kind) = match view.answered() {
        Answers::Order(_) => (view.orders.first().map(|o| o.name.clone()).unwrap_or_default(), "order"),
        Answers::Delivery(document) => (document.clone(), "delivery"),
        Answers::Nothing => (String::new(), "nothing"),
    };
    let claim = |claim: crate::domain::receive::Claim| ClaimForm {
        supplier: view.supplier.and_then(|id| view.setup.supplier(id)).map(|s| s.name.clone()),
        document: invoice.number.clone(),
        item: Some(figures.name(claim.item)),
        why: claim.kind.word(),
        containers: claim.containers,
        money: money(claim.money),
        words: claim.words,
    };
    BillForm {
        form: FORM,
        file: view.file.print.name.clone(),
        kind: invoice.kind.word(),
        number: invoice.number.clone(),
        issued: invoice.issued.to_string(),
        due: invoice.due.map(|day| day.to_string()),
        delivered: invoice.delivered.map(|day| day.to_string()),
        order_reference: invoice.order_ref.clone(),
        preceding: invoice.preceding.clone(),
        currency: invoice.currency.clone(),
        seller: invoice.seller.name.clone(),
        seller_vat_id: invoice.seller.vat_id.clone(),
        supplier: view.supplier.and_then(|id| view.setup.supplier(id)).map(|s| s.name.clone()),
        answers,
        answers_kind,
        booked_before: view.before.as_ref().map(|bill| json::time(&view.setup.venue.days, bill.at)),
        problems: view
            .problems
            .iter()
            .map(|problem| ProblemForm {
                weight: match problem.weight {
                    Weight::Refused => "refused",
                    Weight::Question => "question",
                    Weight::Note => "note",
                },
                line: problem.line.and_then(|line| invoice.lines.get(line)).map(|line| line.id.clone()),
                what: problem.what.clone(),
            })
            .collect(),
        lines: (0..invoice.lines.len()).map(|line| line_form(view, line, figures)).collect(),
        items: view.against.lines.iter().map(|line| item_form(line, figures)).collect(),
        goods: money(goods),
        deposits: money(deposits),
        freight: money(view.charges),
        freight_shared: view.spread,
        not_stock: money(view.against.not_stock),
        claims: view.against.claims(&view.setup).into_iter().map(claim).collect(),
        booked: booked.map(|booked| BookedForm {
            deliveries: booked.deliveries,
            prices_corrected: booked.corrected,
            claims: booked.claims,
            claims_settled: booked.settled,
            rest_on_order: booked.rest.clone(),
        }),
    }
}

fn line_form(view: &BillView, line: usize, figures: Figures) -> LineForm {
    let billed = &view.file.invoice.lines[line];
    let status = view.matched.iter().find(|matched| matched.line == line).map(|matched| &matched.status);
    let (mut is, mut item, mut containers, mut unit_price) = ("unread", None, None, None);
    let (mut how, mut question, mut likely) = (None, None, Vec::new());
    match status {
        Some(Status::Found { item: found, containers: n, unit_price: price, how: words, .. }) => {
            (is, item, containers) = ("item", Some(*found), Some(*n));
            unit_price = Some(self::price(figures, *price));
            how = Some(words.clone());
        }
        Some(Status::Deposit { .. }) => is = "deposit",
        Some(Status::NotStock { .. }) => is = "not-stock",
        Some(Status::Question { why, item: found, perhaps, likely: may, .. }) => {
            (is, item, containers, question) = ("question", *found, *perhaps, Some(why.clone()));
            likely = may.iter().map(|likely| figures.name(likely.item)).collect();
        }
        None => {}
    }
    let show = |d: crate::domain::measure::Decimal| d.to_string();
    LineForm {
        line: billed.id.clone(),
        name: billed.name.clone(),
        code: billed.seller_code.clone(),
        gtin: billed.gtin.clone(),
        quantity: show(billed.quantity),
        unit: billed.unit.clone(),
        price: billed.price.map(show),
        net: show(billed.net),
        tax_percent: billed.tax_rate.map(show),
        is,
        item: item.map(|item: ItemId| figures.name(item)),
        containers,
        unit_price,
        how,
        question,
        likely,
    }
}

fn item_form(line: &AgainstLine, figures: Figures) -> ItemForm {
    let currency = figures.setup.venue.currency;
    ItemForm {
        item: figures.name(line.item),
        ordered: line.ordered.map(|ordered| ordered.containers),
        ordered_unit_price: line.ordered.map(|ordered| price(figures, ordered.price(currency))),
        charged: line.invoiced.as_ref().map(|invoiced| invoiced.containers),
        charged_unit_price: line.invoiced.as_ref().map(|i| price(figures, i.booked_price(currency))),
        came: line.came,
        marks: marks(line),
        place: line.place.map(|place| figures.setup.place_name(place).to_owned()),
    }
}

fn open(store: &Store, json: bool) -> Result<String, Refusal> {
    let setup = comparing::setup(store)?;
    let figures = Figures { setup: &setup };
    let sent = ordering::receivable(store, &setup)?;
    let claims = receiving::open_claims(store)?;
    let supplier = |id| setup.supplier(id).map_or(UNKNOWN, |s| &s.name).to_owned();
    if json {
        return json::text(&OpenForm {
            form: FORM,
            on_order: sent
                .iter()
                .map(|view| OnOrderForm {
                    name: view.order.name.clone(),
                    supplier: supplier(view.order.supplier),
                    comes: view.order.expected.map(|day| day.to_string()),
                    lines: view.lines.len(),
                })
                .collect(),
            claims: claims
                .iter()
                .map(|claim| ClaimForm {
                    supplier: Some(supplier(claim.supplier)),
                    document: claim.document.clone(),
                    item: claim.item.map(|item| figures.name(item)),
                    why: claim.kind.word(),
                    containers: claim.containers,
                    money: json::money(claim.money, setup.venue.currency),
                    words: claim.note.clone(),
                })
                .collect(),
        });
    }
    let mut page = Page::new();
    if sent.is_empty() {
        page.line("No order is on its way.");
    }
    for view in &sent {
        let comes = view.order.expected.map_or_else(String::new, |day| format!(", expected {day}"));
        page.line(format!("On order: “{}” from {}{comes}", view.order.name, supplier(view.order.supplier)));
    }
    if !claims.is_empty() {
        page.gap();
        let mut table = Table::new([
            ("to claim from", Set::Name),
            ("bill", Set::Words),
            ("for", Set::Name),
            ("because", Set::Words),
            ("containers", Set::Figure),
            ("money", Set::Figure),
        ]);
        for claim in &claims {
            table.row([
                supplier(claim.supplier),
                claim.document.clone(),
                claim.item.map_or_else(String::new, |item| figures.name(item)),
                claim.kind.word().to_owned(),
                decimal::plain(claim.containers, 0),
                figures.money(claim.money),
            ]);
        }
        page.table(&table);
    }
    Ok(page.finish())
}
