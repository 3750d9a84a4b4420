"""The count sheet on paper: every shelf of the demo bar in the order in which it stands, and no figure of the book."""

import csv
import re
from pathlib import Path

from pypdf import PdfReader

from bar import DEMO, Bar


def rows(name: str) -> list[dict]:
    with open(DEMO / name, newline="", encoding="utf-8-sig") as text:
        return list(csv.DictReader(text))


def walked(places: list[str]) -> list[str]:
    """The items of some places in walking order, each as often as it stands somewhere."""
    shelves = rows("shelves.csv")
    in_place = {place: [s for s in shelves if s["place"] == place] for place in places}
    return [shelf["item"] for place in places for shelf in sorted(in_place[place], key=lambda s: int(s["position"]))]


def read(path: Path) -> tuple[list[str], int]:
    """The rows of a sheet as they stand on paper, and its pages."""
    reader = PdfReader(path)
    text = "\n".join(page.extract_text(extraction_mode="layout") for page in reader.pages)
    return [" ".join(row.split()) for row in text.splitlines() if row.strip()], len(reader.pages)


def numbered(printed: list[str]) -> dict[int, str]:
    found = [re.match(r"(\d+) (\D.*)", row) for row in printed]
    return {int(row[1]): row[2] for row in found if row}


def holds(printed: list[str], items: list[str]) -> None:
    lines = numbered(printed)
    assert sorted(lines) == list(range(1, len(items) + 1)), f"numbers {sorted(lines)}"
    whole = {row["item"] for row in rows("stock.csv") if row["count_by"] == "whole"}
    strip = "1 2 3 4 5 6 7 8 9 F"
    for number, item in enumerate(items, 1):
        said = lines[number]
        assert said.startswith(item), f"line {number}: {said}, not {item}"
        rest = said[len(item) :]
        # Blind: besides the name only its size and the boxes.
        boxes = "" if item in whole else f" {strip} {strip}"
        assert re.fullmatch(rf"( [\d.]+ (ml|l|g|kg|pieces))?{boxes}", rest), f"line {number}: {said}"


def check(bar: Bar) -> str:
    bar.run("init", DEMO)
    places = [row["place"] for row in sorted(rows("places.csv"), key=lambda p: int(p["walk"]))]
    written = bar.json("count", "--sheet", "--into", "out")["written"]
    printed, pages = read(bar.folder / written)
    items = walked(places)
    holds(printed, items)
    heads = [row.split(" Date")[0] for row in printed if row.endswith("Initials")]
    assert heads == places, heads
    assert f"page {pages} of {pages}" in " ".join(printed)
    one = bar.json("count", "--sheet", "--place", places[0], "--into", "out")["written"]
    holds(read(bar.folder / one)[0], walked(places[:1]))
    return f"{len(items)} lines on {pages} pages stand as on the shelves, and blind"
