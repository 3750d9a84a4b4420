//! What is odd about a bill beside what the book has: the same goods twice, days that cannot be, goods that go back.

use super::answering::Papers;
use super::booking::AFTERNOON;
use crate::desk::DeskError;
use crate::domain::receive::{Bill, DocumentKind, Problem, Status, Weight, is_unusual};
use crate::domain::rows::{Answers, BillView};
use crate::domain::till::TakenAs;
use crate::domain::venue::{ItemId, Moment, OrderState};
use crate::store::{Connection, counts, files, orders};
use crate::words;
use chrono::{Datelike, NaiveDate};

/// A bill that is older is odd, in days.
const OLD: i64 = 366;
/// Goods are charged so many days after they came at most, or a figure of the date is wrong.
const LATE: i64 = 92;
/// Containers of which nobody ordered any that are odd: a wagon full.
const WAGON: i64 = 1_000;

/// Everything odd about a bill, once it is known whose it is and what it is set beside.
pub(super) fn doubts(
    conn: &Connection,
    view: &BillView,
    (came, booked): (&Papers, &[Bill]),
    charged: &[(ItemId, i64)],
    now: Moment,
) -> Result<Vec<Problem>, DeskError> {
    // A bill that is in the book is not booked, whatever else is odd about it.
    if view.before.is_some() {
        return Ok(Vec::new());
    }
    let mut found = Found { view, problems: Vec::new() };
    found.same_file(conn)?;
    found.other_bills(booked);
    found.order_that_is_done(conn)?;
    if view.file.invoice.kind != DocumentKind::CreditNote {
        found.goods_that_came(came, booked, charged);
    }
    found.days(conn, charged, now)?;
    found.quantities();
    Ok(found.problems)
}

struct Found<'a> {
    view: &'a BillView,
    problems: Vec<Problem>,
}

