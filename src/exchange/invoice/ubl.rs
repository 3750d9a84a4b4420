//! UBL 2.1 Invoice and CreditNote, as EN 16931 uses them (syntax binding CEN/TS 16931-3-2).

use super::xml::{Element, Refusal, Space, shown};
use crate::domain::measure::Decimal;
use crate::domain::receive::{Charge, DocumentKind, Invoice, InvoiceLine, LeftOut, Party, PartyId, TaxTotal, Totals};

pub(super) const INVOICE: &str = "urn:oasis:names:specification:ubl:schema:xsd:Invoice-2";
pub(super) const CREDIT_NOTE: &str = "urn:oasis:names:specification:ubl:schema:xsd:CreditNote-2";
const CAC: Space = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2";
const CBC: Space = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2";
/// Scheme of GS1's trade item numbers (ISO 6523).
const GTIN: &str = "0160";

/// Which of the two documents it is: their lines have different names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sort {
    Invoice,
    CreditNote,
}

impl Sort {
    fn names(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Sort::Invoice => ("InvoiceTypeCode", "InvoiceLine", "InvoicedQuantity"),
            Sort::CreditNote => ("CreditNoteTypeCode", "CreditNoteLine", "CreditedQuantity"),
        }
    }
}

pub(super) fn read(root: Element<'_>, sort: Sort) -> Result<Invoice, Refusal> {
    let (type_name, line_name, quantity_name) = sort.names();
    let number_at = root.must(CBC, "ID", word!("the invoice's number"))?;
    let number = number_at.text().ok_or_else(|| number_at.refused(word!("the invoice's number is empty")))?;
    let issued = root.must(CBC, "IssueDate", word!("the invoice's date"))?.date()?;
    let currency_at = root.must(CBC, "DocumentCurrencyCode", word!("the currency"))?;
    let currency = currency_at.text().ok_or_else(|| currency_at.refused(word!("the currency is empty")))?;
    let (kind, type_code) = kind(root, sort, type_name)?;
    let due = match root.only(CBC, "DueDate")? {
        Some(day) => Some(day),
        None => root.all(CAC, "PaymentMeans").find_map(|means| means.first(CBC, "PaymentDueDate")),
    };
    let delivered = root.all(CAC, "Delivery").find_map(|delivery| delivery.first(CBC, "ActualDeliveryDate"));
    let order = root.at(CAC, &["OrderReference"]).and_then(|order| order.word(CBC, "ID"));
    let preceding = root.all(CAC, "BillingReference").filter_map(|reference| {
        let document =
            reference.first(CAC, "InvoiceDocumentReference").or(reference.first(CAC, "CreditNoteDocumentReference"));
        document?.word(CBC, "ID")
    });
    let mut left_out = Vec::new();
    let mut lines = Vec::new();
    for at in root.all(CAC, line_name) {
        lines.push(line(at, quantity_name, &currency)?);
        sub_lines(at, &mut left_out);
    }
    if lines.is_empty() {
        return Err(root.refused(super::cii::no_lines(&profile(root))));
    }
    Ok(Invoice {
        kind,
        type_code,
        number,
        issued,
        due: due.map(Element::date).transpose()?,
        order_ref: order.filter(|number| number != "NA"),
        despatch_ref: root.all(CAC, "DespatchDocumentReference").find_map(|reference| reference.word(CBC, "ID")),
        delivered: delivered.map(Element::date).transpose()?,
        preceding: preceding.collect(),
        seller: seller(root)?,
        buyer: root.at(CAC, &["AccountingCustomerParty", "Party"]).map(party).unwrap_or_default(),
        lines,
        left_out,
        charges: charges(root, &currency)?,
        taxes: taxes(root, &currency)?,
        totals: totals(root, &currency)?,
        profile: profile(root),
        currency,
    })
}

fn profile(root: Element<'_>) -> String {
    root.word(CBC, "CustomizationID").unwrap_or_default()
}

/// The root says whether it is a credit note; a type code of the other sort contradicts it, and a sign would be guessed.
fn kind(root: Element<'_>, sort: Sort, type_name: &'static str) -> Result<(DocumentKind, String), Refusal> {
    let code = root.only(CBC, type_name)?.and_then(Element::text);
    let code = code.unwrap_or_else(|| if sort == Sort::Invoice { "380" } else { "381" }.to_owned());
    let kind = DocumentKind::of_code(&code);
    match (sort, kind) {
        (Sort::Invoice, DocumentKind::CreditNote) => Err(root.refused(say!("is an Invoice of type {code}, which is a credit note: whether it charges or gives back is not clear; ask for it anew", code = shown(&code)))),
        (Sort::CreditNote, _) => Ok((DocumentKind::CreditNote, code)),
        (Sort::Invoice, kind) => Ok((kind, code)),
    }
}

