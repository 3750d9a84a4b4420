#!/usr/bin/python3
"""The six tasks of benches/keystrokes.rs, done in a well-made spreadsheet and reckoned in the same way.

    /usr/bin/python3 benches/keystrokes_calc.py [--docs] [--keep FOLDER]

It needs the Debian packages libreoffice-calc, python3-uno, xvfb and xdotool; the Python must be the one that python3-uno
belongs to. The workbook is made of demo-data/, opened in LibreOffice Calc on a screen of its own, and real keys are sent
to it. After each task the cells are asked whether they hold what they should, and whether the file is saved. `--docs`
writes the table into docs/keystrokes.md, `--keep` leaves the workbooks in a folder to be looked at.

Keystroke-Level Model of Card, Moran and Newell, Communications of the ACM 23(7), 1980: 0.20 s for a key, 1.35 s for a
thought. Thoughts are placed as in benches/keystrokes.rs: before each step that is chosen and before what is read off a
bottle or a delivery note, not between the keys of a word or figure, nor before the key that ends one. A key pressed with
Ctrl, Alt or Shift held down is one key, as it is there. No task is quicker with the mouse, so no hand leaves the keys.

Wherever the sheet could be dearer or cheaper, it was taken to be cheaper: it is open, with the cursor where the last
entry left it; the sheets that are used lie beside each other; saving is a key without a thought.
"""

import argparse
import csv
import datetime
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter, defaultdict
from pathlib import Path

try:
    import uno
    from com.sun.star.beans import PropertyValue
    from com.sun.star.sheet.ConditionOperator import GREATER_EQUAL
    from com.sun.star.sheet.GeneralFunction import COUNTNUMS
    from com.sun.star.sheet.ValidationAlertStyle import STOP, WARNING
    from com.sun.star.sheet.ValidationType import DECIMAL, LIST
except ImportError:
    sys.exit("This Python has no uno: install python3-uno and run it with /usr/bin/python3.")

PROJECT = Path(__file__).resolve().parent.parent
DATA = PROJECT / "demo-data"

# Seconds of a key and of a thought (Card, Moran and Newell 1980, figure 1).
KEY = 0.20
THOUGHT = 1.35

# How long anything may take to show before the run is given up.
PATIENCE = 30.0


# --- what is in the workbook ---


