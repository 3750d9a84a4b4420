//! UN/CEFACT Cross Industry Invoice D16B and D22B, as EN 16931 uses it (syntax binding CEN/TS 16931-3-3) and as Factur-X
//! and ZUGFeRD 2 extend it.

use super::xml::{Element, Refusal, Space, shown};
use crate::domain::measure::Decimal;
use crate::domain::receive::{Charge, DocumentKind, Invoice, InvoiceLine, LeftOut, Party, PartyId, TaxTotal, Totals};
use chrono::NaiveDate;

pub(super) const INVOICE: &str = "urn:un:unece:uncefact:data:standard:CrossIndustryInvoice:100";
const RSM: Space = INVOICE;
const RAM: Space = "urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100";
const UDT: Space = "urn:un:unece:uncefact:data:standard:UnqualifiedDataType:100";
const QDT: Space = "urn:un:unece:uncefact:data:standard:QualifiedDataType:100";
/// Scheme of GS1's trade item numbers (ISO 6523).
const GTIN: &str = "0160";

/// What is said of an invoice without lines: two profiles of Factur-X never have any.
pub(super) fn no_lines(profile: &str) -> String {
    let named = match profile.rsplit(':').next() {
        Some("minimum") => word!("has the profile MINIMUM, which carries no lines, only sums"),
        Some("basicwl") => word!("has the profile BASIC WL, which carries no lines, only sums"),
        _ => word!("carries no lines, only sums"),
    };
    say!(
        "{named}: no delivery can be booked from it; ask for one with lines (profile BASIC, EN 16931 or higher)",
        named
    )
}

pub(super) fn read(root: Element<'_>) -> Result<Invoice, Refusal> {
    let profile = profile(root);
    let document = root.must(RSM, "ExchangedDocument", word!("the invoice's head"))?;
    let trade = root.must(RSM, "SupplyChainTradeTransaction", word!("the invoice's content"))?;
    let number_at = document.must(RAM, "ID", word!("the invoice's number"))?;
    let number = number_at.text().ok_or_else(|| number_at.refused(word!("the invoice's number is empty")))?;
    let issued = day(document.must(RAM, "IssueDateTime", word!("the invoice's date"))?)?;
    let type_code = document.must(RAM, "TypeCode", word!("the invoice's type"))?.text().unwrap_or_default();
    let settlement = trade.must(RAM, "ApplicableHeaderTradeSettlement", word!("the invoice's sums"))?;
    let agreement = trade.must(RAM, "ApplicableHeaderTradeAgreement", word!("the seller"))?;
    let delivery = trade.only(RAM, "ApplicableHeaderTradeDelivery")?;
    let currency_at = settlement.must(RAM, "InvoiceCurrencyCode", word!("the currency"))?;
    let currency = currency_at.text().ok_or_else(|| currency_at.refused(word!("the currency is empty")))?;
    let mut lines = Vec::new();
    let mut left_out = Vec::new();
    for at in trade.all(RAM, "IncludedSupplyChainTradeLineItem") {
        match no_position(at) {
            Some(left) => left_out.push(left),
            None => lines.push(line(at, &currency)?),
        }
    }
    if lines.is_empty() {
        return Err(root.refused(no_lines(&profile)));
    }
    let terms = settlement.all(RAM, "SpecifiedTradePaymentTerms");
    let due = terms.filter_map(|terms| terms.first(RAM, "DueDateDateTime")).next();
    let delivered = delivery.and_then(|d| d.at(RAM, &["ActualDeliverySupplyChainEvent", "OccurrenceDateTime"]));
    let referenced = |of: Option<Element<'_>>, name: &'static str| of?.first(RAM, name)?.word(RAM, "IssuerAssignedID");
    let preceding = settlement.all(RAM, "InvoiceReferencedDocument").filter_map(|d| d.word(RAM, "IssuerAssignedID"));
    Ok(Invoice {
        kind: DocumentKind::of_code(&type_code),
        type_code,
        number,
        issued,
        due: due.map(day).transpose()?,
        order_ref: referenced(Some(agreement), "BuyerOrderReferencedDocument"),
        despatch_ref: referenced(delivery, "DespatchAdviceReferencedDocument"),
        delivered: delivered.map(day).transpose()?,
        preceding: preceding.collect(),
        seller: seller(agreement)?,
        buyer: agreement.first(RAM, "BuyerTradeParty").map(party).unwrap_or_default(),
        lines,
        left_out,
        charges: header_charges(settlement, &currency)?,
        taxes: taxes(settlement, &currency)?,
        totals: totals(settlement, &currency)?,
        profile,
        currency,
    })
}

fn profile(root: Element<'_>) -> String {
    let context = root.first(RSM, "ExchangedDocumentContext");
    let guideline = context.and_then(|c| c.first(RAM, "GuidelineSpecifiedDocumentContextParameter"));
    guideline.and_then(|guideline| guideline.word(RAM, "ID")).unwrap_or_default()
}

fn day(at: Element<'_>) -> Result<NaiveDate, Refusal> {
    let text = at.first(UDT, "DateTimeString").or(at.first(QDT, "DateTimeString"));
    text.ok_or_else(|| at.refused(say!("{shown} holds no date; expected DateTimeString", shown = shown(at.name()))))?
        .date_102()
}

