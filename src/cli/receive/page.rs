//! A bill beside what was ordered, as text.

use super::LIKELY;
use crate::cli::figures::{Figures, UNKNOWN};
use crate::cli::page::Page;
use crate::cli::table::{Set, Table};
use crate::domain::measure::{Decimal, Money, Price, number_of};
use crate::domain::receive::{AgainstLine, DocumentKind, KeptClaim, Status, Weight, units};
use crate::domain::rows::{Answers, BillBooked, BillView};

/// A price in the coin of the book.
pub(super) fn price(figures: Figures, price: Price) -> String {
    price.plain(figures.setup.venue.currency)
}

/// What was kept of what was said, whether the bill is booked or not.
#[derive(Clone, Debug, Default)]
pub(super) struct Kept {
    /// Lines of which it is known from now on what they are, by their numbers on the bill.
    pub(super) lines: Vec<String>,
    /// Whose bill it is was said.
    pub(super) whose: bool,
}

pub(super) fn page(view: &BillView, open: &[KeptClaim], booked: Option<&BillBooked>, kept: &Kept) -> String {
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
    for line in about(view, open) {
        page.line(line);
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
    if view.supplier.is_some() && !view.against.open.is_empty() && !is_refused(view) {
        page.line(how_to_explain(view));
    }
    page.gap();
    page.table(&if view.supplier.is_some() { items(view) } else { lines(view) });
    let first = match (view.supplier, view.against.open.is_empty()) {
        (None, _) => "All its lines",
        (Some(_), false) => "Goods and lines not explained",
        (Some(_), true) => "Goods",
    };
    let mut said = vec![format!("{first} {}", figures.coin(view.goods_and_open()))];
    let shared = if view.spread { " (shared out)" } else { "" };
    let apart = [("deposits".to_owned(), view.deposits()), ("not stock".to_owned(), view.against.not_stock)];
    said.extend(
        apart.iter().filter(|(_, money)| money.0 != 0).map(|(what, money)| format!("{what} {}", figures.coin(*money))),
    );
    let charges = view.named_charges();
    said.extend(charges.iter().map(|(what, money)| format!("{what} {}{shared}", figures.coin(*money))));
    page.line(format!("{}; all without tax.", said.join(", ")));
    for claim in view.against.claims(&view.setup) {
        page.line(format!("To claim: {} = {}", claim.words, figures.coin(claim.money)));
    }
    page.gap();
    match booked {
        None => page.line(not_booked(view)),
        Some(booked) => booked_lines(&mut page, view, booked),
    }
    for line in kept_lines(view, kept, booked.is_some(), &supplier) {
        page.line(line);
    }
    page.finish()
}

/// Which bills a credit note names; of one that names none, which claims it may be for.
fn about(view: &BillView, open: &[KeptClaim]) -> Vec<String> {
    let invoice = &view.file.invoice;
    if invoice.kind != DocumentKind::CreditNote {
        return Vec::new();
    }
    if !invoice.preceding.is_empty() {
        return vec![format!("It is about {}.", invoice.preceding.join(", "))];
    }
    let figures = Figures { setup: &view.setup };
    let same = view.of_same_sum(open);
    let mut out = vec![match same.len() {
        0 => "It names no bill, so that it settles no claim by itself.".to_owned(),
        _ => "It names no bill, so that it settles no claim by itself. Of the same sum is open:".to_owned(),
    }];
    let said = |claim: &&KeptClaim| format!("- on {}: {} = {}", claim.document, claim.note, figures.coin(claim.money));
    out.extend(same.iter().map(said));
    if !same.is_empty() {
        out.push("  On the screen Receive, m settles a claim.".to_owned());
    }
    out
}

/// That it is kept what lines are, by their numbers on the bill.
pub(super) fn kept_lines_of(numbers: &[String]) -> Option<String> {
    let numbered = numbers.join(", ");
    match numbers.len() {
        0 => None,
        1 => Some(format!("Kept, for later bills of the supplier too: what line {numbered} is.")),
        _ => Some(format!("Kept, for later bills of the supplier too: what the lines {numbered} are.")),
    }
}

/// What was said and is kept, although the bill may not be.
fn kept_lines(view: &BillView, kept: &Kept, is_booked: bool, supplier: &str) -> Vec<String> {
    let mut out: Vec<String> = kept_lines_of(&kept.lines).into_iter().collect();
    if kept.whose {
        let seller = &view.file.invoice.seller.name;
        out.push(match is_booked {
            true => format!("Kept: bills of “{seller}” are from {supplier}."),
            false => "Whose bill it is, is kept once it is booked; until then say --supplier again.".to_owned(),
        });
    }
    out
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
            units::of_quantity(line.quantity, &line.unit),
            view.setup.venue.currency.written(line.net),
        ]);
    }
    table
}

/// Whether nothing that is said of the bill could get it booked.
fn is_refused(view: &BillView) -> bool {
    view.problems.iter().any(|problem| problem.weight == Weight::Refused) || view.before.is_some()
}

/// Why nothing is booked, and what does.
fn not_booked(view: &BillView) -> &'static str {
    if is_refused(view) {
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

fn booked_lines(page: &mut Page, view: &BillView, booked: &BillBooked) {
    let (came, went) = view.moves();
    if came == 0 && went == 0 {
        page.line("Booked: the bill is kept; no stock moved.");
    }
    for (n, way) in [(came, "into"), (went, "out of")] {
        if n > 0 {
            page.line(format!("Booked {way} stock: {}.", number_of(n, "line", "lines")));
        }
    }
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
    let likely: Vec<&str> = likely.iter().take(LIKELY).map(|likely| view.setup.item_name(likely.item)).collect();
    let likely = if likely.is_empty() { String::new() } else { format!(" Perhaps {}.", likely.join(", ")) };
    let stop = if why.ends_with(['?', '.']) { "" } else { "." };
    format!(
        "? Line {}, {} “{}”: {why}{stop}{likely}",
        billed.id,
        units::counted(billed.quantity, &billed.unit),
        billed.called()
    )
}

/// How the open lines are explained; a credit note may be about a price only.
fn how_to_explain(view: &BillView) -> String {
    let lines = &view.file.invoice.lines;
    let open = view.against.open.iter().filter_map(|open| lines.get(*open));
    let first = open.clone().next().map_or("1", |line| line.id.as_str());
    let ways = format!("--line \"{first}=ITEM*CONTAINERS\", or {first}=deposit, {first}=not-stock, {first}=money");
    if open.clone().all(|line| line.quantity == Decimal::ZERO) {
        format!("  Say it with --line {first}=money (on this bill alone), {first}=not-stock or {first}=deposit.")
    } else if view.file.invoice.kind == DocumentKind::CreditNote {
        format!("  Say it with {ways}, which is right where it only corrects a price.")
    } else {
        format!("  Say it with {ways} (on this bill alone).")
    }
}

pub(super) fn marks(line: &AgainstLine) -> Vec<&'static str> {
    line.marks().into_iter().map(|mark| mark.word()).collect()
}

pub(super) fn goods(view: &BillView) -> Money {
    view.against.lines.iter().filter_map(|line| line.invoiced.as_ref()).map(|invoiced| invoiced.cost).sum()
}
