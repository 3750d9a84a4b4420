//! Whether a bill agrees with itself and with the book: what is refused, what a person is asked, what is only said.

use super::invoice::{DocumentKind, Invoice, InvoiceLine};
use crate::domain::measure::{Currency, Decimal};
use chrono::{Days, NaiveDate};
use std::collections::HashSet;

/// What a problem means for the booking.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// The bill is not booked.
    Refused,
    /// A person has to say yes.
    Question,
    /// Worth knowing.
    Note,
}

/// Something about a bill.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Problem {
    /// What it means for the booking.
    pub weight: Weight,
    /// Which line, counted from 0; `None` for the whole bill.
    pub line: Option<usize>,
    /// In words: what is there, what was expected, what to do.
    pub what: String,
}

/// How far a line may be off, and sums with it: 0.02 of the coin (rule R120 of Peppol BIS Billing 3). Where the coin has
/// fewer decimals, as much in its smallest piece: there the lines themselves are rounded to that.
fn tolerance(currency: Currency) -> Decimal {
    Decimal::of(2, currency.decimals().min(2))
}

/// How far a tax may be off what its rate gives: less than 1 of the coin, as rule BR-CO-17 of the EN 16931 validation
/// artefacts has it.
fn tax_tolerance() -> Decimal {
    Decimal::ONE
}

/// Whether two figures are no further apart than `within`; `None` when one is too large to tell.
fn near(left: Decimal, right: Decimal, within: Decimal) -> Option<bool> {
    Some(left.minus(right)?.size() <= within)
}

fn sum(parts: impl IntoIterator<Item = Decimal>) -> Option<Decimal> {
    parts.into_iter().try_fold(Decimal::ZERO, Decimal::plus)
}

/// Collects what is found.
struct Found {
    problems: Vec<Problem>,
    /// The coin of the book, in which figures are written.
    currency: Currency,
    /// How far figures may be off.
    tolerance: Decimal,
}

impl Found {
    fn add(&mut self, weight: Weight, line: Option<usize>, what: String) {
        self.problems.push(Problem { weight, line, what });
    }

    /// A figure that should be another one, or that is too large to tell.
    fn unless_near(&mut self, weight: Weight, left: Decimal, right: Option<Decimal>, what: impl Fn(Decimal) -> String) {
        match right.and_then(|right| near(left, right, self.tolerance).map(|same| (same, right))) {
            Some((true, _)) => {}
            Some((false, right)) => self.add(weight, None, what(right)),
            None => self.too_large(None),
        }
    }

    fn too_large(&mut self, line: Option<usize>) {
        self.add(
            Weight::Refused,
            line,
            word!("a figure is too large to reckon with: a digit may be wrong; ask for the bill anew").to_owned(),
        );
    }
}

impl Invoice {
    /// Everything that is to be said about the bill before it is booked, for a book in `currency` on the day `today`:
    /// first what refuses it, then what a person is asked, then what is worth knowing.
    pub fn checks(&self, currency: Currency, today: NaiveDate) -> Vec<Problem> {
        let mut found = Found { problems: Vec::new(), currency, tolerance: tolerance(currency) };
        self.check_kind(&mut found);
        self.check_currency(currency, &mut found);
        self.check_dates(today, &mut found);
        self.check_lines(currency, &mut found);
        self.check_sums(&mut found);
        self.check_taxes(&mut found);
        found.problems.sort_by_key(|problem| problem.weight);
        found.problems
    }

    fn check_kind(&self, found: &mut Found) {
        let code = &self.type_code;
        match self.kind {
            DocumentKind::Prepayment => found.add(
                Weight::Refused,
                None,
                say!("this is a prepayment invoice (type {code}): nothing came with it; wait for the invoice of the goods", code),
            ),
            DocumentKind::Other => found.add(
                Weight::Question,
                None,
                say!("this is a bill of type {code}, which is not usual for goods; are these goods that came?", code),
            ),
            DocumentKind::Invoice
            | DocumentKind::CreditNote
            | DocumentKind::Corrected
            | DocumentKind::SelfBilled
            | DocumentKind::Partial => {}
        }
        if self.lines.is_empty() {
            found.add(
                Weight::Refused,
                None,
                word!("the file has no lines, only sums: it cannot be booked; ask the supplier for one with lines (profile BASIC, EN 16931 or higher)").to_owned(),
            );
        }
        for left in &self.left_out {
            found.add(
                Weight::Note,
                None,
                say!(
                    "line {id} “{left}” is left out: it is marked {why}, no position of its own",
                    id = left.id,
                    left = left.name,
                    why = left.why
                ),
            );
        }
    }

