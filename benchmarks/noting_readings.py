"""Readings noted one by one, each on the disk before the next: through the book, beside bare sqlite3 on the same disk.

    python benchmarks/noting_readings.py [--notes 2000] [--folder .]

The peer makes the same commits: the same row into the same tables, prepared beforehand, with the same pragmas and
nothing else. Both take turns, for a disk is never equally fast twice. Goal: 500 a second. How many a disk allows is
printed first: each note waits for one.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sqlite3
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID

from beltwright.book import rows
from beltwright.book.databases import sqlite
from beltwright.book.opening import create_book, open_book
from beltwright.plant.drive import Drive, MakeUp
from beltwright.plant.identity import new_id, now
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings

GOAL = 500
TURNS = 10
INSERT = f"INSERT INTO readings ({rows.READING_COLUMNS}) VALUES ({', '.join('?' * 11)})"


def invented(drive_id: UUID, count: int) -> list[Reading]:
    return [Reading(new_id(), drive_id, "force", "as found", {"belt": 1 + number % 3, "force": 40 + number * 1e-3},
                    {"belt": "1", "force": "40 N"}, datetime.now(UTC), "Ann") for number in range(count)]


def through_the_book(path: Path, readings: list[Reading]) -> float:
    with open_book(path, write=True) as book:
        start = time.perf_counter()
        for reading in readings:
            book.note(reading)
        return time.perf_counter() - start


def bare(path: Path, readings: list[Reading]) -> float:
    put = sqlite(path, write=True, patience=5)
    lines = [[put.put_id(value) if isinstance(value, UUID) else put.put_time(value) if isinstance(value, datetime)
              else value for value in rows.reading_row(reading)] for reading in readings]
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    start = time.perf_counter()
    for line in lines:
        connection.execute("BEGIN IMMEDIATE")
        connection.execute(INSERT, line)
        connection.execute("COMMIT")
    spent = time.perf_counter() - start
    connection.close()
    return spent


def disk_alone(folder: Path, count: int = 200) -> float:
    """How often a second the disk takes a page and says that it has it."""
    with (folder / "page").open("wb") as file:
        start = time.perf_counter()
        for _ in range(count):
            file.write(bytes(4096))
            file.flush()
            os.fdatasync(file.fileno())
        return count / (time.perf_counter() - start)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    ask.add_argument("--notes", type=int, default=2000)
    ask.add_argument("--folder", type=Path, default=Path())
    given = ask.parse_args()
    folder = Path(tempfile.mkdtemp(dir=given.folder, prefix="noting-"))
    try:
        path = folder / "plant.book"
        with create_book(path, Settings("Mill"), by="Ann") as book:
            fan = MakeUp(new_id(), new_id(), now(), Drive("FAN-12", "fan"), "Ann", now())
            book.add_make_up(fan)
        peer = Path(shutil.copy(path, folder / "peer.book"))
        print(f"the disk alone:    {disk_alone(folder):8.0f} pages a second")
        each = given.notes // TURNS
        ours = theirs = 0.0
        for _ in range(TURNS):
            ours += through_the_book(path, invented(fan.drive_id, each))
            theirs += bare(peer, invented(fan.drive_id, each))
        print(f"through the book:  {each * TURNS / ours:8.0f} notes a second (goal {GOAL})")
        print(f"bare sqlite3:      {each * TURNS / theirs:8.0f} notes a second")
        print(f"the book takes {ours / theirs:.2f} times as long; its own share is "
              f"{(ours - theirs) / each / TURNS * 1e3:.3f} ms a note")
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
