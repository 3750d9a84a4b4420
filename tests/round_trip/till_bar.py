"""An invented German bar: what happens at its registers, evening by evening, closing by closing.

What a line is (a sale, a void, money only, nothing) is known here because it was made so.
"""

import datetime
import random
from dataclasses import replace
from decimal import ROUND_HALF_UP
from decimal import Decimal as D

from sales import MONEY_ONLY, NO_SALE, TRAINING, UNSOLD, VOIDED
from till_receipts import ARTICLES, CASH, METHODS, VOUCHERS, Article, Closing, Part, Position, Receipt, parts


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
        sorts = {
            self.sale: 60,
            self.cancels: 9,
            self.void_at_once: 4,
            self.returns: 5,
            self.of_the_house: 8,
            self.no_sale: 8,
            self.cash: 3,
            self.ordered: 3,
        }
        return self.chance.choices([*sorts], [*sorts.values()])[0](closing, at)

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
        return replace(line, quantity=-line.quantity, parts=made, taken_off=-line.taken_off, made_of=())

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
        marked, referring = (
            (True, True) if is_return else self.chance.choice([(True, True), (False, True), (True, False)])
        )
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
        return [
            Receipt(self.id(), kind, at, self.goods(None, why), name="siehe Notiz" if kind == "AVSonstige" else None)
        ]

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
