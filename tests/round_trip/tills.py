"""Exports of tills by an independent writer, into a fresh book and out again: every line, and what was passed over."""

import datetime
import random

import till_export
from bar import Bar
from sales import INIT, said, same
from till_bar import season
from till_receipts import Names, written

# Nights around both changes of the clock, and any others.
SEASONS = [datetime.date(2026, 10, 21), datetime.date(2026, 3, 26), datetime.date(2026, 7, 3)]
DAYS = 8


def check(bar: Bar) -> str:
    chance = random.Random(f"tills {bar.seed}")
    files = lines = passed_over = 0
    for n, first in enumerate(SEASONS):
        this = bar.another(f"season-{n}")
        this.run(*INIT)
        closings = season(chance, first, DAYS)
        half, names = len(closings) * 3 // 5, Names()
        # Two exports that have some closings in common.
        earlier, later = closings[:half], closings[half - 4 :]
        first_file = till_export.export(earlier, this.folder / "Früher.zip")
        later_file = till_export.export(later, this.folder / "später.zip")
        had = written(earlier, names)
        taken(this, first_file, had, added=len(had.lines))
        same(this, had.lines, "the first export")
        taken(this, first_file, had, added=0)
        taken(this, till_export.unpacked(first_file, this.folder / "Ordner"), had, added=0)
        more = written(later, names)
        new = [line for line in more.lines if line not in set(had.lines)]
        taken(this, later_file, more, added=len(new))
        same(this, had.lines + new, "two exports that overlap")
        everything = till_export.export(closings, this.folder / "alles.zip")
        whole = written(closings, names)
        taken(this, till_export.in_ansi(everything, this.folder / "ansi.zip"), whole, added=0)
        taken(this, everything, whole, added=0)
        same(this, whole.lines, "all exports")
        files += 6
        lines += len(had.lines) * 3 + len(more.lines) + len(whole.lines) * 2
        passed_over += sum(whole.skipped.values())
    return f"{files} exports, {lines} lines read as they were written, {passed_over} passed over for the right reason"


def taken(bar: Bar, path, want, added: int) -> None:
    answer = bar.json("sales", path)
    what = f"{bar.folder.name}, {path.name}"
    said(answer, want.lines, want.skipped, what)
    found = (answer["added"], answer["already"], answer["first_day"], answer["last_day"], len(answer["warnings"]))
    first, last = (day.isoformat() for day in want.days)
    wanted = (added, len(want.lines) - added, first, last, want.warnings)
    assert found == wanted, f"{what}: {found}, not {wanted}: {answer['warnings']}"
