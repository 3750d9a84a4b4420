//! Which item each line of a bill means, and how many containers of it.

use super::apart::{apart, charges_deposit, money};
use super::deposit::is_deposit;
use super::invoice::{Charge, Invoice, InvoiceLine};
use super::keys::CodeKey;
use super::known::{KnownCode, Means, Rate};
use super::likely::{Likely, likely};
use super::sizing::{Evidence, KnownPack, Scanned, Sized};
use super::spread::shares;
use super::units::{self, Unit};
use crate::domain::ledger::Order;
use crate::domain::measure::{Currency, Decimal, Money, Price, decimal::round_half_even};
use crate::domain::venue::{Gtin, Item, ItemId, Setup, SupplierId, name_key};
use chrono::NaiveDate;
use std::collections::{BTreeSet, HashMap};

/// What a bill is looked at with.
#[derive(Clone, Copy, Debug)]
pub struct Book<'a> {
    /// Items, offers, bar codes.
    pub setup: &'a Setup,
    /// Whose bill it is.
    pub supplier: SupplierId,
    /// What was explained before, of any supplier.
    pub known: &'a [KnownCode],
    /// The orders that it may answer.
    pub orders: &'a [Order],
    /// The business day that offers are looked up for.
    pub day: NaiveDate,
    /// Whether freight and the like of the whole bill are shared out over the goods; else they stay apart.
    pub spread: bool,
    /// Lines that are nothing stocked on this bill alone, counted from 0.
    pub money_only: &'a BTreeSet<usize>,
}

/// What a line was found to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Status {
    /// An item.
    Found {
        /// Which.
        item: ItemId,
        /// Containers; below zero when they go back.
        containers: i64,
        /// Price of one container: of `cost` and `freight`, rounded once.
        unit_price: Price,
        /// What they cost without tax and without the deposit; below zero when they go back.
        cost: Money,
        /// How many prices on the bill that is the sum of: of a bill by the case, its cases.
        prices: i64,
        /// Deposit that the line charges with them.
        deposit: Money,
        /// Their share of what is charged for the whole bill; zero when that stays apart.
        freight: Money,
        /// How it was found, in words.
        how: String,
    },
    /// A deposit on what goes back.
    Deposit {
        /// How much; below zero when it is given back.
        amount: Money,
        /// Somebody said so before; else it is only suggested by its name.
        known: bool,
        /// What it may be instead.
        likely: Vec<Likely>,
    },
    /// Nothing that is stocked.
    NotStock {
        /// How much.
        amount: Money,
        /// Somebody said so before; else it is only suggested by its unit or its quantity of none.
        known: bool,
        /// What it may be instead.
        likely: Vec<Likely>,
    },
    /// A person has to say.
    Question {
        /// What is asked, in words.
        why: String,
        /// The item, where that is known.
        item: Option<ItemId>,
        /// The containers that it most likely is.
        perhaps: Option<i64>,
        /// Which items it may be.
        likely: Vec<Likely>,
        /// What the line costs without its deposit.
        amount: Money,
    },
}

/// A line and what it was found to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Matched {
    /// Which line, counted from 0.
    pub line: usize,
    /// What it is.
    pub status: Status,
}

/// No van carries a million of one thing.
const MOST: i64 = 999_999;

/// The deposit in a line, with the sign of the file.
fn deposit_in(line: &InvoiceLine) -> Decimal {
    let parts = line.charges.iter().filter(|charge| charges_deposit(charge)).map(Charge::adds);
    parts.fold(Decimal::ZERO, |sum, part| sum.plus(part).unwrap_or(sum))
}

/// The net of a line without the deposit in it.
fn goods_of(line: &InvoiceLine) -> Decimal {
    line.net.minus(deposit_in(line)).unwrap_or(line.net)
}

/// Price of one container, rounded half to even; `None` when there is none or it does not fit.
fn price_of(total: Money, containers: i64, currency: Currency) -> Option<Price> {
    if containers == 0 {
        return None;
    }
    let whole = i128::from(total.0) * 10_i128.pow(Price::PLACES.saturating_sub(currency.decimals()));
    let price = round_half_even(whole * i128::from(containers.signum()), i128::from(containers.unsigned_abs()));
    i64::try_from(price).ok().map(Price)
}

/// How many prices a line is the sum of, counting a begun one.
fn prices_of(line: &InvoiceLine) -> Option<i64> {
    let base = line.base_quantity.scaled(1_000, 1).ok().filter(|base| *base > 0)?;
    let quantity = line.quantity.scaled(1_000, 1).ok()?.saturating_abs();
    Some(quantity.saturating_add(base - 1) / base)
}

