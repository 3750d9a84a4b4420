"""Invented suppliers of an invented bar: what they sell, in which packs, and bills of it with what each line is."""

import csv
import datetime
import random
from dataclasses import dataclass
from decimal import ROUND_HALF_UP
from decimal import Decimal as D
from fractions import Fraction
from pathlib import Path

from invoices import RATE
from stdnum.iso7064 import mod_11_10


def with_check_digit(body: str) -> str:
    """GS1 General Specifications: weights 3 and 1 from the right. 952 is GS1's prefix for examples."""
    total = sum(int(digit) * weight for digit, weight in zip(reversed(body), [3, 1] * 7))
    return body + str(-total % 10)


# Item, kind, what one container holds, bar code.
STOCK = [
    ("Nordmole Gin", "spirit", "700 ml", with_check_digit("952000010001")),
    ("Crème de Cassis & Co", "liqueur", "500 ml", ""),
    ("Quellperle Tonic", "mixer", "200 ml", with_check_digit("952000010003")),
    ("Hafenhell Fass", "beer", "30 l", with_check_digit("952000010004")),
    ("Riesling Steilhang", "wine", "750 ml", with_check_digit("952000010005")),
    ("Rohrzucker", "other", "1 kg", with_check_digit("952000010006")),
    ("Limetten", "food", "1 each", ""),
    ("Zitronensaft 水", "juice", "1 l", ""),
]
GTIN = {item: gtin for item, _, _, gtin in STOCK}
PLACE = "Lager unten"


@dataclass(frozen=True)
class Sells:
    """Something that a supplier charges for, always under the same code, name and unit."""

    name: str
    unit: str
    # The item and its containers in one unit; without, a deposit or nothing that is stocked.
    is_: str
    each: Fraction
    price: D
    # Units are sold in multiples of this.
    step: D = D(1)
    code: str | None = None
    gtin: str | None = None
    rate: str = "19"
    category: str = "S"
    # Charged with each unit, as a charge of the line.
    deposit: D = D(0)
    # Empties that come back, below zero.
    back: bool = False
    # A pack of so many by the supplier's offer, which has the code.
    offered: int | None = None

    def is_item(self) -> bool:
        return self.is_ not in ("deposit", "not-stock")


def catalogue(chance: random.Random, prefix: str) -> list[Sells]:
    number = iter(chance.sample(range(1000, 9999), 40))
    code = lambda: f"{prefix}{next(number)}"
    one = Fraction(1)
    case_of_gin = with_check_digit("1" + GTIN["Nordmole Gin"][:-1])
    goods = [
        Sells("Nordmole Gin 44 % 0,7 l", "XBO", "Nordmole Gin", one, D("17.8342"), code=code()),
        Sells("Nordmole Gin 6 x 0,7 l", "XCT", "Nordmole Gin", Fraction(6), D("104.90"), code=code(), gtin=case_of_gin),
        Sells("Gin Nordmole (Aktion)", "H87", "Nordmole Gin", one, D("16.955"), gtin=GTIN["Nordmole Gin"]),
        Sells("Cassis <Spezial>", "ZZ", "Crème de Cassis & Co", Fraction(2), D("19.5"), code=code()),
        Sells(
            'Tonic "Quellperle" 24 x 0,2 l',
            "XCR",
            "Quellperle Tonic",
            Fraction(24),
            D("15.36"),
            code=code(),
            deposit=D("5.10"),
        ),
        Sells(
            "Tonic Quellperle 4er", "XPA", "Quellperle Tonic", Fraction(4), D("3.119"), code=code(), deposit=D("0.60")
        ),
        Sells("Hafenhell Keg 30 l", "XKG", "Hafenhell Fass", one, D("78.50"), code=code(), gtin=GTIN["Hafenhell Fass"]),
        Sells(
            "Hafenhell Fassbier, je Liter", "LTR", "Hafenhell Fass", Fraction(1, 30), D("2.6167"), D(30), code=code()
        ),
        Sells("Hafenhell je Hektoliter", "HLT", "Hafenhell Fass", Fraction(10, 3), D("251.333"), D("0.3"), code=code()),
        Sells("Riesling Steilhang 0,75 l", "H87", "Riesling Steilhang", one, D("6.345"), code=code(), offered=1),
        Sells(
            "Riesling Steilhang, Karton", "XCT", "Riesling Steilhang", Fraction(6), D("37.20"), code=code(), offered=6
        ),
        Sells(
            "Riesling Steilhang, lose",
            "LTR",
            "Riesling Steilhang",
            Fraction(4, 3),
            D("8.4"),
            D("0.75"),
            gtin=GTIN["Riesling Steilhang"],
        ),
        Sells("Riesling im Dutzend", "DZN", "Riesling Steilhang", Fraction(12), D("71.9"), code=code()),
        Sells("Rohrzucker lose", "KGM", "Rohrzucker", one, D("1.8995"), gtin=GTIN["Rohrzucker"], rate="7"),
        Sells("Rohrzucker 10 kg", "XBG", "Rohrzucker", Fraction(10), D("17.45"), code=code(), rate="7"),
        Sells("Limetten", "H87", "Limetten", one, D("0.2225"), D(10), code=code(), rate="7"),
        Sells("Saft 水 6x1l", "XSW", "Zitronensaft 水", Fraction(6), D("14.28"), code=code(), rate="7"),
        Sells("Saft in Flaschen", "XBQ", "Zitronensaft 水", one, D("2.55"), rate="0", category="Z"),
    ]
    rest = [
        Sells("Pfand Keg 30 l", "C62", "deposit", one, D("30")),
        Sells("Leergut Keg 30 l zurück", "C62", "deposit", one, D("30"), back=True),
        Sells("Kisten-Pfand 24er", "XCR", "deposit", one, D("5.10"), code=code()),
        Sells("MW-Gebinde B12", "C62", "deposit", one, D("1.50"), code=code()),
        Sells("Lieferpauschale", "C62", "not-stock", one, D("7.9"), code=code()),
        Sells("Reinigung der Schankanlage", "HUR", "not-stock", one, D("48")),
    ]
    return chance.sample(goods, 12) + chance.sample(rest, 4)