    fn check_currency(&self, currency: Currency, found: &mut Found) {
        if !self.currency.eq_ignore_ascii_case(currency.code()) {
            found.add(
                Weight::Refused,
                None,
                say!("the bill is in {currency_2}, but this book is in {currency}: ask for one in {currency}, or book the delivery by hand", currency_2 = self.currency, currency),
            );
        }
    }

    /// Business days are kept in one zone and the supplier's calendar in another, so that one day more is no future.
    fn check_dates(&self, today: NaiveDate, found: &mut Found) {
        let last = today.checked_add_days(Days::new(1)).unwrap_or(today);
        if self.issued > last {
            found.add(
                Weight::Refused,
                None,
                say!(
                    "the bill is dated {issued}, after today ({today}): the date or this computer's clock is wrong",
                    issued = self.issued,
                    today
                ),
            );
        }
        if let Some(delivered) = self.delivered.filter(|day| *day > last) {
            found.add(
                Weight::Question,
                None,
                say!(
                    "the bill says delivered on {delivered}, after today ({today}): have the goods come already?",
                    delivered,
                    today
                ),
            );
        }
    }

    fn check_lines(&self, currency: Currency, found: &mut Found) {
        let mut seen = HashSet::new();
        for (n, line) in self.lines.iter().enumerate() {
            if !seen.insert(line.id.as_str()) {
                found.add(
                    Weight::Question,
                    Some(n),
                    say!("two lines have the number {id}: is one there twice?", id = line.id),
                );
            }
            check_line(n, line, currency, self.kind, found);
        }
        for charge in &self.charges {
            if charge.amount.exact(currency.decimals()).is_none() {
                found.add(Weight::Refused, None, too_fine(charge.amount, currency));
            }
        }
    }

    fn check_sums(&self, found: &mut Found) {
        let currency = found.currency;
        let coin = |figure: Decimal| currency.written(figure);
        let lines = sum(self.lines.iter().map(|line| line.net));
        let charges = sum(self.charges.iter().map(|charge| charge.adds()));
        if self.totals.lines.is_none() && self.totals.tax_exclusive.is_none() {
            let what = word!("the file has no sums: whether a line is missing cannot be seen");
            found.add(Weight::Note, None, what.to_owned());
        }
        if let Some(total) = self.totals.lines {
            found.unless_near(Weight::Refused, total, lines, |lines| {
                let (lines, total) = (coin(lines), coin(total));
                say!("the lines add up to {lines}, but the bill says {total}: a line may be missing; ask for the bill anew", lines, total)
            });
        }
        if let Some(exclusive) = self.totals.tax_exclusive {
            let with_charges =
                |lines: Option<Decimal>| lines.zip(charges).and_then(|(lines, charges)| lines.plus(charges));
            let said = with_charges(self.totals.lines.or(lines));
            // One mistake is said once: a sum of lines that is wrong is noticed above, whichever of the two this one follows.
            let real = with_charges(lines).filter(|real| near(exclusive, *real, found.tolerance) == Some(true));
            found.unless_near(Weight::Refused, exclusive, real.or(said), |reckoned| {
                let (reckoned, exclusive) = (coin(reckoned), coin(exclusive));
                say!("lines and charges make {reckoned} without tax, but the bill says {exclusive}: ask for the bill anew", reckoned, exclusive)
            });
        }
        if let (Some(inclusive), Some(exclusive)) = (self.totals.tax_inclusive, self.totals.tax_exclusive) {
            let reckoned = exclusive.plus(self.totals.tax.unwrap_or_default());
            found.unless_near(Weight::Question, inclusive, reckoned, |reckoned| {
                let (reckoned, inclusive) = (coin(reckoned), coin(inclusive));
                say!("with tax it should be {reckoned}, but the bill says {inclusive}; stock is booked without tax: go on?", reckoned, inclusive)
            });
        }
        if let (Some(payable), Some(inclusive)) = (self.totals.payable, self.totals.tax_inclusive) {
            let prepaid = self.totals.prepaid.unwrap_or_default();
            let rest = inclusive.minus(prepaid).and_then(|rest| rest.plus(self.totals.rounding.unwrap_or_default()));
            found.unless_near(Weight::Question, payable, rest, |rest| {
                let (rest, payable) = (coin(rest), coin(payable));
                say!(
                    "{rest} should be left to pay, but the bill says {payable}; stock does not depend on it: go on?",
                    rest,
                    payable
                )
            });
        }
    }

