"""Suppliers' bills by independent writers, in four forms each: every line as it was written, each bill booked once, and
reckoned anew what came and what one container cost."""

import datetime
import json
import os
import random
import subprocess
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal as D
from fractions import Fraction
from pathlib import Path

from bar import NOW, ROOT, Bar
from bill_trade import PLACE, Sells, Supplier, bill, suppliers, write_book
from invoices import every_way
from sales import INIT, ZONE, half_even

BILLS = 48


@dataclass
class Charged:
    """A line as it counts for the bar: of a credit note everything with the other sign."""

    sold: Sells
    containers: Fraction
    cost: Fraction
    deposit: Fraction
    net: Fraction
    freight: Fraction = Fraction(0)


def charged(want: dict, picked: list[Sells]) -> list[Charged]:
    sign = -1 if want["is_credit_note"] else 1
    out = []
    for at, sold in zip(want["lines"], picked, strict=True):
        quantity, net = Fraction(at["quantity"]), Fraction(at["line_net"])
        deposits = [Fraction(c["amount"]) for c in at["allowances_charges"] if "pfand" in c["reason"].lower()]
        deposit = sum(deposits, Fraction(0))
        out.append(Charged(sold, sign * quantity * sold.each, sign * (net - deposit), sign * deposit, sign * net))
    return out


def apart(want: dict) -> tuple[Fraction, Fraction]:
    """What the whole bill charges: freight and the like, and deposits."""
    sign = -1 if want["is_credit_note"] else 1
    sums = {False: Fraction(0), True: Fraction(0)}
    for c in want["document_allowances_charges"]:
        amount = Fraction(c["amount"]) * (1 if c["charge"] else -1)
        sums["pfand" in c["reason"].lower()] += sign * amount
    return sums[False], sums[True]