class Supplier:
    """One who sells: in the book by its number for value added tax, by its location number, or under another name."""

    def __init__(self, chance: random.Random, number: int, known_by: str):
        self.name = ["Händler & Söhne <Nord>", 'Getränke "Quendelbach" KG', "Vinothek Übersee"][number]
        body = f"90000{number + 1:03}"
        self.vat_id = f"DE{body}{mod_11_10.calc_check_digit(body)}"
        self.gln = with_check_digit(f"95200000001{number}")
        self.known_by = known_by
        self.in_book = "Kontor Drei" if known_by == "nothing" else ["Nord", "Quendelbach", ""][number]
        self.sells = catalogue(chance, ["A-", "", "Q/"][number])
        self.bills: list[str] = []

    def seller(self) -> dict:
        return {"name": self.name, "vat_id": self.vat_id, "ids": [{"id": self.gln, "scheme": "0088"}]}


def suppliers(chance: random.Random) -> list[Supplier]:
    return [Supplier(chance, n, by) for n, by in enumerate(["vat_id", "gln", "nothing"])]


def write_book(folder: Path, sellers: list[Supplier]) -> None:
    """The plain files that the book is made of."""
    folder.mkdir()

    def table(name: str, *rows) -> None:
        with open(folder / name, "w", newline="", encoding="utf-8") as text:
            csv.writer(text).writerows(rows)

    table("places.csv", ["place"], [PLACE])
    known = lambda seller, by, what: what if seller.known_by == by else ""
    rows = [[s.in_book, known(s, "vat_id", s.vat_id), known(s, "gln", s.gln)] for s in sellers]
    table("suppliers.csv", ["supplier", "vat_id", "gln"], *rows)
    table("stock.csv", ["item", "kind", "size", "gtin"], *STOCK)
    table("shelves.csv", ["place", "item"], *[[PLACE, item] for item, *_ in STOCK])
    offers = []
    for seller in sellers:
        for sold in (sold for sold in seller.sells if sold.offered):
            offers.append([seller.in_book, sold.is_, sold.code, sold.offered, cent(sold.price)])
    table("offers.csv", ["supplier", "item", "code", "pack", "price"], *offers)


def cent(number: D) -> D:
    return number.quantize(D("0.01"), ROUND_HALF_UP)


def charge(amount: D, is_charge: bool, reason: str) -> dict:
    return {
        "charge": is_charge,
        "amount": str(amount),
        "reason": reason,
        "reason_code": "FC" if is_charge else "95",
        "percent": None,
        "base_amount": None,
    }


