"""Reports of tills in any dialect: the first is understood with as few corrections as it needs, the next ones are taken
in without a word; every line comes out as it was written."""

import datetime
import random
from decimal import Decimal as D

from bar import Bar
from sales import INIT, Sold, said, same
from table_report import Dialect, Line, Report, dialect, known_of, report

DIALECTS = 40
FIRST = datetime.date(2026, 10, 20)
NAMES = [
    ("Hafenhell vom Faß", "0,4 l", "1001", D("4.80"), D(19)),
    ("Hafenhell vom Faß", "0,2 l", "1002", D("2.90"), D(19)),
    ('Gin "Möwe"; doppelt', "", "2003", D("12.50"), D(19)),
    ("Crémant, trocken", "0,1 l", "0317", D("7.90"), D(19)),
    ("Möwenschiß & Co | Spezial", "", "", D("9.90"), D(19)),
    ("Laugenknoten", "", "600", D("3.50"), D(7)),
    ("Total Eclipse", "", "700", D("13.00"), D(19)),
    ("Hauswein weiß", "", "31", D("5.50"), D(19)),
    ("Hauswein weiß", "", "32", D("6.20"), D(19)),
    ("Magnum Jahrgang 1999", "1,5 l", "9001", D("1234.50"), D(19)),
    ("Käsewürfel", "groß", "610", D("5.00"), D(7)),
]


def rung(chance: random.Random, dialect: Dialect) -> list[Line]:
    """Twelve nights, receipt by receipt."""
    lines = []
    for n in range(12):
        day = FIRST + datetime.timedelta(days=n)
        opens = datetime.datetime.combine(day, datetime.time(17))
        # Until half past four; with dates alone, until midnight: nothing says that a later hour is of the night before.
        known = dialect.day != "column" or {"time", "date and time", "business day"} & {*dialect.columns}
        span = 11 * 3600 + 1800 if known else 7 * 3600 - 1
        times = sorted(chance.randrange(span) for _ in range(chance.randint(5, 14)))
        numbers = {"1": 0, "Theke 2": 0}
        for number, second in enumerate(times, 1):
            at = opens + datetime.timedelta(seconds=second)
            register = chance.choice([*numbers])
            numbers[register] += 1
            # Registers that are told apart number their receipts by themselves.
            own = "register" in dialect.columns
            called = f"{numbers[register]:04}" if own else f"{chance.choice(['A', 'B'])}-{number:03}"
            lines += receipt(chance, dialect, at, day, called, register)
    return lines


def receipt(chance: random.Random, dialect: Dialect, at, day, number: str, register: str) -> list[Line]:
    waiter = chance.choice(["Ümit", "Zoë", "J. de Wit", ""])
    lines: list[Line] = []
    # Where only a day tells rows apart, one that is called like a total and by chance is one cannot be known.
    apart = dialect.totals or {"time", "date and time", "receipt"} & {*dialect.columns}
    names = NAMES if apart else [name for name in NAMES if not name[0].startswith("Total")]

    def add(name, size, code, quantity, gross, rate, kind):
        rate = dialect.tax if dialect.tax is not None else rate
        place = len(lines) + 1
        lines.append(Line(at, day, number, place, name, size, code, D(quantity), gross, rate, kind, waiter, register))

    for _ in range(chance.randint(1, 5)):
        name, size, code, price, rate = chance.choice(names)
        many = D(chance.choice([1, 1, 1, 2, 2, 3, 10])) if chance.random() < 0.95 else D("0.5")
        kind = chance.choices(["sale", "comp", "staff", "training"], [90, 4, 3, 3])[0] if dialect.kinds else "sale"
        gross = (price * many).quantize(D("0.01")) * (0 if kind in ("comp", "staff") else 1)
        add(name, size, code, many, gross, rate, kind)
    if chance.random() < 0.12:
        # Something of it is taken back, or given back.
        of = chance.choice([line for line in lines])
        if of.gross and (dialect.kinds or of.kind == "sale") and of.kind == "sale":
            kind = chance.choice(["void", "return"]) if dialect.kinds else "sale"
            add(of.name, of.size, of.code, -of.quantity, -of.gross, of.rate, kind)
    if chance.random() < 0.05:
        name, size, code, price, rate = chance.choice(names)
        add(name, size, code, -1, -price, rate, "return" if dialect.kinds else "sale")
    if chance.random() < 0.06:
        add("Rabatt Stammgast", "", "", 1, D("-1.00"), D(19), "sale")
    if dialect.kinds and chance.random() < 0.08:
        add("Für das Team", "", "", 1, D("2.00"), D(19), "money")
    if dialect.kinds and chance.random() < 0.04:
        name, size, code, price, rate = chance.choice(names)
        add(name, size, code, 1, price, rate, "order")
    return lines


