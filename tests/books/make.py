#!/usr/bin/env python3
"""Makes the two books of one version with the program as it stood then; the README beside this file says with which.

    make.py PROGRAM VERSION TREE OUT

PROGRAM is the built binary, TREE the sources that it was built of, OUT the folder that the books go into. Needs pyte.
"""

import csv
import datetime
import fcntl
import gzip
import os
import pathlib
import pty
import re
import select
import shutil
import sqlite3
import struct
import subprocess
import sys
import tempfile
import termios
import time

import pyte

PROGRAM, VERSION, TREE, OUT = sys.argv[1], int(sys.argv[2]), pathlib.Path(sys.argv[3]), pathlib.Path(sys.argv[4])
SAMPLES = pathlib.Path(__file__).resolve().parent.parent / "samples"
# Half past one after the last evening of the demo's trade.
NOW = "2026-11-23T01:30:00-01:00"
# What is kept of the demo's facts: from one full count to the next.
WEEKS = 1
# The column that says when, in each file of facts.
TIMES = {
    "sales.csv": "at", "counts.csv": "at", "deliveries.csv": "at", "losses.csv": "at", "transfers.csv": "at",
    "batches.csv": "at", "weighings.csv": "at", "orders.csv": "placed",
}


def cut(source, target):
    """Copies plain files, of the facts the last weeks only."""
    target.mkdir()
    newest = max(row["at"] for row in read(source / "sales.csv"))
    since = datetime.datetime.fromisoformat(newest).date() - datetime.timedelta(weeks=WEEKS)
    for file in sorted(source.glob("*.csv")):
        rows, column = read(file), TIMES.get(file.name)
        if column:
            rows = [row for row in rows if not row[column] or row[column] >= since.isoformat()]
        with open(target / file.name, "w", newline="") as out:
            writer = csv.DictWriter(out, fieldnames=list(read(file)[0]), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


def read(file):
    with open(file, newline="", encoding="utf-8-sig") as text:
        return list(csv.DictReader(text))


class Bar:
    """A book and the program that made it."""

    def __init__(self, home, by):
        self.home, self.by = home, by
        self.environment = {
            "PATH": os.environ["PATH"], "HOME": str(home), "TERM": "xterm-256color", "LINES": "40", "COLUMNS": "120",
            "TANTALUS_NOW": NOW, "TANTALUS_BOOK": str(home / "bar.tantalus"), "TANTALUS_BY": by, "NO_COLOR": "1",
        }

    def run(self, *words, may_fail=False, typed=None):
        done = subprocess.run(
            [PROGRAM, *map(str, words)], env=self.environment, cwd=self.home, capture_output=True, text=True, input=typed
        )
        if done.returncode != 0 and not may_fail:
            sys.exit(f"version {VERSION}: {words}: {done.stderr}")
        return done.stdout + done.stderr

    def screens(self):
        return Screens(self)

    def put(self, name, files):
        """Loads a folder of the files given."""
        folder = self.home / name
        folder.mkdir()
        for file, text in files.items():
            (folder / file).write_text(text)
        self.run("load", folder)


class Screens:
    """The screens in a pseudo-terminal."""

    def __init__(self, bar):
        child, self.terminal = pty.fork()
        if child == 0:
            os.chdir(bar.home)
            os.execve(PROGRAM, [PROGRAM], bar.environment)
        self.child = child
        fcntl.ioctl(self.terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
        self.screen = pyte.Screen(120, 40)
        self.stream = pyte.ByteStream(self.screen)
        self.until("Tonight")

    def catch_up(self, wait):
        while select.select([self.terminal], [], [], wait)[0]:
            try:
                self.stream.feed(os.read(self.terminal, 65536))
            except OSError:
                return

    def shown(self):
        return "\n".join(self.screen.display)

    def until(self, text):
        for _ in range(200):
            self.catch_up(0.1)
            if text in self.shown():
                return
        sys.exit(f"version {VERSION}: “{text}” is not shown:\n{self.shown()}")

    def press(self, keys, until=None):
        os.write(self.terminal, keys.encode())
        if until:
            self.until(until)
        else:
            # Longer than the pause that tells fingers from a scanner; Esc and a key right after it would be one key with Alt.
            self.catch_up(1.5 if keys == "\x1b" else 0.5)

    def leave(self):
        self.press("\x03")
        os.waitpid(self.child, 0)


def evening(bar):
    """A loss and one taken back, a walk along the rail, an order sent and received, a draft, a count left open."""
    s = bar.screens()
    s.press("L", "new loss")
    for name, quantity, note in [("Ostelbrine", "60 ml", "knocked over"), ("Ostelbrine", "20 ml", "no, it was not")]:
        for keys in ["a", f"{name}\r", f"{quantity}\r", "b\r", "S\r", "\r", f"{note}\r"]:
            s.press(keys)
        s.until("written down")
    s.press("u")
    if "taken back" not in s.shown():
        s.press("\r", "taken back")
    s.press("C", "Choose what to walk")
    s.press("j")
    s.press("\r", "0 of 27 lines")
    if "one key," in s.shown():
        s.press("m", "typed,")
    s.press("1.4\r", "1 of 27")
    s.press("9.9\r", "2 of 27")
    s.press("u", "taken back")
    s.press(".5\r", "2 of 27")
    s.press(".6\r", "3 of 27")
    s.press("900g" if VERSION >= 2 else ".9")
    s.press("\r", "4 of 27")
    for n in range(5, 28):
        s.press("\r", f"{n} of 27")
    s.press("d", "is done")
    s.press("x", "A closed count is not changed any more" if VERSION < 11 else "Once closed it stays as it is")
    s.press("\r", "the count is closed and kept")
    s.catch_up(0.3)
    if "Weigh them now?" in s.shown():
        s.press("\r", "type weight")
        s.press("900\r")
        s.press("\x1b", "as sold")
    s.press("O", "suggested")
    s.press("x", "Enter")
    s.press("\r", "marked as sent")
    s.press("R", "rest as ordered")
    for keys in ["0\r", "A", "\r", "x"]:
        s.press(keys)
    s.press("\r", "What of the rest?")
    s.press("\r", "booked into stock")
    if VERSION < 11:
        s.press("O", "suggested")
    else:
        # What was sent is on its way; the supplier before is still to be ordered from.
        s.press("O", "on its way")
        s.press("p", "suggested")
    s.press("+")
    if VERSION >= 10:
        # Sent, and one line of it looked at before it is taken in.
        s.press("p", "suggested")
        s.press("x", "Enter")
        s.press("\r", "marked as sent")
        s.press("R", "rest as ordered")
        s.press("0\r")
    if VERSION >= 3:
        s.press("H")
        s.press("b")
        for keys in ["\r", "\r", "\r"]:
            s.press(keys)
        s.press("\x1b")
    if VERSION >= 6:
        s.press("V", "as sold")
        s.press("z")
        for note in ["found out", "found out too"]:
            for keys in ["a", "\r", f"{note}\r", "\r"]:
                s.press(keys)
    s.press("C", "Choose what to walk")
    if VERSION >= 9:
        # Begun by mistake, and given up.
        s.press("\r", "0 of ")
        s.press("B", "count begun")
        for keys in ["u", "\r"]:
            s.press(keys)
        s.press("C", "Choose what to walk")
        if "given up" in s.shown():
            s.press("\x1b")
    s.press("\r", "0 of ")
    if "one key," in s.shown():
        s.press("m", "typed,")
    s.press("1.2\r", "1 of ")
    s.press(".8\r", "2 of ")
    s.leave()


SALES = (
    "Date;Time;Receipt;Item;Quantity;Net\n2026-11-22;21:14;90001;HOUSE PUNCH DBL;2;21.00\n"
    "2026-11-22;21:20;90002;BAG;1;0.10\n;;;Total;3;21.10\n"
)


def papers(bar):
    """Sales out of files, one taken back; bills, one taken back; a claim settled."""
    (bar.home / "week 47.csv").write_text(SALES)
    bar.run("sales", "week 47.csv", "--keep-as", "Evening")
    bar.run("sales", "--means", "BAG=")
    # Holds a line of the first one too.
    line = "2026-11-22;21:40;90003;HOUSE PUNCH DBL;1;10.50"
    (bar.home / "night.csv").write_text(SALES.replace(";;;Total;3;21.10", f"{line}\n;;;Total;4;31.60"))
    bar.run("sales", "night.csv", "--all-the-same")
    (bar.home / "again.csv").write_text(SALES.replace("9000", "8000").replace("Total", "Sum"))
    bar.run("sales", "again.csv")
    (bar.home / "menu.csv").write_text(SALES.replace("2026-11-22", "2026-11-21").replace("9000", "7000"))
    bill = (SAMPLES / "bill-of-the-demo.xml").read_text()
    (bar.home / "bill.xml").write_text(bill)
    (bar.home / "again.xml").write_text(bill.replace("HB 2026/118", "HB 2026/119"))
    s = bar.screens()
    s.press("I", "on the till")
    s.press("i")
    s.press("u")
    if "taken back" not in s.shown():
        s.press("\r", "taken back")
    s.press("\x1b")
    s.press("f")
    s.press(f"{bar.home / 'menu.csv'}\r", "as they would be taken in")
    s.press("a")
    s.press("\r")
    s.leave()
    book_bill(bar, "bill.xml")
    book_bill(bar, "again.xml")
    bar.run("receive", "--take-back", "HB 2026/119", "--supplier", "Haldervane")
    s = bar.screens()
    s.press("R")
    s.press("m")
    s.press("s")
    s.press("credit note 7\r")
    s.leave()


def book_bill(bar, name):
    """Receives by a bill: the new item is none of ours, one container less came than is charged."""
    words = ["receive", name, "--supplier", "Haldervane", "--answers", "none", "--line", "9=not-stock", "--line", "10=not-stock",
             "--line", "8=deposit", "--came", "Dunsarra 12-Year Rum=11", "--as-charged", "--all-the-same", "--book-it"]
    print(bar.run(*words))


def undo_eighth(connection):
    """Takes out of a book of version 8 what the eighth step put in."""
    for sql in re.findall(r"CREATE (TABLE|TRIGGER|INDEX) (\w+)", (TREE / "migrations" / "0008_day_totals.sql").read_text())[::-1]:
        connection.execute("DROP {} {}".format(*sql))
    connection.execute("PRAGMA user_version = 7")
    connection.commit()


def pack(bar, name):
    """Checks, dumps and compresses the book; a copy of the file alone must be the whole of it."""
    print(bar.run("check"))
    bar.run("dump", bar.home / "dump")
    book = bar.home / "bar.tantalus"
    connection = sqlite3.connect(book)
    if VERSION == 7:
        undo_eighth(connection)
    assert connection.execute("PRAGMA user_version").fetchone() == (VERSION,)
    tables = [row[0] for row in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
    empty = {t for t in tables if not connection.execute(f"SELECT count(*) FROM {t}").fetchone()[0]}
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    with gzip.GzipFile(OUT / f"{name}.tantalus.gz", "wb", 9, mtime=0) as out:
        out.write(book.read_bytes())
    dump = bytearray()
    for file in sorted((bar.home / "dump").iterdir()):
        dump += f"=== {file.name}\n".encode() + file.read_bytes()
    with gzip.GzipFile(OUT / f"{name}.dump.gz", "wb", 9, mtime=0) as out:
        out.write(dump)
    print(f"{name}: empty {sorted(empty)}", *((OUT / f"{name}.{kind}.gz").stat().st_size for kind in ["tantalus", "dump"]))
    return empty


def main():
    OUT.mkdir(parents=True, exist_ok=True)
    home = pathlib.Path(tempfile.mkdtemp())
    (home / "demo").mkdir()
    # From 9 on a counter changes no set-up.
    bar = Bar(home / "demo", "OM" if VERSION >= 9 else "TV")
    cut(TREE / "demo-data", bar.home / "plain")
    bar.run("init", bar.home / "plain")
    if VERSION >= 7:
        offers = "supplier,item,pack,price,mixed\nHaldervane Bonded Stores,{},1,20.00,Bitters 6\n"
        bar.put("mixed", {"offers.csv": offers.format("Zestrigo Orange Bitters")})
    evening(bar)
    if VERSION >= 5:
        papers(bar)
    if VERSION >= 9:
        bar.run("people", "pin", "TV", typed="1357\n")
    empty = pack(bar, f"v{VERSION}-bar")
    (home / "small").mkdir()
    small = Bar(home / "small", "AB")
    small.run("init", TREE / "tests" / "good_folder")
    empty &= pack(small, f"v{VERSION}-small")
    print(f"version {VERSION}: in neither book: {sorted(empty)}")
    shutil.rmtree(home)


main()