def share(freight: Fraction, lines: list[Charged], sign: int) -> None:
    """Shares the freight out over the goods by what they cost, to the cent: rounded down, what is left goes one cent
    each to those that lost most, the first of equals first. What goes back takes no part."""
    goods = [line for line in lines if line.sold.is_item()]
    weights = [max(line.cost * sign, Fraction(0)) for line in goods]
    if not sum(weights):
        return
    cents = abs(freight) * 100
    exact = [cents * weight / sum(weights) for weight in weights]
    shares = [share // 1 for share in exact]
    lost = sorted(range(len(goods)), key=lambda n: (shares[n] - exact[n], n))
    for n in lost[: int(cents - sum(shares))]:
        shares[n] += 1
    for line, part in zip(goods, shares):
        line.freight = Fraction(part, 100) * (1 if freight > 0 else -1)


def check(bar: Bar) -> str:
    chance = random.Random(f"bills {bar.seed}")
    sellers = suppliers(chance)
    write_book(bar.folder / "book", sellers)
    bar.run(*INIT, bar.folder / "book")
    many = bar.folder / "bills"
    many.mkdir()
    deliveries, kept, lines, asked = [], [], 0, 0
    for n in range(1, BILLS + 1):
        supplier = chance.choice(sellers)
        want, picked = bill(chance, supplier, n)
        forms = {}
        for end, content in every_way(want, chance.choice(["cii.xml", "drafthorse.xml"])).items():
            forms[end] = many / f"{n}-{end}"
            forms[end].write_bytes(content)
            forms[end].with_suffix(".expected.json").write_text(json.dumps(want, ensure_ascii=False), "utf-8")
        of_whom = [] if supplier.known_by != "nothing" or supplier.bills[:-1] else ["--supplier", supplier.in_book]
        wanted = charged(want, picked)
        for path in forms.values():
            open_lines = looked_at(bar.json("receive", path, *of_whom), want, wanted, supplier, path)
        lines += len(picked) * len(forms)
        asked += len(open_lines)
        first, *rest = chance.sample(list(forms.values()), len(forms))
        shares = chance.random() < 0.4
        book(bar, first, want, wanted, open_lines, of_whom, shares)
        for path in rest:
            again(bar, path, want)
        deliveries += delivered(want, wanted, supplier, shares)
        kept.append((supplier.in_book, want["number"], want["is_credit_note"]))
    same_deliveries(bar, deliveries)
    rows = bar.dumped("bills.csv")
    found = sorted((row["supplier"], row["number"], row["kind"] == "credit note") for row in rows)
    assert found == sorted(kept), found
    read_by_field(many, BILLS * 4)
    return (
        f"{BILLS} bills in 4 forms each, {lines} lines read as they were written ({asked} had to be explained);"
        f" each booked once, {len(deliveries)} deliveries at the right price"
    )


def looked_at(answer: dict, want: dict, wanted: list[Charged], supplier: Supplier, path: Path) -> list[int]:
    """The bill is as it was written, and nothing in it is taken for something that it is not; the lines left open."""
    what = path.name
    kind = {"380": "invoice", "381": "credit note", "384": "corrected invoice"}[want["document_type"]]
    head = {
        "kind": kind,
        "number": want["number"],
        "issued": want["issue_date"],
        "due": want["due_date"],
        "delivered": want["delivery_date"],
        "order_reference": want["order_reference"],
        "preceding": want["preceding_invoices"],
        "currency": "EUR",
        "seller": supplier.name,
        "seller_vat_id": supplier.vat_id,
        "supplier": supplier.in_book,
        "booked_before": None,
    }
    for key, value in head.items():
        assert answer[key] == value, f"{what}: {key} is {answer[key]}, not {value}"
    # A correction asks one thing, and so does what goes back on an invoice, but for empties that are known to be deposits.
    goes_back = [found for found, at in zip(answer["lines"], want["lines"]) if at["quantity"].startswith("-")]
    questions = (kind == "corrected invoice") + sum(
        kind == "credit note" or found["is"] in ("question", "item") for found in goes_back
    )
    # Chance makes bills that are odd indeed: more than a wagon full, and the goods of a day that another bill brought.
    odd = ("containers of ", "are they charged twice?")
    problems = [problem for problem in answer["problems"] if not any(words in problem["what"] for words in odd)]
    wagon: Counter = Counter()
    for line, found in zip(wanted, answer["lines"]):
        if found["is"] == "item":
            wagon[line.sold.is_, line.containers < 0] += abs(line.containers)
    is_asked = sum("containers of " in problem["what"] for problem in answer["problems"])
    assert is_asked == sum(many > 1_000 for many in wagon.values()), f"{what}: {answer['problems']}"
    weights = Counter(problem["weight"] for problem in problems)
    assert weights == Counter({"question": questions} if questions else {}), f"{what}: {answer['problems']}"
    left = []
    assert len(answer["lines"]) == len(want["lines"]), what
    for n, (found, at, line) in enumerate(zip(answer["lines"], want["lines"], wanted)):
        pairs = {
            "line": at["id"],
            "name": at["name"],
            "code": at["seller_item_id"],
            "gtin": at["gtin"],
            "unit": at["unit_code"],
            "quantity": at["quantity"],
            "price": at["net_price"],
            "net": at["line_net"],
            "tax_percent": at["vat_percent"],
        }
        for key, value in pairs.items():
            is_figure = key in ("quantity", "price", "net", "tax_percent")
            same = D(found[key]) == D(value) if is_figure else found[key] == value
            assert same, f"{what} line {n + 1}: {key} is {found[key]}, not {value}"
        if found["is"] == "question":
            left.append(n)
            continue
        is_item = line.sold.is_item()
        right = ("item", line.sold.is_) if is_item else (line.sold.is_, None)
        assert (found["is"], found["item"]) == right, f"{what} line {n + 1}: taken for {found}"
        if is_item:
            assert found["containers"] == line.containers, f"{what} line {n + 1}: {found}, not {line.containers}"
    return left


def book(
    bar: Bar, path: Path, want: dict, wanted: list[Charged], open_lines: list[int], of_whom: list, shares: bool
) -> None:
    """Books a bill, with a word on each line that is open."""
    said = []
    for n in open_lines:
        sold = wanted[n].sold
        is_ = f"{sold.is_}*{abs(wanted[n].containers)}" if sold.is_item() else sold.is_
        said += ["--line", f"{want['lines'][n]['id']}={is_}"]
    options = ["--as-charged", "--book-it", "--all-the-same", *(["--share-freight"] if shares else [])]
    answer = bar.json("receive", path, *of_whom, *said, *options)
    freight, deposits = apart(want)
    sums = {"goods": Fraction(0), "deposits": deposits, "freight": freight, "not_stock": Fraction(0)}
    for line in wanted:
        if line.sold.is_item():
            sums["goods"] += line.cost
            sums["deposits"] += line.deposit
        else:
            sums["deposits" if line.sold.is_ == "deposit" else "not_stock"] += line.net
    for key, value in sums.items():
        assert Fraction(answer[key]["text"]) == value, f"{path.name}: {key} {answer[key]}, not {value}"
    whole = Fraction(want["totals"]["tax_exclusive"]) * (-1 if want["is_credit_note"] else 1)
    assert sum(sums.values()) == whole, f"{path.name}: {sums} are not {whole}"
    booked = answer["booked"]
    assert booked and booked["deliveries"] == len(by_item(wanted)), f"{path.name}: {booked}"
    assert not answer["claims"] and booked["claims"] == 0, f"{path.name}: {answer['claims']}"


def again(bar: Bar, path: Path, want: dict) -> None:
    """The same bill in another form is noticed, and not booked."""
    answer = bar.json("receive", path)
    assert answer["booked_before"], f"{path.name}: {want['number']} is booked, and was not noticed"
    done = bar.call("receive", path, "--as-charged", "--book-it", "--all-the-same")
    assert done.returncode == 1 and "was booked already" in done.stderr, f"{path.name}: {done.stdout}{done.stderr}"


def by_item(wanted: list[Charged]) -> dict[tuple, list[Charged]]:
    """Lines of one item are one delivery, apart from what goes back."""
    items: dict[tuple, list[Charged]] = {}
    for line in wanted:
        if line.sold.is_item():
            items.setdefault((line.sold.is_, line.containers < 0), []).append(line)
    return items


def delivered(want: dict, wanted: list[Charged], supplier: Supplier, shares: bool) -> list[tuple]:
    """The lines of `deliveries.csv` that a bill brings."""
    if shares:
        share(apart(want)[0], wanted, -1 if want["is_credit_note"] else 1)
    at = datetime.datetime.fromisoformat(NOW).astimezone(ZONE)
    if want["delivery_date"]:
        # The afternoon of the day on which it came.
        at = datetime.datetime.fromisoformat(f"{want['delivery_date']} 14:00")
    out = []
    for number, ((item, _), lines) in enumerate(by_item(wanted).items(), 1):
        containers = sum((line.containers for line in lines), Fraction(0))
        cost = sum((line.cost + line.freight for line in lines), Fraction(0))
        deposit = half_even(sum((line.deposit for line in lines), Fraction(0)) / containers, 2)
        price = half_even(cost / containers, 6)
        when = at.strftime("%Y-%m-%d %H:%M")
        key = (supplier.in_book, want["number"], number, when, item, PLACE)
        out.append((*key, containers, price, deposit if deposit > 0 else None))
    return out


def same_deliveries(bar: Bar, wanted: list[tuple]) -> None:
    found = [
        (
            row["supplier"],
            row["document"],
            int(row["line"]),
            row["at"],
            row["item"],
            row["place"],
            Fraction(row["containers"]),
            Fraction(row["unit_price"]),
            Fraction(row["deposit"]) if row["deposit"] else None,
        )
        for row in bar.dumped("deliveries.csv")
    ]
    odd, missing = Counter(found) - Counter(wanted), Counter(wanted) - Counter(found)
    assert not odd and not missing, "\n".join(map(str, [*list(odd)[:4], "should be", *list(missing)[:4]]))


def read_by_field(folder: Path, files: int) -> None:
    """What the JSON does not show (descriptions, charges, taxes, totals), by a test of the reader, which knows it."""
    test = ["cargo", "test", "--quiet", "--locked", "--test", "e_invoices", "--", "--ignored", "--nocapture"]
    environment = {**os.environ, "TANTALUS_INVOICES": str(folder)}
    done = subprocess.run(test, cwd=ROOT, env=environment, capture_output=True, text=True)
    said = (done.stdout + done.stderr)[-3000:]
    assert done.returncode == 0 and f"{files} bills" in done.stdout, f"field by field: {said}"
