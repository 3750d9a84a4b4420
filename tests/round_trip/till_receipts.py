"""Receipts of a till as they are written, and what each of their lines is.

The rules are those of the DSFinV-K, annexes B and C and sections 4.2.1 to 4.2.5, as open implementations of the format
quote them.
"""

import datetime
from collections import Counter
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP
from decimal import Decimal as D
from fractions import Fraction

from sales import NOTHING_IN_IT, PARTS, UNSOLD, Sold, day_of, half_even, kept, moment, plain

# Keys of tax rates: 1, 2 and 5 are the standard's; from 1000 a till has its own.
RATES = {1: D(19), 2: D(7), 5: D(0), 1016: D(16)}
# Which of gross, net and tax a register writes of a line.
METHODS = ["gross", "net and tax", "gross and tax", "all"]


@dataclass(frozen=True)
class Article:
    name: str
    code: str
    price: D
    # Keys of rates with their shares of the price in percent.
    rates: tuple = ((1, 100),)
    unit: str | None = None
    made_of: tuple = ()


ARTICLES = [
    Article("Hafenhell vom Faß 0,4 l", "1001", D("4.80"), unit="Stück"),
    Article("Hafenhell vom Faß 0,2 l", "1002", D("2.90"), unit="Stk."),
    Article('Gin "Möwe"; doppelt', "2003", D("12.50")),
    Article("Crémant «Zur Mole» 0,1 l", "0317", D("7.90")),
    Article("Riesling Steilhang offen", "3001", D("28.00"), unit="Liter"),
    Article("Nüsse, lose", "4,10", D("31.90"), ((2, 100),), unit="kg"),
    Article("Gedeck (Bier + Klarer)", "5001", D("7.50"), made_of=("Hafenhell 0,2 l", "Klarer Funken 2 cl")),
    Article("Mole-Menü", "5002", D("24.90"), ((1, 30), (2, 70)), made_of=("Suppe", "Brot", "Schorle")),
    # Two articles of one name.
    Article("Hauswein weiß", "31", D("5.50")),
    Article("Hauswein weiß", "32", D("6.20")),
    Article('Magnum "Jahrgang ’99"', "9001", D("1234.50")),
    Article("=Tagesempfehlung", "600", D("9.80"), ((2, 100),)),
    Article("Spritz\r\n groß,  mit Eis", "2100", D("8.40")),
    Article("Flasche „Möwenschiß“; 0,5 l", "2200", D("46.00")),
    Article("Diverse Getränke", "", D("3.33")),
    Article("", "77", D("6.66")),
    Article("", "", D("1.11")),
    Article("ohne Eis, extra Gurke", "900", D("0")),
    Article("Raummiete Nebenzimmer", "9100", D("150.00"), ((5, 100),)),
    Article("Altbestand", "9200", D("11.60"), ((1016, 100),)),
    # Chips for a party: a quantity with a sign between thousands.
    Article("Bon-Chip", "9300", D("0.15")),
]
# Kinds of a line (annex C) that are money only.
CASH = (
    "Geldtransit Anfangsbestand Privatentnahme Privateinlage Einzahlung Auszahlung Lohnzahlung DifferenzSollIst".split()
)
VOUCHERS = (
    "EinzweckgutscheinKauf EinzweckgutscheinEinloesung MehrzweckgutscheinKauf MehrzweckgutscheinEinloesung"
    " Forderungsentstehung Forderungsaufloesung Anzahlungseinstellung Anzahlungsaufloesung ZuschussEcht ZuschussUnecht"
).split()


@dataclass(frozen=True)
class Part:
    """Amounts of a line at one rate, as they are written."""

    rate: int
    gross: D | None
    net: D | None
    tax: D | None

    def whole(self) -> D:
        return self.gross if self.gross is not None else self.net + self.tax

    def worth(self) -> Fraction:
        """Net of tax, not rounded."""
        if self.net is not None:
            return Fraction(self.net)
        if self.tax is not None:
            return Fraction(self.gross - self.tax)
        return Fraction(self.gross) / (1 + Fraction(RATES[self.rate]) / 100)


