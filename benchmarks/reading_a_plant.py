"""All readings of a plant read from its book and rebuilt into records, beside the same done the plain way.

    python benchmarks/reading_a_plant.py [--drives 10000] [--each 100]

The peer reads the same rows with sqlite3 and builds each reading with the usual calls (`UUID(bytes=...)`, one
`json.loads` a field, the record's constructor). Both must give the same records. Processor time of one core.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

from beltwright.book import rows
from beltwright.book.opening import create_book, open_book
from beltwright.plant.drive import Belts, Drive, MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings

START = datetime(2006, 1, 2, 6, 30, tzinfo=UTC)
WEEK = timedelta(days=7)
KIBI = 1024


def invented(path: Path, drives: int, each: int) -> None:
    chance = random.Random(1)
    fans = [MakeUp(new_id(), new_id(), START, Drive(f"FAN-{number}", "fan", belts=Belts("B", "B112", count=3)), "Ann",
                   START) for number in range(drives)]

    def readings() -> Iterator[Reading]:
        for fan in fans:
            for number in range(each):
                force = chance.uniform(30, 60)
                yield Reading(new_id(), fan.drive_id, "force", "as found",
                              {"belt": number % 3 + 1, "force": force, "span": chance.uniform(0.5, 0.52)},
                              {"belt": str(number % 3 + 1), "force": f"{force:.1f} N", "span": "512 mm"},
                              START + number * WEEK, "Ann")

    with create_book(path, Settings("Mill"), by="Ann") as book:
        book.add_make_ups(fans)
        book.note_many(readings())


def from_the_book(path: Path) -> Iterator[Reading]:
    with open_book(path) as book:
        for _, some in book.readings_of_plant():
            yield from some


def the_plain_way(path: Path) -> Iterator[Reading]:
    connection = sqlite3.connect(path)
    for row in connection.execute(f"SELECT {rows.READING_COLUMNS} FROM readings ORDER BY drive_id, taken_at, id"):
        drive_id, taken_at, own_id, kind, state, job_id, by, supersedes, measured, typed, rest = row
        more = json.loads(rest) if rest else {}
        yield Reading(UUID(bytes=own_id), UUID(bytes=drive_id), kind, state, json.loads(measured), json.loads(typed),
                      datetime.fromisoformat(taken_at + "Z"), by, UUID(bytes=job_id) if job_id else None,
                      UUID(bytes=supersedes) if supersedes else None, **more)
    connection.close()


def spent(readings: Iterator[Reading]) -> tuple[float, int]:
    start = time.process_time()
    count = sum(1 for _ in readings)
    return time.process_time() - start, count


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    ask.add_argument("--drives", type=int, default=10_000)
    ask.add_argument("--each", type=int, default=100)
    given = ask.parse_args()
    with tempfile.TemporaryDirectory(prefix="plant-") as folder:
        path = Path(folder) / "plant.book"
        start = time.perf_counter()
        invented(path, given.drives, given.each)
        print(f"made and noted in {time.perf_counter() - start:.1f} s, {path.stat().st_size / 1e6:.0f} MB")
        pairs = zip(from_the_book(path), the_plain_way(path), strict=True)
        assert all(ours == theirs for ours, theirs in (next(pairs) for _ in range(min(1000, given.each))))
        ours, count = spent(from_the_book(path))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KIBI
        theirs, same = spent(the_plain_way(path))
        assert count == same
        print(f"{count} readings of {given.drives} drives")
        print(f"from the book:  {ours:6.2f} s, peak {peak:.0f} MiB with the making of the plant")
        print(f"the plain way:  {theirs:6.2f} s, {theirs / ours:.2f} times as long")


if __name__ == "__main__":
    main()