impl Found<'_> {
    fn add(&mut self, weight: Weight, line: Option<usize>, what: String) {
        self.problems.push(Problem { weight, line, what });
    }

    fn ask(&mut self, what: String) {
        self.add(Weight::Question, None, what);
    }

    /// The very file, booked as another supplier's.
    fn same_file(&mut self, conn: &Connection) -> Result<(), DeskError> {
        let taken = files::of_content(conn, &self.view.file.print.digest)?;
        if let Some(had) = taken.filter(|had| had.what == TakenAs::Invoice) {
            let when = self.view.setup.venue.days.short(had.at);
            let what =
                say!("just this file was booked {when}: if it was booked wrongly, take that bill back first", when);
            self.add(Weight::Refused, None, what);
        }
        Ok(())
    }

    /// Bills of the book that it has to do with: that which it corrects, and one that may be the same.
    fn other_bills(&mut self, booked: &[Bill]) {
        let (view, invoice) = (self.view, &self.view.file.invoice);
        let currency = view.setup.venue.currency;
        let corrects = |bill: &&Bill| invoice.preceding.iter().any(|number| Bill::is_numbered(number, &bill.number));
        if invoice.kind == DocumentKind::Corrected {
            match booked.iter().find(corrects) {
                Some(bill) => self.ask(say!("this corrects “{number}”, which was booked {bill}: take that bill back first, or the goods are there twice", number = bill.number, bill = view.setup.venue.days.short(bill.at))),
                None => self.ask(say!("this corrects {numbers}, which the book does not have: if its goods came and were booked, say so before they are booked twice", numbers = match invoice.preceding.as_slice() {
                        [] => word!("an earlier one that it does not name").to_owned(),
                        numbers => numbers.join(", "),
                    })),
            }
        }
        let payable = invoice.payable(currency);
        for bill in booked.iter().filter(|bill| bill.payable == payable && bill.issued == invoice.issued) {
            if let Some(payable) = payable.filter(|_| bill.key != Bill::key_of(invoice)) {
                self.ask(say!("the book has “{number}” of the same day for the same {payable}: is it this bill under another number?", number = bill.number, payable = view.setup.venue.show().money(payable)));
            }
        }
    }

    /// An order that it names and that is on its way no more.
    fn order_that_is_done(&mut self, conn: &Connection) -> Result<(), DeskError> {
        let view = self.view;
        let Some(named) = view.file.invoice.order_ref.as_deref() else { return Ok(()) };
        let gives_back = view.file.invoice.kind == DocumentKind::CreditNote;
        if gives_back || matches!(view.answered(), Answers::Delivery(_)) {
            return Ok(());
        }
        let order = orders::find(conn, named)?.filter(|order| {
            Some(order.supplier) == view.supplier && matches!(order.state, OrderState::Received | OrderState::Closed)
        });
        if let Some(order) = order {
            self.ask(say!("the bill is for the order “{order}”, which is {state} already: if what it charges was booked then, set it beside that delivery, or the goods are there twice", order = order.name, state = order.state));
        }
        Ok(())
    }

    /// The same goods, booked by their paper or with another bill.
    fn goods_that_came(&mut self, papers: &Papers, booked: &[Bill], charged: &[(ItemId, i64)]) {
        let view = self.view;
        for (document, deliveries) in papers {
            // What went back is no second coming.
            let came = || deliveries.iter().filter(|delivery| delivery.containers > 0);
            let Some(first) = came().next() else { continue };
            let answered_by = booked.iter().find(|bill| bill.is_for(document));
            let with_bill = booked.iter().find(|bill| Bill::is_numbered(&bill.number, document));
            if matches!(view.answered(), Answers::Delivery(chosen) if chosen.has(document)) {
                if let Some(bill) = answered_by {
                    self.ask(say!(
                        "“{document}” has the bill “{number}” already: is this one for other goods of it?",
                        document,
                        number = bill.number
                    ));
                }
                continue;
            }
            let day = view.setup.venue.days.day_of(first.at);
            let of =
                |item: ItemId| -> i64 { came().filter(|d| d.item == item).map(|delivery| delivery.containers).sum() };
            // What came of what is charged.
            let shared: Vec<(ItemId, i64)> =
                charged.iter().map(|(item, _)| (*item, of(*item))).filter(|(_, many)| *many > 0).collect();
            let equal: Vec<(ItemId, i64)> = shared.iter().copied().filter(|of| charged.contains(of)).collect();
            let when = words::day(day, "%a %-d %b");
            match answered_by.or(with_bill) {
                Some(_) if self.is_of(day, 0) && half(&equal, charged) => self.ask(say!("{equal} came {when} with “{document}” as well: are they charged twice? Then say that none came with this bill (0); if they came uncharged then, say that their line is only money (w)", equal = self.named(&equal), when, document)),
                None if self.is_likely_of(day) && half(&shared, charged) => self.ask(say!("“{document}”, booked {when}, brought {shared}: if the bill is for that, set it beside that (n, or --answers), or the goods go into stock twice", document, when, shared = self.named(&shared))),
                _ => {}
            }
        }
    }

    /// Whether the bill says that its goods came on a day, give or take so many.
    fn is_of(&self, came: NaiveDate, within: i64) -> bool {
        let delivered = self.view.file.invoice.delivered;
        delivered.is_some_and(|day| came.signed_duration_since(day).num_days().abs() <= within)
    }

    /// Whether goods that came on a day may be those of a bill that answers nothing so far.
    fn is_likely_of(&self, came: NaiveDate) -> bool {
        let invoice = &self.view.file.invoice;
        let age = invoice.issued.signed_duration_since(came).num_days();
        let undated = invoice.delivered.is_none() && (-1..=31).contains(&age);
        self.is_of(came, 1) || (undated && *self.view.answered() == Answers::Nothing)
    }

    /// Items with their containers, the first few.
    fn named(&self, items: &[(ItemId, i64)]) -> String {
        let one = |(item, many): &(ItemId, i64)| format!("{many} {}", self.view.setup.item_name(*item));
        let more = items.len().saturating_sub(3);
        let named = items.iter().take(3).map(one).collect::<Vec<_>>().join(", ");
        if more == 0 { named } else { say!("{named} and {more} more", named, more) }
    }

    /// Days that are hard to believe, and what they do to the stock.
    fn days(&mut self, conn: &Connection, charged: &[(ItemId, i64)], now: Moment) -> Result<(), DeskError> {
        let view = self.view;
        let (invoice, days) = (&view.file.invoice, view.setup.venue.days);
        let today = days.day_of(now);
        let age = |day: NaiveDate| today.signed_duration_since(day).num_days();
        if age(invoice.issued) > OLD {
            self.ask(say!(
                "the bill is dated {issued}: is it that old, or is the date wrong?",
                issued = invoice.issued
            ));
        }
        let Some(delivered) = invoice.delivered.filter(|day| *day < today) else { return Ok(()) };
        let late = invoice.issued.signed_duration_since(delivered).num_days();
        if view.delivered.is_none() || late > LATE || delivered.year() < 1990 {
            self.ask(say!(
                "the bill says delivered on {delivered}: is that right? Else say that it came today",
                delivered
            ));
            return Ok(());
        }
        if matches!(view.answered(), Answers::Delivery(_)) || charged.is_empty() {
            return Ok(());
        }
        let placed = view.orders.iter().filter_map(|order| order.placed).max().map(|at| days.day_of(at));
        if let Some(placed) = placed.filter(|placed| delivered < *placed) {
            self.ask(say!("the bill says delivered on {delivered}, but its order was sent on {placed}: is the day right? Else say that it came today", delivered, placed));
        }
        let closed = counts::last_closed(conn)?;
        let came = Moment(days.begins(delivered).0.saturating_add(AFTERNOON));
        if let Some(closed) = closed.filter(|closed| came <= *closed) {
            let what = say!(
                "its goods came on {delivered}, before the count closed {closed}: that has counted them, so that stock does not rise; if they came later, say that they came today",
                delivered = words::day(delivered, "%a %-d %b %Y"),
                closed = days.short(closed)
            );
            self.add(Weight::Note, None, what);
        }
        Ok(())
    }

    /// Goods that go back with an invoice, and more of something than anybody carries in.
    fn quantities(&mut self) {
        let view = self.view;
        let invoice = &view.file.invoice;
        for matched in &view.matched {
            let Some(line) = invoice.lines.get(matched.line) else { continue };
            let goes_back = match &matched.status {
                Status::Found { containers, .. } => *containers < 0,
                // A deposit given back for what was handed in is every day's business.
                Status::Deposit { .. } | Status::NotStock { .. } => false,
                Status::Question { .. } => line.quantity.sign() < 0,
            };
            if goes_back && invoice.kind != DocumentKind::CreditNote {
                let what =
                    say!("{called}: {quantity}: did it go back?", called = line.called(), quantity = line.quantity);
                self.add(Weight::Question, Some(matched.line), what);
            }
        }
        for line in &view.against.lines {
            let Some(invoiced) = &line.invoiced else { continue };
            let ordered = line.ordered.map_or(0, |ordered| ordered.containers);
            let many = invoiced.containers.saturating_abs();
            let odd = if ordered > 0 { is_unusual(many, ordered) } else { many > WAGON };
            if odd {
                let (name, at) = (view.setup.item_name(line.item), invoiced.lines.first().copied());
                let of_order = if ordered > 0 { say!(", ordered {ordered}", ordered) } else { String::new() };
                self.add(
                    Weight::Question,
                    at,
                    say!("{many} containers of {name} are charged{of_order}: is that right?", many, name, of_order),
                );
            }
        }
    }
}

/// Whether it is at least half of what is charged.
fn half(items: &[(ItemId, i64)], charged: &[(ItemId, i64)]) -> bool {
    !items.is_empty() && items.len() * 2 >= charged.len()
}