def table(name):
    with open(DATA / f"{name}.csv", encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


# The bar's own measures, in millilitres (the sizes that a new book of the program has).
MEASURES = {"ml": 1, "cl": 10, "l": 1000, "g": 1, "kg": 1000, "each": 1, "dash": 0.92, "barspoon": 5}


def amount(quantity):
    """A quantity of the plain files as a bare number in ml, g or pieces."""
    number, unit = quantity.split()
    return float(number) * MEASURES[unit]


def business_day(at):
    """The day of trade that a moment belongs to: a night belongs to the evening before, until five."""
    moment = datetime.datetime.fromisoformat(at)
    return (moment - datetime.timedelta(hours=5)).date()


def serial(day):
    """A date as the number that a spreadsheet keeps for it."""
    return float((day - datetime.date(1899, 12, 30)).days)


class Bar:
    """What the demo's files say, as far as an owner would keep it in a workbook."""

    def __init__(self):
        self.places = [row["place"] for row in sorted(table("places"), key=lambda row: int(row["walk"]))]
        self.shelves = sorted(table("shelves"), key=lambda row: (self.places.index(row["place"]), int(row["position"])))
        self.stock = table("stock")
        self.size = {row["item"]: amount(row["size"]) for row in self.stock}
        self.suppliers = [row["supplier"] for row in table("suppliers")]
        self.people = [row["initials"] for row in table("people")]
        self.read_offers()
        self.read_counts()
        self.read_deliveries()
        self.read_sales()
        self.losses = [
            (business_day(row["at"]), row["item"], amount(row["quantity"]), row["reason"], row["place"], row["by"])
            for row in table("losses")
        ]
        self.batches = [(business_day(row["at"]), row["item"], amount(row["made"])) for row in table("batches")]
        self.read_recipes()

    def read_offers(self):
        """The cheapest supplier of each item, a container, at the price that is asked last."""
        latest = {}
        for row in table("offers"):
            latest[row["supplier"], row["item"]] = (row["supplier"], int(row["pack"]), float(row["price"]))
        self.offers = {}
        for (_, item), offer in latest.items():
            if item not in self.offers or offer[2] / offer[1] < self.offers[item][2] / self.offers[item][1]:
                self.offers[item] = offer

    def read_counts(self):
        """The full counts: for each date what stood on each shelf, opened ones added to the sealed."""
        self.counts = defaultdict(dict)
        for row in table("counts"):
            if row["count"].endswith(" full"):
                date = datetime.date.fromisoformat(row["count"].split()[0])
                level = float(row["full"]) + sum(float(reading) for reading in row["open"].split())
                self.counts[date][row["place"], row["item"]] = round(level, 1)

    def read_deliveries(self):
        ordered = {(row["supplier"], row["item"], row["expected"]): row for row in table("orders")}
        packs = {(row["supplier"], row["item"]): int(row["pack"]) for row in table("offers")}
        self.deliveries = []
        for row in table("deliveries"):
            day = row["at"].split()[0]
            pack = packs[row["supplier"], row["item"]]
            came = float(row["containers"]) / pack
            order = ordered.get((row["supplier"], row["item"], day))
            asked = float(order["packs"]) if order else came
            price = round(float(row["unit_price"]) * pack, 2)
            date = datetime.date.fromisoformat(day)
            self.deliveries.append((came, row["supplier"], row["item"], asked, pack, price, date))

    def read_sales(self):
        """The week's totals of each name of the till, as a till prints them."""
        totals = Counter()
        for row in table("sales"):
            quantity = float(row["quantity"])
            kind = row["kind"] or "sale"
            # A void above zero and a training line were never made; what a return gives back is money.
            if kind == "training" or kind == "return" or (kind == "void" and quantity > 0):
                continue
            day = business_day(row["at"])
            sunday = day + datetime.timedelta(days=6 - day.weekday())
            totals[sunday, row["sold_as"]] += quantity
        self.sales = [(week, name, number) for (week, name), number in sorted(totals.items())]
        self.till = [(row["sold_as"], row["drink"], float(row["portion"] or 1)) for row in table("pos")]

    def read_recipes(self):
        never = datetime.date(2099, 1, 1)
        begins = defaultdict(set)
        rows = table("specs")
        for row in rows:
            begins[row["drink"]].add(row["from"])
        self.recipes = []
        for row in rows:
            later = sorted(begin for begin in begins[row["drink"]] if begin > row["from"])
            until = datetime.date.fromisoformat(later[0]) if later else never
            begin = datetime.date.fromisoformat(row["from"])
            waste = float(row["waste"] or 0)
            self.recipes.append((row["ingredient"], row["drink"], amount(row["quantity"]), waste, begin, until))
        # Where the file leaves the yield open, two litres is what the cook would have written down.
        self.house = [
            (row["item"], row["ingredient"], amount(row["quantity"]), amount(row["yields"] or "2000 ml"))
            for row in table("house")
        ]


# --- the workbook itself ---

# Beside each other, with the count in the middle, so that no sheet of the daily work is more than two keys away.
SHEETS = "Deliveries Losses Count Order Variance Card Recipes Items Suppliers House Batches Till Sales Counts".split()

# So far down the formulas of a growing list are filled in beforehand.
ROOM = 1500


class Workbook:
    """Makes the workbook, as the owner would have made it once."""

    def __init__(self, office, bar):
        self.bar = bar
        self.doc = office.desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, ())
        sheets = self.doc.Sheets
        for number, name in enumerate(SHEETS):
            sheets.insertNewByName(name, number)
        while sheets.Count > len(SHEETS):
            sheets.removeByName(sheets.getByIndex(sheets.Count - 1).Name)

    def sheet(self, name):
        return self.doc.Sheets.getByName(name)

    def put(self, name, rows, column=0, row=0):
        """Rows of plain cells; dates become the numbers that stand for them."""
        if not rows:
            return
        plain = [
            tuple(
                serial(cell) if isinstance(cell, datetime.date) else float(cell) if isinstance(cell, int) else cell
                for cell in cells
            )
            for cells in rows
        ]
        width = len(plain[0]) - 1
        area = self.sheet(name).getCellRangeByPosition(column, row, column + width, row + len(plain) - 1)
        area.setDataArray(plain)

    def formulas(self, name, column, row, rows, formula):
        """A formula in a column; # in it stands for the number of its row."""
        area = self.sheet(name).getCellRangeByPosition(column, row, column, row + rows - 1)
        area.setFormulaArray([(formula.replace("#", str(row + n + 1)),) for n in range(rows)])

    def name(self, name, sheet, cells):
        """A defined name, so that formulas can be read."""
        first, _, last = cells.partition(":")
        content = f"${sheet}.{first}" + (f":{last}" if last else "")
        self.doc.NamedRanges.addNewByName(name, content, self.sheet(sheet).getCellByPosition(0, 0).CellAddress, 0)

    def column_names(self, sheet, last, **columns):
        for name, letter in columns.items():
            self.name(name, sheet, f"${letter}$2:${letter}${last}")

    def looks(self, sheet, *, dates=(), wide=(), money=()):
        """Heads in bold, dates as dates, columns as wide as their words."""
        page = self.sheet(sheet)
        page.getCellRangeByName("A1:Z1").CharWeight = 150.0
        formats, locale = self.doc.NumberFormats, uno.createUnoStruct("com.sun.star.lang.Locale")
        for columns, code in ((dates, "YYYY-MM-DD"), (money, "0.00")):
            key = formats.queryKey(code, locale, False)
            key = formats.addNew(code, locale) if key < 0 else key
            for column in columns:
                page.Columns.getByIndex(column).NumberFormat = key
        for column in wide:
            page.Columns.getByIndex(column).Width = 6200

    def filter(self, sheet, last):
        """An autofilter over a list that begins at A1."""
        area = self.sheet(sheet).getCellRangeByName(f"A1:{last}").RangeAddress
        ranges = self.doc.DatabaseRanges
        ranges.addNewByName(f"{sheet}List", area)
        ranges.getByName(f"{sheet}List").AutoFilter = True

    def only(self, sheet, cells, values=None):
        """Data validity: one of some values, or a number from zero up."""
        area = self.sheet(sheet).getCellRangeByName(cells)
        rule = area.Validation
        if values:
            rule.Type = LIST
            rule.setFormula1(values)
            rule.ErrorAlertStyle = WARNING
        else:
            rule.Type = DECIMAL
            rule.setOperator(GREATER_EQUAL)
            rule.setFormula1("0")
            rule.ErrorAlertStyle = STOP
        rule.ShowErrorMessage = True
        area.Validation = rule

    def make(self, last_count, in_tenths=False):
        """All sheets, with the counts up to a date."""
        self.lists(last_count)
        self.count(in_tenths)
        self.growing()
        self.order()
        self.variance()
        self.card()
        for name in SHEETS:
            self.doc.CurrentController.setActiveSheet(self.sheet(name))
            self.doc.CurrentController.freezeAtPosition(2 if name == "Count" else 0, 3 if name == "Variance" else 1)

    def lists(self, last_count):
        bar = self.bar
        items = [row["item"] for row in bar.stock]
        self.put("Items", [("Item", "Kind", "Size", "Content", "Par", "Supplier", "Pack", "Price", "Cost", "Counted")])
        rows = []
        for row in bar.stock:
            supplier, pack, price = bar.offers.get(row["item"], ("", 1, 0.0))
            par = float(row["par"] or 0)
            rows.append((row["item"], row["kind"], row["size"], bar.size[row["item"]], par, supplier, pack, price))
        self.put("Items", rows, row=1)
        last = len(items) + 1
        self.formulas("Items", 8, 1, len(items), "=H#/G#")
        self.put("Items", [(row["count_by"],) for row in bar.stock], column=9, row=1)
        self.column_names(
            "Items", last, ItemName="A", ItemSize="C", ItemContent="D", ItemPar="E", ItemSupplier="F", ItemPack="G",
            ItemPrice="H", ItemCost="I", ItemCounted="J",
        )
        # The days from an order to its van.
        self.put("Suppliers", [("Supplier", "Days to the van")] + [(name, 2) for name in bar.suppliers])
        self.column_names("Suppliers", len(bar.suppliers) + 1, SupplierName="A", SupplierDays="B")

        dates = [date for date in sorted(bar.counts) if date <= last_count]
        counts = [(date, place, item, level) for date in dates for (place, item), level in bar.counts[date].items()]
        self.put("Counts", [("Date", "Place", "Item", "Level")])
        self.put("Counts", counts, row=1)
        self.column_names("Counts", 6000, CountedOn="A", CountedAt="B", CountedItem="C", CountedLevel="D")

        self.put("Till", [("Sold as", "Drink", "Portion")] + bar.till)
        self.column_names("Till", len(bar.till) + 1, TillName="A", TillDrink="B", TillPortion="C")
        self.put("Sales", [("Week to", "Sold as", "Number", "Drink", "Drinks")])
        self.put("Sales", bar.sales, row=1)
        self.formulas("Sales", 3, 1, len(bar.sales), '=IFERROR(INDEX(TillDrink;MATCH(B#;TillName;0));"")')
        self.formulas("Sales", 4, 1, len(bar.sales), "=C#*IFERROR(INDEX(TillPortion;MATCH(B#;TillName;0));0)")
        self.column_names("Sales", len(bar.sales) + 1, SalesWeek="A", SalesDrink="D", SalesDrinks="E")

        self.put("Batches", [("Date", "Item", "Made")] + bar.batches)
        self.column_names("Batches", 1000, BatchDate="A", BatchItem="B", BatchMade="C")
        for name, dated in (("Counts", (0,)), ("Sales", (0,)), ("Batches", (0,)), ("Recipes", (4, 5)), ("Items", ())):
            self.looks(name, dates=dated, wide=(0, 1, 2))
        self.looks("Suppliers", wide=(0,))

    def count(self, in_tenths):
        """The sheet that is walked with; today's levels are to be typed in, 1.7 or, in tenths, 17."""
        shelves = [(row["place"], row["item"]) for row in self.bar.shelves]
        self.put("Count", [("Place", "Item", "Today", "Size", "Last count", "Level")])
        self.put("Count", shelves, row=1)
        many = len(shelves)
        self.formulas("Count", 3, 1, many, "=INDEX(ItemSize;MATCH(B#;ItemName;0))")
        last = "=SUMIFS(CountedLevel;CountedOn;MAX(CountedOn);CountedAt;A#;CountedItem;B#)"
        self.formulas("Count", 4, 1, many, last)
        tenths = 'IF(INDEX(ItemCounted;MATCH(B#;ItemName;0))="tenths";10;1)'
        self.formulas("Count", 5, 1, many, f'=IF(C#="";E#;C#{f"/{tenths}" if in_tenths else ""})')
        self.column_names("Count", many + 1, ShelfItem="B", ShelfLevel="F")
        self.only("Count", f"C2:C{many + 1}")
        self.looks("Count", wide=(0, 1))
        self.filter("Count", f"F{many + 1}")

    def growing(self):
        """The lists that grow day by day: deliveries and losses."""
        bar = self.bar
        heads = ("Came", "Supplier", "Item", "Ordered", "Pack", "Price", "Due", "On its way", "Containers")
        self.put("Deliveries", [heads])
        self.put("Deliveries", bar.deliveries, row=1)
        self.formulas("Deliveries", 7, 1, ROOM, '=IF(OR(B#="";A#<>"");0;D#*E#)')
        self.formulas("Deliveries", 8, 1, ROOM, "=N(A#)*N(E#)")
        self.column_names("Deliveries", ROOM, DeliveredItem="C", DeliveredOn="G", OnItsWay="H", Delivered="I")
        self.only("Deliveries", f"A2:A{ROOM}")
        self.looks("Deliveries", dates=(6,), wide=(1, 2), money=(5,))
        self.filter("Deliveries", f"I{ROOM}")

        self.put("Losses", [("Date", "Item", "ml, g, pieces", "Reason", "Place", "Who", "Containers")])
        self.put("Losses", bar.losses, row=1)
        self.formulas("Losses", 6, 1, ROOM, '=IF(B#="";0;C#/INDEX(ItemContent;MATCH(B#;ItemName;0)))')
        self.column_names("Losses", ROOM, LostOn="A", LostItem="B", Lost="G")
        reasons = ";".join(f'"{reason}"' for reason in sorted({row[3] for row in bar.losses}))
        self.only("Losses", f"B2:B{ROOM}", "ItemName")
        self.only("Losses", f"C2:C{ROOM}")
        self.only("Losses", f"D2:D{ROOM}", reasons)
        self.only("Losses", f"E2:E{ROOM}", ";".join(f'"{place}"' for place in bar.places))
        self.only("Losses", f"F2:F{ROOM}", ";".join(f'"{who}"' for who in bar.people))
        self.looks("Losses", dates=(0,), wide=(1,))
        self.filter("Losses", f"G{ROOM}")

    def order(self):
        """What is below par, in whole packs; the first six columns are those of the deliveries."""
        many = len(self.bar.stock)
        heads = ("Order from", "Item", "Packs", "Pack", "Price", "Due", "", "On hand", "On its way", "Par", "Supplier")
        self.put("Order", [heads])
        self.put("Order", [(row["item"],) for row in self.bar.stock], column=1, row=1)
        look = "=INDEX({};MATCH(B#;ItemName;0))"
        self.formulas("Order", 0, 1, many, '=IF(C#>0;K#;"")')
        # Less than a tenth of a container is not missing.
        self.formulas("Order", 2, 1, many, '=IF(OR(K#="";ROUND(J#-H#-I#;1)<=0);0;ROUNDUP(ROUND(J#-H#-I#;1)/D#;0))')
        self.formulas("Order", 3, 1, many, look.format("ItemPack"))
        self.formulas("Order", 4, 1, many, look.format("ItemPrice"))
        self.formulas("Order", 5, 1, many, '=TODAY()+IFERROR(INDEX(SupplierDays;MATCH(K#;SupplierName;0));0)')
        self.formulas("Order", 7, 1, many, "=SUMIFS(ShelfLevel;ShelfItem;B#)")
        self.formulas("Order", 8, 1, many, "=SUMIFS(OnItsWay;DeliveredItem;B#)")
        self.formulas("Order", 9, 1, many, look.format("ItemPar"))
        self.formulas("Order", 10, 1, many, look.format("ItemSupplier") + '&""')
        self.looks("Order", dates=(5,), wide=(0, 1), money=(4,))
        self.sheet("Order").Columns.getByIndex(6).Width = 400
        self.filter("Order", f"F{many + 1}")
        # Only this sheet has something to print, so that the document as a page is the order.
        sheet = self.sheet("Order")
        sheet.setPrintAreas((sheet.getCellRangeByName(f"A1:F{many + 1}").RangeAddress,))
        pages = self.doc.StyleFamilies.getByName("PageStyles").getByName(sheet.PageStyle)
        pages.ScaleToPagesX, pages.ScaleToPagesY = 1, 0

    def variance(self):
        """The week between the last two counts: on the left the dearest ten, beside them all items."""
        bar, many = self.bar, len(self.bar.stock)
        self.put("Recipes", [("Item", "Drink", "Amount", "Waste %", "From", "Until", "Used in the week")])
        self.put("Recipes", bar.recipes, row=1)
        used = (
            "=IF(AND(E#<=WeekTo;F#>WeekTo);C#*(1+D#/100)*SUMIFS(SalesDrinks;SalesDrink;B#;SalesWeek;WeekTo);0)"
        )
        self.formulas("Recipes", 6, 1, len(bar.recipes), used)
        self.column_names(
            "Recipes", len(bar.recipes) + 1, RecipeDrink="B", RecipeItem="A", RecipeAmount="C", RecipeWaste="D",
            RecipeFrom="E", RecipeUntil="F", RecipeUsed="G",
        )
        self.filter("Recipes", f"G{len(bar.recipes) + 1}")
        self.put("House", [("Made", "Item", "Amount", "Yield", "Used in the week")] + [
            (*row, "") for row in bar.house
        ])
        between = ';">"&WeekFrom;{0};"<="&WeekTo'
        made = f"SUMIFS(BatchMade;BatchItem;A#;BatchDate{between.format('BatchDate')})"
        self.formulas("House", 4, 1, len(bar.house), f"=C#/D#*{made}")
        self.column_names("House", len(bar.house) + 1, HouseItem="B", HouseUsed="E")
        self.looks("House", wide=(0, 1))

        self.put("Variance", [("Counted on", "", "and on")])
        sheet = self.sheet("Variance")
        sheet.getCellRangeByName("B1").Formula = "=MAXIFS(CountedOn;CountedOn;\"<\"&D1)"
        sheet.getCellRangeByName("D1").Formula = "=MAX(CountedOn)"
        self.name("WeekFrom", "Variance", "$B$1")
        self.name("WeekTo", "Variance", "$D$1")
        heads = (
            "Dearest", "Item", "Short by", "Worth", "", "Item", "Opening", "Delivered", "Made", "Lost", "Closing", "Used",
            "Sold", "Difference", "Worth", "Place in list",
        )
        self.put("Variance", [heads], row=2)
        self.put("Variance", [(row["item"],) for row in bar.stock], column=5, row=3)
        end = many + 3
        for name, letter in dict(GapItem="F", GapDifference="N", GapWorth="O").items():
            self.name(name, "Variance", f"${letter}$4:${letter}${end}")
        content = "INDEX(ItemContent;MATCH(F#;ItemName;0))"
        self.formulas("Variance", 6, 3, many, "=SUMIFS(CountedLevel;CountedItem;F#;CountedOn;WeekFrom)")
        delivered = f"=SUMIFS(Delivered;DeliveredItem;F#;DeliveredOn{between.format('DeliveredOn')})"
        self.formulas("Variance", 7, 3, many, delivered)
        made = f"=SUMIFS(BatchMade;BatchItem;F#;BatchDate{between.format('BatchDate')})/{content}"
        self.formulas("Variance", 8, 3, many, made)
        self.formulas("Variance", 9, 3, many, f"=SUMIFS(Lost;LostItem;F#;LostOn{between.format('LostOn')})")
        self.formulas("Variance", 10, 3, many, "=SUMIFS(CountedLevel;CountedItem;F#;CountedOn;WeekTo)")
        self.formulas("Variance", 11, 3, many, "=G#+H#+I#-J#-K#")
        sold = f"=(SUMIFS(RecipeUsed;RecipeItem;F#)+SUMIFS(HouseUsed;HouseItem;F#))/{content}"
        self.formulas("Variance", 12, 3, many, sold)
        self.formulas("Variance", 13, 3, many, "=ROUND(L#-M#;2)")
        # A hair of its row's number keeps two of the same worth apart.
        cost = "INDEX(ItemCost;MATCH(F#;ItemName;0))"
        self.formulas("Variance", 14, 3, many, f"=N#*{cost}+ROW()/1000000")
        self.formulas("Variance", 15, 3, many, "=RANK(O#;GapWorth)")
        self.put("Variance", [(n,) for n in range(1, 11)], row=3)
        self.formulas("Variance", 1, 3, 10, "=INDEX(GapItem;MATCH(D#;GapWorth;0))")
        self.formulas("Variance", 2, 3, 10, "=INDEX(GapDifference;MATCH(D#;GapWorth;0))")
        self.formulas("Variance", 3, 3, 10, "=LARGE(GapWorth;A#)")
        self.looks("Variance", wide=(1, 5), money=(6, 7, 8, 9, 10, 11, 12, 13, 14))
        self.sheet("Variance").getCellRangeByName("A3:P3").CharWeight = 150.0
        self.looks("Recipes", dates=(4, 5), wide=(0, 1))

    def card(self):
        """All that the workbook knows of one item, week by week: few would build it, but it can be built."""
        sheet = self.sheet("Card")
        self.put("Card", [("Place in list", 1, "", ""), ("Item", "", "", "")])
        sheet.getCellRangeByName("B2").Formula = "=INDEX(GapItem;MATCH(LARGE(GapWorth;B1);GapWorth;0))"
        self.name("CardItem", "Card", "$B$2")
        self.put("Card", [("Week to", "Opening", "Delivered", "Lost", "Closing", "Used", "Sold", "Difference")], row=3)
        weeks = 11
        self.formulas("Card", 0, 4, weeks, "=LARGE(CountDates;ROW()-4)")
        # Each count's date once, for the weeks of the card.
        self.put("Suppliers", [("Full counts",)], column=4)
        dates = sorted(self.bar.counts)
        self.put("Suppliers", [(date,) for date in dates], column=4, row=1)
        self.looks("Suppliers", dates=(4,), wide=(0,))
        self.name("CountDates", "Suppliers", f"$E$2:$E${len(dates) + 1}")
        week = '">"&A#-7;{0};"<="&A#'
        content = "INDEX(ItemContent;MATCH(CardItem;ItemName;0))"
        self.formulas("Card", 1, 4, weeks, "=SUMIFS(CountedLevel;CountedItem;CardItem;CountedOn;A#-7)")
        delivered = f"=SUMIFS(Delivered;DeliveredItem;CardItem;DeliveredOn;{week.format('DeliveredOn')})"
        self.formulas("Card", 2, 4, weeks, delivered)
        self.formulas("Card", 3, 4, weeks, f"=SUMIFS(Lost;LostItem;CardItem;LostOn;{week.format('LostOn')})")
        self.formulas("Card", 4, 4, weeks, "=SUMIFS(CountedLevel;CountedItem;CardItem;CountedOn;A#)")
        self.formulas("Card", 5, 4, weeks, "=B#+C#-D#-E#")
        sold = (
            "=SUMPRODUCT((RecipeItem=CardItem)*(RecipeFrom<=A#)*(RecipeUntil>A#)*RecipeAmount*(1+RecipeWaste/100)"
            f"*SUMIFS(SalesDrinks;SalesDrink;RecipeDrink;SalesWeek;A#))/{content}"
        )
        self.formulas("Card", 6, 4, weeks, sold)
        self.formulas("Card", 7, 4, weeks, "=ROUND(F#-G#;2)")
        self.put("Card", [("What came last", "", "", "Drinks with it", "Used in the week")], row=17)
        nth = "AGGREGATE(14;6;ROW({0})/({0}=CardItem);ROW()-18)"
        self.formulas("Card", 0, 18, 8, f'=IFERROR(INDEX($Deliveries.$G$1:$G${ROOM};{nth.format("DeliveredItem")});"")')
        self.formulas("Card", 1, 18, 8, f'=IFERROR(INDEX($Deliveries.$I$1:$I${ROOM};{nth.format("DeliveredItem")});"")')
        end = len(self.bar.recipes) + 1
        self.formulas("Card", 3, 18, 15, f'=IFERROR(INDEX($Recipes.$B$1:$B${end};{nth.format("RecipeItem")});"")')
        self.formulas("Card", 4, 18, 15, f'=IFERROR(INDEX($Recipes.$G$1:$G${end};{nth.format("RecipeItem")});"")')
        self.looks("Card", dates=(0,), wide=(0, 3))
        sheet.getCellRangeByName("B1").NumberFormat = 0

    def lines_of(self, supplier):
        """The rows of the order sheet that order from a supplier, as cells."""
        self.doc.calculateAll()
        rows = self.sheet("Order").getCellRangeByName(f"A2:F{len(self.bar.stock) + 1}").getDataArray()
        return [row for row in rows if row[0] == supplier]

    def lower_pars(self, supplier, many):
        """Pars are taken back until only so many lines fall short: those of which least is missing."""
        lines = self.lines_of(supplier)
        assert len(lines) >= many, f"{len(lines)} lines of {supplier} are short, {many} are wanted"
        rows = {row["item"]: number + 1 for number, row in enumerate(self.bar.stock)}
        for line in sorted(lines, key=lambda line: line[2] * line[4])[: len(lines) - many]:
            self.sheet("Items").getCellByPosition(4, rows[line[1]]).Value = 0.0
        return self.lines_of(supplier)

    def save(self, path):
        """The workbook as it is now; it can be changed and saved again as another one."""
        self.doc.storeAsURL(path.as_uri(), (value("FilterName", "calc8"),))

    def close(self):
        self.doc.close(True)


