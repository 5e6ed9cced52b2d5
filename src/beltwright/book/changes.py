"""Who changed what in a book, the latest first: choices, drives, corrections, jobs opened and ended, people.

Nothing is kept for it: facts say by themselves who noted them and what they came after. Readings just noted and steps
of jobs are no changes. Of people, the register's own audit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from heapq import nlargest
from typing import Any
from uuid import UUID

from beltwright.book import rows
from beltwright.book.choices import Chosen
from beltwright.book.databases import Connection
from beltwright.book.readings import one as reading_of
from beltwright.book.register import BookRegister
from beltwright.book.store import Store
from beltwright.plant.drive import Drive
from beltwright.plant.job import Event
from beltwright.plant.person import Change
from beltwright.plant.settings import Settings

_NOT_NOTED = "nothing"


def latest(store: Store, *, most: int) -> list[Change]:
    """What was changed last, by whom and what it was before: at most so many lines."""
    with store.looking(), store.at_rest() as connection:
        found = [*_choices(connection, most), *_drives(connection, most), *_corrections(connection, most),
                 *_jobs(connection, most), *BookRegister(store).changes(most=most)]
    return sorted(found, key=lambda change: (change.at, change.id), reverse=True)[:most]


def _choices(connection: Connection, most: int) -> Iterator[Change]:
    get = connection.database
    found = connection.ask("SELECT id, noted_at, noted_by, content FROM settings ORDER BY number DESC LIMIT ?",
                           most + 1)
    chosen = [Chosen(get.get_id(row[0]), rows.from_text(Settings, row[3]), get.get_time(row[1]), row[2])
              for row in found]
    for place, now in enumerate(chosen[:most]):
        before = chosen[place + 1] if place + 1 < len(chosen) else None
        what = "started the book" if before is None else "changed the plant's choices"
        yield Change(now.id, now.at, now.by, what, now.settings.plant, "" if before is None else _differing(
            rows.to_json(before.settings), rows.to_json(now.settings)))


def _drives(connection: Connection, most: int) -> Iterator[Change]:
    get = connection.database
    for mark, drive_id, number, at, by, content in connection.ask(
            "SELECT id, drive_id, number, noted_at, noted_by, content FROM make_ups ORDER BY number DESC LIMIT ?",
            most):
        now = rows.from_text(Drive, content)
        before = [rows.from_text(Drive, row[0]) for row in connection.ask(
            "SELECT content FROM make_ups WHERE drive_id = ? AND number < ? ORDER BY number DESC LIMIT 1",
            get.get_id(drive_id), number)]
        what = "changed the drive" if before else "entered the drive"
        yield Change(get.get_id(mark), get.get_time(at), by, what, now.tag,
                     _differing(before[0].typed, now.typed) if before else now.name)


def _corrections(connection: Connection, most: int) -> Iterator[Change]:
    get_id = connection.database.get_id
    # their ids are in order of time; sorted here, for sorting there would go through a million readings to find them
    marks = (get_id(row[0]) for row in connection.ask("SELECT id FROM readings WHERE supersedes IS NOT NULL"))
    for mark in nlargest(most, marks):
        new = reading_of(connection, mark)
        assert new.supersedes is not None
        old = reading_of(connection, new.supersedes)
        said = new.extra.get("corrected_at", "")
        yield Change(new.id, datetime.fromisoformat(said) if said else new.taken_at, new.by,
                     f"corrected a {new.kind} reading of {old.by}", _tag(connection, new.drive_id),
                     "; ".join(filter(None, (_differing(old.typed, new.typed), new.reason))))


def _jobs(connection: Connection, most: int) -> Iterator[Change]:
    get_id, get_time = connection.database.get_id, connection.database.get_time
    for mark, drive_id, kind, at, by in connection.ask(
            "SELECT id, drive_id, kind, opened_at, opened_by FROM jobs ORDER BY number DESC LIMIT ?", most):
        yield Change(get_id(mark), get_time(at), by, "opened a job", _tag(connection, get_id(drive_id)), kind)
    for mark, job_id, drive_id, job_kind, kind, step, at, by, content in connection.ask(
            "SELECT e.id, j.id, j.drive_id, j.kind, e.kind, e.step, e.noted_at, e.noted_by, e.content "
            "FROM events AS e JOIN jobs AS j ON j.id = e.job_id WHERE e.kind IN ('closed', 'abandoned') "
            "ORDER BY e.number DESC LIMIT ?", most):
        event = rows.from_text(Event, content, id=get_id(mark), job_id=get_id(job_id), kind=kind, step=step,
                               at=get_time(at), by=by)
        yield Change(event.id, event.at, event.by, f"{kind} a job", _tag(connection, get_id(drive_id)),
                     "; ".join(filter(None, (job_kind, event.reason))))


def _tag(connection: Connection, drive_id: UUID) -> str:
    return str(connection.ask("SELECT tag FROM drives WHERE id = ?", drive_id)[0][0])


def _differing(before: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """What differs, by name: what it was and what it is.

    >>> _differing({"centre_mm": "600", "belt_count": "3"}, {"centre_mm": "612", "belt_count": "3", "guard": "yes"})
    'centre mm: 600 -> 612; guard: nothing -> yes'
    """
    return "; ".join(f"{name.replace('_', ' ')}: {before.get(name, _NOT_NOTED)} -> {now.get(name, _NOT_NOTED)}"
                     for name in dict.fromkeys([*before, *now]) if before.get(name) != now.get(name))
