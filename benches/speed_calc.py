"""Seconds that LibreOffice takes to reckon the last week's variance anew, in a workbook made of the same plain files.

    /usr/bin/python3 benches/speed_calc.py FOLDER

FOLDER has the plain files of the made-up bar. One sheet each holds the week's sales, the specs, and everything counted,
delivered, lost and made; for each item formulas add up what there was, came and is left, and what the specs say was sold.
All formulas are reckoned anew five times after a first time that does not count; the median is said. Needs the Debian
packages libreoffice-calc and python3-uno.
"""

import csv
import datetime
import pathlib
import subprocess
import sys
import tempfile
import time

import uno

FOLDER = pathlib.Path(sys.argv[1])
SIZE = 700.0


def table(name):
    with open(FOLDER / f"{name}.csv", newline="", encoding="utf-8") as file:
        yield from csv.DictReader(file)


def last_full_counts():
    """The names of the last two full counts, and when they began."""
    begun = {}
    for line in table("counts"):
        if line["count"].endswith("full"):
            begun.setdefault(line["count"], line["at"])
    names = sorted(begun, key=begun.get)[-2:]
    return names, [begun[name] for name in names]


class Office:
    """A LibreOffice without a window."""

    def __init__(self, folder):
        profile = pathlib.Path(folder, "profile").as_uri()
        self.process = subprocess.Popen(
            ["soffice", f"-env:UserInstallation={profile}", "--headless", "--norestore", "--nologo", "--nodefault",
             "--accept=pipe,name=bench;urp;"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
        for _ in range(240):
            try:
                context = resolver.resolve("uno:pipe,name=bench;urp;StarOffice.ComponentContext")
                break
            except Exception:  # it has not come up yet, whatever it says to that
                time.sleep(0.25)
        else:
            sys.exit("LibreOffice did not come up within a minute")
        self.desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)

    def close(self):
        try:
            self.desktop.terminate()
        except Exception:  # the line is cut as it goes
            pass
        self.process.wait(30)


def sheet(doc, name, rows):
    """A new sheet with rows of texts and numbers from its first cell on; how many there are."""
    doc.Sheets.insertNewByName(name, doc.Sheets.Count)
    if rows:
        block = doc.Sheets.getByName(name).getCellRangeByPosition(0, 0, len(rows[0]) - 1, len(rows) - 1)
        block.setDataArray(tuple(tuple(row) for row in rows))
    return max(len(rows), 1)


def main():
    (opening, closing), (since, until) = last_full_counts()
    within = lambda line: since < line["at"] <= until
    amount = lambda line: SIZE * float(line["full"]) + sum(SIZE * float(part) for part in line["open"].split())
    counted = lambda name: [(line["item"], amount(line)) for line in table("counts") if line["count"] == name]
    ml = lambda text: float(text.split()[0])
    made_of = {line["item"]: (line["ingredient"], ml(line["quantity"]) / ml(line["yields"])) for line in table("house")}
    batches = [line for line in table("batches") if within(line)]
    flows = [(line["item"], SIZE * float(line["containers"])) for line in table("deliveries") if within(line)]
    flows += [(line["item"], ml(line["made"])) for line in batches]
    flows += [(made_of[line["item"]][0], -ml(line["made"]) * made_of[line["item"]][1]) for line in batches]
    flows += [(line["item"], -ml(line["quantity"])) for line in table("losses") if within(line)]
    sales = [(line["sold_as"], float(line["quantity"])) for line in table("sales") if within(line)]
    named = {line["drink"]: line["sold_as"] for line in table("pos")}
    specs = [(line["ingredient"], named[line["drink"]], ml(line["quantity"])) for line in table("specs")]
    items = [line["item"] for line in table("stock")]
    with tempfile.TemporaryDirectory() as folder:
        office = Office(folder)
        try:
            doc = office.desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, ())
            doc.enableAutomaticCalculation(False)
            sold = sheet(doc, "Sales", sales)
            ends = [sheet(doc, name, counted(count)) for name, count in (("Opening", opening), ("Closing", closing))]
            moved = sheet(doc, "Flows", flows)
            parts = sheet(doc, "Specs", specs)
            of_specs = doc.Sheets.getByName("Specs").getCellRangeByPosition(3, 0, 3, parts - 1)
            of_specs.setFormulaArray(tuple(
                (f"=C{n}*SUMIFS($Sales.$B$1:$B${sold};$Sales.$A$1:$A${sold};B{n})",) for n in range(1, parts + 1)))
            sheet(doc, "Variance", [(item,) for item in items])
            of = lambda name, last, n: f"SUMIFS(${name}.$B$1:$B${last};${name}.$A$1:$A${last};A{n})"
            rows = tuple(
                (
                    "=" + of("Opening", ends[0], n), "=" + of("Flows", moved, n), "=" + of("Closing", ends[1], n),
                    f"=B{n}+C{n}-D{n}", f"=SUMIFS($Specs.$D$1:$D${parts};$Specs.$A$1:$A${parts};A{n})", f"=E{n}-F{n}",
                )
                for n in range(1, len(items) + 1))
            block = doc.Sheets.getByName("Variance").getCellRangeByPosition(1, 0, 6, len(items) - 1)
            block.setFormulaArray(rows)
            times = []
            for _ in range(6):
                begun = time.perf_counter()
                doc.calculateAll()
                times.append(time.perf_counter() - begun)
            gap = sum(row[5] for row in block.getDataArray())
            used = sum(row[3] for row in block.getDataArray())
            print(f"{len(items)} items, {len(sales)} lines of sales, used {used:.0f} ml, gap {gap:.0f} ml", file=sys.stderr)
            doc.close(True)
        finally:
            office.close()
    print(sorted(times[1:])[2])


main()
