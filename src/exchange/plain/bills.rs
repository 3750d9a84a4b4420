//! Suppliers' codes and names, bills and claims as lines.

use super::Plain;
use super::cells::{Form, Line, PlainRow, or_empty, signed_money, whole};
use crate::domain::measure::Money;
use crate::domain::receive::{ClaimKind, CodeKey, DocumentKind, KnownAs, Rate};
use crate::domain::venue::{Moment, parse_day};
use chrono::NaiveDate;

/// What a code means, its item by name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CodeMeans {
    /// An item, and how many containers of it are in one unit.
    Item(String, Rate),
    /// A deposit on what goes back.
    Deposit,
    /// Nothing that is stocked.
    NotStock,
}

/// A line of `supplier_codes.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CodeRow {
    /// Whose code.
    pub supplier: String,
    /// Which.
    pub code: CodeKey,
    /// The unit on the bill; empty where it has none.
    pub unit: String,
    /// What it means.
    pub means: CodeMeans,
}

impl PlainRow for CodeRow {
    const FILE: Plain = Plain::SupplierCodes;

    fn read(line: &mut Line<'_>) -> Option<CodeRow> {
        let (supplier, code) = (line.name("supplier", Plain::Suppliers), line.text("code"));
        let code = code.and_then(|code| line.with("code", |_| CodeKey::parse(&code)));
        let (unit, item) = (line.maybe_text("unit"), line.maybe_name("item", Plain::Stock));
        let mut many = |column| line.maybe(column, |text| whole(text, 1..=i64::MAX));
        let (containers, units) = (many("containers"), many("units"));
        let means = line.with("means", |text| match text.to_lowercase().as_str() {
            "item" => Ok(None),
            "deposit" => Ok(Some(CodeMeans::Deposit)),
            "not-stock" => Ok(Some(CodeMeans::NotStock)),
            _ => Err(word!("expected item, deposit or not-stock")),
        });
        let (supplier, code, unit) = (supplier?, code?, unit?.unwrap_or_default());
        let (item, containers, units, means) = (item?, containers?, units?, means?);
        let means = match (means, item) {
            (None, Some(item)) => CodeMeans::Item(item, Rate::new(containers.unwrap_or(1), units.unwrap_or(1))?),
            (None, None) => {
                line.wrong("item", word!("expected an item of stock.csv, because it means one"));
                return None;
            }
            (Some(other), item) => {
                let said = [("item", item.is_some()), ("containers", containers.is_some()), ("units", units.is_some())];
                if let Some((column, _)) = said.into_iter().find(|(_, said)| *said) {
                    line.wrong(column, word!("expected nothing, because it means no item"));
                    return None;
                }
                other
            }
        };
        Some(CodeRow { supplier, code, unit, means })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        let (means, item, rate) = match &self.means {
            CodeMeans::Item(item, rate) => ("item", item.clone(), Some(*rate)),
            CodeMeans::Deposit => ("deposit", String::new(), None),
            CodeMeans::NotStock => ("not-stock", String::new(), None),
        };
        vec![
            self.supplier.clone(),
            self.code.as_str().to_owned(),
            self.unit.clone(),
            means.to_owned(),
            item,
            or_empty(rate, |rate| rate.numerator.to_string()),
            or_empty(rate, |rate| rate.denominator.to_string()),
        ]
    }
}

/// A line of `supplier_names.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SupplierNameRow {
    /// What it calls itself.
    pub known_as: KnownAs,
    /// Who that is.
    pub supplier: String,
}

impl PlainRow for SupplierNameRow {
    const FILE: Plain = Plain::SupplierNames;

    fn read(line: &mut Line<'_>) -> Option<SupplierNameRow> {
        let known_as = line.text("known_as");
        let known_as = known_as.and_then(|known_as| line.with("known_as", |_| KnownAs::parse(&known_as)));
        let supplier = line.name("supplier", Plain::Suppliers);
        Some(SupplierNameRow { known_as: known_as?, supplier: supplier? })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        vec![self.known_as.as_str().to_owned(), self.supplier.clone()]
    }
}

/// A line of `bills.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BillRow {
    /// Whose.
    pub supplier: String,
    /// Its number.
    pub number: String,
    /// What it is.
    pub kind: DocumentKind,
    /// When it was written.
    pub issued: NaiveDate,
    /// Goods without tax and deposit.
    pub goods: Money,
    /// Deposits.
    pub deposits: Money,
    /// Freight and the like.
    pub charges: Money,
    /// What is not stocked.
    pub other: Money,
    /// What is to be paid.
    pub payable: Option<Money>,
    /// The delivery that it answers.
    pub delivery: Option<String>,
    /// When it was booked.
    pub at: Moment,
    /// By whom.
    pub by: Option<String>,
}