    fn check_taxes(&self, found: &mut Found) {
        if self.taxes.is_empty() {
            return;
        }
        let currency = found.currency;
        let coin = |figure: Decimal| currency.written(figure);
        if let Some(exclusive) = self.totals.tax_exclusive {
            found.unless_near(Weight::Question, exclusive, sum(self.taxes.iter().map(|tax| tax.taxable)), |taxable| {
                let (taxable, exclusive) = (coin(taxable), coin(exclusive));
                say!("tax is reckoned on {taxable}, but the bill says {exclusive} without tax; stock is booked without tax: go on?", taxable, exclusive)
            });
        }
        if let Some(total) = self.totals.tax {
            found.unless_near(Weight::Question, total, sum(self.taxes.iter().map(|tax| tax.tax)), |tax| {
                let (tax, total) = (coin(tax), coin(total));
                say!(
                    "the taxes add up to {tax}, but the bill says {total}; stock is booked without tax: go on?",
                    tax,
                    total
                )
            });
        }
        for tax in &self.taxes {
            let Some(rate) = tax.rate else { continue };
            let Some(due) = tax.taxable.product(rate).and_then(|due| due.product(Decimal::of(1, 2))) else {
                found.too_large(None);
                continue;
            };
            let due = due.rounded(2);
            match tax.tax.minus(due).map(|off| off.size() < tax_tolerance()) {
                Some(true) => {}
                Some(false) => found.add(
                    Weight::Question,
                    None,
                    say!(
                        "{rate} % of {taxable} are {due}, but the bill says {tax}; stock is booked without tax: go on?",
                        rate,
                        taxable = coin(tax.taxable),
                        due = coin(due),
                        tax = coin(tax.tax)
                    ),
                ),
                None => found.too_large(None),
            }
        }
    }
}

fn too_fine(amount: Decimal, currency: Currency) -> String {
    say!(
        "{amount} has more decimals than {currency} has; expected at most {decimals}",
        amount,
        currency,
        decimals = currency.decimals()
    )
}

fn check_line(n: usize, line: &InvoiceLine, currency: Currency, kind: DocumentKind, found: &mut Found) {
    let name = line.called();
    let at = Some(n);
    for amount in std::iter::once(line.net).chain(line.charges.iter().map(|charge| charge.amount)) {
        if amount.exact(currency.decimals()).is_none() {
            found.add(Weight::Refused, at, format!("{name}: {}", too_fine(amount, currency)));
        }
    }
    if line.base_quantity <= Decimal::ZERO {
        let base = line.base_quantity;
        found.add(
            Weight::Refused,
            at,
            say!("{name}: the price is for {base} units; expected a number above zero", name, base),
        );
        return;
    }
    if let Some(price) = line.price.filter(|price| *price < Decimal::ZERO) {
        let said = word!("a price is never below zero, a quantity may be; ask for the bill anew");
        let price = currency.written(price);
        found.add(Weight::Refused, at, say!("{name}: the price is {price}; {said}", name, price, said));
        return;
    }
    if let Some(base) = line.base_unit.as_deref().filter(|base| !line.unit.is_empty() && *base != line.unit) {
        let unit = &line.unit;
        let net = currency.written(line.net);
        found.add(
            Weight::Question,
            at,
            say!(
                "{name}: the price is for {base}, but the quantity is in {unit}: is the sum {net} right?",
                name,
                base,
                unit,
                net
            ),
        );
    }
    if line.gtin.is_some() && line.gtin().is_none() {
        let said = line.gtin.as_deref().unwrap_or_default();
        found.add(Weight::Note, at, say!("{name}: “{said}” is no bar code number; it is not looked at", name, said));
    }
    if line.quantity.sign() < 0 && kind == DocumentKind::CreditNote {
        found.add(
            Weight::Question,
            at,
            say!("{name}: {quantity} in a credit note: charged again, or a mistake?", name, quantity = line.quantity),
        );
    }
    // What money for a quantity of none is for, is asked where it is said what the line is.
    if let Some(price) = line.price.filter(|_| line.quantity != Decimal::ZERO) {
        check_line_sum(at, line, price, found);
    }
}

