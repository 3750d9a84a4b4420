//! `tantalus receive`: a supplier's bill beside what was ordered, and into the book.

mod form;
mod open;
mod page;

use super::{Refusal, Shared, find, json};
use crate::clock;
use crate::desk::book::Store;
use crate::desk::{comparing, receiving};
use crate::domain::measure::Decimal;
use crate::domain::receive::{AgainstLine, DocumentKind, Documents, InvoiceLine, Means, Rate, Status, Weight};
use crate::domain::rows::{Answers, BillChoice, BillFile, BillView};
use crate::domain::venue::{ItemId, Moment, name_key};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// So many of the likeliest items of a line are named.
const LIKELY: usize = 3;

/// Set a supplier's bill beside what was ordered, and book it; without a file, list what is on its way and what is to be
/// claimed
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// An e-invoice or credit note: UBL 2.1, UN/CEFACT CII, or a PDF with one of them inside
    file: Option<PathBuf>,
    /// Whose bill it is, when the book cannot tell; it is remembered once the bill is booked. With --take-back, whose is taken back
    #[arg(long, value_name = "NAME")]
    supplier: Option<String>,
    /// The order or the booked delivery that it answers, by name or document; `none` for none. Of a delivery that is booked
    /// already a bill only says the price. Said several times, it is for several deliveries
    #[arg(long, value_name = "NAME", requires = "file")]
    answers: Vec<String>,
    /// What a line of the bill is, by its number there, its code or its name: `7=Harbour gin*6` is six containers,
    /// `8=deposit`, `9=not-stock`; it is remembered, also when the bill is only shown. `9=money` is nothing stocked on this bill alone
    #[arg(long, value_name = "LINE=IS", requires = "file")]
    line: Vec<String>,
    /// How many containers of an item were carried in: `Harbour gin=5`; where the bill has both, `Harbour gin=-1` went back,
    /// `Harbour gin=-0` none
    #[arg(long, value_name = "ITEM=N", requires = "file")]
    came: Vec<String>,
    /// All that nothing else is said of came as it is charged
    #[arg(long, requires = "file")]
    as_charged: bool,
    /// Share freight and what else is charged or taken off for the whole bill out over the goods instead of keeping it
    /// apart
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
    /// Take a bill back that was booked, by its number (`credit note 77` where an invoice has it too): what it brought
    /// leaves stock again, its claims are dropped
    #[arg(long, value_name = "NUMBER", conflicts_with = "file")]
    take_back: Option<String>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    if args.supplier.is_some() && args.file.is_none() && args.take_back.is_none() {
        return Err(Refusal::new("--supplier says whose a bill is, and no bill is named").hint("give the bill's file"));
    }
    let store = shared.open_costs()?;
    match (&args.file, &args.take_back) {
        (Some(file), _) => bill(&store, shared, args, file),
        (None, Some(number)) => open::take_back(&store, shared, args, number),
        (None, None) => open::open(&store, args.json),
    }
}

fn bill(store: &Store, shared: &Shared, args: &Args, path: &Path) -> Result<String, Refusal> {
    let now = clock::started();
    let file = Arc::new(receiving::read(path)?);
    let mut choice = BillChoice { spread: args.share_freight, ..BillChoice::default() };
    let mut kept = page::Kept::default();
    if let Some(name) = &args.supplier {
        let setup = comparing::setup(store)?;
        let supplier = find::one("supplier", &setup.suppliers, |s| &s.name, name)?.id;
        choice.supplier = Some(supplier);
        kept.whose = true;
    }
    let view = receiving::view(store, &file, &choice, now)?;
    (choice.money_only, kept.lines) = explain(store, &view, &args.line)?;
    // What the lines are is kept, also where the rest is refused.
    let said = kept.lines.clone();
    go_on(store, shared, args, &file, choice, kept, now).map_err(|refused| match page::kept_lines_of(&said) {
        Some(line) => refused.and(line),
        None => refused,
    })
}

/// What follows once it is known what the lines are.
fn go_on(
    store: &Store,
    shared: &Shared,
    args: &Args,
    file: &Arc<BillFile>,
    mut choice: BillChoice,
    kept: page::Kept,
    now: Moment,
) -> Result<String, Refusal> {
    let mut view = receiving::view(store, file, &choice, now)?;
    if !args.answers.is_empty() {
        choice.answers = Some(answers(&view, &args.answers)?);
        choice.certain = true;
        view = receiving::view(store, file, &choice, now)?;
        if let Some(Answers::Delivery(wanted)) = &choice.answers
            && !matches!(view.answered(), Answers::Delivery(found) if found.is_same(wanted))
        {
            return Err(hardly(&view, &wanted.to_string()));
        }
    }
    say_what_came(&mut view, args)?;
    let booked = if args.book_it {
        sure(&view)?;
        doubts(&view, args)?;
        let by = shared.signer();
        let on_its_day = !args.came_today;
        let booked = receiving::accept(store, &view, !args.give_up_rest, on_its_day, by.as_deref(), now)?;
        if let Some(supplier) = choice.supplier {
            receiving::know_supplier(store, &file.invoice, supplier, clock::started())?;
        }
        Some(booked)
    } else {
        None
    };
    if args.json {
        json::text(&form::form(&view, booked.as_ref()))
    } else {
        let open = receiving::open_claims(store)?;
        Ok(page::page(&view, &open, booked.as_ref(), &kept))
    }
}

