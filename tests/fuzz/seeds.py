#!/usr/bin/env python3
"""Lays down what the fuzz targets begin with: the samples and broken files of the tests, in the form of each target.

    seeds.py FOLDER
"""

import hashlib
import io
import pathlib
import re
import sys
import zipfile

TESTS = pathlib.Path(__file__).resolve().parent.parent
OUT = pathlib.Path(sys.argv[1])
# Larger ones would fill the corpus with what takes long and finds little.
LARGEST = 24_000
# In the order of the table of plain files in the program.
FILES = re.findall(r'^        name: "(\w+\.csv)"', (TESTS.parent / "src/exchange/plain/files.rs").read_text(), re.M)


def put(target, content):
    if len(content) <= LARGEST:
        folder = OUT / target
        folder.mkdir(parents=True, exist_ok=True)
        (folder / hashlib.sha1(content).hexdigest()).write_bytes(content)


def plain(path):
    content = path.read_bytes()
    if path.name in FILES:
        put("plain", bytes([FILES.index(path.name)]) + content)
    # The cells are what the parsers of words read.
    for cell in set(re.split(r'[,\n"]', content.decode("utf-8", "replace"))):
        cell = cell.strip().encode()
        if 0 < len(cell) < 60:
            for target in ["figures", "times", "names", "text"]:
                CELLS[target].add(cell)


CELLS = {target: set() for target in ["figures", "times", "names", "text"]}
assert len(FILES) > 25, FILES
for path in sorted((TESTS / "good_folder").glob("*.csv")) + sorted((TESTS / "bad_files").glob("*/*.csv")):
    plain(path)
for target, cells in CELLS.items():
    for cell in cells:
        put(target, cell)
for path in sorted((TESTS / "samples/tables").rglob("*.csv")) + sorted((TESTS / "samples/tables").rglob("*.txt")):
    put("till_table", path.read_bytes())
for path in sorted((TESTS / "samples/till").iterdir()):
    if path.suffix in {".xml", ".zip"}:
        put("till_export", path.read_bytes())
    if path.suffix == ".zip":
        put("archive", path.read_bytes())
        with zipfile.ZipFile(path) as archive:
            files = [(name, archive.read(name)) for name in archive.namelist()]
        put("till_folder", b"".join(b"=== " + name.encode() + b"\n" + content + b"\n" for name, content in files))
for folder in sorted(path for path in (TESTS / "samples/till").iterdir() if path.is_dir()):
    files = [(path.name, path.read_bytes()) for path in sorted(folder.iterdir())]
    put("till_folder", b"".join(b"=== " + name.encode() + b"\n" + content + b"\n" for name, content in files))
    for packed in [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED]:
        whole = io.BytesIO()
        with zipfile.ZipFile(whole, "w", packed) as archive:
            for name, content in files:
                archive.writestr(zipfile.ZipInfo(name), content[:2_000], packed)
        put("archive", whole.getvalue())
        put("till_export", whole.getvalue())
for path in sorted((TESTS / "samples/invoice").iterdir()) + [TESTS / "samples/bill-of-the-demo.xml"]:
    if path.suffix in {".xml", ".pdf"}:
        put("bill", path.read_bytes())
for text in ["1 2.4\n2 .4.7\n3 812g\n", "Back bar:\nDry gin 1.4\nWhite rum: 2 .7 .1\n# nothing\n\n", "17: f\n1 -\n2 1f\n"]:
    put("filled", text.encode())