/// A line that only sums others up or remarks on them; only the profile EXTENDED has such.
fn no_position(at: Element<'_>) -> Option<LeftOut> {
    let document = at.first(RAM, "AssociatedDocumentLineDocument")?;
    let why = document.word(RAM, "LineStatusReasonCode").filter(|code| code != "DETAIL")?;
    let name = at.first(RAM, "SpecifiedTradeProduct").and_then(|product| product.word(RAM, "Name"));
    Some(LeftOut { id: document.word(RAM, "LineID").unwrap_or_default(), name: name.unwrap_or_default(), why })
}

fn seller(agreement: Element<'_>) -> Result<Party, Refusal> {
    let at = agreement.must(RAM, "SellerTradeParty", word!("the seller"))?;
    let party = party(at);
    if party.name.is_empty() {
        return Err(
            at.refused(word!("the seller has no name: expected Name in SellerTradeParty; ask for the invoice anew"))
        );
    }
    Ok(party)
}

fn id(at: Element<'_>) -> Option<PartyId> {
    Some(PartyId { scheme: at.attribute("schemeID"), id: at.text()? })
}

fn party(at: Element<'_>) -> Party {
    let registration = at.all(RAM, "SpecifiedTaxRegistration").filter_map(|tax| tax.first(RAM, "ID"));
    let is_vat = |id: &Element<'_>| id.attribute("schemeID").is_some_and(|scheme| scheme == "VA");
    let endpoint = at.at(RAM, &["URIUniversalCommunication", "URIID"]);
    let trading = at.all(RAM, "SpecifiedLegalOrganization").find_map(|legal| legal.word(RAM, "TradingBusinessName"));
    Party {
        name: at.word(RAM, "Name").or(trading.clone()).unwrap_or_default(),
        trading_name: trading,
        vat_id: registration.filter(is_vat).find_map(Element::text),
        ids: at.all(RAM, "ID").chain(at.all(RAM, "GlobalID")).filter_map(id).collect(),
        endpoint: endpoint.and_then(id),
    }
}

/// Currencies are seldom written on single amounts here; where one is, it must be the document's.
fn in_currency<'a>(at: Element<'a>, currency: &str) -> Result<Element<'a>, Refusal> {
    match at.attribute("currencyID").filter(|other| !other.eq_ignore_ascii_case(currency)) {
        Some(other) => Err(at.refused(say!(
            "{shown} is in {other} in an invoice in {currency}",
            shown = shown(at.name()),
            other = shown(&other),
            currency = shown(currency)
        ))),
        None => Ok(at),
    }
}

fn amount(at: Element<'_>, currency: &str) -> Result<Decimal, Refusal> {
    in_currency(at, currency)?.decimal()
}

fn money(at: Element<'_>, name: &'static str, currency: &str) -> Result<Option<Decimal>, Refusal> {
    at.only(RAM, name)?.map(|found| amount(found, currency)).transpose()
}

fn charge(at: Element<'_>, currency: &str) -> Result<Charge, Refusal> {
    let indicator = at.must(RAM, "ChargeIndicator", word!("whether it is a charge or an allowance"))?;
    let category = at.first(RAM, "CategoryTradeTax");
    Ok(Charge {
        charge: indicator.must(UDT, "Indicator", word!("whether it is a charge or an allowance"))?.truth()?,
        amount: amount(at.must(RAM, "ActualAmount", word!("the amount of a charge or allowance"))?, currency)?,
        reason: at.word(RAM, "Reason"),
        reason_code: at.word(RAM, "ReasonCode"),
        percent: at.number(RAM, "CalculationPercent")?,
        base: money(at, "BasisAmount", currency)?,
        tax_category: category.and_then(|category| category.word(RAM, "CategoryCode")),
        tax_rate: category.map(|category| category.number(RAM, "RateApplicablePercent")).transpose()?.flatten(),
    })
}

fn charges(at: Element<'_>, currency: &str) -> Result<Vec<Charge>, Refusal> {
    at.all(RAM, "SpecifiedTradeAllowanceCharge").map(|at| charge(at, currency)).collect()
}

/// Charges and allowances of the whole, and the freight that the profile EXTENDED has an element of its own for.
fn header_charges(settlement: Element<'_>, currency: &str) -> Result<Vec<Charge>, Refusal> {
    let mut out = charges(settlement, currency)?;
    for at in settlement.all(RAM, "SpecifiedLogisticsServiceCharge") {
        let tax = at.first(RAM, "AppliedTradeTax");
        out.push(Charge {
            charge: true,
            amount: amount(at.must(RAM, "AppliedAmount", word!("the amount of a freight charge"))?, currency)?,
            reason: at.word(RAM, "Description"),
            reason_code: None,
            percent: None,
            base: None,
            tax_category: tax.and_then(|tax| tax.word(RAM, "CategoryCode")),
            tax_rate: tax.map(|tax| tax.number(RAM, "RateApplicablePercent")).transpose()?.flatten(),
        });
    }
    Ok(out)
}

