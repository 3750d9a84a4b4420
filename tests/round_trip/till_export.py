"""Closings as an export by DSFinV-K: the tables by the PyPI library dsfinvk 2.4.0, which writes what it is given; the
index of them from that library's list of fields."""

import zipfile
from decimal import Decimal as D
from pathlib import Path
from xml.sax.saxutils import escape

from bar import ROOT
from dsfinvk import models
from dsfinvk.collection import Collection
from dsfinvk.fields import NumericField
from dsfinvk.table import Model
from sales import moment
from till_receipts import RATES, Closing, Position, Receipt

DOCUMENT_TYPE = ROOT / "tests/samples/till/dsfinvk-ordner/gdpdu-01-08-2002.dtd"
VERSION = "2.4"


def index(coding: str) -> str:
    """`index.xml`, in the description standard of the GDPdU, for all tables that the library knows."""
    tables = [m for m in vars(models).values() if isinstance(m, type) and issubclass(m, Model) and m is not Model]
    out = ['<?xml version="1.0" encoding="utf-8"?>', '<!DOCTYPE DataSet SYSTEM "gdpdu-01-08-2002.dtd">', "<DataSet>"]
    out.append("<Version>1.0</Version><Media><Name>1</Name>")
    for table in tables:
        out.append(f"<Table><URL>{table._filename}</URL><Name>{table.__name__}</Name><{coding}/>")
        out.append("<DecimalSymbol>,</DecimalSymbol><DigitGroupingSymbol>.</DigitGroupingSymbol>")
        out.append("<Range><From>2</From></Range><VariableLength><ColumnDelimiter>;</ColumnDelimiter>")
        out.append("<RecordDelimiter>&#13;&#10;</RecordDelimiter><TextEncapsulator>&#34;</TextEncapsulator>")
        for field in table._fields:
            numeric = isinstance(field, NumericField)
            sort = f"<Numeric><Accuracy>{field.places}</Accuracy></Numeric>" if numeric else "<AlphaNumeric/>"
            out.append(f"<VariableColumn><Name>{escape(field.name)}</Name>{sort}</VariableColumn>")
        out.append("</VariableLength></Table>")
    return "\n".join([*out, "</Media></DataSet>"])


def export(closings: list[Closing], path: Path) -> Path:
    """Writes closings as a zip archive."""
    collection = Collection()
    for closing in closings:
        head = {"Z_KASSE_ID": closing.register, "Z_ERSTELLUNG": moment(closing.made), "Z_NR": closing.number}
        master(collection, closing, head)
        for number, receipt in enumerate(closing.receipts, 1):
            transaction(collection, receipt, number, {**head, "BON_ID": receipt.id})
            for place, position in enumerate(receipt.positions, 1):
                line(collection, position, {**head, "BON_ID": receipt.id, "POS_ZEILE": closing.line(place)[0]})
    described = path.with_suffix(".index")
    described.write_text(index("UTF8"), encoding="utf-8")
    collection.write(path, described, DOCUMENT_TYPE)
    described.unlink()
    return path


def master(collection: Collection, closing: Closing, head: dict) -> None:
    day = closing.day.isoformat() if closing.day else None
    made = models.Stamm_Abschluss(**head, TAXONOMIE_VERSION=VERSION, NAME="Zur Grauen Möwe", LAND="DEU")
    if day:
        made.Z_BUCHUNGSTAG = day
    made.Z_START_ID, made.Z_ENDE_ID = closing.receipts[0].id, closing.receipts[-1].id
    made.Z_SE_ZAHLUNGEN = sum((r.gross() for r in closing.receipts if r.kind == "Beleg"), D(0))
    collection.add(made)
    collection.add(models.Stamm_Orte(**head, LOC_NAME="Zur Grauen Möwe"))
    collection.add(models.Stamm_Kassen(**head, KASSE_SW_VERSION="1.0", KASSE_BASISWAEH_CODE="EUR"))
    for key, rate in RATES.items():
        collection.add(models.Stamm_USt(**head, UST_SCHLUESSEL=key, UST_SATZ=rate, UST_BESCHR=f"{rate} %"))