def comes_down(had: Sold, line: Sold) -> bool:
    return line.quantity < had.quantity or (line.quantity == had.quantity > 0 and line.net < had.net)


def check(bar: Bar) -> str:
    chance = random.Random(f"tables {bar.seed}")
    files = lines = corrections = columns = 0
    for n in range(DIALECTS):
        way = dialect(chance)
        this = bar.another(f"dialect-{n}")
        this.run(*INIT)
        all_lines = rung(chance, way)
        last = FIRST + datetime.timedelta(days=6)
        # A report of days sums up an evening that is not over; one of receipts has some days in common with the next.
        cut = datetime.datetime.combine(last, datetime.time(22))
        over = [line for line in all_lines if line.day < last]
        week = over + [line for line in all_lines if line.day == last and (not way.totals or line.at < cut)]
        rest = [line for line in all_lines if line.day >= last - datetime.timedelta(days=1)]
        if way.day != "column":
            week, rest = ([line for line in all_lines if line.day == day] for day in (FIRST, last))
        what = f"dialect {n}, {way}"
        codes: dict[str, str] = {}
        first = report(way, week, this.folder / "Woche 43.csv", codes)
        first.lines = known_of(first.lines, set())
        corrected = corrections_for(this, first, way, week[0].day)
        taken(this, first, what, ["--keep-as", "Kasse", *corrected], added=len(first.lines))
        same(this, first.lines, what)
        corrections += len(corrected) // 2
        columns += len(first.fields)
        second = report(way, rest, this.folder / "Woche 44.csv", codes)
        had = {(line.receipt, line.line): line for line in first.lines}
        second.lines = known_of(second.lines, set(had))
        new = [line for line in second.lines if (line.receipt, line.line) not in had]
        changed = [line for line in second.lines if had.get((line.receipt, line.line), line) != line]
        # What nobody says has to be said each time.
        each_time = ["--day", str(rest[0].day)] if way.day == "nobody" else []
        # A figure that comes down, by what was taken back since, is asked about.
        down = [line for line in changed if comes_down(had[line.receipt, line.line], line)]
        sure = [*each_time, "--all-the-same"] if down else each_time
        taken(this, second, what, sure, added=len(new), corrected=len(changed))
        by_key = had | {(line.receipt, line.line): line for line in second.lines}
        same(this, list(by_key.values()), what, of_days=way.totals)
        taken(this, second, what, each_time, added=0)
        files, lines = files + 3, lines + len(first.lines) + 2 * len(second.lines)
    return (
        f"{files} reports in {DIALECTS} dialects, {lines} lines read as they were written;"
        f" {corrections} corrections were needed for {columns} columns"
    )


def corrections_for(bar: Bar, first: Report, way: Dialect, day: datetime.date) -> list[str]:
    """What a person would correct of how the report is guessed to be read."""
    layout = bar.json("sales", first.path, "--look")["layout"]
    out = []
    guessed = [column["is"] for column in layout["columns"]]
    assert len(guessed) == len(first.fields), f"{way}: {layout}"
    for n, (found, right) in enumerate(zip(guessed, first.fields), 1):
        if found != right:
            out += ["--column", f"{n}={right}"]
    if layout["decimal"] != (mark := {".": "point", ",": "comma"}[way.mark]):
        out += ["--decimal", mark]
    orders = {"%d": "day-month-year", "%m": "month-day-year", "%Y": "year-month-day"}
    if layout["dates"] != (order := orders[way.dates[:2]]) and "%b" not in way.dates and order != "year-month-day":
        out += ["--dates", order]
    if layout["rows"] != (rows := "day totals" if way.totals else "lines"):
        out += ["--rows", rows]
    if way.day != "column" and layout["day"] != str(day):
        out += ["--day", str(day)]
    if way.tax is not None:
        out += ["--tax", str(way.tax)]
    return out


def taken(bar: Bar, want: Report, what: str, options: list[str], added: int, corrected: int = 0) -> None:
    answer = bar.json("sales", want.path, *options)
    said(answer, want.lines, want.skipped, what)
    assert answer["taken_in"], f"{what}: {answer}"
    # Two rows may come to a third by chance.
    odd = [warning for warning in answer["warnings"] if "head of a group" not in warning]
    assert not odd, f"{what}: {odd}"
    found = (answer["added"], answer["already"], answer["corrected"])
    assert found == (added, len(want.lines) - added - corrected, corrected), f"{what}: {found}"
