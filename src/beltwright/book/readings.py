"""Readings in their table. Functions over a connection; the transaction is the store's matter."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import datetime
from functools import cache
from itertools import groupby, islice
from operator import itemgetter
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Select, select
from sqlalchemy.dialects import sqlite

from beltwright.book import drives, jobs, rows, schema
from beltwright.errors import Refused, Unknown
from beltwright.plant.reading import Reading

_COLUMNS = tuple(schema.readings.c[name] for name in rows.READING_COLUMNS)
_IN_TIME = select(*_COLUMNS).order_by(schema.readings.c.drive_id, schema.readings.c.taken_at, schema.readings.c.id)
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


def of_drive(connection: Connection, drive_id: UUID, kinds: Collection[str] | None, since: datetime | None,
             superseded: bool) -> list[Reading]:
    """A drive's readings in the order in which they were taken."""
    table = schema.readings.c
    statement = _since(_IN_TIME.where(table.drive_id == drive_id), since)
    if kinds is not None:
        statement = statement.where(table.kind.in_(kinds))
    if not superseded:
        correction = schema.readings.alias("correction")
        statement = statement.where(~select(1).where(correction.c.supersedes == table.id).exists())
    found = _raw(connection, statement)
    if not found:
        drives.must_exist(connection, [drive_id])
        return []
    return rows.rebuild(_driver(connection), drive_id, found)


def of_plant(connection: Connection, since: datetime | None, superseded: bool) -> Iterator[tuple[UUID, list[Reading]]]:
    """Each drive with readings, in order of the drives' ids."""
    driver, table = _driver(connection), schema.readings.c
    hidden = set() if superseded else _superseded(connection)
    for first, last in drives.stretches(connection):
        some = _raw(connection, _since(_IN_TIME.where(table.drive_id.between(first, last)), since))
        for raw_id, group in groupby(some, itemgetter(0)):
            if kept := [row for row in group if row[2] not in hidden]:
                drive_id = driver.id(raw_id)
                yield drive_id, rows.rebuild(driver, drive_id, kept)


def _since(statement: Select[Any], since: datetime | None) -> Select[Any]:
    return statement if since is None else statement.where(schema.readings.c.taken_at >= since)


def _driver(connection: Connection) -> rows.Driver:
    return rows.DRIVERS[connection.dialect.name]


def _raw(connection: Connection, statement: Select[Any]) -> list[Sequence[Any]]:
    """Rows as the driver gives them: SQLAlchemy's own, and its types, would cost as much as all the rest."""
    with connection.execute(statement) as result:
        cursor: Any = result.cursor
        return cursor.fetchall()  # type: ignore[no-any-return]


def _superseded(connection: Connection) -> set[Any]:
    table = schema.readings.c
    return {row[0] for row in _raw(connection, select(table.supersedes).where(table.supersedes.is_not(None)))}


def _insert(connection: Connection, some: Sequence[Reading]) -> int:
    lines = [rows.reading_row(reading) for reading in some]
    statement = _insert_new(connection.dialect.name)
    new = connection.execute(statement, lines if len(lines) > 1 else lines[0]).rowcount
    if new < len(some):
        kept = _by_ids(connection, [reading.id for reading in some])
        for reading in some:
            rows.must_be_same(kept[reading.id], reading, "reading")
    return new


@cache
def _insert_new(database: str) -> Any:
    if database == "sqlite":
        new: Any = sqlite.insert(schema.readings)
    else:
        from sqlalchemy.dialects import postgresql  # costs a book on SQLite nothing

        new = postgresql.insert(schema.readings)
    return new.inline().on_conflict_do_nothing().execution_options(preserve_rowcount=True)


def _by_ids(connection: Connection, ids: Sequence[UUID]) -> dict[UUID, Reading]:
    driver = _driver(connection)
    found: dict[UUID, Reading] = {}
    for row in _raw(connection, select(*_COLUMNS).where(schema.readings.c.id.in_(ids))):
        for reading in rows.rebuild(driver, driver.id(row[0]), [row]):
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
    if not here:
        return
    table = schema.readings.c
    for row in connection.execute(select(table.id, table.supersedes).where(table.supersedes.in_(list(here)))):
        if row.id != here[row.supersedes].id:
            raise _second_correction(here[row.supersedes])
    corrections.update(here)


def _second_correction(reading: Reading) -> Refused:
    return Refused(f"the reading {reading.supersedes} has been corrected already: correct the correction instead")


def _must_have_originals(connection: Connection, corrections: Iterable[UUID]) -> None:
    wanted = list(corrections)
    for start in range(0, len(wanted), _AT_A_TIME):
        some = wanted[start:start + _AT_A_TIME]
        table = schema.readings.c
        there = set(connection.execute(select(table.id).where(table.id.in_(some))).scalars())
        for missing in set(some) - there:
            raise Unknown(f"there is no reading with the id {missing} in the book to be corrected")
