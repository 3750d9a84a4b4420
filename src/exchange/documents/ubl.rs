//! An order as other programs read it: UBL 2.1 Order (ISO/IEC 19845), in the use that Peppol BIS Ordering 3 makes of it
//! (transaction T01).
//!
//! What is decided here:
//! - A line orders packs at the price of a pack, so that amount × price is the line to the coin. A pack of one is `C62`
//!   (one): whether that one is a bottle, a can or a keg is not on file. A pack of more is `XCS` (case), and how many
//!   are in it stands in the name and, for programs, as the property `PackSize`; no unit code of UN/ECE Rec 20 and 21
//!   says it.
//! - A side without an electronic address has no `EndpointID`. The file is right UBL then, and goes by e-mail; the Peppol
//!   network would not carry it. An address is never made up from a location number.
//! - An address has a country only where one is on file; Peppol asks for it wherever there is an address.
//! - A side has one `PartyIdentification`: for the buyer the customer number, which is what the seller looks up, else the
//!   location number.
//! - The seller's tax number is left out: an order says nothing about tax.

use crate::domain::measure::Money;
use crate::domain::order::{DocumentLine, OrderDocument, Side};
use crate::domain::venue::{EAddress, Party};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use std::io;

type Xml = Writer<Vec<u8>>;

const ORDER: &str = "urn:oasis:names:specification:ubl:schema:xsd:Order-2";
const AGGREGATE: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2";
const BASIC: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2";
/// Transaction T01 of Peppol BIS Ordering 3.
const CUSTOMIZATION: &str = "urn:fdc:peppol.eu:poacc:trns:order:3";
/// An order to which no electronic answer is expected.
const PROFILE: &str = "urn:fdc:peppol.eu:poacc:bis:order_only:3";
/// UN/EDIFACT 1001: purchase order.
const PURCHASE_ORDER: &str = "220";
/// ISO/IEC 6523: Global Trade Item Number.
const GTIN: &str = "0160";
/// UN/ECE Rec 20: one.
const ONE: &str = "C62";
/// UN/ECE Rec 21: case.
const CASE: &str = "XCS";

/// The order as an XML document in UTF-8. The elements stand in the order of the schema.
///
/// # Errors
/// What the writer says; writing into memory does not fail.
pub fn order_ubl(order: &OrderDocument) -> io::Result<Vec<u8>> {
    let mut xml = Writer::new_with_indent(Vec::new(), b' ', 2);
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    xml.create_element("Order")
        .with_attributes([("xmlns", ORDER), ("xmlns:cac", AGGREGATE), ("xmlns:cbc", BASIC)])
        .write_inner_content(|xml| content(xml, order))?;
    let mut bytes = xml.into_inner();
    bytes.push(b'\n');
    Ok(bytes)
}

/// Noncharacters, which XML 1.0 does not allow, become what stands for a character that cannot be shown.
fn allowed(text: &str) -> String {
    text.chars().map(|c| if matches!(c, '\u{FFFE}' | '\u{FFFF}') { '\u{FFFD}' } else { c }).collect()
}

fn text(xml: &mut Xml, name: &str, value: &str) -> io::Result<()> {
    xml.create_element(name).write_text_content(BytesText::new(&allowed(value))).map(|_| ())
}

fn maybe(xml: &mut Xml, name: &str, value: Option<&str>) -> io::Result<()> {
    value.map_or(Ok(()), |value| text(xml, name, value))
}

fn with(xml: &mut Xml, name: &str, (attribute, says): (&str, &str), value: &str) -> io::Result<()> {
    let element = xml.create_element(name).with_attribute((attribute, says));
    element.write_text_content(BytesText::new(&allowed(value))).map(|_| ())
}

fn within(xml: &mut Xml, name: &str, inner: impl FnOnce(&mut Xml) -> io::Result<()>) -> io::Result<()> {
    xml.create_element(name).write_inner_content(inner).map(|_| ())
}

fn content(xml: &mut Xml, order: &OrderDocument) -> io::Result<()> {
    text(xml, "cbc:CustomizationID", CUSTOMIZATION)?;
    text(xml, "cbc:ProfileID", PROFILE)?;
    text(xml, "cbc:ID", &order.name)?;
    text(xml, "cbc:IssueDate", &order.date.to_string())?;
    text(xml, "cbc:OrderTypeCode", PURCHASE_ORDER)?;
    maybe(xml, "cbc:Note", note(order).as_deref())?;
    text(xml, "cbc:DocumentCurrencyCode", order.currency.code())?;
    within(xml, "cac:BuyerCustomerParty", |xml| within(xml, "cac:Party", |xml| buyer(xml, order)))?;
    within(xml, "cac:SellerSupplierParty", |xml| within(xml, "cac:Party", |xml| seller(xml, &order.seller)))?;
    if let Some(wanted) = order.wanted {
        within(xml, "cac:Delivery", |xml| {
            within(xml, "cac:RequestedDeliveryPeriod", |xml| {
                text(xml, "cbc:StartDate", &wanted.to_string())?;
                text(xml, "cbc:EndDate", &wanted.to_string())
            })
        })?;
    }
    if order.fee != Money::ZERO {
        within(xml, "cac:AllowanceCharge", |xml| {
            text(xml, "cbc:ChargeIndicator", "true")?;
            text(xml, "cbc:AllowanceChargeReason", "Delivery")?;
            money(xml, "cbc:Amount", order, order.fee)
        })?;
    }
    within(xml, "cac:AnticipatedMonetaryTotal", |xml| {
        money(xml, "cbc:LineExtensionAmount", order, order.goods)?;
        if order.fee != Money::ZERO {
            money(xml, "cbc:ChargeTotalAmount", order, order.fee)?;
        }
        money(xml, "cbc:PayableAmount", order, order.total())
    })?;
    for (line, number) in order.lines.iter().zip(1_usize..) {
        within(xml, "cac:OrderLine", |xml| within(xml, "cac:LineItem", |xml| line_item(xml, order, line, number)))?;
    }
    Ok(())
}

