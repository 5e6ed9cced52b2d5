"""A process of its own that writes into a book, to be killed, starved or locked out by the tests of faults.

It reads one order a line, does it in a fresh child (so that each starts in milliseconds), and says on its output what
happened: `child PID`, `kept KEY` once a call has returned, `refused ERROR MESSAGE`, `gone`.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from subprocess import PIPE, Popen
from typing import Any, Self
from uuid import UUID, uuid5

import psycopg  # noqa: F401 - loaded here once, not by every child

from beltwright.book.opening import create_book, open_book
from beltwright.book.store import Store
from beltwright.errors import BeltwrightError
from beltwright.plant.identity import new_id
from beltwright.plant.reading import Reading
from beltwright.plant.settings import Settings
from tests.book.invented import MONDAY, reading

TOGETHER = 3


def at(key: int) -> datetime:
    """When the readings of a key were taken."""
    return MONDAY + timedelta(minutes=key)


def batch(drive_id: UUID, key: int) -> list[Reading]:
    """Readings that are noted together: always the same ones for a key, so that they can be handed in again."""
    return [replace(reading(drive_id, float(key), at=at(key)), id=uuid5(drive_id, f"{key} {number}"), note=str(key))
            for number in range(TOGETHER)]


def say(*words: object) -> None:
    os.write(1, (" ".join(map(str, words)).replace("\n", " ") + "\n").encode())


def note(store: Store, order: dict[str, Any]) -> None:
    for key in range(order["first"], order.get("past", 10**9)):
        store.note_many(batch(UUID(order["drive"]), key))
        say("kept", key)


def work(order: dict[str, Any]) -> None:
    if user := order.get("user"):
        os.setgid(user)
        os.setuid(user)
    try:
        if order["do"] == "create":
            create_book(order["where"], Settings("Mill"), by="Ann").close()
            say("kept", "book")
            return
        with open_book(order["where"], write=order["do"] == "note", patience=order.get("patience", 5.0)) as store:
            if order["do"] == "note":
                note(store, order)
            else:
                say("kept", len(store.readings(UUID(order["drive"]))))
    except BeltwrightError as problem:
        say("refused", type(problem).__name__, problem)


def main() -> None:
    batch(new_id(), 0)   # loads what is loaded late: a child may become somebody who cannot read Python's own files
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            try:
                work(json.loads(line))
            except BaseException as problem:  # noqa: BLE001 - whatever it is, the test must hear of it
                say("failed", type(problem).__name__, problem)
            os._exit(0)
        say("child", child)
        os.waitpid(child, 0)
        say("gone")


class Writer:
    """The same seen from the tests: give an order, hear what happens, kill the child at any moment."""

    def __init__(self) -> None:
        self.process = Popen([sys.executable, "-m", "tests.book.writer"], stdin=PIPE, stdout=PIPE, text=True,
                             cwd=Path(__file__).parents[2])

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.process.kill()
        self.process.communicate()

    def start(self, **order: Any) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps(order, default=str) + "\n")
        self.process.stdin.flush()

    def hear(self, *, kill_after: float | None = None) -> list[list[str]]:
        """What is said until the child is gone, or is killed without warning so many seconds after its birth."""
        heard: list[list[str]] = []
        for words in self._lines():
            if words[0] == "gone":
                return heard
            if words[0] != "child":
                heard.append(words)
            elif kill_after is not None:
                time.sleep(kill_after)
                os.kill(int(words[1]), signal.SIGKILL)
        raise AssertionError("the writer itself is gone")

    def do(self, **order: Any) -> list[list[str]]:
        self.start(**order)
        return self.hear()

    def _lines(self) -> Iterator[list[str]]:
        assert self.process.stdout is not None
        for line in iter(self.process.stdout.readline, ""):
            yield line.rstrip("\n").split(" ", 2)


@contextmanager
def no_mask() -> Iterator[None]:
    """What other users may read is not decided by whoever runs the tests."""
    before = os.umask(0o022)
    yield
    os.umask(before)


if __name__ == "__main__":
    main()
