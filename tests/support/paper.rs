//! Bills as a supplier's program writes them, in either syntax of EN 16931: just what a delivery is booked from.

#![allow(dead_code)]

use std::fmt::Write;

/// A line of a bill; amounts in cents of its coin.
#[derive(Clone)]
pub(crate) struct PaperLine {
    pub(crate) name: &'static str,
    pub(crate) code: &'static str,
    pub(crate) quantity: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) price: &'static str,
    /// With the deposit in it.
    pub(crate) net: i64,
    /// Charged within the line.
    pub(crate) deposit: i64,
}

/// A bill.
#[derive(Clone)]
pub(crate) struct Paper {
    pub(crate) number: &'static str,
    pub(crate) credit: bool,
    pub(crate) issued: &'static str,
    pub(crate) delivered: &'static str,
    pub(crate) currency: &'static str,
    pub(crate) order: &'static str,
    pub(crate) despatch: &'static str,
    pub(crate) preceding: &'static str,
    pub(crate) seller: &'static str,
    pub(crate) vat: &'static str,
    pub(crate) freight: i64,
    pub(crate) lines: Vec<PaperLine>,
}

pub(crate) fn line(
    name: &'static str,
    code: &'static str,
    quantity: (&'static str, &'static str),
    price: &'static str,
    net: i64,
) -> PaperLine {
    PaperLine { name, code, quantity: quantity.0, unit: quantity.1, price, net, deposit: 0 }
}

/// Whole coins and cents.
fn money(cents: i64) -> String {
    format!("{}{}.{:02}", if cents < 0 { "-" } else { "" }, cents.abs() / 100, cents.abs() % 100)
}

/// An element, unless there is nothing to say in it.
fn said(before: &str, text: &str, after: &str) -> String {
    if text.is_empty() { String::new() } else { format!("{before}{text}{after}") }
}

impl Paper {
    /// A bill of Quendelbach's for the order B-11, dated a day after its goods came.
    pub(crate) fn of(number: &'static str, lines: Vec<PaperLine>) -> Paper {
        Paper {
            number,
            credit: false,
            issued: "2026-11-19",
            delivered: "2026-11-18",
            currency: "EUR",
            order: "B-11",
            despatch: "",
            preceding: "",
            seller: "Quendelbach",
            vat: "DE 123456788",
            freight: 0,
            lines,
        }
    }

    fn sums(&self) -> [i64; 5] {
        let lines: i64 = self.lines.iter().map(|line| line.net).sum();
        let exclusive = lines + self.freight;
        let tax = (exclusive * 19 + exclusive.signum() * 50) / 100;
        [lines, self.freight, exclusive, tax, exclusive + tax]
    }

