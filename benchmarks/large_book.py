"""A book of 10,000 drives and about 1,000,000 readings for the benchmarks of pages, and how long it takes to write.

    python benchmarks/large_book.py [drives]

The drives are those of the examples, many sites of them; the readings are rounds of tension by note on every belt with
what else is noted on a round, as in `findings.py`.
"""

from __future__ import annotations

import csv
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from beltwright.bench.findings.targets import targets_of_plant
from beltwright.book.opening import create_book
from beltwright.desk.survey import read_rows, rows_from
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings
from findings import readings

SINCE = datetime(2019, 3, 2, tzinfo=UTC)
EACH = 103   # drives whose tension cannot be judged get none


def example_drives() -> tuple[Drive, ...]:
    """The drives of the examples."""
    path = Path(__file__).parents[1] / "examples" / "pellet_mill.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return read_rows(rows_from(list(csv.DictReader(file, delimiter=";")))).drives


def make_ups(number: int) -> list[MakeUp]:
    """Many sites like that of the examples."""
    made = []
    known = example_drives()
    for at in range(number):
        drive = known[at % len(known)]
        tag, site = f"{drive.tag.split('-')[0]}-{at:05d}", at // (40 * len(known)) + 1
        there = f"Site {site} / {drive.place}"
        drive = replace(drive, tag=tag, place=there, typed={**drive.typed, "tag": tag, "place": there})
        made.append(MakeUp(new_id(), new_id(), SINCE, drive, "Ann", SINCE))
    return made


def large_book(path: Path, number: int) -> tuple[list[MakeUp], int]:
    """The book; its drives and how many readings."""
    drives = make_ups(number)
    judged = [make_up for make_up, targets in zip(drives, targets_of_plant([each.drive for each in drives]),
                                                  strict=True)
              if targets.set_to is not None and targets.span is not None and targets.mass is not None]
    noted = 0

    def counted() -> Iterator[Reading]:
        nonlocal noted
        for reading in readings(judged, EACH):
            noted += 1
            yield reading

    with create_book(path, Settings("Ten thousand"), by="Ann") as book:
        book.add_make_ups(drives)
        book.note_many(counted())
    return drives, noted


def main() -> None:
    """Print how long it takes."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "large.book"
        began = time.perf_counter()
        _, noted = large_book(path, number)
        print(f"{number} drives and {noted} readings written in {time.perf_counter() - began:.0f} s, "
              f"{path.stat().st_size / 1e6:.0f} MB")


if __name__ == "__main__":
    main()
