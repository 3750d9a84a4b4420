#!/usr/bin/env python3
"""Runs the round trips: `run.py [--seed N] [SUBJECT]...`; see README.md."""

import argparse
import hashlib
import importlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
import venv
from pathlib import Path

SUBJECTS = ["orders", "sheets", "tills", "tables", "bills"]
HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
REQUIREMENTS = HERE / "requirements.txt"
TARGET = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
# Seconds that fetching all packages may take.
PATIENCE = 600


class NoEnvironment(Exception):
    """The packages of others cannot be had; in words."""


def built() -> Path:
    """The program: named in TANTALUS, or built now."""
    named = os.environ.get("TANTALUS")
    if named:
        return Path(named).resolve()
    subprocess.run(["cargo", "build", "--quiet", "--locked"], cwd=ROOT, check=True)
    return TARGET.resolve() / "debug" / "tantalus"


def environment() -> Path:
    """A virtual environment with the packages; made once for each list of them, kept below `target/`."""
    pins = REQUIREMENTS.read_bytes() + sys.version.encode()
    place = TARGET.resolve() / "round_trip" / hashlib.sha256(pins).hexdigest()[:16]
    if (place / "ready").exists():
        return place
    if sys.version_info < (3, 11):
        raise NoEnvironment(f"they need Python 3.11 or newer, this is {sys.version.split()[0]}")
    shutil.rmtree(place, ignore_errors=True)
    try:
        venv.create(place / "venv", with_pip=True)
    except (subprocess.CalledProcessError, ImportError, OSError) as error:
        raise NoEnvironment(
            f"no virtual environment can be made ({error}); on Debian the package python3-venv is missing"
        ) from error
    pip = [place / "venv" / "bin" / "python", "-m", "pip", "--disable-pip-version-check", "--quiet"]
    install = [*pip, "install", "--no-input", "--timeout", "15", "--retries", "3", "-r", REQUIREMENTS]
    try:
        done = subprocess.run(install, capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=PATIENCE)
        said = (done.stdout + done.stderr).strip() if done.returncode else None
    except subprocess.TimeoutExpired:
        said = f"no end after {PATIENCE} seconds"
    if said is not None:
        last = said.splitlines()[-1] if said else "pip said nothing"
        raise NoEnvironment(
            f"the packages of {REQUIREMENTS.name} could not be fetched from PyPI; is it reachable? {last}"
        )
    (place / "ready").touch()
    return place


def outside(seed: int, subjects: list[str]) -> int:
    """Makes the environment and runs this file again in it."""
    try:
        kept = environment()
    except NoEnvironment as why:
        print(f"The round trips did not run: {why}", file=sys.stderr)
        return 1
    program = built()
    with tempfile.TemporaryDirectory(prefix="round_trip_") as folder:
        python = kept / "venv" / "bin" / "python"
        inside = [python, "-B", HERE / "run.py", "--inside", folder, program, kept, "--seed", str(seed), *subjects]
        return subprocess.run(inside, check=False).returncode


def inside(place: Path, program: Path, kept: Path, seed: int, subjects: list[str]) -> int:
    """Runs the subjects; 0 when every check held."""
    from bar import Bar

    failed = False
    for name in subjects:
        began = time.monotonic()
        try:
            said = importlib.import_module(name).check(Bar(program, place / name, kept, seed))
            print(f"{name}: {said} ({time.monotonic() - began:.0f} s)", flush=True)
        except AssertionError as error:
            print(f"{name}: FAILED with seed {seed}: {error}", flush=True)
            failed = True
    return 1 if failed else 0


def main() -> int:
    parser = argparse.ArgumentParser(description="Round trips through programs of others; see README.md")
    parser.add_argument("subjects", nargs="*", metavar="SUBJECT", help=f"any of {', '.join(SUBJECTS)}; all without")
    parser.add_argument("--seed", type=int, default=1, help="what random contents are made of (1)")
    parser.add_argument("--inside", nargs=3, help=argparse.SUPPRESS)
    said = parser.parse_args()
    unknown = [name for name in said.subjects if name not in SUBJECTS]
    if unknown:
        parser.error(f"unknown: {', '.join(unknown)}; there are {', '.join(SUBJECTS)}")
    subjects = said.subjects or SUBJECTS
    if said.inside:
        return inside(*map(Path, said.inside), said.seed, subjects)
    return outside(said.seed, subjects)


if __name__ == "__main__":
    sys.exit(main())