/// `7=Harbour gin*6`, `8=deposit`, `9=not-stock`: all are understood before any is kept. Says which lines are `money`, and
/// the numbers of those that are kept.
fn explain(store: &Store, view: &BillView, said: &[String]) -> Result<(BTreeSet<usize>, Vec<String>), Refusal> {
    let (mut all, mut money_only) = (Vec::new(), BTreeSet::new());
    for said in said {
        let wrong = || {
            Refusal::new(format!(
                "--line {said}: expected such as `7=Harbour gin*6`, `8=deposit`, `9=not-stock` or `9=money`"
            ))
        };
        let (which, is) = said.split_once('=').ok_or_else(wrong)?;
        let at = billed(&view.file, which.trim())
            .ok_or_else(|| Refusal::new(format!("--line {said}: the bill has no such line")))?;
        let billed = &view.file.invoice.lines[at];
        let means = match is.trim() {
            "money" => {
                money_only.insert(at);
                continue;
            }
            "deposit" => Means::Deposit,
            "not-stock" => Means::NotStock,
            is => {
                let (item, containers) = is.rsplit_once('*').ok_or_else(wrong)?;
                let item = find::one("item", &view.setup.items, |i| &i.name, item.trim())?.id;
                let containers: i64 = containers.trim().parse().map_err(|_| wrong())?;
                if containers < 1 {
                    let hint = "what goes back has no minus here either; --came says how many came or went";
                    return Err(Refusal::new(format!("--line {said}: a line is at least one container")).hint(hint));
                }
                if billed.quantity == Decimal::ZERO {
                    let hint = "money says that it is only money on this bill, not-stock on every later one too";
                    return Err(Refusal::new(format!("--line {said}: none of an item is on this line")).hint(hint));
                }
                let rate = Rate::of(containers, billed.quantity).ok_or_else(wrong)?;
                Means::Item { item, rate }
            }
        };
        all.push((billed, means));
    }
    let Some(supplier) = view.supplier.or_else(|| all.is_empty().then(Default::default)) else {
        return Err(Refusal::new("say first whose bill it is").hint("--supplier NAME"));
    };
    let mut kept: Vec<String> = Vec::new();
    for (billed, means) in all {
        receiving::explain(store, supplier, billed, means, clock::started())?;
        if !kept.contains(&billed.id) {
            kept.push(billed.id.clone());
        }
    }
    Ok((money_only, kept))
}

/// The place of a line of the bill by its number there, its code or its name.
fn billed(file: &BillFile, which: &str) -> Option<usize> {
    let key = name_key(which);
    let place = |is: &dyn Fn(&InvoiceLine) -> bool| file.invoice.lines.iter().position(is);
    place(&|line| line.id == which)
        .or_else(|| place(&|line| line.seller_code.as_deref().is_some_and(|code| name_key(code) == key)))
        .or_else(|| place(&|line| name_key(line.called()) == key))
}

fn answers(view: &BillView, wanted: &[String]) -> Result<Answers, Refusal> {
    let [wanted] = wanted else {
        let documents = Documents::all(wanted.to_vec());
        return documents.map(Answers::Delivery).ok_or_else(|| Refusal::new("--answers: expected a name"));
    };
    if name_key(wanted) == "none" {
        return Ok(Answers::Nothing);
    }
    let key = name_key(wanted);
    let found = view.may_answer.iter().find(|(answers, said)| match answers {
        Answers::Delivery(documents) => name_key(&documents.to_string()) == key,
        Answers::Order(_) => name_key(said).contains(&format!("“{key}”")),
        Answers::Nothing => false,
    });
    found.map(|(answers, _)| answers.clone()).ok_or_else(|| hardly(view, wanted))
}

/// Why a bill is not set beside something.
fn hardly(view: &BillView, wanted: &str) -> Refusal {
    let mut may: Vec<&str> = view.may_answer.iter().map(|(_, said)| said.as_str()).take(open::PRINTED).collect();
    let more = view.may_answer.len().saturating_sub(open::PRINTED);
    let more = format!("and {more} more");
    if view.may_answer.len() > open::PRINTED {
        may.push(&more);
    }
    Refusal::new(format!("the bill can hardly answer “{wanted}”")).hint(format!("it may answer: {}", may.join(", ")))
}

