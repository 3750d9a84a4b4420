"""Reports of tills as tables, in the dialects in which programs write them: by the csv module of Python and by pandas.

A `Dialect` is all that such a report does in its own way; `report` writes lines of sales so and knows what it wrote.
"""

import csv
import datetime
import io
import random
from collections import Counter
from dataclasses import dataclass, field, replace
from decimal import ROUND_HALF_UP
from decimal import Decimal as D
from fractions import Fraction
from pathlib import Path

import pandas
from sales import (
    HEADINGS,
    MONEY_ONLY,
    NO_SALE,
    NOTHING_IN_IT,
    NOTHING_SOLD,
    TOTALS,
    Sold,
    half_even,
    kept,
    moment,
    name_key,
    plain,
)

# What columns say: as `tantalus sales` calls it, but for the size, which is part of the name, and what is of no use.
COLUMNS = (
    "date|business day|time|date and time|receipt|line|name|size|article number|quantity"
    "|net|gross|tax|tax rate|kind|other|register"
)
# Their heads in some languages, and in those of a program that has its own.
HEADS = {
    "de": "Datum|Geschäftstag|Uhrzeit|Zeitpunkt|Bon-Nr.|Pos.-Nr.|Artikel|Größe|Art.-Nr.|Menge|Netto|Umsatz brutto|MwSt."
    "|MwSt.-Satz|Vorgangsart|Kellner|Kasse",
    "en": "Date|Business date|Time|Sold at|Check #|Line|Menu item|Size|PLU|Qty|Net sales|Gross|Tax"
    "|Tax rate|Type|Server|Till",
    "fr": "Date|Journée|Heure|Date et heure|N° ticket|Ligne|Désignation|Taille|Code article|Qté|Total HT|Montant TTC"
    "|TVA|Taux TVA|Nature|Serveur|N° caisse",
    "es": "Fecha|Jornada|Hora|Fecha y hora|Ticket|Línea|Artículo|Tamaño|Código|Unidades|Importe neto|Importe bruto"
    "|Cuota IVA|Tipo IVA|Tipo|Mesa|Caja",
    "own": "F_DT|F_BD|F_TM|F_TS|F_BN|F_LN|F_TX|F_SZ|F_AN|F_QT|F_AM1|F_AM2|F_AM3|F_RT|F_KD|F_X|F_RG",
}
HEADS = {language: dict(zip(COLUMNS.split("|"), heads.split("|"), strict=True)) for language, heads in HEADS.items()}
# Kinds of sales, and of what is none, in words of those languages.
KINDS = {
    "de": "Verkauf|Storno|Retoure|Einladung|Personal|Schulung|Trinkgeld|Bestellung",
    "en": "Sale|Void|Refund|Comp|Staff|Training|Tip|Order",
    "fr": "Vente|Annulation|Remboursement|Offert|Personnel|Formation|Pourboire|Commande",
    "es": "Venta|Anulación|Devolución|Invitación|Empleado|Formación|Propina|Pedido",
}
KIND = "sale|void|return|comp|staff|training|money|order".split("|")
KINDS = {language: dict(zip(KIND, words.split("|"), strict=True)) for language, words in KINDS.items()}
KINDS["own"] = KINDS["en"]
TOTAL = {"de": "Summe", "en": "Total", "fr": "Total général", "es": "Total", "own": "Grand total"}


@dataclass(frozen=True)
class Line:
    """What a till rang: prices with tax."""

    at: datetime.datetime
    day: datetime.date
    receipt: str
    place: int
    name: str
    size: str
    code: str
    quantity: D
    gross: D
    rate: D
    kind: str
    waiter: str
    register: str

    def net(self) -> D:
        return (self.gross / (1 + self.rate / 100)).quantize(D("0.01"), ROUND_HALF_UP)


@dataclass(frozen=True)
class Dialect:
    language: str
    columns: tuple
    delimiter: str
    encoding: str
    mark: str
    group: str
    coin: str
    minus: str
    dates: str
    times: str
    totals: bool
    page: int
    page_sums: bool
    by_pandas: bool
    quoting: int
    end: str
    # Whether a row says what it is.
    kinds: bool
    # What says the day: a column, the head of the page, or nobody; without a column a report is of one night.
    day: str
    # Percent of tax in the gross figures, where no column says it.
    tax: D | None = None

    def heads(self) -> list[str]:
        return [HEADS[self.language][column] for column in self.columns]


