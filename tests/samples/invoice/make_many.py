"""Writes many different invoices with two independent libraries, and beside each what was put into it.

    python3 -m venv /tmp/invoices && /tmp/invoices/bin/pip install eu-einvoice==1.0.0 drafthorse==2025.2.0
    /tmp/invoices/bin/python tests/samples/invoice/make_many.py /tmp/invoices/many 200
    TANTALUS_INVOICES=/tmp/invoices/many cargo test --test e_invoices -- --ignored

eu-einvoice writes each as UBL and as CII, drafthorse as CII once more. Everything in them is invented.
"""

import datetime
import json
import random
import sys
from decimal import ROUND_HALF_UP, Decimal as D
from pathlib import Path

from drafthorse.models.accounting import ApplicableTradeTax, CategoryTradeTax, TradeAllowanceCharge
from drafthorse.models.document import Document
from drafthorse.models.party import TaxRegistration
from drafthorse.models.payment import PaymentTerms
from drafthorse.models.tradelines import LineItem
from eu_einvoice import cii, model, profiles, ubl
from lxml import etree

NAMES = ["Gin 0,7 l", "Tonic 24 x 0,2 l", 'Pfand "Kiste"', "Crème & Co", "水 6x1l", "<Limetten>"]
UNITS = ["H87", "C62", "XBO", "XCR", "XKG", "LTR", "KGM", "DZN", "ZZ"]


def cent(number):
    return number.quantize(D("0.01"), ROUND_HALF_UP)


def with_check_digit(body):
    total = sum(int(digit) * weight for digit, weight in zip(reversed(body), [3, 1] * 7))
    return body + str(-total % 10)


def charge(is_charge):
    return {
        "charge": is_charge,
        "amount": str(D(random.randint(1, 900)) / 100),
        "reason": random.choice(["Rabatt", "Pfand", "Fracht"]),
        "reason_code": "FC" if is_charge else "95",
        "percent": None,
        "base_amount": None,
    }


def line(n):
    price = D(random.randint(1, 99_999)) / D(10) ** random.choice([2, 2, 3, 4])
    quantity = D(random.randint(1, 400)) / random.choice([1, 1, 1, 2, 10])
    if random.random() < 0.15:
        quantity = -quantity
    base = D(random.choice([1, 1, 1, 10, 100]))
    charges = [charge(False) for _ in range(random.choice([0, 0, 1]))]
    charges += [charge(True) for _ in range(random.choice([0, 0, 1]))]
    parts = sum((D(c["amount"]) if c["charge"] else -D(c["amount"]) for c in charges), D(0))
    maybe = lambda value: value if random.random() < 0.5 else None
    return {
        "id": str(n + 1),
        "seller_item_id": maybe(f"A-{n:03}"),
        "buyer_item_id": maybe(f"our {n}"),
        "gtin": maybe(with_check_digit(f"952{random.randint(0, 10**9 - 1):09}")),
        "name": f"{random.choice(NAMES)} {n}",
        "description": maybe("neu, Mehrweg"),
        "quantity": str(quantity),
        "unit_code": random.choice(UNITS),
        "net_price": str(price),
        "price_base_quantity": str(base),
        "line_net": str(cent(quantity * price / base) + parts),
        "vat_category": "S",
        "vat_percent": random.choice(["7", "19"]),
        "allowances_charges": charges,
        "order_line_ref": maybe(str(random.randint(1, 50))),
    }


def invoice(n):
    kind = random.choice(["380", "380", "381", "384"])
    day = datetime.date(2026, random.randint(1, 12), random.randint(1, 28))
    lines = [line(k) for k in range(random.randint(1, 30))]
    charges = [charge(random.random() < 0.5) for _ in range(random.choice([0, 1, 2]))]
    charges.sort(key=lambda c: c["charge"])
    total = sum((D(at["line_net"]) for at in lines), D(0))
    on = sum((D(c["amount"]) for c in charges if c["charge"]), D(0))
    off = sum((D(c["amount"]) for c in charges if not c["charge"]), D(0))
    taxes = []
    for rate in ["7", "19"]:
        taxable = sum((D(at["line_net"]) for at in lines if at["vat_percent"] == rate), D(0))
        if rate == "19":
            taxable += on - off
        if any(at["vat_percent"] == rate for at in lines) or (rate == "19" and charges):
            tax = cent(taxable * D(rate) / 100)
            taxes.append({"category": "S", "percent": rate, "taxable": str(taxable), "tax": str(tax)})
    tax = sum((D(t["tax"]) for t in taxes), D(0))
    return {
        "document_type": kind,
        "is_credit_note": kind == "381",
        "number": f"N-{n}",
        "issue_date": str(day),
        "due_date": None if kind == "381" else str(day + datetime.timedelta(14)),
        "delivery_date": str(day),
        "currency": "EUR",
        "seller": {
            "name": f"Händler & Söhne <{n}>",
            "vat_id": "DE123456788",
            "ids": [{"id": "9520000000004", "scheme": "0088"}],
        },
        "buyer": {"name": "Kajüte Vierzehn"},
        "order_reference": random.choice([None, f"B-{n}"]),
        "despatch_reference": random.choice([None, f"LS-{n}"]),
        "preceding_invoices": [f"N-{n - 1}"] if kind == "384" else [],
        "lines": lines,
        "document_allowances_charges": charges,
        "vat_breakdown": taxes,
        "totals": {
            "line_total": str(total),
            "allowance_total": str(off),
            "charge_total": str(on),
            "tax_exclusive": str(total + on - off),
            "tax_total": str(tax),
            "tax_inclusive": str(total + on - off + tax),
            "prepaid": "0",
            "rounding": "0",
            "payable": str(total + on - off + tax),
        },
    }