    /// UBL 2.1 (syntax binding CEN/TS 16931-3-2).
    pub(crate) fn ubl(&self) -> String {
        let (root, line_name, quantity_name) = match self.credit {
            true => ("CreditNote", "CreditNoteLine", "CreditedQuantity"),
            false => ("Invoice", "InvoiceLine", "InvoicedQuantity"),
        };
        let coin = self.currency;
        let amount =
            |name: &str, cents: i64| format!("<cbc:{name} currencyID=\"{coin}\">{}</cbc:{name}>", money(cents));
        let charge = |why: &str, cents: i64| match cents {
            0 => String::new(),
            cents => format!(
                "<cac:AllowanceCharge><cbc:ChargeIndicator>{}</cbc:ChargeIndicator><cbc:AllowanceChargeReason>{why}\
                 </cbc:AllowanceChargeReason>{}</cac:AllowanceCharge>",
                cents > 0,
                amount("Amount", cents.abs())
            ),
        };
        let mut out = format!(
            "<{root} xmlns=\"urn:oasis:names:specification:ubl:schema:xsd:{root}-2\" \
             xmlns:cac=\"urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2\" \
             xmlns:cbc=\"urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2\">\
             <cbc:CustomizationID>urn:cen.eu:en16931:2017</cbc:CustomizationID><cbc:ID>{}</cbc:ID>\
             <cbc:IssueDate>{}</cbc:IssueDate><cbc:{root}TypeCode>{}</cbc:{root}TypeCode>\
             <cbc:DocumentCurrencyCode>{coin}</cbc:DocumentCurrencyCode>",
            self.number,
            self.issued,
            if self.credit { 381 } else { 380 }
        );
        out += &said("<cac:OrderReference><cbc:ID>", self.order, "</cbc:ID></cac:OrderReference>");
        out += &said(
            "<cac:BillingReference><cac:InvoiceDocumentReference><cbc:ID>",
            self.preceding,
            "</cbc:ID></cac:InvoiceDocumentReference></cac:BillingReference>",
        );
        out += &said(
            "<cac:DespatchDocumentReference><cbc:ID>",
            self.despatch,
            "</cbc:ID></cac:DespatchDocumentReference>",
        );
        let vat = said(
            "<cac:PartyTaxScheme><cbc:CompanyID>",
            self.vat,
            "</cbc:CompanyID><cac:TaxScheme><cbc:ID>VAT</cbc:ID></cac:TaxScheme></cac:PartyTaxScheme>",
        );
        let _ = write!(
            out,
            "<cac:AccountingSupplierParty><cac:Party>{vat}<cac:PartyLegalEntity><cbc:RegistrationName>{}\
             </cbc:RegistrationName></cac:PartyLegalEntity></cac:Party></cac:AccountingSupplierParty>",
            self.seller
        );
        out +=
            &said("<cac:Delivery><cbc:ActualDeliveryDate>", self.delivered, "</cbc:ActualDeliveryDate></cac:Delivery>");
        out += &charge("Anlieferung", self.freight);
        let [lines, _, exclusive, tax, inclusive] = self.sums();
        let _ = write!(
            out,
            "<cac:TaxTotal>{}</cac:TaxTotal><cac:LegalMonetaryTotal>{}{}{}{}</cac:LegalMonetaryTotal>",
            amount("TaxAmount", tax),
            amount("LineExtensionAmount", lines),
            amount("TaxExclusiveAmount", exclusive),
            amount("TaxInclusiveAmount", inclusive),
            amount("PayableAmount", inclusive)
        );
        for (n, line) in self.lines.iter().enumerate() {
            let _ = write!(
                out,
                "<cac:{line_name}><cbc:ID>{}</cbc:ID><cbc:{quantity_name} unitCode=\"{}\">{}</cbc:{quantity_name}>{}{}\
                 <cac:Item>{}{}</cac:Item><cac:Price><cbc:PriceAmount currencyID=\"{coin}\">{}</cbc:PriceAmount>\
                 </cac:Price></cac:{line_name}>",
                n + 1,
                line.unit,
                line.quantity,
                amount("LineExtensionAmount", line.net),
                charge("Pfand", line.deposit),
                said("<cbc:Name>", line.name, "</cbc:Name>"),
                said("<cac:SellersItemIdentification><cbc:ID>", line.code, "</cbc:ID></cac:SellersItemIdentification>"),
                line.price
            );
        }
        out + &format!("</{root}>")
    }

