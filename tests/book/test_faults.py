"""What goes wrong around a book: nothing acknowledged is lost, nothing appears twice, and the error says what to do."""

from __future__ import annotations

import os
import random
import re
import sqlite3
import subprocess
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from uuid import UUID

import pytest

from beltwright.book import faults
from beltwright.book.opening import back_up, create_book, open_book
from beltwright.book.store import Store
from beltwright.errors import BookDamaged, BookFull, BookLocked, BookMissing
from beltwright.plant import identity
from beltwright.plant.settings import Settings
from beltwright.units import System
from tests.book.conftest import NEEDS_SERVER
from tests.book.invented import MONDAY, event, job, make_up, reading
from tests.book.server import Server
from tests.book.writer import TOGETHER, Writer, at, batch

ROUNDS = 200


def counts(book: Store, drive: UUID, first: int = 0) -> Counter[int]:
    """How many readings each key has, from the first asked for on."""
    return Counter(int(one.note) for one in book.readings(drive, since=at(first)))


# --- killed ----------------------------------------------------------------------------------------------------------

def test_killed_at_any_moment_nothing_acknowledged_is_lost(where: str, drive: UUID, writer: Writer) -> None:
    """Two hundred times: kill -9 somewhere in a run of writes, look, hand in again what was not acknowledged."""
    chance = random.Random(1)
    next_key = 0       # the first not acknowledged
    in_doubt = 0
    for _ in range(ROUNDS):
        first = max(0, next_key - 2)   # two that were acknowledged are handed in again, and the one in doubt
        writer.start(do="note", where=where, drive=drive, first=first)
        heard = writer.hear(kill_after=chance.uniform(0.002, 0.05))
        assert [words[1] for words in heard] == [str(first + place) for place in range(len(heard))], heard
        next_key = max(next_key, first + len(heard))
        with open_book(where) as book:
            found = counts(book, drive, first)
        # all that was acknowledged, at most the one write that was interrupted besides, each whole and once
        assert found in [dict.fromkeys(range(first, next_key + more), TOGETHER) for more in (0, 1)]
        in_doubt += len(found) > next_key - first
    with open_book(where, write=True) as book:
        book.check()
        found = counts(book, drive)
        assert set(range(next_key)) <= set(found)
        assert set(found.values()) == {TOGETHER}
    assert next_key > ROUNDS


def test_killed_while_a_book_is_made_it_is_whole_or_plainly_not_there(tmp_path: Path, writer: Writer) -> None:
    chance = random.Random(2)
    seen = Counter[str]()
    for number in range(60):
        path = tmp_path / f"{number}.book"
        writer.start(do="create", where=path)
        heard = writer.hear(kill_after=chance.uniform(0, 0.05))
        told = ""
        try:
            with open_book(path, write=True) as book:
                assert book.settings() == Settings("Mill")
                book.check()
        except (BookMissing, BookDamaged) as problem:
            told = str(problem)
        assert not (told and heard)   # what was said to be made is there
        assert not told or re.search("no book|never finished|is empty", told)
        seen["not there" if told else "whole"] += 1
    assert seen["not there"] > 3


@NEEDS_SERVER
def test_a_server_that_crashes_has_kept_what_it_acknowledged(server: Server) -> None:
    where = server.new_database()
    with create_book(where, Settings("Mill"), by="Ann") as book:
        fan = make_up("FAN-12")
        book.add_make_up(fan)
        for key in range(3):
            book.note_many(batch(fan.drive_id, key))
            server.crash()
            with pytest.raises(BookMissing, match="does not answer"):
                book.note_many(batch(fan.drive_id, key + 1))
            server.start()
            assert counts(book, fan.drive_id) == dict.fromkeys(range(key + 1), TOGETHER)   # the same store goes on


# --- no room ---------------------------------------------------------------------------------------------------------

