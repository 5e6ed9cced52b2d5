"""The plant kept in memory stays in step with the book, whoever writes to it."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from beltwright.bench.findings.finding import Finding
from beltwright.book.opening import open_book
from beltwright.book.store import Store
from beltwright.desk.record import note
from beltwright.desk.standing import Standing, standing
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.drive import Drive
from beltwright.plant.identity import now
from beltwright.web import glances as module
from beltwright.web.glance import Overview
from beltwright.web.glances import Glances
from tests.bench.drives import SOUND
from tests.web.browser import plant_book


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Store]:
    with open_book(plant_book(tmp_path), write=True) as store:
        yield store


@pytest.fixture
def glances(book: Store) -> Iterator[Glances]:
    found = Glances(book)
    yield found
    found.close()


def settled(glances: Glances, book: Store) -> Overview:
    """The plant once the thread has caught up."""
    until = time.monotonic() + 20
    while time.monotonic() < until:
        overview = glances.look()
        if not overview.to_come and glances._work is None and glances._seen.startswith(book.mark()):
            return glances.look()
        time.sleep(0.01)
    raise AssertionError("the plant was never judged to the end")


def test_a_drive_noted_by_somebody_else_is_seen(glances: Glances, book: Store) -> None:
    assert [one.tag for one in settled(glances, book).drives] == ["FAN-1"]
    assert book.database.path is not None
    with open_book(book.database.path, write=True) as other:
        hand_in(other, rows_from([{**SOUND, "tag": "FAN-10"}, {**SOUND, "tag": "FAN-2", "motor_speed_rpm": "3550"}]),
                by="Jo", at=now())
    overview = settled(glances, book)
    assert [one.tag for one in overview.drives] == ["FAN-1", "FAN-2", "FAN-10"]
    assert [one.tag for one in overview.first_hands()] == ["FAN-2"]


def test_a_reading_changes_how_its_drive_stands(glances: Glances, book: Store) -> None:
    assert settled(glances, book).drives[0].stands == "plan"
    note(book, "FAN-1", "seen", {"what": "cracked"}, state="running", by="Jo", at=now())
    assert settled(glances, book).drives[0].stands in ("stop and mend", "mend at next stop")


def test_who_noted_something_sees_it_at_once(glances: Glances, book: Store) -> None:
    drive_id = settled(glances, book).drives[0].drive_id
    note(book, "FAN-1", "seen", {"what": "cracked"}, state="running", by="Jo", at=now())
    glances.judge_again(drive_id)
    assert glances.look().drives[0].needs_a_hand


def test_a_plant_where_nothing_changed_is_asked_nothing(glances: Glances, book: Store,
                                                        monkeypatch: pytest.MonkeyPatch) -> None:
    first = settled(glances, book)
    for name in ("drives", "drive", "make_ups", "readings", "fitted_now", "noted_now"):
        monkeypatch.setattr(book, name, None)
    assert glances.look() is first


def test_each_drive_is_judged_once(book: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    hand_in(book, rows_from([{**SOUND, "tag": f"FAN-{at}"} for at in range(2, 90)]), by="Jo", at=now())
    judged: list[str] = []

    def counted(drive: Drive, found: Sequence[Finding]) -> Standing:
        judged.append(drive.tag)
        return standing(drive, found)

    monkeypatch.setattr(module, "standing", counted)
    glances = Glances(book)
    settled(glances, book)
    hand_in(book, rows_from([{**SOUND, "tag": "FAN-7", "belt_count": "2"}]), by="Jo", at=now())
    overview = settled(glances, book)
    glances.close()
    assert len(overview.drives) == 89
    assert sorted(judged) == sorted([*(one.tag for one in overview.drives), "FAN-7"])