def transaction(collection: Collection, receipt: Receipt, number: int, head: dict) -> None:
    made = models.Bonkopf(**head, BON_NR=number, BON_TYP=receipt.kind, BON_STORNO=receipt.void)
    if receipt.name:
        made.BON_NAME = receipt.name
    made.BON_START = made.BON_ENDE = moment(receipt.at)
    made.BEDIENER_ID, made.BEDIENER_NAME, made.UMS_BRUTTO = "7", "Ümit; „Theke“", receipt.gross()
    collection.add(made)
    by_rate: dict[int, D] = {}
    for part in (part for line in receipt.positions if not line.struck for part in line.parts):
        by_rate[part.rate] = by_rate.get(part.rate, D(0)) + part.whole()
    for rate, gross in by_rate.items():
        collection.add(models.Bonkopf_USt(**head, UST_SCHLUESSEL=rate, BON_BRUTTO=gross))
    collection.add(
        models.Bonkopf_Zahlarten(**head, ZAHLART_TYP="Bar", ZAHLWAEH_CODE="EUR", BASISWAEH_BETRAG=receipt.gross())
    )
    collection.add(models.Bonkopf_AbrKreis(**head, ABRECHNUNGSKREIS=f"Tisch {number % 9}"))
    if receipt.refers:
        kind, closing, other = receipt.refers
        refers = models.Bon_Referenzen(**head, REF_TYP=kind, REF_Z_KASSE_ID=closing.register, REF_Z_NR=closing.number)
        refers.REF_DATUM, refers.REF_BON_ID = moment(closing.made), other.id
        collection.add(refers)


def line(collection: Collection, position: Position, head: dict) -> None:
    made = models.Bonpos(**head, ARTIKELTEXT=position.name, GV_TYP=position.kind, P_STORNO=position.struck)
    made.MENGE, made.ART_NR, made.INHAUS = position.quantity, position.code, True
    if position.unit:
        made.EINHEIT = position.unit
    # A reference quantity of the price, which never multiplies what was sold.
    made.FAKTOR = D(1) if position.unit is None else D("0.5")
    if position.quantity:
        made.STK_BR = position.gross() / position.quantity
    collection.add(made)
    for part in position.parts:
        amounts = models.Bonpos_USt(**head, UST_SCHLUESSEL=part.rate)
        for field, value in (("POS_BRUTTO", part.gross), ("POS_NETTO", part.net), ("POS_UST", part.tax)):
            if value is not None:
                setattr(amounts, field, value)
        collection.add(amounts)
    if position.taken_off:
        rate = position.parts[0].rate
        before = models.Bonpos_Preisfindung(**head, TYP="base_amount", UST_SCHLUESSEL=rate)
        before.PF_BRUTTO = position.gross() + position.taken_off
        off = models.Bonpos_Preisfindung(**head, TYP="discount", UST_SCHLUESSEL=rate, PF_BRUTTO=-position.taken_off)
        collection.add(before)
        collection.add(off)
    for part in position.made_of:
        collection.add(models.Bonpos_Zusatzinfo(**head, ZI_NAME=part, ZI_MENGE=D(1), ZI_UST_SCHLUESSEL=1))


def unpacked(archive: Path, into: Path) -> Path:
    """The same as a folder."""
    with zipfile.ZipFile(archive) as parts:
        parts.extractall(into)
    return into


def in_ansi(archive: Path, path: Path) -> Path:
    """The same with its tables in Windows-1252, as its index says, in a folder of the archive."""
    with zipfile.ZipFile(archive) as parts, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        for name in parts.namelist():
            content = parts.read(name)
            if name == "index.xml":
                content = index("ANSI").encode("utf-8")
            elif name.endswith(".csv"):
                content = content.decode("utf-8").encode("cp1252")
            out.writestr(f"Kassenexport/{name}", content)
    return path