fn found(
    line: &InvoiceLine,
    sign: i64,
    item: ItemId,
    containers: i64,
    currency: Currency,
    how: String,
) -> Option<Status> {
    let signed = |amount: Decimal| Money(money(amount, currency).0.saturating_mul(sign));
    let (cost, deposit) = (signed(goods_of(line)), signed(deposit_in(line)));
    let unit_price = price_of(cost, Some(containers).filter(|many| (-MOST..=MOST).contains(many))?, currency)?;
    let prices = prices_of(line).unwrap_or(containers.saturating_abs());
    Some(Status::Found { item, containers, unit_price, cost, prices, deposit, freight: Money::ZERO, how })
}

/// What is known of where a line belongs.
enum Named<'a> {
    /// Explained before, in this unit.
    Remembered(ItemId, Rate),
    /// An item, how it was found, and what a bar code told.
    Item(&'a Item, String, Scanned),
    Deposit,
    NotStock,
    /// Two items go by one code.
    Several(String, Vec<ItemId>),
    Nothing,
}

/// A bill as it is looked at.
struct Desk<'a> {
    book: &'a Book<'a>,
    sign: i64,
    currency: Currency,
    /// Whether the bill names one of the orders.
    order_ref: Option<String>,
    known: HashMap<&'a str, Vec<&'a KnownCode>>,
    codes: HashMap<String, Vec<ItemId>>,
}

/// Finds out what every line is: by what was explained before, the supplier's code, the bar code, our own name on it, in
/// this order. What that leaves open is asked, with the likeliest items.
pub fn matched(invoice: &Invoice, book: &Book<'_>) -> Vec<Matched> {
    let mut known: HashMap<&str, Vec<&KnownCode>> = HashMap::new();
    for code in book.known.iter().filter(|code| code.supplier == book.supplier) {
        known.entry(code.key.as_str()).or_default().push(code);
    }
    let mut codes: HashMap<String, Vec<ItemId>> = HashMap::new();
    for offer in book.setup.offers.iter().filter(|offer| offer.supplier == book.supplier) {
        if let Some(code) = offer.code.as_deref().map(name_key).filter(|code| !code.is_empty()) {
            let items = codes.entry(code).or_default();
            if !items.contains(&offer.item) {
                items.push(offer.item);
            }
        }
    }
    let desk = Desk {
        book,
        sign: invoice.sign(),
        currency: book.setup.venue.currency,
        order_ref: invoice.order_ref.as_deref().map(name_key),
        known,
        codes,
    };
    let status = |(line, said): (usize, &InvoiceLine)| {
        let status = if book.money_only.contains(&line) { desk.money_only(said) } else { desk.status(said) };
        Matched { line, status }
    };
    let mut out: Vec<Matched> = invoice.lines.iter().enumerate().map(status).collect();
    if book.spread {
        desk.spread(invoice, &mut out);
    }
    out
}