fn seller(root: Element<'_>) -> Result<Party, Refusal> {
    let supplier = root.must(CAC, "AccountingSupplierParty", word!("the seller"))?;
    let at = supplier.must(CAC, "Party", word!("the seller"))?;
    let party = party(at);
    if party.name.is_empty() {
        return Err(
            at.refused(word!("the seller has no name: expected RegistrationName or Name; ask for the invoice anew"))
        );
    }
    Ok(party)
}

fn id(at: Element<'_>) -> Option<PartyId> {
    Some(PartyId { scheme: at.attribute("schemeID"), id: at.text()? })
}

fn party(at: Element<'_>) -> Party {
    let registered = at.all(CAC, "PartyLegalEntity").find_map(|entity| entity.word(CBC, "RegistrationName"));
    let trading = at.all(CAC, "PartyName").find_map(|name| name.word(CBC, "Name"));
    let vat = |scheme: &Element<'_>| {
        let of = scheme.at(CAC, &["TaxScheme"]).and_then(|scheme| scheme.word(CBC, "ID"));
        of.is_some_and(|of| of.eq_ignore_ascii_case("VAT"))
    };
    Party {
        vat_id: at.all(CAC, "PartyTaxScheme").filter(vat).find_map(|scheme| scheme.word(CBC, "CompanyID")),
        ids: at.all(CAC, "PartyIdentification").filter_map(|ids| id(ids.first(CBC, "ID")?)).collect(),
        endpoint: at.first(CBC, "EndpointID").and_then(id),
        trading_name: trading.clone().filter(|_| registered.is_some()),
        name: registered.or(trading).unwrap_or_default(),
    }
}

/// An amount of money, whose currency must be the document's.
fn amount(at: Element<'_>, currency: &str) -> Result<Decimal, Refusal> {
    if let Some(other) = at.attribute("currencyID").filter(|other| !other.eq_ignore_ascii_case(currency)) {
        return Err(at.refused(say!(
            "{shown} is in {other} in an invoice in {currency}",
            shown = shown(at.name()),
            other = shown(&other),
            currency = shown(currency)
        )));
    }
    at.decimal()
}

fn money(at: Element<'_>, name: &'static str, currency: &str) -> Result<Option<Decimal>, Refusal> {
    at.only(CBC, name)?.map(|found| amount(found, currency)).transpose()
}

fn charges(at: Element<'_>, currency: &str) -> Result<Vec<Charge>, Refusal> {
    let charge = |at: Element<'_>| {
        let category = at.first(CAC, "TaxCategory");
        Ok(Charge {
            charge: at.must(CBC, "ChargeIndicator", word!("whether it is a charge or an allowance"))?.truth()?,
            amount: amount(at.must(CBC, "Amount", word!("the amount of a charge or allowance"))?, currency)?,
            reason: at.word(CBC, "AllowanceChargeReason"),
            reason_code: at.word(CBC, "AllowanceChargeReasonCode"),
            percent: at.number(CBC, "MultiplierFactorNumeric")?,
            base: money(at, "BaseAmount", currency)?,
            tax_category: category.and_then(|category| category.word(CBC, "ID")),
            tax_rate: category.map(|category| category.number(CBC, "Percent")).transpose()?.flatten(),
        })
    };
    at.all(CAC, "AllowanceCharge").map(charge).collect()
}