def value(name, content):
    made = PropertyValue()
    made.Name, made.Value = name, content
    return made


# --- the office and its keys ---

CHARACTERS = {".": "period", " ": "space", "-": "minus", "\n": "Return", "\t": "Tab"}


class Office:
    """LibreOffice on a screen of its own, with a profile that is thrown away."""

    def __init__(self, folder):
        self.started = []
        for needed in ("soffice", "Xvfb", "xdotool"):
            if not shutil.which(needed):
                sys.exit(f"{needed} is missing: install libreoffice-calc, python3-uno, xvfb and xdotool.")
        reader, writer = os.pipe()
        screen = ["Xvfb", "-displayfd", str(writer), "-screen", "0", "1600x1000x24", "-nolisten", "tcp"]
        self.start(screen, pass_fds=(writer,))
        os.close(writer)
        with os.fdopen(reader) as told:
            number = told.readline().strip()
        assert number, "the screen did not start"
        self.environment = {**os.environ, "DISPLAY": f":{number}", "SAL_USE_VCLPLUGIN": "gen", "LC_ALL": "C.UTF-8"}
        # A home of its own too: that is where a page is put when nothing else is said.
        self.home = folder / "home"
        self.home.mkdir()
        self.environment["HOME"] = str(self.home)
        profile = folder / "profile"
        self.write_profile(profile)
        pipe = f"keystrokes-{os.getpid()}"
        office = [
            "soffice", f"-env:UserInstallation={profile.as_uri()}", "--norestore", "--nologo", "--nodefault",
            "--nofirststartwizard", "--nolockcheck", f"--accept=pipe,name={pipe};urp;StarOffice.ComponentContext",
        ]
        self.start(office)
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
        address = f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext"
        self.context = until("the office answers", lambda: attempt(lambda: resolver.resolve(address)), 120)
        create = self.context.ServiceManager.createInstanceWithContext
        self.desktop = create("com.sun.star.frame.Desktop", self.context)
        self.toolkit = create("com.sun.star.awt.Toolkit", self.context)

    def start(self, command, **more):
        environment = getattr(self, "environment", None)
        quiet = subprocess.DEVNULL
        # A group of its own, so that what it starts in turn ends with it.
        process = subprocess.Popen(
            command, env=environment, stdout=quiet, stderr=quiet, start_new_session=True, **more
        )
        self.started.append(process)

    @staticmethod
    def write_profile(profile):
        """No tips or greetings, which would take keys away; all else stays as it comes."""
        path = profile / "user"
        path.mkdir(parents=True)
        item = (
            '<item oor:path="/org.openoffice.Office.Common/Misc"><prop oor:name="{0}" oor:op="fuse">'
            "<value>{1}</value></prop></item>"
        )
        items = item.format("ShowTipOfTheDay", "false") + item.format("FirstRun", "false")
        (path / "registrymodifications.xcu").write_text(
            '<?xml version="1.0" encoding="UTF-8"?>\n<oor:items xmlns:oor="http://openoffice.org/2001/registry" '
            'xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">'
            f"{items}</oor:items>\n"
        )

    def xdotool(self, *words):
        told = subprocess.run(("xdotool", *words), env=self.environment, capture_output=True, text=True, check=False)
        return told.stdout.strip()

    def settle(self, seconds=0.02):
        """Until the office has worked off all that reached it; what opens something is given longer to get there."""
        time.sleep(seconds)
        self.toolkit.processEventsToIdle()

    def stop(self):
        # Asked from aside, since an office that shows a question does not answer.
        asking = threading.Thread(target=lambda: attempt(self.desktop.terminate), daemon=True)
        asking.start()
        asking.join(10)
        for process in reversed(self.started):
            if process.poll() is None:
                try:
                    process.wait(5 if process is not self.started[0] else 0.1)
                except subprocess.TimeoutExpired:
                    pass
            attempt(lambda: os.killpg(process.pid, signal.SIGKILL))
            process.wait()