@dataclass
class Report:
    """What a report holds, and how it must be read."""

    path: Path
    # Figures of days among them may be nothing: `known_of` leaves out those of which nothing is known.
    lines: list[Sold]
    skipped: Counter
    # What each column is, in the words of the program.
    fields: list[str] = field(default_factory=list)


def known_of(lines: list[Sold], had: set[tuple[str, int]]) -> list[Sold]:
    """Without the figures of nothing of which the book knows nothing."""
    return [line for line in lines if line.quantity or line.net or (line.receipt, line.line) in had]


def number(dialect: Dialect, value: D, places: int, coin: bool = False) -> str:
    text = f"{abs(value):,.{places}f}"
    text = text.replace(",", "\0").replace(".", dialect.mark).replace("\0", dialect.group)
    if coin and dialect.coin:
        text = f"{text} {dialect.coin}" if dialect.mark == "," else f"{dialect.coin}{text}"
    return {"-": f"-{text}", "()": f"({text})", "after": f"{text}-"}[dialect.minus] if value < 0 else text


def cell(dialect: Dialect, column: str, line: Line) -> str:
    """A cell as the till's program writes it."""
    date = lambda day: day.strftime(dialect.dates)
    money = lambda value: number(dialect, value, 2, coin=True)
    places = 0 if line.quantity == int(line.quantity) else 3
    return {
        "date": lambda: date(line.day if dialect.totals else line.at.date()),
        "business day": lambda: date(line.day),
        "time": lambda: line.at.strftime(dialect.times),
        "date and time": lambda: f"{date(line.at.date())} {line.at.strftime(dialect.times)}",
        "receipt": lambda: line.receipt,
        "line": lambda: str(line.place),
        "name": lambda: line.name,
        "size": lambda: line.size,
        "article number": lambda: line.code,
        "quantity": lambda: number(dialect, line.quantity, places),
        "net": lambda: money(line.net()),
        "gross": lambda: money(line.gross),
        "tax": lambda: money(line.gross - line.net()),
        "tax rate": lambda: f"{number(dialect, line.rate, 0)} %",
        "kind": lambda: KINDS[dialect.language][line.kind],
        "other": lambda: line.waiter,
        "register": lambda: line.register,
    }[column]()


def report(dialect: Dialect, lines: list[Line], path: Path, codes: dict[str, str]) -> Report:
    """Writes lines of sales; those of a till that sums up are summed first. `codes` has the numbers of the articles
    that the book knows by their names."""
    rows = summed(dialect, lines) if dialect.totals else lines
    made = Report(path, [], Counter())
    made.fields = [{"size": "name", "other": "ignore"}.get(column, column) for column in dialect.columns]
    if dialect.by_pandas:
        made.fields.insert(0, "ignore")
        made.skipped[HEADINGS] += 1
        path.write_bytes(by_pandas(dialect, rows))
    else:
        path.write_bytes(by_csv(dialect, rows, made.skipped))
    understood(dialect, rows, made, codes)
    return made


def by_csv(dialect: Dialect, rows: list[Line], skipped: Counter) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, delimiter=dialect.delimiter, lineterminator=dialect.end, quoting=dialect.quoting)
    width = len(dialect.columns)
    padded = lambda *cells: writer.writerow([*cells, *[""] * (width - len(cells))])
    quantity = dialect.columns.index("quantity")
    money = [n for n, column in enumerate(dialect.columns) if column in ("net", "gross")][:1]

    def sums(of: list[Line]) -> None:
        row = [""] * width
        row[0] = TOTAL[dialect.language]
        row[quantity] = number(dialect, sum((line.quantity for line in of), D(0)), 0)
        for n in money:
            column = dialect.columns[n]
            amounts = [line.net() if column == "net" else line.gross for line in of]
            row[n] = number(dialect, sum(amounts, D(0)), 2, coin=True)
        writer.writerow(row)
        skipped[TOTALS] += 1

    if dialect.day == "page":
        padded(f"{TOTAL[dialect.language]} {rows[0].day.strftime(dialect.dates)}")
        skipped[HEADINGS] += 1
    pages = [rows[n : n + dialect.page] for n in range(0, len(rows), dialect.page)] if dialect.page else [rows]
    for n, page in enumerate(pages, 1):
        if dialect.page:
            padded("Zur Grauen Möwe")
            padded(f"Seite {n}")
            padded()
            skipped[HEADINGS] += 2
            skipped[NOTHING_IN_IT] += 1
        writer.writerow(dialect.heads())
        skipped[HEADINGS] += 1
        for line in page:
            writer.writerow([cell(dialect, column, line) for column in dialect.columns])
        if dialect.page and dialect.page_sums:
            sums(page)
            padded()
            skipped[NOTHING_IN_IT] += 1
    if not (dialect.page and dialect.page_sums):
        sums(rows)
    return text.getvalue().encode(dialect.encoding)


