"""An invented evening's work of a German bar: closings of several registers, receipt by receipt, and what each line is.

What a line is (a sale, a void, money only, nothing) is known here because it was made so; the rules are those of the
DSFinV-K, annexes B and C and sections 4.2.1 to 4.2.5, as open implementations of the format quote them.
"""

import datetime
import random
from collections import Counter
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal as D
from fractions import Fraction

from sales import (
    MONEY_ONLY, NO_SALE, NOTHING_IN_IT, PARTS, TRAINING, UNSOLD, VOIDED, Sold, day_of, half_even, kept, moment, plain,
)  # fmt: skip

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
CASH = ["Geldtransit", "Anfangsbestand", "Privatentnahme", "Privateinlage", "Einzahlung", "Auszahlung", "DifferenzSollIst"]
VOUCHERS = [
    *["EinzweckgutscheinKauf", "MehrzweckgutscheinKauf", "Forderungsentstehung", "Forderungsaufloesung"],
    *["Anzahlungseinstellung", "ZuschussEcht", "ZuschussUnecht", "Lohnzahlung"],
]


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
                sold = Sold(kept(key), closing.line(place)[1], plain(at), called, quantity, position.net(), position.sold)
                lines.append(sold)
                days.add(closing.day or day_of(at))
    return Written(lines, skipped, len(warned), (min(days), max(days)))


