"""Whole commands from the shell, each beside the least that anything doing its work must load, in the same run.

    python benchmarks/commands.py                best and middle of 15 rounds
    python benchmarks/commands.py --rounds 40

Every round runs each command once, in turn, so that what else the machine does falls on all alike. The list of
commands is held against a bare interpreter and against two other programs' lists; a card against loading NumPy, click
and SQLite; the PDF against typst setting one empty page. Times are by the clock, of the whole process.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

DEMO = Path(__file__).parents[1] / "examples" / "pellet_mill.csv"
PYTHON = sys.executable
BIN = Path(PYTHON).parent

COMMANDS: dict[str, list[str]] = {
    "bare interpreter": [PYTHON, "-c", "pass"],
    "beltwright --help": [str(BIN / "beltwright"), "--help"],
    "alembic --help": [str(BIN / "alembic"), "--help"],
    "uvicorn --help": [str(BIN / "uvicorn"), "--help"],
    "NumPy, click, SQLite": [PYTHON, "-c", "import numpy, click, sqlite3"],
    "beltwright card": [str(BIN / "beltwright"), "card", "FAN-12"],
    "empty page by typst": [PYTHON, "-c", "import numpy, click, sqlite3, typst; typst.compile(b'')"],
    "beltwright card --pdf": [str(BIN / "beltwright"), "card", "FAN-12", "--pdf", "card.pdf"],
    "beltwright plant": [str(BIN / "beltwright"), "plant"],
}


def timed(command: list[str], folder: Path) -> float:
    """One run [s]."""
    start = time.perf_counter()
    subprocess.run(command, cwd=folder, check=True, stdout=subprocess.DEVNULL,
                   env={**os.environ, "BELTWRIGHT_BOOK": "plant.book"})
    return time.perf_counter() - start


def main() -> None:
    parser = argparse.ArgumentParser(description="Whole commands beside the least they must load.")
    parser.add_argument("--rounds", type=int, default=15, help="how often each is run (15)")
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for prepare in (["new", "Pellet mill"], ["survey", str(DEMO)]):
            timed([str(BIN / "beltwright"), *prepare], folder)
        times: dict[str, list[float]] = {words: [] for words in COMMANDS}
        for _ in range(rounds):
            for words, command in COMMANDS.items():
                times[words].append(timed(command, folder))
    best = {words: min(each) for words, each in times.items()}
    for words, each in times.items():
        print(f"{words:22} best {best[words] * 1e3:6.0f} ms   middle {statistics.median(each) * 1e3:6.0f} ms")

    def ratio(ours: str, peer: str) -> None:
        print(f"{ours}: {best[ours] / best[peer]:.2g} times {peer}")

    print()
    for ours, peer in (("beltwright --help", "bare interpreter"), ("beltwright --help", "alembic --help"),
                       ("beltwright --help", "uvicorn --help"), ("beltwright card", "NumPy, click, SQLite"),
                       ("beltwright card --pdf", "empty page by typst")):
        ratio(ours, peer)


if __name__ == "__main__":
    main()