class Cramped:
    """A folder on a disk of two megabytes: a real one where the tests may mount it, else SQLite's limit of pages."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.mounted = os.geteuid() == 0 and subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(folder)], capture_output=True, check=False
        ).returncode == 0
        if self.mounted:
            (folder / "filler").write_bytes(bytes(500_000))

    def fill(self, book: Store) -> None:
        if not self.mounted:
            with book.at_work() as connection:
                connection.ask("PRAGMA max_page_count = 60")

    def make_room(self, book: Store) -> None:
        if self.mounted:
            (self.folder / "filler").unlink()
        else:
            with book.at_work() as connection:
                connection.ask("PRAGMA max_page_count = 10000")

    def leave(self) -> None:
        if self.mounted:
            subprocess.run(["umount", str(self.folder)], check=True)


@pytest.fixture
def cramped(tmp_path: Path) -> Iterator[Cramped]:
    folder = tmp_path / "small"
    folder.mkdir()
    disk = Cramped(folder)
    yield disk
    disk.leave()


def test_a_full_disk_loses_nothing_that_was_acknowledged(cramped: Cramped) -> None:
    path = cramped.folder / "plant.book"
    with create_book(path, Settings("Mill"), by="Ann") as book:
        fan = make_up("FAN-12")
        book.add_make_up(fan)
        cramped.fill(book)
        kept = 0
        with suppress(BookFull):
            while book.note_many(batch(fan.drive_id, kept)):
                kept += 1
        with pytest.raises(BookFull, match=r"disk of .*plant.book is full: nothing was written"):
            book.note_many(batch(fan.drive_id, kept))
        assert kept > 10
        assert counts(book, fan.drive_id) == dict.fromkeys(range(kept), TOGETHER)
        with open_book(path) as reader:   # reading goes on
            assert len(counts(reader, fan.drive_id)) == kept
        if cramped.mounted:
            with pytest.raises(BookFull):
                back_up(book, cramped.folder / "copy.book")
            assert not (cramped.folder / "copy.book").exists()
        cramped.make_room(book)
        assert book.note_many(batch(fan.drive_id, kept)) == TOGETHER
        book.check()


def test_a_book_that_finds_no_room_leaves_nothing_behind(cramped: Cramped) -> None:
    if not cramped.mounted:   # without a small disk: the same error, raised where the tables are made
        with pytest.raises(BookFull):
            raise faults.message(BookFull, "plant.book", "")
        return
    filler = cramped.folder / "more"
    filler.write_bytes(bytes(1_500_000))
    with pytest.raises(BookFull):
        create_book(cramped.folder / "plant.book", Settings("Mill"), by="Ann")
    assert not list(cramped.folder.glob("plant*"))


# --- others are writing ----------------------------------------------------------------------------------------------

def test_two_writers_at_once_lose_nothing(where: str, drive: UUID) -> None:
    with Writer() as one, Writer() as other:
        one.start(do="note", where=where, drive=drive, first=0, past=60)
        other.start(do="note", where=where, drive=drive, first=30, past=90)   # half of it the same facts
        heard = one.hear() + other.hear()
    assert {words[0] for words in heard} == {"kept"}
    with open_book(where) as book:
        assert counts(book, drive) == dict.fromkeys(range(90), TOGETHER)


def test_many_threads_share_one_store(book: Store) -> None:
    fan = make_up("FAN-12")
    book.add_make_up(fan)
    failed: list[BaseException] = []

    def work(first: int) -> None:
        try:
            for key in range(first, first + 10):
                with book.writing():
                    seen = len(book.readings(fan.drive_id))
                    book.note_many(batch(fan.drive_id, key))
                    assert len(book.readings(fan.drive_id)) == seen + TOGETHER   # nobody writes in between
        except BaseException as problem:  # noqa: BLE001
            failed.append(problem)

    threads = [threading.Thread(target=work, args=(first,)) for first in range(0, 60, 10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failed
    assert counts(book, fan.drive_id) == dict.fromkeys(range(60), TOGETHER)


def test_whoever_waits_too_long_is_told(book: Store, where: str) -> None:
    fan = make_up("FAN-12")
    book.add_make_up(fan)
    with open_book(where, write=True, patience=0.1) as other:
        with book.writing():
            with pytest.raises(BookLocked, match="locked: another program is writing") as told:
                other.note(reading(fan.drive_id))
            assert other.readings(fan.drive_id) == []   # whoever reads never waits
            assert "\n" not in str(told.value)
        assert other.note(reading(fan.drive_id))


def test_a_locked_file_is_not_a_server_that_is_gone(tmp_path: Path) -> None:
    """Or the same wait would begin again over a new connection."""
    path = tmp_path / "plant.book"
    with create_book(path, Settings("Mill"), by="Ann") as book:
        holder = sqlite3.connect(path, isolation_level=None)
        holder.execute("BEGIN IMMEDIATE")
        with pytest.raises(sqlite3.OperationalError) as told, sqlite3.connect(path, timeout=0) as other:
            other.execute("BEGIN IMMEDIATE")
        assert not faults.is_gone(told.value)
        other.close()
        holder.close()
        assert book.settings() == Settings("Mill")


# --- clocks ----------------------------------------------------------------------------------------------------------

def test_a_clock_that_goes_back_loses_and_doubles_nothing(book: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    clock = iter([MONDAY + timedelta(hours=hours) for hours in (5, 4, 3, -400, 2, 1)])
    fan = make_up("FAN-12")
    book.add_make_up(fan)
    monkeypatch.setattr(identity, "now", lambda: next(clock))
    noted = [reading(fan.drive_id, at=identity.now()) for _ in range(3)]
    correction = reading(fan.drive_id, at=identity.now(), supersedes=noted[0].id)
    for one in (*noted, correction, *noted):
        book.note(one)
    assert book.readings(fan.drive_id) == [correction, noted[2], noted[1]]
    systems: tuple[System, ...] = ("inch", "si")
    for system in systems:
        book.change_settings(Settings("Mill", system), by="Ann")
    assert book.settings().system == "si"   # the last one said, not the one with the latest time
    opened = job(fan.drive_id)
    book.open_job(opened)
    steps = [event(opened.id, "done", "lock", at=MONDAY), event(opened.id, "undone", "lock", at=MONDAY - timedelta(1))]
    for one_event in steps:
        book.add_event(one_event)
    assert book.events(opened.id) == steps


def test_ids_made_while_the_clock_goes_back_are_unique(monkeypatch: pytest.MonkeyPatch) -> None:
    times = iter([2 * 10**18 - number * 10**9 for number in range(1000)])
    monkeypatch.setattr("time.time_ns", lambda: next(times))
    made = [identity.new_id() for _ in range(500)]
    assert len(set(made)) == 500