def by_eu_einvoice(want, profile, writer):
    split = lambda charges, is_charge, **more: [
        {"amount": c["amount"], "reason": c["reason"], "reason_code": c["reason_code"], **more}
        for c in charges
        if c["charge"] == is_charge
    ]
    vat = {"vat_category": "S", "vat_rate": "19"}
    raw = {
        "type": want["document_type"],
        "number": want["number"],
        "issue_date": want["issue_date"],
        "due_date": want["due_date"],
        "currency": "EUR",
        "order_reference": want["order_reference"],
        "despatch_advice_reference": want["despatch_reference"],
        "preceding_invoices": [{"number": number} for number in want["preceding_invoices"]],
        "delivery": {"date": want["delivery_date"]},
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
                "vat_category": "S",
                "vat_rate": at["vat_percent"],
                "allowances": split(at["allowances_charges"], False),
                "charges": split(at["allowances_charges"], True),
            }
            for at in want["lines"]
        ],
    }
    ready, issues = model.prepare(raw, profile)
    errors = [issue for issue in issues if issue["level"] == "error"]
    assert not errors, errors
    tree = writer.generate(ready, profiles.PROFILES[profile])
    return tree if isinstance(tree, bytes) else etree.tostring(tree, xml_declaration=True, encoding="UTF-8")


def by_drafthorse(want):
    doc = Document()
    doc.context.guideline_parameter.id = "urn:cen.eu:en16931:2017"
    doc.header.id = want["number"]
    doc.header.type_code = want["document_type"]
    doc.header.issue_date_time = datetime.date.fromisoformat(want["issue_date"])
    agreement, settlement = doc.trade.agreement, doc.trade.settlement
    agreement.seller.name = want["seller"]["name"]
    agreement.seller.global_id.add(("0088", "9520000000004"))
    agreement.seller.tax_registrations.add(TaxRegistration(id=("VA", want["seller"]["vat_id"])))
    agreement.buyer.name = want["buyer"]["name"]
    if want["order_reference"]:
        agreement.buyer_order.issuer_assigned_id = want["order_reference"]
    if want["despatch_reference"]:
        doc.trade.delivery.despatch_advice.issuer_assigned_id = want["despatch_reference"]
    doc.trade.delivery.event.occurrence = datetime.date.fromisoformat(want["delivery_date"])
    settlement.currency_code = "EUR"
    for at in want["lines"]:
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
        tax.type_code, tax.category_code, tax.rate_applicable_percent = "VAT", "S", D(at["vat_percent"])
        item.settlement.monetary_summation.total_amount = D(at["line_net"])
        doc.trade.items.add(item)
    for c in want["document_allowances_charges"]:
        made = trade_charge(c)
        made.trade_tax.add(CategoryTradeTax(type_code="VAT", category_code="S", rate_applicable_percent=D(19)))
        settlement.allowance_charge.add(made)
    for t in want["vat_breakdown"]:
        made = ApplicableTradeTax()
        made.calculated_amount, made.basis_amount = D(t["tax"]), D(t["taxable"])
        made.type_code, made.category_code, made.rate_applicable_percent = "VAT", "S", D(t["percent"])
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


def trade_charge(c):
    made = TradeAllowanceCharge()
    made.indicator, made.actual_amount = c["charge"], D(c["amount"])
    made.reason, made.reason_code = c["reason"], c["reason_code"]
    return made


def main():
    folder, many = Path(sys.argv[1]), int(sys.argv[2])
    folder.mkdir(parents=True, exist_ok=True)
    random.seed(31)
    for n in range(many):
        want = invoice(n)
        written = {
            "ubl": by_eu_einvoice(want, "en16931-ubl", ubl),
            "cii": by_eu_einvoice(want, "en16931-cii", cii),
            "drafthorse": by_drafthorse(want),
        }
        for how, xml in written.items():
            (folder / f"{n}-{how}.xml").write_bytes(xml)
            (folder / f"{n}-{how}.expected.json").write_text(json.dumps(want, ensure_ascii=False), "utf-8")


main()
