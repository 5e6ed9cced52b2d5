"""Jobs as JSON: opened, shown, done step by step, behind the same gates as on the pages."""

from __future__ import annotations

from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Query

from beltwright.desk import jobs
from beltwright.errors import Unknown
from beltwright.paper import as_json
from beltwright.plant.identity import now
from beltwright.plant.job import Job
from beltwright.web.api import shapes
from beltwright.web.api.caller import By, believed
from beltwright.web.visit import At

router = APIRouter(prefix=shapes.AT, tags=["jobs"], responses=shapes.REFUSALS)


@router.get("/jobs", response_model=shapes.Jobs)
def listed(at: At, open_only: Annotated[bool, Query(alias="open")] = False,
           tag: Annotated[str, Query(max_length=200)] = "") -> dict[str, Any]:
    """The jobs of the plant or of a drive, as opened."""
    with at.book.looking():
        drive_id = at.book.drive_by_tag(tag).drive_id if tag else None
        found = at.book.jobs(drive_id, open_only=open_only)
        tags = {each: at.book.drive(each).drive.tag for each in {job.drive_id for job in found}}
    return {"jobs": [{"id": job.id, "tag": tags[job.drive_id], "kind": job.kind, "opened_at": job.opened_at,
                      "opened_by": job.opened_by} for job in found]}


@router.post("/drives/{tag}/jobs", response_model=shapes.Job, status_code=201)
def open_job(at: At, by: By, tag: str, job: shapes.NewJob) -> dict[str, Any]:
    """Open a job at a drive, its steps made for that drive."""
    if job.id is not None and (known := _known(at, job.id)) is not None and known.kind == jobs.kind_named(job.kind) \
            and known.drive_id == at.book.drive_by_tag(tag).drive_id:
        return as_json.job_content(jobs.standing(at.book, known.id))   # sent twice: opened once
    opened = jobs.open_job(at.book, tag, job.kind, by=by.name(job.by), at=now(), reason=job.reason, job_id=job.id,
                           system=at.settings.system)
    return as_json.job_content(jobs.standing(at.book, opened.id))


@router.get("/jobs/{job_id}", response_model=shapes.Job)
def one(at: At, job_id: UUID) -> dict[str, Any]:
    """A job as it stands, step by step."""
    return as_json.job_content(jobs.standing(at.book, job_id))


@router.post("/jobs/{job_id}/events", response_model=shapes.Job, status_code=201)
def event(at: At, by: By, job_id: UUID, event: shapes.NewEvent) -> dict[str, Any]:
    """A step done, skipped or taken back, the centre moved, the job closed or abandoned. Refused as on the pages."""
    who, book = by.name(event.by), at.book
    sent_before = next((each for each in book.events(job_id) if each.id == event.id), None)
    when = sent_before.at if sent_before and event.at is None else believed(event.at)
    match event.kind:
        case "done":
            jobs.do(book, job_id, event.step, by=who, at=when, confirmed=event.confirmed, event_id=event.id)
        case "skipped":
            jobs.skip(book, job_id, event.step, by=who, at=when, reason=event.reason, event_id=event.id)
        case "undone":
            jobs.take_back(book, job_id, event.step, by=who, at=when, reason=event.reason, event_id=event.id)
        case "centre moved":
            jobs.centre_moved(book, job_id, by=who, at=when, reason=event.reason, event_id=event.id)
        case "closed":
            jobs.close(book, job_id, by=who, at=when, event_id=event.id)
        case "abandoned":
            jobs.abandon(book, job_id, by=who, at=when, reason=event.reason, event_id=event.id)
    return as_json.job_content(jobs.standing(book, job_id))


def _known(at: At, job_id: UUID) -> Job | None:
    try:
        return at.book.job(job_id)
    except Unknown:
        return None
