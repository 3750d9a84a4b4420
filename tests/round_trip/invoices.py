"""Writes a bill with independent libraries (PyPI): eu-einvoice 1.0.0 as UBL and as CII, drafthorse 2025.2.0 as CII,
factur-x 7.8 puts a CII into a PDF, which it looks over by its schema first.

A bill is what `tests/e_invoices.rs` compares field by field: the fields of EN 16931, numbers as decimals in text.
"""

import datetime
import io
from decimal import Decimal as D

import facturx
from drafthorse.models.accounting import ApplicableTradeTax, CategoryTradeTax, TradeAllowanceCharge
from drafthorse.models.document import Document
from drafthorse.models.party import TaxRegistration
from drafthorse.models.payment import PaymentTerms
from drafthorse.models.tradelines import LineItem
from eu_einvoice import cii, model, profiles, ubl
from lxml import etree
from reportlab.pdfgen import canvas

# What is put on and taken off the whole is taxed at this rate.
RATE = "19"


def every_way(want: dict, embedded: str) -> dict[str, bytes]:
    """A bill in all forms, by the end of their file names; `embedded` is the one that the PDF has."""
    made = {
        "ubl.xml": by_eu_einvoice(want, "en16931-ubl", ubl),
        "cii.xml": by_eu_einvoice(want, "en16931-cii", cii),
        "drafthorse.xml": by_drafthorse(want),
    }
    return {**made, "hybrid.pdf": in_a_page(made[embedded], want["number"])}


def in_a_page(xml: bytes, number: str) -> bytes:
    page = io.BytesIO()
    drawn = canvas.Canvas(page)
    drawn.drawString(72, 720, f"Rechnung {number}")
    drawn.save()
    return facturx.generate_from_binary(page.getvalue(), xml, flavor="factur-x", level="en16931", check_xsd=True)


def by_eu_einvoice(want: dict, profile: str, writer) -> bytes:
    split = lambda charges, is_charge, **more: [
        {"amount": c["amount"], "reason": c["reason"], "reason_code": c["reason_code"], **more}
        for c in charges
        if c["charge"] == is_charge
    ]
    vat = {"vat_category": "S", "vat_rate": RATE}
    raw = {
        "type": want["document_type"],
        "number": want["number"],
        "issue_date": want["issue_date"],
        "due_date": want["due_date"],
        "currency": "EUR",
        "order_reference": want["order_reference"],
        "despatch_advice_reference": want["despatch_reference"],
        "preceding_invoices": [{"number": number} for number in want["preceding_invoices"]],
        "seller": {**want["seller"], "address": {"country": "DE"}},
        "buyer": {**want["buyer"], "address": {"country": "DE"}},
        "payment": {"terms": "14 Tage netto"},
        "allowances": split(want["document_allowances_charges"], False, **vat),
        "charges": split(want["document_allowances_charges"], True, **vat),
        "lines": [
            {
                "id": at["id"],
                "name": at["name"],
                "description": at["description"],
                "quantity": at["quantity"],
                "unit": at["unit_code"],
                "price": at["net_price"],
                "base_quantity": None if at["price_base_quantity"] == "1" else at["price_base_quantity"],
                "seller_item_id": at["seller_item_id"],
                "buyer_item_id": at["buyer_item_id"],
                "standard_item_id": at["gtin"],
                "order_line_reference": at["order_line_ref"],
                "vat_category": at["vat_category"],
                "vat_rate": at["vat_percent"],
                "allowances": split(at["allowances_charges"], False),
                "charges": split(at["allowances_charges"], True),
            }
            for at in want["lines"]
        ],
    }
    if want["delivery_date"]:
        raw["delivery"] = {"date": want["delivery_date"]}
    ready, issues = model.prepare(raw, profile)
    errors = [issue for issue in issues if issue["level"] == "error"]
    assert not errors, errors
    tree = writer.generate(ready, profiles.PROFILES[profile])
    return tree if isinstance(tree, bytes) else etree.tostring(tree, xml_declaration=True, encoding="UTF-8")