class Till:
    """A register: it writes in its own way, and goes on from closing to closing."""

    def __init__(self, chance: random.Random, name: str, first: int):
        self.chance = chance
        self.name = name
        self.number = first
        self.lines_as = chance.choice(["plain", "padded", "letters"])
        self.method = chance.choice(METHODS)
        self.says_day = chance.random() < 0.5
        self.ids_start_anew = chance.random() < 0.5
        self.count = 0
        # Receipts that may still be cancelled.
        self.open: list[tuple[Closing, Receipt]] = []

    def closing(self, begins: datetime.datetime, ends: datetime.datetime, day: datetime.date, receipts: int) -> Closing:
        made = ends + datetime.timedelta(minutes=self.chance.randint(1, 40))
        closing = Closing(self.name, self.number, made, day if self.says_day else None, self.lines_as)
        self.number += 1
        if self.ids_start_anew:
            self.count = 0
        span = int((ends - begins).total_seconds())
        for second in sorted(self.chance.randrange(span) for _ in range(receipts)):
            second -= second % self.chance.choice([1, 1, 60])
            for receipt in self.receipts(closing, begins + datetime.timedelta(seconds=second)):
                closing.receipts.append(receipt)
        return closing

    def id(self) -> str:
        self.count += 1
        return str(self.count) if self.ids_start_anew else f"{self.number}/{self.count:05}"

    def receipts(self, closing: Closing, at: datetime.datetime) -> list[Receipt]:
        """What happens at a time: a receipt, or two that belong together."""
        sorts = [self.sale, self.cancels, self.void_at_once, self.returns, self.of_the_house, self.no_sale, self.cash, self.ordered]
        sort = self.chance.choices(sorts, [60, 9, 4, 5, 8, 8, 3, 3])[0]
        return sort(closing, at)

    def position(self, article: Article, quantity: D, sold: str | None, skipped: str | None = None) -> Position:
        whole = (article.price * quantity).quantize(D("0.01"), ROUND_HALF_UP)
        off = D(0)
        if whole > 1 and self.chance.random() < 0.1:
            off = (whole * self.chance.choice([10, 20, 50]) / 100).quantize(D("0.01"), ROUND_HALF_UP)
        made = parts(whole - off, article.rates, self.method)
        line = Position("Umsatz", article.name, article.code, quantity, article.unit, made, sold, skipped)
        line.taken_off, line.made_of, line.rates = off, article.made_of, article.rates
        return line

    def money(self, kind: str, name: str, gross: D, sold: str | None, quantity: D = D(1)) -> Position:
        rate = 1 if kind in ("Rabatt", "Aufschlag", "Pfand", "PfandRueckzahlung") else 5
        made = parts(gross, ((rate, 100),), self.method)
        return Position(kind, name, "", quantity, None, made, sold, None if sold else MONEY_ONLY)

    def amount(self, article: Article) -> D:
        if article.unit in ("Liter", "kg"):
            return D(self.chance.randint(50, 1500)) / 1000
        if article.name == "Bon-Chip":
            return D(self.chance.choice([200, 1200, 2500]))
        return D(self.chance.choice([1, 1, 1, 2, 2, 3, 4, 6]))

    def goods(self, sold: str | None, skipped: str | None = None, most: int = 6) -> list[Position]:
        picked = [self.chance.choice(ARTICLES) for _ in range(self.chance.randint(1, most))]
        return [self.position(article, self.amount(article), sold, skipped) for article in picked]

    def sale(self, closing: Closing, at: datetime.datetime) -> list[Receipt]:
        positions = self.goods("sale")
        chance = self.chance.random
        if chance() < 0.06:
            # Information, of which there is none.
            positions.append(self.position(self.article("900"), D(0), "sale"))
        if chance() < 0.12:
            struck = self.chance.choice(positions)
            if struck.quantity:
                struck.struck, struck.sold, struck.skipped = True, None, VOIDED
        if chance() < 0.15:
            self.take_back(positions)
        total = sum((line.gross() for line in positions if not line.struck), D(0))
        if total > 0 and chance() < 0.15:
            off = (total / 10).quantize(D("0.01"), ROUND_HALF_UP)
            positions.append(self.money("Rabatt", "Rabatt 10 %; Stammgast", -off, "sale"))
        if chance() < 0.06:
            positions.append(self.money("Aufschlag", "Bedienzuschlag “Terrasse”", D("1.50"), "sale"))
        if chance() < 0.2:
            gross = D(self.chance.randint(50, 900)) / 100
            positions.append(self.money(self.chance.choice(["TrinkgeldAN", "TrinkgeldAG"]), "Trinkgeld", gross, None))
        if chance() < 0.12:
            many = self.chance.randint(1, 4)
            positions.append(self.money("Pfand", "Pfand Glas", D(2) * many, None, D(many)))
            if chance() < 0.5:
                positions.append(self.money("PfandRueckzahlung", "Pfand zurück", D(-2), None, D(-1)))
        receipt = Receipt(self.id(), "Beleg", at, positions)
        self.open.append((closing, receipt))
        return [receipt]

    @staticmethod
    def article(code: str) -> Article:
        return next(article for article in ARTICLES if article.code == code)

    def take_back(self, positions: list[Position]) -> None:
        """A further line with a negative quantity, of no more than was sold."""
        line = self.chance.choice(positions)
        of_it = [at.quantity for at in positions if at.article() == line.article() and at.sold]
        if line.sold and sum(of_it) >= line.quantity > 0 and line.taken_off == 0:
            back = line.quantity if line.unit in ("Liter", "kg") else D(self.chance.randint(1, int(line.quantity)))
            article = next(a for a in ARTICLES if (a.name, a.code) == (line.name, line.code))
            positions.append(self.turned(self.position(article, back, "void")))

    @staticmethod
    def turned(line: Position) -> Position:
        negative = lambda value: None if value is None else -value
        made = [Part(part.rate, *map(negative, (part.gross, part.net, part.tax))) for part in line.parts]
        return Position(
            line.kind, line.name, line.code, -line.quantity, line.unit, made, line.sold, line.skipped, line.struck,
            -line.taken_off, (), line.rates,
        )  # fmt: skip

    def cancels(self, closing: Closing, at: datetime.datetime) -> list[Receipt]:
        """A later void: a second receipt with all signs turned. The mark and the reference both occur alone."""
        if not self.open:
            return self.sale(closing, at)
        of, receipt = self.open.pop(self.chance.randrange(len(self.open)))
        is_return = all(line.quantity < 0 for line in receipt.positions if line.kind == "Umsatz")
        left = sum(line.quantity for line in receipt.positions if line.kind == "Umsatz" and not line.struck)
        if left == 0:
            # Nothing was left of it to cancel.
            return self.sale(closing, at)
        positions = [self.turned(line) for line in receipt.positions]
        for line in positions:
            if line.sold and line.kind == "Umsatz":
                line.sold = "void" if is_return or line.quantity < 0 else "sale"
        marked, referring = (True, True) if is_return else self.chance.choice([(True, True), (False, True), (True, False)])
        refers = ("Transaktion", of, receipt) if referring else None
        return [Receipt(self.id(), "Beleg", at, positions, marked, refers)]

    def void_at_once(self, closing: Closing, at: datetime.datetime) -> list[Receipt]:
        """A receipt that is its own void: marked, with its signs as they were."""
        positions = self.goods(None, VOIDED)
        if self.chance.random() < 0.3:
            positions.append(self.money("TrinkgeldAN", "Trinkgeld", D(1), None))
            positions[-1].skipped = VOIDED
        return [Receipt(self.id(), "Beleg", at, positions, void=True)]

    def returns(self, closing: Closing, at: datetime.datetime) -> list[Receipt]:
        """The guest gives something back of another receipt."""
        positions = [self.turned(line) for line in self.goods("return", most=2) if line.taken_off == 0]
        positions = [line for line in positions if line.quantity]
        if not positions:
            return self.sale(closing, at)
        receipt = Receipt(self.id(), "Beleg", at, positions)
        self.open.append((closing, receipt))
        return [receipt]

    def of_the_house(self, closing: Closing, at: datetime.datetime) -> list[Receipt]:
        if self.chance.random() < 0.5:
            return [Receipt(self.id(), "AVSachbezug", at, self.goods("staff", most=3), name="Personal")]
        positions = self.goods("training", most=4)
        if self.chance.random() < 0.5:
            positions.append(self.money("Rabatt", "Rabatt", D("-0.50"), None))
            positions[-1].skipped = TRAINING
        return [Receipt(self.id(), "AVTraining", at, positions)]

    def no_sale(self, closing: Closing, at: datetime.datetime) -> list[Receipt]:
        kind = self.chance.choice(["AVRechnung", "AVBelegstorno", "AVBelegabbruch", "AVTransfer", "AVSonstige"])
        why = UNSOLD if kind in ("AVTransfer", "AVSonstige") else NO_SALE
        return [Receipt(self.id(), kind, at, self.goods(None, why), name="siehe Notiz" if kind == "AVSonstige" else None)]

    def cash(self, closing: Closing, at: datetime.datetime) -> list[Receipt]:
        gross = D(self.chance.choice([-20000, -5000, 1000, 15000, 250000])) / 100
        kind = self.chance.choice(CASH if self.chance.random() < 0.6 else VOUCHERS)
        return [Receipt(self.id(), "Beleg", at, [self.money(kind, kind, gross, None)])]

    def ordered(self, closing: Closing, at: datetime.datetime) -> list[Receipt]:
        """An order, and the receipt that refers to it: a sale although it refers to another."""
        order = Receipt(self.id(), "AVBestellung", at, self.goods(None, NO_SALE))
        (receipt,) = self.sale(closing, at)
        sold = sum(line.quantity for line in receipt.positions if line.kind == "Umsatz" and not line.struck)
        if sold > 0:
            receipt.refers = (self.chance.choice(["Transaktion", "ExterneSonstige"]), closing, order)
        return [order, receipt]


def season(chance: random.Random, first: datetime.date, days: int) -> list[Closing]:
    """Closings of some days at three registers, in the order in which they were made."""
    tills = [Till(chance, "KASSE-1", 211), Till(chance, 'Theke "Süd"; oben', 997), Till(chance, "3", 1_234_567)]
    closings = []
    for n in range(days):
        day = first + datetime.timedelta(days=n)
        opens, closes = (datetime.datetime.combine(day, datetime.time(hour)) for hour in (17, 22))
        night = datetime.datetime.combine(day + datetime.timedelta(days=1), datetime.time(3, 30))
        for till in tills:
            receipts = chance.randint(8, 26)
            if chance.random() < 0.25:
                closings.append(till.closing(opens, closes, day, receipts // 2))
                opens_again = closes + datetime.timedelta(minutes=50)
                closings.append(till.closing(opens_again, night, day, receipts - receipts // 2))
            else:
                closings.append(till.closing(opens, night, day, receipts))
    return [closing for closing in closings if closing.receipts]