    /// UN/CEFACT CII D16B (syntax binding CEN/TS 16931-3-3).
    pub(crate) fn cii(&self) -> String {
        let charge = |why: &str, cents: i64| match cents {
            0 => String::new(),
            cents => format!(
                "<ram:SpecifiedTradeAllowanceCharge><ram:ChargeIndicator><udt:Indicator>{}</udt:Indicator>\
                 </ram:ChargeIndicator><ram:ActualAmount>{}</ram:ActualAmount><ram:Reason>{why}</ram:Reason>\
                 </ram:SpecifiedTradeAllowanceCharge>",
                cents > 0,
                money(cents.abs())
            ),
        };
        let day = |text: &str| {
            let plain = text.replace('-', "");
            said("<udt:DateTimeString format=\"102\">", &plain, "</udt:DateTimeString>")
        };
        let mut out = format!(
            "<rsm:CrossIndustryInvoice xmlns:rsm=\"urn:un:unece:uncefact:data:standard:CrossIndustryInvoice:100\" \
             xmlns:ram=\"urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100\" \
             xmlns:udt=\"urn:un:unece:uncefact:data:standard:UnqualifiedDataType:100\"><rsm:ExchangedDocument>\
             <ram:ID>{}</ram:ID><ram:TypeCode>{}</ram:TypeCode><ram:IssueDateTime>{}</ram:IssueDateTime>\
             </rsm:ExchangedDocument><rsm:SupplyChainTradeTransaction>",
            self.number,
            if self.credit { 381 } else { 380 },
            day(self.issued)
        );
        for (n, line) in self.lines.iter().enumerate() {
            let _ = write!(
                out,
                "<ram:IncludedSupplyChainTradeLineItem><ram:AssociatedDocumentLineDocument><ram:LineID>{}</ram:LineID>\
                 </ram:AssociatedDocumentLineDocument><ram:SpecifiedTradeProduct>{}{}</ram:SpecifiedTradeProduct>\
                 <ram:SpecifiedLineTradeAgreement><ram:NetPriceProductTradePrice><ram:ChargeAmount>{}</ram:ChargeAmount>\
                 </ram:NetPriceProductTradePrice></ram:SpecifiedLineTradeAgreement><ram:SpecifiedLineTradeDelivery>\
                 <ram:BilledQuantity unitCode=\"{}\">{}</ram:BilledQuantity></ram:SpecifiedLineTradeDelivery>\
                 <ram:SpecifiedLineTradeSettlement>{}<ram:SpecifiedTradeSettlementLineMonetarySummation>\
                 <ram:LineTotalAmount>{}</ram:LineTotalAmount></ram:SpecifiedTradeSettlementLineMonetarySummation>\
                 </ram:SpecifiedLineTradeSettlement></ram:IncludedSupplyChainTradeLineItem>",
                n + 1,
                said("<ram:SellerAssignedID>", line.code, "</ram:SellerAssignedID>"),
                said("<ram:Name>", line.name, "</ram:Name>"),
                line.price,
                line.unit,
                line.quantity,
                charge("Pfand", line.deposit),
                money(line.net)
            );
        }
        let vat = said(
            "<ram:SpecifiedTaxRegistration><ram:ID schemeID=\"VA\">",
            self.vat,
            "</ram:ID></ram:SpecifiedTaxRegistration>",
        );
        let order = said(
            "<ram:BuyerOrderReferencedDocument><ram:IssuerAssignedID>",
            self.order,
            "</ram:IssuerAssignedID></ram:BuyerOrderReferencedDocument>",
        );
        let [lines, freight, exclusive, tax, inclusive] = self.sums();
        let _ = write!(
            out,
            "<ram:ApplicableHeaderTradeAgreement><ram:SellerTradeParty><ram:Name>{}</ram:Name>{vat}\
             </ram:SellerTradeParty>{order}</ram:ApplicableHeaderTradeAgreement><ram:ApplicableHeaderTradeDelivery/>\
             <ram:ApplicableHeaderTradeSettlement><ram:InvoiceCurrencyCode>{}</ram:InvoiceCurrencyCode>{}\
             <ram:SpecifiedTradeSettlementHeaderMonetarySummation><ram:LineTotalAmount>{}</ram:LineTotalAmount>\
             <ram:ChargeTotalAmount>{}</ram:ChargeTotalAmount><ram:TaxBasisTotalAmount>{}</ram:TaxBasisTotalAmount>\
             <ram:TaxTotalAmount currencyID=\"{}\">{}</ram:TaxTotalAmount><ram:GrandTotalAmount>{}</ram:GrandTotalAmount>\
             <ram:DuePayableAmount>{}</ram:DuePayableAmount></ram:SpecifiedTradeSettlementHeaderMonetarySummation>\
             </ram:ApplicableHeaderTradeSettlement></rsm:SupplyChainTradeTransaction></rsm:CrossIndustryInvoice>",
            self.seller,
            self.currency,
            charge("Anlieferung", self.freight),
            money(lines),
            money(freight),
            money(exclusive),
            self.currency,
            money(tax),
            money(inclusive),
            money(inclusive)
        );
        out
    }
}