def line(chance: random.Random, sold: Sells, n: int, may_go_back: bool) -> dict:
    quantity = sold.step * chance.choice([1, 1, 2, 2, 3, 4, 5, 6, 8, 12, 20, 40])
    base = D(chance.choice([1, 1, 1, 1, 10, 100]))
    # Prices move a little from bill to bill, and have up to four decimals.
    price = (sold.price * base * chance.randint(950, 1050) / 1000).quantize(D(1) / 10 ** chance.choice([2, 3, 4]))
    if chance.random() < 0.03:
        # A gift of the house.
        price = D(0)
    back = sold.back or (may_go_back and chance.random() < 0.06)
    if back:
        quantity = -quantity
    goods = cent(quantity * price / base)
    charges = []
    if not back and goods > 5 and chance.random() < 0.2:
        off = cent(goods * chance.choice([3, 10, 25]) / 100)
        charges.append(charge(off, False, chance.choice(["Rabatt", "Naturalrabatt"])))
    if not back and chance.random() < 0.1:
        charges.append(charge(D(chance.randint(1, 300)) / 100, True, "Mautzuschlag"))
    if not back and sold.deposit:
        charges.append(charge(cent(sold.deposit * quantity), True, chance.choice(["Pfand", "Kistenpfand"])))
    parts = sum((D(c["amount"]) if c["charge"] else -D(c["amount"]) for c in charges), D(0))
    maybe = lambda value: value if chance.random() < 0.4 else None
    return {
        "id": str(n),
        "seller_item_id": sold.code,
        "buyer_item_id": maybe(f"unser {n}"),
        "gtin": sold.gtin,
        "name": sold.name,
        "description": maybe('neu, Mehrweg; "2026"'),
        "quantity": f"{quantity.normalize():f}",
        "unit_code": sold.unit,
        "net_price": str(price),
        "price_base_quantity": str(base),
        "line_net": str(goods + parts),
        "vat_category": sold.category,
        "vat_percent": sold.rate,
        "allowances_charges": charges,
        "order_line_ref": maybe(str(chance.randint(1, 50))),
    }


def bill(chance: random.Random, supplier: Supplier, n: int) -> tuple[dict, list[Sells]]:
    """A bill, and what each of its lines is."""
    kind = chance.choices(["380", "381", "384"], [8, 2, 1])[0]
    issued = datetime.date(2026, 8, 1) + datetime.timedelta(days=chance.randrange(100))
    picked = [chance.choice(supplier.sells) for _ in range(chance.randint(1, 18))]
    lines = [line(chance, sold, k, kind != "381") for k, sold in enumerate(picked, 1)]
    total = sum((D(at["line_net"]) for at in lines), D(0))
    charges = []
    if chance.random() < 0.4:
        charges.append(charge(D(chance.randint(100, 2500)) / 100, True, chance.choice(["Fracht", "Energiezuschlag"])))
    if chance.random() < 0.2:
        charges.append(charge(D(8), True, "Pfand Palette"))
    if total > 100 and chance.random() < 0.3:
        charges.append(charge(cent(total * chance.choice([1, 2, 3]) / 100), False, "Treuebonus"))
    charges.sort(key=lambda c: c["charge"])
    on = sum((D(c["amount"]) for c in charges if c["charge"]), D(0))
    off = sum((D(c["amount"]) for c in charges if not c["charge"]), D(0))
    taxes = []
    for category, rate in [("S", "7"), ("S", "19"), ("Z", "0")]:
        of_it = [D(at["line_net"]) for at in lines if at["vat_percent"] == rate]
        if of_it or (rate == RATE and charges):
            taxable = sum(of_it, D(0)) + (on - off if rate == RATE else 0)
            tax = cent(taxable * D(rate) / 100)
            taxes.append({"category": category, "percent": rate, "taxable": str(taxable), "tax": str(tax)})
    tax = sum((D(t["tax"]) for t in taxes), D(0))
    delivered = issued - datetime.timedelta(days=chance.randint(0, 3)) if chance.random() < 0.8 else None
    number = f"{chance.choice(['RE-', 'Nr. ', ''])}2026/{n:04}"
    want = {
        "document_type": kind,
        "is_credit_note": kind == "381",
        "number": number,
        "issue_date": str(issued),
        "due_date": None if kind == "381" else str(issued + datetime.timedelta(14)),
        "delivery_date": str(delivered) if delivered else None,
        "currency": "EUR",
        "seller": supplier.seller(),
        "buyer": {"name": "Zur Grauen Möwe"},
        "order_reference": chance.choice([None, f"B-{n}"]),
        "despatch_reference": chance.choice([None, f"LS-{n}"]),
        "preceding_invoices": supplier.bills[-1:] if kind != "380" else [],
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
    supplier.bills.append(number)
    return want, picked
