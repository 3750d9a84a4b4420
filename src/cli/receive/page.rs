//! A bill beside what was ordered, as text.

use crate::cli::figures::{Figures, UNKNOWN};
use crate::cli::page::Page;
use crate::cli::table::{Set, Table};
use crate::domain::measure::{Money, Price, number_of};
use crate::domain::receive::{AgainstLine, Status, Weight, units};
use crate::domain::rows::{Answers, BillBooked, BillView};

/// A price in the coin of the book.
pub(super) fn price(figures: Figures, price: Price) -> String {
    price.plain(figures.setup.venue.currency)
}

pub(super) fn page(view: &BillView, booked: Option<&BillBooked>) -> String {
    let figures = Figures { setup: &view.setup };
    let invoice = &view.file.invoice;
    let mut page = Page::new();
    let supplier = view.supplier.and_then(|id| view.setup.supplier(id)).map_or_else(
        || format!("“{}”, whom the book does not know (--supplier NAME)", invoice.seller.name),
        |supplier| supplier.name.clone(),
    );
    page.line(format!("{} {} of {}, from {supplier}", invoice.kind.word(), invoice.number, invoice.issued));
    if let Some((_, said)) = view.may_answer.get(view.answers) {
        page.line(match view.answered() {
            Answers::Delivery(_) if view.certain => format!("It only says the price of what was {said}."),
            Answers::Delivery(_) => format!("It may only say the price of what was {said} (--answers)."),
            Answers::Order(_) | Answers::Nothing => format!("Beside {said}."),
        });
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
    page.table(&if view.supplier.is_some() { items(view) } else { lines(view) });
    let (goods, deposits) = sums(view);
    let is_open = view.supplier.is_none() || !view.against.open.is_empty();
    let mut said = vec![if is_open {
        format!("All its lines {}", figures.coin(invoice.sum_of_lines(view.setup.venue.currency)))
    } else {
        format!("Goods {}", figures.coin(goods))
    }];
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
        None => page.line(not_booked(view)),
        Some(booked) => booked_lines(&mut page, booked),
    }
    page.finish()
}

/// Item by item, beside what was ordered.
fn items(view: &BillView) -> Table {
    let figures = Figures { setup: &view.setup };
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
    table
}

/// The lines as they stand on the bill: whose it is says what they may be.
fn lines(view: &BillView) -> Table {
    let mut table = Table::new([
        ("line", Set::Words),
        ("on the bill", Set::Name),
        ("quantity", Set::Figure),
        ("", Set::Words),
        ("net", Set::Figure),
    ]);
    for line in &view.file.invoice.lines {
        table.row([
            line.id.clone(),
            line.called().to_owned(),
            line.quantity.to_string(),
            units::called(&line.unit).to_owned(),
            view.setup.venue.currency.written(line.net),
        ]);
    }
    table
}

/// Why nothing is booked, and what does.
fn not_booked(view: &BillView) -> &'static str {
    if view.problems.iter().any(|problem| problem.weight == Weight::Refused) || view.before.is_some() {
        "Nothing is booked, and nothing can be."
    } else if view.supplier.is_none() {
        "Nothing is booked: say first whose bill it is (--supplier)."
    } else if !view.against.open.is_empty() {
        "Nothing is booked: say first what the lines marked ? are (--line)."
    } else if view.against.lines.iter().all(|line| line.came.is_some()) {
        "Nothing is booked: --book-it does."
    } else {
        "Nothing is booked: --book-it does, once it is said what came (--came, --as-charged)."
    }
}

fn booked_lines(page: &mut Page, booked: &BillBooked) {
    page.line(match booked.deliveries {
        0 => "Booked: the bill is kept; no stock moved.".to_owned(),
        n => format!("Booked into stock: {}.", number_of(n, "line", "lines")),
    });
    if booked.corrected > 0 {
        page.line(format!("Now at the price charged: {}.", number_of(booked.corrected, "line", "lines")));
    }
    if booked.claims > 0 {
        let claims = number_of(booked.claims, "difference", "differences");
        page.line(format!("Put down to be claimed: {claims}; `tantalus receive` lists what is open."));
    }
    if booked.settled > 0 {
        page.line(format!("Settled by it: {}.", number_of(booked.settled, "claim", "claims")));
    }
    if booked.reduced > 0 {
        page.line(format!("Settled in part: {}; the rest stays open.", number_of(booked.reduced, "claim", "claims")));
    }
    if booked.unsettled > 0 {
        page.line(format!("Still open on the bill that it names: {}.", number_of(booked.unsettled, "claim", "claims")));
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
    format!(
        "? Line {}, {} {} “{}”: {why}{stop}{likely}",
        billed.id,
        billed.quantity,
        units::called(&billed.unit),
        billed.called()
    )
}

pub(super) fn marks(line: &AgainstLine) -> Vec<&'static str> {
    line.marks().into_iter().map(|mark| mark.word()).collect()
}

pub(super) fn sums(view: &BillView) -> (Money, Money) {
    let invoiced = || view.against.lines.iter().filter_map(|line| line.invoiced.as_ref());
    let deposits = invoiced().map(|i| i.deposit).sum::<Money>();
    (invoiced().map(|i| i.cost).sum(), deposits + view.against.deposits)
}
