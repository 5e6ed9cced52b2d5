"""Readings as JSON: a drive's, one, noting and correcting them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Query, Response
from pydantic import AwareDatetime

from beltwright import units
from beltwright.bench import procedure
from beltwright.desk import record
from beltwright.desk.columns import COLUMNS, by_header
from beltwright.errors import Cell, SheetError, Unknown
from beltwright.paper import as_json
from beltwright.plant.identity import now
from beltwright.plant.reading import KINDS
from beltwright.web.api import shapes
from beltwright.web.api.caller import By, believed
from beltwright.web.api.drives import as_typed
from beltwright.web.visit import At

router = APIRouter(prefix=shapes.AT, tags=["readings"], responses=shapes.REFUSALS)

MOST_AT_ONCE = 5000


@router.get("/kinds", response_model=shapes.Kinds)
def kinds() -> dict[str, Any]:
    """What can be noted and done: kinds of reading with their values, states, kinds of job, columns of a drive."""
    asked = {column.name: column.ask for column in COLUMNS}
    return {
        "readings": [{"name": kind.name, "title": kind.title, "hands_on": kind.hands_on, "fields": [
            {"name": field.name, "ask": field.ask, "kind": field.kind, "required": field.required,
             "choices": list(field.choices), "units": [unit for unit in units.KINDS.get(field.kind, {}) if unit]}
            for field in kind.fields]} for kind in KINDS.values()],
        "states": list(record.STATES), "jobs": dict(procedure.kinds()),
        "columns": {name: asked[column.name] for name, (column, _) in by_header().items()}}


@router.get("/drives/{tag}/readings", response_model=shapes.Readings)
def of_drive(at: At, tag: str, kind: Annotated[str, Query(max_length=40)] = "", since: AwareDatetime | None = None,
             superseded: bool = False, limit: Annotated[int, Query(ge=1, le=MOST_AT_ONCE)] = 500) -> dict[str, Any]:
    """A drive's readings in the order in which they were taken: the latest so many."""
    drive = at.book.drive_by_tag(tag)
    chosen = [record.kind_named(kind).name] if kind else None
    found = at.book.readings(drive.drive_id, kinds=chosen, since=None if since is None else believed(since),
                             superseded=superseded)
    return {"tag": drive.drive.tag, "readings": [as_json.reading_content(each, drive.drive.tag)
                                                 for each in found[-limit:]]}


@router.post("/drives/{tag}/readings", response_model=shapes.Reading, status_code=201,
             responses={200: {"model": shapes.Reading, "description": "This reading was noted already."}})
def note(at: At, by: By, tag: str, reading: shapes.NewReading, answer: Response) -> dict[str, Any]:
    """Note a reading. A value carries its unit in its name (`force_n`: 41.5) or in its text (`force`: "9.3 lbf")."""
    kind = record.kind_named(reading.kind)
    if reading.id is not None and (known := _known(at, reading.id)) is not None:
        answer.status_code = 200   # sent twice: the first counts, if it was the same
        at_time = known.taken_at if reading.taken_at is None else believed(reading.taken_at)
    else:
        at_time = believed(reading.taken_at)
    kept = record.note(at.book, tag, kind.name, typed_values(reading.values), state=reading.state,
                       by=by.name(reading.by), at=at_time, job_id=reading.job, words=reading.note,
                       reading_id=reading.id)
    return as_json.reading_content(kept, at.book.drive(kept.drive_id).drive.tag)


@router.get("/readings/{reading_id}", response_model=shapes.Reading)
def one(at: At, reading_id: UUID) -> dict[str, Any]:
    """One reading, also when it was corrected since."""
    found = at.book.reading(reading_id)
    return as_json.reading_content(found, at.book.drive(found.drive_id).drive.tag)


@router.post("/readings/{reading_id}/corrections", response_model=shapes.Reading, status_code=201)
def correct(at: At, by: By, reading_id: UUID, correction: shapes.Correction) -> dict[str, Any]:
    """Put a reading right; the old one stays on record."""
    kept = record.correct(at.book, reading_id, typed_values(correction.values), reason=correction.reason,
                          by=by.name(correction.by), at=now())
    return as_json.reading_content(kept, at.book.drive(kept.drive_id).drive.tag)


def typed_values(given: Mapping[str, object]) -> dict[str, str]:
    """The values of a reading as typed, the unit taken out of the name: `force_n`: 41.5 is `force`: 41.5 N.

    >>> typed_values({"force_n": 41.5, "belt": 1}), typed_values({"force": "9.3 lbf"})
    ({'force': '41.5 N', 'belt': '1'}, {'force': '9.3 lbf'})
    """
    known = record.columns()
    typed: dict[str, str] = {}
    wrong = []
    for name, value in given.items():
        field, unit = known.get(name, (None, None))
        text = as_typed(value).strip()
        key = name if field is None else field.name
        if key in typed:
            wrong.append(Cell(1, name, text, f"{key} was given already: give one of them"))
        typed[key] = f"{text} {unit}" if unit and text and not isinstance(value, str) else text
    if wrong:
        raise SheetError("; ".join(f"{cell.column}: {cell.problem}" for cell in wrong), wrong)
    return typed


def _known(at: At, reading_id: UUID) -> Any:
    try:
        return at.book.reading(reading_id)
    except Unknown:
        return None