def parts(gross: D, rates: tuple, method: str) -> list[Part]:
    left, made = gross, []
    for n, (rate, share) in enumerate(rates, 1):
        whole = left if n == len(rates) else (gross * share / 100).quantize(D("0.01"), ROUND_HALF_UP)
        left -= whole
        net = (whole / (1 + RATES[rate] / 100)).quantize(D("0.00001"), ROUND_HALF_UP)
        tax = whole - net
        wanted = {"gross": (1, 0, 0), "net and tax": (0, 1, 1), "gross and tax": (1, 0, 1), "all": (1, 1, 1)}[method]
        made.append(Part(rate, *(value if want else None for value, want in zip((whole, net, tax), wanted))))
    return made


@dataclass
class Position:
    kind: str
    name: str
    code: str
    quantity: D
    unit: str | None
    parts: list[Part]
    # The kind of sale that it is, or why it is none.
    sold: str | None
    skipped: str | None = None
    struck: bool = False
    taken_off: D = D(0)
    made_of: tuple = ()
    rates: tuple = ((1, 100),)

    def gross(self) -> D:
        return sum((part.whole() for part in self.parts), D(0))

    def net(self) -> Fraction:
        return half_even(sum((part.worth() for part in self.parts), Fraction(0)), 2)

    def article(self) -> str:
        return self.code or self.name


@dataclass
class Receipt:
    id: str
    kind: str
    at: datetime.datetime
    positions: list[Position]
    void: bool = False
    refers: tuple | None = None
    name: str | None = None

    def gross(self) -> D:
        return sum((at.gross() for at in self.positions if not at.struck), D(0))


@dataclass
class Closing:
    register: str
    number: int
    made: datetime.datetime
    day: datetime.date | None
    lines_as: str
    receipts: list[Receipt] = field(default_factory=list)

    def line(self, place: int) -> tuple[str, int]:
        """How the line at a place is numbered in the file, and in the book."""
        if self.lines_as == "letters":
            # What is no number is counted after all numbers.
            return f"P-{place}", 1_000_000_000 + place
        return (str(place) if self.lines_as == "plain" else f"{place:04}"), place


class Names:
    """What the book calls an article: of two of one name the second has its number behind it."""

    def __init__(self):
        self.codes: dict[str, str] = {}

    def of(self, name: str, code: str) -> str:
        had = self.codes.get(name.lower())
        if code and had and had != code:
            name = f"{name} #{code}"
        if code or name.lower() not in self.codes:
            self.codes[name.lower()] = self.codes.get(name.lower()) or code
        return name


@dataclass
class Written:
    """What a file is known to hold."""

    lines: list[Sold]
    skipped: Counter
    warnings: int
    days: tuple


def written(closings: list[Closing], names: Names) -> Written:
    lines, skipped, warned, days = [], Counter(), set(), set()
    for closing in closings:
        for receipt in closing.receipts:
            at = moment(receipt.at)
            key = f"{closing.register} {closing.number} {closing.made.date()} {receipt.id}"
            for place, position in enumerate(receipt.positions, 1):
                skipped[PARTS] += len(position.made_of)
                warned |= {PARTS} if position.made_of else set()
                quantity = Fraction(position.quantity) if position.kind == "Umsatz" else Fraction(0)
                if position.sold is None:
                    skipped[position.skipped] += 1
                    warned |= {receipt.kind} if position.skipped == UNSOLD else set()
                    continue
                if quantity == 0 and position.net() == 0:
                    skipped[NOTHING_IN_IT] += 1
                    continue
                called = kept(position.name) or kept(position.code) or "(without a name)"
                if quantity and position.unit in ("Liter", "kg"):
                    called = f"{called} [{position.unit}]"
                called = names.of(called, position.code)
                sold = Sold(
                    kept(key), closing.line(place)[1], plain(at), called, quantity, position.net(), position.sold
                )
                lines.append(sold)
                days.add(closing.day or day_of(at))
    return Written(lines, skipped, len(warned), (min(days), max(days)))
