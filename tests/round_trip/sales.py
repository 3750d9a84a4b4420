"""Lines of sales as a script knows that it wrote them, and as a book has them."""

import datetime
import unicodedata
from collections import Counter
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

from bar import Bar

ZONE = ZoneInfo("Europe/Berlin")
# When a business day begins.
STARTS = datetime.time(5)
INIT = ["init", "--name", "Zur Grauen Möwe", "--currency", "EUR", "--zone", ZONE.key, "--day-starts", "05:00"]

# Why rows are passed over, as `tantalus sales --json` says it.
NOTHING_IN_IT, HEADINGS, TOTALS = "blank", "heading", "total"
NO_SALE = "no-sale"
VOIDED = "voided"
TRAINING = "training"
MONEY_ONLY = "money-only"
UNSOLD = "left-unsold"
PARTS = "part"
NOTHING_SOLD = "zero"


@dataclass(frozen=True)
class Sold:
    """A line of `sales.csv`."""

    receipt: str
    line: int
    at: str
    name: str
    quantity: Fraction
    net: Fraction
    kind: str


def half_even(value: Fraction, places: int) -> Fraction:
    """Rounded half to even: `round` of a Fraction does just that."""
    return Fraction(round(value * 10**places), 10**places)


def kept(text: str) -> str:
    """A foreign text in the form in which it is kept (docs/plain-files.md): Unicode NFC, one blank for runs of them and
    for line breaks, signs in front that a spreadsheet would run in brackets, at most 500 characters."""
    text = " ".join(unicodedata.normalize("NFC", text).split())
    rest = text.lstrip(" =+-@\uff1d\uff0b\uff0d\uff20")
    before = text[: len(text) - len(rest)]
    signs = before.replace(" ", "")
    if rest and signs:
        rest = f"({signs}){' ' if before.endswith(' ') else ''}{rest}"
    return rest[:500].rstrip()


def name_key(name: str) -> str:
    """The form in which two names are one: trimmed, NFC, in small letters."""
    return unicodedata.normalize("NFC", name.strip()).lower()


def moment(local: datetime.datetime) -> datetime.datetime:
    """A wall-clock time as a moment: of an hour that the clock shows twice the first, of one that it skips its end."""
    at = local.replace(tzinfo=ZONE, fold=0)
    there_and_back = at.astimezone(datetime.UTC).astimezone(ZONE)
    if there_and_back.replace(tzinfo=None) == local:
        return at
    # The clock went forward: the moment at which it did.
    begins = local.replace(minute=0, second=0, microsecond=0)
    return begins.replace(tzinfo=ZONE, fold=0).astimezone(datetime.UTC).astimezone(ZONE)


def plain(at: datetime.datetime) -> str:
    """A moment as plain files write it."""
    at = at.astimezone(ZONE)
    local = at.replace(tzinfo=None)
    if at.replace(fold=0).utcoffset() != at.replace(fold=1).utcoffset():
        return at.isoformat()
    return local.strftime("%Y-%m-%d %H:%M:%S" if local.second else "%Y-%m-%d %H:%M")


def day_of(at: datetime.datetime) -> datetime.date:
    """The business day of a moment."""
    local = at.astimezone(ZONE)
    return local.date() - datetime.timedelta(days=local.time() < STARTS)


def took(sold: Sold) -> Fraction:
    """What a line took from stock (README.md, "How it reckons")."""
    if sold.kind in ("sale", "comp", "staff"):
        return sold.quantity
    return min(sold.quantity, Fraction(0)) if sold.kind == "void" else Fraction(0)


def money(sold: Sold) -> Fraction:
    """The net of a line; nothing of what was rung to practise, or cancelled before it was made."""
    unmade = sold.kind == "training" or (sold.kind == "void" and sold.quantity > 0)
    return Fraction(0) if unmade else sold.net


def in_book(bar: Bar) -> list[Sold]:
    """The sales of a book, as its dump has them."""
    return [
        Sold(
            row["receipt"],
            int(row["line"]),
            row["at"],
            row["sold_as"],
            Fraction(row["quantity"]),
            Fraction(row["net"]),
            row["kind"],
        )
        for row in bar.dumped("sales.csv")
    ]


def summed(lines: list[Sold]) -> list[Sold]:
    """Figures of days, which a later file may have brought up to date by a further line, as one line each."""
    sums: dict[str, Sold] = {}
    for sold in sorted(lines, key=lambda sold: sold.line):
        had = sums.get(sold.receipt, replace(sold, quantity=Fraction(0), net=Fraction(0)))
        sums[sold.receipt] = replace(sold, line=1, quantity=had.quantity + sold.quantity, net=had.net + sold.net)
    # What comes to nothing is of no kind.
    return [sold if sold.quantity or sold.net else replace(sold, kind="sale") for sold in sums.values()]


def same(bar: Bar, wanted: list[Sold], what: str, of_days: bool = False) -> None:
    """The book has just these lines; figures of days are compared as sums."""
    lines = in_book(bar)
    found, want = Counter(summed(lines) if of_days else lines), Counter(wanted)
    if found == want:
        return
    by_key = {(sold.receipt, sold.line): sold for sold in want - found}
    pairs = [f"{sold}\n  should be {by_key.get((sold.receipt, sold.line))}" for sold in found - want]
    missing = [f"missing {sold}" for sold in want - found]
    raise AssertionError("\n".join([f"{what}: {len(found)} lines, {len(want)} were written", *(pairs or missing)[:5]]))


def said(answer: dict, lines: list[Sold], skipped: dict[str, int], what: str) -> None:
    """What was said of a file: how many lines, how much they took, their net, what was passed over and why."""
    assert answer["refused"] is None, f"{what}: {answer['refused']}"
    want = {
        "lines": len(lines),
        "quantity_milli": sum(map(took, lines)) * 1_000,
        "net": sum(map(money, lines)),
        "skipped": {why: rows for why, rows in skipped.items() if rows},
    }
    found = {
        "lines": answer["lines"],
        "quantity_milli": answer["quantity_milli"],
        "net": Fraction(Decimal(answer["net"]["text"])),
        "skipped": {entry["why"]: entry["rows"] for entry in answer["skipped"]},
    }
    assert found == want, f"{what}: said {found}, written {want}"