/// How many units a price is for.
fn basis(price: Option<Element<'_>>) -> Result<Option<Element<'_>>, Refusal> {
    price.map_or(Ok(None), |price| price.only(RAM, "BasisQuantity"))
}

fn line(at: Element<'_>, currency: &str) -> Result<InvoiceLine, Refusal> {
    let document = at.first(RAM, "AssociatedDocumentLineDocument");
    let product = at.must(RAM, "SpecifiedTradeProduct", word!("the item of a line"))?;
    let delivery = at.must(RAM, "SpecifiedLineTradeDelivery", word!("the quantity of a line"))?;
    let quantity = delivery.must(RAM, "BilledQuantity", word!("the quantity of a line"))?;
    let settlement = at.must(RAM, "SpecifiedLineTradeSettlement", word!("the net of a line"))?;
    let sums = settlement.must(RAM, "SpecifiedTradeSettlementLineMonetarySummation", word!("the net of a line"))?;
    let agreement = at.only(RAM, "SpecifiedLineTradeAgreement")?;
    let net_price = agreement.and_then(|a| a.first(RAM, "NetPriceProductTradePrice"));
    let gross_price = agreement.and_then(|a| a.first(RAM, "GrossPriceProductTradePrice"));
    let base = match basis(net_price)? {
        Some(base) => Some(base),
        None => basis(gross_price)?,
    };
    let price = |at: Option<Element<'_>>| -> Result<Option<Decimal>, Refusal> {
        let Some(at) = at.map(|at| at.only(RAM, "ChargeAmount")).transpose()?.flatten() else { return Ok(None) };
        in_currency(at, currency)?.price().map(Some)
    };
    let discount = gross_price.and_then(|price| price.at(RAM, &["AppliedTradeAllowanceCharge", "ActualAmount"]));
    let tax = settlement.first(RAM, "ApplicableTradeTax");
    let is_gtin = |id: &Element<'_>| id.attribute("schemeID").is_none_or(|scheme| scheme == GTIN);
    let order = agreement.and_then(|a| a.first(RAM, "BuyerOrderReferencedDocument"));
    Ok(InvoiceLine {
        id: document.and_then(|document| document.word(RAM, "LineID")).unwrap_or_default(),
        quantity: quantity.decimal()?,
        unit: quantity.attribute("unitCode").unwrap_or_default(),
        price: price(net_price)?,
        base_quantity: base.map(Element::decimal).transpose()?.unwrap_or(Decimal::ONE),
        base_unit: base.and_then(|base| base.attribute("unitCode")),
        net: amount(sums.must(RAM, "LineTotalAmount", word!("the net of a line"))?, currency)?,
        gross_price: price(gross_price)?,
        price_discount: discount.map(Element::price).transpose()?,
        charges: charges(settlement, currency)?,
        name: product.word(RAM, "Name").unwrap_or_default(),
        description: product.word(RAM, "Description"),
        seller_code: product.word(RAM, "SellerAssignedID"),
        buyer_code: product.word(RAM, "BuyerAssignedID"),
        gtin: product.all(RAM, "GlobalID").find(is_gtin).and_then(Element::text),
        order_line: order.and_then(|order| order.word(RAM, "LineID")),
        tax_category: tax.and_then(|tax| tax.word(RAM, "CategoryCode")),
        tax_rate: tax.map(|tax| tax.number(RAM, "RateApplicablePercent")).transpose()?.flatten(),
    })
}

fn taxes(settlement: Element<'_>, currency: &str) -> Result<Vec<TaxTotal>, Refusal> {
    let tax = |at: Element<'_>| {
        Ok(TaxTotal {
            category: at.word(RAM, "CategoryCode"),
            rate: at.number(RAM, "RateApplicablePercent")?,
            taxable: amount(at.must(RAM, "BasisAmount", word!("what is taxed"))?, currency)?,
            tax: amount(at.must(RAM, "CalculatedAmount", word!("the tax of a rate"))?, currency)?,
        })
    };
    settlement.all(RAM, "ApplicableTradeTax").map(tax).collect()
}

fn totals(settlement: Element<'_>, currency: &str) -> Result<Totals, Refusal> {
    let Some(at) = settlement.only(RAM, "SpecifiedTradeSettlementHeaderMonetarySummation")? else {
        return Ok(Totals::default());
    };
    let sum = |name: &'static str| money(at, name, currency);
    // There may be a second one in the currency of the books.
    let ours = |tax: &Element<'_>| tax.attribute("currencyID").is_none_or(|of| of.eq_ignore_ascii_case(currency));
    Ok(Totals {
        lines: sum("LineTotalAmount")?,
        allowances: sum("AllowanceTotalAmount")?,
        charges: sum("ChargeTotalAmount")?,
        tax_exclusive: sum("TaxBasisTotalAmount")?,
        tax: at.all(RAM, "TaxTotalAmount").find(ours).map(Element::decimal).transpose()?,
        tax_inclusive: sum("GrandTotalAmount")?,
        prepaid: sum("TotalPrepaidAmount")?,
        rounding: sum("RoundingAmount")?,
        payable: sum("DuePayableAmount")?,
    })
}