impl PlainRow for BillRow {
    const FILE: Plain = Plain::Bills;

    fn read(line: &mut Line<'_>) -> Option<BillRow> {
        let form = line.form();
        let (supplier, number) = (line.name("supplier", Plain::Suppliers), line.text("number"));
        let kind = line.with("kind", DocumentKind::parse);
        let issued =
            line.with("issued", |text| parse_day(text).map_err(|_| word!("expected a date such as 2026-11-20")));
        let mut money = |column| line.with(column, |text| signed_money(&form, text));
        let (goods, deposits, charges, other) = (money("goods"), money("deposits"), money("charges"), money("other"));
        let payable = line.maybe("payable", |text| signed_money(&form, text));
        let (delivery, at, by) = (line.maybe_text("delivery"), line.time("at"), line.maybe_name("by", Plain::People));
        Some(BillRow {
            supplier: supplier?,
            number: number?,
            kind: kind?,
            issued: issued?,
            goods: goods?,
            deposits: deposits?,
            charges: charges?,
            other: other?,
            payable: payable?,
            delivery: delivery?,
            at: at?,
            by: by?,
        })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            self.supplier.clone(),
            self.number.clone(),
            self.kind.word().to_owned(),
            self.issued.to_string(),
            form.money(self.goods),
            form.money(self.deposits),
            form.money(self.charges),
            form.money(self.other),
            or_empty(self.payable, |m| form.money(m)),
            self.delivery.clone().unwrap_or_default(),
            form.time(self.at),
            self.by.clone().unwrap_or_default(),
        ]
    }
}

/// A line of `claims.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClaimRow {
    /// From whom.
    pub supplier: String,
    /// On which bill.
    pub document: String,
    /// For what.
    pub item: Option<String>,
    /// Why.
    pub because: ClaimKind,
    /// For so many containers.
    pub containers: i64,
    /// How much.
    pub money: Money,
    /// In a sentence.
    pub note: String,
    /// When it was put down.
    pub at: Moment,
    /// By whom.
    pub by: Option<String>,
    /// When, by whom and how it was settled, if it was.
    pub settled: Option<(Moment, Option<String>, String)>,
}

impl PlainRow for ClaimRow {
    const FILE: Plain = Plain::Claims;

    fn read(line: &mut Line<'_>) -> Option<ClaimRow> {
        let form = line.form();
        let (supplier, document) = (line.name("supplier", Plain::Suppliers), line.text("document"));
        let (item, because) = (line.maybe_name("item", Plain::Stock), line.with("because", ClaimKind::parse));
        let containers = line.whole("containers", 1..=i64::MAX);
        let money = line.with("money", |text| match signed_money(&form, text) {
            Ok(money) if money <= Money::ZERO && form.currency.is_some() => {
                Err(word!("expected more than zero").to_owned())
            }
            read => read,
        });
        let (note, at, by) = (line.text("note"), line.time("at"), line.maybe_name("by", Plain::People));
        let settled_by = line.maybe_name("settled_by", Plain::People);
        let settled_note = line.maybe_text("settled_note");
        let said = matches!(settled_by, Some(Some(_))) || matches!(settled_note, Some(Some(_)));
        let settled_at = match line.maybe("settled_at", |_| Ok::<_, &str>(())) {
            Some(Some(())) => line.time("settled_at").map(Some),
            _ if said => {
                line.wrong("settled_at", word!("expected when it was settled, because the line says how or by whom"));
                None
            }
            _ => Some(None),
        };
        let (settled_at, settled_by, settled_note) = (settled_at?, settled_by?, settled_note?);
        let how = settled_note.unwrap_or_else(|| "settled".to_owned());
        Some(ClaimRow {
            supplier: supplier?,
            document: document?,
            item: item?,
            because: because?,
            containers: containers?,
            money: money?,
            note: note?,
            at: at?,
            by: by?,
            settled: settled_at.map(|at| (at, settled_by, how)),
        })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        let (at, by, how) = match &self.settled {
            Some((at, by, how)) => (form.time(*at), by.clone().unwrap_or_default(), how.clone()),
            None => Default::default(),
        };
        vec![
            self.supplier.clone(),
            self.document.clone(),
            self.item.clone().unwrap_or_default(),
            self.because.word().to_owned(),
            self.containers.to_string(),
            form.money(self.money),
            self.note.clone(),
            form.time(self.at),
            self.by.clone().unwrap_or_default(),
            at,
            by,
            how,
        ]
    }
}