def by_pandas(dialect: Dialect, rows: list[Line]) -> bytes:
    """Figures as floating numbers and times as such, with the number of each row in front, as pandas does it."""
    figures = {
        "quantity": lambda line: float(line.quantity),
        "net": lambda line: float(line.net()),
        "gross": lambda line: float(line.gross),
        "tax": lambda line: float(line.gross - line.net()),
        "tax rate": lambda line: float(line.rate),
        "date and time": lambda line: pandas.Timestamp(line.at),
        "article number": lambda line: line.code or None,
    }
    table = {
        head: [figures.get(column, lambda line: cell(dialect, column, line))(line) for line in rows]
        for head, column in zip(dialect.heads(), dialect.columns)
    }
    out = io.BytesIO()
    pandas.DataFrame(table).to_csv(
        out,
        sep=dialect.delimiter,
        decimal=dialect.mark,
        encoding=dialect.encoding,
        quoting=dialect.quoting,
        lineterminator=dialect.end,
        date_format=f"{dialect.dates} {dialect.times}",
    )
    return out.getvalue()


def summed(dialect: Dialect, lines: list[Line]) -> list[Line]:
    """The figures of each day by name, and by kind where rows say it."""
    sums: dict[tuple, Line] = {}
    for line in lines:
        register = line.register if "register" in dialect.columns else ""
        key = (line.day, line.name, line.size, line.code, line.kind if dialect.kinds else "", register)
        had = sums.get(key)
        if had:
            line = replace(had, quantity=had.quantity + line.quantity, gross=had.gross + line.gross)
        sums[key] = line
    return list(sums.values())


def understood(dialect: Dialect, rows: list[Line], made: Report, codes: dict[str, str]) -> None:
    """What is to come of the rows: as docs/files-in.md says it."""
    has = lambda column: column in dialect.columns
    timed = not dialect.totals and (has("time") or has("date and time"))
    places: Counter = Counter()
    left: Counter = Counter()
    totals: dict[str, Sold] = {}

    def called(name: str, code: str) -> str:
        """Of two articles of one name the second is called by its number too."""
        first = codes.setdefault(name.lower(), code) if has("article number") and code else code
        return name if first == code else f"{name} #{code}"

    for line in rows:
        net = Fraction(line.net())
        if not has("net") and not has("tax"):
            net = half_even(Fraction(line.gross) / (1 + Fraction(line.rate) / 100), 2)
        if line.kind in ("money", "order"):
            made.skipped[MONEY_ONLY if line.kind == "money" else NO_SALE] += 1
            continue
        if line.quantity == 0 and net == 0 and not dialect.totals:
            made.skipped[NOTHING_SOLD] += 1
            continue
        when = moment(clocked(dialect, line.at))
        if not timed:
            evening = datetime.datetime.combine(line.day, datetime.time(20))
            when = moment(evening)
        name = kept(f"{line.name} {line.size}" if has("size") else line.name)
        quantity = Fraction(line.quantity)
        if line.name.startswith("Rabatt") and net < 0:
            quantity = Fraction(0)
        register = "/" + line.register.replace("%", "%25").replace(" ", "%20") if has("register") else ""
        if dialect.totals:
            kind = line.kind if dialect.kinds else "sale"
            code = f" #{line.code}" if has("article number") and line.code else ""
            said = f"{kind} " if kind != "sale" else ""
            key = f"{said}day {line.day}{register} {name_key(name)}{code}"
            had = totals.get(key)
            if had:
                quantity, net = quantity + had.quantity, net + had.net
            kind = "return" if kind == "sale" and quantity < 0 else kind
            totals[key] = Sold(key, 1, plain(when), called(name, line.code), quantity, net, kind)
            continue
        if has("receipt"):
            receipt = f"{day_of_key(dialect, line)}{register} {line.receipt}"
        elif timed:
            receipt = f"{when:%Y-%m-%dT%H:%M:%S}{register} {name_key(name)}"
        else:
            receipt = f"{line.day}{register} {name_key(name)}"
        places[receipt] += 1
        place = line.place if has("line") and has("receipt") else places[receipt]
        # A receipt may be open over midnight.
        on_it = (line.day, register, line.receipt, name_key(name))
        kind = line.kind
        if not dialect.kinds:
            kind = "sale"
            if quantity < 0:
                kind = "void" if left[on_it] >= -quantity else "return"
                left[on_it] += quantity if kind == "void" else 0
            elif has("receipt"):
                left[on_it] += quantity
        made.lines.append(Sold(kept(receipt), place, plain(when), called(name, line.code), quantity, net, kind))
    made.lines += totals.values()


