"""Doing a job: open it, do or skip its steps, say that the centre was moved, close or abandon it.

The rules are the bench's (`bench.procedure`); here they are asked inside the step that writes, so that two people on
one job cannot both pass a gate that only one of them may.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import cast, get_args
from uuid import UUID

from beltwright.bench import procedure
from beltwright.bench.card import METHOD, Card, make_card
from beltwright.bench.procedure import Progress
from beltwright.desk.face import Book
from beltwright.errors import InputError, Refused
from beltwright.plant.drive import MakeUp
from beltwright.plant.identity import new_id
from beltwright.plant.job import Event, EventKind, Job, JobKind
from beltwright.plant.reading import Reading
from beltwright.units import System


@dataclass(frozen=True, slots=True)
class Standing:
    """A job as it stands: the drive as fitted when it was opened, its steps and events, the readings taken in it."""

    job: Job
    make_up: MakeUp
    progress: Progress
    events: Sequence[Event]
    readings: Sequence[Reading]

    def card(self) -> Card:
        """The card of the drive as it was fitted when the job was opened."""
        return make_card(self.make_up.drive)


def open_job(book: Book, tag: str, kind: str, *, by: str, at: datetime, reason: str = "", system: System = "si",
             job_id: UUID | None = None) -> Job:
    """Open a job at a drive, its steps made for that drive with its numbers in them.

    `Refused` when a job is open at the drive already, or for a job that asks for belts at rest on a laid-up drive.
    """
    if not by.strip():
        raise InputError("a name is needed: every job is opened by somebody")
    make_up = book.drive_by_tag(tag)
    steps = procedure.steps_for(kind_named(kind), make_card(make_up.drive).words(system))
    job = Job(job_id or new_id(), make_up.drive_id, kind_named(kind), steps, at, by.strip(), reason.strip(), METHOD)
    with book.writing():
        others = [other for other in book.jobs(make_up.drive_id, open_only=True) if other.id != job.id]
        if others:
            raise Refused(f"a job is open at {make_up.drive.tag} already ({others[0].kind}, opened by "
                          f"{others[0].opened_by}): go on with it, close it or abandon it")
        book.open_job(job)
    return job


def kind_named(text: str) -> JobKind:
    """The kind of job; `InputError` lists those there are."""
    wanted = text.strip().casefold().replace("_", " ").replace("-", " ")
    for kind in get_args(JobKind):
        if kind.replace("-", " ") == wanted:
            return cast(JobKind, kind)
    raise InputError(f"no kind of job {text.strip()!r}: {', '.join(procedure.kinds())}", accepted=procedure.kinds())


def step_named(job: Job, name: str) -> str:
    """The key of the step of that number or name; `InputError` lists them."""
    wanted = name.strip().casefold()
    if wanted.isdigit() and 1 <= int(wanted) <= len(job.steps):
        return job.steps[int(wanted) - 1].key
    for step in job.steps:
        if wanted in (step.key, step.title.casefold()):
            return step.key
    raise InputError(f"this job has no step {name!r}: 1 to {len(job.steps)}, or {', '.join(s.key for s in job.steps)}")


def find_job(book: Book, name: str) -> Job:
    """A job by its id, by the start of it, or the open one at the drive with that tag."""
    wanted = name.strip().casefold().replace("-", "")
    if len(wanted) == 32:
        try:
            return book.job(UUID(wanted))
        except ValueError:
            pass
    if len(wanted) >= 6:
        starts = [job for job in book.jobs() if job.id.hex.startswith(wanted) or job.id.hex.endswith(wanted)]
        if len(starts) == 1:
            return starts[0]
    make_up = book.drive_by_tag(name)
    jobs = book.jobs(make_up.drive_id, open_only=True)
    if not jobs:
        raise InputError(f"no job is open at {make_up.drive.tag}")
    return jobs[-1]


def standing(book: Book, job_id: UUID) -> Standing:
    """A job as it stands now."""
    with book.looking():
        job = book.job(job_id)
        events = book.events(job_id)
        readings = [reading for reading in book.readings(job.drive_id) if reading.job_id == job_id]
        return Standing(job, book.make_up_at(job.drive_id, job.opened_at), procedure.progress(job, events), events,
                        readings)


def do(book: Book, job_id: UUID, key: str, *, by: str, at: datetime, confirmed: Sequence[str] = (),
       event_id: UUID | None = None) -> Progress:
    """A step done. Refused with what to do first when a rule stands against it."""
    return _add(book, job_id, "done", key, by, at, confirmed=tuple(confirmed), event_id=event_id)


def skip(book: Book, job_id: UUID, key: str, *, by: str, at: datetime, reason: str,
         event_id: UUID | None = None) -> Progress:
    """A step skipped, with the reason; some cannot be."""
    return _add(book, job_id, "skipped", key, by, at, reason, event_id=event_id)


def take_back(book: Book, job_id: UUID, key: str, *, by: str, at: datetime, reason: str,
              event_id: UUID | None = None) -> Progress:
    """A step that was noted by mistake is open again; the record keeps both."""
    return _add(book, job_id, "undone", key, by, at, reason, event_id=event_id)


def centre_moved(book: Book, job_id: UUID, *, by: str, at: datetime, reason: str = "",
                 event_id: UUID | None = None) -> Progress:
    """The centre distance was changed: alignment and hold-down bolts are open again."""
    return _add(book, job_id, "centre moved", "", by, at, reason, event_id=event_id)


def close(book: Book, job_id: UUID, *, by: str, at: datetime, event_id: UUID | None = None) -> Progress:
    """The job closed: every step done or skipped, guard, tools, people and locks confirmed."""
    return _add(book, job_id, "closed", "", by, at, event_id=event_id)


def abandon(book: Book, job_id: UUID, *, by: str, at: datetime, reason: str,
            event_id: UUID | None = None) -> Progress:
    """The job given up, with the reason; not while a lock is on, nor with the guard off."""
    return _add(book, job_id, "abandoned", "", by, at, reason, event_id=event_id)


def _add(book: Book, job_id: UUID, kind: EventKind, step: str, by: str, at: datetime, reason: str = "", *,
         confirmed: tuple[str, ...] = (), event_id: UUID | None = None) -> Progress:
    return add(book, Event(event_id or new_id(), job_id, kind, step, by.strip(), at, reason.strip(), confirmed))


def add(book: Book, event: Event) -> Progress:
    """An event made elsewhere, by any of the rules above; the same one twice changes nothing."""
    with book.writing():
        job = book.job(event.job_id)
        events = list(book.events(job.id))
        if any(known.id == event.id for known in events):
            book.add_event(event)
            return procedure.progress(job, events)
        procedure.check(job, events, event)
        book.add_event(event)
        return procedure.progress(job, [*events, event])