def attempt(doing):
    try:
        return doing()
    except Exception:  # the office says with many kinds of errors that it is not there yet, or not any more
        return None


def until(what, true, patience=PATIENCE):
    """Asks again and again until the answer is there."""
    end = time.monotonic() + patience
    while time.monotonic() < end:
        answer = true()
        if answer:
            return answer
        time.sleep(0.05)
    raise AssertionError(f"not so after {patience:.0f} s: {what}")


class Doing:
    """Somebody at the spreadsheet, and what it took."""

    def __init__(self, office, path, name):
        self.office = office
        self.path = path.with_name(f"{name}.ods")
        shutil.copy(path, self.path)
        self.doc = office.desktop.loadComponentFromURL(self.path.as_uri(), "_blank", 0, ())
        self.view = self.doc.CurrentController
        self.frame = self.view.Frame
        self.frame.ContainerWindow.setPosSize(0, 0, 1600, 1000, 15)
        office.settle()
        self.turn_to(self.path.name)
        self.frame.ContainerWindow.setFocus()
        office.settle()
        self.keys = self.thoughts = 0

    def turn_to(self, title):
        """Gives the keys to a window that has come up, since there is no window manager to do so."""
        search = ("search", "--onlyvisible", "--name", title)
        window = until(f"a window {title}", lambda: self.office.xdotool(*search))
        self.office.xdotool("windowfocus", "--sync", window.split()[0])
        self.office.settle()

    def sheet(self, name):
        return self.doc.Sheets.getByName(name)

    def area(self, sheet, cells):
        return self.sheet(sheet).getCellRangeByName(cells)

    def at(self, sheet, cell):
        """Where the last work left the cursor, before anything is measured."""
        self.view.setActiveSheet(self.sheet(sheet))
        self.view.select(self.area(sheet, cell))
        # A selection of no cells puts the cursor there without a block.
        self.view.select(self.doc.createInstance("com.sun.star.sheet.SheetCellRanges"))
        self.office.settle()

    def cursor(self):
        """Sheet and cell that the cursor is on."""
        # What it has for each sheet stands behind three fields of the whole; column and row come first in it.
        where = self.view.getViewData().split(";")
        own = where[3 + self.view.ActiveSheet.RangeAddress.Sheet].replace("+", "/").split("/")
        return self.view.ActiveSheet.Name, int(own[0]), int(own[1])

    def then(self, *keys):
        """One thought, and the keys that it leads to."""
        self.thoughts += 1
        self.press(*keys)

    def look(self, thoughts=1):
        """Something on the screen is read."""
        self.thoughts += thoughts

    def press(self, *keys):
        """Words are typed letter by letter; ^name is one key by its name, or a chord of them."""
        for word in keys:
            for key in [word[1:]] if word.startswith("^") else [CHARACTERS.get(c, c) for c in word]:
                self.office.xdotool("key", "--clearmodifiers", key)
                self.keys += 1
                self.office.settle(0.15 if word.startswith("^") else 0.02)

    def saved(self):
        """The key that keeps it; the program keeps each entry by itself."""
        self.press("^ctrl+s")
        until("the file is saved", lambda: not self.doc.isModified())

    def end(self):
        self.doc.setModified(False)
        self.doc.close(True)


