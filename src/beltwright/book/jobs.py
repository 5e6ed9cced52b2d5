"""Jobs and their events in the tables. Functions over a connection; the transaction is the store's matter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, Select, insert, select

from beltwright.book import drives, rows, schema
from beltwright.errors import Unknown
from beltwright.plant.job import Event, Job

# what ends a job
_ENDS = ("closed", "abandoned")
# fields that have a column of their own, and its name; the others are in `content`
_JOB = {"id": "id", "drive_id": "drive_id", "kind": "kind", "opened_at": "opened_at", "opened_by": "opened_by"}
_EVENT = {"id": "id", "job_id": "job_id", "kind": "kind", "step": "step", "at": "noted_at", "by": "noted_by"}


def open_job(connection: Connection, job: Job) -> bool:
    """Insert a job unless it is there."""
    for kept in _jobs(connection, select(schema.jobs).where(schema.jobs.c.id == job.id)):
        rows.must_be_same(kept, job, "job")
        return False
    drives.must_exist(connection, [job.drive_id])
    connection.execute(insert(schema.jobs), _row(job, _JOB))
    return True


def add_event(connection: Connection, event: Event) -> bool:
    """Insert an event unless it is there."""
    for kept in _events(connection, select(schema.events).where(schema.events.c.id == event.id)):
        rows.must_be_same(kept, event, "event")
        return False
    must_exist(connection, [event.job_id])
    connection.execute(insert(schema.events), _row(event, _EVENT))
    return True


def one(connection: Connection, job_id: UUID) -> Job:
    """One job by its id."""
    for job in _jobs(connection, select(schema.jobs).where(schema.jobs.c.id == job_id)):
        return job
    raise _unknown(job_id)


def of_drive(connection: Connection, drive_id: UUID | None, open_only: bool) -> list[Job]:
    """A drive's jobs, or the plant's, in the order in which they were recorded."""
    table = schema.jobs.c
    statement = select(schema.jobs).order_by(table.number)
    if drive_id is not None:
        drives.must_exist(connection, [drive_id])
        statement = statement.where(table.drive_id == drive_id)
    if open_only:
        ended = select(1).where(schema.events.c.job_id == table.id, schema.events.c.kind.in_(_ENDS)).exists()
        statement = statement.where(~ended)
    return _jobs(connection, statement)


def events_of(connection: Connection, job_id: UUID) -> list[Event]:
    """A job's events in the order in which they were recorded."""
    table = schema.events.c
    found = _events(connection, select(schema.events).where(table.job_id == job_id).order_by(table.number))
    if not found:
        must_exist(connection, [job_id])
    return found


def as_recorded(connection: Connection) -> Iterator[Event]:
    """Every event in the order in which it was recorded."""
    statement = select(schema.events).order_by(schema.events.c.number)
    with connection.execute(statement, execution_options={"yield_per": 1000}) as found:
        yield from map(_event, found)


def must_exist(connection: Connection, job_ids: Iterable[UUID]) -> None:
    """`Unknown` names the first job that is not in the book."""
    wanted = set(job_ids)
    if not wanted:
        return
    there = connection.execute(select(schema.jobs.c.id).where(schema.jobs.c.id.in_(wanted))).scalars()
    for missing in wanted.difference(there):
        raise _unknown(missing)


def _unknown(job_id: UUID) -> Unknown:
    return Unknown(f"there is no job with the id {job_id} in the book")


def _row(record: Job | Event, columns: dict[str, str]) -> dict[str, Any]:
    row = {column: getattr(record, name) for name, column in columns.items()}
    for value in row.values():
        if isinstance(value, str):
            rows.plain(value)
    return {**row, "content": rows.text_of(rows.to_json(record, without=columns))}


def _jobs(connection: Connection, statement: Select[Any]) -> list[Job]:
    return [rows.from_text(Job, row.content, **_fields(row, _JOB)) for row in connection.execute(statement)]


def _events(connection: Connection, statement: Select[Any]) -> list[Event]:
    return [_event(row) for row in connection.execute(statement)]


def _event(row: Row[Any]) -> Event:
    return rows.from_text(Event, row.content, **_fields(row, _EVENT))


def _fields(row: Row[Any], columns: dict[str, str]) -> dict[str, Any]:
    return {name: getattr(row, column) for name, column in columns.items()}