/// The one note that an order has: what the bar says, and where to deliver.
fn note(order: &OrderDocument) -> Option<String> {
    let deliver_to = order.deliver_to.as_ref().map(|place| format!("Deliver to: {place}"));
    let parts: Vec<String> = [order.note.clone(), deliver_to].into_iter().flatten().collect();
    (!parts.is_empty()).then(|| parts.join(" / "))
}

fn money(xml: &mut Xml, name: &str, order: &OrderDocument, amount: Money) -> io::Result<()> {
    with(xml, name, ("currencyID", order.currency.code()), &order.money(amount))
}

fn buyer(xml: &mut Xml, order: &OrderDocument) -> io::Result<()> {
    let Side { name, party } = &order.buyer;
    endpoint(xml, party)?;
    identification(xml, order.customer_no.as_deref(), party)?;
    address(xml, party)?;
    if let Some(vat_id) = &party.vat_id {
        within(xml, "cac:PartyTaxScheme", |xml| {
            text(xml, "cbc:CompanyID", &vat_id.key())?;
            within(xml, "cac:TaxScheme", |xml| text(xml, "cbc:ID", "VAT"))
        })?;
    }
    legal(xml, name)?;
    let contact = &order.contact;
    if contact.is_empty() {
        return Ok(());
    }
    within(xml, "cac:Contact", |xml| {
        maybe(xml, "cbc:Name", contact.name.as_deref())?;
        maybe(xml, "cbc:Telephone", contact.phone.as_ref().map(ToString::to_string).as_deref())?;
        maybe(xml, "cbc:ElectronicMail", contact.email.as_deref())
    })
}

fn seller(xml: &mut Xml, Side { name, party }: &Side) -> io::Result<()> {
    endpoint(xml, party)?;
    identification(xml, None, party)?;
    address(xml, party)?;
    legal(xml, name)
}

fn endpoint(xml: &mut Xml, party: &Party) -> io::Result<()> {
    let Some(address) = &party.e_address else { return Ok(()) };
    with(xml, "cbc:EndpointID", ("schemeID", address.scheme()), address.value())
}

fn identification(xml: &mut Xml, known_as: Option<&str>, party: &Party) -> io::Result<()> {
    match (known_as, &party.gln) {
        (Some(number), _) => within(xml, "cac:PartyIdentification", |xml| text(xml, "cbc:ID", number)),
        (None, Some(gln)) => within(xml, "cac:PartyIdentification", |xml| {
            with(xml, "cbc:ID", ("schemeID", EAddress::GLN), &gln.to_string())
        }),
        (None, None) => Ok(()),
    }
}

/// Which line of an address is the town is not on file, so the lines go into elements that take any.
fn address(xml: &mut Xml, party: &Party) -> io::Result<()> {
    if party.address.is_empty() && party.country.is_none() {
        return Ok(());
    }
    within(xml, "cac:PostalAddress", |xml| {
        let mut lines = party.address.iter().map(String::as_str);
        maybe(xml, "cbc:StreetName", lines.next())?;
        maybe(xml, "cbc:AdditionalStreetName", lines.next())?;
        let rest: Vec<&str> = lines.collect();
        if !rest.is_empty() {
            within(xml, "cac:AddressLine", |xml| text(xml, "cbc:Line", &rest.join(", ")))?;
        }
        match party.country {
            Some(country) => within(xml, "cac:Country", |xml| text(xml, "cbc:IdentificationCode", &country.code())),
            None => Ok(()),
        }
    })
}

fn legal(xml: &mut Xml, name: &str) -> io::Result<()> {
    within(xml, "cac:PartyLegalEntity", |xml| text(xml, "cbc:RegistrationName", name))
}

fn line_item(xml: &mut Xml, order: &OrderDocument, line: &DocumentLine, number: usize) -> io::Result<()> {
    let single = line.pack == 1;
    text(xml, "cbc:ID", &number.to_string())?;
    with(xml, "cbc:Quantity", ("unitCode", if single { ONE } else { CASE }), &line.packs.to_string())?;
    money(xml, "cbc:LineExtensionAmount", order, line.total())?;
    within(xml, "cac:Price", |xml| money(xml, "cbc:PriceAmount", order, line.price))?;
    within(xml, "cac:Item", |xml| {
        let name = line.full_name();
        text(xml, "cbc:Name", &if single { name } else { format!("{name}, {}", line.pack_words()) })?;
        if let Some(code) = &line.code {
            within(xml, "cac:SellersItemIdentification", |xml| text(xml, "cbc:ID", code))?;
        }
        if let Some(gtin) = &line.gtin {
            within(xml, "cac:StandardItemIdentification", |xml| {
                with(xml, "cbc:ID", ("schemeID", GTIN), &gtin.to_string())
            })?;
        }
        if single {
            return Ok(());
        }
        within(xml, "cac:AdditionalItemProperty", |xml| {
            text(xml, "cbc:Name", "PackSize")?;
            text(xml, "cbc:Value", &line.pack.to_string())
        })
    })
}
