"""What a phone asks for by itself: handing notes in, photos and clips, what to take along, the service worker.

Facts go to `desk.sync`, files to `book.enclosed`. The worker is one file with the shelf's marks put in, so that a
change of any static file is a new version of it. A body that was cut is no JSON and is refused whole.
"""

from __future__ import annotations

import hashlib
import json
from importlib.resources import files
from typing import Annotated, Any, Final
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import JSONResponse, Response
from starlette.concurrency import run_in_threadpool

from beltwright.bench.card import METHOD
from beltwright.bench.carried import order_of_work
from beltwright.book.enclosed import CLIPS, PICTURES, must_be_good
from beltwright.desk import sync
from beltwright.desk.clips import decode
from beltwright.desk.jobs import Standing, standing
from beltwright.errors import InputError
from beltwright.plant.identity import now
from beltwright.plant.job import Event
from beltwright.plant.reading import KINDS
from beltwright.web import gate
from beltwright.web.addresses import drive_at
from beltwright.web.api import shapes
from beltwright.web.pages.round import walk
from beltwright.web.visit import At, Visit

router = APIRouter(tags=["phones"])

# of a handful of notes [bytes]
MOST_BYTES: Final = 2 * 1024 * 1024
# what a phone needs of the static files to work without a network
CARRIED: Final = ("sheet.css", "mark.svg", "notes.js", "outbox.js", "judge.js", "standing.js",
                  "reading.js", "job.js", "opening.js", "round.js", "waiting.js", "listen.js", "recorder.js")
_KINDS: Final = {**PICTURES, **CLIPS}


@router.post("/api/v1/sync", response_model=shapes.Answers, responses=shapes.REFUSALS,
             openapi_extra=shapes.body_of(shapes.Handful))
async def hand_in(at: At, request: Request) -> JSONResponse:
    """Notes from a phone's outbox: each is answered as kept, known, refused with the reason, or later."""
    handful = sync.understood(await _json(request))
    return JSONResponse(await run_in_threadpool(_handed_in, at, handful))


def _handed_in(at: Visit, handful: sync.Handful) -> dict[str, Any]:
    only_by = None if gate.door_of(at.request).alone else at.person.name
    moment = now()
    answers = sync.hand_in(at.book, handful, now=moment, only_by=only_by, has_file=at.book.has_file,
                           read_file=at.book.file)
    return {"now": moment.isoformat(), "method": METHOD, "pages": at.station.shelf.version, "clock": answers.clock,
            "clock_ahead_s": answers.ahead.total_seconds(),
            "facts": [{"id": answer.id, "became": answer.became, "reason": answer.reason,
                       "accepted": list(answer.accepted), "cells": shapes.cells(answer.cells)}
                      for answer in answers.facts]}


@router.put("/api/v1/files/{name}", response_model=shapes.Kept, status_code=201, openapi_extra=shapes.BYTES,
            responses={**shapes.REFUSALS, 200: {"model": shapes.Kept, "description": "It was in the book already."}})
async def keep_file(at: At, name: str, request: Request) -> JSONResponse:
    """A photo or clip under its SHA-256; twice is as good as once."""
    data = await request.body()
    new = await run_in_threadpool(enclose, at, name, data)
    return JSONResponse({"name": name, "became": "kept" if new else "known"}, 201 if new else 200)


def enclose(at: Visit, name: str, data: bytes) -> bool:
    """Keep a file in the book; a clip only when it can be read and is not too long."""
    must_be_good(name, data)
    if name.rpartition(".")[2] in CLIPS:
        decode(data)
    return at.book.keep_file(name, data)


@router.get("/files/{name}", name="file", include_in_schema=False)
def file(at: At, name: str) -> Response:
    """A photo or clip, as it was handed in."""
    data = at.book.file(name)
    return Response(data, media_type=_KINDS[name.rpartition(".")[2]], headers={
        "Cache-Control": "private, max-age=31536000, immutable", "Content-Disposition": "inline"})


@router.get("/api/v1/jobs/{job_id}/along", response_model=shapes.Along, responses=shapes.REFUSALS)
def job_along(at: At, job_id: UUID) -> dict[str, Any]:
    """What a phone must hold to go on with a job by itself: its steps with their order, its events, its pages."""
    return along(standing(at.book, job_id))


@router.get("/api/v1/round", response_model=shapes.Round, responses=shapes.REFUSALS)
def round_along(at: At, place: Annotated[str, Query(max_length=200)] = "") -> dict[str, Any]:
    """What a phone must hold for a round: the drives in walking order, and their pages."""
    stops = walk(at, place)
    return {"now": now().isoformat(), "stops": [{"tag": stop.tag, "name": stop.name, "place": stop.place,
                                                 "looked_at": stop.seen} for stop in stops],
            "pages": [page for stop in stops for page in (stop.href, drive_at(stop.tag))]}


def along(found: Standing) -> dict[str, Any]:
    """A job as a phone holds it."""
    tag = found.make_up.drive.tag
    return {"id": str(found.job.id), "tag": tag, "kind": found.job.kind, "ended": found.progress.ended,
            "steps": order_of_work(found.job), "events": [_event(event) for event in found.events],
            "readings": [str(reading.id) for reading in found.readings],
            "pages": [f"/jobs/{found.job.id}", drive_at(tag), drive_at(tag, "card"), drive_at(tag, "readings"),
                      drive_at(tag, "listen"), *(reading_at(tag, kind) for kind in KINDS)]}


def reading_at(tag: str, kind: str) -> str:
    """The address of the form for a kind of reading."""
    return drive_at(tag, f"readings/{kind.replace(' ', '-')}")


def _event(event: Event) -> dict[str, Any]:
    return {"id": str(event.id), "kind": event.kind, "step": event.step, "by": event.by, "at": event.at.isoformat(),
            "reason": event.reason}


@router.get("/sw.js", name="worker", include_in_schema=False)
def worker(at: At) -> Response:
    """The service worker of this version."""
    shelf = at.station.shelf
    carried = [shelf.address(name) for name in CARRIED]
    text = (files("beltwright.web") / "static" / "worker.js").read_text(encoding="utf-8")
    version = hashlib.sha256("\n".join((text, *carried)).encode()).hexdigest()[:16]
    head = f"const VERSION = {json.dumps(version)};\nconst CARRIED = {json.dumps([*carried, *map(_plain, CARRIED)])};\n"
    return Response(head + text, media_type="text/javascript", headers={"Cache-Control": "no-cache"})


def _plain(name: str) -> str:
    """The address under which one module asks for another."""
    return f"/static/{name}"


async def _json(request: Request) -> object:
    data = b""
    async for part in request.stream():
        data += part
        if len(data) > MOST_BYTES:
            raise InputError(f"more than {MOST_BYTES >> 20} MB of notes at once: send fewer at a time")
    try:
        return json.loads(data)
    except (ValueError, RecursionError):
        raise InputError("the notes were cut or changed on the way and none was kept: send them again") from None
