"""Jobs and their events in the tables. Functions over a connection; the transaction is the store's matter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from uuid import UUID

from beltwright.book import drives, rows
from beltwright.book.databases import Connection, Row
from beltwright.errors import Unknown
from beltwright.plant.job import Event, Job

# fields that have a column of their own; the others are in `content`
_JOB_FIELDS = ("id", "drive_id", "kind", "opened_at", "opened_by")
_EVENT_FIELDS = ("id", "job_id", "kind", "step", "at", "by")
_JOB = "SELECT id, drive_id, kind, opened_at, opened_by, content FROM jobs"
_EVENT = "SELECT id, job_id, kind, step, noted_at, noted_by, content, number FROM events"
_STILL_OPEN = "NOT EXISTS (SELECT 1 FROM events WHERE job_id = jobs.id AND kind IN ('closed', 'abandoned'))"
_AT_A_TIME = 1000
_DRIVES_AT_A_TIME = 200


def open_job(connection: Connection, job: Job) -> bool:
    """Insert a job unless it is there."""
    for row in connection.ask(f"{_JOB} WHERE id = ?", job.id):
        rows.must_be_same(_job(connection, row), job, "job")
        return False
    drives.must_exist(connection, [job.drive_id])
    connection.do("INSERT INTO jobs (id, drive_id, kind, opened_at, opened_by, content) VALUES (?, ?, ?, ?, ?, ?)",
                  job.id, job.drive_id, job.kind, rows.at(job.opened_at), rows.plain(job.opened_by),
                  rows.text_of(rows.to_json(job, without=_JOB_FIELDS)))
    return True


def add_event(connection: Connection, event: Event) -> bool:
    """Insert an event unless it is there."""
    for row in connection.ask(f"{_EVENT} WHERE id = ?", event.id):
        rows.must_be_same(_event(connection, row), event, "event")
        return False
    must_exist(connection, [event.job_id])
    connection.do("INSERT INTO events (id, job_id, kind, step, noted_at, noted_by, content) "
                  "VALUES (?, ?, ?, ?, ?, ?, ?)", event.id, event.job_id, event.kind, rows.plain(event.step),
                  rows.at(event.at), rows.plain(event.by), rows.text_of(rows.to_json(event, without=_EVENT_FIELDS)))
    return True


def one(connection: Connection, job_id: UUID) -> Job:
    """One job by its id."""
    for row in connection.ask(f"{_JOB} WHERE id = ?", job_id):
        return _job(connection, row)
    raise _unknown(job_id)


def of_drive(connection: Connection, drive_id: UUID | None, open_only: bool) -> list[Job]:
    """A drive's jobs, or the plant's, in the order in which they were recorded."""
    where = [_STILL_OPEN] if open_only else []
    if drive_id is not None:
        drives.must_exist(connection, [drive_id])
        where.append("drive_id = ?")
    sql = f"{_JOB} {'WHERE ' if where else ''}{' AND '.join(where)} ORDER BY number"
    return [_job(connection, row) for row in connection.ask(sql, *([] if drive_id is None else [drive_id]))]


def events_of(connection: Connection, job_id: UUID) -> list[Event]:
    """A job's events in the order in which they were recorded."""
    found = connection.ask(f"{_EVENT} WHERE job_id = ? ORDER BY number", job_id)
    if not found:
        must_exist(connection, [job_id])
    return [_event(connection, row) for row in found]


def of_plant(connection: Connection) -> Iterator[tuple[UUID, list[tuple[Job, list[Event]]]]]:
    """Each drive with jobs, in order of the drives' ids, and each job with its events: who, when, which step.

    Without the steps' words and what was said with an event: of a plant those are a hundred times as much.
    """
    get = connection.database
    for first, last in drives.stretches(connection, _DRIVES_AT_A_TIME):
        within = "drive_id BETWEEN ? AND ?"
        events: dict[UUID, list[Event]] = {}
        for raw_id, raw_job, kind, step, at, by, _ in connection.ask(
                "SELECT id, job_id, kind, step, noted_at, noted_by, number FROM events WHERE job_id IN "
                f"(SELECT id FROM jobs WHERE {within}) ORDER BY number", first, last):
            job_id = get.get_id(raw_job)
            events.setdefault(job_id, []).append(Event(get.get_id(raw_id), job_id, kind, step, by, get.get_time(at)))
        found: dict[UUID, list[tuple[Job, list[Event]]]] = {}
        for raw_id, raw_drive, kind, at, by, _ in connection.ask(
                f"SELECT id, drive_id, kind, opened_at, opened_by, number FROM jobs WHERE {within} "
                "ORDER BY drive_id, number", first, last):
            job = Job(get.get_id(raw_id), get.get_id(raw_drive), kind, (), get.get_time(at), by)
            found.setdefault(job.drive_id, []).append((job, events.get(job.id, [])))
        yield from found.items()


def as_recorded(connection: Connection) -> Iterator[Event]:
    """Every event in the order in which it was recorded."""
    last = 0
    while some := connection.ask(f"{_EVENT} WHERE number > ? ORDER BY number LIMIT {_AT_A_TIME}", last):
        for row in some:
            yield _event(connection, row)
        last = some[-1][-1]


def must_exist(connection: Connection, job_ids: Iterable[UUID]) -> None:
    """`Unknown` names a job that is not in the book."""
    for missing in connection.missing("jobs", job_ids):
        raise _unknown(missing)


def _unknown(job_id: UUID) -> Unknown:
    return Unknown(f"there is no job with the id {job_id} in the book")


def _job(connection: Connection, row: Row) -> Job:
    get = connection.database
    return rows.from_text(Job, row[5], id=get.get_id(row[0]), drive_id=get.get_id(row[1]), kind=row[2],
                          opened_at=get.get_time(row[3]), opened_by=row[4])


def _event(connection: Connection, row: Row) -> Event:
    get = connection.database
    return rows.from_text(Event, row[6], id=get.get_id(row[0]), job_id=get.get_id(row[1]), kind=row[2], step=row[3],
                          at=get.get_time(row[4]), by=row[5])