# --- the tasks ---


class Tasks:
    """The six tasks; each is done in a copy of the workbook, and each must have done what it is to do."""

    def __init__(self, office, bar, folder):
        self.office, self.bar, self.folder = office, bar, folder
        self.told = []
        self.tonight = max(bar.counts)
        # Where the next line of a growing list goes, as a row number of the sheet.
        self.next_delivery = len(bar.deliveries) + 2
        self.next_loss = len(bar.losses) + 2
        self.make_books()

    def make_books(self):
        """The workbooks that the tasks begin with."""
        self.to_count = {}
        for in_tenths in (False, True):
            before = Workbook(self.office, self.bar)
            before.make(max(date for date in self.bar.counts if date < self.tonight), in_tenths)
            self.to_count[in_tenths] = self.folder / ("to-count-in-tenths.ods" if in_tenths else "to-count.ods")
            before.save(self.to_count[in_tenths])
            before.close()

        counted = Workbook(self.office, self.bar)
        counted.make(self.tonight)
        self.check(counted)
        self.with_card = self.folder / "with-card.ods"
        counted.save(self.with_card)
        # The card is a luxury; all other tasks are done without it.
        counted.doc.Sheets.removeByName("Card")
        self.counted = self.folder / "counted.ods"
        counted.save(self.counted)

        # An order of as many lines as the bench of the program has.
        self.from_supplier = self.bar.suppliers[0]
        self.order_lines = counted.lower_pars(self.from_supplier, 24)
        self.to_order = self.folder / "to-order.ods"
        counted.save(self.to_order)

        # One of twelve lines is on its way from another; of two packs only one will come, and of one none.
        coming = counted.lines_of(self.bar.suppliers[1])
        two = [line for line in coming if line[2] == 2]
        others = [line for line in coming if line not in two[:1]]
        self.coming = others[:7] + two[:1] + others[7:11]
        assert len(self.coming) == 12 and self.coming[7][2] == 2
        counted.put("Deliveries", self.coming, column=1, row=self.next_delivery - 1)
        self.to_receive = self.folder / "to-receive.ods"
        counted.save(self.to_receive)
        counted.close()

    @staticmethod
    def check(book):
        """No formula of the workbook is in error, and what it finds short is what the demo's files have short."""
        book.doc.calculateAll()
        for name in SHEETS:
            errors = book.sheet(name).queryFormulaCells(4)
            assert not errors.Count, f"formulas in error: {errors.RangeAddressesAsString}"
        dearest = [row[0] for row in book.sheet("Variance").getCellRangeByName("B4:B9").getDataArray()]
        assert "Sternalow Vodka" in dearest and "Fenmarisk 21-Year Rum" in dearest, dearest

    def begin(self, book, name):
        """The workbook as it was left: on the count, and on each list where the last entry ended."""
        doing = Doing(self.office, book, name)
        doing.at("Deliveries", f"A{self.next_delivery}")
        doing.at("Losses", f"A{self.next_loss}")
        doing.at("Count", "C2")
        return doing

    def finish(self, doing, task):
        self.told.append((task, doing.keys, doing.thoughts))
        doing.end()
        print(self.line(self.told[-1]), flush=True)

    @staticmethod
    def line(told):
        task, keys, thoughts = told
        return f"| {task} | {keys} | {thoughts} | {keys * KEY + thoughts * THOUGHT:.0f} s |"

    def table(self):
        return "\n".join(["| task | keys | thoughts | time |", "| --- | --- | --- | --- |", *map(self.line, self.told)])

    def all(self):
        print("| task | keys | thoughts | time |\n| --- | --- | --- | --- |", flush=True)
        self.count(in_tenths=False)
        self.count(in_tenths=True)
        self.correct()
        self.breakage()
        self.delivery()
        self.order(page=False)
        self.order(page=True)
        self.why()
        self.why_by_card()

    def count(self, in_tenths):
        """The first 180 lines of the walk, with what stood there that night; adding up opened ones costs no thought."""
        doing = self.begin(self.to_count[in_tenths], "count-in-tenths" if in_tenths else "count")
        shelves = [(row["place"], row["item"]) for row in self.bar.shelves[:180]]
        levels = [self.bar.counts[self.tonight][shelf] for shelf in shelves]
        tenths = {row["item"] for row in self.bar.stock if in_tenths and row["count_by"] == "tenths"}
        for (_, item), level in zip(shelves, levels):
            doing.then(f"{figure(round(level * 10) if item in tenths else level)}\n")
        doing.saved()
        written = doing.area("Count", "F2:F181").getDataArray()
        assert [round(row[0], 1) for row in written] == levels, "each level stands in its line"
        assert doing.cursor() == ("Count", 2, 181)
        assert doing.area("Count", "C2:C181").computeFunction(COUNTNUMS) == 180
        self.finish(doing, f"counting 180 items{', typed in tenths (17 for 1.7)' if in_tenths else ''}")

    def correct(self):
        """One item is found on the sheet and entered anew."""
        doing = self.begin(self.to_count[False], "correct")
        doing.press("1\n")
        doing.doc.store()
        doing.keys = doing.thoughts = 0
        item = self.bar.shelves[3]["item"]
        doing.then("^ctrl+f", f"{letters(item)}\n", "^Escape", "^Right")
        assert doing.cursor() == ("Count", 2, 4), f"{item} is found"
        doing.then(".6\n")
        doing.saved()
        assert doing.area("Count", "C5").Value == 0.6
        self.finish(doing, "finding one item and correcting it")

    def breakage(self):
        """Somebody knocked a bottle over; date, item, amount, reason, place and who, completed by what stands above."""
        doing = self.begin(self.counted, "breakage")
        item = "Ostelbrine Gold Rum"
        days = {serial(datetime.date.today())}
        doing.then("^ctrl+Prior", "^ctrl+semicolon", "\t")
        days.add(serial(datetime.date.today()))
        doing.then(f"{letters(item)}\t")
        doing.then("60\t")
        doing.then("b\t")
        doing.then("s\t")
        doing.press("o\n")
        doing.saved()
        (line,) = doing.area("Losses", f"A{self.next_loss}:F{self.next_loss}").getDataArray()
        assert line[0] in days and line[1:] == (item, 60.0, "breakage", "Speed rail", "OM"), line
        self.finish(doing, "recording a breakage")

    def delivery(self):
        """A delivery of twelve lines comes: ten as ordered, one short, one not at all."""
        doing = self.begin(self.to_receive, "delivery")
        # The order was pasted beside the column of what came, which is filled from top to bottom.
        doing.at("Deliveries", f"B{self.next_delivery}")
        doing.at("Count", "C2")
        came = [line[2] for line in self.coming]
        came[3], came[7] = 0.0, 1.0
        doing.then("^ctrl+Prior", "^ctrl+Prior", "^Left")
        for packs in came:
            doing.then(f"{figure(packs)}\n")
        doing.saved()
        last = self.next_delivery + 11
        lines = doing.area("Deliveries", f"A{self.next_delivery}:I{last}").getDataArray()
        assert [line[0] for line in lines] == came
        assert [line[8] for line in lines] == [packs * line[3] for packs, line in zip(came, self.coming)]
        assert all(line[7] == 0 for line in lines), "none of it is on its way any more"
        self.finish(doing, "booking a delivery of 12 lines with two differences")

    def order(self, page):
        """The lines of one supplier are filtered out, looked through, and put with what is on its way."""
        lines = self.order_lines
        doing = self.begin(self.to_order, "order-page" if page else "order")
        doing.then("^ctrl+Next")
        doing.then("^ctrl+Home", "^alt+Down", f"{letters(self.from_supplier)}\n")
        until("the filter", lambda: not doing.sheet("Order").Rows.getByIndex(1).IsVisible)
        doing.look(len(lines))
        if page:
            doing.then("^alt+f", "e\n")
            doing.turn_to("PDF Options")
            doing.press("\n")
            doing.turn_to("Export")
            doing.press("\n")
            written = self.office.home / "order-page.pdf"
            until("the page", lambda: written.exists() and written.read_bytes().rstrip().endswith(b"%%EOF"))
            assert written.read_bytes().count(b"/Type/Page/") == 1, "the order is one page"
            doing.turn_to(doing.path.name)
        doing.then("^Down", "^ctrl+shift+Down", "^ctrl+shift+Right", "^ctrl+c")
        doing.then("^ctrl+Prior", "^ctrl+Prior", "^ctrl+Prior", "^Right", "^ctrl+alt+shift+v")
        doing.turn_to("Text Import")
        doing.press("\n")
        doing.turn_to(doing.path.name)
        first, last = self.next_delivery, self.next_delivery + len(lines)
        until("the lines are there", lambda: doing.area("Deliveries", f"B{last - 1}").String)
        doing.saved()
        pasted = doing.area("Deliveries", f"B{first}:G{last}").getDataArray()
        assert [row[:5] for row in pasted[:-1]] == [row[:5] for row in lines], "the order stands there"
        assert all(row[5] in (line[5], line[5] + 1) for row, line in zip(pasted, lines)), "with the day of the van"
        assert not any(pasted[-1]), "and nothing else"
        on_its_way = sum(row[0] for row in doing.area("Deliveries", f"H{first}:H{last}").getDataArray())
        assert on_its_way == sum(line[2] * line[3] for line in lines)
        more = ", with a page to send" if page else ""
        self.finish(doing, f"building and sending an order of {len(lines)} lines{more}")

    def why(self):
        """The dearest line of the variance, and then sheet by sheet what else there is about its item."""
        doing = self.begin(self.counted, "why")
        item, _ = self.dearest(doing)
        doing.then("^ctrl+Next", "^ctrl+Next")
        assert doing.cursor()[0] == "Variance"
        doing.look()
        # Which drinks use it; the second press says whether there is one more.
        doing.then("^ctrl+Next", "^ctrl+f", f"{letters(item)}\n", "\n", "^Escape")
        self.found(doing, "Recipes", item)
        doing.look()
        # What came, from the last line upwards: this week's and the one before it.
        doing.then(*["^ctrl+Prior"] * 5, "^ctrl+f", "^shift+Return", "^shift+Return", "^Escape")
        self.found(doing, "Deliveries", item)
        doing.look()
        doing.then("^ctrl+Next", "^ctrl+f", "^shift+Return", "^Escape")
        self.found(doing, "Losses", item)
        doing.look()
        self.finish(doing, "finding why an item is short")

    def why_by_card(self):
        """The same where the owner has built a sheet that shows all about the dearest item by itself."""
        doing = self.begin(self.with_card, "why-card")
        item, gap = self.dearest(doing)
        doing.then("^ctrl+Next", "^ctrl+Next")
        doing.look()
        doing.then("^ctrl+Next")
        assert doing.cursor()[0] == "Card" and doing.area("Card", "B2").String == item
        assert abs(doing.area("Card", "H5").Value - gap) < 0.011, "the week on the card is that of the variance"
        # Its weeks, what came last, and the drinks that use it.
        doing.look(3)
        self.finish(doing, "finding why an item is short, with a card of it built beforehand")

    @staticmethod
    def dearest(doing):
        ((item, gap),) = doing.area("Variance", "B4:C4").getDataArray()
        return item, gap

    @staticmethod
    def found(doing, sheet, item):
        """The cursor is on a line about the item, or there is none on that sheet."""
        name, column, row = doing.cursor()
        assert name == sheet
        used = doing.sheet(sheet).getCellRangeByName(f"A1:C{ROOM}").getDataArray()
        anywhere = any(item in cells for cells in used)
        line = doing.sheet(sheet).getCellRangeByPosition(0, row, 2, row).getDataArray()[0]
        assert item in line if anywhere else item not in line, f"{sheet}: {line} in column {column}"


