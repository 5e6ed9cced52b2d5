"""Jobs on the invented plant, for pictures and for the pages in a browser: one done and closed, one half way."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final
from uuid import UUID

from beltwright.bench.card import make_card
from beltwright.book.opening import open_book
from beltwright.book.store import Store
from beltwright.desk import jobs, record
from beltwright.plant.job import JobKind
from beltwright.plant.reading import State

BY: Final = "Jo Lind"


@dataclass(frozen=True, slots=True)
class Worked:
    """The jobs: `closed`, and `open` with the keys of its steps, done as far as its run-in."""

    closed: UUID
    open: UUID
    steps: tuple[str, ...]


def work(path: Path, now: datetime) -> Worked:
    """A re-tension of FAN-14 an hour ago, and a re-belt of FAN-13 that stands at its run-in."""
    with open_book(path, write=True) as book:
        closed = _job(book, "FAN-14", "re-tension", "squeals at start", now - timedelta(hours=2))
        jobs.close(book, closed, by=BY, at=now - timedelta(minutes=30))
        going = _job(book, "FAN-13", "re-belt", "belts cracked", now - timedelta(hours=1), upto="run-in")
        steps = tuple(step.key for step in jobs.standing(book, going).job.steps)
    return Worked(closed, going, steps)


def _job(book: Store, tag: str, kind: JobKind, reason: str, start: datetime, *, upto: str = "") -> UUID:
    """A job with its steps done in order, tension and alignment read as found and as left."""
    job = jobs.open_job(book, tag, kind, by=BY, at=start, reason=reason)
    at = start
    for step in job.steps:
        if upto and step.key == upto:
            break
        at += timedelta(minutes=2)
        if step.key in ("found-tension", "set-new", "left-tension"):
            found = step.key == "found-tension"
            _tension(book, tag, job.id, at, "as found" if found else "as left", new=step.key == "set-new")
        if step.key in ("found-alignment", "align"):
            _gaps(book, tag, job.id, at, "as found" if step.key == "found-alignment" else "as left")
        jobs.do(book, job.id, step.key, by=BY, at=at, confirmed=step.confirm)
    return job.id


def _tension(book: Store, tag: str, job: UUID, at: datetime, state: State, *, new: bool) -> None:
    drive = book.drive_by_tag(tag).drive
    band = make_card(drive).figures["frequency_new" if new else "frequency_run_in"]
    assert band.low is not None
    assert band.high is not None
    note = 0.9 * band.low if state == "as found" else (band.low + band.high) / 2
    for belt in range(1, (drive.belts.count or 1) + 1):
        record.note(book, tag, "frequency", {"belt": str(belt), "frequency": f"{note + 0.2 * belt:.1f} Hz"},
                    state=state, by=BY, at=at, job_id=job)


def _gaps(book: Store, tag: str, job: UUID, at: datetime, state: State) -> None:
    gaps = ("0 mm", "1.2 mm", "3.5 mm", "5 mm") if state == "as found" else ("0 mm", "0.3 mm", "0.5 mm", "0.8 mm")
    names = ("driver_far", "driver_near", "driven_near", "driven_far")
    record.note(book, tag, "alignment", {"face": "outer", "turned": "neither", **dict(zip(names, gaps, strict=True))},
                state=state, by=BY, at=at, job_id=job)
