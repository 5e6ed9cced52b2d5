"""A sheet of drives into a book: ours beside openpyxl only reading the same file, in the same run.

    python benchmarks/sheet_import.py                10000 rows
    python benchmarks/sheet_import.py --rows 2000

The demo plant's rows, each under many tags, in an XLSX file. Ours reads the file, understands every cell, looks for the
drives in the book and writes them; a second hand-in finds them all as they were. The peer turns the file into Python
values and does nothing with them.
"""

from __future__ import annotations

import argparse
import csv
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import openpyxl

from beltwright.book.opening import create_book, open_book
from beltwright.book.sheets import read_sheet, write_sheet
from beltwright.desk.survey import HandedIn, hand_in, rows_from
from beltwright.plant.settings import Settings

DEMO = Path(__file__).parents[1] / "examples" / "pellet_mill.csv"


def make_sheet(path: Path, count: int) -> None:
    """The demo plant again and again, each drive under its own tag."""
    with DEMO.open(encoding="utf-8", newline="") as file:
        demo = list(csv.DictReader(file, delimiter=";"))
    rows = [{**demo[at % len(demo)], "tag": f"{demo[at % len(demo)]['tag']}-{at:05}"} for at in range(count)]
    write_sheet(path, list(demo[0]), rows, title="drives")


def ours(sheet: Path, book: Path) -> HandedIn:
    """What `beltwright survey` does."""
    with open_book(book, write=True) as store:
        read = read_sheet(sheet)
        return hand_in(store, rows_from(read.rows, first=read.first), by="bench", at=datetime.now(UTC))


def peer(sheet: Path) -> int:
    """Only reading."""
    page = openpyxl.load_workbook(sheet, read_only=True).active
    assert page is not None
    return sum(1 for _ in page.iter_rows(values_only=True))


def timed(act: Callable[[], object]) -> tuple[float, object]:
    """How long it takes [s], and what comes of it."""
    start = time.perf_counter()
    result = act()
    return time.perf_counter() - start, result


def main() -> None:
    parser = argparse.ArgumentParser(description="Import of a sheet, ours beside openpyxl's bare reading.")
    parser.add_argument("--rows", type=int, default=10_000, help="rows of the sheet (10000)")
    rows = parser.parse_args().rows
    with tempfile.TemporaryDirectory() as folder:
        sheet, book = Path(folder) / "drives.xlsx", Path(folder) / "plant.book"
        make_sheet(sheet, rows)
        create_book(book, Settings("Bench"), by="bench").close()
        reading, count = timed(lambda: peer(sheet))
        first, entered = timed(lambda: ours(sheet, book))
        again, same = timed(lambda: ours(sheet, book))
    assert isinstance(entered, HandedIn)
    assert isinstance(same, HandedIn)
    assert count == rows + 1
    assert len(entered.entered) == len(same.same) == rows, (len(entered.entered), len(same.same))
    print(f"{rows} rows of XLSX into the book: {first:.2f} s, {first / rows * 1e6:.0f} us a row")
    print(f"the same sheet again, nothing changed: {again:.2f} s")
    print(f"openpyxl, reading the file only: {reading:.2f} s; ours, import and all: {first / reading:.2f} times that")


if __name__ == "__main__":
    main()