fn line(at: Element<'_>, quantity_name: &'static str, currency: &str) -> Result<InvoiceLine, Refusal> {
    let quantity = at.must(CBC, quantity_name, word!("the quantity of a line"))?;
    let net = at.must(CBC, "LineExtensionAmount", word!("the net of a line"))?;
    let item = at.must(CAC, "Item", word!("the item of a line"))?;
    let price = at.only(CAC, "Price")?;
    let base = price.map(|price| price.only(CBC, "BaseQuantity")).transpose()?.flatten();
    let discount = price.and_then(|price| price.first(CAC, "AllowanceCharge"));
    let in_price = |name: &'static str| discount.map(|at| at.only(CBC, name)).transpose().map(Option::flatten);
    let tax = item.first(CAC, "ClassifiedTaxCategory");
    let code = |name: &'static str| item.first(CAC, name).and_then(|id| id.first(CBC, "ID"));
    let standard = code("StandardItemIdentification");
    let is_gtin = |id: &Element<'_>| id.attribute("schemeID").is_none_or(|scheme| scheme == GTIN);
    Ok(InvoiceLine {
        id: at.word(CBC, "ID").unwrap_or_default(),
        quantity: quantity.decimal()?,
        unit: quantity.attribute("unitCode").unwrap_or_default(),
        price: price
            .map(|price| price.only(CBC, "PriceAmount"))
            .transpose()?
            .flatten()
            .map(|at| {
                amount_currency(at, currency)?;
                at.price()
            })
            .transpose()?,
        base_quantity: base.map(Element::decimal).transpose()?.unwrap_or(Decimal::ONE),
        base_unit: base.and_then(|base| base.attribute("unitCode")),
        net: amount(net, currency)?,
        gross_price: in_price("BaseAmount")?.map(Element::price).transpose()?,
        price_discount: in_price("Amount")?.map(Element::price).transpose()?,
        charges: charges(at, currency)?,
        name: item.word(CBC, "Name").unwrap_or_default(),
        description: item.word(CBC, "Description"),
        seller_code: code("SellersItemIdentification").and_then(Element::text),
        buyer_code: code("BuyersItemIdentification").and_then(Element::text),
        gtin: standard.filter(is_gtin).and_then(Element::text),
        order_line: at.first(CAC, "OrderLineReference").and_then(|order| order.word(CBC, "LineID")),
        tax_category: tax.and_then(|tax| tax.word(CBC, "ID")),
        tax_rate: tax.map(|tax| tax.number(CBC, "Percent")).transpose()?.flatten(),
    })
}

fn amount_currency(at: Element<'_>, currency: &str) -> Result<(), Refusal> {
    match at.attribute("currencyID").filter(|other| !other.eq_ignore_ascii_case(currency)) {
        Some(other) => Err(at.refused(say!(
            "a price is in {other} in an invoice in {currency}",
            other = shown(&other),
            currency = shown(currency)
        ))),
        None => Ok(()),
    }
}

/// Lines within a line, an extension of some countries: their sum is in the line that holds them.
fn sub_lines(at: Element<'_>, out: &mut Vec<LeftOut>) {
    for sub in at.all(CAC, "SubInvoiceLine").chain(at.all(CAC, "SubCreditNoteLine")) {
        out.push(LeftOut {
            id: sub.word(CBC, "ID").unwrap_or_default(),
            name: sub.first(CAC, "Item").and_then(|item| item.word(CBC, "Name")).unwrap_or_default(),
            why: word!("a part of the line before it").to_owned(),
        });
    }
}

/// The tax totals in the document's currency; there may be a second one in that of the books.
fn tax_totals<'a>(root: Element<'a>, currency: &str) -> impl Iterator<Item = Element<'a>> {
    let ours = move |total: &Element<'_>| {
        let of = total.first(CBC, "TaxAmount").and_then(|amount| amount.attribute("currencyID"));
        of.is_none_or(|of| of.eq_ignore_ascii_case(currency))
    };
    root.all(CAC, "TaxTotal").filter(ours)
}

fn taxes(root: Element<'_>, currency: &str) -> Result<Vec<TaxTotal>, Refusal> {
    let subtotals = tax_totals(root, currency).flat_map(|total| total.all(CAC, "TaxSubtotal").collect::<Vec<_>>());
    let tax = |at: Element<'_>| {
        let category = at.first(CAC, "TaxCategory");
        Ok(TaxTotal {
            category: category.and_then(|category| category.word(CBC, "ID")),
            rate: category.map(|category| category.number(CBC, "Percent")).transpose()?.flatten(),
            taxable: amount(at.must(CBC, "TaxableAmount", word!("what is taxed"))?, currency)?,
            tax: amount(at.must(CBC, "TaxAmount", word!("the tax of a rate"))?, currency)?,
        })
    };
    subtotals.map(tax).collect()
}

fn totals(root: Element<'_>, currency: &str) -> Result<Totals, Refusal> {
    let tax = tax_totals(root, currency).find_map(|total| total.first(CBC, "TaxAmount"));
    let tax = tax.map(|at| amount(at, currency)).transpose()?;
    let Some(at) = root.only(CAC, "LegalMonetaryTotal")? else { return Ok(Totals { tax, ..Totals::default() }) };
    let sum = |name: &'static str| money(at, name, currency);
    Ok(Totals {
        lines: sum("LineExtensionAmount")?,
        allowances: sum("AllowanceTotalAmount")?,
        charges: sum("ChargeTotalAmount")?,
        tax_exclusive: sum("TaxExclusiveAmount")?,
        tax,
        tax_inclusive: sum("TaxInclusiveAmount")?,
        prepaid: sum("PrepaidAmount")?,
        rounding: sum("PayableRoundingAmount")?,
        payable: sum("PayableAmount")?,
    })
}
