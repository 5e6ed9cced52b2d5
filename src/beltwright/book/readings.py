"""Readings in their table. Functions over a connection; the transaction is the store's matter."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import datetime
from itertools import groupby, islice
from operator import itemgetter
from typing import Any
from uuid import UUID

from beltwright.book import drives, jobs, rows
from beltwright.book.databases import Connection
from beltwright.errors import Refused, Unknown
from beltwright.plant.reading import Reading

_ROWS = f"SELECT {rows.READING_COLUMNS} FROM readings"
_IN_TIME = "ORDER BY drive_id, taken_at, id"
_INSERT = (f"INSERT INTO readings ({rows.READING_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) "
           "ON CONFLICT DO NOTHING")
_NOT_CORRECTED = "NOT EXISTS (SELECT 1 FROM readings AS correction WHERE correction.supersedes = readings.id)"
# rows sent to the database at a time
_AT_A_TIME = 500


def add(connection: Connection, readings: Iterable[Reading]) -> int:
    """Insert those that are new; how many were. Corrections are checked once the whole batch is in."""
    coming = iter(readings)
    corrections: dict[UUID, Reading] = {}
    new = 0
    while some := list(islice(coming, _AT_A_TIME)):
        drives.must_exist(connection, {reading.drive_id for reading in some})
        jobs.must_exist(connection, {reading.job_id for reading in some if reading.job_id})
        _note_corrections(connection, some, corrections)
        new += _insert(connection, some)
    _must_have_originals(connection, corrections)
    return new


def one(connection: Connection, reading_id: UUID) -> Reading:
    """One reading by its id."""
    found = _by_ids(connection, [reading_id])
    if not found:
        raise Unknown(f"there is no reading with the id {reading_id} in the book")
    return found[reading_id]


def drives_of(connection: Connection, reading_ids: Iterable[UUID]) -> Iterator[UUID]:
    """The drives of these readings."""
    for row in connection.ask_for("SELECT drive_id FROM readings WHERE id IN (*)", reading_ids):
        yield connection.database.get_id(row[0])


def of_drive(connection: Connection, drive_id: UUID, kinds: Collection[str] | None, since: datetime | None,
             superseded: bool) -> list[Reading]:
    """A drive's readings in the order in which they were taken."""
    where: list[str] = ["drive_id = ?"]
    values: list[Any] = [drive_id]
    if since is not None:
        where.append("taken_at >= ?")
        values.append(rows.at(since))
    if not superseded:
        where.append(_NOT_CORRECTED)
    found = connection.ask(f"{_ROWS} WHERE {' AND '.join(where)} {_IN_TIME}", *values)
    if not found:
        drives.must_exist(connection, [drive_id])
        return []
    made = _rebuild(connection, drive_id, found)
    return made if kinds is None else [reading for reading in made if reading.kind in kinds]


def of_plant(connection: Connection, since: datetime | None, superseded: bool) -> Iterator[tuple[UUID, list[Reading]]]:
    """Each drive with readings, in order of the drives' ids."""
    hidden = set() if superseded else {
        row[0] for row in connection.ask("SELECT supersedes FROM readings WHERE supersedes IS NOT NULL")}
    from_then_on, values = ("", []) if since is None else ("AND taken_at >= ?", [rows.at(since)])
    for first, last in drives.stretches(connection):
        some = connection.ask(f"{_ROWS} WHERE drive_id BETWEEN ? AND ? {from_then_on} {_IN_TIME}", first, last, *values)
        for raw_id, group in groupby(some, itemgetter(0)):
            if kept := [row for row in group if row[2] not in hidden]:
                drive_id = connection.database.get_id(raw_id)
                yield drive_id, _rebuild(connection, drive_id, kept)


def cases(connection: Connection) -> Iterator[tuple[UUID, list[Reading]]]:
    """Each drive with causes confirmed or belts failed, with those readings in time; the words are the index's own."""
    found = connection.ask(f"{_ROWS} WHERE kind IN ('belts failed', 'cause') AND {_NOT_CORRECTED} {_IN_TIME}")
    for raw_id, group in groupby(found, itemgetter(0)):
        drive_id = connection.database.get_id(raw_id)
        yield drive_id, _rebuild(connection, drive_id, list(group))


def _rebuild(connection: Connection, drive_id: UUID, found: Sequence[Any]) -> list[Reading]:
    return rows.rebuild(drive_id, found, connection.database.get_id, connection.database.get_time)


def _insert(connection: Connection, some: Sequence[Reading]) -> int:
    new = connection.do_each(_INSERT, map(rows.reading_row, some))
    if new < len(some):
        kept = _by_ids(connection, [reading.id for reading in some])
        for reading in some:
            rows.must_be_same(kept[reading.id], reading, "reading")
    return new


def _by_ids(connection: Connection, ids: Sequence[UUID]) -> dict[UUID, Reading]:
    found: dict[UUID, Reading] = {}
    for row in connection.ask_for(f"{_ROWS} WHERE id IN (*)", ids):
        for reading in _rebuild(connection, connection.database.get_id(row[0]), [row]):
            found[reading.id] = reading
    return found


def _note_corrections(connection: Connection, some: Sequence[Reading], corrections: dict[UUID, Reading]) -> None:
    """Refuse a second correction of one reading: two numbers would stand where one was meant."""
    here: dict[UUID, Reading] = {}
    for reading in some:
        if reading.supersedes is not None:
            other = corrections.get(reading.supersedes) or here.get(reading.supersedes)
            if reading.supersedes == reading.id or (other and other.id != reading.id):
                raise _second_correction(reading)
            here[reading.supersedes] = reading
    get_id = connection.database.get_id
    for row in connection.ask_for("SELECT id, supersedes FROM readings WHERE supersedes IN (*)", here):
        coming = here[get_id(row[1])]
        if get_id(row[0]) != coming.id:
            raise _second_correction(coming)
    corrections.update(here)


def _second_correction(reading: Reading) -> Refused:
    return Refused(f"the reading {reading.supersedes} has been corrected already: correct the correction instead")


def _must_have_originals(connection: Connection, corrections: Collection[UUID]) -> None:
    for missing in connection.missing("readings", corrections):
        raise Unknown(f"there is no reading with the id {missing} in the book to be corrected")