fn say_what_came(view: &mut BillView, args: &Args) -> Result<(), Refusal> {
    let mut said_of: Vec<usize> = Vec::new();
    for said in &args.came {
        let wrong = || Refusal::new(format!("--came {said}: expected such as `Harbour gin=5`"));
        let (item, came) = said.rsplit_once('=').ok_or_else(wrong)?;
        // With a minus it is what went back, also where that is none.
        let back = came.trim().starts_with('-');
        let item = find::one("item", &view.setup.items, |i| &i.name, item.trim())?.id;
        let came: i64 = came.trim().parse().ok().filter(|n| (-999_999..=999_999).contains(n)).ok_or_else(wrong)?;
        let name = view.setup.item_name(item).to_owned();
        let goes_back = |line: &AgainstLine| line.invoiced.as_ref().is_some_and(|invoiced| invoiced.containers < 0);
        let of_item = |line: &&AgainstLine| line.item == item;
        if !view.against.lines.iter().any(|line| of_item(&line)) {
            let refused = Refusal::new(format!("--came {said}: neither the bill nor the order has {name}"));
            return Err(match perhaps_open(view, item) {
                Some(line) => refused.hint(format!(
                    "line {} “{}” is not explained yet, and may be it: --line \"{}={name}*CONTAINERS\" says so",
                    line.id,
                    line.called(),
                    line.id
                )),
                None => refused,
            });
        }
        // Where it both comes and goes back, what went back has a minus.
        let both = view.against.lines.iter().filter(of_item).count() > 1;
        let wanted = |line: &AgainstLine| line.item == item && (!both || goes_back(line) == back);
        let at = view.against.lines.iter().position(wanted);
        let at = at.filter(|at| !back || view.against.lines.get(*at).is_some_and(goes_back));
        let at = at.ok_or_else(|| Refusal::new(format!("--came {said}: none of {name} goes back on this bill")))?;
        if let Some(line) = view.against.lines.get(at).filter(|line| view.is_booked(line)) {
            let booked = line.ordered.map_or(0, |ordered| ordered.containers);
            return Err(Refusal::new(format!("--came {said}: {booked} of {name} are booked already"))
                .hint("the bill only says what they cost; --answers sets it beside something else"));
        }
        if said_of.contains(&at) {
            let hint = "where the bill has both, what went back has a minus, -0 for none";
            return Err(Refusal::new(format!("--came {said}: it was said already how much of {name} came")).hint(hint));
        }
        said_of.push(at);
        let line = &mut view.against.lines[at];
        line.came = Some(if goes_back(line) { -came.abs() } else { came });
    }
    if args.as_charged {
        for line in view.against.lines.iter_mut().filter(|line| line.came.is_none()) {
            line.came = Some(line.invoiced.as_ref().map_or(0, |invoiced| invoiced.containers));
        }
    }
    Ok(())
}

/// The line that nobody has explained and that may be an item.
fn perhaps_open(view: &BillView, item: ItemId) -> Option<&InvoiceLine> {
    let is_it = |status: &Status| match status {
        Status::Question { item: found, likely, .. } => {
            *found == Some(item) || likely.iter().take(LIKELY).any(|likely| likely.item == item)
        }
        _ => false,
    };
    let open = view.matched.iter().find(|matched| is_it(&matched.status))?;
    view.file.invoice.lines.get(open.line)
}

/// Stops where it was only guessed which booked delivery a bill is for: none of it would go into stock.
fn sure(view: &BillView) -> Result<(), Refusal> {
    match view.may_answer.get(view.answers) {
        Some((Answers::Delivery(document), said)) if !view.certain => {
            Err(Refusal::new(format!("the bill may be for what was {said}, and nothing of it would go into stock"))
                .hint(format!(
                    "--answers \"{document}\" says that it is for that, --answers none that these goods came now"
                )))
        }
        _ => Ok(()),
    }
}

/// Stops at what is doubtful, unless it is to be booked all the same.
fn doubts(view: &BillView, args: &Args) -> Result<(), Refusal> {
    let mut doubts: Vec<String> = view
        .problems
        .iter()
        .filter(|problem| problem.weight == Weight::Question)
        .map(|problem| problem.what.clone())
        .collect();
    let goes_back = |line: &AgainstLine| line.came.is_some_and(|came| came < 0);
    if args.as_charged && view.file.invoice.kind == DocumentKind::CreditNote && view.against.lines.iter().any(goes_back)
    {
        doubts.push("--as-charged says that all that is credited went back to the supplier: did it? --came says how many, 0 where only money is given back".to_owned());
    }
    if doubts.is_empty() || args.all_the_same {
        return Ok(());
    }
    Err(Refusal::new("something about the bill is doubtful, and nothing was booked")
        .details(doubts)
        .hint("--all-the-same books it"))
}