def figure(number):
    """A figure with no key too many: .6, 2, 1.7."""
    text = f"{number:g}"
    return text[1:] if text.startswith("0.") else text


def letters(name):
    """As many letters of a name as the bench of the program types."""
    return name.lower()[:6]


BEGIN, END = "<!-- keystrokes:spreadsheet -->", "<!-- /keystrokes:spreadsheet -->"


def write_docs(figures):
    page = PROJECT / "docs" / "keystrokes.md"
    text = page.read_text(encoding="utf-8")
    head, _, rest = text.partition(BEGIN)
    _, end, tail = rest.partition(END)
    assert end, f"{page} lacks the marks between which the figures stand"
    page.write_text(f"{head}{BEGIN}\n\n{figures}\n\n{END}{tail}", encoding="utf-8")


def main():
    reading = argparse.ArgumentParser(description="Keystrokes of six tasks in a spreadsheet.")
    reading.add_argument("--docs", action="store_true", help="write the table into docs/keystrokes.md")
    reading.add_argument("--keep", type=Path, metavar="FOLDER", help="leave the workbooks there")
    asked = reading.parse_args()
    # Told to end, it ends the office first.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    with tempfile.TemporaryDirectory(prefix="keystrokes-", ignore_cleanup_errors=True) as made:
        folder = Path(made)
        office = None
        try:
            office = Office(folder)
            tasks = Tasks(office, Bar(), folder)
            tasks.all()
        finally:
            if office:
                office.stop()
        if asked.keep:
            asked.keep.mkdir(parents=True, exist_ok=True)
            for file in [*folder.glob("*.ods"), *office.home.glob("*.pdf")]:
                shutil.copy(file, asked.keep)
    if asked.docs:
        write_docs(tasks.table())


if __name__ == "__main__":
    main()