def by_drafthorse(want: dict) -> bytes:
    doc = Document()
    doc.context.guideline_parameter.id = "urn:cen.eu:en16931:2017"
    doc.header.id = want["number"]
    doc.header.type_code = want["document_type"]
    doc.header.issue_date_time = datetime.date.fromisoformat(want["issue_date"])
    agreement, settlement = doc.trade.agreement, doc.trade.settlement
    agreement.seller.name = want["seller"]["name"]
    for known in want["seller"]["ids"]:
        agreement.seller.global_id.add((known["scheme"], known["id"]))
    agreement.seller.tax_registrations.add(TaxRegistration(id=("VA", want["seller"]["vat_id"])))
    agreement.buyer.name = want["buyer"]["name"]
    if want["order_reference"]:
        agreement.buyer_order.issuer_assigned_id = want["order_reference"]
    if want["despatch_reference"]:
        doc.trade.delivery.despatch_advice.issuer_assigned_id = want["despatch_reference"]
    if want["delivery_date"]:
        doc.trade.delivery.event.occurrence = datetime.date.fromisoformat(want["delivery_date"])
    settlement.currency_code = "EUR"
    for at in want["lines"]:
        doc.trade.items.add(line_item(at))
    for c in want["document_allowances_charges"]:
        made = trade_charge(c)
        made.trade_tax.add(CategoryTradeTax(type_code="VAT", category_code="S", rate_applicable_percent=D(RATE)))
        settlement.allowance_charge.add(made)
    for t in want["vat_breakdown"]:
        made = ApplicableTradeTax()
        made.calculated_amount, made.basis_amount = D(t["tax"]), D(t["taxable"])
        made.type_code, made.category_code, made.rate_applicable_percent = "VAT", t["category"], D(t["percent"])
        settlement.trade_tax.add(made)
    if want["due_date"]:
        settlement.terms.add(PaymentTerms(due=datetime.date.fromisoformat(want["due_date"])))
    for number in want["preceding_invoices"]:
        settlement.invoice_referenced_document.issuer_assigned_id = number
    sums, totals = settlement.monetary_summation, want["totals"]
    sums.line_total, sums.charge_total = D(totals["line_total"]), D(totals["charge_total"])
    sums.allowance_total, sums.tax_basis_total = D(totals["allowance_total"]), D(totals["tax_exclusive"])
    sums.tax_total = (D(totals["tax_total"]), "EUR")
    sums.grand_total, sums.due_amount = D(totals["tax_inclusive"]), D(totals["payable"])
    return doc.serialize(schema=None)


def line_item(at: dict) -> LineItem:
    item = LineItem()
    item.document.line_id = at["id"]
    item.product.name = at["name"]
    item.product.seller_assigned_id = at["seller_item_id"] or ""
    item.product.buyer_assigned_id = at["buyer_item_id"] or ""
    item.product.description = at["description"] or ""
    if at["gtin"]:
        item.product.global_id = ("0160", at["gtin"])
    if at["order_line_ref"]:
        item.agreement.buyer_order.line_id = at["order_line_ref"]
    item.agreement.net.amount = D(at["net_price"])
    if at["price_base_quantity"] != "1":
        item.agreement.net.basis_quantity = (D(at["price_base_quantity"]), at["unit_code"])
    item.delivery.billed_quantity = (D(at["quantity"]), at["unit_code"])
    for c in at["allowances_charges"]:
        item.settlement.allowance_charge.add(trade_charge(c))
    tax = item.settlement.trade_tax
    tax.type_code, tax.category_code, tax.rate_applicable_percent = "VAT", at["vat_category"], D(at["vat_percent"])
    item.settlement.monetary_summation.total_amount = D(at["line_net"])
    return item


def trade_charge(c: dict) -> TradeAllowanceCharge:
    made = TradeAllowanceCharge()
    made.indicator, made.actual_amount = c["charge"], D(c["amount"])
    made.reason, made.reason_code = c["reason"], c["reason_code"]
    return made