/// Net = quantity × price ÷ base quantity + charges − allowances, within the tolerance (rule R120 of Peppol BIS Billing 3).
fn check_line_sum(at: Option<usize>, line: &InvoiceLine, price: Decimal, found: &mut Found) {
    let (base, tolerance) = (line.base_quantity, found.tolerance);
    let reckoned = || {
        let goods = line.quantity.product(price)?;
        let goods_and_charges = goods.plus(sum(line.charges.iter().map(|c| c.adds()))?.product(base)?)?;
        let off = line.net.product(base)?.minus(goods_and_charges)?.size();
        Some((off <= tolerance.product(base)?, goods_and_charges))
    };
    match reckoned() {
        Some((true, _)) => {}
        Some((false, _)) => {
            let charges = if line.charges.is_empty() { "" } else { word!(" with its charges and allowances") };
            let per = if base == Decimal::ONE { String::new() } else { say!(" for {base}", base) };
            let (name, quantity) = (line.called(), line.quantity);
            let (price, net) = (found.currency.written(price), found.currency.written(line.net));
            found.add(
                Weight::Question,
                at,
                say!(
                    "{name}: {quantity} at {price}{per}{charges} do not make {net}: is {net} the right sum?",
                    name,
                    quantity,
                    price,
                    per,
                    charges,
                    net
                ),
            );
        }
        None => found.too_large(at),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::receive::sample::{bill, charge, line};

    fn euro() -> Currency {
        "EUR".parse().unwrap()
    }

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn said(invoice: &Invoice) -> Vec<(Weight, String)> {
        let problems = invoice.checks(euro(), day("2026-03-12"));
        problems.into_iter().map(|problem| (problem.weight, problem.what)).collect()
    }

    fn number(text: &str) -> Decimal {
        Decimal::parse(text).unwrap()
    }

    #[test]
    fn a_bill_that_agrees_with_itself_says_nothing() {
        // The arithmetic of the UBL sample: 6 × 18.75 − 5.63 = 106.87, freight 7.50.
        let mut gin = line("1", "Nordmole Gin", "6", "H87", "18.75", "106.87");
        gin.charges.push(charge(false, "5.63", "Aktionsrabatt"));
        let mut straws = line("2", "Papierhalme", "500", "H87", "1.90", "9.50");
        straws.base_quantity = number("100");
        let mut whole = bill(vec![gin, straws]);
        whole.charges.push(charge(true, "7.50", "Anlieferung"));
        whole.totals.lines = Some(number("116.37"));
        whole.totals.tax_exclusive = Some(number("123.87"));
        assert_eq!(said(&whole), []);
    }

    #[test]
    fn each_thing_wrong_has_its_own_words() {
        let base = || bill(vec![line("1", "Gin", "6", "XBO", "9.89", "59.34")]);
        let cases: Vec<(Invoice, Weight, &str)> = vec![
            (
                Invoice { kind: DocumentKind::Prepayment, type_code: "386".into(), ..base() },
                Weight::Refused,
                "nothing came with it",
            ),
            (Invoice { kind: DocumentKind::Other, type_code: "71".into(), ..base() }, Weight::Question, "type 71"),
            (Invoice { currency: "SEK".into(), ..base() }, Weight::Refused, "in SEK, but this book is in EUR"),
            (Invoice { issued: day("2026-03-14"), ..base() }, Weight::Refused, "dated 2026-03-14, after today"),
            (Invoice { delivered: Some(day("2026-03-14")), ..base() }, Weight::Question, "have the goods come"),
            (bill(vec![]), Weight::Refused, "no lines"),
            (bill(vec![line("1", "Gin", "6", "XBO", "9.89", "59.37")]), Weight::Question, "do not make 59.37"),
            (bill(vec![line("1", "Gin", "6", "XBO", "-9.89", "-59.34")]), Weight::Refused, "never below zero"),
            (bill(vec![line("1", "Gin", "6", "XBO", "9.8901", "59.341")]), Weight::Refused, "more decimals than EUR"),
        ];
        for (invoice, weight, words) in cases {
            let all = said(&invoice);
            assert!(all.iter().any(|(w, text)| *w == weight && text.contains(words)), "{words}: {all:?}");
        }
        // A day ahead is another zone's today; two hundredths are rounding.
        assert_eq!(said(&Invoice { issued: day("2026-03-13"), ..base() }), []);
        assert_eq!(said(&bill(vec![line("1", "Gin", "6", "XBO", "9.89", "59.36")])), []);
    }

    /// By hand: 7 at 333.33 are 2333.31, of which a coin without decimals has 2333; its lines may add up to 1 less.
    #[test]
    fn a_coin_without_decimals_is_rounded_to_whole_ones() {
        let yen: Currency = "JPY".parse().unwrap();
        let mut invoice =
            bill(vec![line("1", "Gin", "7", "XBO", "333.33", "2333"), line("2", "Rum", "1", "XBO", "9", "9")]);
        invoice.currency = "JPY".to_owned();
        invoice.totals.lines = Some(number("2343"));
        assert_eq!(invoice.checks(yen, day("2026-03-12")), []);
        invoice.totals.lines = Some(number("2345"));
        let refused = invoice.checks(yen, day("2026-03-12"));
        let words = "the lines add up to 2342, but the bill says 2345";
        assert!(refused.iter().any(|p| p.weight == Weight::Refused && p.what.contains(words)), "{refused:?}");
        invoice.currency = "EUR".to_owned();
        invoice.totals.lines = Some(number("2342"));
        assert!(said(&invoice).iter().any(|(weight, what)| *weight == Weight::Question && what.contains("2333")));
    }

    #[test]
    fn sums_that_do_not_add_up_are_noticed() {
        let with = |change: &dyn Fn(&mut Invoice)| {
            let mut invoice = bill(vec![line("1", "Gin", "6", "XBO", "10", "60")]);
            invoice.taxes.push(super::super::TaxTotal {
                category: Some("S".into()),
                rate: Some(number("19")),
                taxable: number("60"),
                tax: number("11.40"),
            });
            invoice.totals.lines = Some(number("60"));
            invoice.totals.tax_exclusive = Some(number("60"));
            invoice.totals.tax = Some(number("11.40"));
            invoice.totals.tax_inclusive = Some(number("71.40"));
            invoice.totals.payable = Some(number("71.40"));
            change(&mut invoice);
            said(&invoice)
        };
        assert_eq!(with(&|_| {}), []);
        assert_eq!(with(&|i| i.taxes[0].tax = number("11.41")), []);
        for (change, weight, words) in [
            (
                &(|i: &mut Invoice| i.totals.lines = Some(number("65"))) as &dyn Fn(&mut Invoice),
                Weight::Refused,
                "the lines add up to 60.00, but the bill says 65.00",
            ),
            (&|i| i.totals.tax_exclusive = Some(number("65")), Weight::Refused, "make 60.00 without tax"),
            (&|i| i.totals.tax_inclusive = Some(number("65")), Weight::Question, "with tax it should be 71.40"),
            (&|i| i.totals.payable = Some(number("65")), Weight::Question, "71.40 should be left to pay"),
            (
                &|i| i.taxes[0].tax = number("12.40"),
                Weight::Question,
                "19 % of 60.00 are 11.40, but the bill says 12.40",
            ),
            (&|i| i.taxes[0].taxable = number("50"), Weight::Question, "tax is reckoned on 50.00"),
        ] {
            let all = with(change);
            assert!(all.iter().any(|(w, text)| *w == weight && text.contains(words)), "{words}: {all:?}");
        }
        // A wrong sum of lines is one mistake, whether what follows from it was reckoned from the lines or from the sum.
        for exclusive in ["60", "65"] {
            let all = with(&|i| {
                i.totals.lines = Some(number("65"));
                i.totals.tax_exclusive = Some(number(exclusive));
            });
            let refused = all.iter().filter(|(weight, _)| *weight == Weight::Refused).count();
            assert_eq!(refused, 1, "{all:?}");
        }
        // Thousands are set apart as in sums.
        let large = bill(vec![line("1", "Gin", "1200", "XBO", "10.5", "12601")]);
        assert_eq!(said(&large)[0].1, "Gin: 1200 at 10.50 do not make 12 601.00: is 12 601.00 the right sum?");
    }

    #[test]
    fn money_for_a_quantity_of_none_is_asked_about_where_its_line_is_explained() {
        assert_eq!(said(&bill(vec![line("1", "Gin", "0", "XBO", "9.89", "59.34")])), []);
    }

    #[test]
    fn figures_out_of_reach_are_refused_and_not_reckoned() {
        let huge = "999999999999.999999999";
        let invoice = bill(vec![line("1", "Gin", huge, "XBO", huge, "1")]);
        assert!(said(&invoice).iter().any(|(w, text)| *w == Weight::Refused && text.contains("too large")));
    }
}