impl Desk<'_> {
    fn money(&self, amount: Decimal) -> Money {
        Money(money(amount, self.currency).0.saturating_mul(self.sign))
    }

    fn money_only(&self, line: &InvoiceLine) -> Status {
        Status::NotStock { amount: self.money(line.net), known: true, likely: Vec::new() }
    }

    fn status(&self, line: &InvoiceLine) -> Status {
        let amount = self.money(goods_of(line));
        let whole = self.money(line.net);
        match self.named(line) {
            Named::Deposit => Status::Deposit { amount: whole, known: true, likely: Vec::new() },
            Named::NotStock => self.money_only(line),
            _ if line.quantity == Decimal::ZERO && line.net == Decimal::ZERO => {
                Status::NotStock { amount: whole, known: false, likely: Vec::new() }
            }
            Named::Remembered(item, rate) => self.remembered(line, item, rate, amount),
            Named::Item(item, how, scanned) => self.sized(line, item, &how, scanned, amount),
            Named::Several(why, items) => {
                let likely = items.into_iter().map(|item| Likely { item, score: 1_000 }).collect();
                Status::Question { why, item: None, perhaps: None, likely, amount }
            }
            Named::Nothing => self.unknown(line, amount, whole),
        }
    }

    fn named(&self, line: &InvoiceLine) -> Named<'_> {
        let setup = self.book.setup;
        let of_the_code = CodeKey::all(line).into_iter().find_map(|key| self.known.get(key.as_str()));
        if let Some(codes) = of_the_code {
            let unit = line.unit.trim();
            let exact = codes.iter().find(|code| code.unit.eq_ignore_ascii_case(unit));
            match exact.or(codes.first()).map(|code| (code.means, exact.is_some())) {
                Some((Means::Deposit, _)) => return Named::Deposit,
                Some((Means::NotStock, _)) => return Named::NotStock,
                Some((Means::Item { item, rate }, true)) if setup.item(item).is_some() => {
                    return Named::Remembered(item, rate);
                }
                Some((Means::Item { item, .. }, _)) => {
                    if let Some(item) = setup.item(item) {
                        return Named::Item(item, "known code".to_owned(), Scanned::Not);
                    }
                }
                None => {}
            }
        }
        if let Some(code) = line.seller_code.as_deref() {
            match self.codes.get(&name_key(code)).map(Vec::as_slice) {
                Some([item]) => {
                    if let Some(item) = setup.item(*item) {
                        return Named::Item(item, say!("the offer's code {code}", code), self.scanned(line, item));
                    }
                }
                Some(items) if items.len() > 1 => {
                    let why = say!("the supplier offers several items under the code {code}: which one is it?", code);
                    return Named::Several(why, items.to_vec());
                }
                _ => {}
            }
        }
        if let Some(gtin) = line.gtin().filter(|gtin| !gtin.is_restricted()) {
            if let Some(item) = setup.item_by_gtin(&gtin) {
                return Named::Item(item, say!("the bar code {gtin}", gtin), self.scanned(line, item));
            }
            if let Some(item) = gtin.content().filter(|g| !g.is_restricted()).and_then(|g| setup.item_by_gtin(&g)) {
                return Named::Item(item, say!("the bar code {gtin} of a case", gtin), Scanned::Grouping);
            }
        }
        if let Some(own) = line.buyer_code.as_deref().filter(|own| !own.trim().is_empty()) {
            let by_code = || Gtin::parse(own).ok().and_then(|gtin| setup.item_by_gtin(&gtin));
            if let Some(item) = setup.item_by_name(own).or_else(by_code) {
                return Named::Item(item, say!("our own name “{own}” on it", own), self.scanned(line, item));
            }
        }
        Named::Nothing
    }

    /// What the line's bar code says about an item that was found in another way.
    fn scanned(&self, line: &InvoiceLine, item: &Item) -> Scanned {
        let Some(gtin) = line.gtin() else { return Scanned::Not };
        let is = |gtin: &Gtin| item.gtins.iter().any(|own| own.key() == gtin.key());
        if is(&gtin) {
            // A number of fourteen digits that begins with 1 to 8 is a case, also where an item carries it.
            if gtin.content().is_some() { Scanned::Grouping } else { Scanned::Container }
        } else if gtin.content().is_some_and(|content| is(&content)) {
            Scanned::Grouping
        } else {
            Scanned::Not
        }
    }

    fn remembered(&self, line: &InvoiceLine, item: ItemId, rate: Rate, amount: Money) -> Status {
        let unit = units::called(&line.unit);
        let containers = rate.times(line.quantity).and_then(|many| many.checked_mul(self.sign));
        let how = say!("known code, one {unit} is {rate}", unit, rate);
        let status = containers.and_then(|many| found(line, self.sign, item, many, self.currency, how));
        status.unwrap_or_else(|| Status::Question {
            why: say!(
                "one {unit} is {rate}, so {unit_2} are no whole number of containers: how many came?",
                unit,
                rate,
                unit_2 = units::counted(line.quantity, &line.unit)
            ),
            item: Some(item),
            perhaps: None,
            likely: Vec::new(),
            amount,
        })
    }

    fn sized(&self, line: &InvoiceLine, item: &Item, how: &str, scanned: Scanned, amount: Money) -> Status {
        let ask = |why: String, perhaps: Option<i64>| Status::Question {
            why,
            item: Some(item.id),
            perhaps,
            likely: Vec::new(),
            amount,
        };
        if line.quantity == Decimal::ZERO {
            return ask(word!("money for a quantity of 0: what is it for?").to_owned(), None);
        }
        if amount.0 != 0 && amount.0.signum() != line.quantity.sign() * self.sign {
            return ask(word!("money goes the other way than the goods: how many containers came?").to_owned(), None);
        }
        let signed = |rate: Rate| rate.times(line.quantity).and_then(|many| many.checked_mul(self.sign));
        match self.evidence(line, item, scanned).size() {
            Sized::Rate(rate, why) => {
                let status = signed(rate)
                    .and_then(|many| found(line, self.sign, item.id, many, self.currency, format!("{how}; {why}")));
                status.unwrap_or_else(|| {
                    ask(
                        say!(
                            "{quantity} at {rate} each are no number of containers that came",
                            quantity = line.quantity,
                            rate
                        ),
                        None,
                    )
                })
            }
            Sized::Ask { why, perhaps } => ask(why, perhaps.and_then(signed)),
        }
    }

    fn evidence<'e>(&self, line: &'e InvoiceLine, item: &'e Item, scanned: Scanned) -> Evidence<'e> {
        let book = self.book;
        let offers =
            book.setup.offers_for(item.id, book.day).into_iter().filter(|offer| offer.supplier == book.supplier);
        let mut packs: Vec<KnownPack> = offers.map(|o| KnownPack { pack: o.pack, price: o.price }).collect();
        let mut ordered = Vec::new();
        let orders = book.orders.iter().filter(|order| order.supplier == book.supplier);
        for at in orders.flat_map(|order| &order.lines).filter(|at| at.item == item.id) {
            packs.push(KnownPack { pack: at.pack, price: at.price });
            ordered.extend(at.packs.checked_mul(at.pack));
        }
        Evidence { item, line, goods: goods_of(line), packs, ordered, scanned, currency: self.currency }
    }

    fn unknown(&self, line: &InvoiceLine, amount: Money, whole: Money) -> Status {
        let likely = likely(line, self.book.setup, |item| self.told(line, item));
        if is_deposit(&line.name) {
            return Status::Deposit { amount: whole, known: false, likely };
        }
        if units::find(&line.unit) == Unit::Service {
            return Status::NotStock { amount: whole, known: false, likely };
        }
        // No item is none of it: what is asked is what the money is for.
        if line.quantity == Decimal::ZERO {
            let why = word!("money for a quantity of 0: what is it for?").to_owned();
            return Status::Question { why, item: None, perhaps: None, likely: Vec::new(), amount };
        }
        let restricted = line.gtin().is_some_and(|gtin| gtin.is_restricted());
        let code = match (line.seller_code.as_deref(), restricted) {
            (_, true) => word!("its bar code is one for use within a shop").to_owned(),
            (Some(code), _) => say!("the code {code} was not seen before", code),
            (None, _) => word!("it was not seen before").to_owned(),
        };
        Status::Question { why: say!("{code}: which item is it?", code), item: None, perhaps: None, likely, amount }
    }

    /// What else than its name speaks for an item, in thousandths: the order line that the bill points to most, then that it
    /// was ordered, then that the supplier offers it.
    fn told(&self, line: &InvoiceLine, item: ItemId) -> u16 {
        let number = line.order_line.as_deref().and_then(|text| text.trim().parse::<i64>().ok());
        let orders = || self.book.orders.iter().filter(|order| order.supplier == self.book.supplier);
        let pointed = orders()
            .filter(|order| self.order_ref.as_deref() == Some(name_key(&order.name).as_str()))
            .flat_map(|order| &order.lines)
            .any(|at| at.item == item && Some(at.line) == number);
        if pointed {
            400
        } else if orders().flat_map(|order| &order.lines).any(|at| at.item == item) {
            100
        } else if self.book.setup.offers.iter().any(|o| o.item == item && o.supplier == self.book.supplier) {
            50
        } else {
            0
        }
    }

    /// Shares out what is charged for the whole bill over the goods, in proportion to what they cost; lines that are still
    /// asked about count as goods, so that an answer does not move the others' shares.
    fn spread(&self, invoice: &Invoice, out: &mut [Matched]) {
        let shared = apart(invoice, self.currency).into_iter().filter(|charge| !charge.deposit);
        let total: Money = shared.map(|charge| charge.amount).sum();
        let weight = |matched: &Matched| match &matched.status {
            Status::Found { cost, .. } => cost.0.saturating_mul(self.sign),
            Status::Question { amount, .. } => amount.0.saturating_mul(self.sign),
            Status::Deposit { .. } | Status::NotStock { .. } => 0,
        };
        let weights: Vec<i64> = out.iter().map(weight).collect();
        let Some(parts) = shares(total, &weights) else { return };
        for (matched, part) in out.iter_mut().zip(parts) {
            if let Status::Found { containers, cost, unit_price, freight, .. } = &mut matched.status {
                *freight = part;
                *unit_price = price_of(*cost + part, *containers, self.currency).unwrap_or(*unit_price);
            }
        }
    }
}
