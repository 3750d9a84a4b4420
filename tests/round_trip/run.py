#!/usr/bin/env python3
"""Runs the round trips: `run.py [SUBJECT]...`; see README.md."""

import importlib
import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

SUBJECTS = ["orders", "sheets"]
HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent


def built() -> Path:
    """The program: named in TANTALUS, or built now."""
    named = os.environ.get("TANTALUS")
    if named:
        return Path(named).resolve()
    subprocess.run(["cargo", "build", "--quiet"], cwd=ROOT, check=True)
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    return target / "debug" / "tantalus"


def outside(subjects: list[str]) -> int:
    """Makes the environment and runs this file again in it."""
    program = built()
    with tempfile.TemporaryDirectory(prefix="round_trip_") as folder:
        place = Path(folder)
        venv.create(place / "venv", with_pip=True)
        python = place / "venv" / "bin" / "python"
        pip = [python, "-m", "pip", "--quiet", "--disable-pip-version-check"]
        subprocess.run([*pip, "install", "-r", HERE / "requirements.txt"], check=True)
        inside = [python, "-B", HERE / "run.py", "--inside", place, program, *subjects]
        return subprocess.run(inside, check=False).returncode


def inside(place: Path, program: Path, subjects: list[str]) -> int:
    """Runs the subjects; 0 when every check held."""
    from bar import Bar

    failed = []
    for name in subjects:
        bar = Bar(program, place / name)
        try:
            said = importlib.import_module(name).check(bar)
            print(f"{name}: {said}")
        except AssertionError as error:
            print(f"{name}: FAILED: {error}")
            failed.append(name)
    return 1 if failed else 0


def main() -> int:
    arguments = sys.argv[1:]
    if arguments[:1] == ["--inside"]:
        return inside(Path(arguments[1]), Path(arguments[2]), arguments[3:])
    unknown = [name for name in arguments if name not in SUBJECTS]
    if unknown:
        print(f"unknown: {', '.join(unknown)}; there are {', '.join(SUBJECTS)}", file=sys.stderr)
        return 2
    return outside(arguments or SUBJECTS)


if __name__ == "__main__":
    sys.exit(main())