def day_of_key(dialect: Dialect, line: Line) -> str:
    """The day that a receipt is known by: its line's own date, before six in the morning apart; of a table that has only
    business days, those."""
    if not {"date", "date and time"} & {*dialect.columns}:
        return str(line.day)
    return f"{line.at.date()}-early" if line.at.hour < 6 else str(line.at.date())


def clocked(dialect: Dialect, at: datetime.datetime) -> datetime.datetime:
    """A time as far as the table says it."""
    return at if "%S" in dialect.times else at.replace(second=0)


def dialect(chance: random.Random) -> Dialect:
    """Any dialect that a table can be told from."""
    pick = chance.choice
    language, totals = pick([*HEADS]), chance.random() < 0.3
    by_pandas = chance.random() < 0.25
    kinds = chance.random() < 0.5
    day = chance.choices(["column", "page", "nobody"], [16, 1, 1])[0]
    by_pandas = by_pandas and day != "page"
    if totals:
        columns = [pick(["date", "business day"])] if day == "column" else []
    else:
        both = ("date", "business day", "time")
        ways = [("date", "time"), ("business day", "time"), ("date and time",), ("business day",), both]
        columns = [*pick(ways)] if day == "column" else ["time"]
        columns += pick([["receipt"], ["receipt"], ["receipt", "line"], []])
    columns += pick([["article number", "name"], ["name"], ["name", "size"], ["name", "article number"]])
    columns += ["register"] if chance.random() < 0.3 else []
    columns += ["quantity"]
    taxes = pick(["net", "net", "net gross", "gross rate", "gross tax", "gross"])
    columns += {"gross rate": ["tax rate", "gross"]}.get(taxes, taxes.split())
    columns += (["kind"] if kinds else []) + (["other"] if chance.random() < 0.5 else [])
    mark = pick([".", ","])
    delimiter = pick([";", "\t", "|", ","] if mark == "." else [";", ";", "\t", "|", ","])
    plain_numbers = chance.random() < 0.5
    dates = pick(["%d.%m.%Y", "%d/%m/%Y", "%d.%m.%y", "%Y-%m-%d", "%m/%d/%Y", "%d %b %Y"])
    times = pick(["%H:%M", "%H:%M:%S", "%I:%M %p" if dates == "%m/%d/%Y" else "%H:%M"])
    return Dialect(
        language=language,
        columns=tuple(columns),
        delimiter=delimiter,
        encoding=pick(["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252", "cp1252"]),
        mark=mark,
        group="" if plain_numbers or by_pandas else pick(["." if mark == "," else ",", "'", "\u00a0"]),
        coin="" if plain_numbers or by_pandas else pick(["", "€"]),
        minus="-" if plain_numbers or by_pandas else pick(["-", "()", "after"]),
        dates=dates,
        times=times,
        totals=totals,
        page=0 if by_pandas else pick([0, 0, 25, 40]),
        page_sums=chance.random() < 0.5,
        by_pandas=by_pandas,
        quoting=pick([csv.QUOTE_MINIMAL, csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
        end=pick(["\r\n", "\n"]),
        kinds=kinds,
        day=day,
        tax=D(19) if taxes == "gross" else None,
    )
